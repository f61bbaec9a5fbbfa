//! Printed figures of mixed vials, and how long they keep.

use crate::facts::{Expected, Held, Sources, Verdict, decimal, is_named, millionths};
use crate::home::{CONFIG, at, order};
use chrono::TimeDelta;
use regex::Regex;
use serde::Deserialize;
use std::collections::BTreeMap;
use vialbell::config::Config;
use vialbell::domain::formulary::Product;
use vialbell::domain::message::Value;
use vialbell::domain::order_check::{label_difference, mass_in_a_vial, order_check};
use vialbell::domain::quantity::{Concentration, Mass, Volume, volume_of_mass};
use vialbell::domain::vial::discard_by;
use vialbell::domain::zone::Zone;

#[derive(Deserialize)]
struct File {
    about: About,
    source: Sources,
    row: Vec<Row>,
    stability: Vec<Stability>,
    disagreement: Vec<Disagreement>,
    no_displacement: Vec<NoDisplacement>,
    from_memory: Vec<Row>,
}

#[derive(Deserialize)]
struct About {
    rows_from_source: usize,
    rows_from_memory: usize,
}

#[derive(Deserialize)]
struct Row {
    id: String,
    drug: String,
    unit: String,
    vial_amount: String,
    diluent_ml: String,
    available_ml: Option<String>,
    conc_printed: String,
    room_temp_hours: Option<u32>,
    refrigerated_hours: Option<u32>,
    fridge_as_printed: Option<String>,
    computed_conc: Option<String>,
    diff_percent: Option<String>,
    agrees_within_5: Option<bool>,
    displaced_ml: Option<String>,
    implied_ml: Option<String>,
    implied_displaced_ml: Option<String>,
    source: String,
}

#[derive(Deserialize)]
struct Stability {
    drug: String,
    condition: String,
    room_temp_hours: Option<u32>,
    refrigerated_hours: Option<u32>,
    source: String,
}

#[derive(Deserialize)]
struct Disagreement {
    row: String,
    computed_conc: String,
    diff_percent: String,
    why_our_reading: String,
}

#[derive(Deserialize)]
struct NoDisplacement {
    row: String,
}

fn file() -> File {
    toml::from_str(include_str!("reconstitution.toml")).unwrap()
}

/// Past this, in hundredths of a percent, the program flags a label (common
/// practice, no source).
const FLAGGED: u32 = 500;

const UNITS: &str = "counted in units; the program counts milligrams only";

impl Row {
    fn available(&self) -> i128 {
        let printed = self.available_ml.as_ref().or(self.implied_ml.as_ref());
        printed.map_or(0, |ml| millionths(ml))
    }

    /// The formulary's product of this label; where no available volume is
    /// printed, what strength and concentration imply.
    fn product(&self) -> Product {
        let (vial, concentration) = (
            Mass::parse(&self.vial_amount).unwrap(),
            Concentration::parse(&self.conc_printed).unwrap(),
        );
        let available = match &self.available_ml {
            Some(printed) => Volume::parse(printed).unwrap(),
            None => volume_of_mass(vial, concentration).unwrap().nearest(),
        };
        Product {
            key: self.id.clone(),
            name: self.drug.clone(),
            vial,
            diluent: "as the label says".into(),
            diluent_volume: Volume::parse(&self.diluent_ml).unwrap(),
            available,
            concentration,
            refrigerated_hours: self.refrigerated_hours.unwrap_or(1),
            room_hours: self.room_temp_hours,
            source: self.source.clone(),
        }
    }

    /// Everything that the program works out from the label, against the print.
    fn compare(&self) -> Expected {
        let mut expected = Expected::default();
        let product = self.product();
        let vial = millionths(&self.vial_amount);
        let diluent = millionths(&self.diluent_ml);
        let available = i128::from(product.available.millionths());
        if self.available_ml.is_some() {
            // What the vial would hold at the printed concentration against what it does hold.
            let held = i128::from(mass_in_a_vial(&product).millionths());
            let off = decimal(100 * (vial - held), held, 1);
            let positive = |text: &str| text.trim_start_matches('-').to_owned();
            if let Some(printed) = &self.diff_percent {
                expected.same("diff_percent", positive(printed), positive(&off));
            }
            if let Some(printed) = &self.computed_conc {
                expected.same(
                    "computed_conc",
                    printed.clone(),
                    decimal(vial, available, 2),
                );
            }
            if let Some(printed) = &self.displaced_ml {
                expected.same("displaced_ml", millionths(printed), available - diluent);
            }
        } else if let Some(printed) = &self.implied_ml {
            let implied = volume_of_mass(product.vial, product.concentration).unwrap();
            let to = Volume::parse("0.001").unwrap();
            let rounded = i128::from(implied.round_to(to).millionths());
            expected.same("implied_ml", millionths(printed), rounded);
            let displaced = self.implied_displaced_ml.as_deref().map(millionths);
            expected.same("implied_displaced_ml", displaced, Some(rounded - diluent));
        }
        expected
    }

