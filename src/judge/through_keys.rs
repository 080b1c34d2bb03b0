//! A chart taken through keys: its changes in the key of each chorus.

use std::collections::HashMap;
use std::sync::Arc;

use super::ChordSource;
use crate::chart::header::key_text;
use crate::chart::{ChangeError, Chart};
use crate::harmony::{Changes, Overrides};
use crate::theory::Key;

/// Says why a chart is not taken through keys.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotThrough {
    /// There is no key to move away from.
    #[error("the chart names no key and none is heard in it. Write key: in its header")]
    NoKey,
    /// It cannot be moved to one of them.
    #[error("{}: {why}", key_text(*key))]
    NotMoved {
        /// The key.
        key: Key,
        /// Why.
        why: ChangeError,
    },
}

/// The key a chart is in: the one its header names, else the one that is heard.
pub fn key_of(chart: &Chart) -> Option<Key> {
    let heard = || ChordSource::of_chart(chart, &Overrides::default()).reading.home;
    chart.header().key.or_else(heard)
}

impl ChordSource {
    /// A chart in the key of each chorus, one chorus a key; in its own alone where there are none. In its own key the
    /// chart is as it is written, in any other as [`Chart::transposed_from`] writes it.
    pub fn through_keys(chart: &Chart, keys: &[Key]) -> Result<Self, NotThrough> {
        let own = Self::of_chart(chart, &Overrides::default());
        if keys.is_empty() {
            return Ok(own);
        }
        let from = key_of(chart).ok_or(NotThrough::NoKey)?;
        let mut known: HashMap<Key, Arc<Changes>> = HashMap::new();
        let mut each = Vec::with_capacity(keys.len());
        for &key in keys {
            let changes = match known.get(&key) {
                Some(changes) => Arc::clone(changes),
                None => Arc::new(changes(chart, from, key)?),
            };
            known.insert(key, Arc::clone(&changes));
            each.push(changes);
        }
        Ok(own.in_keys(each))
    }

    /// The same chords with the changes of each chorus, the first of which stand for all.
    pub(super) fn in_keys(mut self, each: Vec<Arc<Changes>>) -> Self {
        if let Some(first) = each.first() {
            self.form = first.form.clone();
            self.reading = first.reading.clone();
            self.id.key = Some(key_text(first.key));
            self.id.keys = Some(each.iter().map(|changes| key_text(changes.key)).collect());
        }
        self.keys = each;
        self
    }
}

fn changes(chart: &Chart, from: Key, to: Key) -> Result<Changes, NotThrough> {
    let moved = if from == to {
        chart.clone()
    } else {
        chart.transposed_from(from, to).map_err(|why| NotThrough::NotMoved { key: to, why })?
    };
    let ChordSource { form, reading, .. } = ChordSource::of_chart(&moved, &Overrides::default());
    Ok(Changes { key: to, form, reading })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::theory::chord::BareSymbols;

    fn through(text: &str, keys: &[&str]) -> Result<ChordSource, NotThrough> {
        let (chart, _) = Chart::parse("a.bars", text, BareSymbols::default()).expect("a chart");
        let keys: Vec<Key> = keys.iter().map(|key| key.parse().expect("a key")).collect();
        ChordSource::through_keys(&chart, &keys)
    }

    fn chords(source: &ChordSource, chorus: u32) -> Vec<String> {
        let form = Changes::of_chorus(&source.keys, chorus).map_or(&source.form, |changes| &changes.form);
        form.chords.iter().map(|chord| chord.text.clone()).collect()
    }

    #[test]
    fn each_chorus_has_the_chords_of_its_key() {
        let source = through("key: Eb\n| Fm7 Bb7 | Ebmaj7 |", &["Eb", "Ab", "Gb", "F#"]).expect("keys");
        assert_eq!(chords(&source, 1), ["Fm7", "Bb7", "Ebmaj7"]);
        assert_eq!(chords(&source, 2), ["Bbm7", "Eb7", "Abmaj7"]);
        assert_eq!(chords(&source, 3), ["Abm7", "Db7", "Gbmaj7"]);
        assert_eq!(chords(&source, 4), ["G#m7", "C#7", "F#maj7"]);
        assert_eq!(chords(&source, 5), ["Fm7", "Bb7", "Ebmaj7"]);
        assert_eq!(source.id.keys.as_deref(), Some(&["Eb", "Ab", "Gb", "F#"].map(str::to_owned)[..]));
    }

    #[test]
    fn bars_by_themselves_are_taken_through_keys_too() {
        let source = through("key: C\n| Dm7 | G7 | Cmaj7 | A7 |", &["C", "F"]).expect("keys");
        let cut = source.only_bars(2, 3).expect("bars");
        assert_eq!(chords(&cut, 1), ["G7", "Cmaj7"]);
        assert_eq!(chords(&cut, 2), ["C7", "Fmaj7"]);
    }

    #[test]
    fn without_a_key_there_is_nothing_to_move_from() {
        let refused = through("| N.C. | N.C. |", &["C", "F"]).map(|_| ());
        assert_eq!(refused, Err(NotThrough::NoKey));
    }
}
