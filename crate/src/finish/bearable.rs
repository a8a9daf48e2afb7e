//! How fine a rounding the plus-or-minus can bear.

use crate::quantity::{Step, Style};

/// Half-widths this near to a step, relatively, are as wide as it.
const NOISE: f64 = 1e-9;

/// The finest of the style's steps that is not finer than the half-width.
///
/// Then the last division shown still means something, and rounding (half a step at most) is never lost
/// in what the picture leaves open: with ± 1/40 in, thirty-seconds are the finest offered without a word,
/// since 1/64 < 1/40 ≤ 1/32. Our own rule, no source. A half-width wider than every step, or not a number,
/// gives the coarsest.
///
/// # Units
/// `half_width` in mm, at 95 %.
pub fn bearable(half_width: f64, style: Style) -> Step {
    let steps = Step::all(style);
    let coarsest = if style.is_metric() { Step::TenMm } else { Step::Inch };
    // Coarse to fine, so the last that bears it.
    steps.iter().rev().copied().find(|step| !finer_than_bearable(*step, half_width)).unwrap_or(coarsest)
}

/// Whether rounding to `step` claims more than the half-width bears; always, when that is not a number.
///
/// # Units
/// `half_width` in mm, at 95 %.
pub fn finer_than_bearable(step: Step, half_width: f64) -> bool {
    half_width.is_nan() || step.mm() < half_width * (1.0 - NOISE)
}

#[cfg(test)]
mod tests {
    use super::*;

    const IN: f64 = 25.4;

    // By hand from the rule: the finest step ≥ the half-width (our own rule, no source).
    #[test]
    fn the_finest_step_that_bears_it() {
        for (half_width, style, step) in [
            (0.0, Style::Inches, Step::SixtyFourth),
            (IN / 64.0, Style::Inches, Step::SixtyFourth),
            (0.2 * IN / 64.0 + 0.8 * IN / 32.0, Style::Inches, Step::ThirtySecond),
            (IN / 40.0, Style::Inches, Step::ThirtySecond),
            (0.1 * IN, Style::FeetInches, Step::Eighth),
            (0.1 * IN, Style::DecimalInches, Step::TenthInch),
            (0.012 * IN, Style::DecimalInches, Step::SixtyFourth),
            (0.3, Style::Millimetres, Step::HalfMm),
            (0.1 * 3.0 - 0.1, Style::Millimetres, Step::FifthMm),
            (3.0, Style::Millimetres, Step::FiveMm),
            (80.0, Style::Millimetres, Step::TenMm),
            (f64::INFINITY, Style::Inches, Step::Inch),
            (f64::NAN, Style::Inches, Step::Inch),
        ] {
            let got = bearable(half_width, style);
            assert_eq!(got, step, "{half_width} mm in {style:?}: {} instead of {}", got.text(), step.text());
        }
    }

    #[test]
    fn finer_is_told() {
        assert!(finer_than_bearable(Step::SixtyFourth, IN / 40.0));
        assert!(!finer_than_bearable(Step::ThirtySecond, IN / 40.0));
        assert!(!finer_than_bearable(Step::HalfMm, 0.5));
        assert!(finer_than_bearable(Step::TenMm, f64::NAN));
    }
}
