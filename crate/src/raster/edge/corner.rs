//! Where edges or drawn lines meet, and where a drawn line ends.
//!
//! What leaves a place in which direction is read off two circles about it; each of those rays is fitted by itself,
//! away from the place, and the place is where they cross: a corner's own pixels, which any blur rounds off, take
//! no part.

use super::super::ask::What;
use super::catch::Scene;
use super::profile::{Profile, Rise, WIDEST};
use super::stroke::{Box, Shape, Stroke, fit, turned};
use std::f64::consts::TAU;

/// A corner or an end, own px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Meeting {
    pub at: [f64; 2],
    pub cov: [f64; 3],
    pub what: What,
    pub half: [f64; 2],
}

/// Radii of the two circles, own px: the usual ones first, then those for wide lines, then those between close things.
const CIRCLES: [[f64; 2]; 3] = [[8.0, 13.0], [12.0, 19.0], [5.0, 8.5]];

/// Something that leaves a place.
#[derive(Clone, Copy, Debug)]
struct Ray {
    /// Its direction, radians.
    angle: f64,
    /// Half the width of a drawn line.
    half: Option<f64>,
}

/// A ray that was fitted.
#[derive(Clone, Copy, Debug)]
struct Leg {
    stroke: Stroke,
    /// Unit step away from the place.
    away: [f64; 2],
}

/// What meets or ends near `at`.
pub(super) fn meet(scene: &Scene, at: [f64; 2]) -> Option<Meeting> {
    CIRCLES.iter().find_map(|circles| {
        let (first, blur) = once(scene, at, circles, 1.0)?;
        if apart(first.at, at) > 0.9 * circles[0] {
            return None;
        }
        // From the place itself, now that it is known, and as far off as the blur asks.
        let hub = first.at;
        let (second, _) = once(scene, hub, circles, blur)?;
        (apart(second.at, hub) < 1.0 && second.what == first.what).then_some(second)
    })
}

fn apart(a: [f64; 2], b: [f64; 2]) -> f64 {
    libm::hypot(a[0] - b[0], a[1] - b[1])
}

/// One round about `hub`: the meeting, and the widest blur of its legs.
fn once(scene: &Scene, hub: [f64; 2], circles: &[f64; 2], blur: f64) -> Option<(Meeting, f64)> {
    let rays = rays(scene, hub, circles);
    // What only goes straight through is no corner: not worth a fit.
    let through = matches!(rays.as_slice(), [a, b] if (bent(a.angle - b.angle) - 0.5 * TAU).abs() < 0.3);
    if rays.is_empty() || rays.len() > 5 || through {
        return None;
    }
    let legs: Vec<Leg> = (0..rays.len()).filter_map(|i| leg(scene, hub, &rays, i, circles, blur)).collect();
    let widest = legs.iter().map(|l| l.stroke.blur).fold(0.8, f64::max);
    let meeting = match (rays.as_slice(), legs.as_slice()) {
        ([Ray { half: Some(_), .. }], [only]) => ending(scene, hub, only)?,
        (_, legs) => crossing(scene, hub, legs)?,
    };
    Some((meeting, widest))
}

/// What leaves `hub`, by the tones on two circles about it.
fn rays(scene: &Scene, hub: [f64; 2], circles: &[f64; 2]) -> Vec<Ray> {
    let [near, far] = circles.map(|r| (r, round(scene, hub, r)));
    let mut out = Vec::new();
    let n = near.1.len();
    let mut used = vec![false; n];
    // Drawn lines: a fall and a rise (or the other way) as far apart on both circles.
    for dark in [true, false] {
        for i in 0..n {
            let j = (i + 1) % n;
            let (Some(a), Some(b)) = (near.1.get(i), near.1.get(j)) else { continue };
            let free = i != j && !used[i] && !used[j] && (a.steep < 0.0) == dark && (b.steep < 0.0) != dark;
            let gap = wrapped(b.at - a.at);
            let width = 2.0 * near.0 * libm::sin(0.5 * gap.min(3.0));
            if !free || width > WIDEST.min(1.4 * near.0) || gap > 2.2 {
                continue;
            }
            let middle = a.at + 0.5 * gap;
            if let Some(other) =
                line_width(&far, middle, a.steep).filter(|w| (*w - width).abs() < 0.2 * width + 0.9)
            {
                (used[i], used[j]) = (true, true);
                out.push(Ray { angle: middle, half: Some(0.25 * (width + other)) });
            }
        }
    }
    for (rise, used) in near.1.iter().zip(used) {
        let goes_on =
            far.1.iter().any(|r| (r.steep > 0.0) == (rise.steep > 0.0) && bent(r.at - rise.at) < 0.3);
        if !used && goes_on {
            out.push(Ray { angle: rise.at, half: None });
        }
    }
    out
}

