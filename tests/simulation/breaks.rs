//! The checkers can fail: the program, the platform or the file is broken on
//! purpose, and the one that watches over it complains.

use super::checks::Check;
use super::platform::Sabotage;
use super::run::{Break, Broken};
use super::seeds::live_with;
use super::world::{Cut, Home, LONG, Temper, World};
use chrono::{TimeDelta, Timelike};
use std::sync::LazyLock;
use vialbell::domain::prescription::Length;

/// Homes of two prompt carers with a long course, in which nothing goes wrong by itself.
static QUIET: LazyLock<Vec<u64>> = LazyLock::new(|| {
    let quiet = |home: &Home| {
        let prompt = home.people.iter().all(|p| p.temper == Temper::Prompt);
        let alone = home.orders.len() == 1 && !home.asked;
        // Some of what is broken below is broken in these times.
        let mut times = home.orders.iter().flat_map(|order| &order.times);
        prompt && home.people.len() == 2 && alone && times.all(|time| time.minute() == 30)
    };
    the_first(quiet)
});

/// Homes with a long course in which somebody sees signs of danger again and again.
static WORRIED: LazyLock<Vec<u64>> = LazyLock::new(|| the_first(|home| home.worried == 11));

fn the_first(is_wanted: impl Fn(&Home) -> bool) -> Vec<u64> {
    let is_long = |home: &Home| home.orders.iter().all(|o| o.length == Length::Doses(LONG));
    let fits = |seed: &u64| {
        let world = World::of(*seed, &cut(1));
        world
            .homes
            .iter()
            .all(|home| is_long(home) && is_wanted(home))
    };
    (1..100_000).filter(fits).take(6).collect()
}

fn cut(days: i64) -> Cut {
    Cut {
        days,
        faults: Some(Vec::new()),
        homes: Some(vec![0]),
    }
}

/// Lives on with something broken after a while; the checker has to find it in
/// one of these homes: not in each of them does it come to matter.
fn found(seeds: &[u64], days: i64, after_hours: i64, how: Broken, found_by: Check) {
    let on_purpose = Break {
        after: TimeDelta::hours(after_hours),
        how,
        found_by,
    };
    let mut last = Vec::new();
    for seed in seeds {
        let broken = live_with(*seed, &cut(days), true, Some(on_purpose));
        if let Some(failure) = broken.failure {
            return assert_eq!(failure.check, found_by, "{}", failure.what);
        }
        last = broken.story;
    }
    panic!("{how:?} was not found:\n{}", last.join("\n"));
}

#[test]
fn unbroken_these_homes_have_nothing_to_complain_of() {
    for seed in QUIET.iter().chain(&*WORRIED) {
        let whole = live_with(*seed, &cut(12), false, None);
        assert!(whole.failure.is_none(), "seed {seed}: {:?}", whole.failure);
        assert!(whole.counts.records > 5 && whole.counts.letters > 100);
    }
}

#[test]
fn a_row_that_is_not_kept_as_it_was_decided_is_found() {
    let how = Broken::Sql(
        "create trigger alters after insert on vial begin update vial set discard_by = discard_by + 1 where household = new.household and course = new.course and no = new.no; end",
    );
    found(&QUIET, 6, 1, how, Check::Panics);
}

#[test]
fn two_records_of_one_dose_are_found() {
    let how = Broken::Sql(
        "drop index administration_in_force\n\
         insert into administration select household, no + 1000, course, dose, status, given_at, recorded_at, given_by, carer, volume, null from administration where superseded_at is null",
    );
    found(&QUIET, 5, 72, how, Check::OneAdministration);
}

#[test]
fn more_drawn_than_a_vial_holds_is_found() {
    let how = Broken::Sql("update withdrawal set volume = volume + 9000000");
    found(&QUIET, 5, 72, how, Check::Withdrawals);
}

#[test]
fn a_vial_offered_past_its_limit_is_found() {
    // The program believes that a vial keeps for months.
    let how = Broken::Sql(
        r#"update course set product = replace(product, '"refrigerated_hours":', '"refrigerated_hours":9')"#,
    );
    found(&QUIET, 14, 30, how, Check::Limit);
}

#[test]
fn a_dose_at_another_time_than_ordered_is_found() {
    let how = Broken::Sql(
        "update plan set first = replace(first, ':30', ':40'), times = replace(times, ':30', ':40')",
    );
    found(&QUIET, 5, 72, how, Check::Planned);
}

