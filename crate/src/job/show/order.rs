//! What the press is to make, as it is ordered: every size finished, every sentence ready.

use super::rules::Measured;
use super::{Sight, askew, other_ways, say};
use crate::estimate::Estimate;
use crate::job::apply::sigma_of;
use crate::job::desk::Desk;
use crate::job::document::{Grain, Mark, OnPattern, View};
use crate::job::intent::Role;
use crate::job::parts::letter;
use crate::job::reckon::{Mapped, Reading};
use crate::job::shape::{blunt, mm_a_px};
use crate::job::sheets::{Heading, paper};
use crate::job::sizes::built;
use crate::mark::{Ends, Kind, Quantity};
use crate::part::Bought;
use crate::plane::{Finished, Homography, LeastBox, Picture, Point, Real, greatest, least_box, signed_area};
use crate::sheet::Ink;
use crate::sheet::order::{Hand, Marked, Order, Outline, Pattern, Piece, Shape, Under};
use crate::view::Lens;
use crate::words::{Arg, Say};
use std::rc::Rc;

/// Room round a pattern, mm.
const ROUND: f64 = 10.0;
/// A curve keeps to the smoothed line within this, finished mm.
const TRUE: f64 = 0.01;
/// A circle on a part no larger than this is a hole to be drilled, mm: the largest bit that most shops have, no source.
const LARGEST_BIT: f64 = 40.0;

/// What is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Make {
    /// The patterns of all parts that are wanted.
    Patterns,
    /// Sticks with every mark of a direction.
    Sticks,
    /// Squares over the parts.
    Grids,
    /// Offsets of the parts.
    Offsets,
    /// Cards that turn picture sizes into finished ones.
    Sectors,
    /// The propeller's sticks.
    Propeller,
    /// The cutting list, and the boards that it comes from.
    List,
    /// The boards alone.
    Boards,
    /// The sheet by which a printer is measured.
    Test,
}

impl Make {
    /// What goes by this name on the page.
    pub fn named(name: &str) -> Option<Make> {
        let all = [
            ("patterns", Make::Patterns),
            ("stick", Make::Sticks),
            ("grid", Make::Grids),
            ("offsets", Make::Offsets),
            ("sector", Make::Sectors),
            ("propeller", Make::Propeller),
            ("cutting-list", Make::List),
            ("boards", Make::Boards),
            ("test", Make::Test),
        ];
        all.into_iter().find(|(n, _)| *n == name).map(|(_, make)| make)
    }
}

/// The order for `make`; `date` as the person writes it.
///
/// # Errors
/// `job.no-patterns` when no part is wanted or none has a finished size; `job.no-sticks`, `job.no-sector`, `sheet.no-ratio`.
pub fn order(desk: &Desk, make: Make, date: &str) -> Result<Order, Say> {
    let sight = super::sight(desk);
    if sight.document.about.thing == Some(crate::part::check::Thing::Crib) && make != Make::Test {
        return Err(Say::new("caution.crib"));
    }
    let pieces = match make {
        Make::Patterns => patterns(&sight).into_iter().chain(of_views(&sight)).map(Piece::Pattern).collect(),
        Make::Sticks => other_ways::sticks(&sight),
        Make::Grids => other_ways::grids(&sight),
        Make::Offsets => other_ways::offsets(&sight),
        Make::Sectors => other_ways::sectors(&sight),
        Make::Propeller => super::propeller::patterns(&sight).into_iter().map(Piece::Pattern).collect(),
        Make::List => super::table::piece(&sight).into_iter().chain(super::boards::piece(&sight)).collect(),
        Make::Boards => super::boards::piece(&sight).into_iter().collect(),
        Make::Test => vec![Piece::Test],
    };
    if pieces.is_empty() {
        let why = match make {
            Make::Sticks => "job.no-sticks",
            // It takes the size on paper and a scale.
            Make::Sectors if sight.document.pictures.iter().any(|p| p.resolution.is_some()) => {
                "sheet.no-ratio"
            }
            Make::Sectors => "job.no-sector",
            _ => "job.no-patterns",
        };
        return Err(Say::new(why));
    }
    let units = sight.units;
    Ok(Order {
        job: sight.document.name.clone(),
        date: date.chars().take(60).collect(),
        revision: u32::try_from(desk.log().len()).unwrap_or(u32::MAX),
        style: units.style,
        step: units.step,
        direction: units.direction,
        paper: paper(desk.document())?,
        pieces,
        words: [sight.words.beginning("sheet."), sight.words.beginning("number.")].concat(),
    })
}

