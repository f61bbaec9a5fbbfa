//! A course walked ahead of time: which vial gives each dose, when each is
//! mixed and discarded, what is thrown away, and when the vials at home run out.
//!
//! Dividing what a vial holds by the dose is not enough: a vial has a limit.
//! 0.1 mL twice a day from a 3.6 mL vial that keeps for 7 days is 14 doses a
//! vial, not 36.

use super::Instant;
use super::formulary::Product;
use super::household::{Course, Household, Outcome, Planned};
use super::message::No;
use super::policy::VialPolicy;
use super::quantity::Volume;
use super::supplies::{Supplies, left};
use super::supply::Supply;
use super::timing::Plan;
use super::vial::{Draw, discard_by, spread};
use super::zone::Zone;

/// The rest of a course, if it is followed to the minute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Forecast {
    /// The doses that are still open, in order.
    pub doses: Vec<ForecastDose>,
    /// The vials that will be mixed for them, in order.
    pub mixes: Vec<ForecastMix>,
    /// What will be thrown away with the vials that are mixed now.
    pub thrown_from_mixed: Volume,
    /// The first dose that the vials at home cannot give; none where they last.
    pub runs_out: Option<(No, Planned)>,
}

/// A dose to come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ForecastDose {
    /// Its number.
    pub dose: No,
    /// When it is planned.
    pub planned: Planned,
    /// Where it will be drawn from.
    pub draws: Vec<Draw>,
}

/// A vial to be mixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ForecastMix {
    /// Its number.
    pub vial: No,
    /// When: just before the dose that needs it.
    pub at: Instant,
    /// Its limit.
    pub discard_by: Instant,
    /// When it is discarded: empty, at its limit, or after the last dose.
    pub discarded_at: Instant,
    /// What is thrown away with it.
    pub thrown: Volume,
    /// Whether the vial is at home; otherwise it has to be dispensed.
    pub at_home: bool,
}

impl Forecast {
    /// What is needed from here to the end.
    pub fn supplies(&self) -> Supplies {
        let draws: usize = self.doses.iter().map(|dose| dose.draws.len().max(1)).sum();
        let pieces = |count: usize| u32::try_from(count).unwrap_or(u32::MAX);
        Supplies::of(pieces(draws), pieces(self.mixes.len()))
    }

    /// What is thrown away in all.
    pub fn thrown(&self) -> Volume {
        self.mixes
            .iter()
            .map(|mix| mix.thrown)
            .sum::<Volume>()
            .plus(self.thrown_from_mixed)
    }

    /// Vials that have to be dispensed beyond those at home.
    pub fn vials_short(&self) -> u32 {
        u32::try_from(self.mixes.iter().filter(|mix| !mix.at_home).count()).unwrap_or(u32::MAX)
    }
}

/// A vial that doses are drawn from on the walk.
#[derive(Debug, Clone, Copy)]
struct Open {
    no: No,
    left: Volume,
    discard_by: Instant,
    /// Its place among the vials mixed on the walk.
    mix: Option<usize>,
}

struct Walk<'a> {
    product: &'a Product,
    zone: Zone,
    policy: &'a VialPolicy,
    open: Vec<Open>,
    at_home: u32,
    next_vial: No,
    mixes: Vec<ForecastMix>,
    thrown_from_mixed: Volume,
}

/// A dose from more vials than this is a mistake in the formulary, not a plan.
const MOST_VIALS_PER_DOSE: i64 = 100;

/// Walks the open doses of a course from how things stand at an instant.
pub fn forecast(
    household: &Household,
    course: &Course,
    policy: &VialPolicy,
    now: Instant,
) -> Forecast {
    let open = household
        .usable_vials(course, now)
        .into_iter()
        .filter_map(|(no, left)| {
            let vial = course.vials.get(&no)?;
            Some(Open {
                no,
                left,
                discard_by: vial.discard_by,
                mix: None,
            })
        })
        .collect();
    let walk = Walk {
        product: &course.product,
        zone: household.zone,
        policy,
        open,
        at_home: left(household, course, Supply::Vials).unwrap_or(u32::MAX),
        next_vial: course.next_vial(),
        mixes: Vec::new(),
        thrown_from_mixed: Volume::ZERO,
    };
    let doses = course
        .dose_numbers()
        .filter(|dose| household.outcome(course, *dose) == Outcome::Open)
        .map(|dose| {
            (
                dose,
                course.planned(dose, household.zone),
                course.plan(dose).volume,
            )
        });
    walk.walk(doses, now)
}

/// Walks a whole course that has not begun: what has to be dispensed for it.
pub fn forecast_order(
    plan: &Plan,
    doses: u32,
    product: &Product,
    zone: Zone,
    policy: &VialPolicy,
) -> Forecast {
    let walk = Walk {
        product,
        zone,
        policy,
        open: Vec::new(),
        at_home: u32::MAX,
        next_vial: 1,
        mixes: Vec::new(),
        thrown_from_mixed: Volume::ZERO,
    };
    let doses = (1..=doses).map(|dose| {
        (
            dose,
            Planned::resolve(plan.planned(dose), zone),
            plan.volume,
        )
    });
    walk.walk(doses, Instant::MIN_UTC)
}

