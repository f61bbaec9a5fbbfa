//! The clinic's staff, as far as the program knows them.

use super::Instant;
use super::household::Chat;
use super::staff::Role;

/// A member of the clinic's staff.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Member {
    /// The number in the clinic.
    pub no: u32,
    /// The name, as invited; nobody else on the staff has it.
    pub name: String,
    /// What they are.
    pub role: Role,
    /// The platform's number of the person, once they joined.
    pub person: Option<String>,
    /// The chat that they have with the bot alone.
    pub chat: Option<Chat>,
    /// Whether they are on call.
    pub on_call: bool,
    /// When they used the invitation.
    pub joined_at: Option<Instant>,
}
