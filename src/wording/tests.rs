use super::contract::{Patient, Shape, facts_of, patient_of};
use super::gallery::samples;
use super::*;
use crate::domain::message::{Kind, OpenDays, Recipient, Tap, Value};
use crate::domain::quantity::Volume;
use chrono::DateTime;
use proptest::prelude::*;
use std::collections::BTreeSet;

const ENGLISH: &str = include_str!("../../config/wording/en.ftl");
const SPANISH: &str = include_str!("../../config/wording/es.ftl");

fn wording() -> Wording {
    Wording::load().unwrap_or_else(|error| panic!("{error}"))
}

fn all_samples() -> impl Iterator<Item = Message> {
    Kind::ALL.iter().flat_map(|kind| samples(*kind))
}

fn at(text: &str) -> Value {
    Value::At(DateTime::parse_from_rfc3339(text).unwrap())
}

fn dose_due(volume: &str, planned: &str) -> Message {
    let mut message = Message::new(Recipient::Carer(1), Kind::DoseDue)
        .about("Juniper")
        .fact("volume_ml", Volume::parse(volume).unwrap());
    message.facts.insert("planned".into(), at(planned));
    message
}

/// Why the Spanish file is refused after `from` has been replaced by `to`.
fn refusal(from: &str, to: &str) -> String {
    assert!(SPANISH.contains(from), "{from}");
    let spanish = SPANISH.replacen(from, to, 1);
    match Wording::from_files([("en", ENGLISH), ("es", &spanish)]) {
        Err(error) => error.to_string(),
        Ok(_) => panic!("accepted without {from}"),
    }
}

// Files.

#[test]
fn every_file_of_the_folder_is_a_language() {
    assert_eq!(wording().languages(), ["en", "es"]);
}

#[test]
fn whatever_is_missing_is_named() {
    let ids: Vec<&str> = SPANISH
        .lines()
        .filter(|line| line.starts_with(|c: char| c.is_ascii_lowercase()))
        .filter_map(|line| line.split_once(" ="))
        .map(|(id, _)| id)
        .collect();
    assert!(ids.len() > Kind::ALL.len() + 30);
    for id in ids {
        let error = refusal(&format!("\n{id} ="), &format!("\nno-{id} ="));
        assert!(error.contains(id), "{id}: {error}");
        assert!(
            error.contains(&format!("no-{id} is used by nothing")),
            "{error}"
        );
        assert_eq!(error.lines().count(), 1, "{error}");
    }
}

#[test]
fn everything_that_is_missing_is_said_at_once() {
    let Err(error) = Wording::from_files([("en", "label-yes = Yes\n")]) else {
        panic!("accepted");
    };
    let error = error.to_string();
    for id in ["dose-due", "label-given", "month-12", "quoted", "clock"] {
        assert!(error.contains(id), "{id}: {error}");
    }
    for kind in Kind::ALL {
        assert!(error.contains(&language::message_id(*kind)), "{kind}");
    }
}

#[test]
fn a_sentence_uses_what_its_messages_carry_and_nothing_else() {
    for (from, to, why) in [
        (
            "Carga { $volume_ml }",
            "Carga { $volumen }",
            "dose-due uses unknown $volumen",
        ),
        (
            "            Carga { $from_ml } del vial { $from_vial }.\n",
            "",
            "dose-due never states $from_ml",
        ),
        ("[unasked]", "[unaskt]", "has no $reason [unaskt]"),
        (
            "{ call }",
            "{ llama }",
            "refers to llama, which is not there",
        ),
        (
            "call = Llama",
            "call = { not-sure } { call } Llama",
            "refers back",
        ),
        ("{ $clinic } dice", "{ NUMBER(1) } dice", "uses a function"),
        (
            "Hogar { $household }",
            "Hogar { $own }",
            "uses unknown $own",
        ),
        ("{ recorded-by }", "{ recorded-by } { $own }", "prints $own"),
        ("label-no = No\n", "label-no = No\nlabel-no = No\n", "twice"),
        ("label-no = No\n", "label-no = No\n-x = y\n", "term"),
        (
            "label-no = No\n",
            "label-no = No\n    .x = y\n",
            "attributes",
        ),
    ] {
        let error = refusal(from, to);
        assert!(error.contains(why), "{why}: {error}");
        assert_eq!(error.lines().count(), 1, "{error}");
    }
}

