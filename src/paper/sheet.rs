//! The take-home sheet: one page that stands on its own if the phone is lost.

use super::canvas::{Anchor, Area, Canvas, Ink, Rect, Type};
use super::render::{DrawingError, pdf};
use super::table::Table;
use super::text::{Weight, drawable, fit, wrap};
use super::{qr, syringe};
use crate::domain::Instant;
use crate::domain::forecast::forecast;
use crate::domain::household::{Course, Household};
use crate::domain::message::{No, Value};
use crate::domain::policy::{Policy, Syringe};
use crate::domain::quantity::Volume;
use crate::domain::question::StepTopic;
use crate::domain::supplies::containers;
use crate::domain::timing::Plan;
use crate::wording::{Phrase, Wording};

/// What a sheet is made from.
#[derive(Clone, Copy)]
pub struct SheetInput<'a> {
    /// The home, in whose language and zone the sheet is written.
    pub household: &'a Household,
    /// The course that the sheet is about.
    pub course: &'a Course,
    /// The clinic's rules and its protocol.
    pub policy: &'a Policy,
    /// The words.
    pub wording: &'a Wording,
    /// The invitation whose link is printed, where there is one.
    pub invitation: Option<Invitation<'a>>,
    /// When it is printed.
    pub now: Instant,
}

/// An invitation by link.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Invitation<'a> {
    /// The link.
    pub link: &'a str,
    /// Until when it may be used.
    pub until: Instant,
}

// As wide as A4 (210 mm) and as high as US Letter (11 inches), so that either
// paper takes the page at its full size. All lengths are tenths of a point.
const PAGE_WIDTH: i64 = 5953;
const PAGE_HEIGHT: i64 = 7920;
const PAGE: Rect = Rect::new(0, 0, PAGE_WIDTH, PAGE_HEIGHT).inset(300);
const GUTTER: i64 = 240;
const TABLE_MOST: i64 = 1800;
/// Below this the clinic's steps are no longer read at arm's length.
const SMALLEST_STEP: i64 = 76;

/// The take-home sheet as a PDF of one page, fonts embedded, in the owner's language.
///
/// It holds for the plan of the next dose after `now`, from that plan's first
/// dose to its last; the table says where it ends when a course is too long for one page.
///
/// # Errors
/// Only for a mistake of ours in the drawing.
pub fn sheet(input: &SheetInput<'_>) -> Result<Vec<u8>, DrawingError> {
    let writer = Writer::new(input);
    let mut canvas = Canvas::new(PAGE_WIDTH, PAGE_HEIGHT);
    let after_head = writer.head(&mut canvas, PAGE.y);
    let after_dose = writer.dose(&mut canvas, after_head + 80);
    let after_vial = writer.vial(&mut canvas, after_dose + 80);

    // The page is filled from both ends; the clinic's steps take what is between.
    let foot = writer.foot(&mut canvas, PAGE.bottom());
    let mut scratch = Canvas::new(PAGE_WIDTH, PAGE_HEIGHT);
    let notes = foot - 50 - writer.notes(&mut scratch, 0);
    writer.notes(&mut canvas, notes);
    let table = writer.table(&mut canvas, notes - 80);
    let room = Rect::new(
        PAGE.x,
        after_vial + 50,
        PAGE.w,
        table - 100 - (after_vial + 50),
    );
    writer.steps(&mut canvas, room);
    let household = input.household;
    let title = format!(
        "{}: {}",
        writer.say(Phrase::SheetKind, &[]),
        drawable(household.patient_of(input.course))
    );
    pdf(&canvas, &title, &household.language)
}

struct Writer<'a> {
    household: &'a Household,
    course: &'a Course,
    policy: &'a Policy,
    wording: &'a Wording,
    invitation: Option<Invitation<'a>>,
    now: Instant,
    plan: &'a Plan,
    /// The first and the last dose that the sheet holds for.
    doses: (No, No),
}

/// Words under each other, each line at its own look.
struct Column<'c> {
    canvas: &'c mut Canvas,
    x: i64,
    y: i64,
    w: i64,
}

