//! A platform that takes its time.

use super::fake::{CLINIC, Clinic, texts, with};
use super::gate::Gate;
use super::home::at;
use chrono::TimeDelta;
use futures_util::future::{BoxFuture, pending};
use sqlx::AnyConnection;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;
use tokio::sync::watch;
use vialbell::domain::Instant;
use vialbell::store::{Moment, StoreError, Watch};

/// Nothing here takes longer; what does never comes.
const PATIENCE: Duration = Duration::from_secs(20);

fn start() -> Instant {
    at("2026-03-06T01:00:00Z")
}

/// A clinic that is served, with two carers, at a platform that limits how fast we speak.
async fn served() -> (Clinic, impl AsyncFnOnce()) {
    let clinic = Clinic::open(start()).await;
    clinic.engine.set_pace(1_000);
    clinic.platform.pace();
    clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    for address in ["maren", "maren-other", CLINIC] {
        clinic.platform.taken(address);
    }
    let (stop, stopped) = watch::channel(false);
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    let end = async move || {
        stop.send(true).unwrap();
        let ended = tokio::time::timeout(PATIENCE, serving).await;
        ended.expect("it ends").unwrap();
    };
    (clinic, end)
}

/// Maren lives there and writes, and the answer waits to be sent.
async fn writes(clinic: &mut Clinic, words: &str) {
    clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    clinic.platform.tried("maren");
    clinic.says("maren", words).await;
    clinic.engine.think(start()).await.unwrap();
}

/// Somebody asks, and the answer is under way until the chat is let go.
async fn asks_and_hangs(clinic: &mut Clinic, address: &str) {
    clinic.platform.hang(address, true);
    clinic.says(address, "when is the next dose?").await;
    let hung = tokio::time::timeout(PATIENCE, clinic.platform.hung()).await;
    hung.expect("it is under way");
}

async fn taken(clinic: &Clinic, address: &str, words: &str) {
    let taken = async {
        while with(&clinic.platform.taken(address), words) == 0 {
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    };
    let taken = tokio::time::timeout(PATIENCE, taken).await;
    assert!(taken.is_ok(), "{address} never reads {words:?}");
}

#[tokio::test]
async fn a_chat_that_does_not_answer_holds_up_no_other() {
    let (mut clinic, end) = served().await;
    asks_and_hangs(&mut clinic, "maren-other").await;
    clinic.says("maren", "when is the next dose?").await;
    taken(&clinic, "maren", "7:30 pm").await;
    clinic.says("maren", "she collapsed").await;
    taken(&clinic, CLINIC, "she collapsed").await;
    // What is for the same chat waits behind it, unless it is urgent.
    clinic.clock.set(start() + TimeDelta::seconds(10));
    clinic.says("maren-other", "when is the next dose?").await;
    clinic.says("maren", "when is the next dose?").await;
    taken(&clinic, "maren", "7:30 pm").await;
    let tried = clinic.platform.tried("maren-other");
    assert_eq!(with(&tried, "next dose"), 1, "{:?}", texts(&tried));
    clinic.platform.hang("maren-other", false);
    taken(&clinic, "maren-other", "7:30 pm").await;
    end().await;
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
}

/// Twenty chats: a fast bot settles several answers in one commit, and most do not come.
#[tokio::test]
async fn what_came_back_to_a_fast_bot_is_settled_while_most_others_hang() {
    let mut clinic = Clinic::open(start()).await;
    let hanging: Vec<String> = (0..20).map(|n| format!("home-{n}")).collect();
    for name in &hanging {
        clinic.enrol(name, start()).await;
    }
    clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    clinic.clock.set(start() + TimeDelta::seconds(10));
    clinic.engine.set_pace(1_000);
    clinic.platform.pace();
    let (_stop, stopped) = watch::channel(false);
    let serving = tokio::spawn(vialbell::serve::work(clinic.engine.clone(), stopped));
    for name in &hanging {
        asks_and_hangs(&mut clinic, name).await;
    }
    clinic.platform.taken("maren");
    for _ in 0..2 {
        clinic.says("maren", "when is the next dose?").await;
        taken(&clinic, "maren", "7:30 pm").await;
    }
    serving.abort();
}

#[tokio::test]
async fn whoever_stops_waits_for_what_is_under_way_and_notes_it() {
    let (mut clinic, end) = served().await;
    asks_and_hangs(&mut clinic, "maren").await;
    let ending = end();
    let released = async {
        tokio::time::sleep(Duration::from_millis(100)).await;
        let outbox = clinic.outbox().await;
        assert_eq!(outbox.get("waiting"), Some(&1), "{outbox:?}");
        clinic.platform.hang("maren", false);
    };
    tokio::join!(ending, released);
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
    assert_eq!(clinic.platform.taken("maren").len(), 1);
}

/// A database that is away.
#[derive(Default)]
struct Away(AtomicBool);

impl Watch for Away {
    fn at<'a>(
        &'a self,
        moment: Moment,
        _: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        let away = self.0.load(Ordering::Relaxed) && moment == Moment::Committing;
        let answer = if away {
            Err(StoreError::Conflict)
        } else {
            Ok(())
        };
        Box::pin(std::future::ready(answer))
    }
}

