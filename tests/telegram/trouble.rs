//! What the platform refuses, and who hears of it.

use crate::{
    clinic::{Clinic, GROUP, JUNIPER, MAREN, SUPERGROUP, TEO, household, order_of},
    stub::Answer,
};
use serde_json::json;
use vialbell::domain::message::Kind;

/// Two homes with a dose at the same time; each has one carer in the bot.
async fn two_homes() -> (Clinic, crate::clinic::Run, [i64; 2]) {
    let (clinic, run) = Clinic::open().await;
    let mut homes = [0; 2];
    for (place, (chat, order)) in [
        (MAREN, order_of("Juniper", "Maren Oakhollow")),
        (TEO, order_of("Pebble", "Noor Saltmarsh")),
    ]
    .into_iter()
    .enumerate()
    {
        let enrolled = clinic.enrol(&run, &order).await;
        clinic.joins(&run, chat, &enrolled.invitations[0].1).await;
        clinic.hears(&run, chat, "mixed").await;
        homes[place] = enrolled.household;
    }
    clinic
        .clock
        .set("2026-03-05T19:30:00-07:00".parse().unwrap());
    (clinic, run, homes)
}

#[tokio::test]
async fn a_chat_that_must_wait_waits_and_others_go_on() {
    let (clinic, run, _) = two_homes().await;
    clinic.stub.script_for(MAREN, Answer::RetryAfter(40));
    assert_eq!(clinic.step(&run).await, [(TEO, Kind::DoseDue)]);
    assert_eq!(
        clinic.passes_to(&run, "2026-03-05T19:30:39-07:00").await,
        []
    );
    let next = run.engine.next_send(run.engine.now()).await.unwrap();
    assert_eq!(next, Some("2026-03-05T19:30:40-07:00".parse().unwrap()));
    let late = clinic.passes_to(&run, "2026-03-05T19:30:40-07:00").await;
    assert_eq!(late, [(MAREN, Kind::DoseDue)]);
}

/// The wait is for the chat, not for the one message that met it.
#[tokio::test]
async fn an_answer_waits_with_the_reminder_before_it() {
    let (clinic, run, _) = two_homes().await;
    clinic.stub.script_for(MAREN, Answer::RetryAfter(40));
    clinic.step(&run).await;
    let asked = clinic.stub.calls("sendMessage").len();
    let said = clinic.hears(&run, MAREN, "how much is left?").await;
    assert_eq!(said, []);
    assert_eq!(clinic.stub.calls("sendMessage").len(), asked);
    let mut late = clinic.passes_to(&run, "2026-03-05T19:30:40-07:00").await;
    late.sort();
    assert_eq!(
        late,
        [(MAREN, Kind::DoseDue), (MAREN, Kind::AnswerRemaining)]
    );
}

#[tokio::test]
async fn the_clinics_chat_that_must_wait_gets_nothing_until_then() {
    let (clinic, run, _) = two_homes().await;
    clinic.step(&run).await;
    clinic.stub.script_for(GROUP, Answer::RetryAfter(40));
    clinic.hears(&run, MAREN, "she looks odd today").await;
    let asked = clinic.stub.calls("sendMessage").len();
    clinic
        .clock
        .set("2026-03-05T19:30:10-07:00".parse().unwrap());
    let said = clinic.hears(&run, TEO, "he looks odd today").await;
    assert_eq!(said, [(TEO, Kind::CallClinic)]);
    assert_eq!(clinic.stub.calls("sendMessage").len(), asked + 1);
    let late = clinic.passes_to(&run, "2026-03-05T19:30:40-07:00").await;
    assert_eq!(late, [(GROUP, Kind::ClinicQuestion); 2]);
    let texts = clinic.texts(GROUP);
    let [.., first, second] = texts.as_slice() else {
        panic!("{texts:?}")
    };
    assert!(
        first.contains("she looks odd") && second.contains("he looks odd"),
        "{texts:?}"
    );
}

#[tokio::test]
async fn who_blocked_the_bot_is_named_to_the_clinic_once() {
    let (clinic, run, homes) = two_homes().await;
    clinic.stub.script_for(
        MAREN,
        Answer::Refusal(403, "Forbidden: bot was blocked by the user"),
    );
    let mut said = clinic.step(&run).await;
    said.sort();
    assert_eq!(
        said,
        [(GROUP, Kind::ClinicUnreachable), (TEO, Kind::DoseDue)]
    );
    let told = clinic.last(GROUP).text;
    assert!(
        told.contains("Maren Oakhollow") && told.contains("Juniper"),
        "{told}"
    );
    assert!(!household(&run, homes[0]).await.carers[&1].reachable);
    // Nothing more is sent to a closed chat; the missed dose still reaches the clinic.
    let mut closed = clinic.passes_to(&run, "2026-03-05T22:30:00-07:00").await;
    closed.retain(|(chat, _)| *chat != TEO);
    assert!(
        closed
            .iter()
            .all(|said| *said == (GROUP, Kind::ClinicMissedDose)),
        "{closed:?}"
    );
    assert!(
        clinic
            .texts(GROUP)
            .iter()
            .any(|text| text.contains("Juniper") && text != &told)
    );

    clinic.stub.push_membership(MAREN, "kicked", "member");
    clinic.settles(&run).await;
    assert!(household(&run, homes[0]).await.carers[&1].reachable);
}

