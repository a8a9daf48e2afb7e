//! Whether a whirligig or a vane faces the wind, and whether it hangs level on its pivot.
//!
//! All from one view of its side: across is along the body, in the direction of the wind. Every figure is an estimate, so that
//! what the places share cancels in their differences.

use crate::estimate::Estimate;
use crate::fault::{Area, spoil};

/// A piece seen from the side.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Its area, mm².
    pub area: Estimate,
    /// Where its centre is along the body, mm.
    pub centre: Estimate,
    /// What it weighs, kg, where that is known.
    pub kg: Option<Estimate>,
}

/// Something heavy at one place.
#[derive(Clone, Debug)]
pub struct Load {
    /// Where along the body, mm.
    pub at: Estimate,
    /// kg.
    pub kg: Estimate,
}

/// A vane from the side.
#[derive(Clone, Debug)]
pub struct Vane {
    /// What is seen of it.
    pub pieces: Vec<Piece>,
    /// Other side area, a propeller's: mm², and where.
    pub more: Option<[Estimate; 2]>,
    /// Where the centre of all that is seen lies, mm, and its area, mm², what lies over one another counted once; nothing where
    /// nothing does.
    pub once: Option<[f64; 2]>,
    /// What else weighs.
    pub loads: Vec<Load>,
    /// Where the pivot is, mm.
    pub pivot: Estimate,
    /// Its least and its greatest place along the body, mm.
    pub ends: [f64; 2],
    /// Its front is where places are least.
    pub front_first: bool,
}

/// The centre of the side area is to lie so far behind the pivot, of the length. From memory; no source.
pub const BEHIND: f64 = 0.15;
/// The pivot is to lie within the foremost so much of the length. From memory; no source.
pub const FOREMOST: f64 = 1.0 / 3.0;
/// Specific gravity within one species varies by so much of itself (coefficient of variation): Wood Handbook (USDA FPL),
/// chapter on mechanical properties, from memory.
pub const WOOD_VARIES: f64 = 0.10;

/// How it faces the wind.
#[derive(Clone, Debug)]
pub struct Faces {
    /// Side area, mm².
    pub area: Estimate,
    /// Where its centre is along the body, mm.
    pub centre: Estimate,
    /// How far that lies behind the pivot, mm.
    pub lever: Estimate,
    /// The same, of the length.
    pub share: Estimate,
    /// How far the pivot lies from the front, of the length.
    pub pivot: Estimate,
    /// How far the pivot would have to go forward for the lever to be enough, mm; nothing when it is.
    pub forward: Option<f64>,
    /// How much larger the hindmost piece would have to be instead (its place in the list, mm²), where that helps.
    pub larger: Option<(usize, f64)>,
}

/// How it hangs.
#[derive(Clone, Debug)]
pub struct Hangs {
    /// All that is known to weigh, kg.
    pub kg: Estimate,
    /// Where it balances along the body, mm.
    pub centre: Estimate,
    /// How far that lies behind the pivot, mm.
    pub behind: Estimate,
    /// What to add at the lighter end, kg, to make it level.
    pub add: f64,
}

/// The weighted mean of places, with what every source does to it; nothing without weight.
fn mean<'a>(all: impl Iterator<Item = (&'a Estimate, &'a Estimate)>) -> Option<[Estimate; 2]> {
    let all: Vec<(&Estimate, &Estimate)> = all.collect();
    let whole: f64 = all.iter().map(|(w, _)| w.value).sum();
    if !(whole > 0.0 && whole.is_finite()) {
        return None;
    }
    let at = all.iter().map(|(w, x)| w.value * x.value).sum::<f64>() / whole;
    let weights: Vec<(f64, &Estimate)> = all.iter().map(|(w, _)| (1.0, *w)).collect();
    let places = all.iter().flat_map(|(w, x)| [((x.value - at) / whole, *w), (w.value / whole, *x)]);
    let places: Vec<(f64, &Estimate)> = places.collect();
    Some([Estimate::combine(whole, &weights), Estimate::combine(at, &places)])
}

impl Vane {
    /// How long it is, mm.
    pub fn length(&self) -> f64 {
        self.ends[1] - self.ends[0]
    }

    /// How far `place` lies behind the pivot, mm.
    fn behind(&self, place: &Estimate) -> Estimate {
        let way = if self.front_first { 1.0 } else { -1.0 };
        Estimate::combine(way * (place.value - self.pivot.value), &[(way, place), (-way, &self.pivot)])
    }

    /// How it faces the wind; nothing without side area.
    ///
    /// # References
    /// The turning moment of a side wind about the pivot is its pressure × area × lever, as near as taking the pressure for even
    /// goes. How far behind is enough: [`BEHIND`].
    pub fn faces(&self) -> Option<Faces> {
        let length = self.length();
        if !(length > 0.0 && length.is_finite()) {
            return None;
        }
        let seen = mean(self.pieces.iter().map(|p| (&p.area, &p.centre)))?;
        // What lies over one another counts once; how the places' errors move it is as if it counted twice.
        let once = match (self.once, seen) {
            (Some([at, area]), [a, c]) => {
                [Estimate::combine(area, &[(1.0, &a)]), Estimate::combine(at, &[(1.0, &c)])]
            }
            (None, seen) => seen,
        };
        let more = self.more.as_ref().map(|[area, at]| (area, at));
        let [area, centre] = mean(std::iter::once((&once[0], &once[1])).chain(more))?;
        let lever = self.behind(&centre);
        let share = Estimate::combine(lever.value / length, &[(1.0 / length, &lever)]);
        let front = if self.front_first { self.ends[0] } else { self.ends[1] };
        let from_front = (self.pivot.value - front).abs() / length;
        let pivot = Estimate::combine(from_front, &[(1.0 / length, &self.pivot)]);
        let short = BEHIND * length - lever.value;
        let larger = (short > 0.0).then(|| self.larger(area.value, lever.value)).flatten();
        Some(Faces { lever, share, pivot, forward: (short > 0.0).then_some(short), larger, area, centre })
    }

