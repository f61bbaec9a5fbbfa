//! What one seed decides before anything happens: homes, people, orders, faults.

use super::dice::Dice;
use super::home::{CONFIG, order};
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::domain::policy::Policy;
use vialbell::domain::prescription::{Length, Order};
use vialbell::domain::quantity::Volume;
use vialbell::domain::zone::Zone;

/// Everything that a seed decides at the beginning.
pub struct World {
    pub seed: u64,
    pub start: Instant,
    pub days: i64,
    pub homes: Vec<Home>,
    pub staff: Staff,
    pub policy: Policy,
    /// Begins under the older tz release at hand; a fault brings the newer one.
    pub old_rules: bool,
    /// Whether the program keeps to a platform's limits by itself.
    pub paced: bool,
    pub faults: Vec<Fault>,
}

/// Which part of a world is left out: how a failure is made small.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cut {
    pub days: i64,
    /// Numbers of the faults that strike; all where none is named.
    pub faults: Option<Vec<usize>>,
    /// Numbers of the homes; all where none is named.
    pub homes: Option<Vec<usize>>,
}

pub struct Home {
    pub index: usize,
    pub zone: &'static str,
    pub people: Vec<Person>,
    pub orders: Vec<Order>,
    /// Two carers tap in the same second.
    pub together: bool,
    pub mixes_late: bool,
    /// Of a hundred days, on how many somebody sees a sign of danger.
    pub worried: u64,
    /// Whether a second person at the clinic has to confirm the orders.
    pub asked: bool,
}

#[derive(Clone)]
pub struct Person {
    pub name: &'static str,
    pub address: String,
    pub spanish: bool,
    pub temper: Temper,
    /// Minutes after the enrolment.
    pub joins_after: i64,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Temper {
    Prompt,
    Late,
    Silent,
    Garbled,
    DoubleTapping,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Staff {
    Prompt,
    Slow,
    Absent,
}

#[derive(Debug, Clone)]
pub struct Fault {
    pub at: Instant,
    pub what: What,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// The program dies at the nth commit from here, before it lasts or right after.
    CrashAtCommit { nth: u32, lasts: bool },
    /// It dies at the nth send from here, before the platform took it or right after.
    CrashAtSend { nth: u32, arrived: bool },
    /// It is switched off.
    Down { minutes: i64 },
    /// Nothing goes in or out.
    Outage { minutes: i64 },
    /// The platform asks to wait.
    TooMany { sends: u32, seconds: i64 },
    /// Sends that never arrive, without an answer.
    Lost { sends: u32 },
    /// Sends that arrive, without an answer.
    Doubled { sends: u32 },
    /// What was handed over before is handed over again.
    Repeated { updates: u32 },
    /// Updates are handed over in another order.
    Shuffled { batches: u32 },
    /// The machine's clock is wrong for a while.
    Clock { off_s: i64, minutes: i64 },
    /// No page can be added to the database.
    DiskFull { minutes: i64 },
    /// Another program holds the database.
    Busy { minutes: i64 },
    /// The program is brought up to date, and with it the tz release.
    NewRules,
    /// A carer closes the chat for a while.
    Blocked {
        home: usize,
        person: usize,
        minutes: i64,
    },
    /// A carer's chat goes on under another address.
    Moves { home: usize, person: usize },
}

impl What {
    /// As the summary of a run names it.
    pub fn kind(&self) -> &'static str {
        match self {
            What::CrashAtCommit { lasts: false, .. } => "crash before a commit lasts",
            What::CrashAtCommit { lasts: true, .. } => "crash after a commit lasts",
            What::CrashAtSend { arrived: false, .. } => "crash before a send arrives",
            What::CrashAtSend { arrived: true, .. } => "crash after a send arrived",
            What::Down { .. } => "switched off",
            What::Outage { .. } => "outage",
            What::TooMany { .. } => "too many requests (429)",
            What::Lost { .. } => "lost sends",
            What::Doubled { .. } => "doubled sends",
            What::Repeated { .. } => "repeated updates",
            What::Shuffled { .. } => "reordered updates",
            What::Clock { off_s, .. } if *off_s < 0 => "clock steps back",
            What::Clock { .. } => "clock steps ahead",
            What::DiskFull { .. } => "full disk",
            What::Busy { .. } => "busy database",
            What::NewRules => "new zone rules",
            What::Blocked { .. } => "chat closed for a while",
            What::Moves { .. } => "chat moved",
        }
    }

    /// Every kind there is.
    pub const KINDS: usize = 18;
}

impl Temper {
    pub fn name(self) -> &'static str {
        match self {
            Temper::Prompt => "prompt",
            Temper::Late => "late",
            Temper::Silent => "silent",
            Temper::Garbled => "garbled",
            Temper::DoubleTapping => "double-tapping",
        }
    }
}

