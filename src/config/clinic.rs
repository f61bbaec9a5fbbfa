//! The clinic's own file: who it is, its rules, and how the program is wired.
//!
//! Rules have defaults, the values of `config/clinic.example.toml`. What only
//! the clinic can know (emergency phone, hours, protocol, notes) has none: an
//! owner must not be told another clinic's.

use super::Settings;
use super::reader::{Section, Value, nearest, quoted};
use super::span;
use crate::domain::formulary::Formulary;
use crate::domain::language::Language;
use crate::domain::policy::{
    Clinic, DosePolicy, Note, OpenHours, Policy, Protocol, Syringe, VialPolicy, WeightRange,
};
use crate::domain::quantity::{DoseRate, QuantityError, Volume, Weight};
use crate::domain::question::StepTopic;
use crate::domain::zone::Zone;
use chrono::{NaiveTime, TimeDelta, Weekday};
use std::collections::{BTreeMap, BTreeSet};

const LONGEST_NAME: usize = 60;
const LONGEST_PHONE: usize = 40;
/// A message of Telegram holds 4096 characters; ours also carries a heading.
const LONGEST_WORDS: usize = 3000;
const DEFAULT_KEY: &str = "clinic";
const DEFAULT_ZONE: &str = "America/Denver";
const DEFAULT_STORE: &str = "sqlite:vialbell.db";
const DEFAULT_PAGE_PORT: u16 = 8046;

/// Reads the clinic's rules. What is odd but not wrong goes to `notes`.
pub(super) fn policy(
    root: &Section<'_>,
    formulary: &Formulary,
    notes: &mut Vec<String>,
) -> Option<Policy> {
    let clinic = clinic(root, notes);
    let dose = dose(&root.section("dose"));
    let vial = vial(&root.section("vial"));
    let syringes = syringes(root);
    let weights = weights(root);
    let times = root.section("times");
    let invitation_valid = span_or(&times, "invitation", hours(72), SpanRule::Positive);
    let question_valid = span_or(&times, "question", hours(2), SpanRule::Positive);
    let take_back = span_or(&times, "take_back", minutes(15), SpanRule::Any);
    let protocol = protocol(root, formulary);
    let standing = standing_notes(root);
    let policy = Policy {
        clinic: clinic?,
        dose: dose?,
        vial: vial?,
        syringes: syringes?,
        weights: weights?,
        invitation_valid: invitation_valid?,
        question_valid: question_valid?,
        take_back: take_back?,
        protocol: protocol?,
        notes: standing?,
    };
    notes.extend(oddities(&policy));
    Some(policy)
}

/// Reads how the program is wired. Secrets are not among it.
pub(super) fn settings(root: &Section<'_>) -> Option<Settings> {
    let store_url = match root.section("store").value("url") {
        Some(url) => url.parsed(store_url),
        None => Some(DEFAULT_STORE.to_owned()),
    };
    let telegram = root.section("telegram");
    let telegram_api_url = optional(telegram.value("api_url"), |v| v.parsed(web_address));
    let bot_name = optional(telegram.value("bot_name"), |v| v.parsed(bot_name));
    let clinic_chat = optional(telegram.value("clinic_chat"), Value::signed);
    let page_port = match root.section("page").value("port") {
        Some(port) => port
            .whole(0..=u32::from(u16::MAX))
            .and_then(|port| u16::try_from(port).ok()),
        None => Some(DEFAULT_PAGE_PORT),
    };
    Some(Settings {
        store_url: store_url?,
        telegram_api_url: telegram_api_url?,
        bot_name: bot_name?,
        clinic_chat: clinic_chat?,
        page_port: page_port?,
    })
}

fn clinic(root: &Section<'_>, notes: &mut Vec<String>) -> Option<Clinic> {
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
    let hours = opening_hours(&root.section("hours"));
    Some(Clinic {
        key: key?,
        name: name?,
        phone: phone?,
        emergency_phone: emergency_phone?,
        zone: zone?,
        hours: hours?,
    })
}

