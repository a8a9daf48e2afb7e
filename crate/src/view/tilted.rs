//! The map of a plane seen by a camera, from where its plane runs out, how far the camera sees, and one scale.
//!
//! Unlike four corners, these unknowns belong to no particular thing on the plane, so that whatever is known of it
//! (a right angle, edges that run alike, something round, any lengths) can pull on them together.

use super::map::{Partials, Placed};
use crate::plane::{Homography, Picture, Point, Real};

/// α (2, a px), f² (px²), the picture's centre (2, px), scale (mm a px at the centre).
pub(crate) const UNKNOWNS: usize = 6;

/// A map at one value of its unknowns.
///
/// With d = p − centre, w = 1 + α·d and z = d/w, the plane's own coordinates are σ·T·G^½·z, where
/// G = I + f²·α·αᵀ is the metric that the plane has in z: its depth falls off as −f·α·dz, so that
/// |dX|² = |dz|² + f²·(α·dz)². G^½ = I + κ·α·αᵀ with κ = f²/(1 + √(1 + f²·|α|²)).
///
/// # References
/// Hartley & Zisserman, 2nd ed., 2.7 and 8.5: the line at infinity and the circular points of a plane seen by a
/// camera with square pixels give its metric.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tilted {
    alpha: [f64; 2],
    centre: [f64; 2],
    /// √(1 + f²·|α|²): 1 / cos of the tilt.
    steep: f64,
    kappa: f64,
    f2: f64,
    scale: f64,
    turn: [[f64; 2]; 2],
    forward: Homography<Picture, Real>,
}

impl Tilted {
    /// `None` unless the scale is positive and the metric one of a plane.
    pub fn at(turn: &[[f64; 2]; 2], theta: &[f64]) -> Option<Tilted> {
        let &[a, b, f2, cx, cy, scale] = theta else { return None };
        let square = 1.0 + f2 * (a * a + b * b);
        if !(scale > 0.0 && square > 1e-6 && theta.iter().all(|t| t.is_finite())) {
            return None;
        }
        let steep = libm::sqrt(square);
        let kappa = f2 / (1.0 + steep);
        let (alpha, centre) = ([a, b], [cx, cy]);
        let made = Tilted {
            alpha,
            centre,
            steep,
            kappa,
            f2,
            scale,
            turn: *turn,
            forward: Homography::from_rows([[0.0; 3]; 3]),
        };
        let columns = [made.out(made.bend([1.0, 0.0])), made.out(made.bend([0.0, 1.0]))];
        let row = |r: usize| {
            let [x, y] = [columns[0][r], columns[1][r]];
            [x, y, -(x * cx + y * cy)]
        };
        let forward = Homography::from_rows([row(0), row(1), [a, b, 1.0 - a * cx - b * cy]]);
        Some(Tilted { forward, ..made })
    }

    /// The map from picture px to real mm.
    pub fn forward(&self) -> &Homography<Picture, Real> {
        &self.forward
    }

    /// G^½·v.
    fn bend(&self, v: [f64; 2]) -> [f64; 2] {
        let along = self.kappa * (self.alpha[0] * v[0] + self.alpha[1] * v[1]);
        [v[0] + along * self.alpha[0], v[1] + along * self.alpha[1]]
    }

    /// σ·T·v.
    fn out(&self, v: [f64; 2]) -> [f64; 2] {
        self.turn.map(|row| self.scale * (row[0] * v[0] + row[1] * v[1]))
    }

    /// Where `p` lies, with its partials; `None` on or beyond the horizon.
    pub fn place(&self, p: Point<Picture>) -> Option<Placed> {
        let [a, b] = self.alpha;
        let d = [p.x - self.centre[0], p.y - self.centre[1]];
        let w = 1.0 + a * d[0] + b * d[1];
        if w.is_nan() || w <= 1e-9 {
            return None;
        }
        let z = [d[0] / w, d[1] / w];
        let t = a * z[0] + b * z[1];
        let real = self.out(self.bend(z));
        // ∂z/∂p = (I − z·αᵀ)/w.
        let by_at = [[(1.0 - z[0] * a) / w, -z[1] * a / w], [-z[0] * b / w, (1.0 - z[1] * b) / w]]
            .map(|column| self.out(self.bend(column)));
        let kappa_steep = -self.kappa * self.kappa / self.steep;
        let by_alpha = |j: usize| {
            let mut y = self.bend([-z[0] * z[j], -z[1] * z[j]]);
            let along = kappa_steep * self.alpha[j] * t + self.kappa * z[j];
            y[0] += along * a;
            y[1] += along * b;
            y[j] += self.kappa * t;
            self.out(y)
        };
        let size = a * a + b * b;
        let more = 1.0 + self.steep;
        let kappa_f2 = 1.0 / more - self.f2 * size / (2.0 * self.steep * more * more);
        let cells = [
            by_alpha(0),
            by_alpha(1),
            self.out([kappa_f2 * t * a, kappa_f2 * t * b]),
            by_at[0].map(|v| -v),
            by_at[1].map(|v| -v),
            real.map(|v| v / self.scale),
        ];
        Some(Placed {
            real: Point::new(real[0], real[1]),
            d_at: [[by_at[0][0], by_at[1][0]], [by_at[0][1], by_at[1][1]]],
            d_params: Partials::of(&cells),
        })
    }
}
