//! Lengths, and paths along points.

use super::ground::{Found, Ground};
use super::{Ends, Findings, Quantity};
use crate::plane::{Point, Real, Vector};
use crate::words::Say;

/// Segments of a path are listed up to this many; a longer path is a curve, and only its whole is a size.
const MOST_SEGMENTS: usize = 64;

/// A straight length: between two points, or twice what shows of it.
pub(crate) fn length(ends: Ends, ground: &Ground) -> Result<Findings, Say> {
    let mut found = match (ends, ground.real.as_slice()) {
        (Ends::FromLine, [a, b, c, ..]) => from_line(*a, *b, *c)?,
        (_, [a, b, ..]) => {
            let half = between(*a, *b)?;
            half.times(Quantity::Length, if ends == Ends::FromCentre { 2.0 } else { 1.0 })
        }
        _ => return Ok(Findings::of(Vec::new())),
    };
    let mut flags = Vec::new();
    let size = found.value;
    if size < 3.0 * ground.click_u(&found) {
        flags.push(Say::new("mark.within-error"));
    } else if !ground.is_leant_on() {
        found.value -= ground.drift(|p| match (ends, p) {
            (Ends::FromLine, [a, b, c, ..]) => from_line(*a, *b, *c).ok().map(|f| f.value),
            (_, [a, b, ..]) => Some(a.distance(*b) * if ends == Ends::FromCentre { 2.0 } else { 1.0 }),
            _ => None,
        });
    }
    Ok(Findings { found: vec![found], flags, place: None })
}

/// The distance of two points.
fn between(a: Point<Real>, b: Point<Real>) -> Result<Found, Say> {
    let d = a.distance(b);
    let Some(e) = unit(b - a) else { return Err(same_place(0, 1)) };
    Ok(Found::new(Quantity::Length, d, vec![(0, [-e.x, -e.y]), (1, [e.x, e.y])]))
}

/// Twice the distance of `c` from the line through `a` and `b`.
fn from_line(a: Point<Real>, b: Point<Real>, c: Point<Real>) -> Result<Found, Say> {
    let Some(e) = unit(b - a) else { return Err(same_place(0, 1)) };
    let h = e.cross(c - a);
    if h == 0.0 {
        return Err(Say::new("mark.on-the-line"));
    }
    // How far along the line the foot of c lies, 0 at a and 1 at b: turning the line about one of them moves
    // the foot in that proportion.
    let t = e.dot(c - a) / a.distance(b);
    let k = if h > 0.0 { 2.0 } else { -2.0 };
    let n = Vector::<Real>::new(-e.y, e.x) * k;
    let slope = vec![(0, [-(1.0 - t) * n.x, -(1.0 - t) * n.y]), (1, [-t * n.x, -t * n.y]), (2, [n.x, n.y])];
    Ok(Found::new(Quantity::Length, k * h, slope))
}

/// Along the points, and each straight piece.
pub(crate) fn path(ground: &Ground) -> Result<Findings, Say> {
    let (whole, mut flags) = run(Quantity::PathLength, ground, false);
    if whole.value <= 0.0 {
        return Err(same_place(0, 1));
    }
    let mut found = vec![whole];
    let pieces = ground.real.len().saturating_sub(1);
    if (2..=MOST_SEGMENTS).contains(&pieces) {
        for (i, pair) in ground.real.windows(2).enumerate() {
            let &[a, b] = pair else { continue };
            let step = Step::new(ground, i, i + 1);
            let e = step.along.unwrap_or(Vector::new(0.0, 0.0));
            let slope = vec![(i, [-e.x, -e.y]), (i + 1, [e.x, e.y])];
            let mut piece = Found::new(Quantity::Segment(i as u16), step.steady, slope);
            if step.crowded {
                piece.value = a.distance(b);
            }
            found.push(piece);
        }
    }
    flags.dedup();
    Ok(Findings { found, flags, place: None })
}

/// One straight piece between two of the ground's points.
struct Step {
    /// Unit vector along it; none where the ends coincide.
    along: Option<Vector<Real>>,
    /// As seen, in mm.
    seen: f64,
    /// With what the noise across it adds taken off, in mm.
    steady: f64,
    /// Shorter than three times its own noise: what was taken off is as uncertain as it is big.
    crowded: bool,
}

impl Step {
    /// A distance seen through noise is long on average by σ²/2d, where σ is the standard deviation of the
    /// difference *across* it: |d + n| ≈ d + n∥ + n⊥²/2d. Taken off as √(d² − σ²), which is the same to first
    /// order and stays sound when d is no longer than σ.
    fn new(ground: &Ground, i: usize, j: usize) -> Step {
        let (Some(a), Some(b)) = (ground.real.get(i), ground.real.get(j)) else {
            return Step { along: None, seen: 0.0, steady: 0.0, crowded: true };
        };
        let seen = a.distance(*b);
        let spot = ground.spot(i).plus(ground.spot(j));
        let along = unit(*b - *a);
        let across = along.map_or(0.0, |e| spot.along(Vector::new(-e.y, e.x)));
        let steady = libm::sqrt((seen * seen - across).max(0.0));
        Step { along, seen, steady, crowded: seen * seen < 9.0 * across }
    }
}

/// The length along all points, and back to the first when `closed`; with the noise's own length taken off.
pub(crate) fn run(what: Quantity, ground: &Ground, closed: bool) -> (Found, Vec<Say>) {
    let n = ground.real.len();
    let mut slope = vec![[0.0; 2]; n];
    let (mut value, mut beyond, mut crowded) = (0.0, 0.0, 0);
    let last = if closed { n } else { n.saturating_sub(1) };
    for i in 0..last {
        let j = if i + 1 == n { 0 } else { i + 1 };
        let step = Step::new(ground, i, j);
        value += step.steady;
        if step.crowded {
            crowded += 1;
            beyond += step.seen - step.steady;
        }
        if let Some(e) = step.along {
            slope[i][0] -= e.x;
            slope[i][1] -= e.y;
            slope[j][0] += e.x;
            slope[j][1] += e.y;
        }
    }
    let mut found = Found::new(what, value, slope.into_iter().enumerate().collect());
    found.beyond = beyond;
    let flags =
        if crowded > 0 { vec![Say::new("mark.crowded").count("pieces", crowded)] } else { Vec::new() };
    (found, flags)
}

/// The direction of `v`; none where it has no length worth the name.
pub(crate) fn unit(v: Vector<Real>) -> Option<Vector<Real>> {
    let d = v.length();
    (d > 1e-12 && d.is_finite()).then(|| v * (1.0 / d))
}

/// Two points (counted from 0) in the same place.
pub(crate) fn same_place(a: usize, b: usize) -> Say {
    Say::new("mark.same-place").count("a", a + 1).count("b", b + 1)
}
