//! The rules, each checked after every single decision.

use crate::behaviour::{Decided, Life};
use std::collections::BTreeMap;
use std::sync::LazyLock;
use vialbell::domain::decide::{Input, decide};
use vialbell::domain::household::{Course, Household, Outcome, Status};
use vialbell::domain::message::{Kind, Message, Recipient, Tap, Value};
use vialbell::domain::quantity::Volume;
use vialbell::wording::Wording;

static WORDING: LazyLock<Wording> = LazyLock::new(|| Wording::load().unwrap());

/// Everything that must hold after a decision.
pub fn hold(decided: &Decided) {
    let household = &decided.decision.household;
    at_most_one_record_in_force(household);
    volumes_are_conserved(household);
    a_draw_past_a_limit_is_told(household);
    it_comes_to_rest(decided);
    for message in &decided.decision.messages {
        a_message_is_whole(message, household);
        nothing_is_offered_past_its_limit(message, decided);
    }
}

fn at_most_one_record_in_force(household: &Household) {
    let mut seen: BTreeMap<_, u32> = BTreeMap::new();
    for record in household.administrations.values().filter(|a| a.in_force()) {
        let count = seen.entry((record.course, record.dose)).or_default();
        *count += 1;
        assert_eq!(*count, 1, "two records in force for dose {}", record.dose);
        let course = &household.courses[&record.course];
        assert!(course.dose_numbers().contains(&record.dose));
    }
}

fn drawn(household: &Household, course: &Course, vial: u32) -> (Volume, Volume) {
    let draws = household
        .administrations
        .values()
        .filter(|a| a.in_force() && a.course == course.no)
        .flat_map(|a| &a.draws)
        .filter(|draw| draw.vial == Some(vial));
    draws.fold((Volume::ZERO, Volume::ZERO), |(volume, lost), draw| {
        (volume.plus(draw.volume), lost.plus(draw.lost))
    })
}

fn volumes_are_conserved(household: &Household) {
    for course in household.courses.values() {
        for vial in course.vials.values() {
            let (volume, lost) = drawn(household, course, vial.no);
            let left = household.remaining(course, vial);
            assert_eq!(
                vial.available,
                volume.plus(lost).plus(left),
                "vial {}: drawn {volume}, lost {lost}, left {left}",
                vial.no
            );
        }
    }
    for record in household.administrations.values() {
        let sum: Volume = record.draws.iter().map(|draw| draw.volume).sum();
        match record.status {
            Status::Completed => assert_eq!(sum, record.volume, "what was given was drawn"),
            Status::NotDone => assert!(sum.is_zero() && record.volume.is_zero()),
        }
    }
}

/// A dose that is on record as drawn from a vial past its limit was told to the clinic.
fn a_draw_past_a_limit_is_told(household: &Household) {
    for record in household.administrations.values().filter(|a| a.in_force()) {
        let course = &household.courses[&record.course];
        for vial in record.draws.iter().filter_map(|draw| draw.vial) {
            let vial = &course.vials[&vial];
            let told = household.alerts.values().any(|alert| {
                alert.kind == Kind::ClinicVialPastLimit
                    && alert.dose == Some((record.course, record.dose))
            });
            assert!(
                record.at < vial.discard_by || told,
                "dose {} at {} was drawn from vial {} past {}",
                record.dose,
                record.at,
                vial.no,
                vial.discard_by
            );
        }
    }
}

/// Nothing is left to do at this instant, and the next look lies ahead.
fn it_comes_to_rest(decided: &Decided) {
    let decision = decided.decision;
    if let Some(wake) = decision.wake_at {
        assert!(wake > decided.now, "at {}: wakes at {wake}", decided.now);
    }
    let again = decide(
        &decision.household,
        &Input::Wake,
        decided.now,
        decided.policy,
    );
    assert_eq!(again.changes, vec![], "after {:?}", decided.input);
    assert_eq!(again.messages, vec![], "after {:?}", decided.input);
    assert_eq!(again.wake_at, decision.wake_at);
}

fn a_message_is_whole(message: &Message, household: &Household) {
    let reachable = match message.to {
        Recipient::Carer(no) => household.reachable_carers().any(|carer| carer == no),
        Recipient::Clinic | Recipient::Staff(_) | Recipient::Asker => message.kind.is_for_clinic(),
        Recipient::Stranger => false,
    };
    // A carer who was just found to be closed to us may be spoken to no more.
    assert!(reachable, "{:?} to {:?}", message.kind, message.to);
    for button in &message.buttons {
        let data = button.tap.encode();
        assert!(data.len() <= 64, "{data}");
        assert_eq!(Tap::decode(&data), Some(button.tap));
    }
    let rendered = WORDING.render(message, &household.language);
    assert!(!rendered.text.trim().is_empty(), "{message:?}");
    // The limit of Telegram's sendMessage: 4096 characters after entities parsing.
    assert!(rendered.text.chars().count() <= 4096, "{message:?}");
}

/// A vial that a dose is asked from is neither past its limit nor discarded, and holds enough.
fn nothing_is_offered_past_its_limit(message: &Message, decided: &Decided) {
    if !matches!(message.kind, Kind::DoseDue | Kind::DoseAgain) {
        return;
    }
    let household = &decided.decision.household;
    let Some(Value::Count(offered)) = message.facts.get("vial") else {
        return;
    };
    let Some(Tap::Given { course, dose }) = message.buttons.first().map(|button| button.tap) else {
        panic!("a dose is asked for without its button: {message:?}");
    };
    let course = &household.courses[&course];
    let vial = &course.vials[&u32::try_from(*offered).unwrap()];
    assert!(vial.is_usable(decided.now), "{vial:?} at {}", decided.now);
    assert!(household.remaining(course, vial) >= course.plan(dose).volume);
}

/// Every dose whose window has passed has an outcome, and where it was not
/// given the clinic has been told of this dose.
pub fn no_dose_is_forgotten(life: &Life) {
    let household = &life.household;
    for course in household.courses.values() {
        for dose in course.dose_numbers() {
            let planned = course.planned(dose, household.zone);
            if planned.at + life.policy.dose.window > life.now {
                continue;
            }
            let told = match household.outcome(course, dose) {
                Outcome::Open => panic!("dose {dose} of {planned:?} is open at {}", life.now),
                Outcome::Recorded(record) if record.status == Status::Completed => true,
                Outcome::Recorded(_) | Outcome::Unanswered => {
                    told_of_dose(household, course.no, dose)
                        || told_of_outage(life, household.patient_of(course), planned.at)
                }
            };
            assert!(
                told,
                "dose {dose} of {planned:?} was never told to the clinic"
            );
        }
    }
}

fn told_of_dose(household: &Household, course: u32, dose: u32) -> bool {
    household.alerts.values().any(|alert| {
        matches!(alert.kind, Kind::ClinicMissedDose | Kind::ClinicOutage)
            && alert.dose == Some((course, dose))
    })
}

fn told_of_outage(life: &Life, patient: &str, planned: vialbell::domain::Instant) -> bool {
    life.said.iter().any(|(_, message)| {
        let (from, last) = (message.facts.get("planned"), message.facts.get("last"));
        let (Some(Value::At(from)), Some(Value::At(last))) = (from, last) else {
            return false;
        };
        message.kind == Kind::ClinicOutage
            && message.patient.as_deref() == Some(patient)
            && *from <= planned
            && planned <= *last
    })
}
