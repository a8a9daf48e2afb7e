//! What is drawn on one page, as a content stream.

use crate::fault::{Area, spoil};
use crate::plane::{Finished, Point};
use crate::quantity::units::MM_PER_INCH;
use crate::sheet::draw::{Anchor, Fill, Item, Line, Path, Pen, Step};
use crate::sheet::font::{Font, Glyph};

/// Points in a mm.
pub const POINT: f64 = 72.0 / MM_PER_INCH;
/// What a white ground reaches beyond its writing, ems: to the sides, above the base line, below it.
const GROUND: [f64; 3] = [0.12, 0.76, 0.24];

/// Two weights of type.
#[derive(Clone, Copy, Debug)]
pub struct Faces<'a> {
    /// Upright.
    pub regular: &'a Font,
    /// Bold.
    pub bold: &'a Font,
}

impl<'a> Faces<'a> {
    /// One of the two.
    pub fn face(&self, bold: bool) -> &'a Font {
        if bold { self.bold } else { self.regular }
    }

    /// How wide a line of writing is, mm.
    pub fn width(&self, text: &str, size: f64, bold: bool) -> f64 {
        self.face(bold).width(text) * size
    }
}

/// Where a drawing lies on a page: a quarter turn, a place, and what the printer makes of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// From the drawing's mm to the page's points: `x' = a x + c y + e`, `y' = b x + d y + f`.
    m: [f64; 6],
}

impl Frame {
    /// A page of this height, mm, whose printable corner is at `corner`; what is drawn is divided by `printer`, about that corner.
    pub fn page(height: f64, corner: [f64; 2], printer: [f64; 2]) -> Frame {
        let spoiled = POINT * spoil(Area::Sheet, 1.001);
        let (sx, sy) = (spoiled / printer[0], spoiled / printer[1]);
        Frame { m: [sx, 0.0, 0.0, -sy, corner[0] * POINT, (height - corner[1]) * POINT] }
    }

    /// The same for what is moved by `at` first.
    #[must_use]
    pub fn moved(self, [x, y]: [f64; 2]) -> Frame {
        let [a, b, c, d, e, f] = self.m;
        Frame { m: [a, b, c, d, a * x + c * y + e, b * x + d * y + f] }
    }

    /// The same for what is turned by a quarter first, clockwise as seen, so that what was `height` high begins at 0 again.
    #[must_use]
    pub fn quarter(self, height: f64) -> Frame {
        let [a, b, c, d, e, f] = self.m;
        // (x, y) becomes (height - y, x).
        Frame { m: [c, d, -a, -b, a * height + e, b * height + f] }
    }

    /// Where a place comes to lie, points.
    pub fn apply(&self, p: Point<Finished>) -> [f64; 2] {
        let [a, b, c, d, e, f] = self.m;
        [a * p.x + c * p.y + e, b * p.x + d * p.y + f]
    }

    /// Its six numbers.
    pub fn matrix(&self) -> [f64; 6] {
        self.m
    }
}

/// A content stream in the making.
#[derive(Clone, Debug, Default)]
pub struct Content {
    out: Vec<u8>,
    /// Glyphs used so far, for each face.
    pub used: [Vec<Glyph>; 2],
    /// Letters that neither face has.
    pub missing: Vec<char>,
}

/// What a sheet is drawn on.
pub trait Canvas {
    /// What follows, until [`Canvas::restore`], shows only within left, top, right, bottom.
    fn clip(&mut self, frame: &Frame, bounds: [f64; 4]);
    /// Back to before the last clip.
    fn restore(&mut self);
    /// One item; a picture is shown by [`Canvas::picture`].
    fn item(&mut self, frame: &Frame, item: &Item, faces: &Faces);
    /// The image `number` of the page: where its lower left, lower right and upper left corners lie.
    fn picture(&mut self, frame: &Frame, number: usize, corners: [Point<Finished>; 3]);
}

impl Canvas for Content {
    fn clip(&mut self, frame: &Frame, [l, t, r, b]: [f64; 4]) {
        self.op("q");
        let corners = [[l, t], [r, t], [r, b], [l, b]].map(Point::from);
        self.path(frame, &Path::ring(&corners));
        self.op("W n");
    }

