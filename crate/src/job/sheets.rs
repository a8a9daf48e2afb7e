//! What a person chose about patterns and paper.

use super::document::Document;
use crate::sheet::order::{self as sheet, Paper, Turn};
use crate::sheet::{self as sheets, Ink, Stock, paper};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// Neighbouring sheets lap over one another by half an inch: trade practice, no source.
const LAP: f64 = 12.7;
/// What most printers leave white at each edge, mm: common practice, no source.
const MARGIN: f64 = 6.35;

/// How patterns are made, and on what.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Sheets {
    /// What they are printed on; nothing for what is usual where the job's unit is used.
    #[serde(default)]
    pub paper: Option<PaperChoice>,
    /// How each part's is made, where a person said so.
    #[serde(default)]
    pub patterns: Vec<(u32, PatternChoice)>,
    /// Views that are made whole as well, by id.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub views: Vec<u32>,
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
    /// Its name in the table of papers, `custom` or `roll`.
    pub name: String,
    /// Width and height of a custom one, mm; of a roll its width, and 0.
    #[serde(default)]
    pub size: [f64; 2],
    /// Which way round.
    pub turn: Turn,
    /// What the printer leaves white at each edge, mm; nothing for what is usual.
    #[serde(default)]
    pub margin: Option<f64>,
    /// How far neighbours lap over one another, mm; nothing for what is usual.
    #[serde(default)]
    pub lap: Option<f64>,
    /// More than 400 sheets are wanted.
    #[serde(default)]
    pub many: bool,
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
    /// Where its front is, as the picture shows it, where a person said so.
    #[serde(default)]
    pub front: Option<Heading>,
}

impl Default for PatternChoice {
    fn default() -> Self {
        PatternChoice {
            wanted: true,
            quantity: 1,
            hand: sheet::Hand::One,
            under: None,
            grain: Grain::Along,
            front: None,
        }
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

/// What a length stands for on the patterns that it lies on.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum OnPattern {
    /// The middle line of where a neighbour lands: how thick that is, and how deep it is let in (0 for not at all), mm.
    Lands {
        /// Its actual thickness, mm.
        thick: f64,
        /// How deep it is let in, mm.
        deep: f64,
    },
    /// An edge that is sawn at a bevel, so many degrees off square.
    Bevel {
        /// Off square.
        degrees: f64,
    },
}

/// A way on the picture.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Heading {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// To the top.
    Up,
    /// To the foot.
    Down,
}

impl Heading {
    /// Radians, clockwise from level as seen.
    pub fn angle(self) -> f64 {
        use std::f64::consts::{FRAC_PI_2, PI};
        match self {
            Heading::Left => PI,
            Heading::Right => 0.0,
            Heading::Up => -FRAC_PI_2,
            Heading::Down => FRAC_PI_2,
        }
    }
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

/// What a person chose, or what is usual where the job's unit is used.
pub fn paper_choice(document: &Document) -> PaperChoice {
    document.sheets.paper.clone().unwrap_or_else(|| PaperChoice {
        name: if document.units.style.is_metric() { "a4" } else { "letter" }.to_owned(),
        size: [0.0; 2],
        turn: Turn::Fewest,
        margin: None,
        lap: None,
        many: false,
    })
}

/// That paper as an order has it.
///
/// # Errors
/// As [`usable`].
pub fn paper(document: &Document) -> Result<Paper, Say> {
    let choice = paper_choice(document);
    let size = size_of(&choice)?;
    let measured = document.sheets.printer.as_ref();
    // Another paper may come out otherwise.
    let printer = measured.filter(|p| p.paper.is_empty() || p.paper == choice.name);
    Ok(Paper {
        size,
        name: choice.name,
        margins: [choice.margin.unwrap_or(MARGIN); 4],
        turn: choice.turn,
        lap: choice.lap.unwrap_or(LAP),
        shift: document.sheets.shift.clone(),
        printer: printer.map_or([1.0; 2], |p| p.factor),
        allow_many: choice.many,
        printer_name: printer.map(|p| p.name.clone()).unwrap_or_default(),
    })
}

/// Refuses paper that nothing could be laid on.
///
/// # Errors
/// `job.no-such-paper`; `job.paper-absurd` for a size of one's own that no printer takes; as [`Stock::of`].
pub fn usable(document: &Document) -> Result<(), Say> {
    Stock::of(&paper(document)?).map(|_| ())
}

/// The width and height of what was chosen, upright, mm; a roll has no height.
fn size_of(choice: &PaperChoice) -> Result<[f64; 2], Say> {
    let [width, height] = choice.size;
    let fits = |side: f64| (50.0..=5_000.0).contains(&side);
    let own = match choice.name.as_str() {
        "roll" => fits(width).then_some([width, 0.0]),
        "custom" => (fits(width) && fits(height)).then_some([width, height]),
        name => return paper::named(name).ok_or_else(|| Say::new("job.no-such-paper")),
    };
    own.ok_or_else(|| Say::new("job.paper-absurd"))
}

/// How long the bars of the test sheet are drawn, across and down, mm.
pub fn test_bars(document: &Document) -> Option<[f64; 2]> {
    let mut paper = paper(document).ok()?;
    paper.printer = [1.0; 2];
    Some(sheets::test_bars(&Stock::of(&paper).ok()?, document.units.style.is_metric()))
}
