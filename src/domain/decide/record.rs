//! What is recorded, what is read back first, and what goes to the clinic
//! instead: doses, vials, corrections.

use super::super::Instant;
use super::super::change::Change;
use super::super::household::{
    Administration, Course, Household, Outcome, Planned, Proposal, Status, next_no,
};
use super::super::message::{Kind, Label, Message, No, Recipient, Tap};
use super::super::quantity::Volume;
use super::super::reading::{Day, Record, SaidAmount, SaidSupply, SaidTime, SaidVial, What};
use super::super::supplies::left;
use super::super::supply::Supply;
use super::super::vial::{Draw, Vial, discard_by, spread};
use super::draft::Draft;
use super::owner::{
    escalate, nothing_open, pass_on, pass_on_of, question, say_call_clinic, say_pending,
};
use super::said_time::{meant, part_of};
use super::wake::{say_what_is_short, tell_clinic_of_missed, unsettled};
use chrono::TimeDelta;
use std::sync::Arc;

/// Spoken times are rough: a dose said to be given this long before the
/// vial was said to be mixed may still have come from it.
const ROUGHLY: TimeDelta = TimeDelta::minutes(30);
/// A record about a course that has ended is taken this long after its end.
const AFTER_END: TimeDelta = TimeDelta::hours(36);

/// Hears a record and records it, reads it back, or passes it on.
pub(super) fn hear(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    match record.what {
        What::Given => hear_given(draft, carer, text, record),
        What::NotGiven => hear_not_given(draft, carer, text, record),
        What::NotYet => hear_not_yet(draft, carer, record),
        What::Mixed => hear_mixed(draft, carer, text, record),
        What::Discarded | What::Level | What::OutOfFridge | What::BackInFridge => {
            hear_of_vial(draft, carer, text, record);
        }
        What::TakeBack => hear_take_back(draft, carer, text, record),
        What::SuppliesCounted => hear_supplies(draft, carer, text, record),
    }
}

/// Records what was read back and confirmed, or tapped.
pub(super) fn perform(draft: &mut Draft, carer: No, text: &str, proposal: &Proposal) {
    match proposal.clone() {
        Proposal::Given {
            course,
            dose,
            at,
            by,
            volume,
        } => {
            record_given(
                draft,
                carer,
                text,
                &Given {
                    course,
                    dose,
                    at,
                    by,
                    volume,
                },
            );
        }
        Proposal::NotGiven { course, dose } => record_not_given(draft, carer, course, dose),
        Proposal::Mixed {
            course,
            vial,
            at,
            by,
        } => record_mixed(draft, carer, text, course, vial, at, &by),
        Proposal::Discarded { course, vial, at } => {
            record_discarded(draft, carer, course, vial, at)
        }
        Proposal::Level {
            course,
            vial,
            volume,
        } => record_level(draft, carer, course, vial, volume),
        Proposal::OutOfFridge { course, vial, at } => record_out(draft, carer, course, vial, at),
        Proposal::BackInFridge {
            course,
            vial,
            at,
            minutes,
        } => {
            record_back(draft, carer, text, course, vial, at, minutes);
        }
        Proposal::TakeBack { administration } => take_back(draft, carer, text, administration),
        Proposal::Supplies { course, counts } => record_supplies(draft, carer, course, &counts),
        // A clock and words are heard by whoever asked about them, never recorded as they are.
        Proposal::Zone { .. } => escalate(draft, carer, text, "zone"),
        // Words are heard again by whoever asked about them, never recorded as they are.
        Proposal::About { .. } => escalate(draft, carer, text, "not-understood"),
    }
}

// ---------------------------------------------------------------- which dose

/// A dose that a record may be about, and when it would have been given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Candidate {
    course: No,
    dose: No,
    at: Instant,
}

/// Courses that a record may be about: by the patient's name, else all under way or just ended.
fn courses_meant(draft: &Draft, record: &Record) -> Vec<Arc<Course>> {
    let household = &draft.household;
    let recent = |course: &&Arc<Course>| {
        course.confirmed.is_some()
            && course
                .ended_at
                .is_none_or(|end| end + AFTER_END > draft.now)
    };
    let named = |course: &&Arc<Course>| {
        record
            .patient
            .as_deref()
            .is_none_or(|name| name == household.patient_of(course))
    };
    household
        .courses
        .values()
        .filter(recent)
        .filter(named)
        .cloned()
        .collect()
}

