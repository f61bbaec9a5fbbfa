//! What the checkers know: the tables as another reader of the file sees them,
//! and a memory of their own of what was said, shown and tapped.

use super::platform::Try;
use serde_json::Value;
use sqlx::any::AnyRow;
use sqlx::{AnyConnection, AssertSqlSafe, Connection, Row};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use vialbell::domain::Instant;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::household::Household;
use vialbell::domain::message::Message;
use vialbell::wording::Wording;

/// Which of three tables a row is of.
const OUTBOX: i64 = 0;
const INBOX: i64 = 1;
const JOURNAL: i64 = 2;

/// The file, read past the program.
pub struct Tables {
    db: AnyConnection,
}

/// One message of the outbox.
#[derive(Debug, Clone)]
pub struct Letter {
    pub household: Option<i64>,
    pub carer: i64,
    /// None: the clinic's chat.
    pub stranger: Option<String>,
    pub kind: String,
    pub lane: i64,
    pub created: Instant,
    pub state: String,
    pub message: Value,
    pub text: String,
    pub taps: Vec<String>,
    /// How often it has come onto a screen.
    pub arrived: u32,
    /// When it was first seen here, in true time.
    pub seen: Instant,
}

/// Whose chat a letter goes to, wherever that is by then.
pub type Chat = (Option<i64>, i64, Option<String>);

impl Letter {
    pub fn chat(&self) -> Chat {
        match self.carer {
            0 => (None, 0, self.stranger.clone()),
            carer => (self.household, carer, None),
        }
    }

    pub fn fact(&self, key: &str) -> Option<&Value> {
        self.message["facts"].get(key)?.as_object()?.values().next()
    }

    pub fn text_fact(&self, key: &str) -> Option<&str> {
        self.fact(key)?.as_str()
    }

    pub fn instant_fact(&self, key: &str) -> Option<Instant> {
        self.text_fact(key)?.parse().ok()
    }

    pub fn patient(&self) -> &str {
        self.message["patient"].as_str().unwrap_or_default()
    }
}

/// One row of the inbox that was settled.
#[derive(Debug, Clone)]
pub struct Heard {
    pub id: i64,
    pub external_id: String,
    pub state: String,
    pub settled: Option<Instant>,
}

/// What was told of a dose last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    Given,
    NotGiven,
    TakenBack,
}

/// A dose as the tables hold it.
#[derive(Debug, Clone)]
pub struct DoseRow {
    pub local: String,
    pub planned: Instant,
}

/// What the tables hold of one household's doses.
#[derive(Default)]
pub struct OfRecord {
    /// Doses with more than one record in force: course, dose, how many.
    pub twice: Vec<[i64; 3]>,
    /// Vials with more drawn than they held, and records whose draws do not make up the dose.
    pub wrong_draws: Vec<[i64; 3]>,
    pub doses: BTreeMap<(i64, i64), DoseRow>,
    pub records: Vec<Record>,
}

/// One record in force.
#[derive(Debug, Clone)]
pub struct Record {
    pub course: i64,
    pub dose: i64,
    pub completed: bool,
}

#[derive(Default)]
pub struct Books {
    pub letters: BTreeMap<i64, Letter>,
    pub unsettled: BTreeSet<i64>,
    pub heard: BTreeMap<String, Heard>,
    pub replayed: BTreeMap<i64, Household>,
    /// By household, patient and planned instant.
    pub told: BTreeMap<(i64, String, Instant), Told>,
    journal_id: i64,
    inbox_id: i64,
    causes: BTreeMap<String, Instant>,
}

/// What came to light at one look.
#[derive(Default)]
pub struct News {
    pub letters: Vec<i64>,
    pub heard: Vec<Heard>,
    pub touched: BTreeSet<i64>,
    /// Updates that were settled, and wait again.
    pub reopened: Vec<String>,
    /// Causes that have changed something at two instants.
    pub twice: Vec<String>,
    /// All that changed, in order.
    pub changes: Vec<(i64, Change)>,
}

fn instant(millis: i64) -> Instant {
    Instant::from_timestamp_millis(millis).unwrap_or_default()
}

impl Tables {
    pub async fn open(file: &Path) -> Tables {
        let url = format!("sqlite:{}", file.display());
        let db = AnyConnection::connect(&url)
            .await
            .expect("the file is there");
        let mut tables = Tables { db };
        tables.run("pragma busy_timeout = 5000").await;
        tables
    }

