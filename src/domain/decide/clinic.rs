//! What follows from what somebody at the clinic does, and from messages that
//! did not arrive.

use super::super::Instant;
use super::super::alert::{Alert, endings_of};
use super::super::change::Change;
use super::super::ending::Ending;
use super::super::household::Outcome;
use super::super::message::{Kind, Label, No, Tap};
use super::super::second_person::{Confirming, confirming};
use super::amend;
use super::draft::Draft;
use super::{ClinicWord, Undelivered};

pub(super) fn heard(draft: &mut Draft, by: &str, word: &ClinicWord) {
    match word {
        ClinicWord::Confirm { course } => confirm(draft, *course, by),
        ClinicWord::Change {
            course,
            what,
            shown,
        } => amend::enter(draft, *course, what, by, *shown),
        ClinicWord::Changing { amendment, verdict } => {
            amend::tapped(draft, *amendment, *verdict, by)
        }
        ClinicWord::Seen { alert } => seen(draft, *alert, by),
        ClinicWord::Ended { alert, how } => ended(draft, *alert, by, *how),
        ClinicWord::ShowAgain { alert } => super::ladder::show_again(draft, *alert),
        ClinicWord::Reply { alert, text } => reply(draft, *alert, by, text),
    }
}

/// An order takes effect once a second person has checked its arithmetic.
fn confirm(draft: &mut Draft, course: No, by: &str) {
    let Some(found) = draft.course(course) else {
        return;
    };
    let before = found.confirmed.as_ref().map(|(_, who)| who.as_str());
    let status = match confirming(&found.entered_by, before, by) {
        Confirming::Already(who) => ("already", who.to_owned()),
        Confirming::SamePerson => ("same-person", by.to_owned()),
        Confirming::Takes => {
            draft.change(Change::CourseConfirmed {
                course,
                at: draft.now,
                by: by.into(),
            });
            ("confirmed", by.to_owned())
        }
    };
    let message = draft
        .to_clinic(Kind::ClinicOrderCheck)
        .about(draft.household.patient_of(&found))
        .fact("status", status.0)
        .fact("by", status.1);
    draft.say(message);
    if status.0 == "confirmed" {
        let carers: Vec<No> = draft.household.reachable_carers().collect();
        for carer in carers {
            super::enrol::say_plan(draft, carer, course);
        }
    }
}

/// The first to see an alert is the one who has it.
fn seen(draft: &mut Draft, alert: No, by: &str) {
    let Some(found) = draft.household.alerts.get(&alert).cloned() else {
        return;
    };
    if let Some((at, first)) = &found.seen {
        return say_seen(draft, &found, "seen-before", first, *at);
    }
    draft.change(Change::AlertSeen {
        alert,
        at: draft.now,
        by: by.into(),
    });
    say_seen(draft, &found, "seen", by, draft.now);
}

/// Says who has an alert or how it ended, with the buttons that may follow.
fn say_seen(draft: &mut Draft, alert: &Alert, status: &str, by: &str, at: Instant) {
    let now_ended = draft.household.alerts.get(&alert.no);
    let now_ended = now_ended.and_then(|alert| alert.ended.as_ref());
    let mut message = super::ladder::short(draft, alert, Kind::ClinicSeen)
        .fact("about", super::ladder::about(alert))
        .maybe("planned", super::ladder::planned(alert))
        .fact("status", status)
        .fact("by", by)
        .fact("at", draft.household.shown(at))
        .maybe("how", now_ended.map(|ended| ended.how.name()));
    let closed = now_ended.is_some_and(|ended| ended.how != Ending::NoAnswer);
    if !closed {
        let household = draft.household.id;
        for how in endings_of(alert.kind) {
            let tap = Tap::Ended {
                household,
                alert: alert.no,
                how: how.number(),
            };
            message = message.button(Label::Ended(*how), tap);
        }
    }
    draft.say(message);
}

/// How an alert ended, in one tap. What somebody said first stands, except that
/// after nobody answered a later call may reach somebody.
fn ended(draft: &mut Draft, alert: No, by: &str, how: Ending) {
    let Some(found) = draft.household.alerts.get(&alert).cloned() else {
        return;
    };
    if let Some(before) = found.ended.as_ref().filter(|_| found.is_closed()) {
        return say_seen(draft, &found, "ended-before", &before.by, before.at);
    }
    let at = draft.now;
    if found.seen.is_none() {
        draft.change(Change::AlertSeen {
            alert,
            at,
            by: by.into(),
        });
    }
    draft.change(Change::AlertEnded {
        alert,
        how,
        at,
        by: by.into(),
    });
    let status = match how {
        Ending::NoAnswer => "called",
        _ => "ended",
    };
    say_seen(draft, &found, status, by, at);
}