    fn restore(&mut self) {
        self.op("Q");
    }

    fn item(&mut self, frame: &Frame, item: &Item, faces: &Faces) {
        match item {
            Item::Path { path, pen, fill } => self.drawn(frame, path, *pen, *fill),
            Item::Text { .. } => self.text(frame, item, faces),
            Item::Picture { .. } => {}
        }
    }

    fn picture(&mut self, frame: &Frame, number: usize, corners: [Point<Finished>; 3]) {
        self.op("q");
        let [origin, right, up] = corners.map(|p| frame.apply(p));
        for v in [
            right[0] - origin[0],
            right[1] - origin[1],
            up[0] - origin[0],
            up[1] - origin[1],
            origin[0],
            origin[1],
        ] {
            self.number(v);
        }
        self.op("cm");
        self.op(&format!("/I{number} Do Q"));
    }
}

impl Content {
    /// All of it.
    pub fn bytes(&self) -> &[u8] {
        &self.out
    }

    /// A number to five decimals: 0.000004 mm.
    fn number(&mut self, v: f64) {
        number(&mut self.out, v);
        self.out.push(b' ');
    }

    fn op(&mut self, word: &str) {
        self.out.extend_from_slice(word.as_bytes());
        self.out.push(b'\n');
    }

    fn point(&mut self, frame: &Frame, p: Point<Finished>) {
        for v in frame.apply(p) {
            self.number(v);
        }
    }

    fn path(&mut self, frame: &Frame, path: &Path) {
        for step in &path.steps {
            match step {
                Step::Move(p) => {
                    self.point(frame, *p);
                    self.op("m");
                }
                Step::Line(p) => {
                    self.point(frame, *p);
                    self.op("l");
                }
                Step::Cubic(a, b, p) => {
                    [a, b, p].into_iter().for_each(|q| self.point(frame, *q));
                    self.op("c");
                }
                Step::Close => self.op("h"),
            }
        }
    }

    fn drawn(&mut self, frame: &Frame, path: &Path, pen: Option<Pen>, fill: Option<Fill>) {
        if path.steps.is_empty() {
            return;
        }
        if let Some(fill) = fill {
            let level = match fill {
                Fill::Black => "0 g",
                Fill::White => "1 g",
                Fill::Grey => "0.82 g",
            };
            self.op(level);
        }
        if let Some(pen) = pen {
            self.pen(pen);
        }
        self.path(frame, path);
        self.op(match (pen.is_some(), fill.is_some()) {
            (true, true) => "B*",
            (true, false) => "S",
            (false, true) => "f*",
            (false, false) => "n",
        });
    }

    fn pen(&mut self, pen: Pen) {
        self.number(pen.width * POINT);
        self.op("w 0 G");
        // A dot is a dash of no length with round ends.
        self.op(if pen.line == Line::Dot { "1 J 1 j" } else { "0 J 0 j" });
        self.out.push(b'[');
        for dash in dashes(pen.line) {
            self.number(dash * POINT);
        }
        self.op("] 0 d");
    }

    fn text(&mut self, frame: &Frame, item: &Item, faces: &Faces) {
        let Item::Text { at, size, turn, anchor, bold, ground, text } = item else { return };
        let face = faces.face(*bold);
        let glyphs = face.set(text);
        let width: f64 = glyphs.iter().map(|g| face.advance(g.id)).sum::<f64>() * size;
        let back = match anchor {
            Anchor::Start => 0.0,
            Anchor::Middle => width / 2.0,
            Anchor::End => width,
        };
        let (c, s) = (libm::cos(*turn), libm::sin(*turn));
        // Along the writing and down from it.
        let place = |u: f64, v: f64| Point::new(at.x + (u - back) * c - v * s, at.y + (u - back) * s + v * c);
        if glyphs.is_empty() {
            return;
        }
        if *ground {
            let [side, above, below] = GROUND.map(|g| g * size);
            let corners = [[-side, -above], [width + side, -above], [width + side, below], [-side, below]];
            let ring = Path::ring(&corners.map(|[u, v]| place(u, v)));
            self.drawn(frame, &ring, None, Some(Fill::White));
        }
        self.op("0 g BT");
        self.op(if *bold { "/F1 1 Tf" } else { "/F0 1 Tf" });
        let ([ox, oy], [ux, uy], [vx, vy]) =
            (frame.apply(place(0.0, 0.0)), frame.apply(place(*size, 0.0)), frame.apply(place(0.0, -*size)));
        for v in [ux - ox, uy - oy, vx - ox, vy - oy, ox, oy] {
            self.number(v);
        }
        self.op("Tm");
        self.out.push(b'<');
        for glyph in &glyphs {
            for shift in [12, 8, 4, 0] {
                self.out.push(b"0123456789ABCDEF"[usize::from(glyph.id >> shift & 15)]);
            }
            self.note(*glyph, *bold);
        }
        self.op("> Tj ET");
    }

