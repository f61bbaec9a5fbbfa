//! The bundle: against the journal, and judged by two libraries that know FHIR.

use super::lived::{AFTER, Lived, lived, on_runtime};
use super::python;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};
use vialbell::domain::Instant;
use vialbell::domain::change::{Change, apply};
use vialbell::paper::record::bundle;

fn of_kind<'a>(bundle: &'a Value, kind: &str) -> Vec<&'a Value> {
    let entries = bundle["entry"].as_array().unwrap();
    entries
        .iter()
        .map(|entry| &entry["resource"])
        .filter(|resource| resource["resourceType"] == kind)
        .collect()
}

fn text<'a>(value: &'a Value, path: &str) -> &'a str {
    let found = value.pointer(path).and_then(Value::as_str);
    found.unwrap_or_else(|| panic!("no {path} in {value}"))
}

fn instant(text: &str) -> Instant {
    text.parse::<chrono::DateTime<chrono::FixedOffset>>()
        .unwrap()
        .to_utc()
}

/// Every reference anywhere in a value.
fn references<'a>(value: &'a Value, found: &mut Vec<&'a str>) {
    match value {
        Value::Object(fields) => {
            found.extend(fields.get("reference").and_then(Value::as_str));
            fields.values().for_each(|value| references(value, found));
        }
        Value::Array(values) => values.iter().for_each(|value| references(value, found)),
        _ => {}
    }
}

#[test]
fn each_reference_leads_to_a_part_of_the_same_bundle() {
    on_runtime(async {
        let made = lived(AFTER).await.recorded(bundle);
        let mut urls = BTreeSet::new();
        for entry in made["entry"].as_array().unwrap() {
            let url = text(entry, "/fullUrl");
            assert_eq!(url, format!("urn:uuid:{}", text(entry, "/resource/id")));
            assert!(urls.insert(url), "{url} twice");
        }
        let mut found = Vec::new();
        references(&made, &mut found);
        assert!(found.len() > 30);
        for reference in found {
            assert!(urls.contains(reference), "{reference} leads nowhere");
        }
    });
}

#[test]
fn the_order_and_what_went_home_are_those_of_the_journal() {
    on_runtime(async {
        let made = lived(AFTER).await.recorded(bundle);
        assert_eq!(made["type"], "collection");
        let [patient] = of_kind(&made, "Patient")[..] else {
            panic!()
        };
        assert_eq!(
            patient["extension"],
            json!([{
                "url": "http://hl7.org/fhir/StructureDefinition/patient-animal",
                "extension": [{ "url": "species", "valueCodeableConcept": { "text": "dog" } }],
            }])
        );
        assert_eq!(text(patient, "/name/0/text"), "Juniper");
        assert_eq!(text(patient, "/contact/0/name/text"), "Quilla Marchbanks");
        let [request] = of_kind(&made, "MedicationRequest")[..] else {
            panic!()
        };
        assert_eq!(request["status"], "completed");
        let repeat = &request["dosageInstruction"][0]["timing"]["repeat"];
        assert_eq!(
            *repeat,
            json!({
                "boundsPeriod": { "start": "2026-03-05T19:30:00-07:00", "end": "2026-03-09T07:30:00-06:00" },
                "count": 8, "frequency": 2, "period": 1, "periodUnit": "d",
                "timeOfDay": ["07:30:00", "19:30:00"],
            })
        );
        assert_eq!(
            request["dosageInstruction"][0]["doseAndRate"][0]["doseQuantity"],
            json!({ "value": 1.5, "unit": "mL", "system": "http://unitsofmeasure.org", "code": "mL" })
        );
        let went: Vec<(&Value, &Value)> = of_kind(&made, "MedicationDispense")
            .iter()
            .map(|dispense| {
                (
                    &dispense["quantity"]["value"],
                    &dispense["quantity"]["unit"],
                )
            })
            .collect();
        assert_eq!(
            went,
            [
                (&json!(4), &json!("vial")),
                (&json!(4), &json!("container"))
            ]
        );
        let [veterinarian] = of_kind(&made, "Practitioner")[..] else {
            panic!()
        };
        assert_eq!(text(veterinarian, "/name/0/text"), "Dr. Fennimore");
        assert_eq!(of_kind(&made, "RelatedPerson").len(), 2);
    });
}

