//! Takes updates that the platform sends to us, instead of asking for them.
//!
//! This listens in plain HTTP, behind the clinic's own proxy, which has the
//! certificate. An update is answered with 200 only when it is stored; to any
//! other answer the platform sends it again.

use super::{NAME, Secret, TelegramChannel, outcome, receive, update};
use crate::channel::Inbox;
use anyhow::{Context, ensure};
use axum::{
    Router,
    body::Bytes,
    extract::{DefaultBodyLimit, FromRequest, Request, State},
    http::{HeaderMap, Method, StatusCode, Uri, header},
    response::{IntoResponse, Response},
};
use serde::Serialize;
use serde_json::Value;
use std::{collections::BTreeMap, net::SocketAddr, sync::Arc, time::Duration};
use teloxide::{
    RequestError,
    requests::{JsonRequest, Payload, Request as _, Requester},
};
use tokio::{
    net::TcpListener,
    sync::{Semaphore, watch},
    time,
};

/// The most bytes of one update. The longest text is 4096 characters, which
/// JSON may write as six bytes each; twice, since an update may hold the message that it answers.
pub const BODY_LIMIT: usize = 256 * 1024;

/// The header with the secret (the Bot API's documentation of `setWebhook`).
const SECRET_HEADER: &str = "x-telegram-bot-api-secret-token";

/// How long an update may take to arrive once its head is there.
const ARRIVING: Duration = Duration::from_secs(10);
/// How long what has begun may take when the program is to stop.
const ENDING: Duration = Duration::from_secs(1);
/// How often the platform is asked whether it still sends to us. Its answer is
/// also how a program that is never written to knows that it is reached.
const LOOK: Duration = Duration::from_secs(30);
/// How many updates the platform may send at the same time. It sends those of
/// one chat one after another (memory), and the store has one writer.
const AT_A_TIME: u8 = 10;
/// How many taps are confirmed to phones at the same time; with more, a phone
/// shows for a moment longer that it waits.
const CONFIRMED_AT_A_TIME: usize = 32;

/// Where the platform sends a bot's updates.
#[derive(Debug, Clone)]
pub struct Hook {
    url: String,
    path: String,
    secret: Secret,
}

impl Hook {
    /// The hook of a clinic's bot, at `base` and the clinic's key. The proxy
    /// hands the path on as it is.
    ///
    /// # Errors
    /// `base` is no https address.
    pub fn new(base: &str, key: &str, secret: Secret) -> anyhow::Result<Hook> {
        let url = format!("{}/{key}", base.trim_end_matches('/'));
        let parsed: Uri = url.parse().context("the address of the webhook")?;
        ensure!(
            parsed.scheme_str() == Some("https") && parsed.query().is_none(),
            "the address of the webhook must begin with https:// and have no ?"
        );
        let path = parsed.path().to_owned();
        Ok(Hook { url, path, secret })
    }
}

/// A bot that is written to by webhook.
pub struct Called {
    /// Where.
    pub hook: Hook,
    /// The bot.
    pub bot: Arc<TelegramChannel>,
    /// Where its updates are stored.
    pub inbox: Arc<dyn Inbox>,
}

/// Listens where updates are to be sent.
///
/// # Errors
/// The address cannot be listened on.
pub async fn listen(address: SocketAddr) -> anyhow::Result<TcpListener> {
    let listening = TcpListener::bind(address).await;
    listening.with_context(|| format!("telegram.webhook.listen: {address}"))
}

/// Takes updates for all these bots until `stop` is true.
///
/// # Errors
/// The listener fails.
pub async fn serve(
    listener: TcpListener,
    bots: Vec<Called>,
    stop: watch::Receiver<bool>,
) -> anyhow::Result<()> {
    let doors = Doors {
        bots: bots
            .into_iter()
            .map(|called| (called.hook.path.clone(), called))
            .collect(),
        confirming: Arc::new(Semaphore::new(CONFIRMED_AT_A_TIME)),
    };
    let router = Router::new()
        .fallback(take)
        .layer(DefaultBodyLimit::max(BODY_LIMIT))
        .with_state(Arc::new(doors));
    let stopped = |mut stop: watch::Receiver<bool>| async move {
        let _ = stop.wait_for(|stop| *stop).await;
    };
    let serving = axum::serve(listener, router).with_graceful_shutdown(stopped(stop.clone()));
    // Whoever holds a connection open and says nothing cannot keep us from ending.
    let patience = async {
        stopped(stop).await;
        time::sleep(ENDING).await;
    };
    tokio::select! {
        served = serving => served.context("the webhook"),
        () = patience => Ok(()),
    }
}

