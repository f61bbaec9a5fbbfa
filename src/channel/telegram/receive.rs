//! Asks for updates, and for the next ones only when the last are stored.

use super::{NAME, TelegramChannel, outcome, token::Token, update};
use crate::channel::Inbox;
use futures_util::{StreamExt, stream};
use serde::Serialize;
use serde_json::Value;
use std::time::Duration;
use teloxide::{
    Bot, RequestError,
    requests::{JsonRequest, Payload, Request, Requester},
    types::CallbackQueryId,
};
use tokio::{sync::watch, task::JoinSet, time};

/// How long the platform may hold a question open, in seconds. teloxide's
/// client gives up after 17.
const POLL_SECONDS: u32 = 10;

/// The kinds of updates that are read; the platform keeps the others to itself.
pub(super) const UPDATES: [&str; 4] = [
    "message",
    "edited_message",
    "callback_query",
    "my_chat_member",
];

/// The most updates in one batch (the Bot API's documentation of `getUpdates`).
const BATCH: u8 = 100;

const FIRST_PAUSE: Duration = Duration::from_secs(1);
const LONGEST_PAUSE: Duration = Duration::from_secs(30);

/// How many taps of a batch are confirmed at a time, and for how long that is
/// tried: it is only a courtesy to the phone.
const CONFIRMED_AT_A_TIME: usize = 8;
pub(super) const CONFIRMING: Duration = Duration::from_secs(20);
const BATCHES_CONFIRMING: usize = 4;

impl TelegramChannel {
    /// Receives until `stop` is true or its sender is gone.
    ///
    /// A batch is confirmed to the platform, by asking for the next, only
    /// after the inbox has stored it; until then the platform hands it over
    /// again, after a crash too. No failure ends this. The inbox's work is
    /// never cut short by `stop`.
    pub async fn receive(&self, inbox: &dyn Inbox, mut stop: watch::Receiver<bool>) {
        let mut offset = None;
        let mut pause = Pause::default();
        // Dropped, and with it what is still being confirmed, when this ends.
        let mut confirming = JoinSet::new();
        loop {
            let asked = tokio::select! {
                biased;
                () = stopped(&mut stop) => return,
                asked = self.ask(offset) => asked,
            };
            let failed = match asked {
                Ok(batch) => match self.store(&batch, inbox).await {
                    Ok(()) => {
                        inbox.reached();
                        self.confirm_taps(&batch, &mut confirming).await;
                        // With nothing left unconfirmed the number has done its
                        // work. It is not kept: after a quiet week the platform
                        // starts at another one, which may be lower.
                        let next = batch.iter().filter_map(update::number).max();
                        offset = next.map(|number| number.saturating_add(1));
                        batch_is_stuck(&batch, offset).then_some(pause.longer())
                    }
                    Err(error) => {
                        let error = self.token.scrub(&format!("{error:#}"));
                        tracing::error!(%error, "the inbox did not store a batch; it will be asked for again");
                        Some(pause.longer())
                    }
                },
                Err(error) => {
                    if is_for_a_webhook(&error) {
                        self.leave_webhook().await;
                    } else {
                        self.tell(&error);
                    }
                    Some(asked_to_wait(&error).unwrap_or_else(|| pause.longer()))
                }
            };
            let Some(wait) = failed else {
                pause = Pause::default();
                continue;
            };
            tokio::select! {
                biased;
                () = stopped(&mut stop) => return,
                () = time::sleep(wait) => {}
            }
        }
    }

    async fn ask(&self, offset: Option<i64>) -> Result<Vec<Value>, RequestError> {
        let question = GetUpdates {
            offset,
            limit: BATCH,
            timeout: POLL_SECONDS,
            allowed_updates: &UPDATES,
        };
        JsonRequest::new(self.bot.clone(), question).send().await
    }

    async fn store(&self, batch: &[Value], inbox: &dyn Inbox) -> anyhow::Result<()> {
        let username = self.username.get().map(String::as_str);
        let arrivals: Vec<_> = batch
            .iter()
            .filter_map(|update| update::arrival(update, username))
            .collect();
        if arrivals.is_empty() {
            return Ok(());
        }
        inbox.accept(NAME, arrivals).await
    }

