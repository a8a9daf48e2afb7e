//! The cutting list on paper: a table whose cells are broken into lines, on as many sheets as it takes.

use super::draw::{Anchor, Drawing};
use super::joint::Strip;
use super::order::{CuttingList, Paper, Turn};
use super::paper::Stock;
use super::sketch::{FINE, MEDIUM, OUTLINE, Sketch};
use super::write::{ABOVE, LEADING, MAIN, SMALL, TITLE, Writing};
use crate::plane::{Finished, Point};
use crate::words::Say;

type P = Point<Finished>;

/// Room at either side of a cell, mm.
const SIDE: f64 = 1.6;
/// A word that just fits its column still does when widths are added up in another order, mm.
const SPARE: f64 = 0.3;
/// Room above and below its writing, mm.
const OVER: f64 = 1.2;
/// The box to tick, mm: large enough for a pencil.
const BOX: f64 = 5.0;
/// Room kept free inside a sheet's own room, so that rounding never makes two of one, mm.
pub const EDGE: f64 = 1.0;

/// Room on one sheet for what is long rather than high, mm: the paper lies, unless upright is asked for.
///
/// # Errors
/// As [`Stock::of`].
pub fn room(paper: &Paper) -> Result<[f64; 2], Say> {
    let stock = Stock::of(paper)?;
    let upright = stock.size[0] <= stock.size[1];
    let stock = if upright && !stock.roll && paper.turn != Turn::Upright { stock.lying() } else { stock };
    let strip = Strip::of(&stock);
    let [w, h] = stock.printable();
    Ok([w - strip.right - 2.0 * EDGE, h - strip.below - 2.0 * EDGE])
}

/// The list's sheets, each as large as one sheet of the paper has room for: lying, unless upright is asked for, since a row is
/// long.
///
/// # Errors
/// As [`Stock::of`].
pub fn drawings(list: &CuttingList, paper: &Paper, words: &Writing<'_>) -> Result<Vec<Drawing>, Say> {
    let room = room(paper)?;
    let columns = columns(list, room[0], words);
    let mut sheets = Sheets { list, words, room, columns, done: Vec::new(), open: None };
    for row in &list.rows {
        sheets.row(row);
    }
    sheets.rule();
    for line in &list.lines {
        sheets.line(line, false);
    }
    for line in &list.cautions {
        sheets.line(line, true);
    }
    sheets.line(&words.made(), false);
    sheets.close();
    Ok(sheets.done)
}

/// How wide each column is, mm: as wide as it likes where all fit; else those that ask for little get it, and the others share
/// the rest.
fn columns(list: &CuttingList, room: f64, words: &Writing<'_>) -> Vec<f64> {
    let mut wide: Vec<f64> = list
        .heads
        .iter()
        .enumerate()
        .map(|(i, head)| {
            let own = list.rows.iter().filter_map(|r| r.get(i)).map(|t| words.width(t, SMALL, false));
            own.fold(words.width(head, SMALL, true), f64::max) + 2.0 * SIDE + SPARE
        })
        .collect();
    let room = room - BOX - 2.0 * SIDE;
    let total: f64 = wide.iter().sum();
    if total <= room {
        return wide;
    }
    let mut order: Vec<f64> = wide.clone();
    crate::order::sort_by(&mut order, f64::total_cmp);
    let (mut left, mut count) = (room, order.len());
    for w in order {
        if w * count as f64 > left {
            break;
        }
        left -= w;
        count -= 1;
    }
    let share = left / count.max(1) as f64;
    wide.iter_mut().for_each(|w| *w = w.min(share));
    wide
}

/// The sheets as far as they are made.
struct Sheets<'a, 'b> {
    list: &'a CuttingList,
    words: &'b Writing<'b>,
    room: [f64; 2],
    columns: Vec<f64>,
    done: Vec<Drawing>,
    /// The sheet that is being written, and how far down it is.
    open: Option<(Sketch<'b>, f64)>,
}

impl<'b> Sheets<'_, 'b> {
    /// The open sheet with room for `high` mm more, `heads` being needed at the top of a new one.
    fn with_room(&mut self, high: f64, heads: bool) -> &mut (Sketch<'b>, f64) {
        if self.open.as_ref().is_some_and(|(_, y)| y + high > self.room[1]) {
            self.close();
        }
        let (title, words) = (&self.list.title, self.words);
        let cells = heads.then(|| self.wrapped(&self.list.heads, true));
        let columns = &self.columns;
        self.open.get_or_insert_with(|| {
            let mut sketch = Sketch::new(words);
            sketch.block(P::new(0.0, 0.0), &[(title.clone(), TITLE * 0.8, true)]);
            let mut y = TITLE * 0.8 * LEADING;
            if let Some(cells) = cells {
                y = write(&mut sketch, columns, &cells, y, true);
            }
            (sketch, y)
        })
    }

    fn wrapped(&self, row: &[String], bold: bool) -> Vec<Vec<String>> {
        let wrap = |(t, w): (&String, &f64)| self.words.wrap(t, SMALL, bold, w - 2.0 * SIDE);
        row.iter().zip(&self.columns).map(wrap).collect()
    }

