//! The centre line of an outline, how symmetrical the outline is about it, and its halves.
//!
//! # References
//! A start from the axes of the second moments, which a symmetric sheet's axis is one of; then least squares of the
//! distances between the outline and its mirror image, foot by foot: Besl & McKay, IEEE PAMI 14 (1992) 239. Uncertainty
//! from sums over stretches, so that neighbours may err together: Liang & Zeger, Biometrika 73 (1986) 13.

use super::border::Border;
use super::{Curve, Line, Point, Space, Vector};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// Places looked at all round.
const PLACES: usize = 360;

/// Stretches taken to err independently.
const STRETCHES: usize = 24;

/// An outline held against its own mirror image.
#[derive(Clone, Debug, PartialEq)]
pub struct Symmetry<S: Space> {
    /// The centre line; its `at` is the foot of the outline's middle.
    pub axis: Line<S>,
    /// How far, root mean square, one half lies from the other's mirror image, in the space's unit.
    pub rms: f64,
    /// The greatest such distance.
    pub greatest: f64,
    /// Covariance of the axis' shift square to itself (at `at`, in the unit squared), of shift and turn, and of its turn
    /// (rad²), as what is left over shows them.
    pub cov: [f64; 3],
}

/// Which half to take.
#[derive(Copy, Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Half {
    /// What lies to the left of the axis as seen along it.
    Left,
    /// What lies to the right.
    Right,
    /// Half way between the one and the other's mirror image.
    Mean,
}

/// The line about which an outline is most nearly symmetrical.
///
/// # Errors
/// `plane.outline-…` for what is no outline (see [`super::fit()`]).
pub fn mirror<S: Space>(ring: &[Point<S>]) -> Result<Symmetry<S>, Say> {
    let border = Border::new(ring, true, f64::INFINITY)?;
    let even = spaced(&border.points, &border.run, border.length(), PLACES);
    let outline = Curve::polygon(&even);
    let middle = super::moments(&even).map_or(even[0], |m| m.centroid);
    // The axes of the moments first; a nearly round outline has any, so others all round are tried too.
    let main = main_axis(&even, middle);
    let quarter = std::f64::consts::FRAC_PI_2;
    let turns = (0..12).map(|k| main + quarter * f64::from(k) / 6.0);
    let coarse: Vec<Point<S>> = even.iter().step_by(6).copied().collect();
    let rough = Curve::polygon(&even.iter().step_by(3).copied().collect::<Vec<_>>());
    let mut tried: Vec<(f64, Line<S>)> = turns
        .map(|a| Line { at: middle, along: Vector::new(libm::cos(a), libm::sin(a)) })
        .map(|l| refined(&l, &coarse, &rough, 3))
        .collect();
    crate::order::sort_by(&mut tried, |a, b| a.0.total_cmp(&b.0));
    let best = tried.iter().take(2).map(|(_, l)| refined(l, &even, &outline, 12));
    let (_, axis) =
        best.reduce(|a, b| if b.0 < a.0 { b } else { a }).ok_or_else(|| Say::new("plane.outline-few"))?;
    let axis = Line { at: axis.foot(middle), ..axis };
    // Corners fall between the places looked at: what is told is told by the whole outline.
    let whole = Curve::polygon(&border.points);
    let (_, axis) = refined(&axis, &even, &whole, 1);
    Ok(told(Line { at: axis.foot(middle), ..axis }, &even, &whole))
}

/// The whole outline that a half and its mirror image make, from the axis' near end on.
///
/// # Errors
/// `plane.mirror-apart` when the axis doesn't cross the outline; `plane.outline-…` for what is no outline.
pub fn symmetrical<S: Space>(ring: &[Point<S>], axis: &Line<S>, half: Half) -> Result<Vec<Point<S>>, Say> {
    let border = Border::new(ring, true, f64::INFINITY)?;
    let [left, right] = halves(&border.points, axis).ok_or_else(|| Say::new("plane.mirror-apart"))?;
    let one = match half {
        Half::Left => left,
        Half::Right => right.iter().rev().map(|p| axis.mirrored(*p)).collect(),
        Half::Mean => {
            let other: Vec<Point<S>> = right.iter().rev().map(|p| axis.mirrored(*p)).collect();
            mean(&left, &other)
        }
    };
    let last = one.len().saturating_sub(1);
    let mut whole: Vec<Point<S>> = Vec::with_capacity(2 * one.len());
    for (i, p) in one.iter().enumerate() {
        // The ends stand on the axis; what strays over it is brought back to it.
        let over = i == 0 || i == last || axis.distance(*p) > 0.0;
        whole.push(if over { axis.foot(*p) } else { *p });
    }
    let back: Vec<Point<S>> = whole.iter().skip(1).rev().skip(1).map(|p| axis.mirrored(*p)).collect();
    whole.extend(back);
    Ok(whole)
}

