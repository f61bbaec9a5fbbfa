//! A household that did what households do: doses given, one corrected, one
//! not given, one of which nobody said a word; over the night that Denver's
//! clocks go forward (8 March 2026, IANA tz database).

use super::fake::Clinic;
use super::home::{CONFIG, at};
use vialbell::domain::Instant;
use vialbell::domain::change::Change;
use vialbell::domain::household::Household;
use vialbell::paper::record::{Record, dispensed};
use vialbell::store::Caused;

/// What was said, by whom and when.
const SAID: [(&str, &str, &str); 14] = [
    ("2026-03-06T02:31:00Z", "maren", "mixed"),
    ("2026-03-06T02:33:00Z", "maren", "given"),
    // Taken back, and given after all: one record is entered in error.
    ("2026-03-06T14:31:00Z", "maren", "not given"),
    ("2026-03-06T14:40:00Z", "maren", "gave it after all"),
    ("2026-03-06T14:41:00Z", "maren", "yes"),
    ("2026-03-07T02:31:00Z", "maren-other", "not given"),
    ("2026-03-07T14:31:00Z", "maren", "mixed"),
    // From vial 1 and vial 2.
    ("2026-03-07T14:33:00Z", "maren-other", "given"),
    // Nobody answers on the evening of the 7th.
    ("2026-03-08T13:35:00Z", "maren", "given at 7:32"),
    ("2026-03-09T01:31:00Z", "maren", "mixed"),
    ("2026-03-09T01:35:00Z", "maren", "given"),
    ("2026-03-09T13:31:00Z", "maren", "given"),
    ("2026-03-09T13:33:00Z", "maren", "she is fine, thank you"),
    (
        "2026-03-09T13:34:00Z",
        "maren-other",
        "can I give her a biscuit with it?",
    ),
];

#[allow(dead_code, reason = "each test takes what it needs")]
pub struct Lived {
    pub clinic: Clinic,
    pub id: i64,
    pub household: Household,
    pub journal: Vec<Caused>,
    pub now: Instant,
}

/// The household up to an instant.
pub async fn lived(until: &str) -> Lived {
    let start = at("2026-03-05T20:00:00Z");
    let until = at(until);
    let mut clinic = Clinic::open(start).await;
    let id = clinic.enrol("maren", start).await;
    let mut now = start;
    for (when, who, words) in SAID {
        let when = at(when);
        if when > until {
            break;
        }
        clinic.pass(now, when).await;
        now = when;
        clinic.says(who, words).await;
        clinic.step(now).await;
    }
    clinic.pass(now, until).await;
    let household = clinic.household(id).await;
    let journal = clinic.engine.journal(id).await.unwrap();
    Lived {
        clinic,
        id,
        household,
        journal,
        now: until,
    }
}

/// After the last dose's window.
pub const AFTER: &str = "2026-03-09T20:00:00Z";

impl Lived {
    /// Makes something from the record of its course.
    pub fn recorded<T>(&self, make: impl Fn(&Record<'_>) -> T) -> T {
        let changes: Vec<&Change> = self.journal.iter().map(|caused| &caused.change).collect();
        let dispensed = dispensed(&self.household, changes);
        make(&Record {
            clinic: &CONFIG.policy.clinic,
            household: &self.household,
            course: &self.household.courses[&1],
            dispensed: &dispensed,
            now: self.now,
        })
    }
}

pub fn on_runtime<T>(work: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_current_thread();
    { runtime }.enable_all().build().unwrap().block_on(work)
}
