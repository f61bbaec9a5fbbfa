//! What people at the clinic write and tap, in the clinic's chat.

use super::Engine;
use super::guided::Counter;
use super::settling::Settling;
use super::staff::Actor;
use crate::domain::Instant;
use crate::domain::arrival::{Arrival, Body};
use crate::domain::decide::{ClinicWord, Input};
use crate::domain::ending::Ending;
use crate::domain::household::Chat;
use crate::domain::message::{Kind, Message, No, Paper, Recipient, Tap, Verdict};
use crate::domain::order_words;
use crate::store::StoreError;
use chrono::TimeDelta;

/// Whoever is not on the staff is told so once in this time, whatever they write or tap.
const REFUSED_QUIET: TimeDelta = TimeDelta::hours(6);
/// Questions that are shown again at once: a group takes 20 messages a minute.
const SHOWN_AGAIN: usize = 8;

impl Engine {
    pub(super) async fn settle_clinic(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: &Chat,
        cause: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        if let Body::Moved { to } = &arrival.body {
            let moved = Chat {
                address: to.clone(),
                ..chat.clone()
            };
            settling.work.readdress(self.key(), chat, to).await?;
            return settling.bind_clinic_chat(&moved).await;
        }
        let Some(actor) = self.actor(settling, chat, arrival).await? else {
            return self.refuse(settling, arrival, chat, now).await;
        };
        match &arrival.body {
            Body::Tap(data) => {
                self.settle_clinic_tap(settling, data, &actor, chat, cause, now)
                    .await?;
            }
            Body::Text(text) => {
                self.settle_clinic_text(settling, arrival, chat, text, &actor, cause, now)
                    .await?;
            }
            // People at the clinic talk with each other there as well.
            _ => {}
        }
        Ok(())
    }

    /// Somebody who is not on the staff may read what is written there. Where
    /// they mean us they are told so, now and then.
    async fn refuse(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: &Chat,
        now: Instant,
    ) -> Result<(), StoreError> {
        let means_us = match &arrival.body {
            Body::Tap(_) => true,
            Body::Text(text) => {
                is_for_us(text)
                    || match &arrival.reply_to {
                        Some(number) => settling
                            .work
                            .sent_message(self.key(), chat, number)
                            .await?
                            .is_some(),
                        None => false,
                    }
            }
            _ => false,
        };
        let person = arrival.sender_id.as_deref().unwrap_or_default();
        let whom = Chat {
            channel: chat.channel.clone(),
            address: format!("{} {person}", chat.address),
        };
        if means_us
            && settling
                .work
                .may_answer_stranger(self.key(), &whom, now, now - REFUSED_QUIET)
                .await?
        {
            say_note(settling, "not-staff");
        }
        Ok(())
    }

    /// A paper that somebody at the clinic asks for by a patient's name.
    async fn settle_paper(
        &self,
        settling: &mut Settling<'_>,
        text: &str,
    ) -> Result<(), StoreError> {
        let Some((kind, name)) = paper_asked_for(text) else {
            return Ok(());
        };
        let courses = settling
            .work
            .courses_of_patient(&self.policy.clinic.key, name)
            .await?;
        let count = u32::try_from(courses.len()).unwrap_or(u32::MAX);
        if courses.is_empty() {
            let none = Message::new(Recipient::Asker, Kind::ClinicBoard)
                .fact("text", name)
                .fact("count", count);
            settling.say(None, none);
        }
        for (household, course) in courses {
            settling.load(&[household]).await?;
            let owner = settling
                .household(household)
                .map(|h| h.owner.clone())
                .unwrap_or_default();
            let mut message = Message::new(Recipient::Asker, Kind::ClinicBoard)
                .fact("text", format!("{name} ({owner})"))
                .fact("count", count);
            message.paper = Some(kind(course));
            settling.say(Some(household), message);
        }
        Ok(())
    }