/// `count` places evenly apart along points whose runs are known.
fn spaced<S: Space>(points: &[Point<S>], run: &[f64], length: f64, count: usize) -> Vec<Point<S>> {
    let (n, mut i) = (points.len(), 0);
    let place = |k: usize| {
        let at = length * k as f64 / count as f64;
        while i + 1 < n && run[i + 1] <= at {
            i += 1;
        }
        let long = run.get(i + 1).copied().unwrap_or(length) - run[i];
        let next = points[(i + 1) % n];
        if long > 0.0 { points[i] + (next - points[i]) * ((at - run[i]) / long).min(1.0) } else { points[i] }
    };
    (0..count).map(place).collect()
}

/// The angle of the longer axis of the outline's second moments.
fn main_axis<S: Space>(points: &[Point<S>], middle: Point<S>) -> f64 {
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let d = *p - middle;
        (xx, xy, yy) = (xx + d.x * d.x, xy + d.x * d.y, yy + d.y * d.y);
    }
    0.5 * libm::atan2(2.0 * xy, xx - yy)
}

/// Of one place: how far its mirror image lies outside the outline, how that grows with the axis' shift and turn, and how far
/// it lies from the outline at all.
type Row = (f64, [f64; 2], f64);

/// All places held against the outline.
fn rows<S: Space>(axis: &Line<S>, points: &[Point<S>], outline: &Curve<S>) -> Vec<Row> {
    let across = Vector::new(-axis.along.y, axis.along.x);
    let row = |p: &Point<S>| {
        let image = axis.mirrored(*p);
        let (place, far) = outline.nearest(image)?;
        let cubic = outline.cubic(place.segment)?;
        let along = cubic.tangent(place.t)?;
        let normal = Vector::new(-along.y, along.x);
        // A shift by e moves the image by 2e across; a turn by φ turns it by 2φ about the axis' own point.
        let arm = image - axis.at;
        let turned = Vector::new(-arm.y, arm.x) * 2.0;
        Some((normal.dot(image - cubic.at(place.t)), [normal.dot(across) * 2.0, normal.dot(turned)], far))
    };
    points.iter().filter_map(row).collect()
}

/// The axis moved until the distances are least, in at most `turns` turns, and their root mean square.
fn refined<S: Space>(
    start: &Line<S>,
    points: &[Point<S>],
    outline: &Curve<S>,
    turns: usize,
) -> (f64, Line<S>) {
    let mut axis = *start;
    let mut found = rows(&axis, points, outline);
    let mut cost = spread(&found);
    for _ in 0..turns {
        let (mut a, mut b) = ([0.0; 3], [0.0; 2]);
        for (off, by, _) in &found {
            a = [a[0] + by[0] * by[0], a[1] + by[0] * by[1], a[2] + by[1] * by[1]];
            b = [b[0] - by[0] * off, b[1] - by[1] * off];
        }
        let det = a[0] * a[2] - a[1] * a[1];
        if !(det > 1e-12 * a[0] * a[2]) {
            break;
        }
        let (shift, turn) = ((b[0] * a[2] - b[1] * a[1]) / det, (b[1] * a[0] - b[0] * a[1]) / det);
        let turn = turn.clamp(-0.2, 0.2);
        let (c, s) = (libm::cos(turn), libm::sin(turn));
        let u = axis.along;
        let moved = Line {
            at: axis.at + Vector::new(-u.y, u.x) * shift,
            along: Vector::new(c * u.x - s * u.y, s * u.x + c * u.y),
        };
        let next = rows(&moved, points, outline);
        let new = spread(&next);
        if !(new < cost) {
            break;
        }
        let done = new > cost * (1.0 - 1e-9);
        (axis, cost, found) = (moved, new, next);
        if done {
            break;
        }
    }
    (cost, axis)
}

/// The root mean square distance.
fn spread(rows: &[Row]) -> f64 {
    libm::sqrt(rows.iter().map(|r| r.2 * r.2).sum::<f64>() / (rows.len() as f64).max(1.0))
}

