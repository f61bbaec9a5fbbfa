//! Enrolling at the counter: one question a message, every answer checked at
//! once, and at the end the very path of a prescription that is sent as text.

use super::Engine;
use super::settling::Settling;
use crate::config::parse_prescription;
use crate::domain::Instant;
use crate::domain::enrolment::{Enrolment, NONE, Question, written};
use crate::domain::household::Chat;
use crate::domain::language::Language;
use crate::domain::message::{Answered, Kind, Label, Message, No, Recipient, Tap};
use crate::store::{StoreError, UnderWay};
use chrono::{Days, NaiveDateTime, TimeDelta};

/// An enrolment that nobody went on with for this long is forgotten.
const KEPT: TimeDelta = TimeDelta::hours(24);
/// A text that answers no message is an answer this long after the last question:
/// later, people in the chat are talking with each other.
const AT_THE_COUNTER: TimeDelta = TimeDelta::minutes(10);
/// Times of the day that are offered (common practice, no source: twice a day, twelve hours apart).
const USUAL_TIMES: [&str; 4] = ["07:00 19:00", "07:30 19:30", "08:00 20:00", "09:00 21:00"];
/// Buttons below one question.
const MOST_OFFERED: usize = 8;

/// Who answers, and where.
pub(super) struct Counter<'a> {
    pub(super) chat: &'a Chat,
    pub(super) by: &'a str,
}

/// Something that can be tapped: what it says and what it stands for.
type Offer = (Label, String);

impl Engine {
    /// Begins an enrolment, or goes on with the one that this person was at.
    pub(super) async fn begin_enrolment(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        now: Instant,
    ) -> Result<(), StoreError> {
        let under_way = self.enrolment_of(settling, counter, now).await?;
        let status = if under_way.is_some() {
            "resumed"
        } else {
            "ask"
        };
        let enrolment = under_way.map_or_else(Enrolment::default, |found| found.enrolment);
        self.ask(settling, counter, enrolment, status, None, now)
            .await
    }

    /// A text that may be an answer; gives whether it was one. `asked` where it
    /// answers a question's message.
    pub(super) async fn answer_enrolment(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        text: &str,
        asked: bool,
        now: Instant,
    ) -> Result<bool, StoreError> {
        let Some(found) = self.enrolment_of(settling, counter, now).await? else {
            return Ok(false);
        };
        if !asked && found.updated_at + AT_THE_COUNTER < now {
            return Ok(false);
        }
        match text.trim().trim_start_matches('/').to_lowercase().as_str() {
            "cancel" => self.cancel_enrolment(settling, counter, &found).await?,
            "back" => self.step_back(settling, counter, found, now).await?,
            _ => self.take(settling, counter, found, text, now).await?,
        }
        Ok(true)
    }

    /// A button below a question. Somebody else's, or one of a question that
    /// was answered, changes nothing.
    pub(super) async fn tap_enrolment(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        (id, question, answered): (i64, No, Answered),
        now: Instant,
    ) -> Result<(), StoreError> {
        let found = self.enrolment_of(settling, counter, now).await?;
        let Some(found) = found.filter(|found| found.id == id) else {
            settling.say(None, said(counter, "closed"));
            return Ok(());
        };
        let is_open = found
            .enrolment
            .open()
            .is_some_and(|open| open.number() == question);
        match answered {
            Answered::Cancel => self.cancel_enrolment(settling, counter, &found).await,
            _ if !is_open => {
                self.ask(settling, counter, found.enrolment, "ask", None, now)
                    .await
            }
            Answered::Back => self.step_back(settling, counter, found, now).await,
            Answered::Option(option) => {
                match found.enrolment.offered.get(option as usize).cloned() {
                    Some(text) => self.take(settling, counter, found, &text, now).await,
                    None => {
                        self.ask(settling, counter, found.enrolment, "ask", None, now)
                            .await
                    }
                }
            }
        }
    }

    async fn enrolment_of(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        now: Instant,
    ) -> Result<Option<UnderWay>, StoreError> {
        settling
            .work
            .enrolment(
                &self.policy.clinic.key,
                counter.chat,
                counter.by,
                now - KEPT,
            )
            .await
    }

    async fn cancel_enrolment(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        found: &UnderWay,
    ) -> Result<(), StoreError> {
        settling.work.drop_enrolment(found.id).await?;
        settling.say(None, said(counter, "cancelled"));
        Ok(())
    }

    async fn step_back(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        found: UnderWay,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut enrolment = found.enrolment;
        enrolment.back();
        self.ask(settling, counter, enrolment, "ask", None, now)
            .await
    }

