//! Facts about boxes: corners of anything rectangular that is seen from a corner, and planes that stand behind others.

use super::super::document::{Behind, BoxGiven, Document, FaceOf, Placing, View};
use super::super::intent::{At, Bounds, Intent, Role};
use super::super::{lenses, reckon, vouched};
use super::views::{length_u, new_view, side};
use super::{need_picture, placing, view_mut};
use crate::view::{BoxKnowns, box_order, fit_box};
use crate::words::Say;

/// Which corner each touch is, in the order in which they are asked for: where the sides meet; the far ends of the front's
/// width, the end's width and the upright from there; the far corners of the front, of the end and of the top; the hidden one.
pub const TOUCHED: [usize; 8] = [0, 1, 2, 4, 5, 6, 3, 7];
/// The corners of each side in order round it: front, end, top.
const SIDES: [[usize; 4]; 3] = [[0, 1, 5, 4], [0, 2, 6, 4], [0, 1, 3, 2]];

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    match fact {
        Intent::Boxed { .. } => boxed(document, fact),
        Intent::StandsBack { .. } => stands_back(document, fact),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

fn boxed(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    let Intent::Boxed { picture, corners, edges, by, zoom, seen, caught } = fact else {
        return Err(Say::new("job.not-a-fact"));
    };
    need_picture(document, *picture)?;
    let mut placed: [Option<Placing>; 8] = [None; 8];
    for (i, (at, k)) in corners.iter().zip(TOUCHED).enumerate() {
        let Some(at) = at else { continue };
        let put = placing(*at, *by, *zoom, *seen)?;
        placed[k] = Some(super::marks::holding(put, caught.get(i).copied().flatten())?);
    }
    let mut given =
        BoxGiven { id: document.last[1] + 1, picture: *picture, corners: placed, edges: [None; 3] };
    for (edge, told) in given.edges.iter_mut().zip(edges) {
        *edge = side(told.as_ref(), document)?;
    }
    let sheet = document.picture(*picture).ok_or_else(|| Say::new("job.no-such-picture"))?;
    let camera = vouched::camera(sheet);
    if let Some(order) = box_order(&vouched::boxed(&given), &camera)? {
        if given.edges.iter().any(Option::is_some) {
            // Which edge was meant can't be told.
            return Err(Say::new("view.box-mixed"));
        }
        given.corners = order.map(|k| k.and_then(|k| placed.get(k).copied().flatten()));
    }
    let lenses = lenses::lenses(document, &[]);
    let lens = lenses::of(&lenses, *picture).and_then(lenses::Lensed::lens);
    let seen = vouched::boxed(&given);
    let fit = fit_box(&BoxKnowns { boxed: &seen, camera: &camera, knowns: &[] }, lens)?;
    let facing = fit.facing();
    for (n, (corners, role)) in SIDES.iter().zip([Role::Front, Role::Side, Role::Top]).enumerate() {
        let all = corners.iter().all(|k| given.corners[*k].is_some());
        if !(all || facing[n]) {
            continue;
        }
        let place = |k: usize| given.corners[k].map(|p| p.at).or_else(|| fit.seen(k));
        let [Some(a), Some(b), Some(c), Some(d)] = corners.map(place) else { continue };
        add_face(document, &given, n as u8, role, [a, b, c, d])?;
    }
    document.boxes.push(given);
    Ok(())
}

fn add_face(
    document: &mut Document,
    of: &BoxGiven,
    side: u8,
    role: Role,
    corners: [At; 4],
) -> Result<(), Say> {
    let (mut low, mut high) = (corners[0], corners[0]);
    for p in corners {
        low = At::new(low.x.min(p.x), low.y.min(p.y));
        high = At::new(high.x.max(p.x), high.y.max(p.y));
    }
    let bounds = Bounds { at: low, size: [high.x - low.x, high.y - low.y], tilt: 0.0 };
    super::views::check_bounds(&bounds)?;
    document.last[1] += 1;
    let mut view: View = new_view(document.last[1], of.picture, String::new(), role, false, bounds);
    view.face = Some(FaceOf { of: of.id, side, corners });
    document.views.push(view);
    Ok(())
}

/// A view stands behind (or before) another, which it is parallel to.
fn stands_back(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    let Intent::StandsBack { view, from, back, before, pm, away, away_pm } = fact else {
        return Err(Say::new("job.not-a-fact"));
    };
    let Some(from) = from else {
        view_mut(document, *view)?.behind = None;
        return Ok(());
    };
    let base = document.view(*from).ok_or_else(|| Say::new("job.no-such-view"))?;
    let (picture, chained) = (base.picture, base.behind.is_some());
    let own = view_mut(document, *view)?;
    if own.id == *from || chained || own.face.is_some() || own.picture != picture {
        return Err(Say::new("job.back-from-itself"));
    }
    let sign = if *before { -1.0 } else { 1.0 };
    let back = length_u(back.as_ref(), pm.as_ref(), document)?.map(|(mm, u)| (sign * mm, u));
    let away = length_u(away.as_ref(), away_pm.as_ref(), document)?;
    view_mut(document, *view)?.behind = Some(Behind { from: *from, back, away });
    match reckon::check_view(document, *view) {
        // A true length of its own may come later.
        Err(say) if say.key == "view.back-unknown" && back.is_none() => Ok(()),
        other => other,
    }
}

/// Takes a box away with all its sides.
pub(super) fn remove(document: &mut Document, of: u32) {
    document.boxes.retain(|b| b.id != of);
    document.views.retain(|v| v.face.is_none_or(|f| f.of != of));
}
