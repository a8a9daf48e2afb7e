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
    let found = edge::places(luma, &cuts, (0.45 * gap).min(10.0));
    if found.len() < LEAST {
        return Err(nothing());
    }
    let variance = found.iter().map(|(_, v)| v).sum::<f64>() / found.len() as f64;
    Ok((found.iter().map(|(at, _)| *at).collect(), libm::sqrt(variance)))
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
