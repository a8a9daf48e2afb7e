//! Views that share a direction must agree: side and top on length, top and front on span, side and front on
//! height (trade practice, no source).

use super::document::Document;
use super::intent::Role;
use super::reckon::{Reading, Reckoned};
use crate::mark::Kind;

/// Two marks are taken for the same thing by themselves only when their sizes differ by less than this.
const NEAR: f64 = 0.12;
/// How far from level or plumb an overall mark may run: tangent of about 10°.
const SLOPE: f64 = 0.18;

/// A direction of the thing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// Nose to tail, or front to back.
    Length,
    /// Side to side.
    Span,
    /// Up.
    Height,
}

/// Two marks of the same thing on two views, and how they differ.
#[derive(Clone, Debug)]
pub struct Crossing {
    /// The marks.
    pub marks: [u32; 2],
    /// The views.
    pub views: [u32; 2],
    /// What they share; nothing when a person paired them.
    pub direction: Option<Direction>,
    /// The difference is beyond its ±.
    pub disagree: bool,
}

/// Every pair that can be checked.
pub fn crossings(document: &Document, reckoned: &Reckoned) -> Vec<Crossing> {
    let mut out: Vec<Crossing> = Vec::new();
    for pair in document.same.iter().filter(|p| p.same) {
        if let Some(c) = cross(document, reckoned, pair.marks, None) {
            out.push(c);
        }
    }
    let overall = overall(document, reckoned);
    for (i, a) in overall.iter().enumerate() {
        for b in &overall[i + 1..] {
            if a.view == b.view || a.direction != b.direction {
                continue;
            }
            let marks = [a.mark, b.mark];
            let said = document.same.iter().any(|p| p.marks.contains(&a.mark) && p.marks.contains(&b.mark));
            let near = (a.size - b.size).abs() <= NEAR * a.size.max(b.size);
            if said || !near {
                continue;
            }
            if let Some(c) = cross(document, reckoned, marks, Some(a.direction)) {
                out.push(c);
            }
        }
    }
    out
}

fn cross(
    document: &Document,
    reckoned: &Reckoned,
    marks: [u32; 2],
    direction: Option<Direction>,
) -> Option<Crossing> {
    let [a, b] = [reckoned.reading(marks[0])?, reckoned.reading(marks[1])?];
    if !reckoned.comparable(a, b) && !same_paper(document, reckoned, a, b) {
        return None;
    }
    if direction.is_none() && super::slope::slope(document, reckoned, marks[0]).is_some() {
        // What slopes shows short in each view, and in each by another amount.
        return None;
    }
    let difference = a.primary()?.minus(b.primary()?);
    let disagree = difference.value.abs() > difference.half_width();
    Some(Crossing { marks, views: [a.view, b.view], direction, disagree })
}

/// Views of one picture without any true length still share the drawing's own scale.
fn same_paper(document: &Document, reckoned: &Reckoned, a: &Reading, b: &Reading) -> bool {
    let picture = |r: &Reading| document.mark(r.mark).map(|m| m.picture);
    let unturned = |r: &Reading| reckoned.maps.get(r.map).is_some_and(|m| m.origin.rectangle.is_none());
    !a.scaled && !b.scaled && picture(a) == picture(b) && unturned(a) && unturned(b)
}

/// The longest mark of one direction on one view.
#[derive(Clone, Copy, Debug)]
struct Overall {
    mark: u32,
    view: u32,
    direction: Direction,
    size: f64,
}

fn overall(document: &Document, reckoned: &Reckoned) -> Vec<Overall> {
    let longest = |view: u32, level: bool| {
        reckoned
            .marks
            .iter()
            .filter(|r| r.view == view)
            .filter_map(|r| {
                let runs = runs_level(document, r)?;
                (runs == level).then_some((r.mark, r.primary()?.value))
            })
            .max_by(|a, b| a.1.total_cmp(&b.1))
    };
    let mut out = Vec::new();
    let mut tops = Vec::new();
    for v in document.views.iter().filter(|v| v.role != Role::Other) {
        let (level, plumb) = (longest(v.id, true), longest(v.id, false));
        let mut push = |found: Option<(u32, f64)>, direction| {
            out.extend(found.map(|(mark, size)| Overall { mark, view: v.id, direction, size }));
        };
        match v.role {
            Role::Front => {
                push(level, Direction::Span);
                push(plumb, Direction::Height);
            }
            Role::Side => {
                push(level, Direction::Length);
                push(plumb, Direction::Height);
            }
            _ => tops.push((v.id, level, plumb)),
        }
    }
    for (view, level, plumb) in tops {
        let across = top_lies_across(&out, level, plumb);
        let (length, span) = if across { (level, plumb) } else { (plumb, level) };
        out.extend(length.map(|(mark, size)| Overall { mark, view, direction: Direction::Length, size }));
        out.extend(span.map(|(mark, size)| Overall { mark, view, direction: Direction::Span, size }));
    }
    out
}

/// Whether a length runs level (true) or plumb (false) on its view, or neither.
fn runs_level(document: &Document, reading: &Reading) -> Option<bool> {
    let mark = &reading.made_from;
    if mark.kind != Kind::Length || mark.points.len() < 2 {
        return None;
    }
    let view = document.view(reading.view)?;
    let tilt = view.bounds.tilt.to_radians();
    let (c, s) = (libm::cos(tilt), libm::sin(tilt));
    let step = mark.points[mark.points.len() - 1].at - mark.points[mark.points.len() - 2].at;
    let (u, v) = ((step.x * c + step.y * s).abs(), (step.y * c - step.x * s).abs());
    if v <= SLOPE * u {
        Some(true)
    } else if u <= SLOPE * v {
        Some(false)
    } else {
        None
    }
}

/// A view from above may lie either way: the way in which its overall sizes fit the other views better.
fn top_lies_across(others: &[Overall], level: Option<(u32, f64)>, plumb: Option<(u32, f64)>) -> bool {
    let misfit = |found: Option<(u32, f64)>, direction: Direction| {
        let Some((_, size)) = found else { return 0.3 };
        others
            .iter()
            .filter(|o| o.direction == direction)
            .map(|o| libm::log(size / o.size).abs())
            .min_by(f64::total_cmp)
            .map_or(0.3, |m| m.min(0.5))
    };
    let across = misfit(level, Direction::Length) + misfit(plumb, Direction::Span);
    let upright = misfit(plumb, Direction::Length) + misfit(level, Direction::Span);
    across < upright
}
