//! `course`: one course with all that happened.

use super::columns::columns;
use super::course_number::CourseNumber;
use super::{ClinicFile, say};
use crate::domain::Instant;
use crate::domain::household::{Course, Household};
use crate::domain::quantity::Volume;
use crate::paper::record::{CourseStatus, Record, Row, rows};
use serde_json::{Value, json};

/// The flags of `course`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell course 1.1\n  \
    vialbell course 1.1 --json | jq '.doses[] | select(.status == \"unknown\")'")]
pub struct CourseCommand {
    #[command(flatten)]
    clinic: ClinicFile,
    /// Print one JSON object.
    #[arg(long)]
    json: bool,
    /// Which course, such as 1.1: household 1, course 1.
    #[arg(value_name = "HOUSEHOLD.COURSE")]
    number: CourseNumber,
}

impl CourseCommand {
    /// Prints the course.
    ///
    /// # Errors
    /// Where there is no such course.
    pub async fn run(self) -> anyhow::Result<()> {
        let engine = self.clinic.engine_to_look().await?;
        let household = self.number.household(&engine).await?;
        let course = self.number.course(&household)?;
        let record = Record {
            clinic: &engine.policy().clinic,
            household: &household,
            course,
            dispensed: &[],
            now: engine.now(),
        };
        if self.json {
            return say(&in_json(&record).to_string());
        }
        in_words(&record).iter().try_for_each(|line| say(line))
    }
}

fn in_json(record: &Record<'_>) -> Value {
    let (household, course) = (record.household, record.course);
    let shown = |at: Instant| household.shown(at).to_rfc3339();
    let patient = household.patients.get(&course.patient);
    let plans: Vec<Value> = course
        .plans
        .iter()
        .map(|plan| {
            let times: Vec<String> = plan
                .times
                .iter()
                .map(|t| t.format("%H:%M").to_string())
                .collect();
            json!({
                "from_dose": plan.from,
                "first": course.planned(plan.from, household.zone).shown().to_rfc3339(),
                "times": times,
                "volume_ml": plan.volume,
            })
        })
        .collect();
    let vials: Vec<Value> = course
        .vials
        .values()
        .map(|vial| {
            json!({
                "vial": vial.no,
                "mixed_at": shown(vial.mixed_at),
                "by": vial.by,
                "available_ml": vial.available,
                "remaining_ml": household.remaining(course, vial),
                "discard_by": shown(vial.discard_by),
                "discarded_at": vial.discarded.as_ref().map(|d| shown(d.at)),
            })
        })
        .collect();
    let supplies: Vec<Value> = course
        .counted
        .iter()
        .map(|(supply, counted)| {
            json!({ "supply": supply.name(), "pieces": counted.pieces, "counted_at": shown(counted.at) })
        })
        .collect();
    let alerts: Vec<Value> = household
        .alerts
        .values()
        .filter(|alert| alert.seen.is_none())
        .filter(|alert| alert.dose.is_none_or(|(of, _)| of == course.no))
        .map(|alert| json!({ "kind": alert.kind.name(), "raised_at": shown(alert.raised_at), "text": alert.text }))
        .collect();
    json!({
        "household": household.id,
        "course": course.no,
        "patient": household.patient_of(course),
        "species": patient.map(|patient| &patient.species),
        "weight": patient.map(|patient| &patient.weight),
        "owner": household.owner,
        "zone": household.zone.name(),
        "status": CourseStatus::of(household, course).code(),
        "product": course.product.name,
        "ordered": course.ordered,
        "veterinarian": course.veterinarian,
        "entered_by": course.entered_by,
        "confirmed_by": course.confirmed.as_ref().map(|(_, by)| by),
        "started_at": shown(course.started_at),
        "ended_at": course.ended_at.map(shown),
        "doses_planned": course.doses,
        "given": household.given(course.no),
        "missed": household.missed(course),
        "plans": plans,
        "supplies": supplies,
        "vials": vials,
        "unseen_alerts": alerts,
        "doses": rows(record).iter().map(|row| dose(household, course, row)).collect::<Vec<_>>(),
    })
}

fn dose(household: &Household, course: &Course, row: &Row<'_>) -> Value {
    let shown = |at: Instant| row.planned.zone.local(at).to_rfc3339();
    let made = row.record;
    let draws: Vec<Value> = made
        .iter()
        .flat_map(|made| &made.draws)
        .map(|draw| json!({ "vial": draw.vial, "volume_ml": draw.volume, "lost_ml": draw.lost }))
        .collect();
    json!({
        "dose": row.dose,
        "of": course.doses,
        "planned": row.planned.shown().to_rfc3339(),
        "status": row.status().code(),
        "given_at": row.given_at().map(shown),
        "volume_ml": row.given_at().and(made).map(|made| made.volume),
        "draws": draws,
        "by": made.map(|made| &made.by),
        "carer": made.map(|made| household.carer_name(made.carer)),
        "recorded_at": made.map(|made| shown(made.recorded_at)),
        "superseded_at": made.and_then(|made| made.superseded_at).map(shown),
        "window_closed_at": row.closed_at.map(shown),
    })
}

