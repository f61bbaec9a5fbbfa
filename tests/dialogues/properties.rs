//! What must be true of every dialogue, whatever it is about.

use std::collections::{BTreeMap, BTreeSet};

use chrono::DateTime;
use serde_json::Value as Json;
use vialbell::domain::message::{Kind, Recipient, Value};
use vialbell::engine::Delivered;
use vialbell::rehearse::{Happened, What, Who, World, json_line};

use crate::play::{Played, carer_of};

/// All that is broken, in words.
pub fn broken(played: &Played) -> Vec<String> {
    [
        one_record_in_force_for_each_dose(played),
        no_dose_recorded_twice(played),
        asked_in_time_and_once(played),
        no_vial_offered_past_its_limit(played),
        missed_doses_were_asked_for(played),
        no_names_of_other_households(played),
        json_has_its_fields(played),
        journal_gives_the_household(played),
        nobody_is_left_without_an_answer(played),
        nothing_waits(played),
        no_pile_of_messages(played),
    ]
    .concat()
}

fn one_record_in_force_for_each_dose(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    for household in &played.households {
        let mut counted: BTreeMap<(u32, u32), u32> = BTreeMap::new();
        for record in household.administrations.values().filter(|a| a.in_force()) {
            *counted.entry((record.course, record.dose)).or_default() += 1;
        }
        for ((course, dose), count) in counted.into_iter().filter(|(_, count)| *count > 1) {
            broken.push(format!(
                "{count} records of dose {dose} of course {course} count"
            ));
        }
    }
    broken
}

/// Between two reports that a dose was recorded as given there is a correction.
fn no_dose_recorded_twice(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    let mut given = BTreeSet::new();
    for one in played.sent_of(&[Kind::RecordedGiven, Kind::RecordedCorrected]) {
        let message = &one.message;
        if message.facts.get("own") != Some(&"yes".into()) {
            continue;
        }
        let dose = (one.household, message.patient.clone(), planned(one));
        let now_given = message.kind == Kind::RecordedGiven
            || message.facts.get("what") == Some(&"given".into());
        if !now_given {
            given.remove(&dose);
        } else if !given.insert(dose) {
            broken.push(format!("recorded twice: {}", one.outgoing.text));
        }
    }
    broken
}

fn asked_in_time_and_once(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    let mut asked = BTreeSet::new();
    for one in played.sent_of(&[Kind::DoseDue, Kind::DoseAgain]) {
        let planned = planned(one);
        if one.at < planned {
            broken.push(format!(
                "asked at {}, before {planned}: {}",
                one.at, one.outgoing.text
            ));
        }
        let key = (carer_of(one), one.message.patient.clone(), planned);
        if one.message.kind == Kind::DoseDue && !asked.insert(key) {
            broken.push(format!(
                "asked for the first time twice: {}",
                one.outgoing.text
            ));
        }
    }
    broken
}

fn no_vial_offered_past_its_limit(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    let mut past = BTreeSet::new();
    for one in played.sent_of(&[Kind::VialLimitReached, Kind::DoseDue, Kind::VialMixNext]) {
        let facts = &one.message.facts;
        for key in ["vial", "from_vial", "then_vial"] {
            let Some(Value::Count(vial)) = facts.get(key) else {
                continue;
            };
            let vial = (one.household, one.message.patient.clone(), *vial);
            if one.message.kind == Kind::VialLimitReached {
                past.insert(vial);
            } else if past.contains(&vial) {
                broken.push(format!("offered past its limit: {}", one.outgoing.text));
            }
        }
    }
    broken
}

/// The clinic hears of a missed dose only where a carer was asked for it, said
/// that it was not given, or where nobody could be asked and the clinic knows.
fn missed_doses_were_asked_for(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    let mut known = BTreeSet::new();
    let mut unreachable = BTreeSet::new();
    for one in played.sent() {
        let dose = || (one.household, one.message.patient.clone(), planned(one));
        match one.message.kind {
            Kind::DoseDue | Kind::DoseAgain | Kind::RecordedNotGiven | Kind::RecordedCorrected => {
                known.insert(dose());
            }
            Kind::ClinicUnreachable => {
                unreachable.insert(one.household);
            }
            Kind::ClinicMissedDose
                if !known.contains(&dose()) && !unreachable.contains(&one.household) =>
            {
                broken.push(format!(
                    "missed, yet never asked for: {}",
                    one.outgoing.text
                ));
            }
            _ => {}
        }
    }
    broken
}

fn no_names_of_other_households(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    for one in played.sent().filter(|one| carer_of(one).is_some()) {
        for other in &played.households {
            if Some(other.id) == one.household {
                continue;
            }
            let carers = other.carers.values().map(|carer| &carer.name);
            let patients = other.patients.values().map(|patient| &patient.name);
            // Two animals may have one name.
            let own = played
                .households
                .iter()
                .find(|h| Some(h.id) == one.household);
            let is_own = |name: &String| {
                own.is_some_and(|own| own.patients.values().any(|patient| patient.name == *name))
            };
            for name in carers.chain(patients).filter(|name| !is_own(name)) {
                if one.outgoing.text.contains(name.as_str()) {
                    broken.push(format!("{name} is not theirs: {}", one.outgoing.text));
                }
            }
        }
    }
    broken
}

