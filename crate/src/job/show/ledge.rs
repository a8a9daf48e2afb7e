//! The keys for what is to be done next.

use super::guide::{halves, lens, tool_name};
use super::{Sight, say};
use crate::job::document::{Build, View};
use crate::job::gesture::{fills_at, needs_chosen};
use crate::job::hand::Held;
use crate::job::intent::{About, Intent, Role, Side, StepName, TableName, Tool, Wish};
use crate::job::scene::Key;
use crate::job::shape;
use crate::mark::need;
use crate::plane::{Even, Half};
use crate::quantity::{Direction, Step, Style};
use crate::words::Say;

/// A key for each half, by where it lies, and for the mean of both; the better half's is the main one.
fn half_keys(sight: &Sight, even: &Even) -> Vec<Key> {
    let [a, b] = even.axis;
    // To the left of the line as seen along it: its run turned back by a right angle (y down).
    let out = [b.y - a.y, a.x - b.x];
    let names =
        if out[0].abs() >= out[1].abs() { ["half-left", "half-right"] } else { ["half-upper", "half-lower"] };
    let first = if out[0].abs() >= out[1].abs() { out[0] < 0.0 } else { out[1] < 0.0 };
    let [left, right] = if first { names } else { [names[1], names[0]] };
    let key = |id: &str, wish: Wish| say::key(sight, id, Intent::Want { wish });
    let mut halves = [key(left, Wish::LeftTwice), key(right, Wish::RightTwice)];
    if even.better == Half::Left {
        halves.reverse();
    }
    let [other, better] = halves;
    vec![say::key(sight, "forget", Intent::Forget), key("half-mean", Wish::Mean), other, better.main()]
}

/// What can be done at a point of a smooth outline that is in hand.
fn knot_keys(sight: &Sight) -> Vec<Key> {
    let Some(Held::Mark { mark, point }) = sight.hand.held else { return Vec::new() };
    let Some(m) = sight.document.mark(mark) else { return Vec::new() };
    let curve = m.smooth.as_ref().and_then(|s| s.rings.first());
    let Some(segment) = curve.and_then(|c| c.segments.get(usize::from(point))) else { return Vec::new() };
    let (id, sharp) = if segment.corner { ("round-off", false) } else { ("sharpen", true) };
    let mut keys = vec![say::key(sight, id, Intent::TurnKnot { mark, point, sharp })];
    if m.points.len() > need(m.kind, m.ends).0 {
        keys.push(say::key(sight, "remove-point", Intent::RemovePoint { mark, point }));
    }
    keys
}

/// The keys of this moment, the main one last.
pub fn keys(sight: &Sight) -> Vec<Key> {
    if sight.document.pictures.is_empty() {
        return ["open-job", "example", "take-picture", "find-picture"]
            .map(|id| {
                let key = say::page_key(sight, id);
                if id == "find-picture" || id == "take-picture" { key.main() } else { key }
            })
            .to_vec();
    }
    if let Some(keys) = busy_keys(sight) {
        return keys;
    }
    match sight.hand.step {
        StepName::Picture => picture_keys(sight),
        StepName::TrueLength => length_keys(sight),
        StepName::Marks => tool_keys(sight),
        StepName::Build => build_keys(sight),
        StepName::Lists => super::lists::keys(sight),
    }
}

/// What can be done about what the end in hand holds: let it go, or hold a drawn line by another side.
fn hold_keys(sight: &Sight) -> Vec<Key> {
    let hand = sight.hand;
    let hold = match hand.held {
        Some(Held::Mark { mark, point }) => {
            sight.document.mark(mark).and_then(|m| m.points.get(usize::from(point))).and_then(|p| p.hold)
        }
        Some(Held::Pending(i)) => hand.pending.get(i).and_then(|t| t.hold),
        None => None,
    };
    let Some(hold) = hold else { return Vec::new() };
    let mut keys = vec![say::key(sight, "loosen", Intent::Loosen)];
    if hold.caught.half != [0.0, 0.0] && matches!(hand.held, Some(Held::Mark { .. })) {
        let (id, side) = match sight.document.side {
            Side::Middle => ("side-outer", Side::Outer),
            Side::Outer => ("side-inner", Side::Inner),
            Side::Inner => ("side-middle", Side::Middle),
        };
        keys.push(say::key(sight, id, Intent::SetSide { side }));
    }
    keys
}

