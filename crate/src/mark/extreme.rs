//! What the greatest of many noisy lengths says about the greatest true one.
//!
//! The greatest of several lengths, each with its own noise, is too long on average: of n that are alike by
//! about σ√(2 ln n). How much depends on how many of them vie for it, which is itself seen through the noise.
//! So noise is added once more to what was seen: by how much that lengthens the greatest is the *surplus*.
//! Noise on noise adds less than noise on truth (for n alike ones √2 − 1 of it), so one and a half times the
//! surplus is taken off, and once the surplus stays as a standard uncertainty.
//!
//! # References
//! Simulation and extrapolation: Cook & Stefanski, Journal of the American Statistical Association 89 (1994)
//! 1314 [memory]. The factors 1½ and 1 are ours, chosen so that the plus-or-minus covers the truth 93 to 97
//! times in 100 or a little more in the scenes of `trials.rs`.

use super::ground::{Found, Ground};
use super::straight::unit;
use crate::plane::{Point, Real, Vector};

/// How much of the surplus is taken off.
const TAKEN: f64 = 1.5;
/// How much of it stays as a standard uncertainty.
const KEPT: f64 = 1.0;
/// Outlines with more points than this are thinned to the ones near the border before pairs are compared.
const MOST_PAIRED: usize = 192;
/// No more rivals than this are put through the noise.
const MOST_RIVALS: usize = 400;
/// Half of the times noise is added: each goes together with its opposite, so that one rival alone has no
/// surplus.
const DRAWS: usize = 16;

/// One that may be the greatest: its value as seen, and what each click (point, axis) does to it.
#[derive(Clone, Debug)]
pub(crate) struct Rival {
    pub value: f64,
    /// (2·point + axis, effect at one standard uncertainty).
    pub moves: [(usize, f64); 4],
}

impl Rival {
    /// The noise of its value, as a variance.
    fn variance(&self) -> f64 {
        self.moves.iter().map(|m| m.1 * m.1).sum()
    }
}

/// The two points farthest apart, and what is known of their distance.
pub(crate) struct Greatest {
    pub i: usize,
    pub j: usize,
    /// The distance as seen, in mm.
    pub seen: f64,
    /// What to take off it.
    pub off: f64,
    /// What stays as a standard uncertainty.
    pub beyond: f64,
    /// Other pairs that may as well be the farthest apart.
    pub tied: Vec<(usize, usize)>,
}

/// What to take off the greatest of `rivals`, and what stays as a standard uncertainty.
pub(crate) fn surplus(mut rivals: Vec<Rival>) -> (f64, f64) {
    let best = rivals.iter().map(|r| r.value).fold(f64::NEG_INFINITY, f64::max);
    let noise = libm::sqrt(rivals.iter().map(Rival::variance).fold(0.0, f64::max));
    rivals.retain(|r| best - r.value <= 5.0 * noise);
    if rivals.len() < 2 || noise <= 0.0 {
        return (0.0, 0.0);
    }
    if rivals.len() > MOST_RIVALS {
        crate::order::sort_by(&mut rivals, |a, b| b.value.total_cmp(&a.value));
        rivals.truncate(MOST_RIVALS);
    }
    let columns = pack(&mut rivals);
    let mut z = vec![0.0; columns];
    let mut dice = Dice(0x5eed_0001);
    let mut sum = 0.0;
    for _ in 0..DRAWS {
        z.iter_mut().for_each(|z| *z = dice.normal());
        let (mut ahead, mut behind) = (f64::NEG_INFINITY, f64::NEG_INFINITY);
        for r in &rivals {
            let shift: f64 = r.moves.iter().map(|&(c, k)| k * z.get(c).copied().unwrap_or(0.0)).sum();
            ahead = ahead.max(r.value + shift);
            behind = behind.max(r.value - shift);
        }
        sum += ahead + behind - 2.0 * best;
    }
    let extra = (sum / (2 * DRAWS) as f64).max(0.0);
    (TAKEN * extra, KEPT * extra)
}

/// Numbers the clicks that take part from 0; returns how many there are.
fn pack(rivals: &mut [Rival]) -> usize {
    let mut used: Vec<usize> = rivals.iter().flat_map(|r| r.moves.iter().map(|m| m.0)).collect();
    crate::order::sort_by_key(&mut used, |u| *u);
    used.dedup();
    for m in rivals.iter_mut().flat_map(|r| r.moves.iter_mut()) {
        m.0 = used.binary_search(&m.0).unwrap_or(0);
    }
    used.len()
}

/// A fixed sequence of nearly normal numbers: the same every time, so that the same marks give the same sizes.
pub(crate) struct Dice(pub u64);

