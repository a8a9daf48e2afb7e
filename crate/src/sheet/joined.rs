//! How a sheet is joined to its neighbours: where it is cut, the marks by which it is laid, what goes on top, the straight lines right
//! across and the length to check. Lines first, then words where nothing is in their way.

use super::busy::{Drawn, PAD, WRITTEN};
use super::draw::{Anchor, Drawing, Item, Line, Pen};
use super::free::Quad;
use super::furniture::{BAR, Furniture, NAME, SMALL, THIN, line, ring, small};
use super::joint::{MARK, Match};
use super::plan::{Shown, Whole};
use super::sketch::circle;
use super::write::{ABOVE, BELOW};
use crate::plane::{Finished, Point};
use crate::words::Say;
use std::f64::consts::FRAC_PI_2;

/// Where to cut.
const TRIM: Pen = Pen { width: 0.35, line: Line::Dot };
/// How far from one place to the next words are tried, mm.
const STEP: f64 = 3.0;

/// A line, and the words along it.
struct Along {
    text: String,
    /// It runs across (0) or down (1), from where to where, and lies there.
    axis: usize,
    span: [f64; 2],
    at: f64,
    pen: Pen,
    /// Across it, the base lines that will do, best first.
    base: [f64; 2],
    /// With so many lines through them the words still stand there.
    through: f64,
}

impl Along {
    fn ends(&self) -> [[f64; 2]; 2] {
        self.span.map(|v| if self.axis == 0 { [v, self.at] } else { [self.at, v] })
    }
}

