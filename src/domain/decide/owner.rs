//! What follows from what a carer wrote, tapped or sent.

use super::super::arrival::{Body, Medium};
use super::super::change::Change;
use super::super::household::{Course, Household, OpenQuestion, Outcome, Proposal};
use super::super::language::Language;
use super::super::menu::Entry;
use super::super::message::{Kind, Label, Message, No, Tap};
use super::super::place::{by_name, by_position};
use super::super::quantity::Volume;
use super::super::reading::{self, Context, NoteTopic, Reading, Record, Rest, What};
use super::draft::Draft;
use super::{answer, record, travel, wake};
use chrono::TimeDelta;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A carer's words are kept for the clinic up to this many characters.
const WORDS_KEPT: usize = 1_000;

/// So many messages of one carer in an hour, of each kind, that nobody at the clinic looked at.
const MOST_UNSEEN: usize = 20;

pub(super) fn heard(draft: &mut Draft, carer: No, body: &Body) {
    if !draft.household.carers.contains_key(&carer) {
        return;
    }
    if !matches!(body, Body::Gone) && !draft.household.carers[&carer].reachable {
        draft.change(Change::CarerReachable {
            carer,
            reachable: true,
        });
    }
    match body {
        Body::Text(text) => {
            keep_words(draft, carer, text);
            match Entry::chosen(text).map(Entry::question) {
                Some(Some(question)) => answer::answer(draft, carer, text, &question, None),
                Some(None) => answer::calendars(draft, carer),
                None if is_bare_amount(text) => ask_meaning(draft, carer),
                None => hear_text(draft, carer, text, None),
            }
        }
        Body::Edited(text) => edited(draft, carer, text),
        Body::Tap(data) => match Tap::decode(data) {
            Some(tap) => tapped(draft, carer, tap),
            None => escalate(draft, carer, data, "not-understood"),
        },
        // What stands behind /start need not be a code.
        Body::Join(words) if reading::tells_of_danger(words) => emergency(draft, carer, words),
        Body::Join(_) => answer::contact(draft, carer),
        Body::Medium { what, caption } => medium(draft, carer, *what, caption.as_deref()),
        Body::Place { north, east } => {
            travel::hear(
                draft,
                carer,
                "(a place on the map)",
                by_position(*north, *east),
            );
        }
        Body::Gone => draft_gone(draft, carer),
        Body::Back => {}
        Body::Moved { to } => draft.change(Change::CarerMoved {
            carer,
            address: to.clone(),
        }),
    }
}

fn draft_gone(draft: &mut Draft, carer: No) {
    if draft.household.carers[&carer].reachable {
        super::clinic::unreachable(draft, carer, "blocked");
    }
}

/// A number, with or without mL, and nothing that says what it is of.
fn is_bare_amount(text: &str) -> bool {
    let text = text.trim().trim_end_matches('.').to_lowercase();
    let number = text.strip_suffix("ml").unwrap_or(&text).trim();
    !number.is_empty() && Volume::parse(&number.replace(',', ".")).is_ok()
}

/// A number without a meaning is asked about, never guessed.
fn ask_meaning(draft: &mut Draft, carer: No) {
    let phone = draft.phone();
    let message = draft.to(carer, Kind::Confirm);
    draft.say(message.fact("about", "amount-meaning").fact("phone", phone));
}

fn keep_words(draft: &mut Draft, carer: No, text: &str) {
    let text: String = text.chars().take(WORDS_KEPT).collect();
    draft.change(Change::CarerSaid { carer, text });
}

