//! Writing bare numbers, percentages, angles and areas.
//!
//! All with the point before decimals: whoever tells a figure to a person sets their language's sign in its place
//! ([`Figure::with_decimal_sign`]).

use super::figure::{Figure, decimal};
use super::units::{MM2_PER_CM2, MM2_PER_SQUARE_INCH, Style};
use crate::json::nearest;

/// What stands between the whole number and its decimals.
pub const DECIMAL_SIGN: char = '.';

/// The most decimals ever written.
const MOST_DECIMALS: u8 = 9;
/// From this many mm² on, an area is shown in cm².
const CM2_FROM: f64 = 10_000.0;
/// Decimals of an angle in degrees.
const ANGLE_DECIMALS: u8 = 1;

/// The number nearest to `text`: ASCII digits, with at most one point among, before or behind them; nothing for any
/// other text. Larger than any number is infinity.
///
/// The standard library's reader would bring its own table of powers, 10 kB that don't pack.
pub fn read_digits(text: &str) -> Option<f64> {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    if !digits(whole) || !digits(part) || whole.len() + part.len() == 0 {
        return None;
    }
    Some(nearest(&[whole, part].concat(), -(part.len() as i64)))
}

/// A number with so many decimals, nearest, half away from zero; at most nine.
pub fn write_number(x: f64, decimals: u8) -> Figure {
    number(x, decimals, "")
}

/// The half-width of a number, rounded up as [`super::write_plus_minus`] does for decimals; never finer
/// than 1e-6.
pub fn write_number_plus_minus(x: f64) -> Figure {
    ceil_significant(x, 6, "")
}

/// A fraction as a percentage: 1.2 is 120 %.
pub fn write_percent(fraction: f64, decimals: u8) -> Figure {
    number(fraction * 100.0, decimals, "%")
}

/// The half-width of a percentage: 0.0123 is 1.3 %; never finer than 0.001 %.
pub fn write_percent_plus_minus(fraction: f64) -> Figure {
    ceil_significant(fraction * 100.0, 3, "%")
}

/// How many decimals a number deserves whose half-width is `half_width`: as many as the half-width is
/// written with (JCGM 100:2008 (GUM) 7.2.6), at most six.
pub fn decimals_for(half_width: f64) -> u8 {
    if !half_width.is_finite() || half_width < 0.0 { 0 } else { significance(half_width, 6).1 }
}

/// An angle in degrees, one decimal.
///
/// # Units
/// `rad` in radians.
pub fn write_angle(rad: f64) -> Figure {
    number(rad.to_degrees(), ANGLE_DECIMALS, "°")
}

/// The half-width of an angle in degrees, rounded up, never finer than 0.1°.
///
/// # Units
/// `rad` in radians.
pub fn write_angle_plus_minus(rad: f64) -> Figure {
    ceil_significant(rad.to_degrees(), ANGLE_DECIMALS, "°")
}

/// An area to four significant digits at the least: square inches, or mm² and from 100 cm² on cm².
///
/// # Units
/// `mm2` in mm².
pub fn write_area(mm2: f64, style: Style) -> Figure {
    let (unit_mm2, unit) = area_unit(mm2, style);
    let value = mm2 / unit_mm2;
    let decimals = match value.abs() {
        v if v < 10.0 => 3,
        v if v < 100.0 => 2,
        v if v < 1000.0 => 1,
        _ => 0,
    };
    number(value, decimals, unit)
}

/// The half-width of an area, rounded up, in the unit that [`write_area`] takes for the area itself.
///
/// # Units
/// `half_width` and `area` in mm².
pub fn write_area_plus_minus(half_width: f64, area: f64, style: Style) -> Figure {
    let (unit_mm2, unit) = area_unit(area, style);
    ceil_significant(half_width / unit_mm2, 3, unit)
}

fn area_unit(mm2: f64, style: Style) -> (f64, &'static str) {
    match style {
        Style::Millimetres if mm2.abs() >= CM2_FROM => (MM2_PER_CM2, "cm²"),
        Style::Millimetres => (1.0, "mm²"),
        _ => (MM2_PER_SQUARE_INCH, "sq in"),
    }
}

fn number(x: f64, decimals: u8, unit: &str) -> Figure {
    let decimals = decimals.min(MOST_DECIMALS);
    let size = x.abs() * ten(decimals);
    if !size.is_finite() || size > 9.0e15 {
        return Figure::unknown(unit);
    }
    // Half way in decimal is seldom half way in binary: allow for the last bits.
    let count = libm::floor(size + 0.5 + 1e-12 * size.max(1.0)) as u128;
    Figure::of_number(x < 0.0, decimal(count, decimals), unit)
}

/// `x` rounded up to two significant digits where the first is 1 or 2, else to one; at most `finest`
/// decimals. Zero is `0`.
pub(super) fn ceil_significant(x: f64, finest: u8, unit: &str) -> Figure {
    if !x.is_finite() || !(0.0..=1e15).contains(&x) {
        return Figure::unknown(unit);
    }
    if x == 0.0 {
        return Figure::of_number(false, "0".to_owned(), unit);
    }
    let (count, decimals, tens) = significance(x, finest);
    Figure::of_number(false, decimal(count * pow10(tens), decimals), unit)
}

