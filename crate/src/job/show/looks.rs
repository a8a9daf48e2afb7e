//! What looks wrong, what is to be heeded, and how it would be at another size.

use super::cutting::{Cut, figure};
use super::{Sight, say};
use crate::job::document::{About as ThingChoice, Mark};
use crate::job::intent::{About, Intent};
use crate::job::scene::{Key, Section, Traced};
use crate::mark::{Dimension, Kind, Quantity};
use crate::part::check::{Thing, Usual, outside, sit};
use crate::words::{Arg, Say};

/// No more sizes are set side by side.
const MOST_ROWS: usize = 40;
/// What a size may be compared at: halves, doubles. Ours.
const OTHERS: [f64; 5] = [0.5, 0.75, 1.25, 1.5, 2.0];

/// A length mark's size as it is built, and its half-width, mm.
fn size(sight: &Sight, mark: u32) -> Option<[f64; 2]> {
    let told = sight.told(mark).filter(|t| t.what == Quantity::Length)?;
    let e = told.shown()?;
    Some([e.value, e.half_width()])
}

/// A size that is looked at, with its mark: the one that a person said, or how high what stands highest is.
fn found(sight: &Sight, cuts: &[Cut], what: Usual) -> Option<(u32, [f64; 2])> {
    let said = sight.document.about.tells.iter().find(|(u, _)| *u == what);
    if let Some((_, mark)) = said {
        return Some((*mark, size(sight, *mark)?));
    }
    let stands = |c: &Cut| Some((c.id, [c.stands(sight)?, c.size.map_or(0.0, |s| s[0][1])]));
    let all = cuts.iter().filter(|_| what == Usual::Height).filter_map(stands);
    all.max_by(|a, b| a.1[0].total_cmp(&b.1[0]))
}

/// What looks wrong about what is built, in words, with its rule.
pub fn section(sight: &Sight, cuts: &[Cut]) -> Option<Section> {
    let about = &sight.document.about;
    let keys = vec![say::key(sight, "thing", Intent::Ask { about: About::Thing })];
    let (mut lines, title): (Vec<Traced>, String) = (Vec::new(), sight.word("looks.title"));
    let from = |mark| Intent::Select { mark: Some(mark) };
    let Some(thing) = about.thing else {
        let lines = vec![sight.word("looks.say").into()];
        return (!cuts.is_empty()).then_some(Section { id: "looks".to_owned(), title, lines, keys });
    };
    let name = sight.word(&format!("thing.{}", thing.name()));
    if thing == Thing::Crib {
        lines.push(sight.word("caution.crib").into());
        return Some(Section { id: "looks".to_owned(), title, lines, keys });
    }
    for (what, rule) in thing.usual() {
        let what_say = sight.word(&format!("usual.{}", what.name()));
        let Some((mark, [mm, half])) = found(sight, cuts, what) else {
            let text = sight.say(&Say::new("looks.unknown").text("what", what_say));
            lines.push(Traced::to(text, Intent::Ask { about: About::Thing }));
            continue;
        };
        let key = match outside(rule, mm, half) {
            [true, _] => "looks.low",
            [_, true] => "looks.high",
            _ => "looks.usual",
        };
        let say =
            Say::new(key).text("what", what_say).text("thing", name.clone()).text("size", figure(sight, mm));
        let say = say.text("pm", sight.plus_minus(half).with_unit());
        let say = say.text("low", figure(sight, rule[0])).text("high", figure(sight, rule[1]));
        lines.push(Traced::to(sight.say(&say), from(mark)));
    }
    if thing == Thing::DiningTable {
        let sides = cuts.iter().filter_map(|c| Some((c.id, c.size.map(|[l, w]| l[0].max(w[0]))?)));
        let longest = sides.max_by(|a, b| a.1.total_cmp(&b.1)).filter(|(_, long)| sit(*long) > 0);
        if let Some((mark, long)) = longest {
            let say = Say::new("looks.sit").count("count", sit(long) as usize);
            lines.push(Traced::to(sight.say(&say.text("size", figure(sight, long))), from(mark)));
        }
    }
    if !lines.is_empty() {
        lines.push(sight.word("looks.rule").into());
    }
    lines.extend(heed(sight, thing).into_iter().map(Traced::from));
    Some(Section { id: "looks".to_owned(), title, lines, keys })
}

