//! The judged state, and what the program says in it.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use vialbell::config::Config;
use vialbell::domain::Instant;
use vialbell::domain::arrival::Body;
use vialbell::domain::change::apply;
use vialbell::domain::decide::{Decision, Entered, Input, decide, enrol, next_look};
use vialbell::domain::household::{Chat, Household};
use vialbell::domain::message::{No, Recipient, Tap};
use vialbell::domain::policy::Policy;
use vialbell::domain::prescription::{Length, Order};
use vialbell::domain::quantity::{OrderedDose, Weight};
use vialbell::domain::zone::Zone;

use crate::line::Line;

const OWNER: No = 1;
/// The message comes ten minutes after the evening's dose was due.
const NOW: &str = "2026-03-10T19:40:00-06:00";

/// The demonstration's clinic.
static CONFIG: LazyLock<Config> = LazyLock::new(Config::built_in);

/// By language: built once, copied for every message.
static HOMES: LazyLock<BTreeMap<&str, Household>> =
    LazyLock::new(|| ["en", "es"].map(|code| (code, home(code))).into());

fn at(text: &str) -> Instant {
    text.parse().expect("an instant as RFC 3339 has it")
}

fn policy() -> &'static Policy {
    &CONFIG.policy
}

fn order(language: &str) -> Order {
    Order {
        patient: "Juniper".into(),
        species: "dog".into(),
        weight: Weight::parse_kg("30").expect("a weight"),
        weight_written: "30 kg".into(),
        owner: "Maren Oakhollow".into(),
        language: language.into(),
        zone: Zone::named("America/Denver").expect("a zone"),
        carers: Vec::new(),
        owner_phone: None,
        product: CONFIG.formulary["tarnmoss"].clone(),
        dose: OrderedDose::parse("1.5 mL").expect("a dose"),
        times: ["07:30:00", "19:30:00"]
            .map(|time| time.parse().expect("a time"))
            .into(),
        first: "2026-03-10T07:30:00".parse().expect("a local time"),
        length: Length::Doses(28),
        vials_dispensed: None,
        veterinarian: "Dr. Fennimore".into(),
    }
}

/// The course began this morning, one vial was mixed at 07:00, nothing else was said; it is 19:40.
fn home(language: &str) -> Household {
    let order = order(language);
    let enrolled = at("2026-03-10T06:00:00-06:00");
    let mut household = Household::new(
        1,
        &policy().clinic.key,
        &order.owner,
        &order.language,
        order.zone,
    );
    let worked = order
        .work_out(policy(), enrolled)
        .expect("an order the rules allow");
    let entered = Entered {
        by: "Ines",
        confirmed_by: Some("Noor"),
    };
    for change in enrol(&household, &order, &worked, policy(), entered, enrolled) {
        apply(&mut household, &change);
    }
    let chat = Chat {
        channel: "test".into(),
        address: "home".into(),
    };
    let joined = Input::Joined { carer: OWNER, chat };
    household = decide(&household, &joined, enrolled, policy()).household;
    let mixed = Body::Tap(Tap::Mixed { course: 1, vial: 1 }.encode());
    let mixing = at("2026-03-10T07:00:00-06:00");
    household = decide(&household, &said(mixed), mixing, policy()).household;
    while let Some(look) = next_look(&household, policy()).filter(|look| *look <= at(NOW)) {
        household = decide(&household, &Input::Wake, look, policy()).household;
    }
    household
}

fn said(body: Body) -> Input {
    Input::Carer { carer: OWNER, body }
}

/// What the program decides when the message comes, alone, in the judged state.
pub fn hear(line: &Line) -> Decision {
    let mut household = HOMES[line.lang.as_str()].clone();
    for patient in household.patients.values_mut() {
        patient.name = line.patient().to_owned();
    }
    let message = said(Body::Text(line.text.clone()));
    decide(&household, &message, at(NOW), policy())
}

/// The kinds of the messages that go to the carer who wrote.
pub fn kinds(decision: &Decision) -> Vec<&'static str> {
    decision
        .messages
        .iter()
        .filter(|message| message.to == Recipient::Carer(OWNER))
        .map(|message| message.kind.name())
        .collect()
}
