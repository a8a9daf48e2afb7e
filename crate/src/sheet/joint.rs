//! Where a whole is cut into sheets, and the marks by which they are joined again.
//!
//! At a joint the sheet on the left (or above) goes on under its neighbour by the lap. The neighbour is cut along the joint, and its cut
//! edge is laid to the same line below. Match marks straddle that line: laid right, each is whole again.

use super::paper::Stock;
use serde::Serialize;

/// How far a sheet that lies on top is drawn beyond the line it is cut along, mm: half a match mark.
pub const BEYOND: f64 = 4.5;
/// Half the width of a match mark, mm.
pub const MARK: f64 = 4.0;
/// How far joints and match marks stay away from what must stay whole, mm.
const CLEAR: f64 = 2.0;
/// Shapes of match marks.
pub const SHAPES: u8 = 4;

/// A match mark, in the whole's mm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Match {
    /// Its middle, on the joint.
    pub at: [f64; 2],
    /// Circle, diamond, triangle or square.
    pub shape: u8,
    /// Counts all marks of the whole, so that none can be taken for another.
    pub number: usize,
    /// Whether its joint runs down the paper.
    pub down: bool,
}

impl Match {
    /// The room it takes up with its number on either side of the joint: left, top, right, bottom.
    pub fn room(&self) -> [f64; 4] {
        let [x, y] = self.at;
        // Figures are a little over half as wide as they are high.
        let figures = self.number.to_string().len() as f64 * 2.0;
        let r = MARK + 0.5;
        if self.down {
            let beside = r.max(0.9 + figures);
            [x - beside, y - MARK - 4.2, x + beside, y + r]
        } else {
            [x - r, y - r, x + MARK + 1.2 + figures, y + r]
        }
    }
}

/// The room for a whole along one direction of a sheet, mm.
#[derive(Clone, Copy, Debug)]
pub struct Along {
    /// How long the whole is.
    pub length: f64,
    /// How much of it a sheet shows.
    pub room: f64,
    /// How far neighbours lap.
    pub lap: f64,
}

impl Along {
    /// How far a further sheet takes us.
    fn step(&self) -> f64 {
        self.room - self.lap - BEYOND
    }

    /// How many sheets it takes at the least.
    pub fn count(&self) -> usize {
        if self.length <= self.room + 1e-6 {
            return 1;
        }
        // Nowhere is the room less than a hand's breadth, so that this is a small number.
        libm::ceil((self.length - self.lap - BEYOND - 1e-6) / self.step()).max(2.0) as usize
    }

    /// How far the joints between `n` sheets can be shifted together, mm.
    pub fn slack(&self, n: usize) -> f64 {
        if n < 2 { self.room - self.length } else { self.step() * n as f64 + self.lap + BEYOND - self.length }
            .max(0.0)
    }

    /// Where `n` sheets are joined: even, moved by `shift`, away from what is `blocked`. Says also whether every joint is clear.
    fn joints(&self, n: usize, shift: f64, blocked: &[(f64, f64)], soft: &[(f64, f64)]) -> (Vec<f64>, bool) {
        let (mut joints, mut clear, mut from) = (Vec::with_capacity(n), true, BEYOND);
        for i in 1..n {
            let high = (from + self.step()).min(self.length - 1.0);
            // The sheets after this one must reach to the end.
            let low = self.length - (self.room - BEYOND) - (n - 1 - i) as f64 * self.step();
            let wanted = (self.length * i as f64 / n as f64 + shift).min(high).max(low.max(from));
            let free = |at: f64| !blocked.iter().any(|(a, b)| at > *a && at < *b);
            let ends = blocked
                .iter()
                .chain(soft)
                .flat_map(|(a, b)| [*a, *b])
                .filter(|at| *at >= low && *at <= high && *at > from);
            let through = |at: f64| soft.iter().filter(|(a, b)| at > *a && at < *b).count();
            let nearest = |a: &f64, b: &f64| {
                let far = (a - wanted).abs().total_cmp(&(b - wanted).abs());
                through(*a).cmp(&through(*b)).then(far)
            };
            let best = [wanted].into_iter().chain(ends).filter(|at| free(*at)).min_by(nearest);
            clear &= best.is_some();
            from = best.unwrap_or(wanted);
            joints.push(from);
        }
        (joints, clear)
    }

