//! True lengths and corners -> the map of a view from picture px to real mm, and its covariance.
//!
//! A map carries its unknowns ([`ViewMap::params`]) as estimates whose parts name every click, true length
//! and side that went into them; [`Placed`] says how a place on the view moves with the click and with each
//! unknown. What two sizes share therefore cancels in their ratio by itself.
//!
//! Depends on [`crate::words`], [`crate::quantity`], [`crate::estimate`], [`crate::plane`]. Must not know
//! what is measured on a view, or what will be built from it.
mod behind;
#[cfg(test)]
mod bends;
mod bowed;
mod box_faces;
mod box_odd;
mod box_order;
mod box_start;
#[cfg(test)]
mod box_trials;
mod boxed;
mod calibrate;
mod camera;
mod corners;
mod fit;
mod forms;
mod knowns;
mod lengths;
mod lens;
mod map;
mod odd;
mod rectangle;
mod sheets;
mod slant;
mod span;
mod tilt;
mod tilted;
mod unknowable;

#[cfg(test)]
mod decisions;
#[cfg(test)]
mod scenes;
#[cfg(test)]
mod slants;
#[cfg(test)]
mod trials;

pub use behind::{Back, stand_back};
pub use bowed::{Bend, Edge, bend_of};
pub use box_faces::{BoxFit, fit_box};
pub use box_order::box_order;
pub use boxed::{BoxKnowns, Boxed};
pub use calibrate::{Found, Shot, calibrate};
pub use camera::Camera;
pub use fit::{Check, Fit, Named, Odd, Scale, Seen, Stretch, fit};
pub use forms::{Form, Formed};
pub use knowns::{Click, Known, Knowns, Rectangle, RectangleOf, Resolution, Side, Span, in_order};
pub use lens::{Bent, Lens, fit_behind};
pub use map::{Partials, Placed, ViewMap};
pub use sheets::{COINS, Coin, SHEETS, Sheet, sheet};
pub use slant::{Slant, slant};