impl Column<'_> {
    fn heading(&mut self, words: &str) {
        let (words, size) = fit(words, 115, 70, Weight::Bold, self.w);
        self.y += 115;
        self.canvas.text(self.x, self.y, Type::bold(size), &words);
        self.y += 30;
    }

    fn paragraph(&mut self, look: Type, words: &str) {
        for line in wrap(words, look.size, look.weight, self.w) {
            self.y += leading(look.size);
            self.canvas.text(self.x, self.y, look, &line);
        }
    }

    /// With a dash that hangs to the left of its lines.
    fn item(&mut self, look: Type, words: &str) {
        let indent = look.size * 11 / 10;
        for (n, line) in wrap(words, look.size, look.weight, self.w - indent)
            .iter()
            .enumerate()
        {
            self.y += leading(look.size);
            if n == 0 {
                self.canvas.text(self.x, self.y, look, "–");
            }
            self.canvas.text(self.x + indent, self.y, look, line);
        }
        self.y += look.size / 6;
    }
}

const fn leading(size: i64) -> i64 {
    size * 128 / 100
}

impl<'a> Writer<'a> {
    fn new(input: &SheetInput<'a>) -> Writer<'a> {
        let SheetInput {
            household,
            course,
            policy,
            wording,
            invitation,
            now,
        } = *input;
        let to_come = course
            .dose_numbers()
            .find(|dose| course.planned(*dose, household.zone).at >= now);
        let plan = course.plan(to_come.unwrap_or(course.doses));
        let last = course
            .plans
            .iter()
            .find(|next| next.from > plan.from)
            .map_or(course.doses, |next| next.from.saturating_sub(1));
        Writer {
            household,
            course,
            policy,
            wording,
            invitation,
            now,
            plan,
            doses: (plan.from, last.max(plan.from)),
        }
    }

    fn language(&self) -> &'a str {
        &self.household.language
    }

    fn say(&self, phrase: Phrase, facts: &[(&str, Value)]) -> String {
        self.wording.phrase(phrase, facts, self.language())
    }

    fn volume(&self, volume: Volume) -> String {
        self.wording.volume(volume, self.language())
    }

    /// The number of mL alone, for a scale and for the clinic's own steps.
    fn number(&self, volume: Volume) -> String {
        self.volume(volume).trim_end_matches(" mL").to_owned()
    }

    fn at(&self, at: Instant) -> Value {
        self.household.shown(at).into()
    }

    fn head(&self, canvas: &mut Canvas, y: i64) -> i64 {
        let clinic = &self.policy.clinic;
        let phones = Rect::new(PAGE.right() - 2150, y, 2150, 760);
        let left = phones.x - PAGE.x - GUTTER;
        let kind = self.say(Phrase::SheetKind, &[]);
        let over = format!("{kind} · {}", clinic.name);
        let (over, size) = fit(&over, 105, 60, Weight::Regular, left);
        canvas.text(PAGE.x, y + 90, Type::regular(size).ink(Ink::Grey), &over);
        let name = self.household.patient_of(self.course);
        let name = drawable(name);
        let (line, size) = fit(&name, 420, 200, Weight::Bold, left);
        if line == name {
            canvas.text(PAGE.x, y + 500, Type::bold(size), &name);
        } else {
            let lines = wrap(&name, 180, Weight::Bold, left);
            let (first, rest) = lines.split_first().map_or(("", &[][..]), |(f, r)| (f, r));
            canvas.text(PAGE.x, y + 310, Type::bold(180), first);
            let (rest, size) = fit(&rest.join(" "), 180, 110, Weight::Bold, left);
            canvas.text(PAGE.x, y + 520, Type::bold(size), &rest);
        }
        if let Some(patient) = self.household.patients.get(&self.course.patient) {
            let words = self.say(
                Phrase::SheetFor,
                &[
                    ("species", patient.species.as_str().into()),
                    ("weight", patient.weight.as_str().into()),
                    ("owner", self.household.owner.as_str().into()),
                ],
            );
            let (words, size) = fit(&words, 120, 70, Weight::Regular, left);
            canvas.text(PAGE.x, y + 710, Type::regular(size), &words);
        }
        canvas.rect(phones, Area::edged(16, Ink::Black).radius(50));
        let mut row = |top: i64, label: Phrase, phone: &str| {
            let x = phones.x + 110;
            let label = self.say(label, &[]);
            let (label, size) = fit(&label, 100, 60, Weight::Regular, phones.w - 220);
            canvas.text(x, top + 100, Type::regular(size), &label);
            let (phone, size) = fit(phone, 240, 90, Weight::Bold, phones.w - 220);
            canvas.text(x, top + 320, Type::bold(size), &phone);
        };
        match &clinic.emergency_phone {
            Some(emergency) => {
                row(y + 20, Phrase::SheetCall, &clinic.phone);
                row(y + 375, Phrase::SheetCallClosed, emergency);
            }
            None => row(y + 200, Phrase::SheetCall, &clinic.phone),
        }
        phones.bottom()
    }

