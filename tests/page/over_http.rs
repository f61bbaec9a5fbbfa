//! What the page serves, and whom it refuses.

use crate::echo::Echo;
use crate::http::{Events, ask, get, post};
use serde_json::json;
use std::sync::atomic::Ordering;
use vialbell::channel::page::{BODY_LIMIT, HISTORY};
use vialbell::channel::{Channel, Outgoing};
use vialbell::domain::arrival::Body;

#[test]
fn the_page_and_its_parts_are_served_and_ask_no_other_host() {
    let echo = Echo::start();
    for (path, kind) in [
        ("/", "text/html; charset=utf-8"),
        ("/page.css", "text/css; charset=utf-8"),
        ("/page.js", "text/javascript; charset=utf-8"),
    ] {
        let answer = get(echo.port, path);
        assert_eq!(answer.status, 200, "{path}");
        assert!(
            answer.head.contains(&format!("content-type: {kind}")),
            "{}",
            answer.head
        );
        // The one address in it is the name of the SVG language.
        let others = answer.body.replace("http://www.w3.org/2000/svg", "");
        for start in ["http://", "https://", "src=\"//", "url(", "@import"] {
            assert!(!others.contains(start), "{path} has {start}");
        }
    }
}

#[test]
fn texts_are_never_inserted_as_markup() {
    let echo = Echo::start();
    let script = get(echo.port, "/page.js").body;
    for way in [
        "innerHTML",
        "outerHTML",
        "insertAdjacentHTML",
        "document.write",
        "eval(",
    ] {
        assert!(!script.contains(way), "{way}");
    }
}

#[test]
fn every_answer_carries_the_policy_even_a_refusal() {
    let echo = Echo::start();
    let refused = ask(echo.port, "GET /", &[("host", "example.org")], "");
    assert_eq!(refused.status, 403);
    for answer in [get(echo.port, "/"), get(echo.port, "/nothing"), refused] {
        assert!(answer.head.contains(
            "content-security-policy: default-src 'none'; script-src 'self'; style-src 'self'; \
             connect-src 'self'; img-src 'self' data:;"
        ));
        assert!(answer.head.contains("x-content-type-options: nosniff"));
        assert!(!answer.head.contains("access-control-"));
    }
}

#[test]
fn another_host_name_is_refused() {
    let echo = Echo::start();
    let port = echo.port;
    for path in ["/", "/page.js", "/events", "/truth"] {
        for host in ["example.org", "127.0.0.1.example.org", "0.0.0.0", ""] {
            let answer = ask(port, &format!("GET {path}"), &[("host", host)], "");
            assert_eq!(answer.status, 403, "{path} for {host:?}");
        }
        let two = [("host", "localhost"), ("host", "example.org")];
        let answer = ask(port, &format!("GET {path}"), &two, "");
        assert!(matches!(answer.status, 400 | 403), "{path} for two hosts");
    }
    for host in ["localhost", "127.0.0.1", "[::1]:8080", "localhost:8080"] {
        let answer = ask(port, "GET /truth", &[("host", host)], "");
        assert_eq!(answer.status, 200, "{host}");
    }
}

#[test]
fn another_page_can_post_nothing() {
    let echo = Echo::start();
    let host = format!("localhost:{}", echo.port);
    let own = format!("http://{host}");
    let body = r#"{"to":"owner","text":"given"}"#;
    let say = |headers: &[(&str, &str)]| {
        let mut all = vec![("host", host.as_str())];
        all.extend(headers);
        ask(echo.port, "POST /say", &all, body).status
    };
    let json = ("content-type", "application/json");
    for refused in [
        vec![],
        vec![("content-type", "text/plain")],
        vec![("content-type", "application/x-www-form-urlencoded")],
        vec![json, ("content-type", "text/plain")],
        vec![json, ("origin", "http://example.org")],
        vec![json, ("origin", "null")],
        vec![json, ("origin", "http://localhost")],
        vec![json, ("origin", &own), ("origin", "http://example.org")],
    ] {
        assert_eq!(say(&refused), 403, "{refused:?}");
    }
    assert!(echo.behind.arrived.lock().unwrap().is_empty());
    assert_eq!(say(&[json]), 204);
    assert_eq!(say(&[json, ("origin", &own)]), 204);
    assert_eq!(echo.behind.arrived.lock().unwrap().len(), 2);
}

#[test]
fn a_foreign_page_that_asks_for_leave_gets_none() {
    let echo = Echo::start();
    let host = format!("localhost:{}", echo.port);
    let asked = ask(
        echo.port,
        "OPTIONS /say",
        &[
            ("host", &host),
            ("origin", "http://example.org"),
            ("access-control-request-method", "POST"),
            ("access-control-request-headers", "content-type"),
        ],
        "",
    );
    assert_eq!(asked.status, 403);
    assert!(!asked.head.contains("access-control-"), "{}", asked.head);
    assert!(echo.behind.arrived.lock().unwrap().is_empty());
}

