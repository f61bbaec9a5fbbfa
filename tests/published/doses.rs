//! Worked examples with their printed answers, and the rules by which they are rounded.

use crate::facts::{Expected, Held, Sources, Verdict, decimal, is_named, millionths};
use crate::home::CONFIG;
use serde::Deserialize;
use vialbell::domain::quantity::{
    Concentration, DoseRate, ExactVolume, Mass, OrderedDose, Volume, Weight, mass_for_weight,
    volume_of_mass,
};

#[derive(Deserialize)]
struct File {
    about: About,
    source: Sources,
    example: Vec<Example>,
    rounding_rule: Vec<Rule>,
    conversion: Vec<Rule>,
    from_memory: Vec<Rule>,
}

#[derive(Deserialize)]
struct About {
    examples: usize,
    from_memory: usize,
}

#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Kind {
    Volume,
    WeightConversion,
    DosesPerVial,
    FinalVolume,
    Narrative,
}

#[derive(Deserialize)]
struct Example {
    id: String,
    source: String,
    kind: Kind,
    unit: Option<String>,
    weight_kg: Option<String>,
    weight_lb: Option<String>,
    computed_kg: Option<String>,
    dose_per_kg: Option<String>,
    computed_dose: Option<String>,
    have_amount: Option<String>,
    have_per_ml: Option<String>,
    places: Option<u32>,
    computed_ml_rounded: Option<String>,
    computed_ml_rounded_half_even: Option<String>,
    printed_ml: Option<String>,
    agrees: Option<bool>,
    vial_ml: Option<String>,
    dose_ml: Option<String>,
    printed_doses: Option<String>,
    note: Option<String>,
}

#[derive(Deserialize)]
struct Rule {
    id: String,
    fact: String,
    source: String,
}

fn file() -> File {
    toml::from_str(include_str!("dose-calculations.toml")).unwrap()
}

fn ml(text: &str) -> Volume {
    Volume::parse(text).unwrap()
}

fn exact(text: &str) -> ExactVolume {
    ExactVolume::from(ml(text))
}

/// The graduation that rounds to so many decimals.
fn graduation(places: u32) -> Volume {
    Volume::from_millionths(10_i64.pow(6 - places))
}

/// 2.2 lb a kilogram, as the sources take it, overstates a weight by less than this
/// (2.2 against 1 / 0.45359237).
const POUND_HUNDREDTHS_OF_PERCENT: i128 = 22;

fn within_the_pound(ours: i128, printed: i128) -> bool {
    (ours - printed).abs() * 10_000 <= POUND_HUNDREDTHS_OF_PERCENT * printed
}

impl Example {
    /// The weight, which does not matter to an order by mass.
    fn weight(&self) -> Weight {
        match (&self.weight_kg, &self.weight_lb) {
            (Some(kg), None) => Weight::parse_kg(kg).unwrap(),
            (None, Some(lb)) => Weight::parse_lb(lb).unwrap(),
            _ => Weight::parse_kg("1").unwrap(),
        }
    }

    fn weight_agrees(&self, expected: &mut Expected) {
        if let Some(printed) = &self.computed_kg {
            let ours = i128::from(self.weight().kg_millionths());
            expected.that(
                "the weight differs by more than the pound",
                within_the_pound(ours, millionths(printed)),
            );
        }
    }

    fn volume_agrees(&self, mut expected: Expected) -> Verdict {
        let dose = match (&self.dose_per_kg, &self.computed_dose) {
            (Some(rate), _) => OrderedDose::PerKilogram(DoseRate::parse(rate).unwrap()),
            (None, dose) => OrderedDose::Mass(Mass::parse(dose.as_ref().unwrap()).unwrap()),
        };
        if let (OrderedDose::PerKilogram(rate), Some(printed)) = (dose, &self.computed_dose) {
            let ours = i128::from(mass_for_weight(rate, self.weight()).millionths());
            expected.that(
                "the mass differs by more than the pound",
                within_the_pound(ours, millionths(printed)),
            );
        }
        // “100 mg in 2.1 mL” is no whole number of mg/mL: taken to the nearest millionth.
        let per_ml = decimal(
            millionths(self.have_amount.as_ref().unwrap()),
            millionths(self.have_per_ml.as_ref().unwrap()),
            6,
        );
        let concentration = Concentration::parse(&per_ml).unwrap();
        let volume = dose.volume(self.weight(), concentration).unwrap();
        let rounded = volume.round_to(graduation(self.places.unwrap()));
        let same = |text: &Option<String>| text.as_deref().map(ml) == Some(rounded);
        expected.same(
            "computed_ml_rounded",
            self.computed_ml_rounded.as_deref().map(ml),
            Some(rounded),
        );
        if self.computed_ml_rounded != self.computed_ml_rounded_half_even {
            expected.that(
                "a tie goes to even",
                !same(&self.computed_ml_rounded_half_even),
            );
        }
        match (&self.printed_ml, self.agrees, &self.note) {
            (None, _, _) => expected.or(Verdict::Passed),
            (printed, Some(true), _) => {
                expected.that("ours is not what is printed", same(printed));
                expected.or(Verdict::Passed)
            }
            (printed, _, Some(why)) => {
                expected.that("it is recorded as differing but is not", !same(printed));
                expected.or(Verdict::Recorded(why.clone()))
            }
            (_, _, None) => Verdict::Failed("it differs and no reason is recorded".into()),
        }
    }

