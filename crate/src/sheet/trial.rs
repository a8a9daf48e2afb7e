//! For the tests: an order with the words file's own sentences, outlines, and a drawing told as SVG to be looked at.

use super::draw::{Anchor, Drawing, Fill, Item, Line, Path, Step};
use super::order::{Hand, Marked, Order, Outline, Paper, Pattern, Shape, Turn};
use crate::plane::{Cubic, Curve, Finished, Point, Segment};
use crate::quantity::{Direction, Step as Rounding, Style};
use std::fmt::Write;

type P = Point<Finished>;

/// An order for nothing, in inches and sixteenths.
pub fn order() -> Order {
    let words: crate::order::Table<String, String> = serde_json::from_str::<
        serde_json::Map<String, serde_json::Value>,
    >(include_str!("../../../www/words/en.json"))
    .unwrap()
    .into_iter()
    .filter(|(k, _)| k.starts_with("sheet."))
    .map(|(k, v)| (k, v.as_str().unwrap().to_owned()))
    .collect();
    Order {
        job: "Marsh Hen".to_owned(),
        date: "3 May".to_owned(),
        revision: 12,
        style: Style::Inches,
        step: Rounding::Sixteenth,
        direction: Direction::Nearest,
        paper: Paper {
            name: "letter".to_owned(),
            size: [215.9, 279.4],
            margins: [6.0; 4],
            turn: Turn::Fewest,
            lap: 12.7,
            shift: Vec::new(),
            printer: [1.0, 1.0],
            allow_many: false,
            printer_name: String::new(),
        },
        pieces: Vec::new(),
        words: words.into_entries(),
    }
}

/// Points given as pairs.
pub fn points(list: &[[f64; 2]]) -> Vec<P> {
    list.iter().map(|p| P::from(*p)).collect()
}

/// An outline of straight sides, and holes.
pub fn outline(rings: &[&[[f64; 2]]]) -> Outline {
    Outline { rings: rings.iter().map(|r| Curve::polygon(&points(r))).collect(), ..Outline::default() }
}

/// A pattern with an outline and nothing on it.
pub fn pattern(outline: Outline) -> Pattern {
    Pattern {
        letter: "A".to_owned(),
        name: "Wing".to_owned(),
        quantity: 2,
        hand: Hand::One,
        outline: Some(outline),
        bounds: [0.0; 4],
        margin: 6.0,
        marks: Vec::new(),
        axis: None,
        grain: None,
        front: None,
        up: None,
        picture: None,
        lines: ["Finished 31 5⁄16 × 5 1⁄2 in", "From: length 24 in, side view, ± 1⁄16 in"]
            .map(str::to_owned)
            .to_vec(),
    }
}

/// A mark.
pub fn marked(number: u32, text: &str, shape: Shape) -> Marked {
    Marked { number, text: text.to_owned(), shape }
}

/// A curve through places with their velocities, a cubic between each two, closed.
pub fn hermite(at: impl Fn(f64) -> ([f64; 2], [f64; 2]), n: u32) -> Curve<Finished> {
    let h = 1.0 / f64::from(n);
    let knot = |k: u32| at(f64::from(k) * h);
    let segment = |k: u32| {
        let ((a, u), (b, v)) = (knot(k), knot(k + 1));
        let c = |p: [f64; 2], w: [f64; 2], s: f64| P::new(p[0] + s * w[0], p[1] + s * w[1]);
        Segment::from(Cubic([P::from(a), c(a, u, h / 3.0), c(b, v, -h / 3.0), P::from(b)]))
    };
    Curve { segments: (0..n).map(segment).collect() }
}

/// NACA 0012 of a chord, nose at the origin, tail blunt as the formula has it, closed by a straight side.
///
/// # References
/// NACA Report 460 (1933): y = 5t(0.2969√x − 0.1260x − 0.3516x² + 0.2843x³ − 0.1015x⁴).
pub fn naca(chord: f64) -> Curve<Finished> {
    // By u = √x, in which the formula is a polynomial: from the tail over the top to the nose and back below.
    let at = |s: f64| {
        let (u, du) = (1.0 - 2.0 * s, -2.0);
        let (w, sign) = (u.abs(), if u < 0.0 { -1.0 } else { 1.0 });
        let x = w * w;
        let y = naca_half(x);
        let dy = 0.6 * (0.2969 - 0.252 * w - 1.4064 * w * w * w + 1.7058 * x * x * w - 0.812 * x * x * x * w);
        ([chord * x, -chord * sign * y], [chord * 2.0 * u * du, -chord * dy * du])
    };
    let mut curve = hermite(at, 160);
    let half = chord * naca_half(1.0);
    if let Some(first) = curve.segments.first_mut() {
        first.corner = true;
    }
    curve.segments.push(Segment::straight(P::new(chord, half), P::new(chord, -half)));
    curve
}

