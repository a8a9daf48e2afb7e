//! Cells that belong to what was touched: those that lines drawn across it have cut off.
//!
//! Where a line only passes the border, or ends on it, the border goes straight on. Where a line drawn across a part begins,
//! the ring of what was touched turns off the border and along that line, and what lies beyond is the same part.

use super::bits::Bits;
use super::ring::{Place, evenly, normals};
use super::touch::{MARGIN, Parted, Region};
use super::trace::outer_ring;
use std::collections::BTreeMap;

/// A ring that turns by more than this at both ends of a stretch has left the border, as a cosine: 40°.
const TURN: f64 = 0.766;
/// All that was cut off together is smaller than this share of what was touched: a touch means the largest cell.
const SMALLER: f64 = 0.8;
/// How many lines one behind the other may cut something off.
const ROUNDS: usize = 6;

/// A region with the cells beside it that lines drawn across the part have cut off from it; nothing where there are none.
pub(super) fn with_cells(parted: &Parted, region: &Region, half: f64) -> Option<Region> {
    let own = region.pixels.count() as f64;
    let mut all: Option<Region> = None;
    let mut area = 0.0;
    for _ in 0..ROUNDS {
        let from = all.as_ref().unwrap_or(region);
        let cells = cells_beside(parted, from, half)?;
        if cells.is_empty() {
            break;
        }
        area += cells.iter().filter_map(|c| parted.runs.part(*c)).map(|p| p.area as f64).sum::<f64>();
        if area >= SMALLER * own {
            return None;
        }
        all = Some(joined(parted, from, &cells)?);
    }
    all
}

/// The cells beside a region that have been cut off from it.
fn cells_beside(parted: &Parted, region: &Region, half: f64) -> Option<Vec<u32>> {
    let reach = half as usize + 2;
    // Without slits, so that lines that only go in don't count.
    let closed = region.pixels.grown(reach).filled()?.shrunk(reach);
    let (ring, beyond) = seen_beyond(parted, &closed, region.at, half);
    let mut cut_off: BTreeMap<u32, bool> = BTreeMap::new();
    for (number, from, to) in stretches(&beyond, (2.0 * half) as usize + 3) {
        let light = parted.runs.part(number).is_some_and(|p| p.dark == region.dark && p.area > 0);
        // What is in the region already lies beyond only where it is thin.
        if light && !within(parted, region, number) {
            let inner = parted.runs.part(number).is_some_and(|p| !p.at_border);
            let turned = inner && turns(&ring, from, half) && turns(&ring, to, half);
            *cut_off.entry(number).or_insert(true) &= turned;
        }
    }
    let beside_it = |number: &u32| {
        let (pixels, at) = parted.runs.cut(*number, 1)?;
        let (_, beyond) = seen_beyond(parted, &pixels, at, half);
        // A cell with nothing of the outside beside it is a hole, or in one.
        beyond.into_iter().flatten().find(|seen| {
            cut_off.get(seen) == Some(&false)
                || parted.runs.part(*seen).is_some_and(|p| p.at_border && !p.dark)
        })
    };
    let mut cells: Vec<u32> = Vec::new();
    cells.extend(
        cut_off
            .iter()
            .filter(|(number, cut)| **cut && beside_it(number).is_some())
            .map(|(number, _)| *number),
    );
    Some(cells)
}

/// Whether a part's first pixel belongs to the region.
fn within(parted: &Parted, region: &Region, number: u32) -> bool {
    let Some(part) = parted.runs.part(number) else { return false };
    let y = part.bounds[1];
    let run = parted.runs.row(y as usize).iter().find(|run| run.part == number && run.to > run.from);
    run.is_some_and(|run| region.pixels.get(i64::from(run.from) - region.at[0], i64::from(y) - region.at[1]))
}

/// The ring round what is in, a point every px, and for each the part that lies beyond the drawn line.
fn seen_beyond(parted: &Parted, pixels: &Bits, at: [i64; 2], half: f64) -> (Vec<Place>, Vec<Option<u32>>) {
    let ring = evenly(&outer_ring(pixels), 1.0, true);
    let by = 2.0 * half + 2.5;
    let place = |p: &Place, n: &Place, i: usize| (p[i] + n[i] * by).floor() as i64 + at[i];
    let out = normals(&ring, true);
    let beyond = ring.iter().zip(&out).map(|(p, n)| parted.runs.at(place(p, n, 0), place(p, n, 1))).collect();
    (ring, beyond)
}

/// A region and cells beside it in one window.
fn joined(parted: &Parted, region: &Region, cells: &[u32]) -> Option<Region> {
    let size = [region.pixels.width() as i64, region.pixels.height() as i64];
    let mut bounds = [region.at[0], region.at[1], region.at[0] + size[0], region.at[1] + size[1]];
    for cell in cells {
        let [left, top, right, bottom] = parted.runs.part(*cell)?.bounds.map(i64::from);
        bounds[0] = bounds[0].min(left - MARGIN);
        bounds[1] = bounds[1].min(top - MARGIN);
        bounds[2] = bounds[2].max(right + MARGIN);
        bounds[3] = bounds[3].max(bottom + MARGIN);
    }
    let (wide, high) = ((bounds[2] - bounds[0]) as usize, (bounds[3] - bounds[1]) as usize);
    let window = |pixels: &Bits, at: [i64; 2]| pixels.cut(bounds[0] - at[0], bounds[1] - at[1], wide, high);
    let mut pixels = window(&region.pixels, region.at);
    for cell in cells {
        let (own, at) = parted.runs.cut(*cell, 0)?;
        pixels = pixels.or(&window(&own, at));
    }
    Some(Region { pixels, at: [bounds[0], bounds[1]], dark: region.dark })
}

/// Stretches of a ring with the same part beyond, however often it is interrupted for at most `gap` points: its number,
/// first and last place (the last may go on from the ring's end).
fn stretches(beyond: &[Option<u32>], gap: usize) -> Vec<(u32, usize, usize)> {
    let n = beyond.len();
    let mut found: Vec<(u32, usize, usize)> = Vec::new();
    for (i, number) in beyond.iter().enumerate() {
        let Some(number) = number else { continue };
        match found.iter_mut().rev().find(|(own, _, to)| own == number && i - to <= gap) {
            Some(stretch) => stretch.2 = i,
            None => found.push((*number, i, i)),
        }
    }
    // What ends at the ring's last point may go on at its first.
    if let (Some(first), Some(last)) = (found.first().copied(), found.last().copied())
        && first.0 == last.0
        && found.len() > 1
        && first.1 + n - last.2 <= gap
    {
        found[0].1 = last.1;
        found[0].2 += n;
        found.pop();
    }
    found.retain(|(_, from, to)| to - from > 1);
    found
}

/// Whether the ring turns sharply near a place.
fn turns(ring: &[Place], at: usize, half: f64) -> bool {
    let n = ring.len() as i64;
    let away = (4.0 * half) as i64 + 6;
    let point = |i: i64| ring.get(i.rem_euclid(n) as usize).copied().unwrap_or_default();
    let step = |from: i64, to: i64| {
        let (a, b) = (point(from), point(to));
        let long = libm::hypot(b[0] - a[0], b[1] - a[1]).max(1e-9);
        [(b[0] - a[0]) / long, (b[1] - a[1]) / long]
    };
    let at = at as i64;
    // The turn lies within a line's width of where the stretch was seen to end.
    (at - away..=at + away).step_by(2).any(|k| {
        let (before, after) = (step(k - away, k - away / 3), step(k + away / 3, k + away));
        before[0] * after[0] + before[1] * after[1] < TURN
    })
}
