//! Whole scripts of `tests/dialogues`, lived through on the page of the real
//! program: what a script's people do is done in their phones, and each phone
//! then says what the dialogue says, word for word and minute for minute.
//!
//! A script begins with the story of one of the page's situations, so that
//! both are the same life; the page takes over where that situation opens.

use crate::accessibility::check_accessibility;
use crate::browser::{DESK, POCKET, Page, Screen, visit};
use crate::real_program::Program;
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta};
use serde_json::{Value, json};
use std::time::Duration;
use vialbell::rehearse::{Line, What, Who, parse};

/// A script, and how the page comes to the life that it tells of.
#[derive(Debug, Clone, Copy)]
struct Replay {
    script: &'static str,
    dialogue: &'static str,
    situation: &'static str,
    language: &'static str,
}

const ENGLISH: Replay = Replay {
    script: include_str!("../dialogues/two-phones.script"),
    dialogue: include_str!("../dialogues/two-phones.dialogue"),
    situation: "normal-day",
    language: "en",
};
const SPANISH: Replay = Replay {
    script: include_str!("../dialogues/dos-telefonos.script"),
    dialogue: include_str!("../dialogues/dos-telefonos.dialogue"),
    situation: "vial-limit",
    language: "es",
};

#[test]
#[ignore = "needs Chromium, chromedriver and axe-core; .ci/run installs them"]
fn a_script_in_english_goes_on_a_desk_as_it_is_written() {
    lived_through(ENGLISH, DESK, Hand::Pointer);
}

#[test]
#[ignore = "needs Chromium, chromedriver and axe-core; .ci/run installs them"]
fn a_script_in_english_goes_on_a_narrow_screen_as_it_is_written() {
    lived_through(ENGLISH, POCKET, Hand::Pointer);
}

#[test]
#[ignore = "needs Chromium, chromedriver and axe-core; .ci/run installs them"]
fn a_script_in_spanish_goes_on_a_narrow_screen_as_it_is_written() {
    let dark = Screen {
        dark: true,
        ..POCKET
    };
    lived_through(SPANISH, dark, Hand::Pointer);
}

#[test]
#[ignore = "needs Chromium, chromedriver and axe-core; .ci/run installs them"]
fn a_script_in_spanish_is_lived_through_by_keyboard_alone() {
    lived_through(SPANISH, DESK, Hand::Keyboard);
}

/// With what a person works the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Hand {
    Pointer,
    Keyboard,
}

fn lived_through(replay: Replay, screen: Screen, hand: Hand) {
    let program = Program::start();
    visit(&program.url(), screen, move |page| async move {
        let visitor = Visitor { page: &page, hand };
        visitor.begin(replay).await;
        let (lines, wrong) = parse(replay.script);
        assert_eq!(wrong, None);
        let events = events(replay.dialogue);
        let opened = visitor.clock().await;
        let mut steps = 0;
        for (index, line) in lines.iter().enumerate() {
            // What comes before is the story with which the situation opens.
            if line.at > opened {
                visitor.play(line).await;
                steps += 1;
            } else if lines.get(index + 1).is_some_and(|next| next.at <= opened) {
                continue;
            }
            for address in ["owner", "clinic"] {
                visitor
                    .reads_all(address, &up_to(&events, &lines, index, address), line)
                    .await;
            }
        }
        assert!(steps >= 10, "{steps} lines were played on the page");
        check_accessibility(&page, &format!("{replay:?} {screen:?} {hand:?}")).await;
        let sideways = "document.documentElement.scrollWidth > innerWidth";
        assert_eq!(page.value(sideways).await, json!(false));
        page.picture(&format!("replay-{}-{}", replay.language, screen.width))
            .await;
    });
}

/// Something that one phone shows.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Event {
    at: NaiveDateTime,
    address: String,
    by: By,
    text: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum By {
    Program,
    Holder,
    /// A tap; the label stands at the button, not as an entry.
    Tap,
}

