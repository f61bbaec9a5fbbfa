//! Which one question a message asks.
//!
//! A question is answered only when every word of it is understood: one word
//! that stands for nothing here makes it another question.

use super::clear;
use super::concept::C;
use super::message::{Item, Message};
use super::text::Kind;
use super::worries::is_question_word;
use super::{DayPart, Question};
use crate::domain::question::StepTopic;

/// True when the message, or a sentence of it, asks.
pub(super) fn asks(message: &Message) -> bool {
    message.items.iter().any(|item| item.kind == Kind::Question)
        || message.has(C::Tell)
        || clauses(message).any(|clause| leads(&clause))
        || names_a_topic(message)
}

/// The speaking items of each clause.
fn clauses<'m>(message: &'m Message) -> impl Iterator<Item = Vec<&'m Item>> {
    let last = message.items.last().map_or(0, |item| item.clause);
    (0..=last).map(move |clause| {
        message
            .items
            .iter()
            .filter(|item| item.clause == clause && item.speaks())
            .collect()
    })
}

/// "did not give it" tells, "did she get it" asks.
pub(super) fn leads(sentence: &[&Item]) -> bool {
    let Some(first) = sentence.first() else {
        return false;
    };
    let trails = sentence.last().is_some_and(|last| {
        last.any(&[C::When, C::Who, C::HowMuch, C::HowMany, C::HowLong]) && !last.any(&[C::Hedge])
    });
    let denied = sentence.get(1).is_some_and(|second| second.is(C::Neg));
    // "did her shot" tells; "did she get her shot" has a verb besides.
    let acted = first.is(C::Done)
        && !sentence.iter().any(|item| {
            item.any(&[
                C::Give,
                C::Gave,
                C::Got,
                C::Have,
                C::Mix,
                C::Somebody,
                C::GavePart,
                C::Tell,
            ])
        });
    trails
        || is_question_word(first)
        || first.any(&[C::Who, C::Help, C::Why, C::Tell, C::Hold])
        || first.is(C::Date)
        || (first.any(&[C::Aux, C::Should, C::Can]) && !denied && !acted)
}

const ACTS: [C; 12] = [
    C::Gave,
    C::GavePart,
    C::Done,
    C::Got,
    C::Missed,
    C::Mixed,
    C::Put,
    C::Discarded,
    C::TookOut,
    C::WasOut,
    C::Return,
    C::Neg,
];

/// "next dose", "syringe size", "ml remaining": a noun without an act or a figure asks for itself.
fn names_a_topic(message: &Message) -> bool {
    let seen =
        message.any(&[C::Part, C::Level, C::About]) && !message.any(&[C::HowMuch, C::HowMany]);
    let hours = message.has(C::Clinic) && message.any(&[C::Hour, C::Number]);
    let worn = message.has(C::Old) && message.has(C::Expire);
    !message.any(&ACTS)
        && !worn
        && !seen
        && !message
            .items
            .iter()
            .any(|item| matches!(item.kind, Kind::Number | Kind::Clock))
        && message.any(&[
            C::Next,
            C::Last,
            C::Left,
            C::Phone,
            C::Times,
            C::Expire,
            C::Size,
            C::Date,
            C::End,
            C::HowMuch,
            C::HowMany,
            C::When,
            C::Syringe,
            C::Open,
            C::Steps,
            C::Enough,
            C::Supply,
            C::Help,
            C::RunOut,
        ])
        || hours
        || terse(message)
        || question_word_anywhere(message)
}

/// "diluent per vial", "doses in this vial", "mL each": two nouns are a question.
fn terse(message: &Message) -> bool {
    let nouns = (message.has(C::Water) && message.any(&[C::Each, C::Vial]))
        || (message.has(C::Water) && message.has(C::Ml) && message.any(&[C::Mix, C::Powder]))
        || (message.any(&[C::Doses, C::Dose]) && message.has(C::Vial))
        || (message.any(&[C::Ml, C::Size]) && message.has(C::Each));
    let figures = message
        .items
        .iter()
        .any(|item| matches!(item.kind, Kind::Number | Kind::Clock));
    let mut speaking = message.items.iter().filter(|item| item.speaks());
    let is_it = speaking.next().is_some_and(|first| {
        matches!(
            message.text(first),
            "is" | "was" | "es" | "era" | "son" | "eran"
        )
    });
    if is_it && either(message) {
        return true;
    }
    nouns
        && !figures
        && !message.any(&ACTS)
        && !message.any(&[C::Give, C::Discard, C::Future, C::Must, C::Part, C::Old])
}

