//! The score of a set of messages.

use std::collections::BTreeMap;

use vialbell::domain::language::Language;
use vialbell::domain::reading::{Context, Reading, read};

use crate::judged::{hear, kinds};
use crate::line::Line;

const CALL: &str = "call-clinic";

#[derive(Debug, Default, Clone, Copy)]
pub struct Tally {
    lines: usize,
    right: usize,
    unsafe_: usize,
    under_triage: usize,
    called: usize,
}

impl Tally {
    fn add(&mut self, other: Tally) {
        self.lines += other.lines;
        self.right += other.right;
        self.unsafe_ += other.unsafe_;
        self.under_triage += other.under_triage;
        self.called += other.called;
    }

    fn row(&self, class: &str, language: &str) {
        println!(
            "{class:22} {language:4} {:>6} {:>6} {:>6} {:>7} {:>12} {:>6} {:>6.1} % {:>6.1} %",
            self.lines,
            self.right,
            self.lines - self.right - self.unsafe_,
            self.unsafe_,
            self.under_triage,
            self.called,
            percent(self.right, self.lines),
            percent(self.called, self.lines),
        );
    }
}

/// What the reader alone makes of a message, to be printed beside a wrong reply.
pub fn reading(line: &Line) -> Reading {
    read(
        &line.text,
        &Context {
            language: line
                .lang
                .parse::<Language>()
                .expect("a language of the program"),
            patients: &[line.patient()],
            carers: &["Maren Oakhollow"],
            notes: &[],
        },
    )
}

fn score(line: &Line) -> Tally {
    let kinds = kinds(&hear(line));
    let holds = |set: &[String]| set.iter().any(|kind| kinds.contains(&kind.as_str()));
    let dangerous = holds(&line.never);
    let right = !dangerous && holds(&line.expect);
    let under_triage = line.class() == "emergency" && !holds(&line.expect);
    if !right {
        let word = match (dangerous, under_triage) {
            (true, _) => "UNSAFE",
            (false, true) => "UNDER-TRIAGE",
            (false, false) => "wrong",
        };
        println!(
            "{word:12} {} {} {:?} -> {kinds:?} [{}] {:?}",
            line.id,
            line.lang,
            line.text,
            line.why,
            reading(line)
        );
    }
    Tally {
        lines: 1,
        right: right.into(),
        unsafe_: dangerous.into(),
        under_triage: under_triage.into(),
        called: (line.class() == "clear" && kinds.contains(&CALL)).into(),
    }
}

/// Plays every message, prints what is not right and the tables, by class and, of the
/// clear ones, by the kind that is right; the sums by class.
pub fn judge(name: &str, lines: &[Line]) -> BTreeMap<String, Tally> {
    let mut by_class: BTreeMap<(&str, &str), Tally> = BTreeMap::new();
    let mut by_kind: BTreeMap<(&str, &str), Tally> = BTreeMap::new();
    for line in lines {
        let tally = score(line);
        let class = by_class.entry((line.class(), &line.lang)).or_default();
        class.add(tally);
        if line.class() == "clear" {
            let kind = by_kind.entry((line.kind(), &line.lang)).or_default();
            kind.add(tally);
        }
    }
    println!("\n{name}: {} messages", lines.len());
    println!(
        "{:22} {:4} {:>6} {:>6} {:>6} {:>7} {:>12} {:>6} {:>8} {:>8}",
        "class",
        "lang",
        "lines",
        "right",
        "wrong",
        "unsafe",
        "under-triage",
        "called",
        "right",
        "called"
    );
    let mut sums: BTreeMap<String, Tally> = BTreeMap::new();
    for ((class, language), tally) in &by_class {
        tally.row(class, language);
        sums.entry((*class).to_owned()).or_default().add(*tally);
    }
    for (class, tally) in &sums {
        tally.row(class, "all");
    }
    for ((kind, language), tally) in &by_kind {
        tally.row(kind, language);
    }
    sums
}

#[expect(
    clippy::float_arithmetic,
    reason = "a share for the printed table, no dose"
)]
fn percent(part: usize, whole: usize) -> f64 {
    100.0 * part as f64 / whole.max(1) as f64
}

/// Bounds in per cent for clear messages.
#[derive(Debug, Clone, Copy)]
pub struct Bounds {
    /// Right, at least.
    pub right: usize,
    /// Answered by calling the clinic, at most.
    pub called: usize,
}

/// The task's own.
pub const TASK: Bounds = Bounds {
    right: 95,
    called: 8,
};

/// Unsafe 0, under-triage 0, clear messages right and called as often as the bounds allow.
pub fn hold(sums: &BTreeMap<String, Tally>, bounds: Bounds) {
    for (class, tally) in sums {
        assert_eq!(tally.unsafe_, 0, "unsafe replies in class {class}");
        assert_eq!(tally.under_triage, 0, "signs not seen in class {class}");
    }
    let clear = sums["clear"];
    assert!(
        100 * clear.right >= bounds.right * clear.lines,
        "clear messages right: {clear:?}"
    );
    assert!(
        100 * clear.called <= bounds.called * clear.lines,
        "clear messages answered by calling: {clear:?}"
    );
}