/// A dialogue's events, from its printed form.
fn events(dialogue: &str) -> Vec<Event> {
    let mut events: Vec<Event> = Vec::new();
    let mut day = NaiveDate::MIN;
    for line in dialogue.lines().filter(|line| !line.is_empty()) {
        if let Some(heading) = line.strip_prefix("== ") {
            let heading = heading.trim_end_matches(" ==");
            day = NaiveDate::parse_from_str(heading, "%A %d %B %Y").unwrap();
        } else if let Some(text) = line.strip_prefix("      | ") {
            let event = events.last_mut().expect("a text follows its heading");
            if !(text.starts_with('[') && text.ends_with(']')) {
                let gap = if event.text.is_empty() { "" } else { "\n" };
                event.text = format!("{}{gap}{text}", event.text);
            }
        } else {
            events.push(heading(line, day));
        }
    }
    events
}

fn heading(line: &str, day: NaiveDate) -> Event {
    let (time, rest) = line.split_at(5);
    let at = day.and_time(NaiveTime::parse_from_str(time, "%H:%M").unwrap());
    if let Some(to) = rest.strip_prefix("   to ") {
        let (address, _) = to.split_once(" (").unwrap();
        return Event {
            at,
            address: address.into(),
            by: By::Program,
            text: String::new(),
        };
    }
    let (who, what) = rest.trim().split_once(": ").unwrap();
    let address = if who.starts_with("clinic") {
        "clinic"
    } else {
        "owner"
    };
    let tapped = what.starts_with('[') && what.ends_with(']');
    Event {
        at,
        address: address.into(),
        by: if tapped { By::Tap } else { By::Holder },
        text: what.into(),
    }
}

/// What a phone shows once a line was played: all until the next thing that
/// somebody does, as far as the clock has come.
fn up_to(events: &[Event], lines: &[Line], index: usize, address: &str) -> Vec<Value> {
    let acts = |line: &&Line| line.who != Who::Clock;
    let acted = lines[..=index].iter().filter(acts).count();
    let now = lines[index].at.naive_local();
    let mut seen = 0;
    events
        .iter()
        .take_while(|event| {
            seen += usize::from(event.by != By::Program);
            seen <= acted && event.at <= now
        })
        .filter(|event| event.address == address && event.by != By::Tap)
        .map(|event| {
            json!([
                event.at.format("%H:%M").to_string(),
                event.by == By::Program,
                event.text
            ])
        })
        .collect()
}

/// A phone's entries: time, whether the program wrote it, and the text without
/// the words that only a screen reader says. Codes of invitations are random.
const ENTRIES: &str = "[...document.querySelectorAll('[data-address=ADDRESS] .entry')].map((entry) => [
    entry.querySelector('.entry-time').textContent,
    entry.classList.contains('by-program'),
    entry.querySelector('.entry-text').lastChild.textContent.replace(/start [a-z0-9]{20}/, 'start CODE'),
])";

/// How often a phone is looked at, and how long before each look: 20 seconds
/// in all, for an answer on a busy machine.
const LOOKS: usize = 400;
const BETWEEN_LOOKS: Duration = Duration::from_millis(50);

/// Somebody at the page.
struct Visitor<'a> {
    page: &'a Page,
    hand: Hand,
}

