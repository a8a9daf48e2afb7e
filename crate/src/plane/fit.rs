//! The fewest smooth pieces through a border of many points.
//!
//! First the corners are found, and between them what is straight (`corners`). Each smooth stretch that is left is
//! smoothed over the border's own noise (`stretch`) and gets as many pieces as share its bends evenly, all moved together
//! to fit best (`refine`); the least number that comes within the tolerance is searched for (`fewest`).
//!
//! # References
//! How a piece's error grows with its length and bend: Levien, "Fitting cubic Bézier curves" (2021) (memory); the outside
//! yardstick of the tests is his optimising fit in kurbo.

use super::border::{Border, parabola};
use super::corners::{Corner, Grain, Straight, corners, straights};
use super::fewest::{around, fewest};
use super::piece::Sample;
use super::stretch::{Stretch, seam_window, seamed};
use super::{Curve, Line, Point, Segment, Space, Vector};
use crate::words::Say;

/// What is known of a border.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct FitOptions {
    /// Standard uncertainty of each point across the border, in the space's unit.
    pub sigma: f64,
    /// How far from a square corner its rounded image passes (by blur, or a worn edge), in the space's unit.
    pub blunt: f64,
    /// The least turn that counts as a corner, rad.
    pub least_turn: f64,
}

impl Default for FitOptions {
    /// Exact points; corners from 20°.
    fn default() -> Self {
        FitOptions { sigma: 0.0, blunt: 0.0, least_turn: 0.35 }
    }
}

/// A curve through a border.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit<S: Space> {
    /// The curve.
    pub curve: Curve<S>,
    /// The tolerance kept to: what was asked, but never under two σ of the border.
    pub tolerance: f64,
    /// Standard uncertainty of a place of the curve across it by the border's noise, in the space's unit:
    /// [`across_sigma`], neighbours taken for independent.
    pub sigma: f64,
    /// How far, root mean square, the curve passes from the border for want of pieces, in the space's unit. It is
    /// uncertain by both: the square root of the sum of their squares.
    pub misfit: f64,
}

/// The fewest cubic pieces within `tolerance` of a closed border, its noise smoothed over.
///
/// # Units
/// `tolerance` in the space's unit, > 0.
///
/// # Errors
/// `plane.tolerance` for a tolerance, σ or other option that is no positive number; `plane.outline-not-finite`,
/// `plane.outline-few`, `plane.outline-flat` for points that are no outline.
pub fn fit<S: Space>(ring: &[Point<S>], tolerance: f64, options: &FitOptions) -> Result<Fit<S>, Say> {
    let (mut border, grain) = prepare(ring, true, tolerance, options)?;
    let mut found = corners(&border, &grain);
    let stretches = if let Some(first) = found.first() {
        let begin = first.index;
        border = border.turned(begin);
        found.iter_mut().for_each(|c| c.index -= begin);
        let n = found.len();
        (0..n).map(|k| Stretch::between(&border, &found[k], &found[(k + 1) % n])).collect()
    } else {
        border = border.turned(sharpest(&border, &grain));
        vec![Stretch::round(&border)]
    };
    let mut curve = Curve { segments: assemble(stretches, &mut found, &grain) };
    if curve.segments.is_empty() || !curve.is_finite() {
        // Nothing smooth to be seen in it.
        curve = Curve::polygon(ring);
    }
    let sigma = across_sigma(grain.sigma, ring.len(), curve.segments.len(), 1.0);
    let misfit = misfit(&curve, ring, grain.sigma, sigma);
    Ok(Fit { curve, tolerance: grain.tolerance, sigma, misfit })
}

/// The root mean square distance of the border from the curve, less what its noise makes of it.
fn misfit<S: Space>(curve: &Curve<S>, ring: &[Point<S>], noise: f64, sigma: f64) -> f64 {
    // Some hundred places tell it well enough.
    let stride = (ring.len() / 200).max(1);
    let squares: Vec<f64> =
        ring.iter().step_by(stride).filter_map(|p| curve.nearest(*p)).map(|(_, far)| far * far).collect();
    let mean = squares.iter().sum::<f64>() / (squares.len() as f64).max(1.0);
    libm::sqrt((mean - (noise * noise - sigma * sigma)).max(0.0))
}

/// The fewest cubic pieces within `tolerance` of an open path, from its first point to its last; the last piece is
/// flagged a corner.
///
/// # Errors
/// As [`fit`], for fewer than two points.
pub fn fit_path<S: Space>(
    points: &[Point<S>],
    tolerance: f64,
    options: &FitOptions,
) -> Result<Vec<Segment<S>>, Say> {
    let (border, grain) = prepare(points, false, tolerance, options)?;
    let mut found = corners(&border, &grain);
    let end = |index: usize| Corner { index, at: border.points[index], gap: 0.0, near: 0.0 };
    found.insert(0, end(0));
    found.push(end(border.len() - 1));
    let stretches = found.windows(2).map(|w| Stretch::between(&border, &w[0], &w[1])).collect();
    Ok(assemble(stretches, &mut found, &grain))
}

