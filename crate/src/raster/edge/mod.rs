//! Edges, drawn lines, their ends and corners, straight edges and round things, to a small part of a pixel.
//!
//! Everything is local: a window about what was touched, at the finest size of pixel at which something stands out
//! from noise, dots and grain. Where something is, is found by fitting a blurred edge to the pixels themselves
//! (`stroke`); what is told of its uncertainty comes from what that fit leaves over.
//!
//! # Units
//! Picture px, pixel centres at .5. Values are taken as they are stored (encoded, not light): that is right for
//! drawings and scans, and for what was blurred after encoding. Light that was blurred by a lens *before* encoding
//! moves an edge towards its dark side, by up to about 0.3 of the blur's σ at full contrast; for photographs whoever
//! uses a place adds a term for that.

mod catch;
mod corner;
mod normal;
mod oval;
mod patch;
mod profile;
mod round;
mod slope;
mod station;
mod straight;
mod stroke;
#[cfg(any(test, feature = "sweep"))]
pub mod sweep;

pub use catch::catch;
pub use round::round;
pub(super) use station::places;
pub use straight::{Straight, straight};

#[cfg(test)]
mod drawn;
#[cfg(test)]
mod tests;
