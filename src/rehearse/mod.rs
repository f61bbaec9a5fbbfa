//! Plays a script against the real engine, store and wording, in a database
//! that is thrown away, on a clock that jumps.

mod print;
mod script;

pub use print::{Printer, json_line};
pub use script::{Line, ScriptError, What, Who, World, parse};

use crate::channel::script::ScriptChannel;
use crate::channel::{Channel, Inbox};
use crate::clock::ManualClock;
use crate::config::Config;
use crate::domain::Instant;
use crate::domain::arrival::{Arrival, Body, Medium};
use crate::domain::household::Chat;
use crate::domain::prescription::Order;
use crate::domain::zone::Zone;
use crate::engine::{Confirmation, Delivered, Engine, EnrolError};
use crate::store::Store;
use crate::wording::Wording;
use chrono::TimeDelta;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Prescriptions count as confirmed, and their carers as joined, this long before the first line.
const BEFORE: TimeDelta = TimeDelta::hours(1);
const CHANNEL: &str = "script";
const CLINIC: &str = "clinic";

/// What happened in a rehearsal, in order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Happened {
    /// A line of the script was played.
    Played {
        /// The line.
        line: Line,
        /// On whose clock it is read: that of the household that it comes from.
        zone: Option<Zone>,
    },
    /// A message was sent.
    Sent {
        /// The message.
        delivered: Box<Delivered>,
        /// On whose clock it is read: that of the household that it speaks of.
        zone: Option<Zone>,
    },
}

/// Why a rehearsal ended early.
#[derive(Debug, thiserror::Error)]
pub enum RehearsalError {
    /// A line that cannot be played.
    #[error("line {number}: {why}")]
    Line {
        /// Counted from 1.
        number: usize,
        /// Why, and what to write instead.
        why: String,
    },
    /// A prescription that was refused.
    #[error("{0}")]
    Prescription(String),
    /// The program failed.
    #[error(transparent)]
    Failed(#[from] anyhow::Error),
}

/// Which of the prescriptions was refused, a line for each reason.
fn refused(patient: &str, error: &EnrolError) -> RehearsalError {
    let error = error.to_string();
    let lines: Vec<String> = error
        .lines()
        .map(|why| format!("{patient}: {why}"))
        .collect();
    RehearsalError::Prescription(lines.join("\n"))
}

/// A rehearsal under way.
pub struct Rehearsal {
    engine: Engine,
    channel: Arc<ScriptChannel>,
    clock: Arc<ManualClock>,
    now: Instant,
    /// While set, the program is down until then: nothing is received, decided or sent.
    down_until: Option<Instant>,
    addresses: BTreeMap<String, String>,
    /// By household, in the order of their enrolment.
    zones: BTreeMap<i64, Zone>,
    /// By the name of a carer.
    households: BTreeMap<String, i64>,
    arrivals: u64,
}

/// Plays a whole script; `happened` is told of each thing as it happens.
pub async fn rehearse(
    config: Config,
    orders: Vec<Order>,
    lines: &[Line],
    happened: &mut dyn FnMut(Happened),
) -> Result<(), RehearsalError> {
    let Some(first) = lines.first() else {
        return Ok(());
    };
    let mut rehearsal = Rehearsal::begin(config, orders, first, happened).await?;
    for line in lines {
        rehearsal.play(line, happened).await?;
    }
    Ok(())
}

impl Rehearsal {
    /// Enrols the orders, an hour before the first line, in a database that is thrown away.
    pub async fn begin(
        config: Config,
        orders: Vec<Order>,
        first: &Line,
        happened: &mut dyn FnMut(Happened),
    ) -> Result<Rehearsal, RehearsalError> {
        let store = Store::throw_away().await.map_err(anyhow::Error::from)?;
        Rehearsal::begin_in(store, config, orders, first, happened).await
    }

