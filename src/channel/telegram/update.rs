//! Reads the platform's updates.
//!
//! Only the few fields that matter are looked at, each for itself. A library's
//! types would have to know every part of a message: with a kind of formatting
//! newer than the library, teloxide 0.17 takes an owner's text for an empty
//! message, and the text is lost.
//!
//! Field names: those of `Update`, `Message`, `CallbackQuery` and
//! `ChatMemberUpdated` in Bot API 9.1, as teloxide-core 0.13 spells them.

use crate::domain::arrival::{Arrival, Body, Medium};
use crate::domain::name::is_disguise;
use serde_json::Value;

/// The longest name of a sender that is kept, in characters.
const LONGEST_NAME: usize = 64;

/// A tap, as far as the platform wants to hear that it arrived.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Tapped {
    /// The platform's number of the tap.
    pub query: String,
}

/// The number of an update; the next one asked for is one higher.
pub(super) fn number(update: &Value) -> Option<i64> {
    update["update_id"].as_i64()
}

/// What an update says, or nothing when nobody said anything: a service
/// notice, another bot, a channel.
pub fn arrival(update: &Value, username: Option<&str>) -> Option<Arrival> {
    let id = number(update)?;
    let (chat, sender, body) = message(&update["message"], username)
        .or_else(|| edited(&update["edited_message"]))
        .or_else(|| tap(&update["callback_query"]))
        .or_else(|| membership(&update["my_chat_member"]))?;
    Some(Arrival {
        external_id: format!("u{id}"),
        address: chat.to_string(),
        sender,
        sender_id: writer(update),
        reply_to: answered(update),
        body,
    })
}

/// The number of the person behind an update.
fn writer(update: &Value) -> Option<String> {
    let kinds = [
        "message",
        "edited_message",
        "callback_query",
        "my_chat_member",
    ];
    let id = kinds
        .iter()
        .find_map(|kind| update[*kind]["from"]["id"].as_i64());
    id.map(|id| id.to_string())
}

/// The number of the message that a message answers.
fn answered(update: &Value) -> Option<String> {
    let id = update["message"]["reply_to_message"]["message_id"].as_i64()?;
    Some(id.to_string())
}

/// The tap in an update, where there is one.
pub(super) fn tapped(update: &Value) -> Option<Tapped> {
    let query = &update["callback_query"];
    Some(Tapped {
        query: query["id"].as_str()?.to_owned(),
    })
}

type Heard = (i64, Option<String>, Body);

fn message(message: &Value, username: Option<&str>) -> Option<Heard> {
    let chat = chat(message)?;
    if let Some(to) = message["migrate_to_chat_id"].as_i64() {
        return Some((chat, None, Body::Moved { to: to.to_string() }));
    }
    if is_notice(message) || !is_from_a_person(message) {
        return None;
    }
    let body = if let Some(text) = message["text"].as_str() {
        let shared = message["chat"]["type"] != "private";
        said(text, username.filter(|_| shared))?
    } else {
        place(&message["location"]).unwrap_or_else(|| medium(message))
    };
    Some((chat, author(message), body))
}

fn edited(message: &Value) -> Option<Heard> {
    let chat = chat(message)?;
    // A place that is shared live is edited every few seconds.
    if is_notice(message) || !is_from_a_person(message) || !message["location"].is_null() {
        return None;
    }
    let words = message["text"].as_str().or(message["caption"].as_str());
    let body = words.map_or_else(|| medium(message), |words| Body::Edited(words.to_owned()));
    Some((chat, author(message), body))
}

fn tap(query: &Value) -> Option<Heard> {
    let data = query["data"].as_str()?.to_owned();
    let chat = chat(&query["message"])?;
    Some((chat, name(&query["from"]), Body::Tap(data)))
}

