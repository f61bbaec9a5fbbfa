//! Situations to live through: each opens on a moment that shows its point.

use crate::domain::Instant;
use anyhow::Context;

/// A story up to the moment at which the visitor takes over.
pub(super) struct Situation {
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    pub(super) prescription: &'static str,
    /// Instant and the owner's words, a line each; without words only time passes. The first is the enrolment.
    story: &'static str,
}

const JUNIPER: &str = include_str!("juniper.toml");
const PEBBLE: &str = include_str!("pebble.toml");

pub(super) const SITUATIONS: [Situation; 5] = [
    Situation {
        name: "normal-day",
        title: "A normal day",
        prescription: JUNIPER,
        story: "2026-03-05T16:00:00-07:00
                2026-03-05T19:12:00-07:00 mixed
                2026-03-05T19:34:00-07:00 given
                2026-03-06T07:30:00-07:00",
    },
    Situation {
        name: "clocks-change",
        title: "A night when the clocks change",
        prescription: JUNIPER,
        story: "2026-03-05T16:00:00-07:00
                2026-03-05T19:12:00-07:00 mixed
                2026-03-05T19:34:00-07:00 given
                2026-03-06T07:31:00-07:00 given
                2026-03-06T19:25:00-07:00 mixed a new vial
                2026-03-06T19:36:00-07:00 given
                2026-03-07T07:33:00-07:00 given
                2026-03-07T19:30:00-07:00",
    },
    Situation {
        name: "vial-limit",
        title: "A vial running into its limit",
        prescription: PEBBLE,
        story: "2026-04-13T15:00:00-06:00
                2026-04-13T18:55:00-06:00 mixed
                2026-04-13T19:05:00-06:00 given
                2026-04-14T07:04:00-06:00 given
                2026-04-14T19:02:00-06:00 given
                2026-04-15T04:55:00-06:00",
    },
    Situation {
        name: "missed-dose",
        title: "A missed dose",
        prescription: JUNIPER,
        story: "2026-03-05T16:00:00-07:00
                2026-03-05T19:12:00-07:00 mixed
                2026-03-05T19:34:00-07:00 given
                2026-03-06T09:30:00-07:00",
    },
    Situation {
        name: "clinic-message",
        title: "A message for the clinic",
        prescription: JUNIPER,
        story: "2026-03-05T16:00:00-07:00
                2026-03-05T19:12:00-07:00 mixed
                2026-03-05T19:34:00-07:00 given
                2026-03-06T07:33:00-07:00 given
                2026-03-06T10:05:00-07:00 she is scratching where I gave the shot, is that normal?",
    },
];

impl Situation {
    pub(super) fn enrolled_at(&self) -> anyhow::Result<Instant> {
        Ok(self
            .story()?
            .first()
            .context("a story begins with the enrolment")?
            .0)
    }

    pub(super) fn story(&self) -> anyhow::Result<Vec<(Instant, Option<String>)>> {
        self.story
            .lines()
            .map(|line| {
                let line = line.trim();
                let (at, words) = line.split_once(' ').unwrap_or((line, ""));
                let at: Instant = at.parse().with_context(|| at.to_owned())?;
                Ok((at, (!words.is_empty()).then(|| words.to_owned())))
            })
            .collect()
    }
}
