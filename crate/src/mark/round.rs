//! Angles, circles and arcs.

use super::ground::{Found, Ground};
use super::straight::{same_place, unit};
use super::{Findings, Quantity};
use crate::plane::{Circle, CircleFit, Point, Real, Vector, fit_circle};
use crate::words::Say;
use std::f64::consts::{PI, TAU};

/// The angle at the middle point between the arms to the first and the last, 0 to π.
pub(crate) fn angle(ground: &Ground) -> Result<Findings, Say> {
    let &[p, corner, q, ..] = ground.real.as_slice() else { return Ok(Findings::of(Vec::new())) };
    if unit(p - corner).is_none() {
        return Err(same_place(0, 1));
    }
    if unit(q - corner).is_none() {
        return Err(same_place(1, 2));
    }
    let (a, b) = (p - corner, q - corner);
    let sign = if a.cross(b) < 0.0 { -1.0 } else { 1.0 };
    let (aa, bb) = (sign / a.dot(a), sign / b.dot(b));
    let by_p = [aa * a.y, -aa * a.x];
    let by_q = [-bb * b.y, bb * b.x];
    let by_corner = [-by_p[0] - by_q[0], -by_p[1] - by_q[1]];
    let mut found =
        Found::new(Quantity::Angle, opening(p, corner, q), vec![(0, by_p), (1, by_corner), (2, by_q)]);
    // Near 0 and π an angle can only be seen to err to one side; what folds back there is no bias to undo.
    let clear = found.value.min(PI - found.value);
    if clear > 3.0 * ground.click_u(&found) {
        let [drift] = ground.drift(|p| match p {
            [p, corner, q, ..] => Some([opening(*p, *corner, *q)]),
            _ => None,
        });
        found.value -= drift;
    }
    Ok(Findings::of(vec![found]))
}

/// The angle at `corner`, 0 to π.
fn opening(p: Point<Real>, corner: Point<Real>, q: Point<Real>) -> f64 {
    let (a, b) = (p - corner, q - corner);
    libm::atan2(a.cross(b).abs(), a.dot(b))
}

/// The circle that lies nearest to points.
pub(crate) fn fitted(points: &[Point<Real>]) -> Result<Circle<Real>, Say> {
    in_full(points).map(|fit| fit.circle)
}

/// The same, and what each point does to it.
fn in_full(points: &[Point<Real>]) -> Result<CircleFit<Real>, Say> {
    fit_circle(points).map_err(|_| in_a_line())
}

fn in_a_line() -> Say {
    Say::new("mark.in-a-line")
}

/// The circle that lies nearest to the points.
pub(crate) fn circle(ground: &Ground) -> Result<Findings, Say> {
    let fit = in_full(&ground.real)?;
    let slope =
        |row: usize| -> Vec<(usize, [f64; 2])> { fit.partials.iter().map(|d| d[row]).enumerate().collect() };
    let mut radius = Found::new(Quantity::Radius, fit.circle.radius, slope(2));
    let mut flags = Vec::new();
    if ground.click_u(&radius) > 0.1 * radius.value {
        flags.push(Say::new("mark.short-arc"));
    }
    let [drift] = drift(ground, |p| nudged(p, fit.circle).map(|c| [c.radius]));
    take_off(&mut radius, drift, ground);
    let centre = fit.circle.centre;
    let found = vec![
        radius.times(Quantity::Diameter, 2.0),
        radius.times(Quantity::Circumference, TAU),
        radius,
        Found::new(Quantity::PlaceAcross, centre.x, slope(0)),
        Found::new(Quantity::PlaceDown, centre.y, slope(1)),
    ];
    Ok(Findings { found, flags, place: ground.map.unplace(centre) })
}

/// Most points for which every click is moved by itself to find the drift of a fit.
const MOST_SINGLE: usize = 24;

/// Most points for which the drift is worth finding: it is σ²/2R for a whole circle, less than a twentieth of
/// what the noise itself leaves on the radius, σ√(2/n), from n = 200 down to R = 100 σ.
///
/// # References
/// The bias of a fitted radius: Al-Sharadqah & Chernov, Electronic Journal of Statistics 3 (2009) 886
/// [memory].
const MOST_DRIFTING: usize = 200;

