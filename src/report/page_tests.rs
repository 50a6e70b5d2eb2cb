//! What must hold for the owner's page, whatever the season.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::time::Instant;

use jiff::civil::date;
use roxmltree::{Document, Node, ParsingOptions};

use super::{
    GreenReport, LogKind, PhotoCounts, ReportData, Status, Thumbnail, example, report_page,
    report_pdf,
};
use crate::course::StationId;
use crate::photo::PhotoName;

/// Parses the page as XML: HTML forgives a tag left open, this does not.
fn with_page(data: &ReportData, look: impl FnOnce(&str, &Document<'_>)) {
    let page = report_page(data).unwrap();
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    let document = Document::parse_with_options(&page, options).unwrap();
    look(&page, &document);
}

fn elements<'a>(document: &'a Document<'_>, name: &str) -> Vec<Node<'a, 'a>> {
    let nodes = document.descendants();
    nodes
        .filter(|node| node.tag_name().name() == name)
        .collect()
}

fn with_class<'a>(document: &'a Document<'_>, class: &str) -> Vec<Node<'a, 'a>> {
    let has_class = |node: &Node<'_, '_>| {
        let classes = node.attribute("class").unwrap_or("");
        classes.split(' ').any(|one| one == class)
    };
    document.descendants().filter(has_class).collect()
}

fn text_of(node: Node<'_, '_>) -> String {
    let texts = node.descendants().filter(Node::is_text);
    texts.filter_map(|text| text.text()).collect()
}

/// Names and notes as somebody might send them to do harm or by accident.
const HOSTILE: [&str; 4] = [
    "<script>alert('1')</script>",
    "\" onload=\"alert(1)",
    "&lt;b&gt; ⛳ 果嶺",
    "]]> --> </style></title>{{ 7 * 7 }}",
];

fn hostile_season() -> ReportData {
    let mut season = example::season();
    season.course = HOSTILE.join(" ");
    season.method.colours = HOSTILE[0].to_owned();
    season.method.version = HOSTILE[3].to_owned();
    season.notes = HOSTILE.map(str::to_owned).to_vec();
    for (index, green) in season.greens.iter_mut().enumerate() {
        let text = HOSTILE[index % HOSTILE.len()];
        green.name = text.to_owned();
        green.sprig_rate = Some(text.to_owned());
        green.notes = vec![text.to_owned(), "\u{202e}\u{1b}[2J\u{0}".to_owned()];
        green.thumbnails = vec![thumbnail(64)];
    }
    for (index, aside) in season.photos.set_aside.iter_mut().enumerate() {
        aside.photo = PhotoName(HOSTILE[index % HOSTILE.len()].to_owned());
    }
    season
}

fn thumbnail(n_bytes: usize) -> Thumbnail {
    Thumbnail {
        station: StationId::new("G07-A <i>"),
        date: date(2027, 6, 1),
        cover: None,
        jpeg: vec![0xff; n_bytes],
    }
}

#[test]
fn names_notes_and_file_names_are_text_whatever_they_hold() {
    with_page(&hostile_season(), |page, document| {
        assert!(elements(document, "script").is_empty());
        let handlers = document
            .descendants()
            .flat_map(|node| node.attributes())
            .filter(|attribute| attribute.name().starts_with("on"));
        assert_eq!(handlers.count(), 0);
        for text in HOSTILE {
            let shown = document
                .descendants()
                .any(|node| node.tag_name().name() == "bdi" && text_of(node).contains(text));
            assert!(shown, "{text}");
        }
        let is_dangerous = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
        assert!(!page.contains(is_dangerous));
    });
}

#[test]
fn nothing_is_fetched_from_outside() {
    with_page(&hostile_season(), |page, document| {
        for node in document.descendants() {
            for attribute in node.attributes() {
                let value = attribute.value();
                match attribute.name() {
                    "src" => assert!(value.starts_with("data:image/jpeg;base64,"), "{value}"),
                    // A file that a run writes beside the page.
                    "href" if value == "thin_areas.geojson" => {}
                    "href" => assert!(value.starts_with('#'), "{value}"),
                    _ => {}
                }
            }
        }
        for outside in ["http:", "https:", "url(", "@import", "<link", "xmlns"] {
            assert!(!page.contains(outside), "{outside}");
        }
    });
}

