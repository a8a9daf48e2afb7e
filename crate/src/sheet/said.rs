//! The words that stand on sheets: the order's own sentences, filled in.

use super::order::Order;
use crate::order::Table;
use crate::quantity::{Direction, Step, Style, write_length, write_number, write_plus_minus};
use crate::words::{Arg, Say, fill};

/// An order's sentences, and how it tells lengths.
#[derive(Clone, Debug)]
pub struct Said {
    sentences: Table<String, String>,
    style: Style,
    step: Step,
    direction: Direction,
}

impl Said {
    /// Those of an order.
    pub fn of(order: &Order) -> Said {
        let sentences = order.words.iter().cloned().collect();
        Said { sentences, style: order.style, step: order.step, direction: order.direction }
    }

    /// Whether lengths are told in mm.
    pub fn is_metric(&self) -> bool {
        self.style == Style::Millimetres
    }

    /// A sentence with everything filled in. One that is missing shows its name, so that it is noticed.
    pub fn tell(&self, say: &Say) -> String {
        let sentence = self.sentences.get(say.key.as_str()).map_or(say.key.as_str(), String::as_str);
        fill(sentence, |slot| say.args.iter().find(|(name, _)| name == slot).map(|(_, arg)| self.arg(arg)))
    }

    /// A fixed word or sentence.
    pub fn word(&self, key: &str) -> String {
        self.tell(&Say::new(key))
    }

    /// A length with its unit, rounded as the order says.
    pub fn length(&self, mm: f64) -> String {
        write_length(mm, self.style, self.step, self.direction).with_unit()
    }

    fn arg(&self, arg: &Arg) -> String {
        match arg {
            Arg::Text(t) => t.clone(),
            Arg::Count(n) => n.to_string(),
            Arg::Length(mm) => self.length(*mm),
            Arg::PlusMinus(mm) => write_plus_minus(*mm, self.style).with_unit(),
            Arg::Number(v, decimals) => write_number(*v, *decimals).text,
            Arg::Say(s) => self.tell(s),
        }
    }
}
