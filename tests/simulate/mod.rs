//! Invented seasons to judge forecasts by. Cover grows day by day by a response to temperature, by rules that
//! differ from world to world; none of them is the curve that the forecast fits.

#![allow(
    dead_code,
    reason = "each program that includes this module uses a part of it"
)]

pub(crate) mod alone;
pub(crate) mod blind;
pub(crate) mod climate;
pub(crate) mod growth;
pub(crate) mod held_out;
pub(crate) mod joint;
pub(crate) mod judges;
pub(crate) mod misread;
pub(crate) mod score;
pub(crate) mod season;
pub(crate) mod worlds;
