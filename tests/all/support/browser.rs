//! Headless Chromium driven through its own driver, at desk or phone width; pictures are kept.
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use thirtyfour::cdp::domains::emulation::SetDeviceMetricsOverride;
use thirtyfour::prelude::*;
use thirtyfour::support::base64_decode;
use tokio::runtime::Runtime;

/// How wide the window is.
#[derive(Clone, Copy, Debug)]
pub enum Width {
    Desk,
    Phone,
}

impl Width {
    fn pixels(self) -> (u32, u32) {
        match self {
            Self::Desk => (1280, 1000),
            Self::Phone => (390, 844),
        }
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Desk => "desk",
            Self::Phone => "phone",
        }
    }
}

/// A browser window; closed with the value.
pub struct Browser {
    driver: Option<WebDriver>,
    process: Child,
    runtime: Runtime,
    address: String,
    width: Width,
    story: String,
    shots: std::cell::Cell<u32>,
    taken: std::cell::RefCell<Vec<String>>,
}

fn program(names: &[&str]) -> String {
    names
        .iter()
        .find(|name| {
            Command::new(name)
                .arg("--version")
                .stdout(Stdio::null())
                .status()
                .is_ok()
        })
        .unwrap_or_else(|| panic!("{names:?} is not here: run `bash tests/run`, which installs it"))
        .to_string()
}

