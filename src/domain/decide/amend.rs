//! A change of an order: read back with before and after, confirmed, by a
//! second person where the arithmetic changes, and told to everybody at home.

use super::super::Instant;
use super::super::amend::{Amended, Answering, Refused, amend, carers_of, in_hours, weight_of};
use super::super::amendment::{Alteration, Amendment};
use super::super::change::Change;
use super::super::forecast::forecast;
use super::super::household::{Course, Household, next_no};
use super::super::message::{Kind, Label, Message, No, Recipient, Tap, Value};
use super::super::order_check::arithmetic;
use super::super::policy::Policy;
use super::super::second_person::{Confirming, confirming};
use super::super::supplies::left;
use super::super::supply::Supply;
use super::Verdict;
use super::draft::Draft;
use super::wake::unsettled;
use chrono::TimeDelta;
use std::sync::Arc;

/// What the record says where a clinic of one person has switched the second person off.
pub const ONE_PERSON: &str = "one-person clinic";
/// How long a change that was read back may be confirmed.
const VALID: TimeDelta = TimeDelta::hours(24);

/// Takes a wish down, and reads it back unless it first has to be chosen among several.
pub(super) fn enter(draft: &mut Draft, course: No, what: &Alteration, by: &str, shown: bool) {
    if !draft.household.courses.contains_key(&course) {
        return;
    }
    let amendment = next_no(&draft.household.amendments);
    draft.change(Change::AmendmentEntered {
        amendment,
        course,
        what: what.clone(),
        by: by.into(),
        at: draft.now,
    });
    if shown {
        show(draft, amendment, by);
    }
}

/// Whether a change may still be answered.
pub fn is_open(amendment: &Amendment, now: Instant) -> bool {
    amendment.settled.is_none() && amendment.entered_at + VALID > now
}

/// A tap below a change.
pub(super) fn tapped(draft: &mut Draft, amendment: No, verdict: Verdict, by: &str) {
    let Some(found) = draft.household.amendments.get(&amendment).cloned() else {
        return;
    };
    if !is_open(&found, draft.now) {
        let settled = found.settled.as_ref();
        let message = headed(draft, &found, "change-closed")
            .maybe("by", settled.map(|settled| settled.by.as_str()));
        return draft.say(message);
    }
    match verdict {
        Verdict::Show => show(draft, amendment, by),
        Verdict::Drop => {
            settle(draft, amendment, false, by);
            let message = headed(draft, &found, "change-dropped").fact("by", by);
            draft.say(message);
        }
        Verdict::Confirm => confirm(draft, &found, by),
    }
}

/// Reads a change back with before and after; nothing is changed by that.
fn show(draft: &mut Draft, amendment: No, by: &str) {
    let Some(found) = draft.household.amendments.get(&amendment).cloned() else {
        return;
    };
    let who = Answering {
        by: &found.entered_by,
        confirmed_by: None,
    };
    match work_out(draft, &found, who) {
        Ok(amended) => {
            let message = read_back(&draft.household, &found, &amended, draft.policy, draft.now);
            let message = message.fact("status", "change").fact("by", by);
            draft.say(with_buttons(&draft.household, message, amendment));
        }
        Err(refused) => refuse(draft, &found, &refused, by),
    }
}

fn confirm(draft: &mut Draft, found: &Amendment, by: &str) {
    let who = Answering {
        by: &found.entered_by,
        confirmed_by: None,
    };
    let amended = match work_out(draft, found, who) {
        Ok(amended) => amended,
        Err(refused) => return refuse(draft, found, &refused, by),
    };
    if !amended.second {
        return carry_out(draft, found, by, None);
    }
    if !draft.policy.second_person {
        return carry_out(draft, found, by, Some(ONE_PERSON));
    }
    match confirming(&found.entered_by, None, by) {
        Confirming::Takes | Confirming::Already(_) => carry_out(draft, found, by, Some(by)),
        Confirming::SamePerson if found.affirmed => {
            let message = headed(draft, found, "change-same-person").fact("by", by);
            draft.say(message);
        }
        Confirming::SamePerson => {
            draft.change(Change::AmendmentAffirmed {
                amendment: found.no,
            });
            let message = read_back(&draft.household, found, &amended, draft.policy, draft.now);
            let message = message.fact("status", "change-second").fact("by", by);
            draft.say(with_buttons(&draft.household, message, found.no));
        }
    }
}

fn work_out(draft: &Draft, found: &Amendment, who: Answering) -> Result<Amended, Vec<Refused>> {
    amend(
        &draft.household,
        found.course,
        &found.what,
        draft.policy,
        who,
        draft.now,
    )
}

fn refuse(draft: &mut Draft, found: &Amendment, refused: &[Refused], by: &str) {
    settle(draft, found.no, false, by);
    let message = headed(draft, found, "change-refused")
        .fact("by", by)
        .fact("text", in_lines(refused));
    draft.say(message);
}