/// Every outline that can be a pattern, with its letter.
pub fn parts<'a>(sight: &'a Sight) -> impl Iterator<Item = (String, &'a Mark, &'a Reading)> + 'a {
    let outlines = sight.document.marks.iter().filter(|m| m.kind == Kind::Outline && m.points.len() >= 3);
    outlines.enumerate().filter_map(|(i, m)| Some((letter(i), &**m, sight.reckoned.reading(m.id)?)))
}

/// The wanted parts whose size is known: their patterns can be made.
pub fn ready(sight: &Sight, measured: &Measured) -> Vec<u32> {
    let wanted = |id: u32| is_wanted(sight, id, measured.choice(sight, id).and_then(|c| c.bought));
    let ready = parts(sight).filter(|(_, m, _)| wanted(m.id) && measured.outlined(m.id).is_some());
    ready.map(|(_, m, _)| m.id).collect()
}

fn is_wanted(sight: &Sight, part: u32, bought: Option<Bought>) -> bool {
    sight.document.pattern(part).wanted && bought.is_none()
}

/// The patterns of the wanted parts whose size is known.
pub fn patterns(sight: &Sight) -> Vec<Pattern> {
    let wanted = parts(sight).filter(|(_, m, _)| is_wanted(sight, m.id, sight.document.bought(m.id)));
    wanted.filter_map(|(letter, m, r)| pattern(sight, letter, m, r)).collect()
}

/// A size of a mark as built, or in life where there is no size to build.
pub fn finished(sight: &Sight, reading: &Reading, what: Quantity) -> Option<Estimate> {
    let size = reading.measures.as_ref().ok()?.get(what)?;
    let factor = sight.reckoned.factor.as_ref().filter(|f| f.serves(reading));
    Some(factor.map_or_else(|| size.clone(), |f| built(what, size, f)))
}

/// From picture px to finished mm, where the size to build or the scale is known.
pub struct Ground {
    map: Homography<Picture, Finished>,
    lens: Option<Lens>,
    /// The same without moving the part to its own corner: what lies on one view keeps its place.
    whole: Homography<Picture, Finished>,
    /// Finished : real.
    factor: f64,
}

/// A scale, turned by so much (radians, anticlockwise as seen), then moved.
fn scaled(factor: f64, turn: f64, by: [f64; 2]) -> Homography<Real, Finished> {
    let (c, s) = (factor * libm::cos(turn), factor * libm::sin(turn));
    Homography::from_rows([[c, s, -by[0]], [-s, c, -by[1]], [0.0, 0.0, 1.0]])
}

/// Finished : real of what is told by a reading.
fn factor(sight: &Sight, reading: &Reading) -> Option<f64> {
    match &sight.reckoned.factor {
        Some(f) if f.serves(reading) => Some(f.value.value),
        None if reading.scaled => Some(1.0),
        _ => None,
    }
}

impl Ground {
    pub fn of(sight: &Sight, mark: &Mark, reading: &Reading) -> Option<Ground> {
        let to_real = sight.reckoned.map(reading.view)?.homography();
        Ground::under(sight, reading, &mark.line(), askew::of_part(sight, mark, reading, to_real))
    }

    /// With its corner at that of what runs along `line`, turned by so much (radians).
    pub fn under(sight: &Sight, reading: &Reading, line: &[Point<Picture>], turn: f64) -> Option<Ground> {
        let factor = factor(sight, reading)?;
        let seen = sight.reckoned.map(reading.view)?;
        let to_real = seen.homography();
        let laid = |turn: f64, by: [f64; 2]| to_real.then(&scaled(factor, turn, by));
        let lens = seen.lens().cloned();
        let unmoved = Ground { map: laid(turn, [0.0; 2]), whole: laid(0.0, [0.0; 2]), factor, lens };
        let at = line.iter().map(|p| unmoved.own(*p)).collect::<Option<Vec<_>>>()?;
        let corner = at.iter().fold([f64::MAX; 2], |c, p| [c[0].min(p.x), c[1].min(p.y)]);
        Some(Ground { map: laid(turn, corner), ..unmoved })
    }

    /// Where a place of the picture lies, in finished mm, the same for all that lies on one view.
    pub fn whole(&self, p: Point<Picture>) -> Option<Point<Finished>> {
        self.whole.apply(self.straight(p)?)
    }

    /// The same on the part's own pattern.
    fn own(&self, p: Point<Picture>) -> Option<Point<Finished>> {
        self.map.apply(self.straight(p)?)
    }

    /// Finished : real.
    pub fn factor(&self) -> f64 {
        self.factor
    }

