//! Charts as text: what reads, what it unfolds to, and what is said about every slip.

use barwise::chart::layout::lay_out;
use barwise::chart::{Backing, Chart, ChartErrors, Form, Ink, Warning};
use barwise::theory::chord::BareSymbols;
use barwise::time::TICKS_PER_QUARTER;
use proptest::prelude::*;

fn parse(text: &str) -> Result<(Chart, Vec<Warning>), ChartErrors> {
    Chart::parse("chart.bars", text, BareSymbols::default())
}

fn chart(text: &str) -> Chart {
    let read = parse(text).map_err(|errors| errors.to_string());
    read.expect("a chart that reads").0
}

fn backing(stem: &str) -> Chart {
    chart(Backing::find(stem).expect("a chart that ships").text)
}

/// `bar: chord beats, chord beats` for each bar as played, by its number on the page.
fn shown(form: &Form) -> Vec<String> {
    let bars = form.bars.iter().enumerate();
    bars.map(|(index, bar)| {
        let chords = form.chords.iter().filter(|chord| chord.bar == index);
        let chords: Vec<String> =
            chords.map(|chord| format!("{} {}", chord.text, form.beat_and_beats(chord).1)).collect();
        format!("{}: {}", bar.written, chords.join(", "))
    })
    .collect()
}

#[test]
fn the_blues_unfolds_with_slots_pushes_and_scales() {
    let form = backing("filing-cabinet").unfold();
    let expect = [
        "1: F7 4",
        "2: Bb7 4",
        "3: F7 4",
        "4: Cm7 2, F7 2",
        "5: Bb7 4",
        "6: Bdim7 4",
        "7: F7 4",
        "8: Am7b5 2, D7b9 2",
        "9: Gm7 4",
        "10: C7 3, C7#5 1",
        "11: F7 2, D7 2",
        "12: Gm7 1.5, C7 2.5",
    ];
    assert_eq!(shown(&form), expect);
    let altered = form.chords.iter().find(|chord| chord.text == "D7b9").expect("bar 8");
    assert_eq!(altered.scale.as_ref().map(ToString::to_string).as_deref(), Some("altered"));
    assert!(form.loops);
}

#[test]
fn a_percent_sign_plays_the_bar_before_and_letters_begin_sections() {
    let form = backing("bus-shelter").unfold();
    assert_eq!(form.bars.len(), 16);
    assert_eq!(shown(&form)[10..13], ["11: Gmaj7 4", "12: Gmaj7 4", "13: Am7b5 4"]);
    let letters: Vec<_> =
        form.bars.iter().filter_map(|bar| Some((bar.written, bar.label.as_deref()?))).collect();
    assert_eq!(letters, [(1, "A"), (9, "B")]);
}

#[test]
fn endings_are_played_in_turn_and_meters_stay_until_changed() {
    let form = backing("two-lamps").unfold();
    let played: Vec<usize> = form.bars.iter().map(|bar| bar.written).collect();
    assert_eq!(played, [1, 2, 3, 4, 5, 6, 1, 2, 3, 4, 7, 8, 9, 10, 11, 12]);
    let meters: Vec<String> = form.bars.iter().map(|bar| bar.meter.to_string()).collect();
    assert_eq!(meters.join(" "), "3/4 ".repeat(14) + "4/4 3/4");
    assert_eq!(shown(&form)[12..], ["9: Gm7 3", "10: Gm7 3", "11: Gm7/F 4", "12: Asus4 2, A7 1"]);
    let held = form.chords.iter().find(|chord| chord.bar == 13).expect("bar 10");
    assert_eq!(held.scale.as_ref().map(ToString::to_string).as_deref(), Some("dorian"), "it goes on");
    assert_eq!(form.chords.iter().find(|c| c.text == "N.C.").expect("bar 8").symbol, None);
}

