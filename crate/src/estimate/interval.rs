//! From a standard uncertainty to the half-width that covers the truth 95 times in 100, and where it comes
//! from.

use super::special::t_quantile;
use super::{Estimate, Source};
use crate::fault::{Area, spoil};

/// How often an interval covers the truth.
const COVER: f64 = 0.95;
/// The normal quantile of 0.975 (R's qnorm and other tables, from memory; a test holds it against [`t_quantile`]).
const NORMAL_COVER: f64 = 1.959_963_984_540_054;

/// How many standard uncertainties of so many degrees of freedom cover the truth so often: [`t_quantile`], whose normal
/// limit is asked for by every size of every row and so is written down.
fn cover(freedom: f64) -> f64 {
    if freedom == f64::INFINITY { NORMAL_COVER } else { t_quantile(0.5 + COVER / 2.0, freedom) }
}

/// How far the truth may lie below and above the value, 95 times in 100. In the value's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// How far below, ≥ 0.
    pub minus: f64,
    /// How far above, ≥ 0.
    pub plus: f64,
}

/// One cause in the account of a value's uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cause {
    /// What it is.
    pub source: Source,
    /// Partial derivative × standard uncertainty, in the value's unit, signed.
    pub effect: f64,
    /// Its share of the variance, 0 to 1.
    pub share: f64,
}

impl Estimate {
    /// Degrees of freedom behind [`Estimate::u`]; infinite where nothing in it was observed by repeating.
    ///
    /// The spreads of one mark were observed together, from the same repeats, so they count as one source
    /// with the freedom they share: a sum of jointly normal means has just the freedom of its repeats.
    ///
    /// # References
    /// Welch–Satterthwaite: JCGM 100:2008 (GUM), G.4.1, equation G.2b.
    pub fn freedom(&self) -> f64 {
        if self.parts().iter().all(|p| p.freedom == f64::INFINITY) {
            return f64::INFINITY;
        }
        let variance = self.variance();
        let mut below = 0.0;
        let mut parts = self.parts().iter().peekable();
        while let Some(first) = parts.next() {
            let mut square = first.effect * first.effect;
            let mut freedom = first.freedom;
            if let Source::Spread(mark, _) = first.source {
                while let Some(more) =
                    parts.next_if(|p| matches!(p.source, Source::Spread(m, _) if m == mark))
                {
                    square += more.effect * more.effect;
                    freedom = freedom.min(more.freedom);
                }
            }
            if square > 0.0 {
                below += square * square / freedom;
            }
        }
        if below > 0.0 { variance * variance / below } else { f64::INFINITY }
    }

    /// The half-width that covers the truth 95 times in 100: t₀.₉₇₅(ν)·u. In the value's unit; 0 for an
    /// exact value; infinite where the freedom is too small to say.
    ///
    /// # References
    /// JCGM 100:2008 (GUM), G.3.2 and G.4.1.
    pub fn half_width(&self) -> f64 {
        let u = self.u();
        if u == 0.0 { 0.0 } else { cover(self.freedom()) * u * spoil(Area::Uncertainty, 0.5) }
    }

    /// The first-order interval, the same on both sides.
    pub fn interval(&self) -> Interval {
        let half = self.half_width();
        Interval { minus: half, plus: half }
    }

    /// cov(`self`, `other`): what they share, in the product of their units.
    ///
    /// # References
    /// JCGM 100:2008 (GUM), F.1.2.3, equation F.2.
    pub fn covariance(&self, other: &Estimate) -> f64 {
        let mut sum = 0.0;
        let mut theirs = other.parts();
        for mine in self.parts() {
            while let [first, after @ ..] = theirs {
                let order = first.source.cmp(&mine.source);
                if order.is_gt() {
                    break;
                }
                theirs = after;
                if order.is_eq() {
                    sum += mine.effect * first.effect;
                    break;
                }
            }
        }
        sum
    }

    /// The correlation coefficient of the two, −1 to 1; 0 when either is exact.
    pub fn correlation(&self, other: &Estimate) -> f64 {
        let product = self.u() * other.u();
        if product == 0.0 { 0.0 } else { (self.covariance(other) / product).clamp(-1.0, 1.0) }
    }

