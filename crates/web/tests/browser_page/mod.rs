//! Driving a page: go, type, press, wait for a condition, look.
#![allow(dead_code)] // each test uses a part of it
#![expect(
    deprecated,
    reason = "what succeeds the emulated network is not in this version of the driver"
)]

use std::time::{Duration, Instant};

use chromiumoxide::browser::{Browser, BrowserConfig};
use chromiumoxide::cdp::browser_protocol::emulation::{
    MediaFeature, SetDeviceMetricsOverrideParams, SetEmulatedMediaParams,
    SetTouchEmulationEnabledParams,
};
use chromiumoxide::cdp::browser_protocol::network::EmulateNetworkConditionsParams;
use chromiumoxide::cdp::browser_protocol::page::AddScriptToEvaluateOnNewDocumentParams;
use chromiumoxide::page::{Page, ScreenshotParams};
use futures_util::StreamExt;
use serde_json::Value;
use tokio::task::JoinHandle;

use crate::support::{Bench, pictures};

/// axe-core, unchanged; see vendor/README.md.
const AXE: &str = include_str!("../vendor/axe.min.js");
/// Longer than any wait that ends well: a trace in an unoptimised build beside other work.
const PATIENCE: Duration = Duration::from_secs(300);

/// Width, height, scale, name.
pub type Window = (i64, i64, f64, &'static str);
pub const PHONE: Window = (360, 740, 2.0, "phone");
pub const DESK: Window = (1280, 900, 1.0, "desk");

#[derive(Clone, Copy, PartialEq)]
pub enum Theme {
    Light,
    Dark,
}

pub struct Running {
    browser: Browser,
    pump: JoinHandle<()>,
    _folder: tempfile::TempDir,
}

pub async fn launch() -> Running {
    let chromium = ["/usr/bin/chromium", "/usr/bin/chromium-browser"]
        .into_iter()
        .find(|it| std::path::Path::new(it).exists());
    let chromium =
        chromium.expect("the browser tests need Chromium: sudo apt-get install chromium");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let config = BrowserConfig::builder()
        .chrome_executable(chromium)
        .no_sandbox()
        .new_headless_mode()
        .disable_https_first()
        .user_data_dir(folder.path())
        .window_size(1280, 900)
        .request_timeout(PATIENCE)
        .launch_timeout(PATIENCE)
        .build()
        .expect("the browser's options are sound");
    let (browser, mut handler) = Browser::launch(config).await.expect("Chromium starts");
    let pump = tokio::spawn(async move { while handler.next().await.is_some() {} });
    Running {
        browser,
        pump,
        _folder: folder,
    }
}

pub async fn close(mut it: Running) {
    let _ = it.browser.close().await;
    let _ = it.browser.wait().await;
    it.pump.abort();
}

pub struct Drive {
    page: Page,
    base: String,
    window: Window,
    theme: Theme,
}

impl Drive {
    /// A tab with a window and a theme, let in by the printed address.
    pub async fn open(running: &Running, bench: &Bench, window: Window, theme: Theme) -> Drive {
        let base = format!("http://{}", bench.host());
        let drive = Drive::open_at(running, base, &bench.address, window, theme).await;
        drive.until("location.pathname === '/'").await;
        drive
    }

    /// A tab at an address.
    pub async fn open_at(
        running: &Running,
        base: String,
        address: &str,
        window: Window,
        theme: Theme,
    ) -> Drive {
        let page = running
            .browser
            .new_page("about:blank")
            .await
            .expect("a tab");
        let watch = "window.policyBroken = []; addEventListener('securitypolicyviolation', it => { \
            const old = JSON.parse(sessionStorage.getItem('policy') || '[]'); old.push(it.violatedDirective + ' ' + it.blockedURI); \
            sessionStorage.setItem('policy', JSON.stringify(old)); });";
        page.execute(AddScriptToEvaluateOnNewDocumentParams::new(watch))
            .await
            .expect("a listener");
        let drive = Drive {
            page,
            base,
            window,
            theme,
        };
        drive.dress().await;
        drive
            .page
            .goto(address)
            .await
            .expect("the printed address opens");
        drive
    }

    async fn dress(&self) {
        let (width, height, scale, name) = self.window;
        let phone = name == "phone";
        self.page
            .execute(SetDeviceMetricsOverrideParams::new(
                width, height, scale, phone,
            ))
            .await
            .expect("a window");
        if phone {
            self.page
                .execute(SetTouchEmulationEnabledParams::new(true))
                .await
                .expect("touch");
        }
        let value = if self.theme == Theme::Dark {
            "dark"
        } else {
            "light"
        };
        let media = SetEmulatedMediaParams::builder()
            .feature(MediaFeature::new("prefers-color-scheme", value));
        self.page.execute(media.build()).await.expect("a theme");
    }

    pub fn name(&self) -> String {
        format!(
            "{}-{}",
            self.window.3,
            if self.theme == Theme::Dark {
                "dark"
            } else {
                "light"
            }
        )
    }

    pub async fn go(&self, path: &str) {
        // a hash alone would load nothing
        let _ = self.page.goto(format!("{}{path}", self.base)).await;
        self.until("document.readyState === 'complete' && document.querySelector('main') !== null")
            .await;
    }

    pub async fn run(&self, script: &str) {
        let done = self
            .page
            .evaluate(format!("(() => {{ {script}; return 1; }})()"))
            .await;
        if let Err(error) = done {
            panic!("{script}: {error}");
        }
    }

    pub async fn value(&self, script: &str) -> String {
        let told: Option<Value> = self
            .page
            .evaluate(script)
            .await
            .ok()
            .and_then(|it| it.into_value().ok());
        match told {
            Some(Value::String(it)) => it,
            Some(other) => other.to_string(),
            None => String::new(),
        }
    }

    pub async fn truth(&self, script: &str) -> bool {
        self.value(script).await == "true"
    }

    pub async fn text(&self, selector: &str) -> String {
        self.value(&format!(
            "(document.querySelector(\"{selector}\") || {{ innerText: '' }}).innerText"
        ))
        .await
    }

    pub async fn path(&self) -> String {
        self.value("location.pathname").await
    }

    /// Waits for a condition; while a page loads there may be nothing to ask.
    pub async fn until(&self, condition: &str) {
        let begun = Instant::now();
        while !self.truth(condition).await {
            if begun.elapsed() > PATIENCE {
                self.picture("waited-in-vain").await;
                panic!(
                    "waited in vain for {condition} on {}: {}",
                    self.path().await,
                    self.text("main").await
                );
            }
            tokio::time::sleep(Duration::from_millis(30)).await;
        }
    }

    pub async fn type_into(&self, selector: &str, text: &str) {
        let quoted = serde_json::to_string(text).expect("a text is JSON");
        // typed as one: a meter's value is not edited letter by letter on the pages
        self.run(&format!("const it = document.querySelector(\"{selector}\"); it.focus(); it.value = {quoted}; it.dispatchEvent(new Event('input', {{ bubbles: true }}))")).await;
    }

    pub async fn choose(&self, selector: &str, value: &str) {
        self.run(&format!(
            "document.querySelector(\"{selector}\").value = '{value}'"
        ))
        .await;
    }

    pub async fn press(&self, selector: &str) {
        let selector = selector.replace('"', "'");
        self.until(&format!("document.querySelector(\"{selector}\") !== null"))
            .await;
        self.run(&format!("document.querySelector(\"{selector}\").click()"))
            .await;
    }

    /// Presses and waits until another page is there.
    pub async fn press_and_load(&self, selector: &str) {
        self.run("window.stale = true").await;
        self.press(selector).await;
        self.until("window.stale !== true && document.readyState === 'complete'")
            .await;
    }

    pub async fn network(&self, on: bool) {
        let conditions = EmulateNetworkConditionsParams::new(!on, 0.0, -1.0, -1.0);
        self.page
            .execute(conditions)
            .await
            .expect("the network is switched");
    }

    /// What the checker finds that is serious or worse.
    pub async fn axe(&self) -> Vec<String> {
        self.page
            .evaluate_expression(AXE)
            .await
            .expect("the checker loads");
        let script = "async () => (await axe.run(document)).violations.filter(it => ['serious', 'critical'].includes(it.impact)).map(it => it.id + ' at ' + it.nodes.map(node => node.target.join(' ')).slice(0, 3).join(', '))";
        let found = self
            .page
            .evaluate_function(script)
            .await
            .expect("the checker runs");
        found.into_value().expect("a list of texts")
    }

    pub async fn violations(&self) -> String {
        self.value("JSON.parse(sessionStorage.getItem('policy') || '[]').join(', ')")
            .await
    }

    /// A picture of what the window shows, and no more.
    pub async fn glance(&self, name: &str) {
        let path = pictures().join(format!("{name}.png"));
        let taken = self
            .page
            .save_screenshot(ScreenshotParams::builder().build(), &path);
        if let Err(error) = taken.await {
            eprintln!("no picture of {name}: {error}");
        }
    }

    /// A picture of the window; its top, and the whole length below where it is longer.
    pub async fn picture(&self, name: &str) {
        let path = pictures().join(format!("{name}-{}.png", self.name()));
        let height = self
            .value("Math.min(document.documentElement.scrollHeight, 4000)")
            .await
            .parse::<i64>()
            .unwrap_or(900);
        let (width, least, scale, phone) = (
            self.window.0,
            self.window.1,
            self.window.2,
            self.window.3 == "phone",
        );
        let _ = self
            .page
            .execute(SetDeviceMetricsOverrideParams::new(
                width,
                height.max(least),
                scale,
                phone,
            ))
            .await;
        if let Err(error) = self
            .page
            .save_screenshot(ScreenshotParams::builder().build(), &path)
            .await
        {
            eprintln!("no picture of {name}: {error}");
        }
        self.dress().await;
    }
}
