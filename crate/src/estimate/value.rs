//! A value with its partial derivatives to named sources of error.
//!
//! # References
//! JCGM 100:2008 (GUM), 5.1.2 and 5.2.2: u²(y) = Σ (∂f/∂xᵢ)² u²(xᵢ) for independent xᵢ. What two values
//! share is shared by name, so that their covariance is exact to first order without a global matrix.

use serde::{Deserialize, Serialize};
use std::cmp::Ordering;

/// An independent cause of error, by name. Numbers are the ids of the thing named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Where one point of a mark was put: mark, point, axis (0 across, 1 down).
    Click(u32, u16, u8),
    /// The spread of a mark that was made several times: mark, component.
    Spread(u32, u16),
    /// The length vouched for on a mark.
    Known(u32),
    /// Where a corner of a view's rectangle was put: view, corner, axis.
    Corner(u32, u8, u8),
    /// A side of a view's rectangle: view, 0 width or 1 height.
    Side(u32, u8),
    /// The resolution written in a picture's file: picture.
    Resolution(u32),
    /// A stretch of a view that its true lengths can't exclude: view.
    Stretch(u32),
    /// By how much a view's true lengths disagree beyond their own errors: view, component.
    Misfit(u32, u8),
    /// The bend of the lens that took a picture: picture, which of its independent errors.
    Lens(u32, u8),
    /// Where the lens looked on a picture: picture, axis.
    Centre(u32, u8),
    /// The focal length that a picture's file tells, or that is usual: picture.
    Focal(u32),
    /// How far a view stands behind another: view.
    Back(u32),
    /// How far the camera stood from what a view stands behind: view.
    Away(u32),
}

impl Source {
    /// A number in the order of the sources: by kind, then by what stands in it. Sums and quotients compare little else.
    fn rank(self) -> u64 {
        let (kind, of, within, axis) = match self {
            Source::Click(mark, point, axis) => (0, mark, point, axis),
            Source::Spread(mark, part) => (1, mark, part, 0),
            Source::Known(mark) => (2, mark, 0, 0),
            Source::Corner(view, corner, axis) => (3, view, corner.into(), axis),
            Source::Side(view, side) => (4, view, side.into(), 0),
            Source::Resolution(picture) => (5, picture, 0, 0),
            Source::Stretch(view) => (6, view, 0, 0),
            Source::Misfit(view, part) => (7, view, part.into(), 0),
            Source::Lens(picture, part) => (8, picture, part.into(), 0),
            Source::Centre(picture, axis) => (9, picture, 0, axis),
            Source::Focal(picture) => (10, picture, 0, 0),
            Source::Back(view) => (11, view, 0, 0),
            Source::Away(view) => (12, view, 0, 0),
        };
        kind << 56 | u64::from(of) << 24 | u64::from(within) << 8 | u64::from(axis)
    }
}

impl Ord for Source {
    fn cmp(&self, other: &Source) -> Ordering {
        self.rank().cmp(&other.rank())
    }
}

impl PartialOrd for Source {
    fn partial_cmp(&self, other: &Source) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

/// What one source does to a value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Part {
    /// Where it comes from.
    pub source: Source,
    /// Partial derivative × the source's standard uncertainty, in the value's unit, signed.
    pub effect: f64,
    /// Degrees of freedom behind the source's standard uncertainty; infinite where it is stated, not observed.
    pub freedom: f64,
}

/// A value and what each source does to it; parts are sorted by source, each source once.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// The best value.
    pub value: f64,
    parts: Vec<Part>,
}

/// `by`·a + `of`·b, part by part. Both lists are sorted, so that no sorting is needed: of all sums, quotients and finished
/// sizes this is the way.
fn together(by: f64, a: &[Part], of: f64, b: &[Part]) -> Vec<Part> {
    let mut out = Vec::with_capacity(a.len() + b.len());
    let (mut a, mut b) = (a, b);
    while let ([p, after @ ..], [q, beyond @ ..]) = (a, b) {
        let (left, right) = (p.source.rank(), q.source.rank());
        if left <= right {
            a = after;
        }
        if right <= left {
            b = beyond;
        }
        out.push(match left.cmp(&right) {
            Ordering::Less => Part { effect: by * p.effect, ..*p },
            Ordering::Greater => Part { effect: of * q.effect, ..*q },
            Ordering::Equal => Part { effect: by * p.effect + of * q.effect, ..*p },
        });
    }
    for (k, rest) in [(by, a), (of, b)] {
        for p in rest {
            out.push(Part { effect: k * p.effect, ..*p });
        }
    }
    out
}

/// So many parts are put in order one by one.
const FEW: usize = 24;

