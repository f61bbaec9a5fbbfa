//! A course walked ahead of time: which vial gives each dose, when each is
//! mixed and discarded, what is thrown away, and when the vials at home run out.
//!
//! Dividing what a vial holds by the dose is not enough: a vial has a limit.
//! 0.1 mL twice a day from a 3.6 mL vial that keeps for 7 days is 14 doses a
//! vial, not 36.

use super::Instant;
use super::formulary::Product;
use super::household::{Course, Household, Planned};
use super::message::No;
use super::policy::VialPolicy;
use super::quantity::Volume;
use super::supplies::{Supplies, left};
use super::supply::Supply;
use super::timing::Plan;
use super::vial::{Draw, discard_by, spread_into};
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
    now: Instant,
    open: Vec<Open>,
    at_home: u32,
    next_vial: No,
    /// The first vial that is not at home; those after it are not either.
    first_beyond: Option<No>,
    mixes: Vec<ForecastMix>,
    thrown_from_mixed: Volume,
    /// What the dose that was given last was drawn from.
    draws: Vec<Draw>,
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
    let walk = Walk::from_here(household, course, policy, now);
    walk.whole(open_doses(household, course))
}

/// The first open dose of a course that the vials at home cannot give, as
/// [`Forecast::runs_out`] has it: every decision asks for this alone, and the
/// walk ends there.
pub fn runs_out(
    household: &Household,
    course: &Course,
    policy: &VialPolicy,
    now: Instant,
) -> Option<Planned> {
    let mut walk = Walk::from_here(household, course, policy, now);
    open_doses(household, course)
        .find(|(_, planned, volume)| !walk.gives(*planned, *volume))
        .map(|(_, planned, _)| planned)
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
        now: Instant::MIN_UTC,
        open: Vec::new(),
        at_home: u32::MAX,
        next_vial: 1,
        first_beyond: None,
        mixes: Vec::new(),
        thrown_from_mixed: Volume::ZERO,
        draws: Vec::new(),
    };
    walk.whole((1..=doses).map(|dose| {
        let planned = Planned::resolve(plan.planned(dose), zone);
        (dose, planned, plan.volume)
    }))
}

fn open_doses<'a>(
    household: &'a Household,
    course: &'a Course,
) -> impl Iterator<Item = (No, Planned, Volume)> + 'a {
    household.open_doses(course).map(|dose| {
        let planned = course.planned(dose, household.zone);
        (dose, planned, course.plan(dose).volume)
    })
}

impl<'a> Walk<'a> {
    fn from_here(
        household: &Household,
        course: &'a Course,
        policy: &'a VialPolicy,
        now: Instant,
    ) -> Walk<'a> {
        let usable = household.usable_vials(course, now).into_iter();
        let open = usable.filter_map(|(no, left)| {
            let vial = course.vials.get(&no)?;
            Some(Open {
                no,
                left,
                discard_by: vial.discard_by,
                mix: None,
            })
        });
        Walk {
            product: &course.product,
            zone: household.zone,
            policy,
            now,
            open: open.collect(),
            at_home: left(household, course, Supply::Vials).unwrap_or(u32::MAX),
            next_vial: course.next_vial(),
            first_beyond: None,
            mixes: Vec::new(),
            thrown_from_mixed: Volume::ZERO,
            draws: Vec::new(),
        }
    }

    fn whole(mut self, doses: impl Iterator<Item = (No, Planned, Volume)>) -> Forecast {
        let mut walked = Vec::new();
        let mut runs_out = None;
        let mut last = self.now;
        for (dose, planned, volume) in doses {
            if !self.gives(planned, volume) && runs_out.is_none() {
                runs_out = Some((dose, planned));
            }
            last = planned.at.max(self.now);
            walked.push(ForecastDose {
                dose,
                planned,
                draws: self.draws.clone(),
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

    /// Gives the next dose; whether the vials at home are enough for it.
    fn gives(&mut self, planned: Planned, volume: Volume) -> bool {
        // A dose that is overdue is drawn now, not in the past.
        let at = planned.at.max(self.now);
        self.discard(at, |open| open.discard_by <= at);
        self.draw(volume, at);
        let beyond = self.first_beyond.unwrap_or(No::MAX);
        self.draws
            .iter()
            .all(|draw| draw.vial.is_some_and(|no| no < beyond))
    }

    /// Draws one dose, mixing as many vials as it takes.
    fn draw(&mut self, volume: Volume, at: Instant) {
        loop {
            let left = self.open.iter().map(|open| (open.no, open.left));
            let (loss, split) = (self.policy.loss, self.policy.split);
            spread_into(&mut self.draws, volume, left, loss, split);
            let short = self.draws.iter().any(|draw| draw.vial.is_none());
            if !short || !self.another_helps(volume) {
                break;
            }
            self.mix(at);
        }
        for draw in &self.draws {
            if let Some(open) = self.open.iter_mut().find(|open| Some(open.no) == draw.vial) {
                open.left = open.left.less(draw.volume.plus(draw.lost));
            }
        }
        self.discard(at, |open| open.left.is_zero());
    }

    /// No number of vials gives a dose that one may not be split for, or that loss eats up.
    fn another_helps(&self, volume: Volume) -> bool {
        let whole = self.product.drawable(self.policy.loss);
        let per_dose = volume.millionths() / whole.millionths().max(1);
        !whole.is_zero() && (self.policy.split || whole >= volume) && per_dose < MOST_VIALS_PER_DOSE
    }

    fn mix(&mut self, at: Instant) {
        let limit = discard_by(at, self.product, self.zone);
        let at_home = self.at_home > 0;
        self.at_home = self.at_home.saturating_sub(1);
        if !at_home {
            self.first_beyond.get_or_insert(self.next_vial);
        }
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
        let Walk {
            open,
            mixes,
            thrown_from_mixed,
            ..
        } = self;
        open.retain(|open| {
            if !which(open) {
                return true;
            }
            match open.mix.and_then(|index| mixes.get_mut(index)) {
                Some(mix) => {
                    mix.thrown = open.left;
                    mix.discarded_at = at.min(open.discard_by);
                }
                None => *thrown_from_mixed = thrown_from_mixed.plus(open.left),
            }
            false
        });
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
