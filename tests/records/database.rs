//! The database as it lies on the disk.

use super::fake::Clinic;
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};

/// All that is in the database's files: the main one and the write-ahead log.
pub fn bytes(clinic: &Clinic) -> Vec<u8> {
    let url = clinic.url();
    let file = url.strip_prefix("sqlite:").expect("a file");
    let mut bytes = std::fs::read(file).unwrap();
    bytes.extend(std::fs::read(format!("{file}-wal")).unwrap_or_default());
    bytes
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
