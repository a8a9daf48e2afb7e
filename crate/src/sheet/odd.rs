//! Whether a fair curve passes through a table of offsets within its rounding, and which offset stands off it.
//!
//! # References
//! One wrong value in a smooth table shows in its fourth differences as 1, −4, 6, −4, 1 times the error, which tells its place
//! and its size: Whittaker & Robinson, The Calculus of Observations (1924), ch. I (memory). Here by Lagrange's formula, so
//! that stations need not be evenly apart.

/// An offset that stands off the fair curve through its neighbours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Odd {
    /// Which station, from 0.
    pub index: usize,
    /// How far it stands off, mm: positive where it is too great.
    pub by: f64,
    /// What would be fair, mm.
    pub fair: f64,
}

/// What came of looking.
#[derive(Clone, Debug, PartialEq)]
pub struct Fairness {
    /// The offsets that stand off, the worst first.
    pub odd: Vec<Odd>,
    /// Which stations could be judged: the first and the last have neighbours on one side only.
    pub judged: std::ops::Range<usize>,
}

/// How much of what the neighbourhood shows must look like one wrong value: within, and beside the ends, where fewer
/// differences tell and a round end looks much the same.
const ALIKE: [f64; 2] = [0.75, 0.93];

/// Looks for offsets that no fair curve within the rounding can pass. `stations` in increasing order, `offsets` rounded to
/// `step`, all mm; a typing slip, a station measured wrongly, or a kink in the curve is named. A table of fewer than six
/// can't be judged, nor one with something in it that is no number or out of order: nothing is judged then.
pub fn fair_check(stations: &[f64], offsets: &[f64], step: f64) -> Fairness {
    let n = stations.len().min(offsets.len());
    let sound =
        stations.iter().chain(offsets).all(|v| v.is_finite()) && stations.windows(2).all(|w| w[1] > w[0]);
    if n < 6 || !sound || !(step > 0.0) {
        return Fairness { odd: Vec::new(), judged: 0..0 };
    }
    let rows: Vec<Row> = (2..n - 2).map(|c| Row::of(stations, c)).collect();
    let mut values = offsets[..n].to_vec();
    let mut odd: Vec<Odd> = Vec::new();
    let mut looked = vec![false; n];
    // Each that is found is put right before the next is looked for: a bad one spoils its neighbours' looks.
    while odd.len() < n / 4 + 1 {
        let seen = (0..n).filter(|i| !looked[*i]).filter_map(|i| explained(&rows, &values, i));
        let Some(best) = seen.reduce(|a, b| if b.much > a.much { b } else { a }) else { break };
        if best.much <= 0.0 {
            break;
        }
        looked[best.index] = true;
        let i = best.index;
        let fair = values[i] - best.by;
        if surely(&rows, &values, &best, step) {
            odd.push(Odd { index: i, by: best.by, fair });
        } else if i > 1 && i < n - 2 {
            // What stands out most is no single wrong value, or no more than rounding.
            break;
        }
        // A round end looks like a wrong value there: it is taken as it is.
        values[i] = fair;
    }
    Fairness { odd, judged: 1..n - 1 }
}

/// What one wrong value at a station would explain.
struct Explained {
    index: usize,
    by: f64,
    /// How much less is then left, mm².
    much: f64,
    /// How much of what is seen near it that is, 0 to 1.
    alike: f64,
}

/// How a station's offset is told from its four neighbours: weights of five offsets, its own 1.
struct Row {
    centre: usize,
    weights: [f64; 5],
}

impl Row {
    fn of(x: &[f64], centre: usize) -> Row {
        let mut weights = [1.0; 5];
        for k in [0, 1, 3, 4] {
            let at = |j: usize| x[centre + j - 2];
            let others = [0, 1, 3, 4].into_iter().filter(|j| *j != k);
            weights[k] = -others.map(|j| (at(2) - at(j)) / (at(k) - at(j))).product::<f64>();
        }
        Row { centre, weights }
    }

    /// How far the offset stands above the curve through its neighbours.
    fn off(&self, values: &[f64]) -> f64 {
        (0..5).map(|k| self.weights[k] * values[self.centre + k - 2]).sum()
    }

    /// How much of an error at `i` is seen here.
    fn sees(&self, i: usize) -> f64 {
        (i + 2).checked_sub(self.centre).filter(|k| *k < 5).map_or(0.0, |k| self.weights[k])
    }

    /// The most that rounding alone can make of it, mm.
    fn rounding(&self, step: f64) -> f64 {
        self.weights.iter().map(|w| w.abs()).sum::<f64>() * step / 2.0
    }
}

/// What a wrong value at `i` would explain of what is seen there and beside it.
fn explained(rows: &[Row], values: &[f64], i: usize) -> Option<Explained> {
    let (mut both, mut sees, mut seen) = (0.0, 0.0, 0.0);
    for row in rows.iter().filter(|r| r.sees(i) != 0.0) {
        let (a, e) = (row.sees(i), row.off(values));
        both += a * e;
        sees += a * a;
        seen += e * e;
    }
    let much = both * both / sees;
    (seen > 0.0 && much.is_finite()).then(|| Explained {
        index: i,
        by: both / sees,
        much,
        alike: much / seen,
    })
}

