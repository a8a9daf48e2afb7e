//! One cubic Bézier piece: where it is, how long, how it bends.
//!
//! # References
//! de Casteljau's construction and the hull property: Farin, Curves and Surfaces for CAGD, 5th ed., ch. 4–5 [memory].

use super::{Point, Space, Vector};

/// Nodes and weights of the eight-point Gauss–Legendre rule on −1..1 (each also at −node): exact to degree 15.
///
/// # References
/// Abramowitz & Stegun, Handbook of Mathematical Functions, table 25.4.
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_3),
];

/// A cubic from its first point to its last, drawn towards the two between.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Cubic<S: Space>(pub [Point<S>; 4]);

/// From `a` to `b`, `t` of the way.
pub(super) fn between<S: Space>(a: Point<S>, b: Point<S>, t: f64) -> Point<S> {
    a + (b - a) * t
}

/// ∫ f over `from`..`to` by the eight-point rule.
pub(super) fn integral(from: f64, to: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (middle, half) = ((from + to) / 2.0, (to - from) / 2.0);
    GAUSS.iter().map(|(x, w)| w * (f(middle - half * x) + f(middle + half * x))).sum::<f64>() * half
}

impl<S: Space> Cubic<S> {
    /// The straight piece from `a` to `b`, run through evenly.
    pub fn straight(a: Point<S>, b: Point<S>) -> Self {
        Cubic([a, between(a, b, 1.0 / 3.0), between(a, b, 2.0 / 3.0), b])
    }

    /// Where it is at `t` from 0 to 1.
    pub fn at(&self, t: f64) -> Point<S> {
        let [a, b, c, d] = &self.0;
        let u = 1.0 - t;
        let (k1, k2, k3) = (3.0 * u * u * t, 3.0 * u * t * t, t * t * t);
        // About the first point, so that large coordinates lose nothing.
        *a + (*b - *a) * k1 + (*c - *a) * k2 + (*d - *a) * k3
    }

    /// d(place)/dt at `t`, in the space's unit.
    pub fn velocity(&self, t: f64) -> Vector<S> {
        let [a, b, c, d] = &self.0;
        let u = 1.0 - t;
        (*b - *a) * (3.0 * u * u) + (*c - *b) * (6.0 * u * t) + (*d - *c) * (3.0 * t * t)
    }

    /// d²(place)/dt² at `t`, in the space's unit.
    pub fn acceleration(&self, t: f64) -> Vector<S> {
        let [first, second] = self.second_differences();
        first * (6.0 * (1.0 - t)) + second * (6.0 * t)
    }

    fn second_differences(&self) -> [Vector<S>; 2] {
        let [a, b, c, d] = &self.0;
        [(*a - *b) + (*c - *b), (*b - *c) + (*d - *c)]
    }

    /// The unit step along it at `t`; at an end whose control point coincides with it, the step that it tends
    /// to. Nothing where all four points are one.
    pub fn tangent(&self, t: f64) -> Option<Vector<S>> {
        let [a, b, c, d] = &self.0;
        let size = (*b - *a).length().max((*c - *a).length()).max((*d - *a).length());
        let own = self.velocity(t);
        let tries = if t < 0.5 { [own, *c - *a, *d - *a] } else { [own, *d - *b, *d - *a] };
        tries.into_iter().find_map(|v| {
            let length = v.length();
            (length > 1e-9 * size && length.is_finite()).then(|| v * (1.0 / length))
        })
    }

    /// Curvature at `t`, 1/unit: positive when it turns clockwise as seen on a screen (y down). Infinite at a cusp.
    pub fn curvature(&self, t: f64) -> f64 {
        let v = self.velocity(t);
        let speed = v.length();
        v.cross(self.acceleration(t)) / (speed * speed * speed)
    }

    /// The two pieces before and after `t`.
    pub fn split(&self, t: f64) -> [Self; 2] {
        let [a, b, c, d] = self.0;
        let (ab, bc, cd) = (between(a, b, t), between(b, c, t), between(c, d, t));
        let (abc, bcd) = (between(ab, bc, t), between(bc, cd, t));
        let middle = between(abc, bcd, t);
        [Cubic([a, ab, abc, middle]), Cubic([middle, bcd, cd, d])]
    }

    /// The same piece the other way round.
    pub fn reversed(&self) -> Self {
        let [a, b, c, d] = self.0;
        Cubic([d, c, b, a])
    }

