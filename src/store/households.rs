//! Households as rows. What a change touched is written from the household as
//! it is after the change, so that memory and tables have one meaning; tests
//! always compare what is loaded with what was applied.

use super::buttons::{WITH_BUTTONS, WithButtons, with_buttons};
use super::dialect::Dialect;
use super::table::{self, Cell, Cells, Table, Type::Int, Type::Text};
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::alert::Ended;
use crate::domain::amendment::{Amendment, Settled};
use crate::domain::change::Change;
use crate::domain::household::{
    Administration, Alert, Carer, Chat, Course, Dose, Household, OpenQuestion, Patient, Planned,
    Status,
};
use crate::domain::message::{Kind, No};
use crate::domain::quantity::Volume;
use crate::domain::supply::{Counted, Supply};
use crate::domain::timing::Plan;
use crate::domain::vial::{Discarded, Draw, LevelSeen, Vial};
use crate::domain::zone::Zone;
use sqlx::any::AnyRow;
use sqlx::{AnyConnection, Row};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

/// A household as it stands in the tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loaded {
    /// The household.
    pub household: Household,
    /// Counts its commits.
    pub version: i64,
    /// Its messages that have buttons which applied when they were last looked
    /// at; only where it was loaded to be decided on.
    pub shown: Vec<WithButtons>,
}

/// Households as the database gave them. To make sense of them takes longer than
/// to find them, and nobody need wait for the database meanwhile.
pub struct Found(Vec<AnyRow>);

/// What one decision changes in one household.
pub struct Saving<'a> {
    /// The household after the changes.
    pub household: &'a Household,
    /// The version that was decided on.
    pub version: i64,
    /// The changes, in order.
    pub changes: &'a [Caused],
    /// When to look at it again.
    pub wake_at: Option<Instant>,
}

/// A change with what led to it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caused {
    /// When it was decided.
    pub at: Instant,
    /// What led to it, such as `inbox 12`.
    pub cause: String,
    /// The change.
    pub change: Change,
}

const HOUSEHOLD: Table = Table {
    name: "household",
    key: 1,
    columns: &[
        ("id", Int),
        ("clinic", Text),
        ("owner", Text),
        ("language", Text),
        ("zone", Text),
        ("version", Int),
    ],
};
const CARER: Table = Table {
    name: "carer",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("name", Text),
        ("channel", Text),
        ("address", Text),
        ("reachable", Int),
        ("said", Text),
        ("phone", Text),
        // The household's, again: a chat speaks for one household of a clinic.
        ("clinic", Text),
    ],
};
const PATIENT: Table = Table {
    name: "patient",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("name", Text),
        ("species", Text),
        ("weight", Text),
    ],
};
const COURSE: Table = Table {
    name: "course",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("patient", Int),
        ("product", Text),
        ("ordered", Text),
        ("veterinarian", Text),
        ("syringe", Int),
        ("doses", Int),
        ("entered_by", Text),
        ("confirmed_at", Int),
        ("confirmed_by", Text),
        ("supply_told", Int),
        ("started_at", Int),
        ("ended_at", Int),
        ("ended_by", Text),
        ("paused_at", Int),
        ("paused_by", Text),
    ],
};
const PLAN: Table = Table {
    name: "plan",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("from_dose", Int),
        ("first", Text),
        ("times", Text),
        ("volume", Int),
    ],
};
const SUPPLY: Table = Table {
    name: "supply",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("kind", Text),
        ("pieces", Int),
        ("counted_at", Int),
    ],
};
const DOSE: Table = Table {
    name: "dose",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("no", Int),
        ("local", Text),
        ("zone", Text),
        ("planned_at", Int),
        ("asked", Int),
        ("asked_at", Int),
        ("closed_at", Int),
    ],
};
const VIAL: Table = Table {
    name: "vial",
    key: 3,
    columns: &[
        ("household", Int),
        ("course", Int),
        ("no", Int),
        ("mixed_at", Int),
        ("recorded_at", Int),
        ("mixed_by", Text),
        ("available", Int),
        ("discard_by", Int),
        ("discarded_at", Int),
        ("discarded_by", Text),
        ("level", Int),
        ("level_at", Int),
        ("out_since", Int),
        ("warned_minutes", Int),
    ],
};
const ADMINISTRATION: Table = Table {
    name: "administration",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("course", Int),
        ("dose", Int),
        ("status", Text),
        ("given_at", Int),
        ("recorded_at", Int),
        ("given_by", Text),
        ("carer", Int),
        ("volume", Int),
        ("superseded_at", Int),
    ],
};
const WITHDRAWAL: Table = Table {
    name: "withdrawal",
    key: 3,
    columns: &[
        ("household", Int),
        ("administration", Int),
        ("nth", Int),
        ("vial", Int),
        ("volume", Int),
        ("lost", Int),
    ],
};
const QUESTION: Table = Table {
    name: "question",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("carer", Int),
        ("options", Text),
        ("expires_at", Int),
        ("settled", Int),
    ],
};
const ALERT: Table = Table {
    name: "alert",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("kind", Text),
        ("course", Int),
        ("dose", Int),
        ("carer", Int),
        ("words", Text),
        ("raised_at", Int),
        ("seen_at", Int),
        ("seen_by", Text),
        ("patient", Text),
        ("facts", Text),
        ("told_at", Int),
        ("rungs", Int),
        ("replies", Text),
        ("ended", Text),
        ("ended_at", Int),
        ("ended_by", Text),
    ],
};

const AMENDMENT: Table = Table {
    name: "amendment",
    key: 2,
    columns: &[
        ("household", Int),
        ("no", Int),
        ("course", Int),
        ("what", Text),
        ("entered_by", Text),
        ("entered_at", Int),
        ("affirmed", Int),
        ("settled_at", Int),
        ("settled_by", Text),
        ("taken", Int),
    ],
};

/// A row that a change touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Touched {
    Carer(No),
    /// Their last words: with nearly every message, and in no index.
    Said(No),
    Patient(No),
    Course(No),
    Supply(No, Supply),
    Dose(No, No),
    Vial(No, No),
    Administration(No),
    Question(No),
    Alert(No),
    Amendment(No),
}

