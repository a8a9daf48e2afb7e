//! The log of facts, and undo without limit.
//!
//! The log only ever grows: taking back and putting back are facts in it too, so that whoever keeps it appends one line a
//! touch. So are moments that a person names, going back to one, and what has been printed: none of them is itself undone. Every fiftieth document is kept as a snapshot, so that undo replays at most fifty facts.

use super::apply::apply;
use super::document::Document;
use super::intent::{Intent, Size};
use crate::mark::By;
use crate::words::Say;

/// A snapshot is kept after every so many facts in force.
const SNAPSHOT_EVERY: usize = 50;

/// No more snapshots than this are kept.
const MOST_SNAPSHOTS: usize = 32;

/// The log, and where in it the document stands.
#[derive(Clone, Debug, Default)]
pub struct Journal {
    log: Vec<Intent>,
    /// Facts in force, as places in the log.
    done: Vec<usize>,
    /// Facts taken back, the last one last.
    undone: Vec<usize>,
    /// How many facts in force each snapshot holds, and the document after them.
    snapshots: Vec<(usize, Document)>,
    document: Document,
    /// The document in passing: while an end is being slid.
    passing: Option<Document>,
    /// What moments are called, and the facts in force then.
    moments: Vec<(String, Vec<usize>)>,
    /// Where in the log the last print stands.
    printed: Option<usize>,
}

/// No more moments than this are named.
const MOST_MOMENTS: usize = 200;

impl Journal {
    /// The document as it stands.
    pub fn document(&self) -> &Document {
        self.passing.as_ref().unwrap_or(&self.document)
    }

    /// The document as the log has it, whatever stands in passing.
    pub fn standing(&self) -> &Document {
        &self.document
    }

    /// Lets `document` stand in passing (while an end is being slid); [`Journal::end_passing`] ends that.
    pub fn pass(&mut self, document: Document) {
        self.passing = Some(document);
    }

    /// The document stands again as the log has it.
    pub fn end_passing(&mut self) {
        self.passing = None;
    }

    /// The whole log.
    pub fn log(&self) -> &[Intent] {
        &self.log
    }

    /// What the moments are called that can be gone back to; the one that was left by going back has no name.
    pub fn moments(&self) -> impl Iterator<Item = &str> {
        self.moments.iter().map(|(name, _)| name.as_str())
    }

    /// What was printed last: how many facts there were before it, and the sizes then.
    pub fn printed(&self) -> Option<(usize, &[Size])> {
        let at = self.printed?;
        match self.log.get(at) {
            Some(Intent::Printed { sizes }) => Some((at, sizes)),
            _ => None,
        }
    }

    /// The fact that undo would take back; of several that are one thing to a person, the first.
    pub fn last_done(&self) -> Option<&Intent> {
        let mut done = self.done.iter().rev().map(|&i| &self.log[i]);
        let mut last = done.next()?;
        for before in done {
            if !joined(before, last) {
                break;
            }
            last = before;
        }
        Some(last)
    }

    /// The fact that redo would put back.
    pub fn last_undone(&self) -> Option<&Intent> {
        self.undone.last().map(|&i| &self.log[i])
    }

    /// Applies a fact and writes it down.
    ///
    /// # Errors
    /// What is wrong with it, in words; the document and the log are then as before.
    pub fn take(&mut self, fact: Intent) -> Result<(), Say> {
        match fact {
            Intent::Undo => self.undo()?,
            Intent::Redo => self.redo()?,
            Intent::NameMoment { ref name } => self.remember(super::apply::name(name))?,
            Intent::GoBack { moment } => self.go_back(moment)?,
            Intent::Printed { .. } => self.printed = Some(self.log.len()),
            _ => {
                let mut next = self.document.clone();
                apply(&mut next, &fact)?;
                self.document = next;
                self.count_in(fact)?;
                return Ok(());
            }
        }
        self.log.push(fact);
        Ok(())
    }

    /// Counts a fact that has been applied among those in force.
    fn count_in(&mut self, fact: Intent) -> Result<(), Say> {
        let after_its_picture = self.after_its_picture(&fact);
        let at = self.log.len();
        self.log.push(fact);
        if let Some(place) = after_its_picture {
            // No touch made it: what a person did since stays the last thing to undo, and what they undid can be redone.
            self.done.insert(place, at);
            self.snapshots.retain(|(n, _)| *n < place);
            return self.put_back();
        }
        self.done.push(at);
        self.undone.clear();
        self.keep_snapshot();
        Ok(())
    }

    /// The place right after the picture that these views were found on, where nothing since has given out ids that would
    /// then be others.
    fn after_its_picture(&self, fact: &Intent) -> Option<usize> {
        let Intent::AddViews { picture, .. } = fact else { return None };
        let mut pictures = 0;
        let added = self.done.iter().position(|&i| {
            pictures += u32::from(matches!(self.log[i], Intent::AddPicture { .. }));
            pictures == *picture
        })?;
        let free = self.done[added + 1..].iter().all(|&i| {
            !matches!(
                self.log[i],
                Intent::AddPicture { .. }
                    | Intent::RemovePicture { .. }
                    | Intent::AddView { .. }
                    | Intent::AddViews { .. }
                    | Intent::SplitView { .. }
            )
        });
        free.then_some(added + 1)
    }

    /// Takes a whole log as it was kept, without a copy of the document for every fact.
    ///
    /// # Errors
    /// The first fact that doesn't apply; what came before it stands.
    pub fn take_all(&mut self, facts: impl IntoIterator<Item = Intent>) -> Result<(), Say> {
        for fact in facts {
            use Intent::{GoBack, NameMoment, Printed, Redo, Undo};
            if matches!(fact, Undo | Redo | NameMoment { .. } | GoBack { .. } | Printed { .. }) {
                self.take(fact)?;
                continue;
            }
            if let Err(say) = apply(&mut self.document, &fact) {
                self.put_back()?;
                return Err(say);
            }
            self.count_in(fact)?;
        }
        Ok(())
    }

