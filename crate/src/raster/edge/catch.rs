//! What a touch catches: the nearest corner, line end, drawn line or edge that stands out.

use super::super::ask::{At, Caught, What};
use super::super::luma::Luma;
use super::corner::{Meeting, meet};
use super::patch::Patch;
use super::profile::{Profile, WIDEST};
use super::slope::{NOISE_SHARE, Slopes, Spot};
use super::stroke::{Box, Shape, Stroke, fit};
use crate::fault::{Area, spoil};
use crate::plane::Point;

/// Picture px to one own px, finest first: a coarser one is tried where a finer shows nothing but dots and grain.
pub(super) const STEPS: [i64; 4] = [1, 2, 4, 8];
/// Farther than this nothing is looked for, picture px.
const FARTHEST: f64 = 200.0;
/// Half the stretch that is fitted, own px: the long one first, a short one where that doesn't hold.
const LENGTHS: [f64; 2] = [8.0, 4.5];
/// How many places are looked into, at most.
const TRIES: usize = 12;
/// The widest blur of an edge, picture px; what is wider is shading.
const MOST_BLUR: f64 = 4.3;
/// The least contrast of an edge, grey levels of 255; under this it is shading, or a JPEG's blocks.
pub(super) const LEAST_STEP: f64 = 8.0;
/// The least contrast of a drawn line, grey levels of 255: fainter ones are the printed grid of the paper.
pub(super) const LEAST_BAR: f64 = 28.0;
/// And its least contrast over that of the strongest thing near by.
const LEAST_BAR_SHARE: f64 = 0.2;

/// The nearest edge, drawn line (its middle), line end or corner within `reach` px of `at`; a corner or an end also
/// when something else is a little nearer. Nothing where nothing stands out.
pub fn catch(luma: &Luma, at: At, reach: f64) -> Option<Caught> {
    if !(at.is_finite() && reach.is_finite()) {
        return None;
    }
    let reach = reach.clamp(1.0, FARTHEST);
    for step in STEPS {
        let scale = step as f64;
        if step > 1 && reach < 2.5 * scale {
            break;
        }
        let Some(patch) = Patch::around(luma, at, reach + 26.0 * scale, step) else { break };
        let touch = patch.own(at);
        let scene = Scene::of(&patch);
        let edge = nearest(&scene, touch, reach / scale);
        let limit =
            edge.map_or(reach / scale, |(_, far)| (far + (0.3 * reach / scale).max(3.0)).min(reach / scale));
        if let Some(corner) = keenest(&scene, touch, limit) {
            return Some(cornered(&patch, &corner));
        }
        if let Some((stroke, _)) = edge {
            let (patch, stroke) = finer(luma, at, reach, &patch, stroke);
            return Some(stroked(&patch, &stroke));
        }
    }
    None
}

/// A patch with what is known of all of it.
pub(super) struct Scene<'a> {
    pub patch: &'a Patch,
    pub slopes: Slopes,
    /// The least gradient that is worth a look.
    pub least: f64,
    /// Standard deviation of a pixel's noise, grey levels.
    pub noise: f64,
    /// Contrast of the strongest thing, grey levels, as its gradient tells.
    pub most: f64,
}

