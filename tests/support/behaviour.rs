//! Owners as they may be: what they say, tap and leave undone, in any order
//! and at any distance, and what follows.

#![allow(dead_code, reason = "each test takes what it needs")]

use super::home::{CONFIG, chat, enrolled, order};
use chrono::TimeDelta;
use proptest::prelude::*;
use vialbell::domain::Instant;
use vialbell::domain::amendment::Alteration;
use vialbell::domain::arrival::{Body, Medium};
use vialbell::domain::decide::{ClinicWord, Decision, Input, Undelivered, decide};
use vialbell::domain::household::Household;
use vialbell::domain::message::{Kind, Message, No, Recipient, Tap, Verdict};
use vialbell::domain::policy::Policy;
use vialbell::domain::prescription::{Length, Order};
use vialbell::domain::quantity::{OrderedDose, Volume};
use vialbell::domain::zone::Zone;

/// How a course is laid out.
#[derive(Debug, Clone)]
pub struct Setting {
    pub zone: &'static str,
    pub first: &'static str,
    pub times: &'static [&'static str],
    pub product: &'static str,
    pub dose: &'static str,
    pub doses: u32,
    pub two_patients: bool,
    pub loss: &'static str,
    pub split: bool,
    pub language: &'static str,
}

/// One thing that happens.
#[derive(Debug, Clone)]
pub enum Act {
    /// So many minutes pass in which the program runs.
    Pass(i64),
    /// So many minutes pass in which it is down.
    Down(i64),
    /// Time passes up to the next instant at which something is due, and a little more.
    UntilDue(i64),
    Say(No, String),
    /// One of the newest buttons that this carer has, counted from the newest.
    TapShown(No, usize),
    /// Any button, an old or a forged one.
    TapAny(No, Tap),
    Garbage(No, String),
    Photo(No, Option<String>),
    Edited(No, String),
    Place(No),
    Gone(No),
    Back(No),
    Moved(No),
    Undelivered(No, Kind, Undelivered),
    Seen(No),
    Reply(No, String),
    /// Somebody at the clinic enters a change of a course's order.
    Order(&'static str, No, Alteration),
    /// Somebody there taps below one of the changes, counted from the newest.
    Answer(&'static str, No, Verdict),
}

pub fn settings() -> impl Strategy<Value = Setting> {
    let place = prop_oneof![
        // Nights on which clocks change come soon after each start: IANA tz database 2026.
        Just((
            "America/Denver",
            "2026-03-07T19:30:00",
            &["07:30:00", "19:30:00"][..]
        )),
        Just((
            "America/Denver",
            "2026-10-31T14:30:00",
            &["02:30:00", "14:30:00"][..]
        )),
        Just((
            "America/New_York",
            "2026-11-01T01:30:00",
            &["01:30:00", "13:30:00"][..]
        )),
        Just((
            "America/New_York",
            "2026-03-07T14:30:00",
            &["02:30:00", "14:30:00"][..]
        )),
        Just((
            "Australia/Lord_Howe",
            "2026-10-03T14:15:00",
            &["02:15:00", "14:15:00"][..]
        )),
        Just((
            "Pacific/Kiritimati",
            "2026-05-01T08:00:00",
            &["08:00:00", "20:00:00"][..]
        )),
        Just((
            "Europe/Lisbon",
            "2026-03-28T13:00:00",
            &["01:00:00", "13:00:00"][..]
        )),
        Just((
            "Asia/Kathmandu",
            "2026-01-01T06:45:00",
            &["06:45:00", "18:45:00"][..]
        )),
    ];
    let drug = prop_oneof![
        Just(("tarnmoss", "1.5 mL")),
        Just(("tarnmoss", "420 mg")),
        Just(("brackenreed", "0.7 mL")),
        Just(("brackenreed", "2.6 mL")),
        Just(("oxbowfern", "4.2 mL")),
        Just(("oxbowfern", "0.05 mL")),
    ];
    (
        place,
        drug,
        1..14_u32,
        any::<bool>(),
        prop_oneof![Just("0"), Just("0.07")],
        any::<bool>(),
        prop_oneof![3 => Just("en"), 1 => Just("es")],
    )
        .prop_map(
            |(
                (zone, first, times),
                (product, dose),
                doses,
                two_patients,
                loss,
                split,
                language,
            )| {
                Setting {
                    zone,
                    first,
                    times,
                    product,
                    dose,
                    doses,
                    two_patients,
                    loss,
                    // A dose that is more than a vial holds needs two of them.
                    split: split || dose == "2.6 mL",
                    language,
                }
            },
        )
}

fn clock() -> impl Strategy<Value = String> {
    (0..24_u32, 0..60_u32, 0..4).prop_map(|(hour, minute, style)| match style {
        0 => format!("{hour}:{minute:02}"),
        1 => format!("{}:{minute:02} am", hour % 12 + 1),
        2 => format!("{} pm", hour % 12 + 1),
        _ => format!("{}:{minute:02}", hour % 12 + 1),
    })
}

fn texts() -> impl Strategy<Value = String> {
    let plain = prop::sample::select(vec![
        "given",
        "Given!",
        "gave it",
        "yes",
        "no",
        "done",
        "not given",
        "he didn't get it",
        "not yet",
        "mixed",
        "mixed a new vial",
        "mixed vial 1",
        "mixed vial 2",
        "mixed vial 3",
        "mixed it yesterday at 1 am",
        "discarded",
        "threw away the old vial",
        "discarded vial 1",
        "vial 2 discarded",
        "threw it out",
        "take back",
        "take that back",
        "that was a mistake, undo",
        "out of the fridge",
        "the vial was out of the fridge for 3 hours",
        "back in the fridge",
        "how much is left?",
        "how many doses are left?",
        "when is the next dose?",
        "last dose?",
        "when do I have to discard it?",
        "how do I mix it?",
        "given to Juniper",
        "given to Pebble",
        "gave half",
        "gave 1 ml",
        "gave 0.7 ml",
        "given 1.5 ml",
        "given yesterday evening",
        "given this morning",
        "Teo gave it",
        "he collapsed and cannot breathe",
        "is it ok to give it late?",
        "where do I park",
        "hello",
        "dada",
        "no se la di",
        "mezclé un frasco nuevo",
        "sí",
        "we are in Lisbon this week",
        "¿cuánto queda?",
        "level 0.4 ml",
        "there is 1.2 ml left in the vial",
        "level 3.6 ml",
        "help",
        "stop",
        "",
    ])
    .prop_map(str::to_owned);
    prop_oneof![
        8 => plain,
        3 => clock().prop_map(|t| format!("given at {t}")),
        2 => clock().prop_map(|t| format!("mixed at {t}")),
        1 => clock().prop_map(|t| format!("mixed a new vial yesterday at {t}")),
        1 => clock().prop_map(|t| format!("not given at {t}")),
        1 => clock().prop_map(|t| format!("given yesterday at {t}")),
        1 => (0..5_000_000_000_u64).prop_map(|n| format!("given {n} minutes ago")),
        1 => (0..200_u64).prop_map(|n| format!("mixed {n} hours ago")),
        1 => (0..400_u32).prop_map(|n| format!("level {}.{:02} ml", n / 100, n % 100)),
        1 => "\\PC{0,60}",
    ]
}

fn taps() -> impl Strategy<Value = Tap> {
    let no = 0..5_u32;
    let dose = 0..16_u32;
    prop_oneof![
        (no.clone(), dose.clone()).prop_map(|(course, dose)| Tap::Given { course, dose }),
        (no.clone(), dose.clone()).prop_map(|(course, dose)| Tap::NotGiven { course, dose }),
        (no.clone(), no.clone()).prop_map(|(course, vial)| Tap::Mixed { course, vial }),
        (no.clone(), no.clone()).prop_map(|(course, vial)| Tap::Discarded { course, vial }),
        (dose.clone(), no.clone()).prop_map(|(question, option)| Tap::Choose { question, option }),
        dose.clone().prop_map(|question| Tap::Neither { question }),
        dose.clone()
            .prop_map(|administration| Tap::TakeBack { administration }),
        (no.clone(), no.clone(), no.clone()).prop_map(|(course, topic, step)| Tap::Step {
            course,
            topic,
            step
        }),
        dose.prop_map(|alert| Tap::Seen {
            household: 1,
            alert
        }),
    ]
}

pub fn acts(most: usize) -> impl Strategy<Value = Vec<Act>> {
    prop::collection::vec(act(), 1..most)
}

/// The same in a household whose orders the clinic changes.
pub fn acts_with_orders(most: usize) -> impl Strategy<Value = Vec<Act>> {
    let act = prop_oneof![5 => act(), 2 => order_of_the_clinic(), 3 => answer_of_the_clinic()];
    prop::collection::vec(act, 1..most)
}

fn somebody() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just("Ines"), Just("Noor")]
}

