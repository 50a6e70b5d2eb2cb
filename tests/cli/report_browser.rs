//! The owner's report and the walk sheet in a real browser, where there is one.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex, PoisonError, Weak};

use serde_json::{Value, json};

use crate::browser::{Browser, look, skipped};
use crate::season::{Season, copy_of_sample};

/// Letter and A4, in inches.
const PAPERS: [(f64, f64); 2] = [(8.5, 11.0), (8.27, 11.69)];

/// For every text that is seen: the contrast to what is behind it, as WCAG 2.2 defines it. Letters of charts
/// stand on the ground of the page around them, numbers of a map on the mark before them.
const FAINT_TEXTS: &str = r#"(() => {
  const parts = colour => {
    const numbers = (colour.match(/[\d.]+/g) || []).map(Number);
    return numbers.length < 3 ? [0, 0, 0, 0] : numbers.length < 4 ? [...numbers, 1] : numbers;
  };
  const channel = c => (c /= 255) <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const luminance = c => 0.2126 * channel(c[0]) + 0.7152 * channel(c[1]) + 0.0722 * channel(c[2]);
  const over = (top, under) => [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3]));
  const ground = element => {
    const layers = [];
    for (let e = element; e; e = e.parentElement) {
      layers.unshift(parts(getComputedStyle(e).backgroundColor));
      if (layers[0][3] === 1) break;
    }
    return layers.reduce((under, layer) => over(layer, under), [255, 255, 255]);
  };
  const faint = [];
  let n = 0;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode, element = node.parentElement;
    if (!node.data.trim() || element.closest('title, desc, style, .unseen, .skip')) continue;
    if (![...element.getClientRects()].some(r => r.width > 1 && r.height > 1)) continue;
    const style = getComputedStyle(element), isDrawn = element instanceof SVGElement;
    let behind = ground(element);
    const before = element.previousElementSibling;
    if (isDrawn && before && before.matches('.number')) behind = parts(getComputedStyle(before).fill);
    const colour = parts(isDrawn ? style.fill : style.color);
    const [one, other] = [luminance(over(colour, behind)), luminance(behind)];
    const contrast = (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
    n += 1;
    if (contrast < 4.5) faint.push(`${contrast.toFixed(2)}: ${node.data.trim().slice(0, 40)}`);
  }
  return {n, faint};
})()"#;

/// What sticks out of the window to the right.
const OUTSIDE: &str = "[...document.querySelectorAll('body *')]
  .filter(e => !e.closest('.unseen, .skip, svg') && e.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5)
  .map(e => e.tagName + '.' + e.getAttribute('class') + ': ' + e.textContent.trim().slice(0, 40))";

/// Rows of tables and letters of charts in the order of the page, without blanks, as far as they are shown.
const WHOLE_PARTS: &str = r#"(() => {
  const isShown = e => e.getClientRects().length > 0;
  const text = e => {
    const walker = document.createTreeWalker(e, NodeFilter.SHOW_TEXT);
    let letters = '';
    while (walker.nextNode()) {
      const owner = walker.currentNode.parentElement;
      if (!isShown(owner) || owner.closest('title, desc')) continue;
      // Letters with a seam around them are set twice.
      const isSeamed = owner instanceof SVGElement && getComputedStyle(owner).stroke !== 'none';
      letters += walker.currentNode.data.repeat(isSeamed ? 2 : 1);
    }
    return letters.replace(/[\s\u2068\u2069]/g, '');
  };
  const parts = [...document.querySelectorAll('tbody tr, svg.chart')].filter(isShown);
  return parts.map(text).filter(t => t);
})()"#;

/// The sample season after a run, with its walk sheet and slates; one for all tests that look at it at a time.
fn sample() -> Arc<Season> {
    static SAMPLE: Mutex<Weak<Season>> = Mutex::new(Weak::new());
    let mut shared = SAMPLE.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(season) = shared.upgrade() {
        return season;
    }
    let season = Arc::new(copy_of_sample());
    season.sprigcast("run").assert().code(3);
    season
        .sprigcast("walk")
        .args(["--date", "2027-08-02"])
        .assert()
        .code(0);
    *shared = Arc::downgrade(&season);
    season
}

