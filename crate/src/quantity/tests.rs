//! Reading against hand-made tables, and reading back what was written.

use super::*;
use proptest::prelude::*;

const IN: f64 = 25.4;

/// `text` reads as `mm`, to the last few bits.
fn check(text: &str, style: Style, mm: f64) {
    match read_length(text, style) {
        Ok(got) => assert!((got - mm).abs() <= 4.0 * f64::EPSILON * mm, "{text:?}: {got} is not {mm}"),
        Err(error) => panic!("{text:?}: {error:?}"),
    }
}

/// `text` is refused with `key`, pointing at `at`, `len`.
fn check_refused(text: &str, style: Style, key: &str, at: usize, len: usize) {
    match read_length(text, style) {
        Ok(mm) => panic!("{text:?} was read as {mm}"),
        Err(e) => assert_eq!((e.say.key.as_ref(), e.at, e.len), (key, at, len), "{text:?}: {e:?}"),
    }
}

// Expected values: the fractions' own arithmetic, by hand; the inch is 25.4 mm (1959 agreement).
#[test]
fn reads_inches() {
    for (text, inches) in [
        ("23 5/16", 23.3125),
        ("23-5/16", 23.3125),
        ("23\u{2010}5/16", 23.3125),
        ("23\u{2013}5\u{2044}16", 23.3125),
        ("23 5\u{2044}16", 23.3125),
        ("23\u{a0}5\u{2215}16", 23.3125),
        ("23\u{202f}5/16\u{2009}in", 23.3125),
        ("23⁵⁄₁₆", 23.3125),
        ("23 5 / 16 in.", 23.3125),
        ("  23 5/16\t", 23.3125),
        ("1 1/2 in", 1.5),
        ("1 1/2in", 1.5),
        ("½", 0.5),
        ("1½", 1.5),
        ("1 ½", 1.5),
        ("1-½\"", 1.5),
        ("7⅞″", 7.875),
        ("⅟16", 0.0625),
        ("2 ⅟₁₆", 2.0625),
        ("1/3", 1.0 / 3.0),
        ("14.5", 14.5),
        ("14,5", 14.5),
        (".5", 0.5),
        ("0,125", 0.125),
        ("1,2000", 1.2),
        ("1234,567", 1234.567),
        ("3\"", 3.0),
        ("3''", 3.0),
        ("3”", 3.0),
        ("3’’", 3.0),
        ("3 INCHES", 3.0),
        ("１２．５", 12.5),
        ("１ １／２＂", 1.5),
        ("007", 7.0),
        ("12 3/8 Inch", 12.375),
    ] {
        for style in [Style::Inches, Style::FeetInches, Style::DecimalInches] {
            check(text, style, inches * IN);
        }
    }
}

#[test]
fn reads_feet() {
    for (text, inches) in [
        ("5' 3 1/2\"", 63.5),
        ("5' 3-1/2\"", 63.5),
        ("5'3½\"", 63.5),
        ("5'-3 1/2\"", 63.5),
        ("5' - 3-1/2\"", 63.5),
        ("5′ 3 1⁄2″", 63.5),
        ("5’ 3 1/2”", 63.5),
        ("5ʹ 3 1/2", 63.5),
        ("5ft 3", 63.0),
        ("5ft3in", 63.0),
        ("5 ft. 3 in.", 63.0),
        ("5 feet 3 inches", 63.0),
        ("5' 3.25", 63.25),
        ("5' 3/4", 60.75),
        ("5'¾\"", 60.75),
        ("1 foot", 12.0),
        ("5½'", 66.0),
        ("5 1/2 ft", 66.0),
        ("5.5 ft", 66.0),
        ("5' 14\"", 74.0),
        ("0' 3\"", 3.0),
        ("6' 0\"", 72.0),
    ] {
        for style in Style::ALL {
            check(text, style, inches * IN);
        }
    }
}

#[test]
fn reads_metric() {
    for (text, mm) in [
        ("368 mm", 368.0),
        ("368mm", 368.0),
        ("368 MM", 368.0),
        ("36,8 cm", 368.0),
        ("36.8cm", 368.0),
        ("1.2 m", 1200.0),
        ("1,2 metres", 1200.0),
        ("1½ mm", 1.5),
        ("1200 millimeters", 1200.0),
        ("0.01 mm", 0.01),
        ("100 m", 100_000.0),
    ] {
        for style in Style::ALL {
            check(text, style, mm);
        }
    }
    check("368", Style::Millimetres, 368.0);
    check("36,8", Style::Millimetres, 36.8);
    check("23 5/16 in", Style::Millimetres, 23.3125 * IN);
}

