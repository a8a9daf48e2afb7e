//! What a mark looks like on the picture.
//!
//! Straight lines stay straight through every map, but circles, arcs and half-turns don't stay what they are
//! on a slanted view: those are drawn on the real plane and carried back.
//!
//! # Units
//! Picture px.

use super::round::{fitted, swept};
use super::straight::unit;
use super::{Ends, Kind, need};
use crate::plane::{Line, Picture, Point, Real, Vector};
use crate::view::ViewMap;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

/// Points on a whole circle: a thousand px of radius are drawn to half a px.
const ROUND: usize = 96;
/// An angle's small arc reaches this far along its shorter arm.
const ANGLE_REACH: f64 = 0.3;

/// What a line of a mark stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// What is measured.
    Mark,
    /// What only helps to see how it is measured: the line down the middle, the arms, the chord.
    Help,
}

/// One line of a mark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Stroke {
    /// Its points, joined by straight pieces.
    pub points: Vec<Point<Picture>>,
    /// From the last point back to the first.
    pub closed: bool,
    /// What it stands for.
    pub role: Role,
}

/// Where what is measured ends.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct End {
    /// The place.
    pub at: Point<Picture>,
    /// Unit vector out of the mark, along what is measured.
    pub out: [f64; 2],
}

/// A mark as drawn.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Shape {
    /// Its lines; none for a point.
    pub strokes: Vec<Stroke>,
    /// Where what is measured ends, each with a direction; none for what has no ends.
    pub ends: Vec<End>,
    /// Where its number and size go.
    pub label: Point<Picture>,
}

/// What a mark with these points looks like; with fewer points than it needs, or points that make no such
/// mark, the plain line along them.
pub fn shape(kind: Kind, ends: Ends, points: &[Point<Picture>], map: &ViewMap) -> Shape {
    let sound = points.len() >= need(kind, ends).0 && points.iter().all(|p| p.is_finite());
    let drawn = if sound { draw(kind, ends, points, map) } else { None };
    drawn.unwrap_or_else(|| along(points.iter().copied().filter(|p| p.is_finite()).collect(), false))
}

fn draw(kind: Kind, ends: Ends, points: &[Point<Picture>], map: &ViewMap) -> Option<Shape> {
    match kind {
        Kind::Length => match (ends, points) {
            (Ends::FromCentre, [c, e, ..]) => from_centre(*c, *e, map),
            (Ends::FromLine, [a, b, c, ..]) => from_line(*a, *b, *c, map),
            _ => Some(along(points.to_vec(), false)),
        },
        Kind::Path => Some(along(points.to_vec(), false)),
        Kind::Outline => Some(along(points.to_vec(), true)),
        Kind::Angle => angle(points, map),
        Kind::Circle => circle(points, map),
        Kind::Arc => arc(points, map),
        Kind::Point => Some(Shape { label: *points.first()?, ..Shape::default() }),
        Kind::Gap => gap(points),
        Kind::Crossing => crossing(points),
    }
}

/// Each edge a little beyond its two places, which stand for a stretch √3 times as long; and the way across.
fn gap(points: &[Point<Picture>]) -> Option<Shape> {
    let &[a, b, c, d] = points else { return None };
    let (p, q) = (mean(&[a, b]), mean(&[c, d]));
    let mut shape = along(vec![p, q], false);
    shape.strokes.extend([help(stretched(a, b)), help(stretched(c, d))]);
    Some(shape)
}

/// Both edges, drawn on to where they cross.
fn crossing(points: &[Point<Picture>]) -> Option<Shape> {
    let &[a, b, c, d] = points else { return None };
    let at = Line::through(a, b)?.crossing(&Line::through(c, d)?)?;
    let leg = |p: Point<Picture>, q: Point<Picture>| {
        let far = if at.distance(p) > at.distance(q) { stretched(q, p)[1] } else { stretched(p, q)[1] };
        help(vec![at, far])
    };
    Some(Shape { strokes: vec![leg(a, b), leg(c, d)], ends: Vec::new(), label: at })
}

fn stretched(a: Point<Picture>, b: Point<Picture>) -> Vec<Point<Picture>> {
    let more = (b - a) * ((libm::sqrt(3.0) - 1.0) / 2.0);
    vec![a + more * -1.0, b + more]
}

/// A line of the mark itself.
fn line(points: Vec<Point<Picture>>, closed: bool) -> Stroke {
    Stroke { points, closed, role: Role::Mark }
}

/// A line that only helps.
fn help(points: Vec<Point<Picture>>) -> Stroke {
    Stroke { points, closed: false, role: Role::Help }
}

/// The plain line along points.
fn along(points: Vec<Point<Picture>>, closed: bool) -> Shape {
    let ends = if closed { Vec::new() } else { ends_of(&points) };
    let label = if closed { mean(&points) } else { halfway(&points) };
    let strokes = if points.len() > 1 { vec![line(points, closed)] } else { Vec::new() };
    Shape { strokes, ends, label }
}

