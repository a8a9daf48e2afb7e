//! Writing lengths.

use super::figure::{FRACTION_SLASH, Figure, decimal, signed, trimmed};
use super::number::{ceil_significant, pow10};
use super::step::{Direction, Grain, Step};
use super::units::{INCHES_PER_FOOT, MM_PER_INCH, Style};

const FOOT: u64 = INCHES_PER_FOOT as u64;
const FOOT_MARK: &str = "\u{2032}";
const INCH_MARK: &str = "\u{2033}";

/// A length as a figure, rounded.
///
/// A step that isn't one of the style's own is replaced by [`Step::within`]. Decimal inches rounded to a
/// fraction are shown exactly (5/16 is 0.3125); decimal steps keep their zeros.
///
/// # Units
/// `mm` in mm. What is not a number, or beyond counting, gives [`Figure::unknown`].
pub fn write_length(mm: f64, style: Style, step: Step, direction: Direction) -> Figure {
    let step = step.within(style);
    let Some(count) = step.count(mm, direction) else {
        return Figure::unknown(plain_unit(style));
    };
    let size = count.unsigned_abs();
    match style {
        Style::Inches | Style::FeetInches => {
            fraction(count < 0, size, step.grain().parts, style == Style::FeetInches)
        }
        Style::DecimalInches | Style::Millimetres => {
            let digits = decimal(in_decimals(size, step.grain()), step.grain().decimals);
            let digits = if step.is_fraction() { trimmed(&digits) } else { digits };
            Figure::of_number(count < 0, digits, plain_unit(style))
        }
    }
}

/// A length before rounding to what a tape shows: inches to 0.001, mm to 0.01.
///
/// # Units
/// `mm` in mm.
pub fn write_unrounded(mm: f64, style: Style) -> Figure {
    let grain = if style.is_metric() { Grain::HUNDREDTH_MM } else { Step::ThousandthInch.grain() };
    let Some(count) = grain.count(mm, Direction::Nearest) else {
        return Figure::unknown(plain_unit(style));
    };
    let size = count.unsigned_abs();
    let thousandths_a_foot = FOOT * 1000;
    if style == Style::FeetInches && size >= thousandths_a_foot {
        let inches = decimal(u128::from(size % thousandths_a_foot), grain.decimals);
        return feet(count < 0, size / thousandths_a_foot, Some(inches), None);
    }
    Figure::of_number(count < 0, decimal(u128::from(size), grain.decimals), plain_unit(style))
}

/// A half-width as a short figure, rounded *up*, so that the truth stays covered.
///
/// - inches: the next of 1/64, 1/32, 3/64, 1/16, 3/32, 1/8, … 3/4, 1, 1 1/2, 2, then whole inches;
///   under 1/128 in, thousandths of an inch as decimals;
/// - decimals: two significant digits where the first is 1 or 2, else one, as JCGM 100:2008 (GUM) 7.2.6
///   has it ("at most two"); never finer than 0.001 in or 0.01 mm.
///
/// # Units
/// `mm` in mm. Negative, infinite or not a number gives [`Figure::unknown`].
pub fn write_plus_minus(mm: f64, style: Style) -> Figure {
    let unit = plain_unit(style);
    if !mm.is_finite() || !(0.0..=1e12).contains(&mm) {
        return Figure::unknown(unit);
    }
    let inches = mm / MM_PER_INCH;
    match style {
        Style::Millimetres => ceil_significant(mm, 2, unit),
        Style::DecimalInches => ceil_significant(inches, 3, unit),
        _ if inches < 1.0 / 128.0 => ceil_significant(inches, 3, unit),
        _ => {
            let (count, parts) = ceil_fraction(inches);
            fraction(false, count, parts, style == Style::FeetInches)
        }
    }
}

/// The least `count`/`parts` of the ladder 1/64, 1/32, 3/64, 1/16, … that is not below `inches`.
fn ceil_fraction(inches: f64) -> (u64, u32) {
    let enough = inches * (1.0 - 1e-9);
    for (count, parts) in (0..=6).rev().flat_map(|k| [(1_u32, 1_u32 << k), (3, 2 << k)]) {
        // 3/128 is not on a tape: from 1/64 the next is 1/32.
        if parts <= 64 && enough <= f64::from(count) / f64::from(parts) {
            return (count.into(), parts);
        }
    }
    (libm::ceil(enough) as u64, 1)
}