    fn verdict(&self, sources: &Sources) -> Verdict {
        let mut expected = Expected::default();
        expected.that("its source is not named", is_named(sources, &self.source));
        self.weight_agrees(&mut expected);
        let out = |expected: Expected, why: &str| expected.or(Verdict::OutOfScope(why.into()));
        match self.kind {
            Kind::Volume if self.unit.is_some() => out(
                expected,
                "counted in units; the program counts milligrams only",
            ),
            Kind::Volume => self.volume_agrees(expected),
            Kind::WeightConversion => expected.or(Verdict::Passed),
            Kind::DosesPerVial => {
                let doses = self
                    .vial_ml
                    .as_deref()
                    .map(ml)
                    .unwrap()
                    .holds(self.dose_ml.as_deref().map(ml).unwrap());
                expected.same("doses", self.printed_doses.clone(), Some(doses.to_string()));
                expected.or(Verdict::Passed)
            }
            Kind::FinalVolume => out(
                expected,
                "an available volume is taken from the label, never worked out from a displaced volume, which is no constant of a drug",
            ),
            Kind::Narrative => out(
                expected,
                "how much diluent reaches another concentration is the veterinarian's to say",
            ),
        }
    }
}

pub fn examples() -> Held {
    let file = file();
    let rows = file.example.iter();
    let rows = rows.map(|example| (example.id.clone(), example.verdict(&file.source)));
    Held {
        table: "dose-calculations.toml example",
        rows: rows.collect(),
    }
}

/// The place that the clinic's syringes round a volume to, in mL.
fn mark(volume: &str) -> String {
    CONFIG
        .policy
        .syringe_for(ml(volume))
        .unwrap()
        .graduation
        .number()
}

/// Each pair, rounded to so many places as the syringe does.
fn rounds(expected: &mut Expected, places: u32, pairs: &[(&str, &str)]) {
    for (from, to) in pairs {
        expected.same(from, ml(to), exact(from).round_to(graduation(places)));
    }
}

fn rule(rule: &Rule, mut expected: Expected) -> Verdict {
    match rule.id.as_str() {
        "under-1-ml-hundredth" => {
            for volume in ["0.01", "0.5", "0.999"] {
                expected.same(volume, "0.01".into(), mark(volume));
            }
        }
        "over-1-ml-tenth" => {
            for volume in ["1.01", "2.5", "3"] {
                expected.same(volume, "0.1".into(), mark(volume));
            }
            expected.same("3.01", "0.2".into(), mark("3.01"));
            return expected.or(Verdict::Recorded(
                "past 3 mL the place follows the marks of the larger syringes, 0.2 mL (rule syringe-tie, and the syringe rows of injection-practice.toml)".into(),
            ));
        }
        "no-trailing-zero" => {
            expected.same("12.0 mL", "12 mL".into(), ml("12.0").to_string());
            expected.same(
                "0.40 mg",
                "0.4 mg".into(),
                Mass::parse("0.40").unwrap().to_string(),
            );
        }
        "leading-zero" => expected.same(".25 mL", "0.25 mL".into(), ml(".25").to_string()),
        "round-at-end" => {
            // 20 lb at 5 mg/kg and 10 mg/mL: rounding kilograms first would give 4.6 mL.
            let volume = OrderedDose::parse("5 mg/kg").unwrap();
            let weight = Weight::parse_lb("20").unwrap();
            let volume = volume
                .volume(weight, Concentration::parse("10").unwrap())
                .unwrap();
            expected.same(
                "20 lb",
                "4.5 mL".into(),
                volume.round_to(graduation(1)).to_string(),
            );
        }
        "half-up-1" => rounds(&mut expected, 1, &[("1.26", "1.3"), ("1.38", "1.4")]),
        "half-up-2" => rounds(&mut expected, 2, &[("0.823", "0.82"), ("0.666", "0.67")]),
        "half-up-tie" => rounds(&mut expected, 1, &[("6.25", "6.3")]),
        "vet-hundredth" => rounds(&mut expected, 2, &[("0.1822", "0.18"), ("0.1872", "0.19")]),
        "half-up-kg" => {
            let weight = Weight::parse_kg("7.35").unwrap();
            expected.same("7.35 kg", "7.35 kg".into(), weight.to_string());
            return expected.or(Verdict::OutOfScope(
                "a weight is never rounded: it is kept exactly".into(),
            ));
        }
        "syringe-tie" => {
            expected.same("1 mL", "0.01".into(), mark("1"));
            expected.same("3 mL", "0.1".into(), mark("3"));
        }
        other => return Verdict::Failed(format!("nothing holds {other}")),
    }
    expected.or(Verdict::Passed)
}