/// "remaining in the vial how much", "the dose is how much": no act, but a question word.
fn question_word_anywhere(message: &Message) -> bool {
    !message.any(&ACTS)
        && message.any(&[
            C::HowMuch,
            C::HowMany,
            C::When,
            C::UntilWhen,
            C::HowLong,
            C::HowOften,
            C::Who,
            C::Which,
        ])
}

/// The question, when it is one that can be answered.
pub(super) fn asked(message: &Message) -> Option<Question> {
    if let Some(help) = help(message) {
        return Some(help);
    }
    let late = message
        .items
        .iter()
        .any(|item| matches!(message.text(item), "late" | "tarde"));
    if message.unknown > 0 || message.any(&[C::Why, C::Hedge, C::Missed, C::Neg]) || late {
        return None;
    }
    let m = message;
    contact(m)
        .or_else(|| steps(m))
        .or_else(|| vial(m))
        .or_else(|| supplies(m))
        .or_else(|| doses(m))
        .filter(|question| clear::belongs(m, question))
}

fn quantity(m: &Message) -> bool {
    m.any(&[C::HowMuch, C::HowMany])
}

fn help(m: &Message) -> Option<Question> {
    let manners = [
        C::Help,
        C::Bot,
        C::I,
        C::Use,
        C::Tell,
        C::Yes,
        C::Must,
        C::Want,
        C::Dose,
        C::Gave,
        C::Give,
        C::Beast,
        C::Can,
        C::What,
        C::Which,
        C::How,
        C::Aux,
        C::Steps,
        C::Hedge,
        C::Neg,
    ];
    let what_it_does =
        m.has(C::Bot) && m.any(&[C::What, C::How, C::Which]) && m.any(&[C::Can, C::Use, C::Aux]);
    let dose = m.any(&[C::Dose, C::Gave, C::Give]) && !m.has(C::Help);
    ((m.has(C::Help) || what_it_does) && !dose && m.only(&manners)).then_some(Question::Help)
}

fn contact(m: &Message) -> Option<Question> {
    let about_the_vial = m.any(&[
        C::Mix,
        C::Use,
        C::Vial,
        C::Dose,
        C::Doses,
        C::Syringe,
        C::Mixed,
        C::Water,
        C::Course,
        C::Give,
        C::Gave,
        C::Future,
    ]);
    let reach = m.has(C::Phone) && !about_the_vial;
    let hours = m.any(&[C::Open, C::Closed])
        && !about_the_vial
        && !m.any(&[C::Left, C::Expire, C::Discard, C::UntilWhen]);
    let clinic = m.has(C::Clinic)
        && m.any(&[
            C::Number,
            C::Hour,
            C::Times,
            C::Where,
            C::Open,
            C::Closed,
            C::Tell,
            C::When,
        ])
        && !about_the_vial;
    (reach || hours || clinic).then_some(Question::ClinicContact)
}

/// How something is done, not how much of it.
fn steps(m: &Message) -> Option<Question> {
    let how = m.any(&[C::Steps, C::How]) && !quantity(m) && !m.has(C::When);
    let sharp = m.any(&[C::Needle, C::Syringe, C::Syringes, C::Bin]);
    let gone = m.any(&[C::Discard, C::Discarded, C::Bin, C::Old, C::Where]);
    let topic = if sharp
        && gone
        && m.any(&[C::How, C::Where, C::What, C::Steps])
        && !m.any(&[C::Left, C::Have])
    {
        StepTopic::Sharps
    } else if !how || m.any(&[C::Left, C::Vials, C::Open]) {
        return None;
    } else if m.any(&[C::Mix, C::Mixed]) {
        StepTopic::Mixing
    } else if m.has(C::DrawUp) {
        StepTopic::DrawingUp
    } else if m.any(&[C::Give, C::Steps]) && m.any(&[C::Dose, C::Give, C::Gave]) {
        StepTopic::Injecting
    } else {
        return None;
    };
    Some(Question::Steps(topic))
}

