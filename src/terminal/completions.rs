//! `completions`: so that a shell completes commands and flags.

use anyhow::Context;
use std::io::Write;

/// The flags of `completions`.
#[derive(clap::Args)]
#[command(after_help = "Examples:\n  \
    vialbell completions bash > ~/.local/share/bash-completion/completions/vialbell\n  \
    vialbell completions fish > ~/.config/fish/completions/vialbell.fish")]
pub struct Completions {
    /// For which shell.
    shell: clap_complete::Shell,
}

impl Completions {
    /// Prints the script for `program`, the whole of the command line.
    ///
    /// # Errors
    /// Where standard output cannot be written to.
    pub fn run(self, mut program: clap::Command) -> anyhow::Result<()> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut program, "vialbell", &mut script);
        match std::io::stdout().write_all(&script) {
            Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
            written => written.context("standard output"),
        }
    }
}
