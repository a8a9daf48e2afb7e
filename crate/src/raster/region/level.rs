//! What counts as dark: a level that follows the light across the picture.

use super::bits::Bits;
use crate::raster::luma::Luma;

/// Side of a tile, px: a word of [`Bits`] wide.
const TILE: usize = 64;
/// The least difference in tone that is looked at, in steps of 255.
const LEAST: f64 = 14.0;
/// A difference counts as one above this many standard deviations of a pixel's noise.
const SURE: f64 = 5.0;
/// A tile with less than this share of the picture's strong differences tells nothing of the level.
const SHARE: f64 = 0.35;
/// Noise more than one part in this many of the difference is worth smoothing away first.
const CALM: f64 = 14.0;

/// The level between dark and light all over a picture.
#[derive(Debug)]
pub(super) struct Level {
    across: usize,
    levels: Vec<f64>,
    /// The usual difference between dark and light, in steps of 255.
    pub(super) contrast: f64,
    /// Standard deviation of a pixel's noise, in steps of 255.
    pub(super) noise: f64,
}

/// What one tile says: dark and light tone, and how sure it is.
#[derive(Clone, Copy, Default)]
struct Tones {
    dark: f64,
    light: f64,
    sure: f64,
}

impl Level {
    /// Looks at a quarter of the pixels. Nothing where no two tones stand apart.
    pub(super) fn of(luma: &Luma) -> Option<Level> {
        let noise = noise(luma);
        let (across, down) = tiles(luma);
        let mut tones: Vec<Tones> = Vec::with_capacity(across * down);
        for tile_y in 0..down {
            for tile_x in 0..across {
                tones.push(two_tones(&histogram(luma, tile_x, tile_y), noise));
            }
        }
        let mut differences: Vec<f64> = Vec::new();
        differences.extend(tones.iter().map(|t| t.light - t.dark).filter(|d| *d > 0.0));
        let contrast = quantile(&mut differences, 0.9)?;
        let sure = |t: &Tones| if t.light - t.dark >= SHARE * contrast { t.sure } else { 0.0 };
        let weighed = tones.iter().map(|t| [sure(t) * (t.dark + t.light) / 2.0, sure(t)]).collect();
        Some(Level { across, levels: spread(weighed, across, down), contrast, noise })
    }

    /// A picture of what is dark.
    pub(super) fn dark(&self, luma: &Luma) -> Bits {
        let (width, height) = (luma.width() as usize, luma.height() as usize);
        let mut out = Bits::new(width, height);
        let smooth = self.noise * CALM > self.contrast;
        let mut calmed = vec![0; width];
        let mut padded = vec![255; width.div_ceil(64) * 64];
        let mut levels = vec![0.0; self.across];
        for y in 0..height {
            let own = row_of(luma, y);
            let row = if smooth {
                let (above, below) =
                    (row_of(luma, y.saturating_sub(1)), row_of(luma, (y + 1).min(height - 1)));
                calm(above, own, below, &mut calmed);
                &calmed
            } else {
                own
            };
            if let Some(to) = padded.get_mut(..width) {
                to.copy_from_slice(row);
            }
            self.levels_of_row(y, &mut levels);
            for (i, (word, pixels)) in out.row_mut(y).iter_mut().zip(padded.as_chunks::<64>().0).enumerate() {
                *word = darker(pixels, |eighth| between(&levels, i, eighth));
            }
        }
        out
    }

    /// The level at the middles of a row of tiles, for row `y` of the picture.
    fn levels_of_row(&self, y: usize, out: &mut [f64]) {
        let down = self.levels.len() / self.across.max(1);
        let at = ((y as f64 + 0.5) / TILE as f64 - 0.5).max(0.0).min((down - 1) as f64);
        let upper = (at as usize).min(down.saturating_sub(2));
        let share = at - upper as f64;
        for (x, level) in out.iter_mut().enumerate() {
            let tile =
                |row: usize| self.levels.get(row.min(down - 1) * self.across + x).copied().unwrap_or(0.0);
            *level = tile(upper) * (1.0 - share) + tile(upper + 1) * share;
        }
    }
}

/// How many tiles there are across and down.
fn tiles(luma: &Luma) -> (usize, usize) {
    ((luma.width() as usize).div_ceil(TILE), (luma.height() as usize).div_ceil(TILE))
}

/// One row's values.
fn row_of(luma: &Luma, y: usize) -> &[u8] {
    let width = luma.width() as usize;
    luma.values().get(y * width..(y + 1) * width).unwrap_or(&[])
}

