//! A box in one picture: from where its corners are seen and one length, its edges, the camera, and a map of each side.
//!
//! Everything is adjusted at once: how the box is turned, where it stands, its three edges, how far the camera sees and where
//! it looked. A side's map is then the one by its four corners ([`super::corners`]), of which the box tells where they are.

use super::box_odd::{Stray, stray};
use super::box_start::{Start, starts};
use super::camera::Camera;
use super::knowns::{Click, Known, Side};
use super::lengths::row;
use super::map::{MOST, Model, Shape};
use crate::estimate::{Estimate, Part, Row, Solved, Source, chi_square_tail, solve};
use crate::plane::{Picture, Point};
use crate::words::Say;

/// A box's corners and edges as they are known.
///
/// Corner k stands as many edges from corner 0 as its bits tell: 1 along the first (the width of the front), 2 along the
/// second (the width of the end), 4 along the third (upright).
#[derive(Clone, Debug, PartialEq)]
pub struct Boxed {
    /// The view by which its errors are named.
    pub view: u32,
    /// Where each corner is seen; six at least.
    pub corners: [Option<Click>; 8],
    /// Its edges, each where it is known.
    pub edges: [Option<Side>; 3],
}

/// All that is known of a box.
#[derive(Clone, Debug)]
pub struct BoxKnowns<'a> {
    /// Its corners and edges.
    pub boxed: &'a Boxed,
    /// The picture as a camera took it.
    pub camera: &'a Camera,
    /// True and check lengths, each with the side it lies on.
    pub knowns: &'a [(u8, Known)],
}

/// The corners of each side in order round it, and the edges that its first and second side are: front, end, top.
pub(crate) const FACES: [([usize; 4], [usize; 2]); 3] =
    [([0, 1, 5, 4], [0, 2]), ([0, 2, 6, 4], [1, 2]), ([0, 1, 3, 2], [0, 1])];

/// The box as one model: where its axes point before the small turn that is an unknown.
pub(crate) type Axes = [[f64; 3]; 3];

/// Turned about the level and the upright, f², the centre (2), turned about the line of sight, corner 0 (2, px), the edges
/// over the depth of corner 0, and that depth (mm). The camera's own stand where [`Camera::rows`] wants them.
pub(crate) const UNKNOWNS: usize = 12;
/// A file's focal length, or where the lens looked, that agrees so badly by chance less often than this isn't believed.
const WRONG: f64 = 0.01;
/// Knowns that are this many times farther apart than they should be are no box at all: ten standard uncertainties.
const NO_BOX: f64 = 100.0;
/// Edges known no better than this (one relative standard uncertainty) are not shown.
const LOOSE: f64 = 0.05;
/// How far up or down a camera is shifted to keep uprights parallel, as a share of the picture's longer side, one standard
/// deviation (common practice, no source).
const SHIFT: f64 = 0.3;
/// As in [`super::tilt`]: the usual focal length, give or take a factor of two.
const USUAL_U: f64 = 0.7;

/// A box as it was found.
#[derive(Clone, Debug)]
pub(crate) struct Posed {
    pub axes: Axes,
    pub theta: Vec<Estimate>,
    pub chi2: f64,
    pub freedom: usize,
    /// What is left of each pulling length, in their order.
    pub left: Vec<Estimate>,
    /// Some length sets its scale.
    pub scaled: bool,
    /// The camera was shifted to keep uprights parallel.
    pub shifted: bool,
    /// The file's focal length doesn't go with the corners.
    pub disagrees: bool,
    /// The length that the others say is wrong, and the box by the others.
    pub stray: Option<(Stray, Vec<Estimate>)>,
}

impl Posed {
    pub fn p(&self) -> f64 {
        chi_square_tail(self.chi2, self.freedom)
    }

    pub fn values(&self) -> Vec<f64> {
        self.theta.iter().map(|t| t.value).collect()
    }
}

/// What is taken for known of the camera besides the corners.
#[derive(Clone, Copy, Debug)]
pub(super) struct Trust {
    focal: Option<(f64, f64)>,
    shifted: bool,
}

pub(crate) fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

