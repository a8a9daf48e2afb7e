//! One part as it comes from its stock.

use super::amount::{board_feet, square_feet};
use super::joint::{End, cut_length};
use super::stock::Stock;
use crate::words::Say;

/// A part and the stock it is cut from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blank {
    /// What shows of it along the grain, mm.
    pub shoulder: f64,
    /// Across that, mm.
    pub width: f64,
    /// How many.
    pub quantity: u32,
    /// From what.
    pub stock: Stock,
    /// Planed down to so many mm; nothing for stock as it is sold.
    pub planed: Option<f64>,
    /// Its ends.
    pub ends: [End; 2],
}

/// No more of one part than this.
pub const MOST: u32 = 100_000;

impl Blank {
    /// The length to cut, mm.
    ///
    /// # Errors
    /// As [`cut_length`]; `part.width` for a width that is none; `part.quantity` for none of it, or more than anyone makes.
    pub fn cut(&self) -> Result<f64, Say> {
        if !(self.width > 0.0 && self.width.is_finite()) {
            return Err(Say::new("part.width"));
        }
        if !(1..=MOST).contains(&self.quantity) {
            return Err(Say::new("part.quantity"));
        }
        cut_length(self.shoulder, self.ends)
    }

    /// How thick it is, mm.
    ///
    /// # Errors
    /// `part.planed` where it would have to be thicker than its stock, or of no thickness.
    pub fn thickness(&self) -> Result<f64, Say> {
        match self.planed {
            None => Ok(self.stock.actual),
            Some(mm) if self.stock.may_measure(mm) => Ok(mm),
            Some(mm) if mm > 0.0 && mm <= self.stock.actual + 1e-6 => Ok(mm),
            Some(mm) => Err(Say::new("part.planed").length("size", mm).length("stock", self.stock.actual)),
        }
    }

    /// All of them before waste: board feet of boards (on the nominal thickness), square feet of sheets.
    ///
    /// # Errors
    /// As [`Blank::cut`].
    pub fn net(&self) -> Result<f64, Say> {
        let cut = self.cut()?;
        let one = if self.stock.goods.is_sheet() {
            square_feet(self.width, cut)
        } else {
            board_feet(self.stock.nominal, self.width, cut)
        };
        Ok(one * f64::from(self.quantity))
    }

    /// All of them end to end, mm.
    ///
    /// # Errors
    /// As [`Blank::cut`].
    pub fn run(&self) -> Result<f64, Say> {
        Ok(self.cut()? * f64::from(self.quantity))
    }
}

/// Whether a part so large fits the cylinder by which small parts of toys are judged, whichever way: then a child may choke
/// on it. A part that is flat counts by its box, so that a few are called small that just aren't.
///
/// # Units
/// Three sides in mm.
///
/// # References
/// 16 CFR 1501.4: 31.7 mm wide, 25.4 to 57.1 mm deep.
pub fn chokes(sides: [f64; 3]) -> bool {
    let [a, b, c] = sides;
    let long = a.max(b).max(c);
    let short = a.min(b).min(c);
    let middle = a + b + c - long - short;
    long <= 57.1 && libm::hypot(short, middle) <= 31.7
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::part::{Goods, Joint};

    fn blank(goods: Goods, name: &str) -> Blank {
        Blank {
            shoulder: 24.0 * 25.4,
            width: 6.0 * 25.4,
            quantity: 2,
            stock: goods.stock(name).unwrap(),
            planed: None,
            ends: [End::default(); 2],
        }
    }

    /// By hand: two of 6 × 24 in are 2 board feet of 1 in and 4 of 2 in, 2 square feet of plywood.
    #[test]
    fn what_goes_into_two() {
        for (goods, name, net) in
            [(Goods::Softwood, "1", 2.0), (Goods::Softwood, "2", 4.0), (Goods::Plywood, "3/4", 2.0)]
        {
            assert!((blank(goods, name).net().unwrap() - net).abs() < 1e-12, "{name}");
        }
        let ends = [End { joint: Joint::Tenon, depth: 25.4 }; 2];
        assert!((Blank { ends, ..blank(Goods::Softwood, "1") }.cut().unwrap() - 26.0 * 25.4).abs() < 1e-9);
    }

    #[test]
    fn what_is_no_part_says_why() {
        let b = blank(Goods::Softwood, "1");
        assert_eq!(Blank { quantity: 0, ..b }.net().unwrap_err().key, "part.quantity");
        assert_eq!(Blank { quantity: 1_000_000, ..b }.net().unwrap_err().key, "part.quantity");
        assert_eq!(Blank { width: -1.0, ..b }.net().unwrap_err().key, "part.width");
        assert_eq!(Blank { planed: Some(25.4), ..b }.thickness().unwrap_err().key, "part.planed");
        assert_eq!(Blank { planed: Some(0.0), ..b }.thickness().unwrap_err().key, "part.planed");
        assert_eq!(Blank { planed: Some(15.875), ..b }.thickness().unwrap(), 15.875);
    }

    /// 16 CFR 1501.4: a ball of 31 mm goes in, one of 32 doesn't; a peg of 60 mm stands out.
    #[test]
    fn small_parts() {
        assert!(chokes([20.0, 20.0, 50.0]) && !chokes([32.0, 32.0, 32.0]) && !chokes([10.0, 10.0, 60.0]));
    }
}
