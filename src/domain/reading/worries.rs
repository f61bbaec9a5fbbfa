//! What must go to a person, whatever else the message says.

use super::Reason;
use super::concept::C;
use super::message::{Item, Message};
use super::time::number;

/// Words that need a person, worst first.
const TROUBLE: [(C, Reason); 12] = [
    (C::Symptom, Reason::Symptom),
    (C::Human, Reason::HumanExposure),
    (C::WrongDose, Reason::WrongDose),
    (C::Jailbreak, Reason::Jailbreak),
    (C::OtherDrug, Reason::OtherDrug),
    (C::OtherAnimal, Reason::OtherAnimal),
    (C::Quality, Reason::Quality),
    (C::Units, Reason::Units),
    (C::Change, Reason::Change),
    (C::Visit, Reason::Appointment),
    (C::Judge, Reason::Judgement),
    (C::Why, Reason::Judgement),
];

/// Why a person must see the message, if one must.
pub(super) fn reason(message: &Message) -> Option<Reason> {
    TROUBLE
        .into_iter()
        .find(|(concept, _)| message.has(*concept))
        .map(|(_, reason)| reason)
        .or_else(|| asks_leave(message))
        .or_else(|| asks_whether_to(message))
        .or_else(|| asks_if_all_is_well(message))
        .or_else(|| two_species(message))
        .or_else(|| several_doses(message))
        .or_else(|| another_dose(message))
        .or_else(|| both_parts_of_the_day(message))
        .or_else(|| ahead_of_time(message))
}

/// "she got ten doses", "we both gave it": more than one at a time, perhaps.
fn several_doses(message: &Message) -> Option<Reason> {
    let counted = doses_at_once(message).is_some_and(|count| count > 1);
    let each_of_us =
        message.has(C::Each) && message.has(C::I) && message.any(&[C::Person, C::Carer]);
    let both = message
        .words
        .iter()
        .any(|word| matches!(*word, "both" | "ambos" | "ambas"));
    ((counted || both || each_of_us) && message.any(&[C::Gave, C::GavePart, C::Got]))
        .then_some(Reason::WrongDose)
}

/// How many doses are said to be one giving: "ten doses", "ten full doses".
fn doses_at_once(message: &Message) -> Option<u32> {
    (0..message.items.len()).find_map(|at| {
        let doses = |item: &Item| item.is(C::Doses) || message.text(item) == "dosis";
        let mut near = message.items[at + 1..].iter().take(2);
        let count = number(message.text(&message.items[at]))?;
        near.any(doses).then_some(count)
    })
}

/// "gave it again", "le di otra", "one more given": a second one, unless a vial is meant.
fn another_dose(message: &Message) -> Option<Reason> {
    let again = message
        .words
        .iter()
        .any(|word| matches!(*word, "again" | "another" | "otra" | "otro" | "nuevamente"))
        || message.words.windows(2).any(|pair| {
            matches!(
                pair,
                ["de", "nuevo"]
                    | ["one", "more"]
                    | ["una", "mas"]
                    | ["una", "segunda"]
                    | ["a", "second"]
            )
        });
    let of_the_vial = message.any(&[
        C::Vial,
        C::Vials,
        C::Mixed,
        C::Mix,
        C::Powder,
        C::Water,
        C::Fridge,
        C::Return,
        C::Neg,
        C::When,
        C::Needle,
        C::Syringe,
    ]);
    (again && !of_the_vial && message.any(&[C::Gave, C::GavePart, C::Got, C::Put]))
        .then_some(Reason::WrongDose)
}

/// "gave the morning one with the evening one": two doses in one message.
fn both_parts_of_the_day(message: &Message) -> Option<Reason> {
    let asks = message
        .items
        .iter()
        .any(|item| item.kind == super::text::Kind::Question || is_question_word(item));
    (!asks
        && message.any(&[C::Gave, C::GavePart])
        && !message.any(&[C::Neg, C::Missed])
        && message.has(C::Morning)
        && message.has(C::Evening))
    .then_some(Reason::SeveralThings)
}

/// "gave tomorrow's dose", "gave tonight's dose this afternoon".
fn ahead_of_time(message: &Message) -> Option<Reason> {
    let tomorrow = message
        .items
        .windows(2)
        .any(|pair| pair[0].is(C::Tomorrow) && pair[1].is(C::Dose));
    let said = |words: &[&str]| message.words.iter().any(|word| words.contains(word));
    let afternoon = said(&["afternoon"]) && said(&["tonight", "tonights", "evening", "night"]);
    (message.any(&[C::Gave, C::GavePart]) && (tomorrow || afternoon)).then_some(Reason::WrongDose)
}