/// Sorts by source; equals keep their order. Parts mostly come in a few runs that are sorted already.
fn sort(parts: &mut [Part]) {
    if parts.len() > FEW {
        return crate::order::sort_by_key(parts, |p| p.source);
    }
    for end in 1..parts.len() {
        let mut i = end;
        while i > 0 && parts[i - 1].source.rank() > parts[i].source.rank() {
            parts.swap(i - 1, i);
            i -= 1;
        }
    }
}

impl Estimate {
    /// A value without error (a definition, or a length that was chosen).
    pub fn exact(value: f64) -> Estimate {
        Estimate { value, parts: Vec::new() }
    }

    /// A value whose only error is `source`, with standard uncertainty `u`.
    pub fn of(value: f64, source: Source, u: f64) -> Estimate {
        Estimate::with_freedom(value, source, u, f64::INFINITY)
    }

    /// The same, with the degrees of freedom behind `u` (for an observed spread).
    pub fn with_freedom(value: f64, source: Source, u: f64, freedom: f64) -> Estimate {
        Estimate { value, parts: vec![Part { source, effect: u, freedom }] }
    }

    /// From parts in any order; those of the same source are added up.
    pub fn from_parts(value: f64, mut parts: Vec<Part>) -> Estimate {
        sort(&mut parts);
        parts.dedup_by(|later, kept| {
            let same = later.source == kept.source;
            if same {
                kept.effect += later.effect;
            }
            same
        });
        Estimate { value, parts }
    }

    /// `value` = f(a, b, …), given each ∂f/∂a.
    pub fn combine(value: f64, terms: &[(f64, &Estimate)]) -> Estimate {
        if let [(by, a), (of, b)] = terms {
            return Estimate { value, parts: together(*by, &a.parts, *of, &b.parts) };
        }
        let mut parts = Vec::with_capacity(terms.iter().map(|(_, e)| e.parts.len()).sum());
        for (partial, e) in terms {
            parts.extend(e.parts.iter().map(|p| Part { effect: partial * p.effect, ..*p }));
        }
        Estimate::from_parts(value, parts)
    }

    /// What each source does, sorted by source.
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// The variance u².
    pub fn variance(&self) -> f64 {
        self.parts.iter().map(|p| p.effect * p.effect).sum()
    }

    /// The standard uncertainty u.
    pub fn u(&self) -> f64 {
        libm::sqrt(self.variance())
    }

    /// `self` / `other`; what they share cancels.
    pub fn over(&self, other: &Estimate) -> Estimate {
        let r = self.value / other.value;
        Estimate::combine(r, &[(1.0 / other.value, self), (-r / other.value, other)])
    }

    /// `self` × a number without error.
    pub fn times(&self, k: f64) -> Estimate {
        Estimate::combine(self.value * k, &[(k, self)])
    }

    /// `self` − `other`; what they share cancels.
    pub fn minus(&self, other: &Estimate) -> Estimate {
        Estimate::combine(self.value - other.value, &[(1.0, self), (-1.0, other)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_source() -> impl Strategy<Value = (Source, (u8, u32, u16, u8))> {
        let few = || prop_oneof![0_u32..3, Just(u32::MAX)];
        (0_u8..8, few(), prop_oneof![0_u16..3, Just(255), Just(u16::MAX)], prop_oneof![0_u8..3, Just(255)])
            .prop_map(|(kind, of, within, axis)| {
                let part = (within & 255) as u8;
                match kind {
                    0 => (Source::Click(of, within, axis), (kind, of, within, axis)),
                    1 => (Source::Spread(of, within), (kind, of, within, 0)),
                    2 => (Source::Known(of), (kind, of, 0, 0)),
                    3 => (Source::Corner(of, part, axis), (kind, of, part.into(), axis)),
                    4 => (Source::Side(of, part), (kind, of, part.into(), 0)),
                    5 => (Source::Resolution(of), (kind, of, 0, 0)),
                    6 => (Source::Stretch(of), (kind, of, 0, 0)),
                    _ => (Source::Misfit(of, part), (kind, of, part.into(), 0)),
                }
            })
    }

    proptest! {
        /// Against the standard library's order of tuples.
        #[test]
        fn sources_are_ordered_by_kind_and_what_stands_in_them((a, x) in any_source(), (b, y) in any_source()) {
            prop_assert_eq!(a.cmp(&b), x.cmp(&y));
            prop_assert_eq!(a == b, x == y);
        }

        /// Against the standard library's stable sort.
        #[test]
        fn parts_are_sorted_and_equals_keep_their_order(list in prop::collection::vec((any_source(), -9.0..9.0), 0..40)) {
            let part = |&((source, _), effect): &((Source, _), f64)| Part { source, effect, freedom: 1.0 };
            let mut ours: Vec<Part> = list.iter().map(part).collect();
            let mut theirs = list.clone();
            theirs.sort_by_key(|((_, key), _)| *key);
            sort(&mut ours);
            prop_assert_eq!(ours, theirs.iter().map(part).collect::<Vec<_>>());
        }
    }
}
