//! The picture on one sheet: turned square-on, at full size, as grey pixels.
//!
//! Where a pixel of the sheet covers several of the picture, those are averaged first (by the nearest whole number of them, both
//! ways); between pixels it is read by cubic convolution.
//!
//! # References
//! Keys, "Cubic convolution interpolation for digital image processing", IEEE ASSP 29 (1981) 1153, a = −1/2.

use super::draw::Ink;
use super::jpeg::{Jpeg, stride};
use super::pdf::Image;
use crate::plane::{Finished, Homography, Picture, Point};
use crate::quantity::units::MM_PER_INCH;
use crate::raster::luma::Window;

/// Pixels to the inch of paper.
pub const DPI: f64 = 200.0;
/// Quality of the JPEG files: lines stay clean.
const QUALITY: u32 = 80;
/// The most pixels across or down: a JPEG file's own bound is 65,535.
const MOST: f64 = 40_000.0;
/// Side of the squares over which the paper's own tone is looked for, px of the picture.
const SQUARE: u32 = 32;
/// How much darker than the paper is white still, and black already, as shares of the paper's tone.
const INK: [f32; 2] = [0.12, 0.40];
/// Paper is never taken for darker than this, so that a large dark area stays dark.
const DARKEST: u8 = 110;
/// How dark a grey stays that was black: lines and writing over it must be seen.
const KEPT: u32 = 128;
/// The same as a share of white: what black is shown as.
pub const PALE: f64 = 1.0 - KEPT as f64 / 255.0;

/// Weights of pixels are whole numbers of which so many are 1.
const ONE: i32 = 1 << 14;
/// So many bits are dropped between the two ways, and after both of them.
const DROPPED: [u32; 2] = [8, 20];
/// Rows and columns by which the border's pixels go on all round, so that none is asked for that isn't there.
const AROUND: usize = 3;
/// Places between two pixels that are told apart where a row runs aslant.
const PHASES: usize = 256;

/// A picture on a sheet in the making.
#[derive(Clone, Debug)]
pub struct Shot {
    width: usize,
    height: usize,
    /// From pixels of the sheet to px of the picture.
    map: [[f64; 3]; 3],
    size: [u32; 2],
    window: Window,
    /// How many px of the picture are averaged, each way.
    reduce: u32,
    ink: Ink,
    /// What was given, once it was.
    given: Option<Given>,
    row: usize,
}

/// The pixels under a shot.
#[derive(Clone, Debug)]
struct Given {
    /// Reduced, with [`AROUND`] more all round.
    pixels: Vec<u8>,
    across: usize,
    /// From pixels of the sheet to places among those, whose centres are whole numbers.
    map: [[f64; 3]; 3],
    /// From where to where there is picture, in the same places, across and down.
    within: [[f64; 2]; 2],
    /// Where rows run along those of the pixels.
    level: Option<Level>,
    phases: Vec<[i16; 4]>,
    jpeg: Jpeg,
}

/// What rows that run along those of the pixels share.
#[derive(Clone, Debug)]
struct Level {
    /// The first column with picture.
    first: usize,
    /// For each column with picture, the first of its four pixels and their weights.
    taps: Vec<(u32, [i16; 4])>,
    /// The last four rows of pixels, read at all columns, by their number modulo 4; and which they are.
    rows: [Vec<i16>; 4],
    held: [usize; 4],
}

