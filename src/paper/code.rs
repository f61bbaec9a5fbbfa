//! An invitation as a picture: a phone's camera opens the link.

use super::canvas::Canvas;
use super::qr;
use super::render::{DrawingError, png};

/// Pixels of one module: a phone reads it from another phone's screen at arm's
/// length (common practice, no source).
const MODULE: i64 = 10;

/// A link as a PNG of its square code, with the light margin that readers need;
/// none where the link is too long for one.
///
/// # Errors
/// Only for a mistake of ours in the drawing.
pub fn code(link: &str) -> Result<Option<Vec<u8>>, DrawingError> {
    let Some(square) = qr::square(link) else {
        return Ok(None);
    };
    let side = MODULE * i64::try_from(square.side()).unwrap_or(i64::MAX);
    let mut canvas = Canvas::new(side, side);
    qr::draw(&mut canvas, (0, 0), side, &square);
    png(&canvas).map(Some)
}
