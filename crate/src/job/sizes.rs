//! Each mark's sizes in life and as built, and how they round.

use super::document::{Build, Document};
use super::reckon::{Factor, Reading, Reckoned};
use crate::estimate::{Estimate, Interval, ratio_interval};
use crate::finish::running;
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

/// A chain rounds by running position from its first end, so that its pieces add up.
fn round_chains(document: &Document, all: &mut [Rc<Told>]) {
    for chain in &document.chains {
        let places: Vec<usize> = chain.iter().filter_map(|m| all.iter().position(|t| t.mark == *m)).collect();
        let lengths: Option<Vec<f64>> = places.iter().map(|i| all[*i].shown().map(|e| e.value)).collect();
        let Some(lengths) = lengths.filter(|l| l.len() == chain.len()) else { continue };
        let Ok(run) = running(&lengths, document.units.step, document.units.direction) else { continue };
        for (i, mm) in places.into_iter().zip(run.lengths) {
            Rc::make_mut(&mut all[i]).rounded = Some(mm);
        }
    }
}
