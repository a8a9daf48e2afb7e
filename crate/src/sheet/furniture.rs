//! What every sheet has besides its part of the whole: how it is joined, check bars both ways, a key map, what it is.
//!
//! Sizes of type: the sheet's name has capitals of 4 mm, to be read at arm's length; the rest is over 3 mm high in all (common practice,
//! no source).

use super::draw::{Anchor, Fill, Item, Line, Path, Pen};
use super::joint::seen;
use super::order::{Order, Piece};
use super::pdf::Faces;
use super::plan::{Plan, Sheet, Shown, Whole};
use super::write::Writing;
use crate::plane::Point;
use crate::quantity::units::MM_PER_INCH;
use crate::words::Say;

/// Type of a sheet's name, mm.
pub(super) const NAME: f64 = 6.2;
/// Type of all else, mm.
pub(super) const SMALL: f64 = 3.4;
/// A thin line, mm.
pub(super) const THIN: Pen = Pen { width: 0.18, line: Line::Solid };
/// A line that is measured, mm.
pub(super) const BAR: Pen = Pen { width: 0.3, line: Line::Solid };
/// Width of the key map, mm.
const MAP: [f64; 2] = [32.0, 17.0];
/// Check bars: whole inches, and mm.
const BARS: [(f64, f64); 6] =
    [(24.0, 600.0), (12.0, 300.0), (6.0, 150.0), (4.0, 100.0), (2.0, 50.0), (1.0, 25.0)];
/// A bar longer than 6 in and 150 mm is drawn only where the sheet is this much longer than it.
const AMPLE: f64 = 2.0;
/// All that it takes to furnish sheets.
pub struct Furniture<'a> {
    /// The type.
    pub faces: Faces<'a>,
    /// The words.
    pub said: &'a Writing<'a>,
    /// What was ordered.
    pub order: &'a Order,
}

/// The longest bar that fits: its inches and its mm.
pub fn bar(room: f64) -> (f64, f64) {
    let length = |(inches, mm): &(f64, f64)| (inches * MM_PER_INCH).max(*mm);
    let fits = |b: &&(f64, f64)| length(b) + 6.0 <= room && (b.0 <= 6.0 || length(b) * AMPLE <= room);
    BARS.iter().find(fits).copied().unwrap_or(BARS[5])
}

pub(super) fn line(points: &[[f64; 2]], pen: Pen) -> Item {
    let points: Vec<_> = points.iter().map(|p| Point::from(*p)).collect();
    Item::Path { path: Path::line(&points), pen: Some(pen), fill: None }
}

pub(super) fn ring(points: &[[f64; 2]], pen: Option<Pen>, fill: Option<Fill>) -> Item {
    let points: Vec<_> = points.iter().map(|p| Point::from(*p)).collect();
    Item::Path { path: Path::ring(&points), pen, fill }
}

/// A line of small writing; `turn` in quarters.
pub(super) fn small(at: [f64; 2], anchor: Anchor, turn: f64, text: String) -> Item {
    let turn = turn * std::f64::consts::FRAC_PI_2;
    Item::Text { at: Point::from(at), size: SMALL, turn, anchor, bold: false, ground: false, text }
}

