//! People who mean harm: what they try comes to nothing, and others notice nothing.

use crate::fake::{CLINIC, Clinic, texts, with};
use crate::home::{at, juniper};
use vialbell::channel::Inbox;
use vialbell::domain::Instant;
use vialbell::domain::arrival::{Arrival, Body, Medium};
use vialbell::domain::change::Change;
use vialbell::domain::staff::Role;
use vialbell::engine::Confirmation;
use vialbell::store::Store;

fn start() -> Instant {
    at("2026-03-06T01:00:00Z")
}

fn written(number: usize, address: &str, text: &str) -> Arrival {
    Arrival {
        external_id: format!("flood-{number}"),
        address: address.into(),
        sender: Some("Somebody".into()),
        sender_id: Some(address.into()),
        reply_to: None,
        body: Body::Text(text.into()),
    }
}

async fn with_two_homes() -> Clinic {
    let clinic = Clinic::open(start()).await;
    for name in ["maren", "noor"] {
        clinic.enrol(name, start()).await;
    }
    clinic.step(start()).await;
    for chat in ["maren", "noor", CLINIC] {
        clinic.platform.taken(chat);
    }
    clinic
}

/// The owner's invitation to household 1.
async fn invitation(clinic: &Clinic) -> String {
    let order = juniper(8);
    let enrolled = clinic
        .engine
        .enrol(&order, None, "Ines", Confirmation::Counted, start())
        .await
        .unwrap();
    assert_eq!(enrolled.household, 1);
    enrolled.invitations[0].1.clone()
}

/// Who waits in the inbox, in the order in which they are claimed.
async fn claimed(store: &Store, most: u32) -> Vec<(String, String)> {
    let mut work = store.begin().await.unwrap();
    let rows = work.claim_inbox("clinic", most).await.unwrap();
    work.commit().await.unwrap();
    let arrivals = rows.into_iter().map(|row| row.arrival.unwrap());
    arrivals
        .map(|arrival| match arrival.body {
            Body::Text(text) => (arrival.address, text),
            other => panic!("{other:?}"),
        })
        .collect()
}

#[tokio::test]
async fn a_flood_from_one_chat_leaves_others_their_turn_in_the_first_batch() {
    let clinic = with_two_homes().await;
    let flood: Vec<Arrival> = (0..5_000)
        .map(|number| written(number, "maren", &format!("word {number}")))
        .collect();
    clinic.engine.accept("test", flood).await.unwrap();
    let others = (0..50).map(|n| written(10_000 + n, &format!("other {n}"), "hello"));
    let owner = written(20_000, "noor", "when is the next dose?");
    let behind: Vec<Arrival> = others.chain([owner]).collect();
    clinic.engine.accept("test", behind).await.unwrap();
    let key = &clinic.engine.policy().clinic.key;
    assert_eq!(key, "clinic");
    let first = claimed(clinic.engine.store(), 200).await;
    assert_eq!(first.len(), 200, "the batch is used to the full");
    let of_the_flood: Vec<&str> = first
        .iter()
        .filter(|(address, _)| address == "maren")
        .map(|(_, text)| text.as_str())
        .collect();
    let in_order: Vec<String> = (0..149).map(|n| format!("word {n}")).collect();
    assert_eq!(
        of_the_flood, in_order,
        "a chat's own words keep their order"
    );
    let of_others = first.len() - of_the_flood.len();
    assert_eq!(of_others, 51, "everybody else is in the first batch");
}

/// More than the program decides on in one turn.
const FLOOD: usize = 1_200;

#[tokio::test]
async fn a_flood_buries_neither_the_clinic_nor_what_is_due() {
    let mut clinic = with_two_homes().await;
    let flood: Vec<Arrival> = (0..FLOOD)
        .map(|number| written(number, "maren", &format!("is it word {number}")))
        .collect();
    clinic.engine.accept("test", flood).await.unwrap();
    clinic.says("noor", "is it normal that she limps?").await;
    // One turn of the program, with some of it still waiting.
    clinic.engine.think(start()).await.unwrap();
    clinic.engine.deliver(start(), &mut |_| {}).await.unwrap();
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "she limps"), 1, "{:?}", texts(&told));
    assert_eq!(told.len(), 21, "20 of the flood, and the other home's");
    assert_eq!(with(&clinic.platform.taken("noor"), "passed on"), 1);
    clinic.step(start()).await;
    assert_eq!(clinic.platform.taken(CLINIC).len(), 0);
    let answers = clinic.platform.taken("maren");
    assert_eq!(answers.len(), FLOOD, "each is answered");
    assert_eq!(with(&answers, "passed on"), 20, "and none is told a lie");
    assert_eq!(with(&answers, "+1 555 0142"), FLOOD);
    // Seen, or an hour later, the clinic hears again.
    let later = start() + chrono::TimeDelta::minutes(61);
    clinic.clock.set(later);
    clinic.says("maren", "is it still word").await;
    clinic.step(later).await;
    assert_eq!(with(&clinic.platform.taken(CLINIC), "still word"), 1);
}