fn membership(change: &Value) -> Option<Heard> {
    let chat = chat(change)?;
    if change["chat"]["type"] == "channel" {
        return None;
    }
    let before = is_in(&change["old_chat_member"]);
    let body = match (before, is_in(&change["new_chat_member"])?) {
        (_, false) => Body::Gone,
        (Some(true), true) => return None,
        (_, true) => Body::Back,
    };
    Some((chat, name(&change["from"]), body))
}

fn is_in(member: &Value) -> Option<bool> {
    match member["status"].as_str()? {
        "creator" | "administrator" | "member" => Some(true),
        "restricted" => member["is_member"].as_bool(),
        "left" | "kicked" => Some(false),
        _ => None,
    }
}

fn chat(holder: &Value) -> Option<i64> {
    holder["chat"]["id"].as_i64()
}

/// Neither a bot nor a channel. An administrator who writes for the group
/// itself is a person, though the platform names a bot of its own as writer.
fn is_from_a_person(message: &Value) -> bool {
    let writes_as = &message["sender_chat"]["id"];
    let person = message["from"]["is_bot"] != true && writes_as.is_null();
    let group = !writes_as.is_null() && *writes_as == message["chat"]["id"];
    message["chat"]["type"] != "channel" && (person || group)
}

fn author(message: &Value) -> Option<String> {
    if message["sender_chat"].is_null() {
        name(&message["from"])
    } else {
        message["author_signature"].as_str().and_then(tidy)
    }
}

fn name(user: &Value) -> Option<String> {
    let first = user["first_name"].as_str().unwrap_or_default();
    let last = user["last_name"].as_str().unwrap_or_default();
    tidy(&format!("{first} {last}"))
}

fn tidy(name: &str) -> Option<String> {
    let plain = name.replace(is_disguise, " ");
    let bounded: String = plain.trim().chars().take(LONGEST_NAME).collect();
    Some(bounded.trim_end().to_owned()).filter(|name| !name.is_empty())
}

/// A text, without the bot's name behind a command (phones add it in groups).
/// A command for a bot of another name than ours is not for us.
fn said(text: &str, username: Option<&str>) -> Option<Body> {
    let end = text.find(char::is_whitespace).unwrap_or(text.len());
    let (word, rest) = text.split_at(end);
    let (command, addressed) = match word.split_once('@') {
        Some((command, name)) if command.starts_with('/') => (command, Some(name)),
        _ => (word, None),
    };
    if let (Some(name), Some(ours)) = (addressed, username)
        && !name.eq_ignore_ascii_case(ours)
    {
        return None;
    }
    if command == "/start" && !rest.trim().is_empty() {
        return Some(Body::Join(rest.trim().to_owned()));
    }
    Some(Body::Text(format!("{command}{rest}")))
}

fn place(location: &Value) -> Option<Body> {
    Some(Body::Place {
        north: millionths(&location["latitude"])?,
        east: millionths(&location["longitude"])?,
    })
}

/// Degrees in millionths, by way of decimal text: nothing is calculated in
/// binary fractions.
fn millionths(degrees: &Value) -> Option<i64> {
    let text = format!("{:.6}", degrees.as_f64()?);
    text.replace('.', "").parse().ok()
}

fn medium(message: &Value) -> Body {
    let known = MEDIA.iter().find(|(field, _)| !message[*field].is_null());
    Body::Medium {
        what: known.map_or(Medium::Other, |(_, what)| *what),
        caption: message["caption"].as_str().map(str::to_owned),
    }
}

/// An animation carries a `document` too, so it stands before it.
const MEDIA: [(&str, Medium); 8] = [
    ("animation", Medium::Sticker),
    ("photo", Medium::Photo),
    ("video", Medium::Video),
    ("video_note", Medium::Video),
    ("voice", Medium::Voice),
    ("audio", Medium::Voice),
    ("sticker", Medium::Sticker),
    ("document", Medium::File),
];

fn is_notice(message: &Value) -> bool {
    NOTICES.iter().any(|field| !message[*field].is_null())
}

