//! A message as a row of meanings, cut into clauses.

use super::super::language::Language;
use super::Context;
use super::concept::{C, Set};
use super::lexicon::Lexicon;
use super::text::{Kind, Plain, Token};
use super::time::number;

/// One meaning in a message: a word, a phrase, a number or a mark.
#[derive(Debug, Clone, Copy)]
pub(super) struct Item {
    pub kind: Kind,
    /// Empty when the word is not known, or is known only inside phrases.
    pub set: Set,
    /// Index of its first word among the words of the message.
    pub word: usize,
    /// How many words it spans.
    pub words: usize,
    pub clause: u16,
    pub sentence: u16,
    /// How many letters its first word has.
    pub letters: usize,
    /// The patient or carer that it names, by index in the context.
    pub name: Option<usize>,
}

/// A message, read word by word.
#[derive(Debug)]
pub(super) struct Message<'a> {
    pub words: Vec<&'a str>,
    pub items: Vec<Item>,
    /// Everything that the message's items stand for.
    pub all: Set,
    /// Words that stand for nothing here, or for something else.
    pub unknown: usize,
    /// A word or a space was set right, or a giver is a stranger: what is recorded
    /// from it is read back first.
    pub mended: bool,
    pub language: Language,
}

/// Which of the message's words are known to nobody here: slips, or words of others.
/// Those of patients, carers and notes are known.
pub(super) fn strange(plain: &Plain, names: &Names) -> Vec<bool> {
    let lexicon = Lexicon::get();
    let strange = |token: &Token| {
        let word = plain.text(*token);
        token.kind == Kind::Word
            && !lexicon.knows(word)
            && number(word).is_none()
            && !names.hold(word)
    };
    plain.tokens.iter().map(strange).collect()
}

/// Where a strange word is one of somebody's names, it is strange no more.
pub(super) fn introduce(plain: &Plain, strange: &mut [bool], strangers: &[Vec<String>]) {
    for (token, strange) in plain.tokens.iter().zip(strange) {
        let word = plain.text(*token);
        *strange &= !strangers.iter().flatten().any(|name| name == word);
    }
}

/// The message's words after the spelling of strange ones is mended.
pub(super) fn spell<'a>(plain: &'a Plain, strange: &[bool]) -> Vec<&'a str> {
    let lexicon = Lexicon::get();
    let words = plain.tokens.iter().zip(strange);
    words
        .map(|(token, strange)| {
            let word = plain.text(*token);
            let mended = strange.then(|| lexicon.corrected(word).or_else(|| lexicon.sounded(word)));
            mended.flatten().unwrap_or(word)
        })
        .collect()
}

/// Words with a capital inside a sentence: names, which are no slips for words of ours.
pub(super) fn capitalised(text: &str) -> Vec<Vec<String>> {
    let mut opens = true;
    let mut shouted = true;
    let mut names = Vec::new();
    for word in text.split_whitespace() {
        let mut letters = word.chars().filter(|char| char.is_alphabetic());
        let capital = letters.next().is_some_and(char::is_uppercase);
        let rest_small = letters.all(char::is_lowercase);
        shouted &= capital;
        if capital && rest_small && !opens {
            names.push(words_of(word));
        }
        opens = word.ends_with(['.', '!', '?', ':', '…']);
    }
    if shouted { Vec::new() } else { names }
}

/// The text with its spaces set right, when some of them slipped.
pub(super) fn respaced(plain: &Plain, strange: &[bool]) -> Option<String> {
    if !strange.contains(&true) {
        return None;
    }
    let lexicon = Lexicon::get();
    let typed = typed(plain);
    let lost: Vec<bool> = typed
        .iter()
        .zip(strange)
        .map(|(word, strange)| *strange && lexicon.corrected(word).is_none())
        .collect();
    let is_word = |at: usize| {
        let token = plain.tokens.get(at);
        token.is_some_and(|token| token.kind == Kind::Word)
    };
    let mut words: Vec<&str> = Vec::with_capacity(typed.len() + 2);
    let mut at = 0;
    while at < typed.len() {
        let slipped = is_word(at) && is_word(at + 1) && (lost[at] || lost[at + 1]);
        if let Some((a, b)) = slipped
            .then(|| lexicon.shifted(typed[at], typed[at + 1]))
            .flatten()
        {
            words.extend([a, b]);
            at += 2;
            continue;
        }
        match lost[at].then(|| lexicon.parted(typed[at])).flatten() {
            Some((a, b)) => words.extend([a, b]),
            None => words.push(typed[at]),
        }
        at += 1;
    }
    (words != typed).then(|| words.join(" "))
}

