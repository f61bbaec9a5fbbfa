//! The page in a real browser, with the echo behind it.

use crate::accessibility::check_accessibility;
use crate::browser::{DESK, POCKET, Page, Screen, visit};
use crate::echo::Echo;
use serde_json::json;

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn a_visitor_moves_the_clock_taps_and_writes() {
    let echo = Echo::start();
    visit(&echo.url(), DESK, |page| async move {
        page.jump("next-event").await;
        page.reads("owner", "dose is due now").await;
        assert_eq!(page.text("#clock-time").await, "07:30");
        page.tap("owner", "Given").await;
        page.reads("owner", "You tapped: g:1:3").await;
        assert!(page.text(".entry-chosen").await.ends_with("Given"));
        // The other button goes when an engine says so; here is none.
        assert_eq!(count(&page, ".entry-buttons button").await, json!(1));

        let markup = "<img src=x onerror=alert(1)> how much is left?";
        page.write("owner", markup).await;
        page.reads("owner", &format!("You wrote: {markup}")).await;
        assert_eq!(count(&page, "img").await, json!(0));

        page.jump("day").await;
        page.reads("clinic", "not recorded as given").await;
        assert_eq!(count(&page, ".vial").await, json!(4));
        page.picture("desk").await;
    });
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn a_narrow_screen_shows_one_phone_at_a_time_and_says_what_is_new() {
    let echo = Echo::start();
    visit(&echo.url(), POCKET, |page| async move {
        page.jump("next-event").await;
        page.reads("owner", "dose is due now").await;
        page.picture("pocket-owner").await;
        page.jump("hour").await;
        let tab = page.find("[data-phone=clinic] .unread").await;
        assert_eq!(tab.text().await.unwrap(), "1");
        page.click("[data-phone=clinic]").await;
        let phone = page.find("[data-address=clinic]").await;
        assert!(phone.is_displayed().await.unwrap());
        let phone = page.find("[data-address=owner]").await;
        assert!(!phone.is_displayed().await.unwrap());
        page.picture("pocket-clinic").await;
        let sideways = "document.documentElement.scrollWidth > innerWidth";
        assert_eq!(page.value(sideways).await, json!(false));
    });
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn the_page_speaks_both_languages_and_follows_a_dark_screen() {
    let echo = Echo::start();
    let dark = Screen { dark: true, ..DESK };
    visit(&echo.url(), dark, |page| async move {
        page.jump("next-event").await;
        page.reads("owner", "dose is due now").await;
        page.click("[data-language=es]").await;
        assert_eq!(page.text("[data-jump=hour]").await, "+1 hora");
        assert_eq!(page.value("document.documentElement.lang").await, "es");
        let date = page.text("#clock-date").await;
        assert_eq!(date, "sábado, 7 de marzo de 2026");
        // Every word of the page is in both tables.
        let missing = "Object.keys(WORDS.en).filter((key) => !(key in WORDS.es))\
                       .concat([...document.querySelectorAll('[data-t]')]\
                       .filter((shown) => !shown.textContent).map((shown) => shown.dataset.t))";
        assert_eq!(page.value(missing).await, json!([]));
        page.picture("desk-dark-es").await;
    });
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn nothing_runs_off_the_screen_and_the_clock_is_always_at_hand() {
    let echo = Echo::start();
    for (width, height) in [(320, 600), (360, 740), (768, 1024), (900, 700), (1024, 768)] {
        let screen = Screen {
            width,
            height,
            dark: width == 360,
        };
        visit(&echo.url(), screen, move |page| async move {
            page.jump("next-event").await;
            page.reads("owner", "dose is due now").await;
            for language in ["en", "es"] {
                page.click(&format!("[data-language={language}]")).await;
                let sideways = "document.documentElement.scrollWidth - innerWidth";
                let over = page.value(sideways).await.as_i64().unwrap();
                assert!(over <= 0, "{over} px too wide at {width} in {language}");
                for place in ["0", "document.body.scrollHeight"] {
                    page.value(&format!("scrollTo(0, {place})")).await;
                    let hidden = page.value(HIDDEN_CLOCK_BUTTONS).await;
                    assert_eq!(hidden, json!([]), "at {width} in {language}");
                }
                page.value("scrollTo(0, 0)").await;
                page.picture(&format!("width-{width}-{language}")).await;
            }
        });
    }
}

/// The clock's buttons that a tap in their middle would not reach.
const HIDDEN_CLOCK_BUTTONS: &str =
    "[...document.querySelectorAll('[data-jump]')].filter((button) => {
    const box = button.getBoundingClientRect();
    const middle = [box.x + box.width / 2, box.y + box.height / 2];
    return document.elementFromPoint(...middle) !== button;
}).map((button) => button.textContent)";

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn everything_can_be_done_from_the_keyboard() {
    let echo = Echo::start();
    visit(&echo.url(), DESK, |page| async move {
        page.find("[data-situation]").await;
        let mut order = Vec::new();
        for _ in 0..19 {
            page.press("\u{e004}").await; // Tab
            order.push(page.value(FOCUSED).await.as_str().unwrap().to_owned());
        }
        let expected = [
            "English",
            "Español",
            "Next event",
            "+1 hour",
            "+1 day",
            "clock-to",
            "Go",
            "A normal day",
            "A night when the clocks change",
            "A vial running into its limit",
            "A missed dose",
            "A message for the clinic",
            "Messages in the phone of Robin Vale",
            "how much is left?",
            "when is the next dose?",
            "she is not eating",
            "write-owner",
            "Send",
            "Messages in the phone of Millbrook Animal Clinic",
        ];
        assert_eq!(order, expected);

        page.client
            .execute("document.querySelector('[data-jump]').focus()", Vec::new())
            .await
            .unwrap();
        page.press("\u{e007}").await; // Enter
        page.reads("owner", "dose is due now").await;
        page.find("[data-jump][aria-disabled=false]").await;
        assert_eq!(page.value(FOCUSED).await, json!("Next event"));

        let given = page.find(".entry-buttons button").await;
        given.send_keys(" ").await.unwrap();
        page.reads("owner", "You tapped: g:1:3").await;
        page.find(".entry-chosen").await;
        // The button is gone; whoever pressed it is still in the same phone.
        let place = "Messages in the phone of Robin Vale";
        assert_eq!(page.value(FOCUSED).await, json!(place));
        let live = page.value("document.querySelector('.log').ariaLive").await;
        assert_eq!(live, json!("polite"));
    });
}

/// What a reader of the screen would call the element that has the focus.
const FOCUSED: &str =
    "(({activeElement: at}) => at.ariaLabel || at.textContent || at.id)(document)";

#[test]
#[ignore = "needs Chromium, chromedriver and axe-core: npm install --prefix target/axe axe-core@4.14.1"]
fn an_accessibility_checker_finds_nothing() {
    for (screen, dark) in [(DESK, false), (DESK, true), (POCKET, false), (POCKET, true)] {
        let echo = Echo::start();
        visit(
            &echo.url(),
            Screen { dark, ..screen },
            move |page| async move {
                page.jump("next-event").await;
                page.tap("owner", "Not given").await;
                page.write("owner", "how much is left?").await;
                page.reads("owner", "You wrote").await;
                page.jump("next-event").await;
                page.jump("day").await;
                page.reads("owner", "dose is due now").await;
                for language in ["en", "es"] {
                    page.click(&format!("[data-language={language}]")).await;
                    let place = format!("{screen:?} dark {dark} {language}");
                    check_accessibility(&page, &place).await;
                }
            },
        );
    }
}

async fn count(page: &Page, css: &str) -> serde_json::Value {
    let all = format!("document.querySelectorAll({css:?}).length");
    page.value(&all).await
}
