//! Supplies that somebody counted.

use super::super::draft::Draft;
use super::super::owner::escalate;
use super::mixed::vial_course;
use super::perform;
use crate::domain::change::Change;
use crate::domain::household::Proposal;
use crate::domain::message::{Kind, Label, No};
use crate::domain::reading::{Record, SaidSupply};
use crate::domain::supply::Supply;

/// Supplies that somebody counted: the books go on from there.
pub(super) fn hear_supplies(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let Some(course) = vial_course(draft, carer, text, record) else {
        return;
    };
    let counts: Vec<(Supply, u32)> = record
        .counts
        .iter()
        .map(|count| (supply_said(count.supply), count.pieces))
        .collect();
    if counts.is_empty() {
        return escalate(draft, carer, text, "question");
    }
    let counted = Proposal::Supplies {
        course: course.no,
        counts: counts.clone(),
    };
    if record.sure {
        return perform(draft, carer, text, &counted);
    }
    let count = |supply| {
        counts
            .iter()
            .find(|(s, _)| *s == supply)
            .map(|(_, pieces)| *pieces)
    };
    let message = draft
        .about(carer, Kind::Confirm, &course)
        .fact("about", "supplies")
        .maybe("vials_left", count(Supply::Vials))
        .maybe("syringes", count(Supply::Syringes))
        .maybe("needles", count(Supply::Needles))
        .maybe("diluent_count", count(Supply::Diluent))
        .fact("phone", draft.phone());
    draft.ask(message, carer, vec![(Label::Yes, counted)]);
}

fn supply_said(said: SaidSupply) -> Supply {
    match said {
        SaidSupply::Vials => Supply::Vials,
        SaidSupply::Needles => Supply::Needles,
        SaidSupply::Syringes => Supply::Syringes,
        SaidSupply::Diluent => Supply::Diluent,
    }
}

pub(super) fn record_supplies(draft: &mut Draft, carer: No, course: No, counts: &[(Supply, u32)]) {
    for (supply, pieces) in counts {
        draft.change(Change::SuppliesCounted {
            course,
            supply: *supply,
            pieces: *pieces,
            at: draft.now,
        });
    }
    if let Some(course) = draft.course(course) {
        super::super::answer::supplies(draft, carer, &course);
    }
}
