//! Maps from one plane to another that keep straight lines straight.
//!
//! # References
//! Hartley & Zisserman, Multiple View Geometry, 2nd ed., 2.3 (projective maps), 4.1 (DLT), 4.4.4
//! (normalisation), 4.5 (refinement).

use super::{Point, Space};
use crate::estimate::dense::Dense;
use crate::words::Say;
use serde::{Deserialize, Serialize};
use std::marker::PhantomData;

/// A map from plane `A` to plane `B`:
///
/// ```text
/// | X |   | m00 m01 m02 |   | x |
/// | Y | ~ | m10 m11 m12 | · | y |      out = (X/W, Y/W)
/// | W |   | m20 m21 m22 |   | 1 |
/// ```
///
/// Points with W > 0 are those seen; W = 0 is the horizon, and what lies beyond it has no image here. Written as its rows.
#[derive(Copy, Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(bound = "", from = "[[f64; 3]; 3]", into = "[[f64; 3]; 3]")]
pub struct Homography<A: Space, B: Space> {
    m: [[f64; 3]; 3],
    spaces: PhantomData<(A, B)>,
}

impl<A: Space, B: Space> From<[[f64; 3]; 3]> for Homography<A, B> {
    fn from(rows: [[f64; 3]; 3]) -> Self {
        Homography::from_rows(rows)
    }
}

impl<A: Space, B: Space> From<Homography<A, B>> for [[f64; 3]; 3] {
    fn from(map: Homography<A, B>) -> Self {
        map.m
    }
}

impl<A: Space, B: Space> Homography<A, B> {
    /// The map with these rows; W must be > 0 where the picture is.
    pub const fn from_rows(m: [[f64; 3]; 3]) -> Self {
        Homography { m, spaces: PhantomData }
    }

    /// The rows of the matrix.
    pub fn rows(&self) -> &[[f64; 3]; 3] {
        &self.m
    }

    /// X, Y and W of `p`.
    fn raw(&self, p: Point<A>) -> [f64; 3] {
        self.m.map(|r| r[0] * p.x + r[1] * p.y + r[2])
    }

    /// W at `p` when it lies clearly on the seen side of the horizon.
    fn seen(&self, p: Point<A>) -> Option<[f64; 3]> {
        let [x, y, w] = self.raw(p);
        let [a, b, c] = self.m[2];
        let size = (a * p.x).abs() + (b * p.y).abs() + c.abs();
        (x.is_finite() && y.is_finite() && w > 1e-12 * size).then_some([x, y, w])
    }

    /// The image of `p`; `None` on or beyond the horizon.
    pub fn apply(&self, p: Point<A>) -> Option<Point<B>> {
        let [x, y, w] = self.seen(p)?;
        let q = Point::new(x / w, y / w);
        q.is_finite().then_some(q)
    }

    /// d(out)/d(in) at `p`, `[[dX/dx, dX/dy], [dY/dx, dY/dy]]`; `None` on or beyond the horizon.
    ///
    /// # Units
    /// `B`'s unit over `A`'s.
    pub fn jacobian(&self, p: Point<A>) -> Option<[[f64; 2]; 2]> {
        let [x, y, w] = self.seen(p)?;
        let row = |r: usize, out: f64| {
            let slope = |c: usize| (self.m[r][c] - out * self.m[2][c]) / w;
            [slope(0), slope(1)]
        };
        Some([row(0, x / w), row(1, y / w)])
    }

    /// The map back; `None` when the plane is seen edge on.
    pub fn inverse(&self) -> Option<Homography<B, A>> {
        let m = &self.m;
        let minor = |r: usize, c: usize| {
            let (r1, r2, c1, c2) = ((r + 1) % 3, (r + 2) % 3, (c + 1) % 3, (c + 2) % 3);
            m[r1][c1] * m[r2][c2] - m[r1][c2] * m[r2][c1]
        };
        let det: f64 = (0..3).map(|c| m[0][c] * minor(0, c)).sum();
        let size: f64 = (0..3).map(|c| (m[0][c] * minor(0, c)).abs()).sum();
        if !(det.is_finite() && det.abs() > 1e-13 * size) {
            return None;
        }
        // The true inverse, not a multiple of it, so that W stays positive where it was.
        let inverse = |r: usize, c: usize| minor(c, r) / det;
        Some(Homography::from_rows([0, 1, 2].map(|r| [0, 1, 2].map(|c| inverse(r, c)))))
    }