/// The reasons, one a line, without the name of a file's table before them.
pub fn in_lines(refused: &[Refused]) -> String {
    let lines: Vec<String> = refused
        .iter()
        .map(|why| {
            let why = why.to_string();
            why.strip_prefix("prescription.").unwrap_or(&why).to_owned()
        })
        .collect();
    lines.join("\n")
}

fn settle(draft: &mut Draft, amendment: No, taken: bool, by: &str) {
    draft.change(Change::AmendmentSettled {
        amendment,
        taken,
        by: by.into(),
        at: draft.now,
    });
}

fn carry_out(draft: &mut Draft, found: &Amendment, by: &str, confirmed_by: Option<&str>) {
    let who = Answering {
        by: &found.entered_by,
        confirmed_by,
    };
    let amended = match work_out(draft, found, who) {
        Ok(amended) => amended,
        Err(refused) => return refuse(draft, found, &refused, by),
    };
    let message = read_back(&draft.household, found, &amended, draft.policy, draft.now)
        .fact("status", "changed")
        .fact("by", by)
        .maybe(
            "entered_by",
            (found.entered_by != by).then_some(found.entered_by.as_str()),
        );
    for change in &amended.changes {
        draft.change(change.clone());
    }
    settle(draft, found.no, true, by);
    draft.say(message);
    tell_home(draft, found, &amended);
}

/// The clinic's message about a change, with nothing but whose it is.
fn headed(draft: &Draft, found: &Amendment, status: &str) -> Message {
    let household = &draft.household;
    let course = household.courses.get(&found.course);
    draft
        .to_clinic(Kind::ClinicOrderCheck)
        .about(course.map_or("", |course| household.patient_of(course)))
        .fact("status", status)
        .fact("change", found.what.name())
}

fn with_buttons(household: &Household, message: Message, amendment: No) -> Message {
    let household = household.id;
    message
        .button(
            Label::Confirm,
            Tap::Amend {
                household,
                amendment,
                verdict: Verdict::Confirm,
            },
        )
        .button(
            Label::Cancel,
            Tap::Amend {
                household,
                amendment,
                verdict: Verdict::Drop,
            },
        )
}

/// A change with before and after, and what follows from it at home; its status is still to be added.
pub fn read_back(
    before: &Household,
    amendment: &Amendment,
    amended: &Amended,
    policy: &Policy,
    now: Instant,
) -> Message {
    let after = &amended.household;
    let message = Message::new(Recipient::Clinic, Kind::ClinicOrderCheck)
        .fact("owner", before.owner.as_str())
        .maybe("household", u32::try_from(before.id).ok())
        .fact("change", amendment.what.name());
    let (Some(old), Some(new)) = (
        before.courses.get(&amendment.course),
        after.courses.get(&amendment.course),
    ) else {
        return message;
    };
    let message = message.about(before.patient_of(old));
    let message = with_both(message, before, old, after, new, &amendment.what);
    let message = match (&amendment.what, amended.syringe) {
        (Alteration::Dose(dose), Some(syringe)) => {
            let weight = before.patients.get(&old.patient).map(|p| p.weight.as_str());
            let weight = weight.and_then(|written| Some((weight_of(written)?, written)));
            let volume = new.latest_plan().volume;
            match weight {
                Some(weight) => arithmetic(
                    message,
                    &new.product,
                    *dose,
                    weight,
                    (volume, syringe),
                    policy,
                ),
                None => message,
            }
        }
        _ => message,
    };
    let message = match &amendment.what {
        Alteration::Pause
        | Alteration::End
        | Alteration::CarerAdded(_)
        | Alteration::CarerRemoved(_) => return message,
        Alteration::Length(_) | Alteration::Until(_) => message,
        _ => with_next(message, amended),
    };
    let message = with_end(message, before, amendment.course, amended);
    // While it is paused nobody knows when the next vial is mixed.
    if new.is_running() {
        with_vials(message, after, new, policy, now)
    } else {
        message
    }
}

/// What was, and what is to be.
fn with_both(
    message: Message,
    before: &Household,
    old: &Course,
    after: &Household,
    new: &Course,
    what: &Alteration,
) -> Message {
    let both =
        |message: Message, old: String, new: String| message.fact("before", old).fact("after", new);
    let times = |course: &Course| {
        let times: Vec<String> = course
            .latest_plan()
            .times
            .iter()
            .map(|time| time.format("%H:%M").to_string())
            .collect();
        times.join(", ")
    };
    let dose = |course: &Course| {
        let volume = course.latest_plan().volume.to_string();
        if course.ordered == volume {
            volume
        } else {
            format!("{volume} ({})", course.ordered)
        }
    };
    match what {
        Alteration::Dose(_) => both(message, dose(old), dose(new)),
        Alteration::Times(_) => both(message, times(old), times(new)),
        Alteration::Zone(_) => both(
            message,
            before.zone.name().to_owned(),
            after.zone.name().to_owned(),
        ),
        Alteration::Length(_) | Alteration::Until(_) => {
            both(message, old.doses.to_string(), new.doses.to_string())
        }
        Alteration::CarerAdded(name) => {
            let carers = carers_of(before).join(", ");
            let with = format!("{carers}, {name}");
            both(message, carers, with)
        }
        Alteration::CarerRemoved(_) => both(
            message,
            carers_of(before).join(", "),
            carers_of(after).join(", "),
        )
        .maybe(
            "nobody",
            after.reachable_carers().next().is_none().then_some("yes"),
        ),
        Alteration::Pause | Alteration::End => {
            let next = unsettled(before, old).next();
            let open = u32::try_from(unsettled(before, old).count()).unwrap_or(u32::MAX);
            message
                .maybe("next", next.map(|(_, planned)| planned.shown()))
                .fact("doses_left", open)
                .fact("given", before.given(old.no))
                .fact("doses", old.doses)
        }
        Alteration::Resume => message,
    }
}

