//! The size to build: one length that is chosen, or a ratio, which sets every other finished size.

use crate::estimate::{Estimate, Part};
use crate::quantity::{LONGEST_MM, SHORTEST_MM};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// The largest factor between real and finished, and the inverse of the smallest.
pub const LARGEST_FACTOR: f64 = 1e6;

/// Effects this small beside what they are the difference of have cancelled.
const NOISE: f64 = 1e-12;

/// How the finished sizes are set.
#[derive(Clone, Copy, Debug, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Build {
    /// Not chosen yet: there are no finished sizes.
    #[default]
    None,
    /// One mark is to be this long, whatever it is in reality.
    Wanted {
        /// The mark.
        mark: u32,
        /// Its finished length in mm.
        mm: f64,
    },
    /// So much on the thing to be built for so much on the real one: 1 : 12 is a twelfth, 112 : 100 is
    /// 112 per cent.
    Ratio {
        /// On the thing to be built.
        finished: f64,
        /// On the real thing.
        real: f64,
    },
}

impl Build {
    /// `mark` is to finish at `mm`.
    ///
    /// # Errors
    /// Not a number, zero or negative, shorter or longer than a length that can be read.
    pub fn wanted(mark: u32, mm: f64) -> Result<Build, Say> {
        let mm = above_zero(mm)?;
        if mm < SHORTEST_MM * (1.0 - NOISE) {
            return Err(Say::new("build.too-short").length("limit", SHORTEST_MM));
        }
        if mm > LONGEST_MM * (1.0 + NOISE) {
            return Err(Say::new("build.too-long").length("limit", LONGEST_MM));
        }
        Ok(Build::Wanted { mark, mm })
    }

    /// `finished` : `real`.
    ///
    /// # Errors
    /// A term is not a number, zero or negative, or the factor is beyond [`LARGEST_FACTOR`] either way.
    pub fn ratio(finished: f64, real: f64) -> Result<Build, Say> {
        let factor = above_zero(finished)? / above_zero(real)?;
        if (1.0 / LARGEST_FACTOR..=LARGEST_FACTOR).contains(&factor) {
            Ok(Build::Ratio { finished, real })
        } else {
            Err(Say::new("build.ratio-too-far"))
        }
    }

    /// So many per cent of the real size.
    ///
    /// # Errors
    /// As [`Build::ratio`].
    pub fn percent(percent: f64) -> Result<Build, Say> {
        Build::ratio(percent, 100.0)
    }

    /// The same if it is sound: what came from outside may not be.
    ///
    /// # Errors
    /// As [`Build::wanted`] and [`Build::ratio`].
    pub fn checked(self) -> Result<Build, Say> {
        match self {
            Build::None => Ok(self),
            Build::Wanted { mark, mm } => Build::wanted(mark, mm),
            Build::Ratio { finished, real } => Build::ratio(finished, real),
        }
    }

    /// The mark whose real size [`factor`] wants to know.
    pub fn base(self) -> Option<u32> {
        match self {
            Build::Wanted { mark, .. } => Some(mark),
            Build::None | Build::Ratio { .. } => None,
        }
    }
}

/// Finished size over real size; nothing while no size to build is chosen.
///
/// `base` is the real size of the mark that [`Build::base`] names, with its sources; the lengths of a
/// picture without any true length will do, in whatever unit, as long as all are in the same.
///
/// # Errors
/// As [`Build::checked`]; `base` is wanted and missing, or not a length above zero, or the factor is beyond
/// [`LARGEST_FACTOR`] either way.
pub fn factor(build: Build, base: Option<&Estimate>) -> Result<Option<Estimate>, Say> {
    match build.checked()? {
        Build::None => Ok(None),
        Build::Ratio { finished, real } => Ok(Some(Estimate::exact(finished / real))),
        Build::Wanted { mm, .. } => {
            let base = base.ok_or_else(|| Say::new("build.base-unknown"))?;
            if !(base.value.is_finite() && base.value > 0.0) {
                return Err(Say::new("build.base-unknown"));
            }
            let k = mm / base.value;
            if !(1.0 / LARGEST_FACTOR..=LARGEST_FACTOR).contains(&k) {
                return Err(Say::new("build.ratio-too-far"));
            }
            Ok(Some(Estimate::combine(k, &[(-k / base.value, base)])))
        }
    }
}

/// The finished size of a length: real × factor. What both share cancels, so that the mark whose finished
/// length was chosen comes out exact, without any source.
///
/// # Units
/// `real` in mm (or in the unit of [`factor`]'s base), the result in mm. An area wants the factor twice.
#[must_use]
pub fn finished(real: &Estimate, factor: &Estimate) -> Estimate {
    let size = Estimate::combine(real.value * factor.value, &[(factor.value, real), (real.value, factor)]);
    // Of two equal effects with opposite signs the last bit may be left; it is not an effect.
    let shared = |part: &Part| {
        let of = |e: &Estimate, k: f64| {
            let parts = e.parts();
            let found = parts.binary_search_by_key(&part.source, |p| p.source).ok();
            found.and_then(|i| parts.get(i)).map_or(0.0, |p| (p.effect * k).abs())
        };
        of(real, factor.value) + of(factor, real.value)
    };
    let kept = size.parts().iter().filter(|p| p.effect.abs() > NOISE * shared(p)).copied().collect();
    Estimate::from_parts(size.value, kept)
}

