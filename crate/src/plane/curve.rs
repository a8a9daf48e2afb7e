//! Closed outlines of cubic pieces.

use super::bezier::{Cubic, integral};
use super::{Homography, Moments, Point, Space, Vector};
use serde::{Deserialize, Serialize};

/// A closed outline: each piece begins where the one before it ends, the first where the last ends.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(bound = "", transparent)]
pub struct Curve<S: Space> {
    /// In order round.
    pub segments: Vec<Segment<S>>,
}

/// One piece of a [`Curve`], and the knot at its end.
#[derive(Copy, Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(bound = "")]
pub struct Segment<S: Space> {
    /// What it leaves its first point towards.
    pub c1: Point<S>,
    /// What it comes to its last point from.
    pub c2: Point<S>,
    /// The knot where it ends.
    pub p: Point<S>,
    /// The outline may turn sharply there.
    #[serde(default, skip_serializing_if = "is_false")]
    pub corner: bool,
    /// The piece is straight: both control points stand on it, a third of the way from either end.
    #[serde(default, skip_serializing_if = "is_false")]
    pub straight: bool,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde calls it so")]
fn is_false(b: &bool) -> bool {
    !b
}

/// A place on a [`Curve`].
#[derive(Copy, Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Which piece.
    pub segment: usize,
    /// Where on it, 0 to 1.
    pub t: f64,
}

impl<S: Space> Segment<S> {
    /// The straight piece from `a` to a corner at `b`.
    pub fn straight(a: Point<S>, b: Point<S>) -> Self {
        Segment { corner: true, straight: true, ..Segment::from(Cubic::straight(a, b)) }
    }
}

impl<S: Space> From<Cubic<S>> for Segment<S> {
    fn from(Cubic([_, c1, c2, p]): Cubic<S>) -> Self {
        Segment { c1, c2, p, corner: false, straight: false }
    }
}

impl<S: Space> Curve<S> {
    /// Straight from point to point, each a corner.
    pub fn polygon(points: &[Point<S>]) -> Self {
        let n = points.len();
        Curve { segments: (0..n).map(|i| Segment::straight(points[(i + n - 1) % n], points[i])).collect() }
    }

    /// Where piece `i` begins.
    pub fn start(&self, i: usize) -> Option<Point<S>> {
        let before = if i == 0 { self.segments.last() } else { self.segments.get(i - 1) };
        before.map(|s| s.p)
    }

    /// Piece `i`.
    pub fn cubic(&self, i: usize) -> Option<Cubic<S>> {
        let s = self.segments.get(i)?;
        Some(Cubic([self.start(i)?, s.c1, s.c2, s.p]))
    }