    /// First `self`, then `next`. As matrices: `next` · `self`.
    pub fn then<C: Space>(&self, next: &Homography<B, C>) -> Homography<A, C> {
        let cell = |r: usize, c: usize| (0..3).map(|k| next.m[r][k] * self.m[k][c]).sum();
        Homography::from_rows([0, 1, 2].map(|r| [0, 1, 2].map(|c| cell(r, c))))
    }

    /// The one map that takes four points to four others.
    ///
    /// # Errors
    /// `plane.no-map` when three of either four lie on a line, or a point is not finite, or the four
    /// can't be seen from one side (a crossed order).
    pub fn four_points(from: &[Point<A>; 4], to: &[Point<B>; 4]) -> Result<Self, Say> {
        Homography::linear(from, to)
    }

    /// The map that takes four or more points nearest to as many others: by normalised DLT, then
    /// Gauss–Newton on the distances in `B`.
    ///
    /// # Errors
    /// `plane.no-map` as for [`Homography::four_points`], or when the two lists differ in length or have
    /// fewer than four points.
    pub fn fit(from: &[Point<A>], to: &[Point<B>]) -> Result<Self, Say> {
        let mut map = Homography::linear(from, to)?;
        let mut cost = map.cost(from, to);
        for _ in 0..20 {
            let Some((trial, size)) = map.refined(from, to) else { break };
            let new = trial.cost(from, to);
            if new.is_nan() || new >= cost {
                break;
            }
            (map, cost) = (trial, new);
            if size < 1e-12 {
                break;
            }
        }
        Ok(map)
    }

    /// The sum of squared distances in `B`; infinite when a point falls beyond the horizon.
    fn cost(&self, from: &[Point<A>], to: &[Point<B>]) -> f64 {
        let square = |(p, q): (&Point<A>, &Point<B>)| {
            self.apply(*p).map_or(f64::INFINITY, |r| {
                let d = r - *q;
                d.dot(d)
            })
        };
        from.iter().zip(to).map(square).sum()
    }

    /// The normalised direct linear transform with m22 = 1 in normalised coordinates, where the middle of
    /// the points, being seen, can't lie on the horizon.
    fn linear(from: &[Point<A>], to: &[Point<B>]) -> Result<Self, Say> {
        let none = || Say::new("plane.no-map");
        if from.len() != to.len() || from.len() < 4 {
            return Err(none());
        }
        let (before, after) = (Normal::of(from).ok_or_else(none)?, Normal::of(to).ok_or_else(none)?);
        let (mut a, mut b) = (Dense::zero(2 * from.len(), 8), Dense::zero(2 * from.len(), 1));
        for (i, (p, q)) in from.iter().zip(to).enumerate() {
            let ([x, y], [u, v]) = (before.bring(*p), after.bring(*q));
            for (r, row, out) in [
                (2 * i, [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y], u),
                (2 * i + 1, [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y], v),
            ] {
                for (c, cell) in row.into_iter().enumerate() {
                    a[(r, c)] = cell;
                }
                b[(r, 0)] = out;
            }
        }
        let h = least_squares(&a, &b).ok_or_else(none)?;
        let cell = |i: usize| if i < 8 { h[(i, 0)] } else { 1.0 };
        let middle = Homography::<A, B>::from_rows([0, 1, 2].map(|r| [0, 1, 2].map(|c| cell(3 * r + c))));
        let map: Homography<A, B> = before.matrix::<A, A>().then(&middle).then(&after.back::<B, B>());
        let all_seen = from.iter().all(|p| map.apply(*p).is_some());
        let turned = map.inverse().ok_or_else(none)?;
        let all_back = to.iter().all(|q| turned.apply(*q).is_some());
        if all_seen && all_back { Ok(map) } else { Err(none()) }
    }