/// The width of the line on this circle nearest to an angle, whose first side rises or falls as told.
fn line_width((radius, rises): &(f64, Vec<Rise>), angle: f64, first: f64) -> Option<f64> {
    let n = rises.len();
    let pairs = (0..n).filter_map(|i| Some((rises.get(i)?, rises.get((i + 1) % n)?)));
    let fit = pairs.filter(|(a, b)| (a.steep > 0.0) == (first > 0.0) && (b.steep > 0.0) != (first > 0.0));
    let widths = fit.filter_map(|(a, b)| {
        let gap = wrapped(b.at - a.at);
        let off = bent(a.at + 0.5 * gap - angle);
        (off < 0.3 && gap < 2.2).then(|| (off, 2.0 * radius * libm::sin(0.5 * gap)))
    });
    widths.min_by(|a, b| a.0.total_cmp(&b.0)).map(|w| w.1)
}

/// An angle in 0 … 2π.
fn wrapped(a: f64) -> f64 {
    a - TAU * (a / TAU).floor()
}

/// How far an angle is from 0, either way round.
fn bent(a: f64) -> f64 {
    let a = wrapped(a);
    a.min(TAU - a)
}

/// Rises and falls on a circle: `at` is the angle. Faint ones are left out.
fn round(scene: &Scene, hub: [f64; 2], radius: f64) -> Vec<Rise> {
    let n = libm::round(TAU * radius / 0.5).max(8.0);
    let turn = TAU / n;
    let value = |i: i32| {
        let a = f64::from(i) * turn;
        let (dx, dy) = (libm::cos(a), libm::sin(a));
        let rings = [-1.2, -0.4, 0.4, 1.2]
            .map(|d| scene.patch.sample([hub[0] + dx * (radius + d), hub[1] + dy * (radius + d)]));
        let sum: Option<f64> = rings.into_iter().sum();
        sum.map(|s| (f64::from(i) * 0.5, 0.25 * s))
    };
    // A little beyond a full turn, so that nothing is missed where it closes.
    let Some(values) = (-4..n as i32 + 4).map(value).collect::<Option<Vec<_>>>() else { return Vec::new() };
    let mut rises = Profile::new(values).rises(0.7 * scene.least);
    let most = rises.iter().map(|r| r.steep.abs()).fold(0.0, f64::max);
    rises.retain(|r| r.steep.abs() >= 0.25 * most && r.at >= 0.0 && r.at < n * 0.5);
    for rise in &mut rises {
        rise.at *= turn / 0.5;
    }
    rises
}

/// A ray fitted by itself.
fn leg(scene: &Scene, hub: [f64; 2], rays: &[Ray], i: usize, circles: &[f64; 2], blur: f64) -> Option<Leg> {
    let ray = rays.get(i)?;
    let away = [libm::cos(ray.angle), libm::sin(ray.angle)];
    let widest = rays.iter().filter_map(|r| r.half).fold(0.0, f64::max);
    // As far off as it takes for the others' blur to have died away, farther where they part slowly.
    let others = rays.iter().enumerate().filter(|(j, _)| *j != i);
    let gap = others.map(|(_, r)| bent(r.angle - ray.angle)).fold(1.57, f64::min);
    let from = ((2.2 * blur + 0.6 + widest) / libm::sin(gap).max(0.3)).max(2.5).min(circles[0] + 1.0);
    let to = circles[1] + 3.0;
    let (middle, length) = (0.5 * (from + to), 0.5 * (to - from));
    let at = [hub[0] + away[0] * middle, hub[1] + away[1] * middle];
    let cut = Profile::over(scene.patch, at, away, length, 12.0).calmed(scene.noise);
    let frame = cut.take(at, away, length, 0.35 * scene.least, ray.half.unwrap_or(0.0))?;
    if matches!(frame.shape, Shape::Bar(_)) != ray.half.is_some() {
        return None;
    }
    let room = frame.shape.half() + 3.2 * blur + 2.5;
    let across = [frame.across[0].max(-room), frame.across[1].min(room)];
    let wedge = [1.0, -1.0].map(|side| wall(hub, rays, i, side));
    let stroke = fit(scene.patch, &Box { across, curved: false, wedge, ..frame })?;
    let straight = stroke.along[0] * away[0] + stroke.along[1] * away[1] > 0.8;
    (scene.sound(&stroke) && straight).then_some(Leg { stroke, away: stroke.along })
}

