//! From the document to every size: the map of each view, what each mark measures, the size to build.
//!
//! Depends on the document only; knows nothing of the screen.

use super::document::{Behind, Build, Document, Mark, Placing, View};
use super::holes;
use super::intent::RectangleOf;
use super::lenses::{self, Lensed};
use super::vouched::{OnBox, camera, formed, rectangle, span};
use crate::WHOLE;
use crate::estimate::{Estimate, Source};
use crate::mark::{Measures, measure};
use crate::order::Table;
use crate::view::{
    Back, BoxKnowns, Camera, Click, Fit, Formed, Known, Knowns, Lens, Rectangle, Resolution, Scale, Side,
    ViewMap, fit, fit_behind, fit_box, stand_back,
};
use crate::words::Say;
use std::rc::Rc;

/// A stated ± is 1.96 standard uncertainties.
pub(super) const COVERAGE: f64 = 1.959_963_984_540_054;
/// A scanner's or printer's resolution is taken to be right within half a per cent (95 %): common practice, no source.
const RESOLUTION_PM: f64 = 0.005;

/// Where a view's map comes from: which view's true lengths, and which view's rectangle.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Origin {
    /// The picture.
    pub picture: u32,
    /// The view whose true lengths set the scale; nothing when there are none.
    pub lengths: Option<u32>,
    /// The view whose rectangle turns it square-on.
    pub rectangle: Option<u32>,
    /// The view, where that is a side of a box.
    pub face: Option<u32>,
    /// The view, where that stands behind another.
    pub behind: Option<u32>,
}

/// A map with what is to be said of it.
#[derive(Clone, Debug)]
pub struct Mapped {
    /// Where it comes from.
    pub origin: Origin,
    /// Everything it was fitted to: while that is the same, so is the map.
    made_from: MadeFrom,
    /// The fit, or why there is none.
    pub fit: Result<Fit, Say>,
}

/// Everything reckoned from one document.
#[derive(Clone, Debug, Default)]
pub struct Reckoned {
    /// The maps, each once.
    pub maps: Vec<Rc<Mapped>>,
    /// For each view (by id) the place of its map.
    pub of_view: Table<u32, usize>,
    /// What is known of each picture's lens.
    pub lenses: Vec<Rc<Lensed>>,
    /// The views that it was reckoned for.
    views: Vec<View>,
    /// What each mark is, in the document's order. One that is as it was before is the same object.
    pub marks: Vec<Rc<Reading>>,
    /// The place of each mark's reading, by the mark's id.
    places: Table<u32, usize>,
    /// Finished : real, when it can be known, with the origin that it is relative to (nothing for real scales).
    pub factor: Option<Factor>,
}

/// Finished : real.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor {
    /// The factor; for a relative scale, finished mm per relative unit.
    pub value: Estimate,
    /// The base mark's map, when that has no true length: only marks of that map share the factor.
    pub only: Option<usize>,
}

/// What one mark reads.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The mark.
    pub mark: u32,
    /// The mark as it was when read.
    pub made_from: Rc<Mark>,
    /// The map it was read by.
    by: Rc<Mapped>,
    /// The view it lies on.
    pub view: u32,
    /// The place of its map among [`Reckoned::maps`].
    pub map: usize,
    /// The map has a scale: sizes are in life. Otherwise they are only good for ratios.
    pub scaled: bool,
    /// What it measures, or why not.
    pub measures: Result<Measures, Say>,
}

impl Reckoned {
    /// The map of view `id` with its fit.
    pub fn mapped(&self, view: u32) -> Option<&Mapped> {
        self.of_view.get(&view).and_then(|i| self.maps.get(*i)).map(|m| &**m)
    }

    /// The map of view `id`.
    pub fn map(&self, view: u32) -> Option<&ViewMap> {
        self.mapped(view).and_then(|m| m.fit.as_ref().ok()).map(|f| &f.map)
    }

    /// What mark `id` reads.
    pub fn reading(&self, mark: u32) -> Option<&Reading> {
        self.places.get(&mark).and_then(|i| self.marks.get(*i)).map(|r| &**r)
    }

    /// The reading itself, to be kept.
    pub fn reading_rc(&self, mark: u32) -> Option<Rc<Reading>> {
        self.places.get(&mark).and_then(|i| self.marks.get(*i)).cloned()
    }

    /// Some view shows sizes in life.
    pub fn scaled(&self) -> bool {
        self.maps.iter().any(|m| m.fit.as_ref().is_ok_and(|f| f.scale != Scale::None))
    }

    /// Two marks' sizes can be set against each other: both in life, or by the same map.
    pub fn comparable(&self, a: &Reading, b: &Reading) -> bool {
        (a.scaled && b.scaled) || a.map == b.map
    }
}

