//! A clinic under load: dozens of homes with a dose due within minutes, whose
//! owners write and tap all the while, whatever happens to the program. What
//! they said is kept here, and held against the records in the end.

use crate::clinic::{JUNIPER, chat};
use crate::program::Folder;
use crate::stub::{Stub, within};
use chrono::TimeDelta;
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;
use vialbell::clock::{Clock, SystemClock};
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::Instant;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::household::Household;
use vialbell::domain::zone::Zone;
use vialbell::engine::{Confirmation, Engine};
use vialbell::store::{Caused, Store};
use vialbell::wording::Wording;

/// The first doses come due a quarter of a minute from now, or up to a minute later.
const SOON: TimeDelta = TimeDelta::seconds(75);
/// One at a time is never seen in flight.
const UNDER_WAY: Duration = Duration::from_millis(60);
/// The lease of what was in flight at a kill, and then all that waited behind it.
const PATIENCE: TimeDelta = TimeDelta::seconds(300);

/// Numbers that follow from a seed (SplitMix64, Steele, Lea and Flood 2014).
pub struct Dice(u64);

impl Dice {
    /// `VIALBELL_KILLS_SEED`, or this one; printed.
    pub fn thrown(usual: u64) -> Self {
        let seed = std::env::var("VIALBELL_KILLS_SEED")
            .map_or(usual, |seed| seed.parse().expect("VIALBELL_KILLS_SEED"));
        println!("VIALBELL_KILLS_SEED={seed}");
        Self(seed)
    }

    pub fn below(&mut self, n: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % n
    }

    /// Between these two, in milliseconds.
    pub fn millis(&mut self, least: u64, most: u64) -> Duration {
        Duration::from_millis(least + self.below(most - least))
    }
}

/// One home, and how far its owner has come.
struct Home {
    household: i64,
    chat: i64,
    due: Instant,
    /// Records the dose before it is due; the others answer what asks for it.
    is_early: bool,
    has_mixed: bool,
    has_answered: bool,
}

/// The homes, and all that was said.
pub struct Load {
    homes: Vec<Home>,
    /// Every update, by its number: the chat, and the words or the button.
    said: BTreeMap<i64, (i64, String)>,
    /// How many messages of the stub's were read.
    read: usize,
}

/// What a run came to.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Books {
    pub updates: usize,
    pub administrations: usize,
    pub reminders: usize,
    pub sent: usize,
    /// Messages that chats received more than once.
    pub repeats: usize,
}

impl Load {
    /// So many homes in the records of a folder whose program does not run yet,
    /// with doses that come due over so many minutes.
    pub async fn begin(stub: &Stub, folder: &Folder, homes: usize, minutes: usize) -> Self {
        stub.take_time(UNDER_WAY);
        let config = Config::built_in();
        let engine = Engine::new(
            Store::open(&folder.url()).await.unwrap(),
            Wording::load().unwrap(),
            config.policy,
            config.formulary.clone(),
            Vec::new(),
            Arc::new(SystemClock),
        );
        let zone = Zone::named("Etc/UTC").unwrap();
        let mut all = Vec::new();
        for number in 0..homes {
            let now = engine.now();
            let later = i64::try_from(number % minutes).unwrap();
            let due = now + SOON + TimeDelta::minutes(later);
            let first = zone.local(due);
            let second = first + TimeDelta::hours(12);
            let order = JUNIPER
                .replace("Juniper", &format!("Juniper{number}"))
                .replace("Maren", &format!("Maren{number}"))
                .replace("carers = [\"Teo Oakhollow\"]\n", "")
                .replace("America/Denver", zone.name())
                .replace(
                    "07:30\", \"19:30",
                    &format!("{}\", \"{}", first.format("%H:%M"), second.format("%H:%M")),
                )
                .replace(
                    "2026-03-05T19:30",
                    &first.format("%Y-%m-%dT%H:%M").to_string(),
                );
            let order = parse_prescription(&order, &config.formulary, &["en", "es"]).unwrap();
            let enrolled = engine
                .enrol(&order, None, "test", Confirmation::Counted, now)
                .await
                .unwrap();
            let address = 1_000 + i64::try_from(number).unwrap();
            let household = enrolled.household;
            engine.join(household, 1, chat(address), now).await.unwrap();
            all.push(Home {
                household,
                chat: address,
                due,
                is_early: (number / minutes).is_multiple_of(2),
                has_mixed: false,
                has_answered: false,
            });
        }
        Self {
            homes: all,
            said: BTreeMap::new(),
            read: 0,
        }
    }

