//! What may stand in a message that is taken at its word.
//!
//! A word that is known may still change what is said: another day, another
//! one, a "not" at the end, a vial handed to a neighbour. So every word beside
//! a record must be one of those that belong to it; where one is not, the
//! record is read back. Beside a question that is answered, likewise; where
//! one is not, a person answers.

use super::concept::{C, Set};
use super::message::{Item, Message};
use super::text::Kind;
use super::time::{is_digits, is_ml};
use super::{Question, What};

/// Time, people and patients belong to every record.
const OF_ANY_RECORD: Set = Set::of(&[
    C::I,
    C::Beast,
    C::Pet,
    C::Person,
    C::Carer,
    C::Now,
    C::Ago,
    C::Morning,
    C::Evening,
    C::Today,
    C::Am,
    C::Pm,
    C::At,
    C::Half,
    C::Minute,
    C::Hour,
    C::Yes,
    C::Done,
    C::About,
    C::Aux,
    C::Yesterday,
]);

fn of_the_record(what: What) -> Set {
    match what {
        What::Given => Set::of(&[
            C::Gave,
            C::GavePart,
            C::Give,
            C::Got,
            C::Dose,
            C::Doses,
            C::Ml,
            C::Whole,
            C::Medicine,
            C::Number,
            C::Have,
            C::Part,
        ]),
        What::NotGiven => Set::of(&[
            C::Gave,
            C::GavePart,
            C::Give,
            C::Dose,
            C::Doses,
            C::Missed,
            C::Neg,
            C::No,
            C::Because,
            C::Number,
            C::Have,
            C::Medicine,
            C::Can,
            C::Out,
        ]),
        What::Mixed => Set::of(&[
            C::Mixed,
            C::Mix,
            C::Put,
            C::Gave,
            C::GavePart,
            C::Vial,
            C::Powder,
            C::Water,
            C::New,
            C::Next,
            C::Second,
            C::Open,
            C::Number,
            C::Ml,
            C::Medicine,
            C::Dose,
            C::Got,
            C::Fridge,
        ]),
        What::Discarded => Set::of(&[
            C::Discarded,
            C::Discard,
            C::Bin,
            C::Vial,
            C::Vials,
            C::Old,
            C::Open,
            C::Number,
            C::Out,
            C::Put,
            C::Got,
            C::Loose,
            C::Last,
            C::Gave,
        ]),
        What::OutOfFridge | What::BackInFridge => Set::of(&[
            C::Fridge,
            C::TookOut,
            C::WasOut,
            C::Out,
            C::Return,
            C::Back,
            C::Put,
            C::Got,
            C::Gave,
            C::Vial,
            C::Medicine,
            C::Mixed,
            C::Open,
            C::Number,
            C::Have,
            C::Still,
            C::New,
            C::Left,
            // "since 12:30".
            C::Because,
        ]),
        What::Level | What::NotYet | What::TakeBack | What::SuppliesCounted => Set::ALL,
    }
}

/// True when nothing stands in the message that may change what is recorded.
pub(super) fn is_plain(m: &Message, what: What) -> bool {
    let belong = of_the_record(what).with(OF_ANY_RECORD);
    let holds_good = match what {
        What::Given => names_its_object(m),
        What::NotGiven => is_over(m),
        _ => true,
    };
    holds_good
        && m.items.iter().enumerate().all(|(at, item)| {
            matches!(item.kind, Kind::Stop | Kind::Pause)
                || is_digits(item.kind)
                || (item.set.is_empty() && item.kind == Kind::Number)
                || item.any(&[C::Filler, C::Greet, C::Thanks])
                || (item.is(C::And) && only_joins(m.text(item)))
                || (item.is(C::About) && item.set.only(C::About) && near_a_figure(m, at))
                || (item.set.any(belong)
                    && !item.any(&[C::About, C::Aside])
                    && !unlike(item, belong))
        })
}

