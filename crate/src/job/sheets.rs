//! What a person chose about patterns and paper.

use crate::sheet::Ink;
use crate::sheet::order::{self as sheet, Turn};
use serde::{Deserialize, Serialize};

/// How patterns are made, and on what.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Sheets {
    /// What they are printed on; nothing for what is usual where the job's unit is used.
    #[serde(default)]
    pub paper: Option<PaperChoice>,
    /// How each part's is made, where a person said so.
    #[serde(default)]
    pub patterns: Vec<(u32, PatternChoice)>,
    /// How far the sheets are moved against what is drawn, for each whole, mm.
    #[serde(default)]
    pub shift: Vec<[f64; 2]>,
    /// What the printer makes of a length.
    #[serde(default)]
    pub printer: Option<Printer>,
}

/// What patterns are printed on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct PaperChoice {
    /// Its name in the table of papers, or `custom`.
    pub name: String,
    /// Width and height of a custom one, mm.
    #[serde(default)]
    pub size: [f64; 2],
    /// Which way round.
    pub turn: Turn,
}

/// How the pattern of a part is made.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct PatternChoice {
    /// It is made.
    pub wanted: bool,
    /// How many of the part.
    pub quantity: u32,
    /// One, a half, or a pair.
    pub hand: sheet::Hand,
    /// The picture under it.
    pub under: Option<Ink>,
    /// Which way the grain runs.
    pub grain: Grain,
}

impl Default for PatternChoice {
    fn default() -> Self {
        PatternChoice { wanted: true, quantity: 1, hand: sheet::Hand::One, under: None, grain: Grain::Along }
    }
}

/// Which way the grain of a part runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Grain {
    /// Along its greatest length.
    Along,
    /// Square to that.
    Across,
    /// It doesn't matter (plywood, metal).
    None,
}

/// What a printer makes of a length.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct Printer {
    /// What the person calls it; may be empty.
    #[serde(default)]
    pub name: String,
    /// The paper that it was measured on, by name; any where it is empty.
    #[serde(default)]
    pub paper: String,
    /// Printed : drawn, across and down the paper.
    pub factor: [f64; 2],
}
