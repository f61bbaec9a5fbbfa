//! The clinic adds a carer to a household, and takes one off.

use super::fake::{CLINIC, Clinic, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::domain::arrival::Body;
use vialbell::engine::CarerError;

#[tokio::test]
async fn a_carer_who_is_taken_off_hears_nothing_more_and_is_a_stranger() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    let household = clinic.enrol("maren", start).await;
    clinic.step(start).await;
    let code = (clinic
        .engine
        .add_carer(household, "Noor", "Ines", start)
        .await)
        .unwrap();
    clinic.arrive("noor", Body::Join(code.clone())).await;
    clinic.step(start).await;
    assert_eq!(with(&clinic.platform.taken("noor"), "Juniper"), 1);
    let again = clinic
        .engine
        .add_carer(household, "Noor", "Ines", start)
        .await;
    assert!(matches!(again, Err(CarerError::Joined(_))), "{again:?}");
    // A name in other letters is the same person's.
    let again = clinic
        .engine
        .add_carer(household, "noor", "Ines", start)
        .await;
    assert!(matches!(again, Err(CarerError::Joined(_))), "{again:?}");
    // Whoever gives the dose, the other is told.
    let dose = at("2026-03-06T02:31:00Z");
    clinic.pass(start, dose).await;
    clinic.says("noor", "given").await;
    clinic.step(dose).await;
    assert_eq!(with(&clinic.platform.taken("maren"), "Noor"), 1);

    let later = dose + TimeDelta::minutes(5);
    (clinic
        .engine
        .remove_carer(household, "NOOR", "Ines", later)
        .await)
        .unwrap();
    clinic.platform.taken("noor");
    clinic.platform.taken(CLINIC);
    clinic.says("noor", "how much is left?").await;
    clinic.step(later).await;
    let told = clinic.platform.taken("noor");
    assert_eq!(
        (told.len(), with(&told, "Juniper")),
        (1, 0),
        "the number, and nothing else"
    );
    assert_eq!(clinic.platform.taken(CLINIC).len(), 0);
    clinic.pass(later, later + TimeDelta::hours(12)).await;
    assert_eq!(clinic.platform.taken("noor").len(), 0);
    // The used invitation opens nothing; a new one does.
    clinic.arrive("noor", Body::Join(code)).await;
    clinic.step(later + TimeDelta::hours(12)).await;
    assert_eq!(with(&clinic.platform.taken("noor"), "Juniper"), 0);
}

#[tokio::test]
async fn a_name_or_a_household_that_is_not_there_changes_nothing() {
    let start = at("2026-03-06T01:00:00Z");
    let clinic = Clinic::open(start).await;
    let household = clinic.enrol("maren", start).await;
    let before = clinic.engine.household(household).await.unwrap();
    let missing = clinic
        .engine
        .remove_carer(household, "Zelda", "Ines", start)
        .await;
    assert!(
        matches!(missing, Err(CarerError::NoCarer { .. })),
        "{missing:?}"
    );
    let nowhere = clinic.engine.add_carer(99, "Noor", "Ines", start).await;
    assert!(
        matches!(nowhere, Err(CarerError::NoHousehold(99))),
        "{nowhere:?}"
    );
    assert_eq!(clinic.engine.household(household).await.unwrap(), before);
}

#[tokio::test]
async fn who_was_removed_a_moment_ago_records_nothing() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    let household = clinic.enrol("maren", start).await;
    let dose = at("2026-03-06T02:31:00Z");
    clinic.pass(start, dose).await;
    clinic.says(CLINIC, "carer Juniper remove Teo").await;
    clinic.step(dose).await;
    let asked = clinic.platform.taken(CLINIC);
    let yes = asked.last().unwrap().buttons[0].data.clone();
    clinic.platform.taken("maren-other");
    // Both are there before either is decided on.
    clinic.arrive(CLINIC, Body::Tap(yes)).await;
    clinic.says("maren-other", "given").await;
    clinic.step(dose).await;
    let now = clinic.household(household).await;
    assert_eq!(now.carers[&2].chat, None);
    assert!(!now.carers[&2].reachable);
    assert!(now.administrations.is_empty());
    let told = clinic.platform.taken("maren-other");
    assert_eq!(
        (told.len(), with(&told, "Juniper")),
        (1, 0),
        "the number alone"
    );
}
