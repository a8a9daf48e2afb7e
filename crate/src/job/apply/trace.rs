//! Outlines that were found in the picture: laid on a mark, by their middle or by the side that was chosen.

use super::super::document::{Document, Mark, PICTURE_U, Placing};
use super::super::intent::{At, Side};
use super::{MOST_POINTS, mark_mut};
use crate::mark::Kind;
use crate::plane::{perimeter, signed_area};
use crate::raster::ask::Border;
use crate::words::Say;

/// An outline keeps a point about every so many px, and no fewer than [`FEWEST`] where it is long enough: its own noise
/// hides in less.
const STEP: f64 = 3.0;
/// No fewer points than this, if there are so many.
const FEWEST: usize = 64;
/// No more points than this on a ring: sizes take time with the square of it.
const MOST: usize = 1_200;
/// No more holes than this.
const MOST_HOLES: usize = 200;

/// Lays what was found on the outline `mark`.
///
/// # Errors
/// `job.no-such-mark`; `job.not-an-outline` when the mark is another kind, or what was found is no closed border.
pub(super) fn trace(document: &mut Document, mark: u32, border: &Border) -> Result<(), Say> {
    let rings = if sound(border) { border.rings.iter().map(|r| thinned(r)).collect() } else { Vec::new() };
    lay_border(document, mark, Border { rings, bridges: border.bridges.clone(), ..*border })
}

/// Lays a border on the outline `mark` as it is.
///
/// # Errors
/// As [`trace`].
pub(super) fn lay_border(document: &mut Document, mark: u32, mut border: Border) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    border.rings.retain(|r| r.len() >= 3);
    let fits = border.rings.iter().map(Vec::len).sum::<usize>() <= MOST_POINTS
        && border.rings.first().is_some_and(|r| r.len() <= crate::mark::MOST_POINTS);
    if m.kind != Kind::Outline || !sound(&border) || !fits {
        return Err(Say::new("job.not-an-outline"));
    }
    m.border = Some(border);
    m.fitted = true;
    m.smooth = None;
    m.centre = None;
    m.repeats.clear();
    lay(document, mark)
}

/// Puts places found along an edge before the point `before`, or at the end.
///
/// # Errors
/// `job.no-such-mark`, `job.no-such-point`, `job.too-many-points`; `job.point-not-a-place` when they can't be reckoned with.
pub(super) fn follow(
    document: &mut Document,
    mark: u32,
    before: usize,
    points: &[At],
    sigma: f64,
) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    if !matches!(m.kind, Kind::Outline | Kind::Path) || before == 0 || before > m.points.len() {
        return Err(Say::new("job.no-such-point"));
    }
    let near = points.iter().all(|p| p.x.abs() <= 1e6 && p.y.abs() <= 1e6);
    if !(near && sigma > 1e-6 && sigma < 1e3) {
        return Err(Say::new("job.point-not-a-place"));
    }
    // The touches themselves stay at either end.
    let inner = points.get(1..points.len().saturating_sub(1)).unwrap_or_default();
    let wanted = (inner.len() / STEP as usize).min(MOST);
    if m.points.len() + wanted > MOST_POINTS.min(crate::mark::MOST_POINTS) {
        return Err(Say::new("job.too-many-points"));
    }
    let sigma = libm::hypot(sigma, PICTURE_U);
    let put: Vec<Placing> = (0..wanted)
        .map(|k| inner[k * inner.len() / wanted])
        .map(|at| Placing { at, sigma, hold: None, between: true })
        .collect();
    m.points.splice(before..before, put);
    m.repeats.clear();
    Ok(())
}

