//! Who at the clinic may act: by the platform's number of a person, from the
//! group or from a chat of their own, and no longer than they are on the staff.

use super::fake::{CLINIC, Clinic, gone, with};
use super::home::at;
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::domain::amendment::Alteration;
use vialbell::domain::arrival::Body;
use vialbell::domain::message::{Tap, Verdict};
use vialbell::domain::staff::Role;
use vialbell::engine::{Changed, Confirmed};

/// Ten in the morning of a Thursday, on the clinic's clock.
fn morning() -> Instant {
    at("2026-03-05T17:00:00Z")
}

/// A clinic on a platform that numbers people, with one household, number 1.
async fn begun() -> Clinic {
    let clinic = Clinic::open(morning()).await;
    clinic.platform.number_people();
    clinic.enrol("maren", morning()).await;
    clinic.step(morning()).await;
    clinic.platform.taken(CLINIC);
    clinic
}

async fn join(clinic: &mut Clinic, name: &str, role: Role, address: &str, person: &str) {
    let code = clinic
        .engine
        .add_staff(name, role, morning())
        .await
        .unwrap();
    clinic.acts(address, person, None, Body::Join(code)).await;
    clinic.step(morning()).await;
}

fn seen(alert: u32) -> Body {
    let household = 1;
    Body::Tap(Tap::Seen { household, alert }.encode())
}

async fn seen_by(clinic: &Clinic, alert: u32) -> Option<String> {
    let household = clinic.household(1).await;
    household.alerts[&alert].seen.clone().map(|(_, by)| by)
}

#[tokio::test]
async fn before_anybody_has_joined_the_group_acts_and_afterwards_only_the_staff() {
    let mut clinic = begun().await;
    let now = morning();
    clinic.says("maren", "can she have a bath?").await;
    clinic.acts(CLINIC, "41", None, seen(1)).await;
    clinic.step(now).await;
    assert_eq!(
        seen_by(&clinic, 1).await.as_deref(),
        Some("Person 41 (test 41)")
    );
    join(&mut clinic, "Ines", Role::Technician, CLINIC, "7").await;
    clinic.platform.taken(CLINIC);
    clinic.says("maren", "can she swim?").await;
    clinic.acts(CLINIC, "41", None, seen(2)).await;
    clinic
        .acts(CLINIC, "41", None, Body::Text("board".into()))
        .await;
    clinic
        .acts(CLINIC, "41", None, Body::Text("lunch?".into()))
        .await;
    clinic.step(now).await;
    assert_eq!(seen_by(&clinic, 2).await, None);
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(
        with(&told, "not on the clinic's staff list"),
        1,
        "once, not for each"
    );
    assert_eq!(with(&told, "Under treatment"), 0);
    clinic.acts(CLINIC, "7", None, seen(2)).await;
    clinic.step(now).await;
    assert_eq!(seen_by(&clinic, 2).await.as_deref(), Some("Ines"));
}

#[tokio::test]
async fn whoever_was_taken_off_does_nothing_from_that_moment_on() {
    let mut clinic = begun().await;
    join(&mut clinic, "Ines", Role::Technician, CLINIC, "7").await;
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(morning()).await;
    // Tapped before, settled after: what counts is who is on the staff by then.
    clinic.acts(CLINIC, "7", None, seen(1)).await;
    clinic.engine.remove_staff("Ines", morning()).await.unwrap();
    clinic.step(morning()).await;
    assert_eq!(seen_by(&clinic, 1).await, None);
    assert!(clinic.engine.staff().await.unwrap().is_empty());
    // Nobody is left, and still the group as a whole does not act again.
    clinic.acts(CLINIC, "41", None, seen(1)).await;
    clinic.step(morning()).await;
    assert_eq!(seen_by(&clinic, 1).await, None);
    // A chat of her own is a stranger's now.
    clinic
        .acts("7", "7", None, Body::Text("board".into()))
        .await;
    clinic.step(morning()).await;
    assert_eq!(with(&clinic.platform.taken("7"), "Under treatment"), 0);
}

