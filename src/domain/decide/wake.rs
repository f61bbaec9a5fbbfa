//! What is due because time has passed, and when to look again.

use super::super::Instant;
use super::super::change::Change;
use super::super::forecast;
use super::super::household::{Course, Household, Outcome, Planned, Status};
use super::super::message::{Kind, Label, Message, No, Recipient, Tap};
use super::super::policy::Policy;
use super::super::quantity::Volume;
use super::super::supplies::left;
use super::super::supply::Supply;
use super::super::vial::{Draw, Vial, spread};
use super::draft::Draft;
use chrono::TimeDelta;

/// Does all that is due by now, for every course.
pub(super) fn look(draft: &mut Draft) {
    let courses: Vec<No> = draft.household.active_courses().map(|c| c.no).collect();
    for course in courses {
        // While the clinic has paused a course nothing is due; a mixed vial grows old all the same.
        let running = draft
            .course(course)
            .is_some_and(|course| course.is_running());
        if running {
            close_windows(draft, course);
            ask_for_doses(draft, course);
        }
        warn_of_limits(draft, course);
        end_course(draft, course);
        if running {
            warn_of_supplies(draft, course);
        }
    }
    super::ladder::climb(draft);
}

/// The earliest instant at which something will be due; none where nothing ever will.
pub fn next_look(household: &Household, policy: &Policy) -> Option<Instant> {
    next_look_by(household, policy, |course| {
        runs_out(household, course, policy)
    })
}

/// The same, told by whoever knows it already of which dose a course runs out.
pub(super) fn next_look_by(
    household: &Household,
    policy: &Policy,
    runs_out: impl Fn(&Course) -> Option<Planned>,
) -> Option<Instant> {
    let climbs = super::ladder::next_climb(household, policy);
    let others = household.active_courses().flat_map(|course| {
        let running = course.is_running();
        let dose = running.then(|| next_dose_instant(household, course, policy));
        let vials = course
            .vials
            .values()
            .filter_map(|vial| next_warning(household, course, vial, policy));
        dose.flatten().into_iter().chain(vials.map(|(at, _)| at))
    });
    let soonest = others.chain(climbs).min();
    let by = soonest.unwrap_or(Instant::MAX_UTC);
    household
        .active_courses()
        .filter(|course| course.is_running() && may_have_to_warn(household, course, policy, by))
        .filter_map(|course| Some(runs_out(course)?.at - policy.supply.lead))
        .chain(soonest)
        .min()
}

/// When the earliest unsettled dose needs something. Doses are planned in
/// ascending order, so later ones cannot be due before it, except that the
/// window of one may still be open when the next is due.
fn next_dose_instant(household: &Household, course: &Course, policy: &Policy) -> Option<Instant> {
    let mut open = unsettled(household, course).peekable();
    let closes = open
        .peek()
        .map(|(_, first)| first.at + policy.dose.window)?;
    open.take_while(|(_, planned)| planned.at <= closes)
        .map(|(dose, planned)| match course.touched.get(&dose) {
            // Nobody to ask is no reason to look every moment: its window still closes.
            _ if household.reachable_carers().next().is_none() => planned.at + policy.dose.window,
            Some(touched) if touched.asked > 0 => next_asking(&planned, touched.asked, policy)
                .unwrap_or(planned.at + policy.dose.window),
            _ => planned.at,
        })
        .min()
}

/// When a dose that was asked for `asked` times is asked for again, inside its window.
fn next_asking(planned: &Planned, asked: u32, policy: &Policy) -> Option<Instant> {
    let after = policy.dose.again.get(asked as usize - 1)?;
    (*after < policy.dose.window).then(|| planned.at + *after)
}

/// Doses that nothing is known of yet, in order.
pub(super) fn unsettled<'a>(
    household: &'a Household,
    course: &'a Course,
) -> impl Iterator<Item = (No, Planned)> + 'a {
    household
        .open_doses(course)
        .map(|dose| (dose, course.planned(dose, household.zone)))
}

