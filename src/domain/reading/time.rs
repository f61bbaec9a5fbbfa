//! Times, days and durations, as they are said.

use super::super::language::Language;
use super::super::question::DayPart;
use super::concept::C;
use super::message::Message;
use super::text::Kind;
use super::{Day, Half, SaidTime};

/// What a message says about when.
#[derive(Debug, Default, Clone, Copy)]
pub(super) struct When {
    pub day: Option<Day>,
    pub part: Option<DayPart>,
    pub time: Option<SaidTime>,
    pub lasted_minutes: Option<u32>,
    /// Two different times, days or parts were named.
    pub torn: bool,
}

/// Longer ago than this is no time of a dose that is still open.
const LONGEST_AGO_MINUTES: u32 = 2 * 24 * 60;

/// Finds when; the words that said it are marked in `used`.
pub(super) fn when(message: &Message, used: &mut [bool]) -> When {
    let mut when = When::default();
    days(message, &mut when);
    let mut at = 0;
    while at < message.words.len() {
        at += match said_at(message, at) {
            Some((said, words)) => {
                used[at..at + words].fill(true);
                when.take(said);
                words
            }
            None => 1,
        };
    }
    if when.time.is_none() && message.has(C::Now) {
        when.time = Some(SaidTime::Now);
    }
    when.settle();
    when
}

enum Said {
    Time(SaidTime),
    Lasted(u32),
}

impl When {
    fn take(&mut self, said: Said) {
        match said {
            Said::Time(time) => {
                self.torn |= self.time.is_some_and(|before| before != time);
                self.time = Some(time);
            }
            Said::Lasted(minutes) => self.lasted_minutes = Some(minutes),
        }
    }

    /// A named part of the day tells which half a bare "at 8" means.
    fn settle(&mut self) {
        if let (
            Some(SaidTime::Clock {
                hour: 1..=11,
                half: half @ None,
                ..
            }),
            Some(part),
        ) = (&mut self.time, self.part)
        {
            *half = Some(match part {
                DayPart::Morning => Half::Am,
                DayPart::Evening => Half::Pm,
            });
        }
    }
}

fn days(message: &Message, when: &mut When) {
    let (mut morning, mut evening, mut today, mut yesterday) = (false, false, false, false);
    for item in &message.items {
        morning |= item.is(C::Morning);
        evening |= item.is(C::Evening);
        today |= item.is(C::Today);
        yesterday |= item.is(C::Yesterday);
        let words = &message.words[item.word..item.word + item.words];
        // Both say the evening with the day.
        if item.is(C::Yesterday)
            && words.iter().any(|word| {
                matches!(
                    *word,
                    "night" | "evening" | "anoche" | "antenoche" | "noche"
                )
            })
        {
            evening = true;
        }
        if (item.is(C::Evening)
            && words
                .iter()
                .any(|word| matches!(*word, "tonight" | "tonights" | "tonite" | "esta")))
            || (item.is(C::Morning) && words.contains(&"esta"))
        {
            today = true;
        }
    }
    when.torn |= (morning && evening) || (today && yesterday);
    when.part = match (morning, evening) {
        (true, false) => Some(DayPart::Morning),
        (false, true) => Some(DayPart::Evening),
        _ => None,
    };
    when.day = match (today, yesterday) {
        (true, false) => Some(Day::Today),
        (false, true) => Some(Day::Yesterday),
        _ => None,
    };
}

fn said_at(message: &Message, at: usize) -> Option<(Said, usize)> {
    duration(message, at)
        .or_else(|| spoken(message, at).map(|(time, n)| (Said::Time(time), n)))
        .or_else(|| clock(message, at).map(|(time, n)| (Said::Time(time), n)))
}

fn word<'a>(message: &'a Message, at: usize) -> &'a str {
    message.words.get(at).copied().unwrap_or("")
}

