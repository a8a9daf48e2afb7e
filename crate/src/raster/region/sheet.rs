//! A drawing divided into its views: what its lines enclose, brought together where little white lies between.
//!
//! What encloses nothing of size (lettering, dimension lines, arrowheads) makes no view; a frame round all, a table with
//! lettering in it and the edge of the sheet are left out. No view needs to be level: nothing is looked for along rows.

use super::bits::Bits;
use super::refine::{How, Kind};
use super::runs::{Part, Runs};
use super::shape::{Solid, holes, without_strokes};
use super::touch::{self, MARGIN, Parted, Region, fine_ring, is_line, told};
use crate::order::{sort_by, sort_by_key};
use crate::raster::ask::{Border, FoundView};
use crate::raster::luma::Luma;
use crate::words::Say;

/// A frame reaches over this share of the picture each way, and fills this share of its own box.
const FRAME: (f64, f64) = (0.7, 0.8);
/// A shape is at least this share of the largest one.
const SMALL: f64 = 0.005;
/// Under this share of the largest a shape may still be a letter.
const LETTER: f64 = 0.02;
/// Shapes belong together when no further apart than this share of the smaller one's length, or so many lines' widths.
const NEAR: (f64, f64) = (0.05, 6.0);
/// The same for a small thing (under a quarter as long) that hangs on the other by a line.
const HANGING: f64 = 0.4;
/// A view's box takes in what hangs on its shapes as long as it grows by no more than this.
const GENEROUS: f64 = 1.35;
/// At most so many shapes are outlined in a view, and so many parts are looked at.
const MOST: (usize, usize) = (8, 300);

/// A closed thing on the sheet.
struct Shape {
    /// The part whose lines enclose it.
    part: u32,
    /// Its box, px: first column and row, those after the last.
    bounds: [i64; 4],
    area: u64,
    /// Its pixels in a window that begins at `at`.
    pixels: Bits,
    at: [i64; 2],
    reach: usize,
    kind: Kind,
}

/// The views of a drawing, in reading order.
///
/// # Errors
/// `seek.nothing` where nothing on the picture is enclosed.
pub fn views(luma: &Luma) -> Result<Vec<FoundView>, Say> {
    let parted = Parted::of(luma)?;
    let shapes = shapes(&parted);
    if shapes.is_empty() {
        return Err(Say::new("seek.nothing"));
    }
    let groups = together(&shapes);
    let boxes: Vec<[i64; 4]> =
        groups.iter().map(|group| united(group.iter().map(|i| shapes[*i].bounds))).collect();
    let mut found: Vec<FoundView> = Vec::new();
    for (i, group) in groups.iter().enumerate() {
        let hung = united(
            group.iter().filter_map(|s| parted.runs.part(shapes[*s].part)).map(|p| p.bounds.map(i64::from)),
        );
        let bounds = view_box(
            boxes[i],
            hung,
            boxes.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, b)| *b),
            luma,
        );
        let borders = group.iter().take(MOST.0).filter_map(|s| outline(&parted, &shapes[*s])).collect();
        found.push(FoundView { bounds, shapes: borders });
    }
    in_reading_order(&mut found);
    Ok(found)
}

/// Everything closed that may belong to a view, largest first.
fn shapes(parted: &Parted) -> Vec<Shape> {
    let parts = parted.runs.parts();
    let mut numbers: Vec<u32> = Vec::new();
    numbers.extend((0u32..).zip(parts).filter(|(_, p)| p.dark && p.area > 20).map(|(i, _)| i));
    let box_area = |p: &Part| u64::from(p.size()[0]) * u64::from(p.size()[1]);
    sort_by_key(&mut numbers, |i| std::cmp::Reverse(parts.get(*i as usize).map(box_area)));
    let mut found: Vec<Shape> = Vec::new();
    for number in numbers.iter().take(MOST.1) {
        let Some(part) = parted.runs.part(*number) else { continue };
        let largest = found.iter().map(|s| s.area).max().unwrap_or(0) as f64;
        if (box_area(part) as f64) < SMALL * largest {
            break;
        }
        if !is_frame(parted, part) {
            found.extend(closed(parted, *number, part).unwrap_or_default());
        }
    }
    let largest = found.iter().map(|s| s.area).max().unwrap_or(0) as f64;
    found.retain(|s| {
        let share = s.area as f64 / largest;
        share >= SMALL && !(share < LETTER && is_letter(parted, s)) && !is_table(parted, s)
    });
    sort_by_key(&mut found, |s| std::cmp::Reverse(s.area));
    found
}

