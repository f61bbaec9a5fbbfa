//! A SQLite clinic moves into PostgreSQL: every table, in one transaction, and
//! both sides are read again and compared before it counts.
//!
//! Which tables and columns there are is read from the file itself, so that
//! none can be forgotten when one is added.

use super::dialect::Dialect;
use super::{Store, StoreError, execute, load_drivers, postgres, sqlite};
use futures_util::TryStreamExt;
use serde_json::Value;
use sha2::{Digest, Sha256};
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};
use std::collections::BTreeSet;

/// Rows of one statement.
const BATCH: usize = 500;

/// One table on both sides.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MovedTable {
    /// Its name.
    pub name: String,
    /// What the file holds.
    pub here: Held,
    /// What the server holds.
    pub there: Held,
}

/// What one side holds of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// How many rows.
    pub rows: u64,
    /// SHA-256 over every value of every row, in the order of the key.
    pub digest: [u8; 32],
}

struct Table {
    name: String,
    columns: Vec<Column>,
    /// The columns by which its rows are told apart.
    key: Vec<String>,
    /// Tables whose rows have to be there first.
    needs: BTreeSet<String>,
}

struct Column {
    name: String,
    is_number: bool,
}

impl Store {
    /// Copies all that a SQLite file holds into an empty PostgreSQL database,
    /// which is brought up to date first. Nobody writes to either meanwhile.
    ///
    /// What both sides hold is the answer. Where they differ, nothing was kept
    /// on the server.
    ///
    /// # Errors
    /// Another program serves the file, the server holds anything already,
    /// either cannot be used. Nothing was kept on the server then.
    pub async fn move_to_server(from: &str, to: &str) -> Result<Vec<MovedTable>, StoreError> {
        load_drivers();
        let file = sqlite::file_of(from).ok_or_else(|| StoreError::Url(from.into()))?;
        if !postgres::is_url(to) {
            return Err(StoreError::Url(postgres::name_of(to)));
        }
        let _alone = Store::alone(from)?;
        let mut here = sqlite::open(file).await?;
        drop(postgres::open(to).await?);
        let mut there = postgres::look(to)
            .await?
            .ok_or_else(|| StoreError::Url(postgres::name_of(to)))?;
        // The commands of a terminal write without serving.
        execute(&mut here, "begin exclusive").await?;
        execute(&mut there, "begin isolation level repeatable read").await?;
        let tables = tables(&mut here).await?;
        let moved = moved(&mut here, &mut there, &tables, &postgres::name_of(to)).await;
        let is_same = matches!(&moved, Ok(tables) if tables.iter().all(MovedTable::is_same));
        if is_same {
            postgres::commit(&mut there).await?;
        } else {
            // The server undoes it by itself where it cannot be told to.
            let _ = execute(&mut there, "rollback").await;
        }
        let _ = execute(&mut here, "rollback").await;
        here.close().await?;
        there.close().await?;
        moved
    }
}

impl MovedTable {
    /// Whether both sides hold the same.
    #[must_use]
    pub fn is_same(&self) -> bool {
        self.here == self.there
    }
}

async fn moved(
    here: &mut AnyConnection,
    there: &mut AnyConnection,
    tables: &[Table],
    name: &str,
) -> Result<Vec<MovedTable>, StoreError> {
    lock_empty(there, tables, name).await?;
    for table in tables {
        copy(here, there, table).await?;
        count_on(there, table).await?;
    }
    let mut moved = Vec::new();
    for table in tables {
        moved.push(MovedTable {
            name: table.name.clone(),
            here: held(here, table, Dialect::Sqlite).await?,
            there: held(there, table, Dialect::Postgres).await?,
        });
    }
    Ok(moved)
}

/// Our tables in an order in which what is referred to comes first.
async fn tables(db: &mut AnyConnection) -> Result<Vec<Table>, StoreError> {
    let names: Vec<String> = sqlx::query_scalar(
        "select name from sqlite_master where type = 'table' and name not like 'sqlite_%' \
         and name <> '_sqlx_migrations' order by name",
    )
    .fetch_all(&mut *db)
    .await?;
    let mut unsorted = Vec::new();
    for name in names {
        let rows = sqlx::query("select name, type, pk from pragma_table_info($1) order by cid")
            .bind(name.clone())
            .fetch_all(&mut *db)
            .await?;
        let mut columns = Vec::new();
        let mut key = Vec::new();
        for row in rows {
            let (column, kind, place): (String, String, i64) =
                (row.try_get(0)?, row.try_get(1)?, row.try_get(2)?);
            if place > 0 {
                key.push((place, column.clone()));
            }
            columns.push(Column {
                name: column,
                is_number: kind == "INTEGER",
            });
        }
        key.sort_unstable();
        let needs: Vec<String> =
            sqlx::query_scalar("select distinct \"table\" from pragma_foreign_key_list($1)")
                .bind(name.clone())
                .fetch_all(&mut *db)
                .await?;
        unsorted.push(Table {
            key: key.into_iter().map(|(_, column)| column).collect(),
            needs: needs.into_iter().filter(|other| *other != name).collect(),
            name,
            columns,
        });
    }
    Ok(in_order(unsorted))
}

