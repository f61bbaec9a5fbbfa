//! Labelled messages of owners, played through what decides.
//!
//! `examples.jsonl` came with the task, the others are of our own: see README.md.
//! A line names the kinds of reply that are right (`expect`) and those that
//! would be unsafe (`never`) in the judged state, which `judged.rs` builds.

mod explore;
mod judged;
mod line;
mod slips;
mod table;

use std::time::Duration;

use proptest::prelude::*;
use vialbell::domain::language::Language;
use vialbell::domain::reading::{self, Context, Reading, read};

use judged::{hear, kinds};
use line::lines;
use slips::slips;
use table::{Bounds, TASK, hold, judge};

macro_rules! sets {
    ($($test:ident $file:literal $bounds:expr)*) => {
        $(
            #[test]
            fn $test() {
                hold(&judge($file, &lines(include_str!($file))), $bounds);
            }
        )*
    };
}

/// Stories, and messages that are near misses of others: harder than the task's on purpose.
const STORIES: Bounds = Bounds {
    right: 90,
    called: 15,
};
const NEAR_MISSES: Bounds = Bounds {
    right: 70,
    called: 35,
};

sets! {
    the_given_examples "examples.jsonl" TASK
    messages_tuned_to "own.jsonl" TASK
    messages_held_back "own-held.jsonl" TASK
    the_second_sitting "own-second.jsonl" TASK
    the_third_sitting "own-third.jsonl" TASK
    the_fourth_sitting "own-fourth.jsonl" TASK
    another_writer "fresh.jsonl" TASK
    another_writers_second_sitting "fresh-second.jsonl" TASK
    another_writers_third_sitting "fresh-third.jsonl" TASK
    another_writers_fourth_sitting "fresh-fourth.jsonl" TASK
    the_first_blind_sitting "blind-first.jsonl" TASK
    the_second_blind_sitting "blind-second.jsonl" TASK
    the_third_blind_sitting "blind-third.jsonl" TASK
    the_fourth_blind_sitting "blind-fourth.jsonl" TASK
    a_blind_sitting_in_english "blind-english.jsonl" STORIES
    a_blind_sitting_in_spanish "blind-spanish.jsonl" STORIES
    a_blind_sitting_of_traps "blind-traps.jsonl" NEAR_MISSES
    a_blind_sitting_of_short_ones "blind-short.jsonl" TASK
    a_blind_sitting_like_the_examples "blind-like.jsonl" TASK
    a_blind_sitting_of_five_wordings "blind-wordings.jsonl" TASK
    the_last_blind_sitting "blind-last.jsonl" TASK
}

/// One slip in a sign leaves it a sign, but where it makes another word ("covered in
/// gives"); no slip in any message makes its reply unsafe. Bounds: our own aim.
#[test]
fn a_slip_of_the_thumb_makes_nothing_unsafe() {
    for (class, right_percent, every) in [
        ("emergency", 98, 1),
        ("clear", 95, 5),
        ("adversarial", 95, 5),
        ("escalate", 95, 5),
    ] {
        let (mut slipped, mut right) = (0, 0);
        let mut lines = lines(include_str!("examples.jsonl"));
        // A slip in the patient's name is a stranger's name.
        lines.retain(|line| line.class() == class && !line.names_a_patient());
        for line in &mut lines {
            for text in slips(&line.text).into_iter().step_by(every) {
                line.text = text;
                let kinds = kinds(&hear(line));
                let holds = |set: &[String]| set.iter().any(|kind| kinds.contains(&kind.as_str()));
                assert!(!holds(&line.never), "{:?} -> {kinds:?}", line.text);
                slipped += 1;
                right += usize::from(holds(&line.expect));
            }
        }
        println!("{class}: {right} of {slipped} slips right");
        assert!(
            100 * right >= right_percent * slipped,
            "{class}: {right} of {slipped}"
        );
    }
}

/// Goal: under 1 ms a message (the task); an unoptimised build gets ten times that.
#[test]
fn a_message_is_read_quickly() {
    let lines = lines(include_str!("own.jsonl"));
    lines.iter().for_each(|line| drop(table::reading(line)));
    let mut spans: Vec<Duration> = Vec::with_capacity(lines.len());
    for line in &lines {
        let started = stopwatch();
        let reading = table::reading(line);
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
