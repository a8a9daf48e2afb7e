//! What a person said of a whirligig or a vane: where it turns, what is heavy, what its propeller is.

use super::document::Document;
use crate::part::Propeller;
use serde::{Deserialize, Serialize};

/// A whirligig or a vane, seen from its side. Marks that are gone count as not said.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(export_to = "scene.d.ts"))]
pub struct VaneChoice {
    /// The point that it turns about; it lies on the side view, whose outlines are its side.
    #[serde(default)]
    pub pivot: Option<u32>,
    /// The point where the propeller's shaft is.
    #[serde(default)]
    pub hub: Option<u32>,
    /// Its front is at the right, where a person said so.
    #[serde(default)]
    pub front_right: Option<bool>,
    /// What was weighed, kg: at a point, or an outline instead of what is reckoned for it.
    #[serde(default)]
    pub weights: Vec<(u32, f64)>,
    /// Parts seen on another view, and the point of the side view where each balances.
    #[serde(default)]
    pub sits: Vec<(u32, u32)>,
    /// The propeller, where one is to be made.
    #[serde(default)]
    pub propeller: Option<Propeller>,
}

impl VaneChoice {
    /// What was weighed at `mark`, kg.
    pub fn weight(&self, mark: u32) -> Option<f64> {
        self.weights.iter().find(|(m, _)| *m == mark).map(|(_, kg)| *kg)
    }

    /// The point where the part `mark` sits.
    pub fn seat(&self, mark: u32) -> Option<u32> {
        self.sits.iter().find(|(m, _)| *m == mark).map(|(_, p)| *p)
    }

    /// The same with another weight at `mark`, or none.
    #[must_use]
    pub fn weighing(mut self, mark: u32, kg: Option<f64>) -> VaneChoice {
        self.weights.retain(|(m, _)| *m != mark);
        self.weights.extend(kg.map(|kg| (mark, kg)));
        self
    }

    /// The same with the part `mark` at another point, or none.
    #[must_use]
    pub fn seated(mut self, mark: u32, point: Option<u32>) -> VaneChoice {
        self.sits.retain(|(m, _)| *m != mark);
        self.sits.extend(point.map(|p| (mark, p)));
        self
    }
}

impl Document {
    /// The pivot, where it was said and is still there.
    pub fn pivot(&self) -> Option<u32> {
        self.vane.pivot.filter(|m| self.mark(*m).is_some())
    }
}
