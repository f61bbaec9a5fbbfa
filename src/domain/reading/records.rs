//! Which one thing a message says has happened.

use super::concept::{C, Set};
use super::message::{Item, Message};
use super::text::Kind;
use super::{Context, Reading, Reason, Record, Rest, What, amount, clear, questions, time};
use crate::domain::language::Language;

/// The record, or the reason why a person must sort it out.
pub(super) fn said(message: &Message, context: &Context) -> Option<Reading> {
    if message.has(C::Undo) {
        return Some(Reading::Record(detailed(
            message,
            context,
            What::TakeBack,
            None,
            true,
        )));
    }
    let clauses = clauses(message);
    let mut found: Vec<(What, &Clause)> = Vec::new();
    let mut denied_of_the_animal = false;
    for clause in clauses.iter().filter(|clause| !clause.asks()) {
        match clause.what(message) {
            // "she won't come out": beside a record a "not" about the animal is a sign, perhaps.
            Told::Nothing if clause.has(C::Neg) && clause.any(&[C::Beast, C::Pet]) => {
                denied_of_the_animal = true;
            }
            Told::Nothing => {}
            Told::Happened(what) => found.push((what, clause)),
            Told::Unclear(reason) => return Some(Reading::Clinic(reason)),
        }
    }
    // "made up a fresh vial, 3 mL in it": the figure is of the water.
    if found.iter().any(|(what, _)| *what == What::Mixed) {
        found.retain(|(what, clause)| *what != What::Level || clause.any(&[C::Left, C::Old]));
    }
    let (first, clause) = found.first()?;
    if denied_of_the_animal && !matches!(first, What::NotGiven | What::NotYet) {
        return Some(Reading::Clinic(Reason::NotUnderstood));
    }
    // "she gave it at 7 and I gave it at 7:30": two doses, perhaps.
    let givings = found
        .iter()
        .filter(|(what, clause)| *what == What::Given && clause.has(C::Gave));
    let shared = message.any(&[C::Person, C::Carer, C::Somebody]);
    let parts = found
        .iter()
        .filter(|(what, _)| *what == What::Given)
        .count()
        > 1;
    if givings.count() > 1 || (parts && shared) {
        return Some(Reading::Clinic(Reason::WrongDose));
    }
    let others = |what: What| found.iter().any(|(other, _)| *other == what);
    let same = found.iter().all(|(other, _)| other == first);
    if same {
        return Some(finish(message, context, *first, clause, true));
    }
    // Something that happened beside something still to come: read it back.
    if found.len() == 2 && others(What::NotYet) {
        let (what, clause) = found.iter().find(|(what, _)| *what != What::NotYet)?;
        return Some(finish(message, context, *what, clause, false));
    }
    Some(Reading::Clinic(Reason::SeveralThings))
}

enum Told {
    Nothing,
    Happened(What),
    Unclear(Reason),
}

struct Clause {
    items: Vec<Item>,
    set: Set,
}

fn clauses(message: &Message) -> Vec<Clause> {
    let last = message.items.last().map_or(0, |item| item.clause);
    let mut clauses: Vec<Clause> = (0..=last)
        .map(|_| Clause {
            items: Vec::new(),
            set: Set::default(),
        })
        .collect();
    for item in &message.items {
        let clause = &mut clauses[usize::from(item.clause)];
        clause.items.push(*item);
        clause.set.join(item.set);
    }
    clauses
}

impl Clause {
    fn has(&self, concept: C) -> bool {
        self.set.has(concept)
    }

    fn any(&self, concepts: &[C]) -> bool {
        self.set.any(Set::of(concepts))
    }

    fn asks(&self) -> bool {
        let speaking: Vec<&Item> = self.items.iter().filter(|item| item.speaks()).collect();
        self.items.iter().any(|item| item.kind == Kind::Question) || questions::leads(&speaking)
    }

    fn figure(&self) -> bool {
        self.items.iter().any(|item| time::is_digits(item.kind))
    }

