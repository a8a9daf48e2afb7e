//! Outlines put into another shape: what was found by [`crate::plane::shape`] is laid on them, and the knots of smooth
//! ones are moved, put in, taken away and turned by hand.

use super::super::document::{Document, Mark, PICTURE_U, Placing, Smooth};
use super::super::intent::{At, Side, Work};
use super::{MOST_POINTS, mark_mut, need_mark};
use crate::mark::{Kind, need};
use crate::plane::{Curve, Picture, Place, Shaped};
use crate::raster::ask::Border;
use crate::words::Say;

/// No knot is dragged along by its neighbour: the way along the outline that a move reaches, px.
const ALONE: f64 = 1e-9;

/// Lays what was made of an outline on it; of two that were joined the other one goes.
///
/// # Errors
/// `job.no-such-mark`; `job.not-an-outline` for a mark of another kind, or what is no outline.
pub(super) fn reshape(
    document: &mut Document,
    mark: u32,
    work: Work,
    with: Option<u32>,
    shaped: &Shaped,
) -> Result<(), Say> {
    let m = need_mark(document, mark)?;
    if m.kind != Kind::Outline || !sound(shaped) {
        return Err(not_an_outline());
    }
    let moved = shaped.moved + m.smooth.as_ref().map_or(0.0, |s| s.moved);
    if !shaped.rings.is_empty() {
        let border = bordered(document, m, with, shaped)?;
        super::trace::lay_border(document, mark, border)?;
    } else if !matches!(work, Work::Smooth | Work::Fair) || shaped.curves.is_empty() {
        return Err(not_an_outline());
    }
    if !shaped.curves.is_empty() {
        let before = need_mark(document, mark)?.smooth.as_ref();
        let before = before.map_or((0.0, 0.0, Vec::new()), |s| (s.sigma, s.mean, s.tips.clone()));
        // Curves that were only faired are as good as they were.
        let fitted = shaped.sigma > 0.0;
        let smooth = Smooth {
            rings: shaped.curves.clone(),
            moved: if work == Work::Smooth { 0.0 } else { moved },
            sigma: if fitted { libm::hypot(shaped.sigma, PICTURE_U) } else { before.0.max(PICTURE_U) },
            mean: if fitted { shaped.mean } else { before.1 },
            side: document.side,
            tips: if fitted { shaped.tips.clone() } else { before.2 },
        };
        lay_smooth(mark_mut(document, mark)?, smooth)?;
    }
    if let (Work::Join, Some(other)) = (work, with) {
        if other == mark || need_mark(document, other)?.kind != Kind::Outline {
            return Err(not_an_outline());
        }
        super::marks::remove(document, other);
    }
    mark_mut(document, mark)?.centre = shaped.even.filter(|_| work == Work::Even).map(|e| e.axis);
    Ok(())
}

fn not_an_outline() -> Say {
    Say::new("job.not-an-outline")
}

/// The border that new rings are: as good as the old one, and as wide a line where both were traced along one.
fn bordered(document: &Document, m: &Mark, with: Option<u32>, shaped: &Shaped) -> Result<Border, Say> {
    let other = with.map(|o| need_mark(document, o)).transpose()?;
    let sigma = other.map_or(0.0, sigma_of).max(sigma_of(m));
    let half = |m: &Mark| m.border.as_ref().filter(|_| m.smooth.is_none()).map_or(0.0, |b| b.half);
    let half = other.map_or(half(m), |o| half(o).min(half(m)));
    Ok(Border { rings: shaped.rings.clone(), sigma, half, bridges: Vec::new() })
}

/// Standard uncertainty of an outline's points across it, before what a picture adds to all, px.
pub(in crate::job) fn sigma_of(m: &Mark) -> f64 {
    if let Some(border) = &m.border {
        return border.sigma;
    }
    let n = m.points.len().max(1) as f64;
    libm::sqrt(m.points.iter().map(|p| p.across() * p.across()).sum::<f64>() / n).max(1e-3)
}

/// What can be reckoned with; it may come from a file that somebody made.
fn sound(shaped: &Shaped) -> bool {
    let near = |p: &At| p.x.abs() <= 1e6 && p.y.abs() <= 1e6;
    let small = |v: f64| (0.0..1e4).contains(&v);
    let knots: usize = shaped.curves.iter().map(|c| c.segments.len()).sum();
    small(shaped.sigma)
        && small(shaped.mean)
        && small(shaped.moved)
        && knots <= MOST_POINTS
        && shaped.curves.first().is_none_or(|c| c.segments.len() <= crate::mark::MOST_POINTS / 2)
        && shaped.curves.iter().all(|c| c.segments.len() >= 2)
        && shaped.curves.iter().flat_map(|c| &c.segments).all(|s| near(&s.c1) && near(&s.c2) && near(&s.p))
        && shaped.tips.len() <= knots
        && shaped.tips.iter().all(|t| near(&t.at) && small(t.by))
        && shaped.even.is_none_or(|e| e.axis.iter().all(near))
}

