//! Answers: each is computed from the veterinarian's order and the books, or
//! quoted from the clinic's own words.

use super::super::forecast::forecast;
use super::super::household::{Course, Outcome, Planned};
use super::super::language::Language;
use super::super::message::{Kind, Label, Message, No, OpenDays, Paper, Tap};
use super::super::policy::{Clinic, Protocol};
use super::super::quantity::Volume;
use super::super::question::{DayPart, Question, StepTopic};
use super::super::supplies::left;
use super::super::supply::Supply;
use super::super::vial::{Vial, spread};
use super::amend::say_paused;
use super::draft::Draft;
use super::owner::escalate;
use super::record::{say_record, which_patient};
use super::said_time::part_of;
use super::wake::unsettled;
use chrono::{NaiveTime, Weekday};
use std::sync::Arc;

const TOPICS: [StepTopic; 4] = [
    StepTopic::Mixing,
    StepTopic::DrawingUp,
    StepTopic::Injecting,
    StepTopic::Sharps,
];

/// Answers one question; asks which patient is meant where several are under treatment.
pub(super) fn answer(
    draft: &mut Draft,
    carer: No,
    text: &str,
    question: &Question,
    patient: Option<No>,
) {
    match question {
        Question::ClinicContact => return contact(draft, carer),
        Question::Help => return help(draft, carer),
        Question::Note(key) => return note(draft, carer, text, key),
        _ => {}
    }
    let courses = courses_asked_about(draft, text, patient);
    match courses.as_slice() {
        [] => escalate(draft, carer, text, "question"),
        [course] => answer_about(draft, carer, text, question, course),
        several => {
            let numbers: Vec<No> = several.iter().map(|c| c.no).collect();
            which_patient(draft, carer, text, &numbers);
        }
    }
}

fn courses_asked_about(draft: &Draft, text: &str, patient: Option<No>) -> Vec<Arc<Course>> {
    let household = &draft.household;
    let active: Vec<Arc<Course>> = household.active_courses().cloned().collect();
    if let Some(patient) = patient {
        return active
            .into_iter()
            .filter(|c| c.patient == patient)
            .collect();
    }
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    let named: Vec<Arc<Course>> = active
        .iter()
        .filter(|course| {
            let name = household.patient_of(course).to_lowercase();
            words.contains(&name.as_str()) || (name.contains(' ') && lower.contains(&name))
        })
        .cloned()
        .collect();
    match named.is_empty() {
        // The end of a course is asked about after it, too.
        true if active.is_empty() => household
            .courses
            .values()
            .next_back()
            .cloned()
            .into_iter()
            .collect(),
        true => active,
        false => named,
    }
}

fn answer_about(draft: &mut Draft, carer: No, text: &str, question: &Question, course: &Course) {
    match question {
        Question::Remaining => of_vial(draft, carer, course, Kind::AnswerRemaining),
        Question::DosesLeft => of_vial(draft, carer, course, Kind::AnswerDosesLeft),
        Question::DiscardBy => of_vial(draft, carer, course, Kind::AnswerDiscardBy),
        Question::MixedAt => of_vial(draft, carer, course, Kind::AnswerMixedAt),
        Question::NextDose => next_dose(draft, carer, course),
        Question::LastDose { part } => last_dose(draft, carer, course, *part),
        Question::Volume => of_plan(draft, carer, course, Kind::AnswerVolume),
        Question::Syringe => of_plan(draft, carer, course, Kind::AnswerSyringe),
        Question::Diluent => diluent(draft, carer, course),
        Question::CourseLeft => course_left(draft, carer, course),
        Question::Supplies => supplies(draft, carer, course),
        Question::Schedule => schedule(draft, carer, course),
        Question::Steps(topic) => {
            let topic = TOPICS.iter().position(|t| t == topic).unwrap_or(0);
            let topic = No::try_from(topic).unwrap_or(0);
            if steps_of(draft, course, topic).is_none() {
                escalate(draft, carer, text, "question");
            } else {
                step(draft, carer, course.no, topic, 0);
            }
        }
        Question::ClinicContact | Question::Help | Question::Note(_) => {}
    }
}

