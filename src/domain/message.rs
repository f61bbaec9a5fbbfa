//! What to say, as data: a kind, the facts that its sentence states and the
//! buttons below it. Sentences live in `config/wording`.

use super::ending::Ending;
use super::quantity::Volume;
use super::staff::Whom;
use chrono::{DateTime, FixedOffset, NaiveTime};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A number that names something within one household: a carer, a patient, a
/// course, a vial of a course, a dose of a course. Counted from 1.
pub type No = u32;

macro_rules! kinds {
    ($($(#[$doc:meta])* $variant:ident => $name:literal,)*) => {
        /// Which message it is. The names are an interface that stays put.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        pub enum Kind {
            $($(#[$doc])* #[serde(rename = $name)] $variant,)*
        }

        impl Kind {
            /// Every kind there is, in the order of the design.
            pub const ALL: &'static [Kind] = &[$(Kind::$variant,)*];

            /// The name that stays put, such as `dose.due`.
            pub const fn name(self) -> &'static str {
                match self { $(Kind::$variant => $name,)* }
            }
        }
    };
}

kinds! {
    /// To a carer who has just joined: what the plan is.
    CourseJoined => "course.joined",
    /// A dose is due now.
    DoseDue => "dose.due",
    /// A dose that is still unanswered.
    DoseAgain => "dose.again",
    /// The window of a dose closed without an answer.
    DoseWindowClosed => "dose.window-closed",
    /// The dose that is due needs a vial that is not mixed yet.
    VialMixNext => "vial.mix-next",
    /// A mixed vial comes near its limit.
    VialLimitNear => "vial.limit-near",
    /// A mixed vial has reached its limit.
    VialLimitReached => "vial.limit-reached",
    /// What is at home will not last for the course.
    SupplyLow => "supply.low",
    /// The course is over.
    CourseEnded => "course.ended",
    /// The clinic has changed, paused or resumed the course: what holds now.
    CourseChanged => "course.changed",
    /// A dose was recorded as given.
    RecordedGiven => "recorded.given",
    /// A dose was recorded as not given.
    RecordedNotGiven => "recorded.not-given",
    /// A vial was recorded as mixed.
    RecordedMixed => "recorded.mixed",
    /// A vial was recorded as discarded.
    RecordedDiscarded => "recorded.discarded",
    /// A level seen in a vial was recorded.
    RecordedLevel => "recorded.level",
    /// A vial was recorded as out of the refrigerator, or back in it.
    RecordedOutOfFridge => "recorded.out-of-fridge",
    /// An earlier record was superseded.
    RecordedCorrected => "recorded.corrected",
    /// What was understood is read back; nothing is recorded before a yes.
    Confirm => "confirm",
    /// Volume left in the open vial.
    AnswerRemaining => "answer.remaining",
    /// Whole doses left in the open vial.
    AnswerDosesLeft => "answer.doses-left",
    /// When the open vial must be discarded.
    AnswerDiscardBy => "answer.discard-by",
    /// When the open vial was mixed.
    AnswerMixedAt => "answer.mixed-at",
    /// When the next dose is planned.
    AnswerNextDose => "answer.next-dose",
    /// The last dose, when, and by whom.
    AnswerLastDose => "answer.last-dose",
    /// Volume of one dose.
    AnswerVolume => "answer.volume",
    /// Volume of diluent for one vial.
    AnswerDiluent => "answer.diluent",
    /// The syringe that one dose is drawn in.
    AnswerSyringe => "answer.syringe",
    /// Doses left in the course, and its end.
    AnswerCourseLeft => "answer.course-left",
    /// Vials and supplies at home.
    AnswerSupplies => "answer.supplies",
    /// The planned times.
    AnswerSchedule => "answer.schedule",
    /// How to reach the clinic.
    AnswerClinicContact => "answer.clinic-contact",
    /// What can be asked and said.
    AnswerHelp => "answer.help",
    /// One step of the clinic's own protocol.
    AnswerSteps => "answer.steps",
    /// The clinic's own standing words on a topic.
    AnswerClinicNote => "answer.clinic-note",
    /// A person at the clinic must answer this.
    CallClinic => "call-clinic",
    /// Signs of danger.
    Emergency => "emergency",
    /// A person at the clinic wrote this.
    ClinicReply => "clinic.reply",
    /// To the clinic: a dose was not recorded as given.
    ClinicMissedDose => "clinic.missed-dose",
    /// To the clinic: an owner's words that a person must answer.
    ClinicQuestion => "clinic.question",
    /// To the clinic: an owner's words with a sign of danger.
    ClinicEmergency => "clinic.emergency",
    /// To the clinic: a dose was drawn from a vial past its limit.
    ClinicVialPastLimit => "clinic.vial-past-limit",
    /// To the clinic: what is at home will not last.
    ClinicSupplyLow => "clinic.supply-low",
    /// To the clinic: the level seen is not the computed one.
    ClinicLevelDiffers => "clinic.level-differs",
    /// To the clinic: a carer cannot be reached.
    ClinicUnreachable => "clinic.unreachable",
    /// To the clinic: what could not be asked while the program was down.
    ClinicOutage => "clinic.outage",
    /// To the clinic: the day at a glance, at an opening hour.
    ClinicDigest => "clinic.digest",
    /// To the clinic: every patient under treatment.
    ClinicBoard => "clinic.board",
    /// To the clinic: the arithmetic of an order, step by step.
    ClinicOrderCheck => "clinic.order-check",
    /// To the clinic: a patient was enrolled, with the invitations.
    ClinicEnrolled => "clinic.enrolled",
    /// To the clinic: an alert that nobody has seen, told to the next rung of the ladder.
    ClinicNotSeen => "clinic.not-seen",
    /// To the clinic: who has an alert, or how it ended.
    ClinicSeen => "clinic.seen",
    /// To the clinic: one patient in full.
    ClinicPatient => "clinic.patient",
    /// To the clinic: several alerts of one kind at once.
    ClinicAlerts => "clinic.alerts",
    /// To the clinic: how many owners wait for an answer.
    ClinicQuestions => "clinic.questions",
    /// To the clinic: what became of words that were meant for an owner.
    ClinicAnswered => "clinic.answered",
    /// To somebody at the clinic: why what they did changed nothing.
    ClinicNote => "clinic.note",
    /// To the clinic: a question of an enrolment at the counter.
    ClinicEnrolling => "clinic.enrolling",
    /// To the clinic: a carer's invitation, to pass on or to scan.
    ClinicInvitation => "clinic.invitation",
    /// To the clinic: who joined the staff, and who is on call.
    ClinicStaff => "clinic.staff",
}

impl Kind {
    /// Whether it is meant for the clinic's side.
    pub fn is_for_clinic(self) -> bool {
        self.name().starts_with("clinic.") && self != Kind::ClinicReply
    }
}

impl std::fmt::Display for Kind {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}

/// One thing that a sentence states.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Value {
    /// An instant with the household's offset at that instant.
    At(DateTime<FixedOffset>),
    /// A volume in mL.
    Volume(Volume),
    /// A number of things.
    Count(i64),
    /// Planned times of the day.
    Times(Vec<NaiveTime>),
    /// When the clinic is open, by its own clock; days ascending, at least one.
    Hours(Vec<OpenDays>),
    /// Words that are nobody's sentence: a name, a phone number, quoted text.
    Text(String),
}

/// Days in a row on which the clinic keeps the same hours.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct OpenDays {
    /// The first of them, 1 for Monday to 7 for Sunday (ISO 8601).
    pub first_day: u8,
    /// The last of them, `first_day` where it is one day.
    pub last_day: u8,
    /// From when until when, ascending, at least one.
    pub spans: Vec<(NaiveTime, NaiveTime)>,
}