    /// A text that answers an alert goes to the carer it came from; then come
    /// the clinic's own words. All else is people who talk with each other.
    #[allow(clippy::too_many_arguments)]
    async fn settle_clinic_text(
        &self,
        settling: &mut Settling<'_>,
        arrival: &Arrival,
        chat: &Chat,
        text: &str,
        actor: &Actor,
        cause: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        let answered = match &arrival.reply_to {
            Some(number) => settling.work.sent_message(self.key(), chat, number).await?,
            None => None,
        };
        if let Some((household, alert)) = answered.as_ref().and_then(|(_, m)| alert_of(m)) {
            return self
                .reply(settling, (household, alert), text, &actor.shown, cause)
                .await;
        }
        if is_prescription(text) {
            return self.enrol_text(settling, text, &actor.by, now).await;
        }
        let counter = Counter {
            chat,
            by: &actor.by,
        };
        if is_command(text, "enrol") {
            return self.begin_enrolment(settling, &counter, now).await;
        }
        if self.settle_order(settling, text, &actor.by, cause).await? {
            return Ok(());
        }
        if is_command(text, "board") {
            return self.settle_board(settling, 1, now).await;
        }
        if is_command(text, "questions") {
            return self.settle_questions(settling, cause).await;
        }
        if let Some(name) = after_words(text, "patient").filter(|name| !name.is_empty()) {
            return self.settle_patient_named(settling, name, now).await;
        }
        if let Some(name) = after_words(text, "on call") {
            let doer = super::staff::doer(chat, &actor.by);
            return self.settle_on_call(settling, name, &doer).await;
        }
        if paper_asked_for(text).is_some() {
            return self.settle_paper(settling, text).await;
        }
        let asked = answered
            .as_ref()
            .is_some_and(|(_, message)| message.kind == Kind::ClinicEnrolling);
        let to_nobody = asked || arrival.reply_to.is_none();
        if to_nobody
            && self
                .answer_enrolment(settling, &counter, text, asked, now)
                .await?
        {
            return Ok(());
        }
        match answered {
            Some((_, message)) if message.kind == Kind::ClinicAlerts => {
                say_note(settling, "several");
            }
            Some((_, message)) if asks_nothing(message.kind) => say_note(settling, "no-question"),
            None if arrival.reply_to.is_none() && !self.has_replies(chat) => {
                self.answer_newest(settling, text, actor, cause).await?;
            }
            _ => {}
        }
        Ok(())
    }

    fn has_replies(&self, chat: &Chat) -> bool {
        self.channel(&chat.channel)
            .is_some_and(|channel| channel.has_replies())
    }

    /// Where the platform has no replies, a text answers the newest words that wait for one.
    async fn answer_newest(
        &self,
        settling: &mut Settling<'_>,
        text: &str,
        actor: &Actor,
        cause: &str,
    ) -> Result<(), StoreError> {
        let newest = settling
            .work
            .newest_question(&self.policy.clinic.key)
            .await?;
        let Some(alert) = newest else {
            say_note(settling, "no-question");
            return Ok(());
        };
        self.reply(settling, alert, text, &actor.shown, cause).await
    }

    /// Sends words to the carer behind an alert, unless they name a patient of another home.
    async fn reply(
        &self,
        settling: &mut Settling<'_>,
        (household, alert): (i64, No),
        text: &str,
        by: &str,
        cause: &str,
    ) -> Result<(), StoreError> {
        settling.load(&[household]).await?;
        let clinic = &self.policy.clinic.key;
        let Some(known) = settling
            .household(household)
            .filter(|h| h.clinic == *clinic)
            .cloned()
        else {
            return Ok(());
        };
        let elsewhere = settling.work.patients_elsewhere(clinic, household).await?;
        let ours: Vec<&str> = known.patients.values().map(|p| p.name.as_str()).collect();
        let other = elsewhere
            .iter()
            .find(|name| !ours.contains(&name.as_str()) && names(text, name));
        if let Some(other) = other {
            let carer = known.alerts.get(&alert).and_then(|alert| alert.carer);
            let mut refused = Message::new(Recipient::Clinic, Kind::ClinicAnswered)
                .fact("status", "names-another")
                .fact("owner", known.owner.as_str())
                .fact("to", known.carer_name(carer.unwrap_or(1)))
                .fact("other", other.as_str());
            refused.patient = (!ours.is_empty()).then(|| ours.join(", "));
            settling.say(Some(household), refused);
            return Ok(());
        }
        let word = ClinicWord::Reply {
            alert,
            text: text.to_owned(),
        };
        let by = by.to_owned();
        settling.decide(household, &Input::Clinic { by, word }, cause);
        Ok(())
    }

