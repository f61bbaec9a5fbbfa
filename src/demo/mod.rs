//! The demonstration behind the two-phone page: the real engine and a real
//! SQLite file, an invented clinic, and a clock that the visitor moves.

mod situation;
mod truth;

use crate::channel::page::{Jump, PageChannel, Person, Role, Shown, Stage};
use crate::channel::{Channel, Inbox};
use crate::clock::{Clock, ManualClock};
use crate::config::{Config, parse_prescription};
use crate::domain::Instant;
use crate::domain::arrival::{Arrival, Body};
use crate::domain::household::Chat;
use crate::domain::language::Language;
use crate::domain::zone::Zone;
use crate::engine::{Confirmation, Engine};
use crate::store::Store;
use crate::wording::Wording;
use anyhow::Context;
use chrono::{NaiveTime, TimeDelta};
use futures_util::future::BoxFuture;
use situation::{SITUATIONS, Situation};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

const CHANNEL: &str = crate::channel::page::NAME;
const OWNER: &str = "owner";
const CLINIC: &str = "clinic";
/// Who writes for the clinic.
const TECHNICIAN: &str = "Perrin";
/// Some of the program's work is silent; a jump goes on until something is said.
const SILENT_STEPS: usize = 50;

/// The demonstration.
pub struct Demo {
    channel: Arc<PageChannel>,
    clock: Arc<ManualClock>,
    scene: Arc<Mutex<Scene>>,
    folder: PathBuf,
    running: tokio::sync::Mutex<Running>,
}

/// Whose phone and whose clock is shown.
struct Scene {
    owner: String,
    language: Language,
    zone: Zone,
}

/// Which life is begun.
struct Opening {
    situation: &'static Situation,
    language: Language,
}

/// What runs for one situation.
struct Running {
    engine: Engine,
    household: i64,
    arrivals: u64,
    /// Counts situations: each has a file of its own.
    file: PathBuf,
    number: u32,
}

impl Demo {
    /// Sets up the first situation; its database is a file in `folder`.
    pub async fn open(folder: &Path) -> anyhow::Result<Arc<Demo>> {
        let situation = &SITUATIONS[0];
        let start = situation.enrolled_at()?;
        let clock = Arc::new(ManualClock::at(start));
        let zone = Config::built_in().policy.clinic.zone;
        let scene = Arc::new(Mutex::new(Scene {
            owner: String::new(),
            language: Language::English,
            zone,
        }));
        let channel = Arc::new(PageChannel::new({
            let (clock, scene) = (clock.clone(), scene.clone());
            move || shown(&clock, &scene)
        }));
        std::fs::create_dir_all(folder).with_context(|| folder.display().to_string())?;
        let opening = Opening {
            situation,
            language: Language::English,
        };
        let running = set_up(opening, &channel, &clock, &scene, folder, 1).await?;
        Ok(Arc::new(Demo {
            channel,
            clock,
            scene,
            folder: folder.into(),
            running: tokio::sync::Mutex::new(running),
        }))
    }

    /// The channel that the page is served from.
    pub fn channel(&self) -> Arc<PageChannel> {
        self.channel.clone()
    }

    fn scene(&self) -> MutexGuard<'_, Scene> {
        self.scene.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The database file of the situation under way.
    pub async fn database(&self) -> PathBuf {
        self.running.lock().await.file.clone()
    }
}

fn shown(clock: &ManualClock, scene: &Mutex<Scene>) -> Shown {
    let zone = scene.lock().unwrap_or_else(PoisonError::into_inner).zone;
    let at = zone.local(clock.now());
    Shown {
        at: at.to_rfc3339(),
        zone: zone.name().into(),
        words: at.format("%A %-d %B %Y, %H:%M").to_string(),
    }
}

