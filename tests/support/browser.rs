//! A real browser, headless, driven by the `WebDriver` standard. Each session is a browser of its
//! own with an empty profile, like a person at another machine; the driver behind them is started
//! once for all tests.

use std::path::Path;
use std::sync::LazyLock;
use std::time::{Duration, Instant};

use fantoccini::elements::Element;
use fantoccini::error::CmdError;
use fantoccini::wd::{Capabilities, PrintConfiguration};
use fantoccini::{Client, ClientBuilder, Locator};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::{Value, json};

use crate::keeper::Kept;

/// Without a sandbox, since tests may run as root; and without calls to the world outside.
const FLAGS: [&str; 9] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1280,1000",
];

static DRIVER: LazyLock<Kept> =
    LazyLock::new(|| Kept::start(&["chromedriver", "--port=0"], "successfully on port "));

/// How long the driver looks for an element before it gives up, in milliseconds.
const PATIENCE_MS: u32 = 5_000;

/// Whether a window shows another page than before, and that one wholly.
const ARRIVED: &str = "return !window.leaving && document.readyState === 'complete'";

/// A window with one page. Elements are found by CSS selectors and waited for; what is not there
/// after some seconds, is hidden or is covered by something else ends the test.
#[derive(Debug)]
pub struct Browser {
    client: Client,
}

/// Lends a browser to the body and closes it afterwards. Costs about a second.
pub async fn in_browser(body: impl AsyncFnOnce(&Browser)) {
    let browser = Browser::start().await;
    body(&browser).await;
    browser.client.close().await.expect("the browser closes");
}

impl Browser {
    async fn start() -> Self {
        let capabilities = Capabilities::from_iter([
            ("goog:chromeOptions".to_owned(), json!({ "args": FLAGS })),
            ("timeouts".to_owned(), json!({ "implicit": PATIENCE_MS })),
        ]);
        let client = ClientBuilder::new(HttpConnector::new())
            .capabilities(capabilities)
            .connect(&driver_address())
            .await
            .expect("the driver starts a browser");
        Self { client }
    }

    /// Shows the page at an address and waits until it is loaded.
    pub async fn open(&self, url: &str) {
        done("open", url, self.client.goto(url).await);
    }

    /// The address of the page shown.
    pub async fn address(&self) -> String {
        let address = self.client.current_url().await;
        done("address", "", address).to_string()
    }

    /// Presses the mouse in the middle of an element, be it of a form or of a drawing, that leads
    /// to another page, and waits until that page is there.
    pub async fn follow(&self, selector: &str) {
        self.leave(selector, self.click(selector)).await;
    }

    /// Types into a field and presses the key that sends its form, and waits for the page that
    /// answers.
    pub async fn enter(&self, selector: &str, text: &str) {
        let typed = format!("{text}\u{e007}");
        self.leave(selector, self.type_into(selector, &typed)).await;
    }

    /// Without this, what is asked next would now and then be answered by the page that is left.
    async fn leave(&self, by: &str, act: impl Future<Output = ()>) {
        self.evaluate("window.leaving = true").await;
        act.await;
        let patience = Duration::from_millis(PATIENCE_MS.into());
        let begun = Instant::now();
        while !matches!(
            self.client.execute(ARRIVED, Vec::new()).await,
            Ok(Value::Bool(true))
        ) {
            assert!(begun.elapsed() < patience, "browser: “{by}” leads nowhere");
        }
    }

    /// Presses the mouse in the middle of an element, be it of a form or of a drawing.
    pub async fn click(&self, selector: &str) {
        done("click", selector, self.find(selector).await.click().await);
    }

    /// Types into a field after what is there.
    pub async fn type_into(&self, selector: &str, text: &str) {
        let typed = self.find(selector).await.send_keys(text).await;
        done("type into", selector, typed);
    }

    /// Empties a field.
    pub async fn clear(&self, selector: &str) {
        done("clear", selector, self.find(selector).await.clear().await);
    }

    /// Chooses from a list by the value of the option.
    pub async fn choose(&self, selector: &str, value: &str) {
        let chosen = self.find(selector).await.select_by_value(value).await;
        done("choose in", selector, chosen);
    }

    /// The text of an element as it is shown: what is hidden is not in it.
    pub async fn text(&self, selector: &str) -> String {
        done("text of", selector, self.find(selector).await.text().await)
    }

    /// Runs the body of a function of a script and gives what it returns.
    pub async fn evaluate(&self, script: &str) -> Value {
        done(
            "evaluate",
            script,
            self.client.execute(script, Vec::new()).await,
        )
    }

    /// Gives the window another size, in pixels.
    pub async fn resize(&self, width: u32, height: u32) {
        let resized = self.client.set_window_size(width, height).await;
        done("resize", "", resized);
    }

    /// Writes what the window shows to a PNG file.
    pub async fn screenshot(&self, file: &Path) {
        write(
            file,
            &done("screenshot", "", self.client.screenshot().await),
        );
    }

    /// Writes the page as it is printed to a PDF file.
    pub async fn print(&self, file: &Path) {
        let sheets = PrintConfiguration::default();
        write(file, &done("print", "", self.client.print(sheets).await));
    }

    async fn find(&self, selector: &str) -> Element {
        done(
            "find",
            selector,
            self.client.find(Locator::Css(selector)).await,
        )
    }
}

fn driver_address() -> String {
    let ready = DRIVER.ready();
    let digits = |part: &str| {
        part.chars()
            .take_while(char::is_ascii_digit)
            .collect::<String>()
    };
    let port = ready.rsplit("on port ").next().map(digits);
    format!("http://127.0.0.1:{}", port.unwrap_or_default())
}

fn write(file: &Path, bytes: &[u8]) {
    std::fs::write(file, bytes).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
}

fn done<T>(what: &str, on: &str, result: Result<T, CmdError>) -> T {
    result.unwrap_or_else(|error| panic!("browser: {what} “{on}”: {error}"))
}
