//! The bend of a lens from edges that are straight in life and are seen bowed.
//!
//! Every edge has a line of its own; what the edges together have in common is the lens. All unknowns are found in one
//! weighted least squares, stragglers weighing less; each edge's own are eliminated as it goes. No edge is straighter than
//! things are made: what a bow of its own in each would do to the lens goes into the lens's error.
//!
//! # References
//! Straight lines as the only knowledge: Devernay & Faugeras, Machine Vision and Applications 13 (2001) 14. Elimination:
//! Golub & Pereyra, SIAM Journal on Numerical Analysis 10 (1973) 413, in Kaufman's short form [memory]. Weights: Huber,
//! Annals of Mathematical Statistics 35 (1964) 73. Widening: Birge, Physical Review 40 (1932) 207.

use super::lens::{ABSURD, Lens, TERMS};
use crate::estimate::dense::Dense;
use crate::estimate::split;
use crate::fault::{Area, spoil};
use crate::plane::{Line, Picture, Point};
use crate::words::Say;

/// Places along an edge that is straight in life.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// In order, px.
    pub points: Vec<Point<Picture>>,
    /// Standard uncertainty of each across the edge, px.
    pub sigma: f64,
}

/// What the edges of a picture say of its lens.
#[derive(Clone, Debug, PartialEq)]
pub enum Bend {
    /// They are seen bowed, and this takes it out.
    Found(Lens),
    /// They are seen straight, as far as they tell: a lens without bend, with the error of that.
    Straight(Lens),
    /// They are too short, too few or too rough to tell.
    Unclear,
}

impl Bend {
    /// The lens to look through, if there is one.
    pub fn lens(&self) -> Option<&Lens> {
        match self {
            Bend::Found(lens) | Bend::Straight(lens) => Some(lens),
            Bend::Unclear => None,
        }
    }
}

/// What is known of lenses at large, one standard deviation each (common practice, no source): λ, at most a fisheye's; μ, by
/// what one-term lenses miss two-term ones; the centre by a hundredth of the picture's width (see `fit`).
const USUAL: [f64; 2] = [0.3, 0.04];
const CENTRE: f64 = 0.01;
/// How straight things are: from end to middle, against their length, one standard deviation. 0.3 mm in a metre: common
/// practice, no source.
const STRAIGHT: f64 = 3e-4;
/// A bend is taken out where it is so many times its standard uncertainty. At less, taking it out makes matters worse about
/// as often as the uncertainty is large.
const CLEAR: f64 = 3.0;
/// A bend known no better than this (as a share, one standard deviation) can't be told from none.
const LOOSE: f64 = 0.006;
/// Where that counts, in halves of the diagonal, if no edge lies farther out: half of the picture is within.
const OUT: f64 = 0.7;
/// Places on all edges together, and on one at least.
const MOST: usize = 20_000;
const LEAST: usize = 5;
/// Huber's constant, for 95 % efficiency.
const HUBER: f64 = 1.345;

/// What `edges` say of the lens that took a picture of `size` px.
///
/// # Errors
/// `lens.not-a-place`, `lens.too-few-places`, `lens.too-many-places`; `lens.not-straight` where no lens makes them straight.
pub fn bend_of(picture: u32, size: [f64; 2], edges: &[Edge]) -> Result<Bend, Say> {
    check(edges)?;
    let mut lens = Lens::none(picture, size);
    let prior = [USUAL[0], USUAL[1], CENTRE * size[0] / lens.half, CENTRE * size[0] / lens.half];
    let mut normal = Normal::about(&lens, edges, &prior)?;
    let mut settled = false;
    for _ in 0..30 {
        let step = normal.step()?;
        for (term, s) in lens.terms.iter_mut().zip(&step) {
            *term += s;
        }
        normal = Normal::about(&lens, edges, &prior)?;
        // To a few thousandths of a px at the picture's corners.
        settled = step.iter().all(|s| s.abs() < 1e-6);
        if settled {
            break;
        }
    }
    if !settled || lens.terms[0].abs() + lens.terms[1].abs() > ABSURD {
        return Err(Say::new("lens.not-straight"));
    }
    lens.effects = normal.effects()?;
    lens.terms[0] *= spoil(Area::Lens, 1.17);
    Ok(judged(lens, edges))
}

