//! What each fact does to the document. Every fact is checked whole before anything is changed by it; an error
//! leaves a document that the caller throws away.

mod boxes;
mod divide;
mod layout;
mod lens;
mod marks;
mod parts;
mod reshape;
mod sheets;
mod size;
mod trace;
mod vane;
mod views;

pub(super) use boxes::TOUCHED;
pub(super) use reshape::sigma_of;
pub(super) use size::{need_length, usual_pm};

use super::document::{Document, Mark, Placing, View};
use super::intent::{At, Intent, Length};
use crate::WHOLE;
use crate::mark::{By, click_sigma};
use crate::quantity::{Style, read_length};
use crate::words::Say;
use std::rc::Rc;

/// No more of each than a job can bear.
pub(super) const MOST_MARKS: usize = 20_000;
/// No more points on a mark.
pub(super) const MOST_POINTS: usize = 20_000;
/// No name longer.
pub(super) const LONGEST_NAME: usize = 500;

/// Applies `fact` to `document`.
///
/// # Errors
/// What is wrong with the fact, in words.
pub fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    use Intent::*;
    match fact {
        AddViews { .. } | MergeViews { .. } | SplitView { .. } => divide::apply(document, fact),
        AddPicture { .. }
        | RemovePicture { .. }
        | SetResolution { .. }
        | SetDrawingScale { .. }
        | AddView { .. }
        | ChangeView { .. }
        | RemoveView { .. }
        | SquareOn { .. }
        | Flat { .. }
        | Cropped { .. }
        | Slanted { .. }
        | Formed { .. }
        | TwoScales { .. }
        | ScaleFrom { .. }
        | Trust { .. } => views::apply(document, fact),
        Place { .. }
        | AddPoint { .. }
        | MovePoint { .. }
        | PutBack { .. }
        | Fit { .. }
        | Trace { .. }
        | Outlines { .. }
        | Shape { .. }
        | AddKnot { .. }
        | TurnKnot { .. }
        | Follow { .. }
        | RemovePoint { .. }
        | Again { .. }
        | DeleteMark { .. }
        | NameMark { .. }
        | NumberMark { .. }
        | Keep { .. }
        | Like { .. }
        | OtherHand { .. } => marks::apply(document, fact),
        SetKnown { .. }
        | ClearKnown { .. }
        | Chain { .. }
        | Unchain { .. }
        | TakeUp { .. }
        | SameThing { .. }
        | SetBuild { .. }
        | SetBuildRatio { .. }
        | SetBuildPercent { .. }
        | ClearBuild
        | SetBase { .. }
        | SetUnits { .. }
        | SetSide { .. }
        | NameJob { .. } => size::apply(document, fact),
        _ if WHOLE => apply_whole(document, fact),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

/// The same, where only the whole core knows it.
fn apply_whole(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    use Intent::*;
    match fact {
        Boxed { .. } | StandsBack { .. } => boxes::apply(document, fact),
        StraightEdge { .. } | ForgetEdges { .. } | KnowLens { .. } => lens::apply(document, fact),
        SetKerf { .. } | SetBoards { .. } | SetAtHand { .. } | Pin { .. } | Spot { .. } | Tick { .. } => {
            layout::apply(document, fact)
        }
        SetPart { mark, choice } => parts::set_part(document, *mark, choice),
        AddPart { like } => parts::add(document, *like),
        SetBought { of, bought } => parts::set_bought(document, *of, *bought),
        AddAxle { wheel, through } => parts::add_axle(document, *wheel, *through),
        NamePart { part, name } => parts::name(document, *part, name),
        RemovePart { part } => parts::remove(document, *part),
        SetThing { about } => parts::set_thing(document, about),
        SetVane { vane } => vane::set_vane(document, vane),
        SetPattern { .. }
        | OnPattern { .. }
        | PatternOfView { .. }
        | SetPaper { .. }
        | ShiftSheets { .. }
        | SetPrinter { .. } => sheets::apply(document, fact),
        SetCaption { caption } => super::caption::set(document, caption),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

/// A length as given, in mm.
pub(super) fn length(given: &Length, style: Style) -> Result<f64, Say> {
    let mm = match given {
        Length::Text(text) => {
            read_length(text, style).map_err(|e| e.say.count("at", e.at).count("len", e.len))?
        }
        Length::Mm { mm } => *mm,
    };
    if !mm.is_finite() || mm <= 0.0 {
        return Err(Say::new("job.length-not-positive"));
    }
    if !(1e-2..=1e6).contains(&mm) {
        return Err(Say::new("job.length-absurd"));
    }
    Ok(mm)
}

/// A point as put, with what the way of putting it says of its σ.
pub(super) fn placing(at: At, by: By, zoom: f64, seen: bool) -> Result<Placing, Say> {
    if !at.is_finite() || at.x.abs() > 1e6 || at.y.abs() > 1e6 {
        return Err(Say::new("job.point-not-a-place"));
    }
    if !zoom.is_finite() || zoom <= 0.0 {
        return Err(Say::new("job.zoom-not-positive"));
    }
    Ok(Placing { at, sigma: click_sigma(by, zoom, seen), hold: None, between: false })
}

/// A name as given: no control characters, no more than so many letters, no space round it.
pub(super) fn name(given: &str) -> String {
    // Marks that only turn the writing's direction about would turn the rest of the page with it.
    let turns = |c: &char| matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let plain = given.chars().filter(|c| !turns(c));
    let clean: String = plain.map(|c| if c.is_control() { ' ' } else { c }).collect();
    clean.trim().chars().take(LONGEST_NAME).collect()
}

pub(super) fn mark_mut(document: &mut Document, id: u32) -> Result<&mut Mark, Say> {
    document.marks.iter_mut().find(|m| m.id == id).map(Rc::make_mut).ok_or_else(|| no_mark(id))
}

pub(super) fn need_mark(document: &Document, id: u32) -> Result<&Mark, Say> {
    document.mark(id).ok_or_else(|| no_mark(id))
}

fn no_mark(id: u32) -> Say {
    Say::new("job.no-such-mark").count("mark", id as usize)
}

pub(super) fn view_mut(document: &mut Document, id: u32) -> Result<&mut View, Say> {
    document
        .views
        .iter_mut()
        .find(|v| v.id == id)
        .ok_or_else(|| Say::new("job.no-such-view").count("view", id as usize))
}

pub(super) fn need_picture(document: &Document, id: u32) -> Result<(), Say> {
    document
        .picture(id)
        .map(|_| ())
        .ok_or_else(|| Say::new("job.no-such-picture").count("picture", id as usize))
}
