//! The straight edge or drawn line that a person drew along, roughly.
//!
//! Cuts across the stroke give all rises and falls near it; the line that most of them lie on is found by letting
//! each vote for slopes and offsets; then short stretches along it are fitted, and a line through those.
//!
//! # References
//! Voting: Duda & Hart, Communications of the ACM 15 (1972) 11.

use super::super::ask::{At, Fitted};
use super::super::luma::Luma;
use super::catch::{STEPS, shifted};
use super::station::{Cut, Exact, Rough, exact, moved, rough, weights, widening};
use super::stroke::turned;

/// A straight edge, picture px.
#[derive(Clone, Debug, PartialEq)]
pub struct Straight {
    /// Two places whose errors don't go together; covariance across only.
    pub fitted: [Fitted; 2],
    /// Where it begins and ends within the stroke.
    pub ends: [At; 2],
    /// From the middle of a drawn line to one of its sides; zero for an edge.
    pub half: [f64; 2],
}

/// A line in the stroke's own frame: offset = at + slope · along.
#[derive(Clone, Copy, Debug)]
struct Lie {
    at: f64,
    slope: f64,
}

/// The stroke's frame: from its middle, along its chord.
#[derive(Clone, Copy, Debug)]
struct Frame {
    middle: At,
    along: [f64; 2],
    /// From the middle to either end, picture px.
    length: f64,
}

impl Frame {
    fn of(stroke: &[At]) -> Option<Frame> {
        let (first, last) = (*stroke.first()?, *stroke.last()?);
        let length = first.distance(last);
        if !(stroke.iter().all(|p| p.is_finite()) && (8.0..1e5).contains(&length)) {
            return None;
        }
        let along = [(last.x - first.x) / length, (last.y - first.y) / length];
        Some(Frame { middle: moved(first, along, 0.5 * length, 0.0), along, length: 0.5 * length })
    }

    /// Along and across.
    fn own(&self, p: At) -> [f64; 2] {
        let (d, [ax, ay], [nx, ny]) = (p - self.middle, self.along, turned(self.along));
        [d.x * ax + d.y * ay, d.x * nx + d.y * ny]
    }

    /// The same frame laid along a line.
    fn laid(&self, lie: Lie) -> Frame {
        let middle = moved(self.middle, self.along, 0.0, lie.at);
        let size = libm::hypot(1.0, lie.slope);
        let across = turned(self.along);
        let along =
            [(self.along[0] + across[0] * lie.slope) / size, (self.along[1] + across[1] * lie.slope) / size];
        Frame { middle, along, length: self.length }
    }

    /// Even cuts from `from` to `to` along, each with `each` to itself; no more than `most`.
    fn cuts(&self, from: f64, to: f64, each: f64, most: f64) -> Vec<Cut> {
        let n = ((to - from) / each).floor().max(1.0).min(most);
        let gap = (to - from) / n;
        let one = |i: i32| Cut {
            at: moved(self.middle, self.along, from + (f64::from(i) + 0.5) * gap, 0.0),
            along: self.along,
            bend: 0.0,
        };
        (0..n as i32).map(one).collect()
    }
}

/// The straight edge or drawn line near a rough stroke, `reach` px to either side of it.
pub fn straight(luma: &Luma, stroke: &[At], reach: f64) -> Option<Straight> {
    let frame = Frame::of(stroke).filter(|_| reach.is_finite())?;
    let reach = reach.clamp(1.0, 200.0);
    STEPS.into_iter().take_while(|s| *s == 1 || frame.length > 12.0 * *s as f64).find_map(|step| {
        let cuts = strewn(stroke, &frame);
        let met = rough(luma, &cuts, reach, step);
        let (lie, span) = vote(&frame, &met, cuts.len(), reach)?;
        refine(luma, &frame.laid(lie), span, step)
    })
}

