//! Rounding as it is sawn, what rounding the ± can bear, and ratios.
//!
//! Depends on [`crate::words`], [`crate::quantity`], [`crate::estimate`] and [`crate::plane`] (and may on
//! raster, view and mark, but has no need to). Must not know what a job, an intent or a row of a table is.
pub mod bearable;
pub mod ratio;
pub mod running;

pub use bearable::{bearable, finer_than_bearable};
pub use ratio::{Candidate, Golden, candidates, golden, inverse, percent};
pub use running::{Running, filled, running, running_positions};