/// The wall half-way to the next ray on one side: pixels beyond it belong to that one.
fn wall(hub: [f64; 2], rays: &[Ray], i: usize, side: f64) -> Option<([f64; 2], [f64; 2])> {
    let own = rays.get(i)?.angle;
    let others = rays.iter().enumerate().filter(|(j, _)| *j != i);
    let gap = others.map(|(_, r)| wrapped(side * (r.angle - own))).fold(TAU, f64::min);
    let angle = own + side * 0.5 * gap;
    // Square to the wall, towards the ray.
    (gap < 3.0).then(|| (hub, [side * libm::sin(angle), -side * libm::cos(angle)]))
}

/// Where two legs of different directions cross.
fn crossing(scene: &Scene, hub: [f64; 2], legs: &[Leg]) -> Option<Meeting> {
    let mut best: Option<(f64, usize, usize)> = None;
    for i in 0..legs.len() {
        for j in i + 1..legs.len() {
            let (a, b) = (legs.get(i)?, legs.get(j)?);
            let sine = (a.away[0] * b.away[1] - a.away[1] * b.away[0]).abs();
            if best.is_none_or(|(s, ..)| sine > s) {
                best = Some((sine, i, j));
            }
        }
    }
    let (sine, i, j) = best?;
    let (a, b) = (legs.get(i)?, legs.get(j)?);
    if sine < 0.3 {
        return None;
    }
    let single = cross(&a.stroke, &b.stroke)?;
    let (at, cov) = chequered(legs).unwrap_or_else(|| (single, cov_of(single, a, b, [1.0, 1.0])));
    let sharp = if matches!(a.stroke.shape, Shape::Bar(_)) || matches!(b.stroke.shape, Shape::Bar(_)) {
        inked(scene, at, a) && inked(scene, at, b) && (legs.len() > 2 || !rounded(scene, at, hub, a, b))
    } else {
        legs.len() > 2 || pointed(scene, at, a, b)
    };
    (sharp && apart(at, hub) < 8.0).then(|| Meeting { at, cov, what: What::Corner, half: sides(a, b) })
}

/// Where edges meet as on a chessboard, from both halves of a line: light that was blurred before it was encoded moves an
/// edge towards its dark side, which lies on the other hand beyond the middle, so that the halves' errors cancel.
fn chequered(legs: &[Leg]) -> Option<([f64; 2], [f64; 3])> {
    let [first, rest @ ..] = legs else { return None };
    let step = |l: &Leg| l.stroke.shape == Shape::Step;
    // Seen outwards from the middle, both halves of such a line have their dark on the same hand.
    let facing = |a: &Leg, b: &Leg| {
        a.away[0] * b.away[0] + a.away[1] * b.away[1] < -0.9 && a.stroke.contrast * b.stroke.contrast > 0.0
    };
    let (mut one, other): (Vec<Leg>, Vec<Leg>) = rest.iter().partition(|l| facing(first, l));
    one.push(*first);
    let paired = |line: &[Leg]| matches!(line, [a, b] if facing(a, b));
    let sound = |line: &[Leg]| line.len() == 1 || paired(line);
    if !(legs.iter().all(step) && sound(&one) && sound(&other) && (paired(&one) || paired(&other))) {
        return None;
    }
    let share = 1.0 / (one.len() * other.len()) as f64;
    let (mut at, mut cov) = ([0.0; 2], [0.0; 3]);
    for a in &one {
        for b in &other {
            let here = cross(&a.stroke, &b.stroke)?;
            at = [at[0] + share * here[0], at[1] + share * here[1]];
            // The mean of two halves has half of their variance.
            let told = cov_of(here, a, b, [1.0 / one.len() as f64, 1.0 / other.len() as f64]);
            cov = [0, 1, 2].map(|k| cov[k] + share * told[k]);
        }
    }
    Some((at, cov))
}