/// Takes the places away that were found along an edge up to point `at` and on from it: it has been put elsewhere.
pub(super) fn unfollow(m: &mut Mark, at: usize) {
    let n = m.points.len();
    let run = |step: &dyn Fn(usize) -> usize| (1..n).take_while(|k| m.points[step(*k)].between).count();
    let behind = run(&|k| (at + n - k) % n);
    let ahead = run(&|k| (at + k) % n);
    if m.kind == Kind::Outline && behind + ahead > 0 && !m.points[at].between {
        let gone: Vec<usize> =
            (1..=behind).map(|k| (at + n - k) % n).chain((1..=ahead).map(|k| (at + k) % n)).collect();
        let mut i = 0;
        m.points.retain(|_| {
            i += 1;
            !gone.contains(&(i - 1))
        });
    }
}

/// What can be reckoned with; it may come from a file that somebody made.
fn sound(border: &Border) -> bool {
    let mut points = border.rings.iter().flatten().chain(border.bridges.iter().flatten());
    let count: usize = border.rings.iter().map(Vec::len).sum();
    (1..=MOST_HOLES + 1).contains(&border.rings.len())
        && count <= 50 * MOST_POINTS
        && border.bridges.len() <= 1_000
        && border.sigma > 1e-6
        && border.sigma < 1e3
        && (0.0..1e3).contains(&border.half)
        && points.all(|p| p.x.abs() <= 1e6 && p.y.abs() <= 1e6)
}

/// Evenly chosen points of a ring.
fn thinned(ring: &[At]) -> Vec<At> {
    let wanted = ((perimeter(ring) / STEP) as usize).clamp(FEWEST, MOST);
    if ring.len() <= wanted {
        return ring.to_vec();
    }
    (0..wanted).map(|k| ring[k * ring.len() / wanted]).collect()
}

/// Puts the points of a traced outline on the side of its line that was chosen.
pub(super) fn lay(document: &mut Document, mark: u32) -> Result<(), Say> {
    let side = document.side;
    let m = mark_mut(document, mark)?;
    let Some(border) = &m.border else { return Ok(()) };
    let out = match side {
        Side::Middle => 0.0,
        Side::Outer => border.half,
        Side::Inner => -border.half,
    };
    let Some(ring) = border.rings.first() else { return Ok(()) };
    let sigma = libm::hypot(border.sigma, PICTURE_U);
    m.points =
        moved(ring, out).into_iter().map(|at| Placing { at, sigma, hold: None, between: false }).collect();
    // A hole's outer side is the one towards its own middle: away from the wood.
    m.holes = border
        .rings
        .iter()
        .skip(1)
        .map(|r| {
            moved(r, -out).into_iter().map(|at| Placing { at, sigma, hold: None, between: false }).collect()
        })
        .collect();
    Ok(())
}

/// The ring moved outwards by so many px, each point square to the way from its neighbour before to the one behind.
fn moved(ring: &[At], out: f64) -> Vec<At> {
    let n = ring.len();
    if out == 0.0 {
        return ring.to_vec();
    }
    let turn = if signed_area(ring) >= 0.0 { out } else { -out };
    (0..n)
        .map(|i| {
            let way = ring[(i + 1) % n] - ring[(i + n - 1) % n];
            let long = way.length().max(1e-12);
            At::new(ring[i].x + way.y / long * turn, ring[i].y - way.x / long * turn)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ring_moves_to_its_sides_whichever_way_it_runs() {
        // A circle of 100 px: its area when moved out by 2 is π·102², by hand; a 600-gon's is less by (2π/600)²/6.
        let ring: Vec<At> = (0..600)
            .map(|i| f64::from(i) * std::f64::consts::TAU / 600.0)
            .map(|t| At::new(300.0 + 100.0 * libm::cos(t), 300.0 + 100.0 * libm::sin(t)))
            .collect();
        let back: Vec<At> = ring.iter().rev().copied().collect();
        for ring in [ring, back] {
            for (out, radius) in [(2.0, 102.0), (-2.0, 98.0), (0.0, 100.0)] {
                let to = moved(&ring, out);
                let far = |p: &At| p.distance(At::new(300.0, 300.0));
                assert!(to.iter().all(|p| (far(p) - radius).abs() < 1e-3), "{out}: {}", far(&to[0]));
            }
        }
    }
}
