//! The closed list of what can change in a household, and what each change does.
//!
//! A change carries everything that it needs, its instants included: the
//! journal holds them in order, and replaying it gives the household.

use super::Instant;
use super::alert::{Answer, Ended};
use super::amendment::{Alteration, Amendment, Settled};
use super::ending::Ending;
use super::erasure::erase;
use super::formulary::Product;
use super::household::{
    Administration, Alert, Carer, Chat, Course, Dose, Household, OpenQuestion, Patient, Planned,
    Proposal, Status,
};
use super::message::{Facts, Kind, No};
use super::quantity::Volume;
use super::supply::{Counted, Supply};
use super::timing::Plan;
use super::vial::{Discarded, Draw, LevelSeen, Vial};
use super::zone::Zone;
use chrono::NaiveDateTime;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// One change of one household.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "change")]
#[allow(
    missing_docs,
    reason = "fields are those of the household, documented there"
)]
pub enum Change {
    /// The household lives by another clock from now on; doses that were touched keep theirs.
    ZoneChanged { zone: Zone, at: Instant },
    /// A carer was named by the clinic.
    CarerAdded { carer: No, name: String },
    /// A carer used an invitation.
    CarerJoined { carer: No, chat: Chat },
    /// The clinic took a carer off: their chat speaks for the household no more.
    CarerRemoved { carer: No },
    /// The chat moved to another address.
    CarerMoved { carer: No, address: String },
    /// The chat does or does not take our messages.
    CarerReachable { carer: No, reachable: bool },
    /// A carer wrote something; kept so that the clinic sees the last words.
    CarerSaid { carer: No, text: String },
    /// The clinic wrote down where a carer is called; none: it is known no more.
    CarerPhone { carer: No, phone: Option<String> },
    /// An animal came under treatment.
    PatientAdded {
        patient: No,
        name: String,
        species: String,
        weight: String,
    },
    /// A course began.
    CourseStarted {
        course: No,
        patient: No,
        product: Product,
        ordered: String,
        veterinarian: String,
        syringe: Volume,
        doses: u32,
        plan: Plan,
        entered_by: String,
        at: Instant,
    },
    /// An order was confirmed.
    CourseConfirmed { course: No, at: Instant, by: String },
    /// Supplies were dispensed, or counted at home.
    SuppliesCounted {
        course: No,
        supply: Supply,
        pieces: u32,
        at: Instant,
    },
    /// It was told that what is at home will not last; none: it lasts again.
    SupplyTold { course: No, at: Option<Instant> },
    /// A course ended.
    CourseEnded { course: No, at: Instant },
    /// A course goes on after all: its last record was taken back.
    CourseResumed { course: No },
    /// Somebody at the clinic wants an order changed.
    AmendmentEntered {
        amendment: No,
        course: No,
        what: Alteration,
        by: String,
        at: Instant,
    },
    /// Whoever entered it has seen it read back; a second person has to confirm it.
    AmendmentAffirmed { amendment: No },
    /// The order was changed, or it was left as it is.
    AmendmentSettled {
        amendment: No,
        taken: bool,
        by: String,
        at: Instant,
    },
    /// The order of a course is another one from a dose on that nothing is known of yet.
    OrderAmended {
        course: No,
        plan: Option<Plan>,
        doses: u32,
        syringe: Volume,
        ordered: String,
        by: String,
        confirmed_by: Option<String>,
        at: Instant,
    },
    /// Nothing is asked for until the clinic says so; doses that wait for an answer wait no more.
    CoursePaused {
        course: No,
        released: Vec<No>,
        by: String,
        at: Instant,
    },
    /// The course goes on with this plan, by the clinic's word.
    PauseEnded {
        course: No,
        plan: Plan,
        moved: Vec<(No, NaiveDateTime, Zone, Instant)>,
        by: String,
        at: Instant,
    },
    /// The clinic ended a course.
    CourseStopped { course: No, by: String, at: Instant },
    /// A dose was asked for; its planned time is fixed from here on.
    DoseAsked {
        course: No,
        dose: No,
        local: NaiveDateTime,
        zone: Zone,
        planned_at: Instant,
        at: Instant,
    },
    /// The window of a dose closed without an answer.
    DoseClosed {
        course: No,
        dose: No,
        local: NaiveDateTime,
        zone: Zone,
        planned_at: Instant,
        at: Instant,
    },
    /// A dose was given, or somebody said that it was not.
    Administered {
        administration: No,
        course: No,
        dose: No,
        local: NaiveDateTime,
        zone: Zone,
        planned_at: Instant,
        given: bool,
        at: Instant,
        recorded_at: Instant,
        by: String,
        carer: No,
        volume: Volume,
        draws: Vec<(Option<No>, Volume, Volume)>,
    },
    /// A record was found to be wrong.
    AdministrationSuperseded { administration: No, at: Instant },
    /// What was drawn was found to have come from these vials.
    DrawsPlaced {
        administration: No,
        draws: Vec<(Option<No>, Volume, Volume)>,
    },
    /// A vial was mixed.
    VialMixed {
        course: No,
        vial: No,
        mixed_at: Instant,
        recorded_at: Instant,
        by: String,
        available: Volume,
        discard_by: Instant,
    },
    /// A vial was discarded.
    VialDiscarded {
        course: No,
        vial: No,
        at: Instant,
        by: String,
    },
    /// A level was seen in a vial.
    LevelSeen {
        course: No,
        vial: No,
        volume: Volume,
        at: Instant,
    },
    /// A vial left the refrigerator, or is back in it.
    VialOut {
        course: No,
        vial: No,
        since: Option<Instant>,
    },
    /// A vial's limit was warned of, this long before it.
    VialWarned { course: No, vial: No, minutes: u32 },
    /// We asked a question.
    QuestionAsked {
        question: No,
        carer: No,
        options: Vec<Proposal>,
        expires_at: Instant,
    },
    /// A question was answered, or something else was said in its place.
    QuestionSettled { question: No },
    /// The clinic was told something that it has to see.
    AlertRaised {
        alert: No,
        kind: Kind,
        dose: Option<(No, No)>,
        carer: Option<No>,
        text: Option<String>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        patient: Option<String>,
        #[serde(default, skip_serializing_if = "Facts::is_empty")]
        facts: Facts,
        at: Instant,
    },
    /// Nobody had seen it, and the next rung of the ladder was told.
    AlertClimbed { alert: No, at: Instant },
    /// Somebody at the clinic has seen it.
    AlertSeen { alert: No, at: Instant, by: String },
    /// Somebody at the clinic wrote to the carer about it.
    AlertAnswered {
        alert: No,
        at: Instant,
        by: String,
        words: String,
    },
    /// Somebody at the clinic said how it ended; no dose is recorded by that.
    AlertEnded {
        alert: No,
        how: Ending,
        at: Instant,
        by: String,
    },
    /// The people at home were erased at their request; the entries before it are without them.
    PersonErased { at: Instant, by: String },
}

