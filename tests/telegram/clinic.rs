//! A whole clinic at work: the real engine on a SQLite file, Telegram over
//! loopback, and a clock that the test moves.

use crate::{
    channel,
    file::File,
    inbox::Receiver,
    stub::{SentMessage, Stub},
};
use std::sync::Arc;
use vialbell::{
    channel::Channel,
    clock::ManualClock,
    config::{Config, parse_prescription},
    domain::{
        Instant,
        household::{Chat, Household},
        message::Kind,
    },
    engine::{Confirmation, Engine, Enrolled},
    store::Store,
    wording::Wording,
};

/// The clinic's group, before and after it becomes a supergroup.
pub const GROUP: i64 = -5;
pub const SUPERGROUP: i64 = -1_000_000_000_005;
pub const MAREN: i64 = 77;
pub const TEO: i64 = 78;
/// The phone numbers of the example configuration.
pub const PHONE: &str = "+1 555 0142";
pub const EMERGENCY_PHONE: &str = "+1 555 0177";

/// An invented order: 30 kg x 14 mg/kg / 280 mg/mL = 1.5 mL, two doses a vial.
pub const JUNIPER: &str = r#"
[patient]
name = "Juniper"
species = "dog"
weight_kg = "30"

[owner]
name = "Maren Oakhollow"
language = "en"
zone = "America/Denver"
carers = ["Teo Oakhollow"]

[prescription]
product = "tarnmoss"
dose = "14 mg/kg"
times = ["07:30", "19:30"]
first = 2026-03-05T19:30
days = 28
veterinarian = "Dr. Idris Fennimore"
"#;

/// Another order of another home, at the same times.
pub fn order_of(patient: &str, owner: &str) -> String {
    JUNIPER
        .replace("Juniper", patient)
        .replace("Maren Oakhollow", owner)
        .replace("carers = [\"Teo Oakhollow\"]\n", "")
}

/// One run of the program; dropped, it leaves the file as a crash does.
pub struct Run {
    pub engine: Arc<Engine>,
    receiver: Receiver,
}

impl Run {
    /// Kills it where it stands.
    pub async fn crash(self) {
        self.receiver.kill().await;
    }
}

/// The clinic, its database and its Telegram.
pub struct Clinic {
    pub stub: Stub,
    pub clock: Arc<ManualClock>,
    pub database: File,
}

/// What was sent in one step: to which chat, and which message.
pub type Said = Vec<(i64, Kind)>;

pub fn at(text: &str) -> Instant {
    text.parse().unwrap()
}

pub fn chat(address: i64) -> Chat {
    Chat {
        channel: "telegram".into(),
        address: address.to_string(),
    }
}

impl Clinic {
    /// The clinic on the afternoon before Juniper's first dose, with nobody enrolled.
    pub async fn open() -> (Self, Run) {
        let clinic = Self {
            stub: Stub::start().await,
            clock: Arc::new(ManualClock::at(at("2026-03-05T16:00:00-07:00"))),
            database: File::new(),
        };
        let run = clinic.run().await;
        run.engine.bind_clinic_chat(&chat(GROUP)).await.unwrap();
        (clinic, run)
    }

    /// The clinic at 19:30, when Juniper's first dose is due: Maren has
    /// joined and mixed the first vial.
    pub async fn at_the_first_dose() -> (Self, Run, i64) {
        let (clinic, run) = Self::open().await;
        let enrolled = clinic.enrol(&run, JUNIPER).await;
        clinic.joins(&run, MAREN, &enrolled.invitations[0].1).await;
        clinic.clock.set(at("2026-03-05T19:10:00-07:00"));
        clinic.hears(&run, MAREN, "mixed").await;
        clinic.clock.set(at("2026-03-05T19:30:00-07:00"));
        clinic.step(&run).await;
        (clinic, run, enrolled.household)
    }

    /// Starts the program on the file as it is.
    pub async fn run(&self) -> Run {
        let telegram = Arc::new(channel(&self.stub));
        let engine = self.engine(telegram).await;
        let receiver = Receiver::start(&self.stub, &engine);
        Run { engine, receiver }
    }

    /// An engine on the file as it is, with this way out.
    pub async fn engine(&self, channel: Arc<dyn Channel>) -> Arc<Engine> {
        let mut config = Config::built_in();
        // The clock jumps here, while the platform is asked in true time.
        config.policy.unreached = chrono::TimeDelta::days(400);
        let engine = Engine::new(
            Store::open(&self.database.url()).await.unwrap(),
            Wording::load().unwrap(),
            config.policy,
            config.formulary,
            vec![channel],
            self.clock.clone(),
        );
        // Time stands still in these tests; the usual pace is tried in `engine::pace`.
        engine.set_pace(1_000);
        engine.set_bot_name("invented_clinic_bot");
        Arc::new(engine)
    }

    pub async fn enrol(&self, run: &Run, prescription: &str) -> Enrolled {
        let config = Config::built_in();
        let order = parse_prescription(prescription, &config.formulary, &["en", "es"]).unwrap();
        let now = run.engine.now();
        let enrolled = run
            .engine
            .enrol(&order, None, "test", Confirmation::Counted, now)
            .await
            .unwrap();
        self.step(run).await;
        enrolled
    }

    /// Does all that is due now, and tells what was sent.
    pub async fn step(&self, run: &Run) -> Said {
        let delivered = run.engine.step(run.engine.now()).await.unwrap().delivered;
        let said = |delivered: vialbell::engine::Delivered| {
            let chat = delivered.chat.address.parse().unwrap();
            (chat, delivered.message.kind)
        };
        delivered.into_iter().map(said).collect()
    }

    /// Moves the clock and does what is due then.
    pub async fn passes_to(&self, run: &Run, time: &str) -> Said {
        self.clock.set(at(time));
        self.step(run).await
    }

    /// Waits until all that is queued is in the inbox, then does what follows.
    pub async fn settles(&self, run: &Run) -> Said {
        self.stub.wait_until_confirmed().await;
        self.step(run).await
    }

    pub async fn joins(&self, run: &Run, chat: i64, code: &str) -> Said {
        self.hears(run, chat, &format!("/start {code}")).await
    }

    pub async fn hears(&self, run: &Run, chat: i64, text: &str) -> Said {
        self.stub.push_text(chat, text);
        self.settles(run).await
    }

    pub async fn feels_tap(&self, run: &Run, chat: i64, data: &str) -> Said {
        self.stub.push_tap(chat, data);
        self.settles(run).await
    }

    /// The newest message in a chat.
    pub fn last(&self, chat: i64) -> SentMessage {
        let mut sent = self.stub.sent();
        sent.retain(|message| message.chat == chat);
        sent.pop().expect("the chat has received something")
    }

    /// All that a chat received, in order.
    pub fn texts(&self, chat: i64) -> Vec<String> {
        let sent = self.stub.sent().into_iter();
        sent.filter(|message| message.chat == chat)
            .map(|message| message.text)
            .collect()
    }
}

pub async fn household(run: &Run, id: i64) -> Household {
    run.engine.household(id).await.unwrap().unwrap()
}

/// The data of the message's button with this label.
pub fn button(message: &SentMessage, label: &str) -> String {
    let buttons = message.buttons();
    let found = buttons.iter().find(|(own, _)| own == label);
    found
        .unwrap_or_else(|| panic!("no button {label} among {buttons:?}"))
        .1
        .clone()
}
