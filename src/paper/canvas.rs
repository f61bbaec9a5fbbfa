//! A drawing in whole units, kept as SVG text.

use super::text::{FAMILY, Weight, drawable, runs};
use std::fmt::Write as _;

/// How dark. Nothing is told by shade alone: papers are copied and printed in
/// black and white.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    Black,
    Grey,
    Light,
    Pale,
    White,
}

impl Ink {
    const fn colour(self) -> &'static str {
        match self {
            Ink::Black => "#111111",
            Ink::Grey => "#555555",
            Ink::Light => "#aaaaaa",
            Ink::Pale => "#eeeeee",
            Ink::White => "#ffffff",
        }
    }
}

/// Where words stand at their point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// How words look.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Type {
    pub(super) size: i64,
    pub(super) weight: Weight,
    pub(super) anchor: Anchor,
    pub(super) ink: Ink,
}

impl Type {
    pub(super) const fn regular(size: i64) -> Type {
        Type {
            size,
            weight: Weight::Regular,
            anchor: Anchor::Start,
            ink: Ink::Black,
        }
    }

    pub(super) const fn bold(size: i64) -> Type {
        Type {
            weight: Weight::Bold,
            ..Type::regular(size)
        }
    }

    pub(super) const fn at(self, anchor: Anchor) -> Type {
        Type { anchor, ..self }
    }

    pub(super) const fn ink(self, ink: Ink) -> Type {
        Type { ink, ..self }
    }
}

/// How an area looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Area {
    pub(super) fill: Option<Ink>,
    /// Width and ink of the edge.
    pub(super) edge: Option<(i64, Ink)>,
    /// Length of the dashes of the edge.
    pub(super) dash: Option<i64>,
    /// Radius of the corners.
    pub(super) radius: i64,
}

impl Area {
    pub(super) const fn filled(ink: Ink) -> Area {
        Area {
            fill: Some(ink),
            edge: None,
            dash: None,
            radius: 0,
        }
    }

    pub(super) const fn edged(width: i64, ink: Ink) -> Area {
        Area {
            fill: None,
            edge: Some((width, ink)),
            dash: None,
            radius: 0,
        }
    }

    pub(super) const fn fill(self, ink: Ink) -> Area {
        Area {
            fill: Some(ink),
            ..self
        }
    }

    pub(super) const fn dash(self, length: i64) -> Area {
        Area {
            dash: Some(length),
            ..self
        }
    }

    pub(super) const fn radius(self, radius: i64) -> Area {
        Area { radius, ..self }
    }

    fn attributes(self) -> String {
        let fill = self.fill.map_or("none", Ink::colour);
        let mut text = format!("fill=\"{fill}\"");
        if let Some((width, ink)) = self.edge {
            let colour = ink.colour();
            let _ = write!(text, " stroke=\"{colour}\" stroke-width=\"{width}\"");
        }
        if let Some(dash) = self.dash {
            let _ = write!(text, " stroke-dasharray=\"{dash} {dash}\"");
        }
        text
    }
}

/// A rectangle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Rect {
    pub(super) x: i64,
    pub(super) y: i64,
    pub(super) w: i64,
    pub(super) h: i64,
}

impl Rect {
    pub(super) const fn new(x: i64, y: i64, w: i64, h: i64) -> Rect {
        Rect { x, y, w, h }
    }

    pub(super) const fn right(self) -> i64 {
        self.x + self.w
    }

    pub(super) const fn bottom(self) -> i64 {
        self.y + self.h
    }

    pub(super) const fn inset(self, by: i64) -> Rect {
        Rect::new(self.x + by, self.y + by, self.w - 2 * by, self.h - 2 * by)
    }
}

/// The drawing.
pub(super) struct Canvas {
    width: i64,
    height: i64,
    body: String,
}

impl Canvas {
    pub(super) fn new(width: i64, height: i64) -> Canvas {
        let mut canvas = Canvas {
            width,
            height,
            body: String::new(),
        };
        canvas.rect(Rect::new(0, 0, width, height), Area::filled(Ink::White));
        canvas
    }

    /// Words with their base line at `y`.
    pub(super) fn text(&mut self, x: i64, y: i64, look: Type, words: &str) {
        let anchor = match look.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let weight = match look.weight {
            Weight::Regular => 400,
            Weight::Bold => 700,
        };
        let (size, colour) = (look.size, look.ink.colour());
        let words: String = runs(&drawable(words), look.weight)
            .into_iter()
            .map(|(family, run)| match family {
                FAMILY => escaped(&run),
                _ => format!("<tspan font-family=\"{family}\">{}</tspan>", escaped(&run)),
            })
            .collect();
        let _ = writeln!(
            self.body,
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" font-weight=\"{weight}\" text-anchor=\"{anchor}\" fill=\"{colour}\">{words}</text>"
        );
    }

