//! Rows as SQLite's binary JSON, by the format that its makers publish
//! (<https://sqlite.org/jsonb.html>).
//!
//! As text each quotation mark of a message, which is JSON of its own, is escaped here,
//! read by SQLite, and taken out of its escapes again. In binary a text is its bytes.

use super::table::Cell;
use std::io::Write;

/// Kinds of elements: the lower half of what an element begins with.
const NULL: u8 = 0;
const INT: u8 = 3;
/// Text that would need escapes in JSON's own form, and has none.
const TEXT_RAW: u8 = 10;
const ARRAY: u8 = 11;

/// How long an element is: the upper half, up to 11 the length itself. It need not be
/// the shortest way to say it.
const IN_ONE_BYTE: u8 = 12 << 4;
const IN_TWO_BYTES: u8 = 13 << 4;
const IN_EIGHT_BYTES: u8 = 15 << 4;

/// An array with an array for each row.
pub(super) fn rows(rows: &[impl AsRef<[Cell]>]) -> Vec<u8> {
    let mut bytes = Vec::new();
    array(&mut bytes, |bytes| {
        for row in rows {
            array(bytes, |bytes| {
                row.as_ref().iter().for_each(|each| cell(bytes, each));
            });
        }
    });
    bytes
}

/// How long it is is known only afterwards.
fn array(bytes: &mut Vec<u8>, fill: impl FnOnce(&mut Vec<u8>)) {
    bytes.push(IN_EIGHT_BYTES | ARRAY);
    let length = bytes.len();
    bytes.extend_from_slice(&[0; 8]);
    let begin = bytes.len();
    fill(bytes);
    let long = (bytes.len() - begin) as u64;
    bytes[length..begin].copy_from_slice(&long.to_be_bytes());
}

fn cell(bytes: &mut Vec<u8>, cell: &Cell) {
    match cell {
        Cell::Null => bytes.push(NULL),
        Cell::Int(number) => int(bytes, *number),
        Cell::Text(words) => text(bytes, words),
    }
}

/// In digits, twenty at most.
fn int(bytes: &mut Vec<u8>, number: i64) {
    bytes.push(IN_ONE_BYTE | INT);
    let length = bytes.len();
    bytes.push(0);
    // Writing into memory does not fail.
    let _ = write!(bytes, "{number}");
    bytes[length] = (bytes.len() - length - 1) as u8;
}

fn text(bytes: &mut Vec<u8>, words: &str) {
    let long = words.len();
    if let Ok(long) = u8::try_from(long) {
        bytes.extend_from_slice(&[IN_ONE_BYTE | TEXT_RAW, long]);
    } else if let Ok(long) = u16::try_from(long) {
        bytes.push(IN_TWO_BYTES | TEXT_RAW);
        bytes.extend_from_slice(&long.to_be_bytes());
    } else {
        bytes.push(IN_EIGHT_BYTES | TEXT_RAW);
        bytes.extend_from_slice(&(long as u64).to_be_bytes());
    }
    bytes.extend_from_slice(words.as_bytes());
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Store;
    use crate::store::dialect::Dialect;
    use sqlx::{AssertSqlSafe, Row};

    /// What SQLite reads in rows of two cells, of which the second is text.
    async fn read(rows: &[[Cell; 2]]) -> Vec<(Option<i64>, Option<String>)> {
        let store = Store::throw_away().await.unwrap();
        let mut work = store.begin().await.unwrap();
        let dialect = Dialect::Sqlite;
        let sql = format!(
            "select {}, {} from {}",
            dialect.int("e", 0),
            dialect.text("e", 1),
            dialect.elements("$1", "e")
        );
        let found = sqlx::query(AssertSqlSafe(sql))
            .bind(super::rows(rows))
            .fetch_all(work.db().await.unwrap())
            .await
            .unwrap();
        let pair = |row: &sqlx::any::AnyRow| (row.get(0), row.get(1));
        found.iter().map(pair).collect()
    }

    #[tokio::test]
    async fn sqlite_reads_what_was_written() {
        let numbers = [
            0,
            -1,
            9,
            1_772_764_300_000,
            99_999_999_999,
            i64::MIN,
            i64::MAX,
        ];
        let mut rows: Vec<[Cell; 2]> = numbers.map(|each| [each.into(), Cell::Null]).to_vec();
        let words = [
            "",
            r#"{"kind":"dose","of":"\\"}"#,
            "a line\nand a \t tab, \u{1}, \u{7f}, 'one' and \u{2028}",
            "ñ 猫 🐈",
            "before\0behind",
            "null",
            "12",
        ];
        rows.extend(words.map(|each| [Cell::Null, each.into()]));
        // Around each length from which on it is said otherwise.
        for long in [
            11, 12, 254, 255, 256, 257, 65_534, 65_535, 65_536, 65_537, 200_000,
        ] {
            rows.push([Cell::Null, "\"".repeat(long).into()]);
        }
        let expected: Vec<(Option<i64>, Option<String>)> = rows
            .iter()
            .map(|[number, words]| {
                let number = match number {
                    Cell::Int(number) => Some(*number),
                    _ => None,
                };
                let words = match words {
                    Cell::Text(words) => Some(words.clone()),
                    _ => None,
                };
                (number, words)
            })
            .collect();
        assert_eq!(read(&rows).await, expected);
    }

    #[tokio::test]
    async fn no_rows_are_none() {
        assert_eq!(read(&[]).await, []);
    }
}