    pub async fn run(&mut self, sql: &str) {
        sqlx::query(AssertSqlSafe(sql))
            .fetch_all(&mut self.db)
            .await
            .unwrap_or_else(|error| panic!("{sql}: {error}"));
    }

    pub async fn run_lines(&mut self, lines: &str) {
        for sql in lines.lines() {
            self.run(sql).await;
        }
    }

    /// Where nothing is open it says no, and that is no matter.
    pub async fn run_if_open(&mut self, sql: &'static str) {
        let _ = sqlx::query(sql).execute(&mut self.db).await;
    }

    /// What the tables hold of a household's doses, and what they must not hold:
    /// in one statement, since each is handed to a thread of its own and back.
    pub async fn of_record(&mut self, household: i64) -> OfRecord {
        let rows = sqlx::query(
            "select 'twice', course, dose, count(*), '' from administration \
               where household = $1 and superseded_at is null group by 2, 3 having count(*) > 1 \
             union all \
             select 'overdrawn', v.course, v.no, sum(w.volume + w.lost), '' from vial v \
               join administration a on a.household = v.household and a.course = v.course and a.superseded_at is null \
               join withdrawal w on w.household = a.household and w.administration = a.no and w.vial = v.no \
               where v.household = $1 group by v.course, v.no, v.available having sum(w.volume + w.lost) > v.available \
             union all \
             select 'unequal', a.no, a.volume, sum(w.volume), '' from administration a \
               join withdrawal w on w.household = a.household and w.administration = a.no \
               where a.household = $1 group by a.no, a.volume having sum(w.volume) <> a.volume \
             union all \
             select 'dose', course, no, planned_at, local from dose where household = $1 \
             union all \
             select 'record', course, dose, 0, status from administration \
               where household = $1 and superseded_at is null",
        )
        .bind(household)
        .fetch_all(&mut self.db)
        .await
        .unwrap_or_else(|error| panic!("the record of {household}: {error}"));
        let mut of_record = OfRecord::default();
        for row in rows {
            let what: String = row.get(0);
            let (one, two, three): (i64, i64, i64) = (row.get(1), row.get(2), row.get(3));
            let text: String = row.get(4);
            match what.as_str() {
                "twice" => of_record.twice.push([one, two, three]),
                "overdrawn" | "unequal" => of_record.wrong_draws.push([one, two, three]),
                "dose" => {
                    let planned = instant(three);
                    let dose = DoseRow {
                        local: text,
                        planned,
                    };
                    of_record.doses.insert((one, two), dose);
                }
                _ => of_record.records.push(Record {
                    course: one,
                    dose: two,
                    completed: text == "completed",
                }),
            }
        }
        of_record
    }
}

impl Books {
    /// Reads what is new in the tables.
    pub async fn read(&mut self, tables: &mut Tables, wording: &Wording, now: Instant) -> News {
        let mut news = News::default();
        let rows = self.new_rows(tables).await;
        let of = |kind| rows.iter().filter(move |row| row.get::<i64, _>(0) == kind);
        self.read_letters(of(OUTBOX), wording, now, &mut news);
        self.read_inbox(of(INBOX), &mut news);
        self.read_journal(of(JOURNAL), &mut news);
        news
    }

    /// What is new in three tables, each in its order, by one statement.
    async fn new_rows(&self, tables: &mut Tables) -> Vec<AnyRow> {
        let last = self.letters.keys().next_back().copied().unwrap_or(0);
        let open = serde_json::to_string(&self.unsettled).expect("numbers");
        sqlx::query(
            "select 0, id, household, carer, lane, created_at, state, address, language, kind, message, null from outbox \
               where id > $1 or id in (select value from json_each($2)) \
             union all \
             select 1, id, settled_at, null, null, null, state, external_id, null, null, null, null from inbox \
               where id > $3 \
             union all \
             select 2, j.id, j.household, j.at, null, null, j.cause, j.change, h.clinic, h.owner, h.language, h.zone \
               from journal j join household h on h.id = j.household where j.id > $4 \
             order by 1, 2",
        )
        .bind(last)
        .bind(open)
        .bind(self.inbox_id)
        .bind(self.journal_id)
        .fetch_all(&mut tables.db)
        .await
        .expect("outbox, inbox and journal")
    }

