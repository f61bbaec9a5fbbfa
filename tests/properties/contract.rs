//! What is said carries what its sentence states, no more and no less.

use crate::behaviour::{Decided, Life, acts, settings};
use crate::config;
use proptest::prelude::*;
use vialbell::wording::contract;

fn keeps_the_contract(decided: &Decided) {
    for message in &decided.decision.messages {
        let breaches = contract::breaches(message);
        assert_eq!(breaches, Vec::<String>::new(), "{message:?}");
    }
}

proptest! {
    #![proptest_config(config(40))]

    #[test]
    fn what_is_said_keeps_to_the_contract_of_the_wording(setting in settings(), acts in acts(50)) {
        let mut life = Life::begin(1, &setting);
        life.join(&mut |decided| keeps_the_contract(decided));
        for act in &acts {
            life.act(act, &mut |decided| keeps_the_contract(decided));
        }
    }
}
