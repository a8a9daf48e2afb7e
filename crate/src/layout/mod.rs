//! Which piece comes from which board or sheet, and in what order it is cut.
//!
//! Pure numbers: a [`Lot`] is pieces of one stock with the boards that are at hand and those that it is sold as; [`Laying`] lays them out, a little at a
//! time, and [`Laid`] says where each lies. Every board comes apart by straight cuts right across what is in hand ([`cuts`]), a
//! kerf lies between any two pieces, and what a person pinned stays where it is while the rest goes round it and round bad
//! spots (`free`). The same lot is always laid in the same way: what chance there is comes from a fixed row of numbers, and
//! the search ends after so much work, not so much time. Depends on `words`, `order` and `fault`. Must not know jobs, what a piece is
//! called or what stock costs.
//!
//! # Units
//! mm throughout. The first of two numbers runs along a board's length (and its grain), the second across it; places are from
//! the board's upper left corner as it is drawn.

mod chance;
mod cuts;
mod fill;
mod free;
mod line;
mod measures;
mod search;

pub use cuts::{Cut, cuts};
pub use search::{Laying, Progress};

use serde::{Deserialize, Serialize};

/// Lengths closer than this are the same, mm.
const SAME: f64 = 1e-6;

/// One piece to be cut.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Item {
    /// Which part it is one of.
    pub part: u32,
    /// Which of that part's pieces, from 0 on.
    pub copy: u32,
    /// Along the grain and across it.
    pub size: [f64; 2],
    /// It may lie across as well: its grain doesn't matter.
    #[serde(default)]
    pub turns: bool,
}

/// A piece that a person put somewhere.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "PinPlace"))]
#[serde(rename_all = "kebab-case")]
pub struct Pin {
    /// Of which part.
    pub part: u32,
    /// Which of its pieces.
    pub copy: u32,
    /// On which board, from 0 on.
    pub board: u32,
    /// How large that board was.
    pub size: [f64; 2],
    /// Where its upper left corner lies.
    pub at: [f64; 2],
    /// It lies across.
    #[serde(default)]
    pub turned: bool,
}

/// A place that no piece may have: a knot, a split, a dent.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub struct Spot {
    /// On which board, from 0 on.
    pub board: u32,
    /// How large that board was.
    pub size: [f64; 2],
    /// Its upper left corner.
    pub at: [f64; 2],
    /// How far it goes along and across.
    pub over: [f64; 2],
}

/// Pieces that come from the same stock, and what that is sold as.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Lot {
    /// The pieces.
    pub items: Vec<Item>,
    /// Boards that can be had, as many as it takes of each.
    pub boards: Vec<[f64; 2]>,
    /// Boards that are there already, and only so many: they are used first.
    #[serde(default)]
    pub at_hand: Vec<([f64; 2], u32)>,
    /// What a saw takes away.
    pub kerf: f64,
    /// Where a person put pieces.
    #[serde(default)]
    pub pins: Vec<Pin>,
    /// Where nothing may lie.
    #[serde(default)]
    pub spots: Vec<Spot>,
}

/// A piece as it lies.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Placed {
    /// Which of the lot's items.
    pub item: usize,
    /// Its upper left corner.
    pub at: [f64; 2],
    /// How far it goes along and across as it lies.
    pub over: [f64; 2],
    /// It lies across.
    pub turned: bool,
    /// A person put it there.
    pub pinned: bool,
}

/// One board with what is cut from it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Board {
    /// Which one, from 0 on: pins and bad spots name it so.
    pub number: u32,
    /// How large it is.
    pub size: [f64; 2],
    /// It was there already.
    pub at_hand: bool,
    /// What lies on it.
    pub placed: Vec<Placed>,
    /// What is to be kept clear.
    pub spots: Vec<Spot>,
}

/// A lot laid out.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub struct Laid {
    /// The boards it takes, by number.
    pub boards: Vec<Board>,
    /// Items that no board is large enough for.
    pub left: Vec<usize>,
    /// Items that lie elsewhere than they were pinned: over a board's edge, another pin or a bad spot, or where no straight
    /// cut gets them out.
    pub unpinned: Vec<usize>,
}

impl Laid {
    /// The area of all boards and that of all pieces, mm².
    pub fn areas(&self) -> [f64; 2] {
        let of = |[a, b]: [f64; 2]| a * b;
        let boards = self.boards.iter().map(|b| of(b.size)).sum();
        let pieces = self.boards.iter().flat_map(|b| &b.placed).map(|p| of(p.over)).sum();
        [boards, pieces]
    }
}

/// A rectangle: upper left corner, then how far it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Rect {
    at: [f64; 2],
    over: [f64; 2],
}

impl Rect {
    /// Where it ends.
    fn end(&self, axis: usize) -> f64 {
        self.at[axis] + self.over[axis]
    }

    /// Whether they share more than an edge.
    fn meets(&self, other: &Rect) -> bool {
        (0..2).all(|k| self.at[k] + SAME < other.end(k) && other.at[k] + SAME < self.end(k))
    }

    /// The part of it between `from` and `to` along an axis.
    fn between(&self, axis: usize, from: f64, to: f64) -> Rect {
        let mut out = *self;
        let (from, to) = (from.max(self.at[axis]), to.min(self.end(axis)));
        out.at[axis] = from;
        out.over[axis] = (to - from).max(0.0);
        out
    }
}

#[cfg(test)]
mod tests;
