//! The dependency rule of `src/lib.rs`, checked on the sources: which module
//! may know which, who may ask the time, who may speak SQL, and who may know
//! the chat platform. Source: the project's own design (DEVELOPERS.md).

mod rules;
mod source;

use rules::breaches;
use source::Source;
use std::path::{Path, PathBuf};

/// Every Rust file under `src`, by its path there.
fn sources() -> Vec<Source> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    collect(&root, &mut files);
    files
        .iter()
        .map(|file| {
            let name = file.strip_prefix(&root).unwrap().to_str().unwrap();
            Source::read(name, &std::fs::read_to_string(file).unwrap())
        })
        .collect()
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            collect(&path, files);
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            files.push(path);
        }
    }
}

#[test]
fn every_arrow_points_the_right_way() {
    let sources = sources();
    assert!(sources.len() > 50, "the sources were found");
    let found = breaches(&sources);
    assert!(found.is_empty(), "{}", found.join("\n"));
}

#[test]
fn the_reader_sees_the_arrows_that_are_there() {
    let sources = sources();
    let known: Vec<(String, String)> = sources.iter().flat_map(rules::arrows).collect();
    for (from, to) in [
        ("engine", "store"),
        ("engine", "domain"),
        ("store", "domain"),
        ("wording", "domain"),
        ("channel", "domain"),
        ("config", "domain"),
        ("rehearse", "engine"),
        ("main", "terminal"),
        ("terminal", "rehearse"),
    ] {
        assert!(
            known.iter().any(|(a, b)| a == from && b == to),
            "{from} -> {to} was not seen"
        );
    }
}

fn of(files: &[(&str, &str)]) -> Vec<String> {
    let sources: Vec<Source> = files
        .iter()
        .map(|(name, text)| Source::read(name, text))
        .collect();
    breaches(&sources)
}

#[test]
fn each_broken_rule_is_found() {
    for (file, text, expected) in [
        (
            "domain/dose.rs",
            "use crate::store::Store;",
            "domain -> store",
        ),
        (
            "domain/dose.rs",
            "use crate::{clock::Clock, domain::x};",
            "domain -> clock",
        ),
        (
            "domain/a/b.rs",
            "use super::super::super::engine::Engine;",
            "domain -> engine",
        ),
        (
            "domain/dose.rs",
            "mod tests { use super::super::super::store::Store; }",
            "domain -> store",
        ),
        (
            "store/mod.rs",
            "fn f() { crate::engine::run(); }",
            "store -> engine",
        ),
        (
            "wording/mod.rs",
            "use crate::config::Config;",
            "wording -> config",
        ),
        (
            "channel/page/mod.rs",
            "use crate::engine::Engine;",
            "channel -> engine",
        ),
        (
            "config/mod.rs",
            "use crate::store::Store;",
            "config -> store",
        ),
        (
            "engine/enrol.rs",
            "use crate::config::{Config, Mistakes};",
            "config::Config",
        ),
        (
            "engine/mod.rs",
            "use crate::rehearse::play;",
            "engine -> rehearse",
        ),
        (
            "store/mod.rs",
            "use vialbell::engine::Engine;",
            "store -> engine",
        ),
        (
            "novel/mod.rs",
            "use crate::domain::x;",
            "novel is not named",
        ),
        (
            "engine/mod.rs",
            "let now = chrono::Utc::now();",
            "asks the time",
        ),
        (
            "store/mod.rs",
            "let t = std::time::SystemTime::now();",
            "asks the time",
        ),
        ("engine/mod.rs", "let t = Instant::now();", "asks the time"),
        ("engine/mod.rs", "use teloxide::Bot;", "teloxide"),
        (
            "channel/page/mod.rs",
            "fn f(b: teloxide::Bot) {}",
            "teloxide",
        ),
        ("engine/mod.rs", "sqlx::query(\"select 1\");", "sqlx"),
        (
            "rehearse/mod.rs",
            "let w = store.begin().await;",
            "opens a transaction",
        ),
        ("domain/dose.rs", "let x: f64 = y;", "f64"),
        ("domain/dose.rs", "let x = 0.5 * y;", "0.5"),
        ("domain/dose.rs", "unsafe { x() }", "unsafe"),
    ] {
        let found = of(&[(file, text)]).join("; ");
        assert!(found.contains(expected), "{file}: {text}: found “{found}”");
    }
}

#[test]
fn a_circle_is_found_wherever_it_runs() {
    let found = of(&[
        ("domain/mod.rs", "pub mod dose; pub mod vial; pub mod zone;"),
        ("domain/dose.rs", "use super::vial::Vial;"),
        ("domain/vial.rs", "use crate::domain::zone::Zone;"),
        ("domain/zone/mod.rs", "mod resolve;"),
        ("domain/zone/resolve.rs", "use super::super::dose::Dose;"),
    ]);
    assert_eq!(found.len(), 1, "{found:?}");
    assert!(
        found[0].contains("circle") && found[0].contains("zone"),
        "{found:?}"
    );
}

#[test]
fn what_only_looks_like_code_breaks_nothing() {
    let quiet = r####"
        //! See crate::store and sqlx; Utc::now() is what we never call.
        /* crate::engine /* nested: teloxide */ f64 */
        use super::quantity::Volume; // crate::clock
        const A: &str = "use crate::store::Store; sqlx \" f32";
        const B: &str = r#"crate::engine "quoted" teloxide"#;
        const C: &[u8] = b"sqlx";
        fn f<'a>(x: &'a str) -> char { let quote = '"'; let _ = 'x'; let end = '\''; x.begin; quote }
        pub(crate) fn g() { let r = 0..5; let t = (1, 2); t.0.max(3); }
        /// teloxide
        struct S;
    "####;
    let found = of(&[("domain/quantity.rs", ""), ("domain/dose.rs", quiet)]);
    assert!(found.is_empty(), "{found:?}");
}

#[test]
fn what_is_allowed_is_allowed() {
    let found = of(&[
        (
            "engine/enrol.rs",
            "use crate::config::{Mistakes, parse_prescription};",
        ),
        (
            "engine/mod.rs",
            "use crate::{store::Store, channel::Channel, clock::Clock, wording::Wording}; fn f() { store.begin(); }",
        ),
        (
            "store/mod.rs",
            "use sqlx::Row; use crate::domain::Instant; fn f() { c.begin(); }",
        ),
        (
            "channel/telegram/mod.rs",
            "use teloxide::Bot; use super::Channel;",
        ),
        (
            "clock.rs",
            "use crate::domain::Instant; fn f() { std::time::SystemTime::now(); }",
        ),
        (
            "rehearse/mod.rs",
            "use crate::engine::Engine; use crate::config::Config;",
        ),
        (
            "main.rs",
            "use vialbell::rehearse; use vialbell::store::Store;",
        ),
        ("domain/a/mod.rs", "mod b; pub use b::B;"),
        (
            "domain/a/b.rs",
            "use super::Other; use super::super::Instant;",
        ),
    ]);
    assert!(found.is_empty(), "{found:?}");
}
