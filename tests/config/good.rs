//! Files as a clinic would write them.

use crate::{Folder, example, example_prescription, example_with, read};
use chrono::TimeDelta;
use vialbell::config::{Config, load_prescription};
use vialbell::domain::policy::Policy;
use vialbell::domain::prescription::Length;
use vialbell::domain::quantity::{OrderedDose, Volume, Weight};

fn utc(text: &str) -> vialbell::domain::Instant {
    text.parse().expect("an instant")
}

#[test]
fn the_examples_are_read_from_disk_as_they_are_built_in() {
    let folder = Folder::with(&[
        (
            "clinic.toml",
            include_str!("../../config/clinic.example.toml"),
        ),
        (
            "formulary.toml",
            include_str!("../../config/formulary.example.toml"),
        ),
    ]);
    let loaded = Config::load(&folder.path("clinic.toml")).expect("the examples");
    assert_eq!(loaded, Config::built_in());
    assert_eq!(loaded.formulary.len(), 3);
    assert_eq!(loaded.policy.syringes.len(), 4);
    // All that is odd about the demonstration is that nobody answers its phones.
    assert_eq!(loaded.notes.len(), 2, "{:?}", loaded.notes);
    assert!(
        loaded
            .notes
            .iter()
            .all(|note| note.contains("kept for fiction"))
    );
}

#[test]
fn the_example_order_is_worked_out() {
    let config = Config::built_in();
    let path = example("prescription.example.toml");
    let order = load_prescription(&path, &config.formulary, &["en", "es"]).expect("the example");
    assert_eq!(order.patient, "Juniper");
    assert_eq!(order.weight_written, "30 kg");
    assert_eq!(order.carers, ["Teo Oakhollow"]);
    assert_eq!(order.length, Length::Days(28));
    assert_eq!(order.first.to_string(), "2026-03-05 19:30:00");
    // 14 mg/kg x 30 kg = 420 mg; 420 mg / 280 mg/mL = 1.5 mL: by hand. A
    // 1.5 mL dose reads on the 3 mL syringe: common practice, no source.
    let worked = order
        .work_out(&config.policy, utc("2026-03-01T00:00:00Z"))
        .expect("an order within the rules");
    assert_eq!(worked.volume.to_string(), "1.5 mL");
    assert_eq!(worked.syringe.size.to_string(), "3 mL");
    assert_eq!(worked.doses, 56);
}

#[test]
fn doses_over_3_ml_take_the_5_ml_syringe() {
    // Common practice, no source.
    let policy = Config::built_in().policy;
    let size = |ml| {
        policy
            .syringe_for(Volume::parse(ml).unwrap())
            .map(|s| s.size.to_string())
    };
    assert_eq!(size("3").as_deref(), Some("3 mL"));
    assert_eq!(size("3.1").as_deref(), Some("5 mL"));
    assert_eq!(size("10.1"), None);
}

const TWO_LINES: &str = "[clinic]\nname = \"Here\"\nphone = \"+1 555 0100\"\n";

#[test]
fn two_lines_are_enough_and_the_rules_are_the_example_s() {
    let folder = Folder::with(&[("clinic.toml", TWO_LINES)]);
    let loaded = Config::load(&folder.path("clinic.toml")).expect("a short file");
    let example = Config::built_in();
    assert_eq!(loaded.settings, example.settings);
    let mut own = example.policy.clinic.clone();
    (own.name, own.phone) = ("Here".into(), "+1 555 0100".into());
    // What only the clinic can know is not taken from another one.
    (own.emergency_phone, own.hours) = (None, Vec::new());
    let expected = Policy {
        clinic: own,
        protocol: Vec::new(),
        notes: Vec::new(),
        ..example.policy
    };
    assert_eq!(loaded.policy, expected);
    assert_eq!(loaded.formulary, example.formulary);
    for word in ["emergency_phone", "hours", "zone", "protocol", "formulary"] {
        let about = loaded.notes.iter().filter(|note| note.contains(word));
        assert!(about.count() >= 1, "{word} in {:?}", loaded.notes);
    }
}

