//! What is to be said: in order, claimed for a while, settled once.

use super::counted::{Counted, TELL};
use super::file::File;
use super::home::{at, chat};
use super::postgres;
use super::with_store;
use chrono::TimeDelta;
use futures_util::future::BoxFuture;
use sqlx::{AnyConnection, Connection, Executor};
use std::sync::Arc;
use vialbell::domain::Instant;
use vialbell::domain::household::Chat;
use vialbell::domain::message::{Kind, Label, Lane, Message, Recipient, Tap};
use vialbell::domain::zone::Zone;
use vialbell::store::{
    Buttons, Changed, Claimed, Claims, Moment, Settled, Store, StoreError, ToSend, Watch,
};

fn noon() -> Instant {
    at("2026-03-05T12:00:00Z")
}

fn after(seconds: i64) -> Instant {
    noon() + TimeDelta::seconds(seconds)
}

fn to(chat: Option<Chat>, kind: Kind, name: &str) -> ToSend {
    let message = Message::new(Recipient::Stranger, kind).fact("name", name);
    ToSend {
        household: None,
        carer: 0,
        chat,
        language: "en".into(),
        message,
        cause: "inbox 1".into(),
    }
}

/// An ordinary message to a chat.
fn plain(address: &str, name: &str) -> ToSend {
    to(Some(chat(address)), Kind::DoseDue, name)
}

async fn enqueue(store: &Store, messages: &[ToSend]) -> Result<(), StoreError> {
    let mut work = store.begin().await?;
    work.enqueue("clinic", messages, noon()).await?;
    work.commit().await
}

/// Claims for a minute.
async fn claim(store: &Store, now: Instant, most: u32) -> Result<Vec<Claimed>, StoreError> {
    Ok(claims(store, now, most).await?.messages)
}

async fn claims(store: &Store, now: Instant, most: u32) -> Result<Claims, StoreError> {
    let work = store.begin().await?;
    work.commit_and_claim("clinic", now, now + TimeDelta::seconds(60), most)
        .await
}

async fn settle(store: &Store, id: i64, how: Settled, now: Instant) -> Result<(), StoreError> {
    let mut work = store.begin().await?;
    work.settle_outbox(&[(id, how)], now).await?;
    work.commit().await
}

async fn counts(store: &Store) -> Result<Vec<(String, i64)>, StoreError> {
    let mut work = store.begin().await?;
    work.outbox_counts().await
}

fn sent(external_id: &str) -> Settled {
    Settled::Sent {
        external_id: external_id.into(),
        chat: chat("-1"),
        buttons: Buttons::none(),
    }
}

fn names(claimed: &[Claimed]) -> Vec<String> {
    claimed
        .iter()
        .map(|c| match &c.message.facts["name"] {
            vialbell::domain::message::Value::Text(name) => name.clone(),
            other => format!("{other:?}"),
        })
        .collect()
}

#[test]
fn urgent_lanes_go_first_and_no_more_are_claimed_than_asked_for() {
    with_store(|store| async move {
        let messages = [
            plain("1", "ordinary"),
            to(Some(chat("2")), Kind::RecordedGiven, "prompt"),
            to(Some(chat("3")), Kind::Emergency, "emergency"),
            plain("4", "later"),
        ];
        assert_eq!(messages[2].message.lane, Lane::Emergency);
        enqueue(&store, &messages).await?;
        assert_eq!(
            names(&claim(&store, noon(), 2).await?),
            ["emergency", "prompt"]
        );
        assert_eq!(
            names(&claim(&store, noon(), 9).await?),
            ["ordinary", "later"]
        );
        assert!(
            claim(&store, noon(), 9).await?.is_empty(),
            "each is claimed once"
        );
        Ok(())
    });
}