pub(crate) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// `v` turned by the rotation vector `w` (Rodrigues).
fn turned(w: [f64; 3], v: [f64; 3]) -> [f64; 3] {
    let angle = libm::sqrt(dot(w, w));
    if angle <= 0.0 {
        return v;
    }
    let axis = w.map(|x| x / angle);
    let (s, c) = (libm::sin(angle), libm::cos(angle));
    let (across, along) = (cross(axis, v), dot(axis, v) * (1.0 - c));
    [0, 1, 2].map(|i| v[i] * c + across[i] * s + axis[i] * along)
}

/// The box's axes as `theta` turns them.
pub(crate) fn axes_at(axes: &Axes, theta: &[f64]) -> Axes {
    axes.map(|axis| turned([theta[0], theta[1], theta[5]], axis))
}

/// Where corner 0 stands before the camera, in its own depths.
pub(crate) fn first(theta: &[f64]) -> [f64; 3] {
    let f = libm::sqrt(theta[2]);
    [(theta[6] - theta[3]) / f, (theta[7] - theta[4]) / f, 1.0]
}

/// Where a place is seen, px, and how that goes with each unknown.
pub(crate) struct Placing {
    pub at: [f64; 2],
    pub by: [[f64; 2]; UNKNOWNS],
}

/// d(a turned vector)/d(turn) about each axis is u × the vector, with these u.
///
/// # References
/// The left Jacobian of a rotation vector: Chirikjian, Stochastic Models, Information Theory, and Lie Groups 2 (2012), 10.6
/// [memory].
fn turning(w: [f64; 3]) -> [[f64; 3]; 3] {
    let angle = libm::sqrt(dot(w, w));
    let each = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    if angle <= 0.0 {
        return each;
    }
    let axis = w.map(|x| x / angle);
    let (s, c) = (libm::sin(angle) / angle, (1.0 - libm::cos(angle)) / angle);
    [0, 1, 2].map(|j: usize| {
        let (e, across) = (each[j], cross(axis, each[j]));
        [0, 1, 2].map(|i| s * e[i] + (1.0 - s) * axis[j] * axis[i] + c * across[i])
    })
}

/// Where a place is seen that lies so many edges from corner 0; `None` behind the camera, or where θ is no box.
pub(crate) fn seen(axes: &Axes, theta: &[f64], at: [f64; 3]) -> Option<Placing> {
    let f2 = theta[2];
    let f = libm::sqrt(f2);
    let edges = &theta[8..11];
    if !(f2 > 0.0 && edges.iter().all(|e| *e > 0.0) && theta.iter().all(|t| t.is_finite())) {
        return None;
    }
    let (axes, start) = (axes_at(axes, theta), first(theta));
    let mut off = [0.0; 3];
    for (k, axis) in axes.iter().enumerate() {
        for i in 0..3 {
            off[i] += at[k] * edges[k] * axis[i];
        }
    }
    let [x, y, z] = [0, 1, 2].map(|i| start[i] + off[i]);
    if z.is_nan() || z <= 1e-6 {
        return None;
    }
    // By a step of the place before the camera.
    let by = |d: [f64; 3]| [f * (d[0] - x / z * d[2]) / z, f * (d[1] - y / z * d[2]) / z];
    let mut all = [[0.0; 2]; UNKNOWNS];
    let u = turning([theta[0], theta[1], theta[5]]);
    for (j, slot) in [0, 1, 5].into_iter().enumerate() {
        all[slot] = by(cross(u[j], off));
    }
    let focal = by([-0.5 * start[0] / f2, -0.5 * start[1] / f2, 0.0]);
    all[2] = [focal[0] + 0.5 / f * x / z, focal[1] + 0.5 / f * y / z];
    all[6] = by([1.0 / f, 0.0, 0.0]);
    all[7] = by([0.0, 1.0 / f, 0.0]);
    all[3] = [1.0 - all[6][0], -all[6][1]];
    all[4] = [-all[7][0], 1.0 - all[7][1]];
    for (k, axis) in axes.iter().enumerate() {
        all[8 + k] = by(axis.map(|a| at[k] * a));
    }
    Some(Placing { at: [theta[3] + f * x / z, theta[4] + f * y / z], by: all })
}