fn in_order(mut left: Vec<Table>) -> Vec<Table> {
    let mut sorted: Vec<Table> = Vec::new();
    while !left.is_empty() {
        let names: BTreeSet<String> = left.iter().map(|table| table.name.clone()).collect();
        let (ready, waiting): (Vec<Table>, Vec<Table>) = left
            .into_iter()
            .partition(|table| table.needs.is_disjoint(&names));
        if ready.is_empty() {
            // A circle: the server says which row it misses.
            sorted.extend(waiting);
            break;
        }
        sorted.extend(ready);
        left = waiting;
    }
    sorted
}

/// Nobody writes to the server's tables until the end, and nothing is in them.
async fn lock_empty(
    there: &mut AnyConnection,
    tables: &[Table],
    name: &str,
) -> Result<(), StoreError> {
    let names: Vec<&str> = tables.iter().map(|table| table.name.as_str()).collect();
    let lock = format!("lock table {} in exclusive mode", names.join(", "));
    sqlx::query(AssertSqlSafe(lock))
        .execute(&mut *there)
        .await?;
    for table in names {
        let count = format!("select count(*) from {table}");
        let rows: i64 = sqlx::query_scalar(AssertSqlSafe(count))
            .fetch_one(&mut *there)
            .await?;
        if rows > 0 {
            return Err(StoreError::NotEmpty {
                name: name.into(),
                table: table.into(),
                rows,
            });
        }
    }
    Ok(())
}

impl Table {
    fn select(&self, dialect: Dialect) -> String {
        let names: Vec<&str> = self.columns.iter().map(|c| c.name.as_str()).collect();
        let key: Vec<String> = self
            .key
            .iter()
            .map(|column| {
                let is_number = self
                    .columns
                    .iter()
                    .any(|c| c.name == *column && c.is_number);
                // Byte by byte, as SQLite compares.
                match dialect == Dialect::Postgres && !is_number {
                    true => format!("{column} collate \"C\""),
                    false => column.clone(),
                }
            })
            .collect();
        format!(
            "select {} from {} order by {}",
            names.join(", "),
            self.name,
            key.join(", ")
        )
    }

    fn insert(&self) -> String {
        let names: Vec<&str> = self.columns.iter().map(|c| c.name.as_str()).collect();
        let dialect = Dialect::Postgres;
        let values: Vec<String> = (self.columns.iter().enumerate())
            .map(|(place, column)| match column.is_number {
                true => dialect.int("r", place),
                false => dialect.text("r", place),
            })
            .collect();
        format!(
            "insert into {} ({}) select {} from {}",
            self.name,
            names.join(", "),
            values.join(", "),
            dialect.elements("$1", "r")
        )
    }

    /// The values of a row, as they were stored.
    fn values(&self, row: &sqlx::any::AnyRow) -> Result<Vec<Value>, StoreError> {
        let mut values = Vec::with_capacity(self.columns.len());
        for (place, column) in self.columns.iter().enumerate() {
            values.push(match column.is_number {
                true => Value::from(row.try_get::<Option<i64>, _>(place)?),
                false => Value::from(row.try_get::<Option<String>, _>(place)?),
            });
        }
        Ok(values)
    }
}

async fn copy(
    here: &mut AnyConnection,
    there: &mut AnyConnection,
    table: &Table,
) -> Result<(), StoreError> {
    let (select, insert) = (table.select(Dialect::Sqlite), table.insert());
    let mut rows = sqlx::query(AssertSqlSafe(select)).fetch(here);
    let mut batch: Vec<Vec<Value>> = Vec::new();
    loop {
        let row = rows.try_next().await?;
        let is_last = row.is_none();
        if let Some(row) = row {
            batch.push(table.values(&row)?);
        }
        if batch.len() == BATCH || (is_last && !batch.is_empty()) {
            sqlx::query(AssertSqlSafe(insert.clone()))
                .bind(serde_json::to_string(&batch)?)
                .execute(&mut *there)
                .await?;
            batch.clear();
        }
        if is_last {
            return Ok(());
        }
    }
}

/// The server numbers the next row of its own after the last that was copied.
async fn count_on(there: &mut AnyConnection, table: &Table) -> Result<(), StoreError> {
    let counted: Vec<String> = sqlx::query_scalar(
        "select cast(column_name as text) from information_schema.columns \
         where table_schema = current_schema() and table_name = $1 and is_identity = 'YES'",
    )
    .bind(table.name.clone())
    .fetch_all(&mut *there)
    .await?;
    for column in counted {
        let sql = format!(
            "select setval(pg_get_serial_sequence('{0}', '{column}'), max({column})) from {0} \
             having max({column}) is not null",
            table.name
        );
        sqlx::query(AssertSqlSafe(sql)).execute(&mut *there).await?;
    }
    Ok(())
}

async fn held(db: &mut AnyConnection, table: &Table, dialect: Dialect) -> Result<Held, StoreError> {
    let select = table.select(dialect);
    let mut rows = sqlx::query(AssertSqlSafe(select)).fetch(db);
    let (mut count, mut digest) = (0, Sha256::new());
    while let Some(row) = rows.try_next().await? {
        count += 1;
        // JSON marks where each value and each row ends.
        digest.update(serde_json::to_string(&table.values(&row)?)?);
        digest.update(b"\n");
    }
    Ok(Held {
        rows: count,
        digest: digest.finalize().into(),
    })
}
