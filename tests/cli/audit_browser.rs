//! The page of an audit in a real browser, where there is one: keys, reload, a kill, saved answers.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::audit::audited;
use crate::browser::{Browser, PATIENCE, look};
use crate::season::Season;

/// Opens the page of an audit and waits for its first point.
fn open(browser: &mut Browser, page: &Path) {
    browser.open(page);
    browser.wait_for("!!document.getElementById('near').src");
}

fn place(browser: &mut Browser) -> String {
    let text = browser.evaluate("document.getElementById('place').textContent");
    text.as_str().expect("a text").to_owned()
}

#[test]
fn answers_given_by_keys_outlive_a_reload_and_a_crash_and_are_read_by_the_program() {
    let season = Season::with_photos();
    let (id, folder) = audited(&season, &["--within", "20"]);
    let page = folder.join("audit.html");
    let profile = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = Browser::start(profile.path()) else {
        return;
    };
    open(&mut browser, &page);
    assert!(place(&mut browser).starts_with("Point 1 of 10"));
    for key in ["g", "n", "u", "n"] {
        browser.key(key);
    }
    browser.key("b");
    browser.key("g");
    assert!(
        place(&mut browser).starts_with("Point 5 of 10 · 6 to go"),
        "{}",
        place(&mut browser)
    );

    // At the width of a phone nothing sticks out, and the answers are on the first screen.
    browser.call(
        "Emulation.setDeviceMetricsOverride",
        json!({"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": true}),
    );
    assert_eq!(
        browser.evaluate("document.documentElement.scrollWidth <= 390"),
        json!(true)
    );
    let below = browser.evaluate("document.getElementById('green').getBoundingClientRect().bottom");
    assert!(below.as_f64() < Some(844.0), "{below}");
    look(&mut browser, "audit-390.png");

    browser.call("Page.reload", json!({}));
    browser.wait_for(
        "document.readyState === 'complete' && document.getElementById('done').value === 4",
    );
    assert!(place(&mut browser).starts_with("Point 5 of 10 · 6 to go"));

    // The browser writes what it keeps to the disk a little later; then it is killed.
    std::thread::sleep(Duration::from_secs(8));
    drop(browser);
    let mut browser = Browser::start(profile.path()).expect("it was there before");
    open(&mut browser, &page);
    browser.wait_for("document.getElementById('done').value === 4");
    for key in ["g", "n", "g", "n", "g", "n"] {
        browser.key(key);
    }
    assert!(
        place(&mut browser).contains("all judged"),
        "{}",
        place(&mut browser)
    );
    look(&mut browser, "audit-wide.png");

    let session = browser.session.take();
    browser.call(
        "Browser.setDownloadBehavior",
        json!({"behavior": "allow", "downloadPath": profile.path()}),
    );
    browser.session = session;
    browser.key("s");
    let saved = wait_for_file(&profile.path().join(format!("audit-{id}-answers.csv")));
    let text = fs::read_to_string(&saved).expect("the answers");
    let words: Vec<&str> = text
        .lines()
        .skip(1)
        .filter_map(|line| line.split(',').nth(2))
        .collect();
    assert_eq!(
        words,
        [
            "green", "not", "unsure", "green", "green", "not", "green", "not", "green", "not"
        ]
    );
    let output = season
        .sprigcast("audit")
        .arg("--answers")
        .arg(&saved)
        .args(["--format", "json"])
        .assert()
        .code(0)
        .get_output()
        .clone();
    let verdict: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(
        (&verdict["judged"], &verdict["unsure"]),
        (&json!(9), &json!(1))
    );

    // A browser that knows nothing takes the saved file.
    let other = tempfile::tempdir().expect("a folder");
    let mut browser = Browser::start(other.path()).expect("it was there before");
    open(&mut browser, &page);
    browser.wait_for("document.getElementById('done').value === 0");
    browser.give_file("#file", &saved);
    browser.wait_for("document.getElementById('done').value === 10");
}

pub(crate) fn wait_for_file(path: &Path) -> PathBuf {
    let begun = Instant::now();
    while !path.exists() {
        assert!(
            begun.elapsed() < PATIENCE,
            "{} was not saved",
            path.display()
        );
        std::thread::sleep(Duration::from_millis(50));
    }
    path.to_owned()
}
