//! Symmetric systems whose cells are zero but near the diagonal: what each unknown has to do with its neighbours.
//!
//! # References
//! Band Cholesky: Golub & Van Loan, Matrix Computations, 4th ed., 4.3.5.

/// A symmetric matrix of `n` rows, with `width` cells before the diagonal that may differ from zero.
#[derive(Clone, Debug)]
pub(super) struct Band {
    n: usize,
    width: usize,
    /// Row after row: the cell at (r, c) stands at r·(width + 1) + width − (r − c).
    cells: Vec<f64>,
}

impl Band {
    /// All zero.
    pub fn zero(n: usize, width: usize) -> Band {
        Band { n, width, cells: vec![0.0; n * (width + 1)] }
    }

    fn place(&self, r: usize, c: usize) -> usize {
        r * (self.width + 1) + self.width + c - r
    }

    /// Adds `value` at (r, c) and (c, r); what lies outside the band is left out.
    pub fn add(&mut self, r: usize, c: usize, value: f64) {
        let (r, c) = (r.max(c), r.min(c));
        if r < self.n && r - c <= self.width {
            let at = self.place(r, c);
            self.cells[at] += value;
        }
    }

    /// Adds the equation Σ kᵢ·xᵢ = `right`, no unknown twice, to normal equations whose right side is `b`.
    pub fn add_row(&mut self, row: &[(usize, f64)], right: f64, weight: f64, b: &mut [f64]) {
        for (i, &(r, k)) in row.iter().enumerate() {
            if let Some(cell) = b.get_mut(r) {
                *cell += weight * k * right;
            }
            for &(c, l) in &row[..=i] {
                self.add(r, c, weight * k * l);
            }
        }
    }

    /// Multiplies every cell of the diagonal by 1 + `k` and adds `least` to it.
    pub fn lift(&mut self, k: f64, least: f64) {
        for r in 0..self.n {
            let at = self.place(r, r);
            self.cells[at] = self.cells[at] * (1.0 + k) + least;
        }
    }

    /// Solves for `b`, which then holds the unknowns; `None` unless positive definite.
    pub fn solve(mut self, b: &mut [f64]) -> Option<()> {
        if b.len() != self.n {
            return None;
        }
        for r in 0..self.n {
            let first = r.saturating_sub(self.width);
            for c in first..=r {
                let from = first.max(c.saturating_sub(self.width));
                let done: f64 =
                    (from..c).map(|k| self.cells[self.place(r, k)] * self.cells[self.place(c, k)]).sum();
                let at = self.place(r, c);
                let left = self.cells[at] - done;
                if c < r {
                    self.cells[at] = left / self.cells[self.place(c, c)];
                } else if left > 0.0 && left.is_finite() {
                    self.cells[at] = libm::sqrt(left);
                } else {
                    return None;
                }
            }
            let done: f64 = (first..r).map(|k| self.cells[self.place(r, k)] * b[k]).sum();
            b[r] = (b[r] - done) / self.cells[self.place(r, r)];
        }
        for r in (0..self.n).rev() {
            let last = (r + self.width + 1).min(self.n);
            let done: f64 = (r + 1..last).map(|k| self.cells[self.place(k, r)] * b[k]).sum();
            b[r] = (b[r] - done) / self.cells[self.place(r, r)];
        }
        b.iter().all(|x| x.is_finite()).then_some(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::dense::Dense;
    use proptest::prelude::*;

    proptest! {
        /// Against the dense solver, whose own test multiplies out.
        #[test]
        fn as_the_dense_one_solves(rows in prop::collection::vec(prop::array::uniform3(-2.0..2.0f64), 12), right in prop::collection::vec(-5.0..5.0f64, 12)) {
            let n = 14;
            let (mut band, mut b) = (Band::zero(n, 2), vec![0.0; n]);
            let (mut a, mut c) = (Dense::zero(n, n), Dense::zero(n, 1));
            for (i, (row, right)) in rows.iter().zip(&right).enumerate() {
                let row: Vec<(usize, f64)> = row.iter().enumerate().map(|(k, v)| (i + k, *v)).collect();
                band.add_row(&row, *right, 0.5, &mut b);
                for (r, k) in &row {
                    c[(*r, 0)] += 0.5 * k * right;
                    for (q, l) in &row {
                        a[(*r, *q)] += 0.5 * k * l;
                    }
                }
            }
            band.lift(0.0, 0.1);
            for i in 0..n {
                a[(i, i)] += 0.1;
            }
            band.solve(&mut b).unwrap();
            let x = a.solve(&c).unwrap();
            for i in 0..n {
                prop_assert!((b[i] - x[(i, 0)]).abs() < 1e-9, "{} {}", b[i], x[(i, 0)]);
            }
        }
    }

    #[test]
    fn what_leaves_an_unknown_open_is_refused() {
        assert!(Band::zero(3, 1).solve(&mut [1.0; 3]).is_none());
        assert!(Band::zero(3, 1).solve(&mut [1.0; 2]).is_none());
    }
}