/// What is asked about the vial: water, level, age, limit.
fn vial(m: &Message) -> Option<Question> {
    if (m.has(C::Fridge) && !kept_cold(m))
        || m.has(C::WasOut)
        || (m.has(C::Out) && !m.has(C::Discard))
    {
        return None;
    }
    let stock = m.any(&[C::Left, C::RunOut, C::Enough, C::Have]);
    // "when did the water go in": that is when it was mixed.
    let poured_when = m.has(C::When) && !quantity(m) && m.has(C::Put) && m.has(C::Water);
    let water = m.has(C::Water) && !stock && !poured_when;
    let to_mix = m.any(&[C::Mix, C::Mixed, C::Powder])
        || (m.has(C::Put) && !m.any(&[C::Syringe, C::Beast, C::Pet, C::Give]));
    if (water
        && (quantity(m)
            || m.any(&[C::What, C::Which, C::Put, C::Size, C::Each])
            || m.only(&[
                C::Water,
                C::Vial,
                C::New,
                C::I,
                C::Ml,
                C::Tell,
                C::Mix,
                C::Must,
                C::Beast,
                C::Powder,
            ])
            || recalls(m)))
        || (to_mix
            && m.any(&[C::What, C::Which])
            && !m.any(&[
                C::When,
                C::Who,
                C::Day,
                C::Date,
                C::Expire,
                C::Left,
                C::Hold,
            ]))
        || (to_mix && quantity(m) && !stock && !m.any(&[C::Dose, C::Doses, C::Expire]))
    {
        return Some(Question::Diluent);
    }
    let fate = m.any(&[C::Expire, C::Discard, C::Discarded, C::UntilWhen])
        || (m.has(C::End) && m.has(C::Vial) && m.has(C::Open))
        || (m.has(C::RunOut) && m.has(C::When) && m.has(C::Hour))
        || (m.has(C::HowLong) && m.any(&[C::Vial, C::Mixed, C::Medicine]))
        || (m.any(&[C::HowLong, C::Day]) && m.has(C::Use))
        || (m.has(C::HowMany) && m.any(&[C::Day, C::Hour]) && m.has(C::Vial) && m.has(C::Mix));
    let until = m.any(&[
        C::End,
        C::When,
        C::UntilWhen,
        C::HowLong,
        C::Date,
        C::Must,
        C::HowMany,
    ]) || m.has(C::Expire);
    if fate
        && until
        && !m.any(&[
            C::Vials,
            C::Doses,
            C::Dose,
            C::Course,
            C::Needle,
            C::Syringe,
            C::Syringes,
            C::Next,
        ])
        && (m.any(&[
            C::Vial,
            C::Medicine,
            C::Mixed,
            C::Expire,
            C::Use,
            C::Discard,
            C::RunOut,
        ]))
        && !m.any(&[C::New, C::Water])
    {
        return Some(Question::DiscardBy);
    }
    let mixed = (m.any(&[C::Mixed, C::Mix]) || poured_when) && !(m.has(C::Who) && m.has(C::Bot));
    if (mixed
        && m.any(&[C::When, C::Who, C::HowOld, C::Date, C::HowLong])
        && !m.any(&[C::Next, C::New, C::Must]))
        || (m.has(C::HowOld) && m.any(&[C::Vial, C::Medicine]))
    {
        return Some(Question::MixedAt);
    }
    None
}

/// "when did we mix the one in the fridge": where it belongs. How long it lasts there,
/// or out of there, is another question.
fn kept_cold(m: &Message) -> bool {
    m.any(&[C::When, C::HowOld, C::Date])
        && !m.any(&[
            C::HowLong,
            C::Out,
            C::WasOut,
            C::TookOut,
            C::Return,
            C::Back,
            C::Put,
        ])
        && m.items.windows(2).any(|pair| {
            let before = pair[1].word.checked_sub(1).map_or("", |at| m.words[at]);
            pair[1].is(C::Fridge) && matches!(before, "the" | "la" | "el" | "my" | "mi")
        })
}

/// "is it 3 ml of water": what the order says is asked for, with a figure half remembered.
fn recalls(m: &Message) -> bool {
    let figure = m.items.iter().any(|item| item.kind == Kind::Number);
    let mut speaking = m.items.iter().filter(|item| item.speaks());
    let is_it = speaking
        .next()
        .is_some_and(|first| matches!(m.text(first), "is" | "was"))
        && speaking
            .next()
            .is_some_and(|second| matches!(m.text(second), "it" | "that"));
    figure
        && is_it
        && !m
            .words
            .iter()
            .any(|word| matches!(*word, "ok" | "okay" | "fine" | "enough"))
}

