//! Rings laid over each other: what lies inside by a rule, as sound rings again.
//!
//! All points are brought to a fine grid of whole numbers, where which side of a line a point lies on is decided exactly.
//! Sides are divided where they meet, and again until none crosses another; each piece of side then parts a left from a
//! right whose windings are counted, and those that part inside from outside are linked into rings.
//!
//! # References
//! Rounding to a grid: Hobby, Computational Geometry 13 (1999) 199 (here by dividing again until nothing crosses, which
//! does as well for outlines). Winding numbers: Greiner & Hormann, ACM Transactions on Graphics 17 (1998) 71.

use super::{Point, Space};
use crate::order::sort_by_key;
use crate::words::Say;

/// A point of the grid.
type Cell = (i64, i64);

/// The grid has this many steps across all rings; sides that all but coincide may want a coarser one, on which they do.
const STEPS: [f64; 3] = [67_108_864.0, 4_194_304.0, 262_144.0];

/// How often sides are divided before a grid is given up; two or three times do.
const ROUNDS: usize = 12;

/// Rings that count for one winding number: 0 or 1.
pub(super) type Layer = usize;

/// A side from `a` to `b`, `a` before `b`; how much crossing it from its left to its right
/// (as seen on a screen, y down) adds to each winding.
#[derive(Clone, Copy, Debug)]
struct Side {
    a: Cell,
    b: Cell,
    adds: [i32; 2],
}

/// What brings points to the grid and back.
struct Grid {
    left: f64,
    top: f64,
    step: f64,
}

impl Grid {
    fn of<S: Space>(rings: &[(Layer, Vec<Point<S>>)], steps: f64) -> Option<Grid> {
        let points = || rings.iter().flat_map(|r| &r.1);
        if !points().all(|p| p.is_finite()) {
            return None;
        }
        let bound = |get: fn(&Point<S>) -> f64| {
            points().map(get).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
        };
        let ((left, right), (top, bottom)) = (bound(|p| p.x), bound(|p| p.y));
        let step = (right - left).max(bottom - top) / steps;
        (step > 0.0 && step.is_finite()).then_some(Grid { left, top, step })
    }

    fn cell<S: Space>(&self, p: Point<S>) -> Cell {
        let to = |v: f64, from: f64| libm::round((v - from) / self.step) as i64;
        (to(p.x, self.left), to(p.y, self.top))
    }

    fn point<S: Space>(&self, c: Cell) -> Point<S> {
        Point::new(self.left + c.0 as f64 * self.step, self.top + c.1 as f64 * self.step)
    }
}

/// The rings around all places whose two windings `inside` accepts; outer rings run clockwise as seen on a screen (y
/// down), holes the other way.
///
/// # Errors
/// `plane.outline-not-finite` for points that are no places; `plane.tangled` when sides go on crossing each other however
/// often they are divided.
pub(super) fn overlay<S: Space>(
    rings: &[(Layer, Vec<Point<S>>)],
    inside: impl Fn([i32; 2]) -> bool,
) -> Result<Vec<Vec<Point<S>>>, Say> {
    if rings.iter().all(|r| r.1.len() < 3) {
        return Ok(Vec::new());
    }
    for steps in STEPS {
        let grid = Grid::of(rings, steps).ok_or_else(|| Say::new("plane.outline-not-finite"))?;
        if let Some(sides) = divided(sides_on(&grid, rings)) {
            let found = linked(&kept(&sides, &inside)).into_iter();
            return Ok(found.map(|r| r.into_iter().map(|c| grid.point(c)).collect()).collect());
        }
    }
    Err(Say::new("plane.tangled"))
}

fn sides_on<S: Space>(grid: &Grid, rings: &[(Layer, Vec<Point<S>>)]) -> Vec<Side> {
    let mut sides = Vec::new();
    for (layer, ring) in rings {
        let cells: Vec<Cell> = ring.iter().map(|p| grid.cell(*p)).collect();
        for (i, a) in cells.iter().enumerate() {
            let mut adds = [0; 2];
            if let Some(add) = adds.get_mut(*layer) {
                *add = 1;
            }
            push(&mut sides, *a, cells[(i + 1) % cells.len()], adds);
        }
    }
    merged(sides)
}

/// Adds the side from `a` to `b`, turned so that the lesser end comes first; one without length is left out.
fn push(sides: &mut Vec<Side>, a: Cell, b: Cell, adds: [i32; 2]) {
    if a < b {
        sides.push(Side { a, b, adds });
    } else if b < a {
        sides.push(Side { a: b, b: a, adds: adds.map(|n| -n) });
    }
}

