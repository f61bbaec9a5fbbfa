//! The real bot: one clinic on Telegram, until it is told to stop.

use crate::channel::Channel;
use crate::channel::telegram::{NoIntroduction, TelegramChannel, Token};
use crate::clock::{Clock, SystemClock};
use crate::config::Config;
use crate::domain::Instant;
use crate::domain::household::Chat;
use crate::engine::Engine;
use crate::store::{Store, StoreError};
use crate::wording::{Phrase, Wording};
use anyhow::Context;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;

/// A machine that slept wakes with its timers behind: the clock is looked at this often at least.
const LOOK_AT_LEAST: Duration = Duration::from_secs(15);
/// After a failure of the store: it may be a full disk, which takes a person.
const AFTER_FAILURE: Duration = Duration::from_secs(5);
const TELEGRAM: &str = "telegram";

/// Serves until `stop` is true; what was accepted by then is on disk.
pub async fn serve(
    config: Config,
    token: &str,
    mut stop: watch::Receiver<bool>,
) -> anyhow::Result<()> {
    let token = Token::parse(token).context("VIALBELL_TELEGRAM_TOKEN")?;
    let telegram = Arc::new(TelegramChannel::new(
        token,
        config.settings.telegram_api_url.as_deref(),
    )?);
    let listener = match config.settings.watch_listen {
        Some(address) => Some(crate::watch::listen(address).await?),
        None => None,
    };
    let store = Store::open(&config.settings.store_url).await?;
    let channels: Vec<Arc<dyn Channel>> = vec![telegram.clone()];
    let clock: Arc<dyn Clock> = Arc::new(SystemClock);
    let wording = Wording::load()?;
    let introduction = Introduction::of(&wording);
    let engine = Arc::new(Engine::new(
        store,
        wording,
        config.policy,
        config.formulary,
        channels,
        clock,
    ));
    if let Some(per_second) = config.settings.per_second {
        engine.set_pace(per_second);
    }
    if let Some(chat) = config.settings.clinic_chat {
        let chat = Chat {
            channel: TELEGRAM.into(),
            address: chat.to_string(),
        };
        engine.bind_clinic_chat_once(&chat).await?;
    }
    let Some(name) = introduce(&telegram, &introduction, &mut stop).await? else {
        return Ok(());
    };
    engine.set_bot_name(&name);
    tracing::info!(bot = name, "serving");
    let watching = tokio::spawn({
        let (engine, stop) = (engine.clone(), stop.clone());
        async move {
            match listener {
                Some(listener) => crate::watch::serve(listener, vec![engine], stop).await,
                None => Ok(()),
            }
        }
    });
    let noting = tokio::spawn({
        let engine = engine.clone();
        async move {
            if let Err(error) = engine.note_zone_rules(engine.now()).await {
                tracing::error!(%error, "the zones' rules could not be compared; it is tried at the next start");
            }
        }
    });
    let receiving = tokio::spawn({
        let (telegram, engine, stop) = (telegram.clone(), engine.clone(), stop.clone());
        async move { telegram.receive(engine.as_ref(), stop).await }
    });
    let thinking = tokio::spawn(think(engine.clone(), stop.clone()));
    let delivering = tokio::spawn(deliver(engine.clone(), stop.clone()));
    let ended = tokio::try_join!(receiving, thinking, delivering, watching);
    let (.., watched) =
        ended.context("a part of the program failed; what was committed is kept")?;
    watched?;
    noting.await?;
    tracing::info!("stopped");
    Ok(())
}

/// The bot's name and menu. A wrong token ends the program; a platform that
/// cannot be reached is asked again, since the clinic's reminders must start
/// by themselves after a power cut.
async fn introduce(
    telegram: &TelegramChannel,
    introduction: &Introduction,
    stop: &mut watch::Receiver<bool>,
) -> anyhow::Result<Option<String>> {
    loop {
        match telegram
            .introduce(&introduction.menus(), &introduction.descriptions())
            .await
        {
            Ok(name) => return Ok(Some(name.as_str().to_owned())),
            Err(error @ NoIntroduction::WrongToken) => return Err(error.into()),
            Err(error) => tracing::warn!(%error, "trying again in a moment"),
        }
        tokio::select! {
            () = tokio::time::sleep(AFTER_FAILURE) => {}
            _ = stop.wait_for(|stop| *stop) => return Ok(None),
        }
    }
}

/// What the bot says of itself before anybody has written to it.
struct Introduction {
    languages: Vec<InLanguage>,
}

struct InLanguage {
    /// Whom it is shown to; an empty code is for everybody else.
    code: String,
    menu: Vec<(&'static str, String)>,
    description: String,
}

impl Introduction {
    fn of(wording: &Wording) -> Introduction {
        let codes = wording
            .languages()
            .into_iter()
            .map(|code| (code.to_owned(), code.to_owned()));
        let languages = std::iter::once((String::new(), "en".to_owned()))
            .chain(codes)
            .map(|(shown_to, code)| {
                let description = wording.phrase(Phrase::BotDescription, &[], &code);
                InLanguage {
                    code: shown_to,
                    menu: wording.menu(&code),
                    description,
                }
            })
            .collect();
        Introduction { languages }
    }

    fn menus(&self) -> Vec<(&str, Vec<(&str, &str)>)> {
        let mut menus = Vec::new();
        for language in &self.languages {
            let menu = language
                .menu
                .iter()
                .map(|(word, what)| (*word, what.as_str()));
            menus.push((language.code.as_str(), menu.collect()));
        }
        menus
    }

    fn descriptions(&self) -> Vec<(&str, &str)> {
        self.languages
            .iter()
            .map(|l| (l.code.as_str(), l.description.as_str()))
            .collect()
    }
}

/// Decides and sends whatever is due, until `stop` is true.
pub async fn work(engine: Arc<Engine>, stop: watch::Receiver<bool>) {
    tokio::join!(think(engine.clone(), stop.clone()), deliver(engine, stop));
}

async fn think(engine: Arc<Engine>, mut stop: watch::Receiver<bool>) {
    while !*stop.borrow() {
        let now = engine.now();
        let next = thought(&engine, now).await;
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            () = engine.woken() => {}
            () = tokio::time::sleep(until(now, next)) => {}
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

async fn deliver(engine: Arc<Engine>, mut stop: watch::Receiver<bool>) {
    while !*stop.borrow() {
        let now = engine.now();
        let delivered = async {
            engine.deliver(now).await?;
            engine.next_send(now).await
        };
        let next = after_failure(delivered.await, now);
        tokio::select! {
            biased;
            _ = stop.wait_for(|stop| *stop) => return,
            () = engine.committed() => {}
            () = tokio::time::sleep(until(now, next)) => {}
        }
    }
}

fn after_failure(next: Result<Option<Instant>, StoreError>, now: Instant) -> Option<Instant> {
    next.unwrap_or_else(|error| {
        tracing::error!(%error, "nothing is lost, it is tried again");
        Some(now + AFTER_FAILURE)
    })
}

fn until(now: Instant, next: Option<Instant>) -> Duration {
    let wait = next.map_or(LOOK_AT_LEAST, |next| {
        (next - now).to_std().unwrap_or_default()
    });
    wait.min(LOOK_AT_LEAST)
}
