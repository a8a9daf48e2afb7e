//! The round thing whose edge goes near three or more rough touches.
//!
//! Cuts across a first circle give rises and falls; circles and ellipses through a few of them, chosen by chance,
//! compete for how many lie on them; then short stretches all round are fitted, and the oval nearest to those.
//!
//! # References
//! Fischler & Bolles, Communications of the ACM 24 (1981) 381.

use super::super::ask::{At, Fitted};
use super::super::luma::Luma;
use super::catch::{STEPS, shifted};
use super::oval::{Oval, OvalFit};
use super::station::{Cut, Exact, Rough, exact, rough};
use crate::order::sort_by;
use crate::plane::{circle_through, fit_circle};
use std::f64::consts::TAU;

/// How many places tell of a fitted oval.
const PLACES: usize = 12;
/// Ovals tried, of either kind.
const DRAWS: u64 = 400;

/// The circle, or the ellipse where a circle doesn't fit, as places evenly over what is seen of its edge. Their
/// errors, across it, are independent, and such that an oval fitted through them is as uncertain as this one.
/// `reach`: how far the edge may be from a circle through the touches, px.
pub fn round(luma: &Luma, touches: &[At], reach: f64) -> Option<Vec<Fitted>> {
    if !(reach.is_finite() && touches.iter().all(|p| p.is_finite())) {
        return None;
    }
    let circle = match touches {
        [a, b, c] => circle_through(&[*a, *b, *c]).ok()?,
        _ => fit_circle(touches).ok()?.circle,
    };
    let first = Oval::circle(circle.centre, circle.radius);
    let reach = reach.clamp(1.0, 200.0).min(0.7 * circle.radius);
    if !(first.sound() && circle.radius < 2e4) {
        return None;
    }
    STEPS.into_iter().take_while(|s| *s == 1 || circle.radius > 6.0 * *s as f64).find_map(|step| {
        let cuts = cuts(&first, 6.0, 180.0);
        let met = rough(luma, &cuts, reach, step);
        let seen = compete(&first, &met, cuts.len())?;
        refine(luma, seen, step)
    })
}

/// Even cuts round an oval, `each` px apart or more.
fn cuts(oval: &Oval, each: f64, most: f64) -> Vec<Cut> {
    angles(oval, each, most)
        .map(|a| Cut { at: oval.at(a), along: oval.along(a), bend: oval.bend(a) })
        .collect()
}

fn angles(oval: &Oval, each: f64, most: f64) -> impl Iterator<Item = f64> {
    let n = (TAU * oval.mean_radius() / each).floor().max(8.0).min(most);
    (0..n as i32).map(move |i| TAU * f64::from(i) / n)
}

/// The oval that most of what was met lies on.
fn compete(first: &Oval, met: &[Rough], cuts: usize) -> Option<Oval> {
    let mut seed = 1;
    let mut best = (0.0, None);
    let trial = |oval: Oval, best: &mut (f64, Option<(Oval, bool)>), bonus: f64| {
        let like = oval.sound() && oval.mean_radius() < 3.0 * first.mean_radius();
        for lighter in [false, true] {
            let score = if like { score(&oval, met, lighter, cuts) * bonus } else { 0.0 };
            if score > best.0 {
                *best = (score, Some((oval, lighter)));
            }
        }
    };
    let mut pick = || {
        seed = chance(seed);
        met.get(((seed >> 33) % (met.len() as u64).max(1)) as usize)
    };
    for _ in 0..DRAWS {
        let (Some(a), Some(b), Some(c)) = (pick(), pick(), pick()) else { break };
        let alike = a.lighter == b.lighter && b.lighter == c.lighter;
        if let (true, Ok(circle)) = (alike, circle_through(&[a.at, b.at, c.at])) {
            trial(Oval::circle(circle.centre, circle.radius), &mut best, 1.0);
        }
    }
    for _ in 0..DRAWS {
        let five: Vec<&Rough> = (0..5).filter_map(|_| pick()).collect();
        let lighter = five.first()?.lighter;
        if five.iter().all(|r| r.lighter == lighter) {
            let places: Vec<At> = five.iter().map(|r| r.at).collect();
            if let Some(oval) = Oval::near(&places, first.centre) {
                trial(oval, &mut best, 0.85);
            }
        }
    }
    let (oval, lighter) = best.1?;
    polish(oval, met, lighter)
}

/// What lies on an oval, the best of each cut, added up; nothing when that is little of it.
fn score(oval: &Oval, met: &[Rough], lighter: bool, cuts: usize) -> f64 {
    let (mut sum, mut count, mut last) = (0.0, 0usize, usize::MAX);
    for r in met.iter().filter(|r| r.lighter == lighter) {
        let off = oval.off(r.at).abs();
        if off < 1.6 && r.cut != last {
            sum += r.weight * (1.0 - 0.3 * off);
            count += 1;
            last = r.cut;
        }
    }
    if 5 * count < cuts || count < 6 { 0.0 } else { sum }
}

/// The nearest oval to all that lies on it.
fn polish(mut oval: Oval, met: &[Rough], lighter: bool) -> Option<Oval> {
    let round = oval.radii[0] == oval.radii[1];
    for near in [2.0, 1.5, 1.2] {
        let on: Vec<(At, f64)> = met
            .iter()
            .filter(|r| r.lighter == lighter && oval.off(r.at).abs() < near)
            .map(|r| (r.at, 0.4))
            .collect();
        oval = oval.fitted(&on, round)?.oval;
    }
    Some(oval)
}

