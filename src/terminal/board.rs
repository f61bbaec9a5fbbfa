//! `board` and `household list`: everybody at a glance.

use super::columns::columns;
use super::{ClinicFile, say};
use crate::domain::Instant;
use crate::domain::household::{Course, Household};
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::domain::urgency::Urgency;
use serde_json::{Value, json};

/// Households that are loaded at a time.
const BATCH: usize = 100;

/// The flags of `board`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell board\n  \
    vialbell board --json | jq 'select(.unseen_alerts > 0) | .owner'")]
pub struct Board {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Print one JSON object a line for every patient.
    #[arg(long)]
    json: bool,
}

/// A course under treatment or about to be, as the board shows it.
struct Row {
    urgency: Urgency,
    told: Value,
}

impl Board {
    /// Prints every patient under treatment, those who need somebody first.
    ///
    /// # Errors
    /// Where there are no records, or they cannot be read.
    pub async fn run(self) -> anyhow::Result<()> {
        let engine = self.clinic.engine_to_look().await?;
        let now = engine.now();
        let mut rows = Vec::new();
        for ids in engine.household_numbers().await?.chunks(BATCH) {
            for household in engine.our_households(ids).await? {
                let courses = household.courses.values();
                let courses = courses.filter(|course| course.ended_at.is_none());
                rows.extend(courses.map(|course| row(&household, course, now)));
            }
        }
        rows.sort_by_key(|row| std::cmp::Reverse(row.urgency));
        let told: Vec<Value> = rows.into_iter().map(|row| row.told).collect();
        if self.json {
            return told.iter().try_for_each(|row| say(&row.to_string()));
        }
        if told.is_empty() {
            return say("nobody is under treatment");
        }
        table(
            &told,
            &[
                ("COURSE", "number"),
                ("PATIENT", "patient"),
                ("OWNER", "owner"),
                ("STATE", "state"),
                ("GIVEN", "given_of"),
                ("MISSED", "missed"),
                ("ALERTS", "unseen_alerts"),
                ("LAST GIVEN", "last_given"),
                ("NEXT DOSE", "next_dose"),
                ("VIAL", "vial"),
                ("LEFT ML", "vial_remaining_ml"),
                ("DISCARD BY", "discard_by"),
                ("SEALED", "vials_left"),
            ],
        )
    }
}

fn row(household: &Household, course: &Course, now: Instant) -> Row {
    let shown = |at: Instant| household.shown(at).to_rfc3339();
    let urgency = Urgency::of(household, course, now);
    let given = household.given(course.no);
    let vial = household.open_vial(course, now);
    let state = match (&course.confirmed, &course.paused) {
        (None, _) => "not confirmed",
        (Some(_), Some(_)) => "paused",
        (Some(_), None) => "under way",
    };
    let next = household
        .open_doses(course)
        .next()
        .filter(|_| course.is_running())
        .map(|dose| course.planned(dose, household.zone).shown().to_rfc3339());
    Row {
        urgency,
        told: json!({
            "household": household.id,
            "course": course.no,
            "number": format!("{}.{}", household.id, course.no),
            "patient": household.patient_of(course),
            "owner": household.owner,
            "product": course.product.name,
            "state": state,
            "given": given,
            "doses": course.doses,
            "given_of": format!("{given}/{}", course.doses),
            "missed": urgency.missed,
            "unseen_alerts": urgency.unseen,
            "last_given": household.last_given(course.no).map(|last| shown(last.at)),
            "next_dose": next,
            "vial": vial.map(|vial| vial.no),
            "vial_remaining_ml": vial.map(|vial| household.remaining(course, vial)),
            "discard_by": vial.map(|vial| shown(vial.discard_by)),
            "vials_left": left(household, course, Supply::Vials),
        }),
    }
}

/// Prints rows below their headings.
fn table(rows: &[Value], headings: &[(&str, &str)]) -> anyhow::Result<()> {
    let mut lines = vec![
        headings
            .iter()
            .map(|(title, _)| (*title).to_owned())
            .collect(),
    ];
    lines.extend(rows.iter().map(|row| {
        let cells = headings.iter().map(|(_, key)| cell(&row[*key]));
        cells.collect::<Vec<String>>()
    }));
    columns(&lines).iter().try_for_each(|line| say(line))
}

fn cell(value: &Value) -> String {
    match value {
        Value::Null => "-".into(),
        Value::String(text) => text.clone(),
        Value::Array(values) => values.iter().map(cell).collect::<Vec<_>>().join(", "),
        other => other.to_string(),
    }
}

/// The flags of `household`.
#[derive(clap::Args)]
pub struct HouseholdCommand {
    #[command(subcommand)]
    what: HouseholdWhat,
}

#[derive(clap::Subcommand)]
enum HouseholdWhat {
    /// Print every household on record, those without a course under way too.
    #[command(after_help = "Example:\n  vialbell household list")]
    List {
        #[command(flatten)]
        clinic: ClinicFile,
        /// Print one JSON object a line for every household.
        #[arg(long)]
        json: bool,
    },
}

impl HouseholdCommand {
    /// Prints the households.
    ///
    /// # Errors
    /// Where there are no records, or they cannot be read.
    pub async fn run(self) -> anyhow::Result<()> {
        let HouseholdWhat::List { clinic, json } = self.what;
        let engine = clinic.engine_to_look().await?;
        let mut told = Vec::new();
        for ids in engine.household_numbers().await?.chunks(BATCH) {
            told.extend(engine.our_households(ids).await?.iter().map(in_short));
        }
        if json {
            return told.iter().try_for_each(|row| say(&row.to_string()));
        }
        if told.is_empty() {
            return say("no household is on record");
        }
        table(
            &told,
            &[
                ("HOUSEHOLD", "household"),
                ("OWNER", "owner"),
                ("PATIENTS", "patients"),
                ("CARERS", "carers"),
                ("NOT JOINED", "not_joined"),
                ("UNDER WAY", "under_way"),
                ("ENDED", "ended"),
                ("ZONE", "zone"),
            ],
        )
    }
}

fn in_short(household: &Household) -> Value {
    let joined = |wanted: bool| -> Vec<&str> {
        let carers = household.carers.values();
        carers
            .filter(|carer| carer.chat.is_some() == wanted)
            .map(|carer| carer.name.as_str())
            .collect()
    };
    let courses = |wanted: fn(&Course) -> bool| -> Vec<String> {
        let courses = household.courses.values().filter(|course| wanted(course));
        courses
            .map(|course| format!("{}.{}", household.id, course.no))
            .collect()
    };
    let patients: Vec<&str> = household
        .patients
        .values()
        .map(|p| p.name.as_str())
        .collect();
    json!({
        "household": household.id,
        "owner": household.owner,
        "patients": patients,
        "carers": joined(true),
        "not_joined": joined(false),
        "under_way": courses(|course| course.ended_at.is_none()),
        "ended": courses(|course| course.ended_at.is_some()),
        "zone": household.zone.name(),
        "language": household.language,
    })
}
