//! Two hundred hand-ins of ill will: what somebody may put into a file to get out of its cell, to steer a terminal, to take
//! memory or time. Each with the name of its file and its bytes.

use barwise::judge::assigned::Assigned;
use barwise::practice::HandIn;

use super::hand_ins::{Player, hand_in, sealed, text};

/// What may stand where a person writes words.
const WORDS: [&str; 38] = [
    "../../../../etc/passwd",
    "..\\..\\windows\\win.ini",
    "/dev/stdin",
    "file:///etc/passwd",
    "C:\\CON",
    "~/.ssh/id_rsa",
    "$(touch owned)",
    "`touch owned`",
    "; rm -rf . #",
    "| tee owned",
    "<script>alert(1)</script>",
    "</td></tr></table><img src=x onerror=alert(1)>",
    "\"><svg onload=alert(1)>",
    "&lt;b&gt;&amp;",
    "javascript:alert(1)",
    "'); DROP TABLE takes;--",
    "' OR '1'='1",
    "\"; DELETE FROM journal; --",
    "=HYPERLINK(\"http://x\",\"y\")",
    "=1+1",
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(A1:A9)",
    "\u{ff1d}1+1",
    "\u{1b}[2J\u{1b}[31mred",
    "\u{1b}]0;title\u{7}",
    "\u{9b}31mred",
    "\u{8}\u{8}\u{8}over",
    "a\tb\tc",
    "a\nb\r\nc",
    "a\u{0}b",
    "\u{202e}drawkcab",
    "\u{2066}x\u{2069}\u{200b}\u{feff}",
    "\u{2028}line\u{2029}paragraph",
    "a\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}\u{301}",
    "{{7*7}}${7*7}%s%n",
    "\u{e0041}\u{e0042}",
    "student-01, met, \"",
];

/// Numbers that no take has, each as a line of TOML in a take.
const NUMBERS: [&str; 22] = [
    "choruses = 4294967295",
    "choruses = 0",
    "choruses = -1",
    "choruses = 999",
    "quarter_us = 0",
    "quarter_us = -5",
    "quarter_us = 9223372036854775807",
    "count_in_ticks = 9223372036854775807",
    "count_in_ticks = -1",
    "end_ticks = 9223372036854775807",
    "end_ticks = -9223372036854775808",
    "stopped = -1",
    "stopped = 9223372036854775807",
    "head = 4294967295",
    "trade = 255",
    "trade = 0",
    "spread_ms = nan",
    "spread_ms = inf",
    "key = 18446744073709551615",
    "key = 7",
    "gaps = [[0, 9223372036854775807]]",
    "gaps = [[5, 1]]",
];

/// Notes that are none, or too many.
fn notes() -> Vec<String> {
    let many = "0/903c54 1/803c00 ".repeat(120_000);
    let chord = "0/903c54 ".repeat(60_000);
    let bends: Vec<String> = (0..90_000).map(|step| format!("1/e0{:02x}40", step % 128)).collect();
    let far = "20160000000/903c54 20160000/803c00".to_owned();
    let junk =
        ["x", "0/", "/903c54", "0/f0", "0/ff2f00", "99999999999999999999/903c54", "0/903c5400", "-1/903c54"];
    [many, chord, bends.join(" "), far].into_iter().chain(junk.map(str::to_owned)).collect()
}

/// A take with this line and these notes.
fn take(line: &str, notes: &str) -> String {
    let usual = ["quarter_us = 483871", "choruses = 2", "end_ticks = 2580480"];
    let key = line.split(' ').next().unwrap_or_default();
    let others: Vec<&str> =
        usual.into_iter().filter(|usual| !usual.starts_with(&format!("{key} "))).collect();
    format!("[[take]]\n{line}\n{}\nnotes = '''{notes}'''\n", others.join("\n"))
}

