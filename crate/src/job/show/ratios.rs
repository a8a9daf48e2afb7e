//! Every mark against a base. Nothing is snapped: candidates are listed with how well they fit.

use super::Sight;
use crate::estimate::{Estimate, ratio_interval};
use crate::fault::{Area, spoil};
use crate::finish::ratio::{candidates, golden};
use crate::job::document::{Build, Document};
use crate::job::intent::TableName;
use crate::job::reckon::{Reading, Reckoned};
use crate::job::scene::RatioRow;
use crate::mark::Dimension;
use crate::quantity::{decimals_for, write_number_plus_minus};
use crate::words::{Arg, Say};

/// No whole-number ratio with a larger number in it is offered.
const LARGEST: u32 = 24;
/// No more candidates than can be read at a glance.
const MOST: usize = 3;

/// The mark that ratios are told against: chosen, or the one to build by, or the first that has a length.
pub fn base(document: &Document, reckoned: &Reckoned) -> Option<u32> {
    let built = match document.build {
        Build::Wanted { mark, .. } => Some(mark),
        _ => None,
    };
    document.base.or(built).or_else(|| {
        let has_length = |r: &&std::rc::Rc<Reading>| {
            let what = r.measures.as_ref().map(|m| m.primary);
            what.is_ok_and(|w| w.dimension() == Dimension::Length && !w.is_place())
        };
        reckoned.marks.iter().find(has_length).map(|r| r.mark)
    })
}

/// A mark's size over the base's, both by what they share; nothing for the base itself or what can't be compared.
fn ratio(sight: &Sight, mark: u32, base: u32) -> Option<(Estimate, Option<f64>)> {
    let (a, b) = comparable(sight, mark, base)?;
    let half = ratio_interval(a, b).map(|i| i.minus.max(i.plus) * spoil(Area::Ratio, 1.5));
    Some((a.over(b), half))
}

fn comparable<'a>(sight: &'a Sight, mark: u32, base: u32) -> Option<(&'a Estimate, &'a Estimate)> {
    let told = sight.told(mark)?;
    if told.what.dimension() != Dimension::Length || told.what.is_place() {
        return None;
    }
    let (a, b) = (sight.reckoned.reading(mark)?, sight.reckoned.reading(base)?);
    if !sight.reckoned.comparable(a, b) {
        return None;
    }
    let (a, b) = (a.primary()?, b.primary()?);
    (b.value > 0.0).then_some((a, b))
}

/// A mark's ratio to the base, for the line under its name.
pub fn against_base(sight: &Sight, mark: u32) -> Option<(f64, u32)> {
    let base = base(sight.document, sight.reckoned).filter(|b| *b != mark)?;
    let (a, b) = comparable(sight, mark, base)?;
    Some((a.value / b.value, base))
}

/// The table, when it is shown.
pub fn rows(sight: &Sight) -> Vec<RatioRow> {
    if sight.hand.table != TableName::Ratios {
        return Vec::new();
    }
    let Some(base) = base(sight.document, sight.reckoned) else { return Vec::new() };
    let mut rows: Vec<RatioRow> = sight
        .document
        .marks
        .iter()
        .filter_map(|m| {
            let (r, half) = ratio(sight, m.id, base)?;
            Some(row(sight, m.id, m.number, sight.name_of(m), &r, half, m.id == base))
        })
        .collect();
    crate::order::sort_by_key(&mut rows, |r| r.number);
    rows
}

fn row(
    sight: &Sight,
    id: u32,
    number: u32,
    name: String,
    r: &Estimate,
    half: Option<f64>,
    base: bool,
) -> RatioRow {
    let value = r.value;
    let decimals = half.map_or(3, decimals_for).clamp(2, 5);
    let ratio = match half {
        Some(h) if h > 0.0 => {
            let pm = sight.set(write_number_plus_minus(h)).text;
            format!("{} ± {pm}", sight.number(value, decimals))
        }
        _ => sight.number(value, decimals),
    };
    let (whole, golden) = match half {
        Some(h) if !base => (wholes(sight, value, h), golden_section(sight, value, h)),
        _ => (Vec::new(), None),
    };
    RatioRow {
        id,
        number,
        name,
        ratio,
        value,
        half_width: half,
        percent: format!("{} %", sight.number(value * 100.0, decimals.saturating_sub(2))),
        inverse: sight.number(1.0 / value, decimals),
        whole,
        golden,
        base,
    }
}

fn off(sight: &Sight, key: &'static str, off_by: f64, ratio: Option<(u32, u32)>) -> String {
    let mut say = Say::new(key).with("off", Arg::Number(off_by.abs() * 100.0, 2));
    if let Some((num, den)) = ratio {
        say = say.count("num", num as usize).count("den", den as usize);
    }
    sight.say(&say)
}

fn wholes(sight: &Sight, value: f64, half: f64) -> Vec<String> {
    candidates(value, half, LARGEST)
        .into_iter()
        .take(MOST)
        .map(|c| off(sight, "ratio.whole", c.off_by, Some((c.num, c.den))))
        .collect()
}

fn golden_section(sight: &Sight, value: f64, half: f64) -> Option<String> {
    golden(value, half).map(|g| off(sight, "ratio.golden", g.off_by, None))
}