/// Doses planned in a span, by bisection: planned times ascend with the number.
fn doses_between(
    course: &Course,
    household: &Household,
    from: Instant,
    until: Instant,
) -> Vec<(No, Planned)> {
    let (mut low, mut high) = (1, course.doses + 1);
    while low < high {
        let middle = low + (high - low) / 2;
        if course.planned(middle, household.zone).at < from {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    (low..=course.doses)
        .map(|dose| (dose, course.planned(dose, household.zone)))
        .take_while(|(_, planned)| planned.at <= until)
        .collect()
}

/// Whether a dose's wall time is on the day and in the part of it that was named.
fn as_named(draft: &Draft, record: &Record, planned: &Planned) -> bool {
    let today = draft.household.shown(draft.now).date_naive();
    let day = match record.day {
        None => true,
        Some(Day::Today) => planned.local.date() == today,
        Some(Day::Yesterday) => planned.local.date() == today - TimeDelta::days(1),
    };
    day && record
        .part
        .is_none_or(|part| part == part_of(planned.local.time()))
}

/// Doses that are near enough to be meant, with the outcome that is wanted.
fn near(draft: &Draft, course: &Course, wanted: fn(Outcome) -> bool) -> Vec<(No, Planned)> {
    let (from, until) = (
        draft.now - TimeDelta::hours(48),
        draft.now + draft.policy.dose.before,
    );
    doses_between(course, &draft.household, from, until)
        .into_iter()
        .filter(|(dose, _)| wanted(draft.household.outcome(course, *dose)))
        .collect()
}

fn fits(draft: &Draft, planned: &Planned, at: Instant) -> bool {
    draft.window_start(planned) <= at && at < draft.window_end(planned)
}

/// Doses that the record fits: by the time said, else by the part of the day, else those open now.
fn candidates(draft: &Draft, record: &Record, wanted: fn(Outcome) -> bool) -> Vec<Candidate> {
    let times = if record.time.is_some() {
        meant(record, draft.now, draft.household.zone)
    } else {
        vec![draft.now]
    };
    let mut found = Vec::new();
    for course in courses_meant(draft, record) {
        for (dose, planned) in near(draft, &course, wanted) {
            let part_named = record
                .part
                .is_none_or(|part| part == part_of(planned.local.time()));
            // With a time, the day was used to find the instant; without one it must name the dose.
            let named = if record.time.is_some() {
                part_named
            } else {
                as_named(draft, record, &planned)
            };
            if let Some(at) = times.iter().find(|at| named && fits(draft, &planned, **at)) {
                found.push(Candidate {
                    course: course.no,
                    dose,
                    at: *at,
                });
            }
        }
    }
    found
}

fn is_unrecorded(outcome: Outcome) -> bool {
    !matches!(outcome, Outcome::Recorded(_))
}

fn is_not_given(outcome: Outcome) -> bool {
    !super::wake::was_given(outcome)
}

// --------------------------------------------------------------------- given

struct Given {
    course: No,
    dose: No,
    at: Instant,
    by: String,
    volume: Volume,
}

fn hear_given(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    if record.amount == Some(SaidAmount::Part) {
        return ask_amount(draft, carer, text);
    }
    // A dose still without any record is meant before one that was recorded as not given.
    let mut found = candidates(draft, record, is_unrecorded);
    if found.is_empty() {
        found = candidates(draft, record, is_not_given);
    }
    match found.as_slice() {
        [] => given_fits_nothing(draft, carer, text, record),
        [one] => given_fits_one(draft, carer, text, record, *one),
        many => which_one(draft, carer, text, record, many),
    }
}

fn given_fits_one(draft: &mut Draft, carer: No, text: &str, record: &Record, found: Candidate) {
    let Some(course) = draft.course(found.course) else {
        return;
    };
    let planned_volume = course.plan(found.dose).volume;
    let said = match &record.amount {
        Some(SaidAmount::Exact(said)) => Volume::parse(said).ok(),
        _ => Some(planned_volume),
    };
    let Some(volume) = said else {
        return escalate(draft, carer, text, "other-amount");
    };
    let by = who(draft, carer, record);
    let given = Proposal::Given {
        course: found.course,
        dose: found.dose,
        at: found.at,
        by,
        volume,
    };
    if volume != planned_volume {
        escalate(draft, carer, text, "other-amount");
    }
    if record.sure && volume == planned_volume && !half_unclear(draft, record, &found) {
        perform(draft, carer, text, &given);
    } else {
        ask_given(draft, carer, &course, found, volume, given, false);
    }
}

/// Longer ago than this, "at 8" may as well be the other eight o'clock.
const SAME_HALF: TimeDelta = TimeDelta::hours(6);

/// "at 8" of a dose long past, without morning or evening: it may be a slip for the one just due.
fn half_unclear(draft: &Draft, record: &Record, found: &Candidate) -> bool {
    let bare = matches!(
        record.time,
        Some(SaidTime::Clock {
            hour: 1..=12,
            half: None,
            ..
        })
    );
    bare && record.part.is_none() && draft.now - found.at > SAME_HALF
}

fn ask_given(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    found: Candidate,
    volume: Volume,
    given: Proposal,
    late: bool,
) {
    let planned = course.planned(found.dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, course)
        .fact("about", "given")
        .fact("planned", planned.shown())
        .fact("given_at", draft.household.shown(found.at))
        .fact("volume_ml", volume)
        .fact("phone", draft.phone())
        .maybe("late", late.then_some("yes"));
    draft.ask(message, carer, vec![(Label::Yes, given)]);
}

/// Half, some, most: only a figure can be recorded.
fn ask_amount(draft: &mut Draft, carer: No, text: &str) {
    escalate(draft, carer, text, "other-amount");
    let message = draft
        .to(carer, Kind::Confirm)
        .fact("about", "amount")
        .fact("phone", draft.phone());
    draft.say(message);
}

/// No dose without a record fits. A dose that is on record already is never a
/// second dose; everything else is a matter for the clinic.
fn given_fits_nothing(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let on_record = candidates(draft, record, super::wake::was_given);
    if let Some(found) = on_record.last() {
        return say_again(draft, carer, found.course, found.dose);
    }
    let unanswered = unanswered_as_named(draft, record);
    let late = match (record.time, unanswered.as_slice()) {
        (None, [(course, dose, _)]) => return ask_when(draft, carer, course, *dose),
        (Some(_), [(course, dose, planned)]) => {
            let at = meant(record, draft.now, draft.household.zone);
            let at = at.into_iter().find(|at| *at >= draft.window_end(planned));
            at.map(|at| {
                (
                    course.clone(),
                    Candidate {
                        course: course.no,
                        dose: *dose,
                        at,
                    },
                )
            })
        }
        _ => None,
    };
    say_call_clinic(draft, carer, true);
    match &late {
        Some((course, found)) => {
            pass_on_of(draft, carer, text, "outside-window", course, found.dose);
        }
        None => pass_on(draft, carer, text, "outside-window"),
    }
    if let Some((course, found)) = late {
        let volume = course.plan(found.dose).volume;
        let by = who(draft, carer, record);
        let given = Proposal::Given {
            course: found.course,
            dose: found.dose,
            at: found.at,
            by,
            volume,
        };
        ask_given(draft, carer, &course, found, volume, given, true);
    }
}

/// The last dose of each course that is unanswered and named by day and part.
fn unanswered_as_named(draft: &Draft, record: &Record) -> Vec<(Arc<Course>, No, Planned)> {
    courses_meant(draft, record)
        .into_iter()
        .filter_map(|course| {
            let past = near(draft, &course, |_| true)
                .into_iter()
                .filter(|(_, p)| p.at <= draft.now);
            let mut past = past.filter(|(_, planned)| as_named(draft, record, planned));
            let (dose, planned) = past.next_back()?;
            let unrecorded = is_unrecorded(draft.household.outcome(&course, dose));
            unrecorded.then_some((course, dose, planned))
        })
        .collect()
}

/// Asks when a dose was given whose window has closed: the time is not ours to invent.
pub(super) fn ask_when(draft: &mut Draft, carer: No, course: &Course, dose: No) {
    if draft.household.outcome(course, dose) == Outcome::Open && course.is_running() {
        // After an outage its window is closed in this very step, which asks the same.
        return;
    }
    let planned = course.planned(dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, course)
        .fact("about", "when")
        .fact("planned", planned.shown())
        .fact("phone", draft.phone());
    draft.say(message);
}

/// Several doses or patients may be meant: one tap tells.
fn which_one(draft: &mut Draft, carer: No, text: &str, record: &Record, found: &[Candidate]) {
    let mut courses: Vec<No> = found.iter().map(|c| c.course).collect();
    courses.dedup();
    if courses.len() > 1 {
        return which_patient(draft, carer, text, &courses);
    }
    let Some(course) = draft.course(courses[0]) else {
        return;
    };
    let volume = match &record.amount {
        Some(SaidAmount::Exact(said)) => Volume::parse(said).ok(),
        _ => None,
    };
    let by = who(draft, carer, record);
    // Without a time in the words, the doses differ in when they were planned only.
    let same_time = found.iter().all(|c| c.at == found[0].at);
    let options: Vec<(Label, Proposal)> = found
        .iter()
        .map(|c| {
            let volume = volume.unwrap_or(course.plan(c.dose).volume);
            let given = Proposal::Given {
                course: c.course,
                dose: c.dose,
                at: c.at,
                by: by.clone(),
                volume,
            };
            let planned = course.planned(c.dose, draft.household.zone);
            let label = match same_time {
                true => planned.shown(),
                false => draft.household.shown(c.at),
            };
            (Label::Time(label), given)
        })
        .collect();
    if volume.is_some_and(|v| found.iter().any(|c| v != course.plan(c.dose).volume)) {
        escalate(draft, carer, text, "other-amount");
    }
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact(
            "about",
            if same_time {
                "which-dose"
            } else {
                "which-time"
            },
        )
        .fact("phone", draft.phone());
    draft.ask(message, carer, options);
}

pub(super) fn which_patient(draft: &mut Draft, carer: No, text: &str, courses: &[No]) {
    let mut options: Vec<(Label, Proposal)> = Vec::new();
    for course in courses
        .iter()
        .filter_map(|no| draft.household.courses.get(no))
    {
        let name = draft.household.patient_of(course).to_owned();
        if !options
            .iter()
            .any(|(label, _)| *label == Label::Name(name.clone()))
        {
            let about = Proposal::About {
                patient: course.patient,
                text: text.into(),
            };
            options.push((Label::Name(name), about));
        }
    }
    let message = draft
        .to(carer, Kind::Confirm)
        .fact("about", "which-patient")
        .fact("phone", draft.phone());
    draft.ask(message, carer, options);
}

fn who(draft: &Draft, carer: No, record: &Record) -> String {
    record
        .by
        .clone()
        .unwrap_or_else(|| draft.household.carer_name(carer).to_owned())
}

/// The dose is on record: who recorded it and when. A second report is not a second dose.
fn say_again(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(course) = draft.course(course) else {
        return;
    };
    let Some(record) = draft.household.in_force(course.no, dose).cloned() else {
        return;
    };
    let message = say_record(draft, carer, &course, &record).fact("again", "yes");
    draft.say(message);
}

/// One record, as the answer to a question about it.
pub(super) fn say_record(
    draft: &Draft,
    carer: No,
    course: &Course,
    record: &Administration,
) -> Message {
    let planned = course.planned(record.dose, draft.household.zone);
    let given = record.status == Status::Completed;
    draft
        .about(carer, Kind::AnswerLastDose, course)
        .fact("planned", planned.shown())
        .fact("status", if given { "given" } else { "not-given" })
        .fact("by", record.by.as_str())
        .maybe("recorded_by", draft.recorder(record.carer, &record.by))
        .fact("phone", draft.phone())
        .maybe("given_at", given.then(|| draft.household.shown(record.at)))
        .maybe("volume_ml", given.then_some(record.volume))
}

fn record_given(draft: &mut Draft, carer: No, text: &str, given: &Given) {
    let Some(course) = draft.course(given.course) else {
        return nothing_open(draft, carer);
    };
    let outcome = draft.household.outcome(&course, given.dose);
    let was_unanswered = outcome == Outcome::Unanswered;
    let superseded = match outcome {
        Outcome::Recorded(record) if record.status == Status::Completed => {
            return say_again(draft, carer, given.course, given.dose);
        }
        Outcome::Recorded(record) => Some(record.no),
        Outcome::Open | Outcome::Unanswered => None,
    };
    if let Some(administration) = superseded {
        draft.change(Change::AdministrationSuperseded {
            administration,
            at: draft.now,
        });
    }
    let planned = course.planned(given.dose, draft.household.zone);
    let (draws, past_limit) = draw_dose(draft, &course, given);
    let administration = administer(draft, carer, &course, given, &planned, &draws);
    say_given(
        draft,
        carer,
        &course,
        given,
        &planned,
        administration,
        superseded.is_some(),
    );
    if let Some(vial) = past_limit {
        tell_of_past_limit(draft, carer, &course, &vial, given);
    }
    let outside = !fits(draft, &planned, given.at);
    if outside {
        say_call_clinic(draft, carer, true);
    }
    if was_unanswered || outside {
        pass_on_of(draft, carer, text, "late-answer", &course, given.dose);
    } else if superseded.is_some() {
        pass_on_of(draft, carer, text, "corrected", &course, given.dose);
    }
}

/// Where the volume came from. Where only a vial past its limit could have
/// given it, that vial is named, since the record has to be true.
fn draw_dose(draft: &Draft, course: &Course, given: &Given) -> (Vec<Draw>, Option<Vial>) {
    let household = &draft.household;
    let policy = &draft.policy.vial;
    let mut left = household.usable_vials(course, given.at);
    for later in household.usable_vials(course, (given.at + ROUGHLY).min(draft.now)) {
        if !left.iter().any(|(vial, _)| *vial == later.0) {
            left.push(later);
        }
    }
    if !left.is_empty() {
        return (spread(given.volume, &left, policy.loss, policy.split), None);
    }
    let past = course.vials.values().rev().find(|vial| {
        vial.discarded.is_none()
            && vial.discard_by <= given.at
            && !household.remaining(course, vial).is_zero()
    });
    match past {
        Some(vial) => {
            let left = [(vial.no, household.remaining(course, vial))];
            (
                spread(given.volume, &left, policy.loss, policy.split),
                Some(vial.clone()),
            )
        }
        None => (spread(given.volume, &[], policy.loss, policy.split), None),
    }
}

fn administer(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    given: &Given,
    planned: &Planned,
    draws: &[Draw],
) -> No {
    let administration = next_no(&draft.household.administrations);
    draft.change(Change::Administered {
        administration,
        course: course.no,
        dose: given.dose,
        local: planned.local,
        zone: planned.zone,
        planned_at: planned.at,
        given: true,
        at: given.at,
        recorded_at: draft.now,
        by: given.by.clone(),
        carer,
        volume: given.volume,
        draws: draws.iter().map(|d| (d.vial, d.volume, d.lost)).collect(),
    });
    administration
}

fn say_given(
    draft: &mut Draft,
    carer: No,
    course: &Course,
    given: &Given,
    planned: &Planned,
    administration: No,
    corrected: bool,
) {
    let record = draft.household.administrations[&administration].clone();
    let from = record
        .draws
        .iter()
        .rev()
        .find_map(|draw| draw.vial)
        .and_then(|no| course.vials.get(&no));
    let left = from.map(|vial| draft.household.remaining(course, vial));
    let each = draft
        .household
        .next_volume(course)
        .plus(draft.policy.vial.loss);
    let unplaced: Volume = record
        .draws
        .iter()
        .filter(|d| d.vial.is_none())
        .map(|d| d.volume)
        .sum();
    let next = unsettled(&draft.household, course)
        .map(|(_, planned)| planned)
        .find(|p| p.at > planned.at)
        .filter(|_| course.paused.is_none());
    let differs = given.volume != course.plan(given.dose).volume;
    let kind = if corrected {
        Kind::RecordedCorrected
    } else {
        Kind::RecordedGiven
    };
    let message = draft
        .about(carer, kind, course)
        .fact("planned", planned.shown())
        .fact("given_at", draft.household.shown(given.at))
        .fact("by", given.by.as_str())
        .fact("volume_ml", given.volume)
        .maybe("what", corrected.then_some("given"))
        .maybe("phone", corrected.then(|| draft.phone()))
        .maybe("vial", from.map(|vial| vial.no))
        .maybe("remaining_ml", left)
        .maybe("doses_left", left.map(|left| left.holds(each)))
        .maybe("next", next.map(|planned| planned.shown()))
        .maybe("unplaced_ml", (!unplaced.is_zero()).then_some(unplaced))
        .maybe("differs", differs.then_some("yes"))
        .button(Label::TakeBack, Tap::TakeBack { administration });
    draft.say_recorded(carer, message);
}

fn tell_of_past_limit(draft: &mut Draft, carer: No, course: &Course, vial: &Vial, given: &Given) {
    say_call_clinic(draft, carer, true);
    let message = draft
        .to_clinic(Kind::ClinicVialPastLimit)
        .about(draft.household.patient_of(course))
        .fact("vial", vial.no)
        .fact("discard_by", draft.household.shown(vial.discard_by))
        .fact("given_at", draft.household.shown(given.at))
        .fact("volume_ml", given.volume)
        .fact("by", given.by.as_str());
    draft.alert(message, Some((course.no, given.dose)), Some(carer), None);
}

// ----------------------------------------------------------------- not given

fn hear_not_given(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let mut found = candidates(draft, record, is_unrecorded);
    if found.is_empty() && record.time.is_none() {
        found = unanswered_as_named(draft, record)
            .into_iter()
            .map(|(course, dose, _)| Candidate {
                course: course.no,
                dose,
                at: draft.now,
            })
            .collect();
    }
    if found.is_empty() {
        found = candidates(draft, record, |_| true);
    }
    match found.as_slice() {
        [] => escalate(draft, carer, text, "question"),
        [one] if record.sure => propose_not_given(draft, carer, text, one.course, one.dose),
        [one] => ask_not_given(draft, carer, one.course, one.dose),
        many => {
            let mut courses: Vec<No> = many.iter().map(|c| c.course).collect();
            courses.dedup();
            match courses.as_slice() {
                // Two doses of one patient: the later one is meant, the earlier was heard of before.
                [course] => {
                    let dose = many.iter().map(|c| c.dose).max().unwrap_or(1);
                    ask_not_given(draft, carer, *course, dose);
                }
                several => which_patient(draft, carer, text, several),
            }
        }
    }
}

/// Records a dose as not given, after a question where it is on record as given.
pub(super) fn propose_not_given(draft: &mut Draft, carer: No, text: &str, course: No, dose: No) {
    let Some(found) = draft
        .course(course)
        .filter(|c| c.dose_numbers().contains(&dose))
    else {
        return nothing_open(draft, carer);
    };
    let planned = found.planned(dose, draft.household.zone);
    let recorded = match draft.household.outcome(&found, dose) {
        Outcome::Recorded(record) => Some(record.status),
        Outcome::Open | Outcome::Unanswered => None,
    };
    match recorded {
        Some(Status::Completed) => ask_not_given(draft, carer, course, dose),
        Some(Status::NotDone) => say_again(draft, carer, course, dose),
        None if found.paused.is_some() => super::amend::say_paused(draft, carer, &found),
        None if draft.now < draft.window_start(&planned) => {
            escalate(draft, carer, text, "question")
        }
        None => record_not_given(draft, carer, course, dose),
    }
}

fn ask_not_given(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(found) = draft.course(course) else {
        return;
    };
    let planned = found.planned(dose, draft.household.zone);
    let record = draft
        .household
        .in_force(course, dose)
        .filter(|r| r.status == Status::Completed);
    let message = draft
        .about(carer, Kind::Confirm, &found)
        .fact("about", "not-given")
        .fact("planned", planned.shown())
        .maybe("given_at", record.map(|r| draft.household.shown(r.at)))
        .maybe("by", record.map(|r| r.by.as_str()))
        .fact("phone", draft.phone());
    draft.ask(
        message,
        carer,
        vec![(Label::Yes, Proposal::NotGiven { course, dose })],
    );
}

fn record_not_given(draft: &mut Draft, carer: No, course: No, dose: No) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    let superseded = match draft.household.outcome(&found, dose) {
        Outcome::Recorded(record) if record.status == Status::NotDone => {
            return say_again(draft, carer, course, dose);
        }
        Outcome::Recorded(record) => Some(record.no),
        Outcome::Open | Outcome::Unanswered => None,
    };
    if let Some(administration) = superseded {
        draft.change(Change::AdministrationSuperseded {
            administration,
            at: draft.now,
        });
    }
    let planned = found.planned(dose, draft.household.zone);
    let by = draft.household.carer_name(carer).to_owned();
    let administration = next_no(&draft.household.administrations);
    draft.change(Change::Administered {
        administration,
        course,
        dose,
        local: planned.local,
        zone: planned.zone,
        planned_at: planned.at,
        given: false,
        at: draft.now,
        recorded_at: draft.now,
        by: by.clone(),
        carer,
        volume: Volume::ZERO,
        draws: Vec::new(),
    });
    let kind = if superseded.is_some() {
        Kind::RecordedCorrected
    } else {
        Kind::RecordedNotGiven
    };
    let message = draft
        .about(carer, kind, &found)
        .fact("planned", planned.shown())
        .fact("by", by)
        .fact("phone", draft.phone())
        .maybe("what", superseded.map(|_| "not-given"))
        .button(Label::TakeBack, Tap::TakeBack { administration });
    draft.say_recorded(carer, message);
    tell_clinic_of_missed(draft, course, dose, &planned, "not-given");
}

/// "Not yet", or an intention: nothing is recorded.
fn hear_not_yet(draft: &mut Draft, carer: No, record: &Record) {
    let open = Record {
        time: None,
        day: None,
        part: None,
        ..record.clone()
    };
    match candidates(draft, &open, is_unrecorded).first() {
        Some(found) => say_pending(draft, carer, found.course, found.dose),
        None => nothing_open(draft, carer),
    }
}

// ----------------------------------------------------------------- take back

fn hear_take_back(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let courses: Vec<No> = courses_meant(draft, record).iter().map(|c| c.no).collect();
    let last = draft
        .household
        .administrations
        .values()
        .rev()
        .find(|a| a.in_force() && courses.contains(&a.course))
        .filter(|a| a.carer == carer && a.recorded_at + draft.policy.take_back > draft.now)
        .cloned();
    let Some(last) = last else {
        return escalate(draft, carer, text, "question");
    };
    let Some(course) = draft.course(last.course) else {
        return;
    };
    let planned = course.planned(last.dose, draft.household.zone);
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact("about", "taken-back")
        .fact("planned", planned.shown())
        .fact("phone", draft.phone());
    draft.ask(
        message,
        carer,
        vec![(
            Label::Yes,
            Proposal::TakeBack {
                administration: last.no,
            },
        )],
    );
}

/// Takes a record back within the time that the clinic allows for it.
pub(super) fn take_back(draft: &mut Draft, carer: No, text: &str, administration: No) {
    let Some(record) = draft
        .household
        .administrations
        .get(&administration)
        .cloned()
    else {
        return nothing_open(draft, carer);
    };
    if !record.in_force() {
        return nothing_open(draft, carer);
    }
    if record.recorded_at + draft.policy.take_back <= draft.now {
        return escalate(draft, carer, text, "question");
    }
    let Some(course) = draft.course(record.course) else {
        return;
    };
    draft.change(Change::AdministrationSuperseded {
        administration,
        at: draft.now,
    });
    // What the clinic has ended stays ended.
    if !course.is_active() && course.ended_by.is_none() {
        draft.change(Change::CourseResumed { course: course.no });
    }
    let planned = course.planned(record.dose, draft.household.zone);
    let by = draft.household.carer_name(carer).to_owned();
    let message = draft
        .about(carer, Kind::RecordedCorrected, &course)
        .fact("what", "taken-back")
        .fact("planned", planned.shown())
        .fact("by", by)
        .fact("phone", draft.phone());
    draft.say_recorded(carer, message);
    if record.status == Status::NotDone {
        pass_on_of(draft, carer, text, "taken-back", &course, record.dose);
    }
}

// --------------------------------------------------------------------- vials

/// The course whose vial is meant; asks which patient where that is not clear.
fn vial_course(draft: &mut Draft, carer: No, text: &str, record: &Record) -> Option<Arc<Course>> {
    let courses: Vec<Arc<Course>> = courses_meant(draft, record)
        .into_iter()
        .filter(|course| course.is_active())
        .collect();
    match courses.as_slice() {
        [] => {
            escalate(draft, carer, text, "question");
            None
        }
        [one] => Some(one.clone()),
        several => {
            let numbers: Vec<No> = several.iter().map(|c| c.no).collect();
            which_patient(draft, carer, text, &numbers);
            None
        }
    }
}

fn hear_mixed(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let Some(course) = vial_course(draft, carer, text, record) else {
        return;
    };
    match &record.amount {
        Some(SaidAmount::Part) => return escalate(draft, carer, text, "other-amount"),
        Some(SaidAmount::Exact(said))
            if Volume::parse(said) != Ok(course.product.diluent_volume) =>
        {
            return escalate(draft, carer, text, "other-amount");
        }
        _ => {}
    }
    let times = if record.time.is_some() {
        meant(record, draft.now, draft.household.zone)
    } else {
        vec![draft.now]
    };
    // Of the same clock time today and yesterday, the later is meant; twelve hours apart, either may be.
    let day = TimeDelta::hours(23);
    let times: Vec<Instant> = times
        .iter()
        .copied()
        .filter(|at| times[0] - *at < day)
        .collect();
    // People tell of a vial while they use it: twelve hours later nobody does.
    let just_now: Vec<Instant> = times
        .iter()
        .copied()
        .filter(|at| draft.now - *at < draft.policy.dose.window)
        .collect();
    let times = match just_now.is_empty() {
        true => times,
        false => just_now,
    };
    let next = course.next_vial();
    let vial = match record.vial {
        Some(SaidVial::Number(vial)) if course.vials.contains_key(&vial) => {
            return say_mixed_at(draft, carer, &course, vial);
        }
        _ => next,
    };
    let by = who(draft, carer, record);
    let options: Vec<(Label, Proposal)> = times
        .iter()
        .map(|at| {
            let mixed = Proposal::Mixed {
                course: course.no,
                vial,
                at: *at,
                by: by.clone(),
            };
            (Label::Time(draft.household.shown(*at)), mixed)
        })
        .collect();
    let each = draft.household.next_volume(&course);
    let in_use = draft
        .household
        .usable_vials(&course, draft.now)
        .iter()
        .any(|(_, left)| left.holds(each) > 0);
    let at_home = left(&draft.household, &course, Supply::Vials) != Some(0);
    let said_which = matches!(record.vial, Some(SaidVial::New | SaidVial::Number(_)));
    let clear = record.sure
        && (said_which || !in_use)
        && at_home
        && !matches!(record.vial, Some(SaidVial::Number(said)) if said != next);
    match options.as_slice() {
        [] => escalate(draft, carer, text, "question"),
        [(_, mixed)] if clear => {
            let mixed = mixed.clone();
            perform(draft, carer, text, &mixed);
        }
        several => {
            let about = if several.len() > 1 {
                "which-time"
            } else {
                "mixed"
            };
            let message = draft
                .about(carer, Kind::Confirm, &course)
                .fact("about", about)
                .fact("vial", vial)
                .fact("phone", draft.phone())
                .maybe(
                    "mixed_at",
                    (several.len() == 1).then(|| draft.household.shown(times[0])),
                );
            draft.ask(message, carer, several.to_vec());
        }
    }
}

fn say_mixed_at(draft: &mut Draft, carer: No, course: &Course, vial: No) {
    let mixed = course
        .vials
        .get(&vial)
        .map(|v| draft.household.shown(v.mixed_at));
    let message = draft
        .about(carer, Kind::AnswerMixedAt, course)
        .fact("vial", vial)
        .maybe("mixed_at", mixed);
    draft.say(message);
}

fn record_mixed(
    draft: &mut Draft,
    carer: No,
    text: &str,
    course: No,
    vial: No,
    at: Instant,
    by: &str,
) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    if found.vials.contains_key(&vial) {
        return say_mixed_at(draft, carer, &found, vial);
    }
    if !found.is_active() || vial != found.next_vial() {
        return nothing_open(draft, carer);
    }
    let before = left(&draft.household, &found, Supply::Vials);
    draft.change(Change::VialMixed {
        course,
        vial,
        mixed_at: at,
        recorded_at: draft.now,
        by: by.into(),
        available: found.product.available,
        discard_by: discard_by(at, &found.product, draft.household.zone),
    });
    let too_late = place_draws(draft, course, vial);
    let Some(found) = draft.course(course) else {
        return;
    };
    let Some(mixed) = found.vials.get(&vial) else {
        return;
    };
    let left = draft.household.remaining(&found, mixed);
    let each = draft
        .household
        .next_volume(&found)
        .plus(draft.policy.vial.loss);
    let message = draft
        .about(carer, Kind::RecordedMixed, &found)
        .fact("vial", vial)
        .fact("mixed_at", draft.household.shown(at))
        .fact("discard_by", draft.household.shown(mixed.discard_by))
        .fact("remaining_ml", left)
        .fact("doses_left", left.holds(each))
        .fact("by", by);
    let spare = before == Some(0);
    draft.say_recorded(carer, message);
    let mixed = mixed.clone();
    for given in &too_late {
        tell_of_past_limit(draft, carer, &found, &mixed, given);
    }
    say_what_is_short(draft, course);
    if spare {
        pass_on(draft, carer, text, "spare-vial");
    }
}

