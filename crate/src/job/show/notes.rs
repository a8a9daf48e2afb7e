//! Questions, warnings and remarks, most pressing first.

use super::{Sight, say};
use crate::finish::{bearable, finer_than_bearable};
use crate::job::cross::{Crossing, Direction};
use crate::job::document::{Mark, View};
use crate::job::intent::{About, Intent, RectangleOf, Tool};
use crate::job::lenses;
use crate::job::reckon::Mapped;
use crate::job::scene::{Key, Note, Tone};
use crate::mark::{By, Dimension, Ends, Kind};
use crate::view::{Bend, Fit, Named, Odd, Scale, slant};
use crate::words::{Arg, Say};

/// All notes that haven't been read yet.
pub fn notes(sight: &Sight) -> Vec<Note> {
    let mut out: Vec<Note> = Vec::new();
    for mapped in &sight.reckoned.maps {
        fit_notes(sight, mapped, &mut out);
    }
    out.extend(sight.crossings.iter().filter(|c| c.disagree).filter_map(|c| crossing(sight, c)));
    out.extend(super::boxes::sizes(sight));
    if crate::WHOLE {
        out.extend(super::boxes::rectangles(sight));
        out.extend(super::captions::note_of(sight));
    }
    out.extend(super::boxes::outside(sight));
    out.extend(slanted(sight));
    out.extend(lens_left(sight));
    out.extend(paper_unknown(sight));
    out.extend(rounding(sight));
    out.retain(|n| !sight.hand.hushed.has(&n.id));
    crate::order::sort_by_key(&mut out, |n| match n.tone {
        Tone::Ask => 0,
        Tone::Warn => 1,
        Tone::Say => 2,
    });
    out
}

pub(super) fn note(id: String, tone: Tone, text: String, keys: Vec<Key>) -> Note {
    Note { id, tone, text, keys }
}

pub(super) fn hush(sight: &Sight, id: &str) -> Key {
    say::key(sight, "hush", Intent::Hush { note: id.to_owned() })
}

/// The view a map is told by: the one with its true lengths, or its rectangle, or the whole picture.
fn view_of<'a>(sight: &'a Sight, mapped: &Mapped) -> Option<&'a View> {
    let o = mapped.origin;
    let id = o
        .face
        .or(o.behind)
        .or(o.lengths)
        .or(o.rectangle)
        .or_else(|| sight.document.whole(o.picture).map(|w| w.id))?;
    sight.document.view(id)
}

fn fit_notes(sight: &Sight, mapped: &Mapped, out: &mut Vec<Note>) {
    let Some(view) = view_of(sight, mapped) else { return };
    let name = sight.view_name(view);
    let fit = match &mapped.fit {
        Ok(fit) => fit,
        Err(say) => {
            let text = sight.say(
                &Say::new("note.no-map").text("view", name).with("why", Arg::Say(Box::new(say.clone()))),
            );
            out.push(note(format!("no-map-{}", view.id), Tone::Warn, text, Vec::new()));
            return;
        }
    };
    let offered = fit.stretch.as_ref().filter(|s| s.significant && !view.two_scales);
    if let Some(stretch) = offered {
        // More mm a px across than along is a picture squeezed across, or stretched along.
        let percent = (1.0 / stretch.ratio.value - 1.0) * 100.0;
        let pm = stretch.ratio.half_width() * 100.0;
        let text = sight.say(
            &Say::new(if percent >= 0.0 { "note.stretched-across" } else { "note.stretched-along" })
                .text("view", name.clone())
                .with("percent", Arg::Number(percent.abs(), 1))
                .with("pm", Arg::Number(pm, 1)),
        );
        let id = format!("stretch-{}", view.id);
        let keys = vec![
            hush(sight, &id),
            say::key(sight, "two-scales", Intent::TwoScales { view: view.id, on: true }).main(),
        ];
        out.push(note(id, Tone::Ask, text, keys));
    } else if let Some(odd) = &fit.odd {
        out.push(odd_one_out(sight, view, odd));
    } else if fit.unclear {
        let text = sight.say(&Say::new("note.unclear").text("view", name.clone()));
        out.push(note(format!("unclear-{}", view.id), Tone::Warn, text, Vec::new()));
    }
    out.extend(against_drawing(sight, view, fit));
    out.extend(fit.says.iter().filter_map(|say| of_camera(sight, view, say)));
    for check in fit.checks.iter().filter(|c| !c.pulls && !c.agrees) {
        let text = sight.say(
            &Say::new("note.check-off")
                .text("mark", sight.mark_named(check.mark))
                .text("given", exact(sight, check.given))
                .text("measured", exact(sight, check.measured.value))
                .text("off", exact(sight, check.difference.value.abs()))
                .text("pm", sight.plus_minus(check.difference.half_width()).with_unit()),
        );
        out.push(note(format!("check-{}", check.mark), Tone::Warn, text, Vec::new()));
    }
}

