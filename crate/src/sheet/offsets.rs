//! A table of offsets at stations, as boatbuilders write one down: how far the outline stands from a base line or a centre
//! line.

use super::draw::{Anchor, Drawing};
use super::odd::{Fairness, fair_check};
use super::order::Offsets;
use super::outline::{extent, roots};
use super::pattern::{below, title};
use super::sketch::{CENTRE, FINE, MEDIUM, Sketch};
use super::table;
use super::write::{LEAST, MAIN, SMALL, TITLE, Writing};
use crate::plane::{Cubic, Curve, Finished, Homography, Line, Point, bounds};
use crate::quantity::round;
use crate::words::Say;

type P = Point<Finished>;

/// No table has more stations.
const MOST: f64 = 400.0;
/// The small figure above the table is this wide at the most, and this high, mm.
const FIGURE: [f64; 2] = [170.0, 60.0];
/// An end is called straight over so many stations at the least.
const STRAIGHT: usize = 4;

/// The outline at one station, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Its number; nothing for an end of the outline between stations.
    pub number: Option<i64>,
    /// How far along the base line.
    pub at: f64,
    /// How far the outline stands above the base line (to the left, looking along it) at the most.
    pub high: f64,
    /// And at the least; below the line it is negative.
    pub low: f64,
    /// How often the station's line meets the outline.
    pub times: usize,
}

/// All stations of an outline, and its crown.
#[derive(Clone, Debug, PartialEq)]
pub struct Stations {
    /// In order.
    pub rows: Vec<Station>,
    /// The greatest offset, and how far along it stands.
    pub crown: [f64; 2],
    /// The least (below the line: the deepest), and how far along.
    pub keel: [f64; 2],
    /// The outline with the base line as x and offsets as y upward.
    pub ring: Vec<P>,
}

/// Where the outline stands at its stations, unrounded.
///
/// # Errors
/// As [`extent`]; `sheet.no-outline`; `sheet.no-base` for a base line that isn't one; `sheet.stations` for stations too close,
/// too few or too many.
pub fn stations(offsets: &Offsets) -> Result<Stations, Say> {
    extent(&offsets.of)?;
    let outer = offsets.of.outline.as_ref().and_then(|o| o.rings.first());
    let outer = outer.ok_or_else(|| Say::new("sheet.no-outline"))?;
    let base = Line::through(offsets.base[0], offsets.base[1]).ok_or_else(|| Say::new("sheet.no-base"))?;
    let (a, o) = (base.along, base.at);
    let map: Homography<Finished, Finished> = Homography::from_rows([
        [a.x, a.y, -a.x * o.x - a.y * o.y],
        [a.y, -a.x, a.x * o.y - a.y * o.x],
        [0.0, 0.0, 1.0],
    ]);
    let curve = outer.through(&map, 1e-4).ok_or_else(|| Say::new("sheet.not-finite"))?;
    let [first, _, last, _] = curve.bounds().ok_or_else(|| Say::new("sheet.no-area"))?;
    let apart = offsets.apart;
    if !(apart > 0.0 && (last - first) / apart >= 1.0 && (last - first) / apart <= MOST) {
        return Err(Say::new("sheet.stations"));
    }
    let near = apart * 1e-6;
    let (from, to) = (libm::ceil((first - near) / apart) as i64, libm::floor((last + near) / apart) as i64);
    let mut wanted: Vec<(Option<i64>, f64)> = (from..=to).map(|k| (Some(k), k as f64 * apart)).collect();
    if wanted.first().is_none_or(|w| w.1 > first + near) {
        wanted.insert(0, (None, first));
    }
    if wanted.last().is_none_or(|w| w.1 < last - near) {
        wanted.push((None, last));
    }
    let inside = (last - first) * 1e-9;
    let rows = wanted.into_iter().filter_map(|(number, at)| {
        // At an end the line only touches.
        let met = meets(&curve, at.max(first + inside).min(last - inside));
        let high = met.iter().copied().reduce(f64::max)?;
        let low = met.iter().copied().reduce(f64::min)?;
        Some(Station { number, at, high, low, times: met.len() })
    });
    Ok(Stations {
        rows: rows.collect(),
        crown: extreme(&curve, 1.0),
        keel: extreme(&curve, -1.0),
        ring: curve.flatten(0.05),
    })
}

/// The heights at which an upright line meets a curve.
fn meets(curve: &Curve<Finished>, x: f64) -> Vec<f64> {
    let mut heights: Vec<f64> = Vec::new();
    for c in curve.cubics() {
        heights.extend(roots(c.0.map(|p| p.x - x)).into_iter().map(|t| c.at(t).y));
    }
    crate::order::sort_by(&mut heights, f64::total_cmp);
    heights.dedup_by(|a, b| (*a - *b).abs() < 1e-7);
    heights
}

