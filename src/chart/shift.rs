//! A move to another key: how each root, bass and note is spelled there.
//!
//! A chord of the new key takes the key's own name for its root. Any other takes the name a player expects where it
//! stands (common practice): a major chord that of the usual signature, and what leads to the next chord by a fourth, as
//! a ii and its V do, is spelled from that chord, so that `Cm7 F7 Bbmaj7` keeps one kind of sign in any key.

use crate::theory::spelling::{Accidental, NoteName, read_note_name};
use crate::theory::{ChordSymbol, Key, KeyMode, Mode, ScaleRequest};

use super::decision::Decided;
use super::model::WrittenChord;

/// A move from one key to another.
#[derive(Clone, Copy)]
pub(super) struct Shift {
    from: NoteName,
    to: Key,
}

/// Sharps or flats of the signatures in use.
const MOST_SIGNS: i8 = 7;

/// A root as it was written, with what the new key makes of its chord.
#[derive(Clone, Copy)]
struct WrittenRoot {
    root: NoteName,
    /// Whether it is spelled from the chord after it.
    follows: bool,
    /// Its name where it is not.
    own: NoteName,
}

impl Shift {
    /// The move from the tonic of `from` to that of `to`, in the mode of `from`, with a signature that is in use.
    pub(super) fn new(from: Key, to: Key) -> Self {
        let as_asked = Key { tonic: to.tonic, mode: from.mode };
        let to = if as_asked.fifths().abs() <= MOST_SIGNS {
            as_asked
        } else {
            Key::new(to.tonic.pitch_class(), from.mode)
        };
        Self { from: from.tonic, to }
    }

    /// The new key.
    pub(super) const fn to(self) -> Key {
        self.to
    }

    /// The new symbols of chords in the order of the page, all between root and bass as written. The last leads to the
    /// first, as charts go round.
    pub(super) fn symbols(self, chords: &[&WrittenChord]) -> Vec<String> {
        let read =
            |chord: &&WrittenChord| chord.symbol.zip(read_note_name(&chord.text).map(|(root, _)| root));
        let sounding: Vec<(ChordSymbol, NoteName)> = chords.iter().filter_map(read).collect();
        let mut roots = self.roots(&sounding).into_iter();
        let moved = |chord: &&WrittenChord| match read(chord).and_then(|_| roots.next()) {
            Some(root) => self.symbol_text(chord, root),
            None => chord.text.clone(),
        };
        chords.iter().map(moved).collect()
    }

    /// The new name of each root.
    fn roots(self, chords: &[(ChordSymbol, NoteName)]) -> Vec<NoteName> {
        let after = chords.iter().cycle().skip(1);
        let mut roots: Vec<WrittenRoot> =
            chords.iter().zip(after).map(|(chord, next)| self.written_root(*chord, next.1)).collect();
        // From the end of one chain round to the end of the last.
        let turned = roots.iter().rposition(|root| !root.follows).map_or(0, |end| end + 1);
        roots.rotate_left(turned);
        let chains = roots.split_inclusive(|root| !root.follows);
        let mut names: Vec<NoteName> = chains.flat_map(|chain| self.chain(chain)).collect();
        names.rotate_right(turned);
        names
    }

    fn written_root(self, (symbol, root): (ChordSymbol, NoteName), next: NoteName) -> WrittenRoot {
        let moved = moved(root, self.from, self.to.tonic);
        let is_of_key = self.is_of_key(symbol, moved);
        let leads = root == next || root.up(3, 5) == next;
        let tones = symbol.quality.arpeggio.set();
        let major = tones.has_semitone(4) && !tones.has_semitone(8) && !tones.has_semitone(10);
        let rests = major && !symbol.quality.is_plain_triad();
        WrittenRoot {
            root,
            follows: leads && !is_of_key && !rests,
            own: match (is_of_key, major) {
                (true, _) => moved,
                (false, true) => self.usual(moved),
                (false, false) => self.in_use(moved),
            },
        }
    }

    /// The names of chords that each lead to the next; the last stands for itself. Where the others would take a name
    /// such as E# or a double sign, all of them change to their other names.
    fn chain(self, chain: &[WrittenRoot]) -> Vec<NoteName> {
        let Some((end, leading)) = chain.split_last() else { return Vec::new() };
        let spelled_from = |root: NoteName, name: NoteName| {
            leading.iter().map(move |leading| moved(leading.root, root, name))
        };
        let odd = leading.iter().zip(spelled_from(end.root, end.own)).find(|(_, name)| is_odd(*name));
        let (root, name) = odd.map_or((end.root, end.own), |(odd, name)| (odd.root, self.plain(name)));
        let plain = |name: NoteName| if is_odd(name) { self.plain(name) } else { name };
        spelled_from(root, name).map(plain).chain([end.own]).collect()
    }

