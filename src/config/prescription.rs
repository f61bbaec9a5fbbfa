//! A prescription file, or the same text as pasted into the clinic's chat.

use super::clinic::phone;
use super::formulary::known_product;
use super::mistake::{Mistake, Mistakes};
use super::reader::{self, Section, Value, quoted};
use super::values::optional;
use super::{pasted, source};
use crate::domain::formulary::{Formulary, Product};
use crate::domain::name::LONGEST_NAME;
use crate::domain::order_words::clock;
use crate::domain::prescription::{Length, Order};
use crate::domain::quantity::{OrderedDose, QuantityError, Weight};
use crate::domain::zone::Zone;
use chrono::{Datelike, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use std::collections::BTreeSet;
use std::path::Path;
use toml::value::{Date, Datetime, Time};

const DEFAULT_LANGUAGE: &str = "en";
const MOST_VIALS: u32 = 10_000;

/// Reads a prescription from text, each field by itself; whether the order as a
/// whole is within the clinic's rules is [`Order::work_out`]'s to say.
///
/// Text that went through a chat program is read too: typographic quotes,
/// odd spaces and a code fence around it are seen through.
///
/// # Errors
/// Every mistake of the text; the file is called `prescription` in them.
pub fn parse_prescription(
    text: &str,
    formulary: &Formulary,
    languages: &[&str],
) -> Result<Order, Mistakes> {
    parse("prescription", text, formulary, languages)
}

/// Reads a prescription file, as [`parse_prescription`] reads its text.
///
/// # Errors
/// Every mistake of the file, or that it cannot be read.
pub fn load_prescription(
    path: &Path,
    formulary: &Formulary,
    languages: &[&str],
) -> Result<Order, Mistakes> {
    let file = path.display().to_string();
    parse(&file, &source::read(path)?, formulary, languages)
}

fn parse(
    file: &str,
    text: &str,
    formulary: &Formulary,
    languages: &[&str],
) -> Result<Order, Mistakes> {
    let text = pasted::plain(text);
    let (order, mistakes) = reader::read(file, &text, |root| order(root, formulary, languages));
    settle(order, mistakes)
}

/// What was read, unless anything was wrong.
pub(super) fn settle<T>(read: Option<T>, mistakes: Vec<Mistake>) -> Result<T, Mistakes> {
    match read {
        Some(read) if mistakes.is_empty() => Ok(read),
        _ => Err(Mistakes(mistakes)),
    }
}

fn order(root: &Section<'_>, formulary: &Formulary, languages: &[&str]) -> Option<Order> {
    let owner = root.section("owner");
    let language = match owner.value("language") {
        Some(value) => value.parsed(|code| known_language(code, languages)),
        None => Some(DEFAULT_LANGUAGE.to_owned()),
    };
    let comma = match language.as_deref() {
        Some("es") => Comma::IsDecimal,
        _ => Comma::IsAsked,
    };
    let owner_name = owner.required("name").and_then(|v| name(&v));
    let zone = owner.required("zone").and_then(|v| v.parsed(Zone::named));
    let carers = carers(&owner, owner_name.as_deref());
    let owner_phone = optional(owner.value("phone"), phone);

    let patient = root.section("patient");
    let patient_name = patient.required("name").and_then(|v| name(&v));
    let species = patient.required("species").and_then(|v| name(&v));
    let weight = weight(&patient, comma);

    let table = root.section("prescription");
    let product = product(&table, formulary);
    let dose = table
        .required("dose")
        .and_then(|v| v.parsed(|text| OrderedDose::parse(&comma.read(text)?)));
    let times = table.required("times").and_then(|v| times(&v));
    let first = table.required("first").and_then(|v| first(&v));
    let length = length(&table);
    let vials_dispensed = optional(table.value("vials_dispensed"), |v| v.whole(0..=MOST_VIALS));
    let veterinarian = table.required("veterinarian").and_then(|v| name(&v));

    let (weight, weight_written) = weight?;
    Some(Order {
        patient: patient_name?,
        species: species?,
        weight,
        weight_written,
        owner: owner_name?,
        language: language?,
        zone: zone?,
        carers: carers?,
        owner_phone: owner_phone?,
        product: product?.clone(),
        dose: dose?,
        times: times?,
        first: first?,
        length: length?,
        vials_dispensed: vials_dispensed?,
        veterinarian: veterinarian?,
    })
}

fn name(value: &Value<'_>) -> Option<String> {
    value.line_of_text(LONGEST_NAME)
}

fn known_language(code: &str, languages: &[&str]) -> Result<String, String> {
    if languages.contains(&code) {
        return Ok(code.to_owned());
    }
    let known = languages.join(", ");
    Err(format!(
        "{} is not a language of this program; it knows {known}",
        quoted(code)
    ))
}

fn carers(owner: &Section<'_>, owner_name: Option<&str>) -> Option<Vec<String>> {
    let Some(value) = owner.value("carers") else {
        return Some(Vec::new());
    };
    let carers = value.each(name)?;
    let mut seen: BTreeSet<String> = owner_name.map(str::to_lowercase).into_iter().collect();
    for carer in &carers {
        // Each is invited and shown by this name, so it has to tell them apart.
        if !seen.insert(carer.to_lowercase()) {
            value.complain(format!(
                "{} is named twice in this household",
                quoted(carer)
            ));
            return None;
        }
    }
    Some(carers)
}

/// What a comma in a number of an order means.
#[derive(Clone, Copy)]
enum Comma {
    /// Spanish writes a decimal comma.
    IsDecimal,
    /// English may mean thousands by it: the clinic has to say.
    IsAsked,
}

impl Comma {
    /// The number with a decimal point, where that is what a comma can only mean.
    fn read(self, text: &str) -> Result<String, QuantityError> {
        let Some((whole, rest)) = text.split_once(',') else {
            return Ok(text.to_owned());
        };
        let decimals = rest.bytes().take_while(u8::is_ascii_digit).count();
        // Three digits after it are read as thousands by half of the world.
        let is_decimal = matches!(self, Comma::IsDecimal) && decimals != 3 && !whole.contains('.');
        if is_decimal {
            Ok(format!("{whole}.{rest}"))
        } else {
            Err(QuantityError::Comma(text.trim().into()))
        }
    }
}

/// The weight, and how it was written.
fn weight(patient: &Section<'_>, comma: Comma) -> Option<(Weight, String)> {
    type Parse = fn(&str) -> Result<Weight, QuantityError>;
    let (kg, lb) = (patient.value("weight_kg"), patient.value("weight_lb"));
    let (value, unit, parse) = match (kg, lb) {
        (Some(kg), None) => (kg, "kg", Weight::parse_kg as Parse),
        (None, Some(lb)) => (lb, "lb", Weight::parse_lb as Parse),
        (None, None) => {
            patient.complain("weight_kg", "is missing; write weight_kg or weight_lb");
            return None;
        }
        (Some(_), Some(_)) => {
            patient.complain("weight_lb", "write weight_kg or weight_lb, not both");
            return None;
        }
    };
    value.decimal(|text| {
        let number = comma.read(text.trim())?;
        let weight = parse(&number)?;
        Ok::<_, QuantityError>((weight, format!("{number} {unit}")))
    })
}

fn product<'f>(table: &Section<'_>, formulary: &'f Formulary) -> Option<&'f Product> {
    let value = table.required("product")?;
    value.parsed(|key| known_product(key, formulary))
}

fn times(value: &Value<'_>) -> Option<Vec<NaiveTime>> {
    let mut times = value.each(time)?;
    times.sort_unstable();
    if let Some(twice) = times.windows(2).find(|pair| pair[0] == pair[1]) {
        value.complain(format!("{} is listed twice", twice[0].format("%H:%M")));
        return None;
    }
    if times.is_empty() {
        value.complain("write at least one time");
        return None;
    }
    Some(times)
}

fn time(value: &Value<'_>) -> Option<NaiveTime> {
    let time = match value.datetime() {
        Some(Datetime {
            date: None,
            time: Some(time),
            offset: None,
        }) => whole_minute(*time),
        Some(_) => None,
        None => clock(value.text()?.trim()),
    };
    if time.is_none() {
        value.complain(format!(
            "{} is no time of the day; write it like \"07:30\"",
            shown(value)
        ));
    }
    time
}

fn first(value: &Value<'_>) -> Option<NaiveDateTime> {
    let written = match value.datetime() {
        Some(written) => Some(*written),
        None => value.text()?.trim().parse::<Datetime>().ok(),
    };
    if written.is_some_and(|written| written.offset.is_some()) {
        value.complain(format!(
            "{} has an offset; write the time on the owner's clock, like 2026-03-07T19:30",
            shown(value)
        ));
        return None;
    }
    let first = written.and_then(|written| wall(written.date?, written.time?));
    if first.is_none() {
        value.complain(format!(
            "{} is no local date and time to the minute; write it like 2026-03-07T19:30",
            shown(value)
        ));
    }
    first
}

fn shown(value: &Value<'_>) -> String {
    match value.datetime() {
        Some(written) => written.to_string(),
        None => quoted(value.text().unwrap_or_default()),
    }
}

/// Years in which a course can begin: a slip in the year is caught here.
const YEARS: std::ops::RangeInclusive<i32> = 2000..=2199;

fn wall(date: Date, time: Time) -> Option<NaiveDateTime> {
    let date = NaiveDate::from_ymd_opt(date.year.into(), date.month.into(), date.day.into())?;
    let time = whole_minute(time)?;
    YEARS.contains(&date.year()).then(|| date.and_time(time))
}

fn whole_minute(time: Time) -> Option<NaiveTime> {
    let read = NaiveTime::from_hms_opt(
        time.hour.into(),
        time.minute.into(),
        time.second.unwrap_or(0).into(),
    )?;
    (read.second() == 0 && time.nanosecond.unwrap_or(0) == 0).then_some(read)
}

fn length(table: &Section<'_>) -> Option<Length> {
    match (table.value("days"), table.value("doses")) {
        (Some(days), None) => days.whole(0..=u32::MAX).map(Length::Days),
        (None, Some(doses)) => doses.whole(0..=u32::MAX).map(Length::Doses),
        (None, None) => {
            table.complain("days", "is missing; write days or doses");
            None
        }
        (Some(_), Some(_)) => {
            table.complain("doses", "write days or doses, not both");
            None
        }
    }
}
