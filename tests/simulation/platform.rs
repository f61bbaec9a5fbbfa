//! The chat platform: hands updates over until they are taken, and takes messages.

use super::dice::Dice;
use futures_util::future::BoxFuture;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::{Arc, Mutex};
use std::time::Duration;
use tokio::sync::Notify;
use vialbell::channel::{Channel, Outgoing, Sent};
use vialbell::domain::Instant;
use vialbell::domain::arrival::Arrival;

/// The channel's name.
pub const PHONE: &str = "phone";

pub struct Platform {
    state: Mutex<State>,
    paced: bool,
    died: Arc<Notify>,
}

/// One try of the program to send.
#[derive(Debug, Clone)]
pub struct Try {
    /// When, by the machine's clock.
    pub at: Instant,
    pub outgoing: Outgoing,
    /// Whether it is on somebody's screen now.
    pub arrived: bool,
    /// Whether the program knows how it ended.
    pub answered: bool,
    /// The platform's number, where it arrived.
    pub number: String,
    /// For how long the platform asked to wait.
    pub wait_s: i64,
}

/// What the platform does to sends next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weather {
    Lost,
    Doubled,
    TooMany(i64),
}

#[derive(Default)]
struct State {
    machine: Instant,
    outage: bool,
    weather: VecDeque<Weather>,
    crash: Option<(u32, bool)>,
    closed: BTreeSet<String>,
    moved: BTreeMap<String, String>,
    tries: Vec<Try>,
    numbers: u64,
    waiting: VecDeque<Arrival>,
    handed_over: Vec<Arrival>,
    repeat: u32,
    shuffle: u32,
    /// A platform that lies, for the tests of the checkers.
    sabotage: Option<Sabotage>,
    held_back: Option<Outgoing>,
}

/// How a platform lies where a test wants a checker to complain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sabotage {
    /// Says that it took a message, and shows it to nobody.
    Swallow,
    /// Shows a message twice.
    ShowTwice,
    /// Shows a message only after the next one of that chat.
    Overtake,
    /// Shows words that nobody decided on.
    Invent,
}

impl Platform {
    pub fn new(paced: bool, died: Arc<Notify>) -> Platform {
        Platform {
            state: Mutex::default(),
            paced,
            died,
        }
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, State> {
        self.state.lock().expect("no panic under the lock")
    }

    pub fn set_clock(&self, machine: Instant) {
        self.lock().machine = machine;
    }

    pub fn outage(&self, outage: bool) {
        self.lock().outage = outage;
    }

    pub fn is_out(&self) -> bool {
        self.lock().outage
    }

    pub fn weather(&self, weather: Weather, sends: u32) {
        self.lock().weather.extend((0..sends).map(|_| weather));
    }

    pub fn is_stormy(&self) -> bool {
        !self.lock().weather.is_empty()
    }

    pub fn calm(&self) {
        let mut state = self.lock();
        state.weather.clear();
        state.crash = None;
        state.closed.clear();
        state.outage = false;
    }

    pub fn crash_at_send(&self, nth: u32, arrived: bool) {
        self.lock().crash = Some((nth, arrived));
    }

    pub fn close(&self, address: &str, closed: bool) {
        let mut state = self.lock();
        if closed {
            state.closed.insert(address.into());
        } else {
            state.closed.remove(address);
        }
    }

    pub fn is_closed(&self, address: &str) -> bool {
        self.lock().closed.contains(address)
    }

    pub fn move_chat(&self, from: &str, to: &str) {
        self.lock().moved.insert(from.into(), to.into());
    }

    pub fn sabotage(&self, how: Sabotage) {
        self.lock().sabotage = Some(how);
    }

    /// Somebody wrote or tapped.
    pub fn push(&self, arrival: Arrival) {
        self.lock().waiting.push_back(arrival);
    }

    pub fn repeat(&self, updates: u32) {
        self.lock().repeat = updates;
    }

    pub fn shuffle(&self, batches: u32) {
        self.lock().shuffle = batches;
    }

    /// What the program gets when it asks; it stays until it is acknowledged.
    pub fn batch(&self, dice: &mut Dice) -> Vec<Arrival> {
        let mut state = self.lock();
        if state.outage {
            return Vec::new();
        }
        let mut batch: Vec<Arrival> = state.waiting.iter().cloned().collect();
        if state.repeat > 0 && !state.handed_over.is_empty() {
            for _ in 0..state.repeat {
                batch.push(dice.pick(&state.handed_over).clone());
            }
            state.repeat = 0;
        }
        if state.shuffle > 0 && batch.len() > 1 {
            state.shuffle -= 1;
            for last in (1..batch.len()).rev() {
                let other = usize::try_from(dice.below(last as u64 + 1)).expect("an index");
                batch.swap(last, other);
            }
        }
        batch
    }

    /// The program has what it got.
    pub fn acknowledge(&self) {
        let mut state = self.lock();
        let taken: Vec<Arrival> = state.waiting.drain(..).collect();
        state.handed_over.extend(taken);
    }

    /// All tries since the last time this was asked.
    pub fn tries(&self) -> Vec<Try> {
        std::mem::take(&mut self.lock().tries)
    }
}

impl State {
    fn log(&mut self, outgoing: &Outgoing, arrived: bool, answered: bool) -> String {
        self.numbers += 1;
        let number = self.numbers.to_string();
        self.tries.push(Try {
            at: self.machine,
            outgoing: outgoing.clone(),
            arrived,
            answered,
            number: number.clone(),
            wait_s: 0,
        });
        number
    }

