//! A platform that answers as it is told, and a clinic that runs on a file.

#[path = "../support/file.rs"]
mod file;
#[path = "../support/postgres.rs"]
pub mod postgres;

use super::home::{CONFIG, OTHER, OWNER, chat, order};
use file::File;
use futures_util::future::BoxFuture;
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Executor, raw_sql};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use vialbell::channel::{Channel, Inbox, Outgoing, OutgoingButton, Sent};
use vialbell::clock::ManualClock;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::household::Household;
use vialbell::engine::{Confirmation, Engine, Step};
use vialbell::store::{Store, StoreError, Watch};
use vialbell::wording::Wording;

/// The clinic's chat.
pub const CLINIC: &str = "-100";

/// The platform.
#[derive(Default)]
pub struct Platform {
    answers: Mutex<BTreeMap<String, VecDeque<Sent>>>,
    hanging: Mutex<BTreeSet<String>>,
    hung: tokio::sync::Notify,
    released: tokio::sync::Notify,
    taken: Mutex<Vec<Outgoing>>,
    tried: Mutex<Vec<Outgoing>>,
    changes: Mutex<Vec<(String, Vec<String>)>>,
    to_changes: Mutex<VecDeque<Sent>>,
    accepted: Mutex<Vec<Outgoing>>,
    numbers_people: AtomicBool,
    paced: AtomicBool,
}

impl Platform {
    /// The next tries to send to an address end like this; then all is accepted again.
    pub fn answer(&self, address: &str, answers: &[Sent]) {
        let mut all = self.answers.lock().unwrap();
        all.entry(address.into())
            .or_default()
            .extend(answers.to_vec());
    }

    /// From now on it numbers people, and has replies.
    pub fn number_people(&self) {
        self.numbers_people.store(true, Ordering::Relaxed);
    }

    /// From now on it limits how fast we speak.
    pub fn pace(&self) {
        self.paced.store(true, Ordering::Relaxed);
    }

    /// The number that the last message with these words got.
    pub fn number_of(&self, words: &str) -> String {
        let accepted = self.accepted.lock().unwrap();
        let last = accepted.iter().rposition(|sent| sent.text.contains(words));
        last.unwrap().to_string()
    }

    /// The next tries to change buttons end like this; then all is accepted again.
    pub fn answer_changes(&self, answers: &[Sent]) {
        self.to_changes
            .lock()
            .unwrap()
            .extend(answers.iter().cloned());
    }

    /// What was asked for so far: in which chat, and the labels that stay; forgets it.
    pub fn changes(&self) -> Vec<(String, Vec<String>)> {
        std::mem::take(&mut *self.changes.lock().unwrap())
    }

    /// From now on a try to send to an address does not come back; until it does after all.
    pub fn hang(&self, address: &str, hangs: bool) {
        let mut hanging = self.hanging.lock().unwrap();
        if hangs {
            hanging.insert(address.into());
        } else {
            hanging.remove(address);
            self.released.notify_waiters();
        }
    }

    fn hangs(&self, address: &str) -> bool {
        self.hanging.lock().unwrap().contains(address)
    }

    fn answered(&self, message: &Outgoing) -> Sent {
        let mut answers = self.answers.lock().unwrap();
        let next = answers
            .get_mut(&message.address)
            .and_then(VecDeque::pop_front);
        let mut taken = self.taken.lock().unwrap();
        let mut all = self.accepted.lock().unwrap();
        let accepted = Sent::Accepted {
            external_id: all.len().to_string(),
        };
        let sent = next.unwrap_or(accepted);
        if matches!(sent, Sent::Accepted { .. }) {
            all.push(message.clone());
            taken.push(message.clone());
        }
        sent
    }

    /// Waits until a try to send does not come back.
    pub async fn hung(&self) {
        self.hung.notified().await;
    }

    /// What was accepted for an address so far, in order; forgets it.
    pub fn taken(&self, address: &str) -> Vec<Outgoing> {
        drain(&self.taken, address)
    }

    /// How often something was tried for an address so far; forgets nothing.
    pub fn tries_of(&self, address: &str) -> usize {
        let tried = self.tried.lock().unwrap();
        tried.iter().filter(|one| one.address == address).count()
    }

    /// What was tried for an address so far, in order, accepted or not; forgets it.
    pub fn tried(&self, address: &str) -> Vec<Outgoing> {
        drain(&self.tried, address)
    }
}

fn drain(log: &Mutex<Vec<Outgoing>>, address: &str) -> Vec<Outgoing> {
    let mut log = log.lock().unwrap();
    let (taken, kept) = std::mem::take(&mut *log)
        .into_iter()
        .partition(|outgoing| outgoing.address == address);
    *log = kept;
    taken
}

