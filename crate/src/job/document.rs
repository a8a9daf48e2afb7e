//! The document: what a person has said and placed. Nothing reckoned stands in it.

pub use super::caption::Caption;
pub use super::depth::{Behind, BoxGiven, FaceOf};
use super::given::KnownLens;
use super::intent::{Along, At, Bounds, How, RectangleOf, Role, Side};
pub use super::layout::Boards;
pub use super::parts::{About, Hidden, PartChoice};
pub use super::sheets::{Grain, OnPattern, PaperChoice, PatternChoice, Printer, Sheets};
pub use super::vane::VaneChoice;
use crate::mark::{Ends, Kind};
use crate::plane::{Curve, Picture, Tip};
use crate::quantity::{Direction, Step, Style};
use crate::raster::ask::{Border, Caught};
use serde::{Deserialize, Serialize};
use std::rc::Rc;

/// Everything that is kept of a job, but for the pictures' bytes.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Document {
    /// The job's name; empty until named.
    pub name: String,
    /// How lengths are told and rounded.
    pub units: Units,
    /// Which part of a drawn line ends hold on to.
    #[serde(default)]
    pub side: Side,
    /// The pictures, in the order they came.
    pub pictures: Vec<Sheet>,
    /// The views; the first of each picture is the whole of it.
    pub views: Vec<View>,
    /// Boxes that are seen from a corner; their sides are views.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub boxes: Vec<BoxGiven>,
    /// The marks, in the order they were placed. Copies of the document share those that are the same in both.
    pub marks: Vec<Rc<Mark>>,
    /// What the caption says of the whole thing.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub caption: Option<Caption>,
    /// The size to build.
    pub build: Build,
    /// The mark that ratios are told against; nothing for the program's choice.
    pub base: Option<u32>,
    /// Marks that run end to end along one line.
    pub chains: Vec<Vec<u32>>,
    /// Marks that take up the difference of their chain, so that its other pieces may be alike.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub takers: Vec<u32>,
    /// Pairs that were said to be of the same thing, or not.
    pub same: Vec<Pair>,
    /// Disagreements that were settled.
    pub trusted: Vec<Trusted>,
    /// How patterns are made, and on what.
    #[serde(default)]
    pub sheets: Sheets,
    /// How each part is cut, where a person said so.
    #[serde(default)]
    pub parts: Vec<(u32, PartChoice)>,
    /// Parts that no outline shows.
    #[serde(default)]
    pub hidden: Vec<Hidden>,
    /// What it is, and what is to be looked at.
    #[serde(default)]
    pub about: About,
    /// It as a whirligig or a vane.
    #[serde(default)]
    pub vane: VaneChoice,
    /// How boards are bought and laid out, and what is cut.
    #[serde(default)]
    pub boards: Boards,
    /// The last ids given out: picture, view, mark.
    pub last: [u32; 3],
}

/// How lengths are told and rounded.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Units {
    /// Inches and fractions, feet, decimals, millimetres.
    pub style: Style,
    /// The smallest fraction used.
    pub step: Step,
    /// Nearest, up or down.
    pub direction: Direction,
}

impl Default for Units {
    /// Inches to the nearest sixteenth, the usual step ("common practice, no source").
    fn default() -> Self {
        Units { style: Style::Inches, step: Step::Sixteenth, direction: Direction::Nearest }
    }
}

/// A picture of the job.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sheet {
    /// Its id.
    pub id: u32,
    /// The file's name.
    pub name: String,
    /// Width, picture px.
    pub width: u32,
    /// Height, picture px.
    pub height: u32,
    /// Pixels per inch across and down, when known and meant.
    pub resolution: Option<[f64; 2]>,
    /// 12 for a drawing at 1:12.
    pub one_to: Option<f64>,
    /// The focal length that its file tells, as on 35 mm film, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub focal_35mm: Option<f64>,
    /// A person said that it is only a part of what the camera took.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub cropped: bool,
    /// What the page finds the bytes by.
    pub digest: String,
    /// The lens that took it, where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<KnownLens>,
    /// Edges that are straight in life, as they are seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub straight: Vec<Bowed>,
}