/// "10 minutes ago", "hace una hora", "for half an hour".
fn duration(message: &Message, at: usize) -> Option<(Said, usize)> {
    let start = at;
    let ago_before = matches!(word(message, at), "hace" | "hase");
    let mut at = at + usize::from(ago_before);
    while matches!(
        word(message, at),
        "about" | "like" | "around" | "como" | "unos" | "unas" | "of"
    ) && at < start + 3
    {
        at += 1;
    }
    let (count, n) = count(message, at)?;
    at += n;
    let (minutes, n) = match (word(message, at), word(message, at + 1)) {
        ("minute" | "minutes" | "min" | "mins" | "minuto" | "minutos" | "minuets" | "minut", _) => {
            (count.minutes(1), 1)
        }
        ("hour" | "hours" | "hr" | "hrs" | "hora" | "horas", _) => (count.minutes(60), 1),
        ("an", "hour") => (count.minutes(60), 2),
        _ => return None,
    };
    at += n;
    let minutes = minutes?;
    let ago_after = word(message, at) == "ago";
    at += usize::from(ago_after);
    if minutes > LONGEST_AGO_MINUTES {
        return None;
    }
    let said = if ago_before || ago_after {
        Said::Time(SaidTime::Ago { minutes })
    } else {
        Said::Lasted(minutes)
    };
    Some((said, at - start))
}

/// A number of minutes or hours; half an hour is why it is counted in halves.
#[derive(Clone, Copy)]
struct Halves(u32);

impl Halves {
    fn minutes(self, each: u32) -> Option<u32> {
        let doubled = self.0.checked_mul(each)?;
        doubled.is_multiple_of(2).then_some(doubled / 2)
    }
}

fn count(message: &Message, at: usize) -> Option<(Halves, usize)> {
    let said = word(message, at);
    if matches!(said, "half" | "media") {
        return Some((Halves(1), 1));
    }
    if matches!(said, "a" | "an") && word(message, at + 1) == "couple" {
        return Some((Halves(4), 2 + usize::from(word(message, at + 2) == "of")));
    }
    let whole = match said {
        "a" | "an" => 1,
        _ => number(said)?,
    };
    if whole > 10_000 {
        return None;
    }
    Some((Halves(whole * 2), 1))
}

/// "half past seven", "twenty to eight", "siete y media", "ocho menos cuarto".
fn spoken(message: &Message, at: usize) -> Option<(SaidTime, usize)> {
    if matches!(word(message, at), "noon" | "midday" | "mediodia") {
        return Some((with_half((12, 0), Some(Half::Pm)), 1));
    }
    if message.language == Language::Spanish {
        let Some(hour) = hour(word(message, at)) else {
            return to_the_hour(message, at);
        };
        let sign = match word(message, at + 1) {
            "y" => 1,
            "menos" => -1,
            _ => return to_the_hour(message, at),
        };
        let (minutes, n) = minute_words(message, at + 2)?;
        let (time, half) = (shifted(hour, sign, minutes)?, half(message, at + 2 + n));
        return Some((with_half(time, half.0), 2 + n + half.1));
    }
    // "half seven", as it is said in Britain.
    if word(message, at) == "half"
        && let Some(hour) = hour(word(message, at + 1)).filter(|hour| *hour > 2)
    {
        let half = half(message, at + 2);
        return Some((with_half(shifted(hour, 1, 30)?, half.0), 2 + half.1));
    }
    let (minutes, n) = match word(message, at) {
        "half" => (30, 1),
        "a" if word(message, at + 1) == "quarter" => (15, 2),
        _ => minute_words(message, at)?,
    };
    let n = n + usize::from(matches!(word(message, at + n), "minutes" | "mins"));
    let sign = match word(message, at + n) {
        "past" | "after" => 1,
        "to" | "before" | "til" => -1,
        _ => return None,
    };
    let hour = hour(word(message, at + n + 1))?;
    let half = half(message, at + n + 2);
    Some((
        with_half(shifted(hour, sign, minutes)?, half.0),
        n + 2 + half.1,
    ))
}

/// "veinte para las ocho", "cuarto para las 8".
fn to_the_hour(message: &Message, at: usize) -> Option<(SaidTime, usize)> {
    let (minutes, n) = minute_words(message, at)?;
    if word(message, at + n) != "para" || !matches!(word(message, at + n + 1), "las" | "la") {
        return None;
    }
    let hour = hour(word(message, at + n + 2))?;
    let half = half(message, at + n + 3);
    Some((
        with_half(shifted(hour, -1, minutes)?, half.0),
        n + 3 + half.1,
    ))
}

