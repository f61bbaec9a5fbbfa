//! `audit`: who did what, when, and from where.

use super::{ClinicFile, say};
use crate::domain::household::Household;
use crate::domain::zone::Zone;
use crate::engine::Engine;
use crate::paper::record::{csv_lines, said};
use crate::store::{AuditSpan, Audited, ClinicEntry};
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The flags of `audit`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell audit --household 1\n  \
    vialbell audit --staff\n  \
    vialbell audit --from 2026-03-05 --until 2026-03-12 --as csv > week.csv\n  \
    vialbell audit --as json | jq 'select(.change == \"course-confirmed\")'\n\n\
    A date begins on the clinic's clock. Entries are those of the journal: what\n\
    changed, and what led to it.")]
pub struct Audit {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Of this household only.
    #[arg(long, value_name = "NUMBER")]
    household: Option<i64>,
    /// What changed of the staff and of the clinic's chat, instead of the households.
    #[arg(long, conflicts_with = "household")]
    staff: bool,
    /// From this date or instant on, such as 2026-03-05 or 2026-03-05T19:30:00-07:00.
    #[arg(long, value_name = "WHEN")]
    from: Option<When>,
    /// Up to this date or instant, itself left out.
    #[arg(long, value_name = "WHEN")]
    until: Option<When>,
    /// In which form.
    #[arg(long = "as", value_name = "FORM", default_value = "text")]
    form: Form,
    /// The same as --as json.
    #[arg(long, conflicts_with = "form")]
    json: bool,
}

#[derive(Clone, Copy, PartialEq, clap::ValueEnum)]
enum Form {
    /// A line an entry.
    Text,
    /// A table (RFC 4180).
    Csv,
    /// One JSON object a line.
    Json,
}

/// A date, or an instant.
#[derive(Clone, Copy)]
enum When {
    Date(NaiveDate),
    Instant(DateTime<FixedOffset>),
}

impl std::str::FromStr for When {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let date = text.parse().map(When::Date);
        date.or_else(|_| DateTime::parse_from_rfc3339(text).map(When::Instant))
            .map_err(|_| {
                "write a date such as 2026-03-05, or an instant such as 2026-03-05T19:30:00-07:00"
                    .to_owned()
            })
    }
}

const COLUMNS: [&str; 8] = [
    "at",
    "household",
    "who",
    "from",
    "change",
    "details",
    "cause",
    "entry",
];

impl Audit {
    /// Prints the entries.
    ///
    /// # Errors
    /// Where there is no such household, or the records cannot be read.
    pub async fn run(self) -> anyhow::Result<()> {
        let engine = self.clinic.engine_to_look().await?;
        if let Some(id) = self.household
            && engine.household(id).await?.is_none()
        {
            anyhow::bail!("there is no household {id}");
        }
        let zone = engine.policy().clinic.zone;
        let instant = |when: When| match when {
            When::Date(date) => zone.instant(date.and_time(NaiveTime::MIN)).at,
            When::Instant(at) => at.to_utc(),
        };
        let span = AuditSpan {
            household: self.household,
            from: self.from.map(instant),
            until: self.until.map(instant),
        };
        let form = if self.json { Form::Json } else { self.form };
        if self.staff {
            let entries = engine.clinic_journal(span.from, span.until).await?;
            return print_staff(&entries, zone, form);
        }
        print(&engine, &span, form).await
    }
}

const STAFF_COLUMNS: [&str; 6] = ["at", "who", "from", "change", "name", "entry"];

fn print_staff(entries: &[ClinicEntry], zone: Zone, form: Form) -> anyhow::Result<()> {
    if form == Form::Csv {
        say(csv_lines(&[STAFF_COLUMNS.map(str::to_owned).to_vec()]).trim_end())?;
    }
    for entry in entries {
        let at = zone.local(entry.at).to_rfc3339();
        let (who, from) = (&entry.doer.who, &entry.doer.origin);
        let name = entry.name.as_deref().unwrap_or_default();
        let line = match form {
            Form::Text => format!("{at}  {who} ({from})  {}: {name}", entry.what)
                .trim_end_matches([':', ' '])
                .to_owned(),
            Form::Json => json!({
                "at": at,
                "who": who,
                "from": from,
                "change": entry.what,
                "name": entry.name,
                "entry": entry.id,
            })
            .to_string(),
            Form::Csv => {
                let id = entry.id.to_string();
                let row = [
                    at,
                    said(who),
                    said(from),
                    entry.what.clone(),
                    said(name),
                    id,
                ];
                csv_lines(&[row.to_vec()])
                    .trim_end_matches(['\r', '\n'])
                    .to_owned()
            }
        };
        say(&line)?;
    }
    Ok(())
}

