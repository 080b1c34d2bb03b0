//! Takes cleaned whole: what is set aside, and what is not.

use super::fixture::{Played, shown};
use super::*;
use crate::take::note::{BendPart, LeftOut};
use crate::time::NanoSpan;

fn left_out(cleaned: &Cleaned) -> Vec<Option<LeftOut>> {
    cleaned.notes.iter().map(|note| note.left_out).collect()
}

fn events(cleaned: &Cleaned) -> Vec<u32> {
    cleaned.notes.iter().map(|note| note.event).collect()
}

#[test]
fn notes_end_with_note_off_velocity_zero_or_all_notes_off() {
    let played = Played::default()
        .on(0, 60, 80, 0)
        .off(0, 60, 200)
        .on(0, 62, 80, 300)
        .on(0, 62, 0, 450)
        .on(0, 64, 80, 500)
        .on(1, 65, 80, 600)
        .control(0, 123, 0, 700)
        .control(1, 120, 0, 800);
    let expect = [(60, 0, 200, None), (62, 300, 450, None), (64, 500, 700, None), (65, 600, 800, None)];
    assert_eq!(shown(&played.clean()), expect);
    assert_eq!(played.clean().warnings, []);
}

#[test]
fn the_sustain_pedal_lengthens_nothing() {
    let played =
        Played::default().control(0, 64, 127, 0).on(0, 60, 80, 10).off(0, 60, 200).control(0, 64, 0, 900);
    assert_eq!(shown(&played.clean()), [(60, 10, 200, None)]);
}

#[test]
fn a_note_never_let_go_ends_after_two_bars_with_a_warning() {
    let played = Played::default().on(0, 60, 80, 100).notes(&[(0, 62, 9000, 9100)]);
    let cleaned = played.clean();
    assert_eq!(shown(&cleaned), [(60, 100, 4100, None), (62, 9000, 9100, None)]);
    assert_eq!(cleaned.warnings, [Warning::StuckNotes { notes: 1, first_ms: 100 }]);
    assert_eq!(
        cleaned.warnings[0].to_string(),
        "1 note was never let go, the first at 100 ms: closed after two bars, or with the take"
    );
}

#[test]
fn a_key_struck_again_ends_its_last_note() {
    let played = Played::default().on(0, 60, 80, 0).on(0, 60, 80, 300).off(0, 60, 300).off(0, 60, 500);
    assert_eq!(shown(&played.clean()), [(60, 0, 300, None), (60, 300, 500, None)]);
}

#[test]
fn a_retrigger_goes_on_sounding_the_note_before_it() {
    let retrigger = Some("retrigger");
    let overlapping = Played::default().on(0, 60, 80, 0).on(0, 60, 70, 49).off(0, 60, 500);
    assert_eq!(shown(&overlapping.clean()), [(60, 0, 500, None), (60, 49, 500, retrigger)]);
    let apart = Played::default().notes(&[(0, 60, 0, 20), (0, 60, 30, 500)]);
    assert_eq!(shown(&apart.clean()), [(60, 0, 500, None), (60, 30, 500, retrigger)]);
    let later = Played::default().notes(&[(0, 62, 0, 45), (0, 60, 60, 80), (0, 60, 110, 500)]);
    assert_eq!(left_out(&later.clean()), [None, None, None]);
    let off = CleanSettings { ghost_filter: GhostFilter::Off, ..CleanSettings::default() };
    let kept = left_out(&overlapping.clean_with(&off));
    assert!(!kept.contains(&Some(LeftOut::Retrigger)), "{kept:?}");
}

#[test]
fn soft_short_notes_are_ghosts_and_soft_long_or_loud_short_ones_are_not() {
    let played = Played::default()
        .notes(&[(0, 60, 0, 200), (0, 64, 1000, 1200)])
        .on(0, 71, 15, 2000)
        .off(0, 71, 2059)
        .on(0, 71, 15, 3000)
        .off(0, 71, 3060)
        .on(0, 71, 40, 4000)
        .off(0, 71, 4059);
    assert_eq!(left_out(&played.clean()), [None, None, Some(LeftOut::Ghost), None, None]);
}

