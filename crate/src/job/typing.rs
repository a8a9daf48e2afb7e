//! The keypad: what is typed, and what it becomes when it is taken.

use super::apply;
use super::boxes;
use super::desk::Desk;
use super::document::{About as Thing, Document, OnPattern, PaperChoice, PartChoice, Printer};
use super::hand::{Hand, Touch, Typing};
use super::intent::{About, At, How, Intent, Length, RectangleOf, StepName, Tool, Way};
use super::layout::lot_of;
use super::sheets::{paper_choice, test_bars};
use crate::WHOLE;
use crate::part::Bought;
use crate::part::rule::{Side, Term};
use crate::part::shelf::{KG_M, LB_FT};
use crate::quantity::read_digits;
use crate::sheet::printer_factor;
use crate::words::Say;

/// Kilograms in an ounce, exactly.
const OUNCE: f64 = 0.453_592_37 / 16.0;
/// No entry longer; names are cut where they are kept.
const LONGEST: usize = 600;

pub(super) fn entry(desk: &mut Desk, text: String) -> Result<(), Say> {
    let typing = desk.hand.entry.as_mut().ok_or_else(|| Say::new("job.no-keypad"))?;
    typing.text = text.chars().take(LONGEST).collect();
    Ok(())
}

pub(super) fn how(desk: &mut Desk, how: How) -> Result<(), Say> {
    let typing = desk.hand.entry.as_mut().ok_or_else(|| Say::new("job.no-keypad"))?;
    typing.how = how;
    Ok(())
}

/// Opens the keypad for something about a part.
pub(super) fn ask_part(desk: &mut Desk, mark: u32, about: About) -> Result<(), Say> {
    let document = desk.document();
    let there = match about {
        About::Weight => document.mark(mark).is_some(),
        _ if about.is_of_bought() => document.mark(mark).is_some() || document.is_part(mark),
        _ if about.is_of_part() => document.is_part(mark),
        _ => return Err(Say::new("job.not-a-gesture")),
    };
    if !there {
        return Err(Say::new("job.not-an-outline"));
    }
    let name = document.hidden(mark).filter(|_| about == About::PartName).map(|h| h.name.clone());
    desk.hand.entry = Some(Typing { about, text: name.unwrap_or_default(), how: How::default(), of: mark });
    Ok(())
}

/// How long is a mark?
pub(super) fn ask_how_long(desk: &mut Desk, of: u32) {
    desk.hand.entry = Some(Typing { about: About::Length, text: String::new(), how: How::default(), of });
}

/// Takes what stands in the keypad.
pub(super) fn accept(desk: &mut Desk, way: Way) -> Result<(), Say> {
    let mut typing = desk.hand.entry.clone().ok_or_else(|| Say::new("job.no-keypad"))?;
    if !matches!(typing.about, About::MarkName | About::ViewName | About::JobName | About::PrinterName) {
        // A fact is read alike in every language.
        typing.text = desk.words.plain(&typing.text);
    }
    let Some(fact) = fact(desk, &typing, way)? else { return Ok(()) };
    let unscaled = match &fact {
        Intent::SquareOn { width: None, height: None, sheet: None, .. } => true,
        Intent::Boxed { edges, .. } => edges.iter().all(Option::is_none),
        _ => false,
    };
    let shaped = matches!(&fact, Intent::Boxed { .. } | Intent::SquareOn { .. });
    desk.take(fact)?;
    desk.hand.entry = None;
    if unscaled {
        // One true length is what is missing next.
        desk.hand.step = StepName::TrueLength;
        desk.hand.view = None;
    }
    if shaped && !unscaled {
        desk.hand.step = StepName::Marks;
        desk.hand.view = None;
    }
    if typing.about == About::Length && desk.hand.step == StepName::TrueLength {
        desk.hand.held = None;
        desk.hand.selected = None;
        desk.hand.step = StepName::Marks;
        desk.hand.tool = Tool::Length;
    }
    Ok(())
}

