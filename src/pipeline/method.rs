//! How this season's pixels are judged: the colour rule, and the key under which its readings are kept.

use super::PipelineError;
use crate::course::{Course, CoverLimits};
use crate::cover::{Rule, Settings, SettingsKey, Window};
use crate::photo;

/// What settled the limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Origin {
    CourseFile,
    Published,
}

/// The colour rule of a season with its name in the ledger.
#[derive(Debug)]
pub struct Method {
    rule: Rule,
    limits: CoverLimits,
    origin: Origin,
    settings: Settings,
    key: SettingsKey,
}

impl Method {
    /// The limits of the course file, else the published window.
    ///
    /// # Errors
    ///
    /// [`PipelineError::Window`] where the limits are no window; a checked course has none such.
    pub fn of_course(course: &Course) -> Result<Method, PipelineError> {
        let (limits, origin) = match course.cover {
            Some(limits) => (limits, Origin::CourseFile),
            None => (CoverLimits::PUBLISHED, Origin::Published),
        };
        let rule = Rule::Window(Window::new(&limits)?);
        let settings = Settings::new(&rule, &photo::decoders());
        let key = settings.key();
        Ok(Method {
            rule,
            limits,
            origin,
            settings,
            key,
        })
    }

    /// Which colours count as green, and what settled that, in a sentence.
    pub fn in_words(&self) -> String {
        let CoverLimits { hue, saturation } = self.limits;
        let origin = match self.origin {
            Origin::CourseFile => "fixed in the course file",
            Origin::Published => {
                "the published starting window (Richardson, Karcher & Purcell 2001), since the course file fixes none"
            }
        };
        format!(
            "hue {}–{}°, saturation {}–{} %, {origin}",
            hue[0], hue[1], saturation[0], saturation[1]
        )
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