/// What is said of how the camera saw the view.
fn of_camera(sight: &Sight, view: &View, what: &Say) -> Option<Note> {
    let id = format!("{}-{}", what.key.strip_prefix("view.")?, view.id);
    let mut keys = vec![hush(sight, &id)];
    match &*what.key {
        "view.focal-disagrees" => {
            let cropped = Intent::Cropped { picture: view.picture, on: true };
            keys.push(say::key(sight, "cropped", cropped));
        }
        "view.focal-absurd" | "view.edge-on" | "view.box-shifted" | "view.not-enough" => {}
        _ => return None,
    }
    Some(note(id, Tone::Warn, sight.say(what), keys))
}

/// A true length against the drawing's own scale and the picture's size on paper, where all are known.
fn against_drawing(sight: &Sight, view: &View, fit: &Fit) -> Option<Note> {
    let picture = sight.document.picture(view.picture)?;
    let (one_to, dots) = (picture.one_to?, picture.resolution?);
    let check = fit.checks.iter().find(|c| c.pulls)?;
    let ends = sight.document.mark(check.mark).filter(|m| m.ends == Ends::Between)?;
    let step = ends.points.get(1)?.at - ends.points.first()?.at;
    let paper = libm::hypot(step.x * 25.4 / dots[0], step.y * 25.4 / dots[1]);
    let drawn = paper * one_to;
    let pm = libm::hypot(0.005 * drawn, check.difference.half_width());
    if (drawn - check.given).abs() <= pm {
        return None;
    }
    let text = sight.say(
        &Say::new("note.drawing-scale-off")
            .text("mark", sight.mark_named(check.mark))
            .text("given", exact(sight, check.given))
            .text("drawn", exact(sight, drawn)),
    );
    let id = format!("drawing-scale-{}", view.id);
    Some(note(id.clone(), Tone::Warn, text, vec![hush(sight, &id)]))
}

fn exact(sight: &Sight, mm: f64) -> String {
    sight.unrounded(mm).with_unit()
}

fn odd_one_out(sight: &Sight, view: &View, odd: &Odd) -> Note {
    let others = &odd.others_say;
    let (say, id, key) = match odd.what {
        Named::Mark(mark) => {
            let look = say::key(sight, "look-at-it", Intent::Select { mark: Some(mark) });
            (Say::new("note.odd").text("mark", sight.mark_named(mark)), mark, look)
        }
        Named::Edge(k) => {
            let which = ["note.odd-front", "note.odd-end", "note.odd-upright"][usize::from(k.min(2))];
            let away = say::key(sight, "remove-box", Intent::RemoveView { view: view.id }).guarded();
            (Say::new(which), u32::from(k), away)
        }
    };
    let text = sight.say(
        &say.text("given", exact(sight, odd.given))
            .text("others", exact(sight, others.value))
            .text("off", exact(sight, (odd.given - others.value).abs()))
            .text("pm", sight.plus_minus(others.half_width()).with_unit()),
    );
    note(format!("odd-{}-{id}", view.id), Tone::Warn, text, vec![key])
}

/// Two views disagree about what they share.
fn crossing(sight: &Sight, c: &Crossing) -> Option<Note> {
    let d = sight.document;
    let settled = d.trusted.iter().any(|t| c.marks.contains(&t.mark) && c.marks.contains(&t.other));
    if settled {
        return None;
    }
    let [a, b] = [sight.told(c.marks[0])?, sight.told(c.marks[1])?];
    let [va, vb] = [d.view(c.views[0])?, d.view(c.views[1])?];
    let what = match c.direction {
        Some(Direction::Length) => "direction.length",
        Some(Direction::Span) => "direction.span",
        Some(Direction::Height) => "direction.height",
        None => "direction.same",
    };
    let size = |i: usize, t: &crate::job::sizes::Told| match t.shown() {
        Some(e) => sight.length(e.value).with_unit(),
        None => on_picture(sight, c.marks[i]),
    };
    let say_it = Say::new("note.views-disagree")
        .text("what", sight.word(what))
        .text("first", sight.view_name(va))
        .text("second", sight.view_name(vb))
        .text("first-real", real(sight, c.marks[0]))
        .text("second-real", real(sight, c.marks[1]))
        .text("first-size", size(0, a))
        .text("second-size", size(1, b));
    let trust = |i: usize, v: &View| {
        let label = sight.say(&Say::new("key.trust-view").text("view", sight.view_name(v)));
        let intent = Intent::Trust { view: v.id, mark: c.marks[i], other: c.marks[1 - i] };
        say::key(sight, &format!("trust-{}", v.id), intent).labelled(label)
    };
    let keys = vec![
        say::key(sight, "not-same", Intent::SameThing { marks: c.marks, same: false }),
        trust(0, va),
        trust(1, vb),
    ];
    Some(note(format!("views-{}-{}", c.marks[0], c.marks[1]), Tone::Ask, sight.say(&say_it), keys))
}

