//! The page on which places are marked, in a real browser, where there is one: clicks, drags, keys, a kill, saved marks.

use std::fs;
use std::path::Path;
use std::time::Duration;

use predicates::str::contains;
use serde_json::{Value, json};

use crate::audit_browser::wait_for_file;
use crate::browser::{Browser, look};
use crate::fitted::grown_season;
use crate::report_browser::{axe, can_be_read_everywhere, open_quietly};

fn text(browser: &mut Browser, id: &str) -> String {
    let text = browser.evaluate(&format!("document.getElementById('{id}').textContent"));
    text.as_str().expect("a text").to_owned()
}

/// What the page says of its marks: `here 1 turf, 0 not · in all 1 turf, 0 not`.
fn told(browser: &mut Browser) -> String {
    let place = text(browser, "place");
    let (_, told) = place.split_once(" · ").expect("a place and marks");
    told.to_owned()
}

/// Where a pixel of the part that is shown lies on the screen.
fn on_screen(browser: &mut Browser, (x, y): (u32, u32)) -> (f64, f64) {
    let at = browser.evaluate(&format!(
        "(() => {{ const image = document.getElementById('picture'), r = image.getBoundingClientRect();
           return [r.left + ({x} + 0.5) / image.naturalWidth * r.width, r.top + ({y} + 0.5) / image.naturalHeight * r.height]; }})()"
    ));
    let number = |index: usize| at[index].as_f64().expect("a place");
    (number(0), number(1))
}

fn mouse(browser: &mut Browser, kind: &str, (x, y): (f64, f64)) {
    browser.call(
        "Input.dispatchMouseEvent",
        json!({"type": kind, "x": x, "y": y, "button": "left", "buttons": 1, "clickCount": 1}),
    );
}

fn drag(browser: &mut Browser, from: (u32, u32), to: (u32, u32)) {
    let (from, to) = (on_screen(browser, from), on_screen(browser, to));
    mouse(browser, "mousePressed", from);
    mouse(
        browser,
        "mouseMoved",
        ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0),
    );
    mouse(browser, "mouseMoved", to);
    mouse(browser, "mouseReleased", to);
}

fn tap(browser: &mut Browser, at: (u32, u32)) {
    let (x, y) = on_screen(browser, at);
    let touch = |kind: &str, points: Value| json!({"type": kind, "touchPoints": points});
    browser.call(
        "Input.dispatchTouchEvent",
        touch("touchStart", json!([{"x": x, "y": y}])),
    );
    browser.call("Input.dispatchTouchEvent", touch("touchEnd", json!([])));
}

/// Opens the page with its first photo in sight.
fn open(browser: &mut Browser, page: &Path, n_marked: u32) {
    open_quietly(browser, page);
    browser.resize(1200, 900);
    browser.wait_for(&format!(
        "document.getElementById('picture').naturalWidth > 0 && document.getElementById('done').value === {n_marked}"
    ));
    browser.evaluate("document.getElementById('sheet').scrollIntoView()");
}

