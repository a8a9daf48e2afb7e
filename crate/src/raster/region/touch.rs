//! The border of the part that was touched.

use super::bits::Bits;
use super::cells::with_cells;
use super::level::Level;
use super::refine::{Fine, How, Kind, refined};
use super::ring::Place;
use super::runs::{Part, Runs};
use super::shape::{holes, kind, whole};
use super::trace::outer_ring;
use crate::fault::{Area, spoil};
use crate::plane::{Picture, Point};
use crate::raster::ask::{At, Border};
use crate::raster::luma::Luma;
use crate::words::Say;

/// A drawn line is no wider than this, px, nor than this share of what it goes round.
const LINE: (f64, f64) = (40.0, 0.08);
/// How far lines are grown, px, to close a gap of twice that.
const GAPS: [usize; 6] = [1, 2, 4, 7, 11, 16];
/// More than this share of a border bridged is no border.
const MOST_BRIDGED: f64 = 0.2;
/// Room round a part for growing and looking, px.
pub(super) const MARGIN: i64 = 48;
/// The most points of a ring; longer ones have them further apart.
const MOST_POINTS: f64 = 6000.0;
/// Fewer pixels than this are a speck.
pub(super) const SPECK: u64 = 30;

/// A picture parted into dark and light.
pub(super) struct Parted<'a> {
    pub(super) luma: &'a Luma,
    pub(super) dark: Bits,
    pub(super) runs: Runs,
}

