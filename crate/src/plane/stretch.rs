//! What lies between two corners of a border, and the places and directions that a curve through it shall have.

use super::border::{Border, parabola};
use super::corners::{Corner, Grain};
use super::piece::Sample;
use super::{Line, Point, Space};

/// The border between two corners, or all of a ring without any.
pub(super) struct Stretch<S: Space> {
    pub points: Vec<Point<S>>,
    pub run: Vec<f64>,
    /// The stretch is a ring: its last point is its first.
    pub ring: bool,
}

impl<S: Space> Stretch<S> {
    /// What lies between two corners, without what is rounded off at either.
    pub fn between(border: &Border<S>, from: &Corner<S>, to: &Corner<S>) -> Self {
        let (n, whole) = (border.len(), border.length());
        let end = if to.index > from.index { to.index } else { to.index + n };
        let at = |i: usize| border.run[i % n] + if i >= n { whole } else { 0.0 };
        let (first, last) = (at(from.index) + from.gap, at(end) - to.gap);
        let inner = (from.index..=end).filter(|i| at(*i) >= first && at(*i) <= last);
        let (points, run) = inner.map(|i| (border.points[i % n], at(i))).unzip();
        Stretch { points, run, ring: false }
    }

    pub fn round(border: &Border<S>) -> Self {
        let mut points = border.points.clone();
        points.extend(border.points.first());
        Stretch { points, run: border.run.clone(), ring: true }
    }

    /// The place and direction of the border at point `i`, its noise smoothed over as far as its bends allow.
    pub fn sample(&self, i: usize, grain: &Grain) -> Option<Sample<S>> {
        let ratio = grain.sigma / grain.tolerance;
        let mut half = (libm::ceil(32.0 * ratio * ratio) as usize + 3).min(16);
        loop {
            let near = parabola(&self.about(i, half));
            let smooth = |rms: f64| half <= 2 || rms <= (1.5 * grain.sigma).max(0.1 * grain.tolerance);
            if let Some((n, along)) = near.filter(|n| smooth(n.rms)).and_then(|n| Some((n, n.along()?))) {
                let at = if grain.sigma > 0.0 { n.at(0.0) } else { self.points[i] };
                return Some(Sample { at, along, run: self.run[i] });
            }
            if half <= 2 {
                break;
            }
            half = (half / 2).max(2);
        }
        // Too few points for a parabola, or all in one place: the step from the one before to the one after.
        let (a, b) = (self.points[i.saturating_sub(1)], *self.points.get(i + 1).unwrap_or(&self.points[i]));
        let along = Line::through(a, b)?.along;
        Some(Sample { at: self.points[i], along, run: self.run[i] })
    }

    /// Up to `half` points on either side of point `i`, by their run from it; near an end as many in all.
    fn about(&self, i: usize, half: usize) -> Vec<(f64, Point<S>)> {
        let last = self.points.len() - 1;
        let (half, whole) = (half as i64, self.run[last] - self.run[0]);
        let (last, at) = (last as i64, i as i64);
        let middle =
            if self.ring { at } else { at.min((last - half).max(last - last / 2)).max(half.min(last / 2)) };
        let place = |k: i64| match (k < 0, k > last) {
            (true, _) if self.ring => (k + last, -whole),
            (_, true) if self.ring => (k - last, whole),
            _ => (k, 0.0),
        };
        let found = (middle - half..=middle + half).filter_map(|k| {
            let (j, more) = place(k);
            let j = usize::try_from(j).ok()?;
            Some((self.run.get(j)? + more - self.run[i], *self.points.get(j)?))
        });
        found.collect()
    }
}

/// How much border on either side tells of its seam: more where there is more noise.
pub(super) fn seam_window(length: f64, grain: &Grain) -> f64 {
    let ratio = grain.sigma / grain.tolerance;
    (grain.window() * (1.0 + 16.0 * ratio * ratio)).min(length / 16.0)
}

/// A ring's samples with those at its seam found from more of the border: no noise of theirs is smoothed away later.
pub(super) fn seamed<S: Space>(
    stretch: &Stretch<S>,
    mut samples: Vec<Sample<S>>,
    grain: &Grain,
) -> Vec<Sample<S>> {
    let length = stretch.run[stretch.run.len() - 1] - stretch.run[0];
    let half = libm::ceil(seam_window(length, grain) / grain.spacing) as usize;
    if let (true, Some(near)) = (grain.sigma > 0.0, parabola(&stretch.about(0, half)))
        && let (true, Some(along)) = (near.rms <= 1.5 * grain.sigma, near.along())
    {
        let last = samples.len() - 1;
        for k in [0, last] {
            samples[k].at = near.at(0.0);
            samples[k].along = along;
        }
    }
    samples
}
