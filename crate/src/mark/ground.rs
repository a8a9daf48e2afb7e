//! The points of one placing, carried to the real plane, and how a size found there becomes an estimate.

use super::extreme::Dice;
use super::{Ends, Kind, Quantity, need};
use crate::estimate::{Estimate, Part, Source};
use crate::plane::{Point, Real, Vector};
use crate::view::{Click, Placed, ViewMap};
use crate::words::Say;

/// No place is put worse than this, px: as wide as a thousand of the largest pictures. Squares of more than that run out of numbers.
const WORST_SIGMA: f64 = 4e7;

/// The points of one placing on the real plane of their view.
pub(crate) struct Ground<'a> {
    pub clicks: &'a [Click],
    pub map: &'a ViewMap,
    /// In mm, in the order of the clicks.
    pub real: Vec<Point<Real>>,
    pub placed: Vec<Placed>,
}

/// A size and its slope: the partial derivatives with respect to some of the real points.
pub(crate) struct Found {
    pub what: Quantity,
    /// In the quantity's unit.
    pub value: f64,
    /// (point, [∂/∂x, ∂/∂y]), each point at most once.
    pub slope: Vec<(usize, [f64; 2])>,
    /// A standard uncertainty of its own, for what first order leaves out (tied greatest lengths, crowded
    /// points).
    pub beyond: f64,
    /// What the clicks do is this many times what the slope says, where the slope itself is noisy; else 1.
    pub by_click: f64,
}

impl Found {
    pub fn new(what: Quantity, value: f64, slope: Vec<(usize, [f64; 2])>) -> Found {
        Found { what, value, slope, beyond: 0.0, by_click: 1.0 }
    }

    /// The same slope and value, times `k`, as another quantity.
    pub fn times(&self, what: Quantity, k: f64) -> Found {
        let slope = self.slope.iter().map(|&(i, g)| (i, [k * g[0], k * g[1]])).collect();
        Found { what, value: k * self.value, slope, beyond: k.abs() * self.beyond, by_click: self.by_click }
    }
}

/// The covariance of one real point that comes from its click alone: [xx, xy, yy] in mm².
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Spot(pub [f64; 3]);

impl Spot {
    /// That of the difference of two points with separate clicks.
    pub fn plus(self, other: Spot) -> Spot {
        Spot([self.0[0] + other.0[0], self.0[1] + other.0[1], self.0[2] + other.0[2]])
    }

    /// The variance along the unit vector `n`, in mm².
    pub fn along(self, n: Vector<Real>) -> f64 {
        n.x * n.x * self.0[0] + 2.0 * n.x * n.y * self.0[1] + n.y * n.y * self.0[2]
    }
}

impl<'a> Ground<'a> {
    /// Carries `clicks` to the real plane, after seeing that they can make this kind of mark.
    ///
    /// # Errors
    /// `mark.too-few`, `mark.too-many`, `mark.not-a-place`, and what the map says of a point it can't place.
    pub fn new(kind: Kind, ends: Ends, clicks: &'a [Click], map: &'a ViewMap) -> Result<Self, Say> {
        let (least, most) = need(kind, ends);
        if clicks.len() < least {
            return Err(Say::new("mark.too-few").count("need", least).count("have", clicks.len()));
        }
        if clicks.len() > most {
            return Err(Say::new("mark.too-many").count("most", most).count("have", clicks.len()));
        }
        let mut placed = Vec::with_capacity(clicks.len());
        for (i, click) in clicks.iter().enumerate() {
            let sound = click.at.is_finite() && (0.0..=WORST_SIGMA).contains(&click.sigma);
            if !sound {
                return Err(Say::new("mark.not-a-place").count("point", i + 1));
            }
            let there = map.place(click.at)?;
            if !there.real.is_finite() {
                return Err(Say::new("mark.not-a-place").count("point", i + 1));
            }
            placed.push(there);
        }
        let real = placed.iter().map(|p| p.real).collect();
        Ok(Ground { clicks, map, real, placed })
    }

    /// The mark these clicks belong to, by the name of their sources.
    pub fn mark(&self) -> u32 {
        match self.clicks.first().map(|c| c.source[0]) {
            Some(Source::Click(mark, _, _) | Source::Spread(mark, _)) => mark,
            _ => 0,
        }
    }

    /// What error `axis` of click `i` moves its real point by, at one standard uncertainty, in mm.
    pub fn sway(&self, i: usize, axis: usize) -> Vector<Real> {
        let (Some(p), Some(c)) = (self.placed.get(i), self.clicks.get(i)) else {
            return Vector::new(0.0, 0.0);
        };
        let [x, y] = c.sway()[axis];
        Vector::new(p.d_at[0][0] * x + p.d_at[0][1] * y, p.d_at[1][0] * x + p.d_at[1][1] * y)
    }

    /// The covariance of real point `i` that comes from its click.
    pub fn spot(&self, i: usize) -> Spot {
        let (a, b) = (self.sway(i, 0), self.sway(i, 1));
        Spot([a.x * a.x + b.x * b.x, a.x * a.y + b.x * b.y, a.y * a.y + b.y * b.y])
    }

    /// Whether the view's map was fitted to the very clicks of this mark: then the map and the mark must be
    /// measured alike, so that a true length reads exactly as given.
    pub fn is_leant_on(&self) -> bool {
        let mine = |p: &Part| self.clicks.iter().any(|c| c.source.contains(&p.source));
        self.map.params().iter().any(|e| e.parts().iter().any(mine))
    }

