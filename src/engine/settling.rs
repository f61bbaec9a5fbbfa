//! One transaction in the making: households that were loaded, what was
//! decided on them, and what is to be said. Many inputs share one commit.

use super::Engine;
use super::buttons::{still_applying, walking};
use super::gather::gather;
use super::staff::chat_of;
use crate::domain::Instant;
use crate::domain::change::{Change, apply};
use crate::domain::decide::{Decision, Input, decide_on, next_look};
use crate::domain::household::{Chat, Household};
use crate::domain::ladder::is_alert;
use crate::domain::message::{Message, No, Recipient};
use crate::domain::staff::Whom;
use crate::store::{Caused, Claims, Loaded, Saving, StoreError, ToSend, WithButtons, Work};
use std::collections::BTreeMap;

pub(super) struct Settling<'e> {
    engine: &'e Engine,
    pub(super) work: Work,
    now: Instant,
    households: BTreeMap<i64, Settled>,
    /// Who speaks from the chats of this batch, as it was at its beginning.
    speakers: BTreeMap<Chat, Option<(i64, No)>>,
    /// Whether a carer's chat became another one since.
    chats_changed: bool,
    /// The clinic's chat, once it was looked up.
    clinics: Option<Option<Chat>>,
    /// What is being settled, as the journal and the log name it.
    cause: String,
    messages: Vec<ToSend>,
    /// Where somebody at the clinic wrote, when it was not the clinic's chat.
    asked_in: Option<Chat>,
    /// Messages for somebody at the clinic whose chat is looked up at the end.
    for_staff: Vec<(usize, Whom)>,
}

struct Settled {
    household: Household,
    version: i64,
    changes: Vec<Caused>,
    wake_at: Option<Instant>,
    decided: bool,
    /// Its messages with buttons which applied before.
    shown: Vec<WithButtons>,
}