fn check(edges: &[Edge]) -> Result<(), Say> {
    let sound = |e: &Edge| {
        let near = e.points.iter().all(|p| p.is_finite() && p.x.abs() < 1e6 && p.y.abs() < 1e6);
        near && e.sigma.is_finite() && e.sigma > 0.0
    };
    if !edges.iter().all(sound) {
        return Err(Say::new("lens.not-a-place"));
    }
    if edges.is_empty() || edges.iter().any(|e| e.points.len() < LEAST) {
        return Err(Say::new("lens.too-few-places").count("least", LEAST));
    }
    if edges.iter().map(|e| e.points.len()).sum::<usize>() > MOST {
        return Err(Say::new("lens.too-many-places").count("most", MOST));
    }
    Ok(())
}

/// What is to be done with a lens as it was fitted. What it does is judged where the edges lie farthest out.
fn judged(mut lens: Lens, edges: &[Edge]) -> Bend {
    let centre = lens.centre();
    let far =
        edges.iter().flat_map(|e| &e.points).map(|p| p.distance(centre)).fold(0.0, f64::max) / lens.half;
    let [bend, u] = lens.pull(far);
    if bend.abs() > CLEAR * u {
        return Bend::Found(lens);
    }
    if u.max(lens.pull(OUT)[1]) > LOOSE {
        return Bend::Unclear;
    }
    lens.terms = [0.0; TERMS];
    Bend::Straight(lens)
}

/// The normal equations of the lens's terms, the edges' own unknowns eliminated.
struct Normal {
    square: Dense,
    right: Dense,
    /// The weighted sum of squares that is left, and what it would be by chance.
    left: f64,
    freedom: f64,
    /// For each edge, what a bow of its own pulls the terms by.
    bows: Vec<[f64; TERMS]>,
}

impl Normal {
    fn about(lens: &Lens, edges: &[Edge], prior: &[f64; TERMS]) -> Result<Normal, Say> {
        let mut normal = Normal {
            square: Dense::by(TERMS, TERMS, |i, j| if i == j { 1.0 / (prior[i] * prior[i]) } else { 0.0 }),
            right: Dense::by(TERMS, 1, |i, _| -lens.terms[i] / (prior[i] * prior[i])),
            left: 0.0,
            freedom: -1.0,
            bows: Vec::with_capacity(edges.len()),
        };
        for edge in edges {
            normal.add(lens, edge).ok_or_else(|| Say::new("lens.not-straight"))?;
        }
        Ok(normal)
    }

    /// One edge: each place's distance from its line once straightened, less the edge's own offset and turn.
    fn add(&mut self, lens: &Lens, edge: &Edge) -> Option<()> {
        let seen = edge.points.iter().map(|p| lens.slopes(*p)).collect::<Option<Vec<_>>>()?;
        let line = Line::through(seen.first()?.at, seen.last()?.at)?;
        let (nx, ny) = (-line.along.y, line.along.x);
        let half = 0.5 * line.run(seen.last()?.at);
        // Own columns: offset and turn; then the terms; then the distance itself, and what a bow would add to it.
        let rows: Vec<[f64; COLUMNS]> = seen
            .iter()
            .map(|s| {
                let t = line.run(s.at) / half - 1.0;
                let across = [0, 1].map(|axis| nx * s.d_at[0][axis] + ny * s.d_at[1][axis]);
                let scale = 1.0 / (edge.sigma * libm::hypot(across[0], across[1]));
                let term = |k: usize| scale * (nx * s.d_terms[k][0] + ny * s.d_terms[k][1]);
                let bow = scale * (1.0 - t * t) * 2.0 * half * STRAIGHT;
                [scale, scale * t, term(0), term(1), term(2), term(3), scale * line.distance(s.at), bow]
            })
            .collect();
        let mut weights = vec![1.0; rows.len()];
        let mut answer = reduced(&rows, &weights)?;
        for _ in 0..3 {
            weigh(&rows, &answer, &mut weights);
            answer = reduced(&rows, &weights)?;
        }
        for i in 0..TERMS {
            for j in 0..TERMS {
                self.square[(i, j)] += answer.left[(i, j)];
            }
            self.right[(i, 0)] -= answer.left[(i, TERMS)];
        }
        self.left += answer.left[(TERMS, TERMS)];
        self.bows.push([0, 1, 2, 3].map(|i| answer.left[(i, TERMS + 1)]));
        self.freedom += weights.iter().sum::<f64>() - 2.0;
        Some(())
    }