    /// Its length, in the space's unit, to about 1e-12 of itself (1e-7 beside a cusp).
    ///
    /// Gauss's rule on the whole is held against itself on the halves, which are halved in turn until both agree.
    pub fn length(&self) -> f64 {
        let speed = |t: f64| self.velocity(t).length();
        let whole = integral(0.0, 1.0, speed);
        let mut open = vec![(0.0, 1.0, whole, 0)];
        let mut sum = 0.0;
        while let Some((from, to, one, depth)) = open.pop() {
            let middle = (from + to) / 2.0;
            let halves = [integral(from, middle, speed), integral(middle, to, speed)];
            let two = halves[0] + halves[1];
            if depth >= 20 || !((two - one).abs() > 1e-13 * whole) {
                sum += two;
            } else {
                open.push((middle, to, halves[1], depth + 1));
                open.push((from, middle, halves[0], depth + 1));
            }
        }
        sum
    }

    /// Twice the signed area between it and `origin`, in the space's unit squared.
    ///
    /// # References
    /// Green's theorem: ∫ (x·y' − y·x') dt of a cubic in Bernstein form is the sum of
    /// cross products below; worked out term by term, and the same for a straight piece as p₀ × p₃.
    pub(super) fn twice_area(&self, origin: Point<S>) -> f64 {
        let [a, b, c, d] = self.0.map(|p| p - origin);
        (6.0 * a.cross(b)
            + 3.0 * a.cross(c)
            + a.cross(d)
            + 3.0 * b.cross(c)
            + 3.0 * b.cross(d)
            + 6.0 * c.cross(d))
            / 10.0
    }

    /// Left, top, right, bottom.
    pub fn bounds(&self) -> [f64; 4] {
        let [a, _, _, d] = self.0;
        let mut bounds = [a.x.min(d.x), a.y.min(d.y), a.x.max(d.x), a.y.max(d.y)];
        let [p, q, r] = [0, 1, 2].map(|i| self.0[i + 1] - self.0[i]);
        let turns = |p: f64, q: f64, r: f64| quadratic_roots(p, 2.0 * (q - p), p - 2.0 * q + r);
        for t in turns(p.x, q.x, r.x).into_iter().chain(turns(p.y, q.y, r.y)) {
            if t > 0.0 && t < 1.0 {
                let at = self.at(t);
                bounds = [bounds[0].min(at.x), bounds[1].min(at.y), bounds[2].max(at.x), bounds[3].max(at.y)];
            }
        }
        bounds
    }

    /// How many equal steps of `t` make chords within `tolerance` of the piece.
    ///
    /// # References
    /// A chord over a step h lies within h²/8 · max|second derivative|: Filip, Magedson & Markot, CAGD 3 (1986) 295.
    pub(super) fn steps(&self, tolerance: f64) -> usize {
        let [first, second] = self.second_differences();
        let most = 6.0 * first.length().max(second.length());
        let steps = libm::ceil(libm::sqrt(most / (8.0 * tolerance)));
        // Bounded, whatever is asked.
        if steps >= 1.0 { (steps as usize).min(1000) } else { 1 }
    }

    /// The `t` of the place nearest to `p`, and its distance in the space's unit.
    ///
    /// Newton's steps on the distance's slope from each of a few places evenly spread that is nearer than its neighbours.
    pub fn nearest(&self, p: Point<S>) -> (f64, f64) {
        const PLACES: usize = 16;
        let t = |i: usize| i as f64 / PLACES as f64;
        let square = |t: f64| {
            let d = self.at(t) - p;
            d.dot(d)
        };
        let far: [f64; PLACES + 1] = std::array::from_fn(|i| square(t(i)));
        let mut best = (0.0, f64::INFINITY);
        for i in 0..=PLACES {
            if far[i] > far[i.saturating_sub(1)] || far[i] > far[(i + 1).min(PLACES)] {
                continue;
            }
            let settled = self.settle(p, t(i));
            for (t, far) in [(settled, square(settled)), (t(i), far[i])] {
                if far < best.1 {
                    best = (t, far);
                }
            }
        }
        (best.0, libm::sqrt(best.1))
    }

    /// The foot of `p` on the piece, by Newton's steps from `t`.
    pub(super) fn settle(&self, p: Point<S>, mut t: f64) -> f64 {
        for _ in 0..12 {
            let next = self.towards(p, t);
            if (next - t).abs() < 1e-12 {
                return next;
            }
            t = next;
        }
        t
    }

    /// One such step, kept within 0 to 1.
    pub(super) fn towards(&self, p: Point<S>, t: f64) -> f64 {
        let (d, v, a) = (self.at(t) - p, self.velocity(t), self.acceleration(t));
        let (slope, full) = (d.dot(v), v.dot(v) + d.dot(a));
        // Where the distance bends the wrong way Newton would climb: the step of Gauss–Newton never does.
        let bend = if full > 0.1 * v.dot(v) { full } else { v.dot(v) };
        let step = slope / bend;
        if step.is_finite() { (t - step.clamp(-0.25, 0.25)).clamp(0.0, 1.0) } else { t }
    }
}

