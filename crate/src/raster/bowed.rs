//! An edge that is straight in life, as a lens bows it: followed between two touches, then fitted stretch by stretch.

use super::ask::At;
use super::luma::Luma;
use super::{edge, region};
use crate::words::Say;

/// From one stretch to the next, px, where the edge is not so long that it would be more than [`MOST`] of them.
const EACH: f64 = 14.0;
const MOST: f64 = 100.0;
/// What is left out at either touch, px: a corner may be there.
const ENDS: f64 = 8.0;
/// Fewer stretches say nothing of how it bows.
const LEAST: usize = 7;
/// So far from its bow a place belongs to another edge, px; no less than this share of all belongs to the one.
const BESIDE: f64 = 1.0;
const MOSTLY: f64 = 0.6;

/// Places along the edge between two touches, picture px, whose errors are independent, and the standard uncertainty of each
/// across it, px.
///
/// # Errors
/// `seek.nothing` where no edge runs from the one to the other, or it is too short or too rough.
pub fn bowed(luma: &Luma, from: At, to: At) -> Result<(Vec<At>, f64), Say> {
    let nothing = || Say::new("seek.nothing");
    let (way, _) = region::follow(luma, from, to)?;
    let runs = runs(&way);
    let long = runs.last().copied().unwrap_or(0.0) - 2.0 * ENDS;
    let count = (long / EACH).floor().min(MOST);
    if count < LEAST as f64 {
        return Err(nothing());
    }
    let gap = long / count;
    // About a third of the gap to either side says which way it runs.
    let at = |run: f64| point_at(&way, &runs, run);
    let cuts: Vec<(At, [f64; 2])> = (0..count as u32)
        .filter_map(|i| {
            let run = ENDS + (f64::from(i) + 0.5) * gap;
            let step = at(run + 6.0) - at(run - 6.0);
            let length = step.length();
            (length > 6.0).then(|| (at(run), [step.x / length, step.y / length]))
        })
        .collect();
    let mut found = edge::places(luma, &cuts, (0.45 * gap).min(10.0));
    let had = found.len();
    keep_one_edge(&mut found);
    if found.len() < LEAST || (found.len() as f64) < MOSTLY * had as f64 {
        return Err(nothing());
    }
    let variance = found.iter().map(|(_, v)| v).sum::<f64>() / found.len() as f64;
    Ok((found.iter().map(|(at, _)| *at).collect(), libm::sqrt(variance)))
}

/// Keeps what lies on one edge: where another runs beside it, the way may go over to that for a while. A lens bows a straight
/// edge into a flat arc, so of all parabolas through three places far apart the one that most lie on is the edge.
///
/// # References
/// Random sample consensus: Fischler & Bolles, Communications of the ACM 24 (1981) 381; here the samples are fixed.
fn keep_one_edge(found: &mut Vec<(At, f64)>) {
    let n = found.len();
    let (Some((first, _)), Some((last, _))) = (found.first(), found.last()) else { return };
    let (from, run) = (*first, *last - *first);
    // Along the chord and across it, both in its own lengths: steep arcs don't come.
    let places: Vec<[f64; 2]> = found
        .iter()
        .map(|(p, _)| [run.dot(*p - from), run.cross(*p - from)].map(|v| v / run.dot(run)))
        .collect();
    let beside = BESIDE / run.length();
    let each = (n / 18).max(1);
    let third = |k: usize| (k * n / 3..(k + 1) * n / 3).step_by(each);
    let mut best: (usize, Vec<bool>) = (0, vec![true; n]);
    for three in third(0).flat_map(|a| third(1).flat_map(move |b| third(2).map(move |c| [a, b, c]))) {
        let [a, b, c] = three.map(|i| places[i]);
        let on: Vec<bool> = places.iter().map(|p| (p[1] - through(a, b, c, p[0])).abs() <= beside).collect();
        let count = on.iter().filter(|on| **on).count();
        if count > best.0 {
            best = (count, on);
        }
    }
    let mut on = best.1.into_iter();
    found.retain(|_| on.next().unwrap_or(false));
}

/// The parabola through three places, at `u` (Lagrange).
fn through(a: [f64; 2], b: [f64; 2], c: [f64; 2], u: f64) -> f64 {
    let part = |p: [f64; 2], q: [f64; 2], r: [f64; 2]| {
        p[1] * (u - q[0]) * (u - r[0]) / ((p[0] - q[0]) * (p[0] - r[0]))
    };
    part(a, b, c) + part(b, a, c) + part(c, a, b)
}

/// How far along the way each of its points lies.
fn runs(way: &[At]) -> Vec<f64> {
    let mut run = 0.0;
    let first = way.first().copied().unwrap_or_default();
    let ahead = way.iter().scan(first, |last, p| {
        run += last.distance(*p);
        *last = *p;
        Some(run)
    });
    ahead.collect()
}

fn point_at(way: &[At], runs: &[f64], run: f64) -> At {
    let i = runs.partition_point(|r| *r < run).clamp(1, way.len().max(2) - 1);
    let (Some(a), Some(b)) = (way.get(i - 1), way.get(i)) else {
        return way.first().copied().unwrap_or_default();
    };
    let (from, to) = (runs.get(i - 1).copied().unwrap_or(0.0), runs.get(i).copied().unwrap_or(1.0));
    *a + (*b - *a) * ((run - from) / (to - from).max(1e-9)).clamp(0.0, 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A bowed edge, and another beside it to which the way goes over for a quarter of its length: only the first is kept.
    #[test]
    fn places_on_another_edge_are_left_out() {
        let bow = |u: f64| 6e-5 * (u - 500.0) * (u - 500.0) + 0.2 * libm::sin(u);
        let all: Vec<(At, f64)> = (0..70)
            .map(|i| {
                let u = 14.0 * f64::from(i);
                let other = (20..30).contains(&i) || i > 61;
                (At::new(300.0 + bow(u) + if other { 9.0 } else { 0.0 }, u), 0.01)
            })
            .collect();
        let mut kept = all.clone();
        keep_one_edge(&mut kept);
        let want: Vec<(At, f64)> = all
            .iter()
            .enumerate()
            .filter(|(i, _)| !((20..30).contains(i) || *i > 61))
            .map(|(_, p)| *p)
            .collect();
        assert_eq!(kept, want);
        let mut same = want.clone();
        keep_one_edge(&mut same);
        assert_eq!(same, want);
    }
}
