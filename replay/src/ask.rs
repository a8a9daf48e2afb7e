//! What can be asked about parts, so that every figure of theirs can be held against something outside. Lengths in mm.

use scrieve::estimate::{Estimate, Source};
use scrieve::part::amount::{board_feet, square_feet, to_buy, waste};
use scrieve::part::blank::chokes;
use scrieve::part::joint::cut_length;
use scrieve::part::propeller::Propeller;
use scrieve::part::region::{Ring, region};
use scrieve::part::shelf::Shelf;
use scrieve::part::stock::{Offer, widths};
use scrieve::part::vane::{Piece, Vane, WOOD_VARIES, weight};
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
    /// Area and centre of shapes, each an outer ring and its holes, what lies over one another counted once.
    Region(Vec<Vec<Ring>>),
    /// kg of so many pieces of an area and a thickness, and the half-width of that.
    Piece { species: Species, moisture: f64, area: f64, thickness: f64, count: f64 },
    /// A vane: each piece's area, place along the body and kg; the pivot, the ends. Standard uncertainty of each place.
    Vane { pieces: Vec<[f64; 3]>, pivot: f64, ends: [f64; 2], front_first: bool, u: f64 },
    /// What a propeller is made from, and what of it a wind from the side meets.
    Propeller(Propeller),
}

/// How a vane faces the wind and hangs: values and half-widths.
fn vane(pieces: &[[f64; 3]], pivot: f64, ends: [f64; 2], front_first: bool, u: f64) -> Value {
    let at = |x: f64, i: usize| Estimate::of(x, Source::Click(i as u32, 0, 0), u);
    let piece = |(i, [area, x, kg]): (usize, &[f64; 3])| Piece {
        area: Estimate::exact(*area),
        centre: at(*x, i + 1),
        kg: Some(Estimate::exact(*kg)),
    };
    let pieces = pieces.iter().enumerate().map(piece).collect();
    let pivot = at(pivot, 0);
    let vane = Vane { pieces, more: None, once: None, loads: Vec::new(), pivot, ends, front_first };
    let both = |e: &Estimate| json!([e.value, e.half_width()]);
    let faces = vane.faces().map(|f| {
        json!({ "centre": both(&f.centre), "lever": both(&f.lever), "share": f.share.value, "pivot": f.pivot.value,
            "forward": f.forward, "larger": f.larger })
    });
    let hangs = vane.hangs().map(|h| json!({ "kg": h.kg.value, "behind": both(&h.behind), "add": h.add }));
    json!({ "faces": faces, "hangs": hangs })
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
            Part::Region(shapes) => json!(region(&shapes)),
            Part::Piece { species, moisture, area, thickness, count } => {
                let varies = Estimate::of(1.0, Source::Spread(0, 0), WOOD_VARIES);
                let density = species.density(moisture)?;
                let kg = weight(&Estimate::exact(area), thickness, density, count, &varies);
                json!([kg.value, kg.half_width()])
            }
            Part::Vane { pieces, pivot, ends, front_first, u } => vane(&pieces, pivot, ends, front_first, u),
            Part::Propeller(propeller) => {
                propeller.check()?;
                json!({ "stick": propeller.stick(), "side": propeller.side_area() })
            }
        };
        Ok(json!({ "part": value }))
    }
}
