//! A decision in the making: the household as it will be, so that each further
//! thought sees what was decided before it.

use super::super::change::{Change, apply};
use super::super::household::{Course, Household, Planned, Proposal, next_no};
use super::super::message::{Kind, Message, No, Recipient, Value};
use super::super::policy::Policy;
use super::super::{Instant, message::Label, message::Tap};
use super::Decision;
use super::wake::{next_look_by, runs_out};
use std::collections::BTreeMap;
use std::sync::Arc;

pub(super) struct Draft<'a> {
    pub(super) household: Household,
    pub(super) now: Instant,
    pub(super) policy: &'a Policy,
    changes: Vec<Change>,
    messages: Vec<Message>,
    /// Whether words beside what is read back went to the clinic.
    rest_passed_on: bool,
    /// What each course runs out of, and how many changes there were when that was walked.
    walked: BTreeMap<No, (usize, Option<Planned>)>,
}

impl<'a> Draft<'a> {
    pub(super) fn new(household: Household, now: Instant, policy: &'a Policy) -> Self {
        Draft {
            household,
            now,
            policy,
            changes: Vec::new(),
            messages: Vec::new(),
            rest_passed_on: false,
            walked: BTreeMap::new(),
        }
    }

    pub(super) fn change(&mut self, change: Change) {
        apply(&mut self.household, &change);
        self.changes.push(change);
    }

    /// The first dose of a course that the vials at home cannot give. The walk
    /// is the longest sum of a decision, and is not done again while nothing changes.
    pub(super) fn runs_out(&mut self, course: &Course) -> Option<Planned> {
        if let Some(known) = self.known_to_run_out(course) {
            return known;
        }
        let found = runs_out(&self.household, course, self.policy);
        self.walked.insert(course.no, (self.changes.len(), found));
        found
    }

    fn known_to_run_out(&self, course: &Course) -> Option<Option<Planned>> {
        let (changes, found) = self.walked.get(&course.no)?;
        (*changes == self.changes.len()).then_some(*found)
    }

    /// Says something to a carer; a chat that is closed to us is not written to.
    pub(super) fn say(&mut self, message: Message) {
        let closed = match &message.to {
            Recipient::Carer(no) => !self.household.reachable_carers().any(|carer| carer == *no),
            _ => false,
        };
        if !closed {
            let rest = self.rest_passed_on && message.kind == Kind::Confirm;
            self.messages
                .push(message.maybe("rest", rest.then_some("yes")));
        }
    }

    /// Says the same to every carer who can be reached.
    pub(super) fn say_to_all(&mut self, message: &Message) {
        let carers: Vec<No> = self.household.reachable_carers().collect();
        for carer in carers {
            let to = Recipient::Carer(carer);
            self.say(Message {
                to,
                ..message.clone()
            });
        }
    }

    /// The name of the carer who recorded something, where it is not who did it.
    pub(super) fn recorder(&self, carer: No, by: &str) -> Option<&str> {
        let name = self.household.carer_name(carer);
        (name != by).then_some(name)
    }

    /// Tells the carer who acted and, in the same words, the others.
    pub(super) fn say_recorded(&mut self, actor: No, message: Message) {
        let recorder = match message.facts.get("by") {
            Some(Value::Text(by)) => self.recorder(actor, by).map(str::to_owned),
            _ => None,
        };
        let message = message.maybe("recorded_by", recorder);
        let others: Vec<No> = self
            .household
            .reachable_carers()
            .filter(|no| *no != actor)
            .collect();
        let told = message.clone().fact("own", "no");
        self.say(Message {
            to: Recipient::Carer(actor),
            ..message.fact("own", "yes")
        });
        for other in others {
            let mut told = told.clone();
            told.to = Recipient::Carer(other);
            told.buttons.clear();
            self.say(told);
        }
    }

    pub(super) fn to(&self, carer: No, kind: Kind) -> Message {
        Message::new(Recipient::Carer(carer), kind)
    }

