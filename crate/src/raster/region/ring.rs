//! Rings and open runs of points in a picture: even spacing, what is square to them, how much they scatter.

/// A place in a picture, px.
pub(super) type Place = [f64; 2];

/// How far smoothing reaches to each side, points, and how often it is done: a bell of about 1.6 points.
const SMOOTH: (i64, usize) = (1, 4);

/// The mean of each point and its neighbours, a few times over; the ends of an open run stay.
pub(super) fn smoothed(points: &[Place], closed: bool) -> Vec<Place> {
    let n = points.len() as i64;
    let (side, times) = SMOOTH;
    let mut from = points.to_vec();
    for _ in 0..times {
        let mut to = from.clone();
        for (i, p) in to.iter_mut().enumerate() {
            let i = i as i64;
            if !closed && (i < side || i >= n - side) {
                continue;
            }
            let mut sum = [0.0; 2];
            for k in i - side..=i + side {
                let q = from.get(k.rem_euclid(n) as usize).copied().unwrap_or_default();
                sum = [sum[0] + q[0], sum[1] + q[1]];
            }
            let count = (2 * side + 1) as f64;
            *p = [sum[0] / count, sum[1] / count];
        }
        from = to;
    }
    from
}

/// Smoothed, then one point every `spacing` px along the way (or a little less, to come out even).
pub(super) fn evenly(points: &[Place], spacing: f64, closed: bool) -> Vec<Place> {
    let points = smoothed(points, closed);
    let n = points.len();
    if n < 2 {
        return points;
    }
    let sides = if closed { n } else { n - 1 };
    let side = |i: usize| (points[i], points[(i + 1) % n]);
    let long = |(a, b): (Place, Place)| libm::hypot(b[0] - a[0], b[1] - a[1]);
    let all: f64 = (0..sides).map(|i| long(side(i))).sum();
    let steps = (all / spacing).ceil().clamp(1.0, 1e6);
    let step = all / steps;
    let count = steps as usize + usize::from(!closed);
    let mut even = Vec::with_capacity(count);
    let (mut i, mut behind) = (0, 0.0);
    for k in 0..count {
        let wanted = k as f64 * step;
        while i + 1 < sides && behind + long(side(i)) < wanted {
            behind += long(side(i));
            i += 1;
        }
        let (a, b) = side(i);
        let share = ((wanted - behind) / long((a, b)).max(1e-12)).clamp(0.0, 1.0);
        even.push([a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]);
    }
    even
}

/// The unit step to the left of the way at each point: outward where the inside lies to the right.
pub(super) fn normals(points: &[Place], closed: bool) -> Vec<Place> {
    const SIDE: i64 = 2;
    let n = points.len() as i64;
    let at = |i: i64| {
        let i = if closed { i.rem_euclid(n) } else { i.clamp(0, n - 1) };
        points.get(i as usize).copied().unwrap_or_default()
    };
    (0..n)
        .map(|i| {
            let (a, b) = (at(i - SIDE), at(i + SIDE));
            let (x, y) = (b[0] - a[0], b[1] - a[1]);
            let long = libm::hypot(x, y).max(1e-12);
            [y / long, -x / long]
        })
        .collect()
}

/// The standard deviation of one point across a ring, from the median of differences of the third order, which neither
/// straight nor evenly bent stretches have; over points four apart, so that what neighbours share in smoothing or in the
/// paper's grain doesn't hide it.
pub(super) fn scatter(points: &[Place], closed: bool) -> f64 {
    let n = points.len() as i64;
    let out = normals(points, closed);
    let at = |i: i64| {
        let i = if closed { i.rem_euclid(n) } else { i };
        usize::try_from(i).ok().and_then(|i| points.get(i))
    };
    let mut off: Vec<f64> = Vec::new();
    off.extend((0..n).zip(&out).filter_map(|(i, normal)| {
        let (a, b, c, d) = (at(i - 6)?, at(i - 2)?, at(i + 2)?, at(i + 6)?);
        let third = |k: usize| a[k] - 3.0 * b[k] + 3.0 * c[k] - d[k];
        Some((third(0) * normal[0] + third(1) * normal[1]).abs())
    }));
    // 1 + 9 + 9 + 1 variances; a normal deviation's median is 0.6745 of its standard deviation.
    let median = super::level::quantile(&mut off, 0.5).unwrap_or(0.0);
    (median * median / (0.6745 * 0.6745 * 20.0) + FLOOR * FLOOR).sqrt()
}

/// What no border is known better than, px: light that was mixed before it was encoded, print, paper.
const FLOOR: f64 = 0.01;
