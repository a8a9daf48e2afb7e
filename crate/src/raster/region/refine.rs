//! From a ring along the sides of pixels to one that lies on the edge, or in the middle of the drawn line, to a
//! fraction of a pixel.
//!
//! Tones are read square to the ring. Which edge is meant is told by where they change fastest (the parabola through the
//! logarithms of three slopes); where it lies, by where they are half way between the tones of the two sides, or of the
//! line's middle and its sides: noise moves that less, and for a blur alike both ways it is the same place.
//! A corner is rounded by pen and lens, and so is the ring.
//! Where another line joins, one side of the drawn line still shows, and half its usual width from there is its middle;
//! where neither shows, its neighbours say where it goes.

use super::level::quantile;
use super::ring::{Place, evenly, normals, scatter};
use crate::raster::luma::Luma;

/// Steps of a profile to the pixel.
const FINE: f64 = 2.0;
/// What a width may differ from the usual one, as a share of it and in px.
const WIDTH_OFF: (f64, f64) = (0.35, 0.9);
/// A slope under this share of the usual one is not the border's.
const WEAK: f64 = 0.3;
/// A place further than this from what its neighbours say is none, px.
const ASTRAY: f64 = 2.0;

/// What lies along a ring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind {
    /// The border of two tones.
    Edge,
    /// A drawn line, half of its width being about so many px.
    Line(f64),
}

/// A ring with every point where it belongs.
#[derive(Clone, Debug, Default)]
pub(super) struct Fine {
    /// In order.
    pub(super) points: Vec<Place>,
    /// Which of them were seen, and not only put where their neighbours say.
    pub(super) seen: Vec<bool>,
    /// Half the drawn line's usual width, px; 0 for an edge.
    pub(super) half: f64,
    /// Standard uncertainty of a point across the border, px.
    pub(super) sigma: f64,
}

/// How a run of points is refined.
#[derive(Clone, Copy, Debug)]
pub(super) struct How {
    /// What lies along it.
    pub(super) kind: Kind,
    /// Whether it is darker to the left of the way than beyond the first edge: for a ring, whether its inside is dark.
    pub(super) dark_inside: bool,
    /// Whether the last point is followed by the first.
    pub(super) closed: bool,
    /// Distance between points, px.
    pub(super) spacing: f64,
}

/// An edge in a profile: how far out it lies, px, and how steep it is.
#[derive(Clone, Copy, Debug)]
struct Found {
    at: f64,
    steep: f64,
}

/// Where the profile of one point says that the border goes.
#[derive(Clone, Copy, Debug, Default)]
struct Seen {
    first: Option<Found>,
    second: Option<Found>,
}

/// Refines a ring (or an open run) of points that are within about 2 px of the border.
pub(super) fn refined(luma: &Luma, points: &[Place], how: How) -> Fine {
    let mut base = evenly(points, how.spacing, how.closed);
    let mut kind = how.kind;
    let mut fine = Fine::default();
    // The first time the steepest place tells which edge it is; after that, where the tone is half way between the two sides,
    // which noise moves less, tells where it lies.
    for (reach, half_way) in [(2.75, false), (1.75, true), (1.75, true)] {
        if base.len() < 8 {
            return Fine { points: base.clone(), seen: vec![false; base.len()], ..Fine::default() };
        }
        fine = once(luma, &base, How { kind, ..how }, reach, half_way);
        if let Kind::Line(half) = &mut kind {
            *half = fine.half;
        }
        base = evenly(&fine.points, how.spacing, how.closed);
    }
    fine.sigma = scatter(&fine.points, how.closed);
    fine
}