fn touched(household: &Household, change: &Change) -> Vec<Touched> {
    match *change {
        // Kept in the household's own row, which every commit writes.
        Change::ZoneChanged { .. } => Vec::new(),
        Change::CarerAdded { carer, .. }
        | Change::CarerJoined { carer, .. }
        | Change::CarerRemoved { carer }
        | Change::CarerMoved { carer, .. }
        | Change::CarerReachable { carer, .. }
        | Change::CarerPhone { carer, .. } => vec![Touched::Carer(carer)],
        Change::CarerSaid { carer, .. } => vec![Touched::Said(carer)],
        Change::PatientAdded { patient, .. } => vec![Touched::Patient(patient)],
        Change::CourseStarted { course, .. }
        | Change::CourseEnded { course, .. }
        | Change::CourseConfirmed { course, .. }
        | Change::SupplyTold { course, .. }
        | Change::OrderAmended { course, .. }
        | Change::CourseStopped { course, .. }
        | Change::CourseResumed { course } => vec![Touched::Course(course)],
        Change::CoursePaused {
            course,
            ref released,
            ..
        } => course_and_doses(course, released.iter().copied()),
        Change::PauseEnded {
            course, ref moved, ..
        } => course_and_doses(course, moved.iter().map(|(dose, ..)| *dose)),
        Change::SuppliesCounted { course, supply, .. } => vec![Touched::Supply(course, supply)],
        Change::DoseAsked { course, dose, .. } | Change::DoseClosed { course, dose, .. } => {
            vec![Touched::Dose(course, dose)]
        }
        Change::Administered {
            administration,
            course,
            dose,
            ..
        } => {
            vec![
                Touched::Dose(course, dose),
                Touched::Administration(administration),
            ]
        }
        Change::AdministrationSuperseded { administration, .. }
        | Change::DrawsPlaced { administration, .. } => {
            vec![Touched::Administration(administration)]
        }
        Change::VialMixed { course, vial, .. }
        | Change::VialDiscarded { course, vial, .. }
        | Change::LevelSeen { course, vial, .. }
        | Change::VialOut { course, vial, .. }
        | Change::VialWarned { course, vial, .. } => vec![Touched::Vial(course, vial)],
        Change::QuestionAsked { question, .. } | Change::QuestionSettled { question } => {
            vec![Touched::Question(question)]
        }
        Change::AlertRaised { alert, .. }
        | Change::AlertClimbed { alert, .. }
        | Change::AlertSeen { alert, .. }
        | Change::AlertAnswered { alert, .. }
        | Change::AlertEnded { alert, .. } => vec![Touched::Alert(alert)],
        Change::AmendmentEntered { amendment, .. }
        | Change::AmendmentAffirmed { amendment }
        | Change::AmendmentSettled { amendment, .. } => vec![Touched::Amendment(amendment)],
        Change::PersonErased { .. } => whoever_is_named(household),
    }
}

fn course_and_doses(course: No, doses: impl Iterator<Item = No>) -> Vec<Touched> {
    std::iter::once(Touched::Course(course))
        .chain(doses.map(|dose| Touched::Dose(course, dose)))
        .collect()
}

/// Every row that names somebody at home or holds their words.
fn whoever_is_named(household: &Household) -> Vec<Touched> {
    let vials = household.courses.values().flat_map(|course| {
        let vials = course.vials.keys();
        vials.map(|vial| Touched::Vial(course.no, *vial))
    });
    let mut rows: Vec<Touched> = vials.collect();
    rows.extend(household.carers.keys().map(|no| Touched::Carer(*no)));
    let records = household.administrations.keys();
    rows.extend(records.map(|no| Touched::Administration(*no)));
    rows.extend(household.questions.keys().map(|no| Touched::Question(*no)));
    rows.extend(household.alerts.keys().map(|no| Touched::Alert(*no)));
    rows.extend(
        household
            .amendments
            .keys()
            .map(|no| Touched::Amendment(*no)),
    );
    rows
}

/// So many patients of one name are shown or asked about together.
const MOST_OF_A_NAME: usize = 5;

impl Work {
    /// Makes an empty household and gives its number.
    pub async fn create_household(
        &mut self,
        clinic: &str,
        owner: &str,
        language: &str,
        zone: Zone,
    ) -> Result<i64, StoreError> {
        let row = sqlx::query(
            "insert into household (clinic, owner, language, zone, version) \
             values ($1, $2, $3, $4, 0) returning id",
        )
        .bind(clinic.to_owned())
        .bind(owner.to_owned())
        .bind(language.to_owned())
        .bind(zone.name())
        .fetch_one(self.db().await?)
        .await?;
        Ok(row.try_get(0)?)
    }

    /// Loads households to look at, in the order of their numbers.
    ///
    /// # Errors
    /// A row holds what this program never wrote, or the database fails.
    pub async fn load(&mut self, ids: &[i64]) -> Result<Vec<Loaded>, StoreError> {
        loop {
            let listed = serde_json::to_string(&ids.iter().collect::<BTreeSet<_>>())?;
            let query = loading(self.dialect());
            let found = Found(self.rows(query, [listed.into()]).await?);
            let loaded = found.read()?;
            // Where others commit between two of the statements, each would tell of another state.
            if !self.dialect().has_others() || self.are_still(&loaded).await? {
                return Ok(loaded);
            }
        }
    }

    /// Finds households to decide on. Nobody else changes them until this
    /// transaction ends; where none was begun
    /// ([`Store::begin_to_read`](super::Store::begin_to_read)), the version of
    /// each tells whether somebody did.
    ///
    /// # Errors
    /// The database fails.
    pub async fn find_to_decide(&mut self, ids: &[i64]) -> Result<Found, StoreError> {
        // A household that is named twice is found once.
        let ids = serde_json::to_string(&ids.iter().collect::<BTreeSet<_>>())?;
        let dialect = self.dialect();
        let locked = dialect.locked();
        if !locked.is_empty() {
            let sql = format!(
                "select id from household where id in ({}) order by id{locked}",
                dialect.numbers("$1")
            );
            self.rows(&sql, [ids.clone().into()]).await?;
        }
        let shown = WITH_BUTTONS.rows_of_households(dialect, tables().count());
        let sql = format!("{} union all {shown} and t.buttons <> 0", loading(dialect));
        Ok(Found(self.rows(&sql, [ids.into()]).await?))
    }

