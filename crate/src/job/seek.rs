//! What the desk wants to know of the pixels, and what becomes of the answer.
//!
//! The desk holds no pixels: it says in the scene what is to be asked of them ([`super::scene::Scene::seek`]); the page takes that to
//! the mill, and the answer comes back as [`Intent::Found`]. One thing is sought at a time; an answer to anything
//! older is let fall.

use super::desk::Desk;
use super::document::Hold;
use super::hand::{Held, Touch};
use super::intent::{At, Bounds, Intent, NewView, Role, Tool, Work};
use super::shape;
use crate::mark::{By, Kind};
use crate::raster::ask::{Ask, Caught, Fitted, Found, FoundView, What};
use crate::words::Say;

/// What is sought, and what for.
#[derive(Clone, Debug, PartialEq)]
pub struct Seek {
    /// Counts on with everything sought.
    pub serial: u32,
    /// The picture whose pixels are asked.
    pub picture: u32,
    /// The question.
    pub ask: Ask,
    /// What for.
    sought: Sought,
}

/// What an answer is for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Sought {
    /// Something for the end in hand to hold on to, once it lies still.
    End { held: Held, put: Touch },
    /// The same while it is being slid: only shown.
    Glimpse,
    /// The straight edge that two touches, from this one on, run along.
    Straight { mark: u32, from: u16 },
    /// The round edge that all touches of this mark are on.
    Round { mark: u32 },
    /// The border of the part that was touched inside; where there is none, the touch is a place on its edge.
    Border { mark: u32, put: Touch },
    /// The edge between two touches of this mark, the later of them this point.
    Follow { mark: u32, before: u16 },
    /// An edge that is straight in life.
    Bowed,
    /// What views a picture that has just come in shows.
    Views,
    /// The four corners round a first touch for a rectangle.
    Quad,
    /// The outlines in its views, to be taken.
    Outlines,
    /// The parts that look like an outline.
    Others { mark: u32 },
    /// An outline in another shape; nothing for how it lies about its centre line.
    Shape { mark: u32, with: Option<u32>, work: Option<Work> },
}

/// How far from where an end was put an edge is still caught, screen px. A finger is 2–4 mm off, about this much on a
/// tablet (Holz & Baudisch, CHI 2011); under the magnified window a place is seen, and what lies farther from it than some
/// three times what an eye tells there wasn't meant.
fn reach(put: Touch) -> f64 {
    let on_screen = match (put.by, put.seen) {
        (_, true) => 6.0,
        (By::Touch, false) => 16.0,
        (By::Pen, false) => 10.0,
        (By::Mouse | By::Key, false) => 8.0,
    };
    (on_screen / put.zoom).clamp(1.5, 60.0)
}

/// Wants something for the end in hand to hold on to.
pub(super) fn want_end(desk: &mut Desk, put: Touch) {
    let Some(held) = desk.hand.held else { return };
    want(desk, Ask::Catch { at: put.at, reach: reach(put) }, Sought::End { held, put });
}

/// Wants what belongs to the point that has just been put on a mark: something to hold on to, or, once there are
/// touches enough, the whole edge that they are on.
pub(super) fn want_point(desk: &mut Desk, put: Touch) {
    let Some(Held::Mark { mark, point }) = desk.hand.held else { return };
    let Some(m) = desk.document().mark(mark) else { return };
    let at = |i: usize| m.points.get(i).map(|p| p.hold.map_or(p.at, |h| h.put));
    let all: Vec<At> = (0..m.points.len()).filter_map(at).collect();
    let reach = reach(put);
    match (m.kind, all.as_slice()) {
        (Kind::Gap | Kind::Crossing, [.., a, b]) if point % 2 == 1 => {
            let ask = Ask::Straight { along: vec![*a, *b], reach };
            want(desk, ask, Sought::Straight { mark, from: point - 1 });
        }
        (Kind::Gap | Kind::Crossing, _) => {}
        (Kind::Outline, [inside]) => {
            let inside = *inside;
            want(desk, Ask::Border { inside }, Sought::Border { mark, put });
        }
        (Kind::Circle, through) if through.len() >= 3 => {
            want(desk, Ask::Round { through: all, reach }, Sought::Round { mark });
        }
        (Kind::Outline, [.., from, to]) => {
            let ask = Ask::Follow { from: *from, to: *to };
            want(desk, ask, Sought::Follow { mark, before: point });
        }
        _ => want_end(desk, put),
    }
}

