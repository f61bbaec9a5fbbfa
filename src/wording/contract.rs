//! Which facts each kind of message carries: what `decide` promises and what a
//! sentence may use.

use crate::domain::message::{Kind, Message, Value};

/// What a fact is, and so how it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// An instant: weekday, day, month and time.
    At,
    /// A volume in mL.
    Volume,
    /// A whole number, usable in plural rules.
    Count,
    /// A whole number of minutes, shown in hours and minutes.
    Minutes,
    /// Planned times of the day.
    Times,
    /// When the clinic is open.
    Hours,
    /// One of these words; a sentence selects on it and never prints it.
    Code(&'static [&'static str]),
    /// A name, a phone number: words on one line, as they are.
    Line,
    /// Who did something: a name, or in quotation marks the words of whoever
    /// wrote it, such as “my wife”.
    Person,
    /// What an owner wrote: on one line, in quotation marks, bounded.
    Quote,
    /// The clinic's own words or a table: several lines, as they are.
    Block,
}

/// One fact of a kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fact {
    /// Its key in [`Message::facts`].
    pub key: &'static str,
    /// How it is shown.
    pub shape: Shape,
    /// Whether a message may come without it.
    pub optional: bool,
}

impl Fact {
    pub(super) const fn new(key: &'static str, shape: Shape) -> Fact {
        Fact {
            key,
            shape,
            optional: false,
        }
    }

    pub(super) const fn maybe(self) -> Fact {
        Fact {
            optional: true,
            ..self
        }
    }
}

