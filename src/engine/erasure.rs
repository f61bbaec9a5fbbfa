//! An owner's personal data is erased at their request; the clinical record
//! stays, without the person.

use super::Engine;
use super::settling::Settling;
use crate::domain::Instant;
use crate::domain::change::{Change, apply};
use crate::domain::erasure::People;
use crate::domain::household::Household;
use crate::store::{Erased, Erasing, StoreError};
use chrono::TimeDelta;

/// Rows whose words are let go in one transaction.
const PURGE_BATCH: u32 = 500;

/// How often old words are looked for.
const PURGE_EVERY: TimeDelta = TimeDelta::hours(24);

/// Why nobody was erased. Nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum EraseError {
    /// The clinic has no such household.
    #[error("there is no household {0}")]
    NoHousehold(i64),
    /// A course is under way: its record is needed, and so are the people who give the doses.
    #[error("course {household}.{course} is under way; end it first")]
    UnderWay {
        /// The household.
        household: i64,
        /// The course.
        course: u32,
    },
    /// It was done before.
    #[error("the people of household {0} were erased before")]
    Before(i64),
    /// The store could not do it.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What an erasure takes, or took.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erasure {
    /// Names of the owner and the carers, and where they are called.
    pub names: Vec<String>,
    /// Chats that they have or had, as channel and address.
    pub chats: Vec<String>,
    /// Orders that nobody has confirmed; they end.
    pub drafts: Vec<u32>,
    /// Alerts that nobody has seen; they count as seen.
    pub unseen: usize,
    /// Rows that are written anew.
    pub rows: Erased,
}

impl Engine {
    /// Erases the people of a household, for good.
    ///
    /// Courses under way hinder it; orders that nobody has confirmed are ended.
    ///
    /// # Errors
    /// See [`EraseError`]. Afterwards [`Engine::scrub`] removes what the
    /// database keeps in its files.
    pub async fn erase(
        &self,
        household: i64,
        by: &str,
        now: Instant,
    ) -> Result<Erasure, EraseError> {
        let mut settling = Settling::begin(self, now).await?;
        let erased = self.erase_in(&mut settling, household, by).await;
        if erased.is_err() {
            settling.abandon().await?;
            return erased;
        }
        settling.commit().await?;
        tracing::info!(household, "the people were erased");
        erased
    }

    /// What [`Engine::erase`] would erase; nothing is.
    ///
    /// # Errors
    /// As there.
    pub async fn what_would_be_erased(
        &self,
        household: i64,
        by: &str,
        now: Instant,
    ) -> Result<Erasure, EraseError> {
        let mut settling = Settling::begin(self, now).await?;
        let erased = self.erase_in(&mut settling, household, by).await;
        settling.abandon().await?;
        erased
    }

    async fn erase_in(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        by: &str,
    ) -> Result<Erasure, EraseError> {
        let now = settling.now();
        settling.load(&[household]).await?;
        let known = settling
            .household(household)
            .filter(|h| h.clinic == self.policy.clinic.key)
            .ok_or(EraseError::NoHousehold(household))?
            .clone();
        if let Some(course) = known.active_courses().next() {
            return Err(EraseError::UnderWay {
                household,
                course: course.no,
            });
        }
        let journal = settling.work.journal(household).await?;
        let erased = |change: &Change| matches!(change, Change::PersonErased { .. });
        if journal.iter().any(|caused| erased(&caused.change)) {
            return Err(EraseError::Before(household));
        }
        let closing = closing(&known, by, now);
        let mut closed = known.clone();
        for change in &closing {
            apply(&mut closed, change);
        }
        // Whoever erases is one of the clinic's people from here on, in the journal too.
        let people = People::of(&closed);
        let erasing = Erasing::of(&known, &people, &journal, (now, by));
        let rows = settling.work.erase_person(&erasing, &people).await?;
        settling.nothing_is_shown(household);
        settling.change(household, closing, by);
        let erased = Change::PersonErased {
            at: now,
            by: by.into(),
        };
        settling.change(household, vec![erased], by);
        let drafts = known.courses.values().filter(|c| c.ended_at.is_none());
        Ok(Erasure {
            names: erasing.names,
            chats: erasing
                .chats
                .iter()
                .map(|chat| format!("{} {}", chat.channel, chat.address))
                .collect(),
            drafts: drafts.map(|course| course.no).collect(),
            unseen: known.alerts.values().filter(|a| a.seen.is_none()).count(),
            rows,
        })
    }

    /// Rebuilds the database's files, so that nothing stays in them that no row holds.
    ///
    /// # Errors
    /// Where somebody else uses the database: what was erased is erased, and
    /// this can be tried again.
    pub async fn scrub(&self) -> Result<(), StoreError> {
        self.store.scrub().await
    }

    /// Once a day, lets go of the words of what was settled long ago.
    pub(super) async fn purge(&self, now: Instant) -> Result<u64, StoreError> {
        {
            let mut last = self
                .purged
                .lock()
                .unwrap_or_else(std::sync::PoisonError::into_inner);
            if last.is_some_and(|last| now < last + PURGE_EVERY) {
                return Ok(0);
            }
            *last = Some(now);
        }
        let before = now - self.policy.keep_words;
        let mut purged = 0;
        loop {
            let mut work = self.store.begin().await?;
            let some = work
                .purge_words(&self.policy.clinic.key, before, now, PURGE_BATCH)
                .await?;
            work.commit().await?;
            purged += some;
            if some == 0 {
                break;
            }
        }
        if purged > 0 {
            tracing::info!(purged, "old messages lost their words");
        }
        Ok(purged)
    }
}

/// What else ends: nobody can be asked or answered any more.
fn closing(household: &Household, by: &str, now: Instant) -> Vec<Change> {
    let mut changes: Vec<Change> = Vec::new();
    let courses = household.courses.values();
    changes.extend(
        courses
            .filter(|course| course.ended_at.is_none())
            .map(|course| Change::CourseEnded {
                course: course.no,
                at: now,
            }),
    );
    let questions = household.questions.values();
    changes.extend(
        questions
            .filter(|question| !question.settled)
            .map(|question| Change::QuestionSettled {
                question: question.no,
            }),
    );
    let alerts = household.alerts.values();
    changes.extend(
        alerts
            .filter(|alert| alert.seen.is_none())
            .map(|alert| Change::AlertSeen {
                alert: alert.no,
                at: now,
                by: by.into(),
            }),
    );
    changes
}
