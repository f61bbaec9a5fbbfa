//! A Bot API server on loopback, for teloxide's own client to talk to.
//!
//! It keeps the promises that matter here: an update is handed over until a
//! higher offset is asked for; a text is refused over 4096 units and a
//! button's data over 64 bytes; a message whose buttons are gone "is not
//! modified". Texts of refusals are the Bot API's, from memory, and as
//! teloxide-core's `errors.rs` has them.

use axum::{
    Json, Router,
    body::Body,
    extract::{Path, State},
    http::StatusCode,
    response::{IntoResponse, Response},
    routing::post,
};
use serde_json::{Value, json};
use std::{
    collections::{HashMap, VecDeque},
    sync::{Arc, Mutex, MutexGuard},
    time::Duration,
};
use tokio::{net::TcpListener, task::JoinHandle, time::sleep};

/// The token that the stub knows, in a real one's shape.
pub const TOKEN: &str = "987654321:AAinvented-token_for_tests-0123456789a";

/// How often the stub and its waiting tests look again.
const LOOK: Duration = Duration::from_millis(10);

/// A message that a chat received.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SentMessage {
    pub id: i64,
    pub chat: i64,
    pub text: String,
    /// Rows of buttons, each with its label and its data.
    pub rows: Vec<Vec<(String, String)>>,
    /// Whether the phone stays silent.
    pub quiet: bool,
    /// Whether its buttons can still be tapped.
    pub open: bool,
}

impl SentMessage {
    /// Labels and data, row after row.
    pub fn buttons(&self) -> Vec<(String, String)> {
        self.rows.concat()
    }
}

/// What the stub answers instead of doing what it was asked.
#[derive(Debug, Clone)]
pub enum Answer {
    /// A refusal with its HTTP status and its words.
    Refusal(u16, &'static str),
    /// 429 and how many seconds to wait.
    RetryAfter(u32),
    /// The group has become a supergroup with this number.
    Upgraded(i64),
    /// A page of HTML with this status, as a proxy would send.
    Html(u16),
    /// The connection breaks in the middle of the answer.
    Broken,
    /// The message with this number was taken, and is told of in a form that nobody knows yet.
    Strange(i64),
}

#[derive(Default)]
struct Inner {
    token: String,
    updates: Vec<Value>,
    last_update: i64,
    last_message: i64,
    sent: Vec<SentMessage>,
    scripted: HashMap<String, VecDeque<Answer>>,
    /// What `sendMessage` answers for one chat, whatever others get.
    scripted_for: HashMap<i64, VecDeque<Answer>>,
    calls: Vec<(String, Value)>,
    /// What `setWebhook` was called with, while it holds.
    webhook: Option<Value>,
    /// How long a text is under way, half of it before the chat has it.
    latency: Duration,
}

/// The server; it ends when this is dropped.
pub struct Stub {
    url: String,
    inner: Arc<Mutex<Inner>>,
    server: JoinHandle<()>,
}

impl Stub {
    pub async fn start() -> Self {
        Self::start_for(TOKEN).await
    }

    /// The server of another bot.
    pub async fn start_for(token: &str) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let url = format!("http://{}", listener.local_addr().unwrap());
        let inner = Arc::new(Mutex::new(Inner {
            token: token.to_owned(),
            last_update: 1000,
            ..Inner::default()
        }));
        let app = Router::new()
            .route("/{bot}/{method}", post(serve))
            .with_state(Arc::clone(&inner));
        let server = tokio::spawn(async move { axum::serve(listener, app).await.unwrap() });
        Self { url, inner, server }
    }

    pub fn url(&self) -> &str {
        &self.url
    }

    /// Queues an update of this kind; its number is its return value.
    pub fn push(&self, kind: &str, content: Value) -> i64 {
        let mut inner = lock(&self.inner);
        inner.last_update += 1;
        let number = inner.last_update;
        inner
            .updates
            .push(json!({"update_id": number, kind: content}));
        number
    }

    /// Queues whatever a broken or newer server might hand over.
    pub fn push_raw(&self, update: Value) {
        lock(&self.inner).updates.push(update);
    }

    /// Queues a message with these fields beside those that every message has.
    pub fn push_message(&self, chat: i64, content: Value) -> i64 {
        let message = self.message(chat, content);
        self.push("message", message)
    }

    pub fn push_text(&self, chat: i64, text: &str) -> i64 {
        self.push_message(chat, json!({"text": text}))
    }

    pub fn push_edit(&self, chat: i64, text: &str) -> i64 {
        let message = self.message(chat, json!({"text": text, "edit_date": 1_770_000_060}));
        self.push("edited_message", message)
    }

    /// A tap on the newest button with this data in the chat, or a forged one
    /// on a message that never was.
    pub fn push_tap(&self, chat: i64, data: &str) -> i64 {
        self.push_tap_by(chat, data, chat)
    }

