//! A cut across an edge, averaged along it: edge or drawn line, and how far it stands alone.

use super::patch::Patch;
use super::stroke::{Box, Shape, turned};

/// Own px from one value of a profile to the next.
const STEP: f64 = 0.5;
/// How far a profile goes to either side, own px.
const SIDE: f64 = 20.0;
/// The widest drawn line, own px; what is wider has two edges. (0.45 mm at 600 dpi is 10.6 px.)
pub(super) const WIDEST: f64 = 12.5;

/// Mean values across, at even steps.
pub(super) struct Profile {
    /// Offset of each value, and the value.
    values: Vec<(f64, f64)>,
}

/// A rise or fall in a profile.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rise {
    /// Offset, own px.
    pub at: f64,
    /// Grey levels a px; negative for a fall.
    pub steep: f64,
}

impl Profile {
    /// Across `along` at `middle`, over `length` to either end and [`SIDE`] to either side.
    pub fn across(patch: &Patch, middle: [f64; 2], along: [f64; 2], length: f64) -> Profile {
        Profile::over(patch, middle, along, length, SIDE)
    }

    /// The same, `side` to either side.
    pub fn over(patch: &Patch, middle: [f64; 2], along: [f64; 2], length: f64, side: f64) -> Profile {
        let across = turned(along);
        let n = (side / STEP) as i32;
        let m = (length as i32).max(1);
        let mean = |u: f64| {
            let (mut sum, mut count) = (0.0, 0.0);
            for k in -m..=m {
                let t = f64::from(k) * length / f64::from(m);
                let p = [middle[0] + along[0] * t + across[0] * u, middle[1] + along[1] * t + across[1] * u];
                if let Some(value) = patch.sample(p) {
                    (sum, count) = (sum + value, count + 1.0);
                }
            }
            (count > 0.0).then(|| (u, sum / count))
        };
        Profile { values: (-n..=n).filter_map(|i| mean(f64::from(i) * STEP)).collect() }
    }

    /// The same, smoothed as much as noise of so many grey levels a px asks for, so that one blurred edge doesn't
    /// look like several.
    #[must_use]
    pub fn calmed(mut self, noise: f64) -> Profile {
        let passes = if noise < 2.5 {
            0
        } else if noise < 8.0 {
            2
        } else {
            4
        };
        for _ in 0..passes {
            let calm: Vec<f64> =
                self.values.windows(3).map(|w| 0.25 * (w[0].1 + w[2].1) + 0.5 * w[1].1).collect();
            for (to, by) in self.values.iter_mut().skip(1).zip(calm) {
                to.1 = by;
            }
        }
        self
    }

    /// One from values that stand at even steps of half a px.
    pub fn new(values: Vec<(f64, f64)>) -> Profile {
        Profile { values }
    }

    /// Rises and falls, steepest places only, at least `least` steep.
    pub fn rises(&self, least: f64) -> Vec<Rise> {
        // Over two steps of half a px to either side: a blur of its own of about half a px.
        let steep: Vec<(f64, f64)> = self
            .values
            .windows(5)
            .map(|w| {
                let weigh = |a: usize, b: usize| w[b].1 - w[a].1;
                (w[2].0, (weigh(0, 4) + 2.0 * weigh(1, 3)) / (8.0 * STEP))
            })
            .collect();
        let mut out = Vec::new();
        for w in steep.windows(3) {
            let (a, b, c) = (w[0].1.abs(), w[1].1.abs(), w[2].1.abs());
            if b >= least && b > a && b >= c && w[0].1 * w[1].1 >= 0.0 && w[1].1 * w[2].1 >= 0.0 {
                let bend = a + c - 2.0 * b;
                let off = if bend < 0.0 { 0.5 * (a - c) / bend } else { 0.0 };
                out.push(Rise { at: w[1].0 + off.clamp(-0.5, 0.5) * STEP, steep: w[1].1 });
            }
        }
        out
    }

    /// The mean of the values between two offsets.
    pub fn mean(&self, from: f64, to: f64) -> Option<f64> {
        let (sum, n) = self
            .values
            .iter()
            .filter(|(u, _)| *u >= from && *u <= to)
            .fold((0.0, 0.0), |(s, n), (_, v)| (s + v, n + 1.0));
        (n > 0.0).then(|| sum / n)
    }

    /// What stands in the middle: the box to fit it in, or nothing when there is no rise there; `half` is that of
    /// the drawn line whose middle it is, where that is known, else 0. `least` as in [`Profile::rises`].
    pub fn take(&self, middle: [f64; 2], along: [f64; 2], length: f64, least: f64, half: f64) -> Option<Box> {
        let rises = self.rises(least);
        let best = best(&rises, half)?;
        Some(about(&rises, best, self.partner(&rises, best), middle, along, length))
    }