    fn is_flagged(&self) -> bool {
        label_difference(&self.product()) > FLAGGED
    }
}

/// Hours of “10 days at 5 C” or “one week under refrigeration”.
fn hours_as_printed(text: &str) -> Option<u32> {
    let shape = Regex::new(r"^(\d+|one) (hour|day|week)s?\b").unwrap();
    let found = shape.captures(text)?;
    let count: u32 = found[1].parse().unwrap_or(1);
    let each = match &found[2] {
        "hour" => 1,
        "day" => 24,
        _ => 168,
    };
    Some(count * each)
}

/// A mixed vial's limit on nights when the clocks stay, go back and go forward.
fn keeps_for(hours: u32, expected: &mut Expected) {
    let row = Row {
        refrigerated_hours: Some(hours),
        ..file().row.swap_remove(0)
    };
    let product = row.product();
    let span = TimeDelta::hours(hours.into());
    for (zone, mixed, change) in [
        ("America/Phoenix", "2026-03-08T03:00:00Z", None),
        // IANA tz database 2026: Denver goes back on 1 November, forward on 8 March, at 02:00.
        ("America/Denver", "2026-11-01T02:00:00Z", None),
        ("America/Denver", "2026-03-08T03:00:00Z", Some(6)),
    ] {
        let limit = discard_by(at(mixed), &product, Zone::named(zone).unwrap());
        // Over the night that lasts 23 hours the calendar reads the label an hour earlier.
        let short = change.is_some_and(|until| hours > until);
        let printed = at(mixed) + span - TimeDelta::hours(i64::from(short));
        expected.same("the limit", printed, limit);
    }
}

pub fn rows() -> Held {
    let file = file();
    let mut recorded: BTreeMap<&str, &Disagreement> = file
        .disagreement
        .iter()
        .map(|d| (d.row.as_str(), d))
        .collect();
    let mut rows = Vec::new();
    for row in &file.row {
        let mut expected = Expected::default();
        expected.that(
            "its source is not named",
            is_named(&file.source, &row.source),
        );
        if let Some(printed) = &row.fridge_as_printed {
            let hours = hours_as_printed(printed);
            expected.same("hours in the refrigerator", hours, row.refrigerated_hours);
        }
        if let Some(hours) = row.refrigerated_hours {
            keeps_for(hours, &mut expected);
        }
        let diluent = millionths(&row.diluent_ml);
        let listed = file.no_displacement.iter().any(|n| n.row == row.id);
        expected.same("no_displacement", listed, row.available() <= diluent);
        if row.unit != "mg" {
            rows.push((
                row.id.clone(),
                expected.or(Verdict::OutOfScope(UNITS.into())),
            ));
            continue;
        }
        let compared = row.compare().or(Verdict::Passed);
        let agrees = row.agrees_within_5.unwrap_or(true);
        expected.same("whether it agrees within 5 %", agrees, !row.is_flagged());
        let verdict = match (recorded.remove(row.id.as_str()), compared) {
            (_, Verdict::Failed(why)) => Verdict::Failed(why),
            (Some(known), _) => {
                expected.that("it is recorded as differing but is not", row.is_flagged());
                expected.same(
                    "computed_conc",
                    Some(&known.computed_conc),
                    row.computed_conc.as_ref(),
                );
                expected.same(
                    "diff_percent",
                    Some(&known.diff_percent),
                    row.diff_percent.as_ref(),
                );
                expected.or(Verdict::Recorded(known.why_our_reading.clone()))
            }
            (None, _) => {
                expected.that(
                    "it differs by more than 5 % and no reason is recorded",
                    !row.is_flagged(),
                );
                expected.or(Verdict::Passed)
            }
        };
        rows.push((row.id.clone(), verdict));
    }
    for row in recorded.keys() {
        rows.push((
            (*row).to_owned(),
            Verdict::Failed("a reason is recorded for no row".into()),
        ));
    }
    for row in &file.from_memory {
        rows.push((row.id.clone(), row.compare().or_shown()));
    }
    Held {
        table: "reconstitution.toml row",
        rows,
    }
}

