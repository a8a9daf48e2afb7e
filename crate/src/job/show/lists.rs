//! The last step: what is made of the sizes, and on what it is printed.

use super::cutting::{self, Cut};
use super::order::{told_on, views_ready};
use super::shelf::{PartRests, Shelf};
use super::{Sight, balance, looks, say, table};
use crate::job::document::{Grain, Mark, PaperChoice, PartChoice, PatternChoice, Printer, View};
use crate::job::intent::{About, Intent, StepName};
use crate::job::scene::{Gauge, Key, Lists, PartShown};
use crate::job::sheets::{Heading, paper_choice};
use crate::part::Ware;
use crate::part::check::Thing;
use crate::sheet::Ink;
use crate::sheet::order::{Hand, Turn};
use crate::view::{COINS, Coin, sheet};
use crate::words::{Arg, Say};
use std::rc::Rc;

/// Papers that are offered by name, the common ones first.
pub const PAPERS: [&str; 10] =
    ["letter", "a4", "legal", "tabloid", "a3", "a2", "a1", "a0", "ansi-c", "ansi-d"];

/// The keys of so many parts are shown at once; of more only those of the one that is open.
const FEW: usize = 16;

/// The lists and the parts, while that step is open.
pub fn lists(sight: &Sight, shelf: &mut Shelf) -> (Option<Lists>, Vec<Rc<PartShown>>) {
    if sight.hand.step != StepName::Lists {
        return (None, Vec::new());
    }
    let mut cuts = cutting::all(sight);
    if sight.document.about.thing == Some(Thing::Crib) {
        // No sizes are given for these.
        let sections = looks::section(sight, &cuts).into_iter().collect();
        let none = Lists {
            more: Vec::new(),
            printer: None,
            ready: false,
            gauges: Vec::new(),
            below: Vec::new(),
            sections,
            stocks: Vec::new(),
        };
        return (Some(none), Vec::new());
    }
    let parts = parts(sight, shelf, &cuts);
    let bought = super::bought::to_buy(sight, &cuts);
    cuts.retain(Cut::is_cut);
    let ready = is_ready(sight);
    let lists = Lists {
        printer: sight.document.sheets.printer.clone(),
        more: more(sight, !sight.ready.is_empty(), !cuts.is_empty() || !bought.is_empty()),
        ready,
        gauges: gauges(sight, !sight.ready.is_empty()),
        below: [bought, table::below(sight, &cuts)].concat(),
        sections: [balance::section(sight, &cuts), looks::section(sight, &cuts), looks::other(sight)]
            .into_iter()
            .flatten()
            .collect(),
        stocks: super::boards::stocks(sight, &cuts),
    };
    (Some(lists), parts)
}

/// Every part as it is shown, made anew where what it rests on has changed.
fn parts(sight: &Sight, shelf: &mut Shelf, cuts: &[Cut]) -> Vec<Rc<PartShown>> {
    shelf.letter(sight.document.part_ids().collect());
    let few = cuts.len() <= FEW;
    let shown = |cut: &Cut| {
        let keys = few || sight.hand.part == Some(cut.id);
        let rests = rests(sight, cut, keys);
        shelf.part(cut.id, rests, || part(sight, cut, keys, few))
    };
    cuts.iter().map(shown).collect()
}

/// What a part as it is shown rests on; nothing where that is more than its own outline, choices and what its rules come to.
fn rests(sight: &Sight, cut: &Cut, keys: bool) -> Option<PartRests> {
    let alone = !cut.choice.altered
        && cut.choice.bought.is_none()
        && cut.made.is_none_or(|(_, made)| made.edge.is_none());
    alone.then(|| PartRests {
        reading: cut.seen.and_then(|(mark, _)| sight.reckoned.reading_rc(mark.id)),
        choice: cut.choice.clone(),
        pattern: sight.document.pattern(cut.id),
        made: cut.made.map(|(of, made)| (of, made.clone())),
        size: cut.size,
        why: cut.blank.as_ref().err().cloned(),
        name: cut.name(sight),
        ready: sight.ready.contains(&cut.id),
        keys,
        moisture: sight.document.about.moisture,
    })
}

/// Something can be made at full size.
fn is_ready(sight: &Sight) -> bool {
    !sight.ready.is_empty() || views_ready(sight)
}