    /// Whether households have the versions that they were loaded with.
    async fn are_still(&mut self, loaded: &[Loaded]) -> Result<bool, StoreError> {
        let ids: Vec<i64> = loaded.iter().map(|loaded| loaded.household.id).collect();
        let sql = format!(
            "select {} from household h where h.id in ({})",
            self.dialect().all_of(&["h.id".into(), "h.version".into()]),
            self.dialect().numbers("$1")
        );
        let values = [serde_json::to_string(&ids)?.into()];
        let versions: Vec<(i64, i64)> = serde_json::from_str(&self.ask(&sql, values).await?)?;
        let versions: BTreeMap<i64, i64> = versions.into_iter().collect();
        Ok(loaded
            .iter()
            .all(|loaded| versions.get(&loaded.household.id) == Some(&loaded.version)))
    }

    /// Claims a clinic's households that must be looked at by now, those
    /// waiting longest first: no other worker gets them in this transaction.
    ///
    /// # Errors
    /// The database fails.
    pub async fn due(
        &mut self,
        clinic: &str,
        now: Instant,
        most: u32,
    ) -> Result<Vec<i64>, StoreError> {
        let dialect = self.dialect();
        let sql = format!(
            "select {} from ( \
               select id from household where clinic = $1 and wake_at is not null and wake_at <= $2 \
               order by wake_at, id limit {most}{}) as due",
            dialect.all_of(&["due.id".into()]),
            dialect.skip_locked()
        );
        let values = [clinic.into(), now.timestamp_millis().into()];
        let ids = self.ask(&sql, values).await?;
        let ids: Vec<[i64; 1]> = serde_json::from_str(&ids)?;
        Ok(ids.into_iter().map(|[id]| id).collect())
    }