/// What is left over, and the axis' covariance by it: the sandwich A⁻¹·(Σ over stretches g·gᵀ)·A⁻¹, twice, since every
/// difference between the halves is met once from either side.
fn told<S: Space>(axis: Line<S>, points: &[Point<S>], outline: &Curve<S>) -> Symmetry<S> {
    let rows = rows(&axis, points, outline);
    let (mut a, mut m) = ([0.0; 3], [0.0; 3]);
    for stretch in rows.chunks(rows.len().div_ceil(STRETCHES).max(1)) {
        let mut g = [0.0; 2];
        for (off, by, _) in stretch {
            a = [a[0] + by[0] * by[0], a[1] + by[0] * by[1], a[2] + by[1] * by[1]];
            g = [g[0] + by[0] * off, g[1] + by[1] * off];
        }
        m = [m[0] + g[0] * g[0], m[1] + g[0] * g[1], m[2] + g[1] * g[1]];
    }
    let det = a[0] * a[2] - a[1] * a[1];
    let inv = [a[2] / det, -a[1] / det, a[0] / det];
    let quad = |u: [f64; 2], v: [f64; 2]| {
        2.0 * (u[0] * (m[0] * v[0] + m[1] * v[1]) + u[1] * (m[1] * v[0] + m[2] * v[1]))
    };
    let (first, second) = ([inv[0], inv[1]], [inv[1], inv[2]]);
    let cov = [quad(first, first), quad(first, second), quad(second, second)];
    let cov = if cov.iter().all(|c| c.is_finite()) { cov } else { [f64::INFINITY, 0.0, f64::INFINITY] };
    let greatest = rows.iter().map(|r| r.2).fold(0.0, f64::max);
    Symmetry { axis, rms: spread(&rows), greatest, cov }
}

/// The border to the left of the axis and to its right, each from axis to axis in the border's own order; the left one
/// first runs on from where the right one ends.
fn halves<S: Space>(points: &[Point<S>], axis: &Line<S>) -> Option<[Vec<Point<S>>; 2]> {
    let n = points.len();
    let off = |i: usize| axis.distance(points[i % n]);
    let crossings: Vec<usize> = (0..n).filter(|&i| (off(i) > 0.0) != (off(i + 1) > 0.0)).collect();
    let at = |i: usize| {
        let (p, q) = (points[i], points[(i + 1) % n]);
        let t = off(i) / (off(i) - off(i + 1));
        axis.foot(p + (q - p) * t)
    };
    let chain = |from: usize, to: usize| {
        let count = (to + n - from) % n;
        let mut chain = vec![at(from)];
        chain.extend((1..=count).map(|k| points[(from + k) % n]));
        chain.push(at(to));
        chain
    };
    // A symmetrical outline crosses its axis twice; noise there may make more of it. The two that lie farthest apart along the
    // border are taken.
    let mut best: Option<(usize, usize, usize)> = None;
    for (k, &i) in crossings.iter().enumerate() {
        for &j in &crossings[k + 1..] {
            let even = (j - i).min(n - (j - i));
            if best.is_none_or(|b| even > b.2) {
                best = Some((i, j, even));
            }
        }
    }
    let (i, j, _) = best?;
    let (one, other) = (chain(i, j), chain(j, i));
    let side = |c: &[Point<S>]| c.iter().map(|p| axis.distance(*p)).sum::<f64>();
    Some(if side(&one) < side(&other) { [one, other] } else { [other, one] })
}