    /// A message to a carer about a course's patient.
    pub(super) fn about(&self, carer: No, kind: Kind, course: &Course) -> Message {
        self.to(carer, kind)
            .about(self.household.patient_of(course))
    }

    /// A message to the clinic, with the owner's name.
    pub(super) fn to_clinic(&self, kind: Kind) -> Message {
        Message::new(Recipient::Clinic, kind)
            .fact("owner", self.household.owner.as_str())
            .maybe("household", u32::try_from(self.household.id).ok())
    }

    /// Tells the clinic something that somebody there has to see.
    pub(super) fn alert(
        &mut self,
        message: Message,
        dose: Option<(No, No)>,
        carer: Option<No>,
        text: Option<&str>,
    ) {
        let alert = next_no(&self.household.alerts);
        let message = message.maybe("owner_phone", self.household.phone());
        let mut facts = message.facts.clone();
        // The owner's words are kept once, where they can be found.
        facts.remove("text");
        self.change(Change::AlertRaised {
            alert,
            kind: message.kind,
            dose,
            carer,
            text: text.map(str::to_owned),
            patient: message.patient.clone(),
            facts,
            at: self.now,
        });
        let household = self.household.id;
        self.say(message.button(Label::Seen, Tap::Seen { household, alert }));
    }

    /// Asks a carer something; the message carries a button for each option.
    pub(super) fn ask(&mut self, message: Message, carer: No, options: Vec<(Label, Proposal)>) {
        self.drop_questions(carer);
        let question = next_no(&self.household.questions);
        let single = options.len() == 1;
        let mut message = message;
        for (option, (label, _)) in (0..).zip(&options) {
            let label = if single { Label::Yes } else { label.clone() };
            message = message.button(label, Tap::Choose { question, option });
        }
        let neither = if single { Label::No } else { Label::Neither };
        message = message.button(neither, Tap::Neither { question });
        self.change(Change::QuestionAsked {
            question,
            carer,
            options: options.into_iter().map(|(_, proposal)| proposal).collect(),
            expires_at: self.now + self.policy.question_valid,
        });
        self.say(message);
    }

    /// What is read back from here on says that the clinic has the rest.
    pub(super) fn passed_on_the_rest(&mut self) {
        self.rest_passed_on = true;
    }

    /// A question that was passed over for something else is answered no more.
    pub(super) fn drop_questions(&mut self, carer: No) {
        let open: Vec<No> = self
            .household
            .questions
            .values()
            .filter(|q| q.carer == carer && !q.settled)
            .map(|q| q.no)
            .collect();
        for question in open {
            self.change(Change::QuestionSettled { question });
        }
    }

    pub(super) fn course(&self, no: No) -> Option<Arc<Course>> {
        self.household.courses.get(&no).cloned()
    }

    pub(super) fn phone(&self) -> String {
        self.policy.clinic.phone.clone()
    }

    /// Until when a dose may be recorded without calling.
    pub(super) fn window_end(&self, planned: &Planned) -> Instant {
        planned.at + self.policy.dose.window
    }

    /// From when on a dose may be recorded as given.
    pub(super) fn window_start(&self, planned: &Planned) -> Instant {
        planned.at - self.policy.dose.before
    }

    pub(super) fn finish(self) -> Decision {
        let wake_at = next_look_by(&self.household, self.policy, |course| {
            self.known_to_run_out(course)
                .unwrap_or_else(|| runs_out(&self.household, course, self.policy))
        });
        // All that is due by now was done: a look that is due again at once would never end.
        debug_assert!(
            wake_at.is_none_or(|at| at > self.now),
            "household {} is to be looked at again at {wake_at:?}, decided at {}",
            self.household.id,
            self.now
        );
        Decision {
            household: self.household,
            changes: self.changes,
            messages: self.messages,
            wake_at,
        }
    }
}