#[test]
fn bars_unfold_as_they_are_written() {
    let check = |text: &str, expect: &[&str]| assert_eq!(shown(&chart(text).unfold()), expect, "{text}");
    check("| C | | F / / / |", &["1: C 4", "2: C 4", "3: F 4"]);
    check("| C F | / / G / |", &["1: C 2, F 2", "2: F 2, G 2"]);
    check("| C F | % | |", &["1: C 2, F 2", "2: C 2, F 2", "3: F 4"]);
    check("| C | F@2 G@4& |", &["1: C 4", "2: C 1, F 2.5, G 0.5"]);
    check("| 6/8 C F | 3/4 G |", &["1: C 3, F 3", "2: G 3"]);
    check("|: C :|x3 F |", &["1: C 4", "1: C 4", "1: C 4", "2: F 4"]);
    check("|: C | F :|\n|: G :|", &["1: C 4", "2: F 4", "1: C 4", "2: F 4", "3: G 4", "3: G 4"]);
    check("|: C |1. F :|2. % |", &["1: C 4", "2: F 4", "1: C 4", "3: C 4"]);
    check("form: B A\nA | C |\nB | F |", &["2: F 4", "1: C 4"]);
    check("| N.C. | NC@3 |", &["1: N.C. 4", "2: N.C. 2, NC 2"]);
    check("| n.c. |", &["1: n.c. 4"]);
    check("| C⁷ |", &["1: C⁷ 4"]);
}

/// Says where `message` must stand and how it reads.
fn check_slip(text: &str, expect: &str) {
    let errors = parse(text).expect_err(text);
    let said: Vec<String> = errors.errors().iter().map(ToString::to_string).collect();
    assert_eq!(said, [expect], "{text}");
}

#[test]
fn slips_are_named_with_place_and_remedy() {
    check_slip(
        "key: C\nA | Fm7 | Fm7 Bb7 C7 |",
        "2:11: 3 chords do not share 4 beats. Say where: \"Fm7 / Bb7 C7\" or \"Fm7 Bb7@3 C7@4\"",
    );
    check_slip("A | C7 / / / / |", "1:5: 5 beats written, the meter is 4/4");
    check_slip("A | F | / |", "1:9: 1 beat written, the meter is 4/4");
    check_slip("A | Fm7 H7 |", "1:9: \"H7\": roots are A to G. For German H write B");
    check_slip("A | Cmj7 |", "1:5: root C read, \"mj7\" not. Did you mean Cmaj7?");
    check_slip("A |: Fm7 | Bb7 |\nB | C |", "2:1: the repeat opened at 1:3 is never closed with \":|\"");
    check_slip("A |: Fm7 | Bb7 |", "2:1: the repeat opened at 1:3 is never closed with \":|\"");
    check_slip("A |: Fm7 | Bb7 :|2. C |", "1:18: ending 2. without an ending 1.");
    check_slip("form: A B C\nA | C |\nB | F |", "1:11: no section \"C\"; sections are A, B");
    check_slip(
        "| C | [1 G7 |",
        "1:7: \"[1\" is no chord. An ending is one number and a point: |1. G7 :|2. C7 ||",
    );
    check_slip("A | Dm7=dorain |", "1:9: no scale \"dorain\". Did you mean dorian?");
}

#[test]
fn slips_in_the_form_and_the_repeats_are_named_too() {
    check_slip("A: | C |", "1:1: a section's letter takes no colon. Write A |");
    check_slip(
        "form: A\n| F |\nA | C |",
        "2:1: form: plays sections by their letter, and these bars have none. Write one in the margin",
    );
    check_slip(
        "form: A\nA | C |\nA | F |",
        "3:3: a second section A, and form: names A. Give this one a letter of its own, such as A2",
    );
    check_slip(
        "|: C |: F :|",
        "1:6: a repeat opens inside the one opened at 1:1. Close that one first, with \":|\"",
    );
    check_slip(
        "|: C |1. F :|2. G :|",
        "1:14: ending 2. goes back with \":|\", and no ending 3. follows. End the last ending with \"||\"",
    );
    check_slip(
        "| C |1. F | G |",
        "1:6: ending 1. never goes back. Close it with \":|\" and write ending 2. after it",
    );
    check_slip("| C | F |:", "2:1: the repeat opened at 1:9 is never closed with \":|\"");
    check_slip(
        ":| C |",
        "1:1: \":|\" cannot open a line. Open it with \"|\", \"||\" or \"|:\", and close repeats at the end of a line",
    );
}