    /// Saves what was decided: rows, journal, and when to look again. Where a
    /// household has moved on since, it fails with [`StoreError::Conflict`], as
    /// late as with the commit.
    pub async fn save(&mut self, savings: &[Saving<'_>]) -> Result<(), StoreError> {
        let mut rows = Rows::default();
        let mut journal: Vec<Vec<Cell>> = Vec::new();
        self.advance(savings).await?;
        for saving in savings {
            let mut seen = BTreeSet::new();
            for Caused { at, cause, change } in saving.changes {
                seen.extend(touched(saving.household, change));
                journal.push(vec![
                    saving.household.id.into(),
                    at.timestamp_millis().into(),
                    cause.as_str().into(),
                    serde_json::to_string(change)?.into(),
                ]);
            }
            for row in seen {
                rows.add(saving.household, row)?;
            }
        }
        rows.write(self).await?;
        if journal.is_empty() {
            return Ok(());
        }
        let dialect = self.dialect();
        let sql = format!(
            "insert into journal (household, at, cause, change) select {}, {}, {}, {} from {}",
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.text("e", 2),
            dialect.text("e", 3),
            dialect.elements("$1", "e"),
        );
        self.write(&sql, [serde_json::to_string(&journal)?.into()])
            .await
    }

    /// Writes the households' own rows, where they are still as they were decided on:
    /// of one that has moved on the version would be null, which no household's may
    /// be, and so nothing is written at all.
    async fn advance(&mut self, savings: &[Saving<'_>]) -> Result<(), StoreError> {
        if savings.is_empty() {
            return Ok(());
        }
        let rows: Vec<Vec<Cell>> = savings
            .iter()
            .map(|saving| {
                vec![
                    saving.household.id.into(),
                    saving.wake_at.map(|at| at.timestamp_millis()).into(),
                    saving.household.zone.name().into(),
                    saving.household.owner.as_str().into(),
                    saving.version.into(),
                ]
            })
            .collect();
        let dialect = self.dialect();
        let sql = format!(
            "update household set version = case version when {} then version + 1 end, \
               wake_at = {}, zone = {}, owner = {} from {} \
             where household.id = {}",
            dialect.int("e", 4),
            dialect.int("e", 1),
            dialect.text("e", 2),
            dialect.text("e", 3),
            dialect.elements("$1", "e"),
            dialect.int("e", 0),
        );
        self.write(&sql, [serde_json::to_string(&rows)?.into()])
            .await
    }

    /// The changes of a household, in order, with when and why.
    pub async fn journal(&mut self, household: i64) -> Result<Vec<Caused>, StoreError> {
        let rows =
            sqlx::query("select at, cause, change from journal where household = $1 order by id")
                .bind(household)
                .fetch_all(self.db().await?)
                .await?;
        rows.iter()
            .map(|row| {
                let unreadable = || StoreError::Unreadable {
                    household,
                    what: "a journal entry".into(),
                };
                let at = instant(row.try_get(0)?).ok_or_else(unreadable)?;
                let change: String = row.try_get(2)?;
                Ok(Caused {
                    at,
                    cause: row.try_get(1)?,
                    change: serde_json::from_str(&change)?,
                })
            })
            .collect()
    }

    /// Numbers of all households of a clinic.
    pub async fn households(&mut self, clinic: &str) -> Result<Vec<i64>, StoreError> {
        let rows = sqlx::query("select id from household where clinic = $1 order by id")
            .bind(clinic.to_owned())
            .fetch_all(self.db().await?)
            .await?;
        rows.iter().map(|row| Ok(row.try_get(0)?)).collect()
    }

    /// Numbers of a clinic's households with a course under way.
    pub async fn households_under_treatment(
        &mut self,
        clinic: &str,
    ) -> Result<Vec<i64>, StoreError> {
        let rows = sqlx::query(
            "select distinct h.id from household h join course c on c.household = h.id \
             where h.clinic = $1 and c.ended_at is null order by h.id",
        )
        .bind(clinic.to_owned())
        .fetch_all(self.db().await?)
        .await?;
        rows.iter().map(|row| Ok(row.try_get(0)?)).collect()
    }

    /// Courses under way of patients with a name, in a clinic: household and course. Where there are
    /// more than [`MOST_OF_A_NAME`], those of the newest households. Letters' case does not count. It is compared here: SQLite's own
    /// `lower` knows no letter beyond ASCII, and an Ñ is a letter.
    ///
    /// # Errors
    /// The database fails.
    pub async fn courses_of_patient(
        &mut self,
        clinic: &str,
        name: &str,
    ) -> Result<Vec<(i64, No)>, StoreError> {
        let rows = sqlx::query(
            "select c.household, c.no, p.name from course c \
             join patient p on p.household = c.household and p.no = c.patient \
             join household h on h.id = c.household \
             where h.clinic = $1 and c.ended_at is null \
             order by c.household, c.no",
        )
        .bind(clinic.to_owned())
        .fetch_all(self.db().await?)
        .await?;
        let wanted = name.to_lowercase();
        let mut courses = Vec::new();
        for row in rows {
            let found: String = row.try_get(2)?;
            if found.to_lowercase() == wanted {
                let no: i64 = row.try_get(1)?;
                courses.push((row.try_get(0)?, No::try_from(no).unwrap_or(0)));
            }
        }
        courses.drain(..courses.len().saturating_sub(MOST_OF_A_NAME));
        Ok(courses)
    }

    /// Names of a clinic's patients under treatment that live in other households.
    pub async fn patients_elsewhere(
        &mut self,
        clinic: &str,
        household: i64,
    ) -> Result<Vec<String>, StoreError> {
        let rows = sqlx::query(
            "select distinct p.name from patient p join household h on h.id = p.household \
             join course c on c.household = p.household and c.patient = p.no \
             where h.clinic = $1 and h.id <> $2 and c.ended_at is null order by p.name",
        )
        .bind(clinic.to_owned())
        .bind(household)
        .fetch_all(self.db().await?)
        .await?;
        rows.iter().map(|row| Ok(row.try_get(0)?)).collect()
    }

    /// The household of a clinic and the carer that a chat speaks for there.
    ///
    /// # Errors
    /// The database fails.
    pub async fn carer_of_chat(
        &mut self,
        clinic: &str,
        chat: &Chat,
    ) -> Result<Option<(i64, No)>, StoreError> {
        let row = sqlx::query(
            "select household, no from carer where clinic = $1 and channel = $2 and address = $3",
        )
        .bind(clinic.to_owned())
        .bind(chat.channel.clone())
        .bind(chat.address.clone())
        .fetch_optional(self.db().await?)
        .await?;
        let Some(row) = row else { return Ok(None) };
        let no: i64 = row.try_get(1)?;
        Ok(No::try_from(no)
            .ok()
            .map(|no| (row.try_get(0).unwrap_or(0), no)))
    }

    /// Who speaks from these chats: carers by their chats, and which chat is the clinic's.
    ///
    /// # Errors
    /// The database fails.
    pub async fn speakers(
        &mut self,
        clinic: &str,
        chats: &[Chat],
    ) -> Result<(Vec<(Chat, (i64, No))>, Option<Chat>), StoreError> {
        let pairs: Vec<[&str; 2]> = chats
            .iter()
            .map(|chat| [chat.channel.as_str(), chat.address.as_str()])
            .collect();
        let dialect = self.dialect();
        // `cross join` is SQLite's word for this order: the few chats first, each
        // looked up by its index, and not every carer against every chat.
        let sql = format!(
            "select c.channel, c.address, c.household, c.no from {} \
             cross join carer c where c.clinic = $2 and c.channel = {} and c.address = {} \
             union all select channel, address, null, null from clinic_chat where clinic = $2",
            dialect.elements("$1", "e"),
            dialect.text("e", 0),
            dialect.text("e", 1),
        );
        let values = [serde_json::to_string(&pairs)?.into(), clinic.into()];
        let (mut carers, mut clinics) = (Vec::new(), None);
        for row in self.rows(&sql, values).await? {
            let chat = Chat {
                channel: row.try_get(0)?,
                address: row.try_get(1)?,
            };
            let household: Option<i64> = row.try_get(2)?;
            let Some(household) = household else {
                clinics = Some(chat);
                continue;
            };
            let no: i64 = row.try_get(3)?;
            let no = No::try_from(no).map_err(|_| StoreError::Unreadable {
                household,
                what: format!("carer {no}"),
            })?;
            carers.push((chat, (household, no)));
        }
        Ok((carers, clinics))
    }

    /// Makes the next look at a household not earlier than an instant: it could not be handled.
    pub async fn put_off(&mut self, household: i64, until: Instant) -> Result<(), StoreError> {
        sqlx::query("update household set wake_at = $1 where id = $2")
            .bind(until.timestamp_millis())
            .bind(household)
            .execute(self.db().await?)
            .await?;
        Ok(())
    }
}

impl Found {
    /// The households, in the order of their numbers.
    ///
    /// # Errors
    /// A row holds what this program never wrote.
    pub fn read(self) -> Result<Vec<Loaded>, StoreError> {
        let tables: Vec<&Table> = tables().chain([&WITH_BUTTONS]).collect();
        let mut rows = table::of_households(&self.0, &tables)?.into_iter();
        let mut loaded = BTreeMap::new();
        for mut row in rows.next().unwrap_or_default() {
            let id = row.int()?;
            let (clinic, owner, language) = (row.text()?, row.text()?, row.text()?);
            let zone = row.text()?;
            let zone = Zone::named(&zone).map_err(|_| StoreError::Unreadable {
                household: id,
                what: format!("zone {zone}"),
            })?;
            let household = Household::new(id, &clinic, &owner, &language, zone);
            let version = row.int()?;
            let shown = Vec::new();
            loaded.insert(
                id,
                Loaded {
                    household,
                    version,
                    shown,
                },
            );
        }
        let shown = rows.next_back().unwrap_or_default();
        for ((_, read), rows) in READERS.into_iter().zip(rows) {
            for mut row in rows {
                if let Some(loaded) = loaded.get_mut(&row.household()) {
                    row.int()?;
                    read(&mut loaded.household, &mut row)?;
                }
            }
        }
        for row in shown {
            if let Some(loaded) = loaded.get_mut(&row.household()) {
                loaded.shown.extend(with_buttons(row)?);
            }
        }
        Ok(loaded.into_values().collect())
    }
}

pub(super) async fn zones(
    connection: &mut AnyConnection,
    clinic: &str,
) -> Result<Vec<Zone>, StoreError> {
    let names: Vec<String> =
        sqlx::query_scalar("select distinct zone from household where clinic = $1 order by zone")
            .bind(clinic.to_owned())
            .fetch_all(connection)
            .await?;
    Ok(names
        .iter()
        .filter_map(|name| Zone::named(name).ok())
        .collect())
}

/// Rows to write, by table, in an order that keeps foreign keys whole.
#[derive(Default)]
struct Rows {
    carers: Vec<Vec<Cell>>,
    /// Of each carer who said something, or is asked anew: household, number, last words.
    said: Vec<Vec<Cell>>,
    patients: Vec<Vec<Cell>>,
    courses: Vec<Vec<Cell>>,
    plans: Vec<Vec<Cell>>,
    supplies: Vec<Vec<Cell>>,
    doses: Vec<Vec<Cell>>,
    vials: Vec<Vec<Cell>>,
    administrations: Vec<Vec<Cell>>,
    withdrawals: Vec<Vec<Cell>>,
    /// Of each administration that was written: household, number, how many draws.
    draws: Vec<(i64, No, usize)>,
    questions: Vec<Vec<Cell>>,
    alerts: Vec<Vec<Cell>>,
    amendments: Vec<Vec<Cell>>,
    /// Of each course that was written: household, number, the last dose that a plan begins with.
    planned: Vec<(i64, No, No)>,
    /// Doses that are not touched any more: household, course, number.
    released: Vec<(i64, No, No)>,
}

impl Rows {
    fn add(&mut self, household: &Household, row: Touched) -> Result<(), StoreError> {
        let id = household.id;
        match row {
            Touched::Carer(no) => {
                self.carers
                    .extend(household.carers.get(&no).map(|c| carer_row(household, c)));
            }
            Touched::Said(no) => {
                let carer = household.carers.get(&no);
                let said = carer.map(|c| vec![id.into(), no.into(), c.said.as_deref().into()]);
                self.said.extend(said);
            }
            Touched::Patient(no) => {
                self.patients
                    .extend(household.patients.get(&no).map(|p| patient_row(id, p)));
            }
            Touched::Course(no) => {
                if let Some(course) = household.courses.get(&no) {
                    self.courses.push(course_row(id, course)?);
                    self.plans
                        .extend(course.plans.iter().map(|plan| plan_row(id, no, plan)));
                    self.planned.push((id, no, course.latest_plan().from));
                }
            }
            Touched::Supply(course, supply) => {
                let counted = household
                    .courses
                    .get(&course)
                    .and_then(|c| c.counted.get(&supply));
                self.supplies
                    .extend(counted.map(|counted| supply_row(id, course, supply, counted)));
            }
            Touched::Dose(course, no) => {
                let dose = household
                    .courses
                    .get(&course)
                    .and_then(|c| c.touched.get(&no));
                match dose {
                    Some(dose) => self.doses.push(dose_row(id, course, no, dose)),
                    None => self.released.push((id, course, no)),
                }
            }
            Touched::Vial(course, no) => {
                let vial = household
                    .courses
                    .get(&course)
                    .and_then(|c| c.vials.get(&no));
                self.vials
                    .extend(vial.map(|vial| vial_row(id, course, vial)));
            }
            Touched::Administration(no) => {
                if let Some(record) = household.administrations.get(&no) {
                    self.administrations.push(administration_row(id, record));
                    self.draws.push((id, no, record.draws.len()));
                    let draws = record.draws.iter().enumerate();
                    self.withdrawals
                        .extend(draws.map(|(nth, draw)| withdrawal_row(id, no, nth, draw)));
                }
            }
            Touched::Question(no) => {
                if let Some(question) = household.questions.get(&no) {
                    self.questions.push(question_row(id, question)?);
                }
            }
            Touched::Alert(no) => {
                if let Some(alert) = household.alerts.get(&no) {
                    self.alerts.push(alert_row(id, alert)?);
                }
            }
            Touched::Amendment(no) => {
                if let Some(amendment) = household.amendments.get(&no) {
                    self.amendments.push(amendment_row(id, amendment)?);
                }
            }
        }
        Ok(())
    }

    async fn write(&self, work: &mut Work) -> Result<(), StoreError> {
        for (table, rows) in [
            (&CARER, &self.carers),
            (&PATIENT, &self.patients),
            (&COURSE, &self.courses),
            (&PLAN, &self.plans),
            (&SUPPLY, &self.supplies),
            (&DOSE, &self.doses),
            (&VIAL, &self.vials),
            (&ADMINISTRATION, &self.administrations),
            (&WITHDRAWAL, &self.withdrawals),
            (&QUESTION, &self.questions),
            (&ALERT, &self.alerts),
            (&AMENDMENT, &self.amendments),
        ] {
            table.upsert(work, rows).await?;
        }
        self.write_said(work).await?;
        self.drop_withdrawals_beyond(work).await?;
        self.drop_plans_beyond(work).await?;
        self.drop_released_doses(work).await
    }

    /// The words alone: with the whole row, its chat would be looked for and written
    /// into the index again.
    async fn write_said(&self, work: &mut Work) -> Result<(), StoreError> {
        if self.said.is_empty() {
            return Ok(());
        }
        let dialect = work.dialect();
        let sql = format!(
            "update carer set said = {} from {} where carer.household = {} and carer.no = {}",
            dialect.text("e", 2),
            dialect.elements("$1", "e"),
            dialect.int("e", 0),
            dialect.int("e", 1),
        );
        work.write(&sql, [serde_json::to_string(&self.said)?.into()])
            .await
    }

    /// A plan that was ordered over before its first dose goes; the journal keeps it.
    async fn drop_plans_beyond(&self, work: &mut Work) -> Result<(), StoreError> {
        if self.planned.is_empty() {
            return Ok(());
        }
        let dialect = work.dialect();
        let sql = format!(
            "delete from plan where (household, course, from_dose) in ( \
               select p.household, p.course, p.from_dose from {} \
               join plan p on p.household = {} and p.course = {} and p.from_dose > {})",
            dialect.elements("$1", "e"),
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.int("e", 2),
        );
        work.write(&sql, [serde_json::to_string(&self.planned)?.into()])
            .await
    }

    /// A dose that was asked for and is to be asked for at another time; the
    /// journal keeps that it was asked for.
    async fn drop_released_doses(&self, work: &mut Work) -> Result<(), StoreError> {
        if self.released.is_empty() {
            return Ok(());
        }
        let dialect = work.dialect();
        let sql = format!(
            "delete from dose where (household, course, no) in (select {}, {}, {} from {})",
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.int("e", 2),
            dialect.elements("$1", "e"),
        );
        work.write(&sql, [serde_json::to_string(&self.released)?.into()])
            .await
    }

    /// Where what was drawn turns out to have come from fewer vials, the rows
    /// that are too many go; the journal keeps what was thought before.
    async fn drop_withdrawals_beyond(&self, work: &mut Work) -> Result<(), StoreError> {
        if self.draws.is_empty() {
            return Ok(());
        }
        let dialect = work.dialect();
        let sql = format!(
            "delete from withdrawal where (household, administration, nth) in ( \
               select w.household, w.administration, w.nth from {} \
               join withdrawal w on w.household = {} and w.administration = {} and w.nth >= {})",
            dialect.elements("$1", "e"),
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.int("e", 2),
        );
        work.write(&sql, [serde_json::to_string(&self.draws)?.into()])
            .await
    }
}

type Reader = fn(&mut Household, &mut Cells) -> Result<(), StoreError>;

/// In an order in which each row finds what it belongs to.
const READERS: [(&Table, Reader); 12] = [
    (&CARER, read_carer),
    (&PATIENT, read_patient),
    (&COURSE, read_course),
    (&PLAN, read_plan),
    (&SUPPLY, read_supply),
    (&DOSE, read_dose),
    (&VIAL, read_vial),
    (&ADMINISTRATION, read_administration),
    (&WITHDRAWAL, read_withdrawal),
    (&QUESTION, read_question),
    (&ALERT, read_alert),
    (&AMENDMENT, read_amendment),
];

/// The tables of a household, its own row first.
fn tables() -> impl Iterator<Item = &'static Table> {
    std::iter::once(&HOUSEHOLD).chain(READERS.into_iter().map(|(table, _)| table))
}

/// The longest statement of all, asked at every decision: written once.
fn loading(dialect: Dialect) -> &'static str {
    match dialect {
        Dialect::Sqlite => &LOADING_FROM_SQLITE,
        Dialect::Postgres => &LOADING_FROM_POSTGRES,
    }
}