fn above_zero(x: f64) -> Result<f64, Say> {
    match x {
        x if !x.is_finite() => Err(Say::new("build.not-a-number")),
        x if x < 0.0 => Err(Say::new("build.negative")),
        0.0 => Err(Say::new("build.zero")),
        x => Ok(x),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::Source;
    use proptest::prelude::*;

    const IN: f64 = 25.4;

    fn check_refused(got: Result<Build, Say>, key: &str) {
        assert_eq!(got.map_err(|say| say.key), Err(key.to_owned()));
    }

    // The worked case (common practice, no source): lengths read 6, 5 and 1 3/4; the 5 is to finish at
    // 14 1/2: the others come to 17.4 and 5.075.
    #[test]
    fn one_wanted_length_sets_the_rest() {
        let read = |value, click| Estimate::of(value, Source::Click(click, 0, 0), 0.01);
        let (six, five, small) = (read(6.0, 1), read(5.0, 2), read(1.75, 3));
        let build = Build::wanted(2, 14.5 * IN).expect("sound");
        assert_eq!(build.base(), Some(2));
        let k = factor(build, Some(&five)).expect("sound").expect("chosen");
        for (real, inches) in [(&six, 17.4), (&five, 14.5), (&small, 5.075)] {
            assert!((finished(real, &k).value - inches * IN).abs() < 1e-12, "{inches}");
        }
        // The wanted length itself is exact; another carries its own click and the base's.
        assert!(finished(&five, &k).parts().is_empty());
        // By hand: u = 14.5/5 · 0.01 · √(1 + (6/5)²), in inches.
        let u = 2.9 * 0.01 * 2.44_f64.sqrt() * IN;
        assert!((finished(&six, &k).u() - u).abs() < 1e-12);
    }

    #[test]
    fn a_shared_scale_cancels() {
        let scale = |value: f64| Estimate::of(value, Source::Known(9), value * 0.02);
        let k =
            factor(Build::Wanted { mark: 1, mm: 100.0 }, Some(&scale(50.0))).expect("sound").expect("chosen");
        assert!(finished(&scale(77.7), &k).parts().is_empty());
    }

    #[test]
    fn ratios_are_exact_factors() {
        for (build, value) in [
            (Build::ratio(1.0, 12.0), 1.0 / 12.0),
            (Build::ratio(2.0, 1.0), 2.0),
            (Build::percent(112.5), 1.125),
        ] {
            let k = factor(build.expect("sound"), None).expect("sound").expect("chosen");
            assert_eq!((k.value, k.parts().len()), (value, 0));
        }
        assert_eq!(factor(Build::None, None), Ok(None));
    }

    #[test]
    fn refuses_what_cannot_be_built() {
        for (x, key) in [
            (0.0, "build.zero"),
            (-0.0, "build.zero"),
            (-1.0, "build.negative"),
            (f64::NAN, "build.not-a-number"),
            (f64::INFINITY, "build.not-a-number"),
        ] {
            check_refused(Build::wanted(1, x), key);
            check_refused(Build::ratio(x, 1.0), key);
            check_refused(Build::ratio(1.0, x), key);
            check_refused(Build::percent(x), key);
            check_refused(Build::Ratio { finished: x, real: 1.0 }.checked(), key);
        }
        check_refused(Build::wanted(1, 1e-9), "build.too-short");
        check_refused(Build::wanted(1, 1e12), "build.too-long");
        check_refused(Build::ratio(1.0, 1.1e6), "build.ratio-too-far");
        check_refused(Build::ratio(1.1e6, 1.0), "build.ratio-too-far");
        let wanted = Build::Wanted { mark: 1, mm: 100.0 };
        for (base, key) in [
            (None, "build.base-unknown"),
            (Some(0.0), "build.base-unknown"),
            (Some(f64::NAN), "build.base-unknown"),
            (Some(1e-9), "build.ratio-too-far"),
        ] {
            let got = factor(wanted, base.map(Estimate::exact).as_ref());
            assert_eq!(got.map_err(|say| say.key), Err(key.to_owned()), "{base:?}");
        }
    }

    #[test]
    fn written_in_words() {
        let build = Build::Ratio { finished: 1.0, real: 12.0 };
        let json = r#"{"kind":"ratio","finished":1.0,"real":12.0}"#;
        assert_eq!(serde_json::to_string(&build).ok().as_deref(), Some(json));
        assert_eq!(serde_json::from_str::<Build>(json).ok(), Some(build));
    }

    proptest! {
        /// The base is exact whatever it is made of, and no other source is lost.
        #[test]
        fn the_base_is_exact(
            effects in prop::collection::vec(-2.0_f64..2.0, 1..8),
            base in 1.0_f64..5000.0,
            other in 1.0_f64..5000.0,
            mm in 1.0_f64..5000.0,
        ) {
            let made = |value: f64, mark: u32| {
                let parts = effects.iter().zip(0_u16..).map(|(effect, i)| Part {
                    source: Source::Click(mark, i, 0), effect: *effect, freedom: f64::INFINITY,
                });
                Estimate::from_parts(value, parts.collect())
            };
            let base = made(base, 1);
            let k = factor(Build::Wanted { mark: 1, mm }, Some(&base)).ok().flatten();
            let Some(k) = k else { return Err(TestCaseError::fail("no factor")) };
            let same = finished(&base, &k);
            prop_assert!((same.value - mm).abs() <= 1e-12 * mm && same.parts().is_empty());
            let real = made(other, 2);
            let size = finished(&real, &k);
            prop_assert_eq!(size.parts().len(), 2 * effects.iter().filter(|e| **e != 0.0).count());
            // u² = (k·u_real)² + (real·u_k)², independent (GUM 5.1.2).
            let u = libm::hypot(k.value * real.u(), real.value * k.u());
            prop_assert!((size.u() - u).abs() <= 1e-12 * u);
        }
    }
}