    fn dose(&self, canvas: &mut Canvas, y: i64) -> i64 {
        let frame = Rect::new(PAGE.x, y, PAGE.w, 1110);
        canvas.rect(frame, Area::edged(28, Ink::Black).radius(70));
        let inner = frame.inset(120);
        let left = 1950;
        let each = self.say(Phrase::SheetEachDose, &[]);
        canvas.text(inner.x, inner.y + 100, Type::regular(130), &each);
        let dose = self.volume(self.plan.volume);
        let (dose, size) = fit(&dose, 640, 200, Weight::Bold, left);
        canvas.text(inner.x, inner.y + 630, Type::bold(size), &dose);
        let times = Value::Times(self.plan.times.clone());
        let times = self.say(Phrase::SheetAt, &[("times", times)]);
        let (line, size) = fit(&times, 130, 100, Weight::Bold, left);
        if line == times {
            canvas.text(inner.x, inner.y + 835, Type::bold(size), &line);
        } else {
            let mut column = Column {
                canvas,
                x: inner.x,
                y: inner.y + 650,
                w: left,
            };
            column.paragraph(Type::bold(85), &times);
        }

        let x = inner.x + left + GUTTER;
        let drawn = self.syringe();
        let caption = self.say(Phrase::SheetSyringe, &[("syringe_ml", drawn.size.into())]);
        let mark = self.say(Phrase::SheetMark, &[("mark_ml", self.plan.volume.into())]);
        let caption = format!("{caption}: {mark}");
        let (caption, size) = fit(&caption, 130, 80, Weight::Regular, inner.right() - x);
        canvas.text(x, inner.y + 100, Type::regular(size), &caption);
        let rect = Rect::new(x, inner.y + 380, inner.right() - x, 330);
        syringe::draw(canvas, rect, drawn, self.plan.volume, |volume| {
            self.number(volume)
        });

        let ordered = self.say(
            Phrase::SheetOrdered,
            &[
                ("product", self.course.product.name.as_str().into()),
                ("ordered", self.course.ordered.as_str().into()),
                ("veterinarian", self.course.veterinarian.as_str().into()),
            ],
        );
        let (first, last) = self.doses;
        let planned = |dose| self.course.planned(dose, self.household.zone).shown();
        let course = self.say(
            Phrase::SheetCourse,
            &[
                ("doses", (last + 1 - first).into()),
                ("first", planned(first).into()),
                ("last", planned(last).into()),
            ],
        );
        let mut bottom = frame.bottom() + 40;
        for words in [ordered, course] {
            bottom += 122;
            let (words, size) = fit(&words, 100, 60, Weight::Regular, PAGE.w);
            canvas.text(PAGE.x, bottom, Type::regular(size), &words);
        }
        bottom
    }

    /// The syringe as the clinic lists it; one with the course's size and no
    /// finer marks than the dose where the clinic no longer lists it.
    fn syringe(&self) -> Syringe {
        let size = self.course.syringe;
        let listed = self.policy.syringes.iter().find(|s| s.size == size);
        listed.copied().unwrap_or(Syringe {
            size,
            graduation: self.plan.volume,
        })
    }

