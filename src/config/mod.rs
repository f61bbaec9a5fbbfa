//! What the clinic wrote down for the program: its rules, its formulary and
//! its prescriptions, read from TOML. Every mistake of a file is said at once,
//! with its line. Secrets come from the environment only.

mod clinic;
mod dose;
mod equipment;
mod formulary;
mod hours;
mod ladder;
mod mistake;
mod pasted;
mod prescription;
mod reader;
mod settings;
mod source;
mod span;
mod values;
mod words;

use crate::domain::formulary::Formulary;
use crate::domain::policy::Policy;
use prescription::settle;
use reader::Section;
use std::path::Path;

pub use mistake::{Mistake, Mistakes};
pub use prescription::{load_prescription, parse_prescription};

/// The example of a clinic's file, as it stands in `config/`.
pub const EXAMPLE_CLINIC: &str = include_str!("../../config/clinic.example.toml");
/// The example of a formulary, as it stands in `config/`.
pub const EXAMPLE_FORMULARY: &str = include_str!("../../config/formulary.example.toml");
const CLINIC_NAME: &str = "config/clinic.example.toml";
const FORMULARY_NAME: &str = "config/formulary.example.toml";
/// The formulary that is taken when it lies beside the clinic's file.
const BESIDE: &str = "formulary.toml";

/// Everything that the clinic laid down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Config {
    /// The clinic's rules.
    pub policy: Policy,
    /// What it dispenses.
    pub formulary: Formulary,
    /// How the program is wired.
    pub settings: Settings,
    /// What is odd but not wrong, one line each, for `vialbell check`.
    pub notes: Vec<String>,
}

/// How the program is wired. The bot's token is not here: it is read from the
/// environment variable `VIALBELL_TELEGRAM_TOKEN`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// Where the records are kept, such as `sqlite:vialbell.db`.
    pub store_url: String,
    /// The clinic's own Bot API server, without a `/` at its end; none for Telegram's.
    pub telegram_api_url: Option<String>,
    /// The bot's user name without `@`, for invitation links; none to ask Telegram for it.
    pub bot_name: Option<String>,
    /// Where the bot is written to, where it does not ask.
    pub telegram_webhook: Option<Webhook>,
    /// The chat in which the clinic reads and writes, below zero for a group.
    pub clinic_chat: Option<i64>,
    /// How many messages a second the bot may send, where the clinic says so.
    pub per_second: Option<u32>,
    /// The port of the two-phone page on loopback; 0 for any that is free.
    pub page_port: u16,
    /// Where `/healthz` and `/metrics` are served, where they are.
    pub watch_listen: Option<std::net::SocketAddr>,
}

/// Where Telegram sends a bot's updates. Its secret is not here: it is read
/// from the environment variable `VIALBELL_WEBHOOK_SECRET`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Webhook {
    /// Where this program listens, in plain HTTP.
    pub listen: std::net::SocketAddr,
    /// The https address outside that leads there; the clinic's key is added to it.
    pub url: String,
}

impl Config {
    /// The invented clinic and products of the demonstration: the two example files.
    ///
    /// # Panics
    /// Never: the tests read the same two texts, which are part of the program.
    #[must_use]
    pub fn built_in() -> Config {
        let mut notes = Vec::new();
        let (formulary, _) = reader::read(FORMULARY_NAME, EXAMPLE_FORMULARY, |root| {
            Some(formulary::read(root, &mut notes))
        });
        let formulary = formulary.unwrap_or_default();
        let (read, mistakes) = reader::read(CLINIC_NAME, EXAMPLE_CLINIC, |root| {
            Some((
                clinic::policy(root, &formulary, &mut notes)?,
                settings::read(root)?,
            ))
        });
        let (policy, settings) =
            settle(read, mistakes).expect("the example files are read by the tests");
        Config {
            policy,
            formulary,
            settings,
            notes,
        }
    }

    /// Reads the clinic's file at `path`.
    ///
    /// The formulary is what the file holds as `[product.KEY]` and what its key
    /// `formulary` names (relative to the file); without either it is
    /// `formulary.toml` beside the file, and without that the invented products
    /// of the demonstration. A file of nothing but `[product.KEY]` is a
    /// formulary for the demonstration's clinic.
    ///
    /// # Errors
    /// Every mistake of the files, or that one cannot be read.
    pub fn load(path: &Path) -> Result<Config, Mistakes> {
        let text = source::read(path)?;
        let file = path.display().to_string();
        let mut notes = Vec::new();
        let mut others = Vec::new();
        let (config, mut mistakes) = reader::read(&file, &text, |root| {
            if is_formulary(root) {
                return Some(demonstration_with(formulary::read(root, &mut notes)));
            }
            let shelf = shelf(root, path, &mut others, &mut notes);
            let policy = clinic::policy(root, &shelf, &mut notes);
            let settings = settings::read(root);
            Some(Config {
                policy: policy?,
                formulary: shelf,
                settings: settings?,
                notes: Vec::new(),
            })
        });
        mistakes.append(&mut others);
        let mut config = settle(config, mistakes)?;
        config.notes.append(&mut notes);
        Ok(config)
    }
}

fn is_formulary(root: &Section<'_>) -> bool {
    let mut keys = root.keys().peekable();
    keys.peek().is_some() && keys.all(|key| key == "product")
}

fn demonstration_with(formulary: Formulary) -> Config {
    let mut config = Config::built_in();
    config.formulary = formulary;
    config.notes.push(
        "the file has products only; the clinic is the invented one of the demonstration"
            .to_owned(),
    );
    config
}

/// The products of the clinic's file and of the formulary it goes with.
fn shelf(
    root: &Section<'_>,
    clinic_file: &Path,
    mistakes: &mut Vec<Mistake>,
    notes: &mut Vec<String>,
) -> Formulary {
    let mut shelf = formulary::read(root, notes);
    let beside = clinic_file.with_file_name(BESIDE);
    let named = root.value("formulary");
    let other = match &named {
        Some(value) => value
            .line_of_text(1000)
            .map(|name| clinic_file.with_file_name("").join(name)),
        None if root.has("product") => None,
        None => (beside != clinic_file && beside.exists()).then_some(beside),
    };
    let Some(other) = other else {
        if named.is_none() && !root.has("product") {
            notes.push(format!(
                "there is no formulary; the products are the invented ones of the demonstration (write [product.KEY], or put {BESIDE} beside the file)"
            ));
            return Config::built_in().formulary;
        }
        return shelf;
    };
    match load_formulary(&other, notes) {
        Ok(products) => {
            for (key, product) in products {
                if let Some(twice) = shelf.insert(key, product) {
                    root.complain(
                        "formulary",
                        format!(
                            "product {} is in this file and in {}",
                            twice.key,
                            other.display()
                        ),
                    );
                }
            }
        }
        Err(Mistakes(mut wrong)) => mistakes.append(&mut wrong),
    }
    shelf
}

fn load_formulary(path: &Path, notes: &mut Vec<String>) -> Result<Formulary, Mistakes> {
    let text = source::read(path)?;
    let file = path.display().to_string();
    let (formulary, mistakes) = reader::read(&file, &text, |root| {
        let formulary = formulary::read(root, notes);
        if !root.has("product") {
            root.complain(
                "product",
                "is missing; write [product.KEY] for each product",
            );
        }
        Some(formulary)
    });
    settle(formulary, mistakes)
}