#[test]
fn buttons_that_end_while_their_message_is_on_its_way_are_taken_off_the_phone() {
    with_store(|store| async move {
        let mut question = plain("1", "asked");
        let taps = [Tap::Neither { question: 1 }, Tap::Neither { question: 2 }];
        for tap in taps {
            question.message = question.message.button(Label::Yes, tap);
        }
        let mut work = store.begin().await?;
        let zone = Zone::named("Europe/Madrid").unwrap();
        let home = work.create_household("clinic", "Wren", "en", zone).await?;
        question.household = Some(home);
        let mut another = question.clone();
        another.chat = Some(chat("2"));
        work.enqueue("clinic", &[question, another], noon()).await?;
        work.commit().await?;
        let [claimed, another] = claim(&store, noon(), 2).await?.try_into().unwrap();
        let first_only = Buttons::of(&claimed.message, |place| place == 0);
        let mut work = store.begin().await?;
        work.set_buttons(&[(claimed.id, first_only)]).await?;
        work.commit().await?;
        let to_change = async || {
            let mut work = store.begin().await?;
            let found = work.buttons_to_change("clinic", noon(), 9).await?;
            work.commit().await?;
            let found: Vec<(i64, Buttons)> =
                found.messages.iter().map(|o| (o.id, o.buttons)).collect();
            Ok::<_, StoreError>(found)
        };
        assert_eq!(to_change().await?, []);
        for (one, external_id) in [(&claimed, "77"), (&another, "78")] {
            let how = Settled::Sent {
                external_id: external_id.into(),
                chat: one.chat.clone(),
                buttons: one.buttons,
            };
            settle(&store, one.id, how, noon()).await?;
        }
        let differing = vec![(claimed.id, first_only)];
        assert_eq!(to_change().await?, differing);
        let mut work = store.begin().await?;
        work.settle_buttons(&[(claimed.id, Changed::Done(first_only))])
            .await?;
        work.commit().await?;
        assert_eq!(to_change().await?, []);
        Ok(())
    });
}

#[test]
fn of_one_chat_only_the_oldest_is_claimed_and_the_next_after_it() {
    with_store(|store| async move {
        enqueue(
            &store,
            &[
                plain("1", "a"),
                plain("1", "b"),
                plain("2", "c"),
                plain("1", "d"),
            ],
        )
        .await?;
        let mut order = Vec::new();
        for _ in 0..4 {
            let claimed = claim(&store, noon(), 9).await?;
            order.push(names(&claimed));
            for one in claimed {
                settle(&store, one.id, sent("x"), noon()).await?;
            }
        }
        assert_eq!(order, [vec!["a", "c"], vec!["b"], vec!["d"], vec![]]);
        Ok(())
    });
}

#[test]
fn a_message_that_has_to_wait_holds_up_its_chat_but_no_emergency() {
    with_store(|store| async move {
        enqueue(&store, &[plain("1", "a"), plain("1", "b")]).await?;
        let first = claim(&store, noon(), 9).await?.remove(0);
        settle(
            &store,
            first.id,
            Settled::Again {
                not_before: after(300),
            },
            noon(),
        )
        .await?;
        assert!(
            claim(&store, after(1), 9).await?.is_empty(),
            "b does not overtake a"
        );
        enqueue(&store, &[to(Some(chat("1")), Kind::Emergency, "now")]).await?;
        let urgent = claim(&store, after(2), 9).await?;
        assert_eq!(names(&urgent), ["now"]);
        settle(&store, urgent[0].id, sent("1"), after(2)).await?;
        let again = claim(&store, after(300), 9).await?;
        assert_eq!(names(&again), ["a"]);
        assert_eq!(again[0].tries, 1);
        assert_eq!(again[0].created_at, noon());
        Ok(())
    });
}

#[test]
fn a_lease_that_ends_gives_the_message_back() {
    with_store(|store| async move {
        enqueue(&store, &[plain("1", "a")]).await?;
        let one = claim(&store, noon(), 9).await?.remove(0);
        assert!(claim(&store, after(59), 9).await?.is_empty());
        let two = claim(&store, after(60), 9).await?.remove(0);
        assert_eq!(one.id, two.id);
        assert_eq!(two.tries, 0, "it was claimed, but no try is known of");
        Ok(())
    });
}

#[test]
fn what_is_settled_is_settled_once() {
    with_store(|store| async move {
        enqueue(&store, &[plain("1", "a")]).await?;
        let one = claim(&store, noon(), 9).await?.remove(0);
        settle(&store, one.id, sent("41"), after(1)).await?;
        // A slow worker comes back with another outcome.
        settle(&store, one.id, Settled::Gone, after(2)).await?;
        settle(
            &store,
            one.id,
            Settled::Again {
                not_before: after(3),
            },
            after(3),
        )
        .await?;
        assert!(claim(&store, after(1_000), 9).await?.is_empty());
        assert_eq!(counts(&store).await?, [("sent".to_owned(), 1)]);
        Ok(())
    });
}

/// Has PostgreSQL believe that outboxes are as it finds this one.
struct Believes;

impl Watch for Believes {
    fn at<'a>(
        &'a self,
        moment: Moment,
        connection: &'a mut AnyConnection,
    ) -> BoxFuture<'a, Result<(), StoreError>> {
        Box::pin(async move {
            if moment == Moment::Committed && connection.backend_name() == "PostgreSQL" {
                connection.execute("analyze outbox").await?;
            }
            Ok(())
        })
    }
}