/// The fact that an entry makes; nothing when it only goes on (the second side of a rectangle).
fn fact(desk: &mut Desk, typing: &Typing, way: Way) -> Result<Option<Intent>, Say> {
    let text = typing.text.trim().to_owned();
    let length = || Length::Text(text.clone());
    let mark = typing.of;
    Ok(Some(match typing.about {
        About::Length => match way {
            Way::Want => Intent::SetBuild { mark, length: length() },
            _ => Intent::SetKnown {
                mark,
                length: length(),
                how: typing.how,
                pm: None,
                pulls: way != Way::Check,
            },
        },
        About::Build => Intent::SetBuild { mark, length: length() },
        About::PlusMinus => plus_minus(desk, typing)?,
        About::BuildScale => {
            let (finished, real) = scale(&text)?;
            Intent::SetBuildRatio { finished, real }
        }
        About::BuildPercent => Intent::SetBuildPercent { percent: number(text.trim_end_matches('%'))? },
        About::MarkName => Intent::NameMark { mark, name: text },
        About::MarkNumber => Intent::NumberMark { mark, number: whole(&text)? },
        About::ViewName => Intent::ChangeView { view: typing.of, name: Some(text), role: None, bounds: None },
        About::JobName => Intent::NameJob { name: text },
        About::DrawingScale => {
            let (paper, real) = scale(&text)?;
            Intent::SetDrawingScale { picture: typing.of, one_to: Some(real / paper) }
        }
        About::Resolution => {
            let n = number(&text)?;
            Intent::SetResolution { picture: typing.of, resolution: Some([n, n]) }
        }
        About::Width | About::Height => return side(desk, typing.about, &text, way),
        _ if !WHOLE => return Ok(None),
        // These are chosen by their keys.
        About::Paper
        | About::PartStock
        | About::PartEnds
        | About::Vane
        | About::Thing
        | About::Bought
        | About::PartLargest
        | About::Work
        | About::RuleLength
        | About::RuleWidth => return Ok(None),
        About::Kerf => Intent::SetKerf { kerf: length() },
        About::Moisture => {
            let moisture = Some(number(text.trim_end_matches('%'))?);
            Intent::SetThing { about: Thing { moisture, ..desk.document().about.clone() } }
        }
        About::BoardLength | About::BoardWidth => board(desk, typing)?,
        About::PaperWidth | About::PaperHeight => return own_paper(desk, typing, way),
        About::Margin => {
            let paper = paper_choice(desk.document());
            Intent::SetPaper { paper: PaperChoice { margin: Some(edge(desk, &text)?), ..paper } }
        }
        About::Lap => {
            let paper = paper_choice(desk.document());
            Intent::SetPaper { paper: PaperChoice { lap: Some(edge(desk, &text)?), ..paper } }
        }
        About::LandsThick | About::LandsDeep => return lands(desk, typing, way),
        About::Bevel => Intent::OnPattern {
            mark,
            what: Some(OnPattern::Bevel { degrees: number(text.trim_end_matches('°'))? }),
        },
        About::PrinterName => {
            let printer = desk.document().sheets.printer.clone();
            Intent::SetPrinter { printer: printer.map(|p| Printer { name: text, ..p }) }
        }
        About::PrinterAcross | About::PrinterDown => return printer(desk, typing, way),
        About::Caption => super::caption::fact(desk, &text, way)?,
        About::BoxFront | About::BoxEnd | About::BoxUpright => {
            return boxes::edge(desk, typing.about, &text, way);
        }
        About::Back | About::Away => return boxes::back(desk, typing, way),
        _ => of_part(desk.document(), typing, text)?,
    }))
}

/// The same of a figure about a part, or about what is heavy on a vane.
fn of_part(document: &Document, typing: &Typing, text: String) -> Result<Intent, Say> {
    let mark = typing.of;
    let metric = document.units.style.is_metric();
    let length = || apply::length(&Length::Text(text.clone()), document.units.style);
    Ok(match typing.about {
        About::Load => {
            let one = if metric { KG_M } else { LB_FT };
            let load = Some(number(&text)? * one);
            Intent::SetPart { mark, choice: PartChoice { load, ..document.part(mark) } }
        }
        About::Weight => {
            let one = if metric { 1e-3 } else { OUNCE };
            Intent::SetVane { vane: document.vane.clone().weighing(mark, Some(number(&text)? * one)) }
        }
        About::OwnLength | About::OwnWidth => {
            let mm = length()?;
            let side = if typing.about == About::OwnLength { Side::Length } else { Side::Width };
            let choice = document.part(mark);
            let mut rule = choice.rule(side).cloned().unwrap_or_default();
            rule.push(Term::own(if rule.is_empty() { 1.0 } else { -1.0 }, mm, None));
            Intent::SetPart { mark, choice: choice.ruled(side, rule) }
        }
        About::PartName => Intent::NamePart { part: mark, name: text },
        About::BoughtAcross | About::BoughtThick => {
            let bought = document.bought(mark).ok_or_else(|| Say::new("bought.size"))?;
            let mm = length()?;
            let bought = if typing.about == About::BoughtAcross {
                Bought { across: mm, ..bought }
            } else {
                Bought { thick: Some(mm), ..bought }
            };
            Intent::SetBought { of: mark, bought: Some(bought) }
        }
        about => {
            let made = document.made(mark).map(|(_, made)| made);
            let choice = document.part(mark).with_figure(made, about == About::JointDepth, length()?)?;
            Intent::SetPart { mark, choice }
        }
    })
}