    /// One Gauss–Newton step, and how large it was against the map itself.
    fn refined(&self, from: &[Point<A>], to: &[Point<B>]) -> Option<(Self, f64)> {
        let (before, after) = (Normal::of(from)?, Normal::of(to)?);
        let undo: Homography<A, B> = before.back::<A, A>().then(self).then(&after.matrix::<B, B>());
        let scale = undo.m[2][2];
        let m = undo.m.map(|r| r.map(|c| c / scale));
        let (mut a, mut b) = (Dense::zero(2 * from.len(), 8), Dense::zero(2 * from.len(), 1));
        for (i, (p, q)) in from.iter().zip(to).enumerate() {
            let ([x, y], [u, v]) = (before.bring(*p), after.bring(*q));
            let [gx, gy, w] = m.map(|r| r[0] * x + r[1] * y + r[2]);
            let (u0, v0) = (gx / w, gy / w);
            for (r, row, out) in [
                (2 * i, [x, y, 1.0, 0.0, 0.0, 0.0, -u0 * x, -u0 * y], u - u0),
                (2 * i + 1, [0.0, 0.0, 0.0, x, y, 1.0, -v0 * x, -v0 * y], v - v0),
            ] {
                for (c, cell) in row.into_iter().enumerate() {
                    a[(r, c)] = cell / w;
                }
                b[(r, 0)] = out;
            }
        }
        let d = least_squares(&a, &b)?;
        let size = (0..8).fold(0.0_f64, |s, i| s.max(d[(i, 0)].abs()));
        let cell = |r: usize, c: usize| m[r][c] + if 3 * r + c < 8 { d[(3 * r + c, 0)] } else { 0.0 };
        let moved = Homography::<A, B>::from_rows([0, 1, 2].map(|r| [0, 1, 2].map(|c| cell(r, c))));
        Some((before.matrix::<A, A>().then(&moved).then(&after.back::<B, B>()), size))
    }
}

/// The x with A·x nearest to b; `None` when A leaves it open.
fn least_squares(a: &Dense, b: &Dense) -> Option<Dense> {
    if a.rows() == a.cols() {
        return a.solve(b);
    }
    let turned = a.turned();
    let lower = turned.times(a).cholesky(1e-13)?;
    Some(lower.backward(&lower.forward(&turned.times(b))))
}

/// Moves points to their middle and to a mean distance of √2, so that the equations are well conditioned.
struct Normal {
    x: f64,
    y: f64,
    scale: f64,
}

impl Normal {
    fn of<S: Space>(points: &[Point<S>]) -> Option<Normal> {
        let n = points.len() as f64;
        let x = points.iter().map(|p| p.x / n).sum::<f64>();
        let y = points.iter().map(|p| p.y / n).sum::<f64>();
        let far = points.iter().map(|p| p.distance(Point::new(x, y)) / n).sum::<f64>();
        let scale = std::f64::consts::SQRT_2 / far;
        (scale.is_finite() && scale > 0.0).then_some(Normal { x, y, scale })
    }

    fn bring<S: Space>(&self, p: Point<S>) -> [f64; 2] {
        [(p.x - self.x) * self.scale, (p.y - self.y) * self.scale]
    }

    fn matrix<A: Space, B: Space>(&self) -> Homography<A, B> {
        let s = self.scale;
        Homography::from_rows([[s, 0.0, -s * self.x], [0.0, s, -s * self.y], [0.0, 0.0, 1.0]])
    }

    fn back<A: Space, B: Space>(&self) -> Homography<A, B> {
        let k = 1.0 / self.scale;
        Homography::from_rows([[k, 0.0, self.x], [0.0, k, self.y], [0.0, 0.0, 1.0]])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Picture, Real};
    use proptest::prelude::*;

    type Map = Homography<Picture, Real>;

    fn square(corners: [[f64; 2]; 4]) -> [Point<Picture>; 4] {
        corners.map(Point::from)
    }

    const SEEN: [[f64; 2]; 4] = [[412.0, 388.0], [1610.0, 301.0], [1702.0, 1290.0], [298.0, 1420.0]];
    const TRUE: [[f64; 2]; 4] = [[0.0, 0.0], [297.0, 0.0], [297.0, 210.0], [0.0, 210.0]];

    fn map() -> Map {
        Map::four_points(&square(SEEN), &TRUE.map(Point::from)).unwrap()
    }

    #[test]
    fn four_points_go_where_they_should() {
        for (p, q) in SEEN.iter().zip(TRUE) {
            let got = map().apply(Point::from(*p)).unwrap();
            assert!(got.distance(Point::from(q)) < 1e-9);
        }
    }