/// Closes the windows that ended, and says so once for all of a kind.
fn close_windows(draft: &mut Draft, course_no: No) {
    let Some(course) = draft.course(course_no) else {
        return;
    };
    let closing: Vec<(No, Planned)> = unsettled(&draft.household, &course)
        .take_while(|(_, planned)| planned.at <= draft.now)
        .filter(|(_, planned)| draft.window_end(planned) <= draft.now)
        .collect();
    let mut unanswered = Vec::new();
    let mut unasked = Vec::new();
    for (dose, planned) in closing {
        draft.change(Change::DoseClosed {
            course: course_no,
            dose,
            local: planned.local,
            zone: planned.zone,
            planned_at: planned.at,
            at: draft.now,
        });
        let asked = course.touched.get(&dose).is_some_and(|d| d.asked > 0);
        if asked || draft.household.reachable_carers().next().is_none() {
            unanswered.push((dose, planned));
        } else {
            unasked.push((dose, planned));
        }
    }
    tell_of_unanswered(draft, &course, &unanswered);
    tell_of_unasked(draft, &course, &unasked);
}

fn tell_of_unanswered(draft: &mut Draft, course: &Course, doses: &[(No, Planned)]) {
    let Some((_, last)) = doses.last() else {
        return;
    };
    let count = u32::try_from(doses.len()).unwrap_or(u32::MAX);
    let message = window_closed(draft, course, last, count, "unanswered");
    draft.say_to_all(&message);
    for (dose, planned) in doses {
        tell_clinic_of_missed(draft, course.no, *dose, planned, "unanswered");
    }
}

/// After an outage: one honest message, not a pile of stale ones.
fn tell_of_unasked(draft: &mut Draft, course: &Course, doses: &[(No, Planned)]) {
    let (Some((dose, first)), Some((_, last))) = (doses.first(), doses.last()) else {
        return;
    };
    let count = u32::try_from(doses.len()).unwrap_or(u32::MAX);
    let message = window_closed(draft, course, last, count, "unasked");
    draft.say_to_all(&message);
    let outage = draft
        .to_clinic(Kind::ClinicOutage)
        .about(draft.household.patient_of(course))
        .fact("doses", count)
        .fact("planned", first.shown())
        .maybe("last", (doses.len() > 1).then(|| last.shown()))
        .fact("why", "down");
    draft.alert(outage, Some((course.no, *dose)), None, None);
}

fn window_closed(
    draft: &Draft,
    course: &Course,
    last: &Planned,
    count: u32,
    reason: &str,
) -> Message {
    Message::new(Recipient::Clinic, Kind::DoseWindowClosed)
        .about(draft.household.patient_of(course))
        .fact("planned", last.shown())
        .fact("doses", count)
        .fact("reason", reason)
        .fact("phone", draft.phone())
}

/// Tells the clinic that a dose was not given, or that nobody said anything.
pub(super) fn tell_clinic_of_missed(
    draft: &mut Draft,
    course: No,
    dose: No,
    planned: &Planned,
    reason: &str,
) {
    let Some(course) = draft.course(course) else {
        return;
    };
    let late = u32::try_from((draft.now - planned.at).num_minutes().max(0)).unwrap_or(u32::MAX);
    let last = draft
        .household
        .last_given(course.no)
        .map(|a| draft.household.shown(a.at));
    let message = draft
        .to_clinic(Kind::ClinicMissedDose)
        .about(draft.household.patient_of(&course))
        .fact("planned", planned.shown())
        .fact("late_minutes", late)
        .fact("reason", reason)
        .fact("missed", draft.household.missed(&course))
        .maybe("last", last)
        .maybe("said", draft.household.last_words());
    draft.alert(message, Some((course.no, dose)), None, None);
}

/// Asks for the doses that are due and not asked for yet, or asks again.
fn ask_for_doses(draft: &mut Draft, course_no: No) {
    let Some(course) = draft.course(course_no) else {
        return;
    };
    if draft.household.reachable_carers().next().is_none() {
        return;
    }
    let due: Vec<(No, Planned)> = unsettled(&draft.household, &course)
        .take_while(|(_, planned)| planned.at <= draft.now)
        .collect();
    for (dose, planned) in due {
        let asked = course.touched.get(&dose).map_or(0, |d| d.asked);
        // After an outage inside the window only one asking is made up for.
        let repeats_passed = draft
            .policy
            .dose
            .again
            .iter()
            .filter(|after| planned.at + **after <= draft.now)
            .count();
        let askings_by_now = 1 + u32::try_from(repeats_passed).unwrap_or(0);
        if asked >= askings_by_now {
            continue;
        }
        for _ in asked..askings_by_now {
            draft.change(Change::DoseAsked {
                course: course_no,
                dose,
                local: planned.local,
                zone: planned.zone,
                planned_at: planned.at,
                at: draft.now,
            });
        }
        let kind = if asked == 0 {
            Kind::DoseDue
        } else {
            Kind::DoseAgain
        };
        if asked == 0 {
            forget_words(draft);
            say_which_vial_to_mix(draft, &course, dose, &planned);
        }
        let useful_until = next_asking(&planned, askings_by_now, draft.policy)
            .unwrap_or(planned.at + draft.policy.dose.window);
        say_dose(draft, &course, kind, dose, &planned, useful_until);
    }
}