#[test]
fn a_section_that_the_form_leaves_out_is_remarked_upon() {
    let (_, warnings) = parse("form: A\nA | C |\nB | F |").expect("a chart");
    let said: Vec<String> = warnings.iter().map(ToString::to_string).collect();
    assert_eq!(said, ["3:3: section B is never played: form: does not name it"]);
}

#[test]
fn other_slips_read_as_well() {
    check_slip("ttle: X\n| C |", "1:1: no header \"ttle\". Did you mean title?");
    check_slip(
        "foo: X\n| C |",
        "1:1: no header \"foo\". Headers are title, by, key, meter, tempo, feel, form, choruses, sevenths",
    );
    check_slip("key: C\nkey: F\n| C |", "2:1: key stands in line 1 already. Keep one of them");
    check_slip("| C |\nkey: C", "2:1: headers stand above the first bar. Move key: up");
    check_slip("key:\n| C |", "1:1: key: has no value. Write one after the colon, or leave the line out");
    check_slip("tempo: 500\n| C |", "1:8: \"500\" is no tempo: write quarters a minute, 20 to 400");
    check_slip(
        "form: AAB\nA | C |\nB | F |",
        "1:7: no section \"AAB\"; sections are A, B. Write letters apart: A A B",
    );
    check_slip(
        "Fm7 Bb7",
        "1:1: no barline in this line. Begin and end it with \"|\"; a comment begins with \";\"",
    );
    check_slip("title X\n| C |", "1:1: no colon after title. Write \"title: ...\"");
    check_slip("| C | F", "1:7: the line does not end with a barline. Write \"|\" at its end");
    check_slip("| C :||", "1:5: \":||\" is no barline. Write \":|\"");
    check_slip("| C % |", "1:5: \"%\" stands alone in its bar");
    check_slip("| C // |", "1:5: \"//\": leave a blank between slashes, one slash a beat");
    check_slip("| C F@5 |", "1:5: no beat 5 in 4/4; beats are 1 to 4");
    check_slip(
        "| C | C@3 F@2 |",
        "1:11: F@2 does not come after C@3. Write the chords in the order they are played",
    );
    check_slip(
        "| C@x |",
        "1:4: \"@x\" is no place. Write \"@\" and a beat last, or half a beat later with \"&\": C@2, C@2&",
    );
    check_slip(
        "| C F@2 G |",
        "1:9: \"G\" has no place. Where one chord has \"@\", each after the first needs it: G@2",
    );
    check_slip(
        "| C / F@3 / |",
        "1:3: \"/\" and \"@\" in one bar. Use one of them: \"/\" for each beat, or \"@\" and a beat after each chord",
    );
    check_slip("| % |", "1:3: no bar before this one to repeat. Write its chords");
    check_slip(
        "| | C |",
        "1:2: no chord to go on with. The form begins with this bar: write a chord, or N.C.",
    );
    check_slip("| C | 3/4 % |", "1:11: \"%\" repeats a bar of 4/4, and this one is in 3/4. Write its chords");
    check_slip("|: C :|x1", "1:8: x1 counts how often a repeat is played in all: 2 to 64, after \":|\"");
    check_slip("| C = |", "1:5: no chord before \"=\". Write one, with no blank between: Dm7=");
    check_slip("| Dm7= |", "1:6: no scale after \"=\". Write a name or degrees: Dm7=dorian, Dm7=1,b3,5");
    check_slip("| N.C.=dorian |", "1:3: N.C. takes no scale: without a chord there is none to count from");
    check_slip("; nothing", "2:1: no bars here. Write chords between barlines: | Fm7 | Bb7 |");
    check_slip(
        "title: a\u{1b}[2J\n| C |",
        "1:9: control character U+001B; a chart is plain text. Take it out",
    );
}