    fn read_letters<'r>(
        &mut self,
        rows: impl Iterator<Item = &'r AnyRow>,
        wording: &Wording,
        now: Instant,
        news: &mut News,
    ) {
        for row in rows {
            let (id, state): (i64, String) = (row.get(1), row.get(6));
            if state == "waiting" {
                self.unsettled.insert(id);
            } else {
                self.unsettled.remove(&id);
            }
            if let Some(letter) = self.letters.get_mut(&id) {
                letter.state = state;
                continue;
            }
            let written: String = row.get(10);
            let message: Message = serde_json::from_str(&written).expect("a message");
            let language: String = row.get(8);
            let rendered = wording.render(&message, &language);
            let carer: i64 = row.get(3);
            let household: Option<i64> = row.get(2);
            let address: Option<String> = row.get(7);
            let to_clinic = message.kind.is_for_clinic();
            let letter = Letter {
                household,
                carer,
                stranger: address.filter(|_| carer == 0 && !to_clinic),
                kind: row.get(9),
                lane: row.get(4),
                created: instant(row.get(5)),
                state,
                message: serde_json::from_str(&written).expect("a message"),
                text: rendered.text,
                taps: rendered.buttons.into_iter().map(|b| b.data).collect(),
                arrived: 0,
                seen: now,
            };
            self.remember_told(&letter);
            news.letters.push(id);
            self.letters.insert(id, letter);
        }
    }

    fn remember_told(&mut self, letter: &Letter) {
        let told = match letter.kind.as_str() {
            "recorded.given" => Told::Given,
            "recorded.not-given" => Told::NotGiven,
            "recorded.corrected" => match letter.text_fact("what") {
                Some("given") => Told::Given,
                Some("not-given") => Told::NotGiven,
                Some("taken-back") => Told::TakenBack,
                other => panic!("told of a correction: {other:?}"),
            },
            _ => return,
        };
        let planned = letter.instant_fact("planned").expect("told of a dose");
        let household = letter.household.expect("told at home");
        self.told
            .insert((household, letter.patient().to_owned(), planned), told);
    }

    fn read_inbox<'r>(&mut self, rows: impl Iterator<Item = &'r AnyRow>, news: &mut News) {
        let mut all_settled = true;
        for row in rows {
            let heard = Heard {
                id: row.get(1),
                external_id: row.get(7),
                state: row.get(6),
                settled: row.get::<Option<i64>, _>(2).map(instant),
            };
            // Later ones are read again until those before them are settled.
            all_settled &= heard.settled.is_some();
            if all_settled {
                self.inbox_id = heard.id;
            }
            let known = self.heard.insert(heard.external_id.clone(), heard.clone());
            let was_settled = known.is_some_and(|known| known.settled.is_some());
            match heard.settled {
                Some(_) if !was_settled => news.heard.push(heard),
                None if was_settled => news.reopened.push(heard.external_id),
                _ => {}
            }
        }
    }

    fn read_journal<'r>(&mut self, rows: impl Iterator<Item = &'r AnyRow>, news: &mut News) {
        for row in rows {
            self.journal_id = row.get(1);
            let household: i64 = row.get(2);
            let at = instant(row.get(3));
            let cause: String = row.get(6);
            let change: Change = serde_json::from_str(&row.get::<String, _>(7)).expect("a change");
            if cause.starts_with("inbox ") {
                let before = *self.causes.entry(cause.clone()).or_insert(at);
                if before != at {
                    news.twice.push(cause);
                }
            }
            let replayed = self.replayed.entry(household).or_insert_with(|| {
                let (clinic, owner, language): (String, String, String) =
                    (row.get(8), row.get(9), row.get(10));
                let zone = row.get::<String, _>(11).parse().expect("a zone");
                Household::new(household, &clinic, &owner, &language, zone)
            });
            apply(replayed, &change);
            news.changes.push((household, change));
            news.touched.insert(household);
        }
    }

    pub fn ids(&self) -> BTreeSet<i64> {
        self.letters.keys().copied().collect()
    }

    /// The letter that a try to send was: the oldest one of that chat with these
    /// words. Buttons that have become idle meanwhile are left off.
    pub fn letter_of(&self, chat: &Chat, tried: &Try, open: &BTreeSet<i64>) -> Option<i64> {
        let fits = |id: &i64| {
            let letter = &self.letters[id];
            let mut buttons = tried.outgoing.buttons.iter();
            letter.chat() == *chat
                && letter.text == tried.outgoing.text
                && buttons.all(|button| letter.taps.contains(&button.data))
        };
        // Of two in the same words, the one that the program knows to be sent.
        let known =
            |id: &i64| (self.letters[id].state == "sent") == tried.arrived && tried.answered;
        let fitting: Vec<i64> = open.iter().copied().filter(fits).collect();
        fitting
            .iter()
            .copied()
            .find(known)
            .or(fitting.first().copied())
    }
}
