//! The picture of a course: a week or two to a band, each dose with its planned
//! and its given time, and below it what was left in each vial. What was not
//! given, or never answered, differs by shape and by hatching, not by colour.

use super::canvas::{Anchor, Area, Canvas, Ink, Rect, Type};
use super::render::{DrawingError, png};
use super::text::{Weight, fit, width};
use crate::domain::Instant;
use crate::domain::household::{Course, Household, Outcome, Planned, Status};
use crate::domain::message::{No, Value};
use crate::domain::policy::Policy;
use crate::domain::quantity::Volume;
use crate::domain::vial::Vial;
use crate::wording::{Phrase, Wording};
use chrono::{Datelike, NaiveDate, TimeDelta, Timelike};
use std::collections::BTreeMap;

/// In pixels: three to a point of a common phone's screen.
const WIDTH: i64 = 1200;
const MARGIN: i64 = 40;
const SPAN: i64 = WIDTH - 2 * MARGIN;
const MINUTES: i64 = 24 * 60;
/// More bands make a picture that a phone shows as a thread.
const MOST_BANDS: usize = 5;

/// How a band is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Style {
    days: usize,
    head: i64,
    /// Height of a row of doses.
    dose: i64,
    symbol: i64,
    text: i64,
    /// Height of a vial's label and of its level.
    label: i64,
    level: i64,
}

const WEEK: Style = Style {
    days: 7,
    head: 54,
    dose: 84,
    symbol: 24,
    text: 25,
    label: 32,
    level: 60,
};
const FORTNIGHT: Style = Style {
    days: 14,
    head: 76,
    dose: 112,
    symbol: 20,
    text: 20,
    label: 28,
    level: 50,
};

/// The picture of a course as a PNG, 1200 pixels wide: how things stand at `now`.
///
/// A course that is too long for one picture is shown from before `now` on, and
/// the picture says which days it shows; the counts above are of all of it.
///
/// # Errors
/// Only for a mistake of ours in the drawing.
pub fn picture(
    household: &Household,
    course: &Course,
    policy: &Policy,
    wording: &Wording,
    now: Instant,
) -> Result<Vec<u8>, DrawingError> {
    let view = View::new(household, course, policy, wording, now);
    png(&view.draw())
}

/// A dose as it is drawn.
struct Shown {
    planned: Planned,
    mark: Mark,
    given_at: Option<Instant>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Mark {
    Given,
    NotGiven,
    Unanswered,
    Planned,
}

/// What was in a vial, from one instant to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Level {
    from: Instant,
    until: Instant,
    left: Volume,
}

/// How the span of a vial ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum End {
    Empty,
    Discarded,
    Limit,
}

/// A vial as it is drawn.
struct Span {
    no: No,
    levels: Vec<Level>,
    end: End,
}

impl Span {
    fn from(&self) -> Option<Instant> {
        self.levels.first().map(|level| level.from)
    }

    fn until(&self) -> Option<Instant> {
        self.levels.last().map(|level| level.until)
    }
}

struct Band {
    first: NaiveDate,
    last: NaiveDate,
    /// Doses side by side in time are under each other here, by day.
    rows: i64,
    /// Vials at the same time, each in a lane of its own: index and lane.
    lanes: Vec<(usize, i64)>,
}

impl Band {
    fn lane_count(&self) -> i64 {
        self.lanes
            .iter()
            .map(|(_, lane)| lane + 1)
            .max()
            .unwrap_or(0)
    }

    fn height(&self, style: Style) -> i64 {
        style.head + style.dose * self.rows + (style.label + style.level) * self.lane_count() + 40
    }
}

struct View<'a> {
    household: &'a Household,
    course: &'a Course,
    policy: &'a Policy,
    wording: &'a Wording,
    now: Instant,
    style: Style,
    doses: BTreeMap<NaiveDate, Vec<Shown>>,
    vials: Vec<Span>,
    bands: Vec<Band>,
    is_all: bool,
}

const HEADER: i64 = 190;
const FOOTER: i64 = 135;