#[test]
fn an_optional_word_has_a_default_that_says_nothing() {
    let error = refusal(
        "        [unanswered] No hay respuesta anotada.\n       *[other] {\"\"}\n",
        "       *[unanswered] No hay respuesta anotada.\n",
    );
    assert!(
        error.contains("says [unanswered] where $status is not known"),
        "{error}"
    );
}

#[test]
fn what_cannot_be_parsed_is_refused_with_its_line() {
    let error = refusal("label-yes = Sí", "label-yes = { $x -> [a] b *[c] d }");
    let line = 1 + SPANISH[..SPANISH.find("label-yes").unwrap()]
        .matches('\n')
        .count();
    assert!(error.contains(&format!("es.ftl: line {line}")), "{error}");
}

#[test]
fn there_is_always_english_to_fall_back_on() {
    let Err(error) = Wording::from_files([("es", SPANISH)]) else {
        panic!("accepted");
    };
    assert_eq!(error.to_string(), "wording: there is no en.ftl");
    let Err(error) = Wording::from_files([("en", ENGLISH), ("no code", SPANISH)]) else {
        panic!("accepted");
    };
    assert!(error.to_string().contains("no language code"), "{error}");
}

#[test]
fn the_decimal_mark_is_the_one_that_a_clinics_steps_have() {
    let wording = Wording::load().unwrap();
    for language in crate::domain::language::Language::ALL {
        let volume = wording.volume(Volume::parse("1.5").unwrap(), language.code());
        assert_eq!(volume, format!("1{}5 mL", language.decimal_mark()));
    }
}

#[test]
fn another_language_is_another_file() {
    let wording = Wording::from_files([("en", ENGLISH), ("pt", SPANISH)]).unwrap();
    let message = dose_due("1.5", "2026-03-08T07:30:00-06:00");
    assert_eq!(wording.languages(), ["en", "pt"]);
    assert!(wording.render(&message, "pt").text.contains("1,5 mL"));
    assert!(wording.render(&message, "pt-BR").text.contains("1,5 mL"));
    assert!(wording.render(&message, "fr").text.contains("1.5 mL"));
}

// Words that others rely on.

#[test]
fn a_dose_is_announced_with_its_time_and_volume() {
    let message = dose_due("1.50", "2026-03-08T07:30:00-06:00")
        .fact("vial", 2)
        .fact("remaining_ml", Volume::parse("4.5").unwrap())
        .button(Label::Given, Tap::Given { course: 1, dose: 7 });
    let wording = wording();
    let english = wording.render(&message, "en");
    assert_eq!(
        english.text,
        "Juniper: dose due, Sun 8 Mar, 7:30 am.\nDraw 1.5 mL.\nVial 2 holds 4.5 mL before this dose."
    );
    assert_eq!(english.buttons[0].label, "Given");
    assert_eq!(english.buttons[0].data, "g:1:7");
    assert_eq!(
        wording.render(&message, "es").text,
        "Juniper: hora de la dosis, dom 8 mar, 7:30.\nCarga 1,5 mL.\nEl vial 2 tiene 4,5 mL antes de esta dosis."
    );
}

#[test]
fn labels_are_the_words_that_scripts_tap() {
    let wording = wording();
    for (label, english, spanish) in [
        (Label::Given, "Given", "Puesta"),
        (Label::NotGiven, "Not given", "No puesta"),
        (Label::Mixed(2), "Mixed", "Mezclado"),
        (Label::Discarded(2), "Discarded", "Desechado"),
        (Label::Yes, "Yes", "Sí"),
        (Label::No, "No", "No"),
        (Label::Name("Juniper\n".into()), "Juniper", "Juniper"),
    ] {
        assert_eq!(wording.label(&label, "en"), english);
        assert_eq!(wording.label(&label, "es"), spanish);
    }
    let time = Label::Time(DateTime::parse_from_rfc3339("2026-03-08T19:05:00-06:00").unwrap());
    assert_eq!(wording.label(&time, "en"), "Sun 8 Mar, 7:05 pm");
    assert_eq!(wording.label(&time, "es"), "dom 8 mar, 19:05");
}