    pub(super) fn rect(&mut self, rect: Rect, area: Area) {
        let Rect { x, y, w, h } = rect;
        let (w, h) = (w.max(0), h.max(0));
        let (radius, attributes) = (area.radius, area.attributes());
        let _ = writeln!(
            self.body,
            "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" rx=\"{radius}\" {attributes}/>"
        );
    }

    pub(super) fn circle(&mut self, x: i64, y: i64, radius: i64, area: Area) {
        let attributes = area.attributes();
        let _ = writeln!(
            self.body,
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" {attributes}/>"
        );
    }

    pub(super) fn line(&mut self, from: (i64, i64), to: (i64, i64), width: i64, ink: Ink) {
        self.path(&[from, to], Area::edged(width, ink));
    }

    /// Straight lines from point to point; closed where the area is filled.
    pub(super) fn path(&mut self, points: &[(i64, i64)], area: Area) {
        let Some(((x, y), rest)) = points.split_first() else {
            return;
        };
        let mut path = format!("M{x} {y}");
        for (x, y) in rest {
            let _ = write!(path, " L{x} {y}");
        }
        if area.fill.is_some() {
            path.push_str(" Z");
        }
        let attributes = area.attributes();
        let _ = writeln!(
            self.body,
            "<path d=\"{path}\" stroke-linecap=\"butt\" stroke-linejoin=\"round\" {attributes}/>"
        );
    }

    /// A path as SVG writes it, for what is too long for one element each.
    pub(super) fn shape(&mut self, path: &str, area: Area) {
        let attributes = area.attributes();
        let _ = writeln!(self.body, "<path d=\"{path}\" {attributes}/>");
    }

    /// Slanting lines over a rectangle, `step` apart.
    pub(super) fn hatch(&mut self, rect: Rect, step: i64, width: i64, ink: Ink) {
        let mut path = String::new();
        let mut across = step;
        while across < rect.w + rect.h {
            let (x1, y1) = (
                rect.x + (across - rect.h).max(0),
                rect.y + across.min(rect.h),
            );
            let (x2, y2) = (
                rect.x + across.min(rect.w),
                rect.y + (across - rect.w).max(0),
            );
            let _ = write!(path, "M{x1} {y1}L{x2} {y2}");
            across += step.max(1);
        }
        if !path.is_empty() {
            self.shape(&path, Area::edged(width, ink));
        }
    }

    /// The drawing as SVG, `per_unit` of its units to one unit of the output.
    pub(super) fn svg(&self, per_unit: i64) -> String {
        let (width, height) = (self.width, self.height);
        let shown = |length: i64| {
            let (whole, rest) = (length / per_unit, length % per_unit);
            let digits = per_unit.ilog10() as usize;
            if digits == 0 {
                whole.to_string()
            } else {
                format!("{whole}.{rest:0digits$}")
            }
        };
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}\" height=\"{}\" viewBox=\"0 0 {width} {height}\" font-family=\"{FAMILY}\">\n{}</svg>",
            shown(width),
            shown(height),
            self.body,
        )
    }
}

fn escaped(words: &str) -> String {
    words
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn markup_in_words_stays_words() {
        let mut canvas = Canvas::new(100, 100);
        canvas.text(0, 0, Type::regular(10), "</text><b>&amp;\u{0}");
        let svg = canvas.svg(1);
        assert!(svg.contains("&lt;/text&gt;&lt;b&gt;&amp;amp;"), "{svg}");
    }

    #[test]
    fn hatching_stays_within_its_rectangle() {
        let mut canvas = Canvas::new(100, 100);
        canvas.hatch(Rect::new(10, 20, 30, 15), 7, 1, Ink::Black);
        let svg = canvas.svg(1);
        let path = svg.split("d=\"").nth(1).unwrap().split('"').next().unwrap();
        let numbers: Vec<i64> = path
            .split(['M', 'L', ' '])
            .filter_map(|n| n.parse().ok())
            .collect();
        assert!(numbers.len() >= 16, "{path}");
        for point in numbers.chunks(2) {
            assert!((10..=40).contains(&point[0]) && (20..=35).contains(&point[1]));
        }
    }

    #[test]
    fn a_size_is_written_as_a_decimal() {
        let svg = Canvas::new(5953, 7920).svg(10);
        assert!(svg.contains("width=\"595.3\" height=\"792.0\""), "{svg}");
    }
}