    /// Where sheets are joined, with a sheet or two more where that keeps the joints clear.
    pub fn cut(&self, shift: f64, blocked: &[(f64, f64)]) -> (Vec<f64>, bool) {
        let n = self.count();
        if n == 1 {
            return (Vec::new(), true);
        }
        let tries = (n..=n + 2).map(|n| self.joints(n, shift, blocked, &[]));
        tries.into_iter().find(|(_, clear)| *clear).unwrap_or_else(|| self.joints(n, shift, blocked, &[]))
    }
}

impl Along {
    /// The same, and each joint through as little of what is `soft` as can be, where that takes no sheet more: writing is hard
    /// to read over a joint.
    pub fn cut_beside(&self, shift: f64, blocked: &[(f64, f64)], soft: &[(f64, f64)]) -> (Vec<f64>, bool) {
        let (joints, clear) = self.joints(self.count(), shift, blocked, soft);
        if clear { (joints, true) } else { self.cut(shift, blocked) }
    }
}

/// What joints along one direction must not run through: places and radii along it.
pub fn blocked(circles: &[([f64; 2], f64)], axis: usize) -> Vec<(f64, f64)> {
    circles.iter().map(|(at, r)| (at[axis] - r - CLEAR, at[axis] + r + CLEAR)).collect()
}

/// From where to where sheet `i` of those joined at `joints` is drawn.
pub fn window(joints: &[f64], i: usize, along: &Along) -> [f64; 2] {
    let from = i.checked_sub(1).and_then(|j| joints.get(j)).map_or(0.0, |j| j - BEYOND);
    let to = joints.get(i).map_or(along.length, |j| (j + along.lap).min(along.length));
    [from, to]
}

/// From where to where sheet `i` is seen when all are joined.
pub fn seen(joints: &[f64], i: usize, length: f64) -> [f64; 2] {
    [
        i.checked_sub(1).and_then(|j| joints.get(j)).copied().unwrap_or(0.0),
        joints.get(i).copied().unwrap_or(length),
    ]
}

/// The match marks of a whole: at each joint of two sheets two or three, no two of a joint alike.
///
/// `joints` across and down; `circles` are what they stay away from. None where one of the two isn't `made` (row, column). Each stands in its
/// own part of the joint, where as little as can be is in its way: `busy` says how much is in a room.
pub fn matches(
    joints: &[Vec<f64>; 2],
    size: [f64; 2],
    circles: &[([f64; 2], f64)],
    made: impl Fn(usize, usize) -> bool,
    busy: impl Fn([f64; 4]) -> f64,
) -> Vec<Match> {
    let mut out: Vec<Match> = Vec::new();
    let mut joint = 0_u8;
    for axis in [0, 1] {
        let other = 1 - axis;
        for (k, at) in joints[axis].iter().enumerate() {
            let both = |i: &usize| match axis {
                0 => made(*i, k) && made(*i, k + 1),
                _ => made(k, *i) && made(k + 1, *i),
            };
            for i in (0..=joints[other].len()).filter(both) {
                let [from, to] = seen(&joints[other], i, size[other]);
                let shares: &[f64] = if to - from > 260.0 { &[0.15, 0.5, 0.85] } else { &[0.2, 0.8] };
                let part = (to - from) / shares.len() as f64;
                let edge = (MARK + BEYOND).min(part / 4.0);
                for (k, share) in (0..).zip(shares) {
                    let place = |v: f64| if axis == 0 { [*at, v] } else { [v, *at] };
                    let mark = Match {
                        at: [0.0; 2],
                        shape: (joint + k) % SHAPES,
                        number: out.len() + 1,
                        down: axis == 0,
                    };
                    let cost = |v: f64| {
                        let mark = Match { at: place(v), ..mark };
                        let blocked = if is_clear(mark.at, circles) { 0.0 } else { MUCH };
                        blocked + busy(mark.room())
                    };
                    let first = from + part * f64::from(k);
                    let span = [first + edge, first + part - edge];
                    let v = cheapest(from + (to - from) * share, span, MARK / 4.0, cost);
                    out.push(Match { at: place(v), ..mark });
                }
                joint = (joint + shares.len() as u8) % SHAPES;
            }
        }
    }
    out
}

