//! Which sheets there are, and what of which whole lies where on them.

use super::busy::Drawn;
use super::draw::{Anchor, Drawing, Item};
use super::empty::Made;
use super::free::Quad;
use super::joint::{Along, Match, Strip, blocked, matches, seen, straight, window};
use super::order::{Paper, Turn};
use super::pack;
use super::paper::{LONGEST_WHOLE, Stock};
use super::write::Writing;
use crate::words::Say;
use serde::Serialize;

/// More sheets than this are only made when they are asked for on purpose.
pub const MANY: usize = 400;
/// More than this never.
const MOST: usize = 2_000;
/// How much of a sheet's name its part may take, mm at the size of names.
const NAME: f64 = 70.0;
/// A joint keeps this far from writing where it can, mm: it has writing of its own, and no two lines are so far apart.
const BESIDE: f64 = 8.0;
/// How far from a straight line's end its letter may stand, mm.
const ENDS: f64 = 28.0;
/// Room left between wholes on one sheet, mm.
pub const GAP: f64 = 6.0;

/// All sheets of an order.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Plan {
    /// In the order they are printed.
    pub sheets: Vec<Sheet>,
    /// What is drawn, each in one piece.
    pub wholes: Vec<Whole>,
    /// What should be known before printing.
    pub remarks: Vec<Say>,
}

/// One sheet.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sheet {
    /// Its width and height as it is seen, mm.
    pub size: [f64; 2],
    /// What can't be printed on, mm: left, top, right, bottom.
    pub margins: [f64; 4],
    /// What the printer makes of 1, across and down as it is seen.
    pub printer: [f64; 2],
    /// Room for what is drawn, mm as printed, from the corner inside the margins.
    pub room: [f64; 2],
    /// Room beside and below that, for bars and writing.
    pub strip: Strip,
    /// "Wing, row 1, column 2".
    pub name: String,
    /// What lies on it.
    pub shows: Vec<Shown>,
}

/// Part of a whole on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Shown {
    /// Which whole.
    pub whole: usize,
    /// Whether it is turned by a quarter, clockwise.
    pub turned: bool,
    /// Its row, from 0.
    pub row: usize,
    /// Its column, from 0.
    pub column: usize,
    /// What of it is drawn, in mm of the whole as it lies (turned): left, top, right, bottom.
    pub window: [f64; 4],
    /// Where that begins, mm as printed, from the corner inside the margins.
    pub at: [f64; 2],
}

/// What is drawn in one piece, as it lies on the sheets.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Whole {
    /// What it is called.
    pub title: String,
    /// Width and height as it lies, mm.
    pub size: [f64; 2],
    /// Whether it is turned by a quarter.
    pub turned: bool,
    /// It is drawn smaller than it is to be built.
    pub small: bool,
    /// Where its sheets are joined, across and down, mm as it lies.
    pub joints: [Vec<f64>; 2],
    /// The match marks of its joints.
    pub matches: Vec<Match>,
    /// Straight lines right across the set, mm as they lie: one to the right at this height, one down at this place.
    pub straight: [Option<f64>; 2],
    /// The length to check once all is joined: A and B.
    pub assembled: Option<[[f64; 2]; 2]>,
    /// How far its joints can be shifted by hand, mm either way together.
    pub slack: [f64; 2],
    /// Row and column, from 0, of sheets that aren't made because nothing lies on them.
    pub left_out: Vec<[usize; 2]>,
    /// The first sheet it is on.
    pub first: usize,
    /// Its main lines, as it lies, mm: what a small picture of the plan shows.
    pub preview: Vec<Vec<[f64; 2]>>,
}

impl Whole {
    /// Whether that sheet of it is made.
    pub fn makes(&self, row: usize, column: usize) -> bool {
        !self.left_out.contains(&[row, column])
    }
}

/// One way to lay out a whole: the paper's way round and the whole's.
#[derive(Clone, Debug)]
struct Layout {
    stock: Stock,
    strip: Strip,
    turned: bool,
    size: [f64; 2],
    joints: [Vec<f64>; 2],
    clear: bool,
    along: [Along; 2],
    made: Made,
}

