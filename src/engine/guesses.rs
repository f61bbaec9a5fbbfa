//! Whoever tries one wrong invitation after another is not listened to.
//!
//! A code has 100 random bits, so that even with 10,000 codes open and a
//! thousand tries a second for a year, one is hit with a chance of less than
//! one in 10^15. This is for the database's sake and the log's. It is kept in
//! memory: of a stranger nothing is stored that the answer does not need.

use crate::domain::Instant;
use crate::domain::household::Chat;
use chrono::TimeDelta;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// So many wrong codes a chat may try within [`SPAN`].
const TRIES: usize = 5;
const SPAN: TimeDelta = TimeDelta::hours(1);
/// Chats that are remembered. Beyond, those that tried longest ago are forgotten.
const CHATS: usize = 10_000;

/// Which chats tried wrong codes, and when.
#[derive(Debug, Default)]
pub(super) struct Guesses(Mutex<BTreeMap<Chat, Wrong>>);

#[derive(Debug, Default)]
struct Wrong {
    last: Instant,
    /// The inbox rows, with when they were tried: a row that is settled anew counts once.
    tries: BTreeSet<(i64, Instant)>,
}

impl Guesses {
    /// Whether a chat's codes are still looked at.
    pub(super) fn may_try(&self, chat: &Chat, now: Instant) -> bool {
        let mut chats = self.lock();
        let Some(wrong) = chats.get_mut(chat) else {
            return true;
        };
        wrong.tries.retain(|(_, at)| now - *at < SPAN);
        wrong.tries.len() < TRIES
    }

    /// A code was wrong; says whether it was the last that this chat may try for now.
    pub(super) fn was_wrong(&self, chat: &Chat, row: i64, now: Instant) -> bool {
        let mut chats = self.lock();
        if chats.len() >= CHATS && !chats.contains_key(chat) {
            let oldest = chats.iter().min_by_key(|(_, wrong)| wrong.last);
            if let Some(oldest) = oldest.map(|(chat, _)| chat.clone()) {
                chats.remove(&oldest);
            }
        }
        let wrong = chats.entry(chat.clone()).or_default();
        wrong.last = now;
        if !wrong.tries.iter().any(|(tried, _)| *tried == row) {
            wrong.tries.insert((row, now));
        }
        wrong.tries.len() == TRIES
    }

    fn lock(&self) -> MutexGuard<'_, BTreeMap<Chat, Wrong>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chat(address: &str) -> Chat {
        Chat {
            channel: "test".into(),
            address: address.into(),
        }
    }

    fn at(minutes: i64) -> Instant {
        Instant::from_timestamp_millis(minutes * 60_000).unwrap()
    }

    #[test]
    fn after_five_wrong_codes_a_chat_waits_until_an_hour_after_the_first() {
        let guesses = Guesses::default();
        let stranger = chat("1");
        for row in 0..5 {
            assert!(guesses.may_try(&stranger, at(row)));
            assert_eq!(guesses.was_wrong(&stranger, row, at(row)), row == 4);
        }
        assert!(!guesses.may_try(&stranger, at(5)));
        assert!(guesses.may_try(&chat("2"), at(5)), "others are heard");
        assert!(!guesses.may_try(&stranger, at(59)));
        assert!(guesses.may_try(&stranger, at(60)));
    }

    #[test]
    fn a_row_that_is_settled_anew_counts_once() {
        let guesses = Guesses::default();
        for _ in 0..9 {
            assert!(!guesses.was_wrong(&chat("1"), 7, at(0)));
        }
        assert!(guesses.may_try(&chat("1"), at(0)));
    }

    #[test]
    fn many_chats_take_no_more_memory_than_is_set_aside() {
        let guesses = Guesses::default();
        for number in 0..CHATS + 50 {
            let now = at(i64::try_from(number).unwrap());
            guesses.was_wrong(&chat(&number.to_string()), 0, now);
        }
        let chats = guesses.lock();
        assert_eq!(chats.len(), CHATS);
        assert!(!chats.contains_key(&chat("49")) && chats.contains_key(&chat("50")));
    }
}