/// What a mark reads in life, or on the picture when no scale is known.
fn real(sight: &Sight, mark: u32) -> String {
    match sight.reckoned.reading(mark).filter(|r| r.scaled).and_then(|r| r.primary()) {
        Some(e) => exact(sight, e.value),
        None => on_picture(sight, mark),
    }
}

fn on_picture(sight: &Sight, mark: u32) -> String {
    let Some(m) = sight.document.mark(mark) else { return String::new() };
    let px = m.points.first().zip(m.points.last()).map_or(0.0, |(a, b)| a.at.distance(b.at));
    say::on_picture(sight, m.picture, px)
}

/// An outline of four points that is nearly a rectangle, on a view that is treated as flat.
fn slanted(sight: &Sight) -> Vec<Note> {
    let flat = |view: u32| sight.reckoned.mapped(view).is_some_and(|m| m.origin.rectangle.is_none());
    sight
        .document
        .marks
        .iter()
        .filter(|m| m.kind == Kind::Outline && m.points.len() == 4)
        .filter(|m| sight.reckoned.reading(m.id).is_some_and(|r| flat(r.view)))
        .filter_map(|m| {
            let clicks = crate::job::reckon::clicks(m.id, &m.points);
            let corners = <[_; 4]>::try_from(clicks).ok()?;
            let s = slant(&corners)?;
            let id = format!("slant-{}", m.id);
            let text = sight.say(
                &Say::new("note.slanted")
                    .text("mark", sight.mark_named(m.id))
                    .text("degrees", sight.number(s.angle.to_degrees(), 1)),
            );
            let by = say::key(sight, "square-on-by", square_on_by(sight, m)?);
            Some(note(id.clone(), Tone::Ask, text, vec![hush(sight, &id), by]))
        })
        .collect()
}

/// The fact that turns a view square-on by an outline of four corners whose sides aren't known.
fn square_on_by(sight: &Sight, m: &Mark) -> Option<Intent> {
    let worst = m.points.iter().fold(0.0, |s, p| p.sigma.max(s));
    Some(Intent::SquareOn {
        view: sight.reckoned.reading(m.id)?.view,
        corners: <[_; 4]>::try_from(m.points.iter().map(|p| p.at).collect::<Vec<_>>()).ok()?,
        sheet: None,
        long_first: None,
        width: None,
        height: None,
        of: RectangleOf::Thing,
        by: By::Mouse,
        // A click by mouse that was seen is good to half a screen px (`mark::click_sigma`).
        zoom: 0.5 / worst,
        seen: true,
        caught: m.points.iter().map(|p| p.hold.map(|h| h.caught)).collect(),
    })
}

/// A picture that a camera took of something at a slant, with the bend of its lens left in: no ± holds that. Photographs of
/// a chessboard were off by ten times theirs (`tests/accuracy.md`).
fn lens_left(sight: &Sight) -> Option<Note> {
    let by_camera = |m: &&std::rc::Rc<Mapped>| {
        let o = m.origin;
        o.rectangle.is_some() || o.face.is_some() || m.fit.as_ref().is_ok_and(|f| f.map.away().is_some())
    };
    let left = |m: &&std::rc::Rc<Mapped>| {
        let told = lenses::of(&sight.reckoned.lenses, m.origin.picture).map(|l| &l.bend);
        m.fit.is_ok() && !matches!(told, Some(Ok(Bend::Found(_) | Bend::Straight(_))))
    };
    let picture = sight.reckoned.maps.iter().filter(by_camera).find(left)?.origin.picture;
    if sight.told.is_empty() {
        return None;
    }
    let id = format!("lens-left-{picture}");
    let keys = vec![hush(sight, &id), say::key(sight, "straighten", Intent::Tool { tool: Tool::Straighten })];
    Some(note(id, Tone::Say, sight.word("note.lens-left"), keys))
}