    fn bare(&self, of: &[C]) -> bool {
        let of = Set::of(of);
        self.items
            .iter()
            .all(|item| item.set.any(of) || item.kind != Kind::Word || !item.speaks())
    }

    /// A "not" before the first of these.
    fn denies(&self, concepts: &[C]) -> bool {
        let of = Set::of(concepts);
        let denial = self.items.iter().position(|item| item.is(C::Neg));
        let act = self.items.iter().rposition(|item| item.set.any(of));
        matches!((denial, act), (Some(denial), Some(act)) if denial <= act)
    }

    fn what(&self, m: &Message) -> Told {
        if self.items.first().is_some_and(|first| first.is(C::Because)) {
            return Told::Nothing;
        }
        self.fridge(m)
            .or_else(|| self.discarded(m))
            .or_else(|| self.mixed(m))
            .or_else(|| self.counted(m))
            .or_else(|| self.level())
            .or_else(|| self.pending())
            .or_else(|| self.not_given(m))
            .or_else(|| self.given(m))
            .unwrap_or(Told::Nothing)
    }

    fn coming(&self) -> bool {
        self.any(&[C::Future, C::Must, C::Yet, C::Still, C::Tomorrow])
    }

    fn fridge(&self, m: &Message) -> Option<Told> {
        let vial = self.any(&[C::Vial, C::Medicine, C::Mixed]);
        if self.has(C::Fridge) {
            if self.has(C::Missed) {
                return Some(Told::Nothing);
            }
            if self.has(C::Neg) {
                return Some(Told::Unclear(Reason::Quality));
            }
            if self.coming() && !self.has(C::Still) {
                return Some(Told::Happened(What::NotYet));
            }
            let back = self.any(&[C::Return, C::Back])
                || (self.any(&[C::Put, C::Gave]) && !self.any(&[C::Out, C::TookOut, C::WasOut]));
            let got_from = self.has(C::Got) && self.text_is(m, "from");
            let out = self.any(&[C::TookOut, C::WasOut, C::Out]) || got_from;
            // "gave it to my sister to keep in her fridge": it is out of the owner's hands.
            if m.language == Language::English && self.has(C::Gave) {
                return Some(Told::Unclear(Reason::NotUnderstood));
            }
            // "mixed and in the fridge": where a new vial goes.
            if !back && !out && m.has(C::Mixed) {
                return (!self.has(C::Mixed)).then_some(Told::Nothing);
            }
            return match (back, out) {
                (true, false) => Some(Told::Happened(What::BackInFridge)),
                (false, true) => Some(Told::Happened(What::OutOfFridge)),
                _ => Some(Told::Unclear(Reason::NotUnderstood)),
            };
        }
        if self.any(&[C::WasOut, C::Out, C::TookOut]) && vial && m.has(C::Fridge) {
            return Some(Told::Nothing);
        }
        if self.took_out_unsaid(m) && !self.coming() && !self.has(C::Neg) {
            return Some(Told::Happened(What::OutOfFridge));
        }
        if self.any(&[C::WasOut, C::Out]) && vial {
            return Some(Told::Unclear(Reason::Quality));
        }
        None
    }

    /// "took the vial out": from where was not said, so it is read back.
    fn took_out_unsaid(&self, m: &Message) -> bool {
        let took = self.text_is(m, "took") && self.has(C::Out);
        let spanish = self.has(C::TookOut) && m.language == Language::Spanish;
        (took || spanish)
            && self.has(C::Vial)
            && !self.has(C::Fridge)
            && !self.any(&[
                C::WasOut,
                C::Syringe,
                C::DrawUp,
                C::Ml,
                C::Dose,
                C::Needle,
                C::Bin,
            ])
    }

