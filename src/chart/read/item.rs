//! One item of a bar: a chord or N.C., perhaps with a scale and a place.

use std::ops::Range;

use winnow::Parser;
use winnow::ascii::digit1;
use winnow::combinator::opt;
use winnow::error::EmptyError;

use crate::theory::chord::NoChord;
use crate::theory::{ChordSymbol, PitchClassSet, ScaleRequest};

use super::super::model::{BarSpots, BeatPlace, ChordSpot, Half, WrittenChord};
use super::super::slip::{Caution, Slip};
use super::Reader;

/// One item: a chord with where it stands, and its place where one is written.
pub(super) struct Item {
    pub chord: WrittenChord,
    pub put: Put,
    pub span: Range<usize>,
}

/// Whether an item says where it stands.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Put {
    Nowhere,
    At(BeatPlace),
    /// It does, but not in a way that reads; a slip has been noted.
    Unread,
}

/// `int ["&"]`, from beginning to end.
fn place(text: &str) -> Option<BeatPlace> {
    let half = opt('&').map(|after| after.map_or(Half::On, |_| Half::After));
    let mut place = (digit1::<_, EmptyError>.try_map(str::parse), half);
    let (beat, half) = place.parse(text).ok()?;
    Some(BeatPlace { beat, half })
}

impl Reader<'_> {
    /// Reads `chord ["=" scale] ["@" place]`.
    pub(super) fn read_item(&mut self, span: Range<usize>, spots: &mut BarSpots) -> Item {
        let text = self.text;
        let token = &text[span.clone()];
        let symbol_end = token.find(['=', '@']).unwrap_or(token.len());
        let scale_end = token.find('@').unwrap_or(token.len()).max(symbol_end);
        let spot = ChordSpot {
            symbol: span.start..span.start + symbol_end,
            scale: span.start + symbol_end..span.start + scale_end,
        };
        let symbol = self.read_symbol(spot.symbol.clone(), &token[symbol_end..]);
        let scale = self.read_scale(spot.scale.clone(), &token[..symbol_end]);
        if let Some((symbol, scale)) = symbol.zip(scale.as_ref()) {
            self.check_scale(span.clone(), symbol, scale);
        }
        let put = match token[scale_end..].strip_prefix('@') {
            None => Put::Nowhere,
            Some(written) => self.read_place(span.start + scale_end..span.end, written, &token[..symbol_end]),
        };
        spots.chords.push(spot);
        Item { chord: WrittenChord { text: token[..symbol_end].to_owned(), symbol, scale }, put, span }
    }

    fn read_place(&mut self, span: Range<usize>, written: &str, chord: &str) -> Put {
        place(written).map_or_else(
            || {
                let slip = Slip::Place { text: written.to_owned(), chord: chord.to_owned() };
                self.slip(span, slip);
                Put::Unread
            },
            Put::At,
        )
    }

    fn read_symbol(&mut self, span: Range<usize>, behind: &str) -> Option<ChordSymbol> {
        let written = &self.text[span.clone()];
        if is_no_chord(written) {
            if behind.starts_with('=') {
                self.slip(span.start..span.end + behind.len(), Slip::ScaleWithoutChord);
            }
            return None;
        }
        match ChordSymbol::parse_with(written, self.bare) {
            Ok(symbol) => return Some(symbol),
            Err(NoChord::Empty) => {
                self.slip(span.start..span.end + behind.len(), Slip::NoSymbol(behind.to_owned()));
            }
            Err(_) if written.chars().all(|c| c == '/') => {
                self.slip(span, Slip::SlashesTogether(written.to_owned()));
            }
            Err(_) if is_ending(written) => {
                self.slip(span, Slip::EndingWithoutPoint(written.to_owned()));
            }
            Err(no_chord) => self.slip(span, no_chord),
        }
        None
    }

    fn read_scale(&mut self, span: Range<usize>, chord: &str) -> Option<ScaleRequest> {
        let written = self.text[span.clone()].strip_prefix('=')?;
        if chord.is_empty() || is_no_chord(chord) {
            return None;
        }
        if written.is_empty() {
            self.slip(span, Slip::NoScaleName);
            return None;
        }
        let read = written.parse();
        read.map_err(|no_scale| self.slip(span.start + 1..span.end, Slip::Scale(no_scale))).ok()
    }

    /// Warns of a scale that leaves out tones of its chord, the fifth of a dominant excepted: an altered scale has none.
    fn check_scale(&mut self, span: Range<usize>, symbol: ChordSymbol, scale: &ScaleRequest) {
        let heard = symbol.heard();
        let root = heard.root.pitch_class();
        let relative = heard.quality.arpeggio.set();
        let fifth = if relative.has_semitone(4) && relative.has_semitone(10) {
            PitchClassSet::single(root.up(7))
        } else {
            PitchClassSet::EMPTY
        };
        let needed = symbol.tone_set() | symbol.named_colours();
        let missing = needed - scale.on(heard.root).pitch_classes() - fifth;
        let tones: Vec<String> = missing
            .iter_from(root)
            .map(|tone| format!("{} ({})", symbol.degree_of(tone), symbol.spell(tone)))
            .collect();
        if !tones.is_empty() {
            let caution = Caution::ScaleWithoutTones {
                scale: scale.to_string(),
                many: tones.len() > 1,
                tones: tones.join(" and "),
            };
            self.caution(span, caution);
        }
    }
}

/// Whether a text is the number of an ending as some lead sheets print it: `1`, `[1`, `1,2.`.
fn is_ending(text: &str) -> bool {
    let signs = |c: char| c.is_ascii_digit() || "[](),.-".contains(c);
    text.chars().all(signs) && text.contains(|c: char| c.is_ascii_digit())
}

/// Whether a text says that there is no chord, in large letters or small.
pub(in crate::chart) fn is_no_chord(text: &str) -> bool {
    ["N.C.", "N.C", "NC", "tacet"].iter().any(|word| word.eq_ignore_ascii_case(text))
}