/// Twice the area of a, b, c: positive when c lies to the right of a→b as seen on a screen (y down).
fn turn(a: Cell, b: Cell, c: Cell) -> i128 {
    let d = |p: Cell| (i128::from(p.0 - a.0), i128::from(p.1 - a.1));
    let ((bx, by), (cx, cy)) = (d(b), d(c));
    bx * cy - by * cx
}

/// How far along a side a cell lies, times the side's length.
fn dot(side: &Side, c: Cell) -> i128 {
    let d = |p: i64, q: i64| i128::from(p - q);
    d(side.b.0, side.a.0) * d(c.0, side.a.0) + d(side.b.1, side.a.1) * d(c.1, side.a.1)
}

/// The sides divided wherever two of them meet but at ends; `None` when there is no end to it.
fn divided(mut sides: Vec<Side>) -> Option<Vec<Side>> {
    for _ in 0..ROUNDS {
        let cuts = meetings(&sides);
        if cuts.is_empty() {
            return Some(sides);
        }
        let mut next = Vec::with_capacity(sides.len() + cuts.len());
        let mut cuts = cuts.into_iter().peekable();
        for (i, side) in sides.iter().enumerate() {
            let mut from = side.a;
            while let Some((_, cell)) = cuts.next_if(|c| c.0 == i) {
                push(&mut next, from, cell, side.adds);
                from = cell;
            }
            push(&mut next, from, side.b, side.adds);
        }
        sides = merged(next);
    }
    None
}

/// Where sides must be divided: by side, and along it.
fn meetings(sides: &[Side]) -> Vec<(usize, Cell)> {
    let mut order: Vec<usize> = (0..sides.len()).collect();
    crate::order::sort_by_key(&mut order, |&i| sides[i].a);
    let mut cuts = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    for &i in &order {
        let s = sides[i];
        open.retain(|&j| sides[j].b.0 + 1 >= s.a.0);
        for &j in &open {
            let o = sides[j];
            let apart = s.a.1.max(s.b.1) + 1 < o.a.1.min(o.b.1) || o.a.1.max(o.b.1) + 1 < s.a.1.min(s.b.1);
            if !apart {
                meet((i, &s), (j, &o), &mut cuts);
            }
        }
        open.push(i);
    }
    crate::order::sort_by_key(&mut cuts, |&(i, c)| (i, dot(&sides[i], c), c));
    cuts.dedup();
    cuts
}

fn meet((i, s): (usize, &Side), (j, o): (usize, &Side), cuts: &mut Vec<(usize, Cell)>) {
    let [sa, sb] = [turn(o.a, o.b, s.a), turn(o.a, o.b, s.b)];
    let [oa, ob] = [turn(s.a, s.b, o.a), turn(s.a, s.b, o.b)];
    // An end of one no farther than half a cell from the other, between its ends (also when both lie along one line): brought
    // onto it, or sides all but along each other would be divided for ever.
    for (off, side, cell) in [(oa, (i, s), o.a), (ob, (i, s), o.b), (sa, (j, o), s.a), (sb, (j, o), s.b)] {
        let (along, whole) = (dot(side.1, cell), dot(side.1, side.1.b));
        if 4 * off * off <= whole && along > 0 && along < whole && cell != side.1.a && cell != side.1.b {
            cuts.push((side.0, cell));
        }
    }
    let across = |p: i128, q: i128| (p > 0 && q < 0) || (p < 0 && q > 0);
    if across(sa, sb) && across(oa, ob) {
        // s.a + (s.b − s.a)·sa/(sa − sb), to the nearest cell.
        let along = |a: i64, b: i64| {
            let (up, down) = (i128::from(b - a) * sa, sa - sb);
            let (up, down) = if down < 0 { (-up, -down) } else { (up, down) };
            a + (2 * up + down).div_euclid(2 * down) as i64
        };
        let cell = (along(s.a.0, s.b.0), along(s.a.1, s.b.1));
        for (k, side) in [(i, s), (j, o)] {
            if cell != side.a && cell != side.b {
                cuts.push((k, cell));
            }
        }
    }
}

