//! Small wholes side by side on one sheet.

use super::draw::Drawing;
use super::joint::Strip;
use super::order::{Paper, Turn};
use super::paper::Stock;
use super::plan::GAP;
use crate::order::sort_by;

/// Where a whole lies on a shared sheet, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// Which.
    pub whole: usize,
    /// By a quarter.
    pub turned: bool,
    /// Its corner.
    pub at: [f64; 2],
    /// Its width and height as it lies.
    pub size: [f64; 2],
}

/// Sheets that several wholes share.
#[derive(Clone, Debug, Default)]
pub struct Packed {
    /// The paper and its way round.
    pub stock: Option<Stock>,
    /// What lies on each.
    pub sheets: Vec<Vec<Place>>,
}

/// Rows of wholes on a sheet.
#[derive(Default)]
struct Shelves {
    /// Of each: its top, its height, how far it is filled.
    shelves: Vec<[f64; 3]>,
    places: Vec<Place>,
}

impl Shelves {
    /// Puts a whole in the first row with room for it, or in a new one.
    fn put(&mut self, whole: usize, size: [f64; 2], turned: bool, room: [f64; 2]) -> bool {
        let [w, h] = size;
        let fits = |s: &&mut [f64; 3]| h <= s[1] + 1e-6 && s[2] + w <= room[0] + 1e-6;
        if let Some(shelf) = self.shelves.iter_mut().find(fits) {
            self.places.push(Place { whole, turned, at: [shelf[2], shelf[0]], size });
            shelf[2] += w + GAP;
            return true;
        }
        let top = self.shelves.last().map_or(0.0, |s| s[0] + s[1] + GAP);
        if w > room[0] + 1e-6 || top + h > room[1] + 1e-6 {
            return false;
        }
        self.shelves.push([top, h, w + GAP]);
        self.places.push(Place { whole, turned, at: [0.0, top], size });
        true
    }
}

/// The fewest sheets that hold the wholes `which`, each of which fits on one: the highest first, in rows.
pub fn packed(drawings: &[Drawing], which: &[usize], stocks: &[Stock], paper: &Paper) -> Option<Packed> {
    let ways = stocks.iter().filter_map(|stock| on(drawings, which, *stock, paper.turn == Turn::Fewest));
    ways.min_by_key(|p| p.sheets.len())
}

/// The same on paper one way round; nothing when one of them doesn't fit.
fn on(drawings: &[Drawing], which: &[usize], stock: Stock, turn: bool) -> Option<Packed> {
    let strip = Strip::of(&stock);
    let [w, h] = stock.printable();
    let room = [w - strip.right, h - strip.below];
    let mut order = which.to_vec();
    let height = |i: &usize| drawings.get(*i).map_or(0.0, |d| d.size[1]);
    sort_by(&mut order, |a, b| height(b).total_cmp(&height(a)));
    let mut sheets: Vec<Shelves> = Vec::new();
    for whole in order {
        let [w, h] = drawings.get(whole)?.size;
        let ways = [(false, [w, h]), (true, [h, w])];
        let ways = &ways[..if turn { 2 } else { 1 }];
        let put = |s: &mut Shelves| ways.iter().any(|(turned, size)| s.put(whole, *size, *turned, room));
        if !sheets.iter_mut().any(put) {
            let mut fresh = Shelves::default();
            if !ways.iter().any(|(turned, size)| fresh.put(whole, *size, *turned, room)) {
                return None;
            }
            sheets.push(fresh);
        }
    }
    Some(Packed { stock: Some(stock), sheets: sheets.into_iter().map(|s| s.places).collect() })
}
