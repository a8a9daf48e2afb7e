//! A camera from pictures of a flat target whose points are known: focal length, centre and bend, with their covariance.
//!
//! Each picture's homography gives a first focal length and where the target stood; then all of it is adjusted at once, each
//! picture's own six unknowns eliminated as it goes. What is compared is each place as it would be seen without bend.
//!
//! # References
//! Zhang, IEEE PAMI 22 (2000) 1330; the adjustment: Triggs, McLauchlan, Hartley & Fitzgibbon, Vision Algorithms, LNCS 1883
//! (2000) 298 [memory]; widening: Birge, Physical Review 40 (1932) 207.

use super::lens::{Lens, TERMS};
use crate::estimate::dense::Dense;
use crate::estimate::split;
use crate::fault::{Area, spoil};
use crate::plane::{Homography, Picture, Point, Real};
use crate::words::Say;

/// One picture of the target.
#[derive(Clone, Debug, PartialEq)]
pub struct Shot {
    /// Where the target's points are seen, px.
    pub seen: Vec<Point<Picture>>,
    /// Where they are on the target, mm, in the same order.
    pub on: Vec<Point<Real>>,
}

/// A camera as it was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    /// Its lens: centre and bend, with their errors.
    pub lens: Lens,
    /// The focal length, px.
    pub focal: f64,
    /// What the lens's errors, and one more of its own, do to the focal length, px.
    pub focal_effects: [f64; TERMS + 1],
    /// What is left of each place, RMS, px.
    pub left: f64,
}

impl Found {
    /// Standard uncertainty of the focal length, px.
    pub fn focal_u(&self) -> f64 {
        libm::sqrt(self.focal_effects.iter().map(|e| e * e).sum())
    }
}

/// Unknowns that all pictures share: the lens's, and the focal length (in halves of the diagonal).
const SHARED: usize = TERMS + 1;
/// And each picture's own: how it is turned, and where it stands.
const OWN: usize = 6;
/// As in `bowed`: what is known of lenses at large, and of where their centre is.
const USUAL: [f64; TERMS] = [0.3, 0.04, 0.05, 0.05];
const STEPS: usize = 60;
/// A focal length known no better than this share of itself (one standard deviation) isn't known.
const LOOSE: f64 = 0.05;

/// Where the target stands: a place on it is at R·(x, y, 0) + t before the camera.
#[derive(Clone, Copy, Debug)]
struct Stand {
    turn: [[f64; 3]; 3],
    at: [f64; 3],
}

/// The camera that took these pictures of `size` px, each place good to `sigma` px.
///
/// # Errors
/// `camera.too-few-pictures` (three at least), `camera.too-few-places` (eight on each), `camera.not-a-place`;
/// `camera.no-answer` where the pictures are too alike to tell, or aren't of one flat target by one camera.
pub fn calibrate(picture: u32, size: [f64; 2], shots: &[Shot], sigma: f64) -> Result<Found, Say> {
    check(shots, size, sigma)?;
    let no_answer = || Say::new("camera.no-answer");
    let mut lens = Lens::none(picture, size);
    let homographies =
        shots.iter().map(|s| Homography::fit(&s.on, &s.seen)).collect::<Result<Vec<_>, Say>>()?;
    let mut focal = first_focal(&lens, &homographies).ok_or_else(no_answer)?;
    let mut stands: Vec<Stand> = homographies
        .iter()
        .zip(shots)
        .map(|(h, s)| first_stand(&lens, focal, h, s.on.first().copied()?))
        .collect::<Option<_>>()
        .ok_or_else(no_answer)?;
    let mut damping = 1e-3;
    let mut now = Normal::about(&lens, focal, &stands, shots, sigma).ok_or_else(no_answer)?;
    for _ in 0..STEPS {
        let (shared, own) = now.step(damping).ok_or_else(no_answer)?;
        let mut next = (lens.clone(), focal + shared[TERMS], stands.clone());
        for (term, step) in next.0.terms.iter_mut().zip(&shared) {
            *term += step;
        }
        for (stand, step) in next.2.iter_mut().zip(&own) {
            stand.move_by(step);
        }
        let trial = Normal::about(&next.0, next.1, &next.2, shots, sigma).filter(|n| n.cost <= now.cost);
        let small = shared.iter().all(|s| s.abs() < 1e-9);
        if let Some(trial) = trial {
            (lens, focal, stands) = next;
            now = trial;
            damping = (damping / 10.0).max(1e-12);
        } else if !small {
            damping = (damping * 10.0).max(1e-9);
        }
        if small {
            return told(lens, focal, &now, sigma).ok_or_else(no_answer);
        }
    }
    Err(no_answer())
}

