//! `vialbell` as a visitor starts it: the real program, its real engine and
//! database, in a real browser.

use crate::browser::{DESK, POCKET, Page, Screen, visit};
use crate::http::get;
use serde_json::{Value, json};
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};

/// The situations as the page names them, and words that each opens with: in
/// whose phone, and what in each language. The figures follow from the
/// demonstration's orders (1.5 mL of 3.6 mL a vial) and from the clock's change
/// on 2026-03-08 in America/Denver (IANA tz database).
const SITUATIONS: [(&str, &str, [&str; 2]); 5] = [
    (
        "normal-day",
        "owner",
        ["Fri 6 Mar, 7:30 am", "vie 6 mar, 7:30"],
    ),
    (
        "clocks-change",
        "owner",
        ["Sat 7 Mar, 7:30 pm", "sáb 7 mar, 19:30"],
    ),
    ("vial-limit", "owner", ["in 2 hours", "en 2 horas"]),
    (
        "missed-dose",
        "owner",
        ["no answer yet", "aún sin respuesta"],
    ),
    ("clinic-message", "clinic", ["scratching", "se rasca"]),
];

/// The program at work, with a folder of its own for what it writes.
pub struct Program {
    child: Child,
    folder: PathBuf,
    port: u16,
}

impl Program {
    pub fn start() -> Program {
        static STARTED: AtomicU32 = AtomicU32::new(0);
        let number = STARTED.fetch_add(1, Ordering::Relaxed);
        let name = format!("vialbell-page-{}-{number}", std::process::id());
        let folder = std::env::temp_dir().join(name);
        std::fs::create_dir(&folder).unwrap();
        let mut child = Command::new(env!("CARGO_BIN_EXE_vialbell"))
            .args(["--port", "0"])
            .env("TMPDIR", &folder)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let port = lines
            .map_while(Result::ok)
            .find_map(|line| line.split_once("http://127.0.0.1:")?.1.trim().parse().ok())
            .expect("the program prints its address");
        Program {
            child,
            folder,
            port,
        }
    }

    pub fn url(&self) -> String {
        format!("http://127.0.0.1:{}/", self.port)
    }

