//! What touches and keys do. A gesture moves the hand; one that finishes something takes a fact into the log.

use super::desk::Desk;
use super::document::Mark;
use super::hand::{Held, Touch, Typing};
use super::intent::{About, At, How, Intent, StepName, Tool};
use super::typing;
use super::{boxes, seek, shape, view_tools};
use crate::WHOLE;
use crate::mark::{By, Ends, Kind, need};
use crate::words::Say;

/// Most places that can be pending (a rectangle's corners, or a mark made again).
const MOST_PENDING: usize = 2_000;

pub(super) fn perform(desk: &mut Desk, intent: Intent) -> Result<(), Say> {
    let left = turns_away(desk, &intent).then_some(desk.hand.open).flatten();
    make(desk, intent)?;
    left.map_or(Ok(()), |mark| drop_half(desk, mark))
}

fn make(desk: &mut Desk, intent: Intent) -> Result<(), Say> {
    match intent {
        Intent::Go { step } => go(desk, step),
        Intent::ShowPicture { picture } => show_picture(desk, picture),
        Intent::Tool { tool } => choose_tool(desk, tool),
        Intent::Tap { at, by, zoom, reach } => {
            tap(desk, Touch { at, by, zoom, seen: false, hold: None }, reach)
        }
        Intent::Nudge { by, zoom } => nudge(desk, by, zoom),
        Intent::OtherEnd => other_end(desk),
        Intent::Found { serial, found } => seek::found(desk, serial, found),
        Intent::Loosen => seek::loosen(desk),
        Intent::LetGo => let_go(desk),
        Intent::Forget => forget(desk),
        Intent::Hidden if WHOLE => boxes::hidden(desk),
        Intent::Hold { mark, point } => hold(desk, mark, point),
        Intent::Select { mark } => select(desk, mark),
        Intent::Show { table } => {
            desk.hand.table = table;
            Ok(())
        }
        Intent::Ask { about } => ask(desk, about),
        Intent::OpenPart { part } if WHOLE => {
            desk.hand.part = part.filter(|p| desk.document().is_part(*p));
            Ok(())
        }
        Intent::AskPart { mark, about } if WHOLE => typing::ask_part(desk, mark, about),
        Intent::Entry { text } => typing::entry(desk, text),
        Intent::EntryHow { how } => typing::how(desk, how),
        Intent::Accept { way } => typing::accept(desk, way),
        Intent::Dismiss => {
            desk.hand.entry = None;
            Ok(())
        }
        Intent::Remember { printers } if WHOLE => {
            desk.hand.printers = printers;
            Ok(())
        }
        Intent::Want { wish } => shape::wish(desk, wish),
        Intent::TakeOutlines => shape::take_outlines(desk),
        Intent::Hush { note } => {
            desk.hand.hushed.insert(note, ());
            Ok(())
        }
        _ => Err(Say::new("job.not-a-gesture")),
    }
}

/// The hand turns to something else than the mark that still needs places.
fn turns_away(desk: &Desk, intent: &Intent) -> bool {
    match intent {
        Intent::Go { .. } | Intent::ShowPicture { .. } | Intent::Tool { .. } => true,
        Intent::Select { mark } => *mark != desk.hand.open,
        Intent::Hold { mark, .. } => Some(*mark) != desk.hand.open,
        _ => false,
    }
}

/// Takes away a mark that was left half placed; whole ones stay.
fn drop_half(desk: &mut Desk, mark: u32) -> Result<(), Say> {
    let half = desk.document().mark(mark).is_some_and(|m| m.points.len() < need(m.kind, m.ends).0);
    if half { desk.take(Intent::DeleteMark { mark }) } else { Ok(()) }
}

fn go(desk: &mut Desk, step: StepName) -> Result<(), Say> {
    let hand = &mut desk.hand;
    let picture = hand.picture;
    hand.empty();
    hand.step = step;
    hand.picture = picture;
    hand.tool = Tool::Length;
    if step != StepName::Picture {
        hand.view = None;
    }
    Ok(())
}

fn show_picture(desk: &mut Desk, picture: u32) -> Result<(), Say> {
    if desk.document().picture(picture).is_none() {
        return Err(Say::new("job.no-such-picture").count("picture", picture as usize));
    }
    desk.hand.empty();
    desk.hand.picture = Some(picture);
    Ok(())
}