fn answer_of_the_clinic() -> impl Strategy<Value = Act> {
    let verdict = prop_oneof![
        6 => Just(Verdict::Confirm),
        1 => Just(Verdict::Drop),
        1 => Just(Verdict::Show),
    ];
    let newest = prop_oneof![6 => Just(0), 1 => 0..4_u32];
    (somebody(), newest, verdict).prop_map(|(by, nth, verdict)| Act::Answer(by, nth, verdict))
}

fn order_of_the_clinic() -> impl Strategy<Value = Act> {
    let dose = prop::sample::select(vec!["1.2 mL", "0.4 mL", "14 mg/kg", "3 mL", "90 mL"]);
    let times = prop::sample::select(vec![
        &["08:00:00", "20:00:00"][..],
        &["02:30:00", "14:30:00"],
        &["01:30:00", "13:30:00"],
        &["00:00:00", "12:00:00"],
        &["08:00:00", "09:00:00"],
        &["07:30:00", "19:30:00"],
    ]);
    let zone = prop::sample::select(vec![
        "America/Denver",
        "Europe/Madrid",
        "Australia/Lord_Howe",
        "Pacific/Kiritimati",
    ]);
    let what = prop_oneof![
        3 => dose.prop_map(|dose| Alteration::Dose(OrderedDose::parse(dose).unwrap())),
        3 => times.prop_map(|times| {
            Alteration::Times(times.iter().map(|time| time.parse().unwrap()).collect())
        }),
        1 => zone.prop_map(|zone| Alteration::Zone(Zone::named(zone).unwrap())),
        1 => (0..30_u32).prop_map(|doses| Alteration::Length(Length::Doses(doses))),
        1 => (0..12_u32).prop_map(|days| Alteration::Length(Length::Days(days))),
        1 => Just(Alteration::CarerAdded("Sam".into())),
        1 => Just(Alteration::CarerRemoved("Teo".into())),
        3 => Just(Alteration::Pause),
        4 => Just(Alteration::Resume),
        1 => Just(Alteration::End),
    ];
    let course = prop_oneof![5 => Just(1), 1 => 0..4_u32];
    (somebody(), course, what).prop_map(|(by, course, what)| Act::Order(by, course, what))
}

