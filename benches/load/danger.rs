//! Words of danger while everybody is looked at.

use super::clinic::{DUE, FIRST_CHAT, Filled};
use super::program::Program;
use super::rows::{AT_ONCE, Row, WORKERS, server, update};
use super::stub::Stub;
use std::time::{Duration, Instant};

/// So many owners write, one after the other from the first moment of the rush on.
const WRITERS: i64 = 16;
const APART: Duration = Duration::from_millis(200);
/// Of a bot at Telegram.
const PER_SECOND: u32 = 29;
/// An answer that takes longer is none.
const PATIENCE: Duration = Duration::from_secs(20);

/// The slowest answer, by the worker of a file, and by workers beside each other.
pub async fn rows() -> Vec<Row> {
    let stub = Stub::start().await;
    let mut filled = Filled::new(&stub.url, AT_ONCE, AT_ONCE).await;
    let mut rows = vec![row(
        "SQLite",
        &answers(&stub, &filled.copy().url(), 1).await,
    )];
    for workers in WORKERS {
        // Of its own: who asked for updates last may ask on for a while after the end.
        let stub = Stub::start().await;
        let Some((_server, url)) = server(&stub).await else {
            break;
        };
        let of = format!("PostgreSQL, {workers} workers");
        rows.push(row(&of, &answers(&stub, &url, workers).await));
    }
    rows
}

fn row(of: &str, answers: &[Duration]) -> Row {
    let middle = answers[answers.len() / 2];
    let slowest = answers[answers.len() - 1];
    Row {
        what: format!("words of danger while {AT_ONCE} households are looked at, {of}"),
        measured: format!("answered after at most {slowest:.0?}, half within {middle:.0?}"),
        baseline: String::new(),
    }
}

/// How long each waited, in order.
async fn answers(stub: &Stub, url: &str, workers: u32) -> Vec<Duration> {
    stub.forget();
    let start = |_| Program::one_of(workers, url, &stub.url, DUE, PER_SECOND);
    let mut programs: Vec<Program> = (0..workers).map(start).collect();
    programs.iter_mut().for_each(Program::ready);
    let mut written = Vec::new();
    for n in 1..=WRITERS {
        tokio::time::sleep(APART).await;
        // At this pace their own reminders are far behind.
        let chat = FIRST_CHAT + AT_ONCE - n;
        written.push((chat, Instant::now()));
        let mut seen = stub.seen.lock().unwrap();
        seen.updates.push_back(update(n, chat, "she collapsed"));
    }
    let mut took = Vec::new();
    for (chat, when) in written {
        let answer = async {
            loop {
                let sent = stub.first_in(chat);
                match sent {
                    Some(sent) => return sent - when,
                    None => tokio::time::sleep(Duration::from_millis(1)).await,
                }
            }
        };
        let answer = tokio::time::timeout(PATIENCE, answer).await;
        took.push(answer.expect("each is answered"));
    }
    programs.into_iter().for_each(|program| {
        program.end();
    });
    took.sort_unstable();
    took
}
