//! What the program reads from files: good ones, and every kind of bad one.

mod bad;
mod good;
mod pasted;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;
use std::sync::atomic::{AtomicU32, Ordering};
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::formulary::Formulary;
use vialbell::domain::prescription::Order;

/// A folder of its own for one test, gone when the test is over.
pub struct Folder(PathBuf);

impl Folder {
    /// A folder with these files in it.
    pub fn with(files: &[(&str, &str)]) -> Folder {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let name = format!(
            "vialbell-config-{}-{}",
            std::process::id(),
            NEXT.fetch_add(1, Ordering::Relaxed)
        );
        let folder = Folder(std::env::temp_dir().join(name));
        fs::create_dir_all(&folder.0).expect("a folder");
        for (name, text) in files {
            fs::write(folder.0.join(name), text).expect("a file");
        }
        folder
    }

    /// The path of a file in it.
    pub fn path(&self, name: &str) -> PathBuf {
        self.0.join(name)
    }

    /// The lines of what is wrong with a clinic's file in it, without the folder's name.
    pub fn wrong(&self, name: &str) -> Vec<String> {
        let mistakes = Config::load(&self.path(name)).expect_err("a bad file");
        let folder = format!("{}/", self.0.display());
        let lines = mistakes.to_string().replace(&folder, "");
        lines.lines().map(str::to_owned).collect()
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = fs::remove_dir_all(&self.0);
    }
}

/// The file of the repository.
pub fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("config")
        .join(name)
}

/// The text of the example prescription.
pub fn example_prescription() -> String {
    fs::read_to_string(example("prescription.example.toml")).expect("the example")
}

/// Reads a prescription against the demonstration's formulary.
pub fn read(text: &str) -> Result<Order, String> {
    static FORMULARY: LazyLock<Formulary> = LazyLock::new(|| Config::built_in().formulary);
    parse_prescription(text, &FORMULARY, &["en", "es"]).map_err(|wrong| wrong.to_string())
}

/// The example prescription with one piece of its text replaced.
pub fn example_with(from: &str, to: &str) -> String {
    let text = example_prescription();
    assert_eq!(text.matches(from).count(), 1, "{from} once in the example");
    text.replace(from, to)
}