/// How many edges corner `k` stands from corner 0.
pub(crate) fn corner(k: usize) -> [f64; 3] {
    [0, 1, 2].map(|bit| if k >> bit & 1 == 1 { 1.0 } else { 0.0 })
}

/// Values with their slopes: one row for each unknown.
pub(crate) type Sloped = (Vec<f64>, Vec<Vec<f64>>);

/// A side as [`Shape::Corners`] takes it: its corners (px) and sides (mm).
pub(crate) fn face_at(axes: &Axes, theta: &[f64], face: usize) -> Option<Sloped> {
    let (corners, sides) = FACES.get(face)?;
    let depth = *theta.get(11)?;
    let mut all = Vec::with_capacity(MOST);
    let mut by = vec![Vec::new(); UNKNOWNS];
    for k in corners {
        let placed = seen(axes, theta, corner(*k))?;
        all.extend(placed.at);
        for (row, d) in by.iter_mut().zip(&placed.by) {
            row.extend(d);
        }
    }
    for k in sides {
        all.push(depth * theta[8 + k]);
        for (i, row) in by.iter_mut().enumerate() {
            row.push(if i == 8 + k {
                depth
            } else if i == 11 {
                theta[8 + k]
            } else {
                0.0
            });
        }
    }
    Some((all, by))
}

/// How far the camera stands from the plane of a side, mm.
pub(crate) fn away_at(axes: &Axes, theta: &[f64], face: usize) -> Option<Sloped> {
    let axis = axes_at(axes, theta)[*[1, 0, 2].get(face)?];
    let (at, depth, f) = (first(theta), *theta.get(11)?, libm::sqrt(theta[2]));
    let off = dot(axis, at);
    let sign = if off < 0.0 { -depth } else { depth };
    let u = turning([theta[0], theta[1], theta[5]]);
    let mut by = [0.0; UNKNOWNS];
    for (j, slot) in [0, 1, 5].into_iter().enumerate() {
        by[slot] = sign * dot(cross(u[j], axis), at);
    }
    by[2] = -0.5 * sign * (axis[0] * at[0] + axis[1] * at[1]) / theta[2];
    for i in 0..2 {
        by[6 + i] = sign * axis[i] / f;
        by[3 + i] = -by[6 + i];
    }
    by[11] = off.abs();
    Some((vec![sign * off], by.map(|d| vec![d]).to_vec()))
}

fn none() -> Say {
    Say::new("view.box-no-box")
}

/// What is to be solved.
pub(super) struct Task<'a> {
    pub knowns: &'a BoxKnowns<'a>,
    pub pulling: Vec<&'a (u8, Known)>,
    /// Edges and lengths pull; otherwise corners only.
    pub scaled: bool,
}

