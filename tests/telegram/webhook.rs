//! The bot is written to instead of asking: over HTTP, as the platform does it.

use crate::{
    channel,
    clinic::{Clinic, MAREN},
    inbox::{Kept, Receiver},
    postgres::{Server, fresh_on},
    program::{Folder, asks},
    stub::{Stub, until},
};
use serde_json::{Value, json};
use std::{net::SocketAddr, sync::Arc, time::Duration};
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::watch,
    task::JoinHandle,
};
use vialbell::channel::{
    Inbox,
    telegram::{
        Secret,
        webhook::{BODY_LIMIT, Called, Hook, serve},
    },
};
use vialbell::domain::arrival::Body;

const SECRET: &str = "an-invented_secret-of-more-than-32-letters";
const PATH: &str = "/in/fen";
const HEADER: &str = "X-Telegram-Bot-Api-Secret-Token";

/// Sends exactly this; gives the status of the answer.
async fn send(address: SocketAddr, head: &str, body: &[u8]) -> u16 {
    let mut stream = TcpStream::connect(address).await.unwrap();
    let length = body.len();
    let head = format!(
        "{head}Host: bots.example\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).await.unwrap();
    // Whoever refuses a body may hang up before it has all of it.
    let _ = stream.write_all(body).await;
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer).await;
    let answer = String::from_utf8_lossy(&answer);
    let status = answer.split(' ').nth(1).map(str::parse);
    status
        .unwrap_or_else(|| panic!("no answer to {head}"))
        .unwrap()
}

/// As the platform posts.
async fn post(address: SocketAddr, path: &str, secret: &str, update: &Value) -> u16 {
    let head =
        format!("POST {path} HTTP/1.1\r\n{HEADER}: {secret}\r\nContent-Type: application/json\r\n");
    send(address, &head, update.to_string().as_bytes()).await
}

/// The listener of one bot.
struct Door {
    address: SocketAddr,
    stop: watch::Sender<bool>,
    task: JoinHandle<anyhow::Result<()>>,
}

impl Door {
    async fn open(stub: &Stub, inbox: Arc<dyn Inbox>) -> Door {
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let hook = hook();
        let bot = Arc::new(channel(stub));
        let (stop, stopped) = watch::channel(false);
        let task = tokio::spawn(serve(listener, vec![Called { hook, bot, inbox }], stopped));
        Door {
            address,
            stop,
            task,
        }
    }

    async fn take(&self, update: &Value) -> u16 {
        post(self.address, PATH, SECRET, update).await
    }

    async fn close(self) {
        self.stop.send(true).unwrap();
        self.task.await.unwrap().unwrap();
    }
}

fn hook() -> Hook {
    let secret = Secret::parse(SECRET).unwrap();
    Hook::new("https://bots.example/in", "fen", secret).unwrap()
}

fn text(number: i64, words: &str) -> Value {
    json!({"update_id": number, "message": {
        "message_id": number, "date": 1_770_000_000, "text": words,
        "chat": {"id": MAREN, "type": "private"}, "from": {"id": MAREN, "is_bot": false, "first_name": "Maren"},
    }})
}

#[tokio::test]
async fn only_the_platform_with_its_secret_is_heard() {
    let (stub, kept) = (Stub::start().await, Arc::new(Kept::default()));
    let door = Door::open(&stub, kept.clone()).await;
    let body = text(1, "given").to_string();
    let head = |line: &str, headers: &str| format!("{line} HTTP/1.1\r\n{headers}");
    let right = format!("{HEADER}: {SECRET}\r\n");
    let post = format!("POST {PATH}");
    let near = format!("{HEADER}: {}\r\n", &SECRET[..SECRET.len() - 1]);
    for (status, line, headers) in [
        (401, post.as_str(), ""),
        (401, &post, &near),
        (401, &post, &format!("{HEADER}: {SECRET}x\r\n")),
        (401, &post, &format!("{HEADER}: \r\n")),
        (401, &post, &format!("{right}{right}")),
        (401, &post, &format!("Authorization: {SECRET}\r\n")),
        (404, "POST /", &right),
        (404, "POST /in/other", &right),
        (404, "POST /in/fen/", &right),
        (404, "POST /in//fen", &right),
        (404, &format!("POST {PATH}x"), &right),
        (405, &format!("GET {PATH}"), &right),
        (405, &format!("PUT {PATH}"), &right),
    ] {
        let answer = send(door.address, &head(line, headers), body.as_bytes()).await;
        assert_eq!(answer, status, "{line} {headers}");
    }
    assert!(kept.all().is_empty());
    assert_eq!(door.take(&text(1, "given")).await, 200);
    assert_eq!(kept.bodies(), [Body::Text("given".into())]);
    door.close().await;
}