struct Doors {
    bots: BTreeMap<String, Called>,
    confirming: Arc<Semaphore>,
}

/// One update. What cannot be read is told in the log and answered with 200:
/// it will not become readable by being sent again, and what comes after it
/// in the same chat would wait behind it.
async fn take(State(doors): State<Arc<Doors>>, request: Request) -> Response {
    let Some(called) = doors.bots.get(request.uri().path()) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    if request.method() != Method::POST {
        return (StatusCode::METHOD_NOT_ALLOWED, [(header::ALLOW, "POST")]).into_response();
    }
    if !has_secret(request.headers(), &called.hook.secret) {
        tracing::warn!("somebody without the webhook's secret was turned away");
        return StatusCode::UNAUTHORIZED.into_response();
    }
    let body = match time::timeout(ARRIVING, Bytes::from_request(request, &())).await {
        Ok(Ok(body)) => body,
        Ok(Err(refused)) => {
            let status = refused.status();
            tracing::error!(%status, "an update did not arrive whole");
            return status.into_response();
        }
        Err(_) => return StatusCode::REQUEST_TIMEOUT.into_response(),
    };
    let Ok(update) = serde_json::from_slice::<Value>(&body) else {
        tracing::error!(
            bytes = body.len(),
            "an update is no JSON and is passed over"
        );
        return StatusCode::OK.into_response();
    };
    if update::number(&update).is_none() {
        tracing::error!(
            bytes = body.len(),
            "an update without a number is passed over"
        );
        return StatusCode::OK.into_response();
    }
    if let Err(error) = store(called, &update).await {
        let error = called.bot.token.scrub(&format!("{error:#}"));
        tracing::error!(%error, "the inbox did not store an update; it will be sent again");
        return StatusCode::INTERNAL_SERVER_ERROR.into_response();
    }
    confirm(&doors, called, &update);
    StatusCode::OK.into_response()
}

fn has_secret(headers: &HeaderMap, secret: &Secret) -> bool {
    let mut given = headers.get_all(SECRET_HEADER).iter();
    matches!((given.next(), given.next()), (Some(one), None) if secret.is(one.as_bytes()))
}

/// Stores it, also when whoever sent it hangs up meanwhile.
async fn store(called: &Called, update: &Value) -> anyhow::Result<()> {
    let username = called.bot.username.get().map(String::as_str);
    let Some(arrival) = update::arrival(update, username) else {
        return Ok(());
    };
    let inbox = called.inbox.clone();
    tokio::spawn(async move { inbox.accept(NAME, vec![arrival]).await }).await?
}

/// Tells the phone that its tap arrived, beside the answer to the platform.
fn confirm(doors: &Doors, called: &Called, update: &Value) {
    let Some(tap) = update::tapped(update) else {
        return;
    };
    let Ok(permit) = doors.confirming.clone().try_acquire_owned() else {
        return;
    };
    let bot = called.bot.clone();
    tokio::spawn(async move {
        let confirming = receive::confirm(&bot.bot, &bot.token, tap);
        let _ = time::timeout(receive::CONFIRMING, confirming).await;
        drop(permit);
    });
}

impl TelegramChannel {
    /// Has the platform send updates to the hook, and looks again and again
    /// that it still does, until `stop` is true or its sender is gone.
    ///
    /// The listener has to listen before. When this ends the hook stays: the
    /// platform keeps what comes in until somebody listens again.
    pub async fn keep_webhook(
        &self,
        hook: &Hook,
        inbox: &dyn Inbox,
        mut stop: watch::Receiver<bool>,
    ) {
        let mut pause = receive::Pause::default();
        let mut seen = Seen::default();
        loop {
            let kept = tokio::select! {
                biased;
                () = receive::stopped(&mut stop) => return,
                kept = self.keep_once(hook, &mut seen) => kept,
            };
            let wait = match kept {
                Ok(()) => {
                    inbox.reached();
                    pause = receive::Pause::default();
                    LOOK
                }
                Err(error) => {
                    let why = outcome::describe(&error, &self.token);
                    let why = why.replace(hook.secret.reveal(), "[secret]");
                    tracing::warn!(%why, "whether Telegram sends updates to us cannot be known");
                    receive::asked_to_wait(&error).unwrap_or_else(|| pause.longer())
                }
            };
            tokio::select! {
                biased;
                () = receive::stopped(&mut stop) => return,
                () = time::sleep(wait) => {}
            }
        }
    }