/// One time round.
fn once(luma: &Luma, base: &[Place], how: How, reach: f64, half_way: bool) -> Fine {
    let out = normals(base, how.closed);
    let half = if let Kind::Line(half) = how.kind { half } else { 0.0 };
    let side = ((half + reach + 2.0) * FINE) as usize;
    let profiles = Profiles::read(luma, base, &out, side, how.closed);
    let levels = if half_way { profiles.levels(half, how.closed) } else { Vec::new() };
    let seen: Vec<Seen> =
        (0..base.len()).map(|i| look(&profiles, i, how, reach, levels.get(i).copied())).collect();
    let steep = usual(seen.iter().filter_map(|s| s.first.map(|f| f.steep)));
    let strong = |f: Option<Found>| f.filter(|f| f.steep >= WEAK * steep);
    let (offsets, half) = match how.kind {
        Kind::Edge => (seen.iter().map(|s| strong(s.first).map(|f| f.at)).collect(), 0.0),
        Kind::Line(_) => middles(&seen, strong),
    };
    let half = if half > 0.0 { profiles.half_width(&offsets).unwrap_or(half) } else { 0.0 };
    let offsets = without_strays(&offsets, how.closed);
    let place = |i: usize, by: f64| [base[i][0] + out[i][0] * by, base[i][1] + out[i][1] * by];
    let known: Vec<Option<Place>> =
        offsets.iter().enumerate().map(|(i, by)| by.map(|by| place(i, by))).collect();
    let points = bridged(&known, base, how.closed);
    Fine { points, seen: known.iter().map(Option::is_some).collect(), half, sigma: 0.0 }
}

/// Looks for the border in one profile: where it is steepest, or where it crosses `level`.
fn look(profiles: &Profiles, i: usize, how: How, reach: f64, level: Option<f64>) -> Seen {
    let rising = if how.dark_inside { 1.0 } else { -1.0 };
    let find = |about: f64, rising: f64| match level {
        Some(level) => profiles.crossing(i, level, about, reach, rising),
        None => profiles.edge(i, about, reach, rising),
    };
    match how.kind {
        Kind::Edge => Seen { first: find(0.0, rising), second: None },
        Kind::Line(half) => Seen { first: find(-half, rising), second: find(half, -rising) },
    }
}

/// The middle of the drawn line at each point, and half its usual width.
fn middles(seen: &[Seen], strong: impl Fn(Option<Found>) -> Option<Found>) -> (Vec<Option<f64>>, f64) {
    let both = |s: &Seen| Some((strong(s.first)?.at, strong(s.second)?.at)).filter(|(a, b)| b > a);
    let width = usual(seen.iter().filter_map(|s| both(s).map(|(a, b)| b - a)));
    let most = (WIDTH_OFF.0 * width).max(WIDTH_OFF.1);
    let certain: Vec<Option<f64>> = seen
        .iter()
        .map(|s| both(s).filter(|(a, b)| (b - a - width).abs() <= most).map(|(a, b)| (a + b) / 2.0))
        .collect();
    let middles = seen
        .iter()
        .zip(&certain)
        .map(|(s, middle)| {
            // One side that is where it should be is enough.
            let one = |f: Option<Found>, by: f64| strong(f).map(|f| f.at + by).filter(|at| at.abs() <= 1.0);
            middle.or_else(|| one(s.first, width / 2.0)).or_else(|| one(s.second, -width / 2.0))
        })
        .collect();
    (middles, width / 2.0)
}

/// The median, or 0 of nothing.
fn usual(values: impl Iterator<Item = f64>) -> f64 {
    let mut list: Vec<f64> = Vec::new();
    list.extend(values);
    quantile(&mut list, 0.5).unwrap_or(0.0)
}

/// Leaves out those far from the median of their neighbours.
fn without_strays(offsets: &[Option<f64>], closed: bool) -> Vec<Option<f64>> {
    const SIDE: i64 = 6;
    let n = offsets.len() as i64;
    let near = |i: i64| {
        let i = if closed { i.rem_euclid(n) } else { i };
        usize::try_from(i).ok().and_then(|i| *offsets.get(i)?)
    };
    offsets
        .iter()
        .enumerate()
        .map(|(i, own)| {
            let i = i as i64;
            let middle = usual((i - SIDE..=i + SIDE).filter_map(near));
            own.filter(|at| (at - middle).abs() <= ASTRAY)
        })
        .collect()
}

