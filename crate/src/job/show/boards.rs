//! Boards: which parts come from which stock, as it is laid out, and what a person can choose about them.

use super::cutting::{Cut, ask, cuts, figure, fine, stock_named};
use super::{Sight, say};
use crate::job::document::Grain;
use crate::job::intent::{About, Intent};
use crate::job::layout::lot_of;
use crate::job::parts::Made;
use crate::job::scene::{Key, StockShown};
use crate::layout::{Item, Lot};
use crate::sheet::order::{Boards, Piece, Stack};
use crate::words::Say;

/// No lot of pieces is larger than what can be laid out ([`crate::layout`]): more of one part are left out.
const MOST: u32 = 3_000;

/// Parts of one stock.
struct Group<'a> {
    name: String,
    made: &'a Made,
    /// In the order of their letters.
    cuts: Vec<&'a Cut<'a>>,
}

fn groups<'a>(cuts: &'a [Cut<'a>]) -> Vec<Group<'a>> {
    let mut out: Vec<Group> = Vec::new();
    for cut in cuts {
        let (Ok(_), Some((_, made))) = (&cut.blank, cut.made) else { continue };
        let name = lot_of(made);
        match out.iter_mut().find(|g| g.name == name) {
            Some(group) => group.cuts.push(cut),
            None => out.push(Group { name, made, cuts: vec![cut] }),
        }
    }
    out
}

/// What is laid out; nothing where no part has a size and a stock.
pub fn piece(sight: &Sight) -> Option<Piece> {
    let cuts = cuts(sight);
    let lots: Vec<Stack> = groups(&cuts).iter().map(|g| stack(sight, g)).collect();
    (!lots.is_empty()).then(|| Piece::Boards(Boards { title: sight.word("list.boards"), lots }))
}

fn title(sight: &Sight, made: &Made) -> String {
    let stock = made.row().map(|s| stock_named(sight, &s));
    let species = made.species.map(|s| sight.word(&format!("species.{}", s.name())));
    stock.into_iter().chain(species).collect::<Vec<_>>().join(", ")
}

/// How long and wide a group's boards are bought.
fn size(sight: &Sight, group: &Group) -> [f64; 2] {
    let longest = |c: &&Cut| c.blank.as_ref().ok().and_then(|b| b.cut().ok());
    sight.document.board_size(group.made, group.cuts.iter().filter_map(longest).fold(0.0, f64::max))
}

fn stack(sight: &Sight, group: &Group) -> Stack {
    let Group { name, made, cuts } = group;
    let goods = made.goods;
    let mut items: Vec<Item> = Vec::new();
    for cut in cuts {
        let Ok(blank) = &cut.blank else { continue };
        let Ok(length) = blank.cut() else { continue };
        let turns = goods.no_grain() || sight.document.pattern(cut.id).grain == Grain::None;
        let item = |copy| Item { part: cut.id, copy, size: [length, blank.width], turns };
        items.extend((0..cut.quantity.min(MOST)).map(item));
    }
    let lot = Lot {
        boards: goods.wide(size(sight, group), items.iter().map(|i| i.size[1])),
        items,
        at_hand: sight.document.at_hand(name),
        kerf: sight.document.kerf(),
        pins: own(&sight.document.boards.pins, name),
        spots: own(&sight.document.boards.spots, name),
    };
    Stack {
        name: name.clone(),
        title: title(sight, made),
        sheets: goods.is_sheet(),
        letters: cuts.iter().map(|c| (c.id, c.letter.clone())).collect(),
        lot,
    }
}

/// What is told of a stock.
fn own<T: Copy>(all: &[(String, T)], name: &str) -> Vec<T> {
    all.iter().filter(|(lot, _)| lot == name).map(|(_, one)| *one).collect()
}

/// What can be chosen about each stock's boards.
pub fn stocks(sight: &Sight, cuts: &[Cut]) -> Vec<StockShown> {
    let key = |group: &Group| {
        let mark = group.cuts.first().map_or(0, |c| c.id);
        let now = size(sight, group);
        let mut keys: Vec<Key> =
            group.made.goods.sold().iter().map(|s| size_key(sight, group, *s, now)).collect();
        if !group.made.goods.sold().contains(&now) {
            keys.push(size_key(sight, group, now, now));
        }
        keys.push(ask(sight, "board-length", mark, About::BoardLength));
        if now[1] > 0.0 {
            keys.push(ask(sight, "board-width", mark, About::BoardWidth));
        }
        keys.extend(hand_keys(sight, group, now));
        let kerf = Say::new("key.kerf").text("kerf", fine(sight, sight.document.kerf()));
        let kerf = say::key(sight, "kerf", Intent::Ask { about: About::Kerf }).labelled(sight.say(&kerf));
        keys.push(kerf);
        StockShown { lot: group.name.clone(), title: title(sight, group.made), keys }
    };
    groups(cuts).iter().map(key).collect()
}

/// Of how many boards there are: one more of the size that is chosen (in each width that its parts need), one fewer of those.
fn hand_keys(sight: &Sight, group: &Group, now: [f64; 2]) -> Vec<Key> {
    let told = |[long, wide]: [f64; 2]| {
        let say = Say::new("sheet.piece-size").text("length", figure(sight, long));
        sight.say(&say.text("width", figure(sight, wide)))
    };
    let at_hand = sight.document.at_hand(&group.name);
    let widths = group.cuts.iter().filter_map(|c| c.blank.as_ref().ok()).map(|b| b.width);
    let key = |id: &str, key: &'static str, size: [f64; 2], now: u32, count: u32| {
        let fact = Intent::SetAtHand { lot: group.name.clone(), size, count };
        let say = Say::new(key).text("size", told(size)).count("count", now as usize);
        let id = format!("{id}-{}-{}", libm::round(size[0]), libm::round(size[1]));
        let mut key = say::key(sight, "at-hand", fact).labelled(sight.say(&say));
        key.id = id;
        key
    };
    let more = group.made.goods.wide(now, widths).into_iter().map(|size| {
        let count = at_hand.iter().find(|(s, _)| *s == size).map_or(0, |(_, n)| *n);
        key("hand", "boards.hand-more", size, count, count + 1)
    });
    let fewer =
        at_hand.iter().map(|(size, n)| key("hand-less", "boards.hand-fewer", *size, *n, n - 1).pressed(true));
    more.chain(fewer).collect()
}

fn size_key(sight: &Sight, group: &Group, size: [f64; 2], now: [f64; 2]) -> Key {
    let [long, wide] = size;
    let label = if wide > 0.0 {
        let say = Say::new("sheet.piece-size").text("length", figure(sight, long));
        sight.say(&say.text("width", figure(sight, wide)))
    } else {
        figure(sight, long)
    };
    let id = format!("board-{}-{}", libm::round(long), libm::round(wide));
    let fact = Intent::SetBoards { lot: group.name.clone(), size };
    say::key(sight, &id, fact).labelled(label).pressed(size == now)
}
