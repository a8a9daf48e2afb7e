//! Mending an outline by hand: drag, replace a stretch, make round or sharp, add and take away a knot.

use super::bezier::{Cubic, between};
use super::fit::{FitOptions, fit_path};
use super::piece::{Sample, piece};
use super::{Curve, Place, Point, Segment, Space, Vector, angle_between};
use crate::words::Say;

/// Directions that differ by less join smoothly, rad (15°).
const SMOOTH: f64 = 0.26;

impl<S: Space> Curve<S> {
    /// A knot put in at `place`, the outline unchanged; its number is the place's piece. One that stands there already
    /// is left as it is.
    ///
    /// # Errors
    /// `plane.no-knot` for a place that isn't on the outline.
    pub fn add_knot(&self, place: Place) -> Result<(Curve<S>, usize), Say> {
        let (Some(cubic), true) = (self.cubic(place.segment), (0.0..=1.0).contains(&place.t)) else {
            return Err(Say::new("plane.no-knot"));
        };
        let n = self.segments.len();
        if place.t < 1e-9 || place.t > 1.0 - 1e-9 {
            let knot = if place.t < 0.5 { (place.segment + n - 1) % n } else { place.segment };
            return Ok((self.clone(), knot));
        }
        let mut curve = self.clone();
        let old = self.segments[place.segment];
        let [first, last] = if old.straight {
            let middle = between(cubic.0[0], cubic.0[3], place.t);
            [Cubic::straight(cubic.0[0], middle), Cubic::straight(middle, cubic.0[3])]
        } else {
            cubic.split(place.t)
        };
        let part = |c: Cubic<S>, corner: bool| Segment { corner, straight: old.straight, ..Segment::from(c) };
        curve.segments.splice(place.segment..=place.segment, [part(first, false), part(last, old.corner)]);
        Ok((curve, place.segment))
    }

    /// The outline without knot `k`: the two pieces beside it become the one that passes nearest to them.
    ///
    /// # Errors
    /// `plane.no-knot` for a number that is no knot's; `plane.last-knots` where fewer than two would be left.
    pub fn remove_knot(&self, k: usize) -> Result<Curve<S>, Say> {
        let n = self.segments.len();
        let next = (k + 1) % n.max(1);
        let (Some(before), Some(after)) = (self.cubic(k), self.cubic(next)) else {
            return Err(Say::new("plane.no-knot"));
        };
        if n < 3 {
            return Err(Say::new("plane.last-knots"));
        }
        let (old, beyond) = (self.segments[k], self.segments[next]);
        let joined = if old.straight && beyond.straight {
            Segment { straight: true, ..Segment::from(Cubic::straight(before.0[0], after.0[3])) }
        } else {
            Segment::from(one_for_two(&before, &after))
        };
        let mut curve = self.clone();
        curve.segments[next] = Segment { corner: beyond.corner, ..joined };
        curve.segments.remove(k);
        Ok(curve)
    }

    /// The outline with knot `k` made a corner; nothing moves.
    ///
    /// # Errors
    /// `plane.no-knot` for a number that is no knot's.
    pub fn sharp(&self, k: usize) -> Result<Curve<S>, Say> {
        let mut curve = self.clone();
        curve.segments.get_mut(k).ok_or_else(|| Say::new("plane.no-knot"))?.corner = true;
        Ok(curve)
    }

    /// The outline with knot `k` made round: both pieces run through it in one direction, half way between theirs; straight
    /// ones bend.
    ///
    /// # Errors
    /// `plane.no-knot` for a number that is no knot's.
    pub fn round(&self, k: usize) -> Result<Curve<S>, Say> {
        let n = self.segments.len();
        let (Some(before), Some(after)) = (self.cubic(k), self.cubic((k + 1) % n.max(1))) else {
            return Err(Say::new("plane.no-knot"));
        };
        let p = before.0[3];
        let (u, v) = (before.tangent(1.0), after.tangent(0.0));
        let sum = u.unwrap_or_default() + v.unwrap_or_default();
        // Where it turns right back: square to it.
        let along = if sum.length() > 1e-6 { sum } else { u.map_or(sum, |u| Vector::new(-u.y, u.x)) };
        let along = along * (1.0 / along.length().max(1e-300));
        let mut curve = self.clone();
        let next = (k + 1) % n;
        let handle = |c: Point<S>, far: Point<S>| p.distance(c).max(p.distance(far) / 3.0);
        let (c2, c1) = (handle(before.0[2], before.0[0]), handle(after.0[1], after.0[3]));
        (curve.segments[k].c2, curve.segments[k].corner) = (p + along * -c2, false);
        curve.segments[next].c1 = p + along * c1;
        (curve.segments[k].straight, curve.segments[next].straight) = (false, false);
        Ok(curve)
    }

