//! A clinic on disk with many households, and the engine that serves it.

use super::homes;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::Instant;
use vialbell::channel::telegram::{TelegramChannel, Token};
use vialbell::channel::{Channel, Inbox};
use vialbell::clock::Clock;
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::household::Chat;
use vialbell::engine::{Confirmation, Engine};
use vialbell::store::Store;
use vialbell::wording::Wording;

pub const TOKEN: &str = "123456789:AAinvented";
/// When the first dose is due, of every household that is due on this day.
pub const DUE: &str = "2026-03-06T02:30:00Z";
/// The chats of owners are numbered from here; household 1 writes from the first.
pub const FIRST_CHAT: i64 = 1_000_001;
/// The clinic's chat.
pub const GROUP: i64 = -5;
pub const DAY_MS: i64 = 86_400_000;

const ORDER: &str = r#"
[patient]
name = "Juniper"
species = "dog"
weight_kg = "30"
[owner]
name = "Maren Oakhollow"
language = "en"
zone = "America/Denver"
[prescription]
product = "tarnmoss"
dose = "1.5 mL"
times = ["07:30", "19:30"]
first = 2026-03-05T19:30
days = 14
veterinarian = "Dr. Idris Fennimore"
"#;

pub fn at(text: &str) -> vialbell::domain::Instant {
    text.parse().unwrap()
}

/// A clock that can be set and then runs on.
pub struct Running(Mutex<(vialbell::domain::Instant, Instant)>);

impl Running {
    pub fn set(&self, start: vialbell::domain::Instant) {
        *self.0.lock().unwrap() = (start, Instant::now());
    }
}

impl Clock for Running {
    fn now(&self) -> vialbell::domain::Instant {
        let (start, since) = *self.0.lock().unwrap();
        let since = i64::try_from(since.elapsed().as_millis()).unwrap();
        start + chrono::TimeDelta::milliseconds(since)
    }
}

pub struct Clinic {
    pub engine: Arc<Engine>,
    pub telegram: Arc<TelegramChannel>,
    pub clock: Arc<Running>,
}

impl Clinic {
    pub async fn open(url: &str, api: &str) -> Clinic {
        let config = Config::built_in();
        let telegram = TelegramChannel::new(Token::parse(TOKEN).unwrap(), Some(api)).unwrap();
        let telegram = Arc::new(telegram);
        let channels: Vec<Arc<dyn Channel>> = vec![telegram.clone()];
        let start = at("2026-03-06T02:00:00Z");
        let clock = Arc::new(Running(Mutex::new((start, Instant::now()))));
        let engine = Engine::new(
            Store::open(url).await.unwrap(),
            Wording::load().unwrap(),
            config.policy,
            config.formulary,
            channels,
            clock.clone(),
        );
        engine.set_pace(1_000_000);
        Clinic {
            engine: Arc::new(engine),
            telegram,
            clock,
        }
    }
}

/// Fills a database: so many households, each with a mixed vial; the first `due`
/// of them have a dose at [`DUE`], the others a day later.
pub async fn fill(url: &str, api: &str, count: i64, due: i64) {
    let clinic = Clinic::open(url, api).await;
    let config = Config::built_in();
    let order = parse_prescription(ORDER, &config.formulary, &["en", "es"]).unwrap();
    let now = clinic.engine.now();
    let engine = &clinic.engine;
    engine.bind_clinic_chat(&chat(GROUP)).await.unwrap();
    let made = engine
        .enrol(&order, None, "bench", Confirmation::Counted, now)
        .await
        .unwrap();
    engine
        .join(made.household, 1, chat(FIRST_CHAT), now)
        .await
        .unwrap();
    engine.step(now).await.unwrap();
    let mixed = Arrival {
        external_id: "1".into(),
        address: FIRST_CHAT.to_string(),
        sender: None,
        sender_id: None,
        reply_to: None,
        body: Body::Text("mixed".into()),
    };
    engine.accept("telegram", vec![mixed]).await.unwrap();
    let later = now + chrono::TimeDelta::minutes(1);
    engine.step(later).await.unwrap();
    engine.note_zone_rules(now).await.unwrap();
    drop(clinic);
    homes::multiply(url, count).await;
    homes::only_due(url, due, DAY_MS).await;
}

fn chat(number: i64) -> Chat {
    Chat {
        channel: "telegram".into(),
        address: number.to_string(),
    }
}

/// A SQLite database as it is before each run, and copies of it to run on.
pub struct Filled {
    file: PathBuf,
    copies: u32,
}

impl Filled {
    pub async fn new(api: &str, count: i64, due: i64) -> Filled {
        let name = format!("vialbell-load-{}-{count}.db", std::process::id());
        let file = std::env::temp_dir().join(name);
        let begun = Instant::now();
        fill(&url(&file), api, count, due).await;
        let megabytes = std::fs::metadata(&file).unwrap().len() / 1_000_000;
        eprintln!(
            "{count} households on disk ({megabytes} MB) after {:.1?}",
            begun.elapsed()
        );
        Filled { file, copies: 0 }
    }

    /// A copy that has been read once: what is measured is the program, not the disk.
    pub fn copy(&mut self) -> Copied {
        self.copies += 1;
        let file = PathBuf::from(format!("{}-{}", self.file.display(), self.copies));
        std::fs::copy(&self.file, &file).unwrap();
        Copied(file)
    }
}

impl Drop for Filled {
    fn drop(&mut self) {
        remove(&self.file);
    }
}

/// One copy, gone at the end.
pub struct Copied(PathBuf);

impl Copied {
    pub fn url(&self) -> String {
        url(&self.0)
    }
}

impl Drop for Copied {
    fn drop(&mut self) {
        remove(&self.0);
    }
}

fn url(file: &Path) -> String {
    format!("sqlite:{}", file.display())
}

fn remove(file: &Path) {
    for end in ["", "-wal", "-shm", "-alone"] {
        let _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
}
