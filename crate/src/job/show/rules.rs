//! Sizes that follow from other parts: what they come to, how they are told, what can be added to them.

use super::order::sides;
use super::shelf::Shelf;
use super::{Sight, say};
use crate::job::document::{Grain, Mark};
use crate::job::intent::{About, At, Intent};
use crate::job::parts::{PartChoice, letter};
use crate::job::scene::Key;
use crate::mark::Kind;
use crate::order::{Table, places_of};
use crate::part::rule::{DEEPEST, Own, Side, Term, come_to};
use crate::plane::{bounds, contains, from_segment};
use crate::quantity::{Step, round};
use crate::words::{Arg, Say};
use std::rc::Rc;

/// Length and width of a part with their half-widths, mm.
pub type Sides = [[f64; 2]; 2];

/// What every part measures, found once: its length along the grain and its width; and where what was chosen about it stands.
#[derive(Clone)]
pub struct Measured(Rc<Found>);

struct Found {
    sides: Table<u32, Option<Sides>>,
    chosen: Table<u32, usize>,
}

impl Measured {
    /// Of all outlined parts.
    pub fn of(sight: &Sight) -> Measured {
        sight.measured.get_or_init(|| Measured::with(sight, &mut Shelf::default())).clone()
    }

    /// The same, from what was found last time where that holds.
    pub fn with(sight: &Sight, shelf: &mut Shelf) -> Measured {
        let mut all = Table::default();
        for reading in &sight.reckoned.marks {
            let mark = &reading.made_from;
            if mark.kind != Kind::Outline || mark.points.len() < 3 {
                continue;
            }
            let across = sight.document.pattern(mark.id).grain == Grain::Across;
            let size = shelf.sides(reading, || sides(sight, mark, reading));
            all.insert(mark.id, size.map(|[l, w]| if across { [w, l] } else { [l, w] }));
        }
        let chosen = places_of(sight.document.parts.iter().map(|(id, _)| *id));
        Measured(Rc::new(Found { sides: all, chosen }))
    }

    /// What was chosen about a part.
    pub fn choice<'a>(&self, sight: &Sight<'a>, part: u32) -> Option<&'a PartChoice> {
        self.0.chosen.get(&part).and_then(|i| sight.document.parts.get(*i)).map(|(_, choice)| choice)
    }

    /// An outlined part's length and width as measured, whatever it is bought as.
    pub fn outlined(&self, part: u32) -> Option<Sides> {
        self.0.sides.get(&part).copied().flatten()
    }

    /// A side of a part and its half-width, mm, by its rule or as measured, unrounded.
    ///
    /// # Errors
    /// `lists.no-size`, `cut.no-stock`, `rule.unknown` with the part whose side isn't known, `rule.nothing`.
    pub fn side(&self, sight: &Sight, part: u32, side: Side, deep: usize) -> Result<[f64; 2], Say> {
        let known = |found: Option<[f64; 2]>, key: &'static str| found.ok_or_else(|| Say::new(key));
        let choice = self.choice(sight, part);
        // What is bought is as large as it is sold; only its length may be another.
        if let Some(bought) = choice.and_then(|c| c.bought) {
            match side {
                Side::Thickness => return Ok([bought.thickness(), 0.0]),
                Side::Length if bought.ware.is_cut() => {}
                Side::Length | Side::Width => return Ok([bought.across, 0.0]),
            }
        }
        if side == Side::Thickness {
            let made = sight.document.made(part).and_then(|(_, m)| m.thickness());
            return known(made.map(|mm| [mm, 0.0]), "cut.no-stock");
        }
        let Some(rule) = choice.and_then(|c| c.rule(side)) else {
            let size = self.outlined(part);
            return known(size.map(|[l, w]| if side == Side::Length { l } else { w }), "lists.no-size");
        };
        let found = come_to(rule, |other, side| {
            let unknown = || Say::new("rule.unknown").text("what", named(sight, other, side));
            if deep >= DEEPEST || !sight.document.is_part(other) {
                return Err(unknown());
            }
            // What is cut is the rounded size, and this part fits that.
            let [mm, half] = self.side(sight, other, side, deep + 1).map_err(|_| unknown())?;
            Ok([if side == Side::Thickness { mm } else { rounded(sight, mm) }, half])
        })?;
        if !(found[0] > 0.0) {
            return Err(Say::new("rule.nothing").text("size", sight.length(found[0]).with_unit()));
        }
        Ok(found)
    }

    /// Both sides.
    ///
    /// # Errors
    /// As [`Measured::side`].
    pub fn both(&self, sight: &Sight, part: u32) -> Result<Sides, Say> {
        Ok([self.side(sight, part, Side::Length, 0)?, self.side(sight, part, Side::Width, 0)?])
    }
}