    fn discarded(&self, m: &Message) -> Option<Told> {
        let binned = self.has(C::Vial) && self.has(C::Bin) && !self.has(C::Put);
        let threw = self.text_is(m, "threw") && (self.has(C::Out) || self.text_is(m, "away"));
        let act = self.any(&[C::Discarded, C::Discard]) || binned || threw;
        if !act {
            return None;
        }
        if self.coming() || (self.has(C::Discard) && !self.has(C::Discarded) && !binned && !threw) {
            return Some(Told::Happened(What::NotYet));
        }
        let vial = self.any(&[C::Vial, C::Old, C::Number, C::Vials])
            || (m.has(C::Vial) && !self.any(&[C::Needle, C::Syringe, C::Syringes]))
            || (self.bare(&[
                C::Discarded,
                C::Today,
                C::Now,
                C::Evening,
                C::Morning,
                C::I,
                C::Beast,
            ]));
        if self.any(&[C::Neg, C::New, C::Needle, C::Syringe, C::Syringes, C::Water]) || !vial {
            return Some(Told::Unclear(Reason::NotUnderstood));
        }
        Some(Told::Happened(What::Discarded))
    }

    fn mixed(&self, m: &Message) -> Option<Told> {
        let water = self.has(C::Water) || self.has(C::Powder);
        let poured = water && self.any(&[C::Put, C::Gave]);
        // "frasco nuevo hecho": a new vial is done when it is mixed.
        let new_one = self.has(C::Vial) && self.has(C::New) && !self.any(&[C::Dose, C::Gave]);
        let finished = (self.has(C::Mix) || new_one) && self.has(C::Done) && !self.coming();
        if self.any(&[C::Mix, C::Mixed]) && self.has(C::Neg) && self.has(C::Gave) {
            return Some(Told::Unclear(Reason::WrongMix));
        }
        if self.has(C::Mix) && !self.has(C::Mixed) && !poured && !finished {
            return (self.coming() || self.has(C::Neg)).then_some(Told::Happened(What::NotYet));
        }
        if self.has(C::Missed) && self.any(&[C::Mix, C::Mixed]) {
            return Some(Told::Unclear(Reason::NotUnderstood));
        }
        if !(self.has(C::Mixed) || poured || finished) {
            return None;
        }
        if self.coming() || self.has(C::Neg) {
            return Some(Told::Happened(What::NotYet));
        }
        // "gave the powder", "gave it without mixing it".
        if self.has(C::Powder) && self.has(C::Gave) && !self.any(&[C::Put, C::Vial, C::Water]) {
            return Some(Told::Unclear(Reason::WrongMix));
        }
        // "gave the sterile water": to whom is not clear.
        if poured && !self.has(C::Put) && !self.any(&[C::Vial, C::Powder]) && !m.has(C::Vial) {
            return Some(Told::Unclear(Reason::WrongMix));
        }
        // "the next one", "another one": what is mixed is a vial.
        let one = |item: &Item| {
            m.words[item.word..item.word + item.words]
                .last()
                .is_some_and(|word| *word == "one")
        };
        let dose = self.items.iter().any(|item| item.is(C::Dose) && !one(item));
        let thing = self.any(&[
            C::Vial,
            C::Powder,
            C::Water,
            C::Number,
            C::Medicine,
            C::New,
            C::Second,
            C::Beast,
        ]) || self.figure()
            || m.has(C::Vial)
            || self.items.iter().any(one)
            || self.bare(&[
                C::Mixed,
                C::Now,
                C::Today,
                C::Evening,
                C::Morning,
                C::I,
                C::At,
            ]);
        Some(if thing && !dose && !self.any(&[C::Needle, C::Syringe]) {
            Told::Happened(What::Mixed)
        } else {
            Told::Unclear(Reason::NotUnderstood)
        })
    }

    fn counted(&self, m: &Message) -> Option<Told> {
        let counted = self.items.windows(2).any(|pair| {
            pair[1].any(&[C::Vials, C::Needle, C::Syringes])
                && time::number(m.text(&pair[0])).is_some()
        }) || (self.any(&[C::Left, C::Have])
            && !self.any(&[C::Mix])
            && self
                .items
                .windows(2)
                .any(|pair| amount::is_one_vial(m, &pair[0], &pair[1])));
        (counted
            && (self.any(&[C::Left, C::Have, C::Level, C::I, C::Supply])
                || self.bare(&[C::Vials, C::Needle, C::Syringes, C::And]))
            && !self.any(&[C::Gave, C::Give, C::Must, C::Future, C::Discarded, C::Neg]))
        .then_some(Told::Happened(What::SuppliesCounted))
    }

