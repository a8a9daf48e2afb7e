//! One thing asked of a picture's pixels, answered.

use super::ask::{Ask, Found};
use super::edge;
use super::luma::Luma;
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
        Ask::Border { .. } | Ask::Follow { .. } | Ask::Views => None,
    };
    found.ok_or_else(|| Say::new("seek.nothing"))
}
