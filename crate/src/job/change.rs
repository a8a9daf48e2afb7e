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
    /// It looks the same.
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
    Rc<MarkShown>: |a: &Rc<MarkShown>, b: &Rc<MarkShown>| Rc::ptr_eq(a, b) || a == b,
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
