//! The commands that look or take out: board, course, household, export, audit,
//! completions; and the one that erases.

use crate::terminal::{Ended, Folder};
use serde_json::Value;
use std::collections::BTreeMap;
use std::os::unix::fs::PermissionsExt;

/// A clinic with one confirmed order.
fn enrolled() -> Folder {
    let folder = Folder::new();
    let entered = folder.run(&["enrol", "--by", "Ines Marlow", "juniper.toml"]);
    assert_eq!(entered.code, 0, "{}", entered.err);
    let confirmed = folder.run(&["confirm", "--by", "Noor Ashby", "1", "1"]);
    assert_eq!(confirmed.code, 0, "{}", confirmed.err);
    folder
}

fn printed(ended: &Ended) -> &str {
    assert_eq!((ended.code, ended.err.as_str()), (0, ""), "{ended:?}");
    &ended.out
}

fn objects(ended: &Ended) -> Vec<Value> {
    let lines = printed(ended).lines();
    lines
        .map(|line| serde_json::from_str(line).unwrap())
        .collect()
}

#[test]
fn the_board_shows_who_is_under_treatment() {
    let folder = enrolled();
    let told = objects(&folder.run(&["board", "--json"]));
    assert_eq!(told.len(), 1);
    for (key, value) in [
        ("number", "1.1"),
        ("patient", "Juniper"),
        ("owner", "Maren Oakhollow"),
        ("given_of", "0/56"),
    ] {
        assert_eq!(told[0][key], value);
    }
    assert_eq!(told[0]["vials_left"], 24);
    let board = folder.run(&["board"]);
    let lines: Vec<&str> = printed(&board).lines().collect();
    assert!(lines[0].starts_with("COURSE  PATIENT"), "{}", lines[0]);
    assert!(lines[1].starts_with("1.1     Juniper"), "{}", lines[1]);
    assert_eq!(told[0]["state"], "under way");
    // An order that nobody has confirmed would be forgotten if it did not stand here.
    let other = Folder::new();
    assert_eq!(other.enrol("juniper.toml").code, 0);
    let told = objects(&other.run(&["board", "--json"])).remove(0);
    assert_eq!(told["state"], "not confirmed");
    assert_eq!(told["next_dose"], serde_json::Value::Null);
    let households = objects(&other.run(&["household", "list", "--json"]));
    assert_eq!(
        households[0]["not_joined"],
        serde_json::json!(["Maren Oakhollow", "Teo Oakhollow"])
    );
    assert!(printed(&other.run(&["household", "list"])).contains("Maren Oakhollow"));
}

#[test]
fn a_course_is_told_in_words_and_for_a_program() {
    let folder = enrolled();
    let told = objects(&folder.run(&["course", "1.1", "--json"])).remove(0);
    for (key, value) in [
        ("status", "active"),
        ("entered_by", "Ines Marlow"),
        ("confirmed_by", "Noor Ashby"),
        ("veterinarian", "Dr. Idris Fennimore"),
    ] {
        assert_eq!(told[key], value);
    }
    assert_eq!(told["plans"][0]["volume_ml"], "1.5");
    let course = folder.run(&["course", "1.1"]);
    for words in [
        "Juniper, dog, 30 kg",
        "1.5 mL at 07:30, 19:30 (America/Denver)",
        "0 of 56 given",
    ] {
        assert!(printed(&course).contains(words), "{words}: {}", course.out);
    }
}

#[test]
fn a_record_is_exported_whole_and_for_nobody_elses_eyes() {
    let folder = enrolled();
    assert!(
        printed(&folder.run(&["export", "course", "1.1", "--as", "csv"]))
            .starts_with("clinic,household,")
    );
    let fhir = folder.run(&["export", "course", "1.1", "--as", "fhir"]);
    let bundle: Value = serde_json::from_str(printed(&fhir)).unwrap();
    assert_eq!(bundle["resourceType"], "Bundle");
    assert_eq!(
        printed(&folder.run(&["export", "clinic", "out"])),
        "courses: 1, in out\n"
    );
    let out = folder.path().join("out");
    let mut modes: BTreeMap<String, u32> = BTreeMap::new();
    for entry in std::fs::read_dir(&out).unwrap() {
        let entry = entry.unwrap();
        let mode = entry.metadata().unwrap().permissions().mode() & 0o777;
        modes.insert(entry.file_name().into_string().unwrap(), mode);
    }
    assert_eq!(
        modes.into_iter().collect::<Vec<_>>(),
        ["1.1.csv", "1.1.fhir.json", "index.csv"].map(|name| (name.to_owned(), 0o600))
    );
    assert_eq!(out.metadata().unwrap().permissions().mode() & 0o777, 0o700);
    let index = std::fs::read_to_string(out.join("index.csv")).unwrap();
    assert!(index.contains(",Juniper,dog,Maren Oakhollow,"), "{index}");
    let written: Value =
        serde_json::from_str(&std::fs::read_to_string(out.join("1.1.fhir.json")).unwrap()).unwrap();
    assert_eq!(
        written["entry"].as_array().unwrap().len(),
        bundle["entry"].as_array().unwrap().len()
    );
}

