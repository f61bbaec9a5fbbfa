//! What every message and every look costs: `cargo bench --bench sums`.
//!
//! Goals, medians, our own: a message read and decided 20 µs, a course of 30
//! days walked ahead 50 µs.

#[path = "../tests/found/held.rs"]
#[allow(
    dead_code,
    reason = "the homes of the fuzz targets, not their assertions"
)]
mod held;
#[path = "../tests/support/home.rs"]
mod home;

use divan::{Bencher, black_box};
use vialbell::domain::arrival::Body;
use vialbell::domain::decide::{Input, decide_on, next_look};
use vialbell::domain::forecast::forecast_order;

fn main() {
    divan::main();
}

/// What owners write most, in either language; a reply with a red flag too.
const MESSAGES: [(usize, &str); 10] = [
    (0, "gave it"),
    (0, "Gave Juniper her shot at 7:32 pm"),
    (0, "how much is left in the vial?"),
    (0, "mixed a new vial just now"),
    (0, "gave it at 7:40 but she seems a bit off, is that ok"),
    (1, "ya se la puse"),
    (1, "le puse 1,5 ml a las 19:35"),
    (1, "cuántas dosis quedan en el frasco"),
    (1, "todavía no se la he puesto"),
    (1, "se desplomó después de la inyección"),
];

#[divan::bench(args = MESSAGES)]
fn a_message_read_and_decided(bencher: Bencher, (home, text): (usize, &str)) {
    let household = held::home_number(home);
    let (policy, now) = (&home::CONFIG.policy, home::at(held::NOW));
    let body = Body::Text(text.to_owned());
    let input = Input::Carer { carer: 1, body };
    // As the program does, on a household that nobody needs any more as it was.
    let decided = |household| decide_on(household, black_box(&input), now, policy);
    decided(household.clone());
    bencher
        .with_inputs(|| household.clone())
        .bench_local_values(decided);
}

#[divan::bench]
fn a_course_of_30_days_walked_ahead(bencher: Bencher) {
    let policy = &home::CONFIG.policy;
    let order = home::juniper(60);
    let worked = order
        .work_out(policy, home::at("2026-03-01T12:00:00Z"))
        .expect("an order the rules allow");
    bencher.bench_local(|| {
        forecast_order(
            black_box(&worked.plan),
            worked.doses,
            &order.product,
            order.zone,
            &policy.vial,
        )
    });
}

#[divan::bench]
fn the_next_look_at_a_household(bencher: Bencher) {
    let household = held::home_number(0);
    bencher.bench_local(|| next_look(black_box(household), &home::CONFIG.policy));
}

#[divan::bench]
fn the_next_planned_dose(bencher: Bencher) {
    let household = held::home_number(0);
    let course = &household.courses[&1];
    bencher.bench_local(|| course.planned(black_box(17), household.zone));
}
