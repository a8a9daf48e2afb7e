//! Sizes that follow from other parts: so many times this side of that part, more or less.

use crate::words::Say;
use serde::{Deserialize, Serialize};

/// A side of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "PartSide"))]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// Along its grain, what shows.
    Length,
    /// Across that.
    Width,
    /// Of its stock.
    Thickness,
}

impl Side {
    /// All of them, in the order to offer them.
    pub const ALL: [Side; 3] = [Side::Length, Side::Width, Side::Thickness];

    /// Its name in the words file, after `side.`.
    pub fn name(self) -> &'static str {
        match self {
            Side::Length => "length",
            Side::Width => "width",
            Side::Thickness => "thickness",
        }
    }
}

/// One piece of a rule.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "RuleTerm"))]
pub struct Term {
    /// So many times; below nothing it is taken off.
    pub times: f64,
    /// Of this part; nothing for a length of its own.
    #[serde(default)]
    pub part: Option<u32>,
    /// That side of it.
    pub side: Side,
    /// The length of its own, mm.
    #[serde(default)]
    pub mm: f64,
    /// What a length of its own stands for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(optional))]
    pub what: Option<Own>,
}

/// What a length of its own may stand for in an axle's length.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "RuleOwn"))]
#[serde(rename_all = "kebab-case")]
pub enum Own {
    /// A washer's thickness.
    Washer,
    /// What it may slide along.
    Play,
}

impl Term {
    /// So many times a side of a part.
    pub fn of(times: f64, part: u32, side: Side) -> Term {
        Term { times, part: Some(part), side, mm: 0.0, what: None }
    }

    /// So many times a length of its own.
    pub fn own(times: f64, mm: f64, what: Option<Own>) -> Term {
        Term { times, part: None, side: Side::Length, mm, what }
    }
}

/// No rule has more pieces.
pub const MOST_TERMS: usize = 20;
/// No piece counts more often.
const MOST_TIMES: f64 = 100.0;
/// No rule reaches farther through others: more parts in a row than any job needs.
pub const DEEPEST: usize = 64;

/// What a rule comes to, and the half-width of that: at worst all that it is made of is off the same way.
///
/// # Units
/// mm, and `size` tells each side with its half-width, mm.
///
/// # Errors
/// What `size` says of a side that isn't known.
pub fn come_to(
    rule: &[Term],
    mut size: impl FnMut(u32, Side) -> Result<[f64; 2], Say>,
) -> Result<[f64; 2], Say> {
    let mut sum = [0.0; 2];
    for term in rule {
        let [mm, half] = match term.part {
            Some(part) => size(part, term.side)?,
            None => [term.mm, 0.0],
        };
        sum = [sum[0] + term.times * mm, sum[1] + term.times.abs() * half];
    }
    Ok(sum)
}

/// Whether a rule can be one at all.
///
/// # Errors
/// `rule.absurd`.
pub fn check(rule: &[Term]) -> Result<(), Say> {
    let sound = |t: &Term| t.times.abs() <= MOST_TIMES && t.times != 0.0 && t.mm.abs() <= 1e6;
    if rule.len() > MOST_TERMS || !rule.iter().all(sound) {
        return Err(Say::new("rule.absurd"));
    }
    Ok(())
}

/// The parts round which rules run in a ring that begins and ends at `from`, if they do. `needs` tells which sides a side of a part
/// rests on.
pub fn ring(from: (u32, Side), needs: &dyn Fn(u32, Side) -> Vec<(u32, Side)>) -> Option<Vec<u32>> {
    // Each way in is gone once: what has been seen leads nowhere new.
    let mut seen: Vec<(u32, Side)> = Vec::new();
    let mut way = vec![(from, needs(from.0, from.1))];
    while let Some((_, left)) = way.last_mut() {
        match left.pop() {
            Some(next) if next == from => return Some(way.iter().map(|((part, _), _)| *part).collect()),
            Some(next) if !seen.contains(&next) => {
                seen.push(next);
                way.push((next, needs(next.0, next.1)));
            }
            Some(_) => {}
            None => {
                way.pop();
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn term(times: f64, part: u32, side: Side) -> Term {
        Term::of(times, part, side)
    }

    /// By hand: a shelf between two sides of 3/4 in in a case 32 in wide is 30 1/2; of 23/32 plywood 30 9/16.
    #[test]
    fn a_shelf_is_the_width_less_two_sides() {
        let rule = [term(1.0, 1, Side::Width), term(-2.0, 2, Side::Thickness)];
        for (thick, want) in [(0.75, 30.5), (23.0 / 32.0, 30.0 + 9.0 / 16.0)] {
            let size = |part, _| Ok(if part == 1 { [32.0, 0.1] } else { [thick, 0.01] });
            let [got, half] = come_to(&rule, size).unwrap();
            assert!((got - want).abs() < 1e-12 && (half - 0.12).abs() < 1e-12, "{got}");
        }
        let own = Term::own(-1.0, 0.25, None);
        assert_eq!(come_to(&[own], |_, _| Err(Say::new("x"))).unwrap()[0], -0.25);
        assert!(come_to(&rule, |_, _| Err(Say::new("lists.no-size"))).is_err());
    }

    #[test]
    fn rings_are_found_and_named() {
        use Side::{Length, Width};
        let needs = |part: u32, side: Side| match (part, side) {
            (1, Length) => vec![(2, Width), (3, Length)],
            (2, Width) => vec![(3, Length)],
            (3, Length) => vec![(4, Width)],
            (4, Width) => vec![(2, Width)],
            _ => Vec::new(),
        };
        assert_eq!(ring((1, Length), &needs), None);
        assert_eq!(ring((2, Width), &needs), Some(vec![2, 3, 4]));
        assert_eq!(ring((4, Length), &needs), None);
        let own = |part: u32, side: Side| vec![(part, side)];
        assert_eq!(ring((7, Length), &own), Some(vec![7]));
    }

    #[test]
    fn what_is_no_rule() {
        assert!(
            check(&[term(f64::NAN, 1, Side::Width)]).is_err() && check(&[term(0.0, 1, Side::Width)]).is_err()
        );
        assert!(check(&vec![term(1.0, 1, Side::Width); 21]).is_err() && check(&[]).is_ok());
    }
}