/// In figures that belong to no language, such as `1-5 08:00-12:00,13:00-18:00`.
impl std::fmt::Display for OpenDays {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.first_day)?;
        if self.last_day != self.first_day {
            write!(f, "-{}", self.last_day)?;
        }
        for (index, (from, until)) in self.spans.iter().enumerate() {
            let mark = if index == 0 { ' ' } else { ',' };
            let (from, until) = (from.format("%H:%M"), until.format("%H:%M"));
            write!(f, "{mark}{from}-{until}")?;
        }
        Ok(())
    }
}

impl From<DateTime<FixedOffset>> for Value {
    fn from(at: DateTime<FixedOffset>) -> Self {
        Value::At(at)
    }
}
impl From<Vec<OpenDays>> for Value {
    fn from(hours: Vec<OpenDays>) -> Self {
        Value::Hours(hours)
    }
}
impl From<Volume> for Value {
    fn from(volume: Volume) -> Self {
        Value::Volume(volume)
    }
}
impl From<u32> for Value {
    fn from(count: u32) -> Self {
        Value::Count(count.into())
    }
}
impl From<String> for Value {
    fn from(text: String) -> Self {
        Value::Text(text)
    }
}
impl From<&str> for Value {
    fn from(text: &str) -> Self {
        Value::Text(text.into())
    }
}