/// A plan is kept that was made on a quiet day, when the whole outbox was a page.
#[test]
fn a_few_are_settled_without_a_look_at_all_that_wait() {
    with_store(|store| async move {
        let quiet = store.clone().watched(Arc::new(Believes));
        for day in ["1", "2"] {
            enqueue(&quiet, &[plain(day, "a"), plain("3", "a")]).await?;
            for claimed in claim(&quiet, noon(), 9).await? {
                settle(&store, claimed.id, sent("41"), noon()).await?;
            }
        }
        let messages: Vec<ToSend> = (0..3_000).map(|n| plain(&n.to_string(), "a")).collect();
        enqueue(&store, &messages).await?;
        let ways: Vec<(i64, Settled)> = claim(&store, noon(), 9)
            .await?
            .iter()
            .map(|claimed| (claimed.id, sent("41")))
            .collect();
        let looked_at = "select cast(coalesce(sum(idx_tup_fetch + seq_tup_read), 0) as bigint) \
                         from pg_stat_xact_user_tables where relname = 'outbox'";
        // What the connection did before is counted with what it does now, unless it tells that.
        let looked_at = Counted::at(Moment::Committing, looked_at).telling(Moment::Beginning, TELL);
        let looked_at = Arc::new(looked_at);
        let store = store.watched(looked_at.clone());
        let mut work = store.begin().await?;
        work.settle_outbox(&ways, noon()).await?;
        work.commit().await?;
        assert_eq!(looked_at.take(), postgres::is_meant().then_some(9));
        let expected = [("sent".to_owned(), 13), ("waiting".to_owned(), 2_991)];
        assert_eq!(counts(&store).await?, expected);
        Ok(())
    });
}

/// However many there are when PostgreSQL makes its plan: it keeps to one that it made for a
/// few, and where one index fits a page and the other does not, it went by the wrong one.
#[test]
fn a_chats_first_message_is_not_sought_among_all_that_wait() {
    with_store(|store| async move {
        let turns = "select pg_stat_get_numscans(oid) from pg_class where relname = 'outbox_turn'";
        // As if what follows were asked for the first time.
        let anew = "set plan_cache_mode to force_custom_plan";
        let turns = Counted::at(Moment::Committed, turns)
            .telling(Moment::Beginning, anew)
            .telling(Moment::Committed, TELL);
        let turns = Arc::new(turns);
        let quiet = store.clone().watched(Arc::new(Believes));
        let store = store.watched(turns.clone());
        enqueue(&store, &[plain("1", "a"), plain("2", "a")]).await?;
        for claimed in claim(&store, noon(), 9).await? {
            settle(&store, claimed.id, sent("41"), noon()).await?;
        }
        quiet.begin().await?.commit().await?;
        for some in 10..40_u64 {
            // As long as a chat's number is.
            let addresses = (0..20).map(|n| (some * 100 + n) * 1_000_003);
            let messages: Vec<ToSend> = addresses.map(|a| plain(&a.to_string(), "a")).collect();
            enqueue(&store, &messages).await?;
            let before = turns.take();
            assert_eq!(claim(&store, noon(), 9).await?.len(), 9);
            let now = turns.take();
            let each = now.zip(before).map(|(now, before)| now - before);
            // Once for the claim, not for each message.
            assert_eq!(each, postgres::is_meant().then_some(1), "{some}");
        }
        Ok(())
    });
}

#[test]
fn every_way_to_settle_is_kept() {
    with_store(|store| async move {
        let addresses = ["1", "2", "3", "4"];
        let messages: Vec<ToSend> = addresses.iter().map(|a| plain(a, a)).collect();
        enqueue(&store, &messages).await?;
        let ways = [sent("9"), Settled::Late, Settled::Gone, Settled::Refused];
        for (one, how) in claim(&store, noon(), 9).await?.into_iter().zip(ways) {
            settle(&store, one.id, how, noon()).await?;
        }
        let expected = ["gone", "late", "refused", "sent"].map(|state| (state.to_owned(), 1));
        assert_eq!(counts(&store).await?, expected);
        Ok(())
    });
}

#[test]
fn what_waits_for_a_chat_follows_it_to_its_new_address() {
    with_store(|store| async move {
        enqueue(&store, &[plain("1", "a"), plain("1", "b"), plain("2", "c")]).await?;
        let claimed = claim(&store, noon(), 1).await?;
        settle(&store, claimed[0].id, sent("1"), noon()).await?;
        let mut work = store.begin().await?;
        work.readdress("clinic", &chat("1"), "9").await?;
        work.commit().await?;
        let claimed = claim(&store, noon(), 9).await?;
        let went: Vec<&str> = claimed.iter().map(|c| c.chat.address.as_str()).collect();
        assert_eq!(names(&claimed), ["b", "c"]);
        assert_eq!(went, ["9", "2"]);
        Ok(())
    });
}