    /// The facts in force now can be gone back to.
    fn remember(&mut self, name: String) -> Result<(), Say> {
        if self.moments.len() >= MOST_MOMENTS {
            return Err(Say::new("job.too-many-moments"));
        }
        self.moments.push((name, self.done.clone()));
        Ok(())
    }

    /// Puts the facts in force that were so at a moment. What is left by that is itself a moment from then on, without a name.
    fn go_back(&mut self, moment: u32) -> Result<(), Say> {
        let there =
            self.moments.get(moment as usize).ok_or_else(|| Say::new("job.no-such-moment"))?.1.clone();
        if !self.moments.iter().any(|(_, done)| *done == self.done) {
            self.remember(String::new())?;
        }
        let same = there.iter().zip(&self.done).take_while(|(a, b)| a == b).count();
        let before = std::mem::replace(&mut self.done, there);
        let undone = std::mem::take(&mut self.undone);
        self.snapshots.retain(|(at, _)| *at <= same);
        if same == self.done.len() {
            // Straight back: what came since can be put back step by step, as after undo.
            self.undone = undone;
            self.undone.extend(before.get(same..).unwrap_or_default().iter().rev());
        }
        self.put_back()
    }

    fn keep_snapshot(&mut self) {
        let n = self.done.len();
        self.snapshots.retain(|(at, _)| *at < n);
        if n.is_multiple_of(SNAPSHOT_EVERY) {
            self.snapshots.push((n, self.document.clone()));
        }
        if self.snapshots.len() > MOST_SNAPSHOTS {
            // Far back every second one goes: undo there replays more, and a long job doesn't fill the memory.
            let mut far = 0;
            self.snapshots.retain(|_| {
                far += 1;
                far > MOST_SNAPSHOTS / 2 || far % 2 == 0
            });
        }
    }

    fn undo(&mut self) -> Result<(), Say> {
        let mut last = self.done.pop().ok_or_else(|| Say::new("job.nothing-to-undo"))?;
        self.undone.push(last);
        // A run of nudges of the same end is one thing to a person, and so are a touch and what it caught.
        while let Some(&before) = self.done.last() {
            if !joined(&self.log[before], &self.log[last]) {
                break;
            }
            self.done.pop();
            self.undone.push(before);
            last = before;
        }
        self.put_back()
    }

    fn redo(&mut self) -> Result<(), Say> {
        let mut next = self.undone.pop().ok_or_else(|| Say::new("job.nothing-to-redo"))?;
        self.done.push(next);
        while let Some(&after) = self.undone.last() {
            if !joined(&self.log[next], &self.log[after]) {
                break;
            }
            self.undone.pop();
            self.done.push(after);
            next = after;
        }
        self.put_back()
    }

    /// Makes the document again from the nearest snapshot and the facts in force.
    ///
    /// # Errors
    /// Never in practice: every fact applied once before, in the same order.
    fn put_back(&mut self) -> Result<(), Say> {
        let n = self.done.len();
        let (from, mut document) = self
            .snapshots
            .iter()
            .rev()
            .find(|(at, _)| *at <= n)
            .cloned()
            .unwrap_or_else(|| (0, Document::default()));
        for &i in &self.done[from..] {
            apply(&mut document, &self.log[i])?;
        }
        self.document = document;
        Ok(())
    }
}

impl Intent {
    /// Whether it changes the document and belongs in the log.
    pub fn is_fact(&self) -> bool {
        use Intent::*;
        !matches!(
            self,
            Go { .. }
                | ShowPicture { .. }
                | Tool { .. }
                | Tap { .. }
                | Settle
                | Nudge { .. }
                | OtherEnd
                | Found { .. }
                | Loosen
                | LetGo
                | Forget
                | Hidden
                | Hold { .. }
                | Select { .. }
                | Show { .. }
                | Ask { .. }
                | OpenPart { .. }
                | AskPart { .. }
                | Entry { .. }
                | EntryHow { .. }
                | Accept { .. }
                | Dismiss
                | Want { .. }
                | TakeOutlines
                | Remember { .. }
                | Hush { .. }
                | AskLength { .. }
        )
    }
}

/// Whether two facts, one right after the other, are one thing to a person.
fn joined(a: &Intent, b: &Intent) -> bool {
    match (a, b) {
        (Intent::Place { .. }, Intent::MovePoint { caught: Some(_), point: 0, .. }) => true,
        (Intent::AddPicture { .. }, Intent::AddViews { .. })
        | (Intent::Place { .. }, Intent::Trace { .. }) => true,
        (Intent::AddPoint { mark: m, .. }, Intent::Follow { mark: n, .. }) => m == n,
        (
            Intent::MovePoint { mark: m, .. } | Intent::Follow { mark: m, .. },
            Intent::Follow { mark: n, .. },
        ) => m == n,
        (Intent::AddPoint { mark: m, .. }, Intent::Fit { mark: n, .. }) => m == n,
        (Intent::AddPoint { mark: m, .. }, Intent::MovePoint { mark: n, caught: Some(_), .. }) => m == n,
        (
            Intent::MovePoint { mark: m, point: p, caught: None, .. },
            Intent::MovePoint { mark: n, point: q, caught: Some(_), .. },
        ) => m == n && p == q,
        (
            Intent::MovePoint { mark: m, point: p, by: By::Key, caught: None, .. },
            Intent::MovePoint { mark: n, point: q, by: By::Key, caught: None, .. },
        ) => m == n && p == q,
        _ => false,
    }
}
