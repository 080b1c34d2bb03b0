//! Transposing instruments through the program's own door: texts and pages are as the player reads them, documents and
//! files as they sound.

use std::fs;

use assert_cmd::Command;
use tempfile::TempDir;

/// A player whose instrument is pitched in a key.
struct Player {
    folder: TempDir,
    written: &'static str,
}

impl Player {
    fn of(written: &'static str) -> Self {
        Self { folder: tempfile::tempdir().expect("a folder"), written }
    }

    fn prints(&self, line: &[&str]) -> String {
        let mut command = Command::new(assert_cmd::cargo::cargo_bin!("barwise"));
        let folder = self.folder.path();
        command.env_clear().env("BARWISE_CONFIG_DIR", folder).env("BARWISE_DATA_DIR", folder.join("data"));
        let command = command.env("BARWISE_WRITTEN", self.written).current_dir(folder).args(line);
        let output = command.output().expect("the program runs");
        assert!(output.status.success(), "{line:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).expect("text")
    }

    fn file(&self, name: &str) -> Vec<u8> {
        fs::read(self.folder.path().join(name)).expect("a file that was written")
    }
}

/// What a player of a Bb instrument and one in concert pitch are shown by the same line.
fn both(line: &[&str]) -> [String; 2] {
    ["C", "Bb"].map(|written| Player::of(written).prints(line))
}

#[test]
fn a_chart_is_read_a_major_second_higher_on_a_b_flat_instrument() {
    let [sounding, read] = both(&["read", "bus-shelter", "--bar", "1"]);
    assert!(sounding.contains("Ebmaj7") && sounding.contains("Eb ionian"), "{sounding}");
    assert!(!sounding.contains("written for"), "{sounding}");
    assert!(read.contains("Fmaj7") && read.contains("F ionian"), "{read}");
    assert!(read.contains("written for Bb") && !read.contains("Eb"), "{read}");
}

#[test]
fn a_chord_that_is_typed_sounds() {
    let [sounding, read] = both(&["neck", "Bb7", "--names"]);
    assert!(sounding.starts_with("Bb7"), "{sounding}");
    assert!(read.starts_with("C7") && read.contains("written for Bb, Bb7 sounds"), "{read}");
    let [_, keys] = both(&["keys", "Bb7", "--names"]);
    assert!(keys.starts_with("C7"), "{keys}");
}

#[test]
fn frets_stay_where_the_hand_is() {
    let [sounding, read] = both(&["neck", "Bb7"]);
    let layers = |picture: &str| -> Vec<String> {
        let strings = picture.lines().filter(|line| line.contains('║'));
        strings.map(|line| line.chars().skip_while(|sign| *sign != '║').collect()).collect()
    };
    assert!(!layers(&sounding).is_empty(), "{sounding}");
    assert_eq!(layers(&sounding), layers(&read));
}

#[test]
fn a_review_names_what_is_read_and_counts_what_sounds() {
    let [sounding, read] = both(&["demo", "--headless"]);
    assert!(sounding.contains("Ebmaj7") && !read.contains("Ebmaj7"), "{read}");
    assert!(read.contains("Fmaj7") && read.contains("written for Bb"), "{read}");
    let numbers = |text: &str| -> Vec<String> {
        let counts = text.split_whitespace().filter(|word| word.chars().all(|sign| sign.is_ascii_digit()));
        counts.map(str::to_owned).collect()
    };
    assert!(numbers(&sounding).len() > 20, "{sounding}");
    assert_eq!(numbers(&sounding), numbers(&read));
}

#[test]
fn every_view_of_a_take_is_as_the_player_reads_it() {
    let player = Player::of("Bb");
    player.prints(&["demo", "-o", "line.mid"]);
    for view in
        [&["--plain"][..], &["--notes"], &["--bar", "6"], &["--why", "6.1"], &["--beside", "line.mid"]]
    {
        let text = player.prints(&[&["review", "line.mid"], view].concat());
        assert!(text.contains("C7") && !text.contains("Bb7"), "{view:?}: {text}");
    }
    player.prints(&["review", "line.mid", "--html", "line.html"]);
    let page = String::from_utf8(player.file("line.html")).expect("text");
    assert!(page.contains("written for Bb") && page.contains("Fmaj7") && !page.contains("Ebmaj7"));
}

#[test]
fn documents_and_files_are_as_they_sound() {
    for line in [
        &["demo", "--headless", "--json"][..],
        &["read", "bus-shelter", "--json"],
        &["neck", "Bb7", "--json"],
        &["keys", "Bb7", "--json"],
        &["read", "bus-shelter", "-o", "-"],
        &["progress", "--demo", "--json"],
    ] {
        let [sounding, read] = both(line);
        assert_eq!(sounding, read, "{line:?}");
    }
    let line = |written| {
        let player = Player::of(written);
        player.prints(&["demo", "-o", "line.mid"]);
        let judged = player.prints(&["review", "line.mid", "--json"]);
        (player.file("line.mid"), judged, player.prints(&["review", "line.mid", "--json-lines"]))
    };
    assert_eq!(line("C"), line("Eb"));
}

#[test]
fn weeks_name_the_keys_that_are_read() {
    let [sounding, read] = both(&["progress", "--demo", "--by", "key"]);
    assert!(sounding.contains("Eb major") && !read.contains("Eb major"), "{read}");
    assert!(read.contains("F major") && read.contains("written for Bb"), "{read}");
}

#[test]
fn the_setting_is_listed_with_what_it_takes() {
    let player = Player::of("Bb");
    assert!(
        player.prints(&["settings"]).lines().any(|line| line.starts_with("written") && line.contains("Bb"))
    );
}
