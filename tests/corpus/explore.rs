//! For whoever tunes the reader: what it makes of the lines of a file.

use crate::judged::{hear, kinds};
use crate::line::{Line, lines};
use crate::table;

/// `VIALBELL_SAYS=FILE cargo test --test corpus what_is_made -- --ignored --nocapture`,
/// where the file holds `en|text` or `es|text`, a line each.
#[test]
#[ignore = "prints, for a person who tunes the reader"]
fn what_is_made_of_a_file() {
    let path = std::env::var("VIALBELL_SAYS").expect("VIALBELL_SAYS names a file");
    for said in std::fs::read_to_string(path).expect("a file").lines() {
        let (lang, text) = said.split_once('|').expect("a language and a text");
        let line: Line = serde_json::from_value(serde_json::json!({
            "id": "x", "lang": lang, "text": text, "expect": [], "never": [], "why": "x:",
        }))
        .expect("a line");
        let reading = table::reading(&line);
        println!("{text:60} -> {:?} {reading:?}", kinds(&hear(&line)));
    }
}

/// The clear messages that are read back or sent to the clinic instead of being settled at once.
#[test]
#[ignore = "prints, for a person who tunes the reader"]
fn what_is_not_settled_at_once() {
    let path = std::env::var("VIALBELL_SAYS").expect("VIALBELL_SAYS names a set");
    for line in lines(&std::fs::read_to_string(path).expect("a set")) {
        let kinds = kinds(&hear(&line));
        if line.class() == "clear"
            && kinds
                .iter()
                .any(|kind| ["confirm", "call-clinic"].contains(kind))
        {
            println!("{} {:60} -> {kinds:?}", line.lang, line.text);
        }
    }
}
