//! Boards with what is cut from each: what the page shows of them, and the same on paper.
//!
//! Every measure runs from the same two edges of a board, its left end and its upper edge as drawn, so that a tape is hooked on
//! once and errors don't add up.

use super::order::{Boards, Stack};
use super::write::Writing;
use crate::layout::{Board, Cut, Laid, Laying, Placed, Progress, Spot, cuts};
use crate::words::{Arg, Say};
use serde::Serialize;

/// All boards, as they are shown.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Shown {
    /// A stock each.
    pub lots: Vec<LotShown>,
}

/// The boards of one stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LotShown {
    /// What pins and bad spots know it by.
    pub name: String,
    /// What it is called.
    pub title: String,
    /// What to buy, what is left over, what couldn't be laid.
    pub lines: Vec<String>,
    /// The boards.
    pub boards: Vec<BoardShown>,
}

/// One board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct BoardShown {
    /// Which one, from 0 on.
    pub number: u32,
    /// Along and across, mm.
    pub size: [f64; 2],
    /// "Board 1: 8 ft × 5 1/2 in".
    pub label: String,
    /// What lies on it.
    pub pieces: Vec<PieceShown>,
    /// What is kept clear.
    pub spots: Vec<Spot>,
    /// The cuts, in order.
    pub cuts: Vec<CutShown>,
    /// The same in words.
    pub lines: Vec<String>,
}

/// One piece on a board.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PieceShown {
    /// Which part.
    pub part: u32,
    /// Which of its pieces.
    pub copy: u32,
    /// The part's letter.
    pub letter: String,
    /// Its size.
    pub text: String,
    /// Where its upper left corner lies, mm.
    pub at: [f64; 2],
    /// How far it goes as it lies, mm.
    pub over: [f64; 2],
    /// It lies across.
    pub turned: bool,
    /// A person put it there.
    pub pinned: bool,
}

/// One cut.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CutShown {
    /// Where it runs.
    #[serde(flatten)]
    pub cut: Cut,
    /// How far that is from the edge it is measured from.
    pub text: String,
}

/// Lays boards out, to the end.
///
/// # Errors
/// As [`Laying::new`].
pub fn lay(boards: &Boards) -> Result<Vec<Laid>, Say> {
    let mut laying = begin(boards)?;
    loop {
        let Progress { done, of } = laying.step();
        if done >= of {
            return Ok(laying.laid());
        }
    }
}

/// Begins to.
///
/// # Errors
/// As [`Laying::new`].
pub fn begin(boards: &Boards) -> Result<Laying, Say> {
    Laying::new(boards.lots.iter().map(|s| s.lot.clone()).collect())
}

/// What is shown of boards that are laid out.
pub fn shown(boards: &Boards, laid: &[Laid], words: &Writing<'_>) -> Shown {
    let lots = boards.lots.iter().zip(laid).map(|(stack, laid)| lot(stack, laid, words)).collect();
    Shown { lots }
}

fn lot(stack: &Stack, laid: &Laid, words: &Writing<'_>) -> LotShown {
    LotShown {
        name: stack.name.clone(),
        title: stack.title.clone(),
        lines: lines(stack, laid, words),
        boards: laid.boards.iter().map(|b| board(stack, b, words)).collect(),
    }
}

fn letter(stack: &Stack, part: u32) -> String {
    stack.letters.iter().find(|(p, _)| *p == part).map(|(_, l)| l.clone()).unwrap_or_default()
}

/// Letters of items, each once.
fn letters(stack: &Stack, items: &[usize]) -> String {
    let mut out: Vec<String> = Vec::new();
    for item in items.iter().filter_map(|i| stack.lot.items.get(*i)) {
        let one = letter(stack, item.part);
        if !out.contains(&one) {
            out.push(one);
        }
    }
    out.join(", ")
}