/// A card, and the coins of where the job's unit is used first.
fn gauges(sight: &Sight, ready: bool) -> Vec<Gauge> {
    if !ready {
        return Vec::new();
    }
    let card = sheet("card").map(|c| Gauge {
        label: sight.word("sheet.card"),
        size: [c.long, c.short],
        round: false,
    });
    let metric = sight.units.style.is_metric();
    let (here, there): (Vec<_>, Vec<_>) = COINS.iter().partition(|c| c.is_here(metric));
    let coin =
        |c: &Coin| Gauge { label: sight.word(&format!("coin.{}", c.name)), size: [c.across; 2], round: true };
    card.into_iter().chain(here.into_iter().chain(there).map(coin)).collect()
}

/// "Letter, whichever way takes fewer sheets".
pub fn paper_words(sight: &Sight) -> String {
    let choice = paper_choice(sight.document);
    let name = match choice.name.as_str() {
        "custom" => sight
            .say(&Say::new("paper.custom").length("width", choice.size[0]).length("height", choice.size[1])),
        "roll" => sight.say(&Say::new("paper.roll").length("width", choice.size[0])),
        name => sight.word(&format!("sheet.{name}")),
    };
    let turn = match choice.turn {
        Turn::Fewest => "paper.fewest",
        Turn::Upright => "paper.upright",
        Turn::Lying => "paper.lying",
    };
    sight.say(&Say::new(turn).text("sheet", name))
}

fn part(sight: &Sight, cut: &Cut, all: bool, few: bool) -> PartShown {
    let made_here = cut.seen.filter(|_| cut.choice.bought.is_none());
    let mut keys = Vec::new();
    if !few {
        let open = (!all).then_some(cut.id);
        keys.push(say::key(sight, "part-open", Intent::OpenPart { part: open }).pressed(all));
    }
    if all {
        keys.extend(made_here.map(|(mark, _)| pattern_keys(sight, mark)).unwrap_or_default());
        keys.extend(cut_keys(sight, cut));
    }
    let wanted = sight.document.pattern(cut.id).wanted && cut.choice.bought.is_none();
    let made = sight.ready.contains(&cut.id) || !wanted;
    PartShown {
        id: cut.id,
        cut: if cut.choice.left_out { Vec::new() } else { cut.lines(sight) },
        letter: cut.letter.clone(),
        name: cut.name(sight),
        size: size(sight, cut),
        why: if made || cut.seen.is_none() { String::new() } else { sight.word("lists.no-size") },
        keys,
    }
}

/// How its pattern is made.
fn pattern_keys(sight: &Sight, mark: &Mark) -> Vec<Key> {
    let choice = sight.document.pattern(mark.id);
    let set =
        |id: &str, choice: PatternChoice| say::key(sight, id, Intent::SetPattern { mark: mark.id, choice });
    let mut keys = vec![
        set(
            if choice.wanted { "part-leave-out" } else { "part-make" },
            PatternChoice { wanted: !choice.wanted, ..choice },
        )
        .pressed(choice.wanted),
    ];
    if choice.wanted {
        let (under, key) = match choice.under {
            None => (Some(Ink::Grey), "part-under-none"),
            Some(Ink::Grey) => (Some(Ink::Lines), "part-under-grey"),
            Some(Ink::Lines) => (None, "part-under-lines"),
        };
        keys.push(set(key, PatternChoice { under, ..choice }));
        // A half needs a centre line to be folded along.
        let (hand, key) = match choice.hand {
            Hand::One => (Hand::Pair, "part-one"),
            Hand::Pair if mark.centre.is_some() => (Hand::Half, "part-pair"),
            Hand::Pair => (Hand::One, "part-pair"),
            Hand::Half => (Hand::One, "part-half"),
        };
        keys.push(set(key, PatternChoice { hand, ..choice }));
        let (grain, key) = match choice.grain {
            Grain::Along => (Grain::Across, "part-grain-along"),
            Grain::Across => (Grain::None, "part-grain-across"),
            Grain::None => (Grain::Along, "part-grain-none"),
        };
        keys.push(set(key, PatternChoice { grain, ..choice }));
        let (front, key) = match choice.front {
            None => (Some(Heading::Left), "part-front-none"),
            Some(Heading::Left) => (Some(Heading::Right), "part-front-left"),
            Some(Heading::Right) => (Some(Heading::Up), "part-front-right"),
            Some(Heading::Up) => (Some(Heading::Down), "part-front-up"),
            Some(Heading::Down) => (None, "part-front-down"),
        };
        keys.push(set(key, PatternChoice { front, ..choice }));
        keys.extend(count_keys(sight, mark.id));
    }
    keys
}

