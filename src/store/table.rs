//! Many rows in one statement: each statement is a hop to the database's
//! thread, so rows travel as one JSON array.

use super::dialect::Dialect;
use super::{StoreError, Work};
use crate::domain::Instant;
use serde::de::{Deserializer, Visitor};
use serde::{Deserialize, Serialize};
use sqlx::Row;
use sqlx::any::AnyRow;

/// An instant as a column holds it, in milliseconds since 1970.
pub(super) fn instant(millis: i64) -> Option<Instant> {
    Instant::from_timestamp_millis(millis)
}

/// A value in a column: the three that every database we use holds alike.
///
/// Ordered as a column's values are: the kinds do not mix within one.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(untagged)]
pub(super) enum Cell {
    Null,
    Int(i64),
    Text(String),
}

/// By hand: serde's own way for such an enum tries one kind after another, and
/// words an error for each that does not fit. Half of loading went into that.
impl<'de> Deserialize<'de> for Cell {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Cell, D::Error> {
        deserializer.deserialize_any(AnyCell)
    }
}

struct AnyCell;

impl Visitor<'_> for AnyCell {
    type Value = Cell;

    fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("a whole number, text or null")
    }

    fn visit_unit<E>(self) -> Result<Cell, E> {
        Ok(Cell::Null)
    }

    fn visit_i64<E>(self, value: i64) -> Result<Cell, E> {
        Ok(Cell::Int(value))
    }

    fn visit_u64<E: serde::de::Error>(self, value: u64) -> Result<Cell, E> {
        let value = i64::try_from(value);
        value
            .map(Cell::Int)
            .map_err(|_| E::custom("a number that no column holds"))
    }

    fn visit_str<E>(self, value: &str) -> Result<Cell, E> {
        Ok(Cell::Text(value.into()))
    }

    fn visit_string<E>(self, value: String) -> Result<Cell, E> {
        Ok(Cell::Text(value))
    }
}

impl From<i64> for Cell {
    fn from(value: i64) -> Self {
        Cell::Int(value)
    }
}
impl From<u32> for Cell {
    fn from(value: u32) -> Self {
        Cell::Int(value.into())
    }
}
impl From<bool> for Cell {
    fn from(value: bool) -> Self {
        Cell::Int(value.into())
    }
}
impl From<&str> for Cell {
    fn from(value: &str) -> Self {
        Cell::Text(value.into())
    }
}
impl From<String> for Cell {
    fn from(value: String) -> Self {
        Cell::Text(value)
    }
}
impl<T: Into<Cell>> From<Option<T>> for Cell {
    fn from(value: Option<T>) -> Self {
        value.map_or(Cell::Null, Into::into)
    }
}

/// Rows as a JSON array with an array for each.
pub(super) fn json(rows: &[impl AsRef<[Cell]>]) -> Result<String, StoreError> {
    let rows: Vec<&[Cell]> = rows.iter().map(AsRef::as_ref).collect();
    Ok(serde_json::to_string(&rows)?)
}

/// Whether a column holds a whole number or text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Type {
    Int,
    Text,
}

/// A table whose first column is the household and whose first `key` columns are its primary key.
pub(super) struct Table {
    pub(super) name: &'static str,
    pub(super) key: usize,
    pub(super) columns: &'static [(&'static str, Type)],
}

impl Table {
    fn names(&self) -> String {
        let names: Vec<&str> = self.columns.iter().map(|(name, _)| *name).collect();
        names.join(", ")
    }

    /// Writes rows, new or changed, in their order.
    pub(super) async fn upsert(
        &self,
        work: &mut Work,
        rows: &[Vec<Cell>],
    ) -> Result<(), StoreError> {
        // Most commits touch few of the tables: the words for the others are not put together.
        if rows.is_empty() {
            return Ok(());
        }
        let dialect = work.dialect();
        let values: Vec<String> = self
            .columns
            .iter()
            .enumerate()
            .map(|(place, (_, kind))| match kind {
                Type::Int => dialect.int("e", place),
                Type::Text => dialect.text("e", place),
            })
            .collect();
        let keys: Vec<&str> = self.columns[..self.key]
            .iter()
            .map(|(name, _)| *name)
            .collect();
        let sets: Vec<String> = self.columns[self.key..]
            .iter()
            .map(|(name, _)| format!("{name} = excluded.{name}"))
            .collect();
        let sql = format!(
            "insert into {} ({}) select {} from {} where true \
             on conflict ({}) do update set {}",
            self.name,
            self.names(),
            values.join(", "),
            dialect.elements("$1", "e"),
            keys.join(", "),
            sets.join(", "),
        );
        work.write_rows(&sql, rows, []).await
    }

