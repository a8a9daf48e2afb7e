//! A border as points in order, with how far along each stands, made ready for fitting.

use super::{Point, Space, Vector};
use crate::words::Say;

/// No border is divided finer than this, whatever is asked.
const MOST_POINTS: usize = 40_000;

/// Points in order, each with its run along the border from the first.
#[derive(Clone, Debug)]
pub(super) struct Border<S: Space> {
    pub points: Vec<Point<S>>,
    /// In the space's unit; one more than there are points when closed: the last is the way round.
    pub run: Vec<f64>,
    pub closed: bool,
}

/// A piece of border near one of its points: place q₀ + q₁·s + q₂·s², s the run from that point.
#[derive(Copy, Clone, Debug)]
pub(super) struct Near<S: Space> {
    pub q: [Vector<S>; 3],
    pub origin: Point<S>,
    /// Root mean square of what is left over, both ways together, in the space's unit.
    pub rms: f64,
    /// Standard uncertainty of the slope at s = 0 for points each uncertain by 1, per unit of run.
    pub slope: f64,
}

impl<S: Space> Near<S> {
    pub fn at(&self, s: f64) -> Point<S> {
        self.origin + self.q[0] + self.q[1] * s + self.q[2] * (s * s)
    }

    /// Which way it runs at s = 0, as a unit step.
    pub fn along(&self) -> Option<Vector<S>> {
        let length = self.q[1].length();
        (length > 1e-12 && length.is_finite()).then(|| self.q[1] * (1.0 / length))
    }
}

impl<S: Space> Border<S> {
    /// Points with repeats left out and long gaps filled in by a straight line of points, `gap` apart at the most.
    ///
    /// # Errors
    /// `plane.outline-not-finite` for points that are no places; `plane.outline-few` for fewer than three (two of a
    /// path) that differ; `plane.outline-flat` for a closed one that encloses nothing at all.
    pub fn new(points: &[Point<S>], closed: bool, gap: f64) -> Result<Border<S>, Say> {
        if !points.iter().all(|p| p.is_finite() && p.x.abs() < 1e9 && p.y.abs() < 1e9) {
            return Err(Say::new("plane.outline-not-finite"));
        }
        let mut kept: Vec<Point<S>> = Vec::with_capacity(points.len());
        for p in points {
            if kept.last() != Some(p) {
                kept.push(*p);
            }
        }
        while closed && kept.len() > 1 && kept.first() == kept.last() {
            kept.pop();
        }
        if kept.len() < if closed { 3 } else { 2 } {
            return Err(Say::new("plane.outline-few"));
        }
        let far = kept.iter().map(|p| p.distance(kept[0])).fold(0.0, f64::max);
        if closed && !(super::hull::greatest(&kept).map_or(0.0, |g| g.width) > 1e-9 * far) {
            return Err(Say::new("plane.outline-flat"));
        }
        Ok(Border::filled(&kept, closed, gap))
    }

    fn filled(kept: &[Point<S>], closed: bool, gap: f64) -> Border<S> {
        let n = kept.len();
        let sides = if closed { n } else { n - 1 };
        let length = |i: usize| kept[i].distance(kept[(i + 1) % n]);
        let whole: f64 = (0..sides).map(length).sum();
        let gap = gap.max(whole / (MOST_POINTS - n.min(MOST_POINTS / 2)) as f64);
        let (mut points, mut run, mut so_far) = (Vec::with_capacity(n), Vec::with_capacity(n + 1), 0.0);
        for i in 0..sides {
            let (from, step, long) = (kept[i], kept[(i + 1) % n] - kept[i], length(i));
            let parts = libm::ceil(long / gap).max(1.0);
            for k in 0..parts as usize {
                points.push(from + step * (k as f64 / parts));
                run.push(so_far + long * (k as f64 / parts));
            }
            so_far += long;
        }
        if !closed {
            points.push(kept[n - 1]);
        }
        run.push(so_far);
        Border { points, run, closed }
    }

    pub fn len(&self) -> usize {
        self.points.len()
    }

