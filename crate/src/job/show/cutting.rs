//! The cutting list: each part as it is cut, from what stock, and where each of its sizes comes from.

use super::order::{part_name, parts};
use super::rules::{self, Measured, rounded};
use super::{Sight, say};
use crate::job::document::{Grain, Mark};
use crate::job::intent::{About, Intent, Role};
use crate::job::layout::lot_of;
use crate::job::parts::{Made, PartChoice, Sort, letter};
use crate::job::reckon::Reading;
use crate::job::scene::Traced;
use crate::mark::{Kind, Quantity};
use crate::part::blank::chokes;
use crate::part::rule::Side;
use crate::part::{Blank, Goods, Joint, Stock};
use crate::quantity::{Direction, Figure, Step, write_length};
use crate::sheet::order::Hand;
use crate::words::Say;

/// One line of the list.
pub struct Cut<'a> {
    pub letter: String,
    /// Its id.
    pub id: u32,
    /// Its outline, and what that reads; nothing of a part that no outline shows.
    pub seen: Option<(&'a Mark, &'a Reading)>,
    pub choice: PartChoice,
    /// How many are cut: of a pair both.
    pub quantity: u32,
    /// Along the grain and across it, unrounded, each with its ±, mm; nothing while the size isn't known.
    pub size: Option<[[f64; 2]; 2]>,
    /// Which part's choice of stock it is, and the choice.
    pub made: Option<(u32, &'a Made)>,
    /// All that is to be reckoned, or why it can't be.
    pub blank: Result<Blank, Say>,
}

/// Every part that is to be cut.
pub fn cuts<'a>(sight: &'a Sight) -> Vec<Cut<'a>> {
    let mut all = all(sight);
    all.retain(Cut::is_cut);
    all
}

/// Every part, whether it is to be cut or not, in the order that was chosen.
pub fn all<'a>(sight: &'a Sight) -> Vec<Cut<'a>> {
    let measured = Measured::of(sight);
    let assumed = sight.document.assumed();
    let seen = parts(sight).map(|(letter, mark, reading)| (letter, mark.id, Some((mark, reading))));
    // Those that no outline shows have the last letters.
    let hidden = &sight.document.hidden;
    let outlined = sight.document.part_ids().count() - hidden.len();
    let hidden = hidden.iter().enumerate().map(|(i, h)| (letter(outlined + i), h.id, None));
    let mut all: Vec<Cut> = seen
        .chain(hidden)
        .map(|(letter, id, seen)| cut(sight, &measured, assumed, letter, id, seen))
        .collect();
    let long = |c: &Cut| c.blank.as_ref().ok().and_then(|b| b.cut().ok()).unwrap_or(0.0);
    let longest = |a: &Cut, b: &Cut| long(b).total_cmp(&long(a));
    match sight.document.about.sort {
        Sort::Letter => {}
        Sort::Longest => crate::order::sort_by(&mut all, longest),
        Sort::Stock => {
            let stock = |c: &Cut| c.made.map(|(_, made)| lot_of(made)).unwrap_or_default();
            crate::order::sort_by(&mut all, |a, b| stock(a).cmp(&stock(b)).then(longest(a, b)));
        }
    }
    all
}

fn cut<'a>(
    sight: &'a Sight,
    measured: &Measured,
    assumed: Option<(u32, &'a Made)>,
    letter: String,
    id: u32,
    seen: Option<(&'a Mark, &'a Reading)>,
) -> Cut<'a> {
    let pattern = sight.document.pattern(id);
    let size = measured.both(sight, id);
    let pair = if pattern.hand == Hand::Pair { 2 } else { 1 };
    let choice = measured.choice(sight, id);
    let made = choice.and_then(|c| c.made.as_ref()).map(|made| (id, made)).or(assumed);
    let choice = choice.cloned().unwrap_or_default();
    let quantity = pattern.quantity.saturating_mul(pair);
    let blank = size.clone().and_then(|s| blank(sight, &s, made.map(|(_, m)| m), quantity, &choice));
    Cut { letter, id, seen, choice, quantity, size: size.ok(), made, blank }
}

