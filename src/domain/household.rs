//! Everything that one home has open with the clinic. The unit of consistency:
//! one household is loaded, decided on and committed as a whole.

use super::Instant;
pub use super::alert::Alert;
use super::amendment::Amendment;
use super::formulary::Product;
use super::message::No;
use super::quantity::Volume;
use super::supply::{Counted, Supply};
use super::timing::Plan;
use super::vial::{Draw, Vial};
use super::zone::Zone;
use chrono::{DateTime, FixedOffset, NaiveDateTime};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// One home: carers, patients, courses and all that happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Household {
    /// The store's number.
    pub id: i64,
    /// The clinic it belongs to, by key.
    pub clinic: String,
    /// The owner's name.
    pub owner: String,
    /// Language code of its messages.
    pub language: String,
    /// Whose clock its planned times are read on.
    pub zone: Zone,
    /// People who give injections; number 1 is the owner.
    pub carers: BTreeMap<No, Carer>,
    /// The animals.
    pub patients: BTreeMap<No, Patient>,
    /// The courses, ended ones included; shared with copies of the household
    /// until one of them changes.
    pub courses: BTreeMap<No, Arc<Course>>,
    /// What happened to doses, superseded records included.
    pub administrations: BTreeMap<No, Administration>,
    /// Questions that we asked and that wait for an answer.
    pub questions: BTreeMap<No, OpenQuestion>,
    /// What the clinic was told and has to see.
    pub alerts: BTreeMap<No, Alert>,
    /// Changes of orders that the clinic asked for, settled ones included.
    pub amendments: BTreeMap<No, Amendment>,
}

/// Somebody who gives injections.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Carer {
    /// The number in the household.
    pub no: No,
    /// The name, as invited.
    pub name: String,
    /// Where messages go, once the invitation was used.
    pub chat: Option<Chat>,
    /// Whether the chat takes our messages, as far as known.
    pub reachable: bool,
    /// The last text that came from them.
    pub said: Option<String>,
    /// Where the clinic calls them, where it wrote that down.
    pub phone: Option<String>,
}

/// A chat on a platform.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Chat {
    /// The channel's name.
    pub channel: String,
    /// The platform's address.
    pub address: String,
}

/// An animal under treatment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Patient {
    /// The number in the household.
    pub no: No,
    /// Its name.
    pub name: String,
    /// Its species, as the clinic writes it.
    pub species: String,
    /// Its weight as ordered for, such as `30 kg`.
    pub weight: String,
}

/// One prescription from its first to its last dose.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Course {
    /// The number in the household.
    pub no: No,
    /// The patient's number.
    pub patient: No,
    /// The product with its figures as they stood when it was ordered.
    pub product: Product,
    /// The dose as ordered, such as `14 mg/kg`.
    pub ordered: String,
    /// The veterinarian who ordered it.
    pub veterinarian: String,
    /// Size of the syringe that a dose is drawn in.
    pub syringe: Volume,
    /// How many doses in all.
    pub doses: u32,
    /// When, and how much; ascending by `from`, at least one.
    pub plans: Vec<Plan>,
    /// What went home, or was counted there since.
    pub counted: BTreeMap<Supply, Counted>,
    /// Who entered the order.
    pub entered_by: String,
    /// When a second person confirmed it, and who. Until then nothing is asked for.
    pub confirmed: Option<(Instant, String)>,
    /// When the clinic was told that what is at home will not last.
    pub supply_told: Option<Instant>,
    /// When it was enrolled.
    pub started_at: Instant,
    /// When it ended.
    pub ended_at: Option<Instant>,
    /// Who at the clinic ended it before its last dose.
    pub ended_by: Option<String>,
    /// Since when nothing is asked for, and who at the clinic said so.
    pub paused: Option<(Instant, String)>,
    /// Doses that were touched: asked for, recorded or closed.
    pub touched: BTreeMap<No, Dose>,
    /// Vials that were mixed.
    pub vials: BTreeMap<No, Vial>,
}

