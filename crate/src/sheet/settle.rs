//! Outlines that came as points, made smooth before anything is drawn.

use super::order::{Order, Outline, Pattern, Piece};
use crate::plane::{Curve, Finished, FitOptions, Point, fit};

/// A pattern's line keeps to what was found within this, or within twice what that is uncertain by: a saw's own wander is
/// ten times as much (common practice, no source).
const TOLERANCE: f64 = 0.1;

impl Order {
    /// Every outline that came as points as curves.
    pub fn settle(&mut self) {
        for piece in &mut self.pieces {
            let of: Option<&mut Pattern> = match piece {
                Piece::Pattern(p) => Some(p),
                Piece::Grid(g) => Some(&mut g.of),
                Piece::Offsets(o) => Some(&mut o.of),
                Piece::Stick(_) | Piece::Sector(_) | Piece::List(_) | Piece::Boards(_) | Piece::Test => None,
            };
            if let Some(outline) = of.and_then(|p| p.outline.as_mut()) {
                outline.settle();
            }
        }
    }
}

impl Outline {
    /// Curves through its points, where it has no curves yet.
    pub fn settle(&mut self) {
        if self.rings.is_empty() {
            let smooth = |ring: &Vec<Point<Finished>>| smooth(ring, self.sigma, self.blunt);
            self.rings = self.points.iter().map(smooth).collect();
            self.points.clear();
        }
    }
}

/// Points that can't be fitted stay joined by straight lines: what is wrong with them is told where they are drawn.
fn smooth(ring: &[Point<Finished>], sigma: f64, blunt: f64) -> Curve<Finished> {
    let options = FitOptions { sigma, blunt, ..FitOptions::default() };
    fit(ring, TOLERANCE, &options).map_or_else(|_| Curve::polygon(ring), |f| f.curve)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// An ellipse's area is πab; its border as points and as curves.
    #[test]
    fn points_become_curves() {
        let turn = |i: u32| f64::from(i) * std::f64::consts::TAU / 400.0;
        let ring =
            (0..400).map(|i| Point::new(80.0 * libm::cos(turn(i)), 30.0 * libm::sin(turn(i)))).collect();
        let mut outline = Outline { points: vec![ring], sigma: 0.01, ..Outline::default() };
        outline.settle();
        assert!(outline.points.is_empty());
        let area = outline.rings[0].signed_area().abs();
        let true_area = std::f64::consts::PI * 80.0 * 30.0;
        // A line 0.1 mm off all round would be off by 0.1 mm times its length of 366 mm.
        assert!((area - true_area).abs() < 36.6, "{area}");
        assert!(outline.rings[0].segments.len() < 20, "{}", outline.rings[0].segments.len());
    }

    #[test]
    fn what_is_no_outline_stays_as_it_is() {
        let mut outline = Outline { points: vec![vec![Point::new(0.0, 0.0); 2]], ..Outline::default() };
        outline.settle();
        assert_eq!(outline.rings[0].segments.len(), 2);
    }
}
