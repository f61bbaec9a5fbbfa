//! The same tables on PostgreSQL.

use super::postgres::{Server, fresh_on};
use super::states::{BAD, GOOD};
use super::{Folder, connect, execute, make, run, texts};
use sqlx::{AnyConnection, Connection};
use std::collections::BTreeSet;
use vialbell::store::{Store, StoreError};

fn steps(database: &str) -> BTreeSet<String> {
    let folder = format!("{}/migrations/{database}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect()
}

#[test]
fn both_databases_have_steps_of_the_same_numbers_and_names() {
    let (sqlite, postgres) = (steps("sqlite"), steps("postgres"));
    assert!(sqlite.len() >= 4, "{sqlite:?}");
    assert_eq!(
        sqlite, postgres,
        "whoever adds a step adds it to migrations/sqlite and to migrations/postgres"
    );
}

/// A fresh database with our tables; none where no server is installed.
async fn on_a_server(server: &Server) -> (String, AnyConnection) {
    let url = fresh_on(&server.url("postgres")).await;
    drop(Store::open(&url).await.unwrap());
    let db = AnyConnection::connect(&url).await.unwrap();
    (url, db)
}

fn server() -> Server {
    Server::start().expect("PostgreSQL is not installed")
}

#[test]
#[ignore = "needs PostgreSQL"]
fn both_databases_have_the_same_columns_indexes_and_keys() {
    let folder = Folder::new();
    let server = server();
    run(async {
        make(&folder.file()).await;
        let mut file = connect(&folder.file()).await;
        let (_, mut db) = on_a_server(&server).await;
        let here = texts(
            &mut file,
            "select t.name, c.name, case c.type when 'INTEGER' then 'bigint' else 'text' end, \
               case when c.\"notnull\" = 1 or c.pk > 0 then 'NO' else 'YES' end, \
               cast(c.pk as text) \
             from pragma_table_list t join pragma_table_info(t.name) c \
             where t.schema = 'main' and t.type = 'table' and t.name not like 'sqlite_%' \
               and t.name <> '_sqlx_migrations' order by 1, 2",
        )
        .await;
        let there = texts(
            &mut db,
            "select cast(c.table_name as text), cast(c.column_name as text), cast(c.data_type as text), \
               cast(c.is_nullable as text), cast(coalesce(k.ordinal_position, 0) as text) \
             from information_schema.columns c \
             left join information_schema.table_constraints p on p.table_name = c.table_name \
               and p.constraint_type = 'PRIMARY KEY' and p.table_schema = c.table_schema \
             left join information_schema.key_column_usage k on k.constraint_name = p.constraint_name \
               and k.table_name = c.table_name and k.column_name = c.column_name \
             where c.table_schema = 'public' and c.table_name <> '_sqlx_migrations' \
             order by c.table_name collate \"C\", c.column_name collate \"C\"",
        )
        .await;
        assert!(here.len() > 100, "{}", here.len());
        assert_eq!(here, there);
        let here = texts(
            &mut file,
            "select name from sqlite_master where type = 'index' and sql is not null order by 1",
        )
        .await;
        let there = texts(
            &mut db,
            "select cast(c.relname as text) from pg_index i join pg_class c on c.oid = i.indexrelid \
             join pg_namespace n on n.oid = c.relnamespace \
             where n.nspname = 'public' and c.relname not like '%\\_pkey' and c.relname not like '%\\_key' \
             order by c.relname collate \"C\"",
        )
        .await;
        assert_eq!(here, there);
    });
}

/// PostgreSQL rounds a half that is written into a whole number; nothing here writes one.
const ROUNDED: &str = "a volume that is no whole number";

#[test]
#[ignore = "needs PostgreSQL"]
fn what_cannot_be_is_refused_there_as_well() {
    let server = server();
    run(async {
        let (_, mut db) = on_a_server(&server).await;
        for sql in GOOD {
            execute(&mut db, sql)
                .await
                .unwrap_or_else(|e| panic!("{sql}: {e}"));
        }
        for (what, sql) in BAD.iter().filter(|(what, _)| *what != ROUNDED) {
            let done = execute(&mut db, sql).await;
            let Err(refused) = done else {
                panic!("{what} was accepted: {sql}");
            };
            let by_rule = ["violates", "invalid input syntax"];
            assert!(
                by_rule.iter().any(|rule| refused.contains(rule)),
                "{what}: refused for another reason: {refused}"
            );
        }
        execute(
            &mut db,
            "insert into journal values (1, 1, 0, 'test', '{}')",
        )
        .await
        .unwrap();
        execute(
            &mut db,
            "insert into clinic_journal (clinic, at, who, origin, what) values ('c', 0, 'w', 'o', 'chat-bound')",
        )
        .await
        .unwrap();
        for sql in [
            "update journal set cause = 'another'",
            "delete from journal",
            "truncate journal",
            "update clinic_journal set who = 'another'",
            "delete from clinic_journal",
            "truncate clinic_journal",
        ] {
            let refused = execute(&mut db, sql).await.unwrap_err();
            assert!(refused.contains("only added to"), "{sql}: {refused}");
        }
    });
}

#[test]
#[ignore = "needs PostgreSQL"]
fn a_database_of_a_newer_program_is_refused_and_no_line_holds_the_password() {
    let server = server();
    run(async {
        let (url, mut db) = on_a_server(&server).await;
        let secret = url.replace("vialbell@", "vialbell:s3cret@");
        execute(
            &mut db,
            "insert into _sqlx_migrations (version, description, success, checksum, execution_time) \
             values (9001, 'from the future', true, '\\x00', 0)",
        )
        .await
        .unwrap();
        let newer = Store::open(&secret).await.err().unwrap();
        assert!(
            matches!(newer, StoreError::Newer { version: 9001, .. }),
            "{newer}"
        );
        let absent = secret.replace("/vialbell_", "/nothing_");
        let absent = Store::open(&absent).await.err().unwrap();
        assert!(matches!(absent, StoreError::Server { .. }), "{absent}");
        for line in [newer.to_string(), absent.to_string()] {
            assert!(!line.contains("s3cret") && !line.contains('\n'), "{line}");
            assert!(line.starts_with("postgres://"), "{line}");
        }
    });
}
