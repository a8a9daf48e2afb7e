//! What a person chose about parts as they are cut.

use super::document::Document;
use crate::part::check::{Thing, Usual};
use crate::part::rule::{Side, Term, ring};
use crate::part::stock::Offer;
use crate::part::{Bought, End, Goods, Joint, Species, Stock};
use crate::words::Say;
use serde::{Deserialize, Serialize};

/// How a part (an outline) is cut.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct PartChoice {
    /// It isn't a part to be cut: the cutting list leaves it out.
    #[serde(default)]
    pub left_out: bool,
    /// What it is made of, where a person said so.
    #[serde(default)]
    pub made: Option<Made>,
    /// The joints at its ends along the grain.
    #[serde(default)]
    pub ends: [End; 2],
    /// It is a shelf: its sag is told.
    #[serde(default)]
    pub shelf: bool,
    /// What lies on the shelf, N for each mm; nothing for books.
    #[serde(default)]
    pub load: Option<f64>,
    /// A strip along the shelf's front edge, its thickness and how deep it hangs below, mm.
    #[serde(default)]
    pub front_edge: Option<[f64; 2]>,
    /// What its length and its width follow from, instead of being measured; nothing where no rule was made.
    #[serde(default)]
    pub rules: [Vec<Term>; 2],
    /// It is bought in a size of its own, not cut from stock.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(optional))]
    pub bought: Option<Bought>,
    /// It was altered on purpose: it differs from what is pictured.
    #[serde(default)]
    pub altered: bool,
}

/// What is built, and what is to be looked at.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts", rename = "AboutIt"))]
pub struct About {
    /// What it is, where that has usual sizes or cautions.
    #[serde(default)]
    pub thing: Option<Thing>,
    /// Which length tells which size.
    #[serde(default)]
    pub tells: Vec<(Usual, u32)>,
    /// Sizes are told at so many times the size to build as well.
    #[serde(default)]
    pub compare: Option<f64>,
    /// In which order the parts are listed.
    #[serde(default, skip_serializing_if = "Sort::is_usual")]
    #[cfg_attr(test, ts(optional, as = "Option<Sort>"))]
    pub sort: Sort,
    /// By so much does the moisture of the wood change in use, per cent; nothing for the usual.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(optional))]
    pub moisture: Option<f64>,
}

/// In which order parts are listed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
#[serde(rename_all = "kebab-case")]
pub enum Sort {
    /// By their letters.
    #[default]
    Letter,
    /// Those of one stock together, the longest first.
    Stock,
    /// The longest first.
    Longest,
}

impl Sort {
    fn is_usual(&self) -> bool {
        *self == Sort::Letter
    }

    /// The next way, and its name in the words file, after `key.`.
    pub fn next(self) -> (Sort, &'static str) {
        match self {
            Sort::Letter => (Sort::Stock, "sort-letter"),
            Sort::Stock => (Sort::Longest, "sort-stock"),
            Sort::Longest => (Sort::Letter, "sort-longest"),
        }
    }
}

/// A part that no outline shows.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hidden {
    /// Its id, one of the marks'.
    pub id: u32,
    /// Its name; empty until named.
    pub name: String,
    /// The mark that measures it: a bought thing that is no outline.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub round: Option<u32>,
}

/// What a part is made of. Its thickness follows from that, never from a picture.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct Made {
    /// What is sold.
    pub goods: Goods,
    /// Which thickness of it, by name.
    pub stock: String,
    /// Planed down to so many mm; nothing for stock as it is sold.
    #[serde(default)]
    pub planed: Option<f64>,
    /// The species, where it is known.
    #[serde(default)]
    pub species: Option<Species>,
    /// The length on the picture by which it was chosen: its edge.
    #[serde(default)]
    pub edge: Option<u32>,
}

impl Made {
    /// From stock as it is sold.
    pub fn of(stock: Stock) -> Made {
        Made { goods: stock.goods, stock: stock.name.to_owned(), planed: None, species: None, edge: None }
    }

    /// From what was offered for a measured edge.
    pub fn offered(offer: &Offer, edge: u32) -> Made {
        Made { planed: offer.planed, edge: Some(edge), ..Made::of(offer.stock) }
    }

    /// The row of its table.
    pub fn row(&self) -> Option<Stock> {
        self.goods.stock(&self.stock)
    }

    /// How thick the part is, mm.
    pub fn thickness(&self) -> Option<f64> {
        self.planed.or_else(|| self.row().map(|s| s.actual))
    }
}

/// A, B, … Z, AA, AB, …
pub fn letter(i: usize) -> String {
    let one = |k: usize| char::from(b'A' + u8::try_from(k % 26).unwrap_or(0));
    if i < 26 { one(i).to_string() } else { format!("{}{}", letter(i / 26 - 1), one(i)) }
}

