//! Plays a dialogue through the library, and keeps all that happened.

use std::fs;
use std::path::PathBuf;
use std::sync::OnceLock;

use regex::Regex;
use vialbell::config::{Config, load_prescription};
use vialbell::domain::change::apply;
use vialbell::domain::household::Household;
use vialbell::domain::message::{Kind, Recipient};
use vialbell::domain::prescription::Order;
use vialbell::engine::Delivered;
use vialbell::rehearse::{self, Happened, Line, Printer, Rehearsal, RehearsalError};
use vialbell::store::Store;
use vialbell::wording::Wording;

pub fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/dialogues")
}

/// Names of the files with an ending, without it, in order.
pub fn files_ending_in(ending: &str) -> Vec<String> {
    let mut found: Vec<String> = fs::read_dir(folder())
        .unwrap()
        .filter_map(|entry| {
            let name = entry.unwrap().file_name().into_string().unwrap();
            name.strip_suffix(ending).map(str::to_owned)
        })
        .collect();
    found.sort();
    found
}

pub fn names() -> Vec<String> {
    files_ending_in(".script")
}

/// Every dialogue, played once for all tests.
pub fn played() -> &'static [(String, Result<Played, RehearsalError>)] {
    static PLAYED: OnceLock<Vec<(String, Result<Played, RehearsalError>)>> = OnceLock::new();
    PLAYED.get_or_init(|| {
        let play = |name: String| {
            let played = Dialogue::read(&name).play();
            (name, played)
        };
        names().into_iter().map(play).collect()
    })
}

/// A script with the files that it names.
pub struct Dialogue {
    config: Config,
    orders: Vec<Order>,
    lines: Vec<Line>,
}

/// What happened in a dialogue.
pub struct Played {
    /// As a person reads it; invitation codes, which are random, are masked.
    pub printed: String,
    pub happened: Vec<Happened>,
    /// Each household as it is loaded at the end.
    pub households: Vec<Household>,
    /// The same, as its journal gives it.
    pub replayed: Vec<Household>,
    /// Messages that wait to be sent at the end.
    pub unsent: i64,
}

impl Dialogue {
    pub fn read(name: &str) -> Dialogue {
        let path = folder().join(format!("{name}.script"));
        let text = fs::read_to_string(&path).unwrap();
        let named = |what: &str| {
            let mark = format!("# {what}:");
            text.lines()
                .filter_map(|line| line.strip_prefix(&mark))
                .map(|file| folder().join(file.trim()))
                .collect::<Vec<_>>()
        };
        let config = match named("clinic").first() {
            Some(file) => Config::load(file).unwrap_or_else(|why| panic!("{name}: {why}")),
            None => Config::built_in(),
        };
        let languages = Wording::load().unwrap();
        let orders: Vec<Order> = named("prescription")
            .iter()
            .map(|file| {
                load_prescription(file, &config.formulary, &languages.languages())
                    .unwrap_or_else(|why| panic!("{name}: {why}"))
            })
            .collect();
        assert!(!orders.is_empty(), "{name} names no prescription");
        let (lines, wrong) = rehearse::parse(&text);
        assert_eq!(wrong, None, "{name}");
        Dialogue {
            config,
            orders,
            lines,
        }
    }

    pub fn play(self) -> Result<Played, RehearsalError> {
        self.play_in(None)
    }

    /// Plays in an empty database of this URL; none: in one that is thrown away.
    pub fn play_in(self, url: Option<&str>) -> Result<Played, RehearsalError> {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .unwrap();
        runtime.block_on(self.play_all(url))
    }

    async fn play_all(self, url: Option<&str>) -> Result<Played, RehearsalError> {
        let mut happened = Vec::new();
        let mut keep = |one: Happened| happened.push(one);
        let clinic = self.config.policy.clinic.key.clone();
        let first = self.lines.first().expect("a script has lines");
        let store = match url {
            Some(url) => Store::open(url).await,
            None => Store::throw_away().await,
        };
        let mut rehearsal =
            Rehearsal::begin_in(store.unwrap(), self.config, self.orders, first, &mut keep).await?;
        for line in &self.lines {
            rehearsal.play(line, &mut keep).await?;
        }
        let mut work = rehearsal.engine().store().begin().await.unwrap();
        let ids = work.households(&clinic).await.unwrap();
        let households: Vec<Household> = work
            .load(&ids)
            .await
            .unwrap()
            .into_iter()
            .map(|loaded| loaded.household)
            .collect();
        let mut replayed = Vec::new();
        for household in &households {
            let mut again = Household::new(
                household.id,
                &household.clinic,
                &household.owner,
                &household.language,
                household.zone,
            );
            for caused in work.journal(household.id).await.unwrap() {
                apply(&mut again, &caused.change);
            }
            replayed.push(again);
        }
        let unsent = work
            .outbox_counts()
            .await
            .unwrap()
            .into_iter()
            .filter(|(state, _)| state == "waiting")
            .map(|(_, count)| count)
            .sum();
        work.commit().await.unwrap();
        let mut printer = Printer::default();
        let printed: String = happened.iter().map(|one| printer.print(one)).collect();
        Ok(Played {
            printed: mask(&printed),
            happened,
            households,
            replayed,
            unsent,
        })
    }
}

/// Codes of invitations are random.
fn mask(printed: &str) -> String {
    static CODE: OnceLock<Regex> = OnceLock::new();
    let code = CODE.get_or_init(|| Regex::new("/start [a-z0-9]{20}").unwrap());
    code.replace_all(printed, "/start CODE").into_owned()
}

impl Played {
    pub fn sent(&self) -> impl Iterator<Item = &Delivered> {
        self.happened.iter().filter_map(|one| match one {
            Happened::Sent { delivered, .. } => Some(&**delivered),
            Happened::Played { .. } => None,
        })
    }

    pub fn sent_of(&self, kinds: &'static [Kind]) -> impl Iterator<Item = &Delivered> {
        self.sent()
            .filter(move |delivered| kinds.contains(&delivered.message.kind))
    }
}

/// A message's carer; none for the clinic and strangers.
pub fn carer_of(delivered: &Delivered) -> Option<(i64, u32)> {
    match delivered.message.to {
        Recipient::Carer(no) => Some((delivered.household?, no)),
        Recipient::Clinic | Recipient::Staff(_) | Recipient::Asker | Recipient::Stranger => None,
    }
}
