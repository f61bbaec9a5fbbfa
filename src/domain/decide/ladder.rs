//! Alerts that nobody has seen, told to the next rung; and alerts told again.

use super::super::Instant;
use super::super::alert::Alert;
use super::super::change::Change;
use super::super::household::{Household, Status};
use super::super::ladder::{next_rung, told_now, word_of};
use super::super::message::{Kind, Label, Message, No, Recipient, Tap, Value};
use super::super::policy::Policy;
use super::super::staff::Whom;
use super::draft::Draft;

/// When an alert of the household climbs next.
pub(super) fn next_climb(household: &Household, policy: &Policy) -> Option<Instant> {
    household
        .alerts
        .values()
        .filter_map(|alert| next_rung(alert, &policy.ladder, &policy.clinic))
        .min()
}

/// Tells the rungs that were reached by now.
pub(super) fn climb(draft: &mut Draft) {
    let (rungs, clinic) = (&draft.policy.ladder, &draft.policy.clinic);
    let climbing: Vec<(No, Vec<Whom>)> = draft
        .household
        .alerts
        .values()
        .map(|alert| (alert.no, told_now(alert, rungs, clinic, draft.now)))
        .filter(|(_, whom)| !whom.is_empty())
        .collect();
    for (alert, whom) in climbing {
        draft.change(Change::AlertClimbed {
            alert,
            at: draft.now,
        });
        for to in whom {
            say_not_seen(draft, alert, to);
        }
    }
}

fn say_not_seen(draft: &mut Draft, alert: No, to: Whom) {
    let Some(alert) = draft.household.alerts.get(&alert).cloned() else {
        return;
    };
    let next = next_rung(&alert, &draft.policy.ladder, &draft.policy.clinic);
    let mut message = waiting(draft, &alert).maybe("last_rung", next.is_none().then_some("yes"));
    message.to = match to {
        Whom::Group => Recipient::Clinic,
        Whom::OnCall => {
            message = message.fact("on_call", "yes");
            Recipient::Staff(Whom::OnCall)
        }
        Whom::Person(name) => {
            message = message.fact("name", name.as_str());
            Recipient::Staff(Whom::Person(name))
        }
    };
    // Where it could not be delivered for so long, the next rung speaks of it.
    message.useful_until = next;
    draft.say(message);
}

/// The words that wait for an answer, once more.
pub(super) fn show_again(draft: &mut Draft, alert: No) {
    let Some(alert) = draft.household.alerts.get(&alert).cloned() else {
        return;
    };
    let mut message = waiting(draft, &alert);
    message.to = Recipient::Asker;
    draft.say(message);
}

/// An alert as it waits: what its message stated, and for how long.
fn waiting(draft: &Draft, alert: &Alert) -> Message {
    let household = draft.household.id;
    let waited = minutes_between(alert.raised_at, draft.now);
    let mut message = Message::new(Recipient::Clinic, Kind::ClinicNotSeen);
    if alert.text.is_some() && alert.dose.is_none() {
        message = super::owner::with_context(draft, message);
    }
    message.patient.clone_from(&alert.patient);
    for key in stated(alert) {
        if let Some(value) = alert.facts.get(*key) {
            message.facts.insert((*key).into(), value.clone());
        }
    }
    if alert.kind == Kind::ClinicUnreachable
        && let Some(carer) = alert.carer
    {
        message = message.fact("carer", draft.household.carer_name(carer));
    }
    if let Some(Value::Count(late)) = message.facts.get_mut("late_minutes") {
        *late += i64::from(waited);
    }
    if alert.kind == Kind::ClinicMissedDose {
        message = with_the_dose_as_it_is(&draft.household, alert, message);
    }
    message
        .fact("about", about(alert))
        .fact("owner", draft.household.owner.as_str())
        .maybe("household", u32::try_from(household).ok())
        .maybe("text", alert.text.as_deref())
        .maybe("owner_phone", draft.household.phone())
        .fact("waited_minutes", waited)
        .maybe("unseen", alert.seen.is_none().then_some("yes"))
        .button(
            Label::Seen,
            Tap::Seen {
                household,
                alert: alert.no,
            },
        )
}

/// What is on record by now of a dose that was told as missed: who reads that it
/// was not given, when it was given since, may have it given again.
fn with_the_dose_as_it_is(household: &Household, alert: &Alert, message: Message) -> Message {
    let Some((course, dose)) = alert.dose else {
        return message;
    };
    let Some(course) = household.courses.get(&course) else {
        return message;
    };
    let last = household.last_given(course.no);
    let message = message
        .fact("missed", household.missed(course))
        .maybe("last", last.map(|a| household.shown(a.at)));
    let given = household
        .in_force(course.no, dose)
        .filter(|a| a.status == Status::Completed);
    match given {
        Some(given) => message
            .fact("volume_ml", given.volume)
            .fact("given_at", household.shown(given.at))
            .fact("by", given.by.as_str()),
        None => message.maybe("said", alert.facts.get("said").cloned()),
    }
}

/// What is stated again of an alert as it was then; what stands beside an
/// owner's words is looked up anew.
fn stated(alert: &Alert) -> &'static [&'static str] {
    match alert.kind {
        Kind::ClinicQuestion | Kind::ClinicEmergency if alert.dose.is_none() => &["by", "minutes"],
        Kind::ClinicQuestion => &["by", "minutes", "planned", "volume_ml", "of_dose"],
        Kind::ClinicMissedDose => &["planned", "late_minutes"],
        Kind::ClinicVialPastLimit => &["volume_ml", "given_at", "by", "vial", "discard_by"],
        Kind::ClinicLevelDiffers => &["vial", "level_ml", "remaining_ml"],
        Kind::ClinicOutage => &["doses", "planned"],
        _ => &[],
    }
}

/// A message that says which alert it is about, and no more.
pub(super) fn short(draft: &Draft, alert: &Alert, kind: Kind) -> Message {
    let mut message = Message::new(Recipient::Clinic, kind);
    message.patient.clone_from(&alert.patient);
    let message = message
        .fact("owner", draft.household.owner.as_str())
        .maybe("household", u32::try_from(draft.household.id).ok());
    match &alert.text {
        Some(text) => message
            .fact("text", text.as_str())
            .maybe("from", alert.facts.get("by").cloned()),
        None => message,
    }
}

/// What an alert is about, in a word.
pub(super) fn about(alert: &Alert) -> &'static str {
    word_of(alert.kind).unwrap_or("supply-low")
}

/// The planned time of the dose that an alert is about.
pub(super) fn planned(alert: &Alert) -> Option<Value> {
    let of_a_dose = matches!(alert.kind, Kind::ClinicMissedDose | Kind::ClinicOutage);
    alert.facts.get("planned").filter(|_| of_a_dose).cloned()
}

fn minutes_between(from: Instant, to: Instant) -> u32 {
    u32::try_from((to - from).num_minutes().max(0)).unwrap_or(u32::MAX)
}