/// "1.5 or 2.5", "de 3 o de 5": one of two figures is right.
fn either(m: &Message) -> bool {
    let figures = m
        .items
        .iter()
        .filter(|item| item.kind == Kind::Number)
        .count();
    figures == 2 && m.words.iter().any(|word| matches!(*word, "or" | "o" | "u"))
}

fn supplies(m: &Message) -> Option<Question> {
    let things = m.any(&[C::Vials, C::Needle, C::Syringes, C::Supply])
        || (m.any(&[C::Water, C::Syringe]) && m.any(&[C::Left, C::RunOut, C::Enough, C::Have]))
        || counted(m, C::Vial);
    let stock = m.any(&[
        C::HowMany,
        C::Left,
        C::RunOut,
        C::Enough,
        C::HowLong,
        C::Have,
        C::How,
        C::HowMuch,
    ]) || m.words.iter().any(|word| {
        matches!(
            *word,
            "tengo" | "stock" | "inventory" | "inventario" | "existencias"
        )
    });
    let dose = m.any(&[C::Dose, C::Doses]) && !m.has(C::Enough);
    // "running out of needles" tells: more are wanted.
    let told = m.has(C::RunOut)
        && !m.items.iter().any(|item| item.kind == Kind::Question)
        && !m.any(&[
            C::When,
            C::UntilWhen,
            C::HowLong,
            C::HowMany,
            C::HowMuch,
            C::Tell,
            C::Aux,
            C::Future,
            C::Enough,
        ]);
    let one_piece = m.has(C::HowLong) && one_of(m, &[C::Needle, C::Syringe]);
    (things
        && stock
        && !told
        && !one_piece
        && !dose
        && !m.any(&[C::Which, C::Use, C::Open, C::Mixed, C::Discard]))
    .then_some(Question::Supplies)
}

/// "a bottle", "una aguja": any one of them.
fn one_of(m: &Message, things: &[C]) -> bool {
    m.items.iter().any(|item| {
        item.any(things)
            && item
                .word
                .checked_sub(1)
                .is_some_and(|before| matches!(m.words[before], "a" | "an" | "per" | "un" | "una"))
    })
}

/// "how many vial": the next thing after "how many".
fn counted(m: &Message, thing: C) -> bool {
    m.items
        .windows(2)
        .any(|pair| pair[0].is(C::HowMany) && pair[1].is(thing))
}