    /// The same in a database that is empty so far.
    pub async fn begin_in(
        store: Store,
        config: Config,
        orders: Vec<Order>,
        first: &Line,
        happened: &mut dyn FnMut(Happened),
    ) -> Result<Rehearsal, RehearsalError> {
        let start = first.at.to_utc() - BEFORE;
        let channel = Arc::new(ScriptChannel::default());
        let clock = Arc::new(ManualClock::at(start));
        let wording = Wording::load().map_err(anyhow::Error::from)?;
        let channels: Vec<Arc<dyn Channel>> = vec![channel.clone()];
        let engine = Engine::new(
            store,
            wording,
            config.policy,
            config.formulary,
            channels,
            clock.clone(),
        );
        let mut rehearsal = Rehearsal {
            engine,
            channel,
            clock,
            now: start,
            down_until: None,
            addresses: BTreeMap::new(),
            zones: BTreeMap::new(),
            households: BTreeMap::new(),
            arrivals: 0,
        };
        rehearsal.enrol_all(orders).await?;
        rehearsal.step(happened).await?;
        Ok(rehearsal)
    }

    /// Those with the same owner's name share one household; `owner` is the owner of the first.
    async fn enrol_all(&mut self, orders: Vec<Order>) -> Result<(), RehearsalError> {
        let clinic = Chat {
            channel: CHANNEL.into(),
            address: CLINIC.into(),
        };
        self.engine
            .bind_clinic_chat(&clinic)
            .await
            .map_err(anyhow::Error::from)?;
        let mut households: BTreeMap<String, i64> = BTreeMap::new();
        for order in orders {
            let known = households.get(&order.owner).copied();
            let enrolled = self
                .engine
                .enrol(&order, known, "rehearsal", Confirmation::Counted, self.now)
                .await
                .map_err(|error| refused(&order.patient, &error))?;
            households.insert(order.owner.clone(), enrolled.household);
            self.zones.entry(enrolled.household).or_insert(order.zone);
            for name in std::iter::once(&order.owner).chain(&order.carers) {
                if self.addresses.contains_key(name) {
                    continue;
                }
                let address = if self.addresses.is_empty() {
                    "owner".into()
                } else {
                    format!("owner:{name}")
                };
                self.addresses.insert(name.clone(), address);
                self.households.insert(name.clone(), enrolled.household);
            }
        }
        self.join_all(households.into_values().collect()).await
    }

    async fn join_all(&mut self, households: Vec<i64>) -> Result<(), RehearsalError> {
        for household in households {
            let found = self.engine.household(household).await;
            let Some(found) = found.map_err(anyhow::Error::from)? else {
                continue;
            };
            for carer in found.carers.values() {
                let address = self.addresses.get(&carer.name).cloned().unwrap_or_default();
                let chat = Chat {
                    channel: CHANNEL.into(),
                    address,
                };
                self.engine
                    .join(household, carer.no, chat, self.now)
                    .await
                    .map_err(anyhow::Error::from)?;
            }
        }
        Ok(())
    }

    /// The engine at work, to look at what it holds.
    pub fn engine(&self) -> &Engine {
        &self.engine
    }

    /// Lets time pass up to a line, and plays it.
    pub async fn play(
        &mut self,
        line: &Line,
        happened: &mut dyn FnMut(Happened),
    ) -> Result<(), RehearsalError> {
        let known: Vec<&str> = self.addresses.keys().map(String::as_str).collect();
        let line = &line.with_whole_name(&known);
        self.pass_until(line.at.to_utc(), happened).await?;
        happened(Happened::Played {
            line: line.clone(),
            zone: self.zone_of_speaker(&line.who),
        });
        if let Some(arrival) = self.arrival(line)? {
            self.engine.accept(CHANNEL, vec![arrival]).await?;
        }
        self.step(happened).await
    }

    /// Lets time pass, stopping at every instant at which something is due.
    async fn pass_until(
        &mut self,
        until: Instant,
        happened: &mut dyn FnMut(Happened),
    ) -> Result<(), RehearsalError> {
        if let Some(down) = self.down_until {
            if until < down {
                self.set(until);
                return Ok(());
            }
            self.down_until = None;
            self.set(down);
            self.step(happened).await?;
        }
        loop {
            let next = self.step_once(happened).await?;
            match next {
                Some(next) if next <= until => self.set(next),
                _ => break,
            }
        }
        self.set(until);
        self.step(happened).await
    }

    fn set(&mut self, now: Instant) {
        self.now = now;
        self.clock.set(now);
    }