    /// All pieces, in order.
    pub fn cubics(&self) -> impl Iterator<Item = Cubic<S>> + '_ {
        (0..self.segments.len()).filter_map(|i| self.cubic(i))
    }

    /// Every number in it can be reckoned with.
    pub fn is_finite(&self) -> bool {
        self.segments.iter().all(|s| s.c1.is_finite() && s.c2.is_finite() && s.p.is_finite())
    }

    /// Where `place` is.
    pub fn at(&self, place: Place) -> Option<Point<S>> {
        Some(self.cubic(place.segment)?.at(place.t))
    }

    /// The length of the outline, in the space's unit.
    pub fn length(&self) -> f64 {
        self.cubics().map(|c| c.length()).sum()
    }

    /// The area inside, in closed form, in the space's unit squared; signed as [`super::signed_area`].
    pub fn signed_area(&self) -> f64 {
        let Some(origin) = self.start(0) else { return 0.0 };
        self.cubics().map(|c| c.twice_area(origin)).sum::<f64>() / 2.0
    }

    /// Area and balance point; `None` when it encloses nothing.
    ///
    /// # References
    /// Green's theorem: A·x̄ = ½∮x² dy, A·ȳ = −½∮y² dx; polynomials of degree 8, which Gauss's rule sums exactly.
    pub fn moments(&self) -> Option<Moments<S>> {
        let origin = self.start(0)?;
        let area = self.signed_area();
        let mut sum = Vector::new(0.0, 0.0);
        for c in self.cubics() {
            let of = |f: &dyn Fn(Vector<S>, Vector<S>) -> f64| {
                integral(0.0, 1.0, |t| f(c.at(t) - origin, c.velocity(t)))
            };
            sum = sum + Vector::new(of(&|p, v| p.x * p.x * v.y), of(&|p, v| -p.y * p.y * v.x));
        }
        let [l, t, r, b] = self.bounds()?;
        let centroid = origin + sum * (0.5 / area);
        (area.abs() > 1e-12 * (r - l) * (b - t) && centroid.is_finite()).then_some(Moments { area, centroid })
    }

    /// Left, top, right, bottom; `None` without pieces.
    pub fn bounds(&self) -> Option<[f64; 4]> {
        self.cubics()
            .map(|c| c.bounds())
            .reduce(|a, b| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])])
    }

    /// Points that joined by straight lines stay within `tolerance` of the outline, the last joining the first.
    ///
    /// # Units
    /// `tolerance` in the space's unit, > 0; a thousand points a piece at the most.
    pub fn flatten(&self, tolerance: f64) -> Vec<Point<S>> {
        let mut points = Vec::new();
        for (i, c) in self.cubics().enumerate() {
            let straight = self.segments.get(i).is_some_and(|s| s.straight);
            let n = if straight { 1 } else { c.steps(tolerance) };
            points.extend((1..=n).map(|k| c.at(k as f64 / n as f64)));
        }
        points
    }

    /// The place nearest to `p` and its distance, in the space's unit; `None` without pieces.
    pub fn nearest(&self, p: Point<S>) -> Option<(Place, f64)> {
        let mut best: Option<(Place, f64)> = None;
        for (i, c) in self.cubics().enumerate() {
            let straight = self.segments.get(i).is_some_and(|s| s.straight);
            // A piece lies within the box of its four points: no need to look where the box is farther off.
            if !straight && best.is_some_and(|b| b.1 <= off_box(&c, p)) {
                continue;
            }
            let (t, far) = if straight { nearest_straight(&c, p) } else { c.nearest(p) };
            if best.is_none_or(|b| far < b.1) {
                best = Some((Place { segment: i, t }, far));
            }
        }
        best
    }

    /// The same outline the other way round.
    pub fn reversed(&self) -> Self {
        let n = self.segments.len();
        let segments = (0..n).rev().filter_map(|i| {
            let (s, before) = (self.segments.get(i)?, self.segments.get((i + n - 1) % n)?);
            Some(Segment { c1: s.c2, c2: s.c1, p: before.p, corner: before.corner, straight: s.straight })
        });
        Curve { segments: segments.collect() }
    }

    /// The outline `out` farther outwards, corners sharp. Each piece is the cubic with the ends and end velocities of its
    /// parallel: near enough for a shift that is small against its bends, such as half a drawn line's width.
    ///
    /// # Units
    /// `out` in the space's unit; inwards where it is negative.
    pub fn offset(&self, out: f64) -> Self {
        let turn = if self.signed_area() >= 0.0 { out } else { -out };
        let n = self.segments.len();
        let normal = |v: Option<Vector<S>>| v.map_or(Vector::new(0.0, 0.0), |v| Vector::new(v.y, -v.x));
        let mut moved = self.clone();
        for k in 0..n {
            let ends = (self.cubic(k), self.cubic((k + 1) % n));
            let (Some(before), Some(after)) = ends else { continue };
            let (a, b) = (normal(before.tangent(1.0)), normal(after.tangent(0.0)));
            // Where the two shifted sides meet; where it turns nearly back, not out of all proportion.
            moved.segments[k].p = self.segments[k].p + (a + b) * (turn / (1.0 + a.dot(b)).max(0.2));
        }
        for k in 0..n {
            let (Some(old), Some(start)) = (self.cubic(k), moved.start(k)) else { continue };
            let end = moved.segments[k].p;
            let s = &mut moved.segments[k];
            if s.straight {
                let line = Cubic::straight(start, end);
                (s.c1, s.c2) = (line.0[1], line.0[2]);
                continue;
            }
            // Along a parallel the way grows by the shift times the curvature.
            let grown = |t: f64| {
                let by = 1.0 + turn * old.curvature(t);
                if by.is_finite() { by.clamp(0.1, 10.0) } else { 1.0 }
            };
            s.c1 = start + (old.0[1] - old.0[0]) * grown(0.0);
            s.c2 = end + (old.0[2] - old.0[3]) * grown(1.0);
        }
        moved
    }

    /// The outline as `map` shows it, within `tolerance`; `None` when part of it lies on or beyond the horizon.
    ///
    /// A map that keeps parallels takes cubics to cubics, and the image is exact. Another makes them rational:
    /// each piece is then the cubic with the image's ends and end velocities, halved until it is near enough.
    ///
    /// # Units
    /// `tolerance` in the unit of `B`, > 0.
    ///
    /// # References
    /// Bézier curves under projection: Farin, Curves and Surfaces for CAGD, 5th ed., ch. 13 (memory).
    pub fn through<B: Space>(&self, map: &Homography<S, B>, tolerance: f64) -> Option<Curve<B>> {
        let mut segments = Vec::new();
        for (i, c) in self.cubics().enumerate() {
            let whole = self.segments.get(i)?;
            if whole.straight {
                let line = Cubic::straight(map.apply(c.0[0])?, map.apply(c.0[3])?);
                segments.push(Segment { corner: whole.corner, straight: true, ..Segment::from(line) });
                continue;
            }
            let mut open = vec![(c, 0)];
            while let Some((piece, depth)) = open.pop() {
                let image = shown(&piece, map)?;
                let near = |t: f64| Some(map.apply(piece.at(t))?.distance(image.at(t)) <= tolerance);
                if depth < 8 && !(near(0.25)? && near(0.5)? && near(0.75)?) {
                    let [first, last] = piece.split(0.5);
                    open.extend([(last, depth + 1), (first, depth + 1)]);
                } else {
                    segments.push(image.into());
                }
            }
            if let Some(last) = segments.last_mut() {
                last.corner = whole.corner;
            }
        }
        Some(Curve { segments })
    }
}