fn choose_tool(desk: &mut Desk, tool: Tool) -> Result<(), Say> {
    if needs_chosen(tool) {
        let mark = desk.hand.selected.ok_or_else(|| Say::new("job.choose-a-mark"))?;
        desk.hand.empty();
        desk.hand.selected = Some(mark);
    } else {
        desk.hand.empty();
    }
    desk.hand.tool = tool;
    if tool == Tool::SquareOn {
        desk.hand.rectangle = [None, None];
    }
    Ok(())
}

/// What this tool makes is made of the chosen mark.
pub(super) fn needs_chosen(tool: Tool) -> bool {
    matches!(tool, Tool::Again | Tool::JoinWith | Tool::CutOff | Tool::Knot)
}

/// The kind of mark that a tool makes, and how its points stand.
pub(super) fn kind_of(tool: Tool) -> Option<(Kind, Ends)> {
    match tool {
        Tool::Length => Some((Kind::Length, Ends::Between)),
        Tool::LengthFromCentre => Some((Kind::Length, Ends::FromCentre)),
        Tool::LengthFromLine => Some((Kind::Length, Ends::FromLine)),
        Tool::Path => Some((Kind::Path, Ends::Between)),
        Tool::Angle => Some((Kind::Angle, Ends::Between)),
        Tool::Circle => Some((Kind::Circle, Ends::Between)),
        Tool::Arc => Some((Kind::Arc, Ends::Between)),
        Tool::Outline => Some((Kind::Outline, Ends::Between)),
        Tool::Point => Some((Kind::Point, Ends::Between)),
        Tool::Gap => Some((Kind::Gap, Ends::Between)),
        Tool::Crossing => Some((Kind::Crossing, Ends::Between)),
        Tool::ViewBox
        | Tool::ViewLevel
        | Tool::ViewSplit
        | Tool::ViewMerge
        | Tool::SquareOn
        | Tool::JoinWith
        | Tool::CutOff
        | Tool::Knot
        | Tool::Straighten
        | Tool::Boxed
        | Tool::Again => None,
    }
}

/// The most points that touches put on a mark: an arc takes three, then it is done.
pub(super) fn fills_at(kind: Kind, ends: Ends) -> usize {
    match kind {
        Kind::Arc => 3,
        Kind::Path | Kind::Circle | Kind::Outline => usize::MAX,
        _ => need(kind, ends).1,
    }
}

fn tap(desk: &mut Desk, touch: Touch, reach: f64) -> Result<(), Say> {
    let picture = desk.hand.picture.ok_or_else(|| Say::new("job.no-picture-yet"))?;
    if !(touch.at.is_finite() && touch.zoom.is_finite() && touch.zoom > 0.0) {
        return Err(Say::new("job.point-not-a-place"));
    }
    desk.hand.glimpse = None;
    match (desk.hand.step, desk.hand.tool) {
        (_, Tool::ViewMerge) => view_tools::view_merge(desk, picture, touch.at),
        (_, Tool::JoinWith) => shape::join_with(desk, picture, touch.at),
        (_, Tool::Knot) => shape::put_knot(desk, touch.at),
        (
            _,
            Tool::ViewBox
            | Tool::ViewLevel
            | Tool::ViewSplit
            | Tool::SquareOn
            | Tool::CutOff
            | Tool::Straighten
            | Tool::Boxed
            | Tool::Again,
        ) => pend(desk, touch),
        (StepName::TrueLength | StepName::Marks, tool) => place_or_pick(desk, picture, tool, touch, reach),
        (StepName::Picture, _) => {
            desk.hand.view = view_touched(desk, picture, touch.at);
            Ok(())
        }
        (StepName::Build | StepName::Lists, _) => {
            desk.hand.selected = touched(desk, picture, touch, reach).map(|(mark, _)| mark);
            Ok(())
        }
    }
}

pub(super) fn view_touched(desk: &Desk, picture: u32, at: At) -> Option<u32> {
    let doc = desk.document();
    doc.views
        .iter()
        .filter(|v| v.picture == picture && !v.whole && v.holds(at))
        .min_by(|a, b| a.bounds.area().total_cmp(&b.bounds.area()))
        .map(|v| v.id)
}

