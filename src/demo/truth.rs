//! What the program holds to be true, for the panel beside the phones.

use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::decide::next_look;
use crate::domain::household::{Course, Household, Outcome};
use crate::domain::message::{Kind, No};
use crate::domain::policy::Policy;
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::store::Caused;
use chrono::{DateTime, FixedOffset};
use serde_json::{Value, json};

/// The journal's last lines that are shown.
const LINES: usize = 14;

pub(super) fn truth(
    household: &Household,
    journal: &[Caused],
    policy: &Policy,
    now: Instant,
) -> Value {
    let course = household.courses.values().next_back();
    let lines: Vec<Value> = journal
        .iter()
        .filter_map(|caused| {
            let text = in_words(&caused.change)?;
            Some(json!({ "at": rfc(household.shown(caused.at)), "text": text }))
        })
        .collect();
    json!({
        "vials": course.map(|course| vials(household, course, now)).unwrap_or_default(),
        "next": course.map(|course| next(household, course, policy, now)).unwrap_or_default(),
        "journal": lines[lines.len().saturating_sub(LINES)..],
    })
}

fn rfc(at: DateTime<FixedOffset>) -> String {
    at.to_rfc3339()
}

fn vials(household: &Household, course: &Course, now: Instant) -> Vec<Value> {
    let sealed = left(household, course, Supply::Vials).unwrap_or(0);
    let count = course.next_vial() - 1 + sealed;
    (1..=count)
        .map(|number| match course.vials.get(&number) {
            None => json!({
                "number": number.to_string(),
                "state": "sealed",
                "available_ml": course.product.available.number(),
                "remaining_ml": "",
                "discard_by": "",
            }),
            Some(vial) => {
                let left = household.remaining(course, vial);
                let state = match () {
                    () if vial.discarded.is_some() => "discarded",
                    () if vial.discard_by <= now => "past-limit",
                    () if left.is_zero() => "empty",
                    () => "mixed",
                };
                json!({
                    "number": number.to_string(),
                    "state": state,
                    "available_ml": vial.available.number(),
                    "remaining_ml": left.number(),
                    "discard_by": rfc(household.shown(vial.discard_by)),
                })
            }
        })
        .collect()
}

fn next(household: &Household, course: &Course, policy: &Policy, now: Instant) -> Vec<Value> {
    let mut coming: Vec<(Instant, String)> = Vec::new();
    let open: Vec<(No, Instant)> = course
        .dose_numbers()
        .filter(|dose| course.is_running() && household.outcome(course, *dose) == Outcome::Open)
        .map(|dose| (dose, course.planned(dose, household.zone).at))
        .take(2)
        .collect();
    for (dose, planned) in &open {
        if *planned > now {
            coming.push((*planned, format!("Dose {dose} of {} is due", course.doses)));
        } else {
            let closes = *planned + policy.dose.window;
            let what = format!("Dose {dose}: its window closes, the clinic is told");
            coming.push((closes, what));
            coming.extend(again(course, *dose, *planned, policy, now));
        }
    }
    for vial in course
        .vials
        .values()
        .filter(|v| v.discarded.is_none() && v.discard_by > now)
        .filter(|v| !household.remaining(course, v).is_zero())
    {
        coming.push((
            vial.discard_by,
            format!("Vial {} reaches its limit", vial.no),
        ));
    }
    if let Some(at) = next_look(household, policy)
        && coming.iter().all(|(known, _)| *known != at)
    {
        // What is not listed above: warnings ahead of a vial's limit or of the last vial, alerts that wait.
        let what = "It looks at limits, supplies and what the clinic has not seen";
        coming.push((at, what.into()));
    }
    coming.sort();
    coming
        .into_iter()
        .map(|(at, what)| json!({ "at": rfc(household.shown(at)), "what": what }))
        .collect()
}

/// When a dose that waits for an answer is asked for again.
fn again(
    course: &Course,
    dose: No,
    planned: Instant,
    policy: &Policy,
    now: Instant,
) -> Option<(Instant, String)> {
    course.touched.get(&dose).filter(|dose| dose.asked > 0)?;
    let at = policy
        .dose
        .again
        .iter()
        .filter(|after| **after < policy.dose.window)
        .map(|after| planned + *after)
        .find(|at| *at > now)?;
    Some((at, format!("Dose {dose} is asked for again")))
}

