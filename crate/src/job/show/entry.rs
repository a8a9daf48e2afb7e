//! The keypad: what it asks, what the text reads as, how it can be taken.

use super::{Sight, bought, rules, say};
use crate::WHOLE;
use crate::job::apply;
use crate::job::hand::Typing;
use crate::job::intent::{About, How, Intent, Length, RectangleOf, Way};
use crate::job::scene::{Entry, EntryError, Key, Pad};
use crate::job::sheets::test_bars;
use crate::job::typing::{Lies, number, scale, square_on, whole};
use crate::mark::Kind;
use crate::quantity::{read_caption, read_length};
use crate::sheet::printer_factor;
use crate::view::{COINS, Coin};
use crate::words::{Arg, Say};

/// How much a coin in use may differ from what its mint says, mm: common practice, no source.
const COIN_PM: f64 = 0.1;

/// The sheets that a person is likely to have in hand, offered by name.
const SHEETS_OFFERED: [&str; 4] = ["letter", "a4", "a3", "card"];

/// The keypad, when it is open.
pub fn entry(sight: &Sight) -> Option<Entry> {
    let typing = sight.hand.entry.as_ref()?;
    let (reads, error) = read(sight, typing);
    Some(Entry {
        title: title(sight, typing),
        text: typing.text.clone(),
        pad: pad(typing.about),
        unit: unit(sight, typing.about),
        how: how(sight, typing),
        ways: ways(sight, typing, !reads.is_empty()),
        choices: choices(sight, typing),
        reads,
        error,
    })
}

fn name(about: About) -> &'static str {
    match about {
        About::Length => "length",
        About::Build => "build",
        About::BuildScale => "build-scale",
        About::BuildPercent => "build-percent",
        About::PlusMinus => "plus-minus",
        About::MarkName => "mark-name",
        About::MarkNumber => "mark-number",
        About::ViewName => "view-name",
        About::JobName => "job-name",
        About::DrawingScale => "drawing-scale",
        About::Resolution => "resolution",
        About::Caption => "caption",
        About::Width => "width",
        About::Height => "height",
        About::BoxFront => "box-front",
        About::BoxEnd => "box-end",
        About::BoxUpright => "box-upright",
        About::Back => "back",
        About::Away => "away",
        About::Paper => "paper",
        About::PaperWidth => "paper-width",
        About::PaperHeight => "paper-height",
        About::Margin => "margin",
        About::Lap => "lap",
        About::PartStock => "part-stock",
        About::PartEnds => "part-ends",
        About::JointDepth => "joint-depth",
        About::Planed => "planed",
        About::Vane => "vane",
        About::Thing => "thing",
        About::Load => "load",
        About::Weight => "weight",
        About::RuleLength => "rule-length",
        About::RuleWidth => "rule-width",
        About::OwnLength | About::OwnWidth => "rule-own",
        About::PartName => "part-name",
        About::PartLargest => "part-largest",
        About::Moisture => "moisture",
        About::Work => "work",
        About::Bought => "bought",
        About::BoughtAcross => "bought-across",
        About::BoughtThick => "bought-thick",
        About::Kerf => "kerf",
        About::BoardLength => "board-length",
        About::BoardWidth => "board-width",
        About::LandsThick => "lands-thick",
        About::LandsDeep => "lands-deep",
        About::Bevel => "bevel",
        About::PrinterName => "printer-name",
        About::PrinterAcross => "printer-across",
        About::PrinterDown => "printer-down",
    }
}

fn title(sight: &Sight, typing: &Typing) -> String {
    let mark = match sight.document.mark(typing.of) {
        None if sight.document.is_part(typing.of) => sight.document.letter(typing.of),
        _ => sight.mark_named(typing.of),
    };
    if let Some(drawn) = drawn_bar(sight, typing.about) {
        return sight.say(&Say::new(format!("entry.{}", name(typing.about))).length("drawn", drawn));
    }
    sight.say(&Say::new(format!("entry.{}", name(typing.about))).text("mark", mark))
}

