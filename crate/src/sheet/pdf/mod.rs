//! The PDF file: pages of exact size, lines as lines, type embedded.
//!
//! A writer of our own: a sheet needs few of PDF's parts, coordinates with more digits than an f32 has, and the same bytes every
//! time.
//!
//! # References
//! ISO 32000-1:2008 (PDF 1.7): 7.3 (objects), 7.5.4 (cross-reference table), 9.7 (composite fonts), 9.10.3 (ToUnicode), 12.2
//! (viewer preferences), 12.3.3 (outline), 12.4.2 (page labels). PrintScaling's Enforce: ISO 32000-2:2020, 12.2.
mod content;
mod file;
mod fonts;

pub use content::{Canvas, Content, Faces, Frame, POINT, dashes, digits};
pub use file::{Book, Image, Page, write};
