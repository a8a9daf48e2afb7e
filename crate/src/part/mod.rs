//! Parts as they are cut: what stock they come from, how long the saw cuts them, what to buy, what they weigh, how they move
//! and bend.
//!
//! [`stock`] has the tables of what is sold and offers stock for a thickness that was measured; the person chooses. [`joint`]
//! adds what joints take to what shows. [`amount`] reckons board feet, areas and waste, [`wood`] weight and movement,
//! [`shelf`] sag. [`region`] and [`vane`] tell whether a whirligig faces the wind and hangs level, [`propeller`] what its propeller is
//! made from, [`rule`] what sizes follow from those of other parts, [`bought`] what comes in sizes of its own, [`check`] what sizes are usual. Everything is a pure function of lengths in mm; what can't be reckoned says why. Depends on `words`, `order`,
//! `quantity`, `estimate` and `fault`. Must not know views, marks, jobs, or where a size came from.

pub mod amount;
pub mod blank;
pub mod bought;
pub mod check;
pub mod joint;
pub mod propeller;
pub mod region;
pub mod rule;
pub mod shelf;
pub mod sizes;
pub mod stock;
pub mod vane;
pub mod wood;

pub use blank::Blank;
pub use bought::{Bought, Ware};
pub use joint::{End, Joint};
pub use propeller::Propeller;
pub use stock::{Goods, Stock};
pub use wood::Species;
