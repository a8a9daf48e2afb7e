//! How much stock: board feet, areas, lengths, and what to buy.

use super::stock::Goods;
use crate::fault::{Area, spoil};
use crate::quantity::units::{MM_PER_FOOT, MM_PER_INCH};
use crate::words::Say;

/// Square feet of the usual sheet, 4 by 8 ft.
pub const SHEET_FEET: f64 = 32.0;
/// Square metres of the usual metric sheet, 1220 by 2440 mm.
pub const SHEET_METRES: f64 = 1.22 * 2.44;

/// Board feet of a piece; thinner than 1 in counts as 1 in.
///
/// # Units
/// All in mm: the nominal thickness, the width, the length.
///
/// # References
/// PS 20: thickness in inches × width in inches × length in feet / 12, on nominal sizes. Never under 1 in: common practice of
/// the trade, no source.
pub fn board_feet(nominal: f64, width: f64, length: f64) -> f64 {
    let thick = (nominal / MM_PER_INCH).max(1.0);
    thick * (width / MM_PER_INCH) * (length / MM_PER_FOOT) / 12.0 * spoil(Area::Part, 1.01)
}

/// Square feet of mm by mm.
pub fn square_feet(width: f64, length: f64) -> f64 {
    (width / MM_PER_FOOT) * (length / MM_PER_FOOT)
}

/// The share of what is bought that becomes waste, least and most.
///
/// # References
/// Common practice, no source.
pub fn waste(goods: Goods) -> [f64; 2] {
    match goods {
        Goods::Softwood | Goods::MetricBoard => [0.05, 0.10],
        Goods::Surfaced => [0.15, 0.20],
        Goods::Rough => [0.25, 0.35],
        Goods::Plywood | Goods::Fibreboard | Goods::MetricSheet => [0.10, 0.20],
    }
}

/// What to buy so that `net` is left once `waste` (0 to 1) of it is gone.
///
/// # Errors
/// `part.waste` where nothing would be left.
pub fn to_buy(net: f64, waste: f64) -> Result<f64, Say> {
    if !((0.0..1.0).contains(&waste) && net >= 0.0 && net.is_finite()) {
        return Err(Say::new("part.waste"));
    }
    Ok(net / (1.0 - waste))
}

#[cfg(test)]
mod tests {
    use super::*;

    const IN: f64 = 25.4;

    /// By hand: a 1 × 6, 8 ft long, is 4 board feet; a 2 × 4 of 8 ft 5 1/3; 1/2 in counts as 1 in.
    #[test]
    fn board_feet_by_hand() {
        let feet = |t: f64, w: f64, l: f64| board_feet(t * IN, w * IN, l * IN);
        for (t, w, l, want) in [
            (1.0, 6.0, 96.0, 4.0),
            (2.0, 4.0, 96.0, 16.0 / 3.0),
            (0.5, 12.0, 12.0, 1.0),
            (1.25, 8.0, 120.0, 25.0 / 3.0),
        ] {
            assert!((feet(t, w, l) - want).abs() < 1e-12, "{t} {w} {l}");
        }
        assert!((square_feet(48.0 * IN, 96.0 * IN) - SHEET_FEET).abs() < 1e-12);
    }

    #[test]
    fn waste_is_of_what_is_bought() {
        assert!((to_buy(3.0, 0.25).unwrap() - 4.0).abs() < 1e-12);
        assert_eq!(to_buy(3.0, 1.0).unwrap_err().key, "part.waste");
        assert_eq!(to_buy(f64::NAN, 0.1).unwrap_err().key, "part.waste");
    }
}