/// An earlier text in other words. Which one it was is not known, so it is
/// held against the last: what says the same says nothing new. Where the last
/// was no record the new one is read back; where it was one, or where an amount
/// is said, a person has to compare the two. Nothing is recorded at once.
fn edited(draft: &mut Draft, carer: No, text: &str) {
    let before = draft.household.carers[&carer].said.clone();
    let before = before
        .filter(|said| !said.is_empty())
        .map(|said| read(draft, &said));
    keep_words(draft, carer, text);
    match read(draft, text) {
        Reading::Emergency => emergency(draft, carer, text),
        reading @ (Reading::Record(_) | Reading::Ask(_)) if before.as_ref() == Some(&reading) => {}
        Reading::Record(record)
            if record.amount.is_none()
                && before
                    .as_ref()
                    .is_some_and(|before| !matches!(before, Reading::Record(_))) =>
        {
            pass_on(draft, carer, text, "edited");
            record::hear(
                draft,
                carer,
                text,
                &Record {
                    sure: false,
                    ..record
                },
            );
        }
        Reading::Ask(question) => answer::answer(draft, carer, text, &question, None),
        // The carer was told to call on the first wording; the clinic gets the second as well.
        Reading::Clinic(_) | Reading::Unclear
            if matches!(before, Some(Reading::Clinic(_) | Reading::Unclear)) =>
        {
            pass_on(draft, carer, text, "edited");
        }
        _ => escalate(draft, carer, text, "edited"),
    }
}

fn read(draft: &Draft, text: &str) -> Reading {
    let household = &draft.household;
    let patients: Vec<&str> = household
        .patients
        .values()
        .map(|p| p.name.as_str())
        .collect();
    let first_names = first_names(household);
    let carers: Vec<&str> = household
        .carers
        .values()
        .map(|c| c.name.as_str())
        .chain(first_names.keys().copied())
        .collect();
    let notes: Vec<NoteTopic> = draft
        .policy
        .notes
        .iter()
        .filter(|note| note.language == household.language)
        .map(|note| NoteTopic {
            key: &note.key,
            asked_by: &note.asked_by,
        })
        .collect();
    let context = Context {
        language: household.language.parse().unwrap_or(Language::English),
        patients: &patients,
        carers: &carers,
        notes: &notes,
    };
    match reading::read(text, &context) {
        Reading::Record(record) => {
            let full = record.by.as_deref().and_then(|by| first_names.get(by));
            let by = full.map(|full| (*full).to_owned()).or(record.by);
            Reading::Record(Record { by, ..record })
        }
        other => other,
    }
}

/// First names that mean one carer only, with the full ones: people at home
/// rarely write a family name.
fn first_names(household: &Household) -> BTreeMap<&str, &str> {
    let first = |name: &'_ str| name.split_whitespace().next().unwrap_or_default().len();
    let mut found: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for carer in household.carers.values() {
        let name = carer.name.as_str();
        found.entry(&name[..first(name)]).or_default().push(name);
    }
    let is_patient = |first: &str| household.patients.values().any(|p| p.name == first);
    found
        .into_iter()
        .filter_map(|(first, full)| match full.as_slice() {
            [one] if *one != first && !is_patient(first) => Some((first, *one)),
            _ => None,
        })
        .collect()
}

/// Hears words; `patient` where the carer was asked which one is meant.
fn hear_text(draft: &mut Draft, carer: No, text: &str, patient: Option<No>) {
    match read(draft, text) {
        Reading::Emergency => emergency(draft, carer, text),
        Reading::Clinic(_) => escalate(draft, carer, text, "question"),
        Reading::Record(mut record) => {
            if let Some(patient) = patient.and_then(|no| draft.household.patients.get(&no)) {
                record.patient = Some(patient.name.clone());
            }
            hear_rest(draft, carer, text, record.rest);
            record::hear(draft, carer, text, &record);
        }
        Reading::Ask(question) => answer::answer(draft, carer, text, &question, patient),
        Reading::Travel(place) => travel::hear(draft, carer, text, by_name(&place)),
        Reading::Yes => yes(draft, carer, text),
        Reading::No => no(draft, carer, text),
        Reading::Unclear => escalate(draft, carer, text, "not-understood"),
    }
}

/// What stands beside a record and was not understood is for a person.
fn hear_rest(draft: &mut Draft, carer: No, text: &str, rest: Rest) {
    match rest {
        Rest::Nothing => {}
        Rest::Strange if may_pass_on(draft, carer, Kind::ClinicQuestion) => {
            pass_on(draft, carer, text, "not-understood");
            draft.passed_on_the_rest();
        }
        Rest::Strange => escalate(draft, carer, text, "not-understood"),
    }
}