fn check(shots: &[Shot], size: [f64; 2], sigma: f64) -> Result<(), Say> {
    if shots.len() < 3 {
        return Err(Say::new("camera.too-few-pictures").count("least", 3));
    }
    if shots.iter().any(|s| s.seen.len() < 8 || s.seen.len() != s.on.len()) {
        return Err(Say::new("camera.too-few-places").count("least", 8));
    }
    let near = |p: &Point<Picture>| p.is_finite() && p.x.abs() < 1e6 && p.y.abs() < 1e6;
    let on = |p: &Point<Real>| p.is_finite() && p.x.abs() < 1e7 && p.y.abs() < 1e7;
    let sound = shots.iter().all(|s| s.seen.iter().all(near) && s.on.iter().all(on));
    let given = size.iter().chain([&sigma]).all(|v| v.is_finite() && *v > 0.0);
    if sound && given { Ok(()) } else { Err(Say::new("camera.not-a-place")) }
}

/// Zhang's constraints with the centre in the picture's middle: each homography gives two equations in 1/f².
fn first_focal(lens: &Lens, homographies: &[Homography<Real, Picture>]) -> Option<f64> {
    let (mut top, mut bottom) = (0.0, 0.0);
    for h in homographies {
        let [a, b] = [0, 1].map(|k| column(lens, h, k));
        let size = dot(a, a).max(dot(b, b));
        let rows = [
            (a[0] * b[0] + a[1] * b[1], a[2] * b[2]),
            (a[0] * a[0] + a[1] * a[1] - b[0] * b[0] - b[1] * b[1], a[2] * a[2] - b[2] * b[2]),
        ];
        for (k, right) in rows {
            top -= k * right / (size * size);
            bottom += k * k / (size * size);
        }
    }
    // Too alike to tell: a long lens is as good a start as any.
    let inverse = top / bottom;
    if !bottom.is_finite() || bottom <= 0.0 {
        return None;
    }
    Some(if inverse > 0.0 { (1.0 / libm::sqrt(inverse)).clamp(0.3, 20.0) } else { 2.0 })
}

/// Column `k` of a homography, px about the picture's middle in halves of its diagonal.
fn column(lens: &Lens, h: &Homography<Real, Picture>, k: usize) -> [f64; 3] {
    let rows = h.rows();
    let w = rows[2][k];
    [(rows[0][k] - lens.middle.x * w) / lens.half, (rows[1][k] - lens.middle.y * w) / lens.half, w]
}

/// Where the target stands, from its homography.
fn first_stand(lens: &Lens, focal: f64, h: &Homography<Real, Picture>, on: Point<Real>) -> Option<Stand> {
    let [mut a, mut b, mut t] = [0, 1, 2].map(|k| {
        let c = column(lens, h, k);
        [c[0] / focal, c[1] / focal, c[2]]
    });
    let size = libm::sqrt(libm::sqrt(dot(a, a) * dot(b, b)));
    // It stands before the camera.
    let before = a[2] * on.x + b[2] * on.y + t[2];
    let k = if before < 0.0 { -1.0 / size } else { 1.0 / size };
    for v in [&mut a, &mut b, &mut t] {
        *v = v.map(|x| x * k);
    }
    // Square to one another: both turned by half of what is amiss.
    let amiss = 0.5 * dot(a, b);
    let a1 = unit([0, 1, 2].map(|i| a[i] - amiss * b[i]))?;
    let b0 = [0, 1, 2].map(|i| b[i] - dot(a1, b) * a1[i]);
    let b1 = unit(b0)?;
    let c1 = cross(a1, b1);
    Some(Stand { turn: [0, 1, 2].map(|i| [a1[i], b1[i], c1[i]]), at: t })
}

impl Stand {
    /// A place on the target, before the camera, without and with where it stands.
    fn before(&self, p: Point<Real>) -> ([f64; 3], [f64; 3]) {
        let turned = self.turn.map(|row| row[0] * p.x + row[1] * p.y);
        (turned, [0, 1, 2].map(|i| turned[i] + self.at[i]))
    }