impl Change {
    /// Whether another carer speaks from a chat afterwards, or nobody.
    pub fn moves_a_chat(&self) -> bool {
        matches!(
            self,
            Change::CarerJoined { .. } | Change::CarerMoved { .. } | Change::CarerRemoved { .. }
        )
    }
}

/// Carries a change out in memory. A change that names what does not exist
/// changes nothing: it can only come from a journal that was tampered with.
pub fn apply(household: &mut Household, change: &Change) {
    match change.clone() {
        Change::ZoneChanged { zone, .. } => household.zone = zone,
        Change::CarerAdded { carer, name } => {
            let added = Carer {
                no: carer,
                name,
                chat: None,
                reachable: true,
                said: None,
                phone: None,
            };
            household.carers.insert(carer, added);
        }
        Change::CarerJoined { carer, chat } => {
            if let Some(carer) = household.carers.get_mut(&carer) {
                carer.chat = Some(chat);
                carer.reachable = true;
            }
        }
        Change::CarerRemoved { carer } => {
            if let Some(carer) = household.carers.get_mut(&carer) {
                carer.chat = None;
                carer.reachable = false;
            }
        }
        Change::CarerMoved { carer, address } => {
            if let Some(chat) = household
                .carers
                .get_mut(&carer)
                .and_then(|c| c.chat.as_mut())
            {
                chat.address = address;
            }
        }
        Change::CarerReachable { carer, reachable } => {
            if let Some(carer) = household.carers.get_mut(&carer) {
                carer.reachable = reachable;
            }
        }
        Change::CarerSaid { carer, text } => {
            if let Some(carer) = household.carers.get_mut(&carer) {
                carer.said = Some(text);
            }
        }
        Change::CarerPhone { carer, phone } => {
            if let Some(carer) = household.carers.get_mut(&carer) {
                carer.phone = phone;
            }
        }
        Change::PatientAdded {
            patient,
            name,
            species,
            weight,
        } => {
            let added = Patient {
                no: patient,
                name,
                species,
                weight,
            };
            household.patients.insert(patient, added);
        }
        Change::CourseStarted {
            course,
            patient,
            product,
            ordered,
            veterinarian,
            syringe,
            doses,
            plan,
            entered_by,
            at,
        } => {
            let started = Course {
                no: course,
                patient,
                product,
                ordered,
                veterinarian,
                syringe,
                doses,
                plans: vec![plan],
                counted: BTreeMap::new(),
                entered_by,
                confirmed: None,
                supply_told: None,
                started_at: at,
                ended_at: None,
                ended_by: None,
                paused: None,
                touched: BTreeMap::new(),
                vials: BTreeMap::new(),
            };
            household.courses.insert(course, started.into());
        }
        Change::CourseConfirmed { course, at, by } => {
            if let Some(course) = household.course_mut(course) {
                course.confirmed = Some((at, by));
            }
        }
        Change::SuppliesCounted {
            course,
            supply,
            pieces,
            at,
        } => {
            if let Some(course) = household.course_mut(course) {
                course.counted.insert(supply, Counted { pieces, at });
            }
        }
        Change::SupplyTold { course, at } => {
            if let Some(course) = household.course_mut(course) {
                course.supply_told = at;
            }
        }
        Change::CourseEnded { course, at } => {
            if let Some(course) = household.course_mut(course) {
                course.ended_at = Some(at);
            }
        }
        Change::CourseResumed { course } => {
            if let Some(course) = household.course_mut(course) {
                course.ended_at = None;
            }
        }
        Change::AmendmentEntered {
            amendment,
            course,
            what,
            by,
            at,
        } => {
            let entered = Amendment {
                no: amendment,
                course,
                what,
                entered_by: by,
                entered_at: at,
                affirmed: false,
                settled: None,
            };
            household.amendments.insert(amendment, entered);
        }
        Change::AmendmentAffirmed { amendment } => {
            if let Some(amendment) = household.amendments.get_mut(&amendment) {
                amendment.affirmed = true;
            }
        }
        Change::AmendmentSettled {
            amendment,
            taken,
            by,
            at,
        } => {
            if let Some(amendment) = household.amendments.get_mut(&amendment) {
                amendment.settled = Some(Settled { at, by, taken });
            }
        }
        Change::OrderAmended {
            course,
            plan,
            doses,
            syringe,
            ordered,
            ..
        } => {
            if let Some(course) = household.course_mut(course) {
                course.doses = doses;
                course.syringe = syringe;
                course.ordered = ordered;
                // What went home may reach less far now: that is to be told anew.
                course.supply_told = None;
                if let Some(plan) = plan {
                    replan(course, plan);
                }
            }
        }
        Change::CoursePaused {
            course,
            released,
            by,
            at,
        } => {
            for dose in released {
                release(household, course, dose);
            }
            if let Some(course) = household.course_mut(course) {
                course.paused = Some((at, by));
            }
        }
        Change::PauseEnded {
            course,
            plan,
            moved,
            ..
        } => {
            if let Some(course) = household.course_mut(course) {
                course.paused = None;
                course.supply_told = None;
                replan(course, plan);
                for (dose, local, zone, at) in moved {
                    if let Some(dose) = course.touched.get_mut(&dose) {
                        // What was asked and closed was about its time before.
                        *dose = Dose {
                            planned: Planned { local, zone, at },
                            asked: 0,
                            asked_at: None,
                            closed_at: None,
                        };
                    }
                }
            }
        }
        Change::CourseStopped { course, by, at } => {
            if let Some(course) = household.course_mut(course) {
                course.ended_at = Some(at);
                course.ended_by = Some(by);
            }
        }
        Change::DoseAsked {
            course,
            dose,
            local,
            zone,
            planned_at,
            at,
        } => {
            let planned = Planned {
                local,
                zone,
                at: planned_at,
            };
            if let Some(dose) = touch(household, course, dose, planned) {
                dose.asked += 1;
                dose.asked_at = Some(at);
            }
        }
        Change::DoseClosed {
            course,
            dose,
            local,
            zone,
            planned_at,
            at,
        } => {
            let planned = Planned {
                local,
                zone,
                at: planned_at,
            };
            if let Some(dose) = touch(household, course, dose, planned) {
                dose.closed_at = Some(at);
            }
        }
        Change::Administered {
            administration,
            course,
            dose,
            local,
            zone,
            planned_at,
            given,
            at,
            recorded_at,
            by,
            carer,
            volume,
            draws,
        } => {
            let planned = Planned {
                local,
                zone,
                at: planned_at,
            };
            touch(household, course, dose, planned);
            let status = if given {
                Status::Completed
            } else {
                Status::NotDone
            };
            let record = Administration {
                no: administration,
                course,
                dose,
                status,
                at,
                recorded_at,
                by,
                carer,
                volume,
                draws: draws.into_iter().map(draw_of).collect(),
                superseded_at: None,
            };
            household.administrations.insert(administration, record);
        }
        Change::AdministrationSuperseded { administration, at } => {
            if let Some(record) = household.administrations.get_mut(&administration) {
                record.superseded_at = Some(at);
            }
        }
        Change::DrawsPlaced {
            administration,
            draws,
        } => {
            if let Some(record) = household.administrations.get_mut(&administration) {
                record.draws = draws.into_iter().map(draw_of).collect();
            }
        }
        Change::VialMixed {
            course,
            vial,
            mixed_at,
            recorded_at,
            by,
            available,
            discard_by,
        } => {
            if let Some(course) = household.course_mut(course) {
                let mixed = Vial {
                    no: vial,
                    mixed_at,
                    recorded_at,
                    by,
                    available,
                    discard_by,
                    discarded: None,
                    level: None,
                    out_since: None,
                    warned_minutes: None,
                };
                course.vials.insert(vial, mixed);
            }
        }
        Change::VialDiscarded {
            course,
            vial,
            at,
            by,
        } => {
            if let Some(vial) = vial_of(household, course, vial) {
                vial.discarded = Some(Discarded { at, by });
            }
        }
        Change::LevelSeen {
            course,
            vial,
            volume,
            at,
        } => {
            if let Some(vial) = vial_of(household, course, vial) {
                vial.level = Some(LevelSeen { volume, at });
            }
        }
        Change::VialOut {
            course,
            vial,
            since,
        } => {
            if let Some(vial) = vial_of(household, course, vial) {
                vial.out_since = since;
            }
        }
        Change::VialWarned {
            course,
            vial,
            minutes,
        } => {
            if let Some(vial) = vial_of(household, course, vial) {
                vial.warned_minutes = Some(minutes);
            }
        }
        Change::QuestionAsked {
            question,
            carer,
            options,
            expires_at,
        } => {
            let asked = OpenQuestion {
                no: question,
                carer,
                options,
                expires_at,
                settled: false,
            };
            household.questions.insert(question, asked);
        }
        Change::QuestionSettled { question } => {
            if let Some(question) = household.questions.get_mut(&question) {
                question.settled = true;
            }
        }
        Change::AlertRaised {
            alert,
            kind,
            dose,
            carer,
            text,
            patient,
            facts,
            at,
        } => {
            let raised = Alert {
                no: alert,
                kind,
                dose,
                carer,
                text,
                patient,
                facts,
                raised_at: at,
                told_at: at,
                rungs: 0,
                seen: None,
                replies: Vec::new(),
                ended: None,
            };
            household.alerts.insert(alert, raised);
        }
        Change::AlertSeen { alert, at, by } => {
            if let Some(alert) = household.alerts.get_mut(&alert) {
                alert.seen = Some((at, by));
            }
        }
        Change::AlertClimbed { alert, at } => {
            if let Some(alert) = household.alerts.get_mut(&alert) {
                alert.told_at = at;
                alert.rungs += 1;
            }
        }
        Change::AlertAnswered {
            alert,
            at,
            by,
            words,
        } => {
            if let Some(alert) = household.alerts.get_mut(&alert) {
                alert.replies.push(Answer { at, by, words });
            }
        }
        Change::AlertEnded { alert, how, at, by } => {
            if let Some(alert) = household.alerts.get_mut(&alert) {
                alert.ended = Some(Ended { how, at, by });
            }
        }
        Change::PersonErased { .. } => erase(household),
    }
}

