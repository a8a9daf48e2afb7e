//! One cubic with its ends and end directions given, as near to points between as it can be.
//!
//! # References
//! Schneider, "An algorithm for automatically fitting digitized curves", Graphics Gems (1990) 612: least squares for the
//! lengths of the two handles, feet found anew in turn; here on distances square to the curve.

use super::bezier::Cubic;
use super::{Point, Space, Vector};

/// A place that the curve shall pass, and which way it runs there.
#[derive(Copy, Clone, Debug, PartialEq)]
pub(super) struct Sample<S: Space> {
    pub at: Point<S>,
    /// A unit step.
    pub along: Vector<S>,
    /// Its run along the border, in the space's unit.
    pub run: f64,
}

/// How many places are looked at while a piece is tried.
const TRIED: usize = 24;

/// The piece from the first to the last of `samples` with their directions, and how far it passes from those between.
///
/// `None` where none runs forward from one to the other.
pub(super) fn piece<S: Space>(samples: &[Sample<S>], tolerance: f64) -> Option<(Cubic<S>, f64)> {
    let ([a, ..], [.., b]) = (samples, samples) else { return None };
    let long = b.run - a.run;
    if !(long > 0.0) {
        return None;
    }
    let stride = (samples.len() / TRIED).max(1);
    let mut tried: Vec<(Point<S>, f64)> = samples
        .iter()
        .skip(stride)
        .step_by(stride)
        .filter(|s| s.run < b.run)
        .map(|s| (s.at, (s.run - a.run) / long))
        .collect();
    let mut handles = [long / 3.0; 2];
    let with = |h: [f64; 2]| Cubic([a.at, a.at + a.along * h[0], b.at + b.along * -h[1], b.at]);
    let mut last = f64::INFINITY;
    for turn in 0..8 {
        let cubic = with(handles);
        let most = feet(&cubic, &mut tried);
        // Past the first turns a piece that is far off and gets no nearer is given up.
        if turn >= 2
            && (most <= 0.3 * tolerance || most > 0.98 * last && (turn >= 4 || most > 3.0 * tolerance))
        {
            break;
        }
        last = most;
        let Some(step) = handles_step(&cubic, a.along, b.along, &tried) else { break };
        for (h, d) in handles.iter_mut().zip(step) {
            *h = (*h + d.max(-0.3 * long).min(0.3 * long)).max(0.02 * long).min(1.3 * long);
        }
    }
    let cubic = with(handles);
    let most = feet(&cubic, &mut tried);
    Some((cubic, if tried.is_empty() { 0.0 } else { most }))
}

/// Moves each place's `t` to its foot on the piece (one step), and says how far off the farthest is.
fn feet<S: Space>(cubic: &Cubic<S>, tried: &mut [(Point<S>, f64)]) -> f64 {
    let mut most = 0.0_f64;
    for (p, t) in tried.iter_mut() {
        *t = cubic.towards(*p, *t);
        most = most.max(cubic.at(*t).distance(*p));
    }
    most
}

/// How much longer the two handles should be.
fn handles_step<S: Space>(
    cubic: &Cubic<S>,
    first: Vector<S>,
    last: Vector<S>,
    tried: &[(Point<S>, f64)],
) -> Option<[f64; 2]> {
    let (mut aa, mut ab, mut bb, mut a, mut b) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for (p, t) in tried {
        let v = cubic.velocity(*t);
        let speed = v.length();
        if !(speed > 0.0) {
            continue;
        }
        let off = v.cross(cubic.at(*t) - *p) / speed;
        let u = 1.0 - t;
        let by = [v.cross(first) * 3.0 * u * u * t / speed, v.cross(last) * -3.0 * u * t * t / speed];
        aa += by[0] * by[0];
        ab += by[0] * by[1];
        bb += by[1] * by[1];
        a -= by[0] * off;
        b -= by[1] * off;
    }
    // A little is added on the diagonal: on a straight stretch the handles' lengths are all one.
    let lift = 1e-6 * (aa + bb) + 1e-12 * tried.len() as f64;
    let (aa, bb) = (aa + lift, bb + lift);
    let det = aa * bb - ab * ab;
    (det > 0.0).then(|| [(a * bb - b * ab) / det, (b * aa - a * ab) / det])
}

/// The farthest that any of `samples` lies from the piece.
pub(super) fn farthest<S: Space>(cubic: &Cubic<S>, samples: &[Sample<S>]) -> f64 {
    let ([a, ..], [.., b]) = (samples, samples) else { return 0.0 };
    let (mut t, mut most) = (0.0, 0.0_f64);
    let per = 1.0 / (b.run - a.run).max(1e-300);
    let mut before = a.run;
    for s in samples {
        // On from the last foot, in proportion.
        t = f64::min(t + (s.run - before) * per, 1.0);
        before = s.run;
        for _ in 0..3 {
            t = cubic.towards(s.at, t);
        }
        most = most.max(cubic.at(t).distance(s.at));
    }
    most
}

/// As few pieces as will pass within `tolerance` of all `samples`, found by taking each as long as it can be.
pub(super) fn greedy<S: Space>(
    samples: &[Sample<S>],
    tolerance: f64,
    longest: f64,
) -> Vec<(usize, Cubic<S>)> {
    let last = samples.len().saturating_sub(1);
    let (mut pieces, mut from, mut usual) = (Vec::new(), 0, 16);
    while from < last {
        let fits = |to: usize| {
            let part = samples.get(from..=to)?;
            if part.last()?.run - part[0].run > longest {
                return None;
            }
            let (cubic, most) = piece(part, tolerance)?;
            (most <= tolerance && farthest(&cubic, part) <= tolerance).then_some(cubic)
        };
        // Ever farther until one doesn't fit, then between the last that did and it.
        let (mut good, mut step) = (None, usual);
        let mut low = from;
        let mut high = last + 1;
        while low < last {
            let to = (low + step).min(last);
            match fits(to) {
                Some(cubic) => {
                    good = Some(cubic);
                    low = to;
                    step = (step / 2).max(2);
                }
                None => {
                    high = to;
                    break;
                }
            }
        }
        while low + 1 < high {
            let to = low + (high - low) / 2;
            match fits(to) {
                Some(cubic) => (good, low) = (Some(cubic), to),
                None => high = to,
            }
        }
        let to = low.max(from + 1);
        let cubic = good.unwrap_or_else(|| hermite(&samples[from], &samples[to]));
        usual = (to - from).max(4);
        pieces.push((to, cubic));
        from = to;
    }
    pieces
}

/// The plain piece between two samples, handles a third of the way.
pub(super) fn hermite<S: Space>(a: &Sample<S>, b: &Sample<S>) -> Cubic<S> {
    let third = a.at.distance(b.at) / 3.0;
    Cubic([a.at, a.at + a.along * third, b.at + b.along * -third, b.at])
}
