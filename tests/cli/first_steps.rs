//! A clinic's first files, and every message in print.

use super::terminal::{Ended, Folder};

const ANSWERS: [&str; 10] = [
    "--name",
    "Brindlewick Animal Clinic",
    "--phone",
    "+1 555 0142",
    "--emergency-phone",
    "none",
    "--zone",
    "America/Denver",
    "--hours",
    "08:00-17:30",
];

fn init(folder: &Folder, answers: &[&str]) -> Ended {
    let mut arguments = vec!["init", "--folder", "clinic"];
    arguments.extend(answers);
    folder.run(&arguments)
}

#[test]
fn init_writes_files_that_check_reads_and_never_writes_over_one() {
    let folder = Folder::new();
    let place = folder.path().join("clinic");
    let init = || init(&folder, &ANSWERS);
    let done = init();
    assert_eq!(done.code, 0, "{}", done.err);
    let file = place.join("clinic.toml");
    let written = std::fs::read_to_string(&file).unwrap();
    assert!(written.contains("name = \"Brindlewick Animal Clinic\""));
    assert!(written.contains("friday = \"08:00-17:30\""));
    let own_words = |line: &&str| line.starts_with("[[protocol]]") || line.starts_with("[[note]]");
    assert_eq!(
        written.lines().find(own_words),
        None,
        "an invented clinic's words"
    );
    assert!(
        !written
            .lines()
            .any(|line| line.starts_with("emergency_phone"))
    );

    // No product stands there yet: `check` says so, and what to do.
    let check = || folder.run(&["check", "--config", "clinic/clinic.toml"]);
    let Ended {
        code, err: said, ..
    } = check();
    assert_eq!(code, 1);
    assert!(
        said.contains("formulary.toml") && said.contains("[product.KEY]"),
        "{said}"
    );
    let product = "[product.tarnmoss]\nname = \"T\"\nvial_mg = \"1000\"\ndiluent = \"water\"\n\
        diluent_ml = \"3\"\navailable_ml = \"3.6\"\nconcentration_mg_per_ml = \"280\"\n\
        refrigerated_hours = 168\nsource = \"invented\"\n";
    std::fs::write(place.join("formulary.toml"), product).unwrap();
    let checked = check();
    assert_eq!(checked.code, 0, "{}", checked.err);

    let Ended {
        code, err: said, ..
    } = init();
    assert_eq!(code, 1);
    assert!(
        said.contains("is there already; nothing was written"),
        "{said}"
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), written);
}

/// What a group of clinics on one database needs to be told apart.
#[test]
fn init_takes_a_key_and_a_store() {
    let folder = Folder::new();
    let store = "postgres://vialbell@localhost/vialbell";
    let mut answers = ANSWERS.to_vec();
    answers.extend(["--key", "east", "--store", store]);
    let done = init(&folder, &answers);
    assert_eq!(done.code, 0, "{}", done.err);
    let file = folder.path().join("clinic/clinic.toml");
    let written = std::fs::read_to_string(file).unwrap();
    assert!(written.contains("\nkey = \"east\"\n"), "{written}");
    assert!(written.contains(&format!("\nurl = \"{store}\"\n")));

    let folder = Folder::new();
    let mut answers = ANSWERS.to_vec();
    answers.extend(["--key", "East Side"]);
    let Ended { code, err, .. } = init(&folder, &answers);
    assert_eq!(code, 1);
    assert!(err.contains("is no key"), "{err}");
}

#[test]
fn init_with_an_answer_that_cannot_be_used_leaves_nothing_behind() {
    let folder = Folder::new();
    let mut answers = ANSWERS;
    answers[7] = "America/Denvr";
    let Ended {
        code, err: said, ..
    } = init(&folder, &answers);
    assert_eq!(code, 1);
    assert!(
        said.contains("America/Denver"),
        "it says what may be meant: {said}"
    );
    assert_eq!(
        std::fs::read_dir(folder.path().join("clinic"))
            .unwrap()
            .count(),
        0
    );
}

#[test]
fn the_gallery_has_every_kind_in_both_languages() {
    let Ended {
        code, out: text, ..
    } = Folder::new().run(&["gallery"]);
    assert_eq!(code, 0);
    for kind in vialbell::domain::message::Kind::ALL {
        assert!(text.contains(kind.name()), "{}", kind.name());
    }
    assert!(text.contains("Call your clinic") && text.contains("Llama a tu clínica"));
}