/// The two ends of a line, each pointing out of it.
fn ends_of(points: &[Point<Picture>]) -> Vec<End> {
    let out = |from: Point<Picture>, to: Point<Picture>| {
        let v = to - from;
        let d = v.length();
        (d > 0.0).then(|| End { at: to, out: [v.x / d, v.y / d] })
    };
    match points {
        [a, b] => [out(*b, *a), out(*a, *b)].into_iter().flatten().collect(),
        [a, b, .., y, z] => [out(*b, *a), out(*y, *z)].into_iter().flatten().collect(),
        [a, b, z] => [out(*b, *a), out(*b, *z)].into_iter().flatten().collect(),
        _ => Vec::new(),
    }
}

/// Halfway along a line.
fn halfway(points: &[Point<Picture>]) -> Point<Picture> {
    let whole: f64 = points.windows(2).map(|w| w[0].distance(w[1])).sum();
    let mut left = whole / 2.0;
    for w in points.windows(2) {
        let d = w[0].distance(w[1]);
        if left <= d && d > 0.0 {
            return w[0] + (w[1] - w[0]) * (left / d);
        }
        left -= d;
    }
    points.first().copied().unwrap_or_default()
}

/// The middle of all points.
fn mean(points: &[Point<Picture>]) -> Point<Picture> {
    let n = points.len().max(1) as f64;
    Point::new(points.iter().map(|p| p.x).sum::<f64>() / n, points.iter().map(|p| p.y).sum::<f64>() / n)
}

/// From the far end, which the other end shows, through the middle.
fn from_centre(c: Point<Picture>, e: Point<Picture>, map: &ViewMap) -> Option<Shape> {
    let (centre, end) = (real(c, map)?, real(e, map)?);
    let far = map.unplace(centre + (centre - end))?;
    let mut shape = along(vec![far, c, e], false);
    shape.label = mean(&[c, e]);
    Some(shape)
}

/// The line down the middle, and square to it from the end that shows to where the other must be.
fn from_line(a: Point<Picture>, b: Point<Picture>, c: Point<Picture>, map: &ViewMap) -> Option<Shape> {
    let (ra, rb, rc) = (real(a, map)?, real(b, map)?, real(c, map)?);
    let e = unit(rb - ra)?;
    let t = e.dot(rc - ra);
    let foot = ra + e * t;
    let middle = map.unplace(foot)?;
    let far = map.unplace(foot + (foot - rc))?;
    let mut shape = along(vec![far, middle, c], false);
    shape.label = mean(&[middle, c]);
    // The line is drawn on to the foot when that lies beyond its two points.
    let centre_line = match t / ra.distance(rb) {
        t if t < 0.0 => vec![middle, a, b],
        t if t > 1.0 => vec![a, b, middle],
        _ => vec![a, b],
    };
    shape.strokes.push(help(centre_line));
    Some(shape)
}

/// The arms, and a small arc between them.
fn angle(points: &[Point<Picture>], map: &ViewMap) -> Option<Shape> {
    let &[p, corner, q, ..] = points else { return None };
    let (rp, rc, rq) = (real(p, map)?, real(corner, map)?, real(q, map)?);
    let (a, b) = (unit(rp - rc)?, unit(rq - rc)?);
    let reach = ANGLE_REACH * rp.distance(rc).min(rq.distance(rc));
    let start = libm::atan2(a.y, a.x);
    let turn = libm::atan2(a.cross(b), a.dot(b));
    let arc = turned(rc, reach, start, turn, ROUND / 4, map)?;
    let label = arc.get(arc.len() / 2).copied()?;
    Some(Shape { strokes: vec![line(arc, false), help(vec![p, corner, q])], ends: Vec::new(), label })
}

/// The whole circle that lies nearest to the points.
fn circle(points: &[Point<Picture>], map: &ViewMap) -> Option<Shape> {
    let fit = fitted(&reals(points, map)?).ok()?;
    let mut ring = turned(fit.centre, fit.radius, 0.0, TAU, ROUND, map)?;
    ring.pop();
    let label = map.unplace(fit.centre)?;
    Some(Shape { strokes: vec![line(ring, true)], ends: Vec::new(), label })
}

/// The arc from the first point to the last, with its chord.
fn arc(points: &[Point<Picture>], map: &ViewMap) -> Option<Shape> {
    let real = reals(points, map)?;
    let fit = fitted(&real).ok()?;
    let (start, turn) = swept(&real, &fit)?;
    let pieces = ((turn.abs() / TAU * ROUND as f64 + 0.5) as usize).clamp(8, ROUND);
    let arc = turned(fit.centre, fit.radius, start, turn, pieces, map)?;
    let (ends, label) = (ends_of(&arc), halfway(&arc));
    let chord = help(vec![*arc.first()?, *arc.last()?]);
    Some(Shape { strokes: vec![line(arc, false), chord], ends, label })
}

