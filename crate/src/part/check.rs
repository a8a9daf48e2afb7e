//! What usually looks right: sizes that people who build such things keep to. Advice, never a bar.

use crate::quantity::units::MM_PER_INCH;
use serde::{Deserialize, Serialize};

/// What is built, where it has usual sizes or cautions of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Thing {
    /// A table to eat at.
    DiningTable,
    /// A low table.
    LowTable,
    /// A chair, a stool, a bench.
    Seat,
    /// Shelves for books.
    Bookcase,
    /// A chest of drawers.
    Chest,
    /// A ladder, a swing, a bunk: what bears people above the floor.
    Bunk,
    /// A toy.
    Toy,
    /// A crib or a cot.
    Crib,
}

/// A size that is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Usual {
    /// From the floor to its top.
    Height,
    /// From the floor to the lower edge of what joins a table's legs.
    Apron,
    /// From its top down to the seat before it.
    SeatBelow,
    /// From the floor to the seat.
    SeatHeight,
    /// From the seat's front to its back.
    SeatDepth,
    /// From a shelf's front to its back.
    ShelfDepth,
    /// Clear between two shelves.
    BetweenShelves,
}

/// A rule: of what, which size, from and to, inches.
type Row = (Thing, Usual, f64, f64);

/// Common practice, no source.
const USUAL: [Row; 9] = [
    (Thing::DiningTable, Usual::Height, 28.0, 30.0),
    (Thing::DiningTable, Usual::Apron, 24.0, 25.0),
    (Thing::DiningTable, Usual::SeatBelow, 11.0, 13.0),
    (Thing::LowTable, Usual::Height, 16.0, 18.0),
    (Thing::Seat, Usual::SeatHeight, 17.0, 18.0),
    (Thing::Seat, Usual::SeatDepth, 16.0, 18.0),
    (Thing::Bookcase, Usual::Height, 12.0, 84.0),
    (Thing::Bookcase, Usual::ShelfDepth, 10.0, 12.0),
    (Thing::Bookcase, Usual::BetweenShelves, 8.0, 12.0),
];

impl Thing {
    /// All of them, in the order to offer them.
    pub const ALL: [Thing; 8] = [
        Thing::DiningTable,
        Thing::LowTable,
        Thing::Seat,
        Thing::Bookcase,
        Thing::Chest,
        Thing::Bunk,
        Thing::Toy,
        Thing::Crib,
    ];

    /// Its name in the words file, after `thing.`.
    pub fn name(self) -> &'static str {
        match self {
            Thing::DiningTable => "dining-table",
            Thing::LowTable => "low-table",
            Thing::Seat => "seat",
            Thing::Bookcase => "bookcase",
            Thing::Chest => "chest",
            Thing::Bunk => "bunk",
            Thing::Toy => "toy",
            Thing::Crib => "crib",
        }
    }

    /// The sizes that are looked at, each from and to, mm.
    ///
    /// # References
    /// Common practice, no source.
    pub fn usual(self) -> impl Iterator<Item = (Usual, [f64; 2])> {
        let own = USUAL.iter().filter(move |(thing, ..)| *thing == self);
        own.map(|(_, what, low, high)| (*what, [low * MM_PER_INCH, high * MM_PER_INCH]))
    }
}

impl Usual {
    /// Its name in the words file, after `usual.`.
    pub fn name(self) -> &'static str {
        match self {
            Usual::Height => "height",
            Usual::Apron => "apron",
            Usual::SeatBelow => "seat-below",
            Usual::SeatHeight => "seat-height",
            Usual::SeatDepth => "seat-depth",
            Usual::ShelfDepth => "shelf-depth",
            Usual::BetweenShelves => "between-shelves",
        }
    }
}

/// Whether a size is surely outside what is usual, its half-width granted: below it, above it.
pub fn outside([low, high]: [f64; 2], mm: f64, half: f64) -> [bool; 2] {
    [mm + half < low, mm - half > high]
}

/// How many sit at a side of a table so long, 24 in each.
///
/// # References
/// Common practice, no source.
pub fn sit(mm: f64) -> u32 {
    let count = libm::floor(mm / (24.0 * MM_PER_INCH) + 1e-9);
    if count > 0.0 && count < 1000.0 { count as u32 } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_surely_outside_is_said() {
        let rule = [28.0, 30.0];
        assert_eq!(outside(rule, 29.0, 0.1), [false, false]);
        assert_eq!(outside(rule, 27.95, 0.1), [false, false]);
        assert_eq!(outside(rule, 27.8, 0.1), [true, false]);
        assert_eq!(outside(rule, 30.2, 0.1), [false, true]);
        assert_eq!(outside(rule, f64::NAN, 0.1), [false, false]);
        assert_eq!((sit(72.0 * 25.4), sit(71.0 * 25.4), sit(f64::NAN)), (3, 2, 0));
    }

    #[test]
    fn every_rule_runs_upwards() {
        assert!(Thing::ALL.into_iter().flat_map(Thing::usual).all(|(_, [a, b])| a < b));
        assert_eq!(Thing::ALL.into_iter().flat_map(Thing::usual).count(), USUAL.len());
    }
}
