//! The clinic's chat: it moves, it closes, and no alert is lost.

use super::fake::{CLINIC, Clinic, gone, unclear, with};
use super::home::{at, chat};
use chrono::TimeDelta;
use vialbell::channel::Sent;
use vialbell::domain::arrival::Body;

async fn begun() -> Clinic {
    let start = at("2026-03-06T01:00:00Z");
    let clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.step(start).await;
    clinic.platform.taken("maren");
    clinic.platform.taken(CLINIC);
    clinic
}

#[tokio::test]
async fn alerts_follow_a_chat_that_moved() {
    let now = at("2026-03-06T01:10:00Z");
    let mut clinic = begun().await;
    clinic
        .platform
        .answer(CLINIC, &[Sent::Moved { to: "-200".into() }]);
    clinic.says("maren", "is this normal?").await;
    clinic.says("maren", "she is limping").await;
    clinic.step(now).await;
    assert_eq!(clinic.platform.taken(CLINIC).len(), 0);
    let told = clinic.platform.taken("-200");
    assert_eq!(with(&told, "is this normal?"), 1);
    assert_eq!(with(&told, "she is limping"), 1);
    assert_eq!(told.len(), 2);
    // A platform may also say it before anything is sent.
    clinic
        .arrive("-200", Body::Moved { to: "-300".into() })
        .await;
    clinic.says("maren", "third question?").await;
    clinic.step(now + TimeDelta::seconds(1)).await;
    assert_eq!(clinic.platform.taken("-200").len(), 0);
    assert_eq!(with(&clinic.platform.taken("-300"), "third question?"), 1);
}

#[tokio::test]
async fn an_alert_waits_for_a_chat_that_is_closed_and_keeps_its_place() {
    let now = at("2026-03-06T01:10:00Z");
    let mut clinic = begun().await;
    clinic.platform.answer(CLINIC, &[gone(), unclear()]);
    clinic.says("maren", "first question?").await;
    clinic.step(now).await;
    clinic.says("maren", "second question?").await;
    clinic.step(now + TimeDelta::seconds(1)).await;
    assert_eq!(clinic.platform.taken(CLINIC).len(), 0);
    assert_eq!(
        clinic.platform.tried(CLINIC).len(),
        2,
        "with the one at the start"
    );
    clinic
        .pass(now + TimeDelta::seconds(1), now + TimeDelta::minutes(15))
        .await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(told.len(), 2);
    assert!(told[0].text.contains("first question?") && told[1].text.contains("second question?"));
}

#[tokio::test]
async fn alerts_wait_until_there_is_a_chat_and_go_where_it_is_then() {
    let now = at("2026-03-06T01:10:00Z");
    let mut clinic = begun().await;
    clinic.platform.answer(CLINIC, &vec![gone(); 3]);
    clinic.says("maren", "first question?").await;
    clinic.step(now).await;
    clinic.engine.bind_clinic_chat(&chat("-900")).await.unwrap();
    clinic.pass(now, now + TimeDelta::minutes(6)).await;
    assert_eq!(with(&clinic.platform.taken("-900"), "first question?"), 1);
}

#[tokio::test]
async fn the_engine_does_not_spin_while_messages_wait() {
    let now = at("2026-03-06T01:10:00Z");
    let mut clinic = begun().await;
    clinic.platform.answer(CLINIC, &[gone()]);
    clinic.says("maren", "first question?").await;
    clinic.says("maren", "second question?").await;
    let step = clinic.step(now).await;
    assert_eq!(step.next, Some(now + TimeDelta::minutes(5)));
}