/// The next number of a row that looks like chance: Knuth, The Art of Computer Programming 2, 3rd ed., 3.3.4 (line
/// 26 of table 1).
fn chance(seed: u64) -> u64 {
    seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407)
}

/// Short stretches fitted all round, twice, and the oval nearest to them.
fn refine(luma: &Luma, first: Oval, step: i64) -> Option<Vec<Fitted>> {
    let scale = step as f64;
    let mut oval = first;
    let mut last = None;
    for _ in 0..3 {
        let length = (oval.mean_radius() / 6.0).max(2.2 * scale).min(6.0 * scale);
        let cuts = cuts(&oval, 2.0 * length, 140.0);
        let found = exact(luma, &cuts, length, step);
        if found.len() < 6 || 5 * found.len() < cuts.len() {
            return None;
        }
        let fit = nearest(&oval, &found)?;
        oval = fit.oval;
        last = Some((fit, found, cuts.len()));
    }
    let (fit, found, cuts) = last?;
    Some(told(&fit, &found, cuts))
}

/// The circle nearest to the places, or the ellipse where that is better by more than chance.
fn nearest(start: &Oval, found: &[Exact]) -> Option<OvalFit> {
    let places: Vec<(At, f64)> = found.iter().map(|e| (e.at, e.variance.max(1e-8).sqrt())).collect();
    let radius = start.mean_radius();
    let circle = Oval::circle(start.centre, radius).fitted(&places, true);
    let [a, b] = start.radii;
    // An ellipse's turn means nothing while it is a circle: start a little off.
    let begin = if (a - b).abs() > 1e-3 * a { *start } else { lean(start.centre, radius, &places) };
    let ellipse = begin.fitted(&places, false);
    match (circle, ellipse) {
        (Some(c), Some(e)) => {
            let kept = |f: &OvalFit| f.weights.iter().filter(|w| **w > 0.2).count();
            let n = places.len() as f64;
            let whole = |f: &OvalFit| {
                places.iter().map(|(p, s)| libm::pow(f.oval.off(*p) / s, 2.0).min(25.0)).sum::<f64>()
            };
            // Two more numbers take 2 ± 2 off the sum by chance; 14 is one in a thousand.
            let noise = (e.chi2 / (n - 5.0).max(1.0)).max(1.0);
            let better = whole(&c) - whole(&e) > 14.0 * noise && kept(&e) + 2 >= kept(&c);
            Some(if better { e } else { c })
        }
        (c, e) => c.or(e),
    }
}

/// An oval a little off a circle, the way the places lie.
fn lean(centre: At, radius: f64, places: &[(At, f64)]) -> Oval {
    let (mut c, mut s) = (0.0, 0.0);
    for (p, _) in places {
        let d = *p - centre;
        let (angle, off) = (2.0 * libm::atan2(d.y, d.x), d.length() - radius);
        c += off * libm::cos(angle);
        s += off * libm::sin(angle);
    }
    let n = places.len() as f64;
    let by = (2.0 * libm::hypot(c, s) / n).max(1e-3 * radius).min(0.5 * radius);
    Oval { centre, radii: [radius + by, radius - by], turn: 0.5 * libm::atan2(s, c) }
}

/// The oval as places: each at an equal share of what is known of it, from the end of the widest gap on.
fn told(fit: &OvalFit, found: &[Exact], cuts: usize) -> Vec<Fitted> {
    let angle = |e: &Exact| TAU * e.cut as f64 / cuts as f64;
    let mut known: Vec<(f64, f64)> = found
        .iter()
        .zip(&fit.weights)
        .map(|(e, w)| (angle(e), w / e.variance.max(1e-8)))
        .filter(|(_, w)| *w > 0.0)
        .collect();
    sort_by(&mut known, |a, b| a.0.total_cmp(&b.0));
    let n = known.len();
    let at = |i: usize| known.get(i % n.max(1)).map_or(0.0, |k| k.0) + if i >= n { TAU } else { 0.0 };
    let start =
        (0..n).max_by(|a, b| (at(a + 1) - at(*a)).total_cmp(&(at(b + 1) - at(*b)))).map_or(0, |i| i + 1);
    let sum: f64 = known.iter().map(|k| k.1).sum();
    let mut out = Vec::with_capacity(PLACES);
    let mut passed = 0.0;
    let cell = TAU / cuts as f64;
    for i in start..start + n {
        let share = known.get(i % n).map_or(0.0, |k| k.1) / sum;
        // The middles of the shares that fall into this place's own.
        while out.len() < PLACES {
            let wanted = (out.len() as f64 + 0.5) / PLACES as f64;
            if wanted > passed + share + 1e-12 {
                break;
            }
            let within = at(i) + cell * ((wanted - passed) / share - 0.5);
            out.push(place(&fit.oval, within, fit.wide * PLACES as f64 / sum));
        }
        passed += share;
    }
    out
}

fn place(oval: &Oval, angle: f64, variance: f64) -> Fitted {
    let [nx, ny] = oval.outwards(angle);
    Fitted { at: shifted(oval.at(angle)), cov: [variance * nx * nx, variance * nx * ny, variance * ny * ny] }
}