    /// Hartley & Zisserman 2.3.1: a map from the unit square, worked by hand: (x, y) → (x, y)/(1 + x) takes
    /// the corners to (0,0), (½,0), (½,½), (0,1).
    #[test]
    fn unit_square_by_hand() {
        let from = square([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
        let to = [[0.0, 0.0], [0.5, 0.0], [0.5, 0.5], [0.0, 1.0]].map(Point::from);
        let map = Map::four_points(&from, &to).unwrap();
        let got = map.apply(Point::new(3.0, 2.0)).unwrap();
        assert!(got.distance(Point::new(0.75, 0.5)) < 1e-12);
        assert_eq!(map.apply(Point::new(-1.0, 0.0)), None, "the horizon");
        assert_eq!(map.apply(Point::new(-2.0, 0.0)), None, "beyond it");
    }

    #[test]
    fn what_has_no_map_is_refused() {
        let good = TRUE.map(Point::from);
        for bad in [
            [[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [0.0, 1.0]],
            [[0.0, 0.0], [0.0, 0.0], [1.0, 1.0], [0.0, 1.0]],
            [[5.0, 5.0]; 4],
            [[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0]],
            [[f64::NAN, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]],
        ] {
            assert_eq!(Map::four_points(&square(bad), &good).unwrap_err().key, "plane.no-map", "{bad:?}");
        }
        assert!(Map::fit(&square(SEEN)[..3], &good[..3]).is_err());
    }

    /// The least-squares fit is stationary: no small change of the matrix brings the points nearer.
    #[test]
    fn nothing_near_the_fit_is_better() {
        let mut from: Vec<Point<Picture>> = SEEN.iter().map(|p| Point::from(*p)).collect();
        let mut to: Vec<Point<Real>> = TRUE.iter().map(|p| Point::from(*p)).collect();
        from.extend([Point::new(1000.0, 800.0), Point::new(700.0, 500.0)]);
        to.extend([Point::new(151.0, 99.0), Point::new(80.0, 30.0)]);
        let best = Map::fit(&from, &to).unwrap();
        let cost = best.cost(&from, &to);
        assert!(cost > 0.1 && cost < Map::linear(&from, &to).unwrap().cost(&from, &to));
        for cell in 0..8 {
            for change in [-1e-6, 1e-6] {
                let mut m = *best.rows();
                m[cell / 3][cell % 3] *= 1.0 + change;
                assert!(Map::from_rows(m).cost(&from, &to) >= cost - 1e-12, "{cell}");
            }
        }
    }

    proptest! {
        #[test]
        fn there_and_back(x in 300.0..1700.0f64, y in 300.0..1400.0f64) {
            let p = Point::new(x, y);
            let q = map().apply(p).unwrap();
            let back = map().inverse().unwrap();
            prop_assert!(back.apply(q).unwrap().distance(p) < 1e-8);
            let round: Homography<Picture, Picture> = map().then(&back);
            prop_assert!(round.apply(p).unwrap().distance(p) < 1e-8);
        }

        #[test]
        fn jacobian_is_the_slope(x in 300.0..1700.0f64, y in 300.0..1400.0f64) {
            let (map, p, h) = (map(), Point::new(x, y), 1e-3);
            let j = map.jacobian(p).unwrap();
            for (axis, d) in [[h, 0.0], [0.0, h]].into_iter().enumerate() {
                let step = crate::plane::Vector::new(d[0], d[1]);
                let slope = (map.apply(p + step).unwrap() - map.apply(p + step * -1.0).unwrap()) * (0.5 / h);
                prop_assert!((slope.x - j[0][axis]).abs() < 1e-7 && (slope.y - j[1][axis]).abs() < 1e-7);
            }
        }

        #[test]
        fn many_exact_points_give_the_map(xs in prop::collection::vec((300.0..1700.0f64, 300.0..1400.0f64), 6..12)) {
            let mut from: Vec<Point<Picture>> = xs.iter().map(|&(x, y)| Point::new(x, y)).collect();
            from.extend(square(SEEN));
            let to: Vec<Point<Real>> = from.iter().map(|p| map().apply(*p).unwrap()).collect();
            let fitted = Map::fit(&from, &to).unwrap();
            for (p, q) in from.iter().zip(&to) {
                prop_assert!(fitted.apply(*p).unwrap().distance(*q) < 1e-6);
            }
        }
    }
}