#[test]
fn every_label_has_its_own_text() {
    let wording = wording();
    for language in wording.languages() {
        let texts: BTreeSet<String> = check::LABELS
            .iter()
            .map(|id| wording.language(language).helper(id, &Default::default()))
            .collect();
        assert_eq!(texts.len(), check::LABELS.len(), "{language}");
    }
}

#[test]
fn an_emergency_starts_with_the_call_and_both_numbers() {
    let message = Message::new(Recipient::Carer(1), Kind::Emergency)
        .fact("phone", "555-0100")
        .fact("emergency_phone", "555-0199");
    let wording = wording();
    let first = |language| {
        let text = wording.render(&message, language).text;
        text.lines().next().unwrap().to_owned()
    };
    assert_eq!(first("en"), "Call now: 555-0100 or 555-0199");
    assert_eq!(first("es"), "Llama ya: 555-0100 o 555-0199");
}

#[test]
fn the_cautions_are_said_to_everyone_who_joins() {
    let message = samples(Kind::CourseJoined).remove(0);
    let text = wording().render(&message, "en").text;
    for caution in [
        "This program keeps time and books.",
        "It does not give advice.",
        "It follows the veterinarian's order.",
        "“help”",
        "“mixed”",
    ] {
        assert!(text.contains(caution), "{caution}");
    }
}

// Times and volumes.

#[test]
fn a_time_of_day_cannot_be_read_two_ways() {
    let wording = wording();
    let shown = |time: &str, language| {
        let message = dose_due("1.5", &format!("2026-11-25T{time}:00+00:00"));
        let text = wording.render(&message, language).text;
        text.lines().next().unwrap().to_owned()
    };
    for (time, english, spanish) in [
        ("00:00", "12:00 midnight (start of day)", "0:00"),
        ("00:05", "12:05 am", "0:05"),
        ("09:00", "9:00 am", "9:00"),
        ("12:00", "12:00 noon", "12:00"),
        ("12:30", "12:30 pm", "12:30"),
        ("23:59", "11:59 pm", "23:59"),
    ] {
        let expected = format!("Juniper: dose due, Wed 25 Nov, {english}.");
        assert_eq!(shown(time, "en"), expected);
        let expected = format!("Juniper: hora de la dosis, mié 25 nov, {spanish}.");
        assert_eq!(shown(time, "es"), expected);
    }
}

#[test]
fn an_instant_is_shown_in_the_households_offset() {
    let text = |planned| wording().render(&dose_due("1", planned), "en").text;
    assert!(text("2026-03-08T23:30:00-06:00").contains("Sun 8 Mar, 11:30 pm"));
    assert!(text("2026-03-09T05:30:00+00:00").contains("Mon 9 Mar, 5:30 am"));
}

#[test]
fn planned_times_are_a_list() {
    let wording = wording();
    let shown = |times: &[&str], language| {
        let times = times.iter().map(|time| time.parse().unwrap()).collect();
        let mut message = samples(Kind::AnswerSchedule).remove(0);
        message.facts.insert("times".into(), Value::Times(times));
        let text = wording.render(&message, language).text;
        text.lines().next().unwrap().to_owned()
    };
    let three = ["06:00:00", "14:00:00", "22:00:00"];
    assert_eq!(shown(&three[..1], "en"), "Juniper: 1.5 mL at 6:00 am.");
    assert_eq!(
        shown(&three[1..], "en"),
        "Juniper: 1.5 mL at 2:00 pm and 10:00 pm."
    );
    assert_eq!(
        shown(&three, "es"),
        "Juniper: 1,5 mL a las 6:00, 14:00 y 22:00."
    );
}

