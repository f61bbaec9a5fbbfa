//! Syringes, sharps and asepsis as printed, and what everybody does and nobody prints.

use crate::facts::{Expected, Held, Sources, Verdict, is_named};
use crate::home::{CONFIG, at, order};
use regex::Regex;
use serde::Deserialize;
use vialbell::config::Config;
use vialbell::domain::forecast::forecast_order;
use vialbell::domain::policy::{SharpsContainer, Syringe};
use vialbell::domain::prescription::WorkedOrder;
use vialbell::domain::quantity::Volume;
use vialbell::domain::question::StepTopic;
use vialbell::domain::supplies::{Supplies, containers};

#[derive(Deserialize)]
struct File {
    source: Sources,
    syringe: Vec<SyringeRow>,
    choice: Vec<Fact>,
    sharps: Vec<Fact>,
    asepsis: Vec<Fact>,
    from_memory: Vec<Fact>,
}

#[derive(Deserialize)]
struct SyringeRow {
    size_ml: String,
    kind: String,
    interval_ml: String,
    source: String,
    note: Option<String>,
}

#[derive(Deserialize)]
struct Fact {
    id: String,
    fact: String,
    source: String,
}

fn file() -> File {
    toml::from_str(include_str!("injection-practice.toml")).unwrap()
}

fn ml(text: &str) -> Volume {
    Volume::parse(text).unwrap()
}

/// The syringe that a volume is drawn in, and its marks.
fn syringe(volume: &str) -> (String, String) {
    let Syringe { size, graduation } = CONFIG.policy.syringe_for(ml(volume)).unwrap();
    (size.number(), graduation.number())
}

fn syringe_row(row: &SyringeRow, mut expected: Expected) -> Verdict {
    let printed = ml(&row.interval_ml);
    let size = row.size_ml.split([' ', ',']).next().unwrap();
    let ours = CONFIG.policy.syringes.iter().find(|s| s.size == ml(size));
    match (ours, &row.note) {
        (None, _) => expected.or(Verdict::OutOfScope(
            "larger than any syringe handed out by default; a clinic may list it".into(),
        )),
        (Some(ours), _) if ours.graduation == printed => expected.or(Verdict::Passed),
        (Some(ours), Some(why)) if why.contains("disagrees") => {
            expected.that(
                "the clinic could not list it",
                ours.size.millionths() % printed.millionths() == 0,
            );
            expected.or(Verdict::Recorded(why.clone()))
        }
        (Some(ours), _) => {
            expected.same("interval_ml", printed, ours.graduation);
            expected.or(Verdict::Passed)
        }
    }
}

pub fn syringes() -> Held {
    let file = file();
    let rows = file.syringe.iter().map(|row| {
        let mut expected = Expected::default();
        expected.that(
            "its source is not named",
            is_named(&file.source, &row.source),
        );
        let id = format!("{} mL {} ({})", row.size_ml, row.kind, row.source);
        (id, syringe_row(row, expected))
    });
    Held {
        table: "injection-practice.toml syringe",
        rows: rows.collect(),
    }
}

/// The example clinic's own steps on a topic, in one text.
fn steps(topic: StepTopic) -> String {
    let of = CONFIG
        .policy
        .protocol
        .iter()
        .filter(|p| p.topic == topic && p.language == "en");
    let text: Vec<&str> = of.flat_map(|p| &p.steps).map(String::as_str).collect();
    text.join("\n").to_lowercase()
}

