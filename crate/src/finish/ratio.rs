//! Ratios of sizes: percentages, inverses, and the whole-number ratios that fit.
//!
//! Nothing is ever snapped: what fits within the plus-or-minus is listed with how well it fits, and the
//! value stays as it was measured. The ratio itself is [`Estimate::over`], where what the two sizes share
//! cancels.

use crate::estimate::Estimate;
use crate::words::Say;
use serde::Serialize;

/// The golden section (1 + √5)/2.
///
/// # References
/// Euclid, Elements VI, def. 3; 1.618034 in its first decimals.
pub const GOLDEN: f64 = 1.618_033_988_749_895;

/// The largest term of a whole-number ratio that is ever looked for.
const LARGEST_TERM: u32 = 1000;
/// Relative noise of an f64 ratio, so that 0.1 : 0.3 is 1 : 3 even when nothing is uncertain.
const NOISE: f64 = 1e-12;

/// A whole-number ratio that lies within the plus-or-minus.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Candidate {
    /// First term.
    pub num: u32,
    /// Second term; the two have no common divisor.
    pub den: u32,
    /// (num/den − value)/value.
    pub off_by: f64,
    /// |num/den − value| as a share of the half-width: 0 fits exactly, 1 lies at the edge.
    pub fits_by: f64,
}

/// The golden section, or its inverse, within the plus-or-minus.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Golden {
    /// Whether it is the inverse, 0.618034.
    pub inverse: bool,
    /// (golden − value)/value.
    pub off_by: f64,
}

/// Every whole-number ratio within `half_width` of `value` whose terms are at most `largest`, simplest
/// (least sum of terms) first. Whole multiples (30 : 1, 1 : 48) are given beyond `largest` as well: they
/// are simple whatever the number.
///
/// # Units
/// None; `half_width` at 95 %. What is not positive and finite has no candidates.
///
/// # References
/// The least sums of terms are the highest in the Stern–Brocot tree; Graham, Knuth & Patashnik, Concrete
/// Mathematics, 2nd ed., 4.5 (from memory). With terms this small, trying each denominator is as good as
/// climbing it.
pub fn candidates(value: f64, half_width: f64, largest: u32) -> Vec<Candidate> {
    if !(value.is_finite() && value > 0.0 && half_width.is_finite() && half_width >= 0.0) {
        return Vec::new();
    }
    let largest = largest.clamp(1, LARGEST_TERM);
    let reach = half_width + NOISE * value;
    let (low, high) = (value - reach, value + reach);
    let mut found = Vec::new();
    for den in 1..=largest {
        let most = if den == 1 { LARGEST_TERM } else { largest };
        let nums = whole_within(low * f64::from(den), high * f64::from(den), most);
        found.extend(nums.filter(|num| gcd(*num, den) == 1).map(|num| (num, den)));
    }
    let widest = if low > 0.0 { 1.0 / low } else { f64::INFINITY };
    found.extend(
        whole_within(1.0 / high, widest, LARGEST_TERM).filter(|den| *den > largest).map(|den| (1, den)),
    );
    crate::order::sort_by_key(&mut found, |(num, den)| (num + den, *num));
    found.into_iter().map(|(num, den)| candidate(num, den, value, half_width)).collect()
}

/// The whole numbers from `low` to `high`, from 1 to `most`.
fn whole_within(low: f64, high: f64, most: u32) -> std::ops::RangeInclusive<u32> {
    let (first, last) = (libm::ceil(low).max(1.0), libm::floor(high).min(f64::from(most)));
    // Past `most` nothing is left; the first is capped only so that it is a u32.
    (first.min(f64::from(LARGEST_TERM + 1)) as u32)..=(last.max(0.0) as u32)
}

fn candidate(num: u32, den: u32, value: f64, half_width: f64) -> Candidate {
    let off = f64::from(num) / f64::from(den) - value;
    let fits_by = if half_width > 0.0 { (off.abs() / half_width).min(1.0) } else { 0.0 };
    Candidate { num, den, off_by: off / value, fits_by }
}

/// The golden section or its inverse, only where it lies within `half_width` of `value`, and only where
/// the half-width is narrow enough to tell it from 5 : 3, three parts in a hundred away: a picture that
/// can't do that has nothing to say about it, and 1.67 is never called golden.
///
/// # Units
/// None; `half_width` at 95 %.
pub fn golden(value: f64, half_width: f64) -> Option<Golden> {
    let telling = 5.0 / 3.0 / GOLDEN - 1.0;
    [(GOLDEN, false), (1.0 / GOLDEN, true)]
        .into_iter()
        .find(|(golden, _)| {
            (golden - value).abs() <= half_width + NOISE * golden && half_width < telling * golden
        })
        .map(|(golden, inverse)| Golden { inverse, off_by: (golden - value) / value })
}

/// A ratio as a percentage.
#[must_use]
pub fn percent(ratio: &Estimate) -> Estimate {
    ratio.times(100.0)
}

/// The ratio the other way round, to first order.
///
/// # Errors
/// The ratio is zero or not a number.
pub fn inverse(ratio: &Estimate) -> Result<Estimate, Say> {
    let value = 1.0 / ratio.value;
    if !value.is_finite() {
        return Err(Say::new("finish.ratio-of-nothing"));
    }
    Ok(Estimate::combine(value, &[(-value * value, ratio)]))
}