    fn row(&mut self, row: &[String]) {
        let cells = self.wrapped(row, false);
        let high = high(&cells);
        let columns = self.columns.clone();
        let (sketch, y) = self.with_room(high, true);
        *y = write(sketch, &columns, &cells, *y, false);
    }

    /// Ends the table.
    fn rule(&mut self) {
        if let Some((_, y)) = &mut self.open {
            *y += 3.0;
        }
    }

    /// A line below the table.
    fn line(&mut self, text: &str, bold: bool) {
        for line in self.words.wrap(text, MAIN * 0.9, bold, self.room[0]) {
            let lines = [(line, MAIN * 0.9, bold)];
            let high = MAIN * 0.9 * LEADING;
            let (sketch, y) = self.with_room(high, false);
            sketch.block(P::new(0.0, *y), &lines);
            *y += high;
        }
    }

    fn close(&mut self) {
        if let Some((mut sketch, _)) = self.open.take() {
            // As large as the sheet has room for, so that each is one of its own.
            sketch.reach([0.0, 0.0, self.room[0], self.room[1]]);
            let mut drawing = sketch.finish(&self.list.title, EDGE / 2.0);
            drawing.small = true;
            self.done.push(drawing);
        }
    }
}

/// How high a row is, mm.
fn high(cells: &[Vec<String>]) -> f64 {
    let lines = cells.iter().map(Vec::len).max().unwrap_or(0).max(1);
    (lines as f64 * SMALL * LEADING).max(BOX) + 2.0 * OVER
}

/// Writes a row from `top` on, with its box to tick and the line under it; where it ends.
fn write(sketch: &mut Sketch<'_>, columns: &[f64], cells: &[Vec<String>], top: f64, head: bool) -> f64 {
    let below = top + high(cells);
    let mut x = BOX + 2.0 * SIDE;
    if !head {
        let at = |x: f64, y: f64| P::new(SIDE + x, top + OVER + y);
        sketch.lines(&[at(0.0, 0.0), at(BOX, 0.0), at(BOX, BOX), at(0.0, BOX)], true, MEDIUM);
    }
    for (lines, wide) in cells.iter().zip(columns) {
        for (i, line) in lines.iter().enumerate() {
            let base = top + OVER + (i as f64 * LEADING + ABOVE) * SMALL;
            sketch.text(P::new(x + SIDE, base), SMALL, 0.0, Anchor::Start, head, line);
        }
        x += wide;
    }
    let pen = if head { OUTLINE } else { FINE };
    sketch.lines(&[P::new(0.0, below), P::new(x, below)], false, pen);
    below
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::trial::{look, order, texts};
    use crate::sheet::write::estimate;

    fn list(rows: usize) -> CuttingList {
        let cells = [
            "A",
            "Fuselage side, a long name",
            "2",
            "3⁄4 in × 5 1⁄2 in × 24 in",
            "24 1⁄2 in: shoulder 24 in + dado 1⁄4 in + dado 1⁄4 in",
            "planed softwood 1 (3⁄4 in), eastern white pine; grain along the length; 2.04 board feet",
            "length measured (mark 2, ± 1⁄32 in); width measured (mark 2, ± 1⁄32 in); thickness chosen",
        ];
        CuttingList {
            title: "Cutting list".to_owned(),
            heads: ["", "part", "how many", "T × W × L", "cut to", "made of", "where it comes from"]
                .map(str::to_owned)
                .to_vec(),
            rows: vec![cells.map(str::to_owned).to_vec(); rows],
            lines: vec!["planed softwood 1: 4 board feet".to_owned()],
            cautions: vec!["Eyes, hearing, dust".to_owned()],
        }
    }

    /// Every sheet of the list is one sheet of paper, nothing is written beside it, and every row has its box.
    #[test]
    fn a_list_fills_sheets() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        for (rows, turn) in [(1, Turn::Fewest), (40, Turn::Fewest), (25, Turn::Upright)] {
            let paper = Paper { turn, ..order.paper.clone() };
            let made = drawings(&list(rows), &paper, &words).unwrap();
            look(&format!("list-{rows}"), &made[0]);
            let plan = crate::sheet::plan::plan(&made, &paper, &words).unwrap();
            assert_eq!(plan.sheets.len(), made.len(), "{rows}");
            let all: Vec<&str> = made.iter().flat_map(texts).collect();
            assert_eq!(all.iter().filter(|t| **t == "A").count(), rows);
            let boxes = made.iter().flat_map(|d| &d.items).filter(|i| is_box(i)).count();
            assert_eq!(boxes, rows, "a box to tick for each");
            for (d, sheet) in made.iter().zip(&plan.sheets) {
                assert!(d.size[0] <= sheet.room[0] + 1e-6 && d.size[1] <= sheet.room[1] + 1e-6);
            }
            assert!(
                all.iter().any(|t| t.contains("hearing")) && all.iter().any(|t| t.contains("4 board feet"))
            );
        }
    }

    fn is_box(item: &crate::sheet::Item) -> bool {
        matches!(item, crate::sheet::Item::Path { pen: Some(pen), .. } if *pen == MEDIUM)
    }
}