impl Furniture<'_> {
    /// How a sheet is joined to its neighbours, as the whole lies.
    pub fn joints(&self, whole: &Whole, shown: &Shown, drawing: &Drawing) -> Vec<Item> {
        let mut out = Vec::new();
        if whole.joints.iter().all(Vec::is_empty) {
            return out;
        }
        let mut drawn = Drawn::of(drawing, shown.turned, shown.window, self.said);
        let [l, t, r, b] = shown.window;
        let within =
            |m: &&Match| m.at[0] >= l - 0.1 && m.at[0] <= r + 0.1 && m.at[1] >= t - 0.1 && m.at[1] <= b + 0.1;
        let mut written = drawn.texts.clone();
        for mark in whole.matches.iter().filter(within) {
            match_mark(&mut out, mark);
            out.extend(self.numbers(mark, [r, b], &mut written));
            drawn.texts.push(Quad::upright(mark.room()));
        }
        let mut draw = |points: [[f64; 2]; 2], pen: Pen| {
            drawn.lines.push(Quad::line(Point::from(points[0]), Point::from(points[1])));
            out.push(line(&points, pen));
        };
        let mut lines = self.cuts(whole, shown);
        lines.extend(self.straight(whole, shown));
        lines.iter().for_each(|one| draw(one.ends(), one.pen));
        let ends = ends(whole, shown, &mut draw);
        for (letter, places) in ends {
            self.letter(&mut out, &mut drawn, letter, &places, shown.window);
        }
        for words in lines {
            self.along(&mut out, &mut drawn, words);
        }
        out
    }

    /// A match mark's number on either side of the joint, where nothing is `written` and not beyond the window's right and lower edge, where
    /// the sheet's own writing stands: no two marks of a joint are alike without it.
    fn numbers(&self, mark: &Match, [right, bottom]: [f64; 2], written: &mut Vec<Quad>) -> Vec<Item> {
        let ([x, y], r) = (mark.at, MARK);
        let number = mark.number.to_string();
        let wide = self.said.width(&number, SMALL, false);
        let places = if mark.down {
            [([x - 0.9, y - r - 1.2], Anchor::End), ([x + 0.9, y - r - 1.2], Anchor::Start)]
        } else {
            [([x + r + 1.2, y - 0.9], Anchor::Start), ([x + r + 1.2, y + SMALL * 0.66 + 0.9], Anchor::Start)]
        };
        let mut out = Vec::new();
        for (at, anchor) in places {
            let quad = Quad::written(Point::from(at), SMALL, 0.0, anchor, wide, 0.0);
            let [_, _, r, b] = quad.bounds();
            if r <= right && b <= bottom && !written.iter().any(|one| one.overlaps(&quad)) {
                out.push(small(at, anchor, 0.0, number.clone()));
                written.push(quad);
            }
        }
        out
    }

    /// Where it is cut, and which sheet goes on top.
    fn cuts(&self, whole: &Whole, shown: &Shown) -> Vec<Along> {
        let [l, t, r, b] = shown.window;
        let mut out = Vec::new();
        for (axis, own) in [shown.column, shown.row].into_iter().enumerate() {
            let joints = &whole.joints[axis];
            let span = if axis == 0 { [t, b] } else { [l, r] };
            let with = |i: usize| if axis == 0 { (shown.row, i) } else { (i, shown.column) };
            let joint = |i: usize, neighbour: usize| {
                let (row, column) = with(neighbour);
                joints.get(i).copied().filter(|_| whole.makes(row, column))
            };
            let mut cut = |at: f64, text: String, base: f64| {
                let (axis, base) = (1 - axis, [base; 2]);
                out.push(Along { text, axis, span, at, pen: TRIM, base, through: WRITTEN - 1.0 });
            };
            if let Some(at) = own.checked_sub(1).and_then(|i| joint(i, i)) {
                cut(at, self.said.word("sheet.cut-here"), at - 1.0);
            }
            if let Some(at) = joint(own, own + 1) {
                let (row, column) = with(own + 1);
                let words = Say::new("sheet.lies-on-top").count("row", row + 1).count("column", column + 1);
                cut(at, self.said.tell(&words), at + SMALL + 0.6);
            }
        }
        out
    }

    /// The straight lines that run right across the set.
    fn straight(&self, whole: &Whole, shown: &Shown) -> Vec<Along> {
        let [l, t, r, b] = shown.window;
        let of = |(axis, at): (usize, &Option<f64>)| {
            let at = (*at)?;
            let (span, [low, high]) = if axis == 0 { ([l, r], [t, b]) } else { ([t, b], [l, r]) };
            let text = self.said.word("sheet.right-across");
            let (over, under) = (at - 1.0, at + SMALL + 0.4);
            // On its own sheet: beyond the window other things are written.
            let base = match (over - SMALL * ABOVE >= low, under + SMALL * BELOW <= high) {
                (_, false) => [over; 2],
                (false, true) => [under; 2],
                (true, true) => [over, under],
            };
            let line = Along { text, axis, span, at, pen: THIN, base, through: 1.0 };
            (low..=high).contains(&at).then_some(line)
        };
        whole.straight.iter().enumerate().filter_map(of).collect()
    }

    /// Words along a line, as near to its middle as nothing is in their way; none over other words.
    fn along(&self, out: &mut Vec<Item>, drawn: &mut Drawn, words: Along) {
        let [from, to] = words.span;
        let text = self.said.fit(&words.text, SMALL, false, to - from - 2.0);
        let wide = self.said.width(&text, SMALL, false);
        let turn = if words.axis == 0 { 0.0 } else { -1.0 };
        let spare = (to - from - wide) / 2.0 - 1.0;
        let mut best: Option<(f64, Point<Finished>, Quad)> = None;
        for k in 0..2 * (spare / STEP).max(0.0) as usize + 1 {
            let by = k.div_ceil(2) as f64 * if k % 2 == 0 { STEP } else { -STEP };
            for base in words.base {
                let middle = f64::midpoint(from, to) + by;
                let at = Point::from(if words.axis == 0 { [middle, base] } else { [base, middle] });
                let quad = Quad::written(at, SMALL, turn * FRAC_PI_2, Anchor::Middle, wide, PAD);
                let cost = drawn.cost(&quad);
                if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                    best = Some((cost, at, quad));
                }
            }
            if best.as_ref().is_some_and(|(cost, ..)| *cost <= 0.0) {
                break;
            }
        }
        if let Some((_, at, quad)) = best.filter(|(cost, ..)| *cost <= words.through) {
            out.push(small([at.x, at.y], Anchor::Middle, turn, text));
            drawn.texts.push(quad);
        }
    }

    /// A letter at one of its places, where least is in its way and it stays on the sheet; never over other words: its tick is there.
    fn letter(
        &self,
        out: &mut Vec<Item>,
        drawn: &mut Drawn,
        letter: &str,
        places: &[([f64; 2], Anchor)],
        [l, t, r, b]: [f64; 4],
    ) {
        let wide = self.said.width(letter, NAME, true);
        let tried = places.iter().map(|(at, anchor)| {
            let quad = Quad::written(Point::from(*at), NAME, 0.0, *anchor, wide, PAD);
            let [ql, qt, qr, qb] = quad.bounds();
            let on = ql >= l && qt >= t && qr <= r && qb <= b;
            (drawn.cost(&quad) + if on { 0.0 } else { 2.0 * WRITTEN }, *at, *anchor, quad)
        });
        let best = tried.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|(cost, ..)| *cost < WRITTEN);
        let Some((_, at, anchor, quad)) = best else { return };
        drawn.texts.push(quad);
        let text = letter.to_owned();
        out.push(Item::Text {
            at: Point::from(at),
            size: NAME,
            turn: 0.0,
            anchor,
            bold: true,
            ground: false,
            text,
        });
    }
}

