//! Closed outlines of points.

use super::extreme::{extent, extent_surplus, greatest};
use super::ground::{Found, Ground};
use super::straight::{run, same_place};
use super::{Findings, Quantity};
use crate::plane::{Point, Real, crossing_edges};
use crate::words::Say;

/// Greatest length and width, the length round, and, unless the outline crosses itself, the area and where it
/// balances.
pub(crate) fn outline(ground: &Ground) -> Result<Findings, Say> {
    let (round, mut flags) = run(Quantity::Perimeter, ground, true);
    let mut found = across(ground, &mut flags)?;
    found.push(round);
    let mut place = None;
    if crossing_edges(&ground.real).is_some() {
        flags.push(Say::new("mark.crosses"));
    } else if let Some([area, x, y]) = area(&ground.real) {
        if area.value < 3.0 * ground.click_u(&area) {
            flags.push(Say::new("mark.no-area"));
        }
        place = ground.map.unplace(Point::new(x.value, y.value));
        found.extend([area, x, y]);
    } else {
        flags.push(Say::new("mark.no-area"));
    }
    Ok(Findings { found, flags, place })
}

/// The greatest length, and the width square to it, both with the noise's own share taken off.
fn across(ground: &Ground, flags: &mut Vec<Say>) -> Result<Vec<Found>, Say> {
    let Some(most) = greatest(ground) else { return Err(same_place(0, 1)) };
    let Some((mut width, n)) = extent(ground, most.i, most.j) else { return Err(same_place(0, 1)) };
    let slope = vec![(most.i, [-n.y, n.x]), (most.j, [n.y, -n.x])];
    let mut length = Found::new(Quantity::GreatestLength, most.seen - most.off, slope);
    length.beyond = most.beyond;

    let (off, beyond) = extent_surplus(ground, n);
    let other = other_widths(ground, &most.tied, width.value);
    if other > 2.0 * ground.click_u(&width) {
        flags.push(Say::new("mark.greatest-tied"));
    }
    width.value = (width.value - off).max(0.0);
    // Which of the tied lengths is the greatest is not known, and with it the width: evenly anywhere from the
    // one found to the farthest of the others.
    width.beyond = libm::hypot(beyond, other / libm::sqrt(3.0));
    Ok(vec![length, width])
}

/// How far the width would change if another of the tied pairs were the greatest, at most, in mm.
fn other_widths(ground: &Ground, tied: &[(usize, usize)], width: f64) -> f64 {
    const MOST: usize = 12;
    let every = tied.len().div_ceil(MOST).max(1);
    let widths = tied.iter().step_by(every).filter_map(|&(i, j)| extent(ground, i, j));
    widths.map(|(w, _)| (w.value - width).abs()).fold(0.0, f64::max)
}

/// The area, and the balance point's two coordinates, with their slopes; none where there is no area.
///
/// Summed about the middle of the points, as the products of far-off coordinates would lose figures.
///
/// # References
/// The shoelace formula and the centroid of a polygon: Bourke, "Calculating the area and centroid of a
/// polygon" (1988) [memory]; the slopes are their derivatives.
fn area(points: &[Point<Real>]) -> Option<[Found; 3]> {
    let n = points.len();
    let origin = middle(points)?;
    let local: Vec<[f64; 2]> = points.iter().map(|p| [p.x - origin.x, p.y - origin.y]).collect();
    let next = |i: usize| local[if i + 1 == n { 0 } else { i + 1 }];
    let mut double = 0.0;
    let mut moment = [0.0; 2];
    for (i, p) in local.iter().enumerate() {
        let q = next(i);
        let a = p[0] * q[1] - q[0] * p[1];
        double += a;
        moment[0] += (p[0] + q[0]) * a;
        moment[1] += (p[1] + q[1]) * a;
    }
    let size: f64 = local.iter().map(|p| p[0].abs().max(p[1].abs())).fold(0.0, f64::max);
    if double.is_nan() || double.abs() <= 1e-12 * size * size {
        return None;
    }
    let signed = double / 2.0;
    let c = [moment[0] / (6.0 * signed), moment[1] / (6.0 * signed)];
    let about: Vec<[f64; 2]> = local.iter().map(|p| [p[0] - c[0], p[1] - c[1]]).collect();
    let [by_area, by_x, by_y] = area_slopes(&about, signed);
    Some([
        Found::new(Quantity::Area, signed.abs(), by_area),
        Found::new(Quantity::BalanceAcross, origin.x + c[0], by_x),
        Found::new(Quantity::BalanceDown, origin.y + c[1], by_y),
    ])
}

type Slope = Vec<(usize, [f64; 2])>;

/// The slopes of the area (without its sign) and of the balance point, of points counted from the balance
/// point: there the moment is nought, so ∂c = ∂moment / 6A.
fn area_slopes(about: &[[f64; 2]], signed: f64) -> [Slope; 3] {
    let n = about.len();
    let side = if signed < 0.0 { -0.5 } else { 0.5 };
    let k = 1.0 / (6.0 * signed);
    let mut slopes = [Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n)];
    for (i, &[x, y]) in about.iter().enumerate() {
        let [px, py] = about[if i == 0 { n - 1 } else { i - 1 }];
        let [qx, qy] = about[if i + 1 == n { 0 } else { i + 1 }];
        let both = (x * qy - qx * y) + (px * y - x * py);
        slopes[0].push((i, [side * (qy - py), side * (px - qx)]));
        let by_x = [both + (x + qx) * qy - (px + x) * py, -(x + qx) * qx + (px + x) * px];
        let by_y = [(y + qy) * qy - (py + y) * py, both - (y + qy) * qx + (py + y) * px];
        slopes[1].push((i, [k * by_x[0], k * by_x[1]]));
        slopes[2].push((i, [k * by_y[0], k * by_y[1]]));
    }
    slopes
}

/// The mean of the points.
fn middle(points: &[Point<Real>]) -> Option<Point<Real>> {
    let n = points.len() as f64;
    let x: f64 = points.iter().map(|p| p.x).sum();
    let y: f64 = points.iter().map(|p| p.y).sum();
    (n > 0.0).then(|| Point::new(x / n, y / n))
}
