//! Facts about marks.

use super::super::document::{Build, Document, Mark, Placing, View};
use super::super::intent::{Along, At, Intent};
use super::super::reckon::map_for;
use super::{MOST_MARKS, MOST_POINTS, mark_mut, name, need_mark, need_picture, placing};
use crate::mark::{Ends, Kind, keep_level, keep_plumb, like as moved, mirrored, need};
use crate::plane::Vector;
use crate::view::ViewMap;
use crate::words::Say;
use std::rc::Rc;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    match fact {
        Intent::Place { picture, mark, points, ends, by, zoom, seen, name: given } => {
            let put: Vec<Placing> =
                points.iter().map(|p| placing(*p, *by, *zoom, *seen)).collect::<Result<_, _>>()?;
            place(document, *picture, *mark, *ends, put, given).map(|_| ())
        }
        Intent::AddPoint { mark, at, by, zoom, seen } => {
            add_point(document, *mark, placing(*at, *by, *zoom, *seen)?)
        }
        Intent::MovePoint { mark, point, at, by, zoom, seen } => {
            move_point(document, *mark, *point, placing(*at, *by, *zoom, *seen)?)
        }
        Intent::RemovePoint { mark, point } => remove_point(document, *mark, *point),
        Intent::Again { mark, points } => again(document, *mark, points),
        Intent::DeleteMark { mark } => {
            need_mark(document, *mark)?;
            remove(document, *mark);
            Ok(())
        }
        Intent::NameMark { mark, name: given } => mark_mut(document, *mark).map(|m| m.name = name(given)),
        Intent::NumberMark { mark, number } => number_mark(document, *mark, *number),
        Intent::Keep { mark, along } => keep(document, *mark, *along),
        Intent::Like { mark, step } => like(document, *mark, *step),
        Intent::OtherHand { mark, line } => other_hand(document, *mark, *line),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

fn place(
    document: &mut Document,
    picture: u32,
    kind: Kind,
    ends: Ends,
    points: Vec<Placing>,
    given: &str,
) -> Result<u32, Say> {
    need_picture(document, picture)?;
    if document.marks.len() >= MOST_MARKS {
        return Err(Say::new("job.too-many-marks"));
    }
    if points.is_empty() {
        return Err(Say::new("job.no-points"));
    }
    let (_, most) = need(kind, ends);
    if points.len() > most.min(MOST_POINTS) {
        return Err(Say::new("job.too-many-points"));
    }
    document.last[2] += 1;
    let id = document.last[2];
    let taken = crate::order::places_of(document.marks.iter().map(|m| m.number));
    let number = (1..).find(|n| !taken.has(n)).unwrap_or(id);
    document.marks.push(Rc::new(Mark {
        id,
        number,
        name: name(given),
        picture,
        kind,
        ends,
        points,
        repeats: Vec::new(),
        along: Along::Free,
        known: None,
    }));
    Ok(id)
}

fn add_point(document: &mut Document, mark: u32, put: Placing) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    let (_, most) = need(m.kind, m.ends);
    if m.points.len() >= most.min(MOST_POINTS) {
        return Err(Say::new("job.too-many-points"));
    }
    m.points.push(put);
    let last = m.points.len() - 1;
    hold_along(document, mark, last)
}

fn move_point(document: &mut Document, mark: u32, point: u16, put: Placing) -> Result<(), Say> {
    let at = usize::from(point);
    let m = mark_mut(document, mark)?;
    let p = m.points.get_mut(at).ok_or_else(|| Say::new("job.no-such-point"))?;
    *p = put;
    // Placings made again were of where it stood.
    m.repeats.clear();
    hold_along(document, mark, at)
}

/// Whether a view's map comes from a rectangle: its own, or the whole picture's.
fn turned_square_on(document: &Document, view: &View) -> bool {
    view.rectangle.is_some() || document.whole(view.picture).is_some_and(|w| w.rectangle.is_some())
}

fn need_map(document: &Document, mark: u32) -> Result<ViewMap, Say> {
    map_for(document, need_mark(document, mark)?).ok_or_else(|| Say::new("job.no-map-here"))
}