#[test]
fn opening_hours_are_said_in_each_languages_own_way() {
    let message = samples(Kind::AnswerClinicContact).remove(0);
    let line = |language| {
        let text = wording().render(&message, language).text;
        text.lines().nth(1).unwrap().to_owned()
    };
    assert_eq!(
        line("en"),
        "Hours: Mon to Fri, 8:00 am to 6:00 pm; Sat, 9:00 am to 12:00 noon"
    );
    assert_eq!(
        line("es"),
        "Horario: lun a vie, 8:00 a 18:00; sáb, 9:00 a 12:00"
    );
}

#[test]
fn a_break_at_noon_is_two_spans_of_a_day() {
    let time = |hour| chrono::NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
    let tuesday = [OpenDays {
        first_day: 2,
        last_day: 2,
        spans: vec![(time(9), time(13)), (time(14), time(18))],
    }];
    let wording = wording();
    assert_eq!(
        format::hours(wording.language("en"), &tuesday),
        "Tue, 9:00 am to 1:00 pm and 2:00 pm to 6:00 pm"
    );
    assert_eq!(
        format::hours(wording.language("es"), &tuesday),
        "mar, 9:00 a 13:00 y 14:00 a 18:00"
    );
    assert_eq!(tuesday[0].to_string(), "2 09:00-13:00,14:00-18:00");
}

#[test]
fn a_duration_is_said_in_hours_and_minutes() {
    let wording = wording();
    for (minutes, said) in [
        (0, "0 min"),
        (59, "59 min"),
        (60, "1 h"),
        (70, "1 h 10 min"),
        (180, "3 h"),
        (1_501, "25 h 1 min"),
    ] {
        assert_eq!(format::duration(wording.language("en"), minutes), said);
        assert_eq!(format::duration(wording.language("es"), minutes), said);
    }
}

proptest! {
    /// Joint Commission, official “do not use” list: no trailing zero, no lack
    /// of a leading zero. ISMP's list of error-prone abbreviations adds “cc”.
    #[test]
    fn a_volume_is_never_ten_times_what_it_says(millionths in 0_i64..=20_000_000) {
        let volume = Volume::from_millionths(millionths);
        let wording = wording();
        for (language, mark, other) in [("en", '.', ','), ("es", ',', '.')] {
            let shown = format::volume(wording.language(language), volume);
            let number = shown.strip_suffix(" mL").expect("unit");
            prop_assert!(!number.contains(other));
            prop_assert!(number.starts_with(|c: char| c.is_ascii_digit()));
            prop_assert!(!(number.contains(mark) && number.ends_with(['0', mark])));
            prop_assert_eq!(Volume::parse(&number.replace(mark, ".")), Ok(volume));
        }
    }
}

#[test]
fn no_message_names_a_volume_in_another_unit() {
    let wording = wording();
    for message in all_samples() {
        for language in wording.languages() {
            let text = wording.render(&message, language).text.to_lowercase();
            let mut words = text.split(|c: char| !c.is_alphanumeric());
            let kind = message.kind;
            assert!(words.all(|w| w != "cc" && w != "ml.0"), "{kind}");
            assert!(!text.contains(" ."), "{kind} in {language}: {text}");
        }
    }
}

// Every message, in each of its forms.

#[test]
fn samples_keep_the_contract_and_cover_it() {
    for kind in Kind::ALL {
        let samples = samples(*kind);
        for message in &samples {
            let breaches = contract::breaches(message);
            assert!(breaches.is_empty(), "{kind}: {breaches:?}");
        }
        for fact in facts_of(*kind) {
            let carried = samples.iter().any(|m| m.facts.contains_key(fact.key));
            assert!(carried, "{kind}: no sample carries {}", fact.key);
            let left_out = samples.iter().any(|m| !m.facts.contains_key(fact.key));
            assert_eq!(left_out, fact.optional, "{kind}: {}", fact.key);
            if let Shape::Code(words) = fact.shape {
                let is_said = |word: &&str| {
                    let value = Value::Text((*word).into());
                    samples
                        .iter()
                        .any(|m| m.facts.get(fact.key) == Some(&value))
                };
                assert!(words.iter().all(is_said), "{kind}: {}", fact.key);
            }
        }
    }
}

