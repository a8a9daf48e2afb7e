//! A value with its partial derivatives to named sources of error.
//!
//! # References
//! JCGM 100:2008 (GUM), 5.1.2 and 5.2.2: u²(y) = Σ (∂f/∂xᵢ)² u²(xᵢ) for independent xᵢ. What two values
//! share is shared by name, so that their covariance is exact to first order without a global matrix.

use serde::{Deserialize, Serialize};
use std::cmp::Ordering;

/// An independent cause of error, by name. Numbers are the ids of the thing named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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
    /// Where the lens looked on a picture: picture, axis.
    Centre(u32, u8),
    /// The focal length that a picture's file tells, or that is usual: picture.
    Focal(u32),
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
    let (mut a, mut b) = (a.iter().peekable(), b.iter().peekable());
    loop {
        let order = match (a.peek(), b.peek()) {
            (Some(p), Some(q)) => p.source.cmp(&q.source),
            (Some(_), None) => Ordering::Less,
            (None, Some(_)) => Ordering::Greater,
            (None, None) => return out,
        };
        let left = a.next_if(|_| order != Ordering::Greater).map(|p| Part { effect: by * p.effect, ..*p });
        let right = b.next_if(|_| order != Ordering::Less).map(|q| Part { effect: of * q.effect, ..*q });
        out.extend(match (left, right) {
            (Some(p), Some(q)) => Some(Part { effect: p.effect + q.effect, ..p }),
            (one, other) => one.or(other),
        });
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
        crate::order::sort_by_key(&mut parts, |p| p.source);
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
