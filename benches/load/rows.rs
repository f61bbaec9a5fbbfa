//! The rows of the table.

use super::clinic::{Clinic, DAY_MS, DUE, FIRST_CHAT, Filled, GROUP, at, fill};
use super::program::Program;
use super::stub::Stub;
use super::{bare, homes, postgres};
use serde_json::{Value, json};
use std::collections::{BTreeMap, VecDeque};
use std::time::{Duration, Instant};
use vialbell::domain::household::Household;
use vialbell::domain::zone;

/// Reminders that are due in one minute, and messages that wait.
pub const AT_ONCE: i64 = 20_000;
/// As good as no limit: more messages a second than any machine sends.
const NO_LIMIT: u32 = 1_000_000;

pub struct Row {
    pub what: String,
    pub measured: String,
    pub baseline: String,
}

/// Waits until so many messages have arrived.
pub async fn arrived(stub: &Stub, expected: usize) {
    let mut silent = Instant::now();
    let mut before = 0;
    while stub.sent() < expected {
        tokio::time::sleep(Duration::from_millis(1)).await;
        if stub.sent() != before {
            (before, silent) = (stub.sent(), Instant::now());
        }
        assert!(
            silent.elapsed() < Duration::from_secs(30),
            "stuck at {before} of {expected}"
        );
    }
}

/// Due reminders through the whole path; gives how long it took and the most memory, in KiB.
pub async fn remind(stub: &Stub, url: &str, count: i64) -> (Duration, u64) {
    stub.forget();
    let expected = usize::try_from(count).unwrap();
    let mut program = Program::start(url, &stub.url, DUE, NO_LIMIT);
    program.ready();
    let begun = Instant::now();
    arrived(stub, expected).await;
    let took = begun.elapsed();
    // Whatever would be sent twice is sent by then.
    tokio::time::sleep(Duration::from_millis(300)).await;
    let peak = program.end();
    let mut chats = stub.chats();
    chats.sort_unstable();
    let sent = chats.len();
    chats.dedup();
    let once = (sent, chats.len()) == (expected, expected);
    assert!(once, "none lost, none doubled: {sent} in {}", chats.len());
    (took, peak)
}

/// How long it takes to send as often what the first chat was told.
async fn bare_sends(stub: &Stub, count: i64) -> Duration {
    let words = stub.said(1);
    stub.forget();
    let mut bare = Program::called(&[bare::SENDS, &stub.url, &count.to_string(), &words]);
    bare.ready();
    let begun = Instant::now();
    arrived(stub, usize::try_from(count).unwrap()).await;
    let took = begun.elapsed();
    bare.done();
    bare.end();
    took
}

pub async fn reminders(stub: &Stub, filled: &mut Filled, runs: usize) -> Vec<Row> {
    let (mut ours, mut theirs, mut peaks) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..runs {
        let copy = filled.copy();
        let (took, peak) = remind(stub, &copy.url(), AT_ONCE).await;
        ours.push(each_second(AT_ONCE, took));
        peaks.push(i64::try_from(peak / 1024).unwrap());
        theirs.push(each_second(AT_ONCE, bare_sends(stub, AT_ONCE).await));
    }
    let (ours, theirs) = (median(ours), median(theirs));
    vec![
        Row {
            what: format!("due reminders, whole path, {AT_ONCE} at once"),
            measured: format!("{ours}/s"),
            baseline: format!(
                "bare teloxide sends {theirs}/s, ratio {}",
                hundredths(ours, theirs)
            ),
        },
        Row {
            what: "most resident memory while they are sent".into(),
            measured: format!("{} MiB", median(peaks)),
            baseline: String::new(),
        },
    ]
}

/// What the parts of the path cost by themselves: deciding with its commits, then sending.
pub async fn parts(stub: &Stub, filled: &mut Filled) -> Row {
    let copy = filled.copy();
    stub.forget();
    let clinic = Clinic::open(&copy.url(), &stub.url).await;
    clinic.clock.set(at(DUE));
    let begun = Instant::now();
    clinic.engine.think(at(DUE)).await.unwrap();
    let decided = each_second(AT_ONCE, begun.elapsed());
    let begun = Instant::now();
    clinic
        .engine
        .deliver(clinic.engine.now(), &mut |_| {})
        .await
        .unwrap();
    let sent = each_second(i64::try_from(stub.sent()).unwrap(), begun.elapsed());
    Row {
        what: "the parts of it one after the other".into(),
        measured: format!("decided {decided}/s, sent {sent}/s"),
        baseline: String::new(),
    }
}

