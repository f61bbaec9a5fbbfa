//! Many households on disk: one is enrolled by the program, the others are
//! copies of its rows with numbers and chats of their own. Copies have no
//! journal: nothing that is measured reads it.

use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};

/// Copies household 1 until there are `count`; household N's owner writes from chat 1000000 + N.
pub async fn multiply(url: &str, count: i64) {
    sqlx::any::install_default_drivers();
    let mut db = AnyConnection::connect(url).await.unwrap();
    let run = async |db: &mut AnyConnection, sql: String| {
        sqlx::query(AssertSqlSafe(sql)).execute(db).await.unwrap();
    };
    let server = url.starts_with("postgres");
    if !server {
        run(&mut db, "pragma synchronous = off".into()).await;
    }
    run(&mut db, "begin".into()).await;
    run(
        &mut db,
        "create temp table copy (n bigint primary key)".into(),
    )
    .await;
    run(
        &mut db,
        format!(
            "insert into copy with recursive c(n) as (select 2 union all select n + 1 from c where n < {count}) select n from c"
        ),
    )
    .await;
    for table in [
        "household",
        "carer",
        "patient",
        "course",
        "plan",
        "supply",
        "dose",
        "vial",
        "administration",
        "withdrawal",
    ] {
        let named = if server {
            "select cast(column_name as text) from information_schema.columns where table_name ="
        } else {
            "select name from pragma_table_info"
        };
        let rows = sqlx::query(AssertSqlSafe(format!("{named} ('{table}')")))
            .fetch_all(&mut db)
            .await
            .unwrap();
        let columns: Vec<String> = rows.iter().map(|row| row.get(0)).collect();
        let key = if table == "household" {
            "id"
        } else {
            "household"
        };
        let values: Vec<String> = columns
            .iter()
            .map(|column| match column.as_str() {
                name if name == key => "copy.n".into(),
                "address" => {
                    "case when t.address is null then null else cast(1000000 + copy.n as text) end"
                        .into()
                }
                name => format!("t.{name}"),
            })
            .collect();
        run(
            &mut db,
            format!(
                "insert into {table} ({}) select {} from {table} t, copy where t.{key} = 1",
                columns.join(", "),
                values.join(", ")
            ),
        )
        .await;
    }
    run(
        &mut db,
        "update carer set address = '1000001' where household = 1 and address is not null".into(),
    )
    .await;
    run(&mut db, "commit".into()).await;
    if server {
        run(&mut db, "analyze".into()).await;
    }
    db.close().await.unwrap();
}

/// Has every household but the first `count` wait for another day.
pub async fn only_due(url: &str, count: i64, later_ms: i64) {
    let later = format!("update household set wake_at = wake_at + {later_ms} where id > {count}");
    run(url, later).await;
}

/// Has every household live in another zone, and wait for longer.
pub async fn move_to(url: &str, zone: &str, later_ms: i64) {
    let moved = format!("update household set zone = '{zone}', wake_at = wake_at + {later_ms}");
    run(url, moved).await;
}

/// Nothing is known of zones, as before the first start.
pub async fn forget_zone_rules(url: &str) {
    run(url, "delete from zone_rules".into()).await;
}

/// What is known of zones is an older release's.
pub async fn date_zone_rules(url: &str) {
    run(url, "update zone_rules set release = 'before'".into()).await;
}

/// Has a server write out what it holds: that of a copied file is on disk as well.
pub async fn write_out(url: &str) {
    run(url, "checkpoint".into()).await;
}

async fn run(url: &str, sql: String) {
    let mut db = AnyConnection::connect(url).await.unwrap();
    sqlx::query(AssertSqlSafe(sql))
        .execute(&mut db)
        .await
        .unwrap();
    db.close().await.unwrap();
}