/// The facts of a message by key (`planned`, `volume_ml`, …). The keys listed
/// in the design are an interface that stays put.
pub type Facts = BTreeMap<String, Value>;

/// Who a message is for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Recipient {
    /// A carer of the household, by number.
    Carer(No),
    /// The clinic's chat.
    Clinic,
    /// Somebody at the clinic: their own chat, or the clinic's where they have none.
    Staff(Whom),
    /// Whoever at the clinic asked, in the chat they asked in.
    Asker,
    /// The chat that wrote, which belongs to nobody we know.
    Stranger,
}

/// What a button says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Label {
    /// “Given”.
    Given,
    /// “Not given”.
    NotGiven,
    /// “Mixed”, for the vial with this number.
    Mixed(No),
    /// “Discarded”, for the vial with this number.
    Discarded(No),
    /// “Yes”.
    Yes,
    /// “No”.
    No,
    /// “Take back”: the record above was a mistake.
    TakeBack,
    /// A choice named by a patient or another name.
    Name(String),
    /// A choice named by a time.
    Time(DateTime<FixedOffset>),
    /// “None of these”.
    Neither,
    /// “Done, next step”.
    NextStep,
    /// “Back”.
    PreviousStep,
    /// “Seen”: somebody at the clinic takes care of it.
    Seen,
    /// “Confirm”: a second person has checked the arithmetic.
    Confirm,
    /// How an alert ended.
    Ended(Ending),
    /// “Cancel”: nothing is changed.
    Cancel,
    /// “Nobody else”: no other carer.
    Nobody,
    /// “What the course needs”: the vials are not counted by hand.
    AsNeeded,
    /// “Next page”.
    NextPage,
    /// “Page before”.
    PreviousPage,
}

/// What is tapped below a question of an enrolment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answered {
    /// One of the answers that are offered, counted from 0.
    Option(No),
    /// The question before is asked again.
    Back,
    /// Nothing is enrolled.
    Cancel,
}

impl Answered {
    fn number(self) -> u64 {
        match self {
            Answered::Back => 0,
            Answered::Cancel => 1,
            Answered::Option(option) => u64::from(option) + 2,
        }
    }

    fn numbered(number: i64) -> Option<Answered> {
        match number {
            0 => Some(Answered::Back),
            1 => Some(Answered::Cancel),
            number => Some(Answered::Option(No::try_from(number - 2).ok()?)),
        }
    }
}

/// What is tapped below a change of an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It is to take effect.
    Confirm,
    /// It is not.
    Drop,
    /// Of several patients of one name, this one is meant.
    Show,
}

/// What a button does. It names the dose, the vial or the question itself, so
/// that an old button can be understood and a repeated message is harmless.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tap {
    /// The dose was given.
    Given {
        /// The course.
        course: No,
        /// The dose of the course.
        dose: No,
    },
    /// The dose was not given.
    NotGiven {
        /// The course.
        course: No,
        /// The dose of the course.
        dose: No,
    },
    /// The vial was mixed.
    Mixed {
        /// The course.
        course: No,
        /// The vial of the course.
        vial: No,
    },
    /// The vial was discarded.
    Discarded {
        /// The course.
        course: No,
        /// The vial of the course.
        vial: No,
    },
    /// An option of a question that the bot asked (counted from 0).
    Choose {
        /// The question's number in the household.
        question: No,
        /// Which of its options.
        option: No,
    },
    /// None of a question's options.
    Neither {
        /// The question's number in the household.
        question: No,
    },
    /// Take back an administration.
    TakeBack {
        /// The administration's number in the household.
        administration: No,
    },
    /// A step of the clinic's protocol.
    Step {
        /// The course.
        course: No,
        /// Which protocol, as an index into the clinic's topics.
        topic: No,
        /// Which step, from 0.
        step: No,
    },
    /// A second person at the clinic has checked an order.
    Confirm {
        /// The household.
        household: i64,
        /// The course.
        course: No,
    },
    /// A change of an order is answered.
    Amend {
        /// The household.
        household: i64,
        /// The change's number in the household.
        amendment: No,
        /// How.
        verdict: Verdict,
    },
    /// A question of an enrolment is answered.
    Enrol {
        /// The enrolment.
        enrolment: i64,
        /// The question's number.
        question: No,
        /// How.
        answered: Answered,
    },
    /// Somebody at the clinic has seen an alert.
    Seen {
        /// The household.
        household: i64,
        /// The alert's number in the household.
        alert: No,
    },
    /// Somebody at the clinic says how an alert ended.
    Ended {
        /// The household.
        household: i64,
        /// The alert's number in the household.
        alert: No,
        /// How, as its number among all endings.
        how: No,
    },
    /// Somebody at the clinic wants to see one course.
    Patient {
        /// The household.
        household: i64,
        /// The course.
        course: No,
    },
    /// Somebody at the clinic wants to see a page of the board.
    Board {
        /// Which, counted from 1.
        page: No,
    },
}

