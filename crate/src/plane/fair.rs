//! Fairing: a curve drawn as a batten would lie through it, its wiggles gone.
//!
//! Between corners and straights the curve is taken at places evenly apart, and each is moved square to it so that the sum of
//! squares of the moves, plus λ times that of the curvature's change along the curve, is least. A wave of length L is
//! then left with 1/(1 + λ·(2π/L)⁶) of its height: λ = (span/2π)⁶ halves waves as long as the span, leaves twice as long
//! ones all but alone and takes shorter ones out.
//!
//! # References
//! The minimum variation of curvature: Moreton & Séquin, Computer Graphics 26 (1992) 167. Smoothing against a penalty on
//! differences: Whittaker, Proceedings of the Edinburgh Mathematical Society 41 (1923) 63.

use super::band::Band;
use super::fit::{FitOptions, fit_path};
use super::{Curve, Point, Segment, Space, Vector, fit};
use crate::words::Say;
use std::f64::consts::TAU;

/// Places to a span, and to a piece of the curve: enough to see a wave of half that length well.
const PLACES_EACH: f64 = 24.0;

/// Places on a stretch at the most, whatever the span.
const MOST_PLACES: f64 = 4000.0;

/// A faired curve.
#[derive(Clone, Debug, PartialEq)]
pub struct Faired<S: Space> {
    /// The curve.
    pub curve: Curve<S>,
    /// The most that any place of it was moved, in the space's unit.
    pub moved: f64,
}

/// The curve with waves shorter than about `span` taken out, no place moved by more than `limit`; corners and straight pieces
/// stay where they are, and curves go on joining straights smoothly.
///
/// Where the whole move would pass the limit, the stretch is faired over a shorter span, so that it doesn't.
///
/// # Units
/// `span` and `limit` in the space's unit, > 0.
///
/// # Errors
/// `plane.tolerance` for a span or limit that is no length; `plane.outline-…` for a curve that is no outline.
pub fn fair<S: Space>(curve: &Curve<S>, span: f64, limit: f64) -> Result<Faired<S>, Say> {
    if !(span > 0.0 && limit > 0.0 && (span + limit).is_finite()) {
        return Err(Say::new("plane.tolerance"));
    }
    if curve.segments.is_empty() || !curve.is_finite() {
        return Err(Say::new("plane.outline-not-finite"));
    }
    // A tenth of the limit, or of the move, is left for the fit of what was moved.
    let most = 0.9 * limit;
    let n = curve.segments.len();
    let breaks: Vec<usize> = (0..n).filter(|&k| breaks_after(curve, k)).collect();
    if breaks.is_empty() {
        let ring = stretch(curve, 0, n, span);
        let moved = smoothed(&ring, span, most, true, [false; 2]);
        let new = fit(&moved, finely(&ring, &moved, limit), &smooth_only())?.curve;
        return Ok(told(curve, new));
    }
    let mut segments: Vec<Segment<S>> = Vec::new();
    for (i, &from) in breaks.iter().enumerate() {
        let to = breaks[(i + 1) % breaks.len()];
        let first = (from + 1) % n;
        let count = (to + n - from - 1) % n + 1;
        let (before, last) = (curve.segments[from], curve.segments[to]);
        if curve.segments[first].straight {
            segments.extend((0..count).map(|k| curve.segments[(first + k) % n]));
            continue;
        }
        // A join that is no corner is one with a straight.
        let held = [!before.corner, !last.corner];
        let places = stretch(curve, first, count, span);
        let moved = smoothed(&places, span, most, false, held);
        let mut pieces = fit_path(&moved, finely(&places, &moved, limit), &smooth_only())?;
        hold(curve, &mut pieces, first, to, held);
        if let Some(end) = pieces.last_mut() {
            end.corner = last.corner;
        }
        segments.extend(pieces);
    }
    Ok(told(curve, Curve { segments }))
}

/// How near the fit must come to what was moved: a tenth of the move, within reason.
fn finely<S: Space>(places: &[Point<S>], moved: &[Point<S>], limit: f64) -> f64 {
    0.1 * farthest(places, moved).min(limit).max(0.05 * limit)
}

fn farthest<S: Space>(one: &[Point<S>], other: &[Point<S>]) -> f64 {
    one.iter().zip(other).map(|(a, b)| a.distance(*b)).fold(0.0, f64::max)
}

/// Options for points that have no noise and no corners.
fn smooth_only() -> FitOptions {
    FitOptions { least_turn: 3.0, ..FitOptions::default() }
}