#[tokio::test]
async fn a_huge_body_is_refused_and_the_longest_text_is_not() {
    let (stub, kept) = (Stub::start().await, Arc::new(Kept::default()));
    let door = Door::open(&stub, kept.clone()).await;
    let huge = text(1, &"x".repeat(BODY_LIMIT));
    assert_eq!(door.take(&huge).await, 413);
    // Announced only: nobody waits for what does not come.
    let mut stream = TcpStream::connect(door.address).await.unwrap();
    let head = format!(
        "POST {PATH} HTTP/1.1\r\nHost: bots.example\r\nContent-Length: 99999999999\r\n\r\n"
    );
    stream.write_all(head.as_bytes()).await.unwrap();
    let mut answer = vec![0; 12];
    stream.read_exact(&mut answer).await.unwrap();
    assert_eq!(answer, b"HTTP/1.1 401");
    assert!(kept.all().is_empty());

    // As long as a text can be, and answering one that is as long; in JSON's longest spelling.
    let longest = "\u{1F408}".repeat(2048);
    let mut update = text(2, &longest);
    update["message"]["reply_to_message"] = update["message"].clone();
    let escaped: String = update
        .to_string()
        .encode_utf16()
        .map(|unit| match unit {
            0x20..0x7F => char::from_u32(unit.into()).unwrap().to_string(),
            _ => format!("\\u{unit:04x}"),
        })
        .collect();
    let head = format!("POST {PATH} HTTP/1.1\r\n{HEADER}: {SECRET}\r\n");
    assert_eq!(send(door.address, &head, escaped.as_bytes()).await, 200);
    assert_eq!(kept.bodies(), [Body::Text(longest)]);
    door.close().await;
}

/// Sent again it would be as unreadable, and hold up what comes after it.
#[tokio::test]
async fn what_cannot_be_read_is_passed_over_and_not_asked_for_again() {
    let (stub, kept) = (Stub::start().await, Arc::new(Kept::default()));
    let door = Door::open(&stub, kept.clone()).await;
    let head = format!("POST {PATH} HTTP/1.1\r\n{HEADER}: {SECRET}\r\n");
    let deep = "[".repeat(100_000);
    for body in ["", "{", "no JSON", "null", "[]", "{}", "\u{FEFF}{}", &deep] {
        assert_eq!(
            send(door.address, &head, body.as_bytes()).await,
            200,
            "{body:.20}"
        );
    }
    assert_eq!(
        send(door.address, &head, b"{\"update_id\": 1\xFF}").await,
        200
    );
    assert!(kept.all().is_empty());
    assert_eq!(door.take(&text(1, "given")).await, 200);
    assert_eq!(kept.all().len(), 1);
    door.close().await;
}

#[tokio::test]
async fn an_update_that_could_not_be_stored_is_sent_again_and_not_lost() {
    let (stub, kept) = (Stub::start().await, Arc::new(Kept::default()));
    let door = Door::open(&stub, kept.clone()).await;
    kept.fail(2);
    assert_eq!(door.take(&text(1, "given")).await, 500);
    assert_eq!(door.take(&text(1, "given")).await, 500);
    assert!(kept.all().is_empty());
    assert_eq!(door.take(&text(1, "given")).await, 200);
    assert_eq!(kept.bodies(), [Body::Text("given".into())]);
    door.close().await;
}

