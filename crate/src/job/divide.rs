//! Which view of a drawing shows which side, from their proportions: side and top share a length, top and front a
//! span, side and front a height. Sizes alone can't tell side from front (turn the thing, and they change places): most
//! things are alike left and right from the front, and few are from the side. Knows nothing of pixels: it is given
//! boxes and outlines.

use super::intent::{At, Role};
use crate::raster::ask::FoundView;

/// Sizes that are to be the same differ by no more than this part of the larger: a drawing is not that far off.
const ALIKE: f64 = 0.06;
/// Pieces that are alike differ by no more than this part.
const TWINS: f64 = 0.02;
/// One of the three may differ by this much.
const ONE_OFF: f64 = 0.3;
/// What it costs a set of names when two views that share a size don't stand in line on the sheet, as most do.
const OUT_OF_LINE: f64 = 0.02;
/// How much being more alike left and right than the side view counts for the front view.
const EVEN: f64 = 0.2;
/// Columns in which left is held against right.
const COLUMNS: usize = 64;
/// More views than this get no names: there would be too many ways to try.
const MOST: usize = 8;

/// A view's extent on the picture: left, top, right, bottom, px; and how far left differs from right in it, 0 to 1.
#[derive(Clone, Copy, Debug)]
struct Extent([f64; 4], f64);

impl Extent {
    fn of(view: &FoundView) -> Extent {
        let rings: Vec<&[At]> =
            view.shapes.iter().filter_map(|s| s.rings.first()).map(Vec::as_slice).collect();
        let mut points = rings.iter().copied().flatten().peekable();
        if points.peek().is_none() {
            return Extent(view.bounds, 0.0);
        }
        let start = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
        let own = points.fold(start, |e, p| [e[0].min(p.x), e[1].min(p.y), e[2].max(p.x), e[3].max(p.y)]);
        Extent(own, uneven(&rings, own))
    }
    fn across(self) -> f64 {
        self.0[2] - self.0[0]
    }
    fn down(self) -> f64 {
        self.0[3] - self.0[1]
    }
    /// Stands above or below `other`, on the same stretch across.
    fn over(self, other: Extent) -> bool {
        overlap([self.0[0], self.0[2]], [other.0[0], other.0[2]])
    }
    /// Stands beside `other`, on the same stretch down.
    fn beside(self, other: Extent) -> bool {
        overlap([self.0[1], self.0[3]], [other.0[1], other.0[3]])
    }
}

/// How far the left half of these outlines differs from the right, as a part of their height: the highest and the
/// lowest place of each column against those of the column across the middle.
fn uneven(rings: &[&[At]], [left, top, right, bottom]: [f64; 4]) -> f64 {
    let (width, height) = ((right - left).max(1e-9), (bottom - top).max(1e-9));
    let mut reach = [[f64::INFINITY, f64::NEG_INFINITY]; COLUMNS];
    for ring in rings {
        for (i, a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            // Every column that this side of the outline passes is told of it.
            let steps = ((b.x - a.x).abs() / width * COLUMNS as f64) as usize + 1;
            for k in 0..=steps.min(COLUMNS) {
                let t = k as f64 / steps.min(COLUMNS) as f64;
                let (x, y) = (a.x + (b.x - a.x) * t, a.y + (b.y - a.y) * t);
                let column = ((x - left) / width * COLUMNS as f64).clamp(0.0, COLUMNS as f64 - 1.0) as usize;
                reach[column] = [reach[column][0].min(y), reach[column][1].max(y)];
            }
        }
    }
    let pairs = (0..COLUMNS / 2).map(|i| (reach[i], reach[COLUMNS - 1 - i]));
    let off: f64 = pairs
        .map(|(a, b)| {
            let off = (a[0] - b[0]).abs().max((a[1] - b[1]).abs());
            if off.is_finite() { (off / height).min(1.0) } else { 1.0 }
        })
        .sum();
    off / (COLUMNS / 2) as f64
}

