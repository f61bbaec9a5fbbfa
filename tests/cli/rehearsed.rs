//! `vialbell rehearse` at the command line.

use crate::terminal::{Ended, Folder};
use std::io::{BufRead, BufReader, Read, Write};
use std::process::Stdio;

const EVENING: &str = "# An evening.\n\n\
    2026-03-05T19:00:00-07:00 owner mixed\n\
    2026-03-05T19:34:00-07:00 owner given\n\
    2026-03-05T19:40:00-07:00 owner:Teo Oakhollow how much is left?\n";

fn rehearse(script: &str, more: &[&str]) -> Ended {
    let folder = with_order();
    let arguments = [&["rehearse", "--prescription", "march.toml"], more, &["-"]].concat();
    folder.run_with(&arguments, script)
}

fn with_order() -> Folder {
    let folder = Folder::new();
    let text = std::fs::read_to_string(folder.path().join("juniper.toml")).unwrap();
    let first = text.lines().find(|line| line.starts_with("first")).unwrap();
    folder.write(
        "march.toml",
        &text.replace(first, "first = 2026-03-05T19:30"),
    );
    folder
}

#[test]
fn a_dialogue_comes_out_and_nothing_else() {
    let ended = rehearse(EVENING, &[]);
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
    assert!(ended.out.contains("owner: given"), "{}", ended.out);
    assert!(ended.out.contains("2.1 mL"), "{}", ended.out);
}

#[test]
fn with_json_every_line_is_an_object_of_the_interface() {
    let ended = rehearse(EVENING, &["--json"]);
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
    let mut kinds = Vec::new();
    for line in ended.out.lines() {
        let object: serde_json::Value = serde_json::from_str(line).unwrap();
        for key in ["at", "to", "kind", "facts", "text", "buttons"] {
            assert!(object.get(key).is_some(), "{key}: {line}");
        }
        kinds.push(object["kind"].as_str().unwrap().to_owned());
        if object["kind"] == "answer.remaining" {
            assert_eq!(object["facts"]["remaining_ml"], "2.1");
            assert_eq!(object["to"], "owner:Teo Oakhollow");
        }
    }
    assert!(
        kinds.contains(&"dose.due".to_owned()) && kinds.contains(&"answer.remaining".to_owned()),
        "{kinds:?}"
    );
}

#[test]
fn a_script_in_a_file_says_the_same_as_one_on_standard_input() {
    let folder = with_order();
    folder.write("evening.script", EVENING);
    let arguments = [
        "rehearse",
        "--json",
        "--prescription",
        "march.toml",
        "evening.script",
    ];
    let kinds = |ended: &Ended| {
        let lines = ended
            .out
            .lines()
            .map(|line| serde_json::from_str::<serde_json::Value>(line).unwrap());
        lines
            .map(|line| (line["at"].clone(), line["kind"].clone(), line["to"].clone()))
            .collect::<Vec<_>>()
    };
    let from_file = folder.run(&arguments);
    assert_eq!(from_file.code, 0);
    assert_eq!(kinds(&from_file), kinds(&rehearse(EVENING, &["--json"])));
    assert!(!folder.database().exists(), "its database is thrown away");
}

#[test]
fn a_line_that_cannot_be_read_ends_it_with_its_number() {
    let first = "2026-03-05T19:00:00-07:00 owner mixed\n";
    for (bad, words) in [
        ("yesterday owner given", "yesterday"),
        ("2026-03-05T19:30:00 owner given", "2026-03-05T19:30:00"),
        ("2026-03-05T18:00:00-07:00 owner given", "never go back"),
        ("2026-03-05T19:30:00-07:00 nobody given", "nobody"),
        ("2026-03-05T19:30:00-07:00 owner:Nobody given", "Nobody"),
        ("2026-03-05T19:30:00-07:00 owner [Blue]", "[Blue]"),
        ("2026-03-05T19:30:00-07:00", ""),
    ] {
        let ended = rehearse(&format!("{first}{bad}\n{first}"), &[]);
        assert_eq!(ended.code, 2, "{bad}");
        assert_eq!(ended.err.lines().count(), 1, "{bad}: {}", ended.err);
        assert!(ended.err.starts_with("line 2: "), "{bad}: {}", ended.err);
        assert!(ended.err.contains(words), "{bad}: {}", ended.err);
        assert!(
            ended.out.contains("owner: mixed"),
            "what was before it was played"
        );
    }
}

#[test]
fn an_order_that_is_refused_is_named_by_its_patient() {
    let ended = rehearse("2026-03-09T12:00:00-06:00 owner mixed\n", &[]);
    assert_eq!((ended.code, ended.out.as_str()), (2, ""));
    assert_eq!(ended.err.lines().count(), 1, "{}", ended.err);
    assert!(
        ended.err.starts_with("Juniper: prescription.first: "),
        "{}",
        ended.err
    );
}

/// As in `vialbell rehearse ... | head -1`.
#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let folder = with_order();
    let days: String = (5..28)
        .map(|day| format!("2026-03-{day:02}T12:00:00-07:00 owner how much is left?\n"))
        .collect();
    let mut child = folder
        .command(&["rehearse", "--prescription", "march.toml", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child
        .stdin
        .take()
        .unwrap()
        .write_all(days.as_bytes())
        .unwrap();
    let mut line = String::new();
    BufReader::new(child.stdout.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    let mut said = String::new();
    child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    assert!(child.wait().unwrap().success());
    assert_eq!(said, "");
}