static LOADING_FROM_SQLITE: LazyLock<String> =
    LazyLock::new(|| table::rows_of_households(Dialect::Sqlite, tables()));
static LOADING_FROM_POSTGRES: LazyLock<String> =
    LazyLock::new(|| table::rows_of_households(Dialect::Postgres, tables()));

fn millis(at: Instant) -> i64 {
    at.timestamp_millis()
}

pub(super) fn instant(millis: i64) -> Option<Instant> {
    Instant::from_timestamp_millis(millis)
}

fn read_instant(row: &mut Cells) -> Result<Instant, StoreError> {
    instant(row.int()?).ok_or_else(|| row.unreadable())
}

fn read_maybe_instant(row: &mut Cells) -> Result<Option<Instant>, StoreError> {
    let value = row.maybe_int()?;
    value
        .map(|v| instant(v).ok_or_else(|| row.unreadable()))
        .transpose()
}

/// When something was done and by whom, both or neither.
fn read_who(row: &mut Cells) -> Result<Option<(Instant, String)>, StoreError> {
    Ok(match (read_maybe_instant(row)?, row.maybe_text()?) {
        (Some(at), Some(by)) => Some((at, by)),
        _ => None,
    })
}

fn read_volume(row: &mut Cells) -> Result<Volume, StoreError> {
    Ok(Volume::from_millionths(row.int()?))
}