/// Real roots of c + b·t + a·t² = 0, without cancellation.
///
/// # References
/// Press et al., Numerical Recipes, 3rd ed., 5.6.
fn quadratic_roots(c: f64, b: f64, a: f64) -> [f64; 2] {
    let under = b * b - 4.0 * a * c;
    if !(under >= 0.0) {
        return [f64::NAN; 2];
    }
    let q = -0.5 * (b + libm::copysign(libm::sqrt(under), b));
    [q / a, c / q]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Real;
    use kurbo::{
        ParamCurve, ParamCurveArclen, ParamCurveArea, ParamCurveCurvature, ParamCurveExtrema,
        ParamCurveNearest,
    };
    use proptest::prelude::*;

    fn both(c: [[f64; 2]; 4]) -> (Cubic<Real>, kurbo::CubicBez) {
        let k = c.map(|[x, y]| kurbo::Point::new(x, y));
        (Cubic(c.map(Point::from)), kurbo::CubicBez::new(k[0], k[1], k[2], k[3]))
    }

    fn corners() -> impl Strategy<Value = [[f64; 2]; 4]> {
        prop::array::uniform4(prop::array::uniform2(-50.0..50.0f64))
    }

    proptest! {
        /// Against kurbo, an open library of curves: place, length, area, bend, bounds, nearest.
        #[test]
        fn as_another_library_has_it(c in corners(), t in 0.0..1.0f64, p in prop::array::uniform2(-60.0..60.0f64)) {
            let (ours, theirs) = both(c);
            let (a, b) = (ours.at(t), theirs.eval(t));
            prop_assert!((a.x - b.x).abs() + (a.y - b.y).abs() < 1e-11);
            prop_assert!((ours.length() - theirs.arclen(1e-10)).abs() < 1e-6, "{} {}", ours.length(), theirs.arclen(1e-10));
            prop_assert!((ours.twice_area(Point::default()) / 2.0 - theirs.signed_area()).abs() < 1e-8);
            let box_ = theirs.bounding_box();
            for (l, r) in ours.bounds().into_iter().zip([box_.x0, box_.y0, box_.x1, box_.y1]) {
                prop_assert!((l - r).abs() < 1e-6, "{l} {r}");
            }
            let bend = theirs.curvature(t);
            // Theirs turns the other way, and near a cusp all digits cancel.
            let slow = ours.velocity(t).length() < 1.0;
            prop_assert!(slow || (ours.curvature(t) + bend).abs() < 1e-6 * (1.0 + bend.abs()));
            let near = theirs.nearest(kurbo::Point::new(p[0], p[1]), 1e-9).distance_sq.sqrt();
            prop_assert!((ours.nearest(p.into()).1 - near).abs() < 1e-3, "{} {near}", ours.nearest(p.into()).1);
        }

        #[test]
        fn what_is_split_lies_on_the_whole(c in corners(), at in 0.0..1.0f64, t in 0.0..1.0f64) {
            let ours = both(c).0;
            let [first, last] = ours.split(at);
            prop_assert!(first.at(t).distance(ours.at(at * t)) < 1e-10);
            prop_assert!(last.at(t).distance(ours.at(at + (1.0 - at) * t)) < 1e-10);
            prop_assert!(ours.reversed().at(t).distance(ours.at(1.0 - t)) < 1e-10);
            let whole = ours.length();
            prop_assert!((first.length() + last.length() - whole).abs() < 1e-6 * (1.0 + whole));
        }

        #[test]
        fn chords_stay_within_the_tolerance(c in corners(), tolerance in 0.01..1.0f64) {
            let ours = both(c).0;
            let n = ours.steps(tolerance);
            for i in 0..n {
                let t = |k: f64| (i as f64 + k) / n as f64;
                let middle = between(ours.at(t(0.0)), ours.at(t(1.0)), 0.5);
                prop_assert!(ours.at(t(0.5)).distance(middle) <= tolerance);
            }
        }
    }

    /// Nothing of all this may trap on one point four times over.
    #[test]
    fn a_piece_without_length() {
        let one = Cubic([Point::<Real>::new(3.0, 4.0); 4]);
        assert_eq!((one.length(), one.tangent(0.5), one.steps(0.1)), (0.0, None, 1));
        assert_eq!(one.nearest(Point::new(0.0, 0.0)).1, 5.0);
        assert_eq!(one.bounds(), [3.0, 4.0, 3.0, 4.0]);
    }
}
