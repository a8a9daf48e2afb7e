//! How long and wide boards and sheets are sold.

use super::Goods;
use super::stock::widths;
use crate::quantity::units::{MM_PER_FOOT, MM_PER_INCH};

const F: f64 = MM_PER_FOOT;
const I: f64 = MM_PER_INCH;

impl Goods {
    /// Lengths and widths to choose from, mm, the usual one first. A width of 0: in every width that it is sold in
    /// ([`Goods::wide`]).
    ///
    /// # References
    /// Common practice, no source.
    pub fn sold(self) -> &'static [[f64; 2]] {
        match self {
            Goods::Softwood => &[[8.0 * F, 0.0], [6.0 * F, 0.0], [10.0 * F, 0.0], [12.0 * F, 0.0]],
            Goods::Rough | Goods::Surfaced => {
                &[[8.0 * F, 8.0 * I], [8.0 * F, 6.0 * I], [6.0 * F, 6.0 * I], [10.0 * F, 8.0 * I]]
            }
            Goods::Plywood => {
                &[[8.0 * F, 4.0 * F], [5.0 * F, 5.0 * F], [4.0 * F, 4.0 * F], [4.0 * F, 2.0 * F]]
            }
            Goods::Fibreboard => &[[8.0 * F, 4.0 * F], [4.0 * F, 4.0 * F], [4.0 * F, 2.0 * F]],
            Goods::MetricBoard => &[[2400.0, 195.0], [2400.0, 145.0], [1800.0, 95.0], [3000.0, 195.0]],
            Goods::MetricSheet => &[[2440.0, 1220.0], [1525.0, 1525.0], [1220.0, 1220.0], [1220.0, 610.0]],
        }
    }

    /// Boards to be had in a size that was chosen, for parts of these widths: where it comes in every width, the narrowest for
    /// each, as it measures.
    pub fn wide(self, size: [f64; 2], parts: impl Iterator<Item = f64>) -> Vec<[f64; 2]> {
        if size[1] > 0.0 {
            return vec![size];
        }
        let all = widths();
        let mut out: Vec<[f64; 2]> = Vec::new();
        for part in parts {
            let fits = all.iter().find(|[_, actual]| *actual + 1e-6 >= part).or(all.last());
            let board = fits.map(|[_, actual]| [size[0], *actual]);
            out.extend(board.filter(|b| !out.contains(b)));
        }
        out
    }

    /// Whether it has no grain at all: pieces may lie either way.
    pub fn no_grain(self) -> bool {
        self == Goods::Fibreboard
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// PS 20: a 6 is 5 1/2 wide, an 8 is 7 1/4.
    #[test]
    fn softwood_comes_as_wide_as_its_parts_need() {
        let sizes = Goods::Softwood.wide([2438.4, 0.0], [5.0, 5.5, 7.0, 20.0].map(|w| w * I).into_iter());
        assert_eq!(sizes, [[2438.4, 5.5 * I], [2438.4, 7.25 * I], [2438.4, 15.25 * I]]);
        assert_eq!(Goods::Plywood.wide([5.0, 4.0], [1.0].into_iter()), [[5.0, 4.0]]);
    }
}
