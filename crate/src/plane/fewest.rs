//! As few pieces as will do for a smooth stretch.

use super::bezier::Cubic;
use super::corners::Grain;
use super::piece::{Sample, greedy, hermite, piece};
use super::refine::Chain;
use super::{Space, angle_between};

/// A chain with as few pieces as will do within the tolerance.
///
/// Pieces that share the effort evenly are moved together until they fit, with ever more of them until they do, then with
/// fewer. Only where that comes to nothing are they cut one after the other.
pub(super) fn fewest<S: Space>(
    part: &[Sample<S>],
    free: [bool; 2],
    ring: bool,
    grain: &Grain,
) -> Vec<Cubic<S>> {
    let (effort, turned) = efforts(part, grain.sigma);
    let tolerance = grain.tolerance;
    // Shares of the effort, and if that leads nowhere of effort and length alike.
    let whole = effort[effort.len() - 1];
    let length = (part[part.len() - 1].run - part[0].run).max(1e-300);
    let mixed: Vec<f64> =
        effort.iter().zip(part).map(|(e, s)| e + whole * (s.run - part[0].run) / length).collect();
    let tried = |n: usize| {
        [&effort, &mixed]
            .into_iter()
            .map(|e| evenly(e, n))
            .find_map(|k| Some((started(part, &k, free, tolerance)?, k)))
    };
    let least = if ring { 2 } else { 1 };
    let most = (part.len() / 8).min(500);
    // A cubic hardly turns by more than a half turn.
    let mut n = (libm::ceil(turned / 3.3) as usize).min(most).max(least);
    let mut short = n - 1;
    let mut best = None;
    while n <= most {
        best = tried(n);
        if best.is_some() {
            break;
        }
        short = n;
        n += (n / 3).max(1);
    }
    let Some((mut good, mut knots)) = best else { return one_by_one(part, free, ring, tolerance) };
    while good.len() > short + 1 {
        let middle = short + (good.len() - short) / 2;
        match tried(middle) {
            Some(better) => (good, knots) = better,
            None => short = middle,
        }
    }
    // What is left to gain from another beginning.
    let n = good.len();
    if n > least.max(2) {
        let fewer: Vec<usize> =
            (0..n).map(|k| spread(&knots, k as f64 * n as f64 / (n - 1) as f64)).collect();
        good = started(part, &fewer, free, tolerance).unwrap_or(good);
    }
    good
}

/// Pieces each as long as it can be, from the first on.
fn one_by_one<S: Space>(part: &[Sample<S>], free: [bool; 2], ring: bool, tolerance: f64) -> Vec<Cubic<S>> {
    let length = part[part.len() - 1].run - part[0].run;
    let cut = greedy(part, tolerance, if ring { 0.4 * length } else { f64::INFINITY });
    let cubics: Vec<Cubic<S>> = cut.into_iter().map(|c| c.1).collect();
    settled(&cubics, part, free, tolerance).unwrap_or(cubics)
}

/// The pieces between these samples, moved together until they fit; `None` when they won't.
fn started<S: Space>(
    part: &[Sample<S>],
    knots: &[usize],
    free: [bool; 2],
    tolerance: f64,
) -> Option<Vec<Cubic<S>>> {
    if !knots.windows(2).all(|w| w[0] < w[1]) {
        return None;
    }
    let one = |w: &[usize]| {
        piece(&part[w[0]..=w[1]], tolerance).map_or_else(|| hermite(&part[w[0]], &part[w[1]]), |p| p.0)
    };
    let start: Vec<Cubic<S>> = knots.windows(2).map(one).collect();
    settled(&start, part, free, tolerance)
}