#[tokio::test]
async fn a_dose_and_a_danger_are_heard_in_the_midst_of_a_flood() {
    let mut clinic = with_two_homes().await;
    for number in 0..60 {
        clinic.says("maren", &format!("is it word {number}")).await;
    }
    clinic.says("maren", "she had a seizure").await;
    clinic.step(start()).await;
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "she had a seizure"), 1);
    assert_eq!(told.len(), 21);
}

#[tokio::test]
async fn who_tries_wrong_invitations_is_not_listened_to_for_an_hour_even_with_the_right_one() {
    let mut clinic = Clinic::open(start()).await;
    let code = &invitation(&clinic).await;
    for number in 0..5 {
        clinic
            .arrive("guesser", Body::Join(format!("{}X{number}", &code[..18])))
            .await;
    }
    clinic.step(start()).await;
    clinic.arrive("guesser", Body::Join(code.clone())).await;
    clinic.step(start()).await;
    let told = clinic.platform.taken("guesser");
    assert_eq!(
        told.len(),
        1,
        "the clinic's number, once: {:?}",
        texts(&told)
    );
    assert!(joined(&clinic, 1).await.is_empty());
    // The owner, whom it was for, is not hindered by that.
    clinic.arrive("maren", Body::Join(code.clone())).await;
    clinic.step(start()).await;
    assert_eq!(joined(&clinic, 1).await, ["maren"]);
}

#[tokio::test]
async fn an_invitation_that_was_used_lets_nobody_else_in() {
    let mut clinic = Clinic::open(start()).await;
    let code = invitation(&clinic).await;
    clinic.arrive("maren", Body::Join(code.clone())).await;
    clinic.arrive("thief", Body::Join(code.clone())).await;
    clinic.step(start()).await;
    assert_eq!(joined(&clinic, 1).await, ["maren"]);
    clinic.says("thief", "when is the next dose?").await;
    clinic.step(start()).await;
    for message in clinic.platform.taken("thief") {
        assert!(!message.text.contains("Juniper"), "{}", message.text);
    }
}

/// The chats that joined a household.
async fn joined(clinic: &Clinic, id: i64) -> Vec<String> {
    let journal = clinic.engine.journal(id).await.unwrap();
    let joined = journal
        .into_iter()
        .filter_map(|caused| match caused.change {
            Change::CarerJoined { chat, .. } => Some(chat.address),
            _ => None,
        });
    joined.collect()
}

#[tokio::test]
async fn what_stands_behind_start_is_heard_where_it_tells_of_danger() {
    let mut clinic = with_two_homes().await;
    clinic
        .arrive("maren", Body::Join("she had a seizure".into()))
        .await;
    clinic
        .arrive("stranger", Body::Join("my dog had a seizure".into()))
        .await;
    clinic.step(start()).await;
    assert_eq!(with(&clinic.platform.taken(CLINIC), "she had a seizure"), 1);
    for chat in ["maren", "stranger"] {
        assert_eq!(
            with(&clinic.platform.taken(chat), "+1 555 0177"),
            1,
            "{chat}"
        );
    }
}

/// Every kind of button that there is, with numbers of another home.
#[tokio::test]
async fn forged_taps_touch_no_other_household() {
    let mut clinic = with_two_homes().await;
    let before = clinic.household(2).await;
    let kinds = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    for kind in kinds.chars() {
        for rest in [
            "1:1",
            "2:1",
            "2:1:1",
            "2:1:1:1",
            "1:0",
            "0:1",
            "-1:1",
            "2:4294967295",
            "2:1:99999999999999999999",
        ] {
            clinic
                .arrive("maren", Body::Tap(format!("{kind}:{rest}")))
                .await;
        }
    }
    clinic.step(start()).await;
    assert_eq!(clinic.household(2).await, before);
    let told = clinic.platform.taken("maren");
    for message in told {
        assert!(!message.text.contains("noor"), "{}", message.text);
    }
    assert!(clinic.platform.taken("noor").is_empty());
}

