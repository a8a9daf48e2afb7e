//! The size board: a row for each mark.

use super::{Shelf, Sight, say};
use crate::estimate::{Estimate, Interval};
use crate::job::document::{Build, Mark};
use crate::job::intent::{Intent, StepName};
use crate::job::reckon::Reading;
use crate::job::scene::{Line, Measured, Missing, Row};
use crate::job::sizes::{Told, built};
use crate::mark::{Ends, Kind, Quantity};
use crate::quantity::Direction;
use crate::words::{Arg, Say};
use std::rc::Rc;

/// Lines in turn: marks are told apart by number, line and weight, never by colour.
pub fn line(number: u32) -> Line {
    match number % 4 {
        1 => Line::Solid,
        2 => Line::Chain,
        3 => Line::Dash,
        _ => Line::Dot,
    }
}

/// Unit at the left, rounding at the right.
pub fn head(sight: &Sight) -> [String; 2] {
    let what = if sight.reckoned.factor.is_some() {
        "head.to-build"
    } else if sight.reckoned.scaled() {
        "head.in-life"
    } else {
        "head.ratios-only"
    };
    let style = sight.word(match sight.units.style {
        crate::quantity::Style::Inches => "unit.inches",
        crate::quantity::Style::FeetInches => "unit.feet-inches",
        crate::quantity::Style::DecimalInches => "unit.decimal-inches",
        crate::quantity::Style::Millimetres => "unit.millimetres",
    });
    let way = match sight.units.direction {
        Direction::Nearest => "head.nearest",
        Direction::Up => "head.up",
        Direction::Down => "head.down",
    };
    [sight.say(&Say::new(what).text("unit", style)), sight.say(&Say::new(way).text("step", step_text(sight)))]
}

/// The rounding step as set: "1⁄16", "0.5 mm".
pub fn step_text(sight: &Sight) -> String {
    sight.step(sight.units.step).replace(" in", "")
}

/// All rows, by number; all of them open, or only that of the chosen mark.
pub fn rows(sight: &Sight, shelf: &mut Shelf, open: bool) -> Vec<Rc<Row>> {
    let mut rows: Vec<Rc<Row>> = sight
        .reckoned
        .marks
        .iter()
        .map(|r| {
            let selected = sight.hand.selected == Some(r.mark);
            let make = || row(sight, &r.made_from, r, open || selected);
            // Whether an end of it is held is nothing to a row.
            shelf.row(r, sight.told_rc(r.mark), (selected, None, open || selected), make)
        })
        .collect();
    crate::order::sort_by_key(&mut rows, |r| r.number);
    rows
}

fn row(sight: &Sight, mark: &Mark, reading: &Reading, open: bool) -> Row {
    let told = sight.told(mark.id);
    let show = |t: &Told, e: &Option<Estimate>, rounded, within: Option<Interval>| {
        let e = e.as_ref().filter(|_| !t.what.is_place())?;
        Some(say::size_within(
            sight,
            t.what,
            e,
            rounded,
            within.unwrap_or_else(|| say::even_where_it_is(t.what, e)),
            open,
        ))
    };
    let (real, finished) = match told {
        Some(t) => {
            let in_chain = |built: bool| t.rounded.filter(|_| t.finished.is_some() == built);
            let finished = show(t, &t.finished, in_chain(true), t.within);
            let real =
                if open || finished.is_none() { show(t, &t.real, in_chain(false), None) } else { None };
            (real, finished)
        }
        None => (None, None),
    };
    let picture = paper_size(sight, mark);
    Row {
        id: mark.id,
        number: mark.number,
        name: sight.name_of(mark),
        line: line(mark.number),
        under: under(sight, mark, &picture),
        picture,
        real,
        finished,
        more: if open { more(sight, mark, reading) } else { Vec::new() },
        from: from(sight, mark, told),
        missing: missing(sight, reading, told),
        flags: flags(sight, reading, told),
        selected: sight.hand.selected == Some(mark.id),
    }
}

