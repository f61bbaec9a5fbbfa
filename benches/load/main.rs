//! The program under load, against a Bot API on loopback, each figure beside a
//! baseline of the same run. `cargo bench --bench load` prints the table;
//! `cargo bench --bench load -- reminders messages` only those rows.
//! VIALBELL_HOMES sets how many households are on disk (20,000; the figures in
//! README are with 1,000,000).

#![allow(clippy::disallowed_methods)] // A benchmark looks at the clock.

mod homes;
mod stub;

use serde_json::json;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::{Duration, Instant};
use stub::Stub;
use teloxide::prelude::*;
use tokio::sync::watch;
use vialbell::channel::Channel;
use vialbell::channel::telegram::{TelegramChannel, Token};
use vialbell::clock::Clock;
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::household::Chat;
use vialbell::engine::{Confirmation, Engine};
use vialbell::store::Store;
use vialbell::wording::Wording;

const TOKEN: &str = "123456789:AAinvented";
const DUE: &str = "2026-03-06T02:30:00Z";
const AT_ONCE: i64 = 20_000;
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

struct Row {
    name: &'static str,
    measured: String,
    baseline: String,
}

fn at(text: &str) -> vialbell::domain::Instant {
    text.parse().unwrap()
}

/// A clock that can be set and then runs on.
struct Running(std::sync::Mutex<(vialbell::domain::Instant, Instant)>);

impl Running {
    fn from(start: vialbell::domain::Instant) -> Running {
        Running(std::sync::Mutex::new((start, Instant::now())))
    }

    fn set(&self, start: vialbell::domain::Instant) {
        *self.0.lock().unwrap() = (start, Instant::now());
    }
}

impl Clock for Running {
    fn now(&self) -> vialbell::domain::Instant {
        let (start, since) = *self.0.lock().unwrap();
        start + chrono::TimeDelta::from_std(since.elapsed()).unwrap()
    }
}

struct Clinic {
    file: PathBuf,
    engine: Arc<Engine>,
    telegram: Arc<TelegramChannel>,
    clock: Arc<Running>,
}

impl Clinic {
    fn url(file: &std::path::Path) -> String {
        format!("sqlite:{}", file.display())
    }

    async fn open(file: PathBuf, stub: &Stub) -> Clinic {
        let config = Config::built_in();
        let telegram = TelegramChannel::new(Token::parse(TOKEN).unwrap(), Some(&stub.url)).unwrap();
        let telegram = Arc::new(telegram);
        let channels: Vec<Arc<dyn Channel>> = vec![telegram.clone()];
        let clock = Arc::new(Running::from(at("2026-03-06T02:00:00Z")));
        let store = Store::open(&Self::url(&file)).await.unwrap();
        let engine = Engine::new(
            store,
            Wording::load().unwrap(),
            config.policy,
            config.formulary,
            channels,
            clock.clone(),
        );
        engine.set_pace(100_000);
        Clinic {
            file,
            engine: Arc::new(engine),
            telegram,
            clock,
        }
    }

    /// A file with so many households, each with a mixed vial and a dose at [`DUE`].
    async fn with_homes(stub: &Stub, count: i64) -> Clinic {
        let file = std::env::temp_dir().join(format!("vialbell-load-{}.db", std::process::id()));
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", file.display()));
        }
        let clinic = Clinic::open(file.clone(), stub).await;
        let config = Config::built_in();
        let order = parse_prescription(ORDER, &config.formulary, &["en", "es"]).unwrap();
        let now = clinic.engine.now();
        let engine = &clinic.engine;
        let made = engine
            .enrol(&order, None, "bench", Confirmation::Counted, now)
            .await
            .unwrap();
        let chat = Chat {
            channel: "telegram".into(),
            address: "1000001".into(),
        };
        engine.join(made.household, 1, chat, now).await.unwrap();
        engine.step(now).await.unwrap();
        accept(engine, &[(1, "mixed".to_owned(), 1_000_001)]).await;
        engine
            .step(now + chrono::TimeDelta::minutes(1))
            .await
            .unwrap();
        drop(clinic);
        let begun = Instant::now();
        homes::multiply(&Self::url(&file), count).await;
        eprintln!("{count} households on disk after {:.1?}", begun.elapsed());
        Clinic::open(file, stub).await
    }
}

