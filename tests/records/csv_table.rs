//! The table, read by the crate csv and by Python's csv, against the journal.

use super::lived::{AFTER, Lived, lived, on_runtime};
use super::python;
use std::collections::{BTreeMap, BTreeSet};
use vialbell::domain::Instant;
use vialbell::domain::change::Change;
use vialbell::domain::quantity::Volume;
use vialbell::paper::record::table;

type Row = BTreeMap<String, String>;

fn read(written: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(written.as_bytes());
    reader.deserialize().map(Result::unwrap).collect()
}

fn instant(text: &str) -> Instant {
    text.parse::<chrono::DateTime<chrono::FixedOffset>>()
        .unwrap()
        .to_utc()
}

/// Each record that the journal tells of is one row; each dose without one in force has a row of its own.
fn compare_with_journal(rows: &[Row], lived: &Lived) {
    let mut superseded: BTreeMap<u32, Instant> = BTreeMap::new();
    let mut records = 0;
    let mut settled: BTreeSet<u32> = BTreeSet::new();
    for caused in &lived.journal {
        if let Change::AdministrationSuperseded { administration, at } = &caused.change {
            superseded.insert(*administration, *at);
        }
    }
    for caused in &lived.journal {
        let Change::Administered {
            administration,
            dose,
            local,
            zone,
            planned_at,
            given,
            at,
            recorded_at,
            by,
            volume,
            draws,
            ..
        } = &caused.change
        else {
            continue;
        };
        records += 1;
        let recorded = zone.local(*recorded_at).to_rfc3339();
        let of_it: Vec<&Row> = rows
            .iter()
            .filter(|row| row["dose"] == dose.to_string() && row["recorded_at"] == recorded)
            .collect();
        let [row] = of_it[..] else {
            panic!("dose {dose}: {} rows", of_it.len())
        };
        let status = match (superseded.get(administration), given) {
            (Some(_), _) => "entered-in-error",
            (None, true) => "completed",
            (None, false) => "not-done",
        };
        assert_eq!(row["status"], status, "dose {dose}");
        if status != "entered-in-error" {
            settled.insert(*dose);
        }
        assert_eq!(row["planned_local"], format!("{local:?}"));
        assert_eq!(row["zone"], zone.name());
        assert_eq!(instant(&row["planned"]), *planned_at);
        assert_eq!(row["by"], *by);
        match superseded.get(administration) {
            Some(at) => assert_eq!(instant(&row["superseded_at"]), *at),
            None => assert_eq!(row["superseded_at"], ""),
        }
        if !given {
            assert_eq!(
                (row["given_at"].as_str(), row["volume_ml"].as_str()),
                ("", "")
            );
            continue;
        }
        assert_eq!(instant(&row["given_at"]), *at);
        assert_eq!(Volume::parse(&row["volume_ml"]).unwrap(), *volume);
        // 280 mg in each mL, as the formulary has it.
        let micrograms = volume.millionths() * 280 / 1000;
        assert_eq!(row["mass_mg"], (micrograms / 1000).to_string());
        assert_eq!(micrograms % 1000, 0);
        let drawn: Vec<(Option<u32>, Volume)> = row["vials"]
            .split(' ')
            .map(|part| {
                let (vial, drawn) = part.split_once(':').unwrap();
                (vial.parse().ok(), Volume::parse(drawn).unwrap())
            })
            .collect();
        let told: Vec<(Option<u32>, Volume)> = draws.iter().map(|d| (d.0, d.1)).collect();
        assert_eq!(drawn, told, "dose {dose}");
    }
    let unknown: BTreeSet<u32> = rows
        .iter()
        .filter(|row| row["status"] == "unknown")
        .map(|row| row["dose"].parse().unwrap())
        .collect();
    assert_eq!(rows.len(), records + unknown.len());
    let all: BTreeSet<u32> = (1..=8).collect();
    assert_eq!(
        all.difference(&settled).copied().collect::<BTreeSet<_>>(),
        unknown
    );
}

