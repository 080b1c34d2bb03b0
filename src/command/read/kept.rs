//! `read --keep`, `--keep-key` and `--forget`: what the player keeps for chords of a chart, entered and taken out.

use std::sync::Arc;

use super::super::exit_status::Failure;
use super::super::output::Output;
use super::super::startup::Startup;
use super::super::values::{Chords, ScaleFor};
use super::ReadArgs;
use crate::chart::{Chart, ChordPlace, Decisions};
use crate::judge::{KeptScale, KeptScales};
use crate::store::journal::Journal;
use crate::store::kept_scales;
use crate::store::takes::{FOLDER_VARIABLE, data_folder};

/// Whether anything is to be kept or taken out.
pub(super) fn is_asked(args: &ReadArgs) -> bool {
    !(args.keep.is_empty() && args.keep_key.is_empty() && args.forget.is_empty())
}

/// Keeps and takes out what is asked for, all of it or nothing; gives what is kept then.
pub(super) fn change(
    args: &ReadArgs,
    chart: &Chart,
    startup: &Startup,
    out: &mut Output,
) -> Result<Arc<KeptScales>, Failure> {
    let before = startup.kept(out);
    if !is_asked(args) {
        return Ok(before);
    }
    let gone = to_forget(args, chart, &before)?;
    let decided = to_keep(args, &before.on(chart.clone()).decisions());
    if let Some(&place) = decided.keys().find(|place| chart.symbol_at(**place).is_none()) {
        return Err(no_chord(place, chart));
    }
    let journal = Journal::in_folder(&data_folder(std::env::var_os(FOLDER_VARIABLE))?);
    let failed = |error: crate::store::journal::JournalError| Failure::store(error.to_string());
    kept_scales::take_out(&journal, gone.iter().copied()).map_err(failed)?;
    for kept in gone {
        out.remark(&format!("{}: {} is taken out", chart.title(), kept.words()));
    }
    for (place, decided) in decided {
        kept_scales::keep(&journal, chart, place, decided.clone()).map_err(failed)?;
        if let Some(kept) = KeptScale::of(chart, place, decided) {
            out.remark(&format!("{}: {} is kept", chart.title(), kept.words()));
        }
    }
    Ok(Arc::new(kept_scales::read(&journal).map_err(failed)?.0))
}

fn to_forget<'a>(
    args: &ReadArgs,
    chart: &Chart,
    kept: &'a KeptScales,
) -> Result<Vec<&'a KeptScale>, Failure> {
    let mut gone = Vec::new();
    for asked in &args.forget {
        let place = match asked {
            Chords::All => None,
            Chords::One(place) => Some(*place),
        };
        let there = kept.of_chart(chart.title(), place);
        if there.is_empty() {
            let what = place.map_or_else(|| "all".to_owned(), |place| place.to_string());
            return Err(Failure::bad_input(format!("--forget {what}: {}", what_is_kept(chart, kept))));
        }
        gone.extend(there);
    }
    Ok(gone)
}

fn what_is_kept(chart: &Chart, kept: &KeptScales) -> String {
    let all: Vec<String> = kept.of_chart(chart.title(), None).into_iter().map(KeptScale::words).collect();
    match all.as_slice() {
        [] => format!("nothing is kept for {}", chart.title()),
        _ => format!("kept for {} are {}", chart.title(), all.join("; ")),
    }
}

/// What is to be kept for each chord that is asked about, over what was decided about it `before`.
fn to_keep(args: &ReadArgs, before: &Decisions) -> Decisions {
    let forgotten = |place: &ChordPlace| {
        args.forget.iter().any(|asked| matches!(asked, Chords::All) || *asked == Chords::One(*place))
    };
    let mut kept = Decisions::new();
    let places = args.keep.iter().map(ScaleFor::place).chain(args.keep_key.iter().map(|asked| asked.place));
    for place in places {
        let was = before.get(&place).filter(|_| !forgotten(&place)).cloned();
        kept.insert(place, was.unwrap_or_default());
    }
    for asked in &args.keep {
        kept.entry(asked.place()).or_default().scale = Some(asked.scale.clone());
    }
    for asked in &args.keep_key {
        kept.entry(asked.place).or_default().key = Some(asked.key);
    }
    kept
}

fn no_chord(place: ChordPlace, chart: &Chart) -> Failure {
    let last = chart.bars().len();
    let written = place.bar.checked_sub(1).and_then(|index| chart.bars().get(index));
    let chords =
        written.map_or(0, |bar| bar.chords().iter().filter(|(_, chord)| chord.symbol.is_some()).count());
    Failure::bad_input(match (place.bar <= last, chords) {
        (false, _) => format!("--keep {place}: the page has bars 1 to {last}"),
        (true, 0) => {
            format!("--keep {place}: no chord is written in bar {}; name the bar it is held from", place.bar)
        }
        (true, 1) => format!("--keep {place}: bar {} has 1 chord", place.bar),
        (true, several) => format!("--keep {place}: bar {} has {several} chords", place.bar),
    })
}

/// Says what is kept for another chord than stands there now.
pub(super) fn tell_lost(kept: &KeptScales, chart: &Chart, out: &mut Output) {
    for lost in kept.lost(chart) {
        out.remark(&format!(
            "kept for {}: {}. It does not win here, as {} stands there now. To take it out: --forget {}",
            chart.title(),
            lost.words(),
            chart.symbol_at(lost.place).unwrap_or("no chord"),
            lost.place
        ));
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::values::tests::{parsed, refused};
    use super::*;
    use crate::chart::Decided;

    fn kept(flags: &[&str], before: &Decisions) -> Vec<String> {
        let args = parsed::<ReadArgs>(&[&["a.bars"], flags].concat());
        let kept = to_keep(&args, before);
        let words = |(place, decided): (ChordPlace, Decided)| {
            format!(
                "{place} {:?} {:?}",
                decided.scale.map(|s| s.to_string()),
                decided.key.map(|k| k.to_string())
            )
        };
        kept.into_iter().map(words).collect()
    }

    #[test]
    fn a_key_is_kept_beside_a_scale() {
        let scale = Decided { scale: "altered".parse().ok(), key: None };
        let before = Decisions::from([(ChordPlace { bar: 9, chord: 1 }, scale)]);
        let both = [r#"9.1 Some("altered") Some("G major")"#];
        assert_eq!(kept(&["--keep-key", "9.1=G"], &before), both);
        assert_eq!(kept(&["--keep", "9.1=altered", "--keep-key", "9.1=G"], &Decisions::new()), both);
        let key = [r#"9.1 None Some("G major")"#];
        assert_eq!(kept(&["--forget", "9.1", "--keep-key", "9.1=G"], &before), key);
    }

    #[test]
    fn what_does_not_read_says_what_to_write() {
        let check = |flags: &[&str], expect: &str| {
            let message = refused::<ReadArgs>(&[&["a.bars"], flags].concat());
            assert!(message.contains(expect), "{message}");
        };
        check(&["--keep-key", "9=G"], "write the bar, which of its chords, and the key");
        check(&["--keep-key", "9.1=H"], "\"H\" is no key");
        check(&["--forget", "9"], "as in 5.1, or all");
        check(&["--keep", "9.1=altered", "--set", "9.1=dorian"], "cannot be used with");
    }
}
