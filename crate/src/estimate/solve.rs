//! Weighted least squares, small and nonlinear, with the answer's partials to every source.

use super::dense::Dense;
use super::{Estimate, Part, Source};
use crate::words::Say;

/// One equation that would be zero if every source were without error: residual r(θ, s).
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// r, in any unit of its own.
    pub residual: f64,
    /// ∂r/∂θ for each unknown.
    pub slope: Vec<f64>,
    /// ∂r/∂s × the standard uncertainty of s, for each source s in it; each source once.
    pub parts: Vec<Part>,
}

/// The unknowns that fit the rows best, and how well they fit.
#[derive(Clone, Debug, PartialEq)]
pub struct Solved {
    /// The unknowns, each with what every source does to it.
    pub theta: Vec<Estimate>,
    /// What is left of each row, with what every source does to it.
    pub left: Vec<Estimate>,
    /// rᵀ·V⁻¹·r: as large as `freedom`, give or take, when the rows agree within their uncertainties.
    pub chi2: f64,
    /// Rows less unknowns.
    pub freedom: usize,
}

/// How often a fit may step before it is given up.
const STEPS: usize = 60;

/// The unknowns that make rᵀ·V⁻¹·r least, where V is the covariance of the rows as their sources make it
/// ("effective variance": what clicks do to a residual goes into its weight; rows that share a source are
/// correlated, and are weighted so). V follows the unknowns from step to step but isn't differentiated.
///
/// # Errors
/// `fit.undetermined` when the rows leave an unknown open, `fit.exact-row` when a row has no uncertainty at
/// all, `fit.no-answer` when no answer is found; and whatever `rows` says.
///
/// # References
/// JCGM 100:2008 (GUM), F.1.2 and H.3; Levenberg, Quarterly of Applied Mathematics 2 (1944) 164, for the
/// damping; Orear, American Journal of Physics 50 (1982) 912, for the effective variance. The partials are
/// those of generalised least squares, dθ/ds = −(AᵀV⁻¹A)⁻¹·AᵀV⁻¹·∂r/∂s.
pub fn solve(start: &[f64], rows: impl Fn(&[f64]) -> Result<Vec<Row>, Say>) -> Result<Solved, Say> {
    let mut theta = start.to_vec();
    let mut now = Linear::at(&rows(&theta)?, theta.len())?;
    let mut damping = 0.0;
    let mut settled = false;
    for _ in 0..STEPS {
        let step = now.step(damping)?;
        let trial: Vec<f64> = theta.iter().zip(&step).map(|(t, s)| t + s).collect();
        let small = now.smallness(&step);
        // A trial at which the rows can't be reckoned (a length turned over, say) counts as a bad step.
        let tried = rows(&trial).ok().filter(|_| trial.iter().all(|t| t.is_finite()));
        let better =
            tried.as_ref().is_some_and(|rows| now.cost_of(rows) <= now.cost() * (1.0 + 1e-9) + 1e-18);
        if let (true, Some(rows)) = (better, tried) {
            theta = trial;
            now = Linear::at(&rows, theta.len())?;
            damping = if damping < 1e-6 { 0.0 } else { damping / 10.0 };
            if small < 1e-9 && damping == 0.0 {
                settled = true;
                break;
            }
        } else if small < 1e-9 {
            settled = true;
            break;
        } else {
            damping = if damping == 0.0 { 1e-3 } else { damping * 10.0 };
        }
    }
    if settled { now.answer(&theta) } else { Err(Say::new("fit.no-answer")) }
}

/// The rows about one θ, whitened: L⁻¹r, L⁻¹A, L⁻¹S with V = S·Sᵀ = L·Lᵀ.
struct Linear {
    sources: Vec<(Source, f64)>,
    lower: Dense,
    residual: Dense,
    slope: Dense,
    effects: Dense,
    raw: (Vec<f64>, Dense, Dense),
    /// 1 / √ of the diagonal of AᵀV⁻¹A, so that unknowns in unlike units are compared as equals.
    scale: Vec<f64>,
}

