//! Commits that fail and programs that end in the middle.

use super::fake::{CLINIC, Clinic, texts, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::domain::household::Status;

#[tokio::test]
async fn a_commit_that_fails_loses_nothing() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    let id = clinic.enrol("maren", start).await;
    let due = at("2026-03-06T02:30:00Z");
    clinic.pass(start, due).await;
    clinic.platform.taken("maren");
    clinic.says("maren", "given").await;
    // The disk refuses what would be said; so nothing of the decision may last.
    clinic.fill_the_disk().await;
    for _ in 0..3 {
        assert!(clinic.try_step(due).await.is_err());
    }
    assert!(clinic.household(id).await.administrations.is_empty());
    assert_eq!(clinic.platform.taken("maren"), []);
    clinic.make_room().await;
    clinic.step(due + TimeDelta::seconds(5)).await;
    let household = clinic.household(id).await;
    assert_eq!(household.administrations.len(), 1);
    assert_eq!(household.administrations[&1].status, Status::Completed);
    assert_eq!(clinic.platform.taken("maren").len(), 1, "answered once");
}

#[tokio::test]
async fn what_was_in_flight_at_a_crash_is_sent_again_after_the_lease_and_nothing_else() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.step(start).await;
    for address in ["maren", "maren-other", CLINIC] {
        clinic.platform.tried(address);
    }
    let now = at("2026-03-06T01:10:00Z");
    clinic.says("maren", "when is the next dose?").await;
    clinic.step(now).await;
    assert_eq!(
        clinic.platform.tried("maren").len(),
        1,
        "settled before the crash"
    );
    // The next answer is on its way when the power goes.
    clinic.says("maren-other", "when is the next dose?").await;
    clinic.platform.hang("maren-other", true);
    tokio::select! {
        _ = clinic.step(now) => panic!("it did not wait for the platform"),
        () = clinic.platform.hung() => {}
    }
    let in_flight = clinic.platform.tried("maren-other");
    assert_eq!(in_flight.len(), 1);

    clinic.platform.hang("maren-other", false);
    let clinic = clinic.crash(now).await;
    let early = clinic.step(now + TimeDelta::seconds(59)).await;
    assert_eq!(
        early.next,
        Some(now + TimeDelta::seconds(60)),
        "the end of the lease"
    );
    assert_eq!(clinic.platform.tried("maren-other"), []);
    clinic.step(now + TimeDelta::seconds(60)).await;
    assert_eq!(
        clinic.platform.tried("maren-other"),
        in_flight,
        "the same again"
    );
    assert_eq!(clinic.platform.tried("maren"), []);
    assert_eq!(clinic.platform.tried(CLINIC), []);
    clinic.step(now + TimeDelta::minutes(10)).await;
    assert_eq!(clinic.platform.tried("maren-other"), [], "and once only");
}

#[tokio::test]
async fn what_was_accepted_but_not_decided_at_a_crash_is_decided_once() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    let id = clinic.enrol("maren", start).await;
    let due = at("2026-03-06T02:30:00Z");
    clinic.pass(start, due).await;
    clinic.platform.taken("maren");
    clinic.says("maren", "given").await;
    let clinic = clinic.crash(due).await;
    clinic.step(due).await;
    clinic.step(due).await;
    assert_eq!(clinic.household(id).await.administrations.len(), 1);
    let taken = clinic.platform.taken("maren");
    assert_eq!(taken.len(), 1, "{:?}", texts(&taken));
}

#[tokio::test]
async fn a_program_that_was_down_over_a_dose_says_one_thing_and_tells_the_clinic() {
    let start = at("2026-03-06T01:00:00Z");
    let clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.step(start).await;
    clinic.platform.taken("maren");
    clinic.platform.taken(CLINIC);
    let back = at("2026-03-07T12:00:00Z");
    let clinic = clinic.crash(back).await;
    clinic.pass(back, back).await;
    let owner = clinic.platform.taken("maren");
    assert_eq!(with(&owner, "Juniper"), owner.len());
    assert_eq!(owner.len(), 1, "{:?}", texts(&owner));
    let told = clinic.platform.taken(CLINIC);
    // The outage, and the day's list since the clinic has opened in between.
    assert_eq!(told.len(), 2, "{:?}", texts(&told));
    assert_eq!(with(&told, "Today:"), 1, "{:?}", texts(&told));
}
