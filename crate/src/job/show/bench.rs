//! The bench view: one cut at a time, in the order in which a saw is set least often.

use super::Sight;
use super::cutting::{Cut, cuts, figure, fine};
use crate::job::desk::Desk;
use crate::job::intent::Intent;
use crate::words::Say;
use serde::Serialize;

/// No more pieces are shown one by one.
const MOST: usize = 3_000;

/// All cuts, in order.
#[derive(Clone, Debug, Serialize)]
pub struct Bench {
    /// "3 of 12 cut".
    pub done: String,
    /// What to heed.
    pub caution: String,
    /// Each cut.
    pub cuts: Vec<BenchCut>,
}

/// One cut: one piece of one part.
#[derive(Clone, Debug, Serialize)]
pub struct BenchCut {
    /// A, and which of how many.
    pub letter: String,
    /// "Shelf, 2 of 3".
    pub name: String,
    /// The length to cut.
    pub cut: String,
    /// What shows of it, and why it is cut longer; empty where nothing is added.
    pub shoulder: String,
    /// What it is cut from, and how wide and thick it is.
    pub from: String,
    /// Which saw setting this is, and how many pieces it serves.
    pub setting: String,
    /// The saw is set anew for this one.
    pub first: bool,
    /// It is cut.
    pub done: bool,
    /// Ticks it, or takes the tick away.
    pub tick: Intent,
}

/// One piece before it is told: its place in the list, which of its part, its length.
struct Piece<'a> {
    cut: &'a Cut<'a>,
    copy: u32,
    long: f64,
}

/// The cuts of a job: those of one stock together, longest first, and pieces of one length at one setting of the saw.
pub fn bench(desk: &Desk) -> Bench {
    let sight = super::sight(desk);
    let all = cuts(&sight);
    let mut pieces: Vec<Piece> = Vec::new();
    for cut in &all {
        let Ok(long) = cut.blank.as_ref().map_err(|_| ()).and_then(|b| b.cut().map_err(|_| ())) else {
            continue;
        };
        let left = u32::try_from(MOST - pieces.len()).unwrap_or(0);
        pieces.extend((0..cut.quantity.min(left)).map(|copy| Piece { cut, copy, long }));
    }
    // Stock by stock, in the order in which the list first names it.
    let stock = |p: &Piece| {
        let same = |c: &Cut| c.material(&sight) == p.cut.material(&sight);
        all.iter().position(same).unwrap_or(usize::MAX)
    };
    let keyed: Vec<(usize, &Piece)> = pieces.iter().map(|p| (stock(p), p)).collect();
    let mut keyed = keyed;
    crate::order::sort_by(&mut keyed, |a, b| a.0.cmp(&b.0).then(b.1.long.total_cmp(&a.1.long)));
    let same = |a: &(usize, &Piece), b: &(usize, &Piece)| a.0 == b.0 && (a.1.long - b.1.long).abs() < 1e-6;
    let is_cut = |p: &Piece| sight.document.boards.cut.contains(&[p.cut.id, p.copy]);
    let mut out = Vec::new();
    let mut setting = 0;
    for (i, one) in keyed.iter().enumerate() {
        let first = i.checked_sub(1).and_then(|k| keyed.get(k)).is_none_or(|before| !same(before, one));
        setting += usize::from(first);
        let many = keyed.iter().filter(|other| same(one, other)).count();
        let say = Say::new("bench.setting").count("setting", setting).count("count", many);
        out.push(told(&sight, one.1, sight.say(&say), first, is_cut(one.1)));
    }
    let done = out.iter().filter(|c: &&BenchCut| c.done).count();
    let say = Say::new("bench.done").count("done", done).count("count", out.len());
    Bench { done: sight.say(&say), caution: sight.word("bench.caution"), cuts: out }
}

fn told(sight: &Sight, piece: &Piece, setting: String, first: bool, done: bool) -> BenchCut {
    let Piece { cut, copy, .. } = piece;
    let which = Say::new("bench.which").text("name", cut.name(sight)).count("one", *copy as usize + 1);
    let sizes = cut.blank.as_ref().ok().map(|b| {
        let say = Say::new("bench.from").text("material", cut.material(sight));
        let thick = b.thickness().map_or_else(|_| String::new(), |mm| fine(sight, mm));
        sight.say(&say.text("width", figure(sight, b.width)).text("thickness", thick))
    });
    BenchCut {
        letter: cut.letter.clone(),
        name: sight.say(&which.count("count", cut.quantity as usize)),
        cut: cut.length(sight),
        shoulder: cut.reason(sight),
        from: sizes.unwrap_or_default(),
        setting,
        first,
        done,
        tick: Intent::Tick { mark: cut.id, copy: *copy, on: !done },
    }
}
