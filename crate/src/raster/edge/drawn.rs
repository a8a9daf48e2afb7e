//! Pictures for tests, drawn by area coverage: finely sampled, blurred, made coarse, with noise.

use crate::raster::luma::{Luma, Window};

/// Samples to a px, each way.
const FINE: usize = 4;

/// A picture of tones from 0 to 255 given at every place; `blur` is the σ of the lens, px, and `noise` that of the
/// pixels, grey levels.
pub(super) fn drawn(
    width: usize,
    height: usize,
    blur: f64,
    noise: f64,
    seed: u64,
    tone: impl Fn(f64, f64) -> f64,
) -> Luma {
    let (wide, high) = (width * FINE, height * FINE);
    let place = |i: usize| (i as f64 + 0.5) / FINE as f64;
    let mut fine: Vec<f64> = (0..wide * high).map(|i| tone(place(i % wide), place(i / wide))).collect();
    let reach = (blur * FINE as f64 * 4.5) as i64;
    let weights: Vec<f64> =
        (-reach..=reach).map(|i| (-0.5 * (i as f64 / (blur * FINE as f64)).powi(2)).exp()).collect();
    let whole: f64 = weights.iter().sum();
    for (stride, long) in [(1, wide), (wide, high)] {
        let source = fine.clone();
        for (i, to) in fine.iter_mut().enumerate() {
            let at = (i / stride % long) as i64;
            *to = (-reach..=reach)
                .zip(&weights)
                .map(|(k, w)| {
                    let from = (at + k).clamp(0, long as i64 - 1) - at;
                    w / whole * source[(i as i64 + from * stride as i64) as usize]
                })
                .sum();
        }
    }
    let mut coin = Coin(seed);
    let mut pixels = Vec::with_capacity(width * height * 4);
    for y in 0..height {
        for x in 0..width {
            let cell = (0..FINE * FINE).map(|k| fine[(y * FINE + k / FINE) * wide + x * FINE + k % FINE]);
            let value = cell.sum::<f64>() / (FINE * FINE) as f64 + noise * coin.normal();
            let byte = value.round().clamp(0.0, 255.0) as u8;
            pixels.extend([byte, byte, byte, 255]);
        }
    }
    let mut luma = Luma::new(width as u32, height as u32).expect("fits");
    luma.set_tile(Window { x: 0, y: 0, width: width as u32, height: height as u32 }, &pixels)
        .expect("within");
    luma
}

/// Numbers by chance, the same every time.
pub(super) struct Coin(pub u64);

impl Coin {
    /// Evenly from 0 to 1.
    pub fn even(&mut self) -> f64 {
        // SplitMix64: Steele, Lea & Flood, OOPSLA 2014, p. 453.
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Normal, σ 1 (Box and Muller).
    pub fn normal(&mut self) -> f64 {
        let (a, b) = (1.0 - self.even(), self.even());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}
