//! All pieces of a smooth stretch together, as near to its samples as they can be: knots, directions and handles are
//! moved until the sum of squared distances is least.
//!
//! # References
//! Gauss–Newton on distances square to the curve with Marquardt's damping: Nocedal & Wright, Numerical Optimization,
//! 2nd ed., 10.3.

use super::band::Band;
use super::bezier::Cubic;
use super::piece::Sample;
use super::{Point, Space, Vector};

/// One knot of a stretch: its place, direction (an angle), and the handles to either side.
#[derive(Copy, Clone, Debug)]
pub(super) struct Knot<S: Space> {
    pub at: Point<S>,
    pub angle: f64,
    pub before: f64,
    pub after: f64,
    /// The direction may be turned; at an end that joins a straight, or is the seam of a ring, it may not.
    pub free_angle: bool,
    /// The place may be moved.
    pub free_place: bool,
}

/// Unknowns to a knot: x, y, angle, handle before, handle after.
const EACH: usize = 5;

/// A stretch of pieces from knot to knot.
#[derive(Clone, Debug)]
pub(super) struct Chain<S: Space> {
    pub knots: Vec<Knot<S>>,
}

/// A sample's foot: on which piece, and where.
#[derive(Copy, Clone, Debug)]
struct Foot {
    piece: usize,
    t: f64,
}

fn step<S: Space>(angle: f64) -> Vector<S> {
    Vector::new(libm::cos(angle), libm::sin(angle))
}

impl<S: Space> Chain<S> {
    /// The chain of these pieces; `free` says whether the first and the last knot may be turned.
    pub fn of(pieces: &[Cubic<S>], free: [bool; 2]) -> Option<Chain<S>> {
        let angle = |v: Vector<S>| libm::atan2(v.y, v.x);
        let (first, last) = (pieces.first()?, pieces.last()?);
        let knot =
            |at, angle, before, after| Knot { at, angle, before, after, free_angle: true, free_place: true };
        let mut knots =
            vec![knot(first.0[0], angle(first.0[1] - first.0[0]), 0.0, first.0[0].distance(first.0[1]))];
        for pair in pieces.windows(2) {
            let ([_, _, c, p], [_, d, _, _]) = (pair[0].0, pair[1].0);
            knots.push(knot(p, angle(d - c), c.distance(p), p.distance(d)));
        }
        let [_, _, c, p] = last.0;
        knots.push(knot(p, angle(p - c), c.distance(p), 0.0));
        let end = knots.len() - 1;
        for (k, free) in [(0, free[0]), (end, free[1])] {
            knots[k].free_place = false;
            knots[k].free_angle = free;
        }
        Some(Chain { knots })
    }

    pub fn pieces(&self) -> usize {
        self.knots.len().saturating_sub(1)
    }

    pub fn cubic(&self, i: usize) -> Cubic<S> {
        let (a, b) = (&self.knots[i], &self.knots[i + 1]);
        Cubic([a.at, a.at + step(a.angle) * a.after, b.at + step(b.angle) * -b.before, b.at])
    }

    pub fn cubics(&self) -> Vec<Cubic<S>> {
        (0..self.pieces()).map(|i| self.cubic(i)).collect()
    }

    /// Moves the chain's unknowns towards the samples, in at most `turns` turns, and gives the farthest distance left.
    ///
    /// With `even` the far ones weigh more, so that the farthest comes nearer at the cost of the rest.
    pub fn refine(&mut self, samples: &[Sample<S>], turns: usize, even: Option<f64>) -> f64 {
        let mut feet = self.first_feet(samples);
        let (mut damping, mut cubics) = (1e-3, self.cubics());
        let (mut cost, mut most) = settle(&cubics, samples, &mut feet, even);
        for _ in 0..turns {
            let Some(trial) = self.moved(&cubics, samples, &feet, damping, even) else {
                damping *= 10.0;
                continue;
            };
            let mut new_feet = feet.clone();
            let new_cubics = trial.cubics();
            let (new, far) = settle(&new_cubics, samples, &mut new_feet, even);
            if new < cost {
                let done = new > 0.999 * cost;
                (*self, cubics, feet, cost, most) = (trial, new_cubics, new_feet, new, far);
                damping = (damping * 0.2).max(1e-9);
                if done {
                    break;
                }
            } else {
                damping *= 10.0;
                if !(damping < 1e3) {
                    break;
                }
            }
        }
        for _ in 0..2 {
            most = settle(&cubics, samples, &mut feet, even).1;
        }
        most
    }