pub fn stability() -> Held {
    let file = file();
    let verdict = |row: &Stability| {
        let mut expected = Expected::default();
        expected.that(
            "its source is not named",
            is_named(&file.source, &row.source),
        );
        match row.refrigerated_hours {
            Some(hours) => {
                keeps_for(hours, &mut expected);
                expected.or(Verdict::Passed)
            }
            None => {
                expected.that("it has no limit at all", row.room_temp_hours.is_some());
                expected.or(Verdict::OutOfScope(
                    "no time in a refrigerator is printed; a product of the formulary has one"
                        .into(),
                ))
            }
        }
    };
    let rows = file.stability.iter();
    let rows = rows.map(|row| (format!("{}, {}", row.drug, row.condition), verdict(row)));
    Held {
        table: "reconstitution.toml stability",
        rows: rows.collect(),
    }
}

#[test]
fn every_label_passes_or_has_its_disagreement_recorded() {
    rows().none_failed();
    stability().none_failed();
    let file = file();
    assert_eq!(file.row.len(), file.about.rows_from_source);
    assert_eq!(file.from_memory.len(), file.about.rows_from_memory);
}

/// A row that differs and is not recorded fails: the check can fail.
#[test]
fn a_wrong_figure_is_found() {
    let row = |id: &str| file().row.into_iter().find(|row| row.id == id).unwrap();
    let wrong = Row {
        available_ml: Some("2.5".into()),
        ..row("cefazolin-500")
    };
    assert!(matches!(
        wrong.compare().or(Verdict::Passed),
        Verdict::Failed(_)
    ));
    assert!(wrong.is_flagged());
    let wrong = Row {
        implied_ml: Some("1.924".into()),
        ..row("ceftazidime-uk-500-im")
    };
    assert!(matches!(
        wrong.compare().or(Verdict::Passed),
        Verdict::Failed(_)
    ));
}

/// The whole way through: as a formulary the labels are read, and those that
/// `vialbell check` notes and an order's arithmetic flags are those on record.
#[test]
fn a_formulary_of_these_labels_is_noted_where_a_disagreement_is_recorded() {
    let file = file();
    let labels: Vec<&Row> = file
        .row
        .iter()
        .filter(|row| row.unit == "mg" && row.available_ml.is_some())
        .collect();
    assert_eq!(labels.len(), 29);
    let text: String = labels
        .iter()
        .map(|row| {
            format!(
                "[product.{}]\nname = \"{}\"\nvial_mg = \"{}\"\ndiluent = \"as printed\"\ndiluent_ml = \"{}\"\navailable_ml = \"{}\"\nconcentration_mg_per_ml = \"{}\"\nrefrigerated_hours = {}\nsource = \"{}\"\n",
                row.id, row.drug, row.vial_amount, row.diluent_ml, row.available_ml.as_deref().unwrap(),
                row.conc_printed, row.refrigerated_hours.unwrap_or(1), row.source
            )
        })
        .collect();
    let path = std::env::temp_dir().join(format!("vialbell-published-{}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let config = Config::load(&path);
    std::fs::remove_file(&path).unwrap();
    let config = config.unwrap();
    for row in labels {
        let recorded = file.disagreement.iter().any(|d| d.row == row.id);
        let noted = config
            .notes
            .iter()
            .any(|note| note.starts_with(&format!("product {}: ", row.id)));
        assert_eq!(noted, recorded, "{}: {:?}", row.id, config.notes);
        let mut order = order(
            "Juniper",
            "tarnmoss",
            "0.5 mL",
            "2026-03-05T19:30:00",
            &["07:30:00", "19:30:00"],
            "America/Denver",
            1,
        );
        order.product = config.formulary[&row.id].clone();
        let worked = order
            .work_out(&CONFIG.policy, at("2026-03-05T00:00:00Z"))
            .unwrap();
        let check = order_check(&order, &worked, &CONFIG.policy, None);
        let flagged = check.facts.get("label_flag") == Some(&Value::Text("yes".into()));
        assert_eq!(flagged, recorded, "{}", row.id);
    }
}