impl Dice {
    /// Evenly between 0 and 1.
    pub fn even(&mut self) -> f64 {
        // Knuth's MMIX constants [memory]; the high bits are the good ones.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// The sum of four even numbers, with mean 0 and variance 1.
    pub fn normal(&mut self) -> f64 {
        let sum = self.even() + self.even() + self.even() + self.even();
        (sum - 2.0) * libm::sqrt(3.0)
    }
}

/// The two points of the ground that are farthest apart; none where all points coincide.
pub(crate) fn greatest(ground: &Ground) -> Option<Greatest> {
    let most = crate::plane::greatest(&ground.real)?;
    let ([i, j], seen) = (most.ends, most.length);
    unit(*ground.real.get(j)? - *ground.real.get(i)?)?;
    let all = near_border(&ground.real, noise(ground));
    let pairs = vying(ground, &thinned(all, i, j), seen);
    let tied = pairs.iter().filter(|p| (p.0, p.1) != (i, j) && p.3).map(|p| (p.0, p.1)).collect();
    let (off, beyond) = surplus(pairs.into_iter().map(|p| p.2).collect());
    Some(Greatest { i, j, seen, off, beyond, tied })
}

/// The pairs that may be the greatest, and whether each is within twice its noise of it.
fn vying(ground: &Ground, all: &[usize], seen: f64) -> Vec<(usize, usize, Rival, bool)> {
    let noise = libm::sqrt(2.0) * noise(ground);
    let least = (seen - 5.0 * noise).max(0.0);
    let mut pairs = Vec::new();
    for (k, &i) in all.iter().enumerate() {
        for &j in all.iter().skip(k + 1) {
            let v = ground.real[j] - ground.real[i];
            if v.dot(v) < least * least {
                continue;
            }
            let Some(e) = unit(v) else { continue };
            let d = v.length();
            let on = |p: usize, axis, sign: f64| (2 * p + axis, sign * e.dot(ground.sway(p, axis)));
            let moves = [on(i, 0, -1.0), on(i, 1, -1.0), on(j, 0, 1.0), on(j, 1, 1.0)];
            let rival = Rival { value: d, moves };
            let u = libm::sqrt(rival.variance());
            pairs.push((i, j, rival, seen - d < 2.0 * u));
        }
    }
    pairs
}

/// The greatest standard uncertainty of any click in any direction, in mm.
fn noise(ground: &Ground) -> f64 {
    let most = (0..ground.real.len()).map(|i| ground.spot(i)).map(|s| s.0[0] + s.0[2]).fold(0.0, f64::max);
    libm::sqrt(most)
}

/// The points that may be an end of the greatest length: those near the border, seen from 64 sides. An end of
/// it is the outermost point in its direction (all other points lie within a circle about the other end).
fn near_border(points: &[Point<Real>], noise: f64) -> Vec<usize> {
    if points.len() <= MOST_PAIRED {
        return (0..points.len()).collect();
    }
    const SIDES: usize = 64;
    let mut near = vec![false; points.len()];
    let origin = points[0];
    let size = points.iter().map(|p| p.distance(origin)).fold(0.0, f64::max);
    let half_turn = std::f64::consts::PI / SIDES as f64;
    // Between two of the directions the border may lie this much further out.
    let slack = 3.0 * noise + 2.0 * size * (1.0 - libm::cos(half_turn));
    for side in 0..SIDES {
        let turn = 2.0 * half_turn * side as f64;
        let n = Vector::<Real>::new(libm::cos(turn), libm::sin(turn));
        let out: Vec<f64> = points.iter().map(|p| n.dot(*p - origin)).collect();
        let most = out.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        for (near, out) in near.iter_mut().zip(&out) {
            *near |= most - out <= slack;
        }
    }
    (0..points.len()).filter(|&i| near[i]).collect()
}

/// At most [`MOST_PAIRED`] of them, evenly chosen, with `i` and `j` among them.
fn thinned(all: Vec<usize>, i: usize, j: usize) -> Vec<usize> {
    if all.len() <= MOST_PAIRED {
        return all;
    }
    let every = all.len().div_ceil(MOST_PAIRED);
    all.into_iter().enumerate().filter(|&(k, p)| k % every == 0 || p == i || p == j).map(|(_, p)| p).collect()
}

/// The extent of the ground's points square to the line from point `i` to point `j`: as seen, with its slope.
pub(crate) fn extent(ground: &Ground, i: usize, j: usize) -> Option<(Found, Vector<Real>)> {
    let (a, b) = (*ground.real.get(i)?, *ground.real.get(j)?);
    let e = unit(b - a)?;
    let n = Vector::<Real>::new(-e.y, e.x);
    let (mut low, mut high) = ((0.0, i), (0.0, i));
    for (k, p) in ground.real.iter().enumerate() {
        let t = n.dot(*p - a);
        if t < low.0 {
            low = (t, k);
        }
        if t > high.0 {
            high = (t, k);
        }
    }
    // Turning the line by dα moves n by −e dα: the extent changes by how far the two points lie apart along e.
    let s = e.dot(ground.real[high.1] - ground.real[low.1]) / a.distance(b);
    let mut slope: Vec<(usize, [f64; 2])> = Vec::with_capacity(4);
    for (k, w) in [(high.1, 1.0), (low.1, -1.0), (j, -s), (i, s)] {
        match slope.iter_mut().find(|x| x.0 == k) {
            Some(x) => {
                x.1[0] += w * n.x;
                x.1[1] += w * n.y;
            }
            None => slope.push((k, [w * n.x, w * n.y])),
        }
    }
    Some((Found::new(super::Quantity::Width, high.0 - low.0, slope), n))
}

/// What to take off the extent along `n`, and what stays as a standard uncertainty: both sides are the
/// greatest of many.
pub(crate) fn extent_surplus(ground: &Ground, n: Vector<Real>) -> (f64, f64) {
    let Some(&origin) = ground.real.first() else { return (0.0, 0.0) };
    let side = |sign: f64| -> (f64, f64) {
        let rivals = ground.real.iter().enumerate().map(|(k, p)| {
            let on = |axis| (2 * k + axis, sign * n.dot(ground.sway(k, axis)));
            Rival { value: sign * n.dot(*p - origin), moves: [on(0), on(1), (2 * k, 0.0), (2 * k, 0.0)] }
        });
        surplus(rivals.collect())
    };
    let (high, low) = (side(1.0), side(-1.0));
    (high.0 + low.0, libm::hypot(high.1, low.1))
}