/// A size of the boards of a part's stock.
fn board(desk: &Desk, typing: &Typing) -> Result<Intent, Say> {
    let document = desk.document();
    let mm = apply::length(&Length::Text(typing.text.clone()), document.units.style)?;
    let (_, made) = document.made(typing.of).ok_or_else(|| Say::new("cut.no-stock"))?;
    let [long, wide] = document.board_size(made, 0.0);
    let size = if typing.about == About::BoardLength { [mm, wide] } else { [long, mm] };
    Ok(Intent::SetBoards { lot: lot_of(made), size })
}

fn plus_minus(desk: &Desk, typing: &Typing) -> Result<Intent, Say> {
    let known =
        desk.document().mark(typing.of).and_then(|m| m.known).ok_or_else(|| Say::new("job.not-known-yet"))?;
    Ok(Intent::SetKnown {
        mark: typing.of,
        length: Length::Mm { mm: known.mm },
        how: known.how,
        pm: Some(Length::Text(typing.text.trim().to_owned())),
        pulls: known.pulls,
    })
}

/// The sides of a rectangle come one after the other; with the second it is turned square-on. Either may be left open.
fn side(desk: &mut Desk, about: About, text: &str, way: Way) -> Result<Option<Intent>, Say> {
    let open = matches!(way, Way::Open | Way::Skip);
    let style = desk.document().units.style;
    let given = (!open).then(|| apply::length(&Length::Text(text.to_owned()), style)).transpose()?;
    if about == About::Width {
        desk.hand.rectangle = [given, None];
    } else {
        desk.hand.rectangle[1] = given;
    }
    if about == About::Width && way != Way::Open {
        desk.hand.entry =
            Some(Typing { about: About::Height, text: String::new(), how: How::default(), of: 0 });
        return Ok(None);
    }
    let mut size = desk.hand.rectangle;
    if let [a, b, ..] = &desk.hand.pending[..]
        && !runs_level(a.at, b.at)
    {
        // Its width is the side that runs level, wherever the touches began.
        size.reverse();
    }
    let fact = square_on(desk.document(), &desk.hand, None, size, RectangleOf::Thing)?;
    Ok(Some(fact))
}

/// A margin or a lap in mm; none is 0, which is no length.
fn edge(desk: &Desk, text: &str) -> Result<f64, Say> {
    if read_digits(text).is_some_and(|v| v == 0.0) {
        return Ok(0.0);
    }
    apply::length(&Length::Text(text.to_owned()), desk.document().units.style)
}

/// The sides of a paper of one's own come one after the other; a roll has one only.
fn own_paper(desk: &mut Desk, typing: &Typing, way: Way) -> Result<Option<Intent>, Say> {
    let mm = apply::length(&Length::Text(typing.text.clone()), desk.document().units.style)?;
    let roll = way == Way::Always;
    if typing.about == About::PaperWidth && !roll {
        desk.hand.rectangle[0] = Some(mm);
        let of = Typing { about: About::PaperHeight, text: String::new(), how: How::default(), of: 0 };
        desk.hand.entry = Some(of);
        return Ok(None);
    }
    let size = match desk.hand.rectangle[0] {
        Some(width) if !roll => [width, mm],
        _ => [mm, 0.0],
    };
    let name = if roll { "roll" } else { "custom" }.to_owned();
    Ok(Some(Intent::SetPaper { paper: PaperChoice { name, size, ..paper_choice(desk.document()) } }))
}

