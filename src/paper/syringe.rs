//! A syringe, drawn lying with its needle to the left, filled to a mark.

use super::canvas::{Anchor, Area, Canvas, Ink, Rect, Type};
use crate::domain::policy::Syringe;
use crate::domain::quantity::Volume;

/// Figures closer than this, in units, run into each other.
const FIGURES_APART: i64 = 230;
/// Marks closer than this, in units, run into each other in print.
const CLOSEST: i64 = 18;

/// Which marks a barrel carries.
struct Scale {
    /// Every so many millionths there is a mark.
    mark: i64,
    /// Every so many there is a longer one with a figure.
    figure: i64,
}

fn scale(syringe: Syringe, length: i64) -> Scale {
    let size = syringe.size.millionths().max(1);
    let graduation = syringe.graduation.millionths().clamp(1, size);
    let apart_enough = |step: &i64| length * graduation * step / size >= FIGURES_APART;
    let steps = || (0..6).flat_map(|n| [5, 10, 20].map(|step| step * 10_i64.pow(n)));
    let figure = graduation * steps().find(apart_enough).unwrap_or(1);
    let apart = |step: &i64| length * graduation * step / size >= CLOSEST;
    let mark = graduation * [1, 2, 5].into_iter().find(apart).unwrap_or(5);
    Scale { mark, figure }
}

/// Draws the syringe into a rectangle; `figure` writes a volume without its unit.
pub(super) fn draw(
    canvas: &mut Canvas,
    rect: Rect,
    syringe: Syringe,
    filled: Volume,
    figure: impl Fn(Volume) -> String,
) {
    let height = rect.h;
    let needle = rect.w * 17 / 100;
    let barrel = Rect::new(rect.x + needle, rect.y, rect.w * 60 / 100, height);
    // A barrel goes on behind its last mark.
    let scaled = barrel.w * 92 / 100;
    let size = syringe.size.millionths().max(1);
    let place = |millionths: i64| barrel.x + scaled * millionths.clamp(0, size) / size;
    let edge = place(filled.millionths());
    let middle = barrel.y + height / 2;

    // Needle and hub.
    canvas.line(
        (rect.x, middle),
        (barrel.x - height / 3, middle),
        14,
        Ink::Black,
    );
    canvas.path(
        &[
            (barrel.x, middle - height / 5),
            (barrel.x - height / 2, middle - height / 9),
            (barrel.x - height / 2, middle + height / 9),
            (barrel.x, middle + height / 5),
        ],
        Area::edged(12, Ink::Black).fill(Ink::Light),
    );
    let liquid = Rect::new(barrel.x, barrel.y, edge - barrel.x, height);
    canvas.rect(liquid, Area::filled(Ink::Light));
    // The plunger: seal, rod, thumb rest.
    let seal = Rect::new(edge, barrel.y + 8, height / 4, height - 16);
    let end = rect.right() - 12;
    let rod = Rect::new(
        seal.right(),
        middle - height / 10,
        end - seal.right(),
        height / 5,
    );
    canvas.rect(rod, Area::edged(10, Ink::Black).fill(Ink::White));
    canvas.rect(seal, Area::filled(Ink::Black));
    canvas.rect(
        Rect::new(end - 20, middle - height / 3, 32, height * 2 / 3),
        Area::filled(Ink::Black),
    );
    // The barrel with its finger flange.
    canvas.rect(barrel, Area::edged(14, Ink::Black).radius(12));
    canvas.rect(
        Rect::new(
            barrel.right() - 8,
            barrel.y - height / 4,
            28,
            height * 3 / 2,
        ),
        Area::filled(Ink::Black),
    );
    let scaled = Rect {
        w: scaled,
        ..barrel
    };
    marks(canvas, scaled, syringe, place, figure);
    // The mark to fill to.
    let tip = barrel.y - 14;
    canvas.path(
        &[(edge, tip), (edge - 50, tip - 90), (edge + 50, tip - 90)],
        Area::filled(Ink::Black),
    );
}

fn marks(
    canvas: &mut Canvas,
    barrel: Rect,
    syringe: Syringe,
    place: impl Fn(i64) -> i64,
    figure: impl Fn(Volume) -> String,
) {
    let size = syringe.size.millionths();
    let scale = scale(syringe, barrel.w);
    let mut at = 0;
    while at <= size {
        let x = place(at);
        let has_figure = at % scale.figure == 0;
        let is_half = at % scale.figure == scale.figure / 2;
        let length = match (has_figure, is_half) {
            (true, _) => barrel.h / 2,
            (_, true) => barrel.h / 3,
            _ => barrel.h / 5,
        };
        canvas.line(
            (x, barrel.bottom() - length),
            (x, barrel.bottom()),
            8,
            Ink::Black,
        );
        if has_figure && at > 0 {
            let look = Type::regular(100).at(Anchor::Middle);
            let words = figure(Volume::from_millionths(at));
            canvas.text(x, barrel.bottom() + 115, look, &words);
        }
        at += scale.mark;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(size: &str, graduation: &str) -> (i64, i64) {
        let syringe = Syringe {
            size: Volume::parse(size).unwrap(),
            graduation: Volume::parse(graduation).unwrap(),
        };
        let scale = scale(syringe, 1500);
        (scale.mark, scale.figure)
    }

    /// Figures where common syringes have them (common practice, no source).
    #[test]
    fn figures_stand_where_a_reader_looks_for_them() {
        assert_eq!(figures("3", "0.1"), (100_000, 500_000));
        assert_eq!(figures("5", "0.2"), (200_000, 1_000_000));
        assert_eq!(figures("10", "0.2"), (200_000, 2_000_000));
        assert_eq!(figures("1", "0.01"), (20_000, 200_000));
    }

    #[test]
    fn marks_that_would_run_together_are_thinned() {
        assert_eq!(figures("10", "0.01").0, 50_000);
    }
}