fn pad(about: About) -> Pad {
    match about {
        About::Length
        | About::Build
        | About::PlusMinus
        | About::Width
        | About::Height
        | About::BoxFront
        | About::BoxEnd
        | About::BoxUpright
        | About::Back
        | About::Away
        | About::PaperWidth
        | About::PaperHeight
        | About::Margin
        | About::Lap
        | About::JointDepth
        | About::Planed
        | About::OwnLength
        | About::OwnWidth
        | About::BoughtAcross
        | About::BoughtThick
        | About::Kerf
        | About::BoardLength
        | About::BoardWidth
        | About::LandsThick
        | About::LandsDeep
        | About::PrinterAcross
        | About::PrinterDown => Pad::Length,
        About::BuildScale
        | About::BuildPercent
        | About::DrawingScale
        | About::Resolution
        | About::Weight
        | About::Load
        | About::Moisture
        | About::Bevel
        | About::MarkNumber => Pad::Number,
        About::Paper
        | About::PartStock
        | About::PartEnds
        | About::Vane
        | About::Thing
        | About::Bought
        | About::PartLargest
        | About::Work
        | About::RuleLength
        | About::RuleWidth => Pad::Choice,
        About::MarkName
        | About::ViewName
        | About::JobName
        | About::PartName
        | About::PrinterName
        | About::Caption => Pad::Text,
    }
}

fn unit(sight: &Sight, about: About) -> String {
    let metric = sight.units.style.is_metric();
    match pad(about) {
        Pad::Length => sight.word(if metric { "unit.mm" } else { "unit.in" }),
        _ if about == About::Weight => sight.word(if metric { "unit.grams" } else { "unit.ounces" }),
        _ if about == About::Load => sight.word(if metric { "unit.kg-m" } else { "unit.lb-ft" }),
        _ => String::new(),
    }
}

/// What the text reads as, or what is wrong with it; both empty while there is nothing to read.
fn read(sight: &Sight, typing: &Typing) -> (String, Option<EntryError>) {
    if WHOLE && matches!(typing.about, About::RuleLength | About::RuleWidth) {
        return (rules::reads(sight, typing.of, typing.about), None);
    }
    if WHOLE && typing.about == About::Bought {
        return (bought::reads(sight, typing.of), None);
    }
    if WHOLE && typing.about == About::PartLargest {
        return (super::fits::reads(sight, typing.of), None);
    }
    let text = typing.text.trim();
    if text.is_empty() {
        return (String::new(), None);
    }
    let wrong = |e: &Say| EntryError { text: sight.say(e), at: 0, len: typing.text.chars().count() };
    match typing.about {
        About::Caption if WHOLE => match read_caption(&sight.words.plain(&typing.text), sight.units.style) {
            Ok(sizes) => (super::captions::told(sight, &sizes), None),
            Err(e) => {
                (String::new(), Some(EntryError { text: sight.say(&e.say), at: e.at, len: e.len.max(1) }))
            }
        },
        About::BuildScale | About::DrawingScale => match scale(text) {
            Ok((a, b)) => {
                (sight.say(&Say::new("entry.reads-scale").with("a", short(a)).with("b", short(b))), None)
            }
            Err(e) => (String::new(), Some(wrong(&e))),
        },
        About::BuildPercent
        | About::Resolution
        | About::Weight
        | About::Load
        | About::Moisture
        | About::Bevel => match number(text.trim_end_matches(['%', '°'])) {
            Ok(_) => (text.to_owned(), None),
            Err(e) => (String::new(), Some(wrong(&e))),
        },
        About::MarkNumber => match whole(text) {
            Ok(_) => (text.to_owned(), None),
            Err(e) => (String::new(), Some(wrong(&e))),
        },
        About::MarkName
        | About::ViewName
        | About::JobName
        | About::PartName
        | About::RuleLength
        | About::RuleWidth
        | About::PrinterName
        | About::Paper
        | About::PartStock
        | About::PartEnds
        | About::Thing
        | About::Bought
        | About::PartLargest
        | About::Work
        | About::Vane => (text.to_owned(), None),
        _ => read_a_length(sight, &sight.words.plain(&typing.text)),
    }
}