/// How thick, then how deep what lands along a length is let in; not at all where that is left open.
fn lands(desk: &mut Desk, typing: &Typing, way: Way) -> Result<Option<Intent>, Say> {
    let mark = typing.of;
    let given = || apply::length(&Length::Text(typing.text.clone()), desk.document().units.style);
    if typing.about == About::LandsThick {
        desk.hand.rectangle[0] = Some(given()?);
        desk.hand.entry =
            Some(Typing { about: About::LandsDeep, text: String::new(), how: How::default(), of: mark });
        return Ok(None);
    }
    let thick = desk.hand.rectangle[0].ok_or_else(|| Say::new("job.no-keypad"))?;
    let deep = if way == Way::Open { 0.0 } else { given()? };
    Ok(Some(Intent::OnPattern { mark, what: Some(OnPattern::Lands { thick, deep }) }))
}

/// The test sheet's bars come one after the other; with the second the printer is known.
fn printer(desk: &mut Desk, typing: &Typing, way: Way) -> Result<Option<Intent>, Say> {
    let measured = apply::length(&Length::Text(typing.text.clone()), desk.document().units.style)?;
    let bars = test_bars(desk.document()).ok_or_else(|| Say::new("job.no-such-paper"))?;
    let [across, down] = bars;
    let always = way == Way::Always;
    if typing.about == About::PrinterAcross {
        desk.hand.rectangle[0] = Some(printer_factor(measured, across, always)?);
        let of = Typing { about: About::PrinterDown, text: String::new(), how: How::default(), of: 0 };
        desk.hand.entry = Some(of);
        return Ok(None);
    }
    let first = desk.hand.rectangle[0].ok_or_else(|| Say::new("job.no-keypad"))?;
    let factor = [first, printer_factor(measured, down, always)?];
    Ok(Some(Intent::SetPrinter {
        printer: Some(Printer { name: String::new(), paper: paper_choice(desk.document()).name, factor }),
    }))
}

/// A side runs across the picture rather than up and down.
pub(super) fn runs_level(a: At, b: At) -> bool {
    (b.x - a.x).abs() >= (b.y - a.y).abs()
}

/// Which way a sheet lies as seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Lies {
    /// Its long side across.
    Wide,
    /// Its long side up and down.
    Tall,
}

/// The fact that turns the chosen view (or the whole picture) square-on by the four pending corners.
pub(super) fn square_on(
    document: &Document,
    hand: &Hand,
    sheet: Option<(String, Lies)>,
    size: [Option<f64>; 2],
    of: RectangleOf,
) -> Result<Intent, Say> {
    let pending: &[Touch] = &hand.pending;
    let [a, b, c, d] = pending else { return Err(Say::new("job.rectangle-needs-corners")) };
    let picture = hand.picture.unwrap_or(0);
    let view = hand.view.or_else(|| document.whole(picture).map(|w| w.id));
    let worst = pending.iter().min_by(|a, b| a.zoom.total_cmp(&b.zoom)).unwrap_or(a);
    Ok(Intent::SquareOn {
        view: view.ok_or_else(|| Say::new("job.no-picture-yet"))?,
        corners: [a.at, b.at, c.at, d.at],
        long_first: sheet.as_ref().map(|(_, lies)| runs_level(a.at, b.at) == (*lies == Lies::Wide)),
        sheet: sheet.map(|(name, _)| name),
        width: size[0].map(|mm| Length::Mm { mm }),
        height: size[1].map(|mm| Length::Mm { mm }),
        of,
        by: worst.by,
        zoom: worst.zoom,
        seen: pending.iter().all(|t| t.seen),
        caught: if pending.iter().any(|t| t.hold.is_some()) {
            pending.iter().map(|t| t.hold.map(|h| h.caught)).collect()
        } else {
            Vec::new()
        },
    })
}

/// A plain number, decimal point or comma.
pub(super) fn number(text: &str) -> Result<f64, Say> {
    let t = text.trim().replace(',', ".");
    read_digits(&t)
        .filter(|v| v.is_finite() && *v > 0.0)
        .ok_or_else(|| Say::new("job.not-a-number").text("text", text))
}

/// A whole number as marks have them.
pub(super) fn whole(text: &str) -> Result<u32, Say> {
    text.trim().parse().map_err(|_| Say::new("job.number-range"))
}

/// A scale such as `1:12`, `1 / 12`, `2:1`, or a bare 12 for 1:12.
pub(super) fn scale(text: &str) -> Result<(f64, f64), Say> {
    match text.split_once([':', '/', '∶']) {
        Some((a, b)) => Ok((number(a)?, number(b)?)),
        None => Ok((1.0, number(text)?)),
    }
}
