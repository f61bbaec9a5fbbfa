//! A script in another language, with a text on its standard input.

use std::io::Write;
use std::process::{Command, Output, Stdio};

pub fn run(program: &str, arguments: &[&str], input: &str) -> Output {
    let mut child = Command::new(program)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{program}: {error}"));
    // One that refuses early may not read to the end.
    let _ = child.stdin.take().unwrap().write_all(input.as_bytes());
    child.wait_with_output().unwrap()
}