/// The greatest height (`way` 1) or the least (−1), and where it stands.
fn extreme(curve: &Curve<Finished>, way: f64) -> [f64; 2] {
    let mut best: Option<P> = None;
    for c in curve.cubics() {
        for t in turns(&c).into_iter().chain([0.0, 1.0]) {
            let p = c.at(t);
            if best.is_none_or(|b| way * p.y > way * b.y) {
                best = Some(p);
            }
        }
    }
    best.map_or([0.0; 2], |p| [p.y, p.x])
}

/// Where a piece runs level: the roots of its height's slope, a quadratic raised to a cubic's form.
fn turns(c: &Cubic<Finished>) -> Vec<f64> {
    let [p, q, r] = [0, 1, 2].map(|i| c.0[i + 1].y - c.0[i].y);
    roots([p, (p + 2.0 * q) / 3.0, (2.0 * q + r) / 3.0, r])
}

/// The table as a drawing: a small figure, the offsets rounded, what is straight, the crown, and what is not fair.
///
/// # Errors
/// As [`stations`].
pub fn drawing(offsets: &Offsets, words: &Writing<'_>) -> Result<Drawing, Say> {
    let all = stations(offsets)?;
    let what = title(&offsets.of, words);
    let name = words.tell(&Say::new("sheet.offsets").text("what", what));
    let mut sketch = Sketch::new(words);
    let apart = words.tell(&Say::new("sheet.stations-apart").length("size", offsets.apart));
    let lines = [(name.clone(), TITLE * 0.8, true), (apart, MAIN, false)];
    sketch.block(P::new(0.0, 0.0), &lines);
    let high = sketch.block_size(&lines)[1];
    figure(&mut sketch, &all, high + 3.0);
    let top = sketch.bounds()[3] + 4.0;
    let [heads, columns] = columns(&all, words);
    let rows: Vec<Vec<String>> = all
        .rows
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let number = row.number.map_or_else(|| words.word("sheet.end"), |k| k.to_string());
            let more = if row.times > 2 { "*" } else { "" };
            let told = columns.iter().map(|c| c.get(i).cloned().unwrap_or_default());
            [number, words.length(row.at)].into_iter().chain(told.map(|t| t + more)).collect()
        })
        .collect();
    let heads: Vec<String> = ["sheet.head-station", "sheet.head-along"]
        .map(|k| words.word(k))
        .into_iter()
        .chain(heads.concat())
        .collect();
    table::draw(&mut sketch, P::new(0.0, top), &heads, &rows, &[]);
    let mut notes: Vec<(String, f64, bool)> =
        notes(&all, words).into_iter().map(|(t, bold)| (t, MAIN, bold)).collect();
    notes.push((words.made(), SMALL, false));
    below(&mut sketch, &notes);
    Ok(sketch.finish(&name, 6.0))
}

/// Whether both sides are alike within half a step.
fn alike(all: &Stations, words: &Writing<'_>) -> bool {
    all.rows.iter().all(|r| (r.high + r.low).abs() <= words.step().mm() / 2.0)
}

/// Heads and figures of the columns: one where both sides are alike, else the upper edge and the lower.
fn columns(all: &Stations, words: &Writing<'_>) -> [Vec<Vec<String>>; 2] {
    let tell =
        |f: &dyn Fn(&Station) -> f64| all.rows.iter().map(|r| words.length(f(r))).collect::<Vec<String>>();
    if alike(all, words) {
        return [vec![vec![words.word("sheet.head-each-side")]], vec![tell(&|r| (r.high - r.low) / 2.0)]];
    }
    // Where all of the lower edge lies below the line, its offsets are told downward.
    let under = all.rows.iter().all(|r| r.low <= 1e-6);
    let head = words.word(if under { "sheet.head-below" } else { "sheet.head-lower" });
    let lower = tell(&|r| if under { -r.low } else { r.low });
    [vec![vec![words.word("sheet.head-upper"), head]], vec![tell(&|r| r.high), lower]]
}