/// Puts point `moved` of a length that is kept level or plumb back onto that direction through its other end, as it
/// runs on the view turned square-on.
fn hold_along(document: &mut Document, mark: u32, moved: usize) -> Result<(), Say> {
    let m = need_mark(document, mark)?;
    if m.kind != Kind::Length || m.points.len() < 2 || m.along == Along::Free {
        return Ok(());
    }
    let last = m.points.len() - 1;
    let other = if moved == last { last - 1 } else { last };
    let (still, wanted) = (m.points[other].at, m.points[moved].at);
    let view = document.view_at(m.picture, &m.points).and_then(|v| document.view(v));
    let tilt = view.filter(|v| !turned_square_on(document, v)).map(|v| v.bounds.tilt.to_radians());
    if let Some(tilt) = tilt {
        // On a flat view its own level counts, also where its scale comes from a view that lies otherwise.
        let turn = if m.along == Along::Level { tilt } else { tilt + std::f64::consts::FRAC_PI_2 };
        let (c, s) = (libm::cos(turn), libm::sin(turn));
        let run = (wanted.x - still.x) * c + (wanted.y - still.y) * s;
        let at = At::new(still.x + run * c, still.y + run * s);
        if let Some(p) = mark_mut(document, mark)?.points.get_mut(moved) {
            p.at = at;
        }
        return Ok(());
    }
    let map = need_map(document, mark)?;
    let at = if m.along == Along::Level {
        keep_level(still, wanted, &map)?
    } else {
        keep_plumb(still, wanted, &map)?
    };
    if let Some(p) = mark_mut(document, mark)?.points.get_mut(moved) {
        p.at = at;
    }
    Ok(())
}

fn remove_point(document: &mut Document, mark: u32, point: u16) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    let (least, _) = need(m.kind, m.ends);
    if usize::from(point) >= m.points.len() {
        return Err(Say::new("job.no-such-point"));
    }
    if m.points.len() <= least {
        return Err(Say::new("job.too-few-points").count("least", least));
    }
    m.points.remove(usize::from(point));
    m.repeats.clear();
    Ok(())
}

fn again(document: &mut Document, mark: u32, points: &[At]) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    if points.len() != m.points.len() {
        return Err(Say::new("job.again-as-many").count("points", m.points.len()));
    }
    if m.repeats.len() >= 100 {
        return Err(Say::new("job.too-many-repeats"));
    }
    let put: Vec<Placing> = points
        .iter()
        .zip(&m.points)
        .map(|(at, p)| {
            placing(*at, crate::mark::By::Mouse, 1.0, true).map(|n| Placing { sigma: p.sigma, ..n })
        })
        .collect::<Result<_, _>>()?;
    m.repeats.push(put);
    Ok(())
}

/// Takes a mark away, and every word about it.
pub(super) fn remove(document: &mut Document, mark: u32) {
    document.marks.retain(|m| m.id != mark);
    for chain in &mut document.chains {
        chain.retain(|m| *m != mark);
    }
    document.chains.retain(|c| c.len() > 1);
    document.same.retain(|s| !s.marks.contains(&mark));
    document.trusted.retain(|t| t.mark != mark && t.other != mark);
    if document.base == Some(mark) {
        document.base = None;
    }
    if matches!(document.build, Build::Wanted { mark: m, .. } if m == mark) {
        document.build = Build::None;
    }
}

fn number_mark(document: &mut Document, mark: u32, number: u32) -> Result<(), Say> {
    if number == 0 || number > 9999 {
        return Err(Say::new("job.number-range"));
    }
    let before = need_mark(document, mark)?.number;
    for m in &mut document.marks {
        if m.id == mark {
            Rc::make_mut(m).number = number;
        } else if m.number == number {
            Rc::make_mut(m).number = before;
        }
    }
    Ok(())
}

fn keep(document: &mut Document, mark: u32, along: Along) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    if m.kind != Kind::Length {
        return Err(Say::new("job.keep-lengths-only"));
    }
    m.along = along;
    match m.points.len().checked_sub(1) {
        Some(last) => hold_along(document, mark, last),
        None => Ok(()),
    }
}

fn like(document: &mut Document, mark: u32, step: [f64; 2]) -> Result<(), Say> {
    if step.iter().any(|s| !s.is_finite() || s.abs() > 1e6) {
        return Err(Say::new("job.point-not-a-place"));
    }
    let map = need_map(document, mark)?;
    let m = need_mark(document, mark)?.clone();
    let ats = moved(&places(&m), Vector::new(step[0], step[1]), &map)?;
    copy(document, &m, ats)
}

fn other_hand(document: &mut Document, mark: u32, line: u32) -> Result<(), Say> {
    let l = need_mark(document, line)?;
    if l.kind != Kind::Length || l.points.len() < 2 || mark == line {
        return Err(Say::new("job.other-hand-needs-line"));
    }
    let (a, b) = (l.points[0].at, l.points[1].at);
    let map = need_map(document, mark)?;
    let m = need_mark(document, mark)?.clone();
    let ats = mirrored(&places(&m), a, b, &map)?;
    copy(document, &m, ats)
}

fn places(m: &Mark) -> Vec<At> {
    m.points.iter().map(|p| p.at).collect()
}

fn copy(document: &mut Document, m: &Mark, ats: Vec<At>) -> Result<(), Say> {
    let points = ats.into_iter().zip(&m.points).map(|(at, p)| Placing { at, ..*p }).collect();
    let new = place(document, m.picture, m.kind, m.ends, points, &m.name)?;
    mark_mut(document, new)?.along = m.along;
    Ok(())
}