    /// Files that it keeps at the moment.
    fn files(&self) -> usize {
        let mut count = 0;
        for folder in std::fs::read_dir(&self.folder).unwrap() {
            count += std::fs::read_dir(folder.unwrap().path()).unwrap().count();
        }
        count
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

#[test]
fn it_prints_its_address_keeps_a_real_file_and_removes_it_at_the_end() {
    let mut program = Program::start();
    assert_eq!(get(program.port, "/").status, 200);
    assert!(program.files() > 0, "a real SQLite file");
    let pid = program.child.id().to_string();
    assert!(Command::new("kill").arg(pid).status().unwrap().success());
    assert!(program.child.wait().unwrap().success());
    assert_eq!(std::fs::read_dir(&program.folder).unwrap().count(), 0);
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn the_main_job_in_a_browser() {
    let program = Program::start();
    // Tall enough for a picture that shows both phones and the panel.
    let tall = Screen {
        height: 1060,
        ..DESK
    };
    visit(&program.url(), tall, |page| async move {
        page.reads("owner", "1.5 mL").await;
        assert_eq!(page.text("#clock-time").await, "07:30");
        page.tap("owner", "Given").await;
        // 3.6 mL in a vial, 1.5 mL drawn on the evening before and 1.5 mL now.
        page.reads("owner", "0.6 mL").await;
        page.write("owner", "how much is left?").await;
        page.reads_after("owner", "how much is left?", "0.6 mL")
            .await;
        let left = page.text("#in-use .vial-left").await;
        assert_eq!(left, "0.6 of 3.6 mL", "the panel agrees with the answer");
        page.write("owner", "is it normal that she sleeps so much?")
            .await;
        page.reads("clinic", "sleeps so much").await;
        page.tap("clinic", "Seen").await;
        page.find(".entry-chosen").await;
        page.client
            .execute("scrollTo(0, 0)", Vec::new())
            .await
            .unwrap();
        page.picture("page-1440").await;

        page.click("[data-situation=missed-dose]").await;
        page.reads("owner", "1.5 mL").await;
        missed_dose(&page).await;
    });
}

/// Moves to the next event until the clinic hears of it.
async fn missed_dose(page: &Page) {
    for _ in 0..8 {
        page.jump("next-event").await;
        // The panel beside the phones is asked for a moment after the jump.
        tokio::time::sleep(std::time::Duration::from_millis(400)).await;
        if page.text("#journal").await.contains("a missed dose") {
            let alert = "[data-address=clinic] .entry:last-of-type .entry-text";
            let told = page.text(alert).await;
            assert!(
                told.contains("Juniper") && told.contains("7:30 am"),
                "{told}"
            );
            assert!(told.contains("Maren Oakhollow"), "{told}");
            page.reads("owner", "555 0142").await;
            return;
        }
    }
    panic!("the clinic did not hear of the missed dose");
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn every_situation_opens_on_its_point() {
    let dark = |screen| Screen {
        dark: true,
        ..screen
    };
    for (screen, language) in [
        (DESK, "en"),
        (dark(DESK), "es"),
        (POCKET, "en"),
        (dark(POCKET), "es"),
    ] {
        let program = Program::start();
        visit(&program.url(), screen, move |page| async move {
            page.click(&format!("[data-language={language}]")).await;
            for (name, phone, [english, spanish]) in SITUATIONS {
                page.click(&format!("[data-situation={name}]")).await;
                page.find(&format!("[data-situation={name}][aria-pressed=true]"))
                    .await;
                page.picture(&format!("{name}-{language}-{}-opens", screen.width))
                    .await;
                if screen.width == POCKET.width {
                    page.click(&format!("[data-phone={phone}]")).await;
                }
                let words = if language == "en" { english } else { spanish };
                page.reads(phone, words).await;
                page.picture(&format!("{name}-{language}-{}", screen.width))
                    .await;
                assert_eq!(sideways(&page).await, json!(false), "{name}");
                page.jump("next-event").await;
            }
        });
    }
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn on_a_phone_everything_can_be_reached() {
    let program = Program::start();
    visit(&program.url(), POCKET, |page| async move {
        page.tap("owner", "Given").await;
        page.reads("owner", "0.6 mL").await;
        page.write("owner", "how much is left?").await;
        page.reads_after("owner", "how much is left?", "0.6 mL")
            .await;
        page.picture("page-360").await;
        page.write("owner", "she sleeps a lot, is that normal?")
            .await;
        page.find("[data-phone=clinic] .unread").await;
        page.click("[data-phone=clinic]").await;
        page.tap("clinic", "Seen").await;
        page.picture("page-360-clinic").await;
        // Whatever can be pressed lies on the page, wide enough for a thumb
        // (WCAG 2.2, 2.5.8: 24 by 24 CSS pixels), and can be scrolled to.
        let unreachable = page.value(UNREACHABLE).await;
        assert_eq!(unreachable, json!([]));
        assert_eq!(sideways(&page).await, json!(false));
        page.client
            .execute("scrollTo(0, document.body.scrollHeight)", Vec::new())
            .await
            .unwrap();
        page.picture("page-360-bottom").await;
    });
}

const UNREACHABLE: &str = "[...document.querySelectorAll('button, input, a')]
    .filter((it) => it.checkVisibility())
    .filter((it) => {
        it.scrollIntoView({block: 'center', inline: 'center', behavior: 'instant'});
        const box = it.getBoundingClientRect();
        const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
        const covered = !(top && (it.contains(top) || top.contains(it)));
        return box.width < 24 || box.height < 24 || box.left < 0 || box.right > innerWidth || covered;
    })
    .map((it) => it.textContent || it.id)";

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn the_page_around_the_phones_speaks_spanish_too() {
    let program = Program::start();
    let dark = Screen { dark: true, ..DESK };
    visit(&program.url(), dark, |page| async move {
        page.click("[data-language=es]").await;
        assert_eq!(page.text("[data-jump=hour]").await, "+1 hora");
        let named = page.text("[data-situation=missed-dose]").await;
        assert_eq!(named, "Una dosis sin registrar");
        page.tap("owner", "Given").await;
        page.reads("owner", "0.6 mL").await;
        // What the program holds to be true is said in the page's language, too.
        page.says("journal", "1,5 mL, puesta por").await;
        page.says("next", "Toca la dosis").await;
        page.picture("page-es-dark").await;
        // What the phones say stays as it is, until the visitor wants it otherwise.
        page.find("#other-language:not([hidden])").await;
        page.click("#begin-again").await;
        page.reads("owner", "Nube: hora de la dosis").await;
        page.find("#other-language[hidden]").await;
        page.click("[data-language=en]").await;
        assert_eq!(
            page.text("[data-situation=missed-dose]").await,
            "A missed dose"
        );
    });
}

#[test]
#[ignore = "needs Chromium and chromedriver; .ci/run installs them"]
fn the_clock_is_set_to_a_time_of_the_day() {
    let program = Program::start();
    visit(&program.url(), DESK, |page| async move {
        page.reads("owner", "1.5 mL").await;
        for (typed, shown) in [("7:55", "07:55"), ("812", "08:12"), ("7.30", "07:30")] {
            let input = page.find("#clock-to").await;
            input.send_keys(typed).await.unwrap();
            input.send_keys("\u{e007}").await.unwrap(); // Enter
            page.find(&format!("#clock-time[datetime*='T{shown}']"))
                .await;
            page.find("[data-jump][aria-disabled=false]").await;
        }
        assert_eq!(page.text("#clock-date").await, "Saturday, March 7, 2026");
        page.find("#clock-to")
            .await
            .send_keys("25:00")
            .await
            .unwrap();
        page.click("#clock-set button").await;
        let told = page.find("#trouble:not(:empty)").await.text().await;
        assert_eq!(told.unwrap(), "Write a time of the day, like 19:30.");
        assert_eq!(page.text("#clock-time").await, "07:30");
    });
}

async fn sideways(page: &Page) -> Value {
    page.value("document.documentElement.scrollWidth > innerWidth")
        .await
}