/// Steps by the work, inches and mm. Common practice, no source.
const WORKS: [(&str, Step, Step); 6] = [
    ("carpentry", Step::Eighth, Step::TwoMm),
    ("trim", Step::Sixteenth, Step::OneMm),
    ("furniture", Step::ThirtySecond, Step::HalfMm),
    ("scroll", Step::SixtyFourth, Step::HalfMm),
    ("toys", Step::ThirtySecond, Step::HalfMm),
    ("garden", Step::Sixteenth, Step::OneMm),
];

/// What may be made, and the step to which that is rounded.
pub fn works(sight: &Sight) -> Vec<Key> {
    let units = sight.units;
    let key = |(name, inches, mm): &(&str, Step, Step)| {
        let step = if units.style.is_metric() { *mm } else { *inches }.within(units.style);
        let say = Say::new(format!("work.{name}")).text("step", sight.step(step));
        let set = Intent::SetUnits { style: units.style, step, direction: units.direction };
        let mut key = say::key(sight, "work", set).labelled(sight.say(&say));
        key.id = format!("work-{name}");
        key.pressed(units.step.within(units.style) == step)
    };
    WORKS.iter().map(key).collect()
}

/// As it is sawn.
pub fn rounded(sight: &Sight, mm: f64) -> f64 {
    round(mm, sight.units.step.within(sight.units.style), sight.units.direction)
}

/// "width of A".
fn named(sight: &Sight, part: u32, side: Side) -> String {
    let say = Say::new("rule.side").text("side", sight.word(&format!("side.{}", side.name())));
    sight.say(&say.text("letter", sight.document.letter(part)))
}

fn of(sight: &Sight, term: &Term) -> String {
    match term.part {
        Some(part) => named(sight, part, term.side),
        None => {
            let mm = super::cutting::fine(sight, term.mm);
            let own = |key: &'static str| sight.say(&Say::new(key).text("size", mm.clone()));
            match term.what {
                None => mm,
                Some(Own::Washer) => own("rule.washer"),
                Some(Own::Play) => own("rule.play"),
            }
        }
    }
}

/// A piece of a rule: "less 2 × thickness of B".
fn piece(sight: &Sight, i: usize, term: &Term) -> String {
    let key = match (i, term.times < 0.0) {
        (0, false) => "rule.first",
        (_, false) => "rule.plus",
        (_, true) => "rule.less",
    };
    let count = term.times.abs();
    let what = of(sight, term);
    let times = if count == 1.0 {
        what
    } else {
        let digits = if (count - libm::round(count)).abs() < 1e-9 { 0 } else { 2 };
        sight.say(&Say::new("rule.times").with("times", Arg::Number(count, digits)).text("what", what))
    };
    sight.say(&Say::new(key).text("what", times))
}

/// A whole rule: "width of A less 2 × thickness of B".
pub fn whole(sight: &Sight, rule: &[Term]) -> String {
    rule.iter().enumerate().map(|(i, t)| piece(sight, i, t)).collect::<Vec<_>>().join(" ")
}

/// Which side of a part an entry is about.
pub fn side_of(about: About) -> Option<Side> {
    match about {
        About::RuleLength | About::OwnLength => Some(Side::Length),
        About::RuleWidth | About::OwnWidth => Some(Side::Width),
        _ => None,
    }
}

/// What the rule as it stands comes to.
pub fn reads(sight: &Sight, part: u32, about: About) -> String {
    let Some(side) = side_of(about) else { return String::new() };
    let choice = sight.document.part(part);
    let Some(rule) = choice.rule(side) else { return sight.word("rule.none") };
    let comes = match Measured::of(sight).side(sight, part, side, 0) {
        Ok([mm, _]) => sight.length(mm).with_unit(),
        Err(why) => sight.say(&why),
    };
    sight.say(&Say::new("rule.reads").text("rule", whole(sight, rule)).text("size", comes))
}

/// Its pieces, each to be turned about, counted, taken off; then what can be added.
pub fn choices(sight: &Sight, part: u32, about: About) -> Vec<Key> {
    let Some(side) = side_of(about) else { return Vec::new() };
    let choice = sight.document.part(part);
    let rule = choice.rule(side).cloned().unwrap_or_default();
    let set = |id: String, label: String, rule: Vec<Term>| {
        let choice = PartChoice { ..choice.clone() }.ruled(side, rule);
        say::key(sight, &id, Intent::SetPart { mark: part, choice }).labelled(label)
    };
    let mut keys = Vec::new();
    for (i, term) in rule.iter().enumerate() {
        let with = |term: Option<Term>| {
            let mut rule = rule.clone();
            match (term, rule.get_mut(i)) {
                (Some(t), Some(at)) => *at = t,
                _ => drop(rule.remove(i)),
            }
            rule
        };
        let turned = Term { times: -term.times, ..*term };
        keys.push(set(format!("rule-turn-{i}"), piece(sight, i, term), with(Some(turned))).pressed(true));
        let times = count_after(term.times.abs());
        let counted = Term { times: times * term.times.signum(), ..*term };
        let label = sight.say(
            &Say::new("rule.count")
                .with("times", Arg::Number(term.times.abs(), if times == 1.0 { 1 } else { 0 })),
        );
        keys.push(set(format!("rule-count-{i}"), label, with(Some(counted))));
        let label = sight.say(&Say::new("rule.drop").text("what", of(sight, term)));
        keys.push(set(format!("rule-drop-{i}"), label, with(None)));
    }
    // The first is there, what follows is mostly taken off.
    let times = if rule.is_empty() { 1.0 } else { -1.0 };
    for other in sight.document.part_ids().filter(|p| *p != part) {
        for side in Side::ALL {
            let mut rule = rule.clone();
            rule.push(Term::of(times, other, side));
            keys.push(set(format!("rule-{}-{}", side.name(), other), named(sight, other, side), rule));
        }
    }
    let own = if side == Side::Length { About::OwnLength } else { About::OwnWidth };
    keys.push(super::cutting::ask(sight, "rule-own", part, own));
    keys
}