/// Opens a page and demands that it says nothing on the console and asks for nothing but itself.
pub(crate) fn open_quietly(browser: &mut Browser, page: &Path) {
    browser.open(page);
    let own = format!("file://{}", page.display());
    let events = std::mem::take(&mut browser.events);
    let mut n_asked = 0;
    for event in &events {
        match event["method"].as_str().unwrap_or_default() {
            "Runtime.consoleAPICalled" | "Runtime.exceptionThrown" | "Log.entryAdded" => {
                panic!("{}: {event}", page.display())
            }
            "Network.requestWillBeSent" => {
                let url = event["params"]["request"]["url"].as_str().expect("a URL");
                assert!(url == own || url.starts_with("data:image/jpeg"), "{url}");
                n_asked += 1;
            }
            _ => {}
        }
    }
    assert!(n_asked > 0, "nothing was heard of the page itself");
}

fn strings(value: &Value) -> Vec<String> {
    let list = value.as_array().expect("a list").iter();
    list.map(|one| one.as_str().expect("a text").to_owned())
        .collect()
}

/// Nothing is faint, nothing sticks out, and axe-core finds nothing serious: in light and in dark, on a wide
/// screen and on a phone.
pub(crate) fn can_be_read_everywhere(browser: &mut Browser, name: &str, axe: Option<&str>) {
    for scheme in ["light", "dark"] {
        browser.set_colours(scheme);
        for (width, height) in [(1200, 900), (390, 844), (320, 640)] {
            browser.resize(width, height);
            let told = browser.evaluate(FAINT_TEXTS);
            assert!(told["n"].as_u64() > Some(3), "{told}");
            let faint = strings(&told["faint"]);
            assert!(faint.is_empty(), "{name}, {scheme}, {width}: {faint:?}");
            let wide = browser.evaluate("document.documentElement.scrollWidth");
            assert!(
                wide.as_u64() <= Some(width.into()),
                "{name} at {width}: {wide}"
            );
            let outside = strings(&browser.evaluate(OUTSIDE));
            assert!(outside.is_empty(), "{name} at {width}: {outside:?}");
            look(browser, &format!("{name}-{scheme}-{width}.png"));
            if let Some(axe) = axe.filter(|_| width != 320) {
                browser.evaluate(axe);
                let found = browser.evaluate(
                    "axe.run(document, {resultTypes: ['violations']}).then(all => all.violations
                       .filter(one => ['serious', 'critical'].includes(one.impact))
                       .map(one => one.id + ': ' + one.nodes.map(node => node.html.slice(0, 120)).join(' | ')))",
                );
                let found = strings(&found);
                assert!(found.is_empty(), "{name}, {scheme}, {width}: {found:#?}");
            }
        }
    }
    browser.resize(1200, 900);
    browser.set_colours("light");
}

/// The script of axe-core; `None`, and a line that says so, where it cannot be had.
pub(crate) fn axe() -> Option<String> {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("axe-core");
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/axe_core.sh");
    let output = Command::new("bash").arg(script).arg(folder).output();
    match output {
        Ok(output) if output.status.success() => {
            let path = String::from_utf8(output.stdout).expect("a path");
            Some(fs::read_to_string(path.trim()).expect("the script"))
        }
        Ok(output) => {
            let why = String::from_utf8_lossy(&output.stderr).trim().to_owned();
            skipped(&format!("axe-core ({why})"));
            None
        }
        Err(error) => {
            skipped(&format!("axe-core ({error})"));
            None
        }
    }
}

#[test]
fn the_pages_can_be_read_in_light_and_dark_and_on_a_phone_and_ask_for_nothing() {
    let profile = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = Browser::start(profile.path()) else {
        return;
    };
    let axe = axe();
    let season = sample();
    for name in ["report", "walk", "slates"] {
        let page = season.path().join(format!("out/{name}.html"));
        open_quietly(&mut browser, &page);
        can_be_read_everywhere(&mut browser, name, axe.as_deref());
    }
}

