//! The search for few and full boards: every rule once, then a few boards at a time are emptied and filled anew, as long as there
//! is work to be done.
//!
//! # References
//! Emptying part of a good solution and filling it anew: Schrimpf et al., Journal of Computational Physics 159 (2000) 139–171.

use super::chance::Chance;
use super::fill::{Filling, Kind, Open, Rule};
use super::free::{around, pin_in, spot_in};
use super::measures::{ORDERS, better, cost, many, near, weight};
use super::{Board, Item, Laid, Lot, Pin, Placed, Rect, SAME, Spot, line};
use crate::fault::{Area, spoil};
use crate::words::Say;

/// Places looked at in one step: some ms.
const STEP: u64 = 200_000;
/// Places looked at for a lot at the most, and for each piece of it: a second for 100 pieces on a tablet at the most.
const MOST: u64 = 8_000_000;
const EACH: u64 = 80_000;
/// Once no board can be saved, only so much of that is spent on making the last one emptier.
const TIDY: u64 = 8;
/// A piece that was put this near to an edge lies at it, in board lengths: some mm under a finger.
const NEAR: f64 = 0.01;
/// No lot has more pieces: thousands are no job for a bench.
const MOST_PIECES: usize = 3_000;

/// How far the search is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// Places looked at.
    pub done: u64,
    /// All that will be at the most.
    pub of: u64,
}

/// Lots being laid out.
#[derive(Clone, Debug)]
pub struct Laying {
    lots: Vec<One>,
}

/// One lot being laid out.
#[derive(Clone, Debug)]
struct One {
    lot: Lot,
    /// What boards there are: those at hand, then those to be had, each smallest area first.
    kinds: Vec<Kind>,
    kerf: f64,
    /// Boards with pins or bad spots as they are before anything else lies on them.
    begun: Vec<Open>,
    /// Items to be laid, and those that can't be.
    free: Vec<usize>,
    left: Vec<usize>,
    unpinned: Vec<usize>,
    now: Vec<Open>,
    work: u64,
    most: u64,
    /// How many rules have been tried on everything.
    tried: usize,
    chance: Chance,
}

impl Laying {
    /// Takes lots.
    ///
    /// # Errors
    /// `layout.kerf` for one that is none, `layout.board` for boards of no size, `layout.many` for more pieces than anyone cuts.
    pub fn new(lots: Vec<Lot>) -> Result<Laying, Say> {
        let lots = lots.into_iter().map(One::new).collect::<Result<Vec<_>, Say>>()?;
        Ok(Laying { lots })
    }

    /// Does a little; once `done` is `of` there is no more to be done.
    pub fn step(&mut self) -> Progress {
        if let Some(one) = self.lots.iter_mut().find(|l| !l.done()) {
            one.step();
        }
        let of = self.lots.iter().map(|l| l.most).sum();
        let done = self.lots.iter().map(|l| if l.done() { l.most } else { l.work }).sum();
        Progress { done, of }
    }

    /// Each lot as well as it is laid by now.
    pub fn laid(&self) -> Vec<Laid> {
        self.lots.iter().map(One::laid).collect()
    }
}