/// What one part's lines enclose, without the strokes that hang on it.
fn closed(parted: &Parted, number: u32, part: &Part) -> Option<Vec<Shape>> {
    let (ink, at) = parted.runs.cut(number, MARGIN)?;
    let kind = if is_line(part, part.size()) { Kind::Line(part.thickness() / 2.0) } else { Kind::Edge };
    let reach = if let Kind::Line(half) = kind { half as usize + 2 } else { 1 };
    let filled = ink.filled()?;
    let solid = if matches!(kind, Kind::Line(_)) { without_strokes(&filled, reach) } else { filled };
    let runs = Runs::of(&solid)?;
    let mut found = Vec::new();
    for (i, piece) in (0u32..).zip(runs.parts()) {
        // What is left of a stroke, a dot, or a blot has no size.
        if !piece.dark || piece.thickness() < 3.0 * reach as f64 {
            continue;
        }
        let (pixels, from) = runs.cut(i, MARGIN)?;
        let at = [at[0] + from[0], at[1] + from[1]];
        let size = piece.size().map(i64::from);
        let [left, top] = [at[0] + MARGIN, at[1] + MARGIN];
        let bounds = [left, top, left + size[0], top + size[1]];
        found.push(Shape { part: number, bounds, area: piece.area, pixels, at, reach, kind });
    }
    Some(found)
}

/// Whether a part is the frame round the drawing, or what lies beside the sheet.
fn is_frame(parted: &Parted, part: &Part) -> bool {
    let (width, height) = (parted.runs.width() as f64, parted.runs.height() as f64);
    let [wide, high] = part.size().map(f64::from);
    if wide < FRAME.0 * width || high < FRAME.0 * height {
        return false;
    }
    if part.at_border {
        return true;
    }
    // Lines that are a frame hold a light part nearly as large as their own box, with something of size in it.
    let [left, top, right, bottom] = part.bounds;
    let within =
        |p: &Part| p.bounds[0] > left && p.bounds[1] > top && p.bounds[2] < right && p.bounds[3] < bottom;
    let inside = |p: &&Part| !p.at_border && within(p);
    let parts = parted.runs.parts();
    let room = parts.iter().filter(inside).filter(|p| !p.dark).map(|p| p.area).max().unwrap_or(0) as f64;
    let holds = parts.iter().filter(inside).any(|p| {
        let [w, h] = p.size().map(f64::from);
        p.dark && w > 0.08 * wide && h > 0.04 * high && w * h > 0.01 * wide * high
    });
    room >= (FRAME.1 - 0.3) * wide * high && holds && corners_reached(parted, part)
}

/// Whether a part comes near all four corners of its box: a frame does, a round or winged thing doesn't.
fn corners_reached(parted: &Parted, part: &Part) -> bool {
    let [left, top, right, bottom] = part.bounds.map(i64::from);
    let reach = (right - left).min(bottom - top) / 12;
    let hit = |x0: i64, y0: i64| {
        (y0..y0 + reach).any(|y| {
            let row = usize::try_from(y).map(|y| parted.runs.row(y)).unwrap_or(&[]);
            row.iter().any(|run| {
                i64::from(run.to) > x0
                    && i64::from(run.from) < x0 + reach
                    && run.to > run.from
                    && parted.runs.part(run.part).is_some_and(|p| p == part)
            })
        })
    };
    hit(left, top)
        && hit(right - reach, top)
        && hit(left, bottom - reach)
        && hit(right - reach, bottom - reach)
}

