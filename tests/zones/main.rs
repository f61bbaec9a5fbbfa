//! Local times against other people's readings of the tz database.
//!
//! `vialbell::domain::zone` answers from one crate; here its answers are held
//! against the crate tz-rs (`every_zone`), rows written down from Python's
//! zoneinfo and from the announcements of the database (`published`), a live
//! Python where there is one (`zoneinfo`), and the length of nights on which
//! the clock changes (`nights`).

mod every_zone;
mod nights;
mod published;
mod reader;
mod wall;
mod zoneinfo;
