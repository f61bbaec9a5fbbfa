//! The four steps of every input: load the household, decide, commit, deliver.
//!
//! Only the engine opens transactions. Each of its parts can be repeated at any
//! time: what was committed is not decided again, and what was sent is settled.

mod deliver;
mod enrol;
mod pace;
mod receive;
mod settling;
mod wake;

pub use deliver::Delivered;
pub use enrol::{EnrolError, Enrolled};

use crate::channel::{Channel, Inbox};
use crate::clock::Clock;
use crate::domain::Instant;
use crate::domain::arrival::Arrival;
use crate::domain::formulary::Formulary;
use crate::domain::household::Chat;
use crate::domain::policy::Policy;
use crate::store::{Store, StoreError};
use crate::wording::Wording;
use futures_util::future::BoxFuture;
use std::sync::{Arc, Mutex};
use tokio::sync::Notify;

/// One clinic at work: its store, its rules, its words, its channels.
pub struct Engine {
    store: Store,
    wording: Wording,
    policy: Policy,
    formulary: Formulary,
    /// The language that the clinic's own messages are in.
    clinic_language: String,
    channels: Vec<Arc<dyn Channel>>,
    clock: Arc<dyn Clock>,
    pace: Mutex<pace::Pace>,
    /// The bot's name, for invitation links, once it is known.
    bot_name: Mutex<Option<String>>,
    woken: Notify,
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
        wording: Wording,
        policy: Policy,
        formulary: Formulary,
        channels: Vec<Arc<dyn Channel>>,
        clock: Arc<dyn Clock>,
    ) -> Engine {
        Engine {
            store,
            wording,
            policy,
            formulary,
            clinic_language: "en".into(),
            channels,
            clock,
            pace: Mutex::new(pace::Pace::default()),
            bot_name: Mutex::new(None),
            woken: Notify::new(),
        }
    }

    /// Does all that is due at an instant, and says when to come back.
    ///
    /// Ends when nothing is left to do at that instant; a message that only
    /// waits for the platform's pace is left for later.
    pub async fn step(&self, now: Instant) -> Result<Step, StoreError> {
        let mut step = Step::default();
        loop {
            let decided = self.receive(now).await? + self.wake(now).await?;
            let delivered = self.deliver(now).await?;
            let quiet = decided == 0 && delivered.is_empty();
            step.delivered.extend(delivered);
            if quiet {
                break;
            }
        }
        step.next = self.next(now).await?;
        Ok(step)
    }

    /// Decides on all that came in and all that is due; sends nothing.
    pub async fn think(&self, now: Instant) -> Result<usize, StoreError> {
        Ok(self.receive(now).await? + self.wake(now).await?)
    }

    /// The next instant at which a household or a message waits for us.
    async fn next(&self, now: Instant) -> Result<Option<Instant>, StoreError> {
        let mut work = self.store.begin().await?;
        let wake = work.next_wake().await?;
        let send = work.next_send(&self.policy.clinic.key).await?;
        work.commit().await?;
        // What should have happened by now is waiting for something else: do not spin.
        let later = |at: Instant| at.max(now + chrono::TimeDelta::milliseconds(10));
        Ok(wake.into_iter().chain(send).min().map(later))
    }

    /// Waits until something came in or was committed.
    pub async fn woken(&self) {
        self.woken.notified().await;
    }

    /// The clinic's chat, wherever alerts go.
    pub async fn bind_clinic_chat(&self, chat: &Chat) -> Result<(), StoreError> {
        let mut work = self.store.begin().await?;
        work.bind_clinic_chat(&self.policy.clinic.key, chat).await?;
        work.commit().await
    }

    /// The bot's name, for invitation links.
    pub fn set_bot_name(&self, name: &str) {
        let mut known = self
            .bot_name
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        *known = Some(name.into());
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

impl Inbox for Engine {
    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        Box::pin(async move {
            let now = self.clock.now();
            let mut work = self.store.begin().await?;
            work.accept(channel, &batch, now).await?;
            work.commit().await?;
            self.woken.notify_one();
            Ok(())
        })
    }
}