/// The drift of fitted sizes; of many points found by moving all of them at once, by fixed random signs, a few
/// times.
fn drift<const N: usize>(ground: &Ground, f: impl Fn(&[Point<Real>]) -> Option<[f64; N]>) -> [f64; N] {
    match ground.real.len() {
        n if n <= MOST_SINGLE => ground.drift(f),
        n if n <= MOST_DRIFTING => ground.drift_at_once(f),
        _ => [0.0; N],
    }
}

/// The circle nearest to points that were moved a little, from the one that was nearest before: three steps of
/// Gauss & Newton, as each leaves only the square of what was amiss. None where the points don't fix it.
fn nudged(points: &[Point<Real>], from: Circle<Real>) -> Option<Circle<Real>> {
    let mut circle = from;
    for _ in 0..3 {
        // Normal equations of Σ (ρ − r − u·dc − dr)², u the unit vector from the centre to each point.
        let (mut a, mut b) = ([0.0; 6], [0.0; 3]);
        for p in points {
            let v = *p - circle.centre;
            let rho = v.length();
            if rho <= 0.0 {
                return None;
            }
            let (x, y, left) = (v.x / rho, v.y / rho, rho - circle.radius);
            for (sum, term) in a.iter_mut().zip([x * x, x * y, x, y * y, y, 1.0]) {
                *sum += term;
            }
            for (sum, term) in b.iter_mut().zip([x * left, y * left, left]) {
                *sum += term;
            }
        }
        let [dx, dy, dr] = solve_three(a, b)?;
        circle.centre = circle.centre + Vector::new(dx, dy);
        circle.radius += dr;
    }
    (circle.radius > 0.0 && circle.centre.is_finite()).then_some(circle)
}

/// Solves the symmetric [[a0, a1, a2], [a1, a3, a4], [a2, a4, a5]] · x = b by Cramer's rule.
fn solve_three(a: [f64; 6], b: [f64; 3]) -> Option<[f64; 3]> {
    let [p, q, r, s, t, u] = a;
    let minors = [s * u - t * t, r * t - q * u, q * t - r * s, p * u - r * r, q * r - p * t, p * s - q * q];
    let whole = p * minors[0] + q * minors[1] + r * minors[2];
    let [c0, c1, c2, c3, c4, c5] = minors.map(|m| m / whole);
    let x = [
        c0 * b[0] + c1 * b[1] + c2 * b[2],
        c1 * b[0] + c3 * b[1] + c4 * b[2],
        c2 * b[0] + c4 * b[1] + c5 * b[2],
    ];
    x.iter().all(|x| x.is_finite()).then_some(x)
}

/// Takes a drift off, but no more than its own error: where first order says nothing any more, neither does
/// second.
fn take_off(found: &mut Found, drift: f64, ground: &Ground) {
    let most = ground.click_u(found);
    // Not `clamp`, which can panic and then tells its bounds: that alone would bring the standard library's way of writing
    // numbers, 5 kB on the wire.
    found.value -= if drift > most {
        most
    } else if drift < -most {
        -most
    } else {
        drift
    };
}

/// An arc on its circle: where it begins, and how far it sweeps.
struct Sweep {
    radius: f64,
    /// Where it begins, in radians from x towards y.
    start: f64,
    /// Radians, 0 to 2π, in the direction in which it passes the middle points.
    angle: f64,
    /// +1 when the angles grow along it, else −1.
    sense: f64,
}

/// An arc's beginning and how far it turns from there, signed, both in radians; for drawing.
pub(crate) fn swept(points: &[Point<Real>], circle: &Circle<Real>) -> Option<(f64, f64)> {
    let sweep = Sweep::of(points, circle)?;
    Some((sweep.start, sweep.sense * sweep.angle))
}

