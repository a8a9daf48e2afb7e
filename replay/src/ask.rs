//! What can be asked about parts, so that every figure of theirs can be held against something outside. Lengths in mm.

use scrieve::part::amount::{board_feet, square_feet, to_buy, waste};
use scrieve::part::blank::chokes;
use scrieve::part::joint::cut_length;
use scrieve::part::shelf::Shelf;
use scrieve::part::stock::{Offer, widths};
use scrieve::part::wood::Sawn;
use scrieve::part::{End, Goods, Species};
use scrieve::words::Say;
use serde::Deserialize;
use serde_json::{Value, json};

/// One question.
#[derive(Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// Every thickness of some goods: name, nominal, actual.
    Stock(Goods),
    /// Every width of softwood: nominal, actual.
    Widths,
    /// What a measured thickness may be.
    Offered { goods: Goods, thickness: f64 },
    /// Board feet of nominal thickness, width, length.
    BoardFeet([f64; 3]),
    /// Square feet of width, length.
    SquareFeet([f64; 2]),
    /// What to buy of some goods for so much: at the least waste, at the most.
    Buy { goods: Goods, net: f64 },
    /// kg/m³, and kg of so many mm³.
    Weight { species: Species, moisture: f64, volume: f64 },
    /// How much wider it gets.
    Movement { species: Species, width: f64, change: f64, sawn: Sawn },
    /// How far a shelf sags.
    Sag(Shelf),
    /// The length to cut.
    Cut { shoulder: f64, ends: [End; 2] },
    /// Whether a child may choke on it: three sides.
    Chokes([f64; 3]),
}

impl Part {
    /// `{"part": …}`.
    pub fn answer(self) -> Result<Value, Say> {
        let value = match self {
            Part::Stock(goods) => json!(goods.all()),
            Part::Widths => json!(widths()),
            Part::Offered { goods, thickness } => {
                json!(goods.offered(thickness).iter().map(Offer::thickness).collect::<Vec<f64>>())
            }
            Part::BoardFeet([t, w, l]) => json!(board_feet(t, w, l)),
            Part::SquareFeet([w, l]) => json!(square_feet(w, l)),
            Part::Buy { goods, net } => {
                let [least, most] = waste(goods);
                json!([to_buy(net, least)?, to_buy(net, most)?])
            }
            Part::Weight { species, moisture, volume } => {
                json!([species.density(moisture)?, species.weight(volume, moisture)?])
            }
            Part::Movement { species, width, change, sawn } => json!(species.movement(width, change, sawn)),
            Part::Sag(shelf) => json!(shelf.sag()?),
            Part::Cut { shoulder, ends } => json!(cut_length(shoulder, ends)?),
            Part::Chokes(sides) => json!(chokes(sides)),
        };
        Ok(json!({ "part": value }))
    }
}
