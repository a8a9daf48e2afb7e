//! What is placed on a view, and what it measures.
//!
//! A mark is a kind and its points, in original picture pixels. [`measure`] carries the points to the real
//! plane through the view's map, and gives every size the mark has: each with what every click and every
//! one of the map's own sources does to it, so that shared errors cancel later by themselves.
//!
//! This room must not know finished sizes, documents or undo: it is pure functions over slices.
//!
//! # Errors
//! What can't be measured is refused with a [`Say`] of this room (`mark.…`), and what can, but with less
//! trust than it seems, is measured and flagged. Nothing a person does panics.

mod click;
mod constrain;
mod edges;
mod extreme;
mod ground;
mod hit;
mod outline;
mod repeat;
mod round;
mod shape;
mod straight;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod trials;

pub use click::{By, click_sigma};
pub use constrain::{keep_level, keep_plumb, like, mirrored};
pub use hit::{Handle, nearest_handle, nearest_stroke};
pub use shape::{End, Role, Shape, Stroke, shape};

use crate::estimate::Estimate;
use crate::plane::{Picture, Point};
use crate::view::{Click, ViewMap};
use crate::words::Say;
use ground::{Found, Ground};
use serde::{Deserialize, Serialize};

/// What sort of thing is placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub enum Kind {
    /// Two ends, or as [`Ends`] says.
    Length,
    /// Along two or more points.
    Path,
    /// Between two arms: the first point, the corner, the last point.
    Angle,
    /// Through three or more points.
    Circle,
    /// From the first point through the others to the last.
    Arc,
    /// Round three or more points and back to the first.
    Outline,
    /// One place.
    Point,
    /// From one straight edge to another: two places on each.
    Gap,
    /// Where two straight edges cross: two places on each.
    Crossing,
}

/// How a [`Kind::Length`] is taken where an end is hidden or off the picture.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub enum Ends {
    /// From the first point to the second.
    #[default]
    Between,
    /// The first point is the middle: twice the distance to the second.
    FromCentre,
    /// The first two points are a line down the middle: twice the distance of the third from it.
    FromLine,
}

/// A size that a mark has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Quantity {
    /// A straight length.
    Length,
    /// Along a path.
    PathLength,
    /// One straight piece of a path, counted from 0.
    Segment(u16),
    /// Between the two arms, at the middle point, 0 to π.
    Angle,
    /// Of a circle.
    Radius,
    /// Across a circle.
    Diameter,
    /// Round a circle.
    Circumference,
    /// Of an arc.
    ArcRadius,
    /// Along an arc.
    ArcLength,
    /// From the middle of the chord to the middle of the arc.
    Rise,
    /// Straight from one end of an arc to the other.
    Chord,
    /// Within an outline.
    Area,
    /// Round an outline.
    Perimeter,
    /// Between the two points of an outline that are farthest apart.
    GreatestLength,
    /// The extent of an outline square to its greatest length.
    Width,
    /// Where an outline of even thickness balances: across, from the view's origin.
    BalanceAcross,
    /// The same, down.
    BalanceDown,
    /// Where a point is: across, from the view's origin.
    PlaceAcross,
    /// The same, down.
    PlaceDown,
}

/// What a quantity is counted in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dimension {
    /// mm.
    Length,
    /// Radians.
    Angle,
    /// mm².
    Area,
}

impl Quantity {
    /// What it is counted in.
    pub fn dimension(self) -> Dimension {
        match self {
            Quantity::Angle => Dimension::Angle,
            Quantity::Area => Dimension::Area,
            _ => Dimension::Length,
        }
    }

    /// A place rather than a size: it means something only as a difference from another place.
    pub fn is_place(self) -> bool {
        use Quantity::{BalanceAcross, BalanceDown, PlaceAcross, PlaceDown};
        matches!(self, BalanceAcross | BalanceDown | PlaceAcross | PlaceDown)
    }

    /// Its number among a mark's spreads (`Source::Spread`).
    pub(crate) fn component(self) -> u16 {
        match self {
            Quantity::Length => 0,
            Quantity::PathLength => 1,
            Quantity::Angle => 2,
            Quantity::Radius => 3,
            Quantity::Diameter => 4,
            Quantity::Circumference => 5,
            Quantity::ArcRadius => 6,
            Quantity::ArcLength => 7,
            Quantity::Rise => 8,
            Quantity::Chord => 9,
            Quantity::Area => 10,
            Quantity::Perimeter => 11,
            Quantity::GreatestLength => 12,
            Quantity::Width => 13,
            Quantity::BalanceAcross => 14,
            Quantity::BalanceDown => 15,
            Quantity::PlaceAcross => 16,
            Quantity::PlaceDown => 17,
            Quantity::Segment(i) => 32 + i.min(0x3fff),
        }
    }
}

/// One size of a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Measure {
    /// Which.
    pub what: Quantity,
    /// Its value, in mm, mm² or radians of the real plane, and what each source does to it.
    pub value: Estimate,
}