fn carer_row(household: &Household, carer: &Carer) -> Vec<Cell> {
    vec![
        household.id.into(),
        carer.no.into(),
        carer.name.as_str().into(),
        carer.chat.as_ref().map(|chat| chat.channel.as_str()).into(),
        carer.chat.as_ref().map(|chat| chat.address.as_str()).into(),
        carer.reachable.into(),
        carer.said.as_deref().into(),
        carer.phone.as_deref().into(),
        household.clinic.as_str().into(),
    ]
}

fn read_carer(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let (no, name) = (row.no()?, row.text()?);
    let chat = match (row.maybe_text()?, row.maybe_text()?) {
        (Some(channel), Some(address)) => Some(Chat { channel, address }),
        _ => None,
    };
    let carer = Carer {
        no,
        name,
        chat,
        reachable: row.flag()?,
        said: row.maybe_text()?,
        phone: row.maybe_text()?,
    };
    household.carers.insert(no, carer);
    Ok(())
}

fn patient_row(id: i64, patient: &Patient) -> Vec<Cell> {
    vec![
        id.into(),
        patient.no.into(),
        patient.name.as_str().into(),
        patient.species.as_str().into(),
        patient.weight.as_str().into(),
    ]
}

fn read_patient(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let patient = Patient {
        no,
        name: row.text()?,
        species: row.text()?,
        weight: row.text()?,
    };
    household.patients.insert(no, patient);
    Ok(())
}

