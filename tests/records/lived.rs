//! A household that did what households do: doses given, one corrected, one
//! not given, one of which nobody said a word; over the night that Denver's
//! clocks go forward (8 March 2026, IANA tz database).

use super::fake::Clinic;
use super::home::{CONFIG, at, chat, juniper};
use std::sync::atomic::{AtomicU32, Ordering};
use vialbell::channel::Inbox;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::change::Change;
use vialbell::domain::household::Household;
use vialbell::engine::Confirmation;
use vialbell::paper::record::{Record, dispensed};
use vialbell::store::Caused;

/// What was said, by whom and when.
pub const SAID: [(&str, &str, &str); 14] = [
    ("2026-03-06T02:31:00Z", OWNER.1, "mixed"),
    ("2026-03-06T02:33:00Z", OWNER.1, "given"),
    // Taken back, and given after all: one record is entered in error.
    ("2026-03-06T14:31:00Z", OWNER.1, "not given"),
    ("2026-03-06T14:40:00Z", OWNER.1, "gave it after all"),
    ("2026-03-06T14:41:00Z", OWNER.1, "yes"),
    ("2026-03-07T02:31:00Z", OTHER.1, "not given"),
    ("2026-03-07T14:31:00Z", OWNER.1, "mixed"),
    // From vial 1 and vial 2.
    ("2026-03-07T14:33:00Z", OTHER.1, "given"),
    // Nobody answers on the evening of the 7th.
    ("2026-03-08T13:35:00Z", OWNER.1, "given at 7:32"),
    ("2026-03-09T01:31:00Z", OWNER.1, "mixed"),
    ("2026-03-09T01:35:00Z", OWNER.1, "given"),
    ("2026-03-09T13:31:00Z", OWNER.1, "given"),
    ("2026-03-09T13:33:00Z", OWNER.1, "she is fine, thank you"),
    (
        "2026-03-09T13:34:00Z",
        OTHER.1,
        "can I give her a biscuit with it?",
    ),
];

pub struct Lived {
    pub clinic: Clinic,
    pub id: i64,
    pub household: Household,
    pub journal: Vec<Caused>,
    pub now: Instant,
}

/// The owner and the other carer: name, chat, and what the platform calls them.
pub const OWNER: (&str, &str, &str) = ("Quilla Marchbanks", "4477001", "Quilly77");
pub const OTHER: (&str, &str, &str) = ("Tavish Marchbanks", "4477002", "Tav-the-Great");

/// Where the clinic calls the owner.
pub const PHONE: &str = "+1 555 0166";

/// The household up to an instant.
pub async fn lived(until: &str) -> Lived {
    let start = at("2026-03-05T20:00:00Z");
    let until = at(until);
    let clinic = Clinic::open(start).await;
    let mut order = juniper(8);
    order.owner = OWNER.0.into();
    order.carers = vec![OTHER.0.into()];
    order.owner_phone = Some(PHONE.into());
    let enrolled = clinic
        .engine
        .enrol(&order, None, "Ines", Confirmation::Counted, start)
        .await;
    let id = enrolled.unwrap().household;
    for (no, (_, address, _)) in (1..).zip([OWNER, OTHER]) {
        clinic
            .engine
            .join(id, no, chat(address), start)
            .await
            .unwrap();
    }
    let mut lived = Lived {
        household: clinic.household(id).await,
        journal: Vec::new(),
        clinic,
        id,
        now: start,
    };
    for (when, who, words) in SAID {
        let when = at(when);
        if when > until {
            break;
        }
        lived.clinic.pass(lived.now, when).await;
        lived.now = when;
        lived.says(who, words).await;
        lived.clinic.step(when).await;
    }
    lived.clinic.pass(lived.now, until).await;
    lived.now = until;
    lived.look().await;
    lived
}

/// After the last dose's window.
pub const AFTER: &str = "2026-03-09T20:00:00Z";

impl Lived {
    /// Words from a chat, with the name that the platform has for the person.
    pub async fn says(&self, address: &str, words: &str) {
        static NUMBER: AtomicU32 = AtomicU32::new(1);
        let number = NUMBER.fetch_add(1, Ordering::Relaxed);
        let sender = match address {
            a if a == OWNER.1 => OWNER.2,
            a if a == OTHER.1 => OTHER.2,
            _ => "Perrin",
        };
        let arrival = Arrival {
            external_id: format!("lived {number}"),
            address: address.into(),
            sender: Some(sender.into()),
            sender_id: None,
            reply_to: None,
            body: Body::Text(words.into()),
        };
        self.clinic
            .engine
            .accept("test", vec![arrival])
            .await
            .unwrap();
    }

    /// Looks again at how things stand.
    pub async fn look(&mut self) {
        self.household = self.clinic.household(self.id).await;
        self.journal = self.clinic.engine.journal(self.id).await.unwrap();
    }

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
