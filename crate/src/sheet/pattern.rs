//! A part at full size: the picture beneath, its outline, what is marked, and all that must be said on it.

use super::draw::{Drawing, Item};
use super::free::{inside, place as place_in};
use super::marks;
use super::order::{Hand, Marked, Pattern};
use super::outline::{Border, borders, extent, half, marked_points, mirrored, mirrored_shape};
use super::sketch::{CENTRE, FINE, FOLD, OUTLINE, Sketch};
use super::write::{LEAST, MAIN, SMALL, TITLE, Writing};
use crate::plane::{Finished, Line, Point, Vector, moments};
use crate::words::Say;

type P = Point<Finished>;

/// Lines of writing, each with its size and whether it is bold.
type Lines = Vec<(String, f64, bool)>;

/// The radius of the hole that a saw blade is put through, mm: 1/4 in across, wider than any fret or scroll blade's end.
const START_HOLE: f64 = 3.175;
/// How far a centre line and a fold run past the outline, mm.
const PAST: f64 = 6.0;
/// Writing keeps off an outline this far, mm.
const OFF: f64 = 2.0;
/// Writing below a drawing is set in columns this wide, mm.
const COLUMN: f64 = 120.0;
/// Between two copies, or a drawing and the writing below, mm.
const GAP: f64 = 6.0;

/// Draws a pattern at full size.
///
/// # Errors
/// `sheet.no-area`, `sheet.crossing`, `sheet.too-long`, `sheet.too-small`, `sheet.not-finite` for what no pattern can be
/// made of; `sheet.fold-none`, `sheet.fold-apart` for half of what has no centre line across it.
pub fn drawing(pattern: &Pattern, words: &Writing<'_>) -> Result<Drawing, Say> {
    let all = extent(pattern)?;
    let title = title(pattern, words);
    let margin = pattern.margin.max(0.0).min(200.0);
    let sketch = match pattern.hand {
        Hand::One => one(pattern, words, all, ""),
        Hand::Half => halved(pattern, words)?,
        Hand::Pair => {
            let [l, t, r, b] = all;
            let middle = P::new((l + r) / 2.0, (t + b) / 2.0);
            // Mirrored about its long way, so that the two lie beside each other.
            let upright = b - t > r - l;
            let along = if upright { Vector::new(0.0, 1.0) } else { Vector::new(1.0, 0.0) };
            let other = mirrored(pattern, &Line { at: middle, along });
            let mut first = one(pattern, words, all, &words.word("sheet.left"));
            let second = one(&other, words, extent(&other)?, &words.word("sheet.right"));
            let (a, b) = (first.bounds(), second.bounds());
            let by = if upright {
                [a[2] - b[0] + GAP, (a[1] - b[1]).max(0.0)]
            } else {
                [(a[0] - b[0]).max(0.0), a[3] - b[1] + GAP]
            };
            first.append(second, by);
            first
        }
    };
    Ok(sketch.finish(&title, margin))
}

/// A name is cut at so many characters where it is a title.
const TITLE_LONG: usize = 60;

/// "A  Wing".
pub fn title(pattern: &Pattern, words: &Writing<'_>) -> String {
    let short = |t: &str| {
        let all = super::write::clean(t);
        let cut: String = all.chars().take(TITLE_LONG).collect();
        if cut.len() < all.len() { format!("{cut}…") } else { all }
    };
    let (letter, name) = (short(&pattern.letter), short(&pattern.name));
    if name.is_empty() || letter.is_empty() {
        return format!("{letter}{name}");
    }
    words.tell(&Say::new("sheet.title").text("letter", letter).text("name", name))
}

/// The whole of a part, once.
fn one<'a>(pattern: &Pattern, words: &'a Writing<'a>, all: [f64; 4], hand: &str) -> Sketch<'a> {
    let borders = borders(pattern);
    let mut sketch = Sketch::new(words);
    under(&mut sketch, pattern, all);
    sketch.reach(all);
    outlines(&mut sketch, &borders);
    if let Some([a, b]) = pattern.axis {
        let ends = across(a, b, &borders, all);
        sketch.lines(&ends, false, CENTRE);
    }
    marks::draw(&mut sketch, &pattern.marks, None);
    let area = area(&borders, all);
    finish(&mut sketch, pattern, &pattern.marks, &area, hand);
    sketch
}