impl One {
    fn new(lot: Lot) -> Result<One, Say> {
        let positive = |v: &f64| *v > 0.0 && *v < 1e6;
        if !(lot.kerf >= 0.0 && lot.kerf < 100.0) {
            return Err(Say::new("layout.kerf"));
        }
        let hand = lot.at_hand.iter().map(|(size, _)| size);
        if lot.boards.is_empty() || !lot.boards.iter().chain(hand).flatten().all(positive) {
            return Err(Say::new("layout.board"));
        }
        if lot.items.len() > MOST_PIECES {
            return Err(Say::new("layout.many").count("most", MOST_PIECES));
        }
        let area = |k: &Kind| k.size[0] * k.size[1];
        let mut kinds: Vec<Kind> =
            lot.at_hand.iter().map(|(size, n)| Kind { size: *size, many: Some(*n) }).collect();
        kinds.extend(lot.boards.iter().map(|size| Kind { size: *size, many: None }));
        crate::order::sort_by(&mut kinds, |a, b| {
            (a.many.is_none(), area(a))
                .partial_cmp(&(b.many.is_none(), area(b)))
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        let most = MOST.min(EACH.saturating_mul(lot.items.len() as u64)).max(1);
        let kerf = lot.kerf * spoil(Area::Layout, 0.5);
        let mut one = One {
            kinds,
            kerf,
            begun: Vec::new(),
            free: Vec::new(),
            left: Vec::new(),
            unpinned: Vec::new(),
            now: Vec::new(),
            work: 0,
            most,
            tried: 0,
            chance: Chance::new(),
            lot,
        };
        one.begin();
        Ok(one)
    }

    /// Puts the pins on their boards, and sorts out what can be laid.
    fn begin(&mut self) {
        let mut pinned: Vec<usize> = Vec::new();
        let mut kept: Vec<(Pin, usize)> = Vec::new();
        for pin in &self.lot.pins {
            let of = |i: &Item| i.part == pin.part && i.copy == pin.copy;
            let Some(index) = self.lot.items.iter().position(of) else { continue };
            // First where it meets an edge, else just where it was put.
            let ways = [self.snapped(pin, index, &kept), *pin];
            let lies = |way: &Pin| self.board(&[&kept[..], &[(*way, index)]].concat(), way.board).is_some();
            match ways.into_iter().find(lies).filter(|_| !pinned.contains(&index)) {
                Some(way) => {
                    kept.push((way, index));
                    pinned.push(index);
                }
                None => self.unpinned.push(index),
            }
        }
        let mut numbers: Vec<u32> =
            kept.iter().map(|(p, _)| p.board).chain(self.lot.spots.iter().map(|s| s.board)).collect();
        crate::order::sort_by_key(&mut numbers, |n| *n);
        numbers.dedup();
        let begun: Vec<Open> = numbers.iter().filter_map(|n| self.board(&kept, *n)).collect();
        let mut left = self.all();
        for board in begun {
            // Of a size of which there are so many at hand, the next one is bought, if it can be.
            let same =
                |(i, k): &(usize, &Kind)| near(&k.size, &board.size) && left.get(*i).is_some_and(|n| *n > 0);
            let found = self.kinds.iter().enumerate().find(same).map(|(i, k)| (i, k.many.is_some()));
            let Some((kind, at_hand)) = found else {
                let gone: Vec<usize> = board.placed.iter().map(|p| p.item).collect();
                pinned.retain(|i| !gone.contains(i));
                self.unpinned.extend(gone);
                continue;
            };
            if let Some(n) = left.get_mut(kind).filter(|_| at_hand) {
                *n -= 1;
            }
            self.begun.push(Open { kind, at_hand, ..board });
        }
        let fits = |item: &Item| {
            let positive = item.size.iter().all(|v| *v > 0.0);
            positive && self.kinds.iter().any(|k| k.many != Some(0) && k.takes(item))
        };
        let loose = self.lot.items.iter().enumerate().filter(|(i, _)| !pinned.contains(i));
        let (free, left): (Vec<_>, Vec<_>) = loose.partition(|(_, item)| fits(item));
        self.free = free.into_iter().map(|(i, _)| i).collect();
        self.left = left.into_iter().map(|(i, _)| i).collect();
    }

    /// A pin moved to the edges of the board, of other pins and of bad spots that it nearly meets: a finger is no straightedge.
    fn snapped(&self, pin: &Pin, index: usize, kept: &[(Pin, usize)]) -> Pin {
        let size = |i: usize| self.lot.items.get(i).map_or([0.0; 2], |item| item.size);
        let own = pin_in(pin, size(index), self.kerf);
        let others = kept.iter().filter(|(p, _)| p.board == pin.board);
        let spots = self.lot.spots.iter().filter(|s| s.board == pin.board);
        let rects: Vec<Rect> = others
            .map(|(p, i)| pin_in(p, size(*i), self.kerf))
            .chain(spots.map(|s| spot_in(s, self.kerf)))
            .collect();
        let mut out = *pin;
        for k in 0..2 {
            let ends = rects.iter().flat_map(|r| [r.end(k), r.at[k] - own.over[k]]);
            let edges = [0.0, pin.size[k] + self.kerf - own.over[k]].into_iter().chain(ends);
            let off = |v: &f64| (v - pin.at[k]).abs();
            let near = edges.filter(|v| *v >= -SAME).min_by(|a, b| off(a).total_cmp(&off(b)));
            let beyond = pin.at[k] < 0.0 || own.end(k) > pin.size[k] + self.kerf;
            if let Some(edge) = near.filter(|v| beyond || off(v) <= NEAR * pin.size[0]) {
                out.at[k] = edge;
            }
        }
        out
    }

    /// Board `number` with its pins and spots; nothing where they don't go together, or it is of no size that can be had.
    fn board(&self, pins: &[(Pin, usize)], number: u32) -> Option<Open> {
        let spots = || self.lot.spots.iter().filter(|s| s.board == number);
        let pins = || pins.iter().filter(|(p, _)| p.board == number);
        let size = pins().map(|(p, _)| p.size).next().or_else(|| spots().map(|s| s.size).next())?;
        let same = |a: &[f64; 2]| near(a, &size);
        let (index, kind) = self.kinds.iter().enumerate().find(|(_, k)| same(&k.size))?;
        let mut open = Open::new(index, kind, self.kerf);
        let board = *open.free.first()?;
        let spots: Vec<Rect> = spots().filter(|s| same(&s.size)).map(|s| spot_in(s, self.kerf)).collect();
        let mut rects: Vec<Rect> = Vec::new();
        for (pin, index) in pins() {
            let item = self.lot.items.get(*index)?;
            let rect = pin_in(pin, item.size, self.kerf);
            let inside = (0..2).all(|k| rect.at[k] >= -SAME && rect.end(k) <= board.over[k] + SAME);
            if !same(&pin.size) || !inside || rects.iter().chain(&spots).any(|r| r.meets(&rect)) {
                return None;
            }
            rects.push(rect);
            let over = if pin.turned { [item.size[1], item.size[0]] } else { item.size };
            open.placed.push(Placed { item: *index, at: pin.at, over, turned: pin.turned, pinned: true });
        }
        open.free = around(board, &rects, &spots)?;
        open.number = Some(number);
        Some(open)
    }

    fn done(&self) -> bool {
        self.work >= self.most
    }

    fn step(&mut self) {
        if self.free.is_empty() {
            self.now = self.begun.clone();
            self.work = self.most;
            return;
        }
        let until = self.work.saturating_add(STEP).min(self.most);
        while self.work < until {
            // However little there is to look at, a try is work too.
            self.work += 20;
            if self.tried < ORDERS * Rule::ALL {
                self.whole();
            } else {
                self.part();
            }
        }
    }

    fn filling(&self) -> Filling<'_> {
        Filling { items: &self.lot.items, kinds: &self.kinds, kerf: self.kerf }
    }

    /// How many boards there are of each kind.
    fn all(&self) -> Vec<u32> {
        self.kinds.iter().map(|k| k.many.unwrap_or(u32::MAX)).collect()
    }

    /// How many are left of each kind beside `used`.
    fn left<'b>(&self, used: impl Iterator<Item = &'b Open>) -> Vec<u32> {
        let mut left = self.all();
        for board in used.filter(|b| b.at_hand) {
            if let Some(n) = left.get_mut(board.kind) {
                *n = n.saturating_sub(1);
            }
        }
        left
    }