fn short(v: f64) -> Arg {
    Arg::Number(v, if (v - libm::round(v)).abs() < 1e-9 { 0 } else { 2 })
}

fn read_a_length(sight: &Sight, text: &str) -> (String, Option<EntryError>) {
    let style = sight.units.style;
    match read_length(text, style) {
        Err(mut e) => {
            // What is wrong is told as it was typed.
            for (_, arg) in &mut e.say.args {
                if let Arg::Text(what) = arg {
                    *what = sight.words.plain(what);
                }
            }
            let error = EntryError { text: sight.say(&e.say), at: e.at, len: e.len.max(1) };
            (String::new(), Some(error))
        }
        Ok(_) => match apply::length(&Length::Text(text.to_owned()), style) {
            Ok(mm) => {
                let figure = sight.unrounded(mm).with_unit();
                (sight.say(&Say::new("entry.reads").text("figure", figure)), None)
            }
            Err(e) => {
                let len = text.chars().count();
                (String::new(), Some(EntryError { text: sight.say(&e), at: 0, len }))
            }
        },
    }
}

/// How a length was got: it sets the usual ±, which the key shows.
fn how(sight: &Sight, typing: &Typing) -> Vec<Key> {
    if typing.about != About::Length {
        return Vec::new();
    }
    [
        (How::Printed, "how.printed"),
        (How::Tape, "how.tape"),
        (How::Caption, "how.caption"),
        (How::Guess, "how.guess"),
    ]
    .map(|(h, key)| {
        say::key(sight, key, Intent::EntryHow { how: h }).labelled(sight.word(key)).pressed(typing.how == h)
    })
    .to_vec()
}

fn ways(sight: &Sight, typing: &Typing, readable: bool) -> Vec<Key> {
    let accept = |id: &str, way: Way| say::key(sight, id, Intent::Accept { way });
    // What was chosen of a part stands already.
    let chosen = pad(typing.about) == Pad::Choice && typing.about != About::Paper;
    let mut keys = vec![say::key(sight, if chosen { "part-done" } else { "dismiss" }, Intent::Dismiss)];
    match typing.about {
        About::Length => {
            let scaled = sight.reckoned.reading(typing.of).is_some_and(|r| r.scaled);
            let known = sight.document.mark(typing.of).is_some_and(|m| m.known.is_some());
            if scaled && !known {
                keys.push(accept("it-should-be", Way::Check));
            }
            keys.push(accept("it-is", Way::Is));
            keys.push(accept("i-want-it", Way::Want).main());
        }
        _ if pad(typing.about) == Pad::Choice => {}
        About::Caption if WHOLE => {
            keys.push(accept("caption-body", Way::Body));
            keys.push(accept("caption-whole", Way::Whole).main());
        }
        About::PaperWidth => {
            keys.push(accept("paper-roll", Way::Always));
            keys.push(accept("take-it", Way::Take).main());
        }
        About::PrinterAcross | About::PrinterDown => {
            if is_odd(sight, typing) {
                keys.push(accept("printer-always", Way::Always));
            }
            keys.push(accept("take-it", Way::Take).main());
        }
        About::Back => {
            keys.push(accept("stands-before", Way::Always));
            keys.push(accept("stands-behind", Way::Take).main());
        }
        About::BoxFront | About::BoxEnd | About::BoxUpright => {
            keys.push(accept("side-open", Way::Open));
            keys.push(accept("take-it", Way::Take).main());
        }
        About::LandsDeep => {
            keys.push(accept("not-let-in", Way::Open));
            keys.push(accept("take-it", Way::Take).main());
        }
        About::Width | About::Height => {
            if typing.about == About::Width {
                keys.push(accept("sides-open", Way::Open));
                keys.push(accept("only-height", Way::Skip));
            } else {
                keys.push(accept("side-open", Way::Open));
            }
            keys.push(accept("take-it", Way::Take).main());
        }
        _ => keys.push(accept("take-it", Way::Take).main()),
    }
    if !readable {
        // Nothing to take yet: only the way out stays, and the way to say that it isn't known.
        use About::{BoxEnd, BoxFront, BoxUpright, Height, LandsDeep, Width};
        let open = matches!(typing.about, Width | Height | LandsDeep | BoxFront | BoxEnd | BoxUpright);
        let stay = 1 + usize::from(open) + usize::from(typing.about == Width);
        keys.iter_mut().skip(stay).for_each(|k| k.intent = None);
    }
    keys
}