#[test]
fn every_word_of_the_contract_has_a_phrase_of_its_own() {
    let wording = wording();
    for kind in Kind::ALL {
        for fact in facts_of(*kind) {
            let Shape::Code(words) = fact.shape else {
                continue;
            };
            let sample = samples(*kind)
                .into_iter()
                .find(|message| message.facts.contains_key(fact.key))
                .unwrap();
            for language in wording.languages() {
                let mut texts = BTreeSet::new();
                for word in words {
                    let message = sample.clone().fact(fact.key, *word);
                    texts.insert(wording.render(&message, language).text);
                }
                let mut unknown = sample.clone();
                unknown.facts.remove(fact.key);
                if fact.optional {
                    texts.insert(wording.render(&unknown, language).text);
                }
                let expected = words.len() + usize::from(fact.optional);
                assert_eq!(texts.len(), expected, "{kind}: {} {language}", fact.key);
            }
        }
    }
}

#[test]
fn no_message_shows_its_machinery() {
    let wording = wording();
    for message in all_samples() {
        for language in wording.languages() {
            let text = wording.render(&message, language).text;
            let place = format!("{} in {language}:\n{text}", message.kind);
            assert!(!text.is_empty() && text == text.trim(), "{place}");
            for machinery in ["{", "}", "$", "undefined", "\n\n", "\u{E000}", "\u{E001}"] {
                assert!(!text.contains(machinery), "{machinery:?} {place}");
            }
            let unknown = text.split_whitespace().any(|word| word == "?");
            assert!(!unknown, "{place}");
            assert!(text.lines().all(|line| line == line.trim_end()), "{place}");
        }
    }
}

#[test]
fn the_first_line_names_the_patient_and_is_never_lost() {
    let wording = wording();
    for message in all_samples() {
        let owner = message.facts.get("owner");
        for language in wording.languages() {
            let text = wording.render(&message, language).text;
            let first = text.lines().next().unwrap();
            if let Some(patient) = &message.patient {
                assert!(first.contains(patient.as_str()), "{}: {text}", message.kind);
            } else if let Some(Value::Text(owner)) = owner {
                assert!(first.contains(owner.as_str()), "{}: {text}", message.kind);
            }
        }
    }
}

#[test]
fn every_fact_that_a_message_carries_can_be_read_in_it() {
    let wording = wording();
    for message in all_samples() {
        let wordless = facts_of(message.kind)
            .iter()
            .filter(|fact| !matches!(fact.shape, Shape::Code(_)));
        for fact in wordless {
            let Some(value) = message.facts.get(fact.key) else {
                continue;
            };
            for code in wording.languages() {
                let language = wording.language(code);
                let shown = match value {
                    Value::At(at) => format::date_time(language, *at),
                    Value::Volume(volume) => format::volume(language, *volume),
                    Value::Count(n) if fact.shape == Shape::Minutes => {
                        format::duration(language, *n)
                    }
                    Value::Count(count) => count.to_string(),
                    Value::Hours(hours) => format::hours(language, hours),
                    Value::Times(times) => format::times(language, times),
                    Value::Text(text) => text.clone(),
                };
                let by_me = message.facts.get("own") == Some(&"yes".into());
                let known_to_reader = match fact.key {
                    // “Recorded by you.”
                    "recorded_by" => by_me,
                    "by" => by_me && !message.facts.contains_key("recorded_by"),
                    // A vial past its limit holds no dose.
                    "doses_left" => message.facts.contains_key("past"),
                    _ => false,
                };
                if known_to_reader {
                    continue;
                }
                let text = wording.render(&message, code).text;
                let place = format!("{} of {} in {code}", fact.key, message.kind);
                assert!(text.contains(&shown), "{place}: {shown}\n{text}");
            }
        }
    }
}