    /// None: the program dies here.
    fn answer(&mut self, outgoing: &Outgoing) -> Option<Sent> {
        if let Some((left, arrived)) = self.crash.as_mut() {
            *left = left.saturating_sub(1);
            if *left == 0 {
                let arrived = *arrived && !self.outage;
                self.crash = None;
                self.log(outgoing, arrived, false);
                return None;
            }
        }
        let unclear = || {
            Some(Sent::Unclear {
                why: "the line went dead".into(),
            })
        };
        if self.outage {
            self.log(outgoing, false, false);
            return unclear();
        }
        if self.closed.contains(&outgoing.address) {
            self.log(outgoing, false, true);
            return Some(Sent::Gone {
                why: "the bot was blocked by the user".into(),
            });
        }
        if let Some(to) = self.moved.get(&outgoing.address).cloned() {
            self.log(outgoing, false, true);
            return Some(Sent::Moved { to });
        }
        match self.weather.pop_front() {
            Some(Weather::Lost) => {
                self.log(outgoing, false, false);
                return unclear();
            }
            Some(Weather::Doubled) => {
                self.log(outgoing, true, false);
                return unclear();
            }
            Some(Weather::TooMany(seconds)) => {
                self.log(outgoing, false, true);
                if let Some(tried) = self.tries.last_mut() {
                    tried.wait_s = seconds;
                }
                let after = Duration::from_secs(u64::try_from(seconds).unwrap_or(1));
                return Some(Sent::Later { after });
            }
            None => {}
        }
        if let Some(how) = self.sabotage.take() {
            let number = match how {
                Sabotage::Swallow => self.log(outgoing, false, true),
                Sabotage::ShowTwice => {
                    self.log(outgoing, true, true);
                    self.log(outgoing, true, true)
                }
                Sabotage::Overtake => {
                    self.held_back = Some(outgoing.clone());
                    self.numbers += 1;
                    self.numbers.to_string()
                }
                Sabotage::Invent => {
                    let mut other = outgoing.clone();
                    other.text = "Give two.".into();
                    self.log(&other, true, true)
                }
            };
            return Some(Sent::Accepted {
                external_id: number,
            });
        }
        let external_id = self.log(outgoing, true, true);
        let later = self
            .held_back
            .take_if(|held| held.address == outgoing.address);
        if let Some(held) = later {
            self.log(&held, true, true);
        }
        Some(Sent::Accepted { external_id })
    }
}

impl Channel for Platform {
    fn name(&self) -> &'static str {
        PHONE
    }

    fn is_paced(&self) -> bool {
        self.paced
    }

    fn has_replies(&self) -> bool {
        true
    }

    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent> {
        let answer = self.lock().answer(message);
        match answer {
            Some(sent) => Box::pin(std::future::ready(sent)),
            None => {
                self.died.notify_one();
                Box::pin(std::future::pending())
            }
        }
    }
}