    /// The outline with `place` moved by `by`; the move dies away along the outline, to nothing at `reach` to either side or
    /// at the next corner. A corner that is dragged takes what lies to either side along in the same way.
    ///
    /// # Units
    /// `reach` in the space's unit, > 0.
    ///
    /// # Errors
    /// `plane.no-knot` for a place that isn't on the outline; `plane.tolerance` for a reach or a move that is no length.
    pub fn drag(&self, place: Place, by: Vector<S>, reach: f64) -> Result<Curve<S>, Say> {
        if !(reach > 0.0 && (by.x + by.y + reach).is_finite()) {
            return Err(Say::new("plane.tolerance"));
        }
        let (mut curve, knot) = self.add_knot(place)?;
        let n = curve.segments.len();
        let lengths: Vec<f64> = curve.cubics().map(|c| c.length()).collect();
        let mut share = vec![0.0_f64; n];
        share[knot] = 1.0;
        for forward in [true, false] {
            let (mut k, mut run) = (knot, 0.0);
            for _ in 0..n {
                let next = if forward { (k + 1) % n } else { (k + n - 1) % n };
                run += lengths[if forward { next } else { k }];
                if run >= reach || next == knot || curve.segments[next].corner {
                    break;
                }
                let u = run / reach;
                share[next] = share[next].max((1.0 - u * u) * (1.0 - u * u));
                k = next;
            }
        }
        for (k, share) in share.into_iter().enumerate() {
            let (here, next) = (by * share, (k + 1) % n);
            curve.segments[k].c2 = curve.segments[k].c2 + here;
            curve.segments[k].p = curve.segments[k].p + here;
            curve.segments[next].c1 = curve.segments[next].c1 + here;
        }
        curve.straighten();
        Ok(curve)
    }

    /// The outline with what runs from `from` on to `to` replaced by a curve through `path`, drawn from the one to the
    /// other, within `tolerance`. Where the new meets the old at an angle there is a corner.
    ///
    /// # Errors
    /// `plane.no-knot` for places that aren't on the outline, or are one; `plane.outline-…`, `plane.tolerance` as
    /// [`fit_path`].
    pub fn replace(
        &self,
        from: Place,
        to: Place,
        path: &[Point<S>],
        tolerance: f64,
        options: &FitOptions,
    ) -> Result<Curve<S>, Say> {
        let none = || Say::new("plane.no-knot");
        let (start, end) = (self.at(from).ok_or_else(none)?, self.at(to).ok_or_else(none)?);
        let mut points = vec![start];
        points.extend(path.iter().filter(|p| **p != start && **p != end));
        points.push(end);
        let mut new = fit_path(&points, tolerance, options)?;
        let kept = self.stretch(to, from).ok_or_else(none)?;
        let (Some(last), Some(first)) = (kept.last().copied(), kept.first().copied()) else {
            return Err(none());
        };
        let n = new.len();
        let mut curve = Curve { segments: kept };
        curve.segments.append(&mut new);
        // The old stretch comes first, and begins where the new one ends.
        let old = curve.segments.len() - n;
        let smooth = |curve: &Curve<S>, k: usize| {
            let (a, b) =
                (curve.cubic(k)?.tangent(1.0)?, curve.cubic((k + 1) % curve.segments.len())?.tangent(0.0)?);
            Some(angle_between(a, b) < SMOOTH)
        };
        for (k, was) in [(old - 1, last.straight), (old + n - 1, first.straight)] {
            let join = smooth(&curve, k).unwrap_or(false);
            let next = (k + 1) % curve.segments.len();
            let bends = !was && !curve.segments[k].straight && !curve.segments[next].straight;
            curve.segments[k].corner = !(join && bends);
            if join && bends {
                curve = curve.round(k)?;
            }
        }
        Ok(curve)
    }

