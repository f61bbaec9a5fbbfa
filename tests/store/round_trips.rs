//! What is loaded is what was applied, whatever was decided.

use super::behaviour::{Decided, Life, acts_with_orders, settings};
use super::home::{CONFIG, ENTERED, at, chat, order};
use super::with_store;
use proptest::prelude::*;
use vialbell::domain::Instant;
use vialbell::domain::amendment::Alteration;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::decide::enrol;
use vialbell::domain::ending::Ending;
use vialbell::domain::household::{Household, Proposal};
use vialbell::domain::message::{Facts, Kind};
use vialbell::domain::prescription::Length;
use vialbell::domain::quantity::{OrderedDose, Volume};
use vialbell::domain::supply::Supply;
use vialbell::domain::timing::Plan;
use vialbell::domain::zone::Zone;
use vialbell::store::{Caused, Saving, Store, StoreError};

/// Makes a household, and saves the changes in one transaction each.
async fn save_each(
    store: &Store,
    household: &mut Household,
    version: &mut i64,
    steps: &[(Instant, Vec<Change>, Option<Instant>)],
) -> Result<(), StoreError> {
    for (now, changes, wake_at) in steps {
        let caused: Vec<Caused> = changes
            .iter()
            .map(|change| Caused {
                at: *now,
                cause: "test".into(),
                change: change.clone(),
            })
            .collect();
        for change in changes {
            apply(household, change);
        }
        let mut work = store.begin().await?;
        work.save(&[Saving {
            household,
            version: *version,
            changes: &caused,
            wake_at: *wake_at,
        }])
        .await?;
        work.commit().await?;
        *version += 1;
        let mut work = store.begin().await?;
        let loaded = work.load(&[household.id]).await?.remove(0);
        work.commit().await?;
        assert_eq!(loaded.household, *household, "load() must equal apply()");
        assert_eq!(loaded.version, *version);
    }
    Ok(())
}

async fn replayed(store: &Store, household: &Household) -> Result<Household, StoreError> {
    let mut replayed = Household::new(
        household.id,
        &household.clinic,
        &household.owner,
        &household.language,
        household.zone,
    );
    let mut work = store.begin().await?;
    for caused in work.journal(household.id).await? {
        apply(&mut replayed, &caused.change);
    }
    work.commit().await?;
    Ok(replayed)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 500, ..ProptestConfig::default() })]

    #[test]
    fn load_equals_apply_after_every_decision_and_so_does_the_journal(setting in settings(), acts in acts_with_orders(25)) {
        with_store(|store| {
            let (setting, acts) = (setting.clone(), acts.clone());
            async move {
                let orders = setting.orders();
                let mut work = store.begin().await?;
                let id = work
                    .create_household("clinic", &orders[0].owner, &orders[0].language, orders[0].zone)
                    .await?;
                work.commit().await?;
                let mut life = Life::begin(id, &setting);
                let mut household = Household::new(id, "clinic", &orders[0].owner, &orders[0].language, orders[0].zone);
                let mut steps = Vec::new();
                let mut enrolled = household.clone();
                for order in &orders {
                    let worked = order.work_out(&life.policy, life.now).unwrap();
                    let changes = enrol(&enrolled, order, &worked, &life.policy, ENTERED, life.now);
                    for change in &changes {
                        apply(&mut enrolled, change);
                    }
                    steps.push((life.now, changes, None));
                }
                let mut keep = |decided: &Decided| {
                    steps.push((decided.now, decided.decision.changes.clone(), decided.decision.wake_at));
                };
                life.join(&mut keep);
                for act in &acts {
                    life.act(act, &mut keep);
                }
                let mut version = 0;
                save_each(&store, &mut household, &mut version, &steps).await?;
                assert_eq!(household, life.household);
                assert_eq!(replayed(&store, &household).await?, household, "the journal tells all");
                Ok(())
            }
        });
    }
}

