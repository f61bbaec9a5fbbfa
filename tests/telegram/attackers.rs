//! What somebody finds who reads the log, asks for the figures, chooses a
//! strange name, or sits where the Bot API server should be.

use crate::{
    program::{Folder, GROUP, answered, asks},
    stub::{Answer, Stub, TOKEN},
};
use serde_json::json;
use std::{
    io::{Read, Write},
    net::{SocketAddr, TcpListener, TcpStream},
};

const MAREN: i64 = 77;
const OWNERS_PHONE: &str = "+1 555 0164";

/// An address that was free a moment ago.
fn free_address() -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap()
}

async fn get(address: SocketAddr, path: &'static str) -> String {
    let asked = tokio::task::spawn_blocking(move || {
        let mut stream = TcpStream::connect(address).unwrap();
        let request = format!("GET {path} HTTP/1.1\r\nHost: here\r\nConnection: close\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    });
    asked.await.unwrap()
}

/// Juniper's order with these names and the owner's phone; gives the owner's invitation.
fn enrolled(folder: &Folder, patient: &str, owner: &str) -> String {
    let path = folder.path.join("juniper.toml");
    let order = std::fs::read_to_string(&path).unwrap();
    let order = order
        .replace("\"Juniper\"", &format!("'{patient}'"))
        .replace(
            "\"Maren Oakhollow\"",
            &format!("'{owner}'\nphone = \"{OWNERS_PHONE}\""),
        );
    std::fs::write(&path, order).unwrap();
    let enrolled = folder.run(&["enrol", "juniper.toml"]);
    let printed = String::from_utf8(enrolled.stdout).unwrap();
    assert!(
        enrolled.status.success(),
        "{}",
        String::from_utf8_lossy(&enrolled.stderr)
    );
    let confirmed = folder.run(&["confirm", "--by", "Dr. Idris Fennimore", "1", "1"]);
    assert!(confirmed.status.success(), "{confirmed:?}");
    let (_, code) = printed.split_once("?start=").unwrap();
    code.lines().next().unwrap().to_owned()
}

/// A life with all that may be logged: joining, doses, danger, photos, words
/// that nobody understands, guesses, refusals.
#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn log_and_figures_name_nobody_and_repeat_no_word() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let address = free_address();
    folder.append(&format!("[watch]\nlisten = \"{address}\"\n"));
    let code = enrolled(&folder, "Juniper", "Maren Oakhollow");
    let mut command = folder.command(&["serve"]);
    command.env("VIALBELL_LOG", "warn,vialbell=trace");
    let serving = folder.spawn(command, "spoken");
    asks(&stub, MAREN, &format!("/start {code}"), "Juniper").await;
    asks(&stub, MAREN, "mixed", "3.6 mL").await;
    asks(&stub, MAREN, "given", "2.1 mL").await;
    asks(
        &stub,
        MAREN,
        "my phone is +1 555 0199, is foxglove bad?",
        "passed on",
    )
    .await;
    answered(&stub, GROUP, 0, "foxglove").await;
    asks(
        &stub,
        MAREN,
        "she had a seizure under the walnut tree",
        "+1 555 0142",
    )
    .await;
    answered(&stub, GROUP, 0, "walnut").await;
    stub.push_message(
        MAREN,
        json!({"photo": [{"file_id": "f"}], "caption": "see the bulrush"}),
    );
    answered(&stub, GROUP, 0, "bulrush").await;
    stub.push_tap(MAREN, "zz:hollyhock");
    for _ in 0..6 {
        stub.push_text(99, "/start nightshade-guess");
    }
    stub.script_for(
        MAREN,
        Answer::Refusal(400, "Bad Request: message is too long"),
    );
    stub.push_text(MAREN, "how much is left?");
    stub.script("getUpdates", Answer::Html(502));
    asks(&stub, MAREN, "help", "Write").await;
    stub.wait_until_confirmed().await;
    stub.push_membership(MAREN, "member", "kicked");
    asks(&stub, GROUP, "board", "Juniper").await;
    let figures = get(address, "/metrics").await + &get(address, "/healthz").await;
    assert!(
        figures.contains("200 OK") && figures.contains("vialbell_"),
        "{figures}"
    );
    assert!(serving.terminate().await.success());

    let log = std::fs::read_to_string(folder.path.join("spoken.err")).unwrap()
        + &std::fs::read_to_string(folder.path.join("spoken.out")).unwrap();
    assert!(
        log.contains("an arrival is settled") && log.contains("wrong invitation"),
        "{log}"
    );
    let secret = TOKEN.split_once(':').unwrap().1;
    for (what, text) in [("the log", &log), ("the figures", &figures)] {
        for hidden in [
            secret,
            "Maren",
            "Oakhollow",
            "Quist",
            "Teo",
            "Juniper",
            "Fennimore",
            "555 01",
            "foxglove",
            "walnut",
            "bulrush",
            "hollyhock",
            "nightshade",
            &code,
        ] {
            let line = text.lines().find(|line| line.contains(hidden));
            assert_eq!(line, None, "{what} has {hidden}");
        }
    }
}

/// Whatever a name looks like, it is sent as text and stays on its line.
#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn names_with_markup_are_sent_as_plain_text() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let code = enrolled(&folder, "<b>Pip</b> *x*", "_Ma_[r](tg://user?id=1)`n`");
    let serving = folder.spawn(folder.command(&["serve"]), "marked");
    asks(&stub, MAREN, &format!("/start {code}"), "<b>Pip</b> *x*").await;
    asks(&stub, MAREN, "is it normal?", "passed on").await;
    let alert = answered(&stub, GROUP, 0, "_Ma_[r](tg://user?id=1)`n`").await;
    assert!(alert.text.contains("<b>Pip</b> *x*"), "{}", alert.text);
    assert!(serving.terminate().await.success());
    let mut calls = 0;
    for method in ["sendMessage", "sendDocument", "sendPhoto"] {
        for call in stub.calls(method) {
            for marked in ["parse_mode", "entities", "caption_entities"] {
                assert!(call[marked].is_null(), "{method}: {marked}");
            }
            calls += 1;
        }
    }
    assert!(calls >= 3);
}

#[tokio::test]
async fn names_of_more_than_one_line_are_refused() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let path = folder.path.join("juniper.toml");
    let order = std::fs::read_to_string(&path).unwrap();
    for name in [
        r"Maren\nDose given",
        r"Maren\u2028Dose given",
        r"Maren\u2029Dose given",
        r"\u202ENeram",
    ] {
        std::fs::write(&path, order.replace("Maren Oakhollow", name)).unwrap();
        let enrolled = folder.run(&["enrol", "juniper.toml"]);
        assert!(!enrolled.status.success(), "{name}");
        let said = String::from_utf8(enrolled.stderr).unwrap();
        assert!(said.contains("owner.name"), "{said}");
    }
}
