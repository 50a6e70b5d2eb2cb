//! What the terminal shows: the table of greens, the photo counts, remarks and what to do next.

use jiff::civil::Date;

use super::aside::Aside;
use super::columns::{Column, Side, cut, lines, total_width, wrap};
use super::format::{chance, count, cover, gain, thousands, visible};
use super::sentences::standing;
use super::{GreenReport, Pace, PhotoCounts, ReportData, Status, next_steps, told_once};
use crate::course::{DateStyle, GreenId};

/// No line is longer, in terminal cells, unless a single word is.
const WIDTH: usize = 100;

/// So many lines are spent on photos set aside that a person should mend …
const SET_ASIDE_LINES: usize = 10;
/// … and so many on the names of those of one reason.
const NAME_LINES: usize = 2;

/// Whether the text may be coloured; it reads the same without.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Letters only.
    Plain,
    /// ANSI colours as an addition.
    Coloured,
}

/// Everything a run has to say of the season, ready to print; what to do next is [`steps_text`].
pub fn summary(data: &ReportData, style: Style) -> String {
    let mut parts = vec![
        title(data),
        greens_table(data, style),
        photo_counts(&data.photos, data.date_style),
    ];
    parts.push(remarks(data));
    parts.retain(|part| !part.is_empty());
    parts.join("\n")
}

/// The course, the day and how the greens stand; and how old the photos are, where they are not of this week.
pub fn title(data: &ReportData) -> String {
    let age = match (data.stale_days(), data.last_visit()) {
        (Some(days), Some(last)) => format!(
            " The last photos are of {}, {days} days before.",
            data.dates().show(last)
        ),
        (_, None) => " No photo has been measured yet; all this is told for that day.".to_owned(),
        _ => String::new(),
    };
    let title = format!(
        "{}, {}. {}.{age}",
        visible(&data.course),
        data.date_style.full(data.as_of),
        standing(data)
    );
    wrap(&title, WIDTH, "").join("\n") + "\n"
}

/// The table of greens: two lines of headings, then a line for every green.
pub fn greens_table(data: &ReportData, style: Style) -> String {
    // The label gives way first, then the planting date, which the days repeat.
    let layouts = [(18, true), (12, true), (6, true), (6, false)];
    let columns = layouts
        .into_iter()
        .map(|(label_width, with_planted)| columns(data, label_width, with_planted))
        .find(|columns| total_width(columns) <= WIDTH)
        .unwrap_or_else(|| columns(data, 6, false));
    let status = columns.len() - 1;
    let paint = |row: usize, column: usize, text: String| match style {
        Style::Coloured if column == status => painted(data.greens[row].pace(), &text),
        Style::Coloured | Style::Plain => text,
    };
    lines(&columns, paint).join("\n") + "\n"
}

/// How many photos were found and measured, and the first of those set aside, by reason.
pub fn photo_counts(photos: &PhotoCounts, dates: DateStyle) -> String {
    let mut text = format!(
        "{} in: {} measured, {} set aside\n",
        count(photos.n_found(), "photo", "photos"),
        thousands(photos.n_measured as f64),
        thousands(photos.set_aside.len() as f64)
    );
    if photos.n_missing > 0 {
        text += &format!(
            "{} no longer in the photo folder; they stay on record (to drop one, name it\n  in `leave_out` under [photos] in course.toml)\n",
            count(photos.n_missing, "measured photo is", "measured photos are")
        );
    }
    for line in set_aside_lines(photos, dates) {
        text += &line;
        text.push('\n');
    }
    text
}

/// Every photo set aside that a person should mend, by reason, and how many need nobody; those with their names too
/// where they are asked for.
pub fn set_aside_in_full(
    photos: &PhotoCounts,
    with_names_of_all: bool,
    dates: DateStyle,
) -> String {
    let mut lines = Vec::new();
    for aside in photos.by_reason(dates) {
        lines.extend(reason_lines(&aside));
        if aside.needs_a_person || with_names_of_all {
            lines.extend(name_lines(&aside.photos, usize::MAX));
        }
    }
    lines.iter().map(|line| format!("{line}\n")).collect()
}