#[test]
fn every_chart_is_there_with_all_its_points_and_every_link_leads_somewhere() {
    let profile = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = Browser::start(profile.path()) else {
        return;
    };
    let season = sample();
    let out = season.path().join("out");
    let n_visits = visits(&season);
    browser.open(&out.join("report.html"));
    for width in [1200, 390] {
        browser.resize(width, 900);
        let drawn = browser.evaluate(
            "[...document.querySelectorAll('section.green')].map(green => {
               const charts = [...green.querySelectorAll('.pair svg.chart')].filter(c => c.getClientRects().length);
               const n = what => charts.map(c => c.querySelectorAll(what).length).join();
               return [green.querySelector('.facts bdi').textContent, n('.c-visit, .c-unfitted'), String(charts.every(c => c.querySelector('.c-curve'))), n('.c-goal')];
             })",
        );
        let expected: Vec<Value> = n_visits
            .iter()
            .map(|(green, n)| json!([green, n.to_string(), "true", "1"]))
            .collect();
        assert_eq!(drawn, json!(expected), "at {width} pixels");
        let overview = browser.evaluate(
            "[...document.querySelectorAll('.glance figure svg')].filter(c => c.getClientRects().length)
               .map(c => [c.querySelectorAll('.c-name').length, c.querySelectorAll('.c-value').length])",
        );
        assert_eq!(overview, json!([[n_visits.len(), n_visits.len()]]));
    }
    let shapes = browser.evaluate(
        "[...document.querySelectorAll('.shapes path')].map(p => Math.min(p.getBBox().width, p.getBBox().height) > 20)",
    );
    assert_eq!(shapes, json!(vec![true; n_visits.len()]));
    let n_thin = season.text("out/thin_areas.csv").lines().count() - 1;
    let on_maps = browser.evaluate("document.querySelectorAll('.ground .number').length");
    let on_list = browser.evaluate("document.querySelectorAll('table.thin tbody tr').length");
    assert_eq!((on_maps, on_list), (json!(n_thin), json!(n_thin)));

    let links =
        browser.evaluate("[...document.querySelectorAll('a')].map(a => a.getAttribute('href'))");
    let links = strings(&links);
    assert!(links.len() > 2 * n_visits.len());
    for link in links {
        match link.strip_prefix('#') {
            Some(id) => {
                let is_there = browser.evaluate(&format!("!!document.getElementById({id:?})"));
                assert_eq!(is_there, json!(true), "{link}");
            }
            None => assert!(out.join(&link).is_file(), "{link} is not there"),
        }
    }
}

/// Visits of every green as `cover.csv` lists them.
fn visits(season: &Season) -> BTreeMap<String, usize> {
    let mut visits = BTreeMap::new();
    for line in season.text("out/cover.csv").lines().skip(1) {
        let green = line.split(',').next().expect("a green").to_owned();
        *visits.entry(green).or_insert(0) += 1;
    }
    visits
}

#[test]
fn no_row_and_no_chart_is_cut_where_it_is_printed() {
    let profile = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = Browser::start(profile.path()) else {
        return;
    };
    let season = sample();
    for name in ["report", "walk"] {
        browser.open(&season.path().join(format!("out/{name}.html")));
        for paper in PAPERS {
            browser.call("Emulation.setEmulatedMedia", json!({"media": "print"}));
            let parts = strings(&browser.evaluate(WHOLE_PARTS));
            browser.call("Emulation.setEmulatedMedia", json!({"media": ""}));
            assert!(parts.len() > 3, "{parts:?}");
            let Some(text) = text_of(&browser.printed(paper), profile.path()) else {
                return;
            };
            assert!(text.contains('\u{c}'));
            for part in parts {
                // A page's end within it would stand between its letters.
                assert!(text.contains(&part), "{name}, {paper:?}: {part} is cut");
            }
        }
    }
}