/// Cuts along the stroke as it was drawn, all square to its chord.
fn strewn(stroke: &[At], frame: &Frame) -> Vec<Cut> {
    let along = frame.along;
    let mut cuts = frame.cuts(-frame.length, frame.length, 4.0, 72.0);
    let own: Vec<[f64; 2]> = stroke.iter().map(|p| frame.own(*p)).collect();
    for cut in &mut cuts {
        let [t, _] = frame.own(cut.at);
        let piece = own.windows(2).find(|w| w[0][0] <= t && t <= w[1][0] && w[1][0] > w[0][0]);
        let off = piece.map_or(0.0, |w| w[0][1] + (w[1][1] - w[0][1]) * (t - w[0][0]) / (w[1][0] - w[0][0]));
        cut.at = moved(frame.middle, along, t, off);
    }
    cuts
}

/// The line that most rises and falls lie on, and from where to where they do.
fn vote(frame: &Frame, met: &[Rough], cuts: usize, reach: f64) -> Option<(Lie, [f64; 2])> {
    let places: Vec<([f64; 2], &Rough)> = met.iter().map(|r| (frame.own(r.at), r)).collect();
    // Slopes so near that the ends move by less than a px, to a quarter of a right angle or as far as reach lets.
    let steepest = (2.0 * reach / frame.length).min(0.4);
    let n = (steepest * frame.length / 0.9).ceil().clamp(2.0, 160.0);
    let wide = (3.0 * reach).ceil().max(6.0);
    let mut bins = vec![0.0_f64; 2 * (2.0 * wide) as usize + 4];
    let mut best = (0.0, Lie { at: 0.0, slope: 0.0 }, false);
    for k in -(n as i32)..=n as i32 {
        let slope = steepest * f64::from(k) / n;
        bins.fill(0.0);
        for ([t, u], r) in &places {
            let bin =
                (u - slope * t + wide).floor().max(0.0).min(2.0 * wide) as usize * 2 + usize::from(r.lighter);
            if let Some(b) = bins.get_mut(bin) {
                *b += r.weight;
            }
        }
        for i in 0..bins.len().saturating_sub(2) {
            let sum = bins.get(i).unwrap_or(&0.0) + bins.get(i + 2).unwrap_or(&0.0);
            if sum > best.0 {
                let at = (i as f64 / 2.0).floor() - wide + 1.0;
                best = (sum, Lie { at, slope }, i % 2 == 1);
            }
        }
    }
    settle(best.1, best.2, &places, cuts)
}

/// Least squares of what lies on the line, again and again nearer; and how far it goes.
fn settle(
    mut lie: Lie,
    lighter: bool,
    places: &[([f64; 2], &Rough)],
    cuts: usize,
) -> Option<(Lie, [f64; 2])> {
    let mut on = Vec::new();
    for near in [2.5, 2.0, 1.5, 1.5] {
        let off = |p: &[f64; 2]| (p[1] - lie.at - lie.slope * p[0]).abs();
        on = places.iter().filter(|(p, r)| r.lighter == lighter && off(p) < near).copied().collect();
        let n = on.len() as f64;
        if n < 3.0 {
            return None;
        }
        let (st, su) = on.iter().fold((0.0, 0.0), |(a, b), (p, _)| (a + p[0] / n, b + p[1] / n));
        let (stt, stu) = on.iter().fold((0.0, 0.0), |(a, b), (p, _)| {
            (a + (p[0] - st) * (p[0] - st), b + (p[0] - st) * (p[1] - su))
        });
        let slope = if stt > 0.0 { stu / stt } else { lie.slope };
        lie = Lie { at: su - slope * st, slope };
    }
    // Cuts without a neighbour on the line have met something else.
    let mut seen = vec![None; cuts];
    for (p, r) in &on {
        if let Some(s) = seen.get_mut(r.cut) {
            *s = Some(p[0]);
        }
    }
    let held = |i: usize| seen.get(i).copied().flatten();
    let kept: Vec<f64> = (0..cuts)
        .filter(|i| {
            (1..=2).any(|k| held(i + k).is_some() || i.checked_sub(k).is_some_and(|j| held(j).is_some()))
        })
        .filter_map(held)
        .collect();
    let (low, high) = (kept.first().copied()?, kept.last().copied()?);
    let all = places.iter().map(|(p, r)| (p[0], r.cut)).filter(|(t, _)| *t >= low && *t <= high);
    let between = all.map(|(_, cut)| cut).fold((cuts, 0), |(a, b), c| (a.min(c), b.max(c)));
    let passed = between.1.saturating_sub(between.0) + 1;
    (kept.len() >= 3 && 5 * kept.len() >= 2 * passed).then_some((lie, [low - 2.0, high + 2.0]))
}

