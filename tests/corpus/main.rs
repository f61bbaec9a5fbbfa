//! Labelled messages of owners against the reader.
//!
//! `examples.jsonl` came with the task; `own.jsonl` and `own-held.jsonl` are of
//! our own, the latter not looked at while the reader was tuned. A line names
//! the kinds of reply that are right (`expect`) and those that would be unsafe
//! (`never`). Judged state: the course began this morning, one vial mixed at
//! 07:00 is open, plan 1.5 mL at 07:30 and 19:30, nothing recorded, it is 19:40.

use std::collections::BTreeMap;
use std::time::Duration;

use proptest::prelude::*;
use serde::Deserialize;
use vialbell::domain::language::Language;
use vialbell::domain::question::Question;
use vialbell::domain::reading::{
    self, Context, Day, Reading, Record, SaidAmount, SaidTime, What, read,
};

#[derive(Debug, Deserialize)]
struct Line {
    id: String,
    lang: String,
    text: String,
    expect: Vec<String>,
    never: Vec<String>,
    why: String,
    /// The name that the message uses for the patient; the judged patient bears it.
    #[serde(default)]
    patient: Option<String>,
}

/// Names that the given examples use without saying so.
const NAMES: [&str; 8] = [
    "Biggles", "Pretzel", "Kiwi", "Hazelnut", "Gus", "Juniper", "Bruno", "Trufa",
];

fn lines(jsonl: &str) -> Vec<Line> {
    jsonl
        .lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|why| panic!("{why}: {line}")))
        .collect()
}

impl Line {
    fn reading(&self) -> Reading {
        let named = NAMES.iter().find(|name| self.text.contains(**name));
        let patient = self
            .patient
            .as_deref()
            .or(named.copied())
            .unwrap_or("Juniper");
        read(
            &self.text,
            &Context {
                language: self.lang.parse().expect("a language of the program"),
                patients: &[patient],
                carers: &["Ana", "Tom"],
                notes: &[],
            },
        )
    }
}

/// The kind of reply that a reading leads to in the judged state.
fn kind(reading: &Reading) -> &'static str {
    match reading {
        Reading::Emergency => "emergency",
        Reading::Clinic(_) | Reading::Unclear | Reading::Yes | Reading::No => "call-clinic",
        Reading::Travel(_) => "confirm",
        Reading::Ask(question) => answer(question),
        Reading::Record(record) => recorded(record),
    }
}

fn recorded(record: &Record) -> &'static str {
    let plan_allows = match &record.amount {
        None => true,
        Some(SaidAmount::Part) => false,
        Some(SaidAmount::Exact(ml)) => match record.what {
            What::Given => ml == "1.5",
            What::Mixed => ml == "3",
            _ => true,
        },
    };
    // Both doses of the day are at half past seven: a bare "8" may be either.
    let clear_time = !matches!(
        record.time,
        Some(SaidTime::Clock { hour: 1..=12, half: None, minute }) if minute < 15
    );
    if !record.sure || !plan_allows || !clear_time || record.day == Some(Day::Yesterday) {
        return "confirm";
    }
    match record.what {
        What::Given => "recorded.given",
        What::NotGiven => "recorded.not-given",
        What::NotYet | What::TakeBack => "confirm",
        What::Mixed => "recorded.mixed",
        What::Discarded => "recorded.discarded",
        What::Level => "recorded.level",
        What::OutOfFridge | What::BackInFridge => "recorded.out-of-fridge",
        What::SuppliesCounted => "answer.supplies",
    }
}

fn answer(question: &Question) -> &'static str {
    match question {
        Question::Remaining => "answer.remaining",
        Question::DosesLeft => "answer.doses-left",
        Question::DiscardBy => "answer.discard-by",
        Question::MixedAt => "answer.mixed-at",
        Question::NextDose => "answer.next-dose",
        Question::LastDose { .. } => "answer.last-dose",
        Question::Volume => "answer.volume",
        Question::Diluent => "answer.diluent",
        Question::Syringe => "answer.syringe",
        Question::CourseLeft => "answer.course-left",
        Question::Supplies => "answer.supplies",
        Question::Schedule => "answer.schedule",
        Question::ClinicContact => "answer.clinic-contact",
        Question::Help => "answer.help",
        Question::Steps(_) => "answer.steps",
        Question::Note(_) => "answer.clinic-note",
    }
}