/// Whether a small shape stands in a row of at least two others of its height.
fn is_letter(parted: &Parted, shape: &Shape) -> bool {
    let [left, top, right, bottom] = shape.bounds.map(|v| v as f64);
    let high = (right - left).max(bottom - top);
    let beside = parted.runs.parts().iter().filter(|p| p.dark).filter(|p| {
        let [l, t, r, b] = p.bounds.map(f64::from);
        let tall = (r - l).max(b - t);
        let apart = |a: f64, b: f64, c: f64, d: f64| (c - b).max(a - d);
        let level = |a: f64, b: f64, c: f64, d: f64| ((a + b) - (c + d)).abs() < 0.5 * high;
        let near = |gap: f64| gap > 0.0 && gap < 1.2 * high;
        tall > 0.7 * high
            && tall < 1.4 * high
            && ((near(apart(left, right, l, r)) && level(top, bottom, t, b))
                || (near(apart(top, bottom, t, b)) && level(left, right, l, r)))
    });
    beside.count() >= 2
}

/// Whether a shape is a table of lettering: nearly a rectangle that holds little but small things, and many.
fn is_table(parted: &Parted, shape: &Shape) -> bool {
    let [left, top, right, bottom] = shape.bounds;
    let (wide, high) = ((right - left) as f64, (bottom - top) as f64);
    if (shape.area as f64) < FRAME.1 * wide * high {
        return false;
    }
    let least = wide.min(high);
    let (mut small, mut large) = (0, 0);
    for part in parted.runs.parts().iter().filter(|p| p.dark && p.area > 4) {
        let [l, t, r, b] = part.bounds.map(i64::from);
        if l > left && t > top && r < right && b < bottom {
            let [w, h] = part.size();
            if f64::from(w.max(h)) <= 0.45 * least { small += 1 } else { large += 1 }
        }
    }
    small >= 6 && large == 0
}

/// Shapes that belong to one view, as places in `shapes`; each group's largest first.
fn together(shapes: &[Shape]) -> Vec<Vec<usize>> {
    let mut group: Vec<usize> = (0..shapes.len()).collect();
    for i in 0..shapes.len() {
        for j in 0..i {
            if group[i] != group[j] && belong(&shapes[i], &shapes[j]) {
                let (to, from) = (group[i].min(group[j]), group[i].max(group[j]));
                for g in &mut group {
                    if *g == from {
                        *g = to;
                    }
                }
            }
        }
    }
    let mut groups: Vec<Vec<usize>> = vec![Vec::new(); shapes.len()];
    for (i, g) in group.iter().enumerate() {
        groups[*g].push(i);
    }
    groups.retain(|group| !group.is_empty());
    groups
}

/// Whether two shapes lie close enough for one view.
fn belong(a: &Shape, b: &Shape) -> bool {
    let long = |s: &Shape| (s.bounds[2] - s.bounds[0]).max(s.bounds[3] - s.bounds[1]) as f64;
    let (short, longer) = (long(a).min(long(b)), long(a).max(long(b)));
    let line = |s: &Shape| if let Kind::Line(half) = s.kind { 2.0 * half } else { 2.0 };
    let gap = gap(a.bounds, b.bounds);
    gap <= (NEAR.0 * short).max(NEAR.1 * line(a).max(line(b)))
        || (a.part == b.part && 4.0 * short < longer && gap <= HANGING * short)
}

/// How far apart two boxes are, px.
fn gap(a: [i64; 4], b: [i64; 4]) -> f64 {
    let apart = |i: usize| (b[i] - a[i + 2]).max(a[i] - b[i + 2]).max(0) as f64;
    libm::hypot(apart(0), apart(1))
}

/// The box round boxes.
fn united(boxes: impl Iterator<Item = [i64; 4]>) -> [i64; 4] {
    let none = [i64::MAX, i64::MAX, i64::MIN, i64::MIN];
    boxes.fold(none, |u, b| [u[0].min(b[0]), u[1].min(b[1]), u[2].max(b[2]), u[3].max(b[3])])
}

