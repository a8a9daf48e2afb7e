//! Where a border turns sharply, and where it runs straight.

use super::border::{Border, Near, parabola};
use super::{Line, Point, Space, Vector, angle_between};

/// What is known of a border before it is fitted, in its unit.
#[derive(Copy, Clone, Debug)]
pub(super) struct Grain {
    /// How far the curve may lie off.
    pub tolerance: f64,
    /// Standard uncertainty of each point across the border.
    pub sigma: f64,
    /// How far from a square corner its rounded border passes.
    pub blunt: f64,
    /// The least turn that counts as a corner, rad.
    pub least_turn: f64,
    /// The typical step from point to point.
    pub spacing: f64,
}

impl Grain {
    /// How much border, on either side of a corner, is rounded off and tells nothing.
    fn gap(&self) -> f64 {
        (self.tolerance + 2.0 * self.blunt).max(self.spacing)
    }

    /// How much border it takes on either side to see which way it runs.
    pub fn window(&self) -> f64 {
        (6.0 * self.spacing).max(4.0 * self.tolerance)
    }
}

/// A sharp turn.
#[derive(Copy, Clone, Debug)]
pub(super) struct Corner<S: Space> {
    /// The point of the border that lies nearest to it.
    pub index: usize,
    /// The crossing of the two sides.
    pub at: Point<S>,
    /// How far on either side the border is rounded off.
    pub gap: f64,
    /// How far from that point of the border the crossing may lie.
    pub near: f64,
}

/// A corner that may be (two, of a blunt end), with how ill it suits.
struct Candidate<S: Space> {
    corners: [Corner<S>; 2],
    ill: f64,
    reach: f64,
}

/// The sharp turns of a border, in order.
///
/// At each point the two sides, a little way off so that what is rounded doesn't count, are each fitted by a
/// parabola; their directions at the point differ at a corner and agree on a curve, however tight, that the window
/// can see. A wider window sees shallower corners through more noise.
pub(super) fn corners<S: Space>(border: &Border<S>, grain: &Grain) -> Vec<Corner<S>> {
    let whole = border.length();
    let apart = |i: usize, j: usize| {
        let d = (border.run[i] - border.run[j]).abs();
        if border.closed { d.min(whole - d) } else { d }
    };
    let ends = |i: usize| !border.closed && (i == 0 || i + 1 == border.len());
    let mut kept: Vec<Candidate<S>> = Vec::new();
    // From near to far: what the narrow window has seen the wide ones needn't see again.
    for scale in [1.0, 2.0, 4.0] {
        let window = grain.window() * scale;
        if whole < 4.0 * window && scale > 1.0 {
            break;
        }
        let mut found: Vec<Candidate<S>> = (0..border.len())
            .filter(|i| !ends(*i))
            .filter_map(|i| candidate(border, grain, i, window))
            .collect();
        crate::order::sort_by(&mut found, |a, b| a.ill.total_cmp(&b.ill));
        for c in found {
            let clear = |k: &Candidate<S>| {
                c.corners.iter().all(|i| k.corners.iter().all(|j| apart(i.index, j.index) > c.reach))
            };
            if kept.iter().all(clear) {
                kept.push(c);
            }
        }
    }
    let better = |c: Candidate<S>| {
        if c.corners[0].index != c.corners[1].index {
            return c.corners;
        }
        [wider(border, grain, &c.corners[0]); 2]
    };
    let mut corners: Vec<Corner<S>> = kept.into_iter().flat_map(better).collect();
    crate::order::sort_by_key(&mut corners, |c| c.index);
    corners.dedup_by_key(|c| c.index);
    corners
}

/// The same corner from as much of its sides as parabolas can follow: the more points, the less their noise matters.
fn wider<S: Space>(border: &Border<S>, grain: &Grain, corner: &Corner<S>) -> Corner<S> {
    let window = grain.window();
    let sides = [-1, 1].map(|way| {
        let fits = |scale: &f64| {
            let near = parabola(&border.side(corner.index, way, corner.gap, corner.gap + window * scale))?;
            (near.rms <= (1.3 * grain.sigma).max(0.1 * grain.tolerance)).then_some(near)
        };
        [8.0, 4.0, 2.0, 1.0].iter().find_map(fits)
    });
    let p = border.points[corner.index];
    match sides {
        [Some(a), Some(b)] => crossing(&a, &b).map(|c| c.0).filter(|at| at.distance(p) <= corner.near),
        _ => None,
    }
    .map_or(*corner, |at| Corner { at, ..*corner })
}

