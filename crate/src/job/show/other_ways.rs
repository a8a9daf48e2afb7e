//! Ways to get sizes onto wood besides patterns: sticks, squares, offsets, the sector card.

use super::Sight;
use super::order::{Ground, patterns};
use crate::job::document::{Mark, View};
use crate::job::intent::Role;
use crate::job::reckon::Reading;
use crate::job::shape::mm_a_px;
use crate::job::sheets::OnPattern;
use crate::mark::{Ends, Kind};
use crate::plane::{Finished, Point};
use crate::sheet::order::{Grid, Offsets, Pattern, Piece, Sector, Stick, StickMark};
use crate::words::Say;

/// Marks nearer to one another than this are one line on a stick, mm: a pencil's width.
const ONE_LINE: f64 = 0.25;
/// What lands along a line that leans no more than 1 in so many is told by its thickness on the stick that it is square to.
const SQUARE: f64 = 10.0;
/// A part is told at about so many stations.
const STATIONS: f64 = 12.0;

/// A stick for each view with two marked places or more: across on the one edge, up on the other.
pub fn sticks(sight: &Sight) -> Vec<Piece> {
    sight.document.views.iter().filter_map(|v| stick(sight, v)).map(Piece::Stick).collect()
}

/// A place on a view, and what is written there.
struct Place {
    at: Point<Finished>,
    text: String,
    /// How thick what lands there is, across and up, mm.
    thick: [f64; 2],
}

fn stick(sight: &Sight, view: &View) -> Option<Stick> {
    let on = sight.reckoned.marks.iter().filter(|r| r.view == view.id);
    let places: Vec<Place> = on.flat_map(|r| ends(sight, r)).collect();
    if places.len() < 2 {
        return None;
    }
    let first = places.iter().fold([f64::MAX, f64::MIN], |[x, y], p| {
        [x.min(p.at.x - p.thick[0] / 2.0), y.max(p.at.y + p.thick[1] / 2.0)]
    });
    // Across from the left; up from the floor, which is the lowest place.
    let mut marks = edge(&places, 0, |p| p.x - first[0]);
    marks.extend(edge(&places, 1, |p| first[1] - p.y));
    let length = marks.iter().map(|m| m.at + m.thick).fold(0.0, f64::max);
    if !(length > ONE_LINE) {
        return None;
    }
    crate::order::sort_by(&mut marks, |a, b| a.at.total_cmp(&b.at));
    // What stands is measured up from the floor, and across from its left end.
    let datum = match view.role {
        Role::Front | Role::Side => format!("{} / {}", sight.word("stick.end"), sight.word("stick.floor")),
        _ => sight.word("stick.end"),
    };
    // The third direction of what has a front is seen from its side.
    let title = if view.role == Role::Side { "stick.title-side" } else { "stick.title" };
    let title = Say::new(title).text("view", sight.view_name(view));
    Some(Stick { title: sight.say(&title), datum, marks, length })
}

/// The marks along one edge, each place once.
fn edge(places: &[Place], edge: u8, along: impl Fn(&Point<Finished>) -> f64) -> Vec<StickMark> {
    let mut marks: Vec<StickMark> = Vec::new();
    for Place { at, text, thick } in places {
        let thick = thick[usize::from(edge)];
        // What lands there is as thick on either side of its middle line.
        let at = along(at) - thick / 2.0;
        let same = |m: &&mut StickMark| (m.at - at).abs() < ONE_LINE && (m.thick - thick).abs() < ONE_LINE;
        match marks.iter_mut().find(same) {
            Some(m) if m.text.split(", ").all(|t| t != text) => m.text = format!("{}, {text}", m.text),
            Some(_) => {}
            None => marks.push(StickMark { at, text: text.clone(), thick, edge }),
        }
    }
    marks
}

/// The places that a mark stands for, with what is written there.
fn ends(sight: &Sight, reading: &Reading) -> Vec<Place> {
    let mark: &Mark = &reading.made_from;
    let Some(ground) = Ground::of(sight, mark, reading) else { return Vec::new() };
    let text = if mark.name.is_empty() { mark.number.to_string() } else { mark.name.clone() };
    let wanted: Vec<_> = match (mark.kind, mark.ends) {
        (Kind::Length, Ends::Between) | (Kind::Point | Kind::Path, _) => {
            mark.points.iter().filter_map(|p| ground.whole(p.at)).collect()
        }
        (Kind::Circle, _) => {
            let centre = reading.measures.as_ref().ok().and_then(|m| m.place);
            centre.and_then(|c| ground.whole(c)).into_iter().collect()
        }
        _ => Vec::new(),
    };
    let thick = match (mark.on_pattern, wanted.as_slice()) {
        (Some(OnPattern::Lands { thick, .. }), [a, b]) => {
            let way = *b - *a;
            let square = |run: f64, other: f64| if run.abs() * SQUARE < other.abs() { thick } else { 0.0 };
            [square(way.x, way.y), square(way.y, way.x)]
        }
        _ => [0.0; 2],
    };
    wanted.into_iter().map(|at| Place { at, text: text.clone(), thick }).collect()
}

/// A grid over each part: squares of an inch, or of 25 mm; ten times that over what is ten times as large as a bench.
pub fn grids(sight: &Sight) -> Vec<Piece> {
    let square = if sight.units.style.is_metric() { 25.0 } else { 25.4 };
    let grid = |of: Pattern| {
        let long = of.bounds[2].max(of.bounds[3]);
        Piece::Grid(Grid { square: square * scale_to(long / (40.0 * square)), of })
    };
    patterns(sight).into_iter().map(grid).collect()
}

/// 1, 2, 5, 10, … at least `k`.
fn scale_to(k: f64) -> f64 {
    let steps = [1.0, 2.0, 4.0, 12.0, 24.0, 48.0];
    steps.into_iter().find(|s| *s >= k).unwrap_or(96.0)
}

/// Offsets of each part from its centre line, or from a base line along its greatest length.
pub fn offsets(sight: &Sight) -> Vec<Piece> {
    let step = if sight.units.style.is_metric() { 5.0 } else { 6.35 };
    let made = patterns(sight).into_iter().filter_map(|of| {
        let base = of.axis.or_else(|| base_line(&of))?;
        let apart = (base[0].distance(base[1]) / STATIONS / step).max(1.0);
        Some(Piece::Offsets(Offsets { of, base, apart: libm::round(apart) * step }))
    });
    made.collect()
}

/// Along the lower edge of what is longer than high, down the left edge of what is higher than long.
fn base_line(of: &Pattern) -> Option<[Point<Finished>; 2]> {
    let [l, t, r, b] = of.bounds;
    let ends = if r - l >= b - t { [[l, b], [r, b]] } else { [[l, b], [l, t]] };
    (r > l && b > t).then(|| ends.map(|[x, y]| Point::new(x, y)))
}

/// A card for each picture whose size on paper is known.
pub fn sectors(sight: &Sight) -> Vec<Piece> {
    let card = |picture: &crate::job::document::Sheet| {
        let dots = picture.resolution?;
        let reading = sight.reckoned.marks.iter().find(|r| r.made_from.picture == picture.id)?;
        let px = mm_a_px(sight.reckoned, reading, reading.made_from.points.first()?.at)?;
        let ratio = px * libm::sqrt(dots[0] * dots[1]) / 25.4;
        let name = Say::new("sector.picture").text("picture", picture.name.clone());
        let lines = [sight.say(&name)].into_iter().chain(super::order::built_at(sight)).collect();
        (ratio > 0.0).then_some(Piece::Sector(Sector { ratio, lines }))
    };
    sight.document.pictures.iter().filter_map(card).collect()
}
