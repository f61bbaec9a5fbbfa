//! Exact decimal quantities whose units are checked by type.
//!
//! Every quantity is a whole number of millionths of its unit, so that sums
//! never drift and a printed value is the stored value. Products and quotients
//! stay exact fractions until they are rounded to a syringe's graduation.

use serde::{Deserialize, Serialize};
use std::fmt;

const DIGITS: u32 = 6;
const ONE: i64 = 10_i64.pow(DIGITS);
/// Large enough for any vial, animal or course; small enough that products of
/// two quantities fit in an `i128`.
const LARGEST: i64 = 1_000_000 * ONE;

/// Why a text is no quantity.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum QuantityError {
    /// Not a plain decimal number.
    #[error("“{0}” is not a number; write it like 1.5")]
    NotANumber(String),
    /// A decimal comma, which another reader takes for a thousands separator.
    #[error("“{0}” has a comma; write the decimal point as in 1.5")]
    Comma(String),
    /// Finer than a millionth of the unit.
    #[error("“{0}” has more than 6 decimals")]
    TooFine(String),
    /// Below zero, or above a million.
    #[error("“{0}” is out of range; it must lie between 0 and 1000000")]
    OutOfRange(String),
    /// A unit that is missing or is not the expected one.
    #[error("“{text}” must end in {expected}")]
    Unit {
        /// The text as written.
        text: String,
        /// The unit, or the units, it should carry.
        expected: &'static str,
    },
}

fn parse_millionths(text: &str) -> Result<i64, QuantityError> {
    let text = text.trim();
    if text.contains(',') {
        return Err(QuantityError::Comma(text.into()));
    }
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let (whole, fraction) = unsigned.split_once('.').unwrap_or((unsigned, ""));
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let has_digits = !(whole.is_empty() && fraction.is_empty());
    if !has_digits || !digits(whole) || !digits(fraction) {
        return Err(QuantityError::NotANumber(text.into()));
    }
    if unsigned.len() != text.len() {
        return Err(QuantityError::OutOfRange(text.into()));
    }
    let fraction = fraction.trim_end_matches('0');
    if fraction.len() > DIGITS as usize {
        return Err(QuantityError::TooFine(text.into()));
    }
    let out_of_range = |_| QuantityError::OutOfRange(text.into());
    let whole: i64 = format!("0{whole}").parse().map_err(out_of_range)?;
    let fraction: i64 = format!("{fraction:0<6}").parse().map_err(out_of_range)?;
    whole
        .checked_mul(ONE)
        .and_then(|whole| whole.checked_add(fraction))
        .filter(|value| *value <= LARGEST)
        .ok_or_else(|| QuantityError::OutOfRange(text.into()))
}

/// A leading zero and no trailing zeros: “.5” and “1.0” have both been read as
/// ten times themselves (Joint Commission, official “do not use” list).
fn show_millionths(value: i64) -> String {
    let (whole, fraction) = (value / ONE, value % ONE);
    if fraction == 0 {
        return whole.to_string();
    }
    format!("{whole}.{fraction:06}")
        .trim_end_matches('0')
        .into()
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
        pub struct $name(i64);

        impl $name {
            /// Nothing of it.
            pub const ZERO: Self = Self(0);

            #[doc = concat!("Reads a plain decimal number of ", $unit, ": 0 to 1 000 000, at most six decimals.")]
            pub fn parse(number: &str) -> Result<Self, QuantityError> {
                parse_millionths(number).map(Self)
            }

            #[doc = concat!("Takes a whole number of millionths of ", $unit, "; below zero counts as zero.")]
            pub const fn from_millionths(value: i64) -> Self {
                Self(if value < 0 { 0 } else { value })
            }

            #[doc = concat!("The whole number of millionths of ", $unit, ".")]
            pub const fn millionths(self) -> i64 {
                self.0
            }

            /// Whether there is nothing of it.
            pub const fn is_zero(self) -> bool {
                self.0 == 0
            }

            #[doc = concat!("The bare decimal number of ", $unit, ": leading zero, no trailing zeros.")]
            pub fn number(self) -> String {
                show_millionths(self.0)
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!("{} ", $unit), self.number())
            }
        }

        impl Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(&self.number())
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let text = String::deserialize(from)?;
                Self::parse(&text).map_err(serde::de::Error::custom)
            }
        }
    };
}

