//! The arithmetic of an order, step by step, for the person who checks it.

use super::forecast::forecast_order;
use super::formulary::Product;
use super::message::{Kind, Message, Recipient};
use super::policy::{Policy, Syringe};
use super::prescription::{Order, WorkedOrder};
use super::quantity::{Mass, OrderedDose, Volume, Weight, mass_for_weight, mass_of_volume};
use super::supplies::containers;

/// By how much a label's figures may disagree with each other before it is
/// said, in hundredths of a percent (common practice, no source; two printed
/// labels are known to differ more).
const LABEL_BASIS_POINTS: u32 = 500;

/// Drug in what can be drawn from one vial: concentration x available volume,
/// to a millionth of a milligram.
pub fn mass_in_a_vial(product: &Product) -> Mass {
    mass_of_volume(product.available, product.concentration)
}

/// By how much that differs from the vial's strength, in hundredths of a percent, rounded up.
pub fn label_difference(product: &Product) -> u32 {
    let strength = i128::from(product.vial.millionths()).max(1);
    let off = (i128::from(mass_in_a_vial(product).millionths()) - strength).abs();
    u32::try_from((off * 10_000 + strength - 1) / strength).unwrap_or(u32::MAX)
}

/// Hundredths of a percent as a percentage, such as `0.8 %`.
pub fn percent(basis_points: u32) -> String {
    let (whole, part) = (basis_points / 100, basis_points % 100);
    match part {
        0 => format!("{whole} %"),
        part if part % 10 == 0 => format!("{whole}.{} %", part / 10),
        part => format!("{whole}.{part:02} %"),
    }
}

/// From the dose as ordered to what is drawn, step by step; `weight` with how it was written.
pub fn arithmetic(
    message: Message,
    product: &Product,
    dose: OrderedDose,
    (weight, written): (Weight, &str),
    (volume, syringe): (Volume, Syringe),
    policy: &Policy,
) -> Message {
    let mass = match dose {
        OrderedDose::PerKilogram(rate) => Some(mass_for_weight(rate, weight)),
        OrderedDose::Mass(mass) => Some(mass),
        OrderedDose::Volume(_) => None,
    };
    let rate = match dose {
        OrderedDose::PerKilogram(rate) => Some(rate.to_string()),
        OrderedDose::Mass(_) | OrderedDose::Volume(_) => None,
    };
    let exact = dose.volume(weight, product.concentration);
    let error = exact.map_or(0, |exact| exact.error_basis_points(volume));
    message
        .fact("product", product.name.as_str())
        .maybe("weight_lb", written.strip_suffix(" lb").map(|_| written))
        .fact("weight_kg", weight.to_string())
        .maybe("rate", rate)
        .maybe("mass", mass.map(|mass| mass.to_string()))
        .fact("concentration", product.concentration.to_string())
        .maybe("exact_ml", exact.map(|exact| exact.nearest()))
        .fact("syringe_ml", syringe.size)
        .fact("graduation_ml", syringe.graduation)
        .fact("volume_ml", volume)
        .fact("rounding", percent(error))
        .maybe(
            "rounding_flag",
            (error > policy.dose.rounding_basis_points).then_some("yes"),
        )
}

/// The arithmetic of an order as a message to the clinic; `by` entered it.
pub fn order_check(
    order: &Order,
    worked: &WorkedOrder,
    policy: &Policy,
    by: Option<&str>,
) -> Message {
    let product = &order.product;
    let forecast = forecast_order(
        &worked.plan,
        worked.doses,
        product,
        order.zone,
        &policy.vial,
    );
    let supplies = forecast.supplies();
    let label = label_difference(product);
    let container = containers(supplies.sharps(), &policy.supply.containers);
    let message = Message::new(Recipient::Clinic, Kind::ClinicOrderCheck)
        .about(&order.patient)
        .fact("owner", order.owner.as_str())
        .fact("status", "check")
        .maybe("by", by);
    let message = arithmetic(
        message,
        product,
        order.dose,
        (order.weight, &order.weight_written),
        (worked.volume, worked.syringe),
        policy,
    );
    message
        .fact("available_ml", product.available)
        .fact("drawable", mass_in_a_vial(product).to_string())
        .fact("strength", product.vial.to_string())
        .fact("label", percent(label))
        .maybe("label_flag", (label > LABEL_BASIS_POINTS).then_some("yes"))
        .fact("doses", worked.doses)
        .fact("vials", supplies.vials)
        .fact("diluent_ml", product.diluent_volume.times(supplies.vials))
        .fact("thrown_ml", forecast.thrown())
        .fact("syringes", supplies.syringes)
        .fact("needles", supplies.needles)
        .maybe(
            "sharps_size",
            container
                .as_ref()
                .map(|(container, _)| container.size.as_str()),
        )
        .maybe("sharps_count", container.map(|(_, count)| count))
        .fact("veterinarian", order.veterinarian.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_percentage_has_no_trailing_zeros() {
        for (points, shown) in [
            (0, "0 %"),
            (80, "0.8 %"),
            (505, "5.05 %"),
            (500, "5 %"),
            (1230, "12.3 %"),
        ] {
            assert_eq!(percent(points), shown);
        }
    }
}
