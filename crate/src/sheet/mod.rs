//! Full-size patterns and every other way to get a size onto wood: what stands on paper, how it is cut into sheets, and
//! the files that are printed.
//!
//! [`order`] says what is to be made, ready to be drawn: sizes are finished mm, sentences are words. [`draw`] is what stands on
//! paper before it is cut up; [`piece`] makes the one from the other by way of [`pattern`], [`stick`], [`grid`], [`offsets`] and
//! [`sector`]. Those put all they draw on a [`sketch`], which knows what room is taken ([`free`]), with words and lengths told
//! by [`write`]; lines first, then writing where nothing is in its way. Depends on the rooms above. Must not know jobs, intents or the screen: the desk writes the
//! order, and the press (a core of its own, loaded when it is first needed) makes it.
pub mod draw;
pub mod free;
pub mod grid;
pub mod marks;
pub mod odd;
pub mod offsets;
pub mod order;
pub mod outline;
pub mod pattern;
pub mod piece;
pub mod sector;
pub mod sketch;
pub mod stick;
pub mod table;
pub mod write;

#[cfg(test)]
mod trial;

pub use draw::{Anchor, Drawing, Fill, Ink, Item, Line, Path, Pen, Step};
pub use order::{Order, Piece};
