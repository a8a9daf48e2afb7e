//! What a part does in use: how it moves with the seasons, how it sags under books.

use super::Sight;
use super::cutting::fine;
use crate::job::parts::PartChoice;
use crate::part::shelf::{BOOKS, KG_M, LB_FT, Shelf, YEARS, advised, modulus, seen};
use crate::part::stock::softwood_width;
use crate::part::wood::Sawn;
use crate::part::{Blank, Goods, Species};
use crate::words::{Arg, Say};

/// By so much does the moisture of wood indoors change over a year, per cent: common practice, no source.
const SEASONS: f64 = 4.0;
/// Narrower parts move too little to be told, mm.
const NARROW: f64 = 75.0;

/// Wider than any board that is sold: glued up.
pub fn glued(sight: &Sight, blank: &Blank) -> Option<String> {
    let wide = blank.stock.goods == Goods::Softwood && softwood_width(blank.width).is_none();
    wide.then(|| sight.word("cut.glue-up"))
}

/// By so much the moisture changes, per cent.
pub fn seasons(sight: &Sight) -> f64 {
    sight.document.about.moisture.unwrap_or(SEASONS)
}

/// How much wider it gets across the grain over a year.
pub fn moves(sight: &Sight, blank: &Blank, species: Option<Species>) -> Option<String> {
    let species = species.filter(|_| blank.width >= NARROW && !blank.stock.goods.is_sheet())?;
    let change = seasons(sight);
    let by = species.movement(blank.width, change, Sawn::Flat);
    let say = Say::new("cut.moves").text("by", sight.plus_minus(by).with_unit());
    Some(sight.say(&say.with("change", Arg::Number(change, 0))))
}

/// How far it sags as a shelf of books, whether that is seen, and how far such a shelf spans.
pub fn sags(sight: &Sight, blank: &Blank, species: Option<Species>, choice: &PartChoice) -> Option<String> {
    let goods = blank.stock.goods;
    let Some(modulus) = modulus(goods, species) else { return Some(sight.word("cut.no-species")) };
    let thickness = blank.thickness().ok()?;
    let (load, front_edge) = (choice.load.unwrap_or(BOOKS), choice.front_edge);
    let shelf = Shelf { span: blank.shoulder, depth: blank.width, thickness, modulus, load, front_edge };
    let sag = shelf.sag().ok()?;
    let told = |mm: f64| sight.unrounded(mm).with_unit();
    let key = if sag > seen(blank.shoulder) { "cut.sags-seen" } else { "cut.sags" };
    let (unit, one) = if sight.units.style.is_metric() { ("unit.kg-m", KG_M) } else { ("unit.lb-ft", LB_FT) };
    let say = Say::new(key).with("load", Arg::Number(load / one, 0)).text("unit", sight.word(unit));
    let say = say.text("now", told(sag)).text("least", told(sag * YEARS[0]));
    let say = say.text("most", told(sag * YEARS[1])).text("seen", told(seen(blank.shoulder)));
    let advice = Say::new("cut.span").text("span", fine(sight, advised(goods, species)));
    Some([sight.say(&say), sight.say(&advice)].join(" "))
}