/// Zones with a night on which clocks change and days before it: IANA tz
/// database 2026f. The last ones have other rules in the older release at hand.
const PLACES: &[(&str, &str)] = &[
    ("America/Denver", "2026-02-20"),
    ("America/Denver", "2026-10-20"),
    ("America/New_York", "2026-10-15"),
    ("Europe/Madrid", "2026-03-15"),
    ("Europe/Lisbon", "2026-10-10"),
    ("Australia/Lord_Howe", "2026-09-20"),
    ("Australia/Lord_Howe", "2026-03-20"),
    ("Asia/Kathmandu", "2026-01-10"),
    ("Pacific/Kiritimati", "2026-05-01"),
    ("America/Santiago", "2026-03-20"),
    ("America/St_Johns", "2026-10-18"),
];
const CHANGED: &[(&str, &str)] = &[
    ("America/Vancouver", "2026-10-12"),
    ("America/Edmonton", "2026-10-14"),
    ("America/Winnipeg", "2026-10-16"),
    ("Africa/Casablanca", "2026-10-05"),
];

const NAMES: &[&str] = &[
    "Maren", "Teo", "Ilka", "Bram", "Odette", "Severin", "Paz", "Jolan",
];
const ANIMALS: &[&str] = &["Juniper", "Pebble", "Hazel", "Bramble", "Nutkin", "Fern"];
const DOSES: &[(&str, &str)] = &[
    ("tarnmoss", "1.5 mL"),
    ("tarnmoss", "420 mg"),
    ("tarnmoss", "1.4 mL"),
    ("brackenreed", "0.7 mL"),
    ("brackenreed", "2.6 mL"),
    ("oxbowfern", "4.2 mL"),
    ("oxbowfern", "1 mL"),
];
/// Pairs of wall times: ordinary ones, and those that a change of clocks hits.
const TIMES: &[[&str; 2]] = &[
    ["07:30:00", "19:30:00"],
    ["08:00:00", "20:00:00"],
    ["06:45:00", "18:45:00"],
    ["02:30:00", "14:30:00"],
    ["01:30:00", "13:30:00"],
];

/// How much goes on in a world. Nearly all are small and have all their faults in
/// the days of a short course: ten of them are lived in the time of a busy one, and
/// what goes wrong is found by many orders of events, not by many of the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Size {
    /// One home with a course of a few days.
    Week,
    /// One home with a course of any length.
    Month,
    /// Up to three homes, with two animals here and there.
    Busy,
}

/// Doses of a long course: four weeks.
pub const LONG: u32 = 56;

impl Size {
    fn of(dice: &mut Dice) -> Size {
        match dice.below(50) {
            0 => Size::Busy,
            1 | 2 => Size::Month,
            _ => Size::Week,
        }
    }

    /// In which the faults fall.
    fn days(self) -> i64 {
        match self {
            Size::Week => 7,
            Size::Month | Size::Busy => 30,
        }
    }

    /// Up to when it may begin, after the day that its place names: a short
    /// course has to begin close to the night on which clocks change to see it.
    fn begins_within_days(self) -> i64 {
        match self {
            Size::Week => 18,
            Size::Month | Size::Busy => 5,
        }
    }

