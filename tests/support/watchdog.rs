//! What a test has started ends with the test, also where the test is killed
//! and nothing of it is dropped any more.

#![allow(dead_code, reason = "each test takes what it needs")]

use std::process::{Child, Command, Stdio};

/// A shell that waits for the end of its input, which comes when the test is
/// gone, and then does what it was told to do.
pub struct Watchdog(Child);

impl Watchdog {
    /// Kills the process of this number when the test is gone.
    pub fn of(process: u32) -> Self {
        Self::that(&format!("kill -9 {process}"))
    }

    /// Runs these words of the shell when the test is gone.
    pub fn that(last: &str) -> Self {
        let mut shell = Command::new("sh");
        // Signals of a terminal go to the test and to all that it has started.
        shell.args(["-c", &format!("trap '' INT; read -r nothing; {last}")]);
        let quiet = shell.stdout(Stdio::null()).stderr(Stdio::null());
        Self(quiet.stdin(Stdio::piped()).spawn().unwrap())
    }
}

impl Drop for Watchdog {
    fn drop(&mut self) {
        // Nothing is left to be ended, and its number may be another's by now.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}