#[test]
fn velocities_that_never_change_make_no_ghosts() {
    for velocity in [1, 10, 64] {
        let mut played = Played::default();
        for step in 0..50 {
            let key = if step % 2 == 0 { 60 } else { 67 };
            played = played.on(0, key, velocity, step * 100).off(0, key, step * 100 + 40);
        }
        assert!(left_out(&played.clean()).iter().all(Option::is_none), "velocity {velocity}");
    }
}

/// Six open strings, string 1 on channel `basic`, from 0 ms to 600 ms and 100 ms apart.
fn open_strings(basic: u8) -> Vec<(u8, u8, i64, i64)> {
    let string = |place: u8| {
        let on = i64::from(place) * 100;
        let key = STANDARD_TUNING[5 - usize::from(place)];
        (basic + place, key, on, on + 90)
    };
    (0..6).map(string).collect()
}

#[test]
fn channels_in_a_row_are_strings() {
    for basic in [0, 10] {
        let played = Played::default().notes(&open_strings(basic)).notes(&[(basic + 1, 62, 2000, 2200)]);
        let cleaned = played.clean();
        let places: Vec<_> = cleaned.notes.iter().map(|note| (note.string, note.fret)).collect();
        let expect = [(1, 0), (2, 0), (3, 0), (4, 0), (5, 0), (6, 0), (2, 3)];
        assert_eq!(places, expect.map(|(string, fret)| (Some(string), Some(fret))), "basic channel {basic}");
    }
}

#[test]
fn the_order_of_channels_is_found_out() {
    let low_first: Vec<_> = (0..6u8)
        .map(|place| {
            (place, STANDARD_TUNING[usize::from(place)], i64::from(place) * 200, i64::from(place) * 200 + 150)
        })
        .collect();
    let cleaned = Played::default().notes(&low_first).clean();
    assert_eq!(cleaned.strings.map(|map| map.order()), Some(ChannelOrder::LowFirst));
    assert_eq!(cleaned.notes[0].string, Some(6));
}

#[test]
fn one_channel_or_chords_on_a_channel_name_no_strings() {
    let one = Played::default().notes(&[(0, 60, 0, 100), (0, 62, 200, 300)]).clean();
    assert_eq!(one.strings, None);
    assert_eq!(one.notes[0].string, None);
    let band =
        Played::default().notes(&open_strings(0)).notes(&[(1, 60, 1000, 1500), (1, 64, 1000, 1500)]).clean();
    assert_eq!(band.strings, None);
}

#[test]
fn voices_that_do_not_fit_the_tuning_name_no_strings() {
    let cleaned = Played::default().notes(&[(0, 30, 0, 90), (1, 90, 100, 190), (2, 31, 200, 290)]).clean();
    assert_eq!(cleaned.strings, None);
    assert_eq!(cleaned.warnings, [Warning::TuningMismatch { first: 1, last: 3 }]);
}

#[test]
fn mode_four_messages_name_the_strings_of_two_channels() {
    let played = Played::default()
        .control(2, 124, 0, 0)
        .control(2, 126, 6, 0)
        .notes(&[(2, 66, 100, 200), (3, 61, 300, 400)]);
    let places: Vec<_> = played.clean().notes.iter().map(|note| (note.string, note.fret)).collect();
    assert_eq!(places, [(Some(1), Some(2)), (Some(2), Some(2))]);
}