impl Walk<'_> {
    fn walk(
        mut self,
        doses: impl Iterator<Item = (No, Planned, Volume)>,
        now: Instant,
    ) -> Forecast {
        let mut walked = Vec::new();
        let mut runs_out = None;
        let mut last = now;
        for (dose, planned, volume) in doses {
            // A dose that is overdue is drawn now, not in the past.
            let at = planned.at.max(now);
            last = at;
            self.discard(at, |open| open.discard_by <= at);
            let draws = self.draw(volume, at);
            let missing = draws.iter().any(|draw| match draw.vial {
                None => true,
                Some(no) => self.mixes.iter().any(|mix| mix.vial == no && !mix.at_home),
            });
            if missing && runs_out.is_none() {
                runs_out = Some((dose, planned));
            }
            walked.push(ForecastDose {
                dose,
                planned,
                draws,
            });
        }
        self.discard(last, |_| true);
        Forecast {
            doses: walked,
            mixes: self.mixes,
            thrown_from_mixed: self.thrown_from_mixed,
            runs_out,
        }
    }

    /// Draws one dose, mixing as many vials as it takes.
    fn draw(&mut self, volume: Volume, at: Instant) -> Vec<Draw> {
        loop {
            let left: Vec<(No, Volume)> =
                self.open.iter().map(|open| (open.no, open.left)).collect();
            let draws = spread(volume, &left, self.policy.loss, self.policy.split);
            let short = draws.iter().any(|draw| draw.vial.is_none());
            let whole = self.product.available.less(self.policy.loss);
            // No number of vials gives a dose that one may not be split for, or that loss eats up.
            let per_dose = volume.millionths() / whole.millionths().max(1);
            let can_help = !whole.is_zero()
                && (self.policy.split || whole >= volume)
                && per_dose < MOST_VIALS_PER_DOSE;
            if short && can_help {
                self.mix(at);
                continue;
            }
            for draw in &draws {
                if let Some(open) = self.open.iter_mut().find(|open| Some(open.no) == draw.vial) {
                    open.left = open.left.less(draw.volume.plus(draw.lost));
                }
            }
            self.discard(at, |open| open.left.is_zero());
            return draws;
        }
    }

    fn mix(&mut self, at: Instant) {
        let limit = discard_by(at, self.product, self.zone);
        let at_home = self.at_home > 0;
        self.at_home = self.at_home.saturating_sub(1);
        self.open.push(Open {
            no: self.next_vial,
            left: self.product.available,
            discard_by: limit,
            mix: Some(self.mixes.len()),
        });
        self.mixes.push(ForecastMix {
            vial: self.next_vial,
            at,
            discard_by: limit,
            discarded_at: limit,
            thrown: Volume::ZERO,
            at_home,
        });
        self.next_vial += 1;
    }

    /// Discards open vials: at their limit where that is past, else now.
    fn discard(&mut self, at: Instant, which: impl Fn(&Open) -> bool) {
        let mut kept = Vec::with_capacity(self.open.len());
        for open in std::mem::take(&mut self.open) {
            if !which(&open) {
                kept.push(open);
                continue;
            }
            match open.mix.and_then(|index| self.mixes.get_mut(index)) {
                Some(mix) => {
                    mix.thrown = open.left;
                    mix.discarded_at = at.min(open.discard_by);
                }
                None => self.thrown_from_mixed = self.thrown_from_mixed.plus(open.left),
            }
        }
        self.open = kept;
    }
}

#[cfg(test)]
mod tests {
    use super::super::timing::Plan;
    use super::*;

    #[test]
    fn a_dose_takes_as_many_small_vials_as_it_needs() {
        let ml = |text| Volume::parse(text).unwrap();
        let product = Product {
            key: "p".into(),
            name: "p".into(),
            vial: Default::default(),
            diluent: "w".into(),
            diluent_volume: Default::default(),
            available: ml("0.3"),
            concentration: Default::default(),
            refrigerated_hours: 48,
            room_hours: None,
            source: "invented".into(),
        };
        let plan = Plan {
            from: 1,
            first: "2026-01-05T07:30:00".parse().unwrap(),
            times: vec!["07:30:00".parse().unwrap()],
            volume: ml("5"),
        };
        let policy = VialPolicy {
            warn_before: Vec::new(),
            loss: ml("0.1"),
            split: true,
            level_differs: Volume::ZERO,
        };
        let zone = Zone::named("America/Denver").unwrap();
        let ahead = forecast_order(&plan, 1, &product, zone, &policy);
        assert_eq!(ahead.mixes.len(), 25);
        assert_eq!(ahead.runs_out, None);
    }
}
