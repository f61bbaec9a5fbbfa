//! Buttons go from every phone once they mean nothing any more, and stay as long as they do.

use super::fake::{CLINIC, Clinic, unclear};
use super::home::at;
use chrono::TimeDelta;
use std::time::Duration;
use vialbell::channel::{Outgoing, Sent};
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;

/// At the first dose, which both carers were asked for.
async fn due() -> (Clinic, Instant) {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.says("maren", "mixed").await;
    let dose = at("2026-03-06T02:30:00Z");
    clinic.pass(start, dose).await;
    clinic.platform.taken(CLINIC);
    (clinic, dose)
}

fn tap(message: &Outgoing, label: &str) -> Body {
    let button = message.buttons.iter().find(|button| button.label == label);
    Body::Tap(button.unwrap().data.clone())
}

fn none(address: &str) -> (String, Vec<String>) {
    (address.into(), Vec::new())
}

#[tokio::test]
async fn a_dose_that_one_carer_records_is_closed_in_every_phone() {
    let (mut clinic, dose) = due().await;
    // Asked for twice by then: two messages in each phone.
    let asked_again = dose + TimeDelta::minutes(30);
    clinic.pass(dose, asked_again).await;
    let asked = clinic.platform.taken("maren-other");
    let with_buttons = asked.iter().filter(|message| !message.buttons.is_empty());
    assert_eq!(with_buttons.count(), 2, "{asked:?}");
    assert_eq!(clinic.platform.changes(), []);

    clinic
        .arrive("maren", tap(asked.last().unwrap(), "Given"))
        .await;
    let soon = asked_again + TimeDelta::seconds(10);
    clinic.pass(asked_again, soon).await;
    let mut changes = clinic.platform.changes();
    changes.sort();
    let expected = [
        none("maren"),
        none("maren"),
        none("maren-other"),
        none("maren-other"),
    ];
    assert_eq!(changes, expected);
    clinic.pass(soon, soon + TimeDelta::minutes(3)).await;
    assert_eq!(clinic.platform.changes(), [], "once is enough");
}

#[tokio::test]
async fn a_dose_that_was_not_settled_after_all_keeps_its_buttons() {
    let (mut clinic, dose) = due().await;
    let reminder = clinic.platform.taken("maren").pop().unwrap();
    // Another clock is read back first.
    clinic.says("maren", "we are in Chicago now").await;
    clinic.step(dose).await;
    let which = clinic.platform.taken("maren").pop().unwrap();
    let no = which.buttons.last().unwrap().label.clone();
    clinic.arrive("maren", tap(&which, &no)).await;
    let soon = dose + TimeDelta::seconds(20);
    clinic.pass(dose, soon).await;
    assert_eq!(
        clinic.platform.changes(),
        [none("maren")],
        "of the question only"
    );
    clinic.arrive("maren", tap(&reminder, "Given")).await;
    clinic.pass(soon, soon + TimeDelta::seconds(20)).await;
    let changes = clinic.platform.changes();
    assert!(changes.contains(&none("maren-other")), "{changes:?}");
}

#[tokio::test]
async fn a_reminder_of_a_dose_that_was_given_meanwhile_is_not_sent() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.says("maren", "mixed").await;
    let dose = at("2026-03-06T02:30:00Z");
    clinic.platform.answer("maren-other", &vec![unclear(); 3]);
    clinic.pass(start, dose - TimeDelta::minutes(1)).await;
    clinic.platform.taken("maren-other");
    clinic.platform.answer("maren-other", &[unclear()]);
    clinic.step(dose).await;
    clinic.says("maren", "given").await;
    clinic.pass(dose, dose + TimeDelta::minutes(2)).await;
    let told = clinic.platform.taken("maren-other");
    assert!(!told.is_empty());
    for message in &told {
        // "Draw 1.5 mL" after the other carer has given it would be a second dose.
        assert!(!message.text.contains("Draw"), "{message:?}");
        let open = message.buttons.iter().any(|button| button.label == "Given");
        assert!(!open, "{message:?}");
    }
    let told_who = told.iter().filter(|m| m.text.contains("1.5 mL given"));
    assert_eq!(told_who.count(), 1, "{told:?}");
}

#[tokio::test]
async fn a_reminder_that_waits_when_the_clinic_pauses_the_course_is_not_sent() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.says("maren", "mixed").await;
    let dose = at("2026-03-06T02:30:00Z");
    clinic.pass(start, dose - TimeDelta::minutes(1)).await;
    clinic.platform.taken("maren");
    clinic.platform.answer("maren", &[unclear()]);
    clinic.step(dose).await;
    assert_eq!(clinic.platform.taken("maren").len(), 0);
    clinic.says(CLINIC, "pause Juniper").await;
    clinic.step(dose).await;
    let asked = clinic.platform.taken(CLINIC);
    let check = asked
        .iter()
        .rev()
        .find(|message| !message.buttons.is_empty());
    clinic.arrive(CLINIC, tap(check.unwrap(), "Confirm")).await;
    clinic.pass(dose, dose + TimeDelta::minutes(2)).await;
    let told = clinic.platform.taken("maren");
    let paused = told.iter().filter(|m| m.text.contains("paused"));
    assert_eq!(paused.count(), 1, "{told:?}");
    let drawn = told.iter().filter(|m| m.text.contains("Draw"));
    assert_eq!(drawn.count(), 0, "{told:?}");
}

#[tokio::test]
async fn a_walk_goes_on_from_its_newest_step() {
    let (mut clinic, dose) = due().await;
    clinic.platform.taken("maren");
    clinic.says("maren", "how do I mix it?").await;
    clinic.step(dose).await;
    let first = clinic.platform.taken("maren").pop().unwrap();
    let next = first.buttons[0].label.clone();
    clinic.arrive("maren", tap(&first, &next)).await;
    let soon = dose + TimeDelta::seconds(20);
    clinic.pass(dose, soon).await;
    assert_eq!(clinic.platform.changes(), [none("maren")]);
    let second = clinic.platform.taken("maren").pop().unwrap();
    assert_eq!(second.buttons.len(), 2, "on, and back: {second:?}");
}

#[tokio::test]
async fn a_platform_that_asks_to_wait_or_fails_is_asked_again() {
    let (mut clinic, dose) = due().await;
    let reminder = clinic.platform.taken("maren").pop().unwrap();
    clinic.platform.answer_changes(&[
        Sent::Later {
            after: Duration::from_secs(60),
        },
        unclear(),
    ]);
    clinic.arrive("maren", tap(&reminder, "Given")).await;
    clinic.pass(dose, dose + TimeDelta::seconds(29)).await;
    assert_eq!(clinic.platform.changes().len(), 2);
    clinic
        .pass(dose + TimeDelta::seconds(29), dose + TimeDelta::seconds(59))
        .await;
    assert_eq!(clinic.platform.changes().len(), 1, "after the failure");
    clinic
        .pass(dose + TimeDelta::seconds(59), dose + TimeDelta::seconds(70))
        .await;
    assert_eq!(clinic.platform.changes().len(), 1, "after the wait");
}

#[tokio::test]
async fn a_platform_that_refuses_is_left_alone() {
    let (mut clinic, dose) = due().await;
    let reminder = clinic.platform.taken("maren").pop().unwrap();
    let refused = Sent::Refused {
        why: "message to edit not found".into(),
    };
    clinic.platform.answer_changes(&[refused.clone(), refused]);
    clinic.arrive("maren", tap(&reminder, "Given")).await;
    clinic.pass(dose, dose + TimeDelta::minutes(5)).await;
    assert_eq!(clinic.platform.changes().len(), 2, "one for each phone");
}