    /// Whether a chord on `root` belongs to the new key: its root, and its third if it has one. V may be major in minor.
    fn is_of_key(self, symbol: ChordSymbol, root: NoteName) -> bool {
        let scale = Mode::Ionian.on(self.relative_major());
        let tones = symbol.quality.arpeggio.set();
        let third = [4, 3].into_iter().find(|&third| tones.has_semitone(third));
        let has = |third: u8| scale.pitch_classes().has(root.pitch_class().up(i32::from(third)));
        let five = self.to.mode == KeyMode::Minor && root == self.to.tonic.up(4, 7);
        self.in_key(root) && (third.is_none_or(has) || five && third == Some(4))
    }

    /// The tonic of the usual major key on this note; between the two of six signs the new signature chooses.
    fn usual(self, note: NoteName) -> NoteName {
        let usual = Key::new(note.pitch_class(), KeyMode::Major);
        if usual.fifths().abs() == 6 { self.plain(note) } else { usual.tonic }
    }

    /// The note, or its plain name where it takes two signs, or one for a white key outside the new key.
    fn in_use(self, note: NoteName) -> NoteName {
        if is_odd(note) && !self.in_key(note) { self.plain(note) } else { note }
    }

    /// The plain name, with the sign of the new key's signature.
    fn plain(self, note: NoteName) -> NoteName {
        let sign = if self.to.fifths() > 0 { Accidental::Sharp } else { Accidental::Flat };
        NoteName::plain(note.pitch_class(), sign)
    }

    fn in_key(self, note: NoteName) -> bool {
        Mode::Ionian.on(self.relative_major()).names().contains(&note)
    }

    fn relative_major(self) -> NoteName {
        let up = self.to.relative_major().above(self.to.tonic.pitch_class());
        let steps = if up == 0 { 0 } else { 2 };
        self.to.tonic.up(steps, i32::from(up))
    }

    /// The symbol on `root`; its bass stays as far from the root as it was written.
    fn symbol_text(self, chord: &WrittenChord, root: NoteName) -> String {
        let read = chord.symbol.zip(read_note_name(&chord.text));
        let Some((symbol, (written, rest))) = read else {
            return chord.text.clone();
        };
        match (symbol.bass, rest.rsplit_once('/')) {
            (Some(bass), Some((quality, _))) => {
                let bass = self.bass(bass, written, root);
                format!("{root}{quality}/{bass}")
            }
            _ => format!("{root}{rest}"),
        }
    }

    /// The bass as far from the new root as it was from the root `was`.
    pub(super) fn bass(self, bass: NoteName, was: NoteName, root: NoteName) -> NoteName {
        self.in_use(moved(bass, was, root))
    }

    /// The scale where it names a note of its own, with that note moved.
    pub(super) fn scale_text(self, chord: &WrittenChord) -> Option<String> {
        let of_key = matches!(chord.scale, Some(ScaleRequest::HarmonicMinorOf(_)));
        chord.scale.clone().filter(|_| of_key).map(|scale| format!("={}", self.scale(scale)))
    }

    /// The scale with the note it names, if it names one, moved.
    pub(super) fn scale(self, scale: ScaleRequest) -> ScaleRequest {
        match scale {
            ScaleRequest::HarmonicMinorOf(tonic) => ScaleRequest::HarmonicMinorOf(self.note(tonic)),
            other => other,
        }
    }

    /// What is decided about a chord, in the new key.
    pub(super) fn decided(self, decided: Decided) -> Decided {
        Decided {
            scale: decided.scale.map(|scale| self.scale(scale)),
            key: decided.key.map(|key| Key { tonic: self.note(key.tonic), ..key }),
        }
    }

    pub(super) fn note(self, note: NoteName) -> NoteName {
        self.in_use(moved(note, self.from, self.to.tonic))
    }
}

/// The note as far above `to`, by letters too, as `note` is above `from`.
fn moved(note: NoteName, from: NoteName, to: NoteName) -> NoteName {
    let steps = note.letter as i32 - from.letter as i32;
    to.up(steps, i32::from(note.pitch_class().above(from.pitch_class())))
}

/// Whether a name takes two signs, or one for a white key: E#, B#, Fb and Cb.
fn is_odd(name: NoteName) -> bool {
    name.alter.abs() > 1
        || (name.alter != 0 && NoteName::plain(name.pitch_class(), Accidental::Flat).alter == 0)
}
