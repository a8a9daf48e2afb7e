//! The whole pattern in one SVG file at full size, mm, for a print shop or a machine that takes it. Lines and writing; no picture.
//!
//! # References
//! SVG 1.1 (2011), 7.2 and 7.7: with width and height in mm and a viewBox of as many units, one unit is one mm.

use super::draw::{Anchor, Drawing, Fill, Item, Path, Step};
use super::page::Placed;
use super::pdf::{Canvas, Faces, Frame, POINT, dashes, digits};
use crate::plane::{Finished, Point};

/// The file's text.
pub fn svg(drawing: &Drawing, faces: &Faces) -> String {
    let mut out = head(drawing.size, drawing.size, &drawing.title);
    drawing.items.iter().for_each(|item| out.push_str(&drawn(item, faces)));
    out.push_str("</svg>\n");
    out
}

/// The file's beginning: so many mm across and high, told in so many units.
fn head(size: [f64; 2], units: [f64; 2], title: &str) -> String {
    let ([w, h], [uw, uh]) = (size.map(digits), units.map(digits));
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {uw} {uh}\">\n<title>{}</title>\n",
        escaped(title)
    )
}

/// One item, in its own mm; nothing of a picture.
fn drawn(item: &Item, faces: &Faces) -> String {
    let Item::Path { path, pen, fill } = item else { return text(item, faces) };
    let fill = match fill {
        None => "none",
        Some(Fill::Black) => "#000",
        Some(Fill::White) => "#fff",
        Some(Fill::Grey) => "#d1d1d1",
    };
    let mut line = format!("<path fill=\"{fill}\" fill-rule=\"evenodd\"");
    if let Some(pen) = pen {
        line.push_str(&format!(" stroke=\"#000\" stroke-width=\"{}\"", digits(pen.width)));
        let dashes: Vec<String> = dashes(pen.line).iter().map(|d| digits(*d)).collect();
        if !dashes.is_empty() {
            line.push_str(&format!(" stroke-dasharray=\"{}\"", dashes.join(" ")));
        }
        if pen.line == super::draw::Line::Dot {
            line.push_str(" stroke-linecap=\"round\"");
        }
    }
    line.push_str(&format!(" d=\"{}\"/>\n", run(path)));
    line
}

/// A sheet, for a browser to print: as its page of the PDF, in one SVG picture of the sheet's own size.
pub struct Sheet<'a> {
    out: String,
    /// The sheet's height, points.
    high: f64,
    images: &'a [Placed],
    clips: usize,
}

impl Sheet<'_> {
    /// A sheet of so many mm.
    pub fn new<'a>(size: [f64; 2], title: &str, images: &'a [Placed]) -> Sheet<'a> {
        let units = size.map(|v| v * POINT);
        Sheet { out: head(size, units, title), high: units[1], images, clips: 0 }
    }

    /// The file's text.
    pub fn finish(mut self) -> String {
        self.out.push_str("</svg>\n");
        self.out
    }

    /// From a drawing's mm to the sheet, down from its top where a page of a PDF counts up.
    fn matrix(&self, frame: &Frame) -> String {
        let [a, b, c, d, e, f] = frame.matrix();
        format!("matrix({})", [a, -b, c, -d, e, self.high - f].map(digits).join(" "))
    }
}

impl Canvas for Sheet<'_> {
    fn clip(&mut self, frame: &Frame, [l, t, r, b]: [f64; 4]) {
        let (id, matrix) = (self.clips, self.matrix(frame));
        self.clips += 1;
        let ring = run(&Path::ring(&[[l, t], [r, t], [r, b], [l, b]].map(Point::from)));
        self.out.push_str(&format!(
            "<clipPath id=\"c{id}\"><path transform=\"{matrix}\" d=\"{ring}\"/></clipPath><g clip-path=\"url(#c{id})\">\n"
        ));
    }

    fn restore(&mut self) {
        self.out.push_str("</g>\n");
    }

    fn item(&mut self, frame: &Frame, item: &Item, faces: &Faces) {
        let (matrix, drawn) = (self.matrix(frame), drawn(item, faces));
        self.out.push_str(&format!("<g transform=\"{matrix}\">{drawn}</g>\n"));
    }

    fn picture(&mut self, frame: &Frame, number: usize, [origin, right, up]: [Point<Finished>; 3]) {
        let Some(Placed { image, .. }) = self.images.get(number) else { return };
        // A file that is taken as it is lies in PDFs alone, so that these stand upright.
        let [x, y, w, h] = [origin.x, up.y, right.x - origin.x, origin.y - up.y].map(digits);
        let matrix = self.matrix(frame);
        self.out.push_str(&format!(
            "<image transform=\"{matrix}\" x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" preserveAspectRatio=\"none\" href=\"data:image/jpeg;base64,"
        ));
        base64(&mut self.out, &image.jpeg);
        self.out.push_str("\"/>\n");
    }
}

/// RFC 4648, 4.
fn base64(out: &mut String, bytes: &[u8]) {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    out.reserve(bytes.len() / 3 * 4 + 4);
    for three in bytes.chunks(3) {
        let at = |i: usize| u32::from(three.get(i).copied().unwrap_or(0));
        let bits = at(0) << 16 | at(1) << 8 | at(2);
        for k in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * k) & 63) as usize];
            out.push(if k <= three.len() { char::from(letter) } else { '=' });
        }
    }
}

fn run(path: &Path) -> String {
    let at = |p: &Point<Finished>| format!("{} {}", digits(p.x), digits(p.y));
    let step = |step: &Step| match step {
        Step::Move(p) => format!("M{}", at(p)),
        Step::Line(p) => format!("L{}", at(p)),
        Step::Cubic(a, b, p) => format!("C{} {} {}", at(a), at(b), at(p)),
        Step::Close => "Z".to_owned(),
    };
    path.steps.iter().map(step).collect()
}

fn text(item: &Item, faces: &Faces) -> String {
    let Item::Text { at, size, turn, anchor, bold, ground, text } = item else { return String::new() };
    // As it is set on sheets: without control characters.
    let shown: String = faces.face(*bold).set(text).iter().map(|g| g.letter).collect();
    let width = faces.width(text, *size, *bold);
    let (name, back) = match anchor {
        Anchor::Start => ("start", 0.0),
        Anchor::Middle => ("middle", width / 2.0),
        Anchor::End => ("end", width),
    };
    let degrees = digits(turn.to_degrees());
    let (x, y) = (digits(at.x), digits(at.y));
    let mut out = format!("<g transform=\"translate({x} {y}) rotate({degrees})\">");
    if *ground {
        let [left, top] = [-back - 0.12 * size, -0.76 * size].map(digits);
        let [w, h] = [width + 0.24 * size, *size].map(digits);
        out.push_str(&format!("<rect x=\"{left}\" y=\"{top}\" width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>"));
    }
    let weight = if *bold { " font-weight=\"600\"" } else { "" };
    out.push_str(&format!(
        "<text font-family=\"sans-serif\" font-size=\"{}\"{weight} text-anchor=\"{name}\">{}</text></g>\n",
        digits(*size),
        escaped(&shown)
    ));
    out
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars().filter(|c| !c.is_control()) {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            // Not letters of XML (XML 1.0, 2.2).
            '\u{FFFE}' | '\u{FFFF}' => {}
            c => out.push(c),
        }
    }
    out
}