/// Keys while something is held or half placed.
fn busy_keys(sight: &Sight) -> Option<Vec<Key>> {
    let mut keys = busy_keys_but_hold(sight)?;
    // Beside the first key: the main one stays last.
    let rest = keys.split_off(keys.len().min(1));
    keys.extend(hold_keys(sight));
    keys.extend(knot_keys(sight));
    keys.extend(rest);
    Some(keys)
}

fn busy_keys_but_hold(sight: &Sight) -> Option<Vec<Key>> {
    let hand = sight.hand;
    if let Some((_, halves)) = halves(sight) {
        return Some(half_keys(sight, &halves.even));
    }
    let placing = needs_chosen(hand.tool)
        || matches!(
            hand.tool,
            Tool::ViewBox
                | Tool::ViewLevel
                | Tool::ViewSplit
                | Tool::ViewMerge
                | Tool::SquareOn
                | Tool::Straighten
                | Tool::Boxed
        );
    if placing {
        let wanted = match hand.tool {
            // The third touch cuts.
            Tool::CutOff => usize::MAX,
            // The second touch asks the pixels.
            Tool::Straighten => usize::MAX,
            Tool::SquareOn => 4,
            Tool::Boxed => crate::job::boxes::wanted(hand),
            Tool::Again => hand.selected.and_then(|m| sight.document.mark(m)).map_or(0, |m| m.points.len()),
            _ => 2,
        };
        let mut keys = vec![say::key(sight, "forget", Intent::Forget)];
        if hand.pending.len() > 1 {
            keys.push(say::key(sight, "other-end", Intent::OtherEnd));
        }
        if hand.tool == Tool::Boxed && hand.hidden.is_none() && (1..7).contains(&hand.pending.len()) {
            keys.push(say::key(sight, "corner-hidden", Intent::Hidden));
        }
        if hand.offer.is_some() {
            keys.push(say::key(sight, "take-corners", Intent::LetGo).main());
        }
        if hand.pending.len() >= wanted && wanted > 0 {
            let done = match hand.tool {
                Tool::SquareOn => {
                    keys.extend(cropped_key(sight));
                    say::key(sight, "give-size", Intent::Ask { about: About::Width })
                }
                Tool::Boxed => say::key(sight, "box-length", Intent::Ask { about: About::BoxFront }),
                _ => say::key(sight, "keep-it", Intent::LetGo),
            };
            keys.push(done.main());
        }
        if let (Tool::Straighten, Some(lens)) = (hand.tool, lens(sight)) {
            keys.push(say::key(sight, "forget-edges", Intent::ForgetEdges { picture: lens.picture }));
            let flat =
                hand.view.map_or_else(|| sight.document.whole(lens.picture), |v| sight.document.view(v));
            if flat.is_some_and(|v| v.rectangle.is_none() && v.face.is_none()) {
                keys.push(say::key(sight, "square-on", Intent::Tool { tool: Tool::SquareOn }));
            }
            keys.push(say::key(sight, "edges-done", Intent::LetGo).main());
        }
        return Some(keys);
    }
    if let Some(m) = hand.open.and_then(|m| sight.document.mark(m)) {
        let mut keys = vec![say::key(sight, "forget", Intent::Forget)];
        if m.points.len() > 1 {
            keys.push(say::key(sight, "other-end", Intent::OtherEnd));
        }
        if m.points.len() >= need(m.kind, m.ends).0 && fills_at(m.kind, m.ends) == usize::MAX {
            keys.push(keep_key(sight, m.number));
        }
        return Some(keys);
    }
    let Some(Held::Mark { mark, .. }) = hand.held else { return None };
    let m = sight.document.mark(mark)?;
    let mut keys = vec![say::key(sight, "delete", Intent::DeleteMark { mark }).guarded()];
    if m.points.len() > 1 {
        keys.push(say::key(sight, "other-end", Intent::OtherEnd));
    }
    keys.push(keep_key(sight, m.number));
    Some(keys)
}