#[test]
fn the_clinics_messages_wait_for_its_chat_and_follow_it() {
    with_store(|store| async move {
        let alert = |name| to(None, Kind::ClinicMissedDose, name);
        enqueue(&store, &[alert("a"), alert("b")]).await?;
        assert!(
            claim(&store, noon(), 9).await?.is_empty(),
            "there is no chat yet"
        );
        let next = || async { Ok::<_, StoreError>(store.ahead("clinic", noon()).await?.send) };
        assert_eq!(next().await?, None);
        let mut work = store.begin().await?;
        work.bind_clinic_chat("clinic", &chat("-1")).await?;
        work.commit().await?;
        assert_eq!(next().await?, Some(noon()));
        let first = claim(&store, noon(), 9).await?;
        assert_eq!(names(&first), ["a"], "b waits behind a");
        assert_eq!(first[0].chat, chat("-1"));
        settle(
            &store,
            first[0].id,
            Settled::Again {
                not_before: after(300),
            },
            noon(),
        )
        .await?;
        assert!(
            claim(&store, after(1), 9).await?.is_empty(),
            "b still waits behind a"
        );
        // The clinic opens another chat meanwhile: what waits goes there.
        let mut work = store.begin().await?;
        work.bind_clinic_chat("clinic", &chat("-2")).await?;
        work.commit().await?;
        let again = claim(&store, after(300), 9).await?;
        assert_eq!(names(&again), ["a"]);
        assert_eq!(again[0].chat, chat("-2"));
        Ok(())
    });
}

#[test]
fn a_message_to_the_clinic_is_found_by_the_chat_that_it_went_to() {
    with_store(|store| async move {
        let mut work = store.begin().await?;
        work.bind_clinic_chat("clinic", &chat("-1")).await?;
        work.commit().await?;
        let alert = to(None, Kind::ClinicMissedDose, "a");
        enqueue(&store, std::slice::from_ref(&alert)).await?;
        let one = claim(&store, noon(), 9).await?.remove(0);
        settle(&store, one.id, sent("41"), noon()).await?;
        let mut work = store.begin().await?;
        let found = work.sent_message("clinic", &chat("-1"), "41").await?;
        assert_eq!(found, Some((None, alert.message)));
        assert_eq!(work.sent_message("clinic", &chat("-2"), "41").await?, None);
        assert_eq!(work.sent_message("clinic", &chat("-1"), "42").await?, None);
        Ok(())
    });
}

#[test]
fn the_next_send_is_when_something_can_really_be_sent() {
    with_store(|store| async move {
        let next = || async { Ok::<_, StoreError>(store.ahead("clinic", noon()).await?.send) };
        assert_eq!(next().await?, None);
        enqueue(&store, &[plain("1", "a"), plain("1", "b")]).await?;
        assert_eq!(next().await?, Some(noon()));
        let first = claim(&store, noon(), 9).await?.remove(0);
        assert_eq!(
            next().await?,
            Some(after(60)),
            "not before the lease ends; b waits behind a"
        );
        settle(
            &store,
            first.id,
            Settled::Again {
                not_before: after(300),
            },
            noon(),
        )
        .await?;
        assert_eq!(next().await?, Some(after(300)), "b waits behind a");
        enqueue(&store, &[plain("2", "c")]).await?;
        assert_eq!(next().await?, Some(noon()));
        Ok(())
    });
}

#[test]
fn what_was_enqueued_in_a_transaction_that_came_to_nothing_is_never_sent() {
    with_store(|store| async move {
        let mut work = store.begin().await?;
        work.enqueue("clinic", &[plain("1", "a")], noon()).await?;
        drop(work);
        assert!(claim(&store, noon(), 9).await?.is_empty());
        assert_eq!(counts(&store).await?, []);
        Ok(())
    });
}

#[test]
fn messages_are_claimed_after_the_file_was_rebuilt_as_before() {
    with_store(|store| async move {
        enqueue(&store, &[plain("1", "a"), plain("2", "b")]).await?;
        assert_eq!(claim(&store, noon(), 1).await?.len(), 1);
        store.scrub().await?;
        assert_eq!(claim(&store, noon(), 10).await?.len(), 1);
        Ok(())
    });
}

#[tokio::test]
async fn messages_are_claimed_after_the_file_could_not_be_rebuilt_as_before() {
    let file = File::new();
    let store = Store::open(&file.url()).await.unwrap();
    enqueue(&store, &[plain("1", "a")]).await.unwrap();
    let mut other = AnyConnection::connect(&file.url()).await.unwrap();
    other.execute("begin immediate").await.unwrap();
    assert!(store.scrub().await.is_err(), "somebody else writes");
    other.execute("rollback").await.unwrap();
    assert_eq!(claim(&store, noon(), 10).await.unwrap().len(), 1);
}