#[tokio::test]
async fn an_invitation_is_used_once_and_not_when_it_is_too_old() {
    let mut clinic = begun().await;
    let now = morning();
    let code = clinic
        .engine
        .add_staff("Ines", Role::Technician, now)
        .await
        .unwrap();
    let late = now + clinic.engine.policy().invitation_valid;
    clinic.acts("7", "7", None, Body::Join(code.clone())).await;
    clinic.step(late).await;
    let staff = clinic.engine.staff().await.unwrap();
    assert_eq!(staff[0].joined_at, None);
    let again = clinic.engine.add_staff("Ines", Role::Technician, now).await;
    assert!(again.is_err(), "the name is taken");
    clinic.engine.remove_staff("Ines", now).await.unwrap();
    let code = clinic
        .engine
        .add_staff("Ines", Role::Veterinarian, now)
        .await
        .unwrap();
    clinic.acts("7", "7", None, Body::Join(code.clone())).await;
    clinic.acts("8", "8", None, Body::Join(code)).await;
    clinic.step(now).await;
    let staff = clinic.engine.staff().await.unwrap();
    assert_eq!(staff.len(), 1);
    assert_eq!(staff[0].person.as_deref(), Some("7"));
    assert_eq!(
        staff[0].chat.as_ref().map(|c| c.address.as_str()),
        Some("7")
    );
}

#[tokio::test]
async fn a_code_from_the_terminal_makes_a_group_the_clinics() {
    let mut clinic = begun().await;
    let now = morning();
    let code = clinic.engine.code_for_the_chat(now).await.unwrap();
    // An owner's chat stays an owner's.
    clinic
        .acts("maren", "maren", None, Body::Join(code.clone()))
        .await;
    clinic.step(now).await;
    clinic
        .acts("-500", "41", None, Body::Join(code.clone()))
        .await;
    clinic.acts("-600", "41", None, Body::Join(code)).await;
    clinic.step(now).await;
    assert_eq!(with(&clinic.platform.taken("-500"), "clinic's chat now"), 1);
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(now).await;
    assert_eq!(with(&clinic.platform.taken("-500"), "bath"), 1);
    assert_eq!(with(&clinic.platform.taken("-600"), "clinic's chat now"), 0);
}

#[tokio::test]
async fn somebody_on_the_staff_works_from_a_chat_of_their_own() {
    let mut clinic = begun().await;
    let now = morning();
    join(&mut clinic, "Ines", Role::Technician, "7", "7").await;
    clinic.platform.taken("7");
    clinic.platform.taken(CLINIC);
    clinic
        .acts("7", "7", None, Body::Text("board".into()))
        .await;
    clinic.step(now).await;
    assert_eq!(
        with(&clinic.platform.taken("7"), "Under treatment: 1 patient"),
        1
    );
    assert_eq!(
        clinic.platform.taken(CLINIC).len(),
        0,
        "the others did not ask"
    );
    clinic.says("maren", "can she have a bath?").await;
    clinic.acts("7", "7", None, seen(1)).await;
    clinic.step(now).await;
    assert_eq!(seen_by(&clinic, 1).await.as_deref(), Some("Ines"));
    assert_eq!(with(&clinic.platform.taken("7"), "Seen: Juniper"), 1);
    assert_eq!(with(&clinic.platform.taken(CLINIC), "Seen: Juniper"), 1);
}

#[tokio::test]
async fn a_clinic_without_a_group_is_told_in_each_ones_own_chat() {
    let mut clinic = begun().await;
    clinic.tamper("delete from clinic_chat").await;
    join(&mut clinic, "Ines", Role::Technician, "7", "7").await;
    join(&mut clinic, "Perrin", Role::Veterinarian, "8", "8").await;
    clinic.says("maren", "can she have a bath?").await;
    clinic.step(morning()).await;
    for address in ["7", "8"] {
        assert_eq!(
            with(&clinic.platform.taken(address), "bath"),
            1,
            "{address}"
        );
    }
}

