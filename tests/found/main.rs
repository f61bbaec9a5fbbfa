//! What a fuzzer found, or came upon as a new path, replayed through the very
//! functions that the fuzz targets call. DEVELOPERS.md says how to fuzz.

#[allow(dead_code, reason = "the benches take the homes, this the assertions")]
mod held;

use proptest::prelude::*;
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

/// One change to a text: what a fuzzer does, without its compass.
#[derive(Debug, Clone)]
enum Mutation {
    Cut(usize, usize),
    Repeat(usize, usize),
    Put(usize, String),
    Splice(usize, usize, usize),
}

fn mutations() -> impl Strategy<Value = Vec<Mutation>> {
    let place = 0..4_000_usize;
    let piece = prop_oneof![
        any::<String>(),
        "[-+0-9.:,TZ]{1,12}",
        "(\\[|\\]|\"|=|\n|#|\\{|\\}| |mL|mg/kg|'''|99999999999999999999|-1|0.0|é|🤮|she collapsed|no respira)",
    ];
    let one = prop_oneof![
        (place.clone(), 1..40_usize).prop_map(|(at, n)| Mutation::Cut(at, n)),
        (place.clone(), 1..40_usize).prop_map(|(at, n)| Mutation::Repeat(at, n)),
        (place.clone(), piece).prop_map(|(at, text)| Mutation::Put(at, text)),
        (place.clone(), place, 1..60_usize).prop_map(|(to, from, n)| Mutation::Splice(to, from, n)),
    ];
    prop::collection::vec(one, 1..6)
}

fn mutated(text: &str, other: &str, mutations: &[Mutation]) -> String {
    let mut chars: Vec<char> = text.chars().collect();
    let other: Vec<char> = other.chars().collect();
    for mutation in mutations {
        let within = |at: usize| at % (chars.len() + 1);
        match mutation {
            Mutation::Cut(at, n) => {
                let at = within(*at);
                chars.drain(at..(at + n).min(chars.len()));
            }
            Mutation::Repeat(at, n) => {
                let at = within(*at);
                let piece = chars[at..(at + n).min(chars.len())].to_vec();
                chars.splice(at..at, piece);
            }
            Mutation::Put(at, text) => {
                let at = within(*at);
                chars.splice(at..at, text.chars());
            }
            Mutation::Splice(to, from, n) => {
                let (to, from) = (within(*to), from % (other.len() + 1));
                chars.splice(to..to, other[from..(from + n).min(other.len())].to_vec());
            }
        }
    }
    chars.into_iter().collect()
}

/// Few enough for a debug build; `PROPTEST_CASES` asks for more.
fn cases() -> u32 {
    let asked = std::env::var("PROPTEST_CASES").ok();
    asked.and_then(|cases| cases.parse().ok()).unwrap_or(60)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_near_to_what_was_found_holds(
        target in 0..held::TARGETS.len(), one in any::<prop::sample::Index>(),
        other in any::<prop::sample::Index>(), mutations in mutations(),
    ) {
        let (name, hold) = held::TARGETS[target];
        let inputs = inputs(name);
        hold(&mutated(one.get(inputs.as_slice()).as_str(), other.get(inputs.as_slice()).as_str(), &mutations));
    }

    /// No text of any script or length, alone or beside another line.
    #[test]
    fn any_text_is_read_without_harm(text in any::<String>(), line in any::<prop::sample::Index>()) {
        let (_, hold) = held::TARGETS[0];
        hold(&text);
        let inputs = inputs("reading");
        hold(&format!("{text}\n{}", line.get(inputs.as_slice())));
    }
}
