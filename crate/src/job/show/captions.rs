//! What a caption tells of the thing, offered wherever that extent is asked for.

use super::notes::{hush, note};
use super::{Sight, say};
use crate::job::apply::usual_pm;
use crate::job::caption::NAMES;
use crate::job::document::Mark;
use crate::job::hand::Typing;
use crate::job::intent::{About, How, Intent, Length};
use crate::job::scene::{Key, Note, Tone};
use crate::mark::{Ends, Kind};
use crate::quantity::Sizes;
use crate::words::Say;

/// The sizes in words: "72 in high, 32 in wide".
pub fn told(sight: &Sight, sizes: &Sizes) -> String {
    let one = |(name, mm): (&&str, &Option<f64>)| {
        let figure = sight.unrounded((*mm)?).with_unit();
        Some(sight.say(&Say::new(format!("caption.{name}")).text("size", figure)))
    };
    NAMES.iter().zip(sizes).filter_map(one).collect::<Vec<String>>().join(", ")
}

/// A key for each size that what is asked about may be: a touch in place of its digits.
pub fn choices(sight: &Sight, typing: &Typing) -> Vec<Key> {
    let Some(caption) = &sight.document.caption else { return Vec::new() };
    let meant = match typing.about {
        About::BoxUpright | About::Height => 0..1,
        About::BoxFront | About::Width => 1..2,
        About::BoxEnd => 2..3,
        _ if sight.document.mark(typing.of).is_some_and(|m| m.kind == Kind::Length) => 0..3,
        _ => 0..0,
    };
    let key = |i: usize| {
        let (name, mm) = (NAMES.get(i)?, (*caption.sizes.get(i)?)?);
        let figure = sight.unrounded(mm).with_unit();
        let intent = match typing.about {
            About::Length => {
                let length = Length::Mm { mm };
                Intent::SetKnown { mark: typing.of, length, how: How::Caption, pm: None, pulls: true }
            }
            _ => Intent::Entry { text: figure.clone() },
        };
        let label = sight.say(&Say::new(format!("caption.{name}")).text("size", figure));
        Some(say::key(sight, &format!("caption-{name}"), intent).labelled(label))
    };
    meant.filter_map(key).collect()
}

/// What is known by the caption, and what it takes in.
pub fn note_of(sight: &Sight) -> Option<Note> {
    let caption = sight.document.caption.as_ref()?;
    let say = Say::new(if caption.whole { "note.caption-whole" } else { "note.caption-body" });
    let id = "caption".to_owned();
    let pm = sight.plus_minus(usual_pm(0.0, How::Caption)).with_unit();
    let text = sight.say(&say.text("sizes", told(sight, &caption.sizes)).text("pm", pm));
    let not = say::key(sight, "caption-not", Intent::SetCaption { caption: None });
    Some(note(id.clone(), Tone::Say, text, vec![not, hush(sight, &id)]))
}

/// Where a true length that the caption tells comes from, to stand beside its size.
pub fn from(sight: &Sight, mark: &Mark) -> Option<&'static str> {
    let known = mark.known.filter(|k| k.how == How::Caption && mark.ends == Ends::Between)?;
    let caption = sight.document.captioned(known.mm)?;
    Some(if caption.whole { "row.caption-whole" } else { "row.caption-body" })
}
