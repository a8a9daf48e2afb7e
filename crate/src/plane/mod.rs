//! Points, vectors and maps on planes, typed by the space they live in.
//!
//! Depends on [`crate::words`], [`crate::quantity`], [`crate::estimate`]. Must not know what a view or a mark is.
mod point;

pub use point::{Finished, Paper, Picture, Point, Real, Space, Vector};