/// What is asked about doses: which, when, how many, how much.
fn doses(m: &Message) -> Option<Question> {
    let dose = m.any(&[C::Dose, C::Doses]);
    let noted = m.words.iter().any(|word| {
        matches!(
            *word,
            "recorded"
                | "logged"
                | "noted"
                | "marked"
                | "registered"
                | "ticked"
                | "registro"
                | "registrada"
                | "registrado"
                | "anotada"
                | "anotado"
                | "apuntada"
                | "registraron"
                | "anoto"
                | "anotaron"
                | "apunto"
                | "apuntaron"
        )
    });
    let given = m.any(&[C::Gave, C::GavePart, C::Got, C::Done]) || noted;
    let vial = m.has(C::Vial);
    let left = m.any(&[C::Left, C::More]);
    if m.any(&[C::Fridge, C::WasOut, C::Out, C::Vials, C::Place]) {
        return None;
    }
    // How often a thing may be used is for a person to say.
    if m.has(C::HowOften) && m.any(&[C::Use, C::Syringe, C::Syringes, C::Needle]) {
        return None;
    }
    if m.has(C::HowOften)
        || (m.has(C::Times) && !vial && !m.has(C::Clinic))
        || (m.has(C::Daily) && m.any(&[C::When, C::HowMany, C::Times]) && !m.has(C::Ml))
        || (m.any(&[C::When, C::Hour]) && m.has(C::Morning) && m.has(C::Evening) && !given)
        || (m.has(C::When)
            && m.has(C::Doses)
            && !m.any(&[C::Left, C::End, C::Last, C::Next, C::RunOut, C::UntilWhen])
            && !given)
    {
        return Some(Question::Schedule);
    }
    if vial
        && m.has(C::HowMany)
        && m.has(C::Use)
        && m.items.iter().any(|item| m.text(item) == "times")
    {
        return Some(Question::DosesLeft);
    }
    let days = m.any(&[C::Day, C::Week]);
    let asks_end = m.any(&[
        C::When,
        C::Left,
        C::HowMuch,
        C::HowMany,
        C::HowLong,
        C::UntilWhen,
        C::Day,
        C::Total,
        C::End,
        C::What,
    ]);
    // "how long has he got left": of a life, perhaps.
    let of_a_life = m.has(C::Left)
        && m.has(C::HowLong)
        && m.any(&[C::Beast, C::Pet])
        && !m.any(&[C::Course, C::Dose, C::Doses, C::Day, C::Week, C::Give]);
    if of_a_life {
        return None;
    }
    if !vial
        && ((m.has(C::Course) && asks_end)
            || (days && m.has(C::HowMany))
            || (m.has(C::End)
                && !m.any(&[C::Mixed])
                && (asks_end || m.has(C::Doses) || m.has(C::Date)))
            || (m.has(C::Total) && dose)
            || (m.has(C::When) && m.has(C::Done) && m.has(C::Doses) && !m.any(&[C::Gave, C::Last]))
            || (m.has(C::UntilWhen) && (dose || m.has(C::Give)))
            || (m.has(C::HowLong) && !m.any(&[C::Last, C::Next])))
    {
        return Some(Question::CourseLeft);
    }
    if m.has(C::Course) {
        return None;
    }
    let in_this_vial = dose && vial && m.only_nouns();
    if in_this_vial {
        return Some(Question::DosesLeft);
    }
    if dose
        && !m.any(&[C::Each, C::Last, C::HowMuch])
        && (!m.has(C::Next) || (vial && m.has(C::Enough)))
        && (!m.has(C::Ml) || left)
        && (left || m.any(&[C::Hold, C::Enough, C::RunOut]) || (vial && m.has(C::HowMany)))
        || (vial && m.has(C::Enough) && !dose)
        || (m.has(C::HowMany)
            && m.only(&[C::HowMany, C::Enough, C::Beast, C::I, C::Vial])
            && m.has(C::Enough))
    {
        return Some(Question::DosesLeft);
    }
    // "how much is a bottle": the price, perhaps.
    let priced = !m.any(&[C::Left, C::Hold, C::Level, C::Ml]) && one_of(m, &[C::Vial]);
    let should_hold = !priced
        && (m.has(C::HowMuch) || (m.has(C::HowMany) && m.has(C::Ml)))
        && m.has(C::Vial)
        && !m.any(&[
            C::Put,
            C::Give,
            C::DrawUp,
            C::Mix,
            C::Mixed,
            C::Water,
            C::New,
            C::Discard,
            C::Use,
            C::Got,
            C::Powder,
        ]);
    let volume_left = (m.has(C::Left) && m.has(C::Size))
        || (m.any(&[C::Size, C::Ml])
            && m.has(C::Vial)
            && m.has(C::Now)
            && m.only(&[C::Size, C::Vial, C::Open, C::Now, C::I, C::Beast, C::Ml]));
    if (should_hold || volume_left || m.has(C::Left) || m.has(C::Hold))
        && (should_hold
            || volume_left
            || quantity(m)
            || m.any(&[C::Ml, C::Medicine, C::Level])
            || (m.has(C::What) && m.any(&[C::Vial, C::Left])))
        && !dose
        && !m.any(&[C::Syringe, C::DrawUp])
    {
        return Some(Question::Remaining);
    }
    let how_big = m
        .items
        .windows(2)
        .any(|pair| pair[0].is(C::HowMuch) && pair[1].any(&[C::Syringe, C::Syringes]));
    let size_of_it = (how_big || m.any(&[C::Ml, C::Size]))
        && m.any(&[C::Syringe, C::Syringes])
        && !dose
        && !m.any(&[
            C::Give,
            C::Gave,
            C::Put,
            C::Got,
            C::Pet,
            C::Each,
            C::Have,
            C::Left,
        ])
        && !m
            .words
            .iter()
            .any(|word| matches!(*word, "in" | "into" | "en"));
    if m.any(&[C::Syringe, C::Syringes, C::Needle])
        && (!quantity(m) || size_of_it)
        && (!given || m.any(&[C::What, C::Which]))
        && (size_of_it
            || either(m)
            || m.any(&[C::Which, C::What, C::Size, C::Use, C::Tell])
            || (m.has(C::Ml)
                && m.items
                    .iter()
                    .find(|item| item.speaks())
                    .is_some_and(|first| first.is(C::Aux))))
        && (!m.has(C::DrawUp) || m.words.iter().any(|word| matches!(*word, "with" | "con")))
        && !m.any(&[C::Old, C::Discard])
    {
        return Some(Question::Syringe);
    }
    last(m, dose, given).or_else(|| volume_or_next(m, dose))
}

