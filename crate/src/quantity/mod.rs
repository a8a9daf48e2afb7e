//! Lengths, angles, areas and fractions: reading what a person writes, rounding, and writing figures.
//!
//! Depends on [`crate::words`] only. Must not know what an estimate, a picture or a mark is: it is given
//! numbers.
//!
//! # Units
//! Inside, lengths are mm, angles rad, areas mm². What a person reads is made here and nowhere else;
//! conversion factors stand in [`units`], the decimal sign in [`number`].
mod caption;
mod figure;
mod length;
pub mod number;
mod ratio;
mod read;
mod scan;
mod step;
pub mod units;

pub use caption::{Sizes, read_caption};
pub use figure::{FRACTION_SLASH, Figure};
pub use length::{write_length, write_plus_minus, write_unrounded};
pub use number::{
    DECIMAL_SIGN, decimals_for, read_digits, write_angle, write_angle_plus_minus, write_area,
    write_area_plus_minus, write_number, write_number_plus_minus, write_percent, write_percent_plus_minus,
};
pub use ratio::read_ratio;
pub use read::{LONGEST_MM, LONGEST_TEXT, ReadError, SHORTEST_MM, read_length};
pub use step::{Direction, Step, round};
pub use units::Style;

#[cfg(test)]
mod tests;