/// A dose that was touched, with its planned time fixed as it was understood then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dose {
    /// When it was planned.
    pub planned: Planned,
    /// How often it was asked for.
    pub asked: u32,
    /// When it was last asked for.
    pub asked_at: Option<Instant>,
    /// When its window closed without an answer.
    pub closed_at: Option<Instant>,
}

/// A planned wall time and the instant it stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Planned {
    /// The wall time as ordered.
    pub local: NaiveDateTime,
    /// On whose clock.
    pub zone: Zone,
    /// The instant, by the rules that were known.
    pub at: Instant,
}

impl Planned {
    /// Resolves a wall time: moved later in a gap, the first of two in a fold.
    pub fn resolve(local: NaiveDateTime, zone: Zone) -> Planned {
        let at = zone.instant(local).at;
        Planned { local, zone, at }
    }

    /// The instant with the offset of its zone.
    pub fn shown(&self) -> DateTime<FixedOffset> {
        self.zone.local(self.at)
    }
}

/// What happened to a dose (FHIR MedicationAdministration.status).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Status {
    /// It was given.
    Completed,
    /// Somebody said that it was not given.
    NotDone,
}

/// A record of what happened to a dose. Never changed but by being superseded,
/// which makes it `entered-in-error`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Administration {
    /// The number in the household.
    pub no: No,
    /// The course.
    pub course: No,
    /// The dose of the course.
    pub dose: No,
    /// What happened.
    pub status: Status,
    /// When it was given, as said; when it was said, for a dose not given.
    pub at: Instant,
    /// When it was recorded.
    pub recorded_at: Instant,
    /// Who gave it, or said that it was not given.
    pub by: String,
    /// The carer who told us.
    pub carer: No,
    /// Volume given; none of a dose not given.
    pub volume: Volume,
    /// Where the volume was drawn from.
    pub draws: Vec<Draw>,
    /// When it was found to be wrong.
    pub superseded_at: Option<Instant>,
}

impl Administration {
    /// Whether it still counts.
    pub fn in_force(&self) -> bool {
        self.superseded_at.is_none()
    }
}

/// A question of ours that waits for an answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpenQuestion {
    /// The number in the household.
    pub no: No,
    /// Whom we asked.
    pub carer: No,
    /// What an answer would record.
    pub options: Vec<Proposal>,
    /// After this an answer is not taken any more.
    pub expires_at: Instant,
    /// Whether it was answered.
    pub settled: bool,
}

/// Something that is recorded once it is confirmed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Proposal {
    /// A dose was given.
    Given {
        /// The course.
        course: No,
        /// The dose.
        dose: No,
        /// When.
        at: Instant,
        /// By whom.
        by: String,
        /// How much.
        volume: Volume,
    },
    /// A dose was not given.
    NotGiven {
        /// The course.
        course: No,
        /// The dose.
        dose: No,
    },
    /// A vial was mixed.
    Mixed {
        /// The course.
        course: No,
        /// The vial.
        vial: No,
        /// When.
        at: Instant,
        /// By whom.
        by: String,
    },
    /// A vial was discarded.
    Discarded {
        /// The course.
        course: No,
        /// The vial.
        vial: No,
        /// When.
        at: Instant,
    },
    /// A level was seen.
    Level {
        /// The course.
        course: No,
        /// The vial.
        vial: No,
        /// The volume seen.
        volume: Volume,
    },
    /// A vial left the refrigerator.
    OutOfFridge {
        /// The course.
        course: No,
        /// The vial.
        vial: No,
        /// When.
        at: Instant,
    },
    /// A vial is back in the refrigerator.
    BackInFridge {
        /// The course.
        course: No,
        /// The vial.
        vial: No,
        /// When.
        at: Instant,
        /// How long it was out, when that was said.
        minutes: Option<u32>,
    },
    /// An administration was entered in error.
    TakeBack {
        /// The administration.
        administration: No,
    },
    /// Supplies were counted at home.
    Supplies {
        /// The course.
        course: No,
        /// How many of each.
        counts: Vec<(Supply, u32)>,
    },
    /// The household lives by another clock.
    Zone {
        /// Which.
        zone: Zone,
    },
    /// The words are read again, about this patient.
    About {
        /// The patient.
        patient: No,
        /// The words.
        text: String,
    },
}

