//! Whoever only reads, beside whoever writes.

use super::home::{at, chat};
use super::with_store;
use std::time::Duration;
use vialbell::domain::message::{Kind, Message, Recipient};
use vialbell::store::{Store, StoreError, ToSend};

type Counts = Vec<(String, i64)>;

async fn read(store: &Store) -> Result<Counts, StoreError> {
    let mut reading = store.begin_to_read().await?;
    let counts = reading.outbox_counts().await?;
    reading.end_reading().await?;
    Ok(counts)
}

#[test]
fn whoever_reads_waits_for_no_writer_and_sees_what_was_committed() {
    with_store(|store| async move {
        let now = at("2026-03-05T12:00:00Z");
        let said = ToSend {
            household: None,
            carer: 0,
            chat: Some(chat("somebody")),
            language: "en".into(),
            message: Message::new(Recipient::Stranger, Kind::DoseDue),
            cause: "inbox 1".into(),
        };
        let one = vec![("waiting".to_owned(), 1)];
        let mut writing = store.begin().await?;
        writing.enqueue("clinic", &[said], now).await?;
        assert_eq!(
            writing.outbox_counts().await?,
            one,
            "written, not committed"
        );
        let beside = tokio::time::timeout(Duration::from_secs(5), async {
            store.ahead("clinic", now).await?;
            read(&store).await
        });
        assert_eq!(beside.await.expect("nobody is waited for")?, []);
        writing.commit().await?;
        assert_eq!(read(&store).await?, one);
        Ok(())
    });
}
