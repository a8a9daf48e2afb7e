//! How well a point is placed, by what placed it and how large the picture stood there.
//!
//! # Units
//! Standard uncertainty along each axis, in original picture px.
//!
//! # References
//! Holz & Baudisch, CHI 2011: a bare finger lands 1.6 to 4 mm off. Bérard & Rochet-Capellan, ITS 2012: a held
//! finger jitters by 0.17 mm, far less, so what counts once the end is seen is the eye: half a pixel to one
//! pixel of the picture as seen. The figures for a pen, and for what is placed unseen by mouse, pen or keys,
//! are common practice, no source.

use serde::{Deserialize, Serialize};

/// What placed a point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub enum By {
    /// A finger.
    Touch,
    /// A pen.
    Pen,
    /// A mouse or a trackpad.
    Mouse,
    /// Keys, or the nudge keys on the ledge.
    Key,
}

/// A bare finger lands within this of where it is meant to, 95 times in 100, in mm (the far end of 1.6 to 4).
const FINGER_95_MM: f64 = 4.0;
/// CSS px in a mm of a tablet with 264 device px to the inch, two to a CSS px.
const CSS_PX_PER_MM: f64 = 264.0 / 2.0 / 25.4;
/// The radius that holds 95 in 100 of a round normal spread, in its σ: √(−2 ln 0.05).
const RADIUS_95: f64 = 2.447_746_830_680_816;
/// A printed edge is blurred, and its middle judged by eye no better than this, in picture px, however large
/// it is seen (common practice, no source).
const EYE: f64 = 0.25;

/// The standard uncertainty of a placed point along each axis, in picture px.
///
/// `zoom` is the screen (CSS) px a picture px took where the person was looking: the magnified window's if it
/// stood open. `seen` says that the end was placed or put right while the magnified window showed it.
///
/// A zoom that is no number above 0 is taken as 1.
pub fn click_sigma(by: By, zoom: f64, seen: bool) -> f64 {
    let on_screen = match (by, seen) {
        (By::Touch, true) => 1.0,
        (By::Pen, true) => 0.7,
        (By::Mouse | By::Key, true) => 0.5,
        (By::Touch, false) => FINGER_95_MM * CSS_PX_PER_MM / RADIUS_95,
        (By::Pen, false) => 2.0,
        (By::Mouse | By::Key, false) => 1.0,
    };
    let zoom = if zoom.is_finite() && zoom > 0.0 { zoom } else { 1.0 };
    (on_screen / zoom).max(EYE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_click_is_as_good_as_it_was_seen() {
        // 4 mm × 132/25.4 CSS px ÷ 2.4477 = 8.4925, reckoned by hand from the sources in the head of this file.
        let rows = [
            (By::Touch, 1.0, false, 8.4925),
            (By::Touch, 2.0, false, 4.2463),
            (By::Touch, 4.0, true, 0.25),
            (By::Touch, 2.0, true, 0.5),
            (By::Pen, 1.0, true, 0.7),
            (By::Mouse, 0.25, true, 2.0),
            (By::Key, 8.0, true, 0.25),
            (By::Mouse, f64::NAN, true, 0.5),
            (By::Pen, 0.0, false, 2.0),
            (By::Key, f64::NEG_INFINITY, false, 1.0),
        ];
        for (by, zoom, seen, expected) in rows {
            let got = click_sigma(by, zoom, seen);
            assert!((got - expected).abs() < 1e-4, "{by:?} at {zoom}, seen {seen}: {got}, not {expected}");
        }
    }
}
