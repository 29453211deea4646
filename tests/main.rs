//! One binary for all tests that need more than one package.
#![allow(clippy::unwrap_used, reason = "a test that cannot go on fails")]

mod command_line;
mod http;
mod isolation;
mod ledger;
mod pages;
mod published;
mod rule_sets;
mod seed_data;
mod statements;
mod support_itself;
mod tidy;