fn columns(data: &ReportData, label_width: usize, with_planted: bool) -> Vec<Column> {
    let dates = data.dates();
    let level = data.greens.first().map_or(0.8, |green| green.outlook.level);
    let column = |heading: [&str; 2], side, cell: &dyn Fn(&GreenReport) -> String| Column {
        heading: heading.map(str::to_owned),
        side,
        cells: data.greens.iter().map(cell).collect(),
    };
    let last_cover = |green: &GreenReport| {
        or_dash(
            green
                .visits
                .last()
                .map(|visit| cover(visit.cover, data.goal)),
        )
    };
    let mut columns = vec![column(["", "Green"], Side::Left, &|green| {
        cut(&label(green), label_width)
    })];
    if with_planted {
        columns.push(column(["", "Planted"], Side::Left, &|green| {
            dates.show(green.planted)
        }));
    }
    columns.extend([
        column(["", "Days"], Side::Right, &|green| {
            or_dash(green.days_grown.map(|days| days.to_string()))
        }),
        column(["", "Visits"], Side::Right, &|green| {
            green.visits.len().to_string()
        }),
        column(["Cover", "now"], Side::Right, &last_cover),
        column(["Last", "week"], Side::Right, &|green| {
            let week = green.gain_last_week.map(gain);
            or_dash(match (week, data.missed_since(green)) {
                // What a walk before the last one showed is not of this week.
                (Some(week), Some(day)) => {
                    Some(format!("{week} to {}", data.date_style.short(day)))
                }
                (week, _) => week,
            })
        }),
        column(["Full", "cover"], Side::Left, &|green| {
            or_dash(green.outlook.day_cell(dates))
        }),
        column(
            [&format!("{:.0}% sure", level * 100.0), "between"],
            Side::Left,
            &|green| or_dash(green.range_cell(dates)),
        ),
    ]);
    if let Some(open_by) = data.opening_ahead() {
        let opening = dates.show(open_by);
        columns.push(column(
            ["Chance by", &opening],
            Side::Right,
            &|green| match green.outlook.status {
                Status::Full => "full".to_owned(),
                _ => or_dash(green.outlook.chance_by_opening.map(chance)),
            },
        ));
    }
    columns.push(column(["", "Status"], Side::Left, &|green| {
        green.standing().to_owned()
    }));
    columns
}

/// The id, and the name where it says more than the id's own digits.
pub(super) fn label(green: &GreenReport) -> String {
    let id = green.id.as_str();
    let name = green.name.trim();
    let digits = id.trim_start_matches(|letter: char| !letter.is_ascii_digit());
    if name.is_empty() || name == id || name == digits.trim_start_matches('0') {
        visible(id)
    } else {
        visible(&format!("{id} {name}"))
    }
}

pub(super) fn or_dash(text: Option<String>) -> String {
    text.unwrap_or_else(|| "–".to_owned())
}

fn painted(pace: Pace, text: &str) -> String {
    let colour = match pace {
        Pace::Full => "1;32",
        Pace::AboutFull | Pace::OnPace => "32",
        Pace::Behind | Pace::Unseen => "1;33",
        Pace::TooEarly | Pace::NotPlanted | Pace::NoVisit => "2",
    };
    format!("\u{1b}[{colour}m{text}\u{1b}[0m")
}

/// Reasons to mend with their photos, in at most [`SET_ASIDE_LINES`] lines and one that counts the rest, then a line for
/// each reason that needs nobody.
fn set_aside_lines(photos: &PhotoCounts, dates: DateStyle) -> Vec<String> {
    let (to_mend, others): (Vec<Aside>, Vec<Aside>) = photos
        .by_reason(dates)
        .into_iter()
        .partition(|aside| aside.needs_a_person);
    let mut lines = Vec::new();
    let mut n_more = 0;
    for aside in &to_mend {
        let mut own = reason_lines(aside);
        own.extend(name_lines(&aside.photos, NAME_LINES));
        if n_more > 0 || lines.len() + own.len() > SET_ASIDE_LINES {
            n_more += aside.photos.len();
        } else {
            lines.append(&mut own);
        }
    }
    if n_more > 0 {
        lines.push(format!("  and {n_more} more to mend: sprigcast check"));
    }
    lines.extend(others.iter().flat_map(reason_lines));
    lines
}

