//! The desk: one job, the hand over it, and the scene that they make.
//!
//! ```
//! use scrieve::job::{Desk, Intent};
//! let mut desk = Desk::new(Default::default());
//! let fact = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2250}"#;
//! desk.intend(serde_json::from_str::<Intent>(fact).unwrap()).unwrap();
//! assert_eq!(desk.scene().pictures.len(), 1);
//! ```

use super::document::Document;
use super::gesture;
use super::hand::{Hand, Held, Touch};
use super::intent::{At, Intent, Length, StepName, Tool};
use super::journal::Journal;
use super::reckon::{Reckoned, reckon};
use super::scene::{Row, Scene};
use super::seek;
use super::show::{self, Make};
use super::tell::Words;
use crate::WHOLE;
use crate::mark::{By, need};
use crate::quantity::{Figure, write_unrounded};
use crate::sheet::Order;
use crate::words::Say;
use std::rc::Rc;

/// A job on the desk.
#[derive(Clone, Debug, Default)]
pub struct Desk {
    pub(super) words: Words,
    pub(super) journal: Journal,
    pub(super) hand: Hand,
    pub(super) reckoned: Reckoned,
    pub(super) shelf: show::Shelf,
    /// A slide that is going on.
    slid: Option<Slid>,
    answer: Option<Answer>,
    /// The job is only looked at: another desk has it in hand.
    closed: bool,
}

/// A slide that is going on: not a fact yet.
#[derive(Clone, Copy, Debug)]
enum Slid {
    /// Of a mark's end.
    Mark(SlidEnd),
    /// Of what is pending: which, and as it was before.
    Pending(usize, Touch),
}

/// Where a mark's end has been slid to.
#[derive(Clone, Copy, Debug)]
struct SlidEnd {
    mark: u32,
    point: u16,
    at: At,
    by: By,
    zoom: f64,
}

/// What a question about a length was answered.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Answer {
    /// As read, mm.
    pub mm: f64,
    /// As read, set.
    pub figure: Figure,
}

impl Desk {
    /// An empty desk that speaks `words`.
    pub fn new(words: Words) -> Desk {
        Desk { words, ..Desk::default() }
    }

    /// From now on it speaks `words`. The job, the hand and what is being typed stay as they are.
    pub fn speak(&mut self, words: Words) {
        self.words = words;
        // What was shown was said in other words.
        self.shelf = show::Shelf::default();
    }

    /// Another desk with the same words and nothing on it.
    pub fn empty(&self) -> Desk {
        Desk::new(self.words.clone())
    }

    /// The document as it stands.
    pub fn document(&self) -> &Document {
        self.journal.document()
    }

    /// The whole log of facts, for whoever keeps it.
    pub fn log(&self) -> &[Intent] {
        self.journal.log()
    }

    /// Lets the job only be looked at, or opens it again: while it is closed every fact is refused.
    pub fn close(&mut self, closed: bool) {
        self.closed = closed;
    }

    /// What the last question about a length was answered.
    pub fn answer(&self) -> Option<&Answer> {
        self.answer.as_ref()
    }

    /// Does what is asked for: the document and the hand change, or neither.
    ///
    /// # Errors
    /// What is wrong, in words ([`Desk::tell`] puts them into sentences).
    pub fn intend(&mut self, intent: Intent) -> Result<(), Say> {
        if let (Some(_), Intent::Found { serial, found }) = (&self.slid, &intent) {
            // What a sliding end would hold is only shown: the slide goes on.
            return seek::found(self, *serial, found.clone());
        }
        let done = self.intend_still(intent);
        // What was put off for something more pressing is sought now.
        seek::want_views(self);
        done
    }

