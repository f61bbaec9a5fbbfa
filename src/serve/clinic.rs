//! One clinic at work: asks its bot's platform, decides, sends.

use super::introduction::{Introduction, introduce};
use super::{AFTER_FAILURE, Bot, duty, either};
use crate::channel::Channel;
use crate::channel::telegram::TelegramChannel;
use crate::channel::telegram::webhook::{Called, Hook};
use crate::clock::SystemClock;
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::engine::Engine;
use crate::store::{Store, StoreError};
use crate::wording::Wording;
use anyhow::{Context, bail};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::runtime::Handle;
use tokio::sync::{oneshot, watch};
use tokio::task::JoinHandle;

/// A machine that slept wakes with its timers behind: the clock is looked at this often at least.
const LOOK_AT_LEAST: Duration = Duration::from_secs(15);
/// Beside other workers: what one that died had begun is taken over within this.
const LOOK_BESIDE_OTHERS: Duration = Duration::from_secs(3);
const TELEGRAM: &str = "telegram";

/// A clinic that is ready to serve.
pub(super) struct Clinic {
    pub(super) engine: Arc<Engine>,
    pub(super) telegram: Arc<TelegramChannel>,
    /// Where it is written to, and where that is heard; without, it asks.
    hook: Option<(Hook, SocketAddr)>,
    introduction: Introduction,
    per_second: Option<u32>,
    look_at_least: Duration,
}

impl Clinic {
    pub(super) async fn open(bot: Bot, store: Store) -> anyhow::Result<Clinic> {
        let Bot {
            config,
            token,
            secret,
        } = bot;
        let settings = config.settings;
        let hook = match (settings.telegram_webhook, secret) {
            (Some(webhook), Some(secret)) => {
                let hook = Hook::new(&webhook.url, &config.policy.clinic.key, secret)?;
                Some((hook, webhook.listen))
            }
            (Some(_), None) => bail!("a webhook without a secret"),
            (None, _) => None,
        };
        let telegram = Arc::new(TelegramChannel::new(
            token,
            settings.telegram_api_url.as_deref(),
        )?);
        let look_at_least = match store.has_others() {
            true => LOOK_BESIDE_OTHERS,
            false => LOOK_AT_LEAST,
        };
        let channels: Vec<Arc<dyn Channel>> = vec![telegram.clone()];
        let wording = Wording::load()?;
        let introduction = Introduction::of(&wording);
        let engine = Arc::new(Engine::new(
            store,
            wording,
            config.policy,
            config.formulary,
            channels,
            Arc::new(SystemClock),
        ));
        if let Some(per_second) = settings.per_second {
            engine.set_pace(per_second);
        }
        if let Some(chat) = settings.clinic_chat {
            let chat = Chat {
                channel: TELEGRAM.into(),
                address: chat.to_string(),
            };
            engine.bind_clinic_chat_once(&chat).await?;
        }
        Ok(Clinic {
            engine,
            telegram,
            hook,
            introduction,
            per_second: settings.per_second,
            look_at_least,
        })
    }

    /// How its bot is written to, where it is.
    pub(super) fn called(&self) -> Option<(SocketAddr, Called)> {
        let (hook, address) = self.hook.clone()?;
        let called = Called {
            hook,
            bot: self.telegram.clone(),
            inbox: self.engine.clone(),
        };
        Some((address, called))
    }

