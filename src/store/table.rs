//! Many rows in one statement: each statement is a hop to the database's
//! thread, so rows travel as one JSON array.

use super::StoreError;
use super::dialect::Dialect;
use serde::Serialize;
use sqlx::any::AnyRow;
use sqlx::{AnyConnection, AssertSqlSafe, Row};

/// A value in a column: the three that every database we use holds alike.
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
        connection: &mut AnyConnection,
        dialect: Dialect,
        rows: &[Vec<Cell>],
    ) -> Result<(), StoreError> {
        if rows.is_empty() {
            return Ok(());
        }
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
        sqlx::query(AssertSqlSafe(sql))
            .bind(serde_json::to_string(rows)?)
            .execute(connection)
            .await?;
        Ok(())
    }

    /// Reads the rows of many households, in the order of their keys.
    pub(super) async fn of_households(
        &self,
        connection: &mut AnyConnection,
        dialect: Dialect,
        ids: &str,
    ) -> Result<Vec<Cells>, StoreError> {
        let keys: Vec<&str> = self.columns[..self.key]
            .iter()
            .map(|(name, _)| *name)
            .collect();
        let sql = format!(
            "select {} from {} where {} in ({}) order by {}",
            self.names(),
            self.name,
            self.columns[0].0,
            dialect.numbers("$1"),
            keys.join(", "),
        );
        let rows = sqlx::query(AssertSqlSafe(sql))
            .bind(ids.to_owned())
            .fetch_all(connection)
            .await?;
        rows.iter().map(|row| self.cells(row)).collect()
    }

    fn cells(&self, row: &AnyRow) -> Result<Cells, StoreError> {
        let cells = self.columns.iter().enumerate().map(|(index, (_, kind))| {
            Ok(match kind {
                Type::Int => row.try_get::<Option<i64>, _>(index)?.into(),
                Type::Text => row.try_get::<Option<String>, _>(index)?.into(),
            })
        });
        Ok(Cells {
            table: self.name,
            cells: cells.collect::<Result<_, StoreError>>()?,
            next: 0,
        })
    }
}

/// The cells of one row, taken in the order of the columns.
pub(super) struct Cells {
    table: &'static str,
    cells: Vec<Cell>,
    next: usize,
}

impl Cells {
    /// The household that the row belongs to.
    pub(super) fn household(&self) -> i64 {
        match self.cells.first() {
            Some(Cell::Int(id)) => *id,
            _ => 0,
        }
    }

    pub(super) fn unreadable(&self) -> StoreError {
        StoreError::Unreadable {
            household: self.household(),
            what: format!("column {} of a {}", self.next, self.table),
        }
    }

    fn take(&mut self) -> Cell {
        let cell = self.cells.get(self.next).cloned().unwrap_or(Cell::Null);
        self.next += 1;
        cell
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