    /// A query for the rows of the households `$1`, which differ, as
    /// [`Dialect::all_of`] gives them. `only` is what else must hold of a row, `t`, with ` and `
    /// before it.
    pub(super) fn rows_of_households(&self, dialect: Dialect, only: &str) -> String {
        let names: Vec<String> = self
            .columns
            .iter()
            .map(|(name, _)| format!("t.{name}"))
            .collect();
        format!(
            "select {} from {}",
            dialect.all_of(&names),
            dialect.rows_of(self.name, "t", self.columns[0].0, "$1", only),
        )
    }
}

/// One query for all that others find, each one text: the answer is one row.
///
/// Rows are handed from the database's thread to ours one by one, and each wakes it.
pub(super) fn together(queries: impl IntoIterator<Item = String>) -> String {
    let each: Vec<String> = queries
        .into_iter()
        .map(|query| format!("({query})"))
        .collect();
    format!("select {}", each.join(", "))
}

/// Takes apart the row that such a query found in many tables: table by table, and the
/// rows of each in the order of their keys. Of the last tables nothing may have been asked.
pub(super) fn of_households(
    found: &AnyRow,
    tables: &[&Table],
) -> Result<Vec<Vec<Cells>>, StoreError> {
    let mut all = Vec::new();
    for (place, table) in tables.iter().enumerate().take(found.len()) {
        let found: String = found.try_get(place)?;
        let mut read = Cells::all(table.name, &found)?;
        read.sort_by(|one, other| one.cells[..table.key].cmp(&other.cells[..table.key]));
        all.push(read);
    }
    all.resize_with(tables.len(), Vec::new);
    Ok(all)
}

/// The cells of one row, taken in the order of the columns.
pub(super) struct Cells {
    table: &'static str,
    household: i64,
    cells: Vec<Cell>,
    next: usize,
}

impl Cells {
    /// The rows that a query put into one text ([`Dialect::all_of`]). The first
    /// cell of each is its household, or null.
    pub(super) fn all(table: &'static str, found: &str) -> Result<Vec<Cells>, StoreError> {
        let columns: Vec<Option<Vec<Cell>>> = serde_json::from_str(found)?;
        let mut columns: Vec<_> = columns
            .into_iter()
            .map(|column| column.unwrap_or_default().into_iter())
            .collect();
        let count = columns.first().map_or(0, ExactSizeIterator::len);
        let mut row = || {
            let cells = columns.iter_mut().map(|c| c.next().unwrap_or(Cell::Null));
            Cells::of(table, cells.collect())
        };
        Ok((0..count).map(|_| row()).collect())
    }

    fn of(table: &'static str, cells: Vec<Cell>) -> Cells {
        let household = match cells.first() {
            Some(Cell::Int(id)) => *id,
            _ => 0,
        };
        Cells {
            table,
            household,
            cells,
            next: 0,
        }
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

    fn take(&mut self) -> Cell {
        let cell = self.cells.get_mut(self.next);
        self.next += 1;
        cell.map_or(Cell::Null, |cell| std::mem::replace(cell, Cell::Null))
    }

    pub(super) fn int(&mut self) -> Result<i64, StoreError> {
        match self.take() {
            Cell::Int(value) => Ok(value),
            _ => Err(self.unreadable()),
        }
    }

    pub(super) fn maybe_int(&mut self) -> Result<Option<i64>, StoreError> {
        match self.take() {
            Cell::Int(value) => Ok(Some(value)),
            Cell::Null => Ok(None),
            Cell::Text(_) => Err(self.unreadable()),
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
        match self.take() {
            Cell::Text(value) => Ok(value),
            _ => Err(self.unreadable()),
        }
    }

    pub(super) fn maybe_text(&mut self) -> Result<Option<String>, StoreError> {
        match self.take() {
            Cell::Text(value) => Ok(Some(value)),
            Cell::Null => Ok(None),
            Cell::Int(_) => Err(self.unreadable()),
        }
    }

    /// A text that has a meaning of its own.
    pub(super) fn parsed<T: std::str::FromStr>(&mut self) -> Result<T, StoreError> {
        let text = self.text()?;
        text.parse().map_err(|_| self.unreadable())
    }

    pub(super) fn maybe_json<T: serde::de::DeserializeOwned>(
        &mut self,
    ) -> Result<Option<T>, StoreError> {
        let text = self.maybe_text()?;
        text.map(|text| serde_json::from_str(&text).map_err(|_| self.unreadable()))
            .transpose()
    }

    pub(super) fn json<T: serde::de::DeserializeOwned>(&mut self) -> Result<T, StoreError> {
        let text = self.text()?;
        serde_json::from_str(&text).map_err(|_| self.unreadable())
    }
}
