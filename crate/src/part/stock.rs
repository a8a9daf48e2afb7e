//! What is sold, as it is named and as it measures.

use super::wood::Species;
use crate::quantity::units::MM_PER_INCH;
use serde::{Deserialize, Serialize};

/// What a part may be made of, as it is sold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Goods {
    /// Planed softwood, dry, by its nominal inches.
    Softwood,
    /// Hardwood in quarters of an inch, as it comes from the saw.
    Rough,
    /// Hardwood in quarters, planed on two sides.
    Surfaced,
    /// Plywood by its nominal inches.
    Plywood,
    /// Particle board and MDF in inches.
    Fibreboard,
    /// Planed boards by their mm.
    MetricBoard,
    /// Plywood, particle board and MDF by their mm.
    MetricSheet,
}

/// One thickness of some goods.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stock {
    /// Of what.
    pub goods: Goods,
    /// What it is called: `1`, `5/4`, `3/4`, `18`.
    pub name: &'static str,
    /// The thickness that it is sold by, mm.
    pub nominal: f64,
    /// How thick it measures, mm.
    pub actual: f64,
}

/// A sheet that measures more off what it is called by than this share of it is another sheet. Ours, no source.
const SHEETS_DIFFER: f64 = 0.25;

impl Stock {
    /// Whether a sheet of it may measure so much instead, mm: sheets differ, and a person may have measured theirs.
    pub fn may_measure(&self, mm: f64) -> bool {
        self.goods.is_sheet() && (mm - self.actual).abs() <= SHEETS_DIFFER * self.nominal
    }
}

/// Stock that may be what a measured thickness stands for.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Offer {
    /// The stock.
    pub stock: Stock,
    /// Planed down to so many mm; nothing for stock as it is sold.
    pub planed: Option<f64>,
}

impl Offer {
    /// How thick the part is then, mm.
    pub fn thickness(&self) -> f64 {
        self.planed.unwrap_or(self.stock.actual)
    }
}

