//! The scene: what the page shows of a desk. Reads everything, changes nothing.

mod askew;
mod balance;
mod bench;
mod board;
mod boards;
mod bought;
mod boxes;
mod buy;
mod captions;
mod cutting;
mod detail;
mod entry;
mod fits;
mod guide;
mod history;
mod ledge;
mod lists;
mod looks;
mod material;
mod notes;
mod order;
mod other_ways;
mod propeller;
mod ratios;
mod rows;
mod rules;
mod say;
mod shelf;
mod table;
mod use_of;

use super::cross::{Crossing, crossings};
use super::desk::Desk;
use super::document::{Document, Mark, Units, View};
use super::hand::{Hand, Held};
use super::intent::{Role, StepName};
use super::reckon::Reckoned;
use super::scene::{PictureShown, Row, Scene, SeekShown, StepShown};
use super::sizes::{Told, tell_all};
use super::tell::{self, Words};
use crate::WHOLE;
use crate::order::Table;
use crate::part::Stock;
use crate::quantity::{Figure, Step, write_number, write_plus_minus, write_unrounded};
use crate::words::Say;
use std::rc::Rc;

pub use bench::{Bench, bench};
pub use order::Make;
pub(super) use order::order;
pub(super) use shelf::Shelf;
pub use table::table as cutting_table;

/// What every part of the scene is made from.
pub(super) struct Sight<'a> {
    pub document: &'a Document,
    pub reckoned: &'a Reckoned,
    pub hand: &'a Hand,
    pub words: &'a Words,
    pub units: &'a Units,
    pub told: Vec<Rc<Told>>,
    /// The place of each mark's told size, by the mark's id.
    pub places: Table<u32, usize>,
    pub crossings: Vec<Crossing>,
    /// The outlines whose patterns can be made, while that step is open.
    pub ready: Vec<u32>,
    /// What every outlined part measures, once that has been asked for.
    pub measured: std::cell::OnceCell<rules::Measured>,
    /// Stock by its name and how it measures, told once for all the parts that are made of it.
    pub stocks: std::cell::RefCell<Vec<(Stock, String)>>,
}

impl Sight<'_> {
    /// A figure as this language writes it. No figure is shown that didn't come through here.
    pub fn set(&self, figure: Figure) -> Figure {
        self.words.set(figure)
    }
    /// A length in mm, rounded as the person wants it.
    pub fn length(&self, mm: f64) -> Figure {
        self.set(tell::length(mm, self.units))
    }
    /// A length in mm before rounding.
    pub fn unrounded(&self, mm: f64) -> Figure {
        self.set(write_unrounded(mm, self.units.style))
    }
    /// A half-width in mm.
    pub fn plus_minus(&self, mm: f64) -> Figure {
        self.set(write_plus_minus(mm, self.units.style))
    }
    /// A bare number.
    pub fn number(&self, x: f64, decimals: u8) -> String {
        self.set(write_number(x, decimals)).text
    }
    /// What lengths are rounded to: "1⁄16 in", "0.5 mm".
    pub fn step(&self, step: Step) -> String {
        let text = step.text().replace('/', "⁄");
        self.set(Figure { text, ..Figure::default() }).text
    }
    /// A fixed word.
    pub fn word(&self, key: &str) -> String {
        self.words.fixed(key)
    }
    /// A sentence.
    pub fn say(&self, say: &Say) -> String {
        self.words.tell(say, self.units)
    }
    /// The main size of a mark.
    pub fn told(&self, mark: u32) -> Option<&Told> {
        self.told_rc(mark).map(|t| &**t)
    }
    /// The same, to be kept.
    pub fn told_rc(&self, mark: u32) -> Option<&Rc<Told>> {
        self.places.get(&mark).and_then(|i| self.told.get(*i))
    }
    /// What the hand does with a mark: chosen, held by which point, open.
    pub fn in_hand(&self, mark: u32) -> (bool, Option<u16>, bool) {
        let held = match self.hand.held {
            Some(Held::Mark { mark: m, point }) if m == mark => Some(point),
            _ => None,
        };
        (self.hand.selected == Some(mark), held, self.hand.open == Some(mark))
    }
    /// A mark's name, or the word for its kind with its number.
    pub fn name_of(&self, mark: &Mark) -> String {
        if mark.name.is_empty() {
            self.word(&format!("kind.{}", say::kind(mark.kind)))
        } else {
            mark.name.clone()
        }
    }
    /// A mark told by number and, if it has one, name: "2, wing".
    pub fn mark_named(&self, mark: u32) -> String {
        match self.document.mark(mark) {
            Some(m) if m.name.is_empty() => m.number.to_string(),
            Some(m) => format!("{}, {}", m.number, m.name),
            None => String::new(),
        }
    }
    /// A view's name, or the word for its role.
    pub fn view_name(&self, view: &View) -> String {
        if !view.name.is_empty() {
            return view.name.clone();
        }
        if view.whole {
            return self.word("view.whole");
        }
        let number = self
            .document
            .views
            .iter()
            .filter(|v| v.picture == view.picture && !v.whole)
            .position(|v| v.id == view.id);
        match view.role {
            Role::Front => self.word("view.front"),
            Role::Side => self.word("view.side"),
            Role::Top => self.word("view.top"),
            Role::Other => self.say(&Say::new("view.other").count("number", number.map_or(1, |n| n + 1))),
        }
    }
}