fn lines(stack: &Stack, laid: &Laid, words: &Writing<'_>) -> Vec<String> {
    let mut counts: Vec<([f64; 2], bool, usize)> = Vec::new();
    for board in &laid.boards {
        match counts.iter_mut().find(|(size, hand, _)| *size == board.size && *hand == board.at_hand) {
            Some((.., n)) => *n += 1,
            None => counts.push((board.size, board.at_hand, 1)),
        }
    }
    let none =
        !stack.lot.at_hand.is_empty() && !laid.boards.is_empty() && laid.boards.iter().all(|b| b.at_hand);
    let mut out: Vec<String> = counts
        .iter()
        .map(|([long, wide], hand, n)| {
            let key = match (stack.sheets, hand) {
                (true, false) => "sheet.buy-sheets",
                (false, false) => "sheet.buy-boards",
                (true, true) => "sheet.use-sheets",
                (false, true) => "sheet.use-boards",
            };
            let say = Say::new(key).count("count", *n).text("length", words.fine(*long));
            words.tell(&say.text("width", words.fine(*wide)))
        })
        .collect();
    if none {
        out.push(words.tell(&Say::new("sheet.buy-none")));
    }
    let [bought, used] = laid.areas();
    if bought > 0.0 {
        let share = Arg::Number(100.0 * (1.0 - used / bought), 0);
        out.push(words.tell(&Say::new("sheet.boards-waste").with("waste", share)));
    }
    let named = |key: &'static str, items: &[usize]| {
        (!items.is_empty()).then(|| words.tell(&Say::new(key).text("letters", letters(stack, items))))
    };
    out.extend(named("sheet.boards-left", &laid.left));
    out.extend(named("sheet.boards-unpinned", &laid.unpinned));
    out
}

fn board(stack: &Stack, board: &Board, words: &Writing<'_>) -> BoardShown {
    let [long, wide] = board.size;
    let key = match (stack.sheets, board.at_hand) {
        (true, false) => "sheet.one-sheet",
        (false, false) => "sheet.one-board",
        (true, true) => "sheet.hand-sheet",
        (false, true) => "sheet.hand-board",
    };
    let say = Say::new(key).count("number", board.number as usize + 1);
    let label = words.tell(&say.text("length", words.fine(long)).text("width", words.fine(wide)));
    let cut = |cut: Cut| CutShown { text: words.fine(cut.at), cut };
    let cuts: Vec<CutShown> = cuts(board, stack.lot.kerf).unwrap_or_default().into_iter().map(cut).collect();
    BoardShown {
        number: board.number,
        size: board.size,
        label,
        pieces: board.placed.iter().map(|p| piece(stack, p, words)).collect(),
        spots: board.spots.clone(),
        lines: in_words(&cuts, words),
        cuts,
    }
}

fn piece(stack: &Stack, p: &Placed, words: &Writing<'_>) -> PieceShown {
    let item = stack.lot.items.get(p.item);
    let [along, across] = item.map_or(p.over, |i| i.size);
    let say =
        Say::new("sheet.piece-size").text("length", words.fine(along)).text("width", words.fine(across));
    PieceShown {
        part: item.map_or(0, |i| i.part),
        copy: item.map_or(0, |i| i.copy),
        letter: item.map_or_else(String::new, |i| letter(stack, i.part)),
        text: words.tell(&say),
        at: p.at,
        over: p.over,
        turned: p.turned,
        pinned: p.pinned,
    }
}

/// The cuts in words: first those right across the board, then those of each piece that came off.
fn in_words(cuts: &[CutShown], words: &Writing<'_>) -> Vec<String> {
    let mut out = Vec::new();
    let deepest = cuts.iter().map(|c| c.cut.level).max();
    for level in 0..=deepest.unwrap_or(0) {
        for across in [true, false] {
            let here = |c: &&CutShown| (c.cut.level, c.cut.across) == (level, across);
            let mut these: Vec<&CutShown> = cuts.iter().filter(here).collect();
            crate::order::sort_by(&mut these, |a, b| a.cut.at.total_cmp(&b.cut.at));
            let mut own: Vec<&str> = Vec::new();
            for c in these {
                // The same stop serves several pieces.
                if !own.contains(&c.text.as_str()) {
                    own.push(&c.text);
                }
            }
            if !own.is_empty() {
                let key = if across { "sheet.cuts-across" } else { "sheet.cuts-along" };
                out.push(
                    words.tell(&Say::new(key).count("turn", out.len() + 1).text("places", own.join(", "))),
                );
            }
        }
    }
    out
}
