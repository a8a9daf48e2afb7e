//! What can be done with a whole outline, asked for and answered as plain data: the one door to the geometry of this room
//! that is too heavy for the page's own thread.
//!
//! # Units
//! Picture px.

use super::{
    Curve, FitOptions, Half, Line, Patch, Picture, Point, cut, fair, fit, join, mirror, symmetrical,
};
use crate::words::Say;
use serde::{Deserialize, Serialize};

#[cfg(test)]
use ts_rs::TS;

type At = Point<Picture>;
type Ring = Vec<At>;

/// Points of a ring that was put together stand no closer than this, px, but where it turns.
const CLOSE: f64 = 1.5;
/// A corner that lies this far from the points, px, was drawn out.
const DRAWN_OUT: f64 = 1.0;
/// A turn that a point is kept for, rad.
const TURN: f64 = 0.3;

/// What is to be done with an outline. Its rings are the outer one and then its holes.
#[allow(missing_docs, reason = "the variants say it")]
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Shaping {
    /// The fewest smooth pieces through its points.
    Smooth {
        #[cfg_attr(test, ts(type = "[number, number][][]"))]
        rings: Vec<Ring>,
        how: Fitting,
    },
    /// Its wiggles shorter than about `span` taken out, no place moved by more than `limit`. Where it has no curves yet they
    /// are fitted first.
    Fair {
        #[cfg_attr(test, ts(type = "[number, number][][]"))]
        rings: Vec<Ring>,
        #[cfg_attr(test, ts(type = "unknown[]"))]
        curves: Vec<Curve<Picture>>,
        how: Fitting,
        span: f64,
        limit: f64,
    },
    /// Pieces made one, closing what lies between them where they run no farther than `gap` apart.
    Join {
        #[cfg_attr(test, ts(type = "[number, number][][][]"))]
        pieces: Vec<Vec<Ring>>,
        gap: f64,
        how: Option<Fitting>,
    },
    /// What of it lies on the side of the line through two places where `keep` is.
    Cut {
        #[cfg_attr(test, ts(type = "[number, number][][]"))]
        rings: Vec<Ring>,
        #[cfg_attr(test, ts(type = "[[number, number], [number, number]]"))]
        along: [At; 2],
        #[cfg_attr(test, ts(type = "[number, number]"))]
        keep: At,
        how: Option<Fitting>,
    },
    /// The line about which it is most nearly alike on both sides.
    Symmetry {
        #[cfg_attr(test, ts(type = "[number, number][][]"))]
        rings: Vec<Ring>,
    },
    /// Made alike on both sides of the line through two places.
    Symmetrical {
        #[cfg_attr(test, ts(type = "[number, number][][]"))]
        rings: Vec<Ring>,
        #[cfg_attr(test, ts(type = "[[number, number], [number, number]]"))]
        axis: [At; 2],
        half: Half,
        how: Option<Fitting>,
    },
}

/// How curves are fitted, px.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Fitting {
    /// Standard uncertainty of each point across the outline.
    pub sigma: f64,
    /// How far the curve may run from the points.
    pub tolerance: f64,
    /// How far from a square corner its traced image passes.
    pub blunt: f64,
}

/// What was made of an outline.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Shaped {
    /// Its rings: the outer one, then its holes. None where only curves are new.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(test, ts(type = "[number, number][][]"))]
    pub rings: Vec<Ring>,
    /// Its curves, ring by ring; none where none were asked for.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(test, ts(type = "unknown[]"))]
    pub curves: Vec<Curve<Picture>>,
    /// Standard uncertainty of a place of the curves, across them.
    #[serde(default)]
    pub sigma: f64,
    /// The same of the mean of all places round the outline, all moved outwards alike.
    #[serde(default)]
    pub mean: f64,
    /// The most that fairing moved any place.
    #[serde(default)]
    pub moved: f64,
    /// Corners that were drawn out by more than a px beyond the points, and how far: where a blunt tip can't be told from a
    /// sharp one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub tips: Vec<Tip>,
    /// How it lies about its centre line, where that was asked for or used.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub even: Option<Even>,
}