/// Sheets of paper by name, for four corners that are on the board.
fn choices(sight: &Sight, typing: &Typing) -> Vec<Key> {
    match typing.about {
        About::Length => {
            let mut all = coins(sight, typing.of);
            all.extend(captioned(sight, typing));
            return all;
        }
        About::Width => {}
        _ if !WHOLE => return Vec::new(),
        About::Height | About::BoxFront | About::BoxEnd | About::BoxUpright => {
            return captioned(sight, typing);
        }
        About::Paper => return super::lists::paper_choices(sight),
        About::PartStock => return super::material::stocks(sight, typing.of),
        About::Work => return super::rules::works(sight),
        About::PartLargest => return super::fits::choices(sight, typing.of),
        About::Bought => return bought::choices(sight, typing.of),
        About::PartEnds => return super::material::ends(sight, typing.of),
        About::Vane => return super::balance::choices(sight),
        About::Thing => return super::looks::choices(sight),
        About::RuleLength | About::RuleWidth => return rules::choices(sight, typing.of, typing.about),
        _ => return Vec::new(),
    }
    SHEETS_OFFERED
        .iter()
        .flat_map(|name| [(*name, Lies::Tall, "tall"), (*name, Lies::Wide, "wide")])
        .filter_map(|(name, lies, way)| {
            let sheet = Some((name.to_owned(), lies));
            let fact = square_on(sight.document, sight.hand, sheet, [None; 2], RectangleOf::Sheet).ok()?;
            let named = Say::new(format!("sheet.{way}")).text("sheet", sight.word(&format!("sheet.{name}")));
            Some(say::key(sight, &format!("sheet.{name}.{way}"), fact).labelled(sight.say(&named)))
        })
        .chain(captioned(sight, typing))
        .collect()
}

/// What a caption tells of it.
fn captioned(sight: &Sight, typing: &Typing) -> Vec<Key> {
    if WHOLE { super::captions::choices(sight, typing) } else { Vec::new() }
}

/// Coins, for something round: those of where the job's unit is used.
fn coins(sight: &Sight, mark: u32) -> Vec<Key> {
    if sight.document.mark(mark).is_none_or(|m| m.kind != Kind::Circle) {
        return Vec::new();
    }
    let metric = sight.units.style.is_metric();
    let here = COINS.iter().filter(|c| c.is_here(metric));
    let key = |coin: &Coin| {
        let (length, pm) = (Length::Mm { mm: coin.across }, Some(Length::Mm { mm: COIN_PM }));
        let fact = Intent::SetKnown { mark, length, how: How::Printed, pm, pulls: true };
        say::key(sight, coin.name, fact).labelled(sight.word(&format!("coin.{}", coin.name)))
    };
    here.map(key).collect()
}

/// How long the test sheet's bar is drawn that an entry asks about, mm.
fn drawn_bar(sight: &Sight, about: About) -> Option<f64> {
    if !WHOLE {
        return None;
    }
    let [across, down] = test_bars(sight.document)?;
    match about {
        About::PrinterAcross => Some(across),
        About::PrinterDown => Some(down),
        _ => None,
    }
}

/// What stands there is more than a printer is usually off by, and less than one ever is.
fn is_odd(sight: &Sight, typing: &Typing) -> bool {
    let measured = read_length(&sight.words.plain(&typing.text), sight.units.style).ok();
    let ends = drawn_bar(sight, typing.about).zip(measured);
    ends.is_some_and(|(drawn, mm)| {
        printer_factor(mm, drawn, false).is_err() && printer_factor(mm, drawn, true).is_ok()
    })
}
