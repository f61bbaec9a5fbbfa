//! What is recorded, what is read back first, and what goes to the clinic
//! instead: doses, vials, corrections.

mod given;
mod mixed;
mod not_given;
mod supplies;
mod take_back;
mod vial;
mod which;

pub(super) use given::{ask_when, say_record};
pub(super) use not_given::propose_not_given;
pub(super) use take_back::take_back;
pub(super) use which::which_patient;

use super::draft::Draft;
use super::owner::escalate;
use crate::domain::household::Proposal;
use crate::domain::message::No;
use crate::domain::reading::{Record, What};
use given::{Given, hear_given, record_given};
use mixed::{hear_mixed, record_mixed};
use not_given::{hear_not_given, hear_not_yet, record_not_given};
use supplies::{hear_supplies, record_supplies};
use take_back::hear_take_back;
use vial::{hear_of_vial, record_back, record_discarded, record_level, record_out};

/// Hears a record and records it, reads it back, or passes it on.
pub(super) fn hear(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    match record.what {
        What::Given => hear_given(draft, carer, text, record),
        What::NotGiven => hear_not_given(draft, carer, text, record),
        What::NotYet => hear_not_yet(draft, carer, record),
        What::Mixed => hear_mixed(draft, carer, text, record),
        What::Discarded | What::Level | What::OutOfFridge | What::BackInFridge => {
            hear_of_vial(draft, carer, text, record);
        }
        What::TakeBack => hear_take_back(draft, carer, text, record),
        What::SuppliesCounted => hear_supplies(draft, carer, text, record),
    }
}

/// Records what was read back and confirmed, or tapped.
pub(super) fn perform(draft: &mut Draft, carer: No, text: &str, proposal: &Proposal) {
    match proposal.clone() {
        Proposal::Given {
            course,
            dose,
            at,
            by,
            volume,
        } => {
            record_given(
                draft,
                carer,
                text,
                &Given {
                    course,
                    dose,
                    at,
                    by,
                    volume,
                },
            );
        }
        Proposal::NotGiven { course, dose } => record_not_given(draft, carer, course, dose),
        Proposal::Mixed {
            course,
            vial,
            at,
            by,
        } => record_mixed(draft, carer, text, course, vial, at, &by),
        Proposal::Discarded { course, vial, at } => {
            record_discarded(draft, carer, course, vial, at)
        }
        Proposal::Level {
            course,
            vial,
            volume,
        } => record_level(draft, carer, course, vial, volume),
        Proposal::OutOfFridge { course, vial, at } => record_out(draft, carer, course, vial, at),
        Proposal::BackInFridge {
            course,
            vial,
            at,
            minutes,
        } => {
            record_back(draft, carer, text, course, vial, at, minutes);
        }
        Proposal::TakeBack { administration } => take_back(draft, carer, text, administration),
        Proposal::Supplies { course, counts } => record_supplies(draft, carer, course, &counts),
        // A clock and words are heard by whoever asked about them, never recorded as they are.
        Proposal::Zone { .. } => escalate(draft, carer, text, "zone"),
        // Words are heard again by whoever asked about them, never recorded as they are.
        Proposal::About { .. } => escalate(draft, carer, text, "not-understood"),
    }
}
