//! How fast a platform lets a bot speak. Pure: it is told the time.
//!
//! Telegram's published limits are about 30 messages a second for a bot, one a
//! second for a chat, 20 a minute for a group.

use crate::domain::Instant;
use chrono::TimeDelta;
use std::collections::HashMap;
use std::time::Duration;

/// A little under the published limit of 30, so that clocks which differ do no harm.
pub(super) const USUAL_PER_SECOND: u32 = 29;
/// Messages that may leave together are those of this span: one at the usual
/// pace, so that a strict platform never counts more than its limit in any second.
const TOGETHER: TimeDelta = TimeDelta::nanoseconds(1_000_000_000 / USUAL_PER_SECOND as i64);
const GROUP_BURST: usize = 19;
const GROUP_SPAN: TimeDelta = TimeDelta::seconds(60);
/// Short bursts to one chat are let through: a reply of two messages is not held up.
const CHAT_BURST: usize = 3;
const CHAT_SPAN: TimeDelta = TimeDelta::seconds(3);
/// Two chats that have to wait within this span were not each too fast by themselves.
const SEVERAL_AT_A_TIME: TimeDelta = TimeDelta::seconds(2);

/// A turn taken later than it was free does not put off those after it, by up to this,
/// and by no more than half of what 31 turns span beyond a second. At 29 a second that
/// is 34 ms: so in no second a platform counts more than 30, as long as the line does
/// not bring two of them nearer to each other by 19 ms.
const LATENESS_MADE_UP: TimeDelta = TimeDelta::milliseconds(15);
/// Messages that a strict platform takes in a second.
const STRICT: i32 = 30;

/// Chats whose turns are remembered before any is forgotten.
const MOST_CHATS: usize = 10_000;

/// When what was sent, as far as limits care.
#[derive(Debug)]
pub(super) struct Pace {
    bot: Evenly,
    chats: HashMap<String, Sent>,
    /// With more of them, those of which nothing counts any more are forgotten.
    most_chats: usize,
    /// Chats for which the platform asked to wait: from when until when.
    held: HashMap<String, (Instant, Instant)>,
    /// The same for all chats.
    bot_held: Option<(Instant, Instant)>,
}

/// Turns at even distances (the generic cell rate algorithm, ITU-T I.371).
#[derive(Debug)]
struct Evenly {
    distance: TimeDelta,
    /// When the turns given out so far would end.
    given_until: Option<Instant>,
}

impl Evenly {
    /// When one more turn may be taken.
    fn free_at(&self, now: Instant) -> Instant {
        match self.given_until {
            // A clock that was set back must not hold anything up.
            Some(until) if until - now <= TOGETHER * 2 => {
                now.max(whole_milliseconds(until - self.slack()))
            }
            _ => now,
        }
    }

    fn take(&mut self, now: Instant) {
        let from = match self.given_until {
            Some(until) if until - now <= TOGETHER * 2 => until.max(now - self.made_up()),
            _ => now,
        };
        self.given_until = Some(from + self.distance);
    }

    fn made_up(&self) -> TimeDelta {
        let beyond = self.distance * STRICT - TimeDelta::seconds(1);
        (beyond / 2).clamp(TimeDelta::zero(), LATENESS_MADE_UP)
    }

    /// How many turns may be taken now.
    fn room(&self, now: Instant) -> u32 {
        let ahead = self
            .given_until
            .map_or(TimeDelta::zero(), |until| until - now);
        let ahead = match ahead <= TOGETHER * 2 {
            true => ahead.max(TimeDelta::zero()),
            false => TimeDelta::zero(),
        };
        if self.free_at(now) > now {
            return 0;
        }
        let more = times(self.slack() - ahead, self.distance);
        1 + more
    }