/// `count` of 1/`parts` in, reduced, in feet as well where asked and reached.
fn fraction(negative: bool, count: u64, parts: u32, with_feet: bool) -> Figure {
    let parts = u64::from(parts);
    let (inches, over) = (count / parts, count % parts);
    let common = gcd(over, parts);
    let part = (over != 0).then(|| ((over / common).to_string(), (parts / common).to_string()));
    if with_feet && inches >= FOOT {
        return feet(negative, inches / FOOT, Some((inches % FOOT).to_string()), part);
    }
    let whole = (inches != 0 || part.is_none()).then(|| inches.to_string());
    let mut text = signed(negative && count != 0, &inch_text(whole.as_deref(), part.as_ref()));
    if with_feet {
        text.push_str(INCH_MARK);
    }
    let (num, den) = part.unzip();
    Figure { negative: negative && count != 0, feet: None, whole, num, den, unit: "in".to_owned(), text }
}

/// A figure with whole feet in it.
fn feet(negative: bool, feet: u64, whole: Option<String>, part: Option<(String, String)>) -> Figure {
    let inches = inch_text(whole.as_deref(), part.as_ref());
    let feet = feet.to_string();
    let text = signed(negative, &[&feet, FOOT_MARK, " ", &inches, INCH_MARK].concat());
    let (num, den) = part.unzip();
    Figure { negative, feet: Some(feet), whole, num, den, unit: "ft".to_owned(), text }
}

fn inch_text(whole: Option<&str>, part: Option<&(String, String)>) -> String {
    let mut out = whole.unwrap_or_default().to_owned();
    if let Some((num, den)) = part {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(num);
        out.push(FRACTION_SLASH);
        out.push_str(den);
    }
    out
}

/// `count` steps as a whole number of the last decimal.
fn in_decimals(count: u64, grain: Grain) -> u128 {
    // Where the grain is a whole number of the last decimal, as nearly always, nothing wide is divided.
    if let Some(each) = u64::from(grain.times).checked_mul(pow10(grain.decimals) as u64)
        && each.is_multiple_of(u64::from(grain.parts))
    {
        return u128::from(count) * u128::from(each / u64::from(grain.parts));
    }
    u128::from(count) * u128::from(grain.times) * pow10(grain.decimals) / u128::from(grain.parts)
}

