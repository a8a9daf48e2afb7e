//! Full-size patterns and every other way to get a size onto wood: what stands on paper, how it is cut into sheets, and
//! the files that are printed.
//!
//! [`order`] says what is to be made, ready to be drawn: sizes are finished mm, sentences are words. [`draw`] is what stands on
//! paper before it is cut up; [`piece`] makes the one from the other by way of [`pattern`], [`stick`], [`grid`], [`offsets`] and
//! [`sector`]. Those put all they draw on a [`sketch`], which knows what room is taken ([`free`]), with words and lengths told
//! by [`mod@write`]; lines first, then writing where nothing is in its way. Depends on the rooms above. Must not know jobs, intents or the screen: the desk writes the
//! order, and the press (a core of its own, loaded when it is first needed) makes it.
mod beside;
pub mod boards;
mod boards_drawn;
mod busy;
pub mod draw;
mod empty;
pub mod font;
pub mod free;
mod furniture;
pub mod grid;
mod joined;
pub mod joint;
mod jpeg;
pub mod list;
pub mod marks;
pub mod odd;
pub mod offsets;
pub mod order;
pub mod outline;
mod pack;
mod page;
pub mod paper;
pub mod pattern;
pub mod pdf;
mod picture;
pub mod piece;
pub mod plan;
mod press;
mod preview;
mod reuse;
pub mod sector;
mod settle;
pub mod sketch;
pub mod stick;
mod svg;
pub mod table;
mod test_sheet;
pub mod write;

#[cfg(test)]
mod trial;

pub use draw::{Anchor, Drawing, Fill, Ink, Item, Line, Path, Pen, Step};
pub use order::{Order, Piece};
pub use paper::{Stock, printer_factor};
pub use press::{Press, Progress, Wanted};
pub use test_sheet::bars as test_bars;