/// A view's box: its shapes', what hangs on them unless that leads far away, and some white, but no other view's shapes.
fn view_box(own: [i64; 4], hung: [i64; 4], others: impl Iterator<Item = [i64; 4]>, luma: &Luma) -> [f64; 4] {
    let size = |b: [i64; 4]| [(b[2] - b[0]) as f64, (b[3] - b[1]) as f64];
    let (shape, all) = (size(own), size(hung));
    let room = 0.04 * shape[0].max(shape[1]);
    let mut bounds = if all[0] <= GENEROUS * shape[0] && all[1] <= GENEROUS * shape[1] { hung } else { own };
    bounds = united([bounds, own].into_iter());
    let margin = room as i64 + 4;
    bounds = [bounds[0] - margin, bounds[1] - margin, bounds[2] + margin, bounds[3] + margin];
    for other in others {
        // Half way to another view's shapes, on the side where they stand clear.
        let clear = [own[0] - other[2], own[1] - other[3], other[0] - own[2], other[1] - own[3]];
        let side = (0..4).max_by_key(|i| clear[*i]).unwrap_or(0);
        let half = clear[side].max(0) / 2;
        bounds[side] =
            if side < 2 { bounds[side].max(own[side] - half) } else { bounds[side].min(own[side] + half) };
    }
    let limit = [f64::from(luma.width()), f64::from(luma.height())];
    let [left, top, right, bottom] = bounds.map(|v| v as f64);
    [left.max(0.0), top.max(0.0), right.min(limit[0]), bottom.min(limit[1])]
}

/// A shape's border with its holes.
fn outline(parted: &Parted, shape: &Shape) -> Option<Border> {
    let middle = if let Kind::Line(half) = shape.kind { (half + 0.5) as usize } else { 0 };
    let solid =
        Solid { pixels: shape.pixels.shrunk(middle), at: shape.at, kind: shape.kind, reach: shape.reach };
    let lines = matches!(shape.kind, Kind::Line(_));
    let main = main_region(parted, shape, lines);
    // Where one cell is most of it, its own border leaves out what dimension lines enclose outside.
    if let Some(region) = main.as_ref().filter(|r| lines && 2 * r.pixels.count() > shape.area) {
        return touch::outline(parted, region);
    }
    let how = |dark_inside| How { kind: shape.kind, dark_inside, closed: true, spacing: 1.0 };
    let mut rings = vec![fine_ring(parted.luma, &solid.pixels, solid.at, how(!lines))?];
    if let Some(region) = main {
        rings.extend(
            holes(&solid, &region)
                .iter()
                .filter_map(|hole| fine_ring(parted.luma, hole, solid.at, how(false))),
        );
    }
    Some(told(rings))
}

/// The largest light part inside a drawn shape, or the thing itself.
fn main_region(parted: &Parted, shape: &Shape, lines: bool) -> Option<Region> {
    let number = if lines {
        let [left, top, right, bottom] = shape.bounds;
        let inside = |p: &Part| {
            let [l, t, r, b] = p.bounds.map(i64::from);
            l >= left && t >= top && r <= right && b <= bottom
        };
        let cells = (0u32..).zip(parted.runs.parts()).filter(|(_, p)| !p.dark && !p.at_border && inside(p));
        cells.max_by_key(|(_, p)| p.area)?.0
    } else {
        shape.part
    };
    let (pixels, at) = parted.runs.cut(number, MARGIN)?;
    Some(Region { pixels, at, dark: !lines })
}

/// Puts views in rows from the top, and in each row from the left.
fn in_reading_order(views: &mut [FoundView]) {
    let [left, top, bottom] = [0, 1, 3];
    sort_by(views, |a, b| a.bounds[top].total_cmp(&b.bounds[top]));
    let mut from = 0;
    while let Some(first) = views.get(from) {
        let middle = (first.bounds[top] + first.bounds[bottom]) / 2.0;
        let row = views.iter().skip(from).take_while(|v| v.bounds[top] < middle).count().max(1);
        if let Some(row) = views.get_mut(from..from + row) {
            sort_by(row, |a, b| a.bounds[left].total_cmp(&b.bounds[left]));
        }
        from += row;
    }
}