    fn vial(&self, canvas: &mut Canvas, y: i64) -> i64 {
        let product = &self.course.product;
        let heading = self.say(Phrase::SheetVial, &[]);
        let diluent = self.say(
            Phrase::SheetDiluent,
            &[
                ("diluent_ml", product.diluent_volume.into()),
                ("diluent", product.diluent.as_str().into()),
                ("available_ml", product.available.into()),
            ],
        );
        let hours = product.refrigerated_hours;
        let mut facts = vec![("hours", Value::from(hours))];
        if hours > 24 && hours.is_multiple_of(24) {
            facts.push(("days", (hours / 24).into()));
        }
        let discard = self.say(Phrase::SheetDiscard, &facts);
        let label = 760;
        let half = (PAGE.w - label - GUTTER) / 2;
        let top = y + 25;
        canvas.line((PAGE.x, y), (PAGE.right(), y), 10, Ink::Black);
        let (heading, size) = fit(&heading, 140, 80, Weight::Bold, label - 60);
        canvas.text(PAGE.x, top + 130, Type::bold(size), &heading);
        let mut bottom = top + 130;
        for (x, words) in [
            (PAGE.x + label, diluent),
            (PAGE.x + label + half + GUTTER, discard),
        ] {
            let mut column = Column {
                canvas,
                x,
                y: top,
                w: half,
            };
            for (n, line) in words.lines().enumerate() {
                // What to add and when to discard are what an owner looks for.
                let is_figure = n == 0 || line.contains(|c: char| c.is_ascii_digit());
                let look = if is_figure {
                    Type::bold(104)
                } else {
                    Type::regular(104)
                };
                column.paragraph(look, line);
            }
            bottom = bottom.max(column.y);
        }
        canvas.line(
            (PAGE.x, bottom + 55),
            (PAGE.right(), bottom + 55),
            10,
            Ink::Black,
        );
        bottom + 55
    }

    /// The foot of the page; gives where it begins.
    fn foot(&self, canvas: &mut Canvas, bottom: i64) -> i64 {
        let words = self.say(
            Phrase::SheetPrinted,
            &[
                ("printed", self.at(self.now)),
                ("clinic", self.policy.clinic.name.as_str().into()),
            ],
        );
        let (words, size) = fit(&words, 82, 50, Weight::Regular, PAGE.w);
        canvas.text(PAGE.x, bottom, Type::regular(size).ink(Ink::Grey), &words);
        bottom - 82
    }

    /// Supplies, cautions and the invitation, from `y` down; gives where they end.
    fn notes(&self, canvas: &mut Canvas, y: i64) -> i64 {
        canvas.line((PAGE.x, y), (PAGE.right(), y), 10, Ink::Black);
        let code = self
            .invitation
            .and_then(|invitation| Some((invitation, qr::square(invitation.link)?)));
        let code_width = if code.is_some() { 980 } else { 0 };
        let columns = PAGE.w - code_width - GUTTER;
        let supplies = columns * 46 / 100;
        let look = Type::regular(90);
        let mut column = Column {
            canvas,
            x: PAGE.x,
            y: y + 30,
            w: supplies,
        };
        column.heading(&self.say(Phrase::SheetSupplies, &[]));
        for words in self.supplies() {
            column.item(look, &words);
        }
        let mut bottom = column.y;
        let mut column = Column {
            canvas,
            x: PAGE.x + supplies + GUTTER,
            y: y + 30,
            w: columns - supplies - if code.is_some() { GUTTER } else { 0 },
        };
        column.heading(&self.say(Phrase::SheetCautions, &[]));
        for words in self.say(Phrase::SheetCautionLines, &[]).lines() {
            column.item(look, words);
        }
        bottom = bottom.max(column.y);
        if let Some((invitation, code)) = code {
            let x = PAGE.right() - code_width;
            let side = qr::draw(canvas, (x, y + 20), code_width - 240, &code);
            let mut column = Column {
                canvas,
                x,
                y: y + side - 20,
                w: code_width,
            };
            column.paragraph(Type::bold(80), &self.say(Phrase::SheetScan, &[]));
            let until = self.at(invitation.until);
            let until = self.say(Phrase::SheetScanUntil, &[("until", until)]);
            column.paragraph(Type::regular(80), &until);
            bottom = bottom.max(column.y);
        }
        bottom
    }

