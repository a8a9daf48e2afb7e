//! An edge followed between two touches: the cheapest way over pixels, where an edge or a drawn line costs little.
//!
//! # References
//! Barrett & Mortensen, Medical Image Analysis 1 (1997) 331. Their cost is of slopes and zero crossings; here it is the
//! slope, or how far a line stands out from both of its sides, whichever is more.

use super::level::quantile;
use super::refine::{How, Kind, refined, tone};
use super::ring::{Place, evenly, normals};
use crate::fault::{Area, spoil};
use crate::plane::{Picture, Point, Vector};
use crate::raster::ask::At;
use crate::raster::luma::Luma;
use crate::words::Say;

/// How far the way may leave the straight one: this share of its length and so many px.
const ASIDE: (f64, f64) = (0.2, 20.0);
/// The most pixels that are looked at; further touches are refused rather than waited for.
const MOST: usize = 4_000_000;
/// How far from a touch an edge is looked for, px.
const SNAP: i64 = 12;
/// The least difference in tone that is an edge, in steps of 255.
const LEAST: f32 = 14.0;
/// Cost of a pixel with nothing on it; one on the edge costs 1, so this is one less.
const NOTHING: f32 = 30.0;
/// Px beyond the window that are read for what stands in it.
const EDGE: usize = 8;
/// How far the tones beside a line are read from its middle, px.
const SIDES: [i64; 3] = [2, 4, 7];

/// The edge from `from` to `to` (picture px), a point about every px, and the standard uncertainty of each point across
/// it, px. It begins and ends on the edge nearest to the touches.
///
/// # Errors
/// `seek.nothing` where no edge is near a touch, or the touches are too far apart.
pub fn follow(luma: &Luma, from: At, to: At) -> Result<(Vec<At>, f64), Say> {
    let nothing = || Say::new("seek.nothing");
    let mut field = Field::around(luma, from, to).ok_or_else(nothing)?;
    let (start, a) = field.snapped(from).ok_or_else(nothing)?;
    let (end, b) = field.snapped(to).ok_or_else(nothing)?;
    let way = field.cheapest(start, end, a.min(b)).ok_or_else(nothing)?;
    let fine = refined(luma, &way, kind_of(luma, &mut field, &way));
    if fine.points.len() < 2 || !fine.seen.iter().any(|seen| *seen) {
        return Err(nothing());
    }
    let off = (spoil(Area::Outline, 1.5) - 1.0) * std::f64::consts::FRAC_1_SQRT_2;
    Ok((fine.points.iter().map(|p| Point::new(p[0] + off, p[1] + off)).collect(), fine.sigma))
}

/// How strongly each pixel of a window is on an edge or a line.
struct Field {
    left: i64,
    top: i64,
    width: usize,
    height: usize,
    /// The tones with `EDGE` px more all round, a little smoothed.
    smooth: Vec<f32>,
    /// Below 0 where it was not asked for.
    strength: Vec<f32>,
    /// Whether it is a line's middle rather than an edge: how much darker (or, negative, lighter) than both sides.
    ridge: Vec<f32>,
    /// From where to where, in each row, pixels lie near enough to the straight way.
    near: Vec<[i64; 2]>,
}

impl Field {
    /// Over the pixels near the straight way between two places.
    fn around(luma: &Luma, from: At, to: At) -> Option<Field> {
        if !(from.is_finite() && to.is_finite()) {
            return None;
        }
        let aside = ASIDE.0 * from.distance(to) + ASIDE.1;
        let low = |a: f64, b: f64| (a.min(b) - aside).floor().max(0.0) as i64;
        let high = |a: f64, b: f64, side: u32| (a.max(b) + aside).ceil().min(f64::from(side)) as i64;
        let (left, top) = (low(from.x, to.x), low(from.y, to.y));
        let (right, bottom) = (high(from.x, to.x, luma.width()), high(from.y, to.y, luma.height()));
        let (width, height) = (usize::try_from(right - left).ok()?, usize::try_from(bottom - top).ok()?);
        if width < 3 || height < 3 || width.checked_mul(height)? > MOST {
            return None;
        }
        let smooth = smooth(luma, [left, top], [width + 2 * EDGE, height + 2 * EDGE]);
        let (strength, ridge) = (vec![-1.0; width * height], vec![0.0; width * height]);
        let middle = |y: usize| (top + y as i64) as f64 + 0.5;
        let spans = (0..height).map(|y| span([from, to], aside, middle(y)));
        let pixels = |[a, b]: [f64; 2]| {
            let within = |v: f64| v.clamp(0.0, width as f64) as i64;
            [within((a - left as f64 - 0.5).ceil()), within((b - left as f64 + 0.5).floor())]
        };
        let near = spans.map(pixels).collect();
        Some(Field { left, top, width, height, smooth, strength, ridge, near })
    }

