//! What a person chose about parts as they are cut.

use super::document::Document;
use crate::part::stock::Offer;
use crate::part::{End, Goods, Joint, Species, Stock};
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

impl PartChoice {
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
    /// How the part `mark` is cut.
    pub fn part(&self, mark: u32) -> PartChoice {
        self.parts.iter().find(|(m, _)| *m == mark).map(|(_, c)| c.clone()).unwrap_or_default()
    }

    /// What the part `mark` is made of, and whose choice that is: its own, or (assumed) that of the part for which one was
    /// chosen first: that one stays the same when more is chosen.
    pub fn made(&self, mark: u32) -> Option<(u32, &Made)> {
        let chosen = |(m, c): &'_ (u32, PartChoice)| *m == mark && c.made.is_some();
        let own = self.parts.iter().find(|one| chosen(one));
        let there =
            |(m, c): &'_ (u32, PartChoice)| c.made.is_some() && !c.left_out && self.mark(*m).is_some();
        let (of, choice) = own.or_else(|| self.parts.iter().find(|one| there(one)))?;
        Some((*of, choice.made.as_ref()?))
    }
}
