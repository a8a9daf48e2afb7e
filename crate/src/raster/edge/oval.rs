//! Circles and ellipses in a picture: through places, nearest to places.
//!
//! # References
//! Start: least squares of the conic's equation, as Bookstein, Computer Graphics and Image Processing 9 (1979) 56,
//! reviews it. Answer: least squares of first-order distances (Sampson, CGIP 18 (1982) 97); places are within a small
//! part of the radius, where those and true distances are the same.

use super::super::ask::At;
use super::normal::{MOST, Normal, cholesky_solve};
use super::station::{weights, widening};
use super::stroke::turned;
use crate::plane::{Picture, Point};

/// An ellipse; a circle when both radii are the same. Picture px.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Oval {
    pub centre: At,
    /// Radii along `turn` and square to it.
    pub radii: [f64; 2],
    /// Radians.
    pub turn: f64,
}

/// How an oval fits places.
#[derive(Clone, Debug)]
pub(super) struct OvalFit {
    pub oval: Oval,
    /// Weight of each place, 0 to 1.
    pub weights: Vec<f64>,
    /// How much wider than told the left-overs lie.
    pub wide: f64,
    /// Weighted sum of squared left-overs, in standard deviations.
    pub chi2: f64,
}

impl Oval {
    /// A circle.
    pub fn circle(centre: At, radius: f64) -> Oval {
        Oval { centre, radii: [radius, radius], turn: 0.0 }
    }

    /// Can it be reckoned with: round enough and of a size that a picture can have?
    pub fn sound(&self) -> bool {
        let [a, b] = self.radii;
        self.centre.is_finite() && a.min(b) > 2.5 && a.max(b) < 1e5 && a.min(b) > 0.08 * a.max(b)
    }

    /// The place at an angle of the circle that the oval is a squeezed picture of.
    pub fn at(&self, angle: f64) -> At {
        let (c, s) = (libm::cos(self.turn), libm::sin(self.turn));
        let (x, y) = (self.radii[0] * libm::cos(angle), self.radii[1] * libm::sin(angle));
        Point::new(self.centre.x + c * x - s * y, self.centre.y + s * x + c * y)
    }

    /// Unit step along at that angle; turned by a quarter it points inwards.
    pub fn along(&self, angle: f64) -> [f64; 2] {
        let (c, s) = (libm::cos(self.turn), libm::sin(self.turn));
        let (x, y) = (-self.radii[0] * libm::sin(angle), self.radii[1] * libm::cos(angle));
        let size = libm::hypot(x, y);
        [(c * x - s * y) / size, (s * x + c * y) / size]
    }

    /// 1 / radius of the bend at that angle.
    pub fn bend(&self, angle: f64) -> f64 {
        let [a, b] = self.radii;
        let (s, c) = (libm::sin(angle), libm::cos(angle));
        a * b / libm::pow(a * a * s * s + b * b * c * c, 1.5)
    }

    /// Radius of the circle of nearly the same length.
    pub fn mean_radius(&self) -> f64 {
        (0.5 * (self.radii[0] * self.radii[0] + self.radii[1] * self.radii[1])).sqrt()
    }

    /// How far outside a place is (inside: negative), first order, px.
    pub fn off(&self, p: At) -> f64 {
        let circle = self.turn == 0.0;
        let (c, s) = if circle { (1.0, 0.0) } else { (libm::cos(self.turn), libm::sin(self.turn)) };
        let d = p - self.centre;
        let (x, y) = ((c * d.x + s * d.y) / self.radii[0], (c * d.y - s * d.x) / self.radii[1]);
        let r = libm::hypot(x, y);
        // r − 1 over the size of its gradient: exact for a circle.
        let steep = libm::hypot(x / self.radii[0], y / self.radii[1]);
        if r > 1e-9 { (r - 1.0) * r / steep } else { -self.radii[0].min(self.radii[1]) }
    }

    fn numbers(&self, round: bool) -> Vec<f64> {
        let mut out = vec![self.centre.x, self.centre.y, self.radii[0]];
        if !round {
            out.extend([self.radii[1], self.turn]);
        }
        out
    }

