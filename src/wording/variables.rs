//! The variables that a text may use, and whence each has its value.

use super::contract::{Fact, Shape};

/// A variable of a text.
pub(super) struct Variable {
    pub(super) name: String,
    pub(super) of: Of,
}

/// What a variable tells.
#[derive(Clone, Copy)]
pub(super) enum Of {
    /// A fact.
    Fact(&'static Fact),
    /// The time of day of a fact that is an instant.
    Time(&'static Fact),
    /// Whether an optional fact is there.
    Has(&'static Fact),
    /// The patient's name, or what stands for it.
    Patient,
    /// Whether the patient's name is known.
    HasPatient,
}

/// The variables that facts give.
pub(super) fn of_facts(facts: &'static [Fact]) -> Vec<Variable> {
    let mut variables = Vec::new();
    let mut add = |name: String, of| variables.push(Variable { name, of });
    for fact in facts {
        add(fact.key.into(), Of::Fact(fact));
        if fact.shape == Shape::At {
            add(format!("{}_time", fact.key), Of::Time(fact));
        }
        if fact.optional {
            add(format!("has_{}", fact.key), Of::Has(fact));
        }
    }
    variables
}

/// The variables that tell of the patient.
pub(super) fn of_patient() -> Vec<Variable> {
    [("patient", Of::Patient), ("has_patient", Of::HasPatient)]
        .map(|(name, of)| Variable {
            name: name.into(),
            of,
        })
        .into()
}
