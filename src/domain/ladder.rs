//! The ladder: whom an alert goes to while nobody has seen it. The clinic lays
//! down its rungs; the instants follow from when the alert was raised and from
//! the opening hours, so no timer is kept and a crash loses none.

use super::Instant;
use super::alert::Alert;
use super::message::Kind;
use super::policy::Clinic;
use super::rung::{Rung, When};
use super::staff::Whom;

/// The alerts that climb, by the words that the clinic's file uses. Supplies
/// that will run low are told days ahead and do not.
pub const CLIMBING: [(&str, Kind); 7] = [
    ("emergency", Kind::ClinicEmergency),
    ("missed-dose", Kind::ClinicMissedDose),
    ("question", Kind::ClinicQuestion),
    ("vial-past-limit", Kind::ClinicVialPastLimit),
    ("level-differs", Kind::ClinicLevelDiffers),
    ("unreachable", Kind::ClinicUnreachable),
    ("outage", Kind::ClinicOutage),
];

/// The word for a kind of alert; none for a kind that does not climb.
pub fn word_of(kind: Kind) -> Option<&'static str> {
    CLIMBING
        .iter()
        .find(|(_, climbing)| *climbing == kind)
        .map(|(word, _)| *word)
}

/// Whether a message tells an alert, for the first time or again.
pub fn is_alert(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::ClinicSupplyLow | Kind::ClinicNotSeen | Kind::ClinicAlerts
    ) || word_of(kind).is_some()
}

impl Rung {
    /// When it is reached by an alert of a kind raised at an instant; none where it is passed over.
    fn reached(&self, kind: Kind, raised_at: Instant, clinic: &Clinic) -> Option<Instant> {
        if self.alerts.as_ref().is_some_and(|all| !all.contains(&kind)) {
            return None;
        }
        match self.when {
            // A clinic that wrote down no hours is reached like any other.
            When::Open if !clinic.hours.is_empty() => {
                let from = clinic.open_from(raised_at)?;
                clinic.open_from(from + self.after)
            }
            When::Always | When::Open => Some(raised_at + self.after),
            When::Closed => {
                let at = raised_at + self.after;
                (!clinic.is_open(at)).then_some(at)
            }
        }
    }
}

/// The rungs that an alert has not climbed yet, each with its instant; none once it was seen.
fn ahead<'r>(
    alert: &Alert,
    rungs: &'r [Rung],
    clinic: &Clinic,
) -> impl Iterator<Item = (Instant, &'r Rung)> {
    let climbs = alert.seen.is_none() && word_of(alert.kind).is_some();
    let (kind, raised_at, told_at) = (alert.kind, alert.raised_at, alert.told_at);
    let rungs = if climbs { rungs } else { &[] };
    rungs.iter().filter_map(move |rung| {
        let at = rung.reached(kind, raised_at, clinic)?;
        (at > told_at).then_some((at, rung))
    })
}

/// When an alert climbs next; none where it has seen its last rung.
pub fn next_rung(alert: &Alert, rungs: &[Rung], clinic: &Clinic) -> Option<Instant> {
    ahead(alert, rungs, clinic).map(|(at, _)| at).min()
}