/// A new database, the situation's prescription enrolled, its story played up to where it opens.
async fn set_up(
    opening: Opening,
    channel: &Arc<PageChannel>,
    clock: &Arc<ManualClock>,
    scene: &Mutex<Scene>,
    folder: &Path,
    number: u32,
) -> anyhow::Result<Running> {
    let Opening {
        situation,
        language,
    } = opening;
    let config = Config::built_in();
    let prescription = situation.prescription(language);
    let order = parse_prescription(
        prescription,
        &config.formulary,
        &Language::ALL.map(Language::code),
    )?;
    let owner = order.owner.clone();
    *scene.lock().unwrap_or_else(PoisonError::into_inner) = Scene {
        owner,
        language,
        zone: order.zone,
    };
    let now = situation.enrolled_at()?;
    clock.set(now);
    let file = folder.join(format!("vialbell-demonstration-{number}.db"));
    remove(&file);
    let store = Store::open(&format!("sqlite:{}", file.display())).await?;
    let channels: Vec<Arc<dyn Channel>> = vec![channel.clone()];
    let engine = Engine::new(
        store,
        Wording::load()?,
        config.policy,
        config.formulary,
        channels,
        clock.clone(),
    );
    engine.bind_clinic_chat(&chat(CLINIC)).await?;
    let enrolled = engine
        .enrol(&order, None, "demonstration", Confirmation::Counted, now)
        .await?;
    engine.join(enrolled.household, 1, chat(OWNER), now).await?;
    let mut running = Running {
        engine,
        household: enrolled.household,
        arrivals: 0,
        file,
        number,
    };
    for (at, words) in situation.story(language)? {
        running.pass_until(clock, at).await?;
        if let Some(words) = words {
            channel.own_words(OWNER, words);
            let body = Body::Text(words.to_owned());
            let arrival = running.arrive(OWNER, body);
            running.engine.accept(CHANNEL, vec![arrival]).await?;
            running.engine.step(at).await?;
        }
    }
    Ok(running)
}

/// The next instant after `now` at which the zone's clock shows `time`; where
/// it is jumped over, as much later as the clock jumps.
fn next_showing(time: NaiveTime, zone: Zone, now: Instant) -> Instant {
    let today = zone.local(now).date_naive();
    today
        .iter_days()
        .map(|day| zone.instant(day.and_time(time)).at)
        .find(|at| *at > now)
        .unwrap_or(now)
}

fn chat(address: &str) -> Chat {
    Chat {
        channel: CHANNEL.into(),
        address: address.into(),
    }
}

fn remove(file: &Path) {
    for end in ["", "-wal", "-shm"] {
        let mut name = file.as_os_str().to_owned();
        name.push(end);
        // What is not there need not be removed.
        let _ = std::fs::remove_file(PathBuf::from(name));
    }
}

impl Running {
    fn arrive(&mut self, address: &str, body: Body) -> Arrival {
        self.arrivals += 1;
        Arrival {
            external_id: format!("story {}", self.arrivals),
            address: address.into(),
            sender: None,
            sender_id: None,
            reply_to: None,
            body,
        }
    }

    async fn pass_until(&self, clock: &ManualClock, until: Instant) -> anyhow::Result<()> {
        let mut now = self.engine.now();
        loop {
            match self.engine.step(now).await?.next {
                Some(next) if next <= until => now = next,
                _ => break,
            }
            clock.set(now);
        }
        clock.set(until);
        self.engine.step(until).await?;
        Ok(())
    }

    /// To the next instant at which the program says something.
    async fn pass_to_next(&self, clock: &ManualClock) -> anyhow::Result<()> {
        for _ in 0..SILENT_STEPS {
            let Some(next) = self.engine.step(self.engine.now()).await?.next else {
                return Ok(());
            };
            clock.set(next);
            if !self.engine.step(next).await?.delivered.is_empty() {
                return Ok(());
            }
        }
        Ok(())
    }
}

impl Inbox for Demo {
    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        Box::pin(async move {
            let running = self.running.lock().await;
            running.engine.accept(channel, batch).await?;
            running.engine.step(running.engine.now()).await?;
            Ok(())
        })
    }
}

