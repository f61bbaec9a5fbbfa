//! The machine's clock is set back by hours: what waited for an instant of the
//! clock before does not wait until that instant comes again.

use super::fake::{Clinic, unclear};
use super::home::at;
use chrono::TimeDelta;
use std::time::Duration;
use vialbell::channel::Sent;
use vialbell::domain::Instant;

const BACK: TimeDelta = TimeDelta::hours(6);

fn start() -> Instant {
    at("2026-03-06T01:00:00Z")
}

async fn begun() -> Clinic {
    // The order's first dose is not past, whichever clock is right.
    let clinic = Clinic::open(start() - BACK).await;
    clinic.enrol("maren", start() - BACK).await;
    clinic.pass(start() - BACK, start()).await;
    clinic.platform.taken("maren");
    clinic.platform.tried("maren");
    clinic
}

/// What is said to the owner in the minutes after the clock was set back.
async fn said_after(clinic: &Clinic) -> usize {
    let back = start() - BACK;
    for minute in 0..8 {
        clinic.step(back + TimeDelta::minutes(minute)).await;
    }
    clinic.platform.taken("maren").len()
}

#[tokio::test]
async fn a_message_that_waits_to_be_tried_again_goes_when_the_clock_is_set_back() {
    let mut clinic = begun().await;
    clinic.platform.answer("maren", &vec![unclear(); 3]);
    clinic.says("maren", "when is the next dose?").await;
    for seconds in [0, 1, 3] {
        clinic.step(start() + TimeDelta::seconds(seconds)).await;
    }
    assert_eq!(clinic.platform.tried("maren").len(), 3);
    assert_eq!(said_after(&clinic).await, 1);
}

#[tokio::test]
async fn a_message_that_nobody_has_tried_goes_when_the_clock_is_set_back() {
    let mut clinic = begun().await;
    clinic.says("maren", "when is the next dose?").await;
    clinic.engine.think(start()).await.unwrap();
    assert_eq!(clinic.platform.tried("maren"), []);
    assert_eq!(said_after(&clinic).await, 1);
}

#[tokio::test]
async fn a_message_that_was_in_flight_at_a_crash_goes_when_the_clock_is_set_back() {
    let mut clinic = begun().await;
    clinic.says("maren", "when is the next dose?").await;
    clinic.platform.hang("maren", true);
    tokio::select! {
        _ = clinic.step(start()) => panic!("it did not wait for the platform"),
        () = clinic.platform.hung() => {}
    }
    clinic.platform.hang("maren", false);
    let clinic = clinic.crash(start() - BACK).await;
    assert_eq!(said_after(&clinic).await, 1);
}

/// As long as it was asked to, but never for longer than an hour at a time:
/// nobody could tell a longer wait from a clock that was set back.
#[tokio::test]
async fn a_platform_that_asks_for_hours_is_asked_again_after_one() {
    let mut clinic = begun().await;
    let later = |minutes: u64| Sent::Later {
        after: Duration::from_secs(60 * minutes),
    };
    clinic.platform.answer("maren", &[later(40), later(300)]);
    clinic.says("maren", "when is the next dose?").await;
    let tried = async |minute| {
        clinic.step(start() + TimeDelta::minutes(minute)).await;
        clinic.platform.tried("maren").len()
    };
    assert_eq!(tried(0).await, 1);
    assert_eq!(tried(39).await, 0);
    assert_eq!(tried(40).await, 1);
    assert_eq!(tried(99).await, 0);
    // With it what came due behind it meanwhile.
    assert!(tried(100).await >= 1);
}
