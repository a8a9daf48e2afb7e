//! The picture on one sheet: turned square-on, at full size, as grey pixels.
//!
//! Where a pixel of the sheet covers several of the picture, those are averaged first (by the nearest whole number of them, both
//! ways); between pixels it is read by cubic convolution.
//!
//! # References
//! Keys, "Cubic convolution interpolation for digital image processing", IEEE ASSP 29 (1981) 1153, a = −1/2.

use super::draw::Ink;
use super::jpeg::Jpeg;
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
    /// What was given, reduced.
    pixels: Vec<u8>,
    across: usize,
    jpeg: Option<Jpeg>,
    row: usize,
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
        let pixels = |mm: f64| libm::ceil(mm / MM_PER_INCH * DPI).max(1.0).min(MOST);
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
        let reduce = libm::round(coarse).max(1.0).min(64.0) as u32;
        let window = window(low, high, size, reduce)?;
        let across = window.width.div_ceil(reduce) as usize;
        let (width, height) = (width as usize, height as usize);
        Some(Shot {
            width,
            height,
            map: *map.rows(),
            size,
            window,
            reduce,
            ink,
            pixels: Vec::new(),
            across,
            jpeg: None,
            row: 0,
        })
    }

    /// Which part of the picture it needs; nothing once it has it.
    pub fn wants(&self) -> Option<Window> {
        self.jpeg.is_none().then_some(self.window)
    }

    /// Takes the luminance of that part, row by row.
    pub fn give(&mut self, luma: &[u8]) {
        let [w, h] = [self.window.width as usize, self.window.height as usize];
        if luma.len() != w * h || self.jpeg.is_some() {
            return;
        }
        let inked = match self.ink {
            Ink::Lines => Some(lines(luma, w, h)),
            Ink::Grey => None,
        };
        self.pixels = reduced(inked.as_deref().unwrap_or(luma), w, h, self.reduce as usize);
        let [width, height] = [self.width, self.height].map(|v| u16::try_from(v).unwrap_or(u16::MAX));
        self.jpeg = Some(Jpeg::new(width, height, QUALITY));
    }

    /// Rows done and in all.
    pub fn progress(&self) -> [usize; 2] {
        [self.row, self.height]
    }

    /// Makes the next eight rows; the picture once all are made.
    pub fn step(&mut self) -> Option<Image> {
        let rows = (self.height - self.row).min(8);
        let mut band = Vec::with_capacity(rows * self.width);
        for row in self.row..self.row + rows {
            self.line(row, &mut band);
        }
        self.row += rows;
        let jpeg = self.jpeg.as_mut()?;
        jpeg.band(&band);
        if self.row < self.height {
            return None;
        }
        let jpeg = self.jpeg.take()?.finish();
        self.pixels = Vec::new();
        Some(Image { width: self.width as u32, height: self.height as u32, jpeg })
    }

    /// One row of the sheet's pixels.
    fn line(&self, row: usize, out: &mut Vec<u8>) {
        let y = row as f64 + 0.5;
        let [fx, fy, fw] = self.map.map(|m| [m[0], m[1] * y + m[2]]);
        let [right, below] = self.size.map(f64::from);
        let (k, wx, wy) = (1.0 / f64::from(self.reduce), f64::from(self.window.x), f64::from(self.window.y));
        for i in 0..self.width {
            let x = i as f64 + 0.5;
            let w = 1.0 / (fw[0] * x + fw[1]);
            let (u, v) = ((fx[0] * x + fx[1]) * w, (fy[0] * x + fy[1]) * w);
            let value = if u >= 0.0 && v >= 0.0 && u <= right && v <= below {
                self.cubic((u - wx) * k - 0.5, (v - wy) * k - 0.5)
            } else {
                255
            };
            out.push(match self.ink {
                Ink::Grey => (255 - (255 - value) * KEPT / 255) as u8,
                Ink::Lines => value as u8,
            });
        }
    }

    /// The value at a place among the reduced pixels, whose centres are whole numbers.
    fn cubic(&self, x: f64, y: f64) -> u32 {
        let (left, top) = (libm::floor(x), libm::floor(y));
        let (wx, wy) = (weights((x - left) as f32), weights((y - top) as f32));
        let (left, top) = (left as i64 - 1, top as i64 - 1);
        let down = (self.pixels.len() / self.across.max(1)) as i64;
        let across = self.across as i64;
        let inside = left >= 0 && top >= 0 && left + 3 < across && top + 3 < down;
        let mut sum = 0.0;
        for (j, weight) in (0..).zip(wy) {
            let line = (top + j).min(down - 1).max(0) * across;
            let four = if inside {
                let at = (line + left) as usize;
                self.pixels.get(at..at + 4).map_or([255; 4], |p| [p[0], p[1], p[2], p[3]])
            } else {
                [0, 1, 2, 3].map(|i| {
                    let at = line + (left + i).min(across - 1).max(0);
                    self.pixels.get(at as usize).copied().unwrap_or(255)
                })
            };
            let part: f32 = four.iter().zip(wx).map(|(p, w)| f32::from(*p) * w).sum();
            sum += part * weight;
        }
        // Past either end cubic convolution overshoots.
        (sum + 0.5).max(0.0).min(255.0) as u32
    }
}

/// The four weights about a place `t` past the second.
fn weights(t: f32) -> [f32; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [-0.5 * t3 + t2 - 0.5 * t, 1.5 * t3 - 2.5 * t2 + 1.0, -1.5 * t3 + 2.0 * t2 + 0.5 * t, 0.5 * t3 - 0.5 * t2]
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
                255 - (dark.max(0.0).min(1.0) * 255.0 + 0.5) as u8
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
