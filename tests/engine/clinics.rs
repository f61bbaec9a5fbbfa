//! Two clinics in one database: whatever one says, taps, replies or asks for,
//! nothing of the other is seen and nothing of it is changed.

use super::fake::{Platform, postgres, texts};
use super::home::{CONFIG, at, chat, juniper};
use std::sync::Arc;
use vialbell::channel::{Channel, Inbox, Outgoing};
use vialbell::clock::ManualClock;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::household::Household;
use vialbell::domain::message::Tap;
use vialbell::domain::prescription::Order;
use vialbell::engine::{Confirmation, Confirmed, Engine};
use vialbell::store::{Caused, Store};
use vialbell::wording::Wording;

/// Both clinics write in a chat of this number, as two bots may be in one group.
const GROUP: &str = "-100";
/// The owner has one number with both bots.
const OWNER: &str = "maren";
/// Nothing of ours holds this name or these words, and nobody types them to us.
const THEIRS: &str = "Ottoline";
const WORDS: &str = "odd today";

struct Side {
    engine: Engine,
    platform: Arc<Platform>,
    clock: Arc<ManualClock>,
    household: i64,
    code: String,
    arrivals: u32,
}

impl Side {
    async fn open(store: &Store, key: &str, patient: &str, owner: &str, now: Instant) -> Side {
        let mut policy = CONFIG.policy.clone();
        policy.clinic.key = key.into();
        let platform = Arc::<Platform>::default();
        let clock = Arc::new(ManualClock::at(now));
        let channels: Vec<Arc<dyn Channel>> = vec![platform.clone()];
        let engine = Engine::new(
            store.clone(),
            Wording::load().unwrap(),
            policy,
            CONFIG.formulary.clone(),
            channels,
            clock.clone(),
        );
        engine.bind_clinic_chat(&chat(GROUP)).await.unwrap();
        let order = Order {
            patient: patient.into(),
            owner: owner.into(),
            ..juniper(8)
        };
        let enrolled = engine
            .enrol(&order, None, "Ines", Confirmation::Counted, now)
            .await
            .unwrap();
        engine
            .join(enrolled.household, 1, chat(OWNER), now)
            .await
            .unwrap();
        let mut side = Side {
            engine,
            platform,
            clock,
            household: enrolled.household,
            code: enrolled.invitations[1].1.clone(),
            arrivals: 0,
        };
        side.settle(now).await;
        side
    }

    async fn settle(&mut self, now: Instant) -> Vec<Outgoing> {
        self.clock.set(now);
        self.engine.step(now).await.unwrap();
        let mut taken = self.platform.taken(OWNER);
        taken.extend(self.platform.taken(GROUP));
        taken.extend(self.platform.taken("nobody"));
        taken
    }

    async fn arrive(&mut self, address: &str, reply_to: Option<&str>, body: Body) {
        self.arrivals += 1;
        let arrival = Arrival {
            // Two bots number their updates from anywhere: the same numbers come twice.
            external_id: self.arrivals.to_string(),
            address: address.into(),
            sender: Some("somebody".into()),
            sender_id: Some("9".into()),
            reply_to: reply_to.map(str::to_owned),
            body,
        };
        self.engine.accept("test", vec![arrival]).await.unwrap();
    }

    async fn records(&self) -> (Household, Vec<Caused>) {
        let household = self
            .engine
            .household(self.household)
            .await
            .unwrap()
            .unwrap();
        let journal = self.engine.journal(self.household).await.unwrap();
        (household, journal)
    }
}

/// Every tap that names something of a household.
fn taps(household: i64) -> Vec<Tap> {
    let mut taps = vec![
        Tap::Confirm {
            household,
            course: 1,
        },
        Tap::Seen {
            household,
            alert: 1,
        },
        Tap::Seen {
            household,
            alert: 2,
        },
    ];
    for no in 1..3 {
        taps.extend([
            Tap::Given {
                course: no,
                dose: 1,
            },
            Tap::NotGiven {
                course: no,
                dose: 1,
            },
            Tap::Mixed {
                course: no,
                vial: 1,
            },
            Tap::Discarded {
                course: no,
                vial: 1,
            },
            Tap::Choose {
                question: no,
                option: 0,
            },
            Tap::Neither { question: no },
            Tap::TakeBack { administration: no },
        ]);
    }
    taps
}