    /// Without the bend of the lens.
    fn straight(&self, p: Point<Picture>) -> Option<Point<Picture>> {
        self.lens.as_ref().map_or(Some(p), |l| l.straighten(p))
    }

    fn points<'a>(
        &self,
        points: impl Iterator<Item = &'a crate::job::document::Placing>,
    ) -> Option<Vec<Point<Finished>>> {
        points.map(|p| self.own(p.at)).collect()
    }
}

fn pattern(sight: &Sight, letter: String, mark: &Mark, reading: &Reading) -> Option<Pattern> {
    let ground = Ground::of(sight, mark, reading)?;
    let choice = sight.document.pattern(mark.id);
    let ring = mark.line().iter().map(|p| ground.own(*p)).collect::<Option<Vec<_>>>()?;
    let high = ring.iter().fold([0.0_f64; 2], |c, p| [c[0].max(p.x), c[1].max(p.y)]);
    let picture = sight.document.picture(mark.picture)?;
    Some(Pattern {
        letter,
        name: part_name(sight, mark, reading),
        quantity: choice.quantity,
        hand: choice.hand,
        outline: Some(outline(sight, mark, reading, &ground, ring.clone())?),
        bounds: [0.0, 0.0, high[0], high[1]],
        margin: ROUND,
        marks: marked(sight, others(sight, mark), reading.view, &ground, high),
        axis: mark.centre.and_then(|[a, b]| Some([ground.own(a)?, ground.own(b)?])),
        grain: grain(&ring, choice.grain),
        front: choice.front.map(Heading::angle),
        up: stands(sight, reading.view).then(|| Heading::Up.angle()),
        // Pixels are turned square-on, not straightened: under a straightened outline they would lie beside it.
        picture: choice.under.filter(|_| ground.lens.is_none()).map(|ink| Under {
            picture: picture.id,
            size: [picture.width, picture.height],
            map: ground.map,
            ink,
        }),
        lines: lines(sight, mark, reading),
    })
}

/// The views that are made whole, with the picture under them.
fn of_views<'a>(sight: &'a Sight) -> impl Iterator<Item = Pattern> + 'a {
    sight.document.sheets.views.iter().filter_map(|id| of_view(sight, sight.document.view(*id)?))
}

/// Whether some view that is to be made whole can be.
pub fn views_ready(sight: &Sight) -> bool {
    let views = sight.document.sheets.views.iter().filter_map(|id| sight.document.view(*id));
    views.map(|view| under_view(sight, view)).any(|ground| ground.is_some())
}

/// The ground of a whole view, with its corner at that of the view's box.
fn under_view(sight: &Sight, view: &View) -> Option<Ground> {
    let reading = told_on(sight, view.id)?;
    let turn = askew::of_view(view, sight.reckoned.map(reading.view)?.homography());
    Ground::under(sight, reading, &view.bounds.corners(), turn)
}

/// Something on a view that tells how large it is built.
pub fn told_on<'a>(sight: &'a Sight, view: u32) -> Option<&'a Reading> {
    sight.reckoned.marks.iter().map(|r| &**r).find(|r| r.view == view && factor(sight, r).is_some())
}

fn of_view(sight: &Sight, view: &View) -> Option<Pattern> {
    let ground = under_view(sight, view)?;
    let high = view.bounds.corners().iter().try_fold([0.0_f64; 2], |c, p| {
        let p = ground.own(*p)?;
        Some([c[0].max(p.x), c[1].max(p.y)])
    })?;
    let picture = sight.document.picture(view.picture)?;
    let here = sight.document.marks.iter().filter(|m| m.picture == view.picture);
    let mut lines = view_lines(sight, view);
    lines.extend(built_at(sight));
    Some(Pattern {
        letter: String::new(),
        name: sight.view_name(view),
        quantity: 1,
        hand: Hand::One,
        outline: None,
        bounds: [0.0, 0.0, high[0], high[1]],
        margin: ROUND,
        marks: marked(sight, here, view.id, &ground, high),
        axis: None,
        grain: None,
        front: None,
        up: stands(sight, view.id).then(|| Heading::Up.angle()),
        picture: ground.lens.is_none().then_some(Under {
            picture: picture.id,
            size: [picture.width, picture.height],
            map: ground.map,
            ink: Ink::Grey,
        }),
        lines,
    })
}

