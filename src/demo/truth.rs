//! What the program holds to be true, for the panel beside the phones: as keys
//! and facts, which the page says in the language it is read in.

use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::decide::next_look;
use crate::domain::household::{Course, Household};
use crate::domain::message::No;
use crate::domain::policy::Policy;
use crate::domain::quantity::Volume;
use crate::domain::supplies::left;
use crate::domain::supply::Supply;
use crate::store::Caused;
use chrono::{DateTime, FixedOffset};
use serde_json::{Value, json};

/// The journal's last lines that are shown.
const LINES: usize = 14;

pub(super) fn truth(
    household: &Household,
    journal: &[Caused],
    policy: &Policy,
    now: Instant,
) -> Value {
    let course = household.courses.values().next_back();
    let lines: Vec<Value> = journal
        .iter()
        .filter_map(|caused| {
            let line = line_of(&caused.change)?;
            Some(line.at(household.shown(caused.at)))
        })
        .collect();
    json!({
        "vials": course.map(|course| vials(household, course, now)).unwrap_or_default(),
        "next": course.map(|course| next(household, course, policy, now)).unwrap_or_default(),
        "journal": lines[lines.len().saturating_sub(LINES)..],
    })
}

/// A line of the panel. Facts are plain: numbers, names, and words of a closed list.
struct Line {
    key: &'static str,
    facts: Vec<(&'static str, String)>,
}

impl Line {
    fn of(key: &'static str) -> Line {
        debug_assert!(KEYS.contains(&key), "{key}");
        Line {
            key,
            facts: Vec::new(),
        }
    }

    fn with(mut self, name: &'static str, fact: impl ToString) -> Line {
        self.facts.push((name, fact.to_string()));
        self
    }