/// A person's answer goes to the carer who asked, or to whoever can be reached
/// where the alert came from nobody.
fn reply(draft: &mut Draft, alert: No, by: &str, text: &str) {
    let Some(found) = draft.household.alerts.get(&alert).cloned() else {
        return;
    };
    let at = draft.now;
    if let Some(ended) = found.ended.as_ref().filter(|_| found.is_closed()) {
        let message = super::ladder::short(draft, &found, Kind::ClinicAnswered)
            .fact("status", "closed")
            .fact("by", ended.by.as_str())
            .fact("at", draft.household.shown(ended.at))
            .fact("how", ended.how.name());
        return draft.say(message);
    }
    let reachable: Vec<No> = draft.household.reachable_carers().collect();
    let carer = match found.carer {
        Some(carer) => Some(carer).filter(|carer| reachable.contains(carer)),
        None => reachable.first().copied(),
    };
    let Some(carer) = carer else {
        let message = super::ladder::short(draft, &found, Kind::ClinicAnswered)
            .fact("status", "not-reached")
            .maybe("owner_phone", draft.household.phone());
        return draft.say(message);
    };
    if found.seen.is_none() {
        draft.change(Change::AlertSeen {
            alert,
            at,
            by: by.into(),
        });
    }
    draft.change(Change::AlertAnswered {
        alert,
        at,
        by: by.into(),
        words: text.into(),
    });
    // With two animals or two questions open, an answer alone may be taken for the other's.
    let mut message = draft
        .to(carer, Kind::ClinicReply)
        .fact("words", text)
        .fact("by", by)
        .maybe("text", found.text.as_deref());
    message.patient.clone_from(&found.patient);
    draft.say(message);
    let before = found.replies.last();
    let receipt = super::ladder::short(draft, &found, Kind::ClinicAnswered)
        .fact("status", "sent")
        .fact("by", by)
        .fact("to", draft.household.carer_name(carer))
        .maybe("before_by", before.map(|answer| answer.by.as_str()))
        .maybe(
            "before_at",
            before.map(|answer| draft.household.shown(answer.at)),
        );
    draft.say(receipt);
}

pub(super) fn undelivered(draft: &mut Draft, carer: No, kind: Kind, why: Undelivered) {
    match why {
        Undelivered::Gone => unreachable(draft, carer, "blocked"),
        Undelivered::Refused => unreachable(draft, carer, "failed"),
        Undelivered::TooLate => could_not_be_asked(draft, carer, kind),
    }
}

/// The carer's chat is closed to us: said once, by name, until it is open again.
pub(super) fn unreachable(draft: &mut Draft, carer: No, why: &str) {
    let Some(known) = draft.household.carers.get(&carer) else {
        return;
    };
    if !known.reachable {
        return;
    }
    let name = known.name.clone();
    if why == "blocked" {
        draft.change(Change::CarerReachable {
            carer,
            reachable: false,
        });
    }
    let patients: Vec<&str> = draft
        .household
        .active_courses()
        .map(|c| draft.household.patient_of(c))
        .collect();
    let mut message = draft
        .to_clinic(Kind::ClinicUnreachable)
        .fact("by", name)
        .fact("why", why);
    if !patients.is_empty() {
        message = message.about(&patients.join(", "));
    }
    draft.alert(message, None, Some(carer), None);
}

/// A reminder waited longer than it was of use. Where the dose can still be
/// asked for, it is; the clinic hears of a window that passed in silence.
fn could_not_be_asked(draft: &mut Draft, carer: No, kind: Kind) {
    if !matches!(kind, Kind::DoseDue | Kind::DoseAgain) {
        return;
    }
    let closed = draft.household.courses.values().find_map(|course| {
        let (dose, touched) = course.touched.iter().next_back()?;
        let ended = touched.planned.at + draft.policy.dose.window <= draft.now;
        let answered = matches!(draft.household.outcome(course, *dose), Outcome::Recorded(_));
        (ended && !answered).then(|| (course.clone(), *dose, touched.planned))
    });
    let Some((course, dose, planned)) = closed else {
        return;
    };
    let told = draft
        .household
        .alerts
        .values()
        .any(|a| a.kind == Kind::ClinicOutage && a.dose == Some((course.no, dose)));
    if told {
        return;
    }
    let message = draft
        .to_clinic(Kind::ClinicOutage)
        .about(draft.household.patient_of(&course))
        .fact("doses", 1_u32)
        .fact("planned", planned.shown())
        .fact("why", "undelivered");
    draft.alert(message, Some((course.no, dose)), Some(carer), None);
}
