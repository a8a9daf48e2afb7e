//! The luminance of a whole picture, one byte a pixel: what edges and corners are found in.

use crate::words::Say;

/// Weights of red, green and blue in luminance, in 1/32768: 0.2126, 0.7152, 0.0722.
///
/// # References
/// ITU-R BT.709-6 (2015), item 3.2. They are applied to encoded values as there (its Y′), not to light: an
/// edge's place within its pixel then depends on the transfer curve, which whoever finds edges must allow for.
const WEIGHTS: [u32; 3] = [6966, 23436, 2366];

/// A picture's luminance; rows from the top, no gaps.
#[derive(Clone, Debug, PartialEq)]
pub struct Luma {
    width: u32,
    height: u32,
    values: Vec<u8>,
}

/// A rectangle of whole pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// Its left column, px.
    pub x: u32,
    /// Its top row, px.
    pub y: u32,
    /// Columns.
    pub width: u32,
    /// Rows.
    pub height: u32,
}

impl Luma {
    /// A picture of this size, black so far.
    ///
    /// # Errors
    /// As [`super::fits`]; `picture.no-room` when memory is not to be had.
    pub fn new(width: u32, height: u32) -> Result<Luma, Say> {
        super::fits(width, height)?;
        let length = width as usize * height as usize;
        let mut values = Vec::new();
        values.try_reserve_exact(length).map_err(|_| Say::new("picture.no-room"))?;
        values.resize(length, 0);
        Ok(Luma { width, height, values })
    }

    /// Columns, px.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Rows, px.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// All values, row by row.
    pub fn values(&self) -> &[u8] {
        &self.values
    }

    /// Takes whole rows from `y0` down. `rgba`: four bytes a pixel, not premultiplied.
    ///
    /// # Errors
    /// `picture.outside` when `rgba` is no whole number of rows or reaches beyond the picture.
    pub fn set_band(&mut self, y0: u32, rgba: &[u8]) -> Result<(), Say> {
        let row = self.width as usize * 4;
        let height = u32::try_from(rgba.len() / row).map_err(|_| Say::new("picture.outside"))?;
        self.set_tile(Window { x: 0, y: y0, width: self.width, height }, rgba)
    }

    /// Takes a rectangle of pixels, laid on white where they are see-through.
    /// `rgba`: four bytes a pixel, row by row, not premultiplied.
    ///
    /// # Errors
    /// `picture.outside` when the rectangle is not within the picture or `rgba` doesn't fill it.
    pub fn set_tile(&mut self, to: Window, rgba: &[u8]) -> Result<(), Say> {
        let width = to.width as usize;
        if !self.holds(to) || rgba.len() != width * to.height as usize * 4 {
            return Err(Say::new("picture.outside"));
        }
        for (row, pixels) in (to.y..).zip(rgba.chunks_exact((width * 4).max(1))) {
            let Some(values) = self.row_mut(row, to.x, width) else {
                return Err(Say::new("picture.outside"));
            };
            let (pixels, _) = pixels.as_chunks::<4>();
            for (value, pixel) in values.iter_mut().zip(pixels) {
                *value = luminance(*pixel);
            }
        }
        Ok(())
    }

    /// A copy of a rectangle, row by row.
    ///
    /// # Errors
    /// `picture.outside` when it is not within the picture.
    pub fn window(&self, window: Window) -> Result<Vec<u8>, Say> {
        if !self.holds(window) {
            return Err(Say::new("picture.outside"));
        }
        let (left, right) = (window.x as usize, window.x as usize + window.width as usize);
        let rows = self.values.chunks_exact(self.width as usize);
        let rows = rows.skip(window.y as usize).take(window.height as usize);
        Ok(rows.filter_map(|row| row.get(left..right)).flatten().copied().collect())
    }

    /// The value of the pixel in column `x` and row `y`; beyond the border, that of the nearest pixel.
    pub fn at(&self, x: i64, y: i64) -> u8 {
        let x = x.clamp(0, i64::from(self.width) - 1);
        let y = y.clamp(0, i64::from(self.height) - 1);
        let at = usize::try_from(y * i64::from(self.width) + x).unwrap_or(0);
        self.values.get(at).copied().unwrap_or(0)
    }

    fn holds(&self, w: Window) -> bool {
        let within =
            |from: u32, length: u32, side: u32| from.checked_add(length).is_some_and(|end| end <= side);
        within(w.x, w.width, self.width) && within(w.y, w.height, self.height)
    }

    fn row_mut(&mut self, row: u32, left: u32, width: usize) -> Option<&mut [u8]> {
        let from = row as usize * self.width as usize + left as usize;
        self.values.get_mut(from..from + width)
    }
}