fn reason_lines(aside: &Aside) -> Vec<String> {
    let mut lines = wrap(&format!("  {}", aside.reason), WIDTH, "  ");
    lines[0].insert_str(0, "  ");
    lines
}

/// `photos` in at most so many lines, with the number of those that find no room; one is always named, however long its
/// name.
fn name_lines(photos: &[String], most: usize) -> Vec<String> {
    const INDENT: &str = "    ";
    let room = WIDTH - INDENT.len();
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    let mut n_named = 0;
    for (place, name) in photos.iter().enumerate() {
        let n_left = photos.len() - place - 1;
        let is_last_line = lines.len() + 1 >= most;
        // Room for what follows the name on its line.
        let after = match n_left {
            0 => 0,
            n if is_last_line => format!(" and {n} more").len(),
            _ => 1,
        };
        let longer = match line.as_str() {
            "" => name.clone(),
            line => format!("{line}, {name}"),
        };
        if fits(&longer, room - after) {
            line = longer;
        } else if line.is_empty() {
            line = cut(name, room - after);
        } else if is_last_line {
            break;
        } else {
            lines.push(std::mem::take(&mut line) + ",");
            line = cut(name, room - after);
        }
        n_named += 1;
    }
    match photos.len() - n_named {
        0 => {}
        n => line += &format!(" and {n} more"),
    }
    lines.push(line);
    lines.iter().map(|line| format!("{INDENT}{line}")).collect()
}

fn fits(text: &str, width: usize) -> bool {
    cut(text, width) == text
}

pub(super) fn remarks(data: &ReportData) -> String {
    let of_greens = data.greens.iter().flat_map(|green| {
        let notes = green.notes.iter();
        notes.map(|note| (green.id.to_string(), note.as_str()))
    });
    let told = told_once(of_greens);
    let of_greens = told.iter().map(|told| told.line(data.greens.len()));
    data.notes
        .iter()
        .map(|note| remark(None, note))
        .chain(of_greens.map(|line| remark(None, &line)))
        .collect()
}

pub(super) fn remark(green: Option<&GreenId>, note: &str) -> String {
    let text = match green {
        Some(id) => format!("{id}: {note}"),
        None => note.to_owned(),
    };
    wrap(&visible(&text), WIDTH, "  ").join("\n") + "\n"
}

/// What to do next, as seen on the day on which somebody asks; empty where there is nothing.
pub fn steps_text(data: &ReportData, today: Date) -> String {
    let steps = next_steps(data, today);
    if steps.is_empty() {
        return String::new();
    }
    let lines = steps.iter().map(|step| {
        let lines = wrap(&format!("- {}", visible(step)), WIDTH, "  ");
        lines.join("\n") + "\n"
    });
    format!("Next:\n{}", lines.collect::<String>())
}

#[cfg(test)]
mod tests {
    use unicode_width::UnicodeWidthStr as _;

    use super::*;
    use crate::photo::{PhotoName, Reason};
    use crate::report::{SetAside, example};
    use jiff::civil::date;

    #[test]
    fn the_summary_reads_without_colour() {
        let season = example::season();
        let steps = steps_text(&season, date(2027, 7, 6));
        insta::assert_snapshot!(summary(&season, Style::Plain) + "\n" + &steps);
    }

    #[test]
    fn colour_adds_nothing_but_colour() {
        let season = example::season();
        let mut coloured = greens_table(&season, Style::Coloured);
        assert!(coloured.contains("\u{1b}[1;33mstalled\u{1b}[0m"));
        for colour in ["1;32", "32", "1;33", "2", "0"] {
            coloured = coloured.replace(&format!("\u{1b}[{colour}m"), "");
        }
        assert_eq!(coloured, greens_table(&season, Style::Plain));
    }