    /// How strongly a pixel is on an edge, and how far it stands out as a line; reckoned when first asked for, since a way is
    /// found without most pixels.
    fn measured(&mut self, i: usize) -> (f32, f32) {
        if self.strength[i] < 0.0 {
            let wide = self.width + 2 * EDGE;
            let centre = (i / self.width + EDGE) * wide + i % self.width + EDGE;
            let v = |dx: i64, dy: i64| self.smooth[(centre as i64 + dy * wide as i64 + dx) as usize];
            let (slope, ridge) = (slope(&v), ridge(&v));
            self.strength[i] = slope.max(ridge.abs());
            self.ridge[i] = ridge;
        }
        (self.strength[i], self.ridge[i])
    }

    /// A pixel of the window that lies near enough to the straight way.
    fn allowed(&self, x: i64, y: i64) -> Option<usize> {
        let [from, to] = usize::try_from(y).ok().and_then(|y| self.near.get(y)).copied()?;
        (from <= x && x < to).then(|| y as usize * self.width + x as usize)
    }

    fn at(&self, x: i64, y: i64) -> Option<usize> {
        let inside = x >= 0 && y >= 0 && x < self.width as i64 && y < self.height as i64;
        inside.then_some((y * self.width as i64 + x) as usize)
    }

    /// The strongest pixel near a place, the nearer the better, and how strong.
    fn snapped(&mut self, place: At) -> Option<(usize, f32)> {
        let (x, y) = (place.x.floor() as i64 - self.left, place.y.floor() as i64 - self.top);
        let mut best: Option<(usize, f32, f32)> = None;
        for dy in -SNAP..=SNAP {
            for dx in -SNAP..=SNAP {
                let Some(i) = self.at(x + dx, y + dy) else { continue };
                let (strength, _) = self.measured(i);
                let worth = strength / (1.0 + 0.01 * (dx * dx + dy * dy) as f32);
                if strength >= LEAST && best.is_none_or(|(_, _, w)| worth > w) {
                    best = Some((i, strength, worth));
                }
            }
        }
        best.map(|(i, strength, _)| (i, strength))
    }

    /// The cheapest way from one pixel to another, as their middles. Costs are small whole numbers, so that the pixels to
    /// go on from wait in as many lists as a step can cost, in turn: by what the way to them costs, and the least that it can
    /// cost from there to the end.
    ///
    /// # References
    /// Hart, Nilsson & Raphael, IEEE Trans. Systems Science and Cybernetics 4 (1968) 100.
    fn cheapest(&mut self, start: usize, end: usize, full: f32) -> Option<Vec<Place>> {
        const LISTS: usize = 256;
        const STEPS: [(i64, i64, usize); 8] =
            [(1, 0, 5), (-1, 0, 5), (0, 1, 5), (0, -1, 5), (1, 1, 7), (1, -1, 7), (-1, 1, 7), (-1, -1, 7)];
        let cost = |strength: f32| 1 + (NOTHING * (1.0 - strength / full).max(0.0)) as usize;
        let mut far = vec![u32::MAX; self.strength.len()];
        let mut came = vec![u8::MAX; self.strength.len()];
        let mut lists: Vec<Vec<u32>> = vec![Vec::new(); LISTS];
        let width = self.width;
        let place = |i: usize| ((i % width) as i64, (i / width) as i64);
        let (ex, ey) = place(end);
        // All of it along an edge: a step to the side costs 5, one on a slant 7.
        let rest = |x: i64, y: i64| {
            let (dx, dy) = ((ex - x).unsigned_abs() as usize, (ey - y).unsigned_abs() as usize);
            5 * dx.max(dy) + 2 * dx.min(dy)
        };
        let (sx, sy) = place(start);
        far[start] = 0;
        let (mut now, mut empty) = (rest(sx, sy), 0);
        lists[now % LISTS].push(start as u32);
        while empty <= LISTS {
            let Some(i) = lists[now % LISTS].pop() else {
                now += 1;
                empty += 1;
                continue;
            };
            empty = 0;
            let i = i as usize;
            let (x, y) = ((i % width) as i64, (i / width) as i64);
            let here = far[i] as usize;
            if here + rest(x, y) != now {
                continue;
            }
            if i == end {
                return Some(self.way_back(start, end, &came, &STEPS));
            }
            for (k, (dx, dy, long)) in STEPS.iter().enumerate() {
                let Some(next) = self.allowed(x + dx, y + dy) else { continue };
                if far[next] as usize <= here + long {
                    continue;
                }
                let there = here + long * cost(self.measured(next).0);
                if (there as u32) < far[next] {
                    far[next] = there as u32;
                    came[next] = k as u8;
                    lists[(there + rest(x + dx, y + dy)) % LISTS].push(next as u32);
                }
            }
        }
        None
    }