    fn homes(self, dice: &mut Dice) -> usize {
        match (self, dice.below(10)) {
            (Size::Week | Size::Month, _) | (Size::Busy, 0..=3) => 1,
            (Size::Busy, 4..=7) => 2,
            (Size::Busy, _) => 3,
        }
    }

    fn animals(self, dice: &mut Dice) -> usize {
        let two = match self {
            Size::Week | Size::Month => 8,
            Size::Busy => 25,
        };
        if dice.percent(two) { 2 } else { 1 }
    }

    fn doses(self, dice: &mut Dice) -> i64 {
        match self {
            Size::Week => dice.between(2, 8),
            Size::Month | Size::Busy if dice.percent(60) => dice.between(2, 24),
            Size::Month | Size::Busy => LONG.into(),
        }
    }
}

impl World {
    pub fn of(seed: u64, cut: &Cut) -> World {
        let mut dice = Dice::of(seed, "world");
        let size = Size::of(&mut dice);
        // The change of rules shows weeks later only.
        let old_rules = size != Size::Week && dice.percent(60);
        let places = if old_rules { CHANGED } else { PLACES };
        let (_, day) = *dice.pick(places);
        let start: Instant = format!("{day}T00:00:00Z").parse().expect("a day");
        let latest = size.begins_within_days() * 1_440;
        let start = start + TimeDelta::minutes(dice.between(0, latest));
        let homes = size.homes(&mut dice);
        let mut policy = CONFIG.policy.clone();
        policy.vial.split = true;
        if dice.percent(30) {
            policy.vial.loss = Volume::parse("0.07").expect("a volume");
        }
        let homes: Vec<Home> = (0..homes)
            .filter(|index| cut.homes.as_ref().is_none_or(|named| named.contains(index)))
            .map(|index| Home::of(seed, index, size, places, start))
            .collect();
        let staff = *dice.pick(&[Staff::Prompt, Staff::Slow, Staff::Absent]);
        let mut world = World {
            seed,
            start,
            days: cut.days,
            homes,
            staff,
            policy,
            old_rules,
            paced: dice.percent(50),
            faults: Vec::new(),
        };
        world.faults = faults(seed, start, size, old_rules)
            .into_iter()
            .enumerate()
            .filter(|(index, _)| {
                cut.faults
                    .as_ref()
                    .is_none_or(|named| named.contains(index))
            })
            .map(|(_, fault)| fault)
            .collect();
        world
    }
}

impl Home {
    /// Days from the world's beginning on in which there are doses, and some more.
    pub fn treated_days(&self) -> i64 {
        let doses = self.orders.iter().map(|order| match order.length {
            Length::Doses(doses) => i64::from(doses),
            Length::Days(days) => i64::from(days) * 2,
        });
        doses.max().unwrap_or(0) / 2 + 4
    }