impl<'a> Scene<'a> {
    pub fn of(patch: &'a Patch) -> Scene<'a> {
        let slopes = Slopes::of(patch);
        let steepest = slopes.most();
        // A step of contrast c under a blur of σ 1, the pixel's own and the gradient's: c / √(2π · 2.1).
        let contrast = 3.6;
        let noise = patch.noise();
        let least = (4.2 * NOISE_SHARE * noise).max(0.6 * LEAST_STEP / contrast).max(0.1 * steepest);
        Scene { patch, slopes, least, noise, most: steepest * contrast }
    }

    /// Whether a fitted stretch is there at all, or only dots, grain, shading or a printed grid.
    pub fn sound(&self, s: &Stroke) -> bool {
        let contrast = s.contrast.abs();
        let enough = match s.shape {
            Shape::Step => contrast >= LEAST_STEP.max(0.1 * self.most) && !self.block(s),
            Shape::Bar(_) => s.depth() >= LEAST_BAR.max(LEAST_BAR_SHARE * self.most),
        };
        // Without a level stretch on both sides a slope of shading would do as well.
        let level = s.room > s.blur * if self.patch.step > 1 { 2.6 } else { 1.3 };
        // What is left over of real edges in noise is noise; what goes together is something else than an edge,
        // unless it is small.
        let white = s.together < 0.3 && s.explained > 0.2;
        enough
            && level
            && s.strength > 11.0
            && s.sigma() < 0.22
            && s.evenness > 0.5
            && s.blur < libm::hypot(1.3, MOST_BLUR / self.patch.step as f64)
            && (white || s.explained > 0.75)
            && (white || s.explained > 0.9 || s.together < 0.7)
    }

    /// Whether it lies where a JPEG's blocks of 8 × 8 meet, and is as faint as they are.
    fn block(&self, s: &Stroke) -> bool {
        let [ax, ay] = s.along;
        let upright = ax.abs() < 0.035;
        if s.contrast.abs() > 14.0 || self.patch.step > 4 || !(upright || ay.abs() < 0.035) {
            return false;
        }
        let at = self.patch.out(s.at);
        let place = (if upright { at.x } else { at.y }) / 8.0;
        (place - libm::round(place)).abs() * 8.0 < 0.35
    }
}

/// The stretch at a spot: first guess by a cut across, then fitted; curved as it is, or with a bend that is given.
pub(super) fn hold(scene: &Scene, spot: &Spot, length: f64, bend: Option<f64>) -> Option<Stroke> {
    let cut = Profile::across(scene.patch, spot.at, spot.along, length).calmed(scene.noise);
    let frame = cut.take(spot.at, spot.along, length, 0.35 * scene.least, 0.0)?;
    let frame = Box { curved: bend.is_none(), bend: bend.unwrap_or(0.0), ..frame };
    let stroke = fit(scene.patch, &frame)?;
    (scene.sound(&stroke) && stroke.curve.abs() * length < 0.8).then_some(stroke)
}

/// The edge at a spot by itself, where it is the side of something wide.
fn side(scene: &Scene, spot: &Spot, length: f64) -> Option<Stroke> {
    let cut = Profile::across(scene.patch, spot.at, spot.along, length).calmed(scene.noise);
    let frame = cut.side(spot.at, spot.along, length, 0.35 * scene.least)?;
    let stroke = fit(scene.patch, &frame)?;
    (scene.sound(&stroke) && stroke.curve.abs() * length < 0.8).then_some(stroke)
}

/// The same stretch once more, about the place on it that is nearest to `touch`, with as much room as its blur
/// needs.
pub(super) fn again(scene: &Scene, stroke: &Stroke, touch: [f64; 2], length: f64) -> Option<Stroke> {
    let ([ax, ay], [nx, ny]) = (stroke.along, stroke.across());
    let t = (touch[0] - stroke.at[0]) * ax + (touch[1] - stroke.at[1]) * ay;
    let u = 0.5 * stroke.curve * t * t;
    let middle = [stroke.at[0] + ax * t + nx * u, stroke.at[1] + ay * t + ny * u];
    let turn = stroke.curve * t;
    let size = libm::hypot(1.0, turn);
    let along = [(ax + nx * turn) / size, (ay + ny * turn) / size];
    let cut = Profile::across(scene.patch, middle, along, length).calmed(scene.noise);
    let frame = cut.take(middle, along, length, 0.35 * scene.least, 0.0)?;
    let room = stroke.half() + 4.2 * stroke.blur + 2.0;
    let across = [frame.across[0].max(-room), frame.across[1].min(room)];
    let next = fit(scene.patch, &Box { across, ..frame })?;
    scene.sound(&next).then_some(next)
}

/// The nearest edge or drawn line, and how far it is from the touch.
fn nearest(scene: &Scene, touch: [f64; 2], reach: f64) -> Option<(Stroke, f64)> {
    let mut tried: Vec<Spot> = Vec::new();
    // The sides of a line in whose middle one stands may lie farther off.
    for spot in scene.slopes.crests(touch, reach.max(0.5 * WIDEST), scene.least) {
        let same = |t: &Spot| {
            let apart = [spot.at[0] - t.at[0], spot.at[1] - t.at[1]];
            let side = (apart[0] * t.along[1] - apart[1] * t.along[0]).abs();
            let on = (apart[0] * t.along[0] + apart[1] * t.along[1]).abs();
            side < 1.6 && on < 7.0 && (spot.along[0] * t.along[0] + spot.along[1] * t.along[1]).abs() > 0.85
        };
        if tried.iter().any(same) {
            continue;
        }
        tried.push(spot);
        for length in LENGTHS {
            let Some(first) = hold(scene, &spot, length, None) else { continue };
            let stroke = again(scene, &first, touch, length).unwrap_or(first);
            let far = |s: &Stroke| libm::hypot(s.at[0] - touch[0], s.at[1] - touch[1]);
            let half = stroke.half();
            // Of what is wider than anything is looked for, its side is meant where that is nearer than its middle.
            let middle = if half > reach { reach.max(0.5 * half) } else { reach + half };
            if far(&stroke) <= middle {
                return Some((stroke, far(&stroke)));
            }
            if half > reach
                && let Some(side) = side(scene, &spot, length).filter(|s| far(s) <= reach)
            {
                return Some((side, far(&side)));
            }
        }
        if tried.len() >= TRIES {
            break;
        }
    }
    None
}

/// The nearest corner or line end within `limit`.
fn keenest(scene: &Scene, touch: [f64; 2], limit: f64) -> Option<Meeting> {
    let far = |m: &Meeting| libm::hypot(m.at[0] - touch[0], m.at[1] - touch[1]);
    let mut found: Vec<Meeting> = Vec::new();
    for spot in scene.slopes.meetings(touch, limit + 4.0, scene.least).iter().take(5) {
        let known = |m: &Meeting| libm::hypot(m.at[0] - spot.at[0], m.at[1] - spot.at[1]) < 6.0;
        if found.len() < 2 && !found.iter().any(known) {
            found.extend(meet(scene, spot.at).filter(|m| far(m) <= limit));
        }
    }
    found.into_iter().min_by(|a, b| far(a).total_cmp(&far(b)))
}

/// What was found in coarse pixels once more in the picture's own, where that is the better of the two.
fn finer(luma: &Luma, at: At, reach: f64, patch: &Patch, stroke: Stroke) -> (Patch, Stroke) {
    let coarse = patch.step as f64;
    let found = || {
        let fine = Patch::around(luma, at, reach + 26.0, 1)?;
        let scene = Scene::of(&fine);
        let middle = fine.own(patch.out(stroke.at));
        let spot = Spot { at: middle, along: stroke.along, far: 0.0 };
        let first = hold(&scene, &spot, LENGTHS[0], None)?;
        let next = again(&scene, &first, fine.own(at), LENGTHS[0])?;
        (next.together < 0.3 && next.sigma() < stroke.sigma() * coarse).then_some((fine, next))
    };
    let better = if patch.step > 1 { found() } else { None };
    better.unwrap_or_else(|| (patch.clone(), stroke))
}

fn stroked(patch: &Patch, s: &Stroke) -> Caught {
    let scale = patch.step as f64;
    let [nx, ny] = s.across();
    let variance = s.cov[0][0] * scale * scale;
    let half = s.half() * scale;
    Caught {
        what: if s.shape == Shape::Step { What::Edge } else { What::Line },
        at: shifted(patch.out(s.at)),
        cov: [variance * nx * nx, variance * nx * ny, variance * ny * ny],
        along: Some(s.along),
        half: [nx * half, ny * half],
    }
}

fn cornered(patch: &Patch, m: &Meeting) -> Caught {
    let scale = patch.step as f64;
    Caught {
        what: m.what,
        at: shifted(patch.out(m.at)),
        cov: m.cov.map(|c| c * scale * scale),
        along: None,
        half: m.half.map(|h| h * scale),
    }
}

/// Where a fault is planted, a fifth of a pixel off.
pub(super) fn shifted(p: At) -> At {
    let off = spoil(Area::Edge, 1.2) - 1.0;
    Point::new(p.x + off, p.y + off)
}