pub(super) const fn at(key: &'static str) -> Fact {
    Fact::new(key, Shape::At)
}
pub(super) const fn volume(key: &'static str) -> Fact {
    Fact::new(key, Shape::Volume)
}
pub(super) const fn count(key: &'static str) -> Fact {
    Fact::new(key, Shape::Count)
}
const fn minutes(key: &'static str) -> Fact {
    Fact::new(key, Shape::Minutes)
}
pub(super) const fn line(key: &'static str) -> Fact {
    Fact::new(key, Shape::Line)
}
const fn quote(key: &'static str) -> Fact {
    Fact::new(key, Shape::Quote)
}
const fn block(key: &'static str) -> Fact {
    Fact::new(key, Shape::Block)
}
const fn code(key: &'static str, words: &'static [&'static str]) -> Fact {
    Fact::new(key, Shape::Code(words))
}
/// Present and "yes", or absent.
const fn flag(key: &'static str) -> Fact {
    code(key, &["yes"]).maybe()
}

const TIMES: Fact = Fact::new("times", Shape::Times);
const OWN: Fact = code("own", &["yes", "no"]);
/// Who did it.
const BY: Fact = Fact::new("by", Shape::Person);
/// Who recorded it, where that is somebody else.
const RECORDED_BY: Fact = line("recorded_by").maybe();
const HOURS: Fact = Fact::new("hours", Shape::Hours).maybe();
/// The household's number, for commands at a terminal.
const HOUSEHOLD: Fact = count("household").maybe();
const PHONE: Fact = line("phone");
const CLINIC: Fact = line("clinic");
const OWNER: Fact = line("owner");
const VIAL: Fact = count("vial");
const PLANNED: Fact = at("planned");
const VOLUME: Fact = volume("volume_ml");
const REMAINING: Fact = volume("remaining_ml");
const DISCARD_BY: Fact = at("discard_by");
const OWNERS_WORDS: &[Fact] = &[
    OWNER,
    HOUSEHOLD,
    quote("text"),
    BY,
    PLANNED.maybe(),
    at("last").maybe(),
    VIAL.maybe(),
    REMAINING.maybe(),
    DISCARD_BY.maybe(),
    VOLUME.maybe(),
    code(
        "why",
        &[
            "question",
            "late-answer",
            "corrected",
            "other-amount",
            "medium",
            "zone",
            "spare-vial",
            "past",
            "not-understood",
            "edited",
            "early",
            "outside-window",
            "taken-back",
            "out-of-fridge",
        ],
    )
    .maybe(),
    // How long a vial was out of the refrigerator.
    minutes("minutes").maybe(),
    // The planned time and volume are those of the dose that the words are about.
    flag("of_dose"),
    OWNER_PHONE,
];
/// Where the clinic calls the home, where it wrote that down.
const OWNER_PHONE: Fact = line("owner_phone").maybe();
/// What an alert is about.
pub(super) const ABOUT: Fact = code(
    "about",
    &[
        "emergency",
        "missed-dose",
        "question",
        "vial-past-limit",
        "level-differs",
        "unreachable",
        "outage",
        "supply-low",
    ],
);
/// How an alert ended.
const HOW: Fact = code(
    "how",
    &[
        "reached-owner",
        "no-answer",
        "given-late-on-order",
        "left-out-on-order",
        "comes-in",
        "handed-out",
        "otherwise",
    ],
)
.maybe();
/// What the alerts state which climb, and how long they have waited.
const NOT_SEEN: &[Fact] = &[
    OWNER,
    HOUSEHOLD,
    ABOUT,
    minutes("waited_minutes"),
    flag("unseen"),
    flag("on_call"),
    line("name").maybe(),
    flag("last_rung"),
    OWNER_PHONE,
    quote("text").maybe(),
    BY.maybe(),
    line("carer").maybe(),
    PLANNED.maybe(),
    minutes("late_minutes").maybe(),
    count("missed").maybe(),
    at("last").maybe(),
    quote("said").maybe(),
    VIAL.maybe(),
    REMAINING.maybe(),
    volume("level_ml").maybe(),
    DISCARD_BY.maybe(),
    VOLUME.maybe(),
    minutes("minutes").maybe(),
    flag("of_dose"),
    at("given_at").maybe(),
    count("doses").maybe(),
];
const DANGER_WORDS: &[Fact] = &[
    OWNER,
    HOUSEHOLD,
    quote("text"),
    BY,
    PLANNED.maybe(),
    at("last").maybe(),
    VIAL.maybe(),
    REMAINING.maybe(),
    DISCARD_BY.maybe(),
    VOLUME.maybe(),
    OWNER_PHONE,
];

/// The facts of a kind, the required and the optional ones.
#[allow(clippy::too_many_lines)]
pub const fn facts_of(kind: Kind) -> &'static [Fact] {
    match kind {
        Kind::CourseJoined => {
            const {
                &[
                    VOLUME,
                    TIMES,
                    PLANNED.maybe(),
                    at("ends"),
                    volume("diluent_ml"),
                    volume("available_ml"),
                    PHONE,
                    line("name"),
                    CLINIC,
                ]
            }
        }
        Kind::DoseDue | Kind::DoseAgain => {
            const {
                &[
                    PLANNED,
                    VOLUME,
                    VIAL.maybe(),
                    REMAINING.maybe(),
                    count("from_vial").maybe(),
                    volume("from_ml").maybe(),
                    count("then_vial").maybe(),
                    volume("then_ml").maybe(),
                ]
            }
        }
        Kind::DoseWindowClosed => {
            const {
                &[
                    PLANNED,
                    count("doses"),
                    code("reason", &["unanswered", "unasked"]),
                    PHONE,
                ]
            }
        }
        Kind::VialMixNext => {
            const {
                &[
                    VIAL,
                    volume("diluent_ml"),
                    line("diluent"),
                    code(
                        "reason",
                        &["first", "empty", "discarded", "limit", "short", "split"],
                    ),
                    count("from_vial").maybe(),
                    volume("from_ml").maybe(),
                    volume("then_ml").maybe(),
                ]
            }
        }
        Kind::VialLimitNear => const { &[VIAL, DISCARD_BY, REMAINING, count("hours")] },
        Kind::VialLimitReached => const { &[VIAL, DISCARD_BY, REMAINING] },
        Kind::SupplyLow => const { &[count("vials_left"), at("runs_out").maybe(), PHONE] },
        Kind::CourseEnded => {
            const {
                &[
                    count("given"),
                    count("doses"),
                    count("vials_left").maybe(),
                    flag("by_clinic"),
                    PHONE,
                ]
            }
        }
        Kind::CourseChanged => {
            const {
                &[
                    code(
                        "what",
                        &["dose", "times", "length", "zone", "paused", "resumed"],
                    ),
                    VOLUME.maybe(),
                    volume("syringe_ml").maybe(),
                    Fact::new("times", Shape::Times).maybe(),
                    line("zone").maybe(),
                    PLANNED.maybe(),
                    at("ends").maybe(),
                    at("asked_before").maybe(),
                    PHONE,
                ]
            }
        }
        Kind::RecordedGiven => {
            const {
                &[
                    PLANNED,
                    at("given_at"),
                    BY,
                    RECORDED_BY,
                    OWN,
                    VOLUME,
                    VIAL.maybe(),
                    REMAINING.maybe(),
                    count("doses_left").maybe(),
                    at("next").maybe(),
                    volume("unplaced_ml").maybe(),
                    flag("differs"),
                ]
            }
        }
        Kind::RecordedNotGiven => const { &[PLANNED, BY, OWN, PHONE] },
        Kind::RecordedMixed => {
            const {
                &[
                    VIAL,
                    at("mixed_at"),
                    DISCARD_BY,
                    REMAINING,
                    count("doses_left"),
                    BY,
                    RECORDED_BY,
                    OWN,
                ]
            }
        }
        Kind::RecordedDiscarded => const { &[VIAL, REMAINING.maybe(), BY, OWN] },
        Kind::RecordedLevel => const { &[VIAL, volume("level_ml"), REMAINING, BY, OWN] },
        Kind::RecordedOutOfFridge => {
            const {
                &[
                    VIAL,
                    at("at"),
                    code("state", &["out", "back"]),
                    minutes("minutes").maybe(),
                    PHONE.maybe(),
                ]
            }
        }
        Kind::RecordedCorrected => {
            const {
                &[
                    code("what", &["given", "not-given", "taken-back", "mixed"]),
                    PLANNED.maybe(),
                    VIAL.maybe(),
                    at("given_at").maybe(),
                    VOLUME.maybe(),
                    REMAINING.maybe(),
                    count("doses_left").maybe(),
                    volume("unplaced_ml").maybe(),
                    flag("differs"),
                    at("mixed_at").maybe(),
                    DISCARD_BY.maybe(),
                    at("next").maybe(),
                    BY,
                    RECORDED_BY,
                    OWN,
                    PHONE.maybe(),
                ]
            }
        }
        Kind::Confirm => {
            const {
                &[
                    code(
                        "about",
                        &[
                            "given",
                            "not-given",
                            "mixed",
                            "discarded",
                            "level",
                            "out-of-fridge",
                            "taken-back",
                            "supplies",
                            "which-patient",
                            "which-time",
                            "which-dose",
                            "when",
                            "amount",
                            "amount-meaning",
                            "pending",
                            "nothing-open",
                            "dropped",
                            "zone",
                        ],
                    ),
                    PLANNED.maybe(),
                    at("given_at").maybe(),
                    BY.maybe(),
                    VOLUME.maybe(),
                    VIAL.maybe(),
                    at("mixed_at").maybe(),
                    volume("level_ml").maybe(),
                    line("zone").maybe(),
                    at("here_now").maybe(),
                    line("gap").maybe(),
                    count("vials_left").maybe(),
                    count("syringes").maybe(),
                    count("needles").maybe(),
                    count("diluent_count").maybe(),
                    flag("late"),
                    flag("rest"),
                    PHONE.maybe(),
                ]
            }
        }
        Kind::AnswerRemaining | Kind::AnswerDosesLeft => {
            const {
                &[
                    VIAL.maybe(),
                    REMAINING.maybe(),
                    count("doses_left").maybe(),
                    DISCARD_BY.maybe(),
                    flag("past"),
                ]
            }
        }
        Kind::AnswerDiscardBy | Kind::AnswerMixedAt => {
            const {
                &[
                    VIAL.maybe(),
                    at("mixed_at").maybe(),
                    DISCARD_BY.maybe(),
                    flag("past"),
                ]
            }
        }
        Kind::AnswerNextDose => const { &[PLANNED.maybe(), VOLUME.maybe(), flag("open")] },
        Kind::AnswerLastDose => {
            const {
                &[
                    PLANNED.maybe(),
                    code("status", &["given", "not-given", "unanswered"]).maybe(),
                    at("given_at").maybe(),
                    BY.maybe(),
                    RECORDED_BY,
                    VOLUME.maybe(),
                    flag("again"),
                    PHONE.maybe(),
                ]
            }
        }
        Kind::AnswerVolume => const { &[VOLUME, volume("syringe_ml").maybe()] },
        Kind::AnswerDiluent => {
            const {
                &[
                    volume("diluent_ml"),
                    line("diluent"),
                    volume("available_ml"),
                ]
            }
        }
        Kind::AnswerSyringe => const { &[volume("syringe_ml"), VOLUME] },
        Kind::AnswerCourseLeft => {
            const {
                &[
                    count("doses_left"),
                    count("given"),
                    count("doses"),
                    at("ends"),
                    at("runs_out").maybe(),
                ]
            }
        }
        Kind::AnswerSupplies => {
            const {
                &[
                    count("vials_left").maybe(),
                    at("runs_out").maybe(),
                    count("syringes").maybe(),
                    count("needles").maybe(),
                    count("doses_left"),
                ]
            }
        }
        Kind::AnswerSchedule => const { &[TIMES, VOLUME, at("ends"), PLANNED.maybe()] },
        Kind::AnswerClinicContact => {
            const { &[CLINIC, PHONE, HOURS, line("emergency_phone").maybe()] }
        }
        Kind::AnswerHelp => const { &[PHONE] },
        Kind::AnswerSteps => {
            const {
                &[
                    code("topic", &["mixing", "drawing-up", "injecting", "sharps"]),
                    count("step"),
                    count("steps"),
                    block("words"),
                    CLINIC,
                ]
            }
        }
        Kind::AnswerClinicNote => const { &[block("words"), CLINIC] },
        Kind::CallClinic => {
            const {
                &[
                    PHONE,
                    HOURS,
                    code("open", &["yes", "no"]).maybe(),
                    line("emergency_phone").maybe(),
                    flag("passed"),
                ]
            }
        }
        Kind::Emergency => const { &[PHONE, line("emergency_phone").maybe(), flag("passed")] },
        Kind::ClinicReply => const { &[block("words"), BY, quote("text").maybe()] },
        Kind::ClinicMissedDose => {
            const {
                &[
                    OWNER,
                    PLANNED,
                    minutes("late_minutes"),
                    code("reason", &["unanswered", "not-given"]),
                    count("missed"),
                    at("last").maybe(),
                    quote("said").maybe(),
                    HOUSEHOLD,
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicQuestion => OWNERS_WORDS,
        Kind::ClinicEmergency => DANGER_WORDS,
        Kind::ClinicVialPastLimit => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    VIAL,
                    DISCARD_BY,
                    at("given_at"),
                    VOLUME,
                    BY,
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicSupplyLow => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    count("vials_left"),
                    at("runs_out").maybe(),
                    at("ends"),
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicLevelDiffers => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    VIAL,
                    volume("level_ml"),
                    REMAINING,
                    BY,
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicUnreachable => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    BY,
                    code("why", &["blocked", "never-joined", "failed"]),
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicOutage => {
            const {
                &[
                    OWNER.maybe(),
                    HOUSEHOLD,
                    count("doses").maybe(),
                    PLANNED.maybe(),
                    at("last").maybe(),
                    code("why", &["down", "undelivered", "unreached"]),
                    at("since").maybe(),
                    at("until").maybe(),
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicNotSeen => NOT_SEEN,
        Kind::ClinicSeen => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    ABOUT,
                    code(
                        "status",
                        &["seen", "seen-before", "called", "ended", "ended-before"],
                    ),
                    BY,
                    at("at"),
                    HOW,
                    PLANNED.maybe(),
                    Fact::new("from", Shape::Person).maybe(),
                    quote("text").maybe(),
                ]
            }
        }
        Kind::ClinicQuestions => const { &[count("count"), count("more").maybe()] },
        Kind::ClinicAnswered => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    code(
                        "status",
                        &["sent", "closed", "not-reached", "names-another"],
                    ),
                    line("to").maybe(),
                    BY.maybe(),
                    at("at").maybe(),
                    HOW,
                    line("other").maybe(),
                    line("before_by").maybe(),
                    at("before_at").maybe(),
                    Fact::new("from", Shape::Person).maybe(),
                    quote("text").maybe(),
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicStaff => {
            const {
                &[
                    code(
                        "what",
                        &[
                            "joined",
                            "bound",
                            "on-call",
                            "nobody-on-call",
                            "not-on-the-staff",
                        ],
                    ),
                    line("name").maybe(),
                    code("role", &["technician", "veterinarian"]).maybe(),
                ]
            }
        }
        Kind::ClinicNote => {
            const {
                &[code(
                    "what",
                    &[
                        "no-question",
                        "several",
                        "no-such-patient",
                        "not-staff",
                        "veterinarian",
                        "veterinarian-confirms",
                        "undelivered",
                    ],
                )]
            }
        }
        Kind::ClinicAlerts => const { &[block("text"), count("count")] },
        Kind::ClinicPatient => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    VOLUME,
                    TIMES,
                    count("given"),
                    count("doses"),
                    count("missed"),
                    code("asking", &["paused", "unconfirmed"]).maybe(),
                    PLANNED.maybe(),
                    at("ends").maybe(),
                    block("last_doses").maybe(),
                    block("last_vials").maybe(),
                    count("vials_left").maybe(),
                    count("syringes").maybe(),
                    count("needles").maybe(),
                    block("open_alerts").maybe(),
                    quote("said").maybe(),
                    OWNER_PHONE,
                ]
            }
        }
        Kind::ClinicDigest | Kind::ClinicBoard => {
            const {
                &[
                    block("text"),
                    count("count"),
                    count("action").maybe(),
                    count("page").maybe(),
                    count("pages").maybe(),
                ]
            }
        }
        Kind::ClinicOrderCheck => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    code(
                        "status",
                        &[
                            "check",
                            "confirmed",
                            "already",
                            "same-person",
                            "refused",
                            "change",
                            "change-second",
                            "changed",
                            "change-dropped",
                            "change-same-person",
                            "change-refused",
                            "change-closed",
                            "which",
                            "unclear",
                        ],
                    ),
                    code(
                        "change",
                        &[
                            "dose",
                            "times",
                            "zone",
                            "length",
                            "carer-added",
                            "carer-removed",
                            "paused",
                            "resumed",
                            "ended",
                        ],
                    )
                    .maybe(),
                    line("by").maybe(),
                    line("entered_by").maybe(),
                    line("before").maybe(),
                    line("after").maybe(),
                    PLANNED.maybe(),
                    at("asked_before").maybe(),
                    at("last").maybe(),
                    line("gap").maybe(),
                    flag("gap_flag"),
                    at("next").maybe(),
                    count("doses_left").maybe(),
                    count("given").maybe(),
                    at("ends_before").maybe(),
                    at("ends").maybe(),
                    count("vials_left").maybe(),
                    count("vials_needed").maybe(),
                    count("vials_short").maybe(),
                    at("runs_out").maybe(),
                    flag("nobody"),
                    block("text").maybe(),
                    line("product").maybe(),
                    line("weight_lb").maybe(),
                    line("weight_kg").maybe(),
                    line("rate").maybe(),
                    line("mass").maybe(),
                    line("concentration").maybe(),
                    volume("exact_ml").maybe(),
                    volume("syringe_ml").maybe(),
                    volume("graduation_ml").maybe(),
                    VOLUME.maybe(),
                    line("rounding").maybe(),
                    flag("rounding_flag"),
                    volume("available_ml").maybe(),
                    line("drawable").maybe(),
                    line("strength").maybe(),
                    line("label").maybe(),
                    flag("label_flag"),
                    count("doses").maybe(),
                    count("vials").maybe(),
                    volume("diluent_ml").maybe(),
                    volume("thrown_ml").maybe(),
                    count("syringes").maybe(),
                    count("needles").maybe(),
                    line("sharps_size").maybe(),
                    count("sharps_count").maybe(),
                    line("veterinarian").maybe(),
                ]
            }
        }
        Kind::ClinicEnrolling => {
            const {
                &[
                    code("status", &["ask", "resumed", "cancelled", "closed"]),
                    code(
                        "question",
                        &[
                            "patient",
                            "species",
                            "weight",
                            "product",
                            "dose",
                            "times",
                            "first",
                            "length",
                            "owner",
                            "language",
                            "zone",
                            "carers",
                            "vials",
                            "veterinarian",
                        ],
                    )
                    .maybe(),
                    count("step").maybe(),
                    count("steps").maybe(),
                    block("wrong").maybe(),
                    line("by"),
                ]
            }
        }
        Kind::ClinicInvitation => const { &[OWNER, line("name"), line("link"), count("hours")] },
        Kind::ClinicEnrolled => {
            const {
                &[
                    OWNER,
                    HOUSEHOLD,
                    VOLUME,
                    volume("diluent_ml"),
                    PLANNED,
                    at("ends"),
                    count("doses"),
                    count("vials"),
                    block("links").maybe(),
                    count("hours").maybe(),
                ]
            }
        }
    }
}