/// `x` ≥ 0 rounded up: a count, its decimals, and the zeros to put behind it when it is large.
fn significance(x: f64, finest: u8) -> (u128, u8, u8) {
    let enough = x * (1.0 - 1e-9);
    // From fine to coarse, the first place where at most 29 are needed: 10 to 29 are two digits, and
    // 3 to 9 are what is left of 30 to 90 of the place before.
    let fine = (0..=finest).rev().map(|decimals| (libm::ceil(enough * ten(decimals)), decimals, 0));
    let coarse = (1..=15).map(|tens| (libm::ceil(enough / ten(tens)), 0, tens));
    let found = fine.chain(coarse).find(|(count, ..)| *count <= 29.0);
    let (count, decimals, tens) = found.unwrap_or((libm::ceil(enough), 0, 0));
    (count as u128, decimals, tens)
}

pub(super) fn pow10(n: u8) -> u128 {
    10_u128.pow(u32::from(n.min(30)))
}

/// The same as an f64, for the few that are asked for.
fn ten(n: u8) -> f64 {
    const TENS: [f64; 16] =
        [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15];
    TENS.get(usize::from(n)).copied().unwrap_or_else(|| pow10(n) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::PI;

    fn check(figure: &Figure, text: &str) {
        assert_eq!(figure.with_unit().replace('\u{a0}', " "), text, "{figure:?}");
    }

    // The worked case (common practice, no source): 1 3/4 : 6 is 0.2917, 0.29 by hand. The rest by hand.
    #[test]
    fn writes_numbers() {
        for (x, decimals, text) in [
            (1.75 / 6.0, 4, "0.2917"),
            (1.75 / 6.0, 2, "0.29"),
            (1.2, 3, "1.200"),
            (1.005, 2, "1.01"),
            (-1.005, 2, "−1.01"),
            (-0.004, 2, "0.00"),
            (0.0, 0, "0"),
            (9.9996, 3, "10.000"),
            (0.000_001_5, 200, "0.000001500"),
            (f64::NAN, 2, "—"),
            (1e300, 2, "—"),
        ] {
            check(&write_number(x, decimals), text);
        }
        check(&write_percent(1.2, 1), "120.0 %");
        check(&write_percent_plus_minus(0.0123), "1.3 %");
        check(&write_number_plus_minus(0.000_321), "0.0004");
        check(&write_number_plus_minus(0.0), "0");
    }

    #[test]
    fn decimals_follow_the_half_width() {
        for (half_width, decimals) in
            [(0.0123, 3), (0.034, 2), (0.000_000_1, 6), (0.0, 6), (1.2, 1), (3.4, 0), (f64::NAN, 0)]
        {
            assert_eq!(decimals_for(half_width), decimals, "{half_width}");
        }
    }

    // Against the standard library, bit for bit: the outside check of every case.
    fn read_as_std_does(text: &str) {
        let expected = text.parse::<f64>().ok().map(f64::to_bits);
        assert_eq!(read_digits(text).map(f64::to_bits), expected, "{text}");
    }

    #[test]
    fn reads_digits() {
        let large = ["1".repeat(309), "9".repeat(400), "0".repeat(400) + "7"];
        let halfway =
            ["9007199254740993", "9007199254740992.999999999", "0.1000000000000000055511151231257827"];
        let odd = ["0", "00", "7.", ".5", "007.50", "23.3125", ".", "", "1.2.3"];
        odd.into_iter().chain(halfway).chain(large.iter().map(String::as_str)).for_each(read_as_std_does);
        for text in ["-1", "+1", "1e5", "inf", "NaN", " 1", "1,5", "٣"] {
            assert_eq!(read_digits(text), None, "{text}");
        }
    }

    proptest! {
        #[test]
        fn reads_any_digits(text in "[0-9]{0,30}\\.?[0-9]{0,30}") {
            read_as_std_does(&text);
        }

        #[test]
        fn reads_any_number(x in 0.0..1e18) {
            read_as_std_does(&format!("{x}"));
        }
    }

    // Areas by hand: 1 sq in = 645.16 mm².
    #[test]
    fn writes_angles_and_areas() {
        check(&write_angle(PI / 7.0), "25.7°");
        check(&write_angle(-PI), "−180.0°");
        check(&write_angle_plus_minus(0.001), "0.1°");
        check(&write_angle_plus_minus(0.02), "1.2°");
        for (mm2, style, text) in [
            (645.16, Style::Inches, "1.000 sq in"),
            (25.4 * 25.4 * 9.999, Style::Inches, "9.999 sq in"),
            (645.16 * 123.456, Style::FeetInches, "123.5 sq in"),
            (-645.16 * 12.345, Style::DecimalInches, "−12.35 sq in"),
            (9999.4, Style::Millimetres, "9999 mm²"),
            (12.3456, Style::Millimetres, "12.35 mm²"),
            (10_000.0, Style::Millimetres, "100.0 cm²"),
            (1e6, Style::Millimetres, "10000 cm²"),
        ] {
            check(&write_area(mm2, style), text);
        }
        check(&write_area_plus_minus(123.0, 12_000.0, Style::Millimetres), "1.3 cm²");
        check(&write_area_plus_minus(123.0, 9_000.0, Style::Millimetres), "130 mm²");
        check(&write_area_plus_minus(-1.0, 9_000.0, Style::Millimetres), "— mm²");
    }
}