impl<'e> Settling<'e> {
    pub(super) async fn begin(
        engine: &'e Engine,
        now: Instant,
    ) -> Result<Settling<'e>, StoreError> {
        Ok(Settling::within(engine, engine.store.begin().await?, now))
    }

    /// Settles within a transaction that was begun before.
    pub(super) fn within(engine: &'e Engine, work: Work, now: Instant) -> Settling<'e> {
        Settling {
            engine,
            work,
            now,
            households: BTreeMap::new(),
            speakers: BTreeMap::new(),
            chats_changed: false,
            clinics: None,
            cause: String::new(),
            messages: Vec::new(),
            asked_in: None,
            for_staff: Vec::new(),
        }
    }

    /// Loads the households that are not loaded yet, in one go.
    pub(super) async fn load(&mut self, ids: &[i64]) -> Result<(), StoreError> {
        let missing: Vec<i64> = ids
            .iter()
            .copied()
            .filter(|id| !self.households.contains_key(id))
            .collect();
        if missing.is_empty() {
            return Ok(());
        }
        let found = self.work.find_to_decide(&missing).await?;
        self.hold_all(found.read()?);
        Ok(())
    }

    fn hold_all(&mut self, loaded: Vec<Loaded>) {
        // Whatever number somebody wrote: another clinic's household is none of ours.
        let ours = loaded
            .into_iter()
            .filter(|loaded| loaded.household.clinic == self.engine.key());
        ours.for_each(|loaded| self.hold(loaded));
    }

    /// Takes a household that was made in this transaction, or read for it before.
    pub(super) fn hold(&mut self, loaded: Loaded) {
        let Loaded {
            household,
            version,
            shown,
        } = loaded;
        let settled = Settled {
            version,
            changes: Vec::new(),
            wake_at: None,
            decided: false,
            household,
            shown,
        };
        self.households.insert(settled.household.id, settled);
    }

    /// The instant at which all of it is decided.
    pub(super) fn now(&self) -> Instant {
        self.now
    }

    pub(super) fn household(&self, id: i64) -> Option<&Household> {
        self.households.get(&id).map(|settled| &settled.household)
    }

    /// Takes what was read for all of a batch in one go: row by row each would cost a
    /// round trip of its own.
    pub(super) fn foresee(
        &mut self,
        chats: Vec<Chat>,
        speakers: Vec<(Chat, (i64, No))>,
        clinics: Option<Chat>,
        loaded: Vec<Loaded>,
    ) {
        self.clinics = Some(clinics);
        self.speakers = chats.into_iter().map(|chat| (chat, None)).collect();
        let some = speakers.into_iter();
        self.speakers
            .extend(some.map(|(chat, who)| (chat, Some(who))));
        self.hold_all(loaded);
    }

    /// The carer who speaks from a chat; one who joined in this very transaction as well.
    pub(super) async fn carer_of(&mut self, chat: &Chat) -> Result<Option<(i64, No)>, StoreError> {
        if self.chats_changed
            && let Some(joined) = self.joined(chat)
        {
            return Ok(Some(joined));
        }
        match self.speakers.get(chat) {
            Some(found) => Ok(*found),
            None => self.work.carer_of_chat(self.engine.key(), chat).await,
        }
    }

    /// Whether a chat is still that of a carer, by the household as it is held: who
    /// speaks from where was read before it, and may have changed since.
    pub(super) fn speaks_from(&self, id: i64, carer: No, chat: &Chat) -> bool {
        let carer = self.household(id).and_then(|h| h.carers.get(&carer));
        carer.is_some_and(|carer| carer.chat.as_ref() == Some(chat))
    }

    /// The chat that is the clinic's.
    pub(super) async fn clinic_chat(&mut self) -> Result<Option<Chat>, StoreError> {
        if let Some(known) = &self.clinics {
            return Ok(known.clone());
        }
        let found = self.work.clinic_chat(self.engine.key()).await?;
        self.clinics = Some(found.clone());
        Ok(found)
    }

    /// Makes a chat the clinic's.
    pub(super) async fn bind_clinic_chat(&mut self, chat: &Chat) -> Result<(), StoreError> {
        self.clinics = None;
        self.work.bind_clinic_chat(self.engine.key(), chat).await
    }

    fn joined(&self, chat: &Chat) -> Option<(i64, No)> {
        self.households.values().find_map(|settled| {
            let carers = settled.household.carers.values();
            let carer = carers
                .into_iter()
                .find(|carer| carer.chat.as_ref() == Some(chat))?;
            Some((settled.household.id, carer.no))
        })
    }

    /// What follows from now on follows from this.
    pub(super) fn because(&mut self, cause: &str) {
        cause.clone_into(&mut self.cause);
    }

    /// Decides on an input; a household that does not exist has nothing to say.
    pub(super) fn decide(&mut self, id: i64, input: &Input, cause: &str) {
        let Some(before) = self.households.remove(&id) else {
            return self.because(cause);
        };
        let decision = decide_on(before.household, input, self.now, &self.engine.policy);
        let (version, shown) = (before.version, before.shown);
        self.take(version, shown, decision, cause);
        if let Some(settled) = self.households.get_mut(&id) {
            settled.changes.splice(0..0, before.changes);
        }
    }

    /// Takes what was decided on a household as it was in a version, with what it showed.
    pub(super) fn take(
        &mut self,
        version: i64,
        shown: Vec<WithButtons>,
        decision: Decision,
        cause: &str,
    ) {
        self.because(cause);
        let id = decision.household.id;
        let caused = |change| Caused {
            at: self.now,
            cause: cause.into(),
            change,
        };
        self.chats_changed |= decision.changes.iter().any(Change::moves_a_chat);
        let settled = Settled {
            household: decision.household,
            version,
            changes: decision.changes.into_iter().map(caused).collect(),
            wake_at: decision.wake_at,
            decided: true,
            shown,
        };
        self.households.insert(id, settled);
        for message in decision.messages {
            self.say(Some(id), message);
        }
    }

    /// Forgets what a household shows: it was taken off all at once.
    pub(super) fn nothing_is_shown(&mut self, id: i64) {
        if let Some(settled) = self.households.get_mut(&id) {
            settled.shown.clear();
        }
    }

    /// Carries out changes that nothing had to be decided for.
    pub(super) fn change(&mut self, id: i64, changes: Vec<Change>, cause: &str) {
        let Some(settled) = self.households.get_mut(&id) else {
            return;
        };
        for change in changes {
            self.chats_changed |= change.moves_a_chat();
            apply(&mut settled.household, &change);
            settled.changes.push(Caused {
                at: self.now,
                cause: cause.into(),
                change,
            });
        }
        settled.wake_at = next_look(&settled.household, &self.engine.policy);
        settled.decided = true;
    }

    /// Puts a message on its way, once this is committed.
    pub(super) fn say(&mut self, household: Option<i64>, message: Message) {
        let known = household
            .and_then(|id| self.households.get(&id))
            .map(|s| &s.household);
        let (carer, chat, language) = match message.to {
            Recipient::Carer(no) => {
                let chat = known
                    .and_then(|h| h.carers.get(&no))
                    .and_then(|c| c.chat.clone());
                // Whoever has not joined has no chat: the clinic is told elsewhere.
                let (Some(chat), Some(known)) = (chat, known) else {
                    return;
                };
                (no, Some(chat), known.language.clone())
            }
            Recipient::Clinic => {
                // What somebody did in a chat of their own is answered there as well.
                if let Some(chat) = self.asked_in.clone()
                    && !is_alert(message.kind)
                {
                    self.say_in(household, Some(chat), message.clone());
                }
                return self.say_in(household, None, message);
            }
            Recipient::Asker => return self.say_in(household, self.asked_in.clone(), message),
            Recipient::Staff(ref whom) => {
                self.for_staff.push((self.messages.len(), whom.clone()));
                return self.say_in(household, None, message);
            }
            Recipient::Stranger => return,
        };
        self.messages.push(ToSend {
            household,
            carer,
            chat,
            language,
            message,
            cause: self.cause.clone(),
        });
    }

    /// Somebody at the clinic writes from here, until the next arrival.
    pub(super) fn answer_in(&mut self, chat: &Chat) {
        self.asked_in = Some(chat.clone());
    }

    /// The clinic's chat is the one that is written in.
    pub(super) fn answer_in_the_clinics_chat(&mut self) {
        self.asked_in = None;
    }

    /// Says something to the clinic: in a chat, or where none is given in the clinic's.
    fn say_in(&mut self, household: Option<i64>, chat: Option<Chat>, message: Message) {
        self.messages.push(ToSend {
            household,
            carer: 0,
            chat,
            language: self.engine.clinic_language.clone(),
            message,
            cause: self.cause.clone(),
        });
    }

    /// Finds the chats of people at the clinic. Who has none is reached in the
    /// clinic's chat; where the clinic has none, everybody on the staff is told.
    async fn address_staff(&mut self) -> Result<(), StoreError> {
        let to_clinic = |to_send: &ToSend| to_send.carer == 0 && to_send.chat.is_none();
        if !self.messages.iter().any(to_clinic) {
            return Ok(());
        }
        let bound = self.clinic_chat().await?;
        let clinic = self.engine.key();
        if let Some(chat) = &bound
            && self.for_staff.is_empty()
        {
            self.gather_for(chat);
            return Ok(());
        }
        let staff = self.work.staff(clinic).await?;
        for (place, whom) in std::mem::take(&mut self.for_staff) {
            self.messages[place].chat = chat_of(&staff, &whom);
        }
        if let Some(chat) = &bound {
            self.gather_for(chat);
            return Ok(());
        }
        let alone: Vec<Chat> = staff.into_iter().filter_map(|member| member.chat).collect();
        if alone.is_empty() {
            // It waits until there is a chat.
            return Ok(());
        }
        let mut addressed = Vec::new();
        for to_send in std::mem::take(&mut self.messages) {
            if !to_clinic(&to_send) {
                addressed.push(to_send);
                continue;
            }
            // Whoever asked has it already.
            let others = alone.iter().filter(|chat| {
                is_alert(to_send.message.kind) || self.asked_in.as_ref() != Some(*chat)
            });
            addressed.extend(others.map(|chat| ToSend {
                chat: Some(chat.clone()),
                ..to_send.clone()
            }));
        }
        self.messages = addressed;
        Ok(())
    }

    /// Where a platform limits how much a chat takes, alerts of one kind go together.
    fn gather_for(&mut self, clinics: &Chat) {
        let channel = self.engine.channel(&clinics.channel);
        if channel.is_some_and(|channel| channel.is_paced()) {
            let messages = std::mem::take(&mut self.messages);
            self.messages = gather(messages, &self.engine.wording);
        }
    }

    /// Answers a chat that belongs to nobody we know.
    pub(super) fn say_to_stranger(
        &mut self,
        chat: crate::domain::household::Chat,
        message: Message,
    ) {
        let language = self.engine.clinic_language.clone();
        self.messages.push(ToSend {
            household: None,
            carer: 0,
            chat: Some(chat),
            language,
            message,
            cause: self.cause.clone(),
        });
    }

    /// Ends without anything decided.
    pub(super) async fn end(self) -> Result<(), StoreError> {
        self.work.commit().await
    }

    /// Leaves everything as it was, and lets others at the database at once.
    pub(super) async fn abandon(self) -> Result<(), StoreError> {
        self.work.roll_back().await
    }

    /// Makes all of it last, or none.
    pub(super) async fn commit(mut self) -> Result<(), StoreError> {
        self.write().await?;
        self.work.commit().await?;
        notify(self.engine, &self.messages);
        Ok(())
    }

    /// Makes all of it last and claims what is to be sent next, or does none of it.
    pub(super) async fn commit_and_claim(
        mut self,
        most: u32,
        lease_until: Instant,
    ) -> Result<Claims, StoreError> {
        self.write().await?;
        let claims = self
            .work
            .commit_and_claim(self.engine.key(), self.now, lease_until, most)
            .await?;
        notify(self.engine, &self.messages);
        Ok(claims)
    }

    async fn write(&mut self) -> Result<(), StoreError> {
        // Questions first: what is written goes to the database in one go with the commit.
        self.take_off_buttons().await?;
        self.address_staff().await?;
        let savings: Vec<Saving> = self
            .households
            .values()
            .filter(|settled| settled.decided)
            .map(|settled| Saving {
                household: &settled.household,
                version: settled.version,
                changes: &settled.changes,
                wake_at: settled.wake_at,
            })
            .collect();
        self.work.save(&savings).await?;
        self.work
            .enqueue(self.engine.key(), &self.messages, self.now)
            .await?;
        if cfg!(debug_assertions) && !savings.is_empty() {
            let ids: Vec<i64> = savings.iter().map(|saving| saving.household.id).collect();
            for (loaded, saving) in self.work.load(&ids).await?.iter().zip(&savings) {
                assert_eq!(
                    loaded.household, *saving.household,
                    "load() must equal apply()"
                );
            }
        }
        Ok(())
    }

    /// Carers of a household to whom a step of the clinic's protocol is about to be said.
    fn walking(&self, household: i64) -> Vec<u32> {
        let said = self.messages.iter();
        let said = said.filter(|to_send| to_send.household == Some(household));
        walking(said.map(|to_send| &to_send.message))
    }

    /// Notes which buttons of earlier messages no longer apply.
    async fn take_off_buttons(&mut self) -> Result<(), StoreError> {
        let mut differ = Vec::new();
        for (id, settled) in &self.households {
            if settled.shown.is_empty() {
                continue;
            }
            let walks_on = self.walking(*id);
            if settled.changes.is_empty() && walks_on.is_empty() {
                continue;
            }
            let policy = &self.engine.policy;
            for shown in &settled.shown {
                let left = still_applying(shown, &settled.household, &walks_on, self.now, policy);
                if left != shown.buttons {
                    differ.push((shown.id, left));
                }
            }
        }
        self.work.set_buttons(&differ).await
    }
}

/// What was committed with something to say leaves while the next is decided.
fn notify(engine: &Engine, said: &[ToSend]) {
    if !said.is_empty() {
        engine.committed.notify_one();
    }
}
