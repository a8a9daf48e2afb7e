//! The hand: what is open, half placed, held or being typed. Never saved, never undone.

use super::document::{Hold, Printer};
use super::intent::{About, At, How, StepName, TableName, Tool};
use super::seek::Seek;
use super::shape::Halves;
use crate::mark::By;
use crate::order::Table;
use crate::raster::ask::{Border, Caught, Fitted};
use crate::words::Say;

/// The hand's whole state.
#[derive(Clone, Debug)]
pub struct Hand {
    /// The open step.
    pub step: StepName,
    /// What touches make.
    pub tool: Tool,
    /// The picture on the board.
    pub picture: Option<u32>,
    /// The chosen mark, its row open.
    pub selected: Option<u32>,
    /// The chosen view.
    pub view: Option<u32>,
    /// The mark that still takes points.
    pub open: Option<u32>,
    /// The end in hand.
    pub held: Option<Held>,
    /// Points touched for something that isn't a mark yet.
    pub pending: Vec<Touch>,
    /// The corner of a box that is hidden, counted as they are asked for.
    pub hidden: Option<usize>,
    /// The sides and the sheet of a rectangle, as far as given.
    pub rectangle: [Option<f64>; 2],
    /// Which table stands on the size board.
    pub table: TableName,
    /// The keypad.
    pub entry: Option<Typing>,
    /// Notes that have been read.
    pub hushed: Table<String, ()>,
    /// What is wanted to be known of the pixels.
    pub seek: Option<Seek>,
    /// The number of what was sought last.
    pub serial: u32,
    /// The picture that is still to be divided into views.
    pub divide: Option<u32>,
    /// What an end that is being slid would hold.
    pub glimpse: Option<Caught>,
    /// The outlines that were found in a picture's views, view by view, the main one first.
    pub shapes: Option<(u32, Vec<Vec<Border>>)>,
    /// How the chosen outline's halves lie, until one is taken.
    pub halves: Option<Halves>,
    /// The four corners that were found round the first touch for a rectangle, to be taken or not.
    pub offer: Option<[Fitted; 4]>,
    /// The stretches behind and ahead of the point in hand are to be followed again.
    pub mend: Option<[bool; 2]>,
    /// What came of the last thing asked for, where that can't be seen; said until something else is done.
    pub said: Option<Say>,
    /// Printers that were measured for other jobs, as the page remembers them.
    pub printers: Vec<Printer>,
    /// The part whose keys are shown where there are many parts.
    pub part: Option<u32>,
}

/// A point in hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Held {
    /// Of a mark.
    Mark {
        /// The mark.
        mark: u32,
        /// Which of its points.
        point: u16,
    },
    /// Of what is pending.
    Pending(usize),
}

/// A place touched, and how.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Touch {
    /// Picture px.
    pub at: At,
    /// With what.
    pub by: By,
    /// Screen px per picture px where the person was looking.
    pub zoom: f64,
    /// It was put right under the magnified window.
    pub seen: bool,
    /// What it holds on to; `at` is then there.
    pub hold: Option<Hold>,
}

/// What stands in the keypad.
#[derive(Clone, Debug, PartialEq)]
pub struct Typing {
    /// What for.
    pub about: About,
    /// The text.
    pub text: String,
    /// How the length was got.
    pub how: How,
    /// The mark or view it is about.
    pub of: u32,
}

impl About {
    /// It asks about a part, seen or hidden, whose id is [`Typing::of`].
    pub fn is_of_part(self) -> bool {
        use About::{
            BoardLength, BoardWidth, JointDepth, Load, OwnLength, OwnWidth, PartEnds, PartLargest, PartName,
            PartStock, Planed, RuleLength, RuleWidth,
        };
        matches!(
            self,
            PartStock
                | PartEnds
                | PartLargest
                | JointDepth
                | Planed
                | RuleLength
                | RuleWidth
                | OwnLength
                | OwnWidth
                | PartName
                | Load
                | BoardLength
                | BoardWidth
        )
    }

    /// It asks what a part, or what a mark measures, is bought as; the id of either is [`Typing::of`].
    pub fn is_of_bought(self) -> bool {
        matches!(self, About::Bought | About::BoughtAcross | About::BoughtThick)
    }

    /// It asks about a mark, whose id is [`Typing::of`].
    pub fn is_of_mark(self) -> bool {
        use About::{Bevel, Build, LandsDeep, LandsThick, Length, MarkName, MarkNumber, PlusMinus, Weight};
        matches!(
            self,
            Length | Build | PlusMinus | MarkName | MarkNumber | LandsThick | LandsDeep | Bevel | Weight
        )
    }
}

impl Default for Hand {
    fn default() -> Self {
        Hand {
            step: StepName::Picture,
            tool: Tool::Length,
            picture: None,
            selected: None,
            view: None,
            open: None,
            held: None,
            pending: Vec::new(),
            hidden: None,
            rectangle: [None, None],
            table: TableName::Sizes,
            entry: None,
            hushed: Table::default(),
            seek: None,
            serial: 0,
            divide: None,
            glimpse: None,
            shapes: None,
            halves: None,
            mend: None,
            offer: None,
            said: None,
            printers: Vec::new(),
            part: None,
        }
    }
}

impl Hand {
    /// Nothing held, nothing half placed, nothing typed.
    pub fn empty(&mut self) {
        self.open = None;
        self.held = None;
        self.seek = None;
        self.glimpse = None;
        self.halves = None;
        self.mend = None;
        self.offer = None;
        self.pending.clear();
        self.hidden = None;
        self.entry = None;
    }
}