fn fact(fact: &Fact, mut expected: Expected) -> Verdict {
    let says = |expected: &mut Expected, topic, words: &[&str]| {
        let steps = steps(topic);
        for word in words {
            expected.that(
                &format!("the example steps do not say “{word}”"),
                steps.contains(word),
            );
        }
    };
    match fact.id.as_str() {
        "under-1-ml" | "smallest" => {
            expected.same("0.25 mL", ("1".into(), "0.01".into()), syringe("0.25"));
            expected.same("0.99 mL", ("1".into(), "0.01".into()), syringe("0.99"));
        }
        "syringe-sets-rounding" | "syringe-sets-rounding-2" => {
            expected.same("0.5 mL", ("1".into(), "0.01".into()), syringe("0.5"));
            expected.same("2.25 mL", ("3".into(), "0.1".into()), syringe("2.25"));
        }
        "read-edge" => says(
            &mut expected,
            StepTopic::DrawingUp,
            &["eye level", "edge of the seal", "push out the air"],
        ),
        "full-3-4" => {
            let size = |holds| SharpsContainer {
                size: "1 L".into(),
                holds,
            };
            for (sharps, holds, count) in [(75, 100, 1), (76, 100, 2), (150, 200, 1), (301, 100, 5)]
            {
                let chosen = containers(sharps, &[size(holds)]).map(|(_, count)| count);
                expected.same("containers", Some(count), chosen);
            }
            says(&mut expected, StepTopic::Sharps, &["three quarters"]);
        }
        "at-once" => {
            says(&mut expected, StepTopic::Sharps, &["at once"]);
            says(&mut expected, StepTopic::Injecting, &["at once"]);
        }
        "no-reuse-container" => says(
            &mut expected,
            StepTopic::Sharps,
            &["not emptied or used again"],
        ),
        "reach" => says(
            &mut expected,
            StepTopic::Sharps,
            &["out of reach of children and animals"],
        ),
        "no-recap" | "handout-recap" | "handout-recap-2" => {
            // The sources contradict each other: the program says neither.
            let recap = Regex::new(
                r"(?i)\brecap|\b(un)?cap (the|a|your|each) |reencapuch|tap(e|ar) la aguja",
            )
            .unwrap();
            expected.that(
                "a text speaks of recapping",
                !super::wording::texts().iter().any(|t| recap.is_match(t)),
            );
            expected.that(
                "the search finds nothing",
                recap.is_match("Recap carefully") && recap.is_match("cap the needle"),
            );
        }
        "one-one-one" => {
            let needed = Supplies::of(56, 4);
            expected.same("syringes", 56, needed.syringes);
            expected.that("a needle is used twice", needed.needles >= 56);
            says(
                &mut expected,
                StepTopic::DrawingUp,
                &["new needle and a new syringe"],
            );
        }
        "no-used-needle-in-vial" => {
            // A dose over two vials enters two vials: two syringes.
            expected.same("syringes", 2, Supplies::of(2, 2).syringes);
            says(
                &mut expected,
                StepTopic::DrawingUp,
                &["a used one never goes into a vial"],
            );
        }
        other => return Verdict::Failed(format!("nothing holds {other}")),
    }
    expected.or(Verdict::Passed)
}

fn held(table: &'static str, facts: &[Fact], sources: &Sources) -> Held {
    let rows = facts.iter().map(|row| {
        let mut expected = Expected::default();
        expected.that("its source is not named", is_named(sources, &row.source));
        (row.id.clone(), fact(row, expected))
    });
    Held {
        table,
        rows: rows.collect(),
    }
}

pub fn choices() -> Held {
    let file = file();
    held("injection-practice.toml choice", &file.choice, &file.source)
}

pub fn sharps() -> Held {
    let file = file();
    held("injection-practice.toml sharps", &file.sharps, &file.source)
}

pub fn asepsis() -> Held {
    let file = file();
    let mut held = held(
        "injection-practice.toml asepsis",
        &file.asepsis,
        &file.source,
    );
    let memory = file
        .from_memory
        .iter()
        .map(|row| (row.id.clone(), Verdict::FromMemory(row.fact.clone())));
    held.rows.extend(memory);
    held
}

#[test]
fn every_row_on_syringes_sharps_and_asepsis_passes_or_says_why_not() {
    for held in [syringes(), choices(), sharps(), asepsis()] {
        held.none_failed();
    }
}

/// Sizes and marks of a clinic that lists none are those of the example.
#[test]
fn the_syringes_of_the_example_are_the_ones_that_count_by_default() {
    let path = std::env::temp_dir().join(format!("vialbell-syringes-{}.toml", std::process::id()));
    std::fs::write(
        &path,
        "[clinic]\nname = \"Here\"\nphone = \"+1 555 0100\"\n",
    )
    .unwrap();
    let config = Config::load(&path);
    std::fs::remove_file(&path).unwrap();
    assert_eq!(config.unwrap().policy.syringes, CONFIG.policy.syringes);
}

// ------------------------------------------------- common practice, no source

const TWICE: [&str; 2] = ["08:00:00", "20:00:00"];

fn worked(dose: &str, times: &[&str]) -> WorkedOrder {
    order(
        "Juniper",
        "tarnmoss",
        dose,
        "2026-06-01T08:00:00",
        times,
        "America/Denver",
        14,
    )
    .work_out(&CONFIG.policy, at("2026-06-01T13:00:00Z"))
    .unwrap()
}

/// Common practice, no source: 3 mL of diluent to a vial.
#[test]
fn three_ml_of_diluent_go_into_a_vial() {
    assert_eq!(CONFIG.formulary["tarnmoss"].diluent_volume, ml("3"));
}