/// Volumes that were drawn from no known vial are placed on the one that was
/// mixed by then: owners often give first and tell of the mixing afterwards.
/// Gives the doses for which that vial turns out to have been past its limit.
fn place_draws(draft: &mut Draft, course_no: No, vial: No) -> Vec<Given> {
    let mut too_late = Vec::new();
    let Some(course) = draft.course(course_no) else {
        return too_late;
    };
    let Some(mixed) = course.vials.get(&vial) else {
        return too_late;
    };
    let (mixed_at, mut left) = (mixed.mixed_at, mixed.available);
    let loss = draft.policy.vial.loss;
    let open: Vec<Administration> = draft
        .household
        .administrations
        .values()
        .filter(|a| a.in_force() && a.course == course_no && a.at + ROUGHLY >= mixed_at)
        .filter(|a| a.draws.iter().any(|draw| draw.vial.is_none()))
        .cloned()
        .collect();
    for record in open {
        let mut draws = Vec::new();
        for draw in &record.draws {
            let wanted = draw.volume.plus(loss);
            if draw.vial.is_none() && wanted <= left {
                draws.push((Some(vial), draw.volume, loss));
                left = left.less(wanted);
            } else {
                draws.push((draw.vial, draw.volume, draw.lost));
            }
        }
        let placed = draws.iter().any(|(from, ..)| *from == Some(vial));
        if placed && record.at >= mixed.discard_by {
            too_late.push(Given {
                course: course_no,
                dose: record.dose,
                at: record.at,
                by: record.by.clone(),
                volume: record.volume,
            });
        }
        draft.change(Change::DrawsPlaced {
            administration: record.no,
            draws,
        });
    }
    too_late
}

