//! The board: as good for one patient as for five hundred.

use super::fake::{CLINIC, Clinic, texts, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::message::{Tap, Verdict};

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

#[tokio::test]
async fn a_pause_and_an_order_that_nobody_confirmed_stand_on_the_board() {
    let start = at("2026-03-05T17:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    let text = include_str!("../../config/prescription.example.toml");
    clinic.says(CLINIC, text).await;
    clinic.says(CLINIC, "pause Juniper").await;
    clinic.step(start).await;
    let pause = Tap::Amend {
        household: 1,
        amendment: 1,
        verdict: Verdict::Confirm,
    };
    clinic.arrive(CLINIC, Body::Tap(pause.encode())).await;
    clinic.step(start).await;
    clinic.platform.taken(CLINIC);
    let board = ask(&mut clinic, Body::Text("board".into())).await;
    let text = &board[0].text;
    let line = |household: &str| {
        let found = text.lines().find(|line| line.contains(household));
        found.unwrap_or_else(|| panic!("{text}")).to_owned()
    };
    assert!(line("household 1").contains("Paused."), "{text}");
    assert!(
        line("household 2").contains("Order not confirmed: no dose is asked for."),
        "{text}"
    );
    let confirm = Tap::Confirm {
        household: 2,
        course: 1,
    };
    let confirm = Body::Tap(confirm.encode());
    clinic.acts(CLINIC, "41", None, confirm).await;
    clinic.step(start).await;
    clinic.platform.taken(CLINIC);
    let board = ask(&mut clinic, Body::Text("board".into())).await;
    assert!(
        !board[0].text.contains("not confirmed"),
        "{}",
        board[0].text
    );
}