impl Reading {
    /// Its main size.
    pub fn primary(&self) -> Option<&Estimate> {
        let m = self.measures.as_ref().ok()?;
        m.all.iter().find(|x| x.what == m.primary).map(|x| &x.value)
    }
}

/// What the maps rest on: the view of each mark and the origin of each view, found once.
struct Ground<'a> {
    document: &'a Document,
    /// The view of each mark, in the document's order.
    on: Vec<Option<u32>>,
    /// The origin of each view.
    origins: Table<u32, Origin>,
    lenses: Vec<Rc<Lensed>>,
}

/// The view that a mark lies on.
fn view_of(document: &Document, mark: &Mark) -> Option<u32> {
    document.view_at(mark.picture, &mark.points)
}

impl Ground<'_> {
    fn of(document: &Document) -> Ground<'_> {
        Ground::on(document, document.marks.iter().map(|m| view_of(document, m)).collect(), &[])
    }

    /// The same, where every mark that is as it was among the views as they were lies on the view that it lay on.
    fn again<'a>(document: &'a Document, before: &Reckoned) -> Ground<'a> {
        let same_views = before.views == document.views;
        let lay = |m: &Rc<Mark>| {
            let reading = before.reading(m.id).filter(|r| same_views && Rc::ptr_eq(&r.made_from, m));
            reading.map(|r| r.view)
        };
        let on = document.marks.iter().map(|m| lay(m).or_else(|| view_of(document, m))).collect();
        Ground::on(document, on, &before.lenses)
    }

    fn on<'a>(document: &'a Document, on: Vec<Option<u32>>, lenses: &[Rc<Lensed>]) -> Ground<'a> {
        let pulling = document
            .marks
            .iter()
            .zip(&on)
            .filter(|(m, _)| m.known.is_some_and(|k| k.pulls) && span(m).is_some())
            .filter_map(|(_, v)| v.map(|v| (v, ())))
            // A box's length is no flat view's, and what stands behind lends its own to nobody.
            .filter(|(v, _)| document.view(*v).is_some_and(|v| v.face.is_none() && v.behind.is_none()))
            .collect();
        let origins = document.views.iter().map(|v| (v.id, origin(document, &pulling, v))).collect();
        Ground {
            document,
            on,
            origins,
            lenses: if WHOLE { lenses::lenses(document, lenses) } else { Vec::new() },
        }
    }

    /// The shapes that are vouched for on a view.
    fn forms(&self, view: u32) -> Vec<Formed> {
        let here = self.document.marks.iter().zip(&self.on).filter(|(_, v)| **v == Some(view));
        here.filter_map(|(m, _)| formed(m)).collect()
    }
}

/// Reckons everything. What rests on nothing that has changed since `before` is taken over from there.
pub fn reckon(document: &Document, before: &Reckoned) -> Reckoned {
    let mut out = Reckoned { views: document.views.clone(), ..Reckoned::default() };
    let ground = Ground::again(document, before);
    for (view, origin) in ground.origins.iter() {
        let at = out.maps.iter().position(|m| m.origin == *origin).unwrap_or_else(|| {
            out.maps.push(map_again(&ground, *origin, before));
            out.maps.len() - 1
        });
        out.of_view.insert(*view, at);
    }
    for (mark, view) in document.marks.iter().zip(&ground.on) {
        let Some(view) = *view else { continue };
        let Some(&map) = out.of_view.get(&view) else { continue };
        out.places.insert(mark.id, out.marks.len());
        out.marks.push(read_again(mark, view, map, &out.maps[map], before));
    }
    out.factor = factor(document, &out);
    out.lenses = ground.lenses;
    out
}

fn map_again(ground: &Ground, origin: Origin, before: &Reckoned) -> Rc<Mapped> {
    let made_from = MadeFrom::of(ground, origin);
    let same = before.maps.iter().find(|m| m.origin == origin && m.made_from == made_from);
    same.cloned().unwrap_or_else(|| Rc::new(Mapped { origin, fit: made_from.fit(), made_from }))
}

fn read_again(mark: &Rc<Mark>, view: u32, map: usize, by: &Rc<Mapped>, before: &Reckoned) -> Rc<Reading> {
    let old = before.places.get(&mark.id).and_then(|i| before.marks.get(*i));
    match old {
        Some(r) if r.view == view && r.map == map && Rc::ptr_eq(&r.by, by) && same(&r.made_from, mark) => {
            r.clone()
        }
        _ => Rc::new(read(mark, view, map, by)),
    }
}

/// A mark that nothing has touched is the very same object.
fn same(a: &Rc<Mark>, b: &Rc<Mark>) -> bool {
    Rc::ptr_eq(a, b) || a == b
}