/// The number that the next of its kind gets: nothing is ever removed, so none comes twice.
pub fn next_no<T>(numbered: &BTreeMap<No, T>) -> No {
    numbered.keys().max().map_or(1, |last| last + 1)
}

/// How things stand with a dose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome<'a> {
    /// Nothing is known yet.
    Open,
    /// Its window closed and nobody said anything.
    Unanswered,
    /// It was given, or somebody said that it was not.
    Recorded(&'a Administration),
}

impl Course {
    /// The plan that holds for a dose.
    pub fn plan(&self, dose: No) -> &Plan {
        let after = self.plans.partition_point(|plan| plan.from <= dose);
        &self.plans[after.saturating_sub(1)]
    }

    /// When a dose is planned: as fixed once it was touched, else by today's rules.
    pub fn planned(&self, dose: No, zone: Zone) -> Planned {
        match self.touched.get(&dose) {
            Some(dose) => dose.planned,
            None => Planned::resolve(self.plan(dose).planned(dose), zone),
        }
    }

    /// Whether it is under way.
    pub fn is_active(&self) -> bool {
        self.ended_at.is_none() && self.confirmed.is_some()
    }

    /// Whether doses are asked for.
    pub fn is_running(&self) -> bool {
        self.is_active() && self.paused.is_none()
    }

    /// The plan that was ordered last.
    pub fn latest_plan(&self) -> &Plan {
        self.plan(No::MAX)
    }

    /// The first dose that was neither asked for nor recorded nor closed, nor
    /// any after it: a change of the order holds from here on.
    pub fn first_untouched(&self) -> Option<No> {
        let last = self.touched.keys().next_back().copied().unwrap_or(0);
        let next = last.saturating_add(1);
        (next <= self.doses).then_some(next)
    }

    /// The numbers of its doses.
    pub fn dose_numbers(&self) -> std::ops::RangeInclusive<No> {
        1..=self.doses
    }

    /// The number that the next vial to be mixed has.
    pub fn next_vial(&self) -> No {
        next_no(&self.vials)
    }
}

impl Household {
    /// An empty household, as the store creates it before the first change.
    pub fn new(id: i64, clinic: &str, owner: &str, language: &str, zone: Zone) -> Household {
        Household {
            id,
            clinic: clinic.into(),
            owner: owner.into(),
            language: language.into(),
            zone,
            carers: BTreeMap::new(),
            patients: BTreeMap::new(),
            courses: BTreeMap::new(),
            administrations: BTreeMap::new(),
            questions: BTreeMap::new(),
            alerts: BTreeMap::new(),
            amendments: BTreeMap::new(),
        }
    }

    /// An instant on the household's clock.
    pub fn shown(&self, at: Instant) -> DateTime<FixedOffset> {
        self.zone.local(at)
    }

    /// The patient of a course.
    pub fn patient_of(&self, course: &Course) -> &str {
        self.patients
            .get(&course.patient)
            .map_or("", |patient| patient.name.as_str())
    }

    /// A carer's name; the owner's for a number that nobody has.
    pub fn carer_name(&self, carer: No) -> &str {
        self.carers
            .get(&carer)
            .map_or(self.owner.as_str(), |carer| carer.name.as_str())
    }

    /// Where the clinic calls this home: the first carer whose phone it wrote down.
    pub fn phone(&self) -> Option<&str> {
        self.carers
            .values()
            .find_map(|carer| carer.phone.as_deref())
    }

    /// Carers whose chat takes our messages.
    pub fn reachable_carers(&self) -> impl Iterator<Item = No> {
        self.carers
            .values()
            .filter(|carer| carer.chat.is_some() && carer.reachable)
            .map(|carer| carer.no)
    }

    /// A course, to be changed: where a copy of the household shares it, it parts from it.
    pub fn course_mut(&mut self, no: No) -> Option<&mut Course> {
        self.courses.get_mut(&no).map(Arc::make_mut)
    }

    /// Courses that are under way.
    pub fn active_courses(&self) -> impl Iterator<Item = &Arc<Course>> {
        self.courses.values().filter(|course| course.is_active())
    }

