//! What is seen from outside while the program runs, and what the clinic hears of an outage.

use super::fake::{CLINIC, Clinic, unclear, with};
use super::home::at;
use chrono::TimeDelta;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use vialbell::channel::Inbox;
use vialbell::watch;

/// The status line and the body of an answer.
async fn get(address: std::net::SocketAddr, path: &str) -> (String, String) {
    let mut stream = TcpStream::connect(address).await.unwrap();
    let request = format!("GET {path} HTTP/1.1\r\nHost: here\r\nConnection: close\r\n\r\n");
    stream.write_all(request.as_bytes()).await.unwrap();
    let mut answer = String::new();
    stream.read_to_string(&mut answer).await.unwrap();
    let (head, body) = answer.split_once("\r\n\r\n").unwrap();
    (head.lines().next().unwrap().into(), body.into())
}

#[tokio::test]
async fn a_platform_out_of_reach_is_seen_at_once_and_told_as_soon_as_it_can_be() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.step(start).await;
    clinic.platform.taken(CLINIC);
    clinic.engine.reached();
    let listener = watch::listen("127.0.0.1:0".parse().unwrap()).await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = tokio::sync::watch::channel(false);
    let serving = tokio::spawn(watch::serve(listener, vec![clinic.engine.clone()], stopped));

    let (status, body) = get(address, "/healthz").await;
    assert_eq!(status, "HTTP/1.1 200 OK", "{body}");
    assert!(body.contains(r#""well":true"#), "{body}");

    clinic.clock.set(start + TimeDelta::minutes(14));
    assert_eq!(get(address, "/healthz").await.0, "HTTP/1.1 200 OK");
    clinic.clock.set(start + TimeDelta::minutes(20));
    let (status, body) = get(address, "/healthz").await;
    assert_eq!(status, "HTTP/1.1 503 Service Unavailable");
    assert!(body.contains("the messenger is out of reach"), "{body}");
    assert!(body.contains(r#""messenger_reached_s_ago":1200"#), "{body}");
    clinic.step(start + TimeDelta::minutes(20)).await;
    assert_eq!(
        clinic.platform.taken(CLINIC).len(),
        0,
        "nobody can hear yet"
    );

    clinic.engine.reached();
    clinic.step(start + TimeDelta::minutes(20)).await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "could not be reached"), 1, "{told:?}");
    assert_eq!(
        with(&told, "6:00 pm") + with(&told, "6:20 pm"),
        2,
        "{told:?}"
    );
    clinic.engine.reached();
    clinic.step(start + TimeDelta::minutes(21)).await;
    assert_eq!(clinic.platform.taken(CLINIC).len(), 0, "once");
    assert_eq!(get(address, "/healthz").await.0, "HTTP/1.1 200 OK");

    clinic.says("maren", "how much is left?").await;
    clinic.step(start + TimeDelta::minutes(21)).await;
    let (_, figures) = get(address, "/metrics").await;
    for line in [
        r#"vialbell_arrivals_settled_total{clinic="clinic"} 1"#,
        r#"vialbell_database_up{clinic="clinic"} 1"#,
        r#"vialbell_outbox_waiting{clinic="clinic"} 0"#,
        "# EOF",
    ] {
        assert!(figures.contains(line), "{line} in\n{figures}");
    }
    assert!(!figures.contains("maren") && !body.contains("maren"));
    stop.send(true).unwrap();
    serving.await.unwrap().unwrap();
}

#[tokio::test]
async fn what_is_not_sent_for_long_is_trouble() {
    let start = at("2026-03-06T01:00:00Z");
    let mut clinic = Clinic::open(start).await;
    clinic.enrol("maren", start).await;
    clinic.step(start).await;
    let listener = watch::listen("127.0.0.1:0".parse().unwrap()).await.unwrap();
    let address = listener.local_addr().unwrap();
    let (stop, stopped) = tokio::sync::watch::channel(false);
    let serving = tokio::spawn(watch::serve(listener, vec![clinic.engine.clone()], stopped));
    // The line is dead for as long as anybody tries.
    clinic.platform.answer("maren", &vec![unclear(); 50]);
    clinic.says("maren", "how much is left?").await;
    let later = start + TimeDelta::minutes(30);
    clinic.pass(start, later).await;
    clinic.clock.set(later + TimeDelta::minutes(6));
    let (status, body) = get(address, "/healthz").await;
    assert_eq!(status, "HTTP/1.1 503 Service Unavailable", "{body}");
    assert!(body.contains("not sent"), "{body}");
    let (_, figures) = get(address, "/metrics").await;
    assert!(
        figures.contains(r#"vialbell_outbox_waiting{clinic="clinic"} 1"#),
        "{figures}"
    );
    drop(stop);
    serving.await.unwrap().unwrap();
}