/// How far `p` is from the box of the piece's four points.
fn off_box<S: Space>(c: &Cubic<S>, p: Point<S>) -> f64 {
    let off = |get: fn(Point<S>) -> f64| {
        let (low, high) =
            c.0.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), q| (l.min(get(*q)), h.max(get(*q))));
        (low - get(p)).max(get(p) - high).max(0.0)
    };
    libm::hypot(off(|q| q.x), off(|q| q.y))
}

/// As [`Cubic::nearest`], for a piece run through evenly from end to end.
fn nearest_straight<S: Space>(c: &Cubic<S>, p: Point<S>) -> (f64, f64) {
    let [a, _, _, b] = c.0;
    let step = b - a;
    let t = ((p - a).dot(step) / step.dot(step)).clamp(0.0, 1.0);
    let t = if t.is_finite() { t } else { 0.0 };
    (t, p.distance(a + step * t))
}

/// The cubic whose ends and end velocities are those of the piece's image.
fn shown<A: Space, B: Space>(piece: &Cubic<A>, map: &Homography<A, B>) -> Option<Cubic<B>> {
    let [a, b, c, d] = piece.0;
    let moved = |at: Point<A>, step: Vector<A>| {
        let j = map.jacobian(at)?;
        let step = Vector::new(j[0][0] * step.x + j[0][1] * step.y, j[1][0] * step.x + j[1][1] * step.y);
        Some(map.apply(at)? + step)
    };
    Some(Cubic([map.apply(a)?, moved(a, b - a)?, moved(d, c - d)?, map.apply(d)?]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Finished, Real};
    use kurbo::{ParamCurveNearest, Shape};
    use std::f64::consts::{PI, TAU};

    /// An ellipse of `n` arcs, each with the handles 4/3·tan(θ/4) of a circle's.
    fn ellipse(a: f64, b: f64, n: u32) -> Curve<Real> {
        let (step, from) = (TAU / f64::from(n), Point::new(30.0, -20.0));
        let k = 4.0 / 3.0 * libm::tan(step / 4.0);
        let on = |t: f64| from + Vector::new(a * libm::cos(t), b * libm::sin(t));
        let along = |t: f64| Vector::new(-a * libm::sin(t), b * libm::cos(t)) * k;
        let arc = |i: u32| {
            let (t, u) = (step * f64::from(i), step * f64::from(i + 1));
            Segment { c1: on(t) + along(t), c2: on(u) + along(u) * -1.0, p: on(u), ..Segment::default() }
        };
        Curve { segments: (0..n).map(arc).collect() }
    }

    fn path(c: &Curve<Real>) -> kurbo::BezPath {
        let k = |p: Point<Real>| kurbo::Point::new(p.x, p.y);
        let mut path = kurbo::BezPath::new();
        path.move_to(k(c.start(0).unwrap()));
        for s in &c.segments {
            path.curve_to(k(s.c1), k(s.c2), k(s.p));
        }
        path.close_path();
        path
    }

    /// A circle by four cubics lies outside the circle by up to 2.725·10⁻⁴ of its radius: Goldapp, CAGD 8 (1991) 227.
    #[test]
    fn a_circle_by_four() {
        let c = ellipse(10.0, 10.0, 4);
        let most = c
            .cubics()
            .flat_map(|c| (0..=1000).map(move |i| c.at(f64::from(i) / 1000.0)))
            .map(|p| p.distance(Point::new(30.0, -20.0)) - 10.0)
            .fold(0.0, f64::max);
        assert!((most - 2.725e-3).abs() < 2e-6, "{most}");
        let m = c.moments().unwrap();
        assert!(m.centroid.distance(Point::new(30.0, -20.0)) < 1e-12 && (m.area - 100.0 * PI).abs() < 0.1);
    }

    /// Perimeter 4a·E(e) by the arithmetic–geometric mean (Abramowitz & Stegun 17.6), area πab.
    #[test]
    fn an_ellipse_to_a_billionth() {
        for (a, b) in [(10.0, 10.0), (10.0, 3.0), (100.0, 1.0)] {
            let (mut x, mut y, mut sum, mut power) = (a, b, (a * a - b * b) / 2.0, 0.5);
            for _ in 0..12 {
                let c = (x - y) / 2.0;
                (x, y) = ((x + y) / 2.0, libm::sqrt(x * y));
                power *= 2.0;
                sum += power * c * c;
            }
            let perimeter = 2.0 * PI * (a * a - sum) / x;
            let c = ellipse(a, b, 256);
            assert!((c.length() / perimeter - 1.0).abs() < 1e-9, "{} {perimeter}", c.length());
            assert!((c.signed_area() / (PI * a * b) - 1.0).abs() < 1e-9);
        }
    }

    /// Area, length and nearest place as kurbo, an open library of curves, has them.
    #[test]
    fn as_another_library_has_it() {
        let c = ellipse(12.0, 5.0, 5);
        let theirs = path(&c);
        assert!((c.signed_area() - theirs.area()).abs() < 1e-9);
        assert!((c.length() - theirs.perimeter(1e-9)).abs() < 1e-8);
        for p in [[40.0, -20.0], [0.0, 0.0], [30.5, -20.1], [42.0, -14.0]] {
            let near = theirs
                .segments()
                .map(|s| s.nearest(kurbo::Point::new(p[0], p[1]), 1e-9).distance_sq)
                .fold(f64::INFINITY, f64::min);
            assert!((c.nearest(p.into()).unwrap().1 - near.sqrt()).abs() < 1e-6);
        }
        let back = c.reversed();
        assert!((back.signed_area() + c.signed_area()).abs() < 1e-12);
        assert!((back.length() - c.length()).abs() < 1e-12);
        assert_eq!(back.reversed(), Curve { segments: c.segments.clone() });
    }

    /// An L worked by hand: area 3, length 8, balance point (5/6, 5/6).
    /// A curve `d` outside a closed one encloses d·length + πd² more (Steiner's formula), a box with sharp corners
    /// (a + 2d)(b + 2d).
    #[test]
    fn an_offset_encloses_what_steiner_says() {
        for (d, way) in [(1.5, false), (-1.5, false), (1.5, true)] {
            let c = ellipse(120.0, 70.0, 8);
            let c = if way { c.reversed() } else { c };
            let (got, expected) =
                (c.offset(d).signed_area().abs(), c.signed_area().abs() + d * c.length() + PI * d * d);
            assert!((got - expected).abs() < 2.0, "{d}: {got}, {expected}");
        }
        let points = [[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], [0.0, 20.0]].map(Point::<Real>::from);
        assert!((Curve::polygon(&points).offset(2.0).signed_area() - 34.0 * 24.0).abs() < 1e-9);
    }

    #[test]
    fn straight_pieces() {
        let l =
            [[0.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0], [1.0, 2.0], [0.0, 2.0]].map(Point::<Real>::from);
        let c = Curve::polygon(&l);
        assert_eq!((c.signed_area(), c.length(), c.bounds().unwrap()), (3.0, 8.0, [0.0, 0.0, 2.0, 2.0]));
        assert!(c.moments().unwrap().centroid.distance(Point::new(5.0 / 6.0, 5.0 / 6.0)) < 1e-12);
        assert_eq!(c.flatten(0.1).len(), 6);
        let none = Curve::<Real>::default();
        assert_eq!(
            (none.length(), none.signed_area(), none.bounds(), none.moments()),
            (0.0, 0.0, None, None)
        );
        assert!(
            none.nearest(l[0]).is_none()
                && none.flatten(1.0).is_empty()
                && none.reversed().segments.is_empty()
        );
    }

    #[test]
    fn through_maps() {
        let c = ellipse(12.0, 5.0, 4);
        // Twice as large, turned by 3-4-5, moved: area four times, lengths twice.
        let plain =
            Homography::<Real, Finished>::from_rows([[1.2, -1.6, 7.0], [1.6, 1.2, -3.0], [0.0, 0.0, 1.0]]);
        let image = c.through(&plain, 1e-9).unwrap();
        assert_eq!(image.segments.len(), 4, "exact, so not divided");
        assert!((image.signed_area() - 4.0 * c.signed_area()).abs() < 1e-9);
        let tilted =
            Homography::<Real, Finished>::from_rows([[1.0, 0.1, 0.0], [0.0, 1.2, 0.0], [2e-3, 3e-3, 1.0]]);
        let image = c.through(&tilted, 1e-3).unwrap();
        for p in c.flatten(1e-5) {
            let far = image.nearest(tilted.apply(p).unwrap()).unwrap().1;
            assert!(far < 1.5e-3, "{far}");
        }
        let horizon = Homography::<Real, Finished>::from_rows([
            [1.0, 0.0, 0.0],
            [0.0, 1.0, 0.0],
            [-1.0 / 35.0, 0.0, 1.0],
        ]);
        assert!(c.through(&horizon, 1e-3).is_none());
    }

    #[test]
    fn written_plainly_and_read_back() {
        let c = Curve::polygon(&[[0.0, 0.0], [3.0, 0.0], [0.0, 3.0]].map(Point::<Real>::from));
        let text = serde_json::to_string(&c).unwrap();
        assert!(
            text.starts_with(
                r#"[{"c1":[0.0,2.0],"c2":[0.0,1.0],"p":[0.0,0.0],"corner":true,"straight":true}"#
            ),
            "{text}"
        );
        assert_eq!(serde_json::from_str::<Curve<Real>>(&text).unwrap(), c);
    }
}