impl Furniture<'_> {
    /// A line that is no wider than `room`: set a little smaller, then cut off.
    fn fitted(&self, at: [f64; 2], size: f64, heavy: bool, room: f64, text: &str) -> Item {
        let width = |t: &str, size: f64| self.faces.width(t, size, heavy);
        let size = if width(text, size) <= room { size } else { size * (room / width(text, size)).max(0.8) };
        let mut text = text.to_owned();
        if width(&text, size) > room + 1e-9 {
            let mut letters: Vec<char> = text.chars().collect();
            // By halves, as a name may be very long.
            let (mut low, mut high) = (0, letters.len());
            while low + 1 < high {
                let middle = usize::midpoint(low, high);
                let cut: String = letters.iter().take(middle).chain(['…'].iter()).collect();
                if width(&cut, size) <= room { low = middle } else { high = middle }
            }
            letters.truncate(low);
            text = letters.into_iter().collect::<String>().trim_end().to_owned() + "…";
        }
        Item::Text {
            at: Point::from(at),
            size,
            turn: 0.0,
            anchor: Anchor::Start,
            bold: heavy,
            ground: false,
            text,
        }
    }

    /// What stands in a sheet's strips.
    pub fn strips(&self, plan: &Plan, sheet: &Sheet, index: usize) -> Vec<Item> {
        let [w, h] = sheet.room;
        let [wide, high] = [w + sheet.strip.right, h + sheet.strip.below];
        let mut out = Vec::new();
        let map = sheet.shows.first().and_then(|s| Some((s, plan.wholes.get(s.whole)?)));
        let map = map.filter(|(_, whole)| whole.joints.iter().any(|j| !j.is_empty()));
        let text = if map.is_some() { wide - MAP[0] - 4.0 } else { wide };
        let lines = self.lines(plan, sheet, index);
        out.push(self.fitted([0.0, h + 6.6], NAME, true, text, &sheet.name));
        let narrow = sheet.strip.below > 30.0;
        let apart = SMALL * 1.3;
        let mut y = h + 6.6 + apart + 0.6;
        for (i, words) in lines.iter().enumerate() {
            // A narrow sheet takes the warning in two lines.
            let halves: Vec<&str> = if narrow && i == 0 { halves(words) } else { vec![words] };
            for half in halves {
                out.push(self.fitted([0.0, y], SMALL, i == 0, text, half));
                y += apart;
            }
        }
        // The sheet by which a printer is measured has longer bars of its own.
        let small = |s: &super::plan::Shown| plan.wholes.get(s.whole).is_some_and(|w| w.small);
        if !self.order.pieces.contains(&Piece::Test) && !sheet.shows.iter().any(small) {
            self.bars(&mut out, [text, high], [w + 5.5, h]);
        }
        if let Some((shown, whole)) = map {
            self.map(&mut out, [wide - MAP[0], h + 2.0], shown, whole);
        }
        out
    }

    /// The warning, and what made this sheet.
    fn lines(&self, plan: &Plan, sheet: &Sheet, index: usize) -> Vec<String> {
        let [x, y] = sheet.printer;
        let printer = if (x, y) == (1.0, 1.0) {
            self.said.word("sheet.no-correction")
        } else {
            let percent = |f: f64| crate::words::Arg::Number(f * 100.0, 2);
            let name = &self.order.paper.printer_name;
            let key = if name.is_empty() { "sheet.corrected" } else { "sheet.correction" };
            let say = Say::new(key).text("printer", name.clone());
            self.said.tell(&say.with("across", percent(x)).with("down", percent(y)))
        };
        let count = Say::new("sheet.of").count("sheet", index + 1).count("all", plan.sheets.len());
        let revision = Say::new("sheet.made-only").count("revision", self.order.revision as usize);
        let parts = [
            self.order.job.clone(),
            self.order.date.clone(),
            self.said.tell(&revision),
            self.said.tell(&count),
            printer,
        ];
        let parts: Vec<String> = parts.into_iter().filter(|p| !p.trim().is_empty()).collect();
        let mut warning = self.said.word("sheet.print-at");
        let small = |s: &super::plan::Shown| plan.wholes.get(s.whole).is_some_and(|w| w.small);
        if !self.order.pieces.contains(&Piece::Test) && !sheet.shows.iter().any(small) {
            warning = format!("{}. {warning}", self.said.word("sheet.full-size"));
        }
        vec![warning, parts.join(" · ")]
    }

    /// The bar across at the foot, the bar down at the right.
    fn bars(&self, out: &mut Vec<Item>, [room, foot]: [f64; 2], [x, down]: [f64; 2]) {
        let (inches, mm) = bar(room);
        let y = foot - 4.2;
        rule(out, inches, mm, |u, v| [u + 0.5, y + v], false);
        let (inches, mm) = bar(down);
        rule(out, inches, mm, |u, v| [x - v, u + 0.5], true);
    }

    /// Which sheet of the set this one is.
    fn map(&self, out: &mut Vec<Item>, at: [f64; 2], shown: &Shown, whole: &Whole) {
        let [w, h] = whole.size;
        let k = (MAP[0] / w).min(MAP[1] / h);
        let left = at[0] + MAP[0] - w * k;
        for row in 0..=whole.joints[1].len() {
            for column in 0..=whole.joints[0].len() {
                let [l, r] = seen(&whole.joints[0], column, w).map(|v| left + v * k);
                let [t, b] = seen(&whole.joints[1], row, h).map(|v| at[1] + v * k);
                let fill = ((row, column) == (shown.row, shown.column)).then_some(Fill::Black);
                out.push(ring(&[[l, t], [r, t], [r, b], [l, b]], Some(THIN), fill));
                // Struck out: there is no such sheet.
                if !whole.makes(row, column) {
                    out.push(line(&[[l, t], [r, b]], THIN));
                    out.push(line(&[[r, t], [l, b]], THIN));
                }
            }
        }
        if let Some([a, b]) = whole.assembled {
            let length = libm::hypot(a[0] - b[0], a[1] - b[1]);
            let words = Say::new("sheet.assembled").length("length", length);
            let y = at[1] + h * k + SMALL + 0.8;
            out.push(small([at[0] + MAP[0], y], Anchor::End, 0.0, self.said.tell(&words)));
        }
    }
}

