//! A whirligig's propeller: made to size, never scaled from a picture.

use crate::quantity::units::MM_PER_INCH;
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// A propeller as it is made.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct Propeller {
    /// From tip to tip, mm.
    pub across: f64,
    /// How many blades: 2 or 4 from sticks halved into one another, 3 or more let into a hub.
    pub blades: u8,
    /// How wide a blade is, mm.
    pub width: f64,
    /// How far a blade is turned out of the plane in which it spins, degrees.
    pub angle: f64,
    /// The hole for its shaft, mm.
    pub bore: f64,
    /// It turns with the clock as the wind sees it.
    pub clockwise: bool,
}

/// The stick that a blade is pared from.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Stick {
    /// mm.
    pub length: f64,
    /// Across the shaft, mm.
    pub width: f64,
    /// Along the shaft, mm.
    pub thickness: f64,
    /// How many.
    pub count: u8,
}

/// Blades are turned so far out of their plane, degrees. From memory; no source.
pub const ANGLES: [f64; 2] = [30.0, 45.0];
/// A propeller is so long, of the body. From memory; no source.
pub const OF_BODY: [f64; 2] = [1.0 / 3.0, 2.0 / 3.0];
/// So much is left clear all round, mm. From memory; no source.
pub const CLEAR: f64 = 0.5 * MM_PER_INCH;

impl Propeller {
    /// One that suits a body so long, mm: half of it across, two blades an eighth of that wide at 40°, bored for a shaft of
    /// 1/8 in. Ours; no source.
    pub fn usual(body: f64) -> Propeller {
        let across = body / 2.0;
        Propeller {
            across,
            blades: 2,
            width: across / 8.0,
            angle: 40.0,
            bore: MM_PER_INCH / 8.0,
            clockwise: true,
        }
    }

    /// What can be made.
    ///
    /// # Errors
    /// `propeller.size`, `propeller.blades`, `propeller.angle`, `propeller.bore`.
    pub fn check(&self) -> Result<(), Say> {
        let length = |mm: f64| (1.0..=10_000.0).contains(&mm);
        if !(length(self.across) && length(self.width) && self.width < self.across) {
            return Err(Say::new("propeller.size"));
        }
        if !(2..=12).contains(&self.blades) {
            return Err(Say::new("propeller.blades"));
        }
        if !(5.0..=85.0).contains(&self.angle) {
            return Err(Say::new("propeller.angle"));
        }
        let stick = self.stick();
        if !(self.bore > 0.0 && 2.0 * self.bore <= stick.width) {
            return Err(Say::new("propeller.bore").length("width", stick.width));
        }
        Ok(())
    }

    /// The blade lies from corner to corner of its stick: width and thickness are those of a diagonal so long and so steep.
    ///
    /// # References
    /// By hand: width·cos and width·sin of the angle. Two sticks halved into one another make four blades: common practice, no
    /// source.
    pub fn stick(&self) -> Stick {
        let turn = self.angle.to_radians();
        let halved = matches!(self.blades, 2 | 4);
        Stick {
            length: if halved { self.across } else { self.across / 2.0 },
            width: self.width * libm::cos(turn),
            thickness: self.width * libm::sin(turn),
            count: if halved { self.blades / 2 } else { self.blades },
        }
    }

    /// What of it a wind from the side meets, on the mean of a turn, mm².
    ///
    /// # References
    /// Ours: a blade's area × the sine of its angle is seen while it stands upright, and |cos| of its turn from there, whose
    /// mean is 2/π.
    pub fn side_area(&self) -> f64 {
        let blade = self.width * self.across / 2.0;
        f64::from(self.blades) * blade * libm::sin(self.angle.to_radians()) * std::f64::consts::FRAC_2_PI
    }

    /// How many of the longest propeller's blade tips clear `near` mm from the shaft, mm across.
    pub fn largest(near: f64) -> f64 {
        (2.0 * (near - CLEAR)).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a blade 2 in wide at 30° comes from a stick 1.732 in wide and 1 in thick; at 45° both are 1.414.
    #[test]
    fn a_blade_lies_from_corner_to_corner() {
        let p = Propeller { across: 304.8, width: 50.8, angle: 30.0, ..Propeller::usual(600.0) };
        let s = p.stick();
        assert!(
            (s.thickness - 25.4).abs() < 1e-9 && (s.width / 25.4 - 1.732_050_8).abs() < 1e-6 && s.count == 1
        );
        assert!((libm::hypot(s.width, s.thickness) - 50.8).abs() < 1e-9);
        assert_eq!(Propeller { blades: 4, ..p }.stick().count, 2);
        assert_eq!(Propeller { blades: 3, ..p }.stick().length, 152.4);
    }

    #[test]
    fn what_can_not_be_made_says_why() {
        let p = Propeller::usual(600.0);
        assert_eq!(p.check(), Ok(()));
        for (bad, key) in [
            (Propeller { across: 0.0, ..p }, "propeller.size"),
            (Propeller { width: f64::NAN, ..p }, "propeller.size"),
            (Propeller { blades: 1, ..p }, "propeller.blades"),
            (Propeller { angle: 0.0, ..p }, "propeller.angle"),
            (Propeller { bore: 100.0, ..p }, "propeller.bore"),
        ] {
            assert_eq!(bad.check().unwrap_err().key, key);
        }
    }
}