    /// As [`Desk::intend`], where nothing is being slid or the slide ends.
    fn intend_still(&mut self, intent: Intent) -> Result<(), Say> {
        let slid = self.slid.take();
        if !matches!(intent, Intent::Found { .. }) {
            self.hand.said = None;
        }
        // What was only in passing is undone first, so that an error leaves the document as it was.
        self.journal.end_passing();
        if intent == Intent::Settle
            && let Some(slid) = slid
        {
            return self.settle(slid);
        }
        match slid {
            Some(Slid::Mark(end)) => {
                self.hand.held = Some(Held::Mark { mark: end.mark, point: end.point });
                self.reckoned = reckon(self.journal.document(), &self.reckoned);
            }
            Some(Slid::Pending(i, before)) => {
                self.hand.glimpse = None;
                if let Some(t) = self.hand.pending.get_mut(i) {
                    *t = before;
                }
            }
            None => {}
        }
        if intent == Intent::Settle {
            return Ok(());
        }
        if slid.is_some() && intent == Intent::Undo {
            // The slide was the last thing done, and is undone already.
            return Ok(());
        }
        self.answer = None;
        if intent.is_fact() {
            self.take(intent)
        } else if let Intent::AskLength { text, style } = intent {
            self.answer = Some(ask_length(&text, style)?);
            Ok(())
        } else {
            let before = (self.hand.clone(), self.journal.log().len());
            let done = gesture::perform(self, intent);
            if done.is_err() && self.journal.log().len() == before.1 {
                self.hand = before.0;
            }
            done
        }
    }

    /// Takes a fact into the log, and everything that follows from it.
    pub(super) fn take(&mut self, fact: Intent) -> Result<(), Say> {
        if self.closed {
            return Err(Say::new("job.elsewhere"));
        }
        let added = matches!(fact, Intent::AddPicture { .. });
        let squared = matches!(fact, Intent::SquareOn { .. } | Intent::Boxed { .. });
        if matches!(fact, Intent::SetPaper { .. } | Intent::SetKnown { .. }) {
            self.hand.entry = None;
        }
        let part = match &fact {
            Intent::SetPart { mark, .. } if WHOLE => Some(*mark),
            Intent::SetBought { of, .. } if WHOLE => Some(self.document().part_of(*of).unwrap_or(*of)),
            _ => None,
        };
        let before = part.map(|part| (part, show::part_sizes(self)));
        // A job's units are its own from the first picture on, whatever language it is read in later.
        let first = added
            && !self.log().iter().any(|f| matches!(f, Intent::AddPicture { .. } | Intent::SetUnits { .. }));
        if let Some(units) = self.words.first_units().filter(|_| first) {
            self.journal.take(units)?;
        }
        self.journal.take(fact)?;
        self.reckoned = reckon(self.journal.document(), &self.reckoned);
        self.mend_hand();
        if let Some((part, before)) = before.filter(|(_, before)| !before.is_empty()) {
            self.hand.said = show::part_follows(self, part, &before);
        }
        if squared {
            self.hand.empty();
            self.hand.tool = Tool::Length;
        }
        if added {
            self.hand.empty();
            self.hand.picture = self.document().pictures.last().map(|p| p.id);
            if self.document().marks.is_empty() {
                self.hand.step = StepName::TrueLength;
            }
            self.hand.divide = self.hand.picture;
            seek::want_views(self);
        }
        Ok(())
    }

    /// The hand lets go of what is no longer there, and takes up again what is only half placed.
    fn mend_hand(&mut self) {
        let document = self.journal.document();
        let hand = &mut self.hand;
        let gone = |v: Option<u32>| v.is_some_and(|v| document.view(v).is_none());
        let picture_gone = hand.picture.is_some_and(|p| document.picture(p).is_none());
        let again_gone =
            gesture::needs_chosen(hand.tool) && hand.selected.is_none_or(|m| document.mark(m).is_none());
        if (!hand.pending.is_empty() && (gone(hand.view) || picture_gone)) || again_gone {
            // What was touched stood on something that is gone.
            hand.empty();
            hand.tool = Tool::Length;
        }
        let there = |id: u32| document.mark(id).is_some();
        hand.selected = hand.selected.filter(|m| there(*m));
        hand.open = hand.open.filter(|m| there(*m));
        hand.view = hand.view.filter(|v| document.view(*v).is_some());
        if let Some(Held::Mark { mark, point }) = hand.held {
            let points = document.mark(mark).map_or(0, |m| m.points.len());
            if usize::from(point) >= points {
                hand.held = None;
            }
        }
        let half = |id: u32| document.mark(id).is_some_and(|m| m.points.len() < need(m.kind, m.ends).0);
        if hand.entry.as_ref().is_some_and(|e| e.about.is_of_mark() && (!there(e.of) || half(e.of))) {
            hand.entry = None;
        }
        if hand
            .entry
            .as_ref()
            .is_some_and(|e| e.about.is_of_bought() && !there(e.of) && !document.is_part(e.of))
        {
            hand.entry = None;
        }
        if hand
            .entry
            .as_ref()
            .is_some_and(|e| e.about.is_of_part() && (!document.is_part(e.of) || half(e.of)))
        {
            hand.entry = None;
        }
        if let Some(m) = hand.selected.filter(|m| half(*m)) {
            hand.open = Some(m);
        }
        if hand.picture.is_none_or(|p| document.picture(p).is_none()) {
            hand.picture = document.pictures.last().map(|p| p.id);
        }
    }