async fn accept(engine: &Arc<Engine>, texts: &[(i64, String, i64)]) {
    use vialbell::channel::Inbox;
    use vialbell::domain::arrival::{Arrival, Body};
    let arrival = |(id, text, chat): &(i64, String, i64)| Arrival {
        external_id: id.to_string(),
        address: chat.to_string(),
        sender: None,
        sender_id: None,
        reply_to: None,
        body: Body::Text(text.clone()),
    };
    let batch = texts.iter().map(arrival).collect();
    engine.accept("telegram", batch).await.unwrap();
}

/// The loops of `serve`, until so many messages have arrived; gives how long it took.
async fn run(clinic: &Clinic, stub: &Stub, receive: bool, expected: usize) -> Duration {
    let (stop, stopped) = watch::channel(false);
    let begun = Instant::now();
    let serving = vialbell::serve::work(clinic.engine.clone(), stopped.clone());
    let receiving = {
        let (telegram, engine, stopped) = (clinic.telegram.clone(), clinic.engine.clone(), stopped);
        async move {
            if receive {
                telegram.receive(engine.as_ref(), stopped).await;
            }
        }
    };
    let tasks = [tokio::spawn(serving), tokio::spawn(receiving)];
    let mut silent = Instant::now();
    let mut before = 0;
    while stub.sent() < expected {
        tokio::time::sleep(Duration::from_millis(2)).await;
        if stub.sent() != before {
            (before, silent) = (stub.sent(), Instant::now());
        }
        assert!(
            silent.elapsed() < Duration::from_secs(30),
            "stuck at {before} of {expected}"
        );
    }
    let took = begun.elapsed();
    // Whatever would be sent twice is sent by then.
    tokio::time::sleep(Duration::from_millis(500)).await;
    stop.send(true).unwrap();
    for task in tasks {
        task.await.unwrap();
    }
    took
}

/// Sends by teloxide and nothing else, as many at a time as the program has in flight.
async fn bare_sends(stub: &Stub, count: i64) -> Duration {
    use futures_util::StreamExt;
    let bot = Bot::new(TOKEN).set_api_url(stub.url.parse().unwrap());
    let begun = Instant::now();
    futures_util::stream::iter(0..count)
        .for_each_concurrent(256, |n| {
            let bot = bot.clone();
            async move {
                bot.send_message(ChatId(1_000_001 + n), "Juniper: dose due")
                    .await
                    .unwrap();
            }
        })
        .await;
    begun.elapsed()
}

/// Asks for updates and commits each batch by one statement: no decision, no answer.
async fn bare_commits(stub: &Stub, count: usize) -> Duration {
    use sqlx::{AnyConnection, Connection};
    let file = std::env::temp_dir().join(format!("vialbell-bare-{}.db", std::process::id()));
    let _ = std::fs::remove_file(&file);
    let url = format!("sqlite:{}?mode=rwc", file.display());
    let mut db = AnyConnection::connect(&url).await.unwrap();
    for sql in [
        "pragma journal_mode = wal",
        "pragma synchronous = full",
        "create table heard (id integer primary key, body text not null)",
    ] {
        sqlx::query(sql).fetch_all(&mut db).await.unwrap();
    }
    let bot = Bot::new(TOKEN).set_api_url(stub.url.parse().unwrap());
    let begun = Instant::now();
    let (mut heard, mut offset) = (0, 0);
    while heard < count {
        let batch = bot.get_updates().offset(offset).limit(100).await.unwrap();
        let bodies: Vec<String> = batch
            .iter()
            .map(|update| format!("{:?}", update.kind))
            .collect();
        sqlx::query("insert into heard (body) select value from json_each($1)")
            .bind(serde_json::to_string(&bodies).unwrap())
            .execute(&mut db)
            .await
            .unwrap();
        heard += batch.len();
        offset = batch
            .last()
            .map_or(offset, |update| i32::try_from(update.id.0).unwrap() + 1);
    }
    let took = begun.elapsed();
    let _ = std::fs::remove_file(&file);
    took
}

