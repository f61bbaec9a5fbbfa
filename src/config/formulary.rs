//! The tables `[product.KEY]`: what the clinic dispenses, with its figures.

use super::reader::{Section, Value};
use crate::domain::formulary::{Formulary, Product};
use crate::domain::quantity::{Concentration, Mass, QuantityError, Volume};

const LONGEST_KEY: usize = 40;
const LONGEST_TEXT: usize = 200;
/// A year: no label lets a mixed vial keep for longer.
const MOST_HOURS: u32 = 8784;

/// Reads the products under `root`. What is odd but not wrong goes to `notes`.
pub(super) fn read(root: &Section<'_>, notes: &mut Vec<String>) -> Formulary {
    let products = root.named("product").into_iter();
    products
        .filter_map(|(key, section)| Some((key.clone(), product(key, &section, notes)?)))
        .collect()
}

fn product(key: String, table: &Section<'_>, notes: &mut Vec<String>) -> Option<Product> {
    let length = key.chars().count();
    if !(1..=LONGEST_KEY).contains(&length) || key.chars().any(|c| c.is_control() || c == '"') {
        table.complain_here(format!(
            "a product's key has 1 to {LONGEST_KEY} plain characters"
        ));
    }
    let text = |key| {
        table
            .required(key)
            .and_then(|v| v.line_of_text(LONGEST_TEXT))
    };
    let hours = |value: Value<'_>| value.whole(1..=MOST_HOURS);
    let name = text("name");
    let vial = table
        .required("vial_mg")
        .and_then(|v| v.decimal(more_than_zero(Mass::parse)));
    let diluent = text("diluent");
    let volume = |key| table.required(key)?.decimal(more_than_zero(Volume::parse));
    let (diluent_volume, available) = (volume("diluent_ml"), volume("available_ml"));
    let concentration = table
        .required("concentration_mg_per_ml")
        .and_then(|v| v.decimal(more_than_zero(Concentration::parse)));
    let refrigerated_hours = table.required("refrigerated_hours").and_then(hours);
    let room_hours = table.value("room_hours").map(hours);
    let source = text("source");
    let product = Product {
        key,
        name: name?,
        vial: vial?,
        diluent: diluent?,
        diluent_volume: diluent_volume?,
        available: available?,
        concentration: concentration?,
        refrigerated_hours: refrigerated_hours?,
        room_hours: match room_hours {
            Some(hours) => Some(hours?),
            None => None,
        },
        source: source?,
    };
    notes.extend(strength_note(&product));
    Some(product)
}

/// A figure of zero would make every dose of the product impossible.
fn more_than_zero<T: Default + PartialEq>(
    parse: impl Fn(&str) -> Result<T, QuantityError>,
) -> impl Fn(&str) -> Result<T, String> {
    move |text| match parse(text) {
        Ok(value) if value == T::default() => Err("must be more than 0".to_owned()),
        Ok(value) => Ok(value),
        Err(error) => Err(error.to_string()),
    }
}

/// Says where concentration and available volume do not multiply to the vial's
/// strength within 5 % (common practice, no source). Not a mistake: printed
/// labels are known that differ by more.
fn strength_note(product: &Product) -> Option<String> {
    let drawn = i128::from(product.concentration.millionths())
        * i128::from(product.available.millionths())
        / 1_000_000;
    let vial = i128::from(product.vial.millionths());
    (20 * (drawn - vial).abs() > vial).then(|| {
        let drawn = Mass::from_millionths(i64::try_from(drawn).unwrap_or(i64::MAX));
        format!(
            "product {}: {} in {} are {drawn}, which is not within 5 % of the vial's {}; check the figures against their source",
            product.key, product.concentration, product.available, product.vial
        )
    })
}
