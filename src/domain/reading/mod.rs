//! Free text to what it says. Whatever is not clear goes to a person.
//!
//! Pure and total: no text makes it fail. It never decides; `decide` holds
//! what was said against the order and the books.

mod amount;
mod clear;
mod concept;
mod english;
mod everyday;
mod fractions;
mod lexicon;
mod message;
mod questions;
mod records;
mod spanish;
mod text;
mod time;
mod travel;
mod worries;

use super::language::Language;
use super::question::{DayPart, Question};
use super::red_flags::{self, Sign};
use concept::C;
use message::{Message, Names};
use text::Plain;
pub use worries::MASSIVE;

/// What is known of the household while a message is read.
#[derive(Debug, Clone, Copy)]
pub struct Context<'a> {
    /// The household's language; a message may still be in another.
    pub language: Language,
    /// The patients' names, as the clinic spells them.
    pub patients: &'a [&'a str],
    /// The carers' names, as invited.
    pub carers: &'a [&'a str],
    /// The topics on which the clinic has written standing notes.
    pub notes: &'a [NoteTopic<'a>],
}

/// A standing note of the clinic, by the words that ask for it.
#[derive(Debug, Clone)]
pub struct NoteTopic<'a> {
    /// The note's key in the clinic's configuration.
    pub key: &'a str,
    /// Any one of these in a question asks for the note.
    pub asked_by: &'a [Phrase],
}

/// Words to be found in messages, made plain once as messages are: lower case, no accents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phrase(Vec<String>);

impl Phrase {
    /// Words as people write them; marks between them do not count.
    pub fn of(text: &str) -> Phrase {
        Phrase(message::words_of(text))
    }
}

/// What a message says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reading {
    /// A red flag stands in the text: nothing else matters.
    Emergency,
    /// It must go to a person, even beside a clear record or a safe question.
    Clinic(Reason),
    /// Something happened (or did not) that belongs in the books.
    Record(Record),
    /// Exactly one question that can be answered.
    Ask(Question),
    /// A new place where the household is or will be: the words that name it.
    Travel(String),
    /// A bare yes, to a question of ours.
    Yes,
    /// A bare no, to a question of ours.
    No,
    /// A greeting, thanks, noise, or nothing that was understood.
    Unclear,
}

/// Why a message goes to a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Reason {
    /// A sign in the animal, or a worry about it.
    Symptom,
    /// A judgement is asked: is it all right, may I, should I, what if.
    Judgement,
    /// A dose twice, too much, to the wrong animal, or by two people.
    WrongDose,
    /// A change of amount, time or course.
    Change,
    /// Another diluent, or another volume of it, than ordered.
    WrongMix,
    /// Another drug, food or device.
    OtherDrug,
    /// Another animal than the patients.
    OtherAnimal,
    /// A person was pricked, bitten or exposed.
    HumanExposure,
    /// A vial, needle or liquid that looks wrong, broke, froze or was left out.
    Quality,
    /// Units, teaspoons or lines instead of mL.
    Units,
    /// An appointment, a bill, a visit.
    Appointment,
    /// An attempt to make the program play a veterinarian.
    Jailbreak,
    /// Two records in one message, or a record beside its opposite.
    SeveralThings,
    /// It touches the treatment, and was not understood well enough.
    NotUnderstood,
}

/// Something that belongs in the books, as it was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Record {
    /// What happened.
    pub what: What,
    /// One of the context's patients, as spelled there.
    pub patient: Option<String>,
    /// The day, when one was named.
    pub day: Option<Day>,
    /// The part of the day, when one was named.
    pub part: Option<DayPart>,
    /// The time, when one was named.
    pub time: Option<SaidTime>,
    /// How long it lasted, in minutes ("out of the fridge for 15 minutes").
    pub lasted_minutes: Option<u32>,
    /// The vial, when one was named.
    pub vial: Option<SaidVial>,
    /// The amount, when one was named.
    pub amount: Option<SaidAmount>,
    /// Who did it, when somebody else than the writer was named.
    pub by: Option<String>,
    /// What was counted; empty unless `what` is [`What::SuppliesCounted`].
    pub counts: Vec<Count>,
    /// False when the writer hedged or the phrasing is messy: read it back.
    pub sure: bool,
    /// What stands beside it and was not understood.
    pub rest: Rest,
}