impl Shot {
    /// What `bounds` (left, top, right, bottom, mm as the whole lies) show of a picture of this `size`; `turned` when the whole is
    /// turned by a quarter from `height` high. Nothing where the picture isn't.
    pub fn new(
        map: &Homography<Picture, Finished>,
        ink: Ink,
        size: [u32; 2],
        [l, t, r, b]: [f64; 4],
        turned: Option<f64>,
    ) -> Option<Shot> {
        let pixels = |mm: f64| libm::ceil(mm / MM_PER_INCH * DPI).clamp(1.0, MOST);
        let (width, height) = (pixels(r - l), pixels(b - t));
        let (sx, sy) = ((r - l) / width, (b - t) / height);
        // From pixels of the sheet to mm of the whole: (x, y) as it lies was (y, height − x).
        let place = match turned {
            None => [[sx, 0.0, l], [0.0, sy, t], [0.0, 0.0, 1.0]],
            Some(high) => [[0.0, sy, t], [-sx, 0.0, high - l], [0.0, 0.0, 1.0]],
        };
        let place: Homography<Finished, Finished> = Homography::from_rows(place);
        let map = place.then(&map.inverse()?);
        let corners = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]];
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        let mut coarse = 0.0_f64;
        for corner in corners {
            let p = map.apply(Point::from(corner))?;
            let [[a, b], [c, d]] = map.jacobian(Point::from(corner))?;
            coarse = coarse.max(libm::hypot(a, c)).max(libm::hypot(b, d));
            for (axis, v) in [p.x, p.y].into_iter().enumerate() {
                (low[axis], high[axis]) = (low[axis].min(v), high[axis].max(v));
            }
        }
        let reduce = libm::round(coarse).clamp(1.0, 64.0) as u32;
        let window = window(low, high, size, reduce)?;
        let (width, height) = (width as usize, height as usize);
        Some(Shot { width, height, map: *map.rows(), size, window, reduce, ink, given: None, row: 0 })
    }

    /// The picture's own width and height, px.
    pub fn size(&self) -> [u32; 2] {
        self.size
    }

    /// How many pixels it makes.
    pub fn pixels(&self) -> usize {
        self.width * self.height
    }

    /// Which part of the picture it needs; nothing once it has it.
    pub fn wants(&self) -> Option<Window> {
        self.given.is_none().then_some(self.window)
    }

    /// Takes the luminance of that part, row by row.
    pub fn give(&mut self, luma: &[u8]) {
        let [w, h] = [self.window.width as usize, self.window.height as usize];
        if luma.len() != w * h || self.given.is_some() {
            return;
        }
        let inked = match self.ink {
            Ink::Lines => Some(lines(luma, w, h)),
            Ink::Grey => None,
        };
        let k = self.reduce as usize;
        let pixels = reduced(inked.as_deref().unwrap_or(luma), w, h, k);
        let [mut across, down] = [w.div_ceil(k), h.div_ceil(k)];
        let [[ux, uy, u], [vx, vy, v], t] = self.map;
        // A row of a whole that is turned by a quarter runs along a column of the picture.
        let swap = ux == 0.0 && vy == 0.0 && t[0] == 0.0 && t[1] == 0.0;
        let pixels = around(&pixels, [across, down], swap);
        let place = |[x, y, c]: [f64; 3], from: u32| {
            let by = AROUND as f64 - 0.5 - f64::from(from) / k as f64;
            [x / k as f64 + by * t[0], y / k as f64 + by * t[1], c / k as f64 + by * t[2]]
        };
        let within = |from: u32, side: u32| {
            [0.0, f64::from(side)].map(|p| (p - f64::from(from)) / k as f64 + AROUND as f64 - 0.5)
        };
        let mut map = [place([ux, uy, u], self.window.x), place([vx, vy, v], self.window.y), t];
        let mut within = [within(self.window.x, self.size[0]), within(self.window.y, self.size[1])];
        if swap {
            across = down;
            map.swap(0, 1);
            within.swap(0, 1);
        }
        let [width, height] = [self.width, self.height].map(|v| u16::try_from(v).unwrap_or(u16::MAX));
        let jpeg = Jpeg::new(width, height, QUALITY);
        let phases = (0..PHASES).map(|k| weights((k as f64 + 0.5) / PHASES as f64)).collect();
        let across = across + 2 * AROUND;
        let mut given = Given { pixels, across, map, within, level: None, phases, jpeg };
        given.level = given.find_level(self.width);
        self.given = Some(given);
    }

    /// Rows done and in all.
    pub fn progress(&self) -> [usize; 2] {
        [self.row, self.height]
    }

    /// Makes the next eight rows; the picture once all are made.
    pub fn step(&mut self) -> Option<Image> {
        let given = self.given.as_mut()?;
        let long = stride(self.width);
        let mut band = vec![255; 8 * long];
        let keep = match self.ink {
            Ink::Grey => KEPT,
            Ink::Lines => 255,
        };
        for out in band.chunks_exact_mut(long) {
            // Beyond the end its last row goes on, and each row's last pixel.
            let row = self.row.min(self.height - 1);
            given.row(row as f64 + 0.5, out.get_mut(..self.width)?, keep);
            let last = out.get(self.width - 1).copied()?;
            out.get_mut(self.width..)?.fill(last);
            self.row += 1;
        }
        self.row = self.row.min(self.height);
        given.jpeg.band(&band);
        if self.row < self.height {
            return None;
        }
        let jpeg = self.given.take()?.jpeg.finish();
        Some(Image { width: self.width as u32, height: self.height as u32, jpeg, black: 0.0 })
    }
}

impl Given {
    /// One row of the sheet's pixels, at a height of so many; white where there is no picture.
    fn row(&mut self, y: f64, out: &mut [u8], keep: u32) {
        let [fx, fy, fw] = self.map.map(|m| [m[0], m[1] * y + m[2]]);
        let [[left, right], [top, bottom]] = self.within;
        // Rounded up, so that 255 of it are whole.
        let keep = keep * (1 << 16) / 255 + 1;
        if let Some(level) = &mut self.level {
            let at = fy[1] / fw[1];
            if at >= top && at <= bottom {
                level.row(&self.pixels, self.across, at, out, keep);
            }
            return;
        }
        for (i, value) in out.iter_mut().enumerate() {
            let x = i as f64 + 0.5;
            let w = 1.0 / (fw[0] * x + fw[1]);
            let (u, v) = ((fx[0] * x + fx[1]) * w, (fy[0] * x + fy[1]) * w);
            if u >= left && v >= top && u <= right && v <= bottom {
                *value = shown(self.between(u, v), keep);
            }
        }
    }