    /// Serves until `stop` is true.
    pub(super) async fn serve(self, mut stop: watch::Receiver<bool>) -> anyhow::Result<()> {
        let Clinic {
            engine, telegram, ..
        } = &self;
        let clinic = engine.policy().clinic.key.clone();
        let introduced = introduce(telegram, &clinic, &self.introduction, &mut stop).await;
        let Some(name) = introduced.with_context(|| format!("clinic {clinic}"))? else {
            return Ok(());
        };
        engine.set_bot_name(&name);
        tracing::info!(bot = name, clinic, "serving");
        let noting = tokio::spawn({
            let engine = engine.clone();
            async move {
                if let Err(error) = engine.note_zone_rules(engine.now()).await {
                    tracing::error!(%error, "the zones' rules could not be compared; it is tried at the next start");
                }
            }
        });
        let telling = tokio::spawn({
            let engine = engine.clone();
            async move { engine.tell_others().await }
        });
        let at_least = self.look_at_least;
        // A part that fails ends the others, and is not overtaken by the end of the
        // program: what they have begun is committed, and the records are closed.
        let (give_up, gave_up) = watch::channel(false);
        let stop = either(stop, gave_up);
        let part = async |part: JoinHandle<()>| {
            let ended = part.await;
            if ended.is_err() {
                give_up.send_replace(true);
            }
            ended
        };
        let receiving = tokio::spawn(duty::receive(
            engine.clone(),
            telegram.clone(),
            self.hook.as_ref().map(|(hook, _)| hook.clone()),
            self.per_second,
            stop.clone(),
        ));
        let thinking = in_a_thread("think", think(engine.clone(), at_least, stop.clone()));
        let delivering = in_a_thread("deliver", deliver(engine.clone(), at_least, stop));
        let (receiving, thinking, delivering) =
            tokio::join!(part(receiving), part(thinking), part(delivering));
        let ended = receiving.and(thinking).and(delivering);
        ended.context("a part of the program failed; what was committed is kept")?;
        telling.abort();
        noting.await?;
        Ok(())
    }
}

/// Decides and sends whatever is due, until `stop` is true: each in a thread of
/// its own, so that one core decides while another sends.
///
/// # Panics
/// Where one of them does.
pub async fn work(engine: Arc<Engine>, stop: watch::Receiver<bool>) {
    let thinking = in_a_thread("think", think(engine.clone(), LOOK_AT_LEAST, stop.clone()));
    let delivering = in_a_thread("deliver", deliver(engine, LOOK_AT_LEAST, stop));
    let ended = tokio::try_join!(thinking, delivering);
    ended.expect("no part of the program fails");
}

/// While somebody has a SQLite database nobody else does: in a thread of its own whoever
/// has it does not wait in line behind what is being sent.
/// Not one of the runtime's: those are counted, and these end with the program only.
fn in_a_thread(name: &str, work: impl Future<Output = ()> + Send + 'static) -> JoinHandle<()> {
    let runtime = Handle::current();
    let (done, ended) = oneshot::channel();
    let thread = std::thread::Builder::new().name(name.into());
    let begun = thread.spawn(move || {
        runtime.block_on(work);
        let _ = done.send(());
    });
    tokio::spawn(async move {
        begun.expect("the machine has a thread more for us");
        ended.await.expect("the thread ends without a panic");
    })
}

async fn think(engine: Arc<Engine>, at_least: Duration, mut stop: watch::Receiver<bool>) {
    while !*stop.borrow() {
        let now = engine.now();
        let next = thought(&engine, now).await;
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            () = engine.woken() => {}
            () = tokio::time::sleep(until(engine.now(), next, at_least)) => {}
        }
    }
}

/// Does what is due; gives when to come back.
async fn thought(engine: &Engine, now: Instant) -> Option<Instant> {
    let thought = async {
        engine.think(now).await?;
        engine.next_wake().await
    };
    after_failure(thought.await, now)
}

async fn deliver(engine: Arc<Engine>, at_least: Duration, mut stop: watch::Receiver<bool>) {
    let mut under_way = engine.under_way();
    while !*stop.borrow() {
        let now = engine.now();
        let went = under_way.go_on(now, &mut |_| {}).await;
        let failed = went.is_err();
        let next = after_failure(went, now);
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => break,
            // A database that is away is asked again after a while, whatever comes back.
            () = under_way.enough_back(), if !failed => {}
            () = engine.committed() => {}
            () = tokio::time::sleep(until(engine.now(), next, at_least)) => {}
        }
    }
    if let Err(error) = under_way.end(&mut |_| {}).await {
        tracing::error!(%error, "what was sent last is not noted; it is sent again");
    }
}

fn after_failure(next: Result<Option<Instant>, StoreError>, now: Instant) -> Option<Instant> {
    next.unwrap_or_else(|error| {
        tracing::error!(%error, "nothing is lost, it is tried again");
        Some(now + AFTER_FAILURE)
    })
}

fn until(now: Instant, next: Option<Instant>, at_least: Duration) -> Duration {
    let wait = next.map_or(at_least, |next| (next - now).to_std().unwrap_or_default());
    wait.min(at_least)
}
