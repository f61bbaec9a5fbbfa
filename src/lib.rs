//! vialbell reminds owners of their animals' injections and keeps the books of
//! every vial. It never advises: what cannot be computed from the
//! veterinarian's order goes to the clinic.
//!
//! Arrows between modules go one way (`tests/arrows` checks them):
//! `main` lists the commands of `terminal`, which knows all; `serve`, `demo` and
//! `rehearse` run the engine and know what it needs, `watch` looks at it; `check` reads what a clinic wrote;
//! `engine` knows `domain`, `store`, `channel`, `clock`, `wording`, `paper` and of
//! `config` the reader of prescriptions; `store`, `wording`, `channel`, `config`
//! and `paper` know `domain`, `paper` knows `wording` too; `domain` knows nothing of ours.

pub mod channel;
pub mod check;
pub mod clock;
pub mod config;
pub mod demo;
pub mod domain;
pub mod engine;
pub mod paper;
pub mod rehearse;
pub mod serve;
pub mod store;
pub mod terminal;
pub mod watch;
pub mod wording;
