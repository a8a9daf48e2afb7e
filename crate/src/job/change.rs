//! What is new in a scene since the last one: only that crosses the door.

use super::intent::{StepName, TableName};
use super::scene::{
    Detail, Drawn, Entry, Hand, History, Key, Lists, MarkShown, Note, PartShown, PictureShown, RatioRow, Row,
    Scene, SeekShown, StepShown, ViewShown,
};
use crate::order;
use serde::Serialize;
use std::rc::Rc;

#[cfg(test)]
use ts_rs::TS;

/// What is new in a list: whole items by id, and the order of all when that changed.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
pub struct Items<T> {
    /// Items that are new or look different.
    pub changed: Vec<T>,
    /// The ids of all items, in order, when that is not what it was.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[cfg_attr(test, ts(optional))]
    pub order: Option<Vec<u32>>,
}

/// Something that is known by an id.
pub trait WithId {
    /// Its id.
    fn id(&self) -> u32;
    /// It looks the same, but for what is told by itself ([`SceneChange::captions`]).
    fn same(&self, other: &Self) -> bool;
}

macro_rules! with_id {
    ($($t:ty: $same:expr),*) => { $(impl WithId for $t {
        fn id(&self) -> u32 { self.id }
        fn same(&self, other: &Self) -> bool { $same(self, other) }
    })* };
}
// What is the very same object needn't be looked at.
with_id!(
    Rc<MarkShown>: |a: &Rc<MarkShown>, b: &Rc<MarkShown>| Rc::ptr_eq(a, b) || drawn_alike(a, b),
    Rc<Row>: |a: &Rc<Row>, b: &Rc<Row>| Rc::ptr_eq(a, b) || a == b,
    Rc<PartShown>: |a: &Rc<PartShown>, b: &Rc<PartShown>| Rc::ptr_eq(a, b) || a == b,
    ViewShown: |a: &ViewShown, b: &ViewShown| a == b
);

fn items<T: WithId + Clone>(old: &[T], new: &[T]) -> Option<Items<T>> {
    let same_order = old.len() == new.len() && old.iter().zip(new).all(|(a, b)| a.id() == b.id());
    let changed: Vec<T> = if same_order {
        old.iter().zip(new).filter(|(a, b)| !a.same(b)).map(|(_, b)| b.clone()).collect()
    } else {
        let places = order::places_of(old.iter().map(WithId::id));
        let before = |n: &T| places.get(&n.id()).and_then(|i| old.get(*i));
        new.iter().filter(|n| !before(n).is_some_and(|o| o.same(n))).cloned().collect()
    };
    let order = (!same_order).then(|| new.iter().map(WithId::id).collect());
    (order.is_some() || !changed.is_empty()).then_some(Items { changed, order })
}

/// All but their captions is the same.
fn drawn_alike(a: &MarkShown, b: &MarkShown) -> bool {
    // By name, so that nothing new is forgotten here.
    let MarkShown {
        id,
        picture,
        number,
        line,
        paths,
        thin,
        vees,
        dots,
        handles,
        label_at,
        caption: _,
        known,
        selected,
        held,
        open,
    } = a;
    (*id, *picture, *number, *line) == (b.id, b.picture, b.number, b.line)
        && (*known, *selected, *held, *open) == (b.known, b.selected, b.held, b.open)
        && (label_at, handles, paths, thin) == (&b.label_at, &b.handles, &b.paths, &b.thin)
        && (vees, dots) == (&b.vees, &b.dots)
}

/// The sizes beside marks that are drawn as they were: of all that a mark has, its size alone changes with the size to build.
fn captions(old: &[Rc<MarkShown>], new: &[Rc<MarkShown>]) -> Vec<(u32, String)> {
    let places = order::places_of(old.iter().map(WithId::id));
    let before = |n: &Rc<MarkShown>| places.get(&n.id).and_then(|i| old.get(*i));
    let other = |n: &&Rc<MarkShown>| before(n).is_some_and(|o| o.caption != n.caption && drawn_alike(o, n));
    new.iter().filter(other).map(|n| (n.id, n.caption.clone())).collect()
}

