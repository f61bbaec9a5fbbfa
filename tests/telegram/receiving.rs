//! What comes in, and that nothing of it is lost.

use crate::{
    channel,
    inbox::{Kept, Receiver, Stuck},
    stub::{Answer, Stub, until},
};
use serde_json::json;
use std::{collections::BTreeSet, sync::Arc};
use vialbell::{
    channel::{Channel, Outgoing, OutgoingButton},
    domain::arrival::{Body, Medium},
};

fn text(words: &str) -> Body {
    Body::Text(words.to_owned())
}

fn medium(what: Medium) -> Body {
    Body::Medium {
        what,
        caption: None,
    }
}

/// Receives all that is queued, then stops.
async fn received(stub: &Stub) -> Arc<Kept> {
    let kept = Arc::new(Kept::default());
    let receiver = Receiver::start(stub, &kept);
    stub.wait_until_confirmed().await;
    receiver.stop().await;
    kept
}

async fn send_question(stub: &Stub, chat: i64) {
    let button = |label: &str, data: &str| OutgoingButton {
        label: label.to_owned(),
        data: data.to_owned(),
    };
    let question = Outgoing {
        address: chat.to_string(),
        text: "Juniper, 1.5 mL: given?".to_owned(),
        buttons: vec![button("Given", "g:1"), button("Not given", "n:1")],
        attachment: None,
        quiet: false,
    };
    channel(stub).send(&question).await;
}

#[tokio::test]
async fn everything_that_an_owner_can_send_arrives_in_order() {
    let stub = Stub::start().await;
    let first = stub.push_text(77, "/start AbC-9_");
    stub.push_text(77, "given at 8");
    stub.push_edit(77, "given at 8:10");
    stub.push_tap(77, "g:1");
    stub.push_message(
        77,
        json!({"photo": [{"file_id": "f"}], "caption": "cloudy?"}),
    );
    stub.push_message(77, json!({"voice": {"file_id": "f", "duration": 3}}));
    stub.push_message(77, json!({"sticker": {"file_id": "f"}}));
    stub.push_message(
        77,
        json!({"document": {"file_id": "f", "file_name": "order.toml"}}),
    );
    stub.push_message(
        77,
        json!({"location": {"latitude": 49.2827, "longitude": -123.1207}}),
    );
    stub.push_membership(77, "member", "kicked");
    stub.push_membership(77, "kicked", "member");
    stub.push_message(-5, json!({"migrate_to_chat_id": -1_000_000_000_005_i64}));
    let kept = received(&stub).await;

    let photo = Body::Medium {
        what: Medium::Photo,
        caption: Some("cloudy?".to_owned()),
    };
    let expected = [
        Body::Join("AbC-9_".to_owned()),
        text("given at 8"),
        Body::Edited("given at 8:10".to_owned()),
        Body::Tap("g:1".to_owned()),
        photo,
        medium(Medium::Voice),
        medium(Medium::Sticker),
        medium(Medium::File),
        Body::Place {
            north: 49_282_700,
            east: -123_120_700,
        },
        Body::Gone,
        Body::Back,
        Body::Moved {
            to: "-1000000000005".to_owned(),
        },
    ];
    assert_eq!(kept.bodies(), expected);
    let arrival = &kept.all()[0];
    assert_eq!(arrival.external_id, format!("u{first}"));
    assert_eq!(arrival.address, "77");
    assert_eq!(arrival.sender.as_deref(), Some("Mara Quist"));
}

#[tokio::test]
async fn only_what_matters_is_asked_for_and_no_longer_than_the_client_waits() {
    let stub = Stub::start().await;
    stub.push_text(77, "hello");
    received(&stub).await;
    let asked = stub.calls("getUpdates");
    let kinds = json!([
        "message",
        "edited_message",
        "callback_query",
        "my_chat_member"
    ]);
    assert_eq!(
        asked[0],
        json!({"limit": 100, "timeout": 10, "allowed_updates": kinds})
    );
    assert_eq!(asked[1]["offset"], 1002);
}

#[tokio::test]
async fn a_batch_that_was_not_stored_is_handed_over_again() {
    let stub = Stub::start().await;
    let kept = Arc::new(Kept::default());
    kept.fail(2);
    stub.push_text(77, "given");
    let receiver = Receiver::start(&stub, &kept);
    until("a refused batch", || kept.refused() == 1).await;
    assert_eq!(stub.unconfirmed(), 1, "confirmed, though it was not stored");
    stub.wait_until_confirmed().await;
    receiver.stop().await;

    assert_eq!(kept.refused(), 2);
    assert_eq!(kept.bodies(), [text("given")]);
}

/// Queues two updates and kills the receiver while the inbox has them.
async fn killed_amid(stub: &Stub) -> Arc<Stuck> {
    stub.push_text(77, "given");
    stub.push_tap(77, "g:1");
    let stuck = Arc::new(Stuck::default());
    let receiver = Receiver::start(stub, &stuck);
    until("a batch handed over", || stuck.handed().len() == 2).await;
    receiver.kill().await;
    stuck
}

#[tokio::test]
async fn a_crash_before_the_commit_loses_nothing() {
    let stub = Stub::start().await;
    killed_amid(&stub).await;
    assert_eq!(stub.unconfirmed(), 2, "confirmed before they were stored");
    let answered = stub.calls("answerCallbackQuery");
    assert!(answered.is_empty(), "answered before it was stored");

    stub.push_text(77, "and mixed a vial");
    let kept = received(&stub).await;
    let expected = [
        text("given"),
        Body::Tap("g:1".to_owned()),
        text("and mixed a vial"),
    ];
    assert_eq!(kept.bodies(), expected);
}

