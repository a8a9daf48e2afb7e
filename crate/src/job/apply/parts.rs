//! Facts about parts as they are cut.

use super::super::document::Document;
use super::super::parts::{About, Hidden, Made, PartChoice};
use super::{MOST_MARKS, need_mark};
use crate::mark::Kind;
use crate::part::bought::WASHER;
use crate::part::rule::{self, Own, Side, Term};
use crate::part::{Bought, Ware};
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
    if choice.bought.is_some_and(|b| !b.is_sound()) {
        return Err(Say::new("bought.size"));
    }
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
    let dry = about.moisture.is_none_or(|m| (0.0..=30.0).contains(&m));
    if !dry || about.tells.len() > MOST_MARKS || about.compare.is_some_and(|c| !(1e-3..=1e3).contains(&c)) {
        return Err(Say::new("job.not-a-fact"));
    }
    document.about = about.clone();
    Ok(())
}

/// One more part that no outline shows, with nothing known of it.
fn hide(document: &mut Document, name: String, round: Option<u32>) -> Result<u32, Say> {
    if document.hidden.len() >= MOST_MARKS {
        return Err(Say::new("job.too-many-marks"));
    }
    let [_, _, last] = &mut document.last;
    *last += 1;
    let id = *last;
    document.hidden.push(Hidden { id, name, round });
    Ok(id)
}

/// A part, or what a mark measures (which becomes a part by it), is bought.
pub(super) fn set_bought(document: &mut Document, of: u32, bought: Option<Bought>) -> Result<(), Say> {
    if bought.is_some_and(|b| !b.is_sound()) {
        return Err(Say::new("bought.size"));
    }
    let part = match document.part_of(of) {
        Some(part) => part,
        None => {
            let mark = need_mark(document, of)?;
            if !matches!(mark.kind, Kind::Circle | Kind::Length | Kind::Gap) {
                return Err(Say::new("job.not-an-outline"));
            }
            let name = mark.name.clone();
            hide(document, name, Some(of))?
        }
    };
    let measured = document.hidden(part).is_some_and(|h| h.round.is_some());
    if bought.is_none() && measured {
        // It was a part by being bought.
        return remove(document, part);
    }
    let choice = PartChoice { bought, ..document.part(part) };
    put(document, part, &choice);
    Ok(())
}

/// The axle of a wheel, as long as what it goes through, two wheels, two washers, and some play.
///
/// # References
/// Common practice, no source.
pub(super) fn add_axle(document: &mut Document, wheel: u32, through: Option<u32>) -> Result<(), Say> {
    let bought = document.bought(wheel).filter(|b| b.ware == Ware::Wheel && document.is_part(wheel));
    let bought = bought.ok_or_else(|| Say::new("bought.no-wheel"))?;
    if through.is_some_and(|t| !document.is_part(t)) {
        return Err(Say::new("job.no-such-part"));
    }
    let metric = document.units.style.is_metric();
    let washer = WASHER[usize::from(metric)];
    let body = through.map(|t| Term::of(1.0, t, Side::Thickness));
    let rest = [
        Term::of(2.0, wheel, Side::Thickness),
        Term::own(2.0, washer, Some(Own::Washer)),
        Term::own(1.0, washer, Some(Own::Play)),
    ];
    let rules = [body.into_iter().chain(rest).collect(), Vec::new()];
    let id = hide(document, String::new(), None)?;
    put(document, id, &PartChoice { bought: Some(bought.axle(metric)), rules, ..PartChoice::default() });
    Ok(())
}

/// A hidden part, its sides those of `like`.
pub(super) fn add(document: &mut Document, like: Option<u32>) -> Result<(), Say> {
    if let Some(like) = like.filter(|m| !document.is_part(*m)) {
        need_mark(document, like)?;
        return Err(Say::new("job.not-an-outline"));
    }
    let id = hide(document, String::new(), None)?;
    if let Some(like) = like {
        let same = |side| vec![Term::of(1.0, like, side)];
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
    if let Some(mm) = made.planed.filter(|mm| !stock.may_measure(*mm))
        && !(mm > 0.0 && mm <= stock.actual + 1e-6)
    {
        return Err(Say::new("part.planed").length("size", mm).length("stock", stock.actual));
    }
    match made.edge {
        Some(edge) => need_mark(document, edge).map(|_| ()),
        None => Ok(()),
    }
}