/// Is the knot after piece `k` a corner, or where a straight begins or ends?
fn breaks_after<S: Space>(curve: &Curve<S>, k: usize) -> bool {
    let next = (k + 1) % curve.segments.len();
    curve.segments[k].corner || curve.segments[k].straight || curve.segments[next].straight
}

/// Places evenly apart on `count` pieces from piece `first` on, both ends included.
fn stretch<S: Space>(curve: &Curve<S>, first: usize, count: usize, span: f64) -> Vec<Point<S>> {
    let n = curve.segments.len();
    let pieces: Vec<_> = (0..count).filter_map(|k| curve.cubic((first + k) % n)).collect();
    let whole: f64 = pieces.iter().map(|c| c.length()).sum();
    let places = (PLACES_EACH * (whole / span).max(count as f64)).clamp(200.0, MOST_PLACES);
    // Finely by each piece's own measure first, then evenly.
    let mut fine: Vec<Point<S>> = pieces.first().map(|c| c.0[0]).into_iter().collect();
    for c in &pieces {
        let parts = libm::ceil(4.0 * places * c.length() / whole.max(1e-300)).max(8.0) as usize;
        fine.extend((1..=parts).map(|k| c.at(k as f64 / parts as f64)));
    }
    even(&fine, places as usize)
}

/// `count` + 1 places evenly apart along a path, both ends included.
fn even<S: Space>(path: &[Point<S>], count: usize) -> Vec<Point<S>> {
    let mut run = vec![0.0];
    for w in path.windows(2) {
        run.push(run[run.len() - 1] + w[0].distance(w[1]));
    }
    let (whole, mut i) = (run[run.len() - 1], 0);
    let place = |k: usize| {
        let at = whole * k as f64 / count as f64;
        while i + 2 < path.len() && run[i + 1] < at {
            i += 1;
        }
        let (Some(p), Some(q)) = (path.get(i), path.get(i + 1)) else {
            return path.first().copied().unwrap_or_default();
        };
        let t = ((at - run[i]) / (run[i + 1] - run[i]).max(1e-300)).clamp(0.0, 1.0);
        *p + (*q - *p) * t
    };
    (0..=count).map(place).collect()
}

/// The places moved until they are fair, none by more than `most`.
fn smoothed<S: Space>(
    places: &[Point<S>],
    span: f64,
    most: f64,
    ring: bool,
    held: [bool; 2],
) -> Vec<Point<S>> {
    let mut span = span;
    for _ in 0..40 {
        let moved = batten(places, span, ring, held);
        let farthest = farthest(places, &moved);
        if farthest <= most {
            return moved;
        }
        // A wave's height left out grows with the sixth power of the span while little is left out.
        span *= libm::cbrt(libm::sqrt(most / farthest)).clamp(0.5, 0.97);
    }
    places.to_vec()
}

/// One such move: two turns, since the second sees the curve's true directions.
fn batten<S: Space>(places: &[Point<S>], span: f64, ring: bool, held: [bool; 2]) -> Vec<Point<S>> {
    // A ring is opened, with a part of it said again at either end, so that its seam is like any other place.
    let n = places.len() - usize::from(ring);
    let h = places.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>() / n as f64;
    let more = if ring { (n / 2).min((3.0 * span / h) as usize + 8) } else { 0 };
    let count = if ring { n + 2 * more } else { n };
    let original: Vec<Point<S>> = (0..count).map(|k| places[(k + n - more) % n]).collect();
    let mut now = original.clone();
    for _ in 0..2 {
        let Some(next) = moved_once(&original, &now, span, held) else { break };
        now = next;
    }
    if !ring {
        return now;
    }
    let mut back: Vec<Point<S>> = now[more..more + n].to_vec();
    back.extend(back.first().copied());
    back
}