/// The map that `mark` is measured by, reckoned for itself alone.
pub fn map_for(document: &Document, mark: &Mark) -> Option<ViewMap> {
    let ground = Ground::of(document);
    let origin = *ground.origins.get(&document.view_at(mark.picture, &mark.points)?)?;
    MadeFrom::of(&ground, origin).fit().ok().map(|f| f.map)
}

/// Whether view `id` has a map.
///
/// # Errors
/// Why it has none, in words.
pub fn check_view(document: &Document, id: u32) -> Result<(), Say> {
    let ground = Ground::of(document);
    match ground.origins.get(&id) {
        Some(origin) => MadeFrom::of(&ground, *origin).fit().map(|_| ()),
        None => Ok(()),
    }
}

fn read(mark: &Rc<Mark>, view: u32, map: usize, by: &Rc<Mapped>) -> Reading {
    let (scaled, measures) = match &by.fit {
        Ok(fit) => {
            if let Some(smooth) = &mark.smooth {
                let measures = super::smooth::measured(mark, smooth, &fit.map);
                let scaled = fit.scale != Scale::None;
                return Reading {
                    mark: mark.id,
                    made_from: mark.clone(),
                    by: by.clone(),
                    view,
                    map,
                    scaled,
                    measures,
                };
            }
            let clicks = clicks(mark.id, &mark.points);
            // A map leans on a true length's first placing only, so that one must not be averaged with others.
            let again: &[Vec<Placing>] = if mark.known.is_some() { &[] } else { &mark.repeats };
            let repeats: Vec<Vec<Click>> = again.iter().map(|r| self::clicks(mark.id, r)).collect();
            let whole = measure(mark.kind, mark.ends, &clicks, &repeats, &fit.map);
            (fit.scale != Scale::None, whole.map(|w| holes::holed(w, mark, &fit.map)))
        }
        Err(say) => (false, Err(say.clone())),
    };
    Reading { mark: mark.id, made_from: mark.clone(), by: by.clone(), view, map, scaled, measures }
}

/// The points of a mark as clicks with their sources.
pub fn clicks(mark: u32, points: &[Placing]) -> Vec<Click> {
    points
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let i = u16::try_from(i).unwrap_or(u16::MAX);
            Click {
                at: p.at,
                sigma: p.worst(),
                cov: p.cov(),
                source: [Source::Click(mark, i, 0), Source::Click(mark, i, 1)],
                freedom: f64::INFINITY,
                bent: None,
            }
        })
        .collect()
}

/// A view's own true lengths set its scale; else those of the view that a person named; else those of the whole picture; else
/// of the first view that has some: views of one drawing share its scale. A rectangle is a view's own, or the whole picture's.
fn origin(document: &Document, pulling: &Table<u32, ()>, view: &View) -> Origin {
    let alone = Origin { picture: view.picture, lengths: None, rectangle: None, face: None, behind: None };
    if view.face.is_some() || view.behind.is_some() {
        let id = Some(view.id);
        let (face, behind) = if view.face.is_some() { (id, None) } else { (None, id) };
        return Origin { face, behind, ..alone };
    }
    let whole = document.whole(view.picture);
    let sided =
        |r: &super::document::Square| r.of == RectangleOf::Thing && r.size.iter().any(Option::is_some);
    let own_scale = view.rectangle.as_ref().is_some_and(sided);
    if own_scale && view.scale_from.is_none() && !pulling.has(&view.id) {
        // Its own rectangle is all the scale it needs.
        let rectangle = Some(view.id);
        return Origin { rectangle, ..alone };
    }
    let lengths = [Some(view.id), view.scale_from, whole.map(|w| w.id)]
        .into_iter()
        .flatten()
        .find(|id| pulling.has(id))
        .or_else(|| {
            document
                .views
                .iter()
                .filter(|v| v.picture == view.picture)
                .map(|v| v.id)
                .find(|id| pulling.has(id))
        });
    let rectangle = [Some(view), lengths.and_then(|l| document.view(l)), whole]
        .into_iter()
        .flatten()
        .find(|v| v.rectangle.is_some() && v.picture == view.picture)
        .map(|v| v.id);
    Origin { lengths, rectangle, ..alone }
}

/// Everything that a map is fitted to.
#[derive(Clone, Debug, PartialEq)]
struct MadeFrom {
    view: u32,
    tilt: f64,
    knowns: Vec<Known>,
    rectangle: Option<Rectangle>,
    resolution: Option<Resolution>,
    drawing_scale: Option<f64>,
    two_scales: bool,
    lens: Option<Lens>,
    camera: Option<Camera>,
    forms: Vec<Formed>,
    slanted: bool,
    on_box: Option<OnBox>,
    behind: Option<(Box<MadeFrom>, Behind)>,
}