#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    lines: usize,
    right: usize,
    unsafe_: usize,
    under_triage: usize,
    called: usize,
}

/// Counts, prints the table and every line that is not right; returns the sums by class.
fn judge(name: &str, lines: &[Line]) -> BTreeMap<String, Tally> {
    let mut by_class_and_language: BTreeMap<(String, String), Tally> = BTreeMap::new();
    for line in lines {
        let reading = line.reading();
        let kind = kind(&reading);
        let class = line.why.split(':').next().unwrap_or("").to_owned();
        let tally = by_class_and_language
            .entry((class.clone(), line.lang.clone()))
            .or_default();
        let dangerous = line.never.iter().any(|never| never == kind);
        let right = !dangerous && line.expect.iter().any(|expected| expected == kind);
        let under = class == "emergency" && !line.expect.iter().any(|e| e == kind);
        tally.lines += 1;
        tally.right += usize::from(right);
        tally.unsafe_ += usize::from(dangerous);
        tally.under_triage += usize::from(under);
        tally.called += usize::from(kind == "call-clinic" && class == "clear");
        if !right {
            let word = if dangerous {
                "UNSAFE"
            } else if under {
                "UNDER-TRIAGE"
            } else {
                "wrong"
            };
            println!(
                "{word:12} {} {} {:?} -> {reading:?} [{}]",
                line.id, line.lang, line.text, line.why
            );
        }
    }
    println!("\n{name}: {} messages", lines.len());
    println!(
        "{:12} {:4} {:>6} {:>6} {:>6} {:>7} {:>12} {:>6}",
        "class", "lang", "lines", "right", "wrong", "unsafe", "under-triage", "called"
    );
    let mut sums: BTreeMap<String, Tally> = BTreeMap::new();
    for ((class, lang), t) in &by_class_and_language {
        println!(
            "{class:12} {lang:4} {:>6} {:>6} {:>6} {:>7} {:>12} {:>6}",
            t.lines,
            t.right,
            t.lines - t.right - t.unsafe_,
            t.unsafe_,
            t.under_triage,
            t.called
        );
        let sum = sums.entry(class.clone()).or_default();
        sum.lines += t.lines;
        sum.right += t.right;
        sum.unsafe_ += t.unsafe_;
        sum.under_triage += t.under_triage;
        sum.called += t.called;
    }
    for (class, t) in &sums {
        println!(
            "{class:12} all  right {:.1} %, called {:.1} %",
            percent(t.right, t.lines),
            percent(t.called, t.lines)
        );
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

/// Unsafe 0, under-triage 0, clear lines right and called as often as these allow.
fn hold(sums: &BTreeMap<String, Tally>, clear_right_percent: usize, clear_called_percent: usize) {
    for (class, tally) in sums {
        assert_eq!(tally.unsafe_, 0, "unsafe replies in class {class}");
        assert_eq!(
            tally.under_triage, 0,
            "emergencies not seen in class {class}"
        );
    }
    let clear = sums["clear"];
    assert!(
        100 * clear.right >= clear_right_percent * clear.lines,
        "clear lines right: {clear:?}"
    );
    assert!(
        100 * clear.called <= clear_called_percent * clear.lines,
        "clear lines that called: {clear:?}"
    );
}

/// The bounds are the task's: right at least 95 %, of which at most 8 % by calling.
#[test]
fn the_given_examples_are_read_right() {
    let sums = judge("examples", &lines(include_str!("examples.jsonl")));
    hold(&sums, 95, 8);
}

#[test]
fn our_own_messages_are_read_right() {
    let sums = judge("own", &lines(include_str!("own.jsonl")));
    hold(&sums, 95, 8);
}

#[test]
fn our_held_back_messages_are_read_right() {
    let sums = judge("own, held back", &lines(include_str!("own-held.jsonl")));
    hold(&sums, 95, 8);
}

/// Written in another sitting, when the reader was tuned to the others.
#[test]
fn our_second_sitting_is_read_right() {
    let sums = judge("second sitting", &lines(include_str!("own-second.jsonl")));
    hold(&sums, 95, 8);
}

/// Written in a third sitting, after the second had been tuned to.
#[test]
fn our_third_sitting_is_read_right() {
    let sums = judge("third sitting", &lines(include_str!("own-third.jsonl")));
    hold(&sums, 95, 8);
}

/// Written last; it was tuned to only after its first score.
#[test]
fn our_fourth_sitting_is_read_right() {
    let sums = judge("fourth sitting", &lines(include_str!("own-fourth.jsonl")));
    hold(&sums, 95, 8);
}

/// Goal: under 1 ms a message (the task); an unoptimised build gets ten times that.
#[test]
fn a_message_is_read_quickly() {
    let lines = lines(include_str!("own.jsonl"));
    lines.iter().for_each(|line| drop(line.reading()));
    let mut spans: Vec<Duration> = Vec::with_capacity(lines.len());
    for line in &lines {
        let started = stopwatch();
        let reading = line.reading();
        spans.push(started.elapsed());
        drop(reading);
    }
    spans.sort();
    let (median, slowest) = (spans[spans.len() / 2], spans[spans.len() - 1]);
    println!("a message: median {median:?}, slowest {slowest:?}");
    let limit = Duration::from_millis(if cfg!(debug_assertions) { 10 } else { 1 });
    assert!(median < limit, "median {median:?}");
}

#[expect(
    clippy::disallowed_methods,
    reason = "a stopwatch in a test, not the time of day"
)]
fn stopwatch() -> std::time::Instant {
    std::time::Instant::now()
}