/// Minutes in one word or two: "twenty", "twenty five", "treinta y cinco", "35".
fn minute_words(message: &Message, at: usize) -> Option<(u8, usize)> {
    let first = minutes_word(word(message, at))?;
    let and = usize::from(word(message, at + 1) == "y");
    let unit = number(word(message, at + 1 + and)).filter(|unit| (1..10).contains(unit));
    let spelled = !is_digit_word(word(message, at)) && !is_digit_word(word(message, at + 1 + and));
    match unit.and_then(|unit| u8::try_from(unit).ok()) {
        Some(unit) if spelled && matches!(first, 20 | 30 | 40 | 50) => {
            Some((first + unit, 2 + and))
        }
        _ => Some((first, 1)),
    }
}

fn shifted(hour: u8, sign: i8, minutes: u8) -> Option<(u8, u8)> {
    if !(1..=12).contains(&hour) || minutes >= 60 {
        return None;
    }
    Some(if sign > 0 {
        (hour, minutes)
    } else {
        (if hour == 1 { 12 } else { hour - 1 }, 60 - minutes)
    })
}

fn with_half((hour, minute): (u8, u8), half: Option<Half>) -> SaidTime {
    SaidTime::Clock { hour, minute, half }
}

/// "7:30", "7.30 pm", "at 8", "730pm", "1930", "las 8".
fn clock(message: &Message, at: usize) -> Option<(SaidTime, usize)> {
    let token = message.words[at];
    let led = led_by_at(message, at);
    let (half, half_words) = half(message, at + 1);
    // "seven thirty five pm": the half behind the minutes makes the hour clear.
    let spelled = spelled_minute(message, at + 1)
        .is_some_and(|(_, words)| self::half(message, at + 1 + words).0.is_some());
    let clear = led || half.is_some() || spelled;
    if let Some((hour, minute)) = token.split_once(':') {
        let time = valid(hour.parse().ok()?, minute.get(..2)?.parse().ok()?, half)?;
        return Some((time, 1 + half_words));
    }
    if let Some((hour, minute)) = token.split_once('.')
        && minute.len() == 2
        && clear
        && !is_ml(word(message, at + 1))
    {
        let time = valid(hour.parse().ok()?, minute.parse().ok()?, half)?;
        return Some((time, 1 + half_words));
    }
    if matches!(token, "noon" | "midday" | "mediodia") {
        return Some((valid(12, 0, Some(Half::Pm))?, 1));
    }
    if is_ml(word(message, at + 1)) {
        return None;
    }
    let digits = token.bytes().all(|b| b.is_ascii_digit());
    if digits && matches!(token.len(), 3 | 4) {
        let value: u16 = token.parse().ok()?;
        let time = valid((value / 100) as u8, (value % 100) as u8, half)?;
        return Some((time, 1 + half_words));
    }
    if !clear {
        return None;
    }
    let hour = hour(token)?;
    // "at seven thirty".
    if let Some((minute, words)) = spelled_minute(message, at + 1) {
        let (half, more) = self::half(message, at + 1 + words);
        return Some((valid(hour, minute, half)?, 1 + words + more));
    }
    // "at 7 30", as dictation writes it.
    if let Some(minute) = word(message, at + 1)
        .parse::<u8>()
        .ok()
        .filter(|_| word(message, at + 1).len() == 2)
        && !is_ml(word(message, at + 2))
    {
        let (half, more) = self::half(message, at + 2);
        return Some((valid(hour, minute, half)?, 2 + more));
    }
    if led && word(message, at + 1) == "and" && word(message, at + 2) == "half" {
        return Some((valid(hour, 30, half)?, 3));
    }
    let skipped = usize::from(matches!(
        word(message, at + 1),
        "oclock" | "h" | "hs" | "hrs"
    ));
    let (half, more) = self::half(message, at + 1 + skipped);
    Some((valid(hour, 0, half)?, 1 + skipped + more))
}

