//! The ledger as a whole, on both databases: what is recorded, what is refused and why, and that
//! everything else follows from it.

mod conditions;
mod fitments;
mod meters;
