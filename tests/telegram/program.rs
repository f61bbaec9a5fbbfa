//! The program itself, as a clinic runs it: `vialbell enrol` and `vialbell
//! serve` with a file of their own, told to end, killed, started again.

use crate::{
    clinic::JUNIPER,
    file::File,
    postgres::watchdog::Watchdog,
    stub::{SentMessage, Stub, TOKEN, until, within},
};
use std::{
    path::PathBuf,
    process::{Child, Command, ExitStatus, Output, Stdio},
    time::Duration,
};
use vialbell::{
    clock::{Clock, SystemClock},
    domain::zone::Zone,
    store::Store,
};

const MAREN: i64 = 77;
pub const GROUP: i64 = -5;

/// A message that was under way in a kill is held for a minute, and those
/// behind it in its chat with it.
const PATIENCE: Duration = Duration::from_secs(75);

/// A clinic's folder: its configuration, its order, its database, its logs.
pub struct Folder {
    pub path: PathBuf,
    database: File,
}

impl Folder {
    pub fn new(stub: &Stub) -> Self {
        let database = File::new();
        let path = database.path().with_extension("clinic");
        std::fs::create_dir(&path).unwrap();
        let config = format!(
            "[clinic]\nname = \"Brindlewick Animal Clinic\"\nphone = \"+1 555 0142\"\n\
             zone = \"America/Denver\"\n[store]\nurl = \"{}\"\n\
             [telegram]\napi_url = \"{}\"\nbot_name = \"invented_clinic_bot\"\nclinic_chat = {GROUP}\n",
            database.url(),
            stub.url(),
        );
        std::fs::write(path.join("clinic.toml"), config).unwrap();
        std::fs::write(path.join("juniper.toml"), due_soon()).unwrap();
        Self { path, database }
    }

    /// Where the records are.
    pub fn url(&self) -> String {
        let config = std::fs::read_to_string(self.path.join("clinic.toml")).unwrap();
        let (_, rest) = config.split_once("url = \"").unwrap();
        rest.split_once('"').unwrap().0.to_owned()
    }

    /// Has the records somewhere else.
    pub fn keep_records_at(&self, url: &str) {
        let path = self.path.join("clinic.toml");
        let config = std::fs::read_to_string(&path).unwrap();
        std::fs::write(path, config.replacen(&self.url(), url, 1)).unwrap();
    }

    /// More of the configuration.
    pub fn append(&self, toml: &str) {
        let path = self.path.join("clinic.toml");
        let config = std::fs::read_to_string(&path).unwrap();
        std::fs::write(path, config + toml).unwrap();
    }

    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_vialbell"));
        command
            .args(arguments)
            .current_dir(&self.path)
            .env("VIALBELL_TELEGRAM_TOKEN", TOKEN)
            // All that the program and its libraries can be made to say.
            .env("VIALBELL_LOG", "trace");
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Output {
        self.command(arguments).output().unwrap()
    }

    fn serve(&self, run: &str) -> Serving {
        self.spawn(self.command(&["serve"]), run)
    }

    pub fn spawn(&self, mut command: Command, run: &str) -> Serving {
        let log =
            |end: &str| std::fs::File::create(self.path.join(format!("{run}.{end}"))).unwrap();
        let child = command
            .stdin(Stdio::null())
            .stdout(log("out"))
            .stderr(log("err"))
            .spawn()
            .unwrap();
        let watchdog = Watchdog::of(child.id());
        Serving {
            child,
            _watchdog: watchdog,
        }
    }

    pub fn logs(&self) -> String {
        let logs = self.log_files().into_iter();
        logs.map(|path| std::fs::read_to_string(path).unwrap())
            .collect()
    }

    fn log_files(&self) -> Vec<PathBuf> {
        let files = std::fs::read_dir(&self.path).unwrap();
        let files = files.map(|file| file.unwrap().path());
        files
            .filter(|path| {
                let end = path.extension();
                end.is_some_and(|end| end == "out" || end == "err")
            })
            .collect()
    }

    /// What a program said last whom a test waited for in vain.
    fn print_ends_of_logs(&self) {
        for path in self.log_files() {
            let log = std::fs::read_to_string(&path).unwrap_or_default();
            let lines: Vec<&str> = log.lines().collect();
            let last = &lines[lines.len().saturating_sub(LAST_LINES)..];
            println!("{} ends with:\n{}", path.display(), last.join("\n"));
        }
    }
}

