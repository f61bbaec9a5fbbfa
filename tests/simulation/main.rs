//! A clinic and its households over weeks, with everything going wrong that
//! does: one seed decides all of it, and the same seed gives the same story.
//!
//! `VIALBELL_SEED=123 cargo test --test simulation -- --nocapture` lives one
//! seed and tells its story. `VIALBELL_SEEDS=1000` lives so many from 1 on (or
//! from `VIALBELL_FROM`), `VIALBELL_DAYS=30` for so long. A failing seed is made
//! small, and the line that is printed lives the small one.

mod books;
mod breaks;
mod checks;
mod dice;
#[path = "../support/home.rs"]
mod home;
mod people;
mod platform;
mod power;
mod reckon;
mod run;
mod seeds;
mod shrink;
mod story;
mod world;
