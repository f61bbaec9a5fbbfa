//! The token is part of every address that is asked, and must not show.

use crate::{
    channel,
    inbox::Kept,
    stub::{Answer, Stub, TOKEN, until},
};
use std::{
    io,
    sync::{Arc, Mutex},
};
use tokio::sync::watch;
use vialbell::channel::{
    Channel, Outgoing,
    telegram::{NoIntroduction, TelegramChannel, Token},
};

/// Everything that was logged.
#[derive(Clone, Default)]
struct Log(Arc<Mutex<Vec<u8>>>);

impl io::Write for Log {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Log {
    fn keep() -> (Self, tracing::subscriber::DefaultGuard) {
        let log = Self::default();
        let writer = log.clone();
        let subscriber = tracing_subscriber::fmt()
            .with_max_level(tracing::Level::TRACE)
            .with_ansi(false)
            .with_writer(move || writer.clone())
            .finish();
        (log, tracing::subscriber::set_default(subscriber))
    }

    fn text(&self) -> String {
        String::from_utf8(self.0.lock().unwrap().clone()).unwrap()
    }
}

fn assert_hidden(text: &str) {
    let secret = TOKEN.split_once(':').unwrap().1;
    assert!(!text.contains(secret), "the token shows in: {text}");
}

#[tokio::test]
async fn no_log_and_no_reason_holds_the_token() {
    let (log, _guard) = Log::keep();
    let stub = Stub::start().await;
    let channel = channel(&stub);
    let message = Outgoing {
        address: "77".to_owned(),
        text: "Hello.".to_owned(),
        buttons: Vec::new(),
        attachment: None,
        quiet: false,
    };
    // A server that repeats the address it was asked at.
    let echo: &'static str = format!("Bad Request: /bot{TOKEN}/sendMessage").leak();
    for answer in [
        Answer::Refusal(400, echo),
        Answer::Broken,
        Answer::Html(404),
    ] {
        stub.script("sendMessage", answer);
        assert_hidden(&format!("{:?}", channel.send(&message).await));
    }
    stub.script("getUpdates", Answer::Broken);
    stub.script("getUpdates", Answer::Refusal(400, echo));
    stub.push_text(77, "given");
    let kept = Kept::default();
    let (stop, stopped) = watch::channel(false);
    tokio::join!(channel.receive(&kept, stopped), async {
        stub.wait_until_confirmed().await;
        stop.send(true).unwrap();
    });
    drop(stub);
    assert_hidden(&format!("{:?}", channel.send(&message).await));
    assert_hidden(&format!("{:?}", channel.introduce(&[], &[]).await));
    assert_hidden(&format!("{channel:?}"));

    let log = log.text();
    assert_hidden(&log);
    assert_eq!(log.matches("no updates from Telegram").count(), 2, "{log}");
    assert!(
        !log.contains("given"),
        "an owner's words were logged: {log}"
    );
}

#[tokio::test]
async fn a_second_receiver_is_told_of_clearly() {
    let (log, _guard) = Log::keep();
    let stub = Stub::start().await;
    stub.script("getUpdates", Answer::Refusal(409, "Conflict: terminated by other getUpdates request; make sure that only one bot instance is running"));
    let (channel, kept) = (channel(&stub), Kept::default());
    let (stop, stopped) = watch::channel(false);
    tokio::join!(channel.receive(&kept, stopped), async {
        until("a conflict in the log", || {
            log.text().contains("another program is receiving")
        })
        .await;
        stop.send(true).unwrap();
    });
}

#[tokio::test]
async fn a_second_tap_on_the_same_button_is_no_warning() {
    let (log, _guard) = Log::keep();
    let stub = Stub::start().await;
    stub.script(
        "answerCallbackQuery",
        Answer::Refusal(
            400,
            "Bad Request: query is too old and response timeout expired or query ID is invalid",
        ),
    );
    stub.push_tap(77, "g:1");
    stub.push_tap(77, "g:1");
    let (channel, kept) = (channel(&stub), Kept::default());
    let (stop, stopped) = watch::channel(false);
    tokio::join!(channel.receive(&kept, stopped), async {
        until("both confirmed", || {
            stub.calls("answerCallbackQuery").len() == 2
        })
        .await;
        stub.wait_until_confirmed().await;
        stop.send(true).unwrap();
    });
    assert_eq!(kept.all().len(), 2);
    assert!(!log.text().contains("WARN"), "{}", log.text());
}

#[tokio::test]
async fn a_wrong_token_gives_one_clear_error() {
    let stub = Stub::start().await;
    let wrong = Token::parse("987654321:AAanother").unwrap();
    let channel = TelegramChannel::new(wrong, Some(stub.url())).unwrap();
    let error = channel.introduce(&[], &[]).await.unwrap_err();
    assert_eq!(error, NoIntroduction::WrongToken);
    assert!(error.to_string().contains("VIALBELL_TELEGRAM_TOKEN"));
}
