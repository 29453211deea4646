//! The register is a ledger: everything anyone does is an entry, and everything else follows
//! from the entries. This folder holds what can be recorded ([`fact`]), how it is asked for
//! ([`command`]), how it is kept ([`entry`], [`chain`]), the state that a command touches
//! ([`dossier`]), whether it may be recorded ([`decide`]) and what it changes ([`fold`]).

pub mod chain;
pub mod command;
pub mod entry;
pub mod fact;