#[test]
fn all_slips_of_a_chart_come_at_once_each_with_its_line_and_a_caret() {
    let errors = parse("key: H\nA | Cmj7 | F |\n  | Dm7=dorain |2. G7 |\n").expect_err("four slips");
    insta::assert_snapshot!(errors.render(Ink::Plain));
    assert!(errors.render(Ink::Coloured).contains('\u{1b}'));
}

#[test]
fn limits_are_said() {
    let check = |text: &str, part: &str| {
        let errors = parse(text).expect_err(part);
        assert!(errors.to_string().contains(part), "{errors}");
    };
    check(&"| C |\n".repeat(2_001), "2000 bars are read at most");
    check(&format!("| {} |", "C ".repeat(600)), "at most 1000 are read");
    check(&";".repeat(2 << 20), "at most 1048576 are read");
    check(&"|: C | F | G :|x64\n".repeat(60), "the form has 11520 bars when played");
    let many = parse(&"| H |\n".repeat(80)).expect_err("80 slips");
    assert_eq!((many.errors().len(), many.left_out()), (50, 30));
}

#[test]
fn a_scale_without_the_chords_own_tone_is_remarked_upon() {
    let check = |bar: &str, expect: &[&str]| {
        let (_, warnings) = parse(&format!("A | {bar} |")).expect("a chart");
        let said: Vec<String> = warnings.iter().map(ToString::to_string).collect();
        assert_eq!(said, expect, "{bar}");
    };
    check("Dm7=ionian", &["1:5: ionian leaves out the chord's own b3 (F) and b7 (C); they are added"]);
    check("Dm=ionian", &["1:5: ionian leaves out the chord's own b3 (F); it is added"]);
    check("Dm7=dorian", &[]);
    check("D7b9=altered", &[]);
    check(
        "Dm7/G=1,2,b3",
        &["1:5: 1,2,b3 leaves out the chord's own 4 (C) and 5 (D) and b7 (F); they are added"],
    );
}

#[test]
fn a_letter_that_reads_as_a_chord_is_remarked_upon() {
    let (_, warnings) = parse("Fm7 | Bb7 |").expect("a chart");
    assert_eq!(
        warnings[0].to_string(),
        "1:1: \"Fm7\" is taken for a section's name. If it is a chord, begin the line with \"|\""
    );
}

#[test]
fn a_chart_moves_to_another_key_and_back() {
    let source =
        "title: T\nkey:   Eb ; flat\nA | Ebmaj7   | Abm7 Db7=harmonic-minor-of-G | Ebmaj7/G | Bb7 C△ |\n";
    let moved = chart(source).transposed("G".parse().expect("a key")).expect("moved");
    let expect =
        "title: T\nkey:   G ; flat\nA | Gmaj7    | Cm7 F7=harmonic-minor-of-B   | Gmaj7/B  | D7 Emaj7 |\n";
    assert_eq!(moved.to_string(), expect);
    let back = moved.transposed("Eb".parse().expect("a key")).expect("moved");
    assert_eq!(back.to_string(), chart(source).to_string());
}

/// Moves `bars` and gives them as they then stand.
fn bars_moved(key: &str, to: &str, bars: &str) -> String {
    let moved = chart(&format!("key: {key}\n| {bars} |")).transposed(to.parse().expect("a key"));
    let moved = moved.expect("moved").to_string();
    let bars = moved.lines().nth(1).expect("bars");
    bars.trim_start_matches("| ").trim_end_matches(" |").to_owned()
}

#[test]
fn roots_are_spelled_by_the_new_key() {
    let check = |key: &str, to: &str, bars: &str, expect: &str| {
        assert_eq!(bars_moved(key, to, bars), expect, "{bars} from {key} to {to}");
    };
    check("C", "Gb", "Fmaj7 | Bb7", "Cbmaj7 | E7");
    check("C", "A", "Abmaj7 | F#m7b5", "Fmaj7 | D#m7b5");
    check("Am", "C", "E7 | F#m7b5", "G7 | Am7b5");
    check("Dm", "Db", "Dm6 | Bbmaj7", "C#m6 | Amaj7");
    check("C", "F#", "Bm7b5 | E7 | Am7", "E#m7b5 | A#7 | D#m7");
}