/// Standard uncertainty across the curve of a place on it, when each of `points` border points is uncertain by `sigma`
/// across, `together` neighbours erring as one, and the curve has `pieces` pieces.
///
/// Fitting averages: of the mean variance over the border only the share that the curve is free to follow is left. A
/// smooth piece more frees four unknowns across the curve (a knot's place across, its direction, two handles), so the
/// root mean square over the curve is σ·√(4·pieces·together/points), never more than σ. The knots lie somewhat over it,
/// the middles of pieces under it. A closed area is then uncertain by about σ·(perimeter)·√(together/points): sideways
/// errors average over the whole border, whatever the pieces. That is for noise alone: a [`Fit::misfit`] does not average
/// out, and where it is larger than σ the area is uncertain by up to misfit·(perimeter).
///
/// # References
/// The hat matrix's trace is the number of unknowns: Seber & Lee, Linear Regression Analysis, 2nd ed., 10.1 (memory).
pub fn across_sigma(sigma: f64, points: usize, pieces: usize, together: f64) -> f64 {
    let share = 4.0 * pieces as f64 * together.max(1.0) / (points as f64).max(1.0);
    sigma * libm::sqrt(share.min(1.0))
}

fn prepare<S: Space>(
    points: &[Point<S>],
    closed: bool,
    tolerance: f64,
    options: &FitOptions,
) -> Result<(Border<S>, Grain), Say> {
    let FitOptions { sigma, blunt, least_turn } = *options;
    let sound = tolerance > 0.0 && sigma >= 0.0 && blunt >= 0.0 && least_turn > 0.0;
    if !(sound && (tolerance + sigma + blunt + least_turn).is_finite()) {
        return Err(Say::new("plane.tolerance"));
    }
    // The points as they are show their usual step; a far gap between two is then filled in.
    let plain = Border::new(points, closed, f64::INFINITY)?;
    let gap = (2.0 * usual_step(&plain)).min(plain.length() / 200.0);
    let border = Border::new(points, closed, gap)?;
    let tolerance = tolerance.max(2.0 * sigma);
    let spacing = usual_step(&border);
    Ok((border, Grain { tolerance, sigma, blunt, least_turn, spacing }))
}

/// The median step from point to point.
fn usual_step<S: Space>(border: &Border<S>) -> f64 {
    let mut steps: Vec<f64> = border.run.windows(2).map(|w| w[1] - w[0]).filter(|s| *s > 0.0).collect();
    crate::order::sort_by(&mut steps, f64::total_cmp);
    steps.get(steps.len() / 2).copied().unwrap_or(1.0)
}

/// The point about which a smooth ring bends most: a good place for a knot.
fn sharpest<S: Space>(border: &Border<S>, grain: &Grain) -> usize {
    let window = seam_window(border.length(), grain);
    let bend = |i: usize| {
        let sides = [-1, 1].map(|way| border.side(i, way, 0.0, window));
        let near = parabola(&sides.concat())?;
        let along = near.along()?;
        Some(along.cross(near.q[2]).abs() / near.q[1].dot(near.q[1]))
    };
    let mut best = (0, -1.0);
    for i in 0..border.len() {
        if let Some(b) = bend(i).filter(|b| *b > best.1) {
            best = (i, b);
        }
    }
    best.0
}

/// The pieces of all stretches, one after the other; `found` are the corners at which they begin (and, of a path, end).
fn assemble<S: Space>(stretches: Vec<Stretch<S>>, found: &mut [Corner<S>], grain: &Grain) -> Vec<Segment<S>> {
    let lines: Vec<Vec<Straight<S>>> =
        stretches.iter().map(|s| lines_of(s, found.is_empty(), grain)).collect();
    let n = found.len();
    for (k, corner) in found.iter_mut().enumerate() {
        // Of a path neither end is moved.
        if corner.gap > 0.0 {
            let before = lines.get((k + n - 1) % n).and_then(|l| l.last());
            let after = lines.get(k).and_then(|l| l.first());
            mend_corner(corner, before, after, &stretches, [(k + n - 1) % n, k]);
        }
    }
    let mut segments = Vec::new();
    for (k, (stretch, lines)) in stretches.iter().zip(&lines).enumerate() {
        let ends = (n > 0).then(|| [found[k].at, found[(k + 1) % n].at]);
        stretch_pieces(stretch, lines, ends, grain, &mut segments);
        if let (Some(last), true) = (segments.last_mut(), n > 0) {
            last.corner = true;
        }
    }
    segments
}

