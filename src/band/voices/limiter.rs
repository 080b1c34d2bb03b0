//! A soft limiter: what is quiet passes unchanged, what is loud bends towards -1 dBFS and never passes it.

/// Below this nothing changes.
const KNEE: f32 = 0.6;
/// -1 dBFS as a share of full scale is 0.8912; a hair below it.
const CEILING: f32 = 0.891;

/// The sample, limited; silence for what is no number. Smooth: the curve leaves the straight line with the same slope.
pub(super) fn limit(sample: f32) -> f32 {
    let size = sample.abs();
    if size <= KNEE {
        return sample;
    }
    if size.is_nan() {
        return 0.0;
    }
    let room = CEILING - KNEE;
    let bent = KNEE + room * ((size - KNEE) / room).tanh();
    bent.copysign(sample)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quiet_passes_and_loud_bends() {
        assert!((limit(-0.5) + 0.5).abs() < f32::EPSILON);
        assert!(limit(0.7) < 0.7 && limit(0.7) > 0.65);
        assert!(limit(100.0) <= CEILING && limit(-100.0) >= -CEILING);
        assert!((limit(KNEE + 1e-4) - (KNEE + 1e-4)).abs() < 1e-5, "no step at the knee");
    }

    #[test]
    fn what_is_no_number_is_silent() {
        assert!(limit(f32::NAN) == 0.0 && limit(f32::INFINITY) <= CEILING);
    }
}