#[test]
fn a_two_five_one_away_from_the_key_has_one_kind_of_sign() {
    let check = |to: &str, expect: &str| {
        assert_eq!(bars_moved("Eb", to, "Ebmaj7 | Am7 D7 | Gmaj7/B"), expect, "to {to}");
    };
    check("F#", "F#maj7 | Cm7 F7 | Bbmaj7/D");
    check("B", "Bmaj7 | Fm7 Bb7 | Ebmaj7/G");
    check("C#", "C#maj7 | Gm7 C7 | Fmaj7/A");
    check("Gb", "Gbmaj7 | Cm7 F7 | Bbmaj7/D");
    check("D", "Dmaj7 | G#m7 C#7 | F#maj7/A#");
}

#[test]
fn what_leads_on_is_spelled_from_where_it_leads() {
    let check = |key: &str, to: &str, bars: &str, expect: &str| {
        assert_eq!(bars_moved(key, to, bars), expect, "{bars} from {key} to {to}");
    };
    check("C", "F#", "E7 | A7 | D7 | G7", "A#7 | D#7 | G#7 | C#7");
    // No E# and no B# in a chain: all of it takes its other names.
    check("C", "C#", "E7 | A7 | D7 | G7", "F7 | Bb7 | Eb7 | G#7");
    check("Eb", "F#", "Am7b5 | D7b9 | Gm7", "Cm7b5 | F7b9 | A#m7");
    check("C", "B", "Ebmaj7 | D7sus4 D7 | G7", "Dmaj7 | C#7sus4 C#7 | F#7");
    // The last chord leads to the first.
    check("Eb", "F#", "Gmaj7 | Ebmaj7 | Am7 | D7", "Bbmaj7 | F#maj7 | Cm7 | F7");
    check("C", "Eb", "C7 | N.C. | F#7", "Eb7 | N.C. | A7");
}

#[test]
fn charts_that_ship_take_no_odd_name_in_any_key_and_come_back_from_near_ones() {
    for shipped in Backing::ALL {
        let original = backing(shipped.stem);
        let Some(from) = original.header().key else { continue };
        for to in ["C", "F", "G", "Db", "D", "Eb", "E", "F#", "Gb", "Ab", "A", "Bb", "B"] {
            let moved = original.transposed(to.parse().expect("a key")).expect("moved");
            let bars: String = moved.text().lines().filter(|line| line.contains('|')).collect();
            // With seven signs a key has such names of its own.
            let seven = moved.header().key.is_some_and(|key| key.fifths().abs() == 7);
            for odd in ["##", "Fb", "B#"] {
                assert!(seven || !bars.contains(odd), "{odd} in {to}: {bars}");
            }
            if ["C", "F", "G"].contains(&to) {
                let words = |chart: &Chart| chart.text().split_whitespace().collect::<Vec<_>>().join(" ");
                assert_eq!(words(&moved.transposed(from).expect("moved")), words(&original), "{bars}");
            }
        }
    }
}

#[test]
fn a_chart_without_key_moves_from_the_key_given() {
    let modal = chart("title: T\nA | Dm7 |");
    let d = "Dm".parse().expect("a key");
    let e = "Em".parse().expect("a key");
    assert!(modal.transposed(e).is_err());
    let moved = modal.transposed_from(d, e).expect("moved").to_string();
    assert_eq!(moved, "title: T\nkey: Em\nA | Em7 |\n");
}