/// Each change of the closed list once, with every field that may be empty both ways.
fn one_of_each(now: Instant) -> Vec<Change> {
    let zone = Zone::named("America/Denver").unwrap();
    let local = "2026-03-05T19:30:00".parse().unwrap();
    let planned_at = at("2026-03-06T02:30:00Z");
    let ml = |text| Volume::parse(text).unwrap();
    let order = order(
        "Juniper",
        "tarnmoss",
        "1.5 mL",
        "2026-03-05T19:30:00",
        &["07:30:00", "19:30:00"],
        "America/Denver",
        8,
    );
    let worked = order.work_out(&CONFIG.policy, now).unwrap();
    let empty = Household::new(1, "clinic", "Maren", "en", zone);
    let mut changes = enrol(&empty, &order, &worked, &CONFIG.policy, ENTERED, now);
    changes.extend([
        Change::CarerJoined {
            carer: 1,
            chat: chat("1"),
        },
        Change::CarerMoved {
            carer: 1,
            address: "one".into(),
        },
        Change::CarerReachable {
            carer: 1,
            reachable: false,
        },
        Change::CarerSaid {
            carer: 1,
            text: "It’s “given” — \u{1F415}\nsecond line \\ \" ' 0\u{301}".into(),
        },
        Change::DoseAsked {
            course: 1,
            dose: 1,
            local,
            zone,
            planned_at,
            at: now,
        },
        Change::DoseAsked {
            course: 1,
            dose: 1,
            local,
            zone,
            planned_at,
            at: now,
        },
        Change::DoseClosed {
            course: 1,
            dose: 2,
            local,
            zone,
            planned_at,
            at: now,
        },
        Change::VialMixed {
            course: 1,
            vial: 1,
            mixed_at: now,
            recorded_at: now,
            by: "Maren".into(),
            available: ml("3.6"),
            discard_by: now + chrono::TimeDelta::hours(168),
        },
        Change::Administered {
            administration: 1,
            course: 1,
            dose: 1,
            local,
            zone,
            planned_at,
            given: true,
            at: now,
            recorded_at: now,
            by: "Maren".into(),
            carer: 1,
            volume: ml("1.5"),
            draws: vec![
                (None, ml("1"), Volume::ZERO),
                (Some(1), ml("0.5"), ml("0.05")),
            ],
        },
        Change::Administered {
            administration: 2,
            course: 1,
            dose: 3,
            local,
            zone,
            planned_at,
            given: false,
            at: now,
            recorded_at: now,
            by: "Teo".into(),
            carer: 2,
            volume: Volume::ZERO,
            draws: vec![],
        },
        Change::DrawsPlaced {
            administration: 1,
            draws: vec![
                (Some(1), ml("1"), ml("0.05")),
                (Some(1), ml("0.5"), ml("0.05")),
            ],
        },
        // One withdrawal where two were thought of.
        Change::DrawsPlaced {
            administration: 1,
            draws: vec![(Some(1), ml("1.5"), ml("0.05"))],
        },
        Change::AdministrationSuperseded {
            administration: 1,
            at: now,
        },
        Change::LevelSeen {
            course: 1,
            vial: 1,
            volume: ml("1.25"),
            at: now,
        },
        Change::ZoneChanged {
            zone: Zone::named("Europe/Madrid").unwrap(),
            at: now,
        },
        Change::CarerRemoved { carer: 1 },
        Change::SupplyTold {
            course: 1,
            at: Some(now),
        },
        Change::VialOut {
            course: 1,
            vial: 1,
            since: Some(now),
        },
        Change::VialOut {
            course: 1,
            vial: 1,
            since: None,
        },
        Change::VialWarned {
            course: 1,
            vial: 1,
            minutes: 120,
        },
        Change::VialDiscarded {
            course: 1,
            vial: 1,
            at: now,
            by: "Teo".into(),
        },
        Change::QuestionAsked {
            question: 1,
            carer: 2,
            options: proposals(now),
            expires_at: now,
        },
        Change::QuestionSettled { question: 1 },
        Change::AlertRaised {
            alert: 1,
            kind: Kind::ClinicMissedDose,
            dose: Some((1, 2)),
            carer: None,
            text: None,
            patient: Some("Juniper".into()),
            facts: Facts::from([("late_minutes".into(), 95_u32.into())]),
            at: now,
        },
        Change::AlertRaised {
            alert: 2,
            kind: Kind::ClinicQuestion,
            dose: None,
            carer: Some(1),
            text: Some("?".into()),
            patient: None,
            facts: Facts::new(),
            at: now,
        },
        Change::AlertClimbed { alert: 1, at: now },
        Change::AlertSeen {
            alert: 1,
            at: now,
            by: "Sam".into(),
        },
        Change::AlertAnswered {
            alert: 2,
            at: now,
            by: "Sam".into(),
            words: "At three.".into(),
        },
        Change::AlertEnded {
            alert: 1,
            how: Ending::GivenLateOnOrder,
            at: now,
            by: "Sam".into(),
        },
        Change::CarerPhone {
            carer: 1,
            phone: Some("555 0133".into()),
        },
        Change::PersonErased {
            at: now,
            by: "Ines".into(),
        },
        Change::SupplyTold {
            course: 1,
            at: Some(now),
        },
        Change::SupplyTold {
            course: 1,
            at: None,
        },
        Change::CourseEnded { course: 1, at: now },
        Change::CourseResumed { course: 1 },
    ]);
    changes.extend(amendments(now));
    changes
}

