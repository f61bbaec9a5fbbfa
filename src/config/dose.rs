//! When doses are asked for, what may be ordered, and how vials are used.

use super::reader::Section;
use super::span;
use super::values::{
    Zero, basis_points, hours, minutes, optional, positive, span_or, spans_or, volume_or,
};
use crate::domain::policy::{DosePolicy, VialPolicy};
use crate::domain::quantity::{DoseRate, Volume};

pub(super) fn dose(table: &Section<'_>) -> Option<DosePolicy> {
    let before = span_or(table, "before", hours(1), Zero::Allowed);
    let window = span_or(table, "window", hours(3), Zero::Refused);
    let again = spans_or(
        table,
        "ask_again",
        &[minutes(30), hours(1), hours(2)],
        "an earlier one first",
        |a, b| a < b,
    );
    let gap_least = span_or(table, "least_between", hours(10), Zero::Refused);
    let gap_most = span_or(table, "most_between", hours(14), Zero::Refused);
    let largest = volume_or(table, "largest_ml", "10", Zero::Refused);
    let largest_per_site = optional(table.value("largest_per_site_ml"), |v| {
        v.decimal(|text| positive(Volume::parse(text)?))
    });
    let largest_rate = optional(table.value("largest_mg_per_kg"), |v| {
        v.decimal(|text| positive(DoseRate::parse(text)?))
    });
    let most_doses = match table.value("most_doses") {
        Some(value) => value.whole(1..=10_000),
        None => Some(400),
    };
    let rounding_basis_points = match table.value("flag_rounding_percent") {
        Some(value) => value.decimal(basis_points),
        None => Some(500),
    };
    let dose = DosePolicy {
        before: before?,
        window: window?,
        again: again?,
        gap_least: gap_least?,
        gap_most: gap_most?,
        largest: largest?,
        largest_per_site: largest_per_site?,
        largest_rate: largest_rate?,
        most_doses: most_doses?,
        rounding_basis_points: rounding_basis_points?,
    };
    spans_fit(table, &dose).then_some(dose)
}

/// Whether the spans of a dose's life fit into one another; complains of each that does not.
fn spans_fit(table: &Section<'_>, dose: &DosePolicy) -> bool {
    let mut fit = true;
    let mut complain = |key, what: String| {
        table.complain(key, what);
        fit = false;
    };
    let shown = span::show;
    if let Some(late) = dose.again.iter().find(|again| **again >= dose.window) {
        complain(
            "ask_again",
            format!(
                "{} is not inside the window of {}",
                shown(*late),
                shown(dose.window)
            ),
        );
    }
    // Otherwise one administration could be recorded for either of two doses.
    if dose.window + dose.before >= dose.gap_least {
        complain(
            "window",
            format!(
                "window ({}) and before ({}) together must be shorter than least_between ({})",
                shown(dose.window),
                shown(dose.before),
                shown(dose.gap_least)
            ),
        );
    }
    if dose.gap_least > dose.gap_most {
        complain(
            "least_between",
            format!(
                "{} is longer than most_between ({})",
                shown(dose.gap_least),
                shown(dose.gap_most)
            ),
        );
    }
    if dose.gap_most > hours(24) {
        complain(
            "most_between",
            "must be at most 24h: doses are planned for every day".to_owned(),
        );
    }
    fit
}

pub(super) fn vial(table: &Section<'_>) -> Option<VialPolicy> {
    let warn_before = spans_or(
        table,
        "warn_before",
        &[hours(24), hours(2)],
        "the longest first",
        |a, b| a > b,
    );
    let loss = volume_or(table, "loss_ml", "0", Zero::Allowed);
    let split = match table.value("two_vials") {
        Some(value) => value.flag(),
        None => Some(true),
    };
    let level_differs = volume_or(table, "level_differs_ml", "0.2", Zero::Allowed);
    Some(VialPolicy {
        warn_before: warn_before?,
        loss: loss?,
        split: split?,
        level_differs: level_differs?,
    })
}