/// What was asked about the vial in use, and what goes with it.
fn of_vial(draft: &mut Draft, carer: No, course: &Course, kind: Kind) {
    let household = &draft.household;
    let mut message = draft.about(carer, kind, course);
    let dose = unsettled(household, course)
        .next()
        .map_or(course.doses, |(dose, _)| dose);
    if let Some(vial) = vial_in_use(draft, course, dose) {
        let left = household.remaining(course, vial);
        let each = course.plan(dose).volume.plus(draft.policy.vial.loss);
        let past = vial.discard_by <= draft.now;
        message = message
            .fact("vial", vial.no)
            .fact("discard_by", household.shown(vial.discard_by))
            .maybe("past", past.then_some("yes"));
        message = match kind {
            Kind::AnswerDiscardBy | Kind::AnswerMixedAt => {
                message.fact("mixed_at", household.shown(vial.mixed_at))
            }
            _ => message
                .fact("remaining_ml", left)
                .fact("doses_left", if past { 0 } else { left.holds(each) }),
        };
    }
    draft.say(message);
}

/// The vial that the next dose would be drawn from first. Where a dose may not
/// come from two vials, a rest that is too small for one is passed over.
fn vial_in_use<'a>(draft: &Draft, course: &'a Course, dose: No) -> Option<&'a Vial> {
    let policy = &draft.policy.vial;
    let usable = draft.household.usable_vials(course, draft.now);
    let volume = course.plan(dose).volume;
    spread(volume, &usable, policy.loss, policy.split)
        .first()
        .and_then(|draw| course.vials.get(&draw.vial?))
        .or_else(|| draft.household.open_vial(course, draft.now))
}

/// Doses that wait to be given; none of a course that is over.
fn still_to_come<'a>(
    draft: &'a Draft,
    course: &'a Course,
) -> impl Iterator<Item = (No, Planned)> + 'a {
    unsettled(&draft.household, course).take_while(|_| course.ended_at.is_none())
}

fn next_dose(draft: &mut Draft, carer: No, course: &Course) {
    if course.paused.is_some() {
        return say_paused(draft, carer, course);
    }
    let next = still_to_come(draft, course).next();
    let open = next
        .as_ref()
        .is_some_and(|(_, planned)| planned.at <= draft.now);
    let message = draft
        .about(carer, Kind::AnswerNextDose, course)
        .maybe("planned", next.as_ref().map(|(_, planned)| planned.shown()))
        .maybe("volume_ml", next.map(|(dose, _)| course.plan(dose).volume))
        .maybe("open", open.then_some("yes"));
    draft.say(message);
}

/// The last dose that something is known of, or the last one of a part of the day.
fn last_dose(draft: &mut Draft, carer: No, course: &Course, part: Option<DayPart>) {
    let household = &draft.household;
    let due = course.dose_numbers().rev().find_map(|dose| {
        let planned = course.planned(dose, household.zone);
        let named = part.is_none_or(|part| part == part_of(planned.local.time()));
        let outcome = household.outcome(course, dose);
        // A dose that is open right now is not the last one, unless it was asked about by name.
        let known = outcome != Outcome::Open || (part.is_some() && planned.at <= draft.now);
        (named && known).then_some((planned, outcome))
    });
    let message = match due {
        Some((_, Outcome::Recorded(record))) => say_record(draft, carer, course, record),
        Some((planned, _)) => draft
            .about(carer, Kind::AnswerLastDose, course)
            .fact("planned", planned.shown())
            .fact("status", "unanswered"),
        None => draft.about(carer, Kind::AnswerLastDose, course),
    };
    draft.say(message);
}

fn of_plan(draft: &mut Draft, carer: No, course: &Course, kind: Kind) {
    let dose = unsettled(&draft.household, course)
        .next()
        .map_or(course.doses, |(dose, _)| dose);
    let volume = course.plan(dose).volume;
    // A dose that was asked for before the order changed has the syringe of its own volume.
    let syringe = match volume == course.latest_plan().volume {
        true => Some(course.syringe),
        false => draft.policy.syringe_for(volume).map(|syringe| syringe.size),
    };
    let message = draft
        .about(carer, kind, course)
        .fact("volume_ml", volume)
        .fact("syringe_ml", syringe.unwrap_or(course.syringe));
    draft.say(message);
}

fn diluent(draft: &mut Draft, carer: No, course: &Course) {
    let message = draft
        .about(carer, Kind::AnswerDiluent, course)
        .fact("diluent_ml", course.product.diluent_volume)
        .fact("diluent", course.product.diluent.as_str())
        .fact("available_ml", course.product.available);
    draft.say(message);
}

