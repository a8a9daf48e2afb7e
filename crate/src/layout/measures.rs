//! By what the search puts pieces in order and tells the better of two fillings.

use super::fill::Open;
use super::{Item, SAME};

/// By how many measures pieces are put in order.
pub const ORDERS: usize = 5;

/// How large a piece is, by one of these measures.
pub fn weight(items: &[Item], i: usize, key: usize) -> f64 {
    let [a, b] = items.get(i).map_or([0.0; 2], |x| x.size);
    match key {
        0 => a * b,
        1 => a.max(b) * 1e4 + a.min(b),
        2 => b * 1e4 + a,
        3 => a * 1e4 + b,
        _ => a + b,
    }
}

/// What the boards cost that something lies on.
pub fn cost(boards: &[Open]) -> f64 {
    boards.iter().filter(|b| !b.placed.is_empty()).map(Open::cost).sum()
}

/// How many pieces lie on boards.
pub fn many(boards: &[Open]) -> usize {
    boards.iter().map(|b| b.placed.len()).sum()
}

/// Whether two sizes are one.
pub fn near(a: &[f64; 2], b: &[f64; 2]) -> bool {
    (0..2).all(|k| (a[k] - b[k]).abs() < 1e-3)
}

/// Whether one filling is better than another: fewer boards, else fuller ones and an emptier one.
pub fn better(one: &[Open], other: &[Open]) -> bool {
    let full = |boards: &[Open]| boards.iter().map(|b| b.share() * b.share()).sum::<f64>();
    let (a, b) = (cost(one), cost(other));
    if (a - b).abs() > SAME { a < b } else { full(one) > full(other) + 1e-12 }
}
