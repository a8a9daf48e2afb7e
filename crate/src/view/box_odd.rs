//! Which length of a box the others say is wrong: an edge that was given with its corners, or a true length on a side.

use super::box_start::Start;
use super::boxed::{BoxKnowns, Task, Trust};
use super::fit::DISAGREE;
use super::knowns::Known;
use super::odd::{CLEAR, standing};
use crate::estimate::{Estimate, Solved, chi_square_tail};

/// A length of a box.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stray {
    /// That edge.
    Edge(usize),
    /// The true length that so many others come before.
    Length(usize),
}

/// The length whose removal lets the others agree, and the box by the others; as [`super::odd::find`] does it for a view.
/// Nobody can tell by two, and where the corners themselves don't agree no length is to blame.
pub(super) fn stray(
    knowns: &BoxKnowns,
    pulling: &[&(u8, Known)],
    start: &Start,
    trust: Trust,
    solved: &Solved,
) -> Option<(Stray, Vec<Estimate>)> {
    let edges = (0..3).filter(|k| knowns.boxed.edges[*k].is_some()).map(Stray::Edge);
    let all: Vec<Stray> = edges.chain((0..pulling.len()).map(Stray::Length)).collect();
    if all.len() < 3 || chi_square_tail(solved.chi2, solved.freedom) >= DISAGREE {
        return None;
    }
    // The equations of lengths come last, in this order.
    let left = &solved.left[solved.left.len() - all.len()..];
    let mut order: Vec<usize> = (0..all.len()).collect();
    crate::order::sort_by(&mut order, |&a, &b| standing(&left[b]).total_cmp(&standing(&left[a])));
    let mut cures: Vec<(Stray, Solved)> = Vec::new();
    for &suspect in order.iter().take(2) {
        let mut boxed = knowns.boxed.clone();
        let mut others = pulling.to_vec();
        match all[suspect] {
            Stray::Edge(k) => boxed.edges[k] = None,
            Stray::Length(i) => drop(others.remove(i)),
        }
        let less = BoxKnowns { boxed: &boxed, ..*knowns };
        let without = Task { knowns: &less, pulling: others, scaled: true }.solve(start, trust);
        cures.extend(
            without
                .ok()
                .filter(|w| chi_square_tail(w.chi2, w.freedom) >= DISAGREE)
                .map(|w| (all[suspect], w)),
        );
    }
    crate::order::sort_by(&mut cures, |a, b| a.1.chi2.total_cmp(&b.1.chi2));
    if let [best, second] = &cures[..]
        && second.1.chi2 - best.1.chi2 < CLEAR
    {
        return None;
    }
    cures.into_iter().next().map(|(which, without)| (which, without.theta))
}