    /// The record that counts for a dose: at most one.
    pub fn in_force(&self, course: No, dose: No) -> Option<&Administration> {
        self.administrations
            .values()
            .rev()
            .find(|a| a.in_force() && a.course == course && a.dose == dose)
    }

    /// How things stand with a dose.
    pub fn outcome(&self, course: &Course, dose: No) -> Outcome<'_> {
        if let Some(administration) = self.in_force(course.no, dose) {
            return Outcome::Recorded(administration);
        }
        match course.touched.get(&dose) {
            Some(dose) if dose.closed_at.is_some() => Outcome::Unanswered,
            _ => Outcome::Open,
        }
    }

    /// The doses of a course that nothing is known of yet, in order.
    pub fn open_doses<'a>(&'a self, course: &'a Course) -> impl Iterator<Item = No> + 'a {
        course
            .dose_numbers()
            .filter(|dose| self.outcome(course, *dose) == Outcome::Open)
    }

    /// Volume of the next dose that is open; of the last one where none is.
    pub fn next_volume(&self, course: &Course) -> Volume {
        let next = self.open_doses(course).next();
        course.plan(next.unwrap_or(course.doses)).volume
    }

    /// What each of the people at home wrote last, with their names.
    pub fn last_words(&self) -> Option<String> {
        let said: Vec<String> = self
            .carers
            .values()
            .filter_map(|carer| {
                let said = carer.said.as_deref().filter(|said| !said.is_empty())?;
                Some(format!("{}: {said}", carer.name))
            })
            .collect();
        (!said.is_empty()).then(|| said.join(" / "))
    }

    /// What is left in a vial by the books: what could be drawn at first, less all withdrawals and losses.
    pub fn remaining(&self, course: &Course, vial: &Vial) -> Volume {
        let drawn: Volume = self
            .administrations
            .values()
            .filter(|a| a.in_force() && a.course == course.no)
            .flat_map(|a| &a.draws)
            .filter(|draw| draw.vial == Some(vial.no))
            .map(|draw| draw.volume.plus(draw.lost))
            .sum();
        vial.available.less(drawn)
    }

    /// Vials that a dose may be drawn from at an instant, the oldest first, with what is left in each.
    pub fn usable_vials(&self, course: &Course, at: Instant) -> Vec<(No, Volume)> {
        let mut vials: Vec<&Vial> = course.vials.values().filter(|v| v.is_usable(at)).collect();
        vials.sort_by_key(|vial| (vial.discard_by, vial.no));
        vials
            .into_iter()
            .map(|vial| (vial.no, self.remaining(course, vial)))
            .filter(|(_, left)| !left.is_zero())
            .collect()
    }

    /// The vial in use: the oldest usable one that still holds something, else the newest one mixed and not discarded.
    pub fn open_vial<'a>(&self, course: &'a Course, at: Instant) -> Option<&'a Vial> {
        let usable = self.usable_vials(course, at);
        match usable.first() {
            Some((no, _)) => course.vials.get(no),
            None => course.vials.values().rfind(|v| v.discarded.is_none()),
        }
    }

    /// Doses of a course that were given.
    pub fn given(&self, course: No) -> u32 {
        let given = self
            .administrations
            .values()
            .filter(|a| a.in_force() && a.course == course && a.status == Status::Completed);
        u32::try_from(given.count()).unwrap_or(u32::MAX)
    }

    /// Doses of a course that are known not to have been given, or never answered.
    pub fn missed(&self, course: &Course) -> u32 {
        let missed = course
            .touched
            .keys()
            .filter(|dose| match self.outcome(course, **dose) {
                Outcome::Unanswered => true,
                Outcome::Recorded(a) => a.status == Status::NotDone,
                Outcome::Open => false,
            });
        u32::try_from(missed.count()).unwrap_or(u32::MAX)
    }

    /// The last dose given, by the time it was given at.
    pub fn last_given(&self, course: No) -> Option<&Administration> {
        self.administrations
            .values()
            .filter(|a| a.in_force() && a.course == course && a.status == Status::Completed)
            .max_by_key(|a| a.at)
    }
}
