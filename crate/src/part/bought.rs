//! Things that are bought in set sizes, not made: wheels, dowels, pegs, tube, rod, bits.

use crate::fault::{Area, spoil};
use crate::quantity::units::MM_PER_INCH;
use serde::{Deserialize, Serialize};

/// What is bought in sizes of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Ware {
    /// Turned wheels.
    Wheel,
    /// Round wood by the length.
    Dowel,
    /// Turned pegs with a head.
    Peg,
    /// Thin metal tube, as it measures outside.
    Tube,
    /// Metal rod and wire.
    Shaft,
    /// What bores a hole: the hole is as large as it.
    Bit,
}

/// One thing that is bought.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct Bought {
    /// What.
    pub ware: Ware,
    /// Its size: across, mm.
    pub across: f64,
    /// How thick a wheel is, where that was measured, mm; nothing for the usual.
    #[serde(default)]
    pub thick: Option<f64>,
}

/// A hole in which an axle turns is wider than the axle by this, least and most, mm: 1/64 to 1/32 in. Common practice, no source.
pub const TURNS: [f64; 2] = [MM_PER_INCH / 64.0, MM_PER_INCH / 32.0];
/// A washer is so thick, and an axle has so much play along itself, inches and mm: 1/16 in. Common practice, no source.
pub const WASHER: [f64; 2] = [MM_PER_INCH / 16.0, 1.5];
/// Nothing that is bought is larger across, mm.
const LARGEST: f64 = 1_000.0;

/// Sixty-fourths of an inch in one.
const SIXTY_FOURTHS: f64 = 64.0;

impl Ware {
    /// All of them, in the order to offer them.
    pub const ALL: [Ware; 6] = [Ware::Wheel, Ware::Dowel, Ware::Peg, Ware::Tube, Ware::Shaft, Ware::Bit];

    /// Its name in the words file, after `ware.`.
    pub fn name(self) -> &'static str {
        match self {
            Ware::Wheel => "wheel",
            Ware::Dowel => "dowel",
            Ware::Peg => "peg",
            Ware::Tube => "tube",
            Ware::Shaft => "shaft",
            Ware::Bit => "bit",
        }
    }

    /// Whether it is cut to a length of its own.
    pub fn is_cut(self) -> bool {
        matches!(self, Ware::Dowel | Ware::Tube | Ware::Shaft)
    }

    /// Every size it is sold in, mm across, smallest first.
    ///
    /// # References
    /// Common practice, no source: shops differ.
    pub fn sizes(self, metric: bool) -> Vec<f64> {
        // Sizes from, to, and by how much they grow: mm, or sixty-fourths of an inch.
        let runs: &[[u16; 3]] = match (self, metric) {
            (Ware::Wheel, false) => &[[48, 192, 16], [224, 256, 32]],
            (Ware::Wheel, true) => &[[20, 50, 5], [60, 100, 10]],
            (Ware::Dowel, false) => &[[8, 32, 4], [40, 64, 8], [80, 96, 16]],
            (Ware::Dowel, true) => &[[3, 5, 1], [6, 12, 2], [15, 15, 1], [16, 22, 2], [25, 30, 5]],
            (Ware::Peg, false) => &[[10, 16, 2], [22, 24, 2], [32, 32, 1]],
            (Ware::Peg, true) => &[[4, 6, 1], [8, 12, 2]],
            (Ware::Tube, false) => &[[4, 32, 2]],
            (Ware::Tube, true) => &[[2, 10, 1], [12, 12, 1]],
            (Ware::Shaft, false) => &[[4, 12, 2], [16, 24, 4], [32, 32, 1]],
            (Ware::Shaft, true) => &[[2, 6, 1], [8, 12, 2]],
            (Ware::Bit, false) => &[[4, 32, 1], [36, 96, 4]],
            (Ware::Bit, true) => &[[1, 13, 1], [14, 40, 2]],
        };
        let unit = if metric { 1.0 } else { MM_PER_INCH / SIXTY_FOURTHS };
        let run = |[from, to, by]: &[u16; 3]| (*from..=*to).step_by(usize::from(*by));
        runs.iter().flat_map(run).map(|n| f64::from(n) * unit).collect()
    }

    /// What `mm` across may be: the next smaller and the next larger that is sold, nearer first. None is taken for the person.
    pub fn offered(self, mm: f64, metric: bool) -> Vec<f64> {
        let all = self.sizes(metric);
        let off = |v: &f64| (v - mm).abs();
        let smaller = all.iter().rev().find(|v| **v <= mm + 1e-6);
        let larger = all.iter().find(|v| **v > mm + 1e-6);
        let mut both: Vec<f64> =
            smaller.into_iter().chain(larger).copied().filter(|v| v.is_finite() && mm > 0.0).collect();
        crate::order::sort_by(&mut both, |a, b| off(a).total_cmp(&off(b)));
        both
    }
}