fn hear_of_vial(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let Some(course) = vial_course(draft, carer, text, record) else {
        return;
    };
    let Some((vial, certain)) = vial_meant(draft, &course, record) else {
        return escalate(draft, carer, text, "question");
    };
    let times = if record.time.is_some() {
        meant(record, draft.now, draft.household.zone)
    } else {
        vec![draft.now]
    };
    let Some(at) = times.first().copied() else {
        return escalate(draft, carer, text, "question");
    };
    let (course_no, no) = (course.no, vial.no);
    let proposal = match (record.what, &record.amount) {
        (What::Discarded, _) => Proposal::Discarded {
            course: course_no,
            vial: no,
            at,
        },
        (What::Level, Some(SaidAmount::Exact(said))) => match Volume::parse(said) {
            Ok(volume) => Proposal::Level {
                course: course_no,
                vial: no,
                volume,
            },
            Err(_) => return escalate(draft, carer, text, "other-amount"),
        },
        (What::OutOfFridge, _) => match record.lasted_minutes {
            Some(minutes) => Proposal::BackInFridge {
                course: course_no,
                vial: no,
                at,
                minutes: Some(minutes),
            },
            None => Proposal::OutOfFridge {
                course: course_no,
                vial: no,
                at,
            },
        },
        (What::BackInFridge, _) => Proposal::BackInFridge {
            course: course_no,
            vial: no,
            at,
            minutes: record.lasted_minutes,
        },
        _ => return escalate(draft, carer, text, "other-amount"),
    };
    if record.sure && certain {
        perform(draft, carer, text, &proposal);
    } else {
        ask_of_vial(draft, carer, &course, &vial, proposal);
    }
}

