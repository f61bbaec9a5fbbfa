//! Dialogues that a veterinarian can read: each `NAME.script` is played against
//! the real engine, store and wording, compared with `NAME.dialogue`, and held
//! against what must be true of every dialogue.
//!
//! A script names its prescriptions, and a clinic of its own where it needs
//! one, in its first lines: `# prescription: FILE`, `# clinic: FILE`. After a
//! wanted change of words, `VIALBELL_BLESS=1 cargo test --test dialogues`
//! rewrites the dialogues: read the difference before committing it.
//!
//! All people, animals, products and events are invented. Zones and their
//! nights are those of the IANA tz database, release 2026f.

mod play;
#[path = "../support/postgres.rs"]
mod postgres;
mod properties;

use play::{Dialogue, names, played};
use std::collections::BTreeSet;
use std::fs;
use vialbell::domain::message::Kind;

#[test]
fn every_dialogue_goes_as_written() {
    let bless = std::env::var_os("VIALBELL_BLESS").is_some();
    let mut wrong = Vec::new();
    for (name, played) in played() {
        let played = match played {
            Ok(played) => played,
            Err(why) => {
                wrong.push(format!("{name}: {why}"));
                continue;
            }
        };
        let path = play::folder().join(format!("{name}.dialogue"));
        let written = fs::read_to_string(&path).unwrap_or_default();
        if played.printed != written {
            if bless {
                fs::write(&path, &played.printed).unwrap();
            } else {
                wrong.push(format!(
                    "{name}: {}",
                    first_difference(&written, &played.printed)
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[test]
fn what_must_hold_holds_in_every_dialogue() {
    let mut broken = Vec::new();
    for (name, played) in played() {
        match played {
            Ok(played) => broken.extend(
                properties::broken(played)
                    .into_iter()
                    .map(|why| format!("{name}: {why}")),
            ),
            Err(why) => broken.push(format!("{name}: {why}")),
        }
    }
    assert!(broken.is_empty(), "\n{}", broken.join("\n"));
}

/// Whatever an owner can be told is told in a dialogue of each language.
#[test]
fn every_kind_for_owners_is_said_in_both_languages() {
    let mut said = BTreeSet::new();
    for played in played()
        .iter()
        .filter_map(|(_, played)| played.as_ref().ok())
    {
        for one in played.sent() {
            let known = |id| played.households.iter().find(|home| home.id == id);
            if let Some(home) = one.household.and_then(known) {
                said.insert((home.language.as_str(), one.message.kind));
            }
        }
    }
    let missing: Vec<_> = ["en", "es"]
        .into_iter()
        .flat_map(|language| Kind::ALL.iter().map(move |kind| (language, *kind)))
        .filter(|(_, kind)| !kind.is_for_clinic())
        .filter(|told| !said.contains(told))
        .collect();
    assert!(missing.is_empty(), "in no dialogue: {missing:?}");
}

/// Word for word the same on the other database.
#[test]
#[ignore = "needs PostgreSQL"]
fn dialogues_go_as_written_on_postgresql() {
    let server = postgres::Server::start().expect("PostgreSQL is not installed");
    for name in ["two-carers", "supplies-counted", "down-over-an-answer"] {
        let runtime = tokio::runtime::Runtime::new().unwrap();
        let url = runtime.block_on(postgres::fresh_on(&server.url("postgres")));
        let played = Dialogue::read(name).play_in(Some(&url)).unwrap();
        let written = fs::read_to_string(play::folder().join(format!("{name}.dialogue"))).unwrap();
        if played.printed != written {
            panic!("{name}: {}", first_difference(&written, &played.printed));
        }
        assert_eq!(properties::broken(&played), [] as [String; 0], "{name}");
    }
}

#[test]
fn no_dialogue_stands_without_its_script() {
    let scripts = names();
    assert!(scripts.len() >= 18, "{} scripts", scripts.len());
    for file in play::files_ending_in(".dialogue") {
        assert!(scripts.contains(&file), "{file}.dialogue has no script");
    }
}

/// Between two marks of something left out, README.md shows a dialogue's lines as they are.
#[test]
fn the_readme_shows_what_is_played() {
    let readme = include_str!("../../README.md");
    let (_, shown) = readme.split_once("shown-in-readme.script\n```").unwrap();
    let (_, shown) = shown.split_once("```text\n").unwrap();
    let (shown, _) = shown.split_once("```").unwrap();
    let played = Dialogue::read("shown-in-readme").play().unwrap().printed;
    let mut rest = played.as_str();
    for piece in shown.split("[...]\n") {
        let at = rest.find(piece);
        let at = at.unwrap_or_else(|| panic!("not played, or not in this order:\n{piece}"));
        rest = &rest[at + piece.len()..];
    }
}

fn first_difference(written: &str, played: &str) -> String {
    let mut lines = (1..).zip(written.lines().zip(played.lines()));
    match lines.find(|(_, (a, b))| a != b) {
        Some((number, (a, b))) => format!("line {number}\n  written: {a}\n  played:  {b}"),
        None => format!(
            "{} lines are written, {} were played",
            written.lines().count(),
            played.lines().count()
        ),
    }
}
