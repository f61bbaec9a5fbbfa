//! The table of a sheet in which each dose is ticked: days across, the planned
//! times of the day down, in bands of two or three weeks.

use super::canvas::{Anchor, Area, Canvas, Ink, Rect, Type};
use super::text::{Weight, fit};
use crate::domain::household::Planned;
use crate::domain::message::No;
use crate::domain::timing::Plan;
use crate::domain::zone::Zone;
use crate::wording::{Phrase, Wording};
use chrono::{Datelike, NaiveDate, NaiveTime, TimeDelta};

/// Rows of one band, in tenths of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Heights {
    head: i64,
    dose: i64,
    mixed: i64,
    gap: i64,
}

impl Heights {
    /// Roomy enough to write a time by hand.
    const ROOMY: Heights = Heights {
        head: 195,
        dose: 140,
        mixed: 110,
        gap: 40,
    };
    /// For a tick; the vial's own label says when it was mixed.
    const TIGHT: Heights = Heights {
        head: 190,
        dose: 115,
        mixed: 0,
        gap: 40,
    };

    fn band(self, rows: i64) -> i64 {
        self.head + self.dose * rows + self.mixed + self.gap
    }
}

/// The doses of one plan, and how much of them the table takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Table {
    times: Vec<NaiveTime>,
    /// Each day in turn, with the doses planned for its times.
    days: Vec<(NaiveDate, Vec<Option<Planned>>)>,
    per_band: usize,
    bands: usize,
    heights: Heights,
}

/// Room for the times of day at the left of a band.
const LABELS: i64 = 620;
/// Days across: a box is then still wide enough for a tick or a time.
const MOST_ACROSS: usize = 21;
/// A day is no wider than this, so that a short course is no row of barn doors.
const WIDEST: i64 = 420;

impl Table {
    /// Lays doses `first` to `last` out in at most `most` tenths of a point of height.
    pub(super) fn plan(plan: &Plan, first: No, last: No, zone: Zone, most: i64) -> Table {
        let rows = i64::try_from(plan.times.len()).unwrap_or(i64::MAX).max(1);
        let days = days(plan, first, last, zone);
        let wanted = days.len().div_ceil(MOST_ACROSS).max(1);
        // Even bands: the boxes are as wide as they can be.
        let per_band = days.len().div_ceil(wanted).max(1);
        let holds = |heights: Heights| {
            usize::try_from((most / heights.band(rows)).max(1)).unwrap_or(usize::MAX)
        };
        let heights = if wanted <= 2 && holds(Heights::ROOMY) >= wanted {
            Heights::ROOMY
        } else {
            Heights::TIGHT
        };
        Table {
            times: plan.times.clone(),
            days,
            per_band,
            bands: wanted.min(holds(heights)),
            heights,
        }
    }

    pub(super) fn height(&self) -> i64 {
        let rows = i64::try_from(self.times.len()).unwrap_or(i64::MAX);
        let bands = i64::try_from(self.bands).unwrap_or(i64::MAX);
        self.heights.band(rows) * bands - self.heights.gap
    }

    /// The last dose that it takes, where the plan has more.
    pub(super) fn ends_before_plan(&self) -> Option<Planned> {
        let taken = self.per_band * self.bands;
        (taken < self.days.len())
            .then(|| {
                self.days[..taken]
                    .iter()
                    .rev()
                    .find_map(|(_, doses)| doses.iter().rev().find_map(|dose| *dose))
            })
            .flatten()
    }

    pub(super) fn draw(
        &self,
        canvas: &mut Canvas,
        (x, y, width): (i64, i64, i64),
        wording: &Wording,
        language: &str,
    ) {
        let rows = i64::try_from(self.times.len()).unwrap_or(i64::MAX);
        let columns = i64::try_from(self.per_band.min(self.days.len().max(7))).unwrap_or(1);
        let cell = ((width - LABELS) / columns).min(WIDEST);
        let bands = self.days.chunks(self.per_band).take(self.bands);
        let mut top = y;
        for band in bands {
            let head = Head {
                canvas,
                wording,
                language,
            };
            self.draw_band(head, (x, top), cell, band);
            top += self.heights.band(rows);
        }
    }