/// Whether a message of this kind always, sometimes or never names a patient.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Patient {
    /// Its sentence starts with the name.
    Always,
    /// Where it is known.
    Sometimes,
    /// It speaks of no patient.
    Never,
}

/// Whether a kind names a patient.
pub const fn patient_of(kind: Kind) -> Patient {
    match kind {
        Kind::AnswerClinicContact
        | Kind::AnswerHelp
        | Kind::AnswerClinicNote
        | Kind::CallClinic
        | Kind::Emergency
        | Kind::ClinicDigest
        | Kind::ClinicQuestions
        | Kind::ClinicAlerts
        | Kind::ClinicNote
        | Kind::ClinicInvitation
        | Kind::ClinicEnrolling
        | Kind::ClinicStaff
        | Kind::ClinicBoard => Patient::Never,
        Kind::Confirm
        | Kind::ClinicReply
        | Kind::ClinicMissedDose
        | Kind::ClinicQuestion
        | Kind::ClinicEmergency
        | Kind::ClinicVialPastLimit
        | Kind::ClinicSupplyLow
        | Kind::ClinicLevelDiffers
        | Kind::ClinicUnreachable
        | Kind::ClinicOutage
        | Kind::ClinicOrderCheck
        | Kind::ClinicEnrolled
        | Kind::ClinicNotSeen
        | Kind::ClinicPatient
        | Kind::ClinicSeen
        | Kind::ClinicAnswered => Patient::Sometimes,
        _ => Patient::Always,
    }
}