/// Short stretches fitted along the line, and a line through those.
fn refine(luma: &Luma, frame: &Frame, [low, high]: [f64; 2], step: i64) -> Option<Straight> {
    let scale = step as f64;
    let length = ((high - low) / 10.0).max(3.0 * scale).min(6.0 * scale);
    let cuts = frame.cuts(low, high, 2.0 * length, 160.0);
    let found = exact(luma, &cuts, length, step);
    if found.len() < 3 || 5 * found.len() < 2 * cuts.len() {
        return None;
    }
    let (lie, middle, [at, slope], used) = through(frame, &found)?;
    let line = frame.laid(lie);
    let size = libm::hypot(1.0, lie.slope);
    // At ± τ from the middle offset and slope trade so that the errors there don't go together.
    let tau = (at / slope).sqrt();
    let [nx, ny] = turned(line.along);
    let variance = 2.0 * at;
    let fitted = [-tau, tau].map(|t| Fitted {
        at: shifted(moved(line.middle, line.along, (middle + t) * size, 0.0)),
        cov: [variance * nx * nx, variance * nx * ny, variance * ny * ny],
    });
    let reach = used.iter().fold([f64::MAX, f64::MIN], |[a, b], t| [a.min(*t), b.max(*t)]);
    let ends = [reach[0] - length, reach[1] + length].map(|t| moved(line.middle, line.along, t * size, 0.0));
    let mut halves: Vec<f64> = found.iter().filter_map(|e| e.half).collect();
    let half = super::patch::median(&mut halves);
    Some(Straight { fitted, ends, half: [nx * half, ny * half] })
}

/// A line through fitted places: itself, where along its offset and slope are independent, their variances, and
/// the places that took part.
fn through(frame: &Frame, found: &[Exact]) -> Option<(Lie, f64, [f64; 2], Vec<f64>)> {
    let own: Vec<[f64; 2]> = found.iter().map(|e| frame.own(e.at)).collect();
    let spread: Vec<f64> = found.iter().map(|e| e.variance.max(1e-8).sqrt()).collect();
    let mut weight = vec![1.0; found.len()];
    let mut out = None;
    for _ in 0..8 {
        let full = || own.iter().zip(&spread).zip(&weight).map(|((p, s), w)| (p, w / (s * s)));
        let sum: f64 = full().map(|(_, w)| w).sum();
        let mean = |k: usize| full().map(|(p, w)| p[k] * w).sum::<f64>() / sum;
        let (mt, mu) = (mean(0), mean(1));
        let stt: f64 = full().map(|(p, w)| w * (p[0] - mt) * (p[0] - mt)).sum();
        let stu: f64 = full().map(|(p, w)| w * (p[0] - mt) * (p[1] - mu)).sum();
        if !(stt > 0.0 && sum > 0.0) {
            return None;
        }
        let slope = stu / stt;
        let lie = Lie { at: mu - slope * mt, slope };
        let left: Vec<f64> =
            own.iter().zip(&spread).map(|(p, s)| (p[1] - lie.at - slope * p[0]) / s).collect();
        let wide = widening(&left, &weight, 2);
        let used = own.iter().zip(&weight).filter(|(_, w)| **w > 0.0).map(|(p, _)| p[0]).collect();
        out = Some((lie, mt, [wide / sum, wide / stt], used));
        weight = weights(&left);
    }
    out
}