    /// Slides the held end by picture px, in passing; [`Intent::Settle`] makes it a fact. Where it is now, picture px.
    ///
    /// # Errors
    /// When nothing is held, or the step isn't a number.
    pub fn slide(&mut self, step: [f64; 2], by: By, zoom: f64) -> Result<At, Say> {
        let held = self.hand.held.ok_or_else(|| Say::new("job.nothing-held"))?;
        if step.iter().any(|s| !s.is_finite()) || !(zoom.is_finite() && zoom > 0.0) {
            return Err(Say::new("job.point-not-a-place"));
        }
        match held {
            Held::Pending(i) => {
                let t = self.hand.pending.get_mut(i).ok_or_else(|| Say::new("job.nothing-held"))?;
                let before = *t;
                t.at = At::new(t.at.x + step[0], t.at.y + step[1]);
                (t.by, t.zoom, t.seen, t.hold) = (by, zoom, true, None);
                let touch = *t;
                // A nudge is done at once.
                if by != By::Key {
                    self.slid.get_or_insert(Slid::Pending(i, before));
                    if gesture::catches(self.hand.tool) {
                        seek::want_glimpse(self, touch);
                    }
                }
                Ok(touch.at)
            }
            Held::Mark { mark, point } => self.slide_mark(mark, point, step, by, zoom),
        }
    }

    fn slide_mark(&mut self, mark: u32, point: u16, step: [f64; 2], by: By, zoom: f64) -> Result<At, Say> {
        // From where it stands in the log: what was found beside an outline's point goes with its first move, and the
        // points after it have other numbers from then on.
        let mut document = self.journal.standing().clone();
        let (point, was) = match self.slid {
            Some(Slid::Mark(end)) => (end.point, end.at),
            _ => {
                let found = document.mark(mark).and_then(|m| m.points.get(usize::from(point)));
                (point, found.ok_or_else(|| Say::new("job.no-such-point"))?.at)
            }
        };
        let at = At::new(was.x + step[0], was.y + step[1]);
        let moved = Intent::MovePoint { mark, point, at, by, zoom, seen: true, caught: None };
        super::apply::apply(&mut document, &moved)?;
        let held = nearest_point(&document, mark, point, at);
        let now = document.mark(mark).and_then(|m| m.points.get(usize::from(held))).map_or(at, |p| p.at);
        self.journal.pass(document);
        self.reckoned = reckon(self.journal.document(), &self.reckoned);
        self.slid = Some(Slid::Mark(SlidEnd { mark, point, at: now, by, zoom }));
        self.hand.held = Some(Held::Mark { mark, point: held });
        if by != By::Key {
            seek::want_glimpse(self, Touch { at: now, by, zoom, seen: true, hold: None });
        }
        Ok(now)
    }

