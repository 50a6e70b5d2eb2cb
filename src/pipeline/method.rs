//! How this season's pixels are judged: the colour rule, and the key under which its readings are kept.

use super::PipelineError;
use crate::course::{Course, CoverLimits};
use crate::cover::tune::{Fault, Tuned};
use crate::cover::{Rule, Settings, SettingsKey, Window};
use crate::ledger::{Ledger, RuleRow};
use crate::photo;

/// What settled the rule.
#[derive(Debug, Clone, PartialEq)]
enum Origin {
    CourseFile,
    Fitted { number: u32, tuned: Box<Tuned> },
    Published,
}

/// The colour rule of a season with its name in the ledger.
#[derive(Debug, Clone)]
pub struct Method {
    rule: Rule,
    limits: CoverLimits,
    origin: Origin,
    settings: Settings,
    key: SettingsKey,
}

impl Method {
    /// The limits of the course file; where it fixes none, the rule that was fitted to the season and is kept
    /// in the ledger; before there is one, the published window.
    ///
    /// # Errors
    ///
    /// [`PipelineError::Ledger`] where the ledger cannot be read; [`PipelineError::Window`] where the limits
    /// are no window: a checked course has none such.
    pub fn of_season(course: &Course, ledger: Option<&Ledger>) -> Result<Method, PipelineError> {
        if let Some(limits) = course.cover {
            return Method::of_window(limits, Origin::CourseFile);
        }
        match ledger.map(Ledger::rule).transpose()?.flatten() {
            Some(kept) => Ok(Method::fitted(&kept)),
            None => Method::of_window(CoverLimits::PUBLISHED, Origin::Published),
        }
    }

    /// The rule that was fitted to the season.
    pub fn fitted(kept: &RuleRow) -> Method {
        let tuned = Box::new(kept.tuned.clone());
        let origin = Origin::Fitted {
            number: kept.number,
            tuned,
        };
        Method::new(
            Rule::Fitted(kept.tuned.rule()),
            kept.tuned.limits.window,
            origin,
        )
    }

    fn of_window(limits: CoverLimits, origin: Origin) -> Result<Method, PipelineError> {
        let rule = Rule::Window(Window::new(&limits)?);
        Ok(Method::new(rule, limits, origin))
    }

    fn new(rule: Rule, limits: CoverLimits, origin: Origin) -> Method {
        let settings = Settings::new(&rule, &photo::decoders());
        let key = settings.key();
        Method {
            rule,
            limits,
            origin,
            settings,
            key,
        }
    }

    /// Whether the course file has settled it.
    pub(super) fn is_fixed(&self) -> bool {
        self.origin == Origin::CourseFile
    }

    /// The number of the rule that was fitted to the season; `None` where none was, or another holds.
    pub fn rule_number(&self) -> Option<u32> {
        match self.origin {
            Origin::Fitted { number, .. } => Some(number),
            Origin::CourseFile | Origin::Published => None,
        }
    }

    /// Which colours count as green, and what settled that, in a few sentences.
    pub fn in_words(&self) -> String {
        let CoverLimits { hue, saturation } = self.limits;
        let window = format!(
            "hue {}–{}°, saturation {}–{}%",
            hue[0], hue[1], saturation[0], saturation[1]
        );
        match &self.origin {
            Origin::CourseFile => format!("{window}, as the course has fixed them"),
            Origin::Fitted { number, tuned } => format!("{tuned} Rule {number} of this season."),
            Origin::Published => format!(
                "{window}, the published starting window (Richardson, Karcher & Purcell 2001), until photos are measured and a rule is fitted to them"
            ),
        }
    }

    /// What to look at before the numbers are trusted.
    pub fn notes(&self) -> Vec<String> {
        match &self.origin {
            Origin::Fitted { tuned, .. } => tuned
                .faults
                .iter()
                .filter(|fault| fault.is_grave())
                .map(|fault| format!("Colours: {fault}."))
                .collect(),
            Origin::CourseFile | Origin::Published => Vec::new(),
        }
    }

    /// Why no cover can be trusted much, in a sentence: turf and ground share their colours, or the ground itself is
    /// green.
    pub fn doubt(&self) -> Option<String> {
        let Origin::Fitted { tuned, .. } = &self.origin else {
            return None;
        };
        let mut faults = tuned.faults.iter();
        let fault = faults.find(|fault| matches!(fault, Fault::Overlap | Fault::GreenGround))?;
        Some(format!("All cover and dates here are unsure: {fault}."))
    }

    /// Which pixels are green.
    pub fn rule(&self) -> &Rule {
        &self.rule
    }

    /// The hue and saturation limits of the rule.
    pub fn limits(&self) -> Option<CoverLimits> {
        Some(self.limits)
    }

    /// The name of this method in the ledger.
    pub fn key(&self) -> &SettingsKey {
        &self.key
    }

    /// What the key stands for.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }
}