#[test]
fn a_string_sounds_one_note_at_a_time() {
    let two_voices = [(1, 62, 1000, 1900), (1, 64, 1500, 1950)];
    let declared = Played::default().control(0, 126, 6, 0).notes(&two_voices);
    assert_eq!(shown(&declared.clean()), [(62, 1000, 1500, None), (64, 1500, 1950, None)]);
    let found_out =
        Played::default().notes(&open_strings(0)).notes(&[(1, 62, 1000, 1540), (1, 64, 1500, 1900)]);
    assert_eq!(shown(&found_out.clean())[6..], [(62, 1000, 1500, None), (64, 1500, 1900, None)]);
    let keys = Played::default().notes(&open_strings(0)).notes(&two_voices);
    assert_eq!(keys.clean().strings, None, "an old voice that sounds on for 400 ms is no string");
}

#[test]
fn a_string_that_is_never_damped_ends_with_its_next_note_and_needs_no_warning() {
    let played = Played::default().control(0, 126, 6, 0).on(2, 57, 80, 0).notes(&[(2, 59, 400, 700)]);
    let cleaned = played.clean();
    assert_eq!(shown(&cleaned), [(57, 0, 400, None), (59, 400, 700, None)]);
    assert_eq!(cleaned.warnings, []);
}

#[test]
fn overtones_and_notes_below_the_open_string_are_ghosts() {
    let ghost = Some(LeftOut::Ghost);
    let check = |extra: &[(u8, u8, i64, i64)], expect: &[Option<LeftOut>]| {
        let cleaned = Played::default().notes(&open_strings(0)).notes(extra).clean();
        assert_eq!(&left_out(&cleaned)[6..], expect, "{extra:?}");
    };
    check(&[(5, 38, 2000, 2300)], &[ghost]);
    check(&[(5, 43, 2000, 2300), (5, 55, 2330, 2400)], &[None, ghost]);
    check(&[(5, 43, 2000, 2300), (5, 62, 2330, 2400)], &[None, ghost]);
    check(&[(5, 43, 2000, 2300), (5, 55, 2340, 2400)], &[None, None]);
    check(&[(5, 43, 2000, 2300), (5, 55, 2330, 2410)], &[None, None]);
    check(&[(5, 43, 2000, 2300), (4, 55, 2330, 2400)], &[None, None]);
}

#[test]
fn an_overtone_does_not_cut_the_string_short() {
    let notes = [(5, 43, 0, 600), (5, 55, 200, 250), (4, 50, 700, 900)];
    let played = Played::default().control(0, 126, 6, 0).notes(&notes);
    let expect = [(43, 0, 600, None), (55, 200, 250, Some("ghost")), (50, 700, 900, None)];
    assert_eq!(shown(&played.clean()), expect);
}

#[test]
fn a_synthesizer_in_mono_mode_has_no_strings() {
    let played = Played::default().control(0, 126, 0, 0).notes(&[(0, 40, 0, 300), (0, 45, 290, 500)]);
    let cleaned = played.clean();
    assert_eq!(cleaned.strings, None);
    assert_eq!(shown(&cleaned), [(40, 0, 290, None), (45, 290, 500, None)]);
}

#[test]
fn an_mpe_zone_is_no_guitar() {
    let zone = Played::default().control(0, 101, 0, 0).control(0, 100, 6, 0).control(0, 6, 6, 0);
    assert_eq!(zone.notes(&open_strings(1)).clean().strings, None);
}

#[test]
fn an_octave_on_one_channel_is_no_ghost() {
    let played = Played::default().notes(&[(0, 48, 0, 200), (0, 60, 210, 280), (0, 62, 400, 500)]);
    assert_eq!(left_out(&played.clean()), [None, None, None]);
}

#[test]
fn a_bend_before_the_note_applies_to_it() {
    let played = Played::default().bend(0, 12288, 0).notes(&[(0, 60, 100, 400)]);
    assert_eq!(shown(&played.clean()), [(61, 100, 400, None)]);
    assert_eq!(played.clean().notes[0].bend_cents, 100);
    let other_channel = Played::default().bend(1, 12288, 0).notes(&[(0, 60, 100, 400)]);
    assert_eq!(shown(&other_channel.clean()), [(60, 100, 400, None)]);
}