impl Linear {
    fn at(rows: &[Row], unknowns: usize) -> Result<Linear, Say> {
        let mut sources: Vec<(Source, f64)> =
            rows.iter().flat_map(|r| r.parts.iter().map(|p| (p.source, p.freedom))).collect();
        crate::order::sort_by_key(&mut sources, |s| s.0);
        sources.dedup_by_key(|s| s.0);
        let mut effects = Dense::zero(rows.len(), sources.len());
        for (i, row) in rows.iter().enumerate() {
            for part in &row.parts {
                if let Ok(j) = sources.binary_search_by_key(&part.source, |s| s.0) {
                    effects[(i, j)] += part.effect;
                }
            }
        }
        let variance = effects.times(&effects.turned());
        let lower = variance.cholesky(1e-14).ok_or_else(|| Say::new("fit.exact-row"))?;
        let column = Dense::by(rows.len(), 1, |i, _| rows[i].residual);
        let slope = Dense::by(rows.len(), unknowns, |i, j| rows[i].slope.get(j).copied().unwrap_or(0.0));
        let white = lower.forward(&slope);
        let scale = (0..unknowns)
            .map(|j| {
                let square: f64 = (0..rows.len()).map(|i| white[(i, j)] * white[(i, j)]).sum();
                if square > 0.0 && square.is_finite() {
                    Ok(1.0 / libm::sqrt(square))
                } else {
                    Err(Say::new("fit.undetermined"))
                }
            })
            .collect::<Result<Vec<f64>, Say>>()?;
        Ok(Linear {
            residual: lower.forward(&column),
            effects: lower.forward(&effects),
            raw: (rows.iter().map(|r| r.residual).collect(), slope, effects),
            slope: white,
            sources,
            lower,
            scale,
        })
    }

    /// The Cholesky factor of the scaled normal matrix, its diagonal raised by `damping`.
    fn normal(&self, damping: f64) -> Result<Dense, Say> {
        let n = self.scale.len();
        let square = Dense::by(n, n, |a, b| {
            let sum: f64 = (0..self.slope.rows()).map(|i| self.slope[(i, a)] * self.slope[(i, b)]).sum();
            sum * self.scale[a] * self.scale[b] + if a == b { damping } else { 0.0 }
        });
        square.cholesky(1e-10).ok_or_else(|| Say::new("fit.undetermined"))
    }

    /// −(AᵀV⁻¹A)⁻¹·AᵀV⁻¹·`what`, `what` being whitened already.
    fn least(&self, what: &Dense, damping: f64) -> Result<Dense, Say> {
        let lower = self.normal(damping)?;
        let right = self.slope.turned().times(what);
        let scaled = Dense::by(right.rows(), right.cols(), |r, c| -right[(r, c)] * self.scale[r]);
        let x = lower.backward(&lower.forward(&scaled));
        Ok(Dense::by(x.rows(), x.cols(), |r, c| x[(r, c)] * self.scale[r]))
    }

    fn step(&self, damping: f64) -> Result<Vec<f64>, Say> {
        let step = self.least(&self.residual, damping)?;
        Ok((0..step.rows()).map(|j| step[(j, 0)]).collect())
    }

    fn cost(&self) -> f64 {
        (0..self.residual.rows()).map(|i| self.residual[(i, 0)] * self.residual[(i, 0)]).sum()
    }

    /// The cost of other residuals under the weights of this θ, so that a step is judged by one measure.
    fn cost_of(&self, rows: &[Row]) -> f64 {
        let column = Dense::by(rows.len(), 1, |i, _| rows[i].residual);
        let white = self.lower.forward(&column);
        (0..white.rows()).map(|i| white[(i, 0)] * white[(i, 0)]).sum()
    }

    /// The step against what each unknown is good to.
    fn smallness(&self, step: &[f64]) -> f64 {
        step.iter().zip(&self.scale).fold(0.0, |m, (s, scale)| (s / scale).abs().max(m))
    }