/// Places along an edge that is straight in life.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bowed {
    /// In order, picture px.
    pub points: Vec<At>,
    /// Standard uncertainty of each across the edge, picture px.
    pub sigma: f64,
}

/// A view.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct View {
    /// Its id.
    pub id: u32,
    /// The picture it is on.
    pub picture: u32,
    /// Its own name; empty for the name of its role.
    pub name: String,
    /// What it shows.
    pub role: Role,
    /// The whole picture.
    pub whole: bool,
    /// Its box.
    pub bounds: Bounds,
    /// What turns it square-on.
    pub rectangle: Option<Square>,
    /// Two scales were accepted.
    pub two_scales: bool,
    /// The view it takes its scale from, when a person said so.
    pub scale_from: Option<u32>,
    /// It is seen at a slant that its true lengths are to tell.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub slanted: bool,
    /// It is a side of a box.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub face: Option<FaceOf>,
    /// It is parallel to another view and stands behind it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub behind: Option<Behind>,
}

/// Four corners of something rectangular.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Square {
    /// In order round it, the first side the width.
    pub corners: [Placing; 4],
    /// Width and height, mm, each where it is known.
    pub size: [Option<f64>; 2],
    /// Standard uncertainty of each, mm.
    pub u: [f64; 2],
    /// The size is of the thing, or of the sheet it is drawn on.
    pub of: RectangleOf,
    /// The sheet's name, if it was given by name.
    pub sheet: Option<String>,
}

/// Where a point is, and how well that is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Placing {
    /// Picture px.
    pub at: At,
    /// Standard uncertainty on each axis as it was put, picture px.
    pub sigma: f64,
    /// What it holds on to.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hold: Option<Hold>,
    /// It was found along an edge, between two that were put there.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub between: bool,
}

/// What a point holds on to, and where it was put.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hold {
    /// What was found in the picture.
    pub caught: Caught,
    /// Where a person had put the point, picture px.
    pub put: At,
}

impl Placing {
    /// The covariance of a point that holds on to something, picture px²: xx, xy, yy. Along an edge it is as good
    /// as it was put.
    pub fn cov(&self) -> Option<[f64; 3]> {
        let caught = self.hold?.caught;
        let [xx, xy, yy] = caught.cov;
        let [x, y] = caught.along.unwrap_or([0.0, 0.0]);
        let s = self.sigma * self.sigma;
        let own = PICTURE_U * PICTURE_U;
        Some([own + xx + s * x * x, xy + s * x * y, own + yy + s * y * y])
    }

    /// The standard uncertainty the worse way, picture px.
    pub fn worst(&self) -> f64 {
        self.cov().map_or(self.sigma, |[xx, xy, yy]| {
            let half = (xx - yy) / 2.0;
            libm::sqrt(((xx + yy) / 2.0 + libm::hypot(half, xy)).max(0.0))
        })
    }

    /// The standard uncertainty across the edge that it holds, or both ways, picture px.
    pub fn across(&self) -> f64 {
        self.hold.map_or(self.sigma, |h| {
            let [xx, _, yy] = h.caught.cov;
            let n = if h.caught.along.is_some() { 1.0 } else { 2.0 };
            libm::hypot(PICTURE_U, libm::sqrt(((xx + yy) / n).max(0.0)))
        })
    }
}