/// An edge's name in the words file, and its offset at a station.
type Edge = (&'static str, fn(&Station) -> f64);

/// What is to be said of a table: each line, and whether it is a warning.
fn notes(all: &Stations, words: &Writing<'_>) -> Vec<(String, bool)> {
    let mut notes: Vec<(String, bool)> = Vec::new();
    let place = |key: &'static str, [value, at]: [f64; 2]| {
        words.tell(&Say::new(key).length("size", value.abs()).length("at", at))
    };
    notes.push((place("sheet.crown", all.crown), false));
    let one = alike(all, words);
    if !one {
        let under = all.keel[0] < 0.0;
        notes.push((place(if under { "sheet.keel-below" } else { "sheet.keel" }, all.keel), false));
    }
    let edges: &[Edge] = if one {
        &[("sheet.edge-each", |r| (r.high - r.low) / 2.0)]
    } else {
        &[("sheet.edge-upper", |r| r.high), ("sheet.edge-lower", |r| r.low)]
    };
    for (edge, f) in edges {
        let edge = words.word(edge);
        let values: Vec<f64> = all.rows.iter().map(f).collect();
        for (from, to) in straight_ends(&all.rows, &values, words.step().mm()) {
            let name = |i: usize| station_name(&all.rows, i, words);
            let say = Say::new("sheet.straight").text("edge", edge.clone()).text("from", name(from));
            notes.push((words.tell(&say.text("to", name(to))), false));
        }
        let found = fairness(&all.rows, &values, words);
        for odd in &found.odd {
            let say = Say::new("sheet.odd").text("edge", edge.clone());
            let say = say.text("station", station_name(&all.rows, odd.index, words));
            notes.push((words.tell(&say.length("size", odd.by.abs()).length("fair", odd.fair)), true));
        }
        if found.odd.is_empty() && !found.judged.is_empty() {
            notes.push((words.tell(&Say::new("sheet.fair").text("edge", edge.clone())), false));
        }
    }
    if all.rows.iter().any(|r| r.times > 2) {
        notes.push((words.word("sheet.more-than-twice"), false));
    }
    notes
}

/// The fairness of one edge as it is written down.
fn fairness(rows: &[Station], values: &[f64], words: &Writing<'_>) -> Fairness {
    let at: Vec<f64> = rows.iter().map(|r| r.at).collect();
    let rounded: Vec<f64> = values.iter().map(|v| round(*v, words.step(), words.direction())).collect();
    fair_check(&at, &rounded, words.step().mm())
}

fn station_name(rows: &[Station], i: usize, words: &Writing<'_>) -> String {
    rows.get(i).and_then(|r| r.number).map_or_else(|| words.word("sheet.end"), |k| k.to_string())
}

/// The stations over which an edge is straight within the rounding, from either end; both the same where all of it is.
fn straight_ends(rows: &[Station], values: &[f64], step: f64) -> Vec<(usize, usize)> {
    let n = rows.len();
    let straight = |a: usize, b: usize| {
        let (p, q) = (&rows[a], &rows[b]);
        (a + 1..b).all(|i| {
            let share = (rows[i].at - p.at) / (q.at - p.at);
            (values[a] + (values[b] - values[a]) * share - values[i]).abs() <= step / 2.0
        })
    };
    if n < STRAIGHT {
        return Vec::new();
    }
    let first = (STRAIGHT - 1..n).rev().find(|b| straight(0, *b)).map(|b| (0, b));
    let last = (0..=n - STRAIGHT).find(|a| straight(*a, n - 1)).map(|a| (a, n - 1));
    let mut all: Vec<(usize, usize)> = first.into_iter().chain(last).collect();
    all.dedup();
    all
}