/// Words beside a record that the reader does not know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Rest {
    /// None.
    Nothing,
    /// Some that seem to tell of the people at home, or how it was done: the record
    /// is read back, and the clinic sees the words.
    Strange,
}

impl Record {
    /// A record with nothing said but what happened.
    #[must_use]
    pub const fn of(what: What) -> Self {
        Self {
            what,
            patient: None,
            day: None,
            part: None,
            time: None,
            lasted_minutes: None,
            vial: None,
            amount: None,
            by: None,
            counts: Vec::new(),
            sure: true,
            rest: Rest::Nothing,
        }
    }
}

/// The kinds of thing that happen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum What {
    /// A dose was given.
    Given,
    /// A dose was not given, and will not be.
    NotGiven,
    /// A dose is still pending, or intended: nothing is recorded.
    NotYet,
    /// A vial was mixed.
    Mixed,
    /// A vial was discarded.
    Discarded,
    /// A level was seen in the vial.
    Level,
    /// The vial left the refrigerator.
    OutOfFridge,
    /// The vial went back into the refrigerator.
    BackInFridge,
    /// What was said before was wrong.
    TakeBack,
    /// Supplies were counted.
    SuppliesCounted,
}

/// A day, as said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Day {
    /// The household's today.
    Today,
    /// The household's yesterday.
    Yesterday,
}

/// A time, as said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SaidTime {
    /// At this moment.
    Now,
    /// Some minutes before this moment.
    Ago {
        /// Minutes, at most two days of them.
        minutes: u32,
    },
    /// A time on the clock.
    Clock {
        /// 0 to 23 when `half` is `None` and it is 0 or above 12; else 1 to 12.
        hour: u8,
        /// 0 to 59.
        minute: u8,
        /// Morning or evening, when said; without it an hour of 1 to 12 is ambiguous.
        half: Option<Half>,
    },
}

/// A half of the day on a twelve-hour clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Half {
    /// Midnight to noon.
    Am,
    /// Noon to midnight.
    Pm,
}

/// A vial, as said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SaidVial {
    /// By its number.
    Number(u32),
    /// The new one.
    New,
    /// The old, empty or finished one.
    Old,
    /// The one in use.
    Open,
}

/// An amount, as said.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum SaidAmount {
    /// mL, as a decimal with a point and without trailing zeros: `1.5`.
    Exact(String),
    /// Half, some, most: not a number.
    Part,
}

/// Some pieces of one kind at home.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Count {
    /// The kind.
    pub supply: SaidSupply,
    /// How many.
    pub pieces: u32,
}

/// Kinds of supply, as said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SaidSupply {
    /// Unmixed vials.
    Vials,
    /// Needles.
    Needles,
    /// Syringes.
    Syringes,
    /// Bottles or ampoules of diluent.
    Diluent,
}

/// Reads a message.
///
/// What may be an emergency comes first, then what a person must see, and only
/// then what can be answered or recorded.
#[must_use]
pub fn read(text: &str, context: &Context) -> Reading {
    let names = Names::of(context);
    let typed = Plain::of(text);
    let strange = message::strange(&typed, &names);
    let respaced = message::respaced(&typed, &strange);
    if respaced.is_some() && sign_in(&typed, &message::spell(&typed, &strange)) == Sign::Present {
        return Reading::Emergency;
    }
    let (plain, mut strange) = match respaced.as_deref() {
        None => (typed, strange),
        Some(respaced) => {
            let plain = Plain::of(respaced);
            let strange = message::strange(&plain, &names);
            (plain, strange)
        }
    };
    let words = message::spell(&plain, &strange);
    let sign = sign_in(&plain, &words);
    if sign == Sign::Present {
        return Reading::Emergency;
    }
    let strangers = message::capitalised(text);
    let words = match strangers.as_slice() {
        [] => words,
        _ => {
            message::introduce(&plain, &mut strange, &strangers);
            message::spell(&plain, &strange)
        }
    };
    let mut message = Message::of(&plain, words, context, &names);
    message.mended |= respaced.is_some();
    message.hear_givers(&strangers);
    if worries::massive(&message) {
        return Reading::Emergency;
    }
    if sign == Sign::Mentioned {
        return Reading::Clinic(Reason::Symptom);
    }
    if let Some(bare) = yes_or_no(&message) {
        return bare;
    }
    if let Some(key) = note(&mut message, context) {
        return match worries::reason(&message) {
            None if message.unknown == 0 || !message.any(&[C::Beast, C::Pet, C::Gave]) => {
                Reading::Ask(Question::Note(key))
            }
            reason => Reading::Clinic(reason.unwrap_or(Reason::NotUnderstood)),
        };
    }
    if let Some(reason) = worries::reason(&message) {
        return Reading::Clinic(reason);
    }
    if let Some(place) = travel::place(text, &message) {
        return Reading::Travel(place);
    }
    answered(&message, context)
}

