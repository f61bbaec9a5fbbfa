//! Of all workers one asks the platform for a bot's updates: two at a time
//! would take them from each other. Behind a webhook all of them are written
//! to, and one looks after it.

use crate::channel::telegram::TelegramChannel;
use crate::channel::telegram::webhook::Hook;
use crate::engine::Engine;
use crate::store::Seat;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;

/// How often a worker looks whether the seat is free, or still its own.
const LOOK: Duration = Duration::from_secs(2);

/// Asks for updates, or looks after the webhook, whenever the seat is ours, until `stop` is true.
pub(super) async fn receive(
    engine: Arc<Engine>,
    telegram: Arc<TelegramChannel>,
    hook: Option<Hook>,
    per_second: Option<u32>,
    mut stop: watch::Receiver<bool>,
) {
    let clinic = &engine.policy().clinic.key;
    let mut seat = engine.store().seat("telegram", clinic);
    let mut asking: Option<Asking> = None;
    let mut workers = 1;
    while !*stop.borrow() {
        let ours = seat.take().await.unwrap_or_else(|error| {
            tracing::warn!(%error, "whether to ask the platform cannot be known");
            false
        });
        match (ours, asking.take()) {
            (true, Some(going_on)) if !going_on.task.is_finished() => asking = Some(going_on),
            (true, ended) => {
                if let Some(ended) = ended {
                    ended.end().await;
                }
                asking = Some(Asking::begin(&engine, &telegram, hook.clone()));
            }
            (false, Some(lost)) => {
                tracing::warn!(clinic, "another worker may be asking the platform now");
                lost.end().await;
            }
            (false, None) => {}
        }
        workers = share(&engine, &mut seat, per_second, workers).await;
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => break,
            () = tokio::time::sleep(LOOK) => {}
        }
    }
    if let Some(asking) = asking {
        asking.end().await;
    }
}

/// Divides the bot's pace and the database among the workers that there are.
async fn share(engine: &Engine, seat: &mut Seat, per_second: Option<u32>, before: u32) -> u32 {
    let workers = seat.workers().await.unwrap_or(before);
    if workers != before {
        engine.share(per_second, workers);
    }
    workers
}

/// A receiver at work.
struct Asking {
    task: tokio::task::JoinHandle<()>,
    leave: watch::Sender<bool>,
}

impl Asking {
    fn begin(engine: &Arc<Engine>, telegram: &Arc<TelegramChannel>, hook: Option<Hook>) -> Asking {
        let (leave, left) = watch::channel(false);
        let (engine, telegram) = (engine.clone(), telegram.clone());
        let task = tokio::spawn(async move {
            let (clinic, inbox) = (&engine.policy().clinic.key, engine.as_ref());
            match hook {
                Some(hook) => {
                    tracing::info!(clinic, "looking after the webhook");
                    telegram.keep_webhook(&hook, inbox, left).await;
                }
                None => {
                    tracing::info!(clinic, "asking the platform for updates");
                    telegram.receive(inbox, left).await;
                }
            }
        });
        Asking { task, leave }
    }

    /// What was handed over is stored before this ends.
    async fn end(self) {
        self.leave.send_replace(true);
        if let Err(error) = self.task.await {
            tracing::error!(%error, "asking the platform ended badly");
        }
    }
}
