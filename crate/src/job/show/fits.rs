//! The largest that a thing can be built from the boards there are: what limits it, and the size to build that follows.

use super::cutting::{Cut, cuts, figure};
use super::rules::{Measured, rounded};
use super::{Sight, ratios, say};
use crate::job::document::{Build, Grain};
use crate::job::intent::{Intent, Length};
use crate::job::layout::lot_of;
use crate::job::scene::Key;
use crate::part::rule::{DEEPEST, Side};
use crate::part::stock::widths;
use crate::quantity::{Direction, round};
use crate::words::Say;

/// Less than any saw tells apart, mm.
const HAIR: f64 = 0.01;

/// A side as it grows with all that is built: so much of it does, mm at the size as it is, and so much stays.
type Grows = [f64; 2];

/// How a part's side grows: what is measured does, what is of stock or bought doesn't, and what follows by rule follows.
fn grows(sight: &Sight, measured: &Measured, part: u32, side: Side, deep: usize) -> Option<Grows> {
    let choice = sight.document.part(part);
    let bought = choice.bought.is_some_and(|b| side != Side::Length || !b.ware.is_cut());
    if side == Side::Thickness || bought {
        return Some([0.0, measured.side(sight, part, side, deep).ok()?[0]]);
    }
    let Some(rule) = choice.rule(side) else {
        let [length, width] = measured.outlined(part)?;
        return Some([if side == Side::Length { length[0] } else { width[0] }, 0.0]);
    };
    let mut sum = [0.0; 2];
    for term in rule {
        let [more, fixed] = match term.part {
            Some(_) if deep >= DEEPEST => return None,
            Some(other) => grows(sight, measured, other, term.side, deep + 1)?,
            None => [0.0, term.mm],
        };
        sum = [sum[0] + term.times * more, sum[1] + term.times * fixed];
    }
    Some(sum)
}

/// One part against the boards of its stock.
#[derive(Clone)]
struct Fit<'a> {
    cut: &'a Cut<'a>,
    /// Its length with its joints, and its width.
    sides: [Grows; 2],
    boards: Vec<[f64; 2]>,
    /// It may lie across.
    turns: bool,
}

impl<'a> Fit<'a> {
    fn of(sight: &Sight, measured: &Measured, cut: &'a Cut<'a>) -> Option<Fit<'a>> {
        let (_, made) = cut.made?;
        let [mut length, width] =
            [Side::Length, Side::Width].map(|side| grows(sight, measured, cut.id, side, 0));
        if let Some(length) = &mut length {
            length[1] += cut.choice.ends.iter().map(crate::part::End::adds).sum::<f64>();
        }
        let long = cut.blank.as_ref().ok()?.cut().ok()?;
        let widest = widths().last().map_or(0.0, |[_, actual]| *actual);
        let mut boards: Vec<[f64; 2]> =
            sight.document.at_hand(&lot_of(made)).into_iter().map(|(size, _)| size).collect();
        if boards.is_empty() {
            boards.push(sight.document.board_size(made, long));
        }
        let boards = boards.into_iter().map(|[l, w]| [l, if w > 0.0 { w } else { widest }]).collect();
        let turns = made.goods.no_grain() || sight.document.pattern(cut.id).grain == Grain::None;
        Some(Fit { cut, sides: [length?, width?], boards, turns })
    }

    /// How many times as large it can be, and which of its sides is then as long as its board lets it be.
    fn most(&self) -> Option<(f64, Side)> {
        let [length, width] = self.sides;
        let until = |[more, fixed]: Grows, room: f64| {
            if room + 1e-6 < fixed {
                0.0
            } else if more <= 0.0 {
                f64::INFINITY
            } else {
                (room - fixed) / more
            }
        };
        let on = |along: f64, across: f64| {
            let [l, w] = [until(length, along), until(width, across)];
            if l <= w { (l, Side::Length) } else { (w, Side::Width) }
        };
        let ways = self.boards.iter().flat_map(|[l, w]| [Some(on(*l, *w)), self.turns.then(|| on(*w, *l))]);
        ways.flatten().max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Whether it fits once everything is `times` as large, as it is sawn.
    fn holds(&self, sight: &Sight, times: f64) -> bool {
        let [l, w] = self.sides.map(|[more, fixed]| rounded(sight, more * times + fixed));
        let goes = |l: f64, w: f64| self.boards.iter().any(|b| l <= b[0] + 1e-6 && w <= b[1] + 1e-6);
        goes(l, w) || (self.turns && goes(w, l))
    }
}

