//! Alerts: answered by a reply, gathered where there are many, told again when
//! a message failed, and none lost to a crash.

use super::fake::{CLINIC, Clinic, texts, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::channel::Sent;
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::message::Tap;

fn morning() -> Instant {
    at("2026-03-05T17:00:00Z")
}

async fn begun() -> Clinic {
    let clinic = Clinic::open(morning()).await;
    clinic.platform.number_people();
    clinic.enrol("maren", morning()).await;
    clinic.step(morning()).await;
    clinic.platform.taken(CLINIC);
    clinic.platform.taken("maren");
    clinic
}

fn text(text: &str) -> Body {
    Body::Text(text.into())
}

#[tokio::test]
async fn a_reply_reaches_the_owner_with_the_name_of_who_wrote_and_stays_on_record() {
    let mut clinic = begun().await;
    let now = morning();
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(now).await;
    let question = clinic.platform.number_of("Question: Juniper");
    clinic
        .acts(CLINIC, "7", Some(&question), text("board games at three"))
        .await;
    clinic.step(now).await;
    let told = clinic.platform.taken("maren");
    assert_eq!(
        with(
            &told,
            "Person 7 from your clinic writes:\nboard games at three"
        ),
        1
    );
    assert_eq!(with(&clinic.platform.taken(CLINIC), "Sent: Juniper"), 1);
    let alert = clinic.household(1).await.alerts[&1].clone();
    assert_eq!(alert.replies.len(), 1);
    assert_eq!(alert.replies[0].words, "board games at three");
    // A second answer is sent as well, and says who answered before.
    clinic
        .acts(CLINIC, "8", Some(&question), text("And bring the vial."))
        .await;
    clinic.step(now).await;
    assert_eq!(
        with(&clinic.platform.taken("maren"), "And bring the vial."),
        1
    );
    assert_eq!(
        with(&clinic.platform.taken(CLINIC), "Person 7 answered before"),
        1
    );
}

#[tokio::test]
async fn a_reply_to_what_is_closed_and_to_what_asks_nothing_gets_a_clear_answer() {
    let mut clinic = begun().await;
    let now = morning();
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(now).await;
    let question = clinic.platform.number_of("Question: Juniper");
    let ended = Tap::Ended {
        household: 1,
        alert: 1,
        how: 0,
    };
    clinic
        .acts(CLINIC, "7", None, Body::Tap(ended.encode()))
        .await;
    clinic.step(now).await;
    clinic.platform.taken(CLINIC);
    clinic.platform.taken("maren");
    clinic
        .acts(CLINIC, "8", Some(&question), text("At three."))
        .await;
    clinic.step(now).await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(
        with(&told, "Not sent, the alert was closed before"),
        1,
        "{:?}",
        texts(&told)
    );
    assert_eq!(with(&told, "Reached owner"), 1);
    clinic.acts(CLINIC, "8", None, text("board")).await;
    clinic.step(now).await;
    let board = clinic.platform.number_of("Under treatment");
    clinic
        .acts(CLINIC, "8", Some(&board), text("At three."))
        .await;
    // People who answer each other are left alone.
    clinic
        .acts(CLINIC, "8", Some("987654"), text("At four?"))
        .await;
    clinic.step(now).await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(
        with(&told, "Nobody waits for an answer"),
        1,
        "{:?}",
        texts(&told)
    );
    assert_eq!(
        clinic.platform.taken("maren").len(),
        0,
        "nothing reached the owner"
    );
}

#[tokio::test]
async fn many_missed_doses_at_once_reach_a_group_that_takes_twenty_messages_a_minute() {
    let mut clinic = begun().await;
    let households: i64 = 25;
    for n in 2..=households {
        clinic.enrol(&format!("home{n}"), morning()).await;
    }
    clinic.step(morning()).await;
    clinic.platform.taken(CLINIC);
    // The first dose is at 19:30; its window ends at 22:30, which is 05:30 UTC.
    let closed = at("2026-03-06T05:30:00Z");
    clinic.pass(morning(), closed - TimeDelta::seconds(1)).await;
    clinic.platform.taken(CLINIC);
    clinic.platform.pace();
    clinic.pass(closed, closed + TimeDelta::seconds(59)).await;
    let told = clinic.platform.taken(CLINIC);
    assert!(told.len() <= 20, "{} messages in a minute", told.len());
    let buttons: Vec<&str> = told
        .iter()
        .flat_map(|outgoing| &outgoing.buttons)
        .map(|button| button.data.as_str())
        .collect();
    for household in 1..=households {
        let missed = format!("a:{household}:");
        assert!(
            buttons.iter().any(|data| data.starts_with(&missed)),
            "household {household} is not told: {buttons:?}"
        );
    }
    assert!(
        told.iter()
            .all(|outgoing| outgoing.text.chars().count() <= 4096)
    );
    // A tap on one of the names is that one's alert and no other's.
    let tap = told.last().unwrap().buttons[1].data.clone();
    clinic.acts(CLINIC, "7", None, Body::Tap(tap.clone())).await;
    clinic.step(closed + TimeDelta::minutes(1)).await;
    let mut seen = Vec::new();
    for id in 1..=households {
        let household = clinic.household(id).await;
        seen.extend(
            household
                .alerts
                .values()
                .filter(|a| a.seen.is_some())
                .map(|_| id),
        );
    }
    let of: i64 = tap.split(':').nth(1).unwrap().parse().unwrap();
    assert_eq!(seen, [of]);
}

#[tokio::test]
async fn a_reply_to_several_alerts_at_once_is_not_guessed() {
    let mut clinic = begun().await;
    for n in 2..=6 {
        clinic.enrol(&format!("home{n}"), morning()).await;
    }
    let closed = at("2026-03-06T05:30:00Z");
    clinic.pass(morning(), closed - TimeDelta::seconds(1)).await;
    clinic.platform.taken(CLINIC);
    clinic.platform.pace();
    let later = closed + TimeDelta::seconds(59);
    clinic.pass(closed, later).await;
    let told = clinic.platform.taken(CLINIC);
    let gathered = told.iter().filter(|outgoing| outgoing.buttons.len() == 6);
    assert_eq!(gathered.count(), 1, "{:?}", texts(&told));
    let number = clinic.platform.number_of("6 alerts.");
    clinic
        .acts(CLINIC, "7", Some(&number), text("Please call us."))
        .await;
    clinic.pass(later, later + TimeDelta::minutes(1)).await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "holds several alerts"), 1, "{:?}", texts(&told));
}