/// A change in a few words; those that only keep the program's own order are left out.
fn in_words(change: &Change) -> Option<String> {
    Some(match change {
        Change::CarerAdded { name, .. } => format!("{name} was named as a carer"),
        Change::CarerJoined { .. } => "A carer joined".into(),
        Change::CarerRemoved { .. } => "A carer was taken off".into(),
        Change::CarerReachable {
            reachable: false, ..
        } => "A carer cannot be reached".into(),
        Change::PatientAdded {
            name,
            species,
            weight,
            ..
        } => format!("{name}, {species}, {weight}"),
        Change::CourseStarted {
            product,
            ordered,
            doses,
            plan,
            ..
        } => {
            format!(
                "Ordered: {} {ordered}, {} a dose, {doses} doses",
                product.name, plan.volume
            )
        }
        Change::CourseEnded { .. } => "The course ended".into(),
        Change::ZoneChanged { zone, .. } => format!("The clock is that of {zone} now"),
        Change::CourseConfirmed { by, .. } => format!("Order confirmed by {by}"),
        Change::SuppliesCounted { supply, pieces, .. } => {
            format!("{pieces} {} at home", supply.name())
        }
        Change::SupplyTold { at: Some(_), .. } => "Told that supplies will not last".into(),
        Change::CourseResumed { .. } => "The course goes on".into(),
        Change::AmendmentEntered { by, what, .. } => {
            format!("{by} wants the order changed: {}", what.name())
        }
        Change::OrderAmended {
            plan, doses, by, ..
        } => match plan {
            Some(plan) => format!(
                "Order changed by {by}: {} a dose, {doses} doses, from dose {} on",
                plan.volume, plan.from
            ),
            None => format!("Order changed by {by}: {doses} doses"),
        },
        Change::CoursePaused { by, .. } => format!("Paused by {by}"),
        Change::PauseEnded { by, plan, .. } => {
            format!("Resumed by {by}, from dose {} on", plan.from)
        }
        Change::CourseStopped { by, .. } => format!("The course was ended by {by}"),
        Change::DoseAsked { dose, .. } => format!("Dose {dose} was asked for"),
        Change::DoseClosed { dose, .. } => format!("Dose {dose}: no answer in its window"),
        Change::Administered {
            dose,
            given: true,
            volume,
            draws,
            by,
            ..
        } => {
            let vials: Vec<String> = draws
                .iter()
                .map(|(vial, volume, _)| match vial {
                    Some(vial) => format!("{volume} from vial {vial}"),
                    None => format!("{volume} from no known vial"),
                })
                .collect();
            format!("Dose {dose}: {volume} given by {by} ({})", vials.join(", "))
        }
        Change::Administered { dose, by, .. } => format!("Dose {dose}: not given, says {by}"),
        Change::AdministrationSuperseded { administration, .. } => {
            format!("Record {administration} was entered in error")
        }
        Change::DrawsPlaced { administration, .. } => {
            format!("Record {administration}: its vial is known now")
        }
        Change::VialMixed {
            vial, available, ..
        } => format!("Vial {vial} mixed, {available}"),
        Change::VialDiscarded { vial, .. } => format!("Vial {vial} discarded"),
        Change::LevelSeen { vial, volume, .. } => format!("Vial {vial}: {volume} seen"),
        Change::VialOut {
            vial,
            since: Some(_),
            ..
        } => format!("Vial {vial} is out of the refrigerator"),
        Change::VialOut {
            vial, since: None, ..
        } => format!("Vial {vial} is back in the refrigerator"),
        Change::VialWarned {
            vial, minutes: 0, ..
        } => format!("Vial {vial}: limit reached"),
        Change::VialWarned { vial, minutes, .. } => {
            format!("Vial {vial}: warned {} h ahead", minutes / 60)
        }
        Change::AlertRaised { kind, .. } => format!("The clinic was told: {}", told(*kind)),
        Change::AlertSeen { by, .. } => format!("Seen by {by}"),
        Change::PersonErased { by, .. } => format!("The people at home were erased by {by}"),
        Change::AlertClimbed { .. } => "Not seen: the next rung was told".into(),
        Change::AlertAnswered { by, .. } => format!("Answered by {by}"),
        Change::AlertEnded { how, by, .. } => {
            format!("Ended, says {by}: {}", how.name().replace('-', " "))
        }
        Change::AmendmentAffirmed { .. }
        | Change::AmendmentSettled { .. }
        | Change::CarerMoved { .. }
        | Change::SupplyTold { .. }
        | Change::CarerReachable { .. }
        | Change::CarerSaid { .. }
        | Change::CarerPhone { .. }
        | Change::QuestionAsked { .. }
        | Change::QuestionSettled { .. } => return None,
    })
}

/// What an alert is about, in the journal's few words.
fn told(kind: Kind) -> &'static str {
    match kind {
        Kind::ClinicMissedDose => "a missed dose",
        Kind::ClinicQuestion => "an owner’s words",
        Kind::ClinicEmergency => "signs of an emergency",
        Kind::ClinicVialPastLimit => "a dose from a vial past its limit",
        Kind::ClinicSupplyLow => "supplies that will not last",
        Kind::ClinicLevelDiffers => "a level that differs from the books",
        Kind::ClinicUnreachable => "a carer who cannot be reached",
        Kind::ClinicOutage => "doses that could not be asked for",
        other => other.name(),
    }
}