fn cross(a: &Stroke, b: &Stroke) -> Option<[f64; 2]> {
    let ([ax, ay], [bx, by]) = (a.across(), b.across());
    let (da, db) = (ax * a.at[0] + ay * a.at[1], bx * b.at[0] + by * b.at[1]);
    let det = ax * by - ay * bx;
    (det.abs() > 0.1).then(|| [(da * by - db * ay) / det, (ax * db - bx * da) / det])
}

/// Covariance of a crossing from those of the two lines there, each of which counts by its share.
fn cov_of(at: [f64; 2], a: &Leg, b: &Leg, [sa, sb]: [f64; 2]) -> [f64; 3] {
    let along = |l: &Leg| {
        let s = &l.stroke;
        s.offset_variance((at[0] - s.at[0]) * s.along[0] + (at[1] - s.at[1]) * s.along[1])
    };
    let (va, vb) = (sa * along(a), sb * along(b));
    let ([ax, ay], [bx, by]) = (a.stroke.across(), b.stroke.across());
    let det = ax * by - ay * bx;
    // Columns of the inverse of (across a; across b).
    let (ca, cb) = ([by / det, -bx / det], [-ay / det, ax / det]);
    [
        va * ca[0] * ca[0] + vb * cb[0] * cb[0],
        va * ca[0] * ca[1] + vb * cb[0] * cb[1],
        va * ca[1] * ca[1] + vb * cb[1] * cb[1],
    ]
}

/// From the crossing of two drawn lines' middles to that of their outer sides.
fn sides(a: &Leg, b: &Leg) -> [f64; 2] {
    let ([ax, ay], [bx, by]) = (a.stroke.across(), b.stroke.across());
    let det = ax * by - ay * bx;
    // Each line's outer side is the one away from where the other leg goes.
    let out = |n: [f64; 2], half: f64, other: [f64; 2]| {
        if n[0] * other[0] + n[1] * other[1] > 0.0 { -half } else { half }
    };
    let (da, db) = (out([ax, ay], a.stroke.half(), b.away), out([bx, by], b.stroke.half(), a.away));
    [(da * by - db * ay) / det, (ax * db - bx * da) / det]
}

/// Whether a corner of two edges is a point rather than a bend: the tone at the tip of a sector is its share of the
/// full turn, whatever the (round) blur.
fn pointed(scene: &Scene, at: [f64; 2], a: &Leg, b: &Leg) -> bool {
    let Some(tip) = scene.patch.sample(at) else { return false };
    // Tone to the turned side of a leg is its lighter or darker one by the sign of its contrast.
    let cosine = a.away[0] * b.away[0] + a.away[1] * b.away[1];
    let angle = libm::acos(cosine.clamp(-1.0, 1.0));
    let towards = |l: &Leg, other: &Leg| {
        let n = l.stroke.across();
        if n[0] * other.away[0] + n[1] * other.away[1] > 0.0 { 1.0 } else { -1.0 }
    };
    let (ca, cb) = (a.stroke.contrast * towards(a, b), b.stroke.contrast * towards(b, a));
    let inside = 0.5 * (a.stroke.tone + 0.5 * ca + b.stroke.tone + 0.5 * cb);
    let outside = 0.5 * (a.stroke.tone - 0.5 * ca + b.stroke.tone - 0.5 * cb);
    let share = angle / TAU;
    let expected = outside + (inside - outside) * share;
    ca * cb > 0.0 && (tip - expected).abs() < 0.16 * (inside - outside).abs()
}

