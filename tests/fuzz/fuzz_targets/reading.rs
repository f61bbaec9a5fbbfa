#![no_main]
#[allow(dead_code)]
#[path = "../../found/held.rs"]
mod held;

libfuzzer_sys::fuzz_target!(|text: &str| held::reading(text));