#[tokio::test]
async fn what_was_sent_and_could_not_be_noted_is_noted_later_and_not_sent_again() {
    let database = Arc::new(Away::default());
    let mut clinic = Clinic::watched(start(), database.clone()).await;
    writes(&mut clinic, "when is the next dose?").await;
    clinic.platform.hang("maren", true);
    let mut under_way = clinic.engine.under_way();
    under_way.go_on(start(), &mut |_| {}).await.unwrap();
    database.0.store(true, Ordering::Relaxed);
    clinic.platform.hang("maren", false);
    under_way.enough_back().await;
    for _ in 0..2 {
        assert!(under_way.go_on(start(), &mut |_| {}).await.is_err());
    }
    database.0.store(false, Ordering::Relaxed);
    let mut told = 0;
    let later = start() + TimeDelta::seconds(5);
    under_way.go_on(later, &mut |_| told += 1).await.unwrap();
    assert_eq!(told, 1);
    drop(under_way);
    // Long after its lease has ended.
    clinic.step(start() + TimeDelta::minutes(5)).await;
    assert_eq!(clinic.platform.tried("maren").len(), 1);
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
}

/// How a commit ends that stood still.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Ends {
    Well,
    /// The database does not take it.
    Refused,
    /// The program dies before it.
    Never,
}

/// A message comes back while another is claimed, and the commit that settles it stands still
/// until the other has left.
async fn stood_still(ends: Ends) -> Clinic {
    let gate = Arc::new(Gate::default());
    let mut clinic = Clinic::watched(start(), gate.clone()).await;
    clinic.engine.set_pace(1_000);
    clinic.platform.pace();
    clinic.enrol("maren", start()).await;
    clinic.step(start()).await;
    clinic.platform.hang("maren", true);
    let engine = clinic.engine.clone();
    let mut under_way = engine.under_way();
    for address in ["maren", "maren-other"] {
        clinic.platform.tried(address);
        clinic.platform.taken(address);
        clinic.says(address, "when is the next dose?").await;
        clinic.engine.think(start()).await.unwrap();
        if address == "maren" {
            under_way.go_on(start(), &mut |_| {}).await.unwrap();
            clinic.platform.hung().await;
        }
    }
    gate.shut.store(true, Ordering::Relaxed);
    let goes_on = async { under_way.go_on(start(), &mut |_| {}).await };
    let looks_on = async {
        // The claim: what was under way comes back meanwhile.
        gate.reached.notified().await;
        clinic.platform.hang("maren", false);
        taken(&clinic, "maren", "dose").await;
        tokio::time::sleep(Duration::from_millis(100)).await;
        gate.passes.notify_one();
        // It is settled, and what was claimed leaves before that is done.
        gate.reached.notified().await;
        taken(&clinic, "maren-other", "dose").await;
        gate.shut.store(false, Ordering::Relaxed);
        gate.refuses.store(ends == Ends::Refused, Ordering::Relaxed);
        if ends == Ends::Never {
            return pending().await;
        }
        gate.passes.notify_one();
    };
    let both = async { tokio::join!(goes_on, looks_on).0 };
    if ends == Ends::Never {
        let both = tokio::time::timeout(Duration::from_secs(2), both).await;
        assert!(both.is_err(), "it stands still");
        drop(under_way);
        return clinic;
    }
    let went = tokio::time::timeout(PATIENCE * 2, both).await;
    // One by one it is taken after all.
    assert!(went.expect("it ends").is_ok());
    under_way.end(&mut |_| {}).await.unwrap();
    clinic
}

#[tokio::test]
async fn what_was_claimed_leaves_while_the_database_stands_still_over_what_was_sent_before() {
    let clinic = stood_still(Ends::Well).await;
    assert_eq!(clinic.outbox().await.get("waiting"), None);
}

#[tokio::test]
async fn what_left_beside_a_commit_that_failed_is_noted_and_not_sent_again() {
    let clinic = stood_still(Ends::Refused).await;
    clinic.step(start() + TimeDelta::minutes(5)).await;
    for address in ["maren", "maren-other"] {
        assert_eq!(clinic.platform.tried(address).len(), 1, "{address}");
    }
    assert_eq!(clinic.outbox().await.get("waiting"), None);
}