impl Task<'_> {
    /// All equations: the camera's, the corners', the edges', the lengths'.
    fn rows(&self, axes: &Axes, theta: &[f64], trust: Trust) -> Result<Vec<Row>, Say> {
        let Trust { focal, shifted } = trust;
        let camera = self.knowns.camera;
        let mut rows = camera.rows(theta, Some(focal.unwrap_or((camera.usual(), USUAL_U))));
        if shifted && let Some(part) = rows.get_mut(1).and_then(|r| r.parts.first_mut()) {
            part.effect = -SHIFT * camera.size[0].max(camera.size[1]);
        }
        for (k, click) in self.knowns.boxed.corners.iter().enumerate() {
            let Some(click) = click else { continue };
            let now = seen(axes, theta, corner(k)).ok_or_else(none)?;
            for (axis, put) in [click.at.x, click.at.y].into_iter().enumerate() {
                let mut away = [0.0; 2];
                away[axis] = -1.0;
                let slope = now.by.iter().take(theta.len()).map(|d| d[axis]).collect();
                rows.push(Row { residual: now.at[axis] - put, slope, parts: click.parts(away) });
            }
        }
        if self.scaled {
            self.scale_rows(axes, theta, &mut rows)?;
        }
        Ok(rows)
    }

    /// The edges that are given, and each true length on the side it lies on.
    fn scale_rows(&self, axes: &Axes, theta: &[f64], rows: &mut Vec<Row>) -> Result<(), Say> {
        let boxed = self.knowns.boxed;
        for (k, side) in boxed.edges.iter().enumerate() {
            let Some(side) = side else { continue };
            let mut slope = vec![0.0; UNKNOWNS];
            slope[8 + k] = theta[11];
            slope[11] = theta[8 + k];
            let u = side.u.max(1e-6 * side.mm);
            let part = Part { source: Source::Side(boxed.view, k as u8), effect: -u, freedom: f64::INFINITY };
            rows.push(Row { residual: theta[11] * theta[8 + k] - side.mm, slope, parts: vec![part] });
        }
        for (face, known) in &self.pulling {
            let (now, by) = face_at(axes, theta, usize::from(*face)).ok_or_else(none)?;
            let mut one = row(&model(&now, 0.0)?, known)?;
            one.slope = by.iter().map(|d| d.iter().zip(&one.slope).map(|(a, b)| a * b).sum()).collect();
            rows.push(one);
        }
        Ok(())
    }

    /// From one start, with a depth where it is scaled.
    pub fn solve(&self, start: &Start, trust: Trust) -> Result<Solved, Say> {
        let mut theta = start.theta.clone();
        theta.truncate(11);
        if self.scaled {
            theta.push(1.0);
            let mut rows = Vec::new();
            self.scale_rows(&start.axes, &theta, &mut rows)?;
            // Each length is as many times too short as the depth is.
            let depths = rows.iter().map(|r| 1.0 - r.residual / r.slope[11]);
            theta[11] = depths.sum::<f64>() / rows.len() as f64;
        }
        solve(&theta, |theta| self.rows(&start.axes, theta, trust))
    }

    /// The best of several starts. Seen from afar, a corner that stands out looks like one that goes in: where both fit
    /// about as well (within 4 of χ²) it is the one that stands out, as it was touched.
    fn best(&self, trust: Trust) -> Result<(Start, Solved), Say> {
        let mut best: Option<(Start, Solved, bool)> = None;
        for start in starts(self.knowns.boxed, self.knowns.camera, trust.focal.map(|f| f.0), trust.shifted) {
            let Ok(solved) = self.solve(&start, trust) else { continue };
            let theta: Vec<f64> = solved.theta.iter().map(|t| t.value).collect();
            let out = facing(&start.axes, &theta).iter().filter(|f| **f).count() >= 2;
            let better = best.as_ref().is_none_or(|(_, b, was)| {
                if out == *was {
                    solved.chi2 < b.chi2
                } else {
                    solved.chi2 < b.chi2 + if out { 4.0 } else { -4.0 }
                }
            });
            // Two starts that come to the same place will hardly be outdone by a third.
            let again = best.as_ref().is_some_and(|b| (b.1.chi2 - solved.chi2).abs() <= 1e-6 * solved.chi2);
            let good = out && (again || chi_square_tail(solved.chi2, solved.freedom) >= super::fit::DISAGREE);
            if better {
                best = Some((start, solved, out));
            }
            if good {
                break;
            }
        }
        best.map(|(start, solved, _)| (start, solved)).ok_or_else(none)
    }
}

/// Which sides face the camera: front, end, top. Corner 0 belongs to all three, which face away from the other axis.
pub(crate) fn facing(axes: &Axes, theta: &[f64]) -> [bool; 3] {
    let (axes, at) = (axes_at(axes, theta), first(theta));
    [1, 0, 2].map(|k| dot(axes[k], at) > 0.0)
}

/// The map of a side's corners and sides, its axes turned to the view's level.
pub(crate) fn model(theta: &[f64], tilt: f64) -> Result<Model, Say> {
    let &[a, b, c, d, e, f, g, h, ..] = theta else { return Err(none()) };
    let corners: [Point<Picture>; 4] = [[a, b], [c, d], [e, f], [g, h]].map(Point::from);
    Model::at(&Shape::Corners { turn: super::corners::upright(&corners, tilt) }, theta)
}

