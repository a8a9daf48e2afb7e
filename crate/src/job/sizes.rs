//! Each mark's sizes in life and as built, and how they round.

use super::document::{Build, Document};
use super::reckon::{Factor, Reading, Reckoned};
use crate::estimate::{Estimate, Interval, ratio_interval};
use crate::finish::{Running, filled, running};
use crate::mark::{Dimension, Quantity};
use std::rc::Rc;

/// One mark's main size, in life and as built.
#[derive(Clone, Debug)]
pub struct Told {
    /// The mark.
    pub mark: u32,
    /// What its main size is the size of.
    pub what: Quantity,
    /// In life (mm or radians), when the view has a scale.
    pub real: Option<Estimate>,
    /// As built, when there is a size to build.
    pub finished: Option<Estimate>,
    /// As built, rounded by running position, when it is one of a chain.
    pub rounded: Option<f64>,
    /// The mark on a trusted view whose size this one takes.
    pub follows: Option<u32>,
    /// It is the one whose finished length was chosen.
    pub chosen: bool,
    /// Where the finished length may lie, when it is the chosen length times a quotient of two sizes (Fieller): nothing
    /// when first order serves.
    pub within: Option<Interval>,
    /// The half-width of what is shown, to first order; 0 when nothing is.
    pub half: f64,
}

impl Told {
    /// What is shown large: as built when that is known, otherwise in life.
    pub fn shown(&self) -> Option<&Estimate> {
        self.finished.as_ref().or(self.real.as_ref())
    }

    fn with_half(mut self) -> Told {
        self.half = self.shown().map_or(0.0, Estimate::half_width);
        self
    }
}

/// `value` of `what`, built at `factor`.
pub fn built(what: Quantity, value: &Estimate, factor: &Factor) -> Estimate {
    let k = &factor.value;
    match what.dimension() {
        Dimension::Angle => value.clone(),
        Dimension::Length => Estimate::combine(value.value * k.value, &[(k.value, value), (value.value, k)]),
        Dimension::Area => Estimate::combine(
            value.value * k.value * k.value,
            &[(k.value * k.value, value), (2.0 * value.value * k.value, k)],
        ),
    }
}

/// All marks' main sizes, from what each is by itself.
pub fn tell_all(document: &Document, mut all: Vec<Rc<Told>>) -> Vec<Rc<Told>> {
    if !document.trusted.is_empty() {
        follow_trusted(document, &mut all);
    }
    round_chains(document, &mut all);
    all
}

/// One mark's main size by itself.
pub fn tell_one(document: &Document, reckoned: &Reckoned, reading: &Reading) -> Option<Told> {
    let what = reading.measures.as_ref().ok()?.primary;
    let primary = reading.primary()?;
    let angle = what.dimension() == Dimension::Angle;
    let factor = reckoned.factor.as_ref().filter(|f| f.serves(reading));
    let chosen = match document.build {
        Build::Wanted { mark, mm } if mark == reading.mark => Some(mm),
        _ => None,
    };
    let finished = match factor {
        // What was chosen is what it is, without the rounding noise of going there and back.
        Some(_) if chosen.is_some() => chosen.map(Estimate::exact),
        Some(f) => Some(built(what, primary, f)),
        None => (angle && reckoned.factor.is_some()).then(|| primary.clone()),
    };
    let told = Told {
        mark: reading.mark,
        what,
        real: (reading.scaled || angle).then(|| primary.clone()),
        finished,
        rounded: None,
        follows: None,
        chosen: chosen.is_some(),
        within: if chosen.is_none() && factor.is_some() {
            quotient(document, reckoned, what, primary)
        } else {
            None
        },
        half: 0.0,
    };
    Some(told.with_half())
}

