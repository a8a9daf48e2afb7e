//! Means of what was measured several times over.

use super::dense::Dense;
use super::{Estimate, Part, Source};

/// The means of several quantities that were observed together, `observed[i]` being the i-th quantity's
/// values; their covariance is kept by sharing the sources `Spread(mark, 0)`, `Spread(mark, 1)`, …
///
/// `None` unless every quantity has the same number, two or more, of finite values.
///
/// # Units
/// Each quantity in its own unit.
///
/// # References
/// JCGM 100:2008 (GUM), 4.2.3 (variance of a mean), 5.2.3 (covariance of two means), C.3.8 (n − 1 degrees
/// of freedom). The covariance matrix is split by a Cholesky factor, so that its columns are independent.
pub fn together(observed: &[Vec<f64>], mark: u32) -> Option<Vec<Estimate>> {
    let times = observed.first()?.len();
    let sound = |values: &Vec<f64>| values.len() == times && values.iter().all(|v| v.is_finite());
    if times < 2 || observed.len() > usize::from(u16::MAX) || !observed.iter().all(sound) {
        return None;
    }
    let n = times as f64;
    let means: Vec<f64> = observed.iter().map(|values| mean(values)).collect();
    let covariance = Dense::by(observed.len(), observed.len(), |i, j| {
        let pairs = observed[i].iter().zip(&observed[j]);
        pairs.map(|(a, b)| (a - means[i]) * (b - means[j])).sum::<f64>() / (n * (n - 1.0))
    });
    let split = split(&covariance);
    let estimate = |i: usize| {
        let part = |j: usize| Part {
            source: Source::Spread(mark, j as u16),
            effect: split[(i, j)],
            freedom: n - 1.0,
        };
        Estimate::from_parts(means[i], (0..=i).map(part).filter(|p| p.effect != 0.0).collect())
    };
    Some((0..observed.len()).map(estimate).collect())
}

/// The mean, from a near origin so that large values with a small spread keep their digits.
fn mean(values: &[f64]) -> f64 {
    let near = values.first().copied().unwrap_or(0.0);
    near + values.iter().map(|v| v - near).sum::<f64>() / values.len() as f64
}

/// A lower triangle L with L·Lᵀ = `covariance`, which may be singular: what adds nothing new has a zero
/// column.
pub(crate) fn split(covariance: &Dense) -> Dense {
    let n = covariance.rows();
    let mut l = Dense::zero(n, n);
    for j in 0..n {
        let done: f64 = (0..j).map(|k| l[(j, k)] * l[(j, k)]).sum();
        let left = covariance[(j, j)] - done;
        if left <= 1e-12 * covariance[(j, j)] {
            continue;
        }
        l[(j, j)] = libm::sqrt(left);
        for i in j + 1..n {
            let done: f64 = (0..j).map(|k| l[(i, k)] * l[(j, k)]).sum();
            l[(i, j)] = (covariance[(i, j)] - done) / l[(j, j)];
        }
    }
    l
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64, tol: f64) {
        assert!((got - expected).abs() <= tol, "{got} is not {expected}");
    }

    /// JCGM 100:2008 H.2, table H.2: simultaneous resistance and reactance. Values to the digits printed
    /// there, and recomputed with one digit more.
    #[test]
    fn resistance_and_reactance() {
        let seen = [
            vec![5.007, 4.994, 5.005, 4.990, 4.999],
            vec![19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
            vec![1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
        ];
        let means = together(&seen, 1).unwrap();
        let (v, i, phi) = (&means[0], &means[1], &means[2]);
        let z = v.over(i);
        let (cos, sin) = (libm::cos(phi.value), libm::sin(phi.value));
        let r = Estimate::combine(z.value * cos, &[(cos, &z), (-z.value * sin, phi)]);
        let x = Estimate::combine(z.value * sin, &[(sin, &z), (z.value * cos, phi)]);
        for (estimate, value, u) in
            [(&r, 127.73217, 0.07107), (&x, 219.84651, 0.29558), (&z, 254.25970, 0.23634)]
        {
            close(estimate.value, value, 5e-6);
            close(estimate.u(), u, 5e-6);
            close(estimate.freedom(), 4.0, 1e-9);
        }
        close(r.correlation(&x), -0.588, 5e-4);
        close(r.correlation(&z), -0.485, 5e-4);
        close(x.correlation(&z), 0.993, 5e-4);
    }

    #[test]
    fn quantities_that_move_as_one_are_fully_correlated() {
        let means = together(&[vec![1.0, 2.0, 4.0], vec![2.0, 4.0, 8.0], vec![5.0, 5.0, 5.0]], 1).unwrap();
        close(means[0].correlation(&means[1]), 1.0, 1e-12);
        close(means[1].minus(&means[0].times(2.0)).u(), 0.0, 1e-12);
        assert_eq!(means[2].u(), 0.0);
    }

    #[test]
    fn what_was_not_repeated_has_no_spread() {
        for seen in [vec![], vec![vec![1.0]], vec![vec![1.0, 2.0], vec![1.0]], vec![vec![1.0, f64::NAN]]] {
            assert!(together(&seen, 1).is_none());
        }
    }
}