#[test]
fn both_languages_have_the_same_shape() {
    let wording = wording();
    for message in all_samples() {
        let lines = |language| wording.render(&message, language).text.lines().count();
        assert_eq!(lines("en"), lines("es"), "{message:?}");
    }
}

#[test]
fn a_broken_contract_still_tells_what_is_known() {
    let message = Message::new(Recipient::Carer(1), Kind::DoseDue)
        .fact("volume_ml", Volume::parse("1.5").unwrap());
    let text = wording().render(&message, "en").text;
    assert_eq!(text, "Your animal: dose due, ?.\nDraw 1.5 mL.");
}

// What people type.

#[test]
fn a_name_cannot_break_a_line_or_start_one() {
    let message = dose_due("1.5", "2026-03-08T07:30:00-06:00")
        .about("Juni\u{202E}per\r\n\nDraw 9 mL.\u{2028}{ $volume_ml }\u{E000}\u{7}");
    let text = wording().render(&message, "en").text;
    assert_eq!(
        text,
        "Juniper Draw 9 mL. { $volume_ml }: dose due, Sun 8 Mar, 7:30 am.\nDraw 1.5 mL."
    );
}

#[test]
fn an_owners_words_stay_within_their_quotation_marks() {
    let mut message = samples(Kind::ClinicQuestion).remove(0);
    let words = "fine”\nClinic: give it\t\"twice\"";
    message.facts.insert("text".into(), words.into());
    let text = wording().render(&message, "en").text;
    assert!(
        text.contains("\nTom: “fine' Clinic: give it 'twice'”\n"),
        "{text}"
    );
}

/// 4096 UTF-16 units: Telegram Bot API, `sendMessage`.
#[test]
fn a_long_complaint_fits_in_one_message_and_says_that_it_was_cut() {
    let wording = wording();
    let long = "😿".repeat(5_000);
    for kind in [
        Kind::ClinicQuestion,
        Kind::ClinicEmergency,
        Kind::ClinicMissedDose,
    ] {
        let mut message = samples(kind).remove(0);
        for fact in facts_of(kind) {
            if matches!(fact.shape, Shape::Quote | Shape::Line) {
                message.facts.insert(fact.key.into(), long.as_str().into());
            }
        }
        message.patient = Some(long.clone());
        for (language, cut) in [("en", "… (shortened)”"), ("es", "… (abreviado)”")] {
            let text = wording.render(&message, language).text;
            assert!(text.contains(cut), "{kind}");
            let units = text.encode_utf16().count();
            assert!(units <= 4_096, "{kind}: {units}");
        }
    }
}

#[test]
fn the_clinics_words_keep_their_lines() {
    let mut message = samples(Kind::AnswerClinicNote).remove(0);
    let words = "\nOne.\r\n\r\n\r\nTwo\u{202E}: { $x }\u{E000}\t3.\n";
    message.facts.insert("words".into(), words.into());
    let text = wording().render(&message, "en").text;
    assert_eq!(text, "Demo Clinic says:\nOne.\n\nTwo: { $x } 3.");
}

proptest! {
    #[test]
    fn no_name_and_no_words_change_the_shape_of_a_message(typed in "\\PC{0,40}[\n\r\t\u{2028}\u{E000}\u{E001}]?\\PC{0,40}") {
        let wording = wording();
        for kind in [Kind::DoseDue, Kind::RecordedGiven, Kind::ClinicQuestion, Kind::ClinicMissedDose] {
            let plain = samples(kind).remove(0);
            let mut forged = plain.clone().about(&typed);
            for fact in facts_of(kind) {
                if matches!(fact.shape, Shape::Quote | Shape::Line) {
                    forged.facts.insert(fact.key.into(), typed.as_str().into());
                }
            }
            for language in wording.languages() {
                let lines = |message| wording.render(message, language).text.lines().count();
                prop_assert_eq!(lines(&forged), lines(&plain));
            }
        }
    }
}

