//! A run as a dialogue that a person can read.

use super::world::World;
use std::sync::{Arc, Mutex};
use vialbell::channel::Outgoing;
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::zone::Zone;

/// What happened, in order; empty where nobody listens.
pub struct Story {
    aloud: bool,
    zones: Vec<Zone>,
    lines: Lines,
}

/// Lines that outlive a program that panics.
pub type Lines = Arc<Mutex<Vec<String>>>;

impl Story {
    pub fn new(aloud: bool, world: &World, lines: Lines) -> Story {
        let named = |zone| Zone::named(zone).expect("a zone");
        Story {
            aloud,
            zones: world.homes.iter().map(|home| named(home.zone)).collect(),
            lines,
        }
    }

    fn line(&mut self, home: usize, at: Instant, what: &str) {
        if self.aloud {
            let zone = self.zones.get(home).or(self.zones.first());
            let shown = zone.map(|zone| zone.local(at).format("%Y-%m-%d %H:%M:%S %:z").to_string());
            let mut lines = self.lines.lock().expect("no panic under the lock");
            lines.push(format!("{}  {what}", shown.unwrap_or_default()));
        }
    }

    /// Something that nobody said.
    pub fn note(&mut self, at: Instant, what: &str) {
        self.line(0, at, &format!("*** {what}"));
    }

    pub fn says(&mut self, at: Instant, home: usize, name: &str, body: &Body) {
        self.line(home, at, &format!("{name}: {}", shown(body)));
    }

    pub fn clinic_says(&mut self, at: Instant, name: &str, body: &Body) {
        self.line(0, at, &format!("clinic, {name}: {}", shown(body)));
    }

    pub fn hears(&mut self, at: Instant, home: usize, name: &str, outgoing: &Outgoing) {
        self.line(home, at, &format!("  -> {name}: {}", bubble(outgoing)));
    }

    pub fn clinic_hears(&mut self, at: Instant, outgoing: &Outgoing) {
        self.line(0, at, &format!("  => clinic: {}", bubble(outgoing)));
    }
}

fn bubble(outgoing: &Outgoing) -> String {
    let buttons: Vec<String> = outgoing
        .buttons
        .iter()
        .map(|button| format!("[{} {}]", button.label, button.data))
        .collect();
    format!(
        "{} {}",
        outgoing.text.replace('\n', " / "),
        buttons.join(" ")
    )
}

fn shown(body: &Body) -> String {
    match body {
        Body::Text(text) => text.clone(),
        Body::Edited(text) => format!("{text} (edited)"),
        Body::Tap(data) => format!("[{data}]"),
        Body::Join(_) => "(opens the invitation)".into(),
        other => format!("({other:?})"),
    }
}
