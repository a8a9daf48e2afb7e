//! A card with two scales: laid on the printed picture, one edge tells its mm or inches, the other what that is finished.

use super::draw::{Anchor, Drawing};
use super::order::Sector;
use super::pattern::below;
use super::sketch::{FINE, MEDIUM, OUTLINE, Sketch};
use super::write::{LEAST, MAIN, SMALL, Writing, clean};
use crate::fault::{Area, spoil};
use crate::plane::{Finished, Point};
use crate::quantity::units::{MM_PER_FOOT, MM_PER_INCH};
use crate::quantity::write_number;
use crate::words::Say;

type P = Point<Finished>;

/// How long the scales are, mm: they fit the short side of Letter and of A4.
pub const LONG: f64 = 180.0;
/// How high the card is, mm.
const HIGH: f64 = 42.0;
/// Divisions stand no closer, mm on the card; numbers no closer than the second.
const CLOSE: [f64; 2] = [0.9, 9.5];

/// One division of a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Division {
    /// From the beginning, mm on the card.
    pub at: f64,
    /// What it stands for, mm.
    pub value: f64,
    /// It carries a number.
    pub numbered: bool,
}

/// What a scale is divided in: the finest, then ever coarser, each a whole number of those before it, mm.
fn ladder(metric: bool) -> Vec<f64> {
    if metric {
        let tens = [0.1, 1.0, 10.0, 100.0, 1000.0, 10_000.0];
        return tens.iter().flat_map(|t| [*t, t * 5.0]).collect();
    }
    let parts = [64.0, 32.0, 16.0, 8.0, 4.0, 2.0, 1.0].map(|p| MM_PER_INCH / p);
    let feet = [0.25, 0.5, 1.0, 5.0, 10.0, 50.0, 100.0].map(|f| MM_PER_FOOT * f);
    parts.into_iter().chain(feet).collect()
}

/// The divisions of a scale on which `ratio` mm are told by each mm, `long` mm in all.
///
/// # Units
/// `ratio` in told mm for a mm of card; `long` in mm of card.
pub fn divisions(ratio: f64, long: f64, metric: bool) -> Vec<Division> {
    let steps = ladder(metric);
    let coarse = |least: f64| steps.iter().copied().find(|s| s / ratio >= least);
    let Some(fine) = coarse(CLOSE[0]) else { return Vec::new() };
    // Numbers stand at whole inches, feet or tens where there is room, else at the coarsest there is.
    let number = coarse(CLOSE[1]).unwrap_or(fine);
    let each = libm::round(number / fine).max(1.0) as usize;
    let count = libm::floor(long * ratio / fine + 1e-9).min(4_000.0) as usize;
    let division = |k: usize| {
        let value = fine * k as f64;
        Division { at: value / ratio * spoil(Area::Stick, 1.001), value, numbered: k.is_multiple_of(each) }
    };
    (0..=count).map(division).collect()
}

/// The card.
///
/// # Errors
/// `sheet.no-ratio` for a ratio that no scale can be made of.
pub fn drawing(sector: &Sector, words: &Writing<'_>) -> Result<Drawing, Say> {
    let ratio = sector.ratio;
    if !(ratio > 1e-3 && ratio < 1e4) {
        return Err(Say::new("sheet.no-ratio"));
    }
    let metric = words.style().is_metric();
    let mut sketch = Sketch::new(words);
    let left = 6.0;
    sketch.lines(
        &[[-left, 0.0], [LONG + left, 0.0], [LONG + left, HIGH], [-left, HIGH]].map(P::from),
        true,
        OUTLINE,
    );
    scale(&mut sketch, &divisions(ratio, LONG, metric), 0.0, 1.0, words);
    scale(&mut sketch, &divisions(1.0, LONG, metric), HIGH, -1.0, words);
    let unit = words.word(if metric { "sheet.unit-mm" } else { "sheet.unit-in" });
    let named = |key: &'static str| words.tell(&Say::new(key).text("unit", unit.clone()));
    sketch.text(P::new(0.0, 15.5), MAIN, 0.0, Anchor::Start, true, &named("sheet.sector-finished"));
    sketch.text(P::new(0.0, HIGH - 12.5), MAIN, 0.0, Anchor::Start, true, &named("sheet.sector-picture"));
    let times =
        words.tell(&Say::new("sheet.sector-times").with("ratio", crate::words::Arg::Number(ratio, 3)));
    sketch.text(P::new(LONG, 15.5), MAIN, 0.0, Anchor::End, false, &times);
    let made = words.fit(&words.made(), SMALL, false, LONG);
    sketch.text(P::new(0.0, HIGH / 2.0 + 1.6), SMALL, 0.0, Anchor::Start, false, &made);
    let mut lines: Vec<(String, f64, bool)> = vec![(words.word("sheet.sector-how"), MAIN, false)];
    lines.extend(sector.lines.iter().take(12).map(|l| (clean(l), MAIN, false)));
    lines.push((words.word("sheet.full-size"), MAIN, true));
    below(&mut sketch, &lines);
    Ok(sketch.finish(&words.word("sheet.sector"), 5.0))
}