    /// Where each sample stands to begin with: on the piece between whose knots its run falls.
    fn first_feet(&self, samples: &[Sample<S>]) -> Vec<Foot> {
        let cubics = self.cubics();
        let lengths: Vec<f64> = cubics.iter().map(|c| rough_length(c)).collect();
        let whole: f64 = lengths.iter().sum();
        let (Some(first), Some(last)) = (samples.first(), samples.last()) else { return Vec::new() };
        let scale = whole / (last.run - first.run).max(1e-300);
        let (mut piece, mut begun) = (0, 0.0);
        let mut feet = Vec::with_capacity(samples.len());
        for s in samples {
            let run = (s.run - first.run) * scale;
            while piece + 1 < cubics.len() && run > begun + lengths[piece] {
                begun += lengths[piece];
                piece += 1;
            }
            let t = ((run - begun) / lengths[piece].max(1e-300)).clamp(0.0, 1.0);
            feet.push(Foot { piece, t });
        }
        let mut last = f64::INFINITY;
        for _ in 0..12 {
            let (_, most) = settle(&cubics, samples, &mut feet, None);
            if most > 0.99 * last {
                break;
            }
            last = most;
        }
        feet
    }

    /// The chain after one damped step; `None` when the step can't be found or turns a handle about.
    fn moved(
        &self,
        cubics: &[Cubic<S>],
        samples: &[Sample<S>],
        feet: &[Foot],
        damping: f64,
        even: Option<f64>,
    ) -> Option<Chain<S>> {
        let n = self.knots.len() * EACH;
        let (mut band, mut b) = (Band::zero(n, 2 * EACH - 1), vec![0.0; n]);
        let along: Vec<Vector<S>> = self.knots.iter().map(|k| step(k.angle)).collect();
        for (s, foot) in samples.iter().zip(feet) {
            let cubic = &cubics[foot.piece];
            let v = cubic.velocity(foot.t);
            let speed = v.length();
            if !(speed > 0.0) {
                continue;
            }
            let normal = Vector::new(-v.y / speed, v.x / speed);
            let off = normal.dot(cubic.at(foot.t) - s.at);
            let row = self.row(foot, normal, [along[foot.piece], along[foot.piece + 1]]);
            band.add_row(&row, -off, weight(off, even), &mut b);
        }
        band.lift(damping, 1e-12 * samples.len() as f64);
        for k in 0..self.knots.len() {
            self.hold(k, &mut band, &mut b, samples.len() as f64);
        }
        band.solve(&mut b)?;
        let mut moved = self.clone();
        for (knot, d) in moved.knots.iter_mut().zip(b.chunks(EACH)) {
            knot.at = knot.at + Vector::new(d[0], d[1]);
            knot.angle += d[2];
            knot.before += d[3];
            knot.after += d[4];
        }
        let last = moved.knots.len() - 1;
        let forward =
            |(k, knot): (usize, &Knot<S>)| (k == 0 || knot.before > 0.0) && (k == last || knot.after > 0.0);
        let sane = |i: usize| {
            let [a, _, _, d] = cubics[i].0;
            let most = 3.0 * a.distance(d).max(rough_length(&cubics[i]) / 2.0);
            moved.knots[i].after < most && moved.knots[i + 1].before < most
        };
        let ahead = self.runs_ahead(&moved, samples);
        (ahead && moved.knots.iter().enumerate().all(forward) && (0..cubics.len()).all(sane)).then_some(moved)
    }