    /// Tells the phones that their taps arrived, beside the loop: a slow platform must not hold the next batch back.
    async fn confirm_taps(&self, batch: &[Value], confirming: &mut JoinSet<()>) {
        let taps: Vec<_> = batch.iter().filter_map(update::tapped).collect();
        if taps.is_empty() {
            return;
        }
        while confirming.len() >= BATCHES_CONFIRMING {
            confirming.join_next().await;
        }
        while confirming.try_join_next().is_some() {}
        let (bot, token) = (self.bot.clone(), self.token.clone());
        confirming.spawn(async move {
            let all = stream::iter(taps)
                .for_each_concurrent(CONFIRMED_AT_A_TIME, |tap| confirm(&bot, &token, tap));
            if time::timeout(CONFIRMING, all).await.is_err() {
                tracing::debug!("not every tap of a batch could be confirmed in time");
            }
        });
    }

    fn tell(&self, error: &RequestError) {
        let why = outcome::describe(error, &self.token);
        if why.contains("terminated by other getUpdates") {
            tracing::error!(
                "another program is receiving with this bot's token: stop one of the two"
            );
        } else if outcome::is_wrong_token(&why) {
            tracing::error!("Telegram does not know this bot's token (any more)");
        } else {
            tracing::warn!(%why, "no updates from Telegram");
        }
    }
}

/// Updates go to a webhook that was set for this bot before.
fn is_for_a_webhook(error: &RequestError) -> bool {
    matches!(error, RequestError::Api(answer) if outcome::words(answer).contains("webhook is active"))
}

/// Resolves when the program is to stop, and when nobody is left to say so.
pub(super) async fn stopped(stop: &mut watch::Receiver<bool>) {
    let _ = stop.wait_for(|stop| *stop).await;
}

/// The platform handed something over but numbered nothing, so it would hand
/// over the same at once.
fn batch_is_stuck(batch: &[Value], next: Option<i64>) -> bool {
    let stuck = !batch.is_empty() && next.is_none();
    if stuck {
        tracing::error!("updates without a number came from Telegram");
    }
    stuck
}

pub(super) fn asked_to_wait(error: &RequestError) -> Option<Duration> {
    match error {
        RequestError::RetryAfter(wait) => Some(wait.duration()),
        _ => None,
    }
}

/// Stops the phone's waiting sign. Whether the button still applies is decided
/// later: what was tapped is not understood yet.
pub(super) async fn confirm(bot: &Bot, token: &Token, tap: update::Tapped) {
    let answered = bot.answer_callback_query(CallbackQueryId(tap.query)).await;
    tell_unless_harmless(answered.err(), token);
}

/// The beginning of the answer to a tap from before an outage: nothing is left to do.
const HARMLESS: &str = "Bad Request: query is too old";

fn tell_unless_harmless(error: Option<RequestError>, token: &Token) {
    let Some(error) = error else { return };
    let why = outcome::describe(&error, token);
    if !why.starts_with(HARMLESS) {
        tracing::warn!(%why, "a tap could not be confirmed to the phone");
    }
}

/// The question for updates, answered in the platform's own words: see
/// [`update`] for why not in the library's types.
#[derive(Serialize)]
struct GetUpdates {
    #[serde(skip_serializing_if = "Option::is_none")]
    offset: Option<i64>,
    limit: u8,
    timeout: u32,
    allowed_updates: &'static [&'static str],
}

impl Payload for GetUpdates {
    type Output = Vec<Value>;
    const NAME: &'static str = "GetUpdates";
}

/// The pause after a failure: twice as long after each.
pub(super) struct Pause(Duration);

impl Default for Pause {
    fn default() -> Self {
        Self(FIRST_PAUSE)
    }
}

impl Pause {
    pub(super) fn longer(&mut self) -> Duration {
        let now = self.0;
        self.0 = now.saturating_mul(2).min(LONGEST_PAUSE);
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pauses_double_up_to_half_a_minute() {
        let mut pause = Pause::default();
        let seconds: Vec<_> = (0..7).map(|_| pause.longer().as_secs()).collect();
        assert_eq!(seconds, [1, 2, 4, 8, 16, 30, 30]);
    }
}
