//! How the program is: what it counts, what waits, and when the platform was last reached.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::message::{Kind, Message, Recipient};
use crate::store::{Backlog, StoreError};
use chrono::TimeDelta;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// What has happened since the program started.
#[derive(Debug, Default)]
pub struct Counts {
    /// Arrivals that were stored.
    pub accepted: AtomicU64,
    /// Arrivals that were decided on.
    pub settled: AtomicU64,
    /// Arrivals that could not be handled and were put aside.
    pub quarantined: AtomicU64,
    /// Households that were looked at because their time had come.
    pub woken: AtomicU64,
    /// Messages that a channel took.
    pub sent: AtomicU64,
    /// Tries to send that the platform asked to repeat later.
    pub later: AtomicU64,
    /// Tries to send whose end is not known.
    pub unclear: AtomicU64,
    /// Messages for a chat that is closed, or that the platform does not take.
    pub refused: AtomicU64,
    /// Messages that were of no use any more when they could be sent.
    pub late: AtomicU64,
}

pub(super) fn add(counter: &AtomicU64, more: usize) {
    let more = u64::try_from(more).unwrap_or(u64::MAX);
    counter.fetch_add(more, Ordering::Relaxed);
}

/// When the platform was reached.
#[derive(Debug, Default)]
pub(super) struct Contact(Mutex<Reached>);

#[derive(Debug, Default, Clone, Copy)]
struct Reached {
    last: Option<Instant>,
    /// An outage that is over and that the clinic was not told of: from when until when.
    to_tell: Option<(Instant, Instant)>,
}

impl Contact {
    /// The platform answered. After a silence longer than `limit` the clinic has to be told.
    pub(super) fn made(&self, now: Instant, limit: TimeDelta) {
        let mut reached = self.lock();
        if let Some(last) = reached.last.filter(|last| now - *last >= limit) {
            let from = reached.to_tell.map_or(last, |(from, _)| from);
            reached.to_tell = Some((from, now));
        }
        reached.last = Some(reached.last.map_or(now, |last| last.max(now)));
    }

    fn last(&self) -> Option<Instant> {
        self.lock().last
    }

    fn to_tell(&self) -> Option<(Instant, Instant)> {
        self.lock().to_tell
    }

    /// Whether the clinic has to be told of a silence that is over.
    pub(super) fn is_to_tell(&self) -> bool {
        self.to_tell().is_some()
    }

    fn told(&self, outage: (Instant, Instant)) {
        let mut reached = self.lock();
        reached.to_tell = reached.to_tell.filter(|to_tell| *to_tell != outage);
    }

    fn lock(&self) -> MutexGuard<'_, Reached> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// How the program is at an instant.
#[derive(Debug)]
pub struct Health {
    /// When it was asked.
    pub at: Instant,
    /// When this process last reached the platform; none before the first time.
    pub contact: Option<Instant>,
    /// What waits, or why the database could not say.
    pub backlog: Result<Backlog, StoreError>,
}

impl Engine {
    /// How the program is.
    pub async fn health(&self) -> Health {
        let now = self.clock.now();
        Health {
            at: now,
            contact: self.contact.last(),
            backlog: self.backlog(now).await,
        }
    }

    async fn backlog(&self, now: Instant) -> Result<Backlog, StoreError> {
        let mut work = self.store.begin().await?;
        let backlog = work.backlog(self.key(), now).await?;
        work.commit().await?;
        Ok(backlog)
    }

    /// What has happened since the program started.
    pub fn counts(&self) -> &Counts {
        &self.counts
    }

    /// Tells the clinic that the platform could not be reached for a while,
    /// as soon as it can be again; gives how many messages that made.
    pub(super) async fn tell_of_outage(&self, now: Instant) -> Result<usize, StoreError> {
        let Some(outage) = self.contact.to_tell() else {
            return Ok(0);
        };
        let (from, until) = outage;
        let zone = self.policy.clinic.zone;
        let mut settling = Settling::begin(self, now).await?;
        let message = Message::new(Recipient::Clinic, Kind::ClinicOutage)
            .fact("why", "unreached")
            .fact("since", zone.local(from))
            .fact("until", zone.local(until));
        settling.say(None, message);
        settling.commit().await?;
        self.contact.told(outage);
        Ok(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(minutes: i64) -> Instant {
        Instant::from_timestamp_millis(minutes * 60_000).unwrap()
    }

    #[test]
    fn a_silence_is_told_once_with_both_its_ends() {
        let (contact, limit) = (Contact::default(), TimeDelta::minutes(10));
        contact.made(at(0), limit);
        contact.made(at(9), limit);
        assert_eq!((contact.last(), contact.to_tell()), (Some(at(9)), None));
        contact.made(at(19), limit);
        assert_eq!(contact.to_tell(), Some((at(9), at(19))));
        // Another before the first was told: one message covers both.
        contact.made(at(40), limit);
        assert_eq!(contact.to_tell(), Some((at(9), at(40))));
        contact.told((at(9), at(19)));
        assert_eq!(contact.to_tell(), Some((at(9), at(40))));
        contact.told((at(9), at(40)));
        assert_eq!(contact.to_tell(), None);
    }

    #[test]
    fn a_clock_that_is_set_back_is_no_silence() {
        let (contact, limit) = (Contact::default(), TimeDelta::minutes(10));
        contact.made(at(60), limit);
        contact.made(at(0), limit);
        contact.made(at(61), limit);
        assert_eq!((contact.last(), contact.to_tell()), (Some(at(61)), None));
    }
}
