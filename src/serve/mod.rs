//! The real bots: one for each clinic, on one database, until told to stop.

mod clinic;
mod duty;
mod introduction;

pub use clinic::work;

use crate::channel::telegram::{Secret, Token, webhook};
use crate::config::Config;
use crate::engine::Engine;
use crate::store::{Heard, Store, StoreError};
use anyhow::{Context, ensure};
use clinic::Clinic;
use std::collections::{BTreeMap, BTreeSet};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;
use tokio::task::JoinSet;

/// After a failure of the store: it may be a full disk, which takes a person.
const AFTER_FAILURE: Duration = Duration::from_secs(5);

/// A clinic with its bot.
pub struct Bot {
    /// The clinic's configuration.
    pub config: Config,
    /// The token of its bot.
    pub token: Token,
    /// The secret of its webhook, where the configuration has one.
    pub secret: Option<Secret>,
}

/// Serves all clinics until `stop` is true; what was accepted by then is on disk.
///
/// # Errors
/// The configurations do not go together, the database cannot be used, another
/// program serves the same file, a platform does not know a token.
pub async fn serve(bots: Vec<Bot>, stop: watch::Receiver<bool>) -> anyhow::Result<()> {
    let url = the_one_store(&bots)?;
    let mut listeners = Vec::new();
    let watched: BTreeSet<_> = bots
        .iter()
        .filter_map(|bot| bot.config.settings.watch_listen)
        .collect();
    for address in watched {
        listeners.push(crate::watch::listen(address).await?);
    }
    let _alone = Store::alone(&url)?;
    let store = Store::open(&url).await?;
    let mut clinics = Vec::new();
    for bot in bots {
        clinics.push(Clinic::open(bot, store.clone()).await?);
    }
    // Heard before the platform is told where to send.
    let mut doors = Vec::new();
    for (address, called) in called(&clinics) {
        doors.push((webhook::listen(address).await?, called));
    }
    let engines: Vec<Arc<Engine>> = clinics.iter().map(|clinic| clinic.engine.clone()).collect();
    let hearing = tokio::spawn(hear(store, engines.clone()));
    // One clinic that cannot go on ends them all: whoever restarts us must see it.
    let (give_up, gave_up) = watch::channel(false);
    let mut parts = JoinSet::new();
    let stop = either(stop, gave_up);
    for listener in listeners {
        parts.spawn(crate::watch::serve(listener, engines.clone(), stop.clone()));
    }
    for (listener, called) in doors {
        parts.spawn(webhook::serve(listener, called, stop.clone()));
    }
    for clinic in clinics {
        parts.spawn(clinic.serve(stop.clone()));
    }
    let mut ended = Ok(());
    while let Some(part) = parts.join_next().await {
        let part = part.context("a part of the program failed; what was committed is kept");
        if let Err(error) = part.and_then(|part| part) {
            give_up.send_replace(true);
            ended = ended.and(Err(error));
        }
    }
    hearing.abort();
    ended?;
    tracing::info!("stopped");
    Ok(())
}

/// The bots that are written to, by where that is heard.
fn called(clinics: &[Clinic]) -> BTreeMap<SocketAddr, Vec<webhook::Called>> {
    let mut by_address: BTreeMap<SocketAddr, Vec<webhook::Called>> = BTreeMap::new();
    for clinic in clinics {
        if let Some((address, called)) = clinic.called() {
            by_address.entry(address).or_default().push(called);
        }
    }
    by_address
}

/// True once one of the two is.
fn either(
    mut one: watch::Receiver<bool>,
    mut other: watch::Receiver<bool>,
) -> watch::Receiver<bool> {
    let (both, result) = watch::channel(*one.borrow() || *other.borrow());
    tokio::spawn(async move {
        tokio::select! {
            _ = one.wait_for(|stop| *stop) => {}
            _ = other.wait_for(|stop| *stop) => {}
        }
        both.send_replace(true);
        both.closed().await;
    });
    result
}

/// The database that all clinics name, where they go together.
fn the_one_store(bots: &[Bot]) -> anyhow::Result<String> {
    let first = bots.first().context("no clinic to serve")?;
    let url = &first.config.settings.store_url;
    let (mut keys, mut tokens) = (BTreeSet::new(), Vec::new());
    for Bot { config, token, .. } in bots {
        let clinic = &config.policy.clinic;
        ensure!(
            config.settings.store_url == *url,
            "store.url: clinics that are served together keep their records in one database"
        );
        ensure!(
            keys.insert(&clinic.key),
            "clinic.key: two clinics have the key {}",
            clinic.key
        );
        ensure!(
            !tokens.contains(&token),
            "clinic {}: another clinic has the same bot's token",
            clinic.key
        );
        tokens.push(token);
    }
    Ok(url.clone())
}

/// Wakes the clinics when another worker has committed something for them.
async fn hear(store: Store, engines: Vec<Arc<Engine>>) {
    loop {
        let heard = async {
            let mut ear = store.ear().await?;
            // What was committed before we listened.
            let mut heard = Heard::Missed;
            loop {
                engines.iter().for_each(|engine| engine.hear(&heard));
                heard = ear.hear().await?;
            }
        };
        let ended: Result<(), StoreError> = heard.await;
        if let Err(error) = ended {
            tracing::warn!(%error, "the other workers are not heard; looking by ourselves");
        }
        tokio::time::sleep(AFTER_FAILURE).await;
    }
}
