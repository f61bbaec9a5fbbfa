//! Bad input: one clear line for each mistake, all mistakes of a file at once,
//! an exit code that says so, and nothing changed.

use crate::terminal::{Ended, Folder};

/// Name, what is changed in a good order, and words that its one line holds.
type BadOrder = (
    &'static str,
    &'static [(&'static str, &'static str)],
    &'static [&'static str],
);
const BAD_ORDERS: [BadOrder; 10] = [
    ("malformed", &[("[owner]", "[owner")], &["malformed.toml:6"]),
    (
        "key",
        &[("days = 28", "days = 28\ncolour = 3")],
        &["key.toml:18", "colour"],
    ),
    (
        "zone",
        &[("America/Denver", "America/Denvr")],
        &["zone.toml:9", "America/Denvr"],
    ),
    (
        "product",
        &[("tarnmoss", "moss")],
        &["product.toml:13", "moss"],
    ),
    (
        "weightless",
        &[("\"30\"", "\"0\"")],
        &["weightless.toml", "patient.weight"],
    ),
    (
        "cat",
        &[("\"dog\"", "\"cat\""), ("\"30\"", "\"400\"")],
        &["cat.toml", "400 kg", "cat"],
    ),
    (
        "large",
        &[("14 mg/kg", "6 mL")],
        &["large.toml", "6 mL", "5 mL"],
    ),
    (
        "near",
        &[("\"19:30\"", "\"08:30\""), ("T19:30", "T07:30")],
        &["near.toml", "10"],
    ),
    (
        "past",
        &[("first = 20", "first = 2020-01-01T19:30 # 20")],
        &["past.toml", "in the past"],
    ),
    (
        "both",
        &[("days = 28", "days = 28\ndoses = 5")],
        &["both.toml", "doses"],
    ),
];

#[test]
fn a_bad_order_is_one_clear_line_and_leaves_no_database_behind() {
    for (name, changes, words) in BAD_ORDERS {
        let folder = Folder::new();
        let file = format!("{name}.toml");
        folder.write_order(&file, changes);
        let enrolled = folder.enrol(&file);
        assert_refused(&enrolled, name, words);
        assert_eq!(enrolled.out, "");
        let checked = folder.run(&["check", "--config", "clinic.toml", "--prescription", &file]);
        assert_refused(&checked, name, words);
        assert!(!folder.database().exists(), "{name}");
    }
}

fn assert_refused(ended: &Ended, name: &str, words: &[&str]) {
    assert_eq!(ended.code, 1, "{name}: {ended:?}");
    assert_eq!(ended.err.lines().count(), 1, "{name}: {}", ended.err);
    for word in words {
        assert!(ended.err.contains(word), "{name} {word}: {}", ended.err);
    }
}

#[test]
fn all_mistakes_of_a_file_come_at_once() {
    let folder = Folder::new();
    let changes = [
        ("America/Denver", "America/Denvr"),
        ("tarnmoss", "moss"),
        ("\"30\"", "\"thirty\""),
        ("days = 28", "days = 28\ncolour = 3"),
    ];
    folder.write_order("bad.toml", &changes);
    for ended in [
        folder.enrol("bad.toml"),
        folder.run(&[
            "check",
            "--config",
            "clinic.toml",
            "--prescription",
            "bad.toml",
        ]),
    ] {
        assert_eq!(ended.code, 1);
        assert_eq!(ended.err.lines().count(), 4, "{}", ended.err);
    }
    folder.write(
        "bad-clinic.toml",
        "[clinic]\nname = \"\"\nphone = 5\nzone = \"Nowhere\"\n[odd]\n",
    );
    let ended = folder.run(&["check", "--config", "bad-clinic.toml"]);
    assert_eq!(ended.code, 1);
    assert_eq!(ended.err.lines().count(), 4, "{}", ended.err);
}