/// A sign in the words as typed, or in the words that were meant.
fn sign_in(plain: &Plain, spelled: &[&str]) -> Sign {
    let typed = message::typed(plain);
    let sign = red_flags::sign_in(&message::joined(&typed));
    if sign == Sign::Present || typed == spelled {
        return sign;
    }
    sign.max(red_flags::sign_in(&message::joined(spelled)))
}

fn answered(message: &Message, context: &Context) -> Reading {
    let record = records::said(message, context);
    if questions::asks(message) {
        return match (questions::asked(message), record) {
            // "water to put in the powder, how many mL": nothing was mixed yet.
            (Some(Question::Diluent), Some(Reading::Record(told)))
                if told.what == What::Mixed && told.time.is_none() =>
            {
                Reading::Ask(Question::Diluent)
            }
            // Told and asked in one message: what was told is read back first.
            (_, Some(Reading::Record(told))) if told.what != What::NotYet => {
                Reading::Record(Record {
                    sure: false,
                    ..told
                })
            }
            (Some(question), _) => Reading::Ask(question),
            (None, _) if touches_the_treatment(message) => Reading::Clinic(Reason::NotUnderstood),
            (None, _) => Reading::Unclear,
        };
    }
    match record {
        Some(reading) => reading,
        None if touches_the_treatment(message) => Reading::Clinic(Reason::NotUnderstood),
        None => Reading::Unclear,
    }
}

/// A bare yes or no, with nothing but manners around it.
fn yes_or_no(message: &Message) -> Option<Reading> {
    match (message.has(C::Yes), message.has(C::No)) {
        (true, false) if message.only(&[C::Yes]) => Some(Reading::Yes),
        (false, true) if message.only(&[C::No]) => Some(Reading::No),
        _ => None,
    }
}

/// The standing note that is asked for; its words then count as harmless.
fn note(message: &mut Message, context: &Context) -> Option<String> {
    let (key, span) = context
        .notes
        .iter()
        .flat_map(|topic| {
            topic
                .asked_by
                .iter()
                .map(move |phrase| (topic.key, &phrase.0))
        })
        .filter_map(|(key, phrase)| {
            let at = (0..message.words.len())
                .find(|at| message::starts_with(&message.words[*at..], phrase))?;
            Some((key, at..at + phrase.len()))
        })
        .max_by_key(|(_, span)| span.len())?;
    message.without(span);
    Some(key.to_owned())
}

fn touches_the_treatment(message: &Message) -> bool {
    message.any(&[
        C::Gave,
        C::GavePart,
        C::Give,
        C::Missed,
        C::Dose,
        C::Doses,
        C::Vial,
        C::Vials,
        C::Mixed,
        C::Mix,
        C::Medicine,
        C::Needle,
        C::Syringe,
        C::Syringes,
        C::Beast,
        C::Pet,
        C::Ml,
        C::Course,
    ])
}