/// The end of a mark within reach of a touch. A touch in one view means nothing that lies in another beside it.
fn touched(desk: &Desk, picture: u32, touch: Touch, reach: f64) -> Option<(u32, u16)> {
    let r = reach / touch.zoom;
    let here = view_touched(desk, picture, touch.at);
    let document = desk.document();
    let elsewhere = |m: &Mark| {
        let own =
            document.view_at(picture, &m.points).filter(|v| document.view(*v).is_some_and(|v| !v.whole));
        here.is_some() && own.is_some() && own != here
    };
    let mut best: Option<(f64, u32, u16)> = None;
    for m in desk.document().marks.iter().filter(|m| m.picture == picture && !m.fitted) {
        for (i, p) in m.points.iter().enumerate().filter(|(_, p)| !p.between) {
            let d = p.at.distance(touch.at);
            if d <= r && best.is_none_or(|(b, ..)| d < b) && !elsewhere(m) {
                best = Some((d, m.id, u16::try_from(i).unwrap_or(u16::MAX)));
            }
        }
    }
    best.map(|(_, mark, point)| (mark, point))
}

fn place_or_pick(desk: &mut Desk, picture: u32, tool: Tool, touch: Touch, reach: f64) -> Result<(), Say> {
    if desk.hand.entry.as_ref().is_some_and(|e| e.text.is_empty() || e.about != About::Length) {
        desk.hand.entry = None;
    }
    if let Some(open) = desk.hand.open {
        return add_to(desk, open, picture, touch, reach);
    }
    if let Some((mark, point)) = touched(desk, picture, touch, reach) {
        // A touch on the end in hand means to put a new one there.
        if desk.hand.held != Some(Held::Mark { mark, point }) {
            return hold(desk, mark, point);
        }
    }
    if tool == Tool::Outline && shape::take_offered(desk, picture, touch.at)? {
        return Ok(());
    }
    let (kind, ends) = kind_of(tool).unwrap_or((Kind::Length, Ends::Between));
    desk.take(Intent::Place {
        picture,
        mark: kind,
        points: vec![touch.at],
        ends,
        by: touch.by,
        zoom: touch.zoom,
        seen: touch.seen,
        name: String::new(),
    })?;
    let id = desk.document().last[2];
    desk.hand.selected = Some(id);
    desk.hand.open = (need(kind, ends).0 > 1).then_some(id);
    desk.hand.held = Some(Held::Mark { mark: id, point: 0 });
    seek::want_point(desk, touch);
    Ok(())
}

/// One more point on the open mark; an outline touched at its first point is closed.
fn add_to(desk: &mut Desk, open: u32, picture: u32, touch: Touch, reach: f64) -> Result<(), Say> {
    let Some(mark) = desk.document().mark(open).filter(|m| m.picture == picture) else {
        desk.hand.open = None;
        return Err(Say::new("job.no-such-mark").count("mark", open as usize));
    };
    let (kind, ends, had) = (mark.kind, mark.ends, mark.points.len());
    let first = mark.points.first().map(|p| p.at);
    let closes = kind == Kind::Outline
        && had >= 3
        && first.is_some_and(|f| f.distance(touch.at) <= reach / touch.zoom);
    if closes {
        seek::want_last_stretch(desk, open);
        return let_go(desk);
    }
    desk.take(Intent::AddPoint {
        mark: open,
        at: touch.at,
        by: touch.by,
        zoom: touch.zoom,
        seen: touch.seen,
    })?;
    desk.hand.selected = Some(open);
    desk.hand.held = Some(Held::Mark { mark: open, point: u16::try_from(had).unwrap_or(u16::MAX) });
    seek::want_point(desk, touch);
    if had + 1 >= fills_at(kind, ends) {
        desk.hand.open = None;
        if desk.hand.step == StepName::TrueLength && kind == Kind::Length {
            typing::ask_how_long(desk, open);
        }
    }
    Ok(())
}

/// Whether what is pending for a tool holds on to what is found where it was put.
pub(super) fn catches(tool: Tool) -> bool {
    matches!(tool, Tool::SquareOn | Tool::Boxed | Tool::Again)
}

