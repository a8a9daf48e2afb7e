//! What to buy for a cutting list, and what it all weighs.

use super::Sight;
use super::cutting::{Cut, fine, stock_named};
use crate::job::intent::{About, Intent};
use crate::job::parts::Made;
use crate::job::scene::Traced;
use crate::mark::Quantity;
use crate::part::amount::{SHEET_FEET, SHEET_METRES, to_buy, waste};
use crate::part::stock::softwood_width;
use crate::part::{Blank, Goods, Stock};
use crate::words::{Arg, Say};

/// A square foot in square metres, exactly.
const SQUARE_FOOT: f64 = 0.304_8 * 0.304_8;
/// A board foot is a twelfth of a square foot of 1 in: as m³.
const BOARD_FOOT: f64 = SQUARE_FOOT * 0.025_4;
/// Kilograms in a pound, exactly.
const POUND: f64 = 0.453_592_37;
/// The moisture of wood in a dry shop, per cent: what weights are told at. The species' figures are for this.
pub const DRY: f64 = 12.0;

/// So much of some goods, in the unit it is sold by: board feet, square feet, m³ of boards in mm, m² of sheets in mm.
pub fn amount(sight: &Sight, net: f64, goods: Goods) -> String {
    let (key, value, decimals) = match (goods.is_sheet(), goods.is_metric()) {
        (true, true) => ("buy.square-metres", net * SQUARE_FOOT, 3),
        (true, false) => ("buy.square-feet", net, 2),
        (false, true) => ("buy.cubic-metres", net * BOARD_FOOT, 4),
        (false, false) => ("buy.board-feet", net, 2),
    };
    sight.say(&Say::new(key).with("amount", Arg::Number(value, decimals)))
}

/// Stock that several parts share.
struct Lot<'a> {
    made: &'a Made,
    stock: Stock,
    net: f64,
    /// Of softwood: nominal widths and how much of each end to end, mm.
    runs: Vec<[f64; 2]>,
    letters: Vec<&'a str>,
    /// The first of its parts.
    first: u32,
}

fn lots<'a>(cuts: &'a [Cut]) -> Vec<Lot<'a>> {
    let mut lots: Vec<Lot> = Vec::new();
    for cut in cuts {
        let (Ok(blank), Some((_, made))) = (&cut.blank, cut.made) else { continue };
        let Ok(net) = blank.net() else { continue };
        let same = |l: &Lot| l.stock == blank.stock && l.made.species == made.species;
        let at = lots.iter().position(same).unwrap_or_else(|| {
            lots.push(Lot {
                made,
                stock: blank.stock,
                net: 0.0,
                runs: Vec::new(),
                letters: Vec::new(),
                first: cut.id,
            });
            lots.len() - 1
        });
        if let Some(lot) = lots.get_mut(at) {
            lot.net += net;
            lot.letters.push(&cut.letter);
            run(lot, blank);
        }
    }
    lots
}

fn run(lot: &mut Lot, blank: &Blank) {
    let width = softwood_width(blank.width).filter(|_| blank.stock.goods == Goods::Softwood);
    let (Some([nominal, _]), Ok(run)) = (width, blank.run()) else { return };
    match lot.runs.iter_mut().find(|[w, _]| *w == nominal) {
        Some([_, length]) => *length += run,
        None => lot.runs.push([nominal, run]),
    }
}

/// What to buy, a line for each stock, and the weight of all whose species is known.
pub fn buy(sight: &Sight, cuts: &[Cut]) -> Vec<Traced> {
    let mut out = Vec::new();
    for lot in lots(cuts) {
        let goods = lot.stock.goods;
        let [_, most] = waste(goods);
        let Ok(gross) = to_buy(lot.net, most) else { continue };
        let species = lot.made.species.map(|s| sight.word(&format!("species.{}", s.name())));
        let name =
            std::iter::once(stock_named(sight, &lot.stock)).chain(species).collect::<Vec<_>>().join(", ");
        let say = Say::new("buy.stock").text("stock", name).text("letters", lot.letters.join(", "));
        let say = say.text("net", amount(sight, lot.net, goods)).text("gross", amount(sight, gross, goods));
        let mut line = sight.say(&say.with("waste", Arg::Number(100.0 * most, 0)));
        if goods.is_sheet() {
            let one = if goods.is_metric() { SHEET_METRES / SQUARE_FOOT } else { SHEET_FEET };
            let key = if goods.is_metric() { "buy.sheets-metric" } else { "buy.sheets" };
            line.push(' ');
            line.push_str(&sight.say(&Say::new(key).with("sheets", Arg::Number(gross / one, 2))));
        }
        for [width, length] in &lot.runs {
            let say = Say::new("buy.run").text("width", fine(sight, *width));
            line.push(' ');
            line.push_str(&sight.say(&say.with("feet", Arg::Number(length / 304.8, 1))));
        }
        out.push(Traced::to(line, stock(lot.first)));
    }
    out.extend(weight(sight, cuts));
    out
}

/// Where an amount comes from.
fn stock(mark: u32) -> Intent {
    Intent::AskPart { mark, about: About::PartStock }
}

fn weight(sight: &Sight, cuts: &[Cut]) -> Option<Traced> {
    let known = cuts.iter().filter_map(|cut| {
        let species = cut.made.filter(|(_, m)| !m.goods.is_sheet()).and_then(|(_, m)| m.species)?;
        let blank = cut.blank.as_ref().ok()?;
        // What no outline shows is taken for a board.
        let area = match cut.seen {
            Some((_, reading)) => super::order::finished(sight, reading, Quantity::Area)?.value,
            None => blank.shoulder * blank.width,
        };
        let volume = area * blank.thickness().ok()?;
        Some((species.weight(volume, DRY).ok()? * f64::from(cut.quantity), cut))
    });
    let known: Vec<(f64, &Cut)> = known.collect();
    let (_, first) = known.first()?;
    let kg: f64 = known.iter().map(|(kg, _)| kg).sum();
    let letters: Vec<&str> = known.iter().map(|(_, c)| c.letter.as_str()).collect();
    let (key, value) =
        if sight.units.style.is_metric() { ("buy.kilograms", kg) } else { ("buy.pounds", kg / POUND) };
    let say = Say::new(key).with("weight", Arg::Number(value, 2)).text("letters", letters.join(", "));
    Some(Traced::to(sight.say(&say.with("moisture", Arg::Number(DRY, 0))), stock(first.id)))
}
