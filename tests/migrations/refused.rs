//! Files that are refused.

use super::{Folder, connect, execute, make, run, settle, texts, url};
use sqlx::Connection;
use std::path::Path;
use vialbell::store::Store;

/// Opens a file that cannot be used; gives the line.
async fn refused(file: &Path) -> String {
    let Err(error) = Store::open(&url(file)).await else {
        panic!("{} was opened", file.display());
    };
    let line = error.to_string();
    assert!(!line.contains('\n'), "one line: {line}");
    assert!(
        line.starts_with(&file.display().to_string()),
        "it names the file: {line}"
    );
    line
}

/// Refuses these bytes, and leaves them as they are.
async fn refuses_bytes(bytes: &[u8], words: &str) {
    let folder = Folder::new();
    std::fs::write(folder.file(), bytes).unwrap();
    let line = refused(&folder.file()).await;
    assert!(line.contains(words), "{line}");
    let after = std::fs::read(folder.file()).unwrap();
    assert!(after == bytes, "the file is as it was");
}

#[test]
fn a_file_of_a_newer_program_is_refused_and_left_as_it_is() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        execute(
            &mut db,
            "insert into _sqlx_migrations (version, description, success, checksum, execution_time) \
             values (9001, 'from the future', 1, x'00', 0)",
        )
        .await
        .unwrap();
        db.close().await.unwrap();
        settle(&folder.file()).await;
        let before = std::fs::read(folder.file()).unwrap();
        let line = refused(&folder.file()).await;
        assert!(line.contains("newer vialbell (migration 9001)"), "{line}");
        settle(&folder.file()).await;
        assert_eq!(std::fs::read(folder.file()).unwrap(), before);
    });
}

#[test]
fn a_file_whose_steps_were_others_is_refused() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        let sql = "update _sqlx_migrations set checksum = x'00' where version = 1";
        execute(&mut db, sql).await.unwrap();
        db.close().await.unwrap();
        settle(&folder.file()).await;
        let before = std::fs::read(folder.file()).unwrap();
        let line = refused(&folder.file()).await;
        assert!(line.contains("do not match this program"), "{line}");
        settle(&folder.file()).await;
        assert_eq!(std::fs::read(folder.file()).unwrap(), before);
    });
}

#[test]
fn what_is_no_database_is_refused_and_left_as_it_is() {
    run(async {
        let mut seed = 0x2545_f491_4f6c_dd1d_u64;
        let mut noise = || {
            seed ^= seed << 13;
            seed ^= seed >> 7;
            seed ^= seed << 17;
            seed.to_le_bytes()[3]
        };
        let random: Vec<u8> = (0..20_000).map(|_| noise()).collect();
        for bytes in [
            &random[..],
            b"[clinic]\nkey = \"x\"\n",
            &random[..1_000],
            b"x",
        ] {
            refuses_bytes(bytes, "not a vialbell database").await;
        }
    });
}

#[test]
fn a_file_that_was_cut_off_or_overwritten_is_refused_and_left_as_it_is() {
    run(async {
        let folder = Folder::new();
        make(&folder.file()).await;
        let whole = std::fs::read(folder.file()).unwrap();
        for length in [whole.len() / 2, whole.len() - 4_096, 4_096, 5_000, 100] {
            refuses_bytes(&whole[..length], "damaged").await;
        }
        let mut header = whole.clone();
        header[..100].fill(0xAA);
        refuses_bytes(&header, "damaged").await;
        // A hole in the middle, as a failing disk leaves it.
        let mut hole = whole.clone();
        let middle = whole.len() / 2 / 4_096 * 4_096;
        hole[middle..middle + 4_096].fill(0xFF);
        refuses_bytes(&hole, "damaged").await;
    });
}

#[test]
fn a_database_of_another_program_is_refused_and_left_as_it_is() {
    let folder = Folder::new();
    run(async {
        std::fs::write(folder.file(), b"").unwrap();
        let mut db = connect(&folder.file()).await;
        execute(&mut db, "create table songs (title text)")
            .await
            .unwrap();
        execute(&mut db, "insert into songs values ('Lullaby')")
            .await
            .unwrap();
        db.close().await.unwrap();
        let before = std::fs::read(folder.file()).unwrap();
        let line = refused(&folder.file()).await;
        assert!(line.contains("not a vialbell database"), "{line}");
        assert_eq!(std::fs::read(folder.file()).unwrap(), before);
    });
}

#[test]
fn an_empty_file_becomes_a_database() {
    let folder = Folder::new();
    run(async {
        std::fs::write(folder.file(), b"").unwrap();
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        let steps = texts(&mut db, "select description from _sqlx_migrations").await;
        assert!(!steps.is_empty());
    });
}

#[test]
fn a_place_that_cannot_be_written_is_said_in_one_line() {
    let folder = Folder::new();
    run(async {
        let line = refused(&folder.0).await;
        assert!(line.contains("cannot be opened for writing"), "{line}");
        let line = refused(&folder.0.join("no").join("folder").join("x.db")).await;
        assert!(line.contains("check that the folder exists"), "{line}");
    });
}

#[test]
fn a_url_of_another_kind_is_refused_with_an_example() {
    run(async {
        for wrong in ["", "vialbell.db", "mysql://x/y", "/var/lib/vialbell.db"] {
            let Err(error) = Store::open(wrong).await else {
                panic!("{wrong} was opened");
            };
            let line = error.to_string();
            assert!(
                line.contains("sqlite:vialbell.db") && !line.contains('\n'),
                "{line}"
            );
        }
    });
}
