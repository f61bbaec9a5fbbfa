//! People at the clinic.

use serde::{Deserialize, Serialize};

/// Somebody at the clinic.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Whom {
    /// Everybody in the clinic's chat.
    Group,
    /// Whoever is on call.
    OnCall,
    /// A member of the staff, by name.
    Person(String),
}
