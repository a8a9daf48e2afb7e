//! Facts about boards: how they are bought, where pieces and bad spots lie, what is cut.

use super::super::document::Document;
use super::super::intent::Intent;
use super::{length, need_mark};
use crate::layout::{Pin, Spot};
use crate::words::Say;

/// No job has more pins, bad spots, or pieces that are cut.
const MOST: usize = 5_000;
/// Nothing on a board is farther from its corner, mm.
const FAR: f64 = 1e5;
/// No shop has more boards of one size, or boards in more sizes.
const MOST_AT_HAND: u32 = 1_000;
const MOST_SIZES: usize = 200;
/// No saw takes more, mm.
const THICKEST: f64 = 12.7;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    let style = document.units.style;
    if let Intent::Tick { mark, .. } = fact {
        need_mark(document, *mark)?;
    }
    let boards = &mut document.boards;
    match fact {
        Intent::SetKerf { kerf } => {
            let mm = length(kerf, style)?;
            if mm > THICKEST {
                return Err(Say::new("layout.kerf"));
            }
            boards.kerf = Some(mm);
        }
        Intent::SetBoards { lot, size } => {
            let [long, wide] = *size;
            if !(long > 0.0 && long < FAR && (0.0..FAR).contains(&wide)) || lot.len() > 100 {
                return Err(Say::new("layout.board"));
            }
            boards.sizes.retain(|(name, _)| name != lot);
            boards.sizes.push((lot.clone(), *size));
            // They lay on boards of another size.
            boards.pins.retain(|(name, _)| name != lot);
            boards.spots.retain(|(name, _)| name != lot);
        }
        Intent::SetAtHand { lot, size, count } => {
            let [long, wide] = *size;
            if !(long > 0.0 && long < FAR && wide > 0.0 && wide < FAR)
                || lot.len() > 100
                || *count > MOST_AT_HAND
            {
                return Err(Say::new("layout.board"));
            }
            let at = boards.at_hand.iter().position(|(name, s, _)| name == lot && s == size);
            if let Some(old) = at.and_then(|i| boards.at_hand.get_mut(i)) {
                old.2 = *count;
            } else if boards.at_hand.len() < MOST_SIZES {
                boards.at_hand.push((lot.clone(), *size, *count));
            } else {
                return Err(Say::new("layout.board"));
            }
            boards.at_hand.retain(|(_, _, count)| *count > 0);
        }
        Intent::Pin { lot, pin, on } => {
            let Pin { at, size, .. } = pin;
            let places = [*at, *size];
            check(lot, &places, boards.pins.len())?;
            boards.pins.retain(|(name, p)| name != lot || (p.part, p.copy) != (pin.part, pin.copy));
            if *on {
                boards.pins.push((lot.clone(), *pin));
            }
        }
        Intent::Spot { lot, spot, on, was } => {
            let Spot { at, over, size, .. } = spot;
            check(lot, &[*at, *over, *size], boards.spots.len())?;
            boards.spots.retain(|(name, s)| name != lot || (s != spot && Some(s) != was.as_ref()));
            if *on {
                boards.spots.push((lot.clone(), *spot));
            }
        }
        Intent::Tick { mark, copy, on } => {
            boards.cut.retain(|c| c != &[*mark, *copy]);
            if *on && boards.cut.len() < MOST {
                boards.cut.push([*mark, *copy]);
            }
        }
        _ => return Err(Say::new("job.not-a-fact")),
    }
    Ok(())
}

fn check(lot: &str, places: &[[f64; 2]], many: usize) -> Result<(), Say> {
    let near = |v: &f64| v.abs() < FAR;
    if !places.iter().flatten().all(near) || lot.len() > 100 || many >= MOST {
        return Err(Say::new("layout.place"));
    }
    Ok(())
}
