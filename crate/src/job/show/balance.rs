//! Whether a whirligig or a vane faces the wind and hangs level: what is said of it, and what is drawn over the picture.

use super::cutting::Cut;
use super::order::{Ground, finished, parts};
use super::{Sight, say};
use crate::estimate::{Estimate, Source};
use crate::job::document::{Mark, VaneChoice};
use crate::job::intent::{About, Intent, StepName};
use crate::job::reckon::Reading;
use crate::job::scene::{Drawn, Key, Line, Section, Traced};
use crate::mark::{Kind, Quantity};
use crate::part::propeller::{CLEAR, Propeller};
use crate::part::region::{Ring, region};
use crate::part::vane::{BEHIND, FOREMOST, Faces, Hangs, Load, Piece, Vane, WOOD_VARIES, weight};
use crate::plane::{Point, Real};
use crate::words::{Arg, Say};

/// Grams and ounces in a kilogram.
const GRAMS: f64 = 1_000.0;
const OUNCES: f64 = 16.0 / 0.453_592_37;
/// A thing weighed on a kitchen scale is known to so much of itself (standard uncertainty): ours, no source.
const WEIGHED: f64 = 0.01;
/// What wood of one board differs by is a spread of the part whose stock was chosen, after all others of a mark.
const BOARD: u16 = 0x5000;

/// A vane as it is reckoned, with what it is told by.
pub struct Weighed {
    vane: Vane,
    /// The letters of its pieces, in order.
    letters: Vec<String>,
    /// All its shapes, finished mm.
    shapes: Vec<Vec<Ring>>,
    /// Where its side's centre is, and where it balances, down, mm.
    down: [f64; 2],
    pivot: Mark,
    view: u32,
    factor: f64,
    /// Parts whose weight isn't known; parts whose place isn't.
    unknown: [Vec<String>; 2],
}

/// All single places whose size is known.
pub fn points<'a>(sight: &'a Sight) -> impl Iterator<Item = &'a Mark> + 'a {
    let points = sight.document.marks.iter().filter(|m| m.kind == Kind::Point && !m.points.is_empty());
    points.map(|m| &**m)
}

/// Where a point lies, along and down, as built, mm.
fn place(sight: &Sight, mark: u32) -> Option<[Estimate; 2]> {
    let reading = sight.reckoned.reading(mark)?;
    Some([finished(sight, reading, Quantity::PlaceAcross)?, finished(sight, reading, Quantity::PlaceDown)?])
}

/// An outline's rings, finished mm, as they lie on their view.
fn rings(sight: &Sight, mark: &Mark, reading: &Reading) -> Option<Vec<Ring>> {
    let ground = Ground::of(sight, mark, reading)?;
    let ring = |line: &Vec<_>| line.iter().map(|p| ground.whole(*p).map(|p| [p.x, p.y])).collect();
    mark.rings().iter().map(ring).collect()
}

/// The area of an outline and where its centre is along the body.
fn seen(sight: &Sight, reading: &Reading, rings: &[Ring]) -> Option<[Estimate; 2]> {
    let area = finished(sight, reading, Quantity::Area)?;
    if let Some(at) = finished(sight, reading, Quantity::BalanceAcross) {
        return Some([area, at]);
    }
    // With holes in it: its ± is taken to be that of its length, which is more.
    let at = region(&[rings.to_vec()])?.centre[0];
    let length = finished(sight, reading, Quantity::GreatestLength)?;
    Some([area, Estimate::combine(at, &[(1.0, &length)])])
}

/// What a part weighs, kg: as it was weighed, or as wood.
fn kilograms(sight: &Sight, cut: &Cut, area: &Estimate) -> Option<Estimate> {
    if let Some(kg) = sight.document.vane.weight(cut.id) {
        return Some(Estimate::of(kg, Source::Spread(cut.id, BOARD + 1), WEIGHED * kg));
    }
    let (of, made) = cut.made?;
    let thickness = cut.blank.as_ref().ok()?.thickness().ok()?;
    let density = made.species.filter(|_| !made.goods.is_sheet())?.density(super::buy::DRY).ok()?;
    let varies = Estimate::of(1.0, Source::Spread(of, BOARD), WOOD_VARIES);
    Some(weight(area, thickness, density, f64::from(cut.quantity), &varies))
}

