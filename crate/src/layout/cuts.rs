//! The cuts that take a board apart, in the order in which they can be made.

use super::{Board, Rect, SAME};
use serde::{Deserialize, Serialize};

/// One straight cut right across what is in hand.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Cut {
    /// It runs across the board's length (its measure is from the left end), or along it (from the upper edge).
    pub across: bool,
    /// Where the edge of the piece that stays lies.
    pub at: f64,
    /// The kerf lies beyond that, or (where a piece begins) before it.
    pub beyond: bool,
    /// From where to where it runs on the other measure.
    pub span: [f64; 2],
    /// How many cuts before it had to be made: 0 for the first ones.
    pub level: u32,
}

/// The cuts that take the board apart; nothing where straight cuts can't.
pub fn cuts(board: &Board, kerf: f64) -> Option<Vec<Cut>> {
    let pieces: Vec<Rect> = board.placed.iter().map(|p| Rect { at: p.at, over: p.over }).collect();
    let mut out = Vec::new();
    let whole = Rect { at: [0.0; 2], over: board.size };
    part(whole, &pieces, kerf, 0, &mut out).then_some(out)
}

fn part(region: Rect, pieces: &[Rect], kerf: f64, level: u32, out: &mut Vec<Cut>) -> bool {
    if pieces.is_empty() {
        return true;
    }
    // First the way that gives more strips; of two alike across: a shorter board is handled more easily.
    let mut both = [0, 1].map(|axis| strips(pieces, axis, kerf));
    let axis = usize::from(both[1].len() > both[0].len());
    let strips = std::mem::take(&mut both[axis]);
    let alone = pieces.len() == 1;
    if strips.len() < 2 && !alone {
        return false;
    }
    // A single piece is freed across first, then along.
    let mut edges = Vec::new();
    let mut rooms = Vec::new();
    let mut from = region.at[axis];
    for (low, high, of) in &strips {
        if low - from > SAME {
            edges.push((*low, false));
        }
        if region.end(axis) - high > SAME {
            edges.push((*high, true));
        }
        rooms.push((region.between(axis, *low, *high), of));
        from = high + kerf;
    }
    let span = [region.at[1 - axis], region.end(1 - axis)];
    let cut = |&(at, beyond): &(f64, bool)| Cut { across: axis == 0, at, beyond, span, level };
    out.extend(edges.iter().map(cut));
    if alone {
        let other = 1 - axis;
        let Some(piece) = pieces.first() else { return true };
        let low = (piece.at[other] - region.at[other] > SAME).then_some((piece.at[other], false));
        let high = (region.end(other) - piece.end(other) > SAME).then_some((piece.end(other), true));
        let span = [piece.at[axis], piece.end(axis)];
        let cut = |(at, beyond): (f64, bool)| Cut { across: other == 0, at, beyond, span, level: level + 1 };
        out.extend(low.into_iter().chain(high).map(cut));
        return true;
    }
    rooms.iter().all(|(room, of)| part(*room, of, kerf, level + 1, out))
}

/// What straight cuts square to an axis part the pieces into: from, to, and which.
fn strips(pieces: &[Rect], axis: usize, kerf: f64) -> Vec<(f64, f64, Vec<Rect>)> {
    let mut order: Vec<Rect> = pieces.to_vec();
    crate::order::sort_by(&mut order, |a, b| a.at[axis].total_cmp(&b.at[axis]));
    let mut out: Vec<(f64, f64, Vec<Rect>)> = Vec::new();
    for piece in order {
        match out.last_mut() {
            Some((_, high, of)) if piece.at[axis] + SAME < *high + kerf => {
                *high = high.max(piece.end(axis));
                of.push(piece);
            }
            _ => out.push((piece.at[axis], piece.end(axis), vec![piece])),
        }
    }
    out
}
