//! Two phones in a browser: the owner's and the clinic's, side by side, on the
//! visitor's own machine. The page shows what the program sends, hands over
//! what the visitor types and taps, and moves a clock; it decides nothing.
//!
//! Everything it serves is in the program itself (`page.html`, `page.css`,
//! `page.js`), so no other host is ever asked for anything.

mod channel;
mod guard;

pub use channel::{HISTORY, PageChannel};

use super::Inbox;
use crate::domain::arrival::{Arrival, Body};
use crate::domain::language::Language;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{StatusCode, header};
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Json, Router, middleware};
use channel::{Notice, Tapped};
use chrono::NaiveTime;
use futures_util::Stream;
use futures_util::future::BoxFuture;
use futures_util::stream::{self, StreamExt};
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::convert::Infallible;
use std::net::Ipv4Addr;
use std::sync::Arc;
use tokio::net::TcpListener;

/// The channel's name, by which its chats are stored.
pub const NAME: &str = "page";

/// The most that a browser may send at once, in bytes.
pub const BODY_LIMIT: usize = 16 * 1024;

/// The longest text that a phone sends, in characters: as long as Telegram's
/// longest message (Bot API, `sendMessage`, "1-4096 characters"), so that the
/// page shows nothing that the real channel could not carry.
pub const TEXT_LIMIT: usize = 4096;

/// What the page can ask of the program that serves it.
pub trait Stage: Send + Sync + 'static {
    /// The demo clock.
    fn now(&self) -> Shown;

    /// Moves the clock; everything that is due on the way is done.
    ///
    /// # Errors
    /// When the engine cannot do what is due.
    fn jump(&self, to: Jump) -> BoxFuture<'_, anyhow::Result<()>>;

    /// Starts again in one of [`Stage::situations`], with an owner who reads that language. The phones are emptied
    /// before this is called; a stage whose old engine may still be sending
    /// at that moment calls [`PageChannel::start_again`] once more when it has
    /// stopped.
    ///
    /// # Errors
    /// When the situation cannot be set up.
    fn situation(&self, name: &str, language: Language) -> BoxFuture<'_, anyhow::Result<()>>;

    /// What the program holds to be true, every value a string:
    /// `{vials: [{number, state, available_ml, remaining_ml, discard_by}],
    /// next: [{at, what}], journal: [{at, text}]}`. Instants are RFC 3339 in
    /// the household's offset; volumes are in mL; a value that does not apply
    /// is empty. `state` is `sealed`, `mixed`, `past-limit`, `empty` or
    /// `discarded`; another word is shown as it is. The journal's last line is
    /// the newest.
    ///
    /// # Errors
    /// When it cannot be read.
    fn truth(&self) -> BoxFuture<'_, anyhow::Result<serde_json::Value>>;

    /// Who holds a phone, in the order in which the phones stand.
    fn people(&self) -> Vec<Person>;

    /// The situations to live through: name and title. The stage opens in the first.
    fn situations(&self) -> Vec<(String, String)>;
}

/// An instant as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shown {
    /// RFC 3339, with the household's offset at that instant.
    pub at: String,
    /// The household's zone, by its IANA name.
    pub zone: String,
    /// The same in words that the household reads.
    pub words: String,
}

/// How far the clock is moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Jump {
    /// To the next instant at which the program has something to do.
    NextEvent,
    /// By 60 minutes.
    Hour,
    /// By 24 hours.
    Day,
    /// To the next instant at which the household's clock shows this time of the day.
    Until(NaiveTime),
}

/// Somebody with a phone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Person {
    /// The address of the chat, such as `owner`.
    pub address: String,
    /// The name at the head of the phone.
    pub name: String,
    /// The name of the person who writes in it.
    pub signs: String,
    /// Which side they are on.
    pub role: Role,
    /// The language in which this phone is written to, so that a screen reader
    /// speaks it properly.
    #[serde(serialize_with = "code")]
    pub language: Language,
}

/// Which side of the conversation a phone is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// At home.
    Owner,
    /// At the clinic.
    Clinic,
}