/// The vane, once it is said where it turns.
pub fn weighed(sight: &Sight, cuts: &[Cut]) -> Option<Weighed> {
    let choice = &sight.document.vane;
    let pivot = sight.document.pivot()?;
    let at = place(sight, pivot)?;
    let view = sight.reckoned.reading(pivot)?.view;
    let mut out = Weighed {
        vane: Vane {
            pieces: Vec::new(),
            more: None,
            once: None,
            loads: Vec::new(),
            pivot: at[0].clone(),
            ends: [f64::INFINITY, f64::NEG_INFINITY],
            front_first: true,
        },
        letters: Vec::new(),
        shapes: Vec::new(),
        down: [at[1].value; 2],
        pivot: sight.document.mark(pivot)?.clone(),
        view,
        factor: 1.0,
        unknown: [Vec::new(), Vec::new()],
    };
    // kg·mm and kg of what weighs, down.
    let mut moment = [0.0; 2];
    for cut in cuts {
        out.take(sight, cut, &mut moment);
    }
    for (mark, kg) in &choice.weights {
        let point = sight.document.mark(*mark).is_some_and(|m| m.kind == Kind::Point);
        if let Some([x, y]) = point.then(|| place(sight, *mark)).flatten() {
            let kg = Estimate::of(*kg, Source::Spread(*mark, BOARD + 1), WEIGHED * kg);
            moment = [moment[0] + kg.value * y.value, moment[1] + kg.value];
            out.vane.loads.push(Load { at: x, kg });
        }
    }
    if let Some(whole) = region(&out.shapes) {
        out.vane.once = Some([whole.centre[0], whole.area]);
        out.down[0] = whole.centre[1];
    }
    if moment[1] > 0.0 {
        out.down[1] = moment[0] / moment[1];
    }
    let hub = choice.hub.and_then(|m| place(sight, m)).map(|[x, _]| x);
    out.vane.front_first = match (choice.front_right, &hub) {
        (Some(right), _) => !right,
        (None, Some(hub)) => hub.value < at[0].value,
        // The pivot is nearer to the front.
        (None, None) => at[0].value - out.vane.ends[0] <= out.vane.ends[1] - at[0].value,
    };
    let area = choice.propeller.map(|p| Estimate::exact(p.side_area()));
    out.vane.more = area.zip(hub).map(|(area, at)| [area, at]);
    Some(out)
}

impl Weighed {
    /// Takes in a part: seen from the side, or sitting at a point.
    fn take(&mut self, sight: &Sight, cut: &Cut, moment: &mut [f64; 2]) {
        let Some((mark, reading)) = cut.seen else { return };
        let rings = rings(sight, mark, reading);
        let seen = rings.as_ref().and_then(|r| seen(sight, reading, r));
        let (Some(rings), Some([area, centre])) = (rings, seen) else { return };
        let kg = kilograms(sight, cut, &area);
        if kg.is_none() {
            self.unknown[0].push(cut.letter.clone());
        }
        if reading.view != self.view {
            let seat = sight.document.vane.seat(cut.id).and_then(|p| place(sight, p));
            match (seat, kg) {
                (Some([at, y]), Some(kg)) => {
                    *moment = [moment[0] + kg.value * y.value, moment[1] + kg.value];
                    self.vane.loads.push(Load { at, kg });
                }
                (None, _) => self.unknown[1].push(cut.letter.clone()),
                (Some(_), None) => {}
            }
            return;
        }
        if let (Some(kg), Some(own)) = (&kg, region(std::slice::from_ref(&rings))) {
            *moment = [moment[0] + kg.value * own.centre[1], moment[1] + kg.value];
        }
        for [x, _] in rings.iter().flatten() {
            self.vane.ends = [self.vane.ends[0].min(*x), self.vane.ends[1].max(*x)];
        }
        self.factor = Ground::of(sight, mark, reading).map_or(1.0, |g| g.factor());
        self.letters.push(cut.letter.clone());
        self.vane.pieces.push(Piece { area, centre, kg });
        self.shapes.push(rings);
    }

    /// A place of the side, finished mm, on the picture.
    fn on_picture(&self, sight: &Sight, x: f64, y: f64) -> Option<[f64; 2]> {
        let map = sight.reckoned.map(self.view)?;
        let at = map.unplace(Point::<Real>::new(x / self.factor, y / self.factor))?;
        Some([at.x, at.y])
    }
}