    fn level(&self) -> Option<Told> {
        let seen = self.any(&[C::Left, C::Level, C::Vial, C::Hold, C::Still]);
        let acts = self.any(&[
            C::Gave,
            C::GavePart,
            C::Give,
            C::Got,
            C::Missed,
            C::Done,
            C::Put,
            C::Dose,
            C::Future,
            C::Return,
            C::DrawUp,
        ]);
        let numbers_a_vial = |at: usize| {
            at.checked_sub(1)
                .is_some_and(|before| self.items[before].any(&[C::Vial, C::Number]))
        };
        let figure = self.items.iter().enumerate().any(|(at, item)| {
            item.kind == Kind::Number && (self.has(C::Ml) || !numbers_a_vial(at))
        });
        if seen
            && !acts
            && figure
            && !self.any(&[C::Vials, C::Syringe, C::Needle, C::At, C::Day, C::Doses])
        {
            return Some(if self.has(C::Neg) {
                Told::Unclear(Reason::NotUnderstood)
            } else {
                Told::Happened(What::Level)
            });
        }
        // "half left", "almost empty": a level without a figure.
        let vague = (self.has(C::Left) && self.any(&[C::Part, C::Neg, C::About]))
            || (self.has(C::Vial) && self.any(&[C::Part, C::Old]) && !acts);
        (vague && !acts).then_some(Told::Unclear(Reason::NotUnderstood))
    }

    fn pending(&self) -> Option<Told> {
        let act = self.any(&[
            C::Gave,
            C::GavePart,
            C::Give,
            C::Got,
            C::Done,
            C::Dose,
            C::Beast,
            C::Missed,
        ]);
        if self.any(&[C::Yet, C::Still]) && (act || self.has(C::Neg)) {
            return Some(Told::Happened(What::NotYet));
        }
        if self.any(&[C::Future, C::Must, C::Tomorrow]) {
            let of_a_dose =
                act || self.bare(&[C::Future, C::I, C::Must, C::Minute, C::Hour, C::At]);
            return Some(if of_a_dose {
                Told::Happened(What::NotYet)
            } else {
                Told::Unclear(Reason::NotUnderstood)
            });
        }
        // "se la pongo", "giving it": the present tense promises.
        (self.has(C::Give)
            && !self.any(&[C::Gave, C::GavePart, C::Missed, C::Neg, C::Aux, C::Done]))
        .then_some(Told::Happened(What::NotYet))
    }

    fn not_given(&self, m: &Message) -> Option<Told> {
        let about_a_dose = self.any(&[
            C::Dose,
            C::Doses,
            C::Give,
            C::Gave,
            C::GavePart,
            C::Morning,
            C::Evening,
        ]) || self.figure()
            || self.bare(&[C::Missed, C::Beast, C::I, C::Today]);
        if self.has(C::Missed) && self.any(&[C::Return, C::Back]) {
            return Some(Told::Nothing);
        }
        if self.has(C::Missed) {
            return Some(
                if about_a_dose && !self.has(C::Neg) || self.text_is(m, "happen") {
                    Told::Happened(What::NotGiven)
                } else {
                    Told::Unclear(Reason::NotUnderstood)
                },
            );
        }
        if self.any(&[C::HowMuch, C::HowMany]) {
            return None;
        }
        let denied = self.denies(&[C::Gave, C::GavePart, C::Give, C::Got, C::Dose, C::Done]);
        // "I have not given it" leaves it open; of a dose long past it tells.
        let perfect = [
            "havent", "hasnt", "havnt", "hasn", "havn", "have", "has", "he", "ha", "hemos", "han",
        ];
        let open = !self.has(C::Morning)
            && self.items.iter().any(|item| {
                let words = &m.words[item.word..item.word + item.words];
                let spanish = words.len() > 1 || m.language == Language::Spanish;
                words.iter().any(|word| {
                    perfect.contains(word) && (word.len() > 3 || *word == "has" || spanish)
                })
            });
        if denied && self.any(&[C::Whole, C::Part]) {
            return Some(Told::Unclear(Reason::NotUnderstood));
        }
        denied.then_some(Told::Happened(if open {
            What::NotYet
        } else {
            What::NotGiven
        }))
    }

