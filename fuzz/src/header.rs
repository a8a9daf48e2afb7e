//! The headers of pictures.
#![no_main]
#![allow(dead_code)]

mod doors;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::header(bytes));