/// Half of it, on the left of its centre line, the fold drawn.
fn halved<'a>(pattern: &Pattern, words: &'a Writing<'a>) -> Result<Sketch<'a>, Say> {
    let (borders, fold) = half(pattern)?;
    let line = Line::through(fold[0], fold[1]).ok_or_else(|| Say::new("sheet.fold-apart"))?;
    let marks = on_this_half(&pattern.marks, &line);
    let area: Vec<Vec<P>> = borders.iter().map(|b| b.points.clone()).collect();
    let all = bounds_of(area.iter().flatten());
    let mut sketch = Sketch::new(words);
    under(&mut sketch, &Pattern { bounds: [0.0; 4], ..pattern.clone() }, all);
    sketch.reach(all);
    outlines(&mut sketch, &borders);
    let past = line.along * PAST;
    sketch.lines(&[fold[0] + past * -1.0, fold[1] + past], false, FOLD);
    marks::draw(&mut sketch, &marks, Some(&line));
    fold_text(&mut sketch, &line, fold);
    finish(&mut sketch, pattern, &marks, &area, "");
    Ok(sketch)
}

/// "FOLD — other half the same" along the fold, on the side that is left free.
fn fold_text(sketch: &mut Sketch<'_>, line: &Line<Finished>, fold: [P; 2]) {
    let text = sketch.words.word("sheet.fold");
    let turn = libm::atan2(line.along.y, line.along.x);
    let flip = !(-1.58..1.57).contains(&turn);
    let out = Vector::new(-line.along.y, line.along.x);
    // Its base line away from the fold when it reads along it, its top when it reads back.
    let off = if flip { 1.2 } else { SMALL + 0.6 };
    let turn = if flip { turn - std::f64::consts::PI } else { turn };
    let at = |share: f64| fold[0] + (fold[1] - fold[0]) * share + out * off;
    let middle = super::draw::Anchor::Middle;
    let free = |p: &P| sketch.taken.is_free(&sketch.box_of(*p, SMALL, turn, middle, true, &text));
    let spots = [0.5, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.0, 1.0].map(at);
    let at = spots.iter().copied().find(free).unwrap_or(spots[0]);
    sketch.text(at, SMALL, turn, middle, true, &text);
}

/// What is marked, as one half shows it: what stands only on the other one is brought over, unless it is there already.
fn on_this_half(marks: &[Marked], fold: &Line<Finished>) -> Vec<Marked> {
    let side =
        |m: &Marked| marked_points(&m.shape).iter().map(|p| fold.distance(*p)).fold(f64::INFINITY, f64::min);
    let (here, there): (Vec<&Marked>, Vec<&Marked>) = marks.iter().partition(|m| side(m) <= 1e-6);
    let mut all: Vec<Marked> = here.into_iter().cloned().collect();
    for mark in there {
        let shape = mirrored_shape(&mark.shape, fold);
        let same = |m: &Marked| {
            let (a, b) = (marked_points(&m.shape), marked_points(&shape));
            let near = |p: &P| b.iter().any(|q| p.distance(*q) < 1.0);
            std::mem::discriminant(&m.shape) == std::mem::discriminant(&shape)
                && a.len() == b.len()
                && a.iter().all(near)
        };
        if !all.iter().any(same) {
            all.push(Marked { shape, ..mark.clone() });
        }
    }
    all
}

/// The picture beneath.
fn under(sketch: &mut Sketch<'_>, pattern: &Pattern, all: [f64; 4]) {
    let Some(picture) = &pattern.picture else { return };
    let margin = if pattern.outline.is_some() { pattern.margin.max(0.0).min(200.0) } else { 0.0 };
    let [l, t, r, b] = all;
    let mut bounds = [l - margin, t - margin, r + margin, b + margin];
    // No farther than the picture itself goes, where all of it can be seen.
    let [w, h] = picture.size.map(f64::from);
    let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|c| picture.map.apply(Point::from(c)));
    let seen: Vec<P> = corners.iter().flatten().copied().collect();
    if seen.len() == 4 {
        let own = bounds_of(seen.iter());
        bounds = [bounds[0].max(own[0]), bounds[1].max(own[1]), bounds[2].min(own[2]), bounds[3].min(own[3])];
    }
    if !(bounds[2] > bounds[0] && bounds[3] > bounds[1]) {
        return;
    }
    sketch.ground = true;
    sketch.reach(bounds);
    sketch.items.push(Item::Picture { picture: picture.picture, map: picture.map, bounds, ink: picture.ink });
}