fn blank(
    sight: &Sight,
    [length, width]: &[[f64; 2]; 2],
    made: Option<&Made>,
    quantity: u32,
    choice: &PartChoice,
) -> Result<Blank, Say> {
    let made = made.ok_or_else(|| Say::new("cut.no-stock"))?;
    let stock = made.row().ok_or_else(|| Say::new("cut.no-stock"))?;
    // What is sawn is the rounded size, so that the figures of the list add up.
    let [shoulder, width] = [length, width].map(|[mm, _]| rounded(sight, *mm));
    let blank = Blank { shoulder, width, quantity, stock, planed: made.planed, ends: choice.ends };
    blank.cut()?;
    blank.thickness()?;
    Ok(blank)
}

/// A thickness or a joint, told as finely as a tape shows it whatever the step: 23/32 is not 3/4.
pub fn fine(sight: &Sight, mm: f64) -> String {
    fine_figure(sight, mm).with_unit()
}

fn fine_figure(sight: &Sight, mm: f64) -> Figure {
    let finest = if sight.units.style.is_metric() { Step::TenthMm } else { Step::SixtyFourth };
    sight.set(write_length(mm, sight.units.style, finest, Direction::Nearest))
}

/// A length rounded as the person wants it, with its unit.
pub fn figure(sight: &Sight, mm: f64) -> String {
    sight.length(mm).with_unit()
}

/// Stock by its name and how it measures: "planed softwood 1 (3⁄4 in)".
pub fn stock_named(sight: &Sight, stock: &Stock) -> String {
    let known = sight.stocks.borrow().iter().find(|(one, _)| one == stock).map(|(_, told)| told.clone());
    known.unwrap_or_else(|| {
        let told = tell_stock(sight, stock);
        sight.stocks.borrow_mut().push((*stock, told.clone()));
        told
    })
}

fn tell_stock(sight: &Sight, stock: &Stock) -> String {
    let say = Say::new("cut.stock").text("goods", sight.word(&format!("goods.{}", stock.goods.name())));
    sight.say(&say.text("stock", stock_alone(sight, stock)))
}

/// The same without what it is: "1 (3⁄4 in)". Quarters of an inch are no fraction: 5/4 is called "five quarter".
pub fn stock_alone(sight: &Sight, stock: &Stock) -> String {
    let quarters = matches!(stock.goods, Goods::Rough | Goods::Surfaced);
    let name = if quarters { stock.name.to_owned() } else { stock.name.replace('/', "⁄") };
    format!("{name} ({})", fine(sight, stock.actual))
}

