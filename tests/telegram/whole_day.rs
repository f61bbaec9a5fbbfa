//! The job from end to end: enrolled, joined, reminded, recorded, asked.

use crate::clinic::{Clinic, GROUP, JUNIPER, MAREN, PHONE, TEO, button, household};
use serde_json::json;
use vialbell::domain::{household::Status, message::Kind};

#[tokio::test]
async fn from_the_prescription_to_what_is_left_in_the_vial() {
    let (clinic, run) = Clinic::open().await;
    let enrolled = clinic.enrol(&run, JUNIPER).await;
    let [(maren, code), (teo, other)] = enrolled.invitations.as_slice() else {
        panic!("an invitation for each carer: {:?}", enrolled.invitations);
    };
    assert_eq!(
        (maren.as_str(), teo.as_str()),
        ("Maren Oakhollow", "Teo Oakhollow")
    );
    assert_eq!(
        clinic.joins(&run, MAREN, code).await,
        [(MAREN, Kind::CourseJoined)]
    );
    assert_eq!(
        clinic.joins(&run, TEO, other).await,
        [(TEO, Kind::CourseJoined)]
    );

    clinic.passes_to(&run, "2026-03-05T19:10:00-07:00").await;
    let said = clinic.hears(&run, MAREN, "mixed").await;
    assert!(said.contains(&(MAREN, Kind::RecordedMixed)), "{said:?}");
    assert_eq!(
        clinic
            .passes_to(&run, "2026-03-05T19:29:59.999-07:00")
            .await,
        []
    );
    // At the planned time, on the owner's clock, and not a moment before.
    let due = clinic.passes_to(&run, "2026-03-05T19:30:00-07:00").await;
    assert_eq!(due, [(MAREN, Kind::DoseDue), (TEO, Kind::DoseDue)]);
    let reminder = clinic.last(MAREN);
    assert!(
        reminder.text.contains("Juniper") && reminder.text.contains("1.5 mL"),
        "{reminder:?}"
    );

    clinic
        .clock
        .set("2026-03-05T19:34:00-07:00".parse().unwrap());
    let given = button(&reminder, "Given");
    let said = clinic.feels_tap(&run, MAREN, &given).await;
    assert!(said.contains(&(MAREN, Kind::RecordedGiven)), "{said:?}");
    let said = clinic.hears(&run, TEO, "how much is left?").await;
    assert_eq!(said, [(TEO, Kind::AnswerRemaining)]);
    // 3.6 mL can be drawn from a vial; 1.5 mL were.
    assert!(
        clinic.last(TEO).text.contains("2.1 mL"),
        "{}",
        clinic.last(TEO).text
    );

    let home = household(&run, enrolled.household).await;
    let record = home.in_force(1, 1).unwrap();
    assert_eq!(
        (record.status, record.by.as_str()),
        (Status::Completed, "Maren Oakhollow")
    );
    assert_eq!(
        record.at,
        "2026-03-05T19:34:00-07:00"
            .parse::<vialbell::domain::Instant>()
            .unwrap()
    );
    assert_eq!(
        clinic.passes_to(&run, "2026-03-06T07:29:00-07:00").await,
        []
    );
}

#[tokio::test]
async fn the_second_carer_who_taps_hears_who_gave_it_and_when() {
    let (clinic, run) = Clinic::open().await;
    let enrolled = clinic.enrol(&run, JUNIPER).await;
    for (chat, (_, code)) in [MAREN, TEO].into_iter().zip(&enrolled.invitations) {
        clinic.joins(&run, chat, code).await;
    }
    clinic.hears(&run, MAREN, "mixed").await;
    clinic.passes_to(&run, "2026-03-05T19:30:00-07:00").await;
    let given = button(&clinic.last(MAREN), "Given");
    // Both fingers come down before either tap has been seen.
    clinic.stub.push_tap(MAREN, &given);
    clinic.stub.push_tap(TEO, &given);
    clinic.settles(&run).await;

    let home = household(&run, enrolled.household).await;
    assert_eq!(home.administrations.len(), 1, "one dose, one record");
    assert!(
        clinic.last(TEO).text.contains("Maren Oakhollow"),
        "{}",
        clinic.last(TEO).text
    );
    assert!(
        clinic.last(TEO).text.contains("19:30") || clinic.last(TEO).text.contains("7:30"),
        "{}",
        clinic.last(TEO).text
    );
}

#[tokio::test]
async fn a_tap_takes_the_buttons_away() {
    let (clinic, run, _) = Clinic::at_the_first_dose().await;
    let reminder = clinic.last(MAREN);
    assert!(reminder.open);
    clinic
        .feels_tap(&run, MAREN, &button(&reminder, "Given"))
        .await;
    // Tidying away leaves the chat's next turn to a message.
    (clinic.clock).set(run.engine.now() + chrono::TimeDelta::seconds(3));
    clinic.settles(&run).await;
    crate::stub::until("the buttons are gone", || {
        !clinic
            .stub
            .sent()
            .iter()
            .any(|message| message.id == reminder.id && message.open)
    })
    .await;
    assert_eq!(clinic.stub.calls("answerCallbackQuery").len(), 1);
}

