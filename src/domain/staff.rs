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

/// What somebody at the clinic is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// Enters, answers, confirms; what is ordered is not theirs to say.
    Technician,
    /// Orders as well.
    Veterinarian,
}

impl Role {
    /// The word that stays put.
    pub const fn name(self) -> &'static str {
        match self {
            Role::Technician => "technician",
            Role::Veterinarian => "veterinarian",
        }
    }
}

impl std::str::FromStr for Role {
    type Err = ();

    fn from_str(name: &str) -> Result<Role, ()> {
        match name {
            "technician" => Ok(Role::Technician),
            "veterinarian" => Ok(Role::Veterinarian),
            _ => Err(()),
        }
    }
}
