//! Facts about a whirligig or a vane.

use super::super::document::Document;
use super::super::vane::VaneChoice;
use super::{MOST_MARKS, need_mark};
use crate::mark::Kind;
use crate::words::Say;

/// Nothing on a vane is heavier, kg.
const HEAVIEST: f64 = 1_000.0;

pub(super) fn set_vane(document: &mut Document, vane: &VaneChoice) -> Result<(), Say> {
    let point = |m: &u32| match need_mark(document, *m)?.kind {
        Kind::Point => Ok(()),
        _ => Err(Say::new("job.not-a-point")),
    };
    vane.pivot.iter().chain(&vane.hub).try_for_each(point)?;
    if vane.weights.len() + vane.sits.len() > MOST_MARKS {
        return Err(Say::new("job.not-a-fact"));
    }
    if !vane.weights.iter().all(|(_, kg)| *kg > 0.0 && *kg <= HEAVIEST) {
        return Err(Say::new("job.weight-absurd"));
    }
    if let Some(propeller) = &vane.propeller {
        propeller.check()?;
    }
    document.vane = vane.clone();
    Ok(())
}
