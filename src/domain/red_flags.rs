//! Words that stop everything: signs for which no plan and no state matter.

/// True when the text tells of a sign that cannot wait.
///
/// Works in every language of the program, whatever the household's own is.
#[must_use]
pub fn stand_in(text: &str) -> bool {
    let text = text.to_lowercase();
    FIRST_SIGNS.iter().any(|sign| text.contains(sign))
}

const FIRST_SIGNS: [&str; 16] = [
    "collaps",
    "seizure",
    "not breathing",
    "trouble breathing",
    "unconscious",
    "won't wake",
    "hives",
    "face is swelling",
    "convulsi",
    "no respira",
    "desplom",
    "desmay",
    "hincha la cara",
    "wont stop bleeding",
    "choking",
    "10 times the dose",
];
