//! What is done with whole outlines by a touch or a key: the choices that are made for the person, and what becomes of
//! the answers. The geometry itself is asked for, as pixels are (see [`super::seek`]).

use super::desk::Desk;
use super::document::Mark;
use super::hand::Held;
use super::intent::{At, Intent, Tool, Wish, Work};
use super::reckon::{Reading, Reckoned};
use super::seek::{Sought, want};
use crate::mark::{Ends, Kind, need};
use crate::plane::{Even, Fitting, Half, Shaping, contains};
use crate::raster::ask::{Ask, Border, Found, FoundView};
use crate::words::{Arg, Say};

/// A curve may run this far from what it goes through, mm as it will be built: half of what a scroll saw holds
/// (trade practice, no source).
const CURVE_MM: f64 = 0.2;
/// The same where no size is known, and its least and most, px.
const CURVE_PX: [f64; 3] = [0.5, 0.3, 2.0];
/// Tracing rounds a corner off by about so much, px: the picture's own blur, and the step between an outline's points.
const BLUNT: f64 = 1.0;
/// Fairing takes out waves shorter than this part of the outline's length across.
const SPAN: f64 = 0.15;
/// It moves nothing by more than this, mm as it will be built: 1/32 in, a saw's width of a line (common practice, no source).
const MOST_MM: f64 = 25.4 / 32.0;
/// Where no size is known: this part of the length across. And never less than this, px: a picture's own steps.
const MOST_PART: f64 = 0.004;
const MOST_PX: f64 = 1.0;
/// Two pieces that were traced along one drawn line, or on either side of it, lie no farther apart than its width and this, px.
const SEAM: f64 = 3.0;

/// What was found out about an outline's halves, until one is chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Halves {
    /// The outline.
    pub mark: u32,
    /// How it lies.
    pub even: Even,
}

/// How long a picture px is where a mark lies, mm: as it will be built, else in life.
pub fn mm_a_px(reckoned: &Reckoned, reading: &Reading, at: At) -> Option<f64> {
    let d = reckoned.map(reading.view)?.place(at).ok()?.d_at;
    let scale = libm::sqrt((d[0][0] * d[1][1] - d[0][1] * d[1][0]).abs());
    match reckoned.factor.as_ref().filter(|f| f.serves(reading)) {
        Some(f) => Some(scale * f.value.value),
        None => reading.scaled.then_some(scale),
    }
}

/// The chosen outline, once it is one.
fn chosen(desk: &Desk) -> Result<&Mark, Say> {
    desk.hand
        .selected
        .and_then(|m| desk.document().mark(m))
        .filter(|m| is_whole(m))
        .ok_or_else(|| Say::new("job.choose-an-outline"))
}

/// An outline with points enough.
pub(super) fn is_whole(m: &Mark) -> bool {
    m.kind == Kind::Outline && m.points.len() >= need(m.kind, m.ends).0
}

fn px(desk: &Desk, m: &Mark) -> Option<f64> {
    let reading = desk.reckoned.reading(m.id)?;
    mm_a_px(&desk.reckoned, reading, m.points.first()?.at).filter(|k| *k > 0.0)
}

/// How far from a square corner the points of an outline pass, px: a person puts them on the corner itself.
pub(super) fn blunt(m: &Mark) -> f64 {
    if m.border.is_some() { BLUNT } else { 0.0 }
}

/// How curves are fitted to an outline.
fn fitting(desk: &Desk, m: &Mark) -> Fitting {
    let [unknown, least, most] = CURVE_PX;
    let tolerance = px(desk, m).map_or(unknown, |k| CURVE_MM / k);
    Fitting { sigma: super::apply::sigma_of(m), tolerance: tolerance.max(least).min(most), blunt: BLUNT }
}

/// The same where its line is smooth already, and what is made of it is to be smooth as well.
fn if_smooth(desk: &Desk, m: &Mark) -> Option<Fitting> {
    m.smooth.is_some().then(|| fitting(desk, m))
}

/// An outline's rings in the middle of the line that it was traced along, so that the side is still to be chosen; or as shown.
fn rings(m: &Mark) -> Vec<Vec<At>> {
    match &m.border {
        Some(border) if m.smooth.is_none() => border.rings.clone(),
        _ => m.rings(),
    }
}

