//! What a species weighs, how it moves, how stiff it is.

use crate::words::Say;
use serde::{Deserialize, Serialize};

/// A species whose figures are known here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Species {
    /// Pinus strobus.
    WhitePine,
    /// Thuja plicata.
    RedCedar,
    /// Liriodendron tulipifera.
    YellowPoplar,
    /// Quercus rubra.
    RedOak,
    /// Acer saccharum.
    SugarMaple,
}

/// How a board was sawn from the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sawn {
    /// Rings along its face.
    Flat,
    /// Rings across its face.
    Quarter,
}

/// A species' figures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wood {
    /// Specific gravity at 12 % moisture.
    pub gravity: f64,
    /// Change of width per per cent of moisture, of its width: flat-sawn, quarter-sawn.
    pub moves: [f64; 2],
    /// Modulus of elasticity at 12 %, N/mm².
    pub modulus: f64,
}

/// No wood is drier in use, nor wetter without being green, per cent of moisture.
const MOISTURE: std::ops::RangeInclusive<f64> = 0.0..=30.0;

impl Species {
    /// All of them, softest first.
    pub const ALL: [Species; 5] =
        [Species::WhitePine, Species::RedCedar, Species::YellowPoplar, Species::RedOak, Species::SugarMaple];

    /// Its name in the words file, after `species.`.
    pub fn name(self) -> &'static str {
        match self {
            Species::WhitePine => "white-pine",
            Species::RedCedar => "red-cedar",
            Species::YellowPoplar => "yellow-poplar",
            Species::RedOak => "red-oak",
            Species::SugarMaple => "sugar-maple",
        }
    }

    /// Whether it is a conifer, as the trade in planed softwood is.
    pub fn is_softwood(self) -> bool {
        matches!(self, Species::WhitePine | Species::RedCedar)
    }

    /// Its figures.
    ///
    /// # References
    /// Wood Handbook (USDA Forest Products Laboratory), tables of mechanical properties and of dimensional change. All but the
    /// gravity of yellow-poplar from memory.
    pub fn wood(self) -> Wood {
        let (gravity, flat, quarter, modulus) = match self {
            Species::WhitePine => (0.35, 0.002_12, 0.000_71, 8_500.0),
            Species::RedCedar => (0.32, 0.002_34, 0.001_11, 7_700.0),
            Species::YellowPoplar => (0.42, 0.002_89, 0.001_58, 10_900.0),
            Species::RedOak => (0.63, 0.003_69, 0.001_58, 12_500.0),
            Species::SugarMaple => (0.63, 0.003_53, 0.001_65, 12_600.0),
        };
        Wood { gravity, moves: [flat, quarter], modulus }
    }

    /// Density at a moisture, kg/m³.
    ///
    /// # Errors
    /// `part.moisture` beyond what wood in use has.
    ///
    /// # References
    /// Wood Handbook: 1000·G·(1 + M/100), here with the gravity on the volume at 12 %.
    pub fn density(self, moisture: f64) -> Result<f64, Say> {
        if !MOISTURE.contains(&moisture) {
            return Err(Say::new("part.moisture"));
        }
        Ok(1000.0 * self.wood().gravity * (1.0 + moisture / 100.0))
    }

    /// What `volume` mm³ of it weigh, kg.
    ///
    /// # Errors
    /// As [`Species::density`].
    pub fn weight(self, volume: f64, moisture: f64) -> Result<f64, Say> {
        Ok(volume * 1e-9 * self.density(moisture)?)
    }

    /// How much wider a part gets across its grain when its moisture rises by `change` per cent, mm.
    ///
    /// # References
    /// Wood Handbook: ΔW = W·C·ΔM.
    pub fn movement(self, width: f64, change: f64, sawn: Sawn) -> f64 {
        let [flat, quarter] = self.wood().moves;
        width * change * if sawn == Sawn::Flat { flat } else { quarter }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 12 in of red oak over 4 %: 0.18 in flat-sawn, 0.08 in quarter-sawn (Wood Handbook's coefficients).
    #[test]
    fn red_oak_moves() {
        let moves = |sawn| Species::RedOak.movement(12.0 * 25.4, 4.0, sawn) / 25.4;
        assert!((moves(Sawn::Flat) - 0.177).abs() < 5e-4 && (moves(Sawn::Quarter) - 0.0758).abs() < 5e-5);
    }

    /// By hand: 1000·0.42·1.12; a board foot of it is 2 359 737 mm³.
    #[test]
    fn poplar_weighs() {
        assert!((Species::YellowPoplar.density(12.0).unwrap() - 470.4).abs() < 1e-9);
        let board_foot = 304.8 * 304.8 * 25.4;
        assert!((Species::YellowPoplar.weight(board_foot, 12.0).unwrap() - 1.11).abs() < 1e-3);
        assert_eq!(Species::RedOak.density(60.0).unwrap_err().key, "part.moisture");
        assert_eq!(Species::RedOak.density(f64::NAN).unwrap_err().key, "part.moisture");
    }
}
