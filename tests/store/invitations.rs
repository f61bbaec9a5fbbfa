//! Who may speak: codes that work once, the clinic's chat, and strangers.

use super::home::{at, chat};
use super::with_store;
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::household::Household;
use vialbell::domain::zone::Zone;
use vialbell::store::{Caused, Redeemed, Saving, Store, StoreError};

fn noon() -> Instant {
    at("2026-03-05T12:00:00Z")
}

async fn household_with_code(store: &Store, code: &str) -> Result<i64, StoreError> {
    let zone = Zone::named("America/Denver").unwrap();
    let mut work = store.begin().await?;
    let id = work.create_household("clinic", "Maren", "en", zone).await?;
    let mut household = Household::new(id, "clinic", "Maren", "en", zone);
    let change = Change::CarerAdded {
        carer: 1,
        name: "Maren".into(),
    };
    apply(&mut household, &change);
    // The code is kept before the carer is written: the reference is looked at when all is done.
    work.invite(code, id, 1, noon(), noon() + TimeDelta::hours(72))
        .await?;
    let changes = [Caused {
        at: noon(),
        cause: "test".into(),
        change,
    }];
    work.save(&[Saving {
        household: &household,
        version: 0,
        changes: &changes,
        wake_at: None,
    }])
    .await?;
    work.commit().await?;
    Ok(id)
}

async fn redeem(store: &Store, code: &str, now: Instant) -> Result<Option<Redeemed>, StoreError> {
    let mut work = store.begin().await?;
    let redeemed = work.redeem("clinic", code, now).await?;
    work.commit().await?;
    Ok(redeemed)
}

#[test]
fn a_code_works_once() {
    with_store(|store| async move {
        let household = household_with_code(&store, "abc").await?;
        let expected = Redeemed {
            household,
            carer: 1,
        };
        assert_eq!(redeem(&store, "abc", noon()).await?, Some(expected));
        assert_eq!(redeem(&store, "abc", noon()).await?, None);
        Ok(())
    });
}

#[test]
fn a_code_that_is_unknown_or_too_old_does_not_work() {
    with_store(|store| async move {
        household_with_code(&store, "abc").await?;
        for code in ["", "ab", "ABC", "abc ", "' or 1=1 --"] {
            assert_eq!(redeem(&store, code, noon()).await?, None, "{code}");
        }
        assert_eq!(
            redeem(&store, "abc", noon() + TimeDelta::hours(72)).await?,
            None
        );
        let last = noon() + TimeDelta::hours(72) - TimeDelta::milliseconds(1);
        assert!(redeem(&store, "abc", last).await?.is_some());
        Ok(())
    });
}

#[test]
fn a_code_that_was_used_in_a_transaction_that_came_to_nothing_still_works() {
    with_store(|store| async move {
        household_with_code(&store, "abc").await?;
        let mut work = store.begin().await?;
        assert!(work.redeem("clinic", "abc", noon()).await?.is_some());
        drop(work);
        assert!(redeem(&store, "abc", noon()).await?.is_some());
        Ok(())
    });
}

#[test]
fn an_invitation_of_nobody_is_not_kept() {
    with_store(|store| async move {
        let mut work = store.begin().await?;
        work.invite("abc", 9, 1, noon(), noon() + TimeDelta::hours(1))
            .await?;
        assert!(matches!(work.commit().await, Err(StoreError::Query(_))));
        assert_eq!(redeem(&store, "abc", noon()).await?, None);
        Ok(())
    });
}

#[test]
fn the_clinics_chat_is_the_one_that_was_bound_last() {
    with_store(|store| async move {
        let mut work = store.begin().await?;
        assert_eq!(work.clinic_chat("clinic").await?, None);
        for address in ["-1", "-2"] {
            work.bind_clinic_chat("clinic", &chat(address)).await?;
            assert_eq!(work.clinic_chat("clinic").await?, Some(chat(address)));
        }
        assert_eq!(work.clinic_chat("another").await?, None);
        Ok(())
    });
}

#[test]
fn a_stranger_is_answered_now_and_then() {
    with_store(|store| async move {
        let quiet = TimeDelta::hours(6);
        let mut work = store.begin().await?;
        let mut answered = Vec::new();
        for minutes in [0, 1, 359, 360, 361, 719, 720] {
            let now = noon() + TimeDelta::minutes(minutes);
            if work
                .may_answer_stranger("clinic", &chat("5"), now, now - quiet)
                .await?
            {
                answered.push(minutes);
            }
        }
        assert_eq!(answered, [0, 360, 720]);
        assert!(
            work.may_answer_stranger("clinic", &chat("6"), noon(), noon() - quiet)
                .await?,
            "each for itself"
        );
        Ok(())
    });
}