quantity!(
    /// A volume of liquid, in millilitres.
    ///
    /// ```
    /// use vialbell::domain::quantity::Volume;
    /// assert_eq!(Volume::parse("0.50").unwrap().to_string(), "0.5 mL");
    /// ```
    Volume, "mL"
);
quantity!(
    /// A mass of drug, in milligrams.
    Mass, "mg"
);
quantity!(
    /// Drug in each millilitre of mixed solution, in mg/mL.
    Concentration, "mg/mL"
);
quantity!(
    /// Drug for each kilogram of body weight, in mg/kg.
    DoseRate, "mg/kg"
);

impl Volume {
    /// The sum; never overflows within a course, since each part is bounded.
    pub fn plus(self, other: Volume) -> Volume {
        Volume(self.0.saturating_add(other.0))
    }

    /// What is left after taking `other` away; nothing is left rather than less than nothing.
    pub fn less(self, other: Volume) -> Volume {
        Volume::from_millionths(self.0.saturating_sub(other.0))
    }

    /// How often `each` fits in whole; `u32::MAX` where `each` is zero.
    pub fn holds(self, each: Volume) -> u32 {
        self.0
            .checked_div(each.0)
            .map_or(u32::MAX, |n| u32::try_from(n).unwrap_or(u32::MAX))
    }

    /// The distance between two volumes, whichever is larger.
    pub fn differs_by(self, other: Volume) -> Volume {
        Volume((self.0 - other.0).abs())
    }

    /// The volume `n` times.
    pub fn times(self, n: u32) -> Volume {
        Volume(self.0.saturating_mul(i64::from(n)))
    }
}

impl std::iter::Sum for Volume {
    fn sum<I: Iterator<Item = Volume>>(parts: I) -> Volume {
        parts.fold(Volume::ZERO, Volume::plus)
    }
}

/// A body weight, in kilograms, exact even when it was given in pounds.
///
/// Kept in units of 10⁻¹⁴ kg: a pound is 0.45359237 kg exactly (international
/// yard and pound agreement, 1959), and weights have up to six decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Weight(i128);

const WEIGHT_UNITS_PER_KG: i128 = 100_000_000_000_000;
const HUNDRED_MILLIONTHS_KG_PER_LB: i128 = 45_359_237;

impl Weight {
    /// Reads a decimal number of kilograms.
    pub fn parse_kg(number: &str) -> Result<Weight, QuantityError> {
        let millionths = i128::from(parse_millionths(number)?);
        Ok(Weight(millionths * (WEIGHT_UNITS_PER_KG / i128::from(ONE))))
    }

    /// Reads a decimal number of avoirdupois pounds.
    pub fn parse_lb(number: &str) -> Result<Weight, QuantityError> {
        let millionths = i128::from(parse_millionths(number)?);
        Ok(Weight(millionths * HUNDRED_MILLIONTHS_KG_PER_LB))
    }

    /// Kilograms to a whole number of millionths, rounded half up: for showing and storing.
    pub fn kg_millionths(self) -> i64 {
        let per_millionth = WEIGHT_UNITS_PER_KG / i128::from(ONE);
        i64::try_from((self.0 + per_millionth / 2) / per_millionth).unwrap_or(i64::MAX)
    }

    /// Whether the weight is nothing.
    pub fn is_zero(self) -> bool {
        self.0 == 0
    }

    /// The bare decimal number of kilograms, to six decimals.
    pub fn number(self) -> String {
        show_millionths(self.kg_millionths())
    }
}

impl fmt::Display for Weight {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} kg", self.number())
    }
}

/// An exact, unrounded volume: a fraction of millionths of a millilitre.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ExactVolume {
    numerator: i128,
    denominator: i128,
}

