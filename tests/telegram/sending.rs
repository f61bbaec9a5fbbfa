//! What goes out, and what an answer of the platform makes of it.

use crate::{
    channel,
    stub::{Answer, Stub},
};
use serde_json::json;
use std::time::Duration;
use vialbell::channel::{Attachment, Channel, Outgoing, OutgoingButton, Sent};

fn outgoing(text: &str) -> Outgoing {
    Outgoing {
        address: "77".to_owned(),
        text: text.to_owned(),
        buttons: Vec::new(),
        attachment: None,
        quiet: false,
    }
}

fn with_buttons(text: &str, labels: &[&str]) -> Outgoing {
    let button = |(place, label): (usize, &&str)| OutgoingButton {
        label: (*label).to_owned(),
        data: format!("d{place}"),
    };
    let buttons = labels.iter().enumerate().map(button).collect();
    Outgoing {
        buttons,
        ..outgoing(text)
    }
}

async fn sent_when(answer: Answer) -> Sent {
    let stub = Stub::start().await;
    stub.script("sendMessage", answer);
    let outcome = channel(&stub).send(&outgoing("It is time.")).await;
    assert_eq!(stub.sent(), [], "nothing reached the chat");
    outcome
}

#[tokio::test]
async fn a_text_goes_out_as_it_is_with_its_buttons() {
    let stub = Stub::start().await;
    let text = "*Juniper*: 1.5 mL <now> https://example.org";
    let message = with_buttons(text, &["Given", "Not given", "Help"]);
    let outcome = channel(&stub).send(&message).await;

    let [sent] = stub.wait_for(1).await.try_into().unwrap();
    let id = sent.id.to_string();
    assert_eq!(outcome, Sent::Accepted { external_id: id });
    assert_eq!(
        (sent.chat, sent.text.as_str(), sent.quiet),
        (77, text, false)
    );
    let button = |label: &str, data: &str| (label.to_owned(), data.to_owned());
    let row = [
        button("Given", "d0"),
        button("Not given", "d1"),
        button("Help", "d2"),
    ];
    assert_eq!(sent.rows, [row]);
    let [call] = stub.calls("sendMessage").try_into().unwrap();
    assert_eq!(call["link_preview_options"], json!({"is_disabled": true}));
    assert!(call["parse_mode"].is_null(), "the text is no markup");
}

/// Taken for a failure, it would be sent again and again.
#[tokio::test]
async fn a_message_that_was_taken_was_sent_whatever_else_the_answer_holds() {
    let external_id = "812".to_owned();
    assert_eq!(
        sent_when(Answer::Strange(812)).await,
        Sent::Accepted { external_id }
    );
}

#[tokio::test]
async fn what_stands_behind_it_is_sent_all_the_same() {
    let stub = Stub::start().await;
    let long = "word ".repeat(1_000);
    stub.script("sendMessage", Answer::Strange(812));
    let outcome = channel(&stub).send(&outgoing(&long)).await;
    let [second] = stub.wait_for(1).await.try_into().unwrap();
    let external_id = second.id.to_string();
    assert_eq!(outcome, Sent::Accepted { external_id });

    // A paper, and the words that are too many to stand below it.
    stub.script("sendDocument", Answer::Strange(813));
    let with_paper = Outgoing {
        attachment: Some(Attachment {
            name: "sheet.pdf".into(),
            bytes: b"%PDF-".to_vec(),
            picture: false,
        }),
        ..outgoing(&"word ".repeat(300))
    };
    let outcome = channel(&stub).send(&with_paper).await;
    let sent = stub.wait_for(2).await;
    let external_id = sent[1].id.to_string();
    assert_eq!(outcome, Sent::Accepted { external_id });
}

#[tokio::test]
async fn long_labels_get_a_row_each() {
    let stub = Stub::start().await;
    let message = with_buttons("Which?", &["Given at the planned time", "Not given"]);
    channel(&stub).send(&message).await;
    assert_eq!(stub.sent()[0].rows.len(), 2);
}

#[tokio::test]
async fn a_quiet_message_does_not_ring() {
    let stub = Stub::start().await;
    let message = Outgoing {
        attachment: None,
        quiet: true,
        ..outgoing("Still waiting.")
    };
    channel(&stub).send(&message).await;
    assert!(stub.sent()[0].quiet);
}

