//! Situations to live through: each opens on a moment that shows its point.

use crate::domain::Instant;
use crate::domain::language::Language;
use anyhow::Context;

/// A story up to the moment at which the visitor takes over.
pub(super) struct Situation {
    pub(super) name: &'static str,
    pub(super) title: &'static str,
    home: Home,
    /// The first moment is the enrolment.
    story: &'static [Moment],
}

/// The same order, for an owner of each language.
struct Home {
    english: &'static str,
    spanish: &'static str,
}

/// An instant, and what the owner then writes in English and in Spanish; where nothing is written, only time passes.
type Moment = (&'static str, &'static str, &'static str);

const DOG: Home = Home {
    english: include_str!("juniper.toml"),
    spanish: include_str!("nube.toml"),
};
const CAT: Home = Home {
    english: include_str!("pebble.toml"),
    spanish: include_str!("perla.toml"),
};

const ENROLLED: Moment = ("2026-03-05T16:00:00-07:00", "", "");
const FIRST_VIAL: Moment = ("2026-03-05T19:12:00-07:00", "mixed", "mezclado");
const FIRST_DOSE: Moment = ("2026-03-05T19:34:00-07:00", "given", "puesta");

pub(super) const SITUATIONS: [Situation; 5] = [
    Situation {
        name: "normal-day",
        title: "A normal day",
        home: DOG,
        story: &[
            ENROLLED,
            FIRST_VIAL,
            FIRST_DOSE,
            ("2026-03-06T07:30:00-07:00", "", ""),
        ],
    },
    Situation {
        name: "clocks-change",
        title: "A night when the clocks change",
        home: DOG,
        story: &[
            ENROLLED,
            FIRST_VIAL,
            FIRST_DOSE,
            ("2026-03-06T07:31:00-07:00", "given", "puesta"),
            (
                "2026-03-06T19:25:00-07:00",
                "mixed a new vial",
                "mezclé un vial nuevo",
            ),
            ("2026-03-06T19:36:00-07:00", "given", "puesta"),
            ("2026-03-07T07:33:00-07:00", "given", "puesta"),
            ("2026-03-07T19:30:00-07:00", "", ""),
        ],
    },
    Situation {
        name: "vial-limit",
        title: "A vial running into its limit",
        home: CAT,
        story: &[
            ("2026-04-13T15:00:00-06:00", "", ""),
            ("2026-04-13T18:55:00-06:00", "mixed", "mezclado"),
            ("2026-04-13T19:05:00-06:00", "given", "puesta"),
            ("2026-04-14T07:04:00-06:00", "given", "puesta"),
            ("2026-04-14T19:02:00-06:00", "given", "puesta"),
            ("2026-04-15T04:55:00-06:00", "", ""),
        ],
    },
    Situation {
        name: "missed-dose",
        title: "A missed dose",
        home: DOG,
        story: &[
            ENROLLED,
            FIRST_VIAL,
            FIRST_DOSE,
            ("2026-03-06T09:30:00-07:00", "", ""),
        ],
    },
    Situation {
        name: "clinic-message",
        title: "A message for the clinic",
        home: DOG,
        story: &[
            ENROLLED,
            FIRST_VIAL,
            FIRST_DOSE,
            ("2026-03-06T07:33:00-07:00", "given", "puesta"),
            (
                "2026-03-06T10:05:00-07:00",
                "she is scratching where I gave the shot, is that normal?",
                "se rasca donde le puse la inyección, ¿es normal?",
            ),
        ],
    },
];

impl Situation {
    /// The order of the owner who reads that language, as a clinic writes it.
    pub(super) fn prescription(&self, language: Language) -> &'static str {
        match language {
            Language::English => self.home.english,
            Language::Spanish => self.home.spanish,
        }
    }

    pub(super) fn enrolled_at(&self) -> anyhow::Result<Instant> {
        let (at, ..) = self
            .story
            .first()
            .context("a story begins with the enrolment")?;
        at.parse().with_context(|| (*at).to_owned())
    }

    /// Each instant with what the owner then writes.
    pub(super) fn story(
        &self,
        language: Language,
    ) -> anyhow::Result<Vec<(Instant, Option<&'static str>)>> {
        self.story
            .iter()
            .map(|(at, english, spanish)| {
                let at: Instant = at.parse().with_context(|| (*at).to_owned())?;
                let words = match language {
                    Language::English => english,
                    Language::Spanish => spanish,
                };
                Ok((at, (!words.is_empty()).then_some(*words)))
            })
            .collect()
    }
}
