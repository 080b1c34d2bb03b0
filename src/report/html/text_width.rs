//! How wide a text will be, before any browser has set it.

/// Widths of the printable ASCII signs, from the blank on, in thousandths of the size: Helvetica, of the core fonts'
/// metrics (Adobe, 1990), from memory. Arial and Liberation Sans are as wide.
const WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556, 556, 556,
    556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667, 611, 778, 722, 278,
    500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469,
    556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, 556, 556, 333, 500,
    278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// The width taken for any other sign.
const OTHER: u16 = 1000;

/// Bold letters are wider, and other fonts are wider than these.
const ROOM: f64 = 1.1;

/// The width of `text` at `size`, with some room, in the same unit.
pub fn text_width(text: &str, size: f64) -> f64 {
    let sign = |sign: char| {
        let index = u32::from(sign).checked_sub(32).map(|index| index as usize);
        index.and_then(|index| WIDTHS.get(index)).copied().unwrap_or(OTHER)
    };
    let thousandths: u32 = text.chars().map(|c| u32::from(sign(c))).sum();
    f64::from(thousandths) / 1000.0 * size * ROOM
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn narrow_signs_are_narrower_than_wide_ones_and_unknown_ones_are_wide() {
        assert!(text_width("i", 10.0) < text_width("5", 10.0));
        assert!((text_width("5", 10.0) - 6.116).abs() < 1e-9);
        assert!(text_width("日", 10.0) >= 10.0);
        assert!(text_width("~", 10.0) < 7.0, "the last sign of the table");
    }
}
