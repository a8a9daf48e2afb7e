//! What is to be made, as the desk orders it: plain data, sizes in finished mm, sentences in words.

use super::draw::Ink;
use crate::plane::{Curve, Finished, Homography, Picture, Point};
use crate::quantity::{Direction, Step, Style};
use serde::{Deserialize, Serialize};

/// One set of sheets.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Order {
    /// The job's name; may be empty.
    pub job: String,
    /// The day, as the person writes it. The core has no clock.
    pub date: String,
    /// Counts the changes to the job so far.
    pub revision: u32,
    /// How lengths are told.
    pub style: Style,
    /// And rounded.
    pub step: Step,
    /// Which way.
    pub direction: Direction,
    /// What it is printed on.
    pub paper: Paper,
    /// What is made.
    pub pieces: Vec<Piece>,
    /// The sentences that sheets need, by name (`sheet.…` and `number.…` of the words file), with `{slots}`.
    pub words: Vec<(String, String)>,
}

/// What sheets are printed on, and how.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Paper {
    /// Its name in the table of papers (`letter`, `a4`, `roll`, …) or `custom`.
    pub name: String,
    /// Width and height as it lies in the tray, paper mm; a roll's second number is 0: as long as is needed.
    pub size: [f64; 2],
    /// What the printer can't print on, paper mm: left, top, right, bottom.
    pub margins: [f64; 4],
    /// Which way round.
    pub turn: Turn,
    /// How far neighbours lap over one another, paper mm.
    pub lap: f64,
    /// The sheets' corner moved by hand against the whole, paper mm, for each whole by its place.
    #[serde(default)]
    pub shift: Vec<[f64; 2]>,
    /// What the printer makes of 1, across and down: drawn sizes are divided by it. 1 when nothing was measured.
    pub printer: [f64; 2],
    /// The printer's name, if it was measured.
    #[serde(default)]
    pub printer_name: String,
    /// More than 400 sheets were asked for on purpose.
    #[serde(default)]
    pub allow_many: bool,
}

/// Which way round paper is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Turn {
    /// Whichever takes fewer sheets, also by turning what is drawn.
    Fewest,
    /// Upright.
    Upright,
    /// Lying.
    Lying,
}

/// One thing to be made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Piece {
    /// A part at full size.
    Pattern(Pattern),
    /// A strip with every mark of one direction at full size.
    Stick(Stick),
    /// A grid of squares over an outline, and the same over the picture.
    Grid(Grid),
    /// Offsets at stations.
    Offsets(Offsets),
    /// A card with two scales that turn picture sizes into finished ones by eye.
    Sector(Sector),
    /// What is to be cut, in rows.
    List(CuttingList),
    /// The sheet by which a printer is measured.
    Test,
}

/// A closed outline with its holes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Outline {
    /// The outer border, then its holes.
    pub rings: Vec<Curve<Finished>>,
    /// The same as points that were found on them, where they are still to be made smooth: [`Outline::settle`].
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<Vec<Point<Finished>>>,
    /// Standard uncertainty of each of those points across the border, finished mm.
    #[serde(default)]
    pub sigma: f64,
    /// How far from a square corner its image as points passes, finished mm.
    #[serde(default)]
    pub blunt: f64,
}

/// A part at full size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pattern {
    /// A, B, C.
    pub letter: String,
    /// The part's name; may be empty.
    pub name: String,
    /// How many are wanted.
    pub quantity: u32,
    /// One, a half, or a pair.
    pub hand: Hand,
    /// Its outline; none for a whole view, of which `bounds` is shown.
    pub outline: Option<Outline>,
    /// Left, top, right, bottom of what is shown besides the outline, finished mm.
    pub bounds: [f64; 4],
    /// Room left round it, mm.
    pub margin: f64,
    /// What is marked on it.
    pub marks: Vec<Marked>,
    /// The centre line.
    pub axis: Option<[Point<Finished>; 2]>,
    /// Which way the grain runs, radians, clockwise from level.
    pub grain: Option<f64>,
    /// Which way is FRONT, radians.
    pub front: Option<f64>,
    /// Which way is UP, radians.
    pub up: Option<f64>,
    /// The picture under it.
    pub picture: Option<Under>,
    /// What is written on it, line by line: its size, the true length used, the view, the ±, the size to build.
    pub lines: Vec<String>,
}

/// The picture under a pattern.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Under {
    /// The picture.
    pub picture: u32,
    /// Its width and height, px.
    pub size: [u32; 2],
    /// From its px to finished mm.
    pub map: Homography<Picture, Finished>,
    /// How it is shown.
    pub ink: Ink,
}

/// One, a half, or a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "PatternHand"))]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// As it is.
    One,
    /// Half of it, to be folded along its centre line.
    Half,
    /// It and its mirror image.
    Pair,
}

/// Something marked on a pattern.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Marked {
    /// Its number.
    pub number: u32,
    /// What is written beside it: its name, its size; may be empty.
    pub text: String,
    /// What it is.
    pub shape: Shape,
}

/// What is marked, finished mm.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Shape {
    /// A place.
    Point(Point<Finished>),
    /// A hole or a wheel: its centre, its radius.
    Round {
        /// Its centre.
        centre: Point<Finished>,
        /// Its radius, mm.
        radius: f64,
        /// It is drilled: a centre cross, and no joint through it.
        drilled: bool,
    },
    /// A length between two ends.
    Length([Point<Finished>; 2]),
    /// Lines from point to point: a path, another outline.
    Lines {
        /// In order.
        points: Vec<Point<Finished>>,
        /// Back to the first.
        closed: bool,
    },
    /// Where a neighbour of this thickness lands: its middle line, its thickness, mm.
    Lands {
        /// From end to end.
        line: [Point<Finished>; 2],
        /// The neighbour's actual thickness, mm.
        thick: f64,
    },
}

/// A strip with every mark of one direction from one end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stick {
    /// Which direction: "length, along the side view".
    pub title: String,
    /// What its beginning is called: FLOOR, NOSE.
    pub datum: String,
    /// From the beginning, finished mm, unrounded, in order.
    pub marks: Vec<StickMark>,
    /// How long it is, finished mm.
    pub length: f64,
}

/// One mark of a stick.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct StickMark {
    /// From the beginning, finished mm; of a part with a thickness its nearer face.
    pub at: f64,
    /// What is written there.
    pub text: String,
    /// A part's thickness, mm: two lines with an X between; 0 for a single line.
    pub thick: f64,
    /// Which edge of the stick: 0 or 1.
    pub edge: u8,
}

/// A grid of squares over an outline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// What it is over.
    pub of: Pattern,
    /// A square's side, finished mm.
    pub square: f64,
}

/// Offsets at stations.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Offsets {
    /// Of what.
    pub of: Pattern,
    /// From the centre line or the base line: two points, finished mm.
    pub base: [Point<Finished>; 2],
    /// From station to station, finished mm.
    pub apart: f64,
}

/// A card that turns picture sizes into finished ones.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sector {
    /// Finished mm for each mm on the printed picture.
    pub ratio: f64,
    /// What it says: which picture, which size to build.
    pub lines: Vec<String>,
}

/// What is to be cut, every figure told already.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct CuttingList {
    /// What it is called.
    pub title: String,
    /// Heads of the columns; a box to tick comes before them.
    pub heads: Vec<String>,
    /// A row for each part, a cell for each head.
    pub rows: Vec<Vec<String>>,
    /// What to buy.
    pub lines: Vec<String>,
    /// What to heed.
    pub cautions: Vec<String>,
}