/// What was said before a dose is asked for is no answer to it.
fn forget_words(draft: &mut Draft) {
    let said: Vec<No> = draft
        .household
        .carers
        .values()
        .filter(|carer| carer.said.as_deref().is_some_and(|said| !said.is_empty()))
        .map(|carer| carer.no)
        .collect();
    for carer in said {
        draft.change(Change::CarerSaid {
            carer,
            text: String::new(),
        });
    }
}

/// Asks for a dose; of no use any more once it is asked for anew.
fn say_dose(
    draft: &mut Draft,
    course: &Course,
    kind: Kind,
    dose: No,
    planned: &Planned,
    useful_until: Instant,
) {
    let volume = course.plan(dose).volume;
    let message = Message::new(Recipient::Clinic, kind)
        .about(draft.household.patient_of(course))
        .fact("planned", planned.shown())
        .fact("volume_ml", volume);
    let mut message = from_which_vials(draft, course, volume, message)
        .button(
            Label::Given,
            Tap::Given {
                course: course.no,
                dose,
            },
        )
        .button(
            Label::NotGiven,
            Tap::NotGiven {
                course: course.no,
                dose,
            },
        );
    let drawn_from = draws_now(draft, course, volume);
    message.useful_until = Some(while_usable(course, &drawn_from, useful_until));
    draft.say_to_all(&message);
}

/// The vials that a dose would be drawn from now.
fn draws_now(draft: &Draft, course: &Course, volume: Volume) -> Vec<Draw> {
    let usable = draft.household.usable_vials(course, draft.now);
    let policy = &draft.policy.vial;
    spread(volume, &usable, policy.loss, policy.split)
}

/// Until then, or until a vial that is named reaches its limit: nothing is
/// offered past that, however late a message gets through.
fn while_usable(course: &Course, draws: &[Draw], until: Instant) -> Instant {
    let named = draws
        .iter()
        .filter_map(|draw| course.vials.get(&draw.vial?));
    named.map(|vial| vial.discard_by).fold(until, Instant::min)
}

/// One vial with what it holds, or two with their parts; none where one has to be mixed first.
fn from_which_vials(draft: &Draft, course: &Course, volume: Volume, message: Message) -> Message {
    let usable = draft.household.usable_vials(course, draft.now);
    let draws = draws_now(draft, course, volume);
    let vial = |draw: &Draw| draw.vial.unwrap_or(course.next_vial());
    let holds = |draw: &Draw| {
        let held = usable.iter().find(|(vial, _)| Some(*vial) == draw.vial);
        held.map(|(_, left)| *left)
    };
    match draws.as_slice() {
        [one] => message
            .maybe("vial", one.vial)
            .maybe("remaining_ml", holds(one)),
        [first, second] if second.volume <= course.product.drawable(draft.policy.vial.loss) => {
            message
                .fact("from_vial", vial(first))
                .fact("from_ml", first.volume)
                .fact("then_vial", vial(second))
                .fact("then_ml", second.volume)
        }
        // More vials than two: the mixing goes step by step, and so do the messages.
        _ => message,
    }
}

/// Where the vials changed while a dose is being asked for, says what has to be
/// mixed for it now.
pub(super) fn say_what_is_short(draft: &mut Draft, course: No) {
    let Some(course) = draft.course(course) else {
        return;
    };
    let open = unsettled(&draft.household, &course).next();
    if course.paused.is_none()
        && let Some((dose, planned)) = open
        && course.touched.get(&dose).is_some_and(|d| d.asked > 0)
        && draft.now < draft.window_end(&planned)
    {
        say_which_vial_to_mix(draft, &course, dose, &planned);
    }
}

