//! Works a change of an order out: what it would do to the household, or why
//! it cannot be. Pure, so that what is read back is what is carried out.
//!
//! A change holds from the next dose that was not touched; past doses never change.

use super::Instant;
use super::amendment::Alteration;
use super::change::{Change, apply};
use super::household::{Course, Household, Outcome, Planned, next_no};
use super::message::No;
use super::name::name as name_of;
use super::policy::{Policy, Syringe};
use super::prescription::{Length, OrderError, check_between, check_rate, measure, span};
use super::quantity::{OrderedDose, Volume, Weight};
use super::timing::Plan;
use super::zone::Zone;
use chrono::{Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};

/// A change that can be carried out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Amended {
    /// What it does, in order.
    pub changes: Vec<Change>,
    /// The household as it is then.
    pub household: Household,
    /// The first dose that it holds for, and when that is planned then; none
    /// where nothing is asked for, or no dose is concerned.
    pub first: Option<(No, Planned)>,
    /// The dose before it: when it was given, or planned where it was not.
    pub last: Option<Instant>,
    /// The span between the two, and whether it keeps to the clinic's rule.
    pub gap: Option<(TimeDelta, bool)>,
    /// A dose that was asked for and waits for an answer: it stays as it was.
    pub asked: Option<(No, Planned)>,
    /// The syringe of a changed dose.
    pub syringe: Option<Syringe>,
    /// Whether a second person has to look.
    pub second: bool,
}

/// Why a change of an order is not carried out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is")]
pub enum Refused {
    #[error("there is no such course")]
    NoCourse,
    #[error("the order itself is not confirmed yet; a second person has to do that first")]
    NotConfirmed,
    #[error("the course has ended")]
    Ended,
    #[error("it is paused already")]
    Paused,
    #[error("it is not paused")]
    NotPaused,
    #[error("every dose of the course was asked for or recorded: no dose is left to change")]
    NothingLeft,
    #[error("that is how it is ordered now")]
    Same,
    #[error("{0}")]
    Order(OrderError),
    #[error(
        "{doses} doses are too few: {touched} were asked for or recorded already. To stop here, write: end NAME"
    )]
    TooFew { doses: u32, touched: u32 },
    #[error("{doses} doses are more than the clinic's most, {most}")]
    TooMany { doses: u32, most: u32 },
    #[error("no time of the day fits after the last dose")]
    NoTime,
    #[error("a name is one line of at most 60 characters")]
    NoName,
    #[error("{name} gives doses there already; the carers are {known}")]
    CarerThere { name: String, known: String },
    #[error("nobody there is called {name}; the carers are {known}")]
    NoCarer { name: String, known: String },
    #[error("the weight on record, {0}, cannot be read")]
    Weight(String),
}

/// Who enters a change, and who confirmed it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Answering<'a> {
    /// Who entered it.
    pub by: &'a str,
    /// Who confirmed it, where a second person did.
    pub confirmed_by: Option<&'a str>,
}

/// Works a change out as it would be carried out at `now`.
///
/// # Errors
/// Why it cannot be, all reasons at once.
pub fn amend(
    household: &Household,
    course: No,
    what: &Alteration,
    policy: &Policy,
    who: Answering,
    now: Instant,
) -> Result<Amended, Vec<Refused>> {
    let one = |refused| Err(vec![refused]);
    let Some(found) = household.courses.get(&course) else {
        return one(Refused::NoCourse);
    };
    if found.confirmed.is_none() {
        return one(Refused::NotConfirmed);
    }
    if found.ended_at.is_some() {
        return one(Refused::Ended);
    }
    let work = Work {
        household,
        course: found,
        policy,
        who,
        now,
    };
    match what {
        Alteration::Dose(dose) => work.dose(*dose),
        Alteration::Times(times) => work.times(times),
        Alteration::Zone(zone) => work.zone(*zone),
        Alteration::Length(Length::Doses(doses)) => work.length(*doses),
        Alteration::Length(Length::Days(days)) => {
            let first = found.planned(1, household.zone).local;
            let end = first.checked_add_days(Days::new((*days).into()));
            work.length(work.doses_before(|local| end.is_none_or(|end| local < end)))
        }
        Alteration::Until(day) => work.length(work.doses_before(|local| local.date() <= *day)),
        Alteration::CarerAdded(name) => work.add_carer(name),
        Alteration::CarerRemoved(name) => work.remove_carer(name),
        Alteration::Pause => work.pause(),
        Alteration::Resume => work.resume(),
        Alteration::End => Ok(work.done(vec![Change::CourseStopped {
            course,
            by: who.by.into(),
            at: now,
        }])),
    }
}