/// A thickness: its name, then nominal and actual in the goods' own unit.
type Row = (&'static str, f64, f64);

/// American Softwood Lumber Standard PS 20, dry: boards and dimension.
const SOFTWOOD: [Row; 8] = [
    ("1", 1.0, 0.75),
    ("1 1/4", 1.25, 1.0),
    ("1 1/2", 1.5, 1.25),
    ("2", 2.0, 1.5),
    ("2 1/2", 2.5, 2.0),
    ("3", 3.0, 2.5),
    ("3 1/2", 3.5, 3.0),
    ("4", 4.0, 3.5),
];

/// PS 20, dry: widths.
const WIDTHS: [Row; 10] = [
    ("2", 2.0, 1.5),
    ("3", 3.0, 2.5),
    ("4", 4.0, 3.5),
    ("5", 5.0, 4.5),
    ("6", 6.0, 5.5),
    ("8", 8.0, 7.25),
    ("10", 10.0, 9.25),
    ("12", 12.0, 11.25),
    ("14", 14.0, 13.25),
    ("16", 16.0, 15.25),
];

/// Quarters of an inch as they come from the saw.
const ROUGH: [Row; 7] = [
    ("4/4", 1.0, 1.0),
    ("5/4", 1.25, 1.25),
    ("6/4", 1.5, 1.5),
    ("8/4", 2.0, 2.0),
    ("10/4", 2.5, 2.5),
    ("12/4", 3.0, 3.0),
    ("16/4", 4.0, 4.0),
];

/// The same planed on two sides: the rules of the North American hardwood trade, from memory.
const SURFACED: [Row; 7] = [
    ("4/4", 1.0, 0.8125),
    ("5/4", 1.25, 1.0625),
    ("6/4", 1.5, 1.3125),
    ("8/4", 2.0, 1.75),
    ("10/4", 2.5, 2.25),
    ("12/4", 3.0, 2.75),
    ("16/4", 4.0, 3.75),
];

/// Plywood as it measures: PS 1 for the thicker ones, from memory; common practice, no source for 1/4. Sheets differ: measure.
const PLYWOOD: [Row; 6] = [
    ("1/8", 0.125, 0.125),
    ("1/4", 0.25, 0.21875),
    ("3/8", 0.375, 0.34375),
    ("1/2", 0.5, 0.46875),
    ("5/8", 0.625, 0.59375),
    ("3/4", 0.75, 0.71875),
];

/// Particle board and MDF measure what they are called; common practice, no source.
const FIBREBOARD: [Row; 6] = [
    ("1/4", 0.25, 0.25),
    ("3/8", 0.375, 0.375),
    ("1/2", 0.5, 0.5),
    ("5/8", 0.625, 0.625),
    ("3/4", 0.75, 0.75),
    ("1", 1.0, 1.0),
];

/// Planed boards in mm; common practice, no source.
const METRIC_BOARD: [Row; 8] = [
    ("12", 12.0, 12.0),
    ("15", 15.0, 15.0),
    ("18", 18.0, 18.0),
    ("20", 20.0, 20.0),
    ("27", 27.0, 27.0),
    ("33", 33.0, 33.0),
    ("42", 42.0, 42.0),
    ("58", 58.0, 58.0),
];

/// Sheets in mm; common practice, no source.
const METRIC_SHEET: [Row; 8] = [
    ("3", 3.0, 3.0),
    ("4", 4.0, 4.0),
    ("6", 6.0, 6.0),
    ("9", 9.0, 9.0),
    ("12", 12.0, 12.0),
    ("15", 15.0, 15.0),
    ("18", 18.0, 18.0),
    ("24", 24.0, 24.0),
];

/// A board can be planed down to this much less than it measures at the most, mm: beyond it is sawn thinner, or other stock is
/// bought. Common practice, no source.
const PLANED_OFF: f64 = 6.5;

impl Goods {
    /// What is sold in inches, in the order to offer it.
    pub const INCH: [Goods; 5] =
        [Goods::Softwood, Goods::Rough, Goods::Surfaced, Goods::Plywood, Goods::Fibreboard];
    /// What is sold in mm.
    pub const METRIC: [Goods; 2] = [Goods::MetricBoard, Goods::MetricSheet];

    /// Its name in the words file, after `goods.`.
    pub fn name(self) -> &'static str {
        match self {
            Goods::Softwood => "softwood",
            Goods::Rough => "rough",
            Goods::Surfaced => "surfaced",
            Goods::Plywood => "plywood",
            Goods::Fibreboard => "fibreboard",
            Goods::MetricBoard => "metric-board",
            Goods::MetricSheet => "metric-sheet",
        }
    }

    /// Whether it comes in sheets: no grain to speak of, bought by the area.
    pub fn is_sheet(self) -> bool {
        matches!(self, Goods::Plywood | Goods::Fibreboard | Goods::MetricSheet)
    }

    /// Whether it is sold by the mm.
    pub fn is_metric(self) -> bool {
        matches!(self, Goods::MetricBoard | Goods::MetricSheet)
    }

    /// Whether it may be of a species: sheets are of none that matters, softwood boards of conifers only.
    pub fn may_be(self, species: Species) -> bool {
        match self {
            Goods::Softwood => species.is_softwood(),
            Goods::Rough | Goods::Surfaced => !species.is_softwood(),
            Goods::MetricBoard => true,
            Goods::Plywood | Goods::Fibreboard | Goods::MetricSheet => false,
        }
    }

    /// Every thickness of it, thinnest first.
    ///
    /// # References
    /// PS 20 for softwood; beside each table for the rest.
    pub fn all(self) -> Vec<Stock> {
        let rows: &[Row] = match self {
            Goods::Softwood => &SOFTWOOD,
            Goods::Rough => &ROUGH,
            Goods::Surfaced => &SURFACED,
            Goods::Plywood => &PLYWOOD,
            Goods::Fibreboard => &FIBREBOARD,
            Goods::MetricBoard => &METRIC_BOARD,
            Goods::MetricSheet => &METRIC_SHEET,
        };
        let unit = if self.is_metric() { 1.0 } else { MM_PER_INCH };
        let stock = |&(name, n, a): &Row| Stock { goods: self, name, nominal: n * unit, actual: a * unit };
        rows.iter().map(stock).collect()
    }

    /// The thickness of that name.
    pub fn stock(self, name: &str) -> Option<Stock> {
        self.all().into_iter().find(|s| s.name == name)
    }

    /// The thickness that measures nearest to `mm`.
    pub fn nearest(self, mm: f64) -> Option<Stock> {
        let off = |s: &Stock| (s.actual - mm).abs();
        self.all().into_iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    /// What a measured thickness of `mm` may be: the next thinner and thicker stock, and boards planed to the eighth of an inch
    /// (or the whole mm) nearest to it. Nearest first; never more than three. None is taken for the person.
    pub fn offered(self, mm: f64) -> Vec<Offer> {
        let all = self.all();
        if !(mm > 0.0 && mm.is_finite()) {
            return Vec::new();
        }
        let as_sold = |stock: &Stock| Offer { stock: *stock, planed: None };
        let thinner = all.iter().rev().find(|s| s.actual <= mm).map(as_sold);
        let thicker = all.iter().find(|s| s.actual > mm);
        let step = if self.is_metric() { 1.0 } else { MM_PER_INCH / 8.0 };
        let tidy = libm::round(mm / step) * step;
        let planed = thicker
            .filter(|s| {
                !self.is_sheet() && tidy > 0.0 && s.actual - tidy > 1e-6 && s.actual - tidy <= PLANED_OFF
            })
            .map(|s| Offer { stock: *s, planed: Some(tidy) })
            // Planed to what is sold as it is.
            .filter(|o| thinner.is_none_or(|t| (t.thickness() - o.thickness()).abs() > 1e-6));
        let mut offers: Vec<Offer> = [planed, thinner, thicker.map(as_sold)].into_iter().flatten().collect();
        let off = |o: &Offer| (o.thickness() - mm).abs();
        crate::order::sort_by(&mut offers, |a, b| off(a).total_cmp(&off(b)));
        offers
    }
}

/// The narrowest softwood that a part of `mm` comes from: its nominal and its actual width, mm. Nothing for wider ones: those
/// are glued up.
///
/// # References
/// PS 20, dry.
pub fn softwood_width(mm: f64) -> Option<[f64; 2]> {
    widths().into_iter().find(|[_, actual]| *actual + 1e-6 >= mm)
}

/// All widths of softwood, nominal and actual, mm.
pub fn widths() -> Vec<[f64; 2]> {
    WIDTHS.iter().map(|&(_, n, a)| [n * MM_PER_INCH, a * MM_PER_INCH]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    const IN: f64 = 25.4;

    /// PS 20, dry, as in the standard's table of boards and dimension.
    #[test]
    fn softwood_measures_less_than_it_is_called() {
        for (name, inches) in [("1", 0.75), ("1 1/4", 1.0), ("2", 1.5), ("4", 3.5)] {
            assert_eq!(Goods::Softwood.stock(name).unwrap().actual, inches * IN, "{name}");
        }
        assert_eq!(softwood_width(7.25 * IN), Some([8.0 * IN, 7.25 * IN]));
        assert_eq!(softwood_width(7.3 * IN), Some([10.0 * IN, 9.25 * IN]));
        assert_eq!(softwood_width(15.3 * IN), None);
    }

    /// An edge that reads 0.61 in is 5/8 or 3/4: common practice, no source.
    #[test]
    fn a_measured_thickness_is_offered_both_ways() {
        let of = |goods: Goods, mm: f64| goods.offered(mm).iter().map(Offer::thickness).collect::<Vec<_>>();
        assert_eq!(of(Goods::Softwood, 0.61 * IN), [0.625 * IN, 0.75 * IN]);
        assert_eq!(of(Goods::Fibreboard, 0.61 * IN), [0.625 * IN, 0.5 * IN].map(|v| v));
        assert_eq!(of(Goods::MetricBoard, 15.5), [16.0, 15.0, 18.0]);
        assert!(of(Goods::Softwood, f64::NAN).is_empty() && of(Goods::Softwood, 0.0).is_empty());
        // Thicker than anything: the thickest is named, to be glued up.
        assert_eq!(of(Goods::Softwood, 200.0), [3.5 * IN]);
    }

    #[test]
    fn every_table_grows() {
        for goods in Goods::INCH.into_iter().chain(Goods::METRIC) {
            let all = goods.all();
            assert!(all.windows(2).all(|w| w[0].actual < w[1].actual && w[0].nominal < w[1].nominal));
            assert!(all.iter().all(|s| s.actual <= s.nominal && goods.stock(s.name) == Some(*s)));
        }
    }
}