    fn note(&mut self, glyph: Glyph, bold: bool) {
        let used = &mut self.used[usize::from(bold)];
        if glyph.id == 0 && !self.missing.contains(&glyph.letter) {
            self.missing.push(glyph.letter);
        }
        if !used.contains(&glyph) {
            used.push(glyph);
        }
    }
}

/// Dashes and gaps, mm.
pub fn dashes(line: Line) -> &'static [f64] {
    match line {
        Line::Solid => &[],
        Line::Dash => &[3.0, 1.5],
        Line::Chain => &[12.0, 2.0, 2.0, 2.0],
        Line::DoubleChain => &[12.0, 2.0, 2.0, 2.0, 2.0, 2.0],
        Line::Dot => &[0.0, 1.8],
    }
}

/// A number as `number` writes it.
pub fn digits(v: f64) -> String {
    let mut out = Vec::new();
    number(&mut out, v);
    // It writes nothing but plain figures.
    out.into_iter().map(char::from).collect()
}

/// Writes a number with five decimals at the most; what is not a number is 0.
pub fn number(out: &mut Vec<u8>, v: f64) {
    let count = libm::round(v.abs() * 1e5);
    let count = if count < 9e15 { count as u64 } else { 0 };
    if v < 0.0 && count > 0 {
        out.push(b'-');
    }
    out.extend_from_slice((count / 100_000).to_string().as_bytes());
    let mut part = count % 100_000;
    if part == 0 {
        return;
    }
    let mut digits = 5;
    while part % 10 == 0 {
        (part, digits) = (part / 10, digits - 1);
    }
    out.push(b'.');
    let text = part.to_string();
    out.resize(out.len() + digits - text.len(), b'0');
    out.extend_from_slice(text.as_bytes());
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_exact() {
        let check = |v: f64, expected: &str| {
            let mut out = Vec::new();
            number(&mut out, v);
            assert_eq!(String::from_utf8_lossy(&out), expected);
        };
        check(0.0, "0");
        check(-0.000_001, "0");
        check(1.5, "1.5");
        check(-12.340_05, "-12.34005");
        check(595.275_590_551, "595.27559");
        check(f64::NAN, "0");
        check(f64::INFINITY, "0");
        check(2.999_999_9, "3");
    }

    #[test]
    fn a_frame_moves_turns_and_corrects() {
        let near =
            |[x, y]: [f64; 2], [u, v]: [f64; 2]| assert!((x - u).abs() + (y - v).abs() < 1e-9, "{x} {y}");
        let page = Frame::page(297.0, [6.0, 6.0], [1.0, 1.0]);
        near(page.apply(Point::new(0.0, 0.0)), [6.0 * POINT, 291.0 * POINT]);
        near(page.moved([10.0, 20.0]).apply(Point::new(1.0, 2.0)), [17.0 * POINT, 269.0 * POINT]);
        // What is 30 high lies 30 wide: its lower left corner comes to the upper left one.
        near(page.quarter(30.0).apply(Point::new(0.0, 30.0)), [6.0 * POINT, 291.0 * POINT]);
        near(page.quarter(30.0).apply(Point::new(5.0, 0.0)), [36.0 * POINT, 286.0 * POINT]);
        let small = Frame::page(297.0, [6.0, 6.0], [0.97, 1.0]);
        near(small.apply(Point::new(97.0, 10.0)), [106.0 * POINT, 281.0 * POINT]);
    }
}
