//! What people do with what they read, and of their own accord.

use super::dice::Dice;
use super::world::{Home, Person, Staff, Temper};
use chrono::{TimeDelta, Timelike};
use vialbell::channel::OutgoingButton;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Body, Medium};
use vialbell::domain::zone::Zone;

/// Something that a person does after a while.
#[derive(Debug, Clone)]
pub struct Deed {
    pub after: TimeDelta,
    pub body: Body,
    /// Whether it tells of a sign of danger.
    pub red_flag: bool,
}

impl Deed {
    fn new(after_s: i64, body: Body) -> Deed {
        Deed {
            after: TimeDelta::seconds(after_s),
            body,
            red_flag: false,
        }
    }

    fn tap(after_s: i64, data: &str) -> Deed {
        Deed::new(after_s, Body::Tap(data.into()))
    }

    fn say(after_s: i64, text: impl Into<String>) -> Deed {
        Deed::new(after_s, Body::Text(text.into()))
    }
}

/// Signs of danger, each judged an emergency in tests/corpus.
const DANGER: &[&str] = &[
    "welts all over her body",
    "so much blood",
    "he's turning blue",
    "wheezing badly",
    "gave the shot then he went limp",
    "done 7:30, now shes collapsed",
    "help she's not responding",
];
const DANGER_SPANISH: &[&str] = &["no puede respirar bien", "se desvaneció", "no resipra"];

const GARBAGE: &[&str] = &[
    "asdf",
    "ok ok",
    "👍",
    "???",
    "g:1:1",
    "\u{202e}nevig",
    "giv\u{200b}en",
    "lol",
    "see you",
    "12",
    "0.5 ml",
];

/// Buttons that nobody was shown.
const FORGED: &[&str] = &["g:9:9", "n:1:400", "x:77", "t:3", "zzz", "a:1:1", "o:1:1"];

const SAYINGS: &[&str] = &[
    "how much is left?",
    "when is the next dose?",
    "when do I have to discard it?",
    "how do I mix it?",
    "is it ok to give it late?",
    "where do I park",
    "help",
    "stop",
    "given",
    "not given",
    "not yet",
    "yes",
    "no",
    "given yesterday evening",
    "given this morning",
    "given at 8",
    "gave half",
    "mixed a new vial",
    "mixed it yesterday at 9 pm",
    "discarded vial 1",
    "threw away the old vial",
    "take that back",
    "the vial was out of the fridge for 3 hours",
    "back in the fridge",
    "there is 1.2 ml left in the vial",
    "level 0.4 ml",
    "we have 4 vials left",
    "we are in Lisbon this week",
];
const SAYINGS_SPANISH: &[&str] = &[
    "¿cuánto queda?",
    "no se la di",
    "ya se la puse",
    "mezclé un frasco nuevo",
    "sí",
    "no",
    "¿cuándo toca la próxima?",
    "tiré el frasco",
];

/// What a carer does with a message that has come, if anything.
///
/// `nth` counts how often these buttons have come before.
pub fn reads(
    seed: u64,
    home: &Home,
    person: &Person,
    buttons: &[OutgoingButton],
    nth: u32,
    now: Instant,
) -> Vec<Deed> {
    let Some(first) = buttons.first() else {
        return Vec::new();
    };
    let data = first.data.as_str();
    // Two who act together throw the same dice.
    let whose = match home.together {
        true => "both",
        false => person.address.as_str(),
    };
    let mut dice = Dice::of(seed, &format!("{} {whose} {data} {nth}", home.index));
    match data.split(':').next() {
        Some("g") => asked_for_dose(&mut dice, home, person, buttons, now),
        Some("m") => asked_to_mix(&mut dice, home, person, data, now),
        Some("c") => asked_something(&mut dice, person, buttons),
        Some("t") if dice.percent(6) => vec![Deed::tap(dice.between(5, 1_500), data)],
        Some("d") if dice.percent(70) => vec![Deed::tap(dice.between(60, 7_200), data)],
        Some("s") if dice.percent(50) => vec![Deed::tap(dice.between(20, 200), data)],
        _ => Vec::new(),
    }
}

fn asked_for_dose(
    dice: &mut Dice,
    home: &Home,
    person: &Person,
    buttons: &[OutgoingButton],
    now: Instant,
) -> Vec<Deed> {
    let given = buttons[0].data.as_str();
    let not_given = buttons.last().map_or(given, |button| button.data.as_str());
    let (usually, after_s) = match person.temper {
        Temper::Prompt => (90, dice.between(20, 700)),
        Temper::Late => (80, dice.between(1_500, 13_000)),
        Temper::Silent => (15, dice.between(60, 9_000)),
        Temper::Garbled => (85, dice.between(60, 2_400)),
        Temper::DoubleTapping => (92, dice.between(20, 1_500)),
    };
    if !dice.percent(usually) {
        return Vec::new();
    }
    let mut deeds = match dice.below(20) {
        0 => vec![Deed::tap(after_s, not_given)],
        1 => vec![Deed::say(
            after_s,
            if person.spanish {
                "ya se la puse"
            } else {
                "given"
            },
        )],
        2 => vec![Deed::say(
            after_s,
            said_with_time(home, now, after_s, person.spanish),
        )],
        3 => vec![Deed::say(
            after_s,
            if person.spanish {
                "no se la di"
            } else {
                "he didn't get it"
            },
        )],
        _ => vec![Deed::tap(after_s, given)],
    };
    match person.temper {
        Temper::DoubleTapping => {
            for _ in 0..dice.between(1, 2) {
                deeds.push(Deed::tap(after_s + dice.between(0, 2), given));
            }
        }
        Temper::Garbled => {
            let before = after_s - dice.between(1, 50);
            deeds.push(Deed::say(before, *dice.pick(GARBAGE)));
        }
        _ => {}
    }
    deeds
}