/// Every hostile hand-in.
pub fn all(assigned: &Assigned) -> Vec<(String, Vec<u8>)> {
    let head = format!("[assignment]\nrule_sha256 = \"{}\"\n", assigned.rule_sha256);
    let good = hand_in(assigned, "student-01", Player::IN_THE_BAND, 2, 5);
    let mut bodies: Vec<String> = Vec::new();
    let mut texts: Vec<String> = Vec::new();
    for words in WORDS {
        texts.push(text(&HandIn { name: Some(words.to_owned()), ..good.clone() }));
        texts.push(text(&HandIn { note: Some(words.repeat(50)), ..good.clone() }));
        let mut titled = good.clone();
        titled.assignment.title = Some(words.to_owned());
        titled.assignment.rule_sha256 = String::from(words);
        titled.verdict.verdict = String::from(words);
        texts.push(text(&titled));
    }
    texts.push(text(&HandIn { name: Some("n".repeat(2_000_000)), ..good.clone() }));
    texts.push(text(&HandIn { take: vec![good.take[0].clone(); 61], ..good.clone() }));
    texts.push(text(&HandIn { take: vec![good.take[0].clone(); 60], ..good.clone() }));
    let played = &good.take[0].notes;
    bodies.extend(NUMBERS.map(|line| take(line, played)));
    bodies.extend(notes().iter().map(|notes| take("choruses = 2", notes)));
    bodies.extend([
        format!("x = {}{}\n", "[".repeat(100_000), "]".repeat(100_000)),
        format!("x = {}1{}\n", "{a=".repeat(50_000), "}".repeat(50_000)),
        format!("[{}]\n", vec!["a"; 100_000].join(".")),
        format!("{}\n", "[[a]]\n".repeat(300_000)),
        (0..200_000).map(|key| format!("k{key} = 1")).collect::<Vec<_>>().join("\n"),
        format!("name = \"\"\"{}\"\"\"\n", "\\u0041".repeat(300_000)),
        "day = \"2026-99-99\"\n".to_owned() + &take("choruses = 2", played),
        "name = 5\n".to_owned(),
        "take = \"all of them\"\n".to_owned(),
        "[[contest]]\ntake = 1\nnote = { index = 18446744073709551615 }\nheard_as = \"chord\"\nreason = \"\"\n".to_owned()
            + &take("choruses = 2", played),
        "[[contest]]\ntake = 1\nnote = { place = { chorus = 0, bar = 0, note = 0 } }\nheard_as = { over = \"\\u001b[2J\" }\nreason = \"=1\"\n".to_owned()
            + &take("take = 1", played),
        "[[contest]]\ntake = 1\nnote = { index = 0 }\nheard_as = \"owned\"\nreason = \"\"\n".to_owned(),
        take("settings = { tuning = \"../../x\", offset-ms = 1e308, counting = \"lenient\" }", played),
        take("settings = { bend-range = 96, string-order = \"\\u001b\", ghost-filter = false }", played),
        take("feel = \"\\u001b[31m\"", played),
    ]);
    texts.extend(bodies.iter().map(|body| sealed(&format!("{}{body}", with_head(body, &head)))));
    let mut files: Vec<(String, Vec<u8>)> = texts
        .into_iter()
        .enumerate()
        .map(|(index, text)| (format!("hostile-{index:03}.toml"), text.into_bytes()))
        .collect();
    files.extend(bytes(&text(&good)));
    files.extend(file_names().into_iter().map(|name| (name.to_owned(), text(&good).into_bytes())));
    while files.len() < 200 {
        let index = files.len();
        files.push((format!("hostile-{index:03}.toml"), cut(&text(&good), index)));
    }
    files
}

/// The assignment's name stands before the first table, where a body of plain keys leaves room for it.
fn with_head(body: &str, head: &str) -> String {
    if body.starts_with('[') { head.to_owned() } else { String::new() }
}

/// Bytes that are no text, or no text of ours.
fn bytes(good: &str) -> Vec<(String, Vec<u8>)> {
    let latin = [good.as_bytes(), &[0xe9, 0xff]].concat();
    let wide: Vec<u8> = good.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let kinds = [
        latin,
        wide,
        vec![0; 3 << 20],
        b"MThd\0\0\0\x06".to_vec(),
        b"PK\x03\x04 a zip".to_vec(),
        b"<!DOCTYPE x [<!ENTITY a \"aaaa\">]><x>&a;</x>".to_vec(),
        good.replace("sha256 = \"", "sha256 = \"\n").into_bytes(),
        format!("{good}\nname = \"twice\"\n").into_bytes(),
    ];
    let named = kinds.into_iter().enumerate();
    named.map(|(index, bytes)| (format!("bytes-{index}.toml"), bytes)).collect()
}

/// Names of files that would steer a terminal, a shell or a spreadsheet.
fn file_names() -> Vec<&'static str> {
    let anywhere =
        ["-rf.toml", "=1+1.toml", "@SUM(A1).toml", "$(touch owned).toml", "'; DROP TABLE x;--.toml"];
    let on_unix = ["\u{1b}[2J.toml", "a\nb\tc.toml", "\u{202e}lmot.toml", "<script>.toml"];
    let on_unix = on_unix.into_iter().filter(|_| cfg!(unix));
    anywhere.into_iter().chain(on_unix).collect()
}

/// A good hand-in cut short.
fn cut(good: &str, index: usize) -> Vec<u8> {
    good.as_bytes()[..(index * 7_919) % good.len()].to_vec()
}