/// As it is shown: its curves where it has been smoothed, else the points that were found or touched.
fn outline(
    sight: &Sight,
    mark: &Mark,
    reading: &Reading,
    ground: &Ground,
    ring: Vec<Point<Finished>>,
) -> Option<Outline> {
    // A curve seen through a lens that bends is told by what it runs through.
    if let (Some(smooth), None) = (&mark.smooth, &ground.lens) {
        let rings = smooth.rings.iter().map(|c| c.through(&ground.map, TRUE)).collect::<Option<Vec<_>>>()?;
        return Some(Outline { rings, ..Outline::default() });
    }
    let holes = mark.holes.iter().map(|h| ground.points(h.iter()));
    let points = [Some(ring)].into_iter().chain(holes).collect::<Option<Vec<_>>>()?;
    let px = mm_a_px(sight.reckoned, reading, mark.points.first()?.at)?;
    Some(Outline { rings: Vec::new(), points, sigma: sigma_of(mark) * px, blunt: blunt(mark) * px })
}

/// The part's name, or what its view is called.
pub fn part_name(sight: &Sight, mark: &Mark, reading: &Reading) -> String {
    let view = sight.document.view(reading.view).filter(|v| !v.whole);
    match view {
        Some(v) if mark.name.is_empty() => sight.view_name(v),
        _ => sight.name_of(mark),
    }
}

/// Whether the view shows the thing standing: from above there is no up.
fn stands(sight: &Sight, view: u32) -> bool {
    sight.document.view(view).is_some_and(|v| matches!(v.role, Role::Front | Role::Side))
}

/// A part that fills this share of the least box round it is a board. Any other is told by its greatest length and the width
/// square to that: the least box round a cross or a crescent lies aslant, and one that is square to the view leans as far as the
/// scan does. Ours, no source.
const BOARD: f64 = 0.8;

/// The box that a part is cut from.
fn box_of(ring: &[Point<Finished>]) -> Option<LeastBox> {
    let least = least_box(ring)?;
    let [long, short] = least.sides;
    if signed_area(ring).abs() >= BOARD * long * short {
        return Some(least);
    }
    let most = greatest(ring)?;
    let way = *ring.get(most.ends[1])? - *ring.get(most.ends[0])?;
    Some(LeastBox { sides: [most.length, most.width], along: libm::atan2(way.y, way.x) })
}

/// Along the longer side of the box it is cut from, or across.
fn grain(ring: &[Point<Finished>], grain: Grain) -> Option<f64> {
    let along = box_of(ring)?.along;
    match grain {
        Grain::Along => Some(along),
        Grain::Across => Some(along + std::f64::consts::FRAC_PI_2),
        Grain::None => None,
    }
}

/// A part's longer side and its shorter one, as built, mm, with their ±: the sides of the box it is cut
/// from. They are as good as its greatest length and width.
pub fn sides(sight: &Sight, mark: &Mark, reading: &Reading) -> Option<[[f64; 2]; 2]> {
    let ground = Ground::of(sight, mark, reading)?;
    let ring = mark.line().iter().map(|p| ground.own(*p)).collect::<Option<Vec<_>>>()?;
    let [long, short] = box_of(&ring)?.sides;
    let pm = |what| finished(sight, reading, what).map_or(0.0, |e| e.half_width());
    let pm = pm(Quantity::GreatestLength).max(pm(Quantity::Width));
    Some([[long, pm], [short, pm]])
}

/// What is marked on a part's picture besides the part.
fn others<'a>(sight: &'a Sight, part: &'a Mark) -> impl Iterator<Item = &'a Rc<Mark>> {
    sight.document.marks.iter().filter(|m| m.id != part.id && m.picture == part.picture)
}

/// Those marks that lie on a pattern of a view.
fn marked<'a>(
    sight: &Sight,
    others: impl Iterator<Item = &'a Rc<Mark>>,
    view: u32,
    ground: &Ground,
    high: [f64; 2],
) -> Vec<Marked> {
    let inside = |p: &Point<Finished>| p.x >= 0.0 && p.y >= 0.0 && p.x <= high[0] && p.y <= high[1];
    let here = others.filter(|m| sight.reckoned.reading(m.id).is_some_and(|r| r.view == view));
    here.filter_map(|m| {
        let points = ground.points(m.points.iter())?;
        if points.is_empty() || !points.iter().all(inside) {
            return None;
        }
        let shape = shape(sight, m, points, ground)?;
        Some(Marked { number: m.number, text: text(sight, m), shape })
    })
    .collect()
}