/// The message's words as they were typed.
pub(super) fn typed(plain: &Plain) -> Vec<&str> {
    plain
        .tokens
        .iter()
        .map(|token| plain.text(*token))
        .collect()
}

/// Words with one space between them and around the whole, as the red flags want them.
pub(super) fn joined(words: &[&str]) -> String {
    let mut text = String::with_capacity(words.iter().map(|w| w.len() + 1).sum::<usize>() + 1);
    text.push(' ');
    for word in words {
        text.push_str(word);
        text.push(' ');
    }
    text
}

impl<'a> Message<'a> {
    pub fn of(plain: &'a Plain, words: Vec<&'a str>, context: &Context, names: &Names) -> Self {
        let language = language_of(&words, context.language);
        let mended = words != typed(plain);
        let mut message = Self {
            words,
            items: Vec::with_capacity(plain.tokens.len()),
            all: Set::default(),
            unknown: 0,
            mended,
            language,
        };
        message.fill(&plain.tokens, names);
        message.cut();
        message.hear_questions();
        message.hear_what_comes();
        message.hear_addressed();
        message.hear_just_done();
        message.hear_what_is_yet_to_be();
        message.hear_the_mixed_one();
        message.hear_who_was_stuck();
        message.hear_what_was_not_told();
        message.count();
        message
    }

    fn fill(&mut self, tokens: &[Token], names: &Names) {
        let lexicon = Lexicon::get();
        let mut at = 0;
        while at < tokens.len() {
            let mut item = Item {
                kind: tokens[at].kind,
                set: Set::default(),
                word: at,
                words: 1,
                clause: 0,
                sentence: 0,
                letters: self.words[at].len(),
                name: None,
            };
            if let Some((concept, index, words)) = names.find(&self.words, at) {
                item.set = Set::of(&[concept]);
                item.words = words;
                item.name = Some(index);
                item.kind = Kind::Word;
            } else if matches!(item.kind, Kind::Word | Kind::Number)
                && let Some(found) = lexicon.find(&self.words, at, self.language)
            {
                item.set = found.meaning;
                item.words = found.words;
                if item.words > 1 {
                    item.kind = Kind::Word;
                }
            }
            let numbers_a_vial = |before: &Item| before.is(C::Vial) && before.words == 1;
            if item.kind == Kind::Word
                && item.words == 1
                && number(self.words[at]).is_some()
                && self.items.last().is_some_and(numbers_a_vial)
            {
                // "vial one": its number, not "the one".
                item.set = Set::default();
                item.kind = Kind::Number;
            }
            if item.set.is_empty() && item.kind == Kind::Word && is_numeral(self.words[at]) {
                item.kind = Kind::Number;
            }
            at += item.words;
            self.items.push(item);
        }
    }

    /// Numbers the clauses: marks, "and" and "because" begin a new one.
    fn cut(&mut self) {
        let (mut clause, mut sentence) = (0, 0);
        for item in &mut self.items {
            match item.kind {
                Kind::Stop | Kind::Question => {
                    item.clause = clause;
                    item.sentence = sentence;
                    clause += 1;
                    sentence += 1;
                    continue;
                }
                Kind::Pause => clause += 1,
                _ if item.set.any(Set::of(&[C::And, C::Because])) => clause += 1,
                _ => {}
            }
            item.clause = clause;
            item.sentence = sentence;
        }
    }

