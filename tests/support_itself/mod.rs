//! The tests' own support does what the tests rely on.

mod browser;
mod databases;
mod pages;