// The register.

/// The lines of a file without its comments and the keys of its branches.
fn said(file: &str) -> impl Iterator<Item = String> + '_ {
    file.lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| match line.trim().split_once(']') {
            Some((key, words)) if key.starts_with(['[', '*']) => words.to_lowercase(),
            _ => line.to_lowercase(),
        })
}

#[test]
fn nothing_advises_or_judges_or_borrows_another_programs_words() {
    let english = [
        "safe",
        "fine",
        "ok",
        "okay",
        "should",
        "normal",
        "don't worry",
        "worry",
        "recommend",
        "better",
        "good",
        "bad",
        "harm",
        "snooze",
        "skip",
        "skipped",
        "taken",
        "pill",
        "refill",
    ];
    let spanish = [
        "seguro",
        "segura",
        "bien",
        "vale",
        "debes",
        "deberías",
        "normal",
        "preocupes",
        "recomendamos",
        "mejor",
        "peligro",
        "posponer",
        "omitir",
        "omitida",
        "tomada",
        "pastilla",
    ];
    for (file, words) in [(ENGLISH, &english[..]), (SPANISH, &spanish[..])] {
        for line in said(file) {
            for word in words {
                let found = line
                    .match_indices(word)
                    .any(|(start, _)| is_whole(&line, start, word.len()));
                assert!(!found, "{word}: {line}");
            }
        }
    }
}

/// A changed dose was once told as "another dose": an order to give one more.
#[test]
fn nothing_can_be_read_as_one_dose_more() {
    for (file, words) in [
        (ENGLISH, ["another dose", "one more dose", "extra dose"]),
        (SPANISH, ["otra dosis", "una dosis más", "dosis extra"]),
    ] {
        for line in said(file) {
            let found = words.iter().find(|words| line.contains(**words));
            assert_eq!(found, None, "{line}");
        }
    }
}

fn is_whole(line: &str, start: usize, length: usize) -> bool {
    let letter = |c: char| c.is_alphanumeric();
    !line[..start].ends_with(letter) && !line[start + length..].starts_with(letter)
}

#[test]
fn spanish_says_tu_throughout() {
    for line in said(SPANISH) {
        for word in ["usted", "ustedes", "llame", "escriba", "toque", "vosotros"] {
            let formal = line.match_indices(word).any(|(start, _)| {
                // “que llame” speaks of the owner to the clinic.
                is_whole(&line, start, word.len()) && !line[..start].ends_with("que ")
            });
            assert!(!formal, "{word}: {line}");
        }
    }
}

/// Kincaid and others, “Derivation of new readability formulas”, Naval
/// Technical Training Command, 1975: 0.39 words per sentence + 11.8 syllables
/// per word - 15.59; here in hundredths of a grade. Names, numbers and units
/// that the facts bring are left in, as a reader has to read them as well; digits count
/// for nothing. Each line ends a sentence.
fn grade_hundredths(text: &str) -> i64 {
    let sentences = text
        .lines()
        .flat_map(|line| line.split(". ").flat_map(|part| part.split("? ")))
        .filter(|sentence| sentence.chars().any(char::is_alphabetic))
        .count();
    let words: Vec<&str> = text
        .split(|c: char| !(c.is_alphabetic() || c == '\''))
        .filter(|word| word.chars().any(char::is_alphabetic))
        .collect();
    let syllables: usize = words.iter().map(|word| syllables(word)).sum();
    let [sentences, words, syllables] =
        [sentences, words.len(), syllables].map(|n| i64::try_from(n).unwrap());
    39 * words / sentences + 1_180 * syllables / words - 1_559
}

/// Groups of vowels, without a silent e at the end; at least one.
fn syllables(word: &str) -> usize {
    let word = word.to_lowercase();
    let mut groups = 0;
    let mut in_group = false;
    for c in word.chars() {
        let is_vowel = "aeiouy".contains(c);
        groups += usize::from(is_vowel && !in_group);
        in_group = is_vowel;
    }
    let silent = word.ends_with('e') && !word.ends_with("le") && !word.ends_with("ee");
    let past = word.ends_with("ed") && !word.ends_with("ted") && !word.ends_with("ded");
    groups.saturating_sub(usize::from(silent || past)).max(1)
}