/// Signs of danger: no plan and no state matter.
pub(super) fn emergency(draft: &mut Draft, carer: No, text: &str) {
    let passed = may_pass_on(draft, carer, Kind::ClinicEmergency);
    let clinic = &draft.policy.clinic;
    let message = draft
        .to(carer, Kind::Emergency)
        .fact("phone", clinic.phone.as_str())
        .maybe("emergency_phone", clinic.emergency_phone.as_deref())
        .maybe("passed", passed.then_some("yes"));
    draft.say(message);
    if !passed {
        return;
    }
    let told = draft
        .to_clinic(Kind::ClinicEmergency)
        .fact("text", text)
        .fact("by", draft.household.carer_name(carer));
    let told = with_context(draft, told);
    draft.alert(told, None, Some(carer), Some(text));
}

/// A person at the clinic must answer: the carer gets the phone, the clinic the words.
pub(super) fn escalate(draft: &mut Draft, carer: No, text: &str, why: &str) {
    let passed = may_pass_on(draft, carer, Kind::ClinicQuestion);
    say_call_clinic(draft, carer, passed);
    if passed {
        pass_on(draft, carer, text, why);
    }
}

/// Whether one more message of a carer is told to the clinic. Where very many
/// of the last hour were not looked at, another would only bury those of other
/// homes: the carer is told to call, and not that it was passed on.
fn may_pass_on(draft: &Draft, carer: No, kind: Kind) -> bool {
    let unseen = draft.household.alerts.values().rev().filter(|alert| {
        alert.kind == kind
            && alert.carer == Some(carer)
            && alert.seen.is_none()
            && alert.waits_for_an_answer()
            && draft.now - alert.raised_at < TimeDelta::hours(1)
    });
    unseen.count() < MOST_UNSEEN
}

/// Tells the clinic a carer's words without a call being asked for: what was recorded stands.
pub(super) fn pass_on(draft: &mut Draft, carer: No, text: &str, why: &str) {
    let told = question(draft, carer, text, why);
    draft.alert(told, None, Some(carer), Some(text));
}

/// The same, of words about a dose that need not be the one that is due.
pub(super) fn pass_on_of(
    draft: &mut Draft,
    carer: No,
    text: &str,
    why: &str,
    course: &Course,
    dose: No,
) {
    let planned = course.planned(dose, draft.household.zone);
    let told = question(draft, carer, text, why)
        .about(draft.household.patient_of(course))
        .fact("of_dose", "yes")
        .fact("planned", planned.shown())
        .fact("volume_ml", course.plan(dose).volume);
    draft.alert(told, Some((course.no, dose)), Some(carer), Some(text));
}

/// A carer's words for the clinic, with what a technician needs beside them.
pub(super) fn question(draft: &Draft, carer: No, text: &str, why: &str) -> Message {
    let told = draft
        .to_clinic(Kind::ClinicQuestion)
        .fact("text", text)
        .fact("by", draft.household.carer_name(carer))
        .fact("why", why);
    with_context(draft, told)
}

pub(super) fn say_call_clinic(draft: &mut Draft, carer: No, passed: bool) {
    let clinic = &draft.policy.clinic;
    let hours = answer::open_days(clinic);
    // Without hours nobody knows whether it is closed, so both numbers are given.
    let open = hours.is_some().then(|| clinic.is_open(draft.now));
    let emergency = clinic
        .emergency_phone
        .as_deref()
        .filter(|_| open != Some(true));
    let message = draft
        .to(carer, Kind::CallClinic)
        .fact("phone", clinic.phone.as_str())
        .maybe("hours", hours)
        .maybe("open", open.map(|open| if open { "yes" } else { "no" }))
        .maybe("emergency_phone", emergency)
        .maybe("passed", passed.then_some("yes"));
    draft.say(message);
}