    /// "I forgot how much", "no recuerdo cuando": what was forgotten is asked.
    fn hear_questions(&mut self) {
        for at in 1..self.items.len() {
            let asked = self.items[at].any(&[
                C::HowMuch,
                C::HowMany,
                C::When,
                C::HowLong,
                C::HowOften,
                C::Which,
                C::What,
                C::UntilWhen,
            ]);
            // "creo que" only leads on.
            let leads_on = self.text(&self.items[at]) == "que";
            if asked && !leads_on && self.items[at - 1].any(&[C::Missed, C::Hedge]) {
                self.items[at - 1].set = Set::of(&[C::Tell]);
            }
        }
    }

    /// "in 5 minutes", "shot in half an hour", "en 10 min": still to come.
    fn hear_what_comes(&mut self) {
        for at in 0..self.items.len() {
            let item = &self.items[at];
            let last = self.words[item.word + item.words - 1];
            let leads =
                matches!(last, "in" | "en") || (last == "de" && self.text(item) == "dentro");
            let span = &self.items[at + 1..self.items.len().min(at + 4)];
            let Some(unit) = span.iter().position(|item| item.any(&[C::Minute, C::Hour])) else {
                continue;
            };
            let counts = span[..unit].iter().all(|item| {
                matches!(item.kind, Kind::Number)
                    || number(self.text(item)).is_some()
                    || item.any(&[C::Filler, C::Loose, C::About, C::Half, C::Part])
            });
            if leads && unit > 0 && counts {
                self.items[at].set.add(C::Future);
            }
        }
    }

    /// "hola doc ya le puse": who is spoken to is not spoken of.
    fn hear_addressed(&mut self) {
        let last = self.items.len().saturating_sub(1);
        for at in (0..self.items.len()).filter(|at| *at < 3 || *at == last) {
            let title = matches!(
                self.text(&self.items[at]),
                "doc" | "doctor" | "doctora" | "dr" | "dra" | "doctorcito"
            );
            let before = at.checked_sub(1).map(|before| &self.items[before]);
            let called = match before {
                None => self
                    .items
                    .get(1)
                    .is_some_and(|next| next.kind == Kind::Pause),
                Some(before) => {
                    before.is(C::Greet) || (at == last && before.any(&[C::Gave, C::GavePart]))
                }
            };
            // "dale, mil gracias": an all right, not "give it".
            let all_right = at == 0
                && self.text(&self.items[at]) == "dale"
                && self.items.get(1).is_none_or(|next| next.kind != Kind::Word);
            if all_right || (title && called && self.items[at].words == 1) {
                self.items[at].set = Set::of(&[C::Filler]);
            }
        }
    }

    /// "acabo de ponersela": what somebody comes from doing is done.
    fn hear_just_done(&mut self) {
        for at in 2..self.items.len() {
            let comes_from = matches!(
                self.text(&self.items[at - 2]),
                "acabo" | "acabamos" | "acaba" | "acaban"
            ) && self.text(&self.items[at - 1]) == "de";
            let done = [
                (C::Give, C::Gave),
                (C::Mix, C::Mixed),
                (C::Discard, C::Discarded),
            ];
            let act = done.into_iter().find(|(act, _)| self.items[at].is(*act));
            if let Some((_, done)) = act.filter(|_| comes_from) {
                self.items[at].set = Set::of(&[done]);
                self.items[at - 2].set = Set::of(&[C::Now]);
            }
        }
    }

    /// "cuando se la ponga", "para que la guarde": of a time to come.
    fn hear_what_is_yet_to_be(&mut self) {
        for at in 0..self.items.len() {
            let item = &self.items[at];
            let led = matches!(
                self.text(item),
                "cuando" | "apenas" | "mientras" | "hasta" | "antes" | "para" | "que"
            );
            let to_come = led
                && self.items[at + 1..]
                    .iter()
                    .take_while(|next| next.clause == item.clause)
                    .take(4)
                    .any(|next| is_subjunctive(self.text(next)));
            if to_come {
                self.items[at].set = Set::of(&[C::Future]);
            }
        }
    }