/// Asks for something to be done with the chosen outline.
///
/// # Errors
/// `job.choose-an-outline` where none is chosen; `job.halves-first` before its centre line was found.
pub(super) fn wish(desk: &mut Desk, wish: Wish) -> Result<(), Say> {
    let m = chosen(desk)?;
    let mark = m.id;
    if wish == Wish::Others {
        let bounds = crate::plane::bounds(m.line().iter());
        desk.hand.picture = Some(m.picture);
        want(desk, Ask::Like { bounds }, Sought::Others { mark });
        return Ok(());
    }
    let half = |half: Half| -> Result<Shaping, Say> {
        let halves =
            desk.hand.halves.filter(|h| h.mark == mark).ok_or_else(|| Say::new("job.halves-first"))?;
        Ok(Shaping::Symmetrical { rings: rings(m), axis: halves.even.axis, half, how: if_smooth(desk, m) })
    };
    let (shaping, work) = match wish {
        Wish::Smooth => (Shaping::Smooth { rings: m.rings(), how: fitting(desk, m) }, Some(Work::Smooth)),
        Wish::Fair => (fairing(desk, m), Some(Work::Fair)),
        Wish::Halves => (Shaping::Symmetry { rings: rings(m) }, None),
        Wish::LeftTwice => (half(Half::Left)?, Some(Work::Even)),
        Wish::RightTwice => (half(Half::Right)?, Some(Work::Even)),
        Wish::Mean => (half(Half::Mean)?, Some(Work::Even)),
        // Asked of the pixels, above.
        Wish::Others => return Ok(()),
    };
    ask(desk, mark, None, work, shaping);
    Ok(())
}

fn fairing(desk: &Desk, m: &Mark) -> Shaping {
    let b = crate::plane::bounds(m.line().iter());
    let across = libm::hypot(b[2] - b[0], b[3] - b[1]);
    let curves = m.smooth.as_ref().map_or_else(Vec::new, |s| s.rings.clone());
    let limit = px(desk, m).map_or(MOST_PART * across, |k| MOST_MM / k).max(MOST_PX);
    let rings = if curves.is_empty() { m.rings() } else { Vec::new() };
    Shaping::Fair { rings, curves, how: fitting(desk, m), span: SPAN * across, limit }
}

fn ask(desk: &mut Desk, mark: u32, with: Option<u32>, work: Option<Work>, shaping: Shaping) {
    desk.hand.picture = desk.document().mark(mark).map(|m| m.picture);
    want(desk, Ask::Shape { shape: shaping }, Sought::Shape { mark, with, work });
}

/// The outline that was touched is to be one with the chosen one.
///
/// # Errors
/// `job.choose-an-outline`; `job.join-two` where no other outline was touched.
pub(super) fn join_with(desk: &mut Desk, picture: u32, at: At) -> Result<(), Say> {
    let one = chosen(desk)?;
    let others =
        desk.document().marks.iter().filter(|m| m.picture == picture && m.id != one.id && is_whole(m));
    let inside = others.filter(|m| contains(&m.line(), at));
    let size = |m: &Mark| crate::plane::signed_area(&m.line()).abs();
    let other = inside.min_by(|a, b| size(a).total_cmp(&size(b))).ok_or_else(|| Say::new("job.join-two"))?;
    let half = |m: &Mark| m.border.as_ref().map_or(0.0, |b| b.half);
    let gap = 2.0 * half(one).max(half(other)) + SEAM;
    let how = if_smooth(desk, one).or_else(|| if_smooth(desk, other));
    let (mark, with) = (one.id, other.id);
    let shaping = Shaping::Join { pieces: vec![rings(one), rings(other)], gap, how };
    ask(desk, mark, Some(with), Some(Work::Join), shaping);
    desk.hand.tool = Tool::Length;
    Ok(())
}

/// Cuts the chosen outline off along the line through two touches; the third says which side to keep.
///
/// # Errors
/// `job.choose-an-outline`; `job.same-place` for a line without direction, `plane.cut-side` for a touch on it.
pub(super) fn cut_off(desk: &mut Desk) -> Result<(), Say> {
    let m = chosen(desk)?;
    let &[a, b, keep] = desk.hand.pending.iter().map(|t| t.at).collect::<Vec<_>>().as_slice() else {
        return Err(Say::new("job.level-needs-two"));
    };
    let line = crate::plane::Line::through(a, b).ok_or_else(|| Say::new("job.same-place"))?;
    if line.distance(keep).abs() < 0.5 {
        return Err(Say::new("plane.cut-side"));
    }
    let shaping = Shaping::Cut { rings: rings(m), along: [a, b], keep, how: if_smooth(desk, m) };
    let mark = m.id;
    desk.hand.pending.clear();
    desk.hand.held = None;
    desk.hand.tool = Tool::Length;
    ask(desk, mark, None, Some(Work::Cut), shaping);
    Ok(())
}