/// Half the thickness of NACA 0012 at `x` of its chord, in chords.
pub fn naca_half(x: f64) -> f64 {
    0.6 * (0.2969 * libm::sqrt(x) - 0.1260 * x - 0.3516 * x * x + 0.2843 * x * x * x - 0.1015 * x * x * x * x)
}

/// An ellipse about a place, half axes `a` across and `b` down.
pub fn ellipse(middle: [f64; 2], a: f64, b: f64) -> Curve<Finished> {
    let tau = std::f64::consts::TAU;
    let at = |s: f64| {
        let (sin, cos) = (libm::sin(tau * s), libm::cos(tau * s));
        ([middle[0] + a * cos, middle[1] + b * sin], [-tau * a * sin, tau * b * cos])
    };
    hermite(at, 96)
}

/// Every line of writing.
pub fn texts(drawing: &Drawing) -> Vec<&str> {
    let text = |i: &'_ Item| matches!(i, Item::Text { .. });
    let items = drawing.items.iter().filter(|i| text(i));
    items.filter_map(|i| if let Item::Text { text, .. } = i { Some(text.as_str()) } else { None }).collect()
}

/// Writes a drawing to `$LOOK/name.svg`, where that is set, to be looked at.
pub fn look(name: &str, drawing: &Drawing) {
    if let Ok(folder) = std::env::var("LOOK") {
        std::fs::write(format!("{folder}/{name}.svg"), svg(drawing)).unwrap();
    }
}

fn data(path: &Path) -> String {
    let mut d = String::new();
    for step in &path.steps {
        let _ = match step {
            Step::Move(p) => write!(d, "M{} {}", p.x, p.y),
            Step::Line(p) => write!(d, "L{} {}", p.x, p.y),
            Step::Cubic(a, b, c) => write!(d, "C{} {} {} {} {} {}", a.x, a.y, b.x, b.y, c.x, c.y),
            Step::Close => write!(d, "Z"),
        };
    }
    d
}

fn svg(drawing: &Drawing) -> String {
    let [w, h] = drawing.size;
    let mut out = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='{w}mm' height='{h}mm' viewBox='0 0 {w} {h}' \
         font-family='DejaVu Sans, sans-serif'><rect width='{w}' height='{h}' fill='white'/>"
    );
    for item in &drawing.items {
        let _ = match item {
            Item::Path { path, pen, fill } => {
                let fill = match fill {
                    Some(Fill::Black) => "black",
                    Some(Fill::Grey) => "#ccc",
                    Some(Fill::White) => "white",
                    None => "none",
                };
                let dash = pen.map_or("", |p| match p.line {
                    Line::Solid => "",
                    Line::Dash => "3 1.5",
                    Line::Chain => "10 1.5 2 1.5",
                    Line::DoubleChain => "10 1.5 2 1.5 2 1.5",
                    Line::Dot => "0.4 1.2",
                });
                let width = pen.map_or(0.0, |p| p.width);
                write!(
                    out,
                    "<path d='{}' fill='{fill}' fill-rule='evenodd' stroke='black' stroke-width='{width}' \
                     stroke-dasharray='{dash}'/>",
                    data(path)
                )
            }
            Item::Text { at, size, turn, anchor, bold, text, .. } => {
                let anchor = match anchor {
                    Anchor::Start => "start",
                    Anchor::Middle => "middle",
                    Anchor::End => "end",
                };
                let (bold, degrees) = (if *bold { "bold" } else { "normal" }, turn.to_degrees());
                let text = text.replace('&', "&amp;").replace('<', "&lt;");
                write!(
                    out,
                    "<text transform='translate({} {}) rotate({degrees})' font-size='{size}' font-weight='{bold}' \
                     text-anchor='{anchor}'>{text}</text>",
                    at.x, at.y
                )
            }
            Item::Picture { bounds: [l, t, r, b], .. } => {
                write!(out, "<rect x='{l}' y='{t}' width='{}' height='{}' fill='#e4e4e4'/>", r - l, b - t)
            }
        };
    }
    out + "</svg>"
}