fn keep_key(sight: &Sight, number: u32) -> Key {
    let label = sight.say(&Say::new("key.keep-mark").count("mark", number as usize));
    say::key(sight, "keep-mark", Intent::LetGo).labelled(label).main()
}

fn picture_keys(sight: &Sight) -> Vec<Key> {
    let mut keys = vec![say::page_key(sight, "find-picture"), say::page_key(sight, "take-picture")];
    let pictures = &sight.document.pictures;
    if pictures.len() > 1 {
        let at = pictures.iter().position(|p| Some(p.id) == sight.hand.picture).unwrap_or(0);
        let next = pictures[(at + 1) % pictures.len()].id;
        keys.push(say::key(sight, "next-picture", Intent::ShowPicture { picture: next }));
    }
    if let Some(v) = sight.hand.view.and_then(|v| sight.document.view(v)) {
        keys.extend(view_keys(sight, v));
        return keys;
    }
    if sight.document.views.iter().any(|v| Some(v.picture) == sight.hand.picture && leans_on_camera(v)) {
        keys.extend(cropped_key(sight));
    }
    if let Some(picture) = sight.hand.picture {
        keys.push(say::key(sight, "remove-picture", Intent::RemovePicture { picture }).guarded());
    }
    keys.push(say::key(sight, "drawing-scale", Intent::Ask { about: About::DrawingScale }));
    keys.push(say::key(sight, "resolution", Intent::Ask { about: About::Resolution }));
    keys.push(say::key(sight, "view-level", Intent::Tool { tool: Tool::ViewLevel }));
    keys.push(say::key(sight, "straighten", Intent::Tool { tool: Tool::Straighten }));
    let whole = sight.hand.picture.and_then(|p| sight.document.whole(p));
    keys.extend(whole.and_then(|w| slanted_key(sight, w)));
    keys.push(match whole.filter(|w| w.rectangle.is_some()) {
        Some(w) => say::key(sight, "flat", Intent::Flat { view: w.id }),
        None => say::key(sight, "square-on", Intent::Tool { tool: Tool::SquareOn }),
    });
    keys.push(say::key(sight, "view-box", Intent::Tool { tool: Tool::ViewBox }));
    keys.push(say::key(sight, "next-true-length", Intent::Go { step: StepName::TrueLength }).main());
    keys
}

/// Its rectangle's proportions come from what is known of the camera.
fn leans_on_camera(v: &View) -> bool {
    v.rectangle.as_ref().is_some_and(|r| r.size.iter().any(Option::is_none))
}

/// Several true lengths can tell how a view is turned, if it is.
fn slanted_key(sight: &Sight, v: &View) -> Option<Key> {
    let fit = sight.reckoned.mapped(v.id)?.fit.as_ref().ok();
    let many = fit.is_some_and(|f| f.checks.iter().filter(|c| c.pulls).count() > 2);
    let slanted = Intent::Slanted { view: v.id, on: !v.slanted };
    (many || v.slanted).then(|| say::key(sight, "slanted", slanted).pressed(v.slanted))
}

/// The picture is only a part of what the camera took.
fn cropped_key(sight: &Sight) -> Option<Key> {
    let p = sight.document.picture(sight.hand.picture?)?;
    Some(say::key(sight, "cropped", Intent::Cropped { picture: p.id, on: !p.cropped }).pressed(p.cropped))
}

