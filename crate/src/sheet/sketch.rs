//! A drawing while it is made: what is drawn, how far it reaches, and which places are taken.

use super::draw::{Anchor, Drawing, Fill, Item, Line, Path, Pen, Step};
use super::free::{Quad, Taken};
use super::write::{ABOVE, LEADING, SMALL, Writing};
use crate::plane::{Finished, Homography, Point, Vector};

type P = Point<Finished>;

/// An outline to be cut, mm. Trade usage; common practice, no source.
pub const OUTLINE: Pen = Pen { width: 0.35, line: Line::Solid };
/// What is marked on it.
pub const FINE: Pen = Pen { width: 0.18, line: Line::Solid };
/// Between the two: where neighbours land, datum edges of tables.
pub const MEDIUM: Pen = Pen { width: 0.25, line: Line::Solid };
/// A centre line.
pub const CENTRE: Pen = Pen { width: 0.25, line: Line::Chain };
/// A fold.
pub const FOLD: Pen = Pen { width: 0.35, line: Line::DoubleChain };

/// Room left round writing, mm.
const PAD: f64 = 0.7;
/// Type beside a mark is broken at this width, mm.
const LABEL_WIDE: f64 = 52.0;
/// From this far on a line leads from a mark to its writing, mm.
const LEAD: f64 = 6.0;
/// How far from a mark its writing is tried, mm.
const REACH: [f64; 7] = [1.2, 3.0, 6.0, 10.0, 16.0, 24.0, 34.0];
/// Which ways from a mark, right and left first.
const WAYS: [[f64; 2]; 8] =
    [[1.0, 0.0], [-1.0, 0.0], [0.0, -1.0], [0.0, 1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, -1.0], [-1.0, 1.0]];

/// A drawing while it is made, in any corner of the plane.
pub struct Sketch<'a> {
    /// Words and lengths.
    pub words: &'a Writing<'a>,
    /// In the order in which they are drawn.
    pub items: Vec<Item>,
    /// What is in the way of writing.
    pub taken: Taken,
    /// Where no joint may run.
    pub keep_clear: Vec<(P, f64)>,
    /// Writing stands on a white ground.
    pub ground: bool,
    /// As of a drawing: [`Drawing::area`].
    pub area: Vec<Vec<P>>,
    /// [`Drawing::round`].
    pub round: f64,
    bounds: [f64; 4],
    written: Vec<Quad>,
}

