//! The rules themselves.

use super::source::Source;
use std::collections::{BTreeMap, BTreeSet};

/// Which modules of `src` a module may know. `main` and `lib` may know all;
/// what `main` only hands its flags to is wiring, and nothing knows it.
const MAY_KNOW: &[(&str, &[&str])] = &[
    ("domain", &[]),
    ("clock", &["domain"]),
    ("store", &["domain"]),
    ("wording", &["domain"]),
    ("channel", &["domain"]),
    ("paper", &["domain", "wording"]),
    ("config", &["domain"]),
    (
        "engine",
        &[
            "domain", "store", "channel", "clock", "wording", "config", "paper",
        ],
    ),
    (
        "rehearse",
        &[
            "engine", "channel", "clock", "config", "domain", "store", "wording",
        ],
    ),
    (
        "demo",
        &[
            "engine", "channel", "clock", "config", "domain", "store", "wording",
        ],
    ),
    ("watch", &["engine", "domain", "store"]),
    (
        "serve",
        &[
            "engine", "channel", "clock", "config", "domain", "store", "watch", "wording",
        ],
    ),
    ("check", &["clock", "config", "domain", "store", "wording"]),
    (
        "terminal",
        &[
            "channel", "check", "clock", "config", "demo", "domain", "engine", "paper", "rehearse",
            "serve", "store", "wording",
        ],
    ),
];

/// All that the engine may know of the configuration: the reader of a
/// prescription, since a clinic enrols by sending one to its chat.
const READER_OF_PRESCRIPTIONS: &[&str] = &["parse_prescription", "Mistakes", "Mistake"];

/// What breaks a rule, one line each.
pub fn breaches(sources: &[Source]) -> Vec<String> {
    let mut found = Vec::new();
    for source in sources {
        found.extend(wrong_arrows(source));
        found.extend(wrong_words(source));
    }
    found.extend(circles(sources));
    found
}

/// From which module of `src` to which other.
pub fn arrows(source: &Source) -> Vec<(String, String)> {
    let from = source.top().to_owned();
    let targets: BTreeSet<String> = source
        .paths()
        .into_iter()
        .filter_map(|path| path.into_iter().next())
        .filter(|to| *to != from)
        .collect();
    targets.into_iter().map(|to| (from.clone(), to)).collect()
}

fn wrong_arrows(source: &Source) -> Vec<String> {
    let (from, name) = (source.top(), &source.name);
    if from == "main" || from == "lib" {
        return Vec::new();
    }
    let Some((_, known)) = MAY_KNOW.iter().find(|(module, _)| *module == from) else {
        return vec![format!(
            "{name}: {from} is not named in the rule; say in tests/arrows/rules.rs what it may know"
        )];
    };
    let mut found = Vec::new();
    for (_, to) in arrows(source) {
        if !known.contains(&to.as_str()) {
            found.push(format!("{name}: {from} -> {to}"));
        }
    }
    if from == "engine" {
        let beyond = source.paths().into_iter().filter(|path| {
            path.first().is_some_and(|to| to == "config")
                && !path
                    .get(1)
                    .is_some_and(|item| READER_OF_PRESCRIPTIONS.contains(&item.as_str()))
        });
        found.extend(beyond.map(|path| {
            format!(
                "{name}: {}: the engine knows only the reader of prescriptions",
                path.join("::")
            )
        }));
    }
    found
}

fn wrong_words(source: &Source) -> Vec<String> {
    let name = &source.name;
    let within = |folders: &[&str]| folders.iter().any(|folder| name.starts_with(folder));
    let mut found = Vec::new();
    for (at, token) in source.tokens.iter().enumerate() {
        let after = |n: usize| source.tokens.get(at + n).map_or("", String::as_str);
        let before = at
            .checked_sub(1)
            .map_or("", |at| source.tokens[at].as_str());
        match token.as_str() {
            "Utc" | "Local" | "SystemTime" | "Instant" | "Zoned" | "Timestamp"
                if after(1) == "::" && after(2) == "now" && name != "clock.rs" =>
            {
                found.push(format!(
                    "{name}: {token}::now asks the time; only src/clock.rs does"
                ));
            }
            "teloxide" if !within(&["channel/telegram"]) => {
                found.push(format!(
                    "{name}: knows teloxide; only src/channel/telegram does"
                ));
            }
            "sqlx" if !within(&["store/"]) => {
                found.push(format!("{name}: knows sqlx; only src/store does"));
            }
            "begin" | "begin_to_read" | "begin_to_save"
                if before == "." && after(1) == "(" && !within(&["engine/", "store/"]) =>
            {
                found.push(format!("{name}: opens a transaction; only src/engine does"));
            }
            "f32" | "f64" if within(&["domain/"]) => {
                found.push(format!(
                    "{name}: {token}: the domain counts in whole numbers"
                ));
            }
            number if within(&["domain/"]) && is_float(number) => {
                found.push(format!(
                    "{name}: {number}: the domain counts in whole numbers"
                ));
            }
            "unsafe" => found.push(format!("{name}: unsafe")),
            _ => {}
        }
    }
    found
}

fn is_float(token: &str) -> bool {
    token.starts_with(|c: char| c.is_ascii_digit()) && token.contains('.')
}

/// Circles between the modules of `src`, and between the parts of the domain.
/// Within one part files may know each other: they are one thing in pieces.
fn circles(sources: &[Source]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for parent in [&[][..], &["domain".to_owned()][..]] {
        let mut known: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        let parts: BTreeSet<&String> = sources
            .iter()
            .filter(|s| s.module.starts_with(parent))
            .filter_map(|s| s.module.get(parent.len()))
            .collect();
        for source in sources.iter().filter(|s| s.module.starts_with(parent)) {
            let Some(from) = source.module.get(parent.len()) else {
                continue;
            };
            let to = source
                .paths()
                .into_iter()
                .filter(|path| path.starts_with(parent))
                .filter_map(|path| path.get(parent.len()).cloned())
                .filter(|to| to != from && parts.contains(to));
            known.entry(from.clone()).or_default().extend(to);
        }
        found.extend(circle(&known));
    }
    found
}

/// One circle, where there is one: take away what points nowhere until nothing changes.
fn circle(known: &BTreeMap<String, BTreeSet<String>>) -> Option<String> {
    let mut left = known.clone();
    loop {
        let ends: Vec<String> = left
            .iter()
            .filter(|(_, to)| to.iter().all(|to| !left.contains_key(to)))
            .map(|(from, _)| from.clone())
            .collect();
        if ends.is_empty() {
            break;
        }
        for end in ends {
            left.remove(&end);
        }
    }
    let names: Vec<&str> = left.keys().map(String::as_str).collect();
    (!names.is_empty()).then(|| format!("a circle runs through {}", names.join(", ")))
}
