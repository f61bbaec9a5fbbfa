//! The clinic's own file: who it is, its rules, and how the program is wired.
//!
//! Rules have defaults, the values of `config/clinic.example.toml`. What only
//! the clinic can know (emergency phone, hours, protocol, notes) has none: an
//! owner must not be told another clinic's.

use super::reader::{Section, Value, quoted};
use super::values::{Zero, hours, minutes, optional, span_or};
use super::{dose, equipment, hours as opening, ladder, words};
use crate::domain::formulary::Formulary;
use crate::domain::name::LONGEST_NAME;
use crate::domain::policy::{Clinic, Policy};
use crate::domain::zone::Zone;

const LONGEST_PHONE: usize = 40;
const DEFAULT_KEY: &str = "clinic";
const DEFAULT_ZONE: &str = "America/Denver";

/// Reads the clinic's rules. What is odd but not wrong goes to `notes`.
pub(super) fn policy(
    root: &Section<'_>,
    formulary: &Formulary,
    notes: &mut Vec<String>,
) -> Option<Policy> {
    let clinic = clinic(root, notes);
    let dose = dose::dose(&root.section("dose"));
    let vial = dose::vial(&root.section("vial"));
    let syringes = equipment::syringes(root);
    let weights = equipment::weights(root);
    let supply = equipment::supply(root);
    let ladder = ladder::read(root);
    let times = root.section("times");
    let invitation_valid = span_or(&times, "invitation", hours(72), Zero::Refused);
    let question_valid = span_or(&times, "question", hours(2), Zero::Refused);
    let take_back = span_or(&times, "take_back", minutes(15), Zero::Allowed);
    let unreached = span_or(&times, "unreached", minutes(15), Zero::Refused);
    let records = root.section("records");
    let keep_words = span_or(&records, "keep", hours(2160), Zero::Refused);
    let protocol = words::protocol(root, formulary);
    let standing = words::standing_notes(root);
    let (clinic, second_person) = clinic?;
    let policy = Policy {
        clinic,
        dose: dose?,
        vial: vial?,
        syringes: syringes?,
        weights: weights?,
        supply: supply?,
        ladder: ladder?,
        second_person,
        invitation_valid: invitation_valid?,
        question_valid: question_valid?,
        take_back: take_back?,
        unreached: unreached?,
        keep_words: keep_words?,
        protocol: protocol?,
        notes: standing?,
    };
    notes.extend(oddities(&policy));
    Some(policy)
}

/// Who the clinic is, and whether a second person confirms its orders.
fn clinic(root: &Section<'_>, notes: &mut Vec<String>) -> Option<(Clinic, bool)> {
    let table = root.section("clinic");
    let key = match table.value("key") {
        Some(key) => key.parsed(clinic_key),
        None => Some(DEFAULT_KEY.to_owned()),
    };
    let name = table
        .required("name")
        .and_then(|v| v.line_of_text(LONGEST_NAME));
    let emergency_phone = optional(table.value("emergency_phone"), phone);
    let phone = table.required("phone").and_then(|v| phone(&v));
    let zone = match table.value("zone") {
        Some(zone) => zone.parsed(Zone::named),
        None => {
            notes.push(format!(
                "clinic.zone is not set; the clinic's hours are read on the clock of {DEFAULT_ZONE}"
            ));
            Zone::named(DEFAULT_ZONE).ok()
        }
    };
    let hours = opening::read(&root.section("hours"));
    let second_person = match table.value("second_person") {
        Some(value) => value.flag(),
        None => Some(true),
    };
    let clinic = Clinic {
        key: key?,
        name: name?,
        phone: phone?,
        emergency_phone: emergency_phone?,
        zone: zone?,
        hours: hours?,
    };
    Some((clinic, second_person?))
}

/// A key that goes into addresses and records as it is.
pub(super) fn clinic_key(text: &str) -> Result<String, String> {
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if (1..=40).contains(&text.len()) && text.chars().all(plain) {
        Ok(text.to_owned())
    } else {
        Err(format!(
            "{} is no key; use 1 to 40 of a-z, 0-9 and -",
            quoted(text)
        ))
    }
}

pub(super) fn phone(value: &Value<'_>) -> Option<String> {
    let text = value.line_of_text(LONGEST_PHONE)?;
    // Three digits: the shortest emergency numbers (common practice, no source).
    if text.chars().filter(char::is_ascii_digit).count() < 3 {
        value.complain(format!("{} is no phone number", quoted(&text)));
        return None;
    }
    Some(text)
}

fn oddities(policy: &Policy) -> Vec<String> {
    let mut notes = Vec::new();
    let clinic = &policy.clinic;
    if clinic.emergency_phone.is_none() {
        notes.push(
            "clinic.emergency_phone is not set; owners are given clinic.phone at night as well"
                .to_owned(),
        );
    }
    if clinic.hours.is_empty() {
        notes.push("hours are not set; the clinic counts as closed".to_owned());
    }
    let phones = [Some(&clinic.phone), clinic.emergency_phone.as_ref()];
    for phone in phones.into_iter().flatten().filter(|p| is_fictional(p)) {
        notes.push(format!(
            "{phone} is a number kept for fiction: nobody answers it"
        ));
    }
    if let Some(syringe) = policy.syringes.last()
        && syringe.size < policy.dose.largest
    {
        notes.push(format!(
            "dose.largest_ml allows {}, but the largest syringe holds {}",
            policy.dose.largest, syringe.size
        ));
    }
    if policy.protocol.is_empty() {
        notes
            .push("there is no protocol; owners who ask for the steps are told to call".to_owned());
    }
    notes
}

/// 555-0100 to 555-0199 are kept for fiction in the North American numbering
/// plan (memory).
fn is_fictional(phone: &str) -> bool {
    let digits: String = phone.chars().filter(char::is_ascii_digit).collect();
    let national = digits.strip_prefix('1').unwrap_or(&digits);
    national.len() >= 7 && national[national.len() - 7..].starts_with("55501")
}
