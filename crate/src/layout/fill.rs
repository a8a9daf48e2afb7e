//! Filling boards one piece after the other, in an order and by a rule that the search chooses.
//!
//! # References
//! Free rectangles that a guillotine leaves, the rules by which one is chosen and split: Jylänki, "A Thousand Ways to Pack the
//! Bin", 2010, section 2.

use super::{Item, Placed, Rect, SAME};

/// By which free rectangle a piece is taken up, and which way the rest of that is split.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Rule {
    /// 0: the least area is left; 1: the least on the tighter side; 2: on the wider side; 3: first the boards that came first.
    pub choose: u8,
    /// 0: the shorter rest is cut off first; 1: the longer; 2: the larger rest stays as large as it can; 3: as small; 4: always
    /// right across; 5: always along.
    pub split: u8,
}

impl Rule {
    pub const ALL: usize = 24;

    /// The `i`th of all rules.
    pub fn of(i: usize) -> Rule {
        Rule { choose: (i % 4) as u8, split: (i / 4 % 6) as u8 }
    }
}

/// Boards of one size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Kind {
    pub size: [f64; 2],
    /// How many there are; nothing for as many as it takes.
    pub many: Option<u32>,
}

/// What a board that is at hand costs, of one that is bought: so little that none is bought while others lie idle, so much that
/// those at hand are used well.
const IDLE: f64 = 0.01;

impl Kind {
    pub fn takes(&self, item: &Item) -> bool {
        ways(item).any(|(_, over)| (0..2).all(|k| over[k] <= self.size[k] + SAME))
    }
}

/// A board that is being filled, and all on it, a kerf larger at the far sides.
#[derive(Clone, Debug)]
pub(super) struct Open {
    /// Its number where pins or bad spots are on it; others are numbered at the end.
    pub number: Option<u32>,
    /// Of which kind it is.
    pub kind: usize,
    /// It was there already.
    pub at_hand: bool,
    /// Without the kerf.
    pub size: [f64; 2],
    /// What is free.
    pub free: Vec<Rect>,
    /// What lies on it.
    pub placed: Vec<Placed>,
}

impl Open {
    /// An empty one.
    pub fn new(index: usize, kind: &Kind, kerf: f64) -> Open {
        let whole = Rect { at: [0.0; 2], over: kind.size.map(|v| v + kerf) };
        let (size, at_hand) = (kind.size, kind.many.is_some());
        Open { number: None, kind: index, at_hand, size, free: vec![whole], placed: Vec::new() }
    }

    /// What it costs: its area, where it is bought.
    pub fn cost(&self) -> f64 {
        self.area() * if self.at_hand { IDLE } else { 1.0 }
    }

    /// The area of it.
    pub fn area(&self) -> f64 {
        self.size[0] * self.size[1]
    }

    /// The share of it that pieces take.
    pub fn share(&self) -> f64 {
        self.placed.iter().map(|p| p.over[0] * p.over[1]).sum::<f64>() / self.area()
    }
}

/// What a filling needs to know.
pub(super) struct Filling<'a> {
    pub items: &'a [Item],
    /// Boards at hand, then those to be had, each smallest area first.
    pub kinds: &'a [Kind],
    pub kerf: f64,
}

/// Where a piece could go.
struct Choice {
    score: f64,
    board: usize,
    free: usize,
    turned: bool,
}