    /// The value at a place, with [`DROPPED`] bits behind it.
    fn between(&self, u: f64, v: f64) -> i32 {
        let (x, y) = (u as usize, v as usize);
        let phase = |at: f64, whole: usize| ((at - whole as f64) * PHASES as f64) as usize & (PHASES - 1);
        let none = [0; 4];
        let wx = self.phases.get(phase(u, x)).unwrap_or(&none);
        let wy = self.phases.get(phase(v, y)).unwrap_or(&none);
        let mut at = y.saturating_sub(1) * self.across + x.saturating_sub(1);
        let mut sum = 0;
        for weight in wy {
            sum += read(&self.pixels, at, wx) * i32::from(*weight);
            at += self.across;
        }
        sum
    }

    /// Where rows run along those of the pixels.
    fn find_level(&self, width: usize) -> Option<Level> {
        let [fx, fy, fw] = self.map;
        if fx[1] != 0.0 || fy[0] != 0.0 || fw[0] != 0.0 || fw[1] != 0.0 {
            return None;
        }
        let [left, right] = self.within[0];
        let at = (0..width).map(|i| (fx[0] * (i as f64 + 0.5) + fx[2]) / fw[2]);
        let inside = |u: &f64| *u >= left && *u <= right;
        let first = at.clone().position(|u| inside(&u)).unwrap_or(width);
        let taps: Vec<_> =
            at.filter(inside).map(|u| ((u as u32).saturating_sub(1), weights(u - libm::floor(u)))).collect();
        let rows = std::array::from_fn(|_| vec![0; taps.len()]);
        Some(Level { first, taps, rows, held: [usize::MAX; 4] })
    }
}

impl Level {
    /// A row at this height among the pixels' rows.
    fn row(&mut self, pixels: &[u8], across: usize, at: f64, out: &mut [u8], keep: u32) {
        let top = (at as usize).saturating_sub(1);
        for y in top..top + 4 {
            let (Some(held), Some(row)) = (self.held.get_mut(y % 4), self.rows.get_mut(y % 4)) else {
                return;
            };
            let pixels = pixels.get(y * across..(y + 1) * across).unwrap_or(&[]);
            if std::mem::replace(held, y) != y {
                for (value, (x, weights)) in row.iter_mut().zip(&self.taps) {
                    *value = read(pixels, *x as usize, weights) as i16;
                }
            }
        }
        let [a, b, c, d] = [0, 1, 2, 3].map(|j| self.rows[(top + j) % 4].as_slice());
        let w = weights(at - libm::floor(at)).map(i32::from);
        let Some(out) = out.get_mut(self.first..self.first + self.taps.len()) else { return };
        for ((((value, a), b), c), d) in out.iter_mut().zip(a).zip(b).zip(c).zip(d) {
            // Written out: an array's `map` stays a call where code is to be small.
            let one = |v: &i16, w: i32| i32::from(*v) * w;
            *value = shown(one(a, w[0]) + one(b, w[1]) + one(c, w[2]) + one(d, w[3]), keep);
        }
    }
}

/// Four pixels of a row from `at` on, weighed.
#[inline(always)]
fn read(pixels: &[u8], at: usize, weights: &[i16; 4]) -> i32 {
    let [a, b, c, d] = pixels.get(at..).and_then(|p| p.first_chunk()).unwrap_or(&[255; 4]);
    let [wa, wb, wc, wd] = weights;
    let one = |p: &u8, w: &i16| i32::from(*p) * i32::from(*w);
    (one(a, wa) + one(b, wb) + one(c, wc) + one(d, wd)) >> DROPPED[0]
}

/// A value as it is shown: so much of its darkness (of 1 << 16) is kept. Past either end cubic convolution overshoots.
#[inline(always)]
fn shown(sum: i32, keep: u32) -> u8 {
    let value = ((sum + (1 << (DROPPED[1] - 1))) >> DROPPED[1]).clamp(0, 255);
    (255 - (((255 - value) as u32 * keep) >> 16)) as u8
}

/// The four weights about a place `t` past the second; their sum is [`ONE`].
fn weights(t: f64) -> [i16; 4] {
    let (t2, t3) = (t * t, t * t * t);
    let of = |v: f64| libm::rint(v * f64::from(ONE)) as i32;
    let (a, c, d) =
        (of(-0.5 * t3 + t2 - 0.5 * t), of(-1.5 * t3 + 2.0 * t2 + 0.5 * t), of(0.5 * t3 - 0.5 * t2));
    [a, ONE - a - c - d, c, d].map(|w| w as i16)
}

