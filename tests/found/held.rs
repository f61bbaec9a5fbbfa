//! What must hold of any text whatever, as a fuzzer throws it at the program.
//!
//! The fuzz targets (`tests/fuzz`) and the replay of what they found
//! (`tests/found`) call the same functions: a text that breaks one panics.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::LazyLock;

use vialbell::channel::telegram;
use vialbell::config::{Config, parse_prescription};
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::change::{Change, apply};
use vialbell::domain::decide::{Decision, Entered, Input, decide, enrol, next_look};
use vialbell::domain::household::{Chat, Household};
use vialbell::domain::message::{Kind, No, Recipient, Tap};
use vialbell::domain::prescription::{Length, Order};
use vialbell::domain::quantity::{OrderedDose, Weight};
use vialbell::domain::reading::tells_of_danger;
use vialbell::domain::zone::Zone;
use vialbell::rehearse::{What, parse};

/// A target's name, and what must hold of any text.
pub type Target = (&'static str, fn(&str));

/// Every target by its name, which is also the name of its found inputs.
pub const TARGETS: [Target; 7] = [
    ("reading", reading),
    ("prescription", prescription),
    ("formulary", formulary),
    ("clinic", clinic),
    ("script", script),
    ("tap", tap),
    ("update", update),
];

const OWNER: No = 1;
/// Ten minutes after the evening's doses were due; the morning's are open too.
pub const NOW: &str = "2026-03-10T19:40:00-06:00";

static CONFIG: LazyLock<Config> = LazyLock::new(Config::built_in);

/// One patient in either language, and a home of two patients and two carers.
static HOMES: LazyLock<Vec<Household>> = LazyLock::new(|| {
    vec![
        home("en", &["Juniper"]),
        home("es", &["Juniper"]),
        home("en", &["Juniper", "Moss"]),
    ]
});

fn at(text: &str) -> Instant {
    text.parse().expect("an instant as RFC 3339 has it")
}

fn order(patient: &str, language: &str) -> Order {
    Order {
        patient: patient.into(),
        species: "dog".into(),
        weight: Weight::parse_kg("30").expect("a weight"),
        weight_written: "30 kg".into(),
        owner: "Maren Oakhollow".into(),
        language: language.into(),
        zone: Zone::named("America/Denver").expect("a zone"),
        carers: vec!["Teo".into()],
        product: CONFIG.formulary["tarnmoss"].clone(),
        dose: OrderedDose::parse("1.5 mL").expect("a dose"),
        times: ["07:30:00", "19:30:00"]
            .map(|time| time.parse().expect("a time"))
            .into(),
        first: "2026-03-10T07:30:00".parse().expect("a local time"),
        length: Length::Doses(28),
        vials_dispensed: None,
        veterinarian: "Dr. Fennimore".into(),
        owner_phone: None,
    }
}

fn home(language: &str, patients: &[&str]) -> Household {
    let policy = &CONFIG.policy;
    let enrolled = at("2026-03-10T06:00:00-06:00");
    let first = order(patients[0], language);
    let mut household = Household::new(
        1,
        &policy.clinic.key,
        &first.owner,
        &first.language,
        first.zone,
    );
    for patient in patients {
        let order = order(patient, language);
        let worked = order
            .work_out(policy, enrolled)
            .expect("an order the rules allow");
        let entered = Entered {
            by: "Ines",
            confirmed_by: Some("Noor"),
        };
        for change in enrol(&household, &order, &worked, policy, entered, enrolled) {
            apply(&mut household, &change);
        }
    }
    for carer in [OWNER, 2] {
        let chat = Chat {
            channel: "test".into(),
            address: format!("phone {carer}"),
        };
        let joined = Input::Joined { carer, chat };
        household = decide(&household, &joined, enrolled, policy).household;
    }
    let mixed = Body::Tap(Tap::Mixed { course: 1, vial: 1 }.encode());
    let mixing = at("2026-03-10T07:00:00-06:00");
    household = hear(&household, mixed, mixing).household;
    while let Some(look) = next_look(&household, policy).filter(|look| *look <= at(NOW)) {
        household = decide(&household, &Input::Wake, look, policy).household;
    }
    household
}

fn hear(household: &Household, body: Body, now: Instant) -> Decision {
    decide(
        household,
        &Input::Carer { carer: OWNER, body },
        now,
        &CONFIG.policy,
    )
}

/// A home by its number: English, Spanish, two patients.
pub fn home_number(home: usize) -> &'static Household {
    &HOMES[home]
}

/// Signs as owners write them; a sentence that is one of them is no question.
const SIGNS: [&str; 10] = [
    "she collapsed",
    "he's not breathing",
    "having a seizure",
    "her face is swelling up",
    "covered in hives",
    "no respira",
    "se desmayó",
    "tiene convulsiones",
    "se le hinchó la cara",
    "está lleno de ronchas",
];

/// A message, through all that decides: it never fails, records one thing at
/// most, and nothing is recorded or answered while a red flag stands in it.
pub fn reading(text: &str) {
    let danger = tells_of_danger(text) || text.split('\n').any(|line| SIGNS.contains(&line.trim()));
    for household in HOMES.iter() {
        let decision = hear(household, Body::Text(text.to_owned()), at(NOW));
        let recorded = records(&decision.changes);
        assert!(recorded <= 1, "{recorded} records: {:?}", decision.changes);
        if danger {
            assert_eq!(recorded, 0, "recorded beside a sign of danger");
            for message in to_carers(&decision) {
                assert!(
                    matches!(message, Kind::Emergency | Kind::CallClinic),
                    "{message:?} beside a sign of danger"
                );
            }
        }
        let again = hear(&decision.household, Body::Edited(text.to_owned()), at(NOW));
        assert!(
            records(&again.changes) == 0,
            "an edited text records nothing"
        );
    }
}