fn act() -> impl Strategy<Value = Act> {
    let carer = 1..=2_u32;
    let why = prop::sample::select(vec![
        Undelivered::Gone,
        Undelivered::TooLate,
        Undelivered::Refused,
    ]);
    let kind = prop::sample::select(Kind::ALL.to_vec());
    prop_oneof![
        3 => (0..200_i64).prop_map(Act::Pass),
        1 => (200..3_000_i64).prop_map(Act::Pass),
        1 => (0..6_000_i64).prop_map(Act::Down),
        6 => (0..30_i64).prop_map(Act::UntilDue),
        8 => (carer.clone(), texts()).prop_map(|(c, t)| Act::Say(c, t)),
        8 => (carer.clone(), 0..6_usize).prop_map(|(c, n)| Act::TapShown(c, n)),
        3 => (carer.clone(), taps()).prop_map(|(c, t)| Act::TapAny(c, t)),
        1 => (0..4_u32, "[a-z]{0,2}:?[0-9:]{0,12}").prop_map(|(c, t)| Act::Garbage(c, t)),
        1 => (carer.clone(), prop::option::of(texts())).prop_map(|(c, t)| Act::Photo(c, t)),
        1 => (carer.clone(), texts()).prop_map(|(c, t)| Act::Edited(c, t)),
        1 => carer.clone().prop_map(Act::Place),
        1 => carer.clone().prop_map(Act::Gone),
        1 => carer.clone().prop_map(Act::Back),
        1 => carer.clone().prop_map(Act::Moved),
        1 => (0..4_u32, kind, why).prop_map(|(c, k, w)| Act::Undelivered(c, k, w)),
        1 => (0..9_u32).prop_map(Act::Seen),
        1 => (0..9_u32, texts()).prop_map(|(a, t)| Act::Reply(a, t)),
    ]
}

/// A household that lives through acts. Each decision is handed to `heard`
/// together with what it was decided on.
pub struct Life {
    pub policy: Policy,
    pub household: Household,
    pub now: Instant,
    /// All that was said, with when.
    pub said: Vec<(Instant, Message)>,
    pub wake_at: Option<Instant>,
    moves: u32,
}

/// One decision with what it was decided on.
pub struct Decided<'a> {
    pub before: &'a Household,
    pub input: &'a Input,
    pub now: Instant,
    pub policy: &'a Policy,
    pub decision: &'a Decision,
}

impl Setting {
    pub fn orders(&self) -> Vec<Order> {
        let mut first = order(
            "Juniper",
            self.product,
            self.dose,
            self.first,
            self.times,
            self.zone,
            self.doses,
        );
        first.language = self.language.into();
        let mut orders = vec![first];
        if self.two_patients {
            let mut second = order(
                "Pebble",
                "oxbowfern",
                "1 mL",
                self.first,
                self.times,
                self.zone,
                4,
            );
            second.language = self.language.into();
            orders.push(second);
        }
        orders
    }

    pub fn policy(&self) -> Policy {
        let mut policy = CONFIG.policy.clone();
        policy.vial.loss = Volume::parse(self.loss).unwrap();
        policy.vial.split = self.split;
        policy
    }
}

