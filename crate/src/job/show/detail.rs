//! More about the chosen mark: unrounded sizes, where the ± comes from, what can be done with it.

use super::{Sight, ratios, say};
use crate::WHOLE;
use crate::estimate::{Cause, Source};
use crate::job::document::Mark;
use crate::job::intent::{About, Along, Intent, Length, StepName, Tool, Wish};
use crate::job::reckon::Reading;
use crate::job::scene::{Detail, Key, SourceShown};
use crate::job::shape;
use crate::job::sizes::{Told, run_of};
use crate::mark::{Dimension, Ends, Kind, Quantity, need};
use crate::order::Table;
use crate::words::Say;

/// No more sources than can be read.
const MOST_SOURCES: usize = 6;

/// What is under a thousandth of the whole isn't worth a sentence.
const LEAST_SHARE: f64 = 1e-3;

/// What less of the ± comes from than this isn't worth mending.
const MATTERS: f64 = 0.2;

/// Marks on two views that differ by more than this (relative) are hardly the same thing.
const ALIKE: f64 = 0.25;

/// The chosen mark's detail.
pub fn detail(sight: &Sight) -> Option<Detail> {
    let id = sight.hand.selected?;
    let mark = sight.document.mark(id)?;
    let budget = sight.told(id).and_then(Told::shown).map(|e| e.budget()).unwrap_or_default();
    let mut lines = lines(sight, mark);
    if let Some(say) = better(sight, id, &budget) {
        lines.push(line(sight, "detail.better", sight.say(&say)));
    }
    Some(Detail { mark: id, lines, sources: sources(sight, &budget), keys: keys(sight, mark) })
}

fn line(sight: &Sight, key: &str, text: String) -> [String; 2] {
    [sight.word(key), text]
}

fn lines(sight: &Sight, mark: &Mark) -> Vec<[String; 2]> {
    let mut out = Vec::new();
    if let Some(told) = sight.told(mark.id) {
        let with_pm = |e: &crate::estimate::Estimate| {
            let s = say::size(sight, told.what, e, None);
            if s.pm.is_empty() { s.unrounded } else { format!("{} {}", s.unrounded, s.pm) }
        };
        let sized = |e: &&crate::estimate::Estimate| !told.what.is_place() && e.value.is_finite();
        if let Some(e) = told.finished.as_ref().filter(sized) {
            out.push(line(sight, "detail.finished", with_pm(e)));
        }
        if let Some(e) = told.real.as_ref().filter(sized) {
            out.push(line(sight, "detail.in-life", with_pm(e)));
        }
    }
    if let Some(k) = mark.known {
        let text = format!("{} ± {}", sight.unrounded(k.mm).with_unit(), sight.plus_minus(k.pm).text);
        out.push(line(sight, if k.pulls { "detail.known" } else { "detail.check" }, text));
    }
    if let Some(text) = say::stands_for(sight, mark) {
        out.push(line(sight, "detail.on-pattern", text));
    }
    if WHOLE && let Some(bought) = sight.document.bought(mark.id) {
        out.push(line(sight, "detail.bought", super::bought::named(sight, &bought)));
    }
    if let Some(slope) = crate::job::slope::slope(sight.document, sight.reckoned, mark.id) {
        let told = |what: Quantity, e: &crate::estimate::Estimate| {
            let s = say::size(sight, what, e, None);
            format!("{} {}", s.figure.with_unit(), s.pm)
        };
        let text = Say::new("detail.slope-of")
            .text("length", told(Quantity::Length, &slope.length))
            .text("bevel", told(Quantity::Angle, &slope.bevel))
            .text("mark", sight.mark_named(slope.other));
        out.push(line(sight, "detail.slope", sight.say(&text)));
    }
    if let Some(sum) = adds_up(sight, mark) {
        out.push(line(sight, "detail.sum", sum));
    }
    // Of a carcase it is asked once there are parts.
    let listed = WHOLE && sight.hand.step == StepName::Lists;
    if listed && let Some(diagonal) = super::cutting::diagonal(sight, mark) {
        out.push(line(sight, "detail.diagonal", super::cutting::figure(sight, diagonal)));
    }
    if let Some(check) = super::notes::check_words(sight, mark.id) {
        out.push(line(sight, "detail.checked", check));
    }
    if let Some(smooth) = &mark.smooth {
        let pieces = smooth.rings.iter().map(|c| c.segments.len()).sum();
        out.push(line(sight, "detail.curve", sight.say(&Say::new("detail.pieces").count("count", pieces))));
        if smooth.moved > 0.0 {
            let moved = shape::faired_by(sight.reckoned, mark, smooth.moved);
            out.push(line(sight, "detail.faired", sight.say(&moved)));
        }
    }
    if !mark.repeats.is_empty() {
        let text = sight.say(&Say::new("detail.times").count("times", mark.repeats.len() + 1));
        out.push(line(sight, "detail.marked", text));
    }
    if let Some(view) = sight.reckoned.reading(mark.id).and_then(|r| sight.document.view(r.view)) {
        let scale = super::notes::scale_words(sight, view);
        out.push(line(sight, "detail.view", format!("{}: {}", sight.view_name(view), scale)));
    }
    out
}

