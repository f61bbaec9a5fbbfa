//! Amounts, vial numbers and counts, as they are said.

use super::concept::C;
use super::message::{Item, Message};
use super::text::Kind;
use super::time::{is_ml, number};
use super::{Count, SaidAmount, SaidSupply, SaidVial};

/// A decimal as written, without leading or trailing zeros that say nothing.
pub(super) fn canonical(decimal: &str) -> Option<String> {
    let (whole, fraction) = decimal.split_once('.').unwrap_or((decimal, ""));
    if whole.len() > 9 || fraction.len() > 9 {
        return None;
    }
    let whole = whole.trim_start_matches('0');
    let whole = if whole.is_empty() { "0" } else { whole };
    let fraction = fraction.trim_end_matches('0');
    Some(if fraction.is_empty() {
        whole.to_owned()
    } else {
        format!("{whole}.{fraction}")
    })
}

/// The amounts in mL, in the order in which they stand; their words are marked in `used`.
pub(super) fn amounts(message: &Message, used: &mut [bool]) -> Vec<String> {
    let mut amounts = Vec::new();
    for (at, said) in message.words.iter().copied().enumerate() {
        if used[at] {
            continue;
        }
        let next = message.words.get(at + 1).copied().unwrap_or("");
        let digits = said.bytes().any(|b| b.is_ascii_digit())
            && said.bytes().all(|b| b.is_ascii_digit() || b == b'.');
        let with_unit = is_ml(next);
        // A fraction is an amount even without its unit; a whole number may be anything.
        if digits && (with_unit || said.contains('.')) {
            used[at] = true;
            amounts.extend(canonical(said));
        } else if with_unit && let Some(whole) = number(said) {
            used[at] = true;
            amounts.push(whole.to_string());
        }
    }
    amounts
}

/// The vial that was named.
pub(super) fn vial(message: &Message, used: &mut [bool]) -> Option<SaidVial> {
    for (place, item) in message.items.iter().enumerate() {
        let named = item.is(C::Vial) || (item.is(C::Number) && item.kind == Kind::Word);
        if !named {
            continue;
        }
        let mut next = place + 1;
        while message
            .items
            .get(next)
            .is_some_and(|item| item.is(C::Number))
        {
            next += 1;
        }
        if let Some(after) = message.items.get(next)
            && !used[after.word]
            && let Some(number) = number(message.text(after)).filter(|n| (1..100).contains(n))
            && !message
                .words
                .get(after.word + 1)
                .is_some_and(|word| is_ml(word))
        {
            used[after.word] = true;
            return Some(SaidVial::Number(number));
        }
    }
    let ordinal = |words: &[&str]| message.words.iter().any(|word| words.contains(word));
    if ordinal(&["second", "segundo", "segunda"]) {
        Some(SaidVial::Number(2))
    } else if ordinal(&["third", "tercer", "tercero", "tercera"]) {
        Some(SaidVial::Number(3))
    } else if message.has(C::New) {
        Some(SaidVial::New)
    } else if message.has(C::Old) {
        Some(SaidVial::Old)
    } else if message.has(C::Open) {
        Some(SaidVial::Open)
    } else {
        None
    }
}

/// "12 needles, 3 vials": what was counted.
pub(super) fn counts(message: &Message, used: &mut [bool]) -> Vec<Count> {
    let mut counts = Vec::new();
    for pair in message.items.windows(2) {
        let [count, thing] = pair else { continue };
        let supply = if thing.is(C::Vials) || is_one_vial(message, count, thing) {
            SaidSupply::Vials
        } else if thing.is(C::Needle) {
            SaidSupply::Needles
        } else if thing.is(C::Syringes) {
            SaidSupply::Syringes
        } else {
            continue;
        };
        if let Some(pieces) = number(message.text(count)).filter(|n| *n < 10_000) {
            used[count.word] = true;
            counts.push(Count { supply, pieces });
        }
    }
    counts
}

/// "1 vial": one of them, and not the vial that is number one.
pub(super) fn is_one_vial(message: &Message, count: &Item, thing: &Item) -> bool {
    thing.is(C::Vial) && matches!(message.text(count), "1" | "one")
}

/// The one amount of a record: exact when one figure was said.
pub(super) fn said(amounts: &[String], part: bool) -> Option<SaidAmount> {
    match amounts {
        [one] => Some(SaidAmount::Exact(one.clone())),
        [] if part => Some(SaidAmount::Part),
        [] => None,
        _ => Some(SaidAmount::Part),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_have_one_spelling() {
        for (written, said) in [
            ("1.50", "1.5"),
            ("0.5", "0.5"),
            ("03", "3"),
            ("2.0", "2"),
            ("0", "0"),
        ] {
            assert_eq!(canonical(written).as_deref(), Some(said));
        }
        assert_eq!(canonical("12345678901"), None);
    }
}