#[tokio::test]
async fn whoever_is_on_call_is_told_alone_and_the_group_where_they_cannot_be() {
    let mut clinic = begun().await;
    join(&mut clinic, "Ines", Role::Technician, "7", "7").await;
    join(&mut clinic, "Perrin", Role::Veterinarian, "8", "8").await;
    clinic
        .acts(CLINIC, "7", None, Body::Text("on call Perrin".into()))
        .await;
    clinic.step(morning()).await;
    assert_eq!(with(&clinic.platform.taken(CLINIC), "On call:\nPerrin"), 1);
    clinic.platform.taken("8");
    clinic.says("maren", "can she have a bath?").await;
    let quarter = TimeDelta::minutes(15);
    clinic.pass(morning(), morning() + quarter).await;
    assert_eq!(with(&clinic.platform.taken("8"), "NOT SEEN"), 1);
    assert_eq!(with(&clinic.platform.taken(CLINIC), "NOT SEEN"), 0);
    // Perrin blocks the bot: the next alert for whoever is on call is not lost.
    clinic.platform.answer("8", &[gone()]);
    let later = morning() + TimeDelta::hours(1);
    clinic.clock.set(later);
    clinic.says("maren", "can she swim?").await;
    clinic.pass(later, later + quarter).await;
    let told = clinic.platform.taken(CLINIC);
    let on_call = told
        .iter()
        .filter(|o| o.text.contains("swim") && o.text.contains("on call"));
    assert_eq!(on_call.count(), 1, "{told:?}");
}

#[tokio::test]
async fn what_was_ordered_is_a_veterinarians_to_say() {
    let mut clinic = begun().await;
    join(&mut clinic, "Ines", Role::Technician, CLINIC, "7").await;
    join(&mut clinic, "Perrin", Role::Veterinarian, CLINIC, "8").await;
    // The first dose, in the evening, is not answered; its window is over by 22:30.
    let night = at("2026-03-06T05:31:00Z");
    clinic.pass(morning(), night).await;
    let household = clinic.household(1).await;
    let (alert, _) = household.alerts.iter().next_back().unwrap();
    let ended = |how: u32| {
        let tap = Tap::Ended {
            household: 1,
            alert: *alert,
            how,
        };
        Body::Tap(tap.encode())
    };
    clinic.platform.taken(CLINIC);
    clinic.acts(CLINIC, "7", None, ended(2)).await;
    clinic.step(night).await;
    assert_eq!(
        with(&clinic.platform.taken(CLINIC), "A veterinarian has to"),
        1
    );
    assert!(clinic.household(1).await.alerts[alert].ended.is_none());
    clinic.acts(CLINIC, "8", None, ended(2)).await;
    clinic.step(night).await;
    let household = clinic.household(1).await;
    assert_eq!(household.alerts[alert].ended.as_ref().unwrap().by, "Perrin");
    assert!(
        household.administrations.is_empty(),
        "no dose is recorded by that"
    );
}

/// Two technicians and a veterinarian: persons 7, 9 and 8 in the clinic's group.
async fn with_roles() -> Clinic {
    let mut clinic = begun().await;
    join(&mut clinic, "Ines", Role::Technician, CLINIC, "7").await;
    join(&mut clinic, "Perrin", Role::Veterinarian, CLINIC, "8").await;
    join(&mut clinic, "Noor", Role::Technician, CLINIC, "9").await;
    clinic.platform.taken(CLINIC);
    clinic
}

const TECHNICIANS: [&str; 2] = ["7", "9"];
const VETERINARIAN: &str = "8";
const REFUSED: &str = "A veterinarian has to confirm this";

