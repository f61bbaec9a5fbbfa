//! A person is erased: nothing of them is left in the file, and all that
//! happened to the patient is.

use super::database::{bytes, found, rows, text_columns};
use super::home::{at, chat, juniper};
use super::lived::{AFTER, Lived, OTHER, OWNER, PHONE, SAID, lived, on_runtime};
use std::collections::BTreeMap;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::erasure::ERASED;
use vialbell::domain::household::{Household, Status};
use vialbell::domain::quantity::Volume;
use vialbell::engine::{Confirmation, EraseError};
use vialbell::paper::record::{bundle, table};

/// The clinic's chat.
const CLINIC: &str = super::fake::CLINIC;

/// Words that were said in the clinic's chat, among themselves.
const AMONG_THEMSELVES: &str = "Quilla Marchbanks called, she will come in on Friday";
/// An answer to the owner.
const ANSWER: &str = "Dear Quilla, no biscuit please. Perrin";

/// The household after its course, with the clinic's talk about it, a board
/// that names it, and a neighbour who has nothing to do with it.
async fn told_everywhere() -> (Lived, i64) {
    let mut lived = lived(AFTER).await;
    lived.says(CLINIC, AMONG_THEMSELVES).await;
    // Where the platform has no replies, words answer the newest question.
    lived.says(CLINIC, ANSWER).await;
    let mut order = juniper(8);
    order.owner = "Hazel Ashgrove".into();
    order.first = "2026-03-10T19:30:00".parse().unwrap();
    let engine = &lived.clinic.engine;
    let enrolled = engine
        .enrol(&order, None, "Ines", Confirmation::Counted, lived.now)
        .await;
    let neighbour = enrolled.unwrap().household;
    engine
        .join(neighbour, 1, chat("hazel"), lived.now)
        .await
        .unwrap();
    lived.says(CLINIC, "board").await;
    lived.clinic.step(lived.now).await;
    let until = at("2026-03-11T20:00:00Z");
    lived.clinic.pass(lived.now, until).await;
    lived.now = until;
    lived.look().await;
    (lived, neighbour)
}

/// What must not be left: names, the platform's names, chats, and words.
fn words() -> Vec<&'static str> {
    let mut words = vec![
        "Quilla",
        "Tavish",
        "Marchbanks",
        OWNER.1,
        OWNER.2,
        OTHER.1,
        OTHER.2,
    ];
    words.extend([PHONE, ANSWER, "called, she will come"]);
    words.extend(
        SAID.iter()
            .map(|(_, _, said)| *said)
            .filter(|said| said.len() > 10),
    );
    words
}

/// The clinical record: what the table says, without whoever is named in it.
fn clinical(lived: &Lived) -> Vec<BTreeMap<String, String>> {
    let written = lived.recorded(table);
    let mut reader = csv::Reader::from_reader(written.as_bytes());
    reader
        .deserialize()
        .map(|row| {
            let mut row: BTreeMap<String, String> = row.unwrap();
            for named in ["owner", "by", "carer"] {
                assert!(row.remove(named).is_some());
            }
            row
        })
        .collect()
}