    /// Owners write and tap for so long.
    pub async fn talk(&mut self, stub: &Stub, dice: &mut Dice, span: Duration) {
        let end = SystemClock.now() + TimeDelta::from_std(span).unwrap();
        while SystemClock.now() < end {
            self.answer(stub);
            let at = usize::try_from(dice.below(self.homes.len() as u64)).unwrap();
            let home = &mut self.homes[at];
            let words = match (home.has_mixed, home.is_early && !home.has_answered) {
                (false, _) => {
                    home.has_mixed = true;
                    "mixed"
                }
                (true, true) => {
                    home.has_answered = true;
                    "given"
                }
                (true, false) if dice.below(2) == 0 => "how much is left?",
                (true, false) => "when is the next dose?",
            };
            let chat = home.chat;
            let number = stub.push_text(chat, words);
            self.said.insert(number, (chat, words.to_owned()));
            // About as many as go out at that pace: a queue that only grows says nothing.
            let pause = dice.millis(50, 170);
            let left = (end - SystemClock.now()).to_std().unwrap_or_default();
            tokio::time::sleep(pause.min(left)).await;
        }
    }

    /// Whoever is asked for a dose taps Given, twice.
    fn answer(&mut self, stub: &Stub) {
        for message in stub.sent_after(self.read) {
            self.read += 1;
            let Some(home) = self.homes.iter_mut().find(|home| home.chat == message.chat) else {
                continue;
            };
            let buttons = message.buttons();
            let given = buttons.iter().find(|(label, _)| label == "Given");
            let Some((_, data)) = given.filter(|_| !home.is_early && !home.has_answered) else {
                continue;
            };
            home.has_answered = true;
            for _ in 0..2 {
                let number = stub.push_tap(home.chat, data);
                self.said.insert(number, (home.chat, data.clone()));
            }
        }
    }

