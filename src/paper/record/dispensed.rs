//! What went home, read from the journal: the household itself only knows what
//! was counted last.

use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::household::Household;
use crate::domain::message::No;
use crate::domain::supply::Supply;

/// Pieces of one supply that went home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dispensed {
    /// With which course.
    pub course: No,
    /// Of what.
    pub supply: Supply,
    /// How many.
    pub pieces: u32,
    /// When.
    pub at: Instant,
}

/// What went home with each order: counted at the instant the course began.
/// Later counts are what somebody counted at home.
pub fn dispensed<'a>(
    household: &Household,
    journal: impl IntoIterator<Item = &'a Change>,
) -> Vec<Dispensed> {
    journal
        .into_iter()
        .filter_map(|change| match *change {
            Change::SuppliesCounted {
                course,
                supply,
                pieces,
                at,
            } => Some(Dispensed {
                course,
                supply,
                pieces,
                at,
            }),
            _ => None,
        })
        .filter(|went| {
            household
                .courses
                .get(&went.course)
                .is_some_and(|course| course.started_at == went.at)
        })
        .collect()
}
