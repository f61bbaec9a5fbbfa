//! What the program holds to be true, for the panel beside the phones.

use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::decide::next_look;
use crate::domain::household::{Course, Household, Outcome};
use crate::domain::policy::Policy;
use crate::domain::supplies::{Supply, left};
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
    if let Some(at) = next_look(household, policy) {
        coming.push((at, "The program looks again".into()));
    }
    let open = course
        .dose_numbers()
        .filter(|dose| household.outcome(course, *dose) == Outcome::Open);
    for dose in open.take(2) {
        let planned = course.planned(dose, household.zone);
        let what = if planned.at <= now {
            "is open"
        } else {
            "is due"
        };
        coming.push((
            planned.at,
            format!("Dose {dose} of {} {what}", course.doses),
        ));
    }
    for vial in course
        .vials
        .values()
        .filter(|v| v.discarded.is_none() && v.discard_by > now)
    {
        if !household.remaining(course, vial).is_zero() {
            coming.push((
                vial.discard_by,
                format!("Vial {} reaches its limit", vial.no),
            ));
        }
    }
    coming.sort();
    coming
        .into_iter()
        .map(|(at, what)| json!({ "at": rfc(household.shown(at)), "what": what }))
        .collect()
}

/// A change in a few words; those that only keep the program's own order are left out.
fn in_words(change: &Change) -> Option<String> {
    Some(match change {
        Change::CarerAdded { name, .. } => format!("{name} was named as a carer"),
        Change::CarerJoined { .. } => "A carer joined".into(),
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
        Change::CourseConfirmed { by, .. } => format!("Order confirmed by {by}"),
        Change::SuppliesCounted { supply, pieces, .. } => {
            format!("{pieces} {} at home", supply.name())
        }
        Change::SupplyTold { at: Some(_), .. } => "Told that supplies will not last".into(),
        Change::CourseResumed { .. } => "The course goes on".into(),
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
        Change::AlertRaised { kind, .. } => format!("The clinic was told ({kind})"),
        Change::AlertSeen { by, .. } => format!("Seen by {by}"),
        Change::CarerMoved { .. }
        | Change::SupplyTold { .. }
        | Change::CarerReachable { .. }
        | Change::CarerSaid { .. }
        | Change::QuestionAsked { .. }
        | Change::QuestionSettled { .. } => return None,
    })
}
