//! What else happens to a vial: discarded, its level seen, out of the refrigerator and back.

use super::super::draft::Draft;
use super::super::owner::{escalate, nothing_open, question, say_call_clinic};
use super::super::said_time::meant;
use super::super::wake::say_what_is_short;
use super::mixed::vial_course;
use super::perform;
use crate::domain::Instant;
use crate::domain::change::Change;
use crate::domain::household::{Course, Proposal};
use crate::domain::message::{Kind, Label, Message, No, Recipient};
use crate::domain::quantity::Volume;
use crate::domain::reading::{Record, SaidAmount, SaidVial, What};
use crate::domain::vial::Vial;

pub(super) fn hear_of_vial(draft: &mut Draft, carer: No, text: &str, record: &Record) {
    let Some(course) = vial_course(draft, carer, text, record) else {
        return;
    };
    let Some((vial, certain)) = vial_meant(draft, &course, record) else {
        return escalate(draft, carer, text, "question");
    };
    let times = if record.time.is_some() {
        meant(record, draft.now, draft.household.zone)
    } else {
        vec![draft.now]
    };
    let Some(at) = times.first().copied() else {
        return escalate(draft, carer, text, "question");
    };
    let (course_no, no) = (course.no, vial.no);
    let proposal = match (record.what, &record.amount) {
        (What::Discarded, _) => Proposal::Discarded {
            course: course_no,
            vial: no,
            at,
        },
        (What::Level, Some(SaidAmount::Exact(said))) => match Volume::parse(said) {
            Ok(volume) => Proposal::Level {
                course: course_no,
                vial: no,
                volume,
            },
            Err(_) => return escalate(draft, carer, text, "other-amount"),
        },
        (What::OutOfFridge, _) => match record.lasted_minutes {
            Some(minutes) => Proposal::BackInFridge {
                course: course_no,
                vial: no,
                at,
                minutes: Some(minutes),
            },
            None => Proposal::OutOfFridge {
                course: course_no,
                vial: no,
                at,
            },
        },
        (What::BackInFridge, _) => Proposal::BackInFridge {
            course: course_no,
            vial: no,
            at,
            minutes: record.lasted_minutes,
        },
        _ => return escalate(draft, carer, text, "other-amount"),
    };
    if record.sure && certain {
        perform(draft, carer, text, &proposal);
    } else {
        ask_of_vial(draft, carer, &course, &vial, proposal);
    }
}

/// The vial that is meant, and whether that is certain enough to record it without asking.
fn vial_meant(draft: &Draft, course: &Course, record: &Record) -> Option<(Vial, bool)> {
    let kept: Vec<&Vial> = course
        .vials
        .values()
        .filter(|v| v.discarded.is_none())
        .collect();
    let holds_a_dose = |vial: &Vial| {
        vial.is_usable(draft.now)
            && draft
                .household
                .remaining(course, vial)
                .holds(draft.household.next_volume(course))
                > 0
    };
    let open = draft.household.open_vial(course, draft.now).cloned();
    let certain = |vial: &Vial| match record.what {
        What::Discarded => !holds_a_dose(vial),
        // What was never said to be out: a vial put away, or one taken home.
        What::BackInFridge => vial.out_since.is_some() || record.lasted_minutes.is_some(),
        _ => true,
    };
    match record.vial {
        Some(SaidVial::Number(no)) => kept
            .iter()
            .find(|v| v.no == no)
            .map(|v| ((*v).clone(), certain(v))),
        Some(SaidVial::Old) => kept.first().map(|v| ((*v).clone(), certain(v))),
        Some(SaidVial::New) => kept.last().map(|v| ((*v).clone(), certain(v))),
        // What is thrown away without a name is the one that is finished or past its limit.
        None if record.what == What::Discarded => {
            let finished: Vec<&&Vial> = kept.iter().filter(|v| !holds_a_dose(v)).collect();
            match finished.as_slice() {
                [one] => Some(((**one).clone(), true)),
                _ => open.map(|v| (v, false)),
            }
        }
        Some(SaidVial::Open) | None => open.map(|v| {
            let certain = certain(&v);
            (v, certain)
        }),
    }
}