/// Wants the edge between two touches, to see how it is bowed.
pub(super) fn want_bowed(desk: &mut Desk, from: At, to: At) {
    want(desk, Ask::Bowed { from, to }, Sought::Bowed);
}

/// Wants the edge from an outline's last point back to its first.
pub(super) fn want_last_stretch(desk: &mut Desk, mark: u32) {
    let Some(points) = desk.document().mark(mark).map(|m| &m.points) else { return };
    let (Some(first), Some(last)) = (points.first(), points.last()) else { return };
    let (from, to) = (last.at, first.at);
    let Ok(before) = u16::try_from(points.len()) else { return };
    want(desk, Ask::Follow { from, to }, Sought::Follow { mark, before });
}

/// Wants to know what views the picture that has just come in shows, unless something else is sought first.
pub(super) fn want_views(desk: &mut Desk) {
    if desk.hand.seek.is_some() || desk.hand.divide.is_none() || desk.hand.divide != desk.hand.picture {
        return;
    }
    want(desk, Ask::Views, Sought::Views);
}

/// Divides a picture into the views that were found on it; a thing that is seen once isn't divided.
fn divide(desk: &mut Desk, picture: u32, found: Vec<FoundView>) -> Result<(), Say> {
    desk.hand.divide = None;
    let document = desk.document();
    if document.views.iter().any(|v| v.picture == picture && !v.whole) || document.picture(picture).is_none()
    {
        return Ok(());
    }
    let sound = |b: &[f64; 4]| b.iter().all(|v| v.is_finite()) && b[2] - b[0] > 4.0 && b[3] - b[1] > 4.0;
    let found: Vec<FoundView> = found.into_iter().filter(|v| sound(&v.bounds)).collect();
    shape::offer(desk, picture, &found);
    let views: Vec<NewView> = found
        .iter()
        .zip(super::divide::roles(&found))
        .map(|(v, role)| {
            let [left, top, right, bottom] = v.bounds;
            NewView {
                role,
                bounds: Bounds { at: At::new(left, top), size: [right - left, bottom - top], tilt: 0.0 },
            }
        })
        .collect();
    // Parts that share no size are no views of one thing: boxes round them would only stand in the way.
    let named = views.iter().filter(|v| v.role != Role::Other).count();
    if named < 2 { Ok(()) } else { desk.take(Intent::AddViews { picture, views }) }
}

/// Wants to know what the end that is being slid would hold.
pub(super) fn want_glimpse(desk: &mut Desk, put: Touch) {
    want(desk, Ask::Catch { at: put.at, reach: reach(put) }, Sought::Glimpse);
}

pub(super) fn want(desk: &mut Desk, ask: Ask, sought: Sought) {
    let Some(picture) = desk.hand.picture else { return };
    desk.hand.serial = desk.hand.serial.wrapping_add(1);
    desk.hand.seek = Some(Seek { serial: desk.hand.serial, picture, ask, sought });
}

/// An answer has come.
///
/// # Errors
/// What the fact that is made of it says.
pub(super) fn found(desk: &mut Desk, serial: u32, found: Option<Found>) -> Result<(), Say> {
    let Some(seek) = desk.hand.seek.take_if(|s| s.serial == serial) else { return Ok(()) };
    let done = take(desk, seek, found);
    shape::mend(desk);
    done
}

