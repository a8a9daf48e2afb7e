//! Rounding lengths in a row by their running positions, so that they add up to the whole.
//!
//! Each length rounded by itself carries its own half step, and a row of them drifts from the whole. A
//! tape hooked once on one end does not: every mark is rounded from the datum, and a length is the
//! difference of two marks.

use crate::quantity::{Direction, Step};
use crate::words::Say;
use serde::Serialize;

/// A row of lengths after rounding.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Running {
    /// Where each length ends, from the datum, in mm; a whole number of steps each.
    pub positions: Vec<f64>,
    /// Each length in mm: what lies between two neighbouring positions, whole steps, exact.
    pub lengths: Vec<f64>,
    /// The same lengths as counts of steps.
    pub counts: Vec<i64>,
    /// What each would have been by itself, in mm.
    pub each: Vec<f64>,
    /// The row as a whole, in mm: the sum of `lengths`.
    pub total: f64,
    /// By how much the sum of `each` is longer than `total`, in mm.
    pub each_is_longer_by: f64,
}

/// Rounds lengths that stand end to end, the first from the datum.
///
/// # Units
/// `lengths` in mm.
///
/// # Errors
/// A length, or the sum, is not a number or is beyond counting in steps.
pub fn running(lengths: &[f64], step: Step, direction: Direction) -> Result<Running, Say> {
    let ends = lengths.iter().scan(0.0, |at, length| {
        *at += length;
        Some(*at)
    });
    assemble(0.0, &ends.collect::<Vec<f64>>(), lengths, step, direction)
}

/// Rounds lengths that stand end to end between two fixed points, each by itself so that equal ones stay equal; the one at `filler`
/// takes up the difference to the whole, which is rounded once.
///
/// # Units
/// `lengths` in mm.
///
/// # Errors
/// As [`running`]; also where nothing would be left of that one.
pub fn filled(lengths: &[f64], filler: usize, step: Step, direction: Direction) -> Result<Running, Say> {
    let run = running(lengths, step, direction)?;
    let whole: i64 = run.counts.iter().sum();
    let mut counts =
        lengths.iter().map(|mm| count(*mm, step, direction)).collect::<Result<Vec<i64>, Say>>()?;
    let others: i64 = counts.iter().enumerate().filter(|(i, _)| *i != filler).map(|(_, n)| n).sum();
    let own =
        counts.get_mut(filler).filter(|_| whole > others).ok_or_else(|| Say::new("finish.no-filler"))?;
    *own = whole - others;
    let ends = counts.iter().scan(0, |at, n| {
        *at += n;
        Some(step.counted(*at))
    });
    let (positions, lengths) = (ends.collect(), counts.iter().map(|n| step.counted(*n)).collect());
    Ok(Running { positions, lengths, counts, ..run })
}

/// Rounds positions measured from one datum, in the order in which they stand; the lengths are what lies
/// between them, beginning with the one from `positions[0]` to `positions[1]`.
///
/// [`Running::positions`] then leaves out the first, which is rounded as well.
///
/// # Units
/// `positions` in mm.
///
/// # Errors
/// A position is not a number or is beyond counting in steps.
pub fn running_positions(positions: &[f64], step: Step, direction: Direction) -> Result<Running, Say> {
    let lengths: Vec<f64> =
        positions.iter().zip(positions.iter().skip(1)).map(|(from, to)| to - from).collect();
    match positions {
        [] => assemble(0.0, &[], &[], step, direction),
        [first, ends @ ..] => assemble(*first, ends, &lengths, step, direction),
    }
}

fn assemble(
    start: f64,
    ends: &[f64],
    lengths: &[f64],
    step: Step,
    direction: Direction,
) -> Result<Running, Say> {
    let start = count(start, step, direction)?;
    let marks = ends.iter().map(|end| count(*end, step, direction)).collect::<Result<Vec<i64>, Say>>()?;
    let alone = lengths.iter().map(|mm| count(*mm, step, direction)).collect::<Result<Vec<i64>, Say>>()?;
    let mut before = start;
    let counts: Vec<i64> = marks.iter().map(|mark| mark - std::mem::replace(&mut before, *mark)).collect();
    let whole = before - start;
    let drift = alone.iter().sum::<i64>() - whole;
    let mm = |counts: &[i64]| counts.iter().map(|n| step.counted(*n)).collect();
    Ok(Running {
        positions: mm(&marks),
        lengths: mm(&counts),
        counts,
        each: mm(&alone),
        total: step.counted(whole),
        each_is_longer_by: step.counted(drift),
    })
}

/// The most steps that are counted: sums of a row of them stay far from overflowing.
const MOST_STEPS: i64 = 1_000_000_000_000;