/// Where pictures are kept: beside what cargo builds, never in the repository.
pub fn pictures() -> PathBuf {
    let folder = std::env::current_exe().unwrap();
    let target = folder
        .ancestors()
        .find(|p| p.ends_with("debug") || p.ends_with("release"));
    let folder = target
        .expect("the test binary lies in cargo's folder")
        .join("pictures");
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

impl Browser {
    pub fn open(address: &str, story: &str, width: Width) -> Self {
        let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
        let port = free.local_addr().unwrap().port();
        drop(free);
        let process = Command::new(program(&["chromedriver"]))
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        super::server::choose_cryptography();
        let runtime = Runtime::new().unwrap();
        let driver = runtime.block_on(start(port, width));
        Self {
            driver: Some(driver),
            process,
            runtime,
            address: address.to_owned(),
            width,
            story: story.to_owned(),
            shots: std::cell::Cell::new(0),
            taken: std::cell::RefCell::default(),
        }
    }

    fn driver(&self) -> &WebDriver {
        self.driver.as_ref().expect("open until dropped")
    }

    fn wait<T>(&self, work: impl Future<Output = WebDriverResult<T>>) -> T {
        self.runtime.block_on(work).unwrap_or_else(|e| {
            let shown = self
                .runtime
                .block_on(self.driver().source())
                .unwrap_or_default();
            let text = shown.split("<main").nth(1).unwrap_or(&shown);
            panic!(
                "{} ({}): {e}\nThe page was: {:.4000}",
                self.story,
                self.width.name(),
                text
            )
        })
    }

    /// Opens an address of the program.
    pub fn go(&self, path: &str) {
        self.wait(self.driver().goto(format!("{}{path}", self.address)));
    }

    /// The address one is at, without the server.
    pub fn path(&self) -> String {
        let url = self.wait(self.driver().current_url());
        url.as_str()
            .strip_prefix(&self.address)
            .unwrap_or(url.as_str())
            .to_owned()
    }

    /// The words of the page as a reader sees them, no-break spaces as spaces.
    pub fn words(&self) -> String {
        self.read("return document.body ? document.body.innerText : '';")
    }

    /// The heading.
    pub fn heading(&self) -> String {
        self.read("const h = document.querySelector('h1'); return h ? h.innerText : '';")
    }

    /// What a script answers, in one go: an element found a moment ago may be gone with its page.
    fn read(&self, script: &str) -> String {
        let answer = self.wait(self.driver().execute(script, vec![]));
        let text = answer.json().as_str().unwrap_or_default();
        text.replace(['\u{a0}', '\n'], " ")
    }

    /// The words of every element a selector finds, in the order of the page, no-break spaces as spaces.
    pub fn texts(&self, css: &str) -> Vec<String> {
        let script = format!(
            "return [...document.querySelectorAll(\"{css}\")].map(e => e.innerText.trim());"
        );
        let answer = self.wait(self.driver().execute(script, vec![]));
        let texts = answer.json().as_array().cloned().unwrap_or_default();
        let text = |t: &serde_json::Value| t.as_str().unwrap_or_default().replace('\u{a0}', " ");
        texts.iter().map(text).collect()
    }

    /// Whether the page has an element.
    pub fn has(&self, css: &str) -> bool {
        !self.wait(self.driver().find_all(By::Css(css))).is_empty()
    }

    /// Presses the first visible link or button with these words.
    pub fn press(&self, words: &str) {
        let quoted = words.replace('"', "");
        let xpath = format!(
            "//a[contains(normalize-space(translate(., '\u{a0}', ' ')), \"{quoted}\")] | \
             //button[contains(normalize-space(translate(., '\u{a0}', ' ')), \"{quoted}\")] | \
             //summary[contains(normalize-space(translate(., '\u{a0}', ' ')), \"{quoted}\")]"
        );
        self.wait(async {
            for element in self.driver().find_all(By::XPath(&xpath)).await? {
                if element.is_displayed().await? {
                    element.scroll_into_view().await?;
                    return element.click().await;
                }
            }
            self.driver()
                .find(By::XPath("//a[.='nothing is called that']"))
                .await
                .map(drop)
        });
    }

    /// Presses what a selector finds.
    pub fn press_css(&self, css: &str) {
        self.wait(async {
            let element = self.driver().find(By::Css(css)).await?;
            element.scroll_into_view().await?;
            element.click().await
        });
    }

    /// Types into a field by its name, in place of what stood there.
    pub fn type_in(&self, name: &str, text: &str) {
        let css = format!("input[name='{name}'], textarea[name='{name}']");
        self.wait(async {
            let field = self.driver().find(By::Css(&css)).await?;
            field.scroll_into_view().await?;
            field.clear().await?;
            field.send_keys(text).await
        });
    }

    /// Chooses a radio button, or an entry of a list, by field name and value.
    pub fn choose(&self, name: &str, value: &str) {
        let radio = format!("input[name='{name}'][value='{value}']");
        let option = format!("select[name='{name}'] option[value='{value}']");
        self.unfold(name);
        self.wait(async {
            if let Ok(field) = self.driver().find(By::Css(&radio)).await {
                field.scroll_into_view().await?;
                // The label covers the button on the job sheet: press whichever takes the press.
                if field.click().await.is_err() {
                    let id = field.attr("id").await?.unwrap_or_default();
                    let label = format!("label[for='{id}']");
                    self.driver().find(By::Css(&label)).await?.click().await?;
                }
                return Ok(());
            }
            self.driver().find(By::Css(&option)).await?.click().await
        });
    }

    /// Takes the signal away, or gives it back.
    pub fn signal(&self, there: bool) {
        let line = serde_json::json!({
            "offline": !there, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1,
        });
        self.wait(async {
            let cdp = self.driver().cdp();
            cdp.send_raw("Network.enable", serde_json::json!({}))
                .await?;
            cdp.send_raw("Network.emulateNetworkConditions", line).await
        });
    }

    /// Waits until something is so.
    pub fn until(&self, what: &str, so: impl Fn() -> bool) {
        let began = Instant::now();
        while !so() {
            assert!(
                began.elapsed() < Duration::from_secs(20),
                "{what}: not at {}: {:.3000}",
                self.path(),
                self.words()
            );
            std::thread::sleep(Duration::from_millis(30));
        }
    }

    /// Answers a question however it is asked: a radio button, or a field to type into.
    pub fn answer(&self, name: &str, value: &str) {
        self.unfold(name);
        if self.has(&format!("input[type='radio'][name='{name}']")) {
            self.choose(name, value);
        } else {
            self.type_in(name, value);
        }
    }

    /// Presses keys where the focus is, as somebody without a mouse does.
    pub fn keys(&self, keys: &str) {
        self.wait(async {
            let focused = self.driver().active_element().await?;
            focused.send_keys(keys).await
        });
    }

    /// What stands in a field now.
    pub fn value(&self, name: &str) -> String {
        self.read(&format!(
            "const f = document.querySelector(\"[name='{name}']\"); return f ? f.value : '';"
        ))
    }

    /// The name of the field that has the focus; empty when it is no field.
    pub fn focused(&self) -> String {
        self.read("return document.activeElement.name || '';")
    }

    /// The words of the link or button that has the focus.
    pub fn focused_words(&self) -> String {
        self.read("return document.activeElement.innerText.trim();")
    }

    /// Opens the fold a question stands behind.
    fn unfold(&self, name: &str) {
        let xpath = format!("//*[@name='{name}']/ancestor::details[not(@open)]/summary");
        self.wait(async {
            for fold in self.driver().find_all(By::XPath(&xpath)).await? {
                fold.scroll_into_view().await?;
                fold.click().await?;
            }
            Ok(())
        });
    }

    /// Sets a day or an hour: how one is typed depends on the browser's language.
    pub fn set(&self, name: &str, value: &str) {
        let script = format!("document.querySelector(\"[name='{name}']\").value = '{value}';");
        self.wait(async { self.driver().execute(script, vec![]).await.map(drop) });
    }

    /// The page as the server sent it.
    pub fn source(&self) -> String {
        self.wait(self.driver().source())
    }

    /// Waits until the address holds these words: the driver is back from a press before the server has answered it.
    pub fn arrives(&self, at: &str) {
        self.until(at, || self.path().contains(at));
    }

    /// Waits until the address is another than this one.
    pub fn leaves(&self, path: &str) {
        self.until("the next page", || self.path() != path);
    }

    /// Presses the link or button with these words inside the row that holds `row`.
    pub fn press_in_row(&self, row: &str, words: &str) {
        let spaced = "translate(., '\u{a0}', ' ')";
        let xpath = format!(
            "//main//li[contains(normalize-space({spaced}), \"{row}\")]//*[self::a or self::button][contains(normalize-space({spaced}), \"{words}\")]"
        );
        self.wait(async {
            let element = self.driver().find(By::XPath(&xpath)).await?;
            element.scroll_into_view().await?;
            element.click().await
        });
    }

    /// Whether a field of this name can be answered here.
    pub fn asks(&self, name: &str) -> bool {
        self.has(&format!("main [name='{name}']"))
    }

    /// Chooses the entry of a list whose words hold `words`.
    pub fn choose_worded(&self, name: &str, words: &str) {
        let xpath = format!("//select[@name='{name}']/option[contains(., \"{words}\")]");
        self.wait(async { self.driver().find(By::XPath(&xpath)).await?.click().await });
    }

    /// Keeps a picture of the whole page under the story's name.
    pub fn shot(&self, what: &str) {
        let n = self.shots.get() + 1;
        self.shots.set(n);
        let name = format!("{}-{n:02}-{what}-{}.png", self.story, self.width.name());
        self.taken.borrow_mut().push(name.clone());
        let (width, least) = self.width.pixels();
        self.wait(async {
            let height = self
                .driver()
                .execute("return document.documentElement.scrollHeight;", vec![])
                .await?
                .json()
                .as_u64()
                .unwrap_or(1000);
            let whole = u32::try_from(height)
                .unwrap_or(u32::MAX)
                .clamp(least, TALLEST);
            resize(self.driver(), (width, whole)).await?;
            let png = self.driver().screenshot_as_png().await?;
            resize(self.driver(), (width, least)).await?;
            std::fs::write(pictures().join(name), png).expect("the picture is kept");
            Ok(())
        });
        self.fits();
    }

    /// The pictures kept so far, by their names.
    pub fn pictures_kept(&self) -> Vec<String> {
        self.taken.borrow().clone()
    }

    /// When the page one is at was asked for, and how long it took until it had loaded with everything that led to it (a
    /// form that was sent, an address that led on), both in ms by the browser's own clock; `None` while it loads.
    pub fn navigation(&self) -> Option<(f64, f64)> {
        let said = self.read(
            "const n = performance.getEntriesByType('navigation')[0]; \
             return n && n.loadEventEnd > 0 ? `${performance.timeOrigin} ${n.loadEventEnd - n.startTime}` : '';",
        );
        let (asked, took) = said.split_once(' ')?;
        Some((asked.parse().ok()?, took.parse().ok()?))
    }

    /// Nothing may stick out sideways.
    fn fits(&self) {
        let wide = self.wait(async {
            self.driver()
                .execute("return document.documentElement.scrollWidth;", vec![])
                .await
                .map(|v| v.json().as_u64().unwrap_or(0))
        });
        let (width, _) = self.width.pixels();
        assert!(
            wide <= u64::from(width),
            "{} is {wide} px wide on a {width} px screen",
            self.path()
        );
    }

    /// Prints the page to PDF and returns its bytes.
    pub fn print(&self, what: &str) -> Vec<u8> {
        let answer = self.wait(async {
            // Raw: the typed command cannot be told to prefer the page's own size.
            let wishes = serde_json::json!({ "paperWidth": 8.27, "paperHeight": 11.69, "preferCSSPageSize": true });
            self.driver().cdp().send_raw("Page.printToPDF", wishes).await
        });
        let bytes = base64_decode(answer["data"].as_str().expect("a PDF")).unwrap();
        assert!(bytes.starts_with(b"%PDF"), "{what} prints");
        std::fs::write(
            pictures().join(format!("{}-{:02}-{what}.pdf", self.story, self.shots.get())),
            &bytes,
        )
        .unwrap();
        bytes
    }

    /// Signs in as one of the demo people, from the sign-in page.
    pub fn come_in_as(&self, name: &str) {
        self.go("/sign-in");
        self.press(&format!("Come in as {name}"));
        self.leaves("/sign-in");
    }

    /// Signs out by going to the sign-in page anew with no cookie.
    pub fn forget(&self) {
        self.wait(self.driver().delete_all_cookies());
    }
}

/// The tallest picture: the browser draws surfaces up to 16,384 pixels; what is below is cut.
const TALLEST: u32 = 16_000;

async fn start(port: u16, width: Width) -> WebDriver {
    let mut wishes = DesiredCapabilities::chrome();
    let (wide, high) = width.pixels();
    for wish in [
        "--headless=new",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-dev-shm-usage",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--no-first-run",
        "--force-color-profile=srgb",
        // A picture between two pages would show both, one through the other.
        "--force-prefers-reduced-motion",
        &format!("--window-size={wide},{high}"),
    ] {
        wishes.add_arg(wish).unwrap();
    }
    let began = Instant::now();
    loop {
        match WebDriver::new(format!("http://127.0.0.1:{port}"), wishes.clone()).await {
            Ok(driver) => {
                resize(&driver, (wide, high)).await.unwrap();
                return driver;
            }
            Err(e) if began.elapsed() > Duration::from_secs(40) => panic!("no browser: {e}"),
            Err(_) => tokio::time::sleep(Duration::from_millis(200)).await,
        }
    }
}

/// Sets the size of the page itself, whatever the window's.
async fn resize(driver: &WebDriver, (width, height): (u32, u32)) -> WebDriverResult<()> {
    let size = SetDeviceMetricsOverride {
        width,
        height,
        device_scale_factor: 1.0,
        mobile: false,
        scale: None,
        screen_orientation: None,
    };
    driver.cdp().send(size).await.map(drop)
}

impl Drop for Browser {
    fn drop(&mut self) {
        if let Some(driver) = self.driver.take() {
            let _closing = self.runtime.block_on(driver.quit());
        }
        let _ended = self.process.kill();
        let _reaped = self.process.wait();
    }
}
