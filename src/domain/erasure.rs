//! What of a household is the people's, and what is the patient's.
//!
//! An owner may ask that their data be erased. What happened to the patient
//! stays: doses, volumes, vials and times, and who at the clinic did what. What
//! goes is whoever lives with it: names, chats, and every word they wrote. In
//! the place of a name there is a number, so that it still shows that two
//! records were made by the same person.
//!
//! Whatever is added to [`Household`] has to be judged here: the compiler asks.

use super::alert::{Alert, Answer};
use super::amendment::{Alteration, Amendment};
use super::household::{Carer, Course, Household};
use super::message::{Facts, No, Value};
use super::vial::Vial;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What stands where a name or an address stood.
pub const ERASED: &str = "erased";

/// The name of a person of the household once it is erased.
pub fn erased_name(carer: No) -> String {
    format!("carer {carer}")
}

/// Who did something, as far as that is known once the people are erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct People {
    carers: BTreeMap<String, No>,
    clinic: BTreeSet<String>,
}

/// Somebody at home who is none of the carers.
const SOMEBODY: &str = "somebody at home";

impl People {
    /// The people in a household's record.
    pub fn of(household: &Household) -> People {
        let mut clinic: BTreeSet<&String> = BTreeSet::new();
        for course in household.courses.values() {
            clinic.extend([&course.entered_by, &course.veterinarian]);
            clinic.extend(course.confirmed.iter().map(|(_, by)| by));
            clinic.extend(&course.ended_by);
            clinic.extend(course.paused.iter().map(|(_, by)| by));
        }
        for alert in household.alerts.values() {
            clinic.extend(alert.seen.iter().map(|(_, by)| by));
            clinic.extend(alert.replies.iter().map(|answer| &answer.by));
            clinic.extend(alert.ended.iter().map(|ended| &ended.by));
        }
        for amendment in household.amendments.values() {
            clinic.insert(&amendment.entered_by);
            clinic.extend(amendment.settled.iter().map(|settled| &settled.by));
        }
        People {
            carers: household
                .carers
                .values()
                .map(|carer| (carer.name.clone(), carer.no))
                .collect(),
            clinic: clinic.into_iter().cloned().collect(),
        }
    }

    /// The names of the people at home.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.carers.keys().map(String::as_str)
    }

    /// What stands for the name of whoever did something. People of the clinic keep theirs.
    pub(super) fn erase(&self, by: &mut String) {
        if let Some(carer) = self.carers.get(by) {
            *by = erased_name(*carer);
        } else if !self.clinic.contains(by) {
            *by = SOMEBODY.into();
        }
    }

    /// A wish for another carer, or for one less, names them.
    pub(super) fn erase_alteration(&self, what: &mut Alteration) {
        if let Alteration::CarerAdded(name) | Alteration::CarerRemoved(name) = what {
            *name = match self.carers.get(name) {
                Some(carer) => erased_name(*carer),
                None => SOMEBODY.into(),
            };
        }
    }
}

/// Takes the people out of a household.
pub fn erase(household: &mut Household) {
    let people = People::of(household);
    let Household {
        id: _,
        clinic: _,
        owner,
        language: _,
        // Planned times are read on its clock.
        zone: _,
        carers,
        patients: _,
        courses,
        administrations,
        questions,
        alerts,
        amendments,
    } = household;
    *owner = ERASED.into();
    for carer in carers.values_mut() {
        let Carer {
            no,
            name,
            chat,
            reachable,
            said,
            phone,
        } = carer;
        *name = erased_name(*no);
        *chat = None;
        *reachable = false;
        *said = None;
        *phone = None;
    }
    for Course { vials, .. } in courses.values_mut().map(Arc::make_mut) {
        for Vial { by, discarded, .. } in vials.values_mut() {
            people.erase(by);
            if let Some(discarded) = discarded {
                people.erase(&mut discarded.by);
            }
        }
    }
    for record in administrations.values_mut() {
        people.erase(&mut record.by);
    }
    for question in questions.values_mut() {
        question.options.clear();
    }
    for alert in alerts.values_mut() {
        let Alert {
            text,
            facts,
            replies,
            ..
        } = alert;
        *text = None;
        erase_facts(facts);
        for Answer { words, .. } in replies {
            words.clear();
        }
    }
    for Amendment { what, .. } in amendments.values_mut() {
        people.erase_alteration(what);
    }
}

/// What a message stated in words: names and what somebody said. Times, volumes and counts stay.
pub(super) fn erase_facts(facts: &mut Facts) {
    facts.retain(|_, fact| !matches!(fact, Value::Text(_)));
}