fn course_left(draft: &mut Draft, carer: No, course: &Course) {
    let household = &draft.household;
    let left = u32::try_from(still_to_come(draft, course).count()).unwrap_or(u32::MAX);
    let ahead = forecast(household, course, &draft.policy.vial, draft.now);
    let message = draft
        .about(carer, Kind::AnswerCourseLeft, course)
        .fact("doses_left", left)
        .fact("given", household.given(course.no))
        .fact("doses", course.doses)
        .maybe(
            "runs_out",
            ahead
                .runs_out
                .filter(|_| course.is_running())
                .map(|(_, planned)| planned.shown()),
        )
        .fact("ends", course.planned(course.doses, household.zone).shown());
    if course.paused.is_some() {
        return say_paused(draft, carer, course);
    }
    draft.say(message);
}

/// What is at home by the books, and when the vials run out if all goes as planned.
pub(super) fn supplies(draft: &mut Draft, carer: No, course: &Course) {
    let household = &draft.household;
    let open = u32::try_from(still_to_come(draft, course).count()).unwrap_or(u32::MAX);
    let ahead = forecast(household, course, &draft.policy.vial, draft.now);
    let message = draft
        .about(carer, Kind::AnswerSupplies, course)
        .maybe("vials_left", left(household, course, Supply::Vials))
        .maybe("syringes", left(household, course, Supply::Syringes))
        .maybe("needles", left(household, course, Supply::Needles))
        .maybe(
            "runs_out",
            // While the course is paused nobody knows when it goes on; once it is over, it does not.
            ahead
                .runs_out
                .filter(|_| course.is_running())
                .map(|(_, planned)| planned.shown()),
        )
        .fact("doses_left", open);
    draft.say(message);
}

/// The planned times of every course under way, with a calendar file of each.
pub(super) fn calendars(draft: &mut Draft, carer: No) {
    let courses: Vec<Arc<Course>> = draft.household.active_courses().cloned().collect();
    if courses.is_empty() {
        return help(draft, carer);
    }
    for course in &courses {
        if course.paused.is_some() {
            say_paused(draft, carer, course);
            continue;
        }
        let mut message = schedule_of(draft, carer, course);
        message.paper = Some(Paper::Calendar { course: course.no });
        draft.say(message);
    }
}

/// The planned times of every course under way.
pub(super) fn schedules(draft: &mut Draft, carer: No) {
    let courses: Vec<Arc<Course>> = draft.household.active_courses().cloned().collect();
    for course in &courses {
        schedule(draft, carer, course);
    }
}

fn schedule(draft: &mut Draft, carer: No, course: &Course) {
    if course.paused.is_some() {
        return say_paused(draft, carer, course);
    }
    let message = schedule_of(draft, carer, course);
    draft.say(message);
}

fn schedule_of(draft: &Draft, carer: No, course: &Course) -> Message {
    let household = &draft.household;
    let next = still_to_come(draft, course).next();
    let dose = next.as_ref().map_or(course.doses, |(dose, _)| *dose);
    let plan = course.plan(dose);
    let mut message = draft
        .about(carer, Kind::AnswerSchedule, course)
        .fact("volume_ml", plan.volume)
        .fact("ends", course.planned(course.doses, household.zone).shown())
        .maybe("planned", next.map(|(_, planned)| planned.shown()));
    let times = super::super::message::Value::Times(plan.times.clone());
    message.facts.insert("times".into(), times);
    message
}

/// How to reach the clinic.
pub(super) fn contact(draft: &mut Draft, carer: No) {
    let clinic = &draft.policy.clinic;
    let message = draft
        .to(carer, Kind::AnswerClinicContact)
        .fact("clinic", clinic.name.as_str())
        .fact("phone", clinic.phone.as_str())
        .maybe("hours", open_days(clinic))
        .maybe("emergency_phone", clinic.emergency_phone.as_deref());
    draft.say(message);
}

/// When the clinic is open, days of the same hours together; none where no hours are known.
pub(super) fn open_days(clinic: &Clinic) -> Option<Vec<OpenDays>> {
    let mut groups: Vec<OpenDays> = Vec::new();
    let mut day = Weekday::Mon;
    for number in 1..=7 {
        let mut spans: Vec<(NaiveTime, NaiveTime)> = clinic
            .hours
            .iter()
            .filter(|hours| hours.day == day)
            .map(|hours| (hours.from, hours.until))
            .collect();
        spans.sort_unstable();
        day = day.succ();
        match groups.last_mut() {
            Some(days) if days.spans == spans && days.last_day + 1 == number => {
                days.last_day = number;
            }
            _ if spans.is_empty() => {}
            _ => groups.push(OpenDays {
                first_day: number,
                last_day: number,
                spans,
            }),
        }
    }
    (!groups.is_empty()).then_some(groups)
}