    #[test]
    fn no_line_is_wider_than_a_hundred_however_long_names_and_dates_are() {
        let mut season = example::season();
        season.as_of = date(2028, 2, 1);
        season.open_by = Some(date(2028, 12, 28));
        for (index, green) in season.greens.iter_mut().enumerate() {
            green.name = "果嶺 the big one behind the clubhouse".repeat(1 + index % 2);
            green.planted = date(2027, 11, 20 + index as i8 % 9);
            green.days_grown = Some(70);
            green.outlook.status = Status::SeasonEndsFirst;
            green.outlook.date = Some(date(2028, 12, 28));
            green.outlook.early = Some(date(2027, 12, 20));
            green.outlook.late = Some(date(2029, 12, 28));
        }
        let text = summary(&season, Style::Plain);
        for line in text.lines() {
            assert!(line.width() <= WIDTH, "{} cells: {line}", line.width());
        }
        assert!(text.contains("Dec 20, 2027 – Dec 28, 2029"));
    }

    #[test]
    fn every_green_has_its_line() {
        let table = greens_table(&example::season_of(40, 30), Style::Plain);
        assert_eq!(table.lines().count(), 2 + 40);
    }

    #[test]
    fn without_an_opening_date_there_is_no_column_for_it() {
        let mut season = example::season();
        season.open_by = None;
        assert!(!greens_table(&season, Style::Plain).contains("Chance"));
    }

    #[test]
    fn a_name_cannot_drive_the_terminal() {
        let mut season = example::season();
        season.course = "Penny\u{1b}[2Jwhistle".to_owned();
        season.greens[0].name = "\u{1b}]0;title\u{7}".to_owned();
        season.greens[1].notes = vec!["\u{202e}backwards\r\n".to_owned()];
        season.photos.set_aside[0].photo = PhotoName("\u{9b}31m.jpg".to_owned());
        let text = summary(&season, Style::Plain);
        let dangerous = |c: char| (c.is_control() && c != '\n') || c == '\u{202e}';
        assert!(!text.contains(dangerous), "{text}");
    }

    fn set_aside(index: usize, reason: Reason) -> SetAside {
        SetAside {
            photo: PhotoName(format!("G{index:03}/IMG_{index:04}.jpg")),
            date: None,
            reason,
        }
    }

    #[test]
    fn many_photos_to_mend_take_ten_lines_and_the_rest_is_counted() {
        let why = |index: usize| Reason::SameFile {
            green: format!("G{index}"),
            other: PhotoName("a.jpg".to_owned()),
            other_green: "G01".to_owned(),
        };
        let aside = |index: usize| match index {
            0..200 => set_aside(index, Reason::NoDate),
            _ => set_aside(index, why(index)),
        };
        let photos = PhotoCounts {
            set_aside: (0..300).map(aside).collect(),
            ..PhotoCounts::default()
        };
        let lines = set_aside_lines(&photos, DateStyle::default());
        assert!(lines.len() <= SET_ASIDE_LINES + 1, "{lines:#?}");
        let text = lines.join("\n");
        let counted: usize = text
            .split(" and ")
            .skip(1)
            .filter_map(|rest| rest.split(" more").next()?.parse::<usize>().ok())
            .sum();
        assert_eq!(counted + text.matches("IMG_").count(), 300, "{text}");
    }

    #[test]
    fn slates_and_copies_hide_nothing_that_is_to_be_mended() {
        let slate = || Reason::Slate {
            of: "G07".to_owned(),
        };
        let mut all: Vec<SetAside> = (0..400).map(|n| set_aside(n, slate())).collect();
        all.extend((400..407).map(|n| set_aside(n, Reason::NoGreen)));
        let photos = PhotoCounts {
            set_aside: all,
            ..PhotoCounts::default()
        };
        let text = set_aside_lines(&photos, DateStyle::default()).join("\n");
        assert_eq!(text.matches("IMG_").count(), 7, "{text}");
        assert!(text.ends_with("\n  400 slates; nothing to do"), "{text}");
        let full = set_aside_in_full(&photos, false, DateStyle::default());
        assert_eq!(full.matches("IMG_").count(), 7);
        assert_eq!(
            set_aside_in_full(&photos, true, DateStyle::default())
                .matches("IMG_")
                .count(),
            407
        );
    }

    #[test]
    fn one_photo_with_an_endless_name_is_still_named() {
        let photos = [format!("{}.jpg", "x".repeat(300))];
        let lines = name_lines(&photos, NAME_LINES);
        assert_eq!(lines.len(), 1);
        assert_eq!(lines[0].width(), WIDTH);
    }
}
