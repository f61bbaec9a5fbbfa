//! What the program holds to be true and what it decides. Pure: no IO, no
//! async, no clock, no randomness, no SQL, no chat platform.

pub mod language;
pub mod question;
pub mod reading;
pub mod red_flags;
pub mod zone;
