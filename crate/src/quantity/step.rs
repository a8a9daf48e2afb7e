//! The steps that lengths are rounded to.

use super::units::{MM_PER_INCH, Style};
use crate::fault::{Area, spoil};
use serde::{Deserialize, Serialize};

/// Numbers this near (of the count of steps, relatively) are the same: far above what f64 arithmetic
/// leaves behind, far below what any tape shows.
const NOISE: f64 = 1e-9;
/// The same for a length half way between two steps, where the wrong side is no harm: only what decimals
/// lose in binary.
const HALF_NOISE: f64 = 1e-12;

/// Which way to round. By size, so that a length and its mirror round alike: up is away from zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub enum Direction {
    /// To the nearest step; a length half way goes to the longer one, as a tape is read.
    Nearest,
    /// To the next longer step.
    Up,
    /// To the next shorter step.
    Down,
}

/// The smallest division a length is rounded to. Written as it is read: `"1/16 in"`, `"0.5 mm"`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[allow(missing_docs, reason = "the written form beside each says all")]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub enum Step {
    #[serde(rename = "1 in")]
    Inch,
    #[serde(rename = "1/2 in")]
    Half,
    #[serde(rename = "1/4 in")]
    Quarter,
    #[serde(rename = "1/8 in")]
    Eighth,
    #[serde(rename = "1/16 in")]
    Sixteenth,
    #[serde(rename = "1/32 in")]
    ThirtySecond,
    #[serde(rename = "1/64 in")]
    SixtyFourth,
    #[serde(rename = "0.1 in")]
    TenthInch,
    #[serde(rename = "0.05 in")]
    TwentiethInch,
    #[serde(rename = "0.01 in")]
    HundredthInch,
    #[serde(rename = "0.005 in")]
    FiveThousandthsInch,
    #[serde(rename = "0.001 in")]
    ThousandthInch,
    #[serde(rename = "10 mm")]
    TenMm,
    #[serde(rename = "5 mm")]
    FiveMm,
    #[serde(rename = "2 mm")]
    TwoMm,
    #[serde(rename = "1 mm")]
    OneMm,
    #[serde(rename = "0.5 mm")]
    HalfMm,
    #[serde(rename = "0.2 mm")]
    FifthMm,
    #[serde(rename = "0.1 mm")]
    TenthMm,
}

const FRACTIONS: [Step; 7] = [
    Step::Inch,
    Step::Half,
    Step::Quarter,
    Step::Eighth,
    Step::Sixteenth,
    Step::ThirtySecond,
    Step::SixtyFourth,
];

const INCHES: [Step; 12] = [
    Step::Inch,
    Step::Half,
    Step::Quarter,
    Step::Eighth,
    Step::TenthInch,
    Step::Sixteenth,
    Step::TwentiethInch,
    Step::ThirtySecond,
    Step::SixtyFourth,
    Step::HundredthInch,
    Step::FiveThousandthsInch,
    Step::ThousandthInch,
];

const MILLIMETRES: [Step; 7] =
    [Step::TenMm, Step::FiveMm, Step::TwoMm, Step::OneMm, Step::HalfMm, Step::FifthMm, Step::TenthMm];

/// A step as exact numbers: `times`/`parts` of a unit, and how many decimals show it exactly.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Grain {
    /// The unit, in mm.
    pub unit_mm: f64,
    /// How many parts make a step.
    pub times: u32,
    /// How many parts the unit is cut into.
    pub parts: u32,
    /// Decimals that show every multiple exactly.
    pub decimals: u8,
}

impl Grain {
    /// 0.01 mm: how finely an unrounded metric length is shown.
    pub const HUNDREDTH_MM: Grain = Grain { unit_mm: 1.0, times: 1, parts: 100, decimals: 2 };

    /// How many steps `mm` is, rounded. What can't be counted gives `None`.
    pub fn count(self, mm: f64, direction: Direction) -> Option<i64> {
        let size = mm.abs() / self.unit_mm * f64::from(self.parts) / f64::from(self.times);
        // Above 2^53 steps an f64 no longer holds every whole number.
        if !size.is_finite() || size > 9.0e15 {
            return None;
        }
        let slack = NOISE * size.max(1.0);
        let half = 0.5 + HALF_NOISE * size.max(1.0);
        let steps = match direction {
            Direction::Nearest => libm::floor(size + half * spoil(Area::Rounding, 1.5)),
            Direction::Up => libm::ceil(size - slack),
            Direction::Down => libm::floor(size + slack),
        };
        let steps = steps.max(0.0) as i64;
        Some(if mm < 0.0 { -steps } else { steps })
    }

    /// `count` steps in mm.
    pub fn mm(self, count: i64) -> f64 {
        // Multiplied first and divided last: for a power of two the division is exact, so that
        // 373 sixteenths are bit for bit what `23 5/16` reads as.
        count as f64 * f64::from(self.times) * self.unit_mm / f64::from(self.parts)
    }
}

