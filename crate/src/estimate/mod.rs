//! Values that know where their uncertainty comes from.
//!
//! Depends on [`crate::words`] and [`crate::quantity`] only. Must not know what a picture, a view or a mark is: a [`Source`] is
//! a name with numbers in it.
mod value;

pub use value::{Estimate, Part, Source};