/// The box from all that is known of it.
///
/// # Errors
/// `view.box-*` where there is no box, or where it can't be told.
///
/// # References
/// Bundle adjustment: Triggs, McLauchlan, Hartley & Fitzgibbon, Vision Algorithms, LNCS 1883 (2000) 298 [memory].
pub(crate) fn pose(knowns: &BoxKnowns) -> Result<Posed, Say> {
    let (start, trust, shape) = shape(knowns)?;
    let pulling: Vec<&(u8, Known)> = knowns.knowns.iter().filter(|(_, k)| k.pulls).collect();
    let scaled = !pulling.is_empty() || knowns.boxed.edges.iter().any(Option::is_some);
    let solved = if scaled { fit_scaled(knowns, pulling.clone(), &start, trust)? } else { shape };
    let from = solved.left.len() - pulling.len();
    let mut theta = solved.theta.clone();
    if !scaled {
        // A px at corner 0 stands for a mm.
        theta.push(Estimate::exact(libm::sqrt(theta[2].value)));
    }
    let loose = |k: usize| theta[8 + k].u() > LOOSE * theta[8 + k].value;
    if (0..3).any(loose) {
        return Err(Say::new("view.box-frontal"));
    }
    let disagrees = trust.focal.is_none() && knowns.camera.told().is_some();
    let stray = if scaled { stray(knowns, &pulling, &start, trust, &solved) } else { None };
    let (chi2, freedom, left) = (solved.chi2, solved.freedom, solved.left[from..].to_vec());
    Ok(Posed {
        axes: start.axes,
        theta,
        chi2,
        freedom,
        left,
        scaled,
        shifted: trust.shifted,
        disagrees,
        stray,
    })
}

fn fit_scaled(
    knowns: &BoxKnowns,
    pulling: Vec<&(u8, Known)>,
    start: &Start,
    trust: Trust,
) -> Result<Solved, Say> {
    let lengths = pulling.len() + knowns.boxed.edges.iter().flatten().count();
    let apart = || Say::new("view.box-edges-disagree");
    let refused = |say| if lengths > 1 { apart() } else { say };
    let edges_only = pulling.is_empty();
    let solved = Task { knowns, pulling, scaled: true }.solve(start, trust).map_err(refused)?;
    // Edges that contradict one another are refused as they are given; lengths on a side are only spoken of.
    if edges_only && solved.chi2 > NO_BOX * solved.freedom.max(1) as f64 {
        return Err(apart());
    }
    Ok(solved)
}

/// The box's shape by its corners alone, believing of the camera as much as goes with them: all; then not the file's focal
/// length; then not that it looked at the middle, uprights having been kept parallel.
fn shape(knowns: &BoxKnowns) -> Result<(Start, Trust, Solved), Say> {
    let corners = Task { knowns, pulling: Vec::new(), scaled: false };
    let told = knowns.camera.told();
    let mut best: Option<(Start, Trust, Solved)> = None;
    for shifted in [false, true] {
        for focal in [told, None] {
            let trust = Trust { focal, shifted };
            if let Ok((start, solved)) = corners.best(trust) {
                let good = chi_square_tail(solved.chi2, solved.freedom) >= WRONG;
                if best.as_ref().is_none_or(|b| good || solved.chi2 < b.2.chi2) {
                    best = Some((Start { theta: values(&solved), ..start }, trust, solved));
                }
                if good {
                    return best.ok_or_else(none);
                }
            }
            if told.is_none() {
                break;
            }
        }
    }
    best.filter(|b| b.2.chi2 <= NO_BOX * b.2.freedom.max(1) as f64).ok_or_else(none)
}

fn values(solved: &Solved) -> Vec<f64> {
    solved.theta.iter().map(|t| t.value).collect()
}

/// How well corners alone fit a box, as χ² and how often it would be as large by chance; for choosing between orders.
pub(crate) fn judged(boxed: &Boxed, camera: &Camera) -> Option<(f64, f64)> {
    let knowns = BoxKnowns { boxed, camera, knowns: &[] };
    let (_, _, solved) = shape(&knowns).ok()?;
    Some((solved.chi2, chi_square_tail(solved.chi2, solved.freedom)))
}
