//! Circles, exactly through three points or nearest to many.
//!
//! # References
//! Start: Kåsa, IEEE Transactions on Instrumentation and Measurement 25 (1976) 8 (algebraic fit). Answer:
//! least squares of the distances to the circle by Gauss–Newton with damping: Gander, Golub & Strebel, BIT
//! 34 (1994) 558, §3. Partials: implicit differentiation of the stationarity condition, second derivatives
//! kept, so that they hold for points that don't lie on the circle.

use super::{Point, Space};
use crate::estimate::dense::Dense;
use crate::words::Say;

/// A circle.
#[derive(Copy, Clone, Debug, PartialEq)]
pub struct Circle<S: Space> {
    /// Its centre.
    pub centre: Point<S>,
    /// Its radius, in the space's unit, > 0.
    pub radius: f64,
}

/// The circle nearest to some points.
#[derive(Clone, Debug, PartialEq)]
pub struct CircleFit<S: Space> {
    /// The circle.
    pub circle: Circle<S>,
    /// For each point: d(centre x, centre y, radius) / d(point x, point y). No unit.
    pub partials: Vec<[[f64; 2]; 3]>,
    /// How far each point lies outside the circle (inside: negative), in the space's unit.
    pub left: Vec<f64>,
}

/// The circle through three points.
///
/// # Errors
/// `plane.circle-line` when they lie on a line as far as can be told.
pub fn circle_through<S: Space>(points: &[Point<S>; 3]) -> Result<Circle<S>, Say> {
    algebraic(points).ok_or_else(|| Say::new("plane.circle-line"))
}

/// The circle that makes the sum of squared distances of the points from it least.
///
/// # Errors
/// `plane.circle-few` under three points; `plane.circle-line` when the points lie on a line (or in one
/// place) as far as can be told.
pub fn fit_circle<S: Space>(points: &[Point<S>]) -> Result<CircleFit<S>, Say> {
    if points.len() < 3 {
        return Err(Say::new("plane.circle-few").count("need", 3));
    }
    let line = || Say::new("plane.circle-line");
    let mut circle = algebraic(points).ok_or_else(line)?;
    let size = spread(points);
    let (mut damping, mut settled) = (0.0_f64, false);
    for _ in 0..200 {
        let Some(trial) = step(&circle, points, damping) else { break };
        let moved = trial.centre.distance(circle.centre).max((trial.radius - circle.radius).abs());
        if cost(&trial, points) <= cost(&circle, points) * (1.0 + 1e-12) {
            circle = trial;
            damping = if damping < 1e-8 { 0.0 } else { damping / 10.0 };
            settled = moved <= 1e-13 * circle.radius.max(size);
        } else {
            settled = moved <= 1e-11 * circle.radius.max(size);
            damping = (damping * 10.0).max(1e-8);
        }
        if settled {
            break;
        }
    }
    let sound = settled && circle.centre.is_finite() && circle.radius < 1e6 * size;
    let partials = if sound { partials(&circle, points) } else { None }.ok_or_else(line)?;
    let left = points.iter().map(|p| p.distance(circle.centre) - circle.radius).collect();
    Ok(CircleFit { circle, partials, left })
}

/// The greatest distance of a point from the points' middle.
fn spread<S: Space>(points: &[Point<S>]) -> f64 {
    let middle = middle(points);
    points.iter().fold(0.0, |m, p| p.distance(middle).max(m))
}

fn middle<S: Space>(points: &[Point<S>]) -> Point<S> {
    let n = points.len() as f64;
    let (x, y) = points.iter().fold((0.0, 0.0), |(x, y), p| (x + p.x / n, y + p.y / n));
    Point::new(x, y)
}

/// Kåsa's circle about the points' middle: x² + y² = 2ax + 2by + c, linear in a, b, c.
fn algebraic<S: Space>(points: &[Point<S>]) -> Option<Circle<S>> {
    let (middle, size) = (middle(points), spread(points));
    if !(size.is_finite() && size > 0.0) {
        return None;
    }
    let (mut a, mut b) = (Dense::zero(3, 3), Dense::zero(3, 1));
    for p in points {
        let d = (*p - middle) * (1.0 / size);
        let row = [2.0 * d.x, 2.0 * d.y, 1.0];
        for (i, left) in row.into_iter().enumerate() {
            for (j, right) in row.into_iter().enumerate() {
                a[(i, j)] += left * right;
            }
            b[(i, 0)] += left * d.dot(d);
        }
    }
    // Points whose bow is under a millionth of their spread are on a line as far as doubles can tell.
    let lower = a.cholesky(1e-12)?;
    let x = lower.backward(&lower.forward(&b));
    let step = super::Vector::new(x[(0, 0)], x[(1, 0)]);
    let square = x[(2, 0)] + step.dot(step);
    let circle = Circle { centre: middle + step * size, radius: libm::sqrt(square) * size };
    (square > 0.0 && circle.centre.is_finite()).then_some(circle)
}

fn cost<S: Space>(circle: &Circle<S>, points: &[Point<S>]) -> f64 {
    points.iter().map(|p| p.distance(circle.centre) - circle.radius).map(|r| r * r).sum()
}

/// One damped Gauss–Newton step.
fn step<S: Space>(circle: &Circle<S>, points: &[Point<S>], damping: f64) -> Option<Circle<S>> {
    let (mut a, mut b) = (Dense::zero(3, 3), Dense::zero(3, 1));
    for p in points {
        let (n, rho) = outward(circle, *p)?;
        let row = [-n[0], -n[1], -1.0];
        for (i, left) in row.into_iter().enumerate() {
            for (j, right) in row.into_iter().enumerate() {
                a[(i, j)] += left * right;
            }
            b[(i, 0)] -= left * (rho - circle.radius);
        }
    }
    for i in 0..3 {
        a[(i, i)] *= 1.0 + damping;
    }
    let x = a.solve(&b)?;
    let radius = circle.radius + x[(2, 0)];
    let centre = circle.centre + super::Vector::new(x[(0, 0)], x[(1, 0)]);
    (radius > 0.0 && centre.is_finite()).then_some(Circle { centre, radius })
}