/// Whether a line that turns at a place does so in a bend rather than a point: an arc that leaves along both legs passes
/// inside of where they cross, by what lies between a chord's tangents and its arc; the ink of a point lies about it.
fn rounded(scene: &Scene, at: [f64; 2], hub: [f64; 2], a: &Leg, b: &Leg) -> bool {
    let (Shape::Bar(half), Shape::Bar(_)) = (a.stroke.shape, b.stroke.shape) else { return false };
    let sum = [a.away[0] + b.away[0], a.away[1] + b.away[1]];
    let long = libm::hypot(sum[0], sum[1]);
    if long < 1e-6 {
        return true;
    }
    let inwards = [sum[0] / long, sum[1] / long];
    let cosine = (a.away[0] * b.away[0] + a.away[1] * b.away[1]).clamp(-1.0, 1.0);
    let turn = std::f64::consts::PI - libm::acos(cosine);
    // The legs were fitted about so far off; an arc that is tangent there has its middle this far inside.
    let off = 0.5 * (apart(a.stroke.at, hub) + apart(b.stroke.at, hub));
    let inside = off * libm::tan(0.25 * turn);
    // Square to the way across, the ink is longer by the slant.
    let slant = half / libm::cos(0.5 * turn).max(0.2);
    let tone = 0.5 * (a.stroke.tone + b.stroke.tone);
    let sign = a.stroke.contrast.signum();
    let (mut all, mut moment) = (0.0, 0.0);
    let (from, to) = (-slant - 2.0, inside + slant + 2.0);
    let steps = ((to - from) / 0.25).ceil();
    for k in 0..=(steps as usize) {
        let t = from + (to - from) * k as f64 / steps;
        let Some(value) = scene.patch.sample([at[0] + inwards[0] * t, at[1] + inwards[1] * t]) else {
            continue;
        };
        let ink = ((value - tone) * sign - 0.15 * a.stroke.contrast.abs()).max(0.0);
        all += ink;
        moment += ink * t;
    }
    all <= 0.0 || moment / all > 0.4 * inside
}

/// Whether a drawn line's ink reaches a place.
fn inked(scene: &Scene, at: [f64; 2], leg: &Leg) -> bool {
    let s = &leg.stroke;
    if s.shape == Shape::Step {
        return true;
    }
    let (Some(tip), Some(on)) = (scene.patch.sample(at), scene.patch.sample(s.at)) else { return false };
    // At least half as far from the paper as the line itself.
    (tip - s.tone) * s.contrast.signum() > 0.5 * (on - s.tone) * s.contrast.signum()
}

/// The end of a drawn line that is all there is about `hub`.
fn ending(scene: &Scene, hub: [f64; 2], leg: &Leg) -> Option<Meeting> {
    let s = &leg.stroke;
    let half = s.half();
    let t = (hub[0] - s.at[0]) * s.along[0] + (hub[1] - s.at[1]) * s.along[1];
    let start = [s.at[0] + s.along[0] * t, s.at[1] + s.along[1] * t];
    let frame = Box {
        middle: start,
        along: [s.along[1], -s.along[0]],
        length: (0.6 * half).max(1.1),
        across: [-7.0, 7.0],
        shape: Shape::Step,
        curved: false,
        bend: 0.0,
        steady: true,
        wedge: [None, None],
    };
    let inwards = turned(frame.along);
    let cut = Profile::over(scene.patch, start, frame.along, (0.5 * half).max(1.0), 9.0);
    let rise =
        cut.rises(0.5 * scene.least).into_iter().map(|r| r.at).min_by(|a, b| a.abs().total_cmp(&b.abs()))?;
    let middle = [start[0] + inwards[0] * rise, start[1] + inwards[1] * rise];
    let tip = fit(scene.patch, &Box { middle, ..frame })?;
    let good = tip.contrast.signum() == s.contrast.signum() && tip.explained > 0.5 && tip.strength > 9.0;
    if !good || tip.sigma() > 1.0 {
        return None;
    }
    let away = leg.away;
    let reached = (tip.at[0] - s.at[0]) * away[0] + (tip.at[1] - s.at[1]) * away[1];
    let at = [s.at[0] + away[0] * (reached + half), s.at[1] + away[1] * (reached + half)];
    let n = s.across();
    // How the end is shaped (square, round) isn't known: a fifth of half the width, either way, evenly.
    let along = tip.cov[0][0] + 0.04 * half * half / 3.0;
    let over = s.offset_variance(reached);
    Some(Meeting {
        at,
        cov: [
            along * away[0] * away[0] + over * n[0] * n[0],
            along * away[0] * away[1] + over * n[0] * n[1],
            along * away[1] * away[1] + over * n[1] * n[1],
        ],
        what: What::End,
        half: [-away[0] * half, -away[1] * half],
    })
}