fn ask_of_vial(draft: &mut Draft, carer: No, course: &Course, vial: &Vial, proposal: Proposal) {
    let (about, level) = match &proposal {
        Proposal::Discarded { .. } => ("discarded", None),
        Proposal::Level { volume, .. } => ("level", Some(*volume)),
        _ => ("out-of-fridge", None),
    };
    let message = draft
        .about(carer, Kind::Confirm, course)
        .fact("about", about)
        .fact("vial", vial.no)
        .fact("mixed_at", draft.household.shown(vial.mixed_at))
        .fact("phone", draft.phone())
        .maybe("level_ml", level);
    draft.ask(message, carer, vec![(Label::Yes, proposal)]);
}

pub(super) fn record_discarded(draft: &mut Draft, carer: No, course: No, vial: No, at: Instant) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    let Some(kept) = found.vials.get(&vial).filter(|v| v.discarded.is_none()) else {
        return nothing_open(draft, carer);
    };
    let by = draft.household.carer_name(carer).to_owned();
    let thrown = draft.household.remaining(&found, kept);
    draft.change(Change::VialDiscarded {
        course,
        vial,
        at,
        by: by.clone(),
    });
    let message = draft
        .about(carer, Kind::RecordedDiscarded, &found)
        .fact("vial", vial)
        .maybe("remaining_ml", (!thrown.is_zero()).then_some(thrown))
        .fact("by", by);
    draft.say_recorded(carer, message);
    say_what_is_short(draft, course);
}

pub(super) fn record_level(draft: &mut Draft, carer: No, course: No, vial: No, volume: Volume) {
    let Some(found) = draft.course(course) else {
        return nothing_open(draft, carer);
    };
    let Some(kept) = found.vials.get(&vial) else {
        return nothing_open(draft, carer);
    };
    let by = draft.household.carer_name(carer).to_owned();
    let computed = draft.household.remaining(&found, kept);
    draft.change(Change::LevelSeen {
        course,
        vial,
        volume,
        at: draft.now,
    });
    let message = draft
        .about(carer, Kind::RecordedLevel, &found)
        .fact("vial", vial)
        .fact("level_ml", volume)
        .fact("remaining_ml", computed)
        .fact("by", by.as_str());
    draft.say_recorded(carer, message);
    if computed.differs_by(volume) > draft.policy.vial.level_differs {
        say_call_clinic(draft, carer, true);
        let message = draft
            .to_clinic(Kind::ClinicLevelDiffers)
            .about(draft.household.patient_of(&found))
            .fact("vial", vial)
            .fact("level_ml", volume)
            .fact("remaining_ml", computed)
            .fact("by", by);
        draft.alert(message, None, Some(carer), None);
    }
}

pub(super) fn record_out(draft: &mut Draft, carer: No, course: No, vial: No, at: Instant) {
    draft.change(Change::VialOut {
        course,
        vial,
        since: Some(at),
    });
    say_fridge(draft, carer, course, vial, at, "out", None);
}

pub(super) fn record_back(
    draft: &mut Draft,
    carer: No,
    text: &str,
    course: No,
    vial: No,
    at: Instant,
    minutes: Option<u32>,
) {
    let since = draft
        .course(course)
        .and_then(|c| c.vials.get(&vial).and_then(|v| v.out_since));
    let counted =
        since.map(|since| u32::try_from((at - since).num_minutes().max(0)).unwrap_or(u32::MAX));
    let minutes = minutes.or(counted);
    draft.change(Change::VialOut {
        course,
        vial,
        since: None,
    });
    say_fridge(draft, carer, course, vial, at, "back", minutes);
    // Whether it may still be used is not ours to say: the clinic is told how long it was out.
    let told = question(draft, carer, text, "out-of-fridge").maybe("minutes", minutes);
    draft.alert(told, None, Some(carer), Some(text));
}

fn say_fridge(
    draft: &mut Draft,
    carer: No,
    course: No,
    vial: No,
    at: Instant,
    state: &str,
    minutes: Option<u32>,
) {
    let Some(found) = draft.course(course) else {
        return;
    };
    let message = Message {
        to: Recipient::Carer(carer),
        ..draft.about(carer, Kind::RecordedOutOfFridge, &found)
    };
    let message = message
        .fact("vial", vial)
        .fact("at", draft.household.shown(at))
        .fact("state", state)
        .fact("phone", draft.phone())
        .maybe("minutes", minutes);
    draft.say(message);
}