/// What would make the ± smaller: what can be done about that from which most of it comes.
fn better(sight: &Sight, mark: u32, budget: &[Cause]) -> Option<Say> {
    let mut shares: Table<(&str, u32), f64> = Table::default();
    for cause in budget {
        let advice = match cause.source {
            Source::Click(m, p, _) if say::is_found(sight, m, p) => ("better.found", m),
            Source::Click(m, ..) => ("better.ends", m),
            Source::Spread(m, _) => ("better.again", m),
            Source::Known(m) => ("better.known", m),
            Source::Corner(..) => ("better.corners", mark),
            Source::Side(..) => ("better.sides", mark),
            Source::Resolution(_) => ("better.resolution", mark),
            Source::Stretch(_) => ("better.stretch", mark),
            Source::Misfit(..) => ("better.misfit", mark),
            Source::Centre(..) | Source::Focal(_) => ("better.camera", mark),
            Source::Lens(..) => ("better.lens", mark),
            Source::Back(_) => ("better.back", mark),
            Source::Away(_) => ("better.away", mark),
        };
        let share = shares.get(&advice).unwrap_or(&0.0) + cause.share;
        shares.insert(advice, share);
    }
    let most = shares.into_entries().into_iter().max_by(|(_, a), (_, b)| a.total_cmp(b));
    let ((advice, of), _) = most.filter(|(_, share)| *share > MATTERS)?;
    Some(Say::new(advice).text("mark", sight.mark_named(of)))
}

/// Where the ± comes from, both axes of a click together, largest first.
fn sources(sight: &Sight, budget: &[Cause]) -> Vec<SourceShown> {
    let mut by_text: Table<String, f64> = Table::default();
    // An edge that was found is one source to a person, in however many places.
    let mut edges: Table<u32, f64> = Table::default();
    for cause in budget {
        match cause.source {
            Source::Click(m, p, _) if say::is_found(sight, m, p) => {
                let share = edges.get(&m).unwrap_or(&0.0) + cause.share;
                edges.insert(m, share);
            }
            _ if cause.share > LEAST_SHARE => {
                let text = say::source(sight, cause.source);
                let share = by_text.get(&text).unwrap_or(&0.0) + cause.share;
                by_text.insert(text, share);
            }
            _ => {}
        }
    }
    for (mark, share) in edges.into_entries().into_iter().filter(|(_, share)| *share > LEAST_SHARE) {
        by_text.insert(say::source(sight, Source::Click(mark, u16::MAX, 0)), share);
    }
    let mut out: Vec<SourceShown> =
        by_text.into_entries().into_iter().map(|(text, share)| SourceShown { text, share }).collect();
    crate::order::sort_by(&mut out, |a, b| b.share.total_cmp(&a.share));
    out.truncate(MOST_SOURCES);
    out
}

fn keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    let id = mark.id;
    let whole = mark.points.len() >= need(mark.kind, mark.ends).0;
    let mut keys = vec![say::key(sight, "name", Intent::Ask { about: About::MarkName })];
    keys.push(say::key(sight, "number", Intent::Ask { about: About::MarkNumber }));
    if whole {
        keys.extend(known_keys(sight, mark));
        if matches!(mark.kind, Kind::Circle | Kind::Gap)
            || (mark.kind == Kind::Length && mark.ends == Ends::Between)
        {
            let bought = say::key(sight, "bought", Intent::Ask { about: About::Bought });
            keys.push(bought.pressed(sight.document.bought(id).is_some()));
        }
        keys.extend(shape_keys(sight, mark));
        keys.extend(outline_keys(sight, mark));
        if mark.smooth.is_none() && !mark.fitted {
            keys.push(say::key(sight, "again", Intent::Tool { tool: Tool::Again }));
        }
        let step = like_step(sight, mark);
        keys.push(say::key(sight, "like", Intent::Like { mark: id, step }));
        if let Some(l) = centre_line(sight, mark) {
            let label = sight.say(&Say::new("key.other-hand-about").text("mark", sight.mark_named(l)));
            keys.push(say::key(sight, "other-hand", Intent::OtherHand { mark: id, line: l }).labelled(label));
        }
        keys.extend(chain_keys(sight, mark));
        keys.extend(same_key(sight, id));
        if let Some(t) = sight.document.trusted.iter().find(|t| t.other == id) {
            keys.push(say::key(sight, "own-size", Intent::SameThing { marks: [t.mark, id], same: false }));
        }
    }
    keys.push(say::key(sight, "delete", Intent::DeleteMark { mark: id }).guarded());
    keys
}

