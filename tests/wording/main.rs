//! What `decide` really says, held against the contract: by every word in its
//! sources, and by what it says in every state to a thousand messages as
//! owners write them.

use chrono::{DateTime, TimeDelta};
use std::collections::BTreeSet;
use std::path::PathBuf;
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Body, Medium};
use vialbell::domain::decide::{ClinicWord, Decision, Entered, Input, Undelivered, decide, enrol};
use vialbell::domain::household::{Chat, Household};
use vialbell::domain::message::{Kind, Message, Tap, Value};
use vialbell::domain::policy::Policy;
use vialbell::wording::Wording;
use vialbell::wording::contract::{Shape, breaches, facts_of};

/// Everything that decides or speaks, so that a new word cannot slip by: every
/// file of these folders, and these files.
const SOURCES: &[&str] = &[
    "src/domain/decide",
    "src/engine/clinic.rs",
    "src/engine/enrol.rs",
    "src/engine/guided.rs",
    "src/engine/invitation.rs",
    "src/engine/orders.rs",
    "src/engine/receive.rs",
    "src/engine/staff.rs",
];

/// The files that decide or speak, each with its text.
fn sources() -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open: Vec<PathBuf> = SOURCES.iter().map(PathBuf::from).collect();
    while let Some(path) = open.pop() {
        if path.is_dir() {
            let inside = std::fs::read_dir(&path).unwrap();
            open.extend(inside.map(|entry| entry.unwrap().path()));
        } else {
            let text = std::fs::read_to_string(&path).unwrap();
            found.push((path.display().to_string(), text));
        }
    }
    assert!(found.len() > 20, "{found:?}");
    found
}

/// Words in those sources that no message selects on: how a medium is put in
/// an owner's words, and names of inputs in the journal.
const OTHER_WORDS: &[&str] = &[
    "photo",
    "video",
    "sticker",
    "file",
    "joined",
    "confirm",
    "board",
    "picture",
    "sheet",
    "calendar",
    "ml",
    "questions",
    "patient",
    "group",
    "terminal",
    "unknown",
    "cancel",
    "enrol",
    "back",
    "dog",
    "cat",
    "none",
    "en",
    "animal",
];

const MESSAGES: &[&str] = &[
    include_str!("../corpus/examples.jsonl"),
    include_str!("../corpus/own.jsonl"),
];
const PRESCRIPTION: &str = include_str!("../../config/prescription.example.toml");

/// String literals in lower case, with digits, `-` and `_`, outside of tests and comments.
fn words_in(source: &str) -> impl Iterator<Item = &str> {
    let code = source.split("#[cfg(test)]").next().unwrap_or(source);
    code.lines()
        .filter(|line| !line.trim_start().starts_with("//"))
        .flat_map(|line| line.split('"').skip(1).step_by(2))
        .filter(|word| {
            word.len() < 20
                && word.starts_with(|c: char| c.is_ascii_lowercase())
                && word
                    .chars()
                    .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || "-_".contains(c))
        })
}

#[test]
fn every_word_that_decide_uses_is_in_the_contract() {
    let facts = || Kind::ALL.iter().flat_map(|kind| facts_of(*kind));
    let mut known: BTreeSet<&str> = facts().map(|fact| fact.key).collect();
    for fact in facts() {
        if let Shape::Code(words) = fact.shape {
            known.extend(words);
        }
    }
    known.extend(OTHER_WORDS);
    let mut seen = 0;
    let sources = sources();
    for (name, source) in &sources {
        for word in words_in(source) {
            seen += 1;
            assert!(known.contains(word), "{name} says \"{word}\"");
        }
    }
    // Were the sources moved or read wrongly, this would have looked at nothing.
    assert!(seen > 150, "{seen} words");
}

/// A household, and all that has been said about it.
struct Story<'p> {
    policy: &'p Policy,
    household: Household,
    now: Instant,
    kinds: BTreeSet<&'static str>,
}