impl<'a> Sketch<'a> {
    /// Nothing yet.
    pub fn new(words: &'a Writing<'a>) -> Sketch<'a> {
        let bounds = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        let mut taken = Taken::default();
        taken.take_all(&words.joints.bands());
        Sketch {
            words,
            items: Vec::new(),
            taken,
            keep_clear: Vec::new(),
            ground: false,
            area: Vec::new(),
            round: 0.0,
            bounds,
            written: Vec::new(),
        }
    }

    /// Left, top, right, bottom of all that is drawn so far; all 0 while there is nothing.
    pub fn bounds(&self) -> [f64; 4] {
        if self.bounds.iter().all(|v| v.is_finite()) { self.bounds } else { [0.0; 4] }
    }

    /// The drawing reaches at least this far: left, top, right, bottom.
    pub fn reach(&mut self, b: [f64; 4]) {
        let a = self.bounds;
        self.bounds = [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])];
    }

    /// Draws a line from point to point.
    pub fn lines(&mut self, points: &[P], closed: bool, pen: Pen) {
        let path = if closed { Path::ring(points) } else { Path::line(points) };
        self.stroke(path, points, closed, pen);
    }

    /// Draws `path`, which runs along `points`.
    pub fn stroke(&mut self, path: Path, points: &[P], closed: bool, pen: Pen) {
        self.items.push(Item::Path { path, pen: Some(pen), fill: None });
        self.taken.take_lines(points, closed);
        for p in points {
            self.reach([p.x, p.y, p.x, p.y]);
        }
    }

    /// Draws a circle.
    pub fn circle(&mut self, centre: P, radius: f64, pen: Pen) {
        self.items.push(Item::Path { path: circle(centre, radius), pen: Some(pen), fill: None });
        let at = |k: i32| {
            let a = std::f64::consts::TAU * f64::from(k) / 48.0;
            centre + Vector::new(libm::cos(a), libm::sin(a)) * radius
        };
        self.taken.take_lines(&(0..48).map(at).collect::<Vec<P>>(), true);
        self.reach([centre.x - radius, centre.y - radius, centre.x + radius, centre.y + radius]);
    }

    /// Fills an area black.
    pub fn black(&mut self, points: &[P]) {
        self.items.push(Item::Path { path: Path::ring(points), pen: None, fill: Some(Fill::Black) });
        self.taken.take_lines(points, true);
        for p in points {
            self.reach([p.x, p.y, p.x, p.y]);
        }
    }

    /// The room that a line of writing takes up.
    pub fn box_of(&self, at: P, size: f64, turn: f64, anchor: Anchor, bold: bool, text: &str) -> Quad {
        Quad::written(at, size, turn, anchor, self.words.width(text, size, bold), PAD)
    }

    /// Writes a line where it is told to.
    pub fn text(&mut self, at: P, size: f64, turn: f64, anchor: Anchor, bold: bool, text: &str) {
        if text.is_empty() {
            return;
        }
        let quad = self.box_of(at, size, turn, anchor, bold, text);
        self.taken.take(quad);
        self.written.push(quad);
        // The room round it may lie beyond the drawing.
        let b = quad.bounds();
        self.reach([b[0] + PAD, b[1] + PAD / 2.0, b[2] - PAD, b[3] - PAD / 2.0]);
        let (ground, text) = (self.ground, text.to_owned());
        self.items.push(Item::Text { at, size, turn, anchor, bold, ground, text });
    }

    /// Writes lines one below the other, from the top left corner `at`. Each is its text, its size and whether it is bold.
    pub fn block(&mut self, at: P, lines: &[(String, f64, bool)]) {
        let mut y = at.y;
        for (text, size, bold) in lines {
            self.text(P::new(at.x, y + ABOVE * size), *size, 0.0, Anchor::Start, *bold, text);
            y += LEADING * size;
        }
    }

    /// Width and height of lines one below the other, mm.
    pub fn block_size(&self, lines: &[(String, f64, bool)]) -> [f64; 2] {
        let wide = lines.iter().map(|(t, s, b)| self.words.width(t, *s, *b)).fold(0.0, f64::max);
        [wide, lines.iter().map(|(_, s, _)| LEADING * s).sum()]
    }

    /// Writes `text` beside one of `anchors` in a free place, with a line leading to it where it stands far off. `clear`
    /// is the mark's own radius. False, and nothing written, where there is no such place.
    pub fn label(&mut self, text: &str, anchors: &[P], clear: f64) -> bool {
        let lines: Vec<(String, f64, bool)> = self
            .words
            .wrap(text, SMALL, false, LABEL_WIDE)
            .into_iter()
            .take(4)
            .map(|l| (l, SMALL, false))
            .collect();
        let [wide, high] = self.block_size(&lines);
        if lines.is_empty() {
            return true;
        }
        for far in REACH {
            for anchor in anchors {
                for way in WAYS {
                    let middle = beside(*anchor, way, clear + far, [wide, high]);
                    let quad = Quad::turned(middle, [wide + 2.0 * PAD, high + PAD], 0.0);
                    if !self.taken.is_free(&quad) {
                        continue;
                    }
                    if far > LEAD {
                        let [from, to] = lead(*anchor, middle, clear, [wide, high]);
                        let line = Quad::line(from, to);
                        if self.written.iter().any(|w| w.overlaps(&line)) {
                            continue;
                        }
                        self.lines(&[from, to], false, FINE);
                    }
                    self.block(P::new(middle.x - wide / 2.0, middle.y - high / 2.0), &lines);
                    return true;
                }
            }
        }
        false
    }

    /// Writes a short word where least is in the way, as near to `anchor` as that may be.
    pub fn squeeze(&mut self, text: &str, anchor: P, clear: f64) {
        let wide = self.words.width(text, SMALL, true);
        let spot = |far: f64, way: [f64; 2]| beside(anchor, way, clear + far, [wide, SMALL]);
        let mut best: Option<(usize, P)> = None;
        for (far, way) in REACH.iter().flat_map(|f| WAYS.map(|w| (*f, w))) {
            let middle = spot(far, way);
            let quad = Quad::turned(middle, [wide + 2.0 * PAD, SMALL + PAD], 0.0);
            // Over lines it can be read, over writing it can't.
            let over = self.written.iter().filter(|w| w.overlaps(&quad)).count();
            let count = self.taken.in_the_way(&quad) + 100 * over;
            if best.is_none_or(|(b, _)| count < b) {
                best = Some((count, middle));
            }
        }
        if let Some((_, m)) = best {
            self.text(P::new(m.x, m.y + SMALL * 0.3), SMALL, 0.0, Anchor::Middle, true, text);
        }
    }

    /// Takes over all that another one holds, moved.
    pub fn append(&mut self, other: Sketch<'_>, by: [f64; 2]) {
        let b = other.bounds();
        self.reach([b[0] + by[0], b[1] + by[1], b[2] + by[0], b[3] + by[1]]);
        self.items.extend(other.items.into_iter().map(|i| moved(i, by)));
        let step = Vector::new(by[0], by[1]);
        self.keep_clear.extend(other.keep_clear.into_iter().map(|(p, r)| (p + step, r)));
        self.area.extend(other.area.into_iter().map(|ring| ring.into_iter().map(|p| p + step).collect()));
        self.round = self.round.max(other.round);
    }

    /// The drawing, with room of `margin` mm round it.
    pub fn finish(self, title: &str, margin: f64) -> Drawing {
        let b = self.bounds();
        let by = [margin - b[0], margin - b[1]];
        let mut whole = Sketch::new(self.words);
        whole.append(self, by);
        let size = [b[2] - b[0] + 2.0 * margin, b[3] - b[1] + 2.0 * margin];
        Drawing {
            size,
            origin: by,
            items: whole.items,
            keep_clear: whole.keep_clear,
            title: title.to_owned(),
            area: whole.area,
            round: whole.round,
            small: false,
        }
    }
}

