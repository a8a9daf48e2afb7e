//! What is drawn over the picture.

use super::{Shelf, Sight, rows, say};
use crate::job::document::{Hold, Mark, Placing, View};
use crate::job::hand::Held;
use crate::job::intent::{At, Tool};
use crate::job::reckon::Reading;
use crate::job::scene::{Hand, HoldShown, MarkShown, ViewShown};
use crate::job::shape::mm_a_px;
use crate::job::view_tools::box_between;
use crate::mark::{Dimension, Role, Shape, Stroke, need, shape};
use crate::raster::ask::What;
use crate::words::{Arg, Say};
use std::rc::Rc;

/// An end put worse than this, picture px, was put without looking close.
const ROUGH: f64 = 2.5;

fn pair(p: At) -> [f64; 2] {
    [p.x, p.y]
}

/// All views.
pub fn views(sight: &Sight) -> Vec<ViewShown> {
    sight.document.views.iter().map(|v| view(sight, v)).collect()
}

fn view(sight: &Sight, v: &View) -> ViewShown {
    ViewShown {
        id: v.id,
        picture: v.picture,
        name: sight.view_name(v),
        role: v.role,
        whole: v.whole,
        corners: v.corners().map(pair).to_vec(),
        label_at: label_at(v),
        rectangle: v.rectangle.as_ref().map(|r| r.corners.iter().map(|c| pair(c.at)).collect()),
        scale: super::notes::scale_words(sight, v),
        selected: sight.hand.view == Some(v.id),
    }
}

/// At its lower left corner; sides of a box share theirs, so that each has its name in its middle.
fn label_at(v: &View) -> [f64; 2] {
    let [a, b, c, d] = v.corners();
    match v.face {
        Some(_) => [(a.x + b.x + c.x + d.x) / 4.0, (a.y + b.y + c.y + d.y) / 4.0],
        None => pair(d),
    }
}

/// All marks.
pub fn marks(sight: &Sight, shelf: &mut Shelf) -> Vec<Rc<MarkShown>> {
    sight
        .reckoned
        .marks
        .iter()
        .map(|r| {
            let make = || mark(sight, &r.made_from, r);
            shelf.mark(r, sight.told_rc(r.mark), sight.in_hand(r.mark), make)
        })
        .collect()
}

fn mark(sight: &Sight, m: &Mark, reading: &Reading) -> MarkShown {
    let at = m.line();
    let drawn = match sight.reckoned.map(reading.view) {
        Some(map) => shape(m.kind, m.ends, &at, map),
        // Without a map the bare points are joined.
        None => Shape {
            strokes: vec![Stroke { points: at.clone(), closed: false, role: Role::Mark }],
            label: at.first().copied().unwrap_or_default(),
            ..Shape::default()
        },
    };
    let strokes = |role: Role| -> Vec<Vec<[f64; 2]>> {
        drawn
            .strokes
            .iter()
            .filter(|s| s.role == role)
            .map(|s| {
                let mut line: Vec<[f64; 2]> = s.points.iter().map(|p| pair(*p)).collect();
                if s.closed {
                    line.extend(line.first().copied());
                }
                line
            })
            .collect()
    };
    MarkShown {
        id: m.id,
        picture: m.picture,
        number: m.number,
        line: rows::line(m.number),
        paths: strokes(Role::Mark).into_iter().chain(holes(m)).collect(),
        thin: strokes(Role::Help).into_iter().chain(bridges(m)).chain(m.centre.map(line)).collect(),
        vees: drawn.ends.iter().map(|e| [e.at.x, e.at.y, libm::atan2(e.out[1], e.out[0])]).collect(),
        dots: place(reading),
        handles: m.points.iter().filter(|p| !m.fitted && !p.between).map(|p| pair(p.at)).collect(),
        label_at: pair(drawn.label),
        caption: caption(sight, m.id),
        known: m.known.is_some(),
        selected: sight.hand.selected == Some(m.id),
        held: sight.in_hand(m.id).1,
        open: sight.hand.open == Some(m.id) || m.points.len() < need(m.kind, m.ends).0,
    }
}

/// The holes of an outline that was found.
fn holes(m: &Mark) -> Vec<Vec<[f64; 2]>> {
    let ring = |h: &Vec<Placing>| h.iter().chain(h.first()).map(|p| pair(p.at)).collect();
    m.holes.iter().map(ring).collect()
}

fn line(ends: [At; 2]) -> Vec<[f64; 2]> {
    ends.map(pair).to_vec()
}

/// Where a gap in its line was bridged.
fn bridges(m: &Mark) -> Vec<Vec<[f64; 2]>> {
    let border = m.border.iter();
    border.flat_map(|b| &b.bridges).map(|b| b.map(pair).to_vec()).collect()
}

/// The balance point of an outline, the centre of something round.
fn place(reading: &Reading) -> Vec<[f64; 2]> {
    let found = reading.measures.as_ref().ok().and_then(|m| m.place);
    found.map(pair).into_iter().collect()
}