#[tokio::test]
async fn a_message_that_the_platform_never_takes_holds_up_no_other_and_its_alert_is_told_again() {
    let mut clinic = begun().await;
    let refused = Sent::Refused {
        why: "message is not modifiable".into(),
    };
    clinic.platform.answer(CLINIC, &vec![refused; 4]);
    clinic.says("maren", "can she have a bath?").await;
    clinic.says("maren", "can she swim?").await;
    clinic
        .pass(morning(), morning() + TimeDelta::minutes(50))
        .await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "could not be sent"), 1, "{:?}", texts(&told));
    assert!(with(&told, "swim") >= 1);
    assert!(
        with(&told, "NOT SEEN") >= 1 && with(&told, "bath") >= 1,
        "{:?}",
        texts(&told)
    );
}

#[tokio::test]
async fn a_crash_loses_no_rung_and_tells_none_twice() {
    let mut clinic = begun().await;
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(morning()).await;
    let quarter = morning() + TimeDelta::minutes(15);
    clinic
        .pass(morning(), quarter - TimeDelta::seconds(1))
        .await;
    clinic.platform.taken(CLINIC);
    let clinic = clinic.crash(quarter).await;
    clinic.platform.number_people();
    clinic.step(quarter).await;
    let clinic = clinic.crash(quarter).await;
    clinic.step(quarter).await;
    assert_eq!(with(&clinic.platform.taken(CLINIC), "NOT SEEN"), 1);
    assert_eq!(clinic.household(1).await.alerts[&1].rungs, 1);
}