fn take(desk: &mut Desk, seek: Seek, found: Option<Found>) -> Result<(), Say> {
    match (seek.sought, found) {
        (Sought::Border { mark, .. }, Some(Found::Border(border))) if alone(desk, mark) => {
            desk.take(Intent::Trace { mark, border })?;
            desk.hand.open = None;
            desk.hand.held = None;
            Ok(())
        }
        (Sought::Follow { mark, before }, Some(Found::Path { points, sigma })) => {
            let had = desk.document().mark(mark).map_or(0, |m| m.points.len());
            desk.take(Intent::Follow { mark, before, points, sigma })?;
            let now = desk.document().mark(mark).map_or(0, |m| m.points.len());
            let shift = u16::try_from(now.saturating_sub(had)).unwrap_or(0);
            if let Some(Held::Mark { mark: m, point }) = &mut desk.hand.held
                && *m == mark
                && *point >= before
            {
                *point += shift;
            }
            Ok(())
        }
        (Sought::Border { put, .. }, None) => {
            // Touched on its edge, then: the first of several places along it.
            want_end(desk, put);
            Ok(())
        }
        (Sought::Views, Some(Found::Views(views))) => divide(desk, seek.picture, views),
        (Sought::Outlines, Some(Found::Views(views))) => {
            shape::offer(desk, seek.picture, &views);
            shape::take_outlines(desk)
        }
        (Sought::Others { mark }, found) => shape::found_others(desk, mark, found),
        (Sought::Shape { mark, with, work }, found) => shape::found(desk, mark, with, work, found),
        (Sought::Views, _) => {
            desk.hand.divide = None;
            Ok(())
        }
        (Sought::Glimpse, found) => {
            desk.hand.glimpse = match found {
                Some(Found::Caught(caught)) if caught.is_sound() => Some(caught),
                _ => None,
            };
            Ok(())
        }
        (Sought::End { held, put }, Some(Found::Caught(caught))) if caught.is_sound() => match desk.hand.held
        {
            Some(now) if now == held => hold_on(desk, held, put, caught),
            _ => Ok(()),
        },
        (Sought::Straight { mark, from }, Some(Found::Straight { fitted, .. })) => {
            fit(desk, mark, from, fitted.to_vec())
        }
        (Sought::Round { mark }, Some(Found::Round(fitted))) => {
            fit(desk, mark, 0, fitted)?;
            // The whole edge is there: there is nothing left to place or to move.
            desk.hand.open = None;
            desk.hand.held = None;
            Ok(())
        }
        (sought, found) => take_of_photograph(desk, seek.picture, sought, found),
    }
}

/// The same of what only photographs need: bowed edges, whole rectangles.
fn take_of_photograph(
    desk: &mut Desk,
    picture: u32,
    sought: Sought,
    found: Option<Found>,
) -> Result<(), Say> {
    match (sought, found) {
        (Sought::Bowed, Some(Found::Path { points, sigma })) => {
            desk.hand.pending.clear();
            desk.hand.held = None;
            desk.take(Intent::StraightEdge { picture, points, sigma })
        }
        (Sought::Bowed, _) => {
            desk.hand.pending.clear();
            desk.hand.held = None;
            desk.hand.said = Some(Say::new("lens.no-edge"));
            Ok(())
        }
        (Sought::End { held: Held::Pending(0), put }, None) if desk.hand.tool == Tool::SquareOn => {
            // No edge near: it may be meant for the whole rectangle.
            want(desk, Ask::Quad { inside: put.at }, Sought::Quad);
            Ok(())
        }
        (Sought::Quad, Some(Found::Quad(corners))) => {
            let sound = corners.iter().all(|c| corner(c).is_sound());
            desk.hand.offer = corners.try_into().ok().filter(|_| sound && desk.hand.pending.len() == 1);
            Ok(())
        }
        _ => Ok(()),
    }
}

/// A corner that was found, as what an end holds on to.
fn corner(found: &Fitted) -> Caught {
    Caught { what: What::Corner, at: found.at, cov: found.cov, along: None, half: [0.0; 2] }
}

/// The four corners that are offered are taken for those touched.
pub(super) fn take_offer(desk: &mut Desk) -> bool {
    let (Some(offer), [first]) = (desk.hand.offer.take(), &desk.hand.pending[..]) else { return false };
    let at = |c: &Fitted| Touch { at: c.at, hold: Some(Hold { caught: corner(c), put: c.at }), ..*first };
    desk.hand.pending = offer.iter().map(at).collect();
    desk.hand.held = None;
    true
}

/// An outline that has been touched once.
fn alone(desk: &Desk, mark: u32) -> bool {
    desk.document().mark(mark).is_some_and(|m| m.kind == Kind::Outline && m.points.len() == 1)
}

/// What can't be fitted leaves the touches as they are.
fn fit(desk: &mut Desk, mark: u32, from: u16, points: Vec<Fitted>) -> Result<(), Say> {
    if desk.document().mark(mark).is_none() {
        return Ok(());
    }
    desk.take(Intent::Fit { mark, from, points })
}

