//! The map given by where the four corners of a rectangle are seen, and its slope by each of them.
//!
//! The unknowns are the corners themselves: a click on one is then a plain observation of it, and a map
//! with any tilt has a well-behaved parameter vector.

use super::map::{MOST, Partials, Placed};
use crate::estimate::dense::Dense;
use crate::plane::{Homography, Picture, Point, Real};

/// The rectangle's corners on its own plane, one unit wide and high about its middle.
const UNIT: [[f64; 2]; 4] = [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]];

/// A map at one value of its corners, width and height.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Corners {
    /// Unit square → picture, the matrix [[g0, g1, g2], [g3, g4, g5], [g6, g7, 1]].
    g: [f64; 8],
    /// d(g)/d(corner coordinate), one row for each coordinate x₀ y₀ x₁ …
    dg: [[f64; 8]; 8],
    /// Picture → unit square.
    to_unit: Homography<Picture, Real>,
    /// Unit square → real mm.
    grow: [[f64; 2]; 2],
    turn: [[f64; 2]; 2],
    forward: Homography<Picture, Real>,
}

impl Corners {
    /// `theta`: four corners (x, y each, picture px), width and height (mm). `None` unless the corners
    /// stand square round as seen from one side and the sides are positive.
    ///
    /// # References
    /// Four points determine the map: Hartley & Zisserman, 2nd ed., 2.3 and 4.1. Its slope: A(θ)·g = b(θ),
    /// so A·dg = db − dA·g, which for corner k comes to W(k) in the corner's own row.
    pub fn at(turn: &[[f64; 2]; 2], theta: &[f64]) -> Option<Corners> {
        let theta: &[f64; MOST] = theta.try_into().ok()?;
        let [width, height] = [theta[8], theta[9]];
        if !(width > 0.0 && height > 0.0 && theta.iter().all(|t| t.is_finite())) {
            return None;
        }
        let (mut a, mut right) = (Dense::zero(8, 8), Dense::by(8, 9, |r, c| if r == c { 1.0 } else { 0.0 }));
        for (k, [u, v]) in UNIT.into_iter().enumerate() {
            let (x, y) = (theta[2 * k], theta[2 * k + 1]);
            let rows =
                [[u, v, 1.0, 0.0, 0.0, 0.0, -x * u, -x * v], [0.0, 0.0, 0.0, u, v, 1.0, -y * u, -y * v]];
            for (i, row) in rows.into_iter().enumerate() {
                for (c, cell) in row.into_iter().enumerate() {
                    a[(2 * k + i, c)] = cell;
                }
                right[(2 * k + i, 8)] = [x, y][i];
            }
        }
        let solved = a.solve(&right)?;
        let g = [0, 1, 2, 3, 4, 5, 6, 7].map(|i| solved[(i, 8)]);
        let far = UNIT.map(|[u, v]| g[6] * u + g[7] * v + 1.0);
        if !far.iter().all(|w| *w > 1e-9) {
            return None;
        }
        let dg =
            [0, 1, 2, 3, 4, 5, 6, 7].map(|c| [0, 1, 2, 3, 4, 5, 6, 7].map(|i| solved[(i, c)] * far[c / 2]));
        let from_unit: Homography<Real, Picture> =
            Homography::from_rows([[g[0], g[1], g[2]], [g[3], g[4], g[5]], [g[6], g[7], 1.0]]);
        let to_unit = from_unit.inverse()?;
        let grow = turn.map(|row| [row[0] * width, row[1] * height]);
        let bigger = Homography::<Real, Real>::from_rows([
            [grow[0][0], grow[0][1], 0.0],
            [grow[1][0], grow[1][1], 0.0],
            [0.0, 0.0, 1.0],
        ]);
        let forward = to_unit.then(&bigger);
        Some(Corners { g, dg, to_unit, grow, turn: *turn, forward })
    }

    /// The map from picture px to real mm, the rectangle's middle at the origin.
    pub fn forward(&self) -> &Homography<Picture, Real> {
        &self.forward
    }

    /// Where `p` lies, with its partials; `None` on or beyond the horizon.
    pub fn place(&self, p: Point<Picture>) -> Option<Placed> {
        let unit = self.to_unit.apply(p)?;
        let slope = self.to_unit.jacobian(p)?;
        let (u, v) = (unit.x, unit.y);
        let d_at = times(&self.grow, &slope);
        let w = self.g[6] * u + self.g[7] * v + 1.0;
        let mut cells = [[0.0; 2]; MOST];
        for (cell, d) in cells.iter_mut().zip(&self.dg) {
            // Where the picture of (u, v) goes when the corner moves; to stay at `p`, (u, v) goes back.
            let lost = d[6] * u + d[7] * v;
            let x = (d[0] * u + d[1] * v + d[2] - p.x * lost) / w;
            let y = (d[3] * u + d[4] * v + d[5] - p.y * lost) / w;
            *cell = [-(d_at[0][0] * x + d_at[0][1] * y), -(d_at[1][0] * x + d_at[1][1] * y)];
        }
        cells[8] = [self.turn[0][0] * u, self.turn[1][0] * u];
        cells[9] = [self.turn[0][1] * v, self.turn[1][1] * v];
        let real =
            Point::new(self.grow[0][0] * u + self.grow[0][1] * v, self.grow[1][0] * u + self.grow[1][1] * v);
        Some(Placed { real, d_at, d_params: Partials::of(&cells) })
    }
}

fn times(a: &[[f64; 2]; 2], b: &[[f64; 2]; 2]) -> [[f64; 2]; 2] {
    let cell = |r: usize, c: usize| a[r][0] * b[0][c] + a[r][1] * b[1][c];
    [[cell(0, 0), cell(0, 1)], [cell(1, 0), cell(1, 1)]]
}

/// The signed permutation that brings the rectangle's own axes nearest to the picture's, turned by `tilt`,
/// without mirroring: so that real x runs across and real y down, as the view is seen, whichever corner
/// was touched first and whichever way round.
pub(crate) fn upright(corners: &[Point<Picture>; 4], tilt: f64) -> [[f64; 2]; 2] {
    let level = [[libm::cos(tilt), libm::sin(tilt)], [-libm::sin(tilt), libm::cos(tilt)]];
    let axis = |d: crate::plane::Vector<Picture>| {
        let length = d.length().max(f64::MIN_POSITIVE);
        let (x, y) = (d.x / length, d.y / length);
        [level[0][0] * x + level[0][1] * y, level[1][0] * x + level[1][1] * y]
    };
    let [a, b, c, d] = *corners;
    let first = axis((b - a) + (c - d));
    let second = axis((d - a) + (c - b));
    let mirrored = first[0] * second[1] - first[1] * second[0] < 0.0;
    let mut best = (f64::NEG_INFINITY, [[1.0, 0.0], [0.0, 1.0]]);
    for swap in [false, true] {
        for (s, t) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
            let turn = if swap { [[0.0, s], [t, 0.0]] } else { [[s, 0.0], [0.0, t]] };
            let flips = turn[0][0] * turn[1][1] - turn[0][1] * turn[1][0] < 0.0;
            // Where the turned axes would have the rectangle's own axes point.
            let fit = turn[0][0] * first[0]
                + turn[1][0] * first[1]
                + turn[0][1] * second[0]
                + turn[1][1] * second[1];
            if flips == mirrored && fit > best.0 {
                best = (fit, turn);
            }
        }
    }
    best.1
}
