//! Households: found, claimed, loaded, saved. How each of their rows reads is in
//! [`household_rows`](super::household_rows), which rows a change touches in
//! [`touched`](super::touched).

use super::buttons::WithButtons;
use super::cells::Cells;
use super::household_rows::{Found, loading, loading_to_decide};
use super::table::{self, Cell, instant};
use super::touched::{Rows, touched};
use super::{StoreError, Work};
use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::household::{Chat, Household};
use crate::domain::message::No;
use crate::domain::zone::Zone;
use sqlx::{AnyConnection, Row};
use std::collections::{BTreeMap, BTreeSet};

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
            let found = Found(self.row(query, [listed.into()]).await?);
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
        let ids: BTreeSet<i64> = ids.iter().copied().collect();
        let are_ours = ids.is_subset(&self.due);
        let ids = serde_json::to_string(&ids)?;
        let dialect = self.dialect();
        if dialect.has_others() && !are_ours {
            let sql = format!(
                "select id from household where {} order by id{}",
                dialect.is_one_of("id", "$1"),
                dialect.locked()
            );
            self.rows(&sql, [ids.clone().into()]).await?;
        }
        let sql = loading_to_decide(dialect);
        Ok(Found(self.row(sql, [ids.into()]).await?))
    }

    /// Whether households have the versions that they were loaded with.
    async fn are_still(&mut self, loaded: &[Loaded]) -> Result<bool, StoreError> {
        let ids: Vec<i64> = loaded.iter().map(|loaded| loaded.household.id).collect();
        let sql = format!(
            "select {} from household h where {}",
            self.dialect().all_of(&["h.id".into(), "h.version".into()]),
            self.dialect().is_one_of("h.id", "$1")
        );
        let values = [serde_json::to_string(&ids)?.into()];
        let mut versions = BTreeMap::new();
        for mut row in Cells::all("household", &self.ask(&sql, values).await?)? {
            versions.insert(row.int()?, row.int()?);
        }
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
        let due = self.ask(&sql, values).await?;
        let mut due = Cells::all("household", &due)?;
        let due: Vec<i64> = due.iter_mut().map(Cells::int).collect::<Result<_, _>>()?;
        if dialect.has_others() {
            self.due.extend(&due);
        }
        Ok(due)
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
        let dialect = self.dialect();
        let sql = format!(
            "insert into journal (household, at, cause, change) select {}, {}, {}, {} from {}",
            dialect.int("e", 0),
            dialect.int("e", 1),
            dialect.text("e", 2),
            dialect.text("e", 3),
            dialect.elements("$1", "e"),
        );
        self.write_rows(&sql, &journal, []).await
    }

    /// Writes the households' own rows, where they are still as they were decided on:
    /// of one that has moved on the version would be null, which no household's may
    /// be, and so nothing is written at all.
    async fn advance(&mut self, savings: &[Saving<'_>]) -> Result<(), StoreError> {
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
             where {}",
            dialect.int("e", 4),
            dialect.int("e", 1),
            dialect.text("e", 2),
            dialect.text("e", 3),
            dialect.elements("$1", "e"),
            dialect.looked_up("household.id", &dialect.int("e", 0)),
        );
        self.write_rows(&sql, &rows, []).await
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
        let carers = format!(
            "{} cross join carer c where c.clinic = $2 and c.channel = {} and c.address = {}",
            dialect.elements("$1", "e"),
            dialect.text("e", 0),
            dialect.text("e", 1),
        );
        let sql = table::together([
            dialect.list(&["c.household", "c.no", "c.channel", "c.address"], &carers),
            dialect.list(&["channel", "address"], "clinic_chat where clinic = $2"),
        ]);
        let values = [serde_json::to_string(&pairs)?.into(), clinic.into()];
        let row = self.row(&sql, values).await?;
        let mut carers = Vec::new();
        for mut row in Cells::all("carer", row.try_get(0)?)? {
            let (household, no) = (row.int()?, row.no()?);
            carers.push((chat(&mut row)?, (household, no)));
        }
        let mut clinics = Cells::all("clinic_chat", row.try_get(1)?)?;
        let clinics = clinics.first_mut().map(chat).transpose()?;
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

fn chat(row: &mut Cells) -> Result<Chat, StoreError> {
    Ok(Chat {
        channel: row.text()?,
        address: row.text()?,
    })
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
