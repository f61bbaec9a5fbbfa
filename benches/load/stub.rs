//! A Bot API on loopback that takes whatever comes, as fast as it comes, and
//! notes when; or one that keeps strict limits and answers 429 past them.

use super::clinic::FIRST_CHAT;
use serde_json::{Value, json};
use std::collections::{BTreeMap, HashMap, VecDeque};
use std::ops::RangeInclusive;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::io::{AsyncBufReadExt, AsyncReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};

/// Of so many chats it is known what they were told.
const FIRST_CHATS: i64 = 4;
/// Updates in one answer to `getUpdates` (the Bot API's limit).
const BATCH: usize = 100;

#[derive(Default)]
pub struct Seen {
    /// When each message was taken, in which chat.
    pub sent: Vec<(Instant, i64)>,
    /// Updates that wait to be asked for.
    pub updates: VecDeque<Value>,
    pub refused: usize,
    /// Bodies of the messages that the first chats got last.
    said: BTreeMap<i64, Value>,
    /// The number of the newest update; numbers are never given twice.
    pub next_update: i64,
    limits: Option<Limits>,
    /// How long a message and its answer are on the line.
    round_trip: Duration,
    recent: VecDeque<Instant>,
    by_chat: HashMap<i64, Instant>,
}

#[derive(Clone, Copy)]
struct Limits {
    bot_per_second: usize,
}

#[derive(Clone)]
pub struct Stub {
    pub seen: Arc<Mutex<Seen>>,
    pub url: String,
}

impl Stub {
    pub async fn start() -> Stub {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let url = format!("http://{}", listener.local_addr().unwrap());
        let seen = Arc::new(Mutex::new(Seen::default()));
        let stub = Stub {
            seen: seen.clone(),
            url,
        };
        tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                let seen = seen.clone();
                tokio::spawn(async move {
                    // A client that goes away ends its connection, and nothing else.
                    let _ = serve(stream, seen).await;
                });
            }
        });
        stub
    }

    /// From now on more than so many messages in any second, or two to one chat
    /// in a second, are refused.
    pub fn keep_limits(&self, bot_per_second: usize) {
        let mut seen = self.seen.lock().unwrap();
        seen.limits = Some(Limits { bot_per_second });
    }

    /// From now on a message and its answer are on the line for so long together.
    pub fn take_time(&self, round_trip: Duration) {
        self.seen.lock().unwrap().round_trip = round_trip;
    }

    pub fn sent(&self) -> usize {
        self.seen.lock().unwrap().sent.len()
    }

    /// The chats of the messages that were taken.
    pub fn chats(&self) -> Vec<i64> {
        let seen = self.seen.lock().unwrap();
        seen.sent.iter().map(|(_, chat)| *chat).collect()
    }

    /// Bodies of what the first chats, so many, were told last, as a JSON array.
    pub fn said(&self, chats: usize) -> String {
        let seen = self.seen.lock().unwrap();
        let said: Vec<&Value> = seen.said.values().take(chats).collect();
        assert_eq!(said.len(), chats, "each of them was told something");
        serde_json::to_string(&said).unwrap()
    }

    /// Numbers for so many updates.
    pub fn numbers_of_updates(&self, count: i64) -> RangeInclusive<i64> {
        let mut seen = self.seen.lock().unwrap();
        let first = seen.next_update + 1;
        seen.next_update += count;
        first..=seen.next_update
    }

    /// Has these updates from now on.
    pub fn hear(&self, updates: VecDeque<Value>) -> Instant {
        self.seen.lock().unwrap().updates = updates;
        Instant::now()
    }

    /// When the first message to a chat was taken.
    pub fn first_in(&self, chat: i64) -> Option<Instant> {
        let seen = self.seen.lock().unwrap();
        let first = seen.sent.iter().find(|(_, to)| *to == chat);
        first.map(|(when, _)| *when)
    }

    pub fn forget(&self) {
        let mut seen = self.seen.lock().unwrap();
        seen.sent.clear();
        seen.updates.clear();
        seen.refused = 0;
    }
}

