//! Without a command: the demonstration in the browser.

use super::{say, stop_signal};
use crate::channel::page;
use crate::config::Config;
use crate::demo::Demo;
use anyhow::Context;

/// The two phones in a browser.
#[derive(clap::Args)]
pub struct Page {
    /// The demonstration's port on this machine; 0 takes a free one.
    #[arg(long, value_name = "PORT")]
    port: Option<u16>,
}

impl Page {
    /// Shows it until somebody asks the program to stop.
    ///
    /// # Errors
    /// Where the port that was asked for is taken.
    pub async fn run(self) -> anyhow::Result<()> {
        let folder = std::env::temp_dir().join(format!("vialbell-{}", std::process::id()));
        let demo = Demo::open(&folder).await?;
        let wanted = self.port.unwrap_or(Config::built_in().settings.page_port);
        let listener = match page::bind(wanted).await {
            Ok(listener) => listener,
            // The usual port may be taken by another demonstration; one that was asked for must be had.
            Err(_) if self.port.is_none() => page::bind(0).await?,
            Err(error) => return Err(error).with_context(|| format!("port {wanted}")),
        };
        say(&format!(
            "Two phones and a clock, with invented figures: http://{}",
            listener.local_addr()?
        ))?;
        say(&format!(
            "The records are in {}. Ctrl-C ends it and removes them.",
            demo.database().await.display()
        ))?;
        let router = page::router(demo.channel(), demo.clone(), demo.clone());
        let mut stop = stop_signal();
        tokio::select! {
            served = axum::serve(listener, router).into_future() => served?,
            _ = stop.wait_for(|stop| *stop) => {}
        }
        drop(demo);
        // Empty by now; what is not empty is not ours to remove.
        let _ = std::fs::remove_dir(&folder);
        Ok(())
    }
}
