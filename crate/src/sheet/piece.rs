//! What stands on paper for each thing that is ordered.

use super::draw::Drawing;
use super::order::Piece;
use super::write::Writing;
use super::{grid, offsets, pattern, sector, stick};
use crate::words::Say;

/// The drawings of a piece, at full size, before they are cut into sheets. The cutting list, the boards and the sheet by which
/// a printer is measured are none of these: they are made to the paper's size.
///
/// # Errors
/// What each piece refuses, in words.
pub fn drawings(piece: &Piece, words: &Writing<'_>) -> Result<Vec<Drawing>, Say> {
    match piece {
        Piece::Pattern(p) => Ok(vec![pattern::drawing(p, words)?]),
        Piece::Stick(s) => stick::drawings(s, words),
        Piece::Grid(g) => grid::drawings(g, words),
        Piece::Offsets(o) => Ok(vec![offsets::drawing(o, words)?]),
        Piece::Sector(s) => Ok(vec![sector::drawing(s, words)?]),
        // These fill one sheet of the paper at hand: see the press.
        Piece::List(_) | Piece::Boards(_) | Piece::Test => Ok(Vec::new()),
    }
}
