//! The few distribution functions that a half-width and a test of agreement need.
//!
//! # References
//! DLMF (NIST Digital Library of Mathematical Functions) 8.7.1, 8.9.2 (incomplete gamma), 8.17.22
//! (incomplete beta); Abramowitz & Stegun 26.2.17, 26.7.1, 26.7.5; continued fractions by the modified
//! Lentz method, Thompson & Barnett, Journal of Computational Physics 64 (1986) 490.

/// The value a standard normal variable stays under with probability `p`; infinite outside 0 < p < 1.
///
/// # References
/// Newton's method on the complementary error function, Φ(x) = erfc(−x/√2)/2; started at 0, where it
/// moves outward monotonically because the tail is convex.
pub fn normal_quantile(p: f64) -> f64 {
    if p.is_nan() {
        return f64::NAN;
    }
    if p <= 0.0 || p >= 1.0 {
        return if p <= 0.0 { f64::NEG_INFINITY } else { f64::INFINITY };
    }
    let tail = p.min(1.0 - p);
    let mut x = 0.0_f64;
    for _ in 0..80 {
        let over = libm::erfc(x * std::f64::consts::FRAC_1_SQRT_2) / 2.0 - tail;
        let density = libm::exp(-x * x / 2.0) / libm::sqrt(std::f64::consts::TAU);
        let step = over / density;
        x += step;
        if step.abs() <= 1e-15 * x.abs() {
            break;
        }
    }
    if p < 0.5 { -x } else { x }
}

/// The value a Student's t variable of `freedom` degrees stays under with probability `p` (p ≥ 1/2).
///
/// Real degrees of freedom are welcome (Welch–Satterthwaite gives such); infinite freedom is the normal
/// distribution. Under one degree, and for p outside [1/2, 1), no finite answer is honest: infinite.
///
/// # References
/// Up to 400 degrees by Newton's method on the tail I(ν/(ν+t²); ν/2, 1/2)/2 (A&S 26.7.1), which starts at
/// the normal quantile, always below the root, and climbs monotonically (the tail is convex); beyond, the
/// expansion A&S 26.7.5, whose next term is under 1e-10 there.
pub fn t_quantile(p: f64, freedom: f64) -> f64 {
    if !(0.5..1.0).contains(&p) || freedom.is_nan() || freedom < 1.0 {
        return f64::INFINITY;
    }
    let z = normal_quantile(p);
    if freedom.is_infinite() {
        return z;
    }
    if freedom > 400.0 {
        return t_expansion(z, freedom);
    }
    let half = freedom / 2.0;
    let scale =
        libm::exp(libm::lgamma(half + 0.5) - libm::lgamma(half)) / libm::sqrt(freedom * std::f64::consts::PI);
    let mut t = z;
    for _ in 0..200 {
        let over = t_tail(t, freedom) - (1.0 - p);
        let density = scale * libm::pow(1.0 + t * t / freedom, -(freedom + 1.0) / 2.0);
        let step = over / density;
        t += step;
        if step.abs() <= 1e-13 * t {
            break;
        }
    }
    t
}

/// A&S 26.7.5: Student's t from the normal quantile in powers of 1/ν.
fn t_expansion(z: f64, freedom: f64) -> f64 {
    let q = z * z;
    let g1 = z * (q + 1.0) / 4.0;
    let g2 = z * ((5.0 * q + 16.0) * q + 3.0) / 96.0;
    let g3 = z * (((3.0 * q + 19.0) * q + 17.0) * q - 15.0) / 384.0;
    z + (g1 + (g2 + g3 / freedom) / freedom) / freedom
}

/// The probability that a Student's t variable of `freedom` degrees exceeds `t` ≥ 0.
fn t_tail(t: f64, freedom: f64) -> f64 {
    beta_part(freedom / (freedom + t * t), t * t / (freedom + t * t), freedom / 2.0, 0.5) / 2.0
}