fn course_row(id: i64, course: &Course) -> Result<Vec<Cell>, StoreError> {
    Ok(vec![
        id.into(),
        course.no.into(),
        course.patient.into(),
        serde_json::to_string(&course.product)?.into(),
        course.ordered.as_str().into(),
        course.veterinarian.as_str().into(),
        course.syringe.millionths().into(),
        course.doses.into(),
        course.entered_by.as_str().into(),
        course.confirmed.as_ref().map(|(at, _)| millis(*at)).into(),
        course.confirmed.as_ref().map(|(_, by)| by.as_str()).into(),
        course.supply_told.map(millis).into(),
        millis(course.started_at).into(),
        course.ended_at.map(millis).into(),
        course.ended_by.as_deref().into(),
        course.paused.as_ref().map(|(at, _)| millis(*at)).into(),
        course.paused.as_ref().map(|(_, by)| by.as_str()).into(),
    ])
}

fn read_course(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let course = Course {
        no,
        patient: row.no()?,
        product: row.json()?,
        ordered: row.text()?,
        veterinarian: row.text()?,
        syringe: read_volume(row)?,
        doses: row.no()?,
        plans: Vec::new(),
        counted: BTreeMap::new(),
        entered_by: row.text()?,
        confirmed: read_who(row)?,
        supply_told: read_maybe_instant(row)?,
        started_at: read_instant(row)?,
        ended_at: read_maybe_instant(row)?,
        ended_by: row.maybe_text()?,
        paused: read_who(row)?,
        touched: BTreeMap::new(),
        vials: BTreeMap::new(),
    };
    household.courses.insert(no, course.into());
    Ok(())
}

fn course_of<'a>(
    household: &'a mut Household,
    row: &mut Cells,
) -> Result<&'a mut Course, StoreError> {
    let no = row.no()?;
    household.course_mut(no).ok_or_else(|| row.unreadable())
}

fn plan_row(id: i64, course: No, plan: &Plan) -> Vec<Cell> {
    let times: Vec<String> = plan
        .times
        .iter()
        .map(|t| t.format("%H:%M:%S").to_string())
        .collect();
    vec![
        id.into(),
        course.into(),
        plan.from.into(),
        plan.first.format("%Y-%m-%dT%H:%M:%S").to_string().into(),
        times.join(",").into(),
        plan.volume.millionths().into(),
    ]
}

fn read_plan(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let (from, first) = (row.no()?, row.parsed()?);
    let times: Result<Vec<_>, _> = row.text()?.split(',').map(str::parse).collect();
    let times = times.map_err(|_| row.unreadable())?;
    course.plans.push(Plan {
        from,
        first,
        times,
        volume: read_volume(row)?,
    });
    Ok(())
}

fn supply_row(id: i64, course: No, supply: Supply, counted: &Counted) -> Vec<Cell> {
    vec![
        id.into(),
        course.into(),
        supply.name().into(),
        counted.pieces.into(),
        millis(counted.at).into(),
    ]
}

fn read_supply(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let name = row.text()?;
    let supply = Supply::ALL.into_iter().find(|supply| supply.name() == name);
    let supply = supply.ok_or_else(|| row.unreadable())?;
    let counted = Counted {
        pieces: row.no()?,
        at: read_instant(row)?,
    };
    course.counted.insert(supply, counted);
    Ok(())
}

fn dose_row(id: i64, course: No, no: No, dose: &Dose) -> Vec<Cell> {
    vec![
        id.into(),
        course.into(),
        no.into(),
        dose.planned
            .local
            .format("%Y-%m-%dT%H:%M:%S")
            .to_string()
            .into(),
        dose.planned.zone.name().into(),
        millis(dose.planned.at).into(),
        dose.asked.into(),
        dose.asked_at.map(millis).into(),
        dose.closed_at.map(millis).into(),
    ]
}

fn read_dose(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let no = row.no()?;
    let (local, zone) = (row.parsed()?, row.parsed()?);
    let planned = Planned {
        local,
        zone,
        at: read_instant(row)?,
    };
    let dose = Dose {
        planned,
        asked: row.no()?,
        asked_at: read_maybe_instant(row)?,
        closed_at: read_maybe_instant(row)?,
    };
    course.touched.insert(no, dose);
    Ok(())
}

fn vial_row(id: i64, course: No, vial: &Vial) -> Vec<Cell> {
    vec![
        id.into(),
        course.into(),
        vial.no.into(),
        millis(vial.mixed_at).into(),
        millis(vial.recorded_at).into(),
        vial.by.as_str().into(),
        vial.available.millionths().into(),
        millis(vial.discard_by).into(),
        vial.discarded.as_ref().map(|d| millis(d.at)).into(),
        vial.discarded.as_ref().map(|d| d.by.as_str()).into(),
        vial.level.map(|level| level.volume.millionths()).into(),
        vial.level.map(|level| millis(level.at)).into(),
        vial.out_since.map(millis).into(),
        vial.warned_minutes.into(),
    ]
}

fn read_vial(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let course = course_of(household, row)?;
    let no = row.no()?;
    let (mixed_at, recorded_at) = (read_instant(row)?, read_instant(row)?);
    let (by, available) = (row.text()?, read_volume(row)?);
    let discard_by = read_instant(row)?;
    let discarded = match (read_maybe_instant(row)?, row.maybe_text()?) {
        (Some(at), Some(by)) => Some(Discarded { at, by }),
        _ => None,
    };
    let level = match (row.maybe_int()?, read_maybe_instant(row)?) {
        (Some(volume), Some(at)) => Some(LevelSeen {
            volume: Volume::from_millionths(volume),
            at,
        }),
        _ => None,
    };
    let vial = Vial {
        no,
        mixed_at,
        recorded_at,
        by,
        available,
        discard_by,
        discarded,
        level,
        out_since: read_maybe_instant(row)?,
        warned_minutes: row.maybe_no()?,
    };
    course.vials.insert(no, vial);
    Ok(())
}

