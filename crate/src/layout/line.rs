//! Boards that hold pieces end to end only: which lengths fill a board best.
//!
//! # References
//! The fullest board is sought first, among those that hold the longest piece left: minimum bin slack with a fixed first item,
//! Fleszar & Hindi, Computers & Operations Research 29 (2002) 821–839.

use super::SAME;

/// No more tries for one board: then the best so far is taken.
const TRIES: u32 = 20_000;

/// Groups of places in `lengths` (each with its kerf), each of which fits a board of `room` (with one kerf). What is longer than
/// `room` is left out.
pub(super) fn groups(lengths: &[f64], room: f64, work: &mut u64) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..lengths.len()).filter(|i| at(lengths, *i) <= room + SAME).collect();
    crate::order::sort_by(&mut order, |a, b| at(lengths, *b).total_cmp(&at(lengths, *a)));
    let mut out = Vec::new();
    while let Some(&first) = order.first() {
        let rest: Vec<usize> = order.get(1..).unwrap_or_default().to_vec();
        let mut search = Search {
            lengths,
            rest: &rest,
            tries: TRIES,
            best: Vec::new(),
            slack: f64::INFINITY,
            now: Vec::new(),
        };
        search.deeper(0, room - at(lengths, first));
        *work += u64::from(TRIES - search.tries);
        let mut group = vec![first];
        group.extend(search.best.iter().filter_map(|k| rest.get(*k)));
        order.retain(|i| !group.contains(i));
        out.push(group);
    }
    out
}

fn at(lengths: &[f64], i: usize) -> f64 {
    lengths.get(i).copied().unwrap_or(f64::INFINITY)
}

struct Search<'a> {
    lengths: &'a [f64],
    /// What may still go in, longest first.
    rest: &'a [usize],
    tries: u32,
    best: Vec<usize>,
    slack: f64,
    now: Vec<usize>,
}

impl Search<'_> {
    /// Goes on from place `from` of the rest with `room` left. No more pieces lie on one board than the stack bears.
    fn deeper(&mut self, from: usize, room: f64) {
        if room < self.slack - SAME {
            self.slack = room;
            self.best = self.now.clone();
        }
        let mut last = f64::NAN;
        for k in from..self.rest.len() {
            if self.slack <= SAME || self.tries == 0 || self.now.len() > 400 {
                return;
            }
            let length = self.rest.get(k).map_or(f64::INFINITY, |i| at(self.lengths, *i));
            // Another just as long was tried here.
            if length > room + SAME || (length - last).abs() <= SAME {
                continue;
            }
            last = length;
            self.tries -= 1;
            self.now.push(k);
            self.deeper(k + 1, room - length);
            self.now.pop();
        }
    }
}