/// Points where they are known, and on the straight way between the nearest known ones where not.
fn bridged(known: &[Option<Place>], base: &[Place], closed: bool) -> Vec<Place> {
    let n = known.len();
    let Some(first) = known.iter().position(Option::is_some) else { return base.to_vec() };
    let mut points = base.to_vec();
    let (mut last, mut i) = (first, first + 1);
    points[first] = known[first].unwrap_or_default();
    let end = if closed { first + n } else { n - 1 };
    while i <= end {
        if let Some(to) = known[i % n] {
            let from = known[last % n].unwrap_or_default();
            for k in last + 1..=i {
                let share = (k - last) as f64 / (i - last) as f64;
                points[k % n] = [from[0] + (to[0] - from[0]) * share, from[1] + (to[1] - from[1]) * share];
            }
            last = i;
        }
        i += 1;
    }
    points
}

/// The tones square to a ring, a row of them for each point.
struct Profiles {
    side: usize,
    values: Vec<f32>,
}

impl Profiles {
    /// Reads `side` steps to each side of every point, each mixed with a little of its neighbours along the ring.
    fn read(luma: &Luma, base: &[Place], out: &[Place], side: usize, closed: bool) -> Profiles {
        let wide = 2 * side + 1;
        let mut raw = Vec::with_capacity(base.len() * wide);
        for (p, n) in base.iter().zip(out) {
            for k in 0..wide {
                let t = (k as f64 - side as f64) / FINE;
                raw.push(tone(luma, p[0] + n[0] * t, p[1] + n[1] * t));
            }
        }
        let n = base.len();
        let row = |i: usize| raw.get(i * wide..(i + 1) * wide).unwrap_or(&[]);
        let mut values = Vec::with_capacity(raw.len());
        for i in 0..n {
            let before = if closed { (i + n - 1) % n } else { i.saturating_sub(1) };
            let after = if closed { (i + 1) % n } else { (i + 1).min(n - 1) };
            let sides = row(before).iter().zip(row(after));
            values.extend(row(i).iter().zip(sides).map(|(own, (a, b))| 0.5 * own + 0.25 * (a + b)));
        }
        Profiles { side, values }
    }

    /// Half of how wide the line is half way down to its darkest (or up to its lightest): the usual one. This is the drawn
    /// width where it is more than about two deviations of the blur; a finer line shows no finer than the blur makes it.
    fn half_width(&self, offsets: &[Option<f64>]) -> Option<f64> {
        let wide = 2 * self.side + 1;
        let width = |(i, at): (usize, &Option<f64>)| {
            let row = self.values.get(i * wide..(i + 1) * wide)?;
            let middle = ((*at)? * FINE + self.side as f64 + 0.5).max(0.0) as usize;
            let (ground, tone) = ((row.first()? + row.last()?) / 2.0, *row.get(middle)?);
            let share = |v: &f32| (v - ground) / (tone - ground);
            let cross = |a: &f32, b: &f32| f64::from((share(a) - 0.5) / (share(a) - share(b)));
            let out = (middle..wide - 1).find(|k| share(&row[k + 1]) < 0.5)?;
            let back = (1..=middle).rev().find(|k| share(&row[k - 1]) < 0.5)?;
            let steps = out as f64 + cross(&row[out], &row[out + 1]) - back as f64
                + cross(&row[back], &row[back - 1]);
            Some(steps / FINE).filter(|w| w.is_finite())
        };
        let mut widths: Vec<f64> = Vec::new();
        widths.extend(offsets.iter().enumerate().filter_map(width));
        quantile(&mut widths, 0.5).map(|w| w / 2.0)
    }