fn known_keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    let mut keys = Vec::new();
    match mark.kind {
        Kind::Length => keys.push(say::key(sight, "true-length", Intent::Ask { about: About::Length })),
        Kind::Circle => keys.push(say::key(sight, "true-across", Intent::Ask { about: About::Length })),
        _ => {}
    }
    if let Some(k) = mark.known {
        keys.push(say::key(sight, "plus-minus", Intent::Ask { about: About::PlusMinus }));
        keys.push(
            say::key(
                sight,
                "only-check",
                Intent::SetKnown {
                    mark: mark.id,
                    length: Length::Mm { mm: k.mm },
                    how: k.how,
                    pm: Some(Length::Mm { mm: k.pm }),
                    pulls: !k.pulls,
                },
            )
            .pressed(!k.pulls),
        );
        keys.push(say::key(sight, "not-known", Intent::ClearKnown { mark: mark.id }));
    }
    let length = sight.told(mark.id).is_some_and(|t| t.what.dimension() == Dimension::Length);
    if length && !matches!(mark.kind, Kind::Point | Kind::Outline) {
        keys.push(say::key(sight, "build-this", Intent::Ask { about: About::Build }));
        keys.push(
            say::key(sight, "base", Intent::SetBase { mark: mark.id })
                .pressed(ratios::base(sight.document, sight.reckoned) == Some(mark.id)),
        );
    }
    keys
}

fn shape_keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    let id = mark.id;
    let mut keys = match mark.kind {
        Kind::Length => {
            let key = |name: &str, along: Along| {
                let on = mark.along == along;
                let to = if on { Along::Free } else { along };
                say::key(sight, name, Intent::Keep { mark: id, along: to }).pressed(on)
            };
            vec![key("level", Along::Level), key("plumb", Along::Plumb)]
        }
        Kind::Path | Kind::Circle | Kind::Outline => match sight.hand.held {
            Some(crate::job::hand::Held::Mark { mark: m, point })
                if m == id && mark.points.len() > need(mark.kind, mark.ends).0 =>
            {
                vec![say::key(sight, "remove-point", Intent::RemovePoint { mark: id, point })]
            }
            _ => Vec::new(),
        },
        _ => Vec::new(),
    };
    keys.extend(pattern_keys(sight, mark));
    let form = match mark.kind {
        Kind::Circle => "form-round",
        Kind::Gap => "form-alike",
        Kind::Crossing | Kind::Angle => "form-square",
        _ => return keys,
    };
    let formed = Intent::Formed { mark: id, on: !mark.formed };
    keys.push(say::key(sight, form, formed).pressed(mark.formed));
    keys
}

/// What a length can stand for on the pattern that it lies on.
fn pattern_keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    if mark.kind != Kind::Length || mark.ends != Ends::Between {
        return Vec::new();
    }
    match mark.on_pattern {
        Some(_) => vec![say::key(sight, "not-on-pattern", Intent::OnPattern { mark: mark.id, what: None })],
        None => [("lands", About::LandsThick), ("bevel", About::Bevel)]
            .map(|(id, about)| say::key(sight, id, Intent::Ask { about }))
            .to_vec(),
    }
}