#[tokio::test]
async fn a_dose_that_nobody_answers_is_asked_again_and_reaches_the_clinic() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    let again = clinic.passes_to(&run, "2026-03-05T20:00:00-07:00").await;
    assert_eq!(again, [(MAREN, Kind::DoseAgain)]);
    assert!(clinic.last(MAREN).quiet, "it rang already");
    for time in ["2026-03-05T20:30:00-07:00", "2026-03-05T21:30:00-07:00"] {
        assert_eq!(
            clinic.passes_to(&run, time).await,
            [(MAREN, Kind::DoseAgain)]
        );
    }
    let mut closed = clinic.passes_to(&run, "2026-03-05T22:30:00-07:00").await;
    closed.sort();
    assert_eq!(
        closed,
        [
            (GROUP, Kind::ClinicMissedDose),
            (MAREN, Kind::DoseWindowClosed)
        ]
    );
    assert!(
        clinic.last(MAREN).text.contains(PHONE),
        "{}",
        clinic.last(MAREN).text
    );
    let alert = clinic.last(GROUP);
    assert!(
        alert.text.contains("Juniper") && alert.text.contains("Maren Oakhollow"),
        "{}",
        alert.text
    );

    let seen = button(&alert, "Seen");
    clinic.feels_tap(&run, GROUP, &seen).await;
    let home = household(&run, id).await;
    assert!(
        home.alerts
            .values()
            .any(|alert| alert.kind == Kind::ClinicMissedDose && alert.seen.is_some())
    );
}

/// No medium is lost: each reaches the clinic, and its sender is told to call.
#[tokio::test]
async fn what_is_no_text_reaches_the_clinic() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    for content in [
        json!({"photo": [{"file_id": "f"}], "caption": "is this cloudy?"}),
        json!({"voice": {"file_id": "f", "duration": 3}}),
        json!({"sticker": {"file_id": "f"}}),
        json!({"video_note": {"file_id": "f"}}),
        json!({"document": {"file_id": "f"}}),
    ] {
        clinic.stub.push_message(MAREN, content.clone());
        let mut said = clinic.settles(&run).await;
        said.sort();
        assert_eq!(
            said,
            [(GROUP, Kind::ClinicQuestion), (MAREN, Kind::CallClinic)],
            "{content}"
        );
        assert!(clinic.last(MAREN).text.contains(PHONE));
        // Telegram's pace of three in three seconds is kept by our clock.
        clinic
            .clock
            .set(run.engine.now() + chrono::TimeDelta::seconds(10));
    }
    assert!(
        clinic
            .texts(GROUP)
            .iter()
            .any(|text| text.contains("is this cloudy?"))
    );
    assert_eq!(household(&run, id).await.administrations.len(), 0);
}

/// A place may be in another zone: before anything moves the home is asked.
#[tokio::test]
async fn a_place_on_the_map_moves_no_dose_by_itself() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    let before = household(&run, id).await;
    let place = json!({"location": {"latitude": 49.2827, "longitude": -123.1207}});
    clinic.stub.push_message(MAREN, place);
    let said = clinic.settles(&run).await;
    assert!(said.iter().any(|(chat, _)| *chat == MAREN), "{said:?}");
    let after = household(&run, id).await;
    assert_eq!((after.zone, &after.courses), (before.zone, &before.courses));
}

#[tokio::test]
async fn an_edited_message_is_left_to_a_person_and_records_nothing_new() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    clinic.hears(&run, MAREN, "given at 7:30 pm").await;
    let before = household(&run, id).await.administrations;
    assert_eq!(before.len(), 1);
    clinic.stub.push_edit(MAREN, "given at 8:10 pm");
    let mut said = clinic.settles(&run).await;
    said.sort();
    assert_eq!(
        said,
        [(GROUP, Kind::ClinicQuestion), (MAREN, Kind::CallClinic)]
    );
    assert!(clinic.last(GROUP).text.contains("given at 8:10 pm"));
    assert_eq!(household(&run, id).await.administrations, before);
}

/// As long as Telegram lets a text be (4096 units). The clinic's chat shows its
/// beginning and says that it is shortened; the record holds all of it.
#[tokio::test]
async fn the_longest_text_that_an_owner_can_write_reaches_the_clinic() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    let words = "she hides under the bed and 🐈 ".repeat(200);
    let words = words.chars().take(3900).collect::<String>() + " last words";
    let mut said = clinic.hears(&run, MAREN, &words).await;
    said.sort();
    assert_eq!(
        said,
        [(GROUP, Kind::ClinicQuestion), (MAREN, Kind::CallClinic)]
    );
    let told = clinic.last(GROUP);
    assert!(
        told.text.contains("she hides under the bed") && told.open,
        "{told:?}"
    );
    assert!(told.text.contains("(shortened)"), "{told:?}");
    let home = household(&run, id).await;
    let alert = home.alerts.values().next_back().unwrap();
    assert!(alert.text.as_ref().unwrap().ends_with("last words"));
    assert_eq!(home.administrations.len(), 0);
}

/// A sign of danger is heard wherever it stands.
#[tokio::test]
async fn danger_at_the_end_of_the_longest_text_is_heard() {
    let (clinic, run, _) = Clinic::at_the_first_dose().await;
    let words = "it was a long day and we walked ".repeat(125) + ". she is having a seizure";
    let said = clinic.hears(&run, MAREN, &words).await;
    assert!(said.contains(&(MAREN, Kind::Emergency)), "{said:?}");
    assert!(said.contains(&(GROUP, Kind::ClinicEmergency)), "{said:?}");
}

/// An answer of ours over 4096 units: a mistake a line, and hundreds of them.
#[tokio::test]
async fn an_answer_over_4096_units_arrives_whole_in_parts() {
    let (clinic, run) = Clinic::open().await;
    let keys: String = (0..200).map(|n| format!("odd{n} = 1\n")).collect();
    clinic
        .hears(&run, GROUP, &format!("[patient]\n{keys}"))
        .await;
    let texts = clinic.texts(GROUP);
    assert!(texts.len() > 1, "{}", texts.len());
    assert!(texts.iter().all(|text| text.encode_utf16().count() <= 4096));
    let all = texts.join("\n");
    for n in 0..200 {
        assert!(all.contains(&format!("odd{n}")), "odd{n} of {all}");
    }
}
