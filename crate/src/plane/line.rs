//! Straight lines.

use super::{Point, Space, Vector};

/// A straight line through `at`, running along the unit step `along`.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Line<S: Space> {
    /// A point on it.
    pub at: Point<S>,
    /// Which way it runs; its length is 1.
    pub along: Vector<S>,
}

impl<S: Space> Line<S> {
    /// The line from `a` through `b`; `None` when they are the same place or not finite.
    pub fn through(a: Point<S>, b: Point<S>) -> Option<Line<S>> {
        let step = b - a;
        let length = step.length();
        (length > 0.0 && length.is_finite() && a.is_finite())
            .then(|| Line { at: a, along: step * (1.0 / length) })
    }

    /// How far along the line, from `at`, the foot of `p` is. In the space's unit, signed.
    pub fn run(&self, p: Point<S>) -> f64 {
        (p - self.at).dot(self.along)
    }

    /// The point of the line nearest to `p`.
    pub fn foot(&self, p: Point<S>) -> Point<S> {
        self.at + self.along * self.run(p)
    }

    /// How far `p` lies from the line, in the space's unit; positive to the right of it as seen on a
    /// screen (y down), looking along it.
    pub fn distance(&self, p: Point<S>) -> f64 {
        self.along.cross(p - self.at)
    }

    /// `p` as a mirror on the line shows it.
    pub fn mirrored(&self, p: Point<S>) -> Point<S> {
        p + (self.foot(p) - p) * 2.0
    }

    /// Where the two lines meet; `None` when they are parallel to within rounding.
    pub fn crossing(&self, other: &Line<S>) -> Option<Point<S>> {
        let sine = self.along.cross(other.along);
        let run = (other.at - self.at).cross(other.along) / sine;
        (sine.abs() > 1e-14 && run.is_finite()).then(|| self.at + self.along * run)
    }

    /// The angle between the two lines, 0 to π/2 rad, whichever way they run.
    pub fn angle_to(&self, other: &Line<S>) -> f64 {
        libm::atan2(self.along.cross(other.along).abs(), self.along.dot(other.along).abs())
    }
}

/// The angle between two steps, 0 to π rad; right near 0 and π, where an arc cosine isn't. 0 when either
/// has no length.
///
/// # References
/// Kahan, "How futile are mindless assessments of roundoff", §12: use atan2(|a×b|, a·b). (memory)
pub fn angle_between<S: Space>(a: Vector<S>, b: Vector<S>) -> f64 {
    libm::atan2(a.cross(b).abs(), a.dot(b))
}

/// The distance of `p` from the straight piece between `a` and `b`, in the space's unit.
pub fn from_segment<S: Space>(p: Point<S>, a: Point<S>, b: Point<S>) -> f64 {
    let (v, w) = (b - a, p - a);
    let long = v.dot(v);
    let t = if long > 0.0 { (w.dot(v) / long).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(a + v * t)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Real;
    use proptest::prelude::*;

    fn point(x: f64, y: f64) -> Point<Real> {
        Point::new(x, y)
    }

    /// Worked by hand on 3-4-5 triangles.
    #[test]
    fn by_hand() {
        let line = Line::through(point(0.0, 0.0), point(8.0, 6.0)).unwrap();
        assert!((line.along.x - 0.8).abs() < 1e-15 && (line.along.y - 0.6).abs() < 1e-15);
        let p = point(5.0, -2.5);
        assert!(line.foot(p).distance(point(2.0, 1.5)) < 1e-12);
        assert!((line.distance(p) + 5.0).abs() < 1e-12, "left of it");
        assert!((line.run(p) - 2.5).abs() < 1e-12);
        let across = Line::through(point(0.0, 10.0), point(1.0, 10.0)).unwrap();
        assert!(line.crossing(&across).unwrap().distance(point(40.0 / 3.0, 10.0)) < 1e-12);
        assert!((line.angle_to(&across) - libm::atan2(3.0, 4.0)).abs() < 1e-12);
        assert_eq!(line.crossing(&Line { at: p, ..line }), None);
        assert_eq!(Line::through(p, p), None);
        let half_turn = angle_between(Vector::<Real>::new(1.0, 0.0), Vector::new(-1.0, 1e-9));
        assert!((half_turn - (std::f64::consts::PI - 1e-9)).abs() < 1e-15);
    }

    proptest! {
        #[test]
        fn the_foot_is_square_on(c in prop::array::uniform6(-50.0..50.0f64)) {
            let (a, b, p) = (point(c[0], c[1]), point(c[2], c[3]), point(c[4], c[5]));
            prop_assume!(a.distance(b) > 1e-3);
            let line = Line::through(a, b).unwrap();
            let drop = p - line.foot(p);
            prop_assert!(drop.dot(line.along).abs() < 1e-9);
            prop_assert!((drop.length() - line.distance(p).abs()).abs() < 1e-9);
            prop_assert!((line.distance(line.mirrored(p)) + line.distance(p)).abs() < 1e-9);
        }
    }
}
