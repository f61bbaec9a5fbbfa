//! Two clinics in one database: whatever one says, taps, replies or asks for,
//! nothing of the other is seen and nothing of it is changed.

use super::fake::{Platform, postgres, texts};
use super::home::{CONFIG, at, chat, juniper};
use std::collections::BTreeSet;
use std::sync::Arc;
use vialbell::channel::{Channel, Inbox, Outgoing};
use vialbell::clock::ManualClock;
use vialbell::domain::Instant;
use vialbell::domain::amendment::Alteration;
use vialbell::domain::arrival::{Arrival, Body};
use vialbell::domain::ending::Ending;
use vialbell::domain::household::Household;
use vialbell::domain::member::Member;
use vialbell::domain::message::{Answered, Tap, Verdict};
use vialbell::domain::prescription::Order;
use vialbell::domain::staff::Role;
use vialbell::engine::{Confirmation, Confirmed, Engine};
use vialbell::store::{AuditSpan, Caused, Store, UnderWay};
use vialbell::wording::Wording;

/// Both clinics write in a chat of this number, as two bots may be in one group.
const GROUP: &str = "-100";
/// The owner has one number with both bots.
const OWNER: &str = "maren";
/// Nothing of ours holds this name or these words, and nobody types them to us.
const THEIRS: &str = "Ottoline";
const WORDS: &str = "odd today";
/// On their staff list, and typed to us only where we ask for her by name.
const COLLEAGUE: &str = "Wilhelmina";

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

    async fn records(&self) -> Records {
        let household = self
            .engine
            .household(self.household)
            .await
            .unwrap()
            .unwrap();
        let mut work = self.engine.store().begin().await.unwrap();
        let key = &self.engine.policy().clinic.key;
        let enrolment = work
            .enrolment(key, &chat(GROUP), "somebody", Instant::UNIX_EPOCH)
            .await;
        work.commit().await.unwrap();
        Records {
            household,
            journal: self.engine.journal(self.household).await.unwrap(),
            staff: self.engine.staff().await.unwrap(),
            enrolment: enrolment.unwrap(),
        }
    }
}

/// All that a clinic has on record.
#[derive(Debug, PartialEq)]
struct Records {
    household: Household,
    journal: Vec<Caused>,
    staff: Vec<Member>,
    enrolment: Option<UnderWay>,
}

/// What one clinic has that another may try to reach.
struct Theirs {
    household: i64,
    enrolment: i64,
}

/// Every tap there is, on everything that a clinic has.
fn taps(of: &Theirs) -> Vec<Tap> {
    let &Theirs {
        household,
        enrolment,
    } = of;
    let mut taps: Vec<Tap> = (1..3).map(|page| Tap::Board { page }).collect();
    for no in 1..4 {
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
            Tap::Step {
                course: no,
                topic: 0,
                step: 0,
            },
            Tap::Confirm {
                household,
                course: no,
            },
            Tap::Seen {
                household,
                alert: no,
            },
            Tap::Patient {
                household,
                course: no,
            },
        ]);
        let endings = 0..u32::try_from(Ending::ALL.len()).unwrap();
        taps.extend(endings.map(|how| Tap::Ended {
            household,
            alert: no,
            how,
        }));
        let verdicts = [Verdict::Show, Verdict::Confirm, Verdict::Drop];
        taps.extend(verdicts.map(|verdict| Tap::Amend {
            household,
            amendment: no,
            verdict,
        }));
        let answers = [Answered::Option(0), Answered::Back, Answered::Cancel];
        taps.extend(answers.map(|answered| Tap::Enrol {
            enrolment,
            question: no,
            answered,
        }));
    }
    let kinds: BTreeSet<usize> = taps.iter().map(kind).collect();
    assert_eq!(kinds, (0..KINDS_OF_TAPS).collect(), "every tap is tried");
    taps
}

const KINDS_OF_TAPS: usize = 15;