/// A corner drawn out beyond the points.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Tip {
    /// Where it is.
    #[cfg_attr(test, ts(type = "[number, number]"))]
    pub at: At,
    /// How far from the nearest place of the points, joined by straight lines.
    pub by: f64,
}

/// An outline held against its own mirror image.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Even {
    /// Where the centre line enters and leaves the outline.
    #[cfg_attr(test, ts(type = "[[number, number], [number, number]]"))]
    pub axis: [At; 2],
    /// How far, root mean square, one half lies from the other's mirror image.
    pub rms: f64,
    /// The greatest such distance.
    pub greatest: f64,
    /// The half that runs the more evenly: a blot, a chip or a bridged gap makes the other one bend more.
    pub better: Half,
}

/// Does what is asked.
///
/// # Errors
/// `shape.apart` for pieces that don't touch, `shape.nothing-left` for a cut that leaves nothing, and what
/// [`super::fit()`], [`super::fair()`], [`super::join`], [`super::cut`] and [`super::mirror()`] say.
pub fn shape(ask: &Shaping) -> Result<Shaped, Say> {
    match ask {
        Shaping::Smooth { rings, how } => smooth(rings, how),
        Shaping::Fair { rings, curves, how, span, limit } => {
            let mut made = if curves.is_empty() {
                smooth(rings, how)?
            } else {
                Shaped { curves: curves.clone(), ..Shaped::default() }
            };
            for curve in &mut made.curves {
                let faired = fair(curve, *span, *limit)?;
                made.moved = made.moved.max(faired.moved);
                *curve = faired.curve;
            }
            Ok(made)
        }
        Shaping::Join { pieces, gap, how } => {
            let pieces: Vec<Patch<Picture>> = pieces.iter().map(|p| patch(p)).collect();
            let mut joined = join(&pieces, *gap)?;
            match (joined.pop(), joined.is_empty()) {
                (Some(one), true) => made(one, how.as_ref()),
                _ => Err(Say::new("shape.apart")),
            }
        }
        Shaping::Cut { rings, along: [a, b], keep, how } => {
            let line = Line::through(*a, *b).ok_or_else(|| Say::new("job.same-place"))?;
            let left = cut(&patch(rings), &line, *keep)?;
            let off = |p: &Patch<Picture>| {
                if super::contains(&p.outer, *keep) {
                    return 0.0;
                }
                p.outer.iter().map(|q| q.distance(*keep)).fold(f64::INFINITY, f64::min)
            };
            let kept = left.into_iter().min_by(|p, q| off(p).total_cmp(&off(q)));
            made(kept.ok_or_else(|| Say::new("shape.nothing-left"))?, how.as_ref())
        }
        Shaping::Symmetry { rings } => {
            let even = Some(symmetry(outer(rings)?)?);
            Ok(Shaped { even, ..Shaped::default() })
        }
        Shaping::Symmetrical { rings, axis: [a, b], half, how } => {
            let line = Line::through(*a, *b).ok_or_else(|| Say::new("job.same-place"))?;
            let whole = Patch {
                outer: symmetrical(outer(rings)?, &line, *half)?,
                holes: even_holes(rings.get(1..).unwrap_or_default(), &line, *half),
            };
            let axis = crossed(&whole.outer, &line).unwrap_or([*a, *b]);
            let even = Even { axis, rms: 0.0, greatest: 0.0, better: *half };
            Ok(Shaped { even: Some(even), ..made(whole, how.as_ref())? })
        }
    }
}

fn outer(rings: &[Ring]) -> Result<&Ring, Say> {
    rings.first().ok_or_else(|| Say::new("plane.outline-few"))
}

fn patch(rings: &[Ring]) -> Patch<Picture> {
    Patch {
        outer: rings.first().cloned().unwrap_or_default(),
        holes: rings.get(1..).unwrap_or_default().to_vec(),
    }
}

