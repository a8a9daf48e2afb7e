//! Every conversion factor, once, and the ways to show a length.
//!
//! # References
//! International yard and pound agreement (1959): the inch is 25.4 mm exactly.

use serde::{Deserialize, Serialize};

/// Millimetres in an inch, exactly.
pub const MM_PER_INCH: f64 = 25.4;
/// Inches in a foot, exactly.
pub const INCHES_PER_FOOT: f64 = 12.0;
/// Millimetres in a foot, exactly.
pub const MM_PER_FOOT: f64 = 304.8;
/// Millimetres in a centimetre.
pub const MM_PER_CM: f64 = 10.0;
/// Millimetres in a metre.
pub const MM_PER_M: f64 = 1000.0;
/// Square millimetres in a square inch, exactly.
pub const MM2_PER_SQUARE_INCH: f64 = 645.16;
/// Square millimetres in a square centimetre.
pub const MM2_PER_CM2: f64 = 100.0;

/// How lengths are shown, and the unit of a bare number that is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub enum Style {
    /// Inches and fractions: 63 1⁄2.
    Inches,
    /// Feet, inches and fractions: 5′ 3 1⁄2″. A bare number that is read is inches.
    FeetInches,
    /// Inches with decimals: 63.5.
    DecimalInches,
    /// Millimetres with decimals: 1612.9.
    Millimetres,
}

impl Style {
    /// Every way, in the order to offer them.
    pub const ALL: [Style; 4] = [Style::Inches, Style::FeetInches, Style::DecimalInches, Style::Millimetres];

    /// Whether the style's own unit is the millimetre.
    pub fn is_metric(self) -> bool {
        self == Style::Millimetres
    }

    /// The unit of a bare number, in mm.
    pub fn unit_mm(self) -> f64 {
        if self.is_metric() { 1.0 } else { MM_PER_INCH }
    }
}
