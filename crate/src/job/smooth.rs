//! What a smoothed outline measures: the sizes of the very line that is shown.
//!
//! Its points are no touches whose errors are their own: a curve errs in long waves, if at all. So its sizes are
//! taken without what noise adds to a row of points, and their ± follows from two figures of the fit: how far a place of
//! the curve may be off across it, and how far all of it together.
//!
//! # References
//! ∂A = ∮δ ds and ∂L = ∮κδ ds for a move δ outwards (first variation of area and length; any book on plane curves).

use super::document::{Mark, PICTURE_U, Smooth};
use super::intent::At;
use crate::estimate::{Estimate, Source};
use crate::mark::{Ends, Kind, Measures, Quantity, measure};
use crate::plane::{Curve, Picture, Tip, angle_between, perimeter, signed_area};
use crate::view::{Click, ViewMap};
use crate::words::Say;

/// Spreads from here on, and below `mark`'s own, are where an edge was found.
pub(super) const EDGE: u16 = 0x6000;
/// A faired place was moved by no more than three of these: common practice, no source.
const MOVES: f64 = 3.0;
/// What a picture does to an edge differs from place to place about so far apart, px: as for a traced outline's points.
const APART: f64 = 3.0;

/// Every size of a smooth outline.
///
/// # Errors
/// As [`measure`].
pub(super) fn measured(mark: &Mark, smooth: &Smooth, map: &ViewMap) -> Result<Measures, Say> {
    let ring = smooth.flat(0);
    let mut whole = exact(mark.id, &ring, smooth.rings.first(), map)?;
    let scale = scale(&ring, map);
    let mut area = 0.0;
    for (i, hole) in smooth.rings.iter().enumerate().skip(1) {
        let flat = smooth.flat(i);
        match exact(mark.id, &flat, Some(hole), map).as_ref().map(|m| m.get(Quantity::Area).cloned()) {
            Ok(Some(hole)) => less(&mut whole, &hole),
            _ => whole.flags.push(Say::new("mark.hole-unmeasured")),
        }
        area += perimeter(&flat);
    }
    if smooth.rings.len() > 1 {
        whole.all.retain(|m| !matches!(m.what, Quantity::BalanceAcross | Quantity::BalanceDown));
        whole.place = None;
    }
    area += perimeter(&ring);
    let pieces = smooth.rings.first().map_or(1.0, |c| c.segments.len().max(1) as f64);
    let moved = smooth.moved / MOVES;
    let place = libm::hypot(smooth.sigma, moved) * scale;
    let apart = PICTURE_U / libm::sqrt((area / APART).max(1.0));
    let all = libm::hypot(libm::hypot(smooth.mean, apart), moved / libm::sqrt(pieces)) * scale;
    let ends = crate::plane::greatest(&ring).map_or([At::default(); 2], |g| g.ends.map(|i| ring[i]));
    let tips = |at_an_end: bool| {
        // A blunt tip may lie anywhere between what was seen and the corner: evenly.
        let one = |t: &&Tip| at_an_end <= ends.iter().any(|e| e.distance(t.at) < 0.5);
        let squares = smooth.tips.iter().filter(one).map(|t| t.by * t.by / 3.0);
        libm::sqrt(squares.sum()) * scale
    };
    for m in &mut whole.all {
        let u = match m.what {
            Quantity::Area => libm::hypot(all * area, tips(false)) * scale,
            // To the tip and back.
            Quantity::Perimeter => {
                libm::hypot(place * smooth.rings.first().map_or(0.0, turns), 2.0 * tips(false))
            }
            Quantity::GreatestLength => libm::hypot(place * std::f64::consts::SQRT_2, tips(true)),
            Quantity::Width => libm::hypot(place * std::f64::consts::SQRT_2, tips(false)),
            _ => all,
        };
        let edge = Estimate::of(0.0, Source::Spread(mark.id, EDGE | component(m.what)), u);
        m.value = Estimate::combine(m.value.value, &[(1.0, &m.value), (1.0, &edge)]);
    }
    Ok(whole)
}

fn component(what: Quantity) -> u16 {
    match what {
        Quantity::Area => 0,
        Quantity::Perimeter => 1,
        Quantity::GreatestLength => 2,
        Quantity::Width => 3,
        Quantity::BalanceAcross => 4,
        _ => 5,
    }
}

/// The sizes of a ring that errs nowhere: the map's own errors only. What straight lines from point to point cut off the
/// curve is put back to area and length in the proportion that they cut off on the picture.
fn exact(mark: u32, ring: &[At], curve: Option<&Curve<Picture>>, map: &ViewMap) -> Result<Measures, Say> {
    let source = [Source::Spread(mark, EDGE | 0x100), Source::Spread(mark, EDGE | 0x101)];
    let clicks: Vec<Click> = ring
        .iter()
        .map(|at| Click { at: *at, sigma: 0.0, cov: None, source, freedom: f64::INFINITY, bent: None })
        .collect();
    let mut found = measure(Kind::Outline, Ends::Between, &clicks, &[], map)?;
    let Some(curve) = curve else { return Ok(found) };
    for m in &mut found.all {
        let part = match m.what {
            Quantity::Area => curve.signed_area() / signed_area(ring),
            Quantity::Perimeter => curve.length() / perimeter(ring),
            _ => 1.0,
        };
        if part.is_finite() && part > 0.0 {
            m.value = m.value.times(part);
        }
    }
    Ok(found)
}

fn less(whole: &mut Measures, hole: &Estimate) {
    if let Some(m) = whole.all.iter_mut().find(|m| m.what == Quantity::Area) {
        m.value = m.value.minus(hole);
    }
}

/// How long a px is there, in the map's own unit: in the middle of the ring.
fn scale(ring: &[At], map: &ViewMap) -> f64 {
    let n = ring.len().max(1) as f64;
    let (x, y) = ring.iter().fold((0.0, 0.0), |s, p| (s.0 + p.x / n, s.1 + p.y / n));
    map.place(At::new(x, y))
        .map_or(0.0, |p| libm::sqrt((p.d_at[0][0] * p.d_at[1][1] - p.d_at[0][1] * p.d_at[1][0]).abs()))
}

/// The root of the sum of squares of a curve's turns, piece by piece and corner by corner, rad: its length changes by a
/// piece's turn times the move of that piece.
fn turns(curve: &Curve<Picture>) -> f64 {
    let n = curve.segments.len();
    let mut sum = 0.0;
    for i in 0..n {
        let (Some(c), Some(next)) = (curve.cubic(i), curve.cubic((i + 1) % n)) else { continue };
        let turn = |a: Option<_>, b: Option<_>| a.zip(b).map_or(0.0, |(a, b)| angle_between(a, b));
        let bend = turn(c.tangent(0.0), c.tangent(0.5)) + turn(c.tangent(0.5), c.tangent(1.0));
        let corner = 2.0 * libm::sin(turn(c.tangent(1.0), next.tangent(0.0)) / 2.0);
        sum += bend * bend + corner * corner;
    }
    libm::sqrt(sum)
}
