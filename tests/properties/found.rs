//! What a property or a reading of the code found once, each as a story of its own.

use crate::behaviour::{Act, Life, Setting};
use crate::home::at;
use crate::rules;
use vialbell::domain::message::Kind;

fn setting() -> Setting {
    Setting {
        zone: "Europe/Lisbon",
        first: "2026-02-10T13:00:00",
        times: &["01:00:00", "13:00:00"],
        product: "brackenreed",
        dose: "0.7 mL",
        doses: 6,
        two_patients: false,
        loss: "0",
        split: false,
        language: "en",
    }
}

fn say(text: &str) -> Act {
    Act::Say(1, text.into())
}

#[test]
fn a_dose_that_was_asked_for_before_everybody_left_is_not_looked_at_every_moment() {
    let mut life = Life::begin(1, &setting());
    let mut hold = |decided: &crate::behaviour::Decided| rules::hold(decided);
    life.join(&mut hold);
    life.pass(at("2026-02-10T13:05:00Z"), &mut hold);
    life.act(&Act::Gone(1), &mut hold);
    life.act(&Act::Gone(2), &mut hold);
    assert_eq!(
        life.wake_at,
        Some(at("2026-02-10T15:15:00Z")),
        "the clinic is told again that nobody is reached, a quarter of an hour after it opens"
    );
    life.pass(at("2026-02-10T15:59:00Z"), &mut hold);
    assert_eq!(
        life.wake_at,
        Some(at("2026-02-10T16:00:00Z")),
        "the end of its window"
    );
    life.pass(at("2026-02-10T16:00:00Z"), &mut hold);
    rules::no_dose_is_forgotten(&life);
}

#[test]
fn a_mixing_told_afterwards_that_makes_the_vial_too_old_is_told_to_the_clinic() {
    let mut life = Life::begin(1, &setting());
    let mut hold = |decided: &crate::behaviour::Decided| rules::hold(decided);
    life.join(&mut hold);
    life.pass(at("2026-02-11T13:10:00Z"), &mut hold);
    life.act(&say("given"), &mut hold);
    let told = |life: &Life| {
        let kinds = life.said.iter().map(|(_, message)| message.kind);
        kinds
            .filter(|kind| *kind == Kind::ClinicVialPastLimit)
            .count()
    };
    assert_eq!(told(&life), 0);
    // Mixed 36 hours and ten minutes before the dose: the product keeps for 36.
    life.act(&say("mixed yesterday at 1 am"), &mut hold);
    assert_eq!(life.household.courses[&1].vials.len(), 1, "it was recorded");
    assert_eq!(told(&life), 1);
}

#[test]
fn who_writes_where_they_are_after_the_last_dose_gets_an_answer() {
    // Seed 16 of the simulation: the household lives there anyway, no course is
    // under way, and nothing was said at all.
    let mut life = Life::begin(1, &setting());
    let mut hold = |decided: &crate::behaviour::Decided| rules::hold(decided);
    life.join(&mut hold);
    life.pass(at("2026-02-20T12:00:00Z"), &mut hold);
    assert!(life.household.active_courses().next().is_none());
    let before = life.said.len();
    life.act(&say("we are in Lisbon this week"), &mut hold);
    let said: Vec<Kind> = life.said[before..].iter().map(|(_, m)| m.kind).collect();
    assert_eq!(said, [Kind::AnswerClinicContact]);
}