/// What can be done with the whole of an outline.
fn outline_keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    if !shape::is_whole(mark) || sight.hand.open == Some(mark.id) {
        return Vec::new();
    }
    let tool =
        |id: &str, tool: Tool| say::key(sight, id, Intent::Tool { tool }).pressed(sight.hand.tool == tool);
    let mut keys = Vec::new();
    if mark.border.is_some() {
        keys.push(say::key(sight, "others", Intent::Want { wish: Wish::Others }));
    }
    if mark.smooth.is_none() {
        keys.push(say::key(sight, "smooth", Intent::Want { wish: Wish::Smooth }));
    }
    keys.push(say::key(sight, "fair", Intent::Want { wish: Wish::Fair }));
    let others = sight.document.marks.iter().filter(|m| m.picture == mark.picture && shape::is_whole(m));
    if others.count() > 1 {
        keys.push(tool("join-with", Tool::JoinWith));
    }
    keys.push(tool("cut-off", Tool::CutOff));
    keys.push(say::key(sight, "halves", Intent::Want { wish: Wish::Halves }));
    if mark.smooth.is_some() {
        keys.push(tool("knot", Tool::Knot));
    }
    keys
}

/// Another like it stands a little aside, so that both can be seen and touched.
fn like_step(sight: &Sight, mark: &Mark) -> [f64; 2] {
    let size = sight.document.picture(mark.picture).map_or(1000.0, |p| f64::from(p.width.min(p.height)));
    [size * 0.04, size * 0.04]
}

/// The line for another hand: the last other length on the same view that was named or placed.
fn centre_line(sight: &Sight, mark: &Mark) -> Option<u32> {
    let view = sight.reckoned.reading(mark.id)?.view;
    sight
        .document
        .marks
        .iter()
        .rev()
        .filter(|m| m.id != mark.id && m.kind == Kind::Length && m.points.len() == 2)
        .find(|m| sight.reckoned.reading(m.id).is_some_and(|r| r.view == view))
        .map(|m| m.id)
}

/// Two marks of one thing on two views: the mark elsewhere that is nearest in size, when it isn't said already.
fn same_key(sight: &Sight, id: u32) -> Option<Key> {
    let mine = sight.reckoned.reading(id)?;
    let size = mine.primary()?.value;
    let d = sight.document;
    let has_length = |m: u32| crate::job::apply::need_length(d, m).is_ok();
    let said = |m: u32| d.same.iter().any(|p| p.same && p.marks.contains(&id) && p.marks.contains(&m));
    let off = |r: &Reading| r.primary().map_or(f64::INFINITY, |e| (e.value - size).abs());
    let other = sight
        .reckoned
        .marks
        .iter()
        .filter(|r| r.view != mine.view && sight.reckoned.comparable(mine, r))
        .filter(|r| has_length(r.mark) && !said(r.mark) && off(r) <= ALIKE * size)
        .min_by(|a, b| off(a).total_cmp(&off(b)))?;
    has_length(id).then(|| {
        let label = sight.say(&Say::new("key.same-thing").text("mark", sight.mark_named(other.mark)));
        say::key(sight, "same-thing", Intent::SameThing { marks: [id, other.mark], same: true })
            .labelled(label)
    })
}

/// The check sum of the chain that a mark is one of: each piece as it is cut, what they come to, and by how much they would miss
/// that if each were rounded by itself.
fn adds_up(sight: &Sight, mark: &Mark) -> Option<String> {
    let chain = sight.document.chains.iter().find(|c| c.contains(&mark.id))?;
    let run = run_of(sight.document, chain, &sight.told)?;
    let told = |mm: f64| super::cutting::figure(sight, mm);
    let pieces: Vec<String> = run.lengths.iter().map(|mm| sight.length(*mm).text).collect();
    let key = if run.each_is_longer_by == 0.0 { "detail.sum-same" } else { "detail.sum-each" };
    let say = Say::new(key).text("pieces", pieces.join(" + ")).text("whole", told(run.total));
    Some(sight.say(&say.text("each", told(run.total + run.each_is_longer_by))))
}

/// A chain is made from this mark and those that run on from it end to end.
fn chain_keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    if sight.document.chains.iter().any(|c| c.contains(&mark.id)) {
        let on = sight.document.takers.contains(&mark.id);
        let take = say::key(sight, "take-up", Intent::TakeUp { mark: mark.id, on: !on }).pressed(on);
        return vec![say::key(sight, "unchain", Intent::Unchain { mark: mark.id }).pressed(true), take];
    }
    let marks = crate::job::chain::run_through(sight.document, sight.reckoned, mark.id);
    if marks.len() < 2 {
        return Vec::new();
    }
    let label = sight.say(&Say::new("key.chain-of").count("count", marks.len()));
    vec![say::key(sight, "chain", Intent::Chain { marks }).labelled(label)]
}