fn candidate<S: Space>(border: &Border<S>, grain: &Grain, i: usize, window: f64) -> Option<Candidate<S>> {
    if !turns(border, grain, i, grain.gap() + window) {
        return None;
    }
    // A blunt end is wider than what is merely rounded off.
    [grain.gap(), grain.gap() + 2.0 * grain.spacing]
        .into_iter()
        .find_map(|gap| turn(border, grain, i, [gap, window]))
}

fn turn<S: Space>(
    border: &Border<S>,
    grain: &Grain,
    i: usize,
    [gap, window]: [f64; 2],
) -> Option<Candidate<S>> {
    let [before, after] = [-1, 1].map(|way| parabola(&border.side(i, way, gap, gap + window)));
    let (before, after) = (before?, after?);
    let sigma = grain.sigma.max(before.rms).max(after.rms);
    if before.rms.max(after.rms) > (2.0 * grain.sigma).max(0.15 * grain.tolerance) {
        return None;
    }
    let turn = angle_between(before.along()?, after.along()?);
    let doubt = sigma * libm::hypot(before.slope, after.slope);
    let own = |n: &Near<S>| 2.0 * n.q[2].length() / n.q[1].length() * window;
    // Sides that bend as much as the corner turns are no sides, but parts of a bend.
    let bend = own(&before) + own(&after);
    if !(turn > grain.least_turn.max(5.0 * doubt) && bend < turn.min(1.5)) {
        return None;
    }
    let p = border.points[i];
    // An acute corner is rounded off farther than a square one, and noise carries it farther.
    let acute = libm::cos(turn / 2.0).max(0.15);
    let near = grain.tolerance + grain.spacing / 2.0 + (3.0 * grain.sigma + 0.7 * grain.blunt) / acute;
    let reach = gap + 0.8 * window;
    match crossing(&before, &after) {
        Some((at, [s, t])) if at.distance(p) <= near => {
            let corner = Corner { index: i, at, gap: grain.gap(), near };
            Some(Candidate { corners: [corner; 2], ill: (s + t).abs() / grain.window() - turn, reach })
        }
        far => {
            let mut corners = blunt_end(border, grain, i, window, [&before, &after])?;
            let wide = corners[0].at.distance(corners[1].at);
            if let Some((at, _)) =
                far.filter(|(at, _)| wide < 1.5 * grain.spacing && at.distance(p) < 2.0 * near)
            {
                // No wider than from point to point: one sharp corner, and no point stands at its tip.
                corners = [Corner { index: i, at, gap: grain.gap(), near: 2.0 * near }; 2];
            } else if far.is_some_and(|(at, _)| corners.iter().any(|c| c.at.distance(at) <= 2.0 * near)) {
                return None;
            }
            let off = corners.map(|c| (border.run[c.index] - border.run[i]).abs());
            Some(Candidate { corners, ill: (off[0] - off[1]).abs() / grain.window() - turn, reach })
        }
    }
}

/// A first look, to be quick: do the two chords to the ends of the windows turn at all?
fn turns<S: Space>(border: &Border<S>, grain: &Grain, i: usize, reach: f64) -> bool {
    let k = libm::ceil(reach / grain.spacing) as i64;
    match [i as i64 - k, i as i64, i as i64 + k].map(|j| border.get(j)) {
        [Some((a, _)), Some((p, _)), Some((b, _))] => angle_between(p - a, b - p) > 0.6 * grain.least_turn,
        _ => true,
    }
}