fn plain_unit(style: Style) -> &'static str {
    if style.is_metric() { "mm" } else { "in" }
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const IN: f64 = 25.4;

    fn check(figure: &Figure, text: &str, unit: &str) {
        assert_eq!((figure.text.as_str(), figure.unit.as_str()), (text, unit), "{figure:?}");
    }

    // By hand; the carry 11 63/64 -> 1' 0" and the worked case (17.4, 5.075) are common practice, no source.
    #[test]
    fn writes_rounded_lengths() {
        use Direction::{Down, Nearest, Up};
        for (mm, style, step, way, text, unit) in [
            (31.3125 * IN, Style::Inches, Step::Sixteenth, Nearest, "31 5⁄16", "in"),
            (17.4 * IN, Style::Inches, Step::Eighth, Nearest, "17 3⁄8", "in"),
            (17.4 * IN, Style::Inches, Step::Half, Nearest, "17 1⁄2", "in"),
            (5.075 * IN, Style::Inches, Step::Half, Nearest, "5", "in"),
            (0.5 * IN, Style::Inches, Step::SixtyFourth, Nearest, "1⁄2", "in"),
            (0.0, Style::Inches, Step::SixtyFourth, Nearest, "0", "in"),
            (-0.001, Style::Inches, Step::SixtyFourth, Nearest, "0", "in"),
            (-1.5 * IN, Style::Inches, Step::Half, Nearest, "−1 1⁄2", "in"),
            (63.5 * IN, Style::FeetInches, Step::Half, Nearest, "5′ 3 1⁄2″", "ft"),
            (60.25 * IN, Style::FeetInches, Step::Quarter, Nearest, "5′ 0 1⁄4″", "ft"),
            (11.984_375 * IN, Style::FeetInches, Step::SixtyFourth, Nearest, "11 63⁄64″", "in"),
            (11.984_375 * IN, Style::FeetInches, Step::ThirtySecond, Up, "1′ 0″", "ft"),
            (11.99 * IN, Style::FeetInches, Step::Inch, Nearest, "1′ 0″", "ft"),
            (-12.0 * IN, Style::FeetInches, Step::Inch, Nearest, "−1′ 0″", "ft"),
            (0.0, Style::FeetInches, Step::Inch, Nearest, "0″", "in"),
            (23.3125 * IN, Style::DecimalInches, Step::Sixteenth, Nearest, "23.3125", "in"),
            (23.5 * IN, Style::DecimalInches, Step::Sixteenth, Nearest, "23.5", "in"),
            (23.0 * IN, Style::DecimalInches, Step::Sixteenth, Nearest, "23", "in"),
            (20.0 * IN, Style::DecimalInches, Step::Inch, Nearest, "20", "in"),
            (23.5 * IN, Style::DecimalInches, Step::HundredthInch, Nearest, "23.50", "in"),
            (0.054 * IN, Style::DecimalInches, Step::HundredthInch, Down, "0.05", "in"),
            (368.2, Style::Millimetres, Step::HalfMm, Nearest, "368.0", "mm"),
            (368.2, Style::Millimetres, Step::TenthMm, Nearest, "368.2", "mm"),
            (368.2, Style::Millimetres, Step::TenMm, Down, "360", "mm"),
            (-0.04, Style::Millimetres, Step::TenthMm, Nearest, "0.0", "mm"),
            // A step of the other system gives way: 1 mm to 1/32 in, 1/16 in to 2 mm.
            (100.0, Style::Inches, Step::OneMm, Nearest, "3 15⁄16", "in"),
            (101.1, Style::Millimetres, Step::Sixteenth, Nearest, "102", "mm"),
            (f64::NAN, Style::Inches, Step::Half, Nearest, "—", "in"),
            (f64::INFINITY, Style::Millimetres, Step::OneMm, Up, "—", "mm"),
        ] {
            check(&write_length(mm, style, step, way), text, unit);
        }
    }

    #[test]
    fn gives_the_pieces() {
        let some = |s: &str| Some(s.to_owned());
        let figure = write_length(63.5 * IN, Style::FeetInches, Step::Half, Direction::Nearest);
        assert_eq!(
            (figure.feet.clone(), figure.whole.clone(), figure.num.clone(), figure.den.clone()),
            (some("5"), some("3"), some("1"), some("2"))
        );
        assert_eq!(figure.with_unit(), "5′ 3 1⁄2″");
        let bare = write_length(0.75 * IN, Style::Inches, Step::Quarter, Direction::Nearest);
        assert_eq!((bare.whole.clone(), bare.num.clone()), (None, some("3")));
        assert_eq!(bare.with_unit(), "3⁄4\u{a0}in");
        assert!(bare.is_known() && !write_unrounded(f64::NAN, Style::Inches).is_known());
    }

    #[test]
    fn writes_unrounded_lengths() {
        for (mm, style, text, unit) in [
            (17.4 * IN, Style::Inches, "17.400", "in"),
            (17.4 * IN, Style::FeetInches, "1′ 5.400″", "ft"),
            (11.9996 * IN, Style::FeetInches, "1′ 0.000″", "ft"),
            (11.9994 * IN, Style::FeetInches, "11.999", "in"),
            (5.0755 * IN, Style::DecimalInches, "5.076", "in"),
            (441.96, Style::Millimetres, "441.96", "mm"),
            (-0.004, Style::Millimetres, "0.00", "mm"),
            (-1.256, Style::Millimetres, "−1.26", "mm"),
        ] {
            check(&write_unrounded(mm, style), text, unit);
        }
    }

    #[test]
    fn writes_half_widths() {
        for (mm, style, text) in [
            (0.0, Style::Inches, "0"),
            (0.0001, Style::Inches, "0.001"),
            (0.0042 * IN, Style::Inches, "0.005"),
            (0.0079 * IN, Style::Inches, "1⁄64"),
            (IN / 64.0, Style::Inches, "1⁄64"),
            (0.016 * IN, Style::Inches, "1⁄32"),
            (0.04 * IN, Style::Inches, "3⁄64"),
            (0.05 * IN, Style::Inches, "1⁄16"),
            (0.07 * IN, Style::Inches, "3⁄32"),
            (0.2 * IN, Style::Inches, "1⁄4"),
            (0.6 * IN, Style::FeetInches, "3⁄4″"),
            (1.2 * IN, Style::Inches, "1 1⁄2"),
            (2.3 * IN, Style::Inches, "3"),
            (14.5 * IN, Style::FeetInches, "1′ 3″"),
            (0.123, Style::Millimetres, "0.13"),
            (0.034, Style::Millimetres, "0.04"),
            (0.3, Style::Millimetres, "0.3"),
            (0.31, Style::Millimetres, "0.4"),
            (0.96, Style::Millimetres, "1.0"),
            (2.91, Style::Millimetres, "3"),
            (12.3, Style::Millimetres, "13"),
            (96.0, Style::Millimetres, "100"),
            (123.0, Style::Millimetres, "130"),
            (0.001, Style::Millimetres, "0.01"),
            (0.0123 * IN, Style::DecimalInches, "0.013"),
            (0.0004 * IN, Style::DecimalInches, "0.001"),
            (-1.0, Style::Inches, "—"),
            (f64::INFINITY, Style::Millimetres, "—"),
            (f64::NAN, Style::DecimalInches, "—"),
        ] {
            assert_eq!(write_plus_minus(mm, style).text, text, "{mm} mm, {style:?}");
        }
    }
}