#[test]
fn a_dose_that_nobody_is_asked_for_is_found() {
    let how = Broken::Sql(
        "create trigger forgets after update on household begin update household set wake_at = null where id = new.id; end\n\
         update household set wake_at = null",
    );
    found(&QUIET, 5, 72, how, Check::DueDose);
}

#[test]
fn a_clinic_that_does_not_hear_of_a_missed_dose_is_found() {
    let how = Broken::Sql(
        "create trigger deaf before insert on journal when new.change like '%clinic.missed-dose%' begin select raise(ignore); end",
    );
    found(&QUIET, 6, 48, how, Check::DueDose);
}

#[test]
fn a_reminder_that_fires_twice_is_found() {
    let how = Broken::SqlOnceAsked(
        "update dose set asked = 0, asked_at = null where closed_at is null\n\
         update household set wake_at = 0",
    );
    found(&QUIET, 5, 72, how, Check::Reminders);
}

#[test]
fn an_update_that_was_taken_and_lost_is_found() {
    let how =
        Broken::Sql("create trigger lose before insert on inbox begin select raise(ignore); end");
    found(&QUIET, 5, 72, how, Check::InboxOnce);
}

#[test]
fn a_row_that_is_decided_on_twice_is_found() {
    let how = Broken::Sql("update inbox set state = 'waiting', settled_at = null");
    found(&QUIET, 5, 72, how, Check::InboxOnce);
}

#[test]
fn silence_is_found() {
    let how = Broken::Sql(
        "create trigger mute before insert on outbox when new.carer > 0 begin select raise(ignore); end",
    );
    found(&QUIET, 5, 72, how, Check::Answered);
}

#[test]
fn a_sign_of_danger_that_nobody_at_the_clinic_hears_of_is_found() {
    let how = Broken::Sql(
        "create trigger mute before insert on outbox when new.kind = 'clinic.emergency' begin select raise(ignore); end",
    );
    found(&WORRIED, 12, 1, how, Check::RedFlag);
}

#[test]
fn a_sign_of_danger_without_an_answer_is_found() {
    let how = Broken::Sql(
        "create trigger mute before insert on outbox when new.kind = 'emergency' begin select raise(ignore); end",
    );
    found(&WORRIED, 12, 1, how, Check::RedFlag);
}

#[test]
fn a_recorded_answer_that_is_gone_is_found() {
    let how = Broken::Sql("update administration set superseded_at = recorded_at");
    found(&QUIET, 5, 72, how, Check::Answer);
}

#[test]
fn a_tap_that_leaves_no_record_is_found() {
    found(&QUIET, 5, 72, Broken::Misheard, Check::Tapped);
}

#[test]
fn a_table_that_the_journal_does_not_replay_to_is_found() {
    let how = Broken::Sql("update course set veterinarian = 'somebody else'");
    found(&QUIET, 5, 72, how, Check::Replay);
}

#[test]
fn a_message_that_overtakes_another_is_found() {
    found(
        &QUIET,
        5,
        72,
        Broken::Platform(Sabotage::Overtake),
        Check::Order,
    );
}

#[test]
fn words_that_nobody_decided_on_are_found() {
    found(
        &QUIET,
        5,
        72,
        Broken::Platform(Sabotage::Invent),
        Check::Committed,
    );
}

#[test]
fn a_message_that_is_shown_twice_is_found() {
    found(
        &QUIET,
        5,
        72,
        Broken::Platform(Sabotage::ShowTwice),
        Check::Repeats,
    );
}

#[test]
fn a_message_that_will_be_sent_again_for_no_reason_is_found() {
    let how = Broken::Sql(
        "create trigger unsettled before update on outbox when new.state = 'sent' begin select raise(ignore); end",
    );
    found(&QUIET, 5, 72, how, Check::Repeats);
}

#[test]
fn a_message_that_nobody_sees_is_found() {
    found(
        &QUIET,
        5,
        72,
        Broken::Platform(Sabotage::Swallow),
        Check::InTime,
    );
}

#[test]
fn a_message_that_is_left_lying_is_found() {
    let how = Broken::Sql(
        "create trigger lies after insert on outbox begin update outbox set next_try_at = next_try_at + 3600000 where id = new.id; end",
    );
    found(&QUIET, 5, 72, how, Check::InTime);
}
