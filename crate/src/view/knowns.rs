//! What a person vouches for on a view, and what of it can't be used.

use super::camera::Camera;
use super::forms::{Form, Formed};
use super::lens::Bent;
use crate::estimate::{Part, Source};
use crate::plane::{Picture, Point};
use crate::words::Say;

/// Where a point was put on the picture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Click {
    /// The place, in picture px.
    pub at: Point<Picture>,
    /// Standard uncertainty along each axis, in picture px; of a place that is held better one way than the other,
    /// that of the worse.
    pub sigma: f64,
    /// Covariance in picture px²: xx, xy, yy; nothing for `sigma` both ways.
    pub cov: Option<[f64; 3]>,
    /// The names of its errors: across, down.
    pub source: [Source; 2],
    /// Degrees of freedom behind `sigma`; infinite unless it was observed.
    pub freedom: f64,
    /// What moves it once a lens's bend has been taken out; nothing of a place on the picture itself.
    pub bent: Option<Bent>,
}

impl Click {
    /// The parts that this click gives to something whose slope by it is `slope` (per px).
    pub fn parts(&self, slope: [f64; 2]) -> Vec<Part> {
        let sway = self.sway();
        let part = |k: usize| Part {
            source: self.source[k],
            effect: slope[0] * sway[k][0] + slope[1] * sway[k][1],
            freedom: self.freedom,
        };
        let mut parts = vec![part(0), part(1)];
        parts.extend(self.bent.iter().flat_map(|b| b.parts(slope)));
        parts
    }

    /// How far each of its two errors moves it at one standard uncertainty, `[x, y]` in picture px: the columns of
    /// the Cholesky factor of its covariance.
    pub fn sway(&self) -> [[f64; 2]; 2] {
        if let Some(bent) = &self.bent {
            return bent.sway;
        }
        let Some([xx, xy, yy]) = self.cov else { return [[self.sigma, 0.0], [0.0, self.sigma]] };
        let a = libm::sqrt(xx.max(0.0));
        let b = if a > 0.0 { xy / a } else { 0.0 };
        [[a, b], [0.0, libm::sqrt((yy - b * b).max(0.0))]]
    }
}

/// How a true length was marked.
#[derive(Clone, Debug, PartialEq)]
pub enum Span {
    /// From end to end.
    Between([Click; 2]),
    /// From the centre to an end: the length is twice the distance.
    FromCentre([Click; 2]),
    /// From a centre line through the first two points to an end: the length is twice the third's distance
    /// from the line.
    FromLine([Click; 3]),
    /// Round the rim of something round, three places or more: the length is its diameter.
    Round(Vec<Click>),
}

impl Span {
    /// The points placed.
    pub fn clicks(&self) -> &[Click] {
        match self {
            Span::Between(c) | Span::FromCentre(c) => c,
            Span::FromLine(c) => c,
            Span::Round(c) => c,
        }
    }
}

/// A true length, or a check length.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// The mark it stands on.
    pub mark: u32,
    /// Where it runs.
    pub span: Span,
    /// The length vouched for, in mm.
    pub mm: f64,
    /// Its standard uncertainty, in mm.
    pub u: f64,
    /// Whether it pulls on the map; a check length doesn't.
    pub pulls: bool,
}

/// What a known rectangle is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RectangleOf {
    /// Part of the thing pictured: its sides are real sizes.
    Thing,
    /// The paper the thing is drawn on: its sides give the shape, not the scale.
    Sheet,
}

/// A side of a rectangle, as given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side {
    /// Its length, in mm.
    pub mm: f64,
    /// Its standard uncertainty, in mm.
    pub u: f64,
}

/// Four corners of something rectangular.
#[derive(Clone, Debug, PartialEq)]
pub struct Rectangle {
    /// The corners in order round it; the first side is the width.
    pub corners: [Click; 4],
    /// Width and height, each where it is known: the first side and the second.
    pub sides: [Option<Side>; 2],
    /// What it is.
    pub of: RectangleOf,
}

/// The resolution written in a picture's file.
#[derive(Clone, Debug, PartialEq)]
pub struct Resolution {
    /// The picture.
    pub picture: u32,
    /// Across and down, in px a mm of paper.
    pub px_per_mm: [f64; 2],
    /// Relative standard uncertainty, common to both.
    pub u_relative: f64,
}