/// The scene of `desk`, every row of it open, or only that of the chosen mark.
pub(super) fn scene(desk: &mut Desk, open: bool) -> Scene {
    let mut shelf = std::mem::take(&mut desk.shelf);
    let scene = look(desk, &mut shelf, open);
    desk.shelf = shelf;
    scene
}

/// Every row of the size board of `desk`, open.
pub(super) fn sizes(desk: &Desk) -> Vec<Rc<Row>> {
    let mut shelf = Shelf::default();
    let sight = sight_with(desk, &mut shelf);
    rows::rows(&sight, &mut shelf, true)
}

/// Every part's sizes as they are sawn, where some follow from others.
pub(super) fn part_sizes(desk: &mut Desk) -> Vec<(u32, [f64; 2])> {
    let ruled = desk.document().parts.iter().any(|(_, c)| c.rules.iter().any(|r| !r.is_empty()));
    if !ruled {
        return Vec::new();
    }
    with_shelf(desk, rules::sizes)
}

/// What followed when the part `part` was changed: sizes that were others before.
pub(super) fn part_follows(desk: &mut Desk, part: u32, before: &[(u32, [f64; 2])]) -> Option<Say> {
    with_shelf(desk, |sight| rules::follows(sight, part, before))
}

/// Looks at a desk with what was found last time.
fn with_shelf<T>(desk: &mut Desk, look: impl FnOnce(&Sight) -> T) -> T {
    let mut shelf = std::mem::take(&mut desk.shelf);
    let sight = sight_with(desk, &mut shelf);
    if sight.measured.get().is_none() {
        let _ = sight.measured.set(rules::Measured::with(&sight, &mut shelf));
    }
    let seen = look(&sight);
    drop(sight);
    desk.shelf = shelf;
    seen
}

/// All that a scene is made from, made anew.
fn sight(desk: &Desk) -> Sight<'_> {
    sight_with(desk, &mut Shelf::default())
}

fn sight_with<'a>(desk: &'a Desk, shelf: &mut Shelf) -> Sight<'a> {
    let (document, reckoned) = (desk.document(), &desk.reckoned);
    shelf.refresh(document, reckoned, ratios::base(document, reckoned));
    let own = reckoned.marks.iter().filter_map(|r| shelf.told(document, reckoned, r)).collect();
    let told = tell_all(document, own);
    let mut sight = Sight {
        document,
        reckoned,
        hand: &desk.hand,
        words: &desk.words,
        units: &document.units,
        places: crate::order::places_of(told.iter().map(|t| t.mark)),
        told,
        crossings: crossings(document, reckoned),
        ready: Vec::new(),
        measured: std::cell::OnceCell::new(),
        stocks: std::cell::RefCell::default(),
    };
    if WHOLE && desk.hand.step == StepName::Lists {
        let measured = rules::Measured::with(&sight, shelf);
        sight.ready = order::ready(&sight, &measured);
        let _ = sight.measured.set(measured);
    }
    sight
}

fn look(desk: &Desk, shelf: &mut Shelf, open: bool) -> Scene {
    let sight = sight_with(desk, shelf);
    let document = sight.document;
    let held = board::hand(&sight);
    let rows = rows::rows(&sight, shelf, open);
    let lists = if WHOLE { lists::lists(&sight, shelf) } else { (None, Vec::new()) };
    Scene {
        name: document.name.clone(),
        step: desk.hand.step,
        steps: steps(&sight),
        guide: guide::guide(&sight),
        aside: guide::aside(&sight),
        ledge: ledge::keys(&sight),
        undo: desk.journal.last_done().map(|f| say::fact(&sight, f, "undo")),
        redo: desk.journal.last_undone().map(|f| say::fact(&sight, f, "redo")),
        picture: desk.hand.picture,
        seek: desk.hand.seek.as_ref().map(|s| SeekShown {
            serial: s.serial,
            picture: s.picture,
            ask: s.ask.clone(),
        }),
        pictures: document
            .pictures
            .iter()
            .map(|p| PictureShown {
                id: p.id,
                name: p.name.clone(),
                width: p.width,
                height: p.height,
                digest: p.digest.clone(),
            })
            .collect(),
        views: board::views(&sight),
        marks: board::marks(&sight, shelf),
        pending: desk.hand.pending.iter().map(|t| [t.at.x, t.at.y]).collect(),
        pending_names: if WHOLE { boxes::names(&sight) } else { Vec::new() },
        pending_paths: board::pending(&sight),
        drawn: match WHOLE {
            true => balance::drawn(&sight).into_iter().chain(boxes::next(&sight)).collect(),
            false => Vec::new(),
        },
        hand: held,
        table: desk.hand.table,
        head: rows::head(&sight),
        history: history::history(&sight, &desk.journal, &rows),
        rows,
        ratios: ratios::rows(&sight),
        detail: detail::detail(&sight),
        notes: notes::notes(&sight),
        entry: entry::entry(&sight),
        lists: lists.0,
        parts: lists.1,
    }
}

fn steps(sight: &Sight) -> Vec<StepShown> {
    use StepName::*;
    let d = sight.document;
    [
        (Picture, "step.picture", !d.pictures.is_empty()),
        (TrueLength, "step.true-length", sight.reckoned.scaled() || sight.reckoned.factor.is_some()),
        (Marks, "step.marks", d.marks.len() > 1),
        (Build, "step.build", sight.reckoned.factor.is_some()),
        (Lists, "step.lists", false),
    ]
    .map(|(step, key, done)| StepShown { step, label: sight.word(key), done })
    .to_vec()
}