/// A mark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Mark {
    /// Its id; never used again.
    pub id: u32,
    /// The number a person sees.
    pub number: u32,
    /// Its name; empty until named.
    pub name: String,
    /// The picture it is on.
    pub picture: u32,
    /// What it is.
    pub kind: Kind,
    /// How its points stand for a length.
    pub ends: Ends,
    /// Its points.
    pub points: Vec<Placing>,
    /// The same thing marked again.
    pub repeats: Vec<Vec<Placing>>,
    /// Kept level or plumb.
    pub along: Along,
    /// The length vouched for on it.
    pub known: Option<TrueLength>,
    /// A person vouches for what it is in life: edges alike or square to one another, something round.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub formed: bool,
    /// Its points were fitted to an edge, and stand for all of it.
    #[serde(default)]
    pub fitted: bool,
    /// The border that was found in the picture: its points follow from that.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub border: Option<Border>,
    /// The rings of its holes.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub holes: Vec<Vec<Placing>>,
    /// The curves it runs along, once it is smoothed: its points are then the knots of the first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub smooth: Option<Smooth>,
    /// What it stands for on patterns, of a length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub on_pattern: Option<OnPattern>,
    /// The centre line about which it was made alike on both sides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centre: Option<[At; 2]>,
}

/// A smoothed outline.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Smooth {
    /// Its outer curve, then those of its holes.
    pub rings: Vec<Curve<Picture>>,
    /// The most that fairing moved any place, picture px.
    pub moved: f64,
    /// Standard uncertainty of a place, across the curve, picture px.
    pub sigma: f64,
    /// The same of the mean of all places round it, all moved outwards alike, picture px.
    pub mean: f64,
    /// The side of the line it was traced along that it runs on.
    #[serde(default)]
    pub side: Side,
    /// Corners that were drawn out beyond what was seen.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tips: Vec<Tip>,
}

/// Straight lines stand for curves to within this, picture px.
const FLAT: f64 = 0.02;

impl Smooth {
    /// A ring of it as points that straight lines join.
    pub fn flat(&self, ring: usize) -> Vec<At> {
        let Some(curve) = self.rings.get(ring) else { return Vec::new() };
        let (mut tolerance, mut points) = (FLAT, curve.flatten(FLAT));
        while points.len() > crate::mark::MOST_POINTS / 2 && tolerance < 1.0 {
            tolerance *= 4.0;
            points = curve.flatten(tolerance);
        }
        points
    }
}

impl Mark {
    /// Its line as shown: its points, or, once it is smoothed, what its curve runs through.
    pub fn line(&self) -> Vec<At> {
        match &self.smooth {
            Some(smooth) => smooth.flat(0),
            None => self.points.iter().map(|p| p.at).collect(),
        }
    }

    /// An outline's rings as shown: the outer one, then its holes.
    pub fn rings(&self) -> Vec<Vec<At>> {
        let holes = self.holes.iter().map(|h| h.iter().map(|p| p.at).collect());
        std::iter::once(self.line()).chain(holes).collect()
    }
}

/// A line as drawn is not where it was meant to be, a scanner's rows are not evenly apart, and a picture's packing shifts
/// an edge: what is caught stands for the thing no better than this, picture px. Ours: on the drawing of
/// `tests/demo` what is caught on straight lines lies 0.08 px (root mean square) from where it was drawn; no source.
pub(super) const PICTURE_U: f64 = 0.1;

/// A length that a person vouches for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TrueLength {
    /// The length, mm.
    pub mm: f64,
    /// Its ± (95 %), mm.
    pub pm: f64,
    /// How it was got.
    pub how: How,
    /// False for a check length.
    pub pulls: bool,
}

/// The size to build.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Build {
    /// Not chosen yet.
    #[default]
    None,
    /// One mark's finished length, mm.
    Wanted {
        /// The mark.
        mark: u32,
        /// Its finished length.
        mm: f64,
    },
    /// Finished : real.
    Ratio(f64),
}

/// Two marks said to be of the same thing, or not.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pair {
    /// The marks.
    pub marks: [u32; 2],
    /// They are of the same thing.
    pub same: bool,
}

/// A disagreement that was settled.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Trusted {
    /// The mark on the view that is trusted.
    pub mark: u32,
    /// The mark that follows it.
    pub other: u32,
}

