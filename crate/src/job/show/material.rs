//! What a part may be made of and how its ends may be joined, to be chosen.

use super::cutting::{ask, fine, stock_alone, stock_named};
use super::{Sight, say};
use crate::job::intent::{About, Intent};
use crate::job::parts::{Made, PartChoice};
use crate::job::scene::Key;
use crate::mark::Quantity;
use crate::part::{End, Goods, Joint, Species};
use crate::words::Say;

/// A length that reads no more than this may be an edge, mm: the thickest stock there is.
const THICKEST: f64 = 102.0;
/// No more edges are offered.
const EDGES: usize = 3;
/// What a part is taken to be about as thick as before anything is chosen, mm: the board that most shops have.
const USUAL: f64 = 19.05;

/// Stock to choose from: for edges that were measured, then by goods, by thickness, by species.
pub fn stocks(sight: &Sight, mark: u32) -> Vec<Key> {
    let choice = sight.document.part(mark);
    let now = sight.document.made(mark).map(|(_, made)| made.clone());
    let key = |id: String, label: String, made: Made| {
        let on = choice.made.as_ref() == Some(&made);
        let choice = PartChoice { made: Some(made), ..choice.clone() };
        say::key(sight, &id, Intent::SetPart { mark, choice }).labelled(label).pressed(on)
    };
    let mut keys: Vec<Key> =
        goods(sight).iter().filter_map(|g| goods_key(sight, *g, now.as_ref(), &key)).collect();
    let Some(now) = now else { return keys };
    for stock in now.goods.all() {
        let made = Made { species: now.species, ..Made::of(stock) };
        keys.push(key(format!("stock-{}", stock.name), stock_alone(sight, &stock), made));
    }
    keys.extend(edges(sight, mark, &now, &key));
    if now.goods.is_sheet() {
        keys.push(ask(sight, "part-measures", mark, About::Planed).pressed(now.planed.is_some()));
    } else {
        keys.extend(Species::ALL.into_iter().filter(|s| now.goods.may_be(*s)).map(|s| {
            let own = now.species == Some(s);
            let made = Made { species: (!own).then_some(s), ..now.clone() };
            let label = sight.word(&format!("species.{}", s.name()));
            key(format!("species-{}", s.name()), label, made).pressed(own)
        }));
        keys.push(ask(sight, "part-planed", mark, About::Planed));
    }
    keys
}

/// What is sold where the job's unit is used.
fn goods(sight: &Sight) -> &'static [Goods] {
    if sight.units.style.is_metric() { &Goods::METRIC } else { &Goods::INCH }
}

fn goods_key(
    sight: &Sight,
    goods: Goods,
    now: Option<&Made>,
    key: &impl Fn(String, String, Made) -> Key,
) -> Option<Key> {
    let near = now.and_then(Made::thickness).unwrap_or(USUAL);
    let species = now.and_then(|m| m.species).filter(|s| goods.may_be(*s));
    let made = Made { species, ..Made::of(goods.nearest(near)?) };
    let label = sight.word(&format!("goods.{}", goods.name()));
    Some(key(format!("goods-{}", goods.name()), label, made).pressed(now.is_some_and(|m| m.goods == goods)))
}

/// What lengths that were measured may stand for: a thin one may be the part's edge.
fn edges(sight: &Sight, part: u32, now: &Made, key: &impl Fn(String, String, Made) -> Key) -> Vec<Key> {
    let picture = sight.document.mark(part).map(|m| m.picture);
    let thin = sight.told.iter().filter_map(|t| {
        let mark = sight.document.mark(t.mark).filter(|m| Some(m.picture) == picture)?;
        let mm = t.shown().filter(|e| t.what == Quantity::Length && e.value <= THICKEST)?.value;
        Some((mark, mm))
    });
    thin.take(EDGES)
        .flat_map(|(mark, mm)| now.goods.offered(mm).into_iter().map(move |offer| (mark, offer)))
        .map(|(mark, offer)| {
            let planed = if offer.planed.is_some() { "material.edge-planed" } else { "material.edge" };
            let say = Say::new(planed).text("mark", sight.mark_named(mark.id));
            let say = say.text("stock", stock_named(sight, &offer.stock));
            let label = sight.say(&say.text("size", fine(sight, offer.thickness())));
            let made = Made { species: now.species, ..Made::offered(&offer, mark.id) };
            key(format!("edge-{}-{}", mark.id, libm::round(offer.thickness() * 100.0)), label, made)
        })
        .collect()
}

/// How deep a joint usually goes, inches and mm: common practice, no source.
fn usual(joint: Joint, metric: bool, thickness: f64) -> f64 {
    let pick = |inches: f64, mm: f64| if metric { mm } else { inches * 25.4 };
    match joint {
        Joint::None => 0.0,
        Joint::Tenon => pick(1.0, 25.0),
        Joint::Dado => pick(0.25, 6.0),
        Joint::Rabbet => pick(0.375, 10.0),
        Joint::Dovetail => thickness,
        Joint::Lap => pick(1.5, 40.0),
    }
}

/// Joints to choose from, how deep, at how many ends; and whether it is a shelf.
pub fn ends(sight: &Sight, mark: u32) -> Vec<Key> {
    let choice = sight.document.part(mark);
    let set = |id: &str, choice: PartChoice| say::key(sight, id, Intent::SetPart { mark, choice });
    let metric = sight.units.style.is_metric();
    let thickness = sight.document.made(mark).and_then(|(_, m)| m.thickness()).unwrap_or(USUAL);
    let [first, second] = choice.ends;
    let both = second.joint != Joint::None || first.joint == Joint::None;
    let mut keys: Vec<Key> = Joint::ALL
        .iter()
        .map(|joint| {
            let end = End { joint: *joint, depth: usual(*joint, metric, thickness) };
            let ends = if both { [end; 2] } else { [end, End::default()] };
            let label = match joint {
                Joint::None => sight.word("joint.none"),
                _ => {
                    let name = sight.word(&format!("joint.{}", joint.name()));
                    sight
                        .say(&Say::new("cut.joint").text("joint", name).text("depth", fine(sight, end.depth)))
                }
            };
            set(&format!("joint-{}", joint.name()), PartChoice { ends, ..choice.clone() })
                .labelled(label)
                .pressed(first.joint == *joint)
        })
        .collect();
    if first.joint != Joint::None {
        let ends = if both { [first, End::default()] } else { [first; 2] };
        let id = if both { "joint-one-end" } else { "joint-both-ends" };
        keys.push(set(id, PartChoice { ends, ..choice.clone() }));
        keys.push(ask(sight, "joint-depth", mark, About::JointDepth));
    }
    keys.push(set("part-shelf", PartChoice { shelf: !choice.shelf, ..choice.clone() }).pressed(choice.shelf));
    if choice.shelf {
        keys.push(ask(sight, "part-load", mark, About::Load).pressed(choice.load.is_some()));
        for (id, below) in [("front-edge-one", thickness), ("front-edge-two", 2.0 * thickness)] {
            // Of the shelf's own stock, standing on edge.
            let edge = Some([thickness, below]);
            let on = choice.front_edge == edge;
            let front_edge = if on { None } else { edge };
            let label = sight.say(&Say::new("key.front-edge").text("below", fine(sight, below)));
            let mut key =
                set("part-load", PartChoice { front_edge, ..choice.clone() }).labelled(label).pressed(on);
            key.id = id.to_owned();
            keys.push(key);
        }
    }
    keys
}
