//! The program is killed at its worst moments and started again on the same
//! file: nothing is lost, and nothing is recorded twice.

use crate::{
    channel,
    clinic::{Clinic, MAREN, button, household},
    inbox::Receiver,
    stub::until,
};
use futures_util::future::BoxFuture;
use std::sync::{
    Arc,
    atomic::{AtomicU32, Ordering},
};
use vialbell::{
    channel::{Channel, Inbox, Outgoing, Sent, telegram::TelegramChannel},
    domain::{arrival::Arrival, message::Kind},
    engine::Engine,
};

/// Stores a batch and dies before anybody hears of it.
struct DiesAfterStoring {
    engine: Arc<Engine>,
    stored: AtomicU32,
}

impl Inbox for DiesAfterStoring {
    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        Box::pin(async move {
            self.engine.accept(channel, batch).await?;
            self.stored.fetch_add(1, Ordering::SeqCst);
            std::future::pending().await
        })
    }
}

/// Sends, and dies before it is noted that it was sent.
struct DiesAfterSending {
    telegram: TelegramChannel,
}

impl Channel for DiesAfterSending {
    fn name(&self) -> &'static str {
        "telegram"
    }

    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent> {
        Box::pin(async move {
            self.telegram.send(message).await;
            std::future::pending().await
        })
    }
}

/// The batch was confirmed to the platform and not decided on.
#[tokio::test]
async fn a_crash_between_accepting_and_deciding_loses_nothing() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    clinic
        .stub
        .push_tap(MAREN, &button(&clinic.last(MAREN), "Given"));
    clinic.stub.push_text(MAREN, "how much is left?");
    clinic.stub.wait_until_confirmed().await;
    assert_eq!(
        household(&run, id).await.administrations.len(),
        0,
        "not decided on yet"
    );
    run.crash().await;

    let run = clinic.run().await;
    let said = clinic.step(&run).await;
    assert_eq!(
        said.last(),
        Some(&(MAREN, Kind::AnswerRemaining)),
        "{said:?}"
    );
    assert!(
        clinic.last(MAREN).text.contains("2.1 mL"),
        "in the order in which they came"
    );
    assert_eq!(household(&run, id).await.administrations.len(), 1);
}

/// The batch is on disk, and the platform hands it over once more.
#[tokio::test]
async fn a_crash_between_two_batches_records_nothing_twice() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    let engine = run.engine.clone();
    run.crash().await;
    let dying = Arc::new(DiesAfterStoring {
        engine,
        stored: AtomicU32::new(0),
    });
    let receiver = Receiver::start(&clinic.stub, &dying);
    clinic.stub.push_text(MAREN, "given");
    until("the batch is stored", || {
        dying.stored.load(Ordering::SeqCst) == 1
    })
    .await;
    receiver.kill().await;
    drop(dying);
    assert_eq!(clinic.stub.unconfirmed(), 1, "the platform still has it");

    let run = clinic.run().await;
    let said = clinic.settles(&run).await;
    let recorded = said.iter().filter(|(_, kind)| *kind == Kind::RecordedGiven);
    assert_eq!(recorded.count(), 1, "{said:?}");
    assert_eq!(clinic.step(&run).await, []);
    assert_eq!(household(&run, id).await.administrations.len(), 1);
}

/// No key lets a platform know a text again, so it arrives twice; its buttons
/// name the dose, so that both together record once.
#[tokio::test]
async fn a_crash_between_sending_and_settling_repeats_a_message_and_no_dose() {
    let (clinic, run, id) = Clinic::at_the_first_dose().await;
    run.crash().await;
    let dying = clinic
        .engine(Arc::new(DiesAfterSending {
            telegram: channel(&clinic.stub),
        }))
        .await;
    clinic
        .clock
        .set("2026-03-05T20:00:00-07:00".parse().unwrap());
    let before = clinic.texts(MAREN).len();
    let sending = tokio::spawn({
        let dying = dying.clone();
        async move { dying.step(dying.now()).await }
    });
    until("the message is out", || {
        clinic.texts(MAREN).len() == before + 1
    })
    .await;
    sending.abort();
    assert!(sending.await.unwrap_err().is_cancelled());
    drop(dying);

    let run = clinic.run().await;
    assert_eq!(
        clinic.step(&run).await,
        [],
        "it may be under way until its lease ends"
    );
    let repeated = clinic.passes_to(&run, "2026-03-05T20:01:00-07:00").await;
    assert_eq!(repeated, [(MAREN, Kind::DoseAgain)]);
    let texts = clinic.texts(MAREN);
    assert_eq!(texts[before], texts[before + 1]);
    let given = button(&clinic.last(MAREN), "Given");
    clinic.feels_tap(&run, MAREN, &given).await;
    clinic.feels_tap(&run, MAREN, &given).await;
    assert_eq!(household(&run, id).await.administrations.len(), 1);
}

/// A crash at any time, again and again, while an owner goes on.
#[tokio::test]
async fn a_program_that_dies_after_every_message_keeps_the_books() {
    let (clinic, mut run, id) = Clinic::at_the_first_dose().await;
    for words in ["given", "given", "how much is left?"] {
        clinic.stub.push_text(MAREN, words);
        clinic.stub.wait_until_confirmed().await;
        run.crash().await;
        run = clinic.run().await;
        run.engine.think(run.engine.now()).await.unwrap();
        run.crash().await;
        run = clinic.run().await;
        clinic.step(&run).await;
        clinic
            .clock
            .set(run.engine.now() + chrono::TimeDelta::minutes(1));
    }
    assert!(
        clinic.last(MAREN).text.contains("2.1 mL"),
        "{}",
        clinic.last(MAREN).text
    );
    assert_eq!(household(&run, id).await.administrations.len(), 1);
}