impl ExactVolume {
    /// Rounds half up to a multiple of a syringe's graduation (which is not zero).
    ///
    /// ```
    /// use vialbell::domain::quantity::{Concentration, Mass, Volume, volume_of_mass};
    /// let exact = volume_of_mass(
    ///     Mass::parse("100").unwrap(),
    ///     Concentration::parse("280").unwrap(),
    /// );
    /// let graduation = Volume::parse("0.01").unwrap();
    /// assert_eq!(exact.unwrap().round_to(graduation).to_string(), "0.36 mL");
    /// ```
    pub fn round_to(self, graduation: Volume) -> Volume {
        let step = i128::from(graduation.0.max(1)) * self.denominator;
        let steps = (2 * self.numerator + step) / (2 * step);
        let value = steps.saturating_mul(i128::from(graduation.0.max(1)));
        Volume(i64::try_from(value).unwrap_or(i64::MAX))
    }

    /// The error that `rounded` makes, in hundredths of a percent of the exact volume, rounded up.
    pub fn error_basis_points(self, rounded: Volume) -> u32 {
        let difference = (i128::from(rounded.0) * self.denominator - self.numerator).abs();
        let points = (difference * 10_000 + self.numerator.max(1) - 1) / self.numerator.max(1);
        u32::try_from(points).unwrap_or(u32::MAX)
    }

    /// To the nearest millionth of a millilitre: for showing.
    pub fn nearest(self) -> Volume {
        self.round_to(Volume(1))
    }
}

impl From<Volume> for ExactVolume {
    fn from(volume: Volume) -> Self {
        ExactVolume {
            numerator: i128::from(volume.0),
            denominator: 1,
        }
    }
}

/// The drug for a body weight at a rate, rounded half up to a millionth of a milligram: for showing.
pub fn mass_for_weight(rate: DoseRate, weight: Weight) -> Mass {
    let exact = i128::from(rate.0) * weight.0;
    let rounded = (2 * exact + WEIGHT_UNITS_PER_KG) / (2 * WEIGHT_UNITS_PER_KG);
    Mass(i64::try_from(rounded).unwrap_or(i64::MAX))
}

/// The drug in a volume, rounded half up to a millionth of a milligram: for showing.
pub fn mass_of_volume(volume: Volume, concentration: Concentration) -> Mass {
    let exact = i128::from(volume.0) * i128::from(concentration.0);
    let one = i128::from(ONE);
    Mass(i64::try_from((2 * exact + one) / (2 * one)).unwrap_or(i64::MAX))
}

/// The exact volume that holds a mass; none where the concentration is zero.
pub fn volume_of_mass(mass: Mass, concentration: Concentration) -> Option<ExactVolume> {
    (concentration.0 > 0).then(|| ExactVolume {
        numerator: i128::from(mass.0) * i128::from(ONE),
        denominator: i128::from(concentration.0),
    })
}

/// The exact volume for a body weight at a rate; none where the concentration is zero.
///
/// Goes from weight to volume in one fraction: rounding the mass on the way
/// could move the volume to the next graduation.
pub fn volume_for_weight(
    rate: DoseRate,
    weight: Weight,
    concentration: Concentration,
) -> Option<ExactVolume> {
    (concentration.0 > 0).then(|| ExactVolume {
        numerator: i128::from(rate.0) * weight.0,
        denominator: i128::from(concentration.0) * (WEIGHT_UNITS_PER_KG / i128::from(ONE)),
    })
}

/// What the veterinarian ordered for each dose, in the unit it was ordered in.
///
/// In the journal it is written as it is printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(into = "String", try_from = "String")]
pub enum OrderedDose {
    /// By body weight.
    PerKilogram(DoseRate),
    /// A mass of drug.
    Mass(Mass),
    /// A volume of the mixed solution.
    Volume(Volume),
}

impl OrderedDose {
    /// Reads “14 mg/kg”, “420 mg” or “1.5 mL”. Other spellings of a unit are
    /// refused: an order must not be guessed at.
    pub fn parse(text: &str) -> Result<OrderedDose, QuantityError> {
        let text = text.trim();
        let split = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',' | '-')))
            .unwrap_or(text.len());
        let (number, unit) = (text[..split].trim(), text[split..].trim());
        match unit {
            "mg/kg" => DoseRate::parse(number).map(OrderedDose::PerKilogram),
            "mg" => Mass::parse(number).map(OrderedDose::Mass),
            "mL" | "ml" => Volume::parse(number).map(OrderedDose::Volume),
            _ => Err(QuantityError::Unit {
                text: text.into(),
                expected: "mg/kg, mg or mL",
            }),
        }
    }

    /// The exact volume for one dose; none where the concentration is zero.
    pub fn volume(self, weight: Weight, concentration: Concentration) -> Option<ExactVolume> {
        match self {
            OrderedDose::PerKilogram(rate) => volume_for_weight(rate, weight, concentration),
            OrderedDose::Mass(mass) => volume_of_mass(mass, concentration),
            OrderedDose::Volume(volume) => Some(volume.into()),
        }
    }
}