/// A straight line beside a drill's centre is better than one through writing.
const BESIDE: f64 = 0.3;
/// More than all else that may be in the way.
const MUCH: f64 = 1e6;

/// The place within a span that costs least, in steps from `wanted`: of equals the nearest.
fn cheapest(wanted: f64, [from, to]: [f64; 2], step: f64, cost: impl Fn(f64) -> f64) -> f64 {
    let wanted = wanted.min(to).max(from);
    let mut best = (f64::INFINITY, wanted);
    for k in 0..STEPS {
        let by = if k % 2 == 0 { f64::from(k) } else { -f64::from(k + 1) } * step / 2.0;
        let v = wanted + by;
        if v < from || v > to {
            continue;
        }
        let cost = cost(v);
        if cost < best.0 {
            best = (cost, v);
        }
        if cost <= 0.0 {
            break;
        }
    }
    best.1
}

/// How many places are tried.
const STEPS: u32 = 200;

fn is_clear(at: [f64; 2], circles: &[([f64; 2], f64)]) -> bool {
    circles.iter().all(|(c, r)| libm::hypot(at[0] - c[0], at[1] - c[1]) > r + MARK + CLEAR)
}

/// Where a straight line runs across a set that is joined at `joints` along `axis`: near the middle of row or column `line`, where as
/// little as can be is in its way: `busy` says how much is at a place. Away from `circles`, within which it never runs through the middle.
pub fn straight(
    joints: &[Vec<f64>; 2],
    size: [f64; 2],
    (axis, line): (usize, usize),
    circles: &[([f64; 2], f64)],
    busy: impl Fn(f64) -> f64,
) -> f64 {
    let other = 1 - axis;
    let [from, to] = seen(&joints[other], line, size[other]);
    let edge = (MARK + BEYOND).min((to - from) / 4.0);
    let near = |v: f64, (c, r): &([f64; 2], f64)| match (c[other] - v).abs() {
        far if far > r + CLEAR => 0.0,
        far if far > r / 2.0 => BESIDE,
        _ => MUCH,
    };
    let cost = |v: f64| busy(v) + circles.iter().map(|c| near(v, c)).sum::<f64>();
    cheapest(f64::midpoint(from, to), [from + edge, to - edge], 1.0, cost)
}

/// The strip on a sheet, mm, as it comes out of the printer: below what is drawn, for writing and the bar across; at its right, for the
/// bar down.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Strip {
    /// Height of the one below.
    pub below: f64,
    /// Width of the one at the right.
    pub right: f64,
}