#[test]
fn times_and_volumes_are_those_of_the_journal() {
    on_runtime(async {
        let lived = lived(AFTER).await;
        let rows = read(&lived.recorded(table));
        compare_with_journal(&rows, &lived);
        let statuses: Vec<&str> = rows.iter().map(|row| row["status"].as_str()).collect();
        assert_eq!(
            statuses,
            [
                "completed",
                "entered-in-error",
                "completed",
                "not-done",
                "completed",
                "unknown",
                "unknown",
                "completed",
                "completed"
            ]
        );
    });
}

/// What is planned for later has no row; what is due and open has one that says so.
#[test]
fn a_course_under_way_has_rows_up_to_now() {
    on_runtime(async {
        let lived = lived("2026-03-07T02:30:30Z").await;
        let rows = read(&lived.recorded(table));
        let of: Vec<(&str, &str)> = rows
            .iter()
            .map(|row| (row["dose"].as_str(), row["status"].as_str()))
            .collect();
        assert_eq!(
            of,
            [
                ("1", "completed"),
                ("2", "entered-in-error"),
                ("2", "completed"),
                ("3", "unknown")
            ]
        );
        assert_eq!(rows[3]["window_closed_at"], "");
    });
}

/// Words that a spreadsheet would carry out (OWASP, "CSV Injection"), and words
/// that would break a line.
const WORDS: [(&str, &str); 6] = [
    ("=1+1", "'=1+1"),
    ("+1 555 0142", "'+1 555 0142"),
    ("-2", "'-2"),
    ("@SUM(A1)", "'@SUM(A1)"),
    ("Ju,ni\"per\r\nRex", "Ju,ni\"per\r\nRex"),
    ("Ñandú 日本犬", "Ñandú 日本犬"),
];

#[test]
fn words_stay_words_in_a_spreadsheet() {
    on_runtime(async {
        let mut lived = lived(AFTER).await;
        for (word, written) in WORDS {
            lived.household.owner = word.into();
            lived.household.patients.get_mut(&1).unwrap().name = word.into();
            let rows = read(&lived.recorded(table));
            assert_eq!(rows.len(), 9, "{word}");
            for row in rows {
                assert_eq!(
                    (row["owner"].as_str(), row["patient"].as_str()),
                    (written, written)
                );
            }
        }
    });
}

#[test]
#[ignore = "needs python3"]
fn pythons_csv_reads_the_same() {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/records/read_table.py");
    on_runtime(async {
        let mut lived = lived(AFTER).await;
        for (word, _) in WORDS {
            lived.household.owner = word.into();
            let written = lived.recorded(table);
            let output = python::run("python3", &[script], &written);
            let said = String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{said}");
            let rows: Vec<Row> = String::from_utf8(output.stdout)
                .unwrap()
                .lines()
                .map(|line| serde_json::from_str(line).unwrap())
                .collect();
            assert_eq!(rows, read(&written), "{word}");
            compare_with_journal(&rows, &lived);
        }
    });
}

/// The comparison can fail: a volume, a time and a status that are off are found.
#[test]
fn a_table_that_is_off_is_found_out() {
    on_runtime(async {
        let lived = lived(AFTER).await;
        let good = lived.recorded(table);
        for (from, to) in [
            (",1.5,420,", ",1.6,420,"),
            ("T07:33:00-07:00", "T07:34:00-07:00"),
            ("entered-in-error", "completed"),
            (",unknown,", ",not-done,"),
        ] {
            assert!(good.contains(from), "{from}");
            let rows = read(&good.replacen(from, to, 1));
            let compared = std::panic::catch_unwind(std::panic::AssertUnwindSafe(|| {
                compare_with_journal(&rows, &lived);
            }));
            assert!(compared.is_err(), "{from} -> {to} was not seen");
        }
    });
}