/// The length that a person vouches for on a mark.
pub(super) fn known(m: &Mark) -> Option<Known> {
    let k = m.known?;
    Some(Known { mark: m.id, span: span(m)?, mm: k.mm, u: k.pm / COVERAGE, pulls: k.pulls })
}

impl MadeFrom {
    fn of(ground: &Ground, origin: Origin) -> MadeFrom {
        let document = ground.document;
        let whole = document.whole(origin.picture).map(|w| w.id);
        let own = origin.face.or(origin.behind).or(origin.lengths).or(origin.rectangle);
        let owner = own.or(whole).unwrap_or(0);
        let knowns = document
            .marks
            .iter()
            .zip(&ground.on)
            .filter_map(|(m, v)| {
                let (k, view) = (known(m)?, (*v)?);
                // Lengths pull on their own view; a check length checks whatever map it is measured by.
                let counts = view == owner || (!k.pulls && ground.origins.get(&view) == Some(&origin));
                counts.then_some(k)
            })
            .collect();
        let picture = document.picture(origin.picture);
        let view = document.view(owner);
        MadeFrom {
            view: owner,
            tilt: view.map_or(0.0, |v| v.bounds.tilt.to_radians()),
            knowns,
            rectangle: origin.rectangle.and_then(|id| document.view(id)).and_then(rectangle),
            resolution: picture.and_then(|p| p.resolution).map(|r| Resolution {
                picture: origin.picture,
                px_per_mm: [r[0] / 25.4, r[1] / 25.4],
                u_relative: RESOLUTION_PM / COVERAGE,
            }),
            drawing_scale: picture.and_then(|p| p.one_to),
            two_scales: view.is_some_and(|v| v.two_scales),
            lens: lenses::of(&ground.lenses, origin.picture).and_then(Lensed::lens).cloned(),
            camera: picture.map(camera),
            forms: ground.forms(owner),
            slanted: view.is_some_and(|v| v.slanted),
            on_box: view.filter(|_| WHOLE).and_then(|v| OnBox::of(document, &ground.on, v)),
            behind: view.and_then(|v| v.behind).and_then(|b| {
                let from = ground.origins.get(&b.from).filter(|o| o.behind.is_none())?;
                Some((Box::new(MadeFrom::of(ground, *from)), b))
            }),
        }
    }

    fn fit(&self) -> Result<Fit, Say> {
        if !WHOLE {
            return fit(&self.knowns());
        }
        if let (Some(on), Some(camera)) = (&self.on_box, &self.camera) {
            let knowns = BoxKnowns { boxed: &on.boxed, camera, knowns: &on.knowns };
            return fit_box(&knowns, self.lens.as_ref())?.face(on.side, self.tilt);
        }
        if let Some((base, behind)) = &self.behind {
            let side = |given: Option<(f64, f64)>| given.map(|(mm, u)| Side { mm, u });
            let (back, away) = (side(behind.back), side(behind.away));
            let back = Back { view: self.view, back, away, knowns: &self.knowns };
            let from = base.on_box.is_none().then(|| base.knowns());
            return stand_back(&base.fit()?, from.as_ref(), &back);
        }
        fit_behind(&self.knowns(), self.lens.as_ref())
    }

    fn knowns(&self) -> Knowns<'_> {
        Knowns {
            view: self.view,
            tilt: self.tilt,
            knowns: &self.knowns,
            rectangle: self.rectangle.as_ref(),
            resolution: self.resolution.as_ref(),
            drawing_scale: self.drawing_scale,
            two_scales: self.two_scales,
            camera: self.camera.as_ref(),
            forms: &self.forms,
            slanted: self.slanted,
        }
    }
}

fn factor(document: &Document, reckoned: &Reckoned) -> Option<Factor> {
    if document.about.thing == Some(crate::part::check::Thing::Crib) {
        // No sizes to build are given for cribs and cots.
        return None;
    }
    match document.build {
        Build::None => None,
        Build::Ratio(r) => Some(Factor { value: Estimate::exact(r), only: None }),
        Build::Wanted { mark, mm } => {
            // Where the wanted mark gave way to a trusted one, that one sets the size.
            let reading = reckoned.reading(document.trusted_end(mark))?;
            let real = reading.primary()?;
            if !(real.value.is_finite() && real.value > 0.0) {
                return None;
            }
            let value = Estimate::exact(mm).over(real);
            Some(Factor { value, only: (!reading.scaled).then_some(reading.map) })
        }
    }
}

impl Factor {
    /// Whether it can be applied to what `reading` tells.
    pub fn serves(&self, reading: &Reading) -> bool {
        match self.only {
            Some(map) => reading.map == map,
            None => reading.scaled,
        }
    }
}