    async fn step(&mut self, happened: &mut dyn FnMut(Happened)) -> Result<(), RehearsalError> {
        self.step_once(happened).await.map(|_| ())
    }

    async fn step_once(
        &mut self,
        happened: &mut dyn FnMut(Happened),
    ) -> Result<Option<Instant>, RehearsalError> {
        if self.down_until.is_some() {
            return Ok(None);
        }
        let step = self
            .engine
            .step(self.now)
            .await
            .map_err(anyhow::Error::from)?;
        for delivered in step.delivered {
            happened(Happened::Sent {
                zone: self.zone_of(delivered.household),
                delivered: Box::new(delivered),
            });
        }
        Ok(step.next)
    }

    /// The household's zone; the first one's where no household is concerned.
    fn zone_of(&self, household: Option<i64>) -> Option<Zone> {
        household
            .and_then(|household| self.zones.get(&household))
            .or_else(|| self.zones.values().next())
            .copied()
    }

    fn zone_of_speaker(&self, who: &Who) -> Option<Zone> {
        let household = match who {
            Who::Owner { name: Some(name) } => self.households.get(name).copied(),
            _ => None,
        };
        self.zone_of(household)
    }

    /// What a line hands to the engine; none where only time passes.
    fn arrival(&mut self, line: &Line) -> Result<Option<Arrival>, RehearsalError> {
        let wrong = |why: String| RehearsalError::Line {
            number: line.number,
            why,
        };
        let (address, sender) = match &line.who {
            Who::Clock => return Ok(None),
            Who::World => return self.world(line),
            Who::Clinic { name } => (CLINIC.to_owned(), name.clone()),
            Who::Stranger => ("stranger".to_owned(), None),
            Who::Owner { name } => {
                let address = self.address(name.as_deref()).map_err(wrong)?;
                (address, name.clone())
            }
        };
        let body = match &line.what {
            What::Nothing => return Ok(None),
            What::Text(text) => Body::Text(text.clone()),
            What::Tap(label) => match self.channel.button(&address, label) {
                Some(data) => Body::Tap(data),
                None => return Err(wrong(format!("there is no button [{label}] in that chat"))),
            },
            What::World(_) => return Ok(None),
        };
        Ok(Some(self.arrive(address, sender, body)))
    }

    fn arrive(&mut self, address: String, sender: Option<String>, body: Body) -> Arrival {
        self.arrivals += 1;
        Arrival {
            external_id: self.arrivals.to_string(),
            address,
            sender,
            sender_id: None,
            reply_to: None,
            body,
        }
    }

    fn address(&self, name: Option<&str>) -> Result<String, String> {
        let Some(name) = name else {
            return Ok("owner".into());
        };
        self.addresses.get(name).cloned().ok_or_else(|| {
            let known: Vec<&str> = self.addresses.keys().map(String::as_str).collect();
            format!(
                "nobody is called “{name}”; the prescriptions name {}",
                known.join(", ")
            )
        })
    }

    /// Things that happen around a conversation.
    fn world(&mut self, line: &Line) -> Result<Option<Arrival>, RehearsalError> {
        let wrong = |why: String| RehearsalError::Line {
            number: line.number,
            why,
        };
        let What::World(world) = &line.what else {
            return Ok(None);
        };
        let (name, body) = match world {
            World::DownUntil(until) => {
                self.down_until = Some(until.to_utc());
                return Ok(None);
            }
            World::Blocks(name) => (name, Body::Gone),
            World::Returns(name) => (name, Body::Back),
            World::Photo(name, caption) => {
                let caption = (!caption.is_empty()).then(|| caption.clone());
                (
                    name,
                    Body::Medium {
                        what: Medium::Photo,
                        caption,
                    },
                )
            }
            World::Edits(name, text) => (name, Body::Edited(text.clone())),
        };
        let address = self.address(name.as_deref()).map_err(wrong)?;
        match world {
            World::Blocks(_) => {
                self.channel.close(&address);
                // A platform does not always say so: the next message finds out.
                return Ok(None);
            }
            World::Returns(_) => self.channel.open(&address),
            _ => {}
        }
        Ok(Some(self.arrive(address, name.clone(), body)))
    }
}
