//! Whether a language's file is complete and uses nothing that its messages
//! do not carry. Looks at every branch, not only at those that are reached today.

use super::contract::{Patient, Shape, facts_of, patient_of};
use super::language::message_id;
use super::phrase::Phrase;
use super::variables::{self, Of};
use crate::domain::message::Kind;
use fluent_bundle::FluentResource;
use fluent_syntax::ast::{
    Entry, Expression, InlineExpression, Pattern, PatternElement, Variant, VariantKey,
};
use std::collections::{BTreeMap, BTreeSet};

/// The texts of the buttons.
pub(super) const LABELS: &[&str] = &[
    "label-given",
    "label-not-given",
    "label-mixed",
    "label-discarded",
    "label-yes",
    "label-no",
    "label-take-back",
    "label-neither",
    "label-next-step",
    "label-previous-step",
    "label-seen",
    "label-confirm",
    "label-next-page",
    "label-previous-page",
    "label-ended-reached-owner",
    "label-ended-no-answer",
    "label-ended-given-late-on-order",
    "label-ended-left-out-on-order",
    "label-ended-comes-in",
    "label-ended-handed-out",
    "label-ended-otherwise",
    "label-cancel",
    "label-nobody",
    "label-as-needed",
];

/// Words that our own code asks for, with the variables it gives them.
const HELPERS: &[(&str, &[&str])] = &[
    ("date-time", &["weekday", "day", "month", "time"]),
    ("day-month", &["weekday", "day", "month"]),
    ("decimal-mark", &[]),
    ("span", &["from", "until"]),
    ("open-days", &["days", "times"]),
    ("list-more", &["list", "next"]),
    ("list-last", &["list", "last"]),
    ("quoted", &["text"]),
    ("shortened", &["text"]),
    ("unnamed-patient", &[]),
];

const DURATIONS: &[&str] = &["minutes", "hours", "both"];
const PARTS_OF_THE_DAY: &[&str] = &["midnight", "noon", "am", "pm"];
/// The plural categories of CLDR (Unicode Technical Standard 35, part 3).
const PLURALS: &[&str] = &["zero", "one", "two", "few", "many", "other"];

/// One text that the program needs.
struct Needed {
    id: String,
    variables: Vec<Variable>,
    /// Each of these groups has to be used by at least one of its names.
    stated: Vec<String>,
}

/// What a sentence may use, and what it may select on.
struct Variable {
    name: String,
    keys: Keys,
}

#[derive(Clone, Copy)]
enum Keys {
    /// Printed only.
    None,
    /// Plural categories and numbers.
    Plural,
    /// These words; where the fact may be missing, the default is another word.
    Words {
        words: &'static [&'static str],
        optional: bool,
    },
}

type Patterns<'a> = BTreeMap<&'a str, &'a Pattern<&'a str>>;

/// Which variables each text uses, those that it refers to included, by its id.
pub(super) type Used = BTreeMap<String, BTreeSet<String>>;

/// What the texts of a file use; or everything that is wrong with it.
pub(super) fn checked(resource: &FluentResource) -> Result<Used, Vec<String>> {
    let mut found = Vec::new();
    let mut all_used = Used::new();
    let patterns = patterns(resource, &mut found);
    let needed = needed();
    let missing: Vec<&str> = needed
        .iter()
        .filter(|needed| !patterns.contains_key(needed.id.as_str()))
        .map(|needed| needed.id.as_str())
        .collect();
    if !missing.is_empty() {
        found.push(format!("missing {}", missing.join(" ")));
    }
    let mut reached: BTreeSet<&str> = BTreeSet::new();
    for needed in &needed {
        let Some((id, pattern)) = patterns.get_key_value(needed.id.as_str()) else {
            continue;
        };
        reached.insert(id);
        let mut walk = Walk {
            needed,
            patterns: &patterns,
            path: vec![id],
            reached: &mut reached,
            used: BTreeSet::new(),
            found: &mut found,
        };
        walk.pattern(pattern);
        let used = walk.used;
        for name in &needed.stated {
            if !used.contains(name) && !used.contains(&format!("{name}_time")) {
                found.push(format!("{id} never states ${name}"));
            }
        }
        all_used.insert(needed.id.clone(), used);
    }
    for id in patterns.keys().filter(|id| !reached.contains(*id)) {
        found.push(format!("{id} is used by nothing"));
    }
    if found.is_empty() {
        return Ok(all_used);
    }
    found.sort();
    found.dedup();
    Err(found)
}

