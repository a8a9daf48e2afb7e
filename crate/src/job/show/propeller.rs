//! A propeller as it is made: what is said of it, what can be chosen, the patterns of its sticks.

use super::cutting::fine;
use super::{Sight, say};
use crate::job::document::VaneChoice;
use crate::job::intent::Intent;
use crate::job::scene::Key;
use crate::part::propeller::{ANGLES, OF_BODY, Propeller};
use crate::plane::{Curve, Finished, Point};
use crate::sheet::order::{Hand, Marked, Outline, Pattern, Shape};
use crate::words::{Arg, Say};

/// How far a touch goes, inches and mm: across, and the width of a blade.
const STEPS: [[f64; 2]; 2] = [[12.7, 10.0], [3.175, 2.0]];
/// Rods and wires that shafts are made of, inches and mm across. From memory; no source.
const BORES: [[f64; 4]; 2] = [[2.381_25, 3.175, 4.762_5, 6.35], [2.0, 3.0, 4.0, 5.0]];
/// Room round a pattern, mm.
const ROUND: f64 = 10.0;

/// The next of `all` after `now`, and after the last the first.
fn next(all: &[f64], now: f64) -> f64 {
    let after = all.iter().find(|v| **v > now + 1e-6).or(all.first());
    after.copied().unwrap_or(now)
}

/// Making one, and how.
pub fn choices(sight: &Sight, body: f64) -> Vec<Key> {
    let now = &sight.document.vane;
    let metric = usize::from(sight.units.style.is_metric());
    let set = |id: &str, label: Say, propeller: Option<Propeller>| {
        let mut key =
            say::key(sight, "propeller", Intent::SetVane { vane: VaneChoice { propeller, ..now.clone() } });
        key.id = id.to_owned();
        key.labelled(sight.say(&label))
    };
    let Some(p) = now.propeller else {
        let usual = Some(Propeller::usual(body)).filter(|p| p.check().is_ok());
        return usual.map(|p| set("propeller", Say::new("key.propeller"), Some(p))).into_iter().collect();
    };
    let say = |key: &'static str, mm: f64| Say::new(key).text("size", fine(sight, mm));
    let count = |key: &'static str, n: f64| Say::new(key).with("number", Arg::Number(n, 0));
    let [across, wide] = STEPS.map(|s| s.get(metric).copied().unwrap_or(1.0));
    let bores = BORES.get(metric).copied().unwrap_or_default();
    let with = |change: &dyn Fn(&mut Propeller)| {
        let mut changed = p;
        change(&mut changed);
        Some(changed).filter(|c| c.check().is_ok()).or(Some(p))
    };
    let hand = if p.clockwise { "propeller.clockwise" } else { "propeller.anticlockwise" };
    vec![
        set("propeller", Say::new("propeller.none"), None).pressed(true),
        set("propeller-larger", say("propeller.larger", p.across), with(&|c| c.across += across)),
        set("propeller-smaller", say("propeller.smaller", p.across), with(&|c| c.across -= across)),
        set("propeller-wider", say("propeller.wider", p.width), with(&|c| c.width += wide)),
        set("propeller-narrower", say("propeller.narrower", p.width), with(&|c| c.width -= wide)),
        set(
            "propeller-blades",
            count("propeller.blades-are", f64::from(p.blades)),
            with(&|c| c.blades = next(&[2.0, 3.0, 4.0, 6.0, 8.0], f64::from(p.blades)) as u8),
        ),
        set(
            "propeller-angle",
            count("propeller.angle-is", p.angle),
            with(&|c| c.angle = next(&[30.0, 35.0, 40.0, 45.0], p.angle)),
        ),
        set("propeller-bore", say("propeller.bore-is", p.bore), with(&|c| c.bore = next(&bores, p.bore))),
        set("propeller-hand", Say::new(hand), with(&|c| c.clockwise = !p.clockwise)),
    ]
}

/// What it is made from, and what looks wrong about it; `body` is how long the rest is, mm.
pub fn lines(sight: &Sight, body: f64) -> Vec<String> {
    let Some(p) = sight.document.vane.propeller else { return Vec::new() };
    let stick = p.stick();
    let said = Say::new("propeller.stick").count("count", usize::from(stick.count));
    let said = said.text("length", fine(sight, stick.length)).text("width", fine(sight, stick.width));
    let said = said.text("thickness", fine(sight, stick.thickness)).text("bore", fine(sight, p.bore));
    let mut out = vec![sight.say(&said)];
    let turn = if p.clockwise { "propeller.pare-clockwise" } else { "propeller.pare-anticlockwise" };
    out.push(sight.say(&Say::new(turn).with("angle", Arg::Number(p.angle, 0))));
    if p.blades == 4 {
        out.push(sight.word("propeller.halve"));
    }
    let of_body = p.across / body;
    let usual = (OF_BODY[0] - 1e-9..=OF_BODY[1] + 1e-9).contains(&of_body)
        && (ANGLES[0]..=ANGLES[1]).contains(&p.angle);
    if of_body.is_finite() && !usual {
        out.push(sight.say(&Say::new("propeller.odd").with("share", Arg::Number(100.0 * of_body, 0))));
    }
    out
}

fn ring(width: f64, height: f64) -> Outline {
    let corners = [[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]];
    let corners = corners.map(|[x, y]| Point::<Finished>::new(x, y));
    Outline { rings: vec![Curve::polygon(&corners)], ..Outline::default() }
}

/// The face of its stick with the bore, and the stick's end with the line that a blade runs along.
pub fn patterns(sight: &Sight) -> Vec<Pattern> {
    let Some(p) = sight.document.vane.propeller else { return Vec::new() };
    let stick = p.stick();
    let (l, w, t) = (stick.length, stick.width, stick.thickness);
    let at = |x: f64, y: f64| Point::<Finished>::new(x, y);
    let halved = matches!(p.blades, 2 | 4);
    let one = |letter: &str, key: &str, width: f64, height: f64, marks: Vec<Marked>, axis| Pattern {
        letter: letter.to_owned(),
        name: sight.word(key),
        quantity: u32::from(stick.count),
        hand: Hand::One,
        outline: Some(ring(width, height)),
        bounds: [0.0, 0.0, width, height],
        margin: ROUND,
        marks,
        axis,
        grain: Some(0.0).filter(|_| width == l),
        front: None,
        up: None,
        picture: None,
        lines: lines(sight, f64::NAN).into_iter().take(3).collect(),
    };
    let bore = Shape::Round { centre: at(l / 2.0, w / 2.0), radius: p.bore / 2.0, drilled: true };
    let bore = Marked { number: 1, text: String::new(), shape: bore };
    let middle = Some([at(0.0, w / 2.0), at(l, w / 2.0)]);
    // The end as one looks along the stick towards the shaft, its face to the wind on top. Air that is turned to the left pushes
    // a blade to the right: the edge that leads is the one nearer to the wind, and it lies at the left as seen from the tip where
    // the wind sees it go to the right.
    let slope = if p.clockwise { [at(0.0, 0.0), at(w, t)] } else { [at(0.0, t), at(w, 0.0)] };
    let edge = Marked { number: 2, text: String::new(), shape: Shape::Length(slope) };
    vec![
        one("P", "propeller.face", l, w, if halved { vec![bore] } else { Vec::new() }, middle),
        one("P2", "propeller.end", w, t, vec![edge], None),
    ]
}
