//! A folder with a clinic's files, and a terminal that stands in it.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use vialbell::clock::{Clock, SystemClock};
use vialbell::domain::zone::Zone;

/// How a command ended.
#[derive(Debug)]
pub struct Ended {
    pub code: i32,
    pub out: String,
    pub err: String,
}

pub struct Folder(PathBuf);

const CLINIC: &str = r#"
[clinic]
name = "Brindlewick Animal Clinic"
phone = "+1 555 0142"
zone = "America/Denver"

[store]
url = "sqlite:vialbell.db"

[telegram]
bot_name = "invented_clinic_bot"

[dose]
largest_ml = "5"
"#;

/// An invented order that begins tomorrow, whenever the test runs.
fn juniper() -> String {
    let zone = Zone::named("America/Denver").unwrap();
    let tomorrow = zone.local(SystemClock.now() + chrono::TimeDelta::hours(24));
    format!(
        r#"[patient]
name = "Juniper"
species = "dog"
weight_kg = "30"

[owner]
name = "Maren Oakhollow"
language = "en"
zone = "America/Denver"
carers = ["Teo Oakhollow"]

[prescription]
product = "tarnmoss"
dose = "14 mg/kg"
times = ["07:30", "19:30"]
first = {}T19:30
days = 28
veterinarian = "Dr. Idris Fennimore"
"#,
        tomorrow.format("%Y-%m-%d")
    )
}

impl Folder {
    pub fn new() -> Folder {
        static MADE: AtomicU32 = AtomicU32::new(0);
        let number = MADE.fetch_add(1, Ordering::Relaxed);
        let name = format!("vialbell-cli-{}-{number}", std::process::id());
        let folder = Folder(std::env::temp_dir().join(name));
        std::fs::create_dir(&folder.0).unwrap();
        folder.write("clinic.toml", CLINIC);
        folder.write("juniper.toml", &juniper());
        folder
    }

    pub fn write(&self, name: &str, text: &str) {
        std::fs::write(self.0.join(name), text).unwrap();
    }

    /// The order with some of its words replaced.
    pub fn write_order(&self, name: &str, changes: &[(&str, &str)]) {
        let mut text = juniper();
        for (from, to) in changes {
            assert!(text.contains(from), "{from}");
            text = text.replace(from, to);
        }
        self.write(name, &text);
    }

    pub fn path(&self) -> &Path {
        &self.0
    }

    pub fn database(&self) -> PathBuf {
        self.0.join("vialbell.db")
    }

    pub fn bytes(&self) -> Vec<u8> {
        std::fs::read(self.database()).unwrap()
    }

    /// How many rows each table of the database has, a line each.
    pub fn rows(&self) -> String {
        use sqlx::{AnyConnection, AssertSqlSafe, Connection};
        sqlx::any::install_default_drivers();
        let url = format!("sqlite:{}", self.database().display());
        let counting = async {
            let mut connection = AnyConnection::connect(&url).await.unwrap();
            let tables: Vec<String> = sqlx::query_scalar(
                "select name from sqlite_master where type = 'table' order by name",
            )
            .fetch_all(&mut connection)
            .await
            .unwrap();
            let mut rows = String::new();
            for table in tables {
                let count: i64 =
                    sqlx::query_scalar(AssertSqlSafe(format!("select count(*) from {table}")))
                        .fetch_one(&mut connection)
                        .await
                        .unwrap();
                rows.push_str(&format!("{table} {count}\n"));
            }
            connection.close().await.unwrap();
            rows
        };
        let runtime = tokio::runtime::Builder::new_current_thread();
        { runtime }.enable_all().build().unwrap().block_on(counting)
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_vialbell"));
        command
            .args(arguments)
            .current_dir(&self.0)
            .env_remove("VIALBELL_LOG")
            .env_remove("VIALBELL_TELEGRAM_TOKEN");
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Ended {
        self.run_with(arguments, "")
    }

    /// Runs it with this on its standard input.
    pub fn run_with(&self, arguments: &[&str], input: &str) -> Ended {
        let mut child = self
            .command(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        // One that reads nothing may be gone already.
        let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
        let output = child.wait_with_output().unwrap();
        Ended {
            code: output.status.code().expect("it ended by itself"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    pub fn enrol(&self, order: &str) -> Ended {
        self.run(&["enrol", "--config", "clinic.toml", order])
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
