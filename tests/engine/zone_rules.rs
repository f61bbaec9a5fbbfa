//! A newer program knows newer rules: what waits is asked for at the hour they give.

use super::fake::{Clinic, with};
use super::home::{at, order};
use chrono::TimeDelta;
use vialbell::domain::zone::{decide_by, release, releases};
use vialbell::engine::Confirmation;

/// British Columbia stays at -07 for good from March 2026 (IANA tz release
/// 2026b); an older release has it back at -08 on 1 November.
#[tokio::test]
async fn a_dose_is_asked_for_by_the_rules_of_the_newest_release() {
    let newer = release();
    let older = releases().into_iter().find(|one| *one != newer).unwrap();
    decide_by(older);
    let enrolled = at("2026-10-30T18:00:00Z");
    let clinic = Clinic::open(enrolled).await;
    for (no, zone) in [(1, "America/Vancouver"), (2, "America/Denver")] {
        let mut order = order(
            "Juniper",
            "tarnmoss",
            "1.5 mL",
            "2026-11-05T07:30:00",
            &["07:30:00", "19:30:00"],
            zone,
            8,
        );
        order.carers.clear();
        let made = clinic
            .engine
            .enrol(&order, None, "Ines", Confirmation::Counted, enrolled)
            .await
            .unwrap();
        let chat = super::home::chat(&format!("owner-{no}"));
        clinic
            .engine
            .join(made.household, 1, chat, enrolled)
            .await
            .unwrap();
    }
    assert_eq!(clinic.engine.note_zone_rules(enrolled).await.unwrap(), 0);
    clinic.step(enrolled).await;
    clinic.platform.taken("owner-1");

    decide_by(newer);
    clinic
        .tamper("update zone_rules set release = 'an older one'")
        .await;
    let started = at("2026-11-03T18:00:00Z");
    assert_eq!(
        clinic.engine.note_zone_rules(started).await.unwrap(),
        1,
        "of one zone the rules changed"
    );
    assert_eq!(clinic.engine.note_zone_rules(started).await.unwrap(), 0);
    let dose = at("2026-11-05T14:30:00Z");
    clinic.pass(started, dose - TimeDelta::seconds(1)).await;
    assert_eq!(with(&clinic.platform.taken("owner-1"), "dose due"), 0);
    clinic.pass(dose - TimeDelta::seconds(1), dose).await;
    assert_eq!(with(&clinic.platform.taken("owner-1"), "dose due"), 1);
    assert_eq!(with(&clinic.platform.taken("owner-2"), "dose due"), 1);
}