/// A text in two lines: after the sentence nearest to its middle.
fn halves(text: &str) -> Vec<&str> {
    let middle = text.len() as f64 / 2.0;
    // Sought letter by letter: what finds a text in a text weighs a kB.
    let ends =
        text.char_indices().zip(text.chars().skip(1)).filter(|((_, c), next)| (*c, *next) == ('.', ' '));
    let ends = ends.map(|((i, _), _)| i + 1);
    let best = ends.min_by(|a, b| (*a as f64 - middle).abs().total_cmp(&(*b as f64 - middle).abs()));
    match best.and_then(|at| text.split_at_checked(at)) {
        Some((first, second)) => vec![first, second.trim_start()],
        None => vec![text],
    }
}

/// A bar of whole inches on one side and mm on the other. `place` takes it along and across; `turned` writes along it.
pub fn rule(out: &mut Vec<Item>, inches: f64, mm: f64, place: impl Fn(f64, f64) -> [f64; 2], turned: bool) {
    let end = (inches * MM_PER_INCH).max(mm);
    out.push(line(&[place(0.0, 0.0), place(end, 0.0)], BAR));
    out.push(line(&[place(0.0, -3.2), place(0.0, 3.2)], BAR));
    let inch_end = inches * MM_PER_INCH;
    out.push(line(&[place(inch_end, 0.0), place(inch_end, -3.2)], BAR));
    out.push(line(&[place(mm, 0.0), place(mm, 3.2)], BAR));
    for i in 1..(inches as usize) {
        out.push(line(&[place(i as f64 * MM_PER_INCH, 0.0), place(i as f64 * MM_PER_INCH, -1.6)], THIN));
    }
    let step = if mm > 200.0 { 50.0 } else { 10.0 };
    // None where its figure stands.
    for i in (1..((mm / step) as usize)).filter(|i| *i as f64 * step < mm - 14.0) {
        out.push(line(&[place(i as f64 * step, 0.0), place(i as f64 * step, 1.6)], THIN));
    }
    let turn = if turned { 1.0 } else { 0.0 };
    let figure = |u: f64, v: f64, text: String| small(place(u, v), Anchor::End, turn, text);
    out.push(figure(inch_end - 1.2, -1.1, format!("{} in", inches as usize)));
    out.push(figure(mm - 1.2, 3.7, format!("{} mm", mm as usize)));
}