/// 127.0.0.2 is this machine too, and another address than the one it listens on:
/// so would the machine's address in a network be.
#[test]
fn it_listens_on_one_loopback_address_and_no_other() {
    let echo = Echo::start();
    assert_eq!(get(echo.port, "/truth").status, 200);
    let other = std::net::SocketAddr::from(([127, 0, 0, 2], echo.port));
    let refused = std::net::TcpStream::connect(other).unwrap_err();
    assert_eq!(refused.kind(), std::io::ErrorKind::ConnectionRefused);
}

#[test]
fn a_body_over_the_limit_is_refused() {
    let echo = Echo::start();
    let filler = " ".repeat(BODY_LIMIT);
    let body = format!(r#"{{"to":"owner","text":"given"{filler}}}"#);
    assert_eq!(post(echo.port, "/say", &body).status, 413);
    assert!(echo.behind.arrived.lock().unwrap().is_empty());
}

#[test]
fn what_makes_no_sense_is_refused_and_changes_nothing() {
    let echo = Echo::start();
    let long = json!({ "to": "owner", "text": "é".repeat(4097) }).to_string();
    for (path, body) in [
        ("/say", "{"),
        ("/say", r#"{"to":"owner"}"#),
        ("/say", r#"{"to":"owner","text":"x","more":1}"#),
        ("/say", r#"{"to":"owner","text":" \n "}"#),
        ("/say", r#"{"to":"nobody","text":"given"}"#),
        ("/say", &long),
        ("/tap", r#"{"to":"nobody","message":"1","data":"g:1:1"}"#),
        ("/clock", r#"{"jump":"year"}"#),
        ("/clock", r#"{"jump":{"until":"25:00"}}"#),
        ("/situation", r#"{"name":"no-such","language":"en"}"#),
        ("/situation", r#"{"name":"missed-dose","language":"xx"}"#),
    ] {
        let status = post(echo.port, path, body).status;
        assert!(matches!(status, 400 | 422), "{path} {body}: {status}");
    }
    let forged = r#"{"to":"owner","message":"1","data":"g:1:1"}"#;
    assert_eq!(post(echo.port, "/tap", forged).status, 409);
    assert!(echo.behind.arrived.lock().unwrap().is_empty());
    let so_far = Events::open(echo.port).until_ready();
    assert!(so_far.iter().all(|(name, _)| name != "message"));
}

#[test]
fn words_show_at_once_in_every_browser_and_reach_the_inbox_once() {
    let echo = Echo::start();
    let mut browsers = [Events::open(echo.port), Events::open(echo.port)];
    for browser in &mut browsers {
        let so_far = browser.until_ready();
        assert_eq!(so_far[0].0, "reset");
        assert_eq!(so_far[1].0, "scene");
        assert_eq!(so_far[1].1["people"][0]["address"], "owner");
        assert_eq!(so_far[1].1["situation"], "normal-day");
        assert_eq!(so_far.len(), 2);
    }
    let text = "¿cuánto queda? <b>&\n2";
    let body = json!({ "to": "owner", "text": text }).to_string();
    assert_eq!(post(echo.port, "/say", &body).status, 204);
    for browser in &mut browsers {
        let (name, own) = browser.next();
        assert_eq!(name, "message");
        assert_eq!((&own["by"], &own["text"]), (&json!("holder"), &json!(text)));
        assert_eq!(own["at"]["at"], "2026-03-07T07:00:00-07:00");
        let (_, answer) = browser.next();
        assert_eq!(answer["by"], "program");
        assert_eq!(answer["text"], json!(format!("You wrote: {text}")));
    }
    let arrived = echo.behind.arrived.lock().unwrap();
    assert_eq!(arrived.len(), 1);
    assert_eq!(arrived[0].address, "owner");
    assert_eq!(arrived[0].sender.as_deref(), Some("Robin Vale"));
    assert_eq!(arrived[0].body, Body::Text(text.into()));
}

#[test]
fn numbers_are_never_used_twice_not_even_by_the_next_run() {
    let ids = |echo: &Echo| {
        for _ in 0..2 {
            post(echo.port, "/say", r#"{"to":"owner","text":"given"}"#);
        }
        let arrived = echo.behind.arrived.lock().unwrap();
        arrived
            .iter()
            .map(|arrival| arrival.external_id.clone())
            .collect::<Vec<_>>()
    };
    let mut all = [ids(&Echo::start()), ids(&Echo::start())].concat();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), 4);
}

#[test]
fn words_that_could_not_be_stored_are_taken_back() {
    let echo = Echo::start();
    let mut browser = Events::open(echo.port);
    browser.until_ready();
    echo.behind.refuses.store(true, Ordering::SeqCst);
    let answer = post(echo.port, "/say", r#"{"to":"owner","text":"given"}"#);
    assert_eq!(answer.status, 500);
    assert!(!answer.body.contains("disk"), "reasons stay in the log");
    let (_, shown) = browser.next();
    let (name, withdrawn) = browser.next();
    assert_eq!(name, "withdrawn");
    assert_eq!(withdrawn["message"], shown["id"]);
    let so_far = Events::open(echo.port).until_ready();
    assert!(so_far.iter().all(|(name, _)| name != "message"));
}

#[test]
fn a_button_is_tapped_once() {
    let echo = Echo::start();
    let mut browser = Events::open(echo.port);
    browser.until_ready();
    assert_eq!(
        post(echo.port, "/clock", r#"{"jump":"next-event"}"#).status,
        204
    );
    let (_, due) = browser.next();
    assert_eq!(due["buttons"][1]["label"], "Not given");
    let (name, clock) = browser.next();
    assert_eq!(name, "clock");
    assert_eq!(clock["at"], "2026-03-07T07:30:00-07:00");

    let tap = |to: &str, data: &str| {
        let body = json!({ "to": to, "message": due["id"], "data": data });
        post(echo.port, "/tap", &body.to_string()).status
    };
    assert_eq!(
        tap("clinic", "g:1:3"),
        409,
        "it is not in the clinic's phone"
    );
    assert_eq!(tap("owner", "g:1:4"), 409, "there is no such button");
    assert_eq!(tap("owner", "g:1:3"), 204);
    assert_eq!(tap("owner", "g:1:3"), 409, "it was tapped");

    assert_eq!(browser.next().1["text"], "You tapped: g:1:3");
    let (name, removed) = browser.next();
    assert_eq!(name, "buttons-changed");
    let left = json!([{ "label": "Not given", "data": "n:1:3" }]);
    assert_eq!(
        removed,
        json!({ "message": due["id"], "buttons": left, "chosen": "Given" }),
        "the others go when the engine says so"
    );
    assert_eq!(echo.behind.arrived.lock().unwrap().len(), 1);

    let so_far = Events::open(echo.port).until_ready();
    let replayed = &so_far[2].1;
    assert_eq!(replayed["buttons"], left);
    assert_eq!(replayed["chosen"], "Given");
}

#[test]
fn a_tap_that_could_not_be_stored_can_be_tapped_again() {
    let echo = Echo::start();
    post(echo.port, "/clock", r#"{"jump":"next-event"}"#);
    let so_far = Events::open(echo.port).until_ready();
    let body = json!({ "to": "owner", "message": so_far[2].1["id"], "data": "g:1:3" }).to_string();
    echo.behind.refuses.store(true, Ordering::SeqCst);
    assert_eq!(post(echo.port, "/tap", &body).status, 500);
    echo.behind.refuses.store(false, Ordering::SeqCst);
    assert_eq!(post(echo.port, "/tap", &body).status, 204);
}

#[test]
fn a_situation_empties_the_phones_first() {
    let echo = Echo::start();
    post(echo.port, "/say", r#"{"to":"owner","text":"given"}"#);
    let mut browser = Events::open(echo.port);
    browser.until_ready();
    let asked = r#"{"name":"missed-dose","language":"es"}"#;
    assert_eq!(post(echo.port, "/situation", asked).status, 204);
    assert_eq!(browser.next().0, "reset");
    assert_eq!(browser.next().1["text"], "This is missed-dose.");
    let (name, scene) = browser.next();
    assert_eq!(name, "scene");
    assert_eq!(scene["situation"], "missed-dose");
    let so_far = Events::open(echo.port).until_ready();
    assert_eq!(so_far[1].1["situation"], "missed-dose");
    assert_eq!(so_far.len(), 3);
}

#[test]
fn each_phone_remembers_its_last_300_messages() {
    let echo = Echo::start();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .build()
        .unwrap();
    for number in 0..HISTORY + 5 {
        let message = Outgoing {
            address: "owner".into(),
            text: number.to_string(),
            buttons: Vec::new(),
            attachment: None,
            quiet: false,
        };
        runtime.block_on(echo.channel.send(&message));
    }
    post(echo.port, "/clock", r#"{"jump":"hour"}"#);
    let mut texts: Vec<_> = Events::open(echo.port)
        .until_ready()
        .into_iter()
        .filter(|(name, data)| name == "message" && data["address"] == "owner")
        .map(|(_, data)| data["text"].as_str().unwrap().parse::<usize>().unwrap())
        .collect();
    assert_eq!(HISTORY, 300);
    assert_eq!(texts.len(), HISTORY);
    texts.dedup();
    assert_eq!((texts[0], texts[HISTORY - 1]), (5, HISTORY + 4));
}
