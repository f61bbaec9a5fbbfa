//! The syringes that a clinic hands out, and the weights of its patients.

use super::reader::Section;
use super::values::{Zero, hours, positive, span_or};
use crate::domain::policy::{SharpsContainer, SupplyPolicy, Syringe, WeightRange};
use crate::domain::quantity::{Volume, Weight};
use std::collections::{BTreeMap, BTreeSet};

/// Sizes and graduations in mL where the clinic lists none (common practice,
/// no source; makers differ, which is why a clinic lists its own).
const SYRINGES: [(&str, &str); 4] = [("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2")];

pub(super) fn syringes(root: &Section<'_>) -> Option<Vec<Syringe>> {
    let Some(tables) = root.has("syringe").then(|| root.each("syringe")) else {
        let default = |(size, graduation): (&str, &str)| {
            Some(Syringe {
                size: Volume::parse(size).ok()?,
                graduation: Volume::parse(graduation).ok()?,
            })
        };
        return SYRINGES.into_iter().map(default).collect();
    };
    let tables = tables?;
    if tables.is_empty() {
        root.complain("syringe", "list at least one syringe");
        return None;
    }
    let mut sizes = BTreeSet::new();
    let read: Vec<Option<Syringe>> = tables
        .iter()
        .map(|table| {
            let syringe = syringe(table)?;
            if !sizes.insert(syringe.size) {
                table.complain("size_ml", format!("{} is listed twice", syringe.size));
                return None;
            }
            Some(syringe)
        })
        .collect();
    let mut syringes: Vec<Syringe> = read.into_iter().collect::<Option<_>>()?;
    syringes.sort_by_key(|syringe| syringe.size);
    Some(syringes)
}

fn syringe(table: &Section<'_>) -> Option<Syringe> {
    let volume = |key| {
        table
            .required(key)?
            .decimal(|text| positive(Volume::parse(text)?))
    };
    let (size, graduation) = (volume("size_ml"), volume("graduation_ml"));
    let (size, graduation) = (size?, graduation?);
    if size.millionths() % graduation.millionths() != 0 {
        table.complain(
            "graduation_ml",
            format!("{graduation} does not divide the {size} of the syringe"),
        );
        return None;
    }
    Some(Syringe { size, graduation })
}

/// Sharps containers where the clinic lists none (common practice, no source:
/// makers differ, which is why a clinic lists its own).
const CONTAINERS: [(&str, u32); 3] = [("1 L", 100), ("2 L", 200), ("5 L", 500)];
const LONGEST_SIZE: usize = 20;

/// When to speak up about supplies, and the containers handed out.
pub(super) fn supply(root: &Section<'_>) -> Option<SupplyPolicy> {
    let lead = span_or(&root.section("supply"), "lead", hours(120), Zero::Allowed);
    let containers = if root.has("sharps_container") {
        root.each("sharps_container")?
            .iter()
            .map(|table| {
                let size = table
                    .required("size")
                    .and_then(|v| v.line_of_text(LONGEST_SIZE));
                let holds = table.required("holds").and_then(|v| v.whole(1..=10_000));
                Some(SharpsContainer {
                    size: size?,
                    holds: holds?,
                })
            })
            .collect::<Option<Vec<_>>>()
    } else {
        let listed = |(size, holds): (&str, u32)| SharpsContainer {
            size: size.into(),
            holds,
        };
        Some(CONTAINERS.into_iter().map(listed).collect())
    };
    let mut containers = containers?;
    containers.sort_by_key(|container| container.holds);
    Some(SupplyPolicy {
        lead: lead?,
        containers,
    })
}

/// Least and greatest weight in kg by species where the clinic gives none
/// (common practice, no source): wide enough for any healthy animal, narrow
/// enough to catch pounds written as kilograms in a cat or a slipped point.
const WEIGHTS: [(&str, &str, &str); 5] = [
    ("cat", "0.3", "15"),
    ("dog", "0.5", "110"),
    ("ferret", "0.2", "4"),
    ("rabbit", "0.3", "12"),
    ("horse", "30", "1200"),
];

pub(super) fn weights(root: &Section<'_>) -> Option<BTreeMap<String, WeightRange>> {
    let default = |(species, least, most): (&str, &str, &str)| {
        let range = WeightRange {
            least: Weight::parse_kg(least).ok()?,
            most: Weight::parse_kg(most).ok()?,
        };
        Some((species.to_owned(), range))
    };
    let mut weights: BTreeMap<_, _> = WEIGHTS.into_iter().filter_map(default).collect();
    let mut all_read = true;
    for (species, table) in root.named("weight") {
        match weight_range(&table) {
            Some(range) => {
                weights.insert(species.to_lowercase(), range);
            }
            None => all_read = false,
        }
    }
    all_read.then_some(weights)
}

fn weight_range(table: &Section<'_>) -> Option<WeightRange> {
    let kg = |key| table.required(key)?.decimal(Weight::parse_kg);
    let (least, most) = (kg("least_kg"), kg("most_kg"));
    let (least, most) = (least?, most?);
    if least >= most {
        table.complain(
            "most_kg",
            format!("{most} is not more than least_kg, {least}"),
        );
        return None;
    }
    Some(WeightRange { least, most })
}
