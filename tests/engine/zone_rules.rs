//! A newer program knows newer rules: what waits is asked for at the hour they give.

use super::fake::{Clinic, with};
use super::home::{at, order};
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::domain::zone::{Release, decide_by, release, releases};
use vialbell::engine::Confirmation;

/// The newest release and one before it.
///
/// British Columbia stays at -07 for good from March 2026 (IANA tz release
/// 2026b); an older release has it back at -08 on 1 November.
fn newer_and_older() -> (Release, Release) {
    let newer = release();
    let older = releases().into_iter().find(|one| *one != newer).unwrap();
    (newer, older)
}

/// Enrols one with a dose at half past seven, twice a day from a day on; their chat is told.
async fn enrol(clinic: &Clinic, first_day: &str, zone: &str, now: Instant) -> String {
    let mut order = order(
        "Juniper",
        "tarnmoss",
        "1.5 mL",
        &format!("{first_day}T07:30:00"),
        &["07:30:00", "19:30:00"],
        zone,
        24,
    );
    order.carers.clear();
    let enrolling = clinic
        .engine
        .enrol(&order, None, "Ines", Confirmation::Counted, now);
    let id = enrolling.await.unwrap().household;
    let address = format!("owner-{id}");
    let chat = super::home::chat(&address);
    clinic.engine.join(id, 1, chat, now).await.unwrap();
    address
}

/// The program is brought up to date and starts; gives how many households it looks at afresh.
async fn learn(clinic: &Clinic, newer: Release, now: Instant) -> u64 {
    decide_by(newer);
    let sql = "update zone_rules set release = 'an older one'";
    clinic.tamper(sql).await;
    clinic.engine.note_zone_rules(now).await.unwrap()
}

#[tokio::test]
async fn a_dose_is_asked_for_by_the_rules_of_the_newest_release() {
    let (newer, older) = newer_and_older();
    decide_by(older);
    let enrolled = at("2026-10-30T18:00:00Z");
    let clinic = Clinic::open(enrolled).await;
    let moved = enrol(&clinic, "2026-11-05", "America/Vancouver", enrolled).await;
    let other = enrol(&clinic, "2026-11-05", "America/Denver", enrolled).await;
    assert_eq!(clinic.engine.note_zone_rules(enrolled).await.unwrap(), 0);
    clinic.step(enrolled).await;
    clinic.platform.taken(&moved);

    let started = at("2026-11-03T18:00:00Z");
    assert_eq!(
        learn(&clinic, newer, started).await,
        1,
        "of one zone the rules changed"
    );
    assert_eq!(clinic.engine.note_zone_rules(started).await.unwrap(), 0);
    let dose = at("2026-11-05T14:30:00Z");
    clinic.pass(started, dose - TimeDelta::seconds(1)).await;
    assert_eq!(with(&clinic.platform.taken(&moved), "dose due"), 0);
    clinic.pass(dose - TimeDelta::seconds(1), dose).await;
    assert_eq!(with(&clinic.platform.taken(&moved), "dose due"), 1);
    assert_eq!(with(&clinic.platform.taken(&other), "dose due"), 1);
}

#[tokio::test]
async fn who_has_something_to_do_before_the_rules_part_is_looked_at_when_it_is_due() {
    let (newer, older) = newer_and_older();
    decide_by(older);
    let enrolled = at("2026-10-26T18:00:00Z");
    let clinic = Clinic::open(enrolled).await;
    let soon = enrol(&clinic, "2026-10-28", "America/Vancouver", enrolled).await;
    enrol(&clinic, "2026-11-02", "America/Vancouver", enrolled).await;
    assert_eq!(clinic.engine.note_zone_rules(enrolled).await.unwrap(), 0);
    assert_eq!(
        learn(&clinic, newer, enrolled).await,
        1,
        "only of one the next dose lies behind the change"
    );
    let dose = at("2026-11-05T14:30:00Z");
    clinic.pass(enrolled, dose - TimeDelta::seconds(1)).await;
    clinic.platform.taken(&soon);
    clinic.pass(dose - TimeDelta::seconds(1), dose).await;
    assert_eq!(with(&clinic.platform.taken(&soon), "dose due"), 1);
}

#[tokio::test]
async fn alerts_that_wait_for_a_clinic_to_open_are_looked_at_wherever_they_come_from() {
    let (newer, older) = newer_and_older();
    decide_by(older);
    let enrolled = at("2026-10-30T18:00:00Z");
    let mut clinic = Clinic::open(enrolled).await;
    let waits = enrol(&clinic, "2026-11-05", "America/Denver", enrolled).await;
    enrol(&clinic, "2026-11-05", "America/Denver", enrolled).await;
    assert_eq!(clinic.engine.note_zone_rules(enrolled).await.unwrap(), 0);
    clinic.says(&waits, "is she allowed to swim?").await;
    clinic.step(enrolled).await;
    // Nobody lives where the rules changed; a clinic may be there.
    let started = at("2026-10-30T18:01:00Z");
    assert_eq!(learn(&clinic, newer, started).await, 1);
    assert_eq!(clinic.engine.note_zone_rules(started).await.unwrap(), 0);
}