/// How many things of the books a decision records.
fn records(changes: &[Change]) -> usize {
    let count = |is: fn(&Change) -> bool| changes.iter().filter(|change| is(change)).count();
    // A correction supersedes one record and makes another: one thing.
    let doses =
        count(|change| matches!(change, Change::Administered { .. })).max(count(|change| {
            matches!(change, Change::AdministrationSuperseded { .. })
        }));
    let others = count(|change| {
        matches!(
            change,
            Change::VialMixed { .. }
                | Change::VialDiscarded { .. }
                | Change::LevelSeen { .. }
                | Change::VialOut { .. }
                | Change::SuppliesCounted { .. }
                | Change::ZoneChanged { .. }
        )
    });
    doses + others
}

fn to_carers(decision: &Decision) -> impl Iterator<Item = Kind> + '_ {
    decision
        .messages
        .iter()
        .filter(|message| matches!(message.to, Recipient::Carer(_)))
        .map(|message| message.kind)
}

/// A prescription file: it is read or refused with reasons, and the arithmetic
/// of what was read never fails.
pub fn prescription(text: &str) {
    match parse_prescription(text, &CONFIG.formulary, &["en", "es"]) {
        Ok(order) => {
            let worked = order.work_out(&CONFIG.policy, at("2026-03-01T12:00:00Z"));
            if let Ok(worked) = worked {
                let mut household = Household::new(
                    1,
                    &CONFIG.policy.clinic.key,
                    &order.owner,
                    &order.language,
                    order.zone,
                );
                let entered = Entered {
                    by: "Ines",
                    confirmed_by: None,
                };
                let now = at("2026-03-01T12:00:00Z");
                for change in enrol(&household, &order, &worked, &CONFIG.policy, entered, now) {
                    apply(&mut household, &change);
                }
                assert_eq!(household.courses.len(), 1);
            }
        }
        Err(mistakes) => assert!(!mistakes.to_string().is_empty(), "refused without a reason"),
    }
}

/// A file of products and nothing else.
pub fn formulary(text: &str) {
    let loaded = load("formulary", text);
    if let Some(config) = loaded {
        for (key, product) in &config.formulary {
            assert!(!key.is_empty());
            assert!(!product.name.is_empty(), "a product without a name");
        }
    }
}

/// The clinic's file.
pub fn clinic(text: &str) {
    if let Some(config) = load("clinic", text) {
        assert!(
            !config.policy.clinic.phone.is_empty(),
            "a clinic without a phone"
        );
    }
}

/// Reads a file as `vialbell check` does; what is refused is refused with reasons.
fn load(kind: &str, text: &str) -> Option<Config> {
    // One file a process and thread: fuzzers and tests run side by side.
    let thread = format!("{:?}", std::thread::current().id());
    let name = format!("vialbell-{kind}-{}-{thread}.toml", std::process::id());
    let path: PathBuf = std::env::temp_dir().join(name.replace(['(', ')'], ""));
    std::fs::write(&path, text).expect("a temporary file");
    let loaded = Config::load(&path);
    let _ = std::fs::remove_file(&path);
    match loaded {
        Ok(config) => Some(config),
        Err(mistakes) => {
            assert!(!mistakes.to_string().is_empty(), "refused without a reason");
            None
        }
    }
}

/// A rehearsal's script: lines in order, and one error at the most.
pub fn script(text: &str) {
    let (lines, error) = parse(text);
    let mut last = 0;
    for line in &lines {
        assert!(line.number > last, "line numbers rise");
        last = line.number;
        if let What::Tap(label) | What::Text(label) = &line.what {
            assert!(!label.contains('\n'), "one line holds one line");
        }
    }
    assert!(
        lines.windows(2).all(|two| two[0].at <= two[1].at),
        "instants never go back"
    );
    if let Some(error) = error {
        assert!(error.number > last, "what stands before an error was read");
    }
}

/// What a button carries: read, written and read again it is the same button,
/// and a tap on it in any home never fails.
pub fn tap(text: &str) {
    if let Some(tap) = Tap::decode(text) {
        let written = tap.encode();
        assert!(
            written.len() <= 64,
            "more than the platform carries: {written}"
        );
        assert_eq!(Tap::decode(&written), Some(tap));
    }
    for household in HOMES.iter() {
        let decision = hear(household, Body::Tap(text.to_owned()), at(NOW));
        assert!(records(&decision.changes) <= 1, "{:?}", decision.changes);
    }
}

/// An update as the Bot API sends it, or anything else that is JSON.
pub fn update(text: &str) {
    let Ok(json) = serde_json::from_str(text) else {
        return;
    };
    if let Some(arrival) = telegram::arrival(&json, Some("vialbell_example_bot")) {
        assert!(!arrival.external_id.is_empty());
        assert!(!arrival.address.is_empty());
        let mut said = BTreeMap::new();
        for household in HOMES.iter() {
            let decision = hear(household, arrival.body.clone(), at(NOW));
            said.insert(household.language.clone(), decision.messages.len());
        }
        assert!(!said.is_empty());
    }
}
