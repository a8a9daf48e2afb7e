//! Colour where luminance shows nothing: a small window of it, as one more [`Luma`].
//!
//! The mill keeps no colour, only luminance. Two colours that are equally light have no edge there; then a window of the
//! picture's colour is looked at along the one direction in which its colours differ most, with lightness taken out.

use super::luma::{Luma, Window, luminance};

/// Colours that differ by less than this from their mean, in steps of 255, are noise, or a grey picture as a JPEG has it.
const LEAST: f64 = 2.0;
/// Grey levels to a step of colour: the farthest apart, blue and yellow, are 476 steps apart.
const SCALE: f64 = 0.5;

/// `rgba` (four bytes a pixel, row by row, not premultiplied) in the direction in which its colours differ most; nothing where
/// there is no colour to speak of, or the bytes don't fill the window.
///
/// # References
/// Principal axis: Pearson, Philosophical Magazine 2 (1901) 559.
pub fn along_colours(window: Window, rgba: &[u8]) -> Option<Luma> {
    let (pixels, rest) = rgba.as_chunks::<4>();
    if !rest.is_empty() || pixels.len() != window.width as usize * window.height as usize {
        return None;
    }
    let axis = principal(pixels)?;
    let along = |pixel: &[u8; 4]| {
        let c = tint(*pixel);
        c[0] * axis[0] + c[1] * axis[1] + c[2] * axis[2]
    };
    let mut low = f64::MAX;
    for pixel in pixels {
        low = low.min(along(pixel));
    }
    // A grey level is the same on all three.
    let grey = |pixel: &[u8; 4]| ((along(pixel) - low) * SCALE + 0.5) as u8;
    let mut shown = Vec::with_capacity(rgba.len());
    for pixel in pixels {
        let value = grey(pixel);
        shown.extend_from_slice(&[value, value, value, 255]);
    }
    let mut luma = Luma::new(window.width, window.height).ok()?;
    luma.set_band(0, &shown).ok()?;
    Some(luma)
}

/// A pixel's colour less its lightness.
fn tint(pixel: [u8; 4]) -> [f64; 3] {
    let light = f64::from(luminance(pixel));
    let [r, g, b, a] = pixel.map(f64::from);
    // On white, as luminance is.
    [r, g, b].map(|v| (v * a + 255.0 * (255.0 - a)) / 255.0 - light)
}

/// The direction of the greatest variance of tints.
fn principal(pixels: &[[u8; 4]]) -> Option<[f64; 3]> {
    let n = pixels.len() as f64;
    let (mut sum, mut squares) = ([0.0; 3], [[0.0; 3]; 3]);
    for pixel in pixels {
        let c = tint(*pixel);
        for i in 0..3 {
            sum[i] += c[i];
            for k in 0..3 {
                squares[i][k] += c[i] * c[k];
            }
        }
    }
    let mut m = [[0.0; 3]; 3];
    for i in 0..3 {
        for k in 0..3 {
            m[i][k] = squares[i][k] / n - sum[i] / n * (sum[k] / n);
        }
    }
    let all = m[0][0] + m[1][1] + m[2][2];
    if !(all > LEAST * LEAST) {
        return None;
    }
    // Squared again and again, of the matrix only its greatest direction is left: each column points along it.
    for _ in 0..6 {
        let size = m[0][0] + m[1][1] + m[2][2];
        let old = m.map(|row| row.map(|v| v / size));
        for i in 0..3 {
            for k in 0..3 {
                m[i][k] = (0..3).map(|j| old[i][j] * old[j][k]).sum();
            }
        }
    }
    let longest = (0..3).fold(0, |best, i| if m[i][i] > m[best][best] { i } else { best });
    let size = m[longest].iter().map(|v| v * v).sum::<f64>().sqrt();
    (size > 0.0).then(|| m[longest].map(|v| v / size))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn window(width: u32, height: u32) -> Window {
        Window { x: 0, y: 0, width, height }
    }

    #[test]
    fn colours_that_are_equally_light_stand_apart() {
        // 0.2126·200 + 0.7152·60 + 0.0722·60 = 89.8; 0.2126·35 + 0.7152·109 + 0.0722·60 = 89.7, by hand.
        let (red, green) = ([200, 60, 60, 255], [35, 109, 60, 255]);
        assert_eq!(luminance(red), luminance(green));
        let pixels: Vec<u8> = (0..64).flat_map(|i| if i % 8 < 4 { red } else { green }).collect();
        let luma = along_colours(window(8, 8), &pixels).expect("two colours");
        let apart = i32::from(luma.at(0, 0)) - i32::from(luma.at(7, 0));
        // Half of √(165² + 49²) = 172.1.
        assert!((apart.abs() - 86).abs() <= 1, "{apart}");
        assert_eq!(luma.at(1, 3), luma.at(2, 5));
    }

    #[test]
    fn the_farthest_colours_fit_and_grey_has_none() {
        let pixels: Vec<u8> = [[0, 0, 255, 255], [255, 255, 0, 255]].concat().repeat(32);
        let luma = along_colours(window(8, 8), &pixels).expect("two colours");
        assert!(luma.at(0, 0).abs_diff(luma.at(1, 0)) > 230);
        let grey: Vec<u8> = (0..64u8).flat_map(|i| [i * 4, i * 4, i * 4, 255]).collect();
        assert_eq!(along_colours(window(8, 8), &grey), None);
        assert_eq!(along_colours(window(8, 8), &pixels[1..]), None);
        assert_eq!(along_colours(window(0, 0), &[]), None);
    }
}
