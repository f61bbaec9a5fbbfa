//! From a veterinarian's order to a course: the arithmetic, and what is
//! refused before anything is enrolled.

use super::formulary::Product;
use super::policy::{DosePolicy, Policy, Syringe};
use super::quantity::{OrderedDose, Volume, Weight};
use super::timing::Plan;
use super::zone::Zone;
use chrono::{NaiveDateTime, NaiveTime, TimeDelta};
use serde::{Deserialize, Serialize};

/// An order as read from a prescription file, each field well-formed by itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The patient's name.
    pub patient: String,
    /// Its species.
    pub species: String,
    /// Its body weight.
    pub weight: Weight,
    /// The weight as it was written, such as `66 lb`.
    pub weight_written: String,
    /// The owner's name.
    pub owner: String,
    /// Language code of the owner.
    pub language: String,
    /// The owner's zone.
    pub zone: Zone,
    /// Where the clinic calls the owner, where it wrote that down.
    pub owner_phone: Option<String>,
    /// Other carers.
    pub carers: Vec<String>,
    /// What is dispensed.
    pub product: Product,
    /// How much, as ordered.
    pub dose: OrderedDose,
    /// The times of each day, ascending.
    pub times: Vec<NaiveTime>,
    /// When the first dose is planned.
    pub first: NaiveDateTime,
    /// How long.
    pub length: Length,
    /// How many vials went home, when it was written down.
    pub vials_dispensed: Option<u32>,
    /// Who ordered it.
    pub veterinarian: String,
}

/// How long a course is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Length {
    /// So many days from the first dose on.
    Days(u32),
    /// So many doses.
    Doses(u32),
}

/// An order that was worked out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorkedOrder {
    /// Volume of each dose, as it can be read on the syringe.
    pub volume: Volume,
    /// The syringe that it is drawn in.
    pub syringe: Syringe,
    /// How many doses.
    pub doses: u32,
    /// When each is planned.
    pub plan: Plan,
}

/// Why an order is refused.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[allow(missing_docs, reason = "the message of each says what it is")]
pub enum OrderError {
    #[error("patient.weight: a weight of 0 cannot be")]
    NoWeight,
    #[error(
        "patient.weight: {weight} is out of the clinic's range for a {species} ({least} to {most})"
    )]
    Weight {
        weight: Weight,
        species: String,
        least: Weight,
        most: Weight,
    },
    #[error("prescription.dose: a dose of 0 cannot be")]
    NoDose,
    #[error("prescription.product: {product} has a concentration of 0 in the formulary")]
    NoConcentration { product: String },
    #[error("prescription.dose: {volume} is more than the clinic's largest dose, {largest}")]
    TooLarge { volume: Volume, largest: Volume },
    #[error("prescription.dose: {rate} is more than the clinic's largest, {largest}")]
    RateTooLarge {
        rate: super::quantity::DoseRate,
        largest: super::quantity::DoseRate,
    },
    #[error("prescription.dose: {volume} is more than the clinic allows at one site, {largest}")]
    OverOneSite { volume: Volume, largest: Volume },
    #[error("prescription.dose: {volume} does not fit in the clinic's largest syringe, {largest}")]
    NoSyringe { volume: Volume, largest: Volume },
    #[error(
        "prescription.dose: {volume} is less than one mark ({graduation}) of the smallest syringe that holds it, {size}"
    )]
    TooSmall {
        volume: Volume,
        graduation: Volume,
        size: Volume,
    },
    #[error(
        "prescription.dose: {volume} is more than one whole vial holds and the clinic does not allow a dose from two vials ({available})"
    )]
    OverOneVial { volume: Volume, available: Volume },
    #[error("prescription.times: write at least one time")]
    NoTimes,
    #[error("prescription.times: {a} and {b} are {hours} apart; the clinic's least is {least}")]
    TimesTooClose {
        a: String,
        b: String,
        hours: String,
        least: String,
    },
    #[error("prescription.times: {a} and {b} are {hours} apart; the clinic's most is {most}")]
    TimesTooFar {
        a: String,
        b: String,
        hours: String,
        most: String,
    },
    #[error("prescription.first: {first} is not at one of the times of the day ({times})")]
    FirstNotAtATime { first: NaiveDateTime, times: String },
    #[error("prescription.first: {first} in {zone} is in the past")]
    FirstInThePast { first: NaiveDateTime, zone: Zone },
    #[error("prescription.days: a course of 0 days has no dose")]
    NoDays,
    #[error("prescription.doses: a course of 0 doses cannot be")]
    NoDoses,
    #[error("prescription.{key}: {doses} doses are more than the clinic's most, {most}")]
    TooManyDoses {
        key: &'static str,
        doses: u64,
        most: u32,
    },
}