impl Cut<'_> {
    /// It is a piece to be cut: not left out, and not bought.
    pub fn is_cut(&self) -> bool {
        !self.choice.left_out && self.choice.bought.is_none()
    }

    pub fn name(&self, sight: &Sight) -> String {
        match (self.seen, sight.document.hidden(self.id)) {
            (Some((mark, reading)), _) => part_name(sight, mark, reading),
            (None, Some(hidden)) if !hidden.name.is_empty() => hidden.name.clone(),
            _ if self.choice.bought.is_some() => {
                sight.word(&format!("ware.{}", self.choice.bought.map_or("", |b| b.ware.name())))
            }
            _ => sight.word("part.hidden"),
        }
    }

    /// How thick it is, mm, where that was chosen or assumed.
    pub fn thickness(&self) -> Option<f64> {
        self.made.and_then(|(_, made)| made.thickness())
    }

    /// Thickness, width, length as told; in mm length comes first. What isn't known is a dash.
    pub fn sizes(&self, sight: &Sight) -> String {
        self.each_size(sight).map(|(text, _)| text).join(" × ")
    }

    /// Each of them by itself, and which it is.
    fn each_size(&self, sight: &Sight) -> [(String, Side); 3] {
        let told = |[mm, _]: &[f64; 2]| sight.length(*mm);
        let [length, width] =
            self.size.as_ref().map_or([None, None], |[l, w]| [Some(told(l)), Some(told(w))]);
        let thick = self.thickness().map(|mm| fine_figure(sight, mm));
        let told = |side: Side, last: bool| {
            let figure = match side {
                Side::Length => &length,
                Side::Width => &width,
                Side::Thickness => &thick,
            };
            let text = figure.as_ref().map(|f| if last { f.with_unit() } else { f.text.clone() });
            (text.unwrap_or_else(|| "—".to_owned()), side)
        };
        let [first, last] = if sight.units.style.is_metric() {
            [Side::Length, Side::Thickness]
        } else {
            [Side::Thickness, Side::Length]
        };
        [told(first, false), told(Side::Width, false), told(last, true)]
    }

    /// What a side comes from: its rule, its mark, its stock.
    fn comes(&self, side: Side) -> Intent {
        let ask = |about| Intent::AskPart { mark: self.id, about };
        match (side, self.choice.rule(side), self.seen) {
            (Side::Thickness, ..) => ask(About::PartStock),
            (_, None, Some((mark, _))) => Intent::Select { mark: Some(mark.id) },
            (Side::Length, ..) => ask(About::RuleLength),
            (Side::Width, ..) => ask(About::RuleWidth),
        }
    }

    /// The length to cut; nothing where it can't be reckoned.
    pub fn length(&self, sight: &Sight) -> String {
        let cut = self.blank.as_ref().ok().and_then(|b| b.cut().ok());
        cut.map_or_else(String::new, |mm| {
            // A joint may be finer than the step.
            if self.is_jointed() { fine(sight, mm) } else { figure(sight, mm) }
        })
    }

    fn is_jointed(&self) -> bool {
        self.choice.ends.iter().any(|e| e.joint != Joint::None)
    }

    fn joints(&self, sight: &Sight) -> Vec<String> {
        let ends = self.choice.ends.iter().filter(|e| e.joint != Joint::None);
        let told = ends.map(|e| {
            let joint = sight.word(&format!("joint.{}", e.joint.name()));
            sight.say(&Say::new("cut.joint").text("joint", joint).text("depth", fine(sight, e.depth)))
        });
        told.collect()
    }

    /// Why it is cut so long: what shows, and each joint.
    pub fn reason(&self, sight: &Sight) -> String {
        match &self.blank {
            Ok(blank) if self.is_jointed() => {
                let shoulder = Say::new("cut.shoulder").text("size", figure(sight, blank.shoulder));
                [vec![sight.say(&shoulder)], self.joints(sight)].concat().join(" + ")
            }
            _ => String::new(),
        }
    }

    /// What it is made of.
    pub fn material(&self, sight: &Sight) -> String {
        let Some((_, made)) = self.made else { return String::new() };
        let stock = made.row().map(|s| stock_named(sight, &s));
        let key = if made.goods.is_sheet() { "cut.measures" } else { "cut.planed" };
        let planed = made.planed.map(|mm| sight.say(&Say::new(key).text("size", fine(sight, mm))));
        let species = made.species.map(|s| sight.word(&format!("species.{}", s.name())));
        stock.into_iter().chain(planed).chain(species).collect::<Vec<_>>().join(", ")
    }

    /// Which way its grain runs.
    pub fn grain(&self, sight: &Sight) -> String {
        let sheet = self.made.is_some_and(|(_, m)| m.goods.is_sheet());
        match sight.document.pattern(self.id).grain {
            Grain::None => sight.word("cut.grain-none"),
            _ if sheet => sight.word("cut.grain-face"),
            _ => sight.word("cut.grain-length"),
        }
    }

    /// Where each size comes from: measured, assumed, chosen.
    pub fn from(&self, sight: &Sight) -> Vec<String> {
        self.traced(sight).into_iter().map(|t| t.text).collect()
    }

    /// The same, each with what it leads to.
    fn traced(&self, sight: &Sight) -> Vec<Traced> {
        let mut out = Vec::new();
        // Both are as good as one another.
        let ruled = [Side::Length, Side::Width].map(|side| self.choice.rule(side));
        if let (Some([[_, half], _]), Some((mark, _)), [None, None]) = (self.size, self.seen, ruled) {
            let pm = sight.plus_minus(half).with_unit();
            let say = Say::new("cut.measured").count("mark", mark.number as usize);
            out.push(Traced::to(sight.say(&say.text("pm", pm)), self.comes(Side::Length)));
        } else {
            let sizes = self.size.map(|s| s.map(Some)).unwrap_or_default();
            let each = [("cut.length", Side::Length), ("cut.width", Side::Width)];
            for ((rule, size), (key, side)) in ruled.iter().zip(sizes).zip(each) {
                let pm = |[_, half]: [f64; 2]| sight.plus_minus(half).with_unit();
                let from = match (rule, self.seen) {
                    (Some(rule), _) => Say::new("cut.ruled").text("rule", rules::whole(sight, rule)),
                    (None, Some((mark, _))) => Say::new("cut.from-mark").count("mark", mark.number as usize),
                    (None, None) => Say::new("rule.none"),
                };
                let say = Say::new(key).text("from", sight.say(&from));
                let text = sight.say(&say.text("pm", size.map_or_else(String::new, pm)));
                out.push(Traced::to(text, self.comes(side)));
            }
        }
        out.push(self.thickness_from(sight));
        out
    }

    fn thickness_from(&self, sight: &Sight) -> Traced {
        let stock = |mark| Intent::AskPart { mark, about: About::PartStock };
        let Some((of, made)) = self.made else {
            return Traced::to(sight.word("cut.thickness-none"), stock(self.id));
        };
        if of != self.id {
            let say = Say::new("cut.thickness-assumed").text("letter", sight.document.letter(of));
            return Traced::to(sight.say(&say), stock(of));
        }
        let edge = made.edge.and_then(|m| sight.told(m)).and_then(|t| Some((t.mark, t.shown()?)));
        match edge {
            Some((mark, e)) => {
                let number = sight.document.mark(mark).map_or(0, |m| m.number as usize);
                let say = Say::new("cut.thickness-edge").count("mark", number);
                let say = say.text("reads", sight.unrounded(e.value).with_unit());
                let pm = sight.plus_minus(e.half_width()).with_unit();
                Traced::to(sight.say(&say.text("pm", pm)), Intent::Select { mark: Some(mark) })
            }
            None => Traced::to(sight.word("cut.thickness-chosen"), stock(self.id)),
        }
    }

    /// What else should be known of it: why it can't be reckoned, how it moves, how it sags.
    pub fn notes(&self, sight: &Sight) -> Vec<String> {
        self.noted(sight).into_iter().map(|t| t.text).collect()
    }

    /// The same, each with what it leads to.
    fn noted(&self, sight: &Sight) -> Vec<Traced> {
        let ask = |about| Intent::AskPart { mark: self.id, about };
        let mut out: Vec<Traced> = Vec::new();
        if sight.document.pattern(self.id).hand == Hand::Pair {
            out.push(sight.word("cut.pair").into());
        }
        if self.choice.altered {
            let near = rules::neighbours(sight, self.id);
            let key = if near.is_empty() { "cut.altered" } else { "cut.altered-near" };
            out.push(sight.say(&Say::new(key).text("letters", near.join(", "))).into());
        }
        let carcase = self
            .size
            .filter(|[_, [width, _]]| *width >= CARCASE && self.choice.rules.iter().all(Vec::is_empty));
        if let (Some([[long, _], [wide, _]]), Some((_, reading))) = (carcase, self.seen)
            && let Some(mm) = across(sight, reading, [long, wide])
        {
            let text = sight.say(&Say::new("cut.diagonal").text("size", figure(sight, mm)));
            out.push(Traced::to(text, self.comes(Side::Length)));
        }
        match &self.blank {
            Err(why) => out.push(Traced::to(sight.say(why), ask(About::PartStock))),
            Ok(blank) => {
                let stock = |text: String| Traced::to(text, ask(About::PartStock));
                out.extend(super::use_of::glued(sight, blank).map(stock));
                if let Some((_, made)) = self.made {
                    out.extend(super::use_of::moves(sight, blank, made.species).map(stock));
                    if self.choice.shelf {
                        let sags = super::use_of::sags(sight, blank, made.species, &self.choice);
                        out.extend(sags.map(|text| Traced::to(text, ask(About::PartEnds))));
                    }
                }
            }
        }
        out
    }

    /// What it takes of its stock, before waste.
    pub fn amount(&self, sight: &Sight) -> String {
        let net = |b: &Blank| Some((b.net().ok()?, b.stock.goods));
        let Some((net, goods)) = self.blank.as_ref().ok().and_then(net) else { return String::new() };
        super::buy::amount(sight, net, goods)
    }

    /// The lines that stand under it on the page, piece by piece, each with what it leads to.
    pub fn lines(&self, sight: &Sight) -> Vec<Vec<Traced>> {
        let ask = |about| Intent::AskPart { mark: self.id, about };
        if self.choice.bought.is_some() {
            return self.bought_lines(sight).into_iter().map(|one| vec![one]).collect();
        }
        let sizes = self.each_size(sight).into_iter().enumerate().map(|(i, (text, side))| {
            let first = || sight.say(&Say::new("cut.sizes").text("sizes", text.clone()));
            Traced::to(if i == 0 { first() } else { format!("× {text}") }, self.comes(side))
        });
        let mut out = vec![sizes.collect()];
        if self.made.is_some() {
            let stock = [self.material(sight), self.amount(sight)].join("; ");
            out.push(vec![Traced::to(stock, ask(About::PartStock))]);
        }
        let reason = self.reason(sight);
        if !reason.is_empty() {
            let text = sight.say(&Say::new("cut.cut").text("cut", self.length(sight)).text("why", reason));
            out.push(vec![Traced::to(text, ask(About::PartEnds))]);
        }
        out.extend(self.traced(sight).into_iter().chain(self.noted(sight)).map(|one| vec![one]));
        out
    }

    /// Its greatest height as it stands on its view, mm, where the view shows it standing.
    pub fn stands(&self, sight: &Sight) -> Option<f64> {
        let (mark, reading) = self.seen?;
        let view = sight.document.view(reading.view)?;
        let upright = matches!(view.role, Role::Front | Role::Side);
        if !upright {
            return None;
        }
        let line = mark.line();
        // As it lies on its view: by how much its own pattern is turned is nothing to that.
        let ground = super::order::Ground::under(sight, reading, &line, 0.0)?;
        let line: Vec<_> = line.iter().filter_map(|p| ground.whole(*p)).collect();
        let [_, top, _, bottom] = crate::plane::bounds(line.iter());
        Some(bottom - top)
    }

    /// Whether a child may choke on it.
    fn is_small(&self) -> bool {
        let thick = self.thickness();
        self.size.as_ref().zip(thick).is_some_and(|([l, w], t)| chokes([l[0], w[0], t]))
    }
}