    fn answer(&self, theta: &[f64]) -> Result<Solved, Say> {
        let moved = self.least(&self.effects, 0.0)?;
        let (residual, slope, effects) = &self.raw;
        let left = slope.times(&moved);
        let estimate = |value: f64, effect: &dyn Fn(usize) -> f64| {
            let part = |(j, &(source, freedom)): (usize, &(Source, f64))| Part {
                source,
                effect: effect(j),
                freedom,
            };
            Estimate::from_parts(value, self.sources.iter().enumerate().map(part).collect())
        };
        Ok(Solved {
            theta: theta.iter().enumerate().map(|(i, &t)| estimate(t, &|j| moved[(i, j)])).collect(),
            left: (0..residual.len())
                .map(|i| estimate(residual[i], &|j| effects[(i, j)] + left[(i, j)]))
                .collect(),
            chi2: self.cost(),
            freedom: residual.len().saturating_sub(theta.len()),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(i: u16, effect: f64) -> Part {
        Part { source: Source::Click(0, i, 0), effect, freedom: f64::INFINITY }
    }

    fn close(got: f64, expected: f64, tol: f64) {
        assert!((got - expected).abs() <= tol, "{got} is not {expected}");
    }

    /// JCGM 100:2008 H.3, table H.6: the calibration of a thermometer, a straight line through 11 readings.
    /// Data and results [memory]: y₁ −0.1712 °C, y₂ 0.00218, s(y₁) 0.0029, s(y₂) 0.00067, r −0.930,
    /// s 0.0035.
    #[test]
    fn thermometer() {
        let readings = [
            (21.521, -0.171),
            (22.012, -0.169),
            (22.512, -0.166),
            (23.003, -0.159),
            (23.507, -0.164),
            (23.999, -0.165),
            (24.513, -0.156),
            (25.002, -0.157),
            (25.503, -0.159),
            (26.010, -0.161),
            (26.511, -0.160),
        ];
        let rows = |theta: &[f64]| {
            let row = |(i, (t, b)): (usize, &(f64, f64))| Row {
                residual: theta[0] + theta[1] * (t - 20.0) - b,
                slope: vec![1.0, t - 20.0],
                parts: vec![part(i as u16, 0.0035)],
            };
            Ok(readings.iter().enumerate().map(row).collect())
        };
        let solved = solve(&[0.0, 0.0], rows).unwrap();
        close(solved.theta[0].value, -0.1712, 5e-5);
        close(solved.theta[1].value, 0.00218, 5e-6);
        close(solved.theta[0].u(), 0.0029, 5e-5);
        close(solved.theta[1].u(), 0.00067, 5e-6);
        close(solved.theta[0].correlation(&solved.theta[1]), -0.930, 5e-4);
        close(0.0035 * libm::sqrt(solved.chi2 / solved.freedom as f64), 0.0035, 5e-5);
    }

    /// Two readings of one thing that share half their error: the weights of generalised least squares
    /// (closed form: 1/v for the mean of two equals with variance 1 and covariance c is 2/(1+c)).
    #[test]
    fn rows_that_share_a_source_are_weighted_so() {
        let rows = |theta: &[f64]| {
            let row = |i: u16, seen: f64| Row {
                residual: theta[0] - seen,
                slope: vec![1.0],
                parts: vec![part(i, 0.8), part(9, 0.6)],
            };
            Ok(vec![row(1, 10.0), row(2, 12.0)])
        };
        let solved = solve(&[0.0], rows).unwrap();
        close(solved.theta[0].value, 11.0, 1e-12);
        close(solved.theta[0].variance(), (1.0 + 0.36) / 2.0, 1e-12);
        close(solved.chi2, 2.0 / (1.0 - 0.36), 1e-12);
        // What is left of a row knows nothing of the answer.
        close(solved.left[0].covariance(&solved.theta[0]), 0.0, 1e-12);
    }

    #[test]
    fn a_bent_problem_far_from_its_answer_is_found() {
        // x² = 2 and x·y = 3, from a poor start.
        let rows = |t: &[f64]| {
            Ok(vec![
                Row { residual: t[0] * t[0] - 2.0, slope: vec![2.0 * t[0], 0.0], parts: vec![part(1, 0.1)] },
                Row { residual: t[0] * t[1] - 3.0, slope: vec![t[1], t[0]], parts: vec![part(2, 0.1)] },
            ])
        };
        let solved = solve(&[30.0, -5.0], rows).unwrap();
        close(solved.theta[0].value, std::f64::consts::SQRT_2, 1e-9);
        close(solved.theta[1].value, 3.0 / std::f64::consts::SQRT_2, 1e-9);
    }

    #[test]
    fn what_can_not_be_solved_says_so() {
        let row = |slope: Vec<f64>, parts| Row { residual: 1.0, slope, parts };
        let key = |r: Vec<Row>, n| solve(&vec![1.0; n], |_| Ok(r.clone())).unwrap_err().key;
        assert_eq!(key(vec![row(vec![1.0], vec![])], 1), "fit.exact-row");
        assert_eq!(key(vec![row(vec![1.0, 1.0], vec![part(1, 1.0)])], 2), "fit.undetermined");
        assert_eq!(key(vec![row(vec![0.0], vec![part(1, 1.0)])], 1), "fit.undetermined");
    }
}