/// Gives an outline its curves: their knots are its points, and what holds was held no longer.
fn lay_smooth(m: &mut Mark, mut smooth: Smooth) -> Result<(), Say> {
    let (least, _) = need(m.kind, m.ends);
    while let Some(curve) = smooth.rings.first().filter(|c| c.segments.len() < least) {
        // A round thing may have fewer pieces than an outline has points: its longest is halved.
        let long = |i: usize| curve.cubic(i).map_or(0.0, |c| c.length());
        let longest = (0..curve.segments.len()).max_by(|a, b| long(*a).total_cmp(&long(*b))).unwrap_or(0);
        smooth.rings[0] = curve.add_knot(Place { segment: longest, t: 0.5 })?.0;
    }
    let at = |sigma: f64| move |at: At| Placing { at, sigma, hold: None, between: false };
    m.holes =
        (1..smooth.rings.len()).map(|i| smooth.flat(i).into_iter().map(at(smooth.sigma)).collect()).collect();
    m.points = smooth
        .rings
        .first()
        .map_or_else(Vec::new, |c| c.segments.iter().map(|s| at(smooth.sigma)(s.p)).collect());
    m.fitted = false;
    m.repeats.clear();
    m.smooth = Some(smooth);
    Ok(())
}

/// Lays a smooth outline on another side of the line that it was traced along.
pub(super) fn lay_side(m: &mut Mark, side: Side) {
    let half = m.border.as_ref().map_or(0.0, |b| b.half);
    let Some(smooth) = m.smooth.as_mut().filter(|s| s.side != side) else { return };
    let off = |side: Side| match side {
        Side::Middle => 0.0,
        Side::Outer => half,
        Side::Inner => -half,
    };
    let out = off(side) - off(smooth.side);
    smooth.side = side;
    for (i, ring) in smooth.rings.iter_mut().enumerate() {
        // A hole's outer side is the one towards its own middle: away from the wood.
        *ring = ring.offset(if i == 0 { out } else { -out });
    }
    for (i, hole) in m.holes.iter_mut().enumerate() {
        let sigma = smooth.sigma;
        let points = smooth.flat(i + 1).into_iter();
        *hole = points.map(|at| Placing { at, sigma, hold: None, between: false }).collect();
    }
    if let Some(curve) = smooth.rings.first() {
        m.points.iter_mut().zip(&curve.segments).for_each(|(p, s)| p.at = s.p);
    }
}

/// Moves the curve's knots to the mark's points.
pub(super) fn follow_knots(m: &mut Mark) {
    let Some(curve) = m.smooth.as_mut().and_then(|s| s.rings.first_mut()) else { return };
    for (k, put) in m.points.iter().enumerate() {
        let by = curve.segments.get(k).map(|s| put.at - s.p).filter(|by| by.length() > 0.0);
        let dragged = by.and_then(|by| curve.drag(Place { segment: k, t: 1.0 }, by, ALONE).ok());
        if let Some(dragged) = dragged {
            *curve = dragged;
        }
    }
    m.centre = None;
}

fn smooth_curve(m: &Mark) -> Result<&Curve<Picture>, Say> {
    m.smooth.as_ref().and_then(|s| s.rings.first()).ok_or_else(|| Say::new("job.not-smooth"))
}

/// Puts another curve, one that was made from it by hand, in an outline's place.
fn replace(m: &mut Mark, curve: Curve<Picture>, points: Vec<Placing>) {
    if let Some(first) = m.smooth.as_mut().and_then(|s| s.rings.first_mut()) {
        *first = curve;
    }
    m.points = points;
    m.repeats.clear();
}

/// One more point, where the outline passes nearest to `at`.
///
/// # Errors
/// `job.no-such-mark`, `job.not-smooth`; `job.point-not-a-place` for a place that is none.
pub(super) fn add_knot(document: &mut Document, mark: u32, at: At) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    let curve = smooth_curve(m)?;
    let nowhere = || Say::new("job.point-not-a-place");
    if !at.is_finite() || m.points.len() >= crate::mark::MOST_POINTS / 2 {
        return Err(nowhere());
    }
    let (place, _) = curve.nearest(at).ok_or_else(nowhere)?;
    let had = curve.segments.len();
    let (curve, knot) = curve.add_knot(place)?;
    let mut points = m.points.clone();
    if curve.segments.len() > had {
        let (p, sigma) = (curve.segments[knot].p, m.smooth.as_ref().map_or(1.0, |s| s.sigma));
        points.insert(knot, Placing { at: p, sigma, hold: None, between: false });
    }
    replace(m, curve, points);
    Ok(())
}

/// Takes a point away.
///
/// # Errors
/// `job.not-smooth`; `plane.no-knot`, `plane.last-knots`.
pub(super) fn remove_knot(m: &mut Mark, point: usize) -> Result<(), Say> {
    let curve = smooth_curve(m)?.remove_knot(point)?;
    let mut points = m.points.clone();
    points.remove(point);
    replace(m, curve, points);
    m.centre = None;
    Ok(())
}

/// Makes an outline sharp at a point, or round.
///
/// # Errors
/// `job.no-such-mark`, `job.not-smooth`; `plane.no-knot`.
pub(super) fn turn_knot(document: &mut Document, mark: u32, point: usize, sharp: bool) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    let curve = smooth_curve(m)?;
    let curve = if sharp { curve.sharp(point)? } else { curve.round(point)? };
    let points = m.points.clone();
    replace(m, curve, points);
    Ok(())
}
