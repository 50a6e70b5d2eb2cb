//! A browser that a test tells what to do, where there is one.

use std::fs::{self, File, OpenOptions};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

const BROWSERS: [&str; 3] = [
    "/usr/bin/chromium",
    "/usr/bin/chromium-browser",
    "/usr/bin/google-chrome",
];

/// So long a page may take to become as it should.
pub(crate) const PATIENCE: Duration = Duration::from_secs(30);

/// A browser that is told what to do through two pipes, one command a time.
pub(crate) struct Browser {
    process: Child,
    to: File,
    from: BufReader<File>,
    n_sent: u64,
    pub(crate) session: Option<String>,
    /// What the browser told unasked, oldest first.
    pub(crate) events: Vec<Value>,
}

impl Browser {
    /// Starts the browser with a profile of its own in `folder`; `None`, and a line that says so, where there
    /// is none.
    pub(crate) fn start(folder: &Path) -> Option<Browser> {
        let Some(browser) = BROWSERS.iter().find(|path| Path::new(path).exists()) else {
            skipped(&format!("no browser among {BROWSERS:?}"));
            return None;
        };
        let (to, from) = (folder.join("to"), folder.join("from"));
        for pipe in [&to, &from] {
            let _ = fs::remove_file(pipe);
            let made = Command::new("mkfifo").arg(pipe).status().expect("mkfifo");
            assert!(made.success());
        }
        let script = "exec \"$0\" \"$@\" 3<\"$TO\" 4>\"$FROM\"";
        let process = Command::new("sh")
            .args(["-c", script, browser])
            .args([
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--remote-debugging-pipe",
                "--window-size=390,844",
            ])
            .arg(format!(
                "--user-data-dir={}",
                folder.join("profile").display()
            ))
            .env("TO", &to)
            .env("FROM", &from)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the browser starts");
        let to = OpenOptions::new().write(true).open(&to).expect("a pipe");
        let from = BufReader::new(File::open(&from).expect("a pipe"));
        Some(Browser {
            process,
            to,
            from,
            n_sent: 0,
            session: None,
            events: Vec::new(),
        })
    }

    pub(crate) fn call(&mut self, method: &str, params: Value) -> Value {
        self.n_sent += 1;
        let mut message = json!({"id": self.n_sent, "method": method, "params": params});
        if let Some(session) = &self.session {
            message["sessionId"] = json!(session);
        }
        let mut bytes = message.to_string().into_bytes();
        bytes.push(0);
        self.to.write_all(&bytes).expect("the browser listens");
        loop {
            let mut answer = Vec::new();
            self.from
                .read_until(0, &mut answer)
                .expect("the browser answers");
            answer.pop();
            let answer: Value = serde_json::from_slice(&answer).expect("JSON");
            if answer["id"] == json!(self.n_sent) {
                assert!(answer.get("error").is_none(), "{method}: {answer}");
                return answer["result"].clone();
            }
            if answer.get("method").is_some() {
                self.events.push(answer);
            }
        }
    }

    /// Opens a page in a tab of its own, and listens to its console and to what it asks for.
    pub(crate) fn open(&mut self, page: &Path) {
        self.session = None;
        let target = self.call("Target.createTarget", json!({"url": "about:blank"}));
        let attached = self.call(
            "Target.attachToTarget",
            json!({"targetId": target["targetId"], "flatten": true}),
        );
        self.session = attached["sessionId"].as_str().map(str::to_owned);
        for room in ["Page", "Runtime", "Log", "Network"] {
            self.call(&format!("{room}.enable"), json!({}));
        }
        self.events.clear();
        let url = format!("file://{}", page.display());
        self.call("Page.navigate", json!({"url": url}));
        self.wait_for("location.href !== 'about:blank' && document.readyState === 'complete'");
    }

    pub(crate) fn evaluate(&mut self, script: &str) -> Value {
        let result = self.call(
            "Runtime.evaluate",
            json!({"expression": script, "returnByValue": true, "awaitPromise": true}),
        );
        assert!(
            result.get("exceptionDetails").is_none(),
            "{script}: {result}"
        );
        result["result"]["value"].clone()
    }

    /// Chooses a file in the input that `selector` names, as a person does.
    pub(crate) fn give_file(&mut self, selector: &str, file: &Path) {
        let document = self.call("DOM.getDocument", json!({}));
        let input = self.call(
            "DOM.querySelector",
            json!({"nodeId": document["root"]["nodeId"], "selector": selector}),
        );
        self.call(
            "DOM.setFileInputFiles",
            json!({"nodeId": input["nodeId"], "files": [file]}),
        );
    }

    pub(crate) fn wait_for(&mut self, condition: &str) {
        let begun = Instant::now();
        while self.evaluate(condition) != json!(true) {
            assert!(begun.elapsed() < PATIENCE, "never came true: {condition}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    pub(crate) fn key(&mut self, key: &str) {
        for kind in ["keyDown", "keyUp"] {
            self.call(
                "Input.dispatchKeyEvent",
                json!({"type": kind, "key": key, "text": key}),
            );
        }
    }

    /// Pixels of the window.
    pub(crate) fn resize(&mut self, width: u32, height: u32) {
        let is_phone = width < 600;
        self.call(
            "Emulation.setDeviceMetricsOverride",
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": is_phone}),
        );
    }

    /// `light` or `dark`.
    pub(crate) fn set_colours(&mut self, scheme: &str) {
        self.call(
            "Emulation.setEmulatedMedia",
            json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]}),
        );
    }

    /// The page on paper of so many inches.
    pub(crate) fn printed(&mut self, (width, height): (f64, f64)) -> Vec<u8> {
        let printed = self.call(
            "Page.printToPDF",
            json!({"paperWidth": width, "paperHeight": height, "printBackground": true}),
        );
        bytes(&printed)
    }
}

/// Names what is installed, parted by spaces: leaving out a test for want of it is a failure.
const MUST_TRY: &str = "SPRIGCAST_MUST_TRY";

/// Says that something is not tried, and why.
pub(crate) fn skipped(why: &str) {
    let must_try = std::env::var(MUST_TRY).unwrap_or_default();
    for tool in must_try.split_whitespace() {
        assert!(!why.contains(tool), "{tool} is installed, yet: {why}");
    }
    // Not by a macro, which the harness would keep to itself.
    let told = format!("skipped: {why}\n");
    std::io::stderr().write_all(told.as_bytes()).expect("told");
}

/// What the browser sends as base64.
fn bytes(answer: &Value) -> Vec<u8> {
    let data = answer["data"].as_str().expect("data");
    STANDARD.decode(data).expect("base64")
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// Writes the whole page as it is seen into the folder that `SPRIGCAST_LOOK` names.
pub(crate) fn look(browser: &mut Browser, name: &str) {
    if let Some(folder) = std::env::var_os("SPRIGCAST_LOOK") {
        let page = browser.call("Page.getLayoutMetrics", json!({}));
        let size = &page["cssContentSize"];
        let clip =
            json!({"x": 0, "y": 0, "scale": 1, "width": size["width"], "height": size["height"]});
        let options = json!({"format": "png", "captureBeyondViewport": true, "clip": clip});
        let shot = browser.call("Page.captureScreenshot", options);
        fs::write(PathBuf::from(folder).join(name), bytes(&shot)).expect("written");
    }
}