impl Channel for Platform {
    fn name(&self) -> &'static str {
        "test"
    }

    fn takes_files(&self) -> bool {
        true
    }

    fn is_paced(&self) -> bool {
        self.paced.load(Ordering::Relaxed)
    }

    fn has_replies(&self) -> bool {
        self.numbers_people.load(Ordering::Relaxed)
    }

    fn numbers_people(&self) -> bool {
        self.numbers_people.load(Ordering::Relaxed)
    }

    fn change_buttons<'a>(
        &'a self,
        address: &'a str,
        external_id: &'a str,
        buttons: &'a [OutgoingButton],
    ) -> BoxFuture<'a, Sent> {
        let labels = buttons.iter().map(|button| button.label.clone()).collect();
        self.changes.lock().unwrap().push((address.into(), labels));
        let accepted = Sent::Accepted {
            external_id: external_id.into(),
        };
        let next = self.to_changes.lock().unwrap().pop_front();
        Box::pin(std::future::ready(next.unwrap_or(accepted)))
    }

    fn send<'a>(&'a self, message: &'a Outgoing) -> BoxFuture<'a, Sent> {
        self.tried.lock().unwrap().push(message.clone());
        if !self.hangs(&message.address) {
            return Box::pin(std::future::ready(self.answered(message)));
        }
        self.hung.notify_one();
        Box::pin(async {
            loop {
                let released = self.released.notified();
                if !self.hangs(&message.address) {
                    return self.answered(message);
                }
                released.await;
            }
        })
    }
}

/// One clinic on a database of its own.
pub struct Clinic {
    pub engine: Arc<Engine>,
    pub platform: Arc<Platform>,
    pub clock: Arc<ManualClock>,
    place: Place,
    arrivals: u32,
}

/// Where the records are.
#[derive(Clone)]
enum Place {
    File(Arc<File>),
    /// On the server that the suite was told of.
    Server(String),
}

impl Place {
    async fn meant() -> Place {
        match postgres::fresh().await {
            Some(url) => Place::Server(url),
            None => Place::File(Arc::new(File::new())),
        }
    }

    fn url(&self) -> String {
        match self {
            Place::File(file) => file.url(),
            Place::Server(url) => url.clone(),
        }
    }
}

impl Clinic {
    pub async fn open(now: Instant) -> Clinic {
        let clinic = Clinic::on(Place::meant().await, Arc::default(), now).await;
        clinic.engine.bind_clinic_chat(&chat(CLINIC)).await.unwrap();
        clinic
    }

    /// One on a file, with somebody beside its store.
    pub async fn watched(now: Instant, watch: Arc<dyn Watch>) -> Clinic {
        Clinic::watched_on(Place::File(Arc::new(File::new())), now, watch).await
    }

    /// One wherever the suite runs, with somebody beside its store.
    pub async fn watched_anywhere(now: Instant, watch: Arc<dyn Watch>) -> Clinic {
        Clinic::watched_on(Place::meant().await, now, watch).await
    }

    async fn watched_on(place: Place, now: Instant, watch: Arc<dyn Watch>) -> Clinic {
        let store = Store::open(&place.url()).await.unwrap().watched(watch);
        let clinic = Clinic::with(store, place, Arc::default(), now);
        clinic.engine.bind_clinic_chat(&chat(CLINIC)).await.unwrap();
        clinic
    }

    async fn on(place: Place, platform: Arc<Platform>, now: Instant) -> Clinic {
        let store = Store::open(&place.url()).await.unwrap();
        Clinic::with(store, place, platform, now)
    }

    fn with(store: Store, place: Place, platform: Arc<Platform>, now: Instant) -> Clinic {
        let clock = Arc::new(ManualClock::at(now));
        let channels: Vec<Arc<dyn Channel>> = vec![platform.clone()];
        let engine = Engine::new(
            store,
            Wording::load().unwrap(),
            CONFIG.policy.clone(),
            CONFIG.formulary.clone(),
            channels,
            clock.clone(),
        );
        Clinic {
            engine: Arc::new(engine),
            platform,
            clock,
            place,
            // Numbers go on after a crash, as a platform's do.
            arrivals: 0,
        }
    }

    /// Ends without a word, as after a power cut, and starts again on the same records.
    pub async fn crash(self, now: Instant) -> Clinic {
        let place = self.place.clone();
        self.goes_on(place, now).await
    }

    /// Ends, and starts again on records that were moved to a server.
    #[allow(dead_code, reason = "one suite moves")]
    pub async fn moved_to(self, url: &str, now: Instant) -> Clinic {
        self.goes_on(Place::Server(url.into()), now).await
    }

    async fn goes_on(self, place: Place, now: Instant) -> Clinic {
        let Clinic {
            engine,
            platform,
            arrivals,
            ..
        } = self;
        drop(engine);
        let mut again = Clinic::on(place, platform, now).await;
        again.arrivals = arrivals;
        again
    }

