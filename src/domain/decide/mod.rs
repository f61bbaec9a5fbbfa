//! What follows from an input. Pure, and it cannot fail: text that nobody can
//! read, an old button and an empty vial are answers too.

mod amend;
mod answer;
mod clinic;
mod draft;
mod enrol;
mod ladder;
mod offered;
mod owner;
mod record;
mod said_time;
mod travel;
mod wake;

pub use amend::{ONE_PERSON, in_lines, is_open, read_back};
pub use enrol::{Entered, enrol};
pub use offered::still_offered;
pub use wake::next_look;

use super::Instant;
use super::amendment::Alteration;
use super::arrival::Body;
use super::change::Change;
use super::ending::Ending;
use super::household::{Chat, Household};
use super::message::{Kind, Message, No, Verdict};
use super::policy::Policy;
use draft::Draft;

/// What reaches a household.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A carer wrote, tapped or sent something.
    Carer {
        /// Who.
        carer: No,
        /// What.
        body: Body,
    },
    /// A carer used an invitation.
    Joined {
        /// Who.
        carer: No,
        /// From which chat.
        chat: Chat,
    },
    /// Somebody at the clinic wrote or tapped something about this household.
    Clinic {
        /// Who, as far as known.
        by: String,
        /// What.
        word: ClinicWord,
    },
    /// Time has passed.
    Wake,
    /// A message could not be delivered.
    Undelivered {
        /// To whom.
        carer: No,
        /// Which.
        kind: Kind,
        /// Why.
        why: Undelivered,
    },
}

/// What somebody at the clinic can say about a household.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClinicWord {
    /// An order's arithmetic was checked by a second person.
    Confirm {
        /// Which course.
        course: No,
    },
    /// An order is to be changed.
    Change {
        /// Which course.
        course: No,
        /// What of it.
        what: Alteration,
        /// Whether it is read back at once; else it has to be chosen first.
        shown: bool,
    },
    /// A tap below a change.
    Changing {
        /// Which change.
        amendment: No,
        /// What was tapped.
        verdict: Verdict,
    },
    /// An alert was seen.
    Seen {
        /// Which.
        alert: No,
    },
    /// How an alert ended.
    Ended {
        /// Which.
        alert: No,
        /// How.
        how: Ending,
    },
    /// The words that wait for an answer are shown once more.
    ShowAgain {
        /// Which alert.
        alert: No,
    },
    /// An answer to a carer's words.
    Reply {
        /// Which alert it answers.
        alert: No,
        /// The words.
        text: String,
    },
}

/// Why a message did not arrive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Undelivered {
    /// The chat is closed to us.
    Gone,
    /// It could not be sent as long as it was of use.
    TooLate,
    /// The platform does not take it.
    Refused,
}

/// What follows from an input: what changes, what is said, when to look again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Decision {
    /// The household as it is after the changes.
    pub household: Household,
    /// What changes, in order.
    pub changes: Vec<Change>,
    /// What is said, in order.
    pub messages: Vec<Message>,
    /// The earliest instant at which the household must be looked at again.
    pub wake_at: Option<Instant>,
}

/// Decides what follows from an input at an instant.
pub fn decide(household: &Household, input: &Input, now: Instant, policy: &Policy) -> Decision {
    decide_on(household.clone(), input, now, policy)
}

/// The same on a household that nobody needs any more as it was.
pub fn decide_on(household: Household, input: &Input, now: Instant, policy: &Policy) -> Decision {
    let mut draft = Draft::new(household, now, policy);
    match input {
        Input::Carer { carer, body } => owner::heard(&mut draft, *carer, body),
        Input::Joined { carer, chat } => enrol::joined(&mut draft, *carer, chat),
        Input::Clinic { by, word } => clinic::heard(&mut draft, by, word),
        Input::Wake => {}
        Input::Undelivered { carer, kind, why } => {
            clinic::undelivered(&mut draft, *carer, *kind, *why)
        }
    }
    // Whatever came, what is due by now is done in the same step: an answer
    // that came too late must find its window closed, not half closed.
    wake::look(&mut draft);
    draft.finish()
}