impl Tap {
    /// The text a platform carries back: at most 64 bytes, as Telegram allows.
    pub fn encode(self) -> String {
        match self {
            Tap::Given { course, dose } => format!("g:{course}:{dose}"),
            Tap::NotGiven { course, dose } => format!("n:{course}:{dose}"),
            Tap::Mixed { course, vial } => format!("m:{course}:{vial}"),
            Tap::Discarded { course, vial } => format!("d:{course}:{vial}"),
            Tap::Choose { question, option } => format!("c:{question}:{option}"),
            Tap::Neither { question } => format!("x:{question}"),
            Tap::TakeBack { administration } => format!("t:{administration}"),
            Tap::Step {
                course,
                topic,
                step,
            } => format!("s:{course}:{topic}:{step}"),
            Tap::Seen { household, alert } => format!("a:{household}:{alert}"),
            Tap::Confirm { household, course } => format!("o:{household}:{course}"),
            Tap::Ended {
                household,
                alert,
                how,
            } => format!("e:{household}:{alert}:{how}"),
            Tap::Enrol {
                enrolment,
                question,
                answered,
            } => format!("k:{enrolment}:{question}:{}", answered.number()),
            Tap::Amend {
                household,
                amendment,
                verdict,
            } => {
                let verdict = match verdict {
                    Verdict::Confirm => 0,
                    Verdict::Drop => 1,
                    Verdict::Show => 2,
                };
                format!("w:{household}:{amendment}:{verdict}")
            }
            Tap::Patient { household, course } => format!("p:{household}:{course}"),
            Tap::Board { page } => format!("b:{page}"),
        }
    }

    /// Reads what [`Tap::encode`] wrote; anything else is nobody's button.
    pub fn decode(text: &str) -> Option<Tap> {
        let mut parts = text.split(':');
        let what = parts.next()?;
        let numbers: Vec<i64> = parts.map(str::parse).collect::<Result<_, _>>().ok()?;
        let no = |i: usize| numbers.get(i).and_then(|n| No::try_from(*n).ok());
        let expected = match what {
            "x" | "t" | "b" => 1,
            "s" | "e" | "w" | "k" => 3,
            _ => 2,
        };
        if numbers.len() != expected {
            return None;
        }
        Some(match what {
            "g" => Tap::Given {
                course: no(0)?,
                dose: no(1)?,
            },
            "n" => Tap::NotGiven {
                course: no(0)?,
                dose: no(1)?,
            },
            "m" => Tap::Mixed {
                course: no(0)?,
                vial: no(1)?,
            },
            "d" => Tap::Discarded {
                course: no(0)?,
                vial: no(1)?,
            },
            "c" => Tap::Choose {
                question: no(0)?,
                option: no(1)?,
            },
            "x" => Tap::Neither { question: no(0)? },
            "t" => Tap::TakeBack {
                administration: no(0)?,
            },
            "s" => Tap::Step {
                course: no(0)?,
                topic: no(1)?,
                step: no(2)?,
            },
            "a" => Tap::Seen {
                household: numbers[0],
                alert: no(1)?,
            },
            "k" => Tap::Enrol {
                enrolment: numbers[0],
                question: no(1)?,
                answered: Answered::numbered(numbers[2])?,
            },
            "w" => Tap::Amend {
                household: numbers[0],
                amendment: no(1)?,
                verdict: match numbers[2] {
                    0 => Verdict::Confirm,
                    1 => Verdict::Drop,
                    2 => Verdict::Show,
                    _ => return None,
                },
            },
            "o" => Tap::Confirm {
                household: numbers[0],
                course: no(1)?,
            },
            "e" => Tap::Ended {
                household: numbers[0],
                alert: no(1)?,
                how: no(2)?,
            },
            "p" => Tap::Patient {
                household: numbers[0],
                course: no(1)?,
            },
            "b" => Tap::Board { page: no(0)? },
            _ => return None,
        })
    }
}

/// A button below a message.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Button {
    /// What it says.
    pub label: Label,
    /// What it does.
    pub tap: Tap,
}

