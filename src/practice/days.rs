//! Days as a player counts them: how long ago one is, and how long a suggestion waits.

use jiff::civil::Date;

/// Whether something that was suggested on one day still waits on another: to the end of the day after.
pub fn still_waits(suggested: Date, today: Date) -> bool {
    suggested <= today && suggested.tomorrow().is_ok_and(|tomorrow| today <= tomorrow)
}

/// How long ago a day is, in words: `today`, `yesterday`, `3 days ago`.
pub fn ago(day: Date, today: Date) -> String {
    match today.since(day).map(|span| span.get_days()) {
        Ok(1) => "yesterday".to_owned(),
        Ok(days) if days > 1 => format!("{days} days ago"),
        _ => "today".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_suggestion_waits_to_the_end_of_the_next_day() {
        let day = date(2026, 11, 30);
        assert!(still_waits(day, day) && still_waits(day, date(2026, 12, 1)));
        assert!(!still_waits(day, date(2026, 12, 2)) && !still_waits(date(2026, 12, 1), day));
    }

    #[test]
    fn days_are_counted_in_words() {
        let today = date(2026, 12, 1);
        let said =
            [today, date(2026, 11, 30), date(2026, 11, 28), date(2026, 12, 2)].map(|day| ago(day, today));
        assert_eq!(said, ["today", "yesterday", "3 days ago", "today"]);
    }
}