fn overlap(a: [f64; 2], b: [f64; 2]) -> bool {
    let shared = a[1].min(b[1]) - a[0].max(b[0]);
    shared > 0.8 * (a[1] - a[0]).min(b[1] - b[0])
}

/// How far two sizes are from being the same, as a part of the larger.
fn differ(a: f64, b: f64) -> f64 {
    (a - b).abs() / a.max(b).max(f64::MIN_POSITIVE)
}

/// The role of each view, in their order; [`Role::Other`] where nothing tells.
pub(super) fn roles(found: &[FoundView]) -> Vec<Role> {
    let extents: Vec<Extent> = found.iter().map(Extent::of).collect();
    let mut out = vec![Role::Other; extents.len()];
    if extents.len() > MOST || is_rack(&extents) {
        return out;
    }
    let best = three(&extents).or_else(|| two(&extents));
    for (i, role) in best.unwrap_or_default() {
        out[i] = role;
    }
    out
}

/// Three that are the same both ways are pieces of a thing (shelves, rungs, legs), not sides of it.
fn is_rack(extents: &[Extent]) -> bool {
    let same =
        |a: &Extent, b: &Extent| differ(a.across(), b.across()) < TWINS && differ(a.down(), b.down()) < TWINS;
    extents.iter().any(|a| extents.iter().filter(|b| same(a, b)).count() >= 3)
}

type Named = Vec<(usize, Role)>;

/// Three views of which each two share a size.
fn three(extents: &[Extent]) -> Option<Named> {
    let mut best: Option<(f64, Named)> = None;
    for (t, top) in extents.iter().enumerate() {
        for (s, side) in extents.iter().enumerate().filter(|(s, _)| *s != t) {
            for (f, front) in extents.iter().enumerate().filter(|(f, _)| *f != t && *f != s) {
                let height = differ(side.down(), front.down());
                let line = if side.beside(*front) { 0.0 } else { OUT_OF_LINE } + EVEN * (front.1 - side.1);
                // The top view lies with its length across, under or over the side; or down, as it likes.
                let lies = [
                    (top.across(), top.down(), top.over(*side)),
                    (top.down(), top.across(), top.over(*front)),
                ];
                for (length, span, in_line) in lies {
                    let (by_length, by_span) = (differ(length, side.across()), differ(span, front.across()));
                    // Two of the three tell enough: a fin that is thin from the front is no part of that outline.
                    let mut three = [height, by_length, by_span];
                    crate::order::sort_by(&mut three, f64::total_cmp);
                    if three[1] > ALIKE || three[2] > ONE_OFF {
                        continue;
                    }
                    let cost = height + by_length + by_span + line + if in_line { 0.0 } else { OUT_OF_LINE };
                    if best.as_ref().is_none_or(|(c, _)| cost < *c) {
                        best = Some((cost, vec![(t, Role::Top), (s, Role::Side), (f, Role::Front)]));
                    }
                }
            }
        }
    }
    best.map(|(_, named)| named)
}

