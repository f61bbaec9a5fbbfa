//! One language: its file, read and checked, and how it says a message.

use super::check::{self, Used};
use super::contract::{Fact, Shape, facts_of};
use super::format::{self, LINE_FEED, MISSING};
use super::phrase::Phrase;
use super::variables::{self, Of, Variable};
use crate::domain::ending::Ending;
use crate::domain::message::{Kind, Label, Message, Value};
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use unic_langid::LanguageIdentifier;

/// A language whose every sentence, label and helper word is at hand.
pub(super) struct Language {
    code: String,
    bundle: FluentBundle<FluentResource>,
    /// The sentence of each kind, in the order of the kinds.
    sentences: Vec<Text>,
    /// The text of each phrase, in the order of the phrases.
    phrases: Vec<Text>,
}

/// A text with the variables that it uses: no others are made when it is formed.
struct Text {
    id: String,
    variables: Vec<Variable>,
}

impl Language {
    /// Reads a file; or says all that is wrong with it.
    pub(super) fn read(code: &str, text: &str) -> Result<Language, Vec<String>> {
        let id: LanguageIdentifier = code
            .parse()
            .map_err(|_| vec![format!("\"{code}\" is no language code")])?;
        let resource = FluentResource::try_new(text.into())
            .map_err(|(_, errors)| unreadable(text, &errors))?;
        let used = check::checked(&resource)?;
        let mut bundle = FluentBundle::new_concurrent(vec![id]);
        // The marks are invisible, but a script or a search for “1.5 mL” trips over them.
        bundle.set_use_isolating(false);
        bundle
            .add_resource(resource)
            .map_err(|errors| errors.iter().map(ToString::to_string).collect::<Vec<_>>())?;
        Ok(Language {
            code: code.into(),
            bundle,
            sentences: Kind::ALL
                .iter()
                .map(|kind| sentence(*kind, &used))
                .collect(),
            phrases: Phrase::ALL.iter().map(|one| phrase(*one, &used)).collect(),
        })
    }

    pub(super) fn code(&self) -> &str {
        &self.code
    }

    /// What a button says.
    pub(super) fn label(&self, label: &Label) -> String {
        match label {
            Label::Name(name) => format::one_line(name),
            Label::Time(at) => format::date_time(self, *at),
            _ => self.helper(label_id(label), &FluentArgs::new()),
        }
    }

    /// A helper word or phrase, which has no lines to leave out.
    pub(super) fn helper(&self, id: &str, args: &FluentArgs) -> String {
        let pattern = self.bundle.get_message(id).and_then(|m| m.value());
        let Some(pattern) = pattern else {
            tracing::error!(id, language = self.code, "no such words");
            return "?".into();
        };
        let mut errors = Vec::new();
        let text = self.bundle.format_pattern(pattern, Some(args), &mut errors);
        if !errors.is_empty() {
            tracing::error!(
                id,
                language = self.code,
                ?errors,
                "words could not be formed"
            );
        }
        text.into_owned()
    }

    /// The text of a message, without the lines whose facts it does not carry.
    pub(super) fn sentence(&self, message: &Message) -> String {
        let text = &self.sentences[message.kind as usize];
        self.form(
            text,
            |key| message.facts.get(key),
            message.patient.as_deref(),
        )
    }

    /// The text of a phrase, as [`Language::sentence`] gives that of a message.
    pub(super) fn phrase(&self, phrase: Phrase, facts: &[(&str, Value)]) -> String {
        let value_of = |key: &str| {
            let fact = facts.iter().find(|(name, _)| *name == key);
            fact.map(|(_, value)| value)
        };
        self.form(&self.phrases[phrase as usize], value_of, None)
    }