impl<'a> View<'a> {
    fn new(
        household: &'a Household,
        course: &'a Course,
        policy: &'a Policy,
        wording: &'a Wording,
        now: Instant,
    ) -> View<'a> {
        let mut doses: BTreeMap<NaiveDate, Vec<Shown>> = BTreeMap::new();
        for dose in course.dose_numbers() {
            let shown = shown(household, course, dose);
            let day = shown.planned.shown().date_naive();
            doses.entry(day).or_default().push(shown);
        }
        let vials: Vec<Span> = course
            .vials
            .values()
            .map(|vial| span(household, course, vial))
            .collect();
        let today = household.shown(now).date_naive();
        let first = doses.keys().next().copied().unwrap_or(today);
        let last = doses.keys().next_back().copied().unwrap_or(today);
        let days = usize::try_from((last - first).num_days()).unwrap_or_default() + 1;
        let style = if days <= MOST_BANDS * WEEK.days {
            WEEK
        } else {
            FORTNIGHT
        };
        let length = TimeDelta::days(i64::try_from(style.days).unwrap_or(1));
        let wanted = days.div_ceil(style.days);
        let passed = usize::try_from((today - first).num_days()).unwrap_or_default();
        // What has happened matters most, and a little of what comes.
        let skipped = (passed / style.days + 2)
            .saturating_sub(MOST_BANDS)
            .min(wanted.saturating_sub(MOST_BANDS));
        let mut view = View {
            household,
            course,
            policy,
            wording,
            now,
            style,
            doses,
            vials,
            bands: Vec::new(),
            is_all: wanted <= MOST_BANDS,
        };
        let mut start = first + TimeDelta::days(i64::try_from(skipped * style.days).unwrap_or(0));
        for _ in skipped..wanted.min(skipped + MOST_BANDS) {
            let end = start + length - TimeDelta::days(1);
            view.bands.push(view.band(start, end));
            start += length;
        }
        view
    }

    fn band(&self, first: NaiveDate, last: NaiveDate) -> Band {
        let rows = self.doses.range(first..=last).map(|(_, doses)| doses.len());
        let rows = i64::try_from(rows.max().unwrap_or(1)).unwrap_or(1);
        let mut lanes: Vec<(usize, i64)> = Vec::new();
        let mut free_from: Vec<Instant> = Vec::new();
        for (n, vial) in self.vials.iter().enumerate() {
            let (Some(from), Some(until)) = (vial.from(), vial.until()) else {
                continue;
            };
            let day = |at| self.household.shown(at).date_naive();
            if day(until) < first || day(from) > last {
                continue;
            }
            let lane = free_from.iter().position(|free| *free <= from);
            let lane = lane.unwrap_or_else(|| {
                free_from.push(from);
                free_from.len() - 1
            });
            free_from[lane] = until;
            lanes.push((n, i64::try_from(lane).unwrap_or(0)));
        }
        Band {
            first,
            last,
            rows,
            lanes,
        }
    }

    fn say(&self, phrase: Phrase, facts: &[(&str, Value)]) -> String {
        self.wording.phrase(phrase, facts, &self.household.language)
    }

    fn time(&self, at: Instant) -> String {
        let time = self.household.shown(at).time();
        self.wording.time(time, &self.household.language)
    }

    fn cell(&self) -> i64 {
        SPAN / i64::try_from(self.style.days).unwrap_or(1)
    }

    /// Where an instant stands in a band; at its edges for one outside.
    fn x(&self, band: &Band, at: Instant) -> i64 {
        let local = self.household.shown(at).naive_local();
        let days = (local.date() - band.first).num_days();
        let minute = i64::from(local.hour() * 60 + local.minute());
        let x = (days * MINUTES + minute) * self.cell() / MINUTES;
        MARGIN + x.clamp(0, SPAN)
    }

    fn draw(&self) -> Canvas {
        let bands: i64 = self.bands.iter().map(|band| band.height(self.style)).sum();
        let mut canvas = Canvas::new(WIDTH, HEADER + bands + FOOTER);
        self.draw_header(&mut canvas);
        let mut y = HEADER;
        for band in &self.bands {
            self.draw_band(&mut canvas, y, band);
            y += band.height(self.style);
        }
        self.draw_key(&mut canvas, y);
        canvas
    }

    fn draw_header(&self, canvas: &mut Canvas) {
        let count = |mark: Mark| {
            let marked = self
                .doses
                .values()
                .flatten()
                .filter(|dose| dose.mark == mark);
            u32::try_from(marked.count()).unwrap_or(u32::MAX)
        };
        let volume = self.household.next_volume(self.course);
        let patient = self.household.patient_of(self.course);
        let facts = [
            ("patient", Value::from(patient)),
            ("volume_ml", volume.into()),
        ];
        let title = self.say(Phrase::PictureTitle, &facts);
        let (title, size) = fit(&title, 52, 26, Weight::Bold, SPAN);
        canvas.text(MARGIN, 70, Type::bold(size), &title);
        let facts = [
            ("given", Value::from(count(Mark::Given))),
            ("doses", self.course.doses.into()),
        ];
        let mut counts = vec![self.say(Phrase::PictureGiven, &facts)];
        for (mark, phrase) in [
            (Mark::NotGiven, Phrase::PictureNotGiven),
            (Mark::Unanswered, Phrase::PictureUnanswered),
        ] {
            if count(mark) > 0 {
                counts.push(self.say(phrase, &[("count", count(mark).into())]));
            }
        }
        let (counts, size) = fit(&counts.join(" · "), 34, 20, Weight::Bold, SPAN);
        canvas.text(MARGIN, 118, Type::bold(size), &counts);
        let shown = |at: Instant| Value::from(self.household.shown(at));
        let mut line = self.say(Phrase::PictureNow, &[("now", shown(self.now))]);
        if let (false, Some((first, last))) = (self.is_all, self.shown_doses()) {
            let facts = [("first", shown(first)), ("last", shown(last))];
            line = format!("{line}. {}", self.say(Phrase::PictureSpan, &facts));
        }
        let (line, size) = fit(&line, 27, 18, Weight::Regular, SPAN);
        canvas.text(MARGIN, 158, Type::regular(size).ink(Ink::Grey), &line);
    }

    /// The planned times of the first and the last dose in the picture.
    fn shown_doses(&self) -> Option<(Instant, Instant)> {
        let (first, last) = (self.bands.first()?.first, self.bands.last()?.last);
        let mut doses = self.doses.range(first..=last).flat_map(|(_, doses)| doses);
        let first = doses.next()?.planned.at;
        Some((
            first,
            doses.next_back().map_or(first, |dose| dose.planned.at),
        ))
    }

    fn draw_band(&self, canvas: &mut Canvas, y: i64, band: &Band) {
        let (style, cell) = (self.style, self.cell());
        let today = self.household.shown(self.now).date_naive();
        let body = style.dose * band.rows;
        let lanes = (style.label + style.level) * band.lane_count();
        let mut day = band.first;
        let mut x = MARGIN;
        while day <= band.last {
            let weekday = self
                .wording
                .weekday(day.weekday(), &self.household.language);
            let words = if day == band.first || day.day() == 1 {
                let month = self.wording.month(day.month(), &self.household.language);
                format!("{} {month}", day.day())
            } else {
                day.day().to_string()
            };
            let words = if style == WEEK {
                format!("{weekday} {words}")
            } else {
                words
            };
            let (words, size) = fit(&words, style.text + 2, 14, Weight::Bold, cell - 8);
            let ink = if day == today {
                let tab = Rect::new(x + 2, y + 8, cell - 4, style.head - 8);
                canvas.rect(tab, Area::filled(Ink::Black).radius(8));
                Ink::White
            } else if self.doses.contains_key(&day) {
                Ink::Black
            } else {
                Ink::Light
            };
            let look = Type::bold(size).at(Anchor::Middle).ink(ink);
            canvas.text(x + cell / 2, y + style.head - 12, look, &words);
            if style != WEEK {
                let look = Type::regular(19).at(Anchor::Middle).ink(ink);
                canvas.text(x + cell / 2, y + 32, look, &weekday);
            }
            let column = Rect::new(x, y + style.head, cell, body + lanes);
            canvas.rect(column, Area::edged(1, Ink::Light));
            for (row, dose) in (0..).zip(self.doses.get(&day).into_iter().flatten()) {
                let top = y + style.head + style.dose * row;
                let rect = Rect::new(x, top, cell, style.dose);
                self.draw_dose(canvas, rect, dose);
            }
            x += cell;
            day += TimeDelta::days(1);
        }
        let below = y + style.head + body;
        canvas.line((MARGIN, below), (x, below), 2, Ink::Grey);
        for (n, lane) in &band.lanes {
            let top = below + (style.label + style.level) * lane;
            self.draw_vial(canvas, top, band, &self.vials[*n]);
        }
        if (band.first..=band.last).contains(&today) {
            let x = self.x(band, self.now);
            let line = [(x, below), (x, below + lanes)];
            canvas.path(&line, Area::edged(4, Ink::Black).dash(10));
        }
    }

    fn draw_dose(&self, canvas: &mut Canvas, rect: Rect, dose: &Shown) {
        if matches!(dose.mark, Mark::NotGiven | Mark::Unanswered) {
            canvas.hatch(rect.inset(3), 12, 3, Ink::Light);
        }
        let style = self.style;
        let planned = self.time(dose.planned.at);
        let given = dose.given_at.map(|at| self.time(at));
        let (x, anchor, mut y, room);
        if style == WEEK {
            draw_mark(
                canvas,
                (rect.x + style.symbol + 8, rect.y + rect.h / 2),
                style.symbol,
                dose.mark,
            );
            x = rect.x + 2 * style.symbol + 16;
            (anchor, room) = (Anchor::Start, rect.right() - x - 3);
            y = rect.y + rect.h / 2 + if given.is_some() { -6 } else { 9 };
        } else {
            let middle = rect.x + rect.w / 2;
            draw_mark(
                canvas,
                (middle, rect.y + style.symbol + 10),
                style.symbol,
                dose.mark,
            );
            x = middle;
            (anchor, room) = (Anchor::Middle, rect.w - 6);
            y = rect.y + 2 * style.symbol + 36;
        }
        let backed = matches!(dose.mark, Mark::NotGiven | Mark::Unanswered);
        let (planned, size) = fit(&planned, style.text, 13, Weight::Regular, room);
        if backed {
            let wide = width(&planned, size, Weight::Regular) + 8;
            let left = if anchor == Anchor::Middle {
                x - wide / 2
            } else {
                x - 4
            };
            let back = Rect::new(left, y - size, wide, size + 8);
            canvas.rect(back, Area::filled(Ink::White));
        }
        canvas.text(x, y, Type::regular(size).at(anchor), &planned);
        if let Some(given) = given {
            y += style.text + 6;
            let (given, size) = fit(&given, style.text, 13, Weight::Bold, room);
            canvas.text(x, y, Type::bold(size).at(anchor), &given);
        }
    }

    fn draw_vial(&self, canvas: &mut Canvas, top: i64, band: &Band, vial: &Span) {
        let style = self.style;
        let floor = top + style.label + style.level - 2;
        let full = self
            .course
            .product
            .available
            .millionths()
            .max(
                vial.levels
                    .iter()
                    .map(|l| l.left.millionths())
                    .max()
                    .unwrap_or(0),
            )
            .max(1);
        let height = |left: Volume| (style.level - 6) * left.millionths() / full;
        let in_band = |at: Instant| {
            let day = self.household.shown(at).date_naive();
            (band.first..=band.last).contains(&day)
        };
        let mut outline: Vec<(i64, i64)> = Vec::new();
        for level in &vial.levels {
            let (from, until) = (self.x(band, level.from), self.x(band, level.until));
            if until <= from && !in_band(level.from) {
                continue;
            }
            let roof = floor - height(level.left);
            let known = self.x(band, level.until.min(self.now).max(level.from));
            canvas.rect(
                Rect::new(from, roof, known - from, floor - roof),
                Area::filled(Ink::Pale),
            );
            outline.extend([(from, roof), (until, roof)]);
            let words = self.wording.volume(level.left, &self.household.language);
            let words = words.trim_end_matches(" mL");
            let size = style.text - 2;
            // Above the line where there is room below the vial's name, else under it.
            let y = if roof - 5 - size >= top + style.label {
                roof - 5
            } else {
                roof + size + 2
            };
            if width(words, size, Weight::Regular) + 6 <= until - from {
                canvas.text(from + 5, y, Type::regular(size), words);
            }
        }
        canvas.path(&outline, Area::edged(4, Ink::Black));
        if let (Some((from, _)), Some((until, _))) = (outline.first(), outline.last()) {
            canvas.line((*from, floor), (*until, floor), 2, Ink::Black);
        }
        if let Some(from) = vial.from() {
            let x = self.x(band, from);
            if in_band(from) {
                canvas.line((x, floor), (x, top + style.label), 4, Ink::Black);
            }
            let name = self.say(Phrase::PictureVial, &[("vial", vial.no.into())]);
            let size = style.text - 2;
            let most = MARGIN + SPAN - width(&name, size, Weight::Bold);
            let y = top + style.label - 6;
            canvas.text((x + 2).min(most), y, Type::bold(size), &name);
        }
        if let Some(until) = vial.until().filter(|until| in_band(*until)) {
            let x = self.x(band, until);
            draw_end(canvas, (x, floor), style.level - 4, vial.end);
        }
    }

    fn draw_key(&self, canvas: &mut Canvas, y: i64) {
        canvas.line((MARGIN, y), (WIDTH - MARGIN, y), 2, Ink::Grey);
        let middle = y + 52;
        let entries = [
            (Some(Mark::Given), Phrase::PictureKeyGiven),
            (Some(Mark::NotGiven), Phrase::PictureKeyNotGiven),
            (Some(Mark::Unanswered), Phrase::PictureKeyUnanswered),
            (Some(Mark::Planned), Phrase::PictureKeyPlanned),
            (None, Phrase::PictureKeyLimit),
        ];
        let mut x = MARGIN;
        for (mark, phrase) in entries {
            match mark {
                Some(mark) => draw_mark(canvas, (x + 22, middle), 20, mark),
                None => draw_end(canvas, (x + 22, middle + 20), 40, End::Limit),
            }
            let words = self.say(phrase, &[]);
            let room = SPAN / 5 - 54;
            let (words, size) = fit(&words, 26, 16, Weight::Regular, room);
            canvas.text(x + 50, middle + 9, Type::regular(size), &words);
            x += SPAN / 5;
        }
        let clinic = &self.policy.clinic;
        let vials = self.say(Phrase::PictureVials, &[]);
        let words = format!("{vials} · {}: {}", clinic.name, clinic.phone);
        let (words, size) = fit(&words, 24, 14, Weight::Regular, SPAN);
        canvas.text(MARGIN, y + 112, Type::regular(size).ink(Ink::Grey), &words);
    }
}