    /// The hindmost piece, and by how much its area would have to grow where it is.
    fn larger(&self, area: f64, lever: f64) -> Option<(usize, f64)> {
        let far = self.pieces.iter().map(|p| self.behind(&p.centre).value).enumerate();
        let (i, far) = far.max_by(|(_, a), (_, b)| a.total_cmp(b))?;
        let want = BEHIND * self.length();
        (far > want).then(|| (i, area * (want - lever) / (far - want)))
    }

    /// How it hangs; nothing while nothing is known to weigh.
    pub fn hangs(&self) -> Option<Hangs> {
        let pieces = self.pieces.iter().filter_map(|p| Some((p.kg.as_ref()?, &p.centre)));
        let [kg, centre] = mean(pieces.chain(self.loads.iter().map(|l| (&l.kg, &l.at))))?;
        let behind = self.behind(&centre);
        // Added as far out as it goes, on the lighter side.
        let nose = if self.front_first { self.ends[0] } else { self.ends[1] };
        let tail = if self.front_first { self.ends[1] } else { self.ends[0] };
        let end = if behind.value > 0.0 { nose } else { tail };
        let arm = (end - self.pivot.value).abs();
        let add = if arm > 0.0 { kg.value * behind.value.abs() / arm } else { 0.0 };
        Some(Hangs { kg, centre, behind, add })
    }
}

/// What a piece of wood weighs: area mm² × thickness mm × density kg/m³, and how far that may be off. Pieces of one board
/// share what that board differs by, so `varies` is an estimate of 1 that all of them name.
///
/// # References
/// Density by [`crate::part::Species::density`].
pub fn weight(area: &Estimate, thickness: f64, density: f64, count: f64, varies: &Estimate) -> Estimate {
    let k = thickness * density * 1e-9 * count * spoil(Area::Balance, 1.01);
    let kg = area.value * k;
    Estimate::combine(kg, &[(k, area), (kg, varies)])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(area: f64, at: f64, kg: f64) -> Piece {
        let e = Estimate::exact;
        Piece { area: e(area), centre: e(at), kg: Some(e(kg)) }
    }

    fn vane(pieces: Vec<Piece>, pivot: f64) -> Vane {
        let pivot = Estimate::exact(pivot);
        Vane {
            pieces,
            more: None,
            once: None,
            loads: Vec::new(),
            pivot,
            ends: [0.0, 600.0],
            front_first: true,
        }
    }

    /// By hand: a body of 600 × 50 with its centre at 300, a fin of 100 × 100 with its at 550, pivot at 180: centre at
    /// (30 000·300 + 10 000·550)/40 000 = 362.5, 182.5 behind the pivot, 0.304 of the length.
    #[test]
    fn a_body_with_a_fin_faces_the_wind() {
        let mut v = vane(vec![piece(30_000.0, 300.0, 0.3), piece(10_000.0, 550.0, 0.1)], 180.0);
        let f = v.faces().unwrap();
        assert!((f.centre.value - 362.5).abs() < 1e-9 && (f.share.value - 182.5 / 600.0).abs() < 1e-12);
        assert!((f.pivot.value - 0.3).abs() < 1e-12 && f.forward.is_none() && f.larger.is_none());
        // Seen from its other side it is the same.
        let turned = |x: f64| Estimate::exact(600.0 - x);
        v.pieces.iter_mut().for_each(|p| p.centre = turned(p.centre.value));
        v.pivot = turned(180.0);
        v.front_first = false;
        assert!((v.faces().unwrap().lever.value - 182.5).abs() < 1e-9);
    }

    /// By hand: with the pivot at 300 the lever is 62.5, 27.5 short of 90; the fin, 250 behind, must grow by
    /// 40 000·27.5/(250 − 90) = 6875, and then the centre lies 90 behind.
    #[test]
    fn what_to_move_and_by_how_much() {
        let v = vane(vec![piece(30_000.0, 300.0, 0.3), piece(10_000.0, 550.0, 0.1)], 300.0);
        let f = v.faces().unwrap();
        assert!((f.forward.unwrap() - 27.5).abs() < 1e-9, "{f:?}");
        let (i, more) = f.larger.unwrap();
        assert!(i == 1 && (more - 6875.0).abs() < 1e-6);
        let grown = vane(vec![piece(30_000.0, 300.0, 0.3), piece(16_875.0, 550.0, 0.1)], 300.0);
        assert!((grown.faces().unwrap().share.value - BEHIND).abs() < 1e-12);
        // It balances 62.5 behind the pivot: 0.4 kg · 62.5 / 300 at the nose make it level.
        let h = v.hangs().unwrap();
        assert!((h.behind.value - 62.5).abs() < 1e-9 && (h.add - 0.4 * 62.5 / 300.0).abs() < 1e-12);
    }

    #[test]
    fn what_there_is_nothing_of() {
        assert!(vane(Vec::new(), 10.0).faces().is_none() && vane(Vec::new(), 10.0).hangs().is_none());
        let v = Vane { ends: [0.0, f64::NAN], ..vane(vec![piece(1.0, 1.0, 1.0)], 0.0) };
        assert!(v.faces().is_none());
    }
}