    /// "I gave it", "le puse": whoever else the message speaks of, the writer did it.
    fn is_the_writers(&self, m: &Message) -> bool {
        const FIRST_PERSONS: [&str; 12] = [
            "puse",
            "di",
            "inyecte",
            "aplique",
            "pinche",
            "administre",
            "coloque",
            "meti",
            "pusimos",
            "dimos",
            "inyectamos",
            "pinchamos",
        ];
        let speaks_of_another = self.any(&[C::Person, C::Carer]);
        let i_did = self.items.windows(2).any(|pair| {
            matches!(m.text(&pair[0]), "i" | "we" | "yo" | "ive" | "weve")
                && pair[1].any(&[C::Gave, C::Done, C::Mixed, C::Discarded])
        });
        let said_so = self
            .items
            .iter()
            .any(|item| item.is(C::Gave) && FIRST_PERSONS.contains(&m.text(item)));
        !speaks_of_another && (i_did || said_so)
    }

    fn text_is(&self, m: &Message, word: &str) -> bool {
        self.items
            .iter()
            .any(|item| m.words[item.word..item.word + item.words].contains(&word))
    }

    fn given(&self, m: &Message) -> Option<Told> {
        let dose = self.any(&[C::Dose, C::Doses]);
        let emphatic =
            self.text_is(m, "did") && self.has(C::Give) && m.language == Language::English;
        // "1.5 in at 7:32 pm": what is in was injected.
        let went_in = m.language == Language::English
            && !m.any(&[C::Mixed, C::Powder, C::Water])
            && !self.any(&[C::Vial, C::Left, C::Fridge, C::Syringe])
            && self.items.windows(2).any(|pair| {
                (pair[0].kind == Kind::Number || pair[0].is(C::Ml))
                    && m.text(&pair[1]) == "in"
                    && pair[1].words == 1
            });
        // "evening dose Juniper in".
        let all_in = m.language == Language::English
            && self.any(&[C::Dose, C::Evening, C::Morning])
            && self
                .items
                .windows(2)
                .any(|pair| pair[0].is(C::Pet) && m.text(&pair[1]) == "in" && pair[1].words == 1)
            && self.items.last().is_some_and(|last| m.text(last) == "in");
        // "popped the 1.5 into Juniper".
        let put_into = self.has(C::Put)
            && !self.any(&[C::Vial, C::Vials, C::Water, C::Powder, C::Fridge])
            && self.items.windows(2).any(|pair| {
                pair[1].is(C::Pet) && matches!(m.text(&pair[0]), "into" | "in" | "en" | "a")
            });
        let gave = self.any(&[C::Gave, C::GavePart]) || emphatic || went_in || all_in || put_into;
        // "evening injection ✔".
        let ticked = self.items.iter().any(|item| m.text(item) == "emojiyes")
            && (dose || self.any(&[C::Evening, C::Morning]));
        let done = ticked
            || self.has(C::Done)
                && (dose
                    || self.any(&[
                        C::Pet,
                        C::Beast,
                        C::Evening,
                        C::Morning,
                        C::Today,
                        C::Carer,
                        C::Person,
                        C::Number,
                    ])
                    || self.figure()
                    || alone(m));
        let got = self.has(C::Got)
            && (dose
                || self.any(&[C::Evening, C::Morning, C::Medicine])
                || (self.any(&[C::Ml, C::Needle]) && self.any(&[C::Pet, C::Beast])));
        if !(gave || done || got) {
            return None;
        }
        // "frasco 2 listo, mezclado": what is ready is the vial.
        if !gave && self.has(C::Vial) && m.has(C::Mixed) {
            return None;
        }
        if self.any(&[C::Vial, C::Vials, C::Syringe, C::Syringes, C::Water]) && !dose {
            return Some(Told::Unclear(Reason::NotUnderstood));
        }
        if handed_over(m, &self.items) {
            return Some(Told::Unclear(Reason::OtherAnimal));
        }
        let used_before = self.any(&[C::Needle, C::Syringe, C::Syringes])
            && self.any(&[C::Last, C::Week, C::Old, C::Yesterday, C::Day]);
        if used_before {
            return Some(Told::Unclear(Reason::Quality));
        }
        if self.any(&[C::Neg, C::Clinic, C::HowMuch, C::HowMany]) {
            return Some(Told::Unclear(Reason::NotUnderstood));
        }
        Some(Told::Happened(What::Given))
    }
}

