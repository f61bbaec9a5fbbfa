//! A stand-in for the program behind the page: it repeats what is written,
//! and a dose is due whenever the clock goes to the next event. It has none of
//! the program's rules, so that these tests are about the page alone.

use chrono::{DateTime, FixedOffset, TimeDelta};
use futures_util::future::BoxFuture;
use serde_json::{Value, json};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, OnceLock};
use tokio::net::TcpListener;
use vialbell::channel::page::{Jump, PageChannel, Person, Role, Shown, Stage, bind, router};
use vialbell::channel::{Channel, Inbox, Outgoing, OutgoingButton, Sent};
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::language::Language;

/// The page with an echo behind it, on a free port of this machine.
pub struct Echo {
    pub port: u16,
    pub channel: Arc<PageChannel>,
    pub behind: Arc<Behind>,
    _runtime: tokio::runtime::Runtime,
}

/// What stands behind the page.
pub struct Behind {
    clock: Arc<Mutex<DateTime<FixedOffset>>>,
    channel: OnceLock<Arc<PageChannel>>,
    pub arrived: Mutex<Vec<Arrival>>,
    pub refuses: AtomicBool,
    journal: Mutex<Vec<(String, String)>>,
}

impl Echo {
    pub fn start() -> Echo {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .unwrap();
        let clock = Arc::new(Mutex::new(
            "2026-03-07T07:00:00-07:00"
                .parse::<DateTime<FixedOffset>>()
                .unwrap(),
        ));
        let behind = Arc::new(Behind {
            clock: clock.clone(),
            channel: OnceLock::new(),
            arrived: Mutex::default(),
            refuses: AtomicBool::new(false),
            journal: Mutex::default(),
        });
        let channel = Arc::new(PageChannel::new(move || shown(&clock)));
        assert!(behind.channel.set(channel.clone()).is_ok());
        let app = router(channel.clone(), behind.clone(), behind.clone());
        let listener: TcpListener = runtime.block_on(bind(0)).unwrap();
        let address = listener.local_addr().unwrap();
        assert!(address.ip().is_loopback());
        runtime.spawn(async move { axum::serve(listener, app).await });
        Echo {
            port: address.port(),
            channel,
            behind,
            _runtime: runtime,
        }
    }

    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }
}

fn shown(clock: &Mutex<DateTime<FixedOffset>>) -> Shown {
    let now = *clock.lock().unwrap();
    Shown {
        at: now.to_rfc3339(),
        zone: "America/Denver".into(),
        words: now.format("%A, %B %-d, %-I:%M %p").to_string(),
    }
}

impl Behind {
    async fn send(&self, address: &str, text: &str, buttons: &[(&str, &str)]) -> String {
        let message = Outgoing {
            attachment: None,
            address: address.into(),
            text: text.into(),
            buttons: buttons
                .iter()
                .map(|(label, data)| OutgoingButton {
                    label: (*label).into(),
                    data: (*data).into(),
                })
                .collect(),
            quiet: false,
        };
        match self.channel.get().unwrap().send(&message).await {
            Sent::Accepted { external_id } => external_id,
            other => panic!("the page takes every message: {other:?}"),
        }
    }

    fn note(&self, text: &str) {
        let at = shown(&self.clock).at;
        self.journal.lock().unwrap().push((at, text.into()));
    }
}

impl Inbox for Behind {
    fn accept<'a>(
        &'a self,
        channel: &'static str,
        batch: Vec<Arrival>,
    ) -> BoxFuture<'a, anyhow::Result<()>> {
        Box::pin(async move {
            assert_eq!(channel, "page");
            if self.refuses.load(Ordering::SeqCst) {
                anyhow::bail!("the disk is full");
            }
            for arrival in batch {
                self.arrived.lock().unwrap().push(arrival.clone());
                let (address, answer) = match &arrival.body {
                    Body::Text(text) => (arrival.address, format!("You wrote: {text}")),
                    Body::Tap(data) => (arrival.address, format!("You tapped: {data}")),
                    other => anyhow::bail!("the page has no way to send {other:?}"),
                };
                self.note(&answer);
                self.send(&address, &answer, &[]).await;
            }
            Ok(())
        })
    }
}

impl Stage for Behind {
    fn now(&self) -> Shown {
        shown(&self.clock)
    }

    fn jump(&self, to: Jump) -> BoxFuture<'_, anyhow::Result<()>> {
        Box::pin(async move {
            *self.clock.lock().unwrap() += match to {
                Jump::NextEvent => TimeDelta::minutes(30),
                Jump::Hour => TimeDelta::hours(1),
                Jump::Day => TimeDelta::days(1),
                Jump::Until(_) => TimeDelta::minutes(1),
            };
            if to == Jump::NextEvent {
                self.note("dose 3 is due");
                let text = "Juniper’s dose is due now: 0.4 mL from vial 1.";
                let buttons = [("Given", "g:1:3"), ("Not given", "n:1:3")];
                self.send("owner", text, &buttons).await;
            } else {
                let text = "Juniper (Robin Vale): dose 3 was not recorded as given.";
                self.send("clinic", text, &[]).await;
            }
            Ok(())
        })
    }

    fn situation(&self, name: &str, _language: Language) -> BoxFuture<'_, anyhow::Result<()>> {
        let name = name.to_owned();
        Box::pin(async move {
            self.journal.lock().unwrap().clear();
            self.send("owner", &format!("This is {name}."), &[]).await;
            Ok(())
        })
    }

    fn truth(&self) -> BoxFuture<'_, anyhow::Result<Value>> {
        let journal = self.journal.lock().unwrap();
        let journal = journal
            .iter()
            .map(|(at, text)| json!({ "at": at, "key": text, "facts": {} }));
        let truth = json!({
            "vials": [
                { "number": "1", "state": "past-limit", "available_ml": "4", "remaining_ml": "0.4",
                  "discard_by": "2026-03-06T07:30:00-07:00" },
                { "number": "2", "state": "mixed", "available_ml": "4", "remaining_ml": "2.8",
                  "discard_by": "2026-03-14T07:35:00-06:00" },
                { "number": "3", "state": "sealed", "available_ml": "4", "remaining_ml": "",
                  "discard_by": "" },
                { "number": "4", "state": "discarded", "available_ml": "4", "remaining_ml": "1.2",
                  "discard_by": "2026-02-28T07:35:00-07:00" },
            ],
            "next": [
                { "at": "2026-03-07T19:30:00-07:00", "key": "asked-again", "facts": { "dose": "4" } },
                { "at": "2026-03-14T05:35:00-06:00", "key": "vial-reaches-limit", "facts": { "vial": "2" } },
            ],
            "journal": journal.collect::<Vec<_>>(),
        });
        Box::pin(std::future::ready(Ok(truth)))
    }

    fn people(&self) -> Vec<Person> {
        let person = |address: &str, name: &str, role| Person {
            address: address.into(),
            name: name.into(),
            signs: name.into(),
            role,
            language: Language::English,
        };
        vec![
            person("owner", "Robin Vale", Role::Owner),
            person("clinic", "Millbrook Animal Clinic", Role::Clinic),
        ]
    }

    fn situations(&self) -> Vec<(String, String)> {
        [
            ("normal-day", "A normal day"),
            ("clocks-change", "A night when the clocks change"),
            ("vial-limit", "A vial running into its limit"),
            ("missed-dose", "A missed dose"),
            ("clinic-message", "A message for the clinic"),
        ]
        .map(|(name, title)| (name.to_owned(), title.to_owned()))
        .into()
    }
}
