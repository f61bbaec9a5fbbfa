//! What is kept and what leaves: the medical record as CSV and FHIR, who did
//! what, how long raw texts are kept, and how a person is erased. The engine
//! runs on a real file.

#[path = "../support/home.rs"]
mod home;

#[allow(dead_code, reason = "each test takes what it needs")]
#[path = "../engine/fake.rs"]
mod fake;

mod csv_table;
mod database;
mod erasure;
mod fhir;
mod lived;
mod moving;
mod python;
mod retention;

#[test]
#[ignore = "needs PostgreSQL"]
fn the_whole_suite_on_postgresql() {
    fake::postgres::run_this_suite_on_postgres();
}
