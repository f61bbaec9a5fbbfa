//! A PostgreSQL server of the test's own: made in a temporary folder from the
//! installed binaries, reached by a socket in it, gone at the end.
//!
//! A suite runs on it when `VIALBELL_TEST_POSTGRES` names a server; one ignored
//! test in each suite starts a server and runs the suite's own program again
//! with that set.

#![allow(dead_code, reason = "each test takes what it needs")]

#[path = "watchdog.rs"]
pub mod watchdog;

use sqlx::{AnyConnection, AssertSqlSafe, Connection};
use std::os::unix::fs::chown;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicU32, Ordering};

/// Where a suite is told of a server.
pub const VARIABLE: &str = "VIALBELL_TEST_POSTGRES";

/// Debian's user that owns nothing: the server refuses to run as root.
const NOBODY: u32 = 65_534;

/// A server that is stopped and removed when this is dropped.
pub struct Server {
    folder: PathBuf,
    binaries: PathBuf,
    /// Whether a commit is on disk when it returns: a test needs no power cut, a measurement does.
    durable: bool,
    _watchdog: watchdog::Watchdog,
}

impl Server {
    /// Starts one. `None` where PostgreSQL is not installed.
    pub fn start() -> Option<Server> {
        Self::start_with(false)
    }

    /// Starts one whose commits are on disk when they return.
    pub fn start_durable() -> Option<Server> {
        Self::start_with(true)
    }

    fn start_with(durable: bool) -> Option<Server> {
        let binaries = binaries()?;
        static COUNT: AtomicU32 = AtomicU32::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("vialbell-postgres-{}-{count}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        std::fs::create_dir(&folder).unwrap();
        if is_root() {
            chown(&folder, Some(NOBODY), Some(NOBODY)).unwrap();
        }
        let place = folder.display();
        let last = format!("kill -QUIT $(head -1 {place}/data/postmaster.pid); rm -rf {place}");
        let server = Server {
            _watchdog: watchdog::Watchdog::that(&last),
            folder,
            binaries,
            durable,
        };
        let data = server.data();
        run(server
            .command("initdb")
            .args(["-U", "vialbell", "-A", "trust", "-E", "UTF8"])
            .args(["--locale=C", "--no-sync", "-D"])
            .arg(&data));
        server.launch();
        Some(server)
    }

    /// Starts the server in its folder, anew after [`Server::kill`].
    pub fn launch(&self) {
        let settings = format!(
            "-c listen_addresses='' -c unix_socket_directories={} -c fsync={} -c max_connections=200",
            self.folder.display(),
            if self.durable { "on" } else { "off" }
        );
        run(self
            .command("pg_ctl")
            .args(["start", "-w", "-s", "-D"])
            .arg(self.data())
            .arg("-l")
            .arg(self.folder.join("log"))
            .args(["-o", &settings]));
    }

    /// Ends every process of the server at once, as a power cut.
    pub fn kill(&self) {
        run(self
            .command("pg_ctl")
            .args(["stop", "-m", "immediate", "-s", "-D"])
            .arg(self.data()));
    }

    /// The URL of a database of this name.
    pub fn url(&self, database: &str) -> String {
        format!(
            "postgres://vialbell@localhost/{database}?host={}",
            self.folder.display()
        )
    }

    fn data(&self) -> PathBuf {
        self.folder.join("data")
    }

    fn command(&self, program: &str) -> Command {
        let program = self.binaries.join(program);
        let mut command = if is_root() {
            let mut command = Command::new("setpriv");
            command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]);
            command.arg(program);
            command
        } else {
            Command::new(program)
        };
        command.current_dir(&self.folder);
        command
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let mut stop = self.command("pg_ctl");
        stop.args(["stop", "-m", "immediate", "-s", "-D"])
            .arg(self.data());
        let _ = stop.output();
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// Where the server's programs are: on the path, or where Debian puts them.
fn binaries() -> Option<PathBuf> {
    let debian = std::fs::read_dir("/usr/lib/postgresql")
        .into_iter()
        .flatten()
        .filter_map(|version| Some(version.ok()?.path().join("bin")));
    let path = std::env::var_os("PATH").unwrap_or_default();
    std::env::split_paths(&path)
        .chain(debian)
        .find(|folder| is_there(folder, "initdb") && is_there(folder, "pg_ctl"))
}

fn is_there(folder: &Path, program: &str) -> bool {
    folder.join(program).is_file()
}

fn is_root() -> bool {
    use std::os::unix::fs::MetadataExt;
    std::fs::metadata("/proc/self").unwrap().uid() == 0
}

fn run(command: &mut Command) -> Output {
    let output = command.output().unwrap();
    assert!(output.status.success(), "{command:?}: {output:?}");
    output
}

/// Whether the suite was told of a server.
pub fn is_meant() -> bool {
    std::env::var_os(VARIABLE).is_some()
}

/// A fresh database on the server that the suite was told of; none: SQLite is meant.
pub async fn fresh() -> Option<String> {
    let server = std::env::var(VARIABLE).ok()?;
    Some(fresh_on(&server).await)
}

/// A fresh database on the server of a URL.
pub async fn fresh_on(url: &str) -> String {
    static COUNT: AtomicU32 = AtomicU32::new(0);
    let count = COUNT.fetch_add(1, Ordering::Relaxed);
    let name = format!("vialbell_{}_{count}", std::process::id());
    sqlx::any::install_default_drivers();
    let mut server = AnyConnection::connect(url).await.unwrap();
    let sql = format!("create database {name}");
    sqlx::query(AssertSqlSafe(sql))
        .execute(&mut server)
        .await
        .unwrap();
    server.close().await.unwrap();
    let (before, host) = url.split_once('?').unwrap();
    let (before, _) = before.rsplit_once('/').unwrap();
    format!("{before}/{name}?{host}")
}

/// Runs the tests of this very program again, on a server of their own.
pub fn run_this_suite_on_postgres() {
    let server = Server::start().expect(
        "PostgreSQL is not installed: `apt-get install postgresql`, or have initdb and pg_ctl on the path",
    );
    let again = Command::new(std::env::current_exe().unwrap())
        .env(VARIABLE, server.url("postgres"))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&again.stdout);
    assert!(
        again.status.success(),
        "{said}\n{}",
        String::from_utf8_lossy(&again.stderr)
    );
    let ran = said.contains("test result: ok.") && !said.contains("ok. 0 passed");
    assert!(ran, "{said}");
    println!("{}", said.lines().last().unwrap_or_default());
}
