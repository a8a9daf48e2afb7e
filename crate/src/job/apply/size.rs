//! Facts about what is known, what is wanted, and how it is told.

use super::super::document::{Build, Document, Pair, TrueLength, Units};
use super::super::intent::{How, Intent, Length};
use super::{length, mark_mut, name, need_mark};
use crate::mark::{Kind, need};
use crate::words::Say;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    match fact {
        Intent::SetKnown { mark, length: given, how, pm, pulls } => {
            set_known(document, *mark, given, *how, pm.as_ref(), *pulls)
        }
        Intent::ClearKnown { mark } => mark_mut(document, *mark).map(|m| m.known = None),
        Intent::Chain { marks } => chain(document, marks),
        Intent::TakeUp { mark, on } => {
            let Some(chain) = document.chains.iter().find(|c| c.contains(mark)) else {
                need_mark(document, *mark)?;
                return Err(Say::new("job.no-chain"));
            };
            // One of a chain does.
            document.takers.retain(|t| !chain.contains(t));
            if *on {
                document.takers.push(*mark);
            }
            Ok(())
        }
        Intent::Unchain { mark } => {
            need_mark(document, *mark)?;
            let (gone, stay): (Vec<_>, Vec<_>) = document.chains.drain(..).partition(|c| c.contains(mark));
            document.takers.retain(|t| !gone.iter().any(|c| c.contains(t)));
            document.chains = stay;
            Ok(())
        }
        Intent::SameThing { marks, same } => same_thing(document, *marks, *same),
        Intent::SetBuild { mark, length: given } => {
            let mm = length(given, document.units.style)?;
            need_length(document, *mark)?;
            document.build = Build::Wanted { mark: *mark, mm };
            Ok(())
        }
        Intent::SetBuildRatio { finished, real } if *finished > 0.0 && *real > 0.0 => {
            set_ratio(document, *finished / *real)
        }
        Intent::SetBuildRatio { .. } => Err(Say::new("job.scale-absurd")),
        Intent::SetBuildPercent { percent } => set_ratio(document, *percent / 100.0),
        Intent::ClearBuild => {
            document.build = Build::None;
            Ok(())
        }
        Intent::SetBase { mark } => {
            need_length(document, *mark)?;
            document.base = Some(*mark);
            Ok(())
        }
        Intent::SetUnits { style, step, direction } => {
            document.units = Units { style: *style, step: *step, direction: *direction };
            Ok(())
        }
        Intent::SetSide { side } => {
            document.side = *side;
            super::marks::lay_all(document)
        }
        Intent::NameJob { name: given } => {
            document.name = name(given);
            Ok(())
        }
        _ => Err(Say::new("job.not-a-fact")),
    }
}

/// Only what has one length can be known, wanted, or the base of ratios.
pub(in crate::job) fn need_length(document: &Document, mark: u32) -> Result<(), Say> {
    let m = need_mark(document, mark)?;
    if m.points.len() < need(m.kind, m.ends).0 {
        return Err(Say::new("job.finish-it-first"));
    }
    match m.kind {
        Kind::Length | Kind::Path | Kind::Circle | Kind::Arc => Ok(()),
        _ => Err(Say::new("job.has-no-length")),
    }
}

/// The usual ± (95 %, mm) of a length by how it was got. Caption: trade practice, ± 1/4 in; the others are common
/// practice with no source: a tape is read to 1/32 in, a printed figure is drawn to a thousandth and no better than
/// a twentieth of a millimetre, a guess is good to a twentieth.
pub fn usual_pm(mm: f64, how: How) -> f64 {
    match how {
        How::Tape => 25.4 / 32.0,
        How::Printed => (mm * 1e-3).max(0.05),
        How::Caption => 25.4 / 4.0,
        How::Guess => mm * 0.05,
    }
}

fn set_known(
    document: &mut Document,
    mark: u32,
    given: &Length,
    how: How,
    pm: Option<&Length>,
    pulls: bool,
) -> Result<(), Say> {
    let style = document.units.style;
    let mm = length(given, style)?;
    let pm = match pm {
        Some(p) => length(p, style)?,
        None => usual_pm(mm, how),
    };
    if pm > mm {
        return Err(Say::new("job.pm-larger-than-length"));
    }
    need_length(document, mark)?;
    let m = mark_mut(document, mark)?;
    if !matches!(m.kind, Kind::Length | Kind::Circle) {
        return Err(Say::new("job.known-lengths-only"));
    }
    m.known = Some(TrueLength { mm, pm, how, pulls });
    let view = need_mark(document, mark).map(|m| document.view_at(m.picture, &m.points))?;
    view.map_or(Ok(()), |v| super::super::reckon::check_view(document, v))
}

fn chain(document: &mut Document, marks: &[u32]) -> Result<(), Say> {
    if marks.len() < 2 || marks.len() > 500 {
        return Err(Say::new("job.chain-needs-two"));
    }
    for (i, mark) in marks.iter().enumerate() {
        need_length(document, *mark)?;
        if marks[..i].contains(mark) {
            return Err(Say::new("job.chain-twice"));
        }
    }
    document.chains.retain(|c| !c.iter().any(|m| marks.contains(m)));
    document.chains.push(marks.to_vec());
    Ok(())
}

fn same_thing(document: &mut Document, marks: [u32; 2], same: bool) -> Result<(), Say> {
    need_length(document, marks[0])?;
    need_length(document, marks[1])?;
    if marks[0] == marks[1] {
        return Err(Say::new("job.same-itself"));
    }
    document.same.retain(|p| !(p.marks.contains(&marks[0]) && p.marks.contains(&marks[1])));
    if !same {
        // Of two things neither takes the other's size.
        document.trusted.retain(|t| !(marks.contains(&t.mark) && marks.contains(&t.other)));
    }
    document.same.push(Pair { marks, same });
    Ok(())
}

fn set_ratio(document: &mut Document, ratio: f64) -> Result<(), Say> {
    if !ratio.is_finite() || !(1e-5..=1e5).contains(&ratio) {
        return Err(Say::new("job.scale-absurd"));
    }
    document.build = Build::Ratio(ratio);
    Ok(())
}
