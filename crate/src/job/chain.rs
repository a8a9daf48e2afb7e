//! Lengths that run end to end along one line.

use super::document::{Document, Mark};
use super::reckon::Reckoned;
use crate::mark::{Ends, Kind};

/// Two lengths run along one line when they turn less than about 4° and meet within a fiftieth of the shorter one.
const TURN: f64 = 0.07;
const GAP: f64 = 0.02;

/// The marks of the chain that runs through `mark`, in order along it; just `mark` when it is alone.
pub fn run_through(document: &Document, reckoned: &Reckoned, mark: u32) -> Vec<u32> {
    let Some(seed) = document.mark(mark).filter(|m| straight(m)) else { return Vec::new() };
    let view = reckoned.reading(mark).map(|r| r.view);
    let others: Vec<&Mark> = document
        .marks
        .iter()
        .filter(|m| m.id != mark && straight(m) && m.picture == seed.picture)
        .filter(|m| reckoned.reading(m.id).map(|r| r.view) == view)
        .filter(|m| !document.chains.iter().any(|c| c.contains(&m.id)))
        .map(|m| &**m)
        .collect();
    let mut run = vec![seed];
    loop {
        let next = others.iter().find(|m| {
            run.iter().all(|r| r.id != m.id)
                && run.iter().any(|r| meets(r, m))
                && !run.iter().any(|r| covers(r, m))
        });
        match next {
            Some(m) => run.push(m),
            None => break,
        }
    }
    let along = seed.points[1].at - seed.points[0].at;
    crate::order::sort_by(&mut run, |a, b| middle(a, along).total_cmp(&middle(b, along)));
    run.iter().map(|m| m.id).collect()
}

fn straight(m: &Mark) -> bool {
    m.kind == Kind::Length && m.ends == Ends::Between && m.points.len() == 2
}

fn middle(m: &Mark, along: crate::plane::Vector<crate::plane::Picture>) -> f64 {
    m.points.iter().map(|p| p.at.x * along.x + p.at.y * along.y).sum()
}

/// Their nearest ends meet and they lie along one line.
fn meets(a: &Mark, b: &Mark) -> bool {
    let (va, vb) = (a.points[1].at - a.points[0].at, b.points[1].at - b.points[0].at);
    let (la, lb) = (va.length(), vb.length());
    if la <= 0.0 || lb <= 0.0 || va.cross(vb).abs() > TURN * la * lb {
        return false;
    }
    let reach = GAP * la.min(lb) + 4.0 * a.points[0].sigma.max(b.points[0].sigma);
    a.points.iter().any(|p| b.points.iter().any(|q| p.at.distance(q.at) <= reach))
}

/// One lies on top of the other: the whole and a piece of it are no chain.
fn covers(a: &Mark, b: &Mark) -> bool {
    let v = a.points[1].at - a.points[0].at;
    let on = |p: &super::document::Placing| v.dot(p.at - a.points[0].at) / v.dot(v);
    let (t, u) = (on(&b.points[0]), on(&b.points[1]));
    let (low, high) = (t.min(u), t.max(u));
    high.min(1.0) - low.max(0.0) > 0.1 * (high - low).min(1.0)
}
