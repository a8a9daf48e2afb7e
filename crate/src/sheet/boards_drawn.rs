//! Boards on paper: each drawn as large as the sheet has room for, with its running measures and its cuts in order.

use super::boards::{BoardShown, CutShown, Shown, lay, shown};
use super::draw::{Anchor, Drawing};
use super::list::{EDGE, room};
use super::order::{Boards, Paper};
use super::sketch::{FINE, MEDIUM, OUTLINE, Sketch};
use super::write::{ABOVE, LEADING, LEAST, MAIN, SMALL, TITLE, Writing};
use crate::plane::{Finished, Point};
use crate::words::Say;

type P = Point<Finished>;

/// Room above a board for the measures across, and left of it for those along, mm.
const MEASURES: [f64; 2] = [7.0, 20.0];
/// Room below a board, mm.
const BELOW: f64 = 5.0;
/// A board is drawn no higher than this share of a sheet, and no piece of wood larger than in life.
const HIGHEST: f64 = 0.62;
/// A short mark at an edge, mm.
const TICK: f64 = 2.0;

/// The sheets.
///
/// # Errors
/// As [`room`] and [`lay`].
pub fn drawings(boards: &Boards, paper: &Paper, words: &Writing<'_>) -> Result<Vec<Drawing>, Say> {
    let room = room(paper)?;
    let all = shown(boards, &lay(boards)?, words);
    let mut sheets = Sheets { title: &boards.title, words, room, done: Vec::new(), open: None };
    sheets.all(&all);
    sheets.close();
    Ok(sheets.done)
}

struct Sheets<'a, 'b> {
    title: &'a str,
    words: &'b Writing<'b>,
    room: [f64; 2],
    done: Vec<Drawing>,
    /// The sheet that is being written, and how far down it is.
    open: Option<(Sketch<'b>, f64)>,
}

impl<'b> Sheets<'_, 'b> {
    fn all(&mut self, all: &Shown) {
        for lot in &all.lots {
            if lot.boards.is_empty() && lot.lines.is_empty() {
                continue;
            }
            // A heading alone at a sheet's foot is of no use.
            let first = lot.boards.first().map_or(0.0, |b| self.high(b));
            let many = lot.lines.len() as f64 + 1.0;
            self.with_room(many * MAIN * LEADING * 1.1 + first);
            self.line(&lot.title, MAIN * 1.1, true);
            for line in &lot.lines {
                self.line(line, MAIN * 0.9, false);
            }
            for board in &lot.boards {
                self.board(board);
            }
        }
        self.line(&self.words.word("sheet.boards-measured"), MAIN * 0.9, false);
        self.line(&self.words.word("sheet.boards-note"), MAIN * 0.9, true);
        self.line(&self.words.made(), MAIN * 0.9, false);
    }

    fn with_room(&mut self, high: f64) -> &mut (Sketch<'b>, f64) {
        if self.open.as_ref().is_some_and(|(_, y)| y + high > self.room[1]) {
            self.close();
        }
        let (title, words) = (self.title.to_owned(), self.words);
        self.open.get_or_insert_with(|| {
            let mut sketch = Sketch::new(words);
            sketch.block(P::new(0.0, 0.0), &[(title, TITLE * 0.8, true)]);
            (sketch, TITLE * 0.8 * LEADING)
        })
    }

    fn line(&mut self, text: &str, size: f64, bold: bool) {
        for line in self.words.wrap(text, size, bold, self.room[0]) {
            let (sketch, y) = self.with_room(size * LEADING);
            sketch.block(P::new(0.0, *y), &[(line, size, bold)]);
            *y += size * LEADING;
        }
    }

    /// How many mm of paper stand for a mm of wood.
    fn scale(&self, board: &BoardShown) -> f64 {
        let [w, h] = [self.room[0] - MEASURES[1] - 1.0, self.room[1] * HIGHEST];
        (w / board.size[0].max(1.0)).min(h / board.size[1].max(1.0)).min(1.0)
    }

    fn texts(&self, board: &BoardShown) -> Vec<String> {
        board.lines.iter().flat_map(|l| self.words.wrap(l, SMALL, false, self.room[0])).collect()
    }