#[tokio::test]
async fn nothing_of_another_clinic_is_seen_or_changed_whatever_is_tried() {
    let start = at("2026-03-06T02:30:00Z");
    let store = match postgres::fresh().await {
        Some(url) => Store::open(&url).await.unwrap(),
        None => Store::throw_away().await.unwrap(),
    };
    let mut ours = Side::open(&store, "larch", "Juniper", "Rowena", start).await;
    let mut theirs = Side::open(&store, "heron", "Pebble", THEIRS, start).await;
    // Something of theirs waits for an answer, so that a reply could find it.
    theirs
        .arrive(OWNER, None, Body::Text(format!("she looks {WORDS}")))
        .await;
    let told = theirs.settle(start).await;
    assert!(texts(&told).iter().any(|text| text.contains(WORDS)));
    let before = theirs.records().await;
    assert_eq!(before.0.alerts.len(), 1);

    let theirs_code = theirs.code.clone();
    let mut tried = vec![
        ("nobody", None, Body::Join(theirs_code.clone())),
        (OWNER, None, Body::Join(theirs_code)),
    ];
    for words in [
        "board",
        "/board",
        "questions",
        "sheet Pebble",
        "picture Pebble",
        "calendar Pebble",
        "Pebble",
        "we will call her at six",
    ] {
        tried.push((GROUP, None, Body::Text(words.into())));
        // The platform counts messages for each bot: numbers are the same in both.
        for number in 0..8 {
            let number = number.to_string();
            tried.push((GROUP, Some(number), Body::Text(words.into())));
        }
    }
    for tap in taps(theirs.household) {
        tried.push((GROUP, None, Body::Tap(tap.encode())));
        tried.push((OWNER, None, Body::Tap(tap.encode())));
    }
    for words in [
        "Pebble got her dose",
        "mixed for Pebble",
        "how much is left for Pebble?",
        "given",
    ] {
        tried.push((OWNER, None, Body::Text(words.into())));
    }
    for body in [Body::Gone, Body::Back] {
        tried.push((OWNER, None, body));
    }
    let moved = Body::Moved {
        to: "maren-2".into(),
    };
    tried.push((OWNER, None, moved));
    let mut heard = Vec::new();
    for (address, reply_to, body) in tried {
        ours.arrive(address, reply_to.as_deref(), body).await;
        heard.extend(ours.settle(start).await);
    }
    // What somebody at our terminal may ask for.
    let id = theirs.household;
    let engine = &ours.engine;
    assert_eq!(engine.household(id).await.unwrap(), None);
    assert_eq!(engine.journal(id).await.unwrap(), []);
    engine
        .add_carer(id, "Mallory", "us", start)
        .await
        .unwrap_err();
    engine
        .remove_carer(id, THEIRS, "us", start)
        .await
        .unwrap_err();
    let order = juniper(2);
    let more = engine.enrol(&order, Some(id), "us", Confirmation::Counted, start);
    more.await.unwrap_err();
    let confirmed = engine.confirm(id, 1, "us", start).await.unwrap();
    assert_eq!(confirmed, Confirmed::NoSuchCourse);
    heard.extend(ours.settle(start + chrono::TimeDelta::hours(20)).await);

    for one in &heard {
        for secret in [THEIRS, WORDS] {
            assert!(!one.text.contains(secret), "{}", one.text);
        }
    }
    assert!(
        heard.iter().any(|one| one.text.contains("Juniper")),
        "our own are seen"
    );
    assert_eq!(theirs.records().await, before, "nothing of theirs changed");
    assert_eq!(theirs.settle(start).await, [], "and nothing is said for it");

    // Their owner, whose chat with us moved, is where they left her.
    theirs
        .arrive(OWNER, None, Body::Text("when is the next dose?".into()))
        .await;
    let answered = theirs.settle(start).await;
    assert_eq!(answered.len(), 1, "{:?}", texts(&answered));
    assert!(answered[0].text.contains("Pebble"));
}