impl Bought {
    /// Whether there can be such a thing.
    pub fn is_sound(&self) -> bool {
        let length = |mm: f64| mm > 0.0 && mm <= LARGEST;
        length(self.across) && self.thick.is_none_or(length)
    }

    /// How thick it is, mm: a wheel about a quarter of its size and an eighth of an inch more (a 2 in wheel 5/8 in; common
    /// practice, no source: measure it), anything else as it is across.
    pub fn thickness(&self) -> f64 {
        let usual =
            if self.ware == Ware::Wheel { 0.25 * self.across + MM_PER_INCH / 8.0 } else { self.across };
        self.thick.unwrap_or(usual)
    }

    /// The hole in which it turns, least and most, mm.
    ///
    /// # References
    /// Axle and 1/64 to 1/32 in: common practice, no source.
    pub fn hole(&self) -> [f64; 2] {
        TURNS.map(|more| self.across + more * spoil(Area::Part, 1.5))
    }

    /// The dowel that is usually a wheel's axle: about an eighth of it. Common practice, no source.
    pub fn axle(&self, metric: bool) -> Bought {
        let across =
            Ware::Dowel.offered(self.across / 8.0, metric).first().copied().unwrap_or(self.across / 8.0);
        Bought { ware: Ware::Dowel, across, thick: None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const IN: f64 = 25.4;

    /// A wheel that measures 2 3/16 in is 2 or 2 1/4: the trade's own example; common practice, no source.
    #[test]
    fn a_measured_size_is_offered_both_ways() {
        assert_eq!(Ware::Wheel.offered(2.1875 * IN, false), [2.25 * IN, 2.0 * IN]);
        assert_eq!(Ware::Wheel.offered(2.25 * IN, false), [2.25 * IN, 2.5 * IN]);
        assert_eq!(Ware::Wheel.offered(54.0, true), [50.0, 60.0]);
        assert_eq!(Ware::Dowel.offered(0.26 * IN, false), [0.25 * IN, 0.3125 * IN]);
        // Beyond what is sold there is one way only; of nothing none.
        assert_eq!(Ware::Wheel.offered(9.0 * IN, false), [4.0 * IN]);
        assert_eq!(Ware::Wheel.offered(1.0, false), [0.75 * IN]);
        assert!(Ware::Bit.offered(f64::NAN, true).is_empty() && Ware::Bit.offered(0.0, true).is_empty());
    }

    #[test]
    fn every_row_of_sizes_grows() {
        for (ware, metric) in Ware::ALL.iter().flat_map(|w| [(w, false), (w, true)]) {
            assert!(ware.sizes(metric).windows(2).all(|w| w[0] < w[1]), "{ware:?} {metric}");
        }
    }

    /// By hand: an axle of 1/4 turns in 17/64 to 9/32; a 2 in wheel is 5/8 thick and has an axle of 1/4.
    #[test]
    fn holes_and_axles() {
        let wheel = Bought { ware: Ware::Wheel, across: 2.0 * IN, thick: None };
        let axle = wheel.axle(false);
        assert_eq!((axle.across, wheel.thickness()), (0.25 * IN, 0.625 * IN));
        let [least, most] = axle.hole().map(|mm| mm / IN * 64.0);
        assert!((least - 17.0).abs() < 1e-9 && (most - 18.0).abs() < 1e-9, "{least} {most}");
        assert!(wheel.is_sound() && !Bought { across: f64::NAN, ..wheel }.is_sound());
        assert!(!Bought { thick: Some(0.0), ..wheel }.is_sound());
    }
}
