//! A real Chromium, driven through chromedriver over WebDriver
//! (<https://www.w3.org/TR/webdriver2/>), in a profile of its own that is
//! thrown away.

use fantoccini::elements::Element;
use fantoccini::error::CmdError;
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;
use std::future::Future;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;

/// How long a browser on a busy machine may take to show something.
const PATIENCE: Duration = Duration::from_secs(20);

/// How the visitor's screen is.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    pub width: u32,
    pub height: u32,
    pub dark: bool,
}

pub const DESK: Screen = Screen {
    width: 1440,
    height: 900,
    dark: false,
};
pub const POCKET: Screen = Screen {
    width: 360,
    height: 740,
    dark: false,
};

/// Opens the address in a new browser, lets the visitor do what they do, and
/// leaves neither browser nor profile behind, whether it ends well or not.
pub fn visit<F, Visit>(url: &str, screen: Screen, act: F)
where
    F: FnOnce(Page) -> Visit,
    Visit: Future<Output = ()> + Send + 'static,
{
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .unwrap();
    let driver = Driver::start();
    let ended = runtime.block_on(async {
        let client = driver.open(screen).await;
        client.goto(url).await.unwrap();
        let page = Page {
            client: client.clone(),
        };
        // Spawned, so that a failed check is caught here and the browser closed.
        let ended = tokio::spawn(act(page)).await;
        client.close().await.unwrap();
        ended
    });
    if let Err(failed) = ended {
        std::panic::resume_unwind(failed.into_panic());
    }
}

struct Driver {
    process: Child,
    port: u16,
    profile: PathBuf,
}

impl Driver {
    fn start() -> Driver {
        static STARTED: AtomicU32 = AtomicU32::new(0);
        let number = STARTED.fetch_add(1, Ordering::Relaxed);
        let name = format!("vialbell-browser-{}-{number}", std::process::id());
        let profile = std::env::temp_dir().join(name);
        std::fs::create_dir(&profile).unwrap();
        // Port 0: it takes a free one and says which.
        let mut process = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is not installed");
        let lines = BufReader::new(process.stdout.take().unwrap()).lines();
        let port = lines
            .map_while(Result::ok)
            .find_map(|line| {
                let (_, port) = line.split_once("started successfully on port ")?;
                port.trim_end_matches('.').parse().ok()
            })
            .expect("chromedriver did not say on which port it listens");
        Driver {
            process,
            port,
            profile,
        }
    }

    async fn open(&self, screen: Screen) -> Client {
        let mut arguments: Vec<String> = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--lang=en-US",
        ]
        .map(String::from)
        .into();
        arguments.push(format!("--user-data-dir={}", self.profile.display()));
        arguments.push(format!("--window-size={},{}", screen.width, screen.height));
        if screen.dark {
            // 0 is dark in Blink's `PreferredColorScheme`.
            arguments.push("--blink-settings=preferredColorScheme=0".into());
        }
        let mut options = json!({ "args": arguments });
        if screen.width < 500 {
            // A desktop window does not become narrower than 500 px.
            options["mobileEmulation"] = json!({ "deviceMetrics": {
                "width": screen.width, "height": screen.height, "pixelRatio": 2.0,
            }});
        }
        let capabilities = json!({ "goog:chromeOptions": options });
        ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities.as_object().unwrap().clone())
            .connect(&format!("http://127.0.0.1:{}", self.port))
            .await
            .expect("Chromium did not start")
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
        let _ = std::fs::remove_dir_all(&self.profile);
    }
}

/// The page as its visitor sees it.
pub struct Page {
    pub client: Client,
}

impl Page {
    /// Waits for an element.
    pub async fn find(&self, css: &str) -> Element {
        self.client
            .wait()
            .at_most(PATIENCE)
            .for_element(Locator::Css(css))
            .await
            .unwrap_or_else(|error| panic!("{css} did not appear: {error}"))
    }

    /// Clicks; once more where the page has put a new element in its place meanwhile.
    pub async fn click(&self, css: &str) {
        let mut clicked = Ok(());
        for _ in 0..5 {
            clicked = self.press_on(self.find(css).await).await;
            if !clicked
                .as_ref()
                .is_err_and(|error| error.is_stale_element_reference())
            {
                break;
            }
        }
        clicked.unwrap();
    }