#[test]
fn the_page_can_be_walked_by_headings_links_and_tables() {
    with_page(&hostile_season(), |_, document| {
        let mut level = 0;
        for node in document.descendants() {
            let digit = node.tag_name().name().strip_prefix('h');
            if let Some(next) = digit.and_then(|digit| digit.parse::<u32>().ok()) {
                assert!(next <= level + 1, "h{next} after h{level}");
                level = next;
            }
        }
        assert_eq!(elements(document, "h1").len(), 1);
        for landmark in ["header", "nav", "main", "footer"] {
            assert_eq!(elements(document, landmark).len(), 1, "{landmark}");
        }
        let ids: Vec<&str> = document
            .descendants()
            .filter_map(|node| node.attribute("id"))
            .collect();
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(unique.len(), ids.len());
        for node in document.descendants() {
            let within = node.attribute("href").filter(|to| to.starts_with('#'));
            let targets = [node.attribute("aria-labelledby"), within];
            for target in targets
                .into_iter()
                .flatten()
                .flat_map(|list| list.split(' '))
            {
                assert!(unique.contains(target.trim_start_matches('#')), "{target}");
            }
        }
        let headers = elements(document, "th");
        assert!(headers.iter().all(|node| node.has_attribute("scope")));
        let pictures = elements(document, "img");
        assert_eq!(pictures.len(), 18);
        assert!(pictures.iter().all(|node| node.has_attribute("alt")));
        let charts = elements(document, "svg");
        // A chart is told in words; a shape stands beside its words.
        assert!(charts.iter().all(|node| {
            node.attribute("role") == Some("img") || node.attribute("aria-hidden") == Some("true")
        }));
    });
}

#[test]
fn every_green_has_a_row_a_section_and_charts_with_all_its_visits() {
    let season = example::season();
    with_page(&season, |_, document| {
        let n_greens = season.greens.len();
        assert_eq!(with_class(document, "green").len(), n_greens);
        // Of each chart there is one for wide and one for narrow screens; one more shows the course.
        let n_maps = season.greens.iter().filter(|green| green.ground.is_some());
        let n_maps = n_maps.count();
        assert!(n_maps > 1);
        let n_shapes = with_class(document, "c-shape").len();
        assert_eq!(n_shapes, n_greens);
        assert_eq!(
            elements(document, "svg").len(),
            2 * (n_greens + 1) + n_shapes + n_maps
        );
        for (section, green) in with_class(document, "green").iter().zip(&season.greens) {
            let n_marks = section
                .descendants()
                .filter(|node| node.attribute("class") == Some("c-visit"))
                .count();
            assert_eq!(n_marks, 2 * green.visits.len());
            let n_rows = section
                .descendants()
                .filter(|node| node.attribute("scope") == Some("row"))
                .count();
            assert_eq!(n_rows, green.visits.len());
            let n_of = |class: &str| {
                let nodes = section.descendants();
                nodes
                    .filter(|node| node.attribute("class") == Some(class))
                    .count()
            };
            assert_eq!(n_of("c-stone"), 2 * green.milestones.len());
            let ground = green.ground.as_ref();
            assert_eq!(n_of("cell"), ground.map_or(0, |of| of.map.cells.len()));
            assert_eq!(n_of("number"), ground.map_or(0, |of| of.map.thin.len()));
            let events = green.log.iter();
            let n_events = events.filter(|line| line.kind == LogKind::Event).count();
            assert_eq!(n_of("c-event"), 2 * n_events);
            assert!(text_of(*section).contains(&green.title()));
        }
    });
}

#[test]
fn before_the_methods_no_word_needs_a_statistician_and_no_place_is_given_away() {
    with_page(&example::season(), |_, document| {
        let sections = document
            .descendants()
            .filter(|node| node.tag_name().name() == "section");
        let before = sections.filter(|node| node.attribute("class") != Some("how"));
        let readable: String = before.map(text_of).collect::<String>().to_lowercase();
        assert!(readable.contains("the last green is expected to be full"));
        for word in [
            "logistic",
            "rmse",
            "hsv",
            "exif",
            "hue",
            "saturation",
            "sigma",
            "confidence",
            "latitude",
            "longitude",
        ] {
            assert!(!readable.contains(word), "{word}");
        }
        let methods = text_of(with_class(document, "how")[0]);
        assert!(methods.contains("logistic") && methods.contains("GIS"));
    });
}

#[test]
fn the_owner_reads_no_option_no_file_and_no_key_of_the_course_file() {
    let mut season = example::season();
    season.photos.n_missing = 3;
    season.method.doubt = Some(
        "All cover is unsure: the ground is green; mark places on the page that `sprigcast tune SEASON --by-eye` writes."
            .to_owned(),
    );
    season.notes = vec![
        "Some photos are unlike the others. Name them in `leave_out` under [photos] in course.toml.".to_owned(),
    ];
    let looks = "it looks topdressed and is not fitted; write topdressing into log.csv";
    season.greens[0].notes = vec![
        looks.to_owned(),
        "by course.toml it is old; mend `planted`".to_owned(),
    ];
    with_page(&season, |_, document| {
        let main = elements(document, "body")[0];
        let text = text_of(main);
        for told in [
            "the ground is green",
            "unlike the others",
            "It looks topdressed and is not fitted",
        ] {
            assert!(text.contains(told), "{told}");
        }
        for word in [
            "`",
            "--",
            ".toml",
            ".csv",
            ".gpkg",
            ".geojson",
            ".html",
            "leave_out",
            "thin_areas",
            "course file",
        ] {
            assert!(!text.contains(word), "{word}");
        }
        let version = "Made by sprigcast";
        assert_eq!(
            text.matches("sprigcast").count(),
            text.matches(version).count()
        );
    });
}

