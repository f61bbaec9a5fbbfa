//! Many rows in one statement: each statement is a hop to the database's
//! thread, so rows travel as one JSON array.

use super::dialect::Dialect;
use super::{StoreError, Work};
use crate::domain::Instant;
use serde::Serialize;

/// An instant as a column holds it, in milliseconds since 1970.
pub(super) fn instant(millis: i64) -> Option<Instant> {
    Instant::from_timestamp_millis(millis)
}

/// A value for a column: the three that every database we use holds alike.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(untagged)]
pub(super) enum Cell {
    Null,
    Int(i64),
    Text(String),
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