macro_rules! change {
    ($($(#[$doc:meta])* $field:ident: $t:ty),* $(,)?) => {
        /// What is new since the scene of the revision before; a part that is absent is as it was.
        #[derive(Clone, Debug, Default, PartialEq, Serialize)]
        #[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts", optional_fields))]
        pub struct SceneChange {
            /// Counts up by one with every change told.
            pub revision: u32,
            $($(#[$doc])* #[serde(skip_serializing_if = "Option::is_none")] pub $field: Option<$t>,)*
            /// Marks on the board.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub marks: Option<Items<Rc<MarkShown>>>,
            /// The sizes beside marks of which nothing else is new, by the marks' ids.
            #[serde(skip_serializing_if = "Vec::is_empty")]
            #[cfg_attr(test, ts(optional, as = "Option<Vec<(u32, String)>>"))]
            pub captions: Vec<(u32, String)>,
            /// Rows of the size board.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub rows: Option<Items<Rc<Row>>>,
            /// Views.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub views: Option<Items<ViewShown>>,
            /// Parts.
            #[serde(skip_serializing_if = "Option::is_none")]
            pub parts: Option<Items<Rc<PartShown>>>,
        }

        /// What is new in `new` over `old`.
        pub fn change(old: &Scene, new: &Scene, revision: u32) -> SceneChange {
            SceneChange {
                revision,
                $($field: (old.$field != new.$field).then(|| new.$field.clone().into()),)*
                marks: items(&old.marks, &new.marks),
                captions: captions(&old.marks, &new.marks),
                rows: items(&old.rows, &new.rows),
                views: items(&old.views, &new.views),
                parts: items(&old.parts, &new.parts),
            }
        }
    };
}

change! {
    /// The job's name.
    name: String,
    /// The open step.
    step: StepName,
    /// The five steps.
    steps: Vec<StepShown>,
    /// The sentence.
    guide: String,
    /// The line under it.
    aside: String,
    /// The keys of the moment.
    ledge: Vec<Key>,
    /// What undo would take back.
    undo: Maybe<String>,
    /// What redo would put back.
    redo: Maybe<String>,
    /// The picture on the board.
    picture: Maybe<u32>,
    /// All pictures.
    pictures: Vec<PictureShown>,
    /// Points that are pending.
    pending: Vec<[f64; 2]>,
    /// What each of them is called.
    pending_names: Vec<String>,
    /// What they make so far.
    pending_paths: Vec<Vec<[f64; 2]>>,
    /// What was reckoned, over the picture.
    drawn: Vec<Drawn>,
    /// The end in hand.
    hand: Maybe<Hand>,
    /// Which table.
    table: TableName,
    /// Head of the size board.
    head: [String; 2],
    /// The ratio table.
    ratios: Vec<RatioRow>,
    /// More about the chosen mark.
    detail: Maybe<Detail>,
    /// Notes.
    notes: Vec<Note>,
    /// The keypad.
    entry: Maybe<Entry>,
    /// What is to be asked of the pixels.
    seek: Maybe<SeekShown>,
    /// What is made of the sizes.
    lists: Maybe<Lists>,
    /// Moments, and what has changed.
    history: History,
}

/// Something that may not be there: written as itself or as `null`, so that "gone" differs from "as it was".
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(TS), ts(export_to = "scene.d.ts"))]
#[serde(transparent)]
pub struct Maybe<T>(Option<T>);

impl<T> From<Option<T>> for Maybe<T> {
    fn from(o: Option<T>) -> Self {
        Maybe(o)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Intent;
    use crate::job::tests::{after, intent};

    const PICTURE: &str = r#"{"kind":"add-picture","name":"a.png","width":3000,"height":2000}"#;
    const LONG: &str = r#"{"kind":"place","picture":1,"mark":"length","points":[[100,100],[1300,100]],"zoom":8,"seen":true}"#;
    const OUTLINE: &str = r#"{"kind":"place","picture":1,"mark":"outline","points":[[100,300],[900,300],[900,700],[100,700]],"zoom":8,"seen":true}"#;
    const BUILD: &str = r#"{"kind":"set-build","mark":1,"length":"14"}"#;

    #[test]
    fn of_a_mark_whose_size_alone_is_another_only_that_is_told() {
        let mut desk = after(&[PICTURE, LONG, OUTLINE, BUILD]);
        let old = desk.look();
        desk.intend(intent(r#"{"kind":"set-build","mark":1,"length":"28"}"#)).unwrap();
        let new = desk.look();
        let told = change(&old, &new, 1);
        assert_eq!(told.marks, None);
        // By hand: 28 in are 1200 px, and from corner to corner of the outline there are √(800² + 400²) px: 20.870 in.
        assert_eq!(told.captions, [(1, "28".to_owned()), (2, "20 7⁄8".to_owned())]);
        desk.intend(intent(
            r#"{"kind":"move-point","mark":2,"point":0,"at":[120,300],"by":"key","zoom":8,"seen":true}"#,
        ))
        .unwrap();
        let told = change(&new, &desk.look(), 2);
        let marks: Vec<u32> = told.marks.unwrap().changed.iter().map(|m| m.id).collect();
        assert_eq!((marks, told.captions), (vec![2], vec![]));
    }

    #[test]
    fn a_closed_row_tells_what_stands_on_it() {
        let mut desk =
            after(&[PICTURE, LONG, OUTLINE, BUILD, r#"{"kind":"set-known","mark":1,"length":"12"}"#]);
        for open in [None, Some(2)] {
            desk.intend(Intent::Select { mark: open }).unwrap();
            let (all, drawn) = (desk.scene().rows, desk.look().rows);
            assert_eq!(all, desk.sizes());
            for (all, drawn) in all.iter().zip(&drawn) {
                assert!(all.real.is_some() && all.finished.is_some(), "{all:?}");
                if open == Some(all.id) {
                    assert_eq!(all, drawn);
                    continue;
                }
                let mut closed = Row { more: Vec::new(), real: None, ..(**all).clone() };
                if let Some(size) = &mut closed.finished {
                    size.unrounded = String::new();
                }
                assert_eq!(closed, **drawn);
            }
        }
    }
}
