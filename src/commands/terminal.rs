//! The terminal: what goes to which stream, colour, and the progress bar.

use std::io::{IsTerminal, Write};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use miette::{GraphicalReportHandler, GraphicalTheme};
use serde::Serialize;

use super::failure::Failure;
use crate::pipeline::Progress;
use crate::report::Style;
use crate::written::visible;

/// Prints a result for people.
pub(super) fn say(text: &str) -> Result<(), Failure> {
    say_bytes(text.as_bytes())
}

/// Prints a result as it is.
pub(super) fn say_bytes(bytes: &[u8]) -> Result<(), Failure> {
    std::io::stdout().write_all(bytes)?;
    Ok(())
}

/// Prints a result for machines: one JSON document.
pub(super) fn say_json(document: &impl Serialize) -> Result<(), Failure> {
    let mut text = serde_json::to_string_pretty(document)?;
    text.push('\n');
    say(&text)
}

/// Prints a warning for people: whatever it holds, it does not drive the terminal.
pub(super) fn warn(text: &str) {
    print(&harmless(text));
}

/// Each line as it may be shown.
fn harmless(text: &str) -> String {
    let lines: Vec<String> = text.lines().map(visible).collect();
    lines.join("\n")
}

/// A closed standard error is no reason to stop.
fn print(text: &str) {
    let _ = writeln!(std::io::stderr(), "{text}");
}

/// Whether results may be coloured.
pub(super) fn style() -> Style {
    if std::io::stdout().is_terminal() && !no_color() {
        Style::Coloured
    } else {
        Style::Plain
    }
}

/// <https://no-color.org>: set and not empty.
fn no_color() -> bool {
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// Prints why the command could not run, with the line of the course file where there is one.
pub(super) fn print_failure(failure: &Failure) {
    match failure {
        Failure::Course(error) => print_diagnostic(error),
        Failure::ReaderGone => {}
        other => warn(&format!("sprigcast: {other}")),
    }
}

/// Prints a diagnostic that may show the line of a file.
pub(super) fn print_diagnostic(diagnostic: &dyn miette::Diagnostic) {
    struct Shown<'a>(&'a GraphicalReportHandler, &'a dyn miette::Diagnostic);
    impl std::fmt::Display for Shown<'_> {
        fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
            self.0.render_report(f, self.1)
        }
    }
    let theme = match (std::io::stderr().is_terminal(), no_color()) {
        (true, false) => GraphicalTheme::unicode(),
        (true, true) => GraphicalTheme::unicode_nocolor(),
        (false, _) => GraphicalTheme::none(),
    };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_links(false)
        .with_width(100);
    print(Shown(&handler, diagnostic).to_string().trim_end());
}

/// A bar with rate and time left; hidden where standard error is no terminal.
pub(super) struct Bar(ProgressBar);

impl Bar {
    pub(super) fn new() -> Bar {
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
        Bar(bar)
    }
}

impl Progress for Bar {
    fn begin(&self, n_photos: usize) {
        let style =
            ProgressStyle::with_template("{pos} of {len} photos {bar:30} {per_sec}, {eta} left");
        if let Ok(style) = style {
            self.0.set_style(style.progress_chars("=> "));
        }
        self.0.set_length(n_photos as u64);
        self.0.enable_steady_tick(Duration::from_millis(200));
    }

    fn advance(&self) {
        self.0.inc(1);
    }

    fn end(&self) {
        self.0.finish_and_clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warning_keeps_its_lines_and_drives_no_terminal() {
        assert_eq!(
            harmless("Note: one\n  `\u{1b}[2J` two"),
            "Note: one\n  `\\u{1b}[2J` two"
        );
    }
}