    /// Everything by the next rule; pieces end to end by their own.
    fn whole(&mut self) {
        let mut work = self.work;
        let mut order = self.free.clone();
        let key = self.tried / Rule::ALL;
        crate::order::sort_by(&mut order, |a, b| {
            weight(&self.lot.items, *b, key).total_cmp(&weight(&self.lot.items, *a, key))
        });
        let mut open = self.begun.clone();
        let first = self.tried == 0;
        if first && self.begun.is_empty() && self.is_line() {
            open = self.lines(&mut work);
            let lies = |i: &usize| open.iter().flat_map(|b: &Open| &b.placed).any(|p| p.item == *i);
            order.retain(|i| !lies(i));
        }
        let mut left = self.left(open.iter());
        self.filling().fill(&order, &mut open, &mut left, Rule::of(self.tried), f64::INFINITY, &mut work);
        self.work = work;
        if first
            || many(&open) > many(&self.now)
            || (many(&open) == many(&self.now) && better(&open, &self.now))
        {
            self.now = open;
        }
        self.tried += 1;
        if self.tried == ORDERS * Rule::ALL {
            self.saved();
        }
    }

    /// Pieces can only lie end to end: no two side by side on the narrowest board to be had that takes them, nor on any at hand.
    fn is_line(&self) -> bool {
        let items = || self.free.iter().filter_map(|i| self.lot.items.get(*i));
        let least = items().map(|i| i.size[1]).fold(f64::INFINITY, f64::min);
        let narrow = |i: &Item, k: &Kind| i.size[1] + least + self.kerf > k.size[1] + SAME;
        let line = |i: &Item| {
            let hand = self.kinds.iter().filter(|k| k.many.is_some() && k.takes(i));
            let mut all = hand.chain(self.bought(i).and_then(|k| self.kinds.get(k)));
            !i.turns && all.all(|k| narrow(i, k))
        };
        items().all(line)
    }