    /// Takes an answer to the open question, or says what is wrong with it.
    async fn take(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        found: UnderWay,
        text: &str,
        now: Instant,
    ) -> Result<(), StoreError> {
        let mut enrolment = found.enrolment;
        let Some(question) = enrolment.open() else {
            return self
                .finish(settling, counter, found.id, enrolment, now)
                .await;
        };
        let answer = self.understood(question, text);
        enrolment.answers.insert(question, answer);
        if let Some(wrong) = self.wrong_with(&enrolment, question, now) {
            enrolment.answers.remove(&question);
            return self
                .ask(settling, counter, enrolment, "ask", Some(wrong), now)
                .await;
        }
        if enrolment.open().is_none() {
            return self
                .finish(settling, counter, found.id, enrolment, now)
                .await;
        }
        self.ask(settling, counter, enrolment, "ask", None, now)
            .await
    }

    /// What was typed, where a name stands for a key.
    fn understood(&self, question: Question, text: &str) -> String {
        let text = text.trim();
        let lower = text.to_lowercase();
        let key = match question {
            Question::Product => self
                .formulary
                .iter()
                .find(|(key, product)| **key == lower || product.name.to_lowercase() == lower)
                .map(|(key, _)| key.clone()),
            Question::Language => Language::ALL
                .into_iter()
                .find(|language| in_itself(*language).to_lowercase() == lower)
                .map(|language| language.code().to_owned()),
            _ => None,
        };
        key.unwrap_or_else(|| text.to_owned())
    }

    /// What is wrong with the answer to a question, by the reader of
    /// prescriptions and by the clinic's rules, the questions before it answered.
    fn wrong_with(
        &self,
        enrolment: &Enrolment,
        question: Question,
        now: Instant,
    ) -> Option<String> {
        let text = match enrolment.text(|open| self.filler(open, enrolment, now)) {
            Ok(text) => text,
            Err((wrong, why)) => return (wrong == question).then_some(why),
        };
        let wrong: Vec<String> = match parse_prescription(&text, &self.formulary, &self.languages())
        {
            Err(mistakes) => {
                let mistakes = mistakes.0.into_iter();
                mistakes
                    .filter(|mistake| question.is_about(&mistake.key))
                    .map(|mistake| mistake.what)
                    .collect()
            }
            Ok(order) => order
                .work_out(&self.policy, now)
                .err()
                .unwrap_or_default()
                .into_iter()
                .filter_map(|error| {
                    let error = error.to_string();
                    let (key, why) = error.split_once(": ")?;
                    question.is_about(key).then(|| why.to_owned())
                })
                .collect(),
        };
        (!wrong.is_empty()).then(|| wrong.join("\n"))
    }

    fn languages(&self) -> Vec<&str> {
        self.wording.languages()
    }

    /// Something that can be read, where a question was not answered yet.
    fn filler(&self, question: Question, enrolment: &Enrolment, now: Instant) -> String {
        match question {
            Question::Patient => "patient".into(),
            Question::Owner => "owner".into(),
            Question::Species => "animal".into(),
            Question::Veterinarian => "veterinarian".into(),
            Question::Weight => "1 kg".into(),
            Question::Product => self.formulary.keys().next().cloned().unwrap_or_default(),
            Question::Dose => "1 mL".into(),
            Question::Times => USUAL_TIMES[0].into(),
            Question::First => {
                let next = self.next_slots(enrolment, now).into_iter().next();
                next.map(written).unwrap_or_default()
            }
            Question::Length => "1 days".into(),
            Question::Language => "en".into(),
            Question::Zone => self.policy.clinic.zone.name().into(),
            Question::Carers | Question::Vials => NONE.into(),
        }
    }

    /// The next of the answered times, on the clinic's clock.
    fn next_slots(&self, enrolment: &Enrolment, now: Instant) -> Vec<NaiveDateTime> {
        let usual = USUAL_TIMES[0].to_owned();
        let answered = enrolment.answers.get(&Question::Times).unwrap_or(&usual);
        let zone = self.policy.clinic.zone;
        let today = zone.local(now).date_naive();
        let times: Vec<_> = answered
            .split([',', ' ', ';'])
            .filter_map(crate::domain::order_words::clock)
            .collect();
        (0..3)
            .filter_map(|days| today.checked_add_days(Days::new(days)))
            .flat_map(|day| times.iter().map(move |time| day.and_time(*time)))
            .filter(|local| zone.instant(*local).at > now)
            .take(4)
            .collect()
    }

