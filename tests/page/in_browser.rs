//! The page in a real browser, with the echo behind it.

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
        assert_eq!(count(&page, ".entry-buttons").await, json!(0));

        let markup = "<img src=x onerror=alert(1)> how much is left?";
        page.write("owner", markup).await;
        page.reads("owner", &format!("You wrote: {markup}")).await;
        assert_eq!(count(&page, "img").await, json!(0));

        page.jump("day").await;
        page.reads("clinic", "not recorded as given").await;
        assert_eq!(count(&page, ".vial").await, json!(3));
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

async fn count(page: &Page, css: &str) -> serde_json::Value {
    let all = format!("document.querySelectorAll({css:?}).length");
    page.value(&all).await
}