    /// The least board to be had that takes a piece.
    fn bought(&self, item: &Item) -> Option<usize> {
        self.kinds.iter().position(|k| k.many.is_none() && k.takes(item))
    }

    /// Boards filled end to end: those at hand with what fills them best, then those that are bought.
    fn lines(&self, work: &mut u64) -> Vec<Open> {
        let mut out = Vec::new();
        let mut rest = self.free.clone();
        let item = |i: &usize| self.lot.items.get(*i);
        let length = |i: &usize| item(i).map_or(0.0, |x| x.size[0] + self.kerf);
        for (index, kind) in self.kinds.iter().enumerate() {
            let own = |i: &&usize| match kind.many {
                Some(_) => item(i).is_some_and(|x| kind.takes(x)),
                None => item(i).and_then(|x| self.bought(x)) == Some(index),
            };
            let mine: Vec<usize> = rest.iter().filter(own).copied().collect();
            let lengths: Vec<f64> = mine.iter().map(length).collect();
            let mut groups = line::groups(&lengths, kind.size[0] + self.kerf, work);
            if let Some(many) = kind.many {
                let full = |g: &Vec<usize>| g.iter().filter_map(|k| lengths.get(*k)).sum::<f64>();
                crate::order::sort_by(&mut groups, |a, b| full(b).total_cmp(&full(a)));
                groups.truncate(many as usize);
            }
            for group in groups {
                let order: Vec<usize> = group.iter().filter_map(|k| mine.get(*k).copied()).collect();
                rest.retain(|i| !order.contains(i));
                let mut board = vec![Open::new(index, kind, self.kerf)];
                let rule = Rule { choose: 3, split: 4 };
                self.filling().fill(&order, &mut board, &mut [], rule, f64::INFINITY, work);
                out.extend(board);
            }
        }
        out
    }

