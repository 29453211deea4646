//! One file a command.

pub(crate) mod account;
pub(crate) mod demo;
pub(crate) mod generate;
pub(crate) mod import;
pub(crate) mod rebuild;
pub(crate) mod serve;
pub(crate) mod verify;