    fn at(self, at: DateTime<FixedOffset>) -> Value {
        let facts: serde_json::Map<String, Value> = self
            .facts
            .into_iter()
            .map(|(name, fact)| (name.to_owned(), Value::String(fact)))
            .collect();
        json!({ "at": rfc(at), "key": self.key, "facts": facts })
    }
}

fn rfc(at: DateTime<FixedOffset>) -> String {
    at.to_rfc3339()
}

fn vials(household: &Household, course: &Course, now: Instant) -> Vec<Value> {
    let sealed = left(household, course, Supply::Vials).unwrap_or(0);
    let count = course.next_vial() - 1 + sealed;
    (1..=count)
        .map(|number| match course.vials.get(&number) {
            None => json!({
                "number": number.to_string(),
                "state": "sealed",
                "available_ml": course.product.available.number(),
                "remaining_ml": "",
                "discard_by": "",
            }),
            Some(vial) => {
                let left = household.remaining(course, vial);
                let state = match () {
                    () if vial.discarded.is_some() => "discarded",
                    () if vial.discard_by <= now => "past-limit",
                    () if left.is_zero() => "empty",
                    () => "mixed",
                };
                json!({
                    "number": number.to_string(),
                    "state": state,
                    "available_ml": vial.available.number(),
                    "remaining_ml": left.number(),
                    "discard_by": rfc(household.shown(vial.discard_by)),
                })
            }
        })
        .collect()
}

fn next(household: &Household, course: &Course, policy: &Policy, now: Instant) -> Vec<Value> {
    let mut coming: Vec<(Instant, Line)> = Vec::new();
    let open: Vec<(No, Instant)> = household
        .open_doses(course)
        .filter(|_| course.is_running())
        .map(|dose| (dose, course.planned(dose, household.zone).at))
        .take(2)
        .collect();
    for (dose, planned) in &open {
        if *planned > now {
            let due = Line::of("dose-due")
                .with("dose", dose)
                .with("doses", course.doses);
            coming.push((*planned, due));
        } else {
            let closes = *planned + policy.dose.window;
            coming.push((closes, Line::of("window-closes").with("dose", dose)));
            coming.extend(again(course, *dose, *planned, policy, now));
        }
    }
    for vial in course
        .vials
        .values()
        .filter(|v| v.discarded.is_none() && v.discard_by > now)
        .filter(|v| !household.remaining(course, v).is_zero())
    {
        coming.push((
            vial.discard_by,
            Line::of("vial-reaches-limit").with("vial", vial.no),
        ));
    }
    if let Some(at) = next_look(household, policy)
        && coming.iter().all(|(known, _)| *known != at)
    {
        // What is not listed above: warnings ahead of a vial's limit or of the last vial, alerts that wait.
        coming.push((at, Line::of("looks")));
    }
    coming.sort_by_key(|(at, _)| *at);
    coming
        .into_iter()
        .map(|(at, line)| line.at(household.shown(at)))
        .collect()
}

/// When a dose that waits for an answer is asked for again.
fn again(
    course: &Course,
    dose: No,
    planned: Instant,
    policy: &Policy,
    now: Instant,
) -> Option<(Instant, Line)> {
    course.touched.get(&dose).filter(|dose| dose.asked > 0)?;
    let at = policy
        .dose
        .again
        .iter()
        .filter(|after| **after < policy.dose.window)
        .map(|after| planned + *after)
        .find(|at| *at > now)?;
    Some((at, Line::of("asked-again").with("dose", dose)))
}

/// A change as a line; those that only keep the program's own order are left out.
fn line_of(change: &Change) -> Option<Line> {
    Some(match change {
        Change::CarerAdded { name, .. } => Line::of("carer-added").with("name", name),
        Change::CarerJoined { .. } => Line::of("carer-joined"),
        Change::CarerRemoved { .. } => Line::of("carer-removed"),
        Change::CarerReachable {
            reachable: false, ..
        } => Line::of("carer-unreachable"),
        Change::PatientAdded {
            name,
            species,
            weight,
            ..
        } => Line::of("patient-added")
            .with("name", name)
            .with("species", species)
            .with("weight", weight),
        Change::CourseStarted {
            product,
            ordered,
            doses,
            plan,
            ..
        } => Line::of("ordered")
            .with("product", &product.name)
            .with("ordered", ordered)
            .with("volume", plan.volume)
            .with("doses", doses),
        Change::CourseEnded { .. } => Line::of("course-ended"),
        Change::ZoneChanged { zone, .. } => Line::of("zone-changed").with("zone", zone),
        Change::CourseConfirmed { by, .. } => Line::of("confirmed").with("by", by),
        Change::SuppliesCounted { supply, pieces, .. } => Line::of("counted")
            .with("pieces", pieces)
            .with("supply", supply.name()),
        Change::SupplyTold { at: Some(_), .. } => Line::of("supply-told"),
        Change::CourseResumed { .. } => Line::of("goes-on"),
        Change::AmendmentEntered { by, what, .. } => Line::of("change-wanted")
            .with("by", by)
            .with("change", what.name()),
        Change::OrderAmended {
            plan: Some(plan),
            doses,
            by,
            ..
        } => Line::of("order-changed")
            .with("by", by)
            .with("volume", plan.volume)
            .with("doses", doses)
            .with("from", plan.from),
        Change::OrderAmended { doses, by, .. } => Line::of("length-changed")
            .with("by", by)
            .with("doses", doses),
        Change::CoursePaused { by, .. } => Line::of("paused").with("by", by),
        Change::PauseEnded { by, plan, .. } => {
            Line::of("resumed").with("by", by).with("from", plan.from)
        }
        Change::CourseStopped { by, .. } => Line::of("stopped").with("by", by),
        Change::DoseAsked { dose, .. } => Line::of("dose-asked").with("dose", dose),
        Change::DoseClosed { dose, .. } => Line::of("dose-closed").with("dose", dose),
        Change::Administered {
            dose,
            given: true,
            volume,
            draws,
            by,
            ..
        } => given(*dose, volume, draws, by),
        Change::Administered { dose, by, .. } => {
            Line::of("not-given").with("dose", dose).with("by", by)
        }
        Change::AdministrationSuperseded { administration, .. } => {
            Line::of("entered-in-error").with("record", administration)
        }
        Change::DrawsPlaced { administration, .. } => {
            Line::of("vial-known").with("record", administration)
        }
        Change::VialMixed {
            vial, available, ..
        } => Line::of("vial-mixed")
            .with("vial", vial)
            .with("volume", available),
        Change::VialDiscarded { vial, .. } => Line::of("vial-discarded").with("vial", vial),
        Change::LevelSeen { vial, volume, .. } => Line::of("level-seen")
            .with("vial", vial)
            .with("volume", volume),
        Change::VialOut {
            vial,
            since: Some(_),
            ..
        } => Line::of("vial-out").with("vial", vial),
        Change::VialOut {
            vial, since: None, ..
        } => Line::of("vial-back").with("vial", vial),
        Change::VialWarned {
            vial, minutes: 0, ..
        } => Line::of("limit-reached").with("vial", vial),
        Change::VialWarned { vial, minutes, .. } => Line::of("warned-ahead")
            .with("vial", vial)
            .with("hours", minutes / 60),
        Change::AlertRaised { kind, .. } => Line::of("clinic-told").with("kind", kind.name()),
        Change::AlertSeen { by, .. } => Line::of("seen").with("by", by),
        Change::PersonErased { by, .. } => Line::of("erased").with("by", by),
        Change::AlertClimbed { .. } => Line::of("climbed"),
        Change::AlertAnswered { by, .. } => Line::of("answered").with("by", by),
        Change::AlertEnded { how, by, .. } => Line::of("alert-ended")
            .with("by", by)
            .with("ending", how.name()),
        Change::AmendmentAffirmed { .. }
        | Change::AmendmentSettled { .. }
        | Change::CarerMoved { .. }
        | Change::SupplyTold { .. }
        | Change::CarerReachable { .. }
        | Change::CarerSaid { .. }
        | Change::CarerPhone { .. }
        | Change::QuestionAsked { .. }
        | Change::QuestionSettled { .. } => return None,
    })
}

/// A dose that was given, with the vials it was drawn from.
fn given(dose: No, volume: &Volume, draws: &[(Option<No>, Volume, Volume)], by: &str) -> Line {
    let vials: Option<Vec<String>> = draws
        .iter()
        .map(|(vial, drawn, _)| match draws.len() {
            1 => vial.map(|vial| vial.to_string()),
            _ => vial.map(|vial| format!("{vial} ({drawn})")),
        })
        .collect();
    let line = match vials.as_deref() {
        Some([_]) => Line::of("given-from"),
        Some([_, _, ..]) => Line::of("given-from-several"),
        _ => Line::of("given-from-unknown"),
    };
    line.with("dose", dose)
        .with("volume", volume)
        .with("by", by)
        .with("vials", vials.unwrap_or_default().join(", "))
}

/// Every key of a line; the page has words for each in every language.
const KEYS: [&str; 44] = [
    "alert-ended",
    "answered",
    "asked-again",
    "carer-added",
    "carer-joined",
    "carer-removed",
    "carer-unreachable",
    "change-wanted",
    "climbed",
    "clinic-told",
    "confirmed",
    "counted",
    "course-ended",
    "dose-asked",
    "dose-closed",
    "dose-due",
    "entered-in-error",
    "erased",
    "given-from",
    "given-from-several",
    "given-from-unknown",
    "goes-on",
    "length-changed",
    "level-seen",
    "limit-reached",
    "looks",
    "not-given",
    "order-changed",
    "ordered",
    "patient-added",
    "paused",
    "resumed",
    "seen",
    "stopped",
    "supply-told",
    "vial-back",
    "vial-discarded",
    "vial-known",
    "vial-mixed",
    "vial-out",
    "vial-reaches-limit",
    "warned-ahead",
    "window-closes",
    "zone-changed",
];

#[cfg(test)]
mod tests {
    use super::KEYS;

    const PAGE: &str = include_str!("../channel/page/page.js");

    /// The words for the lines, as the page has them for one language.
    fn lines_of(language: &str) -> &'static str {
        let (_, of_language) = PAGE.split_once(&format!("\n  {language}: {{")).unwrap();
        let (_, lines) = of_language.split_once("lines: {").unwrap();
        lines.split_once("\n    },").unwrap().0
    }

    #[test]
    fn the_page_has_words_for_every_line_in_every_language() {
        for language in ["en", "es"] {
            let lines = lines_of(language);
            for key in KEYS {
                assert!(
                    lines.contains(&format!("\"{key}\": ")),
                    "{key} in {language}"
                );
            }
            assert_eq!(lines.matches("\": ").count(), KEYS.len(), "in {language}");
        }
    }
}