#[test]
fn refuses_with_a_place() {
    for (text, key, at, len) in [
        ("", "read.empty", 0, 0),
        (" \u{a0}\u{2009}", "read.empty", 0, 0),
        ("abc", "read.not-a-figure", 0, 3),
        ("nan", "read.not-a-figure", 0, 3),
        ("inf", "read.not-a-figure", 0, 3),
        ("5 x", "read.unit-unknown", 2, 1),
        ("1e-9", "read.unit-unknown", 1, 1),
        ("0x10", "read.unit-unknown", 1, 1),
        ("3 yards", "read.unit-unknown", 2, 5),
        ("1/0", "read.zero-below", 2, 1),
        ("23 5/00", "read.zero-below", 5, 2),
        ("5/", "read.unfinished", 1, 1),
        ("23 5/", "read.unfinished", 4, 1),
        ("5' 3/", "read.unfinished", 4, 1),
        ("5' -", "read.unfinished", 3, 1),
        ("5.", "read.unfinished", 1, 1),
        ("5. in", "read.unfinished", 1, 1),
        ("/5", "read.unexpected", 0, 1),
        ("5//8", "read.unexpected", 2, 1),
        ("5/8/2", "read.unexpected", 3, 1),
        ("+5", "read.unexpected", 0, 1),
        ("--5", "read.unexpected", 0, 1),
        ("23--5/16", "read.unexpected", 2, 1),
        ("5-3", "read.unexpected", 1, 1),
        ("5\u{301}", "read.unexpected", 1, 1),
        ("<b>5</b>", "read.unexpected", 0, 1),
        ("²", "read.unexpected", 0, 1),
        ("5₁⁄₂", "read.unexpected", 1, 1),
        ("-5", "read.negative", 0, 1),
        ("\u{2212}5 1/2", "read.negative", 0, 1),
        ("  - ½", "read.negative", 2, 1),
        ("0", "read.zero", 0, 1),
        ("0' 0\"", "read.zero", 0, 5),
        ("0/16", "read.zero", 0, 4),
        ("↉", "read.zero", 0, 1),
        ("0.001 mm", "read.too-short", 0, 8),
        ("101 m", "read.too-long", 0, 5),
        ("999999999999999999999999999999", "read.too-long", 0, 30),
        ("1,200", "read.thousands", 0, 5),
        ("12,345 mm", "read.thousands", 0, 6),
        ("1.2.3", "read.two-decimal-signs", 3, 1),
        ("1,200.5", "read.two-decimal-signs", 5, 1),
        ("235/16", "read.fraction-of-one-or-more", 0, 6),
        ("1 5/4", "read.fraction-of-one-or-more", 2, 3),
        ("16/16", "read.fraction-of-one-or-more", 0, 5),
        ("2.5 1/2", "read.fraction-after-decimals", 4, 3),
        ("1.5/2", "read.decimals-in-fraction", 0, 3),
        ("1/2.5", "read.decimals-in-fraction", 2, 3),
        ("23 - 5/16", "read.spaced-dash", 3, 1),
        ("23 -5/16", "read.spaced-dash", 3, 1),
        ("23- 5/16", "read.spaced-dash", 2, 1),
        ("5 3", "read.two-numbers", 2, 1),
        ("5 3\"", "read.two-numbers", 2, 1),
        ("½ ½", "read.two-numbers", 2, 1),
        ("1 200 mm", "read.two-numbers", 2, 3),
        ("3\" 1/2", "read.two-numbers", 3, 1),
        ("1 m 20 cm", "read.two-numbers", 4, 2),
        ("5.5' 3\"", "read.whole-feet", 0, 3),
        ("5½' 3\"", "read.whole-feet", 0, 2),
        ("5' 3 mm", "read.inches-after-feet", 5, 2),
        ("5' 3'", "read.inches-after-feet", 4, 1),
        ("5' 3 x", "read.unit-unknown", 5, 1),
        ("5' x", "read.not-a-figure", 3, 1),
        ("5 in in", "read.not-a-figure", 5, 2),
        ("3 1/2\" ?", "read.unexpected", 7, 1),
    ] {
        check_refused(text, Style::Inches, key, at, len);
    }
    check_refused("23 5/16", Style::Millimetres, "read.fraction-needs-unit", 0, 7);
    check_refused("½", Style::Millimetres, "read.fraction-needs-unit", 0, 1);
    check_refused(&"1".repeat(65), Style::Inches, "read.too-much-text", 64, 1);
}