#[test]
fn the_audit_says_who_entered_and_who_confirmed() {
    let folder = enrolled();
    let entries = objects(&folder.run(&["audit", "--json"]));
    let who = |change: &str| {
        let of = entries.iter().find(|entry| entry["change"] == change);
        of.map(|entry| entry["who"].as_str().unwrap().to_owned())
    };
    assert_eq!(who("course-started").as_deref(), Some("Ines Marlow"));
    assert_eq!(who("course-confirmed").as_deref(), Some("Noor Ashby"));
    let table = folder.run(&["audit", "--as", "csv", "--household", "1"]);
    let mut reader = csv::Reader::from_reader(printed(&table).as_bytes());
    assert_eq!(reader.records().map(Result::unwrap).count(), entries.len());
    let words = folder.run(&["audit"]);
    assert_eq!(printed(&words).lines().count(), entries.len());
    assert!(
        words
            .out
            .contains("Noor Ashby (the clinic)  course-confirmed:"),
        "{}",
        words.out
    );
    // The span leaves out what was before it and what came after.
    assert_eq!(printed(&folder.run(&["audit", "--from", "2100-01-01"])), "");
    assert_eq!(
        printed(&folder.run(&["audit", "--until", "2000-01-01T00:00:00-07:00"])),
        ""
    );
    let from = folder.run(&["audit", "--from", "2000-01-01", "--until", "2100-01-01"]);
    assert_eq!(printed(&from), words.out);
}

#[test]
fn a_shell_completes_every_command() {
    let folder = Folder::new();
    for shell in ["bash", "zsh", "fish"] {
        let script = folder.run(&["completions", shell]);
        for command in ["board", "export", "audit", "course", "rehearse"] {
            assert!(printed(&script).contains(command), "{shell} {command}");
        }
    }
}

/// One clear line, an exit code that says whether it was the form or the thing, and nothing made.
#[test]
fn what_is_not_there_is_refused_in_one_line() {
    let empty = Folder::new();
    for arguments in [
        &["board"][..],
        &["course", "1.1"],
        &["household", "list"],
        &["export", "clinic", "out"],
        &["audit"],
    ] {
        let ended = empty.run(arguments);
        assert_eq!(ended.code, 1, "{arguments:?}");
        assert_eq!(
            ended.err,
            "vialbell.db: there are no records yet; enrol or serve first\n"
        );
        assert_eq!(ended.out, "");
        assert!(!empty.database().exists() && !empty.path().join("out").exists());
    }
    let folder = enrolled();
    let before = folder.rows();
    folder.write("taken.csv", "mine");
    for (arguments, code, words) in [
        (&["course", "1.2"][..], 1, "household 1 has no course 2"),
        (&["course", "9.1"], 1, "there is no household 9"),
        (
            &["export", "course", "9.1", "--as", "csv"],
            1,
            "there is no household 9",
        ),
        (
            &[
                "export",
                "course",
                "1.1",
                "--as",
                "csv",
                "--to",
                "taken.csv",
            ],
            1,
            "taken.csv",
        ),
        (
            &["export", "clinic", "."],
            1,
            ".: is not empty; name a new folder",
        ),
        (&["export", "clinic", "absent/out"], 1, "absent/out"),
        (&["audit", "--household", "9"], 1, "there is no household 9"),
        (&["course", "one"], 2, "write the household's number"),
        (&["course", "1.-1"], 2, "write the household's number"),
        (
            &["course", "99999999999999999999.1"],
            2,
            "write the household's number",
        ),
        (
            &["export", "course", "1.1", "--as", "xml"],
            2,
            "possible values: csv, fhir",
        ),
        (&["audit", "--from", "yesterday"], 2, "write a date such as"),
        (
            &["audit", "--as", "csv", "--json"],
            2,
            "cannot be used with",
        ),
        (&["completions", "abacus"], 2, "possible values"),
        (&["household"], 2, "list"),
    ] {
        let ended = folder.run(arguments);
        assert_eq!(
            (ended.code, ended.out.as_str()),
            (code, ""),
            "{arguments:?}"
        );
        assert!(ended.err.contains(words), "{arguments:?}: {}", ended.err);
        if code == 1 {
            assert_eq!(ended.err.lines().count(), 1, "{}", ended.err);
        }
    }
    assert_eq!(folder.rows(), before);
    assert_eq!(
        std::fs::read_to_string(folder.path().join("taken.csv")).unwrap(),
        "mine"
    );
}

