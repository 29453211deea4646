//! One file a command.

pub(crate) mod account;
pub(crate) mod ask;
pub(crate) mod circuit;
pub(crate) mod decide;
pub(crate) mod demo;
pub(crate) mod due;
pub(crate) mod export;
pub(crate) mod generate;
pub(crate) mod import;
pub(crate) mod rebuild;
pub(crate) mod serve;
mod sign_on;
mod told;
mod told_brakes;
pub(crate) mod verify;