/// The straight stretches, with those that run on into each other parted, and those that all but reach an end led up to
/// it.
fn lines_of<S: Space>(stretch: &Stretch<S>, ring: bool, grain: &Grain) -> Vec<Straight<S>> {
    let mut lines = straights(&stretch.points, [!ring; 2], grain);
    for k in 1..lines.len() {
        if lines[k].from <= lines[k - 1].to {
            let middle = (lines[k].from + lines[k - 1].to) / 2;
            (lines[k - 1].to, lines[k].from) = (middle, middle + 1);
        }
    }
    lines.retain(|l| l.to > l.from + 1);
    if let (false, Some(last)) = (ring, stretch.points.len().checked_sub(1)) {
        let near = grain.window() / 2.0;
        let on = |l: &Straight<S>, from: usize, to: usize| {
            let most = (0.5 * grain.tolerance).max(3.5 * grain.sigma);
            let mut between = stretch.points.iter().take(to + 1).skip(from);
            stretch.run[to] - stretch.run[from] <= near && between.all(|p| l.line.distance(*p).abs() <= most)
        };
        if let Some(l) = lines.first_mut().filter(|l| on(l, 0, l.from)) {
            l.from = 0;
        }
        if let Some(l) = lines.last_mut().filter(|l| on(l, l.to, last)) {
            l.to = last;
        }
    }
    lines
}

/// Moves a corner onto the straights that reach it: to their crossing, or to its foot on the only one.
fn mend_corner<S: Space>(
    corner: &mut Corner<S>,
    before: Option<&Straight<S>>,
    after: Option<&Straight<S>>,
    stretches: &[Stretch<S>],
    [i, j]: [usize; 2],
) {
    let reaches_end =
        |k: usize, l: &&Straight<S>| stretches.get(k).is_some_and(|s| l.to + 1 == s.points.len());
    let before = before.filter(|l| reaches_end(i, l)).map(|l| l.line);
    let after = after.filter(|l| stretches.get(j).is_some() && l.from == 0).map(|l| l.line);
    let better = match (before, after) {
        (Some(a), Some(b)) => a.crossing(&b),
        (Some(l), None) | (None, Some(l)) => Some(l.foot(corner.at)),
        (None, None) => None,
    };
    if let Some(at) = better.filter(|at| at.distance(corner.at) <= corner.near) {
        corner.at = at;
    }
}

/// The pieces of one stretch from end to end; of a ring without ends, all round.
fn stretch_pieces<S: Space>(
    stretch: &Stretch<S>,
    lines: &[Straight<S>],
    ends: Option<[Point<S>; 2]>,
    grain: &Grain,
    segments: &mut Vec<Segment<S>>,
) {
    let samples: Vec<Sample<S>> =
        (0..stretch.points.len()).filter_map(|i| stretch.sample(i, grain)).collect();
    let whole = stretch.points.len();
    let samples = if ends.is_none() { seamed(stretch, samples, grain) } else { samples };
    let short = |[a, b]: [Point<S>; 2]| {
        let off = |l: Line<S>| stretch.points.iter().all(|p| l.distance(*p).abs() <= grain.tolerance);
        whole < 2 || samples.len() < whole || (whole < 6 && Line::through(a, b).is_some_and(off))
    };
    if let Some([a, b]) = ends.filter(|e| short(*e)) {
        // Too little border to see anything else: straight across.
        segments.push(Segment { corner: false, ..Segment::straight(a, b) });
        return;
    }
    if samples.len() < whole {
        return;
    }
    let mut from = Joint { index: 0, at: ends.map(|e| e[0]), along: None };
    for line in lines {
        let end = whole - 1;
        let a = if line.from == 0 && ends.is_some() {
            from.at
        } else {
            Some(line.line.foot(samples[line.from].at))
        };
        let b = if line.to == end { ends.map(|e| e[1]) } else { None };
        let b = b.unwrap_or_else(|| line.line.foot(samples[line.to].at));
        if line.from > from.index {
            let to = Joint { index: line.from, at: a, along: Some(line.line.along) };
            smooth(&samples, &from, &to, ends.is_none() && lines.is_empty(), grain, segments);
        }
        if let Some(a) = a {
            segments.push(Segment { corner: false, ..Segment::straight(a, b) });
        }
        from = Joint { index: line.to, at: Some(b), along: Some(line.line.along) };
    }
    if from.index + 1 < whole {
        let to = Joint { index: whole - 1, at: ends.map(|e| e[1]), along: None };
        smooth(&samples, &from, &to, ends.is_none() && lines.is_empty(), grain, segments);
    }
}

/// Where a smooth run of samples begins or ends, and which way it must run there.
struct Joint<S: Space> {
    index: usize,
    at: Option<Point<S>>,
    along: Option<Vector<S>>,
}

/// The pieces of a smooth run of samples.
fn smooth<S: Space>(
    samples: &[Sample<S>],
    from: &Joint<S>,
    to: &Joint<S>,
    ring: bool,
    grain: &Grain,
    segments: &mut Vec<Segment<S>>,
) {
    let Some(part) = samples.get(from.index..=to.index) else { return };
    let mut part = part.to_vec();
    let last = part.len() - 1;
    for (k, joint) in [(0, from), (last, to)] {
        part[k].at = joint.at.unwrap_or(part[k].at);
        part[k].along = joint.along.unwrap_or(part[k].along);
    }
    // What stands at a corner but not at an end of the samples is led up to it.
    let free = [from, to].map(|j| j.along.is_none() && j.at.is_some());
    let cubics = fewest(&part, free, ring, grain);
    let cubics = if ring { around(cubics, &part, grain.tolerance) } else { cubics };
    segments.extend(cubics.into_iter().map(Segment::from));
}

#[cfg(test)]
mod tests;
