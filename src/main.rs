//! Flags and wiring only.

use anyhow::Context;
use clap::{Parser, Subcommand};
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use vialbell::config::{Config, load_prescription};
use vialbell::rehearse::{self, Happened, Printer, RehearsalError};
use vialbell::wording::Wording;

/// Reminds owners of injections at the right local time, keeps the books of
/// every vial, and calls the clinic in for everything else.
#[derive(Parser)]
#[command(version, about)]
struct Arguments {
    #[command(subcommand)]
    command: Option<Command>,
}

#[derive(Subcommand)]
enum Command {
    /// Play a script against the real program, in a database that is thrown away.
    Rehearse {
        /// The clinic's configuration; the invented example where left out.
        #[arg(long, value_name = "FILE")]
        config: Option<PathBuf>,
        /// A prescription file; may be given more than once.
        #[arg(long, value_name = "FILE", required = true)]
        prescription: Vec<PathBuf>,
        /// Print one JSON object a line for every message sent.
        #[arg(long)]
        json: bool,
        /// The script; `-` reads it from standard input.
        script: PathBuf,
    },
}

#[tokio::main]
async fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let done = match arguments.command {
        None => Ok(()),
        Some(Command::Rehearse {
            config,
            prescription,
            json,
            script,
        }) => {
            return rehearsal(config.as_deref(), &prescription, json, &script).await;
        }
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => complain(&error, 1),
    }
}

fn complain(error: &anyhow::Error, code: u8) -> ExitCode {
    eprintln!("{error:#}");
    ExitCode::from(code)
}

fn load_config(path: Option<&Path>) -> anyhow::Result<Config> {
    match path {
        Some(path) => Config::load(path).map_err(anyhow::Error::from),
        None => Ok(Config::built_in()),
    }
}

/// Plays a script; a bad line, file or order ends it with exit code 2.
async fn rehearsal(
    config: Option<&Path>,
    prescriptions: &[PathBuf],
    json: bool,
    script: &Path,
) -> ExitCode {
    match rehearse(config, prescriptions, json, script).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => complain(&error, 2),
    }
}

async fn rehearse(
    config: Option<&Path>,
    prescriptions: &[PathBuf],
    json: bool,
    script: &Path,
) -> anyhow::Result<()> {
    let config = load_config(config)?;
    let wording = Wording::load()?;
    let orders = prescriptions
        .iter()
        .map(|path| load_prescription(path, &config.formulary, &wording.languages()))
        .collect::<Result<Vec<_>, _>>()?;
    let text = read_script(script)?;
    let (lines, bad_line) = rehearse::parse(&text);
    let mut printer = Printer::default();
    let mut out = std::io::stdout().lock();
    let mut print = |happened: Happened| {
        let printed = match (&happened, json) {
            (Happened::Sent { delivered, zone }, true) => {
                rehearse::json_line(delivered, *zone) + "\n"
            }
            (Happened::Played { .. }, true) => String::new(),
            (_, false) => printer.print(&happened),
        };
        // A reader that went away is no reason to fail.
        let _ = out.write_all(printed.as_bytes());
    };
    let played = rehearse::rehearse(config, orders, &lines, &mut print).await;
    played.map_err(|error| match error {
        RehearsalError::Failed(error) => error,
        other => anyhow::Error::from(other),
    })?;
    match bad_line {
        Some(error) => Err(error.into()),
        None => Ok(()),
    }
}

fn read_script(path: &Path) -> anyhow::Result<String> {
    if path == Path::new("-") {
        let mut text = String::new();
        std::io::stdin()
            .read_to_string(&mut text)
            .context("standard input")?;
        return Ok(text);
    }
    std::fs::read_to_string(path).with_context(|| path.display().to_string())
}