    /// Presses a key (by its code point in WebDriver, section 17.4.2) wherever the focus is.
    pub async fn press(&self, key: &str) {
        self.client
            .active_element()
            .await
            .unwrap()
            .send_keys(key)
            .await
            .unwrap();
    }

    /// Moves the clock, and waits until it stands still again.
    pub async fn jump(&self, to: &str) {
        self.click(&format!("[data-jump={to}]")).await;
        self.find("[data-jump][aria-disabled=false]").await;
    }

    /// Types into somebody's phone and sends it off.
    pub async fn write(&self, address: &str, text: &str) {
        let input = self.find(&format!("#write-{address}")).await;
        input.send_keys(text).await.unwrap();
        input.send_keys("\u{e007}").await.unwrap(); // Enter
    }

    /// Taps the newest button with that label in somebody's phone.
    pub async fn tap(&self, address: &str, label: &str) {
        let xpath = format!(
            "(//section[@data-address='{address}']//div[@class='entry-buttons']\
             /button[text()='{label}'])[last()]"
        );
        let button = self
            .client
            .wait()
            .at_most(PATIENCE)
            .for_element(Locator::XPath(&xpath))
            .await
            .unwrap_or_else(|error| panic!("{address} has no button {label}: {error}"));
        self.press_on(button).await.unwrap();
    }

    /// As a thumb does it: away from what is fixed at the edges of the screen.
    async fn press_on(&self, button: Element) -> Result<(), CmdError> {
        let to_middle =
            "arguments[0].scrollIntoView({block: 'center', inline: 'center', behavior: 'instant'})";
        let this = vec![serde_json::to_value(&button).unwrap()];
        self.client.execute(to_middle, this).await?;
        button.click().await
    }

    /// Waits until somebody's phone says this.
    pub async fn reads(&self, address: &str, words: &str) -> Element {
        self.reads_after(address, "", words).await
    }

    /// Waits until somebody's phone says this below a message that says that.
    pub async fn reads_after(&self, address: &str, before: &str, words: &str) -> Element {
        let quoted = format!("{before}{words}").contains('\'');
        assert!(!quoted, "quotes would end the XPath text");
        let above = match before {
            "" => String::new(),
            before => format!("[preceding-sibling::div[contains(., '{before}')]]"),
        };
        let xpath = format!(
            "//section[@data-address='{address}']//div[starts-with(@class, 'entry ')]{above}\
             //p[@class='entry-text'][contains(., '{words}')]"
        );
        let found = self
            .client
            .wait()
            .at_most(PATIENCE)
            .for_element(Locator::XPath(&xpath))
            .await;
        match found {
            Ok(element) => element,
            Err(_) => panic!(
                "the phone of {address} does not say \"{words}\" but: {}",
                self.text(&format!("[data-address={address}] .log")).await
            ),
        }
    }

    pub async fn text(&self, css: &str) -> String {
        self.find(css).await.text().await.unwrap()
    }

    /// Waits until an element says this somewhere in it.
    pub async fn says(&self, id: &str, words: &str) {
        let xpath = format!("//*[@id='{id}'][contains(., '{words}')]");
        let wait = self.client.wait().at_most(PATIENCE);
        let found = wait.for_element(Locator::XPath(&xpath)).await;
        assert!(
            found.is_ok(),
            "no {words:?} in #{id}: {}",
            self.text(&format!("#{id}")).await
        );
    }

    /// The value of a JavaScript expression.
    pub async fn value(&self, expression: &str) -> serde_json::Value {
        self.client
            .execute(&format!("return {expression}"), Vec::new())
            .await
            .unwrap()
    }

    /// Keeps a picture of the whole page, where `VIALBELL_PICTURES` names a folder for them.
    pub async fn picture(&self, name: &str) {
        if let Some(folder) = std::env::var_os("VIALBELL_PICTURES") {
            tokio::time::sleep(Duration::from_millis(800)).await;
            let png = self.client.screenshot().await.unwrap();
            std::fs::write(PathBuf::from(folder).join(format!("{name}.png")), png).unwrap();
        }
    }
}
