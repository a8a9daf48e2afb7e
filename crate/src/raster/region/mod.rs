//! Regions: the whole border of a part from one touch inside it, the views of a drawing, an edge followed.
//!
//! A picture is parted into dark and light by a level that follows the light across it (`level`); runs of each along
//! the rows are joined into parts (`runs`); the part that was touched is cleaned of what is drawn across it and its
//! holes are told from lettering (`touch`); its ring along the pixels' sides (`trace`) is moved onto the edge, or
//! into the middle of the drawn line, to a fraction of a pixel (`refine`).
//!
//! Tones are taken as they are encoded: on drawings and scans that is what ink and paper were scanned as; on photographs
//! of things, where light was blurred before it was encoded, an edge may lie up to a pixel off, all round alike.

mod bits;
mod cells;
mod level;
mod like;
mod refine;
mod ring;
mod runs;
mod shape;
mod sheet;
mod touch;
mod trace;
mod wire;

#[cfg(test)]
mod tests;

pub use like::like;
pub use sheet::views;
pub use touch::border;
pub use wire::follow;