fn clinic_key(text: &str) -> Result<String, String> {
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

fn phone(value: &Value<'_>) -> Option<String> {
    let text = value.line_of_text(LONGEST_PHONE)?;
    // Three digits: the shortest emergency numbers (common practice, no source).
    if text.chars().filter(char::is_ascii_digit).count() < 3 {
        value.complain(format!("{} is no phone number", quoted(&text)));
        return None;
    }
    Some(text)
}

const DAYS: [(&str, Weekday); 7] = [
    ("monday", Weekday::Mon),
    ("tuesday", Weekday::Tue),
    ("wednesday", Weekday::Wed),
    ("thursday", Weekday::Thu),
    ("friday", Weekday::Fri),
    ("saturday", Weekday::Sat),
    ("sunday", Weekday::Sun),
];

fn opening_hours(table: &Section<'_>) -> Option<Vec<OpenHours>> {
    let days = DAYS.map(|(key, day)| match table.value(key) {
        Some(value) => hours_of_day(&value, day),
        None => Some(Vec::new()),
    });
    let days: Option<Vec<Vec<OpenHours>>> = days.into_iter().collect();
    Some(days?.concat())
}

fn hours_of_day(value: &Value<'_>, day: Weekday) -> Option<Vec<OpenHours>> {
    let one = |value: &Value<'_>| {
        let (from, until) = value.parsed(open_span)?;
        Some(OpenHours { day, from, until })
    };
    let hours = if value.is_list() {
        value.each(one)?
    } else {
        vec![one(value)?]
    };
    if hours.windows(2).any(|pair| pair[0].until > pair[1].from) {
        value.complain("the hours of a day must follow one another without overlapping");
        return None;
    }
    Some(hours)
}

fn open_span(text: &str) -> Result<(NaiveTime, NaiveTime), String> {
    let wrong = || {
        format!(
            "{} are no opening hours; write them like \"08:00-18:00\"",
            quoted(text)
        )
    };
    let (from, until) = text.split_once(['-', '–']).ok_or_else(wrong)?;
    let from = wall_time(from.trim()).ok_or_else(wrong)?;
    let until = match until.trim() {
        // The last instant of the day: no wall time is called 24:00.
        "24:00" => NaiveTime::from_hms_milli_opt(23, 59, 59, 999).ok_or_else(wrong)?,
        until => wall_time(until).ok_or_else(wrong)?,
    };
    if from >= until {
        return Err(format!(
            "{} ends before it begins; hours past midnight are written as \"22:00-24:00\" and \"00:00-06:00\" of the next day",
            quoted(text)
        ));
    }
    Ok((from, until))
}

/// A time written `HH:MM`, with both digits of the hour.
pub(super) fn wall_time(text: &str) -> Option<NaiveTime> {
    let bytes = text.as_bytes();
    let shaped = bytes.len() == 5 && bytes[2] == b':';
    shaped.then(|| NaiveTime::parse_from_str(text, "%H:%M").ok())?
}

fn dose(table: &Section<'_>) -> Option<DosePolicy> {
    let before = span_or(table, "before", hours(1), SpanRule::Any);
    let window = span_or(table, "window", hours(3), SpanRule::Positive);
    let again = spans_or(
        table,
        "ask_again",
        &[minutes(30), hours(1), hours(2)],
        "an earlier one first",
        |a, b| a < b,
    );
    let gap_least = span_or(table, "least_between", hours(10), SpanRule::Positive);
    let gap_most = span_or(table, "most_between", hours(14), SpanRule::Positive);
    let largest = volume_or(table, "largest_ml", "10", Zero::Refused);
    let largest_rate = optional(table.value("largest_mg_per_kg"), |v| {
        v.decimal(|text| positive(DoseRate::parse(text)?))
    });
    let most_doses = match table.value("most_doses") {
        Some(value) => value.whole(1..=10_000),
        None => Some(400),
    };
    let rounding_basis_points = match table.value("flag_rounding_percent") {
        Some(value) => value.decimal(basis_points),
        None => Some(500),
    };
    let dose = DosePolicy {
        before: before?,
        window: window?,
        again: again?,
        gap_least: gap_least?,
        gap_most: gap_most?,
        largest: largest?,
        largest_rate: largest_rate?,
        most_doses: most_doses?,
        rounding_basis_points: rounding_basis_points?,
    };
    spans_fit(table, &dose).then_some(dose)
}

