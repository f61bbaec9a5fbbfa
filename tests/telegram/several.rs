//! Several clinics with a bot each, and several programs on one database.

use crate::postgres::{Server, fresh_on};
use crate::program::{Folder, GROUP, Serving, answered, asks, due_soon, nothing_waits};
use crate::stub::{Stub, TOKEN};
use chrono::TimeDelta;
use vialbell::clock::{Clock, SystemClock};

/// One person who writes to both clinics' bots: the platform's number is the same.
const BOTH: i64 = 77;
const OTHER_TOKEN: &str = "123456780:AAanother-invented_token-0123456789abc";

/// A second clinic's files in the folder of the first.
fn second_clinic(folder: &Folder, stub: &Stub) {
    let first = std::fs::read_to_string(folder.path.join("clinic.toml")).unwrap();
    let url = first
        .lines()
        .find(|line| line.starts_with("url ="))
        .unwrap();
    let config = format!(
        "[clinic]\nkey = \"larch-hollow\"\nname = \"Larch Hollow Clinic\"\nphone = \"+1 555 0143\"\n\
         zone = \"America/Denver\"\n[store]\n{url}\n\
         [telegram]\napi_url = \"{}\"\nbot_name = \"invented_clinic_bot\"\nclinic_chat = {GROUP}\n",
        stub.url(),
    );
    std::fs::write(folder.path.join("larch.toml"), config).unwrap();
    let pebble = due_soon().replace("Juniper", "Pebble");
    std::fs::write(folder.path.join("pebble.toml"), pebble).unwrap();
}

/// The owner's invitation of an order that is enrolled and confirmed.
fn invited(folder: &Folder, config: &str, order: &str) -> String {
    let enrolled = folder.run(&["enrol", "--config", config, order]);
    let printed = String::from_utf8(enrolled.stdout).unwrap();
    let household = printed.split(['\u{20}', ',']).nth(1).unwrap().to_owned();
    let confirmed = folder.run(&[
        "confirm",
        "--config",
        config,
        "--by",
        "Dr. Idris Fennimore",
        &household,
        "1",
    ]);
    assert!(confirmed.status.success(), "{confirmed:?}");
    let (_, code) = printed.split_once("?start=").unwrap();
    code.lines().next().unwrap().to_owned()
}

