//! An invitation as a message of its own, with a picture to scan: it can be
//! passed on to the carer, or held up at the counter.

use super::Engine;
use super::settling::Settling;
use crate::domain::message::{Kind, Message, Paper, Recipient};

impl Engine {
    /// Sends the clinic an invitation that can be opened or scanned.
    pub(super) fn say_invitation(
        &self,
        settling: &mut Settling<'_>,
        household: i64,
        name: &str,
        code: &str,
    ) {
        let Some(known) = settling.household(household) else {
            return;
        };
        let hours = u32::try_from(self.policy.invitation_valid.num_hours()).unwrap_or(0);
        let link = self.invitation_link(code);
        let mut message = Message::new(Recipient::Clinic, Kind::ClinicInvitation)
            .fact("owner", known.owner.as_str())
            .fact("name", name)
            .fact("link", link.as_str())
            .fact("hours", hours);
        message.paper = is_scannable(&link).then_some(Paper::Code);
        settling.say(Some(household), message);
    }
}

/// Whether a phone that scans it has something to open.
pub(super) fn is_scannable(link: &str) -> bool {
    link.starts_with("https://")
}