/// The platform repeats what it did not hear our answer to.
#[tokio::test]
async fn an_update_that_comes_twice_is_decided_on_once() {
    let (clinic, run) = Clinic::open().await;
    let door = Door::open(&clinic.stub, run.engine.clone()).await;
    for _ in 0..3 {
        assert_eq!(door.take(&text(7, "hello")).await, 200);
    }
    let update = text(8, "hello");
    let again = tokio::join!(door.take(&update), door.take(&update));
    assert_eq!(again, (200, 200));
    assert_eq!(run.engine.think(run.engine.now()).await.unwrap(), 2);
    door.close().await;
    run.crash().await;
}

/// Whoever hung up while it was stored is sent the same again; it is there once.
#[tokio::test]
async fn hanging_up_does_not_cut_the_storing_short() {
    let (clinic, run) = Clinic::open().await;
    let door = Door::open(&clinic.stub, run.engine.clone()).await;
    let held = run.engine.store().begin().await.unwrap();
    let body = text(7, "hello").to_string();
    let length = body.len();
    let mut stream = TcpStream::connect(door.address).await.unwrap();
    let request = format!(
        "POST {PATH} HTTP/1.1\r\nHost: bots.example\r\n{HEADER}: {SECRET}\r\nContent-Length: {length}\r\n\r\n{body}"
    );
    stream.write_all(request.as_bytes()).await.unwrap();
    tokio::time::sleep(Duration::from_millis(100)).await;
    drop(stream);
    tokio::time::sleep(Duration::from_millis(100)).await;
    held.commit().await.unwrap();
    assert_eq!(door.take(&text(8, "hello")).await, 200);
    assert_eq!(run.engine.think(run.engine.now()).await.unwrap(), 2);
    door.close().await;
    run.crash().await;
}

#[tokio::test]
async fn a_tap_is_confirmed_to_the_phone() {
    let (stub, kept) = (Stub::start().await, Arc::new(Kept::default()));
    let door = Door::open(&stub, kept.clone()).await;
    let tap = json!({"update_id": 3, "callback_query": {
        "id": "q3", "from": {"id": MAREN, "is_bot": false, "first_name": "Maren"}, "data": "g:1",
        "message": {"message_id": 5, "date": 0, "chat": {"id": MAREN, "type": "private"}},
    }});
    assert_eq!(door.take(&tap).await, 200);
    until("the tap confirmed", || {
        stub.calls("answerCallbackQuery").len() == 1
    })
    .await;
    assert_eq!(kept.bodies(), [Body::Tap("g:1".into())]);
    door.close().await;
}

#[tokio::test]
async fn somebody_who_says_nothing_does_not_keep_it_from_ending() {
    let (stub, kept) = (Stub::start().await, Arc::new(Kept::default()));
    let door = Door::open(&stub, kept.clone()).await;
    let mut silent = Vec::new();
    for head in [
        "",
        "POST /in",
        &format!(
            "POST {PATH} HTTP/1.1\r\nHost: a\r\n{HEADER}: {SECRET}\r\nContent-Length: 9\r\n\r\n{{"
        ),
    ] {
        let mut stream = TcpStream::connect(door.address).await.unwrap();
        stream.write_all(head.as_bytes()).await.unwrap();
        silent.push(stream);
    }
    assert_eq!(door.take(&text(1, "given")).await, 200);
    tokio::time::timeout(Duration::from_secs(5), door.close())
        .await
        .expect("it ends");
}

