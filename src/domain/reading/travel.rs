//! Where the household says it is, or will be.

use std::sync::LazyLock;

use regex::Regex;

use super::concept::C;
use super::lexicon::Lexicon;
use super::message::{Message, words_of};

/// The place words behind "we are in", "moving to", "time zone is" and the like.
pub(super) fn place(text: &str, message: &Message) -> Option<String> {
    let acts = [
        C::Gave,
        C::GavePart,
        C::Give,
        C::Dose,
        C::Doses,
        C::Vial,
        C::Vials,
        C::Mixed,
        C::Missed,
        C::Fridge,
    ];
    if message.any(&acts) {
        return None;
    }
    let said = LEADS.captures(text)?.get(1)?.as_str().trim();
    let place = TIME_WORDS
        .find(said)
        .map_or(said, |end| &said[..end.start()])
        .trim();
    let words = words_of(place);
    let known = |word: &String| Lexicon::get().knows(word);
    let sensible = !words.is_empty() && words.len() <= 5 && !words.iter().all(known);
    // "in the garden", "en la cama": a place at home is no new place.
    let at_home = words.first().is_some_and(|word| {
        matches!(
            word.as_str(),
            "the" | "a" | "my" | "our" | "mi" | "un" | "una" | "bed"
        )
    });
    (sensible && !at_home).then(|| place.to_owned())
}

static LEADS: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r"(?i)(?:\bwe(?:'re| are|re)(?: all)?(?: now| currently| back)? in|\bi(?:'m|m| am)(?: now| currently| back)? in|\bnow in|\b(?:moving|moved|move|relocat\w+|flying|travel\w*|driving|heading|going|headed|flew|went) (?:over |back |out )?to|\b(?:visiting|arrived in|landed in|staying in|arriving in|landing in)|\btime ?zone (?:is|to|now)(?: now)?|\bestamos (?:ahora |ya )?en|\bestoy (?:ahora |ya )?en|\b(?:viajo|viajamos|viajando|volamos|vuelo|vamos|voy|nos mudamos|nos vamos|me mudo|me voy|mud\w+|llegamos|llegu[eé]|aterrizamos) (?:de vuelta )?a|\bnos mudamos a|\bzona horaria(?: es| a|:)?|\bahora en|\bvivimos (?:ahora )?en) ((?:[\p{Alphabetic}/_'’.-]+ ?,? ?){1,6})",
    )
});

static TIME_WORDS: LazyLock<Regex> = LazyLock::new(|| {
    compile(
        r"(?i)\s+(?:now|today|tonight|tomorrow|this|next|on|for|until|till|since|and|so|from|with|in|by|but|hoy|ma[nñ]ana|esta|este|desde|hasta|por|la|el|pr[oó]xim\w+|ahora|y|con|para|unos|durante)\b|[.!?,;]\s*$|\.\s",
    )
});

fn compile(pattern: &str) -> Regex {
    Regex::new(&pattern.replace(r"\p{Alphabetic}", r"\w"))
        .expect("the patterns are constants that tests compile")
}
