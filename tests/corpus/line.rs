//! A labelled message.

use serde::Deserialize;

/// One message with the kinds of reply that are right and those that would be unsafe.
#[derive(Debug, Deserialize)]
pub struct Line {
    pub id: String,
    pub lang: String,
    pub text: String,
    pub expect: Vec<String>,
    pub never: Vec<String>,
    pub why: String,
    /// The name that the message uses for the patient; the judged patient bears it.
    #[serde(default)]
    patient: Option<String>,
}

/// Names that the given examples use without saying so.
const NAMES: [&str; 8] = [
    "Biggles", "Pretzel", "Kiwi", "Hazelnut", "Gus", "Juniper", "Bruno", "Trufa",
];

/// The messages of a file, one a line.
pub fn lines(jsonl: &str) -> Vec<Line> {
    jsonl
        .lines()
        .map(|line| serde_json::from_str(line).unwrap_or_else(|why| panic!("{why}: {line}")))
        .collect()
}

impl Line {
    /// The class, which `why` begins with: clear, adversarial, escalate, emergency, noise.
    pub fn class(&self) -> &str {
        self.why.split(':').next().unwrap_or("")
    }

    /// The kind of reply that is right first of all.
    pub fn kind(&self) -> &str {
        self.expect.first().map_or("", String::as_str)
    }

    fn named(&self) -> Option<&str> {
        let known = NAMES.iter().find(|name| self.text.contains(**name));
        self.patient.as_deref().or(known.copied())
    }

    /// Whether the message names the patient.
    pub fn names_a_patient(&self) -> bool {
        self.named().is_some()
    }

    /// The judged patient's name.
    pub fn patient(&self) -> &str {
        self.named().unwrap_or("Juniper")
    }
}