    /// "forgot to tell you", "se me olvido apuntarlo": the word was forgotten, not the dose.
    fn hear_what_was_not_told(&mut self) {
        for at in 0..self.items.len() {
            if !self.items[at].is(C::Missed) {
                continue;
            }
            let told = self.items[at + 1..].iter().take(2).position(|item| {
                matches!(
                    self.text(item),
                    "tell"
                        | "say"
                        | "log"
                        | "note"
                        | "report"
                        | "write"
                        | "record"
                        | "mention"
                        | "text"
                        | "message"
                        | "let"
                        | "tick"
                        | "mark"
                        | "avisar"
                        | "avisarte"
                        | "avisarles"
                        | "decir"
                        | "decirte"
                        | "decirles"
                        | "apuntar"
                        | "apuntarlo"
                        | "apuntarla"
                        | "anotar"
                        | "anotarlo"
                        | "anotarla"
                        | "contar"
                        | "contarte"
                        | "contarles"
                        | "escribir"
                        | "escribirte"
                        | "escribirles"
                        | "registrar"
                        | "registrarlo"
                        | "registrarla"
                        | "mandar"
                        | "marcar"
                        | "marcarla"
                )
            });
            if let Some(told) = told {
                for item in &mut self.items[at..=at + 1 + told] {
                    item.set = Set::of(&[C::Filler]);
                }
            }
        }
    }

    /// "stuck Juniper": with a name behind it, an injection.
    fn hear_who_was_stuck(&mut self) {
        for at in 1..self.items.len() {
            let stuck = matches!(
                self.text(&self.items[at - 1]),
                "stuck" | "pricked" | "needled"
            );
            if stuck && self.items[at].is(C::Pet) {
                self.items[at - 1].set = Set::of(&[C::Gave]);
            }
        }
    }

    /// "the mixed vial", "caducidad del frasco ya mezclado": which one it is, not that it was done.
    fn hear_the_mixed_one(&mut self) {
        for at in 1..self.items.len() {
            let item = &self.items[at];
            if !item.is(C::Mixed) {
                continue;
            }
            let vial = |at: usize| {
                let near = self.items.get(at);
                near.is_some_and(|near| near.any(&[C::Vial, C::Medicine]))
            };
            let led = matches!(
                self.text(&self.items[at - 1]),
                "the" | "this" | "that" | "our" | "my" | "your" | "already"
            );
            let asked_before = self.items[..at].iter().any(|near| {
                near.clause == item.clause
                    && near.any(&[
                        C::Expire,
                        C::Date,
                        C::HowMuch,
                        C::HowMany,
                        C::UntilWhen,
                        C::Discard,
                    ])
            });
            let after =
                vial(at - 1) || (self.text(&self.items[at - 1]) == "ya" && at > 1 && vial(at - 2));
            if (led && vial(at + 1))
                || (after && asked_before && self.language == Language::Spanish)
            {
                self.items[at].set = Set::of(&[C::Open]);
            }
        }
    }

    /// "given by Ana", "Tom gave it", "se la puso Ana": a stranger who gives is a person,
    /// and what such a person did is read back.
    pub fn hear_givers(&mut self, strangers: &[Vec<String>]) {
        for at in 0..self.items.len() {
            let item = &self.items[at];
            if !item.unknown() || item.kind != Kind::Word || !item.set.is_empty() {
                continue;
            }
            let text = self.text(item);
            let named = strangers
                .iter()
                .any(|name| matches!(name.as_slice(), [one] if one == text));
            let before = |n: usize| item.word.checked_sub(n).map_or("", |word| self.words[word]);
            let signs = matches!(before(1), "its" | "soy" | "im" | "habla")
                || (before(1) == "is" && before(2) == "this");
            let led = matches!(before(1), "by" | "por")
                || signs
                || (matches!(before(1), "puso" | "dio" | "inyecto")
                    && matches!(before(2), "la" | "lo"));
            let gives = self.items.get(at + 1).is_some_and(|next| {
                next.is(C::Gave) || matches!(self.text(next), "give" | "do" | "did")
            });
            let leads = self.language == Language::English && gives && (named || at == 0);
            if leads || (named && led) {
                self.items[at].set = Set::of(&[C::Person]);
                self.mended = true;
            }
        }
        self.count();
    }