    /// What can be tapped for a question.
    fn offers(&self, enrolment: &Enrolment, question: Question, now: Instant) -> Vec<Offer> {
        let name = |text: &str| (Label::Name(text.to_owned()), text.to_owned());
        let mut offers: Vec<Offer> = match question {
            Question::Species if self.policy.weights.is_empty() => vec![name("dog"), name("cat")],
            Question::Species => self.policy.weights.keys().map(|s| name(s)).collect(),
            Question::Product => self
                .formulary
                .iter()
                .map(|(key, product)| (Label::Name(product.name.clone()), key.clone()))
                .collect(),
            Question::Times => USUAL_TIMES.into_iter().map(name).collect(),
            Question::First => {
                let zone = self.policy.clinic.zone;
                let slots = self.next_slots(enrolment, now).into_iter();
                slots
                    .map(|local| {
                        let shown = zone.local(zone.instant(local).at);
                        (Label::Time(shown), written(local).replace('T', " "))
                    })
                    .collect()
            }
            Question::Language => Language::ALL
                .into_iter()
                .map(|l| (Label::Name(in_itself(l).into()), l.code().to_owned()))
                .collect(),
            Question::Zone => vec![name(self.policy.clinic.zone.name())],
            Question::Carers => vec![(Label::Nobody, NONE.to_owned())],
            Question::Vials => vec![(Label::AsNeeded, NONE.to_owned())],
            _ => Vec::new(),
        };
        // What the clinic's rules refuse is not offered.
        offers.retain(|(_, answer)| {
            let mut tried = enrolment.clone();
            tried.answers.insert(question, answer.clone());
            self.wrong_with(&tried, question, now).is_none()
        });
        offers.truncate(MOST_OFFERED);
        offers
    }

    /// Asks the open question and keeps how things stand.
    async fn ask(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        mut enrolment: Enrolment,
        status: &str,
        wrong: Option<String>,
        now: Instant,
    ) -> Result<(), StoreError> {
        let question = enrolment.open().unwrap_or(Question::Veterinarian);
        let offers = self.offers(&enrolment, question, now);
        enrolment.offered = offers.iter().map(|(_, answer)| answer.clone()).collect();
        let key = &self.policy.clinic.key;
        let id = settling
            .work
            .keep_enrolment(key, counter.chat, counter.by, &enrolment, now)
            .await?;
        let steps = u32::try_from(Question::ALL.len()).unwrap_or(0);
        let mut message = said(counter, status)
            .fact("question", question.name())
            .fact("step", question.number())
            .fact("steps", steps)
            .maybe("wrong", wrong);
        let tap = |answered| Tap::Enrol {
            enrolment: id,
            question: question.number(),
            answered,
        };
        for (option, (label, _)) in (0..).zip(offers) {
            message = message.button(label, tap(Answered::Option(option)));
        }
        if question != Question::Patient {
            message = message.button(Label::PreviousStep, tap(Answered::Back));
        }
        settling.say(None, message.button(Label::Cancel, tap(Answered::Cancel)));
        Ok(())
    }

    /// All is answered: the same text as a prescription file takes the same way.
    async fn finish(
        &self,
        settling: &mut Settling<'_>,
        counter: &Counter<'_>,
        id: i64,
        mut enrolment: Enrolment,
        now: Instant,
    ) -> Result<(), StoreError> {
        let whole = enrolment.text(|open| self.filler(open, &enrolment, now));
        let wrong = match whole {
            Ok(text) => {
                self.try_enrol_text(settling, &text, counter.by, now)
                    .await?
            }
            Err((_, why)) => Some(why),
        };
        let Some(wrong) = wrong else {
            return settling.work.drop_enrolment(id).await;
        };
        // An answer that was right when it was given, and is not with the others
        // or at this hour: it is asked again.
        let about = |question: &&Question| {
            wrong
                .lines()
                .any(|line| line.split([' ', ':']).any(|word| question.is_about(word)))
        };
        let again = Question::ALL.iter().find(about).copied();
        enrolment
            .answers
            .remove(&again.unwrap_or(Question::Veterinarian));
        self.ask(settling, counter, enrolment, "ask", Some(wrong), now)
            .await
    }
}

/// A language's own name for itself.
fn in_itself(language: Language) -> &'static str {
    match language {
        Language::English => "English",
        Language::Spanish => "Español",
    }
}

fn said(counter: &Counter<'_>, status: &str) -> Message {
    Message::new(Recipient::Clinic, Kind::ClinicEnrolling)
        .fact("status", status)
        .fact("by", counter.by)
}