/// Says that the next vial has to be mixed where the mixed ones cannot give the whole dose.
fn say_which_vial_to_mix(draft: &mut Draft, course: &Course, dose: No, planned: &Planned) {
    let dose_volume = course.plan(dose).volume;
    let usable = draft.household.usable_vials(course, draft.now);
    let draws = draws_now(draft, course, dose_volume);
    let Some(short) = draws.iter().find(|draw| draw.vial.is_none()) else {
        return;
    };
    let split = draws.len() > 1;
    // With a third vial the parts before were told when the second was mixed:
    // told again, they could be drawn again.
    let from = draws.first().filter(|_| draws.len() == 2);
    let past_limit = course.vials.values().any(|v| {
        v.discarded.is_none()
            && v.discard_by <= draft.now
            && !draft.household.remaining(course, v).is_zero()
    });
    let reason = match usable.first() {
        _ if split => "split",
        Some(_) => "short",
        None if past_limit => "limit",
        None if course.vials.is_empty() => "first",
        None if course.vials.values().all(|v| v.discarded.is_some()) => "discarded",
        None => "empty",
    };
    let vial = course.next_vial();
    let mut message = Message::new(Recipient::Clinic, Kind::VialMixNext)
        .about(draft.household.patient_of(course))
        .fact("vial", vial)
        .fact("diluent_ml", course.product.diluent_volume)
        .fact("diluent", course.product.diluent.as_str())
        .fact("reason", reason)
        .maybe("from_vial", from.and_then(|draw| draw.vial))
        .maybe("from_ml", from.map(|draw| draw.volume))
        .maybe(
            "then_ml",
            split.then(|| {
                short
                    .volume
                    .min(course.product.drawable(draft.policy.vial.loss))
            }),
        )
        .button(
            Label::Mixed(vial),
            Tap::Mixed {
                course: course.no,
                vial,
            },
        );
    let until = draft.window_end(planned);
    let named = if from.is_some() {
        draws.as_slice()
    } else {
        &[]
    };
    message.useful_until = Some(while_usable(course, named, until));
    draft.say_to_all(&message);
}

/// The next warning of a vial's limit that was not sent yet: when, and how many minutes before the limit.
fn next_warning(
    household: &Household,
    course: &Course,
    vial: &Vial,
    policy: &Policy,
) -> Option<(Instant, u32)> {
    if vial.discarded.is_some() || household.remaining(course, vial).is_zero() {
        return None;
    }
    let lead = |before: &TimeDelta| u32::try_from(before.num_minutes()).ok();
    policy
        .vial
        .warn_before
        .iter()
        .filter_map(lead)
        .chain([0])
        .filter(|minutes| vial.warned_minutes.is_none_or(|warned| *minutes < warned))
        .map(|minutes| {
            (
                vial.discard_by - TimeDelta::minutes(minutes.into()),
                minutes,
            )
        })
        // A vial that keeps for less than a warning's lead was never that far from its limit.
        .find(|(at, minutes)| *minutes == 0 || *at > vial.mixed_at)
}

fn warn_of_limits(draft: &mut Draft, course_no: No) {
    let Some(course) = draft.course(course_no) else {
        return;
    };
    for vial in course.vials.values() {
        let mut due = None;
        let mut seen = vial.clone();
        while let Some((at, minutes)) = next_warning(&draft.household, &course, &seen, draft.policy)
            && at <= draft.now
        {
            due = Some(minutes);
            seen.warned_minutes = Some(minutes);
        }
        let Some(minutes) = due else { continue };
        draft.change(Change::VialWarned {
            course: course_no,
            vial: vial.no,
            minutes,
        });
        say_limit(draft, &course, vial, minutes);
        if minutes == 0 && draft.now < vial.discard_by + draft.policy.dose.window {
            say_what_is_short(draft, course_no);
        }
    }
}

fn say_limit(draft: &mut Draft, course: &Course, vial: &Vial, minutes: u32) {
    let (course_no, no) = (course.no, vial.no);
    let kind = if minutes == 0 {
        Kind::VialLimitReached
    } else {
        Kind::VialLimitNear
    };
    let mut message = Message::new(Recipient::Clinic, kind)
        .about(draft.household.patient_of(course))
        .fact("vial", no)
        .fact("discard_by", draft.household.shown(vial.discard_by))
        .fact("remaining_ml", draft.household.remaining(course, vial));
    if minutes == 0 {
        message = message.button(
            Label::Discarded(no),
            Tap::Discarded {
                course: course_no,
                vial: no,
            },
        );
    } else {
        let left = (vial.discard_by - draft.now).num_minutes().max(0);
        message = message.fact("hours", u32::try_from((left + 30) / 60).unwrap_or(0));
        message.useful_until = Some(vial.discard_by);
    }
    draft.say_to_all(&message);
}