fn help(draft: &mut Draft, carer: No) {
    let message = draft
        .to(carer, Kind::AnswerHelp)
        .fact("phone", draft.phone());
    draft.say(message);
}

/// The clinic's own words on a topic, in the household's language where it has them.
fn note(draft: &mut Draft, carer: No, text: &str, key: &str) {
    let language = &draft.household.language;
    let notes = &draft.policy.notes;
    let found = notes
        .iter()
        .find(|n| n.key == key && n.language == *language);
    match found {
        Some(note) => {
            let message = draft
                .to(carer, Kind::AnswerClinicNote)
                .fact("words", note.words.as_str())
                .fact("clinic", draft.policy.clinic.name.as_str());
            draft.say(message);
        }
        None => escalate(draft, carer, text, "question"),
    }
}

fn steps_of<'a>(draft: &Draft<'a>, course: &Course, topic: No) -> Option<&'a Protocol> {
    let topic = *TOPICS.get(topic as usize)?;
    let (language, product) = (&draft.household.language, &course.product.key);
    draft.policy.protocol_for(topic, language, product)
}

/// One step of the clinic's protocol; the last one of mixing ends in the record.
pub(super) fn step(draft: &mut Draft, carer: No, course: No, topic: No, step: No) {
    let Some(found) = draft.course(course) else {
        return super::owner::nothing_open(draft, carer);
    };
    let Some(protocol) = steps_of(draft, &found, topic) else {
        return super::owner::nothing_open(draft, carer);
    };
    let dose = unsettled(&draft.household, &found)
        .next()
        .map_or(found.doses, |(dose, _)| dose);
    let language = draft.household.language.parse();
    let mark = language.map_or(".", Language::decimal_mark);
    let figure = |volume: Volume| volume.number().replace('.', mark);
    let diluent = figure(found.product.diluent_volume);
    let volume = figure(found.plan(dose).volume);
    let Some(words) = protocol.step(step as usize, &diluent, &volume) else {
        return super::owner::nothing_open(draft, carer);
    };
    let (name, mixing) = match protocol.topic {
        StepTopic::Mixing => ("mixing", true),
        StepTopic::DrawingUp => ("drawing-up", false),
        StepTopic::Injecting => ("injecting", false),
        StepTopic::Sharps => ("sharps", false),
    };
    let steps = No::try_from(protocol.steps.len()).unwrap_or(No::MAX);
    let vial = found.next_vial();
    let mut message = draft
        .about(carer, Kind::AnswerSteps, &found)
        .fact("topic", name)
        .fact("step", step + 1)
        .fact("steps", steps)
        .fact("words", words)
        .fact("clinic", draft.policy.clinic.name.as_str());
    if step + 1 < steps {
        message = message.button(
            Label::NextStep,
            Tap::Step {
                course,
                topic,
                step: step + 1,
            },
        );
    } else if mixing {
        message = message.button(Label::Mixed(vial), Tap::Mixed { course, vial });
    }
    if step > 0 {
        message = message.button(
            Label::PreviousStep,
            Tap::Step {
                course,
                topic,
                step: step - 1,
            },
        );
    }
    draft.say(message);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::policy::OpenHours;

    fn hours(clinic: &mut Clinic, spans: &[(Weekday, &str, &str)]) {
        let time = |text: &str| text.parse().unwrap();
        clinic.hours = spans
            .iter()
            .map(|(day, from, until)| OpenHours {
                day: *day,
                from: time(from),
                until: time(until),
            })
            .collect();
    }

    #[test]
    fn days_of_the_same_hours_are_put_together() {
        use Weekday::{Fri, Mon, Sat, Thu, Tue};
        let mut clinic = Clinic {
            key: "demo".into(),
            name: "Demo Clinic".into(),
            phone: "555-0100".into(),
            emergency_phone: None,
            zone: "America/Denver".parse().unwrap(),
            hours: Vec::new(),
        };
        let full = |day| (day, "08:00:00", "18:00:00");
        hours(
            &mut clinic,
            &[
                (Sat, "13:00:00", "15:00:00"),
                (Sat, "09:00:00", "12:00:00"),
                full(Fri),
                full(Mon),
                full(Tue),
                full(Thu),
            ],
        );
        let shown: Vec<String> = open_days(&clinic)
            .unwrap()
            .iter()
            .map(ToString::to_string)
            .collect();
        assert_eq!(
            shown,
            [
                "1-2 08:00-18:00",
                "4-5 08:00-18:00",
                "6 09:00-12:00,13:00-15:00"
            ]
        );
        hours(&mut clinic, &[]);
        assert_eq!(open_days(&clinic), None);
    }
}
