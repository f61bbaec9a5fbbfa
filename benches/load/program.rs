//! The program in a process of its own, so that its memory, its processor time
//! and its start are its own and not the driver's: this very executable, called
//! with `program` before the rest.

use super::clinic::{Clinic, at};
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdout, Command, Stdio};
use tokio::sync::watch;

/// The word that makes this executable the program.
pub const ROLE: &str = "program";

/// A running program.
pub struct Program {
    child: Child,
    told: BufReader<ChildStdout>,
}

impl Program {
    /// Starts it on a database, with the clock at an instant, to send at most
    /// so many messages a second.
    pub fn start(url: &str, api: &str, now: &str, per_second: u32) -> Program {
        Program::one_of(1, url, api, now, per_second)
    }

    /// The same as one of so many workers on the database.
    pub fn one_of(workers: u32, url: &str, api: &str, now: &str, per_second: u32) -> Program {
        let (per_second, workers) = (per_second.to_string(), workers.to_string());
        Program::called(&[ROLE, url, api, now, &per_second, &workers])
    }

    /// Starts this executable with these words.
    pub fn called(words: &[&str]) -> Program {
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(words)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let told = BufReader::new(child.stdout.take().unwrap());
        Program { child, told }
    }

    /// Waits until it has opened its database.
    pub fn ready(&mut self) {
        assert_eq!(self.line(), "ready");
    }

    /// Waits until it has done what it does by itself.
    pub fn done(&mut self) {
        assert_eq!(self.line(), "done");
    }

    /// Processor time of all its threads so far, in microseconds.
    pub fn cpu_us(&self) -> u64 {
        let tasks = std::fs::read_dir(format!("/proc/{}/task", self.child.id())).unwrap();
        let nanoseconds: u64 = tasks
            .filter_map(|task| {
                let spent = std::fs::read_to_string(task.ok()?.path().join("schedstat")).ok()?;
                spent.split(' ').next()?.parse::<u64>().ok()
            })
            .sum();
        nanoseconds / 1_000
    }

    /// Ends it; gives the most memory that it held, in KiB.
    pub fn end(mut self) -> u64 {
        drop(self.child.stdin.take());
        let last = self.line();
        assert!(self.child.wait().unwrap().success());
        last.parse().unwrap()
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.told.read_line(&mut line).unwrap();
        line.trim_end().to_owned()
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// What the process does that was started as the program.
pub async fn run(arguments: &[String]) {
    let [url, api, now, per_second, workers] = arguments else {
        panic!("{ROLE} URL API NOW PER_SECOND WORKERS");
    };
    let clinic = Clinic::open(url, api).await;
    let per_second = per_second.parse().unwrap();
    clinic.engine.set_pace(per_second);
    // As workers do that have counted each other.
    let workers = workers.parse().unwrap();
    clinic.engine.share(Some(per_second), workers);
    clinic.clock.set(at(now));
    let (stop, stopped) = watch::channel(false);
    say("ready");
    let serving = tokio::spawn(vialbell::serve::work(
        clinic.engine.clone(),
        stopped.clone(),
    ));
    let (telegram, engine) = (clinic.telegram.clone(), clinic.engine.clone());
    let receiving = tokio::spawn(async move { telegram.receive(engine.as_ref(), stopped).await });
    driver_to_leave().await;
    stop.send(true).unwrap();
    serving.await.unwrap();
    receiving.await.unwrap();
    last_word();
}

/// Returns when the driver has seen enough, and has closed the line.
pub async fn driver_to_leave() {
    let (ended, end) = tokio::sync::oneshot::channel();
    std::thread::spawn(move || {
        let _ = std::io::stdin().read_to_end(&mut Vec::new());
        let _ = ended.send(());
    });
    end.await.unwrap();
}

pub fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{line}").unwrap();
    out.flush().unwrap();
}

/// Says what `Program::end` waits for.
pub fn last_word() {
    say(&peak_kib().to_string());
}

/// Resident memory of this process in KiB, as Linux tells it; the highest so far.
fn peak_kib() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let number = line.and_then(|line| line.trim().split(' ').next());
    number.and_then(|number| number.parse().ok()).unwrap_or(0)
}