/// Whether the spans of a dose's life fit into one another; complains of each that does not.
fn spans_fit(table: &Section<'_>, dose: &DosePolicy) -> bool {
    let mut fit = true;
    let mut complain = |key, what: String| {
        table.complain(key, what);
        fit = false;
    };
    let shown = span::show;
    if let Some(late) = dose.again.iter().find(|again| **again >= dose.window) {
        complain(
            "ask_again",
            format!(
                "{} is not inside the window of {}",
                shown(*late),
                shown(dose.window)
            ),
        );
    }
    // Otherwise one administration could be recorded for either of two doses.
    if dose.window + dose.before >= dose.gap_least {
        complain(
            "window",
            format!(
                "window ({}) and before ({}) together must be shorter than least_between ({})",
                shown(dose.window),
                shown(dose.before),
                shown(dose.gap_least)
            ),
        );
    }
    if dose.gap_least > dose.gap_most {
        complain(
            "least_between",
            format!(
                "{} is longer than most_between ({})",
                shown(dose.gap_least),
                shown(dose.gap_most)
            ),
        );
    }
    if dose.gap_most > hours(24) {
        complain(
            "most_between",
            "must be at most 24h: doses are planned for every day".to_owned(),
        );
    }
    fit
}

fn vial(table: &Section<'_>) -> Option<VialPolicy> {
    let warn_before = spans_or(
        table,
        "warn_before",
        &[hours(24), hours(2)],
        "the longest first",
        |a, b| a > b,
    );
    let loss = volume_or(table, "loss_ml", "0", Zero::Allowed);
    let split = match table.value("two_vials") {
        Some(value) => value.flag(),
        None => Some(true),
    };
    let level_differs = volume_or(table, "level_differs_ml", "0.2", Zero::Allowed);
    Some(VialPolicy {
        warn_before: warn_before?,
        loss: loss?,
        split: split?,
        level_differs: level_differs?,
    })
}

/// Sizes and graduations in mL where the clinic lists none (common practice,
/// no source; makers differ, which is why a clinic lists its own).
const SYRINGES: [(&str, &str); 4] = [("1", "0.01"), ("3", "0.1"), ("5", "0.2"), ("10", "0.2")];

fn syringes(root: &Section<'_>) -> Option<Vec<Syringe>> {
    let Some(tables) = root.has("syringe").then(|| root.each("syringe")) else {
        let default = |(size, graduation): (&str, &str)| {
            Some(Syringe {
                size: Volume::parse(size).ok()?,
                graduation: Volume::parse(graduation).ok()?,
            })
        };
        return SYRINGES.into_iter().map(default).collect();
    };
    let tables = tables?;
    if tables.is_empty() {
        root.complain("syringe", "list at least one syringe");
        return None;
    }
    let mut sizes = BTreeSet::new();
    let read: Vec<Option<Syringe>> = tables
        .iter()
        .map(|table| {
            let syringe = syringe(table)?;
            if !sizes.insert(syringe.size) {
                table.complain("size_ml", format!("{} is listed twice", syringe.size));
                return None;
            }
            Some(syringe)
        })
        .collect();
    let mut syringes: Vec<Syringe> = read.into_iter().collect::<Option<_>>()?;
    syringes.sort_by_key(|syringe| syringe.size);
    Some(syringes)
}

fn syringe(table: &Section<'_>) -> Option<Syringe> {
    let volume = |key| {
        table
            .required(key)?
            .decimal(|text| positive(Volume::parse(text)?))
    };
    let (size, graduation) = (volume("size_ml"), volume("graduation_ml"));
    let (size, graduation) = (size?, graduation?);
    if size.millionths() % graduation.millionths() != 0 {
        table.complain(
            "graduation_ml",
            format!("{graduation} does not divide the {size} of the syringe"),
        );
        return None;
    }
    Some(Syringe { size, graduation })
}