/// A small figure: the outline, the base line, the stations.
fn figure(sketch: &mut Sketch<'_>, all: &Stations, top: f64) {
    let b = bounds(all.ring.iter());
    let (low, high) = (b[1].min(0.0), b[3].max(0.0));
    let scale = (FIGURE[0] / (b[2] - b[0])).min(FIGURE[1] / (high - low));
    let at = |x: f64, y: f64| P::new((x - b[0]) * scale, top + SMALL + (high - y) * scale);
    let ring: Vec<P> = all.ring.iter().map(|p| at(p.x, p.y)).collect();
    sketch.lines(&ring, true, MEDIUM);
    sketch.lines(&[at(b[0], 0.0), at(b[2], 0.0)], false, CENTRE);
    let mut free_from = f64::NEG_INFINITY;
    for row in &all.rows {
        let Some(number) = row.number else { continue };
        let foot = at(row.at, low);
        sketch.lines(&[at(row.at, high), foot], false, FINE);
        if foot.x > free_from {
            let text = number.to_string();
            sketch.text(P::new(foot.x, foot.y + LEAST + 1.0), LEAST, 0.0, Anchor::Middle, false, &text);
            free_from = foot.x + sketch.words.width(&text, LEAST, false) + 2.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::order::Outline;
    use crate::sheet::trial::{ellipse, look, naca, naca_half, order, outline, pattern, texts};
    use crate::sheet::write::estimate;

    fn of(ring: Curve<Finished>, base: [[f64; 2]; 2], apart: f64) -> Offsets {
        Offsets {
            of: pattern(Outline { rings: vec![ring], ..Outline::default() }),
            base: base.map(P::from),
            apart,
        }
    }

    /// Against the formula: the hermite pieces stand within a thousandth of it.
    #[test]
    fn a_section_at_its_stations() {
        let o = of(naca(300.0), [[0.0, 0.0], [300.0, 0.0]], 25.0);
        let all = stations(&o).unwrap();
        assert_eq!(all.rows.len(), 13);
        for row in &all.rows {
            let y = 300.0 * naca_half(row.at / 300.0);
            assert!((row.high - y).abs() < 0.004 && (row.low + y).abs() < 0.004, "{row:?} {y}");
        }
        // NACA Report 460: greatest thickness 0.12003 at x 0.2998 [computed].
        assert!((2.0 * all.crown[0] / 300.0 - 0.12003).abs() < 1e-5, "{:?}", all.crown);
        assert!((all.crown[1] / 300.0 - 0.2998).abs() < 1e-3, "{:?}", all.crown);
    }

    /// Against the ellipse's own equation, with a base line that is turned and runs the other way.
    #[test]
    fn an_ellipse_from_a_turned_base() {
        let (sin, cos) = (0.6, 0.8);
        let turned = |p: P| P::new(cos * p.x - sin * p.y + 40.0, sin * p.x + cos * p.y - 70.0);
        let mut ring = ellipse([0.0, 0.0], 120.0, 50.0);
        for s in &mut ring.segments {
            (s.c1, s.c2, s.p) = (turned(s.c1), turned(s.c2), turned(s.p));
        }
        // From the ellipse's right end towards its left: what was above is now to its right.
        let base = [turned(P::new(120.0, 0.0)), turned(P::new(-120.0, 0.0))];
        let all = stations(&Offsets {
            of: pattern(Outline { rings: vec![ring], ..Outline::default() }),
            base,
            apart: 37.0,
        })
        .unwrap();
        assert_eq!(all.rows.len(), 8, "seven stations and the end");
        assert_eq!(all.rows[7].number, None);
        for row in &all.rows {
            let x = 120.0 - row.at;
            let y = 50.0 * libm::sqrt((1.0 - x * x / 14_400.0).max(0.0));
            assert!((row.high - y).abs() < 0.01 && (row.low + y).abs() < 0.01, "{row:?} {y}");
        }
        assert!((all.crown[0] - 50.0).abs() < 1e-3 && (all.crown[1] - 120.0).abs() < 0.01);
    }

    #[test]
    fn a_table_is_drawn_and_a_kink_is_named() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let o = of(naca(609.6), [[0.0, 0.0], [609.6, 0.0]], 50.8);
        let d = drawing(&o, &words).unwrap();
        look("offsets", &d);
        let all = texts(&d).join("|");
        assert!(all.contains("each side") && all.contains("fair curve"), "{all}");
        assert!(!all.contains("stands off"), "{all}");
        // The same with half an inch pulled out at the sixth station: a bump two stations wide.
        let mut points = naca(609.6).flatten(0.01);
        for p in &mut points {
            let far = (p.x - 304.8).abs() / 30.0;
            if p.y < 0.0 && far < 1.0 {
                p.y -= 12.7 * (1.0 - far * far);
            }
        }
        let o = of(Curve::polygon(&points), [[0.0, 0.0], [609.6, 0.0]], 50.8);
        let d = drawing(&o, &words).unwrap();
        look("kinked", &d);
        let all = texts(&d).join("|");
        assert!(all.contains("tation 6") && all.contains("stands off"), "{all}");
    }

    #[test]
    fn a_board_is_straight_all_along() {
        let order = order();
        let words = Writing::new(&order, &estimate);
        let mut o = Offsets {
            of: pattern(outline(&[&[[0.0, 10.0], [600.0, 20.0], [600.0, 120.0], [0.0, 120.0]]])),
            base: [[0.0, 150.0], [600.0, 150.0]].map(P::from),
            apart: 100.0,
        };
        let all = stations(&o).unwrap();
        assert!(all.rows.iter().all(|r| (r.low - 30.0).abs() < 1e-9));
        assert!((all.rows[3].high - 135.0).abs() < 1e-9);
        let said = texts(&drawing(&o, &words).unwrap()).join("|");
        assert!(said.contains("traight"), "{said}");
        for (apart, base, key) in [
            (0.0, o.base, "sheet.stations"),
            (0.01, o.base, "sheet.stations"),
            (700.0, o.base, "sheet.stations"),
            (f64::NAN, o.base, "sheet.stations"),
            (10.0, [o.base[0]; 2], "sheet.no-base"),
        ] {
            (o.apart, o.base) = (apart, base);
            assert_eq!(stations(&o).unwrap_err().key, key, "{apart}");
        }
    }
}