/// A dog and a cat in one message, "gave her dose to the kitten": one of them is
/// not the patient.
fn two_species(message: &Message) -> Option<Reason> {
    let named = |words: &[&str]| message.words.iter().any(|word| words.contains(word));
    let dog = named(&[
        "dog", "puppy", "pup", "doggo", "perro", "perra", "perrito", "perrita",
    ]);
    let cat = named(&["cat", "kitten", "kitty", "gato", "gata", "gatito", "gatita"]);
    let handed_on = message.words.windows(3).any(|three| {
        matches!(
            three,
            ["her" | "his", "dose" | "shot" | "injection" | "jab", "to"]
        )
    });
    // "the dose for a puppy": any one, not this one.
    let any_one = message.words.windows(2).any(|pair| {
        matches!(pair[0], "a" | "an" | "any" | "un" | "una" | "cualquier")
            && matches!(
                pair[1],
                "dog"
                    | "puppy"
                    | "pup"
                    | "cat"
                    | "kitten"
                    | "perro"
                    | "perra"
                    | "perrito"
                    | "perrita"
                    | "gato"
                    | "gata"
                    | "gatito"
                    | "gatita"
                    | "cachorro"
                    | "cachorra"
                    | "rabbit"
                    | "bunny"
                    | "ferret"
                    | "horse"
                    | "conejo"
                    | "caballo"
                    | "huron"
            )
    });
    ((dog && cat) || handed_on || any_one).then_some(Reason::OtherAnimal)
}

/// "se la doy ya?", "do I give it now?": whether to, not how much.
fn asks_whether_to(message: &Message) -> Option<Reason> {
    let asked = |sentence: u16| {
        let mut own = message
            .items
            .iter()
            .filter(|item| item.sentence == sentence);
        own.clone()
            .any(|item| item.kind == super::text::Kind::Question)
            && !own.any(is_question_word)
    };
    let now = |item: &Item| {
        let of_the_writer = matches!(
            message.text(item),
            "doy" | "pongo" | "damos" | "ponemos" | "espero"
        );
        of_the_writer && asked(item.sentence)
    };
    message.items.iter().any(now).then_some(Reason::Judgement)
}

/// "..., ok?", "esta bien?": what was told is put up for judgement.
fn asks_if_all_is_well(message: &Message) -> Option<Reason> {
    let well = [
        "ok", "okay", "fine", "good", "alright", "bad", "bien", "vale", "bueno", "right",
    ];
    message
        .words
        .windows(2)
        .any(|pair| pair[1] == "?" && well.contains(&pair[0]))
        .then_some(Reason::Judgement)
}

/// "can I", "should we", "if I gave", "would it": a judgement is asked for.
fn asks_leave(message: &Message) -> Option<Reason> {
    let mut asked_what = false;
    let mut sentence = 0;
    for (place, item) in message.items.iter().enumerate() {
        if item.sentence != sentence {
            sentence = item.sentence;
            asked_what = false;
        }
        asked_what |= is_question_word(item) || item.is(C::Tell) || item.is(C::Help);
        let denied = [place.checked_sub(1), Some(place + 1)]
            .into_iter()
            .flatten()
            .filter_map(|near| message.items.get(near))
            .any(|near| near.is(C::Neg));
        let leave = item.any(&[C::Can, C::Should]) && !asked_what && !denied;
        // "tell me if she got it" asks; every other "if" supposes.
        let told = place
            .checked_sub(1)
            .is_some_and(|before| message.items[before].is(C::Tell));
        let supposed = item.is(C::If) && !told;
        if leave || supposed || item.any(&[C::Would, C::Want]) {
            return Some(Reason::Judgement);
        }
    }
    None
}

/// "how much", "when", "which": what follows is asked, not decided.
pub(super) fn is_question_word(item: &Item) -> bool {
    item.any(&[
        C::HowMuch,
        C::HowMany,
        C::When,
        C::UntilWhen,
        C::HowLong,
        C::HowOften,
        C::HowOld,
        C::Which,
        C::What,
        C::How,
        C::Where,
    ])
}

/// A dose many times the one that was meant, said in figures: "15 ml instead of 1.5".
pub(super) fn massive(message: &Message) -> bool {
    let injected = message.any(&[C::Gave, C::GavePart]);
    let asks = message
        .items
        .iter()
        .any(|item| item.kind == super::text::Kind::Question || is_question_word(item));
    let at_once = message.words.windows(2).any(|pair| {
        matches!(
            pair,
            ["one", "go"]
                | ["at", "once"]
                | ["de", "una"]
                | ["de", "golpe"]
                | ["by", "mistake"]
                | ["sin", "querer"]
        )
    }) || message
        .words
        .iter()
        .any(|word| matches!(*word, "juntas" | "together"));
    if injected && !asks && at_once && doses_at_once(message).is_some_and(|count| count >= MASSIVE)
    {
        return true;
    }
    let at = message.words.windows(2).position(|pair| {
        matches!(
            pair,
            ["instead", "of"] | ["rather", "than"] | ["en", "vez" | "lugar"]
        )
    });
    let Some(at) = at else { return false };
    let thousandths = |word: &&str| -> Option<u64> {
        let (whole, fraction) = word.split_once('.').unwrap_or((word, ""));
        let fraction = format!("{fraction:0<3}");
        Some(whole.parse::<u32>().ok()? as u64 * 1_000 + fraction.get(..3)?.parse::<u64>().ok()?)
    };
    let given = message.words[..at].iter().rev().find_map(thousandths);
    let meant = message.words[at..].iter().find_map(thousandths);
    let injected = message.any(&[C::Gave, C::GavePart, C::Got]);
    matches!((given, meant), (Some(given), Some(meant)) if meant > 0 && given >= u64::from(MASSIVE) * meant && injected)
}

/// From this multiple on an overdose does not wait; common practice, no source.
pub const MASSIVE: u32 = 4;
