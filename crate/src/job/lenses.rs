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

#[cfg(test)]
mod tests {
    use crate::job::{Desk, Intent, Words};

    const WORDS: &str = include_str!("../../../www/words/en.json");

    fn send(desk: &mut Desk, line: &str) -> Result<(), crate::words::Say> {
        desk.intend(serde_json::from_str(line).unwrap_or_else(|e| panic!("{line}: {e}"))).map(|_| ())
    }

    /// Places along a level edge near the top or the bottom of a picture of 2000 × 1500 px, bowed outwards by so much.
    fn edge(y: f64, bow: f64) -> String {
        let one = |i: i32| {
            let t = f64::from(i) / 20.0;
            format!("[{},{}]", 1000.0 + 850.0 * t, y + bow * t * t)
        };
        let points: Vec<String> = (-20..=20).map(one).collect();
        points.join(",")
    }

    /// The tool, two touches, and what the pixels then answer.
    fn touched(desk: &mut Desk, y: f64, bow: f64) -> Result<(), crate::words::Say> {
        for x in [200, 1800] {
            send(desk, &format!(r#"{{"kind":"tap","at":[{x},{y}],"by":"touch","zoom":1,"reach":24}}"#))?;
        }
        let serial = desk.scene().seek.map_or(0, |s| s.serial);
        let points = edge(y, bow);
        send(
            desk,
            &format!(
                r#"{{"kind":"found","serial":{serial},"found":{{"path":{{"points":[{points}],"sigma":0.05}}}}}}"#
            ),
        )
    }

    #[test]
    fn a_bend_that_is_left_in_is_told() {
        let told = |desk: &mut Desk| desk.scene().notes.iter().any(|n| n.id == "lens-left-1");
        let mut desk = Desk::new(Words::read(WORDS).unwrap());
        send(&mut desk, r#"{"kind":"add-picture","name":"a.png","width":2000,"height":1500}"#).unwrap();
        send(&mut desk, r#"{"kind":"place","picture":1,"mark":"length","points":[[200,100],[1800,100]]}"#)
            .unwrap();
        send(&mut desk, r#"{"kind":"set-known","mark":1,"length":"30"}"#).unwrap();
        assert!(!told(&mut desk), "a drawing has no lens");
        let square = r#"{"kind":"square-on","view":1,"corners":[[200,100],[1800,120],[1700,1300],[260,1200]],"width":"30","height":"20","of":"thing"}"#;
        send(&mut desk, square).unwrap();
        assert!(told(&mut desk), "a camera has, and nothing of its bend is in the ±");
        send(&mut desk, r#"{"kind":"tool","tool":"straighten"}"#).unwrap();
        touched(&mut desk, 60.0, 20.0).unwrap();
        touched(&mut desk, 1440.0, -20.0).unwrap();
        assert!(!told(&mut desk), "it has been taken out");
    }

    #[test]
    fn edges_are_touched_told_and_undone() {
        let mut desk = Desk::new(Words::read(WORDS).unwrap());
        send(&mut desk, r#"{"kind":"add-picture","name":"a.png","width":2000,"height":1500}"#).unwrap();
        send(&mut desk, r#"{"kind":"place","picture":1,"mark":"length","points":[[200,100],[1800,100]]}"#)
            .unwrap();
        let before = desk.reckoned.reading(1).unwrap().primary().unwrap().value;
        send(&mut desk, r#"{"kind":"tool","tool":"straighten"}"#).unwrap();
        touched(&mut desk, 60.0, 20.0).unwrap();
        touched(&mut desk, 1440.0, -20.0).unwrap();
        assert!(desk.scene().aside.contains("bowed"), "{}", desk.scene().aside);
        assert_eq!(desk.scene().pending_paths.len(), 2);
        let length = desk.reckoned.reading(1).unwrap().primary().unwrap().clone();
        assert!(length.value > before * 1.01, "{} {before}", length.value);
        assert!(length.parts().iter().any(|p| matches!(p.source, crate::estimate::Source::Lens(1, _))));
        // Nothing followed: nothing changed, and that is said.
        for x in [200, 1800] {
            send(&mut desk, &format!(r#"{{"kind":"tap","at":[{x},700],"by":"touch","zoom":1,"reach":24}}"#))
                .unwrap();
        }
        let serial = desk.scene().seek.unwrap().serial;
        desk.intend(Intent::Found { serial, found: None }).unwrap();
        assert_eq!(desk.document().pictures[0].straight.len(), 2);
        send(&mut desk, r#"{"kind":"let-go"}"#).unwrap();
        assert!(desk.scene().pending_paths.is_empty());
        // A lens that is known goes before edges; what is none is refused.
        let known = r#"{"kind":"know-lens","picture":1,"lens":{"terms":[-0.1,0,0,0],"effects":[[0.001,0,0,0],[0,0,0,0],[0,0,0,0],[0,0,0,0]]}}"#;
        send(&mut desk, known).unwrap();
        assert!(send(&mut desk, &known.replace("-0.1", "-7")).is_err());
        for _ in 0..3 {
            desk.intend(Intent::Undo).unwrap();
        }
        assert_eq!(desk.reckoned.reading(1).unwrap().primary().unwrap().value, before);
    }
}
