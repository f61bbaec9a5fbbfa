//! FHIR's data types, as far as they are needed.

use crate::domain::quantity::{Mass, Volume};
use chrono::{DateTime, FixedOffset, SecondsFormat};
use serde_json::{Value, json};

/// An instant, or a dateTime with its time: to the second or finer, with an offset.
pub(super) fn instant(at: DateTime<FixedOffset>) -> Value {
    at.to_rfc3339_opts(SecondsFormat::AutoSi, false).into()
}

/// A string: not empty, nothing but spaces, or with control characters in it
/// (R4, section 2.24.0.1).
pub(super) fn text(words: &str) -> String {
    let plain: String = words
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    match plain.trim() {
        "" => "unnamed".into(),
        trimmed => trimmed.into(),
    }
}

/// A concept that has no code here.
pub(super) fn concept(words: &str) -> Value {
    json!({ "text": text(words) })
}

/// A decimal as it is written in the books.
///
/// Quantities have at most 13 significant digits. A double gives 15 of them
/// back unchanged (IEEE 754: DBL_DIG), and JSON prints the shortest that does.
pub(super) fn decimal(number: &str) -> Value {
    serde_json::from_str(number).unwrap_or(Value::Null)
}

/// A quantity in a unit of UCUM.
pub(super) fn quantity(number: &str, unit: &str, code: &str) -> Value {
    json!({
        "value": decimal(number),
        "unit": unit,
        "system": "http://unitsofmeasure.org",
        "code": code,
    })
}

pub(super) fn volume(volume: Volume) -> Value {
    quantity(&volume.number(), "mL", "mL")
}

pub(super) fn mass(mass: Mass) -> Value {
    quantity(&mass.number(), "mg", "mg")
}

/// Pieces of something: an annotation of UCUM, with the dimension 1.
pub(super) fn pieces(count: u32, of: &str) -> Value {
    quantity(&count.to_string(), of, &format!("{{{of}}}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_decimal_is_printed_as_the_books_have_it(millionths in 0..=1_000_000_000_000_i64) {
            let number = Volume::from_millionths(millionths).number();
            prop_assert_eq!(decimal(&number).to_string(), number);
        }
    }
}
