//! A second opinion, from outside of Rust: Python's zoneinfo with the PyPI
//! package tzdata, asked through `oracle.py`.

use std::io::Write;
use std::process::{Command, Stdio};

use vialbell::domain::zone::{self, Fits, Zone};

use crate::every_zone::{around, names_by_data};
use crate::reader::Reader;
use crate::wall::{DAY_S, HOUR_S, YEARS, naive};

/// Every zone every seven weeks or so, at an hour that wanders through the day,
/// and around every change of its clock.
fn sample() -> Vec<(&'static str, i64)> {
    let mut sample = Vec::new();
    for (data, names) in names_by_data() {
        let reader = Reader::new(data);
        let mut walls: Vec<i64> = YEARS
            .step_by((50 * DAY_S + 7 * HOUR_S) as usize)
            .chain(reader.transitions(YEARS).into_iter().flat_map(around))
            .collect();
        walls.sort_unstable();
        walls.dedup();
        for name in names {
            sample.extend(walls.iter().map(|wall| (name, *wall)));
        }
    }
    sample
}

/// What `oracle.py` prints for the sample, without its first line, the release.
fn asked(sample: &[(&str, i64)]) -> String {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/zones/oracle.py");
    let mut python = Command::new("python3")
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("python3 cannot be started ({error}): install Python 3.9"));
    let mut stdin = python.stdin.take().expect("a pipe");
    let lines: String = sample
        .iter()
        .map(|(name, wall)| format!("{name}\t{}\n", naive(*wall).format("%Y-%m-%dT%H:%M:%S")))
        .collect();
    // From a thread: Python answers while it reads, and both pipes are finite.
    let writer = std::thread::spawn(move || {
        // A script that ended early says why itself.
        let _ = stdin.write_all(lines.as_bytes());
    });
    let output = python.wait_with_output().expect("an ended process");
    writer.join().expect("the lines were offered");
    assert!(
        output.status.success(),
        "oracle.py failed ({}), see above; `pip install tzdata` if it misses that",
        output.status
    );
    let text = String::from_utf8(output.stdout).expect("ASCII");
    let (version, answers) = text.split_once('\n').expect("a line with the release");
    assert_eq!(
        version,
        zone::release().version,
        "the package tzdata (left) is of another release than the one that \
         decides (right): install the package of that release"
    );
    answers.to_owned()
}

#[test]
#[ignore = "needs python3 and the package tzdata of the deciding release (2026f: pip install tzdata==2026.6)"]
fn a_large_sample_agrees_with_pythons_zoneinfo() {
    let sample = sample();
    let answers = asked(&sample);
    let mut compared = 0;
    for ((name, wall), answer) in sample.iter().zip(answers.lines()) {
        let (first, second) = answer.split_once(' ').expect("two instants");
        let expected: [i64; 2] = [first, second].map(|text| text.parse().expect("seconds"));
        let resolved = Zone::named(name)
            .expect("a name of the database")
            .instant(naive(*wall));
        let at = resolved.at.timestamp();
        let other_reading = match resolved.fits {
            Fits::Once => at,
            Fits::Gap { moved_by_s } => at - moved_by_s,
            Fits::Fold { second } => second.timestamp(),
        };
        assert_eq!([at, other_reading], expected, "{name} {}", naive(*wall));
        compared += 1;
    }
    println!("{compared} wall times agree");
    assert_eq!(compared, sample.len(), "answers for every question");
    assert!(compared >= 200_000, "{compared}");
}
