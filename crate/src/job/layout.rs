//! What a person chose about boards and sheets, and which pieces are cut already.

use super::document::Document;
use super::parts::Made;
use crate::layout::{Pin, Spot};
use serde::{Deserialize, Serialize};

/// What a saw takes away unless a person says so, mm: 1/8 in, the table saw's blade (common practice, no source).
const KERF: f64 = 3.175;

/// Choices about boards, each of the stock of that name ([`lot_of`]).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Boards {
    /// What the saw takes away, mm; nothing for the usual.
    #[serde(default)]
    pub kerf: Option<f64>,
    /// How long and wide boards are bought, mm: see [`crate::part::Goods::sold`].
    #[serde(default)]
    pub sizes: Vec<(String, [f64; 2])>,
    /// Boards that are at hand: so many of a size, mm.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub at_hand: Vec<(String, [f64; 2], u32)>,
    /// Where pieces were put.
    #[serde(default)]
    pub pins: Vec<(String, Pin)>,
    /// What is to be kept clear.
    #[serde(default)]
    pub spots: Vec<(String, Spot)>,
    /// Pieces that are cut: the part, and which of it.
    #[serde(default)]
    pub cut: Vec<[u32; 2]>,
}

/// The name of the stock that a part is made of; parts of the same name come from the same boards.
pub fn lot_of(made: &Made) -> String {
    let species = made.species.map_or("", |s| s.name());
    [made.goods.name(), &made.stock, species].join("/")
}

impl Document {
    /// What the saw takes away, mm.
    pub fn kerf(&self) -> f64 {
        self.boards.kerf.unwrap_or(KERF)
    }

    /// The sizes of the boards of some stock that are at hand, mm, and how many there are of each.
    pub fn at_hand(&self, lot: &str) -> Vec<([f64; 2], u32)> {
        let own = self.boards.at_hand.iter().filter(|(name, ..)| name == lot);
        own.map(|(_, size, count)| (*size, *count)).collect()
    }

    /// How long and wide boards of some stock are bought, mm, where `longest` is the longest part: the size that was chosen, else
    /// the usual one, or the first that the part fits.
    pub fn board_size(&self, made: &Made, longest: f64) -> [f64; 2] {
        let lot = lot_of(made);
        let chosen = self.boards.sizes.iter().find(|(name, _)| *name == lot).map(|(_, size)| *size);
        let sold = made.goods.sold();
        let fits = sold.iter().find(|s| s[0] + 1e-6 >= longest).or(sold.first());
        chosen.or_else(|| fits.copied()).unwrap_or([0.0; 2])
    }
}
