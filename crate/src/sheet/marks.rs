//! What is marked on a pattern: lines first, all of them, then the writing beside them in what room is left.

use super::free::Quad;
use super::order::{Marked, Shape};
use super::sketch::{FINE, MEDIUM, Sketch};
use crate::plane::{Finished, Line, Point, Vector};
use crate::words::Say;

type P = Point<Finished>;

/// A drilled hole is kept clear of joints this much beyond its edge, mm: 1/4 in, so that a bit finds whole paper round it.
const CLEAR: f64 = 6.35;
/// Half a length's end tick, mm.
const TICK: f64 = 2.0;
/// How far a centre's cross reaches past its circle, mm.
const CROSS: f64 = 2.5;
/// Length of an arrow, mm: at the most, and at the least.
const ARROW: [f64; 2] = [45.0, 14.0];

/// Draws what is marked. `fold`: lengths that cross this line are drawn to just beyond it.
pub fn draw(sketch: &mut Sketch<'_>, marks: &[Marked], fold: Option<&Line<Finished>>) {
    for mark in marks {
        match &mark.shape {
            Shape::Point(p) => cross(sketch, *p, 0.0),
            Shape::Round { centre, radius, drilled } => {
                sketch.circle(*centre, *radius, MEDIUM);
                cross(sketch, *centre, *radius);
                if *drilled {
                    sketch.keep_clear.push((*centre, radius + CLEAR));
                }
            }
            Shape::Length(ends) => length(sketch, *ends, fold),
            Shape::Lines { points, closed } => sketch.lines(points, *closed, FINE),
            Shape::Lands { line, thick } => lands(sketch, *line, *thick),
        }
    }
}

fn cross(sketch: &mut Sketch<'_>, at: P, radius: f64) {
    let reach = radius + CROSS;
    for way in [Vector::new(reach, 0.0), Vector::new(0.0, reach)] {
        sketch.lines(&[at + way * -1.0, at + way], false, FINE);
    }
}

/// A length with a tick at either end. Of one that crosses the fold only this half is drawn, and a little beyond, as
/// half of what is alike on both sides is told by convention (common practice, no source).
fn length(sketch: &mut Sketch<'_>, ends: [P; 2], fold: Option<&Line<Finished>>) {
    let Some(line) = Line::through(ends[0], ends[1]) else { return cross(sketch, ends[0], 0.0) };
    let mut shown = ends;
    let mut ticked = [true, true];
    if let Some(fold) = fold {
        let side = ends.map(|p| fold.distance(p));
        for i in 0..2 {
            let over = side[i] > 1e-6 && side[1 - i] < -1e-6;
            if let Some(at) = fold.crossing(&line).filter(|_| over) {
                let on = if i == 1 { 1.0 } else { -1.0 };
                shown[i] = at + line.along * (on * 8.0);
                ticked[i] = false;
            }
        }
    }
    sketch.lines(&shown, false, FINE);
    let square = Vector::new(-line.along.y, line.along.x) * TICK;
    for (p, _) in shown.iter().zip(ticked).filter(|(_, t)| *t) {
        sketch.lines(&[*p + square * -1.0, *p + square], false, MEDIUM);
    }
}

/// Where a neighbour lands: its two faces, and Xs between.
fn lands(sketch: &mut Sketch<'_>, [a, b]: [P; 2], thick: f64) {
    let Some(line) = Line::through(a, b).filter(|_| thick > 0.0 && thick.is_finite()) else {
        return sketch.lines(&[a, b], false, MEDIUM);
    };
    let half = Vector::new(-line.along.y, line.along.x) * (thick / 2.0);
    sketch.lines(&[a + half, b + half, b + half * -1.0, a + half * -1.0], true, MEDIUM);
    let long = a.distance(b);
    // An X about every two inches, each as long as it is wide where there is room.
    let count = libm::floor(long / (50.0 + thick)).clamp(1.0, 200.0);
    let wide = thick.max(3.0).min(long / count) / 2.0;
    for k in 0..count as usize {
        let at = a + line.along * (long * (k as f64 + 0.5) / count);
        let along = line.along * wide;
        for side in [1.0, -1.0] {
            let half = half * side;
            sketch.lines(&[at + along * -1.0 + half * -1.0, at + along + half], false, FINE);
        }
    }
}

/// Writes beside each mark what it is. What has no room gets its number there, and a line of its own in what comes back.
pub fn label(sketch: &mut Sketch<'_>, marks: &[Marked]) -> Vec<String> {
    let mut key = Vec::new();
    for mark in marks {
        let text = told(sketch, mark);
        let (anchors, clear) = anchors(&mark.shape);
        if text.is_empty() || anchors.is_empty() || sketch.label(&text, &anchors, clear) {
            continue;
        }
        let number = mark.number.to_string();
        if !sketch.label(&number, &anchors, clear) {
            sketch.squeeze(&number, anchors[0], clear);
        }
        key.push(sketch.words.tell(&Say::new("sheet.keyed").text("number", number).text("what", text)));
    }
    key
}

