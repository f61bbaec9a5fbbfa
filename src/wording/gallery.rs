//! Every message with invented facts, for people who check the wording.

use super::contract::{Fact, Patient, Shape, facts_of, patient_of};
use super::{Rendered, Wording};
use crate::domain::ending::Ending;
use crate::domain::message::{Kind, Label, Message, OpenDays, Recipient, Tap, Value};
use crate::domain::quantity::Volume;
use chrono::{DateTime, FixedOffset, NaiveTime};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// Every kind in each language, in each of its forms, with invented facts.
pub fn gallery(wording: &Wording) -> String {
    let mut page = String::new();
    for language in wording.languages() {
        let mut shown = BTreeSet::new();
        for message in Kind::ALL.iter().flat_map(|kind| samples(*kind)) {
            let Rendered { text, buttons } = wording.render(&message, language);
            let heading = format!("── {language} {}{}", message.kind, form_of(&message));
            let buttons: String = buttons.iter().map(|b| format!("[{}] ", b.label)).collect();
            if shown.insert(format!("{} {text}", message.kind)) {
                let _ = writeln!(page, "{heading}\n{text}\n{buttons}");
            }
        }
    }
    page
}

/// A kind in each of its forms: for every word that a sentence selects on, with
/// all optional facts that belong to that form and with none.
pub(super) fn samples(kind: Kind) -> Vec<Message> {
    let facts = facts_of(kind);
    let words = |key: &str| {
        let fact = facts.iter().find(|fact| fact.key == key)?;
        match fact.shape {
            Shape::Code(words) => Some(words),
            _ => None,
        }
    };
    let main = ["about", "reason", "what", "status", "why", "state", "topic"];
    let main = main.into_iter().find_map(|key| Some((key, words(key)?)));
    let forms: Vec<Option<&str>> = match main {
        Some((_, words)) => words.iter().map(|word| Some(*word)).collect(),
        None => vec![None],
    };
    let mut samples = Vec::new();
    for form in forms {
        let main = main.map(|(key, _)| key).zip(form);
        samples.push(sample(kind, main, Carrying::All));
        samples.push(sample(kind, main, Carrying::Books));
        samples.push(sample(kind, main, Carrying::Required));
    }
    samples.extend(other_words(kind, &samples));
    samples.dedup();
    samples
}