/// The pixels with their border's going on by [`AROUND`] all round; what was a row is a column where they `swap`.
fn around(pixels: &[u8], [across, down]: [usize; 2], swap: bool) -> Vec<u8> {
    let near = |i: usize, n: usize| i.saturating_sub(AROUND).min(n.max(1) - 1);
    let (w, h, along, aside) = if swap { (down, across, across, 1) } else { (across, down, 1, across) };
    let mut out = Vec::with_capacity((w + 2 * AROUND) * (h + 2 * AROUND));
    for y in 0..h + 2 * AROUND {
        let row = near(y, h) * aside;
        out.extend((0..w + 2 * AROUND).map(|x| pixels.get(row + near(x, w) * along).copied().unwrap_or(255)));
    }
    out
}

/// What is needed to show from `low` to `high`, in whole squares of the paper's tone and with one more all round, so that neighbours' sheets
/// see the same tone; within the picture.
fn window(low: [f64; 2], high: [f64; 2], size: [u32; 2], reduce: u32) -> Option<Window> {
    // A whole number of squares and of what is averaged.
    let grain = f64::from(SQUARE * reduce);
    let side = |axis: usize| {
        let most = f64::from(size[axis]);
        let from = (libm::floor(low[axis] / grain) - 1.0).max(0.0) * grain;
        let to = ((libm::ceil(high[axis] / grain) + 1.0) * grain).min(most);
        (from < to && low[axis] < most && high[axis] > 0.0).then_some((from as u32, (to - from) as u32))
    };
    let ((x, width), (y, height)) = (side(0)?, side(1)?);
    Some(Window { x, y, width, height })
}

/// Each `k` × `k` pixels as one; those cut off at the border are averaged over what there is.
fn reduced(pixels: &[u8], w: usize, h: usize, k: usize) -> Vec<u8> {
    if k <= 1 {
        return pixels.to_vec();
    }
    let across = w.div_ceil(k);
    let mut out = Vec::with_capacity(across * h.div_ceil(k));
    for rows in pixels.chunks(w.max(1) * k) {
        let mut sums = vec![(0_u32, 0_u32); across];
        for row in rows.chunks(w.max(1)) {
            for (few, (sum, n)) in row.chunks(k).zip(&mut sums) {
                *sum += few.iter().map(|p| u32::from(*p)).sum::<u32>();
                *n += few.len() as u32;
            }
        }
        out.extend(sums.iter().map(|(sum, n)| ((sum + n / 2) / (*n).max(1)) as u8));
    }
    out
}

/// Drawn lines alone: what is clearly darker than the paper about it is black, what is nearly as light is white.
fn lines(pixels: &[u8], w: usize, h: usize) -> Vec<u8> {
    let side = SQUARE as usize;
    let (across, down) = (w.div_ceil(side), h.div_ceil(side));
    let mut counts = vec![[0_u32; 256]; across * down];
    for (y, row) in pixels.chunks(w.max(1)).enumerate() {
        for (x, part) in row.chunks(side).enumerate() {
            let count = &mut counts[y / side * across + x];
            part.iter().for_each(|p| count[usize::from(*p)] += 1);
        }
    }
    let own: Vec<u8> = counts.iter().map(paper_tone).collect();
    // A square that is all ink takes the tone of its neighbours.
    let tone = |x: usize, y: usize| {
        let near = |v: usize, n: usize| v.saturating_sub(1)..(v + 2).min(n);
        let all = near(y, down).flat_map(|j| near(x, across).map(move |i| (i, j)));
        all.map(|(i, j)| own[j * across + i]).max().unwrap_or(255)
    };
    let tones: Vec<f32> = (0..down)
        .flat_map(|y| (0..across).map(move |x| (x, y)))
        .map(|(x, y)| f32::from(tone(x, y).max(DARKEST)))
        .collect();
    let mut out = Vec::with_capacity(pixels.len());
    for (y, row) in pixels.chunks(w.max(1)).enumerate() {
        for (x, part) in row.chunks(side).enumerate() {
            let tone = tones[y / side * across + x];
            out.extend(part.iter().map(|p| {
                let dark = (1.0 - f32::from(*p) / tone - INK[0]) / (INK[1] - INK[0]);
                255 - (dark.clamp(0.0, 1.0) * 255.0 + 0.5) as u8
            }));
        }
    }
    out
}

/// The tone that nine in ten pixels are no lighter than.
fn paper_tone(counts: &[u32; 256]) -> u8 {
    let all: u32 = counts.iter().sum();
    let mut below = 0;
    for (value, count) in (0_u8..=255).zip(counts) {
        below += count;
        if below * 10 >= all * 9 {
            return value;
        }
    }
    255
}
