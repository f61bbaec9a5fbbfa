//! The clinic's own rules: whom to call, when to ask, what is allowed. All of
//! it comes from the clinic's configuration; nothing here is a recommendation.

use super::quantity::{DoseRate, Volume};
use super::question::StepTopic;
use super::reading::Phrase;
use super::rung::Rung;
use super::zone::Zone;
use chrono::{NaiveTime, TimeDelta, Weekday};
use std::collections::BTreeMap;

/// What one clinic has laid down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Policy {
    /// Who the clinic is and how to reach it.
    pub clinic: Clinic,
    /// When doses are asked for, and what may be ordered.
    pub dose: DosePolicy,
    /// How vials are used.
    pub vial: VialPolicy,
    /// The syringes that the clinic hands out, the smallest first, at least one.
    pub syringes: Vec<Syringe>,
    /// Least and greatest body weight by species, in lower case; a species without a row is not checked.
    pub weights: BTreeMap<String, WeightRange>,
    /// When to speak up about supplies, and the sharps containers handed out.
    pub supply: SupplyPolicy,
    /// Who is told of an alert that nobody has seen.
    pub ladder: Vec<Rung>,
    /// Whether an order takes effect only when a second person has confirmed it.
    pub second_person: bool,
    /// How long an invitation may be used.
    pub invitation_valid: TimeDelta,
    /// How long a question of ours may be answered.
    pub question_valid: TimeDelta,
    /// How long after its recording a carer may take a record back.
    pub take_back: TimeDelta,
    /// How long the platform may be out of reach before the clinic is told of it.
    pub unreached: TimeDelta,
    /// How long the words of messages are kept once they were dealt with; the journal stays.
    pub keep_words: TimeDelta,
    /// The clinic's protocol: steps by topic, language, and product (empty product: any).
    pub protocol: Vec<Protocol>,
    /// The clinic's standing notes.
    pub notes: Vec<Note>,
}

/// Who the clinic is and how to reach it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clinic {
    /// The key that tells clinics of one program apart.
    pub key: String,
    /// Its name.
    pub name: String,
    /// Its public phone number.
    pub phone: String,
    /// Whom to call when it is closed.
    pub emergency_phone: Option<String>,
    /// On whose clock its hours are read.
    pub zone: Zone,
    /// When it is open; a day without an entry is closed.
    pub hours: Vec<OpenHours>,
}

/// One span of one weekday in which the clinic is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OpenHours {
    /// The day.
    pub day: Weekday,
    /// From when.
    pub from: NaiveTime,
    /// Until when.
    pub until: NaiveTime,
}

/// When doses are asked for, and what may be ordered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DosePolicy {
    /// How long before its planned time a dose may be recorded as given.
    pub before: TimeDelta,
    /// The window: how long after its planned time it may still be recorded without calling.
    pub window: TimeDelta,
    /// How long after its planned time an unanswered dose is asked for again, ascending, all within the window.
    pub again: Vec<TimeDelta>,
    /// Least span between two planned doses.
    pub gap_least: TimeDelta,
    /// Greatest span between two planned doses.
    pub gap_most: TimeDelta,
    /// The largest volume of one dose.
    pub largest: Volume,
    /// The largest volume at one site, where the clinic sets one.
    pub largest_per_site: Option<Volume>,
    /// The largest dose by body weight, where the clinic sets one.
    pub largest_rate: Option<DoseRate>,
    /// The most doses that one course may have.
    pub most_doses: u32,
    /// The rounding error that is flagged, in hundredths of a percent.
    pub rounding_basis_points: u32,
}

/// How vials are used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct VialPolicy {
    /// How long before a vial's limit to warn, longest first.
    pub warn_before: Vec<TimeDelta>,
    /// What each withdrawal loses.
    pub loss: Volume,
    /// Whether a dose may be drawn from two vials.
    pub split: bool,
    /// By how much a level seen may differ from the books before the clinic is told.
    pub level_differs: Volume,
}

/// When to speak up about supplies, and the sharps containers handed out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SupplyPolicy {
    /// How long before the vials at home run out the owner and the clinic are told.
    pub lead: TimeDelta,
    /// Sharps containers, the smallest first.
    pub containers: Vec<SharpsContainer>,
}

