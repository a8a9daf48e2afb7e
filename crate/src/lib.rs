//! Scrieve's core: from one picture and one length a person trusts, every other size, with its
//! plus-or-minus.
//!
//! Rooms, from the top; each depends only on those above it: [`words`], [`order`], [`json`], [`quantity`], [`estimate`],
//! [`plane`], [`raster`], [`view`], [`mark`], [`finish`], [`part`], [`layout`], [`sheet`], [`job`], and `web`, the door that only
//! WebAssembly opens.
//!
//! The core has no clock, no files, no DOM and no globals, and never panics on what a person gives it.
// Only the glue for the web has any, and none of ours.
#![cfg_attr(not(target_arch = "wasm32"), forbid(unsafe_code))]
#![deny(unsafe_code)]
#![warn(missing_docs)]
#![allow(clippy::neg_cmp_op_on_partial_ord, reason = "`!(x > 0.0)` also catches what is not a number")]

/// The core holds all that there is. The one that a page begins with goes without what only photographs, parts and
/// paper need, and says so where it is asked for (`job.wants-whole`).
const WHOLE: bool = cfg!(feature = "whole");

#[cfg(feature = "fault")]
pub mod fault;
#[cfg(not(feature = "fault"))]
mod fault;

pub mod words;

pub mod order;

pub mod json;

pub mod quantity;

pub mod estimate;

pub mod plane;

pub mod raster;

pub mod view;

pub mod mark;

pub mod finish;

pub mod part;

pub mod layout;

pub mod sheet;

pub mod job;

#[cfg(target_arch = "wasm32")]
pub mod web;
