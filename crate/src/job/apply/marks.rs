//! Facts about marks.

use super::super::document::{Build, Document, Hold, Mark, Placing, View};
use super::super::intent::{Along, At, Intent, Side};
use super::super::reckon::map_for;
use super::{MOST_MARKS, MOST_POINTS, mark_mut, name, need_mark, need_picture, placing};
use crate::mark::{By, Ends, Kind, keep_level, keep_plumb, like as moved, mirrored, need};
use crate::plane::Vector;
use crate::raster::ask::{Border, Caught, Fitted, What};
use crate::view::ViewMap;
use crate::words::Say;
use std::rc::Rc;

/// No more outlines at once.
const MOST_OUTLINES: usize = 40;
/// A point shifted by no more than this still holds what it held, picture px.
const SLACK: f64 = 0.1;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    if let Intent::AddPoint { mark, .. }
    | Intent::Fit { mark, .. }
    | Intent::Follow { mark, .. }
    | Intent::Again { mark, .. } = fact
        && need_mark(document, *mark)?.smooth.is_some()
    {
        return Err(Say::new("job.is-smooth"));
    }
    match fact {
        Intent::Place { picture, mark, points, ends, by, zoom, seen, name: given } => {
            let put: Vec<Placing> =
                points.iter().map(|p| placing(*p, *by, *zoom, *seen)).collect::<Result<_, _>>()?;
            place(document, *picture, *mark, *ends, put, given).map(|_| ())
        }
        Intent::AddPoint { mark, at, by, zoom, seen } => {
            add_point(document, *mark, placing(*at, *by, *zoom, *seen)?)
        }
        Intent::MovePoint { mark, point, at, by, zoom, seen, caught } => {
            let put = placing(*at, *by, *zoom, *seen)?;
            move_point(document, *mark, *point, holding(put, *caught)?)
        }
        Intent::PutBack { mark, point } => put_back(document, *mark, *point),
        Intent::Fit { mark, from, points } => fit(document, *mark, usize::from(*from), points),
        Intent::Follow { mark, before, points, sigma } => {
            super::trace::follow(document, *mark, usize::from(*before), points, *sigma)
        }
        Intent::Trace { mark, border } => super::trace::trace(document, *mark, border),
        Intent::Outlines { picture, borders } => outlines(document, *picture, borders),
        Intent::Shape { mark, work, with, shaped } => {
            super::reshape::reshape(document, *mark, *work, *with, shaped)
        }
        Intent::AddKnot { mark, at } => super::reshape::add_knot(document, *mark, *at),
        Intent::TurnKnot { mark, point, sharp } => {
            super::reshape::turn_knot(document, *mark, usize::from(*point), *sharp)
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
        formed: false,
        fitted: false,
        border: None,
        holes: Vec::new(),
        smooth: None,
        on_pattern: None,
        centre: None,
    }));
    Ok(id)
}

/// A new outline for each border.
fn outlines(document: &mut Document, picture: u32, borders: &[Border]) -> Result<(), Say> {
    if borders.is_empty() || borders.len() > MOST_OUTLINES {
        return Err(Say::new("job.no-points"));
    }
    for border in borders {
        let first = border.rings.first().and_then(|r| r.first()).copied().unwrap_or_default();
        let put = placing(first, By::Mouse, 1.0, true)?;
        let mark = place(document, picture, Kind::Outline, Ends::Between, vec![put], "")?;
        super::trace::trace(document, mark, border)?;
    }
    Ok(())
}

fn add_point(document: &mut Document, mark: u32, put: Placing) -> Result<(), Say> {
    let m = mark_mut(document, mark)?;
    let (_, most) = need(m.kind, m.ends);
    if m.points.len() >= most.min(MOST_POINTS) {
        return Err(Say::new("job.too-many-points"));
    }
    m.points.push(put);
    let last = m.points.len() - 1;
    lay_sides(document, mark)?;
    hold_along(document, mark, last)
}

fn move_point(document: &mut Document, mark: u32, point: u16, put: Placing) -> Result<(), Say> {
    let at = usize::from(point);
    let m = mark_mut(document, mark)?;
    let p = m.points.get_mut(at).ok_or_else(|| Say::new("job.no-such-point"))?;
    *p = put;
    super::reshape::follow_knots(m);
    super::trace::unfollow(m, at);
    // Placings made again were of where it stood.
    m.repeats.clear();
    lay_sides(document, mark)?;
    hold_along(document, mark, at)
}

/// A point lets go, and is where it was put, as good as it was put.
fn put_back(document: &mut Document, mark: u32, point: u16) -> Result<(), Say> {
    let found = need_mark(document, mark)?.points.get(usize::from(point)).copied();
    let place = found.ok_or_else(|| Say::new("job.no-such-point"))?;
    let at = place.hold.ok_or_else(|| Say::new("job.holds-nothing"))?.put;
    move_point(document, mark, point, Placing { at, hold: None, ..place })
}

/// A point that holds on to what was caught.
///
/// # Errors
/// `job.point-not-a-place` when what was caught can't be reckoned with.
pub(super) fn holding(put: Placing, caught: Option<Caught>) -> Result<Placing, Say> {
    let Some(caught) = caught else { return Ok(put) };
    if !caught.is_sound() {
        return Err(Say::new("job.point-not-a-place"));
    }
    Ok(Placing { at: caught.at, hold: Some(Hold { caught, put: put.at }), ..put })
}

