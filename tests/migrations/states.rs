//! States that cannot be are refused by the tables themselves, whoever writes them.

use super::{Folder, connect, execute, make, run};

/// A household with all that hangs on it; every statement is accepted.
pub const GOOD: &[&str] = &[
    "insert into household (id, clinic, owner, language, zone, version) values (1, 'c', 'Maren', 'en', 'UTC', 0)",
    "insert into household (id, clinic, owner, language, zone, version) values (2, 'c', 'Ines', 'es', 'UTC', 0)",
    "insert into carer (household, no, name, channel, address, reachable, said, clinic) values (1, 1, 'Maren', 'test', '7', 1, null, 'c')",
    "insert into carer (household, no, name, channel, address, reachable, said, clinic) values (2, 1, 'Ines', null, null, 1, null, 'c')",
    "insert into patient values (1, 1, 'Juniper', 'dog', '30 kg')",
    "insert into course values (1, 1, 1, '{}', '1.5 mL', 'Dr. Fennimore', 3000000, 4, 'Sam', null, null, null, 0, null, null, null, null)",
    "insert into amendment values (1, 1, 1, '\"pause\"', 'Sam', 0, 0, null, null, 0)",
    "insert into enrolment values (1, 'c', 'test', '-1', 'Sam', '{}', 0)",
    "insert into supply values (1, 1, 'vials', 2, 0)",
    "insert into plan values (1, 1, 1, '2026-03-05T19:30:00', '07:30:00,19:30:00', 1500000)",
    "insert into dose values (1, 1, 1, '2026-03-05T19:30:00', 'UTC', 0, 0, null, null)",
    "insert into dose values (1, 1, 2, '2026-03-06T07:30:00', 'UTC', 0, 1, 5, null)",
    "insert into vial values (1, 1, 1, 0, 0, 'Maren', 3600000, 9, null, null, null, null, null, null)",
    "insert into administration values (1, 1, 1, 1, 'completed', 0, 0, 'Maren', 1, 1500000, null)",
    "insert into withdrawal values (1, 1, 0, 1, 1500000, 0)",
    "insert into question values (1, 1, 1, '[]', 0, 0)",
    "insert into alert (household, no, kind, course, dose, carer, words, raised_at, seen_at, seen_by) values (1, 1, 'clinic.missed-dose', 1, 1, null, null, 0, null, null)",
    "insert into invitation values ('hash', 1, 1, 0, 1, null)",
    "insert into clinic_chat values ('c', 'test', '-1')",
    "insert into stranger values ('c', 'test', '5', 0)",
    "insert into inbox (id, clinic, channel, external_id, address, arrival, received_at, state, tries) values (1, 'c', 'test', '1', '7', '{}', 0, 'waiting', 0)",
    "insert into outbox (id, carer, language, kind, message, lane, created_at, next_try_at, tries, state) values (1, 0, 'en', 'k', '{}', 1, 0, 0, 0, 'waiting')",
];

