//! The ladder: whom an alert goes to while nobody has seen it.

use super::reader::{Section, Value, nearest, quoted};
use super::span;
use super::values::minutes;
use crate::domain::ladder::CLIMBING;
use crate::domain::message::Kind;
use crate::domain::name::LONGEST_NAME;
use crate::domain::rung::{Rung, When};
use crate::domain::staff::Whom;

/// More rungs than anybody would lay down; each open alert is held against all of them.
const MOST_RUNGS: usize = 20;

/// Reads the rungs; without any, those of the example file.
pub(super) fn read(root: &Section<'_>) -> Option<Vec<Rung>> {
    if !root.has("ladder") {
        return Some(usual());
    }
    let sections = root.each("ladder")?;
    if sections.len() > MOST_RUNGS {
        root.complain("ladder", format!("has more than {MOST_RUNGS} rungs"));
        return None;
    }
    let rungs: Vec<Option<Rung>> = sections.iter().map(rung).collect();
    rungs.into_iter().collect()
}

fn rung(table: &Section<'_>) -> Option<Rung> {
    let after = table.required("after").and_then(|value| {
        let after = value.parsed(span::parse)?;
        if after.is_zero() {
            value.complain("must be longer than 0");
            return None;
        }
        Some(after)
    });
    let to = table.required("to").and_then(|value| whom(&value));
    let when = match table.value("when") {
        Some(value) => value.parsed(hours),
        None => Some(When::Always),
    };
    let alerts = match table.value("alerts") {
        Some(value) => value.each(|value| value.parsed(alert)).map(Some),
        None => Some(None),
    };
    Some(Rung {
        after: after?,
        to: to?,
        when: when?,
        alerts: alerts?,
    })
}

fn whom(value: &Value<'_>) -> Option<Whom> {
    let name = value.line_of_text(LONGEST_NAME)?;
    Some(match name.as_str() {
        "group" => Whom::Group,
        "on-call" => Whom::OnCall,
        _ => Whom::Person(name),
    })
}

fn hours(text: &str) -> Result<When, String> {
    match text {
        "always" => Ok(When::Always),
        "open" => Ok(When::Open),
        "closed" => Ok(When::Closed),
        _ => Err(format!(
            "{} is not known here; write \"open\", \"closed\" or \"always\"",
            quoted(text)
        )),
    }
}

fn alert(text: &str) -> Result<Kind, String> {
    let found = CLIMBING.iter().find(|(word, _)| *word == text);
    found.map(|(_, kind)| *kind).ok_or_else(|| {
        let words = CLIMBING.iter().map(|(word, _)| *word);
        match nearest(text, words.clone()) {
            Some(near) => format!("{} is no alert; did you mean {near}?", quoted(text)),
            None => {
                let known: Vec<&str> = words.collect();
                format!(
                    "{} is no alert; known are {}",
                    quoted(text),
                    known.join(", ")
                )
            }
        }
    })
}

/// Common practice, no source: soon to whoever is on call, then to all once more;
/// at night only what cannot wait for the morning.
fn usual() -> Vec<Rung> {
    let urgent = || {
        Some(vec![
            Kind::ClinicEmergency,
            Kind::ClinicMissedDose,
            Kind::ClinicVialPastLimit,
        ])
    };
    let rung = |after, to, when, alerts| Rung {
        after: minutes(after),
        to,
        when,
        alerts,
    };
    vec![
        rung(
            5,
            Whom::OnCall,
            When::Always,
            Some(vec![Kind::ClinicEmergency]),
        ),
        rung(15, Whom::OnCall, When::Open, None),
        rung(45, Whom::Group, When::Open, None),
        rung(15, Whom::OnCall, When::Closed, urgent()),
        rung(60, Whom::Group, When::Closed, urgent()),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::Config;

    #[test]
    fn the_example_file_lays_down_what_counts_without_it() {
        assert_eq!(Config::built_in().policy.ladder, usual());
    }
}
