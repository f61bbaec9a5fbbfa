//! A rung of the ladder that an alert climbs while nobody has seen it.

use super::message::Kind;
use super::staff::Whom;
use chrono::TimeDelta;

/// One rung: who is told, and how long after the alert.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rung {
    /// How long nobody has seen the alert by then.
    pub after: TimeDelta,
    /// Who is told.
    pub to: Whom,
    /// At which hours it counts.
    pub when: When,
    /// The alerts that it is for; none where it is for all that climb.
    pub alerts: Option<Vec<Kind>>,
}

/// At which hours a rung counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// At any.
    Always,
    /// While the clinic is open. Of an alert that came while it was closed the
    /// time counts from the opening; what would fall after the closing waits
    /// for the next opening.
    Open,
    /// While the clinic is closed; passed over when it is open by then.
    Closed,
}