/// The cautions of a thing.
fn heed(sight: &Sight, thing: Thing) -> Vec<String> {
    let keys: &[&str] = match thing {
        Thing::Toy => &["caution.toy"],
        Thing::Bookcase => &["caution.bookcase"],
        Thing::Chest => &["caution.chest"],
        Thing::Seat | Thing::Bunk => &["caution.bears"],
        Thing::DiningTable | Thing::LowTable | Thing::Crib => &[],
    };
    keys.iter().map(|key| sight.word(key)).collect()
}

/// What it is, and which marks tell the sizes that are looked at.
pub fn choices(sight: &Sight) -> Vec<Key> {
    let now = &sight.document.about;
    let set = |id: &str, about: ThingChoice| say::key(sight, id, Intent::SetThing { about });
    let mut keys = Vec::new();
    for thing in Thing::ALL {
        let on = now.thing == Some(thing);
        let about = ThingChoice { thing: (!on).then_some(thing), ..now.clone() };
        let label = sight.word(&format!("thing.{}", thing.name()));
        let mut key = set("thing", about).labelled(label).pressed(on);
        key.id = format!("thing-{}", thing.name());
        keys.push(key);
    }
    let lengths: Vec<u32> = lengths(sight).map(|m| m.id).collect();
    for (what, _) in now.thing.into_iter().flat_map(Thing::usual) {
        // Each touch takes the next length, and after the last none.
        let told = now.tells.iter().find(|(u, _)| *u == what).map(|(_, m)| *m);
        let next = match told.and_then(|m| lengths.iter().position(|l| *l == m)) {
            Some(i) => lengths.get(i + 1),
            None => lengths.first(),
        };
        let mut tells = now.tells.clone();
        tells.retain(|(u, _)| *u != what);
        tells.extend(next.map(|m| (what, *m)));
        let name = sight.word(&format!("usual.{}", what.name()));
        let say =
            Say::new(if told.is_some() { "looks.told-by" } else { "looks.told-by-none" }).text("what", name);
        let say = say.text("mark", told.map_or_else(String::new, |m| sight.mark_named(m)));
        let mut key = set("thing", ThingChoice { tells, ..now.clone() }).labelled(sight.say(&say));
        key.id = format!("usual-{}", what.name());
        keys.push(key.pressed(told.is_some()));
    }
    keys
}

fn lengths<'a>(sight: &'a Sight) -> impl Iterator<Item = &'a Mark> + 'a {
    sight.document.marks.iter().filter(|m| m.kind == Kind::Length).map(|m| &**m)
}

/// Every size beside what it would be at another finished size, and what that does to area and weight.
pub fn other(sight: &Sight) -> Option<Section> {
    let now = &sight.document.about;
    let known: Vec<_> = sight.told.iter().filter(|t| t.shown().is_some() && !t.what.is_place()).collect();
    if known.is_empty() {
        return None;
    }
    let keys = OTHERS.iter().map(|of| {
        let on = now.compare == Some(*of);
        let about = ThingChoice { compare: (!on).then_some(*of), ..now.clone() };
        let label = sight.say(&Say::new("other.times").with("times", Arg::Number(*of, 2)));
        let mut key = say::key(sight, "thing", Intent::SetThing { about }).labelled(label).pressed(on);
        key.id = format!("other-{}", libm::round(of * 100.0));
        key
    });
    let keys = keys.collect();
    let mut lines: Vec<Traced> = Vec::new();
    if let Some(of) = now.compare {
        let say = Say::new("other.does").with("times", Arg::Number(of, 2));
        let say = say.with("area", Arg::Number(of * of, 2)).with("weight", Arg::Number(of * of * of, 2));
        lines.push(sight.say(&say).into());
        for t in known.iter().take(MOST_ROWS).filter(|t| t.what.dimension() == Dimension::Length) {
            let Some(e) = t.shown() else { continue };
            let say = Say::new("other.row").text("mark", sight.mark_named(t.mark));
            let say = say.text("now", figure(sight, t.rounded.unwrap_or(e.value)));
            let text = sight.say(&say.text("then", figure(sight, e.value * of)));
            lines.push(Traced::to(text, Intent::Select { mark: Some(t.mark) }));
        }
    }
    Some(Section { id: "other".to_owned(), title: sight.word("other.title"), lines, keys })
}