/// All that is known of one view; nothing, by default.
#[derive(Clone, Debug, Default)]
pub struct Knowns<'a> {
    /// The view.
    pub view: u32,
    /// The view's level axis against the picture's x, in rad; positive clockwise as seen.
    pub tilt: f64,
    /// True lengths and check lengths.
    pub knowns: &'a [Known],
    /// A known rectangle.
    pub rectangle: Option<&'a Rectangle>,
    /// The resolution of the picture's file, when it means something.
    pub resolution: Option<&'a Resolution>,
    /// How many times smaller than life it is drawn: 12 for 1:12.
    pub drawing_scale: Option<f64>,
    /// The person accepted a map with two scales.
    pub two_scales: bool,
    /// The picture as a camera took it: for what is seen at a slant and not all known.
    pub camera: Option<&'a Camera>,
    /// Shapes in life that are vouched for.
    pub forms: &'a [Formed],
    /// The view is seen at a slant, whatever is known of it.
    pub slanted: bool,
}

/// Lengths that a job can be about, in mm: from a thousandth of a millimetre to a kilometre.
const LENGTHS: std::ops::RangeInclusive<f64> = 1e-3..=1e6;
/// How far from the picture's origin a point may be, in px; pictures end at 30,000.
const FAR: f64 = 1e7;
/// Nearer than this many standard uncertainties, two points can't be told apart.
pub(crate) const APART: f64 = 3.0;
/// True lengths on one view.
const MOST: usize = 60;

/// Refuses what can't be reckoned with, in words.
pub(crate) fn check(knowns: &Knowns) -> Result<(), Say> {
    if !(knowns.tilt.is_finite() && knowns.tilt.abs() <= 10.0) {
        return Err(Say::new("view.not-a-number"));
    }
    if knowns.knowns.len() > MOST {
        return Err(Say::new("view.too-many-lengths").count("most", MOST));
    }
    for known in knowns.knowns {
        check_known(known).map_err(|say| say.count("mark", known.mark as usize))?;
    }
    for formed in knowns.forms {
        check_form(&formed.form).map_err(|say| say.count("mark", formed.mark as usize))?;
    }
    if let Some(rectangle) = knowns.rectangle {
        check_rectangle(rectangle)?;
    }
    if let Some(resolution) = knowns.resolution {
        let sound = |v: f64| (1e-3..=1e5).contains(&v);
        let u = (0.0..0.5).contains(&resolution.u_relative);
        if !(resolution.px_per_mm.into_iter().all(sound) && u) {
            return Err(Say::new("view.resolution-absurd"));
        }
    }
    match knowns.drawing_scale {
        Some(n) if !(1e-6..=1e6).contains(&n) => Err(Say::new("view.drawing-scale-absurd")),
        _ => Ok(()),
    }
}

/// A length given in mm with its standard uncertainty.
pub(super) fn check_length(mm: f64, u: f64) -> Result<(), Say> {
    if !mm.is_finite() || !u.is_finite() || u < 0.0 {
        Err(Say::new("view.not-a-number"))
    } else if mm <= 0.0 {
        Err(Say::new("view.length-not-positive"))
    } else if !LENGTHS.contains(&mm) {
        Err(Say::new("view.length-absurd"))
    } else if u > mm / 2.0 {
        Err(Say::new("view.length-too-loose").length("length", mm))
    } else {
        Ok(())
    }
}

pub(super) fn check_click(click: &Click) -> Result<(), Say> {
    let near = click.at.x.abs() <= FAR && click.at.y.abs() <= FAR;
    let sigma = click.sigma > 0.0 && click.sigma <= FAR;
    if near && sigma { Ok(()) } else { Err(Say::new("view.not-a-place")) }
}

/// Two points far enough apart to measure between.
pub(super) fn check_apart(a: &Click, b: &Click) -> Result<(), Say> {
    let distance = a.at.distance(b.at);
    if distance < 1e-6 {
        Err(Say::new("view.same-place"))
    } else if distance <= APART * a.sigma.max(b.sigma) {
        Err(Say::new("view.too-close"))
    } else {
        Ok(())
    }
}