/// The level in an eighth of tile `i`, mixed from the middles of the tiles beside it.
fn between(levels: &[f64], i: usize, eighth: usize) -> u8 {
    let at = i as f64 + (eighth as f64 + 0.5) / 8.0 - 0.5;
    let left = (at.max(0.0) as usize).min(levels.len().saturating_sub(2));
    let share = (at - left as f64).clamp(0.0, 1.0);
    let tile = |x: usize| levels.get(x.min(levels.len() - 1)).copied().unwrap_or(0.0);
    (tile(left) * (1.0 - share) + tile(left + 1) * share + 0.5).clamp(0.0, 255.0) as u8
}

/// A bit for each of 64 pixels that lies under the level of its eighth; eight pixels at a time in one word.
fn darker(pixels: &[u8; 64], level: impl Fn(usize) -> u8) -> u64 {
    const HIGH: u64 = 0x8080_8080_8080_8080;
    const EACH: u64 = 0x0101_0101_0101_0101;
    // Times this, the lowest bits of eight bytes come to stand side by side in the highest byte.
    const GATHER: u64 = 0x0102_0408_1020_4080;
    let mut word = 0;
    for (eighth, eight) in pixels.as_chunks::<8>().0.iter().enumerate() {
        let x = u64::from_le_bytes(*eight);
        let y = EACH * u64::from(level(eighth));
        // Bytewise x < y: by the lower seven bits where the highest agree, else by the highest.
        let not_less = (x | HIGH) - (y & !HIGH);
        let less = ((!x & y) | (!(x ^ y) & !not_less)) & HIGH;
        word |= ((less >> 7).wrapping_mul(GATHER) >> 56) << (8 * eighth);
    }
    word
}

/// A row smoothed with its neighbours: 1 2 1 both ways.
fn calm(above: &[u8], own: &[u8], below: &[u8], out: &mut [u8]) {
    let column = |i: usize| match (above.get(i), own.get(i), below.get(i)) {
        (Some(a), Some(b), Some(c)) => u16::from(*a) + 2 * u16::from(*b) + u16::from(*c),
        _ => 0,
    };
    let last = own.len().saturating_sub(1);
    let (mut before, mut here) = (column(0), column(0));
    for (i, to) in out.iter_mut().enumerate() {
        let next = column((i + 1).min(last));
        *to = ((before + 2 * here + next + 8) >> 4) as u8;
        (before, here) = (here, next);
    }
}

/// Standard deviation of a pixel's noise from a mask that lines and slopes don't pass: the median of its answers.
///
/// # References
/// Immerkær, Computer Vision and Image Understanding 64 (1996) 300, the mask; the median is ours, so that edges don't count.
fn noise(luma: &Luma) -> f64 {
    let (width, height) = (i64::from(luma.width()), i64::from(luma.height()));
    let step = (width * height / 60_000).max(1);
    let mut counts = [0u64; 4096];
    let mut at = step / 2;
    while at < width * height {
        let (x, y) = (at % width, at / width);
        let v = |dx, dy| i64::from(luma.at(x + dx, y + dy));
        let corners = v(-1, -1) + v(1, -1) + v(-1, 1) + v(1, 1);
        let sides = v(0, -1) + v(-1, 0) + v(1, 0) + v(0, 1);
        let answer = (corners - 2 * sides + 4 * v(0, 0)).unsigned_abs() as usize;
        if let Some(count) = counts.get_mut(answer.min(4095)) {
            *count += 1;
        }
        // No whole part of the width, so that the places don't stand in columns.
        at += step + (at / step) % 3;
    }
    let half = counts.iter().sum::<u64>() / 2;
    let mut sum = 0;
    let median = counts.iter().take_while(|n| {
        sum += **n;
        sum <= half
    });
    // The mask's own gain is 6; a normal deviation's median is 0.6745 of its standard deviation.
    (median.count() as f64 / 6.0 / 0.6745).max(0.5)
}

/// How often each tone is there, over a tile; every other pixel each way.
fn histogram(luma: &Luma, tile_x: usize, tile_y: usize) -> [u32; 256] {
    let mut counts = [0; 256];
    let (left, top) = (tile_x * TILE, tile_y * TILE);
    for y in (top..(top + TILE).min(luma.height() as usize)).step_by(2) {
        let row = row_of(luma, y);
        for value in row.get(left..(left + TILE).min(row.len())).unwrap_or(&[]).iter().step_by(2) {
            if let Some(count) = counts.get_mut(usize::from(*value)) {
                *count += 1;
            }
        }
    }
    counts
}