impl Step {
    /// The steps to offer for a style, coarse to fine. Decimal inches may be rounded to either kind.
    pub fn all(style: Style) -> &'static [Step] {
        match style {
            Style::Inches | Style::FeetInches => &FRACTIONS,
            Style::DecimalInches => &INCHES,
            Style::Millimetres => &MILLIMETRES,
        }
    }

    /// As it is written, such as `1/16 in`.
    pub fn text(self) -> &'static str {
        self.row().0
    }

    /// The step in mm.
    pub fn mm(self) -> f64 {
        self.grain().mm(1)
    }

    /// The same step where it is one of the style's own, else the own step nearest to it in proportion.
    #[must_use]
    pub fn within(self, style: Style) -> Step {
        let own = Step::all(style);
        if own.contains(&self) {
            return self;
        }
        let apart = |s: &Step| (libm::log(s.mm()) - libm::log(self.mm())).abs();
        own.iter().copied().min_by(|a, b| apart(a).total_cmp(&apart(b))).unwrap_or(self)
    }

    /// How many steps `mm` is; `None` where it can't be counted (not a number, or beyond 9e15 steps).
    pub fn count(self, mm: f64, direction: Direction) -> Option<i64> {
        self.grain().count(mm, direction)
    }

    /// `count` steps in mm.
    pub fn counted(self, count: i64) -> f64 {
        self.grain().mm(count)
    }

    /// Whether it is a binary fraction of an inch.
    pub(super) fn is_fraction(self) -> bool {
        FRACTIONS.contains(&self)
    }

    pub(super) fn grain(self) -> Grain {
        let (_, unit_mm, times, parts, decimals) = self.row();
        Grain { unit_mm, times, parts, decimals }
    }

    fn row(self) -> (&'static str, f64, u32, u32, u8) {
        match self {
            Step::Inch => ("1 in", MM_PER_INCH, 1, 1, 0),
            Step::Half => ("1/2 in", MM_PER_INCH, 1, 2, 1),
            Step::Quarter => ("1/4 in", MM_PER_INCH, 1, 4, 2),
            Step::Eighth => ("1/8 in", MM_PER_INCH, 1, 8, 3),
            Step::Sixteenth => ("1/16 in", MM_PER_INCH, 1, 16, 4),
            Step::ThirtySecond => ("1/32 in", MM_PER_INCH, 1, 32, 5),
            Step::SixtyFourth => ("1/64 in", MM_PER_INCH, 1, 64, 6),
            Step::TenthInch => ("0.1 in", MM_PER_INCH, 1, 10, 1),
            Step::TwentiethInch => ("0.05 in", MM_PER_INCH, 1, 20, 2),
            Step::HundredthInch => ("0.01 in", MM_PER_INCH, 1, 100, 2),
            Step::FiveThousandthsInch => ("0.005 in", MM_PER_INCH, 1, 200, 3),
            Step::ThousandthInch => ("0.001 in", MM_PER_INCH, 1, 1000, 3),
            Step::TenMm => ("10 mm", 1.0, 10, 1, 0),
            Step::FiveMm => ("5 mm", 1.0, 5, 1, 0),
            Step::TwoMm => ("2 mm", 1.0, 2, 1, 0),
            Step::OneMm => ("1 mm", 1.0, 1, 1, 0),
            Step::HalfMm => ("0.5 mm", 1.0, 1, 2, 1),
            Step::FifthMm => ("0.2 mm", 1.0, 1, 5, 1),
            Step::TenthMm => ("0.1 mm", 1.0, 1, 10, 1),
        }
    }
}

