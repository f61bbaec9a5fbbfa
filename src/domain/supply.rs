//! A thing that is used up at home, and how many of it were counted.

use super::Instant;
use serde::{Deserialize, Serialize};

/// A kind of thing that is used up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Supply {
    /// Vials of powder.
    Vials,
    /// Vials or ampoules of diluent, each enough for one vial of powder.
    Diluent,
    /// Syringes for doses.
    Syringes,
    /// Needles for doses.
    Needles,
}

impl Supply {
    /// All of them.
    pub const ALL: [Supply; 4] = [
        Supply::Vials,
        Supply::Diluent,
        Supply::Syringes,
        Supply::Needles,
    ];

    /// The name by which it is stored.
    pub const fn name(self) -> &'static str {
        match self {
            Supply::Vials => "vials",
            Supply::Diluent => "diluent",
            Supply::Syringes => "syringes",
            Supply::Needles => "needles",
        }
    }
}

/// How many of something there were at a time: as dispensed, or as counted at home.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Counted {
    /// How many pieces.
    pub pieces: u32,
    /// When they were counted.
    pub at: Instant,
}
