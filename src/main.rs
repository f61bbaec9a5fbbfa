//! Flags and wiring only.

fn main() {}