fn shown(household: &Household, course: &Course, dose: No) -> Shown {
    let (mark, given_at) = match household.outcome(course, dose) {
        Outcome::Open => (Mark::Planned, None),
        Outcome::Unanswered => (Mark::Unanswered, None),
        Outcome::Recorded(record) if record.status == Status::Completed => {
            (Mark::Given, Some(record.at))
        }
        Outcome::Recorded(_) => (Mark::NotGiven, None),
    };
    Shown {
        planned: course.planned(dose, household.zone),
        mark,
        given_at,
    }
}

fn span(household: &Household, course: &Course, vial: &Vial) -> Span {
    let mut draws: Vec<(Instant, Volume)> = household
        .administrations
        .values()
        .filter(|a| a.in_force() && a.course == course.no)
        .flat_map(|a| a.draws.iter().map(move |draw| (a.at, draw)))
        .filter(|(_, draw)| draw.vial == Some(vial.no))
        .map(|(at, draw)| (at.max(vial.mixed_at), draw.volume.plus(draw.lost)))
        .collect();
    draws.sort();
    let (end_at, mut end) = match &vial.discarded {
        Some(discarded) => (discarded.at, End::Discarded),
        None => (vial.discard_by, End::Limit),
    };
    let mut levels = Vec::new();
    let mut from = vial.mixed_at;
    let mut left = vial.available;
    for (at, volume) in draws {
        levels.push(Level {
            from,
            until: at.max(from),
            left,
        });
        from = at.max(from);
        left = left.less(volume);
    }
    if left.is_zero() {
        end = End::Empty;
    } else {
        levels.push(Level {
            from,
            until: end_at.max(from),
            left,
        });
    }
    Span {
        no: vial.no,
        levels,
        end,
    }
}