/// Half way between two chains with the same ends, foot by foot.
fn mean<S: Space>(one: &[Point<S>], other: &[Point<S>]) -> Vec<Point<S>> {
    let outline = Curve::polygon(other);
    let middle = |p: &Point<S>| {
        let foot = outline.nearest(*p).and_then(|(place, _)| outline.at(place));
        foot.map_or(*p, |f| *p + (f - *p) * 0.5)
    };
    one.iter().map(middle).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Real, signed_area};
    use std::f64::consts::{PI, TAU};

    type P = Point<Real>;

    /// A pear, symmetrical about the line through (40, 30) at `turn`, wider at one end, with a lump of `lump` on one side.
    fn pear(turn: f64, lump: f64) -> Vec<P> {
        let (c, s) = (libm::cos(turn), libm::sin(turn));
        let at = |i: u32| {
            let t = TAU * (f64::from(i) + 0.5) / 1200.0;
            let r = 100.0 + 30.0 * libm::cos(t) + 12.0 * libm::cos(3.0 * t);
            let r = r + if t < PI { lump * libm::exp(-40.0 * (t - 1.5) * (t - 1.5)) } else { 0.0 };
            let (x, y) = (r * libm::cos(t), 0.6 * r * libm::sin(t));
            P::new(40.0 + c * x - s * y, 30.0 + s * x + c * y)
        };
        (0..1200).map(at).collect()
    }

    /// The axis by which the pear was drawn is found, wherever it lies.
    #[test]
    fn the_axis_of_a_pear() {
        for turn in [0.0, 0.3, 1.2, 1.57, 2.5, 3.0] {
            let found = mirror(&pear(turn, 0.0)).unwrap();
            let along = Vector::new(libm::cos(turn), libm::sin(turn));
            assert!(found.axis.along.cross(along).abs() < 1e-4, "{turn}: {:?}", found.axis);
            assert!(found.axis.distance(P::new(40.0, 30.0)).abs() < 1e-2);
            assert!(found.rms < 0.02 && found.greatest < 0.05, "{} {}", found.rms, found.greatest);
        }
        // A rectangle's middle lines; a circle has any.
        let oblong = [[0.0, 0.0], [80.0, 0.0], [80.0, 30.0], [0.0, 30.0]].map(P::from);
        let found = mirror(&oblong).unwrap();
        assert!(found.axis.distance(P::new(40.0, 15.0)).abs() < 1e-3 && found.rms < 1e-3, "{found:?}");
    }

    /// A lump on one side shows in the distances and widens the axis' own doubt.
    #[test]
    fn a_lump_is_told() {
        let plain = mirror(&pear(0.4, 0.0)).unwrap();
        let lumpy = mirror(&pear(0.4, 6.0)).unwrap();
        assert!(lumpy.greatest > 2.0 && lumpy.greatest < 6.0, "{}", lumpy.greatest);
        assert!(lumpy.cov[0] > 100.0 * plain.cov[0]);
    }

    /// The stated doubt of the axis against the spread over noisy pears.
    #[test]
    fn the_stated_doubt_is_the_spread() {
        let mut state = 123_456_789_u64;
        let mut even = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1_u64 << 53) as f64
        };
        let (mut shifts, mut turns, mut stated) = (0.0, 0.0, [0.0; 2]);
        let trials = 60;
        for _ in 0..trials {
            let noisy: Vec<P> = pear(0.0, 0.0)
                .into_iter()
                .step_by(4)
                .map(|p| p + Vector::new(even() + even() - 1.0, even() + even() - 1.0) * 0.3)
                .collect();
            let s = mirror(&noisy).unwrap();
            let shift = s.axis.distance(s.axis.foot(s.axis.at)) + (s.axis.at.y - 30.0);
            let turn = libm::atan(s.axis.along.y / s.axis.along.x);
            shifts += shift * shift;
            turns += turn * turn;
            stated = [stated[0] + s.cov[0], stated[1] + s.cov[2]];
        }
        let ratios = [libm::sqrt(shifts / stated[0]), libm::sqrt(turns / stated[1])];
        println!("spread over stated: {ratios:?}");
        assert!(ratios.iter().all(|r| (0.6..1.5).contains(r)), "{ratios:?}");
    }

    /// Each half and its mirror image: symmetrical, of twice the half's area.
    #[test]
    fn halves_and_the_mean() {
        let ring = pear(0.4, 6.0);
        let axis = Line { at: P::new(40.0, 30.0), along: Vector::new(libm::cos(0.4), libm::sin(0.4)) };
        let area = |half| signed_area(&symmetrical(&ring, &axis, half).unwrap()).abs();
        let (left, right, mean) = (area(Half::Left), area(Half::Right), area(Half::Mean));
        let clean = signed_area(&pear(0.4, 0.0)).abs();
        assert!((left - clean).abs() < 1.0, "the left is the side without the lump: {left} {clean}");
        assert!((left + right - 2.0 * signed_area(&ring).abs()).abs() < 1e-6);
        assert!(
            (mean - (left + right) / 2.0).abs() < 0.01 * (right - left).abs() + 1.0,
            "{mean} {left} {right}"
        );
        for half in [Half::Left, Half::Right, Half::Mean] {
            let whole = symmetrical(&ring, &axis, half).unwrap();
            let outline = Curve::polygon(&whole);
            let most =
                whole.iter().map(|p| outline.nearest(axis.mirrored(*p)).unwrap().1).fold(0.0, f64::max);
            assert!(most < 1e-9, "{most}");
        }
        let beside = Line { at: P::new(900.0, 900.0), ..axis };
        assert_eq!(symmetrical(&ring, &beside, Half::Left).unwrap_err().key, "plane.mirror-apart");
        assert!(mirror::<Real>(&[]).is_err() && mirror(&[P::new(f64::NAN, 0.0); 5]).is_err());
    }
}