    fn draw_band(
        &self,
        head: Head<'_>,
        (x, y): (i64, i64),
        cell: i64,
        days: &[(NaiveDate, Vec<Option<Planned>>)],
    ) {
        let Head {
            canvas,
            wording,
            language,
        } = head;
        let Heights {
            head, dose, mixed, ..
        } = self.heights;
        let label = |canvas: &mut Canvas, y: i64, height: i64, words: &str, weight: Weight| {
            let (words, size) = fit(words, 95, 55, weight, LABELS - 70);
            let look = Type {
                weight,
                ..Type::regular(size)
            };
            canvas.text(x, y + height / 2 + size / 3, look, &words);
        };
        for (row, time) in (0..).zip(&self.times) {
            let words = wording.time(*time, language);
            label(canvas, y + head + dose * row, dose, &words, Weight::Bold);
        }
        let rows = i64::try_from(self.times.len()).unwrap_or(i64::MAX);
        let below = y + head + dose * rows;
        if mixed > 0 {
            let words = wording.phrase(Phrase::SheetTableMixed, &[], language);
            label(canvas, below, mixed, &words, Weight::Regular);
        }
        if let Some((day, _)) = days.first() {
            let words = wording.month(day.month(), language);
            canvas.text(x, y + 175, Type::bold(105), &words);
        }
        let mut left = x + LABELS;
        let mut month = None;
        for (day, doses) in days {
            let middle = left + cell / 2;
            let look = Type::regular(80).at(Anchor::Middle);
            let weekday = wording.weekday(day.weekday(), language);
            let (weekday, size) = fit(&weekday, 80, 50, Weight::Regular, cell - 10);
            canvas.text(middle, y + 75, Type { size, ..look }, &weekday);
            // At the left stands the month that the band begins in.
            let number = if month.is_some_and(|month| month != day.month()) {
                format!("{} {}", day.day(), wording.month(day.month(), language))
            } else {
                day.day().to_string()
            };
            month = Some(day.month());
            let (number, size) = fit(&number, 105, 50, Weight::Bold, cell - 10);
            let bold = Type::bold(size).at(Anchor::Middle);
            canvas.text(middle, y + 175, bold, &number);
            let mut top = y + head;
            for (planned, time) in doses.iter().zip(&self.times) {
                let rect = Rect::new(left, top, cell, dose);
                draw_box(canvas, rect, *planned, *time, wording, language);
                top += dose;
            }
            if mixed > 0 {
                let look = Area::edged(5, Ink::Light);
                canvas.rect(Rect::new(left, below, cell, mixed), look);
            }
            left += cell;
        }
    }
}

/// What a band is written with.
struct Head<'a> {
    canvas: &'a mut Canvas,
    wording: &'a Wording,
    language: &'a str,
}

fn draw_box(
    canvas: &mut Canvas,
    rect: Rect,
    planned: Option<Planned>,
    time: NaiveTime,
    wording: &Wording,
    language: &str,
) {
    let Some(planned) = planned else {
        canvas.hatch(rect, 50, 5, Ink::Light);
        canvas.rect(rect, Area::edged(5, Ink::Light));
        return;
    };
    canvas.rect(rect, Area::edged(10, Ink::Black));
    // The night that the clocks go forward moves a dose.
    let shown = planned.shown().time();
    if shown != time {
        let words = wording.time(shown, language);
        let (words, size) = fit(&words, 70, 40, Weight::Regular, rect.w - 20);
        let look = Type::regular(size).ink(Ink::Grey);
        canvas.text(rect.x + 12, rect.y + size, look, &words);
    }
}

fn days(plan: &Plan, first: No, last: No, zone: Zone) -> Vec<(NaiveDate, Vec<Option<Planned>>)> {
    let mut days: Vec<(NaiveDate, Vec<Option<Planned>>)> = Vec::new();
    for dose in first..=last {
        let local = plan.planned(dose);
        let date = local.date();
        // A day of the calendar without a dose still has its column.
        while days
            .last()
            .is_some_and(|(day, _)| *day + TimeDelta::days(1) < date)
        {
            let next = days
                .last()
                .map_or(date, |(day, _)| *day + TimeDelta::days(1));
            days.push((next, vec![None; plan.times.len()]));
        }
        if days.last().is_none_or(|(day, _)| *day != date) {
            days.push((date, vec![None; plan.times.len()]));
        }
        let slot = plan.times.iter().position(|time| *time == local.time());
        if let (Some(slot), Some((_, doses))) = (slot, days.last_mut()) {
            doses[slot] = Some(Planned::resolve(local, zone));
        }
    }
    days
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::domain::quantity::Volume;

    fn plan(times: &[&str]) -> Plan {
        Plan {
            from: 1,
            first: "2026-03-05T19:30:00".parse().unwrap(),
            times: times.iter().map(|time| time.parse().unwrap()).collect(),
            volume: Volume::parse("1.5").unwrap(),
        }
    }

    fn table(doses: No, times: &[&str]) -> Table {
        let zone = Zone::named("America/Denver").unwrap();
        Table::plan(&plan(times), 1, doses, zone, 1800)
    }

    #[test]
    fn sixty_days_twice_a_day_have_room() {
        let table = table(120, &["07:30:00", "19:30:00"]);
        assert_eq!(table.ends_before_plan(), None);
        assert!(table.height() <= 1800, "{}", table.height());
        let boxes = table.days.iter().flat_map(|(_, doses)| doses).flatten();
        assert_eq!(boxes.count(), 120);
    }

    #[test]
    fn a_longer_course_says_where_the_table_ends() {
        let table = table(400, &["07:30:00", "19:30:00"]);
        let last = table.ends_before_plan().unwrap();
        let taken = &table.days[..table.per_band * table.bands];
        let boxes = taken.iter().flat_map(|(_, doses)| doses).flatten();
        assert_eq!(boxes.max_by_key(|dose| dose.at), Some(&last));
        assert!(table.height() <= 1800);
    }

    #[test]
    fn the_day_of_the_first_dose_has_a_box_for_the_evening_only() {
        let table = table(3, &["07:30:00", "19:30:00"]);
        let first = &table.days[0].1;
        assert!(first[0].is_none() && first[1].is_some());
    }
}