fn hold_on(desk: &mut Desk, held: Held, put: Touch, caught: Caught) -> Result<(), Say> {
    match held {
        Held::Mark { mark, point } => desk.take(Intent::MovePoint {
            mark,
            point,
            at: put.at,
            by: put.by,
            zoom: put.zoom,
            seen: put.seen,
            caught: Some(caught),
        }),
        Held::Pending(i) => {
            // Corners that were put in order meanwhile have changed places.
            if let Some(t) = desk.hand.pending.get_mut(i).filter(|t| t.at == put.at) {
                *t = Touch { at: caught.at, hold: Some(Hold { caught, put: put.at }), ..put };
            }
            Ok(())
        }
    }
}

/// The end in hand lets go of what it holds.
///
/// # Errors
/// When nothing is in hand, or it holds nothing.
pub(super) fn loosen(desk: &mut Desk) -> Result<(), Say> {
    desk.hand.seek = None;
    let nothing = || Say::new("job.holds-nothing");
    match desk.hand.held.ok_or_else(nothing)? {
        Held::Mark { mark, point } => desk.take(Intent::PutBack { mark, point }),
        Held::Pending(i) => {
            let t = desk.hand.pending.get_mut(i).ok_or_else(nothing)?;
            let hold = t.hold.take().ok_or_else(nothing)?;
            t.at = hold.put;
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Words;

    const WORDS: &str = include_str!("../../../www/words/en.json");

    fn after(lines: &[&str]) -> Desk {
        let mut desk = Desk::new(Words::read(WORDS).unwrap());
        for line in lines {
            let intent = serde_json::from_str(line).unwrap_or_else(|e| panic!("{line}: {e}"));
            desk.intend(intent).unwrap_or_else(|e| panic!("{line}: {}", desk.tell(&e)));
        }
        desk
    }

    const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000}"#;
    const TAPS: [&str; 2] = [
        r#"{"kind":"tap","at":[100,100],"by":"touch","zoom":0.5,"reach":24}"#,
        r#"{"kind":"tap","at":[900,100],"by":"touch","zoom":0.5,"reach":24}"#,
    ];

    /// Answers what is sought just now: an upright drawn line, 3 px wide, its middle at `x`.
    fn find(desk: &mut Desk, x: f64) {
        let serial = desk.scene().seek.map_or(0, |s| s.serial);
        let found = format!(
            r#"{{"kind":"found","serial":{serial},"found":{{"caught":{{"what":"line","at":[{x},100],"cov":[0.0009,0,0],"along":[0,1],"half":[1.5,0]}}}}}}"#
        );
        desk.intend(serde_json::from_str(&found).unwrap()).unwrap();
    }

    /// Both ends touched, and each holds a line.
    fn held() -> Desk {
        let mut desk = after(&[PICTURE, TAPS[0]]);
        find(&mut desk, 103.0);
        desk.intend(serde_json::from_str(TAPS[1]).unwrap()).unwrap();
        find(&mut desk, 897.25);
        desk
    }

    fn ends(desk: &Desk) -> Vec<f64> {
        desk.document().marks[0].points.iter().map(|p| p.at.x).collect()
    }

    #[test]
    fn an_end_holds_what_is_found_and_its_length_is_as_good() {
        let mut desk = held();
        assert_eq!(ends(&desk), [103.0, 897.25]);
        // By hand: across, √2 × √(0.03² + 0.1²) px. Along, where both stay as a finger put them (8.4925 ÷ 0.5 px), how
        // much longer that makes it: √2 × (2 × 16.985²)/(2 × 794.25).
        let reading = desk.reckoned.reading(1).and_then(|r| r.primary()).unwrap();
        let by_hand = (2.0 * (0.0009 + 0.01) + (2.0_f64.sqrt() * 16.985 * 16.985 / 794.25).powi(2)).sqrt();
        assert!((reading.u() - by_hand).abs() < 1e-3, "{}, by hand {by_hand}", reading.u());
        assert_eq!(desk.scene().hand.unwrap().holding, "holds a drawn line");
    }

    #[test]
    fn a_touch_and_what_it_caught_are_one_thing_to_undo() {
        let mut desk = held();
        desk.intend(Intent::Undo).unwrap();
        assert_eq!(ends(&desk), [103.0]);
        desk.intend(Intent::Redo).unwrap();
        assert_eq!(ends(&desk), [103.0, 897.25]);
        desk.intend(Intent::Undo).unwrap();
        desk.intend(Intent::Undo).unwrap();
        assert_eq!(desk.document().marks.len(), 0);
    }

    #[test]
    fn one_key_lets_go_and_one_choice_moves_every_end_to_its_side() {
        for (then, expected) in [
            (r#"{"kind":"loosen"}"#, [103.0, 900.0]),
            (r#"{"kind":"set-side","side":"outer"}"#, [101.5, 898.75]),
            (r#"{"kind":"set-side","side":"inner"}"#, [104.5, 895.75]),
        ] {
            let mut desk = held();
            desk.intend(serde_json::from_str(then).unwrap()).unwrap();
            assert_eq!(ends(&desk), expected, "{then}");
        }
    }

    #[test]
    fn an_old_answer_and_one_that_cant_be_reckoned_with_change_nothing() {
        let mut desk = after(&[PICTURE, TAPS[0], TAPS[1]]);
        desk.intend(Intent::Found { serial: 1, found: None }).unwrap();
        find(&mut desk, 1e300);
        assert_eq!(ends(&desk), [100.0, 900.0]);
        // A slide goes on while what it would hold is shown.
        desk.slide([10.0, 0.0], By::Touch, 4.0).unwrap();
        find(&mut desk, 911.0);
        let hand = desk.scene().hand.unwrap();
        assert_eq!((hand.at[0], hand.hold.map(|h| (h.at[0], h.glimpse))), (910.0, Some((911.0, true))));
        desk.intend(Intent::Settle).unwrap();
        find(&mut desk, 911.0);
        assert_eq!(ends(&desk), [100.0, 911.0]);
    }

    #[test]
    fn a_drawing_is_divided_once_its_ends_are_seen_to() {
        let mut desk = after(&[PICTURE, TAPS[0]]);
        find(&mut desk, 103.0);
        let seek = desk.scene().seek.unwrap();
        assert_eq!(seek.ask, Ask::Views);
        // A monoplane 184 long, 240 span, 60 high, as in `divide.rs`.
        let view = |b: &str| format!(r#"{{"bounds":{b},"shapes":[]}}"#);
        let views = ["[0,0,184,240]", "[0,300,184,360]", "[250,300,490,360]"].map(view).join(",");
        let found = format!(r#"{{"kind":"found","serial":{},"found":{{"views":[{views}]}}}}"#, seek.serial);
        desk.intend(serde_json::from_str(&found).unwrap()).unwrap();
        let names: Vec<String> = desk.scene().views.iter().map(|v| v.name.clone()).collect();
        assert_eq!(names[1..], ["top", "side", "front"]);
        assert_eq!(desk.scene().seek, None);
        // No touch made them: the touch is what undo takes back, and then the picture with its views.
        let undo = |desk: &mut Desk| {
            desk.intend(Intent::Undo).unwrap();
            (desk.document().marks.len(), desk.document().views.len())
        };
        assert_eq!([undo(&mut desk), undo(&mut desk)], [(0, 4), (0, 0)]);
        desk.intend(Intent::Redo).unwrap();
        let kept = desk.log().to_vec();
        let mut again = after(&[]);
        again.restore(kept).unwrap();
        assert_eq!(again.document(), desk.document());
        for (fact, boxes) in [
            (r#"{"kind":"merge-views","view":3,"with":4}"#, vec![[0.0, 300.0, 490.0, 60.0]]),
            (
                r#"{"kind":"split-view","view":3,"along":[[200,290],[202,380]]}"#,
                vec![[0.0, 300.0, 201.0, 60.0], [201.0, 300.0, 289.0, 60.0]],
            ),
        ] {
            desk.intend(serde_json::from_str(fact).unwrap()).unwrap();
            let now = desk.document().views.iter().skip(2);
            let got: Vec<[f64; 4]> =
                now.map(|v| [v.bounds.at.x, v.bounds.at.y, v.bounds.size[0], v.bounds.size[1]]).collect();
            assert_eq!(got, boxes, "{fact}");
        }
    }
}