fn compare_with_journal(made: &Value, lived: &Lived) {
    let superseded: BTreeSet<u32> = lived
        .journal
        .iter()
        .filter_map(|caused| match caused.change {
            Change::AdministrationSuperseded { administration, .. } => Some(administration),
            _ => None,
        })
        .collect();
    let mut told: Vec<(String, Instant, Option<String>)> = Vec::new();
    for caused in &lived.journal {
        if let Change::Administered {
            administration,
            planned_at,
            given,
            at,
            volume,
            ..
        } = &caused.change
        {
            let status = match (superseded.contains(administration), given) {
                (true, _) => "entered-in-error",
                (false, true) => "completed",
                (false, false) => "not-done",
            };
            let effective = if *given { *at } else { *planned_at };
            told.push((status.into(), effective, given.then(|| volume.number())));
        }
    }
    let mut shown: Vec<(String, Instant, Option<String>)> =
        of_kind(made, "MedicationAdministration")
            .iter()
            .filter(|resource| resource["status"] != "unknown")
            .map(|resource| {
                let dose = resource.pointer("/dosage/dose");
                if let Some(dose) = dose {
                    assert_eq!(
                        (text(dose, "/code"), text(dose, "/system")),
                        ("mL", "http://unitsofmeasure.org")
                    );
                }
                (
                    text(resource, "/status").into(),
                    instant(text(resource, "/effectiveDateTime")),
                    dose.map(|dose| dose["value"].to_string()),
                )
            })
            .collect();
    told.sort();
    shown.sort();
    assert_eq!(shown, told);
}

#[test]
fn times_and_volumes_are_those_of_the_journal() {
    on_runtime(async {
        let lived = lived(AFTER).await;
        let made = lived.recorded(bundle);
        compare_with_journal(&made, &lived);
        let unknown: Vec<&str> = of_kind(&made, "MedicationAdministration")
            .iter()
            .filter(|resource| resource["status"] == "unknown")
            .map(|resource| text(resource, "/effectiveDateTime"))
            .collect();
        assert_eq!(
            unknown,
            ["2026-03-07T19:30:00-07:00", "2026-03-08T07:30:00-06:00"]
        );
    });
}

/// A practice's system that took one export knows the same parts in the next.
#[test]
fn numbers_stay_from_one_export_to_the_next() {
    on_runtime(async {
        let kinds = |made: &Value| -> BTreeMap<String, (String, Value)> {
            made["entry"]
                .as_array()
                .unwrap()
                .iter()
                .map(|entry| {
                    let resource = &entry["resource"];
                    let what = match text(resource, "/resourceType") {
                        "MedicationAdministration" => resource["effectiveDateTime"].clone(),
                        _ => Value::Null,
                    };
                    (
                        text(resource, "/id").to_owned(),
                        (text(resource, "/resourceType").to_owned(), what),
                    )
                })
                .collect()
        };
        let early = lived("2026-03-07T14:34:00Z").await.recorded(bundle);
        let late = lived(AFTER).await.recorded(bundle);
        let (early, late) = (kinds(&early), kinds(&late));
        assert!(early.len() > 10 && early.len() < late.len());
        for (id, what) in &early {
            assert_eq!(late.get(id), Some(what));
        }
    });
}

#[test]
fn an_order_has_the_status_that_it_has() {
    on_runtime(async {
        let mut lived = lived("2026-03-06T02:34:00Z").await;
        let status = |lived: &Lived| {
            let made = lived.recorded(bundle);
            let [request] = of_kind(&made, "MedicationRequest")[..] else {
                panic!()
            };
            (
                text(request, "/status").to_owned(),
                of_kind(&made, "MedicationDispense").len(),
            )
        };
        assert_eq!(status(&lived), ("active".into(), 2));
        let confirmed = lived.household.course_mut(1).unwrap().confirmed.take();
        assert_eq!(status(&lived), ("draft".into(), 0));
        lived.household.course_mut(1).unwrap().confirmed = confirmed;
        let at = lived.now;
        apply(&mut lived.household, &Change::CourseEnded { course: 1, at });
        assert_eq!(status(&lived), ("stopped".into(), 2));
    });
}

/// Bundles of a course at many of its times, and of one with odd names.
async fn bundles() -> Vec<Value> {
    let mut made = Vec::new();
    for until in [
        "2026-03-05T20:30:00Z",
        "2026-03-06T14:35:00Z",
        "2026-03-08T02:31:00Z",
        AFTER,
    ] {
        made.push(lived(until).await.recorded(bundle));
    }
    let mut odd = lived(AFTER).await;
    for name in [
        "",
        " ",
        "\u{0}",
        "日本犬 <b>&\"'",
        "tab\there\r\n",
        "\u{202E}olleh",
    ] {
        odd.household.owner = name.into();
        odd.household.patients.get_mut(&1).unwrap().name = name.into();
        odd.household.patients.get_mut(&1).unwrap().species = name.into();
        odd.household.course_mut(1).unwrap().veterinarian = name.into();
        made.push(odd.recorded(bundle));
    }
    odd.household.course_mut(1).unwrap().confirmed = None;
    made.push(odd.recorded(bundle));
    made
}