    /// The tone half way between the two sides at each point (for a line: between its middle and both sides), the usual one
    /// of the stretch round about, so that what joins there doesn't count.
    fn levels(&self, half: f64, closed: bool) -> Vec<f64> {
        const ROUND: i64 = 12;
        let wide = 2 * self.side + 1;
        let own: Vec<[f32; 3]> = (self.values.chunks_exact(wide))
            .map(|row| {
                let at = |k: usize| row.get(k).copied().unwrap_or_default();
                [(at(0) + at(1)) / 2.0, at(self.side), (at(wide - 1) + at(wide - 2)) / 2.0]
            })
            .collect();
        let n = own.len() as i64;
        let median = |i: i64, which: usize| {
            let near = (i - ROUND..=i + ROUND).step_by(2).filter_map(|k| {
                let k = if closed { k.rem_euclid(n) } else { k };
                usize::try_from(k).ok().and_then(|k| own.get(k)).map(|tones| f64::from(tones[which]))
            });
            usual(near)
        };
        (0..n)
            .map(|i| {
                let sides = (median(i, 0) + median(i, 2)) / 2.0;
                if half > 0.0 { (sides + median(i, 1)) / 2.0 } else { sides }
            })
            .collect()
    }

    /// Where the tone crosses `level` in the sense wanted, nearest to `about` and within `reach` px of it.
    fn crossing(&self, i: usize, level: f64, about: f64, reach: f64, rising: f64) -> Option<Found> {
        let wide = 2 * self.side + 1;
        let row = self.values.get(i * wide..(i + 1) * wide)?;
        let over = |k: usize| rising * (smooth(row, k) - level);
        let mut best: Option<Found> = None;
        for k in 2..wide - 3 {
            let (a, b) = (over(k), over(k + 1));
            if a < 0.0 && b >= 0.0 {
                let at = (k as f64 + a / (a - b) - self.side as f64) / FINE;
                let nearer = best.is_none_or(|f| (at - about).abs() < (f.at - about).abs());
                if nearer && (at - about).abs() <= reach {
                    best = Some(Found { at, steep: b - a });
                }
            }
        }
        best
    }

    /// The steepest change of the sign wanted within `reach` px of `about`.
    fn edge(&self, i: usize, about: f64, reach: f64, rising: f64) -> Option<Found> {
        let wide = 2 * self.side + 1;
        let row = self.values.get(i * wide..(i + 1) * wide)?;
        let slope = |k: usize| rising * (smooth(row, k + 1) - smooth(row, k.saturating_sub(1)));
        let at = |t: f64| ((t * FINE + self.side as f64).max(0.0) + 0.5) as usize;
        let (from, to) = (at(about - reach).max(5), at(about + reach).min(wide.saturating_sub(6)));
        let mut best = (0.0, 0);
        for k in from..=to {
            let steep = slope(k);
            if steep > best.0 {
                best = (steep, k);
            }
        }
        let (steep, k) = best;
        // A slope that still rises where the looking ends is another thing's.
        if steep <= 0.0 || (k == from && slope(k - 1) > steep) || (k == to && slope(k + 1) > steep) {
            return None;
        }
        let log = |k: usize| libm::log(slope(k).max(steep * 0.02));
        let (a, b, c) = (log(k - 2), log(k), log(k + 2));
        let bend = a - 2.0 * b + c;
        let shift = if bend < 0.0 { ((a - c) / bend).clamp(-1.0, 1.0) } else { 0.0 };
        Some(Found { at: (k as f64 + shift - self.side as f64) / FINE, steep })
    }
}

/// A profile's tone at a step, 1 4 6 4 1 smoothed.
fn smooth(row: &[f32], k: usize) -> f64 {
    let v = |d: usize| f64::from(row.get((k + d).saturating_sub(2)).copied().unwrap_or_default());
    (v(0) + v(4) + 4.0 * (v(1) + v(3)) + 6.0 * v(2)) / 16.0
}

/// The tone at a place, px, mixed from the four pixels round it.
pub(super) fn tone(luma: &Luma, x: f64, y: f64) -> f32 {
    let (x, y) = (x - 0.5, y - 0.5);
    let (left, top) = (x.floor(), y.floor());
    let (u, v) = ((x - left) as f32, (y - top) as f32);
    let (i, j) = (left as i64, top as i64);
    let at = |dx, dy| f32::from(luma.at(i.saturating_add(dx), j.saturating_add(dy)));
    let (upper, lower) = (at(0, 0) * (1.0 - u) + at(1, 0) * u, at(0, 1) * (1.0 - u) + at(1, 1) * u);
    upper * (1.0 - v) + lower * v
}