/// Least and greatest weight in kg by species where the clinic gives none
/// (common practice, no source): wide enough for any healthy animal, narrow
/// enough to catch pounds written as kilograms in a cat or a slipped point.
const WEIGHTS: [(&str, &str, &str); 5] = [
    ("cat", "0.3", "15"),
    ("dog", "0.5", "110"),
    ("ferret", "0.2", "4"),
    ("rabbit", "0.3", "12"),
    ("horse", "30", "1200"),
];

fn weights(root: &Section<'_>) -> Option<BTreeMap<String, WeightRange>> {
    let default = |(species, least, most): (&str, &str, &str)| {
        let range = WeightRange {
            least: Weight::parse_kg(least).ok()?,
            most: Weight::parse_kg(most).ok()?,
        };
        Some((species.to_owned(), range))
    };
    let mut weights: BTreeMap<_, _> = WEIGHTS.into_iter().filter_map(default).collect();
    let mut all_read = true;
    for (species, table) in root.named("weight") {
        match weight_range(&table) {
            Some(range) => {
                weights.insert(species.to_lowercase(), range);
            }
            None => all_read = false,
        }
    }
    all_read.then_some(weights)
}

fn weight_range(table: &Section<'_>) -> Option<WeightRange> {
    let kg = |key| table.required(key)?.decimal(Weight::parse_kg);
    let (least, most) = (kg("least_kg"), kg("most_kg"));
    let (least, most) = (least?, most?);
    if least >= most {
        table.complain(
            "most_kg",
            format!("{most} is not more than least_kg, {least}"),
        );
        return None;
    }
    Some(WeightRange { least, most })
}

fn protocol(root: &Section<'_>, formulary: &Formulary) -> Option<Vec<Protocol>> {
    let mut seen = BTreeSet::new();
    let tables = root.each("protocol").unwrap_or_default();
    let read: Vec<Option<Protocol>> = tables
        .iter()
        .map(|table| {
            let protocol = procedure(table, formulary)?;
            let place = (
                protocol.topic,
                protocol.language.clone(),
                protocol.product.clone(),
            );
            if !seen.insert(place) {
                table.complain_here("another protocol has the same topic, language and product");
                return None;
            }
            Some(protocol)
        })
        .collect();
    read.into_iter().collect()
}

fn procedure(table: &Section<'_>, formulary: &Formulary) -> Option<Protocol> {
    let topic = table.required("topic").and_then(|v| v.parsed(step_topic));
    let language = language(table);
    let product = optional(table.value("product"), |value| {
        value.parsed(|key| known_product(key, formulary).map(|_| key.to_owned()))
    });
    let steps = table
        .required("steps")
        .and_then(|v| words(&v, "step", step));
    Some(Protocol {
        topic: topic?,
        language: language?,
        product: product?,
        steps: steps?,
    })
}

fn step_topic(text: &str) -> Result<StepTopic, String> {
    match text {
        "mixing" => Ok(StepTopic::Mixing),
        "drawing-up" => Ok(StepTopic::DrawingUp),
        "injecting" => Ok(StepTopic::Injecting),
        "sharps" => Ok(StepTopic::Sharps),
        _ => Err(format!(
            "{} is no topic; topics are mixing, drawing-up, injecting and sharps",
            quoted(text)
        )),
    }
}

/// The product of a key, or a line that names the keys there are.
pub(super) fn known_product<'f>(
    key: &str,
    formulary: &'f Formulary,
) -> Result<&'f crate::domain::formulary::Product, String> {
    formulary.get(key).ok_or_else(|| {
        let keys = || formulary.keys().map(String::as_str);
        let hint = match nearest(key, keys()) {
            Some(near) => format!("did you mean {near}?"),
            None => format!("it has {}", keys().collect::<Vec<_>>().join(", ")),
        };
        format!("{} is not in the formulary; {hint}", quoted(key))
    })
}

