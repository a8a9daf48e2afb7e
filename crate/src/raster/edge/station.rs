//! Places along something long: rough ones by cuts across it, exact ones by fitting.

use super::super::ask::At;
use super::super::luma::Luma;
use super::catch::{STEPS, Scene, hold};
use super::patch::{Patch, median};
use super::profile::Profile;
use super::slope::Spot;
use super::stroke::{Shape, turned};
use crate::plane::{Point, Vector};

/// A rise or fall met on the way, picture px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rough {
    /// Which cut it was met on.
    pub cut: usize,
    pub at: At,
    /// Does it get lighter that way?
    pub lighter: bool,
    /// How much it counts: steeper and nearer ones more.
    pub weight: f64,
}

/// A fitted place, picture px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Exact {
    /// Which of the places asked for.
    pub cut: usize,
    pub at: At,
    /// Variance across.
    pub variance: f64,
    /// Half the width of a drawn line.
    pub half: Option<f64>,
}

/// Where to cut: a place and the unit step along, picture px; how it bends there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cut {
    pub at: At,
    pub along: [f64; 2],
    pub bend: f64,
}

/// All rises and falls within `reach` of each cut's middle.
pub(super) fn rough(luma: &Luma, cuts: &[Cut], reach: f64, step: i64) -> Vec<Rough> {
    let scale = step as f64;
    let mut out = Vec::new();
    for (i, cut) in cuts.iter().enumerate() {
        let Some(patch) = Patch::around(luma, cut.at, reach + 8.0 * scale, step) else { continue };
        let middle = patch.own(cut.at);
        let across = turned(cut.along);
        let profile = Profile::over(&patch, middle, cut.along, 3.0, reach / scale + 1.5);
        for rise in profile.rises(1.5) {
            let off = rise.at * scale;
            let near = off / (0.5 * reach);
            let at = cut.at + Vector::new(across[0], across[1]) * off;
            let weight = rise.steep.abs() / (1.0 + near * near);
            out.push(Rough { cut: i, at, lighter: rise.steep > 0.0, weight });
        }
    }
    // The strongest few per cent must not outweigh all others.
    let mut sizes: Vec<f64> = out.iter().map(|r| r.weight).collect();
    let most = 2.0 * median(&mut sizes).max(4.0);
    for r in &mut out {
        r.weight = r.weight.min(most);
    }
    out
}

/// What is exactly at each cut, where something is; `length` to either end, picture px.
pub(super) fn exact(luma: &Luma, cuts: &[Cut], length: f64, step: i64) -> Vec<Exact> {
    let scale = step as f64;
    let one = |(i, cut): (usize, &Cut)| {
        let patch = Patch::around(luma, cut.at, 26.0 * scale, step)?;
        let scene = Scene::of(&patch);
        let spot = Spot { at: patch.own(cut.at), along: cut.along, far: 0.0 };
        let stroke = hold(&scene, &spot, length / scale, Some(cut.bend * scale))?;
        let half = match stroke.shape {
            Shape::Step => None,
            Shape::Bar(half) => Some(half * scale),
        };
        let variance = stroke.cov[0][0] * scale * scale;
        Some(Exact { cut: i, at: patch.out(stroke.at), variance, half })
    };
    let mut found: Vec<Exact> = cuts.iter().enumerate().filter_map(one).collect();
    // Either a drawn line or an edge: whichever most of the places say.
    let lines = found.iter().filter(|e| e.half.is_some()).count();
    let line = 2 * lines > found.len();
    found.retain(|e| e.half.is_some() == line);
    found
}

/// What is exactly at each place of a way (its unit step beside it), `length` to either end, picture px: the place and its
/// variance across. Looked for at the finest size of pixel at which most of it stands out.
pub fn places(luma: &Luma, way: &[(At, [f64; 2])], length: f64) -> Vec<(At, f64)> {
    let cuts: Vec<Cut> = way.iter().map(|(at, along)| Cut { at: *at, along: *along, bend: 0.0 }).collect();
    let mut found = STEPS.into_iter().map(|step| exact(luma, &cuts, length.max(3.0 * step as f64), step));
    let enough = found.find(|f| 3 * f.len() >= 2 * cuts.len()).unwrap_or_default();
    enough.iter().map(|e| (e.at, e.variance)).collect()
}

/// Weights against stragglers, from left-overs in their own standard deviations.
///
/// # References
/// Tukey's biweight, 4.685 robust standard deviations: Beaton & Tukey, Technometrics 16 (1974) 147.
pub(super) fn weights(left: &[f64]) -> Vec<f64> {
    let mut sizes: Vec<f64> = left.iter().map(|r| r.abs()).collect();
    let scale = (median(&mut sizes) / 0.6745).max(1.0) * 4.685;
    let weigh = |r: &f64| {
        let share = 1.0 - (r / scale) * (r / scale);
        if share > 0.0 { share * share } else { 0.0 }
    };
    left.iter().map(weigh).collect()
}

/// How much wider than told the left-overs lie (their variance over what it should be), 1 at least.
pub(super) fn widening(left: &[f64], weights: &[f64], fitted: usize) -> f64 {
    let sum: f64 = left.iter().zip(weights).map(|(r, w)| w * r * r).sum();
    let count: f64 = weights.iter().sum();
    // Few places can't tell: chance alone goes up to about 1 + 2√(2/n).
    let freedom = (count - fitted as f64).max(0.5);
    let ratio = sum / freedom;
    if ratio > 1.0 + 2.0 * (2.0 / freedom).sqrt() { ratio } else { 1.0 }
}

/// The place `t` along and `u` across from `from`.
pub(super) fn moved(from: At, along: [f64; 2], t: f64, u: f64) -> At {
    let across = turned(along);
    Point::new(from.x + along[0] * t + across[0] * u, from.y + along[1] * t + across[1] * u)
}