    async fn keep_once(&self, hook: &Hook, seen: &mut Seen) -> Result<(), RequestError> {
        // Also where the address is known to the platform already: the secret may be new.
        if !seen.set {
            self.set_webhook(hook).await?;
            seen.set = true;
        }
        let info = self.webhook_info().await?;
        if info["url"] != hook.url.as_str() {
            tracing::warn!("somebody took the webhook away from this bot; it is set again");
            self.set_webhook(hook).await?;
        }
        seen.tell_of_failure(&info);
        Ok(())
    }

    async fn set_webhook(&self, hook: &Hook) -> Result<(), RequestError> {
        let question = SetWebhook {
            url: hook.url.clone(),
            secret_token: hook.secret.reveal().to_owned(),
            max_connections: AT_A_TIME,
            allowed_updates: &receive::UPDATES,
        };
        let set = JsonRequest::new(self.bot.clone(), question).send().await;
        set.map(|_| tracing::info!(url = hook.url, "Telegram sends updates here"))
    }

    async fn webhook_info(&self) -> Result<Value, RequestError> {
        JsonRequest::new(self.bot.clone(), GetWebhookInfo {})
            .send()
            .await
    }

    /// Makes the platform keep updates for whoever asks; none is dropped.
    pub(super) async fn leave_webhook(&self) {
        tracing::warn!("a webhook is set for this bot, but it is to ask: the webhook is removed");
        let left = self.bot.delete_webhook().send().await;
        if let Err(error) = left {
            let why = outcome::describe(&error, &self.token);
            tracing::warn!(%why, "the webhook could not be removed");
        }
    }
}

/// What was seen of the platform's side.
#[derive(Default)]
struct Seen {
    set: bool,
    /// The platform's time of the last failure that was told.
    failed_at: Option<i64>,
}

impl Seen {
    /// Logs that the platform could not hand something over, once a failure.
    fn tell_of_failure(&mut self, info: &Value) {
        let failed_at = info["last_error_date"].as_i64();
        if failed_at > self.failed_at {
            let why = info["last_error_message"].as_str().unwrap_or_default();
            let waiting = info["pending_update_count"].as_u64();
            tracing::warn!(why, waiting, "Telegram could not send us an update");
            self.failed_at = failed_at;
        }
    }
}

#[derive(Serialize)]
struct SetWebhook {
    url: String,
    secret_token: String,
    max_connections: u8,
    allowed_updates: &'static [&'static str],
}

impl Payload for SetWebhook {
    type Output = bool;
    const NAME: &'static str = "SetWebhook";
}

#[derive(Serialize)]
struct GetWebhookInfo {}

impl Payload for GetWebhookInfo {
    type Output = Value;
    const NAME: &'static str = "GetWebhookInfo";
}

#[cfg(test)]
mod tests {
    use super::*;

    fn secret() -> Secret {
        Secret::parse("0123456789abcdef0123456789abcdef").unwrap()
    }

    #[test]
    fn a_hook_is_the_address_and_the_clinics_key() {
        for (base, url, path) in [
            ("https://a.example", "https://a.example/fen", "/fen"),
            ("https://a.example/b/", "https://a.example/b/fen", "/b/fen"),
        ] {
            let hook = Hook::new(base, "fen", secret()).unwrap();
            assert_eq!((hook.url.as_str(), hook.path.as_str()), (url, path));
        }
        for base in ["", "http://a.example", "https://a.example?b", "a.example"] {
            assert!(
                Hook::new(base, "fen", secret()).is_err(),
                "accepted: {base}"
            );
        }
    }

    #[test]
    fn the_secret_has_to_come_once_and_whole() {
        let headers = |all: &[&str]| {
            let mut headers = HeaderMap::new();
            for one in all {
                headers.append(SECRET_HEADER, one.parse().unwrap());
            }
            has_secret(&headers, &secret())
        };
        let right = "0123456789abcdef0123456789abcdef";
        assert!(headers(&[right]));
        assert!(!headers(&[]));
        assert!(!headers(&["0123456789abcdef"]));
        assert!(!headers(&[right, right]));
        assert!(!headers(&["x", right]));
    }
}
