//! What goes home on paper or as a file: the take-home sheet, the picture of a
//! course, the calendar file; and the record for the practice's system. Pure: the same household at the same instant
//! gives the same bytes. Sentences come from `wording`; all that is said here
//! is computed from the order and the books.
//!
//! A paper is composed as one drawing in whole units (`canvas`), which becomes
//! a PDF or a PNG (`render`): both show the same thing, and no float decides
//! where a mark on a syringe goes.

mod calendar;
mod canvas;
mod code;
mod picture;
mod qr;
pub mod record;
mod render;
mod sheet;
mod syringe;
mod table;
mod text;

pub use calendar::calendar;
pub use code::code;
pub use picture::picture;
pub use qr::{Square, square};
pub use render::DrawingError;
pub use sheet::{Invitation, SheetInput, sheet};