impl Document {
    /// The picture `id`.
    pub fn picture(&self, id: u32) -> Option<&Sheet> {
        self.pictures.iter().find(|p| p.id == id)
    }
    /// The view `id`.
    pub fn view(&self, id: u32) -> Option<&View> {
        self.views.iter().find(|v| v.id == id)
    }
    /// The mark `id`.
    pub fn mark(&self, id: u32) -> Option<&Mark> {
        self.mark_rc(id).map(|m| &**m)
    }
    /// The mark `id`, to be kept.
    pub fn mark_rc(&self, id: u32) -> Option<&Rc<Mark>> {
        self.marks.iter().find(|m| m.id == id)
    }
    /// The view that is all of picture `id`.
    pub fn whole(&self, picture: u32) -> Option<&View> {
        self.views.iter().find(|v| v.picture == picture && v.whole)
    }

    /// How the pattern of the part `mark` is made.
    pub fn pattern(&self, mark: u32) -> PatternChoice {
        self.sheets.patterns.iter().find(|(m, _)| *m == mark).map(|(_, c)| *c).unwrap_or_default()
    }

    /// The mark whose size `mark` takes, through every settled disagreement; `mark` itself when it follows none.
    pub fn trusted_end(&self, mark: u32) -> u32 {
        let mut at = mark;
        // No more steps than there are entries, so that even a ring in a broken file ends.
        for _ in 0..self.trusted.len() {
            match self.trusted.iter().find(|t| t.other == at) {
                Some(t) => at = t.mark,
                None => break,
            }
        }
        at
    }

    /// The smallest view that holds all of `points`; else the smallest that holds their middle; else the whole picture.
    pub fn view_at(&self, picture: u32, points: &[Placing]) -> Option<u32> {
        let smallest = |holds: &dyn Fn(&View) -> bool| {
            self.views
                .iter()
                .filter(|v| v.picture == picture && !v.whole && holds(v))
                .min_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area()))
                .map(|v| v.id)
        };
        let n = points.len().max(1) as f64;
        let (x, y) = points.iter().fold((0.0, 0.0), |s, p| (s.0 + p.at.x / n, s.1 + p.at.y / n));
        smallest(&|v| points.iter().all(|p| v.holds(p.at)))
            .or_else(|| smallest(&|v| v.holds(At::new(x, y))))
            .or_else(|| self.whole(picture).map(|v| v.id))
    }
}

impl Bounds {
    /// Its area, px².
    pub fn area(&self) -> f64 {
        self.size[0] * self.size[1]
    }

    /// Its level direction, as cosine and sine of the tilt.
    fn level(&self) -> (f64, f64) {
        // Most boxes aren't turned, and every mark asks every box.
        if self.tilt == 0.0 {
            return (1.0, 0.0);
        }
        let t = self.tilt.to_radians();
        (libm::cos(t), libm::sin(t))
    }

    /// A place counted from its first corner, along its own level and plumb, px.
    pub fn within(&self, p: At) -> [f64; 2] {
        let (c, s) = self.level();
        let (dx, dy) = (p.x - self.at.x, p.y - self.at.y);
        [dx * c + dy * s, dy * c - dx * s]
    }

    /// The place that is counted so.
    fn out(&self, [u, v]: [f64; 2]) -> At {
        let (c, s) = self.level();
        At::new(self.at.x + u * c - v * s, self.at.y + u * s + v * c)
    }

    /// The part of it (or beyond it) between two places counted so.
    pub fn part(&self, low: [f64; 2], high: [f64; 2]) -> Bounds {
        Bounds { at: self.out(low), size: [high[0] - low[0], high[1] - low[1]], tilt: self.tilt }
    }

    /// Whether `p` lies in it, or within a hundredth of its size outside: an end on the border belongs to it.
    pub fn holds(&self, p: At) -> bool {
        let [u, v] = self.within(p);
        let inside = |t: f64, size: f64| t >= -0.01 * size && t <= 1.01 * size;
        inside(u, self.size[0]) && inside(v, self.size[1])
    }

    /// Its corners in order: top left, top right, bottom right, bottom left, as seen along its own level.
    pub fn corners(&self) -> [At; 4] {
        let [w, h] = self.size;
        [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|place| self.out(place))
    }
}
