//! The picture of a course.

use crate::home::{Home, ODD_NAMES, Setting};
use chrono::TimeDelta;
use vialbell::domain::Instant;
use vialbell::paper::picture;

fn png(home: &Home, now: Instant) -> Vec<u8> {
    let (policy, wording) = (&home.policy, &home.wording);
    picture(&home.household, home.course(), policy, wording, now).unwrap()
}

/// Width and height from the header (PNG specification, section 11.2.2).
fn size(png: &[u8]) -> (u32, u32) {
    assert_eq!(&png[..8], b"\x89PNG\r\n\x1a\n");
    assert_eq!(&png[12..16], b"IHDR");
    let number = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
    (number(16), number(20))
}

/// A platform takes a photo whose sides add up to 10,000 at most and whose
/// longer side is 20 times the shorter at most (Bot API, `sendPhoto`).
fn check(png: &[u8]) {
    let (width, height) = size(png);
    assert_eq!(width, 1200);
    assert!((400..6000).contains(&height), "{height}");
}

#[test]
fn it_is_a_picture_at_every_stage_of_a_course() {
    for (days, at) in [(1, 0), (5, 2), (28, 14), (60, 59), (200, 0), (200, 120)] {
        let mut home = Home::new(&Setting {
            days,
            ..Setting::default()
        });
        home.live_until(home.now + TimeDelta::days(at), &[5], &[6, 9]);
        check(&png(&home, home.now));
    }
}

#[test]
fn what_happened_can_be_told_apart() {
    let lived = |not_given: &[u32], unanswered: &[u32]| {
        let mut home = Home::new(&Setting {
            days: 5,
            ..Setting::default()
        });
        home.live_until(home.now + TimeDelta::days(3), not_given, unanswered);
        png(&home, home.now)
    };
    let pictures = [lived(&[], &[]), lived(&[3], &[]), lived(&[], &[3])];
    assert_ne!(pictures[0], pictures[1]);
    assert_ne!(pictures[0], pictures[2]);
    assert_ne!(pictures[1], pictures[2]);
    assert_eq!(pictures[1], lived(&[3], &[]));
}

#[test]
fn a_time_before_or_long_after_the_course_is_no_trouble() {
    let mut home = Home::new(&Setting::default());
    check(&png(&home, home.now - TimeDelta::days(400)));
    home.live_until(home.now + TimeDelta::days(40), &[], &[]);
    check(&png(&home, home.now + TimeDelta::days(400)));
}

#[test]
fn odd_names_are_no_trouble() {
    for name in ODD_NAMES {
        let mut home = Home::new(&Setting {
            patient: name,
            days: 2,
            ..Setting::default()
        });
        home.policy.clinic.name = (*name).into();
        check(&png(&home, home.now));
    }
}

/// The picture in README.md is one that the program draws; the same household
/// at the same instant gives the same bytes. `VIALBELL_BLESS=1` draws it anew.
#[test]
fn the_readme_shows_a_course_as_it_is_drawn() {
    let days = 14;
    let mut home = Home::new(&Setting {
        days,
        ..Setting::default()
    });
    let later = home.now + TimeDelta::days(i64::from(days) * 2 / 3);
    home.live_until(later, &[6], &[11]);
    let drawn = png(&home, home.now);
    let file = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/paper/pictures/course.png"
    );
    if std::env::var_os("VIALBELL_BLESS").is_some() {
        std::fs::write(file, &drawn).unwrap();
    }
    let kept = std::fs::read(file).expect("VIALBELL_BLESS=1 draws it");
    assert!(
        kept == drawn,
        "tests/paper/pictures/course.png is not what is drawn"
    );
}