    fn way_back(&self, start: usize, end: usize, came: &[u8], steps: &[(i64, i64, usize); 8]) -> Vec<Place> {
        let mut way = Vec::new();
        let mut at = end;
        loop {
            let (x, y) = ((at % self.width) as i64, (at / self.width) as i64);
            way.push([(self.left + x) as f64 + 0.5, (self.top + y) as f64 + 0.5]);
            let step = came.get(at).and_then(|k| steps.get(usize::from(*k)));
            match step.and_then(|(dx, dy, _)| self.at(x - dx, y - dy)) {
                Some(before) if at != start => at = before,
                _ => break,
            }
        }
        way.reverse();
        way
    }
}

/// From where to where a row at `y` lies within `aside` of the straight way between two places: the round ends, and the two
/// straight sides between them. Nothing is an interval that ends before it begins.
fn span([from, to]: [At; 2], aside: f64, y: f64) -> [f64; 2] {
    let mut out = [f64::INFINITY, f64::NEG_INFINITY];
    let mut take = |x: f64| out = [out[0].min(x), out[1].max(x)];
    for end in [from, to] {
        let half = aside * aside - (y - end.y) * (y - end.y);
        if half >= 0.0 {
            take(end.x - half.sqrt());
            take(end.x + half.sqrt());
        }
    }
    let way: Vector<Picture> = to - from;
    let long = way.dot(way).sqrt();
    if long > 0.0 && way.y != 0.0 {
        for side in [aside / long, -aside / long] {
            let (x, from) = (from.x - way.y * side, from.y + way.x * side);
            let along = (y - from) / way.y;
            if (0.0..=1.0).contains(&along) {
                take(x + way.x * along);
            }
        }
    }
    out
}

/// The tones of a window, smoothed 1 2 1 both ways; beyond the picture those of its border.
fn smooth(luma: &Luma, [left, top]: [i64; 2], [wide, high]: [usize; 2]) -> Vec<f32> {
    let (left, top) = (left - EDGE as i64, top - EDGE as i64);
    let width = luma.width() as usize;
    let row = |y: i64| {
        let y = y.clamp(0, i64::from(luma.height()) - 1) as usize;
        luma.values().get(y * width..(y + 1) * width).unwrap_or(&[])
    };
    let columns: Vec<usize> =
        (-1..=wide as i64).map(|x| (left + x).clamp(0, width as i64 - 1) as usize).collect();
    let mut out = Vec::with_capacity(wide * high);
    let mut sums = vec![0f32; columns.len()];
    for y in 0..high as i64 {
        let (a, b, c) = (row(top + y - 1), row(top + y), row(top + y + 1));
        for (sum, x) in sums.iter_mut().zip(&columns) {
            let v = |row: &[u8]| row.get(*x).map_or(0, |v| u16::from(*v));
            *sum = f32::from(v(a) + 2 * v(b) + v(c)) / 16.0;
        }
        out.extend(sums.windows(3).map(|s| s[0] + 2.0 * s[1] + s[2]));
    }
    out
}

/// How steep the tones are over two pixels: the change across one.
fn slope(v: &impl Fn(i64, i64) -> f32) -> f32 {
    let (x, y) = (v(1, 0) - v(-1, 0), v(0, 1) - v(0, -1));
    (x * x + y * y).sqrt()
}