/// "gave", "puse": of what? The dose, the patient or the amount stands beside it.
fn names_its_object(m: &Message) -> bool {
    let named = m.any(&[C::Pet, C::Dose, C::Doses, C::Ml, C::Medicine]);
    // "gave it up", "gave it away": the small word turns it round.
    let turned = m.words.windows(3).any(|three| {
        let away = |word: &str| matches!(word, "up" | "away" | "over" | "off" | "out" | "back");
        matches!(three[0], "gave" | "given" | "giving")
            && (away(three[1]) || (matches!(three[1], "it" | "him" | "her") && away(three[2])))
    });
    let bare = |item: &Item| {
        let before = item.word.checked_sub(1).map_or("", |at| m.words[at]);
        // "le puse", "se la di"; in "puse la alarma" it is an article.
        let clitic = matches!(
            before,
            "le" | "les" | "la" | "lo" | "las" | "los" | "sela" | "selo"
        );
        match m.text(item) {
            "gave" => !m.has(C::Beast),
            "puse" | "di" | "puso" | "dio" | "pusimos" | "dimos" | "meti" => !clitic,
            _ => false,
        }
    };
    let unsaid = |item: &Item| item.is(C::Gave) && item.words == 1 && bare(item);
    !turned && (named || !m.items.iter().any(unsaid))
}

/// "isn't done", "wouldn't let me": it may still be given.
fn is_over(m: &Message) -> bool {
    !m.words.iter().any(|word| {
        matches!(
            *word,
            "isnt"
                | "went"
                | "aint"
                | "wouldnt"
                | "refused"
                | "refuses"
                | "wont"
                | "cant"
                | "let"
                | "puedo"
                | "podemos"
                | "deja"
                | "quiere"
        )
    })
}

/// A word of two meanings, one of which says something else ("vacuna").
fn unlike(item: &Item, belong: Set) -> bool {
    item.is(C::Loose) && !belong.has(C::Loose)
}

/// "and" joins; "also" and "after" may tell of a second thing.
fn only_joins(word: &str) -> bool {
    matches!(
        word,
        "and" | "but" | "so" | "then" | "y" | "pero" | "entonces"
    )
}

/// "about ten minutes ago", "like 1.5": beside anything else "almost" takes it back.
fn near_a_figure(m: &Message, at: usize) -> bool {
    m.items[at + 1..].iter().take(2).any(|item: &Item| {
        is_digits(item.kind)
            || item.kind == Kind::Number
            || item.any(&[C::At, C::Minute, C::Hour, C::Half])
            || is_ml(m.text(item))
    })
}

/// Words that may stand in any question.
const OF_ANY_QUESTION: Set = Set::of(&[
    C::HowMuch,
    C::HowMany,
    C::When,
    C::Who,
    C::Which,
    C::What,
    C::How,
    C::Aux,
    C::Tell,
    C::I,
    C::Beast,
    C::Pet,
    C::Bot,
    C::Must,
    C::At,
    C::Now,
    C::Today,
    C::Use,
    C::Have,
    C::Should,
    C::Can,
    C::About,
    C::Number,
    C::Medicine,
    C::Yes,
    C::Give,
    C::Loose,
    C::Due,
]);