pub async fn messages(stub: &Stub, filled: &mut Filled, runs: usize) -> Row {
    let count = usize::try_from(AT_ONCE).unwrap();
    let mut ours = Vec::new();
    let mut theirs = [const { Vec::new() }; 3];
    for _ in 0..runs {
        let copy = filled.copy();
        stub.forget();
        // Ten minutes before anything is due.
        let now = "2026-03-06T02:20:00Z";
        let mut program = Program::start(&copy.url(), &stub.url, now, NO_LIMIT);
        program.ready();
        let begun = stub.hear(written(stub, AT_ONCE));
        arrived(stub, count).await;
        ours.push(each_second(AT_ONCE, begun.elapsed()));
        tokio::time::sleep(Duration::from_millis(300)).await;
        program.end();
        assert_eq!(stub.sent(), count, "one reply each");
        let replies = stub.said(OWNERS_SAY.len());
        let loops = [
            [NOTHING, bare::ASKS_MEANWHILE],
            [&replies, bare::ASKS_MEANWHILE],
            [&replies, bare::ANSWERS_FIRST],
        ];
        for (theirs, how) in theirs.iter_mut().zip(loops) {
            theirs.push(each_second(AT_ONCE, bare_loop(stub, AT_ONCE, how)));
        }
    }
    let ours = median(ours);
    let beside = |theirs| {
        let theirs = median(theirs);
        format!("{theirs}/s, ratio {}", hundredths(ours, theirs))
    };
    let [silent, meanwhile, first] = theirs.map(beside);
    Row {
        what: format!("owners' messages, whole path, one reply each, {AT_ONCE} waiting"),
        measured: format!("{ours}/s"),
        baseline: format!(
            "bare loop of one commit a batch that answers before it asks again {first}; \
             that asks while it answers {meanwhile}; that answers nothing {silent}",
        ),
    }
}

/// How long a bare loop takes over as many updates, with these replies or none in this way.
fn bare_loop(stub: &Stub, count: i64, [replies, way]: [&str; 2]) -> Duration {
    stub.forget();
    let updates = count.to_string();
    let mut bare = Program::called(&[bare::LOOP, &stub.url, &updates, replies, way]);
    bare.ready();
    let begun = stub.hear(written(stub, count));
    bare.done();
    let took = begun.elapsed();
    bare.end();
    let expected = if replies == NOTHING { 0 } else { count };
    assert_eq!(i64::try_from(stub.sent()).unwrap(), expected);
    took
}

/// No words to answer with.
const NOTHING: &str = "[]";

/// What owners ask and record, one after the other.
const OWNERS_SAY: [&str; 4] = [
    "how much is left?",
    "when is the next dose?",
    "mixed a new vial",
    "how many doses are left?",
];

/// One text in each chat.
fn written(stub: &Stub, count: i64) -> VecDeque<Value> {
    let numbers = stub.numbers_of_updates(count);
    let texts = OWNERS_SAY.into_iter().cycle();
    let each = numbers.zip(FIRST_CHAT..).zip(texts);
    each.map(|((number, chat), text)| update(number, chat, text))
        .collect()
}

pub fn update(id: i64, chat: i64, text: &str) -> Value {
    json!({
        "update_id": id,
        "message": {
            "message_id": id, "date": 1_770_000_000, "text": text,
            "chat": {"id": chat, "type": "private", "first_name": "Maren"},
            "from": {"id": chat, "is_bot": false, "first_name": "Maren"},
        },
    })
}

/// From the start of the process until the first due reminder has arrived; the
/// file has been read before.
pub async fn first_reminder(stub: &Stub, url: &str) -> Duration {
    stub.forget();
    let begun = Instant::now();
    let program = Program::start(url, &stub.url, DUE, NO_LIMIT);
    while stub.sent() == 0 {
        tokio::time::sleep(Duration::from_micros(200)).await;
    }
    let first = begun.elapsed();
    drop(program);
    // What it had written to the line is taken by then, and not for the next one's.
    tokio::time::sleep(Duration::from_millis(200)).await;
    first
}

pub async fn start(stub: &Stub, filled: &mut Filled, runs: usize) -> Row {
    let copy = filled.copy();
    let mut firsts = Vec::new();
    for _ in 0..runs {
        let first = first_reminder(stub, &copy.url()).await;
        firsts.push(i64::try_from(first.as_micros()).unwrap());
    }
    let first = median(firsts);
    Row {
        what: "start of the process until the first due reminder has arrived".into(),
        measured: format!("{}.{} ms", first / 1_000, first % 1_000 / 100),
        baseline: String::new(),
    }
}