#[test]
fn the_measure_tells_plain_words_from_hard_ones() {
    // 6 words, 1 sentence, 6 syllables: 2.34 + 11.80 - 15.59 by the formula.
    assert_eq!(grade_hundredths("The cat sat on the mat."), -145);
    let hard = "Reconstitution of the lyophilized preparation necessitates \
                administration of the manufacturer's designated diluent.";
    assert!(grade_hundredths(hard) > 1_500);
    for (word, expected) in [
        ("mixed", 1),
        ("needed", 2),
        ("vial", 1),
        ("clinic", 2),
        ("dose", 1),
    ] {
        assert_eq!(syllables(word), expected, "{word}");
    }
}

#[test]
fn an_owner_can_read_it_at_seven_in_the_morning() {
    let wording = wording();
    let for_owners = Kind::ALL.iter().filter(|kind| !kind.is_for_clinic());
    let texts: Vec<(Kind, String)> = for_owners
        .map(|kind| {
            let forms = samples(*kind);
            let forms = forms.iter().map(|m| wording.render(m, "en").text);
            (*kind, forms.collect::<Vec<_>>().join("\n"))
        })
        .collect();
    let mut grades: Vec<(i64, Kind)> = texts
        .iter()
        .map(|(kind, text)| (grade_hundredths(text), *kind))
        .collect();
    grades.sort_unstable();
    let all: Vec<&str> = texts.iter().map(|(_, text)| text.as_str()).collect();
    let all = all.join("\n");
    let overall = grade_hundredths(&all);
    let hardest = grades.last().unwrap();
    let longest = all.lines().max_by_key(|line| line.chars().count()).unwrap();
    println!(
        "grade in hundredths: overall {overall}, hardest {hardest:?}; longest line: {longest}"
    );
    assert!(overall <= 400, "{overall}");
    assert!(hardest.0 <= 600, "{grades:?}");
    assert!(longest.chars().count() <= 80, "{longest}");
}

#[test]
fn the_gallery_shows_every_kind_in_each_language() {
    let gallery = gallery(&wording());
    for kind in Kind::ALL {
        for language in ["en", "es"] {
            let heading = format!("── {language} {kind}");
            assert!(gallery.contains(&heading), "{heading}");
        }
        assert!(
            patient_of(*kind) == Patient::Never || samples(*kind)[0].patient.is_some(),
            "{kind}"
        );
    }
    println!("{gallery}");
}

// Words of papers.

#[test]
fn a_phrase_says_its_facts_in_each_language() {
    let wording = wording();
    let facts = [
        ("patient", Value::from("Juniper")),
        ("volume_ml", Value::from(Volume::parse("1.5").unwrap())),
    ];
    let event = |language| wording.phrase(Phrase::CalendarEvent, &facts, language);
    assert_eq!(event("en"), "Juniper: dose, 1.5 mL");
    assert_eq!(event("es"), "Juniper: dosis, 1,5 mL");
}

#[test]
fn a_phrase_that_breaks_its_contract_is_named_and_still_said() {
    let facts = [("patient", Value::from("Juniper")), ("dose", 1.into())];
    let breaches = phrase::breaches(Phrase::CalendarEvent, &facts).join("; ");
    assert!(breaches.contains("no volume_ml"), "{breaches}");
    assert!(breaches.contains("dose is no fact"), "{breaches}");
    let said = wording().phrase(Phrase::CalendarEvent, &facts, "en");
    assert_eq!(said, "Juniper: dose, ?");
}

#[test]
fn no_two_phrases_share_an_id() {
    let ids: BTreeSet<&str> = Phrase::ALL.iter().map(|phrase| phrase.id()).collect();
    assert_eq!(ids.len(), Phrase::ALL.len());
}