    /// Turned by a small rotation vector, moved by a step relative to how far away it is.
    fn move_by(&mut self, step: &[f64; OWN]) {
        let w = [step[0], step[1], step[2]];
        let angle = libm::sqrt(dot(w, w));
        if angle > 0.0 {
            let axis = w.map(|x| x / angle);
            let (s, c) = (libm::sin(angle), libm::cos(angle));
            // Rodrigues, column by column.
            let columns = [0, 1, 2].map(|k| {
                let v = self.turn.map(|row| row[k]);
                let (across, along) = (cross(axis, v), dot(axis, v) * (1.0 - c));
                [0, 1, 2].map(|i| v[i] * c + across[i] * s + axis[i] * along)
            });
            self.turn = [0, 1, 2].map(|i| columns.map(|column| column[i]));
        }
        let far = libm::sqrt(dot(self.at, self.at));
        for i in 0..3 {
            self.at[i] += far * step[3 + i];
        }
    }
}

/// The normal equations, the pictures' own unknowns beside them.
struct Normal {
    square: Dense,
    right: [f64; SHARED],
    own: Vec<Own>,
    cost: f64,
    places: f64,
    raw: f64,
}

struct Own {
    square: Dense,
    cross: Dense,
    right: Dense,
}

impl Normal {
    fn about(lens: &Lens, focal: f64, stands: &[Stand], shots: &[Shot], sigma: f64) -> Option<Normal> {
        let mut normal = Normal {
            square: Dense::zero(SHARED, SHARED),
            right: [0.0; SHARED],
            own: Vec::with_capacity(shots.len()),
            cost: 0.0,
            places: 0.0,
            raw: 0.0,
        };
        for (k, (usual, term)) in USUAL.iter().zip(&lens.terms).enumerate() {
            let weight = 1.0 / (usual * usual);
            normal.square[(k, k)] += weight;
            normal.right[k] -= weight * term;
            normal.cost += weight * term * term;
        }
        for (stand, shot) in stands.iter().zip(shots) {
            let own = normal.add(lens, focal, stand, shot, sigma)?;
            normal.own.push(own);
        }
        (normal.cost.is_finite() && focal > 0.0).then_some(normal)
    }

    fn add(&mut self, lens: &Lens, focal: f64, stand: &Stand, shot: &Shot, sigma: f64) -> Option<Own> {
        let mut own = Own {
            square: Dense::zero(OWN, OWN),
            cross: Dense::zero(OWN, SHARED),
            right: Dense::zero(OWN, 1),
        };
        for (p, on) in shot.seen.iter().zip(&shot.on) {
            for (left, shared, mine) in rows(lens, focal, stand, *p, *on, sigma)? {
                for i in 0..SHARED {
                    for j in 0..SHARED {
                        self.square[(i, j)] += shared[i] * shared[j];
                    }
                    self.right[i] -= shared[i] * left;
                }
                for i in 0..OWN {
                    for j in 0..OWN {
                        own.square[(i, j)] += mine[i] * mine[j];
                    }
                    for (j, by) in shared.iter().enumerate() {
                        own.cross[(i, j)] += mine[i] * by;
                    }
                    own.right[(i, 0)] -= mine[i] * left;
                }
                self.cost += left * left;
                self.raw += left * left;
            }
            self.places += 1.0;
        }
        Some(own)
    }

    /// What is left for the shared unknowns once each picture's own follow them; its diagonals raised by `damping`.
    fn reduced(&self, damping: f64) -> Option<(Dense, Dense)> {
        let mut square = Dense::by(SHARED, SHARED, |i, j| self.square[(i, j)] * raised(i, j, damping));
        let mut right = Dense::by(SHARED, 1, |i, _| self.right[i]);
        for own in &self.own {
            let stiff = Dense::by(OWN, OWN, |i, j| own.square[(i, j)] * raised(i, j, damping));
            let both =
                Dense::by(
                    OWN,
                    SHARED + 1,
                    |i, j| {
                        if j < SHARED { own.cross[(i, j)] } else { own.right[(i, 0)] }
                    },
                );
            let follow = own.cross.turned().times(&stiff.solve(&both)?);
            for i in 0..SHARED {
                for j in 0..SHARED {
                    square[(i, j)] -= follow[(i, j)];
                }
                right[(i, 0)] -= follow[(i, SHARED)];
            }
        }
        Some((square, right))
    }