/// The main size on the picture; nothing for what has no one length.
fn paper_size(sight: &Sight, mark: &Mark) -> String {
    let at = |i: usize| mark.points.get(i).map(|p| p.at);
    let px = match (mark.kind, mark.ends) {
        (Kind::Length, Ends::Between) => at(0).zip(at(1)).map(|(a, b)| a.distance(b)),
        (Kind::Length, Ends::FromCentre) => at(0).zip(at(1)).map(|(a, b)| 2.0 * a.distance(b)),
        (Kind::Length, Ends::FromLine) => at(0).zip(at(1)).zip(at(2)).and_then(|((a, b), c)| {
            let along = b - a;
            (along.length() > 0.0).then(|| 2.0 * along.cross(c - a).abs() / along.length())
        }),
        (Kind::Path, _) => Some(mark.points.windows(2).map(|w| w[0].at.distance(w[1].at)).sum()),
        _ => None,
    };
    px.map_or_else(String::new, |px| say::on_picture(sight, mark.picture, px))
}

fn under(sight: &Sight, mark: &Mark, picture: &str) -> String {
    let mut parts = Vec::new();
    if !picture.is_empty() {
        parts.push(sight.say(&Say::new("row.on-picture").text("size", picture)));
    }
    if let Some((ratio, base)) = super::ratios::against_base(sight, mark.id) {
        let base = sight
            .document
            .mark(base)
            .map(|m| if m.name.is_empty() { m.number.to_string() } else { m.name.clone() });
        let ratio = sight.number(ratio, 3);
        parts.push(
            sight.say(&Say::new("row.ratio").text("ratio", ratio).text("base", base.unwrap_or_default())),
        );
    }
    parts.join(" · ")
}

/// Everything a mark has besides its main size, as built when that is known.
fn more(sight: &Sight, mark: &Mark, reading: &Reading) -> Vec<Measured> {
    let Ok(measures) = &reading.measures else { return Vec::new() };
    let factor = sight.reckoned.factor.as_ref().filter(|f| f.serves(reading));
    let angle = |q: Quantity| q.dimension() == crate::mark::Dimension::Angle;
    measures
        .all
        .iter()
        .filter(|m| m.what != measures.primary && !m.what.is_place())
        .filter(|m| reading.scaled || factor.is_some() || angle(m.what))
        .map(|m| {
            let value = factor.map_or_else(|| m.value.clone(), |f| built(m.what, &m.value, f));
            Measured { label: label(sight, m.what), size: say::size(sight, m.what, &value, None) }
        })
        .chain(balance(sight, mark, reading))
        .collect()
}

/// Where an outline balances, told from its own left and top edges: from the view's origin it would mean nothing.
fn balance(sight: &Sight, mark: &Mark, reading: &Reading) -> Vec<Measured> {
    let factor = sight.reckoned.factor.as_ref().filter(|f| f.serves(reading));
    let (Ok(measures), Some(map)) = (&reading.measures, sight.reckoned.map(reading.view)) else {
        return Vec::new();
    };
    if mark.kind != Kind::Outline || !(reading.scaled || factor.is_some()) {
        return Vec::new();
    }
    let places: Vec<[Estimate; 2]> =
        crate::job::reckon::clicks(mark.id, &mark.points).iter().filter_map(|c| map.locate(c).ok()).collect();
    [(Quantity::BalanceAcross, 0), (Quantity::BalanceDown, 1)]
        .into_iter()
        .filter_map(|(what, axis)| {
            let edge = places.iter().map(|p| &p[axis]).min_by(|a, b| a.value.total_cmp(&b.value))?;
            let from_edge = measures.get(what)?.minus(edge);
            let value = factor.map_or_else(|| from_edge.clone(), |f| built(what, &from_edge, f));
            Some(Measured { label: label(sight, what), size: say::size(sight, what, &value, None) })
        })
        .collect()
}

fn label(sight: &Sight, what: Quantity) -> String {
    let key = format!("quantity.{}", say::quantity(what));
    match what {
        Quantity::Segment(i) => {
            sight.say(&Say::new(key).count("from", usize::from(i) + 1).count("to", usize::from(i) + 2))
        }
        _ => sight.word(&key),
    }
}

