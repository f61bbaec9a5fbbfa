//! The program under load, against a Bot API on loopback, each figure beside a
//! baseline of the same run. `cargo bench --bench load` prints the table;
//! `cargo bench --bench load -- reminders messages` only those rows, of
//! reminders, messages, start, quiet, zones, lateness, danger, postgres, growth.
//! VIALBELL_HOMES sets how many households are on disk (20,000), VIALBELL_RUNS
//! how many runs a median is of (5), VIALBELL_PICTURE where the picture of the
//! growth is written.

#![allow(clippy::disallowed_methods)] // A benchmark looks at the clock.

mod bare;
mod clinic;
mod danger;
mod growth;
mod homes;
#[path = "../../tests/support/postgres.rs"]
mod postgres;
mod program;
mod rows;
mod stub;

use std::time::Duration;
use stub::Stub;

fn number(variable: &str, otherwise: i64) -> i64 {
    let set = std::env::var(variable).ok();
    set.and_then(|n| n.parse().ok()).unwrap_or(otherwise)
}

#[tokio::main]
async fn main() {
    sqlx::any::install_default_drivers();
    let arguments: Vec<String> = std::env::args()
        .skip(1)
        .filter(|argument| !argument.starts_with('-'))
        .collect();
    if arguments
        .first()
        .is_some_and(|first| first == program::ROLE)
    {
        return program::run(&arguments[1..]).await;
    }
    let words: Vec<&str> = arguments.iter().map(String::as_str).collect();
    if bare::run(&words).await {
        return;
    }
    let wanted = |name: &str| arguments.is_empty() || arguments.iter().any(|a| a == name);
    let stub = Stub::start().await;
    let homes = number("VIALBELL_HOMES", rows::AT_ONCE);
    let runs = usize::try_from(number("VIALBELL_RUNS", 5)).unwrap();
    let mut table = Vec::new();
    if ["reminders", "messages", "start", "quiet", "zones"]
        .into_iter()
        .any(wanted)
    {
        let mut filled = clinic::Filled::new(&stub.url, homes, rows::AT_ONCE).await;
        if wanted("reminders") {
            table.extend(rows::reminders(&stub, &mut filled, runs).await);
            table.push(rows::parts(&stub, &mut filled).await);
        }
        if wanted("messages") {
            table.push(rows::messages(&stub, &mut filled, runs).await);
        }
        if wanted("start") {
            table.push(rows::start(&stub, &mut filled, runs).await);
        }
        if wanted("quiet") {
            table.push(rows::quiet(&stub, &mut filled).await);
        }
        if wanted("zones") {
            table.push(rows::zone_rules(&stub, &mut filled, homes).await);
        }
    }
    if wanted("lateness") {
        for round_trip in [0, 100] {
            table.push(rows::lateness(Duration::from_millis(round_trip)).await);
        }
    }
    if wanted("danger") {
        table.extend(danger::rows().await);
    }
    if wanted("postgres") {
        table.extend(rows::workers(&stub, runs).await);
    }
    println!("{homes} households on disk; medians of {runs} runs\n");
    println!("| what | measured | baseline of the same run |\n|---|---|---|");
    for row in &table {
        println!("| {} | {} | {} |", row.what, row.measured, row.baseline);
    }
    if arguments.iter().any(|argument| argument == "growth") {
        growth::measure(&stub).await;
    }
}