    /// Says which owners wait for an answer, and shows their words once more.
    async fn settle_questions(
        &self,
        settling: &mut Settling<'_>,
        cause: &str,
    ) -> Result<(), StoreError> {
        let waiting = settling.work.unanswered(&self.policy.clinic.key).await?;
        let count = |of: usize| u32::try_from(of).unwrap_or(u32::MAX);
        let more = waiting.len().saturating_sub(SHOWN_AGAIN);
        let message = Message::new(Recipient::Asker, Kind::ClinicQuestions)
            .fact("count", count(waiting.len()))
            .maybe("more", (more > 0).then(|| count(more)));
        settling.say(None, message);
        for (household, alert) in waiting.into_iter().take(SHOWN_AGAIN) {
            settling.load(&[household]).await?;
            let word = ClinicWord::ShowAgain { alert };
            let by = String::new();
            settling.decide(household, &Input::Clinic { by, word }, cause);
        }
        Ok(())
    }

    /// A button in the clinic's chat; one of another clinic's household does nothing.
    async fn settle_clinic_tap(
        &self,
        settling: &mut Settling<'_>,
        data: &str,
        actor: &Actor,
        chat: &Chat,
        cause: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        if let Some(Tap::Enrol {
            enrolment,
            question,
            answered,
        }) = Tap::decode(data)
        {
            let counter = Counter {
                chat,
                by: &actor.by,
            };
            let tapped = (enrolment, question, answered);
            return self.tap_enrolment(settling, &counter, tapped, now).await;
        }
        let (household, word) = match Tap::decode(data) {
            Some(Tap::Seen { household, alert }) => (household, ClinicWord::Seen { alert }),
            Some(Tap::Ended {
                household,
                alert,
                how,
            }) => {
                let Some(how) = Ending::numbered(how) else {
                    return Ok(());
                };
                if how.states_an_order() && !actor.may_order() {
                    say_note(settling, "veterinarian");
                    return Ok(());
                }
                (household, ClinicWord::Ended { alert, how })
            }
            Some(Tap::Confirm { household, course }) => (household, ClinicWord::Confirm { course }),
            Some(Tap::Amend {
                household,
                amendment,
                verdict,
            }) => (household, ClinicWord::Changing { amendment, verdict }),
            Some(Tap::Board { page }) => return self.settle_board(settling, page, now).await,
            Some(Tap::Patient { household, course }) => {
                return self.settle_patient(settling, household, course, now).await;
            }
            _ => return Ok(()),
        };
        settling.load(&[household]).await?;
        let known = settling.household(household);
        if known.is_none_or(|h| h.clinic != self.policy.clinic.key) {
            return Ok(());
        }
        let by = actor.by.clone();
        let lacks_veterinarian = match word {
            ClinicWord::Changing {
                amendment,
                verdict: Verdict::Confirm,
            } => {
                self.change_lacks_veterinarian(settling, household, amendment, &by)
                    .await?
            }
            ClinicWord::Confirm { course } => {
                self.order_lacks_veterinarian(settling, household, course, &by)
                    .await?
            }
            _ => false,
        };
        if lacks_veterinarian {
            say_note(settling, "veterinarian-confirms");
            return Ok(());
        }
        if let ClinicWord::Changing { amendment, verdict } = word {
            self.settle_change(settling, household, amendment, verdict, &by, cause)
                .await?;
        } else {
            settling.decide(household, &Input::Clinic { by, word }, cause);
        }
        Ok(())
    }
}

/// The alert that a message told, by the buttons below it.
fn alert_of(message: &Message) -> Option<(i64, No)> {
    if message.kind == Kind::ClinicAlerts {
        return None;
    }
    message.buttons.iter().find_map(|button| match button.tap {
        Tap::Seen { household, alert }
        | Tap::Ended {
            household, alert, ..
        } => Some((household, alert)),
        _ => None,
    })
}