fn last(m: &Message, dose: bool, given: bool) -> Option<Question> {
    let yes_no = m.items.iter().any(|item| item.kind == Kind::Question)
        || m.has(C::Tell)
        || m.items
            .iter()
            .find(|item| item.speaks())
            .is_some_and(|first| first.any(&[C::Aux, C::Somebody]));
    let did = m
        .items
        .iter()
        .any(|item| item.is(C::Aux) && m.text(item) == "did");
    let act = given || (did && (m.has(C::Give) || m.words.contains(&"do")));
    let past = act && (yes_no || m.any(&[C::Who, C::When])) && !quantity(m);
    let asked = (m.has(C::Last) && (dose || act || m.any(&[C::When, C::Give, C::Who])))
        || (past && !m.any(&[C::Next, C::Due, C::Tomorrow, C::Future, C::Must]))
        || (m.has(C::Who) && act);
    if !asked || m.any(&[C::Vial, C::Mixed, C::Mix, C::Water, C::Ml, C::How]) {
        return None;
    }
    let part = match (m.has(C::Morning), m.has(C::Evening)) {
        (true, false) => Some(DayPart::Morning),
        (false, true) => Some(DayPart::Evening),
        _ => None,
    };
    Some(Question::LastDose { part })
}

fn volume_or_next(m: &Message, dose: bool) -> Option<Question> {
    let how_much = m.has(C::HowMuch) || (m.has(C::HowMany) && m.has(C::Ml));
    let drawn = m.has(C::What) && m.has(C::DrawUp) && !m.any(&[C::Syringe, C::Syringes]);
    let which_dose = m.any(&[C::What, C::Which, C::Tell])
        && m.has(C::Dose)
        && !m.any(&[C::Next, C::When, C::Use, C::Syringe, C::Syringes]);
    // "dose?" and nothing else.
    let size = (m.has(C::Size) && (dose || m.has(C::Each)) && !m.has(C::Vial))
        || (m.has(C::Dose) && m.only(&[C::Dose]));
    let takes = dose
        || m.any(&[
            C::Give,
            C::Gave,
            C::DrawUp,
            C::Got,
            C::Each,
            C::Due,
            C::Ml,
            C::Put,
        ]);
    let other = m.any(&[
        C::Water,
        C::Left,
        C::Hold,
        C::Powder,
        C::Mix,
        C::Mixed,
        C::Discard,
    ]);
    let in_ml = (dose || m.has(C::Each))
        && m.has(C::Ml)
        && !m.items.iter().any(|item| item.kind == Kind::Number);
    let half_remembered = (either(m) || recalls(m)) && m.any(&[C::Ml, C::Dose, C::Give, C::Each]);
    if ((how_much && takes) || which_dose || size || in_ml || half_remembered || drawn)
        && (!other
            || (m.any(&[C::Syringe, C::DrawUp])
                && !m.any(&[C::Water, C::Left, C::Powder, C::Mix, C::Mixed, C::Discard])))
        && (!m.has(C::Vial) || m.has(C::DrawUp))
    {
        return Some(Question::Volume);
    }
    let next = m.has(C::Next) && !m.any(&[C::Vial, C::Day, C::Week, C::Use]);
    let due = m.has(C::When)
        && (dose || m.any(&[C::Due, C::Give]))
        && !m.any(&[C::Vial, C::Gave, C::GavePart]);
    let tomorrow =
        m.has(C::When) && m.any(&[C::Tomorrow, C::Evening, C::Morning]) && !m.has(C::Vial);
    ((next || due || tomorrow) && !other && !quantity(m)).then_some(Question::NextDose)
}
