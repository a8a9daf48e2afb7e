//! What is given with an intent: lengths and boxes.

use super::choices::Role;
use super::intent::At;
use crate::json::Json;
use crate::mark::By;
use serde::{Deserialize, Deserializer, Serialize, de};

#[cfg(test)]
use ts_rs::TS;

/// A length as a person gives it (read in the job's unit), or in mm.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(untagged)]
pub enum Length {
    /// As written: `23 5/16`, `36,8 cm`.
    Text(String),
    /// In millimetres.
    Mm {
        /// The length.
        mm: f64,
    },
}

/// Derived, it would bring a second way of reading everything.
impl<'de> Deserialize<'de> for Length {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Length, D::Error> {
        let mm = match Json::deserialize(from)? {
            Json::Text(text) => return Ok(Length::Text(text)),
            Json::Fields(mut fields) => fields.take("mm"),
            _ => None,
        };
        match mm {
            Some(Json::Real(mm)) => Ok(Length::Mm { mm }),
            Some(Json::Whole(mm)) => Ok(Length::Mm { mm: mm as f64 }),
            _ => Err(de::Error::custom("a length is written as text, or as mm")),
        }
    }
}

/// A view to be.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct NewView {
    /// What it shows.
    pub role: Role,
    /// Its box.
    #[serde(rename = "box")]
    pub bounds: Bounds,
}

/// A box on the picture, turned about its first corner.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Bounds {
    /// Its top-left corner, picture px.
    #[cfg_attr(test, ts(type = "[number, number]"))]
    pub at: At,
    /// Along its own level and plumb, picture px.
    pub size: [f64; 2],
    /// How its level runs against the picture's, in degrees, clockwise as seen.
    #[serde(default)]
    pub tilt: f64,
}

/// A lens as it was found from pictures of a target. With r in halves of the picture's diagonal from the centre, a place is
/// seen `1 + λ r² + μ r⁴` times as far from it as it would be without bend.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct KnownLens {
    /// λ, μ, and from the picture's middle to the centre across and down, in halves of the diagonal.
    pub terms: [f64; 4],
    /// For each term, what the lens's independent errors do to it, at one standard uncertainty.
    pub effects: [[f64; 4]; 4],
}

/// What placed an end, where that isn't said.
pub(super) fn by_mouse() -> By {
    By::Mouse
}

/// The zoom, where that isn't said.
pub(super) fn one() -> f64 {
    1.0
}

/// A length pulls, where nothing else is said.
pub(super) fn yes() -> bool {
    true
}