fn count(mm: f64, step: Step, direction: Direction) -> Result<i64, Say> {
    step.count(mm, direction).filter(|n| n.abs() <= MOST_STEPS).ok_or_else(|| Say::new("finish.not-a-length"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const IN: f64 = 25.4;

    // methods.md, "Rounding" [computed]: 7 × 5.05 in at 1/16.
    #[test]
    fn seven_add_up() {
        let row = running(&[5.05 * IN; 7], Step::Sixteenth, Direction::Nearest).expect("seven lengths");
        assert_eq!(row.counts, [81, 81, 80, 81, 81, 81, 81]);
        assert_eq!(row.counts.iter().sum::<i64>(), 566);
        assert_eq!(row.total, 35.375 * IN);
        assert_eq!(row.each, [81.0 * IN / 16.0; 7]);
        // 567 sixteenths, 35 7/16, by themselves.
        assert_eq!(row.each_is_longer_by, IN / 16.0);
        assert_eq!(row.positions[2], 242.0 * IN / 16.0);
    }

    // By hand: seven of 5.05 in are 81 sixteenths each, the whole 566, so that 80 are left for the fourth.
    #[test]
    fn one_takes_up_the_difference() {
        let row = filled(&[5.05 * IN; 7], 3, Step::Sixteenth, Direction::Nearest).expect("seven lengths");
        assert_eq!(row.counts, [81, 81, 81, 80, 81, 81, 81]);
        assert_eq!((row.total, row.positions[6]), (35.375 * IN, 35.375 * IN));
        assert_eq!(row.each_is_longer_by, IN / 16.0);
        assert!(filled(&[5.05 * IN; 7], 7, Step::Sixteenth, Direction::Nearest).is_err());
        // Nothing is left of one that is shorter than what the others are rounded up by.
        let thin = filled(&[9.6, 9.6, 9.6, 0.4], 3, Step::OneMm, Direction::Nearest);
        assert_eq!(thin.unwrap_err().key, "finish.no-filler");
    }

    // Source: Python's fractions, running sums rounded half up, differenced:
    //   [floor(sum(L[:i+1])/s + 1/2)] with L = 17.3, 8.45, 8.45, 8.45, 17.35 and s = 1.
    #[test]
    fn millimetres_add_up() {
        let row = running(&[17.3, 8.45, 8.45, 8.45, 17.35], Step::OneMm, Direction::Nearest).expect("five");
        assert_eq!(row.counts, [17, 9, 8, 9, 17]);
        assert_eq!((row.total, row.each_is_longer_by), (60.0, -2.0));
    }

    #[test]
    fn positions_from_a_datum() {
        let row = running_positions(&[0.4, 10.6, 5.2], Step::OneMm, Direction::Nearest).expect("three");
        assert_eq!((row.positions, row.lengths), (vec![11.0, 5.0], vec![11.0, -6.0]));
        assert_eq!((row.each, row.total), (vec![10.0, -5.0], 5.0));
        assert!(running_positions(&[3.0], Step::OneMm, Direction::Up).expect("one").lengths.is_empty());
        assert_eq!(running(&[], Step::OneMm, Direction::Up).expect("none").total, 0.0);
    }

    #[test]
    fn refuses_what_cannot_be_counted() {
        for bad in [f64::NAN, f64::INFINITY, 1e300, 1e14] {
            assert!(running(&[1.0, bad], Step::TenthMm, Direction::Nearest).is_err(), "{bad}");
            assert!(running_positions(&[1.0, bad], Step::TenthMm, Direction::Nearest).is_err(), "{bad}");
        }
    }

    proptest! {
        /// Lengths add up to the whole exactly, and the whole is the sum rounded once.
        #[test]
        fn they_always_add_up(
            lengths in prop::collection::vec(0.0_f64..2000.0, 1..40),
            pick in 0_usize..7,
            way in prop::sample::select(&[Direction::Nearest, Direction::Up, Direction::Down][..]),
        ) {
            for style in [crate::quantity::Style::Inches, crate::quantity::Style::Millimetres] {
                let step = crate::quantity::Step::all(style)[pick];
                let row = running(&lengths, step, way).map_err(|e| TestCaseError::fail(e.to_string()))?;
                let sum: f64 = lengths.iter().sum();
                prop_assert_eq!(row.counts.iter().sum::<i64>(), step.count(sum, way).unwrap_or(-1));
                for (exact, rounded) in lengths.iter().zip(&row.lengths) {
                    prop_assert!((exact - rounded).abs() <= step.mm() * (1.0 + 1e-6), "never off by more than a step");
                }
            }
        }
    }
}