/// What a technician needs beside the words: patient, plan, last dose, vial.
pub(super) fn with_context(draft: &Draft, message: Message) -> Message {
    let household = &draft.household;
    let mut courses = household.active_courses();
    let (Some(course), None) = (courses.next(), courses.next()) else {
        return match names_of_patients(household).as_str() {
            "" => message,
            names => message.about(names),
        };
    };
    let vial = household.open_vial(course, draft.now);
    let next = wake::unsettled(household, course)
        .next()
        .filter(|_| course.paused.is_none());
    message
        .about(household.patient_of(course))
        .maybe("planned", next.as_ref().map(|(_, planned)| planned.shown()))
        .maybe("volume_ml", next.map(|(dose, _)| course.plan(dose).volume))
        .maybe(
            "last",
            household
                .last_given(course.no)
                .map(|a| household.shown(a.at)),
        )
        .maybe("vial", vial.map(|v| v.no))
        .maybe("remaining_ml", vial.map(|v| household.remaining(course, v)))
        .maybe("discard_by", vial.map(|v| household.shown(v.discard_by)))
}

/// The patients under treatment; the last one where no course is under way any more.
fn names_of_patients(household: &Household) -> String {
    let mut courses: Vec<&Arc<Course>> = household.active_courses().collect();
    if courses.is_empty() {
        courses.extend(household.courses.values().next_back());
    }
    let mut names: Vec<&str> = courses.iter().map(|c| household.patient_of(c)).collect();
    names.dedup();
    names.join(", ")
}

fn medium(draft: &mut Draft, carer: No, what: Medium, caption: Option<&str>) {
    let name = match what {
        Medium::Photo => "photo",
        Medium::Video => "video",
        Medium::Voice => "voice message",
        Medium::Sticker => "sticker",
        Medium::File => "file",
        Medium::Other => "message of another kind",
    };
    let text = match caption {
        Some(caption) => format!("({name}) {caption}"),
        None => format!("({name})"),
    };
    if caption.is_some_and(|caption| read(draft, caption) == Reading::Emergency) {
        emergency(draft, carer, &text);
    } else {
        escalate(draft, carer, &text, "medium");
    }
}

/// The last question of ours that this carer has not answered.
fn open_question(draft: &Draft, carer: No) -> Option<OpenQuestion> {
    draft
        .household
        .questions
        .values()
        .rev()
        .find(|q| q.carer == carer && !q.settled && q.expires_at > draft.now)
        .cloned()
}

fn yes(draft: &mut Draft, carer: No, text: &str) {
    match open_question(draft, carer) {
        Some(question) if question.options.len() == 1 => {
            draft.change(Change::QuestionSettled {
                question: question.no,
            });
            propose(draft, carer, text, &question.options[0]);
        }
        Some(_) => escalate(draft, carer, text, "not-understood"),
        // "Yes" below a reminder may mean "given"; it may also mean "I will".
        None => record::hear(
            draft,
            carer,
            text,
            &Record {
                sure: false,
                ..Record::of(What::Given)
            },
        ),
    }
}

fn no(draft: &mut Draft, carer: No, text: &str) {
    match open_question(draft, carer) {
        Some(question) => neither(draft, carer, question.no),
        None => record::hear(draft, carer, text, &Record::of(What::NotYet)),
    }
}

/// Nothing of what was asked is recorded; a dose that is still open can be
/// answered by its buttons.
fn neither(draft: &mut Draft, carer: No, question: No) {
    draft.change(Change::QuestionSettled { question });
    let options = draft.household.questions[&question].options.clone();
    let dose = match options.as_slice() {
        [Proposal::Given { course, dose, .. } | Proposal::NotGiven { course, dose }] => {
            Some((*course, *dose))
        }
        _ => None,
    };
    if let Some((course, dose)) = dose
        && is_open_now(draft, course, dose)
    {
        return say_pending(draft, carer, course, dose);
    }
    let message = draft
        .to(carer, Kind::Confirm)
        .fact("about", "dropped")
        .fact("phone", draft.phone());
    draft.say(message);
}

fn is_open_now(draft: &Draft, course: No, dose: No) -> bool {
    draft.course(course).is_some_and(|course| {
        let planned = course.planned(dose, draft.household.zone);
        draft.household.outcome(&course, dose) == Outcome::Open
            && draft.window_start(&planned) <= draft.now
            && draft.now < draft.window_end(&planned)
    })
}

/// Records what was proposed. The carer has seen it in our words.
pub(super) fn propose(draft: &mut Draft, carer: No, text: &str, proposal: &Proposal) {
    match proposal {
        Proposal::About { patient, text } => hear_text(draft, carer, text, Some(*patient)),
        Proposal::Zone { zone } => travel::perform(draft, carer, text, *zone),
        other => record::perform(draft, carer, text, other),
    }
}