/// A touch for a box, a level line, four corners, or a mark made again.
fn pend(desk: &mut Desk, touch: Touch) -> Result<(), Say> {
    if desk.hand.pending.len() >= MOST_PENDING {
        return Err(Say::new("job.too-many-points"));
    }
    desk.hand.offer = None;
    desk.hand.pending.push(touch);
    desk.hand.held = Some(Held::Pending(desk.hand.pending.len() - 1));
    if catches(desk.hand.tool) {
        seek::want_end(desk, touch);
    }
    let wanted = match desk.hand.tool {
        Tool::ViewBox | Tool::ViewLevel | Tool::ViewSplit | Tool::Straighten => 2,
        Tool::SquareOn => 4,
        Tool::Boxed if WHOLE => boxes::wanted(&desk.hand),
        Tool::CutOff => 3,
        _ => desk.hand.selected.and_then(|m| desk.document().mark(m)).map_or(0, |m| m.points.len()),
    };
    if desk.hand.pending.len() > wanted {
        desk.hand.pending.truncate(wanted);
        desk.hand.held = wanted.checked_sub(1).map(Held::Pending);
    }
    if WHOLE && let (Tool::Straighten, [a, b]) = (desk.hand.tool, desk.hand.pending.as_slice()) {
        seek::want_bowed(desk, a.at, b.at);
    }
    if desk.hand.tool == Tool::CutOff && desk.hand.pending.len() == wanted {
        return shape::cut_off(desk);
    }
    if desk.hand.tool == Tool::SquareOn && desk.hand.pending.len() == wanted {
        put_in_order(desk);
        ask_width(desk);
    }
    if WHOLE && desk.hand.tool == Tool::Boxed && desk.hand.pending.len() == wanted {
        boxes::all_touched(desk)?;
    }
    Ok(())
}

/// Four corners are there: how wide is it?
fn ask_width(desk: &mut Desk) {
    desk.hand.entry = Some(Typing { about: About::Width, text: String::new(), how: How::default(), of: 0 });
}

/// Four corners that were touched across one another are put in order round their shape, and that is said.
fn put_in_order(desk: &mut Desk) {
    let hand = &mut desk.hand;
    let [a, b, c, d] = hand.pending[..] else { return };
    let Some(order) = crate::view::in_order(&[a.at, b.at, c.at, d.at]) else { return };
    hand.pending = order.iter().map(|i| hand.pending[*i]).collect();
    if let Some(Held::Pending(held)) = hand.held {
        hand.held = order.iter().position(|i| *i == held).map(Held::Pending);
    }
    hand.said = Some(Say::new("aside.corners-ordered"));
}

/// Makes what is pending into a fact, once it has all its places.
pub(super) fn finish_pending(desk: &mut Desk) -> Result<(), Say> {
    if desk.hand.tool == Tool::SquareOn && seek::take_offer(desk) {
        ask_width(desk);
        return Ok(());
    }
    let at: Vec<At> = desk.hand.pending.iter().map(|t| t.at).collect();
    match desk.hand.tool {
        Tool::ViewBox => view_tools::view_box(desk, &at)?,
        Tool::ViewLevel => view_tools::view_level(desk, &at)?,
        Tool::ViewSplit => view_tools::view_split(desk, &at)?,
        Tool::Again => {
            let mark = desk.hand.selected.ok_or_else(|| Say::new("job.choose-a-mark"))?;
            desk.take(Intent::Again { mark, points: at })?;
        }
        // Four corners wait for their size, which the keypad or a sheet's name gives.
        _ => return Ok(()),
    }
    desk.hand.pending.clear();
    desk.hand.held = None;
    desk.hand.tool = Tool::Length;
    Ok(())
}

/// By an eye, exactly: a nudged end holds on to nothing.
fn nudge(desk: &mut Desk, step: [f64; 2], zoom: f64) -> Result<(), Say> {
    desk.hand.seek = None;
    desk.hand.glimpse = None;
    let Some(Held::Mark { mark, point }) = desk.hand.held else {
        let at = desk.slide(step, By::Key, zoom)?;
        return at.is_finite().then_some(()).ok_or_else(|| Say::new("job.point-not-a-place"));
    };
    let found = desk.document().mark(mark).and_then(|m| m.points.get(usize::from(point)));
    let was = found.ok_or_else(|| Say::new("job.no-such-point"))?.at;
    if step.iter().any(|s| !s.is_finite()) || !(zoom.is_finite() && zoom > 0.0) {
        return Err(Say::new("job.point-not-a-place"));
    }
    let at = At::new(was.x + step[0], was.y + step[1]);
    desk.take(Intent::MovePoint { mark, point, at, by: By::Key, zoom, seen: true, caught: None })
}