impl Filling<'_> {
    /// Puts the items of `order` on the boards of `open` and on new ones, of each kind no more than `left`, which it takes them
    /// from; `work` counts the places that were looked at. False as soon as the boards cost more than `most`, and where no board was
    /// left for an item.
    pub fn fill(
        &self,
        order: &[usize],
        open: &mut Vec<Open>,
        left: &mut [u32],
        rule: Rule,
        most: f64,
        work: &mut u64,
    ) -> bool {
        // A board that was there already and is still empty costs nothing yet.
        let mut cost: f64 = open.iter().filter(|b| !b.placed.is_empty()).map(Open::cost).sum();
        let mut whole = true;
        for &i in order {
            let Some(item) = self.items.get(i) else { continue };
            let mut choice = best(open, item, self.kerf, rule, work);
            let there = |(i, kind): &(usize, &Kind)| left.get(*i).is_some_and(|n| *n > 0) && kind.takes(item);
            if choice.is_none()
                && let Some((index, kind)) = self.kinds.iter().enumerate().find(there)
            {
                if let (Some(n), Some(_)) = (left.get_mut(index), kind.many) {
                    *n -= 1;
                }
                open.push(Open::new(index, kind, self.kerf));
                let last = open.len() - 1;
                choice = best(open.get(last..).unwrap_or_default(), item, self.kerf, rule, work)
                    .map(|c| Choice { board: last, ..c });
            }
            let Some(choice) = choice else {
                whole = false;
                continue;
            };
            if let Some(board) = open.get_mut(choice.board) {
                if board.placed.is_empty() {
                    cost += board.cost();
                    if cost > most + SAME {
                        return false;
                    }
                }
                put(board, i, item, &choice, self.kerf, rule);
            }
        }
        whole
    }
}

/// The ways a piece may lie: turned or not, and how far it then goes.
fn ways(item: &Item) -> impl Iterator<Item = (bool, [f64; 2])> {
    let [a, b] = item.size;
    let turned = (item.turns && (a - b).abs() > SAME).then_some((true, [b, a]));
    [(false, [a, b])].into_iter().chain(turned)
}

fn best(open: &[Open], item: &Item, kerf: f64, rule: Rule, work: &mut u64) -> Option<Choice> {
    let mut best: Option<Choice> = None;
    for (turned, [a, b]) in ways(item) {
        let (a, b) = (a + kerf, b + kerf);
        for (board, one) in open.iter().enumerate() {
            *work += one.free.len() as u64;
            for (free, rect) in one.free.iter().enumerate() {
                let (du, dv) = (rect.over[0] - a, rect.over[1] - b);
                if du < -SAME || dv < -SAME {
                    continue;
                }
                let score = match rule.choose {
                    0 => rect.over[0] * rect.over[1] - a * b,
                    1 => du.min(dv),
                    2 => du.max(dv),
                    _ => board as f64 * 1e9 + du.min(dv),
                };
                if best.as_ref().is_none_or(|c| score < c.score) {
                    best = Some(Choice { score, board, free, turned });
                }
            }
        }
    }
    best
}

/// Puts a piece into the corner of a free rectangle and cuts the rest of that in two.
fn put(board: &mut Open, index: usize, item: &Item, choice: &Choice, kerf: f64, rule: Rule) {
    if choice.free >= board.free.len() {
        return;
    }
    let rect = board.free.swap_remove(choice.free);
    let over = if choice.turned { [item.size[1], item.size[0]] } else { item.size };
    board.placed.push(Placed { item: index, at: rect.at, over, turned: choice.turned, pinned: false });
    let cut = over.map(|v| v + kerf);
    let rest = [rect.over[0] - cut[0], rect.over[1] - cut[1]];
    // The first cut runs right across at the piece's end (the rest above it is as long as the piece), or along its edge.
    let across_first = match rule.split {
        0 => rest[0] >= rest[1],
        1 => rest[0] < rest[1],
        // The larger of the two rests: right of the piece the whole height, or above it the whole length.
        2 => rest[0] * rect.over[1] >= rest[1] * rect.over[0],
        3 => rest[0] * rect.over[1] < rest[1] * rect.over[0],
        4 => true,
        _ => false,
    };
    let right = Rect {
        at: [rect.at[0] + cut[0], rect.at[1]],
        over: [rest[0], if across_first { rect.over[1] } else { cut[1] }],
    };
    let above = Rect {
        at: [rect.at[0], rect.at[1] + cut[1]],
        over: [if across_first { cut[0] } else { rect.over[0] }, rest[1]],
    };
    // What a kerf eats whole is nothing.
    let counts = |r: &Rect| r.over.iter().all(|v| *v > kerf + SAME);
    board.free.extend([right, above].into_iter().filter(counts));
}
