//! Spans of time as a clinic writes them: `3h`, `90min`, `1h 30min`.

use super::reader::quoted;
use chrono::TimeDelta;

/// A year: longer than anything a clinic waits for, and far from overflow.
const MOST_MINUTES: i64 = 366 * 24 * 60;

/// Reads hours, minutes or both, in that order, to a whole minute.
pub(super) fn parse(text: &str) -> Result<TimeDelta, String> {
    minutes(text.trim())
        .filter(|minutes| *minutes <= MOST_MINUTES)
        .map(TimeDelta::minutes)
        .ok_or_else(|| {
            format!(
                "{} is not a span; write it like \"3h\" or \"90min\"",
                quoted(text)
            )
        })
}

fn minutes(text: &str) -> Option<i64> {
    let (hours, rest) = match text.split_once('h') {
        Some((hours, rest)) => (whole(hours)?, rest.trim()),
        None => (0, text),
    };
    let minutes = match rest.strip_suffix("min") {
        Some(minutes) => whole(minutes)?,
        None if rest.is_empty() && rest.len() < text.len() => 0,
        None => return None,
    };
    hours.checked_mul(60)?.checked_add(minutes)
}

fn whole(digits: &str) -> Option<i64> {
    let digits = digits.trim();
    let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
    plain.then(|| digits.parse().ok())?
}

/// A span as a clinic would write it.
pub(super) fn show(span: TimeDelta) -> String {
    match (span.num_hours(), span.num_minutes() % 60) {
        (hours, 0) => format!("{hours}h"),
        (0, minutes) => format!("{minutes}min"),
        (hours, minutes) => format!("{hours}h {minutes}min"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_and_minutes_are_read() {
        for (text, minutes) in [
            ("3h", 180),
            ("90min", 90),
            ("1h30min", 90),
            (" 1 h 30 min ", 90),
            ("0h", 0),
            ("0min", 0),
            ("8784h", 527_040),
        ] {
            assert_eq!(parse(text), Ok(TimeDelta::minutes(minutes)), "{text}");
        }
    }

    #[test]
    fn anything_else_is_refused_with_an_example() {
        for text in [
            "",
            "3",
            "h",
            "min",
            "3 hours",
            "3H",
            "-1h",
            "1.5h",
            "1h 30",
            "30min 1h",
            "2d",
            "9999999h",
            "99999999999999999999h",
            "1h1h",
            "٣h",
        ] {
            let error = parse(text).expect_err(text);
            assert!(
                error.ends_with("write it like \"3h\" or \"90min\""),
                "{error}"
            );
        }
    }

    #[test]
    fn what_is_shown_can_be_read_again() {
        for minutes in [0, 1, 59, 60, 61, 90, 600, 4320] {
            let span = TimeDelta::minutes(minutes);
            assert_eq!(parse(&show(span)), Ok(span));
        }
    }
}
