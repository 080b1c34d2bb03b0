//! The rules of ride, hi-hat and kick, held against charts at random.

use super::played::{Place, Played, for_every_chart};
use super::*;

/// When a key of a part is struck in a bar.
fn struck_in(played: &Played, bar: &Place, part: Part, key: u8) -> Vec<Ticks> {
    let notes = played.arrangement.notes.iter();
    let found = notes
        .filter(|note| note.part == part && note.key.key() == key && (bar.at..bar.end).contains(&note.at));
    found.map(|note| note.at).collect()
}

#[test]
fn in_swing_the_ride_has_every_pulse_and_the_off_beats_of_the_hats() {
    for_every_chart(3_000, |played| {
        if !played.plays() || played.case.feel != Feel::Swing {
            return 0;
        }
        let whole = |bar: &&Place| {
            let breaks = played
                .chords
                .iter()
                .any(|chord| chord.symbol.is_none() && chord.at < bar.end && chord.end > bar.at);
            bar.playing == Playing::Band && !breaks
        };
        let bars: Vec<_> = played.bars.iter().filter(whole).collect();
        for bar in &bars {
            let hats = bar.hat_pulses();
            assert_eq!(struck_in(played, bar, Part::Hat, 44), hats, "{}", played.tell());
            let pulses: Vec<Ticks> = (0..bar.pulses()).map(|i| bar.at + bar.pulse * i).collect();
            assert_eq!(struck_in(played, bar, Part::Kick, 36), pulses, "{}", played.tell());
            let mut ride: Vec<Ticks> =
                pulses.into_iter().chain(hats.into_iter().map(|at| at + bar.off_beat)).collect();
            ride.sort();
            assert_eq!(struck_in(played, bar, Part::Ride, 51), ride, "{}", played.tell());
        }
        bars.len() as u64
    });
}