    /// The same by a person who is told from others by `who`, as in a group.
    pub fn push_tap_by(&self, chat: i64, data: &str, who: i64) -> i64 {
        let sent = self.sent();
        let tapped = sent.iter().rev().find(|message| {
            let has = |(_, own): &(String, String)| own == data;
            message.chat == chat && message.buttons().iter().any(has)
        });
        let id = tapped.map_or(1, |message| message.id);
        let query = json!({
            "id": format!("q{chat}"), "chat_instance": "c", "from": person(who), "data": data,
            "message": {"message_id": id, "date": 1_770_000_000, "chat": place(chat)},
        });
        self.push("callback_query", query)
    }

    /// The bot's membership in the chat changes, say from "member" to "kicked".
    pub fn push_membership(&self, chat: i64, before: &str, after: &str) -> i64 {
        let bot = json!({"id": 1, "is_bot": true, "first_name": "Clinic"});
        let change = json!({
            "chat": place(chat), "from": person(chat), "date": 1_770_000_000,
            "old_chat_member": {"user": bot, "status": before, "until_date": 0},
            "new_chat_member": {"user": bot, "status": after, "until_date": 0},
        });
        self.push("my_chat_member", change)
    }

    /// The next call of the method gets this answer, the one after that the
    /// next answer given here, and then it works again.
    pub fn script(&self, method: &str, answer: Answer) {
        let mut inner = lock(&self.inner);
        let answers = inner.scripted.entry(method.to_lowercase()).or_default();
        answers.push_back(answer);
    }

    /// The next text to this chat gets this answer; other chats are served.
    pub fn script_for(&self, chat: i64, answer: Answer) {
        let mut inner = lock(&self.inner);
        inner
            .scripted_for
            .entry(chat)
            .or_default()
            .push_back(answer);
    }

    /// From now on a text is under way for so long, half of it before the chat has it.
    pub fn take_time(&self, latency: Duration) {
        lock(&self.inner).latency = latency;
    }

    /// What chats received after the first `n` messages, in order.
    pub fn sent_after(&self, n: usize) -> Vec<SentMessage> {
        lock(&self.inner).sent[n..].to_vec()
    }

    /// Everything that chats received, in order.
    pub fn sent(&self) -> Vec<SentMessage> {
        lock(&self.inner).sent.clone()
    }

    /// What the method was called with, in order.
    pub fn calls(&self, method: &str) -> Vec<Value> {
        let inner = lock(&self.inner);
        let of_method = inner
            .calls
            .iter()
            .filter(|(name, _)| *name == method.to_lowercase());
        of_method.map(|(_, content)| content.clone()).collect()
    }

    /// How many updates were not confirmed yet.
    pub fn unconfirmed(&self) -> usize {
        lock(&self.inner).updates.len()
    }

    /// Where updates are to be sent, while they are.
    pub fn webhook(&self) -> Option<Value> {
        lock(&self.inner).webhook.clone()
    }

    /// As when somebody else calls `setWebhook`, or `deleteWebhook`.
    pub fn change_webhook(&self, to: Option<Value>) {
        lock(&self.inner).webhook = to;
    }

    /// The oldest update that was not confirmed.
    pub fn oldest(&self) -> Option<Value> {
        lock(&self.inner).updates.first().cloned()
    }

    /// The oldest update was taken by whoever the webhook leads to.
    pub fn confirm_oldest(&self) {
        lock(&self.inner).updates.remove(0);
    }

    /// Waits until chats have received `n` messages in all.
    pub async fn wait_for(&self, n: usize) -> Vec<SentMessage> {
        until(&format!("{n} messages sent"), || self.sent().len() >= n).await;
        self.sent()
    }

    /// Waits until every update was confirmed.
    pub async fn wait_until_confirmed(&self) {
        until("every update confirmed", || self.unconfirmed() == 0).await;
    }

    fn message(&self, chat: i64, content: Value) -> Value {
        let mut inner = lock(&self.inner);
        inner.last_message += 1;
        let mut message = json!({
            "message_id": inner.last_message, "date": 1_770_000_000,
            "chat": place(chat), "from": person(chat),
        });
        let Value::Object(fields) = content else {
            panic!("a message's content is an object: {content}");
        };
        message.as_object_mut().unwrap().extend(fields);
        message
    }
}

impl Drop for Stub {
    fn drop(&mut self) {
        self.server.abort();
    }
}

/// Waits until it is so; after 20 seconds the test has failed.
pub async fn until(what: &str, is_so: impl FnMut() -> bool) {
    within(Duration::from_secs(60), what, is_so).await;
}