/// A bundle with one thing wrong: which resource, where, and what stands there instead.
const WRONG: [(&str, &str, &str); 12] = [
    ("MedicationAdministration", "/status", "\"given\""),
    ("MedicationAdministration", "/subject", "null"),
    (
        "MedicationAdministration",
        "/effectiveDateTime",
        "\"yesterday evening\"",
    ),
    (
        "MedicationAdministration",
        "/dosage/dose/value",
        "\"one and a half\"",
    ),
    ("MedicationAdministration", "/volume", "1.5"),
    ("MedicationAdministration", "/note", "\"given\""),
    ("MedicationRequest", "/intent", "null"),
    ("MedicationRequest", "/status", "\"running\""),
    ("MedicationDispense", "/quantity/value", "\"four\""),
    ("MedicationDispense", "/status", "null"),
    ("Patient", "/name", "\"Juniper\""),
    ("RelatedPerson", "/patient", "null"),
];

fn spoiled(good: &Value, (kind, path, instead): (&str, &str, &str)) -> Value {
    let mut bundle = good.clone();
    let entries = bundle["entry"].as_array_mut().unwrap();
    let resource = entries
        .iter_mut()
        .map(|entry| &mut entry["resource"])
        .find(|resource| resource["resourceType"] == kind)
        .unwrap();
    let (parent, key) = path.rsplit_once('/').unwrap();
    let parent = resource
        .pointer_mut(parent)
        .unwrap()
        .as_object_mut()
        .unwrap();
    let before = parent.remove(key);
    match instead {
        "null" => assert!(before.is_some(), "{path} was not there"),
        _ => {
            parent.insert(key.into(), serde_json::from_str(instead).unwrap());
        }
    }
    bundle
}

/// What a validator says of each bundle.
fn judged(program: &str, arguments: &[&str], bundles: &[Value]) -> Vec<String> {
    let lines: Vec<String> = bundles
        .iter()
        .map(|bundle| bundle.to_string() + "\n")
        .collect();
    let output = python::run(program, arguments, &lines.concat());
    let (said, complained) = (
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8_lossy(&output.stderr).into_owned(),
    );
    assert!(output.status.success(), "{complained}");
    let said: Vec<String> = said.lines().map(str::to_owned).collect();
    assert_eq!(said.len(), bundles.len(), "{complained}");
    said
}

fn by_node(bundles: &[Value]) -> Vec<String> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/records/validate.mjs");
    let packages = concat!(env!("CARGO_MANIFEST_DIR"), "/target/ci-fhir");
    judged("node", &[script, packages], bundles)
}

fn by_python(bundles: &[Value]) -> Vec<String> {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/records/validate.py");
    judged("python3", &[script], bundles)
}

#[test]
#[ignore = "needs node with the npm package fhir (npm install --prefix target/ci-fhir fhir@4.12.0) and python3 with fhir.resources==8.3.0"]
fn two_libraries_that_know_fhir_find_nothing_wrong() {
    on_runtime(async {
        let made = bundles().await;
        for said in by_node(&made).into_iter().chain(by_python(&made)) {
            assert_eq!(said, "ok");
        }
        println!(
            "{} bundles, {} resources",
            made.len(),
            made.iter()
                .map(|b| b["entry"].as_array().unwrap().len())
                .sum::<usize>()
        );
    });
}

/// The check can fail. What stands in a value set only the one with value sets can find.
#[test]
#[ignore = "needs node with the npm package fhir (npm install --prefix target/ci-fhir fhir@4.12.0) and python3 with fhir.resources==8.3.0"]
fn what_is_wrong_with_a_bundle_is_found() {
    on_runtime(async {
        let good = lived(AFTER).await.recorded(bundle);
        let wrong: Vec<Value> = WRONG.iter().map(|spoil| spoiled(&good, *spoil)).collect();
        let (node, python) = (by_node(&wrong), by_python(&wrong));
        for (at, (kind, path, instead)) in WRONG.into_iter().enumerate() {
            println!("{kind}{path} {instead}: {} | {}", node[at], python[at]);
            assert_ne!(node[at], "ok", "{kind} {path} {instead}");
            let in_value_set = path.ends_with("status");
            if instead == "null" || !in_value_set {
                assert_ne!(python[at], "ok", "{kind} {path} {instead}");
            }
        }
    });
}