/// Minutes in words behind an hour: "thirty", "thirty five".
fn spelled_minute(message: &Message, at: usize) -> Option<(u8, usize)> {
    let (minute, words) = minute_words(message, at)?;
    let spelled = !is_digit_word(word(message, at)) && number(word(message, at)).is_some();
    let unit = word(message, at + words);
    let counted = is_ml(unit) || matches!(unit, "minutes" | "mins" | "minutos" | "hour" | "hours");
    ((10..60).contains(&minute) && spelled && !counted).then_some((minute, words))
}

fn is_digit_word(word: &str) -> bool {
    word.bytes().all(|b| b.is_ascii_digit())
}

/// True after "at", "a las" and the like.
fn led_by_at(message: &Message, at: usize) -> bool {
    let before = |n: usize| at.checked_sub(n).map_or("", |place| message.words[place]);
    matches!(
        before(1),
        "at" | "@" | "las" | "since" | "la" | "by" | "tipo"
    ) || (matches!(before(1), "about" | "around" | "like" | "exactly") && before(2) == "at")
}

fn half(message: &Message, at: usize) -> (Option<Half>, usize) {
    match (
        word(message, at),
        word(message, at + 1),
        word(message, at + 2),
    ) {
        ("am", _, _) => (Some(Half::Am), 1),
        ("pm", _, _) => (Some(Half::Pm), 1),
        ("de", "la", "manana" | "madrugada") => (Some(Half::Am), 3),
        ("de", "la", "tarde" | "noche") => (Some(Half::Pm), 3),
        ("in", "the", "morning") => (Some(Half::Am), 3),
        ("in", "the", "evening" | "afternoon") | ("at", "night", _) => (Some(Half::Pm), 2),
        _ => (None, 0),
    }
}

fn valid(hour: u8, minute: u8, half: Option<Half>) -> Option<SaidTime> {
    let half = half.filter(|_| (1..=12).contains(&hour));
    (hour < 24 && minute < 60).then_some(SaidTime::Clock { hour, minute, half })
}

pub(super) fn is_ml(word: &str) -> bool {
    matches!(
        word,
        "ml" | "mls"
            | "mil"
            | "mils"
            | "mililitro"
            | "mililitros"
            | "milliliter"
            | "milliliters"
            | "millilitre"
            | "millilitres"
            | "cc"
    )
}

fn hour(word: &str) -> Option<u8> {
    let hour = number(word)?;
    u8::try_from(hour).ok().filter(|hour| *hour < 24)
}

fn minutes_word(word: &str) -> Option<u8> {
    match word {
        "half" | "media" | "thirty" | "treinta" => Some(30),
        "quarter" | "cuarto" => Some(15),
        _ => u8::try_from(number(word)?).ok(),
    }
}

/// A whole number in digits or words.
pub(super) fn number(word: &str) -> Option<u32> {
    if let Ok(number) = word.parse::<u32>() {
        return Some(number);
    }
    Some(match word {
        "one" | "una" | "uno" | "un" => 1,
        "two" | "dos" => 2,
        "three" | "tres" => 3,
        "four" | "cuatro" => 4,
        "five" | "cinco" => 5,
        "six" | "seis" => 6,
        "seven" | "siete" => 7,
        "eight" | "ocho" => 8,
        "nine" | "nueve" => 9,
        "ten" | "diez" => 10,
        "eleven" | "once" => 11,
        "twelve" | "doce" => 12,
        "thirteen" | "trece" => 13,
        "fourteen" | "catorce" => 14,
        "fifteen" | "quince" => 15,
        "sixteen" | "dieciseis" => 16,
        "seventeen" | "diecisiete" => 17,
        "eighteen" | "dieciocho" => 18,
        "nineteen" | "diecinueve" => 19,
        "veintiuno" | "veintiuna" => 21,
        "veintidos" => 22,
        "veintitres" => 23,
        "veinticuatro" => 24,
        "veinticinco" => 25,
        "veintiseis" => 26,
        "veintisiete" => 27,
        "veintiocho" => 28,
        "veintinueve" => 29,
        "twenty" | "veinte" => 20,
        "thirty" | "treinta" => 30,
        "forty" | "cuarenta" => 40,
        "fifty" | "cincuenta" => 50,
        _ => return None,
    })
}

/// True for a token that is a number in digits.
pub(super) fn is_digits(kind: Kind) -> bool {
    matches!(kind, Kind::Number | Kind::Clock)
}