/// What is said of it.
pub fn section(sight: &Sight, cuts: &[Cut]) -> Option<Section> {
    let w = weighed(sight, cuts)?;
    let mut lines = Vec::new();
    match w.vane.faces() {
        Some(f) => lines.extend(faces(sight, &w, &f)),
        None => lines.push(sight.word("vane.no-side")),
    }
    match w.vane.hangs() {
        Some(h) => lines.extend(hangs(sight, &h)),
        None => lines.push(sight.word("vane.no-weight")),
    }
    for (letters, key) in w.unknown.iter().zip(["vane.unweighed", "vane.elsewhere"]) {
        if !letters.is_empty() {
            lines.push(sight.say(&Say::new(key).text("letters", letters.join(", "))));
        }
    }
    lines.extend(super::propeller::lines(sight, w.vane.length()));
    lines.extend(clears(sight, &w));
    lines.push(sight.word("vane.rule"));
    let mut keys = vec![say::key(sight, "vane", Intent::Ask { about: About::Vane })];
    if sight.document.vane.propeller.is_some() {
        keys.push(say::page_key(sight, "propeller-pattern"));
    }
    // Places, weights and the propeller are all said in one place.
    let traced = |text: String| Traced::to(text, Intent::Ask { about: About::Vane });
    let lines = lines.into_iter().map(traced).collect();
    Some(Section { id: "vane".to_owned(), title: sight.word("vane.title"), lines, keys })
}

fn told(sight: &Sight, mm: f64) -> String {
    super::cutting::figure(sight, mm.abs())
}

fn half(sight: &Sight, e: &Estimate) -> String {
    sight.plus_minus(e.half_width()).with_unit()
}

fn percent(part: f64) -> Arg {
    Arg::Number(100.0 * part, 0)
}

fn faces(sight: &Sight, w: &Weighed, f: &Faces) -> Vec<String> {
    let ahead = if f.lever.value < 0.0 { "vane.centre-ahead" } else { "vane.centre-behind" };
    let area = say::size(sight, Quantity::Area, &f.area, None);
    let centre = Say::new(ahead).text("area", [area.figure.with_unit(), area.pm].join(" "));
    let centre = centre.text("lever", told(sight, f.lever.value)).text("pm", half(sight, &f.lever));
    let mut lines = vec![sight.say(&centre.with("share", percent(f.share.value.abs())))];
    let off = f.share.value - BEHIND;
    let key = if off.abs() <= f.share.half_width() {
        "vane.faces-maybe"
    } else if off > 0.0 {
        "vane.faces"
    } else {
        "vane.faces-not"
    };
    lines.push(sight.say(&Say::new(key).with("rule", percent(BEHIND))));
    if let Some(mm) = f.forward {
        let pm = half(sight, &f.lever);
        lines.push(sight.say(&Say::new("vane.forward").text("by", told(sight, mm)).text("pm", pm)));
    }
    let letter = f.larger.and_then(|(i, mm2)| Some((w.letters.get(i)?, mm2, &w.vane.pieces.get(i)?.area)));
    if let Some((letter, mm2, area)) = letter {
        let more = Say::new("vane.larger").text("letter", letter.clone());
        lines.push(sight.say(&more.with("percent", percent(mm2 / area.value))));
    }
    let place = if f.pivot.value <= FOREMOST { "vane.pivot" } else { "vane.pivot-far" };
    lines.push(sight.say(&Say::new(place).with("share", percent(f.pivot.value))));
    lines
}

/// A weight as the person reads it.
fn heavy(sight: &Sight, kg: f64) -> String {
    let (key, of) =
        if sight.units.style.is_metric() { ("vane.grams", GRAMS) } else { ("vane.ounces", OUNCES) };
    let value = kg * of;
    let digits = if value < 10.0 { 1 } else { 0 };
    sight.say(&Say::new(key).with("weight", Arg::Number(value, digits)))
}

fn hangs(sight: &Sight, h: &Hangs) -> Vec<String> {
    let behind = if h.behind.value < 0.0 { "vane.hangs-ahead" } else { "vane.hangs-behind" };
    let say = Say::new(behind)
        .text("weight", heavy(sight, h.kg.value))
        .text("wpm", heavy(sight, h.kg.half_width()));
    let say = say.text("off", told(sight, h.behind.value)).text("pm", half(sight, &h.behind));
    let mut lines = vec![sight.say(&say)];
    if h.behind.value.abs() <= h.behind.half_width() {
        lines.push(sight.word("vane.level"));
    } else {
        let key = if h.behind.value > 0.0 { "vane.add-nose" } else { "vane.add-tail" };
        let add = Say::new(key).text("add", heavy(sight, h.add)).text("off", told(sight, h.behind.value));
        lines.push(sight.say(&add.text("pm", half(sight, &h.behind))));
    }
    lines
}

