//! Pixels: what a picture file says about itself, and its luminance.
//!
//! This room takes bytes and decoded pixels; it never decodes a picture itself (the browser does that on the
//! page, a decoder outside the core does it natively), and it knows nothing of views, marks or lengths.

pub mod ask;
mod bowed;
pub mod edge;
pub mod header;
pub mod luma;
pub mod page;
mod quad;
pub mod region;
pub mod seek;
pub mod tint;

use crate::words::Say;

/// The longest side a picture may have, px: four times what a tablet's camera gives, and far inside `u32`.
pub const LONGEST_SIDE: u32 = 40_000;

/// The most pixels a picture may have: 120 million, of which the luminance alone takes 120 MB.
pub const MOST_PIXELS: u64 = 120_000_000;

/// Whether a picture of `width` × `height` px can be held.
///
/// # Errors
/// `picture.no-size` when a side is zero, `picture.too-large` beyond [`LONGEST_SIDE`] or [`MOST_PIXELS`].
pub fn fits(width: u32, height: u32) -> Result<(), Say> {
    if width == 0 || height == 0 {
        return Err(Say::new("picture.no-size"));
    }
    if width.max(height) > LONGEST_SIDE || u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(Say::new("picture.too-large")
            .count("width", width as usize)
            .count("height", height as usize)
            .count("most", (MOST_PIXELS / 1_000_000) as usize)
            .count("side", LONGEST_SIDE as usize));
    }
    Ok(())
}