    fn form<'v>(
        &self,
        text: &Text,
        value_of: impl Fn(&str) -> Option<&'v Value>,
        patient: Option<&str>,
    ) -> String {
        let mut args = FluentArgs::with_capacity(text.variables.len());
        for variable in &text.variables {
            let value: FluentValue = match variable.of {
                Of::Fact(fact) => self.value(fact, value_of(fact.key)),
                Of::Time(fact) => self.time(fact, value_of(fact.key)),
                Of::Has(fact) => yes_no(value_of(fact.key).is_some()).into(),
                Of::Patient => self.patient(patient).into(),
                Of::HasPatient => yes_no(patient.is_some()).into(),
            };
            args.set(variable.name.as_str(), value);
        }
        settled(&self.helper(&text.id, &args))
    }

    fn patient(&self, name: Option<&str>) -> String {
        match name {
            Some(name) => format::one_line(name),
            None => self.helper("unnamed-patient", &FluentArgs::new()),
        }
    }

    fn value(&self, fact: &Fact, value: Option<&Value>) -> FluentValue<'static> {
        match value {
            None => absent(fact),
            Some(Value::At(at)) => format::date_time(self, *at).into(),
            Some(Value::Volume(volume)) => format::volume(self, *volume).into(),
            Some(Value::Count(minutes)) if fact.shape == Shape::Minutes => {
                format::duration(self, *minutes).into()
            }
            Some(Value::Count(count)) => (*count).into(),
            Some(Value::Hours(hours)) => format::hours(self, hours).into(),
            Some(Value::Times(times)) => format::times(self, times).into(),
            Some(Value::Text(text)) => match fact.shape {
                Shape::Quote => format::quote(self, text),
                Shape::Person => format::person(self, text),
                Shape::Block => format::block(text),
                _ => format::one_line(text),
            }
            .into(),
        }
    }

    fn time(&self, fact: &Fact, value: Option<&Value>) -> FluentValue<'static> {
        match value {
            Some(Value::At(at)) => format::clock(self, at.time()).into(),
            _ => absent(fact),
        }
    }
}

fn sentence(kind: Kind, used: &Used) -> Text {
    let mut variables = variables::of_facts(facts_of(kind));
    variables.extend(variables::of_patient());
    text(message_id(kind), variables, used)
}

fn phrase(phrase: Phrase, used: &Used) -> Text {
    let variables = variables::of_facts(phrase.facts());
    text(phrase.id().into(), variables, used)
}

fn text(id: String, mut variables: Vec<Variable>, used: &Used) -> Text {
    let used = &used[&id];
    variables.retain(|variable| used.contains(&variable.name));
    Text { id, variables }
}

/// The text without the lines that lack a fact.
fn settled(text: &str) -> String {
    let lines: Vec<&str> = text
        .split('\n')
        .map(str::trim_end)
        .filter(|line| !line.trim().is_empty() && !line.contains(MISSING))
        .collect();
    lines.join("\n").replace(LINE_FEED, "\n")
}

/// A line needs what it needs: without an optional fact it is left out, but
/// without a required one, which is a mistake of ours, it still goes out.
fn absent(fact: &Fact) -> FluentValue<'static> {
    if fact.optional {
        MISSING.to_string().into()
    } else {
        "?".into()
    }
}

fn yes_no(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}

/// The id of a kind's sentence: Fluent allows no dots.
pub(super) fn message_id(kind: Kind) -> String {
    kind.name().replace('.', "-")
}

/// The id of a label's text. Names and times are shown as they are and have none.
pub(super) fn label_id(label: &Label) -> &'static str {
    match label {
        Label::Given => "label-given",
        Label::NotGiven => "label-not-given",
        Label::Mixed(_) => "label-mixed",
        Label::Discarded(_) => "label-discarded",
        Label::Yes => "label-yes",
        Label::No => "label-no",
        Label::TakeBack => "label-take-back",
        Label::Neither => "label-neither",
        Label::NextStep => "label-next-step",
        Label::PreviousStep => "label-previous-step",
        Label::Seen => "label-seen",
        Label::Confirm => "label-confirm",
        Label::NextPage => "label-next-page",
        Label::PreviousPage => "label-previous-page",
        Label::Ended(how) => match how {
            Ending::ReachedOwner => "label-ended-reached-owner",
            Ending::NoAnswer => "label-ended-no-answer",
            Ending::GivenLateOnOrder => "label-ended-given-late-on-order",
            Ending::LeftOutOnOrder => "label-ended-left-out-on-order",
            Ending::ComesIn => "label-ended-comes-in",
            Ending::HandedOut => "label-ended-handed-out",
            Ending::Otherwise => "label-ended-otherwise",
        },
        Label::Cancel => "label-cancel",
        Label::Nobody => "label-nobody",
        Label::AsNeeded => "label-as-needed",
        Label::Name(_) | Label::Time(_) => "",
    }
}

fn unreadable(text: &str, errors: &[fluent_syntax::parser::ParserError]) -> Vec<String> {
    errors
        .iter()
        .map(|error| {
            let before = text.get(..error.pos.start).unwrap_or(text);
            let line = before.matches('\n').count() + 1;
            format!("line {line}: {}", error.kind)
        })
        .collect()
}