impl Strip {
    /// For this paper: a narrow one has less in a line, so it takes more lines.
    pub fn of(stock: &Stock) -> Strip {
        let [w, _] = stock.printable();
        Strip { below: if w < 150.0 { 34.0 } else { 28.0 }, right: 11.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// Sheets cover the whole, none shows more than there is room for, and joints keep their order.
        #[test]
        fn sheets_cover_the_whole(length in 10.0..9000.0_f64, room in 60.0..900.0_f64, lap in 0.0..20.0_f64,
                                  shift in -300.0..300.0_f64, holes in prop::collection::vec((0.0..9000.0_f64, 0.5..30.0_f64), 0..8)) {
            let along = Along { length, room, lap };
            let circles: Vec<([f64; 2], f64)> = holes.iter().map(|(x, r)| ([*x, 0.0], *r)).collect();
            let blocked = blocked(&circles, 0);
            let (joints, clear) = along.cut(shift, &blocked);
            prop_assert!(joints.len() + 1 >= along.count());
            let mut reached = 0.0;
            for i in 0..=joints.len() {
                let [from, to] = window(&joints, i, &along);
                prop_assert!(from <= reached + 1e-9 && to - from <= room + 1e-6, "{from} {to} {reached}");
                reached = to;
            }
            prop_assert!((reached - length).abs() < 1e-9);
            prop_assert!(joints.is_sorted());
            if clear {
                for j in &joints {
                    prop_assert!(blocked.iter().all(|(a, b)| *j <= *a || *j >= *b));
                }
            }
        }
    }

    #[test]
    fn a_joint_moves_off_a_drill_centre() {
        let along = Along { length: 350.0, room: 200.0, lap: 12.7 };
        let (plain, _) = along.cut(0.0, &[]);
        assert_eq!(plain, [175.0]);
        let (moved, clear) = along.cut(0.0, &blocked(&[([174.0, 50.0], 3.0)], 0));
        assert!(clear && moved == [179.0], "{moved:?}");
        let (shifted, _) = along.cut(6.0, &[]);
        assert_eq!(shifted, [181.0]);
        // Everything that two sheets could do is taken: it takes a third.
        let (more, clear) = along.cut(0.0, &blocked(&[([172.0, 50.0], 30.0)], 0));
        assert!(clear && more.len() == 2, "{more:?}");
    }

    #[test]
    fn a_joint_moves_off_writing_but_takes_no_sheet_more_for_it() {
        let along = Along { length: 350.0, room: 200.0, lap: 12.7 };
        let (moved, clear) = along.cut_beside(0.0, &[], &[(170.0, 178.0)]);
        assert!(clear && moved == [178.0], "{moved:?}");
        // Writing wherever two sheets could be joined, and a drill centre besides.
        let hole = blocked(&[([174.0, 50.0], 3.0)], 0);
        assert_eq!(along.cut_beside(0.0, &hole, &[(100.0, 250.0)]), along.cut(0.0, &hole));
    }

    #[test]
    fn two_marks_of_a_joint_are_never_alike() {
        let marks = matches(
            &[vec![100.0, 250.0], vec![180.0]],
            [400.0, 300.0],
            &[([100.0, 36.0], 5.0)],
            |_, _| true,
            |_| 0.0,
        );
        for a in &marks {
            for b in marks.iter().filter(|b| b.number > a.number) {
                let same_joint =
                    a.down == b.down && if a.down { a.at[0] == b.at[0] } else { a.at[1] == b.at[1] };
                let near = libm::hypot(a.at[0] - b.at[0], a.at[1] - b.at[1]);
                assert!(near > 2.0 * MARK, "{a:?} {b:?}");
                assert!(!same_joint || near > 110.0 || a.shape != b.shape, "{a:?} {b:?}");
            }
            assert!(libm::hypot(a.at[0] - 100.0, a.at[1] - 36.0) > 5.0 + MARK);
        }
        assert_eq!(marks.len(), 2 * 2 * 2 + 3 * 2);
    }

    #[test]
    fn marks_and_straight_lines_go_where_least_is_in_the_way() {
        let joints = [vec![100.0], vec![]];
        let busy = |[_, t, _, b]: [f64; 4]| if t < 60.0 && b > 30.0 { 1.0 } else { 0.0 };
        let marks = matches(&joints, [200.0, 200.0], &[], |_, _| true, busy);
        assert!(marks.iter().all(|m| busy(m.room()) == 0.0), "{marks:?}");
        assert!(marks[0].at[1] < 100.0 && marks[1].at[1] > 100.0);
        let at = straight(&joints, [200.0, 200.0], (0, 0), &[([50.0, 97.0], 3.0)], |v| {
            f64::from(u8::from((v - 100.0).abs() < 6.0))
        });
        assert_eq!(at, 106.0);
        // Where there is something everywhere, where it is least.
        assert_eq!(straight(&joints, [200.0, 200.0], (0, 0), &[], |v| 1.0 + (v - 90.0).abs()), 90.0);
    }
}