/// An end too narrow to see its own direction, such as the tail of a wing: where the border leaves the one side, and where
/// it comes to the other, when it is straight from there to there.
fn blunt_end<S: Space>(
    border: &Border<S>,
    grain: &Grain,
    i: usize,
    window: f64,
    sides: [&Near<S>; 2],
) -> Option<[Corner<S>; 2]> {
    let near = (0.7 * grain.tolerance).max(3.0 * grain.sigma);
    let n = border.len();
    // How many points from `i` it is to the first that lies on the side.
    let steps = |way: i64| {
        let side = &sides[usize::from(way > 0)];
        let off = |s: f64, p: Point<S>| side.along().map_or(f64::INFINITY, |u| u.cross(p - side.at(s)).abs());
        Some(border.side(i, way, 0.0, window).iter().position(|(s, p)| off(*s, *p) <= near)? as i64)
    };
    let (back, on) = (steps(-1)?, steps(1)?);
    // Seen from its middle only.
    if (back - on).abs() > 1 {
        return None;
    }
    let face: Vec<Point<S>> = (-back..=on).filter_map(|k| Some(border.get(i as i64 + k)?.0)).collect();
    let (first, last) = (*face.first()?, *face.last()?);
    let line = if face.len() > 1 {
        Line::through(first, last)?
    } else {
        let bisector = sides[1].along()? + sides[0].along()? * -1.0;
        Line::through(first, first + Vector::new(-bisector.y, bisector.x))?
    };
    let corner = |k: i64, side: &Near<S>, p: Point<S>| {
        let at = Line { at: side.at(0.0), along: side.along()? }.crossing(&line)?;
        let index = (i as i64 + k).rem_euclid(n as i64) as usize;
        let near = grain.tolerance + grain.spacing + 3.0 * grain.sigma;
        (at.distance(p) <= near).then_some(Corner { index, at, gap: grain.spacing / 2.0, near })
    };
    let (a, b) = (corner(-back - 1, sides[0], first)?, corner(on + 1, sides[1], last)?);
    // Both turns of it are sharp: else it is one corner, looked at askew.
    let across = b.at - a.at;
    if angle_between(sides[0].along()?, across).min(angle_between(across, sides[1].along()?)) < 0.6 {
        return None;
    }
    let straight = face.iter().all(|p| line.distance(*p).abs() <= grain.tolerance);
    (straight && a.at.distance(b.at) < window.min(grain.window())).then_some([a, b])
}

/// Where the two sides meet, and the run of that place from the point on either: by Newton's steps from where their
/// directions meet.
fn crossing<S: Space>(before: &Near<S>, after: &Near<S>) -> Option<(Point<S>, [f64; 2])> {
    let (mut s, mut t) = (0.0, 0.0);
    for _ in 0..8 {
        let off = after.at(t) - before.at(s);
        let (u, v) = (before.q[1] + before.q[2] * (2.0 * s), after.q[1] + after.q[2] * (2.0 * t));
        let sine = u.cross(v);
        // Sides that run back along each other meet nowhere that can be told.
        if !(sine.abs() > 0.05 * u.length() * v.length()) {
            return None;
        }
        s += off.cross(v) / sine;
        t += off.cross(u) / sine;
    }
    let at = before.at(s);
    (at.is_finite() && at.distance(after.at(t)) < 1e-6 * (1.0 + s.abs() + t.abs())).then_some((at, [s, t]))
}

/// A straight stretch between two points of a border.
#[derive(Copy, Clone, Debug)]
pub(super) struct Straight<S: Space> {
    pub from: usize,
    pub to: usize,
    pub line: Line<S>,
}

/// Sums of the points before each, for lines through any stretch at once.
struct Sums {
    origin: [f64; 2],
    sums: Vec<[f64; 5]>,
}

impl Sums {
    fn new<S: Space>(points: &[Point<S>]) -> Sums {
        let origin = points.first().map_or([0.0; 2], |p| [p.x, p.y]);
        let mut sums = vec![[0.0; 5]];
        let mut so_far = [0.0; 5];
        for p in points {
            let (x, y) = (p.x - origin[0], p.y - origin[1]);
            for (sum, more) in so_far.iter_mut().zip([x, y, x * x, x * y, y * y]) {
                *sum += more;
            }
            sums.push(so_far);
        }
        Sums { origin, sums }
    }

    /// The line nearest to points `from..to` and the root mean square of their distances from it.
    ///
    /// # References
    /// Total least squares: the axes of the points' scatter, Pearson, Philosophical Magazine 2 (1901) 559.
    fn line<S: Space>(&self, from: usize, to: usize) -> Option<(Line<S>, f64)> {
        let (a, b) = (self.sums.get(from)?, self.sums.get(to)?);
        let n = to.checked_sub(from).filter(|n| *n >= 2)? as f64;
        let [x, y, xx, xy, yy] = [0, 1, 2, 3, 4].map(|k| (b[k] - a[k]) / n);
        let (xx, xy, yy) = (xx - x * x, xy - x * y, yy - y * y);
        let root = libm::hypot((xx - yy) / 2.0, xy);
        let angle = 0.5 * libm::atan2(2.0 * xy, xx - yy);
        let line = Line {
            at: Point::new(self.origin[0] + x, self.origin[1] + y),
            along: Vector::new(libm::cos(angle), libm::sin(angle)),
        };
        Some((line, libm::sqrt(((xx + yy) / 2.0 - root).max(0.0))))
    }
}

