//! What is measured on the pixels of one photo.

use serde::{Deserialize, Serialize};

use crate::course::Cover;

/// What is measured on the pixels of one photo within its crop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Pixels inside the colour window.
    pub n_green: u64,
    /// Pixels looked at.
    pub n_analysed: u64,
    /// Mean dark green colour index of the green pixels; `None` where there is none. This and the shares
    /// below are taken on an even grid of at most 100,000 pixels.
    pub dark_green_index: Option<f64>,
    /// Share of the contrast that is fine detail: about 0.03 to 0.15 in a sharp photo of turf or soil, below
    /// 0.015 in one blurred by two pixels or more.
    pub sharpness: f64,
    /// Share of analysed pixels with a channel at 255 or all at 0, from 0 to 1.
    pub clipped: f64,
    /// Share of analysed pixels that lie in shadow, from 0 to 1: their luma is below three tenths of the
    /// level that 95 % of the picture's pixels do not exceed.
    pub shadow: f64,
}

impl Reading {
    /// Percent cover of the photo; `None` where nothing was analysed.
    pub fn cover(&self) -> Option<Cover> {
        Cover::from_counts(self.n_green, self.n_analysed)
    }
}
