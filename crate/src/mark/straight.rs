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
        let twice = if ends == Ends::FromCentre { 2.0 } else { 1.0 };
        let [drift] = ground.drift(|p| match (ends, p) {
            (Ends::FromLine, [a, b, c, ..]) => from_line(*a, *b, *c).ok().map(|f| [f.value]),
            (_, [a, b, ..]) => Some([a.distance(*b) * twice]),
            _ => None,
        });
        found.value -= drift;
        // Of one error the drift is its mean square, which varies by √2 of itself; of several that add up, by less.
        found.beyond = std::f64::consts::SQRT_2 * drift.abs();
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
    if ground.real.windows(2).all(|w| unit(w[1] - w[0]).is_none()) {
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
    /// With what the noise across it adds taken off, in mm.
    steady: f64,
    /// σ²/d², at most 1.
    share: f64,
    /// What may still be left of the noise's length, in mm: the next order, σ²/d² of what was taken off.
    left: f64,
    /// Shorter than three times its own noise.
    crowded: bool,
}

impl Step {
    /// A distance seen through noise is long on average by σ²/2d, where σ is the standard deviation of the
    /// difference *across* it: |d + n| ≈ d + n∥ + n⊥²/2d. Taken off as √(d² − σ²), which is the same to first
    /// order and stays sound when d is no longer than σ.
    fn new(ground: &Ground, i: usize, j: usize) -> Step {
        let (Some(a), Some(b)) = (ground.real.get(i), ground.real.get(j)) else {
            return Step { along: None, steady: 0.0, share: 1.0, left: 0.0, crowded: true };
        };
        let seen = a.distance(*b);
        let spot = ground.spot(i).plus(ground.spot(j));
        let along = unit(*b - *a);
        let across = along.map_or(0.0, |e| spot.along(Vector::new(-e.y, e.x)));
        let steady = libm::sqrt((seen * seen - across).max(0.0));
        let share = if across < seen * seen { across / (seen * seen) } else { 1.0 };
        Step { along, steady, share, left: share * (seen - steady), crowded: seen * seen < 9.0 * across }
    }
}

/// The length along all points, and back to the first when `closed`; with the noise's own length taken off.
///
/// Where most pieces are shorter than three times their noise, how long they are can't be told from piece to
/// piece (noise that neighbours share, as in a traced border, hides in it as well): the length is then the
/// mean of those along every mth point, from each start, with the smallest m that brings the pieces clear of
/// the noise. What that cuts off corners and bends stays as an uncertainty: as much as doubling m cuts off,
/// evenly anywhere below.
pub(crate) fn run(what: Quantity, ground: &Ground, closed: bool) -> (Found, Vec<Say>) {
    let n = ground.real.len();
    let most = (n / 8).max(1);
    let mut every = 1;
    let mut run = Strided::new(ground, closed, every);
    let first_crowded = run.crowded;
    while 2 * run.crowded > run.pieces && every < most {
        every = (every + every.div_ceil(2)).min(most);
        run = Strided::new(ground, closed, every);
    }
    let mut left = run.left;
    if every > 1 {
        let coarse = Strided::new(ground, closed, 2 * every);
        left = libm::hypot(left, (run.value - coarse.value) / libm::sqrt(3.0));
    }
    let mut found = Found::new(what, run.value, run.slope.into_iter().enumerate().collect());
    found.beyond = left;
    found.by_click = calmed(ground, &found, &run.unsteady, closed);
    // Of a border traced finely it goes without saying; it is said where the points were placed one by one, or
    // where there are too few to do better.
    let told = n <= MOST_SEGMENTS || 2 * run.crowded > run.pieces;
    let flags = if first_crowded > 0 && told {
        vec![Say::new("mark.crowded").count("pieces", first_crowded)]
    } else {
        Vec::new()
    };
    (found, flags)
}

/// The mean length along every mth point.
struct Strided {
    value: f64,
    /// Of each point, ∂/∂x and ∂/∂y.
    slope: Vec<[f64; 2]>,
    /// What may be left of the noise's own length, in mm.
    left: f64,
    /// Of each point: how unsteady the directions of its pieces are, σ⊥²/d² of each, as variances.
    unsteady: Vec<f64>,
    pieces: usize,
    crowded: usize,
}

impl Strided {
    fn new(ground: &Ground, closed: bool, every: usize) -> Strided {
        let n = ground.real.len();
        let (slope, unsteady) = (vec![[0.0; 2]; n], vec![0.0; n]);
        let mut run = Strided { value: 0.0, slope, left: 0.0, unsteady, pieces: 0, crowded: 0 };
        let weight = 1.0 / every as f64;
        for i in 0..n {
            if closed {
                run.add(ground, i, (i + every) % n, weight);
                continue;
            }
            // From each of the first points on by strides to the very last; and from the first to each.
            if i > 0 && i < every {
                run.add(ground, 0, i, weight);
            }
            if i + 1 < n {
                run.add(ground, i, (i + every).min(n - 1), weight);
            }
        }
        run
    }

    fn add(&mut self, ground: &Ground, i: usize, j: usize, weight: f64) {
        let step = Step::new(ground, i, j);
        self.pieces += 1;
        self.crowded += usize::from(step.crowded);
        self.value += weight * step.steady;
        self.left += weight * step.left;
        for k in [i, j] {
            self.unsteady[k] += weight * weight * step.share;
        }
        if let Some(e) = step.along {
            for (k, w) in [(i, -weight), (j, weight)] {
                self.slope[k][0] += w * e.x;
                self.slope[k][1] += w * e.y;
            }
        }
    }
}

/// What the clicks do to a length along points, in what the noisy slopes say.
///
/// Where two pieces meet, the slope is the difference of their directions. Noise makes it larger than it is:
/// its square by 6σ²/d² on average, 1½ times what the two directions vary by. The length does scatter by
/// noise on noise, n⊥²/2d, but by half of that only; the other half is taken off here.
fn calmed(ground: &Ground, found: &Found, unsteady: &[f64], closed: bool) -> f64 {
    let (mut seen, mut too_much) = (0.0, 0.0);
    let last = unsteady.len().saturating_sub(1);
    for (&(i, g), turn) in found.slope.iter().zip(unsteady) {
        let spot = ground.spot(i);
        let size = libm::hypot(g[0], g[1]);
        let along = if size > 0.0 { Vector::new(g[0] / size, g[1] / size) } else { Vector::new(1.0, 0.0) };
        seen += size * size * spot.along(along);
        if closed || (i > 0 && i < last) {
            too_much += 0.5 * 1.5 * turn * spot.along(along);
        }
    }
    if too_much > 0.0 && seen > 0.0 { libm::sqrt((1.0 - too_much / seen).max(0.5)) } else { 1.0 }
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