/// Before this instant the vials at home surely do not run out, whatever happens to each
/// of them; none where they last for the whole course. Each gives one dose at least, where
/// it holds one; where it does not, the walk alone knows, and this is when the course began.
///
/// Spares most households the walk, and nearly all others until a few days before the end.
fn lasts_until(household: &Household, course: &Course, policy: &Policy) -> Option<Instant> {
    let drawable = course.product.drawable(policy.vial.loss);
    if course.plans.iter().any(|plan| plan.volume > drawable) {
        return Some(course.started_at);
    }
    let vials = left(household, course, Supply::Vials)?;
    let beyond = household.open_doses(course).nth(vials as usize)?;
    Some(course.planned(beyond, household.zone).at)
}

/// The first dose that the vials at home cannot give.
///
/// The walk starts where the books end, not at the moment of asking: what was
/// said to be due must be found due when its instant has come.
pub(super) fn runs_out(household: &Household, course: &Course, policy: &Policy) -> Option<Planned> {
    lasts_until(household, course, policy)?;
    let (_, first) = unsettled(household, course).next()?;
    let mixed = course.vials.values().map(|vial| vial.mixed_at).max();
    let from = mixed.map_or(first.at, |mixed| mixed.max(first.at));
    forecast::runs_out(household, course, &policy.vial, from)
}

/// Whether it may have to be said by an instant that the vials at home will not last;
/// only the walk tells whether it has to.
fn may_have_to_warn(household: &Household, course: &Course, policy: &Policy, by: Instant) -> bool {
    let lasts = || lasts_until(household, course, policy);
    course.supply_told.is_none() && lasts().is_some_and(|until| until - policy.supply.lead <= by)
}

/// Says in time that the vials at home will not last, and once only until they do again.
fn warn_of_supplies(draft: &mut Draft, course_no: No) {
    let Some(course) = draft.course(course_no).filter(|course| course.is_active()) else {
        return;
    };
    // Once told, it is taken back when they last after all.
    let told = course.supply_told.is_some();
    if !told && !may_have_to_warn(&draft.household, &course, draft.policy, draft.now) {
        return;
    }
    let Some(planned) = draft.runs_out(&course) else {
        if told {
            draft.change(Change::SupplyTold {
                course: course_no,
                at: None,
            });
        }
        return;
    };
    if told || draft.now < planned.at - draft.policy.supply.lead {
        return;
    }
    draft.change(Change::SupplyTold {
        course: course_no,
        at: Some(draft.now),
    });
    let vials = left(&draft.household, &course, Supply::Vials).unwrap_or(0);
    let message = Message::new(Recipient::Clinic, Kind::SupplyLow)
        .about(draft.household.patient_of(&course))
        .fact("vials_left", vials)
        .fact("runs_out", planned.shown())
        .fact("phone", draft.phone());
    draft.say_to_all(&message);
    let told = draft
        .to_clinic(Kind::ClinicSupplyLow)
        .about(draft.household.patient_of(&course))
        .fact("vials_left", vials)
        .fact("runs_out", planned.shown())
        .fact(
            "ends",
            course.planned(course.doses, draft.household.zone).shown(),
        );
    draft.alert(told, None, None, None);
}

/// Ends a course whose doses are all settled.
fn end_course(draft: &mut Draft, course_no: No) {
    let Some(course) = draft.course(course_no) else {
        return;
    };
    if unsettled(&draft.household, &course).next().is_some() {
        return;
    }
    draft.change(Change::CourseEnded {
        course: course_no,
        at: draft.now,
    });
    let message = ended(draft, &course);
    draft.say_to_all(&message);
}

/// That a course is over, with what is left of it at home.
pub(super) fn ended(draft: &Draft, course: &Course) -> Message {
    let vials = left(&draft.household, course, Supply::Vials).filter(|vials| *vials > 0);
    Message::new(Recipient::Clinic, Kind::CourseEnded)
        .about(draft.household.patient_of(course))
        .fact("given", draft.household.given(course.no))
        .fact("doses", course.doses)
        .maybe("vials_left", vials)
        .fact("phone", draft.phone())
}

/// Whether a dose is known to have been given.
pub(super) fn was_given(outcome: Outcome) -> bool {
    matches!(outcome, Outcome::Recorded(a) if a.status == Status::Completed)
}