    fn high(&self, board: &BoardShown) -> f64 {
        let lines = self.texts(board).len() as f64;
        MAIN * LEADING + MEASURES[0] + board.size[1] * self.scale(board) + lines * SMALL * LEADING + BELOW
    }

    fn board(&mut self, board: &BoardShown) {
        let (high, scale, texts) = (self.high(board), self.scale(board), self.texts(board));
        let (sketch, y) = self.with_room(high);
        sketch.block(P::new(0.0, *y), &[(board.label.clone(), MAIN * 0.9, true)]);
        let corner = [MEASURES[1], *y + MAIN * LEADING + MEASURES[0]];
        draw(sketch, board, corner, scale);
        let mut at = corner[1] + board.size[1] * scale + 1.5;
        for text in texts {
            sketch.block(P::new(MEASURES[1], at), &[(text, SMALL, false)]);
            at += SMALL * LEADING;
        }
        *y += high;
    }

    fn close(&mut self) {
        if let Some((mut sketch, _)) = self.open.take() {
            sketch.reach([0.0, 0.0, self.room[0], self.room[1]]);
            let mut drawing = sketch.finish(self.title, EDGE / 2.0);
            drawing.small = true;
            self.done.push(drawing);
        }
    }
}

/// A board with its upper left corner at `corner`.
fn draw(sketch: &mut Sketch<'_>, board: &BoardShown, corner: [f64; 2], scale: f64) {
    let at = |x: f64, y: f64| P::new(corner[0] + x * scale, corner[1] + y * scale);
    let ring = |x: f64, y: f64, w: f64, h: f64| [at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)];
    let [long, wide] = board.size;
    sketch.lines(&ring(0.0, 0.0, long, wide), true, OUTLINE);
    for s in &board.spots {
        let [a, b, c, d] = ring(s.at[0], s.at[1], s.over[0], s.over[1]);
        sketch.lines(&[a, b, c, d], true, MEDIUM);
        sketch.lines(&[a, c], false, FINE);
        sketch.lines(&[b, d], false, FINE);
    }
    for piece in &board.pieces {
        let ([x, y], [w, h]) = (piece.at, piece.over);
        sketch.lines(&ring(x, y, w, h), true, MEDIUM);
        let lines = [(piece.letter.as_str(), true), (piece.text.as_str(), false)];
        within(sketch, at(x, y), [w * scale, h * scale], lines);
    }
    measures(sketch, board, corner, scale);
}

/// A piece's letter and size in its middle, along its longer side; smaller or the letter alone where there is little room.
fn within(sketch: &mut Sketch<'_>, corner: P, room: [f64; 2], lines: [(&str, bool); 2]) {
    let upright = room[1] > room[0];
    let [long, short] = if upright { [room[1], room[0]] } else { room };
    let middle = P::new(corner.x + room[0] / 2.0, corner.y + room[1] / 2.0);
    let turn = if upright { -std::f64::consts::FRAC_PI_2 } else { 0.0 };
    let words = sketch.words;
    let fits = |text: &str, size: f64, bold: bool, rows: f64| {
        words.width(text, size, bold) + 1.0 < long && rows * size * 1.15 < short
    };
    // Down from the middle, as the writing runs.
    let down =
        |by: f64| if upright { P::new(middle.x + by, middle.y) } else { P::new(middle.x, middle.y + by) };
    let [(letter, _), (size_text, _)] = lines;
    let sizes = [MAIN, SMALL, LEAST];
    if let Some(s) = sizes.into_iter().find(|s| fits(size_text, *s, false, 2.2)) {
        sketch.text(down(-0.25 * s), s, turn, Anchor::Middle, true, letter);
        sketch.text(down(0.95 * s), s, turn, Anchor::Middle, false, size_text);
        return;
    }
    let both = format!("{letter}  {size_text}");
    if let Some(s) = sizes.into_iter().find(|s| fits(&both, *s, true, 1.0)) {
        sketch.text(down(0.36 * s), s, turn, Anchor::Middle, true, &both);
    } else if let Some(s) = sizes.into_iter().find(|s| fits(letter, *s, true, 1.0)) {
        sketch.text(down(0.36 * s), s, turn, Anchor::Middle, true, letter);
    }
}

