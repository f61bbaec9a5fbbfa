//! Settings with a default, and the kinds of value that several tables have.

use super::reader::{Section, Value, quoted};
use super::span;
use crate::domain::quantity::{DoseRate, QuantityError, Volume};
use chrono::TimeDelta;

/// Whether a setting may be nothing at all.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Zero {
    Allowed,
    Refused,
}

/// The span under a key, or the default where there is none.
pub(super) fn span_or(
    table: &Section<'_>,
    key: &'static str,
    default: TimeDelta,
    zero: Zero,
) -> Option<TimeDelta> {
    let Some(value) = table.value(key) else {
        return Some(default);
    };
    let span = value.parsed(span::parse)?;
    if zero == Zero::Refused && span.is_zero() {
        value.complain("must be longer than 0");
        return None;
    }
    Some(span)
}

/// The spans under a key, each longer than 0 and in order, or the default where there are none.
pub(super) fn spans_or(
    table: &Section<'_>,
    key: &'static str,
    default: &[TimeDelta],
    order: &str,
    in_order: impl Fn(TimeDelta, TimeDelta) -> bool,
) -> Option<Vec<TimeDelta>> {
    let Some(value) = table.value(key) else {
        return Some(default.to_vec());
    };
    let spans = value.each(|value| value.parsed(span::parse))?;
    if spans.iter().any(TimeDelta::is_zero) {
        value.complain("each must be longer than 0");
        return None;
    }
    if spans.windows(2).any(|pair| !in_order(pair[0], pair[1])) {
        value.complain(format!("write them in order, {order}"));
        return None;
    }
    Some(spans)
}

/// The volume under a key in mL, or the default where there is none.
pub(super) fn volume_or(
    table: &Section<'_>,
    key: &'static str,
    default: &str,
    zero: Zero,
) -> Option<Volume> {
    match table.value(key) {
        Some(value) if zero == Zero::Refused => {
            value.decimal(|text| positive(Volume::parse(text)?))
        }
        Some(value) => value.decimal(Volume::parse),
        None => Volume::parse(default).ok(),
    }
}

/// Why a number that must be above zero is refused.
#[derive(Debug, thiserror::Error)]
pub(super) enum NotPositive {
    #[error(transparent)]
    NoQuantity(#[from] QuantityError),
    #[error("must be more than 0")]
    Zero,
}

/// The quantity, unless there is nothing of it.
pub(super) fn positive<T: Default + PartialEq>(quantity: T) -> Result<T, NotPositive> {
    if quantity == T::default() {
        Err(NotPositive::Zero)
    } else {
        Ok(quantity)
    }
}

/// Hundredths of a percent from a decimal number of percent.
pub(super) fn basis_points(text: &str) -> Result<u32, String> {
    // Any quantity reads decimals exactly; which unit it has does not matter here.
    let percent = DoseRate::parse(text).map_err(|error| error.to_string())?;
    let (points, finer) = (percent.millionths() / 10_000, percent.millionths() % 10_000);
    u32::try_from(points)
        .ok()
        .filter(|points| finer == 0 && *points <= 10_000)
        .ok_or_else(|| {
            format!(
                "{} is no percentage from 0 to 100 with at most 2 decimals",
                quoted(text)
            )
        })
}

/// What an optional key holds: nothing, or what `take` reads; none where it cannot be read.
pub(super) fn optional<'s, T>(
    value: Option<Value<'s>>,
    take: impl FnOnce(&Value<'s>) -> Option<T>,
) -> Option<Option<T>> {
    match value {
        Some(value) => take(&value).map(Some),
        None => Some(None),
    }
}

pub(super) fn hours(hours: i64) -> TimeDelta {
    TimeDelta::hours(hours)
}

pub(super) fn minutes(minutes: i64) -> TimeDelta {
    TimeDelta::minutes(minutes)
}