impl Order {
    /// Works the order out by the clinic's rules, or says all that is wrong with it.
    ///
    /// `now` is the instant of enrolment; a first dose whose window has closed is refused.
    pub fn work_out(
        &self,
        policy: &Policy,
        now: super::Instant,
    ) -> Result<WorkedOrder, Vec<OrderError>> {
        let mut wrong = Vec::new();
        self.check_weight(policy, &mut wrong);
        let weighed = wrong.is_empty();
        check_rate(self.dose, policy, &mut wrong);
        self.check_times(policy, now, &mut wrong);
        let doses = self.count_doses(policy, &mut wrong);
        let by_weight = matches!(self.dose, OrderedDose::PerKilogram(_));
        // A dose by a weight that cannot be is wrong in the same breath: said once.
        let measured = (weighed || !by_weight)
            .then(|| measure(self.dose, self.weight, &self.product, policy, &mut wrong))
            .flatten();
        match measured {
            Some((volume, syringe)) if wrong.is_empty() => Ok(WorkedOrder {
                volume,
                syringe,
                doses,
                plan: Plan {
                    from: 1,
                    first: self.first,
                    times: self.times.clone(),
                    volume,
                },
            }),
            _ => Err(wrong),
        }
    }

    fn check_weight(&self, policy: &Policy, wrong: &mut Vec<OrderError>) {
        if self.weight.is_zero() {
            wrong.push(OrderError::NoWeight);
            return;
        }
        if let Some(range) = policy.weights.get(&self.species.to_lowercase())
            && !(range.least..=range.most).contains(&self.weight)
        {
            wrong.push(OrderError::Weight {
                weight: self.weight,
                species: self.species.clone(),
                least: range.least,
                most: range.most,
            });
        }
    }

    fn check_times(&self, policy: &Policy, now: super::Instant, wrong: &mut Vec<OrderError>) {
        if !check_between(&self.times, policy, wrong) {
            return;
        }
        if !self.times.contains(&self.first.time()) {
            let times: Vec<String> = self
                .times
                .iter()
                .map(|t| t.format("%H:%M").to_string())
                .collect();
            wrong.push(OrderError::FirstNotAtATime {
                first: self.first,
                times: times.join(", "),
            });
        }
        if self.zone.instant(self.first).at + policy.dose.window <= now {
            wrong.push(OrderError::FirstInThePast {
                first: self.first,
                zone: self.zone,
            });
        }
    }

    fn count_doses(&self, policy: &Policy, wrong: &mut Vec<OrderError>) -> u32 {
        let per_day = self.times.len() as u64;
        let (key, doses, none) = match self.length {
            Length::Doses(doses) => ("doses", u64::from(doses), OrderError::NoDoses),
            Length::Days(days) => ("days", u64::from(days) * per_day, OrderError::NoDays),
        };
        if doses == 0 {
            wrong.push(none);
        }
        let most = policy.dose.most_doses;
        if doses > u64::from(most) {
            wrong.push(OrderError::TooManyDoses { key, doses, most });
        }
        u32::try_from(doses).unwrap_or(u32::MAX)
    }
}

