//! Touching the corners of a box one after the other, and saying how long one of its edges is; how far a view stands behind.

use super::apply::{self, TOUCHED};
use super::desk::Desk;
use super::document::BoxGiven;
use super::hand::{Hand, Held, Touch, Typing};
use super::intent::{About, At, How, Intent, Length, Way};
use super::vouched;
use crate::view::box_order;
use crate::words::Say;

/// So many corners of a box are asked for, one of which may be hidden.
const ASKED: usize = 7;

/// How many touches a box takes.
pub(super) fn wanted(hand: &Hand) -> usize {
    ASKED - usize::from(hand.hidden.is_some())
}

/// Which corner touch number `i` is of, counted as they are asked for.
pub(super) fn asked(hand: &Hand, i: usize) -> usize {
    i + usize::from(hand.hidden.is_some_and(|h| h <= i))
}

/// What touch number `i` of a box is called.
pub(super) fn letter(hand: &Hand, i: usize) -> String {
    let at = u8::try_from(asked(hand, i)).unwrap_or(0);
    char::from(b'A' + at.min(25)).to_string()
}

/// Where about the corner is that is asked for next, and the corners from which edges lead there; nothing before
/// three edges from the nearest corner are there.
pub(super) fn expected(hand: &Hand) -> Option<(At, Vec<At>)> {
    let n = hand.pending.len();
    let k = *TOUCHED.get(asked(hand, n)).filter(|k| k.count_ones() > 1 && n < wanted(hand))?;
    let places = places(hand);
    let near = places[0]?.at;
    let (mut at, mut from) = (near, Vec::new());
    for bit in [1, 2, 4].into_iter().filter(|bit| k & bit != 0) {
        at = at + (places[bit]?.at - near);
        from.push(places[bit]?.at);
    }
    Some((at, from))
}

/// The corner that is asked for can't be seen.
///
/// # Errors
/// `job.one-hidden` where one is hidden already, or it is the one where the sides meet.
pub(super) fn hidden(desk: &mut Desk) -> Result<(), Say> {
    let next = desk.hand.pending.len();
    if desk.hand.hidden.is_some() || next == 0 || next >= ASKED {
        return Err(Say::new("job.one-hidden"));
    }
    desk.hand.hidden = Some(next);
    desk.hand.held = None;
    if next == wanted(&desk.hand) { all_touched(desk) } else { Ok(()) }
}

/// The touches in the places of a box's corners.
fn places(hand: &Hand) -> [Option<Touch>; 8] {
    let mut all = [None; 8];
    for (i, touch) in hand.pending.iter().enumerate() {
        if let Some(k) = TOUCHED.get(asked(hand, i)) {
            all[*k] = Some(*touch);
        }
    }
    all
}

/// The edges between corners that were touched, to be drawn.
pub(super) fn edges_touched(hand: &Hand) -> Vec<[At; 2]> {
    let places = places(hand);
    let mut lines = Vec::new();
    for (k, from) in places.iter().enumerate() {
        for bit in [1, 2, 4].into_iter().filter(|bit| k & bit == 0) {
            if let (Some(a), Some(Some(b))) = (from, places.get(k | bit)) {
                lines.push([a.at, b.at]);
            }
        }
    }
    lines
}

/// All corners are there: those that were mixed up are put right, which is said, and the first edge is asked for.
pub(super) fn all_touched(desk: &mut Desk) -> Result<(), Say> {
    let places = places(&desk.hand);
    let picture = desk.hand.picture.unwrap_or(0);
    let sheet = desk.document().picture(picture).ok_or_else(|| Say::new("job.no-picture-yet"))?;
    let mut corners = [None; 8];
    for (corner, touch) in corners.iter_mut().zip(&places) {
        let Some(t) = touch else { continue };
        let put = apply::placing(t.at, t.by, t.zoom, t.seen)?;
        *corner = Some(super::document::Placing { hold: t.hold, ..put });
    }
    let given = BoxGiven { id: 0, picture, corners, edges: [None; 3] };
    if let Some(order) = box_order(&vouched::boxed(&given), &vouched::camera(sheet))? {
        let put = |i: &usize| order[*i].and_then(|k| places[k]);
        desk.hand.hidden = TOUCHED[..ASKED].iter().position(|k| put(k).is_none());
        desk.hand.pending = TOUCHED[..ASKED].iter().filter_map(put).collect();
        desk.hand.held = desk.hand.pending.len().checked_sub(1).map(Held::Pending);
        desk.hand.said = Some(Say::new("aside.box-ordered"));
    }
    ask(desk, About::BoxFront);
    Ok(())
}

