//! A QR code (ISO/IEC 18004) as a square of light and dark modules.

use super::canvas::{Area, Canvas, Ink};
use qrcode::{EcLevel, QrCode};
use std::fmt::Write as _;

/// Light margin on each side, in modules: the quiet zone of ISO/IEC 18004 (from
/// memory: section 6.3.8 asks for four).
const QUIET: usize = 4;

/// The modules of a code, with the quiet zone around it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Square {
    side: usize,
    dark: Vec<bool>,
}

impl Square {
    /// How many modules a side has, the quiet zone included.
    pub fn side(&self) -> usize {
        self.side
    }

    /// Whether the module in this column and row is dark.
    pub fn is_dark(&self, column: usize, row: usize) -> bool {
        let inner = self.side - 2 * QUIET;
        let (Some(column), Some(row)) = (column.checked_sub(QUIET), row.checked_sub(QUIET)) else {
            return false;
        };
        column < inner && row < inner && self.dark[row * inner + column]
    }
}

/// The code of a text; none where the text is too long for one.
pub fn square(text: &str) -> Option<Square> {
    // Level M mends 15 %: a fold or a coffee stain on the fridge door.
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let dark = code
        .to_colors()
        .into_iter()
        .map(|colour| colour == qrcode::Color::Dark)
        .collect();
    Some(Square {
        side: code.width() + 2 * QUIET,
        dark,
    })
}

/// Draws a code into a square with sides of at most `most` units; gives the side drawn.
pub(super) fn draw(canvas: &mut Canvas, (x, y): (i64, i64), most: i64, code: &Square) -> i64 {
    let side = i64::try_from(code.side()).unwrap_or(i64::MAX);
    let module = (most / side).max(1);
    let mut path = String::new();
    for row in 0..code.side() {
        for column in 0..code.side() {
            if code.is_dark(column, row) {
                let at = |n: usize| module * i64::try_from(n).unwrap_or_default();
                let (left, top) = (x + at(column), y + at(row));
                let _ = write!(path, "M{left} {top}h{module}v{module}h-{module}z");
            }
        }
    }
    canvas.shape(&path, Area::filled(Ink::Black));
    module * side
}