fn view_keys(sight: &Sight, v: &View) -> Vec<Key> {
    let role = |id: &str, role: Role| {
        let change = Intent::ChangeView { view: v.id, name: None, role: Some(role), bounds: None };
        say::key(sight, id, change).pressed(v.role == role)
    };
    if let Some(face) = v.face {
        // Its corners say all there is to say of its shape.
        return side_keys(sight, face.of);
    }
    let mut keys = vec![
        role("role-top", Role::Top),
        role("role-side", Role::Side),
        role("role-front", Role::Front),
        role("role-other", Role::Other),
        say::key(sight, "view-name", Intent::Ask { about: About::ViewName }),
        say::key(sight, "view-level", Intent::Tool { tool: Tool::ViewLevel }),
    ];
    let views = sight.document.views.iter().filter(|o| o.picture == v.picture && !o.whole).count();
    if views > 1 {
        keys.push(say::key(sight, "view-merge", Intent::Tool { tool: Tool::ViewMerge }));
    }
    keys.push(say::key(sight, "view-split", Intent::Tool { tool: Tool::ViewSplit }));
    keys.push(say::key(sight, "straighten", Intent::Tool { tool: Tool::Straighten }));
    keys.push(match v.rectangle {
        Some(_) => say::key(sight, "flat", Intent::Flat { view: v.id }),
        None => say::key(sight, "square-on", Intent::Tool { tool: Tool::SquareOn }),
    });
    keys.extend(slanted_key(sight, v));
    keys.extend(back_key(sight, v));
    keys.extend(scale_from_keys(sight, v));
    if v.two_scales {
        keys.push(say::key(sight, "one-scale", Intent::TwoScales { view: v.id, on: false }));
    }
    keys.push(say::key(sight, "remove-view", Intent::RemoveView { view: v.id }).guarded());
    keys.push(say::key(sight, "view-box", Intent::Tool { tool: Tool::ViewBox }));
    keys.push(say::key(sight, "next-true-length", Intent::Go { step: StepName::TrueLength }).main());
    keys
}

/// What can be done with a side of a box.
fn side_keys(sight: &Sight, of: u32) -> Vec<Key> {
    vec![
        say::key(sight, "view-name", Intent::Ask { about: About::ViewName }),
        say::key(sight, "remove-box", Intent::RemoveView { view: of }).guarded(),
        say::key(sight, "view-box", Intent::Tool { tool: Tool::ViewBox }),
        say::key(sight, "next-true-length", Intent::Go { step: StepName::TrueLength }).main(),
    ]
}

/// A view on another may stand behind it.
fn back_key(sight: &Sight, v: &View) -> Option<Key> {
    if v.behind.is_some() {
        let not = Intent::StandsBack {
            view: v.id,
            from: None,
            back: None,
            before: false,
            pm: None,
            away: None,
            away_pm: None,
        };
        return Some(say::key(sight, "stands-back", not).pressed(true));
    }
    crate::job::view_tools::stands_before(sight.document, v)?;
    Some(say::key(sight, "stands-back", Intent::Ask { about: About::Back }))
}

/// Whose scale a view takes: that of another with true lengths of its own, when a person says so.
fn scale_from_keys(sight: &Sight, v: &View) -> Vec<Key> {
    let key = |other: &View| {
        let on = v.scale_from == Some(other.id);
        let from = if on { None } else { Some(other.id) };
        let label = sight.say(&Say::new("key.scale-from").text("view", sight.view_name(other)));
        let id = format!("scale-from-{}", other.id);
        say::key(sight, &id, Intent::ScaleFrom { view: v.id, from }).labelled(label).pressed(on)
    };
    let own = |id: u32| sight.reckoned.mapped(id).is_some_and(|m| m.origin.lengths == Some(id));
    let others = sight.document.views.iter().filter(|o| o.picture == v.picture && o.id != v.id && own(o.id));
    others.map(key).collect()
}

fn tool_key(sight: &Sight, tool: Tool) -> Key {
    let id = format!("tool-{}", tool_name(tool));
    say::key(sight, &id, Intent::Tool { tool }).pressed(sight.hand.tool == tool)
}

