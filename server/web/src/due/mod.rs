//! What the due list, its files and its JSON have in common: how a list is asked for, and how
//! a row is put into words.

pub(crate) mod campaigns;
pub(crate) mod doubted;
pub(crate) mod ending;
pub mod ends;
pub mod lines;
pub(crate) mod query;
pub(crate) mod source;
pub(crate) mod words;
