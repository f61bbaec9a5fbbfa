//! Words of messages are let go after a while; the journal stays.

use super::database::{bytes, found, rows};
use super::home::{CONFIG, at};
use super::lived::{AFTER, SAID, lived, on_runtime};
use chrono::TimeDelta;

const TEXTS: &str = "select arrival from inbox union all select message from outbox";

#[test]
fn words_go_after_the_time_that_the_clinic_set() {
    on_runtime(async {
        let mut lived = lived(AFTER).await;
        let (_, _, last_words) = SAID.last().unwrap();
        let keep = CONFIG.policy.keep_words;
        assert_eq!(
            keep,
            TimeDelta::hours(2160),
            "config/clinic.example.toml: 90 days"
        );
        let holds = |texts: &[Vec<String>]| {
            texts
                .iter()
                .filter(|text| text[0].contains(last_words))
                .count()
        };
        let said_at = at("2026-03-09T13:34:00Z");
        lived
            .clinic
            .step(said_at + keep - TimeDelta::hours(1))
            .await;
        let before = rows(&lived.clinic, TEXTS).await;
        assert!(
            holds(&before) >= 2,
            "as it came, and as the clinic was told"
        );
        let journal = lived.journal.clone();

        // A day later the engine has looked again.
        let after = said_at + keep + TimeDelta::hours(24);
        lived.clinic.step(after).await;
        let texts = rows(&lived.clinic, TEXTS).await;
        assert!(texts.len() >= before.len(), "rows stay, words go");
        assert_eq!(holds(&texts), 0);
        let kept = rows(
            &lived.clinic,
            "select id from inbox where settled_at is not null and purged_at is null",
        )
        .await;
        assert!(kept.is_empty(), "{kept:?}");
        // Who wrote, and where, still stands: the audit needs it.
        for row in rows(&lived.clinic, "select arrival, address from inbox").await {
            let arrival: serde_json::Value = serde_json::from_str(&row[0]).unwrap();
            assert!(
                arrival["sender"].is_string() && !row[1].is_empty(),
                "{row:?}"
            );
        }
        lived.look().await;
        assert_eq!(lived.journal[..journal.len()], journal[..]);
        assert_eq!(
            found(&bytes(&lived.clinic).await, &[*last_words]).len(),
            1,
            "the journal has it"
        );
    });
}

/// What waits to be sent or read keeps its words however old it is.
#[test]
fn what_waits_keeps_its_words() {
    on_runtime(async {
        let lived = lived("2026-03-06T02:34:00Z").await;
        lived.clinic.tamper("update outbox set state = 'waiting', settled_at = null, external_id = null, next_try_at = 9000000000000 where id = 1").await;
        let before = rows(&lived.clinic, "select message from outbox where id = 1").await;
        lived.clinic.step(at("2027-03-06T02:34:00Z")).await;
        assert_eq!(
            rows(&lived.clinic, "select message from outbox where id = 1").await,
            before
        );
        let purged = rows(
            &lived.clinic,
            "select count(*) from outbox where purged_at is not null",
        )
        .await;
        assert!(purged[0][0].parse::<u32>().unwrap() >= 3, "{purged:?}");
    });
}