/// The two tones of a tile, parted where it spreads them furthest: by Otsu's rule, or where a little stands far off from
/// the bulk, which that rule misses.
///
/// # References
/// Otsu, IEEE Transactions on Systems, Man and Cybernetics 9 (1979) 62.
fn two_tones(counts: &[u32; 256], noise: f64) -> Tones {
    let all: u32 = counts.iter().sum();
    let total: f64 = counts.iter().enumerate().map(|(v, n)| v as f64 * f64::from(*n)).sum();
    let far = (SURE * noise).max(LEAST);
    let (mut below, mut sum, mut median) = (0, 0.0, None);
    let mut parted = [Tones::default(); 256];
    let mut best = (0.0, 0);
    for (value, count) in counts.iter().enumerate() {
        let mean = |sum: f64, n: u32| sum / f64::from(n.max(1));
        let (dark, light) = (mean(sum, below), mean(total - sum, all - below));
        let fewer = f64::from(below.min(all - below));
        if fewer >= 6.0 && light - dark > far {
            let spread = f64::from(below) * f64::from(all - below) * (light - dark) * (light - dark);
            parted[value] = Tones { dark, light, sure: (light - dark) * (light - dark) };
            if spread > best.0 {
                best = (spread, value);
            }
        }
        below += count;
        sum += value as f64 * f64::from(*count);
        if median.is_none() && below * 2 >= all {
            median = Some(value as f64);
        }
    }
    let median = median.unwrap_or(0.0);
    let tail = |value: f64| parted.get(value.clamp(0.0, 255.0) as usize).copied().unwrap_or_default();
    let known = [parted[best.1], tail(median - far), tail(median + far)];
    known.into_iter().fold(Tones::default(), |best, t| if t.sure > best.sure * 1.5 { t } else { best })
}

/// Values with weights, spread over tiles that have none: each scale down from the whole picture's mean is pulled by what it
/// knows itself.
fn spread(weighed: Vec<[f64; 2]>, across: usize, down: usize) -> Vec<f64> {
    if across <= 1 && down <= 1 {
        return weighed.iter().map(|[sum, weight]| sum / weight.max(f64::MIN_POSITIVE)).collect();
    }
    let (half_across, half_down) = (across.div_ceil(2), down.div_ceil(2));
    let mut halved = vec![[0.0; 2]; half_across * half_down];
    let known = weighed.iter().filter(|w| w[1] > 0.0).count().max(1) as f64;
    let trust = weighed.iter().map(|w| w[1]).sum::<f64>() / known / 4.0;
    for (i, w) in weighed.iter().enumerate() {
        if let Some(to) = halved.get_mut(i / across / 2 * half_across + i % across / 2) {
            *to = [to[0] + w[0], to[1] + w[1]];
        }
    }
    let coarse = spread(halved, half_across, half_down);
    let from = |i: usize| coarse.get(i / across / 2 * half_across + i % across / 2).copied().unwrap_or(0.0);
    weighed.iter().enumerate().map(|(i, w)| (w[0] + trust * from(i)) / (w[1] + trust)).collect()
}

/// The value that `share` of the list lies under; changes the list's order.
///
/// # References
/// Hoare, Communications of the ACM 4 (1961) 321 (algorithm 65, FIND): only the part that holds it is parted further.
pub(super) fn quantile(list: &mut [f64], share: f64) -> Option<f64> {
    let last = list.len().checked_sub(1)?;
    let wanted = ((list.len() as f64 * share) as usize).min(last);
    let (mut low, mut high) = (0, last);
    while low < high {
        let pivot = list[low.midpoint(high)];
        // What isn't more comes to stand before j, what isn't less from i on.
        let (mut i, mut j) = (low, high + 1);
        while i < j {
            if list[i].total_cmp(&pivot).is_lt() {
                i += 1;
            } else if list[j - 1].total_cmp(&pivot).is_gt() {
                j -= 1;
            } else {
                list.swap(i, j - 1);
                (i, j) = (i + 1, j - 1);
            }
        }
        match wanted {
            w if w < j => high = j - 1,
            w if w >= i => low = i,
            _ => break,
        }
    }
    list.get(wanted).copied()
}

#[cfg(test)]
mod tests {
    use super::quantile;
    use proptest::prelude::*;

    proptest! {
        /// Against a list put in order.
        #[test]
        fn a_quantile_is_the_one_in_order(list in prop::collection::vec(prop_oneof![-3.0..3.0_f64, Just(1.0), Just(-0.0), Just(0.0)], 0..60), share in 0.0..1.0_f64) {
            let mut sorted = list.clone();
            sorted.sort_by(f64::total_cmp);
            let at = ((list.len() as f64 * share) as usize).min(list.len().max(1) - 1);
            let got = quantile(&mut list.clone(), share);
            prop_assert_eq!(got.map(f64::to_bits), sorted.get(at).map(|v| v.to_bits()));
        }
    }
}