    /// Enrols an owner whose chats are `NAME` and `NAME-other`; both have joined.
    pub async fn enrol(&self, name: &str, now: Instant) -> i64 {
        let mut order = order(
            "Juniper",
            "tarnmoss",
            "1.5 mL",
            "2026-03-05T19:30:00",
            &["07:30:00", "19:30:00"],
            "America/Denver",
            8,
        );
        order.owner = OWNER.into();
        let enrolled = self
            .engine
            .enrol(&order, None, "Ines", Confirmation::Counted, now)
            .await;
        let id = enrolled.unwrap().household;
        assert_eq!(order.carers, [OTHER]);
        self.engine.join(id, 1, chat(name), now).await.unwrap();
        self.engine
            .join(id, 2, chat(&format!("{name}-other")), now)
            .await
            .unwrap();
        id
    }

    pub async fn arrive(&mut self, address: &str, body: Body) {
        self.arrivals += 1;
        let arrival = Arrival {
            external_id: self.arrivals.to_string(),
            address: address.into(),
            sender: Some("somebody".into()),
            sender_id: None,
            reply_to: None,
            body,
        };
        self.engine.accept("test", vec![arrival]).await.unwrap();
    }

    /// A person with a number does something, perhaps as an answer to one of our messages.
    pub async fn acts(&mut self, address: &str, person: &str, reply_to: Option<&str>, body: Body) {
        self.arrivals += 1;
        let arrival = Arrival {
            external_id: self.arrivals.to_string(),
            address: address.into(),
            sender: Some(format!("Person {person}")),
            sender_id: Some(person.into()),
            reply_to: reply_to.map(str::to_owned),
            body,
        };
        self.engine.accept("test", vec![arrival]).await.unwrap();
    }

    pub async fn says(&mut self, address: &str, text: &str) {
        self.arrive(address, Body::Text(text.into())).await;
    }

    /// Does what is due at an instant.
    pub async fn step(&self, now: Instant) -> Step {
        self.try_step(now).await.unwrap()
    }

    pub async fn try_step(&self, now: Instant) -> Result<Step, StoreError> {
        self.clock.set(now);
        self.engine.step(now).await
    }

    /// Lets time pass, and does what is due whenever it is.
    pub async fn pass(&self, from: Instant, until: Instant) {
        let mut now = from;
        for _ in 0..5_000 {
            let step = self.step(now).await;
            match step.next {
                Some(next) if next <= until => now = next,
                _ => return,
            }
        }
        panic!("it never comes to rest");
    }

    pub async fn household(&self, id: i64) -> Household {
        self.engine.household(id).await.unwrap().unwrap()
    }

    /// Reaches into the records behind the program's back.
    pub async fn tamper(&self, sql: &str) {
        sqlx::any::install_default_drivers();
        let mut db = AnyConnection::connect(&self.place.url()).await.unwrap();
        db.execute(raw_sql(AssertSqlSafe(sql))).await.unwrap();
        db.close().await.unwrap();
    }

    /// Nothing more that is to be said can be kept, as on a full disk.
    pub async fn fill_the_disk(&self) {
        let sql = match &self.place {
            Place::File(_) => {
                "create trigger full before insert on outbox begin select raise(abort, 'disk full'); end"
            }
            Place::Server(_) => {
                "create function full_disk() returns trigger language plpgsql as $$ \
                   begin raise exception 'disk full'; end $$; \
                 create trigger full_disk before insert on outbox for each row execute function full_disk()"
            }
        };
        self.tamper(sql).await;
    }

    /// There is room again.
    pub async fn make_room(&self) {
        self.tamper(match &self.place {
            Place::File(_) => "drop trigger full",
            Place::Server(_) => "drop trigger full_disk on outbox",
        })
        .await;
    }

    /// Where the database is.
    #[allow(dead_code, reason = "only some look at it")]
    pub fn url(&self) -> String {
        self.place.url()
    }

    /// How many messages are in each state.
    pub async fn outbox(&self) -> BTreeMap<String, i64> {
        let mut work = self.engine.store().begin().await.unwrap();
        let counts = work.outbox_counts().await.unwrap();
        work.commit().await.unwrap();
        counts.into_iter().collect()
    }
}

pub fn unclear() -> Sent {
    Sent::Unclear {
        why: "the line went dead".into(),
    }
}

pub fn gone() -> Sent {
    Sent::Gone {
        why: "the bot was blocked by the user".into(),
    }
}

pub fn texts(taken: &[Outgoing]) -> Vec<&str> {
    taken
        .iter()
        .map(|outgoing| outgoing.text.as_str())
        .collect()
}

/// How many of the texts hold these words.
pub fn with(taken: &[Outgoing], words: &str) -> usize {
    taken
        .iter()
        .filter(|outgoing| outgoing.text.contains(words))
        .count()
}