/// "se la di a mi hermana", "gave it to my neighbour": to a person, not by one.
fn handed_over(m: &Message, items: &[Item]) -> bool {
    items
        .iter()
        .filter(|item| item.any(&[C::Person, C::Carer]))
        .any(|item| {
            let before = |n: usize| item.word.checked_sub(n).map_or("", |at| m.words[at]);
            let owned = matches!(
                before(1),
                "my" | "our"
                    | "his"
                    | "her"
                    | "the"
                    | "a"
                    | "mi"
                    | "su"
                    | "la"
                    | "el"
                    | "una"
                    | "un"
            );
            let led = before(1 + usize::from(owned));
            matches!(led, "to" | "a" | "al" | "for") || before(1) == "al"
        })
}

/// Nothing speaks in the message but a "done", names, times.
fn alone(m: &Message) -> bool {
    let spoken = [
        C::Done,
        C::I,
        C::Now,
        C::Yes,
        C::Today,
        C::Beast,
        C::Pet,
        C::Dose,
        C::Morning,
        C::Evening,
        C::Number,
        C::Whole,
        C::At,
        C::Am,
        C::Pm,
        C::Ml,
    ];
    m.items
        .iter()
        .all(|item| item.any(&spoken) || !item.speaks() || time::is_digits(item.kind))
}

/// A vial that was out for longer is a matter for a person; common practice, no source.
const LONG_OUT_MINUTES: u32 = 3 * 60;

fn finish(m: &Message, context: &Context, what: What, clause: &Clause, alone: bool) -> Reading {
    let long_out = time::when(m, &mut vec![false; m.words.len()])
        .lasted_minutes
        .is_some_and(|minutes| minutes >= LONG_OUT_MINUTES);
    if what == What::OutOfFridge && long_out {
        return Reading::Clinic(Reason::Quality);
    }
    if what == What::Given && names_a_stranger(m) {
        return Reading::Clinic(Reason::NotUnderstood);
    }
    let rest = match strange_words(m, clause) {
        Strange::None => Rest::Nothing,
        Strange::Harmless if !m.mended => Rest::Strange,
        _ => return Reading::Clinic(Reason::NotUnderstood),
    };
    let sure = alone && rest == Rest::Nothing;
    let record = detailed(m, context, what, Some(clause), sure);
    Reading::Record(Record { rest, ..record })
}

/// What the words that are not known may be.
enum Strange {
    None,
    /// Of the people at home, or of how it was done.
    Harmless,
    /// Of the animal.
    MayBeASign,
}

/// More strange words than this are a story of its own.
const STRANGE_AT_MOST: usize = 4;