fn code<S: serde::Serializer>(language: &Language, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_str(language.code())
}

/// Opens a port for the page on this machine's loopback interface, the only
/// one it is ever served on. Port 0 takes a free one.
///
/// # Errors
/// When the port is in use.
pub async fn bind(port: u16) -> std::io::Result<TcpListener> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port)).await
}

/// The page and everything it asks for.
pub fn router(channel: Arc<PageChannel>, inbox: Arc<dyn Inbox>, stage: Arc<dyn Stage>) -> Router {
    let shared = Arc::new(Shared {
        channel,
        inbox,
        stage,
        moving: tokio::sync::Mutex::new(()),
    });
    Router::new()
        .route("/", get(html))
        .route("/page.css", get(css))
        .route("/page.js", get(js))
        .route("/events", get(events))
        .route("/truth", get(truth))
        .route("/say", post(say))
        .route("/tap", post(tap))
        .route("/clock", post(clock))
        .route("/situation", post(situation))
        .with_state(shared)
        .layer(DefaultBodyLimit::max(BODY_LIMIT))
        .layer(middleware::from_fn(guard::guard))
}

struct Shared {
    channel: Arc<PageChannel>,
    inbox: Arc<dyn Inbox>,
    stage: Arc<dyn Stage>,
    /// Held while the clock moves or a situation is set up: two impatient
    /// clicks happen one after the other, never inside one another.
    moving: tokio::sync::Mutex<()>,
}

async fn html() -> impl IntoResponse {
    asset("text/html; charset=utf-8", include_str!("page.html"))
}

async fn css() -> impl IntoResponse {
    asset("text/css; charset=utf-8", include_str!("page.css"))
}

async fn js() -> impl IntoResponse {
    asset("text/javascript; charset=utf-8", include_str!("page.js"))
}

fn asset(kind: &'static str, text: &'static str) -> impl IntoResponse {
    ([(header::CONTENT_TYPE, kind)], text)
}

/// First where things stand, then every message so far, then what happens.
async fn events(
    State(shared): State<Arc<Shared>>,
) -> Sse<impl Stream<Item = Result<Event, Infallible>>> {
    let (so_far, live) = shared.channel.watch();
    let live = stream::unfold(live, |mut live| async move {
        // A browser that is too slow to follow is let go of: it connects again
        // and is shown everything from the start.
        live.recv().await.ok().map(|notice| (notice, live))
    });
    let notices = stream::iter(so_far).chain(live);
    let events = notices.map(move |notice| Ok(event(&notice, &shared)));
    Sse::new(events).keep_alive(KeepAlive::default())
}

fn event(notice: &Notice, shared: &Shared) -> Event {
    let data = match notice {
        Notice::Scene { situation } => scene(situation.as_deref(), shared),
        Notice::Message(entry) => json!(entry),
        Notice::ButtonsChanged {
            message,
            buttons,
            chosen,
        } => json!({ "message": message, "buttons": buttons, "chosen": chosen }),
        Notice::Withdrawn { message } => json!({ "message": message }),
        Notice::Clock(now) => json!(now),
        Notice::Reset | Notice::Ready => json!({}),
    };
    Event::default().event(notice.name()).data(data.to_string())
}

fn scene(situation: Option<&str>, shared: &Shared) -> serde_json::Value {
    let situations = shared.stage.situations();
    let opening = situations.first().map(|(name, _)| name.as_str());
    json!({
        "now": shared.stage.now(),
        "people": shared.stage.people(),
        "situation": situation.or(opening),
        "situations": situations
            .iter()
            .map(|(name, title)| json!({ "name": name, "title": title }))
            .collect::<Vec<_>>(),
    })
}