    /// A few boards are emptied and filled anew.
    fn part(&mut self) {
        let n = self.now.len();
        let many = (2 + self.chance.below(4)).min(n);
        let mut chosen: Vec<usize> = Vec::new();
        // The weaker of two, so that weak boards are emptied more often.
        let share = |b: usize| self.now.get(b).map_or(1.0, Open::share);
        let (a, b) = (self.chance.below(n), self.chance.below(n));
        chosen.push(if share(a) <= share(b) { a } else { b });
        while chosen.len() < many {
            let next = self.chance.below(n);
            if !chosen.contains(&next) {
                chosen.push(next);
            }
        }
        let old: Vec<Open> = chosen.iter().filter_map(|b| self.now.get(*b).cloned()).collect();
        let mut open: Vec<Open> = Vec::new();
        for board in old.iter().filter(|b| b.number.is_some()) {
            open.extend(self.begun.iter().find(|s| s.number == board.number).cloned());
        }
        let mut order: Vec<usize> =
            old.iter().flat_map(|b| &b.placed).filter(|p| !p.pinned).map(|p| p.item).collect();
        self.shuffle(&mut order);
        let rule = Rule::of(self.chance.below(Rule::ALL));
        let most = cost(&old);
        let mut work = self.work;
        let stay = self.now.iter().enumerate().filter(|(i, _)| !chosen.contains(i)).map(|(_, b)| b);
        let mut left = self.left(stay.chain(&open));
        let all = self.filling().fill(&order, &mut open, &mut left, rule, most, &mut work);
        self.work = work;
        if !all || better(&old, &open) {
            return;
        }
        let saved = cost(&open) + SAME < most;
        let mut at = 0;
        self.now.retain(|_| {
            at += 1;
            !chosen.contains(&(at - 1))
        });
        self.now.extend(open);
        if saved {
            self.saved();
        }
    }

    /// Largest first, more or less.
    fn shuffle(&mut self, order: &mut Vec<usize>) {
        let key = self.chance.below(ORDERS);
        let noise = [0.0, 0.1, 0.3, 0.8, 4.0].get(self.chance.below(5)).copied().unwrap_or(0.0);
        let mut keyed: Vec<(f64, usize)> = Vec::with_capacity(order.len());
        for i in order.iter() {
            keyed.push((weight(&self.lot.items, *i, key) * (1.0 + noise * self.chance.share()), *i));
        }
        crate::order::sort_by(&mut keyed, |a, b| b.0.total_cmp(&a.0));
        *order = keyed.into_iter().map(|(_, i)| i).collect();
    }

    /// Where no board can be saved any more the search is cut short.
    fn saved(&mut self) {
        let grown = |[a, b]: [f64; 2]| (a + self.kerf) * (b + self.kerf);
        let used: Vec<&Open> = self.now.iter().filter(|b| !b.placed.is_empty()).collect();
        let pieces: f64 = used.iter().flat_map(|b| &b.placed).map(|p| grown(p.over)).sum();
        let boards: f64 = used.iter().map(|b| grown(b.size)).sum();
        let least = self.kinds.iter().map(|k| grown(k.size)).fold(f64::INFINITY, f64::min);
        let idle =
            self.left(self.now.iter()).iter().zip(&self.kinds).any(|(n, k)| k.many.is_some() && *n > 0);
        let buys = used.iter().any(|b| !b.at_hand);
        if (boards - least < pieces && !(idle && buys)) || used.len() < 2 {
            self.most = self.most.min(self.work + self.most / TIDY);
        }
    }

    fn laid(&self) -> Laid {
        let mut used: Vec<&Open> = self.now.iter().filter(|b| !b.placed.is_empty()).collect();
        // What is there already comes first, then what is bought, the fullest before the others.
        crate::order::sort_by(&mut used, |a, b| {
            b.at_hand.cmp(&a.at_hand).then(b.share().total_cmp(&a.share()))
        });
        let own: Vec<u32> = used.iter().filter_map(|b| b.number).collect();
        let mut free = (0u32..).filter(|n| !own.contains(n));
        let mut boards: Vec<Board> = used
            .iter()
            .map(|b| {
                let number = b.number.or_else(|| free.next()).unwrap_or(u32::MAX);
                let mine = |s: &&Spot| Some(s.board) == b.number;
                let spots = self.lot.spots.iter().filter(mine).copied().collect();
                Board { number, size: b.size, at_hand: b.at_hand, placed: b.placed.clone(), spots }
            })
            .collect();
        crate::order::sort_by_key(&mut boards, |b| b.number);
        // What only fits boards at hand, of which there are too few.
        let lies = |i: &&usize| boards.iter().flat_map(|b| &b.placed).any(|p| p.item == **i);
        let over = self.free.iter().filter(|i| !lies(i)).copied();
        let left = self.left.iter().copied().chain(over).collect();
        Laid { boards, left, unpinned: self.unpinned.clone() }
    }
}
