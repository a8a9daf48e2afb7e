//! The whole pattern in one SVG file at full size, mm, for a print shop or a machine that takes it. Lines and writing; no picture.
//!
//! # References
//! SVG 1.1 (2011), 7.2 and 7.7: with width and height in mm and a viewBox of as many units, one unit is one mm.

use super::draw::{Anchor, Drawing, Fill, Item, Path, Step};
use super::pdf::{Faces, dashes, number};
use crate::plane::{Finished, Point};

/// The file's text.
pub fn svg(drawing: &Drawing, faces: &Faces) -> String {
    let mut out = Vec::new();
    let [w, h] = drawing.size.map(digits);
    out.extend_from_slice(
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n<title>{}</title>\n",
            escaped(&drawing.title)
        )
        .as_bytes(),
    );
    for item in &drawing.items {
        match item {
            Item::Path { path, pen, fill } => {
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
                out.extend_from_slice(line.as_bytes());
            }
            Item::Text { .. } => out.extend_from_slice(text(item, faces).as_bytes()),
            Item::Picture { .. } => {}
        }
    }
    out.extend_from_slice(b"</svg>\n");
    String::from_utf8_lossy(&out).into_owned()
}

fn digits(v: f64) -> String {
    let mut out = Vec::new();
    number(&mut out, v);
    String::from_utf8_lossy(&out).into_owned()
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