#[test]
fn a_refused_order_leaves_a_database_as_it_was() {
    let folder = Folder::new();
    assert_eq!(folder.enrol("juniper.toml").code, 0);
    let before = folder.rows();
    for (name, changes, _) in BAD_ORDERS {
        let file = format!("{name}.toml");
        folder.write_order(&file, changes);
        assert_eq!(folder.enrol(&file).code, 1);
    }
    let nobody = folder.run(&[
        "enrol",
        "--config",
        "clinic.toml",
        "--household",
        "99",
        "juniper.toml",
    ]);
    assert_refused(&nobody, "no such household", &["99"]);
    assert!(before.contains("household 1\n"), "{before}");
    assert_eq!(folder.rows(), before);
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let folder = Folder::new();
    for arguments in [
        &["enrol", "--config", "clinic.toml", "absent.toml"][..],
        &["check", "--config", "absent.toml"],
        &[
            "check",
            "--config",
            "clinic.toml",
            "--prescription",
            "absent.toml",
        ],
        &["serve", "--config", "absent.toml"],
        &["rehearse", "--prescription", "absent.toml", "-"],
        &["rehearse", "--prescription", "juniper.toml", "absent.toml"],
    ] {
        let ended = folder.run(arguments);
        assert_ne!(ended.code, 0, "{arguments:?}");
        assert_eq!(ended.err.lines().count(), 1, "{}", ended.err);
        assert!(ended.err.contains("absent.toml"), "{}", ended.err);
    }
}

/// Neither one that is no database, nor one that is cut short, nor one of a
/// newer program is touched.
#[test]
fn a_database_that_is_not_ours_is_left_as_it_is() {
    let good = Folder::new();
    assert_eq!(good.enrol("juniper.toml").code, 0);
    let whole = good.bytes();
    let mut scribbled = whole.clone();
    scribbled[..100].fill(b'x');
    for (bytes, words) in [
        (
            b"this is no database, whatever its name may say".to_vec(),
            "not a vialbell database",
        ),
        (scribbled, "not a vialbell database"),
        (newer(&good), "newer vialbell"),
    ] {
        let folder = Folder::new();
        std::fs::write(folder.database(), &bytes).unwrap();
        for ended in [
            folder.enrol("juniper.toml"),
            folder.run(&["check", "--config", "clinic.toml"]),
        ] {
            assert_eq!(ended.code, 1, "{ended:?}");
            assert_eq!(ended.err.lines().count(), 1, "{}", ended.err);
            assert!(
                ended.err.contains("vialbell.db") && ended.err.contains(words),
                "{}",
                ended.err
            );
        }
        assert!(folder.bytes() == bytes, "{words}: it was changed");
    }
}

/// The database as a program with one more migration would have left it.
fn newer(folder: &Folder) -> Vec<u8> {
    use sqlx::{AnyConnection, Connection};
    sqlx::any::install_default_drivers();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(async {
        let url = format!("sqlite:{}", folder.database().display());
        let mut connection = AnyConnection::connect(&url).await.unwrap();
        sqlx::query(
            "insert into _sqlx_migrations (version, description, success, checksum, execution_time) \
             values (9999, 'of next year', true, x'00', 1)",
        )
        .execute(&mut connection)
        .await
        .unwrap();
        // All of it into the one file that is copied.
        sqlx::query("pragma wal_checkpoint(truncate)").fetch_all(&mut connection).await.unwrap();
        connection.close().await.unwrap();
    });
    folder.bytes()
}

#[test]
fn a_folder_that_is_not_there_is_no_place_for_a_database() {
    let folder = Folder::new();
    let text = std::fs::read_to_string(folder.path().join("clinic.toml")).unwrap();
    folder.write(
        "clinic.toml",
        &text.replace("sqlite:vialbell.db", "sqlite:absent/vialbell.db"),
    );
    let ended = folder.enrol("juniper.toml");
    assert_refused(&ended, "no folder", &["absent/vialbell.db"]);
}

#[test]
fn a_command_that_nobody_knows_is_refused_with_the_ones_there_are() {
    let folder = Folder::new();
    for arguments in [
        &["remind"][..],
        &["--port", "99999"],
        &["check", "--colour"],
        &["rehearse", "-"],
    ] {
        let ended = folder.run(arguments);
        assert_eq!(ended.code, 2, "{arguments:?}");
        assert!(ended.err.contains("--help"), "{}", ended.err);
        assert_eq!(ended.out, "");
    }
}