/// The luminance of one pixel laid on white, rounded to the nearest whole value.
pub(super) fn luminance([r, g, b, a]: [u8; 4]) -> u8 {
    let [wr, wg, wb] = WEIGHTS;
    let own = wr * u32::from(r) + wg * u32::from(g) + wb * u32::from(b);
    let value = if a == 255 {
        (own + (1 << 14)) >> 15
    } else {
        let a = u32::from(a);
        // 255 × 255 × 2^15 is under 2^32, so nothing overflows.
        (own * a + (255 - a) * (255 << 15) + (255 << 14)) / (255 << 15)
    };
    u8::try_from(value).unwrap_or(u8::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn check(pixel: [u8; 4], expected: u8) {
        assert_eq!(luminance(pixel), expected, "{pixel:?}");
    }

    /// Expected: round(0.2126 R + 0.7152 G + 0.0722 B) by hand from ITU-R BT.709-6, laid on white by
    /// value × a/255 + 255 × (1 − a/255).
    #[test]
    fn weighs_red_green_and_blue() {
        for (pixel, expected) in [
            ([0, 0, 0, 255], 0),
            ([255, 255, 255, 255], 255),
            ([255, 0, 0, 255], 54),
            ([0, 255, 0, 255], 182),
            ([0, 0, 255, 255], 18),
            ([128, 128, 128, 255], 128),
            ([10, 200, 30, 255], 147),
            ([0, 0, 0, 0], 255),
            ([0, 0, 0, 128], 127),
            ([255, 0, 0, 51], 215),
        ] {
            check(pixel, expected);
        }
    }

    #[test]
    fn tiles_and_bands_make_the_same_picture() {
        let pixels: Vec<u8> = (0..7 * 5 * 4).map(|i| (i * 37 % 256) as u8).collect();
        let mut bands = Luma::new(7, 5).expect("fits");
        bands.set_band(0, &pixels[..7 * 2 * 4]).expect("within");
        bands.set_band(2, &pixels[7 * 2 * 4..]).expect("within");
        let mut tiles = Luma::new(7, 5).expect("fits");
        for (x, width) in [(0, 4), (4, 3)] {
            let part: Vec<u8> =
                pixels.chunks(28).flat_map(|row| row[x * 4..(x + width) * 4].to_vec()).collect();
            let window = Window { x: x as u32, y: 0, width: width as u32, height: 5 };
            tiles.set_tile(window, &part).expect("within");
        }
        assert_eq!(bands, tiles);
        let expected = luminance([pixels[92], pixels[93], pixels[94], pixels[95]]);
        assert_eq!(bands.window(Window { x: 2, y: 3, width: 1, height: 1 }), Ok(vec![expected]));
        assert_eq!(bands.at(2, 3), expected);
        assert_eq!(bands.at(-9, 99), bands.at(0, 4));
    }

    #[test]
    fn refuses_what_is_outside_or_too_large() {
        let mut luma = Luma::new(10, 4).expect("fits");
        let outside = Err(Say::new("picture.outside"));
        assert_eq!(luma.set_band(3, &[0; 80]), outside);
        assert_eq!(luma.set_band(0, &[0; 41]), outside);
        assert_eq!(luma.set_tile(Window { x: u32::MAX, y: 0, width: 2, height: 1 }, &[0; 8]), outside);
        assert_eq!(luma.set_tile(Window { x: 0, y: 0, width: 2, height: 1 }, &[0; 7]), outside);
        assert!(luma.window(Window { x: 9, y: 0, width: 2, height: 1 }).is_err());
        for (width, height, key) in [
            (0, 5, "picture.no-size"),
            (40_001, 1, "picture.too-large"),
            (12_000, 10_001, "picture.too-large"),
        ] {
            assert_eq!(Luma::new(width, height).map_err(|say| say.key.into_owned()), Err(key.to_owned()));
        }
        assert!(Luma::new(30_000, 100).is_ok());
    }

    proptest! {
        /// No rounding goes further than half a step from the weights' exact sum.
        #[test]
        fn is_the_nearest_value(r: u8, g: u8, b: u8) {
            let exact = 0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b);
            prop_assert!((f64::from(luminance([r, g, b, 255])) - exact).abs() < 0.506);
        }

        #[test]
        fn never_panics(x: u32, y: u32, width in 0u32..2000, height in 0u32..2000, length in 0usize..4000) {
            let mut luma = Luma::new(20, 30).expect("fits");
            let window = Window { x: x % 25, y: y % 35, width: width % 30, height: height % 40 };
            let _ = luma.set_tile(window, &vec![7; length]);
            let _ = luma.set_band(y, &vec![7; length]);
            let _ = luma.window(Window { x, y, width, height });
        }
    }
}
