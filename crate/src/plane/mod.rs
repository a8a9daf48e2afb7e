//! Points, vectors, curves and maps on planes, typed by the space they live in.
//!
//! Depends on [`crate::words`], [`crate::quantity`], [`crate::estimate`]. Must not know what a view or a mark is.
mod band;
mod bezier;
mod boolean;
mod border;
mod circle;
mod corners;
mod curve;
mod edit;
mod fair;
mod fewest;
mod fit;
mod homography;
mod hull;
mod lean;
mod line;
mod mirror;
mod overlay;
mod piece;
mod point;
mod polygon;
mod refine;
mod shaping;
mod stretch;

pub use bezier::Cubic;
pub use boolean::{Patch, cut, join};
pub use circle::{Circle, CircleFit, circle_through, fit_circle};
pub use curve::{Curve, Place, Segment};
pub use fair::{Faired, fair};
pub use fit::{Fit, FitOptions, across_sigma, fit, fit_path};
pub use homography::Homography;
pub use hull::{Greatest, LeastBox, convex_hull, greatest, least_box};
pub use lean::lean;
pub use line::{Line, angle_between, from_segment};
pub use mirror::{Half, Symmetry, mirror, symmetrical};
pub use point::{Finished, Paper, Picture, Point, Real, Space, Vector};
pub use polygon::{Moments, bounds, contains, crossing_edges, moments, perimeter, signed_area};
pub use shaping::{Even, Fitting, Shaped, Shaping, Tip, shape};
