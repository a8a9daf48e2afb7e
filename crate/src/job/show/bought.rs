//! Things that are bought in set sizes: what a measured one may be, what follows from it, what to buy.

use super::cutting::{Cut, ask, figure, fine};
use super::rules::{self, Measured};
use super::{Sight, say};
use crate::job::intent::{About, Intent};
use crate::job::scene::{Key, Traced};
use crate::mark::Dimension;
use crate::part::rule::Side;
use crate::part::{Bought, Ware};
use crate::words::Say;

/// How large a part, or what a mark measures, is across as built, and the half-width of that, mm; nothing where no picture shows it.
pub fn measured(sight: &Sight, of: u32) -> Option<[f64; 2]> {
    let part = sight.document.hidden(of);
    if part.is_none() && sight.document.is_part(of) {
        return Measured::of(sight).outlined(of).map(|[_, width]| width);
    }
    let told = sight.told(part.map_or(Some(of), |h| h.round)?)?;
    let e = told.shown().filter(|_| told.what.dimension() == Dimension::Length)?;
    Some([e.value, e.half_width()])
}

/// What it measures.
pub fn reads(sight: &Sight, of: u32) -> String {
    let Some([mm, half]) = measured(sight, of) else { return sight.word("bought.unseen") };
    let say = Say::new("bought.reads").text("size", sight.unrounded(mm).with_unit());
    sight.say(&say.text("pm", sight.plus_minus(half).with_unit()))
}

/// "wheel 2 1⁄4 in".
pub fn named(sight: &Sight, bought: &Bought) -> String {
    let say = Say::new("bought.named").text("ware", sight.word(&format!("ware.{}", bought.ware.name())));
    sight.say(&say.text("size", fine(sight, bought.across)))
}

/// "1⁄16 in more than it measures"; nothing where it was never seen.
fn off(sight: &Sight, across: f64, mm: f64) -> String {
    let by = (across - mm).abs();
    let key = match across > mm {
        _ if by < 0.2 => "bought.just",
        true => "bought.more",
        false => "bought.less",
    };
    sight.say(&Say::new(key).text("by", fine(sight, by)))
}

/// What it may be bought as: the kind, then the sizes nearest to what was measured, or all there are.
pub fn choices(sight: &Sight, of: u32) -> Vec<Key> {
    let now = sight.document.bought(of);
    let seen = measured(sight, of).map(|[mm, _]| mm);
    let metric = sight.units.style.is_metric();
    let set = |id: String, label: String, bought: Option<Bought>| {
        say::key(sight, &id, Intent::SetBought { of, bought }).labelled(label)
    };
    // Before a size is chosen the nearest one stands, and says so.
    let first = |ware: Ware| {
        let near =
            seen.or(now.map(|b| b.across)).unwrap_or(ware.sizes(metric).first().copied().unwrap_or(1.0));
        ware.offered(near, metric).first().map(|across| Bought { ware, across: *across, thick: None })
    };
    let mut keys: Vec<Key> = Ware::ALL
        .iter()
        .map(|ware| {
            let on = now.is_some_and(|b| b.ware == *ware);
            let label = sight.word(&format!("ware.{}", ware.name()));
            set(format!("ware-{}", ware.name()), label, if on { None } else { first(*ware) }).pressed(on)
        })
        .collect();
    let Some(now) = now else { return keys };
    let mut sizes = seen.map_or_else(|| now.ware.sizes(metric), |mm| now.ware.offered(mm, metric));
    if !sizes.contains(&now.across) {
        sizes.push(now.across);
    }
    keys.extend(sizes.iter().map(|across| {
        let bought = Bought { across: *across, ..now };
        let told = [Some(named(sight, &bought)), seen.map(|mm| off(sight, *across, mm))];
        let label = told.into_iter().flatten().collect::<Vec<_>>().join(": ");
        set(format!("size-{}", libm::round(across * 100.0)), label, Some(bought))
            .pressed(*across == now.across)
    }));
    keys.push(ask(sight, "bought-across", of, About::BoughtAcross));
    if now.ware == Ware::Wheel {
        let thick = Say::new("key.bought-thick").text("size", fine(sight, now.thickness()));
        let thick = sight.say(&thick);
        keys.push(
            ask(sight, "bought-thick", of, About::BoughtThick).labelled(thick).pressed(now.thick.is_some()),
        );
    }
    keys
}