/// `pieces` + 1 points of a circle on the real plane, from `start` on by `turn` (radians), on the picture.
fn turned(
    centre: Point<Real>,
    radius: f64,
    start: f64,
    turn: f64,
    pieces: usize,
    map: &ViewMap,
) -> Option<Vec<Point<Picture>>> {
    let at = |k: usize| {
        let t = start + turn * k as f64 / pieces as f64;
        map.unplace(centre + Vector::new(libm::cos(t), libm::sin(t)) * radius)
    };
    (0..=pieces).map(at).collect()
}

fn real(p: Point<Picture>, map: &ViewMap) -> Option<Point<Real>> {
    map.place(p).ok().map(|placed| placed.real)
}

fn reals(points: &[Point<Picture>], map: &ViewMap) -> Option<Vec<Point<Real>>> {
    points.iter().map(|p| real(*p, map)).collect()
}

#[cfg(test)]
mod tests {
    use super::super::trials::World;
    use super::*;

    const WORLDS: [World; 2] = [World::Flat, World::Slanted];

    fn drawn(world: World, kind: Kind, ends: Ends, points: &[[f64; 2]]) -> Shape {
        let seen: Vec<Point<Picture>> = points.iter().map(|p| world.seen(*p)).collect();
        shape(kind, ends, &seen, &world.true_map())
    }

    /// A place on the picture must be where the true place is seen, to a millionth of a px.
    fn check(world: World, got: Point<Picture>, truth: [f64; 2], what: &str) {
        let away = got.distance(world.seen(truth));
        assert!(away < 1e-6, "{world:?}: {what} is {away} px off");
    }

    #[test]
    fn a_circle_is_round_on_the_thing() {
        for world in WORLDS {
            let points = [[500.0, 300.0], [400.0, 400.0], [300.0, 300.0]];
            let shape = drawn(world, Kind::Circle, Ends::Between, &points);
            let [ring] = shape.strokes.as_slice() else { panic!("one ring") };
            assert!(ring.closed && ring.points.len() == ROUND && shape.ends.is_empty());
            let map = world.true_map();
            let centre = map.place(world.seen([400.0, 300.0])).expect("on the view").real;
            for p in &ring.points {
                let r = map.place(*p).expect("on the view").real.distance(centre);
                assert!((r - 100.0).abs() < 1e-6, "{world:?}: {r}");
            }
            check(world, shape.label, [400.0, 300.0], "the label, at the centre");
        }
    }

    #[test]
    fn what_is_hidden_is_drawn_where_it_must_be() {
        for world in WORLDS {
            let shape = drawn(world, Kind::Length, Ends::FromCentre, &[[300.0, 200.0], [350.0, 240.0]]);
            check(world, shape.ends[0].at, [250.0, 160.0], "the far end from a centre");
            check(world, shape.ends[1].at, [350.0, 240.0], "the near end from a centre");
            // A line straight down at x = 300; the end at 380 shows the other at 220, the foot lies below b.
            let points = [[300.0, 100.0], [300.0, 200.0], [380.0, 420.0]];
            let shape = drawn(world, Kind::Length, Ends::FromLine, &points);
            check(world, shape.ends[0].at, [220.0, 420.0], "the far end from a line");
            let help = shape.strokes.iter().find(|s| s.role == Role::Help).expect("the line is drawn");
            check(world, help.points[2], [300.0, 420.0], "the line drawn on to the foot");
        }
    }

    #[test]
    fn an_arc_runs_through_its_points_and_an_angle_lies_between_its_arms() {
        for world in WORLDS {
            // Half a circle about (400, 300), passing below.
            let points = [[300.0, 300.0], [400.0, 400.0], [500.0, 300.0]];
            let shape = drawn(world, Kind::Arc, Ends::Between, &points);
            let arc = &shape.strokes[0].points;
            check(world, arc[0], points[0], "the arc's first end");
            check(world, arc[arc.len() / 2], points[1], "the arc's middle");
            check(world, arc[arc.len() - 1], points[2], "the arc's last end");
            let points = [[500.0, 300.0], [400.0, 300.0], [400.0, 500.0]];
            let shape = drawn(world, Kind::Angle, Ends::Between, &points);
            let half = ANGLE_REACH * 100.0 * libm::sqrt(0.5);
            check(world, shape.label, [400.0 + half, 300.0 + half], "halfway between the arms");
        }
    }

    #[test]
    fn what_makes_no_mark_yet_is_still_drawn() {
        for (kind, points, strokes) in [
            (Kind::Length, vec![], 0),
            (Kind::Length, vec![[100.0, 100.0]], 0),
            (Kind::Circle, vec![[100.0, 100.0], [200.0, 100.0]], 1),
            (Kind::Circle, vec![[100.0, 100.0], [200.0, 100.0], [300.0, 100.0]], 1),
            (Kind::Arc, vec![[100.0, 100.0]; 3], 1),
            (Kind::Angle, vec![[100.0, 100.0]; 3], 1),
            (Kind::Outline, vec![[100.0, 100.0], [f64::NAN, 100.0], [300.0, 100.0]], 1),
        ] {
            let shape = drawn(World::Flat, kind, Ends::Between, &points);
            assert_eq!(shape.strokes.len(), strokes, "{kind:?} of {points:?}");
            assert!(shape.label.is_finite());
        }
    }
}
