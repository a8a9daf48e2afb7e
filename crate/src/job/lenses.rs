//! What is known of the lens that took each picture, from edges that are straight in life.

use super::document::{Bowed, Document, PICTURE_U, Sheet};
use crate::view::{Bend, Edge, Lens, bend_of};
use crate::words::{Arg, Say};
use std::rc::Rc;

/// A picture's lens.
#[derive(Clone, Debug)]
pub struct Lensed {
    /// The picture.
    pub picture: u32,
    /// The picture as it was: while its edges are the same, so is its lens.
    made_from: Sheet,
    /// What the edges say, or why nothing.
    pub bend: Result<Bend, Say>,
}

/// The lens of every picture on which edges were touched. What rests on the same edges is taken over from `before`.
pub fn lenses(document: &Document, before: &[Rc<Lensed>]) -> Vec<Rc<Lensed>> {
    let touched = document.pictures.iter().filter(|p| p.lens.is_some() || !p.straight.is_empty());
    let one = |p: &Sheet| {
        let same = |l: &&Rc<Lensed>| {
            let had = &l.made_from;
            had.id == p.id
                && [had.width, had.height] == [p.width, p.height]
                && had.straight == p.straight
                && had.lens == p.lens
        };
        before.iter().find(same).cloned().unwrap_or_else(|| Rc::new(lensed(p)))
    };
    touched.map(one).collect()
}

/// The lens of one picture, from its edges.
pub fn lensed(picture: &Sheet) -> Lensed {
    // No place stands for the thing better than a picture does.
    let edge = |e: &Bowed| Edge { points: e.points.clone(), sigma: libm::hypot(e.sigma, PICTURE_U) };
    let size = [picture.width, picture.height].map(f64::from);
    if let Some(known) = &picture.lens {
        let bend = Lens::known(picture.id, size, known.terms, known.effects).map(Bend::Found);
        return Lensed { picture: picture.id, made_from: picture.clone(), bend };
    }
    let edges: Vec<Edge> = picture.straight.iter().map(edge).collect();
    let bend = bend_of(picture.id, size, &edges);
    Lensed { picture: picture.id, made_from: picture.clone(), bend }
}

impl Lensed {
    /// What to look through.
    pub fn lens(&self) -> Option<&Lens> {
        self.bend.as_ref().ok().and_then(Bend::lens)
    }

    /// What the edges say, for a person.
    pub fn told(&self) -> Say {
        match &self.bend {
            // By how much a place at the picture's corner is seen nearer to the middle than it would be, or farther.
            Ok(Bend::Found(lens)) => {
                let [pull, u] = lens.pull(1.0);
                Say::new("lens.found")
                    .with("percent", Arg::Number(100.0 * pull.abs(), 1))
                    .with("pm", Arg::Number(100.0 * super::reckon::COVERAGE * u, 1))
            }
            Ok(Bend::Straight(_)) => Say::new("lens.none"),
            Ok(Bend::Unclear) => Say::new("lens.unclear"),
            Err(say) => say.clone(),
        }
    }
}

/// The lens of `picture`, where one is known.
pub fn of(lenses: &[Rc<Lensed>], picture: u32) -> Option<&Lensed> {
    lenses.iter().find(|l| l.picture == picture).map(|l| &**l)
}
