//! Who is let in, and what everybody else hears.

use crate::clinic::{Clinic, GROUP, JUNIPER, MAREN, PHONE, TEO, button, household, order_of};
use vialbell::domain::message::{Kind, Tap};

const STRANGER: i64 = 666;

#[tokio::test]
async fn an_invitation_lets_one_person_in_once() {
    let (clinic, run) = Clinic::open().await;
    let enrolled = clinic.enrol(&run, JUNIPER).await;
    let code = &enrolled.invitations[0].1;
    assert!(code.len() >= 20, "20 letters of 32 hold 100 bits: {code}");
    assert_eq!(
        clinic.joins(&run, MAREN, code).await,
        [(MAREN, Kind::CourseJoined)]
    );
    let before = household(&run, enrolled.household).await;

    let second = clinic.joins(&run, STRANGER, code).await;
    assert_eq!(second, [(STRANGER, Kind::AnswerClinicContact)]);
    let said = clinic.last(STRANGER);
    assert!(
        said.text.contains(PHONE) && !said.text.contains("Juniper"),
        "{said:?}"
    );
    assert_eq!(household(&run, enrolled.household).await, before);
    // The owner who opens the link again is in already.
    clinic.joins(&run, MAREN, code).await;
    assert_eq!(
        household(&run, enrolled.household).await.carers,
        before.carers
    );
}

#[tokio::test]
async fn an_invitation_that_is_too_old_lets_nobody_in() {
    let (clinic, run) = Clinic::open().await;
    let enrolled = clinic.enrol(&run, JUNIPER).await;
    // The example configuration lets it be used for 72 hours.
    clinic.passes_to(&run, "2026-03-08T16:00:00-07:00").await;
    let said = clinic.joins(&run, MAREN, &enrolled.invitations[0].1).await;
    assert_eq!(said, [(MAREN, Kind::AnswerClinicContact)]);
    let home = household(&run, enrolled.household).await;
    assert!(home.carers.values().all(|carer| carer.chat.is_none()));
}

#[tokio::test]
async fn a_stranger_gets_the_phone_once_and_the_clinic_hears_nothing() {
    let (clinic, run) = Clinic::open().await;
    for words in [
        "hello",
        "who is this?",
        "/start abc",
        "given",
        "how much is left?",
    ] {
        clinic.hears(&run, STRANGER, words).await;
    }
    clinic.feels_tap(&run, STRANGER, "g:1:1").await;
    let texts = clinic.texts(STRANGER);
    assert_eq!(texts.len(), 1, "{texts:?}");
    assert!(texts[0].contains(PHONE));
    assert_eq!(clinic.texts(GROUP), [""; 0]);
}

/// Danger goes before everything, also for somebody we do not know.
#[tokio::test]
async fn a_stranger_in_an_emergency_gets_the_emergency_phone_each_time() {
    let (clinic, run) = Clinic::open().await;
    clinic.hears(&run, STRANGER, "hello").await;
    let said = clinic
        .hears(&run, STRANGER, "my dog collapsed and cannot breathe")
        .await;
    assert_eq!(said, [(STRANGER, Kind::Emergency)]);
    assert!(
        clinic
            .last(STRANGER)
            .text
            .contains(crate::clinic::EMERGENCY_PHONE)
    );
}