/// Each change of an order, and what it does to a course on which dose 1 has a
/// record, dose 3 was asked for and dose 4 was not.
fn amendments(now: Instant) -> Vec<Change> {
    let denver = Zone::named("America/Denver").unwrap();
    let times = vec!["08:00:00".parse().unwrap(), "20:00:00".parse().unwrap()];
    let plan = |from, first: &str| Plan {
        from,
        first: first.parse().unwrap(),
        times: times.clone(),
        volume: Volume::parse("1.2").unwrap(),
    };
    let wishes = [
        Alteration::Dose(OrderedDose::parse("14 mg/kg").unwrap()),
        Alteration::Times(times.clone()),
        Alteration::Zone(denver),
        Alteration::Length(Length::Days(3)),
        Alteration::Length(Length::Doses(5)),
        Alteration::Until("2026-03-09".parse().unwrap()),
        Alteration::CarerAdded("Sam".into()),
        Alteration::CarerRemoved("Sam".into()),
        Alteration::Pause,
        Alteration::Resume,
        Alteration::End,
    ];
    let entered = (1..)
        .zip(wishes)
        .map(|(amendment, what)| Change::AmendmentEntered {
            amendment,
            course: 1,
            what,
            by: "Ines".into(),
            at: now,
        });
    let mut changes: Vec<Change> = entered.collect();
    let amended = |plan| Change::OrderAmended {
        course: 1,
        plan,
        doses: 9,
        syringe: Volume::parse("3").unwrap(),
        ordered: "1.2 mL".into(),
        by: "Ines".into(),
        confirmed_by: Some("Noor".into()),
        at: now,
    };
    changes.extend([
        Change::AmendmentAffirmed { amendment: 1 },
        Change::AmendmentSettled {
            amendment: 1,
            taken: true,
            by: "Noor".into(),
            at: now,
        },
        Change::AmendmentSettled {
            amendment: 2,
            taken: false,
            by: "Noor".into(),
            at: now,
        },
        amended(Some(plan(4, "2026-03-08T08:00:00"))),
        amended(None),
        Change::DoseAsked {
            course: 1,
            dose: 3,
            local: "2026-03-06T19:30:00".parse().unwrap(),
            zone: denver,
            planned_at: now,
            at: now,
        },
        Change::CoursePaused {
            course: 1,
            released: vec![1, 3],
            by: "Ines".into(),
            at: now,
        },
        // Takes the place of the plan from dose 4 on.
        Change::PauseEnded {
            course: 1,
            plan: plan(3, "2026-03-09T08:00:00"),
            moved: vec![(1, "2026-03-09T08:00:00".parse().unwrap(), denver, now)],
            by: "Ines".into(),
            at: now,
        },
        Change::CourseStopped {
            course: 1,
            by: "Ines".into(),
            at: now,
        },
    ]);
    changes
}