    fn step(&self) -> Result<[f64; TERMS], Say> {
        let step = self.square.solve(&self.right).ok_or_else(|| Say::new("lens.not-straight"))?;
        Ok([0, 1, 2, 3].map(|i| step[(i, 0)]))
    }

    /// The terms' covariance, split into independent errors; as much wider as the places lie off their lines by more than
    /// they should.
    fn effects(&self) -> Result<[[f64; TERMS]; TERMS], Say> {
        let cannot = || Say::new("lens.not-straight");
        let own = Dense::by(TERMS, TERMS, |i, j| if i == j { 1.0 } else { 0.0 });
        let cov = self.square.solve(&own).ok_or_else(cannot)?;
        let bows = Dense::by(TERMS, self.bows.len(), |i, j| self.bows[j][i]);
        let moved = cov.times(&bows);
        let bowed = moved.times(&moved.turned());
        let wider = (self.left / self.freedom.max(1.0)).max(1.0);
        let split = split(&Dense::by(TERMS, TERMS, |i, j| wider * cov[(i, j)] + bowed[(i, j)]));
        Ok([0, 1, 2, 3].map(|i| [0, 1, 2, 3].map(|k| split[(i, k)])))
    }
}

/// Unknowns of an edge's own.
const OWN: usize = 2;
/// Those, the terms, the distance, and a bow.
const COLUMNS: usize = OWN + TERMS + 2;

/// An edge's part in the normal equations.
struct Reduced {
    /// Its own unknowns by the terms and the distance: what to take off a row.
    own: Dense,
    /// What is left between the terms, the distance and a bow.
    left: Dense,
}

fn reduced(rows: &[[f64; COLUMNS]], weights: &[f64]) -> Option<Reduced> {
    let n = COLUMNS;
    let mut all = Dense::zero(n, n);
    for (row, w) in rows.iter().zip(weights) {
        for i in 0..n {
            for j in 0..n {
                all[(i, j)] += w * row[i] * row[j];
            }
        }
    }
    let own = Dense::by(OWN, OWN, |i, j| all[(i, j)]);
    let rest = n - OWN;
    let cross = Dense::by(OWN, rest, |i, j| all[(i, OWN + j)]);
    let solved = own.solve(&cross)?;
    let taken = cross.turned().times(&solved);
    let left = Dense::by(rest, rest, |i, j| all[(OWN + i, OWN + j)] - taken[(i, j)]);
    Some(Reduced { own: solved, left })
}

/// Less weight for the places that lie off their line by more than most.
fn weigh(rows: &[[f64; COLUMNS]], answer: &Reduced, weights: &mut [f64]) {
    let off: Vec<f64> = rows
        .iter()
        .map(|row| (row[OWN + TERMS] - (0..OWN).map(|i| row[i] * answer.own[(i, TERMS)]).sum::<f64>()).abs())
        .collect();
    let mut sizes = off.clone();
    crate::order::sort_by(&mut sizes, f64::total_cmp);
    // A normal's median is 0.6745 of its standard deviation.
    let usual = (sizes.get(sizes.len() / 2).copied().unwrap_or(0.0) / 0.6745).max(1.0);
    for (w, off) in weights.iter_mut().zip(off) {
        *w = if off > HUBER * usual { HUBER * usual / off } else { 1.0 };
    }
}