/// The vial that is meant, and whether that is certain enough to record it without asking.
fn vial_meant(draft: &Draft, course: &Course, record: &Record) -> Option<(Vial, bool)> {
    let kept: Vec<&Vial> = course
        .vials
        .values()
        .filter(|v| v.discarded.is_none())
        .collect();
    let holds_a_dose = |vial: &Vial| {
        vial.is_usable(draft.now)
            && draft
                .household
                .remaining(course, vial)
                .holds(draft.household.next_volume(course))
                > 0
    };
    let open = draft.household.open_vial(course, draft.now).cloned();
    let certain = |vial: &Vial| match record.what {
        What::Discarded => !holds_a_dose(vial),
        // What was never said to be out: a vial put away, or one taken home.
        What::BackInFridge => vial.out_since.is_some() || record.lasted_minutes.is_some(),
        _ => true,
    };
    match record.vial {
        Some(SaidVial::Number(no)) => kept
            .iter()
            .find(|v| v.no == no)
            .map(|v| ((*v).clone(), certain(v))),
        Some(SaidVial::Old) => kept.first().map(|v| ((*v).clone(), certain(v))),
        Some(SaidVial::New) => kept.last().map(|v| ((*v).clone(), certain(v))),
        // What is thrown away without a name is the one that is finished or past its limit.
        None if record.what == What::Discarded => {
            let finished: Vec<&&Vial> = kept.iter().filter(|v| !holds_a_dose(v)).collect();
            match finished.as_slice() {
                [one] => Some(((**one).clone(), true)),
                _ => open.map(|v| (v, false)),
            }
        }
        Some(SaidVial::Open) | None => open.map(|v| {
            let certain = certain(&v);
            (v, certain)
        }),
    }
}

