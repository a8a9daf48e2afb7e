//! What is left free of a board round what is pinned on it and round its bad spots, in pieces that straight cuts give.
//!
//! A board and everything on it are thought larger by a kerf at their far sides, so that whatever lies edge to edge in here is a
//! kerf apart on the wood.

use super::{Pin, Rect, SAME, Spot};

/// Something in the way.
#[derive(Clone, Copy, Debug)]
struct Block {
    rect: Rect,
    /// No cut may go through it: a piece. A saw may go through a bad spot.
    whole: bool,
}

/// The free rectangles of a board (with the kerf at their far sides) between pieces that lie at `pins` and spots; nothing where
/// straight cuts can't get the pieces out.
pub(super) fn around(board: Rect, pins: &[Rect], spots: &[Rect]) -> Option<Vec<Rect>> {
    let block = |whole: bool| move |r: &Rect| Block { rect: *r, whole };
    let blocks: Vec<Block> = pins.iter().map(block(true)).chain(spots.iter().map(block(false))).collect();
    let mut free = Vec::new();
    divide(board, &blocks, &mut free).then_some(free)
}

/// A spot as nothing may lie on it: a kerf falls into it, so that a piece may end at its edge.
pub(super) fn spot_in(spot: &Spot, kerf: f64) -> Rect {
    let mut rect = Rect { at: spot.at, over: spot.over };
    for k in 0..2 {
        let eaten = kerf.min(rect.over[k]);
        rect.at[k] += eaten;
        rect.over[k] -= eaten;
    }
    rect
}

/// A pinned piece with its kerf.
pub(super) fn pin_in(pin: &Pin, size: [f64; 2], kerf: f64) -> Rect {
    let [along, across] = if pin.turned { [size[1], size[0]] } else { size };
    Rect { at: pin.at, over: [along + kerf, across + kerf] }
}

fn divide(region: Rect, blocks: &[Block], free: &mut Vec<Rect>) -> bool {
    if region.over.iter().any(|v| *v <= SAME) {
        return true;
    }
    let inside: Vec<Block> =
        blocks.iter().filter(|b| b.rect.meets(&region) || is_line(b, &region)).copied().collect();
    if inside.is_empty() {
        free.push(region);
        return true;
    }
    // A piece alone, or a spot that takes all there is.
    let fills = |b: &Block| {
        (0..2).all(|k| b.rect.at[k] <= region.at[k] + SAME && b.rect.end(k) + SAME >= region.end(k))
    };
    if inside.iter().any(fills) {
        return inside.iter().filter(|b| b.whole).count() <= 1;
    }
    let Some((axis, at)) = best_cut(&region, &inside) else { return false };
    let sides = [region.between(axis, f64::MIN, at), region.between(axis, at, f64::MAX)];
    sides.iter().all(|side| divide(*side, &inside, free))
}

/// A spot narrower than a kerf is only a line: a cut must run along it.
fn is_line(block: &Block, region: &Rect) -> bool {
    !block.whole
        && block.rect.over.iter().any(|v| *v <= SAME)
        && (0..2).all(|k| {
            let (from, to) = (block.rect.at[k], block.rect.end(k));
            if block.rect.over[k] <= SAME {
                from > region.at[k] + SAME && from < region.end(k) - SAME
            } else {
                from < region.end(k) - SAME && to > region.at[k] + SAME
            }
        })
}

/// The cut along an edge of something in the way, through no piece, that leaves the largest free piece.
fn best_cut(region: &Rect, blocks: &[Block]) -> Option<(usize, f64)> {
    let mut best: Option<(f64, usize, f64)> = None;
    for axis in 0..2 {
        for edge in blocks.iter().flat_map(|b| [b.rect.at[axis], b.rect.end(axis)]) {
            let inside = edge > region.at[axis] + SAME && edge < region.end(axis) - SAME;
            let through =
                |b: &Block| b.whole && b.rect.at[axis] + SAME < edge && edge + SAME < b.rect.end(axis);
            if !inside || blocks.iter().any(through) {
                continue;
            }
            let clear = [region.between(axis, f64::MIN, edge), region.between(axis, edge, f64::MAX)]
                .iter()
                .filter(|side| !blocks.iter().any(|b| b.rect.meets(side)))
                .map(|side| side.over[0] * side.over[1])
                .fold(0.0, f64::max);
            if best.is_none_or(|(most, ..)| clear > most) {
                best = Some((clear, axis, edge));
            }
        }
    }
    best.map(|(_, axis, at)| (axis, at))
}