    fn count(&mut self) {
        self.all = Set::default();
        self.unknown = 0;
        for item in &self.items {
            self.all.join(item.set);
            self.unknown += usize::from(item.unknown());
        }
    }

    pub fn has(&self, concept: C) -> bool {
        self.all.has(concept)
    }

    pub fn any(&self, concepts: &[C]) -> bool {
        self.all.any(Set::of(concepts))
    }

    pub fn text(&self, item: &Item) -> &'a str {
        self.words[item.word]
    }

    /// True when every item is one of these, a mark, or nothing but manners.
    pub fn only(&self, concepts: &[C]) -> bool {
        let allowed = Set::of(concepts);
        self.items.iter().all(|item| {
            matches!(item.kind, Kind::Stop | Kind::Pause | Kind::Question)
                || item.set.any(allowed)
                || item.set.any(Set::of(&[
                    C::Filler,
                    C::Loose,
                    C::Aside,
                    C::Greet,
                    C::Thanks,
                    C::And,
                ]))
        })
    }

    /// "doses in the current vial": nothing but the two, and which vial.
    pub fn only_nouns(&self) -> bool {
        self.only(&[
            C::Dose,
            C::Doses,
            C::Vial,
            C::Open,
            C::Now,
            C::Still,
            C::Whole,
            C::Aux,
            C::Have,
            C::Left,
            C::I,
            C::Beast,
            C::Pet,
        ])
    }

    /// "la linterna": Spanish articles are spelled like what stands for the animal.
    pub fn is_article(&self, item: &Item) -> bool {
        let small = matches!(self.text(item), "la" | "las" | "los");
        let next = self
            .items
            .iter()
            .find(|next| next.word == item.word + item.words);
        small
            && next.is_some_and(|next| next.kind == Kind::Word)
            && next.is_none_or(|next| {
                !next.any(&[C::Gave, C::GavePart, C::Give, C::Missed, C::Done, C::Got])
            })
    }

    /// True of a clause that tells of the home and the people in it, and of nothing else:
    /// "the kids are at football", before what is asked.
    pub fn is_aside(&self, clause: u16) -> bool {
        let article = |item: &Item| self.is_article(item);
        let harmless = Set::of(&[
            C::Aside,
            C::Filler,
            C::I,
            C::Person,
            C::Carer,
            C::Greet,
            C::Thanks,
            C::And,
            C::Loose,
        ]);
        let mut own = self.items.iter().filter(|item| item.clause == clause);
        let mark = |item: &Item| matches!(item.kind, Kind::Stop | Kind::Pause | Kind::Question);
        own.clone().any(|item| item.is(C::Aside))
            && own.all(|item| mark(item) || item.set.any(harmless) || article(item))
    }

    /// The items of a note's phrase say nothing else once the note is found.
    pub fn without(&mut self, words: std::ops::Range<usize>) {
        for item in &mut self.items {
            if item.word < words.end && words.start < item.word + item.words {
                item.set = Set::of(&[C::Filler]);
            }
        }
        self.count();
    }
}

/// Spanish forms that tell of nothing done; those that are also a past without
/// its accent ("mezcle", "aplique") are left out.
fn is_subjunctive(word: &str) -> bool {
    matches!(
        word,
        "ponga"
            | "pongan"
            | "pongamos"
            | "demos"
            | "den"
            | "termine"
            | "terminemos"
            | "acabe"
            | "acabemos"
            | "llegue"
            | "lleguemos"
            | "vuelva"
            | "volvamos"
            | "despierte"
            | "pueda"
            | "podamos"
            | "tenga"
            | "pusiera"
            | "pusiese"
            | "diera"
            | "diese"
            | "inyectara"
            | "pusieramos"
    )
}

