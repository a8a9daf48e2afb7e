//! What stands on paper, before it is cut into sheets.

use crate::plane::{Curve, Finished, Homography, Picture, Point};

/// A whole drawing at full size, finished mm: origin top left, x to the right, y down.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Drawing {
    /// Width and height, finished mm.
    pub size: [f64; 2],
    /// Where the corner lies that its maker counted from, finished mm.
    #[serde(skip)]
    pub origin: [f64; 2],
    /// Drawn in this order.
    pub items: Vec<Item>,
    /// Places that no joint may run through (drill centres), finished mm: centre and radius.
    pub keep_clear: Vec<(Point<Finished>, f64)>,
    /// The outlines that parts lie inside, holes among them: sheets with nothing of them, nor of what else is drawn, aren't made. None
    /// where all of it is wanted.
    #[serde(skip)]
    pub area: Vec<Vec<Point<Finished>>>,
    /// How far round them what lies beneath belongs to them, mm.
    #[serde(skip)]
    pub round: f64,
    /// It is drawn smaller than it is to be built: its sheets must not say otherwise.
    pub small: bool,
    /// What the drawing is called, for bookmarks and sheets: "A Wing".
    pub title: String,
}

/// One thing that is drawn.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Item {
    /// Lines, or an area.
    Path {
        /// Where it runs.
        path: Path,
        /// How its line is drawn; nothing for an area alone.
        pen: Option<Pen>,
        /// What fills it.
        fill: Option<Fill>,
    },
    /// A line of writing.
    Text {
        /// Where its anchor stands, on the writing's base line, finished mm.
        at: Point<Finished>,
        /// Height of the type (its em), mm.
        size: f64,
        /// How far it is turned, radians, clockwise as seen.
        turn: f64,
        /// Which part of it stands there.
        anchor: Anchor,
        /// In bold type.
        bold: bool,
        /// On a white ground, so that it can be read over a picture.
        ground: bool,
        /// The words.
        text: String,
    },
    /// Part of the picture.
    Picture {
        /// The picture.
        picture: u32,
        /// From picture px to the drawing.
        map: Homography<Picture, Finished>,
        /// What of it is shown: left, top, right, bottom, finished mm.
        bounds: [f64; 4],
        /// How it is shown.
        ink: Ink,
    },
}

/// Lines one after the other.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Path {
    /// In order.
    pub steps: Vec<Step>,
}

/// One step of a [`Path`], finished mm.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Step {
    /// Begins anew here.
    Move(Point<Finished>),
    /// Straight to here.
    Line(Point<Finished>),
    /// A cubic Bézier: two control points, and its end.
    Cubic(Point<Finished>, Point<Finished>, Point<Finished>),
    /// Straight back to where it began.
    Close,
}

/// How a line is drawn: always black.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Pen {
    /// Its width, mm.
    pub width: f64,
    /// Unbroken or how broken.
    pub line: Line,
}

/// How a line is broken. Trade usage (common practice, no source): hidden short dash, centre chain, fold double-dot chain, trim
/// dotted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Line {
    /// Unbroken.
    Solid,
    /// Short dashes: what is hidden.
    Dash,
    /// Long, short, long: a centre line.
    Chain,
    /// Long, short, short, long: a fold.
    DoubleChain,
    /// Dots: where to trim.
    Dot,
}

/// What fills an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fill {
    /// Black.
    Black,
    /// White: covers what was drawn before.
    White,
    /// A light grey.
    Grey,
}

/// Which part of a line of writing stands at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// How a picture is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Ink {
    /// Greys, lightened so that lines and writing over it can be read.
    Grey,
    /// Drawn lines only, black on white.
    Lines,
}

impl Path {
    /// Straight from point to point.
    pub fn line(points: &[Point<Finished>]) -> Path {
        let step = |(i, p): (usize, &Point<Finished>)| if i == 0 { Step::Move(*p) } else { Step::Line(*p) };
        Path { steps: points.iter().enumerate().map(step).collect() }
    }

    /// Straight from point to point and back to the first.
    pub fn ring(points: &[Point<Finished>]) -> Path {
        let mut path = Path::line(points);
        if !path.steps.is_empty() {
            path.steps.push(Step::Close);
        }
        path
    }

    /// Round a curve.
    pub fn curve(curve: &Curve<Finished>) -> Path {
        let Some(start) = curve.start(0) else { return Path::default() };
        let piece = |s: &crate::plane::Segment<Finished>| {
            if s.straight { Step::Line(s.p) } else { Step::Cubic(s.c1, s.c2, s.p) }
        };
        let steps = [Step::Move(start)].into_iter().chain(curve.segments.iter().map(piece));
        Path { steps: steps.chain([Step::Close]).collect() }
    }

    /// Both paths as one: an area with a hole is filled by the even-odd rule.
    #[must_use]
    pub fn with(mut self, other: Path) -> Path {
        self.steps.extend(other.steps);
        self
    }
}