fn standing_notes(root: &Section<'_>) -> Option<Vec<Note>> {
    let mut seen = BTreeSet::new();
    let tables = root.each("note").unwrap_or_default();
    let read: Vec<Option<Note>> = tables
        .iter()
        .map(|table| {
            let note = standing_note(table)?;
            if !seen.insert((note.key.clone(), note.language.clone())) {
                table.complain_here("another note has the same key and language");
                return None;
            }
            Some(note)
        })
        .collect();
    read.into_iter().collect()
}

fn standing_note(table: &Section<'_>) -> Option<Note> {
    let key = table.required("key").and_then(|v| v.parsed(clinic_key));
    let language = language(table);
    let asked_by = table
        .required("asked_by")
        .and_then(|v| words(&v, "phrase", paragraph));
    let said = table.required("words").and_then(|v| note_words(&v));
    Some(Note {
        key: key?,
        language: language?,
        asked_by: asked_by?,
        words: said?,
    })
}

/// A note is the same for every household: it has no figures of an order.
fn note_words(value: &Value<'_>) -> Option<String> {
    let text = paragraph(value)?;
    if FIGURES.iter().any(|figure| text.contains(figure)) {
        value.complain("a note has no figures of an order; write a protocol for them");
        return None;
    }
    Some(text)
}

fn language(table: &Section<'_>) -> Option<String> {
    let language = table.required("language")?.parsed(str::parse::<Language>)?;
    Some(language.code().to_owned())
}

