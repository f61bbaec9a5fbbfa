//! Rows that cannot be handled: put aside, told of, and in nobody's way.

use super::fake::{CLINIC, Clinic, texts, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::channel::Sent;

#[tokio::test]
async fn a_row_that_cannot_be_decided_is_put_aside_and_the_clinic_is_told_once() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    let broken = clinic.enrol("maren", start).await;
    clinic.enrol("noor", start).await;
    clinic.step(start).await;
    for address in ["maren", "noor", CLINIC] {
        clinic.platform.taken(address);
    }
    clinic
        .tamper(&format!(
            "update household set zone = 'Mars/Base' where id = {broken}"
        ))
        .await;
    clinic.says("maren", "is the vial still good?").await;
    clinic.says("noor", "when is the next dose?").await;
    for _ in 0..4 {
        clinic.step(start).await;
    }
    assert_eq!(clinic.platform.taken("noor").len(), 1, "others go on");
    assert_eq!(clinic.platform.taken("maren").len(), 0);
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(told.len(), 1, "{:?}", texts(&told));
    assert_eq!(
        with(&told, "is the vial still good?"),
        1,
        "{:?}",
        texts(&told)
    );
    // The household that cannot be read holds up no reminder of another.
    clinic.pass(start, at("2026-03-06T02:30:00Z")).await;
    assert_eq!(
        with(&clinic.platform.taken("noor"), "Juniper"),
        2,
        "the dose and the vial to mix"
    );
}

#[tokio::test]
async fn an_arrival_that_cannot_be_read_is_put_aside_and_the_clinic_is_told() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("noor", start).await;
    clinic.step(start).await;
    clinic.platform.taken("noor");
    clinic.platform.taken(CLINIC);
    clinic.says("noor", "first").await;
    clinic
        .tamper("update inbox set arrival = '{\"external_id\":\"1\"}' where state = 'waiting'")
        .await;
    clinic.says("noor", "when is the next dose?").await;
    for _ in 0..4 {
        clinic.step(start).await;
    }
    assert_eq!(clinic.platform.taken("noor").len(), 1, "others go on");
    assert_eq!(clinic.platform.taken(CLINIC).len(), 1);
}

#[tokio::test]
async fn a_message_that_cannot_be_read_holds_up_no_other() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.step(start).await;
    clinic.platform.taken("maren");
    clinic.says("maren", "when is the next dose?").await;
    clinic.engine.think(start).await.unwrap();
    clinic
        .tamper("update outbox set message = '{\"kind\":\"of.old\"}' where state = 'waiting'")
        .await;
    clinic.says("maren", "how much is left?").await;
    clinic.step(start).await;
    assert_eq!(clinic.platform.taken("maren").len(), 1);
    assert_eq!(
        clinic.outbox().await.get("refused"),
        Some(&1),
        "it is put aside"
    );
}

#[tokio::test]
async fn buttons_of_a_message_that_cannot_be_read_keep_no_other_phone_as_it_is() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    for name in ["maren", "noor"] {
        clinic.enrol(name, start).await;
        clinic.says(name, "mixed").await;
    }
    let dose = at("2026-03-06T02:30:00Z");
    clinic.pass(start, dose).await;
    for name in ["maren", "noor"] {
        clinic.says(name, "given").await;
    }
    clinic.engine.think(dose).await.unwrap();
    clinic
        .tamper(
            "update outbox set message = '{\"kind\":\"of.new\"}' \
             where address = 'maren' and state = 'sent' and buttons <> buttons_shown",
        )
        .await;
    clinic.pass(dose, dose + TimeDelta::seconds(10)).await;
    let mut changed: Vec<String> = clinic
        .platform
        .changes()
        .into_iter()
        .map(|(address, _)| address)
        .collect();
    changed.sort();
    assert_eq!(changed, ["maren-other", "noor", "noor-other"]);

    // Once its words are let go of nobody will ever read it.
    let (key, later) = (
        &clinic.engine.policy().clinic.key,
        dose + TimeDelta::days(400),
    );
    let left = async || {
        let mut work = clinic.engine.store().begin().await.unwrap();
        let due = work.buttons_to_change(key, later, 9).await.unwrap();
        work.commit().await.unwrap();
        (due.messages.len(), due.unreadable.len())
    };
    assert_eq!(left().await, (0, 1), "it is looked at again");
    let mut work = clinic.engine.store().begin().await.unwrap();
    work.purge_words(key, later, later, 99).await.unwrap();
    work.commit().await.unwrap();
    assert_eq!(left().await, (0, 0));
}

#[tokio::test]
async fn what_cannot_be_settled_after_sending_is_not_sent_for_ever_and_holds_up_no_other() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.enrol("noor", start).await;
    clinic.step(start).await;
    for address in ["maren", "noor"] {
        clinic.platform.tried(address);
    }
    // A platform that says a chat went on under the address of another household's:
    // that cannot be recorded, since a chat speaks for one household.
    let moved = Sent::Moved { to: "noor".into() };
    clinic.platform.answer("maren", &vec![moved; 50]);
    clinic.says("maren", "when is the next dose?").await;
    clinic.says("noor", "when is the next dose?").await;
    let mut now = start;
    for _ in 0..20 {
        let _ = clinic.try_step(now).await;
        now += TimeDelta::seconds(61);
    }
    assert_eq!(
        clinic.platform.tried("noor").len(),
        1,
        "sent once, not every minute"
    );
}

/// On SQLite: a trigger stands for words that the database cannot keep.
#[tokio::test]
async fn words_that_cannot_even_be_told_to_the_clinic_are_put_aside_too() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    if !clinic.url().starts_with("sqlite") {
        return;
    }
    clinic.enrol("noor", start).await;
    clinic.step(start).await;
    for address in ["noor", CLINIC] {
        clinic.platform.taken(address);
    }
    clinic
        .tamper(
            "create trigger bane before insert on outbox when new.message like '%wolfsbane%' \
             begin select raise(abort, 'cannot be kept'); end",
        )
        .await;
    clinic.says("maren", "noise").await;
    clinic.says("noor", "is wolfsbane bad?").await;
    clinic.says("noor", "when is the next dose?").await;
    for _ in 0..4 {
        clinic.step(start).await;
    }
    assert_eq!(clinic.platform.taken("noor").len(), 1, "others go on");
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "(inbox 2)"), 1, "{told:?}");
}
