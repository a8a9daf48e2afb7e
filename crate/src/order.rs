//! Putting lists in order, and finding things by name.
//!
//! The standard library's sorts are compiled anew for every type, two to four kB each time: twenty of them were a tenth of
//! the program that a tablet fetches. This one is compiled once, for places in a list, and is told which of two
//! comes first and which two change places.

use std::borrow::Borrow;
use std::cmp::Ordering;

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
pub fn places_of(ids: impl Iterator<Item = u32>) -> Table<u32, usize> {
    ids.zip(0..).collect()
}

/// Things by key, in the order of their keys.
///
/// One list, looked through by halves: ids mostly come in order, so that filling it is appending. The standard library's
/// trees are compiled anew for every type of thing, a twentieth of the program that a tablet fetches, and are slower to
/// walk at a few hundred things.
#[derive(Clone, Debug, PartialEq)]
pub struct Table<K, V> {
    entries: Vec<(K, V)>,
}

impl<K, V> Default for Table<K, V> {
    fn default() -> Self {
        Table { entries: Vec::new() }
    }
}

impl<K: Ord, V> Table<K, V> {
    /// Where `key` stands, or would.
    fn place<Q: Ord + ?Sized>(&self, key: &Q) -> Result<usize, usize>
    where
        K: Borrow<Q>,
    {
        match self.entries.last() {
            Some((last, _)) if last.borrow() < key => Err(self.entries.len()),
            _ => self.entries.binary_search_by(|(k, _)| k.borrow().cmp(key)),
        }
    }

    /// What stands at `key`.
    pub fn get<Q: Ord + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        self.place(key).ok().and_then(|i| self.entries.get(i)).map(|(_, v)| v)
    }

    /// Whether anything stands at `key`.
    pub fn has<Q: Ord + ?Sized>(&self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.place(key).is_ok()
    }

    /// All of `entries`, of several at one key the last. However they come, it is quick: put in one by one, many that fall
    /// would each move all that are there.
    pub fn gathered(mut entries: Vec<(K, V)>) -> Table<K, V> {
        sort_by(&mut entries, |(a, _), (b, _)| a.cmp(b));
        entries.dedup_by(|later, kept| {
            let same = later.0 == kept.0;
            if same {
                std::mem::swap(later, kept);
            }
            same
        });
        Table { entries }
    }

    /// Puts `value` at `key`, in place of what stood there.
    pub fn insert(&mut self, key: K, value: V) {
        match self.place(&key) {
            Ok(i) => self.entries[i].1 = value,
            Err(i) => self.entries.insert(i, (key, value)),
        }
    }

    /// Takes away what stands at `key`.
    pub fn take<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        self.place(key).ok().map(|i| self.entries.remove(i).1)
    }

    /// Keeps only what `keep` says.
    pub fn retain(&mut self, mut keep: impl FnMut(&K) -> bool) {
        self.entries.retain(|(k, _)| keep(k));
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// All of it, in the order of the keys.
    pub fn iter(&self) -> impl Iterator<Item = (&K, &V)> {
        self.entries.iter().map(|(k, v)| (k, v))
    }

    /// All of it, handed over.
    pub fn into_entries(self) -> Vec<(K, V)> {
        self.entries
    }
}

impl<K: Ord, V> FromIterator<(K, V)> for Table<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(entries: I) -> Self {
        let mut table = Table::default();
        for (key, value) in entries {
            table.insert(key, value);
        }
        table
    }
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

    proptest! {
        /// The outside check: the standard library's map.
        #[test]
        fn a_table_is_a_map(steps in prop::collection::vec((0_u8..20, any::<u16>()), 0..60), (gone, taken) in (0_u8..20, 0_u8..20)) {
            let mut ours = Table::default();
            let mut theirs = std::collections::BTreeMap::new();
            let gathered = Table::gathered(steps.clone());
            for (key, value) in steps {
                ours.insert(key, value);
                theirs.insert(key, value);
            }
            prop_assert_eq!(&gathered, &ours);
            prop_assert_eq!(ours.take(&taken), theirs.remove(&taken));
            ours.retain(|k| *k != gone);
            theirs.remove(&gone);
            for key in 0..20 {
                prop_assert_eq!(ours.get(&key), theirs.get(&key));
                prop_assert_eq!(ours.has(&key), theirs.contains_key(&key));
            }
            prop_assert_eq!((ours.len(), ours.is_empty()), (theirs.len(), theirs.is_empty()));
            prop_assert!(ours.iter().eq(theirs.iter()));
            prop_assert!(ours.into_entries().into_iter().eq(theirs));
        }
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