fn proposals(now: Instant) -> Vec<Proposal> {
    let volume = Volume::parse("0.000001").unwrap();
    vec![
        Proposal::Given {
            course: 1,
            dose: 1,
            at: now,
            by: "Maren".into(),
            volume,
        },
        Proposal::NotGiven { course: 1, dose: 1 },
        Proposal::Mixed {
            course: 1,
            vial: 1,
            at: now,
            by: "Maren".into(),
        },
        Proposal::Discarded {
            course: 1,
            vial: 1,
            at: now,
        },
        Proposal::Level {
            course: 1,
            vial: 1,
            volume,
        },
        Proposal::OutOfFridge {
            course: 1,
            vial: 1,
            at: now,
        },
        Proposal::BackInFridge {
            course: 1,
            vial: 1,
            at: now,
            minutes: Some(3),
        },
        Proposal::TakeBack { administration: 1 },
        Proposal::Supplies {
            course: 1,
            counts: vec![(Supply::Needles, 20)],
        },
        Proposal::Zone {
            zone: Zone::named("Europe/Madrid").unwrap(),
        },
        Proposal::About {
            patient: 1,
            text: "given".into(),
        },
    ]
}

/// The name by which a change is written in the journal.
fn name(change: &Change) -> String {
    let written = serde_json::to_value(change).unwrap();
    written["change"].as_str().unwrap().to_owned()
}

/// Every name of the closed list, taken from the list itself.
fn names_in_the_list() -> Vec<String> {
    let source = include_str!("../../src/domain/change.rs");
    let (_, list) = source.split_once("pub enum Change {").unwrap();
    let (list, _) = list.split_once("\n}\n").unwrap();
    list.lines()
        .filter_map(|line| line.strip_prefix("    ")?.split_once(" {"))
        .map(|(variant, _)| variant)
        .filter(|variant| variant.starts_with(|c: char| c.is_ascii_uppercase()))
        .map(|variant| {
            let mut kebab = String::new();
            for c in variant.chars() {
                if c.is_ascii_uppercase() && !kebab.is_empty() {
                    kebab.push('-');
                }
                kebab.push(c.to_ascii_lowercase());
            }
            kebab
        })
        .collect()
}

#[test]
fn each_change_of_the_list_is_kept_as_it_was() {
    let now = at("2026-03-06T02:31:00.123Z");
    let changes = one_of_each(now);
    let mut expected = names_in_the_list();
    let mut covered: Vec<String> = changes.iter().map(name).collect();
    expected.sort();
    covered.sort();
    covered.dedup();
    assert!(expected.len() >= 23, "{expected:?}");
    assert_eq!(covered, expected, "every change of the list is tried");
    with_store(|store| async move {
        let zone = Zone::named("America/Denver").unwrap();
        let mut work = store.begin().await?;
        let id = work.create_household("clinic", "Maren", "en", zone).await?;
        work.commit().await?;
        let mut household = Household::new(id, "clinic", "Maren", "en", zone);
        let steps: Vec<_> = one_of_each(now)
            .into_iter()
            .map(|change| (now, vec![change], Some(now)))
            .collect();
        let mut version = 0;
        save_each(&store, &mut household, &mut version, &steps).await?;
        assert_eq!(replayed(&store, &household).await?, household);
        Ok(())
    });
}