/// Processor time of one minute in which nothing is due, in microseconds.
pub async fn quiet_minute(stub: &Stub, url: &str) -> u64 {
    let mut program = Program::start(url, &stub.url, "2026-03-06T02:10:00Z", NO_LIMIT);
    program.ready();
    tokio::time::sleep(Duration::from_secs(2)).await;
    let before = program.cpu_us();
    tokio::time::sleep(Duration::from_secs(60)).await;
    let spent = program.cpu_us() - before;
    program.end();
    spent
}

pub async fn quiet(stub: &Stub, filled: &mut Filled) -> Row {
    let copy = filled.copy();
    let spent = quiet_minute(stub, &copy.url()).await;
    Row {
        what: "processor time of a quiet minute, polling included".into(),
        measured: format!("{}.{} ms", spent / 1_000, spent % 1_000 / 100),
        baseline: String::new(),
    }
}

/// 900 due at once at a platform that takes 30 a second and one a second in a
/// chat, and is so far away; in the middle an owner writes words of danger.
pub async fn lateness(round_trip: Duration) -> Row {
    const LATE: i64 = 900;
    let stub = Stub::start().await;
    let mut filled = Filled::new(&stub.url, LATE, LATE).await;
    let copy = filled.copy();
    stub.forget();
    stub.keep_limits(30);
    stub.take_time(round_trip);
    let mut program = Program::start(&copy.url(), &stub.url, DUE, 29);
    program.ready();
    let begun = Instant::now();
    tokio::time::sleep(Duration::from_secs(15)).await;
    let raised = Instant::now();
    {
        let mut seen = stub.seen.lock().unwrap();
        let danger = update(1, FIRST_CHAT, "she collapsed");
        seen.updates.push_back(danger);
    }
    // 900 reminders, the emergency's answer and its alert.
    arrived(&stub, usize::try_from(LATE).unwrap() + 2).await;
    program.end();
    let seen = stub.seen.lock().unwrap();
    let alert = seen.sent.iter().find(|(_, chat)| *chat == GROUP).unwrap().0;
    let mut late: Vec<Duration> = seen.sent.iter().map(|(when, _)| *when - begun).collect();
    late.sort_unstable();
    let place = late.len() * 99 / 100;
    let ideal = Duration::from_secs(1) * u32::try_from(place).unwrap() / 30;
    let of = |duration: Duration| i64::try_from(duration.as_millis()).unwrap();
    Row {
        what: format!(
            "lateness at a strict 30/s and 1/s a chat, {round_trip:?} there and back, 900 due at once, p99"
        ),
        measured: format!(
            "{:.2?}, {} refused; an alert in the middle after {:.0?}",
            late[place],
            seen.refused,
            alert - raised
        ),
        baseline: format!(
            "ideal {ideal:.2?}, ratio {}",
            hundredths(of(late[place]), of(ideal))
        ),
    }
}

/// New rules for the zone in which everybody lives (British Columbia, which by a release of
/// before changes its clocks on 1 November 2026, and by the newest does not).
pub async fn zone_rules(stub: &Stub, filled: &mut Filled, homes: i64) -> Row {
    const ZONE: &str = "America/Vancouver";
    let newer = zone::release();
    let older = zone::releases().into_iter().find(|one| *one != newer);
    let mut took = Vec::new();
    let mut looked_at = Vec::new();
    let mut each = 0;
    // Everybody has something to do in March; in December.
    for later in [0, 270] {
        let copy = filled.copy();
        homes::move_to(&copy.url(), ZONE, later * DAY_MS).await;
        let clinic = Clinic::open(&copy.url(), &stub.url).await;
        let now = at("2026-03-06T02:00:00Z");
        clinic.clock.set(now);
        homes::forget_zone_rules(&copy.url()).await;
        zone::decide_by(older.unwrap());
        assert_eq!(clinic.engine.note_zone_rules(now).await.unwrap(), 0);
        zone::decide_by(newer);
        homes::date_zone_rules(&copy.url()).await;
        let begun = Instant::now();
        looked_at.push(clinic.engine.note_zone_rules(now).await.unwrap());
        took.push(begun.elapsed());
        let begun = Instant::now();
        let decided = clinic.engine.think(now).await.unwrap();
        each = each_second(i64::try_from(decided).unwrap(), begun.elapsed());
    }
    assert_eq!(looked_at, [0, u64::try_from(homes).unwrap()]);
    let household = home_of(filled, stub).await;
    let course = &household.courses[&1];
    let begun = Instant::now();
    for _ in 0..homes {
        for dose in 1..=course.doses {
            std::hint::black_box(course.planned(dose, household.zone));
        }
    }
    let resolved = begun.elapsed();
    Row {
        what: format!("new rules for the zone of {homes} households"),
        measured: format!(
            "noted in {:.0?} where they part in months, in {:.1?} where all are to be looked at, \
             which goes at {each}/s; all {} doses of all resolved in {resolved:.1?}",
            took[0], took[1], course.doses
        ),
        baseline: String::new(),
    }
}