impl Layout {
    fn of(drawing: &Drawing, stock: Stock, turned: bool, shift: [f64; 2], said: &Writing<'_>) -> Layout {
        let strip = Strip::of(&stock);
        let [w, h] = stock.printable();
        let [dw, dh] = drawing.size;
        let size = if turned { [dh, dw] } else { [dw, dh] };
        let room = [w - strip.right, h - strip.below];
        let along = [0, 1].map(|axis| Along { length: size[axis], room: room[axis], lap: stock.lap });
        let circles = circles(drawing, turned);
        let cut = |axis: usize| {
            let lines = written(drawing, turned, axis, said);
            // A hole that lies where sheets lap stands on both: no harm, but neither is a lap that is somewhere else.
            let holes = circles.iter().map(|(at, r)| (at[axis] - r - stock.lap, at[axis] + r));
            let soft: Vec<_> = lines.iter().map(|[a, b]| (a - BESIDE, b + BESIDE)).chain(holes).collect();
            along[axis].cut_beside(shift[axis], &blocked(&circles, axis), &soft)
        };
        let [(x, cx), (y, cy)] = [cut(0), cut(1)];
        let made = Made::default();
        let mut way = Layout { stock, strip, turned, size, joints: [x, y], clear: cx && cy, along, made };
        let columns = way.columns();
        let windows: Vec<_> =
            (0..columns * way.rows()).map(|i| way.window(i / columns, i % columns)).collect();
        way.made = Made::of(drawing, turned, columns, &windows, said);
        way
    }

    /// What that sheet shows.
    fn window(&self, row: usize, column: usize) -> [f64; 4] {
        let [l, r] = window(&self.joints[0], column, &self.along[0]);
        let [t, b] = window(&self.joints[1], row, &self.along[1]);
        [l, t, r, b]
    }

    /// All of it is on one sheet.
    fn is_single(&self) -> bool {
        self.joints.iter().all(Vec::is_empty)
    }

    fn columns(&self) -> usize {
        self.joints[0].len() + 1
    }

    fn rows(&self) -> usize {
        self.joints[1].len() + 1
    }

    /// How many sheets are made.
    fn count(&self) -> usize {
        self.made.count()
    }

    fn sheet(&self, name: String, shows: Vec<Shown>) -> Sheet {
        let (mut size, room) = (self.stock.size, [self.along[0].room, self.along[1].room]);
        if self.stock.roll {
            // A roll is cut where the drawing ends, but never too short for the bar down.
            let drawn = shows.iter().map(|s| s.at[1] + s.window[3] - s.window[1]).fold(180.0, f64::max);
            let [_, t, _, b] = self.stock.margins;
            size[1] = size[1].min((drawn + self.strip.below) / self.stock.printer[1] + t + b);
            let room = [room[0], (size[1] - t - b) * self.stock.printer[1] - self.strip.below];
            return Sheet { size, room, ..self.blank(name, shows) };
        }
        Sheet { size, room, ..self.blank(name, shows) }
    }

    fn blank(&self, name: String, shows: Vec<Shown>) -> Sheet {
        let (margins, printer) = (self.stock.margins, self.stock.printer);
        Sheet { size: [0.0; 2], margins, printer, room: [0.0; 2], strip: self.strip, name, shows }
    }
}

/// What joints must not run through, as a whole lies.
fn circles(drawing: &Drawing, turned: bool) -> Vec<([f64; 2], f64)> {
    let lie = |x: f64, y: f64| if turned { [drawing.size[1] - y, x] } else { [x, y] };
    drawing.keep_clear.iter().map(|(p, r)| (lie(p.x, p.y), *r)).collect()
}

/// From where to where each line of writing reaches along `axis`, as a whole lies.
fn written(drawing: &Drawing, turned: bool, axis: usize, said: &Writing<'_>) -> Vec<[f64; 2]> {
    let lines = drawing.items.iter().filter(|item| matches!(item, Item::Text { .. }));
    lines.map(|item| reach(item, drawing, turned, axis, said)).collect()
}