    /// The way round, or from end to end.
    pub fn length(&self) -> f64 {
        self.run.last().copied().unwrap_or(0.0)
    }

    /// The same closed border beginning at point `i`.
    pub fn turned(&self, i: usize) -> Border<S> {
        let (n, whole) = (self.len(), self.length());
        let i = i % n.max(1);
        let mut points = self.points.clone();
        points.rotate_left(i);
        let run = |k: usize| {
            let at = self.run[(i + k) % n] - self.run[i];
            if i + k >= n { at + whole } else { at }
        };
        let run = (0..n).map(run).chain([whole]).collect();
        Border { points, run, closed: self.closed }
    }

    /// Point `i` counted round and round, as its place and its run; `None` beyond the end of a path.
    pub fn get(&self, i: i64) -> Option<(Point<S>, f64)> {
        let n = self.len() as i64;
        let k = if self.closed { i.rem_euclid(n) } else { i };
        let p = *self.points.get(usize::try_from(k).ok()?)?;
        Some((p, self.run[k as usize] + self.length() * (i - k) as f64 / n as f64))
    }

    /// The points from `near` to `far` along the border on one side of point `i` (−1 before, 1 after), with their
    /// run from it; half the border at the most.
    pub fn side(&self, i: usize, way: i64, near: f64, far: f64) -> Vec<(f64, Point<S>)> {
        let mut found = Vec::new();
        let Some((_, origin)) = self.get(i as i64) else { return found };
        for k in 1..=(self.len() / 2) as i64 {
            let Some((p, run)) = self.get(i as i64 + way * k) else { break };
            let s = run - origin;
            if s.abs() > far {
                break;
            }
            if s.abs() >= near {
                found.push((s, p));
            }
        }
        found
    }
}

/// The parabola nearest to points by their run; `None` when they leave it open.
pub(super) fn parabola<S: Space>(points: &[(f64, Point<S>)]) -> Option<Near<S>> {
    let origin = points.first()?.1;
    let size = points.iter().fold(0.0_f64, |m, p| m.max(p.0.abs()));
    if points.len() < 4 || !(size > 0.0) {
        return None;
    }
    let (mut m, mut x, mut square) = ([0.0; 5], [Vector::new(0.0, 0.0); 3], 0.0);
    for (s, p) in points {
        let (u, d) = (s / size, *p - origin);
        let powers = [1.0, u, u * u];
        for k in 0..3 {
            m[k] += powers[k];
            x[k] = x[k] + d * powers[k];
        }
        m[3] += powers[1] * powers[2];
        m[4] += powers[2] * powers[2];
        square += d.dot(d);
    }
    // Cofactors of [[m0 m1 m2], [m1 m2 m3], [m2 m3 m4]], which is symmetric.
    let c = [
        m[2] * m[4] - m[3] * m[3],
        m[2] * m[3] - m[1] * m[4],
        m[1] * m[3] - m[2] * m[2],
        m[0] * m[4] - m[2] * m[2],
        m[1] * m[2] - m[0] * m[3],
        m[0] * m[2] - m[1] * m[1],
    ];
    let det = m[0] * c[0] + m[1] * c[1] + m[2] * c[2];
    if !(det > 1e-10 * m[0] * m[0] * m[0]) {
        return None;
    }
    let q = [
        x[0] * c[0] + x[1] * c[1] + x[2] * c[2],
        x[0] * c[1] + x[1] * c[3] + x[2] * c[4],
        x[0] * c[2] + x[1] * c[4] + x[2] * c[5],
    ]
    .map(|v| v * (1.0 / det));
    let left = square - (0..3).map(|k| q[k].dot(x[k])).sum::<f64>();
    let rms = libm::sqrt(left.max(0.0) / (2.0 * points.len() as f64 - 6.0).max(1.0));
    let q = [q[0], q[1] * (1.0 / size), q[2] * (1.0 / (size * size))];
    Some(Near { q, origin, rms, slope: libm::sqrt(c[3] / det) / size })
}
