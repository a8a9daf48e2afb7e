//! Where to begin with a box: the camera matrix by its corners, and what that says of the camera.

use super::boxed::{Axes, Boxed, corner, cross, dot};
use super::camera::Camera;
use crate::estimate::dense::Dense;

/// A start: where the axes point, and the unknowns (the turn none; without a depth).
#[derive(Clone, Debug)]
pub(crate) struct Start {
    pub axes: Axes,
    pub theta: Vec<f64>,
}

/// The camera matrix in units of edges and of corner 0's depth: three columns, each where an edge runs out times its
/// length, and the picture of corner 0. Places are counted from the picture's middle in its diagonals.
struct Matrix {
    runs: [[f64; 3]; 3],
    at: [f64; 2],
}

/// # References
/// Direct linear transformation: Hartley & Zisserman, 2nd ed., 7.1, with the depth of corner 0 for the scale.
fn matrix(boxed: &Boxed, middle: [f64; 2], unit: f64) -> Option<Matrix> {
    let (mut square, mut right) = (Dense::zero(11, 11), Dense::zero(11, 1));
    for (k, click) in boxed.corners.iter().enumerate() {
        let Some(click) = click else { continue };
        let [a, b, c] = corner(k);
        for axis in 0..2 {
            let p = [(click.at.x - middle[0]) / unit, (click.at.y - middle[1]) / unit][axis];
            let mut row = [0.0; 11];
            for (i, v) in [a, b, c, 1.0].into_iter().enumerate() {
                row[4 * axis + i] = v;
            }
            for (i, v) in [a, b, c].into_iter().enumerate() {
                row[8 + i] = -p * v;
            }
            for i in 0..11 {
                for j in 0..11 {
                    square[(i, j)] += row[i] * row[j];
                }
                right[(i, 0)] += row[i] * p;
            }
        }
    }
    let m = square.solve(&right)?;
    let runs = [0, 1, 2].map(|k| [m[(k, 0)], m[(4 + k, 0)], m[(8 + k, 0)]]);
    Some(Matrix { runs, at: [m[(3, 0)], m[(7, 0)]] })
}

/// Where the lens looked, if the edges are square to one another: the heights of the triangle of the places where they run
/// out, held weakly to the middle where an edge runs out nowhere. In diagonals from the middle.
///
/// # References
/// The orthocentre: Sensors 18 (2018) 63; Caprile & Torre, International Journal of Computer Vision 4 (1990) 127 [memory].
fn looked(runs: &[[f64; 3]; 3]) -> Option<[f64; 2]> {
    let v = runs.map(|r| {
        let size = libm::sqrt(dot(r, r)).max(f64::MIN_POSITIVE);
        r.map(|x| x / size)
    });
    let weak = 1e-4;
    let (mut square, mut right) =
        (Dense::by(2, 2, |i, j| if i == j { weak } else { 0.0 }), Dense::zero(2, 1));
    for i in 0..3 {
        let (j, k) = ((i + 1) % 3, (i + 2) % 3);
        let d = [0, 1].map(|c| v[k][2] * v[j][c] - v[j][2] * v[k][c]);
        let row = d.map(|x| x * v[i][2]);
        let to = d[0] * v[i][0] + d[1] * v[i][1];
        for a in 0..2 {
            for b in 0..2 {
                square[(a, b)] += row[a] * row[b];
            }
            right[(a, 0)] += row[a] * to;
        }
    }
    let p = square.solve(&right)?;
    Some([p[(0, 0)], p[(1, 0)]])
}

/// f² by each pair of edges that run out somewhere, `p` being where the lens looked; the middle one of those that a lens
/// could have.
fn focal(runs: &[[f64; 3]; 3], p: [f64; 2]) -> Option<f64> {
    let mut all: Vec<f64> = Vec::new();
    for (a, b) in [(0, 1), (0, 2), (1, 2)] {
        let [u, v] = [runs[a], runs[b]].map(|r| [r[0] - p[0] * r[2], r[1] - p[1] * r[2], r[2]]);
        let f2 = -(u[0] * v[0] + u[1] * v[1]) / (u[2] * v[2]);
        if f2 > 0.01 && f2 < 1e4 {
            all.push(libm::sqrt(f2));
        }
    }
    crate::order::sort_by(&mut all, f64::total_cmp);
    all.get(all.len() / 2).copied()
}

/// How deep each edge goes, by its direction across only; both ways round. `None` where two are square across.
fn depths(across: &[[f64; 2]; 3]) -> Option<[f64; 3]> {
    let by = |a: usize, b: usize| -(across[a][0] * across[b][0] + across[a][1] * across[b][1]);
    let z2 = by(0, 1) * by(0, 2) / by(1, 2);
    if !(z2 > 0.0 && z2.is_finite()) {
        return None;
    }
    let z = libm::sqrt(z2);
    Some([z, by(0, 1) / z, by(0, 2) / z])
}

/// Three directions square to one another, nearest to those given in turn, and how long each was.
fn squared(runs: [[f64; 3]; 3]) -> Option<(Axes, [f64; 3])> {
    let sizes = runs.map(|r| libm::sqrt(dot(r, r)));
    let unit = |r: [f64; 3]| {
        let size = libm::sqrt(dot(r, r));
        (size > 1e-9 && size.is_finite()).then(|| r.map(|x| x / size))
    };
    let a = unit(runs[0])?;
    let along = dot(a, runs[1]);
    let b = unit([0, 1, 2].map(|i| runs[1][i] - along * a[i]))?;
    let c = cross(a, b);
    let hand = if dot(c, runs[2]) < 0.0 { -1.0 } else { 1.0 };
    Some(([a, b, c.map(|x| x * hand)], sizes))
}

/// Places to begin a fit from, the likeliest first. `told` is the file's focal length (px).
pub(crate) fn starts(boxed: &Boxed, camera: &Camera, told: Option<f64>, shifted: bool) -> Vec<Start> {
    let (middle, unit) = (camera.middle(), libm::hypot(camera.size[0], camera.size[1]));
    let Some(m) = matrix(boxed, middle, unit) else { return Vec::new() };
    let p =
        if shifted { looked(&m.runs).map(|p| [p[0].clamp(-0.1, 0.1), p[1].clamp(-2.0, 2.0)]) } else { None };
    let p = p.unwrap_or([0.0; 2]);
    let usual = camera.usual() / unit;
    let mut focals: Vec<f64> = told.map(|f| f / unit).into_iter().collect();
    focals.extend(focal(&m.runs, p));
    focals.extend([usual, 2.5 * usual, 0.5 * usual, 6.0 * usual]);
    let mut all = Vec::new();
    for f in focals {
        let runs = m.runs.map(|r| [(r[0] - p[0] * r[2]) / f, (r[1] - p[1] * r[2]) / f, r[2]]);
        let flat = depths(&runs.map(|r| [r[0], r[1]]));
        let with = |sign: f64| flat.map(|z| [0, 1, 2].map(|k| [runs[k][0], runs[k][1], sign * z[k]]));
        for runs in [Some(runs), with(1.0), with(-1.0)].into_iter().flatten() {
            let Some((axes, edges)) = squared(runs) else { continue };
            let px = |i: usize| middle[i] + unit * p[i];
            let at = |i: usize| middle[i] + unit * m.at[i];
            let [a, b, c] = edges;
            let theta = vec![0.0, 0.0, f * f * unit * unit, px(0), px(1), 0.0, at(0), at(1), a, b, c];
            all.push(Start { axes, theta });
        }
    }
    all
}
