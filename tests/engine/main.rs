//! The engine on a real file, with a channel that answers as it is told:
//! what holds when commits fail, programs crash and platforms refuse.

#[path = "../support/home.rs"]
mod home;

mod buttons;
mod carers;
mod clinic;
mod crash;
mod fake;
mod poison;
mod refusals;
mod watch;
mod zone_rules;
