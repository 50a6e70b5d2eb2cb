//! The stages in order, without a terminal: what a program that uses this library calls.