/// Who is told by now: those of the last rung that was reached, since a person
/// is told once even where the program was down over several rungs.
pub fn told_now(alert: &Alert, rungs: &[Rung], clinic: &Clinic, now: Instant) -> Vec<Whom> {
    // No rung is reached before its time has passed; most households have no alert at all.
    if rungs.iter().all(|rung| alert.raised_at + rung.after > now) {
        return Vec::new();
    }
    let due: Vec<(Instant, &Rung)> = ahead(alert, rungs, clinic)
        .filter(|(at, _)| *at <= now)
        .collect();
    let last = due.iter().map(|(at, _)| *at).max();
    let mut whom: Vec<Whom> = due
        .into_iter()
        .filter(|(at, _)| Some(*at) == last)
        .map(|(_, rung)| rung.to.clone())
        .collect();
    whom.sort();
    whom.dedup();
    whom
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::message::Facts;
    use crate::domain::policy::OpenHours;
    use crate::domain::zone::Zone;
    use chrono::{NaiveTime, TimeDelta, Weekday};

    fn at(text: &str) -> Instant {
        text.parse().unwrap()
    }

    /// Open on Mondays and Tuesdays, with a break at noon.
    fn clinic() -> Clinic {
        let time = |hour| NaiveTime::from_hms_opt(hour, 0, 0).unwrap();
        let spans = [(8, 12), (13, 18)];
        let days = [Weekday::Mon, Weekday::Tue];
        let hours = days.into_iter().flat_map(|day| {
            spans.map(|(from, until)| OpenHours {
                day,
                from: time(from),
                until: time(until),
            })
        });
        Clinic {
            key: "clinic".into(),
            name: "Brindlewick".into(),
            phone: "555 0142".into(),
            emergency_phone: None,
            zone: Zone::named("Etc/UTC").unwrap(),
            hours: hours.collect(),
        }
    }

    fn alert(kind: Kind, raised_at: &str) -> Alert {
        Alert {
            no: 1,
            kind,
            dose: None,
            carer: None,
            text: None,
            patient: None,
            facts: Facts::new(),
            raised_at: at(raised_at),
            told_at: at(raised_at),
            rungs: 0,
            seen: None,
            replies: Vec::new(),
            ended: None,
        }
    }

    fn rung(minutes: i64, to: Whom, when: When) -> Rung {
        Rung {
            after: TimeDelta::minutes(minutes),
            to,
            when,
            alerts: None,
        }
    }

    // 2 February 2026 is a Monday.
    #[test]
    fn an_alert_of_the_day_climbs_by_the_minute() {
        let rungs = [
            rung(15, Whom::Group, When::Open),
            rung(30, Whom::OnCall, When::Open),
        ];
        let mut alert = alert(Kind::ClinicQuestion, "2026-02-02T09:00:00Z");
        let next = |alert: &Alert| next_rung(alert, &rungs, &clinic());
        assert_eq!(next(&alert), Some(at("2026-02-02T09:15:00Z")));
        alert.told_at = at("2026-02-02T09:15:00Z");
        assert_eq!(next(&alert), Some(at("2026-02-02T09:30:00Z")));
        alert.told_at = at("2026-02-02T09:30:00Z");
        assert_eq!(next(&alert), None);
    }

    #[test]
    fn what_came_at_night_counts_from_the_opening_and_the_night_has_its_own_rungs() {
        let rungs = [
            rung(15, Whom::Group, When::Open),
            rung(20, Whom::OnCall, When::Closed),
        ];
        let alert = alert(Kind::ClinicEmergency, "2026-02-02T22:00:00Z");
        let told = |alert: &Alert, now: &str| told_now(alert, &rungs, &clinic(), at(now));
        assert_eq!(told(&alert, "2026-02-02T22:19:59Z"), []);
        assert_eq!(told(&alert, "2026-02-02T22:20:00Z"), [Whom::OnCall]);
        let mut morning = alert.clone();
        morning.told_at = at("2026-02-02T22:20:00Z");
        let next = next_rung(&morning, &rungs, &clinic());
        assert_eq!(next, Some(at("2026-02-03T08:15:00Z")));
    }

    #[test]
    fn what_would_fall_after_the_closing_waits_for_the_opening_and_the_break_counts_as_closed() {
        let rungs = [rung(15, Whom::Group, When::Open)];
        for (raised, reached) in [
            ("2026-02-02T17:50:00Z", "2026-02-03T08:00:00Z"),
            ("2026-02-02T12:30:00Z", "2026-02-02T13:15:00Z"),
            ("2026-02-02T11:50:00Z", "2026-02-02T13:00:00Z"),
            // From Tuesday evening to the next Monday.
            ("2026-02-03T20:00:00Z", "2026-02-09T08:15:00Z"),
        ] {
            let alert = alert(Kind::ClinicQuestion, raised);
            assert_eq!(
                next_rung(&alert, &rungs, &clinic()),
                Some(at(reached)),
                "{raised}"
            );
        }
    }

    #[test]
    fn a_rung_of_the_night_is_passed_over_by_day() {
        let rungs = [rung(20, Whom::OnCall, When::Closed)];
        let alert = alert(Kind::ClinicEmergency, "2026-02-02T09:00:00Z");
        assert_eq!(next_rung(&alert, &rungs, &clinic()), None);
    }

    #[test]
    fn after_an_outage_over_several_rungs_only_the_last_is_told() {
        let rungs = [
            rung(15, Whom::Group, When::Always),
            rung(30, Whom::OnCall, When::Always),
            rung(30, Whom::Person("Ines".into()), When::Always),
        ];
        let alert = alert(Kind::ClinicQuestion, "2026-02-02T09:00:00Z");
        let told = told_now(&alert, &rungs, &clinic(), at("2026-02-02T15:00:00Z"));
        assert_eq!(told, [Whom::OnCall, Whom::Person("Ines".into())]);
    }

    #[test]
    fn what_was_seen_and_what_never_climbs_is_told_to_nobody_else() {
        let rungs = [rung(15, Whom::Group, When::Always)];
        let mut seen = alert(Kind::ClinicQuestion, "2026-02-02T09:00:00Z");
        seen.seen = Some((at("2026-02-02T09:05:00Z"), "Ines".into()));
        assert_eq!(next_rung(&seen, &rungs, &clinic()), None);
        let supply = alert(Kind::ClinicSupplyLow, "2026-02-02T09:00:00Z");
        assert_eq!(next_rung(&supply, &rungs, &clinic()), None);
    }

    #[test]
    fn a_rung_for_some_alerts_is_not_for_others() {
        let mut urgent = rung(5, Whom::OnCall, When::Always);
        urgent.alerts = Some(vec![Kind::ClinicEmergency]);
        let question = alert(Kind::ClinicQuestion, "2026-02-02T09:00:00Z");
        let emergency = alert(Kind::ClinicEmergency, "2026-02-02T09:00:00Z");
        let rungs = [urgent];
        assert_eq!(next_rung(&question, &rungs, &clinic()), None);
        assert!(next_rung(&emergency, &rungs, &clinic()).is_some());
    }

    #[test]
    fn a_clinic_without_hours_is_told_all_the_same() {
        let rungs = [rung(15, Whom::Group, When::Open)];
        let mut clinic = clinic();
        clinic.hours.clear();
        let alert = alert(Kind::ClinicQuestion, "2026-02-02T09:00:00Z");
        let next = next_rung(&alert, &rungs, &clinic);
        assert_eq!(next, Some(at("2026-02-02T09:15:00Z")));
    }
}
