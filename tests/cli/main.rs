//! The program at its command line: what it prints, what it refuses, in how
//! many lines, and that a refusal changes nothing.

mod first_steps;
mod looked;
mod refused;
mod rehearsed;
mod terminal;

use terminal::{Ended, Folder};

#[test]
fn every_command_explains_itself() {
    let folder = Folder::new();
    for (arguments, words) in [
        (
            &["--help"][..],
            &["serve", "enrol", "check", "rehearse", "--port"][..],
        ),
        (
            &["serve", "--help"],
            &["--config", "VIALBELL_TELEGRAM_TOKEN"],
        ),
        (&["enrol", "--help"], &["--config", "--household", "<FILE>"]),
        (&["confirm", "--help"], &["--by", "--config"]),
        (&["check", "--help"], &["--config", "--prescription"]),
        (
            &["rehearse", "--help"],
            &["--json", "--prescription", "standard input"],
        ),
    ] {
        let ended = folder.run(arguments);
        assert_eq!(ended.code, 0);
        for word in words {
            assert!(
                ended.out.contains(word),
                "{arguments:?} {word}: {}",
                ended.out
            );
        }
        assert_eq!(ended.err, "");
    }
    let version = folder.run(&["--version"]);
    assert_eq!(
        version.out.trim(),
        concat!("vialbell ", env!("CARGO_PKG_VERSION"))
    );
}

#[test]
fn check_says_what_holds_and_which_zone_rules_decide() {
    let folder = Folder::new();
    let ended = folder.run(&[
        "check",
        "--config",
        "clinic.toml",
        "--prescription",
        "juniper.toml",
    ]);
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
    for words in [
        "Brindlewick Animal Clinic",
        "IANA tz database",
        "decides",
        "juniper.toml:",
        "Juniper",
        "1.5 mL",
    ] {
        assert!(ended.out.contains(words), "{words}: {}", ended.out);
    }
    assert!(!folder.database().exists(), "it only looked");
}

#[test]
fn the_readme_shows_what_check_prints_of_an_order() {
    let readme = include_str!("../../README.md");
    let (_, shown) = readme.split_once("```text\njuniper.toml:\n").unwrap();
    let (shown, _) = shown.split_once("```").unwrap();
    let printed = Folder::new()
        .run(&["check", "--prescription", "juniper.toml"])
        .out;
    assert!(printed.contains(shown), "{printed}");
}

/// A vial with a limit of 36 h and 2 mL gives the three doses of 0.4 mL that fall
/// inside it, not the five that it holds.
#[test]
fn forecast_walks_the_vials_by_their_limit() {
    let folder = Folder::new();
    let changes = [("tarnmoss", "brackenreed"), ("14 mg/kg", "0.4 mL")];
    folder.write_order("short.toml", &changes);
    let ended = folder.run(&["forecast", "short.toml"]);
    assert_eq!(ended.code, 0, "{}", ended.err);
    let vials: Vec<&str> = ended
        .out
        .lines()
        .filter(|l| l.starts_with("vial "))
        .collect();
    assert!(vials[0].ends_with("0.8 mL thrown away"), "{}", ended.out);
    let last = ended.out.lines().last().unwrap();
    assert!(last.contains(&format!("{} vials", vials.len())), "{last}");
}

/// A database of an older program is brought up to date when it is served,
/// not when somebody looks.
#[test]
fn check_leaves_the_database_as_it_is() {
    let folder = Folder::new();
    assert_eq!(folder.enrol("juniper.toml").code, 0);
    let before = folder.bytes();
    let ended = folder.run(&["check", "--config", "clinic.toml"]);
    assert_eq!((ended.code, ended.err.as_str()), (0, ""));
    assert_eq!(folder.bytes(), before);
}

#[test]
fn enrol_prints_the_household_and_a_link_for_each_carer() {
    let folder = Folder::new();
    let Ended { code, out, .. } = folder.enrol("juniper.toml");
    assert_eq!(code, 0);
    let lines: Vec<&str> = out.lines().collect();
    let [household, maren, teo, .., next] = lines.as_slice() else {
        panic!("{out}")
    };
    assert_eq!(*household, "household 1, course 1");
    assert_eq!(*next, "vialbell confirm --by NAME 1 1");
    for (line, name) in [(maren, "Maren Oakhollow"), (teo, "Teo Oakhollow")] {
        let start = format!("{name}: https://t.me/invented_clinic_bot?start=");
        let code = line
            .strip_prefix(&start)
            .unwrap_or_else(|| panic!("{line}"));
        // The Bot API's documentation, "Deep linking": at most 64 of these.
        assert!(
            code.len() <= 64
                && code
                    .bytes()
                    .all(|b| b.is_ascii_alphanumeric() || b"_-".contains(&b))
        );
    }
    assert_ne!(
        maren.split_once("start=").unwrap().1,
        teo.split_once("start=").unwrap().1
    );
}

