//! What is solid about a region: what is drawn across it taken away, and its holes told from lettering.

use super::bits::Bits;
use super::refine::Kind;
use super::ring::Place;
use super::runs::{Part, Runs};
use super::touch::{MARGIN, Parted, Region, is_line};
use super::trace::outer_ring;

/// Holes smaller than this share of the whole are specks, and never fewer pixels than that.
const SPECK: (f64, f64) = (0.0002, 60.0);
/// Small things filling less than this of the box round them are arrowheads: a triangle fills half.
const ARROW: (f64, f64) = (0.01, 0.66);

/// A region without what is drawn across it, without holes; its border lies on the edge or near the line's middle.
pub(super) struct Solid {
    pub(super) pixels: Bits,
    pub(super) at: [i64; 2],
    pub(super) kind: Kind,
    /// Half a line's width in whole px, and one more: what this is shrunk by, lines vanish.
    pub(super) reach: usize,
}

/// What the region is the inside of.
pub(super) fn whole(region: &Region, kind: Kind) -> Option<Solid> {
    let Kind::Line(half) = kind else {
        // Grown and shrunk by one, so that specks of noise on the edge don't count.
        let pixels = region.pixels.grown(1).filled()?.shrunk(1);
        return Some(Solid { pixels, at: region.at, kind, reach: 1 });
    };
    let reach = half as usize + 2;
    let middle = (half + 0.5) as usize;
    // Lines that go in from the border are slits; grown over and shrunk back they are gone.
    let pixels = region.pixels.grown(reach).filled()?.shrunk(reach - middle);
    Some(Solid { pixels, at: region.at, kind, reach })
}

/// The part of the other tone that lies round the region.
fn around(parted: &Parted, region: &Region) -> Option<u32> {
    let y = (0..region.pixels.height()).find(|y| region.pixels.row(*y).iter().any(|word| *word != 0))?;
    let row = region.pixels.row(y);
    let (i, word) = row.iter().enumerate().find(|(_, word)| **word != 0)?;
    let x = 64 * i as i64 + i64::from(word.trailing_zeros());
    parted.runs.at(region.at[0] + x, region.at[1] + y as i64 - 1)
}

/// Whether a drawn line goes round a region, or another tone begins.
pub(super) fn kind(parted: &Parted, region: &Region) -> Kind {
    let margin = 2 * MARGIN as usize;
    let size = [region.pixels.width(), region.pixels.height()].map(|s| s.saturating_sub(margin) as u32);
    match around(parted, region).and_then(|number| parted.runs.part(number)) {
        Some(part) if is_line(part, size) && part.dark != region.dark => Kind::Line(part.thickness() / 2.0),
        _ => Kind::Edge,
    }
}

/// A solid thing without the strokes that hang on it.
pub(super) fn without_strokes(filled: &Bits, reach: usize) -> Bits {
    filled.shrunk(reach).grown(reach + 2).and(filled)
}

/// The holes of a region within its solid, each with what is in it; in reading order.
pub(super) fn holes(solid: &Solid, region: &Region) -> Vec<Bits> {
    let size = (solid.pixels.width(), solid.pixels.height());
    let offset = [solid.at[0] - region.at[0], solid.at[1] - region.at[1]];
    let inside = region.pixels.cut(offset[0], offset[1], size.0, size.1);
    let left = solid.pixels.without(&inside);
    let lines = matches!(solid.kind, Kind::Line(_));
    let opened = if lines { left.shrunk(solid.reach).grown(solid.reach) } else { left.clone() };
    let (Some(all), Some(pieces)) = (Runs::of(&left), Runs::of(&opened)) else { return Vec::new() };
    let border = solid.pixels.without(&solid.pixels.shrunk(solid.reach + 1));
    let whole = solid.pixels.count() as f64;
    let islands: Vec<&Part> = all.parts().iter().filter(|p| p.dark).collect();
    let mut found = Vec::new();
    for (number, part) in pieces.parts().iter().enumerate() {
        let small = part.area as f64 <= (SPECK.0 * whole).max(SPECK.1);
        if !part.dark || small || (lines && is_letter(part, &islands, whole)) {
            continue;
        }
        let Some((own, at)) = pieces.cut(number as u32, 0) else { continue };
        let own = own.cut(-at[0], -at[1], size.0, size.1);
        if !lines {
            found.push(own);
        } else if own.and(&border).count() == 0 && !is_arrow(&own, part, whole) {
            // What is shrunk away from a drawn hole's outer side is half its line.
            found.push(own.shrunk(solid.reach - 2));
        }
    }
    found
}

/// Whether a piece stands in a row of letters: others of its height close beside it.
fn is_letter(part: &Part, islands: &[&Part], whole: f64) -> bool {
    let [left, top, right, bottom] = part.bounds.map(f64::from);
    let high = (right - left).max(bottom - top);
    if high * high > 0.01 * whole {
        return false;
    }
    islands.iter().any(|other| {
        let [l, t, r, b] = other.bounds.map(f64::from);
        let tall = (r - l).max(b - t);
        let alike = tall > 0.6 * high && tall < 1.7 * high;
        let beside = |low: f64, end: f64, l: f64, e: f64| {
            l - end < 0.9 * high && low - e < 0.9 * high && (l >= end || e <= low)
        };
        let level = |a: f64, b: f64, c: f64, d: f64| ((a + b) - (c + d)).abs() < 0.7 * high;
        alike
            && ((beside(left, right, l, r) && level(top, bottom, t, b))
                || (beside(top, bottom, t, b) && level(left, right, l, r)))
    })
}

/// Whether a small piece has an arrowhead's shape: it fills too little of the least box round it.
fn is_arrow(own: &Bits, part: &Part, whole: f64) -> bool {
    let area = part.area as f64;
    area < ARROW.0 * whole && area < ARROW.1 * least_box(&outer_ring(own))
}

/// The area of the least of boxes, turned by steps of 5°, round a ring.
fn least_box(ring: &[Place]) -> f64 {
    let mut least = f64::INFINITY;
    for step in 0..18 {
        let (s, c) = libm::sincos(f64::from(step) * 5.0f64.to_radians());
        let mut span = [f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY];
        for [x, y] in ring {
            let (u, v) = (x * c + y * s, y * c - x * s);
            span = [span[0].min(u), span[1].max(u), span[2].min(v), span[3].max(v)];
        }
        least = least.min((span[1] - span[0]) * (span[3] - span[2]));
    }
    least
}