/// Carers who were not taken off, by name, the owner first.
pub fn carers_of(household: &Household) -> Vec<&str> {
    household
        .carers
        .values()
        .filter(|carer| carer.chat.is_some() || carer.reachable)
        .map(|carer| carer.name.as_str())
        .collect()
}

/// The weight of a patient as it was written, such as `66 lb`.
pub fn weight_of(written: &str) -> Option<Weight> {
    match written.rsplit_once(' ')? {
        (number, "kg") => Weight::parse_kg(number).ok(),
        (number, "lb") => Weight::parse_lb(number).ok(),
        _ => None,
    }
}

struct Work<'a> {
    household: &'a Household,
    course: &'a Course,
    policy: &'a Policy,
    who: Answering<'a>,
    now: Instant,
}

/// A change of the order as it stands, but for what is named.
struct Order {
    plan: Option<Plan>,
    doses: u32,
    syringe: Volume,
    ordered: String,
}

type Worked = Result<Amended, Vec<Refused>>;

impl Work<'_> {
    fn dose(&self, dose: OrderedDose) -> Worked {
        let from = self.first_untouched()?;
        let patient = self.household.patients.get(&self.course.patient);
        let written = patient.map_or("", |patient| patient.weight.as_str());
        let weight = weight_of(written).ok_or_else(|| vec![Refused::Weight(written.into())])?;
        let mut wrong = Vec::new();
        check_rate(dose, self.policy, &mut wrong);
        let measured = measure(dose, weight, &self.course.product, self.policy, &mut wrong);
        let Some((volume, syringe)) = measured.filter(|_| wrong.is_empty()) else {
            return Err(wrong.into_iter().map(Refused::Order).collect());
        };
        let before = self.course.latest_plan();
        if before.volume == volume && self.course.ordered == dose.to_string() {
            return Err(vec![Refused::Same]);
        }
        let plan = Plan {
            from,
            first: self.course.plan(from).planned(from),
            times: before.times.clone(),
            volume,
        };
        let order = Order {
            plan: Some(plan),
            syringe: syringe.size,
            ordered: dose.to_string(),
            ..self.as_it_is()
        };
        let mut amended = self.done(vec![self.amended(order)]);
        amended.syringe = Some(syringe);
        amended.second = true;
        Ok(amended)
    }

    fn times(&self, times: &[NaiveTime]) -> Worked {
        let from = self.first_untouched()?;
        let mut wrong = Vec::new();
        check_between(times, self.policy, &mut wrong);
        if !wrong.is_empty() {
            return Err(wrong.into_iter().map(Refused::Order).collect());
        }
        let before = self.course.latest_plan();
        if before.times == times {
            return Err(vec![Refused::Same]);
        }
        let first = self
            .slot(times, self.household.zone, from)
            .ok_or_else(|| vec![Refused::NoTime])?;
        let plan = Plan {
            from,
            first,
            times: times.to_vec(),
            volume: before.volume,
        };
        let order = Order {
            plan: Some(plan),
            ..self.as_it_is()
        };
        let mut amended = self.done(vec![self.amended(order)]);
        amended.second = true;
        Ok(amended)
    }

    /// Another clock for the whole household: the times of every course under
    /// way are read on it, and where that leaves too short a span the next dose
    /// takes the next of its times.
    fn zone(&self, zone: Zone) -> Worked {
        if zone == self.household.zone {
            return Err(vec![Refused::Same]);
        }
        let mut changes = vec![Change::ZoneChanged { zone, at: self.now }];
        let mut second = false;
        for course in self.household.courses.values().filter(|c| c.is_running()) {
            let work = Work { course, ..*self };
            let Some(from) = course.first_untouched() else {
                continue;
            };
            let plan = course.plan(from);
            let kept = plan.planned(from);
            let fits = |local| {
                let at = Planned::resolve(local, zone).at;
                at > self.now && work.gap(from, at).is_none_or(|(_, allowed)| allowed)
            };
            let first = if fits(kept) {
                kept
            } else {
                work.slot(&plan.times, zone, from)
                    .ok_or_else(|| vec![Refused::NoTime])?
            };
            second |= !fits(first);
            if first != kept {
                let plan = Plan {
                    from,
                    first,
                    times: plan.times.clone(),
                    volume: plan.volume,
                };
                let order = Order {
                    plan: Some(plan),
                    ..work.as_it_is()
                };
                changes.push(work.amended(order));
            }
        }
        let mut amended = self.done(changes);
        amended.second = second;
        Ok(amended)
    }

    fn length(&self, doses: u32) -> Worked {
        let touched = self.course.touched.keys().next_back().copied().unwrap_or(0);
        if doses < touched.max(1) {
            return Err(vec![Refused::TooFew { doses, touched }]);
        }
        let most = self.policy.dose.most_doses;
        if doses > most {
            return Err(vec![Refused::TooMany { doses, most }]);
        }
        if doses == self.course.doses {
            return Err(vec![Refused::Same]);
        }
        let order = Order {
            doses,
            ..self.as_it_is()
        };
        let mut amended = self.done(vec![self.amended(order)]);
        amended.second = true;
        Ok(amended)
    }

    /// How many doses there are, of the plans as they go on, while their wall times fit.
    fn doses_before(&self, fits: impl Fn(NaiveDateTime) -> bool) -> u32 {
        // One more than the most tells that it is too many.
        let most = self.policy.dose.most_doses.saturating_add(1);
        let planned = |dose| match self.course.touched.get(&dose) {
            Some(touched) => touched.planned.local,
            None => self.course.plan(dose).planned(dose),
        };
        let count = (1..=most).take_while(|dose| fits(planned(*dose))).count();
        u32::try_from(count).unwrap_or(most)
    }

    fn add_carer(&self, name: &str) -> Worked {
        let name = name_of(name).ok_or_else(|| vec![Refused::NoName])?;
        let known = carers_of(self.household);
        if known
            .iter()
            .any(|k| k.to_lowercase() == name.to_lowercase())
        {
            return Err(vec![Refused::CarerThere {
                name: name.into(),
                known: known.join(", "),
            }]);
        }
        let before = self.household.carers.values().find(|c| c.name == name);
        let carer = before.map_or_else(|| next_no(&self.household.carers), |carer| carer.no);
        Ok(self.done(vec![Change::CarerAdded {
            carer,
            name: name.into(),
        }]))
    }

    fn remove_carer(&self, name: &str) -> Worked {
        let known = carers_of(self.household);
        let lower = name.to_lowercase();
        let whole = |k: &&&str| k.to_lowercase() == lower;
        let first = |k: &&&str| k.to_lowercase().split_whitespace().next() == Some(lower.as_str());
        let found: Vec<&&str> = known.iter().filter(whole).collect();
        let found = match found.as_slice() {
            [] => known.iter().filter(first).collect(),
            _ => found,
        };
        let carer = match found.as_slice() {
            [one] => self.household.carers.values().find(|c| c.name == ***one),
            _ => None,
        };
        let Some(carer) = carer else {
            return Err(vec![Refused::NoCarer {
                name: name.into(),
                known: known.join(", "),
            }]);
        };
        Ok(self.done(vec![Change::CarerRemoved { carer: carer.no }]))
    }

    fn pause(&self) -> Worked {
        if self.course.paused.is_some() {
            return Err(vec![Refused::Paused]);
        }
        let released = self
            .waiting()
            .filter(|dose| self.course.touched.contains_key(dose));
        Ok(self.done(vec![Change::CoursePaused {
            course: self.course.no,
            released: released.collect(),
            by: self.who.by.into(),
            at: self.now,
        }]))
    }

    /// The doses that are still open go on at the next of their times: none of
    /// them is lost to the pause, so the course ends later.
    fn resume(&self) -> Worked {
        if self.course.paused.is_none() {
            return Err(vec![Refused::NotPaused]);
        }
        let from = self
            .waiting()
            .next()
            .ok_or_else(|| vec![Refused::NothingLeft])?;
        let before = self.course.latest_plan();
        let zone = self.household.zone;
        let first = self
            .slot(&before.times, zone, from)
            .ok_or_else(|| vec![Refused::NoTime])?;
        let plan = Plan {
            from,
            first,
            times: before.times.clone(),
            volume: before.volume,
        };
        let moved = self
            .waiting()
            .filter(|dose| self.course.touched.contains_key(dose))
            .map(|dose| {
                let Planned { local, zone, at } = Planned::resolve(plan.planned(dose), zone);
                (dose, local, zone, at)
            })
            .collect();
        Ok(self.done(vec![Change::PauseEnded {
            course: self.course.no,
            plan,
            moved,
            by: self.who.by.into(),
            at: self.now,
        }]))
    }

    /// Doses after the last one that something is known of. An earlier one whose
    /// record was taken back is past, and stays where it was.
    fn waiting(&self) -> impl Iterator<Item = No> {
        let known = |dose: &No| self.household.outcome(self.course, *dose) != Outcome::Open;
        let last = self.course.touched.keys().rev().copied().find(known);
        (last.unwrap_or(0) + 1)..=self.course.doses
    }

    fn first_untouched(&self) -> Result<No, Vec<Refused>> {
        self.course
            .first_untouched()
            .ok_or_else(|| vec![Refused::NothingLeft])
    }

    fn as_it_is(&self) -> Order {
        Order {
            plan: None,
            doses: self.course.doses,
            syringe: self.course.syringe,
            ordered: self.course.ordered.clone(),
        }
    }

    fn amended(&self, order: Order) -> Change {
        Change::OrderAmended {
            course: self.course.no,
            plan: order.plan,
            doses: order.doses,
            syringe: order.syringe,
            ordered: order.ordered,
            by: self.who.by.into(),
            confirmed_by: self.who.confirmed_by.map(str::to_owned),
            at: self.now,
        }
    }

    /// The first of the times, on a clock, that is still to come and keeps the
    /// least span after the dose before; a course that has not begun does not
    /// begin on an earlier day.
    fn slot(&self, times: &[NaiveTime], zone: Zone, dose: No) -> Option<NaiveDateTime> {
        let last = self.last_before(dose);
        let planned_before = dose
            .checked_sub(1)
            .and_then(|before| self.course.touched.get(&before))
            .map(|touched| touched.planned.at);
        let begins = match dose {
            1 => self.course.plan(1).first.date(),
            _ => NaiveDate::MIN,
        };
        let today = zone.local(self.now).date_naive();
        let start = today.max(begins);
        // A day may be missing where a zone crossed the date line.
        (0..7)
            .filter_map(|days| start.checked_add_days(Days::new(days)))
            .flat_map(|day| times.iter().map(move |time| day.and_time(*time)))
            .find(|local| {
                let at = Planned::resolve(*local, zone).at;
                at > self.now
                    && planned_before.is_none_or(|before| at > before)
                    && last.is_none_or(|last| at - last >= self.policy.dose.gap_least)
            })
    }

    /// When the dose before was given, or planned where it was not.
    fn last_before(&self, dose: No) -> Option<Instant> {
        let before = dose.checked_sub(1).filter(|dose| *dose >= 1)?;
        let given = self.household.in_force(self.course.no, before);
        let planned = || self.course.planned(before, self.household.zone).at;
        Some(given.map_or_else(planned, |record| record.at))
    }

    /// The span from the dose before, and whether the clinic's rule allows it.
    fn gap(&self, dose: No, at: Instant) -> Option<(TimeDelta, bool)> {
        let gap = at - self.last_before(dose)?;
        let dose = &self.policy.dose;
        Some((gap, (dose.gap_least..=dose.gap_most).contains(&gap)))
    }

    fn done(&self, changes: Vec<Change>) -> Amended {
        let mut household = self.household.clone();
        for change in &changes {
            apply(&mut household, change);
        }
        let first = household
            .courses
            .get(&self.course.no)
            .filter(|course| course.is_running())
            .and_then(|course| {
                let dose = course
                    .dose_numbers()
                    .find(|dose| !course.touched.contains_key(dose) || self.moved(course, *dose))?;
                Some((dose, course.planned(dose, household.zone)))
            });
        let asked = self
            .course
            .touched
            .iter()
            .rfind(|(dose, touched)| {
                touched.asked > 0 && self.household.outcome(self.course, **dose) == Outcome::Open
            })
            .map(|(dose, touched)| (*dose, touched.planned));
        Amended {
            last: first.and_then(|(dose, _)| self.last_before(dose)),
            gap: first.and_then(|(dose, planned)| self.gap(dose, planned.at)),
            first,
            asked,
            changes,
            household,
            syringe: None,
            second: false,
        }
    }

    /// Whether a touched dose has nothing on record and was planned anew.
    fn moved(&self, course: &Course, dose: No) -> bool {
        let planned = course.touched.get(&dose).map(|touched| touched.planned);
        planned
            != self
                .course
                .touched
                .get(&dose)
                .map(|touched| touched.planned)
    }
}

/// A span in hours and minutes, such as `11 h 30 min`.
pub fn in_hours(gap: TimeDelta) -> String {
    span(gap)
}