fn serve_both(folder: &Folder, run: &str) -> Serving {
    let mut command =
        folder.command(&["serve", "--config", "clinic.toml", "--config", "larch.toml"]);
    command
        .env_remove("VIALBELL_TELEGRAM_TOKEN")
        .env("VIALBELL_TELEGRAM_TOKEN_CLINIC", TOKEN)
        .env("VIALBELL_TELEGRAM_TOKEN_LARCH_HOLLOW", OTHER_TOKEN);
    folder.spawn(command, run)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn one_person_is_an_owner_of_two_clinics_with_a_bot_each() {
    let (here, there) = (Stub::start().await, Stub::start_for(OTHER_TOKEN).await);
    let folder = Folder::new(&here);
    second_clinic(&folder, &there);
    let juniper = invited(&folder, "clinic.toml", "juniper.toml");
    let pebble = invited(&folder, "larch.toml", "pebble.toml");
    let serving = serve_both(&folder, "both");
    // An invitation of the one clinic is nothing to the other's bot.
    asks(&there, BOTH, &format!("/start {juniper}"), "+1 555 0143").await;
    asks(&here, BOTH, &format!("/start {juniper}"), "Juniper").await;
    asks(&there, BOTH, &format!("/start {pebble}"), "Pebble").await;
    asks(&here, BOTH, "mixed", "3.6 mL").await;
    asks(&there, BOTH, "how much is left?", "Pebble").await;
    for message in here.sent() {
        assert!(!message.text.contains("Pebble"), "{}", message.text);
    }
    for message in there.sent() {
        assert!(!message.text.contains("Juniper"), "{}", message.text);
    }
    assert!(serving.terminate().await.success());
    let logs = folder.logs();
    for token in [TOKEN, OTHER_TOKEN] {
        assert!(
            !logs.contains(token.split_once(':').unwrap().1),
            "the token shows"
        );
    }
}

#[tokio::test]
async fn clinics_that_do_not_go_together_are_refused_in_one_line() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    second_clinic(&folder, &stub);
    let other_store = std::fs::read_to_string(folder.path.join("larch.toml")).unwrap();
    let at = other_store.find("sqlite:").unwrap();
    let other_store = format!("{}sqlite:x{}", &other_store[..at], &other_store[at + 7..]);
    std::fs::write(folder.path.join("apart.toml"), other_store).unwrap();
    let cases = [
        (["clinic.toml", "apart.toml"], OTHER_TOKEN, "one database"),
        (
            ["clinic.toml", "clinic.toml"],
            OTHER_TOKEN,
            "the key clinic",
        ),
        (["clinic.toml", "larch.toml"], TOKEN, "same bot's token"),
        (
            ["clinic.toml", "larch.toml"],
            "",
            "VIALBELL_TELEGRAM_TOKEN_LARCH_HOLLOW",
        ),
    ];
    for ([one, other], token, words) in cases {
        let mut command = folder.command(&["serve", "--config", one, "--config", other]);
        command
            .env("VIALBELL_LOG", "warn")
            .env("VIALBELL_TELEGRAM_TOKEN_CLINIC", TOKEN)
            .env("VIALBELL_TELEGRAM_TOKEN_LARCH_HOLLOW", token);
        let output = tokio::task::spawn_blocking(move || command.output().unwrap());
        let output = output.await.unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(!output.status.success());
        assert_eq!(said.lines().count(), 1, "{said}");
        assert!(said.contains(words), "{words}: {said}");
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn a_second_program_on_the_same_file_is_refused_in_one_line() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let first = folder.spawn(folder.command(&["serve"]), "first");
    asks(&stub, 5, "hello", "+1 555 0142").await;
    let mut second = folder.command(&["serve"]);
    second.env("VIALBELL_LOG", "warn");
    let output = tokio::task::spawn_blocking(move || second.output().unwrap());
    let output = output.await.unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(!output.status.success());
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("another `vialbell serve`"), "{said}");
    first.kill();
    // A lock that outlived a power cut would keep the clinic silent.
    let third = folder.spawn(folder.command(&["serve"]), "third");
    asks(&stub, 6, "hello", "+1 555 0142").await;
    assert!(third.terminate().await.success());
}

/// What a worker logs when it begins to ask for updates.
const ASKING: &str = "asking the platform for updates";

fn is_asking(folder: &Folder, run: &str) -> bool {
    let log = std::fs::read_to_string(folder.path.join(format!("{run}.err"))).unwrap();
    log.contains(ASKING)
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
#[ignore = "needs PostgreSQL"]
async fn of_three_workers_one_asks_and_another_takes_over_within_15_seconds_of_its_death() {
    let server = Server::start().expect("PostgreSQL is not installed");
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let url = fresh_on(&server.url("postgres")).await;
    folder.keep_records_at(&url);
    let code = invited(&folder, "clinic.toml", "juniper.toml");
    let serve = |run: &str| {
        let mut command = folder.command(&["serve"]);
        command.env("VIALBELL_LOG", "warn,vialbell=info");
        (run.to_owned(), folder.spawn(command, run))
    };
    let mut workers = vec![serve("one"), serve("two"), serve("three")];
    asks(&stub, BOTH, &format!("/start {code}"), "Juniper").await;
    asks(&stub, BOTH, "mixed", "3.6 mL").await;
    let told = asks(&stub, BOTH, "given", "2.1 mL").await;
    for _ in 0..2 {
        let asking: Vec<usize> = (0..workers.len())
            .filter(|at| is_asking(&folder, &workers[*at].0))
            .collect();
        assert_eq!(asking.len(), 1, "one asks for the bot's updates");
        // A message in flight at the kill is in doubt, and held for a minute.
        nothing_waits(&url).await;
        let (_, dead) = workers.remove(asking[0]);
        dead.kill();
        let died = SystemClock.now();
        let before = stub.sent().len();
        stub.push_text(BOTH, "how much is left?");
        answered(&stub, BOTH, before, "2.1 mL").await;
        let took = SystemClock.now() - died;
        println!(
            "taken over and answered {} ms after the kill",
            took.num_milliseconds()
        );
        assert!(took < TimeDelta::seconds(15), "{took}");
    }
    let sent = stub.sent();
    let repeats = sent.iter().filter(|message| message.text == told.text);
    assert_eq!(repeats.count(), 1, "recorded once, told once");
    for (_, worker) in workers {
        assert!(worker.terminate().await.success());
    }
}
