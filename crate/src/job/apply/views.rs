//! Facts about pictures and views.

use super::super::document::{Document, Sheet, Square, Trusted, View};
use super::super::intent::{At, Bounds, Intent, Length, RectangleOf, Role};
use super::{length, name, need_picture, placing, view_mut};
use crate::mark::Kind;
use crate::view;
use crate::words::Say;

/// The ± of a printed frame's or a thing's sides when nothing is said: a thousandth, or a quarter of a millimetre.
const SIDE: (f64, f64) = (1e-3, 0.25);
/// The ± of a distance that isn't said how good it is, as a share of it: paced or judged by eye (common practice, no source).
const TOLD: f64 = 0.05;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    match fact {
        Intent::AddPicture { .. } => add_picture(document, fact),
        Intent::RemovePicture { picture } => remove_picture(document, *picture),
        Intent::SetResolution { picture, resolution } => {
            check_resolution(*resolution)?;
            picture_mut(document, *picture).map(|p| p.resolution = *resolution)
        }
        Intent::SetDrawingScale { picture, one_to } => {
            if one_to.is_some_and(|n| !(1e-4..=1e5).contains(&n)) {
                return Err(Say::new("job.scale-absurd"));
            }
            picture_mut(document, *picture).map(|p| p.one_to = *one_to)
        }
        Intent::AddView { picture, name: given, role, bounds } => {
            add_view(document, *picture, given, *role, *bounds)
        }
        Intent::ChangeView { view, name: given, role, bounds } => {
            change_view(document, *view, given.as_deref(), *role, *bounds)
        }
        Intent::RemoveView { view } => remove_view(document, *view),
        Intent::SquareOn { .. } => square_on(document, fact),
        Intent::Flat { view } => view_mut(document, *view).map(|v| v.rectangle = None),
        Intent::Cropped { picture, on } => {
            picture_mut(document, *picture)?.cropped = *on;
            check_picture(document, *picture)
        }
        Intent::Slanted { view, on } => {
            view_mut(document, *view)?.slanted = *on;
            super::super::reckon::check_view(document, *view)
        }
        Intent::Formed { mark, on } => formed(document, *mark, *on),
        Intent::TwoScales { view, on } => view_mut(document, *view).map(|v| v.two_scales = *on),
        Intent::ScaleFrom { view, from } => scale_from(document, *view, *from),
        Intent::Trust { mark, other, .. } => trust(document, *mark, *other),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

fn picture_mut(document: &mut Document, id: u32) -> Result<&mut Sheet, Say> {
    need_picture(document, id)?;
    document.pictures.iter_mut().find(|p| p.id == id).ok_or_else(|| Say::new("job.no-such-picture"))
}

/// Whether every view of a picture still has a map.
fn check_picture(document: &Document, picture: u32) -> Result<(), Say> {
    let views: Vec<u32> = document.views.iter().filter(|v| v.picture == picture).map(|v| v.id).collect();
    views.into_iter().try_for_each(|view| super::super::reckon::check_view(document, view))
}

fn formed(document: &mut Document, mark: u32, on: bool) -> Result<(), Say> {
    let m = super::mark_mut(document, mark)?;
    if !matches!(m.kind, Kind::Gap | Kind::Crossing | Kind::Angle | Kind::Circle) {
        return Err(Say::new("job.no-form"));
    }
    m.formed = on;
    let (picture, points) = (m.picture, m.points.clone());
    match document.view_at(picture, &points) {
        Some(view) if on => super::super::reckon::check_view(document, view),
        _ => Ok(()),
    }
}

fn check_resolution(resolution: Option<[f64; 2]>) -> Result<(), Say> {
    match resolution {
        Some(r) if r.iter().any(|v| !(1.0..=1e5).contains(v)) => Err(Say::new("job.resolution-absurd")),
        _ => Ok(()),
    }
}

fn add_picture(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    let Intent::AddPicture { name: given, width, height, resolution, focal_35mm, digest } = fact else {
        return Err(Say::new("job.not-a-fact"));
    };
    let (width, height, resolution) = (*width, *height, *resolution);
    if width == 0 || height == 0 || width > 100_000 || height > 100_000 {
        return Err(Say::new("job.picture-size"));
    }
    if document.pictures.len() >= 200 {
        return Err(Say::new("job.too-many-pictures"));
    }
    check_resolution(resolution)?;
    document.last[0] += 1;
    document.last[1] += 1;
    let [id, view, _] = document.last;
    document.pictures.push(Sheet {
        id,
        name: name(given),
        width,
        height,
        resolution,
        one_to: None,
        focal_35mm: focal_35mm.filter(|f| f.is_finite()),
        cropped: false,
        digest: digest.chars().filter(char::is_ascii_alphanumeric).take(128).collect(),
        straight: Vec::new(),
        lens: None,
    });
    let bounds = Bounds { at: At::new(0.0, 0.0), size: [f64::from(width), f64::from(height)], tilt: 0.0 };
    document.views.push(new_view(view, id, String::new(), Role::Other, true, bounds));
    Ok(())
}

pub(super) fn new_view(id: u32, picture: u32, name: String, role: Role, whole: bool, bounds: Bounds) -> View {
    View {
        id,
        picture,
        name,
        role,
        whole,
        bounds,
        rectangle: None,
        two_scales: false,
        scale_from: None,
        slanted: false,
        face: None,
        behind: None,
    }
}

fn remove_picture(document: &mut Document, id: u32) -> Result<(), Say> {
    need_picture(document, id)?;
    let gone: Vec<u32> = document.marks.iter().filter(|m| m.picture == id).map(|m| m.id).collect();
    for mark in gone {
        super::marks::remove(document, mark);
    }
    document.pictures.retain(|p| p.id != id);
    document.boxes.retain(|b| b.picture != id);
    document.views.retain(|v| v.picture != id);
    Ok(())
}

pub(super) fn check_bounds(bounds: &Bounds) -> Result<(), Say> {
    let numbers = [bounds.at.x, bounds.at.y, bounds.size[0], bounds.size[1], bounds.tilt];
    if numbers.iter().any(|v| !v.is_finite() || v.abs() > 1e6) {
        return Err(Say::new("job.point-not-a-place"));
    }
    if bounds.size.iter().any(|s| *s < 4.0) {
        return Err(Say::new("job.view-too-small"));
    }
    if bounds.tilt.abs() > 180.0 {
        return Err(Say::new("job.tilt-absurd"));
    }
    Ok(())
}

pub(super) fn add_view(
    document: &mut Document,
    picture: u32,
    given: &str,
    role: Role,
    bounds: Bounds,
) -> Result<(), Say> {
    need_picture(document, picture)?;
    check_bounds(&bounds)?;
    if document.views.len() >= 500 {
        return Err(Say::new("job.too-many-views"));
    }
    document.last[1] += 1;
    let id = document.last[1];
    document.views.push(new_view(id, picture, name(given), role, false, bounds));
    Ok(())
}

fn change_view(
    document: &mut Document,
    view: u32,
    given: Option<&str>,
    role: Option<Role>,
    bounds: Option<Bounds>,
) -> Result<(), Say> {
    if let Some(b) = &bounds {
        check_bounds(b)?;
    }
    let v = view_mut(document, view)?;
    if bounds.is_some() {
        no_side(v)?;
    }
    if let Some(n) = given {
        v.name = name(n);
    }
    if let Some(r) = role {
        v.role = r;
    }
    if let Some(b) = bounds {
        if v.whole {
            // The whole picture stays whole: only its level can turn.
            v.bounds.tilt = b.tilt;
        } else {
            v.bounds = b;
        }
    }
    Ok(())
}

pub(super) fn remove_view(document: &mut Document, view: u32) -> Result<(), Say> {
    let gone = view_mut(document, view)?;
    if gone.whole {
        return Err(Say::new("job.whole-view-stays"));
    }
    if let Some(face) = gone.face {
        super::boxes::remove(document, face.of);
    }
    document.views.retain(|v| v.id != view);
    for v in &mut document.views {
        if v.scale_from == Some(view) {
            v.scale_from = None;
        }
        if v.behind.is_some_and(|b| b.from == view) {
            v.behind = None;
        }
    }
    Ok(())
}

fn scale_from(document: &mut Document, view: u32, from: Option<u32>) -> Result<(), Say> {
    if let Some(other) = from {
        if other == view {
            return Err(Say::new("job.scale-from-itself"));
        }
        let there = view_mut(document, other)?.picture;
        if view_mut(document, view)?.picture != there {
            return Err(Say::new("job.scale-from-elsewhere"));
        }
    }
    view_mut(document, view).map(|v| v.scale_from = from)
}

fn trust(document: &mut Document, mark: u32, other: u32) -> Result<(), Say> {
    super::size::need_length(document, mark)?;
    super::size::need_length(document, other)?;
    document.trusted.retain(|t| t.other != other && !(t.mark == other && t.other == mark));
    if document.trusted_end(mark) == other || mark == other {
        return Err(Say::new("job.trust-itself"));
    }
    document.trusted.push(Trusted { mark, other });
    Ok(())
}

/// Standard uncertainty of a side given in words.
fn side_u(mm: f64) -> f64 {
    (mm * SIDE.0).max(SIDE.1) / crate::job::reckon::COVERAGE
}

/// A side of a box keeps the shape that its corners give it.
pub(super) fn no_side(view: &View) -> Result<(), Say> {
    if view.face.is_some() { Err(Say::new("job.side-of-a-box")) } else { Ok(()) }
}

/// A length and its standard uncertainty by a ± of its own, or the usual one of a length told by heart: a twentieth.
pub(super) fn length_u(
    given: Option<&Length>,
    pm: Option<&Length>,
    document: &Document,
) -> Result<Option<(f64, f64)>, Say> {
    let Some(given) = given else { return Ok(None) };
    let style = document.units.style;
    let mm = length(given, style)?;
    let pm = pm.map(|p| length(p, style)).transpose()?;
    Ok(Some((mm, pm.unwrap_or(TOLD * mm) / crate::job::reckon::COVERAGE)))
}

/// A side and its standard uncertainty, where it is known.
pub(super) fn side(given: Option<&Length>, document: &Document) -> Result<Option<(f64, f64)>, Say> {
    let Some(given) = given else { return Ok(None) };
    let mm = length(given, document.units.style)?;
    let told = crate::job::caption::pm(document, mm)
        .filter(|_| crate::WHOLE)
        .map(|pm| pm / crate::job::reckon::COVERAGE);
    Ok(Some((mm, told.unwrap_or_else(|| side_u(mm)))))
}

fn square_on(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    let Intent::SquareOn { view, corners, sheet, long_first, width, height, of, by, zoom, seen, caught } =
        fact
    else {
        return Err(Say::new("job.not-a-fact"));
    };
    let mut placed = [placing(corners[0], *by, *zoom, *seen)?; 4];
    for (i, (p, at)) in placed.iter_mut().zip(corners).enumerate() {
        let put = placing(*at, *by, *zoom, *seen)?;
        *p = super::marks::holding(put, caught.get(i).copied().flatten())?;
    }
    let (w, h) = match sheet {
        Some(s) => {
            let found = view::sheet(s).ok_or_else(|| Say::new("job.no-such-sheet").text("sheet", name(s)))?;
            let (w, h) = upright(found, corners, *long_first);
            (Some(w), Some(h))
        }
        None => (side(width.as_ref(), document)?, side(height.as_ref(), document)?),
    };
    if *of == RectangleOf::Sheet && (w.is_none() || h.is_none()) {
        return Err(Say::new("job.rectangle-needs-size"));
    }
    if let Some(order) = crate::view::in_order(&placed.map(|p| p.at)) {
        // Which side is the first can't be told where the first two were touched across.
        if order[1] != 1 && (w.is_some() || h.is_some()) {
            return Err(Say::new("view.corners-crossed"));
        }
        placed = order.map(|i| placed[i]);
    }
    let size = [w, h].map(|s| s.map(|s| s.0));
    let u = [w, h].map(|s| s.map_or(0.0, |s| s.1));
    no_side(view_mut(document, *view)?)?;
    view_mut(document, *view)?.rectangle =
        Some(Square { corners: placed, size, u, of: *of, sheet: sheet.clone() });
    // Corners that give no map are refused here, not found out later.
    super::super::reckon::check_view(document, *view)
}

/// Which way a sheet given by name lies. Seen at a steep slant its long side can look the shorter, so a person is asked;
/// where nobody was, it is taken to be where the picture's sides are longer.
fn upright(sheet: &view::Sheet, corners: &[At; 4], long_first: Option<bool>) -> ((f64, f64), (f64, f64)) {
    let side = |a: usize, b: usize| corners[a].distance(corners[b]);
    let wide = long_first.unwrap_or(side(0, 1) + side(2, 3) >= side(1, 2) + side(3, 0));
    let u = sheet.u();
    let (short, long) = ((sheet.short, u[0]), (sheet.long, u[1]));
    if wide { (long, short) } else { (short, long) }
}