    fn of(
        seed: u64,
        index: usize,
        size: Size,
        places: &[(&'static str, &str)],
        start: Instant,
    ) -> Home {
        let mut dice = Dice::of(seed, &format!("home {index}"));
        let (zone, _) = *dice.pick(places);
        let spanish = dice.percent(30);
        let count = if dice.percent(45) { 2 } else { 1 };
        let tempers = [
            Temper::Prompt,
            Temper::Prompt,
            Temper::Late,
            Temper::Silent,
            Temper::Garbled,
            Temper::DoubleTapping,
        ];
        let people: Vec<Person> = (0..count)
            .map(|no| Person {
                name: NAMES[(index * 2 + no) % NAMES.len()],
                address: format!("{}", 100 * (index + 1) + no),
                spanish,
                temper: *dice.pick(&tempers),
                joins_after: if dice.percent(80) {
                    1
                } else {
                    dice.between(2, 2_000)
                },
            })
            .collect();
        let animals = size.animals(&mut dice);
        let orders = (0..animals)
            .map(|n| {
                let (product, dose) = *dice.pick(DOSES);
                let times = dice.pick(TIMES);
                let zone_of = Zone::named(zone).expect("a zone");
                let day = zone_of.local(start).date_naive() + chrono::Days::new(1 + dice.below(2));
                let first = format!("{day}T{}", times[usize::from(dice.percent(50))]);
                let doses = size.doses(&mut dice);
                let mut order = order(
                    ANIMALS[(index * 2 + n) % ANIMALS.len()],
                    product,
                    dose,
                    &first,
                    times,
                    zone,
                    u32::try_from(doses).expect("a few"),
                );
                order.owner = people[0].name.into();
                order.carers = people[1..].iter().map(|p| p.name.into()).collect();
                order.language = if spanish { "es" } else { "en" }.into();
                if dice.percent(30) {
                    order.vials_dispensed =
                        Some(u32::try_from(dice.between(1, 20)).expect("a few"));
                }
                order
            })
            .collect();
        Home {
            index,
            zone,
            people,
            orders,
            together: dice.percent(40),
            mixes_late: dice.percent(35),
            worried: dice.below(12),
            asked: dice.percent(30),
        }
    }
}

/// The faults of a seed; one seed in eight has none.
fn faults(seed: u64, start: Instant, size: Size, old_rules: bool) -> Vec<Fault> {
    let mut dice = Dice::of(seed, "faults");
    let mut faults = Vec::new();
    let count = if dice.percent(12) {
        0
    } else {
        dice.between(4, 24)
    };
    for _ in 0..count {
        let at = start + TimeDelta::seconds(dice.between(3_600, size.days() * 86_400));
        let what = match dice.below(14) {
            0 | 1 => What::CrashAtCommit {
                nth: u32::try_from(dice.between(1, 9)).expect("a few"),
                lasts: dice.percent(50),
            },
            2 | 3 => What::CrashAtSend {
                nth: u32::try_from(dice.between(1, 4)).expect("a few"),
                arrived: dice.percent(50),
            },
            4 => What::Down {
                minutes: long(&mut dice),
            },
            5 => What::Outage {
                minutes: long(&mut dice),
            },
            6 => What::TooMany {
                sends: u32::try_from(dice.between(1, 4)).expect("a few"),
                seconds: dice.between(1, 1_800),
            },
            7 => What::Lost {
                sends: u32::try_from(dice.between(1, 6)).expect("a few"),
            },
            8 => What::Doubled {
                sends: u32::try_from(dice.between(1, 6)).expect("a few"),
            },
            9 => match dice.percent(50) {
                true => What::Repeated {
                    updates: u32::try_from(dice.between(1, 6)).expect("a few"),
                },
                false => What::Shuffled {
                    batches: u32::try_from(dice.between(1, 4)).expect("a few"),
                },
            },
            10 => What::Clock {
                off_s: *dice.pick(&[-7_200, -600, -61, -5, 5, 90, 900, 3_600, 10_800]),
                minutes: dice.between(1, 300),
            },
            11 => What::DiskFull {
                minutes: dice.between(1, 120),
            },
            12 => What::Busy {
                minutes: dice.between(1, 20),
            },
            _ => match dice.percent(70) {
                true => What::Blocked {
                    home: usize::try_from(dice.below(3)).expect("an index"),
                    person: usize::try_from(dice.below(2)).expect("an index"),
                    minutes: dice.between(30, 3_000),
                },
                false => What::Moves {
                    home: usize::try_from(dice.below(3)).expect("an index"),
                    person: usize::try_from(dice.below(2)).expect("an index"),
                },
            },
        };
        faults.push(Fault { at, what });
    }
    if old_rules {
        let at = start + TimeDelta::minutes(dice.between(1_440, 28 * 1_440));
        faults.push(Fault {
            at,
            what: What::NewRules,
        });
    }
    faults.sort_by_key(|fault| fault.at);
    faults
}

/// Mostly minutes, sometimes half a day.
fn long(dice: &mut Dice) -> i64 {
    match dice.percent(70) {
        true => dice.between(1, 90),
        false => dice.between(90, 900),
    }
}
