//! What the same machine does without us: teloxide's client and nothing else.

use super::clinic::{FIRST_CHAT, TOKEN};
use super::stub::Stub;
use futures_util::StreamExt;
use std::time::{Duration, Instant};
use teloxide::prelude::*;
use tokio::task::JoinSet;

/// Sends, as many at a time as are quickest.
pub async fn sends(stub: &Stub, count: i64) -> Duration {
    let bot = Bot::new(TOKEN).set_api_url(stub.url.parse().unwrap());
    let begun = Instant::now();
    futures_util::stream::iter(0..count)
        .for_each_concurrent(256, |n| {
            let bot = bot.clone();
            async move {
                bot.send_message(ChatId(FIRST_CHAT + n), "Juniper: dose due")
                    .await
                    .unwrap();
            }
        })
        .await;
    begun.elapsed()
}

/// Asks for updates and commits each batch by one statement: no decision. With `replies`
/// each is answered behind its commit, all that are on the way beside each other.
pub async fn commits(stub: &Stub, count: usize, replies: bool) -> Duration {
    use sqlx::{AnyConnection, Connection};
    let file = std::env::temp_dir().join(format!("vialbell-bare-{}.db", std::process::id()));
    let _ = std::fs::remove_file(&file);
    let url = format!("sqlite:{}?mode=rwc", file.display());
    let mut db = AnyConnection::connect(&url).await.unwrap();
    for sql in [
        "pragma journal_mode = wal",
        "pragma synchronous = full",
        "create table heard (id integer primary key, body text not null)",
    ] {
        sqlx::query(sql).fetch_all(&mut db).await.unwrap();
    }
    let bot = Bot::new(TOKEN).set_api_url(stub.url.parse().unwrap());
    let begun = Instant::now();
    let (mut heard, mut offset) = (0, 0);
    let mut on_the_way = JoinSet::new();
    while heard < count {
        let batch = bot.get_updates().offset(offset).limit(100).await.unwrap();
        let bodies: Vec<String> = batch
            .iter()
            .map(|update| format!("{:?}", update.kind))
            .collect();
        sqlx::query("insert into heard (body) select value from json_each($1)")
            .bind(serde_json::to_string(&bodies).unwrap())
            .execute(&mut db)
            .await
            .unwrap();
        for update in batch.iter().filter(|_| replies) {
            let (bot, chat) = (bot.clone(), update.chat().unwrap().id);
            on_the_way.spawn(async move {
                let sent = bot.send_message(chat, "Juniper: 3.6 mL are left in vial 1");
                sent.await.unwrap();
            });
        }
        heard += batch.len();
        offset = batch
            .last()
            .map_or(offset, |update| i32::try_from(update.id.0).unwrap() + 1);
    }
    on_the_way.join_all().await;
    let took = begun.elapsed();
    for end in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
    took
}
