//! Values that know where their uncertainty comes from.
//!
//! Depends on [`crate::words`] and [`crate::quantity`] only. Must not know what a picture, a view or a mark is: a [`Source`] is
//! a name with numbers in it.
pub(crate) mod dense;
mod interval;
mod repeated;
mod solve;
mod special;
mod value;

pub use interval::{Cause, Interval, ratio_interval};
pub(crate) use repeated::split;
pub use repeated::together;
pub use solve::{Row, Solved, solve};
pub use special::{chi_square_tail, normal_quantile, t_quantile};
pub use value::{Estimate, Part, Source};