/// Which lane a message takes when a platform's limits make some wait.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Lane {
    /// Emergencies, and what a clinic must know of them.
    Emergency,
    /// The clinic's alerts and an owner's replies.
    Prompt,
    /// Reminders, and all else.
    #[default]
    Ordinary,
}

/// A paper that goes with a message; it is made when the message is sent.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Paper {
    /// The take-home sheet of a course.
    Sheet {
        /// The course.
        course: No,
    },
    /// The picture of a course.
    Picture {
        /// The course.
        course: No,
    },
    /// The calendar file of a course.
    Calendar {
        /// The course.
        course: No,
    },
    /// The link in the message as a picture to scan.
    Code,
}

/// One message to one recipient.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Message {
    /// Who it is for.
    pub to: Recipient,
    /// Which message it is.
    pub kind: Kind,
    /// The patient it speaks of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub patient: Option<String>,
    /// What its sentence states.
    pub facts: Facts,
    /// A paper that goes with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub paper: Option<Paper>,
    /// The buttons below it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub buttons: Vec<Button>,
    /// After this it is of no use and is not sent any more.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub useful_until: Option<super::Instant>,
    /// Which lane it takes.
    #[serde(default)]
    pub lane: Lane,
}

impl Message {
    /// A message without facts or buttons yet.
    pub fn new(to: Recipient, kind: Kind) -> Message {
        let lane = match kind {
            Kind::Emergency | Kind::ClinicEmergency => Lane::Emergency,
            Kind::DoseDue | Kind::DoseAgain | Kind::VialMixNext | Kind::VialLimitNear => {
                Lane::Ordinary
            }
            _ => Lane::Prompt,
        };
        Message {
            to,
            kind,
            patient: None,
            facts: Facts::new(),
            paper: None,
            buttons: Vec::new(),
            useful_until: None,
            lane,
        }
    }

    /// The same message about a patient.
    pub fn about(mut self, patient: &str) -> Message {
        self.patient = Some(patient.into());
        self
    }

    /// The same message with one more fact.
    pub fn fact(mut self, key: &str, value: impl Into<Value>) -> Message {
        self.facts.insert(key.into(), value.into());
        self
    }

    /// The same message with one more fact, where there is one.
    pub fn maybe(self, key: &str, value: Option<impl Into<Value>>) -> Message {
        match value {
            Some(value) => self.fact(key, value),
            None => self,
        }
    }

    /// The same message with one more button.
    pub fn button(mut self, label: Label, tap: Tap) -> Message {
        self.buttons.push(Button { label, tap });
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_tap_fits_in_telegrams_64_bytes_and_is_read_back() {
        let (course, dose, vial) = (No::MAX, No::MAX, No::MAX);
        let (question, option, administration) = (No::MAX, No::MAX, No::MAX);
        for tap in [
            Tap::Given { course, dose },
            Tap::NotGiven { course, dose },
            Tap::Mixed { course, vial },
            Tap::Discarded { course, vial },
            Tap::Choose { question, option },
            Tap::Neither { question },
            Tap::TakeBack { administration },
            Tap::Step {
                course,
                topic: No::MAX,
                step: No::MAX,
            },
            Tap::Seen {
                household: i64::MAX,
                alert: No::MAX,
            },
            Tap::Confirm {
                household: i64::MAX,
                course: No::MAX,
            },
            Tap::Ended {
                household: i64::MAX,
                alert: No::MAX,
                how: No::MAX,
            },
            Tap::Enrol {
                enrolment: i64::MAX,
                question: No::MAX,
                answered: Answered::Option(No::MAX),
            },
            Tap::Enrol {
                enrolment: i64::MAX,
                question: No::MAX,
                answered: Answered::Back,
            },
            Tap::Amend {
                household: i64::MAX,
                amendment: No::MAX,
                verdict: Verdict::Show,
            },
            Tap::Patient {
                household: i64::MAX,
                course: No::MAX,
            },
            Tap::Board { page: No::MAX },
        ] {
            assert!(tap.encode().len() <= 64, "{tap:?}");
            assert_eq!(Tap::decode(&tap.encode()), Some(tap));
        }
    }

    proptest! {
        #[test]
        fn forged_taps_are_read_or_refused(text in "[gnmdcxtsaoewkpb]?:?\\PC{0,20}") {
            if let Some(tap) = Tap::decode(&text) {
                prop_assert_eq!(Tap::decode(&tap.encode()), Some(tap));
            }
        }
    }
}
