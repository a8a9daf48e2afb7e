//! What can be asked of a picture's pixels, and what is found: plain data, the same in the Worker and natively.

use crate::plane::{Picture, Point, Shaped, Shaping};
use serde::{Deserialize, Serialize};

#[cfg(test)]
use ts_rs::TS;

/// A place in picture px, `[x, y]`.
pub type At = Point<Picture>;

/// One thing asked of the pixels; each field is told of in the variant.
#[allow(missing_docs, reason = "the variants say it")]
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(tag = "kind", rename_all = "kebab-case", rename_all_fields = "kebab-case", deny_unknown_fields)]
pub enum Ask {
    /// The nearest edge, drawn line, line end or corner within `reach` px.
    Catch {
        #[cfg_attr(test, ts(type = "[number, number]"))]
        at: At,
        reach: f64,
    },
    /// The straight edge that was drawn along, roughly, through these points, `reach` px to either side.
    Straight {
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        along: Vec<At>,
        reach: f64,
    },
    /// The round thing whose edge goes near these three or more points.
    Round {
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        through: Vec<At>,
        reach: f64,
    },
    /// The whole border of the part that was touched inside.
    Border {
        #[cfg_attr(test, ts(type = "[number, number]"))]
        inside: At,
    },
    /// The borders of what is as large as the part with this box: left, top, right, bottom, picture px.
    Like { bounds: [f64; 4] },
    /// The four corners of the four-sided part that was touched inside.
    Quad {
        #[cfg_attr(test, ts(type = "[number, number]"))]
        inside: At,
    },
    /// The edge between two touches.
    Follow {
        #[cfg_attr(test, ts(type = "[number, number]"))]
        from: At,
        #[cfg_attr(test, ts(type = "[number, number]"))]
        to: At,
    },
    /// An edge that is straight in life and may be seen bowed, between two touches: places along it whose errors are
    /// independent.
    Bowed {
        #[cfg_attr(test, ts(type = "[number, number]"))]
        from: At,
        #[cfg_attr(test, ts(type = "[number, number]"))]
        to: At,
    },
    /// The views that the picture is divided into.
    Views,
    /// Nothing of the pixels, but something heavy: the Worker hands it on, so that what answers this enum needn't be
    /// able to read it.
    #[serde(skip_deserializing)]
    Shape { shape: Shaping },
}

/// What a mark's end has caught.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub struct Caught {
    /// What it is.
    pub what: What,
    /// Where, picture px: for a drawn line its middle.
    #[cfg_attr(test, ts(type = "[number, number]"))]
    pub at: At,
    /// Covariance of that place, picture px²: xx, xy, yy. Along an edge, where nothing is known but what was
    /// touched, it is 0: that part comes from the touch.
    pub cov: [f64; 3],
    /// Unit step along the edge or line, picture px; nothing for a corner or an end, held both ways.
    #[serde(default)]
    pub along: Option<[f64; 2]>,
    /// From the middle of a drawn line to one of its sides (at a corner: to the corner of its outer or inner
    /// sides; at an end: to the very end), picture px; zero for an edge between two tones.
    pub half: [f64; 2],
}

impl Caught {
    /// Whether it can be reckoned with; it may come from a file that somebody made.
    pub fn is_sound(&self) -> bool {
        let [xx, xy, yy] = self.cov;
        let finite = self.at.is_finite()
            && self.cov.iter().chain(&self.half).chain(self.along.iter().flatten()).all(|v| v.is_finite());
        let unit = self.along.is_none_or(|[x, y]| (libm::hypot(x, y) - 1.0).abs() < 1e-6);
        let across = if self.along.is_some() { xx + yy } else { xx.min(yy) };
        let near = self.at.x.abs() <= 1e6 && self.at.y.abs() <= 1e6;
        let some = across > 1e-9
            && xx + yy < 1e6
            && xx >= 0.0
            && yy >= 0.0
            && xy * xy <= xx * yy * (1.0 + 1e-9) + 1e-18;
        finite && unit && near && some && libm::hypot(self.half[0], self.half[1]) < 1e3
    }
}

/// A kind of thing to hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum What {
    /// Between two tones.
    Edge,
    /// A drawn line.
    Line,
    /// Where a drawn line ends.
    End,
    /// Where two edges, or two drawn lines, meet.
    Corner,
}

impl What {
    /// Its name, as it is written.
    pub fn name(self) -> &'static str {
        match self {
            What::Edge => "edge",
            What::Line => "line",
            What::End => "end",
            What::Corner => "corner",
        }
    }
}

/// A place on something that was fitted, with how well it is known.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Fitted {
    /// Picture px.
    #[cfg_attr(test, ts(type = "[number, number]"))]
    pub at: At,
    /// Covariance, picture px²: xx, xy, yy.
    pub cov: [f64; 3],
}

/// A closed border, in picture px.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Border {
    /// Its outer ring, then its holes; each in order round, not closed by a repeat of its first point.
    #[cfg_attr(test, ts(type = "[number, number][][]"))]
    pub rings: Vec<Vec<At>>,
    /// Standard uncertainty of each point across the border, picture px.
    pub sigma: f64,
    /// Half the width of the line it was drawn with, picture px: the rings lie in the line's middle, its sides so far to
    /// either side of them. 0 where two tones meet.
    #[serde(default)]
    pub half: f64,
    /// Gaps of a drawn line that were bridged.
    #[cfg_attr(test, ts(type = "[[number, number], [number, number]][]"))]
    pub bridges: Vec<[At; 2]>,
}

/// A view that was found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct FoundView {
    /// Its box, along the picture's own level: left, top, right, bottom, picture px.
    pub bounds: [f64; 4],
    /// The outlines of its main shapes.
    pub shapes: Vec<Border>,
}

/// What was found.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// Something to hold.
    Caught(Caught),
    /// A straight edge, as two places on it whose errors are independent, and its ends.
    Straight {
        /// Two places whose errors don't go together: together they say all that is known of the line.
        fitted: [Fitted; 2],
        /// Where it begins and ends, picture px.
        #[cfg_attr(test, ts(type = "[[number, number], [number, number]]"))]
        ends: [At; 2],
        /// From the middle of a drawn line to one of its sides, picture px; zero for an edge between two tones.
        half: [f64; 2],
    },
    /// A round edge, as places evenly round it whose errors are independent: together they say all that is known of it.
    Round(Vec<Fitted>),
    /// The four corners of a part, in order round it.
    Quad(Vec<Fitted>),
    /// A part's border.
    Border(Border),
    /// Those of other parts like it.
    Borders(Vec<Border>),
    /// An edge from touch to touch, in order, picture px.
    Path {
        /// In order.
        #[cfg_attr(test, ts(type = "[number, number][]"))]
        points: Vec<At>,
        /// Standard uncertainty of each point across the edge, picture px.
        sigma: f64,
    },
    /// The drawing's views.
    Views(Vec<FoundView>),
    /// What was made of an outline. What answers [`Ask`] never writes it.
    #[serde(skip_serializing)]
    Shaped(Shaped),
}
