//! The cutting list in rows and columns: on paper, and as a table file.

use super::Sight;
use super::bought::{named, to_buy};
use super::buy::buy;
use super::cutting::{Cut, all, cautions, figure, fine};
use crate::job::csv;
use crate::job::desk::Desk;
use crate::job::scene::Traced;
use crate::part::Bought;
use crate::sheet::order::{CuttingList, Piece};
use crate::words::Say;

/// The list to be printed; nothing where nothing is to be cut.
pub fn piece(sight: &Sight) -> Option<Piece> {
    let mut cuts = all(sight);
    let bought = to_buy(sight, &cuts);
    cuts.retain(Cut::is_cut);
    if cuts.is_empty() && bought.is_empty() {
        return None;
    }
    let metric = sight.units.style.is_metric();
    let size = if metric { "list.size-metric" } else { "list.size" };
    let heads = ["list.letter", "list.part", "list.count", size, "list.cut", "list.material", "list.from"];
    let rows = cuts.iter().map(|c| {
        let cut = [c.length(sight), c.reason(sight)];
        let material = [c.material(sight), c.grain(sight), c.amount(sight)];
        let from = [c.from(sight), c.notes(sight)].concat();
        vec![
            c.letter.clone(),
            c.name(sight),
            c.quantity.to_string(),
            c.sizes(sight),
            joined(cut.into(), ": "),
            joined(material.into(), "; "),
            joined(from, "; "),
        ]
    });
    let rows = rows.collect();
    let told = |lines: Vec<Traced>| lines.into_iter().map(|t| t.text).collect();
    let lines = [
        told(bought),
        told(buy(sight, &cuts)),
        super::order::built_at(sight).into_iter().collect(),
        vec![sight.word("buy.note")],
    ];
    Some(Piece::List(CuttingList {
        title: sight.word("list.title"),
        heads: heads.map(|key| sight.word(key)).to_vec(),
        rows,
        lines: lines.concat(),
        cautions: cautions(sight, &cuts),
    }))
}

/// What isn't empty, one after the other.
fn joined(all: Vec<String>, by: &str) -> String {
    all.into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(by)
}

/// Heads of the table file's columns, by their names in the words file.
const HEADS: [&str; 16] = [
    "list.letter",
    "list.part",
    "list.count",
    "list.csv-thickness",
    "list.csv-width",
    "list.csv-length",
    "list.cut",
    "list.csv-why",
    "list.csv-cut-unrounded",
    "list.csv-width-unrounded",
    "list.csv-thickness-unrounded",
    "list.material",
    "list.csv-grain",
    "list.csv-amount",
    "list.from",
    "list.csv-notes",
];

/// The list as comma-separated values, a row for each part.
pub fn table(desk: &Desk) -> String {
    let sight = super::sight(desk);
    let crib = sight.document.about.thing == Some(crate::part::check::Thing::Crib);
    let mut cuts = all(&sight);
    cuts.retain(|c| !c.choice.left_out && !crib);
    // What is bought stands below what is cut.
    crate::order::sort_by_key(&mut cuts, |c| c.choice.bought.is_some());
    let rows: Vec<Vec<String>> = cuts.iter().map(|c| row(&sight, c)).collect();
    csv::table(&HEADS.map(|key| sight.word(key)), &rows)
}

fn row(sight: &Sight, cut: &Cut) -> Vec<String> {
    let rounded = |mm: f64| figure(sight, mm);
    let exact = |mm: Option<f64>| mm.map_or_else(String::new, |mm| sight.unrounded(mm).with_unit());
    let size = |i: usize| cut.size.as_ref().and_then(|s| s.get(i)).map(|e| e[0]);
    let told = |i: usize| size(i).map_or_else(String::new, rounded);
    if let Some(bought) = cut.choice.bought {
        return bought_row(sight, cut, &bought);
    }
    let thick = cut.thickness();
    let added: f64 = cut.choice.ends.iter().map(crate::part::End::adds).sum();
    vec![
        cut.letter.clone(),
        cut.name(sight),
        cut.quantity.to_string(),
        thick.map_or_else(String::new, |mm| fine(sight, mm)),
        told(1),
        told(0),
        cut.length(sight),
        cut.reason(sight),
        exact(size(0).map(|mm| mm + added)),
        exact(size(1)),
        exact(thick),
        cut.material(sight),
        cut.grain(sight),
        cut.amount(sight),
        joined(cut.from(sight), "; "),
        joined(cut.notes(sight), "; "),
    ]
}

/// The same of what is bought: nothing is cut, but a dowel to its length.
fn bought_row(sight: &Sight, cut: &Cut, bought: &Bought) -> Vec<String> {
    let length = cut.size.filter(|_| bought.ware.is_cut()).map(|[[mm, _], _]| mm);
    let told = |mm: f64| figure(sight, mm);
    let mut row = vec![String::new(); HEADS.len()];
    let cells = [
        (0, cut.letter.clone()),
        (1, cut.name(sight)),
        (2, cut.quantity.to_string()),
        (3, fine(sight, bought.thickness())),
        (4, fine(sight, bought.across)),
        (5, length.map_or_else(|| fine(sight, bought.across), told)),
        (6, length.map_or_else(String::new, told)),
        (11, sight.say(&Say::new("bought.stock").text("what", named(sight, bought)))),
        (14, cut.bought_told(sight)),
    ];
    for (i, text) in cells {
        if let Some(cell) = row.get_mut(i) {
            *cell = text;
        }
    }
    row
}

/// What the page shows under the parts: what to buy, and what to heed.
pub fn below(sight: &Sight, cuts: &[Cut]) -> Vec<Traced> {
    if cuts.is_empty() {
        return Vec::new();
    }
    let heed = cautions(sight, cuts).into_iter().map(Traced::from);
    buy(sight, cuts).into_iter().chain(heed).collect()
}