/// Words that no sample says yet, each in the first one that says another.
fn other_words(kind: Kind, samples: &[Message]) -> Vec<Message> {
    let mut others = Vec::new();
    for fact in facts_of(kind) {
        let Shape::Code(words) = fact.shape else {
            continue;
        };
        let said = |message: &Message, word: &str| {
            message.facts.get(fact.key) == Some(&Value::Text(word.into()))
        };
        let first = samples.iter().find(|m| m.facts.contains_key(fact.key));
        let unsaid = words
            .iter()
            .filter(|word| !samples.iter().any(|message| said(message, word)));
        others.extend(first.into_iter().flat_map(|first| {
            unsaid
                .clone()
                .map(|word| first.clone().fact(fact.key, *word))
        }));
    }
    others
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Carrying {
    /// Every fact that belongs to the form.
    All,
    /// All but the flags, as another carer or a closed clinic would see it.
    Books,
    /// Only what the kind always carries.
    Required,
}

fn sample(kind: Kind, main: Option<(&str, &str)>, carrying: Carrying) -> Message {
    let to = if kind.is_for_clinic() {
        Recipient::Clinic
    } else {
        Recipient::Carer(1)
    };
    let mut message = Message::new(to, kind);
    let form = main.map(|(_, word)| word);
    let names_patient = match patient_of(kind) {
        Patient::Always => true,
        Patient::Sometimes => {
            carrying != Carrying::Required
                && !matches!(
                    form,
                    Some("which-patient" | "nothing-open" | "dropped" | "unreached")
                )
        }
        Patient::Never => false,
    };
    if names_patient {
        message = message.about("Juniper");
    }
    for fact in facts_of(kind) {
        let is_main = main.is_some_and(|(key, _)| key == fact.key);
        let is_flag = fact.optional && matches!(fact.shape, Shape::Code(_)) && !is_main;
        let wanted = match carrying {
            Carrying::All => true,
            Carrying::Books => !is_flag || fact.key == "open",
            Carrying::Required => false,
        };
        let outage = kind == Kind::ClinicOutage && !is_main;
        if outage && !of_outage(form, fact.key) {
            continue;
        }
        if !fact.optional
            || outage && carrying == Carrying::Required && fact.key != "household"
            || is_main && carrying != Carrying::Required
            || wanted && belongs(kind, form, fact.key) && goes_with(kind, carrying, fact.key)
        {
            let value = match main {
                Some((key, word)) if key == fact.key => word.into(),
                _ => value_of(kind, fact, carrying),
            };
            message.facts.insert(fact.key.into(), value);
        }
    }
    with_buttons(message, form)
}

/// An outage of the messenger is nobody's in particular; every other is a household's.
fn of_outage(form: Option<&str>, key: &str) -> bool {
    matches!(key, "since" | "until") == (form == Some("unreached"))
}

/// Some facts come together or not at all.
fn goes_with(kind: Kind, carrying: Carrying, key: &str) -> bool {
    let of_two_vials = matches!(key, "from_vial" | "from_ml" | "then_vial" | "then_ml");
    match (kind, carrying) {
        (Kind::DoseDue | Kind::DoseAgain, Carrying::All) => of_two_vials,
        (Kind::DoseDue | Kind::DoseAgain, _) => !of_two_vials,
        _ => true,
    }
}

/// Facts of a change of an order, which a new order does not have.
const AMENDED: &[&str] = &[
    "change",
    "entered_by",
    "before",
    "after",
    "planned",
    "asked_before",
    "last",
    "gap",
    "gap_flag",
    "next",
    "doses_left",
    "given",
    "ends_before",
    "ends",
    "vials_left",
    "vials_needed",
    "vials_short",
    "runs_out",
    "nobody",
];

/// Whether an optional fact goes with a form of the kind.
fn belongs(kind: Kind, form: Option<&str>, key: &str) -> bool {
    let of = |keys: &[&str]| keys.contains(&key);
    match (kind, form.unwrap_or_default()) {
        (Kind::VialMixNext, form) => form == "split",
        (Kind::Confirm, "given") => of(&[
            "planned",
            "given_at",
            "volume_ml",
            "vial",
            "late",
            "rest",
            "phone",
        ]),
        (Kind::Confirm, "not-given") => of(&["planned", "given_at", "by", "phone"]),
        (Kind::Confirm, "mixed") => of(&["vial", "mixed_at", "phone"]),
        (Kind::Confirm, "level") => of(&["vial", "level_ml", "phone"]),
        (Kind::Confirm, "discarded" | "out-of-fridge") => of(&["vial", "phone"]),
        (Kind::Confirm, "zone") => of(&["zone", "here_now", "planned", "gap", "phone"]),
        (Kind::Confirm, "supplies") => of(&[
            "vials_left",
            "syringes",
            "needles",
            "diluent_count",
            "phone",
        ]),
        (Kind::Confirm, "which-patient" | "nothing-open" | "dropped") => of(&["phone"]),
        (Kind::Confirm, "amount-meaning") => of(&["level_ml", "phone"]),
        (Kind::Confirm, _) => of(&["planned", "phone"]),
        (Kind::RecordedCorrected, "given") => !of(&["mixed_at", "discard_by"]),
        (Kind::RecordedCorrected, "mixed") => of(&["vial", "mixed_at", "discard_by"]),
        (Kind::RecordedCorrected, _) => of(&["planned", "phone"]),
        (Kind::RecordedOutOfFridge, "out") => key != "minutes",
        (Kind::AnswerLastDose, "not-given") => !of(&["given_at", "volume_ml", "recorded_by"]),
        (Kind::AnswerLastDose, "unanswered") => of(&["planned", "phone"]),
        (Kind::CourseChanged, "paused") => of(&["phone"]),
        (Kind::CourseChanged, form) => key != "zone" || form == "zone",
        (Kind::ClinicOrderCheck, "change" | "change-second" | "changed") => of(&[
            "change",
            "by",
            "before",
            "after",
            "planned",
            "last",
            "gap",
            "gap_flag",
            "asked_before",
            "ends_before",
            "ends",
            "vials_left",
            "vials_needed",
            "vials_short",
            "runs_out",
            "entered_by",
            "next",
            "given",
            "doses_left",
            "nobody",
        ]),
        (Kind::ClinicEnrolling, "cancelled" | "closed") => false,
        (Kind::ClinicOrderCheck, "check") => !of(AMENDED),
        (Kind::ClinicOrderCheck, "unclear" | "refused") => of(&["by", "text"]),
        (Kind::ClinicOrderCheck, "change-refused") => of(&["by", "text", "change"]),
        (Kind::ClinicOrderCheck, "confirmed" | "already" | "same-person") => of(&["by"]),
        (Kind::ClinicOrderCheck, "which") => key == "change",
        (Kind::ClinicOrderCheck, _) => of(&["by", "change"]),
        (Kind::ClinicQuestion, form) => key != "minutes" || form == "out-of-fridge",
        (Kind::ClinicNotSeen, about) => {
            of(&[
                "unseen",
                "on_call",
                "name",
                "last_rung",
                "owner_phone",
                "household",
            ]) || match about {
                "missed-dose" => of(&["planned", "late_minutes", "missed", "last", "said"]),
                "question" => of(&[
                    "text",
                    "by",
                    "planned",
                    "volume_ml",
                    "last",
                    "vial",
                    "remaining_ml",
                    "discard_by",
                    "of_dose",
                    "minutes",
                ]),
                "emergency" => of(&["text", "by", "planned", "volume_ml"]),
                "vial-past-limit" => of(&["volume_ml", "given_at", "by", "vial", "discard_by"]),
                "level-differs" => of(&["vial", "level_ml", "remaining_ml"]),
                "unreachable" => key == "carer",
                "outage" => of(&["doses", "planned"]),
                _ => false,
            }
        }
        (Kind::ClinicSeen, "question" | "emergency") => of(&["household", "how", "from", "text"]),
        (Kind::ClinicSeen, "missed-dose" | "outage") => of(&["household", "how", "planned"]),
        (Kind::ClinicSeen, _) => of(&["household", "how"]),
        (Kind::ClinicAnswered, "sent") => of(&[
            "household",
            "to",
            "by",
            "before_by",
            "before_at",
            "from",
            "text",
        ]),
        (Kind::ClinicAnswered, "closed") => of(&["household", "by", "at", "how"]),
        (Kind::ClinicAnswered, "not-reached") => of(&["household", "owner_phone", "from", "text"]),
        (Kind::ClinicAnswered, _) => of(&["household", "to", "other"]),
        (Kind::ClinicStaff, "joined") => true,
        (Kind::ClinicStaff, "nobody-on-call") => false,
        (Kind::ClinicStaff, _) => key == "name",
        _ => true,
    }
}

fn value_of(kind: Kind, fact: &Fact, carrying: Carrying) -> Value {
    match fact.shape {
        Shape::At => Value::At(instant(match fact.key {
            "planned" => "2026-03-08T07:30:00-06:00",
            "next" => "2026-03-08T19:30:00-06:00",
            "given_at" => "2026-03-08T07:42:00-06:00",
            "mixed_at" | "at" => "2026-03-07T19:20:00-07:00",
            "last" => "2026-03-07T19:31:00-07:00",
            "discard_by" => "2026-03-14T19:20:00-06:00",
            "runs_out" => "2026-03-20T19:30:00-06:00",
            _ => "2026-05-29T19:30:00-06:00",
        })),
        Shape::Volume => Value::Volume(volume(match fact.key {
            "volume_ml" => "1.5",
            "diluent_ml" => "9.3",
            "available_ml" => "9",
            "remaining_ml" => "4.5",
            "level_ml" => "4",
            "from_ml" | "unplaced_ml" => "0.5",
            "then_ml" => "1",
            _ => "3",
        })),
        Shape::Count | Shape::Minutes => Value::Count(match fact.key {
            "vial" | "then_vial" => 2,
            "from_vial" | "vials_left" | "missed" | "step" => 1,
            "doses_left" | "steps" => 3,
            "given" => 39,
            "doses" if matches!(kind, Kind::DoseWindowClosed | Kind::ClinicOutage) => {
                if carrying == Carrying::All { 2 } else { 1 }
            }
            "doses" => 42,
            "late_minutes" => 95,
            "hours" if matches!(kind, Kind::ClinicEnrolled | Kind::ClinicInvitation) => 72,
            "hours" if carrying == Carrying::All => 24,
            "hours" => 1,
            "minutes" => 40,
            "vials" => 7,
            _ => 12,
        }),
        Shape::Times => Value::Times(
            [(7, 30), (19, 30)]
                .into_iter()
                .filter_map(|(hour, minute)| NaiveTime::from_hms_opt(hour, minute, 0))
                .collect(),
        ),
        Shape::Hours => Value::Hours(vec![
            open_days(1, 5, &[(8, 18)]),
            open_days(6, 6, &[(9, 12)]),
        ]),
        Shape::Code(words) => {
            let last = carrying == Carrying::Books;
            let word = if last { words.last() } else { words.first() };
            word.copied().unwrap_or_default().into()
        }
        Shape::Line | Shape::Person | Shape::Quote | Shape::Block => {
            words_of(kind, fact.key).into()
        }
    }
}

fn words_of(kind: Kind, key: &str) -> &'static str {
    match (kind, key) {
        (Kind::ClinicDigest, "text") => {
            "Juniper, Maria Lund: 1 open\nMoss, Tomas Reyes: 2 of 2 given"
        }
        (Kind::ClinicBoard, "text") => {
            "Juniper  39 of 42  vial 2: 4.5 mL\nMoss  3 of 28  no mixed vial"
        }
        (Kind::ClinicOrderCheck, "before") => "1.5 mL (14 mg/kg)",
        (Kind::ClinicOrderCheck, "after") => "1.2 mL",
        (Kind::ClinicOrderCheck, "text") => "prescription.times: write at least one time",
        (_, "zone") => "Europe/Madrid",
        (_, "gap") => "11 h 30 min",
        (_, "product") => "Mossline 1000 mg",
        (_, "weight_lb") => "66 lb",
        (_, "weight_kg") => "29.937096 kg",
        (_, "rate") => "14 mg/kg",
        (_, "mass") => "419.119344 mg",
        (_, "concentration") => "280 mg/mL",
        (_, "rounding") => "0.22 %",
        (_, "label") => "0.8 %",
        (_, "drawable") => "1008 mg",
        (_, "strength") => "1000 mg",
        (_, "sharps_size") => "2 L",
        (_, "veterinarian") => "Dr. Okafor",
        (Kind::ClinicReply, _) if key == "by" => "Dr. Okafor",
        (_, "phone") => "555-0100",
        (_, "emergency_phone") => "555-0199",
        (_, "clinic") => "Demo Clinic",
        (_, "owner" | "name") => "Maria Lund",
        (_, "by" | "from" | "before_by") => "Tom",
        (_, "to") => "Maria Lund",
        (_, "carer") => "Tom",
        (_, "other") => "Moss",
        (_, "owner_phone") => "555-0133",
        (_, "entered_by") => "Lena Marsh",
        (_, "recorded_by") => "Ana Lund",
        (_, "diluent") => "sterile water",
        (_, "wrong") => "“30” has no unit",
        (_, "link") => "https://t.me/demo?start=a1",
        (_, "links") => "Maria Lund: https://t.me/demo?start=a1\nTom: https://t.me/demo?start=b2",
        (_, "said" | "text") => "He hid under the bed, can I wait until noon?",
        _ => "Call us before noon.\nAsk for the desk.",
    }
}