/// Every size of a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct Measures {
    /// The one a person asks for first; it is always among `all`.
    pub primary: Quantity,
    /// Every size, the primary first.
    pub all: Vec<Measure>,
    /// The balance point of an outline, or the place of a point, on the picture.
    pub place: Option<Point<Picture>>,
    /// What lessens the trust in these sizes.
    pub flags: Vec<Say>,
}

impl Measures {
    /// The value of `what`, if the mark has it.
    pub fn get(&self, what: Quantity) -> Option<&Estimate> {
        self.all.iter().find(|m| m.what == what).map(|m| &m.value)
    }
}

/// No mark has more points than this; a traced outline is thinned before it comes here.
pub const MOST_POINTS: usize = 5_000;

/// The fewest and the most points a mark takes.
pub fn need(kind: Kind, ends: Ends) -> (usize, usize) {
    match (kind, ends) {
        (Kind::Length, Ends::FromLine) | (Kind::Angle, _) => (3, 3),
        (Kind::Length, _) => (2, 2),
        (Kind::Path, _) => (2, MOST_POINTS),
        (Kind::Circle | Kind::Arc | Kind::Outline, _) => (3, MOST_POINTS),
        (Kind::Point, _) => (1, 1),
        (Kind::Gap | Kind::Crossing, _) => (4, 4),
    }
}

/// The size a person asks for first.
pub fn primary(kind: Kind) -> Quantity {
    match kind {
        Kind::Length => Quantity::Length,
        Kind::Path => Quantity::PathLength,
        Kind::Angle => Quantity::Angle,
        Kind::Circle => Quantity::Diameter,
        Kind::Arc => Quantity::ArcRadius,
        Kind::Outline => Quantity::GreatestLength,
        Kind::Point | Kind::Crossing => Quantity::PlaceAcross,
        Kind::Gap => Quantity::Length,
    }
}

/// What a mark measures on its view.
///
/// `clicks` are its points in the order placed; `ends` matters for a length only. `repeats` are further
/// placings of the same thing: with any, each size is the mean over all placings, and what the clicks do to
/// it is what the placings themselves show (the standard deviation of their mean, with one degree of freedom
/// less than placings), instead of what was stated for each click; unless they agree more closely than clicks so
/// good would, and so show nothing. The true length that sets a view's scale
/// should be measured without repeats, as the view's map leans on its first placing.
///
/// # Units
/// mm, mm² and radians in the real plane of the view; click errors in picture px.
///
/// # Errors
/// `mark.too-few`, `mark.too-many`, `mark.not-a-place`, `mark.same-place`, `mark.in-a-line`, and what the
/// view's map says of a point it can't place.
pub fn measure(
    kind: Kind,
    ends: Ends,
    clicks: &[Click],
    repeats: &[Vec<Click>],
    map: &ViewMap,
) -> Result<Measures, Say> {
    let ground = Ground::new(kind, ends, clicks, map)?;
    let found = find(kind, ends, &ground)?;
    let Findings { found, mut flags, place } = found;
    let all = if repeats.is_empty() {
        found.iter().map(|f| Measure { what: f.what, value: ground.estimate(f) }).collect()
    } else {
        let mut rest = Vec::with_capacity(repeats.len());
        for placing in repeats {
            let ground = Ground::new(kind, ends, placing, map)?;
            let found = find(kind, ends, &ground)?.found;
            rest.push((ground, found));
        }
        repeat::mean(&ground, &found, &rest, &mut flags)
    };
    Ok(Measures { primary: primary(kind), all, place, flags })
}

/// What one placing gives.
pub(crate) struct Findings {
    found: Vec<Found>,
    flags: Vec<Say>,
    place: Option<Point<Picture>>,
}

impl Findings {
    fn of(found: Vec<Found>) -> Findings {
        Findings { found, flags: Vec::new(), place: None }
    }
}

fn find(kind: Kind, ends: Ends, ground: &Ground) -> Result<Findings, Say> {
    match kind {
        Kind::Length => straight::length(ends, ground),
        Kind::Path => straight::path(ground),
        Kind::Angle => round::angle(ground),
        Kind::Circle => round::circle(ground),
        Kind::Arc => round::arc(ground),
        Kind::Outline => outline::outline(ground),
        Kind::Point => Ok(place(ground)),
        Kind::Gap => edges::gap(ground),
        Kind::Crossing => edges::crossing(ground),
    }
}

/// A point's own place.
fn place(ground: &Ground) -> Findings {
    let Some(at) = ground.real.first() else { return Findings::of(Vec::new()) };
    let found = vec![
        Found::new(Quantity::PlaceAcross, at.x, vec![(0, [1.0, 0.0])]),
        Found::new(Quantity::PlaceDown, at.y, vec![(0, [0.0, 1.0])]),
    ];
    Findings { found, flags: Vec::new(), place: ground.clicks.first().map(|c| c.at) }
}
