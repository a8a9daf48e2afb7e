//! Sloping things: the same two ends marked on two views give the true length and the bevel.
//!
//! A strut, a splayed leg, a wing with dihedral shows short in every view: its run along the direction that the views share
//! and what each shows besides are the three sides of a box whose diagonal it is (trade practice, no source).

use super::document::{Document, Mark};
use super::intent::Role;
use super::reckon::{Reading, Reckoned, clicks};
use crate::estimate::Estimate;
use crate::mark::{Ends, Kind};

/// Steeper than this off level or plumb (its tangent, 1°) it slopes.
const SLOPES: f64 = 0.017;

/// What two views of one sloping thing tell.
#[derive(Clone, Debug, PartialEq)]
pub struct Slope {
    /// The mark on the other view.
    pub other: u32,
    /// Its length, mm.
    pub length: Estimate,
    /// How far it leans off the direction that both views share, rad: the bevel for the saw.
    pub bevel: Estimate,
}

/// The run of a mark on its view, mm: across and down.
fn run(reckoned: &Reckoned, reading: &Reading, mark: &Mark) -> Option<[Estimate; 2]> {
    let map = reckoned.map(reading.view)?;
    let ends = clicks(mark.id, &mark.points);
    let [a, b] = &ends[..] else { return None };
    let ([ax, ay], [bx, by]) = (map.locate(a).ok()?, map.locate(b).ok()?);
    Some([bx.minus(&ax), by.minus(&ay)].map(|e| if e.value < 0.0 { e.times(-1.0) } else { e }))
}

/// What mark `id` and another that a person paired with it tell, if they are of one thing that slopes.
pub fn slope(document: &Document, reckoned: &Reckoned, id: u32) -> Option<Slope> {
    let pairs = document.same.iter().filter(|p| p.same && p.marks.contains(&id));
    pairs.into_iter().find_map(|p| {
        let other = if p.marks[0] == id { p.marks[1] } else { p.marks[0] };
        between(document, reckoned, id, other)
    })
}

fn between(document: &Document, reckoned: &Reckoned, id: u32, other: u32) -> Option<Slope> {
    let [a, b] = [reckoned.reading(id)?, reckoned.reading(other)?];
    let [m, n] = [document.mark(id)?, document.mark(other)?];
    let straight = |m: &Mark| m.kind == Kind::Length && m.ends == Ends::Between;
    if a.view == b.view || !reckoned.comparable(a, b) || !straight(m) || !straight(n) {
        return None;
    }
    let [r, s] = [document.view(a.view)?.role, document.view(b.view)?.role];
    let (first, second) = (run(reckoned, a, m)?, run(reckoned, b, n)?);
    let shares = |[x, y]: &[Estimate; 2]| x.value > SLOPES * y.value && y.value > SLOPES * x.value;
    if !(shares(&first) || shares(&second)) {
        return None;
    }
    // Which way each view shows what both share: down for height; a view from above may lie either way.
    let (i, j) = match (r, s) {
        (Role::Front, Role::Side) | (Role::Side, Role::Front) => (1, 1),
        (Role::Top, Role::Front | Role::Side) => (nearer(&first, &second[0]), 0),
        (Role::Front | Role::Side, Role::Top) => (0, nearer(&second, &first[0])),
        _ => return None,
    };
    let shared = mean(&first[i], &second[j]);
    let (u, v) = (&first[1 - i], &second[1 - j]);
    let length = libm::sqrt(shared.value * shared.value + u.value * u.value + v.value * v.value);
    let off = libm::hypot(u.value, v.value);
    if !(length > 0.0 && off > 0.0) {
        return None;
    }
    let by = |e: &Estimate| e.value / length;
    let whole = Estimate::combine(length, &[(by(&shared), &shared), (by(u), u), (by(v), v)]);
    // atan2(off, shared): d = (shared·d(off) − off·d(shared)) / length².
    let k = shared.value / (off * length * length);
    let turn = [(-off / (length * length), &shared), (k * u.value, u), (k * v.value, v)];
    let bevel = Estimate::combine(libm::atan2(off, shared.value), &turn);
    Some(Slope { other, length: whole, bevel })
}

/// Which of two runs is the nearer in size to a third.
fn nearer(runs: &[Estimate; 2], to: &Estimate) -> usize {
    let off = |k: usize| (runs[k].value - to.value).abs();
    usize::from(off(1) < off(0))
}

/// The mean of what two views make of one run, by their weights.
fn mean(a: &Estimate, b: &Estimate) -> Estimate {
    let [p, q] = [a, b].map(|e| 1.0 / e.variance().max(1e-12));
    let (p, q) = (p / (p + q), q / (p + q));
    Estimate::combine(p * a.value + q * b.value, &[(p, a), (q, b)])
}