fn texts(stub: &Stub, count: i64, first: i64) {
    let says = [
        "how much is left?",
        "when is the next dose?",
        "given",
        "how many doses are left?",
    ];
    let mut seen = stub.seen.lock().unwrap();
    for n in 0..count {
        let chat = 1_000_001 + n;
        let text = says[usize::try_from(n).unwrap() % says.len()];
        seen.updates.push_back(json!({
            "update_id": first + n,
            "message": {
                "message_id": n + 1, "date": 1_770_000_000, "text": text,
                "chat": {"id": chat, "type": "private", "first_name": "Maren"},
                "from": {"id": chat, "is_bot": false, "first_name": "Maren"},
            },
        }));
    }
}

fn each_second(count: i64, took: Duration) -> i64 {
    let nanoseconds = i64::try_from(took.as_nanos()).unwrap().max(1);
    i64::try_from(i128::from(count) * 1_000_000_000 / i128::from(nanoseconds)).unwrap()
}

fn hundredths(part: i64, whole: i64) -> String {
    let hundredths = part * 100 / whole.max(1);
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}

/// Resident memory of this process in KiB, as Linux tells it; the highest so far.
fn peak_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let number = line.and_then(|line| line.trim().split(' ').next());
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}

/// CPU time of this process so far, in clock ticks of 10 ms and their parts (`/proc/self/stat`).
fn cpu_ms() -> u64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat
        .rsplit(')')
        .next()
        .unwrap_or("")
        .split_whitespace()
        .collect();
    let ticks = |at: usize| {
        fields
            .get(at)
            .and_then(|f| f.parse::<u64>().ok())
            .unwrap_or(0)
    };
    (ticks(11) + ticks(12)) * 10
}

async fn reminders(clinic: &Clinic, stub: &Stub) -> Row {
    let bare = each_second(AT_ONCE, bare_sends(stub, AT_ONCE).await);
    stub.forget();
    clinic.clock.set(at(DUE));
    let expected = usize::try_from(AT_ONCE).unwrap();
    let took = run(clinic, stub, false, expected).await;
    let mut chats: Vec<i64> = stub
        .seen
        .lock()
        .unwrap()
        .sent
        .iter()
        .map(|(_, chat)| *chat)
        .collect();
    let sent = chats.len();
    chats.sort_unstable();
    chats.dedup();
    assert_eq!(
        (sent, chats.len()),
        (expected, expected),
        "none lost, none doubled"
    );
    let measured = each_second(AT_ONCE, took);
    Row {
        name: "due reminders, whole path, 20,000 at once",
        measured: format!("{measured}/s"),
        baseline: format!(
            "bare teloxide sends {bare}/s, ratio {}",
            hundredths(measured, bare)
        ),
    }
}

async fn messages(clinic: &Clinic, stub: &Stub) -> Row {
    texts(stub, AT_ONCE, 5_000_000);
    let bare = each_second(
        AT_ONCE,
        bare_commits(stub, usize::try_from(AT_ONCE).unwrap()).await,
    );
    stub.forget();
    stub.seen.lock().unwrap().updates.clear();
    texts(stub, AT_ONCE, 6_000_000);
    clinic.clock.set(at(DUE) + chrono::TimeDelta::minutes(5));
    let took = run(clinic, stub, true, usize::try_from(AT_ONCE).unwrap()).await;
    let measured = each_second(AT_ONCE, took);
    Row {
        name: "owners' messages, whole path, one reply each",
        measured: format!("{measured}/s"),
        baseline: format!(
            "bare one-commit-a-batch loop {bare}/s, ratio {}",
            hundredths(measured, bare)
        ),
    }
}

async fn start(file: PathBuf, stub: &Stub) -> Row {
    stub.forget();
    let begun = Instant::now();
    let clinic = Clinic::open(file, stub).await;
    clinic.clock.set(at(DUE));
    let opened = begun.elapsed();
    let (stop, stopped) = watch::channel(false);
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    while stub.sent() == 0 {
        tokio::time::sleep(Duration::from_micros(200)).await;
    }
    let first = begun.elapsed();
    stop.send(true).unwrap();
    serving.await.unwrap();
    Row {
        name: "start until the first due reminder has arrived",
        measured: format!("{first:.1?} (opened after {opened:.1?})"),
        baseline: String::new(),
    }
}