/// How many of it.
fn count_keys(sight: &Sight, mark: u32) -> Vec<Key> {
    let choice = sight.document.pattern(mark);
    let set = |id: &str, quantity: u32| {
        say::key(sight, id, Intent::SetPattern { mark, choice: PatternChoice { quantity, ..choice } })
    };
    let label = sight.say(&Say::new("key.part-more").count("count", choice.quantity as usize));
    let mut keys = vec![set("part-more", choice.quantity + 1).labelled(label)];
    if choice.quantity > 1 {
        keys.push(set("part-fewer", choice.quantity - 1));
    }
    keys
}

/// What it is made of, how its ends are joined, whether it is to be cut.
fn cut_keys(sight: &Sight, cut: &Cut) -> Vec<Key> {
    let (mark, choice) = (cut.id, &cut.choice);
    let listed = PartChoice { left_out: !choice.left_out, ..choice.clone() };
    let id = if choice.left_out { "part-list" } else { "part-unlist" };
    let mut keys =
        vec![say::key(sight, id, Intent::SetPart { mark, choice: listed }).pressed(!choice.left_out)];
    let bought = cutting::ask(sight, "part-bought", mark, About::Bought);
    match choice.bought {
        Some(b) => {
            keys.push(bought.labelled(super::bought::named(sight, &b)).pressed(true));
            if b.ware.is_cut() {
                keys.push(
                    cutting::ask(sight, "part-length", mark, About::RuleLength)
                        .pressed(!choice.rules[0].is_empty()),
                );
            }
            if b.ware == Ware::Wheel {
                let through = super::bought::through(sight);
                keys.push(say::key(sight, "axle", Intent::AddAxle { wheel: mark, through }));
            }
            if cut.seen.is_some() {
                keys.extend(count_keys(sight, mark));
            }
        }
        None => keys.push(bought),
    }
    if !choice.left_out && choice.bought.is_none() {
        let material = cutting::ask(sight, "part-stock", mark, About::PartStock);
        keys.push(if choice.made.is_some() { material.labelled(cut.material(sight)) } else { material });
        keys.push(cutting::ask(sight, "part-ends", mark, About::PartEnds));
        if cut.made.is_some() {
            keys.push(cutting::ask(sight, "part-largest", mark, About::PartLargest));
        }
        for (id, about, rule) in [
            ("part-length", About::RuleLength, &choice.rules[0]),
            ("part-width", About::RuleWidth, &choice.rules[1]),
        ] {
            keys.push(cutting::ask(sight, id, mark, about).pressed(!rule.is_empty()));
        }
        let altered = PartChoice { altered: !choice.altered, ..choice.clone() };
        let altered = say::key(sight, "part-altered", Intent::SetPart { mark, choice: altered });
        keys.push(altered.pressed(choice.altered));
    }
    keys.push(say::key(sight, "part-copy", Intent::AddPart { like: Some(mark) }));
    if cut.seen.is_none() {
        keys.extend(count_keys(sight, mark));
        keys.push(cutting::ask(sight, "part-name", mark, About::PartName));
        keys.push(say::key(sight, "part-remove", Intent::RemovePart { part: mark }).guarded());
    }
    keys
}

/// Its longer and its shorter side, as built.
fn size(sight: &Sight, cut: &Cut) -> String {
    cut.size.map_or_else(String::new, |[[a, _], [b, _]]| {
        let (l, w) = (a.max(b), a.min(b));
        sight.say(&Say::new("lists.size").length("length", l).length("width", w))
    })
}

/// Other ways to get sizes onto wood, and what has to do with the printer.
fn more(sight: &Sight, parts: bool, cut: bool) -> Vec<Key> {
    let mut keys = Vec::new();
    if parts {
        keys.extend(["glass", "svg", "grid", "offsets"].map(|id| say::page_key(sight, id)));
    }
    if cut {
        keys.extend(["boards", "bench", "cutting-list", "cutting-table"].map(|id| say::page_key(sight, id)));
        let now = &sight.document.about;
        let (sort, id) = now.sort.next();
        let about = crate::job::document::About { sort, ..now.clone() };
        keys.push(say::key(sight, id, Intent::SetThing { about }));
        let change =
            Say::new("key.moisture-by").with("change", Arg::Number(super::use_of::seasons(sight), 0));
        let moisture = say::key(sight, "moisture", Intent::Ask { about: About::Moisture });
        keys.push(moisture.labelled(sight.say(&change)));
    }
    if parts && balance::points(sight).next().is_some() {
        keys.push(say::key(sight, "vane", Intent::Ask { about: About::Vane }));
    }
    if sight.told.iter().any(|t| t.shown().is_some()) {
        keys.push(say::page_key(sight, "stick"));
    }
    keys.extend(view_keys(sight));
    if sight.document.pictures.iter().any(|p| p.resolution.is_some()) {
        keys.push(say::page_key(sight, "sector"));
    }
    if cut {
        keys.push(say::key(sight, "part-add", Intent::AddPart { like: None }));
    }
    keys.push(say::page_key(sight, "test-sheet"));
    keys.push(say::key(sight, "printer", Intent::Ask { about: About::PrinterAcross }));
    if sight.document.sheets.printer.is_some() {
        keys.push(say::key(sight, "printer-name", Intent::Ask { about: About::PrinterName }));
        keys.push(say::key(sight, "printer-true", Intent::SetPrinter { printer: None }));
    }
    keys.extend(remembered(sight));
    keys
}