fn administration_row(id: i64, record: &Administration) -> Vec<Cell> {
    let status = match record.status {
        Status::Completed => "completed",
        Status::NotDone => "not-done",
    };
    vec![
        id.into(),
        record.no.into(),
        record.course.into(),
        record.dose.into(),
        status.into(),
        millis(record.at).into(),
        millis(record.recorded_at).into(),
        record.by.as_str().into(),
        record.carer.into(),
        record.volume.millionths().into(),
        record.superseded_at.map(millis).into(),
    ]
}

fn read_administration(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let (no, course, dose) = (row.no()?, row.no()?, row.no()?);
    let status = match row.text()?.as_str() {
        "completed" => Status::Completed,
        "not-done" => Status::NotDone,
        _ => return Err(row.unreadable()),
    };
    let record = Administration {
        no,
        course,
        dose,
        status,
        at: read_instant(row)?,
        recorded_at: read_instant(row)?,
        by: row.text()?,
        carer: row.no()?,
        volume: read_volume(row)?,
        draws: Vec::new(),
        superseded_at: read_maybe_instant(row)?,
    };
    household.administrations.insert(no, record);
    Ok(())
}

fn withdrawal_row(id: i64, administration: No, nth: usize, draw: &Draw) -> Vec<Cell> {
    vec![
        id.into(),
        administration.into(),
        i64::try_from(nth).unwrap_or(i64::MAX).into(),
        draw.vial.into(),
        draw.volume.millionths().into(),
        draw.lost.millionths().into(),
    ]
}

fn read_withdrawal(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let administration = row.no()?;
    row.int()?;
    let draw = Draw {
        vial: row.maybe_no()?,
        volume: read_volume(row)?,
        lost: read_volume(row)?,
    };
    match household.administrations.get_mut(&administration) {
        Some(record) => record.draws.push(draw),
        None => return Err(row.unreadable()),
    }
    Ok(())
}

fn question_row(id: i64, question: &OpenQuestion) -> Result<Vec<Cell>, StoreError> {
    Ok(vec![
        id.into(),
        question.no.into(),
        question.carer.into(),
        serde_json::to_string(&question.options)?.into(),
        millis(question.expires_at).into(),
        question.settled.into(),
    ])
}

fn read_question(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let question = OpenQuestion {
        no,
        carer: row.no()?,
        options: row.json()?,
        expires_at: read_instant(row)?,
        settled: row.flag()?,
    };
    household.questions.insert(no, question);
    Ok(())
}

fn alert_row(id: i64, alert: &Alert) -> Result<Vec<Cell>, StoreError> {
    let ended = alert.ended.as_ref();
    Ok(vec![
        id.into(),
        alert.no.into(),
        alert.kind.name().into(),
        alert.dose.map(|(course, _)| course).into(),
        alert.dose.map(|(_, dose)| dose).into(),
        alert.carer.into(),
        alert.text.as_deref().into(),
        millis(alert.raised_at).into(),
        alert.seen.as_ref().map(|(at, _)| millis(*at)).into(),
        alert.seen.as_ref().map(|(_, by)| by.as_str()).into(),
        alert.patient.as_deref().into(),
        serde_json::to_string(&alert.facts)?.into(),
        millis(alert.told_at).into(),
        alert.rungs.into(),
        serde_json::to_string(&alert.replies)?.into(),
        ended.map(|ended| ended.how.name()).into(),
        ended.map(|ended| millis(ended.at)).into(),
        ended.map(|ended| ended.by.as_str()).into(),
    ])
}

fn read_alert(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let name = row.text()?;
    let kind = Kind::ALL.iter().copied().find(|kind| kind.name() == name);
    let kind = kind.ok_or_else(|| row.unreadable())?;
    let dose = match (row.maybe_no()?, row.maybe_no()?) {
        (Some(course), Some(dose)) => Some((course, dose)),
        _ => None,
    };
    let (carer, text, raised_at) = (row.maybe_no()?, row.maybe_text()?, read_instant(row)?);
    let seen = match (read_maybe_instant(row)?, row.maybe_text()?) {
        (Some(at), Some(by)) => Some((at, by)),
        _ => None,
    };
    let patient = row.maybe_text()?;
    let facts = row.maybe_json()?.unwrap_or_default();
    let told_at = read_maybe_instant(row)?.unwrap_or(raised_at);
    let (rungs, replies) = (row.no()?, row.json()?);
    let ended = match (
        row.maybe_text()?,
        read_maybe_instant(row)?,
        row.maybe_text()?,
    ) {
        (Some(how), Some(at), Some(by)) => {
            let how = how.parse().map_err(|()| row.unreadable())?;
            Some(Ended { how, at, by })
        }
        _ => None,
    };
    let alert = Alert {
        no,
        kind,
        dose,
        carer,
        text,
        patient,
        facts,
        raised_at,
        told_at,
        rungs,
        seen,
        replies,
        ended,
    };
    household.alerts.insert(no, alert);
    Ok(())
}

fn amendment_row(id: i64, amendment: &Amendment) -> Result<Vec<Cell>, StoreError> {
    let settled = amendment.settled.as_ref();
    Ok(vec![
        id.into(),
        amendment.no.into(),
        amendment.course.into(),
        serde_json::to_string(&amendment.what)?.into(),
        amendment.entered_by.as_str().into(),
        millis(amendment.entered_at).into(),
        amendment.affirmed.into(),
        settled.map(|settled| millis(settled.at)).into(),
        settled.map(|settled| settled.by.as_str()).into(),
        settled.is_some_and(|settled| settled.taken).into(),
    ])
}

fn read_amendment(household: &mut Household, row: &mut Cells) -> Result<(), StoreError> {
    let no = row.no()?;
    let amendment = Amendment {
        no,
        course: row.no()?,
        what: row.json()?,
        entered_by: row.text()?,
        entered_at: read_instant(row)?,
        affirmed: row.flag()?,
        settled: {
            let who = read_who(row)?;
            let taken = row.flag()?;
            who.map(|(at, by)| Settled { at, by, taken })
        },
    };
    household.amendments.insert(no, amendment);
    Ok(())
}