#[test]
fn what_several_greens_share_stands_once_before_them() {
    let mut season = example::season();
    let note = |day| format!("topdressed on Jul {day}: the visit of Jul 12 is not fitted");
    for (index, green) in season.greens.iter_mut().enumerate() {
        green.notes = match index {
            0 | 2 => vec![note(7)],
            1 => vec![note(8), "look at it".to_owned()],
            _ => Vec::new(),
        };
    }
    let [first, second, third] = [0, 1, 2].map(|index: usize| season.greens[index].title());
    with_page(&season, |_, document| {
        let notes: Vec<String> = with_class(document, "notes")
            .into_iter()
            .map(text_of)
            .collect();
        let shared = format!(
            "Topdressed on Jul 7 ({first}, {third}) and Jul 8 ({second}): the visit of Jul 12 is not fitted"
        );
        assert_eq!(
            notes.iter().map(|note| note.trim()).collect::<Vec<_>>(),
            [shared.as_str(), "Look at it"]
        );
    });
    let text = crate::report::summary(&season, crate::report::Style::Plain);
    assert_eq!(text.matches("the visit of Jul 12").count(), 1, "{text}");
}

#[test]
fn a_season_with_nothing_in_it_is_a_page_all_the_same() {
    let mut season = example::season();
    season.open_by = None;
    season.all_full = None;
    season.photos = PhotoCounts::default();
    for green in &mut season.greens {
        green.visits.clear();
        green.curve.clear();
        green.curve_facts = None;
        green.gain_last_week = None;
        green.outlook.status = Status::TooEarly;
        green.outlook.chance_by_opening = None;
    }
    with_page(&season, |_, document| {
        assert!(with_class(document, "c-visit").is_empty());
        assert!(with_class(document, "visits").is_empty());
    });
    season.greens.clear();
    with_page(&season, |_, document| {
        assert!(with_class(document, "green").is_empty());
    });
}

#[test]
fn the_same_season_gives_the_same_page() {
    let season = example::season();
    assert_eq!(report_page(&season).unwrap(), report_page(&season).unwrap());
}

#[test]
fn eighteen_greens_with_sixteen_visits_and_their_pictures_fit_into_a_mail() {
    let mut season = example::season_of(18, 16);
    for green in &mut season.greens {
        let n_visits = green.visits.len();
        green.thumbnails = vec![thumbnail(18_000); n_visits];
    }
    let page = report_page(&season).unwrap();
    assert!(page.len() < 8_000_000, "{} bytes", page.len());
}

#[test]
#[ignore = "writes pages to look at into the folder named by SPRIGCAST_LOOK"]
fn pages_to_look_at() {
    let folder = PathBuf::from(std::env::var_os("SPRIGCAST_LOOK").unwrap());
    let seasons = [
        ("report", example::season_with_pictures()),
        ("hostile", hostile_season()),
        ("1x8", example::season_of(1, 8)),
        ("18x16", example::season_of(18, 16)),
        ("40x30", example::season_of(40, 30)),
    ];
    for (name, season) in seasons {
        let start = Instant::now();
        let page = report_page(&season).unwrap();
        println!("{name}: {} bytes in {:?}", page.len(), start.elapsed());
        std::fs::write(folder.join(format!("{name}.html")), page).unwrap();
        std::fs::write(folder.join(format!("{name}.pdf")), report_pdf(&season)).unwrap();
    }
}

#[test]
fn the_work_list_is_in_order_and_leads_to_its_greens() {
    let season = example::season();
    with_page(&season, |_, document| {
        let list = with_class(document, "thin");
        let rows = list[0].descendants();
        let rows: Vec<String> = rows
            .filter(|node| node.attribute("scope") == Some("row"))
            .map(text_of)
            .collect();
        assert_eq!(rows, ["Green 9 no. 1", "Green 5 no. 1", "Green 9 no. 2"]);
        let links = list[0].descendants();
        let links = links.filter_map(|node| node.attribute("href"));
        assert_eq!(
            links.collect::<Vec<_>>(),
            ["#green-9", "#green-5", "#green-9"]
        );
    });
    let mut season = season;
    season.thin = Some(Vec::new());
    with_page(&season, |page, _| {
        assert!(page.contains("No part of a green lags"))
    });
    season.thin = None;
    with_page(&season, |page, _| assert!(!page.contains("carry sprigs")));
}

#[test]
fn the_worst_green_is_named_before_all_others() {
    let season = example::season();
    with_page(&season, |_, document| {
        let attention = with_class(document, "attention");
        let first = attention[0]
            .descendants()
            .find(|node| node.tag_name().name() == "a");
        let worst: Vec<&GreenReport> = season.attention();
        assert_eq!(text_of(first.unwrap()), worst[0].title());
    });
}