/// How near the propeller's tips come to what is seen of the body, where there is one.
fn clears(sight: &Sight, w: &Weighed) -> Vec<String> {
    let choice = &sight.document.vane;
    let hub = choice.hub.and_then(|m| place(sight, m));
    let Some((propeller, [x, y])) = choice.propeller.zip(hub) else { return Vec::new() };
    // In front of its own shaft the body may stand as near as it likes: only what the blades sweep past counts.
    let reach = propeller.across / 2.0 + CLEAR;
    let front = if w.vane.front_first { w.vane.ends[0] } else { w.vane.ends[1] };
    let past = (x.value - front).abs();
    let mut lines = Vec::new();
    if let Some(near) = nearest(&w.shapes, x.value, y.value, CLEAR) {
        let clear = near - propeller.across / 2.0;
        let pm = half(sight, &x);
        let key = if near < reach { "vane.clear-not" } else { "vane.clear" };
        let say = Say::new(key).text("clear", told(sight, clear.max(0.0))).text("pm", pm);
        lines.push(sight.say(&say.text("most", told(sight, Propeller::largest(near)))));
    } else if past > 0.0 {
        lines.push(sight.word("vane.clear-all"));
    }
    lines
}

/// How far from the shaft, up or down, the nearest place lies that a propeller turning at `x` may touch, within `beside` of its
/// plane: of what crosses that plane away from the shaft.
fn nearest(shapes: &[Vec<Ring>], x: f64, y: f64, beside: f64) -> Option<f64> {
    let off = |ring: &Ring| {
        let heights = heights(ring, x, beside);
        // What lies on both sides of the shaft holds it: that is no obstacle.
        let above = heights.iter().any(|h| *h <= y);
        let below = heights.iter().any(|h| *h >= y);
        let near = heights.iter().map(|h| (h - y).abs()).fold(f64::INFINITY, f64::min);
        (near.is_finite() && above != below).then_some(near)
    };
    shapes.iter().flatten().filter_map(off).min_by(f64::total_cmp)
}

/// How high a ring's sides run where they come within `beside` of the plane at `x`: both ends of what lies there.
fn heights(ring: &Ring, x: f64, beside: f64) -> Vec<f64> {
    let mut out = Vec::new();
    let ends = ring.iter().skip(1).chain(ring.first());
    for (a, b) in ring.iter().zip(ends) {
        let run = b[0] - a[0];
        // From where to where along the side, 0 to 1.
        let [from, to] = if run.abs() < 1e-9 {
            if (a[0] - x).abs() <= beside { [0.0, 1.0] } else { continue }
        } else {
            let [s, t] = [(x - beside - a[0]) / run, (x + beside - a[0]) / run];
            [s.min(t).max(0.0), s.max(t).min(1.0)]
        };
        if from <= to {
            out.extend([from, to].map(|t| a[1] + t * (b[1] - a[1])));
        }
    }
    out
}

/// The pivot, the centre of the side's area and the balance point over the picture.
pub fn drawn(sight: &Sight) -> Vec<Drawn> {
    if !matches!(sight.hand.step, StepName::Build | StepName::Lists) || sight.document.pivot().is_none() {
        return Vec::new();
    }
    let cuts = super::cutting::cuts(sight);
    let Some(w) = weighed(sight, &cuts).filter(|w| w.vane.length() > 0.0) else { return Vec::new() };
    let pivot = w.vane.pivot.value;
    let (low, high) = w
        .shapes
        .iter()
        .flatten()
        .flatten()
        .fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[1]), h.max(p[1])));
    let over = 0.1 * w.vane.length();
    let one = |key: &str, line: Line, x: f64, y: f64, tall: bool| {
        let ends = if tall { vec![[x, low - over], [x, high + over]] } else { vec![[pivot, y], [x, y]] };
        let path: Option<Vec<[f64; 2]>> = ends.iter().map(|[x, y]| w.on_picture(sight, *x, *y)).collect();
        let at = w.on_picture(sight, x, y)?;
        Some(Drawn { picture: w.pivot.picture, line, paths: vec![path?], at, label: sight.word(key) })
    };
    let down =
        w.pivot.points.first().and_then(|_| place(sight, w.pivot.id)).map_or(w.down[0], |[_, y]| y.value);
    let pivot = one("vane.drawn-pivot", Line::Chain, pivot, down, true);
    let centre =
        w.vane.faces().and_then(|f| one("vane.drawn-centre", Line::Dot, f.centre.value, w.down[0], false));
    let weight =
        w.vane.hangs().and_then(|h| one("vane.drawn-balance", Line::Dash, h.centre.value, w.down[1], false));
    [pivot, centre, weight].into_iter().flatten().collect()
}

