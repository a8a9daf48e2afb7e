//! One thing asked of a picture's pixels, answered.

use super::ask::{Ask, At, Found};
use super::bowed::bowed;
use super::edge;
use super::luma::{Luma, Window};
use super::quad::quad;
use super::region;
use super::tint::along_colours;
use crate::plane::{Picture, Vector};
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
        Ask::Quad { inside } => quad(luma, *inside).map(|q| Found::Quad(q.to_vec())),
        Ask::Border { inside } => return region::border(luma, *inside).map(Found::Border),
        Ask::Like { bounds } => return region::like(luma, *bounds).map(Found::Borders),
        Ask::Follow { from, to } => {
            return region::follow(luma, *from, *to).map(|(points, sigma)| Found::Path { points, sigma });
        }
        Ask::Bowed { from, to } => {
            return bowed(luma, *from, *to).map(|(points, sigma)| Found::Path { points, sigma });
        }
        Ask::Views => return region::views(luma).map(Found::Views),
        // Not asked of pixels: see `plane::shape`.
        Ask::Shape { .. } => None,
    };
    found.ok_or_else(|| Say::new("seek.nothing"))
}

/// What is looked at besides the reach of a question, px: the tones to either side, at a few sizes of pixel.
const ROOM: f64 = 64.0;
/// Where blocks of a JPEG begin, with colour at half size; what is faint and lies there is not believed.
const BLOCK: f64 = 16.0;
/// The largest window of colour, px each way.
const LARGEST: f64 = 1024.0;

/// The part of the picture whose colour is worth a look when luminance shows nothing of what is asked for; nothing for
/// what can't be told from a small part.
pub fn colour_window(luma: &Luma, ask: &Ask) -> Option<Window> {
    let (places, reach) = match ask {
        Ask::Catch { at, reach } => (std::slice::from_ref(at), *reach),
        Ask::Straight { along, reach } => (along.as_slice(), *reach),
        Ask::Round { through, reach } => (through.as_slice(), *reach),
        // What can't be told from a small part.
        _ => {
            return None;
        }
    };
    let span = |of: fn(&At) -> f64, side: u32| {
        let (mut low, mut high) = (f64::MAX, f64::MIN);
        for place in places {
            (low, high) = (low.min(of(place)), high.max(of(place)));
        }
        let from = ((low - reach - ROOM) / BLOCK).floor().max(0.0) * BLOCK;
        let to = (high + reach + ROOM).ceil().min(f64::from(side));
        (from < to && to - from <= LARGEST).then_some((from as u32, (to - from) as u32))
    };
    let (x, width) = span(|p| p.x, luma.width())?;
    let (y, height) = span(|p| p.y, luma.height())?;
    Some(Window { x, y, width, height })
}

/// What is found by colour in a window of the picture: `rgba`, four bytes a pixel, row by row, not premultiplied.
///
/// # Errors
/// As [`answer`]; `seek.nothing` also where there is no colour.
pub fn answer_in_colour(ask: &Ask, window: Window, rgba: &[u8]) -> Result<Found, Say> {
    let luma = along_colours(window, rgba).ok_or_else(|| Say::new("seek.nothing"))?;
    let off = Vector::<Picture>::new(f64::from(window.x), f64::from(window.y));
    let back = off * -1.0;
    let mut ask = ask.clone();
    match &mut ask {
        Ask::Catch { at, .. } => *at = *at + back,
        Ask::Straight { along: places, .. } | Ask::Round { through: places, .. } => {
            places.iter_mut().for_each(|p| *p = *p + back);
        }
        // What can't be told from a small part.
        _ => {
            return Err(Say::new("seek.nothing"));
        }
    }
    let mut found = answer(&luma, &ask)?;
    match &mut found {
        Found::Caught(caught) => caught.at = caught.at + off,
        Found::Straight { fitted, ends, .. } => {
            fitted.iter_mut().map(|f| &mut f.at).chain(ends).for_each(|p| *p = *p + off);
        }
        Found::Round(places) | Found::Quad(places) => places.iter_mut().for_each(|f| f.at = f.at + off),
        Found::Border(_) | Found::Borders(_) | Found::Path { .. } | Found::Views(_) | Found::Shaped(_) => {}
    }
    Ok(found)
}
