//! Facts about parts as they are cut.

use super::super::document::Document;
use super::super::parts::{Made, PartChoice};
use super::need_mark;
use crate::mark::Kind;
use crate::words::Say;

/// No joint goes deeper, mm.
const DEEPEST: f64 = 1_000.0;

pub(super) fn set_part(document: &mut Document, mark: u32, choice: &PartChoice) -> Result<(), Say> {
    if need_mark(document, mark)?.kind != Kind::Outline {
        return Err(Say::new("job.not-an-outline"));
    }
    if let Some(made) = &choice.made {
        check(document, made)?;
    }
    if !choice.ends.iter().all(|e| (0.0..=DEEPEST).contains(&e.depth)) {
        return Err(Say::new("part.joint-depth"));
    }
    // In its old place: what others assume follows from the order in which parts were chosen.
    match document.parts.iter_mut().find(|(m, _)| *m == mark) {
        Some((_, old)) => *old = choice.clone(),
        None => document.parts.push((mark, choice.clone())),
    }
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