/// A list of texts, at least one.
fn words(
    value: &Value<'_>,
    what: &str,
    text: impl Fn(&Value<'_>) -> Option<String>,
) -> Option<Vec<String>> {
    let texts = value.each(text)?;
    if texts.is_empty() {
        value.complain(format!("write at least one {what}"));
        return None;
    }
    Some(texts)
}

/// The figures of an order that a step may have, in braces.
const FIGURES: [&str; 2] = ["{diluent_ml}", "{volume_ml}"];

/// A step, in which braces stand around the name of a figure and nothing else:
/// an owner must not read a name where a volume belongs.
fn step(value: &Value<'_>) -> Option<String> {
    let text = paragraph(value)?;
    let rest = FIGURES
        .iter()
        .fold(text.clone(), |rest, figure| rest.replace(figure, ""));
    if let Some(at) = rest.find(['{', '}']) {
        let end = rest[at..].find('}').map_or(rest.len(), |end| at + end + 1);
        value.complain(format!(
            "{} is no figure of an order; a step may have {}",
            quoted(&rest[at..end]),
            FIGURES.join(" and ")
        ));
        return None;
    }
    Some(text)
}

/// A text that may have line breaks, as a message has.
fn paragraph(value: &Value<'_>) -> Option<String> {
    let text = value.text()?.trim();
    let length = text.chars().count();
    if length == 0 {
        value.complain("is empty");
    } else if length > LONGEST_WORDS {
        value.complain(format!(
            "has {length} characters; a message holds at most {LONGEST_WORDS}"
        ));
    } else if text.chars().any(|c| c.is_control() && c != '\n') {
        value.complain("has a control character");
    } else {
        return Some(text.to_owned());
    }
    None
}

fn store_url(text: &str) -> Result<String, String> {
    match text.strip_prefix("sqlite:") {
        Some(path) if !path.is_empty() && !path.contains(char::is_control) => Ok(text.to_owned()),
        // Not repeated: an address of a database may hold a password.
        _ => Err("is no database of this program; write it like \"sqlite:vialbell.db\"".to_owned()),
    }
}

fn web_address(text: &str) -> Result<String, String> {
    let rest = text
        .strip_prefix("https://")
        .or(text.strip_prefix("http://"));
    match rest {
        Some(host)
            if !host.is_empty()
                && !host.contains(|c: char| c.is_whitespace() || c.is_control()) =>
        {
            Ok(text.trim_end_matches('/').to_owned())
        }
        // Not repeated: somebody may have pasted the token along with it.
        _ => Err("is no web address; write it like \"http://127.0.0.1:8081\"".to_owned()),
    }
}

fn bot_name(text: &str) -> Result<String, String> {
    let name = text.strip_prefix('@').unwrap_or(text);
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '_';
    // Telegram's rule for user names: 5 to 32 of a-z, 0-9 and _ (memory).
    if (5..=32).contains(&name.len()) && name.chars().all(plain) {
        Ok(name.to_owned())
    } else {
        Err(format!(
            "{} is no bot's name; write it like \"our_clinic_bot\"",
            quoted(text)
        ))
    }
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

#[derive(Clone, Copy, PartialEq, Eq)]
enum SpanRule {
    Any,
    Positive,
}

fn span_or(
    table: &Section<'_>,
    key: &'static str,
    default: TimeDelta,
    rule: SpanRule,
) -> Option<TimeDelta> {
    let Some(value) = table.value(key) else {
        return Some(default);
    };
    let span = value.parsed(span::parse)?;
    if rule == SpanRule::Positive && span.is_zero() {
        value.complain("must be longer than 0");
        return None;
    }
    Some(span)
}

fn spans_or(
    table: &Section<'_>,
    key: &'static str,
    default: &[TimeDelta],
    order: &str,
    in_order: impl Fn(TimeDelta, TimeDelta) -> bool,
) -> Option<Vec<TimeDelta>> {
    let Some(value) = table.value(key) else {
        return Some(default.to_vec());
    };
    let spans = value.each(|value| value.parsed(span::parse))?;
    if spans.iter().any(TimeDelta::is_zero) {
        value.complain("each must be longer than 0");
        return None;
    }
    if spans.windows(2).any(|pair| !in_order(pair[0], pair[1])) {
        value.complain(format!("write them in order, {order}"));
        return None;
    }
    Some(spans)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Zero {
    Allowed,
    Refused,
}

fn volume_or(table: &Section<'_>, key: &'static str, default: &str, zero: Zero) -> Option<Volume> {
    match table.value(key) {
        Some(value) if zero == Zero::Refused => {
            value.decimal(|text| positive(Volume::parse(text)?))
        }
        Some(value) => value.decimal(Volume::parse),
        None => Volume::parse(default).ok(),
    }
}

/// Why a number that must be above zero is refused.
#[derive(Debug, thiserror::Error)]
enum NotPositive {
    #[error(transparent)]
    NoQuantity(#[from] QuantityError),
    #[error("must be more than 0")]
    Zero,
}

fn positive<T: Default + PartialEq>(quantity: T) -> Result<T, NotPositive> {
    if quantity == T::default() {
        Err(NotPositive::Zero)
    } else {
        Ok(quantity)
    }
}

/// Hundredths of a percent from a decimal number of percent.
fn basis_points(text: &str) -> Result<u32, String> {
    // Any quantity reads decimals exactly; which unit it has does not matter here.
    let percent = DoseRate::parse(text).map_err(|error| error.to_string())?;
    let (points, finer) = (percent.millionths() / 10_000, percent.millionths() % 10_000);
    u32::try_from(points)
        .ok()
        .filter(|points| finer == 0 && *points <= 10_000)
        .ok_or_else(|| {
            format!(
                "{} is no percentage from 0 to 100 with at most 2 decimals",
                quoted(text)
            )
        })
}

/// What an optional key holds: nothing, or what `take` reads; none where it cannot be read.
pub(super) fn optional<'s, T>(
    value: Option<Value<'s>>,
    take: impl FnOnce(&Value<'s>) -> Option<T>,
) -> Option<Option<T>> {
    match value {
        Some(value) => take(&value).map(Some),
        None => Some(None),
    }
}

fn hours(hours: i64) -> TimeDelta {
    TimeDelta::hours(hours)
}

fn minutes(minutes: i64) -> TimeDelta {
    TimeDelta::minutes(minutes)
}
