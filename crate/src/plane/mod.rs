//! Points, vectors and maps on planes, typed by the space they live in.
//!
//! Depends on [`crate::words`], [`crate::quantity`], [`crate::estimate`]. Must not know what a view or a mark is.
mod circle;
mod homography;
mod hull;
mod line;
mod point;
mod polygon;

pub use circle::{Circle, CircleFit, circle_through, fit_circle};
pub use homography::Homography;
pub use hull::{Greatest, convex_hull, greatest};
pub use line::{Line, angle_between};
pub use point::{Finished, Paper, Picture, Point, Real, Space, Vector};
pub use polygon::{Moments, contains, crossing_edges, moments, perimeter, signed_area};