async fn home_of(filled: &mut Filled, stub: &Stub) -> Household {
    let copy = filled.copy();
    let clinic = Clinic::open(&copy.url(), &stub.url).await;
    clinic.engine.household(1).await.unwrap().unwrap()
}

/// Workers on one database.
pub const WORKERS: [u32; 3] = [1, 2, 4];

/// Reminders from PostgreSQL, by one, two and four workers on one database.
pub async fn workers(stub: &Stub, runs: usize) -> Vec<Row> {
    let mut filled = Filled::new(&stub.url, AT_ONCE, AT_ONCE).await;
    let mut sqlite = Vec::new();
    let mut measured: BTreeMap<u32, Vec<i64>> = BTreeMap::new();
    for run in 0..runs {
        let copy = filled.copy();
        let (took, _) = remind(stub, &copy.url(), AT_ONCE).await;
        sqlite.push(each_second(AT_ONCE, took));
        // Whoever comes later is some 3 % slower: they take turns to be first.
        for turn in 0..WORKERS.len() {
            let workers = WORKERS[(run + turn) % WORKERS.len()];
            let Some(rate) = remind_from_server(stub, workers).await else {
                eprintln!("PostgreSQL is not installed: its rows are left out");
                return Vec::new();
            };
            measured.entry(workers).or_default().push(rate);
        }
    }
    let sqlite = median(sqlite);
    let row = |(workers, measured)| {
        let measured = median(measured);
        Row {
            what: format!("the same from PostgreSQL, {workers} workers"),
            measured: format!("{measured}/s"),
            baseline: format!("SQLite {sqlite}/s, ratio {}", hundredths(measured, sqlite)),
        }
    };
    measured.into_iter().map(row).collect()
}

/// A server of its own for all who are due at once. None where PostgreSQL is not installed.
pub async fn server(stub: &Stub) -> Option<(postgres::Server, String)> {
    let server = postgres::Server::start_durable()?;
    let url = postgres::fresh_on(&server.url("postgres")).await;
    fill(&url, &stub.url, AT_ONCE, AT_ONCE).await;
    homes::write_out(&url).await;
    Some((server, url))
}

/// Reminders a second from a server of its own, which finds nothing to write out of what
/// another left in its buffers. None where PostgreSQL is not installed.
async fn remind_from_server(stub: &Stub, workers: u32) -> Option<i64> {
    let (_server, url) = server(stub).await?;
    stub.forget();
    let start = |_| Program::one_of(workers, &url, &stub.url, DUE, NO_LIMIT);
    let mut programs: Vec<Program> = (0..workers).map(start).collect();
    programs.iter_mut().for_each(Program::ready);
    let begun = Instant::now();
    let already = i64::try_from(stub.sent()).unwrap();
    arrived(stub, usize::try_from(AT_ONCE).unwrap()).await;
    let measured = each_second(AT_ONCE - already, begun.elapsed());
    programs.into_iter().for_each(|program| {
        program.end();
    });
    Some(measured)
}

pub fn each_second(count: i64, took: Duration) -> i64 {
    let nanoseconds = i64::try_from(took.as_nanos()).unwrap().max(1);
    i64::try_from(i128::from(count) * 1_000_000_000 / i128::from(nanoseconds)).unwrap()
}

fn median(mut of: Vec<i64>) -> i64 {
    of.sort_unstable();
    of[of.len() / 2]
}

fn hundredths(part: i64, whole: i64) -> String {
    let hundredths = part * 100 / whole.max(1);
    format!("{}.{:02}", hundredths / 100, hundredths % 100)
}
