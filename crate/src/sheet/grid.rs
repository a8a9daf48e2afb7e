//! Squares over an outline, and the same squares over the picture: the outline is copied by hand, square by square.

use super::draw::{Anchor, Drawing, Item, Line, Path, Pen, Step};
use super::order::Grid;
use super::outline::{Border, borders, extent};
use super::pattern::{below, title};
use super::sketch::{FINE, MEDIUM, OUTLINE, Sketch};
use super::write::{LEAST, MAIN, SMALL, Writing};
use crate::plane::{Finished, Homography, Point, Vector};
use crate::words::Say;

type P = Point<Finished>;

/// The small drawing with the picture fits into this, mm: any sheet of Letter or A4 holds it.
const SMALL_SHEET: [f64; 2] = [170.0, 200.0];
/// No more squares than this either way.
const MOST: f64 = 300.0;
/// Every so many lines one is heavier.
const HEAVY: usize = 5;
/// Lines of squares: finer than anything that is cut.
const HAIR: Pen = Pen { width: 0.13, line: Line::Solid };

/// Where the squares lie: line 0 is the outline's left, or its foot.
struct Squares {
    left: f64,
    foot: f64,
    columns: usize,
    rows: usize,
    side: f64,
}

/// The squares over the outline at full size, then over the picture (or the outline once more) on a small sheet.
///
/// # Errors
/// As [`extent`]; `sheet.square` for a square that can't be drawn; `sheet.square-many` for too many of them.
pub fn drawings(grid: &Grid, words: &Writing<'_>) -> Result<Vec<Drawing>, Say> {
    let [l, t, r, b] = extent(&grid.of)?;
    let side = grid.square;
    if !(side >= 2.0 && side.is_finite()) {
        return Err(Say::new("sheet.square"));
    }
    // A last square that is only touched by rounding is none.
    let count = |long: f64| libm::ceil(long / side - 1e-6).max(1.0);
    let (columns, rows) = (count(r - l), count(b - t));
    if columns.max(rows) > MOST {
        return Err(Say::new("sheet.square-many").count("count", columns.max(rows) as usize));
    }
    let squares = Squares { left: l, foot: b, columns: columns as usize, rows: rows as usize, side };
    let borders = borders(&grid.of);
    let title = title(&grid.of, words);
    let name = |key: &'static str| words.tell(&Say::new(key).text("what", title.clone()));
    let each = words.tell(&Say::new("sheet.square-each").text("size", words.fine(side)));

    let mut full = Sketch::new(words);
    over(&mut full, &squares, 1.0, &borders);
    let lines = [
        (name("sheet.grid"), MAIN * 1.3, true),
        (each.clone(), MAIN, false),
        (words.word("sheet.full-size"), MAIN, true),
        (words.made(), SMALL, false),
    ];
    below(&mut full, &lines.into());

    let (wide, high) = (columns * side, rows * side);
    let scale = (SMALL_SHEET[0] / wide).min(SMALL_SHEET[1] / high);
    let mut small = Sketch::new(words);
    if let Some(under) = &grid.of.picture {
        let shrink: Homography<Finished, Finished> =
            Homography::from_rows([[scale, 0.0, 0.0], [0.0, scale, 0.0], [0.0, 0.0, 1.0]]);
        let bounds = [l, b - high, l + wide, b].map(|v| v * scale);
        small.items.push(Item::Picture {
            picture: under.picture,
            map: under.map.then(&shrink),
            bounds,
            ink: under.ink,
        });
        small.ground = true;
    }
    over(&mut small, &squares, scale, &borders);
    let lines = [
        (name("sheet.grid-small"), MAIN * 1.3, true),
        (each, MAIN, false),
        (words.word("sheet.not-full-size"), MAIN, true),
        (words.word("sheet.grid-how"), SMALL, false),
        (words.made(), SMALL, false),
    ];
    below(&mut small, &lines.into());
    Ok(vec![
        full.finish(&name("sheet.grid"), 6.0),
        Drawing { small: true, ..small.finish(&name("sheet.grid-small"), 6.0) },
    ])
}