#[tokio::test]
async fn names_and_words_with_marks_are_one_plain_line() {
    let mut clinic = with_two_homes().await;
    let words = "<b>ok</b> *x* _y_ [z](https://a.example)”\n\u{202E}Last given: today\u{2028}Vial 9: full\r\nDoses left: 0";
    clinic.says("maren", words).await;
    clinic.step(start()).await;
    let told = clinic.platform.taken(CLINIC);
    let alert = told
        .iter()
        .find(|message| message.text.contains("<b>ok</b>"));
    let alert = alert.unwrap_or_else(|| panic!("{:?}", texts(&told)));
    let line =
        "“<b>ok</b> *x* _y_ [z](https://a.example)' Last given: today Vial 9: full Doses left: 0”";
    assert!(alert.text.contains(line), "{}", alert.text);
    let starts = |start: &str| {
        alert
            .text
            .lines()
            .filter(|line| line.starts_with(start))
            .count()
    };
    for start in ["Last given: today", "Vial 9", "Doses left: 0"] {
        assert_eq!(starts(start), 0, "{}", alert.text);
    }
}

#[tokio::test]
async fn the_strangest_texts_are_answered_and_record_nothing() {
    let mut clinic = with_two_homes().await;
    let before = clinic.household(1).await.courses;
    for text in [
        "x".repeat(4096),
        "\u{202E}nevig".repeat(500),
        "\u{200B}\u{200D}\u{2060}\u{FEFF}".repeat(1000),
        format!("g{}", "\u{0301}".repeat(4000)),
        "مرحبا هل أعطيت الحقنة".repeat(100),
        "\u{0}\u{1}\u{7F}\u{9F}".repeat(100),
        "🐈‍⬛".repeat(700),
        "g\u{200B}iven not g\u{200B}iven".into(),
        "{ $phone } { phone } %s {0} ${x} \\u0000 '; drop table household; --".into(),
    ] {
        clinic.says("maren", &text).await;
        clinic.step(start()).await;
        let answers = clinic.platform.taken("maren");
        assert_eq!(answers.len(), 1, "{text:.40}: {:?}", texts(&answers));
        assert!(
            answers[0].text.contains("+1 555 0142"),
            "{}",
            answers[0].text
        );
        for message in clinic.platform.taken(CLINIC) {
            assert!(message.text.encode_utf16().count() <= 4096);
        }
    }
    assert_eq!(clinic.household(1).await.courses, before);
}

#[tokio::test]
async fn a_carer_or_a_colleague_is_added_by_a_name_only() {
    let clinic = with_two_homes().await;
    let long = "x".repeat(4096);
    for name in [
        "",
        "Sam\nDose given",
        "Sam\u{2028}Dose given",
        "\u{202E}maS",
        &long,
    ] {
        let added = clinic.engine.add_carer(1, name, "Ines", start()).await;
        assert!(added.is_err(), "{name:.20}");
        let added = clinic
            .engine
            .add_staff(name, Role::Technician, start())
            .await;
        assert!(added.is_err(), "{name:.20}");
    }
    assert_eq!(clinic.household(1).await.carers.len(), 2);
    assert!(
        clinic
            .engine
            .add_carer(1, " Sam <b> ", "Ines", start())
            .await
            .is_ok()
    );
    assert_eq!(clinic.household(1).await.carers[&3].name, "Sam <b>");
}

/// PostgreSQL keeps no NUL: one in a text must not stop the clinic.
#[tokio::test]
async fn a_nul_anywhere_stops_nobody() {
    let mut clinic = with_two_homes().await;
    let bodies = [
        Body::Text("she\0limps".into()),
        Body::Edited("she\0limps".into()),
        Body::Tap("g:\0".into()),
        Body::Join("\0".into()),
        Body::Medium {
            what: Medium::Photo,
            caption: Some("\0".into()),
        },
    ];
    for body in bodies {
        for address in ["maren", "stranger"] {
            clinic.arrive(address, body.clone()).await;
        }
    }
    let mut named = written(1, "maren", "she limps");
    named.sender = Some("M\0".into());
    clinic.engine.accept("test", vec![named]).await.unwrap();
    clinic.says("noor", "when is the next dose?").await;
    clinic.step(start()).await;
    let answered = clinic.platform.taken("noor");
    assert_eq!(answered.len(), 1, "{:?}", texts(&answered));
    assert!(answered[0].text.contains("7:30 pm"), "{}", answered[0].text);
    // The changed wording goes to the clinic without another answer.
    assert_eq!(clinic.platform.taken("maren").len(), 5);
    let told = clinic.platform.taken(CLINIC);
    assert_eq!(with(&told, "she\u{FFFD}limps"), 2, "{:?}", texts(&told));
}
