//! A failing seed made small: fewer days, fewer faults, fewer homes, as long as
//! the same promise is broken.

use super::run::Ended;
use super::seeds::live_alone;
use super::world::{Cut, World};

/// How many tries it is worth.
const TRIES: u32 = 60;

/// The smallest cut found with the same failure, and how that ended.
pub fn smallest(seed: u64, cut: Cut) -> (Cut, Ended) {
    let first = live_alone(seed, &cut, false);
    let check = first.failure.as_ref().expect("a failing seed").check;
    let start = World::of(seed, &cut).start;
    let mut best = cut;
    let mut tries = 0;
    let mut fails = |cut: &Cut| {
        tries += 1;
        tries <= TRIES
            && live_alone(seed, cut, false)
                .failure
                .is_some_and(|failure| failure.check == check)
    };
    let days = (first.at - start).num_days() + 1;
    if days < best.days {
        let shorter = Cut {
            days,
            ..best.clone()
        };
        if fails(&shorter) {
            best = shorter;
        }
    }
    let homes = World::of(seed, &best).homes.len();
    for home in (0..homes).filter(|_| homes > 1) {
        let alone = Cut {
            homes: Some(vec![home]),
            ..best.clone()
        };
        if fails(&alone) {
            best = alone;
            break;
        }
    }
    let all = Cut {
        faults: None,
        ..best.clone()
    };
    let mut faults: Vec<usize> = (0..World::of(seed, &all).faults.len()).collect();
    let mut part = faults.len().div_ceil(2);
    while part >= 1 {
        let mut at = 0;
        while at < faults.len() {
            let mut fewer = faults.clone();
            fewer.drain(at..(at + part).min(faults.len()));
            let cut = Cut {
                faults: Some(fewer.clone()),
                ..best.clone()
            };
            if fails(&cut) {
                faults = fewer;
                best = cut;
            } else {
                at += part;
            }
        }
        part /= 2;
    }
    let ended = live_alone(seed, &best, true);
    match ended.failure {
        Some(_) => (best, ended),
        None => panic!("seed {seed} does not fail the same way twice"),
    }
}

/// Such as `123/days=4/faults=1,5/homes=0`.
pub fn written(seed: u64, cut: &Cut) -> String {
    let list = |numbers: &Vec<usize>| {
        let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
        numbers.join(",")
    };
    let mut written = format!("{seed}/days={}", cut.days);
    if let Some(faults) = &cut.faults {
        written += &format!("/faults={}", list(faults));
    }
    if let Some(homes) = &cut.homes {
        written += &format!("/homes={}", list(homes));
    }
    written
}

/// Reads what [`written`] wrote.
pub fn parse(text: &str, days: i64) -> (u64, Cut) {
    let mut parts = text.split('/');
    let seed = parts.next().and_then(|seed| seed.parse().ok());
    let seed = seed.unwrap_or_else(|| panic!("VIALBELL_SEED={text} begins with no number"));
    let mut cut = Cut {
        days,
        faults: None,
        homes: None,
    };
    for part in parts {
        let list = |text: &str| -> Vec<usize> {
            text.split(',')
                .filter_map(|number| number.parse().ok())
                .collect()
        };
        match part.split_once('=') {
            Some(("days", days)) => cut.days = days.parse().expect("a number of days"),
            Some(("faults", faults)) => cut.faults = Some(list(faults)),
            Some(("homes", homes)) => cut.homes = Some(list(homes)),
            _ => panic!("VIALBELL_SEED: {part:?} is not understood"),
        }
    }
    (seed, cut)
}

#[test]
fn a_cut_is_read_as_it_was_written() {
    for text in [
        "7/days=30",
        "7/days=4/faults=1,5/homes=0",
        "7/days=4/faults=",
    ] {
        let (seed, cut) = parse(text, 30);
        assert_eq!(written(seed, &cut), text);
    }
}
