//! `gallery`: every message of every kind in every language, to be read one by one.

use super::say;
use crate::wording::{Wording, gallery};

/// The flags of `gallery`.
#[derive(clap::Args)]
pub struct Gallery {}

impl Gallery {
    /// Prints each message in each of its forms, with invented facts.
    ///
    /// # Errors
    /// Wording files that cannot be read.
    pub fn run(self) -> anyhow::Result<()> {
        say(gallery(&Wording::load()?).trim_end())
    }
}