/// Waits until it is so, and fails the test after this long.
pub async fn within(patience: Duration, what: &str, mut is_so: impl FnMut() -> bool) {
    for _ in 0..patience.as_millis() / LOOK.as_millis() {
        if is_so() {
            return;
        }
        sleep(LOOK).await;
    }
    panic!("waited in vain for: {what}");
}

fn lock(inner: &Mutex<Inner>) -> MutexGuard<'_, Inner> {
    inner.lock().unwrap()
}

fn place(chat: i64) -> Value {
    if chat > 0 {
        return json!({"id": chat, "type": "private", "first_name": "Mara"});
    }
    let upgraded = chat <= -1_000_000_000_000;
    let kind = if upgraded { "supergroup" } else { "group" };
    json!({"id": chat, "type": kind, "title": "Clinic"})
}

fn person(chat: i64) -> Value {
    let id = chat.unsigned_abs();
    json!({"id": id, "is_bot": false, "first_name": "Mara", "last_name": "Quist"})
}

async fn serve(
    State(inner): State<Arc<Mutex<Inner>>>,
    Path((bot, method)): Path<(String, String)>,
    body: axum::body::Bytes,
) -> Response {
    if bot != format!("bot{}", lock(&inner).token) {
        return refusal(401, "Unauthorized", None);
    }
    let content = serde_json::from_slice(&body).unwrap_or_else(|_| form(&body));
    let method = method.to_lowercase();
    let scripted = {
        let mut inner = lock(&inner);
        inner.calls.push((method.clone(), content.clone()));
        let of_chat = (content["chat_id"].as_i64())
            .filter(|_| method == "sendmessage")
            .and_then(|chat| inner.scripted_for.get_mut(&chat)?.pop_front());
        of_chat.or_else(|| inner.scripted.get_mut(&method)?.pop_front())
    };
    match scripted {
        Some(answer) => instead(answer),
        None => match method.as_str() {
            "getupdates" if lock(&inner).webhook.is_some() => refusal(
                409,
                "Conflict: can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first",
                None,
            ),
            "setwebhook" => {
                lock(&inner).webhook = Some(content);
                result(json!(true))
            }
            "deletewebhook" => {
                let mut inner = lock(&inner);
                inner.webhook = None;
                if content["drop_pending_updates"] == true {
                    inner.updates.clear();
                }
                result(json!(true))
            }
            "getwebhookinfo" => {
                let inner = lock(&inner);
                let url = inner
                    .webhook
                    .as_ref()
                    .map_or(&json!(""), |hook| &hook["url"])
                    .clone();
                result(
                    json!({"url": url, "has_custom_certificate": false, "pending_update_count": inner.updates.len()}),
                )
            }
            "getupdates" => result(updates(&inner, &content).await),
            "sendmessage" => {
                let half = lock(&inner).latency / 2;
                sleep(half).await;
                let answer = send(&mut lock(&inner), &content);
                sleep(half).await;
                answer
            }
            // A file's words are told like any others; the file itself is in the call.
            "senddocument" | "sendphoto" => {
                let mut told = content.clone();
                told["text"] = content["caption"].clone();
                send(&mut lock(&inner), &told)
            }
            "editmessagereplymarkup" => close(&mut lock(&inner), &content),
            "getme" => result(me()),
            "answercallbackquery" | "setmycommands" | "setmydescription" => result(json!(true)),
            _ => refusal(404, "Not Found", None),
        },
    }
}

/// The fields of a multipart form; of a file its name and size (RFC 7578).
fn form(body: &[u8]) -> Value {
    let text = String::from_utf8_lossy(body);
    let Some(boundary) = text
        .lines()
        .next()
        .map(str::trim_end)
        .filter(|line| line.starts_with("--"))
    else {
        return Value::Null;
    };
    let mut fields = json!({});
    for part in text.split(boundary) {
        let Some((head, content)) = part.split_once("\r\n\r\n") else {
            continue;
        };
        let attribute = |name: &str| {
            let (_, rest) = head.split_once(&format!("{name}=\""))?;
            rest.split_once('"').map(|(value, _)| value.to_owned())
        };
        let content = content.trim_end_matches("\r\n");
        let Some(name) = attribute(" name") else {
            continue;
        };
        fields[name] = match attribute("filename") {
            Some(file) => {
                json!({"file": file, "begins": content.chars().take(5).collect::<String>()})
            }
            None => serde_json::from_str(content).unwrap_or_else(|_| json!(content)),
        };
    }
    fields
}

fn result(result: Value) -> Response {
    Json(json!({"ok": true, "result": result})).into_response()
}

fn refusal(code: u16, words: &str, parameters: Option<Value>) -> Response {
    let mut answer = json!({"ok": false, "error_code": code, "description": words});
    // Never an empty object: the client cannot read that.
    if let Some(parameters) = parameters {
        answer["parameters"] = parameters;
    }
    (StatusCode::from_u16(code).unwrap(), Json(answer)).into_response()
}