fn ask_of_vial(draft: &mut Draft, carer: No, course: &Course, vial: &Vial, proposal: Proposal) {
    let (about, level) = match &proposal {
        Proposal::Discarded { .. } => ("discarded", None),
        Proposal::Level { volume, .. } => ("level", Some(*volume)),
        _ => ("out-of-fridge", None),
    };
    let message = draft
        .about(carer, Kind::Confirm, course)
        .fact("about", about)
        .fact("vial", vial.no)
        .fact("mixed_at", draft.household.shown(vial.mixed_at))
        .fact("phone", draft.phone())
        .maybe("level_ml", level);
    draft.ask(message, carer, vec![(Label::Yes, proposal)]);
}

/// Supplies that somebody counted: the books go on from there.
fn hear_supplies(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let Some(course) = vial_course(draft, carer, text, record) else {
        return;
    };
    let counts: Vec<(Supply, u32)> = record
        .counts
        .iter()
        .map(|count| (supply_said(count.supply), count.pieces))
        .collect();
    if counts.is_empty() {
        return escalate(draft, carer, text, "question");
    }
    let counted = Proposal::Supplies {
        course: course.no,
        counts: counts.clone(),
    };
    if record.sure {
        return perform(draft, carer, text, &counted);
    }
    let count = |supply| {
        counts
            .iter()
            .find(|(s, _)| *s == supply)
            .map(|(_, pieces)| *pieces)
    };
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact("about", "supplies")
        .maybe("vials_left", count(Supply::Vials))
        .maybe("syringes", count(Supply::Syringes))
        .maybe("needles", count(Supply::Needles))
        .maybe("diluent_count", count(Supply::Diluent))
        .fact("phone", draft.phone());
    draft.ask(message, carer, vec![(Label::Yes, counted)]);
}