/// The places of the cuts, from the left end above the board, from the upper edge at its left; each once, and none where another
/// figure stands.
fn measures(sketch: &mut Sketch<'_>, board: &BoardShown, corner: [f64; 2], scale: f64) {
    for across in [true, false] {
        let mut own: Vec<&CutShown> = board.cuts.iter().filter(|c| c.cut.across == across).collect();
        // The first cuts matter most where there isn't room for all figures.
        crate::order::sort_by_key(&mut own, |c| c.cut.level);
        let mut told: Vec<&str> = Vec::new();
        let mut taken: Vec<[f64; 2]> = Vec::new();
        for c in own {
            let text = c.text.as_str();
            if told.contains(&text) {
                continue;
            }
            told.push(text);
            let place = corner[usize::from(!across)] + c.cut.at * scale;
            let edge = corner[usize::from(across)];
            let point = |out: f64| if across { P::new(place, edge - out) } else { P::new(edge - out, place) };
            sketch.lines(&[point(0.0), point(TICK)], false, MEDIUM);
            let long = if across { sketch.words.width(text, LEAST, false) } else { LEAST };
            let [from, to] = [place - long / 2.0 - 1.0, place + long / 2.0];
            if taken.iter().any(|[a, b]| from < *b && *a < to) {
                continue;
            }
            taken.push([from, to]);
            if across {
                sketch.text(P::new(place, edge - TICK - 0.8), LEAST, 0.0, Anchor::Middle, false, text);
            } else {
                let base = place + LEAST * (ABOVE / 2.0 - 0.04);
                sketch.text(P::new(edge - TICK - 0.8, base), LEAST, 0.0, Anchor::End, false, text);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Item, Lot, Spot};
    use crate::sheet::order::Stack;
    use crate::sheet::trial::{look, order, texts};
    use crate::sheet::write::estimate;

    fn boards() -> Boards {
        let item = |part: u32, copy: u32, a: f64, b: f64| Item { part, copy, size: [a, b], turns: false };
        let items = vec![
            item(1, 0, 1800.0, 280.0),
            item(1, 1, 1800.0, 280.0),
            item(2, 0, 774.7, 280.0),
            item(2, 1, 774.7, 280.0),
            item(2, 2, 774.7, 280.0),
            item(3, 0, 774.7, 60.0),
            item(4, 0, 1780.0, 800.0),
        ];
        let spots = vec![Spot { board: 0, size: [2440.0, 1220.0], at: [900.0, 20.0], over: [50.0, 50.0] }];
        let lot = Lot { items, boards: vec![[2440.0, 1220.0]], kerf: 3.2, spots, ..Lot::default() };
        let letters =
            vec![(1, "A".to_owned()), (2, "B".to_owned()), (3, "C".to_owned()), (4, "D".to_owned())];
        let title = "plywood 3/4".to_owned();
        Boards {
            title: "Boards".to_owned(),
            lots: vec![Stack { name: "p".to_owned(), title, sheets: true, letters, lot }],
        }
    }

    /// Every piece is named, every sheet is one sheet of paper, and each figure beside a board is a place of one of its cuts.
    #[test]
    fn boards_fill_sheets() {
        let mut order = order();
        order.words.extend(
            ["sheet.cuts-across", "sheet.cuts-along"].map(|k| (k.to_owned(), "{turn}. {places}".to_owned())),
        );
        let words = Writing::new(&order, &estimate);
        let boards = boards();
        let made = drawings(&boards, &order.paper, &words).unwrap();
        look("boards-0", &made[0]);
        let plan = crate::sheet::plan::plan(&made, &order.paper, &words).unwrap();
        assert_eq!(plan.sheets.len(), made.len());
        let all: Vec<&str> = made.iter().flat_map(texts).collect();
        for (letter, many) in [("A", 2), ("B", 3), ("D", 1)] {
            assert_eq!(all.iter().filter(|t| **t == letter).count(), many, "{letter} {all:?}");
        }
        let shown = shown(&boards, &lay(&boards).unwrap(), &words);
        let cuts: Vec<&str> =
            shown.lots[0].boards.iter().flat_map(|b| &b.cuts).map(|c| c.text.as_str()).collect();
        assert!(!cuts.is_empty() && cuts.iter().any(|c| all.contains(c)), "{cuts:?}");
    }
}