fn strange_words(m: &Message, record: &Clause) -> Strange {
    let strange: Vec<&Item> = m.items.iter().filter(|item| item.unknown()).collect();
    let of_the_people = |item: &Item| {
        let near = |concepts: &[C]| {
            m.items
                .iter()
                .any(|near| near.clause == item.clause && near.any(concepts) && !m.is_article(near))
        };
        let of_us = || {
            m.items
                .iter()
                .any(|near| near.clause == item.clause && says_we(m, near))
        };
        (near(&[C::I, C::Person, C::Carer]) || of_us()) && !near(&[C::Beast, C::Pet])
    };
    // What follows the record in one breath may tell how the animal is.
    let end = record
        .items
        .iter()
        .filter(|item| item.set.any(OF_THE_TREATMENT) || time::is_digits(item.kind))
        .map(|item| item.word)
        .max();
    let begin = record.items.first().map(|item| item.word);
    let of_the_record =
        |item: &Item| begin <= Some(item.word) && end.is_some_and(|end| item.word < end);
    match strange.len() {
        0 => Strange::None,
        few if few <= STRANGE_AT_MOST
            && strange
                .iter()
                .all(|item| of_the_record(item) || of_the_people(item)) =>
        {
            Strange::Harmless
        }
        _ => Strange::MayBeASign,
    }
}

/// "andábamos", "salimos": whatever the verb, it is of the people at home.
fn says_we(m: &Message, item: &Item) -> bool {
    let word = m.text(item);
    m.language == Language::Spanish && item.unknown() && word.len() > 5 && word.ends_with("mos")
}

/// What ends a record: its dose, its vial, where that went, when.
const OF_THE_TREATMENT: Set = Set::of(&[
    C::Gave,
    C::GavePart,
    C::Dose,
    C::Vial,
    C::Fridge,
    C::Bin,
    C::Discarded,
    C::Mixed,
    C::Water,
    C::Ml,
    C::Return,
    C::Now,
    C::Ago,
    C::Am,
    C::Pm,
]);

/// "gave it to Nettle", "gave Nettle the shot", "given to the postman": who that is, is not known.
fn names_a_stranger(m: &Message) -> bool {
    let article = |item: &Item| matches!(m.text(item), "the" | "my" | "our" | "el" | "la" | "mi");
    let leads = |word: &str| matches!(word, "to" | "for" | "a" | "al" | "para");
    let receives = |at: usize| {
        let next = at + usize::from(m.items.get(at).is_some_and(article));
        m.items.get(next)
    };
    (0..m.items.len()).any(|at| {
        let item = &m.items[at];
        let last = m.words[item.word + item.words - 1];
        let to_somebody = item.is(C::Gave) && leads(last)
            || leads(m.text(item)) && at > 0 && m.items[at - 1].is(C::Gave);
        let given_to = receives(at + 1);
        let strange = given_to.is_some_and(Item::unknown);
        let everyday = given_to.is_some_and(|near| near.is(C::Aside));
        (to_somebody && (strange || everyday))
            || ((leads(last) || item.is(C::Gave)) && m.items.get(at + 1).is_some_and(Item::unknown))
    })
}

fn detailed(
    m: &Message,
    context: &Context,
    what: What,
    clause: Option<&Clause>,
    sure: bool,
) -> Record {
    let mut used = vec![false; m.words.len()];
    let mut record = Record::of(what);
    let name = |concept: C| {
        m.items
            .iter()
            .find(|item| item.is(concept))
            .and_then(|item| item.name)
    };
    record.patient = name(C::Pet)
        .and_then(|at| context.patients.get(at))
        .map(|n| (*n).to_owned());
    record.vial = match what {
        What::Given | What::NotGiven | What::NotYet | What::SuppliesCounted => None,
        _ => amount::vial(m, &mut used),
    };
    let when = time::when(m, &mut used);
    record.day = when.day;
    record.part = when.part;
    record.time = when.time;
    record.lasted_minutes = when.lasted_minutes;
    if what == What::SuppliesCounted {
        record.counts = amount::counts(m, &mut used);
    }
    let amounts = amount::amounts(m, &mut used);
    let part = what == What::Given && m.has(C::Part);
    record.amount = amount::said(&amounts, part);
    if record.amount.is_none() && what == What::Level {
        record.amount = lone_figure(m, &mut used);
    }
    record.by = by(m, context).filter(|_| !clause.is_some_and(|own| own.is_the_writers(m)));
    let figures_left = m
        .items
        .iter()
        .any(|item| time::is_digits(item.kind) && !used[item.word]);
    let vague = (part && !amounts.is_empty())
        || (what == What::Given && (amounts.len() > 1 || m.has(C::About) && !amounts.is_empty()));
    // "new vial done": mixed most likely, but it was not said.
    let only_done = what == What::Mixed && !m.any(&[C::Mixed, C::Mix, C::Put, C::Powder, C::Water]);
    // "le puse uno": one dose, or one mL. "gave one of today's": which?
    let one_of_what = what == What::Given
        && (m.words.contains(&"uno")
            || m.words
                .windows(2)
                .any(|pair| matches!(pair, ["one", "of"] | ["una", "de"])));
    let from_where = what == What::OutOfFridge
        && (clause.is_some_and(|clause| clause.took_out_unsaid(m)) || going_on(m));
    record.sure = sure
        && !m.mended
        && !one_of_what
        && !only_done
        && !m.any(&[C::Hedge, C::Somebody])
        && !m.items.iter().any(Item::blurred)
        && !may_ask(m)
        && !from_where
        && !when.torn
        && !figures_left
        && !vague
        && !unclear_done(m, what)
        && clear::is_plain(m, what);
    record
}

