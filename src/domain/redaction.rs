//! The journal without the people of a household.
//!
//! Whatever is added to [`Change`] has to be judged here: the compiler asks.

use super::change::Change;
use super::erasure::{ERASED, People, erase_facts, erased_name};
use super::household::Chat;

/// An entry of the journal without the people; replayed, such entries and
/// [`Change::PersonErased`] give what [`super::erasure::erase`] makes of
/// the household.
pub fn erased(change: &Change, people: &People) -> Change {
    let mut change = change.clone();
    match &mut change {
        Change::CarerAdded { carer, name } => *name = erased_name(*carer),
        Change::CarerJoined { chat, .. } => {
            *chat = Chat {
                channel: chat.channel.clone(),
                address: ERASED.into(),
            };
        }
        Change::CarerMoved { address, .. } => *address = ERASED.into(),
        Change::CarerSaid { text, .. } => *text = String::new(),
        Change::Administered { by, .. }
        | Change::VialMixed { by, .. }
        | Change::VialDiscarded { by, .. } => people.erase(by),
        Change::QuestionAsked { options, .. } => options.clear(),
        Change::CarerPhone { phone, .. } => *phone = None,
        Change::AlertRaised { text, facts, .. } => {
            *text = None;
            erase_facts(facts);
        }
        Change::AlertAnswered { words, .. } => words.clear(),
        Change::AmendmentEntered { what, .. } => people.erase_alteration(what),
        // Numbers, instants, the order, and people of the clinic.
        Change::ZoneChanged { .. }
        | Change::CarerRemoved { .. }
        | Change::CarerReachable { .. }
        | Change::PatientAdded { .. }
        | Change::CourseStarted { .. }
        | Change::CourseConfirmed { .. }
        | Change::SuppliesCounted { .. }
        | Change::SupplyTold { .. }
        | Change::CourseEnded { .. }
        | Change::CourseResumed { .. }
        | Change::AmendmentAffirmed { .. }
        | Change::AmendmentSettled { .. }
        | Change::OrderAmended { .. }
        | Change::CoursePaused { .. }
        | Change::PauseEnded { .. }
        | Change::CourseStopped { .. }
        | Change::DoseAsked { .. }
        | Change::DoseClosed { .. }
        | Change::AdministrationSuperseded { .. }
        | Change::DrawsPlaced { .. }
        | Change::LevelSeen { .. }
        | Change::VialOut { .. }
        | Change::VialWarned { .. }
        | Change::QuestionSettled { .. }
        | Change::AlertClimbed { .. }
        | Change::AlertSeen { .. }
        | Change::AlertEnded { .. }
        | Change::PersonErased { .. } => {}
    }
    change
}
