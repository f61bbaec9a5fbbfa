//! The tables `[product.KEY]`: what the clinic dispenses, with its figures.

use super::reader::{Section, nearest, quoted};
use super::values::{optional, positive};
use crate::domain::formulary::{Formulary, Product};
use crate::domain::quantity::{Concentration, Mass, Volume};

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
    let name = text("name");
    let vial = table
        .required("vial_mg")
        .and_then(|v| v.decimal(|text| positive(Mass::parse(text)?)));
    let diluent = text("diluent");
    let volume = |key| {
        table
            .required(key)?
            .decimal(|text| positive(Volume::parse(text)?))
    };
    let (diluent_volume, available) = (volume("diluent_ml"), volume("available_ml"));
    let concentration = table
        .required("concentration_mg_per_ml")
        .and_then(|v| v.decimal(|text| positive(Concentration::parse(text)?)));
    let refrigerated_hours = table
        .required("refrigerated_hours")
        .and_then(|v| v.whole(1..=MOST_HOURS));
    let room_hours = optional(table.value("room_hours"), |v| v.whole(1..=MOST_HOURS));
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
        room_hours: room_hours?,
        source: source?,
    };
    notes.extend(strength_note(&product));
    Some(product)
}

/// The product of a key, or a line that names the keys there are.
pub(super) fn known_product<'f>(
    key: &str,
    formulary: &'f Formulary,
) -> Result<&'f Product, String> {
    formulary.get(key).ok_or_else(|| {
        let keys = || formulary.keys().map(String::as_str);
        let hint = match nearest(key, keys()) {
            Some(near) => format!("did you mean {near}?"),
            None => format!("it has {}", keys().collect::<Vec<_>>().join(", ")),
        };
        format!("{} is not in the formulary; {hint}", quoted(key))
    })
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