fn shape(sight: &Sight, mark: &Mark, points: Vec<Point<Finished>>, ground: &Ground) -> Option<Shape> {
    let measures = sight.reckoned.reading(mark.id)?.measures.as_ref().ok()?;
    match (mark.kind, mark.ends, points.as_slice()) {
        (Kind::Point, _, [p]) => Some(Shape::Point(*p)),
        (Kind::Length, Ends::Between, [a, b]) => match mark.on_pattern {
            Some(OnPattern::Lands { thick, .. }) => Some(Shape::Lands { line: [*a, *b], thick }),
            // A bevel runs along its edge: how long that is isn't asked.
            Some(OnPattern::Bevel { .. }) => Some(Shape::Lines { points: vec![*a, *b], closed: false }),
            None => Some(Shape::Length([*a, *b])),
        },
        (Kind::Circle, ..) => {
            // A hole is as large as its bit, a wheel as it is sold.
            let bought = sight.document.bought(mark.id).map(|b| b.across / 2.0);
            let radius = bought.unwrap_or(measures.get(Quantity::Radius)?.value * ground.factor);
            let drilled = 2.0 * radius <= LARGEST_BIT;
            Some(Shape::Round { centre: ground.own(measures.place?)?, radius, drilled })
        }
        (Kind::Path, ..) => Some(Shape::Lines { points, closed: false }),
        (Kind::Outline, ..) => Some(Shape::Lines { points, closed: true }),
        _ => None,
    }
}

/// A mark's name and its size.
fn text(sight: &Sight, mark: &Mark) -> String {
    if let Some(stands) = say::stands_for(sight, mark) {
        return [mark.name.as_str(), &stands].join(" ").trim().to_owned();
    }
    if let Some(bought) = sight.document.bought(mark.id) {
        return super::bought::named(sight, &bought);
    }
    let size = sight.told(mark.id).filter(|t| !t.what.is_place()).and_then(|t| {
        let shown = t.shown()?;
        Some(say::size(sight, t.what, shown, t.rounded).figure.with_unit())
    });
    let name = (!mark.name.is_empty()).then(|| mark.name.clone());
    name.into_iter().chain(size).collect::<Vec<_>>().join(" ")
}

/// Where the sizes come from, and how good they are.
fn lines(sight: &Sight, mark: &Mark, reading: &Reading) -> Vec<String> {
    let mut out = Vec::new();
    if let Some([[l, pm], [w, _]]) = sides(sight, mark, reading) {
        let pm = sight.plus_minus(pm).with_unit();
        let size = Say::new("pattern.size").length("length", l).length("width", w).text("pm", pm);
        out.push(sight.say(&size));
    }
    out.extend(sight.document.view(reading.view).into_iter().flat_map(|view| view_lines(sight, view)));
    out.extend(built_at(sight));
    out
}

/// Which view of which picture, and the true lengths that its scale rests on.
fn view_lines(sight: &Sight, view: &View) -> Vec<String> {
    let picture = sight.document.picture(view.picture).map(|p| p.name.clone()).unwrap_or_default();
    let say = Say::new("pattern.view").text("view", sight.view_name(view)).text("picture", picture);
    let told = sight.reckoned.mapped(view.id).into_iter().flat_map(|mapped| true_lengths(sight, mapped));
    [sight.say(&say)].into_iter().chain(told).collect()
}

/// The true lengths that the view's scale rests on.
fn true_lengths(sight: &Sight, mapped: &Mapped) -> Vec<String> {
    let Ok(fit) = &mapped.fit else { return Vec::new() };
    let pulling = fit.checks.iter().filter(|c| c.pulls).take(3);
    pulling
        .filter_map(|c| {
            let known = sight.document.mark(c.mark)?.known?;
            Some(
                sight.say(
                    &Say::new("pattern.true-length")
                        .text("mark", sight.mark_named(c.mark))
                        .length("length", known.mm)
                        .with("pm", Arg::PlusMinus(known.pm)),
                ),
            )
        })
        .collect()
}

/// The size to build.
pub fn built_at(sight: &Sight) -> Option<String> {
    use crate::job::document::Build;
    match sight.document.build {
        Build::Wanted { mark, mm } => Some(
            sight.say(&Say::new("pattern.built").text("mark", sight.mark_named(mark)).length("length", mm)),
        ),
        Build::Ratio(r) => {
            let (a, b) = if r >= 1.0 { (r, 1.0) } else { (1.0, 1.0 / r) };
            let of = |v: f64| Arg::Number(v, if (v - libm::round(v)).abs() < 1e-9 { 0 } else { 3 });
            Some(sight.say(&Say::new("pattern.ratio").with("a", of(a)).with("b", of(b))))
        }
        Build::None => Some(sight.word("pattern.life-size")),
    }
}