    fn supplies(&self) -> Vec<String> {
        let forecast = forecast(self.household, self.course, &self.policy.vial, self.now);
        let needed = forecast.supplies();
        let mut lines = Vec::new();
        if needed.vials > 0 {
            lines.push(self.say(
                Phrase::SheetSupplyVials,
                &[
                    ("vials", needed.vials.into()),
                    ("diluent_ml", self.course.product.diluent_volume.into()),
                ],
            ));
        }
        lines.push(self.say(
            Phrase::SheetSupplySyringes,
            &[
                ("syringes", needed.syringes.into()),
                ("syringe_ml", self.course.syringe.into()),
            ],
        ));
        lines.push(self.say(
            Phrase::SheetSupplyNeedles,
            &[("needles", needed.needles.into())],
        ));
        if needed.mixing_syringes > 0 {
            lines.push(self.say(
                Phrase::SheetSupplyMixing,
                &[("syringes", needed.mixing_syringes.into())],
            ));
        }
        let sizes = &self.policy.supply.containers;
        if let Some((container, pieces)) = containers(needed.sharps(), sizes) {
            let size = Value::from(container.size.as_str());
            let facts = [("containers", pieces.into()), ("size", size)];
            lines.push(self.say(Phrase::SheetSupplySharps, &facts));
        }
        lines
    }

    /// The table with its heading, its foot at `bottom`; gives where it begins.
    fn table(&self, canvas: &mut Canvas, bottom: i64) -> i64 {
        let (first, last) = self.doses;
        let table = Table::plan(self.plan, first, last, self.household.zone, TABLE_MOST);
        let ends = table.ends_before_plan();
        let note = ends.map_or(0, |_| 150);
        let top = bottom - note - table.height();
        let heading = self.say(Phrase::SheetTable, &[]);
        let how = self.say(Phrase::SheetTableHow, &[]);
        canvas.text(PAGE.x, top - 60, Type::bold(140), &heading);
        let x = PAGE.x + 620;
        let (how, size) = fit(&how, 105, 70, Weight::Regular, PAGE.right() - x);
        canvas.text(x, top - 60, Type::regular(size), &how);
        let place = (PAGE.x, top, PAGE.w);
        table.draw(canvas, place, self.wording, self.language());
        if let Some(last) = ends {
            let words = self.say(Phrase::SheetTableEnds, &[("last", last.shown().into())]);
            let (words, size) = fit(&words, 110, 70, Weight::Bold, PAGE.w);
            canvas.text(PAGE.x, bottom, Type::bold(size), &words);
        }
        top - 60 - 140
    }

    /// The clinic's own steps on a topic, with the order's figures filled in;
    /// by the same rule as the answer to “how do I mix”.
    fn protocol(&self, topic: StepTopic) -> Option<Vec<String>> {
        let product = &self.course.product.key;
        let found = self.policy.protocol_for(topic, self.language(), product)?;
        let diluent = self.number(self.course.product.diluent_volume);
        let volume = self.number(self.plan.volume);
        let steps = 0..found.steps.len();
        steps
            .map(|step| found.step(step, &diluent, &volume))
            .collect()
    }