#[test]
fn no_byte_of_the_person_is_left_and_the_clinical_record_is_whole() {
    on_runtime(async {
        let (mut lived, neighbour) = told_everywhere().await;
        let before = lived.household.clone();
        let record = clinical(&lived);
        let entries = lived.journal.len();
        let counted = |lived: &Lived| {
            let course = &lived.household.courses[&1];
            let vials: Vec<(u32, Volume)> = course
                .vials
                .values()
                .map(|vial| (vial.no, lived.household.remaining(course, vial)))
                .collect();
            (course.counted.clone(), vials)
        };
        let books = counted(&lived);
        let neighbours = lived.clinic.household(neighbour).await;
        let neighbours_journal = lived.clinic.engine.journal(neighbour).await.unwrap();
        // The search can find: all of it is there before.
        assert_eq!(found(&bytes(&lived.clinic).await, &words()), words());

        let erased = lived
            .clinic
            .engine
            .erase(lived.id, "Rowan Pell", lived.now)
            .await;
        let erased = erased.unwrap();
        assert_eq!(erased.names, [PHONE, OWNER.0, OTHER.0]);
        assert_eq!(erased.chats, ["test 4477001", "test 4477002"]);
        assert!(
            erased.rows.entries > 20 && erased.rows.arrivals > 14 && erased.rows.messages > 40,
            "{erased:?}"
        );
        lived.clinic.engine.scrub().await.unwrap();
        let left = found(&bytes(&lived.clinic).await, &words());
        assert!(left.is_empty(), "{left:?} is left");

        lived.look().await;
        assert_eq!(clinical(&lived), record);
        assert_eq!(counted(&lived), books);
        assert_eq!(lived.household.owner, ERASED);
        let names: Vec<&str> = lived
            .household
            .carers
            .values()
            .map(|c| c.name.as_str())
            .collect();
        assert_eq!(names, ["carer 1", "carer 2"]);
        // Who gave a dose is still told apart, and the clinic's people keep their names.
        for (no, record) in &lived.household.administrations {
            let then = &before.administrations[no];
            let carer = before.carers.values().find(|c| c.name == then.by).unwrap();
            assert_eq!(record.by, format!("carer {}", carer.no));
            assert_eq!(
                (record.status, record.volume, record.at),
                (then.status, then.volume, then.at)
            );
            assert_eq!(
                (&record.draws, record.superseded_at),
                (&then.draws, then.superseded_at)
            );
        }
        assert!(
            lived
                .household
                .administrations
                .values()
                .any(|a| a.status == Status::NotDone)
        );
        assert_eq!(lived.household.courses[&1].entered_by, "Ines");
        assert_eq!(lived.household.courses[&1].veterinarian, "Dr. Fennimore");
        // The bundle is made without them as well.
        let made = lived.recorded(bundle).to_string();
        assert!(found(made.as_bytes(), &words()).is_empty());
        assert!(made.contains("\"completed\""));

        // The journal still gives the household, and tells that somebody was erased, by whom.
        assert!(lived.journal.len() > entries);
        assert_eq!(replayed(&lived), lived.household);
        let last = &lived.journal.last().unwrap().change;
        assert!(matches!(last, Change::PersonErased { by, .. } if by == "Rowan Pell"));

        // The neighbour is as before.
        assert_eq!(lived.clinic.household(neighbour).await, neighbours);
        assert_eq!(
            lived.clinic.engine.journal(neighbour).await.unwrap(),
            neighbours_journal
        );
    });
}

fn replayed(lived: &Lived) -> Household {
    let known = &lived.household;
    let mut replayed = Household::new(
        known.id,
        &known.clinic,
        &known.owner,
        &known.language,
        known.zone,
    );
    for caused in &lived.journal {
        apply(&mut replayed, &caused.change);
    }
    replayed
}

/// Life goes on: who was erased is a stranger, nothing more is sent to them, and
/// the clinic's lists work.
#[test]
fn who_was_erased_is_a_stranger() {
    on_runtime(async {
        let (mut lived, _) = told_everywhere().await;
        // Words that wait to be read, and a message that waits to be sent.
        lived
            .says(OWNER.1, "are you there, it is Quilla Marchbanks")
            .await;
        let erase = lived.clinic.engine.erase(lived.id, "Rowan Pell", lived.now);
        erase.await.unwrap();
        lived.clinic.platform.taken(OWNER.1);
        let entries = lived.clinic.engine.journal(lived.id).await.unwrap().len();
        lived
            .clinic
            .pass(lived.now, at("2026-03-14T20:00:00Z"))
            .await;
        lived.now = at("2026-03-14T20:00:00Z");
        assert!(lived.clinic.platform.taken(OWNER.1).is_empty());
        lived.says(OWNER.1, "how much is left?").await;
        lived.says(CLINIC, "board").await;
        lived.clinic.step(lived.now).await;
        let answers = lived.clinic.platform.taken(OWNER.1);
        assert_eq!(answers.len(), 1);
        assert!(
            answers[0].text.contains("+1 555 0142"),
            "{}",
            answers[0].text
        );
        assert_eq!(
            lived.clinic.engine.journal(lived.id).await.unwrap().len(),
            entries
        );
        let waiting = rows(
            &lived.clinic,
            "select id from inbox where state <> 'settled'",
        )
        .await;
        assert!(waiting.is_empty(), "{waiting:?}");
    });
}

#[test]
fn a_course_under_way_hinders_it_and_so_does_another_clinic() {
    on_runtime(async {
        let lived = lived("2026-03-07T14:34:00Z").await;
        let engine = &lived.clinic.engine;
        let refused = engine.erase(lived.id, "Rowan Pell", lived.now).await;
        assert_eq!(
            refused.unwrap_err().to_string(),
            "course 1.1 is under way; end it first"
        );
        let refused = engine.erase(99, "Rowan Pell", lived.now).await;
        assert!(matches!(refused, Err(EraseError::NoHousehold(99))));
        lived
            .clinic
            .tamper("update household set clinic = 'another'")
            .await;
        let refused = engine.erase(lived.id, "Rowan Pell", lived.now).await;
        assert!(matches!(refused, Err(EraseError::NoHousehold(_))));
        lived
            .clinic
            .tamper("update household set clinic = 'clinic'")
            .await;
        assert_eq!(lived.clinic.household(lived.id).await.owner, OWNER.0);
    });
}

