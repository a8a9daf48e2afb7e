//! A part at full size: the picture beneath, its outline, what is marked, and all that must be said on it.

use super::draw::{Drawing, Item};
use super::free::{inside, place as place_in};
use super::marks;
use super::order::{Hand, Marked, Pattern};
use super::outline::{Border, borders, extent, half, marked_points, mirrored, mirrored_shape};
use super::sketch::{CENTRE, FINE, FOLD, OUTLINE, Sketch};
use super::write::{LEADING, LEAST, MAIN, SMALL, TITLE, Writing};
use crate::plane::{Finished, Line, Point, Vector, bounds, from_segment, moments};
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
    let margin = pattern.margin.clamp(0.0, 200.0);
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
            let hand = words.word("sheet.right");
            let reach = extent(&other)?;
            let beside = |second: &Sketch<'_>| {
                let (a, b) = (first.bounds(), second.bounds());
                match upright {
                    true => [a[2] - b[0] + GAP, (a[1] - b[1]).max(0.0)],
                    false => [(a[0] - b[0]).max(0.0), a[3] - b[1] + GAP],
                }
            };
            let there;
            let mut second = one(&other, words, reach, &hand);
            if !words.joints.is_empty() {
                // It is joined where it comes to lie.
                there = words.clone().beside(words.joints.moved(beside(&second)));
                second = one(&other, &there, reach, &hand);
            }
            let by = beside(&second);
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
    let all = bounds(area.iter().flatten());
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
    let margin = if pattern.outline.is_some() { pattern.margin.clamp(0.0, 200.0) } else { 0.0 };
    let [l, t, r, b] = all;
    let mut bounds = [l - margin, t - margin, r + margin, b + margin];
    // No farther than the picture itself goes, where all of it can be seen.
    let [w, h] = picture.size.map(f64::from);
    let corners = [[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]].map(|c| picture.map.apply(Point::from(c)));
    let seen: Vec<P> = corners.iter().flatten().copied().collect();
    if seen.len() == 4 {
        let own = crate::plane::bounds(seen.iter());
        bounds = [bounds[0].max(own[0]), bounds[1].max(own[1]), bounds[2].min(own[2]), bounds[3].min(own[3])];
    }
    if !(bounds[2] > bounds[0] && bounds[3] > bounds[1]) {
        return;
    }
    (sketch.ground, sketch.round) = (true, margin);
    sketch.reach(bounds);
    sketch.items.push(Item::Picture { picture: picture.picture, map: picture.map, bounds, ink: picture.ink });
}

/// The outline and its holes, each hole with a place to put a saw blade through.
fn outlines(sketch: &mut Sketch<'_>, borders: &[Border]) {
    sketch.area = borders.iter().map(|b| b.points.clone()).collect();
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
        let far = |i: usize| from_segment(p, ring[i], ring[(i + 1) % ring.len()]);
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

/// Writing beside the marks, arrows, then the block of writing where there is room for it.
fn finish(sketch: &mut Sketch<'_>, pattern: &Pattern, marks: &[Marked], area: &[Vec<P>], hand: &str) {
    let key = marks::label(sketch, marks);
    let [l, t, r, b] = bounds(area.first().into_iter().flatten());
    let middle =
        area.first().and_then(|a| moments(a)).map_or(P::new((l + r) / 2.0, (t + b) / 2.0), |m| m.centroid);
    let lines = writing(pattern, sketch.words, hand, &key);
    // A whole view is to be looked at: nothing is written over it.
    let place = if pattern.outline.is_some() { room(sketch, area, &lines, middle) } else { None };
    let mut titled = false;
    if let Some((at, lines)) = &place {
        sketch.block(*at, lines);
    } else if pattern.outline.is_some() {
        // What is cut out must still say which part it is.
        for size in [TITLE, MAIN, SMALL] {
            let own = vec![(title(pattern, sketch.words), size, true)];
            let [w, h] = sketch.block_size(&own);
            if let Some(p) = place_in(&sketch.taken, area, [w + OFF, h + OFF / 2.0], 0.0, middle) {
                sketch.block(P::new(p.x - w / 2.0, p.y - h / 2.0), &own);
                titled = true;
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
        // What stands in the part needn't stand under it as well.
        below(sketch, &lines.iter().skip(usize::from(titled)).cloned().collect());
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

/// Writes below all that is drawn, in as many columns as there is room for; in one beside joints, where some run down there.
pub fn below(sketch: &mut Sketch<'_>, lines: &Lines) {
    let [l, _, r, b] = sketch.bounds();
    let columns = libm::floor((r - l + GAP) / (COLUMN + GAP)).min(lines.len() as f64 / 5.0);
    let mut columns = libm::floor(columns).clamp(1.0, 4.0);
    let mut width = if columns > 1.0 { COLUMN } else { (r - l).max(COLUMN) };
    let mut x = l;
    let joints = &sketch.words.joints;
    if joints.run_through(l, l + width.max((COLUMN + GAP) * columns - GAP)) {
        let [from, to] = joints.column(l, r.max(l + COLUMN));
        (columns, x, width) = (1.0, from, to - from);
    }
    let set = wrapped(sketch.words, lines, width, 1.0);
    let high = sketch.block_size(&set)[1] / columns;
    let mut rest = &set[..];
    while !rest.is_empty() {
        let mut take = 1;
        while take < rest.len() && sketch.block_size(&rest[..take])[1] < high {
            take += 1;
        }
        let mut y = b + GAP;
        for line in &rest[..take] {
            y = joints.clear(y, LEADING * line.1);
            sketch.block(P::new(x, y), std::slice::from_ref(line));
            y += LEADING * line.1;
        }
        rest = &rest[take..];
        x += COLUMN + GAP;
    }
}

#[cfg(test)]
mod tests;