#[tokio::test]
async fn a_text_over_4096_units_goes_out_in_parts_and_rings_once() {
    let stub = Stub::start().await;
    let text = "🐈 drank well today\n".repeat(400);
    let outcome = channel(&stub).send(&with_buttons(&text, &["Seen"])).await;

    let sent = stub.sent();
    assert!(sent.len() > 1);
    let quiet: Vec<_> = sent.iter().map(|part| part.quiet).collect();
    assert_eq!(
        (quiet[0], quiet[1..].iter().all(|quiet| *quiet)),
        (false, true)
    );
    let last = sent.last().unwrap();
    assert_eq!(last.buttons().len(), 1);
    assert!(
        sent[..sent.len() - 1]
            .iter()
            .all(|part| part.rows.is_empty())
    );
    let words = |text: &str| text.split_whitespace().count();
    assert_eq!(
        sent.iter().map(|part| words(&part.text)).sum::<usize>(),
        words(&text)
    );
    let id = last.id.to_string();
    assert_eq!(outcome, Sent::Accepted { external_id: id });
}

#[tokio::test]
async fn too_many_requests_mean_later() {
    let after = Duration::from_secs(35);
    assert_eq!(
        sent_when(Answer::RetryAfter(35)).await,
        Sent::Later { after }
    );
}

#[tokio::test]
async fn a_blocked_deleted_or_unknown_chat_is_gone() {
    for (code, words) in [
        (403, "Forbidden: bot was blocked by the user"),
        (403, "Forbidden: user is deactivated"),
        (
            403,
            "Forbidden: bot can't initiate conversation with a user",
        ),
        (403, "Forbidden: bot was kicked from the supergroup chat"),
        (400, "Bad Request: chat not found"),
    ] {
        let why = words.to_owned();
        assert_eq!(
            sent_when(Answer::Refusal(code, words)).await,
            Sent::Gone { why }
        );
    }
}

#[tokio::test]
async fn an_upgraded_group_has_moved() {
    let to = "-1000000000005".to_owned();
    let outcome = sent_when(Answer::Upgraded(-1_000_000_000_005)).await;
    assert_eq!(outcome, Sent::Moved { to });
}

#[tokio::test]
async fn what_will_never_be_taken_is_refused() {
    let stub = Stub::start().await;
    let mut forged = with_buttons("Which?", &["A"]);
    forged.buttons[0].data = "x".repeat(65);
    let why = "Bad Request: BUTTON_DATA_INVALID".to_owned();
    assert_eq!(channel(&stub).send(&forged).await, Sent::Refused { why });
    let empty = channel(&stub).send(&outgoing("")).await;
    assert!(matches!(empty, Sent::Refused { .. }), "{empty:?}");
    let elsewhere = Outgoing {
        address: "a phone number".to_owned(),
        ..outgoing("Hello.")
    };
    let nowhere = channel(&stub).send(&elsewhere).await;
    assert!(matches!(nowhere, Sent::Refused { .. }), "{nowhere:?}");
    assert_eq!(stub.sent(), []);
}

/// teloxide sleeps 10 s after a server's error: slow, and so it is.
#[tokio::test]
async fn a_server_in_trouble_leaves_it_open_whether_it_arrived() {
    let answers = [
        Answer::Refusal(500, "Internal Server Error"),
        Answer::Html(502),
        Answer::Broken,
    ];
    for outcome in futures_util::future::join_all(answers.map(sent_when)).await {
        assert!(matches!(outcome, Sent::Unclear { .. }), "{outcome:?}");
    }
}

#[tokio::test]
async fn a_server_that_is_not_there_leaves_it_open_too() {
    let stub = Stub::start().await;
    let channel = channel(&stub);
    drop(stub);
    let outcome = channel.send(&outgoing("Hello.")).await;
    assert!(matches!(outcome, Sent::Unclear { .. }), "{outcome:?}");
}

#[tokio::test]
async fn the_bot_learns_its_name_and_sets_its_commands_in_every_language() {
    let stub = Stub::start().await;
    stub.script(
        "setMyDescription",
        Answer::Refusal(400, "Bad Request: too long"),
    );
    let commands = [
        ("", vec![("today", "Doses of today")]),
        ("es", vec![("today", "Dosis de hoy")]),
    ];
    let descriptions = [
        ("", "Reminds of injections"),
        ("es", "Recuerda las inyecciones"),
    ];
    let name = channel(&stub)
        .introduce(&commands, &descriptions)
        .await
        .unwrap();

    assert_eq!(name.as_str(), "invented_clinic_bot");
    let set = stub.calls("setMyCommands");
    assert_eq!(
        set[0],
        json!({"commands": [{"command": "today", "description": "Doses of today"}]})
    );
    assert_eq!(set[1]["language_code"], "es");
    let described = stub.calls("setMyDescription");
    assert_eq!(described.len(), 2, "one that fails does not end the others");
    assert_eq!(
        described[1],
        json!({"description": "Recuerda las inyecciones", "language_code": "es"})
    );
}
