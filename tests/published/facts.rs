//! Rows of printed facts, what becomes of each, and the count of them.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::fmt;

/// Where a row was printed.
#[derive(Deserialize)]
pub struct Source {
    pub title: String,
    pub publisher: String,
    pub address: String,
}

pub type Sources = BTreeMap<String, Source>;

/// What became of a row that was held against the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Verdict {
    Passed,
    /// The program and the print differ, and the row says why.
    Recorded(String),
    /// The program does no such thing, and why.
    OutOfScope(String),
    /// Nobody has seen a source: shown, never blocking.
    FromMemory(String),
    Failed(String),
}

/// All rows of one table of a file.
pub struct Held {
    pub table: &'static str,
    pub rows: Vec<(String, Verdict)>,
}

/// How many rows came to what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Count {
    pub rows: usize,
    pub passed: usize,
    pub recorded: usize,
    pub out_of_scope: usize,
    pub from_memory: usize,
}

impl Held {
    /// Every row passes, or says why it does not.
    #[track_caller]
    pub fn none_failed(&self) {
        let failed: Vec<String> = self
            .rows
            .iter()
            .filter_map(|(id, verdict)| match verdict {
                Verdict::Failed(why) => Some(format!("{id}: {why}")),
                _ => None,
            })
            .collect();
        assert!(failed.is_empty(), "{}\n{}", self.table, failed.join("\n"));
    }

    pub fn count(&self) -> Count {
        let mut count = Count::default();
        for (_, verdict) in &self.rows {
            count.rows += 1;
            match verdict {
                Verdict::Passed => count.passed += 1,
                Verdict::Recorded(_) => count.recorded += 1,
                Verdict::OutOfScope(_) => count.out_of_scope += 1,
                Verdict::FromMemory(_) => count.from_memory += 1,
                Verdict::Failed(_) => {}
            }
        }
        count
    }
}

impl fmt::Display for Held {
    /// One line of figures, then one for each row that did not simply pass.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Count {
            rows,
            passed,
            recorded,
            out_of_scope,
            from_memory,
        } = self.count();
        writeln!(
            f,
            "{:<34}{rows:>6}{passed:>8}{recorded:>10}{out_of_scope:>14}{from_memory:>13}",
            self.table
        )?;
        for (id, verdict) in &self.rows {
            match verdict {
                Verdict::Passed => {}
                Verdict::Recorded(why) => writeln!(f, "    {id}: recorded: {why}")?,
                Verdict::OutOfScope(why) => writeln!(f, "    {id}: out of scope: {why}")?,
                Verdict::FromMemory(what) => writeln!(f, "    {id}: from memory: {what}")?,
                Verdict::Failed(why) => writeln!(f, "    {id}: FAILED: {why}")?,
            }
        }
        Ok(())
    }
}

/// All that a row expected and the program did not give.
#[derive(Default)]
pub struct Expected(Vec<String>);

impl Expected {
    pub fn same<T: PartialEq + fmt::Debug>(&mut self, what: &str, printed: T, ours: T) {
        if printed != ours {
            self.0
                .push(format!("{what} is printed {printed:?}, ours is {ours:?}"));
        }
    }

    pub fn that(&mut self, what: &str, holds: bool) {
        if !holds {
            self.0.push(what.to_owned());
        }
    }

    /// Failed with all that differed, else what is given.
    pub fn or(self, verdict: Verdict) -> Verdict {
        if self.0.is_empty() {
            verdict
        } else {
            Verdict::Failed(self.0.join("; "))
        }
    }

    /// For a row without a source: what there is to say, whether it agrees or not.
    pub fn or_shown(self) -> Verdict {
        Verdict::FromMemory(if self.0.is_empty() {
            "agrees".to_owned()
        } else {
            self.0.join("; ")
        })
    }
}

/// A printed decimal in millionths, read here and not by the program.
pub fn millionths(text: &str) -> i128 {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(digits) => (-1, digits),
        None => (1, text),
    };
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let whole: i128 = whole.parse().unwrap_or_else(|_| panic!("{text}"));
    let fraction: i128 = format!("{fraction:0<6}")
        .parse()
        .unwrap_or_else(|_| panic!("{text}"));
    sign * (whole * 1_000_000 + fraction)
}

/// A fraction to so many decimals, half away from zero, with all its zeros: as the files print it.
pub fn decimal(numerator: i128, denominator: i128, places: u32) -> String {
    let scale = 10_i128.pow(places);
    let doubled = 2 * numerator.abs() * scale + denominator;
    let rounded = doubled / (2 * denominator);
    let sign = if numerator < 0 && rounded > 0 {
        "-"
    } else {
        ""
    };
    let (whole, part) = (rounded / scale, rounded % scale);
    match usize::try_from(places).unwrap() {
        0 => format!("{sign}{whole}"),
        places => format!("{sign}{whole}.{part:0>places$}"),
    }
}

/// A source that is named and can be looked up.
pub fn is_named(sources: &Sources, source: &str) -> bool {
    sources
        .get(source)
        .is_some_and(|s| !s.title.is_empty() && !s.publisher.is_empty() && !s.address.is_empty())
}

#[test]
fn the_reader_of_printed_decimals_is_right() {
    assert_eq!(millionths("-0.2"), -200_000);
    assert_eq!(millionths("20000000"), 20_000_000_000_000);
    assert_eq!(decimal(1, 8, 2), "0.13");
    assert_eq!(decimal(-123, 10, 0), "-12");
    assert_eq!(decimal(5_000_000, 2_200_000, 2), "2.27");
}
