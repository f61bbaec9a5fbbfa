//! `init`: a clinic's first files, from a few answers.

use super::say;
use crate::config::{Config, EXAMPLE_CLINIC, EXAMPLE_FORMULARY};
use anyhow::{Context, bail, ensure};
use std::io::{BufRead, Write};
use std::path::{Path, PathBuf};

/// Where the clinic's own words begin in the example.
const OWN_WORDS: &str = "# Protocol. EXAMPLE STEPS";

/// The flags of `init`. What is not given is asked for.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  vialbell init --folder /var/lib/vialbell\n  vialbell init --folder east --key east --store postgres://vialbell@localhost/vialbell"
)]
pub struct Init {
    /// Where the files are written; made where there is none.
    #[arg(long, value_name = "FOLDER", default_value = ".")]
    folder: PathBuf,
    /// The clinic's name.
    #[arg(long)]
    name: Option<String>,
    /// Its phone, which owners are told to call.
    #[arg(long)]
    phone: Option<String>,
    /// Whom to call when it is closed; `none` where there is nobody.
    #[arg(long)]
    emergency_phone: Option<String>,
    /// Its time zone, such as America/Denver.
    #[arg(long)]
    zone: Option<String>,
    /// Its hours from Monday to Friday, such as 08:00-18:00.
    #[arg(long)]
    hours: Option<String>,
    /// What tells it apart from other clinics in one database; never asked for.
    #[arg(long, default_value = "clinic")]
    key: String,
    /// Where the records are, such as postgres://user@host/database; never asked for.
    #[arg(long, value_name = "URL", default_value = "sqlite:vialbell.db")]
    store: String,
}

impl Init {
    /// Writes `clinic.toml` and `formulary.toml`; nothing where one of them is there already.
    ///
    /// # Errors
    /// A file that is there, an answer that cannot be used, a folder that cannot be written.
    pub fn run(self) -> anyhow::Result<()> {
        let clinic_file = self.folder.join("clinic.toml");
        let formulary_file = self.folder.join("formulary.toml");
        for file in [&clinic_file, &formulary_file] {
            ensure!(
                !file.exists(),
                "{} is there already; nothing was written",
                file.display()
            );
        }
        let mut answers = std::io::stdin().lock();
        let mut asked = |given: Option<String>, question: &str| match given {
            Some(answer) => Ok(answer),
            None => ask(&mut answers, question),
        };
        let name = asked(self.name, "The clinic's name")?;
        let phone = asked(self.phone, "Its phone, which owners are told to call")?;
        let emergency = asked(
            self.emergency_phone,
            "Whom to call when it is closed (or: none)",
        )?;
        let zone = asked(self.zone, "Its time zone, such as America/Denver")?;
        let hours = asked(
            self.hours,
            "Its hours from Monday to Friday, such as 08:00-18:00",
        )?;
        let answers = Answers {
            name: &name,
            phone: &phone,
            emergency: (emergency != "none").then_some(emergency.as_str()),
            zone: &zone,
            hours: &hours,
            key: &self.key,
            store: &self.store,
        };
        let clinic = answers.clinic_file();
        std::fs::create_dir_all(&self.folder).with_context(|| self.folder.display().to_string())?;
        write_new(&clinic_file, &clinic)?;
        // What was answered is read as it will be; a mistake leaves nothing behind.
        if let Err(mistakes) = Config::load(&clinic_file) {
            std::fs::remove_file(&clinic_file)?;
            bail!("{mistakes}\nnothing was written");
        }
        write_new(&formulary_file, &commented_out(EXAMPLE_FORMULARY))?;
        say(&format!("written: {}", clinic_file.display()))?;
        say(&format!("written: {}", formulary_file.display()))?;
        say("next: write your products into formulary.toml, each figure from its label,")?;
        say("      your steps and notes into clinic.toml, and then")?;
        say(&format!(
            "      vialbell check --config {}",
            clinic_file.display()
        ))
    }
}

struct Answers<'a> {
    name: &'a str,
    phone: &'a str,
    emergency: Option<&'a str>,
    zone: &'a str,
    hours: &'a str,
    key: &'a str,
    store: &'a str,
}

impl Answers<'_> {
    /// The example with the answers in it; what only an invented clinic would
    /// say to its owners is commented out.
    fn clinic_file(&self) -> String {
        let (rules, own_words) = EXAMPLE_CLINIC
            .split_once(OWN_WORDS)
            .unwrap_or((EXAMPLE_CLINIC, ""));
        let mut text = String::new();
        for line in rules.lines() {
            text.push_str(&self.line(line));
            text.push('\n');
        }
        text.push_str(&commented_out(&format!("{OWN_WORDS}{own_words}")));
        text
    }

    fn line(&self, line: &str) -> String {
        let key = line.split_once(" = ").map_or("", |(key, _)| key);
        match key {
            "key" => format!("key = {}", quoted(self.key)),
            "url" => format!("url = {}", quoted(self.store)),
            "name" => format!("name = {}", quoted(self.name)),
            "phone" => format!("phone = {}", quoted(self.phone)),
            "emergency_phone" => match self.emergency {
                Some(phone) => format!("emergency_phone = {}", quoted(phone)),
                None => format!("# {line}"),
            },
            "zone" => format!("zone = {}", quoted(self.zone)),
            "monday" | "tuesday" | "wednesday" | "thursday" | "friday" => {
                format!("{key} = {}", quoted(self.hours))
            }
            "saturday" => format!("# {line}"),
            _ if line.starts_with("# Everything about this clinic is invented") => String::new(),
            _ => line.to_owned(),
        }
    }
}

fn quoted(text: &str) -> String {
    toml::Value::String(text.trim().to_owned()).to_string()
}

fn commented_out(text: &str) -> String {
    text.lines()
        .map(|line| match line {
            "" => "\n".to_owned(),
            line if line.starts_with('#') => format!("{line}\n"),
            line => format!("# {line}\n"),
        })
        .collect()
}

fn ask(answers: &mut impl BufRead, question: &str) -> anyhow::Result<String> {
    write!(std::io::stderr(), "{question}: ")?;
    let mut line = String::new();
    ensure!(
        answers.read_line(&mut line)? > 0,
        "no answer to: {question}"
    );
    Ok(line.trim().to_owned())
}

fn write_new(file: &Path, text: &str) -> anyhow::Result<()> {
    let made = std::fs::OpenOptions::new()
        .write(true)
        .create_new(true)
        .open(file);
    let mut made = made.with_context(|| file.display().to_string())?;
    made.write_all(text.as_bytes())
        .with_context(|| file.display().to_string())
}