pub(super) fn check_known(known: &Known) -> Result<(), Say> {
    check_length(known.mm, known.u)?;
    known.span.clicks().iter().try_for_each(check_click)?;
    match &known.span {
        Span::Between([a, b]) | Span::FromCentre([a, b]) => check_apart(a, b),
        Span::FromLine([a, b, c]) => {
            check_apart(a, b)?;
            let line = crate::plane::Line::through(a.at, b.at).ok_or_else(|| Say::new("view.same-place"))?;
            let distance = line.distance(c.at).abs();
            if distance <= APART * c.sigma { Err(Say::new("view.end-on-line")) } else { Ok(()) }
        }
        // Whether they tell a circle is found where it is fitted.
        Span::Round(c) => c.windows(2).try_for_each(|c| check_apart(&c[0], &c[1])),
    }
}

fn check_form(form: &Form) -> Result<(), Say> {
    form.clicks().iter().try_for_each(check_click)?;
    match form {
        Form::Parallel([a, b, c, d]) | Form::Square([a, b, c, d]) => {
            check_apart(a, b)?;
            check_apart(c, d)
        }
        Form::Round(clicks) if clicks.len() < 5 => Err(Say::new("view.round-needs-five")),
        Form::Round(clicks) => clicks.windows(2).try_for_each(|c| check_apart(&c[0], &c[1])),
    }
}

/// The order in which four corners that cross over stand round their shape, the first kept; `None` where they stand
/// so already, or never do.
pub fn in_order(corners: &[Point<Picture>; 4]) -> Option<[usize; 4]> {
    let round = |order: [usize; 4]| {
        let at = |i: usize| corners[order[i % 4]];
        let turns = [0, 1, 2, 3].map(|i| (at(i + 1) - at(i)).cross(at(i + 2) - at(i + 1)));
        turns.iter().all(|t| *t > 0.0) || turns.iter().all(|t| *t < 0.0)
    };
    let all = [[0, 1, 2, 3], [0, 1, 3, 2], [0, 2, 1, 3]];
    all.into_iter().find(|order| round(*order)).filter(|order| *order != all[0])
}

/// Whether `b` stands on the line from `a` to `c` as far as can be told.
pub(super) fn in_line(a: &Click, b: &Click, c: &Click) -> bool {
    let turn = (b.at - a.at).cross(c.at - b.at).abs();
    turn <= APART * b.sigma * (c.at - a.at).length().max(f64::MIN_POSITIVE)
}