/// Two clinics in one database do not see each other.
#[test]
fn another_clinics_households_are_not_there() {
    let folder = enrolled();
    let clinic = std::fs::read_to_string(folder.path().join("clinic.toml")).unwrap();
    folder.write(
        "other.toml",
        &clinic.replace("[clinic]", "[clinic]\nkey = \"other\""),
    );
    for (arguments, code, out) in [
        (&["board"][..], 0, "nobody is under treatment\n"),
        (&["household", "list"], 0, "no household is on record\n"),
        (&["audit"], 0, ""),
        (&["course", "1.1"], 1, ""),
        (&["audit", "--household", "1"], 1, ""),
        (&["export", "course", "1.1", "--as", "csv"], 1, ""),
    ] {
        let ended = folder.run(&[arguments, &["--config", "other.toml"]].concat());
        assert_eq!(
            (ended.code, ended.out.as_str()),
            (code, out),
            "{arguments:?} {}",
            ended.err
        );
    }
}

/// What goes is shown first; a course under way hinders it; both flags together
/// or none of them is no answer to whether it is meant.
#[test]
fn a_person_is_erased_only_where_that_is_meant() {
    let folder = Folder::new();
    assert_eq!(folder.enrol("juniper.toml").code, 0);
    let names = "names: Maren Oakhollow, Teo Oakhollow";
    let before = folder.rows();
    for (arguments, code, words) in [
        (&["erase", "1"][..], 2, "--by"),
        (&["erase", "1", "--by", "Ines"], 2, "--yes|--dry-run"),
        (
            &["erase", "1", "--by", "Ines", "--yes", "--dry-run"],
            2,
            "cannot be used with",
        ),
        (&["erase", "one", "--by", "Ines", "--yes"], 2, "invalid"),
        (
            &["erase", "9", "--by", "Ines", "--yes"],
            1,
            "there is no household 9",
        ),
    ] {
        let ended = folder.run(arguments);
        assert_eq!(
            (ended.code, ended.out.as_str()),
            (code, ""),
            "{arguments:?}"
        );
        assert!(ended.err.contains(words), "{arguments:?}: {}", ended.err);
    }
    let dry = folder.run(&["erase", "1", "--by", "Ines", "--dry-run"]);
    assert!(printed(&dry).starts_with(names), "{}", dry.out);
    assert!(dry.out.ends_with("nothing was changed\n"), "{}", dry.out);
    assert_eq!(folder.rows(), before);
    // A confirmed order is under way.
    let other = enrolled();
    let hindered = other.run(&["erase", "1", "--by", "Ines", "--yes"]);
    assert_eq!(hindered.code, 1);
    assert_eq!(hindered.err, "course 1.1 is under way; end it first\n");

    let done = folder.run(&["erase", "1", "--by", "Ines", "--yes"]);
    assert_eq!(done.code, 0, "{}", done.err);
    assert!(done.out.starts_with(names), "{}", done.out);
    assert!(
        done.out.ends_with("household 1 is erased\n"),
        "{}",
        done.out
    );
    for file in std::fs::read_dir(folder.path()).unwrap() {
        let file = file.unwrap();
        let name = file.file_name().into_string().unwrap();
        let bytes = std::fs::read(file.path()).unwrap();
        let holds = |word: &str| bytes.windows(word.len()).any(|at| at == word.as_bytes());
        if name.starts_with("vialbell.db") {
            assert!(
                !holds("Oakhollow") && !holds("Maren") && !holds("Teo"),
                "{name}"
            );
        }
    }
    let course = objects(&folder.run(&["course", "1.1", "--json"])).remove(0);
    assert_eq!(
        (&course["patient"], &course["owner"]),
        (&"Juniper".into(), &"erased".into())
    );
    let again = folder.run(&["erase", "1", "--by", "Ines", "--yes"]);
    assert!(again.out.contains("were erased before"), "{again:?}");
}