impl<'p> Story<'p> {
    fn new(config: &'p Config) -> Story<'p> {
        let order = parse_prescription(PRESCRIPTION, &config.formulary, &["en", "es"]).unwrap();
        let now = instant("2026-03-05T18:00:00-07:00");
        let worked = order.work_out(&config.policy, now).unwrap();
        let mut household = Household::new(7, "demo", &order.owner, "en", order.zone);
        let entered = Entered {
            by: "Dr. Fennimore",
            confirmed_by: Some("Lena Marsh"),
        };
        for change in enrol(&household, &order, &worked, &config.policy, entered, now) {
            vialbell::domain::change::apply(&mut household, &change);
        }
        let mut story = Story {
            policy: &config.policy,
            household,
            now,
            kinds: BTreeSet::new(),
        };
        let carers: Vec<u32> = story.household.carers.keys().copied().collect();
        for carer in carers {
            let chat = Chat {
                channel: "script".into(),
                address: carer.to_string(),
            };
            story.hear(&Input::Joined { carer, chat });
        }
        story
    }

    fn decide(&mut self, input: &Input) -> Decision {
        let decision = decide(&self.household, input, self.now, self.policy);
        for message in &decision.messages {
            let breaches = breaches(message);
            let kind = message.kind;
            assert!(breaches.is_empty(), "{kind}: {breaches:?} on {input:?}");
            self.kinds.insert(kind.name());
        }
        decision
    }

    fn hear(&mut self, input: &Input) {
        self.household = self.decide(input).household;
    }

    fn body(&mut self, body: Body) {
        self.hear(&Input::Carer { carer: 1, body });
    }

    fn write(&mut self, text: &str) {
        self.body(Body::Text(text.into()));
    }

    fn at(&mut self, time: &str) {
        self.now = instant(time);
        self.hear(&Input::Wake);
    }

    /// Hears each third message, from the `first` on, as the next one, and
    /// forgets it again, with the tap that answers it.
    fn hear_each_of(&mut self, texts: &[String], first: usize) {
        let carer = 1;
        for text in texts.iter().skip(first).step_by(3) {
            let body = Body::Text(text.clone());
            let heard = self.decide(&Input::Carer { carer, body });
            let before = std::mem::replace(&mut self.household, heard.household);
            for button in heard.messages.iter().flat_map(|m| &m.buttons) {
                let body = Body::Tap(button.tap.encode());
                self.decide(&Input::Carer { carer, body });
            }
            self.household = before;
        }
    }
}

fn instant(text: &str) -> Instant {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

fn corpus() -> Vec<String> {
    MESSAGES
        .iter()
        .flat_map(|file| file.lines())
        .filter_map(|line| {
            let line: serde_json::Value = serde_json::from_str(line).ok()?;
            Some(line["text"].as_str()?.to_owned())
        })
        .collect()
}

#[test]
fn whatever_is_heard_the_answers_keep_the_contract() {
    let config = Config::built_in();
    let mut story = Story::new(&config);
    let texts = corpus();
    assert!(texts.len() > 1_000);
    // Before the first dose.
    story.hear_each_of(&texts, 0);
    // A dose is due and nothing is mixed.
    story.at("2026-03-05T19:30:00-07:00");
    story.hear_each_of(&texts, 1);
    story.write("mixed");
    story.write("my wife gave it");
    // A dose is on record, another is due.
    story.at("2026-03-06T07:40:00-07:00");
    story.hear_each_of(&texts, 2);
    // A window closed in silence.
    story.at("2026-03-06T14:00:00-07:00");
    story.hear_each_of(&texts, 0);
    // Every vial is past its limit.
    story.at("2026-03-31T19:40:00-06:00");
    story.hear_each_of(&texts, 1);
    // The course is over.
    story.at("2026-04-20T12:00:00-06:00");
    story.hear_each_of(&texts, 2);
    for kind in [
        "course.joined",
        "dose.due",
        "recorded.given",
        "confirm",
        "call-clinic",
    ] {
        assert!(story.kinds.contains(kind), "{kind}: {:?}", story.kinds);
    }
}

#[test]
fn whatever_happens_beside_words_keeps_the_contract() {
    let config = Config::built_in();
    let mut story = Story::new(&config);
    let (course, vial) = (1, 1);
    let tap = |tap: Tap| Body::Tap(tap.encode());
    story.body(tap(Tap::Given { course, dose: 9 }));
    story.at("2026-03-05T19:30:00-07:00");
    story.body(tap(Tap::Mixed { course, vial }));
    for what in [Medium::Photo, Medium::Voice, Medium::Other] {
        let caption = Some("he collapsed and does not wake up".into());
        story.body(Body::Medium { what, caption });
        story.body(Body::Medium {
            what,
            caption: None,
        });
    }
    story.body(Body::Place { north: 1, east: 1 });
    story.body(Body::Edited("given".into()));
    story.body(tap(Tap::NotGiven { course, dose: 1 }));
    let administration = 1;
    story.body(tap(Tap::TakeBack { administration }));
    story.body(tap(Tap::Given { course, dose: 1 }));
    story.write("out of the fridge");
    story.now += TimeDelta::minutes(70);
    story.write("back in the fridge");
    story.write("there is 1 mL left in vial 1");
    story.body(tap(Tap::Discarded { course, vial }));
    story.body(Body::Tap("forged".into()));
    let text = "call us".into();
    let word = ClinicWord::Reply { alert: 1, text };
    let by = "Dr. Fennimore".into();
    story.hear(&Input::Clinic { by, word });
    // A reminder that waited too long, after its window.
    story.at("2026-03-06T07:30:00-07:00");
    story.now += TimeDelta::hours(9);
    for why in [
        Undelivered::TooLate,
        Undelivered::Refused,
        Undelivered::Gone,
    ] {
        let (carer, kind) = (1, Kind::DoseDue);
        story.hear(&Input::Undelivered { carer, kind, why });
    }
    // Two days without the program.
    story.at("2026-03-09T08:00:00-06:00");
    for kind in [
        "clinic.question",
        "clinic.emergency",
        "clinic.missed-dose",
        "clinic.level-differs",
        "clinic.outage",
        "clinic.unreachable",
        "clinic.reply",
        "recorded.corrected",
        "recorded.out-of-fridge",
        "recorded.discarded",
        "vial.mix-next",
    ] {
        assert!(story.kinds.contains(kind), "{kind}: {:?}", story.kinds);
    }
}

#[test]
fn who_gave_a_dose_and_who_recorded_it_are_both_said() {
    let config = Config::built_in();
    let wording = Wording::load().unwrap();
    let mut story = Story::new(&config);
    let said_by = |story: &mut Story, carer: u32, text: &str| -> Vec<String> {
        let body = Body::Text(text.into());
        let decision = story.decide(&Input::Carer { carer, body });
        let recorded = |m: &&Message| m.kind == Kind::RecordedGiven;
        let messages: Vec<&Message> = decision.messages.iter().filter(recorded).collect();
        let owns: Vec<_> = messages
            .iter()
            .map(|m| m.facts.get("own").cloned())
            .collect();
        assert_eq!(owns, [Some(Value::from("yes")), Some(Value::from("no"))]);
        messages
            .iter()
            .map(|m| wording.render(m, "en").text.lines().nth(2).unwrap().into())
            .collect()
    };
    story.at("2026-03-05T19:30:00-07:00");
    assert_eq!(
        said_by(&mut story, 1, "given"),
        ["Recorded by you.", "Recorded by Maren Oakhollow."]
    );
    assert_eq!(
        said_by(&mut story, 1, "my son gave it"),
        [
            "Given by “my son”, recorded by you.",
            "Given by “my son”, recorded by Maren Oakhollow."
        ]
    );
}

#[test]
fn without_hours_nothing_is_said_of_open_or_closed() {
    let mut config = Config::built_in();
    let wording = Wording::load().unwrap();
    let text = |config: &Config| {
        let mut story = Story::new(config);
        let body = Body::Text("should I warm the vial?".into());
        let decision = story.decide(&Input::Carer { carer: 1, body });
        let call = decision
            .messages
            .iter()
            .find(|m| m.kind == Kind::CallClinic);
        wording.render(call.unwrap(), "en").text
    };
    let known = text(&config);
    assert!(known.contains("Hours: Mon to "), "{known}");
    assert!(known.contains("The clinic is "), "{known}");
    config.policy.clinic.hours.clear();
    let unknown = text(&config);
    assert!(!unknown.contains("Hours"), "{unknown}");
    assert!(!unknown.contains("The clinic is "), "{unknown}");
    assert!(unknown.contains("In an emergency call: "), "{unknown}");
}