    /// The pieces from one place on to another, as an open path.
    fn stretch(&self, from: Place, to: Place) -> Option<Vec<Segment<S>>> {
        let end = self.at(to)?;
        // The far place first, so that the number of the near one still holds if it comes before.
        let (with_one, knot) = self.add_knot(from).ok()?;
        let again = with_one.nearest(end)?.0;
        let again = if to.segment == from.segment && again.segment == knot && to.t > from.t {
            Place { segment: (knot + 1) % with_one.segments.len(), t: 0.0 }
        } else {
            again
        };
        let (with_both, last) = with_one.add_knot(again).ok()?;
        let n = with_both.segments.len();
        let first = if n > with_one.segments.len() && last <= knot { knot + 1 } else { knot };
        if first == last {
            return None;
        }
        let count = (last + n - first) % n;
        Some((1..=count).filter_map(|k| with_both.segments.get((first + k) % n).copied()).collect())
    }

    /// Puts the control points of straight pieces back onto them, and turns the handles beside them that must follow.
    fn straighten(&mut self) {
        let n = self.segments.len();
        for k in 0..n {
            let (Some(start), s) = (self.start(k), self.segments[k]) else { continue };
            if !s.straight {
                continue;
            }
            let Cubic([_, c1, c2, _]) = Cubic::straight(start, s.p);
            (self.segments[k].c1, self.segments[k].c2) = (c1, c2);
            let (before, after) = ((k + n - 1) % n, (k + 1) % n);
            let along = (s.p - start) * (1.0 / (s.p - start).length().max(1e-300));
            if !self.segments[before].corner && !self.segments[before].straight {
                self.segments[before].c2 = start + along * -start.distance(self.segments[before].c2);
            }
            if !s.corner && !self.segments[after].straight {
                self.segments[after].c1 = s.p + along * s.p.distance(self.segments[after].c1);
            }
        }
    }
}