/// A change is read back first; a dose needs a second person, an end does not.
#[test]
fn an_order_is_changed_by_two_people_and_ended_by_one() {
    let folder = Folder::new();
    let by = |name: &str, command: &[&str]| {
        let mut words = command.to_vec();
        words.extend(["--config", "clinic.toml", "--by", name]);
        folder.run(&words)
    };
    assert_eq!(by("Ann Ray", &["enrol", "juniper.toml"]).code, 0);
    let dose = ["order", "change", "1", "1", "dose", "1.2 mL", "--yes"];
    let too_early = by("Ann Ray", &dose);
    assert_eq!(too_early.code, 1, "{too_early:?}");
    assert!(too_early.err.contains("not confirmed yet"), "{too_early:?}");
    assert_eq!(by("Teo Reed", &["confirm", "1", "1"]).code, 0);
    for (name, command, code, words) in [
        (
            "Ann Ray",
            &["order", "change", "1", "1", "dose", "1.2"][..],
            1,
            "must end in mg/kg, mg or mL",
        ),
        (
            "Ann Ray",
            &["order", "change", "9", "1", "days", "3"],
            1,
            "household 9 has no course 1",
        ),
        (
            "Ann Ray",
            &dose,
            0,
            "Before: 1.5 mL (14 mg/kg).\nAfter: 1.2 mL.",
        ),
        (
            "ann ray",
            &["order", "confirm", "1", "1"],
            1,
            "a second person has to confirm it",
        ),
        (
            "Teo Reed",
            &["order", "confirm", "1", "1"],
            0,
            "It takes effect now.",
        ),
        (
            "Teo Reed",
            &["order", "confirm", "1", "1"],
            1,
            "answered before",
        ),
        (
            "Ann Ray",
            &["order", "resume", "1", "1", "--yes"],
            1,
            "it is not paused",
        ),
        // Nobody says yes at the end of an empty standard input.
        (
            "Ann Ray",
            &["order", "end", "1", "1"],
            0,
            "Nothing was changed.",
        ),
        (
            "Ann Ray",
            &["order", "end", "1", "1", "--yes"],
            0,
            "It takes effect now.",
        ),
        (
            "Ann Ray",
            &["order", "end", "1", "1", "--yes"],
            1,
            "the course has ended",
        ),
    ] {
        let ended = by(name, command);
        assert_eq!(ended.code, code, "{command:?}: {ended:?}");
        let said = if code == 0 { &ended.out } else { &ended.err };
        assert!(said.contains(words), "{command:?}: {ended:?}");
    }
}

/// Whoever entered an order is not the second person who checks it.
#[test]
fn a_second_person_confirms_an_order_once() {
    let folder = Folder::new();
    let mut entered = vec!["enrol", "--config", "clinic.toml", "--by", "Ann Ray"];
    entered.push("juniper.toml");
    assert_eq!(folder.run(&entered).code, 0);
    let confirm = |by: &str, course: &str| {
        folder.run(&[
            "confirm",
            "--config",
            "clinic.toml",
            "--by",
            by,
            "1",
            course,
        ])
    };
    for (by, course, code, words) in [
        ("Ann Ray", "1", 1, "a second person has to confirm it"),
        ("Dr. Idris Fennimore", "2", 1, "household 1 has no course 2"),
        (
            "Dr. Idris Fennimore",
            "1",
            0,
            "confirmed by Dr. Idris Fennimore",
        ),
        (
            "Teo Reed",
            "1",
            0,
            "it was confirmed before, by Dr. Idris Fennimore",
        ),
    ] {
        let ended = confirm(by, course);
        assert_eq!(ended.code, code, "{ended:?}");
        let said = if code == 0 { &ended.out } else { &ended.err };
        assert_eq!(said.lines().count(), 1, "{ended:?}");
        assert!(said.contains(words), "{ended:?}");
    }
}

/// A server that nobody answers at is not taken for one that holds nothing yet.
#[test]
fn check_says_so_where_the_server_cannot_be_reached() {
    let folder = Folder::new();
    let clinic = std::fs::read_to_string(folder.path().join("clinic.toml")).unwrap();
    let server = "postgres://nobody@127.0.0.1:1/vialbell";
    folder.write("clinic.toml", &clinic.replace("sqlite:vialbell.db", server));
    let ended = folder.run(&["check", "--config", "clinic.toml"]);
    assert_ne!(ended.code, 0, "{ended:?}");
    assert!(
        ended
            .err
            .starts_with("postgres://127.0.0.1/vialbell: cannot be used now"),
        "{}",
        ended.err
    );
}