fn from(sight: &Sight, mark: &Mark, told: Option<&Told>) -> String {
    let Some(told) = told else { return String::new() };
    if let Some(other) = told.follows {
        return sight.say(&Say::new("row.as-trusted").text("mark", sight.mark_named(other)));
    }
    if told.chosen && matches!(sight.document.build, Build::Wanted { .. }) {
        return sight.word("row.you-chose");
    }
    match mark.known {
        Some(k) if k.pulls && told.finished.is_none() => {
            let caption = if crate::WHOLE { super::captions::from(sight, mark) } else { None };
            sight.word(caption.unwrap_or("row.you-said"))
        }
        Some(k) if !k.pulls => sight.word("row.check-length"),
        _ => String::new(),
    }
}

/// What has to be done before a size can be told.
fn missing(sight: &Sight, reading: &Reading, told: Option<&Told>) -> Option<Missing> {
    if let Err(say) = &reading.measures {
        // What is wrong may lie with another mark: the view's true length, say.
        let named = say.args.iter().find_map(|(n, a)| match a {
            Arg::Count(c) if n == "mark" => u32::try_from(*c).ok(),
            _ => None,
        });
        let mark = named.filter(|m| sight.document.mark(*m).is_some()).unwrap_or(reading.mark);
        let mut text = sight.say(say);
        if mark != reading.mark {
            text = sight
                .say(&Say::new("missing.by-other").text("mark", sight.mark_named(mark)).text("why", text));
        }
        return Some(Missing { text, intent: Intent::Hold { mark, point: 0 } });
    }
    let told = told?;
    if told.shown().is_some() || told.what.is_place() {
        return None;
    }
    let several = sight.document.pictures.len() > 1;
    let key =
        if sight.reckoned.factor.is_some() && several { "missing.this-picture" } else { "missing.length" };
    Some(Missing { text: sight.word(key), intent: Intent::Go { step: StepName::TrueLength } })
}

fn flags(sight: &Sight, reading: &Reading, told: Option<&Told>) -> Vec<String> {
    let mut out: Vec<String> = match &reading.measures {
        Ok(m) => m.flags.iter().map(|f| sight.say(f)).collect(),
        Err(_) => Vec::new(),
    };
    if told.is_some_and(|t| t.follows.is_some())
        && let Some(own) = reading.primary()
    {
        let size = match sight.reckoned.factor.as_ref().filter(|f| f.serves(reading)) {
            Some(f) => sight.length(own.value * f.value.value).with_unit(),
            None if reading.scaled => sight.length(own.value).with_unit(),
            None => paper_size(sight, &reading.made_from),
        };
        out.push(sight.say(&Say::new("row.reads-here").text("size", size)));
    }
    out.extend(told.and_then(|t| nothing(sight, t)));
    out.extend(outside(sight, reading));
    out
}

/// A length that is there and rounds to nothing.
fn nothing(sight: &Sight, told: &Told) -> Option<String> {
    let e = told.shown().filter(|_| told.what.dimension() == crate::mark::Dimension::Length)?;
    if told.what.is_place() || e.value == 0.0 {
        return None;
    }
    let shown = told.rounded.unwrap_or_else(|| {
        let u = sight.units;
        u.step.count(e.value, u.direction).map_or(e.value, |n| u.step.counted(n))
    });
    (shown == 0.0).then(|| sight.say(&Say::new("row.rounds-to-nothing").text("step", step_text(sight))))
}

/// Marks that lie outside the picture are measured, and said to be.
fn outside(sight: &Sight, reading: &Reading) -> Option<String> {
    let mark = &reading.made_from;
    let picture = sight.document.picture(mark.picture)?;
    let (w, h) = (f64::from(picture.width), f64::from(picture.height));
    mark.points
        .iter()
        .any(|p| p.at.x < 0.0 || p.at.y < 0.0 || p.at.x > w || p.at.y > h)
        .then(|| sight.word("row.outside-picture"))
}
