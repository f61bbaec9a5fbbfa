//! The database as it lies on the disk.

use super::fake::Clinic;
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};

/// All that the database holds: of SQLite the bytes of its files, the main one
/// and the write-ahead log; of PostgreSQL every text in every row.
pub async fn bytes(clinic: &Clinic) -> Vec<u8> {
    let url = clinic.url();
    let Some(file) = url.strip_prefix("sqlite:") else {
        let mut texts = String::new();
        for column in text_columns(clinic).await {
            let (table, column) = column.split_once('.').unwrap();
            for row in rows(clinic, &format!("select {column} from {table}")).await {
                texts.push_str(&row[0]);
                texts.push('\n');
            }
        }
        return texts.into_bytes();
    };
    let mut bytes = std::fs::read(file).unwrap();
    bytes.extend(std::fs::read(format!("{file}-wal")).unwrap_or_default());
    bytes
}

/// Every column of text, as `table.column`, in order.
pub async fn text_columns(clinic: &Clinic) -> Vec<String> {
    let sql = if clinic.url().starts_with("sqlite:") {
        "select t.name || '.' || c.name from pragma_table_list t join pragma_table_info(t.name) c \
         where t.schema = 'main' and t.type = 'table' and c.type = 'TEXT' \
         and t.name not like 'sqlite_%' and t.name <> '_sqlx_migrations'"
    } else {
        "select cast(table_name || '.' || column_name as text) from information_schema.columns \
         where table_schema = 'public' and data_type = 'text' and table_name <> '_sqlx_migrations'"
    };
    let mut columns: Vec<String> = rows(clinic, sql).await.into_iter().flatten().collect();
    columns.sort();
    columns
}

/// Which of these stand anywhere in the bytes.
pub fn found<'a>(bytes: &[u8], words: &[&'a str]) -> Vec<&'a str> {
    let stands = |word: &&&str| bytes.windows(word.len()).any(|at| at == word.as_bytes());
    words.iter().filter(stands).copied().collect()
}

/// The rows of a query, each column as text.
pub async fn rows(clinic: &Clinic, sql: &str) -> Vec<Vec<String>> {
    sqlx::any::install_default_drivers();
    let mut db = AnyConnection::connect(&clinic.url()).await.unwrap();
    let rows = sqlx::query(AssertSqlSafe(sql.to_owned()))
        .fetch_all(&mut db)
        .await
        .unwrap();
    db.close().await.unwrap();
    rows.iter()
        .map(|row| {
            let cells = (0..row.len()).map(|cell| {
                let text: Result<Option<String>, _> = row.try_get(cell);
                match text {
                    Ok(text) => text.unwrap_or_else(|| "null".into()),
                    Err(_) => row.get::<i64, _>(cell).to_string(),
                }
            });
            cells.collect()
        })
        .collect()
}
