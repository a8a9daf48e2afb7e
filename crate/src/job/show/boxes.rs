//! What is said of boxes, and of marks that may not lie where they seem to.

use super::Sight;
use super::notes::{hush, note};
use super::say;
use crate::estimate::Estimate;
use crate::job::document::{BoxGiven, Mark, View};
use crate::job::intent::{About, At, Intent, StepName, Tool};
use crate::job::scene::{Drawn, Line, Note, Tone};
use crate::job::typing::runs_level;
use crate::job::{boxes, vouched};
use crate::mark::Quantity;
use crate::view::{Scale, Span};
use crate::words::{Arg, Say};

/// The edges of each box, with their ±.
pub fn sizes(sight: &Sight) -> Vec<Note> {
    sight.document.boxes.iter().filter_map(|b| size(sight, b)).collect()
}

/// The corner that is asked for next, about where it must be.
pub fn next(sight: &Sight) -> Option<Drawn> {
    let hand = sight.hand;
    let (at, from) = boxes::expected(hand).filter(|_| hand.tool == Tool::Boxed)?;
    let pair = |p: At| [p.x, p.y];
    let paths = from.into_iter().map(|p| vec![pair(p), pair(at)]).collect();
    let label = format!("{}?", boxes::letter(hand, hand.pending.len()));
    Some(Drawn { picture: hand.picture?, line: Line::Dot, paths, at: pair(at), label })
}

/// What each place that was touched is called.
pub fn names(sight: &Sight) -> Vec<String> {
    let all = 0..sight.hand.pending.len();
    match sight.hand.tool {
        Tool::Boxed => all.map(|i| boxes::letter(sight.hand, i)).collect(),
        Tool::SquareOn => all.map(|i| (i + 1).to_string()).collect(),
        _ => Vec::new(),
    }
}

fn size(sight: &Sight, given: &BoxGiven) -> Option<Note> {
    let side = |n: u8| {
        let on = |f: crate::job::document::FaceOf| f.of == given.id && f.side == n;
        let view = sight.document.views.iter().find(|v| v.face.is_some_and(on))?;
        let mapped = sight.reckoned.mapped(view.id)?;
        mapped.fit.as_ref().ok().filter(|f| f.scale != Scale::None).map(|f| &f.map)
    };
    // A side's map carries the lengths of its own two edges after its four corners.
    let edge = |n: u8, k: usize| side(n).and_then(|m| m.params().get(k)).cloned();
    let width = edge(0, 8).or_else(|| edge(2, 8))?;
    let depth = edge(1, 8).or_else(|| edge(2, 9))?;
    let upright = edge(0, 9).or_else(|| edge(1, 9))?;
    let id = format!("box-{}", given.id);
    let text = sight.say(
        &Say::new("note.box")
            .text("width", told(sight, &width))
            .text("depth", told(sight, &depth))
            .text("upright", told(sight, &upright)),
    );
    Some(note(id.clone(), Tone::Say, text, vec![hush(sight, &id)]))
}

/// Both sides of each rectangle of which not both were given.
pub fn rectangles(sight: &Sight) -> Vec<Note> {
    sight.document.views.iter().filter_map(|v| rectangle(sight, v)).collect()
}

fn rectangle(sight: &Sight, view: &View) -> Option<Note> {
    let square = view.rectangle.as_ref().filter(|r| r.size.contains(&None))?;
    let fit = sight.reckoned.mapped(view.id)?.fit.as_ref().ok().filter(|f| f.scale != Scale::None)?;
    let [a, b, c, _] = vouched::rectangle(view)?.corners;
    let mut sides = [(&a, &b), (&b, &c)].map(|(p, q)| fit.map.measure(&Span::Between([*p, *q])).ok());
    if !runs_level(square.corners[0].at, square.corners[1].at) {
        sides.reverse();
    }
    let [wide, high] = &sides;
    let id = format!("rectangle-{}", view.id);
    let say = Say::new("note.rectangle")
        .text("width", told(sight, wide.as_ref()?))
        .text("height", told(sight, high.as_ref()?));
    Some(note(id.clone(), Tone::Say, sight.say(&say), vec![hush(sight, &id)]))
}

fn told(sight: &Sight, e: &Estimate) -> String {
    let s = say::size(sight, Quantity::Length, e, None);
    [s.figure.with_unit(), s.pm].join(" ")
}

/// A mark of which a part lies outside the view that it is measured on: is that as far away?
pub fn outside(sight: &Sight) -> Vec<Note> {
    let marks = sight.document.marks.iter();
    marks.filter(|m| sight.hand.open != Some(m.id)).filter_map(|m| leaves(sight, m)).collect()
}

fn leaves(sight: &Sight, mark: &Mark) -> Option<Note> {
    let reading = sight.reckoned.reading(mark.id).filter(|r| r.scaled)?;
    let view = sight.document.view(reading.view).filter(|v| !v.whole)?;
    let fit = sight.reckoned.mapped(view.id)?.fit.as_ref().ok()?;
    // A drawing's views are flat: only what a camera saw has something behind it.
    fit.camera.as_ref()?;
    if mark.points.iter().all(|p| view.holds(p.at)) {
        return None;
    }
    let size = reading.primary()?.value;
    let id = format!("outside-{}", mark.id);
    let mut say = Say::new("note.outside")
        .text("mark", sight.mark_named(mark.id))
        .text("view", sight.view_name(view))
        .length("size", size);
    if let Some(away) = &fit.away {
        // As much larger as it is farther away: a foot behind, for the size of it.
        let back = if sight.units.style.is_metric() { 300.0 } else { 304.8 };
        say = Say::new("note.outside-behind")
            .text("mark", sight.mark_named(mark.id))
            .text("view", sight.view_name(view))
            .length("size", size)
            .length("back", back)
            .with("larger", Arg::Length(size * (1.0 + back / away.value)));
    }
    let mut keys = vec![hush(sight, &id)];
    if sight.hand.step == StepName::Picture && sight.hand.view.is_some() {
        keys.push(say::key(sight, "stands-back", Intent::Ask { about: About::Back }));
    }
    Some(note(id, Tone::Ask, sight.say(&say), keys))
}