/// Views that can be made whole.
fn view_keys(sight: &Sight) -> Vec<Key> {
    let views = sight.document.views.iter().filter(|v| told_on(sight, v.id).is_some());
    let key = |v: &View| {
        let on = sight.document.sheets.views.contains(&v.id);
        let label = Say::new("key.whole-view").text("view", sight.view_name(v));
        let key =
            say::key(sight, &format!("whole-view-{}", v.id), Intent::PatternOfView { view: v.id, on: !on });
        key.labelled(sight.say(&label)).pressed(on)
    };
    views.map(key).collect()
}

/// Printers that were measured for other jobs, on this paper.
fn remembered(sight: &Sight) -> Vec<Key> {
    let now = sight.document.sheets.printer.as_ref();
    let paper = paper_choice(sight.document).name;
    let known = sight.hand.printers.iter().filter(|p| p.paper == paper && Some(*p) != now);
    let key = |(i, printer): (usize, &Printer)| {
        let factor = |f: f64| Arg::Number(100.0 * f, 2);
        let name = if printer.name.is_empty() { "key.printer-again" } else { "key.printer-again-named" };
        let label = Say::new(name)
            .text("name", printer.name.clone())
            .with("across", factor(printer.factor[0]))
            .with("down", factor(printer.factor[1]));
        let again = Intent::SetPrinter { printer: Some(printer.clone()) };
        say::key(sight, &format!("printer-again-{i}"), again).labelled(sight.say(&label))
    };
    known.enumerate().map(key).collect()
}

/// The keys of the step.
pub fn keys(sight: &Sight) -> Vec<Key> {
    let made = is_ready(sight);
    let mut keys: Vec<Key> =
        ["open-job", "new-job", "csv", "print", "save-job"].map(|id| say::page_key(sight, id)).to_vec();
    let paper = say::key(sight, "paper", Intent::Ask { about: About::Paper });
    keys.push(paper.labelled(sight.say(&Say::new("key.paper").text("paper", paper_words(sight)))));
    if made {
        keys.push(say::page_key(sight, "print-sheets"));
        keys.push(say::page_key(sight, "pdf").main());
    } else if let Some(key) = keys.iter_mut().find(|k| k.id == "save-job") {
        key.weight = crate::job::scene::Weight::Main;
    }
    keys
}

/// Papers by name, for the keypad.
pub fn paper_choices(sight: &Sight) -> Vec<Key> {
    let now = paper_choice(sight.document);
    let set = |paper: PaperChoice| Intent::SetPaper { paper };
    let sizes = PAPERS.iter().map(|name| {
        let paper = PaperChoice { name: (*name).to_owned(), size: [0.0; 2], ..now.clone() };
        say::key(sight, &format!("paper-{name}"), set(paper))
            .labelled(sight.word(&format!("sheet.{name}")))
            .pressed(now.name == *name)
    });
    let turns = [(Turn::Fewest, "turn-fewest"), (Turn::Upright, "turn-upright"), (Turn::Lying, "turn-lying")];
    let turns = turns.map(|(turn, id)| {
        say::key(sight, id, set(PaperChoice { turn, ..now.clone() })).pressed(now.turn == turn)
    });
    let own = say::key(sight, "paper-own", Intent::Ask { about: About::PaperWidth })
        .pressed(matches!(now.name.as_str(), "custom" | "roll"));
    let more = [("paper-margin", About::Margin), ("paper-lap", About::Lap)]
        .map(|(id, about)| say::key(sight, id, Intent::Ask { about }));
    let many = say::key(sight, "paper-many", set(PaperChoice { many: !now.many, ..now.clone() }));
    sizes.chain([own]).chain(turns).chain(more).chain([many.pressed(now.many)]).collect()
}
