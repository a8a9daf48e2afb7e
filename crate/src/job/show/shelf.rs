//! What was shown last time, so that a touch makes anew only what it changed.
//!
//! A row rests on its mark's reading, on the job's size to build, unit and base, and on whether it is chosen or
//! held. Where all of these are the same objects as last time, so is the row.

use super::rules::Sides;
use crate::job::document::{Build, Document, PartChoice, PatternChoice, Units};
use crate::job::parts::Made;
use crate::job::reckon::{Factor, Reading, Reckoned};
use crate::job::scene::{MarkShown, PartShown, Row};
use crate::job::sizes::{Told, tell_one};
use crate::order::Table;
use crate::words::Say;
use std::rc::Rc;

/// What all rows rest on.
#[derive(Clone, Debug)]
struct Common {
    units: Units,
    build: Build,
    factor: Option<Factor>,
    /// The reading of the mark that is built by, whose errors the others share.
    built_by: Option<Rc<Reading>>,
    /// The reading of the mark that ratios are told against.
    base: Option<Rc<Reading>>,
    pictures: usize,
}

impl Common {
    fn same(&self, other: &Common) -> bool {
        let same = |a: &Option<Rc<Reading>>, b: &Option<Rc<Reading>>| match (a, b) {
            (Some(a), Some(b)) => Rc::ptr_eq(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        self.units == other.units
            && self.build == other.build
            && self.factor == other.factor
            && self.pictures == other.pictures
            && same(&self.built_by, &other.built_by)
            && same(&self.base, &other.base)
    }
}

/// One thing shown, and what it rests on.
#[derive(Clone, Debug)]
struct Slot<T> {
    reading: Rc<Reading>,
    told: Option<Rc<Told>>,
    hand: (bool, Option<u16>, bool),
    shown: Rc<T>,
}

/// Everything shown last time.
#[derive(Clone, Debug, Default)]
pub struct Shelf {
    common: Option<Common>,
    told: Table<u32, (Rc<Reading>, Option<Rc<Told>>)>,
    rows: Table<u32, Slot<Row>>,
    marks: Table<u32, Slot<MarkShown>>,
    sides: Table<u32, (Rc<Reading>, Option<Sides>)>,
    parts: Table<u32, (PartRests, Rc<PartShown>)>,
    /// All parts' ids, in order: letters follow from that.
    lettered: Vec<u32>,
}

/// What a part as it is shown rests on, where that is nothing but its own outline and what was chosen about it.
#[derive(Clone, Debug)]
pub struct PartRests {
    pub reading: Option<Rc<Reading>>,
    pub choice: PartChoice,
    pub pattern: PatternChoice,
    pub made: Option<(u32, Made)>,
    pub size: Option<Sides>,
    /// Why it can't be cut.
    pub why: Option<Say>,
    pub name: String,
    pub ready: bool,
    /// Its keys are shown.
    pub keys: bool,
    /// By how much its wood's moisture changes.
    pub moisture: Option<f64>,
}

impl PartRests {
    fn same(&self, other: &PartRests) -> bool {
        let reading = match (&self.reading, &other.reading) {
            (Some(a), Some(b)) => Rc::ptr_eq(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        reading
            && self.choice == other.choice
            && self.pattern == other.pattern
            && self.made == other.made
            && self.size == other.size
            && self.why == other.why
            && self.name == other.name
            && (self.ready, self.keys, self.moisture) == (other.ready, other.keys, other.moisture)
    }
}

impl Shelf {
    /// Clears what rested on something that all share and that has changed.
    pub fn refresh(&mut self, document: &Document, reckoned: &Reckoned, base: Option<u32>) {
        let built_by = match document.build {
            Build::Wanted { mark, .. } => reckoned.reading_rc(document.trusted_end(mark)),
            _ => None,
        };
        let common = Common {
            units: document.units,
            build: document.build,
            factor: reckoned.factor.clone(),
            built_by,
            base: base.and_then(|b| reckoned.reading_rc(b)),
            pictures: document.pictures.len(),
        };
        if !self.common.as_ref().is_some_and(|c| c.same(&common)) {
            *self = Shelf { common: Some(common), ..Shelf::default() };
        }
        if self.rows.len() > 2 * reckoned.marks.len() + 16 {
            self.forget_gone(reckoned);
        }
    }

    /// What an outline measures along and across, found by `make` once for each reading.
    pub fn sides(&mut self, reading: &Rc<Reading>, make: impl FnOnce() -> Option<Sides>) -> Option<Sides> {
        if let Some((r, sides)) = self.sides.get(&reading.mark)
            && Rc::ptr_eq(r, reading)
        {
            return *sides;
        }
        let sides = make();
        self.sides.insert(reading.mark, (reading.clone(), sides));
        sides
    }

    /// Parts are lettered in this order; where that is another one all are made anew.
    pub fn letter(&mut self, parts: Vec<u32>) {
        if self.lettered != parts {
            self.parts = Table::default();
            self.lettered = parts;
        }
    }

    /// A part, made by `make` only when something it rests on has changed; nothing to rest on: each time.
    pub fn part(
        &mut self,
        id: u32,
        rests: Option<PartRests>,
        make: impl FnOnce() -> PartShown,
    ) -> Rc<PartShown> {
        if let (Some(rests), Some((old, shown))) = (&rests, self.parts.get(&id))
            && old.same(rests)
        {
            return shown.clone();
        }
        let shown = Rc::new(make());
        if let Some(rests) = rests {
            self.parts.insert(id, (rests, shown.clone()));
        }
        shown
    }

    fn forget_gone(&mut self, reckoned: &Reckoned) {
        let there = |id: &u32| reckoned.reading(*id).is_some();
        self.told.retain(|id| there(id));
        self.rows.retain(|id| there(id));
        self.marks.retain(|id| there(id));
        self.sides.retain(|id| there(id));
    }

    /// A mark's own main size, before trust and chains.
    pub fn told(
        &mut self,
        document: &Document,
        reckoned: &Reckoned,
        reading: &Rc<Reading>,
    ) -> Option<Rc<Told>> {
        match self.told.get(&reading.mark) {
            Some((r, told)) if Rc::ptr_eq(r, reading) => told.clone(),
            _ => {
                let told = tell_one(document, reckoned, reading).map(Rc::new);
                self.told.insert(reading.mark, (reading.clone(), told.clone()));
                told
            }
        }
    }

    /// A row, made by `make` only when something it rests on has changed.
    pub fn row(
        &mut self,
        reading: &Rc<Reading>,
        told: Option<&Rc<Told>>,
        hand: (bool, Option<u16>, bool),
        make: impl FnOnce() -> Row,
    ) -> Rc<Row> {
        keep(&mut self.rows, reading, told, hand, make)
    }

    /// A mark as drawn, likewise.
    pub fn mark(
        &mut self,
        reading: &Rc<Reading>,
        told: Option<&Rc<Told>>,
        hand: (bool, Option<u16>, bool),
        make: impl FnOnce() -> MarkShown,
    ) -> Rc<MarkShown> {
        keep(&mut self.marks, reading, told, hand, make)
    }
}

fn keep<T>(
    slots: &mut Table<u32, Slot<T>>,
    reading: &Rc<Reading>,
    told: Option<&Rc<Told>>,
    hand: (bool, Option<u16>, bool),
    make: impl FnOnce() -> T,
) -> Rc<T> {
    if let Some(s) = slots.get(&reading.mark) {
        let same_told = match (&s.told, told) {
            (Some(a), Some(b)) => Rc::ptr_eq(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        if same_told && s.hand == hand && Rc::ptr_eq(&s.reading, reading) {
            return s.shown.clone();
        }
    }
    let shown = Rc::new(make());
    let slot = Slot { reading: reading.clone(), told: told.cloned(), hand, shown: shown.clone() };
    slots.insert(reading.mark, slot);
    shown
}