/// "taking it out", "sacando": not done yet, perhaps.
fn going_on(m: &Message) -> bool {
    ["taking", "sacando", "sacandolo"]
        .iter()
        .any(|word| m.words.contains(word))
}

/// "ya se la dieron" without its question mark may tell or ask.
fn may_ask(m: &Message) -> bool {
    const THIRD_PERSONS: [&str; 16] = [
        "puso",
        "dio",
        "pusieron",
        "dieron",
        "inyecto",
        "inyectaron",
        "aplico",
        "aplicaron",
        "pincho",
        "pincharon",
        "administro",
        "administraron",
        "tiene",
        "coloco",
        "ha",
        "han",
    ];
    let third = m
        .items
        .iter()
        .filter(|item| item.any(&[C::Gave, C::GavePart, C::Got, C::Level]))
        .any(|item| {
            m.words[item.word..item.word + item.words]
                .iter()
                .any(|word| THIRD_PERSONS.contains(word))
        });
    m.language == Language::Spanish
        && third
        && !m.items.iter().any(|item| time::is_digits(item.kind))
}

/// "done", "hecho": a dose most likely, but it was not said.
fn unclear_done(m: &Message, what: What) -> bool {
    what == What::Given
        && !m.any(&[C::Gave, C::GavePart, C::Give])
        && (!m.any(&[C::Done, C::Got]) || !m.any(&[C::Dose, C::Doses, C::Evening, C::Morning]))
}

fn lone_figure(m: &Message, used: &mut [bool]) -> Option<super::SaidAmount> {
    let mut figures = m
        .items
        .iter()
        .filter(|item| item.kind == Kind::Number && !used[item.word]);
    let (Some(figure), None) = (figures.next(), figures.next()) else {
        return None;
    };
    used[figure.word] = true;
    Some(super::SaidAmount::Exact(amount::canonical(m.text(figure))?))
}

/// A carer by name, or "my son" as it was said.
fn by(m: &Message, context: &Context) -> Option<String> {
    let carer = m
        .items
        .iter()
        .find(|item| item.is(C::Carer))
        .and_then(|item| item.name);
    if let Some(name) = carer.and_then(|at| context.carers.get(at)) {
        return Some((*name).to_owned());
    }
    let at = m.items.iter().position(|item| item.is(C::Person))?;
    let person = &m.items[at];
    let words = &m.words[person.word..person.word + person.words];
    let owner = person.word.checked_sub(1).map(|before| m.words[before]);
    let owned = owner.filter(|word| matches!(*word, "my" | "our" | "mi" | "nuestra" | "nuestro"));
    Some(
        owned
            .into_iter()
            .chain(words.iter().copied())
            .collect::<Vec<_>>()
            .join(" "),
    )
}