/// So much of each log of a test that failed.
const LAST_LINES: usize = 60;

impl Drop for Folder {
    fn drop(&mut self) {
        if std::thread::panicking() {
            self.print_ends_of_logs();
        }
        let _ = std::fs::remove_dir_all(&self.path);
    }
}

/// Juniper's order with a first dose in half an hour, so that it may be
/// recorded already (the example rules let it be an hour early).
pub fn due_soon() -> String {
    let zone = Zone::named("Etc/UTC").unwrap();
    let first = zone.local(SystemClock.now() + chrono::TimeDelta::minutes(30));
    let second = first + chrono::TimeDelta::hours(12);
    JUNIPER
        .replace("America/Denver", zone.name())
        .replace(
            "07:30\", \"19:30",
            &format!("{}\", \"{}", first.format("%H:%M"), second.format("%H:%M")),
        )
        .replace(
            "2026-03-05T19:30",
            &first.format("%Y-%m-%dT%H:%M").to_string(),
        )
}

/// `vialbell serve` at work; killed when this is dropped.
pub struct Serving {
    child: Child,
    _watchdog: Watchdog,
}

impl Serving {
    /// Asks it to end, as a service manager does.
    pub async fn terminate(mut self) -> ExitStatus {
        let asked = Command::new("kill")
            .arg(self.child.id().to_string())
            .status();
        assert!(asked.unwrap().success());
        for _ in 0..200 {
            if let Some(status) = self.child.try_wait().unwrap() {
                return status;
            }
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        panic!("two seconds after it was asked to, the program has not ended");
    }

    /// Whether it has not ended.
    pub fn is_at_work(&mut self) -> bool {
        self.child.try_wait().unwrap().is_none()
    }

    /// As `kill -9`, and as a power cut.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Serving {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Writes, and waits for an answer that holds these words.
pub async fn asks(stub: &Stub, chat: i64, words: &str, answer: &str) -> SentMessage {
    let before = stub.sent().len();
    stub.push_text(chat, words);
    answered(stub, chat, before, answer).await
}

pub async fn answered(stub: &Stub, chat: i64, before: usize, answer: &str) -> SentMessage {
    let found = || {
        let sent = stub.sent().into_iter().skip(before);
        sent.filter(|message| message.chat == chat)
            .find(|message| message.text.contains(answer))
    };
    within(PATIENCE, &format!("“{answer}”"), || found().is_some()).await;
    found().unwrap()
}

/// Waits until it is noted that all that was sent was sent.
pub async fn nothing_waits(url: &str) {
    let store = Store::open(url).await.unwrap();
    for _ in 0..500 {
        let mut work = store.begin().await.unwrap();
        let counts = work.outbox_counts().await.unwrap();
        work.commit().await.unwrap();
        if !counts.iter().any(|(state, _)| state == "waiting") {
            return;
        }
        tokio::time::sleep(Duration::from_millis(10)).await;
    }
    panic!("something still waits to be sent");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn the_program_serves_ends_when_asked_and_goes_on_after_a_kill() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let enrolled = folder.run(&["enrol", "juniper.toml"]);
    let printed = String::from_utf8(enrolled.stdout).unwrap();
    assert!(
        enrolled.status.success(),
        "{}",
        String::from_utf8_lossy(&enrolled.stderr)
    );
    let codes: Vec<&str> = printed
        .lines()
        .filter_map(|line| line.split_once("https://t.me/invented_clinic_bot?start="))
        .map(|(_, code)| code)
        .collect();
    assert_eq!(codes.len(), 2, "{printed}");

    let confirmed = folder.run(&["confirm", "--by", "Dr. Idris Fennimore", "1", "1"]);
    assert!(confirmed.status.success(), "{confirmed:?}");
    let first = folder.serve("first");
    answered(&stub, GROUP, 0, "Juniper").await;
    asks(&stub, MAREN, &format!("/start {}", codes[0]), "Juniper").await;
    asks(&stub, MAREN, "mixed", "3.6 mL").await;
    let ended = first.terminate().await;
    assert!(ended.success(), "{ended}");

    // What arrives while it is down is not lost.
    stub.push_text(MAREN, "given");
    let before = stub.sent().len();
    let second = folder.serve("second");
    answered(&stub, MAREN, before, "2.1 mL").await;
    nothing_waits(&folder.database.url()).await;
    second.kill();

    let third = folder.serve("third");
    asks(&stub, MAREN, "how much is left?", "2.1 mL").await;
    // Killed with an answer due: it is given by whoever comes next, once.
    let before = stub.sent().len();
    stub.push_text(MAREN, "when is the next dose?");
    until("it is under way", || stub.unconfirmed() == 0).await;
    third.kill();
    let fourth = folder.serve("fourth");
    asks(&stub, MAREN, "how much is left?", "2.1 mL").await;
    let texts: Vec<_> = stub.sent().into_iter().skip(before).collect();
    assert!(texts.len() >= 2, "both questions are answered: {texts:?}");
    assert!(fourth.terminate().await.success());
    // All of it is in the one file, whose copy is a backup now.
    let log = PathBuf::from(format!("{}-wal", folder.database.path().display()));
    assert!(!log.exists(), "{}", log.display());

    let logs = folder.logs();
    assert!(logs.contains("serving"), "{logs}");
    assert!(
        !logs.contains(TOKEN.split_once(':').unwrap().1),
        "the token shows"
    );
    assert!(folder.database.path().exists());
}

#[tokio::test]
async fn without_a_token_or_with_a_wrong_one_it_says_so_in_one_line() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    for token in [
        None,
        Some("nonsense"),
        Some("123456789:AAinvented-token_nobody-knows-0123456789"),
    ] {
        let mut command = folder.command(&["serve"]);
        command.env("VIALBELL_LOG", "warn");
        match token {
            Some(token) => command.env("VIALBELL_TELEGRAM_TOKEN", token),
            None => command.env_remove("VIALBELL_TELEGRAM_TOKEN"),
        };
        let output = tokio::task::spawn_blocking(move || command.output().unwrap())
            .await
            .unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(!output.status.success(), "{token:?}");
        assert_eq!(said.lines().count(), 1, "{said}");
        assert!(said.contains("VIALBELL_TELEGRAM_TOKEN"), "{said}");
        assert!(token.is_none_or(|token| !said.contains(token)), "{said}");
        assert!(output.stdout.is_empty());
    }
}

#[tokio::test]
async fn check_tries_the_token_and_says_whose_it_is() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let check = async |token: Option<&str>, api: Option<&str>| {
        if let Some(api) = api {
            let path = folder.path.join("clinic.toml");
            let config = std::fs::read_to_string(&path).unwrap();
            std::fs::write(path, config.replace(stub.url(), api)).unwrap();
        }
        let mut command = folder.command(&["check", "--config", "clinic.toml"]);
        command.env("VIALBELL_LOG", "off");
        match token {
            Some(token) => command.env("VIALBELL_TELEGRAM_TOKEN", token),
            None => command.env_remove("VIALBELL_TELEGRAM_TOKEN"),
        };
        let output = tokio::task::spawn_blocking(move || command.output().unwrap());
        let output = output.await.unwrap();
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (
            output.status.success(),
            text(output.stdout),
            text(output.stderr),
        )
    };
    let (well, said, _) = check(Some(TOKEN), None).await;
    assert!(well && said.contains("\nbot: @"), "{said}");
    let (well, said, _) = check(None, None).await;
    let note = "note: the bot was not tried: VIALBELL_TELEGRAM_TOKEN is not set";
    assert!(well && said.contains(note), "{said}");
    let unknown = "123456789:AAinvented-token_nobody-knows-0123456789";
    for wrong in ["nonsense", unknown] {
        let (well, _, said) = check(Some(wrong), None).await;
        assert!(!well && said.contains("VIALBELL_TELEGRAM_TOKEN"), "{said}");
        assert!(!said.contains(wrong), "{said}");
    }
    let nobody = "http://127.0.0.1:9";
    let (well, _, said) = check(Some(TOKEN), Some(nobody)).await;
    assert!(
        !well && said.contains("bot: Telegram could not be reached"),
        "{said}"
    );
    assert!(!said.contains(TOKEN), "{said}");
}
