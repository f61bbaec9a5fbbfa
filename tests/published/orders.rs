//! Orders that cannot be: one clear line each, and nothing is enrolled.

use crate::home::{CONFIG, at, order};
use vialbell::config::parse_prescription;
use vialbell::domain::policy::Policy;
use vialbell::domain::prescription::{Length, Order};
use vialbell::domain::quantity::{Concentration, OrderedDose, Volume};

fn juniper(dose: &str) -> Order {
    order(
        "Juniper",
        "tarnmoss",
        dose,
        "2026-06-01T08:00:00",
        &["08:00:00", "20:00:00"],
        "America/Denver",
        14,
    )
}

/// The one line that refuses an order by a clinic's rules.
fn refused_by(policy: &Policy, order: &Order) -> String {
    let wrong = order
        .work_out(policy, at("2026-06-01T13:00:00Z"))
        .unwrap_err();
    let lines: Vec<String> = wrong.iter().map(ToString::to_string).collect();
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(lines[0].lines().count(), 1);
    lines.concat()
}

fn refused(order: &Order) -> String {
    refused_by(&CONFIG.policy, order)
}

/// The example order with this dose, in this language, as a clinic would send it.
fn read(dose: &str, language: &str) -> Result<Order, String> {
    let text = include_str!("../../config/prescription.example.toml")
        .replace("\"14 mg/kg\"", &format!("\"{dose}\""))
        .replace("\"en\"", &format!("\"{language}\""));
    parse_prescription(&text, &CONFIG.formulary, &["en", "es"]).map_err(|wrong| wrong.to_string())
}

#[test]
fn a_concentration_of_0() {
    let mut order = juniper("420 mg");
    order.product.concentration = Concentration::ZERO;
    assert_eq!(
        refused(&order),
        "prescription.product: tarnmoss has a concentration of 0 in the formulary"
    );
}

#[test]
fn a_dose_under_one_mark_of_its_syringe() {
    for (dose, volume) in [
        ("0.004 mL", "0.004"),
        ("0.006 mL", "0.006"),
        ("0.0099 mL", "0.0099"),
        ("2 mg", "0.007143"),
    ] {
        assert_eq!(
            refused(&juniper(dose)),
            format!(
                "prescription.dose: {volume} mL is less than one mark (0.01 mL) of the smallest syringe that holds it, 1 mL"
            )
        );
    }
    let mut policy = CONFIG.policy.clone();
    policy.syringes.remove(0);
    assert_eq!(
        refused_by(&policy, &juniper("0.06 mL")),
        "prescription.dose: 0.06 mL is less than one mark (0.1 mL) of the smallest syringe that holds it, 3 mL"
    );
    let worked = juniper("0.01 mL").work_out(&CONFIG.policy, at("2026-06-01T13:00:00Z"));
    assert_eq!(worked.unwrap().volume, Volume::parse("0.01").unwrap());
}

#[test]
fn a_dose_above_the_largest_syringe_or_the_largest_dose_or_one_site() {
    let mut policy = CONFIG.policy.clone();
    policy.dose.largest = Volume::parse("50").unwrap();
    assert_eq!(
        refused_by(&policy, &juniper("10.2 mL")),
        "prescription.dose: 10.2 mL does not fit in the clinic's largest syringe, 10 mL"
    );
    assert_eq!(
        refused(&juniper("10.2 mL")),
        "prescription.dose: 10.2 mL is more than the clinic's largest dose, 10 mL"
    );
    policy.dose.largest_per_site = Volume::parse("2.5").ok();
    assert_eq!(
        refused_by(&policy, &juniper("2.6 mL")),
        "prescription.dose: 2.6 mL is more than the clinic allows at one site, 2.5 mL"
    );
    assert!(
        juniper("2.5 mL")
            .work_out(&policy, at("2026-06-01T13:00:00Z"))
            .is_ok()
    );
}

/// Rounding to the marks must not carry a dose over a limit of the clinic's.
#[test]
fn a_dose_that_reads_as_more_than_a_limit_is_over_it() {
    let mut policy = CONFIG.policy.clone();
    policy.dose.largest_per_site = Volume::parse("3.3").ok();
    assert_eq!(
        refused_by(&policy, &juniper("3.3 mL")),
        "prescription.dose: 3.4 mL is more than the clinic allows at one site, 3.3 mL"
    );
    policy.dose.largest_per_site = None;
    policy.dose.largest = Volume::parse("3.3").unwrap();
    assert_eq!(
        refused_by(&policy, &juniper("3.3 mL")),
        "prescription.dose: 3.4 mL is more than the clinic's largest dose, 3.3 mL"
    );
}

#[test]
fn a_dose_of_0_and_below() {
    for dose in ["0 mL", "0 mg", "0 mg/kg"] {
        assert_eq!(
            refused(&juniper(dose)),
            "prescription.dose: a dose of 0 cannot be"
        );
    }
    for dose in ["-1.5 mL", "-420 mg", "-14 mg/kg"] {
        let error = read(dose, "en").unwrap_err();
        assert!(
            error.contains("prescription.dose: ") && error.contains("is out of range"),
            "{error}"
        );
        assert_eq!(error.lines().count(), 1);
    }
}

/// A comma is a decimal sign in Spanish, and thousands to many who write English.
#[test]
fn a_comma_is_asked_about_in_english_and_read_in_spanish() {
    let error = read("1,5 mL", "en").unwrap_err();
    assert!(
        error.ends_with(
            "prescription.dose: “1,5 mL” has a comma; write the decimal point as in 1.5"
        ),
        "{error}"
    );
    assert_eq!(error.lines().count(), 1);
    let order = read("1,5 mL", "es").unwrap();
    assert_eq!(
        order.dose,
        OrderedDose::Volume(Volume::parse("1.5").unwrap())
    );
}

#[test]
fn a_course_of_no_dose_or_of_ten_thousand() {
    let of = |length| Order {
        length,
        ..juniper("1.5 mL")
    };
    assert_eq!(
        refused(&of(Length::Days(0))),
        "prescription.days: a course of 0 days has no dose"
    );
    let most = "are more than the clinic's most, 400";
    assert_eq!(
        refused(&of(Length::Doses(10_000))),
        format!("prescription.doses: 10000 doses {most}")
    );
    assert_eq!(
        refused(&of(Length::Days(5_000))),
        format!("prescription.days: 10000 doses {most}")
    );
    assert_eq!(
        refused(&of(Length::Days(u32::MAX))),
        format!("prescription.days: 8589934590 doses {most}")
    );
    assert_eq!(
        refused(&of(Length::Doses(0))),
        "prescription.doses: a course of 0 doses cannot be"
    );
}