async fn serve(stream: TcpStream, seen: Arc<Mutex<Seen>>) -> std::io::Result<()> {
    stream.set_nodelay(true)?;
    let (reading, mut writing) = stream.into_split();
    let mut reading = BufReader::new(reading);
    let mut line = String::new();
    loop {
        line.clear();
        if reading.read_line(&mut line).await? == 0 {
            return Ok(());
        }
        let method = line
            .split(' ')
            .nth(1)
            .and_then(|path| path.rsplit('/').next())
            .unwrap_or_default()
            .to_owned();
        let mut length = 0;
        loop {
            line.clear();
            reading.read_line(&mut line).await?;
            if line == "\r\n" || line.is_empty() {
                break;
            }
            if let Some((name, value)) = line.split_once(':')
                && name.eq_ignore_ascii_case("content-length")
            {
                length = value.trim().parse().unwrap_or(0);
            }
        }
        let mut body = vec![0; length];
        reading.read_exact(&mut body).await?;
        let (status, answer) = answer(&method, &body, &seen).await;
        let head = format!(
            "HTTP/1.1 {status} OK\r\ncontent-type: application/json\r\ncontent-length: {}\r\n\r\n",
            answer.len()
        );
        writing
            .write_all(&[head.as_bytes(), answer.as_bytes()].concat())
            .await?;
    }
}

async fn answer(method: &str, body: &[u8], seen: &Mutex<Seen>) -> (u16, String) {
    if method.eq_ignore_ascii_case("getUpdates") {
        return (200, updates(body, seen).await);
    }
    if !method.eq_ignore_ascii_case("sendMessage") {
        return (200, r#"{"ok":true,"result":true}"#.to_owned());
    }
    let one_way = seen.lock().unwrap().round_trip / 2;
    if one_way.is_zero() {
        return taken(body, &mut seen.lock().unwrap());
    }
    tokio::time::sleep(one_way).await;
    let answer = taken(body, &mut seen.lock().unwrap());
    tokio::time::sleep(one_way).await;
    answer
}

fn taken(body: &[u8], seen: &mut Seen) -> (u16, String) {
    let body = serde_json::from_slice::<Value>(body).unwrap_or_default();
    let chat = body["chat_id"].as_i64().unwrap_or_default();
    let now = Instant::now();
    if !within_limits(seen, chat, now) {
        seen.refused += 1;
        let refusal = r#"{"ok":false,"error_code":429,"description":"Too Many Requests: retry after 1","parameters":{"retry_after":1}}"#;
        return (429, refusal.to_owned());
    }
    seen.sent.push((now, chat));
    if (FIRST_CHAT..FIRST_CHAT + FIRST_CHATS).contains(&chat) {
        seen.said.insert(chat, body);
    }
    let id = seen.sent.len();
    let taken = format!(
        r#"{{"ok":true,"result":{{"message_id":{id},"date":1770000000,"chat":{{"id":{chat},"type":"private","first_name":"A"}},"text":"x"}}}}"#
    );
    (200, taken)
}

fn within_limits(seen: &mut Seen, chat: i64, now: Instant) -> bool {
    let Some(limits) = seen.limits else {
        return true;
    };
    let second = Duration::from_secs(1);
    while seen.recent.front().is_some_and(|at| now - *at >= second) {
        seen.recent.pop_front();
    }
    let chat_is_free = seen.by_chat.get(&chat).is_none_or(|at| now - *at >= second);
    let free = seen.recent.len() < limits.bot_per_second && chat_is_free;
    if free {
        seen.recent.push_back(now);
        seen.by_chat.insert(chat, now);
    }
    free
}

async fn updates(body: &[u8], seen: &Mutex<Seen>) -> String {
    let asked = serde_json::from_slice::<Value>(body).unwrap_or_default();
    let offset = asked["offset"].as_i64().unwrap_or_default();
    // As the platform does, it answers when there is something, or at the end
    // of the seconds that were asked for.
    let seconds = asked["timeout"].as_u64().unwrap_or_default();
    for _ in 0..=seconds * 100 {
        {
            let mut seen = seen.lock().unwrap();
            while seen
                .updates
                .front()
                .is_some_and(|update| update["update_id"].as_i64() < Some(offset))
            {
                seen.updates.pop_front();
            }
            if !seen.updates.is_empty() {
                let batch: Vec<&Value> = seen.updates.iter().take(BATCH).collect();
                return json!({ "ok": true, "result": batch }).to_string();
            }
        }
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
    r#"{"ok":true,"result":[]}"#.to_owned()
}