fn gcd(a: u32, b: u32) -> u32 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::Source;
    use proptest::prelude::*;

    fn check(value: f64, half_width: f64, largest: u32, ratios: &[(u32, u32)]) {
        let got: Vec<_> = candidates(value, half_width, largest).iter().map(|c| (c.num, c.den)).collect();
        assert_eq!(got, ratios, "{value} ± {half_width}");
    }

    #[test]
    fn what_fits_is_listed_simplest_first() {
        // The worked case (common practice, no source): 6 : 5 and 1 3/4 : 6.
        check(1.2, 0.0, 24, &[(6, 5)]);
        check(1.75 / 6.0, 0.001, 24, &[(7, 24)]);
        // trade.md scenario 5: 1.59 with its ±; by hand: 8/5 is 1.6, 11/7 is 1.571, 19/12 is 1.583.
        check(1.59, 0.0125, 12, &[(8, 5)]);
        check(1.59, 0.02, 12, &[(8, 5), (11, 7)]);
        check(1.59, 0.02, 19, &[(8, 5), (11, 7), (19, 12)]);
        // Convergents of pi (Archimedes' 22/7; 355/113 is Zu Chongzhi's).
        check(std::f64::consts::PI, 0.0013, 24, &[(22, 7)]);
        check(std::f64::consts::PI, 1e-6, 400, &[(355, 113)]);
        // Whole multiples are simple at any size.
        check(1.0 / 48.0, 0.0001, 24, &[(1, 48)]);
        check(30.1, 0.2, 24, &[(30, 1)]);
        check(1.0 / 30.0, 0.0005, 3, &[(1, 30)]);
        check(2000.0, 1.0, 24, &[]);
        check(1e-300, 0.0, 24, &[]);
        check(1e300, 1.0, 24, &[]);
        // Nothing is snapped where nothing fits.
        check(1.59, 0.001, 12, &[]);
        for (value, half_width) in
            [(0.0, 1.0), (-1.5, 0.1), (f64::NAN, 0.1), (1.5, f64::NAN), (f64::INFINITY, 1.0), (1.5, -0.1)]
        {
            check(value, half_width, 24, &[]);
        }
    }

    #[test]
    fn how_well_it_fits() {
        let fits = candidates(1.59, 0.02, 12);
        // By hand: 1.6 is 0.01/1.59 = 0.6289 % above, half of the ±.
        assert!((fits[0].off_by - 0.006_289_308).abs() < 1e-9 && (fits[0].fits_by - 0.5).abs() < 1e-9);
        // 11/7 = 1.5714286 is 0.0185714 below.
        assert!((fits[1].off_by + 0.011_680_144).abs() < 1e-9 && (fits[1].fits_by - 0.928_571).abs() < 1e-6);
    }

    // methods.md, "Standards": golden section 1.618034; the issue: 1.67 must not be called golden.
    #[test]
    fn golden_only_where_it_fits() {
        for (value, half_width, inverse) in [
            (1.618_034, 0.001, Some(false)),
            (1.6, 0.02, Some(false)),
            (1.6, 0.01, None),
            (1.67, 0.02, None),
            (1.67, 0.06, None),
            (1.67, 10.0, None),
            (0.618_034, 0.0001, Some(true)),
            (0.6, 0.01, None),
            (1.0, 0.5, None),
            (f64::NAN, 0.1, None),
            (1.618, f64::NAN, None),
        ] {
            assert_eq!(golden(value, half_width).map(|g| g.inverse), inverse, "{value} ± {half_width}");
        }
        // 5 : 8 differs from it by 1.1 % (methods.md).
        let off = golden(1.6, 0.02).map_or(0.0, |g| g.off_by);
        assert!((off - 0.011_271).abs() < 1e-6, "{off}");
        // It is the root of x² = x + 1.
        assert!((GOLDEN * GOLDEN - GOLDEN - 1.0).abs() < 1e-15);
    }

    #[test]
    fn percent_and_inverse_keep_their_sources() {
        let ratio = Estimate::of(1.25, Source::Known(1), 0.01);
        let (percent, inverse) = (percent(&ratio), inverse(&ratio).expect("not zero"));
        assert_eq!((percent.value, percent.u()), (125.0, 1.0));
        // By hand: d(1/x) = −dx/x², 0.01/1.5625.
        assert!((inverse.value - 0.8).abs() < 1e-15 && (inverse.parts()[0].effect + 0.0064).abs() < 1e-15);
        assert!(super::inverse(&Estimate::exact(0.0)).is_err());
        assert!(super::inverse(&Estimate::exact(f64::NAN)).is_err());
    }

    proptest! {
        /// Each is in lowest terms and within the ±, in order, and none that fits is left out.
        #[test]
        fn complete_and_true(value in 0.05_f64..20.0, wide in 0.0001_f64..0.1, largest in 1_u32..30) {
            let half_width = value * wide;
            let got = candidates(value, half_width, largest);
            prop_assert!(got.is_sorted_by_key(|c| c.num + c.den));
            prop_assert!(got.iter().all(|c| (f64::from(c.num) / f64::from(c.den) - value).abs() <= half_width * (1.0 + 1e-9)));
            // Twice over with a plain search, lowest terms by trial division.
            for num in 1..=largest {
                for den in 1..=largest {
                    let lowest = (2..=num.min(den)).all(|d| num % d != 0 || den % d != 0);
                    let fits = (f64::from(num) / f64::from(den) - value).abs() <= half_width;
                    let listed = got.iter().any(|c| (c.num, c.den) == (num, den));
                    prop_assert!(if fits && lowest { listed } else { lowest || !listed }, "{}:{}", num, den);
                }
            }
        }
    }
}
