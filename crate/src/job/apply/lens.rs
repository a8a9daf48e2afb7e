//! Facts about edges that are straight in life.

use super::super::document::{Bowed, Document};
use super::super::intent::Intent;
use super::super::lenses::lensed;
use crate::words::Say;

/// Edges on one picture.
const MOST: usize = 60;

pub(super) fn apply(document: &mut Document, fact: &Intent) -> Result<(), Say> {
    let sheet = |id: u32| Say::new("job.no-such-picture").count("picture", id as usize);
    match fact {
        Intent::StraightEdge { picture, points, sigma } => {
            let found = document.pictures.iter_mut().find(|p| p.id == *picture);
            let picture = found.ok_or_else(|| sheet(*picture))?;
            if picture.straight.len() >= MOST {
                return Err(Say::new("lens.too-many-edges").count("most", MOST));
            }
            picture.straight.push(Bowed { points: points.clone(), sigma: *sigma });
            // An edge that no lens makes straight is refused here, and the others keep what they say.
            lensed(picture).bend.map(|_| ())
        }
        Intent::KnowLens { picture, lens } => {
            let found = document.pictures.iter_mut().find(|p| p.id == *picture);
            let picture = found.ok_or_else(|| sheet(*picture))?;
            picture.lens = *lens;
            lensed(picture).bend.map(|_| ())
        }
        Intent::ForgetEdges { picture } => {
            let found = document.pictures.iter_mut().find(|p| p.id == *picture);
            found.ok_or_else(|| sheet(*picture))?.straight.clear();
            Ok(())
        }
        _ => Err(Say::new("job.not-a-fact")),
    }
}
