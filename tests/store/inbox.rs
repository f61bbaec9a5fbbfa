//! What came in: once each, in order, and none of it for ever.

use super::home::at;
use super::with_store;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::store::{Store, StoreError};

fn now() -> Instant {
    at("2026-03-05T12:00:00Z")
}

fn arrival(external_id: &str, text: &str) -> Arrival {
    Arrival {
        external_id: external_id.into(),
        address: "7".into(),
        sender: Some("Maren".into()),
        sender_id: None,
        reply_to: None,
        body: Body::Text(text.into()),
    }
}

async fn accept(store: &Store, channel: &str, batch: &[Arrival]) -> Result<usize, StoreError> {
    let before = texts(store).await?.len();
    let mut work = store.begin().await?;
    work.accept("clinic", channel, batch, now()).await?;
    work.commit().await?;
    Ok(texts(store).await?.len() - before)
}

async fn texts(store: &Store) -> Result<Vec<String>, StoreError> {
    let mut work = store.begin().await?;
    let waiting = work.claim_inbox("clinic", 100).await?;
    work.commit().await?;
    Ok(waiting
        .into_iter()
        .map(|row| match row.arrival.unwrap().body {
            Body::Text(text) => text,
            other => format!("{other:?}"),
        })
        .collect())
}

#[test]
fn the_same_thing_handed_over_twice_is_one_row_and_the_first_wording_stays() {
    with_store(|store| async move {
        let batch = [
            arrival("1", "one"),
            arrival("2", "two"),
            arrival("1", "one again"),
        ];
        assert_eq!(accept(&store, "test", &batch).await?, 2);
        assert_eq!(accept(&store, "test", &batch).await?, 0);
        assert_eq!(
            accept(&store, "other", &batch[..1]).await?,
            1,
            "numbers are a channel's own"
        );
        assert_eq!(texts(&store).await?, ["one", "two", "one"]);
        Ok(())
    });
}

#[test]
fn a_row_that_somebody_else_settled_meanwhile_is_not_settled_again() {
    with_store(|store| async move {
        accept(&store, "test", &[arrival("1", "one"), arrival("2", "two")]).await?;
        let mut reading = store.begin_to_read().await?;
        let rows = reading.claim_inbox("clinic", 100).await?;
        reading.end_reading().await?;
        let settle = async |ids: &[i64]| {
            let mut work = store.begin().await?;
            work.settle_inbox(ids, now()).await?;
            work.commit().await
        };
        settle(&[rows[0].id]).await?;
        let both = settle(&[rows[0].id, rows[1].id]).await;
        assert!(matches!(both, Err(StoreError::Conflict)), "{both:?}");
        let mut work = store.begin().await?;
        assert!(!work.fail_inbox(rows[0].id, now()).await?);
        work.commit().await?;
        assert_eq!(texts(&store).await?, ["two"], "nothing of the second lasts");
        Ok(())
    });
}

#[test]
fn rows_are_handed_out_in_the_order_in_which_they_came_and_settled_once() {
    with_store(|store| async move {
        for n in [3, 1, 2] {
            accept(&store, "test", &[arrival(&n.to_string(), &n.to_string())]).await?;
        }
        assert_eq!(texts(&store).await?, ["3", "1", "2"]);
        let mut work = store.begin().await?;
        let first = work.claim_inbox("clinic", 1).await?;
        assert_eq!(first.len(), 1);
        assert_eq!(first[0].received_at, now());
        work.settle_inbox(&[first[0].id], now()).await?;
        work.commit().await?;
        assert_eq!(texts(&store).await?, ["1", "2"]);
        assert_eq!(
            accept(&store, "test", &[arrival("3", "3")]).await?,
            0,
            "settled is settled"
        );
        Ok(())
    });
}

#[test]
fn a_row_that_fails_three_times_is_put_aside_and_the_others_stay() {
    with_store(|store| async move {
        accept(&store, "test", &[arrival("1", "bad"), arrival("2", "good")]).await?;
        for (attempt, aside) in [(1, false), (2, false), (3, true)] {
            let mut work = store.begin().await?;
            let bad = work.claim_inbox("clinic", 1).await?.remove(0);
            assert_eq!(bad.tries, attempt - 1);
            assert_eq!(work.fail_inbox(bad.id, now()).await?, aside);
            work.commit().await?;
        }
        assert_eq!(texts(&store).await?, ["good"]);
        Ok(())
    });
}
