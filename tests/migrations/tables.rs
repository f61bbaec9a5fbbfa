//! What a fresh database looks like.

use super::{Folder, connect, execute, make, run, texts};
use sqlx::Connection;
use std::collections::BTreeSet;
use std::os::unix::fs::PermissionsExt;
use vialbell::store::Store;

const OURS: &str = "select name from pragma_table_list where schema = 'main' and type = 'table' \
                    and name not like 'sqlite_%' and name <> '_sqlx_migrations'";

#[test]
fn every_table_is_strict() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        let all = texts(&mut db, OURS).await;
        assert!(all.len() >= 16, "{all:?}");
        let loose = texts(&mut db, &format!("{OURS} and strict = 0")).await;
        assert!(loose.is_empty(), "{loose:?}");
    });
}

#[test]
fn every_column_holds_whole_numbers_or_text() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        let sql = format!(
            "select t.name, c.name, c.type from ({OURS}) t join pragma_table_info(t.name) c"
        );
        let columns = texts(&mut db, &sql).await;
        assert!(columns.len() > 100, "{}", columns.len());
        for column in columns {
            assert!(
                ["INTEGER", "TEXT"].contains(&column[2].as_str()),
                "{column:?} has no like in BIGINT or TEXT"
            );
        }
    });
}

#[test]
fn the_steps_are_applied_in_the_order_of_their_numbers() {
    let folder = Folder::new();
    let steps = concat!(env!("CARGO_MANIFEST_DIR"), "/migrations/sqlite");
    let mut names: Vec<String> = std::fs::read_dir(steps)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let numbers: Vec<u32> = names
        .iter()
        .map(|name| name.split_once('_').unwrap().0.parse().unwrap())
        .collect();
    assert!(numbers.is_sorted_by(|a, b| a < b), "{names:?}");
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        let applied = texts(
            &mut db,
            "select printf('%04d_%s', version, replace(description, ' ', '_')), \
             cast(success as text) from _sqlx_migrations order by rowid",
        )
        .await;
        let expected: Vec<Vec<String>> = names
            .iter()
            .map(|name| vec![name.trim_end_matches(".sql").to_owned(), "1".into()])
            .collect();
        assert_eq!(applied, expected);
    });
}

#[test]
fn opening_again_changes_nothing() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let before = std::fs::read(folder.file()).unwrap();
        make(&folder.file()).await;
        assert_eq!(std::fs::read(folder.file()).unwrap(), before);
    });
}

#[test]
fn nobody_else_on_the_machine_may_read_it() {
    let folder = Folder::new();
    run(async {
        let store = Store::open(&super::url(&folder.file())).await.unwrap();
        let mut work = store.begin().await.unwrap();
        work.bind_clinic_chat(
            "clinic",
            &vialbell::domain::household::Chat {
                channel: "test".into(),
                address: "1".into(),
            },
        )
        .await
        .unwrap();
        work.commit().await.unwrap();
        let mut names = BTreeSet::new();
        for entry in std::fs::read_dir(&folder.0).unwrap() {
            let entry = entry.unwrap();
            let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
            assert_eq!(mode, 0o600, "{:?}", entry.file_name());
            names.insert(entry.file_name().into_string().unwrap());
        }
        let expected = ["vialbell.db", "vialbell.db-shm", "vialbell.db-wal"];
        assert_eq!(names, expected.map(str::to_owned).into());
    });
}

#[test]
fn the_journal_is_only_added_to() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        for sql in [
            "insert into household (id, clinic, owner, language, zone, version) values (1, 'c', 'o', 'en', 'UTC', 0)",
            "insert into journal (household, at, cause, change) values (1, 0, 'test', '{}')",
            "insert into clinic_journal (clinic, at, who, origin, what) values ('c', 0, 'w', 'o', 'chat-bound')",
        ] {
            execute(&mut db, sql).await.unwrap();
        }
        for sql in [
            "update journal set cause = 'another'",
            "update journal set at = 1 where id = 1",
            "delete from journal",
            "update clinic_journal set who = 'another'",
            "delete from clinic_journal",
        ] {
            let refused = execute(&mut db, sql).await.unwrap_err();
            assert!(refused.contains("only added to"), "{sql}: {refused}");
        }
        let left = texts(&mut db, "select cause, change from journal").await;
        assert_eq!(left, [["test", "{}"]]);
        db.close().await.unwrap();
    });
}

/// An entry may be written anew once, for an erasure of its household that was
/// recorded after it, and stays the same kind of change at the same instant.
#[test]
fn an_entry_is_rewritten_for_an_erasure_and_for_nothing_else() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        for sql in [
            "insert into household (id, clinic, owner, language, zone, version) values (1, 'c', 'o', 'en', 'UTC', 0), (2, 'c', 'o', 'en', 'UTC', 0)",
            "insert into journal (household, at, cause, change) values \
             (1, 0, 'test', '{\"change\":\"carer-said\",\"text\":\"a\"}'), \
             (2, 0, 'test', '{\"change\":\"carer-said\",\"text\":\"b\"}'), \
             (1, 0, 'test', '{\"change\":\"carer-said\",\"text\":\"c\"}')",
            "insert into erasure (id, household, at, erased_by, last_entry) values (7, 1, 0, 'Ines', 2)",
        ] {
            execute(&mut db, sql).await.unwrap();
        }
        let wordless = "change = '{\"change\":\"carer-said\",\"text\":\"\"}'";
        let refused = [
            ("without an erasure", format!("update journal set {wordless} where id = 1")),
            ("of another household", format!("update journal set {wordless}, erasure = 7 where id = 2")),
            ("after the erasure", format!("update journal set {wordless}, erasure = 7 where id = 3")),
            ("by an erasure that is not there", format!("update journal set {wordless}, erasure = 8 where id = 1")),
            ("another instant", format!("update journal set {wordless}, erasure = 7, at = 1 where id = 1")),
            ("another cause", format!("update journal set {wordless}, erasure = 7, cause = 'x' where id = 1")),
            ("another kind", "update journal set change = '{\"change\":\"course-ended\"}', erasure = 7 where id = 1".into()),
            ("no kind", "update journal set change = '{}', erasure = 7 where id = 1".into()),
            ("the erasure itself", "update erasure set last_entry = 9".into()),
            ("the erasure itself", "delete from erasure".into()),
        ];
        for (what, sql) in &refused {
            let refused = execute(&mut db, sql).await.expect_err(what);
            assert!(refused.contains("only added to"), "{what}: {refused}");
        }
        let allowed = format!("update journal set {wordless}, erasure = 7 where id = 1");
        execute(&mut db, &allowed).await.unwrap();
        let refused = execute(&mut db, &allowed).await.expect_err("a second time");
        assert!(refused.contains("only added to"), "{refused}");
        let words = texts(
            &mut db,
            "select json_extract(change, '$.text') from journal order by id",
        )
        .await;
        assert_eq!(words, [[""], ["b"], ["c"]]);
        db.close().await.unwrap();
    });
}