/// 900 due at once at a platform that takes 30 a second and one a second in a
/// chat; in the middle an owner writes words of danger.
async fn lateness(clinic: &Clinic, stub: &Stub) -> Row {
    const LATE: i64 = 900;
    let group = Chat {
        channel: "telegram".into(),
        address: "-5".into(),
    };
    clinic.engine.bind_clinic_chat(&group).await.unwrap();
    clinic.engine.set_pace(29);
    stub.keep_limits(30);
    stub.forget();
    clinic.clock.set(at(DUE));
    let begun = Instant::now();
    let (stop, stopped) = watch::channel(false);
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    tokio::time::sleep(Duration::from_secs(15)).await;
    let raised = Instant::now();
    let danger = (9_000_001, "she collapsed".into(), 1_000_001);
    accept(&clinic.engine, &[danger]).await;
    // 900 reminders, the emergency's two messages.
    let expected = usize::try_from(LATE).unwrap() + 2;
    while stub.sent() < expected {
        assert!(
            begun.elapsed() < Duration::from_secs(60),
            "stuck at {}",
            stub.sent()
        );
        tokio::time::sleep(Duration::from_millis(5)).await;
    }
    stop.send(true).unwrap();
    serving.await.unwrap();
    let seen = stub.seen.lock().unwrap();
    let alert = seen.sent.iter().find(|(_, chat)| *chat == -5).unwrap().0;
    let mut late: Vec<Duration> = seen.sent.iter().map(|(when, _)| *when - begun).collect();
    late.sort_unstable();
    let p99 = late[late.len() * 99 / 100];
    let ideal = Duration::from_secs(1) * u32::try_from(late.len() * 99 / 100).unwrap() / 30;
    let ratio = hundredths(
        i64::try_from(p99.as_millis()).unwrap(),
        i64::try_from(ideal.as_millis()).unwrap(),
    );
    Row {
        name: "lateness at a strict 30/s and 1/s a chat, 900 due at once, p99",
        measured: format!(
            "{p99:.2?}, {} refused, an alert in the middle after {:.0?}",
            seen.refused,
            alert - raised
        ),
        baseline: format!("ideal {ideal:.2?}, ratio {ratio}"),
    }
}

async fn quiet(clinic: &Clinic) -> Row {
    clinic.clock.set(at("2026-03-06T02:10:00Z"));
    let (stop, stopped) = watch::channel(false);
    let before = cpu_ms();
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    tokio::time::sleep(Duration::from_secs(60)).await;
    let spent = cpu_ms() - before;
    stop.send(true).unwrap();
    serving.await.unwrap();
    Row {
        name: "CPU of a quiet minute",
        measured: format!("{spent} ms (in steps of 10)"),
        baseline: String::new(),
    }
}

#[tokio::main]
async fn main() {
    sqlx::any::install_default_drivers();
    let asked: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| !a.starts_with('-'))
        .collect();
    let wanted = |name: &str| asked.is_empty() || asked.iter().any(|a| a == name);
    let count: i64 = std::env::var("VIALBELL_HOMES")
        .ok()
        .and_then(|count| count.parse().ok())
        .unwrap_or(AT_ONCE);
    let stub = Stub::start().await;
    let mut rows = Vec::new();
    let clinic = Clinic::with_homes(&stub, count).await;
    let day = 86_400_000;
    homes::only_due(&Clinic::url(&clinic.file), AT_ONCE, day).await;
    if wanted("quiet") {
        rows.push(quiet(&clinic).await);
    }
    let file = clinic.file.clone();
    if wanted("start") {
        drop(clinic);
        rows.push(start(file.clone(), &stub).await);
    } else {
        drop(clinic);
    }
    // The start above has sent some of what was due: begin afresh.
    if wanted("reminders") || wanted("messages") {
        let clinic = Clinic::with_homes(&stub, count).await;
        homes::only_due(&Clinic::url(&clinic.file), AT_ONCE, day).await;
        if wanted("reminders") {
            rows.push(reminders(&clinic, &stub).await);
        }
        if wanted("messages") {
            rows.push(messages(&clinic, &stub).await);
        }
    }
    if wanted("lateness") {
        let clinic = Clinic::with_homes(&stub, 900).await;
        rows.push(lateness(&clinic, &stub).await);
    }
    println!(
        "households on disk: {count}; highest memory of driver, stub and program together: {} MiB",
        peak_kib() / 1024
    );
    println!("| what | measured | baseline of the same run |\n|---|---|---|");
    for row in rows {
        println!("| {} | {} | {} |", row.name, row.measured, row.baseline);
    }
    for end in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
}