/// What somebody of the group gets for what they do.
async fn told(clinic: &mut Clinic, person: &str, body: Body) -> Vec<vialbell::channel::Outgoing> {
    clinic.acts(CLINIC, person, None, body).await;
    clinic.step(morning()).await;
    clinic.platform.taken(CLINIC)
}

fn confirm(amendment: u32) -> Body {
    let tap = Tap::Amend {
        household: 1,
        amendment,
        verdict: Verdict::Confirm,
    };
    Body::Tap(tap.encode())
}

#[tokio::test]
async fn technicians_alone_change_no_order_and_a_veterinarian_with_one_of_them_does() {
    for words in [
        "pause Juniper",
        "end Juniper",
        "change Juniper dose 1 mL",
        "change Juniper times 09:00, 21:00",
        "change Juniper doses 9",
    ] {
        let mut clinic = with_roles().await;
        let before = clinic.household(1).await.courses;
        told(&mut clinic, TECHNICIANS[0], Body::Text(words.into())).await;
        for technician in TECHNICIANS {
            let answer = told(&mut clinic, technician, confirm(1)).await;
            assert_eq!(
                (answer.len(), with(&answer, REFUSED)),
                (1, 1),
                "{words}: {answer:?}"
            );
            assert_eq!(clinic.household(1).await.courses, before, "{words}");
        }
        told(&mut clinic, VETERINARIAN, confirm(1)).await;
        assert_ne!(clinic.household(1).await.courses, before, "{words}");
        let settled = clinic.household(1).await.amendments[&1].settled.clone();
        assert_eq!(settled.unwrap().by, "Perrin", "{words}");
    }
}

#[tokio::test]
async fn a_technician_confirms_what_a_veterinarian_entered_and_changes_carers_alone() {
    let mut clinic = with_roles().await;
    let before = clinic.household(1).await.courses;
    let words = Body::Text("change Juniper dose 1 mL".into());
    told(&mut clinic, VETERINARIAN, words).await;
    told(&mut clinic, VETERINARIAN, confirm(1)).await;
    assert_eq!(
        clinic.household(1).await.courses,
        before,
        "two people look at it"
    );
    told(&mut clinic, TECHNICIANS[0], confirm(1)).await;
    assert_ne!(clinic.household(1).await.courses, before);
    let words = Body::Text("carer Juniper add Ilse".into());
    told(&mut clinic, TECHNICIANS[0], words).await;
    told(&mut clinic, TECHNICIANS[0], confirm(2)).await;
    let carers = clinic.household(1).await.carers;
    assert!(carers.values().any(|carer| carer.name == "Ilse"));
}

#[tokio::test]
async fn an_order_that_technicians_entered_waits_for_a_veterinarian() {
    let mut clinic = with_roles().await;
    let text = include_str!("../../config/prescription.example.toml");
    told(&mut clinic, TECHNICIANS[0], Body::Text(text.into())).await;
    let confirm = Body::Tap(
        Tap::Confirm {
            household: 2,
            course: 1,
        }
        .encode(),
    );
    let answer = told(&mut clinic, TECHNICIANS[1], confirm.clone()).await;
    assert_eq!(with(&answer, REFUSED), 1, "{answer:?}");
    assert_eq!(clinic.household(2).await.courses[&1].confirmed, None);
    // A terminal is held to the same list.
    for (by, expected) in [
        ("Noor", Confirmed::Veterinarian),
        ("Somebody", Confirmed::Veterinarian),
        ("Perrin", Confirmed::Now),
    ] {
        let confirmed = clinic.engine.confirm(2, 1, by, morning()).await.unwrap();
        assert_eq!(confirmed, expected, "{by}");
    }
    let (_, by) = clinic.household(2).await.courses[&1]
        .confirmed
        .clone()
        .unwrap();
    assert_eq!(by, "Perrin");
}