/// 1, 2 … 6, then a half, then 1 again.
fn count_after(times: f64) -> f64 {
    match times {
        t if t < 1.0 => 1.0,
        t if t >= 6.0 => 0.5,
        t => t + 1.0,
    }
}

/// Two outlines whose borders come this near are neighbours, of the lesser one's size: lines are drawn some px wide, and touched some
/// px off. Ours, no source.
const TOUCHES: f64 = 0.03;

/// Whether two outlines on one picture lie against one another or over one another.
fn touch(a: &Mark, b: &Mark) -> bool {
    let (rings, boxes) = ([a.line(), b.line()], [a, b].map(|m| bounds(m.points.iter().map(|p| &p.at))));
    let size = |[x, y, u, v]: [f64; 4]| (u - x).max(v - y);
    let near = TOUCHES * size(boxes[0]).min(size(boxes[1]));
    let [p, q] = boxes;
    let apart = (0..2).any(|k| p[k] > q[k + 2] + near || q[k] > p[k + 2] + near);
    if apart || a.picture != b.picture {
        return false;
    }
    let sides =
        |ring: &[At]| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1)).collect::<Vec<_>>();
    let meets = |ring: &[At], other: &[At]| {
        let sides = sides(other);
        let by = |p: At| contains(other, p) || sides.iter().any(|(a, b)| from_segment(p, *a, *b) <= near);
        ring.iter().any(|p| by(*p))
    };
    meets(&rings[0], &rings[1]) || meets(&rings[1], &rings[0])
}

/// What goes with `part`: the parts whose rules name it, those that its own name, and those that lie against it on the picture.
pub fn neighbours(sight: &Sight, part: u32) -> Vec<String> {
    let names = |c: &PartChoice, of: u32| c.rules.iter().flatten().any(|t| t.part == Some(of));
    let (own, mark) = (sight.document.part(part), sight.document.mark(part));
    let all = sight.document.part_ids().enumerate().filter(|(_, p)| *p != part);
    let seen = |p: u32| mark.zip(sight.document.mark(p)).is_some_and(|(a, b)| touch(a, b));
    let near = all.filter(|(_, p)| names(&own, *p) || names(&sight.document.part(*p), part) || seen(*p));
    near.map(|(i, _)| letter(i)).collect()
}

/// Every part's length and width as they are sawn, mm, where any follows from another by rule.
pub fn sizes(sight: &Sight) -> Vec<(u32, [f64; 2])> {
    let measured = Measured::of(sight);
    let sawn = |part: u32| {
        let both = measured.both(sight, part).ok()?;
        Some((part, both.map(|[mm, _]| rounded(sight, mm))))
    };
    sight.document.part_ids().filter_map(sawn).collect()
}

/// What is another size than it was, but for `part` itself: "C Shelf was 30 3⁄4 in × 10 in, now 30 1⁄2 in × 10 in".
pub fn follows(sight: &Sight, part: u32, before: &[(u32, [f64; 2])]) -> Option<Say> {
    let mut all = Vec::new();
    let told = |size: [f64; 2]| size.map(|mm| super::cutting::figure(sight, mm)).join(" × ");
    for (id, new) in sizes(sight).into_iter().filter(|(id, _)| *id != part) {
        let same = |old: &[f64; 2]| (0..2).all(|k| (old[k] - new[k]).abs() < 1e-6);
        let Some((_, old)) = before.iter().find(|(b, old)| *b == id && !same(old)) else { continue };
        let hidden = || sight.document.hidden(id).map(|h| h.name.clone());
        let name = sight.document.mark(id).map(|m| m.name.clone()).or_else(hidden).unwrap_or_default();
        let ware = sight.document.bought(id).filter(|_| name.is_empty());
        let name = ware.map_or(name, |b| sight.word(&format!("ware.{}", b.ware.name())));
        let say = Say::new("part.was").text("letter", sight.document.letter(id)).text("name", name);
        all.push(sight.say(&say.text("old", told(*old)).text("new", told(new))));
    }
    (!all.is_empty()).then(|| Say::new("part.follows").text("parts", all.join("; ")))
}