    /// Where the uncertainty comes from, the greatest first.
    pub fn budget(&self) -> Vec<Cause> {
        let variance = self.variance();
        let share = |effect: f64| if variance > 0.0 { effect * effect / variance } else { 0.0 };
        let mut causes: Vec<Cause> = self
            .parts()
            .iter()
            .map(|p| Cause { source: p.source, effect: p.effect, share: share(p.effect) })
            .collect();
        crate::order::sort_by(&mut causes, |a, b| b.effect.abs().total_cmp(&a.effect.abs()));
        causes
    }

    /// `self` + `other`; what they share adds linearly.
    pub fn plus(&self, other: &Estimate) -> Estimate {
        Estimate::combine(self.value + other.value, &[(1.0, self), (1.0, other)])
    }
}

/// The interval of `a`/`b`, right where first order is not: when `b` is uncertain by a good part of itself.
///
/// `None` when no bounded interval exists: `b` may be zero as far as it is known.
///
/// # References
/// Fieller, Journal of the Royal Statistical Society B 16 (1954) 175: the ratios r for which a − r·b is not
/// significantly different from zero are those between the roots of
/// (b² − t²·v_b) r² − 2 (ab − t²·c_ab) r + (a² − t²·v_a).
pub fn ratio_interval(a: &Estimate, b: &Estimate) -> Option<Interval> {
    let ratio = a.value / b.value;
    let apart = Estimate::combine(0.0, &[(1.0, a), (-ratio, b)]);
    if apart.u() == 0.0 {
        return ratio.is_finite().then_some(Interval { minus: 0.0, plus: 0.0 });
    }
    let t = cover(apart.freedom());
    let square = b.value * b.value - t * t * b.variance();
    let middle = a.value * b.value - t * t * a.covariance(b);
    let rest = a.value * a.value - t * t * a.variance();
    if !(square.is_finite() && square > 0.0) {
        return None;
    }
    // The discriminant is t² × a variance, so it is only ever negative by rounding.
    let half = libm::sqrt((middle * middle - square * rest).max(0.0)) / square;
    let centre = middle / square;
    Some(Interval { minus: (ratio - (centre - half)).max(0.0), plus: (centre + half - ratio).max(0.0) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::Part;
    use proptest::prelude::*;

    #[test]
    fn the_normal_cover_is_the_quantile() {
        // One in the last place: Newton's steps end beside it.
        assert!((NORMAL_COVER - t_quantile(0.5 + COVER / 2.0, f64::INFINITY)).abs() <= 2.0 * f64::EPSILON);
    }

    fn parts(list: &[(f64, f64)]) -> Estimate {
        let part = |(i, &(effect, freedom)): (usize, &(f64, f64))| Part {
            source: Source::Click(0, i as u16, 0),
            effect,
            freedom,
        };
        Estimate::from_parts(1.0, list.iter().enumerate().map(part).collect())
    }

    /// JCGM 100:2008 H.1 (end gauge): the standard uncertainties are given in table H.1; the degrees of
    /// freedom behind each [memory], as are ν_eff 16 (16.7 before it is cut) and t₉₉ 2.92.
    #[test]
    fn end_gauge() {
        let inf = f64::INFINITY;
        let listed = parts(&[(25.0, inf), (16.6, inf), (6.7, inf), (5.8, inf), (3.9, inf), (2.89, inf)]);
        assert_eq!(listed.u().round(), 32.0);
        let observed = parts(&[(25.0, 18.0), (16.6, 2.0), (6.7, 8.0), (5.8, 24.0), (3.9, 5.0), (2.89, 50.0)]);
        assert!((observed.freedom() - 16.7).abs() < 0.2, "{}", observed.freedom());
        assert!((t_quantile(0.995, 16.0) - 2.92).abs() < 0.005);
    }

    #[test]
    fn nothing_observed_uses_the_normal_distribution() {
        let e = parts(&[(3.0, f64::INFINITY), (-4.0, f64::INFINITY)]);
        assert_eq!(e.freedom(), f64::INFINITY);
        assert!((e.half_width() - 5.0 * 1.959963984540054).abs() < 1e-9);
        assert_eq!(Estimate::exact(7.0).half_width(), 0.0);
    }

    /// Two means from the same five repeats: any sum of them has four degrees of freedom, not up to eight
    /// (a sum of jointly normal variables is observed five times as well).
    #[test]
    fn repeats_of_one_mark_share_their_freedom() {
        let spread = |mark, i, effect| Part { source: Source::Spread(mark, i), effect, freedom: 4.0 };
        let one = Estimate::from_parts(0.0, vec![spread(1, 0, 2.0), spread(1, 1, -3.0)]);
        assert!((one.freedom() - 4.0).abs() < 1e-12);
        let two = Estimate::from_parts(0.0, vec![spread(1, 0, 2.0), spread(2, 0, 2.0)]);
        assert!((two.freedom() - 8.0).abs() < 1e-12);
        assert!(Estimate::with_freedom(1.0, Source::Spread(1, 0), 1.0, 0.0).half_width().is_infinite());
    }

    #[test]
    fn budget_is_sorted_and_adds_up_to_one() {
        let causes = parts(&[(1.0, 1.0), (-4.0, 1.0), (2.0, 1.0)]).budget();
        let effects: Vec<f64> = causes.iter().map(|c| c.effect).collect();
        assert_eq!(effects, [-4.0, 2.0, 1.0]);
        assert!((causes.iter().map(|c| c.share).sum::<f64>() - 1.0).abs() < 1e-12);
    }

    #[test]
    fn covariance_is_what_is_shared() {
        let (s, d) = (Source::Known(1), Source::Click(1, 0, 0));
        let a =
            Estimate::combine(5.0, &[(1.0, &Estimate::of(1.0, s, 3.0)), (1.0, &Estimate::of(4.0, d, 4.0))]);
        let b = Estimate::of(2.0, s, 0.5).times(-2.0);
        assert_eq!(a.covariance(&b), -3.0);
        assert!((a.correlation(&b) + 0.6).abs() < 1e-12);
        assert_eq!(a.correlation(&Estimate::exact(1.0)), 0.0);
        assert!(a.minus(&a).u() == 0.0 && (a.plus(&a).u() - 10.0).abs() < 1e-12);
    }

    /// Fieller's theorem: the two ends are the ratios at which a − r·b is exactly 1.96 u from zero.
    #[test]
    fn the_ends_of_a_ratio_are_just_significant() {
        let a = Estimate::of(10.0, Source::Known(1), 1.0);
        let b = Estimate::of(4.0, Source::Known(2), 0.8);
        let interval = ratio_interval(&a, &b).unwrap();
        assert!(interval.plus > 1.2 * interval.minus);
        for r in [2.5 - interval.minus, 2.5 + interval.plus] {
            let apart = Estimate::combine(10.0 - r * 4.0, &[(1.0, &a), (-r, &b)]);
            assert!((apart.value.abs() / apart.u() - 1.959963984540054).abs() < 1e-9);
        }
        assert_eq!(ratio_interval(&a, &Estimate::of(1.0, Source::Known(3), 0.6)), None);
        assert_eq!(ratio_interval(&a, &Estimate::exact(0.0)), None);
        assert_eq!(ratio_interval(&a, &a), Some(Interval { minus: 0.0, plus: 0.0 }));
    }

    proptest! {
        /// The short way of two against the long way of any number: a third that changes nothing.
        #[test]
        fn two_put_together_are_as_many_put_together(
            (a, b) in (prop::collection::vec((0_u16..9, -1e3..1e3), 0..9), prop::collection::vec((0_u16..9, -1e3..1e3), 0..9)),
            (by, of) in (-9.0..9.0, -9.0..9.0),
        ) {
            let of_parts = |list: Vec<(u16, f64)>| {
                let part = |(i, effect)| Part { source: Source::Click(1, i, 0), effect, freedom: f64::INFINITY };
                Estimate::from_parts(1.0, list.into_iter().map(part).collect())
            };
            let (a, b) = (of_parts(a), of_parts(b));
            let nothing = Estimate::exact(0.0);
            prop_assert_eq!(
                Estimate::combine(3.0, &[(by, &a), (of, &b)]),
                Estimate::combine(3.0, &[(by, &a), (of, &b), (1.0, &nothing)])
            );
        }

        #[test]
        fn a_sharp_ratio_is_first_order(a in 1.0..100.0f64, b in 1.0..100.0f64, ua in 1e-6..1e-4f64, ub in 1e-6..1e-4f64) {
            let (a, b) = (Estimate::of(a, Source::Known(1), ua * a), Estimate::of(b, Source::Known(2), ub * b));
            let (exact, first) = (ratio_interval(&a, &b).unwrap(), a.over(&b).half_width());
            prop_assert!((exact.minus / first - 1.0).abs() < 1e-3 && (exact.plus / first - 1.0).abs() < 1e-3);
        }
    }
}