const PRODUCT: &str = r#"
[product.own]
name = "Own"
vial_mg = 50
diluent = "water"
diluent_ml = 5
available_ml = 5.0
concentration_mg_per_ml = "10"
refrigerated_hours = 24
source = "a test"
"#;

#[test]
fn products_are_found_in_each_place_that_is_named() {
    let keys = |files: &[(&str, &str)]| {
        let folder = Folder::with(files);
        let config = Config::load(&folder.path("clinic.toml")).expect("good files");
        config.formulary.into_keys().collect::<Vec<_>>()
    };
    let within = format!("{TWO_LINES}{PRODUCT}");
    let other = PRODUCT.replace("product.own", "product.other");
    let named = format!("formulary = \"shelf.toml\"\n{TWO_LINES}");
    let both = format!("formulary = \"shelf.toml\"\n{within}");
    assert_eq!(
        keys(&[("clinic.toml", &within), ("formulary.toml", &other)]),
        ["own"]
    );
    assert_eq!(
        keys(&[("clinic.toml", &named), ("shelf.toml", &other)]),
        ["other"]
    );
    assert_eq!(
        keys(&[("clinic.toml", &both), ("shelf.toml", &other)]),
        ["other", "own"]
    );
    assert_eq!(
        keys(&[("clinic.toml", TWO_LINES), ("formulary.toml", &other)]),
        ["other"]
    );
}

#[test]
fn a_file_of_products_is_a_formulary_for_the_demonstration_s_clinic() {
    let folder = Folder::with(&[("mine.toml", PRODUCT)]);
    let config = Config::load(&folder.path("mine.toml")).expect("a formulary");
    assert_eq!(config.policy, Config::built_in().policy);
    assert_eq!(config.formulary.keys().collect::<Vec<_>>(), ["own"]);
    assert_eq!(config.formulary["own"].available.to_string(), "5 mL");
    assert_eq!(config.formulary["own"].room_hours, None);
}

#[test]
fn figures_that_disagree_by_more_than_five_percent_are_noted_not_refused() {
    // 10 mg/mL x 5 mL = 50 mg; 5 % of 48 mg is 2.4 mg, of 47 mg 2.35 mg.
    let noted = |vial: &str| {
        let text = PRODUCT.replace("vial_mg = 50", &format!("vial_mg = {vial}"));
        let folder = Folder::with(&[("mine.toml", &text)]);
        let config = Config::load(&folder.path("mine.toml")).expect("a formulary");
        config
            .notes
            .iter()
            .any(|note| note.contains("not within 5 %"))
    };
    assert!(!noted("50"));
    assert!(!noted("48"));
    assert!(noted("47"));
    assert!(noted("53"));
}

#[test]
fn hours_may_be_split_and_may_last_until_midnight() {
    let text = format!(
        "{TWO_LINES}zone = \"UTC\"\n[hours]\nsunday = [\"08:00-12:00\", \"14:00-24:00\"]\n"
    );
    let folder = Folder::with(&[("clinic.toml", &text)]);
    let clinic = Config::load(&folder.path("clinic.toml"))
        .expect("good")
        .policy
        .clinic;
    // 2026-03-01 is a Sunday.
    let open = |time: &str| clinic.is_open(utc(&format!("2026-03-01T{time}Z")));
    assert!(!open("07:59:59.999"));
    assert!(open("08:00:00"));
    assert!(!open("12:00:00"));
    assert!(open("23:59:59"));
    assert!(!clinic.is_open(utc("2026-03-02T10:00:00Z")));
}

