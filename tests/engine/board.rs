//! The board: as good for one patient as for five hundred.

use super::fake::{CLINIC, Clinic, texts, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::message::Tap;

fn morning() -> Instant {
    at("2026-03-05T17:00:00Z")
}

async fn ask(clinic: &mut Clinic, body: Body) -> Vec<vialbell::channel::Outgoing> {
    let now = clinic.engine.now() + TimeDelta::minutes(1);
    clinic.clock.set(now);
    clinic.arrive(CLINIC, body).await;
    clinic.step(now).await;
    let mut taken = clinic.platform.taken(CLINIC);
    // Meanwhile the ladder goes on.
    taken.retain(|outgoing| !outgoing.text.starts_with("NOT SEEN"));
    taken
}

#[tokio::test]
async fn five_hundred_patients_fit_on_pages_and_who_needs_somebody_comes_first() {
    let mut clinic = Clinic::open(morning()).await;
    let patients: i64 = 500;
    for n in 1..=patients {
        clinic.enrol(&format!("home{n}"), morning()).await;
    }
    clinic.step(morning()).await;
    clinic.platform.taken(CLINIC);
    clinic.says("home371", "is this normal?").await;
    clinic.step(morning()).await;
    let told = ask(&mut clinic, Body::Text("board".into())).await;
    let first = told.last().unwrap();
    let lines: Vec<&str> = first.text.lines().collect();
    assert_eq!(lines[0], "Under treatment: 500 patients.");
    assert_eq!(lines[1], "1 patient needs somebody.");
    assert!(
        lines[3].contains("household 371") && lines[3].contains("NOT SEEN: 1"),
        "{lines:?}"
    );
    let mut shown = 0;
    let mut page = first.clone();
    for _ in 0..100 {
        assert!(page.text.chars().count() <= 4096);
        shown += page
            .buttons
            .iter()
            .filter(|b| b.data.starts_with("p:"))
            .count();
        let Some(next) = page.buttons.iter().find(|b| b.label == "Next page") else {
            break;
        };
        let tap = Body::Tap(next.data.clone());
        page = ask(&mut clinic, tap).await.pop().unwrap();
    }
    assert_eq!(shown, 500, "each has a button on one page");
}

#[tokio::test]
async fn a_tap_shows_one_patient_and_another_clinics_stays_unseen() {
    let mut clinic = Clinic::open(morning()).await;
    clinic.enrol("maren", morning()).await;
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(morning()).await;
    let tap = |household| {
        Body::Tap(
            Tap::Patient {
                household,
                course: 1,
            }
            .encode(),
        )
    };
    let told = ask(&mut clinic, tap(1)).await;
    let shown = &told.last().unwrap().text;
    for words in [
        "Juniper (Maren)",
        "Each dose: 1.5 mL, at 7:30 am and 7:30 pm.",
        "Given: 0 of 8.",
        "NOT SEEN",
        "Owner's message.",
        "They last wrote: “Maren: can she have a bath?”",
    ] {
        assert!(shown.contains(words), "{words}: {shown}");
    }
    clinic.tamper("update household set clinic = 'other'").await;
    let told = ask(&mut clinic, tap(1)).await;
    assert_eq!(with(&told, "Juniper"), 0, "{:?}", texts(&told));
    let told = ask(&mut clinic, tap(99)).await;
    assert_eq!(told.len(), 0);
}
