//! How far a shelf sags.

use super::stock::Goods;
use super::wood::Species;
use crate::quantity::units::MM_PER_INCH;
use crate::words::Say;

/// A pound of force for each foot, N/mm.
pub const LB_FT: f64 = 4.448_221_615_260_5 / 304.8;
/// The weight of a kilogram for each metre, N/mm (standard gravity).
pub const KG_M: f64 = 9.806_65e-3;
/// What a foot of books weighs, N/mm: 25 lb, the heavier of what is usual. Common practice, no source.
pub const BOOKS: f64 = 25.0 * LB_FT;
/// Years of load add as much again as half to all of the first sag: common practice, no source.
pub const YEARS: [f64; 2] = [1.5, 2.0];
/// The eye sees a sag of one part in so many: common practice, no source.
const SEEN: f64 = 384.0;

/// A shelf that rests on its ends and is loaded evenly.
#[derive(Clone, Copy, Debug, PartialEq, serde::Deserialize)]
pub struct Shelf {
    /// Between its supports, mm.
    pub span: f64,
    /// From front to back, mm.
    pub depth: f64,
    /// Actual thickness, mm.
    pub thickness: f64,
    /// Modulus of elasticity, N/mm².
    pub modulus: f64,
    /// Load, N for each mm of its length.
    pub load: f64,
    /// A strip of the same wood glued along its front edge, flush with its top: thickness, and how deep it hangs below the
    /// shelf, mm.
    #[serde(default)]
    pub front_edge: Option<[f64; 2]>,
}

impl Shelf {
    /// How far its middle sags, mm, when it is first loaded.
    ///
    /// # Errors
    /// `part.shelf` for a shelf or a load that is none.
    ///
    /// # References
    /// 5wL⁴/(384EI) with I = bh³/12, for a beam on two simple supports: any handbook of mechanics.
    pub fn sag(&self) -> Result<f64, Say> {
        let all = [self.span, self.depth, self.thickness, self.modulus, self.load];
        if !all.iter().all(|v| *v > 0.0 && v.is_finite()) {
            return Err(Say::new("part.shelf"));
        }
        let inertia =
            self.inertia().filter(|i| *i > 0.0 && i.is_finite()).ok_or_else(|| Say::new("part.shelf"))?;
        let square = self.span * self.span;
        Ok(5.0 * self.load * square * square / (384.0 * self.modulus * inertia))
    }

    /// Second moment of area of its section about its own neutral line, mm⁴.
    ///
    /// # References
    /// bh³/12, and Steiner's theorem for the strip: any handbook of mechanics. Both bend as one: the joint is glued.
    fn inertia(&self) -> Option<f64> {
        let (b, h) = (self.depth, self.thickness);
        let [w, below] = self.front_edge.unwrap_or([0.0; 2]);
        if !(w >= 0.0 && below >= 0.0) {
            return None;
        }
        let d = h + below;
        let (shelf, strip) = (b * h, w * d);
        // From the top down.
        let line = (shelf * h / 2.0 + strip * d / 2.0) / (shelf + strip);
        let (off, far) = (h / 2.0 - line, d / 2.0 - line);
        Some(b * h * h * h / 12.0 + shelf * off * off + w * d * d * d / 12.0 + strip * far * far)
    }
}

/// What of a sag the eye sees on a shelf of `span` mm, mm.
pub fn seen(span: f64) -> f64 {
    span / SEEN
}

/// How far a shelf of 3/4 in spans, mm.
///
/// # References
/// Common practice, no source: 24 in of particle board or MDF, 30 of pine or plywood, 36 of oak.
pub fn advised(goods: Goods, species: Option<Species>) -> f64 {
    let inches = match (goods, species) {
        (Goods::Fibreboard, _) => 24.0,
        (_, Some(Species::RedOak | Species::SugarMaple)) => 36.0,
        _ => 30.0,
    };
    inches * MM_PER_INCH
}

/// How stiff it is, N/mm²; nothing for boards of a species that isn't told.
///
/// # References
/// Boards as [`Species::wood`]; plywood and fibreboard in round figures from memory.
pub fn modulus(goods: Goods, species: Option<Species>) -> Option<f64> {
    match goods {
        Goods::Plywood => Some(7_000.0),
        Goods::Fibreboard => Some(2_400.0),
        // Plywood and MDF are sold by the same mm, and differ threefold.
        Goods::MetricSheet => None,
        _ => species.map(|s| s.wood().modulus),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 36 × 10 × 3/4 in of 1.82 million psi under 25 lb/ft: w 2.0833 lb/in, I 0.35156 in⁴ → 0.0712 in.
    #[test]
    fn an_oak_shelf_by_hand() {
        let psi = 0.006_894_757_293;
        let shelf = Shelf {
            span: 914.4,
            depth: 254.0,
            thickness: 19.05,
            modulus: 1.82e6 * psi,
            load: BOOKS,
            front_edge: None,
        };
        assert!((shelf.sag().unwrap() / 25.4 - 0.071_2).abs() < 5e-5, "{:?}", shelf.sag());
        // A strip 3/4 in thick and 1 1/2 in deep in all: the line lies 0.42391 in down, I 0.35156 + 7.5·0.04891² + 0.21094 +
        // 1.125·0.32609² = 0.70007 in⁴.
        let strip = Shelf { front_edge: Some([19.05, 19.05]), ..shelf };
        assert!(
            (shelf.sag().unwrap() / strip.sag().unwrap() - 0.700_07 / 0.351_56).abs() < 1e-3,
            "{:?}",
            strip.sag()
        );
        assert_eq!(Shelf { thickness: 0.0, ..shelf }.sag().unwrap_err().key, "part.shelf");
        assert_eq!(Shelf { span: f64::NAN, ..shelf }.sag().unwrap_err().key, "part.shelf");
        // (0.75/0.61)³
        let thin = Shelf { thickness: 0.61 * 25.4, ..shelf };
        assert!((thin.sag().unwrap() / shelf.sag().unwrap() - 1.86).abs() < 5e-3);
    }
}
