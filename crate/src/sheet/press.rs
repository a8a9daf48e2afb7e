//! The press: from an order to files, in steps short enough that a page can show how far it is, or stop it.

use super::draw::{Drawing, Ink, Item};
use super::font::Font;
use super::furniture::Furniture;
use super::order::{Grid, Offsets, Order, Pattern, Piece};
use super::page::{Over, Placed, draw, page};
use super::paper::Stock;
use super::pattern::title;
use super::pdf::{self, Book, Faces, Image};
use super::picture::{PALE, Shot};
use super::plan::{self, Plan};
use super::preview::preview;
use super::write::{Writing, clean};
use super::{beside, boards_drawn, list, piece, reuse, svg, test_sheet};
use crate::plane::{Finished, Homography, Picture, Point};
use crate::quantity::units::MM_PER_INCH;
use crate::raster::luma::Window;
use crate::words::{Arg, Say};
use std::rc::Rc;

/// Rows of a picture that are made in one step: a few ms each.
const ROWS_A_STEP: usize = 64;

/// How far the press is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Progress {
    /// Rows of pictures made.
    pub done: usize,
    /// All of them.
    pub of: usize,
}

/// What the press needs of a picture before it can go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wanted {
    /// Which picture.
    pub picture: u32,
    /// Which part of its luminance.
    pub window: Window,
}

/// A picture on a sheet, to be made.
#[derive(Clone, Debug)]
struct Task {
    sheet: usize,
    shown: usize,
    item: usize,
    picture: u32,
    bounds: [f64; 4],
    /// Where the picture's own file would lie, if it can be used as it is.
    corners: Option<[Point<Finished>; 3]>,
    shot: Shot,
}

/// How often drawings are made anew at most once it is known where their sheets are joined: what is written elsewhere moves joints.
const REDRAWN: usize = 6;

/// A picture's own file is used from so many of its px to the inch on: coarser ones show their squares. Ours, no source.
const FINE: f64 = 100.0;

/// One order being made.
#[derive(Clone, Debug)]
pub struct Press {
    order: Order,
    regular: Font,
    bold: Font,
    drawings: Vec<Drawing>,
    /// For each piece of the order, its first drawing.
    firsts: Vec<usize>,
    plan: Plan,
    tasks: Vec<Task>,
    next: usize,
    images: Vec<Vec<Placed>>,
}

impl Press {
    /// Takes an order, with the two weights of type as TrueType files.
    ///
    /// # Errors
    /// As [`plan::plan`]; what a piece refuses; `sheet.font`; `sheet.nothing` when nothing was ordered.
    pub fn new(mut order: Order, regular: Vec<u8>, bold: Vec<u8>) -> Result<Press, Say> {
        let (regular, bold) = (Font::read(regular)?, Font::read(bold)?);
        order.settle();
        order.job = clean(&order.job);
        order.date = clean(&order.date);
        order.paper.printer_name = clean(&order.paper.printer_name);
        if order.pieces.contains(&Piece::Test) {
            // It is there to find the correction, so it has none.
            order.paper.printer = [1.0; 2];
        }
        let mut press = Press {
            order,
            regular,
            bold,
            drawings: Vec::new(),
            firsts: Vec::new(),
            plan: Plan::default(),
            tasks: Vec::new(),
            next: 0,
            images: Vec::new(),
        };
        let (mut drawings, mut firsts) = (Vec::new(), Vec::new());
        press.written(|said| {
            for piece in &said.order.pieces {
                firsts.push(drawings.len());
                drawings.extend(drawn(piece, said).map_err(|why| of_which(piece, said, why))?);
            }
            Ok(())
        })?;
        if drawings.is_empty() {
            return Err(Say::new("sheet.nothing"));
        }
        press.plan = press.written(|said| plan::plan(&drawings, &said.order.paper, said.said))?;
        press.clear_joints(&mut drawings, &firsts);
        for (whole, drawing) in press.plan.wholes.iter_mut().zip(&drawings) {
            whole.preview = preview(drawing, whole.turned);
        }
        (press.drawings, press.firsts) = (drawings, firsts);
        press.images = vec![Vec::new(); press.plan.sheets.len()];
        press.find_tasks();
        press.find_missing_letters();
        Ok(press)
    }