impl Stage for Demo {
    fn now(&self) -> Shown {
        shown(&self.clock, &self.scene)
    }

    fn jump(&self, to: Jump) -> BoxFuture<'_, anyhow::Result<()>> {
        Box::pin(async move {
            let running = self.running.lock().await;
            let now = running.engine.now();
            match to {
                Jump::NextEvent => running.pass_to_next(&self.clock).await?,
                Jump::Hour => {
                    running
                        .pass_until(&self.clock, now + TimeDelta::hours(1))
                        .await?
                }
                Jump::Day => {
                    running
                        .pass_until(&self.clock, now + TimeDelta::hours(24))
                        .await?
                }
                Jump::Until(time) => {
                    let zone = self.scene().zone;
                    running
                        .pass_until(&self.clock, next_showing(time, zone, now))
                        .await?
                }
            }
            self.channel.show_clock();
            Ok(())
        })
    }

    fn situation(&self, name: &str, language: Language) -> BoxFuture<'_, anyhow::Result<()>> {
        let found = SITUATIONS.iter().find(|situation| situation.name == name);
        Box::pin(async move {
            let situation = found.context("there is no such situation")?;
            let mut running = self.running.lock().await;
            self.channel.start_again();
            let number = running.number + 1;
            let old = running.file.clone();
            let opening = Opening {
                situation,
                language,
            };
            *running = set_up(
                opening,
                &self.channel,
                &self.clock,
                &self.scene,
                &self.folder,
                number,
            )
            .await?;
            remove(&old);
            self.channel.show_clock();
            Ok(())
        })
    }

    fn truth(&self) -> BoxFuture<'_, anyhow::Result<serde_json::Value>> {
        Box::pin(async move {
            let running = self.running.lock().await;
            let household = running.engine.household(running.household).await?;
            let household = household.context("the household is gone")?;
            let journal = running.engine.journal(running.household).await?;
            Ok(truth::truth(
                &household,
                &journal,
                running.engine.policy(),
                running.engine.now(),
            ))
        })
    }

    fn people(&self) -> Vec<Person> {
        let scene = self.scene();
        vec![
            Person {
                address: OWNER.into(),
                name: scene.owner.clone(),
                signs: scene.owner.clone(),
                role: Role::Owner,
                language: scene.language,
            },
            Person {
                address: CLINIC.into(),
                name: Config::built_in().policy.clinic.name,
                signs: TECHNICIAN.into(),
                role: Role::Clinic,
                language: Language::English,
            },
        ]
    }

    fn situations(&self) -> Vec<(String, String)> {
        SITUATIONS
            .iter()
            .map(|s| (s.name.to_owned(), s.title.to_owned()))
            .collect()
    }
}

impl Drop for Demo {
    fn drop(&mut self) {
        remove(&self.running.get_mut().file);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// America/Denver goes from 02:00 to 03:00 on 2026-03-08 (IANA tz database).
    #[test]
    fn the_clock_is_set_to_a_time_that_is_still_to_come() {
        let zone = Zone::named("America/Denver").unwrap();
        let at = |text: &str| text.parse::<Instant>().unwrap();
        let shown = |hour, minute| NaiveTime::from_hms_opt(hour, minute, 0).unwrap();
        for (now, time, next) in [
            (
                "2026-03-06T07:30:00-07:00",
                shown(7, 31),
                "2026-03-06T07:31:00-07:00",
            ),
            (
                "2026-03-06T07:30:00-07:00",
                shown(7, 30),
                "2026-03-07T07:30:00-07:00",
            ),
            (
                "2026-03-07T19:30:00-07:00",
                shown(7, 30),
                "2026-03-08T07:30:00-06:00",
            ),
            (
                "2026-03-07T19:30:00-07:00",
                shown(2, 30),
                "2026-03-08T03:30:00-06:00",
            ),
        ] {
            assert_eq!(next_showing(time, zone, at(now)), at(next), "{now} {time}");
        }
    }
}