/// A sharps container that the clinic hands out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SharpsContainer {
    /// Its size as the clinic calls it, such as `1 L`.
    pub size: String,
    /// Syringes and needles that it holds when it is full.
    pub holds: u32,
}

/// A syringe that the clinic hands out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Syringe {
    /// What it holds.
    pub size: Volume,
    /// The distance between two of its marks.
    pub graduation: Volume,
}

/// Least and greatest body weight of a species.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WeightRange {
    /// The least.
    pub least: super::quantity::Weight,
    /// The greatest.
    pub most: super::quantity::Weight,
}

/// The clinic's own steps on a topic.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Protocol {
    /// Which procedure.
    pub topic: StepTopic,
    /// Language code.
    pub language: String,
    /// The product's key; none for any product.
    pub product: Option<String>,
    /// The steps in the clinic's words, with `{diluent_ml}` and `{volume_ml}` where an
    /// order's figures belong.
    pub steps: Vec<String>,
}

impl Protocol {
    /// A step, from 0, with the figures in it as people read them.
    pub fn step(&self, at: usize, diluent: &str, volume: &str) -> Option<String> {
        let step = self.steps.get(at)?;
        Some(
            step.replace("{diluent_ml}", diluent)
                .replace("{volume_ml}", volume),
        )
    }
}

/// The clinic's own standing words on a topic.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Note {
    /// Its key.
    pub key: String,
    /// Language code.
    pub language: String,
    /// Words or phrases that ask for it.
    pub asked_by: Vec<Phrase>,
    /// What the clinic says.
    pub words: String,
}

impl Policy {
    /// The smallest syringe that holds a volume.
    pub fn syringe_for(&self, volume: Volume) -> Option<Syringe> {
        self.syringes.iter().copied().find(|s| s.size >= volume)
    }

    /// The clinic's steps on a topic, in a language: those for a product go before those for any.
    pub fn protocol_for(
        &self,
        topic: StepTopic,
        language: &str,
        product: &str,
    ) -> Option<&Protocol> {
        let fits =
            |p: &&Protocol| p.topic == topic && p.language == language && !p.steps.is_empty();
        let all = || self.protocol.iter().filter(fits);
        all()
            .find(|p| p.product.as_deref() == Some(product))
            .or_else(|| all().find(|p| p.product.is_none()))
    }
}

impl Clinic {
    /// When the clinic opens next after an instant: the first span of a day counts.
    pub fn next_opening(&self, after: super::Instant) -> Option<super::Instant> {
        use chrono::{Datelike, Days};
        let today = self.zone.local(after).date_naive();
        (0..=7)
            .filter_map(|days| today.checked_add_days(Days::new(days)))
            .filter_map(|day| {
                let spans = self.hours.iter().filter(|hours| hours.day == day.weekday());
                let first = spans.map(|hours| hours.from).min()?;
                Some(self.zone.instant(day.and_time(first)).at)
            })
            .find(|opens| *opens > after)
    }

    /// The instant itself where the clinic is open, else when it opens next; none where it never opens.
    pub fn open_from(&self, at: super::Instant) -> Option<super::Instant> {
        use chrono::{Datelike, Days};
        if self.is_open(at) {
            return Some(at);
        }
        let today = self.zone.local(at).date_naive();
        (0..=7)
            .filter_map(|days| today.checked_add_days(Days::new(days)))
            .flat_map(|day| {
                let spans = self
                    .hours
                    .iter()
                    .filter(move |hours| hours.day == day.weekday());
                spans.map(move |hours| self.zone.instant(day.and_time(hours.from)).at)
            })
            .filter(|opens| *opens > at)
            .min()
    }

    /// Whether the clinic is open at an instant, by its own clock.
    pub fn is_open(&self, at: super::Instant) -> bool {
        use chrono::Datelike;
        let local = self.zone.local(at).naive_local();
        self.hours.iter().any(|hours| {
            hours.day == local.weekday() && hours.from <= local.time() && local.time() < hours.until
        })
    }
}