/// From where to where a line of writing reaches along `axis`, as a whole lies.
pub fn reach(item: &Item, drawing: &Drawing, turned: bool, axis: usize, said: &Writing<'_>) -> [f64; 2] {
    let nowhere = [f64::INFINITY, f64::NEG_INFINITY];
    let Item::Text { at, size, turn, anchor, bold, text, .. } = item else { return nowhere };
    let width = said.width(text, *size, *bold);
    let back = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => width / 2.0,
        Anchor::End => width,
    };
    let (c, s) = (libm::cos(*turn), libm::sin(*turn));
    let corners = [(-back, -size), (width - back, -size), (width - back, size * 0.3), (-back, size * 0.3)];
    corners.into_iter().fold(nowhere, |[low, high], (u, v)| {
        let [x, y] = [at.x + u * c - v * s, at.y + u * s + v * c];
        let lies = if turned { [drawing.size[1] - y, x] } else { [x, y] };
        [low.min(lies[axis]), high.max(lies[axis])]
    })
}

/// The sheets of these drawings on this paper.
///
/// # Errors
/// As [`Stock::of`]; `sheet.no-size`, `sheet.too-long`; `sheet.many` (it says how many) unless they are asked for on purpose,
/// `sheet.too-many` even then.
pub fn plan(drawings: &[Drawing], paper: &Paper, said: &Writing<'_>) -> Result<Plan, Say> {
    let stock = Stock::of(paper)?;
    for drawing in drawings {
        if !drawing.size.iter().all(|s| *s > 0.0 && s.is_finite()) {
            return Err(Say::new("sheet.no-size").text("name", drawing.title.clone()));
        }
        if drawing.size.iter().any(|s| *s > LONGEST_WHOLE) {
            let longest = drawing.size[0].max(drawing.size[1]);
            return Err(Say::new("sheet.too-long").length("size", longest));
        }
    }
    let stocks = match paper.turn {
        _ if stock.roll => vec![stock],
        Turn::Fewest => vec![stock, stock.lying()],
        Turn::Upright if stock.size[0] > stock.size[1] => vec![stock.lying()],
        Turn::Lying if stock.size[0] < stock.size[1] => vec![stock.lying()],
        Turn::Upright | Turn::Lying => vec![stock],
    };
    let layouts: Vec<Layout> = drawings
        .iter()
        .enumerate()
        .map(|(i, d)| best(d, &stocks, paper, i, said))
        .collect::<Option<_>>()
        .ok_or_else(|| Say::new("sheet.paper-size").length("longest", LONGEST_WHOLE))?;
    let many: usize = layouts.iter().map(|l| if l.is_single() { 0 } else { l.count() }).sum();
    if many > MANY && !paper.allow_many || many > MOST {
        let key = if many > MOST { "sheet.too-many" } else { "sheet.many" };
        return Err(Say::new(key).count("count", many));
    }
    let wholes = drawings.iter().zip(&layouts).map(|(d, l)| whole(d, l, said)).collect();
    let mut plan = Plan { wholes, ..Plan::default() };
    let single: Vec<usize> = (0..layouts.len()).filter(|i| layouts[*i].is_single()).collect();
    let packed = if stock.roll { None } else { pack::packed(drawings, &single, &stocks, paper) };
    lay_out(&mut plan, &layouts, packed, paper, said);
    for (whole, layout) in plan.wholes.iter().zip(&layouts) {
        if !layout.clear {
            plan.remarks.push(Say::new("sheet.joint-through").text("name", whole.title.clone()));
        }
    }
    Ok(plan)
}

/// The way that takes the fewest sheets; of equals the first: as the paper lies, nothing turned.
fn best(
    drawing: &Drawing,
    stocks: &[Stock],
    paper: &Paper,
    index: usize,
    said: &Writing<'_>,
) -> Option<Layout> {
    let shift =
        paper.shift.get(index).copied().unwrap_or_default().map(|s| if s.is_finite() { s } else { 0.0 });
    let turns: &[bool] = if paper.turn == Turn::Fewest { &[false, true] } else { &[false] };
    let ways = stocks.iter().flat_map(|s| turns.iter().map(move |t| (*s, *t)));
    let mut best: Option<Layout> = None;
    for (stock, turned) in ways {
        let way = Layout::of(drawing, stock, turned, shift, said);
        let better = |b: &Layout| {
            (way.count(), !way.clear) < (b.count(), !b.clear)
                || (stock.roll && way.count() == b.count() && way.size[1] < b.size[1])
        };
        if best.as_ref().is_none_or(better) {
            best = Some(way);
        }
    }
    best
}

