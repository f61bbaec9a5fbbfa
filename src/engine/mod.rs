//! The four steps of every input: load the household, decide, commit, deliver.
//!
//! Only the engine opens transactions. Each of its parts can be repeated at any
//! time: what was committed is not decided again, and what was sent is settled.

mod beside;
mod board;
mod buttons;
mod carers;
mod clinic;
mod deliver;
mod enrol;
mod erasure;
mod gather;
mod guesses;
mod guided;
mod health;
mod invitation;
mod line;
mod orders;
mod pace;
mod papers;
mod patient;
mod receive;
mod records;
mod settling;
mod staff;
mod tasks;
mod tried;
mod under_way;
mod wake;
mod zone_rules;

pub use carers::CarerError;
pub use deliver::Delivered;
pub use enrol::{Confirmation, Confirmed, EnrolError, Enrolled};
pub use erasure::{EraseError, Erasure};
pub use health::{Counts, Health};
pub use orders::{ChangeError, Changed, Preview};
pub use staff::StaffError;
pub use under_way::UnderWay;

use crate::channel::{Channel, Inbox};
use crate::clock::Clock;
use crate::domain::Instant;
use crate::domain::arrival::Arrival;
use crate::domain::formulary::Formulary;
use crate::domain::household::{Chat, Household};
use crate::domain::policy::Policy;
use crate::store::{Ahead, Caused, Store, StoreError};
use crate::wording::Wording;
use futures_util::future::BoxFuture;
use std::sync::{Arc, Mutex};
use tokio::sync::Notify;

/// What another worker or a broken line hindered is done again this often at once.
const AGAIN: u32 = 3;

/// One clinic at work: its store, its rules, its words, its channels.
pub struct Engine {
    store: Store,
    wording: Arc<Wording>,
    policy: Arc<Policy>,
    formulary: Formulary,
    /// The language that the clinic's own messages are in.
    clinic_language: String,
    channels: Vec<Arc<dyn Channel>>,
    clock: Arc<dyn Clock>,
    pace: Mutex<pace::Pace>,
    line: line::Line,
    contact: health::Contact,
    counts: Counts,
    guesses: guesses::Guesses,
    /// When old words were last looked for.
    purged: Mutex<Option<Instant>>,
    /// The bot's name, for invitation links, once it is known.
    bot_name: Mutex<Option<String>>,
    /// Something came in, or a household was changed from outside the loop.
    woken: Notify,
    /// Something was committed that waits to be sent.
    committed: Notify,
    /// Something was committed that other workers may take.
    to_share: Notify,
    /// Tells this worker from the others.
    name: String,
}

/// What one [`Engine::step`] did.
#[derive(Debug, Default)]
pub struct Step {
    /// When something will be due; none where nothing waits.
    pub next: Option<Instant>,
    /// What was sent, in order.
    pub delivered: Vec<Delivered>,
}

impl Engine {
    /// An engine that sends by these channels.
    pub fn new(
        store: Store,
        wording: impl Into<Arc<Wording>>,
        policy: Policy,
        formulary: Formulary,
        channels: Vec<Arc<dyn Channel>>,
        clock: Arc<dyn Clock>,
    ) -> Engine {
        Engine {
            store,
            wording: wording.into(),
            policy: Arc::new(policy),
            formulary,
            clinic_language: "en".into(),
            channels,
            clock,
            pace: Mutex::new(pace::Pace::of(pace::USUAL_PER_SECOND)),
            line: line::Line::new(),
            contact: health::Contact::default(),
            counts: Counts::default(),
            guesses: guesses::Guesses::default(),
            purged: Mutex::new(None),
            bot_name: Mutex::new(None),
            woken: Notify::new(),
            committed: Notify::new(),
            to_share: Notify::new(),
            name: enrol::new_code(),
        }
    }

    /// Does all that is due at an instant, and says when to come back.
    ///
    /// Ends when nothing is left to do at that instant; a message that only
    /// waits for the platform's pace is left for later.
    pub async fn step(&self, now: Instant) -> Result<Step, StoreError> {
        self.purge(now).await?;
        let mut step = Step::default();
        loop {
            let ahead = self.ahead(now).await?;
            let decided = self.decide_on(&ahead, now).await?;
            if decided == 0 && !is_to_send(&ahead, now) {
                step.next = self.next(&ahead, now);
                return Ok(step);
            }
            let before = step.delivered.len();
            self.deliver(now, &mut |one| step.delivered.push(one))
                .await?;
            if decided == 0 && step.delivered.len() == before {
                step.next = self.next(&self.ahead(now).await?, now);
                return Ok(step);
            }
        }
    }

    /// Decides on all that came in and all that is due; sends nothing.
    pub async fn think(&self, now: Instant) -> Result<usize, StoreError> {
        self.purge(now).await?;
        let ahead = self.ahead(now).await?;
        let decided = self.decide_on(&ahead, now).await?;
        if decided > 0 {
            self.committed.notify_one();
            self.to_share.notify_one();
        }
        Ok(decided)
    }