/// Where a thin line from a mark to its writing runs.
fn lead(anchor: P, middle: P, clear: f64, [wide, high]: [f64; 2]) -> [P; 2] {
    let hold = |v: f64, c: f64, half: f64| v.max(c - half).min(c + half);
    let to = P::new(hold(anchor.x, middle.x, wide / 2.0 + PAD), hold(anchor.y, middle.y, high / 2.0 + PAD));
    let way = to - anchor;
    [anchor + way * ((clear + 0.5) / way.length().max(1e-9)).min(1.0), to]
}

/// The middle of a box of `size` that stands `far` from `anchor`, the way `way` points.
fn beside(anchor: P, way: [f64; 2], far: f64, size: [f64; 2]) -> P {
    let slant = if way[0] != 0.0 && way[1] != 0.0 { std::f64::consts::FRAC_1_SQRT_2 } else { 1.0 };
    let reach = |i: usize| way[i] * (far * slant + PAD + size[i] / 2.0);
    P::new(anchor.x + reach(0), anchor.y + reach(1))
}

/// A circle of four cubics, within 0.0003 of its radius.
///
/// # References
/// The control points' distance 4/3·(√2 − 1): Stone & DeRose, ACM Transactions on Graphics 8 (1989) 147 (memory).
pub fn circle(centre: P, r: f64) -> Path {
    let k = 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0);
    let at = |x: f64, y: f64| P::new(centre.x + x * r, centre.y + y * r);
    let quarter =
        |x: f64, y: f64| Step::Cubic(at(x - k * y, y + k * x), at(-y + k * x, x + k * y), at(-y, x));
    let quarters = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)].map(|(x, y)| quarter(x, y));
    Path { steps: [Step::Move(at(1.0, 0.0))].into_iter().chain(quarters).chain([Step::Close]).collect() }
}

/// The same thing elsewhere.
fn moved(item: Item, by: [f64; 2]) -> Item {
    let step = Vector::new(by[0], by[1]);
    match item {
        Item::Path { path, pen, fill } => {
            let steps = path.steps.into_iter().map(|s| match s {
                Step::Move(p) => Step::Move(p + step),
                Step::Line(p) => Step::Line(p + step),
                Step::Cubic(a, b, c) => Step::Cubic(a + step, b + step, c + step),
                Step::Close => Step::Close,
            });
            Item::Path { path: Path { steps: steps.collect() }, pen, fill }
        }
        Item::Text { at, size, turn, anchor, bold, ground, text } => {
            Item::Text { at: at + step, size, turn, anchor, bold, ground, text }
        }
        Item::Picture { picture, map, bounds: b, ink } => {
            let shift: Homography<Finished, Finished> =
                Homography::from_rows([[1.0, 0.0, by[0]], [0.0, 1.0, by[1]], [0.0, 0.0, 1.0]]);
            let bounds = [b[0] + by[0], b[1] + by[1], b[2] + by[0], b[3] + by[1]];
            Item::Picture { picture, map: map.then(&shift), bounds, ink }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::trial::order;
    use crate::sheet::write::estimate;

    #[test]
    fn a_circle_is_round() {
        let path = circle(P::new(3.0, -2.0), 50.0);
        let mut from = P::new(0.0, 0.0);
        for step in path.steps {
            match step {
                Step::Move(p) => from = p,
                Step::Cubic(a, b, c) => {
                    for k in 0..=20 {
                        let p = crate::plane::Cubic([from, a, b, c]).at(f64::from(k) / 20.0);
                        assert!((p.distance(P::new(3.0, -2.0)) - 50.0).abs() < 0.015, "{p:?}");
                    }
                    from = c;
                }
                Step::Line(_) | Step::Close => {}
            }
        }
    }

    #[test]
    fn labels_keep_out_of_each_others_way() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let mut s = Sketch::new(&words);
        s.lines(&[P::new(0.0, 0.0), P::new(60.0, 40.0)], false, FINE);
        let mut written = 0;
        for _ in 0..12 {
            written += usize::from(s.label("a hole", &[P::new(30.0, 20.0)], 2.0));
        }
        assert!(written >= 8, "{written}");
        let boxes: Vec<Quad> = s
            .items
            .iter()
            .filter_map(|i| match i {
                Item::Text { at, text, size, .. } => {
                    let wide = words.width(text, *size, false);
                    Some(Quad::upright([at.x, at.y - 0.7 * size, at.x + wide, at.y]))
                }
                _ => None,
            })
            .collect();
        for (i, a) in boxes.iter().enumerate() {
            assert!(!a.overlaps(&Quad::line(P::new(0.0, 0.0), P::new(60.0, 40.0))));
            assert!(boxes[i + 1..].iter().all(|b| !a.overlaps(b)));
        }
        let drawing = s.finish("x", 5.0);
        for item in &drawing.items {
            if let Item::Text { at, .. } = item {
                assert!(at.x >= 5.0 && at.y >= 5.0 && at.x <= drawing.size[0] && at.y <= drawing.size[1]);
            }
        }
    }
}