fn whole(drawing: &Drawing, layout: &Layout, said: &Writing<'_>) -> Whole {
    let circles = circles(drawing, layout.turned);
    let along = |axis: usize, i: usize| seen(&layout.joints[axis], i, layout.size[axis]);
    let runs = [0, 1].map(|axis| {
        layout.made.run(axis, |i| {
            let [from, to] = along(axis, i);
            to - from
        })
    });
    let [w, h] = layout.size;
    let mut drawn = match layout.is_single() {
        true => Drawn::default(),
        false => Drawn::of(drawing, layout.turned, [0.0, 0.0, w, h], said),
    };
    let made = |row, column| layout.made.has(row, column);
    let busy = |room| drawn.cost(&Quad::upright(room));
    let matches = matches(&layout.joints, layout.size, &circles, made, busy);
    drawn.texts.extend(matches.iter().map(|m| Quad::upright(m.room())));
    let line = |axis: usize| {
        let run = runs[axis]?;
        let [from, to] = [along(axis, run.first)[0], along(axis, run.last)[1]];
        // Its words stand above it; a line that runs beside it is taken for it.
        let busy = |v: f64| {
            let room = |u: [f64; 2], w: [f64; 2]| match axis {
                0 => Quad::upright([u[0], v + w[0], u[1], v + w[1]]),
                _ => Quad::upright([v + w[0], u[0], v + w[1], u[1]]),
            };
            let over = |room: Quad| drawn.texts.iter().filter(|t| t.overlaps(&room)).count();
            // Most of all where the letters of its ends are to stand.
            let ends = [[from, from + ENDS], [to - ENDS, to]].map(|u| over(room(u, [-7.5, 7.5])));
            let over = over(room([from, to], [-5.0, 1.5])) + ends[0] + ends[1];
            let share = drawn.along(axis, [v - 5.0, v + 3.0]) / (to - from);
            10.0 * over as f64 + (100.0 * share - 2.0).max(0.0)
        };
        Some(straight(&layout.joints, layout.size, (axis, run.line), &circles, busy))
    };
    let straight = [line(0), line(1)];
    // Along the longer of the lines, from end to end, a round length.
    let ends =
        [0, 1].map(|axis| runs[axis].map_or([0.0; 2], |r| [along(axis, r.first)[0], along(axis, r.last)[1]]));
    let axis = usize::from(ends[1][1] - ends[1][0] > ends[0][1] - ends[0][0]);
    let assembled = straight[axis].map(|v| {
        let step = if said.style().is_metric() { 10.0 } else { 25.4 };
        let room = ends[axis][1] - ends[axis][0];
        let length = libm::floor((room - 8.0) / step) * step;
        let from = ends[axis][0] + (room - length) / 2.0;
        [from, from + length].map(|u| if axis == 0 { [u, v] } else { [v, u] })
    });
    Whole {
        title: drawing.title.clone(),
        size: layout.size,
        turned: layout.turned,
        small: drawing.small,
        matches,
        straight,
        assembled,
        slack: [layout.along[0].slack(layout.columns()), layout.along[1].slack(layout.rows())],
        joints: layout.joints.clone(),
        left_out: layout.made.left_out(),
        first: 0,
        preview: Vec::new(),
    }
}