/// Two views that stand in line and share the size there: one over the other are top and side, or top and front; side by
/// side they are side and front.
fn two(extents: &[Extent]) -> Option<Named> {
    let mut best: Option<(f64, Named)> = None;
    let mut take = |cost: f64, named: Named| {
        if cost <= ALIKE && best.as_ref().is_none_or(|(c, _)| cost < *c) {
            best = Some((cost, named));
        }
    };
    for (i, a) in extents.iter().enumerate() {
        for (j, b) in extents.iter().enumerate().skip(i + 1) {
            if a.over(*b) {
                // The flatter one is seen from the side: most things are wider than high.
                let (top, side) = if a.down() >= b.down() { (i, j) } else { (j, i) };
                take(differ(a.across(), b.across()), vec![(top, Role::Top), (side, Role::Side)]);
            }
            if a.beside(*b) {
                let (side, front) = if a.across() >= b.across() { (i, j) } else { (j, i) };
                take(differ(a.down(), b.down()), vec![(side, Role::Side), (front, Role::Front)]);
            }
        }
    }
    best.map(|(_, named)| named)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(boxes: &[[f64; 4]], expected: &[Role]) {
        let found: Vec<FoundView> =
            boxes.iter().map(|b| FoundView { bounds: *b, shapes: Vec::new() }).collect();
        assert_eq!(roles(&found), expected, "{boxes:?}");
    }

    /// A view with one shape in it: a triangle that lies flat, its tip so far along.
    fn shaped([left, top, right, bottom]: [f64; 4], tip: f64) -> FoundView {
        let ring =
            vec![At::new(left, bottom), At::new(left + tip * (right - left), top), At::new(right, bottom)];
        let shape = crate::raster::ask::Border { rings: vec![ring], ..Default::default() };
        FoundView { bounds: [left - 9.0, top - 9.0, right + 9.0, bottom + 9.0], shapes: vec![shape] }
    }

    /// The outlines' extents of the drawing in `tests/demo`: the fin doesn't count in the front view.
    #[test]
    fn one_shared_size_may_be_off() {
        let boxes =
            [[112.0, 110.0, 1151.0, 907.0], [1259.0, 189.0, 2281.0, 418.0], [244.0, 1012.0, 1040.0, 1289.0]];
        let tips = [0.5, 0.5, 0.3];
        let found: Vec<FoundView> = boxes.iter().zip(tips).map(|(b, t)| shaped(*b, t)).collect();
        assert_eq!(roles(&found), [Role::Top, Role::Front, Role::Side]);
    }

    #[test]
    fn what_is_alike_left_and_right_is_seen_from_the_front() {
        use Role::{Front, Side, Top};
        // The top view's nose up, over the front view; the front's span drawn 236.
        let top = shaped([0.0, 0.0, 240.0, 184.0], 0.5);
        let (below, beside) = ([2.0, 230.0, 238.0, 290.0], [300.0, 230.0, 484.0, 291.0]);
        let named = |a: f64, b: f64| roles(&[top.clone(), shaped(below, a), shaped(beside, b)]);
        assert_eq!(named(0.5, 0.2), [Top, Front, Side]);
        assert_eq!(named(0.9, 0.5), [Top, Side, Front]);
    }

    /// Boxes as drawings are laid out; which is which was said by a person who drew them: common practice, no source.
    #[test]
    fn proportions_name_the_views() {
        use Role::{Front, Other, Side, Top};
        // A monoplane 184 long, 240 span, 60 high: the top view over the side view, the front beside it.
        check(
            &[[0.0, 0.0, 184.0, 240.0], [0.0, 300.0, 184.0, 360.0], [250.0, 300.0, 490.0, 360.0]],
            &[Top, Side, Front],
        );
        // The top view below.
        check(
            &[[0.0, 0.0, 300.0, 80.0], [350.0, 0.0, 460.0, 80.0], [0.0, 120.0, 300.0, 230.0]],
            &[Side, Front, Top],
        );
        // Two views, and a third that shares nothing.
        check(
            &[[0.0, 0.0, 300.0, 120.0], [0.0, 150.0, 300.0, 210.0], [400.0, 20.0, 437.0, 57.0]],
            &[Top, Side, Other],
        );
        check(&[[0.0, 0.0, 300.0, 120.0], [0.0, 150.0, 100.0, 210.0]], &[Other, Other]);
        // Shelves of one rack, the last of another length.
        let shelf = |top: f64, long: f64| [0.0, top, long, top + 20.0];
        check(
            &[shelf(0.0, 300.0), shelf(90.0, 300.4), shelf(180.0, 299.8), shelf(270.0, 250.0)],
            &[Other; 4],
        );
        check(&[[0.0, 0.0, 300.0, 120.0]], &[Other]);
        check(&[], &[]);
    }
}