fn ask(desk: &mut Desk, about: About) {
    desk.hand.entry = Some(Typing { about, text: String::new(), how: How::default(), of: 0 });
}

/// One edge is enough; each may be left open, and with the last the box is there all the same.
pub(super) fn edge(desk: &mut Desk, about: About, text: &str, way: Way) -> Result<Option<Intent>, Say> {
    let n = match about {
        About::BoxFront => 0,
        About::BoxEnd => 1,
        _ => 2,
    };
    let mut edges = vec![None; 3];
    if way != Way::Open {
        let mm = apply::length(&Length::Text(text.to_owned()), desk.document().units.style)?;
        edges[n] = Some(Length::Mm { mm });
    } else if let Some(next) = [About::BoxEnd, About::BoxUpright].get(n) {
        ask(desk, *next);
        return Ok(None);
    }
    fact(&desk.hand, edges).map(Some)
}

fn fact(hand: &Hand, edges: Vec<Option<Length>>) -> Result<Intent, Say> {
    let places = places(hand);
    let worst = hand.pending.iter().min_by(|a, b| a.zoom.total_cmp(&b.zoom));
    let worst = worst.ok_or_else(|| Say::new("view.box-six"))?;
    let inside = TOUCHED.map(|k| places[k]);
    let caught = inside.iter().any(|t| t.is_some_and(|t| t.hold.is_some()));
    Ok(Intent::Boxed {
        picture: hand.picture.unwrap_or(0),
        corners: inside.iter().map(|t| t.map(|t| t.at)).collect(),
        edges,
        by: worst.by,
        zoom: worst.zoom,
        seen: hand.pending.iter().all(|t| t.seen),
        caught: match caught {
            true => inside.iter().map(|t| t.and_then(|t| t.hold).map(|h| h.caught)).collect(),
            false => Vec::new(),
        },
    })
}

/// How far behind another view the chosen one stands; then, where the picture doesn't tell, how far the camera stood.
pub(super) fn back(desk: &mut Desk, typing: &Typing, way: Way) -> Result<Option<Intent>, Say> {
    let document = desk.document();
    let mm = apply::length(&Length::Text(typing.text.trim().to_owned()), document.units.style)?;
    let view = document.view(typing.of).ok_or_else(|| Say::new("job.choose-a-view"))?;
    let from = view.behind.map(|b| b.from).or_else(|| super::view_tools::stands_before(document, view));
    let from = from.ok_or_else(|| Say::new("job.back-from-itself"))?;
    if typing.about == About::Away {
        let [back, before] = [desk.hand.rectangle[0], desk.hand.rectangle[1]];
        let back = back.ok_or_else(|| Say::new("job.no-keypad"))?;
        return Ok(Some(stands(view.id, from, back, before.is_some(), Some(mm))));
    }
    let before = way == Way::Always;
    let told = desk.reckoned.mapped(from).and_then(|m| m.fit.as_ref().ok()).is_some_and(|f| f.away.is_some());
    if told {
        return Ok(Some(stands(view.id, from, mm, before, None)));
    }
    desk.hand.rectangle = [Some(mm), before.then_some(mm)];
    ask(desk, About::Away);
    if let Some(entry) = &mut desk.hand.entry {
        entry.of = typing.of;
    }
    Ok(None)
}

fn stands(view: u32, from: u32, back: f64, before: bool, away: Option<f64>) -> Intent {
    let length = |mm: f64| Length::Mm { mm };
    Intent::StandsBack {
        view,
        from: Some(from),
        back: Some(length(back)),
        before,
        pm: None,
        away: away.map(length),
        away_pm: None,
    }
}