/// `mm` rounded to whole steps, in mm. What can't be counted comes back as it is.
///
/// A length within 1e-9 of a step, relatively, is on it: noise in the last bits never moves an upward
/// rounding a step further. Half way is taken within 1e-12.
pub fn round(mm: f64, step: Step, direction: Direction) -> f64 {
    step.count(mm, direction).map_or(mm, |count| step.counted(count))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const IN: f64 = 25.4;

    fn check(mm: f64, step: Step, way: Direction, steps: i64) {
        assert_eq!(step.count(mm, way), Some(steps), "{mm} mm in {} {way:?}", step.text());
    }

    #[test]
    fn names_and_sizes_agree() {
        for style in Style::ALL {
            for step in Step::all(style) {
                let json = serde_json::to_string(step).expect("a step is a string");
                assert_eq!(json, format!("\"{}\"", step.text()));
                assert_eq!(serde_json::from_str::<Step>(&json).ok(), Some(*step));
                // The size is what the name says, worked out from the name.
                let (number, unit) = step.text().split_once(' ').expect("number and unit");
                let (top, below) = number.split_once('/').unwrap_or((number, "1"));
                let parts = top.parse::<f64>().and_then(|t| below.parse::<f64>().map(|b| t / b));
                let mm = parts.expect("figures") * if unit == "in" { IN } else { 1.0 };
                assert!((step.mm() - mm).abs() < 1e-15 * mm, "{} is {}", step.text(), step.mm());
                // Its decimals show it exactly, and one fewer would not.
                let shown = |d: i32| (mm / style.unit_mm() * 10_f64.powi(d)).fract();
                let decimals = i32::from(step.grain().decimals);
                assert!(shown(decimals) < 1e-9 && (decimals == 0 || shown(decimals - 1) > 0.01), "{step:?}");
            }
            assert!(Step::all(style).is_sorted_by(|a, b| a.mm() > b.mm()), "coarse to fine");
        }
        assert!(serde_json::from_str::<Step>("\"1/3 in\"").is_err());
    }

    // Issue's worked case (common practice, no source): 17.4 is 17 1/2 to the half inch and 17 3/8 to the
    // eighth; 5.075 is 5 and 5 1/16. The rest by hand.
    #[test]
    fn rounds() {
        use Direction::{Down, Nearest, Up};
        for (mm, step, way, steps) in [
            (17.4 * IN, Step::Half, Nearest, 35),
            (17.4 * IN, Step::Eighth, Nearest, 139),
            (5.075 * IN, Step::Half, Nearest, 10),
            (5.075 * IN, Step::Sixteenth, Nearest, 81),
            (5.05 * IN, Step::Sixteenth, Up, 81),
            (5.05 * IN, Step::Sixteenth, Down, 80),
            // Half way goes to the longer one, on either side of zero, even where binary is a bit short.
            (2.5, Step::OneMm, Nearest, 3),
            (-2.5, Step::OneMm, Nearest, -3),
            (0.15, Step::TenthMm, Nearest, 2),
            (1.005, Step::TenthMm, Nearest, 10),
            (0.3, Step::TenthMm, Down, 3),
            (0.1 + 0.2, Step::TenthMm, Up, 3),
            (-2.1, Step::OneMm, Up, -3),
            (-2.9, Step::OneMm, Down, -2),
            (0.0, Step::TenMm, Up, 0),
            (-0.0, Step::TenMm, Down, 0),
            (1e-12, Step::TenMm, Up, 0),
            (0.01, Step::TenMm, Up, 1),
            (4.0, Step::TenMm, Nearest, 0),
            (368.2, Step::HalfMm, Nearest, 736),
            (17.0, Step::TwoMm, Nearest, 9),
        ] {
            check(mm, step, way, steps);
        }
        for mm in [f64::NAN, f64::INFINITY, 1e300] {
            assert_eq!(Step::TenthMm.count(mm, Nearest), None);
            assert!(round(mm, Step::TenthMm, Nearest).total_cmp(&mm).is_eq(), "comes back as it is");
        }
    }

    #[test]
    fn steps_move_to_the_nearest_of_another_style() {
        for (step, style, own) in [
            (Step::Sixteenth, Style::FeetInches, Step::Sixteenth),
            (Step::Sixteenth, Style::Millimetres, Step::TwoMm),
            (Step::OneMm, Style::Inches, Step::ThirtySecond),
            (Step::HalfMm, Style::Inches, Step::SixtyFourth),
            (Step::HundredthInch, Style::Inches, Step::SixtyFourth),
            (Step::SixtyFourth, Style::Millimetres, Step::HalfMm),
            (Step::TenMm, Style::Inches, Step::Half),
        ] {
            assert_eq!(step.within(style), own, "{} in {style:?}", step.text());
        }
    }

    proptest! {
        /// Noise of 1e-10, relatively, moves no whole number of steps, whichever way it is rounded.
        #[test]
        fn noise_moves_nothing(
            count in -1_000_000_i64..1_000_000,
            noise in -1e-10_f64..1e-10,
            style in prop::sample::select(&Style::ALL[..]),
            pick in 0_usize..12,
        ) {
            let own = Step::all(style);
            let step = own[pick % own.len()];
            let mm = step.counted(count) * (1.0 + noise);
            for way in [Direction::Nearest, Direction::Up, Direction::Down] {
                prop_assert_eq!(step.count(mm, way), Some(count));
            }
        }

        /// Up and down are neighbours around the length, and nearest is the nearer of them.
        #[test]
        fn up_and_down_enclose(mm in -1e5_f64..1e5, pick in 0_usize..7) {
            let step = Step::all(Style::Millimetres)[pick];
            let by = |way| round(mm, step, way).abs();
            let (up, down, near) = (by(Direction::Up), by(Direction::Down), by(Direction::Nearest));
            prop_assert!(down <= mm.abs() + 1e-4 && mm.abs() <= up + 1e-4 && up - down <= step.mm() * 1.000_001);
            prop_assert!((near - mm.abs()).abs() <= step.mm() * 0.5 + 1e-6);
        }
    }
}
