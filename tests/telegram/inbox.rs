//! An inbox in memory that can be told to fail, and a receiver that runs
//! beside the test.

use crate::{channel, stub::Stub};
use futures_util::future::BoxFuture;
use std::sync::{Arc, Mutex};
use tokio::{sync::watch, task::JoinHandle};
use vialbell::{
    channel::Inbox,
    domain::arrival::{Arrival, Body},
};

/// Keeps batches as they came.
#[derive(Default)]
pub struct Kept {
    batches: Mutex<Vec<Vec<Arrival>>>,
    failures: Mutex<u32>,
    refused: Mutex<u32>,
}

impl Kept {
    /// The next `n` batches are not stored.
    pub fn fail(&self, n: u32) {
        *self.failures.lock().unwrap() = n;
    }

    /// How many batches were not stored.
    pub fn refused(&self) -> u32 {
        *self.refused.lock().unwrap()
    }

    /// Everything that was stored, a thing that came twice twice.
    pub fn all(&self) -> Vec<Arrival> {
        self.batches.lock().unwrap().concat()
    }

    pub fn bodies(&self) -> Vec<Body> {
        self.all().into_iter().map(|arrival| arrival.body).collect()
    }
}

impl Inbox for Kept {
    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        assert_eq!(channel, "telegram");
        Box::pin(async move {
            let mut failures = self.failures.lock().unwrap();
            if *failures > 0 {
                *failures -= 1;
                *self.refused.lock().unwrap() += 1;
                anyhow::bail!("the disk is full");
            }
            self.batches.lock().unwrap().push(batch);
            Ok(())
        })
    }
}

/// Takes a batch and never says that it is done: it stands where a program is
/// killed, whether shortly before its commit or shortly after.
#[derive(Default)]
pub struct Stuck {
    handed: Mutex<Vec<Arrival>>,
}

impl Stuck {
    pub fn handed(&self) -> Vec<Arrival> {
        self.handed.lock().unwrap().clone()
    }
}

impl Inbox for Stuck {
    fn accept<'a>(
        &'a self,
        _channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        self.handed.lock().unwrap().extend(batch);
        Box::pin(std::future::pending())
    }
}

/// A receiver at work.
pub struct Receiver {
    task: JoinHandle<()>,
    stop: watch::Sender<bool>,
}

impl Receiver {
    pub fn start<I: Inbox + 'static>(stub: &Stub, inbox: &Arc<I>) -> Self {
        let (channel, inbox) = (channel(stub), Arc::clone(inbox));
        let (stop, stopped) = watch::channel(false);
        let task = tokio::spawn(async move { channel.receive(inbox.as_ref(), stopped).await });
        Self { task, stop }
    }

    /// Stops as the program does.
    pub async fn stop(self) {
        self.stop.send(true).unwrap();
        self.task.await.unwrap();
    }

    /// Stops as a crash does.
    pub async fn kill(self) {
        self.task.abort();
        assert!(self.task.await.unwrap_err().is_cancelled());
    }
}