#[test]
fn marks_by_mouse_finger_and_keys_outlive_a_crash_and_are_what_tune_fits_to() {
    let season = grown_season();
    season
        .sprigcast("tune")
        .arg("--by-eye")
        .assert()
        .code(0)
        .stdout(contains("16 photos to mark places in, Jun 1 to Jun 29"))
        .stdout(contains("--marks FILE"));
    let page = season.path().join("out/tune/marks.html");
    let profile = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = Browser::start(profile.path()) else {
        return;
    };
    open(&mut browser, &page, 0);
    can_be_read_everywhere(&mut browser, "marks", axe().as_deref());
    browser.evaluate("document.getElementById('sheet').scrollIntoView()");

    // A click, a second on the same pixel, a rectangle of the other kind, drawn from its lower right corner.
    let at = on_screen(&mut browser, (12, 20));
    for _ in 0..2 {
        mouse(&mut browser, "mousePressed", at);
        mouse(&mut browser, "mouseReleased", at);
    }
    assert_eq!(
        told(&mut browser),
        "here 1 turf, 0 not · in all 1 turf, 0 not"
    );
    browser.key("n");
    drag(&mut browser, (50, 40), (31, 33));
    assert_eq!(
        told(&mut browser),
        "here 1 turf, 1 not · in all 1 turf, 1 not"
    );
    drag(&mut browser, (80, 80), (90, 90));
    look(&mut browser, "marks-marked.png");
    browser.key("z");
    assert_eq!(
        told(&mut browser),
        "here 1 turf, 1 not · in all 1 turf, 1 not"
    );

    // By keys on the next photo: the aim is in its middle.
    browser.key("j");
    browser.key("g");
    browser.evaluate("document.getElementById('sheet').focus()");
    let press = |browser: &mut Browser, key: &str, shift: bool| {
        let modifiers = if shift { 8 } else { 0 };
        for kind in ["rawKeyDown", "keyUp"] {
            browser.call(
                "Input.dispatchKeyEvent",
                json!({"type": kind, "key": key, "modifiers": modifiers}),
            );
        }
    };
    press(&mut browser, "ArrowRight", true);
    press(&mut browser, "ArrowUp", true);
    press(&mut browser, "Enter", false);
    assert_eq!(
        told(&mut browser),
        "here 1 turf, 0 not · in all 2 turf, 1 not"
    );

    // With a finger, at the width of a phone: a tap is a point; with Rectangle pressed two taps are one.
    browser.call(
        "Emulation.setTouchEmulationEnabled",
        json!({"enabled": true}),
    );
    browser.resize(390, 844);
    browser.evaluate("scrollTo(0, 0)");
    browser.key("j");
    browser.key("n");
    tap(&mut browser, (100, 60));
    browser.key("r");
    tap(&mut browser, (10, 10));
    tap(&mut browser, (13, 14));
    browser.key("r");
    assert_eq!(
        told(&mut browser),
        "here 0 turf, 2 not · in all 2 turf, 3 not"
    );
    look(&mut browser, "marks-390.png");
    let below = browser.evaluate("document.getElementById('next').getBoundingClientRect().bottom");
    assert!(below.as_f64() < Some(844.0), "{below}");

    // The browser writes what it keeps to the disk a little later; then it is killed.
    std::thread::sleep(Duration::from_secs(8));
    drop(browser);
    let mut browser = Browser::start(profile.path()).expect("it was there before");
    open(&mut browser, &page, 5);
    assert_eq!(
        told(&mut browser),
        "here 1 turf, 1 not · in all 2 turf, 3 not"
    );
    let session = browser.session.take();
    browser.call(
        "Browser.setDownloadBehavior",
        json!({"behavior": "allow", "downloadPath": profile.path()}),
    );
    browser.session = session;
    browser.key("s");
    let saved = wait_for_file(&profile.path().join("marks.csv"));
    let table = fs::read_to_string(&saved).expect("the marks");
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines[0], "photo,x,y,width,height,green");
    let rest: Vec<&str> = lines[1..]
        .iter()
        .filter_map(|line| line.split_once(".jpg,").map(|(_, rest)| rest))
        .collect();
    // The photos of 160 × 120 pixels are shown as a whole.
    assert_eq!(
        rest,
        [
            "12,20,1,1,yes",
            "31,33,20,8,no",
            "81,59,1,1,yes",
            "100,60,1,1,no",
            "10,10,4,5,no"
        ]
    );
    let output = season
        .sprigcast("tune")
        .arg("--marks")
        .arg(&saved)
        .args(["--format", "json", "--trial"])
        .output()
        .expect("it runs");
    let document: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let n = |key: &str| document["marks"][key].as_u64().expect("a number");
    assert!(n("n_green") >= 2 && n("n_not_green") >= 3, "{document}");

    // A browser that knows nothing takes the saved file.
    let other = tempfile::tempdir().expect("a folder");
    let mut browser = Browser::start(other.path()).expect("it was there before");
    open(&mut browser, &page, 0);
    browser.give_file("#file", &saved);
    browser.wait_for("document.getElementById('done').value === 5");
}