/// The outline and its holes, each hole with a place to put a saw blade through.
fn outlines(sketch: &mut Sketch<'_>, borders: &[Border]) {
    for border in borders {
        sketch.stroke(border.path.clone(), &border.points, true, OUTLINE);
    }
    for hole in borders.iter().skip(1) {
        let Some(at) = start_hole(&hole.points) else { continue };
        sketch.circle(at, START_HOLE, FINE);
        for way in [Vector::new(1.2, 0.0), Vector::new(0.0, 1.2)] {
            sketch.lines(&[at + way * -1.0, at + way], false, FINE);
        }
        sketch.keep_clear.push((at, START_HOLE + 2.0));
        let text = sketch.words.word("sheet.start-hole");
        if !sketch.label(&text, &[at], START_HOLE) {
            sketch.squeeze(&text, at, START_HOLE);
        }
    }
}

/// A place for a drill in a hole's waste, near its edge; none where the hole is hardly larger than the drill.
fn start_hole(ring: &[P]) -> Option<P> {
    let off = START_HOLE + 1.0;
    let turn = if crate::plane::signed_area(ring) > 0.0 { 1.0 } else { -1.0 };
    let clear = |p: P| {
        let far = |i: usize| to_line(p, ring[i], ring[(i + 1) % ring.len()]);
        (0..ring.len()).map(far).fold(f64::INFINITY, f64::min)
    };
    let mut best: Option<(f64, P)> = None;
    let every = (ring.len() / 60).max(1);
    for i in (0..ring.len()).step_by(every) {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let side = b - a;
        let long = side.length();
        if !(long > 0.0) {
            continue;
        }
        let in_from = Vector::new(-side.y, side.x) * (turn * off / long);
        let p = a + side * 0.5 + in_from;
        // The straighter the edge there, the easier the blade finds its line: the longest side wins.
        if crate::plane::contains(ring, p) && clear(p) >= off - 0.2 && best.is_none_or(|(l, _)| long > l) {
            best = Some((long, p));
        }
    }
    best.map(|(_, p)| p)
}

/// How far `p` lies from the line between `a` and `b`.
fn to_line(p: P, a: P, b: P) -> f64 {
    let along = b - a;
    let t = ((p - a).dot(along) / along.dot(along).max(1e-300)).max(0.0).min(1.0);
    p.distance(a + along * t)
}

/// A centre line from one side of the outline to the other and a little beyond.
fn across(a: P, b: P, borders: &[Border], all: [f64; 4]) -> [P; 2] {
    let Some(line) = Line::through(a, b) else { return [a, b] };
    let whole = [[all[0], all[1]], [all[2], all[1]], [all[2], all[3]], [all[0], all[3]]].map(P::from);
    let ring = borders.first().map_or(&whole[..], |b| &b.points[..]);
    let mut runs = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..ring.len() {
        let (p, q) = (ring[i], ring[(i + 1) % ring.len()]);
        let (d, e) = (line.distance(p), line.distance(q));
        if (d <= 0.0) != (e <= 0.0) {
            let run = line.run(p + (q - p) * (d / (d - e)));
            runs = (runs.0.min(run), runs.1.max(run));
        }
    }
    if !(runs.1 >= runs.0) {
        return [a, b];
    }
    [line.at + line.along * (runs.0 - PAST), line.at + line.along * (runs.1 + PAST)]
}

/// Where writing may stand: inside the outline, or anywhere in a view without one.
fn area(borders: &[Border], [l, t, r, b]: [f64; 4]) -> Vec<Vec<P>> {
    if borders.is_empty() {
        return vec![[[l, t], [r, t], [r, b], [l, b]].map(P::from).to_vec()];
    }
    borders.iter().map(|b| b.points.clone()).collect()
}