/// The regularised incomplete beta function Iₓ(a, b), with `rest` = 1 − x handed over so that it is exact.
fn beta_part(x: f64, rest: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 || rest <= 0.0 {
        return if x <= 0.0 { 0.0 } else { 1.0 };
    }
    // The fraction converges quickly on this side of the mean only; the other side by I(x;a,b) = 1 − I(1−x;b,a).
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - beta_part(rest, x, b, a);
    }
    let front = libm::exp(
        libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * libm::log(x) + b * libm::log(rest),
    );
    let term = |n: u32| {
        let m = f64::from(n / 2);
        if n.is_multiple_of(2) {
            m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m))
        } else {
            -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0))
        }
    };
    front / (a * lentz(1.0, |n| (term(n), 1.0)))
}

/// The continued fraction b₀ + a₁/(b₁ + a₂/(b₂ + …)), given (aₙ, bₙ).
fn lentz(b0: f64, term: impl Fn(u32) -> (f64, f64)) -> f64 {
    const TINY: f64 = 1e-300;
    let off_zero = |v: f64| if v == 0.0 { TINY } else { v };
    let (mut f, mut c, mut d) = (off_zero(b0), off_zero(b0), 0.0);
    for n in 1..2000 {
        let (a, b) = term(n);
        d = 1.0 / off_zero(b + a * d);
        c = off_zero(b + a / c);
        f *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    f
}

/// The probability that a chi-square variable of `freedom` degrees exceeds `chi2`; 1 with no freedom.
///
/// # References
/// Q(ν/2, χ²/2), A&S 26.4.19; the series DLMF 8.7.1 below the mean, the fraction DLMF 8.9.2 above.
pub fn chi_square_tail(chi2: f64, freedom: usize) -> f64 {
    if freedom == 0 || chi2 <= 0.0 {
        return 1.0;
    }
    if chi2.is_nan() {
        return f64::NAN;
    }
    let (a, x) = (freedom as f64 / 2.0, chi2 / 2.0);
    let front = libm::exp(a * libm::log(x) - x - libm::lgamma(a));
    if x < a + 1.0 {
        let (mut sum, mut term, mut n) = (1.0 / a, 1.0 / a, a);
        while term > sum * 1e-17 {
            n += 1.0;
            term *= x / n;
            sum += term;
        }
        return (1.0 - front * sum).max(0.0);
    }
    let bottom = lentz(x + 1.0 - a, |n| {
        let m = f64::from(n);
        (m * (a - m), x + 2.0 * m + 1.0 - a)
    });
    front / bottom
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(what: &str, got: f64, expected: f64, tol: f64) {
        assert!((got - expected).abs() <= tol, "{what}: {got} is not {expected}");
    }

    #[test]
    fn normal_quantiles() {
        // Abramowitz & Stegun table 26.5 [memory]; symmetric by definition.
        for (p, z) in
            [(0.5, 0.0), (0.975, 1.959963984540054), (0.995, 2.575829303548901), (0.84134474606854, 1.0)]
        {
            check("normal", normal_quantile(p), z, 1e-12);
            check("normal, lower", normal_quantile(1.0 - p), -z, 1e-12);
        }
        check("far tail", normal_quantile(1e-12), -7.034483825301132, 1e-9);
    }

    #[test]
    fn t_quantiles_against_closed_forms() {
        // ν = 1: tan(π(p−½)); ν = 2: (2p−1)·√(2/(4p(1−p))) (both follow from integrating the density).
        for p in [0.6, 0.9, 0.975, 0.995, 0.9995] {
            check("one degree", t_quantile(p, 1.0), libm::tan(std::f64::consts::PI * (p - 0.5)), 1e-6);
            let two = (2.0 * p - 1.0) * libm::sqrt(2.0 / (4.0 * p * (1.0 - p)));
            check("two degrees", t_quantile(p, 2.0), two, 1e-9);
        }
    }

    #[test]
    fn t_quantiles_against_the_guide() {
        // JCGM 100:2008 table G.2, column 95 % (as printed, two or three decimals).
        for (freedom, t, half_digit) in [
            (1.0, 12.71, 0.005),
            (2.0, 4.30, 0.005),
            (3.0, 3.18, 0.005),
            (4.0, 2.78, 0.005),
            (5.0, 2.57, 0.005),
            (6.0, 2.45, 0.005),
            (8.0, 2.31, 0.005),
            (10.0, 2.23, 0.005),
            (16.0, 2.12, 0.005),
            (20.0, 2.09, 0.005),
            (50.0, 2.01, 0.005),
            (100.0, 1.984, 0.0005),
            (f64::INFINITY, 1.960, 0.0005),
        ] {
            check("table G.2", t_quantile(0.975, freedom), t, half_digit);
        }
    }

    #[test]
    fn against_scipy() {
        // scipy 1.17.1, scipy.stats.t.ppf(0.975 and 0.995, ν) for ν that are not whole.
        for (freedom, t, wide) in [
            (1.3, 7.500529325562029, 26.057551633213905),
            (2.7, 3.3921483831737507, 6.533128433408452),
            (4.5, 2.6589123472044034, 4.272823993011293),
            (9.99, 2.2284412121637445, 3.1699835847876012),
            (16.7, 2.1127064206595905, 2.9046809384293586),
            (63.2, 1.9982167890609144, 2.6558835263339606),
            (399.0, 1.965927295920882, 2.588207164030976),
            (1e4, 1.960201239890626, 2.5763210466685282),
        ] {
            check("t at 0.975", t_quantile(0.975, freedom), t, 1e-9);
            check("t at 0.995", t_quantile(0.995, freedom), wide, 1e-8);
        }
        // scipy.stats.chi2.sf(χ², ν).
        for (freedom, x, p) in [
            (3, 0.2, 0.9775892977616494),
            (3, 7.0, 0.07189777249646509),
            (7, 30.0, 9.495972508134177e-05),
            (25, 20.0, 0.7468253060165366),
            (120, 200.0, 6.341503427369146e-06),
        ] {
            check("chi-square tail", chi_square_tail(x, freedom), p, 1e-12);
        }
    }

    #[test]
    fn t_quantile_has_no_step_where_the_method_changes() {
        let (below, above) = (t_quantile(0.975, 400.0), t_quantile(0.975, 400.0 + 1e-9));
        check("at 400 degrees", below, above, 1e-9);
    }

    #[test]
    fn what_has_no_honest_answer_is_infinite() {
        for (p, freedom) in [(0.975, 0.0), (0.975, f64::NAN), (1.0, 5.0), (0.3, 5.0)] {
            assert!(t_quantile(p, freedom).is_infinite());
        }
        assert!(normal_quantile(f64::NAN).is_nan());
    }

    #[test]
    fn chi_square_tails() {
        // Closed forms: one degree erfc(√(χ²/2)); two exp(−χ²/2); four (1+χ²/2)·exp(−χ²/2).
        for x in [0.01, 0.5, 1.0, 3.84, 10.0, 40.0] {
            check("one degree", chi_square_tail(x, 1), libm::erfc(libm::sqrt(x / 2.0)), 1e-13);
            check("two degrees", chi_square_tail(x, 2), libm::exp(-x / 2.0), 1e-13);
            check("four degrees", chi_square_tail(x, 4), (1.0 + x / 2.0) * libm::exp(-x / 2.0), 1e-13);
        }
        // Abramowitz & Stegun table 26.8 [memory]: the 5 % points.
        for (freedom, x) in [(1, 3.841), (2, 5.991), (3, 7.815), (5, 11.070), (10, 18.307), (30, 43.773)] {
            check("5 % point", chi_square_tail(x, freedom), 0.05, 5e-5);
        }
        check("no freedom, no disagreement", chi_square_tail(9.0, 0), 1.0, 0.0);
    }
}