async fn truth(State(shared): State<Arc<Shared>>) -> Result<Json<serde_json::Value>, Refusal> {
    Ok(Json(shared.stage.truth().await?))
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Say {
    to: String,
    text: String,
}

async fn say(State(shared): State<Arc<Shared>>, Json(say): Json<Say>) -> Answer {
    let text = say.text.trim();
    if text.is_empty() {
        return Err(Refusal::Bad("the text is empty"));
    }
    if text.chars().count() > TEXT_LIMIT {
        return Err(Refusal::Bad("the text is longer than 4096 characters"));
    }
    let sender = holder(&shared, &say.to)?;
    // Shown before it is accepted, since an answer may come before `accept` returns.
    let external_id = shared.channel.own_words(&say.to, text);
    let arrival = Arrival {
        sender_id: None,
        reply_to: None,
        external_id: external_id.clone(),
        address: say.to,
        sender: Some(sender),
        body: Body::Text(text.to_owned()),
    };
    if let Err(error) = shared.inbox.accept(NAME, vec![arrival]).await {
        shared.channel.withdraw(&external_id);
        return Err(error.into());
    }
    Ok(StatusCode::NO_CONTENT)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tap {
    to: String,
    message: String,
    data: String,
}

async fn tap(State(shared): State<Arc<Shared>>, Json(tap): Json<Tap>) -> Answer {
    let sender = holder(&shared, &tap.to)?;
    let label = match shared.channel.button(&tap.to, &tap.message, &tap.data) {
        Tapped::Shown(label) => label,
        Tapped::Gone => return Err(Refusal::Gone),
    };
    let arrival = Arrival {
        sender_id: None,
        reply_to: None,
        // A second tap on the button that was on its way already carries the same number.
        external_id: format!("tap-{}-{}", tap.message, tap.data),
        address: tap.to,
        sender: Some(sender),
        body: Body::Tap(tap.data.clone()),
    };
    shared.inbox.accept(NAME, vec![arrival]).await?;
    shared.channel.choose(&tap.message, &tap.data, label);
    Ok(StatusCode::NO_CONTENT)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Clock {
    jump: Jump,
}

async fn clock(State(shared): State<Arc<Shared>>, Json(clock): Json<Clock>) -> Answer {
    let _moving = shared.moving.lock().await;
    let moved = shared.stage.jump(clock.jump).await;
    // Also after a failure: the clock may have come some of the way.
    shared.channel.show_clock();
    moved?;
    Ok(StatusCode::NO_CONTENT)
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Situation {
    name: String,
    language: String,
}

async fn situation(State(shared): State<Arc<Shared>>, Json(situation): Json<Situation>) -> Answer {
    let _moving = shared.moving.lock().await;
    let known = shared.stage.situations();
    if !known.iter().any(|(name, _)| *name == situation.name) {
        return Err(Refusal::Bad("there is no such situation"));
    }
    let Ok(language) = situation.language.parse::<Language>() else {
        return Err(Refusal::Bad("there is no owner who reads that language"));
    };
    shared.channel.start_again();
    shared.stage.situation(&situation.name, language).await?;
    shared.channel.set_scene(&situation.name);
    Ok(StatusCode::NO_CONTENT)
}

/// The name of the person who writes in that phone.
fn holder(shared: &Shared, address: &str) -> Result<String, Refusal> {
    let mut people = shared.stage.people().into_iter();
    match people.find(|person| person.address == address) {
        Some(person) => Ok(person.signs),
        None => Err(Refusal::Bad("nobody here has that address")),
    }
}

type Answer = Result<StatusCode, Refusal>;

/// Why a request was not done.
enum Refusal {
    /// It asks for something that is not there.
    Bad(&'static str),
    /// The buttons are no longer shown.
    Gone,
    /// The program could not do it.
    Failed(anyhow::Error),
}

impl From<anyhow::Error> for Refusal {
    fn from(error: anyhow::Error) -> Self {
        Refusal::Failed(error)
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        match self {
            Refusal::Bad(why) => (StatusCode::BAD_REQUEST, why).into_response(),
            Refusal::Gone => (StatusCode::CONFLICT, "that button is gone").into_response(),
            Refusal::Failed(error) => {
                tracing::error!("the page: {error:#}");
                let why = "the program could not do that; its log says why";
                (StatusCode::INTERNAL_SERVER_ERROR, why).into_response()
            }
        }
    }
}