/// Left, top, right, bottom of places.
pub fn bounds_of<'p>(points: impl Iterator<Item = &'p P>) -> [f64; 4] {
    let none = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    points.fold(none, |b, p| [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)])
}

/// Writing beside the marks, arrows, then the block of writing where there is room for it.
fn finish(sketch: &mut Sketch<'_>, pattern: &Pattern, marks: &[Marked], area: &[Vec<P>], hand: &str) {
    let key = marks::label(sketch, marks);
    let [l, t, r, b] = bounds_of(area.first().into_iter().flatten());
    let middle =
        area.first().and_then(|a| moments(a)).map_or(P::new((l + r) / 2.0, (t + b) / 2.0), |m| m.centroid);
    let lines = writing(pattern, sketch.words, hand, &key);
    // A whole view is to be looked at: nothing is written over it.
    let place = if pattern.outline.is_some() { room(sketch, area, &lines, middle) } else { None };
    if let Some((at, lines)) = &place {
        sketch.block(*at, lines);
    } else if pattern.outline.is_some() {
        // What is cut out must still say which part it is.
        for size in [TITLE, MAIN, SMALL] {
            let own = vec![(title(pattern, sketch.words), size, true)];
            let [w, h] = sketch.block_size(&own);
            if let Some(p) = place_in(&sketch.taken, area, [w + OFF, h + OFF / 2.0], 0.0, middle) {
                sketch.block(P::new(p.x - w / 2.0, p.y - h / 2.0), &own);
                break;
            }
        }
    }
    let words = sketch.words;
    for (way, key, both) in [
        (pattern.grain, "sheet.grain", true),
        (pattern.front, "sheet.front", false),
        (pattern.up, "sheet.up", false),
    ] {
        let Some(way) = way else { continue };
        let reach = if both { 0.0 } else { 0.42 };
        let near =
            P::new(middle.x + libm::cos(way) * reach * (r - l), middle.y + libm::sin(way) * reach * (b - t));
        marks::arrow(sketch, area, near, way, &words.word(key), both);
    }
    if place.is_none() {
        below(sketch, &lines);
    }
}

/// All that a pattern says, line by line.
fn writing(pattern: &Pattern, words: &Writing<'_>, hand: &str, key: &[String]) -> Lines {
    let mut lines: Lines = vec![(title(pattern, words), TITLE, true)];
    let mut say = |text: String, size: f64, bold: bool| {
        if !text.is_empty() {
            lines.push((text, size, bold));
        }
    };
    say(hand.to_owned(), MAIN, true);
    let wanted = Say::new("sheet.wanted").count("count", pattern.quantity as usize);
    say(if pattern.quantity > 0 { words.tell(&wanted) } else { String::new() }, MAIN, false);
    for line in pattern.lines.iter().take(24) {
        say(super::write::clean(line), MAIN, false);
    }
    if pattern.outline.is_some() {
        say(words.word("sheet.saw"), MAIN, false);
    }
    say(words.word("sheet.full-size"), MAIN, true);
    for line in key {
        say(line.clone(), SMALL, false);
    }
    say(words.made(), SMALL, false);
    lines
}

/// A free place inside `area` for the writing, broken to fit it: its top left corner, and the lines.
fn room(sketch: &Sketch<'_>, area: &[Vec<P>], lines: &Lines, near: P) -> Option<(P, Lines)> {
    let natural = sketch.block_size(lines)[0];
    for (share, scale) in
        [(1.0, 1.0), (0.6, 1.0), (0.4, 1.0), (1.0, 0.8), (0.6, 0.8), (0.4, 0.8), (0.28, 0.8)]
    {
        let set = wrapped(sketch.words, lines, (natural * share * scale).max(30.0), scale);
        let [w, h] = sketch.block_size(&set);
        if let Some(p) = place_in(&sketch.taken, area, [w + 2.0 * OFF, h + 2.0 * OFF], 0.0, near)
            && inside(area, p)
        {
            return Some((P::new(p.x - w / 2.0, p.y - h / 2.0), set));
        }
    }
    None
}