impl PartChoice {
    /// The rule for one of its sides; nothing where there is none, or it follows from stock.
    pub fn rule(&self, side: Side) -> Option<&Vec<Term>> {
        let [length, width] = &self.rules;
        let rule = match side {
            Side::Length => length,
            Side::Width => width,
            Side::Thickness => return None,
        };
        (!rule.is_empty()).then_some(rule)
    }

    /// The same with another rule for one of its sides.
    #[must_use]
    pub fn ruled(mut self, side: Side, rule: Vec<Term>) -> PartChoice {
        let [length, width] = &mut self.rules;
        match side {
            Side::Length => *length = rule,
            Side::Width => *width = rule,
            Side::Thickness => {}
        }
        self
    }

    /// The same with a figure from the keypad: how deep its joints go, or how thick it is planed; `made` is what it is made of
    /// now.
    ///
    /// # Errors
    /// `cut.no-stock` for a thickness before there is stock.
    pub fn with_figure(self, made: Option<&Made>, joints: bool, mm: f64) -> Result<PartChoice, Say> {
        if joints {
            let deep = |e: End| End { depth: if e.joint == Joint::None { 0.0 } else { mm }, ..e };
            return Ok(PartChoice { ends: self.ends.map(deep), ..self });
        }
        let made = made.ok_or_else(|| Say::new("cut.no-stock"))?.clone();
        Ok(PartChoice { made: Some(Made { planed: Some(mm), ..made }), ..self })
    }
}

impl Document {
    /// The part that no outline shows.
    pub fn hidden(&self, id: u32) -> Option<&Hidden> {
        self.hidden.iter().find(|h| h.id == id)
    }

    /// The part that a mark measures, or the part of that id.
    pub fn part_of(&self, of: u32) -> Option<u32> {
        let measured = || self.hidden.iter().find(|h| h.round == Some(of)).map(|h| h.id);
        if self.is_part(of) { Some(of) } else { measured() }
    }

    /// What a part, or that which a mark measures, is bought as.
    pub fn bought(&self, of: u32) -> Option<Bought> {
        let part = self.part_of(of)?;
        self.parts.iter().find(|(m, _)| *m == part).and_then(|(_, c)| c.bought)
    }

    /// Whether there is such a part, seen or hidden.
    pub fn is_part(&self, id: u32) -> bool {
        self.hidden(id).is_some() || self.mark(id).is_some_and(|m| m.kind == crate::mark::Kind::Outline)
    }

    /// Every part's id, in the order of their letters: those that are outlined, then the hidden ones.
    pub fn part_ids(&self) -> impl Iterator<Item = u32> + '_ {
        use crate::mark::Kind::Outline;
        let seen = self.marks.iter().filter(|m| m.kind == Outline && m.points.len() >= 3).map(|m| m.id);
        seen.chain(self.hidden.iter().map(|h| h.id))
    }

    /// A part's letter; empty where there is no such part.
    pub fn letter(&self, id: u32) -> String {
        self.part_ids().position(|p| p == id).map_or_else(String::new, letter)
    }

    /// The sides that a side of a part rests on, by its rule.
    fn needs(&self, id: u32, side: Side) -> Vec<(u32, Side)> {
        let terms = self.parts.iter().find(|(m, _)| *m == id).and_then(|(_, c)| c.rule(side));
        terms.into_iter().flatten().filter_map(|t| Some((t.part?, t.side))).collect()
    }

    /// The letters of parts whose rules run in a ring through `id`.
    pub fn circle(&self, id: u32) -> Option<String> {
        let found =
            [Side::Length, Side::Width].into_iter().find_map(|s| ring((id, s), &|p, s| self.needs(p, s)))?;
        let mut letters: Vec<String> = found.iter().map(|p| self.letter(*p)).collect();
        letters.extend(letters.first().cloned());
        Some(letters.join(" → "))
    }

    /// How the part `mark` is cut.
    pub fn part(&self, mark: u32) -> PartChoice {
        self.parts.iter().find(|(m, _)| *m == mark).map(|(_, c)| c.clone()).unwrap_or_default()
    }

    /// What the part `mark` is made of, and whose choice that is: its own, or (assumed) that of the part for which one was
    /// chosen first: that one stays the same when more is chosen.
    pub fn made(&self, mark: u32) -> Option<(u32, &Made)> {
        let own = self.parts.iter().find(|(m, _)| *m == mark).and_then(|(_, c)| c.made.as_ref());
        own.map(|made| (mark, made)).or_else(|| self.assumed())
    }

    /// What a part without a choice is taken to be made of, and whose choice that is.
    pub fn assumed(&self) -> Option<(u32, &Made)> {
        let there = |(m, c): &'_ &(u32, PartChoice)| c.made.is_some() && !c.left_out && self.is_part(*m);
        let (of, choice) = self.parts.iter().find(there)?;
        Some((*of, choice.made.as_ref()?))
    }
}
