//! The program itself.