    fn steps(&self, canvas: &mut Canvas, room: Rect) {
        let phone = [("phone", Value::from(self.policy.clinic.phone.as_str()))];
        let topics = [
            (Phrase::SheetMixing, StepTopic::Mixing),
            (Phrase::SheetDrawingUp, StepTopic::DrawingUp),
            (Phrase::SheetInjecting, StepTopic::Injecting),
            (Phrase::SheetSharps, StepTopic::Sharps),
        ];
        let blocks: Vec<Block> = topics
            .into_iter()
            .map(|(heading, topic)| Block {
                heading: self.say(heading, &[]),
                steps: self.protocol(topic),
                otherwise: self.say(Phrase::SheetNoSteps, &phone),
            })
            .collect();
        let width = (room.w - GUTTER) / 2;
        let mut shown = blocks.len();
        let mut size = 108;
        let columns = loop {
            let lines: Vec<Vec<Line>> = blocks[..shown]
                .iter()
                .enumerate()
                .flat_map(|(n, block)| block.items(n == 0, size, width))
                .collect();
            if let Some(columns) =
                split(&lines, room.h - if shown < blocks.len() { 150 } else { 0 })
            {
                break Some(columns);
            }
            if size > SMALLEST_STEP {
                size -= 2;
            } else if shown > 1 {
                (shown, size) = (shown - 1, 108);
            } else {
                break None;
            }
        };
        if columns.is_none() || shown < blocks.len() {
            let words = self.say(Phrase::SheetMoreSteps, &phone);
            let (words, size) = fit(&words, 100, 70, Weight::Regular, room.w);
            canvas.text(room.x, room.bottom(), Type::regular(size), &words);
        }
        for (n, lines) in (0..).zip(columns.into_iter().flatten()) {
            let x = room.x + (width + GUTTER) * n;
            let mut y = room.y;
            for line in lines {
                y += line.before;
                line.draw(canvas, x, y, size);
            }
        }
    }
}

/// The steps of one topic.
struct Block {
    heading: String,
    steps: Option<Vec<String>>,
    otherwise: String,
}

/// One line of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Line {
    /// From the base line before it.
    before: i64,
    number: Option<usize>,
    weight: Weight,
    indent: i64,
    words: String,
}

impl Line {
    fn draw(&self, canvas: &mut Canvas, x: i64, y: i64, size: i64) {
        let look = Type {
            weight: self.weight,
            ..Type::regular(size)
        };
        if let Some(number) = self.number {
            let look = Type::bold(size).at(Anchor::End);
            canvas.text(
                x + self.indent - size * 5 / 10,
                y,
                look,
                &number.to_string(),
            );
        }
        canvas.text(x + self.indent, y, look, &self.words);
    }
}

impl Block {
    /// What is not torn apart: the heading with the first step, each further step.
    fn items(&self, is_first: bool, size: i64, width: i64) -> Vec<Vec<Line>> {
        let line = |words: String| Line {
            before: leading(size),
            number: None,
            weight: Weight::Regular,
            indent: 0,
            words,
        };
        let heading = Line {
            before: leading(size) + if is_first { 0 } else { size * 8 / 10 },
            weight: Weight::Bold,
            ..line(self.heading.clone())
        };
        let Some(steps) = &self.steps else {
            let mut item = vec![heading];
            item.extend(
                wrap(&self.otherwise, size, Weight::Regular, width)
                    .into_iter()
                    .map(line),
            );
            return vec![item];
        };
        let indent = size * 16 / 10;
        let mut items: Vec<Vec<Line>> = (1..)
            .zip(steps)
            .map(|(number, step)| {
                let mut item: Vec<Line> = wrap(step, size, Weight::Regular, width - indent)
                    .into_iter()
                    .map(|words| Line {
                        indent,
                        ..line(words)
                    })
                    .collect();
                if let Some(first) = item.first_mut() {
                    first.number = Some(number);
                    first.before += size / 5;
                }
                item
            })
            .collect();
        if let Some(first) = items.first_mut() {
            first.insert(0, heading);
        }
        items
    }
}

/// Items in two columns, read down and then across, of the least height; none
/// where they do not fit.
fn split(items: &[Vec<Line>], most: i64) -> Option<[Vec<Line>; 2]> {
    let height =
        |items: &[Vec<Line>]| -> i64 { items.iter().flatten().map(|line| line.before).sum() };
    let cut =
        (0..=items.len()).min_by_key(|cut| height(&items[..*cut]).max(height(&items[*cut..])))?;
    let (left, right) = items.split_at(cut);
    (height(left).max(height(right)) <= most).then(|| [left.concat(), right.concat()])
}