    /// Draws anew what has writing over joints, now that it is known where they are, and where they then come to lie; keeps what has the least
    /// over them and takes no more sheets.
    fn clear_joints(&mut self, drawings: &mut Vec<Drawing>, firsts: &[usize]) {
        let better = self.written(|with| {
            let mut least = crossed(&self.plan, drawings, firsts, with).iter().sum::<usize>();
            let mut best = None;
            let mut last = (self.plan.clone(), drawings.clone());
            for _ in 0..REDRAWN {
                if least == 0 {
                    break;
                }
                last = redrawn(&last.0, &last.1, firsts, with)?;
                let over = crossed(&last.0, &last.1, firsts, with).iter().sum::<usize>();
                if over < least && last.0.sheets.len() <= self.plan.sheets.len() {
                    (least, best) = (over, Some(last.clone()));
                }
            }
            Ok(best)
        });
        if let Ok(Some((plan, anew))) = better {
            (self.plan, *drawings) = (plan, anew);
        }
    }

    /// Does what needs the order's words.
    fn written<T>(&self, work: impl FnOnce(&Furniture<'_>) -> Result<T, Say>) -> Result<T, Say> {
        let faces = self.faces();
        let measure = |text: &str, size: f64, bold: bool| faces.width(text, size, bold);
        let said = Writing::new(&self.order, &measure);
        work(&Furniture { faces, said: &said, order: &self.order })
    }

    fn faces(&self) -> Faces<'_> {
        Faces { regular: &self.regular, bold: &self.bold }
    }

    /// Which sheets there will be.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The part of a picture it needs before it can go on.
    pub fn wants(&self) -> Option<Wanted> {
        let task = self.tasks.get(self.next)?;
        Some(Wanted { picture: task.picture, window: task.shot.wants()? })
    }

    /// Takes what [`Press::wants`] asked for: luminance, row by row.
    pub fn give(&mut self, luma: &[u8]) {
        if let Some(task) = self.tasks.get_mut(self.next) {
            task.shot.give(luma);
        }
    }

    /// The pictures whose own files may do, if they are JPEGs: [`Press::reuse`]. Asked before anything is made.
    pub fn reusable(&self) -> Vec<u32> {
        let mut out: Vec<u32> =
            self.tasks.iter().filter(|t| t.corners.is_some()).map(|t| t.picture).collect();
        out.dedup();
        out
    }

    /// Takes a picture's own file, with the way up that it says (an EXIF orientation); it is used where what it codes of luminance is no
    /// larger than what would be made, at about a bit a pixel. For the PDF alone.
    pub fn reuse(&mut self, picture: u32, file: &[u8], orientation: u8) {
        let fits = |t: &Task| t.picture == picture && t.corners.is_some();
        let Some([wide, high]) = self.tasks.iter().find(|t| fits(t)).map(|t| t.shot.size()) else {
            return;
        };
        let made: usize = self.tasks.iter().filter(|t| fits(t)).map(|t| t.shot.pixels()).sum();
        let [width, height] = if orientation < 5 { [wide, high] } else { [high, wide] };
        // Luminance is most of a file: of one that is several times too large it isn't looked for.
        let near = file.len() * 2 <= made;
        let grey = if near { reuse::grey(file, [width, height]) } else { None };
        let Some(jpeg) = grey.filter(|jpeg| jpeg.len() * 8 <= made) else {
            return;
        };
        let image = Rc::new(Image { width, height, jpeg, black: PALE });
        for task in self.tasks.iter().filter(|t| fits(t)) {
            if let (Some(corners), Some(images)) = (task.corners, self.images.get_mut(task.sheet)) {
                let over = Over::Corners(stored(corners, orientation));
                let (shown, item) = (task.shown, task.item);
                images.push(Placed { shown, item, over, image: image.clone() });
            }
        }
        self.tasks.retain(|t| !fits(t));
    }

    /// Goes on without a picture that is not to be had.
    pub fn skip(&mut self) {
        self.next = (self.next + 1).min(self.tasks.len());
    }

    /// Does a little; once `done` is `of`, the file can be had.
    pub fn step(&mut self) -> Progress {
        if let Some(task) = self.tasks.get_mut(self.next) {
            for _ in 0..ROWS_A_STEP / 8 {
                if task.shot.wants().is_some() {
                    break;
                }
                if let Some(image) = task.shot.step() {
                    if let Some(images) = self.images.get_mut(task.sheet) {
                        let (shown, item, over) = (task.shown, task.item, Over::Bounds(task.bounds));
                        images.push(Placed { shown, item, over, image: Rc::new(image) });
                    }
                    self.next += 1;
                    break;
                }
            }
        }
        let part = |task: &Task| task.shot.progress();
        let of = self.tasks.iter().map(|t| part(t)[1]).sum();
        let before: usize = self.tasks.iter().take(self.next).map(|t| part(t)[1]).sum();
        let current = self.tasks.get(self.next).map_or(0, |t| part(t)[0]);
        Progress { done: before + current, of }
    }