    fn step(&self, damping: f64) -> Option<([f64; SHARED], Vec<[f64; OWN]>)> {
        let (square, right) = self.reduced(damping)?;
        let shared = square.solve(&right)?;
        let one = |own: &Own| {
            let stiff = Dense::by(OWN, OWN, |i, j| own.square[(i, j)] * raised(i, j, damping));
            let follow = own.cross.times(&shared);
            let right = Dense::by(OWN, 1, |i, _| own.right[(i, 0)] - follow[(i, 0)]);
            let step = stiff.solve(&right)?;
            Some([0, 1, 2, 3, 4, 5].map(|i| step[(i, 0)]))
        };
        let own = self.own.iter().map(one).collect::<Option<Vec<_>>>()?;
        Some(([0, 1, 2, 3, 4].map(|i| shared[(i, 0)]), own))
    }
}

fn raised(i: usize, j: usize, damping: f64) -> f64 {
    if i == j { 1.0 + damping } else { 1.0 }
}

type Line = (f64, [f64; SHARED], [f64; OWN]);

/// Both equations of a place: where it would be seen without bend less where the target says, over its uncertainty there.
fn rows(
    lens: &Lens,
    focal: f64,
    stand: &Stand,
    p: Point<Picture>,
    on: Point<Real>,
    sigma: f64,
) -> Option<[Line; 2]> {
    let seen = lens.slopes(p)?;
    let (turned, [x, y, z]) = stand.before(on);
    if z <= 0.0 {
        return None;
    }
    let (u, v) = (x / z, y / z);
    let centre = lens.centre();
    // A px here is as much larger than one on the picture as the bend stretches it.
    let [[a, b], [c, d]] = seen.d_at;
    let scale = 1.0 / (sigma * libm::sqrt((a * d - b * c).abs()));
    let far = libm::sqrt(dot(stand.at, stand.at));
    let half = lens.half;
    let line = |axis: usize| {
        let (value, slope) =
            if axis == 0 { (u, [1.0 / z, 0.0, -u / z]) } else { (v, [0.0, 1.0 / z, -v / z]) };
        let (at, middle) = if axis == 0 { (seen.at.x, centre.x) } else { (seen.at.y, centre.y) };
        let left = at - middle - focal * half * value;
        let mut shared = [0.0; SHARED];
        for (k, cell) in shared.iter_mut().take(TERMS).enumerate() {
            let moved = if k == 2 + axis { half } else { 0.0 };
            *cell = scale * (seen.d_terms[k][axis] - moved);
        }
        shared[TERMS] = -scale * half * value;
        let by = slope.map(|s| -scale * focal * half * s);
        // Turned by ω, a place goes by ω × it: d/dω = it × slope.
        let turn = cross(turned, by);
        (scale * left, shared, [turn[0], turn[1], turn[2], far * by[0], far * by[1], far * by[2]])
    };
    Some([line(0), line(1)])
}

/// The camera with its covariance, widened where more is left than the places' own errors.
fn told(mut lens: Lens, focal: f64, normal: &Normal, sigma: f64) -> Option<Found> {
    let (square, _) = normal.reduced(0.0)?;
    let cov = square.solve(&Dense::by(SHARED, SHARED, |i, j| if i == j { 1.0 } else { 0.0 }))?;
    let freedom = 2.0 * normal.places - (SHARED + OWN * normal.own.len()) as f64;
    let wider = libm::sqrt((normal.raw / freedom.max(1.0)).max(1.0));
    let split = split(&cov);
    lens.effects = [0, 1, 2, 3].map(|i| [0, 1, 2, 3].map(|k| wider * split[(i, k)]));
    let half = lens.half;
    let focal = focal * half * spoil(Area::Camera, 1.02);
    let focal_effects = [0, 1, 2, 3, 4].map(|k| half * wider * split[(TERMS, k)]);
    let left = sigma * libm::sqrt(normal.raw / normal.places.max(1.0));
    let found = Found { lens, focal, focal_effects, left };
    // Pictures from one side, or all square-on, fit any focal length.
    (found.focal_u() < LOOSE * focal).then_some(found)
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn unit(a: [f64; 3]) -> Option<[f64; 3]> {
    let size = libm::sqrt(dot(a, a));
    (size > 0.0 && size.is_finite()).then(|| a.map(|x| x / size))
}