/// Sheets in the order of the wholes; packed ones stand where the first whole on them does.
fn lay_out(
    plan: &mut Plan,
    layouts: &[Layout],
    packed: Option<pack::Packed>,
    paper: &Paper,
    said: &Writing<'_>,
) {
    let packed = packed.unwrap_or_default();
    let mut done = vec![false; packed.sheets.len()];
    for (index, layout) in layouts.iter().enumerate() {
        if !layout.is_single() {
            plan.wholes[index].first = plan.sheets.len();
            joined(plan, index, layout, said);
        } else if let Some(at) = packed.sheets.iter().position(|s| s.iter().any(|p| p.whole == index)) {
            if !std::mem::replace(&mut done[at], true) {
                packed_sheet(plan, &packed, at, paper);
            }
        } else {
            plan.wholes[index].first = plan.sheets.len();
            let shown = alone(index, layout, [0.0; 2]);
            plan.sheets.push(layout.sheet(plan.wholes[index].title.clone(), vec![shown]));
        }
    }
}

/// A whole that is all on one sheet.
fn alone(index: usize, layout: &Layout, at: [f64; 2]) -> Shown {
    let [w, h] = layout.size;
    Shown { whole: index, turned: layout.turned, row: 0, column: 0, window: [0.0, 0.0, w, h], at }
}

/// A sheet with several wholes, all moved to its middle and by hand as far as there is room.
fn packed_sheet(plan: &mut Plan, packed: &pack::Packed, at: usize, paper: &Paper) {
    let (Some(sheet), Some(stock)) = (packed.sheets.get(at), packed.stock) else { return };
    let strip = Strip::of(&stock);
    let [w, h] = stock.printable();
    let room = [w - strip.right, h - strip.below];
    let reach = [0, 1].map(|axis| sheet.iter().map(|p| p.at[axis] + p.size[axis]).fold(0.0, f64::max));
    let shift = sheet.first().and_then(|p| paper.shift.get(p.whole)).copied().unwrap_or_default();
    let moved = [0, 1].map(|axis| {
        let spare = (room[axis] - reach[axis]).max(0.0);
        let shift = if shift[axis].is_finite() { shift[axis] } else { 0.0 };
        (spare / 2.0 + shift).min(spare).max(0.0)
    });
    let mut names: Vec<String> = Vec::new();
    let mut shows = Vec::new();
    for place in sheet {
        let whole = &mut plan.wholes[place.whole];
        (whole.first, whole.turned, whole.size) = (plan.sheets.len(), place.turned, place.size);
        whole.slack = [0, 1].map(|axis| room[axis] - reach[axis]);
        names.push(whole.title.clone());
        shows.push(Shown {
            whole: place.whole,
            turned: place.turned,
            row: 0,
            column: 0,
            window: [0.0, 0.0, place.size[0], place.size[1]],
            at: [place.at[0] + moved[0], place.at[1] + moved[1]],
        });
    }
    let (margins, printer) = (stock.margins, stock.printer);
    plan.sheets.push(Sheet {
        size: stock.size,
        margins,
        printer,
        room,
        strip,
        name: names.join(" · "),
        shows,
    });
}

/// All sheets of a whole that is joined from several.
fn joined(plan: &mut Plan, index: usize, layout: &Layout, said: &Writing<'_>) {
    let title = plan.wholes[index].title.clone();
    for row in 0..layout.rows() {
        for column in (0..layout.columns()).filter(|column| layout.made.has(row, *column)) {
            let [l, t, r, b] = layout.window(row, column);
            // The first of several lies against the far edge, so that what goes under its neighbour reaches to the paper's end.
            let place = |i: usize, n: usize, axis: usize, length: f64| {
                let spare = layout.along[axis].room - length;
                if n == 1 {
                    spare / 2.0
                } else if i == 0 {
                    spare
                } else {
                    0.0
                }
            };
            let across = place(column, layout.columns(), 0, r - l);
            let down = if layout.stock.roll { 0.0 } else { place(row, layout.rows(), 1, b - t) };
            // Where a sheet belongs must be read whatever its part is called.
            let name = Say::new("sheet.place").text("name", said.fit(&title, 6.0, true, NAME));
            let name = said.tell(&name.count("row", row + 1).count("column", column + 1));
            let shown = Shown {
                whole: index,
                turned: layout.turned,
                row,
                column,
                window: [l, t, r, b],
                at: [across, down],
            };
            plan.sheets.push(layout.sheet(name, vec![shown]));
        }
    }
}