/// One more point on the chosen outline, near a touch; it is then in hand.
///
/// # Errors
/// `job.choose-an-outline`, `job.not-smooth`.
pub(super) fn put_knot(desk: &mut Desk, at: At) -> Result<(), Say> {
    let mark = chosen(desk)?.id;
    desk.take(Intent::AddKnot { mark, at })?;
    desk.hand.tool = Tool::Length;
    let points = desk.document().mark(mark).map_or(&[][..], |m| &m.points);
    let near =
        (0..points.len()).min_by(|a, b| points[*a].at.distance(at).total_cmp(&points[*b].at.distance(at)));
    desk.hand.held = near.and_then(|p| u16::try_from(p).ok()).map(|point| Held::Mark { mark, point });
    Ok(())
}

/// An answer has come.
///
/// # Errors
/// What the fact that is made of it says.
pub(super) fn found(
    desk: &mut Desk,
    mark: u32,
    with: Option<u32>,
    work: Option<Work>,
    found: Option<Found>,
) -> Result<(), Say> {
    let there = |m: u32| desk.document().mark(m).is_some_and(is_whole);
    if !there(mark) || with.is_some_and(|w| !there(w)) {
        return Ok(());
    }
    let Some(Found::Shaped(shaped)) = found else {
        desk.hand.said = Some(Say::new(match work {
            Some(Work::Join) => "shape.apart",
            Some(Work::Cut) => "shape.nothing-left",
            Some(Work::Smooth | Work::Fair) => "shape.not-smooth",
            Some(Work::Even) | None => "plane.mirror-apart",
        }));
        return Ok(());
    };
    let Some(work) = work else {
        desk.hand.halves = shaped.even.map(|even| Halves { mark, even });
        return Ok(());
    };
    let moved = shaped.moved;
    desk.take(Intent::Shape { mark, work, with, shaped })?;
    desk.hand.halves = None;
    if work == Work::Fair {
        desk.hand.said = desk.document().mark(mark).map(|m| moved_at_most(&desk.reckoned, m, moved));
    }
    Ok(())
}

/// The parts that look like an outline have been found: those that aren't marked yet are taken.
///
/// # Errors
/// What the fact says.
pub(super) fn found_others(desk: &mut Desk, mark: u32, found: Option<Found>) -> Result<(), Say> {
    let Some(picture) = desk.document().mark(mark).map(|m| m.picture) else { return Ok(()) };
    let mut borders = match found {
        Some(Found::Borders(borders)) => borders,
        _ => Vec::new(),
    };
    borders.retain(|b| !is_marked(desk, picture, b));
    let many = borders.len();
    if many == 0 {
        desk.hand.said = Some(Say::new("shape.no-others"));
        return Ok(());
    }
    desk.take(Intent::Outlines { picture, borders })?;
    desk.hand.selected = Some(mark);
    desk.hand.said = Some(Say::new("shape.others").count("count", many));
    Ok(())
}

/// An outline stands where this border lies, whoever put it there.
fn is_marked(desk: &Desk, picture: u32, border: &Border) -> bool {
    let Some(own) = border.rings.first().map(|r| crate::plane::bounds(r.iter())) else { return true };
    let near = (own[2] - own[0]).min(own[3] - own[1]) / 2.0;
    let marks = desk.document().marks.iter().filter(|m| m.picture == picture && is_whole(m));
    marks.into_iter().any(|m| {
        let other = crate::plane::bounds(m.line().iter());
        own.iter().zip(other).all(|(a, b)| (a - b).abs() < near)
    })
}

/// "By 1⁄64 at most."
pub(super) fn faired_by(reckoned: &Reckoned, m: &Mark, moved: f64) -> Say {
    let said = moved_at_most(reckoned, m, moved);
    let key = if said.key == "shape.moved" { "detail.by" } else { "detail.by-dots" };
    Say { key: key.into(), ..said }
}

/// "Nothing was moved by more than 1⁄64."
pub(super) fn moved_at_most(reckoned: &Reckoned, m: &Mark, moved: f64) -> Say {
    let at = m.points.first().map(|p| p.at).unwrap_or_default();
    match reckoned.reading(m.id).and_then(|r| mm_a_px(reckoned, r, at)) {
        Some(k) => Say::new("shape.moved").with("most", Arg::PlusMinus(moved * k)),
        None => Say::new("shape.moved-dots").with("most", Arg::Number(moved, 1)),
    }
}

/// What is said of an outline's halves: how far they differ at most.
pub(super) fn halves_differ(reckoned: &Reckoned, m: &Mark, even: &Even) -> Say {
    match reckoned.reading(m.id).and_then(|r| mm_a_px(reckoned, r, even.axis[0])) {
        Some(k) => Say::new("guide.halves").with("most", Arg::PlusMinus(even.greatest * k)),
        None => Say::new("guide.halves-dots").with("most", Arg::Number(even.greatest, 1)),
    }
}

