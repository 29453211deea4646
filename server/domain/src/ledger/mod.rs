//! The register is a ledger: everything anyone does is an entry, and everything else follows
//! from the entries. This folder holds what can be recorded ([`fact`], [`kind`], [`bearing`]), how it is asked for
//! ([`command`]), how it is kept ([`entry`], [`chain`]), the state that a command touches
//! ([`dossier`]), whether it may be recorded and what that
//! changes ([`record`]), what follows for use and due dates ([`standing`], [`at_once`], [`obligations`]), where cars depart from their
//! baseline ([`departures`]), what an entry told late changes ([`consequences`]), what
//! a component has run, shown step by step ([`used`]), how much of that no reading tells
//! ([`estimated`]), whether it is suspected ([`suspected`]), and whether it is evidence that nobody
//! holds ([`evidence`]), and whether a test proves a brake restored ([`proof`]).

pub mod at_once;
pub mod bearing;
pub mod certified;
pub mod chain;
pub mod command;
pub mod consequences;
mod counting;
pub mod departures;
pub mod dossier;
pub mod entry;
pub mod estimated;
pub mod evidence;
#[cfg(test)]
mod examples;
pub mod fact;
mod fitting;
pub mod kind;
pub mod life;
pub mod obligations;
pub mod proof;
pub mod proposal;
pub mod reached;
mod receipt;
pub mod record;
pub mod snapshot;
pub mod standing;
pub mod subjects;
pub mod suspected;
pub mod then;
pub mod touches;
pub mod used;
mod work_done;
