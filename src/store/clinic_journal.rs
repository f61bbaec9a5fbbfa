//! What changed of the clinic's own people and chat. Only added to.

use super::table::instant;
use super::{StoreError, Work};
use crate::domain::Instant;
use sqlx::Row;

/// A change of who may act for the clinic, or of where it is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AtClinic {
    /// Somebody was invited to the staff.
    StaffInvited(String),
    /// Somebody used their invitation.
    StaffJoined(String),
    /// Somebody was taken off.
    StaffRemoved(String),
    /// Somebody is on call from now on.
    OnCall(String),
    /// Nobody is on call by name.
    NobodyOnCall,
    /// A code was made that makes a chat the clinic's.
    ChatCode,
    /// A chat became the clinic's; the origin names it.
    ChatBound,
}

impl AtClinic {
    /// The word that stays put, and whom it is about.
    pub fn parts(&self) -> (&'static str, Option<&str>) {
        match self {
            AtClinic::StaffInvited(name) => ("staff-invited", Some(name)),
            AtClinic::StaffJoined(name) => ("staff-joined", Some(name)),
            AtClinic::StaffRemoved(name) => ("staff-removed", Some(name)),
            AtClinic::OnCall(name) => ("on-call", Some(name)),
            AtClinic::NobodyOnCall => ("nobody-on-call", None),
            AtClinic::ChatCode => ("chat-code", None),
            AtClinic::ChatBound => ("chat-bound", None),
        }
    }
}

/// Who did something at the clinic, and from where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doer {
    /// Their name.
    pub who: String,
    /// The channel and the chat, or `terminal`.
    pub origin: String,
}

impl Doer {
    /// Whoever is at the clinic's own machine.
    pub fn at_the_terminal() -> Doer {
        Doer {
            who: "terminal".into(),
            origin: "terminal".into(),
        }
    }
}

/// An entry of the clinic's journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ClinicEntry {
    /// Its number; entries come in this order.
    pub id: i64,
    /// When.
    pub at: Instant,
    /// Who, and from where.
    pub doer: Doer,
    /// What, as a word that stays put.
    pub what: String,
    /// Whom it is about.
    pub name: Option<String>,
}

impl Work {
    /// Adds an entry to a clinic's journal.
    pub async fn note_at_clinic(
        &mut self,
        clinic: &str,
        doer: &Doer,
        change: &AtClinic,
        now: Instant,
    ) -> Result<(), StoreError> {
        let (what, name) = change.parts();
        sqlx::query(
            "insert into clinic_journal (clinic, at, who, origin, what, name) \
             values ($1, $2, $3, $4, $5, $6)",
        )
        .bind(clinic.to_owned())
        .bind(now.timestamp_millis())
        .bind(doer.who.clone())
        .bind(doer.origin.clone())
        .bind(what)
        .bind(name.map(str::to_owned))
        .execute(self.db().await?)
        .await?;
        Ok(())
    }

    /// Entries of a clinic's journal from one instant until before another, in order.
    pub async fn clinic_journal(
        &mut self,
        clinic: &str,
        from: Option<Instant>,
        until: Option<Instant>,
    ) -> Result<Vec<ClinicEntry>, StoreError> {
        let rows = sqlx::query(
            "select id, at, who, origin, what, name from clinic_journal \
             where clinic = $1 and at >= $2 and at < $3 order by id",
        )
        .bind(clinic.to_owned())
        .bind(from.map_or(i64::MIN, |at| at.timestamp_millis()))
        .bind(until.map_or(i64::MAX, |at| at.timestamp_millis()))
        .fetch_all(self.db().await?)
        .await?;
        rows.iter()
            .map(|row| {
                Ok(ClinicEntry {
                    id: row.try_get(0)?,
                    at: instant(row.try_get(1)?).unwrap_or_default(),
                    doer: Doer {
                        who: row.try_get(2)?,
                        origin: row.try_get(3)?,
                    },
                    what: row.try_get(4)?,
                    name: row.try_get(5)?,
                })
            })
            .collect()
    }
}
