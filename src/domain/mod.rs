//! What the program holds to be true and what it decides. Pure: no IO, no
//! async, no clock, no randomness, no SQL, no chat platform.

pub mod alert;
pub mod amend;
pub mod amendment;
pub mod arrival;
pub mod change;
pub mod decide;
pub mod ending;
pub mod enrolment;
pub mod erasure;
pub mod forecast;
pub mod formulary;
pub mod household;
pub mod ladder;
pub mod language;
pub mod member;
pub mod menu;
pub mod message;
pub mod name;
pub mod order_check;
pub mod order_words;
pub mod place;
pub mod policy;
pub mod prescription;
pub mod quantity;
pub mod question;
pub mod reading;
pub mod red_flags;
pub mod redaction;
pub mod rung;
pub mod second_person;
pub mod staff;
pub mod supplies;
pub mod supply;
pub mod timing;
pub mod urgency;
pub mod vial;
pub mod zone;

/// A point on the UTC time line, to the millisecond (the store keeps no more).
pub type Instant = chrono::DateTime<chrono::Utc>;
