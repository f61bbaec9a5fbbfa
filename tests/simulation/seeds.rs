//! Many seeds, or one.

use super::run::{Break, Counts, Ended, live};
use super::shrink::{self, smallest};
use super::world::{Cut, What, World};
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};

/// Seeds of a plain `cargo test`, and for how many days each.
const FEW: (u64, i64) = (6, 9);

/// From so many seeds on, a kind of fault that never struck is a mistake.
const MANY: u64 = 100;

fn number<T: std::str::FromStr>(name: &str) -> Option<T> {
    let text = std::env::var(name).ok()?;
    match text.parse() {
        Ok(number) => Some(number),
        Err(_) => panic!("{name}={text} is no number"),
    }
}

/// Lives one seed on this thread, whatever others do.
pub fn live_alone(seed: u64, cut: &Cut, aloud: bool) -> Ended {
    live_with(seed, cut, aloud, None)
}

/// The same, with something broken on purpose.
pub fn live_with(seed: u64, cut: &Cut, aloud: bool, on_purpose: Option<Break>) -> Ended {
    live(&World::of(seed, cut), aloud, on_purpose)
}

#[test]
fn whatever_goes_wrong_every_promise_is_kept() {
    if let Ok(named) = std::env::var("VIALBELL_SEED") {
        let (seed, cut) = shrink::parse(&named, number("VIALBELL_DAYS").unwrap_or(30));
        let ended = live_alone(seed, &cut, true);
        for line in &ended.story {
            println!("{line}");
        }
        println!("{}", ended.counts);
        if let Some(failure) = ended.failure {
            panic!("{:?} at {}: {}", failure.check, ended.at, failure.what);
        }
        return;
    }
    let count = number("VIALBELL_SEEDS").unwrap_or(FEW.0);
    let days = number("VIALBELL_DAYS").unwrap_or(if count == FEW.0 { FEW.1 } else { 30 });
    let from = number("VIALBELL_FROM").unwrap_or(1_u64);
    let (failed, counts) = live_all(from, count, days);
    println!("{count} seeds of {days} days from {from}: {counts}");
    if count >= MANY {
        assert_eq!(
            counts.by_kind.len(),
            What::KINDS,
            "every kind of fault strikes"
        );
    }
    let Some(seed) = failed.first() else { return };
    let cut = Cut {
        days,
        faults: None,
        homes: None,
    };
    let (cut, ended) = smallest(*seed, cut);
    for line in &ended.story {
        println!("{line}");
    }
    let failure = ended.failure.expect("it failed before");
    panic!(
        "{} of {count} seeds failed: {failed:?}\n{:?} at {}: {}\nVIALBELL_SEED={} cargo test --test simulation -- --nocapture",
        failed.len(),
        failure.check,
        ended.at,
        failure.what,
        shrink::written(*seed, &cut),
    );
}

/// Lives so many seeds, as many at a time as there are cores, each life on one of them:
/// its two threads, ours and the database's, take turns, and to wake one that sleeps
/// on another core took a fifth of the time.
fn live_all(from: u64, count: u64, days: i64) -> (Vec<u64>, Counts) {
    let next = AtomicU64::new(0);
    let failed = Mutex::new(Vec::new());
    let counts = Mutex::new(Counts::default());
    let cores = core_affinity::get_core_ids().unwrap_or_default();
    let threads = std::thread::available_parallelism().map_or(2, usize::from);
    let (next, failed, counts) = (&next, &failed, &counts);
    std::thread::scope(|scope| {
        for place in 0..threads {
            let core = cores.get(place).copied();
            scope.spawn(move || {
                // A database's thread comes from this one and stays where it is.
                core.map(core_affinity::set_for_current);
                loop {
                    let nth = next.fetch_add(1, Ordering::Relaxed);
                    if nth >= count {
                        return;
                    }
                    let seed = from + nth;
                    let cut = Cut {
                        days,
                        faults: None,
                        homes: None,
                    };
                    let ended = live_alone(seed, &cut, false);
                    counts.lock().expect("no panic").add(&ended.counts);
                    if let Some(failure) = ended.failure {
                        println!(
                            "seed {seed}: {:?} at {}: {}",
                            failure.check, ended.at, failure.what
                        );
                        failed.lock().expect("no panic").push(seed);
                    }
                }
            });
        }
    });
    let mut failed = std::mem::take(&mut *failed.lock().expect("no panic"));
    failed.sort_unstable();
    let counts = counts.lock().expect("no panic").clone();
    (failed, counts)
}

#[test]
fn the_same_seed_tells_the_same_story() {
    let cut = Cut {
        days: 6,
        faults: None,
        homes: None,
    };
    let seed = 3;
    let (one, other) = (live_alone(seed, &cut, true), live_alone(seed, &cut, true));
    assert!(one.story.len() > 50, "there is a story");
    // Invitations are drawn from the system's generator.
    let told = |ended: &Ended| -> Vec<String> {
        let lines = ended.story.iter();
        lines
            .filter(|line| !line.contains("/start "))
            .cloned()
            .collect()
    };
    assert_eq!(told(&one), told(&other));
}