/// "given at 7:40", as the clock in the kitchen showed a little before.
fn said_with_time(home: &Home, now: Instant, after_s: i64, spanish: bool) -> String {
    let zone = Zone::named(home.zone).expect("a zone");
    let said = zone.local(now + TimeDelta::seconds(after_s / 2));
    let (hour, minute) = (said.hour(), said.minute());
    match spanish {
        true => format!("se la puse a las {hour}:{minute:02}"),
        false => format!("given at {hour}:{minute:02}"),
    }
}

fn asked_to_mix(
    dice: &mut Dice,
    home: &Home,
    person: &Person,
    data: &str,
    now: Instant,
) -> Vec<Deed> {
    if home.mixes_late && dice.percent(70) {
        let after_s = dice.between(7_200, 60_000);
        let zone = Zone::named(home.zone).expect("a zone");
        let mixed = zone.local(now + TimeDelta::minutes(10));
        return vec![match dice.percent(50) {
            true => Deed::tap(after_s, data),
            false => Deed::say(
                after_s,
                format!("mixed at {}:{:02}", mixed.hour(), mixed.minute()),
            ),
        }];
    }
    let usually = match person.temper {
        Temper::Silent => 25,
        _ => 90,
    };
    match dice.percent(usually) {
        true => vec![Deed::tap(dice.between(5, 600), data)],
        false => Vec::new(),
    }
}

fn asked_something(dice: &mut Dice, person: &Person, buttons: &[OutgoingButton]) -> Vec<Deed> {
    if !dice.percent(85) {
        return Vec::new();
    }
    let after_s = match person.temper {
        Temper::Late => dice.between(60, 9_000),
        _ => dice.between(5, 240),
    };
    let button = match dice.percent(60) {
        true => &buttons[0],
        false => dice.pick(buttons),
    };
    vec![Deed::tap(after_s, &button.data)]
}

/// What a carer does on a day without being asked: seconds after its beginning.
pub fn on_a_day(seed: u64, home: &Home, person: &Person, day: i64, seen: &[String]) -> Vec<Deed> {
    let mut dice = Dice::of(
        seed,
        &format!("{} {} day {day}", home.index, person.address),
    );
    let mut deeds = Vec::new();
    // Whose animal is not treated any more seldom has something to say, and little of it is new.
    if day > home.treated_days() && !dice.percent(10) {
        return deeds;
    }
    if dice.percent(home.worried) {
        let words = match person.spanish {
            true => *dice.pick(DANGER_SPANISH),
            false => *dice.pick(DANGER),
        };
        let body = match dice.below(10) {
            0 => Body::Edited(words.into()),
            1 => Body::Medium {
                what: Medium::Photo,
                caption: Some(words.into()),
            },
            _ => Body::Text(words.into()),
        };
        deeds.push(Deed {
            red_flag: true,
            ..Deed::new(dice.between(0, 86_399), body)
        });
    }
    let often = match person.temper {
        Temper::Garbled => 70,
        Temper::Silent => 10,
        _ => 35,
    };
    if dice.percent(often) {
        let at = dice.between(0, 86_399);
        deeds.push(match dice.below(12) {
            0 | 1 => Deed::say(at, *dice.pick(GARBAGE)),
            2 => Deed::new(
                at,
                Body::Medium {
                    what: *dice.pick(&[Medium::Photo, Medium::Voice, Medium::Sticker]),
                    caption: None,
                },
            ),
            3 => Deed::new(at, Body::Edited((*dice.pick(SAYINGS)).into())),
            4 => Deed::tap(at, dice.pick::<&str>(FORGED)),
            5 if person.spanish => Deed::say(at, *dice.pick(SAYINGS_SPANISH)),
            6 | 7 if !seen.is_empty() => Deed::tap(at, dice.pick::<String>(seen)),
            _ => Deed::say(at, *dice.pick(SAYINGS)),
        });
    }
    deeds
}

/// What somebody at the clinic does with a message: the deed, and who does it.
///
/// `nth` counts how often these buttons have come before. Who saw the board because of
/// a button, and sees the same button on it, does not write for the board again.
pub fn clinic_reads(
    seed: u64,
    staff: Staff,
    buttons: &[OutgoingButton],
    number: &str,
    nth: u32,
) -> Vec<(Deed, &'static str, Option<String>)> {
    let Some(button) = buttons.first() else {
        return Vec::new();
    };
    let mut dice = Dice::of(seed, &format!("clinic {}", button.data));
    if button.data.starts_with("o:") {
        // Ines entered it: her own tap counts for nothing.
        return vec![
            (Deed::tap(dice.between(10, 600), &button.data), "Ines", None),
            (
                Deed::tap(dice.between(601, 40_000), &button.data),
                "Noor",
                None,
            ),
        ];
    }
    let after_s = match staff {
        Staff::Prompt => dice.between(30, 900),
        Staff::Slow => dice.between(3_600, 40_000),
        Staff::Absent => return Vec::new(),
    };
    match dice.below(10) {
        0..=5 => vec![(Deed::tap(after_s, &button.data), "Noor", None)],
        6 | 7 => vec![(
            Deed::say(after_s, "Please call us before the next one."),
            "Noor",
            Some(number.into()),
        )],
        8 if nth == 0 => vec![(Deed::say(after_s, "board"), "Noor", None)],
        _ => Vec::new(),
    }
}