/// The rings of a piece, and curves through them where they are wanted.
fn made(piece: Patch<Picture>, how: Option<&Fitting>) -> Result<Shaped, Say> {
    let rings: Vec<Ring> = std::iter::once(piece.outer).chain(piece.holes).map(|r| slim(&r)).collect();
    let curves = how.map_or(Ok(Shaped::default()), |how| smooth(&rings, how))?;
    Ok(Shaped { rings, ..curves })
}

/// A ring without the crowd of points that laying borders over each other leaves.
fn slim(ring: &[At]) -> Ring {
    let mut out: Ring = Vec::with_capacity(ring.len());
    for (i, p) in ring.iter().enumerate() {
        let next = ring[(i + 1) % ring.len()];
        let keep = out.last().is_none_or(|last| {
            last.distance(*p) >= CLOSE || super::angle_between(*p - *last, next - *p) > TURN
        });
        if keep && out.last() != Some(p) {
            out.push(*p);
        }
    }
    if out.len() < 3 { ring.to_vec() } else { out }
}

/// Curves through all rings. A hole too small to be anything but a few points keeps them, joined by straight lines.
fn smooth(rings: &[Ring], how: &Fitting) -> Result<Shaped, Say> {
    let options = FitOptions { sigma: how.sigma, blunt: how.blunt, ..FitOptions::default() };
    let first = fit(outer(rings)?, how.tolerance, &options)?;
    let (points, pieces) = (rings[0].len().max(1) as f64, first.curve.segments.len().max(1) as f64);
    let mut made = Shaped {
        sigma: libm::hypot(first.sigma, first.misfit),
        mean: libm::hypot(how.sigma / libm::sqrt(points), first.misfit / libm::sqrt(pieces)),
        tips: tips(&first.curve, &rings[0]),
        ..Shaped::default()
    };
    made.curves.push(first.curve);
    for hole in &rings[1..] {
        let fitted = fit(hole, how.tolerance, &options);
        made.curves.push(fitted.map_or_else(|_| Curve::polygon(hole), |f| f.curve));
    }
    Ok(made)
}

/// Corners drawn out by more than [`DRAWN_OUT`].
fn tips(curve: &Curve<Picture>, ring: &Ring) -> Vec<Tip> {
    let seen = Curve::polygon(ring);
    let corners = curve.segments.iter().filter(|s| s.corner);
    let tips = corners.filter_map(|s| seen.nearest(s.p).map(|(_, by)| Tip { at: s.p, by }));
    tips.filter(|t| t.by > DRAWN_OUT).collect()
}

/// The centre line, how even the outline is about it, and which half is the better one.
fn symmetry(ring: &Ring) -> Result<Even, Say> {
    let found = mirror(ring)?;
    let line = found.axis;
    let bends = |half: Half| -> Result<f64, Say> {
        let whole = symmetrical(ring, &line, half)?;
        Ok(bend(&whole))
    };
    let (left, right) = (bends(Half::Left)?, bends(Half::Right)?);
    let axis = crossed(ring, &line).ok_or_else(|| Say::new("plane.mirror-apart"))?;
    Ok(Even {
        axis,
        rms: found.rms,
        greatest: found.greatest,
        better: if left <= right { Half::Left } else { Half::Right },
    })
}

/// How much a ring bends all round: the sum of squares of its turns from step to step, at 240 places evenly apart. A sharp
/// corner counts once, whatever its height; what wiggles counts every time.
fn bend(ring: &[At]) -> f64 {
    const PLACES: usize = 240;
    let whole = super::perimeter(ring);
    let mut even: Ring = Vec::with_capacity(PLACES);
    let (mut i, mut run) = (0, 0.0);
    for k in 0..PLACES {
        let at = whole * k as f64 / PLACES as f64;
        while i + 1 < ring.len() && run + ring[i].distance(ring[i + 1]) < at {
            run += ring[i].distance(ring[i + 1]);
            i += 1;
        }
        let (p, q) = (ring[i], ring[(i + 1) % ring.len()]);
        even.push(p + (q - p) * ((at - run) / p.distance(q).max(1e-12)).clamp(0.0, 1.0));
    }
    (0..PLACES)
        .map(|k| {
            let (a, b, c) = (even[k], even[(k + 1) % PLACES], even[(k + 2) % PLACES]);
            let turn = super::angle_between(b - a, c - b);
            turn * turn
        })
        .sum()
}