    /// Ends a slide: the end stays where it was slid to, a mark's as a fact, and may catch what is there.
    fn settle(&mut self, slid: Slid) -> Result<(), Say> {
        self.hand.glimpse = None;
        let SlidEnd { mark, point, at, by, zoom } = match slid {
            Slid::Mark(end) => end,
            Slid::Pending(i, _) => {
                if let (Some(t), true) = (self.hand.pending.get(i).copied(), gesture::catches(self.hand.tool))
                {
                    seek::want_end(self, t);
                }
                return Ok(());
            }
        };
        let mend = followed_beside(self.document(), mark, point);
        let done = self.take(Intent::MovePoint { mark, point, at, by, zoom, seen: true, caught: None });
        if done.is_err() {
            self.hand.held = Some(Held::Mark { mark, point });
            self.reckoned = reckon(self.journal.document(), &self.reckoned);
        } else {
            let point = nearest_point(self.document(), mark, point, at);
            self.hand.held = Some(Held::Mark { mark, point });
            self.hand.mend = mend.contains(&true).then_some(mend);
            if by != By::Key {
                seek::want_end(self, Touch { at, by, zoom, seen: true, hold: None });
            }
        }
        done
    }

    /// The scene as it stands, with all that is known of every mark.
    pub fn scene(&mut self) -> Scene {
        show::scene(self, true)
    }

    /// The same as a page draws it: a closed row tells no more than stands on it.
    pub fn look(&mut self) -> Scene {
        show::scene(self, false)
    }

    /// Every row of the size board with all that is known of its mark, open or not.
    pub fn sizes(&self) -> Vec<Rc<Row>> {
        show::sizes(self)
    }

    /// What the press is to make, with `date` as the person writes it: `show::order`.
    ///
    /// # Errors
    /// As there.
    pub fn order(&self, make: Make, date: &str) -> Result<Order, Say> {
        if WHOLE { show::order(self, make, date) } else { Err(Say::new("job.wants-whole")) }
    }

    /// A sentence, in the person's words and units.
    pub fn tell(&self, say: &Say) -> String {
        self.words.tell(say, &self.document().units)
    }

    /// The heads of the columns of comma-separated sizes.
    pub fn csv_heads(&self) -> [String; 9] {
        super::csv::HEADS.map(|key| self.words.fixed(key))
    }

    /// Takes a whole log, as kept, without making any scene on the way.
    ///
    /// # Errors
    /// The first fact that doesn't apply; what came before it stands.
    pub fn restore(&mut self, facts: impl IntoIterator<Item = Intent>) -> Result<(), Say> {
        self.hand = Hand::default();
        self.slid = None;
        self.answer = None;
        self.journal = Journal::default();
        let result = self.journal.take_all(facts);
        self.reckoned = reckon(self.journal.document(), &self.reckoned);
        self.mend_hand();
        self.hand.step = match (self.document().pictures.is_empty(), self.document().marks.is_empty()) {
            (true, _) => StepName::Picture,
            (_, true) => StepName::TrueLength,
            _ => StepName::Marks,
        };
        result
    }
}

/// The number of the point that was put at a place: as before, unless an outline lost points beside it.
fn nearest_point(document: &Document, mark: u32, point: u16, at: At) -> u16 {
    let points = document.mark(mark).map_or(&[][..], |m| &m.points);
    let there = points.iter().position(|p| p.at == at || p.hold.is_some_and(|h| h.put == at));
    match there.map(u16::try_from) {
        Some(Ok(there)) if points.get(usize::from(point)).is_none_or(|p| p.at != at) => there,
        _ => point,
    }
}

/// Whether places found along an edge stand right behind a point of a mark, and right ahead of it.
fn followed_beside(document: &Document, mark: u32, point: u16) -> [bool; 2] {
    let Some(m) = document.mark(mark).filter(|m| m.smooth.is_none() && !m.points.is_empty()) else {
        return [false; 2];
    };
    let (i, n) = (usize::from(point), m.points.len());
    [(i + n - 1) % n, (i + 1) % n].map(|k| m.points.get(k).is_some_and(|p| p.between))
}

fn ask_length(text: &str, style: crate::quantity::Style) -> Result<Answer, Say> {
    let mm = super::apply::length(&Length::Text(text.to_owned()), style)?;
    Ok(Answer { mm, figure: write_unrounded(mm, style) })
}