/// True when a text by itself tells of a sign that cannot wait.
///
/// Works in every language of the program, whatever the household's own is.
#[must_use]
pub fn tells_of_danger(text: &str) -> bool {
    let plain = Plain::of(text);
    let strange = message::strange(&plain, &Names::none());
    sign_in(&plain, &message::spell(&plain, &strange)) == Sign::Present
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_read_as_what_they_say() {
        let context = Context {
            language: Language::English,
            patients: &["Juniper"],
            carers: &[],
            notes: &[],
        };
        for (label, what) in [
            ("Given", What::Given),
            ("Not given", What::NotGiven),
            ("Mixed", What::Mixed),
            ("Discarded", What::Discarded),
            ("Dada", What::Given),
            ("Puesta", What::Given),
            ("No puesta", What::NotGiven),
            ("Mezclado", What::Mixed),
            ("Desechado", What::Discarded),
        ] {
            let Reading::Record(record) = read(label, &context) else {
                panic!("{label} is no record");
            };
            assert_eq!((record.what, record.sure), (what, true), "{label}");
        }
    }

    fn home<'a>(notes: &'a [NoteTopic<'a>]) -> Context<'a> {
        Context {
            language: Language::English,
            patients: &["Juniper", "Moss"],
            carers: &["Ana"],
            notes,
        }
    }

    fn record(text: &str) -> Record {
        match read(text, &home(&[])) {
            Reading::Record(record) => record,
            other => panic!("{text:?} is {other:?}"),
        }
    }

    #[test]
    fn times_are_kept_as_said() {
        let clock = |hour, minute, half| Some(SaidTime::Clock { hour, minute, half });
        for (text, time) in [
            ("gave it at 7:40", clock(7, 40, None)),
            ("gave it at 19:40", clock(19, 40, None)),
            ("gave it at 8", clock(8, 0, None)),
            ("gave it at 8 pm", clock(8, 0, Some(Half::Pm))),
            ("gave the shot at 730 p.m.", clock(7, 30, Some(Half::Pm))),
            (
                "gave it at half past seven this evening",
                clock(7, 30, Some(Half::Pm)),
            ),
            ("gave it at twenty to eight", clock(7, 40, None)),
            ("se la puse anoche a las 8", clock(8, 0, Some(Half::Pm))),
            (
                "se la puse a las siete y media de la tarde",
                clock(7, 30, Some(Half::Pm)),
            ),
            ("se la puse a las ocho menos cuarto", clock(7, 45, None)),
            ("just gave it", Some(SaidTime::Now)),
            (
                "gave it ten minutes ago",
                Some(SaidTime::Ago { minutes: 10 }),
            ),
            (
                "gave it half an hour ago",
                Some(SaidTime::Ago { minutes: 30 }),
            ),
            (
                "se la puse hace una hora",
                Some(SaidTime::Ago { minutes: 60 }),
            ),
            ("gave it", None),
        ] {
            assert_eq!(record(text).time, time, "{text}");
        }
    }

    #[test]
    fn who_what_and_how_much_are_kept_as_said() {
        let given = record("Ana gave moss 1,50 ml this evening");
        assert_eq!(given.patient.as_deref(), Some("Moss"));
        assert_eq!(given.by.as_deref(), Some("Ana"));
        assert_eq!(given.amount, Some(SaidAmount::Exact("1.5".to_owned())));
        assert_eq!((given.day, given.part), (None, Some(DayPart::Evening)));
        assert_eq!(record("my son gave it").by.as_deref(), Some("my son"));
        assert_eq!(record("my son slept, I gave it").by, None);
        assert_eq!(record("given last night").day, Some(Day::Yesterday));
        assert_eq!(record("gave most of it").amount, Some(SaidAmount::Part));
        assert_eq!(record("threw out vial 2").vial, Some(SaidVial::Number(2)));
        let out = record("took it out of the fridge for 15 minutes");
        assert_eq!(
            (out.what, out.lasted_minutes),
            (What::OutOfFridge, Some(15))
        );
        assert!(!record("I think I gave it").sure);
    }

    #[test]
    fn counts_are_kept_by_kind() {
        let counted = record("we have 3 vials and 12 needles left");
        assert_eq!(counted.what, What::SuppliesCounted);
        assert_eq!(
            counted.counts,
            [
                Count {
                    supply: SaidSupply::Vials,
                    pieces: 3
                },
                Count {
                    supply: SaidSupply::Needles,
                    pieces: 12
                },
            ]
        );
    }

    #[test]
    fn a_new_place_is_named() {
        for (text, place) in [
            ("we are in Madrid now", "Madrid"),
            ("moving to Denver tomorrow", "Denver"),
            ("mañana viajo a Bogotá", "Bogotá"),
            ("Time zone is America/Denver", "America/Denver"),
        ] {
            assert_eq!(
                read(text, &home(&[])),
                Reading::Travel(place.to_owned()),
                "{text}"
            );
        }
        assert!(!matches!(
            read("we are in the garden", &home(&[])),
            Reading::Travel(_)
        ));
    }

    #[test]
    fn a_note_answers_its_topic_and_nothing_worse() {
        let phrases = ["cap colour", "cap color"].map(Phrase::of);
        let notes = [NoteTopic {
            key: "caps",
            asked_by: &phrases,
        }];
        let note = Reading::Ask(Question::Note("caps".to_owned()));
        assert_eq!(read("what does the cap colour mean?", &home(&notes)), note);
        let worse = read("does the cap colour matter, he vomited", &home(&notes));
        assert_eq!(worse, Reading::Clinic(Reason::Symptom));
    }

    #[test]
    fn a_strange_name_is_no_slip_for_a_word() {
        for text in ["gave Nieve the shot", "how did nieve do today?"] {
            assert!(!matches!(read(text, &home(&[])), Reading::Ask(_)), "{text}");
        }
        assert_eq!(
            read("gave the shot to Fridfe", &home(&[])),
            Reading::Clinic(Reason::NotUnderstood)
        );
    }

    #[test]
    fn what_was_mended_is_read_back() {
        assert!(!record("gave the injecton").sure);
        assert!(record("gave it. thanks.").sure);
        assert_eq!(record("gave it. thanks.").amount, None);
        assert!(!record("shot given by Odette at 7:30").sure);
    }

    #[test]
    fn strange_words_are_read_back_or_left_to_a_person() {
        let told = record("my wife scrobbled, I gave the shot at 7:30");
        assert_eq!((told.rest, told.sure), (Rest::Strange, false));
        let told = record("le puse la dosis pero derramamos");
        assert_eq!((told.rest, told.sure), (Rest::Strange, false));
        for text in [
            "gave the shot, she is scrobbly",
            "gave the shot scrobbly",
            "gave Scrobble the shot",
        ] {
            let reading = read(text, &home(&[]));
            assert_eq!(reading, Reading::Clinic(Reason::NotUnderstood), "{text}");
        }
    }

    /// Found by somebody who tried to have something recorded or answered that must not be.
    #[test]
    fn what_only_sounds_like_a_record_or_a_question_is_neither() {
        for text in [
            "take the dose now",
            "given to the postman",
            "gave it to the scrobble",
            "take it now?",
            "last date I can give it",
            "la jeringa es chica",
        ] {
            let reading = read(text, &home(&[]));
            assert!(
                matches!(reading, Reading::Clinic(_) | Reading::Unclear),
                "{text} is {reading:?}"
            );
        }
        for text in ["new vial done", "frasco nuevo listo"] {
            let told = record(text);
            assert_eq!((told.what, told.sure), (What::Mixed, false), "{text}");
        }
    }

    #[test]
    fn a_time_with_a_point_is_no_amount() {
        let told = record("poked Juniper this morning 7.32");
        let half_past = SaidTime::Clock {
            hour: 7,
            minute: 32,
            half: Some(Half::Am),
        };
        assert_eq!((told.time, told.amount), (Some(half_past), None));
        let amount = record("gave 7.32 ml").amount;
        assert_eq!(amount, Some(SaidAmount::Exact("7.32".to_owned())));
    }

    #[test]
    fn a_bare_yes_or_no_stays_one() {
        for (text, reading) in [
            ("Yes please", Reading::Yes),
            ("sí", Reading::Yes),
            ("👍", Reading::Yes),
            ("No.", Reading::No),
            ("nope", Reading::No),
        ] {
            assert_eq!(read(text, &home(&[])), reading, "{text}");
        }
    }
}