/// What must fail, with why.
pub const BAD: &[(&str, &str)] = &[
    (
        "two records in force for one dose",
        "insert into administration values (1, 2, 1, 1, 'not-done', 0, 0, 'Teo', 1, 0, null)",
    ),
    (
        "a record of a dose that is not there",
        "insert into administration values (1, 3, 1, 9, 'completed', 0, 0, 'Teo', 1, 1, null)",
    ),
    (
        "a status that FHIR does not have here",
        "insert into administration values (1, 3, 1, 2, 'given', 0, 0, 'Teo', 1, 1, null)",
    ),
    (
        "a dose not given that has a volume",
        "insert into administration values (1, 3, 1, 2, 'not-done', 0, 0, 'Teo', 1, 5, null)",
    ),
    (
        "a volume below nothing",
        "insert into administration values (1, 3, 1, 2, 'completed', 0, 0, 'Teo', 1, -1, null)",
    ),
    (
        "a record without who gave it",
        "insert into administration values (1, 3, 1, 2, 'completed', 0, 0, null, 1, 1, null)",
    ),
    (
        "a pause of a course by nobody",
        "update course set paused_at = 1",
    ),
    (
        "a change of a course that is not there",
        "insert into amendment values (1, 2, 9, '\"pause\"', 'Sam', 0, 0, null, null, 0)",
    ),
    (
        "a change that was made and not settled",
        "insert into amendment values (1, 2, 1, '\"pause\"', 'Sam', 0, 0, null, null, 1)",
    ),
    (
        "a change that was settled by nobody",
        "insert into amendment values (1, 2, 1, '\"pause\"', 'Sam', 0, 0, 1, null, 0)",
    ),
    (
        "two enrolments of one person in one chat",
        "insert into enrolment values (2, 'c', 'test', '-1', 'Sam', '{}', 0)",
    ),
    (
        "a withdrawal of no record",
        "insert into withdrawal values (1, 9, 0, 1, 1, 0)",
    ),
    (
        "a withdrawal below nothing",
        "insert into withdrawal values (1, 1, 1, 1, -1, 0)",
    ),
    (
        "a loss below nothing",
        "insert into withdrawal values (1, 1, 1, 1, 1, -1)",
    ),
    (
        "a volume that is no whole number",
        "insert into withdrawal values (1, 1, 1, 1, 0.5, 0)",
    ),
    (
        "a volume in words",
        "insert into withdrawal values (1, 1, 1, 1, 'half', 0)",
    ),
    (
        "a chat that speaks for two households",
        "update carer set channel = 'test', address = '7' where household = 2",
    ),
    (
        "half a chat",
        "update carer set channel = 'test' where household = 2",
    ),
    (
        "a carer of no household",
        "insert into carer (household, no, name, channel, address, reachable, said, clinic) values (9, 1, 'Nobody', null, null, 1, null, 'c')",
    ),
    (
        "a carer without a name",
        "insert into carer (household, no, name, channel, address, reachable, said, clinic) values (2, 2, '', null, null, 1, null, 'c')",
    ),
    (
        "a carer with number 0",
        "insert into carer (household, no, name, channel, address, reachable, said, clinic) values (2, 0, 'Zero', null, null, 1, null, 'c')",
    ),
    (
        "a reachable that is neither yes nor no",
        "update carer set reachable = 2",
    ),
    (
        "a course of a patient that is not there",
        "insert into course values (1, 2, 9, '{}', 'x', 'x', 1, 1, 'x', null, null, null, 0, null, null, null, null)",
    ),
    (
        "a course without doses",
        "insert into course values (1, 2, 1, '{}', 'x', 'x', 1, 0, 'x', null, null, null, 0, null, null, null, null)",
    ),
    (
        "a syringe that holds nothing",
        "insert into course values (1, 2, 1, '{}', 'x', 'x', 0, 1, 'x', null, null, null, 0, null, null, null, null)",
    ),
    (
        "a plan without a volume",
        "insert into plan values (1, 1, 5, 'x', 'x', 0)",
    ),
    (
        "a plan of no course",
        "insert into plan values (1, 9, 1, 'x', 'x', 1)",
    ),
    (
        "a dose of no course",
        "insert into dose values (1, 9, 1, 'x', 'UTC', 0, 0, null, null)",
    ),
    (
        "a dose that was asked for at no time",
        "insert into dose values (1, 1, 3, 'x', 'UTC', 0, 1, null, null)",
    ),
    (
        "a dose that was not asked for but when",
        "insert into dose values (1, 1, 3, 'x', 'UTC', 0, 0, 5, null)",
    ),
    (
        "a dose twice",
        "insert into dose values (1, 1, 1, 'x', 'UTC', 0, 0, null, null)",
    ),
    (
        "a vial that ends before it is mixed",
        "insert into vial values (1, 1, 2, 10, 10, 'x', 1, 9, null, null, null, null, null, null)",
    ),
    (
        "a vial discarded by nobody",
        "update vial set discarded_at = 1",
    ),
    ("a level seen at no time", "update vial set level = 1"),
    (
        "a level below nothing",
        "update vial set level = -1, level_at = 1",
    ),
    (
        "an alert of half a dose",
        "insert into alert (household, no, kind, course, dose, carer, words, raised_at, seen_at, seen_by) values (1, 2, 'k', 1, null, null, null, 0, null, null)",
    ),
    ("an alert seen by nobody", "update alert set seen_at = 1"),
    (
        "a question neither open nor settled",
        "update question set settled = 2",
    ),
    (
        "an invitation of nobody",
        "insert into invitation values ('other', 1, 9, 0, 1, null)",
    ),
    (
        "a code twice",
        "insert into invitation values ('hash', 1, 1, 0, 1, null)",
    ),
    (
        "the same arrival twice",
        "insert into inbox (clinic, channel, external_id, address, arrival, received_at, state, tries) values ('c', 'test', '1', '7', '{}', 0, 'waiting', 0)",
    ),
    (
        "an arrival settled at no time",
        "update inbox set state = 'settled'",
    ),
    (
        "an arrival that waits and is settled",
        "update inbox set settled_at = 1",
    ),
    (
        "an arrival in no known state",
        "update inbox set state = 'lost', settled_at = 1",
    ),
    (
        "a message sent without the platform's number",
        "update outbox set state = 'sent', settled_at = 1",
    ),
    (
        "a message with a number that was not sent",
        "update outbox set external_id = '1'",
    ),
    (
        "a message settled at no time",
        "update outbox set state = 'gone'",
    ),
    (
        "a message that waits and is settled",
        "update outbox set settled_at = 1",
    ),
    ("a message in no lane", "update outbox set lane = 3"),
    ("half an address", "update outbox set channel = 'test'"),
    (
        "a message of a household that is not there",
        "update outbox set household = 9",
    ),
    (
        "a version below nothing",
        "update household set version = -1",
    ),
    (
        "a household that leaves its records behind",
        "delete from household where id = 1",
    ),
    (
        "an instant in words",
        "update household set wake_at = 'tomorrow'",
    ),
    (
        "a change without a cause",
        "insert into journal (household, at, cause, change) values (1, 0, null, '{}')",
    ),
    (
        "a change at the clinic of no known kind",
        "insert into clinic_journal (clinic, at, who, origin, what, name) values ('c', 0, 'w', 'o', 'promoted', 'n')",
    ),
    (
        "somebody joined who has no name",
        "insert into clinic_journal (clinic, at, who, origin, what) values ('c', 0, 'w', 'o', 'staff-joined')",
    ),
    (
        "an order confirmed by nobody",
        "update course set confirmed_at = 1",
    ),
    (
        "a supply of no known kind",
        "insert into supply values (1, 1, 'patience', 1, 0)",
    ),
    ("fewer pieces than none", "update supply set pieces = -1"),
    (
        "supplies of no course",
        "insert into supply values (1, 9, 'vials', 1, 0)",
    ),
];

#[test]
fn what_cannot_be_is_refused() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        execute(&mut db, "pragma foreign_keys = on").await.unwrap();
        for sql in GOOD {
            execute(&mut db, sql)
                .await
                .unwrap_or_else(|e| panic!("{sql}: {e}"));
        }
        for (what, sql) in BAD {
            let done = execute(&mut db, sql).await;
            let Err(refused) = done else {
                panic!("{what} was accepted: {sql}");
            };
            let by_rule = ["constraint failed", "cannot store"];
            assert!(
                by_rule.iter().any(|rule| refused.contains(rule)),
                "{what}: refused for another reason: {refused}"
            );
        }
    });
}

#[test]
fn a_record_that_was_superseded_makes_room_for_another() {
    let folder = Folder::new();
    run(async {
        make(&folder.file()).await;
        let mut db = connect(&folder.file()).await;
        for sql in GOOD {
            execute(&mut db, sql).await.unwrap();
        }
        execute(&mut db, "update administration set superseded_at = 1")
            .await
            .unwrap();
        let (_, second) = BAD[0];
        execute(&mut db, second).await.unwrap();
    });
}