/// The unit step from the centre to `p`, and the distance.
fn outward<S: Space>(circle: &Circle<S>, p: Point<S>) -> Option<([f64; 2], f64)> {
    let d = p - circle.centre;
    let rho = d.length();
    (rho > 0.0).then(|| ([d.x / rho, d.y / rho], rho))
}

/// d(centre, radius)/d(point) from F(θ, p) = Σ r·∂r/∂θ = 0: dθ/dp = −(∂F/∂θ)⁻¹·∂F/∂p.
fn partials<S: Space>(circle: &Circle<S>, points: &[Point<S>]) -> Option<Vec<[[f64; 2]; 3]>> {
    let mut whole = Dense::zero(3, 3);
    let mut each = Dense::zero(3, 2 * points.len());
    for (k, p) in points.iter().enumerate() {
        let (n, rho) = outward(circle, *p)?;
        let bend = (rho - circle.radius) / rho;
        for i in 0..2 {
            for j in 0..2 {
                let same = if i == j { 1.0 } else { 0.0 };
                let cell = n[i] * n[j] + bend * (same - n[i] * n[j]);
                whole[(i, j)] += cell;
                each[(i, 2 * k + j)] = cell;
            }
            whole[(i, 2)] += n[i];
            whole[(2, i)] += n[i];
            each[(2, 2 * k + i)] = n[i];
        }
        whole[(2, 2)] += 1.0;
    }
    // F's slope by θ has the same cells as by −p for the centre, with +1 for the radius.
    let moved = whole.solve(&each)?;
    let of = |k: usize| [0, 1, 2].map(|i| [moved[(i, 2 * k)], moved[(i, 2 * k + 1)]]);
    Some((0..points.len()).map(of).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Real;
    use proptest::prelude::*;

    fn points(list: &[[f64; 2]]) -> Vec<Point<Real>> {
        list.iter().map(|p| Point::from(*p)).collect()
    }

    /// Gander, Golub & Strebel (1994), §1: six points; their geometric fit has centre (4.7398, 2.9835) and
    /// radius 4.7142 [memory].
    #[test]
    fn six_points_of_the_paper() {
        let fit =
            fit_circle(&points(&[[1.0, 7.0], [2.0, 6.0], [5.0, 8.0], [7.0, 7.0], [9.0, 5.0], [3.0, 7.0]]))
                .unwrap();
        assert!(fit.circle.centre.distance(Point::new(4.7398, 2.9835)) < 1e-4, "{:?}", fit.circle);
        assert!((fit.circle.radius - 4.7142).abs() < 5e-5);
    }

    /// Euclid IV.5 on a 3-4-5 triangle: the hypotenuse is a diameter.
    #[test]
    fn right_triangle() {
        let three = [[0.0, 0.0], [4.0, 0.0], [0.0, 3.0]].map(Point::<Real>::from);
        let exact = circle_through(&three).unwrap();
        let fit = fit_circle(&three).unwrap();
        for circle in [exact, fit.circle] {
            assert!(
                circle.centre.distance(Point::new(2.0, 1.5)) < 1e-12 && (circle.radius - 2.5).abs() < 1e-12
            );
        }
        assert!(fit.left.iter().all(|r| r.abs() < 1e-12));
    }

    #[test]
    fn a_line_is_no_circle() {
        for bad in [
            vec![[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]],
            vec![[5.0, 5.0]; 4],
            vec![[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 0.0]],
            vec![[f64::NAN, 0.0], [1.0, 0.0], [1.0, 1.0]],
            vec![[1e4, 1e4], [1e4 + 1.0, 1e4], [1e4 + 2.0, 1e4 + 1e-9]],
        ] {
            assert_eq!(fit_circle(&points(&bad)).unwrap_err().key, "plane.circle-line", "{bad:?}");
        }
        assert_eq!(fit_circle(&points(&[[0.0, 0.0], [1.0, 0.0]])).unwrap_err().key, "plane.circle-few");
    }

    proptest! {
        #[test]
        fn partials_are_the_slope(r in 20.0..200.0f64, from in 0.0..6.0f64, sweep in 1.0..6.0f64, noise in prop::collection::vec(-0.5..0.5f64, 3..9)) {
            let n = noise.len() as f64 - 1.0;
            let mut p: Vec<Point<Real>> = noise.iter().enumerate().map(|(i, e)| {
                let a = from + sweep * i as f64 / n;
                Point::new(50.0 + (r + e) * libm::cos(a), -30.0 + (r + e) * libm::sin(a))
            }).collect();
            let fit = fit_circle(&p).unwrap();
            let h = 1e-4;
            for i in 0..p.len() {
                for axis in 0..2 {
                    let mut moved = |d: f64| {
                        if axis == 0 { p[i].x += d } else { p[i].y += d }
                        let c = fit_circle(&p).unwrap().circle;
                        if axis == 0 { p[i].x -= d } else { p[i].y -= d }
                        [c.centre.x, c.centre.y, c.radius]
                    };
                    let (up, down) = (moved(h), moved(-h));
                    for k in 0..3 {
                        let slope = (up[k] - down[k]) / (2.0 * h);
                        let got = fit.partials[i][k][axis];
                        prop_assert!((slope - got).abs() < 1e-4 * (1.0 + got.abs()), "{slope} {got}");
                    }
                }
            }
        }
    }
}