#[test]
fn a_scale_is_set_behind_a_chord_and_the_barlines_stay() {
    let blues = backing("filing-cabinet");
    let altered = "altered".parse().expect("a scale");
    let changed = blues.with_scale(10, 1, &altered).expect("set").to_string();
    assert!(changed.contains("| C7=altered / / C7#5 |"), "{changed}");
    let changed = blues.with_scale(9, 1, &"dorian".parse().expect("a scale")).expect("set").to_string();
    assert!(changed.contains("| Gm7=dorian | C7 / / C7#5 |"), "{changed}");
    let changed = blues.with_scale(4, 2, &altered).expect("set").to_string();
    assert!(changed.contains("| Cm7 F7=altered     |\n"), "{changed}");
    let replaced = blues.with_scale(8, 2, &"phrygian-dominant".parse().expect("a scale")).expect("set");
    assert!(replaced.to_string().contains("D7b9=phrygian-dominant"), "{replaced}");

    let refused = |bar, nth| blues.with_scale(bar, nth, &altered).expect_err("refused").to_string();
    assert_eq!(refused(13, 1), "no bar 13; bars are 1 to 12, counted on the page");
    assert_eq!(refused(4, 3), "bar 4 has no chord 3: 2 written in it");
    assert_eq!(refused(4, 0), "bar 4 has no chord 0: 2 written in it");
}

#[test]
fn a_chart_is_written_as_it_was_read_in_ascii() {
    let source = "\u{feff}title: Caf\u{e9} ; \u{266d}\r\nkey: E\u{266d}\r\nA | E\u{266d}\u{25b3}  | Fø B°@4&   \r\n; end";
    let source = source.to_owned() + "\n";
    let read = parse(&source.replace("B°@4&   ", "B°@4& |"));
    let (read, _) = read.expect("a chart that reads");
    let written = "title: Café ; ♭\nkey: Eb\nA | Ebmaj7 | Fm7b5 Bdim@4& |\n; end\n";
    assert_eq!(read.to_string(), written);
    assert_eq!(chart(written).to_string(), written);
    assert_eq!(read.unfold().chords[0].text, "E♭△", "as it was written");
}

#[test]
fn headers_are_read() {
    let read = chart(
        "title: T\nby: Me\nkey: F#m\nmeter: 6/8\ntempo: 92.5\nfeel: bossa\nchoruses: 3\nsevenths: assume\n| C |",
    );
    let header = read.header();
    assert_eq!(header.key.map(|key| key.to_string()).as_deref(), Some("F# minor"));
    assert_eq!((header.tempo.get(), header.choruses), (92.5, Some(3)));
    assert_eq!(read.unfold().length().0, 3 * TICKS_PER_QUARTER);
    assert_eq!(read.unfold().sevenths, barwise::chart::Sevenths::Assume);
    let (untitled, _) =
        Chart::parse("folder/my.tune.bars", "| C |", BareSymbols::default()).expect("a chart");
    assert_eq!(untitled.title(), "my.tune");
}

fn chord() -> impl Strategy<Value = String> {
    let root = prop::sample::select(vec!["C", "Db", "F#", "B♭", "G"]);
    let quality = prop::sample::select(vec!["", "m7", "7", "△", "ø7", "°", "7b9", "maj7", "7(♯11)"]);
    let bass = prop::sample::select(vec!["", "", "/E", "/A♭"]);
    let scale = prop::sample::select(vec!["", "", "", "=dorian", "=1,♭3,5", "=harmonic-minor-of-G"]);
    let symbol = (root, quality, bass, scale).prop_map(|(r, q, b, s)| format!("{r}{q}{b}{s}"));
    prop_oneof![9 => symbol, 1 => Just("N.C.".to_owned())]
}

fn bar() -> impl Strategy<Value = String> {
    prop_oneof![
        chord(),
        (chord(), chord()).prop_map(|(a, b)| format!("{a} {b}")),
        (chord(), chord()).prop_map(|(a, b)| format!("{a} / / {b}")),
        (chord(), chord()).prop_map(|(a, b)| format!("{a}  {b}@3&")),
        Just("%".to_owned()),
        Just(String::new()),
    ]
}