/// A frame is proved by its diagonals from this width on, mm; narrower boards are square by the saw. Ours, no source.
const CARCASE: f64 = 300.0;
/// What fills this share of the box round it is a rectangle: edges that were touched by hand lie that near. Ours, no source.
const RECTANGLE: f64 = 0.985;

/// How long the diagonals of a rectangle are, from its sides as they are sawn, mm; nothing for any other outline.
///
/// # References
/// Pythagoras: 72 × 32 in gives 78.79.
pub fn diagonal(sight: &Sight, mark: &Mark) -> Option<f64> {
    let reading = sight.reckoned.reading(mark.id).filter(|_| mark.kind == Kind::Outline)?;
    let [[long, _], [wide, _]] = super::order::sides(sight, mark, reading)?;
    across(sight, reading, [long, wide])
}

/// The same where its sides are known, mm.
fn across(sight: &Sight, reading: &Reading, [long, wide]: [f64; 2]) -> Option<f64> {
    let area = super::order::finished(sight, reading, Quantity::Area)?.value;
    (area >= RECTANGLE * long * wide).then(|| libm::hypot(rounded(sight, long), rounded(sight, wide)))
}

/// From this height on a thing is to be fastened to the wall, mm: 27 in, from memory of a standard for chests of drawers.
const TALL: f64 = 27.0 * 25.4;

/// The cautions that apply to a list.
pub fn cautions(sight: &Sight, cuts: &[Cut]) -> Vec<String> {
    let mut out = vec![sight.word("caution.machines")];
    if cuts.iter().any(|c| c.stands(sight).is_some_and(|mm| mm >= TALL)) {
        out.push(sight.say(&Say::new("caution.tall").text("size", fine(sight, TALL))));
    }
    if cuts.iter().any(|c| c.choice.shelf) {
        out.push(sight.word("caution.likeness"));
    }
    let small: Vec<&str> = cuts.iter().filter(|c| c.is_small()).map(|c| c.letter.as_str()).collect();
    if !small.is_empty() {
        out.push(sight.say(&Say::new("caution.small").text("letters", small.join(", "))));
    }
    out.push(sight.word("caution.codes"));
    out
}

/// The key that opens what a part is asked about.
pub fn ask(sight: &Sight, id: &str, mark: u32, about: About) -> crate::job::scene::Key {
    say::key(sight, id, Intent::AskPart { mark, about })
}