/// A number in words, more than one: "one" and "una" say little.
fn is_numeral(word: &str) -> bool {
    number(word).is_some_and(|number| number > 1)
}

impl Item {
    pub fn is(&self, concept: C) -> bool {
        self.set.has(concept)
    }

    pub fn any(&self, concepts: &[C]) -> bool {
        self.set.any(Set::of(concepts))
    }

    pub fn unknown(&self) -> bool {
        match self.kind {
            // One or two strange letters are a slip; they say nothing by themselves.
            Kind::Word => (self.set.is_empty() && self.letters > 2) || self.set.has(C::Other),
            Kind::Foreign => true,
            _ => false,
        }
    }

    /// A word of one or two letters that is not known: a slip.
    pub fn blurred(&self) -> bool {
        self.kind == Kind::Word && self.set.is_empty() && self.letters <= 2
    }

    /// Carries meaning: neither a mark nor manners.
    pub fn speaks(&self) -> bool {
        !matches!(self.kind, Kind::Stop | Kind::Pause | Kind::Question)
            && !self.any(&[
                C::Filler,
                C::Loose,
                C::Aside,
                C::Meal,
                C::Greet,
                C::Thanks,
                C::And,
            ])
    }
}

/// The names of a household, in plain words.
pub(super) struct Names {
    patients: Vec<Vec<String>>,
    carers: Vec<Vec<String>>,
}

impl Names {
    pub fn of(context: &Context) -> Self {
        let plain = |names: &[&str]| names.iter().map(|name| words_of(name)).collect();
        Self {
            patients: plain(context.patients),
            carers: plain(context.carers),
        }
    }

    /// Nobody's.
    pub fn none() -> Self {
        Self {
            patients: Vec::new(),
            carers: Vec::new(),
        }
    }

    /// Whether a word is one of a name's.
    fn hold(&self, word: &str) -> bool {
        let names = self.patients.iter().chain(&self.carers);
        names.flatten().any(|name| name == word)
    }

    fn find(&self, words: &[&str], at: usize) -> Option<(C, usize, usize)> {
        [(C::Pet, &self.patients), (C::Carer, &self.carers)]
            .into_iter()
            .flat_map(|(concept, names)| {
                names
                    .iter()
                    .enumerate()
                    .map(move |(index, name)| (concept, index, name))
            })
            .filter(|(_, _, name)| starts_with(&words[at..], name))
            .max_by_key(|(_, _, name)| name.len())
            .map(|(concept, index, name)| (concept, index, name.len()))
    }
}

/// A text's words alone, lower case and without accents.
pub(super) fn words_of(text: &str) -> Vec<String> {
    let plain = Plain::of(text);
    plain
        .tokens
        .iter()
        .filter(|token| matches!(token.kind, Kind::Word | Kind::Number | Kind::Foreign))
        .map(|token| plain.text(*token).to_owned())
        .collect()
}

pub(super) fn starts_with(words: &[&str], name: &[String]) -> bool {
    !name.is_empty() && words.len() >= name.len() && name.iter().zip(words).all(|(a, b)| a == b)
}

/// The language most of whose words stand in the text; the household's on a draw.
fn language_of(words: &[&str], household: Language) -> Language {
    let lexicon = Lexicon::get();
    let mut scores = [0_usize; Language::ALL.len()];
    for meanings in words.iter().filter_map(|word| lexicon.alone(word)) {
        let known = |language: Language| !meanings[language as usize].is_empty();
        match (known(Language::English), known(Language::Spanish)) {
            (true, false) => scores[Language::English as usize] += 1,
            (false, true) => scores[Language::Spanish as usize] += 1,
            _ => {}
        }
    }
    let [english, spanish] = scores;
    match english.cmp(&spanish) {
        std::cmp::Ordering::Greater => Language::English,
        std::cmp::Ordering::Less => Language::Spanish,
        std::cmp::Ordering::Equal => household,
    }
}