fn json_has_its_fields(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    for one in &played.happened {
        let Happened::Sent { delivered, zone } = one else {
            continue;
        };
        let line = json_line(delivered, *zone);
        if let Err(why) = check_json(&line, delivered) {
            broken.push(format!("{why}: {line}"));
        }
    }
    broken
}

fn check_json(line: &str, delivered: &Delivered) -> Result<(), String> {
    let json: Json = serde_json::from_str(line).map_err(|why| why.to_string())?;
    let mut keys: Vec<&str> = json
        .as_object()
        .ok_or("no object")?
        .keys()
        .map(String::as_str)
        .collect();
    keys.sort_unstable();
    if keys != ["at", "buttons", "facts", "kind", "patient", "text", "to"] {
        return Err(format!("fields {keys:?}"));
    }
    let at = json["at"]
        .as_str()
        .and_then(|at| DateTime::parse_from_rfc3339(at).ok());
    if at.map(|at| at.to_utc()) != Some(delivered.at) {
        return Err("at".into());
    }
    if json["text"].as_str().is_none_or(str::is_empty) {
        return Err("no text".into());
    }
    if !json["buttons"]
        .as_array()
        .is_some_and(|all| all.iter().all(Json::is_string))
    {
        return Err("buttons".into());
    }
    for (key, fact) in json["facts"].as_object().ok_or("no facts")? {
        if let (true, Some(number)) = (key.ends_with("_ml"), fact.as_str()) {
            let trailing = number.contains('.') && number.ends_with(['0', '.']);
            let plain = number.chars().all(|c| c.is_ascii_digit() || c == '.');
            if trailing || !plain || number.starts_with('.') || number.is_empty() {
                return Err(format!("{key} is {number}"));
            }
        } else if key.ends_with("_ml") {
            return Err(format!("{key} is no text"));
        }
    }
    Ok(())
}

fn journal_gives_the_household(played: &Played) -> Vec<String> {
    let pairs = played.households.iter().zip(&played.replayed);
    pairs
        .filter(|(loaded, replayed)| loaded != replayed)
        .map(|(loaded, _)| format!("the journal of {} gives another household", loaded.owner))
        .collect()
}

/// Whatever a carer writes, taps or sends is answered in that chat at once.
fn nobody_is_left_without_an_answer(played: &Played) -> Vec<String> {
    let mut broken = Vec::new();
    let mut down_until = None;
    for (index, one) in played.happened.iter().enumerate() {
        let Happened::Played { line, .. } = one else {
            continue;
        };
        if let What::World(World::DownUntil(until)) = &line.what {
            down_until = Some(*until);
        }
        let speaks = matches!(line.what, What::Text(_) | What::Tap(_))
            && matches!(line.who, Who::Owner { .. });
        if !speaks || down_until.is_some_and(|until| line.at < until) {
            continue;
        }
        let answered = played.happened[index + 1..]
            .iter()
            .map_while(|next| match next {
                Happened::Sent { delivered, .. } => Some(delivered),
                Happened::Played { .. } => None,
            })
            // One who was taken off is a stranger, who gets the clinic's number.
            .filter(|sent| carer_of(sent).is_some() || sent.message.to == Recipient::Stranger)
            .any(|sent| sent.at == line.at.to_utc());
        if !answered {
            broken.push(format!(
                "line {}: no answer to {:?}",
                line.number, line.what
            ));
        }
    }
    broken
}

fn nothing_waits(played: &Played) -> Vec<String> {
    match played.unsent {
        0 => Vec::new(),
        count => vec![format!("{count} messages were never sent")],
    }
}

/// One thing that happens gives a carer a few messages about a patient, never a pile.
fn no_pile_of_messages(played: &Played) -> Vec<String> {
    const MOST: u32 = 3;
    let mut counted: BTreeMap<_, u32> = BTreeMap::new();
    for one in played.sent().filter(|one| carer_of(one).is_some()) {
        let key = (
            one.at,
            one.chat.address.clone(),
            one.message.patient.clone(),
        );
        *counted.entry(key).or_default() += 1;
    }
    counted
        .into_iter()
        .filter(|(_, count)| *count > MOST)
        .map(|((at, to, _), count)| format!("{count} messages at once, {at}, to {to}"))
        .collect()
}

fn planned(one: &Delivered) -> chrono::DateTime<chrono::Utc> {
    match one.message.facts.get("planned") {
        Some(Value::At(at)) => at.to_utc(),
        _ => DateTime::UNIX_EPOCH,
    }
}