#[test]
fn rules_are_taken_over() {
    let text = format!(
        "{TWO_LINES}[dose]\nbefore = \"30min\"\nwindow = \"1h 30min\"\nask_again = [\"15min\"]\nlargest_mg_per_kg = 20\nflag_rounding_percent = 2.5\n[weight.Cat]\nleast_kg = 1\nmost_kg = 10\n[[syringe]]\nsize_ml = 6\ngraduation_ml = 0.2\n[[syringe]]\nsize_ml = 1\ngraduation_ml = 0.05\n[telegram]\napi_url = \"http://127.0.0.1:8081/\"\nbot_name = \"@larch_bot\"\nclinic_chat = -1001234567890\nwebhook = {{ listen = \"127.0.0.1:8443\", url = \"https://bots.larch.example/in/\" }}\n[page]\nport = 0\n[store]\nurl = \"sqlite::memory:\"\n"
    );
    let folder = Folder::with(&[("clinic.toml", &text)]);
    let config = Config::load(&folder.path("clinic.toml")).expect("good");
    let dose = &config.policy.dose;
    assert_eq!(dose.before, TimeDelta::minutes(30));
    assert_eq!(dose.window, TimeDelta::minutes(90));
    assert_eq!(
        dose.largest_rate.map(|rate| rate.to_string()).as_deref(),
        Some("20 mg/kg")
    );
    assert_eq!(dose.rounding_basis_points, 250);
    assert_eq!(config.policy.weights["cat"].most.to_string(), "10 kg");
    assert_eq!(config.policy.weights["dog"].most.to_string(), "110 kg");
    let sizes: Vec<String> = config
        .policy
        .syringes
        .iter()
        .map(|s| s.size.to_string())
        .collect();
    assert_eq!(sizes, ["1 mL", "6 mL"]);
    let settings = config.settings;
    assert_eq!(
        settings.telegram_api_url.as_deref(),
        Some("http://127.0.0.1:8081")
    );
    assert_eq!(settings.bot_name.as_deref(), Some("larch_bot"));
    assert_eq!(settings.clinic_chat, Some(-1_001_234_567_890));
    let webhook = settings.telegram_webhook.unwrap();
    assert_eq!(webhook.listen, "127.0.0.1:8443".parse().unwrap());
    assert_eq!(webhook.url, "https://bots.larch.example/in");
    assert_eq!(
        (settings.page_port, settings.store_url.as_str()),
        (0, "sqlite::memory:")
    );
}

#[test]
fn numbers_are_read_by_their_own_digits() {
    // 0.1 and 66.6 have no exact binary form; a float on the way would show.
    let order = read(&example_with("weight_kg = \"30\"", "weight_lb = 66.6")).expect("pounds");
    assert_eq!(order.weight_written, "66.6 lb");
    assert_eq!(order.weight, Weight::parse_lb("66.6").unwrap());
    let order = read(&example_with("weight_kg = \"30\"", "weight_kg = 0.1")).expect("a float");
    assert_eq!(order.weight, Weight::parse_kg("0.1").unwrap());
    let order = read(&example_with("weight_kg = \"30\"", "weight_kg = 1_0")).expect("an integer");
    assert_eq!(order.weight_written, "10 kg");
}

#[test]
fn an_order_may_be_written_in_each_of_its_forms() {
    let mass = read(&example_with("\"14 mg/kg\"", "\"420 mg\"")).expect("a mass");
    assert_eq!(mass.dose, OrderedDose::parse("420 mg").unwrap());
    let volume = read(&example_with("\"14 mg/kg\"", "\"1.5 mL\"")).expect("a volume");
    assert_eq!(volume.dose, OrderedDose::parse("1.5 mL").unwrap());
    let local =
        read(&example_with("[\"07:30\", \"19:30\"]", "[19:30:00, 07:30]")).expect("local times");
    assert_eq!(local.times, read(&example_prescription()).unwrap().times);
    for first in [
        "\"2026-03-05T19:30\"",
        "2026-03-05 19:30:00",
        "\"2026-03-05 19:30:00\"",
    ] {
        let order = read(&example_with("2026-03-05T19:30", first)).expect(first);
        assert_eq!(order.first, read(&example_prescription()).unwrap().first);
    }
    let doses = read(&example_with("days = 28", "doses = 7")).expect("doses");
    assert_eq!(doses.length, Length::Doses(7));
}

#[test]
fn a_decimal_comma_is_read_where_the_owner_s_language_has_one() {
    let spanish = example_with("language = \"en\"", "language = \"es\"");
    let order = read(&spanish.replace("\"14 mg/kg\"", "\"1,5 mL\"")).expect("a decimal comma");
    assert_eq!(order.dose, OrderedDose::parse("1.5 mL").unwrap());
    let order = read(&spanish.replace("\"30\"", "\"30,25\"")).expect("a decimal comma");
    assert_eq!(order.weight_written, "30.25 kg");
}