const CONTEXT: Context<'static> = Context {
    language: Language::English,
    patients: &["Juniper", "Señor Ñandú", "王"],
    carers: &["Ana"],
    notes: &[],
};

/// Signs as owners write them.
const SIGNS: [&str; 14] = [
    "she collapsed",
    "he's not breathing",
    "having a seizure",
    "her face is swelling up",
    "covered in hives",
    "won't stop bleeding",
    "he won't wake up",
    "gave 10 times the dose",
    "no respira",
    "se desmayó",
    "tiene convulsiones",
    "se le hinchó la cara",
    "no para de sangrar",
    "está lleno de ronchas",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    #[test]
    fn no_text_makes_it_fail(text in any::<String>()) {
        let _ = read(&text, &CONTEXT);
        let _ = reading::tells_of_danger(&text);
    }

    #[test]
    fn no_text_near_our_words_makes_it_fail(
        text in "([0-9]{1,12}[.,:]?[0-9]{0,12}|at|las|half|past|ml|ago|hace|y|media|gave|vial|[ ?.,#'~])( ?([0-9]{1,5}|to|pm|p\\.m\\.|ml|minutes|seven|menos|cuarto|[.?,'h:]))*"
    ) {
        let _ = read(&text, &CONTEXT);
    }

    #[test]
    fn nothing_is_answered_or_recorded_beside_a_red_flag(
        line in 0..1_000_usize, sign in 0..SIGNS.len(), first in any::<bool>()
    ) {
        let lines = lines(include_str!("own.jsonl"));
        let other = &lines[line % lines.len()].text;
        let text = if first {
            format!("{}. {other}", SIGNS[sign])
        } else {
            format!("{other}. {}", SIGNS[sign])
        };
        let reading = read(&text, &CONTEXT);
        prop_assert!(matches!(reading, Reading::Emergency | Reading::Clinic(_)), "{text:?}: {reading:?}");
    }

    #[test]
    fn any_text_before_a_sign_stops_nothing(text in any::<String>(), sign in 0..SIGNS.len()) {
        let reading = read(&format!("{text}. {}", SIGNS[sign]), &CONTEXT);
        prop_assert!(matches!(reading, Reading::Emergency | Reading::Clinic(_)), "{reading:?}");
    }
}

/// A very long message is read, and no slower than its length allows.
#[test]
fn a_book_is_read_without_failing() {
    let book = "gave it at 7:30 and 1,5 ml ".repeat(40_000);
    assert!(!matches!(read(&book, &CONTEXT), Reading::Travel(_)));
}
