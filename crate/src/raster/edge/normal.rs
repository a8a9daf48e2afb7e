//! Normal equations of a few parameters, on the stack: solved thousands of times a touch.

/// The most parameters.
pub(super) const MOST: usize = 8;

/// One number for each parameter.
pub(super) type Cells = [f64; MOST];

/// H·x = g of a weighted least-squares step, with as many parameters as it was made for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Normal {
    n: usize,
    h: [Cells; MOST],
    g: Cells,
}

impl Normal {
    /// All zero.
    pub fn new(n: usize) -> Normal {
        Normal { n: n.min(MOST), h: [[0.0; MOST]; MOST], g: [0.0; MOST] }
    }

    /// One observation: what is left over, and its model's slopes.
    pub fn add(&mut self, slopes: &Cells, left: f64, weight: f64) {
        for ((row, slope), g) in self.h.iter_mut().zip(slopes).zip(&mut self.g).take(self.n) {
            let by = slope * weight;
            *g += by * left;
            // Whole rows, though half of each would do: of a known length they go two numbers at a time.
            for (cell, other) in row.iter_mut().zip(slopes) {
                *cell += by * other;
            }
        }
    }

    /// Holds parameter `i` softly: `pull` × `unit` is added to the right, `weight` to the diagonal.
    pub fn hold(&mut self, i: usize, pull: f64, weight: f64, unit: f64) {
        if i < self.n {
            self.g[i] += pull * unit;
            self.h[i][i] += weight;
        }
    }

    /// The lower triangle of H with its diagonal raised by a share.
    fn triangle(&self, damping: f64) -> Option<[Cells; MOST]> {
        let mut l = [[0.0; MOST]; MOST];
        for i in 0..self.n {
            for j in 0..=i {
                let done: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
                if i == j {
                    let left = self.h[i][i] * (1.0 + damping) + 1e-12 - done;
                    if !(left > 0.0 && left.is_finite()) {
                        return None;
                    }
                    l[i][i] = left.sqrt();
                } else {
                    l[i][j] = (self.h[i][j] - done) / l[j][j];
                }
            }
        }
        Some(l)
    }

    fn solved(&self, l: &[Cells; MOST], right: &Cells) -> Cells {
        let mut x = *right;
        for i in 0..self.n {
            let done: f64 = (0..i).map(|k| l[i][k] * x[k]).sum();
            x[i] = (x[i] - done) / l[i][i];
        }
        for i in (0..self.n).rev() {
            let done: f64 = (i + 1..self.n).map(|k| l[k][i] * x[k]).sum();
            x[i] = (x[i] - done) / l[i][i];
        }
        x
    }
}

/// The step, with the diagonal raised by `damping` of itself; nothing when H is singular.
pub(super) fn cholesky_solve(eq: &Normal, damping: f64) -> Option<Cells> {
    let l = eq.triangle(damping)?;
    Some(eq.solved(&l, &eq.g))
}

/// H⁻¹, nothing when H is singular.
pub(super) fn inverse(eq: &Normal) -> Option<[Cells; MOST]> {
    let l = eq.triangle(0.0)?;
    let mut out = [[0.0; MOST]; MOST];
    for (k, row) in out.iter_mut().enumerate().take(eq.n) {
        let mut unit = [0.0; MOST];
        unit[k] = 1.0;
        *row = eq.solved(&l, &unit);
    }
    Some(out)
}
