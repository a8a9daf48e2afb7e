//! What touches do to views: box them, turn them level, make two one and one two.

use super::desk::Desk;
use super::document::{Document, View};
use super::gesture::view_touched;
use super::intent::{At, Bounds, Intent, Role, Tool};
use crate::words::Say;

/// The chosen view and the touched one become one.
pub(super) fn view_merge(desk: &mut Desk, picture: u32, at: At) -> Result<(), Say> {
    let view = desk.hand.view.ok_or_else(|| Say::new("job.choose-a-view"))?;
    let with = view_touched(desk, picture, at).ok_or_else(|| Say::new("job.merge-two"))?;
    desk.take(Intent::MergeViews { view, with })?;
    desk.hand.tool = Tool::Length;
    Ok(())
}

pub(super) fn view_split(desk: &mut Desk, at: &[At]) -> Result<(), Say> {
    let [a, b] = at else { return Err(Say::new("job.level-needs-two")) };
    let view = desk.hand.view.ok_or_else(|| Say::new("job.choose-a-view"))?;
    desk.take(Intent::SplitView { view, along: [*a, *b] })
}

pub(super) fn view_box(desk: &mut Desk, at: &[At]) -> Result<(), Say> {
    let ([a, b], Some(picture)) = (at, desk.hand.picture) else {
        return Err(Say::new("job.box-needs-two"));
    };
    let bounds = box_between(*a, *b, desk.document(), picture);
    let role = next_role(desk, picture);
    desk.take(Intent::AddView { picture, name: String::new(), role, bounds })?;
    desk.hand.view = Some(desk.document().last[1]);
    Ok(())
}

/// The box between two opposite corners, turned as the whole picture is.
pub(super) fn box_between(a: At, b: At, document: &Document, picture: u32) -> Bounds {
    turned_about_middle(Bounds {
        at: At::new(a.x.min(b.x), a.y.min(b.y)),
        size: [(a.x - b.x).abs(), (a.y - b.y).abs()],
        tilt: document.whole(picture).map_or(0.0, |w| w.bounds.tilt),
    })
}

/// The same box, its middle kept, when it is tilted.
fn turned_about_middle(b: Bounds) -> Bounds {
    let t = b.tilt.to_radians();
    let (c, s) = (libm::cos(t), libm::sin(t));
    let [w, h] = [b.size[0] / 2.0, b.size[1] / 2.0];
    let (mx, my) = (b.at.x + w, b.at.y + h);
    Bounds { at: At::new(mx - w * c + h * s, my - w * s - h * c), ..b }
}

/// The view that another one drawn on it stands behind: the smallest round its middle, or the whole picture.
pub(super) fn stands_before(document: &Document, view: &View) -> Option<u32> {
    let [a, _, c, _] = view.corners();
    let middle = a + (c - a) * 0.5;
    let others = document.views.iter().filter(|v| {
        v.picture == view.picture && v.id != view.id && v.behind.is_none() && (v.whole || v.holds(middle))
    });
    others.min_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area())).map(|v| v.id)
}

/// Views are named in the order that most drawings are read: top, side, front; a person changes it with one key.
fn next_role(desk: &Desk, picture: u32) -> Role {
    let has = |r: Role| desk.document().views.iter().any(|v| v.picture == picture && v.role == r);
    [Role::Top, Role::Side, Role::Front].into_iter().find(|r| !has(*r)).unwrap_or(Role::Other)
}

/// Turns the chosen view (or the whole picture) so that the line through two places is its level, or its plumb
/// when it runs nearer to that.
pub(super) fn view_level(desk: &mut Desk, at: &[At]) -> Result<(), Say> {
    let [a, b] = at else { return Err(Say::new("job.level-needs-two")) };
    if a.distance(*b) < 4.0 {
        return Err(Say::new("job.same-place"));
    }
    let mut tilt = libm::atan2(b.y - a.y, b.x - a.x).to_degrees();
    while tilt > 45.0 {
        tilt -= 90.0;
    }
    while tilt < -45.0 {
        tilt += 90.0;
    }
    let picture = desk.hand.picture.unwrap_or(0);
    let doc = desk.document();
    let view = desk.hand.view.and_then(|v| doc.view(v)).or_else(|| doc.whole(picture));
    let (id, mut bounds) = view.map(|v| (v.id, v.bounds)).ok_or_else(|| Say::new("job.no-picture-yet"))?;
    let before = bounds.corners();
    let middle = At::new((before[0].x + before[2].x) / 2.0, (before[0].y + before[2].y) / 2.0);
    bounds.tilt = tilt;
    bounds.at = At::new(middle.x - bounds.size[0] / 2.0, middle.y - bounds.size[1] / 2.0);
    desk.take(Intent::ChangeView {
        view: id,
        name: None,
        role: None,
        bounds: Some(turned_about_middle(bounds)),
    })
}