/// The lines broken to a width, and smaller by `scale`, though none smaller than can be read.
fn wrapped(words: &Writing<'_>, lines: &Lines, width: f64, scale: f64) -> Lines {
    let set = lines.iter().flat_map(|(text, size, bold)| {
        let size = (size * scale).max(LEAST);
        words.wrap(text, size, *bold, width).into_iter().map(move |l| (l, size, *bold))
    });
    set.collect()
}

/// Writes below all that is drawn, in as many columns as there is room for.
pub fn below(sketch: &mut Sketch<'_>, lines: &Lines) {
    let [l, _, r, b] = sketch.bounds();
    let columns = libm::floor((r - l + GAP) / (COLUMN + GAP)).min(lines.len() as f64 / 5.0);
    let columns = libm::floor(columns).max(1.0).min(4.0);
    let width = if columns > 1.0 { COLUMN } else { (r - l).max(COLUMN) };
    let set = wrapped(sketch.words, lines, width, 1.0);
    let high = sketch.block_size(&set)[1] / columns;
    let mut rest = &set[..];
    let mut x = l;
    while !rest.is_empty() {
        let mut take = 1;
        while take < rest.len() && sketch.block_size(&rest[..take])[1] < high {
            take += 1;
        }
        sketch.block(P::new(x, b + GAP), &rest[..take]);
        rest = &rest[take..];
        x += COLUMN + GAP;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Homography;
    use crate::sheet::draw::{Fill, Path, Pen};
    use crate::sheet::free::Quad;
    use crate::sheet::order::{Outline, Shape, Under};
    use crate::sheet::trial::{
        ellipse, look, marked, naca, naca_half, order, outline, pattern, points, texts,
    };
    use crate::sheet::write::estimate;
    use crate::sheet::{Ink, Order};

    fn draw(p: &Pattern) -> Result<Drawing, Say> {
        let order: Order = order();
        drawing(p, &Writing::new(&order, &estimate))
    }

    /// The side of a whirligig's body: holes, lengths, a housing, a cut-out.
    fn body() -> Pattern {
        let side = [
            [0.0, 60.0],
            [40.0, 28.0],
            [150.0, 10.0],
            [420.0, 30.0],
            [560.0, 40.0],
            [600.0, 0.0],
            [610.0, 70.0],
            [420.0, 95.0],
            [120.0, 120.0],
            [20.0, 100.0],
        ];
        let window = [[190.0, 30.0], [250.0, 34.0], [250.0, 60.0], [190.0, 58.0]];
        let round = |x, y, r| Shape::Round { centre: P::new(x, y), radius: r, drilled: true };
        Pattern {
            name: "Body".to_owned(),
            marks: vec![
                marked(1, "Shaft", round(24.0, 66.0, 3.0)),
                marked(2, "Pivot hole", round(200.0, 96.0, 4.7625)),
                marked(3, "Length", Shape::Length([P::new(0.0, 60.0), P::new(610.0, 70.0)])),
                marked(
                    4,
                    "Wing",
                    Shape::Lands { line: [P::new(100.0, 80.0), P::new(220.0, 80.0)], thick: 18.25 },
                ),
                marked(
                    5,
                    "Tailplane",
                    Shape::Lands { line: [P::new(520.0, 52.0), P::new(590.0, 48.0)], thick: 6.35 },
                ),
                marked(
                    6,
                    "Cockpit",
                    Shape::Lines {
                        points: points(&[[260.0, 18.0], [275.0, 40.0], [330.0, 40.0], [350.0, 25.0]]),
                        closed: false,
                    },
                ),
                marked(7, "Balance", Shape::Point(P::new(300.0, 70.0))),
            ],
            axis: Some([P::new(0.0, 66.0), P::new(600.0, 66.0)]),
            grain: Some(0.0),
            front: Some(std::f64::consts::PI),
            up: Some(-std::f64::consts::FRAC_PI_2),
            ..pattern(outline(&[&side, &window]))
        }
    }

    /// No two pieces of writing overlap, and none lies on the outline's line.
    fn nothing_collides(d: &Drawing) {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let sketch = Sketch::new(&words);
        let mut boxes: Vec<(Quad, &str)> = Vec::new();
        for item in &d.items {
            if let Item::Text { at, size, turn, anchor, bold, text, .. } = item {
                let quad = sketch.box_of(*at, size * 0.9, *turn, *anchor, *bold, text);
                for (other, what) in &boxes {
                    assert!(!quad.overlaps(other), "{text} over {what}");
                }
                for p in quad.corners() {
                    assert!(
                        p.x >= 0.0 && p.y >= 0.0 && p.x <= d.size[0] && p.y <= d.size[1],
                        "{text} beyond"
                    );
                }
                assert!(*size >= LEAST);
                boxes.push((quad, text));
            }
        }
        for item in &d.items {
            if let Item::Path { path, pen: Some(Pen { width, .. }), .. } = item
                && *width >= OUTLINE.width
            {
                let line = flat(path);
                for pair in line.windows(2) {
                    let line = Quad::line(pair[0], pair[1]);
                    assert!(boxes.iter().all(|(b, t)| !b.overlaps(&line) || panic!("{t} on an outline")));
                }
            }
        }
    }

    fn flat(path: &Path) -> Vec<P> {
        use crate::sheet::Step;
        let mut out: Vec<P> = Vec::new();
        for step in &path.steps {
            match step {
                Step::Move(p) | Step::Line(p) => out.push(*p),
                Step::Cubic(a, b, c) => {
                    let cubic = crate::plane::Cubic([*out.last().unwrap(), *a, *b, *c]);
                    out.extend((1..=8).map(|k| cubic.at(f64::from(k) / 8.0)));
                }
                Step::Close => out.push(out[0]),
            }
        }
        out
    }

    #[test]
    fn a_whole_part_says_all_there_is_to_say() {
        let d = draw(&body()).unwrap();
        look("body", &d);
        nothing_collides(&d);
        let all = texts(&d).join("|");
        for what in [
            "A\u{a0}\u{a0}Body",
            "Make 2",
            "finish to the line",
            "FULL SIZE",
            "check the bars",
            "GRAIN",
            "FRONT",
            "UP",
            "Pivot hole",
            "Ø 3⁄8",
            "Wing",
            "23⁄32",
            "start hole",
            "Marsh Hen, 3 May, revision 12",
        ] {
            assert!(all.contains(what), "{what} in {all}");
        }
        assert_eq!(d.title, "A\u{a0}\u{a0}Body");
        assert_eq!(d.keep_clear.len(), 3, "two drilled, one start hole");
        // The size of the whole: the outline, its margin, and no more than the writing needs.
        assert!(d.size[0] >= 610.0 + 12.0 && d.size[0] < 680.0, "{:?}", d.size);
    }

    #[test]
    fn a_section_is_drawn_to_the_formula() {
        let mut p = pattern(Outline { rings: vec![naca(300.0)], ..Outline::default() });
        p.name = "Section".to_owned();
        let d = draw(&p).unwrap();
        look("section", &d);
        nothing_collides(&d);
        let outline = d.items.iter().find_map(|i| match i {
            Item::Path { path, pen: Some(pen), .. } if *pen == OUTLINE => Some(flat(path)),
            _ => None,
        });
        let outline = outline.unwrap();
        let left = outline.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        let middle = (outline.iter().map(|p| p.y).fold(f64::INFINITY, f64::min)
            + outline.iter().map(|p| p.y).fold(f64::NEG_INFINITY, f64::max))
            / 2.0;
        for q in outline {
            let x = (q.x - left) / 300.0;
            if x < 0.9999 {
                assert!(((q.y - middle).abs() - 300.0 * naca_half(x)).abs() < 0.002, "{q:?}");
            }
        }
    }

    #[test]
    fn half_a_part_has_its_fold() {
        let mut p = pattern(Outline {
            rings: vec![ellipse([200.0, 0.0], 180.0, 60.0), ellipse([90.0, 0.0], 20.0, 12.0)],
            ..Outline::default()
        });
        p.hand = Hand::Half;
        p.axis = Some([P::new(200.0, 80.0), P::new(200.0, -80.0)]);
        p.grain = Some(0.0);
        let round = |x| Shape::Round { centre: P::new(x, 20.0), radius: 4.0, drilled: true };
        p.marks = vec![
            marked(1, "Span", Shape::Length([P::new(20.0, 0.0), P::new(380.0, 0.0)])),
            marked(2, "Strut", round(120.0)),
            marked(3, "Strut", round(280.2)),
            marked(4, "Peg", Shape::Point(P::new(330.0, -20.0))),
        ];
        let d = draw(&p).unwrap();
        look("half", &d);
        nothing_collides(&d);
        assert!(texts(&d).iter().any(|t| t.starts_with("FOLD")));
        let fold = d.items.iter().any(|i| matches!(i, Item::Path { pen: Some(pen), .. } if *pen == FOLD));
        assert!(fold);
        assert!(d.size[0] < 250.0, "half as wide: {:?}", d.size);
        // The strut's two holes are one; the peg of the other half is brought over.
        assert_eq!(d.keep_clear.len(), 2, "{:?}", d.keep_clear);
        assert!(texts(&d).iter().any(|t| t.contains("Peg")));
        p.axis = None;
        assert_eq!(draw(&p).unwrap_err().key, "sheet.fold-none");
    }

    #[test]
    fn a_pair_is_it_and_its_mirror_image() {
        let mut p = body();
        p.hand = Hand::Pair;
        let d = draw(&p).unwrap();
        look("pair", &d);
        nothing_collides(&d);
        assert_eq!(texts(&d).iter().filter(|t| **t == "left" || **t == "right").count(), 2);
        assert_eq!(d.keep_clear.len(), 6);
    }

    #[test]
    fn what_is_too_small_is_written_on_below() {
        let mut p = pattern(Outline { rings: vec![ellipse([0.0, 0.0], 15.0, 8.0)], ..Outline::default() });
        p.name = "x".repeat(500);
        p.grain = Some(1.0);
        p.front = Some(0.0);
        p.marks =
            (0..12).map(|k| marked(k, "Some mark", Shape::Point(P::new(f64::from(k) - 6.0, 0.0)))).collect();
        let d = draw(&p).unwrap();
        look("small", &d);
        assert!(d.size[1] < 330.0 && d.size[0] < 260.0, "{:?}", d.size);
        let all = texts(&d).join("|");
        assert!(all.contains("FULL SIZE"));
        p.name = "\u{202e}\u{7}".to_owned();
        assert_eq!(draw(&p).unwrap().title, "A");
    }

    #[test]
    fn a_whole_view_with_its_picture() {
        let map = Homography::from_rows([[0.5, 0.0, 10.0], [0.0, 0.5, 20.0], [0.0, 0.0, 1.0]]);
        let mut p = pattern(outline(&[&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]]));
        p.outline = None;
        p.bounds = [0.0, 0.0, 300.0, 150.0];
        p.picture = Some(Under { picture: 3, size: [500, 400], map, ink: Ink::Grey });
        p.marks = vec![marked(1, "Length", Shape::Length([P::new(20.0, 90.0), P::new(250.0, 90.0)]))];
        let d = draw(&p).unwrap();
        look("view", &d);
        nothing_collides(&d);
        let Some(Item::Picture { map, bounds, .. }) = d.items.first() else { panic!("no picture") };
        // The picture's own corner lies 10 right and 20 down of the view's; the view's is a margin from the drawing's.
        let [x, y] = <[f64; 2]>::from(map.apply(Point::new(0.0, 0.0)).unwrap());
        assert!((x - 16.0).abs() < 1e-9 && (y - 26.0).abs() < 1e-9, "{x} {y}");
        for (got, expected) in bounds.iter().zip([16.0, 26.0, 266.0, 156.0]) {
            assert!((got - expected).abs() < 1e-9, "{bounds:?}");
        }
        let grounds = d.items.iter().all(|i| !matches!(i, Item::Text { ground: false, .. }));
        assert!(grounds, "all writing on white");
        assert!(d.items.iter().all(|i| !matches!(i, Item::Path { fill: Some(Fill::Grey), .. })));
    }
}