/// What is explained is the mark of one wrong value, and more than rounding can make.
fn surely(rows: &[Row], values: &[f64], it: &Explained, step: f64) -> bool {
    let beyond = |r: &&Row| r.off(values).abs() > r.rounding(step) * (1.0 + 1e-9) + 1e-9;
    let near: Vec<&Row> = rows.iter().filter(|r| r.sees(it.index) != 0.0).collect();
    let own = near.iter().find(|r| r.centre == it.index);
    // An error smaller than a step is no more than the rounding.
    it.by.abs() > step
        && match own {
            Some(own) => beyond(own) && it.alike >= ALIKE[0],
            None => near.len() > 1 && near.iter().all(beyond) && it.alike >= ALIKE[1],
        }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::{Direction, Step, round};
    use crate::sheet::trial::naca_half;
    use proptest::prelude::*;

    fn table(n: usize, apart: f64, f: impl Fn(f64) -> f64, step: Step) -> (Vec<f64>, Vec<f64>) {
        let x: Vec<f64> = (0..n).map(|k| k as f64 * apart).collect();
        let y = x.iter().map(|x| round(f(*x), step, Direction::Nearest)).collect();
        (x, y)
    }

    /// A canoe paddle's half blade: its own shape, made up.
    fn paddle(x: f64) -> f64 {
        let u = x / 508.0;
        95.0 * libm::sin(std::f64::consts::PI * libm::pow(u, 0.8)) + 14.0 * (1.0 - u)
    }

    #[test]
    fn fair_tables_are_left_alone() {
        for step in [Step::Sixteenth, Step::Eighth, Step::ThirtySecond, Step::OneMm] {
            for n in [9, 13, 21] {
                let apart = 508.0 / (n - 1) as f64;
                let (x, y) = table(n, apart, paddle, step);
                assert_eq!(fair_check(&x, &y, step.mm()).odd, [], "paddle {n} {}", step.text());
                let (x, y) = table(n, 300.0 / (n - 1) as f64, |x| 300.0 * naca_half(x / 300.0), step);
                assert_eq!(fair_check(&x, &y, step.mm()).odd, [], "section {n} {}", step.text());
                let (x, y) = table(n, apart, |x| 0.1 * x + 20.0, step);
                assert_eq!(fair_check(&x, &y, step.mm()).odd, [], "straight {n} {}", step.text());
            }
        }
    }

    #[test]
    fn a_planted_one_is_named() {
        let step = Step::Sixteenth;
        for (f, long) in [(paddle as fn(f64) -> f64, 508.0), (|x| 300.0 * naca_half(x / 300.0), 300.0)] {
            for bad in 3..10 {
                for by in [0.25, -0.25, 0.5, 1.0] {
                    let (x, mut y) = table(13, long / 12.0, f, step);
                    let right = y[bad];
                    y[bad] += by * 25.4;
                    let found = fair_check(&x, &y, step.mm());
                    assert_eq!(found.odd.len(), 1, "{by} in at {bad}: {found:?}");
                    assert_eq!(found.odd[0].index, bad);
                    assert!((found.odd[0].fair - right).abs() < 2.5 * step.mm(), "{found:?}, {right}");
                }
            }
        }
    }

    #[test]
    fn what_can_not_be_judged() {
        let none = Fairness { odd: Vec::new(), judged: 0..0 };
        assert_eq!(fair_check(&[0.0, 1.0, 2.0, 3.0, 4.0], &[0.0; 5], 1.0), none);
        assert_eq!(fair_check(&[0.0, 1.0, 2.0, 2.0, 4.0, 5.0], &[0.0; 6], 1.0), none);
        assert_eq!(fair_check(&[0.0, 1.0, 2.0, 3.0, 4.0, 5.0], &[f64::NAN; 6], 1.0), none);
        assert_eq!(fair_check(&[], &[], 1.0), none);
    }

    proptest! {
        /// Rounding alone is never taken for an error: a cubic is told exactly by four neighbours.
        #[test]
        fn rounding_alone_is_fair(c in prop::array::uniform4(-40.0..40.0f64), gaps in prop::collection::vec(10.0..40.0f64, 5..20)) {
            let mut x = vec![0.0];
            for g in gaps { x.push(x[x.len() - 1] + g); }
            let long = x[x.len() - 1];
            let y: Vec<f64> = x.iter().map(|x| {
                let u = x / long;
                round(c[0] + u * (c[1] + u * (c[2] + u * c[3])), Step::Sixteenth, Direction::Nearest)
            }).collect();
            prop_assert_eq!(fair_check(&x, &y, Step::Sixteenth.mm()).odd, vec![]);
        }
    }
}
