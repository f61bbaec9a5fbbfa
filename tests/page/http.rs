//! HTTP/1.1 by hand, since a client library would not let a test forge a Host.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::time::Duration;

pub struct Answer {
    pub status: u16,
    pub head: String,
    pub body: String,
}

/// Sends exactly these headers, and reads to the end.
pub fn ask(port: u16, line: &str, headers: &[(&str, &str)], body: &str) -> Answer {
    let mut reader = BufReader::new(open(port, line, headers, body));
    let head = read_head(&mut reader);
    let mut body = String::new();
    reader.read_to_string(&mut body).unwrap();
    let status = head.split(' ').nth(1).unwrap().parse().unwrap();
    Answer { status, head, body }
}

pub fn get(port: u16, path: &str) -> Answer {
    let host = format!("127.0.0.1:{port}");
    ask(port, &format!("GET {path}"), &[("host", &host)], "")
}

/// As the page's own script posts.
pub fn post(port: u16, path: &str, body: &str) -> Answer {
    let host = format!("127.0.0.1:{port}");
    let origin = format!("http://{host}");
    let headers = [
        ("host", host.as_str()),
        ("origin", &origin),
        ("content-type", "application/json"),
    ];
    ask(port, &format!("POST {path}"), &headers, body)
}

/// An open stream of Server-Sent Events.
pub struct Events(BufReader<TcpStream>);

impl Events {
    pub fn open(port: u16) -> Events {
        let host = format!("127.0.0.1:{port}");
        let headers = [("host", host.as_str()), ("accept", "text/event-stream")];
        let mut reader = BufReader::new(open(port, "GET /events", &headers, ""));
        let head = read_head(&mut reader);
        assert!(head.starts_with("HTTP/1.1 200"), "{head}");
        assert!(head.contains("text/event-stream"), "{head}");
        Events(reader)
    }

    /// The next event: its name and its data.
    pub fn next(&mut self) -> (String, serde_json::Value) {
        let mut name = None;
        loop {
            let mut line = String::new();
            assert_ne!(self.0.read_line(&mut line).unwrap(), 0, "the stream ended");
            // Chunk sizes and keep-alive comments stand between; they are no fields.
            if let Some(event) = line.strip_prefix("event: ") {
                name = Some(event.trim_end().to_owned());
            } else if let Some(data) = line.strip_prefix("data: ") {
                let data = serde_json::from_str(data.trim_end()).unwrap();
                return (name.expect("an event's name comes before its data"), data);
            }
        }
    }

    /// Reads up to the end of what had happened before; the events on the way.
    pub fn until_ready(&mut self) -> Vec<(String, serde_json::Value)> {
        std::iter::from_fn(|| Some(self.next()).filter(|(name, _)| name != "ready")).collect()
    }
}

fn open(port: u16, line: &str, headers: &[(&str, &str)], body: &str) -> TcpStream {
    let mut stream = TcpStream::connect(("127.0.0.1", port)).unwrap();
    let patience = Some(Duration::from_secs(20));
    stream.set_read_timeout(patience).unwrap();
    let mut request = format!("{line} HTTP/1.1\r\nconnection: close\r\n");
    for (name, value) in headers {
        request += &format!("{name}: {value}\r\n");
    }
    request += &format!("content-length: {}\r\n\r\n{body}", body.len());
    stream.write_all(request.as_bytes()).unwrap();
    stream
}

fn read_head(reader: &mut impl BufRead) -> String {
    let mut head = String::new();
    while !head.ends_with("\r\n\r\n") {
        assert_ne!(reader.read_line(&mut head).unwrap(), 0, "no answer");
    }
    head
}
