//! More households are due at once than share one commit.

use super::fake::{Clinic, with};
use super::home::at;
use chrono::TimeDelta;

/// Three full batches, of which some are under way beside each other, and a part of one.
const HOMES: usize = 310;

#[tokio::test]
async fn of_more_homes_than_a_batch_holds_each_is_asked_once() {
    let (start, due) = (at("2026-03-06T01:00:00Z"), at("2026-03-06T02:30:00Z"));
    let clinic = Clinic::open(start).await;
    let mut homes = Vec::new();
    for n in 0..HOMES {
        let name = format!("home-{n}");
        homes.push((clinic.enrol(&name, start).await, name));
    }
    clinic.pass(start, due - TimeDelta::seconds(1)).await;
    for (_, name) in &homes {
        clinic.platform.taken(name);
    }
    clinic.step(due).await;
    for (id, name) in homes {
        let said = clinic.platform.taken(&name);
        assert_eq!(with(&said, "dose due"), 1, "{name}");
        let household = clinic.household(id).await;
        assert_eq!(household.courses[&1].touched[&1].asked, 1, "{name}");
    }
}