/// The moves, square to the curve as it lies `now`, that make it fairest: κ changes by d″ + κ²·d with a move d.
fn moved_once<S: Space>(
    original: &[Point<S>],
    now: &[Point<S>],
    span: f64,
    held: [bool; 2],
) -> Option<Vec<Point<S>>> {
    let n = now.len();
    if n < 8 {
        return None;
    }
    let h = now.windows(2).map(|w| w[0].distance(w[1])).sum::<f64>() / (n - 1) as f64;
    let normal = |i: usize| {
        let step = now[(i + 1).min(n - 1)] - now[i.saturating_sub(1)];
        Vector::new(-step.y, step.x) * (1.0 / step.length().max(1e-300))
    };
    let normals: Vec<Vector<S>> = (0..n).map(normal).collect();
    // Curvature at each inner place, by the turn from step to step.
    let bend = |i: usize| {
        let (a, b) = (now[i] - now[i - 1], now[i + 1] - now[i]);
        libm::atan2(a.cross(b), a.dot(b)) / (0.5 * (a.length() + b.length())).max(1e-300)
    };
    let bends: Vec<f64> = (1..n - 1).map(bend).collect();
    let (mut band, mut b) = (Band::zero(n, 3), vec![0.0; n]);
    let stiff = to_sixth(span / TAU);
    for i in 0..n {
        // The move from the original is what counts, not that from the last turn.
        let pull = normals[i].dot(original[i] - now[i]);
        band.add_row(&[(i, 1.0)], pull, 1.0, &mut b);
    }
    for i in 1..n - 2 {
        let (k, l) = (bends[i - 1], bends[i]);
        let q = 1.0 / (h * h);
        // (κ at i + 1) − (κ at i), over h.
        let row =
            [(i - 1, -q / h), (i, (3.0 * q - k * k) / h), (i + 1, (-3.0 * q + l * l) / h), (i + 2, q / h)];
        band.add_row(&row, -(l - k) / h, stiff, &mut b);
    }
    // Ends stay; where a straight joins, so does the place beside, and with it the direction.
    let fast = 1e9 * (1.0 + stiff / (h * h * h * h * h * h));
    for (end, beside, held) in [(0, 1, held[0]), (n - 1, n - 2, held[1])] {
        band.add_row(&[(end, 1.0)], 0.0, fast, &mut b);
        if held {
            band.add_row(&[(beside, 1.0)], 0.0, fast, &mut b);
        }
    }
    band.solve(&mut b)?;
    let mut moved: Vec<Point<S>> = now.iter().zip(&normals).zip(&b).map(|((p, n), d)| *p + *n * *d).collect();
    (moved[0], moved[n - 1]) = (original[0], original[n - 1]);
    Some(moved)
}

/// Turns the end handles of a stretch into line with the straights that it joins.
fn hold<S: Space>(curve: &Curve<S>, pieces: &mut [Segment<S>], first: usize, to: usize, held: [bool; 2]) {
    let n = curve.segments.len();
    let (Some(start), Some(old), Some(beyond)) =
        (curve.start(first), curve.cubic((first + n - 1) % n), curve.cubic((to + 1) % n))
    else {
        return;
    };
    if let (true, Some(along), Some(piece)) = (held[0], old.tangent(1.0), pieces.first_mut()) {
        piece.c1 = start + along * start.distance(piece.c1);
    }
    if let (true, Some(along), Some(piece)) = (held[1], beyond.tangent(0.0), pieces.last_mut()) {
        piece.c2 = piece.p + along * -piece.p.distance(piece.c2);
    }
}

/// How far the new curve lies from the old at the most.
fn told<S: Space>(old: &Curve<S>, new: Curve<S>) -> Faired<S> {
    let mut moved = 0.0_f64;
    for c in new.cubics() {
        for k in 0..16 {
            if let Some((_, far)) = old.nearest(c.at(f64::from(k) / 16.0)) {
                moved = moved.max(far);
            }
        }
    }
    Faired { curve: new, moved }
}