fn written_chart() -> impl Strategy<Value = String> {
    let line = (chord(), prop::collection::vec(bar(), 1..5), 0..5u8).prop_map(|(first, bars, kind)| {
        let bars = bars.join(" | ");
        match kind {
            0 => format!("|: {first} | {bars} :|x3 ; three times\n"),
            1 => format!("|: {first} | {bars} |1. {first} :|2. {first} ||\n"),
            2 => format!("|: {first} | {bars} :|: {first} :|\n"),
            _ => format!("| {first} |   {bars}   |\n"),
        }
    });
    let key = prop::sample::select(vec!["", "key: B♭\n", "key: F#m ; sharp\n"]);
    (key, prop::collection::vec(line, 1..5)).prop_map(|(key, lines)| {
        let lines = lines.iter().zip('A'..).map(|(line, letter)| format!("{letter} {line}"));
        format!("; generated\n{key}{}", lines.collect::<String>())
    })
}

proptest! {
    #[test]
    fn no_text_makes_reading_panic(text in "\\PC{0,200}") {
        let _ = parse(&text).map_err(|errors| errors.render(Ink::Plain));
    }

    #[test]
    fn no_text_of_chart_signs_makes_reading_panic(text in "[A-H|:%/@&=;.,0-9bx#m\u{266d} \n\u{1b}]{0,120}") {
        let _ = parse(&text).map_err(|errors| errors.render(Ink::Plain));
    }

    #[test]
    fn no_change_to_a_chart_makes_reading_panic(
        text in written_chart(),
        at in any::<prop::sample::Index>(),
        sign in "[|:%/@x1. \n=;]{0,3}",
    ) {
        let mut letters: Vec<char> = text.chars().collect();
        let at = at.index(letters.len());
        letters.splice(at..=at, sign.chars());
        let text: String = letters.into_iter().collect();
        if let Ok((chart, _)) = parse(&text) {
            prop_assert!(chart.unfold().bars.len() >= chart.bars().len() || !chart.header().form.is_empty());
        }
    }

    #[test]
    fn what_is_written_reads_the_same_and_is_written_the_same(text in written_chart()) {
        let read = chart(&text);
        let written = read.to_string();
        let again = chart(&written);
        prop_assert_eq!(again.to_string(), written);
        let symbols = |form: &Form| form.chords.iter().map(|c| (c.start, c.symbol, c.scale.clone())).collect::<Vec<_>>();
        prop_assert_eq!(symbols(&again.unfold()), symbols(&read.unfold()));
    }

    #[test]
    fn a_fresh_text_for_the_bars_of_a_chart_reads_as_the_same_bars(text in written_chart()) {
        let read = chart(&text);
        let fresh = chart(&lay_out(read.header(), read.bars()));
        prop_assert_eq!(fresh.header(), read.header());
        prop_assert_eq!(fresh.unfold(), read.unfold());
        prop_assert_eq!(lay_out(fresh.header(), fresh.bars()), lay_out(read.header(), read.bars()));
    }

    #[test]
    fn every_chord_follows_the_one_before_it(text in written_chart()) {
        let form = chart(&text).unfold();
        let mut at = barwise::time::Ticks::ZERO;
        for chord in &form.chords {
            prop_assert_eq!(chord.start, at);
            at += chord.length;
        }
        prop_assert_eq!(at - barwise::time::Ticks::ZERO, form.length());
    }

    #[test]
    fn moving_a_chart_moves_every_root_alike(text in written_chart(), up in 0..12i32) {
        use barwise::theory::{Key, KeyMode, PitchClass};
        let key = |semitones| Key::new(PitchClass::from_semitones(semitones), KeyMode::Major);
        let chart = chart(&text);
        let from = chart.header().key.unwrap_or(key(0));
        let to = key(i32::from(from.tonic.pitch_class().semitones()) + up);
        let moved = chart.transposed_from(from, to).expect("moved");
        let roots = |chart: &Chart, by| {
            let form = chart.unfold();
            let symbols = form.chords.iter().map(|chord| chord.symbol);
            symbols.map(|s| s.map(|s| (s.root.pitch_class().up(by), s.quality))).collect::<Vec<_>>()
        };
        prop_assert_eq!(roots(&moved, 0), roots(&chart, up));
    }
}