#[test]
fn a_quarter_tone_is_between() {
    let played = Played::default().bend(0, 10240, 0).notes(&[(0, 60, 100, 400)]);
    assert_eq!(left_out(&played.clean()), [Some(LeftOut::Between)]);
}

#[test]
fn a_bend_after_a_settled_start_makes_two_notes_of_one_index() {
    let played = Played::default()
        .on(0, 60, 80, 0)
        .bend(0, 12288, 200)
        .bend(0, 16383, 250)
        .off(0, 60, 600)
        .bend(0, 8192, 610)
        .notes(&[(0, 64, 700, 900)]);
    let cleaned = played.clean();
    assert_eq!(shown(&cleaned), [(60, 0, 250, None), (62, 250, 600, None), (64, 700, 900, None)]);
    let parts: Vec<_> = cleaned.notes.iter().map(|note| (note.index, note.part)).collect();
    assert_eq!(parts, [(0, BendPart::Start), (0, BendPart::Bent), (1, BendPart::Whole)]);
    assert_eq!(events(&cleaned), [0, 1, 2]);
}

#[test]
fn a_line_with_ornaments_before_slow_targets_only() {
    let ornament = Some(LeftOut::Ornament);
    let check = |notes: &[(u8, u8, i64, i64)], expect: &[Option<LeftOut>]| {
        assert_eq!(left_out(&Played::default().notes(notes).clean()), expect, "{notes:?}");
    };
    check(&[(0, 67, 1970, 1995), (0, 69, 2000, 2300)], &[ornament, None]);
    check(&[(0, 67, 1930, 1995), (0, 69, 2000, 2300)], &[ornament, None]);
    check(&[(0, 67, 1929, 1995), (0, 69, 2000, 2300)], &[None, None]);
    check(&[(0, 66, 1970, 1995), (0, 69, 2000, 2300)], &[None, None]);
    check(&[(0, 60, 1890, 1960), (0, 67, 1970, 1995), (0, 69, 2000, 2300)], &[None, None, None]);
    check(&[(0, 60, 1889, 1960), (0, 67, 1970, 1995), (0, 69, 2000, 2300)], &[None, ornament, None]);
    check(&[(0, 67, 1970, 1995), (0, 69, 2000, 2070), (0, 71, 2080, 2300)], &[None, None, None]);
    check(
        &[(0, 67, 0, 60), (0, 69, 65, 125), (0, 71, 130, 190), (0, 72, 195, 250)],
        &[None, None, None, None],
    );
}

#[test]
fn notes_struck_together_share_an_event_if_they_sound_together() {
    let check = |notes: &[(u8, u8, i64, i64)], expect: &[u32]| {
        assert_eq!(events(&Played::default().notes(notes).clean()), expect, "{notes:?}");
    };
    check(&[(0, 60, 0, 300), (0, 64, 30, 300), (0, 67, 500, 600)], &[0, 0, 1]);
    check(&[(0, 60, 0, 300), (0, 64, 31, 300)], &[0, 1]);
    check(&[(0, 66, 0, 25), (0, 67, 25, 300)], &[0, 1]);
    check(&[(0, 66, 0, 40), (0, 67, 25, 300)], &[0, 1]);
}

#[test]
fn a_strum_over_the_strings_takes_twice_as_long() {
    let mut strum = open_strings(0);
    strum.extend([(0, 64, 2000, 2500), (1, 60, 2030, 2500), (2, 55, 2060, 2500), (3, 52, 2061, 2500)]);
    let cleaned = Played::default().notes(&strum).clean();
    assert_eq!(&events(&cleaned)[6..], [6, 6, 6, 7]);
}

#[test]
fn latency_comes_off_onsets_and_ends() {
    let settings = CleanSettings {
        latency: Latency { constant: NanoSpan::millis(31), periods: 0.0 },
        ..CleanSettings::default()
    };
    let played = Played::default().notes(&[(0, 60, 100, 400)]);
    assert_eq!(shown(&played.clean_with(&settings)), [(60, 69, 369, None)]);
}