impl Sweep {
    fn of(points: &[Point<Real>], circle: &Circle<Real>) -> Option<Sweep> {
        let (first, last) = (points.first()?, points.last()?);
        let turn = |p: &Point<Real>| {
            let v = *p - circle.centre;
            libm::atan2(v.y, v.x)
        };
        let start = turn(first);
        let on = |p: &Point<Real>| (turn(p) - start).rem_euclid(TAU);
        let end = on(last);
        let middle = on(points.get(points.len() / 2)?);
        let (angle, sense) = if middle <= end { (end, 1.0) } else { (TAU - end, -1.0) };
        Some(Sweep { radius: circle.radius, start, angle, sense })
    }

    fn length(&self) -> f64 {
        self.radius * self.angle
    }
    fn chord(&self) -> f64 {
        2.0 * self.radius * libm::sin(self.angle / 2.0)
    }
    fn rise(&self) -> f64 {
        // 1 − cos, without the loss of figures when the arc is flat.
        let s = libm::sin(self.angle / 4.0);
        2.0 * self.radius * s * s
    }
}

/// The arc from the first point to the last, on the circle that lies nearest to all of them.
pub(crate) fn arc(ground: &Ground) -> Result<Findings, Say> {
    let fit = in_full(&ground.real)?;
    let Some(sweep) = Sweep::of(&ground.real, &fit.circle) else { return Err(in_a_line()) };
    let by_angle = angle_slope(ground, &fit, sweep.sense);
    let (r, half) = (sweep.radius, sweep.angle / 2.0);
    let (sin, cos) = (libm::sin(half), libm::cos(half));
    let make = |what, value, by_r: f64, by_a: f64| {
        let mix = |d: &[[f64; 2]; 3], a: &[f64; 2]| [0, 1].map(|x| by_r * d[2][x] + by_a * a[x]);
        let slope = fit.partials.iter().zip(&by_angle).map(|(d, a)| mix(d, a)).enumerate().collect();
        Found::new(what, value, slope)
    };
    let mut found = vec![
        make(Quantity::ArcRadius, r, 1.0, 0.0),
        make(Quantity::ArcLength, sweep.length(), sweep.angle, r),
        make(Quantity::Rise, sweep.rise(), 1.0 - cos, r * sin / 2.0),
        make(Quantity::Chord, sweep.chord(), 2.0 * sin, r * cos),
    ];
    let mut flags = Vec::new();
    if sweep.rise() < 3.0 * ground.click_u(&found[2]) {
        flags.push(Say::new("mark.nearly-flat"));
    } else {
        let again = |p: &[Point<Real>]| {
            let s = Sweep::of(p, &nudged(p, fit.circle)?)?;
            Some([s.length(), s.rise(), s.chord()])
        };
        let drifts = drift(ground, again);
        // Not the radius: its errors are even in the curvature, and so the truth lies in its middle as it is.
        for (found, drift) in found.iter_mut().skip(1).zip(drifts) {
            take_off(found, drift, ground);
        }
    }
    let place = ground.map.unplace(fit.circle.centre);
    Ok(Findings { found, flags, place })
}

/// What each point does to the angle swept: the two ends by themselves, and all of them through the centre.
fn angle_slope(ground: &Ground, fit: &CircleFit<Real>, sense: f64) -> Vec<[f64; 2]> {
    let n = ground.real.len();
    // ∂ of a point's direction from the centre: (−y, x)/ρ² with the point, and the opposite with the centre.
    let turn = |p: Point<Real>| {
        let v = p - fit.circle.centre;
        let k = sense / v.dot(v).max(f64::MIN_POSITIVE);
        [-k * v.y, k * v.x]
    };
    let first = ground.real.first().map_or([0.0; 2], |p| turn(*p));
    let last = ground.real.last().map_or([0.0; 2], |p| turn(*p));
    let by_centre = [first[0] - last[0], first[1] - last[1]];
    let mut slope: Vec<[f64; 2]> = fit
        .partials
        .iter()
        .map(|d| [0, 1].map(|x| by_centre[0] * d[0][x] + by_centre[1] * d[1][x]))
        .collect();
    for x in 0..2 {
        slope[0][x] -= first[x];
        slope[n - 1][x] += last[x];
    }
    slope
}