fn supply_said(said: SaidSupply) -> Supply {
    match said {
        SaidSupply::Vials => Supply::Vials,
        SaidSupply::Needles => Supply::Needles,
        SaidSupply::Syringes => Supply::Syringes,
        SaidSupply::Diluent => Supply::Diluent,
    }
}

fn record_supplies(draft: &mut Draft, carer: No, course: No, counts: &[(Supply, u32)]) {
    for (supply, pieces) in counts {
        draft.change(Change::SuppliesCounted {
            course,
            supply: *supply,
            pieces: *pieces,
            at: draft.now,
        });
    }
    if let Some(course) = draft.course(course) {
        super::answer::supplies(draft, carer, &course);
    }
}

fn record_discarded(draft: &mut Draft, carer: No, course: No, vial: No, at: Instant) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    let Some(kept) = found.vials.get(&vial).filter(|v| v.discarded.is_none()) else {
        return nothing_open(draft, carer);
    };
    let by = draft.household.carer_name(carer).to_owned();
    let thrown = draft.household.remaining(&found, kept);
    draft.change(Change::VialDiscarded {
        course,
        vial,
        at,
        by: by.clone(),
    });
    let message = draft
        .about(carer, Kind::RecordedDiscarded, &found)
        .fact("vial", vial)
        .maybe("remaining_ml", (!thrown.is_zero()).then_some(thrown))
        .fact("by", by);
    draft.say_recorded(carer, message);
    say_what_is_short(draft, course);
}

