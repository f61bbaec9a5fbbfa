//! `rehearse`: a script against the real program.

use super::MaybeClinicFile;
use crate::config::load_prescription;
use crate::rehearse::{self, Happened, Printer};
use crate::wording::Wording;
use anyhow::Context;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// The flags of `rehearse`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell rehearse --prescription juniper.toml evening.script\n  \
    vialbell rehearse --json --prescription juniper.toml - < evening.script")]
pub struct Rehearse {
    #[command(flatten)]
    clinic: MaybeClinicFile,
    /// A prescription file; may be given more than once.
    #[arg(long, value_name = "FILE", required = true)]
    prescription: Vec<PathBuf>,
    /// Print one JSON object a line for every message sent.
    #[arg(long)]
    json: bool,
    /// The script; `-` reads it from standard input.
    script: PathBuf,
}

impl Rehearse {
    /// Plays the script up to its end or its first bad line.
    ///
    /// # Errors
    /// A bad configuration, order or line.
    pub async fn run(self) -> anyhow::Result<()> {
        let config = self.clinic.load()?;
        let wording = Wording::load()?;
        let orders = self
            .prescription
            .iter()
            .map(|path| load_prescription(path, &config.formulary, &wording.languages()))
            .collect::<Result<Vec<_>, _>>()?;
        let (lines, bad_line) = rehearse::parse(&read_script(&self.script)?);
        let mut printer = Printer::default();
        let mut out = std::io::stdout().lock();
        let mut print = |happened: Happened| {
            let printed = match (&happened, self.json) {
                (Happened::Sent { delivered, zone }, true) => {
                    rehearse::json_line(delivered, *zone) + "\n"
                }
                (Happened::Played { .. }, true) => String::new(),
                (_, false) => printer.print(&happened),
            };
            // A reader that went away is no reason to fail.
            let _ = out.write_all(printed.as_bytes());
        };
        rehearse::rehearse(config, orders, &lines, &mut print).await?;
        match bad_line {
            Some(error) => Err(error.into()),
            None => Ok(()),
        }
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