#[tokio::test]
async fn a_change_from_a_terminal_waits_in_the_chat_for_a_veterinarian() {
    let mut clinic = with_roles().await;
    let changed = clinic
        .engine
        .change_order(1, 1, &Alteration::Pause, "Noor", morning())
        .await
        .unwrap();
    assert_eq!(changed, Changed::Veterinarian(1));
    assert!(clinic.household(1).await.courses[&1].paused.is_none());
    clinic.step(morning()).await;
    let shown = clinic.platform.taken(CLINIC);
    assert!(
        shown.iter().any(|message| !message.buttons.is_empty()),
        "{shown:?}"
    );
    told(&mut clinic, VETERINARIAN, confirm(1)).await;
    assert!(clinic.household(1).await.courses[&1].paused.is_some());
}

#[tokio::test]
async fn whatever_changes_of_the_staff_is_on_record_with_who_and_from_where() {
    let mut clinic = begun().await;
    let now = morning();
    let code = clinic.engine.code_for_the_chat(now).await.unwrap();
    clinic.acts(CLINIC, "41", None, Body::Join(code)).await;
    clinic.step(now).await;
    join(&mut clinic, "Ines", Role::Technician, CLINIC, "7").await;
    join(&mut clinic, "Perrin", Role::Veterinarian, "8", "8").await;
    let on_call = Body::Text("on call Perrin".into());
    clinic.acts(CLINIC, "7", None, on_call).await;
    clinic.step(now).await;
    clinic.engine.put_on_call(None).await.unwrap();
    clinic.engine.remove_staff("Ines", now).await.unwrap();
    let entries = clinic.engine.clinic_journal(None, None).await.unwrap();
    let told: Vec<String> = entries
        .iter()
        .map(|entry| {
            let name = entry.name.as_deref().unwrap_or("-");
            let doer = &entry.doer;
            format!("{} {name} by {} from {}", entry.what, doer.who, doer.origin)
        })
        .collect();
    assert_eq!(
        told,
        [
            "chat-code - by terminal from terminal",
            "chat-bound - by Person 41 from test -100",
            "staff-invited Ines by terminal from terminal",
            "staff-joined Ines by Person 7 from test -100",
            "staff-invited Perrin by terminal from terminal",
            "staff-joined Perrin by Person 8 from test 8",
            "on-call Perrin by Ines from test -100",
            "nobody-on-call - by terminal from terminal",
            "staff-removed Ines by terminal from terminal",
        ]
    );
    let later = Some(now + TimeDelta::days(1));
    assert_eq!(clinic.engine.clinic_journal(later, None).await.unwrap(), []);
}

#[tokio::test]
async fn a_name_that_would_be_read_as_something_else_is_refused() {
    let clinic = begun().await;
    for name in [
        "",
        "  ",
        "group",
        "on-call",
        "Ines\nMarrow",
        &"x".repeat(61),
    ] {
        let added = clinic
            .engine
            .add_staff(name, Role::Technician, morning())
            .await;
        assert!(added.is_err(), "{name:?}");
    }
    let removed = clinic.engine.remove_staff("Nobody", morning()).await;
    assert!(
        removed
            .unwrap_err()
            .to_string()
            .contains("nobody on it yet")
    );
}

#[tokio::test]
async fn whoever_is_not_on_the_staff_changes_no_order_and_is_told_so() {
    for words in [
        "pause Juniper",
        "change Juniper dose 1 mL",
        "end Juniper",
        "enrol",
    ] {
        let mut clinic = begun().await;
        join(&mut clinic, "Ines", Role::Technician, CLINIC, "7").await;
        clinic.platform.taken(CLINIC);
        let before = clinic.household(1).await;
        let text = Body::Text(words.into());
        clinic.acts(CLINIC, "99", None, text).await;
        clinic.step(morning()).await;
        assert_eq!(clinic.household(1).await, before, "{words}");
        let told = clinic.platform.taken(CLINIC);
        assert_eq!(
            (told.len(), with(&told, "staff list")),
            (1, 1),
            "{words}: {told:?}"
        );
    }
}