/// Prints entry by entry: a clinic's journal may be long.
async fn print(engine: &Engine, span: &AuditSpan, form: Form) -> anyhow::Result<()> {
    if form == Form::Csv {
        say(csv_lines(&[COLUMNS.map(str::to_owned).to_vec()]).trim_end())?;
    }
    let mut known: BTreeMap<i64, Household> = BTreeMap::new();
    let mut after = 0;
    loop {
        let entries = engine.audit(span, after).await?;
        let Some(last) = entries.last() else {
            return Ok(());
        };
        after = last.id;
        let missing: Vec<i64> = entries
            .iter()
            .map(|entry| entry.household)
            .filter(|id| !known.contains_key(id))
            .collect();
        let loaded = engine.our_households(&missing).await?;
        known.extend(
            loaded
                .into_iter()
                .map(|household| (household.id, household)),
        );
        for entry in &entries {
            if let Some(household) = known.get(&entry.household) {
                say(&line(entry, household, form)?)?;
            }
        }
    }
}

fn line(entry: &Audited, household: &Household, form: Form) -> anyhow::Result<String> {
    let Value::Object(mut details) = serde_json::to_value(&entry.change)? else {
        anyhow::bail!("entry {} cannot be written down", entry.id);
    };
    let change = details
        .remove("change")
        .and_then(|c| c.as_str().map(str::to_owned));
    let change = change.unwrap_or_default();
    let at = household.shown(entry.at).to_rfc3339();
    let (who, from) = (who(entry, household), from(entry));
    Ok(match form {
        Form::Json => json!({
            "at": at,
            "household": entry.household,
            "who": who,
            "from": from,
            "change": change,
            "details": details,
            "cause": entry.cause,
            "entry": entry.id,
        })
        .to_string(),
        Form::Csv => {
            let details = Value::Object(details).to_string();
            let row = [
                at,
                entry.household.to_string(),
                said(&who),
                said(&from),
                change,
                details,
                said(&entry.cause),
                entry.id.to_string(),
            ];
            csv_lines(&[row.to_vec()])
                .trim_end_matches(['\r', '\n'])
                .to_owned()
        }
        Form::Text => {
            let details: Vec<String> = details
                .iter()
                .filter(|(_, value)| !value.is_null())
                .map(|(name, value)| format!("{name} {}", plain(value)))
                .collect();
            format!(
                "{at}  household {}  {who} ({from})  {change}: {}",
                entry.household,
                details.join(", ")
            )
        }
    })
}

/// Who did it: whoever wrote what came in, the program itself, or the person
/// that the entry names.
fn who(entry: &Audited, household: &Household) -> String {
    match (&entry.came, entry.cause.as_str()) {
        (Some(came), _) => {
            let mut carers = household.carers.values();
            let carer = carers.find(|carer| {
                let chat = carer.chat.as_ref();
                chat.is_some_and(|chat| {
                    chat.channel == came.channel && chat.address == came.address
                })
            });
            match (carer, &came.sender) {
                (Some(carer), _) => carer.name.clone(),
                (None, Some(sender)) => sender.clone(),
                (None, None) => "unknown".into(),
            }
        }
        (None, "time") => "the program".into(),
        (None, cause) if cause.starts_with("outbox ") || cause.starts_with("inbox ") => {
            "the program".into()
        }
        (None, cause) => named(entry).unwrap_or_else(|| cause.to_owned()),
    }
}

/// The person that the change itself names.
fn named(entry: &Audited) -> Option<String> {
    let change = serde_json::to_value(&entry.change).ok()?;
    ["by", "entered_by"]
        .iter()
        .find_map(|key| change[*key].as_str().map(str::to_owned))
}

fn from(entry: &Audited) -> String {
    match (&entry.came, entry.cause.as_str()) {
        (Some(came), _) => format!("{} {}", came.channel, came.address),
        (None, "time") => "the clock".into(),
        (None, cause) if cause.starts_with("outbox ") => "delivery".into(),
        (None, _) => "the clinic".into(),
    }
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text
            .chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect(),
        other => other.to_string(),
    }
}
