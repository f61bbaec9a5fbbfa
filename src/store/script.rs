//! Writes that nobody waits for an answer of, gathered until somebody does.
//!
//! Each statement is a hop to the database's thread and back, and nobody else
//! has a SQLite database meanwhile. So there they go in one hop, together with
//! the next question or with the commit.

use super::StoreError;
use super::table::Cell;
use sqlx::any::{AnyArguments, AnyRow};
use sqlx::query::Query;
use sqlx::{Any, AnyConnection, AssertSqlSafe};
use std::fmt::Write;

/// Statements in order, each with values of its own.
#[derive(Default)]
pub(super) struct Script {
    sql: String,
    values: Vec<Value>,
}

/// What a parameter stands for.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Value {
    Cell(Cell),
    /// What a column never holds: many rows in one value.
    Binary(Vec<u8>),
}

impl Script {
    pub(super) fn is_empty(&self) -> bool {
        self.sql.is_empty()
    }

    /// Adds a statement; its `$1` is the first of these values.
    pub(super) fn add(&mut self, sql: &str, values: impl IntoIterator<Item = Cell>) {
        self.add_values(sql, values.into_iter().map(Value::Cell));
    }

    /// Adds a statement; its `$1` stands for many rows, its `$2` is the first of these values.
    pub(super) fn add_rows(
        &mut self,
        sql: &str,
        rows: Value,
        values: impl IntoIterator<Item = Cell>,
    ) {
        let values = values.into_iter().map(Value::Cell);
        self.add_values(sql, std::iter::once(rows).chain(values));
    }

    fn add_values(&mut self, sql: &str, values: impl IntoIterator<Item = Value>) {
        if !self.sql.is_empty() {
            self.sql.push_str(";\n");
        }
        renumber(sql, self.values.len(), &mut self.sql);
        self.values.extend(values);
    }

    /// Adds what another has behind what is there.
    pub(super) fn append(&mut self, other: Script) {
        if !other.is_empty() {
            self.add_values(&other.sql, other.values);
        }
    }

    /// Runs it; only one statement is a question, or none.
    pub(super) async fn rows(
        self,
        connection: &mut AnyConnection,
    ) -> Result<Vec<AnyRow>, StoreError> {
        // `fetch_one` would be content with the end of the first statement.
        Ok(self.query().fetch_all(connection).await?)
    }

    fn query(self) -> Query<'static, Any, AnyArguments> {
        let query = sqlx::query(AssertSqlSafe(self.sql));
        let bind = |query: Query<'static, Any, AnyArguments>, value| match value {
            Value::Cell(Cell::Null) => query.bind(None::<String>),
            Value::Cell(Cell::Int(number)) => query.bind(number),
            Value::Cell(Cell::Text(text)) => query.bind(text),
            Value::Binary(bytes) => query.bind(bytes),
        };
        self.values.into_iter().fold(query, bind)
    }
}

/// Writes a statement whose values come behind so many others.
fn renumber(sql: &str, before: usize, into: &mut String) {
    let mut rest = sql;
    while let Some((text, behind)) = rest.split_once('$') {
        into.push_str(text);
        into.push('$');
        let digits = behind.bytes().take_while(u8::is_ascii_digit).count();
        // What has no number is no value, such as the root of a JSON path.
        if let Ok(number) = behind[..digits].parse::<usize>() {
            // Writing into a text does not fail.
            let _ = write!(into, "{}", number + before);
        }
        rest = &behind[digits..];
    }
    into.push_str(rest);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_statement_keeps_its_own_values() {
        let mut script = Script::default();
        assert!(script.is_empty());
        script.add(
            "update a set b = $2 where c = $1",
            [1_i64.into(), 2_i64.into()],
        );
        script.add(
            "delete from d where e = json_extract($1, '$[0]') or f = $11",
            ["g".into()],
        );
        script.add("commit", []);
        assert_eq!(
            script.sql,
            "update a set b = $2 where c = $1;\n\
             delete from d where e = json_extract($3, '$[0]') or f = $13;\n\
             commit"
        );
        let values: Vec<Value> = vec![1_i64.into(), 2_i64.into(), "g".into()]
            .into_iter()
            .map(Value::Cell)
            .collect();
        assert_eq!(script.values, values);
    }
}
