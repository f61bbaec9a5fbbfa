//! The program as it is watched: its log in one line a thing, with one id from
//! what came in to what went out.

use crate::program::{Folder, GROUP, answered};
use crate::stub::Stub;
use serde_json::Value;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpListener, TcpStream};

/// An address that was free a moment ago.
fn free_address() -> SocketAddr {
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    listener.local_addr().unwrap()
}

fn get(address: SocketAddr, path: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: here\r\nConnection: close\r\n\r\n"
    )
    .unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).unwrap();
    answer
}

#[tokio::test(flavor = "multi_thread", worker_threads = 1)]
async fn one_id_leads_from_an_update_to_its_answer() {
    let stub = Stub::start().await;
    let folder = Folder::new(&stub);
    let address = free_address();
    folder.append(&format!("[watch]\nlisten = \"{address}\"\n"));
    let mut command = folder.command(&["serve"]);
    command
        .env("VIALBELL_LOG", "info")
        .env("VIALBELL_LOG_FORMAT", "json");
    let serving = folder.spawn(command, "watched");
    stub.push_text(GROUP, "board");
    answered(&stub, GROUP, 0, "no").await;
    let health = tokio::task::spawn_blocking(move || get(address, "/healthz"));
    let health = health.await.unwrap();
    assert!(health.starts_with("HTTP/1.1 200"), "{health}");
    assert!(serving.terminate().await.success());

    let lines: Vec<Value> = folder
        .logs()
        .lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|_| panic!("no JSON: {line}")))
        .collect();
    let settling = lines
        .iter()
        .find(|line| line["message"] == "an arrival is settled");
    let settling = settling.unwrap_or_else(|| panic!("{lines:?}"));
    assert_eq!(settling["what"], "text");
    let delivering = lines
        .iter()
        .find(|line| line["message"] == "a message was tried");
    let delivering = delivering.unwrap_or_else(|| panic!("{lines:?}"));
    assert_eq!(delivering["cause"], settling["cause"]);
    assert_eq!(delivering["outcome"], "sent");
    assert!(
        !folder.logs().contains("\"board\""),
        "nobody's words are logged"
    );
}