/// A mark's text, with its size where that isn't said yet.
fn told(sketch: &Sketch<'_>, mark: &Marked) -> String {
    let words = sketch.words;
    let text = super::write::clean(&mark.text);
    let size = match &mark.shape {
        Shape::Round { radius, .. } => {
            // A sign, not a word: it stands in no words file.
            if text.chars().any(|c| c == 'Ø') {
                String::new()
            } else {
                format!("Ø\u{a0}{}", words.fine(2.0 * radius))
            }
        }
        Shape::Length([a, b]) => {
            let size = words.length(a.distance(*b));
            // Beside a word it may stand with other spaces.
            let plain = |t: &str| t.chars().map(|c| if c == '\u{a0}' { ' ' } else { c }).collect::<Vec<_>>();
            let (text, own) = (plain(&text), plain(&size));
            if text.windows(own.len().max(1)).any(|part| part == own) { String::new() } else { size }
        }
        Shape::Lands { thick, .. } if *thick > 0.0 => words.fine(*thick),
        Shape::Point(_) | Shape::Lines { .. } | Shape::Lands { .. } => String::new(),
    };
    match (text.is_empty(), size.is_empty()) {
        (false, false) => words.tell(&Say::new("sheet.what-size").text("what", text).text("size", size)),
        (true, false) => size,
        _ => text,
    }
}

/// Where writing may stand beside, best first, and how far it must keep off.
fn anchors(shape: &Shape) -> (Vec<P>, f64) {
    let along = |[a, b]: [P; 2]| [0.5, 0.35, 0.65, 0.2, 0.8].map(|t| a + (b - a) * t).to_vec();
    match shape {
        Shape::Point(p) => (vec![*p], CROSS),
        // Beyond the circle, or within a large one.
        Shape::Round { centre, radius, .. } => (vec![*centre], radius + CROSS),
        Shape::Length(ends) => (along(*ends), 0.0),
        Shape::Lines { points, .. } => {
            let n = points.len();
            ([n / 2, 0, n.saturating_sub(1)].iter().filter_map(|i| points.get(*i).copied()).collect(), 0.0)
        }
        Shape::Lands { line, thick } => (along(*line), thick / 2.0),
    }
}

/// An arrow for grain (two heads), FRONT or UP with its word along it, as near to `near` as there is room in `area`, else
/// beyond what is drawn.
pub fn arrow(sketch: &mut Sketch<'_>, area: &[Vec<P>], near: P, way: f64, word: &str, both: bool) {
    use super::draw::Anchor;
    let size = super::write::SMALL;
    let wide = sketch.words.width(word, size, true) + 4.0;
    let high = size * 1.2 + 3.5;
    let tries = [ARROW[0], 30.0, 22.0, ARROW[1]].map(|long| long.max(wide));
    let found = tries.iter().find_map(|long| {
        super::free::place(&sketch.taken, area, [*long + 3.0, high], way, near).map(|p| (p, *long))
    });
    let (middle, long) = found.unwrap_or_else(|| {
        let long = tries[2];
        (beyond(sketch, [long + 3.0, high], way, both), long)
    });
    sketch.taken.take(Quad::turned(middle, [long + 3.0, high], way));
    let along = Vector::new(libm::cos(way), libm::sin(way));
    let down = Vector::new(-along.y, along.x);
    // The word must not stand on its head: it is turned about where the arrow points back.
    let flip = along.x < -1e-9 || (along.x.abs() <= 1e-9 && along.y > 0.0);
    let under = if flip { -1.0 } else { 1.0 };
    let shaft = middle + down * (under * (high / 2.0 - 1.8));
    let (tail, tip) = (shaft + along * (-long / 2.0), shaft + along * (long / 2.0));
    let mut head = |at: P, way: f64| {
        let back = at + along * (-3.5 * way);
        sketch.black(&[at, back + down * 1.3, back + down * -1.3]);
    };
    head(tip, 1.0);
    if both {
        head(tail, -1.0);
    }
    sketch.lines(&[tail + along * if both { 3.0 } else { 0.0 }, tip + along * -3.0], false, MEDIUM);
    let turn = if flip { way + std::f64::consts::PI } else { way };
    let base = shaft + down * (under * -1.6);
    sketch.text(base, size, turn, Anchor::Middle, true, word);
}

/// The middle of a place outside of all that is drawn: for grain below at the left, else the way that is pointed.
fn beyond(sketch: &Sketch<'_>, size: [f64; 2], way: f64, both: bool) -> P {
    let b = sketch.bounds();
    let own = Quad::turned(P::new(0.0, 0.0), size, way).bounds();
    let middle = P::new((b[0] + b[2]) / 2.0, (b[1] + b[3]) / 2.0);
    let (x, y) = (libm::cos(way), libm::sin(way));
    if both {
        P::new(b[0] + own[2], b[3] + 2.0 + own[3])
    } else if x.abs() > y.abs() {
        P::new(if x > 0.0 { b[2] + 2.0 + own[2] } else { b[0] - 2.0 - own[2] }, middle.y)
    } else {
        P::new(middle.x, if y > 0.0 { b[3] + 2.0 + own[3] } else { b[1] - 2.0 - own[3] })
    }
}