#[tokio::test]
async fn who_blocks_the_bot_between_two_doses_is_named_at_once() {
    let (clinic, run, homes) = two_homes().await;
    clinic.stub.push_membership(MAREN, "member", "kicked");
    let said = clinic.settles(&run).await;
    assert!(said.contains(&(GROUP, Kind::ClinicUnreachable)), "{said:?}");
    assert!(!said.contains(&(MAREN, Kind::DoseDue)), "{said:?}");
    assert!(!household(&run, homes[0]).await.carers[&1].reachable);
}

/// The platform tells of the upgrade in the old group.
#[tokio::test]
async fn alerts_follow_the_clinics_group_that_says_it_moved() {
    let (clinic, run, _) = Clinic::at_the_first_dose().await;
    clinic
        .stub
        .push_message(GROUP, json!({"migrate_to_chat_id": SUPERGROUP}));
    clinic
        .stub
        .push_message(SUPERGROUP, json!({"migrate_from_chat_id": GROUP}));
    assert_eq!(clinic.settles(&run).await, []);
    let said = clinic.hears(&run, MAREN, "she looks odd today").await;
    assert!(
        said.contains(&(SUPERGROUP, Kind::ClinicQuestion)),
        "{said:?}"
    );
    let enrolled = clinic
        .hears(&run, SUPERGROUP, &order_of("Pebble", "Noor Saltmarsh"))
        .await;
    assert_eq!(
        enrolled,
        [
            (SUPERGROUP, Kind::ClinicOrderCheck),
            (SUPERGROUP, Kind::ClinicEnrolled),
            (SUPERGROUP, Kind::ClinicInvitation)
        ]
    );
}

/// Or it tells only when something is sent there.
#[tokio::test]
async fn an_alert_that_finds_the_group_moved_arrives_in_the_new_one() {
    let (clinic, run, _) = Clinic::at_the_first_dose().await;
    clinic.stub.script_for(GROUP, Answer::Upgraded(SUPERGROUP));
    let said = clinic.hears(&run, MAREN, "she looks odd today").await;
    assert!(
        said.contains(&(SUPERGROUP, Kind::ClinicQuestion)),
        "{said:?}"
    );
    clinic
        .clock
        .set("2026-03-05T19:31:00-07:00".parse().unwrap());
    let said = clinic.hears(&run, MAREN, "and she hides").await;
    assert!(
        said.contains(&(SUPERGROUP, Kind::ClinicQuestion)),
        "{said:?}"
    );
    // The example's chat number in the configuration is not taken again.
    run.engine
        .bind_clinic_chat_once(&crate::clinic::chat(GROUP))
        .await
        .unwrap();
    clinic
        .clock
        .set("2026-03-05T19:32:00-07:00".parse().unwrap());
    let said = clinic.hears(&run, MAREN, "and she shakes her head").await;
    assert!(
        said.contains(&(SUPERGROUP, Kind::ClinicQuestion)),
        "{said:?}"
    );
}

/// An alert waits for the clinic's chat as long as it takes.
#[tokio::test]
async fn an_alert_outlives_a_clinics_chat_that_is_closed_for_a_while() {
    let (clinic, run, _) = Clinic::at_the_first_dose().await;
    clinic.stub.script_for(
        GROUP,
        Answer::Refusal(403, "Forbidden: bot was kicked from the group chat"),
    );
    let said = clinic.hears(&run, MAREN, "she looks odd today").await;
    assert_eq!(said, [(MAREN, Kind::CallClinic)]);
    let said = clinic.passes_to(&run, "2026-03-05T19:40:00-07:00").await;
    assert_eq!(said, [(GROUP, Kind::ClinicQuestion)]);
}

/// With the platform away longer than a reminder is of use, one that is of
/// use is sent, and the window that closed reaches the clinic.
#[tokio::test]
async fn a_reminder_that_is_of_no_use_any_more_is_not_sent() {
    let (clinic, run, _) = two_homes().await;
    clinic.stub.script_for(MAREN, Answer::RetryAfter(3600));
    clinic.step(&run).await;
    // Asked again at 20:00; of the two only the newer is of use at 20:30.
    clinic.passes_to(&run, "2026-03-05T20:00:00-07:00").await;
    let said = clinic.passes_to(&run, "2026-03-05T20:30:00-07:00").await;
    let to_maren: Vec<_> = said.iter().filter(|(chat, _)| *chat == MAREN).collect();
    assert_eq!(to_maren, [&(MAREN, Kind::DoseAgain)]);
}

#[tokio::test]
async fn an_owner_without_an_answer_yet_is_not_asked_twice_at_once() {
    let (clinic, run) = Clinic::open().await;
    let enrolled = clinic.enrol(&run, JUNIPER).await;
    clinic.joins(&run, MAREN, &enrolled.invitations[0].1).await;
    clinic.passes_to(&run, "2026-03-05T19:30:00-07:00").await;
    let sent = clinic.stub.sent().len();
    // The clock is set back, as a machine's clock may be.
    for time in ["2026-03-05T19:20:00-07:00", "2026-03-05T19:30:00-07:00"] {
        clinic.passes_to(&run, time).await;
    }
    assert_eq!(clinic.stub.sent().len(), sent);
}
