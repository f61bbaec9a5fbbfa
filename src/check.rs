//! What `vialbell check` finds out: it reads, it says, it changes nothing.

use crate::clock::Clock;
use crate::config::{Config, load_prescription};
use crate::domain::Instant;
use crate::domain::forecast::{Forecast, forecast_order};
use crate::domain::member::Member;
use crate::domain::order_check::order_check;
use crate::domain::staff::Whom;
use crate::domain::zone::{self, Zone};
use crate::store::Store;
use crate::wording::Wording;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// How far ahead the two sources of zone rules are compared, in days.
const AHEAD_DAYS: u32 = 400;

/// What was found.
#[derive(Debug, Default)]
pub struct Checked {
    /// What is, a line each.
    pub lines: Vec<String>,
    /// What is wrong, a line each.
    pub wrong: Vec<String>,
}

/// Looks at the configuration, the prescriptions and the zones in use.
pub async fn check(
    config: &Config,
    wording: &Wording,
    prescriptions: &[PathBuf],
    clock: &dyn Clock,
) -> anyhow::Result<Checked> {
    let mut checked = Checked::default();
    let now = clock.now();
    let clinic = &config.policy.clinic;
    checked
        .lines
        .push(format!("clinic: {}, {}", clinic.name, clinic.phone));
    checked
        .lines
        .push(format!("products: {}", config.formulary.len()));
    checked
        .lines
        .push(format!("languages: {}", wording.languages().join(", ")));
    checked
        .lines
        .extend(config.notes.iter().map(|note| format!("note: {note}")));
    let mut zones = BTreeSet::from([clinic.zone]);
    for path in prescriptions {
        look_at_prescription(config, wording, path, now, &mut zones, &mut checked);
    }
    let (known_zones, staff) = in_store(&config.settings.store_url, &clinic.key).await?;
    zones.extend(known_zones);
    look_at_staff(config, &staff, &mut checked);
    look_at_zones(&zones, now, &mut checked);
    Ok(checked)
}

/// A course walked ahead: each vial of it, and the sum.
#[derive(Debug)]
pub struct VialsAhead {
    zone: Zone,
    doses: u32,
    ahead: Forecast,
}

impl VialsAhead {
    /// A line each for people.
    pub fn lines(&self) -> Vec<String> {
        let mixes = self.ahead.mixes.iter();
        let mut lines: Vec<String> = mixes
            .map(|mix| {
                format!(
                    "vial {}: mixed {}, discarded {}, {} thrown away",
                    mix.vial,
                    self.shown(mix.at),
                    self.shown(mix.discarded_at),
                    mix.thrown
                )
            })
            .collect();
        lines.push(format!(
            "{} doses, {} vials, {} thrown away",
            self.doses,
            self.ahead.mixes.len(),
            self.ahead.thrown()
        ));
        lines
    }

    /// The same for a program: instants with their offset, volumes in mL as decimal strings.
    pub fn json(&self) -> Value {
        let mixes = self.ahead.mixes.iter();
        let vials: Vec<Value> = mixes
            .map(|mix| {
                json!({
                    "vial": mix.vial,
                    "mixed_at": self.shown(mix.at),
                    "discarded_at": self.shown(mix.discarded_at),
                    "thrown_ml": mix.thrown,
                })
            })
            .collect();
        json!({ "doses": self.doses, "vials": vials, "thrown_ml": self.ahead.thrown() })
    }

    fn shown(&self, at: Instant) -> String {
        self.zone.local(at).to_rfc3339()
    }
}

/// Each vial of a course that is followed to the minute.
///
/// # Errors
/// All that is wrong with the prescription.
pub fn vials_ahead(
    config: &Config,
    wording: &Wording,
    prescription: &Path,
    clock: &dyn Clock,
) -> anyhow::Result<VialsAhead> {
    let order = load_prescription(prescription, &config.formulary, &wording.languages())?;
    let worked = order
        .work_out(&config.policy, clock.now())
        .map_err(|errors| {
            let lines: Vec<String> = errors.iter().map(ToString::to_string).collect();
            anyhow::anyhow!("{}", lines.join("\n"))
        })?;
    let (plan, vial) = (&worked.plan, &config.policy.vial);
    let ahead = forecast_order(plan, worked.doses, &order.product, order.zone, vial);
    Ok(VialsAhead {
        zone: order.zone,
        doses: worked.doses,
        ahead,
    })
}

fn look_at_prescription(
    config: &Config,
    wording: &Wording,
    path: &Path,
    now: Instant,
    zones: &mut BTreeSet<Zone>,
    checked: &mut Checked,
) {
    let file = path.display();
    let order = match load_prescription(path, &config.formulary, &wording.languages()) {
        Ok(order) => order,
        Err(mistakes) => return checked.wrong.push(mistakes.to_string()),
    };
    zones.insert(order.zone);
    match order.work_out(&config.policy, now) {
        Ok(worked) => {
            let message = order_check(&order, &worked, &config.policy, None);
            checked.lines.push(format!("{file}:"));
            let text = wording.render(&message, "en").text;
            checked
                .lines
                .extend(text.lines().map(|line| format!("    {line}")));
        }
        Err(errors) => checked
            .wrong
            .extend(errors.iter().map(|error| format!("{file}: {error}"))),
    }
}

/// Whether somebody is told where the ladder says so, and whether anybody in the chat may act.
fn look_at_staff(config: &Config, staff: &[Member], checked: &mut Checked) {
    let mut note = |line: String| checked.lines.push(format!("note: {line}"));
    if !staff.iter().any(|member| member.joined_at.is_some()) {
        note(
            "nobody has joined the staff; until somebody has, everybody in the clinic's chat may act (vialbell staff add NAME --role veterinarian)".into(),
        );
    }
    let ladder = &config.policy.ladder;
    let unnamed = !staff.iter().any(|member| member.on_call);
    if unnamed && ladder.iter().any(|rung| rung.to == Whom::OnCall) {
        note(
            "nobody is on call by name; the ladder's \"on-call\" is told in the clinic's chat (vialbell staff on-call NAME)".into(),
        );
    }
    let mut names: Vec<&str> = ladder
        .iter()
        .filter_map(|rung| match &rung.to {
            Whom::Person(name) => Some(name.as_str()),
            _ => None,
        })
        .filter(|name| staff.iter().all(|member| member.name != *name))
        .collect();
    names.sort_unstable();
    names.dedup();
    for name in names {
        note(format!(
            "the ladder names {name}, who is not on the staff; they are told in the clinic's chat"
        ));
    }
}

/// Zones of the households on record, and the staff; none where there is no database yet.
async fn in_store(url: &str, clinic: &str) -> anyhow::Result<(Vec<Zone>, Vec<Member>)> {
    if let Some(file) = url.strip_prefix("sqlite:")
        && !Path::new(file).exists()
    {
        return Ok((Vec::new(), Vec::new()));
    }
    Ok(Store::look_at(url, clinic).await?)
}

fn look_at_zones(zones: &BTreeSet<Zone>, now: Instant, checked: &mut Checked) {
    let deciding = zone::release();
    let [one, other] = zone::releases();
    checked
        .lines
        .push(format!("zone rules: {deciding} decides ({one}; {other})"));
    for zone in zones {
        if let Some(differs) = zone::disagreement(*zone, now, AHEAD_DAYS) {
            checked.lines.push(format!(
                "warning: {zone}: the two releases differ from {} on ({} against {} seconds from UTC)",
                zone.local(differs.first).to_rfc3339(),
                differs.deciding_offset_s,
                differs.other_offset_s,
            ));
        }
    }
}