/// Common practice, no source: a dose of 1.5 mL is read on a 3 mL syringe.
#[test]
fn one_and_a_half_ml_read_on_a_three_ml_syringe() {
    let worked = worked("1.5 mL", &TWICE);
    assert_eq!((worked.volume, worked.syringe.size), (ml("1.5"), ml("3")));
    assert_eq!(
        worked.syringe.graduation,
        ml("0.1"),
        "1.5 mL is one of its marks"
    );
}

/// Common practice, no source: a dose of more than 3 mL takes the 5 mL syringe.
#[test]
fn more_than_three_ml_take_the_five_ml_syringe() {
    assert_eq!(worked("3 mL", &TWICE).syringe.size, ml("3"));
    for dose in ["3.01 mL", "3.2 mL", "5 mL"] {
        assert_eq!(worked(dose, &TWICE).syringe.size, ml("5"), "{dose}");
    }
    assert_eq!(worked("5.2 mL", &TWICE).syringe.size, ml("10"));
}

/// Common practice, no source: two doses a day, twelve hours apart.
#[test]
fn two_doses_a_day_are_taken_and_three_are_not_without_the_clinic_s_word() {
    let plan = worked("1.5 mL", &TWICE).plan;
    assert_eq!(
        (plan.planned(1).date(), plan.planned(2).date()),
        (plan.planned(1).date(), plan.planned(1).date())
    );
    assert_eq!((plan.planned(3) - plan.planned(1)).num_hours(), 24);
    let thrice = order(
        "Juniper",
        "tarnmoss",
        "1.5 mL",
        "2026-06-01T08:00:00",
        &["00:00:00", "08:00:00", "16:00:00"],
        "America/Denver",
        14,
    );
    assert!(
        thrice
            .work_out(&CONFIG.policy, at("2026-06-01T13:00:00Z"))
            .is_err()
    );
}

/// Common practice, no source: a large patient's dose may need a second vial.
#[test]
fn a_large_patient_s_dose_takes_a_second_vial() {
    // 70 kg at 18 mg/kg and 280 mg/mL: 4.5 mL, from vials that give 3.6 mL.
    let mut order = order(
        "Juniper",
        "tarnmoss",
        "18 mg/kg",
        "2026-06-01T08:00:00",
        &TWICE,
        "America/Denver",
        2,
    );
    order.weight = vialbell::domain::quantity::Weight::parse_kg("70").unwrap();
    let now = at("2026-06-01T13:00:00Z");
    let worked = order.work_out(&CONFIG.policy, now).unwrap();
    assert_eq!(
        worked.volume,
        ml("4.6"),
        "4.5 mL at a mark of the 5 mL syringe, half up"
    );
    let ahead = forecast_order(
        &worked.plan,
        worked.doses,
        &order.product,
        order.zone,
        &CONFIG.policy.vial,
    );
    assert_eq!(
        ahead.doses[0]
            .draws
            .iter()
            .map(|d| d.vial)
            .collect::<Vec<_>>(),
        [Some(1), Some(2)]
    );
    assert_eq!(ahead.supplies().syringes, 4, "one for each draw");
    let mut policy = CONFIG.policy.clone();
    policy.vial.split = false;
    let wrong: Vec<String> = order
        .work_out(&policy, now)
        .unwrap_err()
        .iter()
        .map(ToString::to_string)
        .collect();
    assert_eq!(
        wrong,
        [
            "prescription.dose: 4.6 mL is more than one whole vial holds and the clinic does not allow a dose from two vials (3.6 mL)"
        ]
    );
}

/// Common practice, no source: powder at room temperature, mixed vials in the
/// refrigerator. The program counts a vial's limit in the refrigerator, and
/// only from its mixing on.
#[test]
fn the_limit_of_a_mixed_vial_is_the_one_in_the_refrigerator() {
    let order = order(
        "Juniper",
        "tarnmoss",
        "1.5 mL",
        "2026-06-01T08:00:00",
        &TWICE,
        "America/Denver",
        1,
    );
    let worked = order
        .work_out(&CONFIG.policy, at("2026-06-01T13:00:00Z"))
        .unwrap();
    let ahead = forecast_order(
        &worked.plan,
        1,
        &order.product,
        order.zone,
        &CONFIG.policy.vial,
    );
    let kept = ahead.mixes[0].discard_by - ahead.mixes[0].at;
    assert_eq!(
        kept.num_hours(),
        i64::from(order.product.refrigerated_hours)
    );
    assert!(
        order
            .product
            .room_hours
            .is_some_and(|hours| hours < order.product.refrigerated_hours)
    );
}
