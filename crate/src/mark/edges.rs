//! What two straight edges make: the distance between them, or the corner where they cross. Each edge is two places
//! on it.

use super::ground::{Found, Ground};
use super::straight::{same_place, unit};
use super::{Findings, Quantity};
use crate::plane::{Line, Point, Real, Vector};
use crate::words::Say;

/// Edges that are nearer to parallel than this have no corner worth the name, radians.
const ALIKE: f64 = 0.02;
/// A step for slopes, as a part of the size of the whole: half of f64's figures are left for what it does.
const STEP: f64 = 1e-6;

/// How far apart two edges are, halfway along, square to the mean of their directions; and the angle between them.
///
/// # Errors
/// `mark.same-place` when an edge's two places coincide, `mark.not-alike` when the edges run far from parallel.
pub(crate) fn gap(ground: &Ground) -> Result<Findings, Say> {
    let four = four(ground)?;
    let opening = opening(&four).ok_or_else(|| same_place(0, 1))?;
    if opening > std::f64::consts::FRAC_PI_4 {
        return Err(Say::new("mark.not-alike"));
    }
    let apart = apart(&four).ok_or_else(|| same_place(0, 1))?;
    let found = vec![
        Found::new(Quantity::Length, apart, slope(&four, self::apart)),
        Found::new(Quantity::Angle, opening, slope(&four, self::opening)),
    ];
    let mut flags = Vec::new();
    if opening > (3.0 * ground.click_u(&found[1])).max(0.003) {
        flags.push(Say::new("mark.not-parallel"));
    }
    if apart < 3.0 * ground.click_u(&found[0]) {
        flags.push(Say::new("mark.within-error"));
    }
    Ok(Findings { found, flags, place: None })
}

/// Where two edges cross, and the angle between them.
///
/// # Errors
/// `mark.same-place` when an edge's two places coincide, `mark.no-crossing` when the edges run nearly parallel.
pub(crate) fn crossing(ground: &Ground) -> Result<Findings, Say> {
    let four = four(ground)?;
    let opening = opening(&four).ok_or_else(|| same_place(0, 1))?;
    let at = crossed(&four).filter(|_| opening > ALIKE).ok_or_else(|| Say::new("mark.no-crossing"))?;
    let found = vec![
        Found::new(Quantity::PlaceAcross, at.x, slope(&four, |p| crossed(p).map(|c| c.x))),
        Found::new(Quantity::PlaceDown, at.y, slope(&four, |p| crossed(p).map(|c| c.y))),
        Found::new(Quantity::Angle, opening, slope(&four, self::opening)),
    ];
    Ok(Findings { found, flags: Vec::new(), place: ground.map.unplace(at) })
}

fn four(ground: &Ground) -> Result<[Point<Real>; 4], Say> {
    <[Point<Real>; 4]>::try_from(ground.real.as_slice())
        .map_err(|_| Say::new("mark.too-few").count("need", 4).count("have", ground.real.len()))
}

/// The two edges as lines.
fn lines(four: &[Point<Real>; 4]) -> Option<[Line<Real>; 2]> {
    let [a, b, c, d] = *four;
    Some([Line::through(a, b)?, Line::through(c, d)?])
}

/// The angle between the edges, 0 to a right angle.
fn opening(four: &[Point<Real>; 4]) -> Option<f64> {
    let [one, other] = lines(four)?;
    Some(one.angle_to(&other))
}

/// The distance of the edges, as [`gap`] says.
fn apart(four: &[Point<Real>; 4]) -> Option<f64> {
    let [one, other] = lines(four)?;
    let (e, f) = (one.along, other.along);
    let along = unit(if e.dot(f) < 0.0 { e + f * -1.0 } else { e + f })?;
    let n = Vector::<Real>::new(-along.y, along.x);
    let [a, b, c, d] = *four;
    let middle = Point::<Real>::new((a.x + b.x + c.x + d.x) / 4.0, (a.y + b.y + c.y + d.y) / 4.0);
    let reach = |on: Point<Real>, way: Vector<Real>| (on - middle).cross(way) / n.cross(way);
    let gap = (reach(c, f) - reach(a, e)).abs();
    gap.is_finite().then_some(gap)
}

/// Where the lines through the first two and the last two places cross.
fn crossed(four: &[Point<Real>; 4]) -> Option<Point<Real>> {
    let [one, other] = lines(four)?;
    one.crossing(&other)
}

/// The slope of `f` by each coordinate, by central differences.
fn slope(four: &[Point<Real>; 4], f: impl Fn(&[Point<Real>; 4]) -> Option<f64>) -> Vec<(usize, [f64; 2])> {
    let size = four.iter().map(|p| p.distance(four[0])).fold(0.0, f64::max);
    let step = STEP * size;
    let by = |i: usize, way: Vector<Real>| {
        let moved = |sign: f64| {
            let mut p = *four;
            p[i] = p[i] + way * (sign * step);
            f(&p)
        };
        match (moved(1.0), moved(-1.0)) {
            (Some(ahead), Some(behind)) => (ahead - behind) / (2.0 * step),
            _ => 0.0,
        }
    };
    (0..4).map(|i| (i, [by(i, Vector::new(1.0, 0.0)), by(i, Vector::new(0.0, 1.0))])).collect()
}
