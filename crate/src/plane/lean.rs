//! How far a ring's straight sides are from level and plumb.

use super::{Point, Space};

/// Sides that lean farther than this, radians, are meant to: 5°, farther than a scan lies askew. Ours, no source.
const MOST: f64 = 0.087;
/// So near to one another sides are looked for in turn, radians.
const NEAR: [f64; 3] = [MOST, 0.035, 0.017];
/// Such a share of the ring must be straight and run that way. Ours, no source.
const SHARE: f64 = 0.4;
/// In so many places at the least it is looked which way the ring runs.
const PLACES: usize = 128;

/// The angle (radians) by which the ring's straight sides lean from level and plumb; nothing where too little of it is straight, or
/// leans too far. A side to be trusted is one that others agree with: the mean is taken of those near it, then of the nearest.
pub fn lean<S: Space>(ring: &[Point<S>]) -> Option<f64> {
    let quarter = std::f64::consts::FRAC_PI_2;
    // What was traced has a point a px, whose steps run in eight ways only.
    let step = (ring.len() / PLACES).max(1);
    let far = if step > 1 { 2 * step } else { 1 };
    let runs = (0..ring.len()).step_by(step).filter_map(|i| {
        let way = *ring.get((i + far) % ring.len())? - *ring.get(i)?;
        let angle = libm::atan2(way.y, way.x);
        Some((angle - quarter * libm::round(angle / quarter), way.length()))
    });
    let runs: Vec<(f64, f64)> = runs.collect();
    let whole: f64 = runs.iter().map(|(_, long)| long).sum();
    NEAR.iter().try_fold(0.0, |mean, near| {
        let here = runs.iter().filter(|(angle, _)| (angle - mean).abs() <= *near);
        let (sum, long) = here.fold((0.0, 0.0), |(sum, all), (angle, long)| (sum + angle * long, all + long));
        (long > 0.0 && long >= SHARE * whole).then(|| sum / long)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::Real;

    /// Corners joined by so many points a side, turned by so many degrees.
    fn ring(corners: &[[f64; 2]], dense: usize, degrees: f64) -> Vec<Point<Real>> {
        let (s, c) = degrees.to_radians().sin_cos();
        let side = |i: usize| {
            let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
            (0..dense)
                .map(move |k| [0, 1].map(|axis| a[axis] + (b[axis] - a[axis]) * k as f64 / dense as f64))
        };
        (0..corners.len()).flat_map(side).map(|[x, y]| Point::new(x * c - y * s, x * s + y * c)).collect()
    }

    #[test]
    fn straight_sides_tell_how_far_they_lean() {
        let board = [[0.0, 0.0], [600.0, 0.0], [600.0, 80.0], [0.0, 80.0]];
        // One side of it leans by 3.6° of its own.
        let raked = [[0.0, 0.0], [300.0, 0.0], [285.0, 240.0], [0.0, 240.0]];
        let el = [[0.0, 0.0], [300.0, 0.0], [300.0, 60.0], [60.0, 60.0], [60.0, 200.0], [0.0, 200.0]];
        let round: Vec<[f64; 2]> =
            (0..400).map(|k| f64::from(k) * 0.015_708).map(|t| [90.0 * t.cos(), 60.0 * t.sin()]).collect();
        let diamond = [[0.0, -100.0], [60.0, 0.0], [0.0, 100.0], [-60.0, 0.0]];
        for (corners, dense, degrees, expected) in [
            (&board[..], 1, 1.0, Some(1.0)),
            (&board, 300, 1.0, Some(1.0)),
            (&board, 300, -4.2, Some(-4.2)),
            (&board, 1, 91.0, Some(1.0)),
            (&board, 300, 8.0, None),
            (&raked, 200, 1.5, Some(1.5)),
            (&raked, 1, -2.0, Some(-2.0)),
            (&el, 150, 0.7, Some(0.7)),
            (&round, 1, 1.0, None),
            (&diamond, 200, 1.0, None),
        ] {
            let got = lean(&ring(corners, dense, degrees)).map(f64::to_degrees);
            let right = match (got, expected) {
                (Some(got), Some(expected)) => (got - expected).abs() < 0.02,
                (got, expected) => got.is_none() && expected.is_none(),
            };
            assert!(right, "{corners:?} {dense} {degrees}: {got:?}");
        }
        assert_eq!(lean::<Real>(&[]), None);
    }
}