fn with_buttons(message: Message, form: Option<&str>) -> Message {
    let (course, dose, vial) = (1, 7, 2);
    let (question, alert, household) = (1, 1, 12);
    let given = Tap::Given { course, dose };
    let not_given = Tap::NotGiven { course, dose };
    let choose = |option| Tap::Choose { question, option };
    let neither = Tap::Neither { question };
    let answers = |message: Message| {
        message
            .button(Label::Given, given)
            .button(Label::NotGiven, not_given)
    };
    match (message.kind, form.unwrap_or_default()) {
        (Kind::DoseDue | Kind::DoseAgain, _) | (Kind::Confirm, "pending") => answers(message),
        (Kind::VialMixNext, _) => message.button(Label::Mixed(vial), Tap::Mixed { course, vial }),
        (Kind::VialLimitReached, _) => {
            message.button(Label::Discarded(vial), Tap::Discarded { course, vial })
        }
        (Kind::RecordedGiven, _) => {
            message.button(Label::TakeBack, Tap::TakeBack { administration: 7 })
        }
        (Kind::Confirm, "which-patient") => message
            .button(Label::Name("Juniper".into()), choose(0))
            .button(Label::Name("Moss".into()), choose(1))
            .button(Label::Neither, neither),
        (Kind::Confirm, "which-time") => message
            .button(Label::Time(instant("2026-03-08T07:40:00-06:00")), choose(0))
            .button(Label::Time(instant("2026-03-07T19:40:00-07:00")), choose(1))
            .button(Label::Neither, neither),
        (Kind::Confirm, "when" | "amount" | "amount-meaning" | "nothing-open" | "dropped") => {
            message
        }
        (Kind::Confirm, _) => message
            .button(Label::Yes, choose(0))
            .button(Label::No, neither),
        (Kind::AnswerSteps, _) => {
            let step = |step| Tap::Step {
                course,
                topic: 0,
                step,
            };
            message
                .button(Label::NextStep, step(1))
                .button(Label::PreviousStep, step(0))
        }
        (Kind::ClinicSeen, _) => {
            let ended = |message: Message, how: &Ending| {
                let how_no = how.number();
                let tap = Tap::Ended {
                    household,
                    alert,
                    how: how_no,
                };
                message.button(Label::Ended(*how), tap)
            };
            Ending::ALL.iter().fold(message, ended)
        }
        (Kind::ClinicMissedDose | Kind::ClinicQuestion | Kind::ClinicEmergency, _)
        | (Kind::ClinicVialPastLimit | Kind::ClinicNotSeen, _) => {
            message.button(Label::Seen, Tap::Seen { household, alert })
        }
        _ => message,
    }
}

fn form_of(message: &Message) -> String {
    ["about", "reason", "what", "status", "why", "state", "topic"]
        .iter()
        .find_map(|key| match message.facts.get(*key) {
            Some(Value::Text(word)) => Some(format!(" ({word})")),
            _ => None,
        })
        .unwrap_or_default()
}

fn open_days(first_day: u8, last_day: u8, spans: &[(u32, u32)]) -> OpenDays {
    let hour = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap_or_default();
    let spans = spans
        .iter()
        .map(|(from, until)| (hour(*from), hour(*until)));
    OpenDays {
        first_day,
        last_day,
        spans: spans.collect(),
    }
}

fn instant(text: &str) -> DateTime<FixedOffset> {
    DateTime::parse_from_rfc3339(text).unwrap_or_default()
}

fn volume(number: &str) -> Volume {
    Volume::parse(number).unwrap_or_default()
}