#[test]
fn an_order_that_nobody_confirmed_ends_and_a_second_erasing_is_refused() {
    on_runtime(async {
        let mut lived = lived(AFTER).await;
        let mut order = juniper(4);
        order.first = "2026-04-05T19:30:00".parse().unwrap();
        let engine = &lived.clinic.engine;
        engine
            .enrol(
                &order,
                Some(lived.id),
                "Ines",
                Confirmation::Asked,
                lived.now,
            )
            .await
            .unwrap();
        let erased = engine
            .erase(lived.id, "Rowan Pell", lived.now)
            .await
            .unwrap();
        assert_eq!(erased.drafts, [2]);
        let again = engine.erase(lived.id, "Rowan Pell", lived.now).await;
        assert!(matches!(again, Err(EraseError::Before(_))));
        lived.look().await;
        assert_eq!(lived.household.courses[&2].ended_at, Some(lived.now));
        assert!(
            lived
                .household
                .alerts
                .values()
                .all(|alert| alert.seen.is_some())
        );
        assert_eq!(replayed(&lived), lived.household);
    });
}

#[test]
fn a_dry_run_tells_and_changes_nothing() {
    on_runtime(async {
        let (lived, _) = told_everywhere().await;
        let all = "select 'inbox', id, arrival from inbox union all select 'outbox', id, message from outbox \
                   union all select 'journal', id, change from journal \
                   union all select 'carer', no, name from carer union all select 'erasure', id, erased_by from erasure";
        let before = rows(&lived.clinic, all).await;
        let dry = lived
            .clinic
            .engine
            .what_would_be_erased(lived.id, "Rowan Pell", lived.now)
            .await
            .unwrap();
        assert_eq!(rows(&lived.clinic, all).await, before);
        let done = lived
            .clinic
            .engine
            .erase(lived.id, "Rowan Pell", lived.now)
            .await
            .unwrap();
        assert_eq!(dry, done);
        assert_ne!(rows(&lived.clinic, all).await, before);
    });
}

/// What becomes of each column of text when a person is erased.
const COLUMNS: &[(&str, &str)] = &[
    (
        "administration.given_by",
        "a number in the place of the name",
    ),
    ("administration.status", "a code"),
    ("alert.ended", "a code"),
    ("alert.ended_by", "of the clinic"),
    ("alert.facts", "its words go, times and volumes stay"),
    ("alert.kind", "a code"),
    ("alert.patient", "the patient"),
    ("alert.replies", "the words go, when and who answered stays"),
    ("alert.seen_by", "of the clinic"),
    ("alert.words", "goes"),
    ("amendment.entered_by", "of the clinic"),
    ("amendment.settled_by", "of the clinic"),
    ("amendment.what", "a carer's name goes"),
    ("carer.address", "goes"),
    ("carer.channel", "goes"),
    ("carer.clinic", "of the clinic"),
    ("carer.name", "a number in the place of the name"),
    ("carer.phone", "goes"),
    ("carer.said", "goes"),
    ("clinic_chat.address", "of the clinic"),
    ("clinic_chat.channel", "of the clinic"),
    ("clinic_chat.clinic", "of the clinic"),
    ("clinic_code.clinic", "of the clinic"),
    ("clinic_code.code_hash", "of the clinic"),
    ("clinic_day.clinic", "of the clinic"),
    ("clinic_journal.clinic", "of the clinic"),
    ("clinic_journal.name", "of the clinic"),
    ("clinic_journal.origin", "of the clinic"),
    ("clinic_journal.what", "a code"),
    ("clinic_journal.who", "of the clinic"),
    ("course.confirmed_by", "of the clinic"),
    ("course.ended_by", "of the clinic"),
    ("course.entered_by", "of the clinic"),
    ("course.ordered", "the order"),
    ("course.paused_by", "of the clinic"),
    ("course.product", "the order"),
    ("course.veterinarian", "of the clinic"),
    ("dose.local", "a time"),
    ("dose.zone", "a time"),
    ("enrolment.address", "of the clinic"),
    ("enrolment.answers", "goes with its row"),
    ("enrolment.channel", "of the clinic"),
    ("enrolment.clinic", "of the clinic"),
    ("enrolment.person", "of the clinic"),
    ("erasure.erased_by", "of the clinic"),
    ("household.clinic", "of the clinic"),
    ("household.language", "a code"),
    ("household.owner", "goes"),
    ("household.zone", "a time"),
    ("inbox.address", "goes where it is theirs"),
    (
        "inbox.arrival",
        "goes where it is theirs or led to something here; else the names go",
    ),
    ("inbox.channel", "a code"),
    ("inbox.clinic", "of the clinic"),
    ("inbox.external_id", "a number of the platform"),
    ("inbox.state", "a code"),
    (
        "invitation.code_hash",
        "of a code that nobody can use any more",
    ),
    ("journal.cause", "a number, or of the clinic"),
    ("journal.change", "rewritten"),
    ("outbox.address", "goes where it is theirs"),
    ("outbox.cause", "a number, or of the clinic"),
    ("outbox.channel", "goes where it is theirs"),
    ("outbox.clinic", "of the clinic"),
    ("outbox.external_id", "a number of the platform"),
    ("outbox.kind", "a code"),
    ("outbox.language", "a code"),
    (
        "outbox.message",
        "goes where it is theirs or of them; else the names go",
    ),
    ("outbox.state", "a code"),
    ("patient.name", "the patient"),
    ("patient.species", "the patient"),
    ("patient.weight", "the patient"),
    ("plan.first", "a time"),
    ("plan.times", "a time"),
    ("question.options", "goes"),
    ("staff.address", "of the clinic"),
    ("staff.channel", "of the clinic"),
    ("staff.clinic", "of the clinic"),
    ("staff.name", "of the clinic"),
    ("staff.person", "of the clinic"),
    ("staff.role", "of the clinic"),
    ("stranger.address", "goes where it is theirs"),
    ("stranger.channel", "goes where it is theirs"),
    ("stranger.clinic", "of the clinic"),
    ("supply.kind", "a code"),
    ("vial.discarded_by", "a number in the place of the name"),
    ("vial.mixed_by", "a number in the place of the name"),
    ("zone_rules.release", "a time"),
    ("zone_rules.rules", "a time"),
    ("zone_rules.zone", "a time"),
];

