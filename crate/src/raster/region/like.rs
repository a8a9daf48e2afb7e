//! What else looks like a part that was found: shelves, rungs, wheels.

use super::runs::{Part, Runs};
use super::touch::{MARGIN, Parted, Region, SPECK, is_line, outline};
use crate::order::sort_by_key;
use crate::plane::{contains, signed_area};
use crate::raster::ask::Border;
use crate::raster::luma::Luma;
use crate::words::Say;

/// A part is the one that was found when its box differs by no more than this share of it, or so many px, on any side: its line
/// lies between.
const SAME: (f64, f64) = (0.06, 12.0);
/// It is like another when its box is as large within this share, or so many px.
const ALIKE: (f64, f64) = (0.04, 3.0);
/// And its area within this share.
const AREA: f64 = 0.12;
/// At most so many are given.
const MOST: usize = 60;

/// The borders of what is as large as the part within `bounds` (left, top, right, bottom, picture px), in reading order; without
/// that part itself.
///
/// # Errors
/// `seek.nothing` where no part has those bounds or nothing else is like it.
pub fn like(luma: &Luma, bounds: [f64; 4]) -> Result<Vec<Border>, Say> {
    let nothing = || Say::new("seek.nothing");
    let parted = Parted::of(luma)?;
    let runs = &parted.runs;
    let own = same(runs, bounds).ok_or_else(nothing)?;
    let part = *runs.part(own).ok_or_else(nothing)?;
    let mut others: Vec<u32> = Vec::new();
    others.extend((0u32..).zip(runs.parts()).filter(|(i, p)| *i != own && alike(&part, p)).map(|(i, _)| i));
    sort_by_key(&mut others, |i| runs.part(*i).map(|p| (p.bounds[1], p.bounds[0])));
    let found: Vec<Border> = others.iter().take(MOST).filter_map(|i| around(&parted, *i)).collect();
    if found.is_empty() { Err(nothing()) } else { Ok(apart(found)) }
}

/// The part whose box is the one given: what a line goes round rather than the line.
fn same(runs: &Runs, bounds: [f64; 4]) -> Option<u32> {
    let size = (bounds[2] - bounds[0]).max(bounds[3] - bounds[1]);
    let reach = (SAME.0 * size).min(SAME.1);
    let off =
        |p: &Part| p.bounds.iter().zip(bounds).map(|(a, b)| (f64::from(*a) - b).abs()).fold(0.0, f64::max);
    let fits = |p: &Part| p.area >= SPECK && !(p.dark && is_line(p, p.size())) && off(p) <= reach;
    let near = (0u32..).zip(runs.parts()).filter(|(_, p)| fits(p));
    near.min_by(|(_, a), (_, b)| off(a).total_cmp(&off(b))).map(|(i, _)| i)
}

fn alike(a: &Part, b: &Part) -> bool {
    let near = |p: u32, q: u32| {
        let (p, q) = (f64::from(p), f64::from(q));
        (p - q).abs() <= (ALIKE.0 * p).max(ALIKE.1)
    };
    let ([w, h], [u, v]) = (a.size(), b.size());
    let area = (b.area as f64 / a.area as f64 - 1.0).abs() <= AREA;
    a.dark == b.dark && !b.at_border && near(w, u) && near(h, v) && area
}

fn around(parted: &Parted, number: u32) -> Option<Border> {
    let dark = parted.runs.part(number)?.dark;
    let (pixels, at) = parted.runs.cut(number, MARGIN)?;
    outline(parted, &Region { pixels, at, dark })
}

/// Each place once: two cells of one part may give the same border.
fn apart(found: Vec<Border>) -> Vec<Border> {
    let mut kept: Vec<Border> = Vec::new();
    for border in found {
        let Some(ring) = border.rings.first() else { continue };
        let again = kept.iter().filter_map(|k| k.rings.first()).any(|k| {
            ring.first().is_some_and(|p| contains(k, *p)) && signed_area(k).abs() >= signed_area(ring).abs()
        });
        if !again {
            kept.push(border);
        }
    }
    kept
}
