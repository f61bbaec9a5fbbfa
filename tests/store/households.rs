//! Versions, what is due, and transactions that came to nothing.

use super::counted::Counted;
use super::home::{CONFIG, at, chat, order};
use super::postgres;
use super::with_store;
use chrono::TimeDelta;
use std::sync::Arc;
use vialbell::clock::ManualClock;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::change::{Change, apply};
use vialbell::domain::household::Household;
use vialbell::domain::message::{Kind, Message, Recipient};
use vialbell::domain::zone::Zone;
use vialbell::engine::{Confirmation, Engine};
use vialbell::store::{Caused, Loaded, Moment, Saving, Store, StoreError, ToSend};
use vialbell::wording::Wording;

fn zone() -> Zone {
    Zone::named("America/Denver").unwrap()
}

fn noon() -> Instant {
    at("2026-03-05T12:00:00Z")
}

/// A household with one carer and the instant at which it is to be looked at.
async fn household(store: &Store, wake_at: Option<Instant>) -> Result<Loaded, StoreError> {
    let mut work = store.begin().await?;
    let id = work
        .create_household("clinic", "Maren", "en", zone())
        .await?;
    let mut household = Household::new(id, "clinic", "Maren", "en", zone());
    let added = Change::CarerAdded {
        carer: 1,
        name: "Maren".into(),
    };
    apply(&mut household, &added);
    let changes = [caused(added)];
    work.save(&[Saving {
        household: &household,
        version: 0,
        changes: &changes,
        wake_at,
    }])
    .await?;
    work.commit().await?;
    Ok(Loaded {
        shown: Vec::new(),
        household,
        version: 1,
    })
}

fn caused(change: Change) -> Caused {
    Caused {
        at: noon(),
        cause: "test".into(),
        change,
    }
}

fn said(text: &str) -> Caused {
    caused(Change::CarerSaid {
        carer: 1,
        text: text.into(),
    })
}

async fn load(store: &Store, id: i64) -> Result<Loaded, StoreError> {
    let mut work = store.begin().await?;
    let loaded = work.load(&[id]).await?.remove(0);
    work.commit().await?;
    Ok(loaded)
}

#[test]
fn of_two_who_decide_on_one_state_only_the_first_is_kept() {
    with_store(|store| async move {
        let before = household(&store, None).await?;
        let id = before.household.id;
        for (words, kept) in [("first", true), ("second", false)] {
            let mut after = before.household.clone();
            let changes = [said(words)];
            apply(&mut after, &changes[0].change);
            let mut work = store.begin().await?;
            let saved = async {
                work.save(&[Saving {
                    household: &after,
                    version: before.version,
                    changes: &changes,
                    wake_at: None,
                }])
                .await?;
                work.commit().await
            };
            match saved.await {
                Ok(()) => assert!(kept),
                Err(StoreError::Conflict) => assert!(!kept),
                Err(other) => return Err(other),
            }
        }
        let now = load(&store, id).await?;
        assert_eq!(now.household.carers[&1].said.as_deref(), Some("first"));
        assert_eq!(now.version, 2);
        let mut work = store.begin().await?;
        assert_eq!(
            work.journal(id).await?.len(),
            2,
            "nothing of the second is in the journal"
        );
        Ok(())
    });
}

/// Of many homes that are reminded at once each has its last words noted, or forgotten.
#[test]
fn what_carers_say_changes_hardly_any_index() {
    with_store(|store| async move {
        let mut homes = Vec::new();
        for _ in 0..300 {
            homes.push(household(&store, None).await?);
        }
        let changes = [said("hello")];
        for home in &mut homes {
            apply(&mut home.household, &changes[0].change);
        }
        let savings: Vec<Saving> = homes
            .iter()
            .map(|home| Saving {
                household: &home.household,
                version: home.version,
                changes: &changes,
                wake_at: None,
            })
            .collect();
        // So that no index had to learn of it.
        let on_their_page =
            "select n_tup_hot_upd from pg_stat_xact_user_tables where relname = 'carer'";
        let on_their_page = Arc::new(Counted::at(Moment::Committing, on_their_page));
        let mut work = store.clone().watched(on_their_page.clone()).begin().await?;
        work.save(&savings).await?;
        work.commit().await?;
        let counted = on_their_page.take();
        assert_eq!(counted.is_some(), postgres::is_meant());
        if let Some(counted) = counted {
            assert!(counted > 250, "{counted} of 300 were changed on their page");
        }
        let now = load(&store, homes[299].household.id).await?;
        assert_eq!(now.household.carers[&1].said.as_deref(), Some("hello"));
        Ok(())
    });
}