    fn slack(&self) -> TimeDelta {
        (TOGETHER - self.distance).max(TimeDelta::zero())
    }
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

/// The first whole millisecond from then on: instants are not told finer.
fn whole_milliseconds(at: Instant) -> Instant {
    let before = Instant::from_timestamp_millis(at.timestamp_millis()).unwrap_or(at);
    match before < at {
        true => before + TimeDelta::milliseconds(1),
        false => before,
    }
}

/// How often one span fits into another.
fn times(span: TimeDelta, each: TimeDelta) -> u32 {
    let nanoseconds = |span: TimeDelta| span.num_nanoseconds().unwrap_or(i64::MAX);
    u32::try_from(nanoseconds(span) / nanoseconds(each).max(1)).unwrap_or(u32::MAX)
}

impl Pace {
    /// A bot that may send so many messages a second, at least one.
    pub(super) fn of(per_second: u32) -> Pace {
        Pace {
            bot: Evenly {
                distance: TimeDelta::nanoseconds(1_000_000_000 / i64::from(per_second.max(1))),
                given_until: None,
            },
            chats: HashMap::new(),
            most_chats: MOST_CHATS,
            held: HashMap::new(),
            bot_held: None,
        }
    }

    /// From now on so many messages a second, at least one; what was sent counts on.
    pub(super) fn slow_down_to(&mut self, per_second: u32) {
        self.bot.distance = TimeDelta::nanoseconds(1_000_000_000 / i64::from(per_second.max(1)));
    }

    /// How many messages may leave now, whatever their chats.
    pub(super) fn room(&self, now: Instant) -> u32 {
        match self.bot_held_until(now) {
            Some(_) => 0,
            None => self.bot.room(now),
        }
    }

    /// How many messages may leave in a span.
    pub(super) fn turns_in(&self, span: Duration) -> u32 {
        times(
            TimeDelta::from_std(span).unwrap_or(TimeDelta::MAX),
            self.bot.distance,
        )
    }

    /// When the next message may leave, whatever its chat.
    pub(super) fn free_at(&self, now: Instant) -> Instant {
        self.bot_held_until(now)
            .unwrap_or_else(|| self.bot.free_at(now))
    }

    fn bot_held_until(&self, now: Instant) -> Option<Instant> {
        let held = self
            .bot_held
            .filter(|(from, until)| (*from..*until).contains(&now));
        held.map(|(_, until)| until)
    }

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
        let bot = self.free_at(now);
        let sent = self.chats.entry(chat.to_owned()).or_default();
        let free = bot.max(sent.free_at(burst - turns, span, now));
        if free > now {
            return Err(free);
        }
        self.bot.take(now);
        sent.0.push(now);
        if self.chats.len() > self.most_chats {
            self.chats
                .retain(|_, sent| sent.0.last().is_some_and(|at| *at + GROUP_SPAN > now));
            // Not with every message while they are many indeed.
            self.most_chats = MOST_CHATS.max(self.chats.len() * 2);
        }
        Ok(())
    }

    /// The platform asked to wait for a chat: nothing goes there until then,
    /// whichever message was refused. Where it asks so for several chats at a
    /// time the bot as a whole was too fast, and all of it waits.
    pub(super) fn hold(&mut self, chat: &str, now: Instant, until: Instant) {
        let others = self.held.iter();
        let another = others
            .filter(|(held, _)| *held != chat)
            .any(|(_, (from, _))| *from <= now && now - *from < SEVERAL_AT_A_TIME);
        // Of several that were under way the longest wait holds.
        let longest = |held: Option<&(Instant, Instant)>| match held {
            Some((from, before)) if (*from..*before).contains(&now) => until.max(*before),
            _ => until,
        };
        if another {
            self.bot_held = Some((now, longest(self.bot_held.as_ref())));
        }
        self.held
            .retain(|_, (from, until)| *from <= now && now < *until);
        let until = longest(self.held.get(chat));
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
        let mut pace = Pace::of(USUAL_PER_SECOND);
        assert_eq!(pace.take("7", at(0)), Ok(()));
        assert_eq!(pace.take_spare("7", at(100)), Ok(()));
        assert_eq!(pace.take_spare("7", at(200)), Err(at(3_000)));
        assert_eq!(pace.take("7", at(200)), Ok(()));
        assert_eq!(pace.take("7", at(300)), Err(at(3_000)));
    }

