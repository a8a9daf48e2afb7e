//! Putting lists in order.
//!
//! The standard library's sorts are compiled anew for every type, two to four kB each time: twenty of them were a tenth of
//! the program that a tablet fetches. This one is compiled once, for places in a list, and is told which of two
//! comes first and which two change places.

use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Runs of this many are put in order one by one.
const SHORT: usize = 8;

/// Sorts `list`; equals keep their order. n log n comparisons.
pub fn sort_by<T>(list: &mut [T], mut compare: impl FnMut(&T, &T) -> Ordering) {
    // `get` throughout, so that nothing here can panic: places outside the list count as equal.
    let mut after = |a: usize, b: usize| match (list.get(a), list.get(b)) {
        (Some(a), Some(b)) => compare(a, b) == Ordering::Greater,
        _ => false,
    };
    if let Some(places) = places(list.len(), &mut after) {
        arrange(places, &mut |a, b| list.swap(a, b));
    }
}

/// Sorts `list` by what `key` makes of each; equals keep their order.
pub fn sort_by_key<T, K: Ord>(list: &mut [T], mut key: impl FnMut(&T) -> K) {
    sort_by(list, |a, b| key(a).cmp(&key(b)));
}

/// Where each of `ids` stands, the last one where there are several.
pub fn places_of(ids: impl Iterator<Item = u32>) -> BTreeMap<u32, usize> {
    // Extended rather than collected: collecting sorts first, and that is compiled anew for every map.
    let mut places = BTreeMap::new();
    places.extend(ids.zip(0..));
    places
}

/// Which of `n` comes first, second, …; nothing when they are in order already.
fn places(n: usize, after: &mut dyn FnMut(usize, usize) -> bool) -> Option<Vec<usize>> {
    if !(1..n).any(|i| after(i - 1, i)) {
        return None;
    }
    let mut from: Vec<usize> = (0..n).collect();
    for run in from.chunks_mut(SHORT) {
        for end in 1..run.len() {
            let mut i = end;
            while i > 0 && after(run[i - 1], run[i]) {
                run.swap(i - 1, i);
                i -= 1;
            }
        }
    }
    let mut to = Vec::with_capacity(n);
    let mut width = SHORT;
    while width < n {
        for pair in from.chunks(2 * width) {
            let (left, right) = pair.split_at(width.min(pair.len()));
            merge(left, right, after, &mut to);
        }
        std::mem::swap(&mut from, &mut to);
        to.clear();
        width *= 2;
    }
    Some(from)
}

/// Puts two runs that are in order behind `to` as one.
fn merge(
    mut left: &[usize],
    mut right: &[usize],
    after: &mut dyn FnMut(usize, usize) -> bool,
    to: &mut Vec<usize>,
) {
    while let ([a, later @ ..], [b, beyond @ ..]) = (left, right) {
        if after(*a, *b) {
            to.push(*b);
            right = beyond;
        } else {
            to.push(*a);
            left = later;
        }
    }
    to.extend_from_slice(left);
    to.extend_from_slice(right);
}

/// Changes places until what stood at `places[i]` stands at `i`, going round each ring of `places` once.
fn arrange(mut places: Vec<usize>, swap: &mut dyn FnMut(usize, usize)) {
    for start in 0..places.len() {
        let mut at = start;
        while places[at] != start {
            let next = places[at];
            swap(at, next);
            places[at] = at;
            at = next;
        }
        places[at] = at;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Pairs of a key with few values and where it stood, so that equals that change places are seen.
    fn check(keys: &[u8]) {
        let mut ours: Vec<(u8, usize)> = keys.iter().copied().zip(0..).collect();
        let mut theirs = ours.clone();
        sort_by_key(&mut ours, |p| p.0);
        // The outside check: the standard library's stable sort.
        theirs.sort_by_key(|p| p.0);
        assert_eq!(ours, theirs);
        sort_by(&mut ours, |a, b| b.0.cmp(&a.0));
        theirs.sort_by_key(|p| std::cmp::Reverse(p.0));
        assert_eq!(ours, theirs, "downward");
    }

    #[test]
    fn few() {
        for keys in [&[][..], &[1], &[1, 1], &[2, 1], &[1, 2, 3], &[3, 2, 1], &[2, 2, 1, 1, 2, 1, 3, 3, 0]] {
            check(keys);
        }
    }

    #[test]
    fn no_more_than_n_log_n_comparisons() {
        for n in [100_usize, 4_000, 65_536] {
            let mut count = 0;
            // 7,919 is prime: every number once, well mixed.
            let mut list: Vec<usize> = (0..n).map(|i| i * 7_919 % n).collect();
            sort_by(&mut list, |a, b| {
                count += 1;
                a.cmp(b)
            });
            assert!(list.is_sorted());
            let log = f64::from(usize::BITS - n.leading_zeros());
            assert!(f64::from(count) < 1.5 * n as f64 * log, "{count} for {n}");
        }
    }

    proptest! {
        #[test]
        fn as_the_standard_library_does(keys in prop::collection::vec(0..9_u8, 0..200)) {
            check(&keys);
        }

        #[test]
        fn whatever_is_not_a_number_loses_nothing(list in prop::collection::vec(any::<f64>(), 0..60)) {
            // A comparison without sense, as a slip in the code might give.
            let mut mixed = list.clone();
            sort_by(&mut mixed, |a, b| a.partial_cmp(b).unwrap_or(Ordering::Greater));
            let bits = |l: &[f64]| { let mut b: Vec<u64> = l.iter().map(|v| v.to_bits()).collect(); b.sort_unstable(); b };
            prop_assert_eq!(bits(&mixed), bits(&list));
        }
    }
}
