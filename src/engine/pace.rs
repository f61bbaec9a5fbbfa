//! How fast a platform lets a bot speak. Pure: it is told the time.
//!
//! Telegram's published limits are about 30 messages a second for a bot, one a
//! second for a chat, 20 a minute for a group.

use crate::domain::Instant;
use chrono::TimeDelta;
use std::collections::HashMap;

/// A little under the published limit, so that clocks which differ do no harm.
const BOT_BURST: usize = 29;
const BOT_SPAN: TimeDelta = TimeDelta::seconds(1);
const GROUP_BURST: usize = 19;
const GROUP_SPAN: TimeDelta = TimeDelta::seconds(60);
/// Short bursts to one chat are let through: a reply of two messages is not held up.
const CHAT_BURST: usize = 3;
const CHAT_SPAN: TimeDelta = TimeDelta::seconds(3);

/// When what was sent, as far as limits care.
#[derive(Debug, Default)]
pub(super) struct Pace {
    bot: Sent,
    chats: HashMap<String, Sent>,
    /// Chats for which the platform asked to wait: from when until when.
    held: HashMap<String, (Instant, Instant)>,
}

#[derive(Debug, Default)]
struct Sent(Vec<Instant>);

impl Sent {
    /// When one more may be sent.
    fn free_at(&mut self, burst: usize, span: TimeDelta, now: Instant) -> Instant {
        // A clock that was set back must not hold anything up for longer than the span.
        self.0.retain(|at| *at + span > now && *at <= now);
        match self.0.len().checked_sub(burst) {
            Some(over) => self.0.get(over).map_or(now, |at| *at + span),
            None => now,
        }
    }
}

impl Pace {
    /// Takes the turn of a message, or says when it may be tried.
    pub(super) fn take(&mut self, chat: &str, now: Instant) -> Result<(), Instant> {
        self.take_leaving(0, chat, now)
    }

    /// Takes a turn for something that can wait: only where the next message
    /// would still not be held up by it.
    pub(super) fn take_spare(&mut self, chat: &str, now: Instant) -> Result<(), Instant> {
        self.take_leaving(1, chat, now)
    }

    fn take_leaving(&mut self, turns: usize, chat: &str, now: Instant) -> Result<(), Instant> {
        // Group chats have negative numbers there.
        let (burst, span) = if chat.starts_with('-') {
            (GROUP_BURST, GROUP_SPAN)
        } else {
            (CHAT_BURST, CHAT_SPAN)
        };
        if let Some((from, until)) = self.held.get(chat) {
            // As above: a clock that was set back must not prolong it.
            if (*from..*until).contains(&now) {
                return Err(*until);
            }
            self.held.remove(chat);
        }
        let bot = self.bot.free_at(BOT_BURST - turns, BOT_SPAN, now);
        let sent = self.chats.entry(chat.to_owned()).or_default();
        let free = bot.max(sent.free_at(burst - turns, span, now));
        if free > now {
            return Err(free);
        }
        self.bot.0.push(now);
        sent.0.push(now);
        if self.chats.len() > 10_000 {
            self.chats
                .retain(|_, sent| sent.0.last().is_some_and(|at| *at + GROUP_SPAN > now));
        }
        Ok(())
    }

    /// The platform asked to wait for a chat: nothing goes there until then,
    /// whichever message was refused.
    pub(super) fn hold(&mut self, chat: &str, now: Instant, until: Instant) {
        self.held.insert(chat.to_owned(), (now, until));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(millis: i64) -> Instant {
        Instant::from_timestamp_millis(millis).unwrap()
    }

    #[test]
    fn what_can_wait_leaves_a_turn_for_a_message() {
        let mut pace = Pace::default();
        assert_eq!(pace.take("7", at(0)), Ok(()));
        assert_eq!(pace.take_spare("7", at(0)), Ok(()));
        assert_eq!(pace.take_spare("7", at(0)), Err(at(3_000)));
        assert_eq!(pace.take("7", at(0)), Ok(()));
        assert_eq!(pace.take("7", at(0)), Err(at(3_000)));
    }

    #[test]
    fn no_more_than_the_limit_in_any_span() {
        let mut pace = Pace::default();
        let mut now = at(0);
        let mut sent = Vec::new();
        for chat in 0..100 {
            while let Err(free) = pace.take(&chat.to_string(), now) {
                assert!(free > now);
                now = free;
            }
            sent.push(now);
        }
        for window in sent.windows(BOT_BURST + 1) {
            assert!(window[BOT_BURST] - window[0] >= BOT_SPAN);
        }
        assert_eq!(now, at(3_000), "a hundred take three seconds");
    }

    #[test]
    fn a_group_takes_fewer_and_others_go_on() {
        let mut pace = Pace::default();
        for n in 0..19 {
            assert_eq!(pace.take("-100", at(n * 100)), Ok(()));
        }
        assert_eq!(pace.take("-100", at(2_000)), Err(at(60_000)));
        assert_eq!(pace.take("7", at(2_000)), Ok(()));
    }

    #[test]
    fn a_chat_that_must_wait_waits_for_all_its_messages() {
        let mut pace = Pace::default();
        pace.hold("7", at(0), at(40_000));
        assert_eq!(pace.take("7", at(39_999)), Err(at(40_000)));
        assert_eq!(pace.take("8", at(39_999)), Ok(()));
        assert_eq!(pace.take("7", at(40_000)), Ok(()));
    }

    #[test]
    fn a_clock_that_was_set_back_holds_nothing_up() {
        let mut pace = Pace::default();
        pace.hold("9", at(1_000_000), at(1_040_000));
        assert_eq!(pace.take("9", at(0)), Ok(()));
        for _ in 0..3 {
            assert_eq!(pace.take("7", at(1_000_000)), Ok(()));
        }
        assert_eq!(pace.take("7", at(0)), Ok(()));
    }
}