/// What the platform itself writes into a chat. To answer "call your clinic"
/// to a changed background would teach people to pass over that sentence.
const NOTICES: [&str; 37] = [
    "new_chat_members",
    "left_chat_member",
    "new_chat_title",
    "new_chat_photo",
    "delete_chat_photo",
    "group_chat_created",
    "supergroup_chat_created",
    "channel_chat_created",
    "message_auto_delete_timer_changed",
    "migrate_from_chat_id",
    "pinned_message",
    "connected_website",
    "write_access_allowed",
    "proximity_alert_triggered",
    "boost_added",
    "chat_background_set",
    "checklist_tasks_done",
    "checklist_tasks_added",
    "direct_message_price_changed",
    "paid_message_price_changed",
    "forum_topic_created",
    "forum_topic_edited",
    "forum_topic_closed",
    "forum_topic_reopened",
    "general_forum_topic_hidden",
    "general_forum_topic_unhidden",
    "giveaway_created",
    "giveaway_completed",
    "giveaway_winners",
    "gift",
    "unique_gift",
    "users_shared",
    "chat_shared",
    "video_chat_scheduled",
    "video_chat_started",
    "video_chat_ended",
    "video_chat_participants_invited",
];

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use teloxide::types::{Message, MessageKind};

    fn from_owner(content: Value) -> Value {
        let mut message = json!({
            "message_id": 5, "date": 1_770_000_000,
            "chat": {"id": 77, "type": "private", "first_name": "Mara"},
            "from": {"id": 77, "is_bot": false, "first_name": "Mara", "last_name": "Quist"},
        });
        let fields = content.as_object().unwrap().clone();
        message.as_object_mut().unwrap().extend(fields);
        message
    }

    fn body_of(content: Value) -> Option<Body> {
        body_in("message", from_owner(content))
    }

    fn body_in(kind: &str, content: Value) -> Option<Body> {
        let update = json!({"update_id": 9, kind: content});
        arrival(&update, Some("clinic_bot")).map(|arrival| arrival.body)
    }

    fn medium_of(content: Value) -> Option<Medium> {
        match body_of(content) {
            Some(Body::Medium { what, .. }) => Some(what),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_text_arrives_with_its_chat_its_writer_and_the_number_of_its_update() {
        let update = json!({"update_id": 9, "message": from_owner(json!({"text": "given"}))});
        let expected = Arrival {
            external_id: "u9".to_owned(),
            address: "77".to_owned(),
            sender: Some("Mara Quist".to_owned()),
            sender_id: Some("77".to_owned()),
            reply_to: None,
            body: Body::Text("given".to_owned()),
        };
        assert_eq!(arrival(&update, None), Some(expected));
    }

    #[test]
    fn a_code_behind_start_is_an_invitation_and_start_alone_is_a_text() {
        let text = |text: &str| body_of(json!({"text": text}));
        let join = Some(Body::Join("AbC-9_".to_owned()));
        assert_eq!(text("/start AbC-9_"), join);
        assert_eq!(text("/start@clinic_bot  AbC-9_ "), join);
        assert_eq!(text("/start"), Some(Body::Text("/start".to_owned())));
        assert_eq!(
            text("/start@clinic_bot "),
            Some(Body::Text("/start ".to_owned()))
        );
        assert_eq!(
            text("/starting AbC"),
            Some(Body::Text("/starting AbC".to_owned()))
        );
        assert_eq!(
            text("me@home 0.5 mL"),
            Some(Body::Text("me@home 0.5 mL".to_owned()))
        );
    }

    #[test]
    fn in_a_group_a_command_for_another_bot_is_not_for_us() {
        let group = json!({"id": -5, "type": "group", "title": "Clinic"});
        let text = |text: &str| body_of(json!({"chat": group, "text": text}));
        assert_eq!(
            text("/today@Clinic_Bot now"),
            Some(Body::Text("/today now".to_owned()))
        );
        assert_eq!(text("/today@weather_bot"), None);
        let alone = body_of(json!({"text": "/today@weather_bot"}));
        assert_eq!(alone, Some(Body::Text("/today".to_owned())));
    }

    #[test]
    fn every_medium_has_its_kind_and_keeps_its_words() {
        let photo = body_of(json!({"photo": [{"file_id": "f"}], "caption": "cloudy?"}));
        let expected = Body::Medium {
            what: Medium::Photo,
            caption: Some("cloudy?".to_owned()),
        };
        assert_eq!(photo, Some(expected));
        for (field, what) in MEDIA {
            assert_eq!(medium_of(json!({field: {"file_id": "f"}})), Some(what));
        }
        let moving = json!({"document": {"file_id": "f"}, "animation": {"file_id": "f"}});
        assert_eq!(medium_of(moving), Some(Medium::Sticker));
        for field in ["contact", "poll", "dice", "a kind of next year"] {
            assert_eq!(medium_of(json!({field: {}})), Some(Medium::Other));
        }
    }

    #[test]
    fn a_place_is_kept_in_millionths_of_a_degree() {
        let place = |north: Value, east: Value| {
            body_of(json!({"location": {"latitude": north, "longitude": east}}))
        };
        let at = |north, east| Some(Body::Place { north, east });
        assert_eq!(
            place(json!(49.282_7), json!(-123.120_7)),
            at(49_282_700, -123_120_700)
        );
        assert_eq!(place(json!(-0.000_001), json!(180)), at(-1, 180_000_000));
        assert_eq!(place(json!(0.000_000_4), json!(1e-7)), at(0, 0));
        let venue =
            json!({"venue": {"title": "Home"}, "location": {"latitude": 1.5, "longitude": 2}});
        assert_eq!(body_of(venue), at(1_500_000, 2_000_000));
    }

    #[test]
    fn an_edit_brings_the_new_words_and_a_moving_place_brings_nothing() {
        let edit = |content: Value| body_in("edited_message", from_owner(content));
        assert_eq!(
            edit(json!({"text": "given 8:10"})),
            Some(Body::Edited("given 8:10".to_owned()))
        );
        assert_eq!(
            edit(json!({"photo": [], "caption": "vial 2"})),
            Some(Body::Edited("vial 2".to_owned()))
        );
        let replaced = Body::Medium {
            what: Medium::Photo,
            caption: None,
        };
        assert_eq!(edit(json!({"photo": []})), Some(replaced));
        assert_eq!(
            edit(json!({"location": {"latitude": 1, "longitude": 2}})),
            None
        );
    }

    #[test]
    fn a_tap_brings_its_data_and_what_the_platform_wants_to_hear() {
        let query = |content: Value| json!({"update_id": 9, "callback_query": content});
        let whole = query(json!({
            "id": "q1", "from": {"id": 77, "is_bot": false, "first_name": "Mara"},
            "message": {"message_id": 5, "date": 0, "chat": {"id": 77, "type": "private"}},
            "data": "g:12",
        }));
        let heard = arrival(&whole, None).unwrap();
        assert_eq!(heard.body, Body::Tap("g:12".to_owned()));
        assert_eq!(heard.sender.as_deref(), Some("Mara"));
        let expected = Tapped {
            query: "q1".to_owned(),
        };
        assert_eq!(tapped(&whole), Some(expected));

        let bare = query(json!({"id": "q2", "from": {"id": 77}}));
        assert_eq!(arrival(&bare, None), None);
        let expected = Tapped {
            query: "q2".to_owned(),
        };
        assert_eq!(tapped(&bare), Some(expected));
    }

    #[test]
    fn a_chat_closes_and_opens_with_the_bots_membership() {
        let change = |before: Value, after: Value| {
            let chat = json!({"id": 77, "type": "private"});
            let content =
                json!({"chat": chat, "old_chat_member": before, "new_chat_member": after});
            body_in("my_chat_member", content)
        };
        let status = |status: &str| json!({"status": status});
        assert_eq!(change(status("member"), status("kicked")), Some(Body::Gone));
        assert_eq!(change(status("member"), status("left")), Some(Body::Gone));
        assert_eq!(change(status("kicked"), status("member")), Some(Body::Back));
        assert_eq!(
            change(status("left"), status("administrator")),
            Some(Body::Back)
        );
        assert_eq!(change(status("member"), status("administrator")), None);
        let muted = |is_member: bool| json!({"status": "restricted", "is_member": is_member});
        assert_eq!(change(status("member"), muted(false)), Some(Body::Gone));
        assert_eq!(change(status("member"), muted(true)), None);
        assert_eq!(change(status("member"), status("of next year")), None);
    }

    #[test]
    fn an_upgraded_group_moves_and_its_echo_in_the_new_one_is_passed_over() {
        let group = json!({"id": -5, "type": "group"});
        let old = body_of(json!({"chat": group, "migrate_to_chat_id": -1_000_000_000_005_i64}));
        let to = "-1000000000005".to_owned();
        assert_eq!(old, Some(Body::Moved { to }));
        assert_eq!(body_of(json!({"migrate_from_chat_id": -5})), None);
    }

    #[test]
    fn bots_channels_and_notices_say_nothing() {
        let bot = json!({"id": 1, "is_bot": true, "first_name": "B"});
        assert_eq!(body_of(json!({"from": bot, "text": "hello"})), None);
        let channel = json!({"id": -8, "type": "channel"});
        assert_eq!(
            body_of(json!({"sender_chat": channel, "text": "hello"})),
            None
        );
        assert_eq!(body_of(json!({"chat": channel, "text": "hello"})), None);
        for field in NOTICES {
            assert_eq!(body_of(json!({field: {}})), None, "{field}");
        }
    }

    #[test]
    fn who_writes_for_the_group_itself_is_a_person() {
        let group = json!({"id": -5, "type": "supergroup"});
        let update = json!({"update_id": 9, "message": {
            "chat": group, "sender_chat": group, "author_signature": "front desk",
            "from": {"id": 1, "is_bot": true, "first_name": "Group"}, "text": "call Mara",
        }});
        let heard = arrival(&update, None).unwrap();
        assert_eq!(heard.body, Body::Text("call Mara".to_owned()));
        assert_eq!(heard.sender.as_deref(), Some("front desk"));
    }

    #[test]
    fn a_name_is_one_line_of_at_most_64_characters() {
        let named = |first: &str| name(&json!({"first_name": first, "last_name": "É"}));
        assert_eq!(named("A\nB"), Some("A B É".to_owned()));
        assert_eq!(named("A\u{2028}\u{202E}B"), Some("A  B É".to_owned()));
        assert_eq!(named(&"é".repeat(80)).unwrap().chars().count(), 64);
        assert_eq!(name(&json!({"first_name": " \n"})), None);
    }

    #[test]
    fn what_cannot_be_read_is_kept_as_something_else_where_there_is_a_chat() {
        let formatted = json!({
            "text": "given", "entities": [{"type": "of next year", "offset": 0, "length": 5}],
        });
        // Why the library's types are not used; when this fails, look again.
        let typed: Message = serde_json::from_value(from_owner(formatted.clone())).unwrap();
        assert_eq!(typed.kind, MessageKind::Empty {});
        assert_eq!(body_of(formatted), Some(Body::Text("given".to_owned())));
        let other = Some(Body::Medium {
            what: Medium::Other,
            caption: None,
        });
        assert_eq!(body_of(json!({"text": 5})), other);
        assert_eq!(
            body_in("message", json!({"chat": {"id": 3}, "from": []})),
            other
        );
        for nothing in [json!({}), json!([]), json!(null), json!({"chat": "?"})] {
            assert_eq!(body_in("message", nothing), None);
        }
        assert_eq!(arrival(&json!("no update"), None), None);
    }
}