fn tapped(draft: &mut Draft, carer: No, tap: Tap) {
    match tap {
        Tap::Given { course, dose } => tapped_given(draft, carer, course, dose),
        Tap::NotGiven { course, dose } => {
            record::propose_not_given(draft, carer, "[Not given]", course, dose);
        }
        Tap::Mixed { course, vial } => {
            let by = draft.household.carer_name(carer).to_owned();
            let mixed = Proposal::Mixed {
                course,
                vial,
                at: draft.now,
                by,
            };
            record::perform(draft, carer, "[Mixed]", &mixed);
        }
        Tap::Discarded { course, vial } => {
            let discarded = Proposal::Discarded {
                course,
                vial,
                at: draft.now,
            };
            record::perform(draft, carer, "[Discarded]", &discarded);
        }
        Tap::TakeBack { administration } => {
            record::take_back(draft, carer, "[Take back]", administration);
        }
        Tap::Choose { question, option } => choose(draft, carer, question, option),
        Tap::Neither { question } => match draft.household.questions.get(&question) {
            Some(asked) if !asked.settled && asked.carer == carer => {
                neither(draft, carer, question)
            }
            _ => nothing_open(draft, carer),
        },
        Tap::Step {
            course,
            topic,
            step,
        } => answer::step(draft, carer, course, topic, step),
        // The clinic's buttons are not an owner's to tap.
        Tap::Seen { .. }
        | Tap::Ended { .. }
        | Tap::Confirm { .. }
        | Tap::Amend { .. }
        | Tap::Enrol { .. }
        | Tap::Patient { .. }
        | Tap::Board { .. } => nothing_open(draft, carer),
    }
}

fn tapped_given(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(found) = draft
        .course(course)
        .filter(|c| c.dose_numbers().contains(&dose))
    else {
        return nothing_open(draft, carer);
    };
    let planned = found.planned(dose, draft.household.zone);
    let given = Proposal::Given {
        course,
        dose,
        at: draft.now,
        by: draft.household.carer_name(carer).to_owned(),
        volume: found.plan(dose).volume,
    };
    let settled = matches!(draft.household.outcome(&found, dose), Outcome::Recorded(_));
    if !settled && draft.window_end(&planned) <= draft.now {
        // The button says which dose, not when it was given.
        record::ask_when(draft, carer, &found, dose);
    } else if !settled && draft.now < draft.window_start(&planned) {
        escalate(draft, carer, "[Given]", "early");
    } else {
        record::perform(draft, carer, "[Given]", &given);
    }
}

fn choose(draft: &mut Draft, carer: No, question: No, option: No) {
    let asked = draft.household.questions.get(&question).cloned();
    let open = asked.filter(|q| q.carer == carer && !q.settled && q.expires_at > draft.now);
    let chosen = open.and_then(|q| q.options.get(option as usize).cloned());
    match chosen {
        Some(proposal) => {
            draft.change(Change::QuestionSettled { question });
            let words = draft.household.carers[&carer]
                .said
                .clone()
                .unwrap_or_default();
            propose(draft, carer, &words, &proposal);
        }
        None => nothing_open(draft, carer),
    }
}

/// An old button, or one that was never ours.
pub(super) fn nothing_open(draft: &mut Draft, carer: No) {
    let message = draft
        .to(carer, Kind::Confirm)
        .fact("about", "nothing-open")
        .fact("phone", draft.phone());
    draft.say(message);
}

/// Nothing is recorded; the open doses can be answered by their buttons.
pub(super) fn say_pending(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(course) = draft.course(course) else {
        return;
    };
    let planned = course.planned(dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact("about", "pending")
        .fact("planned", planned.shown())
        .fact("volume_ml", course.plan(dose).volume)
        .fact("phone", draft.phone())
        .button(
            Label::Given,
            Tap::Given {
                course: course.no,
                dose,
            },
        )
        .button(
            Label::NotGiven,
            Tap::NotGiven {
                course: course.no,
                dose,
            },
        );
    draft.say(message);
}