/// Which point is what, to be chosen.
pub fn choices(sight: &Sight) -> Vec<Key> {
    let now = &sight.document.vane;
    let set = |id: String, label: Say, vane: VaneChoice| {
        let key = say::key(sight, &id, Intent::SetVane { vane });
        key.labelled(sight.say(&label))
    };
    let named = |key: &'static str, m: &Mark| Say::new(key).text("mark", sight.mark_named(m.id));
    let toggled = |old: Option<u32>, m: u32| (old != Some(m)).then_some(m);
    let mut keys = Vec::new();
    for m in points(sight) {
        let vane = VaneChoice { pivot: toggled(now.pivot, m.id), ..now.clone() };
        let key = set(format!("vane-pivot-{}", m.id), named("vane.pivot-is", m), vane);
        keys.push(key.pressed(now.pivot == Some(m.id)));
    }
    if now.pivot.is_none() {
        return keys;
    }
    for m in points(sight).filter(|m| now.pivot != Some(m.id)) {
        let vane = VaneChoice { hub: toggled(now.hub, m.id), ..now.clone() };
        let key = set(format!("vane-hub-{}", m.id), named("vane.hub-is", m), vane);
        keys.push(key.pressed(now.hub == Some(m.id)));
    }
    for (id, right) in [("vane-front-left", false), ("vane-front-right", true)] {
        let on = now.front_right == Some(right);
        let vane = VaneChoice { front_right: (!on).then_some(right), ..now.clone() };
        keys.push(say::key(sight, id, Intent::SetVane { vane }).pressed(on));
    }
    let outlines = parts(sight).map(|(_, m, _)| m);
    for m in points(sight).chain(outlines).filter(|m| now.pivot != Some(m.id)) {
        let say = match now.weight(m.id) {
            Some(kg) => named("vane.weighs", m).text("weight", heavy(sight, kg)),
            None => named("vane.weigh", m),
        };
        let key = say::key(sight, "vane-weight", Intent::AskPart { mark: m.id, about: About::Weight });
        let mut key = key.labelled(sight.say(&say)).pressed(now.weight(m.id).is_some());
        key.id = format!("vane-weight-{}", m.id);
        keys.push(key);
    }
    keys.extend(seats(sight, now));
    let cuts = super::cutting::cuts(sight);
    let body = weighed(sight, &cuts).map_or(0.0, |w| w.vane.length());
    keys.extend(super::propeller::choices(sight, body));
    keys
}

/// Where parts sit that are seen on another view: each touch takes the next point, and after the last none.
fn seats(sight: &Sight, now: &VaneChoice) -> Vec<Key> {
    let view = now.pivot.and_then(|m| sight.reckoned.reading(m)).map(|r| r.view);
    let all: Vec<u32> = points(sight).map(|m| m.id).collect();
    let elsewhere = parts(sight).filter(|(_, _, r)| Some(r.view) != view);
    let keys = elsewhere.map(|(letter, m, _)| {
        let seat = now.seat(m.id);
        let next = match seat.and_then(|s| all.iter().position(|p| *p == s)) {
            Some(i) => all.get(i + 1),
            None => all.first(),
        };
        let key = if seat.is_some() { "vane.sits" } else { "vane.sits-nowhere" };
        let say = Say::new(key).text("letter", letter).text("name", sight.name_of(m));
        let say = say.text("mark", seat.map_or_else(String::new, |s| sight.mark_named(s)));
        let vane = now.clone().seated(m.id, next.copied());
        let id = format!("vane-sits-{}", m.id);
        say::key(sight, &id, Intent::SetVane { vane }).labelled(sight.say(&say)).pressed(seat.is_some())
    });
    keys.collect()
}