/// A new tap does not compile before it has a number here, and then it has to be tried.
fn kind(tap: &Tap) -> usize {
    match tap {
        Tap::Given { .. } => 0,
        Tap::NotGiven { .. } => 1,
        Tap::Mixed { .. } => 2,
        Tap::Discarded { .. } => 3,
        Tap::Choose { .. } => 4,
        Tap::Neither { .. } => 5,
        Tap::TakeBack { .. } => 6,
        Tap::Step { .. } => 7,
        Tap::Confirm { .. } => 8,
        Tap::Amend { .. } => 9,
        Tap::Enrol { .. } => 10,
        Tap::Seen { .. } => 11,
        Tap::Ended { .. } => 12,
        Tap::Patient { .. } => 13,
        Tap::Board { .. } => 14,
    }
}

/// Every command of a clinic's chat, about the other's patient.
const COMMANDS: [&str; 21] = [
    "board",
    "/board",
    "questions",
    "patient Pebble",
    "on call",
    "on call Wilhelmina",
    "sheet Pebble",
    "picture Pebble",
    "calendar Pebble",
    "change Pebble dose 1 mL",
    "change Pebble times 09:00, 21:00",
    "change Pebble zone Europe/Madrid",
    "change Pebble doses 9",
    "change Pebble until 2026-03-09",
    "carer Pebble add Mallory",
    "carer Pebble remove Ottoline",
    "pause Pebble",
    "resume Pebble",
    "end Pebble",
    "Pebble",
    "we will call her at six",
];

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
    // A change of theirs waits for its yes, and an enrolment for its next answer.
    for words in ["pause Pebble", "enrol"] {
        theirs.arrive(GROUP, None, Body::Text(words.into())).await;
        theirs.settle(start).await;
    }
    let chat_code = theirs.engine.code_for_the_chat(start).await.unwrap();
    let role = Role::Veterinarian;
    let staff_code = theirs.engine.add_staff(COLLEAGUE, role, start).await;
    let before = theirs.records().await;
    assert_eq!(before.household.alerts.len(), 1);
    assert_eq!(before.household.amendments.len(), 1);
    let enrolment = before.enrolment.clone().unwrap().id;

    let mut tried = Vec::new();
    for code in [theirs.code.clone(), chat_code, staff_code.unwrap()] {
        for address in ["nobody", OWNER, GROUP] {
            tried.push((address, None, Body::Join(code.clone())));
        }
    }
    for words in COMMANDS {
        tried.push((GROUP, None, Body::Text(words.into())));
        // The platform counts messages for each bot: numbers are the same in both.
        for number in 0..8 {
            let number = number.to_string();
            tried.push((GROUP, Some(number), Body::Text(words.into())));
        }
    }
    let reached = Theirs {
        household: theirs.household,
        enrolment,
    };
    for tap in taps(&reached) {
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
    for what in [Alteration::Pause, Alteration::End] {
        let preview = engine.preview_change(id, 1, &what, "us", start).await;
        preview.unwrap_err();
        let changed = engine.change_order(id, 1, &what, "us", start).await;
        changed.unwrap_err();
    }
    engine.confirm_change(id, 1, "us", start).await.unwrap_err();
    engine.erase(id, "us", start).await.unwrap_err();
    engine.remove_staff(COLLEAGUE, start).await.unwrap_err();
    engine.put_on_call(Some(COLLEAGUE)).await.unwrap_err();
    assert_eq!(engine.household(id).await.unwrap(), None);
    assert!(!engine.household_numbers().await.unwrap().contains(&id));
    for household in [None, Some(id)] {
        let span = AuditSpan {
            household,
            from: None,
            until: None,
        };
        let audited = engine.audit(&span, 0).await.unwrap();
        assert!(audited.iter().all(|entry| entry.household != id));
        assert_eq!(audited.is_empty(), household.is_some());
    }
    heard.extend(ours.settle(start + chrono::TimeDelta::hours(20)).await);

    for one in &heard {
        // What we typed ourselves may come back: that we know nobody of that name.
        if one.text == format!("Not on the clinic's staff list:\n{COLLEAGUE}") {
            continue;
        }
        for secret in [THEIRS, WORDS, COLLEAGUE] {
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
