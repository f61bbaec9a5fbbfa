//! What holds whatever owners do, in whatever order, at whatever distance.
//! Each rule is one of the project's own design; none is a fact of the trade.

#[path = "../support/behaviour.rs"]
mod behaviour;
#[path = "../support/home.rs"]
mod home;

mod contract;
mod forecast;
mod found;
mod orders;
mod rules;

use behaviour::{Life, acts, settings};
use chrono::TimeDelta;
use proptest::prelude::*;
use vialbell::domain::change::apply;
use vialbell::domain::decide::{Input, decide};

/// Few enough for a debug build: reading a text takes milliseconds there.
fn config(cases: u32) -> ProptestConfig {
    ProptestConfig {
        cases,
        max_shrink_iters: 3_000,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(config(40))]

    #[test]
    fn the_books_hold_whatever_owners_do(setting in settings(), acts in acts(50)) {
        let mut life = Life::begin(1, &setting);
        life.join(&mut |decided| rules::hold(decided));
        for act in &acts {
            life.act(act, &mut |decided| rules::hold(decided));
        }
    }

    #[test]
    fn every_dose_ends_as_given_not_given_or_told_to_the_clinic(setting in settings(), acts in acts(30), joined in any::<bool>()) {
        let mut life = Life::begin(1, &setting);
        if joined {
            life.join(&mut |_| {});
        }
        for act in &acts {
            life.act(act, &mut |_| {});
            life.decide(&Input::Wake, &mut |_| {});
            rules::no_dose_is_forgotten(&life);
        }
        let end = life.now + TimeDelta::days(20);
        life.pass(end, &mut |_| {});
        rules::no_dose_is_forgotten(&life);
        prop_assert!(life.household.active_courses().next().is_none(), "every course has ended");
        prop_assert_eq!(life.wake_at, None, "nothing is left to look at");
    }

    #[test]
    fn a_clock_that_runs_backwards_repeats_nothing(setting in settings(), acts in acts(30), back in 1..10_000_i64) {
        let mut life = Life::begin(1, &setting);
        life.join(&mut |_| {});
        for act in &acts {
            life.act(act, &mut |_| {});
        }
        life.decide(&Input::Wake, &mut |_| {});
        let now = life.now;
        for at in [now - TimeDelta::minutes(back), now] {
            let again = decide(&life.household, &Input::Wake, at, &life.policy);
            prop_assert_eq!(again.changes, vec![], "at {}", at);
            prop_assert_eq!(again.messages, vec![], "at {}", at);
        }
    }

    #[test]
    fn the_changes_alone_tell_the_whole_story(setting in settings(), acts in acts(40)) {
        let mut life = Life::begin(1, &setting);
        let mut replayed = life.household.clone();
        let mut replay = |decided: &behaviour::Decided| {
            for change in &decided.decision.changes {
                let written = serde_json::to_string(change).unwrap();
                apply(&mut replayed, &serde_json::from_str(&written).unwrap());
            }
        };
        life.join(&mut replay);
        for act in &acts {
            life.act(act, &mut replay);
        }
        prop_assert_eq!(replayed, life.household);
    }
}
