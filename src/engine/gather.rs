//! Several alerts at once go to the clinic as one message with a button for
//! each: a group takes 20 messages a minute, and people read one better than twenty.

use crate::domain::message::{Button, Kind, Label, Message, Recipient, Tap, Value};
use crate::store::ToSend;
use crate::wording::Wording;
use std::collections::BTreeMap;

/// Fewer than these go out each for itself.
const AT_LEAST: usize = 4;
/// As many as a phone shows buttons for without scrolling far.
const MOST: usize = 10;
/// Well below the 4096 characters of one message.
const MOST_CHARACTERS: usize = 3_500;

/// Gathers what goes to the clinic's chat, kind by kind; all else stays as it is.
pub(super) fn gather(messages: Vec<ToSend>, wording: &Wording) -> Vec<ToSend> {
    let mut counted: BTreeMap<Kind, usize> = BTreeMap::new();
    for to_send in messages.iter().filter(|to_send| can_be_gathered(to_send)) {
        *counted.entry(to_send.message.kind).or_default() += 1;
    }
    let many =
        |to_send: &ToSend| can_be_gathered(to_send) && counted[&to_send.message.kind] >= AT_LEAST;
    let (many, mut rest): (Vec<ToSend>, Vec<ToSend>) = messages.into_iter().partition(many);
    let mut by_kind: BTreeMap<Kind, Vec<ToSend>> = BTreeMap::new();
    for to_send in many {
        by_kind
            .entry(to_send.message.kind)
            .or_default()
            .push(to_send);
    }
    for alike in by_kind.into_values() {
        rest.extend(together(alike, wording));
    }
    rest
}

/// An emergency stands alone, and so does what is answered by a reply.
fn can_be_gathered(to_send: &ToSend) -> bool {
    let message = &to_send.message;
    let kind = matches!(
        message.kind,
        Kind::ClinicMissedDose
            | Kind::ClinicSupplyLow
            | Kind::ClinicUnreachable
            | Kind::ClinicOutage
            | Kind::ClinicNotSeen
    );
    let one_button =
        matches!(message.buttons.as_slice(), [button] if matches!(button.tap, Tap::Seen { .. }));
    to_send.carer == 0 && to_send.chat.is_none() && kind && one_button && message.paper.is_none()
}

fn together(alike: Vec<ToSend>, wording: &Wording) -> Vec<ToSend> {
    let mut gathered: Vec<ToSend> = Vec::new();
    let (mut count, mut text) = (0, String::new());
    for to_send in alike {
        let words = wording.render(&to_send.message, &to_send.language).text;
        let full = count == MOST || text.chars().count() + words.chars().count() > MOST_CHARACTERS;
        if gathered.is_empty() || full {
            gathered.push(empty(&to_send));
            (count, text) = (0, String::new());
        }
        if !text.is_empty() {
            text.push_str("\n\n");
        }
        text.push_str(&words);
        count += 1;
        if let Some(last) = gathered.last_mut() {
            add(&mut last.message, &to_send.message, &text, count);
        }
    }
    gathered
}

fn empty(first: &ToSend) -> ToSend {
    let mut message = Message::new(Recipient::Clinic, Kind::ClinicAlerts);
    message.useful_until = first.message.useful_until;
    ToSend {
        household: None,
        message,
        ..first.clone()
    }
}

fn add(gathered: &mut Message, one: &Message, text: &str, count: usize) {
    let owner = match one.facts.get("owner") {
        Some(Value::Text(owner)) => owner.as_str(),
        _ => "",
    };
    let name = one.patient.as_deref().unwrap_or(owner);
    gathered
        .buttons
        .extend(one.buttons.iter().map(|button| Button {
            label: Label::Name(name.into()),
            tap: button.tap,
        }));
    gathered.facts.insert(
        "count".into(),
        u32::try_from(count).unwrap_or(u32::MAX).into(),
    );
    gathered.facts.insert("text".into(), text.into());
    // Of use as long as any of them is.
    gathered.useful_until = match (gathered.useful_until, one.useful_until) {
        (Some(all), Some(one)) => Some(all.max(one)),
        _ => None,
    };
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::Instant;

    fn missed(household: i64, patient: &str) -> ToSend {
        let planned = Instant::from_timestamp_millis(1_770_000_000_000).unwrap();
        let message = Message::new(Recipient::Clinic, Kind::ClinicMissedDose)
            .about(patient)
            .fact("owner", "Wren")
            .fact("planned", planned.fixed_offset())
            .fact("late_minutes", 180_u32)
            .fact("reason", "unanswered")
            .fact("missed", 1_u32)
            .button(
                Label::Seen,
                Tap::Seen {
                    household,
                    alert: 1,
                },
            );
        ToSend {
            household: Some(household),
            carer: 0,
            chat: None,
            language: "en".into(),
            message,
            cause: "time".into(),
        }
    }

    #[test]
    fn three_go_apart_and_four_together() {
        let wording = Wording::load().unwrap();
        let all = |count: i64| (1..=count).map(|n| missed(n, &format!("Pet{n}"))).collect();
        assert_eq!(gather(all(3), &wording).len(), 3);
        let gathered = gather(all(4), &wording);
        assert_eq!(gathered.len(), 1);
        assert_eq!(gathered[0].message.buttons.len(), 4);
    }

    #[test]
    fn nobody_is_lost_and_each_message_fits() {
        let wording = Wording::load().unwrap();
        let all: Vec<ToSend> = (1..=57).map(|n| missed(n, &format!("Pet{n}."))).collect();
        let gathered = gather(all, &wording);
        let texts: Vec<String> = gathered
            .iter()
            .map(|to_send| wording.render(&to_send.message, "en").text)
            .collect();
        for n in 1..=57 {
            let found = texts
                .iter()
                .filter(|t| t.contains(&format!("Pet{n}.")))
                .count();
            assert_eq!(found, 1, "Pet{n}");
        }
        assert!(texts.iter().all(|text| text.chars().count() <= 4096));
        let buttons: usize = gathered.iter().map(|g| g.message.buttons.len()).sum();
        assert_eq!((buttons, gathered.len() <= 8), (57, true));
    }

    #[test]
    fn an_emergency_and_a_question_stand_alone() {
        let wording = Wording::load().unwrap();
        for kind in [Kind::ClinicEmergency, Kind::ClinicQuestion] {
            let all: Vec<ToSend> = (1..=9)
                .map(|n| {
                    let mut one = missed(n, "Pet");
                    one.message.kind = kind;
                    one
                })
                .collect();
            assert_eq!(gather(all, &wording).len(), 9);
        }
    }
}
