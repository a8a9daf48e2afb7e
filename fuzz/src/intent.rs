//! Intents, each to a desk that has a short job.
#![no_main]
#![allow(dead_code)]

mod doors;

use std::sync::LazyLock;

static WORDS: LazyLock<scrieve::job::Words> = LazyLock::new(doors::words);

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::intent(&WORDS, bytes));