fn record_level(draft: &mut Draft, carer: No, course: No, vial: No, volume: Volume) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    let Some(kept) = found.vials.get(&vial) else {
        return nothing_open(draft, carer);
    };
    let by = draft.household.carer_name(carer).to_owned();
    let computed = draft.household.remaining(&found, kept);
    draft.change(Change::LevelSeen {
        course,
        vial,
        volume,
        at: draft.now,
    });
    let message = draft
        .about(carer, Kind::RecordedLevel, &found)
        .fact("vial", vial)
        .fact("level_ml", volume)
        .fact("remaining_ml", computed)
        .fact("by", by.as_str());
    draft.say_recorded(carer, message);
    if computed.differs_by(volume) > draft.policy.vial.level_differs {
        say_call_clinic(draft, carer, true);
        let message = draft
            .to_clinic(Kind::ClinicLevelDiffers)
            .about(draft.household.patient_of(&found))
            .fact("vial", vial)
            .fact("level_ml", volume)
            .fact("remaining_ml", computed)
            .fact("by", by);
        draft.alert(message, None, Some(carer), None);
    }
}

fn record_out(draft: &mut Draft, carer: No, course: No, vial: No, at: Instant) {
    draft.change(Change::VialOut {
        course,
        vial,
        since: Some(at),
    });
    say_fridge(draft, carer, course, vial, at, "out", None);
}

fn record_back(
    draft: &mut Draft,
    carer: No,
    text: &str,
    course: No,
    vial: No,
    at: Instant,
    minutes: Option<u32>,
) {
    let since = draft
        .course(course)
        .and_then(|c| c.vials.get(&vial).and_then(|v| v.out_since));
    let counted =
        since.map(|since| u32::try_from((at - since).num_minutes().max(0)).unwrap_or(u32::MAX));
    let minutes = minutes.or(counted);
    draft.change(Change::VialOut {
        course,
        vial,
        since: None,
    });
    say_fridge(draft, carer, course, vial, at, "back", minutes);
    // Whether it may still be used is not ours to say: the clinic is told how long it was out.
    let told = question(draft, carer, text, "out-of-fridge").maybe("minutes", minutes);
    draft.alert(told, None, Some(carer), Some(text));
}

fn say_fridge(
    draft: &mut Draft,
    carer: No,
    course: No,
    vial: No,
    at: Instant,
    state: &str,
    minutes: Option<u32>,
) {
    let Some(found) = draft.course(course) else {
        return;
    };
    let message = Message {
        to: Recipient::Carer(carer),
        ..draft.about(carer, Kind::RecordedOutOfFridge, &found)
    };
    let message = message
        .fact("vial", vial)
        .fact("at", draft.household.shown(at))
        .fact("state", state)
        .fact("phone", draft.phone())
        .maybe("minutes", minutes);
    draft.say(message);
}