#[tokio::test]
async fn the_clinic_enrols_by_sending_the_prescription_into_its_chat() {
    let (clinic, run) = Clinic::open().await;
    let said = clinic.hears(&run, GROUP, JUNIPER).await;
    assert_eq!(
        said,
        [
            (GROUP, Kind::ClinicOrderCheck),
            (GROUP, Kind::ClinicEnrolled),
            (GROUP, Kind::ClinicInvitation),
            (GROUP, Kind::ClinicInvitation)
        ]
    );
    let pictures = clinic.stub.calls("sendPhoto");
    assert_eq!(pictures.len(), 2, "a picture to scan for each carer");
    let sheet = clinic.stub.calls("sendDocument").pop().unwrap();
    let answer = sheet["caption"].as_str().unwrap();
    let part = sheet["document"].as_str().unwrap();
    let part = part.strip_prefix("attach://").unwrap();
    assert_eq!(sheet[part]["file"], "Juniper-sheet.pdf", "{sheet}");
    assert_eq!(sheet[part]["begins"], "%PDF-", "{sheet}");
    let links: Vec<&str> = answer
        .split_whitespace()
        .filter_map(|word| word.split_once("https://t.me/invented_clinic_bot?start="))
        .map(|(_, code)| code)
        .collect();
    assert_eq!(links.len(), 2, "a link for each carer: {answer}");
    assert!(answer.contains("1.5 mL"), "{answer}");
    let confirm = Tap::Confirm {
        household: 1,
        course: 1,
    }
    .encode();
    // Whoever sent the order in cannot confirm it; a colleague can.
    let said = clinic.feels_tap(&run, GROUP, &confirm).await;
    assert_eq!(said, [(GROUP, Kind::ClinicOrderCheck)]);
    assert!(clinic.last(GROUP).text.contains("Not confirmed"));
    clinic.stub.push_tap_by(GROUP, &confirm, 4242);
    assert_eq!(
        clinic.settles(&run).await,
        [(GROUP, Kind::ClinicOrderCheck)]
    );
    assert!(clinic.last(GROUP).text.contains("Order confirmed"));
    for (chat, code) in [MAREN, TEO].into_iter().zip(links) {
        assert_eq!(
            clinic.joins(&run, chat, code).await,
            [(chat, Kind::CourseJoined)]
        );
    }
}

#[tokio::test]
async fn a_prescription_with_mistakes_is_answered_with_all_of_them_and_enrols_nobody() {
    let (clinic, run) = Clinic::open().await;
    let wrong = JUNIPER
        .replace("tarnmoss", "moss")
        .replace("America/Denver", "America/Denvr");
    let said = clinic.hears(&run, GROUP, &wrong).await;
    assert_eq!(said, [(GROUP, Kind::ClinicOrderCheck)]);
    let answer = clinic.last(GROUP).text;
    assert!(
        answer.contains("moss") && answer.contains("America/Denvr"),
        "{answer}"
    );
    assert!(run.engine.household(1).await.unwrap().is_none());
    // What colleagues say to each other there is no order, and gets no answer.
    assert_eq!(
        clinic.hears(&run, GROUP, "who takes the 9 o'clock?").await,
        []
    );
}

/// Data of buttons can be written by anybody who speaks the platform's protocol.
#[tokio::test]
async fn forged_taps_change_nothing() {
    let (clinic, run, juniper) = Clinic::at_the_first_dose().await;
    let pebble = clinic
        .enrol(&run, &order_of("Pebble", "Noor Saltmarsh"))
        .await;
    clinic.joins(&run, TEO, &pebble.invitations[0].1).await;
    let before = [
        household(&run, juniper).await,
        household(&run, pebble.household).await,
    ];
    // Noor, whose dose is not due yet, tries her neighbour's numbers and nonsense.
    for data in [
        "g:2:1",
        "g:1:4294967295",
        "g:1:99",
        "g:0:0",
        "m:9:1",
        "d:1:1",
        "t:1",
        "c:1:0",
        "x:1",
        "s:1:99:99",
        &format!("a:{juniper}:1"),
        "a:1:1",
        "g:1",
        "g:-1:1",
        "",
        "' or 1=1 --",
        "\u{202e}g:1:1",
    ] {
        clinic.feels_tap(&run, TEO, data).await;
        clinic
            .clock
            .set(run.engine.now() + chrono::TimeDelta::seconds(2));
    }
    assert_eq!(household(&run, juniper).await, before[0]);
    let after = household(&run, pebble.household).await;
    assert_eq!(after.administrations, before[1].administrations);
    assert_eq!(after.courses, before[1].courses);
    // The reminder's own button still works for the one who was asked.
    let given = button(&clinic.last(MAREN), "Given");
    clinic.feels_tap(&run, MAREN, &given).await;
    assert_eq!(household(&run, juniper).await.administrations.len(), 1);
}