fn patterns<'a>(resource: &'a FluentResource, found: &mut Vec<String>) -> Patterns<'a> {
    let mut patterns = Patterns::new();
    for entry in resource.entries() {
        match entry {
            Entry::Message(message) => {
                let id = message.id.name;
                if !message.attributes.is_empty() {
                    found.push(format!("{id} has attributes, which nothing shows"));
                }
                match &message.value {
                    Some(value) if patterns.insert(id, value).is_some() => {
                        found.push(format!("{id} is there twice"));
                    }
                    Some(_) => {}
                    None => found.push(format!("{id} has no text")),
                }
            }
            Entry::Term(term) => found.push(format!("-{} is a term", term.id.name)),
            Entry::Junk { content } => {
                let start: String = content.chars().take(40).collect();
                found.push(format!("cannot be read: {start}"));
            }
            Entry::Comment(_) | Entry::GroupComment(_) | Entry::ResourceComment(_) => {}
        }
    }
    patterns
}

fn needed() -> Vec<Needed> {
    let plain = |id: String| Needed {
        id,
        variables: Vec::new(),
        stated: Vec::new(),
    };
    let printed = |name: &&str| Variable {
        name: (*name).into(),
        keys: Keys::None,
    };
    let weekdays = (1..=7).map(|n| plain(format!("weekday-{n}")));
    let months = (1..=12).map(|n| plain(format!("month-{n}")));
    let labels = LABELS.iter().map(|id| plain((*id).into()));
    let helpers = HELPERS.iter().map(|(id, variables)| Needed {
        id: (*id).into(),
        variables: variables.iter().map(printed).collect(),
        stated: variables.iter().map(|name| (*name).into()).collect(),
    });
    let mut all: Vec<Needed> = Kind::ALL.iter().map(|kind| sentence(*kind)).collect();
    all.extend(Phrase::ALL.iter().map(|phrase| paper(*phrase)));
    all.extend(labels.chain(weekdays).chain(months).chain(helpers));
    // Hours of the clock are given both ways: each language uses the one it reads.
    let clock = ("part", PARTS_OF_THE_DAY);
    all.push(in_forms(
        "clock",
        clock,
        &["hour12", "hour24", "minute"],
        &["minute"],
    ));
    let form = ("form", DURATIONS);
    all.push(in_forms(
        "duration",
        form,
        &["hours", "minutes"],
        &["hours", "minutes"],
    ));
    all
}

/// A helper that selects on one word.
fn in_forms(
    id: &str,
    (form, words): (&str, &'static [&'static str]),
    printed: &[&str],
    stated: &[&str],
) -> Needed {
    let mut variables: Vec<Variable> = printed
        .iter()
        .map(|name| Variable {
            name: (*name).into(),
            keys: Keys::None,
        })
        .collect();
    variables.push(Variable {
        name: form.into(),
        keys: Keys::Words {
            words,
            optional: false,
        },
    });
    Needed {
        id: id.into(),
        variables,
        stated: stated.iter().map(|name| (*name).into()).collect(),
    }
}

fn paper(phrase: Phrase) -> Needed {
    let facts = phrase.facts();
    Needed {
        id: phrase.id().into(),
        variables: with_keys(variables::of_facts(facts)),
        stated: facts.iter().map(|fact| fact.key.into()).collect(),
    }
}

fn sentence(kind: Kind) -> Needed {
    let facts = facts_of(kind);
    let mut variables = variables::of_facts(facts);
    let mut stated: Vec<String> = facts.iter().map(|fact| fact.key.into()).collect();
    if patient_of(kind) != Patient::Never {
        variables.extend(variables::of_patient());
        stated.push("patient".into());
    }
    Needed {
        id: message_id(kind),
        variables: with_keys(variables),
        stated,
    }
}

const YES_NO: Keys = Keys::Words {
    words: &["yes", "no"],
    optional: false,
};