fn other_end(desk: &mut Desk) -> Result<(), Say> {
    desk.hand.held = match desk.hand.held {
        Some(Held::Mark { mark, point }) => {
            let n = desk.document().mark(mark).map_or(1, |m| m.points.len()).max(1);
            let next = (usize::from(point) + 1) % n;
            Some(Held::Mark { mark, point: u16::try_from(next).unwrap_or(0) })
        }
        Some(Held::Pending(i)) => Some(Held::Pending((i + 1) % desk.hand.pending.len().max(1))),
        None => return Err(Say::new("job.nothing-held")),
    };
    Ok(())
}

fn let_go(desk: &mut Desk) -> Result<(), Say> {
    if desk.hand.tool == Tool::Straighten {
        return forget(desk);
    }
    if !desk.hand.pending.is_empty() {
        return finish_pending(desk);
    }
    if let Some(open) = desk.hand.open
        && let Some(m) = desk.document().mark(open)
    {
        let (least, _) = need(m.kind, m.ends);
        if m.points.len() < least {
            return Err(Say::new("job.too-few-points").count("least", least));
        }
        if desk.hand.step == StepName::TrueLength && m.kind == Kind::Circle {
            typing::ask_how_long(desk, open);
        }
    }
    desk.hand.open = None;
    desk.hand.held = None;
    Ok(())
}

/// Drops what is half placed; whole marks stay.
fn forget(desk: &mut Desk) -> Result<(), Say> {
    let open = desk.hand.open;
    desk.hand.empty();
    desk.hand.tool = Tool::Length;
    open.map_or(Ok(()), |mark| drop_half(desk, mark))
}

fn hold(desk: &mut Desk, mark: u32, point: u16) -> Result<(), Say> {
    let m = desk
        .document()
        .mark(mark)
        .ok_or_else(|| Say::new("job.no-such-mark").count("mark", mark as usize))?;
    if usize::from(point) >= m.points.len() {
        return Err(Say::new("job.no-such-point"));
    }
    let (picture, half) = (m.picture, m.points.len() < need(m.kind, m.ends).0);
    desk.hand.empty();
    desk.hand.picture = Some(picture);
    desk.hand.open = half.then_some(mark);
    desk.hand.selected = Some(mark);
    desk.hand.held = Some(Held::Mark { mark, point });
    Ok(())
}

fn select(desk: &mut Desk, mark: Option<u32>) -> Result<(), Say> {
    desk.hand.empty();
    desk.hand.selected = mark.filter(|m| desk.document().mark(*m).is_some());
    if let Some(m) = desk.hand.selected.and_then(|m| desk.document().mark(m)) {
        desk.hand.picture = Some(m.picture);
    }
    Ok(())
}

fn ask(desk: &mut Desk, about: About) -> Result<(), Say> {
    let of = match about {
        _ if about.is_of_mark() || about.is_of_part() || about.is_of_bought() => {
            desk.hand.selected.ok_or_else(|| Say::new("job.choose-a-mark"))?
        }
        About::ViewName | About::Back | About::Away => {
            desk.hand.view.ok_or_else(|| Say::new("job.choose-a-view"))?
        }
        About::DrawingScale | About::Resolution => {
            desk.hand.picture.ok_or_else(|| Say::new("job.no-picture-yet"))?
        }
        _ => 0,
    };
    let text = match about {
        About::MarkName => desk.document().mark(of).map(|m| m.name.clone()),
        About::ViewName => desk.document().view(of).map(|v| v.name.clone()),
        About::JobName => Some(desk.document().name.clone()),
        _ => None,
    };
    let how = desk.document().mark(of).and_then(|m| m.known).map(|k| k.how).unwrap_or_default();
    desk.hand.entry = Some(Typing { about, text: text.unwrap_or_default(), how, of });
    Ok(())
}
