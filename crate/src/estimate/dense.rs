//! Small dense linear algebra, in a fixed order of operations.
//!
//! Our own because the results must be the same bytes natively and in WebAssembly: a library that picks
//! fused or vectorised kernels by machine can't promise that, and nothing here is larger than a few dozen
//! rows.
//!
//! # References
//! Golub & Van Loan, Matrix Computations, 4th ed.: algorithm 3.4.1 (Gaussian elimination with partial
//! pivoting) and 4.2.1 (Cholesky).

/// A matrix of `rows` × `cols`, row after row.
#[derive(Clone, Debug, PartialEq)]
pub struct Dense {
    rows: usize,
    cols: usize,
    cells: Vec<f64>,
}

impl Dense {
    /// All zero.
    pub fn zero(rows: usize, cols: usize) -> Dense {
        Dense { rows, cols, cells: vec![0.0; rows * cols] }
    }

    /// Each cell by `f(row, column)`.
    pub fn by(rows: usize, cols: usize, f: impl Fn(usize, usize) -> f64) -> Dense {
        let cells = (0..rows * cols).map(|i| f(i / cols, i % cols)).collect();
        Dense { rows, cols, cells }
    }

    /// How many rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// How many columns.
    pub fn cols(&self) -> usize {
        self.cols
    }

    /// `self` · `other`.
    pub fn times(&self, other: &Dense) -> Dense {
        let mut out = Dense::zero(self.rows, other.cols);
        for r in 0..self.rows {
            for k in 0..self.cols.min(other.rows) {
                let a = self[(r, k)];
                for c in 0..other.cols {
                    out[(r, c)] += a * other[(k, c)];
                }
            }
        }
        out
    }

    /// `self`ᵀ.
    pub fn turned(&self) -> Dense {
        Dense::by(self.cols, self.rows, |r, c| self[(c, r)])
    }

    /// The lower triangle L with `self` = L·Lᵀ, for a symmetric positive definite matrix.
    ///
    /// `None` when a pivot falls under `floor` × its own diagonal: the matrix is singular as far as it
    /// can be told.
    pub fn cholesky(&self, floor: f64) -> Option<Dense> {
        let n = self.rows;
        let mut l = Dense::zero(n, n);
        for j in 0..n {
            for i in j..n {
                let done: f64 = (0..j).map(|k| l[(i, k)] * l[(j, k)]).sum();
                let left = self[(i, j)] - done;
                if i > j {
                    l[(i, j)] = left / l[(j, j)];
                } else if left.is_finite() && left > 0.0 && left > floor * self[(j, j)] {
                    l[(j, j)] = libm::sqrt(left);
                } else {
                    return None;
                }
            }
        }
        Some(l)
    }

    /// The solution X of L·X = `right`, where `self` is a lower triangle L.
    pub fn forward(&self, right: &Dense) -> Dense {
        let mut x = right.clone();
        for c in 0..x.cols {
            for i in 0..self.rows {
                let done: f64 = (0..i).map(|k| self[(i, k)] * x[(k, c)]).sum();
                x[(i, c)] = (x[(i, c)] - done) / self[(i, i)];
            }
        }
        x
    }

    /// The solution X of Lᵀ·X = `right`, where `self` is a lower triangle L.
    pub fn backward(&self, right: &Dense) -> Dense {
        let mut x = right.clone();
        for c in 0..x.cols {
            for i in (0..self.rows).rev() {
                let done: f64 = (i + 1..self.rows).map(|k| self[(k, i)] * x[(k, c)]).sum();
                x[(i, c)] = (x[(i, c)] - done) / self[(i, i)];
            }
        }
        x
    }

    /// The solution X of `self`·X = `right`; `None` when `self` is singular as far as it can be told.
    pub fn solve(&self, right: &Dense) -> Option<Dense> {
        let n = self.rows;
        let (mut a, mut x) = (self.clone(), right.clone());
        let biggest = a.cells.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        for j in 0..n {
            let pivot = (j..n).max_by(|&p, &q| a[(p, j)].abs().total_cmp(&a[(q, j)].abs()))?;
            let size = a[(pivot, j)].abs();
            if !size.is_finite() || size <= 1e-14 * biggest {
                return None;
            }
            a.swap(j, pivot);
            x.swap(j, pivot);
            for i in j + 1..n {
                let k = a[(i, j)] / a[(j, j)];
                a.take_away(i, j, k);
                x.take_away(i, j, k);
            }
        }
        for j in (0..n).rev() {
            for c in 0..x.cols {
                let done: f64 = (j + 1..n).map(|k| a[(j, k)] * x[(k, c)]).sum();
                x[(j, c)] = (x[(j, c)] - done) / a[(j, j)];
            }
        }
        Some(x)
    }

    fn swap(&mut self, p: usize, q: usize) {
        for c in 0..self.cols {
            self.cells.swap(p * self.cols + c, q * self.cols + c);
        }
    }

    /// Row `from` less `k` × row `what`.
    fn take_away(&mut self, from: usize, what: usize, k: f64) {
        for c in 0..self.cols {
            self.cells[from * self.cols + c] -= k * self.cells[what * self.cols + c];
        }
    }
}

impl std::ops::Index<(usize, usize)> for Dense {
    type Output = f64;
    fn index(&self, (r, c): (usize, usize)) -> &f64 {
        &self.cells[r * self.cols + c]
    }
}

impl std::ops::IndexMut<(usize, usize)> for Dense {
    fn index_mut(&mut self, (r, c): (usize, usize)) -> &mut f64 {
        &mut self.cells[r * self.cols + c]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn close(a: &Dense, b: &Dense, tol: f64) {
        for r in 0..a.rows() {
            for c in 0..a.cols() {
                assert!((a[(r, c)] - b[(r, c)]).abs() <= tol, "{a:?} {b:?}");
            }
        }
    }

    proptest! {
        #[test]
        fn solves_what_it_multiplied(cells in prop::collection::vec(-3.0..3.0f64, 16), x in prop::collection::vec(-3.0..3.0f64, 8)) {
            let a = Dense::by(4, 4, |r, c| cells[r * 4 + c] + if r == c { 8.0 } else { 0.0 });
            let x = Dense::by(4, 2, |r, c| x[r * 2 + c]);
            close(&a.solve(&a.times(&x)).unwrap(), &x, 1e-9);
            let s = a.times(&a.turned());
            let l = s.cholesky(1e-12).unwrap();
            close(&l.times(&l.turned()), &s, 1e-9);
            close(&l.backward(&l.forward(&s.times(&x))), &x, 1e-6);
        }
    }

    #[test]
    fn a_singular_matrix_is_refused() {
        let a = Dense::by(3, 3, |r, c| (r + c) as f64);
        assert!(a.solve(&Dense::zero(3, 1)).is_none());
        assert!(Dense::by(2, 2, |_, _| 1.0).cholesky(1e-12).is_none());
    }
}
