//! A clinic moves from its file into PostgreSQL, and goes on there.

use super::database::rows;
use super::fake::postgres::{Server, fresh_on};
use super::home::{at, juniper};
use super::lived::{Lived, OWNER, lived, on_runtime};
use sqlx::{AnyConnection, AssertSqlSafe, Connection};
use std::collections::BTreeSet;
use vialbell::domain::change::apply;
use vialbell::domain::household::Household;
use vialbell::engine::Confirmation;
use vialbell::store::{Store, StoreError};

/// In the middle of the course, with a dose to come in the evening.
const MIDDLE: &str = "2026-03-08T20:00:00Z";
const EVENING: &str = "2026-03-09T01:30:00Z";

fn server() -> Server {
    Server::start().expect("PostgreSQL is not installed")
}

async fn on_server(url: &str, sql: &str) {
    let mut db = AnyConnection::connect(url).await.unwrap();
    let sql = AssertSqlSafe(sql.to_owned());
    sqlx::raw_sql(sql).execute(&mut db).await.unwrap();
    db.close().await.unwrap();
}

async fn households_on(url: &str) -> i64 {
    let mut db = AnyConnection::connect(url).await.unwrap();
    let count = sqlx::query_scalar("select count(*) from household")
        .fetch_one(&mut db)
        .await
        .unwrap();
    db.close().await.unwrap();
    count
}

/// Every table of the file, as its schema has them.
async fn tables_of(lived: &Lived) -> BTreeSet<String> {
    let sql = "select name from pragma_table_list where schema = 'main' and type = 'table' \
               and name not like 'sqlite_%' and name <> '_sqlx_migrations'";
    rows(&lived.clinic, sql)
        .await
        .into_iter()
        .flatten()
        .collect()
}

#[test]
#[ignore = "needs PostgreSQL"]
fn a_clinic_with_a_history_moves_and_goes_on_there() {
    let server = server();
    on_runtime(async {
        let mut lived = lived(MIDDLE).await;
        let (before, journal) = (lived.household.clone(), lived.journal.clone());
        let url = fresh_on(&server.url("postgres")).await;
        let moved = Store::move_to_server(&lived.clinic.url(), &url)
            .await
            .unwrap();
        let names: BTreeSet<String> = moved.iter().map(|table| table.name.clone()).collect();
        assert_eq!(
            names,
            tables_of(&lived).await,
            "every table, whoever adds one"
        );
        assert_eq!(names.len(), moved.len());
        for table in &moved {
            assert!(table.is_same(), "{table:?}");
            let count = format!("select count(*) from {}", table.name);
            let here = rows(&lived.clinic, &count).await;
            assert_eq!(here[0][0], table.there.rows.to_string(), "{}", table.name);
        }
        let all: u64 = moved.iter().map(|table| table.there.rows).sum();
        let filled = moved.iter().filter(|table| table.there.rows > 0).count();
        println!("{} tables, {filled} with rows, {all} rows", moved.len());
        assert!(all > 100 && filled >= 12, "{moved:?}");

        let evening = at(EVENING);
        lived.clinic = lived.clinic.moved_to(&url, lived.now).await;
        lived.look().await;
        assert_eq!(lived.household, before);
        assert_eq!(lived.journal, journal);
        lived.clinic.platform.taken(OWNER.1);
        lived.clinic.pass(lived.now, evening).await;
        let asked = lived.clinic.platform.taken(OWNER.1);
        assert_eq!(asked.len(), 1, "{asked:?}");
        assert!(
            asked[0]
                .buttons
                .iter()
                .any(|button| button.label == "Given")
        );
        lived.says(OWNER.1, "mixed").await;
        lived.says(OWNER.1, "given").await;
        lived.clinic.step(evening).await;
        lived.look().await;
        let recorded = lived.household.administrations.len() - before.administrations.len();
        assert_eq!(recorded, 1);
        assert!(lived.journal.len() > journal.len());
        let known = &lived.household;
        let mut replayed = Household::new(
            known.id,
            &known.clinic,
            &known.owner,
            &known.language,
            known.zone,
        );
        for caused in &lived.journal {
            apply(&mut replayed, &caused.change);
        }
        assert_eq!(&replayed, known);
        // The next number of each kind is free.
        let mut order = juniper(8);
        order.first = "2026-03-10T19:30:00".parse().unwrap();
        let engine = &lived.clinic.engine;
        let enrolled = engine.enrol(&order, None, "Ines", Confirmation::Counted, evening);
        assert_eq!(enrolled.await.unwrap().household, known.id + 1);
    });
}

#[test]
#[ignore = "needs PostgreSQL"]
fn a_clinic_moves_neither_onto_another_nor_while_it_is_served_or_written_to() {
    let server = server();
    on_runtime(async {
        let lived = lived("2026-03-06T03:00:00Z").await;
        let here = lived.clinic.url();
        let url = fresh_on(&server.url("postgres")).await;
        let serving = Store::alone(&here).unwrap();
        let refused = Store::move_to_server(&here, &url).await.unwrap_err();
        assert!(matches!(refused, StoreError::Served { .. }), "{refused}");
        drop(serving);
        // A command of the terminal at work.
        let mut work = lived.clinic.engine.store().begin().await.unwrap();
        work.zone_rules().await.unwrap();
        let refused = Store::move_to_server(&here, &url).await.unwrap_err();
        assert!(refused.to_string().contains("locked"), "{refused}");
        work.roll_back().await.unwrap();

        Store::move_to_server(&here, &url).await.unwrap();
        let refused = Store::move_to_server(&here, &url).await.unwrap_err();
        assert!(matches!(refused, StoreError::NotEmpty { .. }), "{refused}");
        assert_eq!(refused.to_string().lines().count(), 1);
        assert_eq!(households_on(&url).await, 1);
        let _ = std::fs::remove_file(format!("{}.lock", &here["sqlite:".len()..]));
    });
}

#[test]
#[ignore = "needs PostgreSQL"]
fn a_difference_is_found_and_nothing_of_the_move_is_kept() {
    let server = server();
    on_runtime(async {
        let lived = lived("2026-03-06T03:00:00Z").await;
        let here = lived.clinic.url();
        let url = fresh_on(&server.url("postgres")).await;
        drop(Store::open(&url).await.unwrap());
        // A server that does not keep what it was given.
        on_server(
            &url,
            "create function spoil() returns trigger language plpgsql as $$ \
               begin new.name := new.name || ' '; return new; end $$; \
             create trigger spoil before insert on carer for each row execute function spoil()",
        )
        .await;
        let moved = Store::move_to_server(&here, &url).await.unwrap();
        let different: Vec<&str> = moved
            .iter()
            .filter(|table| !table.is_same())
            .map(|table| table.name.as_str())
            .collect();
        assert_eq!(different, ["carer"]);
        assert_eq!(households_on(&url).await, 0, "nothing of it is kept");
        on_server(&url, "drop trigger spoil on carer").await;
        let moved = Store::move_to_server(&here, &url).await.unwrap();
        assert!(moved.iter().all(|table| table.is_same()));
        let _ = std::fs::remove_file(format!("{}.lock", &here["sqlite:".len()..]));
    });
}
