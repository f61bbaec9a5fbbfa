//! Rows that come as one text, column by column ([`Dialect::all_of`]), and the cells of each.
//!
//! [`Dialect::all_of`]: super::dialect::Dialect::all_of

use super::StoreError;
use super::table::Table;
use serde::Deserialize;
use serde::de::{Deserializer, Visitor};
use sqlx::Row;
use sqlx::any::AnyRow;
use std::borrow::Cow;
use std::sync::Arc;

/// A value in a column; a text is that of the answer, where nothing in it is escaped.
///
/// Ordered as a column's values are: the kinds do not mix within one.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Found<'f> {
    Null,
    Int(i64),
    Text(Cow<'f, str>),
}

/// By hand: serde's own way for such an enum tries one kind after another, and
/// words an error for each that does not fit. Half of loading went into that.
impl<'f> Deserialize<'f> for Found<'f> {
    fn deserialize<D: Deserializer<'f>>(deserializer: D) -> Result<Found<'f>, D::Error> {
        deserializer.deserialize_any(AnyFound)
    }
}

struct AnyFound;

impl<'f> Visitor<'f> for AnyFound {
    type Value = Found<'f>;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a whole number, text or null")
    }

    fn visit_unit<E>(self) -> Result<Found<'f>, E> {
        Ok(Found::Null)
    }

    fn visit_i64<E>(self, value: i64) -> Result<Found<'f>, E> {
        Ok(Found::Int(value))
    }

    fn visit_u64<E: serde::de::Error>(self, value: u64) -> Result<Found<'f>, E> {
        let value = i64::try_from(value);
        value
            .map(Found::Int)
            .map_err(|_| E::custom("a number that no column holds"))
    }

    fn visit_borrowed_str<E>(self, value: &'f str) -> Result<Found<'f>, E> {
        Ok(Found::Text(Cow::Borrowed(value)))
    }

    fn visit_str<E>(self, value: &str) -> Result<Found<'f>, E> {
        Ok(Found::Text(Cow::Owned(value.into())))
    }
}

/// Takes apart the row that a query for households found in many tables
/// ([`super::table::together`]): table by table, and the rows of each in the order of their
/// keys. Of the last tables nothing may have been asked.
pub(super) fn of_households<'f>(
    found: &'f AnyRow,
    tables: &[&Table],
) -> Result<Vec<Vec<Cells<'f>>>, StoreError> {
    let mut all = Vec::new();
    for (place, table) in tables.iter().enumerate().take(found.len()) {
        let mut read = Cells::all(table.name, found.try_get(place)?)?;
        read.sort_by(|one, other| one.first(table.key).cmp(other.first(table.key)));
        all.push(read);
    }
    all.resize_with(tables.len(), Vec::new);
    Ok(all)
}

/// The cells of one row, taken in the order of the columns.
pub(super) struct Cells<'f> {
    table: &'static str,
    household: i64,
    /// Those of all rows, of which this is one.
    columns: Arc<[Vec<Found<'f>>]>,
    row: usize,
    next: usize,
}

impl<'f> Cells<'f> {
    /// The rows that a query put into one text. The first cell of each is its household, or
    /// null.
    pub(super) fn all(table: &'static str, found: &'f str) -> Result<Vec<Cells<'f>>, StoreError> {
        let columns: Vec<Option<Vec<Found>>> = serde_json::from_str(found)?;
        let columns: Arc<[Vec<Found>]> =
            columns.into_iter().map(Option::unwrap_or_default).collect();
        let households = columns.first().map_or(&[][..], Vec::as_slice);
        let cells = |(row, household): (usize, &Found)| Cells {
            table,
            household: match household {
                Found::Int(id) => *id,
                _ => 0,
            },
            columns: columns.clone(),
            row,
            next: 0,
        };
        Ok(households.iter().enumerate().map(cells).collect())
    }

    /// The household that the row belongs to.
    pub(super) fn household(&self) -> i64 {
        self.household
    }

    pub(super) fn unreadable(&self) -> StoreError {
        StoreError::Unreadable {
            household: self.household,
            what: format!("column {} of a {}", self.next, self.table),
        }
    }

    /// The first cells, so many.
    fn first(&self, count: usize) -> impl Iterator<Item = Option<&Found<'f>>> {
        self.columns[..count]
            .iter()
            .map(|column| column.get(self.row))
    }

    fn take(&mut self) -> &Found<'f> {
        let column = self.columns.get(self.next);
        self.next += 1;
        let cell = column.and_then(|column| column.get(self.row));
        cell.unwrap_or(&Found::Null)
    }

    pub(super) fn int(&mut self) -> Result<i64, StoreError> {
        match self.take() {
            Found::Int(value) => Ok(*value),
            _ => Err(self.unreadable()),
        }
    }

    pub(super) fn maybe_int(&mut self) -> Result<Option<i64>, StoreError> {
        match self.take() {
            Found::Int(value) => Ok(Some(*value)),
            Found::Null => Ok(None),
            Found::Text(_) => Err(self.unreadable()),
        }
    }

    pub(super) fn no(&mut self) -> Result<u32, StoreError> {
        u32::try_from(self.int()?).map_err(|_| self.unreadable())
    }

    pub(super) fn maybe_no(&mut self) -> Result<Option<u32>, StoreError> {
        let value = self.maybe_int()?;
        value
            .map(|v| u32::try_from(v).map_err(|_| self.unreadable()))
            .transpose()
    }

    pub(super) fn flag(&mut self) -> Result<bool, StoreError> {
        Ok(self.int()? != 0)
    }

    pub(super) fn text(&mut self) -> Result<String, StoreError> {
        self.word()
            .map(str::to_owned)
            .ok_or_else(|| self.unreadable())
    }

    pub(super) fn maybe_text(&mut self) -> Result<Option<String>, StoreError> {
        match self.take() {
            Found::Text(value) => Ok(Some(value.as_ref().to_owned())),
            Found::Null => Ok(None),
            Found::Int(_) => Err(self.unreadable()),
        }
    }

    /// A text that has a meaning of its own.
    pub(super) fn parsed<T: std::str::FromStr>(&mut self) -> Result<T, StoreError> {
        let parsed = self.word().and_then(|text| text.parse().ok());
        parsed.ok_or_else(|| self.unreadable())
    }

    pub(super) fn maybe_json<T: serde::de::DeserializeOwned>(
        &mut self,
    ) -> Result<Option<T>, StoreError> {
        let parsed = match self.take() {
            Found::Null => return Ok(None),
            Found::Text(text) => serde_json::from_str(text).ok(),
            Found::Int(_) => None,
        };
        parsed.map(Some).ok_or_else(|| self.unreadable())
    }

    pub(super) fn json<T: serde::de::DeserializeOwned>(&mut self) -> Result<T, StoreError> {
        let parsed = self.word().and_then(|text| serde_json::from_str(text).ok());
        parsed.ok_or_else(|| self.unreadable())
    }

    /// The next cell, if it is a text.
    fn word(&mut self) -> Option<&str> {
        match self.take() {
            Found::Text(text) => Some(text),
            _ => None,
        }
    }
}