    /// Until every dose was due, every owner has answered, and nothing waits.
    pub async fn settle(&mut self, stub: &Stub, url: &str) {
        let last = self.homes.iter().map(|home| home.due).max().unwrap();
        let rest = (last + TimeDelta::seconds(2) - SystemClock.now()).to_std();
        tokio::time::sleep(rest.unwrap_or_default()).await;
        for home in &mut self.homes {
            // Whoever had no turn yet.
            let mixed = (!home.has_mixed).then_some("mixed");
            let given = (home.is_early && !home.has_answered).then_some("given");
            for words in mixed.into_iter().chain(given) {
                let number = stub.push_text(home.chat, words);
                self.said.insert(number, (home.chat, words.to_owned()));
            }
            home.has_mixed = true;
            home.has_answered |= home.is_early;
        }
        let end = SystemClock.now() + PATIENCE;
        let mut db = AnyConnection::connect(url).await.unwrap();
        loop {
            self.answer(stub);
            let waiting = number(
                &mut db,
                "select (select count(*) from inbox where state = 'waiting') \
                 + (select count(*) from outbox where state = 'waiting')",
            )
            .await;
            let answered = self.homes.iter().all(|home| home.has_answered);
            if waiting == 0 && answered && stub.unconfirmed() == 0 {
                break;
            }
            assert!(
                SystemClock.now() < end,
                "waited in vain: {waiting} rows wait, {} updates are not confirmed, {} homes have not answered",
                stub.unconfirmed(),
                self.homes.iter().filter(|home| !home.has_answered).count()
            );
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        // Taps of the last moment.
        within(Duration::from_secs(20), "the last taps", || {
            stub.unconfirmed() == 0
        })
        .await;
        db.close().await.unwrap();
    }

    /// Holds the records against what was said and what chats received.
    pub async fn check(&self, stub: &Stub, url: &str) -> Books {
        let mut db = AnyConnection::connect(url).await.unwrap();
        self.every_update_is_there_once(&mut db).await;
        let reminders = self.every_reminder_went_out(&mut db, stub).await;
        let administrations = self.every_answer_is_on_record_once(&mut db, url).await;
        let sent = stub.sent();
        let rows = number(&mut db, "select count(*) from outbox where state = 'sent'").await;
        db.close().await.unwrap();
        Books {
            updates: self.said.len(),
            administrations,
            reminders,
            sent: sent.len(),
            repeats: sent.len() - usize::try_from(rows).unwrap(),
        }
    }

    /// What was confirmed to the platform is in the inbox, was decided on, and was answered once.
    /// (A reminder that was due by then goes with an answer, and has its cause.)
    async fn every_update_is_there_once(&self, db: &mut AnyConnection) {
        let rows = sqlx::query(
            "select i.external_id, i.state, \
               (select count(*) from outbox o where o.cause = 'inbox ' || i.id and o.carer = 1 \
                 and (o.kind like 'answer.%' or o.kind like 'recorded.%' or o.kind like 'confirm%')) \
             from inbox i where i.channel = 'telegram' order by i.id",
        )
        .fetch_all(&mut *db)
        .await
        .unwrap();
        let mut found: BTreeMap<i64, i64> = BTreeMap::new();
        for row in rows {
            let (number, state): (String, String) = (row.get(0), row.get(1));
            assert_eq!(state, "settled", "update {number}");
            let before = found.insert(number[1..].parse().unwrap(), row.get(2));
            assert!(before.is_none(), "update {number} is there twice");
        }
        for (number, (chat, words)) in &self.said {
            let answers = found.remove(number);
            // The second of two taps may have nothing to say that the first has not.
            let is_tap = !words.contains([' ']) && words != "mixed" && words != "given";
            let as_it_should = match answers {
                Some(0) => is_tap,
                Some(answers) => answers == 1,
                None => false,
            };
            assert!(
                as_it_should,
                "update {number} from {chat}, “{words}”: {answers:?} answers"
            );
        }
        assert_eq!(found, BTreeMap::new(), "nobody said that");
    }

    /// Whatever the program decided to ask for has its message, and that message
    /// arrived, or was held back because its dose was recorded while it waited.
    /// Whoever was never asked had recorded the dose without it.
    async fn every_reminder_went_out(&self, db: &mut AnyConnection, stub: &Stub) -> usize {
        let sent = stub.sent();
        let mut reminders = 0;
        for home in &self.homes {
            let count = async |db: &mut AnyConnection, sql: &str| {
                number(db, &sql.replace("HOME", &home.household.to_string())).await
            };
            let decided = count(
                db,
                "select count(*) from journal where household = HOME and change like '%\"dose-asked\"%'",
            )
            .await;
            let rows = count(
                db,
                "select count(*) from outbox where household = HOME and kind = 'dose.due'",
            )
            .await;
            let went = count(
                db,
                "select count(*) from outbox where household = HOME and kind = 'dose.due' and state = 'sent'",
            )
            .await;
            let held_back = count(
                db,
                "select count(*) from outbox o join administration a on a.household = o.household \
                 where o.household = HOME and o.kind = 'dose.due' and o.state = 'late' \
                 and a.recorded_at <= o.settled_at",
            )
            .await;
            let received = sent.iter().any(|message| {
                let asks = |(label, _): &(String, String)| label == "Given";
                message.chat == home.chat && message.buttons().iter().any(asks)
            });
            let told = format!(
                "{}: {decided} decided, {rows} rows, {went} sent, {held_back} held back, received: {received}",
                home.chat
            );
            assert_eq!(decided, rows, "{told}");
            assert!(rows <= 1 && rows == went + held_back, "{told}");
            assert!(went == 0 || received, "{told}");
            // Nobody else records a dose without having been asked for it. What had
            // arrived at a kill, and was answered, is not sent again: it is held back.
            assert!(home.is_early || received, "{told}");
            reminders += usize::try_from(went).unwrap();
        }
        reminders
    }

    /// One vial and one dose a home, each written once; the journal replayed gives the rest.
    async fn every_answer_is_on_record_once(&self, db: &mut AnyConnection, url: &str) -> usize {
        let store = Store::open(url).await.unwrap();
        let mut administrations = 0;
        for home in &self.homes {
            let mut work = store.begin().await.unwrap();
            let loaded = work.load(&[home.household]).await.unwrap();
            let journal = work.journal(home.household).await.unwrap();
            work.commit().await.unwrap();
            let household = &loaded[0].household;
            let count = |is: fn(&Change) -> bool| {
                journal.iter().filter(|caused| is(&caused.change)).count()
            };
            let given = count(|change| matches!(change, Change::Administered { .. }));
            let mixed = count(|change| matches!(change, Change::VialMixed { .. }));
            assert_eq!((given, mixed), (1, 1), "{}: {journal:?}", home.chat);
            assert_eq!(household.administrations.len(), 1, "{}", home.chat);
            assert_eq!(&replayed(household, &journal), household, "{}", home.chat);
            administrations += given;
        }
        let all = number(db, "select count(*) from administration").await;
        assert_eq!(administrations, usize::try_from(all).unwrap());
        administrations
    }
}

/// What the journal makes of a household of which nothing is known yet.
pub fn replayed(household: &Household, journal: &[Caused]) -> Household {
    let mut replayed = Household::new(
        household.id,
        &household.clinic,
        &household.owner,
        &household.language,
        household.zone,
    );
    for caused in journal {
        apply(&mut replayed, &caused.change);
    }
    replayed
}

/// Messages that somebody has in hand, with the end of their lease.
pub async fn in_flight(url: &str) -> Vec<(i64, i64)> {
    let mut db = AnyConnection::connect(url).await.unwrap();
    let rows = sqlx::query(
        "select id, lease_until from outbox where state = 'waiting' and lease_until > $1",
    )
    .bind(SystemClock.now().timestamp_millis())
    .fetch_all(&mut db)
    .await
    .unwrap();
    db.close().await.unwrap();
    rows.iter().map(|row| (row.get(0), row.get(1))).collect()
}

async fn number(db: &mut AnyConnection, sql: &str) -> i64 {
    sqlx::query_scalar(AssertSqlSafe(sql.to_owned()))
        .fetch_one(db)
        .await
        .unwrap()
}