/// The mark by which the size to build is told, and its finished length, mm.
fn built_by(sight: &Sight) -> Option<(u32, f64)> {
    let mark = match sight.document.build {
        Build::Wanted { mark, .. } => mark,
        _ => ratios::base(sight.document, sight.reckoned)?,
    };
    Some((mark, sight.told(mark)?.shown()?.value))
}

/// The size to build that is the largest for `fits`, told with what limits it.
fn offer(sight: &Sight, id: &str, fits: &[Fit]) -> Option<Key> {
    let (mark, now) = built_by(sight)?;
    let most = fits.iter().filter_map(|f| f.most().map(|(times, side)| (times, side, f)));
    let (times, side, least) = most.min_by(|a, b| a.0.total_cmp(&b.0))?;
    let step = sight.units.step.within(sight.units.style);
    // A hair over: what just fits is not a whole step too large for it.
    let mut mm = round(now * times + HAIR, step, Direction::Down);
    // What is sawn is rounded too: a step less where that makes it too long.
    while mm > 0.0 && !fits.iter().all(|f| f.holds(sight, mm / now)) {
        mm -= step.mm();
    }
    if !(mm > 0.0 && mm.is_finite()) {
        return None;
    }
    let say = Say::new("fits.build").text("mark", sight.mark_named(mark)).text("size", figure(sight, mm));
    let say = say.text("letter", least.cut.letter.clone());
    let say = say.text("side", sight.word(&format!("side.{}", side.name())));
    let alone = sight.word(&format!("fits.{id}"));
    let label = [alone, sight.say(&say)].join(" ");
    let on = (mm - now).abs() < 1e-6;
    Some(
        say::key(sight, "largest", Intent::SetBuild { mark, length: Length::Mm { mm } })
            .labelled(label)
            .pressed(on),
    )
}

/// What a part, and what all parts, could be built at from the boards there are.
pub fn choices(sight: &Sight, part: u32) -> Vec<Key> {
    let (all, measured) = (cuts(sight), Measured::of(sight));
    let fits: Vec<Fit> = all.iter().filter_map(|c| Fit::of(sight, &measured, c)).collect();
    let own: Vec<Fit> = fits.iter().filter(|f| f.cut.id == part).cloned().collect();
    let mut keys: Vec<Key> =
        [offer(sight, "alone", &own), offer(sight, "all", &fits)].into_iter().flatten().collect();
    for (key, id) in keys.iter_mut().zip(["fits-alone", "fits-all"]) {
        key.id = id.to_owned();
    }
    keys
}

/// The boards that were looked at, in words; or why none could be.
pub fn reads(sight: &Sight, part: u32) -> String {
    let (all, measured) = (cuts(sight), Measured::of(sight));
    let fit = all.iter().find(|c| c.id == part).and_then(|c| Fit::of(sight, &measured, c));
    let Some(fit) = fit else { return sight.word("fits.unknown") };
    let size = |[l, w]: &[f64; 2]| {
        let say =
            Say::new("sheet.piece-size").text("length", figure(sight, *l)).text("width", figure(sight, *w));
        sight.say(&say)
    };
    let sizes: Vec<String> = fit.boards.iter().map(size).collect();
    sight.say(&Say::new("fits.boards").text("sizes", sizes.join("; ")))
}
