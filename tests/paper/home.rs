//! Invented households for the papers.

use chrono::TimeDelta;
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::Instant;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::household::{Course, Household};
use vialbell::domain::policy::Policy;
use vialbell::domain::quantity::Volume;
use vialbell::domain::vial::{discard_by, spread};
use vialbell::paper::{Invitation, SheetInput};
use vialbell::wording::Wording;

pub struct Home {
    pub household: Household,
    pub policy: Policy,
    pub wording: Wording,
    pub now: Instant,
}

/// What a test may set of a prescription.
#[derive(Clone)]
pub struct Setting<'a> {
    pub patient: &'a str,
    pub owner: &'a str,
    pub language: &'a str,
    pub zone: &'a str,
    pub product: &'a str,
    pub dose: &'a str,
    pub times: &'a str,
    pub first: &'a str,
    pub days: u32,
}

impl Default for Setting<'_> {
    fn default() -> Self {
        Setting {
            patient: "Juniper",
            owner: "Maren Oakhollow",
            language: "en",
            zone: "America/Denver",
            product: "tarnmoss",
            dose: "14 mg/kg",
            times: "\"07:30\", \"19:30\"",
            first: "2026-03-05T19:30",
            days: 28,
        }
    }
}

impl Setting<'_> {
    pub fn spanish() -> Self {
        Setting {
            patient: "Ñandú",
            language: "es",
            zone: "America/Mexico_City",
            days: 60,
            ..Setting::default()
        }
    }
}

/// A link of the length that invitations have.
pub const LINK: &str = "https://t.me/our_clinic_bot?start=Ab3_dE-9fGhJkLmNpQrStUvW";

/// Names that no layout and no format may trip over.
pub const ODD_NAMES: &[&str] = &[
    "",
    " ",
    "Bo",
    "Maximiliana Theodora von und zu Hohenwaldenberg-Lindenau III",
    "\u{1F436}\u{200D}\u{1F9BA} \u{1F468}\u{200D}\u{1F469}\u{200D}\u{1F467}",
    "\u{202E}olleh\u{202C} \u{2067}abc",
    "רקס הגדול",
    "بندق",
    "日本犬ぽち",
    "<b>&\"'</b>]]> {\u{0}} %s \\n",
    "Rex;TZID=UTC,x:y\r\nEND:VCALENDAR\r\nBEGIN:VEVENT",
    "A\u{0301}\u{0301}\u{0301}\u{0301}\u{0301}\u{0301}\u{0301}\u{0301}",
    "tab\there\u{2028}line\u{85}end",
    "Wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww",
];

impl Home {
    pub fn new(setting: &Setting<'_>) -> Home {
        let config = Config::built_in();
        let Setting {
            language,
            zone,
            product,
            dose,
            times,
            first,
            days,
            ..
        } = setting.clone();
        let prescription = format!(
            "[patient]\nname = \"P\"\nspecies = \"dog\"\nweight_kg = \"30\"\n\
             [owner]\nname = \"O\"\nlanguage = \"{language}\"\nzone = \"{zone}\"\n\
             [prescription]\nproduct = \"{product}\"\ndose = \"{dose}\"\ntimes = [{times}]\n\
             first = {first}\ndays = {days}\nveterinarian = \"Dr. Idris Fennimore\"\n"
        );
        let order = parse_prescription(&prescription, &config.formulary, &["en", "es"]).unwrap();
        let now = order.zone.instant(order.first).at - TimeDelta::hours(4);
        let mut policy = config.policy;
        policy.dose.gap_least = TimeDelta::hours(1);
        policy.dose.gap_most = TimeDelta::hours(24);
        policy.dose.most_doses = 2000;
        let worked = order.work_out(&policy, now).unwrap();
        let mut household = Household::new(7, "clinic", setting.owner, language, order.zone);
        let changes = [
            Change::PatientAdded {
                patient: 1,
                name: setting.patient.into(),
                species: order.species.clone(),
                weight: order.weight_written.clone(),
            },
            Change::CourseStarted {
                course: 1,
                patient: 1,
                product: order.product.clone(),
                ordered: order.dose.to_string(),
                veterinarian: order.veterinarian.clone(),
                syringe: worked.syringe.size,
                doses: worked.doses,
                plan: worked.plan,
                entered_by: "Rowan Pell".into(),
                at: now,
            },
            Change::CourseConfirmed {
                course: 1,
                at: now,
                by: "Ines Marlow".into(),
            },
        ];
        for change in &changes {
            apply(&mut household, change);
        }
        Home {
            household,
            policy,
            wording: Wording::load().unwrap(),
            now,
        }
    }

    pub fn sheet_input(&self) -> SheetInput<'_> {
        SheetInput {
            household: &self.household,
            course: self.course(),
            policy: &self.policy,
            wording: &self.wording,
            invitation: Some(Invitation {
                link: LINK,
                until: self.now + self.policy.invitation_valid,
            }),
            now: self.now,
        }
    }

    pub fn course(&self) -> &Course {
        &self.household.courses[&1]
    }

    /// Plays the course up to an instant as a household would: vials are mixed
    /// when they are needed, doses are given some minutes late, and of the
    /// doses named some are not given or never answered.
    pub fn live_until(&mut self, until: Instant, not_given: &[u32], unanswered: &[u32]) {
        let mut records = 0;
        for dose in self.course().dose_numbers() {
            let planned = self.course().planned(dose, self.household.zone);
            let at = planned.at + TimeDelta::minutes(i64::from(dose * 7 % 25));
            if at > until {
                break;
            }
            if unanswered.contains(&dose) {
                self.apply(Change::DoseClosed {
                    course: 1,
                    dose,
                    local: planned.local,
                    zone: planned.zone,
                    planned_at: planned.at,
                    at: planned.at + self.policy.dose.window,
                });
                continue;
            }
            records += 1;
            let given = !not_given.contains(&dose);
            let draws = if given { self.draw(at) } else { Vec::new() };
            let volume = if given {
                self.course().plan(dose).volume
            } else {
                Volume::ZERO
            };
            self.apply(Change::Administered {
                administration: records,
                course: 1,
                dose,
                local: planned.local,
                zone: planned.zone,
                planned_at: planned.at,
                given,
                at,
                recorded_at: at,
                by: "Maren".into(),
                carer: 1,
                volume,
                draws,
            });
        }
        self.now = until;
    }

    fn draw(&mut self, at: Instant) -> Vec<(Option<u32>, Volume, Volume)> {
        let volume = self.course().plans[0].volume;
        loop {
            let usable = self.household.usable_vials(self.course(), at);
            let draws = spread(volume, &usable, Volume::ZERO, true);
            if draws.iter().all(|draw| draw.vial.is_some()) {
                return draws.iter().map(|d| (d.vial, d.volume, d.lost)).collect();
            }
            let mixed_at = at - TimeDelta::minutes(10 + i64::try_from(usable.len()).unwrap());
            let product = self.course().product.clone();
            self.apply(Change::VialMixed {
                course: 1,
                vial: self.course().next_vial(),
                mixed_at,
                recorded_at: at,
                by: "Maren".into(),
                available: product.available,
                discard_by: discard_by(mixed_at, &product, self.household.zone),
            });
        }
    }

    pub fn apply(&mut self, change: Change) {
        apply(&mut self.household, &change);
    }
}
