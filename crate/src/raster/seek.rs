//! One thing asked of a picture's pixels, answered.

use super::ask::{Ask, Found};
use super::edge;
use super::luma::Luma;
use super::region;
use crate::words::Say;

/// What is found.
///
/// # Errors
/// `seek.nothing` when there is nothing to hold where it was asked for.
pub fn answer(luma: &Luma, ask: &Ask) -> Result<Found, Say> {
    let found = match ask {
        Ask::Catch { at, reach } => edge::catch(luma, *at, *reach).map(Found::Caught),
        Ask::Straight { along, reach } => edge::straight(luma, along, *reach).map(|s| Found::Straight {
            fitted: s.fitted,
            ends: s.ends,
            half: s.half,
        }),
        Ask::Round { through, reach } => edge::round(luma, through, *reach).map(Found::Round),
        Ask::Border { inside } => return region::border(luma, *inside).map(Found::Border),
        Ask::Follow { from, to } => {
            return region::follow(luma, *from, *to).map(|(points, sigma)| Found::Path { points, sigma });
        }
        Ask::Views => return region::views(luma).map(Found::Views),
        // Not asked of pixels: see `plane::shape`.
        Ask::Shape { .. } => None,
    };
    found.ok_or_else(|| Say::new("seek.nothing"))
}