/// The interval of a length that is built by its quotient to the base mark.
fn quotient(document: &Document, reckoned: &Reckoned, what: Quantity, size: &Estimate) -> Option<Interval> {
    let Build::Wanted { mark, mm } = document.build else { return None };
    if what.dimension() != Dimension::Length {
        return None;
    }
    let i = ratio_interval(size, reckoned.reading(document.trusted_end(mark))?.primary()?)?;
    Some(Interval { minus: i.minus * mm, plus: i.plus * mm })
}

fn follow_trusted(document: &Document, all: &mut [Rc<Told>]) {
    let places = crate::order::places_of(all.iter().map(|t| t.mark));
    for t in &document.trusted {
        let (Some(&from), Some(&to)) = (places.get(&t.mark), places.get(&t.other)) else { continue };
        let (real, finished, within) = (all[from].real.clone(), all[from].finished.clone(), all[from].within);
        let follower = Rc::make_mut(&mut all[to]);
        if finished.is_some() && !follower.chosen {
            follower.within = within;
            follower.finished = finished;
        }
        if real.is_some() {
            follower.real = real;
        }
        follower.follows = Some(t.mark);
        follower.half = follower.shown().map_or(0.0, Estimate::half_width);
    }
}

/// Pieces whose sizes agree within their ± are cut alike where another takes up the difference: all get the mean of theirs.
fn alike(told: &[&Estimate], taker: usize) -> Vec<f64> {
    let mut order: Vec<usize> = (0..told.len()).filter(|i| *i != taker).collect();
    let value = |i: usize| told.get(i).map_or(0.0, |e| e.value);
    let half = |i: usize| told.get(i).map_or(0.0, |e| e.half_width());
    crate::order::sort_by(&mut order, |a, b| value(*a).total_cmp(&value(*b)));
    let mut out: Vec<f64> = told.iter().map(|e| e.value).collect();
    let mut rest = order.as_slice();
    while let Some(&first) = rest.first() {
        let near = |i: &usize| value(*i) - value(first) <= libm::hypot(half(*i), half(first)) + 1e-9;
        let many = rest.iter().take_while(|i| near(i)).count().max(1);
        let (group, left) = rest.split_at(many.min(rest.len()));
        let mean = group.iter().map(|i| value(*i)).sum::<f64>() / group.len().max(1) as f64;
        for i in group {
            if let Some(v) = out.get_mut(*i) {
                *v = mean;
            }
        }
        rest = left;
    }
    out
}

/// The chain that a mark is one of, as it rounds: by running position from its first end, or with one piece that takes up the
/// difference. Nothing where some of its sizes aren't known.
pub fn run_of(document: &Document, chain: &[u32], all: &[Rc<Told>]) -> Option<Running> {
    let told = |m: &u32| all.iter().find(|t| t.mark == *m).and_then(|t| t.shown());
    let told: Vec<&Estimate> = chain.iter().map(told).collect::<Option<_>>()?;
    let lengths: Vec<f64> = told.iter().map(|e| e.value).collect();
    let (step, direction) = (document.units.step, document.units.direction);
    let taker = chain.iter().position(|m| document.takers.contains(m));
    let filled = taker.and_then(|taker| {
        let mut even = alike(&told, taker);
        // The whole stays what was measured.
        let others: f64 = even.iter().enumerate().filter(|(i, _)| *i != taker).map(|(_, v)| v).sum();
        *even.get_mut(taker)? = lengths.iter().sum::<f64>() - others;
        filled(&even, taker, step, direction).ok()
    });
    filled.or_else(|| running(&lengths, step, direction).ok())
}

/// A chain rounds so that its pieces add up.
fn round_chains(document: &Document, all: &mut [Rc<Told>]) {
    for chain in &document.chains {
        let Some(run) = run_of(document, chain, all) else { continue };
        for (mark, mm) in chain.iter().zip(run.lengths) {
            if let Some(told) = all.iter_mut().find(|t| t.mark == *mark).filter(|t| t.rounded != Some(mm)) {
                Rc::make_mut(told).rounded = Some(mm);
            }
        }
    }
}