#[tokio::test]
async fn the_hook_is_set_with_its_secret_and_set_again_when_somebody_takes_it_away() {
    let (stub, kept) = (Stub::start().await, Kept::default());
    stub.push_text(MAREN, "given");
    let (bot, hook) = (channel(&stub), hook());
    for taken in [None, Some(json!({"url": "https://elsewhere.example"}))] {
        stub.change_webhook(taken);
        let (stop, stopped) = watch::channel(false);
        tokio::join!(bot.keep_webhook(&hook, &kept, stopped), async {
            until("the hook is set", || {
                stub.webhook()
                    .is_some_and(|hook| hook["url"] == "https://bots.example/in/fen")
            })
            .await;
            stop.send(true).unwrap();
        });
    }
    let set = stub.calls("setWebhook");
    assert_eq!(set.len(), 2);
    assert_eq!(set[0]["secret_token"], SECRET);
    assert_eq!(
        set[0]["allowed_updates"],
        json!([
            "message",
            "edited_message",
            "callback_query",
            "my_chat_member"
        ])
    );
    assert_eq!(set[0]["max_connections"], 10);
    assert_eq!(set[0]["drop_pending_updates"], Value::Null);
    assert_eq!(stub.unconfirmed(), 1);
}

#[tokio::test]
async fn whoever_asks_removes_the_hook_and_loses_nothing() {
    let stub = Stub::start().await;
    stub.change_webhook(Some(json!({"url": "https://bots.example/in/fen"})));
    stub.push_text(MAREN, "given");
    let kept = Arc::new(Kept::default());
    let receiver = Receiver::start(&stub, &kept);
    stub.wait_until_confirmed().await;
    receiver.stop().await;
    assert_eq!(kept.bodies(), [Body::Text("given".into())]);
    assert_eq!(stub.webhook(), None);
    assert_eq!(stub.calls("deleteWebhook").len(), 1);
}

/// Hands the stub's updates over to whoever listens, as the platform does:
/// one after another, each until it is answered with 200.
fn hand_over(stub: &Arc<Stub>, doors: Vec<SocketAddr>) -> JoinHandle<()> {
    let stub = stub.clone();
    tokio::spawn(async move {
        for turn in 0.. {
            tokio::time::sleep(Duration::from_millis(20)).await;
            let (Some(hook), Some(update)) = (stub.webhook(), stub.oldest()) else {
                continue;
            };
            let url = hook["url"].as_str().unwrap();
            let path = url.strip_prefix("https://bots.example").unwrap();
            let secret = hook["secret_token"].as_str().unwrap();
            let door = doors[turn % doors.len()];
            if TcpStream::connect(door).await.is_ok()
                && post(door, path, secret, &update).await == 200
            {
                stub.confirm_oldest();
            }
        }
    })
}

/// An address that was free a moment ago.
fn free_address() -> SocketAddr {
    let listener = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap()
}

fn invitation(folder: &Folder) -> String {
    let enrolled = folder.run(&["enrol", "juniper.toml"]);
    let printed = String::from_utf8(enrolled.stdout).unwrap();
    let confirmed = folder.run(&["confirm", "--by", "Dr. Idris Fennimore", "1", "1"]);
    assert!(confirmed.status.success(), "{confirmed:?}");
    let (_, code) = printed.split_once("?start=").unwrap();
    code.lines().next().unwrap().to_owned()
}

