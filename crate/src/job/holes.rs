//! What an outline's holes take off its area.

use super::document::Mark;
use super::reckon::clicks;
use crate::estimate::{Estimate, Source};
use crate::mark::{Measures, Quantity, measure};
use crate::view::ViewMap;
use crate::words::Say;

/// What is left of an outline's area without its holes. One that can't be measured is left out, and flagged.
pub fn holed(mut whole: Measures, mark: &Mark, map: &ViewMap) -> Measures {
    let mut from = mark.points.len();
    for hole in &mark.holes {
        let mut clicks = clicks(mark.id, hole);
        // Names of their own, after those of the ring before.
        for (i, click) in clicks.iter_mut().enumerate() {
            let i = u16::try_from(from + i).unwrap_or(u16::MAX);
            click.source = [Source::Click(mark.id, i, 0), Source::Click(mark.id, i, 1)];
        }
        from += hole.len();
        let area = measure(mark.kind, mark.ends, &clicks, &[], map).ok();
        match area.as_ref().and_then(|m| m.get(Quantity::Area)) {
            Some(area) => less(&mut whole, area),
            None => whole.flags.push(Say::new("mark.hole-unmeasured")),
        }
    }
    if !mark.holes.is_empty() {
        // Where it balances was found as if it had none.
        whole.all.retain(|m| !matches!(m.what, Quantity::BalanceAcross | Quantity::BalanceDown));
        whole.place = None;
    }
    whole
}

fn less(whole: &mut Measures, hole: &Estimate) {
    if let Some(m) = whole.all.iter_mut().find(|m| m.what == Quantity::Area) {
        m.value = Estimate::combine(m.value.value - hole.value, &[(1.0, &m.value), (-1.0, hole)]);
    }
}