/// The sixth power; a general one would weigh two kB.
fn to_sixth(x: f64) -> f64 {
    let cube = x * x * x;
    cube * cube
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::{Real, angle_between};

    type P = Point<Real>;

    /// A circle with `waves` waves of the given height round it.
    fn wavy(radius: f64, waves: f64, height: f64) -> Curve<Real> {
        let ring: Vec<P> = (0..2000)
            .map(|i| TAU * f64::from(i) / 2000.0)
            .map(|t| {
                let r = radius + height * libm::cos(waves * t);
                P::new(r * libm::cos(t), r * libm::sin(t))
            })
            .collect();
        fit(&ring, 0.02, &FitOptions::default()).unwrap().curve
    }

    fn off_circle(c: &Curve<Real>, radius: f64) -> f64 {
        c.flatten(0.001).iter().map(|p| (p.distance(P::default()) - radius).abs()).fold(0.0, f64::max)
    }

    /// Waves of length L on a circle of 100 keep 1/(1 + (span/L)⁶) of their height (the filter's closed form).
    #[test]
    fn waves_are_damped_as_the_form_says() {
        for (waves, span) in [(10.0, 63.0), (10.0, 200.0), (10.0, 40.0), (20.0, 31.0)] {
            let c = wavy(100.0, waves, 1.0);
            let f = fair(&c, span, 20.0).unwrap();
            let ratio = span / (TAU * 100.0 / waves);
            // On a circle the bend adds κ²·d to d″: (k² − 1) for k² in the form's two factors.
            let k = waves * waves;
            let expected = 1.0 / (1.0 + to_sixth(ratio) * (k - 1.0) * (k - 1.0) / (k * k));
            let left = off_circle(&f.curve, 100.0);
            println!(
                "{waves} waves, span {span}: left {left:.3}, by the form {expected:.3}, moved {:.3}",
                f.moved
            );
            assert!((left - expected).abs() < 0.1, "{waves} {span}: {left} {expected}");
            assert!((f.moved - (1.0 - expected)).abs() < 0.2, "{}", f.moved);
        }
    }

    /// What is fair already is let alone, and no place moves by more than the limit.
    #[test]
    fn fair_stays_and_the_limit_holds() {
        let f = fair(&wavy(100.0, 2.0, 20.0), 60.0, 1.0).unwrap();
        assert!(f.moved < 0.15, "{}", f.moved);
        for limit in [0.2, 0.5] {
            let f = fair(&wavy(100.0, 10.0, 1.0), 300.0, limit).unwrap();
            assert!(f.moved <= limit * 1.05 && f.moved > 0.3 * limit, "{} of {limit}", f.moved);
        }
    }

    /// A slot with wavy ends: its straights don't move, its joins stay smooth, its corner stays.
    #[test]
    fn straights_and_corners_stay() {
        let mut ring: Vec<P> = Vec::new();
        let wave = |t: f64| 50.0 + 0.8 * libm::sin(t * 12.0) * libm::sin(t) * libm::sin(t);
        for i in 0..400 {
            ring.push(P::new(-100.0 + 0.5 * f64::from(i), -50.0));
        }
        for i in 0..314 {
            let t = std::f64::consts::PI * f64::from(i) / 314.0;
            ring.push(P::new(100.0 + wave(t) * libm::sin(t), -wave(t) * libm::cos(t)));
        }
        for i in 0..400 {
            ring.push(P::new(100.0 - 0.5 * f64::from(i), 50.0));
        }
        ring.extend((0..200).map(|i| P::new(-100.0, 50.0 - 0.5 * f64::from(i))));
        let c = fit(&ring, 0.1, &FitOptions::default()).unwrap().curve;
        let f = fair(&c, 60.0, 2.0).unwrap();
        let straights =
            |c: &Curve<Real>| c.segments.iter().filter(|s| s.straight).map(|s| s.p).collect::<Vec<_>>();
        assert_eq!(straights(&c).len(), straights(&f.curve).len());
        assert!(straights(&c).iter().all(|p| straights(&f.curve).iter().any(|q| q.distance(*p) < 1e-9)));
        assert_eq!(f.curve.segments.iter().filter(|s| s.corner).count(), 2);
        let n = f.curve.segments.len();
        for k in 0..n {
            let (a, b) = (f.curve.cubic(k).unwrap(), f.curve.cubic((k + 1) % n).unwrap());
            assert!(a.0[3] == b.0[0]);
            let turn = angle_between(a.tangent(1.0).unwrap(), b.tangent(0.0).unwrap());
            assert!(f.curve.segments[k].corner || turn < 1e-6, "turns by {turn} at {:?}", a.0[3]);
        }
        assert!(f.moved > 0.2 && f.moved < 2.0, "{}", f.moved);
    }

    #[test]
    fn what_cannot_be_faired() {
        let c = wavy(100.0, 3.0, 1.0);
        assert_eq!(fair(&c, 0.0, 1.0).unwrap_err().key, "plane.tolerance");
        assert_eq!(fair(&c, 10.0, f64::NAN).unwrap_err().key, "plane.tolerance");
        assert_eq!(fair(&Curve::<Real>::default(), 1.0, 1.0).unwrap_err().key, "plane.outline-not-finite");
        let square = Curve::polygon(&[[0.0, 0.0], [9.0, 0.0], [9.0, 9.0]].map(P::from));
        let f = fair(&square, 100.0, 1.0).unwrap();
        assert!(f.moved < 1e-9 && f.curve.signed_area() == square.signed_area());
    }
}