    /// The file, with the pictures made so far.
    ///
    /// # Errors
    /// None that the order did not have.
    pub fn pdf(&self) -> Result<Vec<u8>, Say> {
        self.written(|with| {
            let pages = (0..self.plan.sheets.len())
                .filter_map(|i| page(&self.plan, i, &self.drawings, self.images.get(i)?, with))
                .collect();
            let revision = Say::new("sheet.made-only").count("revision", self.order.revision as usize);
            let about = [self.order.date.clone(), with.said.tell(&revision)];
            let about: Vec<String> = about.into_iter().filter(|a| !a.is_empty()).collect();
            let title = match self.plan.wholes.first() {
                Some(whole) if self.order.job.is_empty() => whole.title.clone(),
                _ => self.order.job.clone(),
            };
            let bookmarks = self.plan.wholes.iter().map(|w| (w.title.clone(), w.first)).collect();
            let book = Book { title, subject: about.join(", "), pages, bookmarks };
            Ok(pdf::write(&book, &with.faces))
        })
    }

    /// The first drawing of a piece as an SVG file, lines and writing alone.
    pub fn svg(&self, piece: usize) -> Option<String> {
        let drawing = self.drawings.get(*self.firsts.get(piece)?)?;
        Some(svg::svg(drawing, &self.faces()))
    }

    /// One sheet as a picture for a browser to print, with the pictures made so far.
    ///
    /// # Errors
    /// None that the order did not have.
    pub fn sheet(&self, index: usize) -> Result<Option<String>, Say> {
        let (Some(sheet), Some(images)) = (self.plan.sheets.get(index), self.images.get(index)) else {
            return Ok(None);
        };
        self.written(|with| {
            let mut out = svg::Sheet::new(sheet.size, &sheet.name, images);
            draw(&mut out, &self.plan, index, &self.drawings, images, with);
            Ok(Some(out.finish()))
        })
    }

    /// The pictures on all sheets.
    fn find_tasks(&mut self) {
        let sizes: Vec<(u32, [u32; 2])> = self.order.pieces.iter().filter_map(under).collect();
        for (s, sheet) in self.plan.sheets.iter().enumerate() {
            for (n, shown) in sheet.shows.iter().enumerate() {
                let Some(drawing) = self.drawings.get(shown.whole) else { continue };
                for (i, item) in drawing.items.iter().enumerate() {
                    let Item::Picture { picture, map, bounds: [l, t, r, b], ink } = item else { continue };
                    let Some((_, size)) = sizes.iter().find(|(p, _)| p == picture) else { continue };
                    // As it lies: (x, y) becomes (height − y, x).
                    let high = drawing.size[1];
                    let lies = if shown.turned { [high - b, *l, high - t, *r] } else { [*l, *t, *r, *b] };
                    let [wl, wt, wr, wb] = shown.window;
                    let bounds = [lies[0].max(wl), lies[1].max(wt), lies[2].min(wr), lies[3].min(wb)];
                    if !(bounds[0] < bounds[2] && bounds[1] < bounds[3]) {
                        continue;
                    }
                    let turned = shown.turned.then_some(high);
                    let Some(shot) = Shot::new(map, *ink, *size, bounds, turned) else { continue };
                    let corners = if *ink == Ink::Grey { corners(map, *size) } else { None };
                    self.tasks.push(Task {
                        sheet: s,
                        shown: n,
                        item: i,
                        picture: *picture,
                        bounds,
                        corners,
                        shot,
                    });
                }
            }
        }
    }

    /// Says which letters the type has not.
    fn find_missing_letters(&mut self) {
        let mut missing = String::new();
        let names = self
            .plan
            .sheets
            .iter()
            .map(|s| s.name.as_str())
            .chain([self.order.job.as_str(), self.order.date.as_str()]);
        let texts = self.drawings.iter().flat_map(|d| &d.items).filter_map(|item| match item {
            Item::Text { text, .. } => Some(text.as_str()),
            _ => None,
        });
        for letter in
            names.chain(texts).flat_map(|t| self.regular.set(t)).filter(|g| g.id == 0).map(|g| g.letter)
        {
            if missing.chars().all(|known| known != letter) && missing.chars().nth(30).is_none() {
                missing.push(letter);
            }
        }
        if !missing.is_empty() {
            self.plan.remarks.push(Say::new("sheet.no-letters").text("letters", missing));
        }
    }
}