    /// Decides on what was seen to wait.
    async fn decide_on(&self, ahead: &Ahead, now: Instant) -> Result<usize, StoreError> {
        let mut decided = 0;
        if ahead.inbox {
            decided += self.receive(now).await?;
        }
        if ahead.wake.is_some_and(|wake| wake <= now) {
            decided += self.wake(now).await?;
        }
        let opening = self.next_opening(ahead.last_digest);
        if ahead.last_digest.is_none() || opening.is_some_and(|opens| opens <= now) {
            decided += self.digest(now).await?;
        }
        Ok(decided + self.tell_of_outage(now).await?)
    }

    /// What waits in the clinic.
    async fn ahead(&self, now: Instant) -> Result<Ahead, StoreError> {
        self.store.ahead(self.key(), now).await
    }

    /// The next instant at which a household or a message waits for us.
    fn next(&self, ahead: &Ahead, now: Instant) -> Option<Instant> {
        let wake = ahead.wake.into_iter();
        let opening = self.next_opening(ahead.last_digest);
        wake.chain(opening)
            .chain(self.next_to_send(ahead, now))
            .min()
    }

    /// The next instant at which a household must be looked at, or the clinic opens.
    pub async fn next_wake(&self) -> Result<Option<Instant>, StoreError> {
        let ahead = self.ahead(self.now()).await?;
        let opening = self.next_opening(ahead.last_digest);
        Ok(ahead.wake.into_iter().chain(opening).min())
    }

    /// The next instant at which a message may be sent.
    pub async fn next_send(&self, now: Instant) -> Result<Option<Instant>, StoreError> {
        let ahead = self.ahead(now).await?;
        Ok(self.next_to_send(&ahead, now))
    }

    fn next_to_send(&self, ahead: &Ahead, now: Instant) -> Option<Instant> {
        let send = ahead.send.into_iter().chain(ahead.buttons).min();
        // One that may be sent already waits for the bot's turn, or behind another
        // of its chat: do not spin.
        let soon = now + chrono::TimeDelta::milliseconds(50);
        let turn = self.pace().free_at(now);
        let earliest = if turn > now { turn } else { soon };
        send.map(|at| at.max(earliest))
    }

    /// Waits until something came in.
    pub async fn woken(&self) {
        self.woken.notified().await;
    }

    /// Waits until something was committed that may have to be sent.
    pub async fn committed(&self) {
        self.committed.notified().await;
    }

    /// One household of the clinic, to look at.
    pub async fn household(&self, id: i64) -> Result<Option<Household>, StoreError> {
        let mut reading = self.store.begin_to_read().await?;
        let loaded = reading.load(&[id]).await?;
        reading.end_reading().await?;
        let household = loaded.into_iter().next().map(|loaded| loaded.household);
        Ok(household.filter(|household| household.clinic == self.key()))
    }

    /// All that changed in a household of the clinic, with when and why, in order.
    pub async fn journal(&self, id: i64) -> Result<Vec<Caused>, StoreError> {
        if self.household(id).await?.is_none() {
            return Ok(Vec::new());
        }
        let mut reading = self.store.begin_to_read().await?;
        let journal = reading.journal(id).await?;
        reading.end_reading().await?;
        Ok(journal)
    }

    /// The clinic's chat, wherever alerts go.
    pub async fn bind_clinic_chat(&self, chat: &Chat) -> Result<(), StoreError> {
        let mut work = self.store.begin().await?;
        work.bind_clinic_chat(&self.policy.clinic.key, chat).await?;
        work.commit().await
    }

    /// The clinic's chat, unless it was bound before: it may have moved since.
    pub async fn bind_clinic_chat_once(&self, chat: &Chat) -> Result<(), StoreError> {
        let mut work = self.store.begin().await?;
        if work.clinic_chat(&self.policy.clinic.key).await?.is_none() {
            work.bind_clinic_chat(&self.policy.clinic.key, chat).await?;
        }
        work.commit().await
    }

    /// How many messages a second a paced platform takes from this bot; 29 where nobody says.
    pub fn set_pace(&self, per_second: u32) {
        *self.pace() = pace::Pace::of(per_second);
    }

    /// The bot's name, for invitation links.
    pub fn set_bot_name(&self, name: &str) {
        let mut known = self
            .bot_name
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        *known = Some(name.into());
    }

    /// The clinic's key, by which its rows are told from those of others.
    fn key(&self) -> &str {
        &self.policy.clinic.key
    }

    /// The clinic's rules.
    pub fn policy(&self) -> &Policy {
        &self.policy
    }

    /// The store, to look at.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The instant that it is by the engine's clock.
    pub fn now(&self) -> Instant {
        self.clock.now()
    }
}

/// Whether there is something to send, or buttons to change, by now.
fn is_to_send(ahead: &Ahead, now: Instant) -> bool {
    let mut waiting = ahead.send.into_iter().chain(ahead.buttons);
    waiting.any(|at| at <= now)
}

impl Inbox for Engine {
    fn reached(&self) {
        self.contact.made(self.clock.now(), self.policy.unreached);
        if self.contact.is_to_tell() {
            self.woken.notify_one();
        }
    }

    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        Box::pin(async move {
            let now = self.clock.now();
            let batch: Vec<Arrival> = batch.into_iter().map(Arrival::without_nul).collect();
            let mut work = self.store.begin().await?;
            work.accept(self.key(), channel, &batch, now).await?;
            work.commit().await?;
            health::add(&self.counts.accepted, batch.len());
            self.woken.notify_one();
            self.to_share.notify_one();
            Ok(())
        })
    }
}
