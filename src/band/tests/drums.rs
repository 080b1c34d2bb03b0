//! Ride, hi-hat, kick and click on charts small enough to see.

use super::*;
use crate::theory::Pitch;

fn keys_at(arrangement: &Arrangement, part: Part, key: u8) -> Vec<i64> {
    let key = Pitch::new(key).expect("a key");
    let notes = arrangement.notes.iter().copied().filter(|note| note.key == key && note.at < arrangement.end);
    struck(&Arrangement { notes: notes.collect(), ..arrangement.clone() }, part)
}

#[test]
fn swing_has_the_ride_on_every_pulse_and_the_hat_on_two_and_four() {
    let arrangement = arranged(&form("Dm7"), Feel::Swing, 1, 1);
    assert_eq!(keys_at(&arrangement, Part::Ride, 51), [0, 100, 172, 200, 300, 372]);
    assert_eq!(keys_at(&arrangement, Part::Hat, 44), [100, 300]);
    assert_eq!(keys_at(&arrangement, Part::Kick, 36), [0, 100, 200, 300]);
}

#[test]
fn a_bossa_has_its_rim_over_two_bars() {
    let arrangement = arranged(&form("Am7 | D7 | Am7"), Feel::Bossa, 1, 1);
    assert_eq!(keys_at(&arrangement, Part::Ride, 37), [0, 150, 300, 500, 650, 800, 950, 1100]);
    assert_eq!(keys_at(&arrangement, Part::Kick, 36)[..4], [0, 150, 200, 350]);
    assert_eq!(keys_at(&arrangement, Part::Hat, 42)[..8], [0, 50, 100, 150, 200, 250, 300, 350]);
    assert_eq!(keys_at(&arrangement, Part::Ride, 51), [0_i64; 0]);
}

#[test]
fn a_waltz_has_the_hat_on_two_and_three() {
    let three = form_in("3/4".parse().expect("a meter"), "Dm7");
    assert_eq!(keys_at(&arranged(&three, Feel::Swing, 1, 1), Part::Hat, 44), [100, 200]);
}

#[test]
fn in_a_break_the_hat_alone_goes_on() {
    for feel in Feel::ALL {
        let arrangement = arranged(&form("Dm7 | N.C. | N.C. G7"), feel, 1, 1);
        let bar_one = Ticks::ZERO + arrangement.count_in;
        let silent = bar_one + TickSpan::quarters(4)..bar_one + TickSpan::quarters(10);
        let meanwhile: Vec<_> = arrangement.notes.iter().filter(|note| silent.contains(&note.at)).collect();
        assert_eq!(meanwhile.len(), 3, "{feel}: 2 and 4, and 2");
        assert!(meanwhile.iter().all(|note| note.part == Part::Hat));
    }
}

#[test]
fn every_pulse_can_have_a_click() {
    let form = form_in("6/8".parse().expect("a meter"), "Dm7 | G7");
    let accompaniment = Accompaniment { click: ClickOn::EveryPulse, ..Accompaniment::default() };
    let arrangement = arrange(&Call { accompaniment, ..call(&form, &reading(&form)) });
    assert_eq!(struck(&arrangement, Part::Click), [0, 150, 300, 450]);
}