    /// What the clicks alone do to a size, as a standard uncertainty.
    pub fn click_u(&self, found: &Found) -> f64 {
        let mut variance = 0.0;
        for &(i, g) in &found.slope {
            for axis in 0..2 {
                let s = self.sway(i, axis);
                let d = g[0] * s.x + g[1] * s.y;
                variance += d * d;
            }
        }
        found.by_click * libm::sqrt(variance)
    }

    /// What the map's parameters do to a size: one partial derivative each.
    pub fn to_params(&self, found: &Found) -> Vec<f64> {
        let mut sums = vec![0.0; self.map.params().len()];
        for &(i, g) in &found.slope {
            let Some(placed) = self.placed.get(i) else { continue };
            for (sum, d) in sums.iter_mut().zip(placed.d_params.iter()) {
                *sum += g[0] * d[0] + g[1] * d[1];
            }
        }
        sums
    }

    /// The size with what every source does to it: clicks once each, the map's own sources once each,
    /// whatever the number of points.
    pub fn estimate(&self, found: &Found) -> Estimate {
        let mut parts = Vec::with_capacity(2 * found.slope.len() + 1);
        for &(i, g) in &found.slope {
            let Some(click) = self.clicks.get(i) else { continue };
            for (axis, &source) in click.source.iter().enumerate() {
                let s = self.sway(i, axis);
                let effect = found.by_click * (g[0] * s.x + g[1] * s.y);
                parts.push(Part { source, effect, freedom: click.freedom });
            }
        }
        self.push_beyond(found, &mut parts);
        self.with_map(Estimate::from_parts(found.value, parts), &self.to_params(found))
    }

    /// The same with what the map's sources do besides, given the partial derivative for each of the map's parameters.
    pub fn with_map(&self, found: Estimate, by_param: &[f64]) -> Estimate {
        by_param.iter().zip(self.map.params()).filter(|(k, _)| **k != 0.0).fold(found, |sum, (k, param)| {
            // One by one, since what is sorted already needn't be sorted again.
            Estimate::combine(sum.value, &[(1.0, &sum), (*k, param)])
        })
    }

    /// Appends what first order leaves out, under a name that no spread of placings has.
    pub fn push_beyond(&self, found: &Found, parts: &mut Vec<Part>) {
        if found.beyond > 0.0 {
            let source = Source::Spread(self.mark(), 0x8000 | found.what.component());
            parts.push(Part { source, effect: found.beyond, freedom: f64::INFINITY });
        }
    }

    /// How far the clicks' noise moves the mean of `f`, to fourth order along each click's axes.
    ///
    /// For separate errors E f(x + e) − f(x) = ½ Σ f″σ² + …; with the second difference taken at √3 σ its
    /// fourth moment is a normal's as well.
    ///
    /// # References
    /// Julier & Uhlmann, Proceedings of the IEEE 92 (2004) 401 (the step √3 σ for normal errors) [memory].
    pub fn drift<const N: usize>(&self, f: impl Fn(&[Point<Real>]) -> Option<[f64; N]>) -> [f64; N] {
        let Some(here) = f(&self.real) else { return [0.0; N] };
        let step = libm::sqrt(3.0);
        let mut points = self.real.clone();
        let mut sums = [0.0; N];
        for i in 0..points.len() {
            let home = points[i];
            for axis in 0..2 {
                let s = self.sway(i, axis) * step;
                points[i] = home + s;
                let ahead = f(&points);
                points[i] = home + s * -1.0;
                let behind = f(&points);
                points[i] = home;
                add_bend(&mut sums, here, ahead, behind, 1.0 / 6.0);
            }
        }
        sums
    }

    /// The same by moving all points at once by fixed random signs, forwards and back, a few times: what two
    /// points do together averages out.
    pub fn drift_at_once<const N: usize>(&self, f: impl Fn(&[Point<Real>]) -> Option<[f64; N]>) -> [f64; N] {
        let Some(here) = f(&self.real) else { return [0.0; N] };
        let times = 16;
        let mut dice = Dice(0x5eed_0002);
        let mut sums = [0.0; N];
        for _ in 0..times {
            let mut sign = || if dice.even() < 0.5 { -1.0 } else { 1.0 };
            let steps: Vec<_> =
                (0..self.real.len()).map(|i| self.sway(i, 0) * sign() + self.sway(i, 1) * sign()).collect();
            let moved = |k: f64| self.real.iter().zip(&steps).map(|(p, s)| *p + *s * k).collect::<Vec<_>>();
            let share = 0.5 / f64::from(times);
            add_bend(&mut sums, here, f(&moved(1.0)), f(&moved(-1.0)), share);
        }
        sums
    }
}

/// Adds `share` of the second difference of each size, where there is one.
fn add_bend<const N: usize>(
    sums: &mut [f64; N],
    here: [f64; N],
    ahead: Option<[f64; N]>,
    behind: Option<[f64; N]>,
    share: f64,
) {
    let (Some(ahead), Some(behind)) = (ahead, behind) else { return };
    for (k, sum) in sums.iter_mut().enumerate() {
        let bend = share * (ahead[k] + behind[k] - 2.0 * here[k]);
        if bend.is_finite() {
            *sum += bend;
        }
    }
}