/// What of a message breaks the contract: a required fact that is missing, a
/// fact of another type or with an unknown word, a fact that the kind does not
/// have. Empty for every message that `decide` makes.
pub fn breaches(message: &Message) -> Vec<String> {
    let declared = facts_of(message.kind);
    let mut found = Vec::new();
    if message.patient.is_none() && patient_of(message.kind) == Patient::Always {
        found.push("no patient".into());
    }
    let mut known = 0;
    for fact in declared {
        let value = message.facts.get(fact.key);
        known += usize::from(value.is_some());
        match value {
            None if !fact.optional => found.push(format!("no {}", fact.key)),
            Some(value) if !fits(value, fact.shape) => {
                found.push(format!("{} is {value:?}", fact.key));
            }
            _ => {}
        }
    }
    if known == message.facts.len() {
        return found;
    }
    for key in message.facts.keys() {
        if declared.iter().all(|fact| fact.key != key) {
            found.push(format!("{key} is no fact of this kind"));
        }
    }
    found
}

pub(super) fn fits(value: &Value, shape: Shape) -> bool {
    match (value, shape) {
        (Value::At(_), Shape::At)
        | (Value::Volume(_), Shape::Volume)
        | (Value::Count(_), Shape::Count | Shape::Minutes)
        | (Value::Times(_), Shape::Times)
        | (Value::Hours(_), Shape::Hours)
        | (Value::Text(_), Shape::Line | Shape::Person | Shape::Quote | Shape::Block) => true,
        (Value::Text(word), Shape::Code(words)) => words.contains(&word.as_str()),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::message::Recipient;
    use crate::domain::quantity::Volume;

    #[test]
    fn a_breach_is_named() {
        let message = Message::new(Recipient::Carer(1), Kind::DoseWindowClosed)
            .fact("doses", "two")
            .fact("reason", "bored")
            .fact("volume_ml", Volume::ZERO);
        let breaches = breaches(&message).join("; ");
        for expected in [
            "no patient",
            "no planned",
            "no phone",
            "doses is",
            "reason is",
            "volume_ml is no fact",
        ] {
            assert!(breaches.contains(expected), "{expected}: {breaches}");
        }
    }

    #[test]
    fn no_kind_declares_a_fact_twice_or_a_key_that_would_be_read_as_another() {
        for kind in Kind::ALL {
            let facts = facts_of(*kind);
            for fact in facts {
                let same = facts.iter().filter(|other| other.key == fact.key).count();
                assert_eq!(same, 1, "{kind}: {}", fact.key);
                assert!(!fact.key.starts_with("has_") && fact.key != "patient");
                assert!(!fact.key.ends_with("_time"), "{kind}: {}", fact.key);
            }
        }
    }
}