/// The dose of a course as a touched one; its planned time is fixed the first time.
fn touch(household: &mut Household, course: No, dose: No, planned: Planned) -> Option<&mut Dose> {
    let course = household.course_mut(course)?;
    Some(course.touched.entry(dose).or_insert(Dose {
        planned,
        asked: 0,
        asked_at: None,
        closed_at: None,
    }))
}

/// A plan takes the place of all that began with its first dose or later.
fn replan(course: &mut Course, plan: Plan) {
    course.plans.retain(|before| before.from < plan.from);
    course.plans.push(plan);
}

/// A dose that was asked for is as if it had not been; records of it, even
/// wrong ones, keep it among the touched.
fn release(household: &mut Household, course: No, dose: No) {
    let recorded = household
        .administrations
        .values()
        .any(|record| record.course == course && record.dose == dose);
    let Some(course) = household.course_mut(course) else {
        return;
    };
    if !recorded {
        course.touched.remove(&dose);
    } else if let Some(dose) = course.touched.get_mut(&dose) {
        dose.asked = 0;
        dose.asked_at = None;
    }
}

fn vial_of(household: &mut Household, course: No, vial: No) -> Option<&mut Vial> {
    household.course_mut(course)?.vials.get_mut(&vial)
}

fn draw_of((vial, volume, lost): (Option<No>, Volume, Volume)) -> Draw {
    Draw { vial, volume, lost }
}
