//! What is used up at home besides the drug: syringes, needles, a sharps container.
//!
//! One syringe for each draw, since a vial is not entered with a used syringe
//! (US CDC, safe injection practices); two needles for each syringe, one to
//! draw with and a fresh one to inject with (common practice, no source). For
//! mixing, one syringe, one needle and one vent needle are kept and used for
//! that alone (common practice, no source).

use super::Instant;
use super::household::{Course, Household, Status};
use super::policy::SharpsContainer;
use super::supply::Supply;

/// What a course needs, in pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Supplies {
    /// Vials of powder.
    pub vials: u32,
    /// Vials or ampoules of diluent.
    pub diluent: u32,
    /// Syringes for doses.
    pub syringes: u32,
    /// Needles for doses.
    pub needles: u32,
    /// A syringe that is kept for mixing.
    pub mixing_syringes: u32,
    /// A needle that is kept for mixing.
    pub mixing_needles: u32,
    /// A needle that lets air in while mixing.
    pub vent_needles: u32,
}

/// Needles for each syringe: one to draw with, a fresh one to inject with.
const NEEDLES_PER_SYRINGE: u32 = 2;

impl Supplies {
    /// What so many draws, from so many vials that are still to be mixed, need.
    pub fn of(draws: u32, vials: u32) -> Supplies {
        let syringes = draws;
        let mixing = u32::from(vials > 0);
        Supplies {
            vials,
            diluent: vials,
            syringes,
            needles: syringes.saturating_mul(NEEDLES_PER_SYRINGE),
            mixing_syringes: mixing,
            mixing_needles: mixing,
            vent_needles: mixing,
        }
    }

    /// Syringes and needles that go into the sharps container.
    pub fn sharps(&self) -> u32 {
        self.syringes
            + self.mixing_syringes
            + self.mixing_needles
            + self.vent_needles
            + self.needles
    }
}

/// The smallest container that takes so many sharps up to three quarters, and
/// how many of it: “when it is about three-quarters full” (US FDA, sharps
/// disposal at home). Of the largest, several are needed where one is too small.
pub fn containers(sharps: u32, sizes: &[SharpsContainer]) -> Option<(SharpsContainer, u32)> {
    let takes = |container: &SharpsContainer| (container.holds * 3 / 4).max(1);
    let fits = sizes.iter().find(|container| takes(container) >= sharps);
    let chosen = fits.or(sizes.last())?;
    Some((chosen.clone(), sharps.div_ceil(takes(chosen)).max(1)))
}

/// How many pieces of a kind are left at home by the books.
pub fn left(household: &Household, course: &Course, supply: Supply) -> Option<u32> {
    let counted = course.counted.get(&supply)?;
    Some(
        counted
            .pieces
            .saturating_sub(used_since(household, course, supply, counted.at)),
    )
}

fn used_since(household: &Household, course: &Course, supply: Supply, since: Instant) -> u32 {
    let used = match supply {
        Supply::Vials | Supply::Diluent => course
            .vials
            .values()
            .filter(|vial| vial.recorded_at > since)
            .count(),
        Supply::Syringes | Supply::Needles => household
            .administrations
            .values()
            .filter(|a| a.in_force() && a.course == course.no && a.recorded_at > since)
            .filter(|a| a.status == Status::Completed)
            .map(|a| a.draws.len().max(1))
            .sum(),
    };
    let used = u32::try_from(used).unwrap_or(u32::MAX);
    match supply {
        Supply::Needles => used.saturating_mul(NEEDLES_PER_SYRINGE),
        _ => used,
    }
}
