//! A database file of a test's own.

#![allow(dead_code, reason = "each test takes what it needs")]

use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// Gone at the end.
pub struct File(PathBuf);

impl File {
    pub fn new() -> File {
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("vialbell-test-{}-{count}.db", std::process::id());
        File(std::env::temp_dir().join(name))
    }

    pub fn path(&self) -> &Path {
        &self.0
    }

    pub fn url(&self) -> String {
        format!("sqlite:{}", self.0.display())
    }
}

impl Drop for File {
    fn drop(&mut self) {
        for end in ["", "-wal", "-shm"] {
            let _ = std::fs::remove_file(format!("{}{end}", self.0.display()));
        }
    }
}