    /// Whether neither end has been turned against the border's own first or last step: its handle would then reach past the
    /// corner, and the curve make a loop there.
    fn runs_ahead(&self, moved: &Chain<S>, samples: &[Sample<S>]) -> bool {
        let ([a, b, ..], [.., c, d]) = (samples, samples) else { return true };
        let end = self.knots.len() - 1;
        [(0, b.at - a.at), (end, d.at - c.at)].into_iter().all(|(k, way)| {
            let along = |chain: &Chain<S>| step(chain.knots[k].angle).dot(way);
            along(moved) > 0.0 || along(self) <= 0.0
        })
    }

    /// How a sample's distance grows with each unknown of the two knots beside it.
    fn row(&self, foot: &Foot, normal: Vector<S>, [d0, d1]: [Vector<S>; 2]) -> [(usize, f64); 8] {
        let (i, t) = (foot.piece, foot.t);
        let u = 1.0 - t;
        let [k0, k1, k2, k3] = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
        let (first, last) = (&self.knots[i], &self.knots[i + 1]);
        let at = i * EACH;
        let turn = |d: Vector<S>| normal.x * -d.y + normal.y * d.x;
        [
            (at, normal.x * (k0 + k1)),
            (at + 1, normal.y * (k0 + k1)),
            (at + 2, turn(d0) * k1 * first.after),
            (at + 4, normal.dot(d0) * k1),
            (at + EACH, normal.x * (k2 + k3)),
            (at + EACH + 1, normal.y * (k2 + k3)),
            (at + EACH + 2, -turn(d1) * k2 * last.before),
            (at + EACH + 3, -normal.dot(d1) * k2),
        ]
    }

    /// Holds what may not move by a great weight, and gives the handles that don't exist something to rest on.
    fn hold(&self, k: usize, band: &mut Band, b: &mut [f64], many: f64) {
        let knot = &self.knots[k];
        let held = [!knot.free_place, !knot.free_place, !knot.free_angle, k == 0, k + 1 == self.knots.len()];
        for (i, held) in held.into_iter().enumerate() {
            if held {
                band.add(k * EACH + i, k * EACH + i, 1e12 * many);
                b[k * EACH + i] = 0.0;
            }
        }
    }
}

/// How much a distance counts.
fn weight(off: f64, even: Option<f64>) -> f64 {
    even.map_or(1.0, |tolerance| {
        let r = off / tolerance;
        0.05 + r * r * r * r
    })
}

/// Between the chord and the three sides.
fn rough_length<S: Space>(c: &Cubic<S>) -> f64 {
    let [a, b, d, e] = c.0;
    (a.distance(b) + b.distance(d) + d.distance(e) + a.distance(e)) / 2.0
}

/// Moves each foot nearer to its sample's, over to the next piece where it runs out of its own; gives the sum of
/// squared distances, weighed, and the farthest.
fn settle<S: Space>(
    cubics: &[Cubic<S>],
    samples: &[Sample<S>],
    feet: &mut [Foot],
    even: Option<f64>,
) -> (f64, f64) {
    let (mut cost, mut most) = (0.0, 0.0_f64);
    for (s, foot) in samples.iter().zip(feet) {
        foot.t = cubics[foot.piece].towards(s.at, foot.t);
        if foot.t >= 1.0 && foot.piece + 1 < cubics.len() {
            let t = cubics[foot.piece + 1].towards(s.at, 0.0);
            if t > 0.0 {
                *foot = Foot { piece: foot.piece + 1, t };
            }
        } else if foot.t <= 0.0 && foot.piece > 0 {
            let t = cubics[foot.piece - 1].towards(s.at, 1.0);
            if t < 1.0 {
                *foot = Foot { piece: foot.piece - 1, t };
            }
        }
        let d = cubics[foot.piece].at(foot.t) - s.at;
        let square = d.dot(d);
        most = most.max(square);
        cost += match even {
            Some(tolerance) => {
                square * (0.05 + square * square / (3.0 * tolerance * tolerance * tolerance * tolerance))
            }
            None => square,
        };
    }
    (cost, libm::sqrt(most))
}