#[test]
fn check_and_forecast_tell_a_program_what_they_tell_people() {
    let folder = Folder::new();
    let check = [
        "check",
        "--config",
        "clinic.toml",
        "--prescription",
        "juniper.toml",
    ];
    let lines = folder.run(&check);
    let told = objects(&folder.run(&[&check[..], &["--json"]].concat())).remove(0);
    let holds: Vec<&str> = told["holds"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| line.as_str().unwrap())
        .collect();
    assert_eq!(holds.join("\n") + "\n", printed(&lines));
    assert_eq!(told["wrong"], serde_json::json!([]));
    folder.write_order("bad.toml", &[("tarnmoss", "moss")]);
    let wrong = folder.run(&["check", "--prescription", "bad.toml", "--json"]);
    assert_eq!(wrong.code, 1);
    let told: Value = serde_json::from_str(&wrong.out).unwrap();
    assert_eq!(told["wrong"][0].as_str().unwrap(), wrong.err.trim_end());

    let ahead = objects(&folder.run(&["forecast", "--json", "juniper.toml"])).remove(0);
    let lines = folder.run(&["forecast", "juniper.toml"]);
    assert_eq!(
        ahead["vials"].as_array().unwrap().len() + 1,
        printed(&lines).lines().count()
    );
    let first = printed(&lines).lines().next().unwrap();
    assert!(
        first.contains(ahead["vials"][0]["mixed_at"].as_str().unwrap()),
        "{first}"
    );
    let last = printed(&lines).lines().last().unwrap();
    assert_eq!(
        last,
        format!(
            "56 doses, {} vials, {} mL thrown away",
            ahead["vials"].as_array().unwrap().len(),
            ahead["thrown_ml"].as_str().unwrap()
        )
    );
}

#[test]
fn papers_are_readable_by_their_owner_only_and_never_written_over_a_file() {
    let folder = enrolled();
    for (command, file) in [
        (
            &["paper", "sheet", "1", "1", "from-records.pdf"][..],
            "from-records.pdf",
        ),
        (
            &["sheet", "juniper.toml", "from-order.pdf"],
            "from-order.pdf",
        ),
    ] {
        printed(&folder.run(command));
        let written = folder.path().join(file);
        let mode = std::fs::metadata(&written).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600, "{file}");
        let before = std::fs::read(&written).unwrap();
        let again = folder.run(command);
        assert_ne!(again.code, 0);
        assert!(again.err.contains(file), "{}", again.err);
        assert_eq!(std::fs::read(&written).unwrap(), before);
    }
}

/// Whoever asks a command for help is shown how it is called.
#[test]
fn every_command_shows_an_example() {
    let folder = Folder::new();
    for command in [
        &["serve"][..],
        &["enrol"],
        &["confirm"],
        &["carer"],
        &["paper"],
        &["sheet"],
        &["check"],
        &["forecast"],
        &["rehearse"],
        &["board"],
        &["course"],
        &["household", "list"],
        &["export", "course"],
        &["export", "clinic"],
        &["audit"],
        &["erase"],
        &["completions"],
    ] {
        let help = folder.run(&[command, &["--help"]].concat());
        let called = format!("  vialbell {}", command[0]);
        assert!(
            printed(&help).contains(&called),
            "{command:?}: {}",
            help.out
        );
    }
}

#[test]
fn the_audit_of_the_staff_says_who_was_invited_and_taken_off() {
    let folder = enrolled();
    let added = folder.run(&["staff", "add", "Ines Marrow", "--role", "technician"]);
    assert_eq!((added.code, added.err.as_str()), (0, ""));
    assert_eq!(folder.run(&["staff", "remove", "Ines Marrow"]).code, 0);
    let told = objects(&folder.run(&["audit", "--staff", "--json"]));
    let changes: Vec<(&str, &str)> = told
        .iter()
        .map(|entry| {
            let of = |key: &str| entry[key].as_str().unwrap();
            assert_eq!(of("who"), "terminal");
            (of("change"), of("name"))
        })
        .collect();
    assert_eq!(
        changes,
        [
            ("staff-invited", "Ines Marrow"),
            ("staff-removed", "Ines Marrow")
        ]
    );
    let text = folder.run(&["audit", "--staff"]);
    let lines: Vec<&str> = printed(&text).lines().collect();
    assert_eq!(lines.len(), 2);
    assert!(
        lines[0].ends_with("terminal (terminal)  staff-invited: Ines Marrow"),
        "{}",
        lines[0]
    );
    let csv = folder.run(&["audit", "--staff", "--as", "csv"]);
    assert!(printed(&csv).starts_with("at,who,from,change,name,entry"));
}