/// A new column of text may hold a person: whoever adds one says here what
/// erasing does with it, and sees to it in src/store/erasure.rs.
#[test]
fn every_column_of_text_is_judged() {
    on_runtime(async {
        let lived = lived("2026-03-05T20:30:00Z").await;
        let columns = text_columns(&lived.clinic).await;
        let judged: Vec<&str> = COLUMNS.iter().map(|(column, _)| *column).collect();
        assert_eq!(columns, judged);
    });
}

/// Where README's "Privacy" says that a column's text is stored: every column
/// that erasing reaches stands here, with the words that speak of it.
const IN_README: &[(&str, &str)] = &[
    ("administration.given_by", "the carers' names"),
    ("alert.facts", "the words that led to an alert"),
    ("alert.replies", "the clinic's answers"),
    ("alert.words", "the words that led to an alert"),
    ("amendment.what", "the carers' names"),
    ("carer.address", "each carer's chat number"),
    ("carer.channel", "each carer's chat number"),
    ("carer.name", "the carers' names"),
    ("carer.phone", "a phone if the clinic gave one"),
    ("carer.said", "every message that came in"),
    ("enrolment.answers", "the answers of an enrolment"),
    ("household.owner", "the name, "),
    ("inbox.address", "each carer's chat number"),
    ("inbox.arrival", "every message that came in, as it came"),
    ("journal.change", "a journal of every change"),
    ("outbox.address", "each carer's chat number"),
    ("outbox.channel", "each carer's chat number"),
    ("outbox.message", "every message sent"),
    ("question.options", "every message that came in"),
    ("stranger.address", "the chat of whoever else writes"),
    ("stranger.channel", "the chat of whoever else writes"),
    ("vial.discarded_by", "the carers' names"),
    ("vial.mixed_by", "the carers' names"),
];

#[test]
fn readme_lists_every_column_that_holds_a_person() {
    let of_a_person = |judged: &str| {
        judged.starts_with("goes")
            || judged.contains(" go")
            || judged.contains("the name")
            || judged == "rewritten"
    };
    let people: Vec<&str> = COLUMNS
        .iter()
        .filter(|(_, judged)| of_a_person(judged))
        .map(|(column, _)| *column)
        .collect();
    let listed: Vec<&str> = IN_README.iter().map(|(column, _)| *column).collect();
    assert_eq!(people, listed);
    let readme = std::fs::read_to_string("README.md").unwrap();
    let (_, privacy) = readme.split_once("## Privacy").unwrap();
    let privacy = privacy.split("\n## ").next().unwrap();
    let privacy = privacy.split_whitespace().collect::<Vec<_>>().join(" ");
    for (column, words) in IN_README {
        let words = words.trim_end();
        assert!(
            privacy.contains(words),
            "{column}: “{words}” is not in README's Privacy"
        );
    }
}