/// Checks the spans between the times of a day; false where there is no time at all.
pub(super) fn check_between(
    times: &[NaiveTime],
    policy: &Policy,
    wrong: &mut Vec<OrderError>,
) -> bool {
    let (Some(first), Some(last)) = (times.first(), times.last()) else {
        wrong.push(OrderError::NoTimes);
        return false;
    };
    let mut gaps: Vec<(NaiveTime, NaiveTime, TimeDelta)> = times
        .windows(2)
        .map(|pair| (pair[0], pair[1], pair[1] - pair[0]))
        .collect();
    gaps.push((*last, *first, TimeDelta::days(1) - (*last - *first)));
    // Doses too close to each other leave a long gap beside them: the same mistake.
    let any_close = gaps.iter().any(|(.., gap)| *gap < policy.dose.gap_least);
    for (a, b, gap) in gaps {
        let (a, b) = (a.format("%H:%M").to_string(), b.format("%H:%M").to_string());
        let hours = span(gap);
        if gap < policy.dose.gap_least {
            let least = span(policy.dose.gap_least);
            wrong.push(OrderError::TimesTooClose { a, b, hours, least });
        } else if gap > policy.dose.gap_most && !any_close {
            let most = span(policy.dose.gap_most);
            wrong.push(OrderError::TimesTooFar { a, b, hours, most });
        }
    }
    true
}

pub(super) fn check_rate(dose: OrderedDose, policy: &Policy, wrong: &mut Vec<OrderError>) {
    if let (OrderedDose::PerKilogram(rate), Some(largest)) = (dose, policy.dose.largest_rate)
        && rate > largest
    {
        wrong.push(OrderError::RateTooLarge { rate, largest });
    }
}

/// The volume of a dose as it can be read on the syringe that holds it, or what
/// of the clinic's rules it breaks.
pub(super) fn measure(
    dose: OrderedDose,
    weight: Weight,
    product: &Product,
    policy: &Policy,
    wrong: &mut Vec<OrderError>,
) -> Option<(Volume, Syringe)> {
    let Some(exact) = dose.volume(weight, product.concentration) else {
        wrong.push(OrderError::NoConcentration {
            product: product.key.clone(),
        });
        return None;
    };
    let nearest = exact.nearest();
    if nearest.is_zero() {
        wrong.push(OrderError::NoDose);
        return None;
    }
    if let Some(over) = over_a_limit(nearest, policy) {
        wrong.push(over);
        return None;
    }
    let Some(syringe) = policy.syringe_for(nearest) else {
        let largest = policy.syringes.last()?.size;
        wrong.push(OrderError::NoSyringe {
            volume: nearest,
            largest,
        });
        return None;
    };
    let Syringe { size, graduation } = syringe;
    // Half a mark and more would round up to one, to far more than was ordered.
    if nearest < graduation {
        wrong.push(OrderError::TooSmall {
            volume: nearest,
            graduation,
            size,
        });
        return None;
    }
    let volume = exact.round_to(graduation);
    if let Some(over) = over_a_limit(volume, policy) {
        wrong.push(over);
        return None;
    }
    if !policy.vial.split && volume.plus(policy.vial.loss) > product.available {
        wrong.push(OrderError::OverOneVial {
            volume,
            available: product.available,
        });
    }
    Some((volume, syringe))
}

/// Which of the clinic's limits a volume is over: as ordered, or as it reads on the syringe.
fn over_a_limit(volume: Volume, policy: &Policy) -> Option<OrderError> {
    let DosePolicy {
        largest,
        largest_per_site,
        ..
    } = policy.dose;
    if volume > largest {
        return Some(OrderError::TooLarge { volume, largest });
    }
    let largest = largest_per_site.filter(|largest| volume > *largest)?;
    Some(OrderError::OverOneSite { volume, largest })
}

/// Hours and minutes, such as `1 h` or `10 h 30 min`.
pub(super) fn span(delta: TimeDelta) -> String {
    match (delta.num_hours(), delta.num_minutes() % 60) {
        (hours, 0) => format!("{hours} h"),
        (0, minutes) => format!("{minutes} min"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}
