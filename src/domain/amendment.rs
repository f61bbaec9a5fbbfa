//! What somebody at the clinic wants changed of an order, and how it stands
//! with that wish: read back first, confirmed then, by a second person where
//! the arithmetic changes.

use super::Instant;
use super::message::No;
use super::prescription::Length;
use super::quantity::OrderedDose;
use super::zone::Zone;
use chrono::{NaiveDate, NaiveTime};
use serde::{Deserialize, Serialize};

/// What is to become of an order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Alteration {
    /// Another dose.
    Dose(OrderedDose),
    /// Other times of the day, ascending.
    Times(Vec<NaiveTime>),
    /// Another zone, for the whole household.
    Zone(Zone),
    /// Another length of the whole course.
    Length(Length),
    /// No dose after this day, by the household's clock.
    Until(NaiveDate),
    /// One more carer, by name.
    CarerAdded(String),
    /// A carer less, by name.
    CarerRemoved(String),
    /// Nothing is asked for until the clinic says so.
    Pause,
    /// The course goes on.
    Resume,
    /// The course is over.
    End,
}

impl Alteration {
    /// The word for it in facts and tables.
    pub fn name(&self) -> &'static str {
        match self {
            Alteration::Dose(_) => "dose",
            Alteration::Times(_) => "times",
            Alteration::Zone(_) => "zone",
            Alteration::Length(_) | Alteration::Until(_) => "length",
            Alteration::CarerAdded(_) => "carer-added",
            Alteration::CarerRemoved(_) => "carer-removed",
            Alteration::Pause => "paused",
            Alteration::Resume => "resumed",
            Alteration::End => "ended",
        }
    }

    /// Whether it is a veterinarian's to say, and not the household's own affair.
    pub fn is_an_order(&self) -> bool {
        !matches!(
            self,
            Alteration::Zone(_) | Alteration::CarerAdded(_) | Alteration::CarerRemoved(_)
        )
    }
}

/// A change of an order that was asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amendment {
    /// The number in the household.
    pub no: No,
    /// The course.
    pub course: No,
    /// What is wanted.
    pub what: Alteration,
    /// Who entered it.
    pub entered_by: String,
    /// When.
    pub entered_at: Instant,
    /// Whether whoever entered it has confirmed what was read back.
    pub affirmed: bool,
    /// How it ended; none while it is open.
    pub settled: Option<Settled>,
}

/// How a wish for a change ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settled {
    /// When.
    pub at: Instant,
    /// By whom.
    pub by: String,
    /// Whether the order was changed.
    pub taken: bool,
}