#[test]
fn a_household_that_is_not_there_is_not_written_and_loads_as_nothing() {
    with_store(|store| async move {
        let nobody = Household::new(77, "clinic", "Nobody", "en", zone());
        let mut work = store.begin().await?;
        let saved = async {
            work.save(&[Saving {
                household: &nobody,
                version: 0,
                changes: &[said("hello")],
                wake_at: None,
            }])
            .await?;
            work.commit().await
        };
        assert!(matches!(saved.await, Err(StoreError::Query(_))));
        let mut work = store.begin().await?;
        assert!(work.load(&[77]).await?.is_empty());
        assert!(work.journal(77).await?.is_empty());
        Ok(())
    });
}

#[test]
fn due_are_those_that_waited_longest_first_and_no_more_than_asked_for() {
    with_store(|store| async move {
        let minutes = [30, 10, 20, 10];
        let mut ids = Vec::new();
        for minute in minutes {
            let wake = noon() + TimeDelta::minutes(minute);
            ids.push(household(&store, Some(wake)).await?.household.id);
        }
        household(&store, None).await?;
        let ahead = store.ahead("clinic", noon()).await?;
        assert_eq!(ahead.wake, Some(noon() + TimeDelta::minutes(10)));
        let mut work = store.begin().await?;
        assert_eq!(
            work.due("clinic", noon() + TimeDelta::minutes(9), 9)
                .await?,
            [] as [i64; 0]
        );
        let just = noon() + TimeDelta::minutes(10);
        assert_eq!(work.due("clinic", just, 9).await?, [ids[1], ids[3]]);
        let all = noon() + TimeDelta::hours(1);
        assert_eq!(
            work.due("clinic", all, 9).await?,
            [ids[1], ids[3], ids[2], ids[0]]
        );
        assert_eq!(work.due("clinic", all, 3).await?, [ids[1], ids[3], ids[2]]);
        work.put_off(ids[1], noon() + TimeDelta::hours(2)).await?;
        assert_eq!(work.due("clinic", all, 1).await?, [ids[3]]);
        Ok(())
    });
}

#[test]
fn a_transaction_that_was_dropped_leaves_nothing() {
    with_store(|store| async move {
        let before = household(&store, Some(noon())).await?;
        let id = before.household.id;
        let mut after = before.household.clone();
        let changes = [said("lost")];
        apply(&mut after, &changes[0].change);
        let mut work = store.begin().await?;
        work.save(&[Saving {
            household: &after,
            version: 1,
            changes: &changes,
            wake_at: None,
        }])
        .await?;
        work.create_household("clinic", "Lost", "en", zone())
            .await?;
        work.accept("clinic", "test", &[], noon()).await?;
        drop(work);
        assert_eq!(load(&store, id).await?, before);
        let mut work = store.begin().await?;
        assert_eq!(work.households("clinic").await?, [id]);
        assert_eq!(work.journal(id).await?.len(), 1);
        work.commit().await?;
        let ahead = store.ahead("clinic", noon()).await?;
        assert_eq!(ahead.wake, Some(noon()));
        Ok(())
    });
}

#[test]
fn a_transaction_in_which_a_statement_failed_can_be_dropped_and_the_next_works() {
    with_store(|store| async move {
        let one = household(&store, None).await?.household;
        let two = household(&store, None).await?.household;
        let joined = |to: &Household| {
            let mut to = to.clone();
            let changes = [caused(Change::CarerJoined {
                carer: 1,
                chat: chat("same"),
            })];
            apply(&mut to, &changes[0].change);
            (to, changes)
        };
        let (first, changes) = joined(&one);
        let mut work = store.begin().await?;
        work.save(&[Saving {
            household: &first,
            version: 1,
            changes: &changes,
            wake_at: None,
        }])
        .await?;
        work.commit().await?;
        let (second, changes) = joined(&two);
        let mut work = store.begin().await?;
        let saving = Saving {
            household: &second,
            version: 1,
            changes: &changes,
            wake_at: None,
        };
        // In SQLite it is written with the commit.
        let saved = match work.save(&[saving]).await {
            Ok(()) => work.commit().await,
            Err(error) => {
                drop(work);
                Err(error)
            }
        };
        assert!(
            matches!(saved, Err(StoreError::Query(_))),
            "a chat speaks for one household"
        );
        let mut work = store.begin().await?;
        assert_eq!(
            work.carer_of_chat("clinic", &chat("same")).await?,
            Some((one.id, 1))
        );
        work.commit().await?;
        assert_eq!(load(&store, two.id).await?.household, two);
        Ok(())
    });
}

