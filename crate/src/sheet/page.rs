//! One sheet as a page: the part of the whole that it shows, how it is joined to its neighbours, its bars and its writing.

use super::draw::{Drawing, Item, Step};
use super::free::Quad;
use super::furniture::Furniture;
use super::pdf::{Canvas, Content, Faces, Frame, Image, Page};
use super::plan::{Plan, Shown};
use crate::plane::{Finished, Point};
use std::rc::Rc;

/// A picture for a page.
#[derive(Clone, Debug)]
pub struct Placed {
    /// For which of what the page shows.
    pub shown: usize,
    /// Of which item.
    pub item: usize,
    /// Where it lies.
    pub over: Over,
    /// Which.
    pub image: Rc<Image>,
}

/// Where a picture lies.
#[derive(Clone, Copy, Debug)]
pub enum Over {
    /// It was made for these bounds, as the whole lies: left, top, right, bottom.
    Bounds([f64; 4]),
    /// All of it, in the drawing's own mm: lower left, lower right, upper left.
    Corners([Point<Finished>; 3]),
}

/// Where one whole lies on a page: for what is placed as it lies, and for its own drawing.
#[derive(Clone, Copy, Debug)]
struct Laid {
    lies: Frame,
    own: Frame,
}

/// The page of sheet `index`. `images` are its pictures.
pub fn page(
    plan: &Plan,
    index: usize,
    drawings: &[Drawing],
    images: &[Placed],
    with: &Furniture,
) -> Option<Page> {
    let sheet = plan.sheets.get(index)?;
    let mut content = Content::default();
    draw(&mut content, plan, index, drawings, images, with)?;
    let images = images.iter().map(|p| p.image.clone()).collect();
    Some(Page { size: sheet.size, label: sheet.name.clone(), content, images })
}

/// Draws all of sheet `index`.
pub fn draw(
    content: &mut dyn Canvas,
    plan: &Plan,
    index: usize,
    drawings: &[Drawing],
    images: &[Placed],
    with: &Furniture,
) -> Option<()> {
    let sheet = plan.sheets.get(index)?;
    let corner = [sheet.margins[0], sheet.margins[1]];
    let frame = Frame::page(sheet.size[1], corner, sheet.printer);
    for (n, shown) in sheet.shows.iter().enumerate() {
        let Some(drawing) = drawings.get(shown.whole) else { continue };
        let laid = laid(&frame, shown, drawing);
        content.clip(&laid.lies, shown.window);
        for (i, item) in drawing.items.iter().enumerate() {
            let image = images.iter().enumerate().find(|(_, p)| (p.shown, p.item) == (n, i));
            if let Some((at, placed)) = image {
                match (placed.over, item) {
                    (Over::Bounds([l, t, r, b]), _) => {
                        content.picture(&laid.lies, at, [[l, b], [r, b], [l, t]].map(Point::from));
                    }
                    (Over::Corners(corners), Item::Picture { bounds, .. }) => {
                        content.clip(&laid.own, *bounds);
                        content.picture(&laid.own, at, corners);
                        content.restore();
                    }
                    _ => {}
                }
            } else if is_shown(item, shown, plan, drawing, &with.faces) {
                content.item(&laid.own, item, &with.faces);
            }
        }
        content.restore();
        if let Some(whole) = plan.wholes.get(shown.whole) {
            for item in with.joints(whole, shown, drawing) {
                content.item(&laid.lies, &item, &with.faces);
            }
        }
    }
    for item in with.strips(plan, sheet, index) {
        content.item(&frame, &item, &with.faces);
    }
    Some(())
}

fn laid(frame: &Frame, shown: &Shown, drawing: &Drawing) -> Laid {
    let [l, t, _, _] = shown.window;
    let lies = frame.moved([shown.at[0] - l, shown.at[1] - t]);
    let own = if shown.turned { lies.quarter(drawing.size[1]) } else { lies };
    Laid { lies, own }
}

/// Whether a sheet shows an item: any of it; of writing all, where another sheet shows all of it: what begins in a lap would stand cut off
/// on the sheet beneath.
fn is_shown(item: &Item, shown: &Shown, plan: &Plan, drawing: &Drawing, faces: &Faces) -> bool {
    let Some([l, t, r, b]) = bounds(item, faces) else { return false };
    let reaches = |[wl, wt, wr, wb]: [f64; 4]| l <= wr && r >= wl && t <= wb && b >= wt;
    let lies_in = |[wl, wt, wr, wb]: [f64; 4]| l >= wl && r <= wr && t >= wt && b <= wb;
    let own = window(shown, drawing);
    if !matches!(item, Item::Text { .. }) || lies_in(own) || !reaches(own) {
        return reaches(own);
    }
    let sheets = plan.sheets.iter().flat_map(|sheet| &sheet.shows).filter(|other| other.whole == shown.whole);
    !sheets.map(|other| window(other, drawing)).any(lies_in)
}

/// A sheet's window in the drawing's own mm: (x, y) as it lies was (y, height − x).
fn window(shown: &Shown, drawing: &Drawing) -> [f64; 4] {
    let ([l, t, r, b], high) = (shown.window, drawing.size[1]);
    if shown.turned { [t, high - r, b, high - l] } else { [l, t, r, b] }
}

/// Left, top, right, bottom of an item, its line's width and all.
pub fn bounds(item: &Item, faces: &Faces) -> Option<[f64; 4]> {
    let around = |x: f64, y: f64, by: f64| [x - by, y - by, x + by, y + by];
    let join = |a: [f64; 4], b: [f64; 4]| [a[0].min(b[0]), a[1].min(b[1]), a[2].max(b[2]), a[3].max(b[3])];
    match item {
        Item::Path { path, pen, .. } => {
            let by = pen.map_or(0.0, |p| p.width);
            let points = path.steps.iter().flat_map(|step| match step {
                Step::Move(p) | Step::Line(p) => [Some(*p), None, None],
                Step::Cubic(a, b, p) => [Some(*a), Some(*b), Some(*p)],
                Step::Close => [None; 3],
            });
            points.flatten().map(|p| around(p.x, p.y, by)).reduce(join)
        }
        Item::Text { at, size, turn, anchor, bold, text, .. } => {
            Some(Quad::written(*at, *size, *turn, *anchor, faces.width(text, *size, *bold), 0.0).bounds())
        }
        Item::Picture { bounds, .. } => Some(*bounds),
    }
}
