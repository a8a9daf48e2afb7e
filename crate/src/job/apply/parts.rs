//! Facts about parts as they are cut.

use super::super::document::Document;
use super::super::parts::{About, Hidden, Made, PartChoice};
use super::{MOST_MARKS, need_mark};
use crate::part::rule::{self, Side, Term};
use crate::words::Say;

/// No joint goes deeper, mm.
const DEEPEST: f64 = 1_000.0;

pub(super) fn set_part(document: &mut Document, mark: u32, choice: &PartChoice) -> Result<(), Say> {
    if !document.is_part(mark) {
        need_mark(document, mark)?;
        return Err(Say::new("job.not-an-outline"));
    }
    let sound = |v: &f64| *v > 0.0 && *v <= DEEPEST;
    if !choice.load.iter().chain(choice.front_edge.iter().flatten()).all(sound) {
        return Err(Say::new("part.shelf"));
    }
    choice.rules.iter().try_for_each(|r| rule::check(r))?;
    if let Some(made) = &choice.made {
        check(document, made)?;
    }
    if !choice.ends.iter().all(|e| (0.0..=DEEPEST).contains(&e.depth)) {
        return Err(Say::new("part.joint-depth"));
    }
    put(document, mark, choice);
    match document.circle(mark) {
        Some(letters) => Err(Say::new("rule.circle").text("letters", letters)),
        None => Ok(()),
    }
}

fn put(document: &mut Document, mark: u32, choice: &PartChoice) {
    // In its old place: what others assume follows from the order in which parts were chosen.
    match document.parts.iter_mut().find(|(m, _)| *m == mark) {
        Some((_, old)) => *old = choice.clone(),
        None => document.parts.push((mark, choice.clone())),
    }
}

/// What it is.
pub(super) fn set_thing(document: &mut Document, about: &About) -> Result<(), Say> {
    if about.tells.len() > MOST_MARKS || about.compare.is_some_and(|c| !(1e-3..=1e3).contains(&c)) {
        return Err(Say::new("job.not-a-fact"));
    }
    document.about = about.clone();
    Ok(())
}

/// A hidden part, its sides those of `like`.
pub(super) fn add(document: &mut Document, like: Option<u32>) -> Result<(), Say> {
    if document.hidden.len() >= MOST_MARKS {
        return Err(Say::new("job.too-many-marks"));
    }
    if let Some(like) = like.filter(|m| !document.is_part(*m)) {
        need_mark(document, like)?;
        return Err(Say::new("job.not-an-outline"));
    }
    let [_, _, last] = &mut document.last;
    *last += 1;
    let id = *last;
    document.hidden.push(Hidden { id, name: String::new() });
    if let Some(like) = like {
        let same = |side| vec![Term { times: 1.0, part: Some(like), side, mm: 0.0 }];
        let old = document.part(like);
        let rules = [same(Side::Length), same(Side::Width)];
        put(document, id, &PartChoice { rules, left_out: false, altered: false, ..old });
    }
    Ok(())
}

pub(super) fn name(document: &mut Document, part: u32, name: &str) -> Result<(), Say> {
    let hidden = document.hidden.iter_mut().find(|h| h.id == part);
    hidden.ok_or_else(|| Say::new("job.no-such-part"))?.name = super::name(name);
    Ok(())
}

pub(super) fn remove(document: &mut Document, part: u32) -> Result<(), Say> {
    document.hidden(part).ok_or_else(|| Say::new("job.no-such-part"))?;
    document.hidden.retain(|h| h.id != part);
    document.parts.retain(|(m, _)| *m != part);
    document.sheets.patterns.retain(|(m, _)| *m != part);
    Ok(())
}

fn check(document: &Document, made: &Made) -> Result<(), Say> {
    let stock = made.row().ok_or_else(|| Say::new("part.no-such-stock").text("name", made.stock.clone()))?;
    if let Some(mm) = made.planed
        && !(mm > 0.0 && mm <= stock.actual + 1e-6)
    {
        return Err(Say::new("part.planed").length("size", mm).length("stock", stock.actual));
    }
    match made.edge {
        Some(edge) => need_mark(document, edge).map(|_| ()),
        None => Ok(()),
    }
}