#[tokio::test]
async fn what_left_beside_a_commit_that_a_crash_undid_is_sent_again_when_its_lease_has_ended() {
    let clinic = stood_still(Ends::Never).await;
    assert_eq!(clinic.outbox().await["waiting"], 2);
    let now = start() + TimeDelta::seconds(30);
    let clinic = clinic.crash(now).await;
    clinic.engine.set_pace(1_000);
    for (seconds, tried) in [(30, 1), (90, 2)] {
        clinic.step(start() + TimeDelta::seconds(seconds)).await;
        for address in ["maren", "maren-other"] {
            let so_far = clinic.platform.tries_of(address);
            assert_eq!(so_far, tried, "{address} after {seconds} s");
        }
    }
    assert_eq!(clinic.outbox().await.get("waiting"), None);
}

/// Maren writes; the commit that claims the answer stands still until another worker may have
/// claimed it, and be sending it. Gives how often it was tried for her by then, and by the end.
async fn claimed_too_late(words: &str) -> (usize, usize) {
    let gate = Arc::new(Gate::default());
    let mut clinic = Clinic::watched(start(), gate.clone()).await;
    writes(&mut clinic, words).await;
    let engine = clinic.engine.clone();
    let mut under_way = engine.under_way();
    gate.shut.store(true, Ordering::Relaxed);
    let late = start() + TimeDelta::seconds(50);
    let stands_still = async {
        gate.reached.notified().await;
        clinic.clock.set(late);
        gate.shut.store(false, Ordering::Relaxed);
        gate.passes.notify_one();
    };
    let goes_on = async { under_way.go_on(start(), &mut |_| {}).await };
    let (next, ()) = tokio::join!(goes_on, stands_still);
    next.unwrap();
    let at_once = clinic.platform.tries_of("maren");
    let again = start() + TimeDelta::seconds(60);
    clinic.clock.set(again);
    under_way.go_on(again, &mut |_| {}).await.unwrap();
    under_way.end(&mut |_| {}).await.unwrap();
    assert_eq!(clinic.outbox().await.get("waiting"), None);
    (at_once, clinic.platform.tries_of("maren"))
}

#[tokio::test]
async fn what_was_claimed_by_a_commit_that_outlasted_its_lease_is_claimed_anew_and_sent_once() {
    let tried = claimed_too_late("when is the next dose?").await;
    assert_eq!(tried, (0, 1));
}

#[tokio::test]
async fn whom_danger_is_told_of_waits_for_no_lease() {
    let tried = claimed_too_late("she collapsed").await;
    assert_eq!(tried, (1, 1));
}

#[tokio::test]
async fn what_is_claimed_late_in_a_long_turn_is_sent_in_it() {
    let mut clinic = Clinic::open(start()).await;
    writes(&mut clinic, "when is the next dose?").await;
    let engine = clinic.engine.clone();
    let mut under_way = engine.under_way();
    // So many were due at once that to send them took until now.
    clinic.clock.set(start() + TimeDelta::seconds(50));
    under_way.go_on(start(), &mut |_| {}).await.unwrap();
    under_way.end(&mut |_| {}).await.unwrap();
    assert_eq!(clinic.platform.tried("maren").len(), 1);
    assert_eq!(clinic.outbox().await.get("waiting"), None);
}

#[tokio::test]
async fn what_is_under_way_is_not_begun_again_by_a_clock_that_was_set_forward() {
    let mut clinic = Clinic::open(start()).await;
    writes(&mut clinic, "when is the next dose?").await;
    clinic.platform.hang("maren", true);
    let mut under_way = clinic.engine.under_way();
    for minutes in 0..4 {
        let now = start() + TimeDelta::minutes(minutes * 2);
        under_way.go_on(now, &mut |_| {}).await.unwrap();
    }
    assert_eq!(clinic.platform.tried("maren").len(), 1);
    clinic.platform.hang("maren", false);
    under_way.end(&mut |_| {}).await.unwrap();
    let outbox = clinic.outbox().await;
    assert_eq!(outbox.get("waiting"), None, "{outbox:?}");
}

#[tokio::test]
async fn at_a_stop_what_has_come_back_is_noted_while_others_are_under_way() {
    let (mut clinic, end) = served().await;
    asks_and_hangs(&mut clinic, "maren-other").await;
    asks_and_hangs(&mut clinic, "maren").await;
    let ending = end();
    let released = async {
        tokio::time::sleep(Duration::from_millis(100)).await;
        clinic.platform.hang("maren", false);
        let noted = async {
            while clinic.outbox().await["waiting"] != 1 {
                tokio::time::sleep(Duration::from_millis(5)).await;
            }
        };
        let noted = tokio::time::timeout(PATIENCE, noted).await;
        assert!(noted.is_ok(), "it waits for the other");
        clinic.platform.hang("maren-other", false);
    };
    tokio::join!(ending, released);
    assert_eq!(clinic.outbox().await.get("waiting"), None);
}