/// A drawing's scale gives sizes only together with the picture's size on paper.
fn paper_unknown(sight: &Sight) -> Option<Note> {
    let p = sight.document.pictures.iter().find(|p| p.one_to.is_some() && p.resolution.is_none())?;
    let id = format!("paper-{}", p.id);
    let key = say::key(sight, "resolution", Intent::Ask { about: About::Resolution });
    (sight.hand.picture == Some(p.id))
        .then(|| note(id.clone(), Tone::Say, sight.word("note.paper-unknown"), vec![hush(sight, &id), key]))
}

/// Rounded finer than the picture can bear.
fn rounding(sight: &Sight) -> Option<Note> {
    let units = sight.units;
    let mut halves: Vec<f64> = sight
        .told
        .iter()
        .filter(|t| t.what.dimension() == Dimension::Length && !t.what.is_place())
        .map(|t| t.half)
        .filter(|h| *h > 0.0 && h.is_finite())
        .collect();
    crate::order::sort_by(&mut halves, f64::total_cmp);
    let middle = *halves.get(halves.len() / 2)?;
    if !finer_than_bearable(units.step, middle) {
        return None;
    }
    let step = bearable(middle, units.style);
    if step == units.step {
        // The coarsest there is, and still finer than the picture.
        let text = sight.say(
            &Say::new("note.rounding-coarsest")
                .text("step", sight.step(step))
                .text("pm", sight.plus_minus(middle).with_unit()),
        );
        let id = "rounding-coarsest".to_owned();
        return Some(note(id.clone(), Tone::Say, text, vec![hush(sight, &id)]));
    }
    let text = sight.say(
        &Say::new("note.rounding")
            .text("step", sight.step(units.step))
            .text("pm", sight.plus_minus(middle).with_unit())
            .text("bears", sight.step(step)),
    );
    let id = "rounding".to_owned();
    let label = sight.say(&Say::new("key.round-to-step").text("step", sight.step(step)));
    let keys = vec![
        hush(sight, &id),
        say::key(
            sight,
            "round-to-step",
            Intent::SetUnits { style: units.style, step, direction: units.direction },
        )
        .labelled(label),
    ];
    Some(note(id, Tone::Say, text, keys))
}

/// Where a view's scale comes from.
pub fn scale_words(sight: &Sight, view: &View) -> String {
    let Some(mapped) = sight.reckoned.mapped(view.id) else { return String::new() };
    let Ok(fit) = &mapped.fit else { return sight.word("scale.none") };
    let lengths = fit.checks.iter().filter(|c| c.pulls).count();
    let base = match fit.scale {
        Scale::None => {
            let chosen = sight.reckoned.factor.as_ref().and_then(|f| f.only);
            let serves = chosen.is_some() && chosen == sight.reckoned.of_view.get(&view.id).copied();
            return sight.word(if serves { "scale.chosen" } else { "scale.none" });
        }
        Scale::Drawing => Say::new("scale.drawing"),
        Scale::Rectangle => Say::new("scale.rectangle"),
        // Lengths that run one way tell no more of a stretch than one does.
        Scale::Lengths if lengths > 1 && fit.stretch.is_none() && mapped.origin.rectangle.is_none() => {
            Say::new("scale.lengths-one-way").count("count", lengths)
        }
        Scale::Lengths => Say::new("scale.lengths").count("count", lengths),
    };
    let own = mapped.origin.lengths.is_none_or(|l| l == view.id);
    let donor = mapped.origin.lengths.and_then(|l| sight.document.view(l)).filter(|_| !own);
    match donor {
        Some(d) => sight.say(&Say::new("scale.from-view").text("view", sight.view_name(d))),
        None => sight.say(&base),
    }
}

/// How a true length or a check length fares against the map.
pub fn check_words(sight: &Sight, mark: u32) -> Option<String> {
    let reading = sight.reckoned.reading(mark)?;
    let fit = sight.reckoned.mapped(reading.view)?.fit.as_ref().ok()?;
    let check = fit.checks.iter().find(|c| c.mark == mark)?;
    let pulling = fit.checks.iter().filter(|c| c.pulls).count();
    if check.pulls && pulling < 2 {
        return None;
    }
    let key = if check.agrees { "check.agrees" } else { "check.disagrees" };
    Some(
        sight.say(
            &Say::new(key)
                .text("measured", exact(sight, check.measured.value))
                .text("off", exact(sight, check.difference.value.abs()))
                .text("pm", sight.plus_minus(check.difference.half_width()).with_unit()),
        ),
    )
}