/// The letters of a PDF in the order in which they are set, without blanks; `\u{c}` ends a page.
fn text_of(pdf: &[u8], folder: &Path) -> Option<String> {
    let path = folder.join("printed.pdf");
    fs::write(&path, pdf).expect("written");
    if let Some(look) = std::env::var_os("SPRIGCAST_LOOK") {
        fs::copy(&path, PathBuf::from(look).join("printed.pdf")).expect("copied");
    }
    let output = Command::new("pdftotext")
        .args(["-raw", "-enc", "UTF-8"])
        .arg(&path)
        .arg("-")
        .output();
    match output {
        Ok(output) => {
            let text = String::from_utf8(output.stdout).expect("UTF-8");
            let is_letter = |c: &char| *c == '\u{c}' || !c.is_whitespace();
            Some(text.chars().filter(is_letter).collect())
        }
        Err(error) => {
            skipped(&format!("pdftotext cannot be run ({error})"));
            None
        }
    }
}

/// Names as somebody might give them to do harm or by accident.
const HOSTILE: [&str; 3] = [
    "<script>window.hurt = 1</script>",
    "\"><img src=x onerror='window.hurt=1'> & ⛳",
    "Grün \u{202e}eert 果嶺",
];

#[test]
fn names_notes_and_file_names_do_nothing_but_stand_there() {
    let profile = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = Browser::start(profile.path()) else {
        return;
    };
    let season = Season::with_photos();
    let quoted = |text: &str| serde_json::to_string(text).expect("a text");
    let course = season
        .text("course.toml")
        .replace("\"Pennywhistle Bend\"", &quoted(HOSTILE[0]))
        .replace(
            "id = \"G03\"",
            &format!("id = \"G03\"\nname = {}", quoted(HOSTILE[1])),
        )
        .replace(
            "species = \"zoysiagrass\"",
            &format!("species = {}", quoted(HOSTILE[2])),
        );
    fs::write(season.path().join("course.toml"), course).expect("the course file");
    let log = format!(
        "date,green,what,amount,unit,analysis,note\n2026-06-10,G03,note,,,,\"{0}\"\n2026-06-11,G07,\"{0}\",,,,\"{1}\"\n",
        HOSTILE[1].replace('"', "\"\""),
        HOSTILE[2],
    );
    fs::write(season.path().join("log.csv"), log).expect("the log");
    let file_names = ["<b onclick=hurt()>'", "\u{202e}gpj", "⛳ & \"quoted\""];
    for (idx, name) in file_names.iter().enumerate() {
        season.photo(&format!("G03/{name}.jpg"), 50, 900 + idx as u32);
    }
    season.sprigcast("run").assert().code(3);
    season.sprigcast("walk").arg("--pdf").assert().code(0);
    for name in ["report", "walk", "slates"] {
        open_quietly(
            &mut browser,
            &season.path().join(format!("out/{name}.html")),
        );
        assert_eq!(browser.evaluate("window.hurt === undefined"), json!(true));
        let n = browser.evaluate(
            "document.querySelectorAll('script, [onerror], [onclick], img[src=x]').length",
        );
        assert_eq!(n, json!(0), "{name}");
        let text = browser.evaluate("document.body.textContent");
        let text = text.as_str().expect("a text");
        let shown = |name: &str| name.replace('\u{202e}', "\\u{202e}");
        let mut expected = vec![HOSTILE[0], HOSTILE[1]];
        if name == "report" {
            expected.push(HOSTILE[2]);
            expected.extend(file_names);
        }
        for hostile in expected {
            assert!(text.contains(&shown(hostile)), "{name}: {hostile}");
        }
        assert!(!text.contains('\u{202e}'), "{name}");
        browser.resize(390, 844);
        let wide = browser.evaluate("document.documentElement.scrollWidth");
        assert!(wide.as_u64() <= Some(390), "{name}: {wide}");
        look(&mut browser, &format!("hostile-{name}-390.png"));
    }
}