fn in_words(record: &Record<'_>) -> Vec<String> {
    let (household, course) = (record.household, record.course);
    let told = in_json(record);
    let text = |key: &str| match &told[key] {
        Value::String(text) => text.clone(),
        Value::Null => "-".into(),
        other => other.to_string(),
    };
    let mut lines = columns(
        &[
            ("course", format!("{}.{}", household.id, course.no)),
            (
                "patient",
                format!(
                    "{}, {}, {}",
                    text("patient"),
                    text("species"),
                    text("weight")
                ),
            ),
            ("owner", text("owner")),
            (
                "ordered",
                format!(
                    "{}, {}, by {}",
                    text("product"),
                    text("ordered"),
                    text("veterinarian")
                ),
            ),
            ("status", text("status")),
            (
                "entered by",
                format!("{}, {}", text("entered_by"), text("started_at")),
            ),
            ("confirmed by", text("confirmed_by")),
            ("ended", text("ended_at")),
            (
                "doses",
                format!(
                    "{} of {} given, {} missed",
                    text("given"),
                    text("doses_planned"),
                    text("missed")
                ),
            ),
        ]
        .map(|(name, value)| vec![name.to_owned(), value]),
    );
    for plan in &course.plans {
        let times: Vec<String> = plan
            .times
            .iter()
            .map(|t| t.format("%H:%M").to_string())
            .collect();
        lines.push(format!(
            "from dose {}: {} at {} ({})",
            plan.from,
            plan.volume,
            times.join(", "),
            household.zone
        ));
    }
    for (supply, counted) in &course.counted {
        let at = household.shown(counted.at).to_rfc3339();
        lines.push(format!(
            "{}: {} counted {at}",
            supply.name(),
            counted.pieces
        ));
    }
    for vial in course.vials.values() {
        let left = household.remaining(course, vial);
        let end = match &vial.discarded {
            Some(discarded) => format!("discarded {}", household.shown(discarded.at).to_rfc3339()),
            None => format!(
                "discard by {}",
                household.shown(vial.discard_by).to_rfc3339()
            ),
        };
        let mixed = household.shown(vial.mixed_at).to_rfc3339();
        lines.push(format!(
            "vial {}: mixed {mixed} by {}, {left} of {} left, {end}",
            vial.no, vial.by, vial.available
        ));
    }
    for alert in told["unseen_alerts"].as_array().into_iter().flatten() {
        let cell = |key: &str| alert[key].as_str().unwrap_or_default().to_owned();
        lines.push(format!(
            "unseen: {} {} {}",
            cell("kind"),
            cell("raised_at"),
            cell("text")
        ));
    }
    let rows: Vec<Vec<String>> = rows(record)
        .iter()
        .map(|row| dose_in_words(household, row))
        .collect();
    lines.extend(columns(&rows));
    lines
}

fn dose_in_words(household: &Household, row: &Row<'_>) -> Vec<String> {
    let shown = |at: Instant| row.planned.zone.local(at).to_rfc3339();
    let made = row.record;
    let vials: Vec<String> = made
        .iter()
        .flat_map(|made| &made.draws)
        .map(|draw| {
            let vial = draw
                .vial
                .map_or("no known vial".into(), |vial| format!("vial {vial}"));
            format!("{} from {vial}", draw.volume)
        })
        .collect();
    let volume = row.given_at().and(made).map(|made| made.volume);
    let mut what = vec![
        volume.map(|volume: Volume| volume.to_string()),
        row.given_at().map(|at| format!("at {}", shown(at))),
        (!vials.is_empty()).then(|| format!("({})", vials.join(", "))),
        made.map(|made| format!("by {}", made.by)),
        made.map(|made| {
            format!(
                "recorded {} by {}",
                shown(made.recorded_at),
                household.carer_name(made.carer)
            )
        }),
    ];
    if let Some(at) = made.and_then(|made| made.superseded_at) {
        what.push(Some(format!("superseded {}", shown(at))));
    }
    if made.is_none() {
        what.push(
            row.closed_at
                .map(|at| format!("no answer until {}", shown(at))),
        );
    }
    let what: Vec<String> = what.into_iter().flatten().collect();
    vec![
        format!("dose {}", row.dose),
        row.planned.shown().to_rfc3339(),
        row.status().code().into(),
        what.join(" "),
    ]
}
