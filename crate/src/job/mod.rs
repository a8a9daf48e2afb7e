//! The document: intents, undo, save and load, and the scene that a page shows.
//!
//! [`Desk`] is the whole of it: send it an [`Intent`], read its [`Scene`]. The document owns what a person said and
//! placed; everything else is reckoned from it anew after every fact. Depends on all rooms above. Must not know
//! the DOM, the clock, or where the log is kept.
#![allow(missing_docs)]

mod apply;
#[cfg(test)]
mod board_tests;
#[cfg(test)]
mod bought_tests;
mod boxes;
mod caption;
mod chain;
mod change;
mod choices;
mod cross;
mod csv;
mod depth;
mod desk;
mod divide;
mod document;
mod file;
#[cfg(test)]
mod file_tests;
#[cfg(test)]
mod fits_tests;
mod gesture;
mod given;
mod hand;
#[cfg(test)]
mod history_tests;
mod holes;
mod intent;
mod journal;
#[cfg(test)]
mod language_tests;
mod layout;
mod lenses;
#[cfg(test)]
mod part_tests;
mod parts;
mod reckon;
#[cfg(test)]
mod rule_tests;
mod scene;
mod seek;
mod shape;
#[cfg(test)]
mod sheet_tests;
mod sheets;
mod show;
mod sizes;
#[cfg(test)]
mod slant_tests;
mod slope;
mod smooth;
mod tagged;
mod tell;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod types;
mod typing;
mod vane;
mod view_tools;
mod vouched;
mod zip;

pub use change::{SceneChange, change};
pub use csv::csv;
pub use desk::{Answer, Desk};
pub use document::Document;
pub use file::{Kept, bundled, job_json, preview, read as read_job_file, write as write_job_file};
pub use intent::Intent;
pub use scene::Scene;
pub use show::{Bench, Make, bench, cutting_table};
pub use tell::Words;
pub use zip::Writer as ZipWriter;