fn with_keys(variables: Vec<variables::Variable>) -> Vec<Variable> {
    let keys = |of| match of {
        Of::Fact(fact) => match fact.shape {
            Shape::Count => Keys::Plural,
            Shape::Code(words) => Keys::Words {
                words,
                optional: fact.optional,
            },
            _ => Keys::None,
        },
        Of::Time(_) | Of::Patient => Keys::None,
        // Phrases such as “who” are shared with kinds that may lack the name.
        Of::Has(_) | Of::HasPatient => YES_NO,
    };
    let with_keys = |variable: variables::Variable| Variable {
        keys: keys(variable.of),
        name: variable.name,
    };
    variables.into_iter().map(with_keys).collect()
}

/// Goes through one needed text and all that it refers to.
struct Walk<'w, 'a> {
    needed: &'w Needed,
    patterns: &'w Patterns<'a>,
    path: Vec<&'a str>,
    reached: &'w mut BTreeSet<&'a str>,
    used: BTreeSet<String>,
    found: &'w mut Vec<String>,
}

impl<'a> Walk<'_, 'a> {
    fn mistake(&mut self, what: &str) {
        self.found.push(format!("{} {what}", self.path.join(" > ")));
    }

    fn pattern(&mut self, pattern: &'a Pattern<&'a str>) {
        for element in &pattern.elements {
            if let PatternElement::Placeable { expression } = element {
                self.expression(expression);
            }
        }
    }

    fn expression(&mut self, expression: &'a Expression<&'a str>) {
        match expression {
            Expression::Inline(inline) => self.inline(inline),
            Expression::Select { selector, variants } => {
                if let InlineExpression::VariableReference { id } = selector {
                    self.select(id.name, variants);
                } else {
                    self.mistake("selects on something that is no fact");
                }
                for variant in variants {
                    self.pattern(&variant.value);
                }
            }
        }
    }

    fn inline(&mut self, inline: &'a InlineExpression<&'a str>) {
        match inline {
            InlineExpression::StringLiteral { .. } | InlineExpression::NumberLiteral { .. } => {}
            InlineExpression::VariableReference { id } => {
                if let Some(Keys::Words { .. }) = self.variable(id.name) {
                    self.mistake(&format!("prints ${}, which is for selecting", id.name));
                }
            }
            InlineExpression::MessageReference {
                id,
                attribute: None,
            } => self.reference(id.name),
            InlineExpression::Placeable { expression } => self.expression(expression),
            _ => self.mistake("uses a function, a term or an attribute"),
        }
    }

    fn reference(&mut self, id: &'a str) {
        let Some((id, pattern)) = self.patterns.get_key_value(id) else {
            return self.mistake(&format!("refers to {id}, which is not there"));
        };
        if self.path.contains(id) {
            return self.mistake(&format!("refers to {id}, which refers back"));
        }
        self.reached.insert(id);
        self.path.push(id);
        self.pattern(pattern);
        self.path.pop();
    }

    fn variable(&mut self, name: &str) -> Option<Keys> {
        let keys = self
            .needed
            .variables
            .iter()
            .find(|variable| variable.name == name)
            .map(|variable| variable.keys);
        match keys {
            None => self.mistake(&format!("uses unknown ${name}")),
            Some(_) => {
                self.used.insert(name.into());
            }
        }
        keys
    }

    fn select(&mut self, name: &str, variants: &[Variant<&str>]) {
        let Some(keys) = self.variable(name) else {
            return;
        };
        for variant in variants {
            let (key, is_number) = match &variant.key {
                VariantKey::Identifier { name } => (*name, false),
                VariantKey::NumberLiteral { value } => (*value, true),
            };
            let known = match keys {
                Keys::None => false,
                Keys::Plural => is_number || PLURALS.contains(&key),
                Keys::Words { words, .. } => {
                    !is_number && (words.contains(&key) || variant.default && is_else(key))
                }
            };
            if !known {
                self.mistake(&format!("has no ${name} [{key}]"));
            }
            if let Keys::Words {
                words,
                optional: true,
            } = keys
                && variant.default
                && words.contains(&key)
            {
                self.mistake(&format!("says [{key}] where ${name} is not known"));
            }
        }
    }
}

/// Names of a default branch that states nothing by itself.
fn is_else(key: &str) -> bool {
    matches!(key, "other" | "no")
}
