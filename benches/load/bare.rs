//! What the same machine does without us: teloxide's client and nothing else, in a process
//! of its own, as the program is, with the messages that the program sends.

use super::clinic::{FIRST_CHAT, TOKEN};
use super::program::{driver_to_leave, last_word, say};
use futures_util::StreamExt;
use serde::Deserialize;
use std::sync::Arc;
use teloxide::prelude::*;
use teloxide::types::InlineKeyboardMarkup;
use tokio::task::JoinSet;

/// The word that makes this executable one that only sends.
pub const SENDS: &str = "bare-sends";
/// The word that makes it one that asks for updates and commits them, and answers each if
/// there are words to answer with.
pub const LOOP: &str = "bare-loop";
/// Behind its words: it asks for the next updates when it has answered the last.
pub const ANSWERS_FIRST: &str = "answers-first";
/// Behind its words: it asks for the next updates while it answers the last.
pub const ASKS_MEANWHILE: &str = "asks-meanwhile";
/// So many sends beside each other are quickest; twice as many are slower by a fifth.
const BESIDE_EACH_OTHER: usize = 96;

/// What is said to one chat after the other, from the first again when all was said: bodies
/// of `sendMessage` as a JSON array.
struct Words(Vec<Said>);

#[derive(Deserialize)]
struct Said {
    text: String,
    reply_markup: Option<InlineKeyboardMarkup>,
}

impl Words {
    fn parse(bodies: &str) -> Words {
        Words(serde_json::from_str(bodies).unwrap())
    }

    async fn say(&self, bot: &Bot, chat: ChatId) {
        let nth = usize::try_from(chat.0 - FIRST_CHAT).unwrap() % self.0.len();
        let said = &self.0[nth];
        let mut request = bot.send_message(chat, &said.text);
        request.reply_markup = said.reply_markup.clone().map(Into::into);
        request.await.unwrap();
    }
}

/// Whether the process was started as one of the two, and what it then did.
pub async fn run(words: &[&str]) -> bool {
    match words {
        [SENDS, api, count, bodies] => {
            sends(api, count.parse().unwrap(), &Words::parse(bodies)).await;
        }
        [LOOP, api, count, bodies, way] => {
            let most_left = match *way {
                ANSWERS_FIRST => 0,
                ASKS_MEANWHILE => BESIDE_EACH_OTHER,
                way => panic!("no way of a loop: {way}"),
            };
            commits(api, count.parse().unwrap(), Words::parse(bodies), most_left).await;
        }
        _ => return false,
    }
    driver_to_leave().await;
    last_word();
    true
}

/// Sends, as many at a time as are quickest.
async fn sends(api: &str, count: i64, words: &Words) {
    let bot = Bot::new(TOKEN).set_api_url(api.parse().unwrap());
    say("ready");
    futures_util::stream::iter(0..count)
        .for_each_concurrent(BESIDE_EACH_OTHER, |n| {
            words.say(&bot, ChatId(FIRST_CHAT + n))
        })
        .await;
    say("done");
}

/// Asks for updates and commits each batch by one statement: no decision. With words each is
/// answered behind its commit, beside each other; the next are asked for when no more than
/// so many answers are on the way.
async fn commits(api: &str, count: usize, words: Words, most_left: usize) {
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
    let bot = Bot::new(TOKEN).set_api_url(api.parse().unwrap());
    let words = Arc::new(words);
    say("ready");
    let (mut heard, mut offset) = (0, 0);
    let mut on_the_way = JoinSet::new();
    while heard < count {
        let asked = bot.get_updates().offset(offset).limit(100).timeout(10);
        let batch = asked.await.unwrap();
        let bodies: Vec<String> = batch
            .iter()
            .map(|update| format!("{:?}", update.kind))
            .collect();
        sqlx::query("insert into heard (body) select value from json_each($1)")
            .bind(serde_json::to_string(&bodies).unwrap())
            .execute(&mut db)
            .await
            .unwrap();
        for update in batch.iter().filter(|_| !words.0.is_empty()) {
            let (bot, words) = (bot.clone(), words.clone());
            let chat = update.chat().unwrap().id;
            no_more_than(BESIDE_EACH_OTHER - 1, &mut on_the_way).await;
            on_the_way.spawn(async move { words.say(&bot, chat).await });
        }
        no_more_than(most_left, &mut on_the_way).await;
        heard += batch.len();
        offset = batch
            .last()
            .map_or(offset, |update| i32::try_from(update.id.0).unwrap() + 1);
    }
    no_more_than(0, &mut on_the_way).await;
    say("done");
    for end in ["", "-wal", "-shm"] {
        let _ = std::fs::remove_file(format!("{}{end}", file.display()));
    }
}

/// Waits until no more than so many are on the way; one that failed is no baseline.
async fn no_more_than(most: usize, on_the_way: &mut JoinSet<()>) {
    while on_the_way.len() > most {
        on_the_way.join_next().await.unwrap().unwrap();
    }
}
