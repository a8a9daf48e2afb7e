//! Facts that divide a picture into views: several at once, two made one, one made two.

use super::super::document::{Document, View};
use super::super::intent::{At, Intent, NewView, Role};
use super::views::{add_view, check_bounds, no_side, remove_view};
use super::{need_picture, view_mut};
use crate::words::Say;

/// No more views at once.
const MOST: usize = 40;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    match fact {
        Intent::AddViews { picture, views } => add_views(document, *picture, views),
        Intent::MergeViews { view, with } => merge(document, *view, *with),
        Intent::SplitView { view, along } => split(document, *view, *along),
        _ => Err(Say::new("job.not-a-fact")),
    }
}

fn add_views(document: &mut Document, picture: u32, views: &[NewView]) -> Result<(), Say> {
    need_picture(document, picture)?;
    if views.is_empty() || views.len() > MOST {
        return Err(Say::new("job.too-many-views"));
    }
    views.iter().try_for_each(|v| add_view(document, picture, "", v.role, v.bounds))
}

fn need(document: &Document, id: u32) -> Result<&View, Say> {
    document.view(id).ok_or_else(|| Say::new("job.no-such-view").count("view", id as usize))
}

/// The first view takes in the second: a box, lying as its own, round both.
fn merge(document: &mut Document, view: u32, with: u32) -> Result<(), Say> {
    let (a, b) = (need(document, view)?, need(document, with)?);
    no_side(a).and(no_side(b))?;
    if view == with || a.whole || b.whole || a.picture != b.picture {
        return Err(Say::new("job.merge-two"));
    }
    let corners: Vec<[f64; 2]> =
        a.bounds.corners().iter().chain(&b.bounds.corners()).map(|p| a.bounds.within(*p)).collect();
    let (low, high) = corners.iter().fold(([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]), |(l, h), c| {
        ([l[0].min(c[0]), l[1].min(c[1])], [h[0].max(c[0]), h[1].max(c[1])])
    });
    let bounds = a.bounds.part(low, high);
    check_bounds(&bounds)?;
    let rectangle = a.rectangle.clone().or_else(|| b.rectangle.clone());
    let kept = view_mut(document, view)?;
    kept.bounds = bounds;
    kept.rectangle = rectangle;
    remove_view(document, with)
}

/// Cuts a view in two along the line through two places, which is taken for level or plumb, whichever is nearer. The
/// first part keeps its name.
fn split(document: &mut Document, view: u32, along: [At; 2]) -> Result<(), Say> {
    let old = need(document, view)?.clone();
    no_side(&old)?;
    if old.whole {
        return Err(Say::new("job.whole-view-stays"));
    }
    let [a, b] = along.map(|p| old.bounds.within(p));
    if !a.iter().chain(&b).all(|v| v.is_finite()) {
        return Err(Say::new("job.point-not-a-place"));
    }
    let axis = usize::from((a[0] - b[0]).abs() >= (a[1] - b[1]).abs());
    let at = (a[axis] + b[axis]) / 2.0;
    let [w, h] = old.bounds.size;
    let (mut end, mut start) = ([w, h], [0.0, 0.0]);
    end[axis] = at;
    start[axis] = at;
    let (first, second) = (old.bounds.part([0.0, 0.0], end), old.bounds.part(start, [w, h]));
    check_bounds(&first)?;
    check_bounds(&second)?;
    view_mut(document, view)?.bounds = first;
    add_view(document, old.picture, "", Role::Other, second)
}