fn check_rectangle(r: &Rectangle) -> Result<(), Say> {
    r.sides.iter().flatten().try_for_each(|side| check_length(side.mm, side.u))?;
    r.corners.iter().try_for_each(check_click)?;
    for i in 0..4 {
        for j in i + 1..4 {
            check_apart(&r.corners[i], &r.corners[j])?;
        }
    }
    let at = |i: usize| r.corners[i % 4].at;
    let turns = [0, 1, 2, 3].map(|i| (at(i + 1) - at(i)).cross(at(i + 2) - at(i + 1)));
    for (i, turn) in turns.iter().enumerate() {
        // How far the middle corner stands off the line between its neighbours.
        let off = turn.abs() / (at(i + 2) - at(i)).length().max(f64::MIN_POSITIVE);
        if off <= APART * r.corners[(i + 1) % 4].sigma {
            return Err(Say::new("view.corners-in-line").count("corner", (i + 1) % 4 + 1));
        }
    }
    match turns.iter().filter(|t| **t > 0.0).count() {
        0 | 4 => Ok(()),
        2 => Err(Say::new("view.corners-crossed")),
        _ => Err(Say::new("view.corners-dented")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn click(i: u16, x: f64, y: f64) -> Click {
        let source = [Source::Click(1, i, 0), Source::Click(1, i, 1)];
        Click { at: Point::new(x, y), sigma: 0.5, cov: None, source, freedom: f64::INFINITY, bent: None }
    }

    fn refusal(known: &Known, rectangle: Option<&Rectangle>) -> String {
        let knowns = Knowns { view: 1, knowns: std::slice::from_ref(known), rectangle, ..Knowns::default() };
        crate::view::fit(&knowns).map_or_else(|say| say.key.into_owned(), |_| "taken".to_owned())
    }

    fn length(mm: f64, u: f64, end: [f64; 2]) -> Known {
        let span = Span::Between([click(0, 0.0, 0.0), click(1, end[0], end[1])]);
        Known { mark: 1, span, mm, u, pulls: true }
    }

    #[test]
    fn lengths_that_can_not_be_used() {
        for (mm, u, end, key) in [
            (100.0, 0.1, [300.0, 0.0], "taken"),
            (0.0, 0.1, [300.0, 0.0], "view.length-not-positive"),
            (-5.0, 0.1, [300.0, 0.0], "view.length-not-positive"),
            (1e-9, 0.0, [300.0, 0.0], "view.length-absurd"),
            (1e12, 0.1, [300.0, 0.0], "view.length-absurd"),
            (f64::NAN, 0.1, [300.0, 0.0], "view.not-a-number"),
            (100.0, f64::NAN, [300.0, 0.0], "view.not-a-number"),
            (100.0, -1.0, [300.0, 0.0], "view.not-a-number"),
            (100.0, 60.0, [300.0, 0.0], "view.length-too-loose"),
            (100.0, 0.1, [0.0, 0.0], "view.same-place"),
            (100.0, 0.1, [1.0, 0.0], "view.too-close"),
            (100.0, 0.1, [f64::NAN, 0.0], "view.not-a-place"),
            (100.0, 0.1, [1e300, 0.0], "view.not-a-place"),
        ] {
            assert_eq!(refusal(&length(mm, u, end), None), key, "{mm} {u} {end:?}");
        }
        let from_line = |end: f64| Known {
            span: Span::FromLine([click(0, 0.0, 0.0), click(1, 300.0, 0.0), click(2, 50.0, end)]),
            ..length(100.0, 0.1, [0.0; 2])
        };
        assert_eq!(refusal(&from_line(80.0), None), "taken");
        assert_eq!(refusal(&from_line(1.0), None), "view.end-on-line");
        let round = |places: &[[f64; 2]]| {
            let rim = places.iter().zip(0..).map(|(p, i)| click(i, p[0], p[1])).collect();
            Known { span: Span::Round(rim), ..length(25.0, 0.1, [0.0; 2]) }
        };
        assert_eq!(refusal(&round(&[[0.0, 0.0], [40.0, 40.0], [80.0, 0.0]]), None), "taken");
        assert_eq!(refusal(&round(&[[0.0, 0.0], [40.0, 0.0], [80.0, 0.0]]), None), "view.round-in-line");
        assert_eq!(refusal(&round(&[[0.0, 0.0], [40.0, 40.0]]), None), "view.round-in-line");
    }

    #[test]
    fn corners_that_can_not_be_used() {
        let far = length(100.0, 0.1, [300.0, 0.0]);
        let check_only = Known { pulls: false, ..far };
        for (corners, width, key) in [
            ([[0.0, 0.0], [200.0, 5.0], [210.0, 140.0], [-8.0, 150.0]], 210.0, "taken"),
            ([[0.0, 0.0], [0.0, 0.0], [210.0, 140.0], [-8.0, 150.0]], 210.0, "view.same-place"),
            ([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0], [100.0, 90.0]], 210.0, "view.corners-in-line"),
            ([[0.0, 0.0], [200.0, 140.0], [200.0, 0.0], [0.0, 140.0]], 210.0, "view.corners-crossed"),
            ([[0.0, 0.0], [200.0, 0.0], [60.0, 50.0], [0.0, 150.0]], 210.0, "view.corners-dented"),
            ([[0.0, 0.0], [200.0, 5.0], [210.0, 140.0], [-8.0, 150.0]], 0.0, "view.length-not-positive"),
        ] {
            let mut i = 0;
            let corners = corners.map(|[x, y]| {
                i += 1;
                click(10 + i, x, y)
            });
            let sides = [width, 148.0].map(|mm| Some(Side { mm, u: 0.1 }));
            let r = Rectangle { corners, sides, of: RectangleOf::Thing };
            assert_eq!(refusal(&check_only, Some(&r)), key, "{corners:?}");
        }
    }
}