/// Puts fitted places for those that were touched.
fn fit(document: &mut Document, mark: u32, from: usize, fitted: &[Fitted]) -> Result<(), Say> {
    let put = fitted.iter().map(on_edge).collect::<Result<Vec<_>, _>>()?;
    let m = mark_mut(document, mark)?;
    let (least, most) = need(m.kind, m.ends);
    let all = m.kind == Kind::Circle;
    let to = if all { m.points.len() } else { from.saturating_add(put.len()) };
    if from > to || to > m.points.len() || put.is_empty() || (all && put.len() < least) || put.len() > most {
        return Err(Say::new("job.no-such-point"));
    }
    m.points.splice(from..to, put);
    m.repeats.clear();
    m.fitted = all;
    Ok(())
}

/// A place on a fitted edge, as good along it as across: along it nothing depends on it.
///
/// # Errors
/// `job.point-not-a-place` when it can't be reckoned with.
fn on_edge(fitted: &Fitted) -> Result<Placing, Say> {
    let [xx, xy, yy] = fitted.cov;
    let whole = xx + yy;
    // The covariance of a place known across only is s²·n·nᵀ.
    let (nx, ny) = (libm::sqrt((xx / whole).max(0.0)), libm::sqrt((yy / whole).max(0.0)));
    let n = libm::hypot(nx, ny);
    let along = [-ny.copysign(xy) / n, nx / n];
    let caught =
        Caught { what: What::Edge, at: fitted.at, cov: fitted.cov, along: Some(along), half: [0.0; 2] };
    let put = Placing { at: fitted.at, sigma: libm::sqrt(whole.max(0.0)), hold: None, between: false };
    holding(put, Some(caught))
}

/// Puts every point that holds a drawn line on the side of it that was chosen: away from the rest of the mark, or
/// towards it.
fn lay_sides(document: &mut Document, mark: u32) -> Result<(), Say> {
    let side = document.side;
    let m = mark_mut(document, mark)?;
    if m.smooth.is_some() {
        super::reshape::lay_side(m, side);
        return Ok(());
    }
    if m.border.is_some() {
        return super::trace::lay(document, mark);
    }
    let middles: Vec<At> = m.points.iter().map(|p| p.hold.map_or(p.at, |h| h.caught.at)).collect();
    let n = middles.len() as f64;
    let (x, y) = middles.iter().fold((0.0, 0.0), |s, p| (s.0 + p.x, s.1 + p.y));
    let by_line = m.kind == Kind::Length && m.ends != Ends::Between;
    for (i, (p, middle)) in m.points.iter_mut().zip(&middles).enumerate() {
        let Some(hold) = p.hold else { continue };
        let [hx, hy] = hold.caught.half;
        // From the middle of all other points; a length from a middle has its one end last.
        let away = ((middle.x - (x - middle.x) / (n - 1.0).max(1.0)) * hx)
            + ((middle.y - (y - middle.y) / (n - 1.0).max(1.0)) * hy);
        let toward = match side {
            Side::Middle => 0.0,
            _ if n < 2.0 || (by_line && i + 1 < middles.len()) => 0.0,
            Side::Outer if away >= 0.0 => 1.0,
            Side::Outer => -1.0,
            Side::Inner if away >= 0.0 => -1.0,
            Side::Inner => 1.0,
        };
        p.at = At::new(middle.x + toward * hx, middle.y + toward * hy);
    }
    Ok(())
}

/// The same for every mark, kept level or plumb as before.
pub(super) fn lay_all(document: &mut Document) -> Result<(), Say> {
    let all: Vec<(u32, usize)> = document.marks.iter().map(|m| (m.id, m.points.len())).collect();
    for (mark, points) in all {
        lay_sides(document, mark)?;
        if let Some(last) = points.checked_sub(1) {
            hold_along(document, mark, last)?;
        }
    }
    Ok(())
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
        return shift(document, mark, moved, at);
    }
    let map = need_map(document, mark)?;
    let at = if m.along == Along::Level {
        keep_level(still, wanted, &map)?
    } else {
        keep_plumb(still, wanted, &map)?
    };
    shift(document, mark, moved, at)
}

/// Shifts a point to where it is kept; off the edge that it held, it holds it no longer.
fn shift(document: &mut Document, mark: u32, point: usize, to: At) -> Result<(), Say> {
    let Some(p) = mark_mut(document, mark)?.points.get_mut(point) else { return Ok(()) };
    let (dx, dy) = (to.x - p.at.x, to.y - p.at.y);
    let off = match p.hold.map(|h| h.caught.along) {
        Some(Some([x, y])) => (dx * y - dy * x).abs(),
        _ => libm::hypot(dx, dy),
    };
    if off > SLACK {
        p.hold = None;
    }
    p.at = to;
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
    if m.smooth.is_some() {
        return super::reshape::remove_knot(m, usize::from(point));
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
        .map(|(at, p)| placing(*at, By::Mouse, 1.0, true).map(|n| Placing { sigma: p.worst(), ..n }))
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
    document.takers.retain(|t| *t != mark);
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
    m.line()
}

fn copy(document: &mut Document, m: &Mark, ats: Vec<At>) -> Result<(), Say> {
    // Of a smooth outline all points are as good as its curve.
    let sigma =
        |i: usize| m.smooth.as_ref().map_or_else(|| m.points.get(i).map_or(1.0, Placing::worst), |s| s.sigma);
    let points = ats
        .into_iter()
        .enumerate()
        .map(|(i, at)| Placing { at, sigma: sigma(i), hold: None, between: false })
        .collect();
    let new = place(document, m.picture, m.kind, m.ends, points, &m.name)?;
    mark_mut(document, new)?.along = m.along;
    Ok(())
}