impl<'a> Parted<'a> {
    /// # Errors
    /// `seek.nothing` where no two tones stand apart, or everything is texture.
    pub(super) fn of(luma: &'a Luma) -> Result<Parted<'a>, Say> {
        let nothing = || Say::new("seek.nothing");
        let dark = Level::of(luma).ok_or_else(nothing)?.dark(luma);
        let runs = Runs::of(&dark).ok_or_else(nothing)?;
        Ok(Parted { luma, dark, runs })
    }
}

/// What was touched: its pixels in a window, and where that lies.
pub(super) struct Region {
    /// Which pixels.
    pub(super) pixels: Bits,
    /// The window's top left pixel in the picture.
    pub(super) at: [i64; 2],
    /// Whether it is the dark that was touched.
    pub(super) dark: bool,
}

/// The whole border of the part touched at `inside` (picture px): what is enclosed by drawn lines, whose middle is
/// followed, or a thing that stands out from its ground.
///
/// Gaps in drawn lines up to 32 px are bridged and told. Holes are kept, lettering and what is drawn across the part are not.
///
/// # Errors
/// `seek.nothing` where there is nothing with a border, `seek.runs-off` where the border runs off the picture.
///
/// # References
/// Level: Otsu 1979. Parts: Rosenfeld & Pfaltz 1966. Rings: Suzuki & Abe 1985.
pub fn border(luma: &Luma, inside: At) -> Result<Border, Say> {
    let nothing = || Say::new("seek.nothing");
    let (width, height) = (f64::from(luma.width()), f64::from(luma.height()));
    if !(inside.x >= 0.0 && inside.y >= 0.0 && inside.x < width && inside.y < height) {
        return Err(nothing());
    }
    let parted = Parted::of(luma)?;
    let touched = [inside.x as i64, inside.y as i64];
    let number = touched_part(&parted.runs, touched).ok_or_else(nothing)?;
    let part = parted.runs.part(number).ok_or_else(nothing)?;
    let region = if !part.at_border {
        let (pixels, at) = parted.runs.cut(number, MARGIN).ok_or_else(nothing)?;
        Region { pixels, at, dark: part.dark }
    } else if part.dark {
        return Err(Say::new("seek.runs-off"));
    } else {
        enclosed(&parted, touched).ok_or_else(|| Say::new("seek.runs-off"))?
    };
    let found = outline(&parted, &region).ok_or_else(nothing)?;
    if bridged_share(&found) > MOST_BRIDGED {
        return Err(if part.at_border { Say::new("seek.runs-off") } else { nothing() });
    }
    Ok(found)
}

/// The part at a pixel; on a drawn line, or a speck of ink, the enclosed part beside it.
fn touched_part(runs: &Runs, [x, y]: [i64; 2]) -> Option<u32> {
    let own = runs.at(x, y)?;
    let part = runs.part(own)?;
    let small = part.area < SPECK;
    if !small && (!part.dark || !is_line(part, part.size())) {
        return Some(own);
    }
    let reach = if small { 8 } else { (2.0 * part.thickness()) as i64 + 2 };
    let near = |steps: i64| {
        (-steps..=steps).flat_map(move |d| {
            [(x + d, y - steps), (x + d, y + steps), (x - steps, y + d), (x + steps, y + d)]
        })
    };
    (1..=reach)
        .flat_map(near)
        .filter_map(|(x, y)| runs.at(x, y))
        .find(|number| runs.part(*number).is_some_and(|p| *number != own && !p.at_border && p.area >= SPECK))
}

/// Whether a part is thin enough for a line drawn round something of this size, px.
pub(super) fn is_line(part: &Part, [wide, high]: [u32; 2]) -> bool {
    part.thickness() <= LINE.0.min((LINE.1 * f64::from(wide.min(high))).max(4.0))
}

/// The light round a pixel that is enclosed once gaps are closed, with the least closing that does it.
fn enclosed(parted: &Parted, [x, y]: [i64; 2]) -> Option<Region> {
    let mut walls = parted.dark.clone();
    let mut grown = 0;
    for gap in GAPS {
        walls = walls.grown(gap - grown);
        grown = gap;
        let runs = Runs::of(&walls)?;
        let number = runs.at(x, y)?;
        let part = runs.part(number)?;
        if part.dark {
            return None;
        }
        if part.at_border || part.area < SPECK.max((gap * gap * 4) as u64) {
            continue;
        }
        let (core, at) = runs.cut(number, MARGIN)?;
        let size = (core.width(), core.height());
        let light = parted.dark.cut(at[0], at[1], size.0, size.1).not();
        let others = walls.cut(at[0], at[1], size.0, size.1).not().without(&core);
        return Some(Region { pixels: shared_out(core, others, &light, 4 * gap), at, dark: false });
    }
    None
}

/// `own` grown within `room` for so many steps while `others` grow against it, so that neither goes through a gap.
fn shared_out(mut own: Bits, mut others: Bits, room: &Bits, steps: usize) -> Bits {
    for _ in 0..steps {
        let next = own.or(&own.grown(1).and(room).without(&others));
        others = others.or(&others.grown(1).and(room).without(&next));
        if next == own {
            break;
        }
        own = next;
    }
    own
}

/// The rings of a region: outer one first, then holes.
pub(super) fn outline(parted: &Parted, region: &Region) -> Option<Border> {
    let kind = kind(parted, region);
    let wider = if let Kind::Line(half) = kind { with_cells(parted, region, half) } else { None };
    let region = wider.as_ref().unwrap_or(region);
    let solid = whole(region, kind)?;
    let how = |dark_inside| How { kind: solid.kind, dark_inside, closed: true, spacing: 1.0 };
    let outer = fine_ring(parted.luma, &solid.pixels, solid.at, how(region.dark))?;
    let mut rings = vec![outer];
    for hole in holes(&solid, region) {
        // Seen from within the hole, light and dark are the other way round; a drawn line has light on both sides.
        let dark_inside = if matches!(solid.kind, Kind::Line(_)) { region.dark } else { !region.dark };
        rings.extend(fine_ring(parted.luma, &hole, solid.at, how(dark_inside)));
    }
    Some(told(rings))
}

/// The refined ring round what is in, in picture px.
pub(super) fn fine_ring(luma: &Luma, pixels: &Bits, at: [i64; 2], how: How) -> Option<Fine> {
    let mut ring = outer_ring(pixels);
    for p in &mut ring {
        *p = [p[0] + at[0] as f64, p[1] + at[1] as f64];
    }
    let spacing = (ring.len() as f64 / MOST_POINTS).max(how.spacing);
    let fine = refined(luma, &ring, How { spacing, ..how });
    (fine.points.len() >= 8 && fine.seen.iter().any(|seen| *seen)).then_some(fine)
}

/// Rings as they are given out.
pub(super) fn told(rings: Vec<Fine>) -> Border {
    let mut border = Border::default();
    for fine in rings {
        if border.rings.is_empty() {
            border.half = fine.half;
        }
        border.sigma = border.sigma.max(fine.sigma);
        border.bridges.extend(bridges(&fine));
        // A planted fault moves the border half a pixel across and down.
        let off = (spoil(Area::Outline, 1.5) - 1.0) * std::f64::consts::FRAC_1_SQRT_2;
        border
            .rings
            .push(fine.points.iter().map(|p| Point::<Picture>::new(p[0] + off, p[1] + off)).collect());
    }
    border
}

/// Stretches of a ring where nothing was seen, longer than what joins or a speck would hide.
fn bridges(fine: &Fine) -> Vec<[At; 2]> {
    let n = fine.seen.len();
    let least = (3.0 * fine.half).max(4.0);
    let Some(start) = fine.seen.iter().position(|seen| *seen) else { return Vec::new() };
    let point = |i: usize| fine.points.get(i % n).map(|p: &Place| Point::new(p[0], p[1])).unwrap_or_default();
    let (mut found, mut from) = (Vec::new(), None);
    for i in start..=start + n {
        match (fine.seen.get(i % n), from) {
            (Some(false), None) => from = Some(i - 1),
            (Some(true), Some(a)) => {
                if point(a).distance(point(i)) > least {
                    found.push([point(a), point(i)]);
                }
                from = None;
            }
            _ => {}
        }
    }
    found
}

/// How much of a border's length is bridges.
fn bridged_share(border: &Border) -> f64 {
    let long: f64 = border.rings.iter().map(|ring| crate::plane::perimeter(ring)).sum();
    border.bridges.iter().map(|[a, b]| a.distance(*b)).sum::<f64>() / long.max(1.0)
}