/// The main outlines of a picture's views as they were found; kept in hand, for a log can be replayed without them.
pub(super) fn offer(desk: &mut Desk, picture: u32, views: &[FoundView]) {
    desk.hand.shapes = Some((picture, views.iter().map(|v| v.shapes.clone()).collect()));
}

/// The same ring stands on the picture already as a mark.
fn is_taken(desk: &Desk, picture: u32, shape: &Border) -> bool {
    let first = |b: &Border| b.rings.first().and_then(|r| r.first()).copied();
    let marks = &desk.document().marks;
    marks.iter().any(|m| m.picture == picture && m.border.as_ref().is_some_and(|b| first(b) == first(shape)))
}

/// The outline that was found with the views and that a touch lies in, unless it has been taken.
fn offered(desk: &Desk, picture: u32, at: At) -> Option<Border> {
    let (of, views) = desk.hand.shapes.as_ref()?;
    let holds = |s: &&Border| s.rings.first().is_some_and(|r| contains(r, at));
    let outside_holes = |s: &&Border| !s.rings.iter().skip(1).any(|r| contains(r, at));
    let shape = views.iter().flatten().filter(holds).find(outside_holes).filter(|_| *of == picture)?;
    (!is_taken(desk, picture, shape)).then(|| shape.clone())
}

/// Takes the outline that a touch lies in, if one was found there with the views: no pixel needs to be looked at.
///
/// # Errors
/// What the facts say.
pub(super) fn take_offered(desk: &mut Desk, picture: u32, at: At) -> Result<bool, Say> {
    let Some(border) = offered(desk, picture, at) else { return Ok(false) };
    desk.take(Intent::Outlines { picture, borders: vec![border] })?;
    desk.hand.selected = Some(desk.document().last[2]);
    desk.hand.held = None;
    Ok(true)
}

/// Takes the main outline of each view.
///
/// # Errors
/// `job.no-picture-yet`; `job.outlines-taken` where all of them stand there already.
pub(super) fn take_outlines(desk: &mut Desk) -> Result<(), Say> {
    let picture = desk.hand.picture.ok_or_else(|| Say::new("job.no-picture-yet"))?;
    match &desk.hand.shapes {
        Some((of, views)) if *of == picture => {
            let main = views.iter().filter_map(|v| v.first());
            let borders: Vec<Border> = main.filter(|s| !is_taken(desk, picture, s)).cloned().collect();
            if borders.is_empty() {
                return Err(Say::new("job.outlines-taken"));
            }
            desk.take(Intent::Outlines { picture, borders })
        }
        _ => {
            want(desk, Ask::Views, Sought::Outlines);
            Ok(())
        }
    }
}

/// There are views whose outlines haven't been taken.
pub(super) fn can_take_outlines(
    desk_marks: &[std::rc::Rc<Mark>],
    reckoned: &Reckoned,
    views: &[u32],
) -> bool {
    let has = |v: u32| {
        desk_marks.iter().filter(|m| is_whole(m)).any(|m| reckoned.reading(m.id).is_some_and(|r| r.view == v))
    };
    views.len() > 1 && views.iter().any(|v| !has(*v))
}

/// The stretches of an outline beside a point that has been moved are followed along the edge again, one after the other.
pub(super) fn mend(desk: &mut Desk) {
    let (Some([behind, ahead]), None) = (desk.hand.mend, &desk.hand.seek) else { return };
    let Some(Held::Mark { mark, point }) = desk.hand.held else {
        desk.hand.mend = None;
        return;
    };
    desk.hand.mend = if behind { Some([false, ahead]) } else { None };
    let Some(m) = desk.document().mark(mark).filter(|m| m.kind == Kind::Outline && m.ends == Ends::Between)
    else {
        return;
    };
    let (i, n) = (usize::from(point), m.points.len());
    // Of the stretch back to the first point the places stand at the end.
    let (a, b) = if behind { ((i + n - 1) % n, i) } else { (i, (i + 1) % n) };
    let (Some(from), Some(to)) = (m.points.get(a).map(|p| p.at), m.points.get(b).map(|p| p.at)) else {
        return;
    };
    let before = u16::try_from(if b == 0 { n } else { b }).unwrap_or(u16::MAX);
    if behind || ahead {
        want(desk, Ask::Follow { from, to }, Sought::Follow { mark, before });
    }
}

#[cfg(test)]
mod tests;