fn draw_mark(canvas: &mut Canvas, (x, y): (i64, i64), r: i64, mark: Mark) {
    let square = Rect::new(x - r, y - r, 2 * r, 2 * r);
    match mark {
        Mark::Given => {
            canvas.circle(x, y, r, Area::filled(Ink::Black));
            let tick = [
                (x - r / 2, y),
                (x - r / 8, y + r * 4 / 10),
                (x + r / 2, y - r * 4 / 10),
            ];
            canvas.path(&tick, Area::edged((r / 5).max(3), Ink::White));
        }
        Mark::NotGiven => {
            canvas.rect(square, Area::edged(5, Ink::Black).fill(Ink::White));
            let q = r * 6 / 10;
            canvas.line((x - q, y - q), (x + q, y + q), 6, Ink::Black);
            canvas.line((x - q, y + q), (x + q, y - q), 6, Ink::Black);
        }
        Mark::Unanswered => {
            canvas.rect(square, Area::edged(4, Ink::Black).fill(Ink::White).dash(7));
            let look = Type::bold(r * 3 / 2).at(Anchor::Middle);
            canvas.text(x, y + r / 2, look, "?");
        }
        Mark::Planned => canvas.circle(x, y, r * 6 / 10, Area::edged(3, Ink::Grey)),
    }
}

/// The end of a vial at the foot of its lane.
fn draw_end(canvas: &mut Canvas, (x, floor): (i64, i64), height: i64, end: End) {
    match end {
        End::Empty => canvas.line((x, floor), (x, floor - height / 3), 4, Ink::Black),
        End::Discarded => {
            let (q, y) = (height / 4, floor - height / 3);
            canvas.line((x - q, y - q), (x + q, y + q), 5, Ink::Black);
            canvas.line((x - q, y + q), (x + q, y - q), 5, Ink::Black);
        }
        End::Limit => {
            canvas.line((x, floor), (x, floor - height), 5, Ink::Black);
            let flag = [
                (x, floor - height),
                (x - height / 3, floor - height + height / 5),
                (x, floor - height + 2 * height / 5),
            ];
            canvas.path(&flag, Area::filled(Ink::Black));
        }
    }
}