/// The straight stretches among points `from..=to` of a border, in order; ends that are `corner`s stay where they are.
///
/// Every longest stretch within a root mean square of the nearest line is looked at. On a curve such a stretch bends
/// all along, on a straight only at its ends: what is left over in its middle is held against the second and third
/// Legendre polynomials.
pub(super) fn straights<S: Space>(points: &[Point<S>], ends: [bool; 2], grain: &Grain) -> Vec<Straight<S>> {
    let sums = Sums::new(points);
    let bow = 0.25 * grain.tolerance;
    let most = libm::hypot(1.1 * grain.sigma, bow);
    let shaky = 5.0 * grain.sigma / bow;
    let least = (5.0 * shaky * shaky).max(8.0) as usize;
    let mut found = Vec::new();
    if ends == [true; 2] && sums.line::<S>(0, points.len()).is_some_and(|l| l.1 <= most) {
        found.push((0, points.len()));
    }
    let mut to = 0;
    for from in 0..points.len() {
        let begun = to;
        to = to.max(from + 2).min(points.len());
        while to < points.len() && sums.line::<S>(from, to + 1).is_some_and(|l| l.1 <= most) {
            to += 1;
        }
        if (to > begun || from == 0) && to - from >= least {
            found.push((from, to));
        }
    }
    crate::order::sort_by_key(&mut found, |(from, to)| std::cmp::Reverse(to - from));
    let mut kept: Vec<Straight<S>> = Vec::new();
    for (from, to) in found {
        let free = kept.iter().all(|k| to <= k.from + 1 || k.to <= from);
        if let Some(line) = free.then(|| proven(points, &sums, [from, to], ends, grain)).flatten() {
            kept.push(line);
        }
    }
    crate::order::sort_by_key(&mut kept, |s| s.from);
    kept
}

fn proven<S: Space>(
    points: &[Point<S>],
    sums: &Sums,
    [from, to]: [usize; 2],
    ends: [bool; 2],
    grain: &Grain,
) -> Option<Straight<S>> {
    let trim = (to - from) / 10;
    let held = [ends[0] && from == 0, ends[1] && to == points.len()];
    let inner = [from + if held[0] { 0 } else { trim }, to - if held[1] { 0 } else { trim }];
    let (mut line, _) = sums.line::<S>(inner[0], inner[1])?;
    let (first, last) = (points[inner[0]], points[inner[1] - 1]);
    let along = last - first;
    if along.dot(line.along) < 0.0 {
        line.along = line.along * -1.0;
    }
    let (half, n) = (along.dot(line.along) / 2.0, (inner[1] - inner[0]) as f64);
    if !(2.0 * half > 8.0 * grain.tolerance) {
        return None;
    }
    let (mut bow, mut ess) = (0.0, 0.0);
    for p in &points[inner[0]..inner[1]] {
        let (u, off) = (line.run(*p) - line.run(first), line.distance(*p));
        let u = u / half - 1.0;
        bow += off * (1.5 * u * u - 0.5) * 5.0 / n;
        ess += off * (2.5 * u * u - 1.5) * u * 7.0 / n;
    }
    // Between two corners what can't be told from straight is straight.
    let doubt = if held == [true; 2] { 2.5 * grain.sigma * libm::sqrt(7.0 / n) } else { 0.0 };
    if !(bow.abs().max(ess.abs()) < doubt.max(0.6 * 0.25 * grain.tolerance)) {
        return None;
    }
    // From its middle out to where the border leaves the line.
    let off = |i: usize| line.distance(points[i]).abs() < (0.25 * grain.tolerance).max(2.5 * grain.sigma);
    let (mut a, mut b) = (inner[0], inner[1] - 1);
    while a > 0 && off(a - 1) {
        a -= 1;
    }
    while b + 1 < points.len() && off(b + 1) {
        b += 1;
    }
    Some(Straight { from: a, to: b, line })
}