fn length_keys(sight: &Sight) -> Vec<Key> {
    vec![
        tool_key(sight, Tool::Length),
        tool_key(sight, Tool::LengthFromCentre),
        tool_key(sight, Tool::LengthFromLine),
        tool_key(sight, Tool::Boxed),
        tool_key(sight, Tool::Circle).labelled(sight.word("key.something-round")),
        say::key(sight, "caption", Intent::Ask { about: About::Caption }),
        say::key(sight, "next-marks", Intent::Go { step: StepName::Marks }).main(),
    ]
}

fn tool_keys(sight: &Sight) -> Vec<Key> {
    let mut keys: Vec<Key> = [
        Tool::Length,
        Tool::Circle,
        Tool::Outline,
        Tool::Path,
        Tool::Angle,
        Tool::Arc,
        Tool::Point,
        Tool::Gap,
        Tool::Crossing,
        Tool::LengthFromCentre,
        Tool::LengthFromLine,
    ]
    .map(|t| tool_key(sight, t))
    .to_vec();
    let document = sight.document;
    let on_picture = |v: &&View| Some(v.picture) == sight.hand.picture && !v.whole;
    let views: Vec<u32> = document.views.iter().filter(on_picture).map(|v| v.id).collect();
    if sight.hand.tool == Tool::Outline && shape::can_take_outlines(&document.marks, sight.reckoned, &views) {
        keys.push(say::key(sight, "take-outlines", Intent::TakeOutlines));
    }
    let (id, table) = match sight.hand.table {
        TableName::Sizes => ("show-ratios", TableName::Ratios),
        TableName::Ratios => ("show-sizes", TableName::Sizes),
    };
    keys.push(say::key(sight, id, Intent::Show { table }));
    keys.push(say::key(sight, "next-build", Intent::Go { step: StepName::Build }).main());
    keys
}

fn build_keys(sight: &Sight) -> Vec<Key> {
    let u = sight.units;
    let mut keys = Vec::new();
    for (id, style) in [
        ("style-inches", Style::Inches),
        ("style-feet", Style::FeetInches),
        ("style-decimal", Style::DecimalInches),
        ("style-mm", Style::Millimetres),
    ] {
        let step = u.step.within(style);
        let set = Intent::SetUnits { style, step, direction: u.direction };
        keys.push(say::key(sight, id, set).pressed(u.style == style));
    }
    let all = Step::all(u.style);
    let at = all.iter().position(|s| *s == u.step).unwrap_or(0);
    for (id, to) in [("step-finer", at + 1), ("step-coarser", at.wrapping_sub(1))] {
        let mut key = match all.get(to) {
            Some(step) => {
                say::key(sight, id, Intent::SetUnits { style: u.style, step: *step, direction: u.direction })
            }
            None => say::key(sight, id, Intent::LetGo),
        };
        if all.get(to).is_none() {
            key.intent = None;
        }
        keys.push(key);
    }
    let next = match u.direction {
        Direction::Nearest => ("round-up", Direction::Up),
        Direction::Up => ("round-down", Direction::Down),
        Direction::Down => ("round-nearest", Direction::Nearest),
    };
    keys.push(say::key(sight, next.0, Intent::SetUnits { style: u.style, step: u.step, direction: next.1 }));
    keys.push(say::key(sight, "work", Intent::Ask { about: About::Work }));
    keys.push(say::key(sight, "build-scale", Intent::Ask { about: About::BuildScale }));
    keys.push(say::key(sight, "build-percent", Intent::Ask { about: About::BuildPercent }));
    if sight.document.build != Build::None {
        keys.push(say::key(sight, "clear-build", Intent::ClearBuild));
    }
    if sight.reckoned.factor.is_some() && sight.told.iter().all(|t| t.finished.is_none()) {
        keys.push(say::key(sight, "next-true-length", Intent::Go { step: StepName::TrueLength }).main());
    }
    // A point, an angle or an outline has no one length that could be wanted.
    if sight.hand.selected.is_some_and(|m| crate::job::apply::need_length(sight.document, m).is_ok()) {
        keys.push(say::key(sight, "build-this", Intent::Ask { about: About::Build }).main());
    }
    keys
}