/// Where a picture's lower left, lower right and upper left corners lie, if it lies upright, evenly and finely. One that is turned a
/// little a viewer may put roughly: PDFium reckons its place to 1/256 px a pixel, 0.2 mm off at 1° (`scripts/check sheet`).
fn corners(map: &Homography<Picture, Finished>, [w, h]: [u32; 2]) -> Option<[Point<Finished>; 3]> {
    let [w, h] = [w, h].map(f64::from);
    let [origin, right, up] = [[0.0, h], [w, h], [0.0, 0.0]].map(|p| map.apply(Point::from(p)));
    let (origin, right, up) = (origin?, right?, up?);
    let fine = |a: Point<Finished>, side: f64| origin.distance(a) <= side * MM_PER_INCH / FINE;
    let [[_, x, _], [y, _, _], [p, q, _]] = *map.rows();
    ([x, y, p, q] == [0.0; 4] && fine(right, w) && fine(up, h)).then_some([origin, right, up])
}

/// Where the lower left, lower right and upper left corners of a picture as it is stored lie, by those of it as it is shown and its way up
/// (CIPA DC-008-2019, 4.6.4 A, Orientation).
fn stored([low, right, up]: [Point<Finished>; 3], orientation: u8) -> [Point<Finished>; 3] {
    let far = up + (right - low);
    match orientation {
        2 => [right, low, far],
        3 => [far, up, right],
        4 => [up, far, low],
        5 => [far, right, up],
        6 => [up, low, far],
        7 => [low, up, right],
        8 => [right, far, low],
        _ => [low, right, up],
    }
}

/// How much of what is written on each piece's first drawing lies over joints.
fn crossed(plan: &Plan, drawings: &[Drawing], firsts: &[usize], with: &Furniture<'_>) -> Vec<usize> {
    let of = |at: &usize| plan.wholes.get(*at).zip(drawings.get(*at));
    let over = |at| of(at).map_or(0, |(whole, drawing)| beside::crossed(whole, drawing, with.said));
    firsts.iter().map(over).collect()
}

/// The drawings once more, those with writing over joints beside where these are, and their plan.
fn redrawn(
    plan: &Plan,
    drawings: &[Drawing],
    firsts: &[usize],
    with: &Furniture<'_>,
) -> Result<(Plan, Vec<Drawing>), Say> {
    let lap = Stock::of(&with.order.paper)?.lap;
    let measure = |text: &str, size: f64, bold: bool| with.faces.width(text, size, bold);
    let mut anew = drawings.to_vec();
    let over = crossed(plan, drawings, firsts, with);
    for ((piece, first), _) in with.order.pieces.iter().zip(firsts).zip(over).filter(|(_, over)| *over > 0) {
        let Some((whole, drawing)) = plan.wholes.get(*first).zip(drawings.get(*first)) else { continue };
        let said = Writing::new(with.order, &measure).beside(beside::Joints::of(whole, drawing, lap));
        let made = drawn(piece, &Furniture { said: &said, ..*with })?;
        for (place, one) in anew.iter_mut().skip(*first).zip(made) {
            *place = one;
        }
    }
    Ok((plan::plan(&anew, &with.order.paper, with.said)?, anew))
}

/// A piece's drawings.
fn drawn(piece: &Piece, with: &Furniture<'_>) -> Result<Vec<Drawing>, Say> {
    match piece {
        Piece::Test => Ok(vec![test_sheet::drawing(&Stock::of(&with.order.paper)?, with.said)]),
        Piece::Boards(one) => boards_drawn::drawings(one, &with.order.paper, with.said),
        Piece::List(one) => list::drawings(one, &with.order.paper, with.said),
        _ => piece::drawings(piece, with.said),
    }
}

/// What is wrong, and with which of several parts.
fn of_which(piece: &Piece, with: &Furniture<'_>, why: Say) -> Say {
    match of(piece).filter(|_| with.order.pieces.len() > 1) {
        Some(part) => {
            Say::new("sheet.of-part").text("name", title(part, with.said)).with("why", Arg::Say(why.into()))
        }
        None => why,
    }
}

/// The part that a piece is of.
fn of(piece: &Piece) -> Option<&Pattern> {
    match piece {
        Piece::Pattern(p) | Piece::Grid(Grid { of: p, .. }) | Piece::Offsets(Offsets { of: p, .. }) => {
            Some(p)
        }
        Piece::Stick(_) | Piece::Sector(_) | Piece::List(_) | Piece::Boards(_) | Piece::Test => None,
    }
}

/// The picture under a piece and its size.
fn under(piece: &Piece) -> Option<(u32, [u32; 2])> {
    of(piece)?.picture.as_ref().map(|u| (u.picture, u.size))
}

#[cfg(test)]
mod tests;