/// Squares with their numbers, and the outline.
fn over(sketch: &mut Sketch<'_>, squares: &Squares, scale: f64, borders: &[Border]) {
    let Squares { left, foot, columns, rows, side } = *squares;
    let x = |k: usize| (left + side * k as f64) * scale;
    let y = |k: usize| (foot - side * k as f64) * scale;
    let pen = |k: usize| if k.is_multiple_of(HEAVY) { FINE } else { HAIR };
    for k in 0..=columns {
        sketch.lines(&[P::new(x(k), y(0)), P::new(x(k), y(rows))], false, pen(k));
    }
    for k in 0..=rows {
        sketch.lines(&[P::new(x(0), y(k)), P::new(x(columns), y(k))], false, pen(k));
    }
    for border in borders {
        let points: Vec<P> = border.points.iter().map(|p| P::new(p.x * scale, p.y * scale)).collect();
        sketch.stroke(scaled(&border.path, scale), &points, true, if scale < 1.0 { MEDIUM } else { OUTLINE });
    }
    // Lines are numbered from the left and from the foot; where they stand close only every second or fifth.
    let size = (side * scale * 0.6).clamp(LEAST, MAIN);
    let every =
        [1, 2, 5, 10, 20, 50].into_iter().find(|n| side * scale * *n as f64 >= size * 2.0).unwrap_or(100);
    for k in (0..=columns).step_by(every) {
        let text = k.to_string();
        sketch.text(P::new(x(k), y(0) + size), size, 0.0, Anchor::Middle, false, &text);
        sketch.text(P::new(x(k), y(rows) - 1.0), size, 0.0, Anchor::Middle, false, &text);
    }
    for k in (0..=rows).step_by(every) {
        let (text, base) = (k.to_string(), y(k) + size * 0.35);
        sketch.text(P::new(x(0) - 2.4, base), size, 0.0, Anchor::End, false, &text);
        sketch.text(P::new(x(columns) + 2.4, base), size, 0.0, Anchor::Start, false, &text);
    }
}

/// A path at another scale.
fn scaled(path: &Path, k: f64) -> Path {
    let at = |p: &P| P::new(0.0, 0.0) + Vector::new(p.x * k, p.y * k);
    let step = |s: &Step| match s {
        Step::Move(p) => Step::Move(at(p)),
        Step::Line(p) => Step::Line(at(p)),
        Step::Cubic(a, b, c) => Step::Cubic(at(a), at(b), at(c)),
        Step::Close => Step::Close,
    };
    Path { steps: path.steps.iter().map(step).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::order::Outline;
    use crate::sheet::trial::{ellipse, look, order, pattern, texts};
    use crate::sheet::write::estimate;

    #[test]
    fn squares_are_numbered_both_ways() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let of = pattern(Outline { rings: vec![ellipse([100.0, 50.0], 101.6, 50.8)], ..Outline::default() });
        let grid = Grid { of, square: 25.4 };
        let all = drawings(&grid, &words).unwrap();
        look("grid", &all[0]);
        look("grid-small", &all[1]);
        // 8 in by 4 in: nine lines up, five across, each numbered at both ends.
        let hair = |d: &Drawing| {
            let line = |i: &&Item| matches!(i, Item::Path { pen: Some(p), .. } if p.width < 0.2);
            d.items.iter().filter(line).count()
        };
        assert_eq!((hair(&all[0]), hair(&all[1])), (14, 14));
        for d in &all {
            assert_eq!(texts(d).iter().filter(|t| **t == "8").count(), 2);
            assert_eq!(texts(d).iter().filter(|t| **t == "4").count(), 4);
        }
        assert!(all[1].size[0] < 200.0 && all[1].size[1] < 260.0);
        assert!(texts(&all[1]).iter().any(|t| t.starts_with("NOT")), "{:?}", texts(&all[1]));
    }

    #[test]
    fn squares_that_can_not_be_drawn() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let of = pattern(Outline { rings: vec![ellipse([0.0, 0.0], 2000.0, 50.0)], ..Outline::default() });
        for (square, key) in [(0.0, "sheet.square"), (f64::NAN, "sheet.square"), (5.0, "sheet.square-many")] {
            let grid = Grid { of: of.clone(), square };
            assert_eq!(drawings(&grid, &words).unwrap_err().key, key);
        }
    }
}