/// How much there is to follow up to each sample, and the turning in all, rad.
///
/// A cubic strays from an arc by κ⁵·h⁶, so that pieces do best to share κ^⅚·h; a twentieth more for length alone. The turns
/// are taken over steps so long that noise adds little to their sum.
fn efforts<S: Space>(part: &[Sample<S>], sigma: f64) -> (Vec<f64>, f64) {
    let length = part[part.len() - 1].run - part[0].run;
    let step = libm::sqrt(2.0 * sigma * length).max(1e-9 * length);
    let (mut efforts, mut turned, mut so_far, mut from) = (vec![0.0; part.len()], 0.0, 0.0, 0);
    for k in 1..part.len() {
        let long = part[k].run - part[from].run;
        if long >= step || k + 1 == part.len() {
            let turn = angle_between(part[from].along, part[k].along);
            turned += turn;
            // To the power of 5/6.
            let ratio = turn / long.max(1e-300);
            let root = libm::sqrt(ratio);
            let bend = long.max(1e-300) * root * libm::cbrt(ratio);
            for (i, effort) in efforts.iter_mut().enumerate().take(k + 1).skip(from + 1) {
                *effort = so_far + bend * (part[i].run - part[from].run) / long.max(1e-300);
            }
            so_far += bend;
            from = k;
        }
    }
    let more = (0.05 * so_far).max(1e-9) / length.max(1e-300);
    for (effort, s) in efforts.iter_mut().zip(part) {
        *effort += more * (s.run - part[0].run);
    }
    (efforts, turned)
}

/// The samples that part all effort in `pieces` equal shares.
fn evenly(effort: &[f64], pieces: usize) -> Vec<usize> {
    let last = effort.len() - 1;
    let share = effort[last] / pieces as f64;
    let mut knots: Vec<usize> =
        (0..pieces).map(|k| effort.partition_point(|e| *e < share * k as f64)).collect();
    knots.push(last);
    knots
}

/// Between the entries of an increasing list, at `u` of an entry.
fn spread(knots: &[usize], u: f64) -> usize {
    let i = (libm::floor(u + 1e-9) as usize).min(knots.len() - 1);
    let j = (i + 1).min(knots.len() - 1);
    let part = (knots[j] - knots[i]) as f64 * (u - i as f64).clamp(0.0, 1.0);
    knots[i] + libm::round(part) as usize
}

/// The pieces moved together until they fit best; `None` when they won't come within the tolerance.
fn settled<S: Space>(
    cubics: &[Cubic<S>],
    part: &[Sample<S>],
    free: [bool; 2],
    tolerance: f64,
) -> Option<Vec<Cubic<S>>> {
    let mut chain = Chain::of(cubics, free)?;
    let stride = (part.len() / (14 * cubics.len())).max(1);
    let few: Vec<Sample<S>> = part.iter().step_by(stride).copied().collect();
    let mut most = chain.refine(&few, 6, None);
    if most > tolerance && most < 8.0 * tolerance {
        most = chain.refine(&few, 12, None);
    }
    if most > tolerance && most < 2.5 * tolerance {
        most = chain.refine(&few, 10, Some(tolerance));
    }
    if !(most <= 1.05 * tolerance) {
        return None;
    }
    let plain = {
        let mut all = chain.clone();
        (all.refine(part, 2, None) <= tolerance).then_some(all)
    };
    let good = plain.or_else(|| (chain.refine(part, 4, Some(tolerance)) <= tolerance).then_some(chain))?;
    Some(good.cubics())
}

/// A ring's pieces fitted once more with its seam in the middle, so that the seam is a knot like any other.
pub(super) fn around<S: Space>(
    mut cubics: Vec<Cubic<S>>,
    part: &[Sample<S>],
    tolerance: f64,
) -> Vec<Cubic<S>> {
    let half = cubics.len() / 2;
    let knot = cubics[half.min(cubics.len() - 1)].0[0];
    let near = |i: &usize| part[*i].at.distance(knot);
    let Some(at) = (1..part.len() - 1).min_by(|a, b| near(a).total_cmp(&near(b))) else { return cubics };
    let whole = part[part.len() - 1].run - part[0].run;
    let mut turned: Vec<Sample<S>> = part[at..part.len() - 1].to_vec();
    turned.extend(part[..=at].iter().map(|s| Sample { run: s.run + whole, ..*s }));
    cubics.rotate_left(half);
    settled(&cubics, &turned, [false; 2], tolerance).unwrap_or(cubics)
}