fn instead(answer: Answer) -> Response {
    match answer {
        Answer::Refusal(code, words) => refusal(code, words, None),
        Answer::RetryAfter(seconds) => {
            let words = format!("Too Many Requests: retry after {seconds}");
            refusal(429, &words, Some(json!({"retry_after": seconds})))
        }
        Answer::Upgraded(to) => {
            let words = "Bad Request: group chat was upgraded to a supergroup chat";
            refusal(400, words, Some(json!({"migrate_to_chat_id": to})))
        }
        Answer::Html(code) => {
            let page = "<html><h1>Bad Gateway</h1></html>";
            (StatusCode::from_u16(code).unwrap(), page).into_response()
        }
        Answer::Strange(number) => result(json!({
            "message_id": number, "chat": {"id": "of another kind"}, "hologram": {"depth": 3},
        })),
        Answer::Broken => {
            let broken = futures_util::stream::iter([
                Ok(r#"{"ok":true,"#),
                Err(std::io::Error::other("the connection broke")),
            ]);
            Body::from_stream(broken).into_response()
        }
    }
}

/// Forgets what is below the offset, then waits for something to hand over.
async fn updates(inner: &Mutex<Inner>, question: &Value) -> Value {
    let offset = question["offset"].as_i64().unwrap_or(0);
    let limit = usize::try_from(question["limit"].as_u64().unwrap_or(100)).unwrap();
    // A number that cannot be read never falls below an offset.
    let number = |update: &Value| update["update_id"].as_i64().unwrap_or(i64::MAX);
    lock(inner)
        .updates
        .retain(|update| number(update) >= offset);
    for _ in 0..question["timeout"].as_u64().unwrap_or(0) * 100 {
        if !lock(inner).updates.is_empty() {
            break;
        }
        sleep(LOOK).await;
    }
    lock(inner).updates.iter().take(limit).cloned().collect()
}

fn send(inner: &mut Inner, request: &Value) -> Response {
    let text = request["text"].as_str().unwrap_or_default();
    let rows: Vec<Vec<(String, String)>> = (request["reply_markup"]["inline_keyboard"].as_array())
        .map(|rows| rows.iter().map(row).collect())
        .unwrap_or_default();
    if text.trim().is_empty() {
        return refusal(400, "Bad Request: message text is empty", None);
    }
    if text.encode_utf16().count() > 4096 {
        return refusal(400, "Bad Request: message is too long", None);
    }
    if rows
        .iter()
        .flatten()
        .any(|(_, data)| !(1..=64).contains(&data.len()))
    {
        return refusal(400, "Bad Request: BUTTON_DATA_INVALID", None);
    }
    inner.last_message += 1;
    let message = SentMessage {
        id: inner.last_message,
        chat: request["chat_id"].as_i64().unwrap(),
        text: text.to_owned(),
        open: !rows.is_empty(),
        rows,
        quiet: request["disable_notification"] == true,
    };
    let mut answer = json!({
        "message_id": message.id, "date": 1_770_000_000, "chat": place(message.chat),
        "from": me(), "text": text,
    });
    if message.open {
        answer["reply_markup"] = request["reply_markup"].clone();
    }
    inner.sent.push(message);
    result(answer)
}

fn row(row: &Value) -> Vec<(String, String)> {
    let text = |button: &Value, field: &str| button[field].as_str().unwrap().to_owned();
    let buttons = row.as_array().unwrap().iter();
    buttons
        .map(|b| (text(b, "text"), text(b, "callback_data")))
        .collect()
}

fn close(inner: &mut Inner, request: &Value) -> Response {
    let (chat, id) = (&request["chat_id"], &request["message_id"]);
    let message = inner
        .sent
        .iter_mut()
        .find(|m| *chat == m.chat && *id == m.id);
    let Some(message) = message else {
        return refusal(400, "Bad Request: message to edit not found", None);
    };
    if !std::mem::take(&mut message.open) {
        let words = "Bad Request: message is not modified: specified new message content and reply markup are exactly the same as a current content and reply markup of the message";
        return refusal(400, words, None);
    }
    result(json!({
        "message_id": message.id, "date": 1_770_000_000, "chat": place(message.chat),
        "from": me(), "text": message.text, "edit_date": 1_770_000_001,
    }))
}

fn me() -> Value {
    json!({
        "id": 987_654_321, "is_bot": true, "first_name": "Clinic", "username": "invented_clinic_bot",
        "can_join_groups": true, "can_read_all_group_messages": false,
        "supports_inline_queries": false, "can_connect_to_business": false, "has_main_web_app": false,
    })
}