#[test]
fn reads_ratios() {
    for (text, ratio) in [
        ("1:12", (1.0, 12.0)),
        ("2 : 1", (2.0, 1.0)),
        ("1/12", (1.0, 12.0)),
        ("1:2,5", (1.0, 2.5)),
        ("50 %", (50.0, 100.0)),
        ("112.5%", (112.5, 100.0)),
        ("1∶48", (1.0, 48.0)),
    ] {
        assert_eq!(read_ratio(text), Ok(ratio), "{text:?}");
    }
    for (text, key, at) in [
        ("", "read.ratio-bare", 0),
        ("12", "read.ratio-bare", 0),
        ("1:0", "read.ratio-zero", 2),
        ("0 %", "read.ratio-zero", 0),
        ("-1:2", "read.ratio-negative", 0),
        ("1:-2", "read.ratio-negative", 2),
        ("1:", "read.unfinished", 1),
        (":2", "read.unexpected", 0),
        ("1:2:3", "read.unexpected", 3),
        ("1 2", "read.two-numbers", 2),
        ("1:x", "read.not-a-figure", 2),
        ("½:1", "read.two-numbers", 0),
    ] {
        let error = read_ratio(text).expect_err(text);
        assert_eq!((error.say.key.as_ref(), error.at), (key, at), "{text:?}");
    }
}

fn any_style() -> impl Strategy<Value = Style> {
    prop::sample::select(&Style::ALL[..])
}

fn any_step() -> impl Strategy<Value = (Style, Step)> {
    any_style().prop_flat_map(|style| (Just(style), prop::sample::select(Step::all(style))))
}

fn any_direction() -> impl Strategy<Value = Direction> {
    prop::sample::select(&[Direction::Nearest, Direction::Up, Direction::Down][..])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// What is written reads back as the rounded length.
    #[test]
    fn written_reads_back(mm in 30.0_f64..90_000.0, (style, step) in any_step(), way in any_direction()) {
        let rounded = round(mm, step, way);
        let figure = write_length(mm, style, step, way);
        for text in [figure.text.clone(), figure.with_unit()] {
            let read = read_length(&text, style).map_err(|e| TestCaseError::fail(format!("{text}: {e:?}")))?;
            prop_assert!((read - rounded).abs() <= 1e-12 * rounded, "{} -> {} -> {}", mm, text, read);
        }
    }

    /// An unrounded figure reads back within half of its last decimal; half way is taken within 1e-12.
    #[test]
    fn unrounded_reads_back(mm in 0.1_f64..90_000.0, style in any_style()) {
        let half = if style.is_metric() { 0.005 } else { 0.0005 * IN };
        let text = write_unrounded(mm, style).text;
        let read = read_length(&text, style).map_err(|e| TestCaseError::fail(format!("{text}: {e:?}")))?;
        prop_assert!((read - mm).abs() <= half + 2e-12 * mm, "{} -> {} -> {}", mm, text, read);
    }

    /// A half-width is never written smaller, and never more than doubled once it is above the finest.
    #[test]
    fn plus_minus_is_rounded_up(tenth in 0.0_f64..5.0, style in any_style()) {
        let mm = 0.3 * libm::pow(10.0, tenth);
        let text = write_plus_minus(mm, style).text;
        let read = read_length(&text, style).map_err(|e| TestCaseError::fail(format!("{text}: {e:?}")))?;
        prop_assert!(read >= mm * (1.0 - 1e-8) && read <= 2.0 * mm, "{} -> {} -> {}", mm, text, read);
    }

    /// No text of any kind brings reading down, and what it points at is in the text.
    #[test]
    fn any_text_is_safe(text in "[0-9 /'\"½⅟⁵₁.,:%a-z\\-−⁄ \u{0}\u{200b}💥]{0,70}", style in any_style()) {
        let chars = text.chars().count();
        if let Err(e) = read_length(&text, style) {
            prop_assert!(e.at + e.len <= chars, "{:?}: {:?}", text, e);
        }
        if let Err(e) = read_ratio(&text) {
            prop_assert!(e.at + e.len <= chars, "{:?}: {:?}", text, e);
        }
    }

    #[test]
    fn any_unicode_is_safe(text in "\\PC{0,70}", style in any_style()) {
        let _ = read_length(&text, style);
        let _ = read_ratio(&text);
    }
}