impl Life {
    /// Enrolled an hour before the first dose; nobody has joined.
    pub fn begin(id: i64, setting: &Setting) -> Life {
        let policy = setting.policy();
        let orders = setting.orders();
        let now = orders[0].zone.instant(orders[0].first).at - TimeDelta::hours(1);
        let household = enrolled(id, &orders, &policy, now);
        Life {
            wake_at: vialbell::domain::decide::next_look(&household, &policy),
            policy,
            household,
            now,
            said: Vec::new(),
            moves: 0,
        }
    }

    /// Both carers join.
    pub fn join(&mut self, heard: &mut dyn FnMut(&Decided)) {
        for carer in [1, 2] {
            let chat = chat(&format!("{}-{carer}", self.household.id));
            self.decide(&Input::Joined { carer, chat }, heard);
        }
    }

    pub fn decide(&mut self, input: &Input, heard: &mut dyn FnMut(&Decided)) {
        let decision = decide(&self.household, input, self.now, &self.policy);
        heard(&Decided {
            before: &self.household,
            input,
            now: self.now,
            policy: &self.policy,
            decision: &decision,
        });
        let said = decision.messages.iter().cloned();
        self.said.extend(said.map(|message| (self.now, message)));
        self.wake_at = decision.wake_at;
        self.household = decision.household;
    }

    /// Lets time pass with the program running: it looks whenever it said it would.
    pub fn pass(&mut self, until: Instant, heard: &mut dyn FnMut(&Decided)) {
        let mut looks = 0;
        while let Some(wake) = self.wake_at.filter(|wake| *wake <= until) {
            self.now = wake.max(self.now);
            self.decide(&Input::Wake, heard);
            looks += 1;
            assert!(looks < 2_000, "it looks again and again: {wake}");
        }
        self.now = until;
    }

    pub fn act(&mut self, act: &Act, heard: &mut dyn FnMut(&Decided)) {
        let carer = |carer: No, body: Body| Input::Carer { carer, body };
        let input = match act.clone() {
            Act::Pass(minutes) => return self.pass(self.now + TimeDelta::minutes(minutes), heard),
            Act::UntilDue(minutes) => {
                let due = self.wake_at.unwrap_or(self.now);
                let until = due.max(self.now) + TimeDelta::minutes(minutes);
                return self.pass(until, heard);
            }
            Act::Down(minutes) => {
                self.now += TimeDelta::minutes(minutes);
                Input::Wake
            }
            Act::Say(no, text) => carer(no, Body::Text(text)),
            Act::TapShown(no, nth) => {
                let to = Recipient::Carer(no);
                let shown = self.said.iter().rev().filter(|(_, m)| m.to == to);
                let mut taps = shown.flat_map(|(_, m)| m.buttons.iter().map(|b| b.tap));
                match taps.nth(nth) {
                    Some(tap) => carer(no, Body::Tap(tap.encode())),
                    None => return,
                }
            }
            Act::TapAny(no, tap) => carer(no, Body::Tap(tap.encode())),
            Act::Garbage(no, data) => carer(no, Body::Tap(data)),
            Act::Photo(no, caption) => carer(
                no,
                Body::Medium {
                    what: Medium::Photo,
                    caption,
                },
            ),
            Act::Edited(no, text) => carer(no, Body::Edited(text)),
            Act::Place(no) => carer(
                no,
                Body::Place {
                    north: 38_700_000,
                    east: -9_100_000,
                },
            ),
            Act::Gone(no) => carer(no, Body::Gone),
            Act::Back(no) => carer(no, Body::Back),
            Act::Moved(no) => {
                self.moves += 1;
                let to = format!("{}-{no}-{}", self.household.id, self.moves);
                carer(no, Body::Moved { to })
            }
            Act::Undelivered(carer, kind, why) => Input::Undelivered { carer, kind, why },
            Act::Seen(alert) => Input::Clinic {
                by: "Sam".into(),
                word: ClinicWord::Seen { alert },
            },
            Act::Reply(alert, text) => Input::Clinic {
                by: "Sam".into(),
                word: ClinicWord::Reply { alert, text },
            },
            Act::Order(by, course, what) => Input::Clinic {
                by: by.into(),
                word: ClinicWord::Change {
                    course,
                    what,
                    shown: true,
                },
            },
            Act::Answer(by, nth, verdict) => {
                let mut newest = self.household.amendments.keys().rev();
                let Some(amendment) = newest.nth(nth as usize).copied() else {
                    return;
                };
                Input::Clinic {
                    by: by.into(),
                    word: ClinicWord::Changing { amendment, verdict },
                }
            }
        };
        self.decide(&input, heard);
    }
}
