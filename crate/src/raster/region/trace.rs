//! Rings along the sides of pixels, round what is in.
//!
//! # References
//! Suzuki & Abe, Computer Vision, Graphics, and Image Processing 30 (1985) 32: borders outer and inner. Here along the
//! pixels' sides, so that a ring lies on the border and not half a pixel within it.

use super::bits::Bits;
use super::ring::Place;

/// The ring round the part that holds the topmost pixel in: the middle of each pixel side along it, what is in on the right
/// hand as one goes (clockwise as seen, y being down).
/// Pixels that meet only at a corner are not joined.
pub(super) fn outer_ring(bits: &Bits) -> Vec<Place> {
    let Some((x, y)) = topmost(bits) else { return Vec::new() };
    ring_from(bits, x, y)
}

/// The first pixel in, reading.
fn topmost(bits: &Bits) -> Option<(i64, i64)> {
    (0..bits.height()).find_map(|y| {
        let (i, word) = bits.row(y).iter().enumerate().find(|(_, word)| **word != 0)?;
        Some(((i * 64) as i64 + i64::from(word.trailing_zeros()), y as i64))
    })
}

/// Goes round from the upper side of pixel (x, y), going right.
fn ring_from(bits: &Bits, x: i64, y: i64) -> Vec<Place> {
    // The corner one stands on and the step one goes by; what is in lies to the right of the step.
    let (mut corner, mut step) = ([x, y], [1i64, 0i64]);
    let start = (corner, step);
    let mut ring = Vec::new();
    // No ring has more sides than the picture's pixels have.
    let most = 4 * bits.width() * bits.height() + 4;
    while ring.len() < most {
        let middle = |c: i64, d: i64| c as f64 + d as f64 / 2.0;
        ring.push([middle(corner[0], step[0]), middle(corner[1], step[1])]);
        corner = [corner[0] + step[0], corner[1] + step[1]];
        // The two pixels ahead, left and right of the way.
        let ahead = |side: [i64; 2]| {
            let at = |i: usize| corner[i] + (step[i] + side[i] - 1).div_euclid(2);
            bits.get(at(0), at(1))
        };
        let right = [-step[1], step[0]];
        let left = [step[1], -step[0]];
        // In pixels that touch only at a corner the way keeps to its own: turn right first.
        if !ahead(right) {
            step = right;
        } else if ahead(left) {
            step = left;
        }
        if (corner, step) == start {
            break;
        }
    }
    ring
}