/// The first and the last place where a line crosses a ring, in the order in which the line runs.
fn crossed(ring: &[At], line: &Line<Picture>) -> Option<[At; 2]> {
    let n = ring.len();
    let mut runs: Vec<f64> = Vec::new();
    for (i, p) in ring.iter().enumerate() {
        let q = ring[(i + 1) % n];
        let (a, b) = (line.distance(*p), line.distance(q));
        if (a <= 0.0) != (b <= 0.0) {
            runs.push(line.run(*p + (q - *p) * (a / (a - b))));
        }
    }
    let low = runs.iter().copied().fold(f64::INFINITY, f64::min);
    let high = runs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (high > low).then(|| [line.at + line.along * low, line.at + line.along * high])
}

/// Holes made even: one that the line passes is made so itself; of the others those of the half that is taken stand on
/// both sides, and where the mean is wanted those of the left half do.
fn even_holes(holes: &[Ring], line: &Line<Picture>, half: Half) -> Vec<Ring> {
    let mut out: Vec<Ring> = Vec::new();
    for hole in holes {
        let sides: Vec<bool> = hole.iter().map(|p| line.distance(*p) > 0.0).collect();
        let right = sides.iter().all(|s| *s);
        if !right && sides.iter().any(|s| *s) {
            out.extend(symmetrical(hole, line, half));
        } else if right == (half == Half::Right) {
            out.push(hole.iter().rev().map(|p| line.mirrored(*p)).collect());
            out.push(hole.clone());
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plane::signed_area;
    use std::f64::consts::{PI, TAU};

    const HOW: Fitting = Fitting { sigma: 0.05, tolerance: 0.3, blunt: 1.0 };

    fn at(points: &[[f64; 2]]) -> Ring {
        points.iter().map(|p| At::from(*p)).collect()
    }

    /// A box as it is traced: a point every 3 px, and each corner cut off by `blunt` px.
    fn traced(left: f64, top: f64, right: f64, bottom: f64, blunt: f64) -> Ring {
        let corners = at(&[[left, top], [right, top], [right, bottom], [left, bottom]]);
        let mut out = Vec::new();
        for (i, a) in corners.iter().enumerate() {
            let b = corners[(i + 1) % 4];
            let (step, long) = (b - *a, a.distance(b));
            let n = ((long - 2.0 * blunt) / 3.0) as usize;
            out.extend(
                (0..=n).map(|k| *a + step * ((blunt + (long - 2.0 * blunt) * k as f64 / n as f64) / long)),
            );
        }
        out
    }

    fn circle(x: f64, y: f64, r: f64, wave: f64) -> Ring {
        (0..400)
            .map(|i| TAU * f64::from(i) / 400.0)
            .map(|t| (t, r + wave * libm::sin(60.0 * t)))
            .map(|(t, r)| At::new(x + r * libm::cos(t), y + r * libm::sin(t)))
            .collect()
    }

    fn area(rings: &[Ring]) -> f64 {
        signed_area(&rings[0]).abs() - rings[1..].iter().map(|h| signed_area(h).abs()).sum::<f64>()
    }

    #[test]
    fn corners_that_tracing_rounded_are_drawn_out() {
        let ring = traced(100.0, 100.0, 400.0, 250.0, 1.0);
        let made = shape(&Shaping::Smooth { rings: vec![ring], how: HOW }).unwrap();
        let curve = &made.curves[0];
        assert_eq!(
            (curve.segments.len(), curve.segments.iter().filter(|s| s.straight && s.corner).count()),
            (4, 4)
        );
        // The box that was drawn: 300 × 150, by hand.
        assert!((curve.signed_area().abs() - 45_000.0).abs() < 5.0, "{}", curve.signed_area());
        for corner in at(&[[100.0, 100.0], [400.0, 100.0], [400.0, 250.0], [100.0, 250.0]]) {
            assert!(curve.segments.iter().any(|s| s.p.distance(corner) < 0.02), "{curve:?}");
        }
    }

    #[test]
    fn a_wave_is_faired_out_of_a_circle() {
        let rings = vec![circle(300.0, 300.0, 120.0, 0.6)];
        let ask = Shaping::Fair {
            rings,
            curves: Vec::new(),
            how: Fitting { tolerance: 0.1, ..HOW },
            span: 60.0,
            limit: 1.0,
        };
        let made = shape(&ask).unwrap();
        // Sixty waves of 0.6 px: what is left is the circle, but for how near the curve came to the waves first (0.1 px) and
        // to what was faired (a tenth of the move).
        let off = made.curves[0]
            .flatten(0.01)
            .iter()
            .map(|p| (p.distance(At::new(300.0, 300.0)) - 120.0).abs())
            .fold(0.0, f64::max);
        assert!(off < 0.1 + 0.1 * made.moved && made.moved > 0.2 && made.moved < 0.8, "{off} {}", made.moved);
    }

    /// Areas by hand: boxes that share a side, that stand 2 px apart, that overlap; a circle cut in half.
    #[test]
    fn pieces_are_joined_and_cut() {
        let join = |left: f64| {
            let pieces = vec![
                vec![traced(0.0, 0.0, 100.0, 60.0, 0.0), traced(20.0, 20.0, 40.0, 40.0, 0.0)],
                vec![traced(left, 0.0, left + 80.0, 60.0, 0.0)],
            ];
            shape(&Shaping::Join { pieces, gap: 4.0, how: None }).map(|s| area(&s.rings))
        };
        for (left, expected) in [(100.0, 10_400.0), (102.0, 10_520.0), (90.0, 9_800.0)] {
            let got = join(left).unwrap();
            assert!((got - expected).abs() < 6.0, "{left}: {got}, by hand {expected}");
        }
        assert_eq!(join(120.0).unwrap_err().key, "shape.apart");
        let cut = |keep: f64| {
            let along = [At::new(300.0, 0.0), At::new(300.0, 10.0)];
            let rings = vec![circle(300.0, 300.0, 120.0, 0.0)];
            shape(&Shaping::Cut { rings, along, keep: At::new(keep, 300.0), how: Some(HOW) })
        };
        let made = cut(350.0).unwrap();
        assert!((area(&made.rings) / (PI * 7_200.0) - 1.0).abs() < 1e-4);
        assert_eq!(made.curves[0].segments.iter().filter(|s| s.corner).count(), 2);
        assert!(cut(300.0).is_err());
    }

    /// A body with a chip in its right half: the left one, twice, is whole.
    #[test]
    fn the_better_half_is_the_one_without_a_chip() {
        let mut ring = circle(300.0, 300.0, 120.0, 0.0);
        for p in &mut ring {
            // Longer than wide, and turned by 0.2.
            let (x, y) = (0.6 * (p.x - 300.0), p.y - 300.0);
            *p = At::new(300.0 + 0.98 * x - 0.2 * y, 300.0 + 0.2 * x + 0.98 * y);
        }
        let whole = area(&[ring.clone()]);
        for p in &mut ring[395..] {
            p.x -= 3.0;
        }
        let even = shape(&Shaping::Symmetry { rings: vec![ring.clone()] }).unwrap().even.unwrap();
        assert!(even.greatest > 2.0 && even.greatest < 5.0, "{even:?}");
        let [a, b] = even.axis;
        // Which side of its own line the chip is on depends on the way it runs.
        let line = Line::through(a, b).unwrap();
        let chipped = if line.distance(ring[397]) > 0.0 { Half::Right } else { Half::Left };
        assert_ne!(even.better, chipped, "{even:?}");
        let ask = Shaping::Symmetrical { rings: vec![ring], axis: even.axis, half: even.better, how: None };
        let made = shape(&ask).unwrap();
        assert!((area(&made.rings) / whole - 1.0).abs() < 2e-3, "{} {whole}", area(&made.rings));
        let again = shape(&Shaping::Symmetry { rings: made.rings }).unwrap().even.unwrap();
        assert!(again.greatest < 0.05, "{again:?}");
    }
}