/// The first dose that it holds for, and the span before it.
fn with_next(message: Message, amended: &Amended) -> Message {
    let after = &amended.household;
    let gap_flag = amended.gap.is_some_and(|(_, allowed)| !allowed);
    message
        .maybe("planned", amended.first.map(|(_, planned)| planned.shown()))
        .maybe("last", amended.last.map(|at| after.shown(at)))
        .maybe("gap", amended.gap.map(|(gap, _)| in_hours(gap)))
        .maybe("gap_flag", gap_flag.then_some("yes"))
        .maybe(
            "asked_before",
            amended.asked.map(|(_, planned)| planned.shown()),
        )
}

/// Where the end of the course moves: from when to when.
fn with_end(message: Message, before: &Household, course: No, amended: &Amended) -> Message {
    let last = |household: &Household| {
        let course = household.courses.get(&course)?;
        Some(course.planned(course.doses, household.zone).shown())
    };
    let (old, new) = (last(before), last(&amended.household));
    let moved = old != new;
    message
        .maybe("ends_before", old.filter(|_| moved))
        .maybe("ends", new.filter(|_| moved))
}

/// Whether what went home still reaches.
fn with_vials(
    message: Message,
    after: &Household,
    course: &Course,
    policy: &Policy,
    now: Instant,
) -> Message {
    let ahead = forecast(after, course, &policy.vial, now);
    let short = ahead.vials_short();
    message
        .maybe("vials_left", left(after, course, Supply::Vials))
        .fact("vials_needed", ahead.supplies().vials)
        .maybe(
            "runs_out",
            ahead.runs_out.map(|(_, planned)| planned.shown()),
        )
        .maybe("vials_short", (short > 0).then_some(short))
}

/// Everybody at home is told what holds from now on.
fn tell_home(draft: &mut Draft, found: &Amendment, amended: &Amended) {
    let Some(course) = draft.course(found.course) else {
        return;
    };
    match &found.what {
        Alteration::CarerAdded(_) | Alteration::CarerRemoved(_) => {}
        Alteration::End => {
            let message = super::wake::ended(draft, &course).fact("by_clinic", "yes");
            draft.say_to_all(&message);
        }
        Alteration::Zone(_) => {
            let courses: Vec<Arc<Course>> = draft.household.active_courses().cloned().collect();
            for course in courses {
                let message = plan_of(draft, &course, "zone");
                draft.say_to_all(&message);
            }
        }
        what => {
            let mut message = plan_of(draft, &course, what.name());
            if !matches!(what, Alteration::Pause) {
                let asked = amended.asked.map(|(_, planned)| planned.shown());
                message = message.maybe("asked_before", asked);
            }
            draft.say_to_all(&message);
        }
    }
}

/// The plan of a course as it stands, after a change or while it is paused.
pub(super) fn plan_of(draft: &Draft, course: &Course, what: &str) -> Message {
    let household = &draft.household;
    let message = Message::new(Recipient::Clinic, Kind::CourseChanged)
        .about(household.patient_of(course))
        .fact("phone", draft.phone());
    if course.paused.is_some() {
        return message.fact("what", "paused");
    }
    let next = unsettled(household, course)
        .find(|(dose, planned)| planned.at > draft.now && !asked(course, *dose));
    let plan = next.map_or(course.latest_plan(), |(dose, _)| course.plan(dose));
    let mut message = message
        .fact("what", what)
        .fact("volume_ml", plan.volume)
        .fact("syringe_ml", course.syringe)
        .maybe("planned", next.map(|(_, planned)| planned.shown()))
        .fact("ends", course.planned(course.doses, household.zone).shown())
        .maybe("zone", (what == "zone").then(|| household.zone.name()));
    let times = Value::Times(plan.times.clone());
    message.facts.insert("times".into(), times);
    message
}

fn asked(course: &Course, dose: No) -> bool {
    course.touched.get(&dose).is_some_and(|dose| dose.asked > 0)
}

/// Says to a carer that a course is paused.
pub(super) fn say_paused(draft: &mut Draft, carer: No, course: &Course) {
    let message = plan_of(draft, course, "paused");
    draft.say(Message {
        to: Recipient::Carer(carer),
        ..message
    });
}