#[test]
fn a_transaction_in_which_a_statement_failed_is_never_kept_by_halves() {
    with_store(|store| async move {
        let mut work = store.begin().await?;
        let arrival = Arrival {
            external_id: "1".into(),
            address: "7".into(),
            sender: None,
            sender_id: None,
            reply_to: None,
            body: Body::Text("kept by half".into()),
        };
        work.accept("clinic", "test", &[arrival], noon()).await?;
        // A message of a household that is not there.
        let to_send = ToSend {
            household: Some(999),
            carer: 1,
            chat: Some(chat("same")),
            language: "en".into(),
            message: Message::new(Recipient::Carer(1), Kind::AnswerHelp),
            cause: "time".into(),
        };
        let enqueued = work.enqueue("clinic", &[to_send], noon()).await;
        let asked = work.households("clinic").await;
        assert!(enqueued.is_err() || asked.is_err(), "it is refused");
        // Whoever does not heed that cannot make the first half last.
        assert!(work.households("clinic").await.is_err());
        assert!(work.commit().await.is_err());
        let mut work = store.begin().await?;
        assert_eq!(work.claim_inbox("clinic", 10).await?, []);
        work.commit().await
    });
}

#[test]
fn what_was_claimed_by_a_transaction_that_was_dropped_is_claimed_by_the_next() {
    with_store(|store| async move {
        let id = household(&store, Some(noon())).await?.household.id;
        for _ in 0..50 {
            // One connection is at hand while the other undoes something.
            let two = (store.begin_to_read().await?, store.begin_to_read().await?);
            two.0.end_reading().await?;
            two.1.end_reading().await?;
            let mut dropped = store.begin().await?;
            assert_eq!(dropped.due("clinic", noon(), 9).await?, [id]);
            drop(dropped);
            let mut next = store.begin().await?;
            assert_eq!(next.due("clinic", noon(), 9).await?, [id]);
            next.roll_back().await?;
        }
        Ok(())
    });
}

#[test]
fn a_batch_is_saved_together_and_loaded_in_the_order_of_numbers() {
    with_store(|store| async move {
        let mut all = Vec::new();
        for _ in 0..5 {
            all.push(household(&store, None).await?);
        }
        let changes = [said("hello")];
        for loaded in &mut all {
            apply(&mut loaded.household, &changes[0].change);
        }
        let savings: Vec<Saving> = all
            .iter()
            .map(|l| Saving {
                household: &l.household,
                version: l.version,
                changes: &changes,
                wake_at: None,
            })
            .collect();
        let mut work = store.begin().await?;
        work.save(&savings).await?;
        let mut backwards: Vec<i64> = all.iter().map(|l| l.household.id).collect();
        backwards.reverse();
        let loaded = work.load(&backwards).await?;
        assert_eq!(loaded.len(), 5);
        for (loaded, saved) in loaded.iter().zip(&all) {
            assert_eq!(loaded.household, saved.household);
            assert_eq!(loaded.version, 2);
        }
        Ok(())
    });
}

#[test]
fn a_patient_is_found_by_a_name_whatever_the_case_of_its_letters() {
    with_store(|store| async move {
        let order = order(
            "Ñata",
            "tarnmoss",
            "1.5 mL",
            "2026-03-06T07:30:00",
            &["07:30:00", "19:30:00"],
            "America/Denver",
            4,
        );
        let engine = Engine::new(
            store.clone(),
            Wording::load().unwrap(),
            CONFIG.policy.clone(),
            CONFIG.formulary.clone(),
            Vec::new(),
            Arc::new(ManualClock::at(noon())),
        );
        let mut made = Vec::new();
        for _ in 0..6 {
            let enrolled = engine.enrol(&order, None, "Ines", Confirmation::Counted, noon());
            made.push((enrolled.await.unwrap().household, 1));
        }
        let clinic = CONFIG.policy.clinic.key.as_str();
        let mut work = store.begin().await?;
        // SQLite's own `lower` knows no Ñ.
        for name in ["Ñata", "ñata", "ÑATA"] {
            let found = work.courses_of_patient(clinic, name).await?;
            assert_eq!(found, made[1..], "the newest five of {name}");
        }
        assert_eq!(work.courses_of_patient(clinic, "Nata").await?, []);
        Ok(())
    });
}