impl fmt::Display for OrderedDose {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            OrderedDose::PerKilogram(rate) => rate.fmt(f),
            OrderedDose::Mass(mass) => mass.fmt(f),
            OrderedDose::Volume(volume) => volume.fmt(f),
        }
    }
}

impl From<OrderedDose> for String {
    fn from(dose: OrderedDose) -> String {
        dose.to_string()
    }
}

impl TryFrom<String> for OrderedDose {
    type Error = QuantityError;

    fn try_from(text: String) -> Result<OrderedDose, QuantityError> {
        OrderedDose::parse(&text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn prints_a_leading_zero_and_no_trailing_zeros() {
        for (written, printed) in [
            (".5", "0.5 mL"),
            ("1.0", "1 mL"),
            ("0", "0 mL"),
            ("10.250", "10.25 mL"),
        ] {
            assert_eq!(Volume::parse(written).unwrap().to_string(), printed);
        }
    }

    #[test]
    fn refuses_what_another_reader_could_take_for_a_different_number() {
        assert_eq!(
            Volume::parse("1,5"),
            Err(QuantityError::Comma("1,5".into()))
        );
        for text in ["", ".", "1.5.2", "1 5", "abc", "1e3", "+1"] {
            assert_eq!(
                Volume::parse(text),
                Err(QuantityError::NotANumber(text.into()))
            );
        }
        assert!(matches!(
            Volume::parse("-1"),
            Err(QuantityError::OutOfRange(_))
        ));
        assert!(matches!(
            Volume::parse("9999999"),
            Err(QuantityError::OutOfRange(_))
        ));
        assert!(matches!(
            Volume::parse("0.1234567"),
            Err(QuantityError::TooFine(_))
        ));
    }

    #[test]
    fn a_pound_is_exact() {
        // 2.2 lb = 0.997903214 kg exactly (1 lb = 0.45359237 kg).
        assert_eq!(Weight::parse_lb("2.2").unwrap().to_string(), "0.997903 kg");
        assert_eq!(Weight::parse_lb("100").unwrap().to_string(), "45.359237 kg");
    }

    #[test]
    fn half_a_graduation_goes_up() {
        let graduation = Volume::parse("0.1").unwrap();
        for (exact, rounded) in [("0.25", "0.3"), ("0.249999", "0.2"), ("1.5", "1.5")] {
            let exact = ExactVolume::from(Volume::parse(exact).unwrap());
            assert_eq!(exact.round_to(graduation).number(), rounded);
        }
    }

    proptest! {
        #[test]
        fn what_is_printed_is_read_back(value in 0..=LARGEST) {
            let volume = Volume::from_millionths(value);
            prop_assert_eq!(Volume::parse(&volume.number()), Ok(volume));
        }

        #[test]
        fn rounding_is_never_off_by_more_than_half_a_graduation(
            mass in 1..=1_000_000_000_i64, concentration in 1..=1_000_000_000_i64, step in 1..=1_000_000_i64,
        ) {
            let exact = volume_of_mass(Mass(mass), Concentration(concentration)).unwrap();
            let rounded = exact.round_to(Volume(step));
            let off = (i128::from(rounded.0) * exact.denominator - exact.numerator).abs();
            prop_assert!(2 * off <= i128::from(step) * exact.denominator);
            prop_assert_eq!(rounded.0 % step, 0);
        }

        #[test]
        fn any_text_is_read_or_refused(text in "\\PC{0,12}") {
            let _ = Volume::parse(&text);
            let _ = OrderedDose::parse(&text);
        }
    }
}