impl Visitor<'_> {
    async fn begin(&self, replay: Replay) {
        self.press(&format!("[data-language={}]", replay.language))
            .await;
        self.press(&format!("[data-situation={}]", replay.situation))
            .await;
        let begun = format!("[data-situation={}][aria-pressed=true]", replay.situation);
        self.page.find(&begun).await;
        self.stands_still().await;
        self.page
            .find(&format!(".phone-clock[lang={}]", replay.language))
            .await;
    }

    async fn play(&self, line: &Line) {
        self.move_clock_to(line.at).await;
        let address = match line.who {
            Who::Owner { .. } => "owner",
            Who::Clinic { .. } => "clinic",
            Who::Clock => return,
            Who::Stranger | Who::World => panic!("the page has no such person: {line:?}"),
        };
        self.take(address).await;
        match &line.what {
            What::Text(text) => {
                self.write(&format!("#write-{address}"), text).await;
            }
            What::Tap(label) => self.tap(address, label).await,
            What::Nothing | What::World(_) => panic!("not to be done on the page: {line:?}"),
        }
    }

    /// On a narrow screen one phone is shown at a time.
    async fn take(&self, address: &str) {
        let phone = format!("[data-phone={address}]");
        let picked = format!(
            "document.querySelector('{phone}').checkVisibility() \
             && document.querySelector('{phone}').ariaPressed !== 'true'"
        );
        if self.page.value(&picked).await == json!(true) {
            self.press(&phone).await;
        }
    }

    /// By whole days as long as one fits, then to the time of the day.
    async fn move_clock_to(&self, at: DateTime<FixedOffset>) {
        loop {
            let left = at - self.clock().await;
            if left.is_zero() {
                return;
            }
            assert!(left > TimeDelta::zero(), "the clock stands past {at}");
            if left == TimeDelta::hours(1) {
                self.press("[data-jump=hour]").await;
            } else if left >= TimeDelta::hours(24) {
                self.press("[data-jump=day]").await;
            } else {
                self.open_clock().await;
                self.write("#clock-to", &at.format("%H:%M").to_string())
                    .await;
            }
            self.stands_still().await;
        }
    }

    async fn open_clock(&self) {
        let closed = "!document.querySelector('#clock-to').checkVisibility()";
        if self.page.value(closed).await == json!(true) {
            self.press("#clock-open").await;
        }
    }

    async fn clock(&self) -> DateTime<FixedOffset> {
        let shown = self.page.value("state.clock.at").await;
        DateTime::parse_from_rfc3339(shown.as_str().unwrap()).unwrap()
    }

    async fn stands_still(&self) {
        self.page.find("[data-jump][aria-disabled=false]").await;
    }

    async fn press(&self, css: &str) {
        match self.hand {
            Hand::Pointer => self.page.click(css).await,
            Hand::Keyboard => {
                self.page.find(css).await;
                self.tab_to(&format!("document.querySelector('{css}')"))
                    .await;
                self.page.press("\u{e007}").await; // Enter
            }
        }
    }

    async fn write(&self, input: &str, text: &str) {
        let field = self.page.find(input).await;
        match self.hand {
            Hand::Pointer => self.page.click(input).await,
            Hand::Keyboard => {
                self.tab_to(&format!("document.querySelector('{input}')"))
                    .await;
            }
        }
        field.send_keys(text).await.unwrap();
        self.page.press("\u{e007}").await; // Enter
    }

    async fn tap(&self, address: &str, label: &str) {
        match self.hand {
            Hand::Pointer => self.page.tap(address, label).await,
            Hand::Keyboard => {
                self.tab_to(&format!(
                    "[...document.querySelectorAll('[data-address={address}] .entry-buttons button')]\
                     .findLast((button) => button.textContent === '{label}')"
                ))
                .await;
                self.page.press(" ").await;
            }
        }
    }

    /// Goes on with Tab until the focus is there.
    async fn tab_to(&self, element: &str) {
        let there = format!("document.activeElement === ({element})");
        for _ in 0..200 {
            if self.page.value(&there).await == json!(true) {
                return;
            }
            self.page.press("\u{e004}").await; // Tab
        }
        panic!("200 times Tab do not lead to {element}");
    }

    /// Waits until a phone says all this and nothing else.
    async fn reads_all(&self, address: &str, expected: &[Value], line: &Line) {
        let entries = ENTRIES.replace("ADDRESS", address);
        let mut shown = Vec::new();
        for _ in 0..LOOKS {
            let found = self.page.value(&entries).await;
            shown.clone_from(found.as_array().unwrap());
            if shown == expected {
                return;
            }
            tokio::time::sleep(BETWEEN_LOOKS).await;
        }
        let same = shown.iter().zip(expected).take_while(|(a, b)| a == b);
        let from = same.count();
        panic!(
            "after line {} the phone of {address} shows, from entry {from} on, {:#?}\nand the dialogue {:#?}",
            line.number,
            &shown[from..],
            &expected[from..],
        );
    }
}