/// A letter, and the places that will do for it, each with what of it stands there.
type Letter = (&'static str, Vec<([f64; 2], Anchor)>);

/// The ends of the length to check that lie on this sheet, and where their letters may stand: towards the inside first.
fn ends(whole: &Whole, shown: &Shown, draw: &mut dyn FnMut([[f64; 2]; 2], Pen)) -> Vec<Letter> {
    let [l, t, r, b] = shown.window;
    let Some(ends) = whole.assembled else { return Vec::new() };
    let across = ends[0][1] == ends[1][1];
    let mut out = Vec::new();
    for (letter, [x, y], inward) in [("A", ends[0], 1.0), ("B", ends[1], -1.0)] {
        if x < l || x > r || y < t || y > b {
            continue;
        }
        draw(if across { [[x, y - 4.0], [x, y + 4.0]] } else { [[x - 4.0, y], [x + 4.0, y]] }, BAR);
        let mut places = Vec::new();
        // Beside the line; where that is full, farther from it or along it.
        let near = [0.0, 6.5, 13.0].iter().flat_map(|far| [0.0, 1.0, 2.0, 3.0, -1.0].map(|k| (*far, k)));
        for (far, k) in near.chain((4..10).map(|k| (0.0, f64::from(k)))) {
            for side in [1.0, -1.0] {
                // Its base line above or below the line, or beside it.
                let anchor =
                    if (if across { inward } else { side }) > 0.0 { Anchor::Start } else { Anchor::End };
                let off = side * far;
                places.push(if across {
                    ([x + inward * (1.5 + 6.0 * k), y + off + if side > 0.0 { 6.0 } else { -1.8 }], anchor)
                } else {
                    ([x + off + side * 1.5, y + 2.1 + inward * (3.9 + 6.0 * k)], anchor)
                });
            }
        }
        out.push((letter, places));
    }
    out
}

/// A match mark with a hair cross through its middle.
fn match_mark(out: &mut Vec<Item>, mark: &Match) {
    let [x, y] = mark.at;
    let pen = Pen { width: 0.25, line: Line::Solid };
    let r = MARK;
    let shape = match mark.shape {
        0 => Item::Path { path: circle(Point::new(x, y), r), pen: Some(pen), fill: None },
        1 => ring(&[[x, y - r], [x + r, y], [x, y + r], [x - r, y]], Some(pen), None),
        2 => ring(&[[x, y - r], [x + r, y + r * 0.75], [x - r, y + r * 0.75]], Some(pen), None),
        _ => ring(
            &[[x - 3.2, y - 3.2], [x + 3.2, y - 3.2], [x + 3.2, y + 3.2], [x - 3.2, y + 3.2]],
            Some(pen),
            None,
        ),
    };
    out.push(shape);
    out.push(line(&[[x - r - 0.5, y], [x + r + 0.5, y]], THIN));
    out.push(line(&[[x, y - r - 0.5], [x, y + r + 0.5]], THIN));
}