/// A scale along the card's edge at `y`, its divisions inward by `way`.
fn scale(sketch: &mut Sketch<'_>, divisions: &[Division], y: f64, way: f64, words: &Writing<'_>) {
    let metric = words.style().is_metric();
    let fine = divisions.get(1).map_or(1.0, |d| d.value);
    let every = divisions.iter().skip(1).position(|d| d.numbered).map_or(1, |i| i + 1);
    let mut free_from = f64::NEG_INFINITY;
    for (k, d) in divisions.iter().enumerate() {
        let half = every.is_multiple_of(2) && k.is_multiple_of((every / 2).max(1));
        let fifth = every.is_multiple_of(10) && k.is_multiple_of((every / 10).max(1));
        let long = if d.numbered {
            5.5
        } else if half {
            4.0
        } else if fifth {
            3.0
        } else {
            2.2
        };
        let pen = if d.numbered { MEDIUM } else { FINE };
        sketch.lines(&[P::new(d.at, y), P::new(d.at, y + way * long)], false, pen);
        if !d.numbered {
            continue;
        }
        let text = number(d.value, metric, fine, words);
        let wide = words.width(&text, SMALL, false);
        if d.at - wide / 2.0 > free_from {
            let base = if way > 0.0 { y + 5.5 + SMALL * 0.85 } else { y - 5.5 - SMALL * 0.25 };
            sketch.text(P::new(d.at, base), SMALL.max(LEAST), 0.0, Anchor::Middle, false, &text);
            free_from = d.at + wide / 2.0 + 1.5;
        }
    }
}

/// A division's number without its unit.
fn number(value: f64, metric: bool, fine: f64, words: &Writing<'_>) -> String {
    use crate::quantity::{Direction, Step, Style, write_length};
    if metric {
        return words.set(write_number(value, if fine < 0.5 && value < 10.0 { 1 } else { 0 })).text;
    }
    // Feet would crowd the card: inches in any case.
    let style = if words.style() == Style::DecimalInches { Style::DecimalInches } else { Style::Inches };
    words.set(write_length(value, style, Step::SixtyFourth, Direction::Nearest)).text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Style;
    use crate::sheet::trial::{look, order, texts};
    use crate::sheet::write::estimate;

    /// By hand.
    #[test]
    fn divisions_by_hand() {
        // One to one in inches: sixteenths are 1.5875 mm, thirty-seconds 0.79, too close; numbers at 12.7 (half inches).
        let one = divisions(1.0, 50.8, false);
        assert_eq!(one.len(), 33);
        assert!((one[16].at - 25.4).abs() < 1e-12 && one[16].numbered && one[8].numbered && !one[4].numbered);
        // Four to one: a finished inch takes 6.35 mm; quarters 1.5875; 1/8 0.79 too close; numbers at 2 in? 12.7 → 3 in.
        let four = divisions(4.0, 50.8, false);
        assert!((four[4].at - 6.35).abs() < 1e-12 && (four[4].value - 25.4).abs() < 1e-12);
        assert!(four[12].numbered && !four[4].numbered, "numbers every 3 in");
        // 4.2 finished mm to a picture's mm: 5 mm take 1.19 mm of card, 50 mm 11.9; at 100 mm of card 420 mm are told.
        let metric = divisions(4.2, 100.0, true);
        assert_eq!(metric.len(), 85);
        assert!((metric[84].at - 100.0).abs() < 1e-9 && metric[84].value == 420.0);
        assert!(
            (metric[10].at - 11.904_761_904_761_905).abs() < 1e-12
                && metric[10].numbered
                && !metric[5].numbered
        );
        assert!(divisions(1e9, 100.0, true).is_empty());
    }

    #[test]
    fn a_card() {
        let mut order = order();
        let sector = Sector { ratio: 4.3275, lines: vec!["Side view; size to build 24 in".to_owned()] };
        let d = drawing(&sector, &Writing::new(&order, &estimate)).unwrap();
        look("sector", &d);
        assert!(texts(&d).contains(&"24"), "{:?}", texts(&d));
        order.style = Style::Millimetres;
        let d = drawing(&sector, &Writing::new(&order, &estimate)).unwrap();
        look("sector-mm", &d);
        assert!(texts(&d).contains(&"500") && texts(&d).contains(&"150"), "{:?}", texts(&d));
        for ratio in [0.0, -1.0, f64::NAN, 1e9] {
            let bad = Sector { ratio, lines: Vec::new() };
            assert_eq!(drawing(&bad, &Writing::new(&order, &estimate)).unwrap_err().key, "sheet.no-ratio");
        }
    }
}