    fn from_numbers(n: &[f64]) -> Oval {
        let get = |i: usize| n.get(i).copied().unwrap_or(0.0);
        let radius = get(2);
        Oval {
            centre: Point::new(get(0), get(1)),
            radii: [radius, n.get(3).copied().unwrap_or(radius)],
            turn: get(4),
        }
    }

    /// Through five places or near to more: the conic about `origin`, which must lie inside; nothing when it isn't
    /// an ellipse.
    pub fn near(places: &[At], origin: At) -> Option<Oval> {
        let size = places.iter().fold(0.0, |m, p| p.distance(origin).max(m));
        let mut eq = Normal::new(5);
        for p in places {
            let d = (*p - origin) * (1.0 / size);
            let mut row = [0.0; MOST];
            for (to, v) in row.iter_mut().zip([d.x * d.x, d.x * d.y, d.y * d.y, d.x, d.y]) {
                *to = v;
            }
            eq.add(&row, 1.0, 1.0);
        }
        let k = cholesky_solve(&eq, 0.0)?;
        let (a, b, c, d, e) = (k[0], k[1], k[2], k[3], k[4]);
        let det = 4.0 * a * c - b * b;
        if !(det > 1e-9 && a + c > 0.0) {
            return None;
        }
        let (x, y) = ((b * e - 2.0 * c * d) / det, (b * d - 2.0 * a * e) / det);
        let level = 1.0 + a * x * x + b * x * y + c * y * y;
        let turn = 0.5 * libm::atan2(b, a - c);
        let wide = libm::hypot(a - c, b);
        let radii = [0.5 * (a + c + wide), 0.5 * (a + c - wide)].map(|l| size * (level / l).max(0.0).sqrt());
        let oval =
            Oval { centre: Point::<Picture>::new(origin.x + x * size, origin.y + y * size), radii, turn };
        oval.sound().then_some(oval)
    }

    /// Nearest to places, each with its standard deviation across; a circle when `round`.
    pub fn fitted(&self, places: &[(At, f64)], round: bool) -> Option<OvalFit> {
        let mut now = self.numbers(round);
        let n = now.len();
        if places.len() < n {
            return None;
        }
        let mut weight = vec![1.0; places.len()];
        for _ in 0..12 {
            let oval = Oval::from_numbers(&now);
            let mut eq = Normal::new(n);
            for ((p, s), w) in places.iter().zip(&weight) {
                eq.add(&slopes(&now, *p), -oval.off(*p), w / (s * s));
            }
            let step = cholesky_solve(&eq, 1e-9)?;
            let moved = step.iter().take(3).fold(0.0_f64, |m, v| m.max(v.abs()));
            for (to, by) in now.iter_mut().zip(&step) {
                *to += by;
            }
            let next = Oval::from_numbers(&now);
            if !next.sound() {
                return None;
            }
            let left: Vec<f64> = places.iter().map(|(p, s)| next.off(*p) / s).collect();
            weight = weights(&left);
            if moved < 1e-7 {
                break;
            }
        }
        let oval = Oval::from_numbers(&now);
        let left: Vec<f64> = places.iter().map(|(p, s)| oval.off(*p) / s).collect();
        let chi2 = left.iter().zip(&weight).map(|(r, w)| w * r * r).sum();
        Some(OvalFit { oval, wide: widening(&left, &weight, n), weights: weight, chi2 })
    }

    /// Unit step outwards at an angle.
    pub fn outwards(&self, angle: f64) -> [f64; 2] {
        let [x, y] = turned(self.along(angle));
        [-x, -y]
    }
}

/// Slopes of a place's distance by the oval's numbers, by small steps.
fn slopes(now: &[f64], p: At) -> [f64; MOST] {
    let mut out = [0.0; MOST];
    let mut trial = now.to_vec();
    for (i, to) in out.iter_mut().enumerate().take(now.len()) {
        let step = if i == 4 { 1e-6 } else { 1e-4 };
        let mut at = |by: f64| {
            if let (Some(t), Some(n)) = (trial.get_mut(i), now.get(i)) {
                *t = n + by;
            }
            Oval::from_numbers(&trial).off(p)
        };
        *to = (at(step) - at(-step)) / (2.0 * step);
        at(0.0);
    }
    out
}