#[tokio::test]
async fn a_crash_after_the_commit_repeats_numbers_by_which_the_inbox_knows_them() {
    let stub = Stub::start().await;
    let stuck = killed_amid(&stub).await;
    stub.push_text(77, "and mixed a vial");
    let again = received(&stub).await;

    assert_eq!(again.all()[..2], stuck.handed());
    let both = stuck.handed().into_iter().chain(again.all());
    let once: BTreeSet<_> = both.map(|arrival| arrival.external_id).collect();
    assert_eq!(once.len(), 3);
}

#[tokio::test]
async fn a_tap_is_confirmed_to_the_phone() {
    for chat in [77, -5] {
        let stub = Stub::start().await;
        send_question(&stub, chat).await;
        stub.push_tap(chat, "g:1");
        let kept = Arc::new(Kept::default());
        let receiver = Receiver::start(&stub, &kept);
        until("an answer to the tap", || {
            !stub.calls("answerCallbackQuery").is_empty()
        })
        .await;
        receiver.stop().await;
        assert_eq!(
            stub.calls("answerCallbackQuery"),
            [json!({"callback_query_id": format!("q{chat}")})]
        );
        assert_eq!(kept.bodies(), [Body::Tap("g:1".to_owned())]);
    }
}

#[tokio::test]
async fn a_tap_without_data_is_confirmed_though_it_says_nothing() {
    let stub = Stub::start().await;
    let from = json!({"id": 77, "is_bot": false, "first_name": "Mara"});
    stub.push(
        "callback_query",
        json!({"id": "q9", "from": from, "chat_instance": "c"}),
    );
    let kept = Arc::new(Kept::default());
    let receiver = Receiver::start(&stub, &kept);
    until("an answer to the tap", || {
        !stub.calls("answerCallbackQuery").is_empty()
    })
    .await;
    receiver.stop().await;
    assert_eq!(kept.all(), []);
    assert_eq!(stub.calls("editMessageReplyMarkup"), [json!(null); 0]);
}

#[tokio::test]
async fn an_update_that_nobody_can_read_holds_nothing_up() {
    let stub = Stub::start().await;
    let newer =
        json!({"text": "given", "entities": [{"type": "of next year", "offset": 0, "length": 5}]});
    stub.push_message(77, newer);
    stub.push_message(77, json!({"a kind of next year": {"x": 1}}));
    stub.push(
        "message",
        json!({"chat": {"id": 77}, "from": "?", "text": [1]}),
    );
    stub.push("a kind of next year", json!({"chat": {"id": 77}}));
    stub.push("message", json!("not a message at all"));
    stub.push_raw(
        json!({"update_id": 5_000_000_000_i64, "message": {"chat": {"id": 78}, "text": "far"}}),
    );
    let kept = received(&stub).await;
    let other = medium(Medium::Other);
    assert_eq!(
        kept.bodies(),
        [text("given"), other.clone(), other, text("far")]
    );
}

#[tokio::test]
async fn trouble_of_every_kind_ends_and_the_texts_come() {
    for trouble in [
        Answer::RetryAfter(1),
        Answer::Broken,
        Answer::Html(403),
        Answer::Refusal(401, "Unauthorized"),
        Answer::Refusal(
            409,
            "Conflict: terminated by other getUpdates request; make sure that only one bot instance is running",
        ),
    ] {
        let stub = Stub::start().await;
        stub.script("getUpdates", trouble);
        stub.push_text(77, "given");
        assert_eq!(received(&stub).await.bodies(), [text("given")]);
        let offsets: Vec<_> = stub
            .calls("getUpdates")
            .iter()
            .map(|c| c["offset"].clone())
            .collect();
        assert_eq!(offsets[..3], [json!(null), json!(null), json!(1002)]);
    }
}

#[tokio::test]
async fn more_than_a_batch_comes_in_batches() {
    let stub = Stub::start().await;
    for n in 0..250 {
        stub.push_text(77, &n.to_string());
    }
    let kept = received(&stub).await;
    let expected: Vec<_> = (0..250).map(|n| text(&n.to_string())).collect();
    assert_eq!(kept.bodies(), expected);
}

#[tokio::test]
async fn an_update_without_a_number_neither_blocks_others_nor_ends_anything() {
    let stub = Stub::start().await;
    stub.push_raw(json!({"message": {"chat": {"id": 77}, "text": "lost"}}));
    stub.push_text(77, "given");
    let kept = Arc::new(Kept::default());
    let receiver = Receiver::start(&stub, &kept);
    until("a second question", || stub.calls("getUpdates").len() > 1).await;
    stub.push_text(77, "mixed");
    until("both texts", || kept.all().len() == 2).await;
    receiver.stop().await;
    assert_eq!(kept.bodies(), [text("given"), text("mixed")]);
    let asked = stub.calls("getUpdates").len();
    assert!(asked < 6, "asked {asked} times without a pause");
}

/// "If there are no new updates for at least a week, then identifier of the
/// next update will be chosen randomly" (the Bot API's documentation of `Update`).
#[tokio::test]
async fn after_a_quiet_week_numbers_may_begin_lower() {
    let stub = Stub::start().await;
    stub.push_text(77, "given");
    let kept = Arc::new(Kept::default());
    let receiver = Receiver::start(&stub, &kept);
    // The second question stays open for 10 s and brings nothing.
    until("a third question", || stub.calls("getUpdates").len() >= 3).await;
    let far_lower = json!({"chat": {"id": 77}, "from": {"is_bot": false}, "text": "good morning"});
    stub.push_raw(json!({"update_id": 5, "message": far_lower}));
    until("the second text", || kept.all().len() == 2).await;
    receiver.stop().await;
    assert_eq!(kept.all()[1].external_id, "u5");
    assert_eq!(stub.calls("getUpdates")[2]["offset"], json!(null));
}
