//! Writing in rows and columns.

use super::draw::Anchor;
use super::sketch::{FINE, MEDIUM, Sketch};
use crate::plane::{Finished, Point};

type P = Point<Finished>;

/// Type of a table, mm.
const SIZE: f64 = 4.2;
/// From row to row, mm.
pub const ROW: f64 = 6.4;
/// Room at either side of a column, mm.
const SIDE: f64 = 2.0;
/// No column is wider, mm.
const WIDEST: f64 = 90.0;

/// Draws a table with its top left corner at `at`: heads in bold, numbers to the right, words (columns named in `words`)
/// to the left. Gives where it ends, right and below.
pub fn draw(sketch: &mut Sketch<'_>, at: P, heads: &[String], rows: &[Vec<String>], words: &[usize]) -> P {
    let count = heads.len();
    let cell = |row: &[String], i: usize| row.get(i).cloned().unwrap_or_default();
    let wide: Vec<f64> = (0..count)
        .map(|i| {
            let head = sketch.words.width(&heads[i], SIZE, true);
            let own = rows.iter().map(|r| sketch.words.width(&cell(r, i), SIZE, false));
            own.fold(head, f64::max).min(WIDEST) + 2.0 * SIDE
        })
        .collect();
    let right = at.x + wide.iter().sum::<f64>();
    for (k, row) in std::iter::once(heads).chain(rows.iter().map(Vec::as_slice)).enumerate() {
        let top = at.y + ROW * k as f64;
        let base = top + ROW * 0.72;
        let mut x = at.x;
        for (i, wide) in wide.iter().enumerate() {
            let text = sketch.words.fit(&cell(row, i), SIZE, k == 0, wide - SIDE);
            let left = words.contains(&i);
            let (anchor, at) = if left { (Anchor::Start, x + SIDE) } else { (Anchor::End, x + wide - SIDE) };
            sketch.text(P::new(at, base), SIZE, 0.0, anchor, k == 0, &text);
            x += wide;
        }
        let pen = if k == 0 { MEDIUM } else { FINE };
        sketch.lines(&[P::new(at.x, top + ROW), P::new(right, top + ROW)], false, pen);
    }
    P::new(right, at.y + ROW * (rows.len() + 1) as f64)
}