/// Why what somebody at the clinic did changed nothing.
pub(super) fn say_note(settling: &mut Settling<'_>, what: &str) {
    let note = Message::new(Recipient::Asker, Kind::ClinicNote).fact("what", what);
    settling.say(None, note);
}

/// Messages to the clinic that nobody waits behind.
fn asks_nothing(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::ClinicBoard
            | Kind::ClinicDigest
            | Kind::ClinicEnrolled
            | Kind::ClinicInvitation
            | Kind::ClinicOrderCheck
            | Kind::ClinicSeen
            | Kind::ClinicAnswered
            | Kind::ClinicQuestions
            | Kind::ClinicNote
            | Kind::ClinicPatient
            | Kind::ClinicStaff
    )
}

/// Whether a text is one that we would act on.
fn is_for_us(text: &str) -> bool {
    is_prescription(text)
        || order_words::read(text).is_some()
        || ["board", "questions", "enrol"]
            .into_iter()
            .any(|word| is_command(text, word))
        || after_words(text, "patient").is_some_and(|name| !name.is_empty())
        || after_words(text, "on call").is_some()
        || paper_asked_for(text).is_some()
}

/// What follows on some words at the beginning of a text; empty where nothing does.
fn after_words<'t>(text: &'t str, words: &str) -> Option<&'t str> {
    let text = text.trim();
    let text = text.strip_prefix('/').unwrap_or(text);
    let head = text.get(..words.len())?;
    let rest = &text[words.len()..];
    let ends = rest.is_empty() || rest.starts_with(char::is_whitespace);
    let short = rest.split_whitespace().count() <= 4;
    (head.eq_ignore_ascii_case(words) && ends && short).then(|| rest.trim())
}

/// Whether a text is one of the clinic's words and nothing else.
fn is_command(text: &str, word: &str) -> bool {
    let text = text.trim();
    text.strip_prefix('/')
        .unwrap_or(text)
        .eq_ignore_ascii_case(word)
}

/// Whether a text has a name in it, as a word and written as a name is.
fn names(text: &str, name: &str) -> bool {
    let is_letter = |c: char| c.is_alphanumeric();
    text.match_indices(name).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let after = text[at + name.len()..].chars().next();
        !before.is_some_and(is_letter) && !after.is_some_and(is_letter)
    })
}

/// A kind of paper, of a course that is not known yet.
type PaperOf = fn(No) -> Paper;

/// Which paper a text asks for, and of which patient: `picture Juniper`.
fn paper_asked_for(text: &str) -> Option<(PaperOf, &str)> {
    let (word, name) = text.trim().split_once(char::is_whitespace)?;
    let kind: PaperOf = match word.trim_start_matches('/').to_lowercase().as_str() {
        "picture" => |course| Paper::Picture { course },
        "sheet" => |course| Paper::Sheet { course },
        "calendar" => |course| Paper::Calendar { course },
        _ => return None,
    };
    let name = name.trim();
    // A sentence that happens to begin so is people talking.
    (!name.is_empty() && name.split_whitespace().count() <= 3).then_some((kind, name))
}

/// Whether a text in the clinic's chat is meant as a prescription file.
fn is_prescription(text: &str) -> bool {
    text.lines()
        .any(|line| line.trim().eq_ignore_ascii_case("[patient]"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_found_as_a_word_only() {
        assert!(names("Bring Moss at three.", "Moss"));
        assert!(names("Moss, too", "Moss"));
        assert!(names("for Moss’s ear", "Moss"));
        assert!(!names("Mossline is in stock", "Moss"));
        assert!(!names("moss grows", "Moss"));
        assert!(!names("PreMoss", "Moss"));
    }

    #[test]
    fn a_word_of_the_clinic_stands_alone() {
        assert!(is_command(" /Board ", "board"));
        assert!(is_command("questions", "questions"));
        assert!(!is_command("any questions", "questions"));
    }
}