/// One piece for two in succession, with their outer ends and directions.
fn one_for_two<S: Space>(before: &Cubic<S>, after: &Cubic<S>) -> Cubic<S> {
    let mut samples: Vec<Sample<S>> = Vec::new();
    let mut run = 0.0;
    for c in [before, after] {
        for i in 0..=12 {
            let t = f64::from(i) / 12.0;
            let at = c.at(t);
            run += samples.last().map_or(0.0, |s| s.at.distance(at));
            if let Some(along) = c.tangent(t) {
                samples.push(Sample { at, along, run });
            }
        }
    }
    let plain = Cubic([before.0[0], before.0[1], after.0[2], after.0[3]]);
    piece(&samples, 1e-9 * run).map_or(plain, |p| p.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Real, fit};
    use proptest::prelude::*;
    use std::f64::consts::TAU;

    type P = Point<Real>;

    fn circle(r: f64) -> Curve<Real> {
        let ring: Vec<P> = (0..600)
            .map(|i| TAU * f64::from(i) / 600.0)
            .map(|t| P::new(r * libm::cos(t), r * libm::sin(t)))
            .collect();
        fit(&ring, 0.05, &FitOptions::default()).unwrap().curve
    }

    fn square() -> Curve<Real> {
        Curve::polygon(&[[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]].map(P::from))
    }

    fn turns(c: &Curve<Real>, k: usize) -> f64 {
        let next = (k + 1) % c.segments.len();
        angle_between(c.cubic(k).unwrap().tangent(1.0).unwrap(), c.cubic(next).unwrap().tangent(0.0).unwrap())
    }

    #[test]
    fn knots_come_and_go() {
        let c = circle(50.0);
        let (more, k) = c.add_knot(Place { segment: 1, t: 0.3 }).unwrap();
        assert_eq!((more.segments.len(), k), (c.segments.len() + 1, 1));
        assert!((more.signed_area() - c.signed_area()).abs() < 1e-9);
        let less = more.remove_knot(k).unwrap();
        assert!((less.signed_area() - c.signed_area()).abs() < 1e-3 * c.signed_area());
        assert!(less.flatten(0.01).iter().all(|p| (p.distance(P::default()) - 50.0).abs() < 0.1));
        let (six, _) = square().add_knot(Place { segment: 1, t: 0.5 }).unwrap();
        assert!(six.segments.iter().all(|s| s.straight) && six.signed_area() == 100.0);
        assert_eq!(six.remove_knot(1).unwrap().signed_area(), 100.0);
        for (bad, key) in [
            (c.add_knot(Place { segment: 99, t: 0.5 }).map(|c| c.0), "plane.no-knot"),
            (c.add_knot(Place { segment: 0, t: f64::NAN }).map(|c| c.0), "plane.no-knot"),
            (c.remove_knot(99), "plane.no-knot"),
            (c.round(99), "plane.no-knot"),
            (c.sharp(99), "plane.no-knot"),
            (Curve::<Real>::default().remove_knot(0), "plane.no-knot"),
            (c.drag(Place { segment: 0, t: 0.5 }, Vector::new(1.0, 0.0), f64::NAN), "plane.tolerance"),
        ] {
            assert_eq!(bad.unwrap_err().key, key);
        }
    }

    #[test]
    fn round_and_sharp() {
        let c = square().round(2).unwrap();
        assert!(!c.segments[2].corner && turns(&c, 2) < 1e-9, "{}", turns(&c, 2));
        assert!(c.sharp(2).unwrap().segments[2].corner);
        assert!(c.segments[0].straight && !c.segments[2].straight);
    }

    /// Smooth stays smooth, what lies beyond the reach stays where it was, and the place goes where it is dragged.
    #[test]
    fn a_drag_dies_away() {
        let c = circle(50.0);
        let place = Place { segment: 0, t: 0.4 };
        let (at, by) = (c.at(place).unwrap(), Vector::new(3.0, -4.0));
        let d = c.drag(place, by, 60.0).unwrap();
        assert!(d.nearest(at + by).unwrap().1 < 1e-9);
        assert!((0..d.segments.len()).all(|k| turns(&d, k) < 1e-6));
        let far = P::new(-at.x, -at.y);
        assert!(d.nearest(far).unwrap().1 < 0.06);
        // A square's corner takes its two sides along, and no other.
        let s = square().drag(Place { segment: 2, t: 1.0 }, Vector::new(2.0, 2.0), 30.0).unwrap();
        assert!(s.segments.iter().all(|s| s.straight && s.corner));
        // Shoelace by hand: (0,0) (10,0) (12,12) (0,10).
        assert!((s.signed_area() - 120.0).abs() < 1e-9, "{}", s.signed_area());
    }

    #[test]
    fn a_stretch_is_replaced() {
        // A tooth on the lower side of a square: by hand, a triangle of base 4 and height 3 more.
        let c = square();
        let on = |x: f64, y: f64| c.nearest(P::new(x, y)).unwrap().0;
        let tooth = [P::new(5.0, 13.0)];
        let new = c.replace(on(7.0, 10.0), on(3.0, 10.0), &tooth, 0.01, &FitOptions::default()).unwrap();
        assert!((new.signed_area() - 106.0).abs() < 1e-6, "{} {new:?}", new.signed_area());
        // Round the corner the other way: all but the tooth's base is thrown away.
        let rest = c.replace(on(3.0, 10.0), on(7.0, 10.0), &tooth, 0.01, &FitOptions::default()).unwrap();
        assert!((rest.signed_area().abs() - 6.0).abs() < 1e-6, "{}", rest.signed_area());
        // Across a corner.
        let cut = c.replace(on(10.0, 4.0), on(6.0, 10.0), &[], 0.01, &FitOptions::default()).unwrap();
        assert!((cut.signed_area() - (100.0 - 12.0)).abs() < 1e-6, "{}", cut.signed_area());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(64))]
        #[test]
        fn whatever_is_done_stays_finite(segment in 0..6_usize, t in 0.0..1.0f64, other in 0.0..1.0f64, x in -99.0..99.0f64, reach in 0.1..200.0f64) {
            for c in [circle(20.0), square()] {
                let place = Place { segment, t };
                for done in [
                    c.drag(place, Vector::new(x, -x), reach),
                    c.add_knot(place).map(|c| c.0),
                    c.remove_knot(segment),
                    c.round(segment),
                    c.replace(place, Place { segment: 0, t: other }, &[P::new(x, x)], 0.1, &FitOptions::default()),
                ].into_iter().flatten() {
                    prop_assert!(done.is_finite() && !done.segments.is_empty());
                }
            }
        }
    }
}