fn with_hook(address: SocketAddr) -> String {
    format!("webhook = {{ listen = \"{address}\", url = \"https://bots.example\" }}\n")
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn the_program_serves_behind_a_webhook_and_loses_nothing_while_it_is_down() {
    let stub = Arc::new(Stub::start().await);
    let folder = Folder::new(&stub);
    let address = free_address();
    let code = invitation(&folder);
    folder.append(&with_hook(address));
    let serve = |run: &str| {
        let mut command = folder.command(&["serve"]);
        command.env("VIALBELL_WEBHOOK_SECRET", SECRET);
        folder.spawn(command, run)
    };
    let handing = hand_over(&stub, vec![address]);
    let first = serve("first");
    asks(&stub, MAREN, &format!("/start {code}"), "Juniper").await;
    asks(&stub, MAREN, "mixed", "3.6 mL").await;
    assert!(first.terminate().await.success());
    let asked = tokio::spawn({
        let stub = stub.clone();
        async move { asks(&stub, MAREN, "given", "2.1 mL").await }
    });
    tokio::time::sleep(Duration::from_millis(200)).await;
    let second = serve("second");
    asked.await.unwrap();
    assert!(second.terminate().await.success());
    let third = serve("third");
    asks(&stub, MAREN, "how much is left?", "2.1 mL").await;
    assert!(third.terminate().await.success());
    assert!(stub.calls("getUpdates").is_empty(), "it never asks");
    handing.abort();
    let logs = folder.logs();
    assert!(logs.contains("looking after the webhook"));
    for secret in [SECRET, crate::stub::TOKEN.split_once(':').unwrap().1] {
        assert!(!logs.contains(secret), "a secret shows");
    }
}

#[tokio::test]
async fn a_missing_or_weak_secret_is_refused_in_one_line() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    folder.append(&with_hook(free_address()));
    for secret in [
        None,
        Some("short"),
        Some("an invented secret of more than 32 letters"),
    ] {
        let mut command = folder.command(&["serve"]);
        command.env("VIALBELL_LOG", "warn");
        match secret {
            Some(secret) => command.env("VIALBELL_WEBHOOK_SECRET", secret),
            None => command.env_remove("VIALBELL_WEBHOOK_SECRET"),
        };
        let output = tokio::task::spawn_blocking(move || command.output().unwrap());
        let output = output.await.unwrap();
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(!output.status.success(), "{secret:?}");
        assert_eq!(said.lines().count(), 1, "{said}");
        assert!(said.contains("VIALBELL_WEBHOOK_SECRET"), "{said}");
        assert!(secret.is_none_or(|secret| !said.contains(secret)), "{said}");
    }
    assert!(stub.calls("setWebhook").is_empty());
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
#[ignore = "needs PostgreSQL"]
async fn three_workers_behind_one_proxy_all_take_updates() {
    let server = Server::start().expect("PostgreSQL is not installed");
    let stub = Arc::new(Stub::start().await);
    let folder = Folder::new(&stub);
    let url = fresh_on(&server.url("postgres")).await;
    let config = std::fs::read_to_string(folder.path.join("clinic.toml")).unwrap();
    let (before, rest) = config.split_once("url = \"").unwrap();
    let (_, after) = rest.split_once('"').unwrap();
    let addresses = [free_address(), free_address(), free_address()];
    for (number, address) in addresses.iter().enumerate() {
        let config = format!("{before}url = \"{url}\"{after}{}", with_hook(*address));
        std::fs::write(
            folder.path.join(format!("worker{number}.toml")),
            config.replace("[clinic]", "[clinic]\nkey = \"clinic\""),
        )
        .unwrap();
    }
    std::fs::copy(
        folder.path.join("worker0.toml"),
        folder.path.join("clinic.toml"),
    )
    .unwrap();
    let code = invitation(&folder);
    let mut workers = Vec::new();
    for number in 0..3 {
        let config = format!("worker{number}.toml");
        let mut command = folder.command(&["serve", "--config", &config]);
        command
            .env("VIALBELL_LOG", "warn,vialbell=info")
            .env("VIALBELL_WEBHOOK_SECRET", SECRET);
        workers.push(folder.spawn(command, &format!("worker{number}")));
    }
    let handing = hand_over(&stub, addresses.to_vec());
    asks(&stub, MAREN, &format!("/start {code}"), "Juniper").await;
    asks(&stub, MAREN, "mixed", "3.6 mL").await;
    asks(&stub, MAREN, "given", "2.1 mL").await;
    for _ in 0..3 {
        asks(&stub, MAREN, "how much is left?", "2.1 mL").await;
    }
    let set = stub.calls("setWebhook").len();
    assert_eq!(set, 1, "one of them looks after it");
    workers.pop().unwrap().kill();
    asks(&stub, MAREN, "when is the next dose?", "Juniper").await;
    // Where it was the one that is gone, another looks after it from now on.
    assert!(stub.calls("setWebhook").len() <= set + 1);
    handing.abort();
    for worker in workers {
        assert!(worker.terminate().await.success());
    }
}
