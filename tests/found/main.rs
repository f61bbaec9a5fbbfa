//! What a fuzzer found, or came upon as a new path, replayed through the very
//! functions that the fuzz targets call. DEVELOPERS.md says how to fuzz.

#[allow(dead_code, reason = "the benches take the homes, this the assertions")]
mod held;

use std::path::Path;

/// The inputs of a target, a JSON string a line.
fn inputs(target: &str) -> Vec<String> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/found/inputs")
        .join(format!("{target}.jsonl"));
    let text = std::fs::read_to_string(&path).expect("each target has its found inputs");
    text.lines()
        .map(|line| serde_json::from_str(line).expect("a JSON string"))
        .collect()
}

#[test]
fn what_was_found_holds_now() {
    for (target, hold) in held::TARGETS {
        let inputs = inputs(target);
        assert!(!inputs.is_empty(), "no inputs of {target}");
        println!("{target}: {} inputs", inputs.len());
        for input in inputs {
            hold(&input);
        }
    }
}
