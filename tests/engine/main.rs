//! The engine on a real database (a file, and by the ignored test PostgreSQL),
//! with a channel that answers as it is told:
//! what holds when commits fail, programs crash and platforms refuse.

#[path = "../support/home.rs"]
mod home;

mod alerts;
mod attackers;
mod board;
mod buttons;
mod carers;
mod clinic;
mod clinics;
mod clock_back;
mod crash;
mod enrolling;
mod fake;
mod full_disk;
mod gate;
mod poison;
mod quicker;
mod refusals;
mod rush;
mod slow;
mod staff;
mod watch;
mod zone_rules;

#[test]
#[ignore = "needs PostgreSQL"]
fn the_whole_suite_on_postgresql() {
    fake::postgres::run_this_suite_on_postgres();
}
