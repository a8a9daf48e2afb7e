//! What to do next, in one sentence, and the smaller one under it.

use super::Sight;
use crate::job::document::Mark;
use crate::job::intent::{StepName, Tool};
use crate::job::lenses::{self, Lensed};
use crate::job::shape::{self, Halves};
use crate::mark::{Ends, Kind, need};
use crate::words::Say;

/// The sentence.
pub fn guide(sight: &Sight) -> String {
    let hand = sight.hand;
    if sight.document.pictures.is_empty() {
        return sight.word("guide.empty");
    }
    if let Some(text) = pending_guide(sight) {
        return text;
    }
    if let Some(open) = hand.open.and_then(|m| sight.document.mark(m)) {
        return open_guide(sight, open.kind, open.ends, open.points.len());
    }
    if let Some(moving) = super::board::hand(sight) {
        return sight.say(&Say::new("guide.moving").text("what", moving.what));
    }
    match hand.step {
        StepName::Picture if hand.view.is_some() => sight.word("guide.view"),
        StepName::Picture => sight.word("guide.picture"),
        StepName::TrueLength if sight.reckoned.factor.is_none() && !sight.reckoned.scaled() => {
            sight.word("guide.first-question")
        }
        StepName::TrueLength => sight.word("guide.true-length"),
        StepName::Marks => sight.word(&format!("guide.tool.{}", tool_name(hand.tool))),
        StepName::Build if sight.told.iter().any(|t| t.finished.is_some()) => sight.word("guide.build-done"),
        StepName::Build if sight.reckoned.factor.is_some() => sight.word("guide.build-needs-length"),
        StepName::Build => sight.word("guide.build"),
        StepName::Lists if sight.ready.is_empty() => sight.word("guide.lists-none"),
        StepName::Lists => sight.word("guide.lists"),
    }
}

fn pending_guide(sight: &Sight) -> Option<String> {
    let n = sight.hand.pending.len();
    if let Some((m, halves)) = halves(sight) {
        return Some(sight.say(&shape::halves_differ(sight.reckoned, m, &halves.even)));
    }
    let key = match sight.hand.tool {
        Tool::ViewBox if n == 0 => "guide.box-first",
        Tool::ViewBox if n == 1 => "guide.box-second",
        Tool::ViewBox => "guide.box-keep",
        Tool::ViewLevel if n < 2 => "guide.level",
        Tool::ViewLevel => "guide.level-keep",
        Tool::ViewMerge => "guide.merge",
        Tool::ViewSplit if n < 2 => "guide.split",
        Tool::ViewSplit => "guide.split-keep",
        Tool::SquareOn if sight.hand.offer.is_some() => "guide.corners-offered",
        Tool::SquareOn if n < 4 => "guide.corners",
        Tool::SquareOn => "guide.corners-size",
        Tool::Boxed => match crate::job::boxes::asked(sight.hand, n) {
            0 => "guide.boxed-a",
            1 => "guide.boxed-b",
            2 => "guide.boxed-c",
            3 => "guide.boxed-d",
            4 => "guide.boxed-e",
            5 => "guide.boxed-f",
            6 => "guide.boxed-g",
            _ => "guide.boxed-length",
        },
        Tool::Straighten if n == 0 => "guide.straighten-first",
        Tool::Straighten if n == 1 => "guide.straighten-second",
        Tool::Straighten => "guide.straighten-looking",
        Tool::Again => "guide.again",
        Tool::JoinWith => "guide.join-with",
        Tool::CutOff if n == 0 => "guide.cut-first",
        Tool::CutOff if n == 1 => "guide.cut-second",
        Tool::CutOff => "guide.cut-keep",
        Tool::Knot => "guide.knot",
        _ => return None,
    };
    Some(sight.say(&Say::new(key).count("number", n + 1)))
}

/// An outline whose halves have been looked at, and how they lie.
pub(super) fn halves<'a>(sight: &Sight<'a>) -> Option<(&'a Mark, Halves)> {
    let halves = sight.hand.halves?;
    Some((sight.document.mark(halves.mark)?, halves))
}

fn open_guide(sight: &Sight, kind: Kind, ends: Ends, had: usize) -> String {
    let (least, _) = need(kind, ends);
    let key = match (kind, ends) {
        (Kind::Length, Ends::Between) => "guide.other-end",
        (Kind::Length, Ends::FromCentre) => "guide.from-centre-end",
        (Kind::Length, Ends::FromLine) if had == 1 => "guide.from-line-second",
        (Kind::Length, Ends::FromLine) => "guide.from-line-end",
        (Kind::Angle, _) if had == 1 => "guide.angle-corner",
        (Kind::Angle, _) => "guide.angle-end",
        (Kind::Arc, _) if had == 1 => "guide.arc-middle",
        (Kind::Arc, _) => "guide.arc-end",
        (Kind::Gap | Kind::Crossing, _) if had == 1 => "guide.edge-same",
        (Kind::Gap | Kind::Crossing, _) if had == 2 => "guide.edge-other",
        (Kind::Gap | Kind::Crossing, _) => "guide.edge-end",
        (Kind::Outline, _) if had >= least => "guide.outline-more",
        (Kind::Circle, _) if had >= least => "guide.circle-more",
        (Kind::Path, _) if had >= least => "guide.path-more",
        _ => "guide.next-point",
    };
    sight.say(&Say::new(key).count("more", least.saturating_sub(had)))
}

/// The quieter line under it.
pub fn aside(sight: &Sight) -> String {
    let hand = sight.hand;
    if sight.document.pictures.is_empty() {
        return sight.word("aside.empty");
    }
    if let Some(said) = &hand.said {
        return sight.say(said);
    }
    if let (Tool::Straighten, Some(lens)) = (hand.tool, lens(sight)) {
        return sight.say(&lens.told());
    }
    if hand.held.is_some() {
        return sight.word("aside.moving");
    }
    let scaled = sight.reckoned.scaled() || sight.reckoned.factor.is_some();
    match hand.step {
        StepName::Picture => match hand.view.and_then(|v| sight.document.view(v)) {
            Some(v) => super::notes::scale_words(sight, v),
            None => String::new(),
        },
        StepName::Marks | StepName::Build if !scaled && !sight.document.marks.is_empty() => {
            sight.word("aside.ratios-only")
        }
        _ => String::new(),
    }
}

/// What is known of the lens of the picture on the board.
pub(super) fn lens<'a>(sight: &Sight<'a>) -> Option<&'a Lensed> {
    sight.hand.picture.and_then(|p| lenses::of(&sight.reckoned.lenses, p))
}

pub(super) fn tool_name(tool: Tool) -> &'static str {
    match tool {
        Tool::Length => "length",
        Tool::LengthFromCentre => "from-centre",
        Tool::LengthFromLine => "from-line",
        Tool::Path => "path",
        Tool::Angle => "angle",
        Tool::Circle => "circle",
        Tool::Arc => "arc",
        Tool::Outline => "outline",
        Tool::Point => "point",
        Tool::Gap => "gap",
        Tool::Crossing => "crossing",
        Tool::ViewBox => "view-box",
        Tool::ViewLevel => "view-level",
        Tool::ViewSplit => "view-split",
        Tool::ViewMerge => "view-merge",
        Tool::SquareOn => "square-on",
        Tool::Again => "again",
        Tool::JoinWith => "join-with",
        Tool::CutOff => "cut-off",
        Tool::Knot => "knot",
        Tool::Straighten => "straighten",
        Tool::Boxed => "boxed",
    }
}