fn of_the_question(question: &Question) -> Set {
    match question {
        Question::Remaining => Set::of(&[
            C::Yet,
            C::Left,
            C::Hold,
            C::Vial,
            C::Ml,
            C::Open,
            C::Level,
            C::Size,
            C::Still,
            C::Part,
            C::Put,
            C::Mixed,
            C::More,
            C::Last,
            C::GavePart,
            C::Got,
        ]),
        Question::DosesLeft => Set::of(&[
            C::Left,
            C::Hold,
            C::Vial,
            C::Dose,
            C::Doses,
            C::Open,
            C::Enough,
            C::More,
            C::RunOut,
            C::Still,
            C::Level,
            C::Each,
            C::Got,
            C::Times,
            C::Last,
            C::Mixed,
            C::Next,
            C::Yet,
            C::UntilWhen,
            C::Tomorrow,
            C::Morning,
            C::Evening,
            C::Old,
            C::Out,
            C::Future,
            C::Whole,
        ]),
        Question::DiscardBy => Set::of(&[
            C::RunOut,
            C::Morning,
            C::Evening,
            C::Fridge,
            C::Expire,
            C::Discard,
            C::Discarded,
            C::UntilWhen,
            C::HowLong,
            C::Vial,
            C::Mixed,
            C::Open,
            C::Day,
            C::Date,
            C::Hour,
            C::Left,
            C::Still,
            C::End,
            C::Week,
            C::Old,
            C::Last,
            C::Level,
            C::Out,
            C::Bin,
            C::Put,
            C::Mix,
        ]),
        Question::MixedAt => Set::of(&[
            C::Water,
            C::Put,
            C::Fridge,
            C::Mixed,
            C::Mix,
            C::Vial,
            C::Open,
            C::HowOld,
            C::HowLong,
            C::Date,
            C::Day,
            C::Ago,
            C::Hour,
            C::Last,
            C::Person,
            C::Carer,
            C::Week,
            C::Old,
            C::Dose,
            C::Got,
        ]),
        Question::NextDose => Set::of(&[
            C::Next,
            C::Dose,
            C::Doses,
            C::Morning,
            C::Evening,
            C::Tomorrow,
            C::HowLong,
            C::Hour,
            C::Minute,
            C::Day,
            C::Times,
            C::Got,
            C::Left,
            C::Future,
            C::Person,
            C::Carer,
            C::Each,
            C::More,
        ]),
        Question::LastDose { .. } => Set::of(&[
            C::Last,
            C::Dose,
            C::Doses,
            C::Gave,
            C::GavePart,
            C::Got,
            C::Done,
            C::Morning,
            C::Evening,
            C::Yesterday,
            C::Person,
            C::Carer,
            C::Somebody,
            C::Ago,
            C::HowLong,
            C::HowOld,
            C::Hour,
            C::Day,
            C::Yet,
            C::Am,
            C::Pm,
            C::If,
        ]),
        Question::Volume => Set::of(&[
            C::Dose,
            C::Doses,
            C::Ml,
            C::Each,
            C::Gave,
            C::GavePart,
            C::Size,
            C::DrawUp,
            C::Got,
            C::Put,
            C::Syringe,
            C::Vial,
            C::Morning,
            C::Evening,
            C::Next,
            C::Total,
            C::Daily,
            C::Whole,
            C::Hold,
        ]),
        Question::Diluent => Set::of(&[
            C::Water,
            C::Powder,
            C::Mix,
            C::Mixed,
            C::Put,
            C::Vial,
            C::Vials,
            C::New,
            C::Ml,
            C::Each,
            C::Size,
            C::Open,
            C::DrawUp,
            C::Next,
            C::Got,
            C::Gave,
            C::Dose,
        ]),
        Question::Syringe => Set::of(&[
            C::Morning,
            C::Evening,
            C::Next,
            C::Gave,
            C::Supply,
            C::Syringe,
            C::Syringes,
            C::Needle,
            C::Size,
            C::Dose,
            C::Doses,
            C::Ml,
            C::Each,
            C::DrawUp,
            C::Vial,
        ]),
        Question::CourseLeft => Set::of(&[
            C::Next,
            C::Course,
            C::Day,
            C::Week,
            C::Left,
            C::End,
            C::Total,
            C::Dose,
            C::Doses,
            C::HowLong,
            C::UntilWhen,
            C::More,
            C::Last,
            C::Date,
            C::Done,
            C::Gave,
            C::GavePart,
            C::Got,
            C::Still,
            C::Whole,
            C::Future,
            C::Part,
            C::Second,
        ]),
        Question::Supplies => Set::of(&[
            C::Total,
            C::Got,
            C::Vial,
            C::Vials,
            C::Needle,
            C::Syringe,
            C::Syringes,
            C::Supply,
            C::Water,
            C::Left,
            C::RunOut,
            C::Enough,
            C::HowLong,
            C::UntilWhen,
            C::New,
            C::Course,
            C::Still,
            C::More,
            C::Week,
            C::Day,
            C::Last,
            C::End,
            C::Level,
            C::Future,
            C::Doses,
            C::Dose,
            C::Mix,
            C::Powder,
            C::Hold,
            C::Whole,
            C::Level,
            C::Yet,
        ]),
        Question::Schedule => Set::of(&[
            C::Tomorrow,
            C::Times,
            C::HowOften,
            C::Dose,
            C::Doses,
            C::Daily,
            C::Morning,
            C::Evening,
            C::Each,
            C::Day,
            C::Hour,
            C::Got,
            C::Gave,
            C::Course,
            C::Week,
            C::Level,
        ]),
        _ => Set::ALL,
    }
}

/// True when every word that is known belongs to the question.
pub(super) fn belongs(m: &Message, question: &Question) -> bool {
    let belong = of_the_question(question).with(OF_ANY_QUESTION);
    // "how much can I give", "when can I give it": a judgement, not the plan.
    let asks_leave = m.has(C::Can)
        && !m.has(C::Tell)
        && matches!(
            question,
            Question::LastDose { .. }
                | Question::NextDose
                | Question::Volume
                | Question::Schedule
                | Question::CourseLeft
        );
    if asks_leave {
        return false;
    }
    m.items.iter().all(|item| {
        item.set.is_empty()
            || m.is_aside(item.clause)
            || (item.set.any(belong) && (!item.is(C::Loose) || item.set.only(C::Loose)))
            || item.any(&[C::Filler, C::Greet, C::Thanks, C::And])
    })
}
