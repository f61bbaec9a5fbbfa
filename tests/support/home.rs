//! An invented household: the demonstration's clinic and products, any zone.

#![allow(dead_code, reason = "each test takes what it needs")]

use std::sync::LazyLock;
use vialbell::config::Config;
use vialbell::domain::Instant;
use vialbell::domain::change::apply;
use vialbell::domain::decide::{Entered, enrol};
use vialbell::domain::household::{Chat, Household};
use vialbell::domain::policy::Policy;
use vialbell::domain::prescription::{Length, Order};
use vialbell::domain::quantity::{OrderedDose, Weight};
use vialbell::domain::zone::Zone;

/// The demonstration's clinic.
pub static CONFIG: LazyLock<Config> = LazyLock::new(Config::built_in);

/// The owner, who is carer 1.
pub const OWNER: &str = "Maren";
/// The other carer, 2.
pub const OTHER: &str = "Teo";

/// An instant as RFC 3339 has it.
pub fn at(text: &str) -> Instant {
    text.parse().unwrap()
}

/// A chat on the channel of these tests.
pub fn chat(address: &str) -> Chat {
    Chat {
        channel: "test".into(),
        address: address.into(),
    }
}

/// An order of the demonstration's clinic.
pub fn order(
    patient: &str,
    product: &str,
    dose: &str,
    first: &str,
    times: &[&str],
    zone: &str,
    doses: u32,
) -> Order {
    Order {
        patient: patient.into(),
        species: "dog".into(),
        weight: Weight::parse_kg("30").unwrap(),
        weight_written: "30 kg".into(),
        owner: OWNER.into(),
        language: "en".into(),
        zone: Zone::named(zone).unwrap(),
        carers: vec![OTHER.into()],
        owner_phone: None,
        product: CONFIG.formulary[product].clone(),
        dose: OrderedDose::parse(dose).unwrap(),
        times: times.iter().map(|time| time.parse().unwrap()).collect(),
        first: first.parse().unwrap(),
        length: Length::Doses(doses),
        vials_dispensed: None,
        veterinarian: "Dr. Fennimore".into(),
    }
}

/// Juniper's course: 1.5 mL twice a day in Denver, from a spring evening on.
pub fn juniper(doses: u32) -> Order {
    order(
        "Juniper",
        "tarnmoss",
        "1.5 mL",
        "2026-03-05T19:30:00",
        &["07:30:00", "19:30:00"],
        "America/Denver",
        doses,
    )
}

/// Orders that were entered and confirmed by two people.
pub const ENTERED: Entered<'static> = Entered {
    by: "Ines",
    confirmed_by: Some("Noor"),
};

/// The household with these orders, enrolled and not yet joined.
pub fn enrolled(id: i64, orders: &[Order], policy: &Policy, now: Instant) -> Household {
    let first = &orders[0];
    let mut household = Household::new(
        id,
        &policy.clinic.key,
        &first.owner,
        &first.language,
        first.zone,
    );
    for order in orders {
        let worked = order.work_out(policy, now).unwrap();
        for change in enrol(&household, order, &worked, policy, ENTERED, now) {
            apply(&mut household, &change);
        }
    }
    household
}