    /// The edge that stands in the middle, by itself, whatever line it may be a side of.
    pub fn side(&self, middle: [f64; 2], along: [f64; 2], length: f64, least: f64) -> Option<Box> {
        let rises = self.rises(least);
        Some(about(&rises, best(&rises, 0.0)?, None, middle, along, length))
    }

    /// The other side of the drawn line that this rise is one side of.
    fn partner(&self, rises: &[Rise], i: usize) -> Option<usize> {
        let own = rises.get(i)?;
        let fits = |j: usize| {
            let other = rises.get(j)?;
            let (low, high) = (own.at.min(other.at), own.at.max(other.at));
            let alike = other.steep / own.steep;
            if high - low > WIDEST || !(-3.0..-0.33).contains(&alike) {
                return None;
            }
            // Paper on both sides must be nearly alike, and unlike the ink between.
            let ink = self.mean(0.5 * (low + high) - 0.5, 0.5 * (low + high) + 0.5)?;
            let reach = |k: Option<usize>| {
                k.and_then(|k| rises.get(k))
                    .map_or(3.5, |r| gap((r.at - if r.at < low { low } else { high }).abs()).min(3.5))
            };
            let before = reach(i.min(j).checked_sub(1));
            let after = reach(Some(i.max(j) + 1));
            let (left, right) =
                (self.mean(low - before, low - 0.6 * before)?, self.mean(high + 0.6 * after, high + after)?);
            let contrast = 0.5 * (left + right) - ink;
            let even = (left - right).abs() < 0.6 * contrast.abs();
            let signed = if low == own.at { own.steep } else { other.steep };
            // A fall first is dark ink on lighter paper: taken before the paper between two lines.
            (even && contrast * signed < 0.0).then_some((j, signed < 0.0, high - low))
        };
        let before = i.checked_sub(1).and_then(fits);
        let after = fits(i + 1);
        match (before, after) {
            (Some(a), Some(b)) if a.1 == b.1 => Some(if a.2 <= b.2 { a.0 } else { b.0 }),
            (Some(a), Some(b)) => Some(if a.1 { a.0 } else { b.0 }),
            (a, b) => a.or(b).map(|x| x.0),
        }
    }
}

/// Which of the rises stands in the middle, or is a side of the line of this half that does.
fn best(rises: &[Rise], half: f64) -> Option<usize> {
    let far = |i: usize| rises.get(i).map_or(f64::MAX, |r| (r.at.abs() - half).abs());
    let worth = |i: &usize| rises.get(*i).map_or(0.0, |r| r.steep.abs() * (1.0 - 0.12 * far(*i)));
    let near = (0..rises.len()).filter(|i| far(*i) < 2.5);
    near.max_by(|a, b| worth(a).total_cmp(&worth(b)))
}

/// The box about one of the rises, and about the other side of its line where it has one.
fn about(
    rises: &[Rise],
    i: usize,
    pair: Option<usize>,
    middle: [f64; 2],
    along: [f64; 2],
    length: f64,
) -> Box {
    let across = turned(along);
    let (first, last) = pair.map_or((i, i), |j| (i.min(j), i.max(j)));
    let at = |k: usize| rises.get(k).map_or(0.0, |r| r.at);
    let (centre, half) = (0.5 * (at(first) + at(last)), 0.5 * (at(last) - at(first)));
    let own = rises.get(i).map_or(0.0, |r| r.steep.abs());
    let counts = |k: &usize| rises.get(*k).is_some_and(|r| r.steep.abs() >= 0.12 * own);
    // Half the way to whatever comes next, so that it stays out.
    let room = if pair.is_some() { half + 9.0 } else { 9.0 };
    let left = (0..first).rev().find(counts).map_or(room, |k| gap(at(first) - at(k)) + half);
    let right = (last + 1..rises.len()).find(counts).map_or(room, |k| gap(at(k) - at(last)) + half);
    let shape = if pair.is_some() { Shape::Bar(narrowed(half)) } else { Shape::Step };
    Box {
        middle: [middle[0] + across[0] * centre, middle[1] + across[1] * centre],
        along,
        length,
        across: [-left.min(room), right.min(room)],
        shape,
        curved: true,
        bend: 0.0,
        steady: false,
        wedge: [None, None],
    }
}

/// Half the width of a line whose sides are steepest this far from its middle: the usual blur moves them outwards.
fn narrowed(half: f64) -> f64 {
    (half * half - 0.6).max(0.25).sqrt()
}

/// How far a box goes towards a neighbour this far off.
fn gap(to: f64) -> f64 {
    (0.62 * to.abs()).max(1.5)
}