/// The size that stands beside a mark.
fn caption(sight: &Sight, mark: u32) -> String {
    let Some(told) = sight.told(mark) else { return String::new() };
    match told.shown().filter(|_| !told.what.is_place()) {
        Some(e) => {
            let figure = say::figure(sight, told.what, e.value, told.rounded);
            if told.what.dimension() == Dimension::Angle { figure.with_unit() } else { figure.text }
        }
        None => String::new(),
    }
}

/// What the places touched so far make: a box, a row of corners, a line.
pub fn pending(sight: &Sight) -> Vec<Vec<[f64; 2]>> {
    let at: Vec<At> = sight.hand.pending.iter().map(|t| t.at).collect();
    let mut line: Vec<At> = match (sight.hand.tool, at.as_slice()) {
        (Tool::ViewBox, [a, b]) => {
            box_between(*a, *b, sight.document, sight.hand.picture.unwrap_or(0)).corners().to_vec()
        }
        _ => at.clone(),
    };
    if line.len() == 4 && sight.hand.tool != Tool::Again {
        line.extend(line.first().copied());
    }
    if sight.hand.tool == Tool::CutOff {
        line.truncate(2);
    }
    if let Some(halves) = sight.hand.halves {
        line = halves.even.axis.to_vec();
    }
    if let Some(offer) = sight.hand.offer {
        line = [0, 1, 2, 3, 0].map(|i| offer[i].at).to_vec();
    }
    if sight.hand.tool == Tool::Boxed {
        return crate::job::boxes::edges_touched(sight.hand).into_iter().map(self::line).collect();
    }
    let mut lines = if line.len() < 2 { Vec::new() } else { vec![line.into_iter().map(pair).collect()] };
    if sight.hand.tool == Tool::Straighten {
        let sheet = sight.hand.picture.and_then(|p| sight.document.picture(p));
        let edges = sheet.iter().flat_map(|s| &s.straight);
        lines.extend(edges.map(|e| e.points.iter().map(|p| pair(*p)).collect()));
    }
    lines
}

/// The end in hand.
pub fn hand(sight: &Sight) -> Option<Hand> {
    match sight.hand.held? {
        Held::Mark { mark, point } => {
            let m = sight.document.mark(mark)?;
            let p = m.points.get(usize::from(point))?;
            let what = Say::new("hand.end")
                .with("end", Arg::Say(Box::new(say::end_say(sight, mark, point))))
                .count("mark", m.number as usize);
            Some(Hand {
                mark: Some(mark),
                point,
                at: pair(p.at),
                what: sight.say(&what),
                good: good(sight, m, p),
                holding: holding(sight, p.hold),
                hold: hold(sight, p.hold),
            })
        }
        Held::Pending(i) => {
            let t = sight.hand.pending.get(i)?;
            let named = match sight.hand.tool {
                Tool::Boxed => crate::job::boxes::letter(sight.hand, i),
                _ => (i + 1).to_string(),
            };
            let what = sight.say(&Say::new("hand.corner").text("number", named));
            let point = u16::try_from(i).unwrap_or(0);
            let (holding, hold) = (holding(sight, t.hold), hold(sight, t.hold));
            Some(Hand { mark: None, point, at: pair(t.at), what, good: String::new(), holding, hold })
        }
    }
}

/// What an end holds on to, or would, to be drawn.
fn hold(sight: &Sight, held: Option<Hold>) -> Option<HoldShown> {
    let caught = sight.hand.glimpse.or(held.map(|h| h.caught))?;
    let glimpse = sight.hand.glimpse.is_some();
    Some(HoldShown { at: pair(caught.at), along: caught.along, half: caught.half, glimpse })
}

/// The same in words.
fn holding(sight: &Sight, held: Option<Hold>) -> String {
    let Some(caught) = sight.hand.glimpse.or(held.map(|h| h.caught)) else { return String::new() };
    sight.word(match caught.what {
        What::Edge => "hand.holds-edge",
        What::Line => "hand.holds-line",
        What::End => "hand.holds-end",
        What::Corner => "hand.holds-corner",
    })
}

/// How good the place of an end is: in the wood when a size is known, otherwise on the picture.
fn good(sight: &Sight, m: &Mark, p: &Placing) -> String {
    let sigma = p.across();
    let reading = sight.reckoned.reading(m.id);
    let per_px = reading.and_then(|r| mm_a_px(sight.reckoned, r, m.points.first()?.at));
    let half = 1.96 * sigma;
    let rough = sigma > ROUGH;
    match per_px {
        Some(k) => {
            let figure = sight.plus_minus(half * k);
            // "good to 1⁄64 in the wood" has its "in" already.
            let pm = if sight.units.style.is_metric() { figure.with_unit() } else { figure.text };
            sight
                .say(&Say::new(if rough { "hand.rough-in-wood" } else { "hand.good-in-wood" }).text("pm", pm))
        }
        None if rough => sight.word("hand.rough"),
        None => sight.say(&Say::new("hand.good-on-picture").text("pm", sight.number(half, 1))),
    }
}
