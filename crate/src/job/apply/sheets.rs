//! Facts about patterns and what they are printed on.

use super::super::document::{Document, OnPattern, PaperChoice, PatternChoice, Printer};
use super::super::intent::Intent;
use super::super::sheets::usable;
use super::{mark_mut, name, need_mark};
use crate::mark::{Ends, Kind};
use crate::sheet::paper;
use crate::words::Say;

/// No more of one part than this.
const MOST_OF_ONE: u32 = 1_000;
/// No sheet is moved further than this, mm.
const FARTHEST: f64 = 2_000.0;
/// What is let into wood, or lands on it, mm.
const THICK: std::ops::RangeInclusive<f64> = 0.1..=1_000.0;
/// No more wholes than this are moved by hand.
const MOST_WHOLES: u32 = 1_000;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    match fact {
        Intent::SetPattern { mark, choice } => set_pattern(document, *mark, *choice),
        Intent::OnPattern { mark, what } => on_pattern(document, *mark, *what),
        Intent::PatternOfView { view, on } => pattern_of_view(document, *view, *on),
        Intent::SetPaper { paper } => set_paper(document, paper),
        Intent::ShiftSheets { whole, by } => shift(document, *whole, *by),
        Intent::SetPrinter { printer } => set_printer(document, printer.as_ref()),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

fn set_pattern(document: &mut Document, mark: u32, choice: PatternChoice) -> Result<(), Say> {
    if need_mark(document, mark)?.kind != Kind::Outline {
        return Err(Say::new("job.not-an-outline"));
    }
    if !(1..=MOST_OF_ONE).contains(&choice.quantity) {
        return Err(Say::new("job.quantity-absurd"));
    }
    document.sheets.patterns.retain(|(m, _)| *m != mark);
    document.sheets.patterns.push((mark, choice));
    Ok(())
}

fn on_pattern(document: &mut Document, mark: u32, what: Option<OnPattern>) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    if m.kind != Kind::Length || m.ends != Ends::Between {
        return Err(Say::new("job.on-pattern-lengths-only"));
    }
    match what {
        Some(OnPattern::Lands { thick, deep })
            if !(THICK.contains(&thick) && (0.0..=*THICK.end()).contains(&deep)) =>
        {
            return Err(Say::new("job.thickness-absurd"));
        }
        Some(OnPattern::Bevel { degrees }) if !(degrees > 0.0 && degrees < 90.0) => {
            return Err(Say::new("job.bevel-absurd"));
        }
        _ => m.on_pattern = what,
    }
    Ok(())
}

fn pattern_of_view(document: &mut Document, view: u32, on: bool) -> Result<(), Say> {
    if document.view(view).is_none() {
        return Err(Say::new("job.no-such-view").count("view", view as usize));
    }
    document.sheets.views.retain(|v| *v != view);
    if on {
        document.sheets.views.push(view);
    }
    Ok(())
}

/// Another paper: what was moved by hand on the one before means nothing on it.
fn set_paper(document: &mut Document, choice: &PaperChoice) -> Result<(), Say> {
    let before = document.sheets.paper.replace(choice.clone());
    if let Err(why) = usable(document) {
        document.sheets.paper = before;
        return Err(why);
    }
    document.sheets.shift.clear();
    Ok(())
}

fn shift(document: &mut Document, whole: u32, by: [f64; 2]) -> Result<(), Say> {
    if whole >= MOST_WHOLES || !by.iter().all(|v| v.abs() <= FARTHEST) {
        return Err(Say::new("job.shift-absurd"));
    }
    let all = &mut document.sheets.shift;
    let at = whole as usize;
    if all.len() <= at {
        all.resize(at + 1, [0.0; 2]);
    }
    if let Some(place) = all.get_mut(at) {
        *place = [place[0] + by[0], place[1] + by[1]].map(|v| v.clamp(-FARTHEST, FARTHEST));
    }
    Ok(())
}

fn set_printer(document: &mut Document, printer: Option<&Printer>) -> Result<(), Say> {
    if printer.is_some_and(|p| !p.factor.iter().all(|f| paper::is_printers_own(*f))) {
        return Err(Say::new("job.printer-absurd"));
    }
    document.sheets.printer = printer.map(|p| Printer { name: name(&p.name), ..p.clone() });
    Ok(())
}