    #[test]
    fn no_more_than_the_limit_in_any_span() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        let mut now = at(0);
        let mut sent = Vec::new();
        for chat in 0..100 {
            while let Err(free) = pace.take(&chat.to_string(), now) {
                assert!(free > now);
                now = free;
            }
            sent.push(now);
        }
        for window in sent.windows(31) {
            assert!(
                window[30] - window[0] > TimeDelta::seconds(1),
                "31 in a second"
            );
        }
        // A hundred at 29 a second, the first of them at once.
        assert_eq!(now.timestamp_millis(), 99 * 1000 / 29 + 1);
    }

    /// Else whoever claims by the room has to put back what he claimed, and claims again.
    #[test]
    fn where_there_is_room_a_turn_can_be_taken_however_finely_the_clock_tells_time() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        for n in 0..2_000_i64 {
            let now = at(0) + TimeDelta::microseconds(n * 137);
            let room = pace.room(now);
            assert_eq!(room > 0, pace.take(&n.to_string(), now).is_ok(), "{n}");
        }
    }

    #[test]
    fn turns_that_are_taken_late_put_off_no_others() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        let mut now = at(0);
        let mut sent = Vec::new();
        for n in 0..900 {
            let chat = n.to_string();
            if let Err(free) = pace.take(&chat, now) {
                // Whoever waited is woken a little later than he asked to be.
                now = free + TimeDelta::milliseconds(n * 7 % 15);
                assert_eq!(pace.take(&chat, now), Ok(()));
            }
            sent.push(now);
        }
        let shortest = sent.windows(31).map(|window| window[30] - window[0]).min();
        assert!(
            shortest > Some(TimeDelta::milliseconds(1_018)),
            "{shortest:?}"
        );
        let last = now.timestamp_millis() - 899 * 1000 / 29;
        assert!((0..=16).contains(&last), "{last} ms later than it might be");
    }

    #[test]
    fn a_faster_bot_sends_several_together() {
        let mut pace = Pace::of(1_000);
        assert_eq!(pace.room(at(0)), 34);
        let mut sent = 0;
        for chat in 0..100 {
            sent += u32::from(pace.take(&chat.to_string(), at(0)).is_ok());
        }
        assert_eq!((sent, pace.room(at(0))), (34, 0));
        assert_eq!(pace.room(at(10)), 10);
        assert_eq!(pace.room(at(60_000)), 34);
    }

    #[test]
    fn two_chats_that_must_wait_make_the_bot_wait() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        pace.hold("7", at(0), at(5_000));
        assert_eq!(pace.free_at(at(1_000)), at(1_000));
        pace.hold("8", at(1_000), at(6_000));
        assert_eq!(
            (pace.free_at(at(1_000)), pace.room(at(1_000))),
            (at(6_000), 0)
        );
        assert_eq!(pace.take("9", at(5_999)), Err(at(6_000)));
        assert_eq!(pace.take("9", at(6_000)), Ok(()));
    }

    #[test]
    fn of_several_that_must_wait_the_longest_wait_holds() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        pace.hold("7", at(0), at(30_000));
        pace.hold("8", at(100), at(30_100));
        pace.hold("9", at(200), at(3_200));
        assert_eq!(pace.free_at(at(300)), at(30_100));
        pace.hold("8", at(400), at(2_400));
        assert_eq!(pace.take("8", at(30_099)), Err(at(30_100)));
        assert_eq!(pace.take("8", at(30_100)), Ok(()));
    }

    #[test]
    fn a_group_takes_fewer_and_others_go_on() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        for n in 0..19 {
            assert_eq!(pace.take("-100", at(n * 100)), Ok(()));
        }
        assert_eq!(pace.take("-100", at(2_000)), Err(at(60_000)));
        assert_eq!(pace.take("7", at(2_000)), Ok(()));
    }

    #[test]
    fn a_chat_that_must_wait_waits_for_all_its_messages() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        pace.hold("7", at(0), at(40_000));
        assert_eq!(pace.take("7", at(39_999)), Err(at(40_000)));
        assert_eq!(pace.take("8", at(39_999)), Ok(()));
        assert_eq!(pace.take("7", at(40_100)), Ok(()));
    }

    #[test]
    fn a_clock_that_was_set_back_holds_nothing_up() {
        let mut pace = Pace::of(USUAL_PER_SECOND);
        pace.hold("9", at(1_000_000), at(1_040_000));
        assert_eq!(pace.take("9", at(0)), Ok(()));
        for n in 0..3 {
            assert_eq!(pace.take("7", at(1_000_000 + n * 100)), Ok(()));
        }
        assert_eq!(pace.take("7", at(0)), Ok(()));
    }
}