/// How much darker a pixel is than both sides of it, in the direction and at the distance where that is most; negative for
/// lighter.
fn ridge(v: &impl Fn(i64, i64) -> f32) -> f32 {
    // The language's own minimum and maximum, which mind what is no number, are calls here.
    let less = |a: f32, b: f32| if a < b { a } else { b };
    let more = |a: f32, b: f32| if a > b { a } else { b };
    let own = v(0, 0);
    let (mut darker, mut lighter) = (0f32, 0f32);
    for side in SIDES {
        // On a slant the same distance is 0.7 as many pixels each way.
        let slant = (side * 7 + 5) / 10;
        for (dx, dy) in [(side, 0), (0, side), (slant, slant), (slant, -slant)] {
            let (a, b) = (v(dx, dy), v(-dx, -dy));
            darker = more(darker, less(a, b) - own);
            lighter = more(lighter, own - more(a, b));
        }
    }
    if darker >= lighter { darker } else { -lighter }
}

/// What lies along the way: a line where most of it stands out from both sides, else an edge; and which side is dark.
fn kind_of(luma: &Luma, field: &mut Field, way: &[Place]) -> How {
    let mut ridges: Vec<f64> = Vec::new();
    let mut strengths: Vec<f64> = Vec::new();
    for p in way {
        let (x, y) = (p[0].floor() as i64 - field.left, p[1].floor() as i64 - field.top);
        if let Some(i) = field.at(x, y) {
            let (strength, ridge) = field.measured(i);
            ridges.push(f64::from(ridge));
            strengths.push(f64::from(strength));
        }
    }
    let median = |list: &mut Vec<f64>| quantile(list, 0.5).unwrap_or(0.0);
    let (ridge, strength) = (median(&mut ridges), median(&mut strengths));
    let base = evenly(way, 1.0, false);
    let out = normals(&base, false);
    let read = |i: usize, t: f64| tone(luma, base[i][0] + out[i][0] * t, base[i][1] + out[i][1] * t);
    let (kind, dark_inside) = if ridge.abs() > 0.6 * strength {
        (Kind::Line(half_of(base.len(), ridge, read)), ridge < 0.0)
    } else {
        let mut sides: Vec<f64> = Vec::new();
        sides.extend((0..base.len()).map(|i| f64::from(read(i, 3.0) - read(i, -3.0))));
        (Kind::Edge, median(&mut sides) > 0.0)
    };
    How { kind, dark_inside, closed: false, spacing: 1.0 }
}

/// Half a line's usual width, px, from where its tone is half way to that 10 px beside.
fn half_of(count: usize, ridge: f64, read: impl Fn(usize, f64) -> f32) -> f64 {
    let mut widths: Vec<f64> = Vec::new();
    for i in (0..count).step_by(3) {
        let half = f64::from(read(i, 0.0)) + ridge / 2.0;
        let side = |sign: f64| {
            let over = |k: &u32| (f64::from(read(i, sign * f64::from(*k) / 2.0)) - half) * ridge > 0.0;
            (0..30).find(over).map(|k| f64::from(k) / 2.0)
        };
        if let (Some(a), Some(b)) = (side(1.0), side(-1.0)) {
            widths.push(a + b);
        }
    }
    (quantile(&mut widths, 0.5).unwrap_or(2.0) / 2.0).max(0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the distance from each pixel's middle to the straight way, by elementary geometry.
    #[test]
    fn rows_reach_as_far_as_the_distance_says() {
        for (from, to, aside) in [
            ([20.0, 30.0], [90.0, 55.0], 14.0),
            ([20.0, 60.0], [90.0, 60.0], 9.5),
            ([50.0, 90.0], [50.3, 15.0], 12.0),
            ([80.0, 20.0], [30.0, 75.0], 20.0),
            ([40.0, 40.0], [40.0, 40.0], 7.0),
        ] {
            let (a, b): (At, At) = (Point::from(from), Point::from(to));
            for row in 0..110 {
                let y = f64::from(row) + 0.5;
                let [left, right] = span([a, b], aside, y);
                for column in 0..120 {
                    let at: At = Point::new(f64::from(column) + 0.5, y);
                    let (off, way): (Vector<Picture>, Vector<Picture>) = (at - a, b - a);
                    let along = (off.dot(way) / way.dot(way).max(1e-12)).clamp(0.0, 1.0);
                    let far = at.distance(a + way * along);
                    if (far - aside).abs() > 1e-6 {
                        assert_eq!(left <= at.x && at.x <= right, far < aside, "{from:?} {to:?} {at:?}");
                    }
                }
            }
        }
    }
}