/// Sides that lie on each other made one.
fn merged(mut sides: Vec<Side>) -> Vec<Side> {
    crate::order::sort_by_key(&mut sides, |s| (s.a, s.b));
    let mut one: Vec<Side> = Vec::with_capacity(sides.len());
    for s in sides {
        match one.last_mut().filter(|l| (l.a, l.b) == (s.a, s.b)) {
            Some(l) => l.adds = [l.adds[0] + s.adds[0], l.adds[1] + s.adds[1]],
            None => one.push(s),
        }
    }
    one.retain(|s| s.adds != [0; 2]);
    one
}

/// The sides that part inside from outside, each directed so that inside lies to its right as seen on a screen (y down).
fn kept(sides: &[Side], inside: &impl Fn([i32; 2]) -> bool) -> Vec<(Cell, Cell)> {
    let mut found = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let order: Vec<usize> = (0..sides.len()).collect();
    let mut waiting = order.iter().copied().peekable();
    // By the middle of each side, so that a ray straight up from there meets no end: in steps of half a cell.
    let middle = |s: &Side| (s.a.0 + s.b.0, s.a.1 + s.b.1);
    let mut by_middle = order.clone();
    crate::order::sort_by_key(&mut by_middle, |&i| middle(&sides[i]).0);
    for i in by_middle {
        let s = &sides[i];
        let (x, y) = middle(s);
        while let Some(j) = waiting.next_if(|&j| 2 * sides[j].a.0 <= x) {
            open.push(j);
        }
        open.retain(|&j| 2 * sides[j].b.0 >= x);
        // The winding on its left as seen along it: above the middle, of an upright side just beyond it.
        let mut above = [0; 2];
        for &j in &open {
            let o = &sides[j];
            let spans = 2 * o.a.0 <= x && x < 2 * o.b.0;
            if j != i && spans && over(o, x, y) {
                above = [above[0] + o.adds[0], above[1] + o.adds[1]];
            }
        }
        let below = [above[0] + s.adds[0], above[1] + s.adds[1]];
        match (inside(above), inside(below)) {
            (false, true) => found.push((s.a, s.b)),
            (true, false) => found.push((s.b, s.a)),
            _ => {}
        }
    }
    found
}

/// Does `o` pass above (x, y), given in half cells?
fn over(o: &Side, x: i64, y: i64) -> bool {
    let (a, b) = ((2 * o.a.0, 2 * o.a.1), (2 * o.b.0, 2 * o.b.1));
    turn(a, b, (x, y)) > 0
}

/// Directed sides linked end to end; where several leave a place the sharpest turn to the right is taken, so that rings
/// that touch at a place stay apart.
fn linked(sides: &[(Cell, Cell)]) -> Vec<Vec<Cell>> {
    // By where they leave from, so that those of one place stand together.
    let mut leaving: Vec<usize> = (0..sides.len()).collect();
    sort_by_key(&mut leaving, |k| sides[*k].0);
    let mut used = vec![false; sides.len()];
    let mut rings = Vec::new();
    for start in 0..sides.len() {
        let (mut ring, mut at) = (Vec::new(), start);
        while !used[at] {
            used[at] = true;
            ring.push(sides[at].0);
            let (from, to) = sides[at];
            let here = leaving.partition_point(|&k| sides[k].0 < to);
            let all = leaving[here..].iter().copied().take_while(|&k| sides[k].0 == to);
            let open = all.filter(|&k| !used[k]);
            let Some(next) =
                open.reduce(|best, k| if righter(from, to, sides[k].1, sides[best].1) { k } else { best })
            else {
                break;
            };
            at = next;
        }
        straightened(&mut ring);
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    rings
}

/// Coming from `from` to `at`, does going on to `p` turn more to the right than going on to `q`?
fn righter(from: Cell, at: Cell, p: Cell, q: Cell) -> bool {
    let angle = |c: Cell| {
        let (u, v) = ((at.0 - from.0, at.1 - from.1), (c.0 - at.0, c.1 - at.1));
        let (ux, uy, vx, vy) = (u.0 as f64, u.1 as f64, v.0 as f64, v.1 as f64);
        libm::atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    };
    angle(p) > angle(q)
}

/// Leaves out points on the straight line between their neighbours that were only made by dividing.
fn straightened(ring: &mut Vec<Cell>) {
    let mut kept: Vec<Cell> = Vec::with_capacity(ring.len());
    let n = ring.len();
    for i in 0..n {
        let before = kept.last().copied().unwrap_or(ring[n - 1]);
        if turn(before, ring[i], ring[(i + 1) % n]) != 0 {
            kept.push(ring[i]);
        }
    }
    *ring = kept;
}