/// The part that an axle usually goes through: the first that is made.
pub fn through(sight: &Sight) -> Option<u32> {
    let made = |p: &u32| sight.document.bought(*p).is_none() && !sight.document.part(*p).left_out;
    sight.document.part_ids().find(made)
}

impl Cut<'_> {
    /// How long it is cut, and what that follows from; nothing for what is bought whole.
    fn bought_length(&self, sight: &Sight, bought: &Bought) -> Option<String> {
        if !bought.ware.is_cut() {
            return None;
        }
        let Some([[mm, half], _]) = self.size else { return Some(sight.word("bought.no-length")) };
        let from = match self.choice.rule(Side::Length) {
            Some(rule) => rules::whole(sight, rule),
            None => sight.word("bought.measured"),
        };
        let key = if half > 0.0 { "bought.length" } else { "bought.length-exact" };
        let say = Say::new(key).text("size", figure(sight, mm)).text("from", from);
        Some(sight.say(&say.text("pm", sight.plus_minus(half).with_unit())))
    }

    /// What is bought, how far that is from what was measured, and what follows from it; first what it is.
    pub fn bought_lines(&self, sight: &Sight) -> Vec<Traced> {
        let Some(bought) = self.choice.bought else { return Vec::new() };
        let leads = |about| Intent::AskPart { mark: self.id, about };
        let mut what = named(sight, &bought);
        if let Some(of) = measured(sight, self.id) {
            let say = Say::new("bought.for").text("what", what).text("off", off(sight, bought.across, of[0]));
            let say = say.text("size", sight.unrounded(of[0]).with_unit());
            what = sight.say(&say.text("pm", sight.plus_minus(of[1]).with_unit()));
        }
        let buy = Say::new("bought.buy").count("count", self.quantity as usize).text("what", what);
        let mut out = vec![Traced::to(sight.say(&buy), leads(About::Bought))];
        let long = self.bought_length(sight, &bought);
        out.extend(long.map(|text| Traced::to(text, leads(About::RuleLength))));
        let size = |key: &'static str, mm: f64| Say::new(key).text("size", fine(sight, mm));
        let say = match bought.ware {
            Ware::Wheel if bought.thick.is_some() => size("bought.thick", bought.thickness()),
            Ware::Wheel => size("bought.thick-usual", bought.thickness()),
            Ware::Bit => size("bought.bores", bought.across),
            _ => {
                let [least, most] = bought.hole().map(|mm| fine(sight, mm));
                size("bought.hole", bought.across).text("least", least).text("most", most)
            }
        };
        out.push(Traced::to(sight.say(&say), leads(About::Bought)));
        out
    }

    /// The same in one.
    pub fn bought_told(&self, sight: &Sight) -> String {
        self.bought_lines(sight).into_iter().map(|t| t.text).collect::<Vec<_>>().join(" ")
    }
}

/// What is bought and not cut, a line for each thing; `all` are all parts.
pub fn to_buy(sight: &Sight, all: &[Cut]) -> Vec<Traced> {
    let bought = all.iter().filter(|c| !c.choice.left_out && c.choice.bought.is_some());
    let line = |c: &Cut| {
        let say = Say::new("bought.line").text("letter", c.letter.clone()).text("name", c.name(sight));
        let text = sight.say(&say.text("what", c.bought_told(sight)));
        Traced::to(text, Intent::AskPart { mark: c.id, about: About::Bought })
    };
    let mut lines: Vec<Traced> = bought.map(line).collect();
    if !lines.is_empty() {
        lines.push(sight.word("bought.note").into());
    }
    lines
}
