//! Owners' chats: order, waiting, closing, moving, and messages that come too late.

use super::fake::{CLINIC, Clinic, gone, texts, unclear, with};
use super::home::at;
use chrono::TimeDelta;
use std::time::Duration;
use vialbell::channel::Sent;
use vialbell::domain::Instant;
use vialbell::domain::message::Kind;

fn start() -> Instant {
    at("2026-03-06T01:00:00Z")
}

async fn begun() -> (Clinic, i64) {
    let clinic = Clinic::open(start()).await;
    let id = clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    for address in ["maren", "maren-other", CLINIC] {
        clinic.platform.taken(address);
        clinic.platform.tried(address);
    }
    (clinic, id)
}

#[tokio::test]
async fn messages_of_one_chat_keep_their_order_whatever_happens_to_the_first() {
    let (mut clinic, _) = begun().await;
    let later = Sent::Later {
        after: Duration::from_secs(7),
    };
    clinic
        .platform
        .answer("maren", &[unclear(), later, unclear()]);
    clinic.says("maren", "when is the next dose?").await;
    clinic.says("maren", "how much is left?").await;
    clinic.says("maren-other", "when is the next dose?").await;
    clinic.step(start()).await;
    assert_eq!(clinic.platform.taken("maren").len(), 0);
    assert_eq!(
        clinic.platform.taken("maren-other").len(),
        1,
        "another chat does not wait"
    );
    clinic.pass(start(), start() + TimeDelta::minutes(2)).await;
    let tried = clinic.platform.tried("maren");
    let first = tried[0].text.clone();
    assert_eq!(tried.len(), 5, "{:?}", texts(&tried));
    assert!(
        tried[..4].iter().all(|outgoing| outgoing.text == first),
        "the first, until it went"
    );
    assert_ne!(tried[4].text, first);
}

#[tokio::test]
async fn a_line_that_is_dead_is_tried_at_growing_distances_and_nothing_is_lost() {
    let (mut clinic, _) = begun().await;
    clinic.platform.answer("maren", &vec![unclear(); 14]);
    clinic.says("maren", "when is the next dose?").await;
    let mut now = start();
    let mut distances = Vec::new();
    while distances.len() < 14 {
        let next = clinic.step(now).await.next.unwrap();
        distances.push((next - now).num_seconds());
        now = next;
    }
    assert_eq!(distances[..5], [1, 2, 4, 8, 16]);
    assert!(
        distances.iter().all(|seconds| *seconds <= 300),
        "{distances:?}"
    );
    assert!(
        distances.windows(2).all(|pair| pair[0] <= pair[1]),
        "{distances:?}"
    );
    clinic.step(now).await;
    assert_eq!(clinic.platform.taken("maren").len(), 1);
}

#[tokio::test]
async fn a_reminder_that_is_of_no_use_any_more_is_not_sent_and_the_clinic_hears() {
    let (clinic, id) = begun().await;
    let due = at("2026-03-06T02:30:00Z");
    let later = Sent::Later {
        after: Duration::from_secs(3_600),
    };
    for address in ["maren", "maren-other"] {
        clinic.platform.answer(address, &vec![later.clone(); 4]);
    }
    let end = due + TimeDelta::hours(4) + TimeDelta::minutes(1);
    clinic.pass(due, end).await;
    let household = clinic.household(id).await;
    let told = household.alerts.values().any(|alert| {
        matches!(alert.kind, Kind::ClinicMissedDose | Kind::ClinicOutage)
            && alert.dose == Some((1, 1))
    });
    assert!(told, "{:?}", household.alerts);
    let taken = clinic.platform.taken(CLINIC);
    let told_first = with(&taken, "Juniper") - with(&taken, "NOT SEEN: Juniper");
    assert_eq!(told_first, 1 + clinic_extra(&household));
    for address in ["maren", "maren-other"] {
        let taken = clinic.platform.taken(address);
        assert_eq!(
            taken.len(),
            1,
            "only what is still true: {:?}",
            texts(&taken)
        );
        assert!(
            taken[0].buttons.is_empty(),
            "no button for a dose that is over"
        );
    }
    assert!(clinic.outbox().await["late"] >= 2);
}

/// Alerts beyond the one for the missed dose: what could not be delivered.
fn clinic_extra(household: &vialbell::domain::household::Household) -> usize {
    household.alerts.len() - 1
}

#[tokio::test]
async fn a_chat_that_was_closed_is_told_to_the_clinic_by_name_once() {
    let (mut clinic, id) = begun().await;
    clinic.platform.answer("maren", &[gone()]);
    clinic.says("maren", "when is the next dose?").await;
    clinic.step(start()).await;
    assert!(!clinic.household(id).await.carers[&1].reachable);
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "Maren"), 1, "{:?}", texts(&told));
    assert_eq!(told.len(), 1);
    // Reminders go to the other carer only.
    clinic.platform.tried("maren");
    clinic.pass(start(), at("2026-03-06T02:31:00Z")).await;
    assert_eq!(clinic.platform.tried("maren"), []);
    assert!(!clinic.platform.taken("maren-other").is_empty());
    assert_eq!(clinic.platform.taken(CLINIC), []);
    // Whoever writes again can be reached again.
    clinic.says("maren", "when is the next dose?").await;
    clinic.step(at("2026-03-06T02:31:00Z")).await;
    assert!(clinic.household(id).await.carers[&1].reachable);
    assert_eq!(
        with(&clinic.platform.taken("maren"), "Juniper"),
        clinic.platform.tried("maren").len()
    );
}

#[tokio::test]
async fn a_message_that_is_refused_is_put_aside_and_the_clinic_is_told() {
    let (mut clinic, id) = begun().await;
    clinic.platform.answer(
        "maren",
        &[Sent::Refused {
            why: "message is too long".into(),
        }],
    );
    clinic.says("maren", "when is the next dose?").await;
    clinic.says("maren", "how much is left?").await;
    clinic.step(start()).await;
    assert_eq!(
        clinic.platform.taken("maren").len(),
        1,
        "the next one goes out"
    );
    assert_eq!(clinic.outbox().await.get("refused"), Some(&1));
    let alerts = clinic.household(id).await.alerts;
    assert!(
        alerts
            .values()
            .any(|alert| alert.kind == Kind::ClinicUnreachable),
        "{alerts:?}"
    );
}

#[tokio::test]
async fn a_carer_whose_chat_moved_is_written_to_at_the_new_address() {
    let (mut clinic, id) = begun().await;
    clinic.platform.answer(
        "maren",
        &[Sent::Moved {
            to: "maren-2".into(),
        }],
    );
    clinic.says("maren", "when is the next dose?").await;
    clinic.says("maren", "how much is left?").await;
    clinic.step(start()).await;
    assert_eq!(clinic.platform.taken("maren").len(), 0);
    assert_eq!(clinic.platform.taken("maren-2").len(), 2);
    let carer = &clinic.household(id).await.carers[&1];
    assert_eq!(carer.chat.as_ref().unwrap().address, "maren-2");
    clinic.says("maren-2", "when is the next dose?").await;
    clinic.step(start() + TimeDelta::seconds(1)).await;
    assert_eq!(clinic.platform.taken("maren-2").len(), 1);
}
