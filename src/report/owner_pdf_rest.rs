//! What the owner's report on paper has after the course at a glance: every green in one row, curves, the places to
//! go to, what made a difference, photos, cautions.

use super::methods::cautions;
use super::owner_pdf_compare::{answers, compared, height};
use super::owner_pdf_parts::{MARGIN, heading, table, table_height, words};
use super::owner_pdf_pictures::{
    curves, curves_height, strips, strips_height, work_list, worst_first,
};
use super::pdf::{Sheet, Weight};
use super::{GreenReport, ReportData};

/// Under a heading, and after the table.
const UNDER_HEADING: f64 = 16.0;
const GAP: f64 = 26.0;

/// The rest of a report.
pub(super) struct Rest<'d> {
    data: &'d ReportData,
    /// In the order in which their curves are shown.
    greens: Vec<&'d GreenReport>,
    answers: Vec<String>,
}

impl<'d> Rest<'d> {
    pub(super) fn of(data: &'d ReportData) -> Rest<'d> {
        Rest {
            data,
            greens: worst_first(data),
            answers: answers(data),
        }
    }

    /// The places to go to that have their room before rows and curves take all.
    fn n_listed(&self) -> usize {
        self.data.thin.as_ref().map_or(0, |thin| thin.len().min(4))
    }

    /// Room for those places and for the answers.
    fn told(&self, sheet: &Sheet<'_>) -> f64 {
        let list = match self.n_listed() {
            0 => 0.0,
            n => 40.0 + 13.5 * n as f64,
        };
        list + height(sheet, &self.answers)
    }

    /// Above cautions and foot.
    fn end(&self, sheet: &Sheet<'_>) -> f64 {
        sheet.height - MARGIN - 14.0 - 12.0 * cautions(self.data).len() as f64 - 16.0
    }

    /// Whether all of it, with every row, curve and photo at a size that is easy to read, has room from `top` on.
    pub(super) fn has_room(&self, sheet: &Sheet<'_>, top: f64) -> bool {
        let needed = self.rows_height()
            + curves_height(sheet, self.greens.len())
            + self.told(sheet)
            + strips_height(&self.greens);
        top + needed <= self.end(sheet)
    }

    /// Room for every green in one row.
    pub(super) fn rows_height(&self) -> f64 {
        UNDER_HEADING + table_height(self.data) + GAP
    }

    /// Above what else has its room on the page of the rows.
    pub(super) fn rows_end(&self, sheet: &Sheet<'_>) -> f64 {
        self.end(sheet) - self.told(sheet) - 30.0
    }

    /// Every green in one row, as high as has room above `end`; gives where the next part begins.
    pub(super) fn rows(&self, sheet: &mut Sheet<'_>, top: f64, end: f64) -> f64 {
        heading(sheet, top, "Every green in one row");
        table(sheet, top + UNDER_HEADING, end, self.data) + GAP
    }

    /// Draws all else from `top` on.
    pub(super) fn draw(&self, sheet: &mut Sheet<'_>, top: f64) {
        let (data, end) = (self.data, self.end(sheet));
        let told = self.told(sheet);
        let mut y = top;
        if !self.greens.is_empty() {
            // Photos keep their room where curves can be smaller and still all be there.
            let photos = strips_height(&self.greens);
            let smallest = y + curves_height(sheet, self.greens.len()) + told;
            let kept = if smallest + photos <= end {
                photos
            } else {
                0.0
            };
            y = curves(sheet, y, end - told - kept, data, &self.greens);
        }
        y = work_list(sheet, y, end, data);
        y = compared(sheet, y, end, &self.answers);
        strips(sheet, y, end, data, &self.greens);
        let fine = words(Weight::Regular, 8.0, "quiet");
        let mut y = end + 22.0;
        for caution in cautions(data) {
            sheet.words((MARGIN, y), fine, caution);
            y += 12.0;
        }
    }
}