fn conversion(rule: &Rule, mut expected: Expected) -> Verdict {
    let kg = |lb: &str| Weight::parse_lb(lb).unwrap().kg_millionths();
    let recorded = |expected: Expected, why: &str| expected.or(Verdict::Recorded(why.into()));
    match rule.id.as_str() {
        "lb-kg-2.2" => {
            expected.same("2.2 lb", 997_903, kg("2.2"));
            recorded(
                expected,
                "a pound is 0.45359237 kg exactly: 2.2 lb are 0.997903 kg, 0.21 % less than the sources take",
            )
        }
        "label-40kg-88lb" => {
            expected.same("88 lb", 39_916_129, kg("88"));
            recorded(expected, "88 lb are 39.916129 kg exactly; the label rounds")
        }
        "lb-0.45" => {
            expected.same("1 lb", 453_592, kg("1"));
            recorded(expected, "0.8 % less than a pound")
        }
        "mg-per-lb-1" | "mg-per-lb-3-5" => {
            expected.that("mg/lb is taken", OrderedDose::parse("1 mg/lb").is_err());
            expected.or(Verdict::OutOfScope(
                "an order is in mg/kg, mg or mL; mg/lb is refused, not converted".into(),
            ))
        }
        other => Verdict::Failed(format!("nothing holds {other}")),
    }
}

fn from_memory(rule: &Rule) -> Verdict {
    let mut expected = Expected::default();
    match rule.id.as_str() {
        "lb-exact" => expected.same(
            "100 000 lb",
            45_359_237_000,
            Weight::parse_lb("100000").unwrap().kg_millionths(),
        ),
        "rounding-error-2.2" => {
            let ours = i128::from(Weight::parse_lb("2.2").unwrap().kg_millionths());
            expected.same(
                "the error in %",
                "0.21".to_owned(),
                decimal(100 * (1_000_000 - ours), ours, 2),
            );
        }
        _ => expected.that("nothing holds it", false),
    }
    expected.or_shown()
}

fn held(
    table: &'static str,
    rules: &[Rule],
    sources: &Sources,
    verdict: fn(&Rule, Expected) -> Verdict,
) -> Held {
    let rows = rules.iter().map(|rule| {
        let mut expected = Expected::default();
        expected.that("its source is not named", is_named(sources, &rule.source));
        expected.that("it says nothing", !rule.fact.is_empty());
        (rule.id.clone(), verdict(rule, expected))
    });
    Held {
        table,
        rows: rows.collect(),
    }
}

pub fn rounding_rules() -> Held {
    let file = file();
    held(
        "dose-calculations.toml rounding",
        &file.rounding_rule,
        &file.source,
        rule,
    )
}

pub fn conversions() -> Held {
    let file = file();
    let mut held = held(
        "dose-calculations.toml conversion",
        &file.conversion,
        &file.source,
        conversion,
    );
    held.rows.extend(
        file.from_memory
            .iter()
            .map(|rule| (rule.id.clone(), from_memory(rule))),
    );
    held
}

#[test]
fn every_worked_example_passes_or_says_why_not() {
    examples().none_failed();
    let file = file();
    assert_eq!(file.example.len(), file.about.examples);
    assert_eq!(file.from_memory.len(), file.about.from_memory);
}

#[test]
fn every_rounding_rule_and_conversion_passes_or_says_why_not() {
    rounding_rules().none_failed();
    conversions().none_failed();
}

/// A program that rounded on the way, or half to even, would be found out.
#[test]
fn a_wrong_answer_is_found() {
    let example = |id: &str| file().example.into_iter().find(|e| e.id == id).unwrap();
    let sources = file().source;
    let wrong = Example {
        computed_ml_rounded: Some("0.62".into()),
        ..example("mp-0.05g")
    };
    assert!(matches!(wrong.verdict(&sources), Verdict::Failed(_)));
    let wrong = Example {
        note: None,
        ..example("ptr-105lb")
    };
    assert!(matches!(wrong.verdict(&sources), Verdict::Failed(_)));
    assert_eq!(
        volume_of_mass(Mass::parse("1").unwrap(), Concentration::ZERO),
        None
    );
}
